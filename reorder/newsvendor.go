package reorder

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"

	"barwright/fault"
)

// CriticalRatio is the chance of meeting all demand at which one more unit earns
// as much as it risks: under / (under + over), between 0 and 1.
//
// under is the cost of one unit too few, over the cost of one unit too many.
// Errors: fault.Invalid on "under" or "over" that is not above 0 and finite.
func CriticalRatio(under, over float64) (float64, error) {
	var l fault.List
	l.Add(above("under", under))
	l.Add(above("over", over))
	if err := l.Err(); err != nil {
		return 0, err
	}
	return 1 / (1 + over/under), nil
}

// NewsvendorNormal is the lot to make once for a normal demand, and the expected
// cost of being wrong with that lot.
//
// mean and sd are in units. The lot is not rounded, and may be below 0 if sd is
// large compared with mean. Errors: as for CriticalRatio, and fault.Invalid on
// "mean" or "sd" below 0 or not finite.
func NewsvendorNormal(mean, sd, under, over float64) (lot, cost float64, err error) {
	ratio, err := CriticalRatio(under, over)
	l := fault.All(err)
	l.Add(atLeast("mean", mean, 0))
	l.Add(atLeast("sd", sd, 0))
	if err := l.Err(); err != nil {
		return 0, 0, err
	}
	z := distuv.UnitNormal.Quantile(ratio)
	return mean + z*sd, (under + over) * sd * distuv.UnitNormal.Prob(z), nil
}

// mostUnits is where a search for a quantile gives up: nobody makes so many.
const mostUnits = 1 << 40

// Smallest is the smallest whole number of units, at least 0, whose cdf reaches
// p. This is a newsvendor's lot for any demand in whole units.
//
// cdf gives the chance that demand is at most k. It must not fall, and must reach
// p. p lies between 0 and 1. Errors: fault.Invalid on "p" outside (0, 1), and on
// a "cdf" that gives no number or has not reached p at 2^40 units.
func Smallest(cdf func(k int) float64, p float64) (int, error) {
	if err := share("p", p); err != nil {
		return 0, err
	}
	var bad error
	reached := func(k int) bool {
		f := cdf(k)
		if math.IsNaN(f) && bad == nil {
			bad = fault.Invalidf("cdf", "the chance of at most %d units is no number", k)
		}
		return f >= p || bad != nil
	}
	low, high := -1, 0 // below the first with that chance, and not below it
	for !reached(high) {
		if high >= mostUnits {
			return 0, fault.Invalidf("cdf", "the chance stays below %v however many units there are", p)
		}
		low, high = high, 2*high+1
	}
	between := sort.Search(high-low-1, func(i int) bool { return reached(low + 1 + i) })
	if bad != nil {
		return 0, bad
	}
	return low + 1 + between, nil
}

// NewsvendorPoisson is the lot to make once, in whole units, for a Poisson demand
// with that mean. Errors: as for CriticalRatio, and fault.Invalid on "mean" below
// 0 or not finite.
func NewsvendorPoisson(mean, under, over float64) (int, error) {
	ratio, err := CriticalRatio(under, over)
	l := fault.All(err)
	l.Add(atLeast("mean", mean, 0))
	if err := l.Err(); err != nil {
		return 0, err
	}
	return NegativeBinomialQuantile(mean, mean, ratio)
}

// NegativeBinomialQuantile is the smallest whole number of units that demand with
// that mean and variance does not exceed, with chance p. It is used where too
// little is known for anything better.
//
// A variance at or below the mean is taken as Poisson, because whole units that
// are sold one by one do not vary less. A mean of 0 gives 0. p lies between 0 and
// 1. Errors: fault.Invalid on "mean" or "variance" below 0 or not finite, on "p"
// outside (0, 1).
func NegativeBinomialQuantile(mean, variance, p float64) (int, error) {
	var l fault.List
	l.Add(atLeast("mean", mean, 0))
	l.Add(atLeast("variance", variance, 0))
	l.Add(share("p", p))
	if err := l.Err(); err != nil {
		return 0, err
	}
	if mean == 0 {
		return 0, nil
	}
	return Smallest(func(k int) float64 { return countCDF(mean, variance, k) }, p)
}

// countCDF is the chance of at most k units.
func countCDF(mean, variance float64, k int) float64 {
	if variance <= mean*(1+1e-9) {
		return mathext.GammaIncRegComp(float64(k)+1, mean)
	}
	// Mean m and variance v correspond to size r = m²/(v − m) and success q =
	// m/v. The chance of at most k failures before the rth success is a
	// regularised incomplete beta.
	return mathext.RegIncBeta(mean*mean/(variance-mean), float64(k)+1, mean/variance)
}
