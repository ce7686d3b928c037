package reorder

import (
	"fmt"
	"slices"

	"barwright/fault"
)

// Lot is what is made in one period.
type Lot struct {
	Period int     // from 1
	Units  float64 // for this period and those after it, until the next lot
}

// WagnerWhitin is the cheapest way to meet a known demand without ever being
// short, with no limit on the size of a lot. It also returns least: least[t−1] is
// the least cost of the first t periods, for every t from 1.
//
// demand is in units. setup is money for each lot. holding is money for each unit
// that is held from the period into the next (the last figure is never charged).
// All three have one figure for each period.
//
// A period without demand needs no lot. No periods give no lots and no cost. Of
// plans that cost the same, the one with the later last lot is returned. The time
// grows with the square of the number of periods.
//
// Errors: fault.Invalid on "setup" or "holding" if its length differs from
// demand's, and on "demand.N", "setup.N", "holding.N" (N from 1) below 0 or not
// finite.
//
// Source: Wagner and Whitin, Dynamic Version of the Economic Lot Size Model,
// 1958.
func WagnerWhitin(demand, setup, holding []float64) (lots []Lot, least []float64, err error) {
	var l fault.List
	for _, in := range []struct {
		name string
		v    []float64
	}{{"demand", demand}, {"setup", setup}, {"holding", holding}} {
		if len(in.v) != len(demand) {
			l.Add(fault.Invalidf(in.name, "there are %d figures for %d periods: give one for each", len(in.v), len(demand)))
			continue
		}
		for i, v := range in.v {
			l.Add(atLeast(fmt.Sprintf("%s.%d", in.name, i+1), v, 0))
		}
	}
	if err := l.Err(); err != nil {
		return nil, nil, err
	}
	periods := len(demand)
	least = make([]float64, periods)
	from := make([]int, periods) // the lot that serves period t; −1 if none is needed
	before := func(t int) float64 {
		if t == 0 {
			return 0
		}
		return least[t-1]
	}
	for t := range periods {
		from[t] = -1
		least[t] = before(t)
		if demand[t] == 0 {
			continue
		}
		// Going backwards, each lot further from t holds everything summed so far
		// for one more period.
		units, carried, found := 0.0, 0.0, false
		for s := t; s >= 0; s-- {
			carried += units * holding[s]
			units += demand[s]
			if c := before(s) + setup[s] + carried; !found || c < least[t] {
				least[t], from[t], found = c, s, true
			}
		}
	}
	for t := periods - 1; t >= 0; t-- {
		if from[t] < 0 {
			continue
		}
		lot := Lot{Period: from[t] + 1}
		for _, d := range demand[from[t] : t+1] {
			lot.Units += d
		}
		lots = append(lots, lot)
		t = from[t]
	}
	slices.Reverse(lots)
	return lots, least, nil
}
