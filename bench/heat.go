package bench

import (
	"math"
	"slices"

	"barwright/finding"
	"barwright/formula"
	"barwright/lye"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
)

const (
	practice = "common practice, no source"
	burns    = "NHS, first aid for burns and scalds"
	spirit   = "P210, precautionary statements of CLP, Annex IV"
)

// heatCautions are the cautions of hot melts and of a cook, in working order.
var heatCautions = []lye.Caution{
	{Key: "heat-wear", When: lye.BeforeOpening, Text: "Hot melt sticks to skin and burns it. Put on heatproof gloves, long sleeves and " +
		"closed shoes. Turn handles inwards, and keep children and animals out of the room.", Source: practice},
	{Key: "heat-sheet", When: lye.BeforeOpening,
		Text: "Read the supplier's safety data sheet and melting instructions first; where they differ from this sheet, follow them.", Source: practice},
	{Key: "heat-gentle", When: lye.Pouring, Text: "Melt slowly, and never leave the pot alone: too hot, the base foams over, yellows and spoils.",
		Source: practice},
	{Key: "heat-steam", When: lye.Pouring, Text: "Lift a lid away from the face: steam burns too.", Source: practice},
	{Key: "heat-spirit", When: lye.Pouring,
		Text: "Spirit mist burns: spray it only away from every flame, spark, hotplate and hot pan, with a window open.", Source: spirit},
	{Key: "heat-burn", When: lye.Splash, Text: "On skin: cool it at once under cool or lukewarm running water for 20 minutes. " +
		"Never use ice. Take rings off, but pull nothing off that sticks. Then get medical help for more than a small burn.", Source: burns},
}

// HeatCautions are the cautions for working with hot melts, in working order.
// They come before, and never replace, what the supplier says.
func HeatCautions() []lye.Caution { return slices.Clone(heatCautions) }

func heatFor(keys ...string) []lye.Caution {
	these, _ := byKey(heatCautions, keys...)
	return these
}

// byKey divides cautions into those with one of the keys and the others.
func byKey(all []lye.Caution, keys ...string) (these, others []lye.Caution) {
	for _, c := range all {
		if slices.Contains(keys, c.Key) {
			these = append(these, c)
		} else {
			others = append(others, c)
		}
	}
	return these, others
}

// ceilingC is how hot a batter would get by itself in the mould, °C, if it kept
// all of its heat. It is for cold process only, because a cook is over before the
// mould.
func ceilingC(r *soap.Result) quantity.Maybe {
	if r.Formula.Method != formula.Cold {
		return quantity.Maybe{}
	}
	c, err := r.Ceiling()
	if err != nil || !quantity.Finite(c.HighC) {
		return quantity.Maybe{} // outside the tables, so not judged
	}
	return quantity.Some(c.HighC)
}

// pourC is how hot the batter goes into the mould, °C. For a melt it is known
// only if somebody wrote it down, because the temperature at which its volume is
// taken is not a reading.
func pourC(r *soap.Result) quantity.Maybe {
	if r.Formula.Method == formula.Melt {
		return r.Formula.PourC
	}
	return quantity.Some(r.Batter.PourC)
}

// mouldHeat warns of a mould that cannot take the heat of what goes into it.
func mouldHeat(m *mould.Mould, name string, pour, ceiling quantity.Maybe, temp func(float64) string) (finding.Finding, bool) {
	if m == nil || !m.MaxTempC.Known {
		return finding.Finding{}, false
	}
	f := finding.Finding{Rule: "mould-heat", Severity: finding.Warn, About: "mould", Source: "the mould's maker: its highest temperature"}
	most := m.MaxTempC.V
	switch {
	case pour.Known && pour.V > most:
		f.Message = "The mould " + m.Name + " takes at most " + temp(most) + ", and " + name + " is poured at " + temp(pour.V) + "."
		f.Remedy = "Let it cool below " + temp(most) + " first, or use a mould that takes the heat."
	case ceiling.Known && ceiling.V > most:
		f.Message = "The mould " + m.Name + " takes at most " + temp(most) + ", and " + name + " may reach " +
			temp(math.Ceil(ceiling.V)) + " by itself if it kept all of its heat."
		f.Source += "; ceiling of the batter: " + lye.SaponificationSource
		f.Remedy = "Pour cooler, leave it uncovered in a cool place, or use a mould that takes the heat."
	default:
		return finding.Finding{}, false
	}
	return f, true
}

// waits warns of raw batter that has to stand while something else sets.
func waits(b *RunBatch, pour *RunStep, minutes float64) finding.Finding {
	return finding.Finding{Rule: "batter-waits", Severity: finding.Warn, About: "batches", Source: practice,
		Message: "Batch " + b.Letter + ", " + b.Name + ", is raw batter, and its " + pour.PartName + " of " + pour.DesignName +
			" is poured only after " + lasting(minutes) + ": by then it may have set in its vessel.",
		Remedy: "Give that part a formula of its own, to be made after the wait, or make the wait shorter."}
}
