package draw

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"barwright/design"
	"barwright/fault"
	"barwright/internal/words"
	"barwright/mould"
	"barwright/quantity"
)

// StackPart is one part of a piece and where it lies. All values are finished;
// whatever took the piece apart has worked them out.
type StackPart struct {
	Kind  design.Kind
	Label string // the maker's word for it
	// FromPct and ToPct are the levels before and after a pour or a topping, in %
	// of the cavity's volume, from 0 up. Above 100 it overflows, and is drawn
	// that way. For an embed, ToPct is the level after its sunk share has pushed
	// the fill aside; 0 means that Stack works it out.
	FromPct, ToPct float64
	// VolumeML is the volume of one embed, or of all piping on one piece.
	VolumeML float64
	Count    int // of embeds in one cavity; 0 means 1
	// SunkPct is the share of an embed's volume below the surface of the fill
	// that it is set into. CoveredPct is the share that later parts cover. The
	// rest stands out.
	SunkPct, CoveredPct float64
	// Mould is what an embed was cast in; it gives its shape. If it is nil or a
	// measured one, the embed is drawn as a ball of its true volume, with a
	// broken outline.
	Mould *mould.Mould
	// Look is its colour and pattern, 1 to StackLooks; 0 takes the next one.
	Look int
}

// StackInput is a piece: its parts in the order of making, for one cavity.
type StackInput struct {
	Name  string
	Parts []StackPart
}

// StackOptions say how to show a piece in its cavity on the page. The zero value
// draws it 420 px wide, in mm, without a key.
type StackOptions struct {
	ID      string              // begins every id and must be unique on the page; "" means "stack"
	Width   float64             // px, at least 280; 0 means 420
	Length  quantity.LengthUnit // unit of every dimension
	Key     bool                // lists the parts by their letters below the picture, for a picture without its table
	Variant Variant
	Hidden  bool // hidden from screen readers
}

// StackLooks is how many colours and patterns tell the parts of a piece apart.
const StackLooks = 8

// maxStack is the greatest number of parts in one drawing.
const maxStack = 40

// The looks of parts. None uses the pattern of a stratum, because that means the
// same everywhere.
var stackLooks = [StackLooks]struct {
	fill, strokes string
	w, h          float64
}{
	{"#FBF7EE", "M0 14L14 0M-2 2L2 -2M12 16L16 12", 14, 14},                                         // wide slant
	{"#E4D4B0", "M1 3H8M9 9H16", 16, 12},                                                            // level dashes
	{"#CBD1D3", "M0 7L7 2L14 7", 14, 9},                                                             // chevrons
	{"#D9CDB8", "M4.5 0V9", 9, 9},                                                                   // upright lines
	{"#FBF7EE", "M0 0Q3.5 8 7 0Q10.5 8 14 0M-3.5 6Q0 14 3.5 6Q7 14 10.5 6Q14 14 17.5 6", 14, 12},    // scales
	{"#E4D4B0", "M2 2H6V6H2ZM9 9H13V13H9Z", 14, 14},                                                 // open squares
	{"#CBD1D3", "M0 0L16 16M4 0L16 12M0 12L4 16", 16, 16},                                           // falling pairs
	{"#D9CDB8", "M1 2.5H7M1 5.5H7M10.5 1V7M13.5 1V7M2.5 9V15M5.5 9V15M9 10.5H15M9 13.5H15", 16, 16}, // basket
}

// look gives every part its look, from 1, or 0 for a sprinkle and a wrap.
func (in StackInput) look() []int {
	out := make([]int, len(in.Parts))
	next := 0
	for i, p := range in.Parts {
		switch {
		case p.Kind.Item():
		case p.Look >= 1 && p.Look <= StackLooks:
			out[i] = p.Look
		default:
			out[i] = next%StackLooks + 1
			next++
		}
	}
	return out
}

// StackSwatches are the keys of the parts, each a small SVG of 40 × 24 px with
// colour, pattern and letter, for the table beside the drawing. They are hidden
// from screen readers, because the row has the name. prefix must be unique on the
// page.
func StackSwatches(prefix string, in StackInput, v Variant) []string {
	prefix = cleanPrefix(prefix, "ss")
	out := make([]string, len(in.Parts))
	for i, look := range in.look() {
		var p pen
		edge, ground := dayInk, Leaf
		if v == Paper {
			edge, ground = "#000", "#fff"
		}
		p.put(`<svg class="swatch" width="40" height="24" viewBox="0 0 40 24" aria-hidden="true" focusable="false">`)
		switch kind := in.Parts[i].Kind; {
		case look > 0:
			id := fmt.Sprintf("%s-%d", prefix, i+1)
			p.put(`<defs>`)
			p.stackPattern(id, look, v)
			p.put(`</defs>`)
			p.stackShape("M.6 .6H39.4V23.4H.6Z", `class="swatch-fill"`, id, look, v, edge, "1.2", "")
		case kind == design.Sprinkle:
			p.put(`<path d="M.6 .6H39.4V23.4H.6Z" fill="`, ground, `" stroke="`, edge,
				`" stroke-width="1.2"/><path d="M5 5h3v3h-3zM9 15h3v3h-3zM28 15h3v3h-3zM32 5h3v3h-3z" fill="none" stroke="`, edge, `"/>`)
		default:
			p.put(`<path d="M.6 .6H39.4V23.4H.6Z" fill="`, ground, `" stroke="`, edge,
				`" stroke-width="1.2"/><path d="M4 4H36V20H4Z" fill="none" stroke="`, edge, `"/>`)
		}
		p.put(`<circle cx="20" cy="12" r="8.2" fill="`, ground, `"/><text class="`, classLabel, `" text-anchor="middle" font-family="`, faceLabel,
			`" font-weight="650" font-size="12" x="20" y="16.2" fill="`, edge, `">`, words.Letters(i), `</text></svg>`)
		out[i] = string(p.b)
	}
	return out
}

