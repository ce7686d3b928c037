package mould

import (
	"fmt"
	"math"
	"slices"
	"unicode/utf8"

	"barwright/fault"
	"barwright/finding"
	"barwright/quantity"
)

// Bounds on what is taken for a mould on a kitchen-sized bench.
const (
	maxMM       = 2000.0
	minMM       = 0.5
	minML       = 0.1
	maxFillG    = 1e6
	maxFills    = 50
	maxCavities = 1000
	maxSets     = 1000
	maxRelease  = 24 * 60.0
	maxName     = 200
	maxNote     = 4000
	minWaterC   = 0.0
	maxWaterC   = 40.0
	// wild is how many times the least fill the greatest may be before one of
	// them is taken for a slip and not a spread.
	wild = 1.5
	// spreadPct is the spread of fills, % of their mean, that is worth a second
	// look: common practice, no source.
	spreadPct = 2.0
)

// Validate gives everything that is wrong with m, by field: shape, each
// dimension by the name that forms and files use (length_mm, depth_mm …),
// water_g, water_c, cut (cut.along, cut.across, cut.layers, cut.kerf_mm,
// cut.end_mm, cut.side_mm, cut.top_mm), cavities, sets, release_hours,
// max_temp_c, name, note. An empty list means that Volume and the levels can be
// had, and with a cutting plan the bars of a full cavity. A mould without an ID
// or a name is not refused here: a file names it by its id, a page by its name.
func (m Mould) Validate() fault.List {
	var l fault.List
	if n := utf8.RuneCountInString(m.Name); n > maxName {
		l.Add(fault.Invalidf("name", "The name is %d letters long: keep it to %d.", n, maxName))
	}
	if n := utf8.RuneCountInString(m.Note); n > maxNote {
		l.Add(fault.Invalidf("note", "The note is %d letters long: keep it to %d.", n, maxNote))
	}
	before := len(l)
	m.checkShape(&l)
	if len(l) == before && m.Shape != Measured {
		if v := volume(&m.Dimensions, m.Shape); !(v >= minML) {
			l.Add(fault.Invalidf(m.Shape.Fields()[0], "The cavity would hold %s, next to nothing: check the dimensions and their unit.",
				quantity.Volume(v, quantity.Millilitre, 3)))
		}
	}
	m.checkCut(&l, len(l) == before)
	checkCount(&l, "cavities", "cavities in one set", m.Cavities, maxCavities)
	checkCount(&l, "sets", "sets of this mould", m.Sets, maxSets)
	if h := m.ReleaseHours; h.Known && !(h.V >= 0 && h.V <= maxRelease) {
		l.Add(fault.Invalidf("release_hours", "A release time of %s is not possible: write hours from 0 to %.0f.", hours(h.V), maxRelease))
	}
	if c := m.MaxTempC; c.Known && !(c.V >= 20 && c.V <= 400) {
		l.Add(fault.Invalidf("max_temp_c",
			"A mould cannot stand %s at most: write a temperature from 20 to 400 °C, or leave it out.", quantity.Temp(c.V, quantity.Celsius, 0)))
	}
	return l
}

func hours(h float64) string {
	if !quantity.Finite(h) {
		return "a number without end"
	}
	return quantity.Number(h, 1) + quantity.UnitSpace + "h"
}

func checkCount(l *fault.List, field, what string, n, most int) {
	switch {
	case n == 0:
		l.Add(fault.Invalidf(field, "There are no %s: write 1 or more.", what))
	case n < 0:
		l.Add(fault.Invalidf(field, "%d cannot be the number of %s: write 1 or more.", n, what))
	case n > most:
		l.Add(fault.Invalidf(field, "%d %s are more than a bench holds: write at most %d.", n, what, most))
	}
}

func (m *Mould) checkShape(l *fault.List) {
	if m.Shape == ShapeUnset || int(m.Shape) >= len(shapes) {
		l.Add(fault.Invalidf("shape", "The mould has no shape: choose %s.", shapeNames()))
		return
	}
	s := shapes[m.Shape]
	for d := range numDims {
		v := *m.at(d)
		needed := slices.Contains(s.dims, d)
		switch {
		case !v.Known && needed:
			l.Add(fault.Invalidf(dimNames[d], "The %s is missing: a %s needs it, such as %s.", dimWords[d], m.Shape.Words(), lengthBoth(65)))
		case !v.Known:
		case !needed && !slices.Contains(s.may, d):
			l.Add(fault.Invalidf(dimNames[d], "A %s has no %s: leave it out, or choose another shape.", m.Shape.noun(), dimWords[d]))
		case !quantity.Finite(v.V):
			l.Add(fault.Invalidf(dimNames[d], "The %s is not a number: write it as %s.", dimWords[d], lengthBoth(65)))
		case v.V == 0:
			l.Add(fault.Invalidf(dimNames[d], "The %s is 0, so the cavity would hold nothing: write it as %s.", dimWords[d], lengthBoth(65)))
		case v.V < 0:
			l.Add(fault.Invalidf(dimNames[d], "The %s is %s, which is below 0: write it as %s.", dimWords[d], lengthBoth(v.V), lengthBoth(65)))
		case v.V < minMM:
			l.Add(fault.Invalidf(dimNames[d], "The %s is %s, thinner than a mould can be: check the number and its unit.", dimWords[d], lengthBoth(v.V)))
		case v.V > maxMM:
			l.Add(fault.Invalidf(dimNames[d], "The %s is %s, over two metres: check the number and its unit.", dimWords[d], lengthBoth(v.V)))
		}
	}
	if m.Shape != Measured {
		if len(m.WaterG) > 0 {
			l.Add(fault.Invalidf("water_g", "Fills of water are given for a %s: leave them out, or choose the shape measured.", m.Shape.Words()))
		}
		if m.WaterC.Known {
			l.Add(fault.Invalidf("water_c", "The temperature of water is given for a %s: leave it out, or choose the shape measured.", m.Shape.Words()))
		}
		return
	}
	m.checkWater(l)
}

