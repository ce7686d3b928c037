package words

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Sentence begins words with a capital and ends them with a full stop, unless
// they end in a question. A first word that is not plain small letters, such as an
// id or a flag, stays as it is.
func Sentence(s string) string {
	if s == "" {
		return ""
	}
	first, _, _ := strings.Cut(s, " ")
	first = strings.TrimRight(first, ",:;.?")
	if !strings.ContainsFunc(first, func(r rune) bool { return !unicode.IsLower(r) && r != '\'' }) && first != "" {
		_, n := utf8.DecodeRuneInString(s)
		s = strings.ToUpper(s[:n]) + s[n:]
	}
	if last := s[len(s)-1]; last == '.' || last == '?' || strings.HasSuffix(s, "…") {
		return s
	}
	return s + "."
}
