package mould

import (
	"fmt"
	"math"
	"slices"

	"barwright/fault"
	"barwright/finding"
	"barwright/quantity"
)

// Limits on a cutting plan.
const (
	maxAlong  = 200
	maxAcross = 100
	maxLayers = 20
	maxBars   = 2000
	// minBarMM is the smallest thickness, mm, that counts as a bar and not as a
	// shaving.
	minBarMM = 1.0
	// A bar thinner than thinMM, a bar that differs from the mean by more than
	// unevenPct, and more than the share wastePct of a block cut away are each
	// worth a finding. All are common practice, no source.
	thinMM    = 15.0
	unevenPct = 5.0
	wastePct  = 1.0
)

// Band is a stretch along one direction of a block, mm.
type Band struct{ FromMM, ToMM float64 }

// Len is the length of the band, mm.
func (b Band) Len() float64 { return b.ToMM - b.FromMM }

// Bar is one bar of a block that was cut.
type Bar struct {
	Along, Across, Layer int // its place, from 1; layers count upwards from the foot
	// LengthMM lies along the length of the mould, WidthMM along its width, and
	// HeightMM upright. For a bar with sloping faces they are the greatest
	// values.
	LengthMM, WidthMM, HeightMM float64
	VolumeML                    float64
}

// Cutting is what a cutting plan makes of a block.
type Cutting struct {
	LevelMM float64 // how high the batter reaches
	BlockML float64 // what was poured
	// LengthMM and WidthMM are the block's greatest, either at the foot or at
	// the top.
	LengthMM, WidthMM float64
	// Along, Across and Layers are where the bars lie. Along and Across are
	// measured from the outermost end and side of the block, and Layers upwards
	// from its foot. Between two bands the blade takes its kerf. Everything
	// outside the bands is trimmed off.
	Along, Across, Layers []Band
	// Bars are all bars: layer by layer from the foot, within a layer row by
	// row across, and within a row along the length.
	Bars []Bar
	// MeanML, LeastML and MostML are the mean, smallest and largest volume of a
	// bar.
	MeanML, LeastML, MostML float64
	// SpreadPct is the standard deviation of the bars as a percentage of their
	// mean. It divides by the number of bars, since they are all of them and
	// not a sample.
	SpreadPct float64
	// KerfML is what the blade takes, and TrimML what is trimmed off. Together
	// with the bars they make BlockML.
	KerfML, TrimML float64
}

// checkCut adds what is wrong with the cutting plan, for a cavity filled to the
// brim. sound says that the dimensions are valid.
func (m *Mould) checkCut(l *fault.List, sound bool) {
	c := m.Cut
	if c == nil {
		return
	}
	if m.Shape != Cuboid && m.Shape != TaperedBox {
		if m.Shape != ShapeUnset && int(m.Shape) < len(shapes) {
			l.Add(fault.Invalidf("cut", "Only a cuboid and a tapered box can be cut into bars by a plan, and this is a %s: leave the cutting plan out, or ."+
				"choose one of these shapes", m.Shape.noun()))
		}
		return
	}
	before := len(*l)
	count := func(field, what string, n, most int) {
		switch {
		case n < 1:
			l.Add(fault.Invalidf(field, "%d cannot be the number of %s: write 1 or more.", n, what))
		case n > most:
			l.Add(fault.Invalidf(field, "%d %s are more than a block is cut into: write at most %d.", n, what, most))
		}
	}
	count("cut.along", "bars along the length", c.Along, maxAlong)
	count("cut.across", "bars across the width", c.Across, maxAcross)
	count("cut.layers", "layers of bars", c.Layers, maxLayers)
	if len(*l) == before && c.Along*c.Across*c.Layers > maxBars {
		l.Add(fault.Invalidf("cut.along", "%d × %d × %d makes %d bars, more than a block is cut into: keep it to %d.",
			c.Along, c.Across, c.Layers, c.Along*c.Across*c.Layers, maxBars))
	}
	for _, x := range []struct {
		field, what string
		mm          float64
	}{
		{"cut.kerf_mm", "The kerf", c.KerfMM},
		{"cut.end_mm", "What is trimmed off each end", c.EndMM},
		{"cut.side_mm", "What is trimmed off each side", c.SideMM},
		{"cut.top_mm", "What is trimmed off the top", c.TopMM},
	} {
		switch {
		case !quantity.Finite(x.mm):
			l.Add(fault.Invalidf(x.field, "%s is not a number: write 0 or more, such as %s.", x.what, lengthBoth(3)))
		case x.mm < 0:
			l.Add(fault.Invalidf(x.field, "%s is %s, which is below 0: write 0 or more.", x.what, lengthBoth(x.mm)))
		case x.mm > maxMM:
			l.Add(fault.Invalidf(x.field, "%s is %s, over two metres: check the number and its unit.", x.what, lengthBoth(x.mm)))
		}
	}
	if len(*l) > before || !sound {
		return
	}
	deep, _ := m.Depth()
	g := m.block(deep)
	room := func(count, trim, way string, mm, off float64, n int) {
		each := (mm - off - float64(n-1)*c.KerfMM) / float64(n)
		switch {
		case each >= minBarMM:
		case off > 0 && mm-off < minBarMM:
			l.Add(fault.Invalidf(trim, "The trims take %s of %s %s and leave no bar: trim less.", lengthBoth(off), lengthBoth(mm), way))
		default:
			l.Add(fault.Invalidf(count, "%d bars %s of %s, with a kerf of %s between them, would be no thicker than a shaving: cut fewer.",
				n, way, lengthBoth(mm), lengthBoth(c.KerfMM)))
		}
	}
	room("cut.along", "cut.end_mm", "of length", 2*g.most(g.a), 2*c.EndMM, c.Along)
	room("cut.across", "cut.side_mm", "of width", 2*g.most(g.b), 2*c.SideMM, c.Across)
	room("cut.layers", "cut.top_mm", "of depth", deep, c.TopMM, c.Layers)
	if len(*l) == before {
		if _, err := m.cutUp(deep); err != nil {
			l.Add(err)
		}
	}
}

