// Package words holds the small pieces of English that sentences are put
// together from: what a misspelt word was most likely meant to be, lists of
// names, counted nouns, and letters that number things.
package words

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// fold takes out what does not count when words are compared.
var fold = strings.NewReplacer("_", "", "-", "", " ", "", ".", "")

// Nearest gives the word of known that word was most likely meant to be, or ""
// when none is near. About a third of its letters may differ, and at least one may.
// Case, spaces, hyphens, underscores and full stops do not count.
func Nearest(word string, known []string) string {
	if len(word) > 64 {
		return ""
	}
	w := fold.Replace(strings.ToLower(word))
	best, most := "", max(1, (len(w)+1)/3)
	for _, k := range known {
		if d, near := Within(w, fold.Replace(strings.ToLower(k)), most); near {
			best, most = k, d-1 // the next must be nearer
		}
	}
	return best
}

// Within gives the Distance of two words, and whether it is at most that many
// letters. Words whose lengths alone differ by more are not compared: that makes
// it quick to find the near ones among thousands.
func Within(a, b string, most int) (distance int, near bool) {
	if d := utf8.RuneCountInString(a) - utf8.RuneCountInString(b); max(d, -d) > most {
		return max(d, -d), false
	}
	distance = Distance(a, b)
	return distance, distance <= most
}

// Meant is the end of a sentence that offers a near word, as "; did you mean olive?".
// It is empty when no word is near.
func Meant(word string, known []string) string {
	if n := Nearest(word, known); n != "" {
		return fmt.Sprintf("; did you mean %s?", n)
	}
	return ""
}

// Distance is the number of letters to change, add, leave out, or swap with
// their neighbour to make a into b (optimal string alignment).
func Distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := range x {
		row[0] = i + 1
		for j := range y {
			change := last[j]
			if x[i] != y[j] {
				change++
			}
			row[j+1] = min(change, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && x[i] == y[j-1] && x[i-1] == y[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}
