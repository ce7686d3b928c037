package draw

import (
	"math"
	"strconv"
	"unicode/utf8"

	"barwright/fault"
)

// A Superfat is what is known of one formula's superfat, in % of the saponifiable
// fat, worked out elsewhere.
type Superfat struct {
	NominalPct      float64 // as asked for
	LowPct, HighPct float64 // central 95 % interval
	// MeanPct and SDPct describe the normal curve of the first-order estimate.
	// They are used if there is no Histogram.
	MeanPct, SDPct float64
	Histogram      *Histogram // of Monte Carlo draws; nil for the first-order estimate
	// Excess is the chance of alkali in excess, 0 to 1.
	Excess float64
	// Odds says that chance in the page's own words ("1 in 390"). If it is "",
	// the picture words it itself.
	Odds  string
	Label string // of the interval; "" means "this version"
	// Earlier is another version, for comparison; nil for none.
	Earlier *Earlier
}

// A Histogram holds draws counted into bins of equal width.
type Histogram struct {
	FromPct float64   // lower edge of the first bin
	StepPct float64   // width of a bin
	Counts  []float64 // draws in each bin, or anything proportional to them
}

// Earlier is the superfat of another version.
type Earlier struct {
	Label                       string // "version 6"
	NominalPct, LowPct, HighPct float64
}

// GlassOptions say how to show superfat, under the glass. The zero value draws it
// 536 px wide in colour. The height follows from what it has to say.
type GlassOptions struct {
	ID      string  // begins every id; "" means "glass"
	Width   float64 // px, at least 240; 0 means 536
	Plot    float64 // height of the curve, px; 0 means 84
	Variant Variant
	Hidden  bool // hidden from screen readers
}

// The scale that is shown if everything lies within it, %.
const (
	glassFrom = -2
	glassTo   = 8
)

// maxPct limits what can be put on the scale. Beyond it nothing could be told
// apart.
const maxPct = 1000

// Glass draws superfat, under the glass: how likely each superfat is. The parts
// are
//
//   - a scale from −2 to 8 %, widened by whole per cents if an interval goes beyond it;
//   - the central 95 % interval, hatched;
//   - the superfat asked for, as an upright line;
//   - alkali in excess, as cross-hatch left of 0, with its chance in words;
//   - an earlier version, as a thinner bracket below.
//
// Errors: fault.Invalid on "superfat", "histogram", "earlier" or "size".
func Glass(s Superfat, o GlassOptions) (string, error) {
	if o.Width == 0 {
		o.Width = 536
	}
	if o.Plot == 0 {
		o.Plot = 84
	}
	if !(o.Width >= 240 && o.Width <= maxFace && o.Plot >= 40 && o.Plot <= maxFace) {
		return "", fault.Invalidf("size", "The picture would be %v px wide with a curve %v px high; it needs at least 240 and 40, and at most %d.",
			o.Width, o.Plot, maxFace)
	}
	if err := s.check(); err != nil {
		return "", err
	}
	g := glass{s: &s, o: o, v: o.Variant, id: cleanPrefix(o.ID, "glass")}
	g.b = make([]byte, 0, 8<<10)
	g.scale()
	g.layOut()
	g.draw()
	return string(g.b), nil
}

