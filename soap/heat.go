package soap

import (
	"math"

	"barwright/fault"
	"barwright/formula"
	"barwright/lye"
)

// Ceiling is how hot the batter may get by itself after the pour if it keeps
// all of its heat. Sugar and milk add heat of their own, which is not included.
// The sources are those of [lye.BatterCeiling].
//
// Errors: fault.Invalid on "method" for a melt, which does not react. Otherwise
// the errors of lye.BatterCeiling, for example for a lye outside its tables.
func (r *Result) Ceiling() (lye.Ceiling, error) {
	if r.Formula.Method == formula.Melt {
		return lye.Ceiling{}, fault.Invalidf("method", "A melt does not react, and gets no hotter than it was melted.")
	}
	ester, acid := r.demand()
	reachedEster, reachedAcid, _ := r.reached()
	na, k := r.Pure()
	return lye.BatterCeiling(lye.Batter{FatsG: r.FatsG, NaOHG: na, KOHG: k, WaterG: math.Max(r.AllWaterG, 0),
		EsterMol: ester * reachedEster, AcidMol: acid * reachedAcid, StartC: r.Batter.PourC})
}