// stackPattern writes the <pattern> of a look.
func (p *pen) stackPattern(id string, look int, v Variant) {
	l := &stackLooks[look-1]
	p.put(`<pattern id="`, id, `" patternUnits="userSpaceOnUse"`)
	p.attr("width", l.w)
	p.attr("height", l.h)
	ink, extra := dayInk, ` stroke-opacity="`+patternInk+`"`
	if v == Paper {
		ink, extra = "#000", ""
	}
	p.put(`><path class="pattern-ink" d="`, l.strokes, `" fill="none" stroke="`, ink, `" stroke-width="1" stroke-linecap="round"`, extra, `/></pattern>`)
}

// stackShape fills a path with a look: its colour, then its pattern and edge.
// attrs go on the first of the two.
func (p *pen) stackShape(d, attrs, pattern string, look int, v Variant, edge, weight, dash string) {
	fill := "#fff"
	if v != Paper {
		fill = stackLooks[look-1].fill
	}
	p.put(`<path `, attrs, ` d="`, d, `" fill="`, fill, `"/><path d="`, d, `" fill="url(#`, pattern,
		`)" stroke="`, edge, `" stroke-width="`, weight, `" stroke-linejoin="round"`)
	if dash != "" {
		p.put(` stroke-dasharray="`, dash, `"`)
	}
	p.put(`/>`)
}

// Stack draws a piece in its cavity, in section and to scale: pours and toppings
// up to their levels, embeds where they push the fill aside, piping as a crest
// whose area is true to its volume, a sprinkle, and a wrap as a thin line round
// everything. Every part has a pattern, and a letter by its place in the order of
// making.
//
// A pour or topping is a <path class="layer" data-part="A"> inside the cavity.
// What does not fit into the cavity is a <path class="draw-over"> above the brim,
// in the colour of a stop, as high as its volume needs. An embed has the class
// "embed", piping "piping". For a measured mould levels are by proportion, and
// the picture says so.
//
// Errors: fault.Invalid on "size", on "parts.N.to_pct" and similar fields if a
// part cannot be drawn, and what mould.Validate reports about the shape.
func Stack(m mould.Mould, in StackInput, o StackOptions) (string, error) {
	if o.Width == 0 {
		o.Width = 420
	}
	if !(o.Width >= 280 && o.Width <= maxFace) {
		return "", fault.Invalidf("size", "The picture would be %v px wide; it needs at least 280, and at most %d.", o.Width, maxFace)
	}
	m = cavityAlone(m)
	v, err := m.Volume()
	if err != nil {
		return "", err
	}
	if err := in.check(v.Value); err != nil {
		return "", err
	}
	st := stacking{in: in, looks: in.look(), jar: m.Shape == mould.Measured, withKey: o.Key}
	st.m, st.name, st.ml = &m, in.Name, v.Value
	st.o = SectionOptions{Width: o.Width, Variant: o.Variant, Hidden: o.Hidden}
	st.inchOnly, st.length = o.Length == quantity.Inch, o.Length
	st.id = cleanPrefix(o.ID, "stack")
	st.b = make([]byte, 0, 16<<10)
	if st.jar {
		st.deep, st.along, st.k = jarHigh, jarWide, 1
		st.rim = [2]float64{jarWide, jarWide}
		st.scale = jarHigh / st.ml
	} else {
		st.spans()
	}
	if err := st.pile(); err != nil {
		return "", err
	}
	st.compose()
	st.layOutStack()
	st.draw()
	return string(st.b), nil
}

// check refuses what cannot be drawn.
func (in StackInput) check(ml float64) error {
	if len(in.Parts) > maxStack {
		return fault.Invalidf("parts", "A piece of %d parts cannot be drawn; %d are the most.", len(in.Parts), maxStack)
	}
	var l fault.List
	bad := func(i int, field, format string, args ...any) {
		l.Add(fault.Invalidf(fmt.Sprintf("parts.%d.%s", i+1, field), "Part "+words.Letters(i)+" "+format, args...))
	}
	level := 0.0
	for i, p := range in.Parts {
		switch p.Kind {
		case design.Pour, design.Topping:
			switch {
			case !(p.FromPct >= 0 && p.ToPct >= p.FromPct && p.ToPct <= 1e5):
				bad(i, "to_pct", "runs from %v to %v %% of the cavity; it must begin at 0 or above and not end lower.", p.FromPct, p.ToPct)
			case p.FromPct < level-1e-6:
				bad(i, "from_pct", "begins at %s, and what lies below it reaches %s.", quantity.Percent(p.FromPct, 1), quantity.Percent(level, 1))
			default:
				level = p.ToPct
			}
		case design.Embed:
			if !(p.VolumeML > 0 && p.VolumeML <= 10*ml) {
				bad(i, "volume_ml", "holds %v ml, in a cavity of %s; more than 0, and at most ten times the cavity, can be drawn.",
					p.VolumeML, sectionVolume(ml))
			}
			if !(p.SunkPct >= 0 && p.CoveredPct >= 0 && p.SunkPct+p.CoveredPct <= 100+1e-9) {
				bad(i, "sunk_pct", "is %v %% sunk and %v %% covered; both from 0 up, and 100 together at most.", p.SunkPct, p.CoveredPct)
			}
			if p.Count < 0 || p.Count > 1e6 {
				bad(i, "count", "is set in %d times; write 1 or more.", p.Count)
			}
			if !(p.ToPct >= 0 && p.ToPct <= 1e5) {
				bad(i, "to_pct", "lifts the fill to %v %%, which is no level.", p.ToPct)
			}
			level = max(level, p.ToPct)
		case design.Piping:
			if !(p.VolumeML > 0 && p.VolumeML <= 3*ml) {
				bad(i, "volume_ml", "is %v ml of piping on a cavity of %s; more than 0, and at most three times the cavity, can be drawn.",
					p.VolumeML, sectionVolume(ml))
			}
		case design.Sprinkle, design.Wrap:
		default:
			bad(i, "kind", "is of a kind that is not known here.")
		}
	}
	return l.Err()
}