func (s *Superfat) check() error {
	ok := func(vs ...float64) bool {
		for _, v := range vs {
			if !(v >= -maxPct && v <= maxPct) {
				return false
			}
		}
		return true
	}
	if !ok(s.NominalPct, s.LowPct, s.HighPct, s.MeanPct, s.SDPct) || s.LowPct > s.HighPct || s.SDPct < 0 {
		return fault.Invalidf("superfat", "A superfat of %v %%, from %v to %v %%, cannot be drawn; it needs finite numbers within "+
			"± %d %%, the lower first.", s.NominalPct, s.LowPct, s.HighPct, maxPct)
	}
	if !(s.Excess >= 0 && s.Excess <= 1) {
		return fault.Invalidf("superfat", "The chance of alkali in excess is %v; a chance runs from 0 to 1.", s.Excess)
	}
	if h := s.Histogram; h != nil {
		if !ok(h.FromPct, h.FromPct+h.StepPct*float64(len(h.Counts))) || !(h.StepPct > 0) || len(h.Counts) == 0 || len(h.Counts) > 4096 {
			return fault.Invalidf("histogram", "The draws start at %v %% in %d bins of %v %%; they need 1 to 4096 bins of a width "+
				"above 0, within ± %d %%.", h.FromPct, len(h.Counts), h.StepPct, maxPct)
		}
		most := 0.0
		for _, n := range h.Counts {
			if !(n >= 0) || math.IsInf(n, 0) {
				return fault.Invalidf("histogram", "One bin holds %v draws; a bin holds 0 or more.", n)
			}
			most = math.Max(most, n)
		}
		if most == 0 {
			return fault.Invalidf("histogram", "No bin holds a draw; leave the histogram out to show the first order.")
		}
	}
	if e := s.Earlier; e != nil && (!ok(e.NominalPct, e.LowPct, e.HighPct) || e.LowPct > e.HighPct) {
		return fault.Invalidf("earlier", "The earlier superfat of %v %%, from %v to %v %%, cannot be drawn; it needs finite "+
			"numbers within ± %d %%, the lower first.", e.NominalPct, e.LowPct, e.HighPct, maxPct)
	}
	return nil
}

// A glass is one picture being drawn.
type glass struct {
	pen
	s  *Superfat
	o  GlassOptions
	v  Variant
	id string

	from, to float64 // the scale, whole %
	ratio    float64 // px per %
	top      float64 // of the plot
	base     float64 // y of the axis
	height   float64
	narrow   bool
	said     []string // the words about excess, inside the cross-hatch; nil if they are above it
	saidW    float64  // width of their box
	below    []bracket
}

// A bracket is an interval drawn beneath the axis.
type bracket struct {
	low, high, nominal float64
	words              string
	heavy              bool
	y                  float64 // of its line
	x, ty              float64 // of its words
	anchor             string
}

func (g *glass) scale() {
	s := g.s
	lo, hi := math.Min(s.LowPct, s.NominalPct), math.Max(s.HighPct, s.NominalPct)
	if e := s.Earlier; e != nil {
		lo = math.Min(lo, math.Min(e.LowPct, e.NominalPct))
		hi = math.Max(hi, math.Max(e.HighPct, e.NominalPct))
	}
	// Where an interval goes beyond the scale, the scale continues by a fifth of
	// that interval, so that the curve's tail is not cut off where it matters
	// most.
	tail := (s.HighPct - s.LowPct) / 5
	g.from, g.to = glassFrom, glassTo
	if lo < glassFrom {
		g.from = math.Floor(math.Min(lo, s.LowPct-tail))
	}
	if hi > glassTo {
		g.to = math.Ceil(math.Max(hi, s.HighPct+tail))
	}
	g.ratio = (g.o.Width - 2) / (g.to - g.from)
	g.narrow = g.o.Width < 480
}

// x is the position of pct on the scale.
func (g *glass) x(pct float64) float64 { return 1 + (pct-g.from)*g.ratio }

const (
	smallType = 13.0 // words under the axis
	// perEm is the mean width of the label typeface, in em per letter. It was
	// measured on the words used here and rounded up.
	perEm = 0.45
)

func wide(words string, size float64) float64 {
	return float64(utf8.RuneCountInString(words)) * size * perEm
}

