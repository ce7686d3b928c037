package design

import (
	"fmt"
	"strconv"

	"barwright/finding"
	"barwright/quantity"
)

const (
	practice = "common practice, no source"
	geometry = "geometry"
)

func percent(v float64) string { return quantity.Percent(v, 1) }
func volume(ml float64) string { return quantity.Volume(ml, quantity.Millilitre, 1) }

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

func levelFalls(d *Design, k int, beforePct float64) finding.Finding {
	return finding.Finding{Rule: "level-falls", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The level falls: %s is to fill the cavity to %s, and it stands at %s already.", partWords(d, k), percent(d.Parts[k].FillToPct.V), percent(beforePct)),
		Remedy:  fmt.Sprintf("Fill this part to more than %s, or the parts before it to less.", percent(beforePct))}
}

func partEmpty(d *Design, k int, toPct float64) finding.Finding {
	return finding.Finding{Rule: "part-empty", Severity: finding.Warn, Source: geometry,
		Message: fmt.Sprintf("Nothing is left to pour: what lies there before reaches the %s that %s is to fill to.", percent(toPct), partWords(d, k)),
		Remedy:  "Take the part out, or fill it to a higher level."}
}

func overFull(d *Design, k int, pct, overML float64) finding.Finding {
	return finding.Finding{Rule: "cavity-over-full", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The cavity runs over: with %s it is filled to %s of its volume, %s too much.", partWords(d, k), percent(pct), volume(overML)),
		Remedy:  fmt.Sprintf("Take %s out of its parts, or cast it in a larger mould.", volume(overML))}
}

func embedOverFill(d *Design, k int, displaced, riseML float64) finding.Finding {
	return finding.Finding{Rule: "embed-over-fill", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The embeds displace more than their fill: they take %s in %s, which has room for %s.", volume(displaced), partWords(d, k), volume(max(riseML, 0))),
		Remedy:  "Sink or cover them less, take fewer or smaller ones, or fill this part higher."}
}

func sunkInNothing(d *Design, k int, pct, ml float64) finding.Finding {
	return finding.Finding{Rule: "embed-over-fill", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The embed displaces more than its fill: %s is sunk by %s (%s), and nothing is poured before it.", partWords(d, k), percent(pct), volume(ml)),
		Remedy:  "Put a pour before it, or say that it is covered by the pour after it."}
}

func coveredByNothing(d *Design, k int, ml float64) finding.Finding {
	return finding.Finding{Rule: "embed-over-fill", Severity: finding.Stop, Source: geometry,
		Message: fmt.Sprintf("The embed displaces more than its fill: %s is covered by %s (%s), and nothing is poured after it.", partWords(d, k), percent(d.Parts[k].CoveredPct), volume(ml)),
		Remedy:  "Put a pour after it, or let it stand proud: covered 0 %."}
}

// embedSize judges an embed against the cavity that it goes into.
func (p *plan) embedSize(i, k int) {
	d, b := &p.s.Designs[i], &p.built[i]
	part := &d.Parts[k]
	child := &p.built[b.parts[k].child]
	one := child.volML / float64(child.bars)
	if inside := one * (part.SunkPct + part.CoveredPct) / 100; inside > b.cavity*(1+fuzz) {
		p.say(i, k, finding.Finding{Rule: "embed-too-large", Severity: finding.Stop, Source: geometry,
			Message: fmt.Sprintf("The embed is larger than its cavity: of %s, %s is to lie inside a cavity of %s.", partWords(d, k), volume(inside), volume(b.cavity)),
			Remedy:  "Take a smaller embed, let more of it stand proud, or cast the piece in a larger mould."})
	}
}

// judge gathers what there is to say.
func (p *plan) judge(n *Need, making []int, found []wanted, l load) {
	for _, i := range making {
		n.Findings = append(n.Findings, p.built[i].found...)
	}
}

func mass(g float64) string { return quantity.Mass(g, quantity.Gram, 0.1) }
