package reorder

import (
	"math"

	"barwright/fault"
)

// EOQ is the lot size at which set-up and holding together cost least when demand
// is steady. It also returns that cost.
//
// perYear is the demand in units a year, setup the cost of one lot, holding the
// cost of holding one unit for a year. The lot is in units, the cost in money a
// year. Any other span works as well, if perYear and holding use the same. No
// demand gives (0, 0).
//
// Errors: fault.Invalid on "demand" below 0, on "setup" below 0, on "holding" not
// above 0, and on any that is not finite. Source: Harris, How Many Parts to Make
// at Once, 1913.
func EOQ(perYear, setup, holding float64) (lot, cost float64, err error) {
	var l fault.List
	l.Add(atLeast("demand", perYear, 0))
	l.Add(atLeast("setup", setup, 0))
	l.Add(above("holding", holding))
	if err := l.Err(); err != nil {
		return 0, 0, err
	}
	// Under one root, two large figures could overflow; with separate roots they
	// cannot.
	lot = math.Sqrt(2) * math.Sqrt(perYear) * math.Sqrt(setup) / math.Sqrt(holding)
	return lot, lot * holding, nil
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func atLeast(field string, v, low float64) *fault.Error {
	if finite(v) && v >= low {
		return nil
	}
	return fault.Invalidf(field, "%v will not do: write a number of %v or more", v, low)
}

func above(field string, v float64) *fault.Error {
	if finite(v) && v > 0 {
		return nil
	}
	return fault.Invalidf(field, "%v will not do: write a number above 0", v)
}

func share(field string, p float64) *fault.Error {
	if p > 0 && p < 1 {
		return nil
	}
	return fault.Invalidf(field, "%v will not do: write a share above 0 and below 1", p)
}
