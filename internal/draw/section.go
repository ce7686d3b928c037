package draw

import (
	"math"
	"strings"
	"unicode/utf8"

	"barwright/fault"
	"barwright/mould"
	"barwright/quantity"
)

// SectionOptions say how to show a mould, in section, on the page. The zero value
// draws it 420 px wide, in mm, without a fill line. The height follows from what
// there is to draw.
type SectionOptions struct {
	ID      string         // begins every id and must be unique on the page; "" means "mould"
	Width   float64        // px, at least 280; 0 means 420
	Inches  bool           // dimensions in inches as well as in mm
	FillPct quantity.Maybe // of the cavity's volume, in (0, 100]; if unknown there is no fill line
	Variant Variant
	Hidden  bool // hidden from screen readers
}

// Measures of the drawing, px. The wall around the cavity only carries the
// hatching. Nothing is known about its thickness, and the picture says so.
const (
	sectionWall  = 16.0
	sectionSlope = 5.0  // by which the block narrows towards its foot, on each side
	sectionLeft  = 32.0 // left of the first view: room for ringed letters and the letter A
	sectionGap   = 20.0 // between two views
	sectionTitle = 16.0 // a view's title
	sectionDim   = 34.0 // a horizontal dimension line with its words
	sectionFigs  = 14.0 // type size of numbers
	sectionWords = 13.0 // type size of words
	sectionLead  = 21.0 // from line to line of the key
	sectionRing  = 9.0  // radius of a ringed letter
	sectionTall  = 300.0
	sectionTick  = 4.0 // half the bar that ends a dimension line
)

// Section draws one cavity of a mould to scale: cut through along A–A, in a
// hatched block, and seen from above. It adds the dimensions, a scale, and the
// line that a fill reaches. A measured mould has no known shape. It is drawn as a
// jar with wavy sides whose height is true to volume, and the picture says so.
//
// The outline of the cavity is the <path class="cavity">. The root's
// data-px-per-mm is the scale; a measured mould has data-px-per-ml instead.
//
// Errors: fault.Invalid on "size" and "fill_pct", and what mould.Validate reports
// about the shape. A fault in the number of cavities or sets, or in a note, does
// not prevent the drawing.
func Section(m mould.Mould, o SectionOptions) (string, error) {
	if o.Width == 0 {
		o.Width = 420
	}
	if !(o.Width >= 280 && o.Width <= maxFace) {
		return "", fault.Invalidf("size", "The picture would be %v px wide; it needs at least 280, and at most %d.", o.Width, maxFace)
	}
	if f := o.FillPct; f.Known && !(f.V > 0 && f.V <= 100) {
		return "", fault.Invalidf("fill_pct", "A cavity cannot be filled to %v %%; write more than 0, and 100 at most.", f.V)
	}
	name := m.Name
	m = cavityAlone(m)
	v, err := m.Volume()
	if err != nil {
		return "", err
	}
	s := sectioning{m: &m, o: o, id: cleanPrefix(o.ID, "mould"), name: name, ml: v.Value}
	s.b = make([]byte, 0, 8<<10)
	if err := s.measure(); err != nil {
		return "", err
	}
	if m.Shape == mould.Measured {
		s.layOutJar()
	} else {
		s.layOut()
	}
	s.open()
	if m.Shape == mould.Measured {
		s.jar()
	} else {
		s.section()
		s.plan()
		s.scaleBar()
	}
	s.keys()
	s.put(`</svg>`)
	return string(s.b), nil
}

// cavityAlone is the mould without the fields that do not prevent a drawing.
func cavityAlone(m mould.Mould) mould.Mould {
	m.Name, m.Note, m.Cavities, m.Sets = "", "", 1, 1
	m.ReleaseHours, m.MaxTempC, m.Cut = quantity.Maybe{}, quantity.Maybe{}, nil
	return m
}

// sectionKey is a line of the key: a ringed letter and its words. letter is ""
// for a line without one.
type sectionKey struct{ letter, words string }

