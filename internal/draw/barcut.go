package draw

import (
	"math"
	"strconv"
	"strings"

	"barwright/fault"
)

// CutOptions say how to show the bar, cut open, on the page. The zero value draws
// it at 210 × 430 px in colour, without leaders.
type CutOptions struct {
	// ID begins every id in the picture and must be unique on the page; "" means
	// "bar".
	ID string
	// Width and Height of the whole picture in px; 0 means 210 and 430.
	Width, Height float64
	Variant       Variant
	// Seed chooses the shape of the crest; "" takes the bar's name. Give the
	// formula's own id, so that its bar keeps its crest when it is renamed.
	Seed string
	// Leaders runs a line from each stratum to its row of the table at the right
	// of the picture. nil draws none; use it on a phone and for a picture beside
	// text.
	Leaders *Leaders
	// Key adds a square below the foot that is 1 % of the face. A picture under
	// 150 px wide has no room for it and leaves it out.
	Key bool
	// Hidden hides the picture from screen readers. Use it where the same words
	// stand beside the picture.
	Hidden bool
}

// Leaders say where the rows of the table are. The table is the legend. Its rows
// all have the same height, so that a style sheet alone can line it up with the
// picture. The first row stands for the topmost stratum.
type Leaders struct {
	Top    float64 // of the first row, px from the top of the picture: the height of the table's head
	Pitch  float64 // px from one row to the next
	Gutter float64 // width kept for the leaders at the right; 0 means 52
	// Rows are the strata of the table from its top; nil means Present. A row
	// whose stratum is not in the bar gets no leader.
	Rows []Stratum
}

// The height in px that a stratum needs for its letters.
const lettersNeed = 15

// BarCut draws the bar, cut open. It shows the cut face to scale by mass, the
// doubt of the superfat as a hatch between dashed edges, and the body behind it
// in ink.
//
// Each stratum is a <path class="stratum" data-stratum="KEY">, and its area is
// its share of all of them. The edge between soap and free fat has the class
// "superfat-edge"; the two ends of its interval have "superfat-less" and
// "superfat-more". The picture carries a title, and a sentence with every share.
//
// Errors: fault.Invalid on "shares", "wax", "doubt", "mass" or "size".
func BarCut(bar Bar, o CutOptions) (string, error) {
	if o.Width == 0 {
		o.Width = 210
	}
	if o.Height == 0 {
		o.Height = 430
	}
	if !(o.Width > 0 && o.Width <= maxFace && o.Height > 0 && o.Height <= maxFace) {
		return "", fault.Invalidf("size", "The picture would be %v × %v px; both sides must lie between 1 and %d.", o.Width, o.Height, maxFace)
	}
	l := o.Leaders
	if l != nil && !(l.Pitch > 0 && l.Pitch <= maxFace && l.Top >= 0 && l.Top <= maxFace && l.Gutter >= 0 && l.Gutter <= maxFace) {
		return "", fault.Invalidf("leaders",
			"The rows start at %v px, %v px apart, behind a gutter of %v px; all three must be finite, and the rows apart.", l.Top, l.Pitch, l.Gutter)
	}
	c := cutting{bar: &bar, o: o, v: o.Variant, id: cleanPrefix(o.ID, "bar")}
	c.layOut()
	f, err := CutFace(bar, c.w, c.h, o.Seed)
	if err != nil {
		return "", err
	}
	c.face = f
	c.b = make([]byte, 0, 40<<10)
	c.draw()
	return string(c.b), nil
}

// A cutting is one picture being drawn.
type cutting struct {
	pen
	bar  *Bar
	o    CutOptions
	v    Variant
	id   string
	face *Face

	left, top float64 // left top corner of the face's box
	w, h      float64 // the face's box
	dx, dy    float64 // how far the body extends back, to the left and upwards
	fine      float64 // weight of lines compared with full size: 1 down to 0.6
	key       float64 // height kept for the key below the foot
}

