package sheetpdf

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/unicode/norm"
)

// face is one of the four typefaces. The zero face is none of them.
type face uint8

const (
	_ face = iota
	sans
	sansB
	serif
	serifB
	numFaces
)

var (
	//go:embed fonts/SourceSans3-Regular.ttf
	sansTTF []byte
	//go:embed fonts/SourceSans3-Semibold.ttf
	sansBTTF []byte
	//go:embed fonts/SourceSerif4-Regular.ttf
	serifTTF []byte
	//go:embed fonts/SourceSerif4-Semibold.ttf
	serifBTTF []byte
)

var faces = [numFaces]struct {
	family, style string // as fpdf calls it
	file          []byte
	sans          face // the sans of the same weight, which has more letters
}{
	sans:   {"sans", "", sansTTF, sans},
	sansB:  {"sans", "B", sansBTTF, sansB},
	serif:  {"serif", "", serifTTF, sans},
	serifB: {"serif", "B", serifBTTF, sansB},
}

func addFaces(f *fpdf.Fpdf) error {
	for _, x := range faces[sans:] {
		f.AddUTF8FontFromBytes(x.family, x.style, x.file)
	}
	if err := f.Error(); err != nil {
		return fmt.Errorf("reading the faces: %w", err)
	}
	return nil
}

// parsed are the faces, parsed to find out which letters they have.
var parsed = sync.OnceValues(func() (fonts [numFaces]*sfnt.Font, err error) {
	for i := sans; i < numFaces; i++ {
		if fonts[i], err = sfnt.Parse(faces[i].file); err != nil {
			return fonts, fmt.Errorf("reading a face: %w", err)
		}
	}
	return fonts, nil
})

// known caches which letters a face has.
var known sync.Map // of letter to bool

type letter struct {
	f face
	r rune
}

// has reports whether the face has a glyph for r that the PDF can hold, which is
// none above U+FFFF.
func (f face) has(r rune) bool {
	if r > 0xFFFF {
		return false
	}
	if v, ok := known.Load(letter{f, r}); ok {
		return v.(bool)
	}
	fonts, err := parsed()
	if err != nil {
		return false
	}
	var b sfnt.Buffer
	g, err := fonts[f].GlyphIndex(&b, r)
	ok := err == nil && g != 0
	known.Store(letter{f, r}, ok)
	return ok
}

// missing is printed for a letter that no face has.
const missing = '\u25a1' // white square

// clean composes a letter and its mark into one (é), and replaces what the face
// cannot print: a control character and a rare space by a plain space, anything
// else by a small square.
func clean(f face, s string) string {
	s = norm.NFC.String(strings.ToValidUTF8(s, string(missing)))
	return strings.Map(func(r rune) rune {
		switch {
		case f.has(r):
			return r
		case unicode.Is(unicode.Zs, r):
			if f.has('\u00a0') {
				return '\u00a0'
			}
			return ' '
		case unicode.IsSpace(r) || unicode.IsControl(r):
			return ' '
		case unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Mn, r) && r >= 0xFE00 && r <= 0xFE0F:
			return -1 // joiners and variation selectors print nothing of their own
		case f.has(missing):
			return missing
		}
		return '?'
	}, s)
}

// Lacking lists the words of a sheet or a run that hold a letter which no face of
// the paper has. They are printed with □ in its place. The list is sorted and has
// each word once, ten words at most.
func Lacking(of any) ([]string, error) {
	b, err := json.Marshal(of)
	if err != nil {
		return nil, fmt.Errorf("reading what is to be printed: %w", err)
	}
	var all any
	if err := json.Unmarshal(b, &all); err != nil {
		return nil, fmt.Errorf("reading what is to be printed: %w", err)
	}
	found := map[string]bool{}
	var walk func(any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			for _, x := range v {
				walk(x)
			}
		case []any:
			for _, x := range v {
				walk(x)
			}
		case string:
			for _, w := range strings.FieldsFunc(v, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(",;:()“”\"", r) }) {
				if lacks(w) {
					found[w] = true
				}
			}
		}
	}
	walk(all)
	words := slices.Sorted(maps.Keys(found))
	return words[:min(len(words), 10)], nil
}

// lacks reports whether a word would be printed with the square for a letter.
func lacks(s string) bool {
	return strings.Count(clean(sans, s), string(missing)) > strings.Count(s, string(missing))
}

// faceFor is f, or the sans of its weight if f lacks a letter that the sans has.
func (p *page) faceFor(f face, s string) face {
	for _, r := range norm.NFC.String(s) {
		if !f.has(r) && !unicode.Is(unicode.Zs, r) {
			return faces[f].sans
		}
	}
	return f
}

func (p *page) use(f face, size float64) {
	if p.faceStyle == f && p.ptSize == size {
		return
	}
	p.f.SetFont(faces[f].family, faces[f].style, size)
	p.faceStyle, p.ptSize = f, size
}

// width is the width of s in mm, in the face and size in use.
func (p *page) width(f face, s string) float64 { return p.f.GetStringWidth(clean(f, s)) }

func (p *page) widthAt(f face, size float64, s string) float64 {
	p.use(f, size)
	return p.width(f, s)
}

// fit is the largest size in pt, from size down to least, at which s is no wider
// than room.
func (p *page) fit(f face, size, least, room float64, s string) float64 {
	for size > least && p.widthAt(f, size, s) > room {
		size--
	}
	return size
}

// cut is s, shortened with an ellipsis if it is wider than room.
func (p *page) cut(f face, size, room float64, s string) string {
	if p.widthAt(f, size, s) <= room {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && p.width(f, string(r)+"…") > room {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// text writes s with its left end at x and its baseline at y, mm.
func (p *page) text(x, y float64, f face, size float64, s string) {
	if s == "" {
		return
	}
	p.squares = p.squares || strings.ContainsRune(s, missing) || lacks(s)
	p.use(f, size)
	p.f.Text(p.x0+x, y, clean(f, s))
}

// lines writes lines below one another from y down, each lead mm high, with its
// baseline drop mm above its lower end. It gives the lower end of the last one.
func (p *page) lines(x, y, lead, drop float64, f face, size float64, lines []string) float64 {
	for _, l := range lines {
		y += lead
		p.text(x, y-drop, f, size, l)
	}
	return y
}

// right writes s with its right end at x.
func (p *page) right(x, y float64, f face, size float64, s string) {
	p.text(x-p.widthAt(f, size, s), y, f, size, s)
}

// wrap breaks s into lines of at most room mm. It breaks at plain spaces, and
// inside a word only if that word alone is too long.
func (p *page) wrap(f face, size, room float64, s string) []string {
	p.use(f, size)
	var out []string
	line := ""
	for _, w := range strings.FieldsFunc(clean(f, s), func(r rune) bool { return r == ' ' }) {
		try := w
		if line != "" {
			try = line + " " + w
		}
		if p.f.GetStringWidth(try) <= room {
			line = try
			continue
		}
		if line != "" {
			out = append(out, line)
		}
		line = ""
		for _, r := range w {
			if line != "" && p.f.GetStringWidth(line+string(r)) > room {
				out = append(out, line)
				line = ""
			}
			line += string(r)
		}
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

func (p *page) rule(x1, x2, y, pen float64) {
	p.f.SetLineWidth(pen)
	p.f.Line(p.x0+x1, y, p.x0+x2, y)
}

func (p *page) box(x, y, w, h, pen float64) {
	p.f.SetLineWidth(pen)
	p.f.Rect(p.x0+x, y, w, h, "D")
}
