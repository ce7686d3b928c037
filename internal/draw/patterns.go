// Package draw makes the pictures of Barwright as SVG from finished values: the
// bar, cut open; superfat under the glass; the mark; moulds in section; pieces in
// them; and how a block is cut.
//
// Nothing here decides anything about soap. A picture is a string of SVG with
// presentation attributes and classes only. It has no style attribute and no
// script, so a strict content policy allows it. Every string can be put into a
// page as it is, because all words given to it are escaped. The same input always
// gives the same bytes.
package draw

import (
	"fmt"
	"io"
	"strings"
)

// Ink is the one ink of every drawing. Stop is the red that is reserved for what
// must stop the maker. Leaf is the white that ink is drawn on. They repeat the
// page's custom properties, for a picture outside a page.
const (
	Ink  = "#1B2633"
	Stop = "#9C1C1C"
	Leaf = "#FBF7EE"
)

// A Stratum is one of the things that a bar consists of, as the picture divides
// it. The values run from the foot of the bar to its crest.
type Stratum uint8

// The strata, foot first. Soap lies below FreeFat, so their common edge is the
// superfat.
const (
	Slow           Stratum = iota // soap of long saturated acids (C16:0 and longer)
	Mellow                        // soap of mono-unsaturated acids
	Holder                        // soap of ricinoleic acid
	Fleeting                      // soap of poly-unsaturated acids
	UnknownSoap                   // soap of acids that nobody has stated: fat hidden in an extra
	Quick                         // soap of short saturated acids (C14:0 and shorter)
	FreeFat                       // fat and fatty acid left free, and wax
	Unsaponifiable                // what lye does not change
	Glycerol                      // set free by the lye, stays in the bar
	Water                         // what has not dried out
	Salts                         // salts of acids, impurities of the alkali, salt stirred in
	Extras                        // clay, sugar, purée and the like, dry
	Scent                         // scent
	NumStrata                     // how many there are
)

// Soaps is the number of strata that are soap: those below FreeFat.
const Soaps = int(FreeFat)

// A Look is how one stratum is shown: always by colour, pattern and letters
// together, so that any one of them is enough.
type Look struct {
	Key     string // stable name for classes and ids, lower case: "free-fat"
	Letters string // two letters, such as "Ff"
	Name    string // the maker's word, such as "free fat"
	Does    string // what it does in a bar, in words; "" if the name says it
	Fill    string // day colour, #RRGGBB
	Pattern string // the pattern, in words: "level lines"; "plain" has no marks
	Soap    bool   // it is soap, from one of the groups of fatty acids

	tileW, tileH float64 // the pattern's tile, px
	strokes      string  // path data that is stroked
	dots         string  // path data that is filled
	weight       float64 // stroke width, px
}