type sectioning struct {
	pen
	m    *mould.Mould
	o    SectionOptions
	id   string
	name string
	ml   float64 // of the cavity
	// level is where the fill line is: mm, or for a measured mould its share of
	// the height. filled is its volume, mL.
	level, filled float64
	hasFill       bool
	deep, along   float64 // of the cavity, mm, at its deepest and widest
	across        float64
	rim, foot     [2]float64 // along and across, at the brim and at the lowest point
	scale         float64    // px per mm; for a jar, px per mL
	beside        bool       // the view from above is beside the section, not below it
	inchOnly      bool       // dimensions in inches only

	x, y         float64 // left top corner of the section's cavity, px
	planX, planY float64 // left top corner of the view from above, px
	keyY, height float64
	key          []sectionKey
}

// measure reads the spans of the mould and collects what the key has to say.
func (s *sectioning) measure() error {
	m := s.m
	s.spans()
	s.key = append(s.key, sectionKey{"a", "to the brim: " + sectionVolume(s.ml)})
	// A fill to the brim needs no line of its own.
	if f := s.o.FillPct; f.Known && f.V < 100 {
		s.filled, s.hasFill = s.ml*f.V/100, true
		words := "filled to " + quantity.Percent(f.V, sectionDecimals(f.V)) + ": " + sectionVolume(s.filled)
		up := ""
		s.level = f.V / 100
		if !m.Proportional() {
			h, err := m.LevelFor(s.filled)
			if err != nil {
				return err
			}
			s.level, up = h, s.inWords(h)+" up"
		} else if s.deep > 0 {
			up = "about " + s.inWords(math.Round(s.level*s.deep)) + " up, by proportion"
		}
		// Use two lines where one would not fit into the picture.
		if one := words + ", " + up; up != "" && sectionLeft/2+2*sectionRing+8+float64(utf8.RuneCountInString(one))*sectionWords*0.48 < s.o.Width {
			words, up = one, ""
		}
		s.key = append(s.key, sectionKey{"b", words})
		if up != "" {
			s.key = append(s.key, sectionKey{"", up})
		}
	}
	switch m.Shape {
	case mould.Measured:
		s.key = append(s.key, sectionKey{"", "measured with water, not to shape"})
	case mould.TaperedBox:
		unit := quantity.Millimetre
		if s.o.Inches {
			unit = quantity.Inch
		}
		s.key = append(s.key, sectionKey{"", "at its foot " + quantity.LengthNumber(s.foot[0], unit) + " × " + quantity.Length(s.foot[1], unit)})
		fallthrough
	default:
		s.key = append(s.key, sectionKey{"", "cavity to scale, its walls are not"})
	}
	return nil
}

// spans works out how deep and how wide the cavity is.
func (s *sectioning) spans() {
	m := s.m
	s.deep, _ = m.Depth()
	s.rim[0], s.rim[1] = m.SpanAt(s.deep)
	s.foot[0], s.foot[1] = m.SpanAt(0)
	s.along, s.across = max(s.rim[0], s.foot[0]), max(s.rim[1], s.foot[1])
	if m.Shape == mould.SphericalCap && s.deep > s.rim[0]/2 {
		// This is more than a hemisphere, so it is widest in the middle of the
		// sphere.
		r := (s.rim[0]*s.rim[0]/4 + s.deep*s.deep) / (2 * s.deep)
		s.along, s.across = 2*r, 2*r
	}
}

// sectionDecimals gives a share a decimal only if it has one.
func sectionDecimals(v float64) int {
	if math.Abs(v-math.Round(v)) < 0.05 {
		return 0
	}
	return 1
}

// sectionVolume shows a volume to about four figures.
func sectionVolume(ml float64) string {
	d := 0
	switch {
	case ml < 10:
		d = 2
	case ml < 1000:
		d = 1
	}
	return quantity.Volume(ml, quantity.Millilitre, d)
}

// inWords is a length within a sentence.
func (s *sectioning) inWords(mm float64) string {
	words := quantity.Length(mm, quantity.Millimetre)
	if s.o.Inches {
		words += " (" + quantity.Length(mm, quantity.Inch) + ")"
	}
	return words
}

// dimension is the words of a dimension line, one string for each line.
func (s *sectioning) dimension(mm float64) []string {
	if s.inchOnly {
		return []string{quantity.Length(mm, quantity.Inch)}
	}
	out := []string{quantity.Length(mm, quantity.Millimetre)}
	if s.o.Inches {
		out = append(out, quantity.Length(mm, quantity.Inch))
	}
	return out
}

