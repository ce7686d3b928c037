package reorder

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"barwright/fault"
)

// UnitNormalLoss is how much a unit normal passes z on average, counting 0 where it
// does not: φ(z) − z·(1 − Φ(z)). It falls from about −z far below 0 to 0 far above.
func UnitNormalLoss(z float64) float64 {
	tail := 0.5 * math.Erfc(z/math.Sqrt2)
	return max(distuv.UnitNormal.Prob(z)-z*tail, 0)
}

// Base is a base stock: what to order up to at every review, and why so much.
type Base struct {
	Protection float64 // weeks from one review until what the next one orders has come
	Z          float64 // of the service, in standard deviations
	Safety     float64 // units beyond the mean over the protection
	UpTo       float64 // units, on the shelf and on the way
	Short      float64 // units expected short in a cycle
}

// BaseStock is the level to make up to at every review, so that no stock-out comes
// in a cycle with chance service, for normal demand of independent weeks.
//
// mean and sd are units a week; lead is how many weeks a lot takes (a soap's cure and
// the wait for the next bench day are in it), review how many lie between two looks.
// service lies between 0 and 1. Errors: fault.Invalid on "mean", "sd", "lead" or
// "review" below 0 or not finite, on "service" outside (0, 1).
func BaseStock(mean, sd, lead, review, service float64) (Base, error) {
	var l fault.List
	l.Add(atLeast("mean", mean, 0))
	l.Add(atLeast("sd", sd, 0))
	l.Add(atLeast("lead", lead, 0))
	l.Add(atLeast("review", review, 0))
	l.Add(share("service", service))
	if err := l.Err(); err != nil {
		return Base{}, err
	}
	b := Base{Protection: lead + review, Z: distuv.UnitNormal.Quantile(service)}
	spread := sd * math.Sqrt(b.Protection)
	b.Safety = b.Z * spread
	b.UpTo = mean*b.Protection + b.Safety
	b.Short = spread * UnitNormalLoss(b.Z)
	return b, nil
}
