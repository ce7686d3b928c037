package draw

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"
)

// This file reads a served SVG back with code that knows nothing about how it was
// drawn. It parses path data and flattens it to polygons.

// An element is one element of the picture with its attributes and, for text,
// its words.
type element struct {
	name  string
	attrs map[string]string
	words string
}

// read parses the picture. It refuses what the page's content policy would
// refuse, NaN and infinite numbers, an id that is used twice, and a reference to
// an id that does not exist.
func read(tb rapid.TB, svg string) []element {
	tb.Helper()
	for _, bad := range []string{"NaN", "Inf", "style=", "<style", "<script", "javascript:"} {
		if strings.Contains(svg, bad) {
			tb.Fatalf("the picture holds %q", bad)
		}
	}
	var out []element
	var open []int
	ids, refs := map[string]bool{}, map[string]bool{}
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			tb.Fatalf("the picture is not well formed: %v", err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			el := element{e.Name.Local, map[string]string{}, ""}
			for _, a := range e.Attr {
				el.attrs[a.Name.Local] = a.Value
				switch v := a.Value; {
				case a.Name.Local == "id":
					if ids[v] {
						tb.Errorf("id %s stands twice", v)
					}
					ids[v] = true
				case a.Name.Local == "href":
					refs[strings.TrimPrefix(v, "#")] = true
				case a.Name.Local == "aria-labelledby":
					for _, r := range strings.Fields(v) {
						refs[r] = true
					}
				case strings.HasPrefix(v, "url(#"):
					refs[strings.TrimSuffix(strings.TrimPrefix(v, "url(#"), ")")] = true
				}
			}
			open = append(open, len(out))
			out = append(out, el)
		case xml.CharData:
			if len(open) > 0 {
				out[open[len(open)-1]].words += string(e)
			}
		case xml.EndElement:
			open = open[:len(open)-1]
		}
	}
	for r := range refs {
		if !ids[r] {
			tb.Errorf("#%s is used and does not exist", r)
		}
	}
	return out
}

// flatten turns path data of M, L, H, V, C, Q and Z, absolute, into polygons.
func flatten(data string) ([][]Point, error) {
	var polys [][]Point
	var cur []Point
	var at Point
	i := 0
	num := func() (float64, error) {
		for i < len(data) && (data[i] == ' ' || data[i] == ',' || data[i] == '\n') {
			i++
		}
		j := i
		if j < len(data) && (data[j] == '-' || data[j] == '+') {
			j++
		}
		for j < len(data) && (unicode.IsDigit(rune(data[j])) || data[j] == '.') {
			j++
		}
		v, err := strconv.ParseFloat(data[i:j], 64)
		i = j
		return v, err
	}
	point := func() (p Point, err error) {
		if p.X, err = num(); err == nil {
			p.Y, err = num()
		}
		return p, err
	}
	var cmd byte
	for i < len(data) {
		if c := data[i]; unicode.IsLetter(rune(c)) {
			cmd = c
			i++
		}
		switch cmd {
		case 'M':
			if len(cur) > 0 {
				polys = append(polys, cur)
			}
			p, err := point()
			if err != nil {
				return nil, err
			}
			at, cur = p, []Point{p}
			cmd = 'L'
		case 'L':
			p, err := point()
			if err != nil {
				return nil, err
			}
			at = p
			cur = append(cur, p)
		case 'H', 'V':
			v, err := num()
			if err != nil {
				return nil, err
			}
			if cmd == 'H' {
				at.X = v
			} else {
				at.Y = v
			}
			cur = append(cur, at)
		case 'C', 'Q':
			n := 3
			if cmd == 'Q' {
				n = 2
			}
			ctl := []Point{at}
			for range n {
				p, err := point()
				if err != nil {
					return nil, err
				}
				ctl = append(ctl, p)
			}
			const steps = 32
			for k := 1; k <= steps; k++ { // de Casteljau
				u := float64(k) / steps
				w := append([]Point(nil), ctl...)
				for m := len(w) - 1; m > 0; m-- {
					for q := range m {
						w[q] = Point{w[q].X + u*(w[q+1].X-w[q].X), w[q].Y + u*(w[q+1].Y-w[q].Y)}
					}
				}
				cur = append(cur, w[0])
			}
			at = ctl[len(ctl)-1]
		case 'Z':
			at = cur[0]
		default:
			return nil, fmt.Errorf("path command %q at %d is not read here", cmd, i)
		}
	}
	return append(polys, cur), nil
}

// area is the area of a polygon by the shoelace rule, without its sign.
func area(p []Point) float64 {
	var a float64
	for i := range p {
		q := p[(i+1)%len(p)]
		a += p[i].X*q.Y - q.X*p[i].Y
	}
	return math.Abs(a / 2)
}

func mustFlatten(tb rapid.TB, data string) [][]Point {
	tb.Helper()
	polys, err := flatten(data)
	if err != nil {
		tb.Fatalf("%v in %q", err, data)
	}
	return polys
}

func TestFlattenerMeasuresKnownShapes(t *testing.T) {
	// The cases are a square, a triangle, a circle of four cubics (the usual
	// approximation is 0.03 % off) and a segment of a parabola (Archimedes: 2/3
	// of its box).
	const k = "0.5522847498"
	cases := []struct {
		data      string
		want, tol float64
	}{
		{"M0 0H10V10H0Z", 100, 1e-9},
		{"M0 0L10 0L0 10Z", 50, 1e-9},
		{"M1 0C1 " + k + " " + k + " 1 0 1C-" + k + " 1 -1 " + k + " -1 0C-1 -" + k + " -" + k + " -1 0 -1C" + k + " -1 1 -" + k + " 1 0Z", math.Pi, .006},
		{"M0 0Q5 20 10 0Z", 2. / 3 * 10 * 10, .1},
	}
	for _, c := range cases {
		if got := area(mustFlatten(t, c.data)[0]); math.Abs(got-c.want) > c.tol {
			t.Errorf("%s: area %v, want %v ± %v", c.data, got, c.want, c.tol)
		}
	}
}
