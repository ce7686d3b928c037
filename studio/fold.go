package studio

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// NameKey folds a name, so that "Storm  Lantern" and "storm lantern" are one:
// compatibility composition, simple case folding (Unicode, CaseFolding.txt,
// status C and S), runs of space as one. It is stored, because SQLite and
// PostgreSQL fold differently.
func NameKey(s string) string {
	return strings.Join(strings.Fields(strings.Map(foldRune, norm.NFKC.String(s))), " ")
}

// SearchKey folds for searching: as NameKey, and without marks, so that
// "creme" finds "Crème".
func SearchKey(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return foldRune(r)
	}, norm.NFKD.String(s))
	return strings.Join(strings.Fields(s), " ")
}

// foldRune gives the smallest rune of those that differ from r only by case.
func foldRune(r rune) rune {
	low := r
	for q := unicode.SimpleFold(r); q != r; q = unicode.SimpleFold(q) {
		low = min(low, q)
	}
	// The smallest of a Latin pair is the capital; either serves as a key.
	return low
}