// stacking is one piece being drawn. Heights and widths are in units u: mm, or px
// for a jar.
type stacking struct {
	sectioning
	in      StackInput
	looks   []int
	jar     bool
	withKey bool
	length  quantity.LengthUnit
	k       float64 // px per u

	layers []stackBand
	lumps  []stackLump
	crests []stackCrest
	topPct float64 // the last level
	above  float64 // u above the brim
	wide   float64 // u, the widest part drawn
	cutOff bool    // more overflows than is drawn
	notes  []string
	room   float64 // px at the right, for heights
}

// stackBand is a pour or topping between two levels, in % and in u.
type stackBand struct {
	part           int
	fromPct, toPct float64
	lo, hi         float64 // inside the cavity
	overLo, overHi float64 // above the brim, in u from it
}

// stackLump is one copy of an embed, by its foot.
type stackLump struct {
	part    int
	w, h    float64
	half    func(z float64) float64
	foot, x float64 // x is where its middle is, from the cavity's middle
	known   bool
	misfit  bool
}

// stackCrest is piping: n mounds on a base.
type stackCrest struct {
	part             int
	base, wide, high float64 // high is of the control points; a mound reaches three quarters of it
	n                int
}

// levelAt is the height at which a share of the cavity's volume stands, in u, at
// most the brim.
func (s *stacking) levelAt(pct float64) (float64, error) {
	switch {
	case !(pct > 0):
		return 0, nil
	case pct >= 100:
		return s.deep, nil
	case s.jar:
		return s.deep * pct / 100, nil
	}
	return s.m.LevelFor(s.ml * pct / 100)
}

// over is how far above the brim a share reaches, in u.
func (s *stacking) over(pct float64) float64 {
	if !(pct > 100) {
		return 0
	}
	u := (pct - 100) / 100 * s.ml * s.perML(s.deep) / s.rim[0]
	// The overflow is drawn at most as high as the cavity is deep. Beyond that
	// the picture breaks off and says so.
	if u > s.deep {
		s.cutOff = true
		u = s.deep
	}
	return u
}

// half is half the width of the cavity at a height, in u.
func (s *stacking) half(u float64) float64 {
	if s.jar {
		return jarWide / 2
	}
	a, _ := s.m.SpanAt(min(max(u, 0), s.deep))
	return a / 2
}

// perML is the area of the section, in u², that stands for one millilitre at a
// level. What lies there is assumed to extend as far front to back as the surface
// does on average.
func (s *stacking) perML(u float64) float64 {
	if s.jar {
		return jarHigh * jarWide / s.ml
	}
	u = min(max(u, 0), s.deep)
	a, _ := s.m.SpanAt(u)
	area := s.m.AreaAt(u)
	if rim := s.m.AreaAt(s.deep); area < rim*.05 {
		a, area = s.rim[0], rim
	}
	return 1000 * a / area
}

// pile works out where every part lies.
func (s *stacking) pile() error {
	s.wide = s.along
	group := len(s.lumps) // index of the first embed since the last pour
	heap := 0.0           // height of the piping so far, on which more piping stands, u
	for i := range s.in.Parts {
		p := &s.in.Parts[i]
		switch p.Kind {
		case design.Pour, design.Topping:
			s.layers = append(s.layers, stackBand{part: i, fromPct: p.FromPct, toPct: p.ToPct})
			s.topPct = max(s.topPct, p.ToPct)
			group, heap = len(s.lumps), 0
		case design.Embed:
			count := max(p.Count, 1)
			to := p.ToPct
			if to <= s.topPct {
				to = s.topPct + p.SunkPct/100*p.VolumeML*float64(count)/s.ml*100
			}
			// The fill that it pushes aside is batter of the layer that it is set
			// into.
			if n := len(s.layers); n > 0 && s.layers[n-1].toPct >= s.topPct-1e-6 {
				s.layers[n-1].toPct = to
			}
			s.topPct = to
			if err := s.setIn(i, count, &group); err != nil {
				return err
			}
		case design.Piping:
			surface, err := s.levelAt(s.topPct)
			if err != nil {
				return err
			}
			c := stackCrest{part: i, base: surface + s.over(s.topPct) + heap, wide: max(2*s.half(surface), .4*s.rim[0])}
			if heap > 0 {
				c.wide *= .7
			}
			area := p.VolumeML * s.perML(surface)
			// The area under a mound of width w and control height h is 0.6·w·h.
			c.high = area / (.6 * c.wide)
			c.n = int(min(max(math.Round(c.wide/(1.5*c.high)), 1), 9))
			heap += c.high * .5
			s.crests = append(s.crests, c)
			s.above = max(s.above, c.base+.75*c.high-s.deep)
		}
	}
	for i := range s.layers {
		b := &s.layers[i]
		var err error
		if b.lo, err = s.levelAt(b.fromPct); err != nil {
			return err
		}
		if b.hi, err = s.levelAt(b.toPct); err != nil {
			return err
		}
		b.overLo, b.overHi = s.over(b.fromPct), s.over(b.toPct)
		s.above = max(s.above, b.overHi)
	}
	return nil
}

