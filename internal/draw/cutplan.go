package draw

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"barwright/fault"
	"barwright/mould"
	"barwright/quantity"
)

// CutPlanOptions say how to show a cutting plan on the page. The zero value draws
// it 420 px wide, in mm.
type CutPlanOptions struct {
	ID      string              // begins every id and must be unique on the page; "" means "cut"
	Width   float64             // px, at least 280; 0 means 420
	Length  quantity.LengthUnit // unit of every dimension
	Variant Variant
	Hidden  bool // hidden from screen readers
}

// CutPlan draws a block and the bars cut from it, to scale. It shows them from
// above, where the topmost layer is visible, and below that from the side of the
// first row. Bars carry their numbers, by their place in c.Bars, as far as there
// is room. What is trimmed off and what the blade takes is hatched. c must come
// from m.CutUp.
//
// All bars of a view are one <path class="bars" data-view="above"> or "side",
// bar by bar; the data-px-per-mm of the root is its scale.
//
// Errors: fault.Invalid on "size", and on "cut" for a cutting without bars.
func CutPlan(m mould.Mould, c mould.Cutting, o CutPlanOptions) (string, error) {
	if o.Width == 0 {
		o.Width = 420
	}
	if !(o.Width >= 280 && o.Width <= maxFace) {
		return "", fault.Invalidf("size", "The picture would be %v px wide; it needs at least 280, and at most %d.", o.Width, maxFace)
	}
	if len(c.Bars) == 0 || len(c.Along) == 0 || len(c.Across) == 0 || len(c.Layers) == 0 || !(c.LengthMM > 0 && c.WidthMM > 0 && c.LevelMM > 0) {
		return "", fault.Invalidf("cut", "The block is not cut into bars, so there is no plan to draw.")
	}
	s := cutPlan{c: &c, length: o.Length}
	s.m, s.name, s.inchOnly = &m, m.Name, o.Length == quantity.Inch
	s.o = SectionOptions{Width: o.Width, Variant: o.Variant, Hidden: o.Hidden}
	s.id = cleanPrefix(o.ID, "cut")
	s.b = make([]byte, 0, 8<<10)
	s.layOut()
	s.draw()
	return string(s.b), nil
}

type cutPlan struct {
	sectioning
	c              *mould.Cutting
	length         quantity.LengthUnit
	foot, top      [2]float64 // half of the block along and across, at its foot and at its fill level, mm
	sideY, sideEnd float64    // of the side view, px
}

func (s *cutPlan) layOut() {
	c := s.c
	s.foot[0], s.foot[1] = s.m.SpanAt(0)
	s.top[0], s.top[1] = s.m.SpanAt(c.LevelMM)
	for i := range 2 {
		s.foot[i] /= 2
		s.top[i] /= 2
	}
	right := max(s.column(c.WidthMM, sectionOff), s.column(c.LevelMM, sectionOff))
	const left = sectionLeft / 2
	s.scale = min((s.o.Width-left-right)/c.LengthMM, 330/(c.WidthMM+c.LevelMM))
	s.x = left
	if spare := s.o.Width - left - right - s.scale*c.LengthMM; spare > 0 {
		s.x += spare / 2
	}
	s.y = sectionTitle + 8 + sectionDim
	s.sideY = s.y + s.scale*c.WidthMM + sectionTitle + 20
	s.sideEnd = s.sideY + s.scale*c.LevelMM
	s.keyY = s.sideEnd + sectionDim + 58

	size := func(mm float64) string { return quantity.LengthNumber(mm, s.length) }
	bar := size(c.Along[0].Len()) + " × " + size(c.Across[0].Len()) + " × " + quantity.Length(c.Layers[0].Len(), s.length)
	n := quantity.Number(float64(len(c.Bars)), 0)
	if len(c.Bars) == 1 {
		s.key = append(s.key, sectionKey{"", "1 bar, " + bar})
	} else {
		s.key = append(s.key, sectionKey{"", n + " bars, each " + bar})
	}
	if cut := s.m.Cut; cut != nil {
		var off []string
		for _, x := range [...]struct {
			what string
			mm   float64
		}{{"ends", cut.EndMM}, {"sides", cut.SideMM}, {"top", cut.TopMM}} {
			if x.mm > 0 {
				off = append(off, x.what+" "+quantity.Length(x.mm, s.length))
			}
		}
		if len(off) > 0 {
			words := "trimmed off: " + strings.Join(off, ", ")
			// Use two lines where one would not fit into the picture.
			if last := len(off) - 1; last > 0 && left+float64(utf8.RuneCountInString(words))*sectionWords*0.48 > s.o.Width {
				s.key = append(s.key, sectionKey{"", "trimmed off: " + strings.Join(off[:last], ", ")})
				words = "and off the " + off[last]
			}
			s.key = append(s.key, sectionKey{"", words})
		}
		if cut.KerfMM > 0 && len(c.Bars) > 1 {
			s.key = append(s.key, sectionKey{"", "the blade takes " + quantity.Length(cut.KerfMM, s.length) + " a cut"})
		}
	}
	if s.short() {
		s.key = append(s.key, sectionKey{"", "outer bars lack what the slope takes"})
	}
	s.height = math.Ceil(s.keyY + sectionLead*float64(len(s.key)-1) + 8)
}