// sectionWide is about how wide numbers with their unit are, px. It rather
// overestimates: 'mm' takes twice as much as digits.
func sectionWide(words string) float64 {
	return float64(utf8.RuneCountInString(words)) * sectionFigs * 0.66
}

// column is the room that a vertical dimension needs to the right of a block.
func (s *sectioning) column(mm, off float64) float64 {
	w := 0.0
	for _, l := range s.dimension(mm) {
		w = max(w, sectionWide(l))
	}
	return off + 8 + w + 8 // and some space at the edge of the picture
}

const (
	sectionOff     = 14.0 // from a block to a vertical dimension line
	sectionPlanOff = 26.0 // the same past the letter A
)

// round reports whether the view from above is a circle. The section shows its
// diameter already.
func (s *sectioning) round() bool {
	return s.m.Shape.Round() && s.m.Shape != mould.HalfEllipsoid
}

// hasFoot reports whether the cavity has a flat foot with a width of its own.
func (s *sectioning) hasFoot() bool {
	return s.m.Shape == mould.ConeFrustum || s.m.Shape == mould.TaperedBox
}

// layOut chooses the scale. It also chooses whether the view from above goes
// below the section, where a draughtsman would project it, or beside it,
// whichever allows the larger drawing.
func (s *sectioning) layOut() {
	right := s.column(s.deep, sectionOff)
	planRight := sectionPlanOff
	if !s.round() {
		planRight = s.column(s.rim[1], sectionPlanOff)
	}
	w := s.o.Width - sectionLeft - 2*sectionWall
	below := min((w-max(right, planRight))/s.along, sectionTall/(s.deep+s.across))
	beside := min((w-right-sectionGap-sectionLeft-2*sectionWall-planRight)/(2*s.along), sectionTall*0.8/max(s.deep, s.across))
	s.scale = max(below, beside)
	s.beside = beside > below

	k := s.scale
	top := sectionTitle + 8
	s.x = sectionLeft + sectionWall
	s.y = top + s.dimHigh()
	bottom := s.y + k*s.deep + sectionWall
	if s.hasFoot() {
		bottom += s.dimHigh()
	}
	if s.beside {
		s.planX = s.x + k*s.along + sectionWall + right + sectionGap + sectionLeft + sectionWall
		s.planY = s.y + sectionWall
		// The height decided the scale, so some width is left: distribute it.
		if spare := s.o.Width - (s.planX + k*s.along + sectionWall + planRight); spare > 0 {
			s.x += spare / 3
			s.planX += spare * 2 / 3
		}
		bottom = max(bottom, s.planY+k*s.across+sectionWall)
	} else {
		if spare := s.o.Width - (s.x + k*s.along + sectionWall + max(right, planRight)); spare > 0 {
			s.x += spare / 2
		}
		s.planX = s.x
		s.planY = bottom + sectionTitle + 14 + sectionWall
		bottom = s.planY + k*s.across + sectionWall
	}
	// Below come the scale bar and then the key.
	s.keyY = bottom + 58
	s.height = math.Ceil(s.keyY + sectionLead*float64(len(s.key)-1) + 8)
}

// dimHigh is the height of a horizontal dimension with its words.
func (s *sectioning) dimHigh() float64 {
	if s.o.Inches {
		return sectionDim + 16
	}
	return sectionDim
}

func (s *sectioning) ink() string {
	if s.o.Variant == Paper {
		return "#000"
	}
	return paintInk
}

func (s *sectioning) ink2() string {
	if s.o.Variant == Paper {
		return "#000"
	}
	return paintInk2
}

func (s *sectioning) ground() string {
	if s.o.Variant == Paper {
		return "#fff"
	}
	return paintPaper
}

// open writes the root, its title and sentence, and the hatch.
func (s *sectioning) open() {
	s.root("mould-section", "the mould in section", s.sentence)
	s.put(`</defs>`)
}