// setIn places copies of an embed into the fill or on it, beside the others of
// its group.
func (s *stacking) setIn(i, count int, group *int) error {
	p := &s.in.Parts[i]
	surface, err := s.levelAt(s.topPct)
	if err != nil {
		return err
	}
	surface += s.over(s.topPct)
	l, below := s.lump(i)
	sunk := l.h
	if p.SunkPct < 100 {
		// Bisect, as for a level in a cavity.
		lo, hi := 0.0, l.h
		for range 40 {
			if mid := (lo + hi) / 2; below(mid) < p.SunkPct/100 {
				lo = mid
			} else {
				hi = mid
			}
		}
		sunk = hi
		if p.SunkPct == 0 {
			sunk = 0
		}
	}
	l.foot = surface - sunk
	switch {
	case p.SunkPct >= 100 && l.foot > 0:
		// Nobody has said how deep it lies under the surface, so put it half way
		// down.
		l.foot /= 2
	case l.foot < -1e-9*s.deep:
		l.foot = 0
		s.notes = append(s.notes, words.Letters(i)+" reaches the bottom: it stands higher than asked")
	}
	s.above = max(s.above, l.foot+l.h-s.deep)
	s.wide = max(s.wide, l.w)

	widest := 0.0
	for j := range 9 {
		if u := l.foot + l.h*float64(j)/8; u <= s.deep {
			widest = max(widest, 2*s.half(u))
		}
	}
	if widest > 0 && l.w > widest*1.01 {
		l.misfit = true
		s.notes = append(s.notes, words.Letters(i)+" is wider than the cavity where it lies")
	}

	// Embeds of one group stand side by side, as far as there is room.
	have := s.lumps[*group:]
	room := 2 * s.half(surface)
	if low := 2 * s.half(l.foot); low < room && low >= l.w {
		room = low
	}
	used := 0.0
	for _, x := range have {
		used += x.w
	}
	fit := int(min(max(math.Floor((room-used)/(l.w*1.06)), 1), float64(count), 24))
	if fit < count {
		s.notes = append(s.notes, fmt.Sprintf("%s: %d of %d are drawn", words.Letters(i), fit, count))
	}
	for range fit {
		s.lumps = append(s.lumps, l)
	}
	have = s.lumps[*group:]
	used += l.w * float64(fit)
	gap := (room - used) / float64(len(have)+1)
	x := -room / 2
	for j := range have {
		x += gap + have[j].w/2
		have[j].x = x
		x += have[j].w / 2
	}
	return nil
}

// lump is the outline of an embed, and a function that gives the share of it that
// lies below a height above its foot.
func (s *stacking) lump(i int) (stackLump, func(z float64) float64) {
	p := &s.in.Parts[i]
	l := stackLump{part: i}
	if p.Mould != nil && !s.jar {
		m := cavityAlone(*p.Mould)
		v, err := m.Volume()
		if err == nil && m.Shape != mould.Measured && p.VolumeML <= v.Value*1.02 {
			h, err := m.LevelFor(min(p.VolumeML, v.Value))
			if err == nil && h > 0 {
				// It stands on the face that was on top when it was cast.
				span := func(z float64) float64 { a, _ := m.SpanAt(min(max(h-z, 0), h)); return a }
				if wide := span(0); wide > s.along {
					if _, across := m.SpanAt(h); across < wide {
						span = func(z float64) float64 { _, b := m.SpanAt(min(max(h-z, 0), h)); return b }
					}
				}
				l.h, l.known = h, true
				l.half = func(z float64) float64 { return span(z) / 2 }
				for j := range 17 {
					l.w = max(l.w, span(h*float64(j)/16))
				}
				all, err := m.VolumeBelow(h)
				if err == nil && all > 0 && l.w > 0 {
					return l, func(z float64) float64 {
						top, err := m.VolumeBelow(min(max(h-z, 0), h))
						if err != nil {
							return 1
						}
						return 1 - top/all
					}
				}
				l = stackLump{part: i}
			}
		}
	}
	r := math.Cbrt(p.VolumeML * 1000 * 3 / (4 * math.Pi))
	if s.jar {
		r = math.Sqrt(p.VolumeML * s.perML(0) / math.Pi)
	}
	l.w, l.h = 2*r, 2*r
	l.half = func(z float64) float64 { return math.Sqrt(max(0, z*(2*r-z))) }
	// The volume of a spherical cap.
	return l, func(z float64) float64 { t := z / r; return t * t * (3 - t) / 4 }
}

// compose collects the lines that go below the picture.
func (s *stacking) compose() {
	if s.withKey {
		for i, p := range s.in.Parts {
			s.key = append(s.key, sectionKey{words.Letters(i), s.fitted(s.partWords(i, p.Label), 2*sectionRing+8)})
		}
	}
	if s.topPct > 100+1e-9 {
		words := "runs over the brim by " + sectionVolume((s.topPct-100)/100*s.ml)
		if s.cutOff {
			words += ", cut off here"
		}
		s.key = append(s.key, sectionKey{"!", words})
	}
	for _, n := range s.notes {
		s.key = append(s.key, sectionKey{"", s.fitted(n, 0)})
	}
	if slices.ContainsFunc(s.lumps, func(l stackLump) bool { return !l.known }) {
		s.key = append(s.key, sectionKey{"", "broken outline: true to volume alone"})
	}
	if s.jar {
		s.key = append(s.key, sectionKey{"", "measured with water, not to shape"}, sectionKey{"", "levels by proportion of its volume"})
	} else {
		s.key = append(s.key, sectionKey{"", "cavity to scale, its walls are not"}, sectionKey{"", "heights are from its lowest point"})
	}
}

// partWords is the label of a part, or what it is if it has no label.
func (s *stacking) partWords(i int, label string) string {
	if label = strings.TrimSpace(label); label != "" {
		return label
	}
	return s.in.Parts[i].Kind.String()
}