// layOut divides the picture. The body extends back to the upper left, so that
// leaders have the right side to themselves.
func (c *cutting) layOut() {
	gutter := 0.0
	if l := c.o.Leaders; l != nil {
		gutter = l.Gutter
		if gutter == 0 {
			gutter = 52
		}
	}
	room := c.o.Width - gutter
	c.fine = math.Min(1, math.Max(0.6, room/180))
	pad := 1.5 * c.fine
	if c.o.Key && room >= 150 {
		c.key = 40
	}
	shade := 0.05 * room // the shadow on the bench, at the left
	c.dx = math.Min(0.16*room, 60)
	c.dy = math.Min(0.62*c.dx, 0.12*c.o.Height)
	c.left = shade + c.dx
	c.top = pad + c.dy
	c.w = room - c.left - pad
	c.h = c.o.Height - c.top - pad - c.key
	if c.key == 0 {
		c.h -= 2 * c.fine // the shadow's last stroke
	}
}

// ink and body are the paints outside the strata.
func (c *cutting) ink() string {
	if c.v == Paper {
		return "#000"
	}
	return paintInk
}

func (c *cutting) body() string {
	if c.v == Paper {
		return "#fff"
	}
	return paintLeaf
}

func (c *cutting) onStrata() string {
	if c.v == Paper {
		return "#000"
	}
	return dayInk
}

// weight writes a stroke width that scales with the picture.
func (c *cutting) weight(px float64) { c.attr("stroke-width", px*c.fine) }

func (c *cutting) draw() {
	c.open()
	c.put(`<defs>`)
	for _, b := range c.face.Bands {
		c.writePattern(c.id, b.Stratum, c.v, math.Max(c.fine, 0.7))
	}
	if c.face.Less != nil {
		c.writeDoubt(c.id, c.v, 5*math.Max(c.fine, 0.7))
	}
	c.put(`</defs>`)
	c.shadow()
	c.behind()
	c.strata()
	c.doubt()
	c.outline()
	c.lettering()
	if c.o.Leaders != nil {
		c.leaders()
	}
	if c.key > 0 {
		c.areaKey()
	}
	c.put(`</svg>`)
}

// open writes the root element with its title and its sentence.
func (c *cutting) open() {
	c.put(`<svg class="bar-cut`)
	if c.v == Paper {
		c.put(` bar-cut-paper`)
	}
	c.put(`" xmlns="http://www.w3.org/2000/svg"`)
	c.attr("width", c.o.Width)
	c.attr("height", c.o.Height)
	c.put(` viewBox="0 0 `)
	c.at(c.o.Width, c.o.Height)
	c.put(`" color="`)
	if c.v == Paper {
		c.put(`#000`)
	} else {
		c.put(colourRoot)
	}
	if c.o.Hidden {
		c.put(`" aria-hidden="true" focusable="false">`)
		return
	}
	c.put(`" role="img" aria-labelledby="`, c.id, `-title `, c.id, `-desc"><title id="`, c.id, `-title">The bar, cut open`)
	if c.bar.Name != "" {
		c.put(`: `)
		c.words(c.bar.Name)
	}
	c.put(`</title><desc id="`, c.id, `-desc">`)
	c.words(c.bar.Sentence())
	c.put(`</desc>`)
}