// root writes the root of a class, its title and sentence, and the hatch. It
// leaves the defs element open.
func (s *sectioning) root(class, title string, sentence func() string) {
	s.put(`<svg class="`, class)
	if s.o.Variant == Paper {
		s.put(` `, class, `-paper`)
	}
	s.put(`" xmlns="http://www.w3.org/2000/svg"`)
	s.attr("width", s.o.Width)
	s.attr("height", s.height)
	s.put(` viewBox="0 0 `)
	s.at(s.o.Width, s.height)
	s.put(`" color="`)
	if s.o.Variant == Paper {
		s.put(`#000`)
	} else {
		s.put(colourRoot)
	}
	unit := "mm"
	if s.m.Shape == mould.Measured {
		unit = "ml"
	}
	s.put(`" data-px-per-`, unit, `="`)
	s.words(plainFigures(s.scale))
	if s.o.Hidden {
		s.put(`" aria-hidden="true" focusable="false">`)
	} else {
		s.put(`" role="img" aria-labelledby="`, s.id, `-title `, s.id, `-desc"><title id="`, s.id, `-title">`)
		if s.name != "" {
			s.words(s.name)
			s.put(`: `)
		}
		s.put(title, `</title><desc id="`, s.id, `-desc">`)
		s.words(sentence())
		s.put(`</desc>`)
	}
	s.put(`<defs><pattern id="`, s.id, `-hatch" class="draw-hatch" patternUnits="userSpaceOnUse" width="6" height="6" `+
		`patternTransform="rotate(45)"><path class="pattern-ink" d="M3 0V6" fill="none" stroke="`,
		s.ink(), `" stroke-width=".9"`)
	if s.o.Variant != Paper {
		s.put(` stroke-opacity=".62"`)
	}
	s.put(`/></pattern>`)
}

// plainFigures writes a scale with enough digits for a test to measure with.
func plainFigures(v float64) string {
	return strings.ReplaceAll(quantity.Number(v, 6), quantity.Thousands, "")
}

// sentence describes the picture in words.
func (s *sectioning) sentence() string {
	var b strings.Builder
	if s.m.Shape == mould.Measured {
		b.WriteString("A cavity of unknown shape, measured with water")
	} else {
		b.WriteString("One cavity, a " + s.m.Shape.Words())
		for i, f := range s.m.Shape.Fields() {
			sep := ", "
			if i == 0 {
				sep = ": "
			}
			b.WriteString(sep + mould.FieldWords(f) + " " + strings.Join(s.dimension(s.m.Field(f).V), ", that is "))
		}
	}
	for _, k := range s.key[:len(s.key)-1] {
		if k.letter != "" {
			b.WriteString("; " + k.words)
		}
	}
	b.WriteByte('.')
	return b.String()
}

// say writes words at a point.
func (s *sectioning) say(x, y float64, class, anchor, fill, words string) {
	face, size := faceLabel, sectionWords
	if class == classFigs {
		face, size = faceFigs, sectionFigs
	}
	s.put(`<text class="`, class, `"`)
	s.attr("x", x)
	s.attr("y", y)
	s.attr("font-size", size)
	s.put(` font-family="`, face, `" fill="`, fill, `"`)
	if anchor != "" {
		s.put(` text-anchor="`, anchor, `"`)
	}
	s.put(`>`)
	s.words(words)
	s.put(`</text>`)
}

// levelDim is a horizontal dimension from x1 to x2 at y, with its words above it
// or, if under, below it. Faint lines run to it from the edges that it measures,
// at edge.
func (s *sectioning) levelDim(x1, x2, y, edge float64, under bool, mm float64) {
	out := math.Copysign(sectionTick, y-edge)
	for _, x := range [2]float64{x1, x2} {
		s.line(x, edge-math.Copysign(3, edge-y), x, y+out, `class="draw-feint" fill="none" stroke="`+s.ink2()+`" stroke-width=".7"`)
	}
	s.dimLine(x1, y, x2, y)
	lines := s.dimension(mm)
	mid := (x1 + x2) / 2
	for i, l := range lines {
		at := y - 7 - 16*float64(len(lines)-1-i)
		if under {
			at = y + 16 + 16*float64(i)
		}
		// The words of a narrow foot must not run off the picture.
		half := sectionWide(l) / 2
		s.say(min(max(mid, half+1), s.o.Width-half-1), at, classFigs, "middle", s.ink(), l)
	}
}

