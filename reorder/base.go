package reorder

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"barwright/fault"
)

// UnitNormalLoss is the mean amount by which a unit normal variable exceeds z,
// counting 0 where it does not: φ(z) − z·(1 − Φ(z)). It is about −z for z far
// below 0 and falls to 0 for z far above.
func UnitNormalLoss(z float64) float64 {
	tail := 0.5 * math.Erfc(z/math.Sqrt2)
	return max(distuv.UnitNormal.Prob(z)-z*tail, 0)
}

// Base is a base stock: the level to order up to at every review, and what it is
// made of.
type Base struct {
	Protection float64 // weeks from one review until the order of the next one arrives
	Z          float64 // of the service level, in standard deviations
	Safety     float64 // units beyond the mean demand during Protection
	UpTo       float64 // units, on hand and on order
	Short      float64 // units expected to be short in a cycle
}

// BaseStock is the level to order up to at every review, so that with chance
// service a cycle has no stock-out. Demand is normal, and independent from week
// to week.
//
// mean and sd are units a week. lead is how many weeks a lot takes; for soap it
// includes the cure and the wait for the next bench day. review is how many weeks
// lie between two looks at the stock. service lies between 0 and 1.
//
// Errors: fault.Invalid on "mean", "sd", "lead" or "review" below 0 or not
// finite, on "service" outside (0, 1).
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