var looks = [NumStrata]Look{
	Slow: {Key: "slow", Soap: true, Letters: "Sl", Name: "slow", Does: "dissolves slowly: a firm bar that wears well",
		Fill: "#7C93A6", Pattern: "coursed stone", tileW: 26, tileH: 18, weight: 1,
		strokes: "M0 4.5H26M0 13.5H26M6.5 4.5V13.5M19.5 -4.5V4.5M19.5 13.5V22.5"},
	Mellow: {Key: "mellow", Soap: true, Letters: "Me", Name: "mellow", Does: "soft, mild, slow to lather",
		Fill: "#D8C17A", Pattern: "slow waves", tileW: 26, tileH: 11, weight: 1.1,
		strokes: "M-6.5 5.5C-3.2 2.2 -3.2 2.2 0 5.5C3.2 8.8 9.8 8.8 13 5.5C16.2 2.2 22.8 2.2 26 5.5C29.2 8.8 29.2 8.8 32.5 5.5"},
	Holder: {Key: "holder", Soap: true, Letters: "Ho", Name: "holder", Does: "holds a lather, draws water",
		Fill: "#B795B0", Pattern: "rings", tileW: 18, tileH: 14, weight: 1.1,
		strokes: "M1.9 3.5a2.6 2.6 0 1 0 5.2 0a2.6 2.6 0 1 0 -5.2 0ZM10.9 10.5a2.6 2.6 0 1 0 5.2 0a2.6 2.6 0 1 0 -5.2 0Z"},
	Fleeting: {Key: "fleeting", Soap: true, Letters: "Fl", Name: "fleeting", Does: "mild, but the first to turn rancid",
		Fill: "#E3B49A", Pattern: "falling strokes", tileW: 12, tileH: 10, weight: 1.1,
		strokes: "M1.5 1L4 4.2M7.5 6L10 9.2"},
	UnknownSoap: {Key: "unknown-soap", Soap: true, Letters: "Uk", Name: "soap of unknown acids",
		Does: "from fat whose acids nobody has stated",
		Fill: "#EBDCBE", Pattern: "hollow lozenges", tileW: 16, tileH: 12, weight: 1,
		strokes: "M4 .6L6.6 3L4 5.4L1.4 3ZM12 6.6L14.6 9L12 11.4L9.4 9Z"},
	Quick: {Key: "quick", Soap: true, Letters: "Qu", Name: "quick", Does: "dissolves fast: early, big lather, takes more oil off the skin",
		Fill: "#A6CBBE", Pattern: "upright ticks", tileW: 11, tileH: 12, weight: 1.1,
		strokes: "M2.75 1V5M8.25 7V11"},
	FreeFat: {Key: "free-fat", Letters: "Ff", Name: "free fat",
		Fill: "#F0B64A", Pattern: "plain", tileW: 8, tileH: 8},
	Unsaponifiable: {Key: "unsaponifiable", Letters: "Un", Name: "unsaponifiable",
		Fill: "#A08C66", Pattern: "close dots", tileW: 5, tileH: 5,
		dots: "M.4 1.25a.85 .85 0 1 0 1.7 0a.85 .85 0 1 0 -1.7 0ZM2.9 3.75a.85 .85 0 1 0 1.7 0a.85 .85 0 1 0 -1.7 0Z"},
	Glycerol: {Key: "glycerol", Letters: "Gl", Name: "glycerol",
		Fill: "#DCE6E0", Pattern: "sparse dots", tileW: 16, tileH: 13,
		dots: "M3 3.25a1 1 0 1 0 2 0a1 1 0 1 0 -2 0ZM11 9.75a1 1 0 1 0 2 0a1 1 0 1 0 -2 0Z"},
	Water: {Key: "water", Letters: "Wa", Name: "water",
		Fill: "#B9D3E2", Pattern: "level lines", tileW: 20, tileH: 5, weight: 1,
		strokes: "M0 2.5H20"},
	Salts: {Key: "salts", Letters: "Sa", Name: "salts",
		Fill: "#FBF7EE", Pattern: "crosses", tileW: 12, tileH: 12, weight: 1,
		strokes: "M3 1V5M1 3H5M9 7V11M7 9H11"},
	Extras: {Key: "extras", Letters: "Ex", Name: "extras",
		Fill: "#C9C2B4", Pattern: "grains", tileW: 14, tileH: 12,
		dots: "M3.5 1L5.6 4.8H1.4ZM10.5 7L12.6 10.8H8.4Z"},
	Scent: {Key: "scent", Letters: "Sc", Name: "scent",
		Fill: "#C9D59A", Pattern: "curls", tileW: 16, tileH: 12, weight: 1.1,
		strokes: "M1 4C2.4 1.2 4.2 1.4 4.6 3C5 4.8 6.6 4.6 7.4 2.6M9 10C10.4 7.2 12.2 7.4 12.6 9C13 10.8 14.6 10.6 15.4 8.6"},
}

// Strata are all strata, from the foot of the picture to its crest.
var Strata = looks[:]

// HasPattern reports whether a stratum has marks. Free fat is plain.
func (l Look) HasPattern() bool { return l.strokes != "" || l.dots != "" }

// PatternID is the id of a stratum's pattern in a document whose patterns were
// written with this prefix.
func (l Look) PatternID(prefix string) string { return prefix + "-" + strings.ToLower(l.Letters) }

// DoubtID is the id of the hatch that means doubt: 45 degrees, in ink.
func DoubtID(prefix string) string { return prefix + "-doubt" }

// ExcessID is the id of the cross-hatch that means alkali in excess.
func ExcessID(prefix string) string { return prefix + "-excess" }

// Look says how s is shown. A value that is not a stratum gives the zero Look.
func (s Stratum) Look() Look {
	if s >= NumStrata {
		return Look{}
	}
	return looks[s]
}

// String is the maker's word for s.
func (s Stratum) String() string { return s.Look().Name }

// A Variant is the kind of ground that a picture is drawn on.
type Variant uint8

const (
	// Page is for the screen: colour under ink at 62 %.
	Page Variant = iota
	// Paper is for print: black on white, no tint, patterns full black.
	Paper
)

// patternInk is the strength of a pattern on the page: enough to recognise it,
// but not so strong that letters become hard to read.
const patternInk = ".62"

// writePattern writes the <pattern> of s, with an id that begins with prefix.
// FreeFat has none: it is plain.
func (p *pen) writePattern(prefix string, s Stratum, v Variant, scale float64) {
	l := &looks[s]
	if !l.HasPattern() {
		return
	}
	p.put(`<pattern id="`, l.PatternID(prefix), `" patternUnits="userSpaceOnUse"`)
	p.attr("width", l.tileW)
	p.attr("height", l.tileH)
	if scale != 1 {
		p.put(` patternTransform="scale(`)
		p.num(scale)
		p.put(`)"`)
	}
	p.put(`>`)
	ink, extra := dayInk, ` opacity="`+patternInk+`"`
	if v == Paper {
		ink, extra = "#000", ""
	}
	if l.strokes != "" {
		p.put(`<path class="pattern-ink" d="`, l.strokes, `" fill="none" stroke="`, ink, `" stroke-linecap="round"`, extra)
		p.attr("stroke-width", l.weight)
		p.put(`/>`)
	}
	if l.dots != "" {
		p.put(`<path class="pattern-ink" d="`, l.dots, `" fill="`, ink, `"`, extra, `/>`)
	}
	p.put(`</pattern>`)
}

