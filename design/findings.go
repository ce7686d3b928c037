package design

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"barwright/finding"
	"barwright/mould"
	"barwright/quantity"
)

const (
	practice = "common practice, no source"
	geometry = "geometry"
)

func percent(v float64) string { return quantity.Percent(v, 1) }

// The faces of the maker's units.

func (p *plan) mass(g float64) string { return quantity.Mass(g, p.faces.Mass, 0.1) }

func (p *plan) volume(ml float64) string {
	// A tenth of a millilitre is a few thousandths of any other unit.
	decimals := 1
	if p.faces.Volume != quantity.Millilitre {
		decimals = 3
	}
	return quantity.Volume(ml, p.faces.Volume, decimals)
}

func (p *plan) degrees(c float64) string { return quantity.Temp(c, p.faces.Temp, 0) }

// say keeps a finding about a part of a design.
func (p *plan) say(design, part int, f finding.Finding) {
	f.About = p.s.Designs[design].ID + "/part:" + strconv.Itoa(part)
	p.built[design].found = append(p.built[design].found, f)
}

// partWords is what a sentence calls a part: 'part 2 (pour, sky) of Harbour light'.
func partWords(d *Design, k int) string {
	part := &d.Parts[k]
	words := part.Kind.String()
	if part.Name != "" {
		words += ", " + part.Name
	}
	return fmt.Sprintf("part %d (%s) of %s", k+1, words, d.title())
}

func (p *plan) levelFalls(d *Design, k int, beforePct float64) finding.Finding {
	return finding.Finding{Rule: "level-falls", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The level falls: %s is to fill the cavity to %s, and it stands at %s already.",
			partWords(d, k), percent(d.Parts[k].FillToPct.V), percent(beforePct)),
		Remedy: fmt.Sprintf("Fill this part to more than %s, or the parts before it to less.", percent(beforePct))}
}

func (p *plan) partEmpty(d *Design, k int, toPct float64) finding.Finding {
	return finding.Finding{Rule: "part-empty", Severity: finding.Warn, Source: geometry,
		Message: fmt.Sprintf("Nothing is left to pour: what lies there before reaches the %s that %s is to fill to.", percent(toPct), partWords(d, k)),
		Remedy:  "Take the part out, or fill it to a higher level."}
}

func (p *plan) overFull(d *Design, k int, pct, overML float64) finding.Finding {
	return finding.Finding{Rule: "cavity-over-full", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The cavity runs over: with %s it is filled to %s of its volume, %s too much.", partWords(d, k), percent(pct), p.volume(overML)),
		Remedy:  fmt.Sprintf("Take %s out of its parts, or cast it in a larger mould.", p.volume(overML))}
}

func (p *plan) embedOverFill(d *Design, k int, displaced, riseML float64) finding.Finding {
	return finding.Finding{Rule: "embed-over-fill", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The embeds displace more than their fill: they take %s in %s, which has room for %s.",
			p.volume(displaced), partWords(d, k), p.volume(max(riseML, 0))),
		Remedy: "Sink or cover them less, take fewer or smaller ones, or fill this part higher."}
}

func (p *plan) sunkInNothing(d *Design, k int, pct, ml float64) finding.Finding {
	return finding.Finding{Rule: "embed-over-fill", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The embed displaces more than its fill: %s is sunk by %s (%s), and nothing is poured before it.",
			partWords(d, k), percent(pct), p.volume(ml)),
		Remedy: "Put a pour before it, or say that it is covered by the pour after it."}
}

func (p *plan) coveredByNothing(d *Design, k int, ml float64) finding.Finding {
	return finding.Finding{Rule: "embed-over-fill", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The embed displaces more than its fill: %s is covered by %s (%s), and nothing is poured after it.",
			partWords(d, k), percent(d.Parts[k].CoveredPct), p.volume(ml)),
		Remedy: "Put a pour after it, or let it stand proud: covered 0 %."}
}

// embedSize judges an embed against the cavity that it goes into: by volume, and
// where both shapes are known by two measures that no body inside another can
// exceed, its least width and its greatest diameter.
func (p *plan) embedSize(i, k int) {
	d, b := &p.s.Designs[i], &p.built[i]
	part := &d.Parts[k]
	child := &p.built[b.parts[k].child]
	one := child.volML / float64(child.bars)
	inside := part.SunkPct + part.CoveredPct
	if ml := one * inside / 100; ml > b.cavity*(1+fuzz) {
		p.say(i, k, finding.Finding{Rule: "embed-too-large", Severity: finding.Stop, Source: geometry,
			Message: fmt.Sprintf("The embed is larger than its cavity: of %s, %s is to lie inside a cavity of %s.",
				partWords(d, k), p.volume(ml), p.volume(b.cavity)),
			Remedy: "Take a smaller embed, let more of it stand proud, or cast the piece in a larger mould."})
		return
	}
	if inside == 0 || child.bars > 1 {
		return
	}
	small, known := p.extents(child.mould)
	large, both := p.extents(b.mould)
	if !known || !both {
		return
	}
	// The body's least width and greatest diameter, as far as they are sure; the
	// cavity has at most those of the box round it.
	var width float64
	across := small[2]
	switch p.s.Moulds[child.mould].Shape {
	case mould.Cuboid:
		width, across = small[0], diagonal(small)
	case mould.Cylinder:
		m := &p.s.Moulds[child.mould]
		width, across = small[0], math.Hypot(m.DiameterMM.V, m.DepthMM.V)
	}
	sev := finding.Note
	switch {
	case inside >= 100-1e-6 && (width > large[0]*(1+fuzz) || across > diagonal(large)*(1+fuzz)):
		sev = finding.Stop
	case small[0] > large[0]*(1+fuzz) || small[1] > large[1]*(1+fuzz):
		sev = finding.Warn
	default:
		return
	}
	p.say(i, k, finding.Finding{Rule: "embed-too-large", Severity: sev, Source: geometry,
		Message: fmt.Sprintf("The embed is larger than its cavity: that of %s measures %s, and the cavity %s.",
			partWords(d, k), measures(small), measures(large)),
		Remedy: "Take a smaller embed, let more of it stand proud, or cast the piece in a larger mould."})
}

// extents are the sides of the box round a cavity, mm, least first; false for a
// shape that is not known.
func (p *plan) extents(i int) (e [3]float64, ok bool) {
	m := &p.s.Moulds[i]
	deep, ok := m.Depth()
	if m.Shape == mould.Measured || !ok {
		return e, false
	}
	const steps = 16
	for k := range steps + 1 {
		a, b := m.SpanAt(deep * float64(k) / steps)
		e[0], e[1] = math.Max(e[0], a), math.Max(e[1], b)
	}
	if m.Shape == mould.SphericalCap {
		// The widest place of more than a hemisphere lies between the steps.
		a := m.RimDiameterMM.V / 2
		if r := (a*a + deep*deep) / (2 * deep); deep > r {
			e[0], e[1] = 2*r, 2*r
		}
	}
	e[2] = deep
	slices.Sort(e[:])
	return e, true
}

func diagonal(e [3]float64) float64 { return math.Sqrt(e[0]*e[0] + e[1]*e[1] + e[2]*e[2]) }

func measures(e [3]float64) string {
	return fmt.Sprintf("%s × %s × %s mm",
		quantity.LengthNumber(e[2], quantity.Millimetre), quantity.LengthNumber(e[1], quantity.Millimetre), quantity.LengthNumber(e[0], quantity.Millimetre))
}