// Sentence says in words what the picture shows: every share from the foot to the
// crest, and the interval of the free fat. The bar must be one that BarCut can
// draw.
func (b *Bar) Sentence() string {
	var s strings.Builder
	s.WriteString("Area is mass. From the foot to the crest: ")
	first := true
	for i, share := range b.Shares {
		if share <= 0 {
			continue
		}
		if !first {
			s.WriteString(", ")
		}
		first = false
		s.WriteString(Stratum(i).String())
		s.WriteByte(' ')
		s.WriteString(percent(share))
		if Stratum(i) == FreeFat && b.Wax > 0 {
			s.WriteString(" (of it wax ")
			s.WriteString(percent(b.Wax))
			s.WriteByte(')')
		}
	}
	s.WriteString(".")
	if d := b.Doubt; d != nil {
		if d.Low < b.Wax {
			s.WriteString(" The free fat may be as much as " + percent(d.High) + " of the bar, or there may be none and alkali in excess.")
		} else {
			s.WriteString(" The free fat may be as little as " + percent(d.Low) +
				" of the bar and as much as " + percent(d.High) + ", with 95 % chance between.")
		}
	}
	s.WriteString(" Not layers: all of it is mixed through.")
	return s.String()
}

// percent writes a share for the reader with one decimal, or with two where one
// decimal would read 0. It never writes 0 for a share that is there.
func percent(share float64) string {
	p := share * 100
	a := math.Abs(p)
	switch {
	case a == 0:
		return "0\u00a0%"
	case a < 0.005:
		return "under 0.01\u00a0%"
	case a < 0.095:
		return figure(p, 2) + "\u00a0%"
	}
	return figure(p, 1) + "\u00a0%"
}

// pt writes a point of the face at its position in the picture.
func (c *cutting) pt(p Point) { c.at(c.left+p.X, c.top+p.Y) }

// forth continues a path along the curve from its second point on.
func (c *cutting) forth(k Curve) {
	for i := 1; i+2 < len(k); i += 3 {
		c.put("C")
		c.pt(k[i])
		c.put(" ")
		c.pt(k[i+1])
		c.put(" ")
		c.pt(k[i+2])
	}
}

// back continues a path along the curve from right to left.
func (c *cutting) back(k Curve) {
	for i := len(k) - 2; i-2 >= 0; i -= 3 {
		c.put("C")
		c.pt(k[i])
		c.put(" ")
		c.pt(k[i-1])
		c.put(" ")
		c.pt(k[i-2])
	}
}

// between writes the path data of what lies between two boundaries.
func (c *cutting) between(lower, upper Curve) {
	c.put("M")
	c.pt(lower[0])
	c.forth(lower)
	c.put("L")
	c.pt(upper[len(upper)-1])
	c.back(upper)
	c.put("Z")
}

// along writes the path data of one boundary.
func (c *cutting) along(k Curve) {
	c.put("M")
	c.pt(k[0])
	c.forth(k)
}

// strata draws every stratum in its colour, and then again in its pattern, with
// the 0.8 px line that separates it from its neighbours. The path is written once
// and used twice, because a pattern tile with its own ground would show seams.
func (c *cutting) strata() {
	c.put(`<g class="strata">`)
	for i, b := range c.face.Bands {
		id := c.id + "-s" + strconv.Itoa(i)
		l := &looks[b.Stratum]
		c.put(`<g class="stratum-`, l.Key, `" fill="`, b.Stratum.fill(c.v), `"><path class="stratum" data-stratum="`, l.Key, `" id="`, id, `" d="`)
		c.between(b.Lower, b.Upper)
		c.put(`"/></g>`)
	}
	// Patterns and lines come after all colours, so that no neighbour's colour
	// covers half of a line.
	c.put(`<g stroke="`, c.onStrata(), `" stroke-linejoin="round"`)
	c.weight(0.8)
	c.put(`>`)
	for i, b := range c.face.Bands {
		fill := "none"
		if l := &looks[b.Stratum]; l.HasPattern() {
			fill = "url(#" + l.PatternID(c.id) + ")"
		}
		c.put(`<use href="#`, c.id, "-s", strconv.Itoa(i), `" fill="`, fill, `"/>`)
	}
	c.put(`</g></g>`)
}