// block is a box with sloping sides, centred on the origin and filled to h. At
// the level z it reaches from −a(z) to a(z) along and from −b(z) to b(z)
// across:
//
//	a(z) = a[0] + a[1]·z     b(z) = b[0] + b[1]·z
type block struct {
	a, b [2]float64
	h    float64
}

func (m *Mould) block(h float64) block {
	at := func(z float64) (float64, float64) { return m.SpanAt(z) }
	a0, b0 := at(0)
	deep, _ := m.Depth()
	a1, b1 := at(deep)
	return block{a: [2]float64{a0 / 2, (a1 - a0) / 2 / deep}, b: [2]float64{b0 / 2, (b1 - b0) / 2 / deep}, h: h}
}

// most is the greatest half-width of the block in one direction, mm.
func (g *block) most(s [2]float64) float64 { return math.Max(s[0], s[0]+s[1]*g.h) }

// within is how much of the stretch from…to lies in −half…half.
func within(from, to, half float64) float64 {
	return math.Max(0, math.Min(to, half)-math.Max(from, -half))
}

// slice is the volume, mL, of the part of the block in the box x × y × z. x and
// y are measured from the block's middle.
//
// At any level that part is a rectangle. Between the levels where a sloping
// face meets a cut, each of its sides is constant or linear in z. There the
// area is a polynomial of the second degree, so Simpson's rule (the prismoid
// rule) is exact.
func (g *block) slice(x, y, z Band) float64 {
	var buf [10]float64
	cuts := append(buf[:0], z.FromMM, z.ToMM)
	meet := func(s [2]float64, at float64) {
		if s[1] == 0 {
			return
		}
		if v := (math.Abs(at) - s[0]) / s[1]; v > z.FromMM && v < z.ToMM {
			cuts = append(cuts, v)
		}
	}
	meet(g.a, x.FromMM)
	meet(g.a, x.ToMM)
	meet(g.b, y.FromMM)
	meet(g.b, y.ToMM)
	slices.Sort(cuts)
	area := func(v float64) float64 {
		return within(x.FromMM, x.ToMM, g.a[0]+g.a[1]*v) * within(y.FromMM, y.ToMM, g.b[0]+g.b[1]*v)
	}
	var mm3 float64
	for i := 1; i < len(cuts); i++ {
		lo, hi := cuts[i-1], cuts[i]
		mm3 += (hi - lo) / 6 * (area(lo) + 4*area((lo+hi)/2) + area(hi))
	}
	return mm3 / 1000
}

// bands divides from…to into n bars with the kerf between them.
func bands(from, to, kerf float64, n int) []Band {
	each := (to - from - float64(n-1)*kerf) / float64(n)
	out := make([]Band, n)
	for i := range out {
		start := from + float64(i)*(each+kerf)
		out[i] = Band{start, start + each}
	}
	return out
}

// gaps returns the kerfs between the bands.
func gaps(b []Band) []Band {
	out := make([]Band, 0, len(b))
	for i := 1; i < len(b); i++ {
		out = append(out, Band{b[i-1].ToMM, b[i].FromMM})
	}
	return out
}