// fitted shortens words to one line of the key.
func (s *stacking) fitted(words string, indent float64) string {
	room := int((s.o.Width - sectionLeft/2 - indent - 6) / (sectionWords * 0.48))
	if r := []rune(words); len(r) > room {
		return string(r[:room-1]) + "…"
	}
	return words
}

// stackHeight is a height with its words, at the right.
type stackHeight struct {
	u     float64
	words string
	stop  bool
}

// heights are the brim and the top of every layer.
func (s *stacking) heights() []stackHeight {
	words := func(u, pct float64) string {
		if s.jar {
			return quantity.Percent(pct, sectionDecimals(pct))
		}
		return quantity.Length(u, s.length)
	}
	var out []stackHeight
	for _, b := range s.layers {
		if b.hi < s.deep && b.hi > 0 && b.toPct > b.fromPct {
			out = append(out, stackHeight{b.hi, words(b.hi, b.toPct), false})
		}
	}
	out = append(out, stackHeight{s.deep, words(s.deep, 100), false})
	if s.topPct > 100 {
		out = append(out, stackHeight{s.deep + s.over(s.topPct), quantity.Percent(s.topPct, 0), true})
	}
	slices.SortStableFunc(out, func(a, b stackHeight) int { return cmp.Compare(a.u, b.u) })
	return slices.CompactFunc(out, func(a, b stackHeight) bool { return a.words == b.words })
}

// layOutStack chooses the scale and the picture's height.
func (s *stacking) layOutStack() {
	for _, h := range s.heights() {
		s.room = max(s.room, sectionWide(h.words))
	}
	s.room += sectionOff + 8 + 8
	left := sectionLeft + 8
	w := s.o.Width - left - 2*sectionWall - s.room
	k := min(w/s.wide, sectionTall/(s.deep+s.above))
	if s.jar {
		// A jar has one size. It is made smaller only if something stands out of
		// it.
		k = min(k, 1)
		s.scale *= k
	} else {
		s.scale = k
	}
	s.k = k
	s.x = left + sectionWall + (s.wide-s.along)/2*k
	if s.jar {
		s.x += jarSway * k
	}
	if spare := s.o.Width - s.room - sectionWall - (s.x + (s.wide+s.along)/2*k); spare > 0 {
		s.x += spare / 2
	}
	s.y = sectionTitle + 16 + s.above*k
	bottom := s.y + k*s.deep + sectionWall
	// The letters stand one below the other at the left.
	bottom = max(bottom, sectionTitle+10+float64(len(s.in.Parts))*(2*sectionRing+3))
	if s.jar {
		s.keyY = bottom + 30
	} else {
		s.keyY = bottom + sectionDim + 58
	}
	s.height = math.Ceil(s.keyY + sectionLead*float64(len(s.key)-1) + 8)
}

func (s *stacking) yAt(u float64) float64 { return s.y + (s.deep-u)*s.k }

// midAt is the middle of the cavity at a height, px.
func (s *stacking) midAt(u float64) float64 {
	mid := s.x + s.along*s.k/2
	if s.jar {
		mid += s.sway(min(max(u/s.deep, 0), 1)) * s.k
	}
	return mid
}

// straight reports whether the sides of the cavity are straight lines.
func (s *stacking) straight() bool {
	switch s.m.Shape {
	case mould.Cuboid, mould.Cylinder, mould.ConeFrustum, mould.TaperedBox:
		return true
	}
	return false
}

// bandPath is the outline of the cavity between two heights.
func (s *stacking) bandPath(lo, hi float64) string {
	n := 32
	if s.straight() {
		n = 1
	}
	var p pen
	p.b = make([]byte, 0, 24*n)
	at := func(i int) float64 {
		t := float64(i) / float64(n)
		if s.jar {
			return lo + (hi-lo)*t
		}
		// Steps are even in the root of the height, because a bowl widens fastest
		// at its foot.
		r := math.Sqrt(lo) + (math.Sqrt(hi)-math.Sqrt(lo))*t
		return r * r
	}
	for side := range 2 {
		for i := range n + 1 {
			j, sign := i, 1.0
			if side == 0 {
				j, sign = n-i, -1
			}
			u := min(max(at(j), lo), hi)
			if side == 0 && i == 0 {
				p.put("M")
			} else {
				p.put("L")
			}
			p.at(s.midAt(u)+sign*s.half(u)*s.k, s.yAt(u))
		}
	}
	p.put("Z")
	return string(p.b)
}

// lumpPath is the outline of one embed.
func (s *stacking) lumpPath(l *stackLump) string {
	var p pen
	p.b = make([]byte, 0, 700)
	const n = 24
	mid := s.midAt(l.foot+l.h/2) + l.x*s.k
	for side := range 2 {
		for i := range n + 1 {
			j, sign := i, -1.0
			if side == 1 {
				j, sign = n-i, 1
			}
			// Steps are even in the angle, so that a ball is round at its poles.
			z := l.h * (1 - math.Cos(math.Pi*float64(j)/n)) / 2
			if side == 0 && i == 0 {
				p.put("M")
			} else {
				p.put("L")
			}
			p.at(mid+sign*l.half(z)*s.k, s.yAt(l.foot+z))
		}
	}
	p.put("Z")
	return string(p.b)
}

// crestPath is the outline of piping.
func (s *stacking) crestPath(c *stackCrest) string {
	var p pen
	y := s.yAt(c.base)
	top := y - c.high*s.k
	w := c.wide * s.k / float64(c.n)
	x := s.midAt(c.base) - c.wide*s.k/2
	p.put("M")
	p.at(x, y)
	for i := range c.n {
		l, r := x+w*float64(i), x+w*float64(i+1)
		p.put("C")
		p.at(l, top)
		p.put(" ")
		p.at(r, top)
		p.put(" ")
		p.at(r, y)
	}
	p.put("Z")
	return string(p.b)
}