func (g *glass) layOut() {
	g.top, g.base = 2, 2+g.o.Plot
	if g.saying(); g.said == nil {
		// There is no room in the cross-hatch, so the words get a line of their
		// own above it.
		g.top, g.base = 22, 22+g.o.Plot
	}
	y := g.base + 24
	add := func(b bracket) {
		y += 13
		b.y = y
		w := wide(b.words, smallType)
		b.ty = y + 4.5
		switch {
		case g.x(b.high)+10+w <= g.o.Width:
			b.x, b.anchor = g.x(b.high)+10, "start"
		case g.x(b.low)-10-w >= 0:
			b.x, b.anchor = g.x(b.low)-10, "end"
		default: // below, under its own middle, but inside the picture
			y += 18
			b.ty = y + 3
			mid := (g.x(b.low) + g.x(b.high)) / 2
			b.x, b.anchor = math.Max(w/2, math.Min(g.o.Width-w/2, mid)), "middle"
		}
		y += 9
		g.below = append(g.below, b)
	}
	label := g.s.Label
	if label == "" {
		label = "this version"
	}
	add(bracket{low: g.s.LowPct, high: g.s.HighPct, nominal: g.s.NominalPct, words: label + ": " + span(g.s.LowPct, g.s.HighPct), heavy: true})
	if e := g.s.Earlier; e != nil {
		add(bracket{low: e.LowPct, high: e.HighPct, nominal: e.NominalPct, words: e.Label + ": " + span(e.LowPct, e.HighPct)})
	}
	g.height = math.Ceil(y + 2)
}

// span is an interval in words with one decimal: "0.7 to 5.2".
func span(lo, hi float64) string { return figure(lo, 1) + " to " + figure(hi, 1) }

func (g *glass) ink() string {
	if g.v == Paper {
		return "#000"
	}
	return paintInk
}

func (g *glass) stop() string {
	if g.v == Paper {
		return "#000"
	}
	return paintStop
}

func (g *glass) wash() string {
	if g.v == Paper {
		return "#fff"
	}
	return paintWash
}

func (g *glass) draw() {
	g.put(`<svg class="glass`)
	if g.narrow {
		g.put(` glass-narrow`)
	}
	g.put(`" xmlns="http://www.w3.org/2000/svg"`)
	g.attr("width", g.o.Width)
	g.attr("height", g.height)
	g.put(` viewBox="0 0 `)
	g.at(g.o.Width, g.height)
	if g.v == Paper {
		g.put(`" color="#000`)
	} else {
		g.put(`" color="`, colourRoot)
	}
	if g.o.Hidden {
		g.put(`" aria-hidden="true" focusable="false">`)
	} else {
		g.put(`" role="img" aria-labelledby="`, g.id, `-title `, g.id, `-desc"><title id="`, g.id,
			`-title">Superfat and how sure it is</title><desc id="`, g.id, `-desc">`)
		g.words(g.s.Sentence())
		g.put(`</desc>`)
	}
	g.put(`<defs>`)
	g.writeDoubt(g.id, g.v, 5.5)
	g.writeExcess(g.id, g.v)
	g.put(`</defs>`)
	g.excess()
	g.curve()
	g.axis()
	g.marks()
	g.brackets()
	g.put(`</svg>`)
}

// Sentence says in words what the picture shows. The superfat must be one that
// Glass can draw.
func (s *Superfat) Sentence() string {
	t := "Superfat asked for: " + figure(s.NominalPct, 1) + "\u00a0%. With 95 % chance it lies from " + span(s.LowPct, s.HighPct) +
		"\u00a0%. Alkali in excess: " + s.odds() + "."
	if e := s.Earlier; e != nil {
		t += " " + e.Label + ": " + figure(e.NominalPct, 1) + "\u00a0%, from " + span(e.LowPct, e.HighPct) + "\u00a0%."
	}
	return t
}

// odds says the chance of alkali in excess in words.
func (s *Superfat) odds() string {
	if s.Odds != "" {
		return s.Odds
	}
	switch p := s.Excess; {
	case p < 1e-6:
		return "under 1 in 1\u202f000\u202f000"
	case p >= 0.995:
		return "all but certain"
	case p >= 0.1:
		return strconv.Itoa(int(math.Round(p*100))) + " in 100"
	default:
		n := 1 / p
		unit := math.Pow(10, math.Max(0, math.Floor(math.Log10(n))-1)) // two figures
		return "1 in " + figure(math.Round(n/unit)*unit, 0)
	}
}