// doubt draws the interval of the superfat, and the superfat itself.
func (c *cutting) doubt() {
	f := c.face
	ink := c.onStrata()
	c.put(`<g class="superfat" fill="none" stroke="`, ink, `" stroke-linejoin="round">`)
	if f.Less != nil {
		c.put(`<path class="superfat-doubt" stroke="none" fill="url(#`, DoubtID(c.id), `)" d="`)
		c.between(f.More, f.Less)
		c.put(`"/><path class="superfat-more"`)
		c.weight(1.3)
		c.dash(5, 3.5)
		c.put(` d="`)
		c.along(f.More)
		c.put(`"/><path class="superfat-less"`)
		if f.Excess && c.v == Page {
			c.put(` stroke="`, Stop, `"`)
		}
		c.weight(1.3)
		c.dash(5, 3.5)
		c.put(` d="`)
		c.along(f.Less)
		c.put(`"/>`)
	}
	c.put(`<path class="superfat-edge"`)
	c.weight(2)
	c.put(` d="`)
	c.along(f.Edge)
	c.put(`"/></g>`)
}

func (c *cutting) dash(on, off float64) {
	c.put(` stroke-dasharray="`)
	c.at(on*c.fine, off*c.fine)
	c.put(`"`)
}

// outline draws the edge of the cut. It is the heaviest line because the cut is
// nearest to the viewer.
func (c *cutting) outline() {
	first, last := c.face.Bands[0], c.face.Bands[len(c.face.Bands)-1]
	c.put(`<path class="cut-outline" fill="none" stroke="`, c.ink(), `" stroke-linejoin="round"`)
	c.weight(2.4)
	c.put(` d="`)
	c.between(first.Lower, last.Upper)
	c.put(`"/>`)
}

// lettering writes two letters in the middle of each stratum that is high enough.
func (c *cutting) lettering() {
	c.put(`<g class="strata-letters" aria-hidden="true">`)
	for _, b := range c.face.Bands {
		mid := len(b.Lower) / 2 // pieces is even, so this is an end of a piece
		lo, hi := b.Lower[mid], b.Upper[mid]
		// The whole width of the letters needs this height, not only the middle.
		least := math.Min(lo.Y-hi.Y, math.Min(b.Lower[mid-3].Y-b.Upper[mid-3].Y, b.Lower[mid+3].Y-b.Upper[mid+3].Y))
		if least < lettersNeed {
			continue
		}
		// On a slope the letters go where both boundaries leave the most room.
		above := math.Max(hi.Y, math.Max(b.Upper[mid-3].Y, b.Upper[mid+3].Y))
		below := math.Min(lo.Y, math.Min(b.Lower[mid-3].Y, b.Lower[mid+3].Y))
		size := math.Min(15, math.Max(12, 12+(least-lettersNeed)/12))
		c.letters(c.left+lo.X, c.top+(above+below)/2, size, b.Stratum, c.v)
	}
	c.put(`</g>`)
}