// fill is the flat colour under the pattern of s.
func (s Stratum) fill(v Variant) string {
	if v == Paper {
		return "#fff"
	}
	return looks[s].Fill
}

// writeDoubt writes the hatch of doubt, lines d px apart.
func (p *pen) writeDoubt(prefix string, v Variant, d float64) {
	p.put(`<pattern id="`, DoubtID(prefix), `" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"`)
	p.attr("width", d)
	p.attr("height", d)
	p.put(`><path class="pattern-ink" d="M`)
	p.num(d / 2)
	p.put(` 0V`)
	p.num(d)
	if v == Paper {
		p.put(`" fill="none" stroke="#000" stroke-width=".8"/></pattern>`)
		return
	}
	p.put(`" fill="none" stroke="`, dayInk, `" stroke-opacity=".7" stroke-width=".9"/></pattern>`)
}

// writeExcess writes the cross-hatch of alkali in excess.
func (p *pen) writeExcess(prefix string, v Variant) {
	ink := paintStop
	if v == Paper {
		ink = "#000"
	}
	p.put(`<pattern id="`, ExcessID(prefix), `" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">`,
		`<path class="pattern-stop" d="M3.5 0V7M0 3.5H7" fill="none" stroke="`, ink, `" stroke-width="1"/></pattern>`)
}

// WritePatterns writes the <pattern> elements of every stratum, of doubt and of
// alkali in excess. Put them inside one <defs> of the document that uses them.
// Ids begin with prefix, which must start with a letter; PatternID, DoubtID and
// ExcessID give them. So two pictures on a page can each have their own. A
// pattern holds marks only: draw a shape first in the stratum's Fill and then in
// its pattern. The error is the writer's.
func WritePatterns(w io.Writer, prefix string) error {
	_, err := io.WriteString(w, patterns(prefix, Page))
	if err != nil {
		return fmt.Errorf("writing the patterns: %w", err)
	}
	return nil
}

// patterns is every pattern, with ids that begin with prefix.
func patterns(prefix string, v Variant) string {
	p := pen{b: make([]byte, 0, 6144)}
	for s := range NumStrata {
		p.writePattern(prefix, s, v, 1)
	}
	p.writeDoubt(prefix, v, 4.6)
	p.writeExcess(prefix, v)
	return string(p.b)
}

// Swatch returns the key of one stratum as a small SVG of 40 × 24 px: colour,
// pattern and letters. Each set of swatches on a page needs its own prefix, so
// that ids stay unique. The swatch is hidden from screen readers, because the row
// of the table beside it has the name. A value that is not a stratum gives the
// empty string.
func Swatch(prefix string, s Stratum, v Variant) string {
	if s >= NumStrata {
		return ""
	}
	const w, h = 40, 24
	l := &looks[s]
	prefix = cleanPrefix(prefix, "sw")
	p := pen{b: make([]byte, 0, 1024)}
	p.put(`<svg class="swatch swatch-`, l.Key, `" width="40" height="24" viewBox="0 0 40 24" aria-hidden="true" focusable="false">`)
	if l.HasPattern() {
		p.put("<defs>")
		p.writePattern(prefix, s, v, 0.8)
		p.put("</defs>")
	}
	edge := dayInk
	if v == Paper {
		edge = "#000"
	}
	p.put(`<path d="M.6 .6H39.4V23.4H.6Z" fill="`, s.fill(v), `"/>`)
	fill := "none"
	if l.HasPattern() {
		fill = "url(#" + l.PatternID(prefix) + ")"
	}
	p.put(`<path d="M.6 .6H39.4V23.4H.6Z" fill="`, fill, `" stroke="`, edge, `" stroke-width="1.2"/>`)
	p.letters(w/2, h/2, 12, s, v)
	p.put(`</svg>`)
	return string(p.b)
}

// letters writes the two letters of s in the middle of (x, y). A halo in the
// stratum's own colour keeps the pattern from running through them.
func (p *pen) letters(x, y, size float64, s Stratum, v Variant) {
	ink := dayInk
	if v == Paper {
		ink = "#000"
	}
	p.put(`<text class="`, classLabel, `" text-anchor="middle" font-family="`, faceLabel, `" font-weight="650" fill="`,
		ink, `" stroke="`, s.fill(v), `" stroke-linejoin="round" paint-order="stroke"`)
	p.attr("stroke-width", size/3.6)
	p.attr("font-size", size)
	p.attr("x", x)
	p.attr("y", y+size*0.35)
	p.put(`>`, looks[s].Letters, `</text>`)
}