// excess fills what is left of 0, and says how likely it is.
func (g *glass) excess() {
	x0 := g.x(0)
	box := func(fill string) {
		g.put(`<path fill="`, fill, `" d="M`)
		g.at(g.x(g.from), g.top)
		g.put(`H`)
		g.num(x0)
		g.put(`V`)
		g.num(g.base)
		g.put(`H`)
		g.num(g.x(g.from))
		g.put(`Z"/>`)
	}
	g.put(`<g class="glass-excess">`)
	box(g.wash())
	box("url(#" + ExcessID(g.id) + ")")
	g.put(`</g>`)
}

// One of these two functions writes a part of the curve from a to b, both in %.

// normal continues a path along the normal curve in n cubic pieces. Each has the
// curve's slope at both ends.
func (g *glass) normal(a, b float64, n int) {
	h := (b - a) / float64(n)
	x0, y0, d0 := g.density(a)
	for i := 1; i <= n; i++ {
		x1, y1, d1 := g.density(a + h*float64(i))
		third := (x1 - x0) / 3
		g.put("C")
		g.at(x0+third, y0+d0*third)
		g.put(" ")
		g.at(x1-third, y1-d1*third)
		g.put(" ")
		g.at(x1, y1)
		x0, y0, d0 = x1, y1, d1
	}
}

// density is a point of the normal curve in px, and its slope there.
func (g *glass) density(pct float64) (x, y, slope float64) {
	z := (pct - g.s.MeanPct) / g.s.SDPct
	d := (g.o.Plot - 8) * math.Exp(-z*z/2)
	return g.x(pct), g.base - d, d * z / (g.s.SDPct * g.ratio)
}

// under writes a closed path of what is under the curve from a to b. With line it
// leaves out the axis, so that only the curve is stroked.
func (g *glass) under(a, b float64, line bool) {
	a, b = math.Max(a, g.from), math.Min(b, g.to)
	h := g.s.Histogram
	if h == nil { // further out the curve is only a few thousandths of a pixel high
		a, b = math.Max(a, g.s.MeanPct-4.5*g.s.SDPct), math.Min(b, g.s.MeanPct+4.5*g.s.SDPct)
	}
	g.put("M")
	if b <= a {
		g.at(g.x(math.Max(g.from, math.Min(a, g.to))), g.base)
		return
	}
	if h == nil {
		if !line {
			g.at(g.x(a), g.base)
			g.put("L")
		}
		x, y, _ := g.density(a)
		g.at(x, y)
		g.normal(a, b, max(2, int(math.Ceil((b-a)/g.s.SDPct*3))))
	} else {
		most := 0.0
		for _, n := range h.Counts {
			most = math.Max(most, n)
		}
		g.at(g.x(math.Max(a, h.FromPct)), g.base)
		for i, n := range h.Counts {
			l, r := math.Max(a, h.FromPct+h.StepPct*float64(i)), math.Min(b, h.FromPct+h.StepPct*float64(i+1))
			if r <= l {
				continue
			}
			g.put("V")
			g.num(g.base - (g.o.Plot-8)*n/most)
			g.put("H")
			g.num(g.x(r))
		}
		if line {
			g.put("V")
			g.num(g.base)
		}
	}
	if !line {
		g.put("V")
		g.num(g.base)
		g.put("Z")
	}
}

