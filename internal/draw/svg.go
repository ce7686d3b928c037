package draw

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// The colours of the page, as SVG paints. Each names the page's custom property
// first, so that a picture follows day, night and paper. It also has the day's
// colour, for a picture alone in a file.
const (
	paintInk   = "currentColor"
	paintInk2  = "var(--ink-2,#4B5563)"
	paintPaper = "var(--paper,#F3ECDE)"
	paintLeaf  = "var(--leaf,#FBF7EE)"
	paintStop  = "var(--stop,#9C1C1C)"
	paintWash  = "var(--stop-wash,#F5DAD2)"
	// colourRoot goes on the root element. There it makes currentColor the page's
	// ink even if no style sheet has set a colour.
	colourRoot = "var(--ink,#1B2633)"
	// dayInk is the ink on a stratum. It stays dark at night, because the strata
	// stay light.
	dayInk = Ink
)

// Classes of the words in a picture. The page's style sheet gives them their
// typefaces. Their sizes are attributes of the picture, because the layout
// depends on them.
const (
	classLabel = "draw-label" // Atkinson Hyperlegible Next
	classFigs  = "draw-figs"  // Brygada 1918, lining and tabular figures
	// The families are attributes as well, for a picture without a style sheet. A
	// class rule on the page overrides them.
	faceLabel = "'Atkinson Hyperlegible Next','Atkinson Hyperlegible Next Variable',sans-serif"
	faceFigs  = "'Brygada 1918','Brygada 1918 Variable',serif"
)

// pen writes SVG text. What it writes never depends on the locale, the clock or
// the order of a map, so the same input gives the same bytes.
type pen struct{ b []byte }

// put writes text as it is. Use it for names of elements and attributes, never
// for words from a person.
func (p *pen) put(ss ...string) {
	for _, s := range ss {
		p.b = append(p.b, s...)
	}
}

// words writes any text, escaped so that it is safe both as element content and
// in a quoted attribute. What XML cannot hold (control characters, bytes that are
// not UTF-8) becomes U+FFFD.
func (p *pen) words(s string) {
	for _, r := range s {
		switch {
		case r == '&':
			p.put("&amp;")
		case r == '<':
			p.put("&lt;")
		case r == '>':
			p.put("&gt;")
		case r == '"':
			p.put("&#34;")
		case r == '\'':
			p.put("&#39;")
		case r < 0x20 && r != '\t' && r != '\n', r == 0xFFFE, r == 0xFFFF:
			p.put("\uFFFD")
		default: // range turns a broken byte into U+FFFD already
			p.b = utf8.AppendRune(p.b, r)
		}
	}
}

// num writes v in px with up to two decimals.
func (p *pen) num(v float64) { p.b = appendNum(p.b, v) }

// attr writes one numeric attribute, with a space before it.
func (p *pen) attr(name string, v float64) {
	p.put(" ", name, `="`)
	p.num(v)
	p.put(`"`)
}

// at writes a point of a path: "x y".
func (p *pen) at(x, y float64) {
	p.num(x)
	p.b = append(p.b, ' ')
	p.num(y)
}

// line writes a straight line element. attrs are written as they are.
func (p *pen) line(x1, y1, x2, y2 float64, attrs string) {
	p.put(`<path d="M`)
	p.at(x1, y1)
	p.put("L")
	p.at(x2, y2)
	p.put(`" `, attrs, `/>`)
}

// appendNum writes v with up to two decimals. It is hand-written because a
// picture holds about a thousand numbers, and strconv's shortest form would give
// each of them fifteen digits.
func appendNum(b []byte, v float64) []byte {
	if v < 0 {
		v = -v
		if v >= 0.005 {
			b = append(b, '-')
		}
	}
	h := uint64(v*100 + 0.5)
	whole, r := h/100, h%100
	switch {
	case whole < 10:
		b = append(b, byte('0'+whole))
	case whole < 100:
		b = append(b, byte('0'+whole/10), byte('0'+whole%10))
	case whole < 1000:
		b = append(b, byte('0'+whole/100), byte('0'+whole/10%10), byte('0'+whole%10))
	default:
		b = strconv.AppendUint(b, whole, 10)
	}
	if r != 0 {
		b = append(b, '.', byte('0'+r/10))
		if r%10 != 0 {
			b = append(b, byte('0'+r%10))
		}
	}
	return b
}

// figure writes a number for the reader with d decimals, a true minus sign, and a
// narrow no-break space between thousands.
func figure(v float64, d int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', d, 64)
	whole, frac, dotted := strings.Cut(s, ".")
	var b strings.Builder
	if v < 0 && strings.Trim(s, "0.") != "" {
		b.WriteString("−")
	}
	for i, c := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteString("\u202f")
		}
		b.WriteRune(c)
	}
	if dotted {
		b.WriteByte('.')
		b.WriteString(frac)
	}
	return b.String()
}

// cleanPrefix makes s fit to begin an id. Letters, digits, '-' and '_' stay,
// anything else becomes '-'. If s is empty or begins with a digit, a letter is
// put in front.
func cleanPrefix(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	b := []byte(s)
	for i, c := range b {
		ok := c == '-' || c == '_' || c >= '0' && c <= '9' || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z'
		if !ok {
			b[i] = '-'
		}
	}
	if c := b[0]; c >= '0' && c <= '9' || c == '-' {
		return "i" + string(b)
	}
	return string(b)
}