// slopes reports whether the sides of the block are not upright.
func (s *cutPlan) slopes() bool { return s.foot != s.top }

// short reports whether the slope reaches into a bar. Trims may remove all of it.
func (s *cutPlan) short() bool {
	c := s.c
	if !s.slopes() || len(c.Along) == 0 || len(c.Across) == 0 || len(c.Layers) == 0 {
		return false
	}
	whole := c.Along[0].Len() * c.Across[0].Len() * c.Layers[0].Len() / 1000
	return c.LeastML < whole*(1-1e-6)
}

func (s *cutPlan) draw() {
	s.root("cut-plan", "the cutting plan", s.tell)
	s.put(`</defs>`)
	c, k := s.c, s.scale
	long, wide, high := k*c.LengthMM, k*c.WidthMM, k*c.LevelMM
	midX, midY := s.x+long/2, s.y+wide/2

	s.say(sectionLeft/2, sectionTitle, classLabel, "", s.ink2(), "From above")
	var p pen
	for _, y := range c.Across {
		for _, x := range c.Along {
			// The first row is the nearest one, which the view below shows.
			l, r := s.x+k*x.FromMM, s.x+k*x.ToMM
			t, b := s.y+wide-k*y.ToMM, s.y+wide-k*y.FromMM
			p.polygon(Point{l, b}, Point{l, t}, Point{r, t}, Point{r, b})
		}
	}
	s.waste(rectangle(s.x, s.y, long, wide))
	s.bars("above", string(p.b))
	if s.slopes() {
		half := s.foot
		if s.foot[0]+s.foot[1] > s.top[0]+s.top[1] {
			half = s.top
		}
		s.put(`<path class="plan-foot" d="`, rectangle(midX-k*half[0], midY-k*half[1], 2*k*half[0], 2*k*half[1]),
			`" fill="none" stroke="`, s.ink(), `" stroke-width=".9" stroke-dasharray="4 3"/>`)
	}
	first := len(c.Bars) - len(c.Along)*len(c.Across)
	s.numbers(len(c.Along), len(c.Across), func(i, j int) (int, Point) {
		x, y := c.Along[i], c.Across[j]
		return first + j*len(c.Along) + i + 1, Point{s.x + k*(x.FromMM+x.ToMM)/2, s.y + wide - k*(y.FromMM+y.ToMM)/2}
	})
	s.levelDim(s.x, s.x+long, s.y-12, s.y, false, c.LengthMM)
	s.uprightDim(s.y, s.y+wide, s.x+long+sectionOff, s.x+long, c.WidthMM)

	s.say(sectionLeft/2, s.sideY-8, classLabel, "", s.ink2(), "From the side")
	var outline, side pen
	at := func(x, z float64) Point { return Point{midX + k*x, s.sideY + high - k*z} }
	outline.polygon(at(-s.foot[0], 0), at(-s.top[0], c.LevelMM), at(s.top[0], c.LevelMM), at(s.foot[0], 0))
	for _, z := range c.Layers {
		for _, x := range c.Along {
			side.polygon(s.sloped(x.FromMM-c.LengthMM/2, x.ToMM-c.LengthMM/2, z, at)...)
		}
	}
	s.waste(string(outline.b))
	s.bars("side", string(side.b))
	layer := len(c.Along) * len(c.Across)
	s.numbers(len(c.Along), len(c.Layers), func(i, j int) (int, Point) {
		x, z := c.Along[i], c.Layers[j]
		return j*layer + i + 1, at((x.FromMM+x.ToMM)/2-c.LengthMM/2, (z.FromMM+z.ToMM)/2)
	})
	// Use the length of a bar that no slope has shortened, if there is one.
	b := c.Along[len(c.Along)/2]
	s.levelDim(s.x+k*b.FromMM, s.x+k*b.ToMM, s.sideEnd+12, s.sideEnd, true, b.Len())
	s.uprightDim(s.sideY, s.sideEnd, s.x+long+sectionOff, s.x+long, c.LevelMM)
	s.scaleBar()
	s.keys()
	s.put(`</svg>`)
}

