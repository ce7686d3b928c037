package soap

import (
	"math"

	"barwright/catalogue"
	"barwright/formula"
	"barwright/quantity"
)

// A batch of another size is its formula with another mass of fats: every mass of
// a formula grows with its fats, doses per batch included, so the batter does
// too. SizedByFats, SizedByBatter and SizedByVolume are the mass of fats
// (Formula.FatsG, g) to give the formula so that the batch comes to a size.

// SizedByFats is for fats, or base, that weigh g grams together. It differs from g
// while the shares of the fats do not sum to 100 %.
func (r *Result) SizedByFats(g float64) float64 { return r.Formula.FatsG * g / r.FatsG }

// SizedByBatter is for g grams of batter.
func (r *Result) SizedByBatter(g float64) float64 { return r.Formula.FatsG * g / r.Batter.MassG }

// SizedByVolume is for so many mL of batter.
func (r *Result) SizedByVolume(ml float64) float64 { return r.Formula.FatsG * ml / r.Batter.VolumeML }

// RoundSize rounds the fats of a batch that was sized by its batter, g, to a step
// that suits the maker's unit: 0.1 g, or a hundredth of an ounce. A volume is
// known to 3 % at best, so that more digits would only be in the way. Small
// batches stay as they are.
func RoundSize(fatsG float64, unit quantity.MassUnit) float64 {
	step := 0.1
	if unit != quantity.Gram {
		step = 0.01 * quantity.GramsPerOunce
	}
	if !(fatsG > 100*step) {
		return fatsG
	}
	return math.Round(fatsG/step) * step
}

// TestBatch is a batch small enough to try something on, as the mass of its fats
// or its base in a unit that suits the maker's: 100 g, or 4 oz.
func TestBatch(unit quantity.MassUnit) (float64, quantity.MassUnit) {
	if unit == quantity.Gram {
		return 100, quantity.Gram
	}
	return 4, quantity.Ounce
}

// WorkAt works a formula out for another mass of fats, g.
//
// Errors: what formula.ResizeTo gives, on "fats_g"; else what Work gives.
func WorkAt(f *formula.Formula, fatsG float64, cat *catalogue.Catalogue) (*Result, error) {
	g, err := f.ResizeTo(fatsG)
	if err != nil {
		return nil, err
	}
	return Work(g, cat)
}

// Drawn is the superfat with its interval and chances by Monte Carlo, as each kept
// version and each sheet has it: drawn anew for every batch, since the scale counts
// for more in a smaller one. A melt, which has no lye, keeps its Superfat.
func (r *Result) Drawn() Superfat { return r.Draw(Draws, Seed) }