// uprightDim is a vertical dimension from y1 to y2 at x, with its words at the
// right and faint lines from edge.
func (s *sectioning) uprightDim(y1, y2, x, edge, mm float64) {
	for _, y := range [2]float64{y1, y2} {
		s.line(edge+3, y, x+sectionTick, y, `class="draw-feint" fill="none" stroke="`+s.ink2()+`" stroke-width=".7"`)
	}
	s.dimLine(x, y1, x, y2)
	lines := s.dimension(mm)
	for i, l := range lines {
		s.say(x+8, (y1+y2)/2+5+16*(float64(i)-float64(len(lines)-1)/2), classFigs, "", s.ink(), l)
	}
}

// dimLine is the line itself, with a bar at each end.
func (s *sectioning) dimLine(x1, y1, x2, y2 float64) {
	dx, dy := sectionTick, 0.0
	if y1 == y2 {
		dx, dy = 0, sectionTick
	}
	s.put(`<path class="draw-dim" d="M`)
	s.at(x1, y1)
	s.put(`L`)
	s.at(x2, y2)
	for _, p := range [2]Point{{x1, y1}, {x2, y2}} {
		s.put(`M`)
		s.at(p.X-dx, p.Y-dy)
		s.put(`L`)
		s.at(p.X+dx, p.Y+dy)
	}
	s.put(`" fill="none" stroke="`, s.ink(), `" stroke-width="1.1"/>`)
}

// ring writes a ringed letter, and a leader from its right side to the point.
func (s *sectioning) ring(x, y float64, letter string, to Point) {
	s.put(`<path class="draw-leader" d="M`)
	s.at(x+sectionRing, y)
	s.put(`L`)
	s.at(to.X, to.Y)
	s.put(`" fill="none" stroke="`, s.ink(), `" stroke-width=".9"/>`)
	s.ringed(x, y, letter)
}

func (s *sectioning) ringed(x, y float64, letter string) {
	leaf := paintLeaf
	if s.o.Variant == Paper {
		leaf = "#fff"
	}
	s.put(`<circle class="draw-ring"`)
	s.attr("cx", x)
	s.attr("cy", y)
	s.attr("r", sectionRing)
	s.put(` fill="`, leaf, `" stroke="`, s.ink(), `" stroke-width="1.1"/>`)
	s.say(x, y+4.5, classFigs, "middle", s.ink(), letter)
}

// block writes the hatched body around a cavity that spans x to x+w and y to y+h,
// and the two stretches of its top.
func (s *sectioning) block(x, y, w, h float64) {
	l, r, b := x-sectionWall, x+w+sectionWall, y+h+sectionWall
	shape := func() {
		s.at(l, y)
		s.put(`L`)
		s.at(l+sectionSlope, b)
		s.put(`L`)
		s.at(r-sectionSlope, b)
		s.put(`L`)
		s.at(r, y)
	}
	if s.o.Variant != Paper {
		s.put(`<path class="draw-block" d="M`)
		shape()
		s.put(`Z" fill="var(--rule,#CDC1AB)" fill-opacity=".45"/>`)
	}
	s.put(`<path class="draw-hatched" d="M`)
	shape()
	s.put(`Z" fill="url(#`, s.id, `-hatch)" stroke="`, s.ink(), `" stroke-width="1.3" stroke-linejoin="round"/>`)
}

// section draws the cut and its fill.
func (s *sectioning) section() {
	k := s.scale
	w, h := k*s.along, k*s.deep
	mid := s.x + w/2
	s.say(s.x-sectionWall, sectionTitle, classLabel, "", s.ink2(), "Cut along A–A")
	s.block(s.x, s.y, w, h)

	rim, foot := k*s.rim[0], k*s.foot[0]
	s.cavity(mid, `class="cavity" fill="`+s.ground()+`"`)
	s.mouth(mid-rim/2, mid+rim/2)

	ringX := s.x - sectionWall - 8 - sectionRing
	aY := s.y
	if s.hasFill {
		at := s.y + h - k*s.level
		lo, _ := s.m.SpanAt(s.level)
		s.surface(mid, k*lo, at, s.y+h, func(y float64) float64 {
			a, _ := s.m.SpanAt(max((s.y+h-y)/k, 0))
			return k * a
		})
		// The two letters are moved apart where the two lines are close.
		bY := at
		if d := 2*sectionRing + 2 - (bY - aY); d > 0 {
			aY -= d / 2
			bY += d / 2
		}
		s.ring(ringX, bY, "b", Point{mid - k*lo/2, at})
	}
	s.ring(ringX, aY, "a", Point{mid - rim/2, s.y})

	s.levelDim(mid-rim/2, mid+rim/2, s.y-16, s.y, false, s.rim[0])
	if s.hasFoot() {
		s.levelDim(mid-foot/2, mid+foot/2, s.y+h+sectionWall+12, s.y+h+sectionWall, true, s.foot[0])
	}
	s.uprightDim(s.y, s.y+h, s.x+w+sectionWall+sectionOff, s.x+w+sectionWall, s.deep)
}

