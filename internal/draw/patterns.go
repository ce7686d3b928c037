// Package draw makes the program's pictures: SVG text from values that are
// already worked out. It decides nothing and knows no clock, disk or database.
package draw

import (
	"fmt"
	"io"
	"strings"
)

// Ink is the one ink of every drawing, and Stop the red that is kept for what
// must stop the hand. They repeat the page's custom properties because a
// picture must stand by itself, outside a page too.
const (
	Ink  = "#1B2633"
	Stop = "#9C1C1C"
	Leaf = "#FBF7EE"
)

// A Stratum is one thing that a bar is made of, as it is drawn: a colour, a
// pattern and two letters, always all three, so that the picture still reads
// in grey, on a photocopy, and to a colour-blind eye.
type Stratum struct {
	Key     string // stable name, lower case: "quick", "free-fat"
	Letters string // the two letters that stand on it
	Name    string // as it is called on a page
	Does    string // what it does in the bar, in a few words; "" when there is nothing to say
	Fill    string // ground colour, #RRGGBB
	Pattern string // the pattern in words; "plain" has no marks
	Soap    bool   // it is soap, one of the groups of fatty acids
}

// Strata are all strata, from the foot of the picture to its top. Soap of
// unknown acids is the fat that hides in an extra: it became soap, but of which
// acids nobody has said.
var Strata = []Stratum{
	{"slow", "Sl", "slow", "dissolves slowly: a firm bar that wears well", "#7C93A6", "coursed stone", true},
	{"mellow", "Me", "mellow", "soft, mild, slow to lather", "#D8C17A", "slow waves", true},
	{"holder", "Ho", "holder", "holds a lather, draws water", "#B795B0", "rings", true},
	{"fleeting", "Fl", "fleeting", "mild, but the first to turn rancid", "#E3B49A", "falling strokes", true},
	{"quick", "Qu", "quick", "dissolves fast: early, big lather; takes more oil off the skin", "#A6CBBE", "upright ticks", true},
	{"other-soap", "Os", "soap of unknown acids", "from fat hidden in an extra", "#D9C9B8", "chevrons", true},
	{"free-fat", "Ff", "free fat", "", "#F0B64A", "plain", false},
	{"unsaponifiable", "Un", "unsaponifiable", "", "#A08C66", "close dots", false},
	{"glycerol", "Gl", "glycerol", "", "#DCE6E0", "sparse dots", false},
	{"water", "Wa", "water", "", "#B9D3E2", "level lines", false},
	{"salts", "Sa", "salts", "", "#FBF7EE", "crosses", false},
	{"extras", "Ex", "extras", "", "#C9C2B4", "grains", false},
	{"scent", "Sc", "scent", "", "#C9D59A", "curls", false},
}

// StratumOf finds a stratum by its key; false when there is none.
func StratumOf(key string) (Stratum, bool) {
	for _, s := range Strata {
		if s.Key == key {
			return s, true
		}
	}
	return Stratum{}, false
}

// PatternID is the id of a stratum's pattern in a document whose patterns were
// written with the same prefix.
func (s Stratum) PatternID(prefix string) string { return prefix + "-" + strings.ToLower(s.Letters) }

// DoubtID and ExcessID are the ids of the two patterns that are no stratum: the
// hatch of doubt (45 degrees, ink) and the cross-hatch of alkali in excess.
func DoubtID(prefix string) string { return prefix + "-doubt" }

// ExcessID is the id of the cross-hatch that stands for alkali in excess.
func ExcessID(prefix string) string { return prefix + "-excess" }

// tile is a pattern's repeat, in user units, and its marks.
type tile struct {
	w, h  float64
	marks string
}

// The marks are drawn inside their tile with room to spare, or run exactly
// from edge to edge, so that no seam shows where tiles meet.
var tiles = map[string]tile{
	"slow": {16, 12, `<path d="M0 .5H16M0 6.5H16M4 .5V6.5M12 6.5V12.5M12 0V.5"/>`},
	// The wave crosses its tile's edge at the same height and slope.
	"mellow":   {20, 9, `<path d="M0 4.5C3.3 1.5 6.7 1.5 10 4.5S16.7 7.5 20 4.5"/>`},
	"holder":   {13, 13, `<circle cx="3.5" cy="3.5" r="2.2"/><circle cx="10" cy="10" r="2.2"/>`},
	"fleeting": {8, 8, `<path d="M.8 1l2.8 2.4M4.8 5l2.8 2.4"/>`},
	"quick":    {6, 9, `<path d="M1.5 1V4.6M4.5 5.5V9"/>`},
	"other-soap": {12, 7,
		`<path d="M0 5.5L3 2.5L6 5.5L9 2.5L12 5.5"/>`},
	"unsaponifiable": {4.4, 4.4,
		`<g fill="#1B2633" fill-opacity=".62" stroke="none"><circle cx="1.1" cy="1.1" r=".7"/><circle cx="3.3" cy="3.3" r=".7"/></g>`},
	"glycerol": {11, 11,
		`<g fill="#1B2633" fill-opacity=".62" stroke="none"><circle cx="2.75" cy="2.75" r=".85"/><circle cx="8.25" cy="8.25" r=".85"/></g>`},
	"water": {12, 4.5, `<path d="M0 2.25H12"/>`},
	"salts": {9, 9, `<path d="M2.25 .9V3.6M.9 2.25H3.6M6.75 5.4V8.1M5.4 6.75H8.1"/>`},
	"extras": {11, 9,
		`<g fill="#1B2633" fill-opacity=".62" stroke="none"><path d="M2.8 1l1.6 2.8H1.2zM8.2 5.4l1.6 2.8H6.6z"/></g>`},
	"scent": {13, 9,
		`<path d="M1 3.8c.4-2.6 4.2-2.6 4.2-.3 0 1.5-2 1.6-2.1.3M7.5 8.1c.4-2.6 4.2-2.6 4.2-.3 0 1.5-2 1.6-2.1.3"/>`},
}

// WritePatterns writes the <pattern> elements of every stratum, and those of
// doubt and of alkali in excess, to be put inside one <defs> of the document
// that uses them. Ids begin with prefix, so that two pictures on one page need
// not share. A pattern holds marks only, ink at 62 %: draw a shape first in the
// stratum's Fill and then in its pattern. On paper the style sheet takes the
// marks (class "pattern-ink") to full black.
func WritePatterns(w io.Writer, prefix string) error {
	for _, s := range Strata {
		t, ok := tiles[s.Key]
		if !ok {
			continue // plain: free fat is never ruled
		}
		if _, err := fmt.Fprintf(w,
			`<pattern id="%s" width="%g" height="%g" patternUnits="userSpaceOnUse">`+
				`<g class="pattern-ink" fill="none" stroke="%s" stroke-opacity=".62" stroke-width=".9">%s</g></pattern>`,
			s.PatternID(prefix), t.w, t.h, Ink, t.marks); err != nil {
			return err
		}
	}
	_, err := fmt.Fprintf(w,
		`<pattern id="%s" width="4.6" height="4.6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">`+
			`<path class="pattern-ink" d="M2.3 0V4.6" fill="none" stroke="%s" stroke-opacity=".62" stroke-width=".9"/></pattern>`+
			`<pattern id="%s" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">`+
			`<path class="pattern-stop" d="M3 0V6M0 3H6" fill="none" stroke="%s" stroke-width=".9"/></pattern>`,
		DoubtID(prefix), Ink, ExcessID(prefix), Stop)
	return err
}

// HasPattern reports whether a stratum has marks of its own; free fat is plain.
func (s Stratum) HasPattern() bool { _, ok := tiles[s.Key]; return ok }