// CutUp cuts one cavity, filled with a volume of batter, into the bars of its
// cutting plan. The cuts are upright or level, and evenly spaced between the
// trims. The trims are measured from where the block reaches farthest, and each
// includes its own cut. In a tapered box the outer bars lack what the slope
// takes, and each is worked out by the prismoid rule. The mass of a bar is its
// volume times a density.
//
// Errors: what Validate gives; fault.Invalid on field "cut" for a mould without
// a plan, on "volume_ml" for a fill that is not above 0 or is more than the
// cavity holds, and on "cut.layers", "cut.top_mm" or "cut.along" when the fill
// is too shallow for the plan.
func (m Mould) CutUp(fillML float64) (Cutting, error) {
	if err := m.Validate().Err(); err != nil {
		return Cutting{}, err
	}
	if m.Cut == nil {
		return Cutting{}, fault.Invalidf("cut", "The mould has no cutting plan: write how many bars along, across and in layers.")
	}
	if !(fillML > 0) {
		return Cutting{}, fault.Invalidf("volume_ml", "%s of batter makes no block: pour more than nothing.", quantity.Volume(fillML, quantity.Millilitre, 1))
	}
	h, err := m.LevelFor(fillML)
	if err != nil {
		return Cutting{}, err
	}
	c, e := m.cutUp(h)
	if e != nil {
		return Cutting{}, e
	}
	return c, nil
}

func (m *Mould) cutUp(h float64) (Cutting, *fault.Error) {
	c, g := m.Cut, m.block(h)
	half, side := g.most(g.a), g.most(g.b)
	out := Cutting{LevelMM: h, BlockML: below(&m.Dimensions, m.Shape, h), LengthMM: 2 * half, WidthMM: 2 * side}
	top := h - c.TopMM
	if each := (top - float64(c.Layers-1)*c.KerfMM) / float64(c.Layers); !(each >= minBarMM) {
		if top < minBarMM {
			return Cutting{}, fault.Invalidf("cut.top_mm", "The batter stands %s high, and trimming %s off the top leaves no bar: fill higher, or ."+
				"trim less", lengthBoth(h), lengthBoth(c.TopMM))
		}
		return Cutting{}, fault.Invalidf("cut.layers", "The batter stands %s high, which is too shallow for %d layers: fill higher, or cut fewer.",
			lengthBoth(h), c.Layers)
	}
	x := bands(c.EndMM-half, half-c.EndMM, c.KerfMM, c.Along)
	y := bands(c.SideMM-side, side-c.SideMM, c.KerfMM, c.Across)
	z := bands(0, top, c.KerfMM, c.Layers)
	// A fill far below the brim can make a tapered box narrower than Validate
	// saw, since Validate checks the full cavity only.
	if x[0].Len() < minBarMM || y[0].Len() < minBarMM {
		return Cutting{}, fault.Invalidf("cut.along", "Filled %s high the block is only %s × %s, which is too small for the plan: fill higher, or cut fewer.",
			lengthBoth(h), lengthBoth(out.LengthMM), lengthBoth(out.WidthMM))
	}
	out.Bars = make([]Bar, 0, len(x)*len(y)*len(z))
	var sum, squares float64
	for k, zb := range z {
		for j, yb := range y {
			for i, xb := range x {
				b := Bar{Along: i + 1, Across: j + 1, Layer: k + 1, HeightMM: zb.Len(), VolumeML: g.slice(xb, yb, zb)}
				for _, v := range [2]float64{zb.FromMM, zb.ToMM} { // linear between, so the greatest is at one end
					b.LengthMM = math.Max(b.LengthMM, within(xb.FromMM, xb.ToMM, g.a[0]+g.a[1]*v))
					b.WidthMM = math.Max(b.WidthMM, within(yb.FromMM, yb.ToMM, g.b[0]+g.b[1]*v))
				}
				if b.LengthMM < minBarMM || b.WidthMM < minBarMM || !(b.VolumeML > 0) {
					return Cutting{}, fault.Invalidf("cut.along",
						"The sides slope so far that bar %d along, %d across in layer %d would be next to nothing: trim the ends and sides more, or ."+
							"cut fewer", i+1, j+1, k+1)
				}
				out.Bars = append(out.Bars, b)
				sum += b.VolumeML
			}
		}
	}
	out.MeanML = sum / float64(len(out.Bars))
	out.LeastML, out.MostML = math.Inf(1), 0
	for _, b := range out.Bars {
		squares += (b.VolumeML - out.MeanML) * (b.VolumeML - out.MeanML)
		out.LeastML, out.MostML = math.Min(out.LeastML, b.VolumeML), math.Max(out.MostML, b.VolumeML)
	}
	out.SpreadPct = math.Sqrt(squares/float64(len(out.Bars))) / out.MeanML * 100

	// The kerf and the trims are each added up from their own slices and are
	// not the remainder. Their sum with the bars is therefore a check.
	all := func(b []Band) Band { return Band{b[0].FromMM, b[len(b)-1].ToMM} }
	for _, gap := range gaps(z) { // whole sheets between layers
		out.KerfML += g.slice(all(x), all(y), gap)
	}
	for _, zb := range z { // in a layer: whole sheets across, and strips along between them
		for _, gap := range gaps(y) {
			out.KerfML += g.slice(all(x), gap, zb)
		}
		for _, yb := range y {
			for _, gap := range gaps(x) {
				out.KerfML += g.slice(gap, yb, zb)
			}
		}
	}
	full := Band{0, h}
	wide, long := Band{-side, side}, Band{-half, half}
	out.TrimML = g.slice(long, wide, Band{top, h}) // the top, whole
	full.ToMM = top
	out.TrimML += g.slice(Band{-half, x[0].FromMM}, wide, full) + g.slice(Band{all(x).ToMM, half}, wide, full)
	out.TrimML += g.slice(all(x), Band{-side, y[0].FromMM}, full) + g.slice(all(x), Band{all(y).ToMM, side}, full)

	out.Along, out.Across, out.Layers = shift(x, half), shift(y, side), z
	return out, nil
}