// curve draws how likely each superfat is. What is left of 0 is filled with the
// colour of excess; its share of the whole area is the chance that is stated.
func (g *glass) curve() {
	if g.s.Histogram == nil && g.s.SDPct*g.ratio < 0.25 {
		return // there is hardly any doubt, so the upright line says everything
	}
	ground, tail := looks[FreeFat].Fill, g.stop()
	if g.v == Paper {
		ground = "#fff"
	}
	g.put(`<g class="glass-curve" stroke-linejoin="round"><path fill="`, ground, `"`)
	if g.v == Page {
		g.put(` fill-opacity=".35"`)
	}
	g.put(` d="`)
	g.under(math.Max(0, g.from), g.to, false)
	g.put(`"/><path class="glass-interval" fill="`, ground, `"`)
	if g.v == Page {
		g.put(` fill-opacity=".55"`)
	}
	lo, hi := math.Max(0, g.s.LowPct), math.Max(0, g.s.HighPct)
	g.put(` d="`)
	g.under(lo, hi, false)
	g.put(`"/><path fill="url(#`, DoubtID(g.id), `)" d="`)
	g.under(lo, hi, false)
	g.put(`"/><path class="glass-tail" fill="`, tail, `" d="`)
	g.under(g.from, 0, false)
	g.put(`"/><path fill="none" stroke="`, g.ink(), `" stroke-width="1.8" d="`)
	g.under(g.from, g.to, true)
	g.put(`"/>`)
	// The ends of the interval are dashed, as they are on the bar.
	for _, pct := range [2]float64{g.s.LowPct, g.s.HighPct} {
		x := g.x(pct)
		g.line(x, g.base, x, g.base-math.Max(6, g.levelAt(pct)), `stroke="`+g.ink()+`" stroke-width="1.3" stroke-dasharray="5 3.5"`)
	}
	g.put(`</g>`)
}

// levelAt is the height of the curve at pct, px.
func (g *glass) levelAt(pct float64) float64 {
	h := g.s.Histogram
	if h == nil {
		if g.s.SDPct == 0 {
			return 0
		}
		_, y, _ := g.density(pct)
		return g.base - y
	}
	i := int(math.Floor((pct - h.FromPct) / h.StepPct))
	if i < 0 || i >= len(h.Counts) {
		return 0
	}
	most := 0.0
	for _, n := range h.Counts {
		most = math.Max(most, n)
	}
	return (g.o.Plot - 8) * h.Counts[i] / most
}

// axis draws the scale with as many numbers as there is room for.
func (g *glass) axis() {
	step := 1.0
	for _, s := range []float64{1, 2, 5, 10, 20, 50, 100, 200, 500} {
		step = s
		if s*g.ratio >= 38 {
			break
		}
	}
	g.put(`<g class="glass-axis"><path fill="none" stroke="`, g.ink(), `" stroke-width="1.5" d="M`)
	g.at(0, g.base)
	g.put("H")
	g.num(g.o.Width)
	first := math.Ceil(g.from/step) * step
	for v := first; v <= g.to; v += step {
		g.put("M")
		g.at(g.x(v), g.base)
		g.put("v5")
	}
	g.put(`"/><g class="`, classFigs, `" font-family="`, faceFigs, `" font-size="15" fill="`, g.ink(), `" text-anchor="middle">`)
	for v := first; v <= g.to; v += step {
		g.put(`<text`)
		words := figure(v, 0)
		switch x := g.x(v); {
		case v+step > g.to: // the last number carries the unit
			words += "\u00a0%"
			g.attr("x", math.Min(x+6, g.o.Width))
			if x+22 > g.o.Width {
				g.put(` text-anchor="end"`)
			}
		case x < 10:
			g.attr("x", 0)
			g.put(` text-anchor="start"`)
		default:
			g.attr("x", x)
		}
		g.attr("y", g.base+20)
		g.put(`>`, words, `</text>`)
	}
	g.put(`</g></g>`)
}