// sloped is the outline of a bar seen from the side, cut off where the block
// ends.
func (s *cutPlan) sloped(l, r float64, z mould.Band, at func(x, z float64) Point) []Point {
	h := s.c.LevelMM
	half := func(z float64) float64 { return s.foot[0] + (s.top[0]-s.foot[0])*z/h }
	zs := []float64{z.FromMM, z.ToMM}
	if d := s.top[0] - s.foot[0]; d != 0 {
		for _, x := range [2]float64{l, r} {
			if v := (math.Abs(x) - s.foot[0]) * h / d; v > z.FromMM && v < z.ToMM {
				zs = append(zs, v)
			}
		}
	}
	slices.SortFunc(zs, cmp.Compare[float64])
	out := make([]Point, 0, 2*len(zs))
	for _, v := range zs {
		out = append(out, at(min(max(l, -half(v)), r), v))
	}
	for _, v := range slices.Backward(zs) {
		out = append(out, at(max(min(r, half(v)), l), v))
	}
	return out
}

// polygon writes a closed series of points.
func (p *pen) polygon(points ...Point) {
	for i, q := range points {
		if i == 0 {
			p.put("M")
		} else {
			p.put("L")
		}
		p.at(q.X, q.Y)
	}
	p.put("Z")
}

func rectangle(x, y, w, h float64) string {
	var p pen
	p.polygon(Point{x, y}, Point{x + w, y}, Point{x + w, y + h}, Point{x, y + h})
	return string(p.b)
}

// waste draws the whole block hatched. The bars are drawn on top of it, so what
// remains visible between and around them is what is lost.
func (s *cutPlan) waste(d string) {
	if s.o.Variant != Paper {
		s.put(`<path class="draw-block" d="`, d, `" fill="var(--rule,#CDC1AB)" fill-opacity=".45"/>`)
	}
	s.put(`<path class="draw-hatched" d="`, d, `" fill="url(#`, s.id, `-hatch)" stroke="`, s.ink(), `" stroke-width="1.2" stroke-linejoin="round"/>`)
}

func (s *cutPlan) bars(view, d string) {
	leaf := paintLeaf
	if s.o.Variant == Paper {
		leaf = "#fff"
	}
	s.put(`<path class="bars" data-view="`, view, `" d="`, d, `" fill="`, leaf, `" stroke="`, s.ink(), `" stroke-width="1" stroke-linejoin="round"/>`)
}

// numbers writes the number of every bar into it. Where the numbers would
// overlap, only those of the first and the last bar are written, each on a ground
// of its own.
func (s *cutPlan) numbers(across, down int, of func(i, j int) (int, Point)) {
	greatest, a := of(across-1, down-1)
	first, b := of(0, 0)
	tight := func(n int, far, need float64) bool { return n > 1 && math.Abs(far) < need*float64(n-1) }
	wide := sectionWide(strconv.Itoa(greatest)) + 3
	if !tight(across, a.X-b.X, wide) && !tight(down, a.Y-b.Y, sectionFigs) {
		for j := range down {
			for i := range across {
				n, p := of(i, j)
				s.say(p.X, p.Y+5, classFigs, "middle", s.ink(), strconv.Itoa(n))
			}
		}
		return
	}
	if math.Abs(a.X-b.X) < wide+4 && math.Abs(a.Y-b.Y) < sectionFigs+6 {
		return // not even two
	}
	for _, x := range [2]struct {
		n int
		p Point
	}{{first, b}, {greatest, a}} {
		words := strconv.Itoa(x.n)
		w := sectionWide(words) + 2
		x.p.X = min(max(x.p.X, w/2), s.o.Width-w/2)
		s.put(`<path class="draw-ground" d="`, rectangle(x.p.X-w/2, x.p.Y-8, w, 16), `" fill="`, s.ground(), `" fill-opacity=".85"/>`)
		s.say(x.p.X, x.p.Y+5, classFigs, "middle", s.ink(), words)
	}
}

// tell describes the picture in words.
func (s *cutPlan) tell() string {
	c := s.c
	var b strings.Builder
	b.WriteString("A block " + quantity.LengthNumber(c.LengthMM, s.length) + " long, " + quantity.LengthNumber(c.WidthMM, s.length) + " wide and " +
		quantity.Length(c.LevelMM, s.length) + " high, cut into " + strconv.Itoa(len(c.Along)) + " along, " + strconv.Itoa(len(c.Across)) + " across, ")
	if len(c.Layers) == 1 {
		b.WriteString("in 1 layer")
	} else {
		b.WriteString("in " + strconv.Itoa(len(c.Layers)) + " layers")
	}
	for _, k := range s.key {
		b.WriteString("; " + k.words)
	}
	b.WriteByte('.')
	return b.String()
}
