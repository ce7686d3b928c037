package draw

import (
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// luminance is the relative luminance of WCAG 2.2 for a colour #RRGGBB.
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	v, err := strconv.ParseUint(strings.TrimPrefix(hex, "#"), 16, 32)
	if err != nil || len(hex) != 7 {
		t.Fatalf("%q is no colour #RRGGBB", hex)
	}
	lin := func(c uint64) float64 {
		x := float64(c&255) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(v>>16) + 0.7152*lin(v>>8) + 0.0722*lin(v)
}

func TestLettersReadOnEveryStratum(t *testing.T) {
	// WCAG 2.2, 1.4.3: text needs 4.5 to 1.
	ink := luminance(t, Ink)
	seen := map[string]string{}
	for _, s := range Strata {
		if got := (luminance(t, s.Fill) + 0.05) / (ink + 0.05); got < 4.5 {
			t.Errorf("%s: ink on %s is %.1f to 1, want 4.5", s.Key, s.Fill, got)
		}
		for _, k := range []string{s.Key, s.Letters, s.Fill, s.Pattern} {
			if other, twice := seen[k]; twice || k == "" {
				t.Errorf("%s: %q is empty or already stands for %s", s.Key, k, other)
			}
			seen[k] = s.Key
		}
		if s.HasPattern() == (s.Pattern == "plain") {
			t.Errorf("%s: pattern is called %q, but has marks: %v", s.Key, s.Pattern, s.HasPattern())
		}
	}
}

func TestPatternsAreWellFormedAndInsideTheirTile(t *testing.T) {
	var b strings.Builder
	if err := WritePatterns(&b, "p"); err != nil {
		t.Fatal(err)
	}
	ids := map[string]bool{}
	d := xml.NewDecoder(strings.NewReader("<defs>" + b.String() + "</defs>"))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := tok.(xml.StartElement); ok && e.Name.Local == "pattern" {
			for _, a := range e.Attr {
				if a.Name.Local == "id" {
					if ids[a.Value] {
						t.Errorf("pattern id %s stands twice", a.Value)
					}
					ids[a.Value] = true
				}
			}
		}
	}
	if len(ids) == 0 {
		t.Fatal("there are no patterns: this test has tested nothing")
	}
	for _, s := range Strata {
		if s.HasPattern() != ids[s.PatternID("p")] {
			t.Errorf("%s: has marks: %v, pattern written: %v", s.Key, s.HasPattern(), ids[s.PatternID("p")])
		}
	}
	for _, id := range []string{DoubtID("p"), ExcessID("p")} {
		if !ids[id] {
			t.Errorf("pattern %s is missing", id)
		}
	}
	if style := regexp.MustCompile(`style=`).FindString(b.String()); style != "" {
		t.Error("a style attribute: the page's content policy would refuse it")
	}
}