// marks draws the line at 0, the superfat asked for, and the words about excess,
// on top of all hatching.
func (g *glass) marks() {
	x0 := g.x(0)
	g.line(x0, g.top, x0, g.base+5, `class="glass-zero" stroke="`+g.stop()+`" stroke-width="2.2"`)
	xn := g.x(g.s.NominalPct)
	g.line(xn, g.top, xn, g.base, `class="glass-nominal" stroke="`+g.ink()+`" stroke-width="2.4"`)

	g.put(`<g class="`, classLabel, ` glass-odds" font-family="`, faceLabel, `" font-weight="600"`)
	g.attr("font-size", smallType)
	g.put(` fill="`, g.stop(), `">`)
	say := func(x, y float64, words string) {
		g.put(`<text`)
		g.attr("x", x)
		g.attr("y", y)
		g.put(`>`)
		g.words(words)
		g.put(`</text>`)
	}
	if g.said == nil {
		say(0, g.top-7, "alkali in excess: "+g.s.odds())
	} else {
		g.put(`<path fill="`, g.wash(), `" d="M`)
		g.at(g.x(g.from), g.top)
		g.put("h")
		g.num(g.saidW)
		g.put("v")
		g.num(g.saidHeight())
		g.put("H")
		g.num(g.x(g.from))
		g.put(`Z"/>`)
		for i, l := range g.said {
			say(g.x(g.from)+saidPad, g.top+15+saidLead*float64(i), l)
		}
	}
	g.put(`</g>`)
}

// Padding and line height of the words in the cross-hatch, px.
const (
	saidPad  = 6
	saidLead = 15
)

func (g *glass) saidHeight() float64 { return float64(len(g.said))*saidLead + 7 }

// saying breaks the words about excess into lines that fit into the cross-hatch
// and stay clear of the curve. If they do not fit, it leaves none.
func (g *glass) saying() {
	room := g.x(0) - g.x(g.from) - 2
	odds := g.s.odds()
	for _, lines := range [][]string{
		{"alkali in excess: " + odds},
		{"alkali in", "excess: " + odds},
		{"alkali in", "excess:", odds},
	} {
		w := 0.0
		for _, l := range lines {
			w = math.Max(w, 1.06*wide(l, smallType)+2*saidPad) // semi-bold letters are wider
		}
		if w > room {
			continue
		}
		if room-w < 14 {
			w = room + 1 // no narrow strip of hatching beside the words
		}
		g.said, g.saidW = lines, w
		clear := g.base - g.top - g.saidHeight() - 4
		for i := range 9 {
			if g.levelAt(g.from+w/g.ratio*float64(i)/8) > clear {
				g.said = nil
			}
		}
		if g.said != nil {
			return
		}
	}
}

func (g *glass) brackets() {
	for _, b := range g.below {
		w, r, tick := 1.1, 3.4, 4.0
		class := "glass-earlier"
		if b.heavy {
			w, r, tick, class = 2.2, 4.4, 5.5, "glass-this"
		}
		ink := g.ink()
		g.put(`<g class="`, class, `"><path fill="none" stroke="`, ink, `"`)
		g.attr("stroke-width", w)
		g.put(` d="M`)
		g.at(g.x(b.low), b.y-tick)
		g.put("v")
		g.num(2 * tick)
		g.put("M")
		g.at(g.x(b.low), b.y)
		g.put("H")
		g.num(g.x(b.high))
		g.put("m0 ")
		g.num(-tick)
		g.put("v")
		g.num(2 * tick)
		g.put(`"/><circle`)
		g.attr("cx", g.x(b.nominal))
		g.attr("cy", b.y)
		g.attr("r", r)
		if b.heavy {
			g.put(` fill="`, ink, `"/>`)
		} else {
			ground := paintPaper
			if g.v == Paper {
				ground = "#fff"
			}
			g.put(` fill="`, ground, `" stroke="`, ink, `" stroke-width="1.4"/>`)
		}
		paint := ink
		if !b.heavy && g.v == Page {
			paint = paintInk2
		}
		g.put(`<text class="`, classLabel, `" font-family="`, faceLabel, `"`)
		g.attr("font-size", smallType)
		if b.heavy {
			g.put(` font-weight="600"`)
		}
		g.put(` fill="`, paint, `" text-anchor="`, b.anchor, `"`)
		g.attr("x", b.x)
		g.attr("y", b.ty)
		g.put(`>`)
		g.words(b.words)
		g.put(`</text></g>`)
	}
}