// leaders run from a dot on the right side of the face to the rows of the table.
// Each dot is at the true place of its stratum, however thin that is; only the
// lines fan out.
func (c *cutting) leaders() {
	l := c.o.Leaders
	rows := l.Rows
	if rows == nil {
		rows = c.bar.Present()
	}
	type leader struct {
		s             Stratum
		dot, knee, to float64
	}
	var ls []leader
	for i, s := range rows {
		for _, b := range c.face.Bands {
			if b.Stratum == s {
				n := len(b.Lower) - 1
				y := c.top + (b.Lower[n].Y+b.Upper[n].Y)/2
				ls = append(ls, leader{s, y, y, l.Top + (float64(i)+0.5)*l.Pitch})
			}
		}
	}
	// The bends stay 3.5 px apart and move as little as possible. First they are
	// all pushed down, then the group is moved back by half of the push.
	const apart = 3.5
	for i := 0; i < len(ls); {
		j := i + 1
		for ; j < len(ls) && ls[j].dot-ls[j-1].dot < apart; j++ {
		}
		var mean float64
		for k := i; k < j; k++ {
			mean += ls[k].dot / float64(j-i)
		}
		if j-i > 1 {
			for k := i; k < j; k++ {
				ls[k].knee = mean + (float64(k)-float64(i+j-1)/2)*apart
			}
		}
		i = j
	}
	x := c.left + c.w
	k1, end := x+9, c.o.Width-1
	k2 := end - 8
	c.put(`<g class="leaders" fill="none" stroke="`, c.ink(), `" stroke-linejoin="round">`)
	for _, d := range ls {
		c.put(`<path d="M`)
		c.at(x, d.dot)
		c.put(`L`)
		c.at(k1, d.knee)
		c.put(`L`)
		c.at(k2, d.to)
		c.put(`H`)
		c.num(end)
		c.put(`"`)
		if d.s == FreeFat {
			c.attr("stroke-width", 1.8) // the superfat is the subject of the picture
		} else {
			c.attr("stroke-width", 0.9)
		}
		c.put(`/>`)
	}
	c.put(`</g><g class="leader-dots" fill="`, c.ink(), `">`)
	for _, d := range ls {
		r := 2.4
		if d.knee != d.dot {
			r = 1.7
		}
		c.put(`<circle`)
		c.attr("cx", x)
		c.attr("cy", d.dot)
		c.attr("r", r)
		c.put(`/>`)
	}
	c.put(`</g>`)
}

// behind draws the body of the bar in ink: the side in shadow, and the crest as
// it runs to the far end. The crest is a series of profiles, each of which hides
// what is behind it.
func (c *cutting) behind() {
	f := c.face
	front := f.Bands[len(f.Bands)-1].Upper
	far := f.basis.farEnd()
	foot := c.top + c.h
	sx, sy := c.left+front[0].X, c.top+front[0].Y
	corner := f.basis.corner

	c.put(`<g class="bar-body" stroke-linejoin="round" stroke-linecap="round"><path fill="`, c.body(), `" stroke="`, c.ink(), `"`)
	c.weight(1.7)
	c.put(` d="M`)
	c.at(sx, sy)
	c.put("L")
	c.at(sx-c.dx, sy-c.dy+far[0].Y-front[0].Y)
	c.put("L")
	c.at(sx-c.dx, foot-c.dy-corner)
	c.put("L")
	c.at(sx, foot-corner)
	c.put(`Z"/>`)
	c.sideStrokes(sx, sy, foot-corner)

	ridges := int(math.Max(4, math.Min(11, c.dy/2.6)))
	c.put(`<g fill="`, c.body(), `" stroke="`, c.ink(), `">`)
	for i := ridges; i >= 1; i-- {
		// Ridges are closer together towards the far end, as the eye would see
		// them.
		u := float64(i) / float64(ridges)
		u = 1 - math.Pow(1-u, 1.25)
		ox, oy := c.left-u*c.dx, c.top-u*c.dy
		at := func(k int) { c.at(ox+front[k].X, oy+front[k].Y+u*(far[k].Y-front[k].Y)) }
		n := len(front) - 1
		c.put(`<path`)
		if i == ridges {
			c.weight(1.8)
		} else {
			c.weight(0.75)
			if c.v == Page {
				c.put(` stroke-opacity=".75"`)
			}
		}
		c.put(` d="M`)
		at(0)
		for k := 1; k+2 <= n; k += 3 {
			c.put("C")
			at(k)
			c.put(" ")
			at(k + 1)
			c.put(" ")
			at(k + 2)
		}
		c.put(`"/>`)
	}
	c.put(`</g>`)
	// The right shoulder is round. So the visible edge is the line where the
	// shoulder turns out of sight: the tangent parallel to the depth.
	fx, fy := c.turn(front)
	bx, by := c.turn(far)
	c.put(`<path fill="none" stroke="`, c.ink(), `"`)
	c.weight(1.8)
	c.put(` d="M`)
	c.at(c.left+fx, c.top+fy)
	c.put("L")
	c.at(c.left+bx-c.dx, c.top+by-c.dy)
	c.put(`"/></g>`)
}

