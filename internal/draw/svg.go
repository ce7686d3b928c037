package draw

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// The colours of the page, as an SVG paint. Each names the page's custom
// property first, so that a picture follows day, night and paper, and carries
// the day's colour for a picture that stands alone in a file.
const (
	paintInk   = "currentColor"
	paintInk2  = "var(--ink-2,#4B5563)"
	paintPaper = "var(--paper,#F3ECDE)"
	paintLeaf  = "var(--leaf,#FBF7EE)"
	paintStop  = "var(--stop,#9C1C1C)"
	paintWash  = "var(--stop-wash,#F5DAD2)"
	// colourRoot goes on the root element, where it makes currentColor the ink
	// of the page even when no style sheet has set one.
	colourRoot = "var(--ink,#1B2633)"
	// dayInk is the ink on a stratum. It does not turn light at night, because
	// the strata do not turn dark.
	dayInk = Ink
)

// Classes of the words in a picture; the page's style sheet gives them their
// faces. Sizes are attributes of the picture, because the drawing is laid out
// to them.
const (
	classLabel = "draw-label" // Atkinson Hyperlegible Next
	classFigs  = "draw-figs"  // Brygada 1918, lining and tabular figures
	// The families are named as attributes too, for a picture without a style
	// sheet; a class rule on the page outranks them.
	faceLabel = "'Atkinson Hyperlegible Next','Atkinson Hyperlegible Next Variable',sans-serif"
	faceFigs  = "'Brygada 1918','Brygada 1918 Variable',serif"
)

// pen writes SVG text. Nothing it writes depends on the locale, the clock or
// the order of a map, so equal input gives equal bytes.
type pen struct{ b []byte }

// put writes text as it stands: names of elements and attributes, never words
// that came from a person.
func (p *pen) put(ss ...string) {
	for _, s := range ss {
		p.b = append(p.b, s...)
	}
}

// words writes text that may hold anything, escaped for element content and
// for a quoted attribute alike. What XML cannot hold (control characters, bytes
// that are no UTF-8) becomes U+FFFD.
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
		default: // a broken byte comes out of the range as U+FFFD already
			p.b = utf8.AppendRune(p.b, r)
		}
	}
}

// num writes v in px to a hundredth, without a needless zero.
func (p *pen) num(v float64) { p.b = appendNum(p.b, v) }

// attr writes one numeric attribute, with the blank before it.
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

// line writes a straight line element with further attributes as they stand.
func (p *pen) line(x1, y1, x2, y2 float64, attrs string) {
	p.put(`<path d="M`)
	p.at(x1, y1)
	p.put("L")
	p.at(x2, y2)
	p.put(`" `, attrs, `/>`)
}

// appendNum writes v to a hundredth. It is by hand because a picture holds
// about a thousand numbers and strconv's shortest form would give each one
// fifteen digits.
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

// figure writes a number for the reader with d decimals: a true minus sign,
// and a narrow no-break space between thousands.
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

// cleanPrefix makes s fit to begin an id: letters, digits, '-' and '_' stay,
// anything else becomes '-', and an empty or digit-led one gets a letter.
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