// overPath is what stands above the brim, between two heights from it.
func (s *stacking) overPath(lo, hi float64) string {
	mid, half := s.midAt(s.deep), s.half(s.deep)*s.k
	var p pen
	p.put("M")
	p.at(mid-half, s.yAt(s.deep+lo))
	p.put("L")
	p.at(mid-half, s.yAt(s.deep+hi))
	p.put("L")
	p.at(mid+half, s.yAt(s.deep+hi))
	p.put("L")
	p.at(mid+half, s.yAt(s.deep+lo))
	p.put("Z")
	return string(p.b)
}

// stackPath is the finished outline of a part.
type stackPath struct {
	part  int
	class string
	d     string
	over  bool
	lump  *stackLump
}

// paths are the shapes of the parts, in the order of making.
func (s *stacking) paths() []stackPath {
	var out []stackPath
	for i := range s.layers {
		b := &s.layers[i]
		if b.hi > b.lo {
			out = append(out, stackPath{part: b.part, class: "layer", d: s.bandPath(b.lo, b.hi)})
		}
		if b.overHi > b.overLo {
			out = append(out, stackPath{part: b.part, class: "draw-over", d: s.overPath(b.overLo, b.overHi), over: true})
		}
	}
	// Embeds are in front of what they push aside.
	for i := range s.lumps {
		l := &s.lumps[i]
		out = append(out, stackPath{part: l.part, class: "embed", d: s.lumpPath(l), lump: l})
	}
	for i := range s.crests {
		out = append(out, stackPath{part: s.crests[i].part, class: "piping", d: s.crestPath(&s.crests[i])})
	}
	return out
}

func (s *stacking) stop() string {
	if s.o.Variant == Paper {
		return "#000"
	}
	return paintStop
}

func (s *stacking) draw() {
	s.root("piece-stack", "the piece in its cavity, cut through the middle", s.tell)
	used := [StackLooks + 1]bool{}
	for _, l := range s.looks {
		if l > 0 && !used[l] {
			used[l] = true
			s.stackPattern(s.lookID(l), l, s.o.Variant)
		}
	}
	if s.topPct > 100 {
		s.put(`<pattern id="`, s.id, `-over" patternUnits="userSpaceOnUse" width="5" height="5" `+
			`patternTransform="rotate(45)"><path class="pattern-stop" d="M2.5 0V5" fill="none" stroke="`, s.stop(), `" stroke-width="1.2"/></pattern>`)
	}
	s.put(`</defs>`)
	s.say(sectionLeft/2, sectionTitle, classLabel, "", s.ink2(), "Cut through the middle")

	k := s.k
	if s.jar {
		sway := jarSway * k
		s.block(s.x-sway, s.y, jarWide*k+2*sway, jarHigh*k)
	} else {
		s.block(s.x, s.y, s.along*k, s.deep*k)
	}
	s.shell(`fill="` + s.ground() + `"`)
	rim := s.half(s.deep) * k
	s.mouth(s.midAt(s.deep)-rim, s.midAt(s.deep)+rim)

	paths := s.paths()
	s.wraps(paths)
	for i := range paths {
		s.part(&paths[i])
	}
	s.shell(`fill="none"`)
	marks := s.sprinkles()
	s.rings(paths, marks)
	s.ladder()
	if !s.jar {
		edge := s.yAt(0) + sectionWall
		s.levelDim(s.midAt(0)-rim, s.midAt(0)+rim, edge+12, edge, true, s.rim[0])
		s.scaleBar()
	}
	s.lines()
	s.put(`</svg>`)
}

// shell draws the cavity's outline.
func (s *stacking) shell(fill string) {
	if s.jar {
		s.put(`<path class="cavity" d="`, s.bandPath(0, s.deep), `" `, fill, ` stroke="`, s.ink(), `" stroke-width="1.6" stroke-linejoin="round"/>`)
		return
	}
	s.cavity(s.midAt(0), `class="cavity" `+fill)
}

func (s *stacking) lookID(look int) string { return fmt.Sprintf("%s-look%d", s.id, look) }

// part draws one shape.
func (s *stacking) part(p *stackPath) {
	attrs := `class="` + p.class + `" data-part="` + words.Letters(p.part) + `"`
	if p.over {
		wash := paintWash
		if s.o.Variant == Paper {
			wash = "#fff"
		}
		s.put(`<path `, attrs, ` d="`, p.d, `" fill="`, wash, `"/><path d="`, p.d, `" fill="url(#`, s.id,
			`-over)" stroke="`, s.stop(), `" stroke-width="1.6" stroke-linejoin="round"/>`)
		return
	}
	edge, weight, dash := s.ink(), "1", ""
	if l := p.lump; l != nil {
		weight = "1.4"
		if !l.known {
			dash = "4 2.5"
		}
		if l.misfit {
			edge, weight = s.stop(), "2.2"
		}
	}
	look := s.looks[p.part]
	s.stackShape(p.d, attrs, s.lookID(look), look, s.o.Variant, edge, weight, dash)
}

// wraps draws a thin line round everything that was piled up, one for each wrap,
// two at most. A broad stroke of every shape, with a narrower one in the colour
// of the ground on top, leaves a line at an even distance.
func (s *stacking) wraps(paths []stackPath) {
	n := 0
	for _, p := range s.in.Parts {
		if p.Kind == design.Wrap {
			n++
		}
	}
	for i := min(n, 2); i >= 1; i-- {
		for _, x := range [2]struct {
			paint string
			wide  float64
		}{{s.ink(), 8*float64(i) + 2}, {s.ground(), 8 * float64(i)}} {
			for j := range paths {
				s.put(`<path class="wrap" d="`, paths[j].d, `" fill="none" stroke="`, x.paint, `" stroke-linejoin="round"`)
				s.attr("stroke-width", x.wide)
				s.put(`/>`)
			}
		}
	}
}

