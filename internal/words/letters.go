package words

// Letters numbers things by letters, from 0: A, B … Z, AA, AB … It is empty below 0.
func Letters(i int) string {
	if i < 0 {
		return ""
	}
	return Letters(i/26-1) + string(rune('A'+i%26))
}
