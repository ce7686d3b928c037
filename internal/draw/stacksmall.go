package draw

import (
	"barwright/fault"
	"barwright/mould"
)

// StackSmall draws only the shapes of Stack, in a square of size px, for a list.
// It has no letters, measures or key. It is hidden from screen readers, because
// the row beside it says what it is. id begins every id and must be unique on the
// page.
//
// Errors: those of Stack; fault.Invalid on "size" outside 24 to 280.
func StackSmall(m mould.Mould, in StackInput, id string, size float64) (string, error) {
	if !(size >= 24 && size <= 280) {
		return "", fault.Invalidf("size", "A small picture is 24 to 280 px wide; %v is not.", size)
	}
	m = cavityAlone(m)
	v, err := m.Volume()
	if err != nil {
		return "", err
	}
	if err := in.check(v.Value); err != nil {
		return "", err
	}
	s := stacking{in: in, looks: in.look(), jar: m.Shape == mould.Measured}
	s.m, s.ml = &m, v.Value
	s.id = cleanPrefix(id, "stacks")
	s.b = make([]byte, 0, 6<<10)
	side := 0.0
	if s.jar {
		s.deep, s.along, s.k = jarHigh, jarWide, 1
		s.rim = [2]float64{jarWide, jarWide}
		side = jarSway
	} else {
		s.spans()
	}
	if err := s.pile(); err != nil {
		return "", err
	}
	const edge = 2.0
	s.k = min((size-2*edge)/(max(s.wide, s.along)+2*side), (size-2*edge)/(s.deep+s.above))
	s.x = size/2 - s.along*s.k/2
	s.y = (size-(s.deep+s.above)*s.k)/2 + s.above*s.k
	s.put(`<svg xmlns="http://www.w3.org/2000/svg" class="piece-small" aria-hidden="true" focusable="false"`)
	s.attr("width", size)
	s.attr("height", size)
	s.put(` viewBox="0 0 `)
	s.num(size)
	s.put(` `)
	s.num(size)
	s.put(`"><defs>`)
	used := [StackLooks + 1]bool{}
	for _, l := range s.looks {
		if l > 0 && !used[l] {
			used[l] = true
			s.stackPattern(s.lookID(l), l, Page)
		}
	}
	s.put(`<pattern id="`, s.id, `-over" patternUnits="userSpaceOnUse" width="5" height="5" patternTransform="rotate(45)"><path `+
		`class="pattern-stop" d="M2.5 0V5" fill="none" stroke="`, paintStop, `" stroke-width="1.2"/></pattern></defs>`)
	shell := s.bandPath(0, s.deep)
	s.put(`<path d="`, shell, `" fill="`, Leaf, `"/>`)
	paths := s.paths()
	for i := range paths {
		s.part(&paths[i])
	}
	s.put(`<path d="`, shell, `" fill="none" stroke="`, dayInk, `" stroke-width="1.4" stroke-linejoin="round"/>`)
	s.sprinkles()
	s.put(`</svg>`)
	return string(s.b), nil
}