// shift measures bands from the end of the block instead of from its middle.
func shift(b []Band, by float64) []Band {
	for i := range b {
		b[i].FromMM += by
		b[i].ToMM += by
	}
	return b
}

// Findings are what the program has to say about a block that was cut: bars
// that differ, bars that are thin, and how much is cut away.
func (c Cutting) Findings() []finding.Finding {
	if len(c.Bars) == 0 {
		return nil
	}
	const practice = "common practice, no source"
	var out []finding.Finding
	if off := math.Max(c.MostML-c.MeanML, c.MeanML-c.LeastML) / c.MeanML * 100; off > unevenPct {
		out = append(out, finding.Finding{Rule: "cut-uneven", Severity: finding.Warn, Source: practice, About: "cut",
			Message: fmt.Sprintf("The bars hold %s\u00a0ml, up to %s off their mean of %s; the sides slope.",
				quantity.Interval(c.LeastML, c.MostML, 1), quantity.Percent(off, 1), quantity.Volume(c.MeanML, quantity.Millilitre, 1)),
			Remedy: "Trim the ends and sides by what the slope takes, or sell the outer bars by their own weight."})
	}
	thin := math.Inf(1)
	for _, b := range c.Bars {
		thin = min(thin, b.LengthMM, b.WidthMM, b.HeightMM)
	}
	if thin < thinMM {
		out = append(out, finding.Finding{Rule: "cut-thin", Severity: finding.Note, Source: practice, About: "cut",
			Message: fmt.Sprintf("The thinnest bar is %s thick; bars under %s bend while they cure and break in use.", lengthBoth(thin), lengthBoth(thinMM)),
			Remedy:  "Cut fewer bars, or fill higher."})
	}
	if share := (c.KerfML + c.TrimML) / c.BlockML * 100; share > wastePct {
		out = append(out, finding.Finding{Rule: "cut-waste", Severity: finding.Note, Source: "geometry", About: "cut",
			Message: fmt.Sprintf("Trims take %s and the blade %s of the block: %s of %s.",
				quantity.Percent(c.TrimML/c.BlockML*100, 1), quantity.Percent(c.KerfML/c.BlockML*100, 1),
				quantity.Volume(c.KerfML+c.TrimML, quantity.Millilitre, 1), quantity.Volume(c.BlockML, quantity.Millilitre, 1)),
			Remedy: "Keep the trimmings for embeds, or trim less."})
	}
	return out
}

// lengthBoth gives a length in both units, for a sentence that does not know
// which unit the reader uses: 65 mm (2.56 in).
func lengthBoth(mm float64) string {
	if mm == 0 {
		return quantity.Length(0, quantity.Millimetre)
	}
	if !quantity.Finite(mm) {
		return quantity.NotKnown
	}
	if math.Abs(mm) < 0.05 { // neither unit shows enough decimals
		return quantity.Number(mm, 3) + quantity.UnitSpace + quantity.Millimetre.String()
	}
	return quantity.Length(mm, quantity.Millimetre) + " (" + quantity.Length(mm, quantity.Inch) + ")"
}
