package words

// Pair matches the items of b with those of a, the most alike first, and among
// equals those nearest in place. from[j] is the place in a of item j of b, -1 for
// one that is only in b; gone are the places of a that are only there. like
// returns how alike two items are, from 0 (never matched) to most.
func Pair[T any](a, b []T, most int, like func(x, y *T) int) (from, gone []int) {
	from = make([]int, len(b))
	for j := range from {
		from[j] = -1
	}
	used := make([]bool, len(a))
	for want := most; want >= 1; want-- {
		for j := range b {
			if from[j] >= 0 {
				continue
			}
			best := -1
			for i := range a {
				if !used[i] && (best < 0 || max(i-j, j-i) < max(best-j, j-best)) && like(&a[i], &b[j]) == want {
					best = i
				}
			}
			if best >= 0 {
				from[j], used[best] = best, true
			}
		}
	}
	for i := range a {
		if !used[i] {
			gone = append(gone, i)
		}
	}
	return from, gone
}