// cavity writes the outline of a cavity of known shape around its middle. attrs
// are written as they are.
func (s *sectioning) cavity(mid float64, attrs string) {
	w, h := s.scale*s.along, s.scale*s.deep
	rim, foot := s.scale*s.rim[0], s.scale*s.foot[0]
	// The class comes before the path, the other attributes after it.
	class, rest, _ := strings.Cut(attrs, " ")
	s.put(`<path `, class, ` d="M`)
	s.at(mid-rim/2, s.y)
	switch s.m.Shape {
	case mould.HalfCylinder, mould.HalfEllipsoid:
		s.arc(w/2, h, false, mid+rim/2, s.y)
	case mould.SphericalCap:
		r := s.scale * (s.rim[0]*s.rim[0]/4 + s.deep*s.deep) / (2 * s.deep)
		s.arc(r, r, s.deep > s.rim[0]/2, mid+rim/2, s.y)
	default:
		s.put(`L`)
		s.at(mid-foot/2, s.y+h)
		s.put(`L`)
		s.at(mid+foot/2, s.y+h)
		s.put(`L`)
		s.at(mid+rim/2, s.y)
	}
	s.put(`" `, rest, ` stroke="`, s.ink(), `" stroke-width="1.6" stroke-linejoin="round"/>`)
}

// mouth opens the block from x1 to x2: it wipes out the edge across it, and draws
// a faint line for the brim.
func (s *sectioning) mouth(x1, x2 float64) {
	s.line(x1+.8, s.y, x2-.8, s.y, `class="draw-mouth" fill="none" stroke="`+s.ground()+`" stroke-width="2.4"`)
	s.line(x1, s.y, x2, s.y, `class="draw-brim" fill="none" stroke="`+s.ink2()+`" stroke-width=".9" stroke-dasharray="5 3"`)
}

// arc writes an elliptical arc of a path, through the lowest point of the cavity.
func (s *sectioning) arc(rx, ry float64, large bool, x, y float64) {
	s.put(`A`)
	s.at(rx, ry)
	flag := ` 0 0 0 `
	if large {
		flag = ` 0 1 0 `
	}
	s.put(flag)
	s.at(x, y)
}

// surface draws the level of a fill as a draughtsman does: the line, a small
// triangle standing on it, and three shorter lines below it.
func (s *sectioning) surface(mid, wide, y, foot float64, widthAt func(y float64) float64) {
	s.line(mid-wide/2, y, mid+wide/2, y, `class="draw-fill" fill="none" stroke="`+s.ink()+`" stroke-width="1.6"`)
	attrs := `class="draw-level" fill="none" stroke="` + s.ink() + `" stroke-width=".9"`
	for i, share := range [...]float64{.62, .4, .2} {
		ly := y + 5*float64(i+1)
		if ly > foot-2 {
			break
		}
		if half := min(wide, widthAt(ly)) * share / 2; half > 1 {
			s.line(mid-half, ly, mid+half, ly, attrs)
		}
	}
	if wide > 24 {
		s.put(`<path class="draw-level" d="M`)
		s.at(mid-5, y-8.5)
		s.put(`L`)
		s.at(mid+5, y-8.5)
		s.put(`L`)
		s.at(mid, y-.8)
		s.put(`Z" fill="`, s.ground(), `" stroke="`, s.ink(), `" stroke-width="1.1" stroke-linejoin="round"/>`)
	}
}