func (m *Mould) checkWater(l *fault.List) {
	before := len(*l)
	switch {
	case len(m.WaterG) == 0:
		l.Add(fault.Invalidf("water_g",
			"No fill of water is given: fill one cavity to the brim, weigh the water, and write its grams; three fills are better than one."))
	case len(m.WaterG) > maxFills:
		l.Add(fault.Invalidf("water_g", "%d fills are given, and at most %d are used: leave some out.", len(m.WaterG), maxFills))
	}
	for i, g := range m.WaterG {
		switch {
		case !quantity.Finite(g):
			l.Add(fault.Invalidf("water_g", "Fill %d is not a number: write the water in grams.", i+1))
		case g <= 0:
			l.Add(fault.Invalidf("water_g", "Fill %d is %s g, and a cavity holds more than nothing: write the water in grams.", i+1, quantity.Number(g, 1)))
		case g < minML:
			l.Add(fault.Invalidf("water_g", "Fill %d is %s g, less than a drop: write the water in grams.", i+1, quantity.Number(g, 3)))
		case g > maxFillG:
			l.Add(fault.Invalidf("water_g", "Fill %d is %s g, over a tonne of water: check that it is in g.", i+1, quantity.Number(g, 0)))
		}
		if len(*l) > before+5 {
			break // the same fault fifty times helps nobody
		}
	}
	if len(*l) == before && len(m.WaterG) > 1 {
		if lo, hi := slices.Min(m.WaterG), slices.Max(m.WaterG); hi > wild*lo {
			l.Add(fault.Invalidf("water_g",
				"The fills run from %s to %s g, too far apart for one cavity: leave out the one that went wrong, or fill again.",
				quantity.Number(lo, 1), quantity.Number(hi, 1)))
		}
	}
	switch c := m.WaterC; {
	case !c.Known:
		l.Add(fault.Invalidf("water_c", "The temperature of the water is missing: measure it, and write it in °C."))
	case !quantity.Finite(c.V):
		l.Add(fault.Invalidf("water_c", "The temperature of the water is not a number: write it in °C, such as 21."))
	case c.V < minWaterC || c.V > maxWaterC:
		l.Add(fault.Invalidf("water_c",
			"Water at %s is outside %.0f to %.0f °C: fill the cavity with water near the temperature of the room.",
			quantity.Temp(c.V, quantity.Celsius, 1), minWaterC, maxWaterC))
	}
}

// Findings are what the program has to say about a mould that Validate lets
// pass: fills that spread, a single fill, bars of a full cavity that differ, an
// undercut. A mould that Validate
// refuses has none.
func (m Mould) Findings() []finding.Finding {
	if len(m.Validate()) > 0 {
		return nil
	}
	var out []finding.Finding
	const practice = "common practice, no source"
	if m.Shape == Measured {
		lo, hi, mean := slices.Min(m.WaterG), slices.Max(m.WaterG), meanOf(m.WaterG)
		switch spread := (hi - lo) / mean * 100; {
		case len(m.WaterG) == 1:
			out = append(out, finding.Finding{Rule: "mould-filled-once", Severity: finding.Note, Source: practice, About: "water_g",
				Message: "The cavity was filled once, so its spread is not known; it is taken as " + quantity.Percent(onceSDPct, 1) + ".",
				Remedy:  "Fill it twice more and write down all three."})
		case spread > spreadPct:
			out = append(out, finding.Finding{Rule: "mould-fills-spread", Severity: finding.Warn, Source: practice, About: "water_g",
				Message: fmt.Sprintf("The fills run from %s g, %s of their mean; more than %s is seldom one cavity filled alike.",
					quantity.Interval(lo, hi, 1), quantity.Percent(spread, 1), quantity.Percent(spreadPct, 0)),
				Remedy: "Fill to the same brim each time, on a level surface, and leave out the fill that went wrong."})
		}
	}
	if m.Cut != nil {
		if c, err := m.CutUp(volume(&m.Dimensions, m.Shape)); err == nil {
			out = append(out, c.Findings()...)
		}
	}
	if narrow, at := m.undercut(); narrow {
		out = append(out, finding.Finding{Rule: "mould-undercut", Severity: finding.Note, Source: "geometry", About: "shape",
			Message: fmt.Sprintf("The cavity is widest %s above its foot and narrows to %s at the rim, so a set bar cannot be drawn straight out.",
				lengthBoth(at), lengthBoth(m.rim())),
			Remedy: "Use a mould that bends or opens, or check that top and bottom are not exchanged."})
	}
	return out
}

// rim is the lesser span of the mouth, mm.
func (m *Mould) rim() float64 {
	d, ok := m.Depth()
	if !ok {
		return 0
	}
	a, b := m.SpanAt(d)
	return math.Min(a, b)
}

// undercut reports whether the cavity is wider somewhere below than at its rim,
// and the level at which it is widest.
func (m *Mould) undercut() (bool, float64) {
	d := &m.Dimensions
	switch m.Shape {
	case ConeFrustum:
		return d.BottomDiameterMM.V > d.TopDiameterMM.V, 0
	case TaperedBox:
		return d.BottomLengthMM.V > d.TopLengthMM.V || d.BottomWidthMM.V > d.TopWidthMM.V, 0
	case SphericalCap:
		r := capRadius(d)
		return d.DepthMM.V > r*(1+1e-9), r
	}
	return false, 0
}
