package words

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

func TestNamesAreJoinedAsOneSaysThem(t *testing.T) {
	for _, c := range []struct {
		names        string
		list, either string
		some         string // of at most 2
	}{
		{"", "", "", ""},
		{"a", "a", "a", "a"},
		{"a b", "a and b", "a or b", "a and b"},
		{"a b c", "a, b and c", "a, b or c", "a, b and c"},
		{"a b c d", "a, b, c and d", "a, b, c or d", "a, b and 2 more"},
		{"a b c d e", "a, b, c, d and e", "a, b, c, d or e", "a, b and 3 more"},
	} {
		names := strings.Fields(c.names)
		was := slices.Clone(names)
		if got := List(names); got != c.list {
			t.Errorf("List(%s) = %q, want %q", c.names, got, c.list)
		}
		if got := Either(names); got != c.either {
			t.Errorf("Either(%s) = %q, want %q", c.names, got, c.either)
		}
		if got := Some(names, 2, "more"); got != c.some {
			t.Errorf("Some(%s) = %q, want %q", c.names, got, c.some)
		}
		if !slices.Equal(names, was) {
			t.Errorf("%v became %v", was, names)
		}
	}
	if got := Some(strings.Fields("a b c d"), 2, "more pours"); got != "a, b and 2 more pours" {
		t.Error(got)
	}
	if got := Some(make([]string, 1300), 0, "parts"); got != "1\u202f300 parts" {
		t.Error(got)
	}
}

func TestNounsAreCounted(t *testing.T) {
	for n, want := range map[int]string{0: "0 parts", 1: "1 part", 3: "3 parts", 1200: "1\u202f200 parts"} {
		if got := Count(n, "part", "parts"); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}

func TestLettersGoOnPastZ(t *testing.T) {
	for i, want := range map[int]string{
		-1: "", 0: "A", 1: "B", 25: "Z", 26: "AA", 27: "AB", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA",
	} {
		if got := Letters(i); got != want {
			t.Errorf("%d is %q, want %q", i, got, want)
		}
	}
	seen := map[string]bool{}
	for i := range 1000 {
		l := Letters(i)
		if seen[l] {
			t.Fatalf("two things are %q", l)
		}
		seen[l] = true
	}
}

func ExampleSome() {
	fmt.Println(Some([]string{"sky", "sea", "tower", "rock", "foam"}, 3, "more"))
	// Output: sky, sea, tower and 2 more
}

func TestSentencesBeginAndEndAsSentences(t *testing.T) {
	for s, want := range map[string]string{
		"":                     "",
		"there is no such key": "There is no such key.",
		"there is no such key; did you mean fat?": "There is no such key; did you mean fat?",
		"The fat is missing.":                     "The fat is missing.",
		"olive-oil is a fat":                      "olive-oil is a fat.",
		"--json is given twice":                   "--json is given twice.",
		"8 cannot be used: write 1 to 5":          "8 cannot be used: write 1 to 5.",
		"the oil's share":                         "The oil's share.",
	} {
		if got := Sentence(s); got != want {
			t.Errorf("Sentence(%q) = %q, want %q", s, got, want)
		}
	}
}