// plan draws the cavity from above, with the line along which it is cut.
func (s *sectioning) plan() {
	k := s.scale
	w, h := k*s.along, k*s.across
	cx, cy := s.planX+w/2, s.planY+h/2
	s.say(s.planX-sectionWall, s.planY-sectionWall-7, classLabel, "", s.ink2(), "From above")
	s.outline(cx, cy, w+2*sectionWall, h+2*sectionWall, `class="draw-block-edge" fill="none" stroke="`+s.ink()+`" stroke-width="1"`)
	rim := `class="plan" fill="` + s.ground() + `" stroke="` + s.ink() + `" stroke-width="1.6"`
	inner := `class="plan-foot" fill="none" stroke="` + s.ink() + `" stroke-width=".9"`
	hidden := inner + ` stroke-dasharray="4 3"`
	s.outline(cx, cy, k*s.rim[0], k*s.rim[1], rim)
	switch {
	case s.m.Shape == mould.SphericalCap && s.along > s.rim[0]:
		s.outline(cx, cy, w, h, hidden)
	case s.hasFoot() && (s.foot[0] > s.rim[0] || s.foot[1] > s.rim[1]):
		s.outline(cx, cy, k*s.foot[0], k*s.foot[1], hidden)
	case s.hasFoot():
		s.outline(cx, cy, k*s.foot[0], k*s.foot[1], inner)
		if s.m.Shape == mould.TaperedBox {
			for _, sx := range [2]float64{-.5, .5} {
				for _, sy := range [2]float64{-.5, .5} {
					s.line(cx+sx*k*s.foot[0], cy+sy*k*s.foot[1], cx+sx*k*s.rim[0], cy+sy*k*s.rim[1], inner)
				}
			}
		}
	}
	l, r := s.planX-sectionWall-6, s.planX+w+sectionWall+6
	s.line(l, cy, r, cy, `class="draw-cut" fill="none" stroke="`+s.ink()+`" stroke-width=".9" stroke-dasharray="11 3 2 3"`)
	for _, e := range [2]struct{ x, letter float64 }{{l, l - 9}, {r, r + 9}} {
		s.line(e.x, cy-6, e.x, cy+6, `class="draw-cut-end" fill="none" stroke="`+s.ink()+`" stroke-width="2"`)
		s.say(e.letter, cy+5, classFigs, "middle", s.ink(), "A")
	}
	if !s.round() {
		edge := s.planX + w + sectionWall
		top, bottom := cy-k*s.rim[1]/2, cy+k*s.rim[1]/2
		s.uprightDim(top, bottom, edge+sectionPlanOff, edge, s.rim[1])
	}
}

// outline writes a rectangle, circle or oval around a middle.
func (s *sectioning) outline(cx, cy, w, h float64, attrs string) {
	if s.m.Shape.Round() {
		s.put(`<ellipse`)
		s.attr("cx", cx)
		s.attr("cy", cy)
		s.attr("rx", w/2)
		s.attr("ry", h/2)
	} else {
		s.put(`<rect`)
		s.attr("x", cx-w/2)
		s.attr("y", cy-h/2)
		s.attr("width", w)
		s.attr("height", h)
	}
	s.put(` `, attrs, `/>`)
}

// scaleBar draws a bar of a round number of millimetres, or of inches if only
// those are shown.
func (s *sectioning) scaleBar() {
	unit := quantity.Millimetre
	if s.inchOnly {
		unit = quantity.Inch
	}
	n, parts := roundStep(110 / s.scale / unit.Millimetres())
	mm := n * unit.Millimetres()
	x, y := sectionLeft/2, s.keyY-46
	w := mm * s.scale / float64(parts)
	for i := range parts {
		fill := s.ink()
		if i%2 == 1 {
			fill = s.ground()
		}
		s.put(`<rect class="draw-scale"`)
		s.attr("x", x+w*float64(i))
		s.attr("y", y)
		s.attr("width", w)
		s.attr("height", 5)
		s.put(` fill="`, fill, `" stroke="`, s.ink(), `" stroke-width="1"/>`)
	}
	s.say(x, y+20, classFigs, "", s.ink(), "0")
	words := quantity.Number(n, max(0, -int(math.Floor(math.Log10(n)+1e-9)))) + quantity.UnitSpace + unit.String()
	if s.o.Inches {
		words += " (" + quantity.Length(mm, quantity.Inch) + ")"
	}
	end := x + mm*s.scale
	s.say(max(min(end-8, s.o.Width-sectionWide(words)), x+20), y+20, classFigs, "", s.ink(), words)
}