// topAt is the upper edge of everything piled up at x, px. It returns false if
// there is nothing.
func (s *stacking) topAt(x float64) (float64, bool) {
	top, ok := math.Inf(1), false
	for i := range s.layers {
		b := &s.layers[i]
		u := b.hi + b.overHi
		if math.Abs(x-s.midAt(u)) <= s.half(u)*s.k {
			top, ok = min(top, s.yAt(u)), true
		}
	}
	for i := range s.lumps {
		l := &s.lumps[i]
		off := math.Abs(x - s.midAt(l.foot+l.h/2) - l.x*s.k)
		for j := 16; j >= 0; j-- {
			if z := l.h * float64(j) / 16; off <= l.half(z)*s.k {
				top, ok = min(top, s.yAt(l.foot+z)), true
				break
			}
		}
	}
	for i := range s.crests {
		c := &s.crests[i]
		at := (x - s.midAt(c.base) + c.wide*s.k/2) / (c.wide * s.k) * float64(c.n)
		if at < 0 || at > float64(c.n) {
			continue
		}
		// Along a mound, x is 3t² − 2t³.
		at -= math.Floor(at)
		lo, hi := 0.0, 1.0
		for range 16 {
			if t := (lo + hi) / 2; t*t*(3-2*t) < at {
				lo = t
			} else {
				hi = t
			}
		}
		top, ok = min(top, s.yAt(c.base+3*c.high*lo*(1-lo))), true
	}
	return top, ok
}

// sprinkles scatters small squares, rings and strokes along the top. It returns
// the position of the first of each part.
func (s *stacking) sprinkles() map[int]Point {
	out := map[int]Point{}
	kind := 0
	leaf := paintLeaf
	if s.o.Variant == Paper {
		leaf = "#fff"
	}
	for i, p := range s.in.Parts {
		if p.Kind != design.Sprinkle {
			continue
		}
		r := newSeeded(s.id + words.Letters(i))
		u, _ := s.levelAt(s.topPct)
		half := s.half(u) * s.k * .94
		n := int(min(max(half*2/9, 3), 40))
		s.put(`<path class="sprinkle" data-part="`, words.Letters(i), `" d="`)
		for j := range n {
			x := s.midAt(u) - half + 2*half*(float64(j)+r.between(.15, .85))/float64(n)
			y, ok := s.topAt(x)
			if !ok {
				y = s.yAt(u)
			}
			// A second sprinkle is a little above the first.
			y -= r.between(1.4, 3.2) + 3*float64(kind)
			if _, seen := out[i]; !seen {
				out[i] = Point{x, y}
			}
			d := r.between(1.2, 1.9)
			s.put("M")
			switch kind % 3 {
			case 0:
				s.at(x-d, y)
				for _, q := range [3]Point{{x, y - d}, {x + d, y}, {x, y + d}} {
					s.put("L")
					s.at(q.X, q.Y)
				}
				s.put("Z")
			case 1:
				s.at(x-d, y-d)
				for _, q := range [2]Point{{x + d, y - d}, {x, y + d}} {
					s.put("L")
					s.at(q.X, q.Y)
				}
				s.put("Z")
			default:
				s.at(x-d, y+d)
				s.put("L")
				s.at(x+d, y-d)
			}
		}
		s.put(`" fill="`, leaf, `" stroke="`, s.ink(), `" stroke-width="1" stroke-linejoin="round"/>`)
		kind++
	}
	return out
}

// rings writes a ringed letter at the left for every part, with a leader to a dot
// in the part.
func (s *stacking) rings(paths []stackPath, strewn map[int]Point) {
	type mark struct {
		letter string
		to     Point
		y      float64
	}
	marks := make([]mark, 0, len(s.in.Parts))
	wraps := 0
	for i, p := range s.in.Parts {
		to := Point{s.midAt(0), s.yAt(0)}
		switch p.Kind {
		case design.Pour, design.Topping:
			for _, b := range s.layers {
				if b.part != i {
					continue
				}
				u := (b.lo + b.hi) / 2
				if b.hi <= b.lo && b.overHi > b.overLo {
					u = s.deep + (b.overLo+b.overHi)/2
				}
				half := s.half(u) * s.k
				to = Point{s.midAt(u) - half + min(9, half), s.yAt(u)}
			}
		case design.Embed:
			for j := range s.lumps {
				if l := &s.lumps[j]; l.part == i {
					to = Point{s.midAt(l.foot+l.h/2) + (l.x-l.half(l.h/2)*.55)*s.k, s.yAt(l.foot + l.h/2)}
					break
				}
			}
		case design.Piping:
			for _, c := range s.crests {
				if c.part == i {
					to = Point{s.midAt(c.base) - c.wide*s.k/2 + c.wide*s.k/float64(c.n)/2, s.yAt(c.base + .3*c.high)}
				}
			}
		case design.Sprinkle:
			to = strewn[i]
		case design.Wrap:
			wraps++
			u, _ := s.levelAt(min(s.topPct, 100) * max(.4-.12*float64(wraps), .05))
			to = Point{s.midAt(u) - s.half(u)*s.k - 4.5*float64(min(wraps, 2)), s.yAt(u)}
		}
		marks = append(marks, mark{words.Letters(i), to, to.Y})
	}
	slices.SortStableFunc(marks, func(a, b mark) int { return cmp.Compare(a.to.Y, b.to.Y) })
	const pitch = 2*sectionRing + 3
	least := sectionTitle + 8 + sectionRing
	for i := range marks {
		marks[i].y = max(marks[i].y, least)
		least = marks[i].y + pitch
	}
	most := max(s.yAt(0)+sectionWall, sectionTitle+10+float64(len(marks))*pitch) - sectionRing
	for i := len(marks) - 1; i >= 0; i-- {
		marks[i].y = min(marks[i].y, most)
		most = marks[i].y - pitch
	}
	x := s.x - sectionWall - 12 - sectionRing
	if s.jar {
		x -= jarSway * s.k
	}
	for _, m := range marks {
		s.put(`<path class="draw-halo" d="M`)
		s.at(x+sectionRing, m.y)
		s.put(`L`)
		s.at(m.to.X, m.to.Y)
		s.put(`" fill="none" stroke="`, s.ground(), `" stroke-width="3" stroke-opacity=".8"/>`)
	}
	for _, m := range marks {
		s.put(`<circle class="draw-dot" r="2.3"`)
		s.attr("cx", m.to.X)
		s.attr("cy", m.to.Y)
		s.put(` fill="`, s.ink(), `"/>`)
		s.ring(x, m.y, m.letter, m.to)
	}
}