// turn is the point of the curve's right shoulder that is furthest out across the
// depth. There the surface turns out of sight.
func (c *cutting) turn(k Curve) (x, y float64) {
	n := len(k) - 1
	best := math.Inf(-1)
	for i := range 17 {
		u := float64(i) / 16
		v := 1 - u
		b := [4]float64{v * v * v, 3 * v * v * u, 3 * v * u * u, u * u * u}
		var px, py float64
		for j := range b {
			px += b[j] * k[n-3+j].X
			py += b[j] * k[n-3+j].Y
		}
		if out := px*c.dy - py*c.dx; out > best {
			best, x, y = out, px, py
		}
	}
	return x, y
}

// sideStrokes shades the side with strokes along its depth. They are uneven, as
// if drawn by hand, and longest under the shoulder and at the foot.
func (c *cutting) sideStrokes(x, top, foot float64) {
	r := newSeeded(c.bar.Name + " side")
	step := 4.2 * math.Max(c.fine, 0.7)
	c.put(`<path fill="none" stroke="`, c.ink(), `"`)
	c.weight(0.7)
	if c.v == Page {
		c.put(` stroke-opacity=".6"`)
	}
	c.put(` d="`)
	height := foot - top
	for y := step; y < height-1; y += step {
		u := y / height
		reach := 0.42 + 0.34*math.Pow(math.Abs(2*u-0.9), 1.6) + r.between(-0.13, 0.13)
		reach = math.Max(0.2, math.Min(0.93, reach))
		// Each stroke starts at the far edge.
		c.put("M")
		c.at(x-c.dx*0.985, top+y-c.dy*0.985)
		c.put("L")
		c.at(x-c.dx*(1-reach), top+y-c.dy*(1-reach))
	}
	c.put(`"/>`)
}

// shadow makes the bar stand on a bench: strokes on the ground at its left.
func (c *cutting) shadow() {
	foot := c.top + c.h
	corner := math.Min(math.Min(0.075*c.w, 0.05*c.h), 14)
	c.put(`<path class="bar-shadow" fill="none" stroke="`, c.ink(), `" stroke-linecap="round"`)
	c.weight(0.8)
	if c.v == Page {
		c.put(` stroke-opacity=".6"`)
	}
	c.put(` d="`)
	n := int(math.Max(3, c.dy/3.4))
	for i := range n + 1 {
		u := float64(i) / float64(n)
		x := c.left - u*c.dx
		y := foot - corner*0.4 - u*(c.dy+corner*0.6)
		reach := c.left * (0.30 + 0.62*(1-u)*u*2)
		end := x - reach
		if end < 0.8 {
			end = 0.8
		}
		c.put("M")
		c.at(x, y)
		c.put("H")
		c.num(end)
	}
	c.put(`"/>`)
}

// areaKey draws the square that is 1 % of the face.
func (c *cutting) areaKey() {
	side := math.Sqrt(c.face.area / 100)
	x, y := c.left, c.top+c.h+(c.key-side)/2+3
	c.put(`<path class="area-key" data-share="0.01" fill="`, c.body(), `" stroke="`, c.ink(), `" stroke-width="1" d="M`)
	c.at(x, y)
	c.put("H")
	c.num(x + side)
	c.put("V")
	c.num(y + side)
	c.put("H")
	c.num(x)
	c.put(`Z"/><text class="`, classLabel, `" font-family="`, faceLabel, `" font-size="12.5" fill="`, c.ink(), `"`)
	c.attr("x", x+side+8)
	c.attr("y", y+side/2+4.4)
	c.put(`>this much is 1` + "\u00a0" + `%`)
	if g := c.bar.MassG / 100; g > 0 {
		d := 0
		if g < 10 {
			d = 1
		}
		c.put(`, `)
		c.put(figure(g, d))
		c.put("\u00a0g")
	}
	c.put(`</text>`)
}