// roundStep is the largest 1, 2 or 5 times a power of ten that is at most most.
// parts is into how many parts it is divided.
func roundStep(most float64) (step float64, parts int) {
	p := math.Pow(10, math.Floor(math.Log10(most)))
	switch f := most / p; {
	case f >= 5:
		return 5 * p, 5
	case f >= 2:
		return 2 * p, 4
	}
	return p, 2
}

// keys writes what the ringed letters stand for, and what else must be said.
func (s *sectioning) keys() {
	y := s.keyY
	for _, k := range s.key {
		x := sectionLeft / 2
		if k.letter != "" {
			s.ringed(x+sectionRing, y-4.5, k.letter)
			s.say(x+2*sectionRing+8, y, classLabel, "", s.ink(), k.words)
		} else {
			s.say(x, y, classLabel, "", s.ink2(), k.words)
		}
		y += sectionLead
	}
}

// The jar of a measured mould is equally wide at every height, so its height is
// its volume.
const (
	jarWide = 100.0
	jarHigh = 168.0
	jarSway = 9.0 // by which its sides sway
)

func (s *sectioning) layOutJar() {
	s.scale = jarHigh / s.ml
	s.x = max(sectionLeft+sectionWall+jarSway, (s.o.Width-jarWide)/2-20)
	s.y = 26
	s.keyY = s.y + jarHigh + sectionWall + 30
	s.height = math.Ceil(s.keyY + sectionLead*float64(len(s.key)-1) + 8)
}

// sway is how far both sides of the jar are moved sideways at a share of its
// height.
func (s *sectioning) sway(share float64) float64 {
	return jarSway * math.Sin(2*math.Pi*(1.5*share+.1))
}

func (s *sectioning) jar() {
	s.block(s.x-jarSway, s.y, jarWide+2*jarSway, jarHigh)
	s.jarOutline(`fill="` + s.ground() + `"`)
	brim := s.x + s.sway(1)
	s.mouth(brim, brim+jarWide)

	// The marks of volume are at the right.
	edge := s.x + jarWide + jarSway + sectionWall
	step, _ := roundStep(s.ml / 3)
	x := edge + 10
	s.line(x, s.y, x, s.y+jarHigh, `class="draw-dim" fill="none" stroke="`+s.ink()+`" stroke-width="1.1"`)
	d := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	for i := 0; ; i++ {
		ml := step * float64(i)
		if ml > s.ml*(1+1e-9) {
			break
		}
		y := s.y + jarHigh - ml*s.scale
		s.line(x, y, x+8, y, `class="draw-dim" fill="none" stroke="`+s.ink()+`" stroke-width="1.1"`)
		words := quantity.Number(ml, d)
		if i == 0 {
			words += quantity.UnitSpace + "ml"
		}
		s.say(x+13, y+5, classFigs, "", s.ink(), words)
	}

	ringX := s.x - jarSway - sectionWall - 8 - sectionRing
	aY := s.y
	if s.hasFill {
		y := s.y + jarHigh*(1-s.level)
		left := s.x + s.sway(s.level)
		s.surface(left+jarWide/2, jarWide, y, s.y+jarHigh, func(float64) float64 { return jarWide - 2*jarSway })
		bY := y
		if d := 2*sectionRing + 2 - (bY - aY); d > 0 {
			aY -= d / 2
			bY += d / 2
		}
		s.ring(ringX, bY, "b", Point{left, y})
	}
	s.ring(ringX, aY, "a", Point{brim, s.y})
}

// jarOutline writes the outline of a jar. attrs are written as they are.
func (s *sectioning) jarOutline(attrs string) {
	const n = 24
	s.put(`<path class="cavity" d="M`)
	for i := 0; i <= n; i++ {
		if i > 0 {
			s.put(`L`)
		}
		s.at(s.x+s.sway(1-float64(i)/n), s.y+jarHigh*float64(i)/n)
	}
	for i := n; i >= 0; i-- {
		s.put(`L`)
		s.at(s.x+jarWide+s.sway(1-float64(i)/n), s.y+jarHigh*float64(i)/n)
	}
	s.put(`" `, attrs, ` stroke="`, s.ink(), `" stroke-width="1.6" stroke-linejoin="round"/>`)
}