// ladder writes the heights at the right.
func (s *stacking) ladder() {
	hs := s.heights()
	x := s.x + s.along*s.k + sectionWall + sectionOff
	if s.jar {
		x += jarSway * s.k
	}
	s.line(x, s.yAt(hs[len(hs)-1].u), x, s.yAt(0), `class="draw-dim" fill="none" stroke="`+s.ink()+`" stroke-width="1.1"`)
	s.line(x-sectionTick, s.yAt(0), x+sectionTick, s.yAt(0), `class="draw-dim" fill="none" stroke="`+s.ink()+`" stroke-width="1.1"`)
	// From the foot upwards, move them apart where they are close; the upper ones
	// give way.
	at := make([]float64, len(hs))
	most := math.Inf(1)
	for i, h := range hs {
		at[i] = min(s.yAt(h.u)+5, most)
		most = at[i] - 16
	}
	least := sectionTitle + 14.0
	for i := len(hs) - 1; i >= 0; i-- {
		at[i] = max(at[i], least)
		least = at[i] + 16
	}
	for i, h := range hs {
		y := s.yAt(h.u)
		ink := s.ink()
		if h.stop {
			ink = s.stop()
		}
		s.put(`<path class="draw-dim" d="M`)
		s.at(x-sectionTick, y)
		s.put(`L`)
		s.at(x+sectionTick, y)
		if math.Abs(at[i]-5-y) > 1 {
			s.put(`L`)
			s.at(x+8, at[i]-5)
		}
		s.put(`" fill="none" stroke="`, ink, `" stroke-width="1.1"/>`)
		s.say(x+10, at[i], classFigs, "", ink, h.words)
	}
}

// lines writes the lines below the picture.
func (s *stacking) lines() {
	y := s.keyY
	for _, k := range s.key {
		x := sectionLeft / 2
		switch k.letter {
		case "":
			s.say(x, y, classLabel, "", s.ink2(), k.words)
		case "!":
			s.say(x, y, classLabel, "", s.stop(), k.words)
		default:
			s.ringed(x+sectionRing, y-4.5, k.letter)
			s.say(x+2*sectionRing+8, y, classLabel, "", s.ink(), k.words)
		}
		y += sectionLead
	}
}

// tell describes the picture in words.
func (s *stacking) tell() string {
	var b strings.Builder
	if s.jar {
		b.WriteString("A cavity of unknown shape that holds " + sectionVolume(s.ml) + ", levels by proportion")
	} else {
		b.WriteString("A " + s.m.Shape.Words() + " cavity that holds " + sectionVolume(s.ml) + ", " + quantity.Length(s.deep, s.length) + " deep")
	}
	pct := func(v float64) string { return quantity.Percent(v, sectionDecimals(v)) }
	for i := range s.in.Parts {
		p := &s.in.Parts[i]
		b.WriteString("; " + words.Letters(i) + ", ")
		if l := strings.TrimSpace(p.Label); l != "" {
			b.WriteString(l + ", ")
		}
		b.WriteString(p.Kind.Article())
		switch p.Kind {
		case design.Pour, design.Topping:
			for _, x := range s.layers {
				if x.part != i {
					continue
				}
				b.WriteString(" from " + pct(x.fromPct) + " to " + pct(x.toPct) + " of the cavity")
				if !s.jar && x.toPct <= 100 {
					b.WriteString(", " + quantity.Length(x.hi, s.length) + " up")
				}
			}
		case design.Embed:
			b.WriteString(" of " + sectionVolume(p.VolumeML))
			if p.Count > 1 {
				b.WriteString(", " + quantity.Number(float64(p.Count), 0) + " of them")
			}
			b.WriteString(", " + pct(p.SunkPct) + " sunk")
			if p.CoveredPct > 0 {
				b.WriteString(", " + pct(p.CoveredPct) + " covered")
			}
			if proud := 100 - p.SunkPct - p.CoveredPct; proud > 0.05 {
				b.WriteString(", " + pct(proud) + " proud")
			}
		case design.Piping:
			b.WriteString(" of " + sectionVolume(p.VolumeML))
		}
	}
	for _, k := range s.key {
		if k.letter == "!" {
			b.WriteString("; it " + k.words)
		}
	}
	for _, n := range s.notes {
		b.WriteString("; " + n)
	}
	b.WriteByte('.')
	if !utf8.ValidString(b.String()) {
		return strings.ToValidUTF8(b.String(), "\uFFFD")
	}
	return b.String()
}
