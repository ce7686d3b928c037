package reorder

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"barwright/fault"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %v, want %v ± %v", what, got, want, tol)
	}
}

func same(n int, v float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// The simple rules with which the exact plan is compared. Each says how many
// periods a lot that starts at s should serve.
type rule func(demand []float64, setup, holding float64, s int) int

// Silver and Meal 1973: stop when the cost per period rises.
func silverMeal(d []float64, k, h float64, s int) int {
	cost, best := k, k
	n := 1
	for ; s+n < len(d); n++ {
		cost += h * float64(n) * d[s+n]
		if per := cost / float64(n+1); per > best {
			break
		} else {
			best = per
		}
	}
	return n
}

// Least unit cost: stop when the cost per unit rises.
func leastUnit(d []float64, k, h float64, s int) int {
	cost, units := k, d[s]
	best := cost / units
	n := 1
	for ; s+n < len(d); n++ {
		cost += h * float64(n) * d[s+n]
		units += d[s+n]
		if per := cost / units; per > best {
			break
		} else {
			best = per
		}
	}
	return n
}

// Part-period balancing: extend while carrying costs no more than the set-up.
func partPeriod(d []float64, k, h float64, s int) int {
	carried := 0.0
	n := 1
	for ; s+n < len(d); n++ {
		carried += h * float64(n) * d[s+n]
		if carried > k {
			break
		}
	}
	return n
}

func lotForLot([]float64, float64, float64, int) int { return 1 }

func ruled(r rule, d, setup []float64, h float64) float64 {
	cost := 0.0
	for s := 0; s < len(d); {
		if d[s] == 0 {
			s++
			continue
		}
		n := r(d, setup[s], h, s)
		cost += setup[s]
		for j := range n {
			cost += h * float64(j) * d[s+j]
		}
		s += n
	}
	return cost
}

func TestLotsOfTheLiterature(t *testing.T) {
	cases := []struct {
		name          string
		demand, setup []float64
		holding       float64
		lots          []Lot
		least         []float64
		rules         map[string]float64
	}{
		{
			// Wagner and Whitin 1958, their twelve periods. The inputs are from
			// memory; all results were computed by an independent program.
			name:    "Wagner and Whitin 1958",
			demand:  []float64{69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56},
			setup:   []float64{85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114},
			holding: 1,
			lots:    []Lot{{1, 98}, {3, 97}, {5, 121}, {8, 112}, {10, 67}, {11, 135}},
			least:   []float64{85, 114, 186, 277, 348, 400, 469, 555, 600, 710, 789, 864},
			rules:   map[string]float64{"Silver-Meal": 913, "least unit cost": 913, "part-period": 903, "lot for lot": 1234},
		},
		{
			// Silver and Peterson, the textbook's twelve months. The inputs are
			// from memory; the results were computed by an independent program.
			name:    "Silver and Peterson",
			demand:  []float64{10, 62, 12, 130, 154, 129, 88, 52, 124, 160, 238, 41},
			setup:   same(12, 54),
			holding: 0.4,
			lots:    []Lot{{1, 84}, {4, 130}, {5, 283}, {7, 140}, {9, 124}, {10, 160}, {11, 279}},
			rules:   map[string]float64{"Silver-Meal": 501.20, "part-period": 501.20, "least unit cost": 558.80, "lot for lot": 648},
		},
		{
			// Zero demand in between. Computed by an independent program.
			name:    "zeros in between",
			demand:  []float64{75, 0, 33, 28, 0, 10},
			setup:   same(6, 100),
			holding: 1,
			lots:    []Lot{{1, 75}, {3, 71}},
			least:   []float64{100, 100, 166, 228, 228, 258},
			rules:   map[string]float64{"Silver-Meal": 258, "least unit cost": 328},
		},
	}
	rules := map[string]rule{"Silver-Meal": silverMeal, "least unit cost": leastUnit, "part-period": partPeriod, "lot for lot": lotForLot}
	optimum := map[string]float64{"Wagner and Whitin 1958": 864, "Silver and Peterson": 501.20, "zeros in between": 258}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			lots, least, err := WagnerWhitin(c.demand, c.setup, same(len(c.demand), c.holding))
			if err != nil {
				t.Fatal(err)
			}
			if fmt.Sprint(lots) != fmt.Sprint(c.lots) {
				t.Errorf("lots %v, want %v", lots, c.lots)
			}
			near(t, "optimum", least[len(least)-1], optimum[c.name], 1e-9)
			for i, want := range c.least {
				near(t, fmt.Sprintf("F(%d)", i+1), least[i], want, 1e-9)
			}
			for name, want := range c.rules {
				near(t, name, ruled(rules[name], c.demand, c.setup, c.holding), want, 1e-9)
			}
		})
	}
}

// Tries every choice of periods in which to make a lot: 2^T of them.
func TestNoChoiceOfPeriodsIsCheaper(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 9).Draw(t, "periods")
		draw := func(name string) []float64 {
			out := make([]float64, n)
			for i := range out {
				out[i] = float64(rapid.IntRange(0, 20).Draw(t, name))
			}
			return out
		}
		demand, setup, holding := draw("demand"), draw("setup"), draw("holding")
		lots, least, err := WagnerWhitin(demand, setup, holding)
		if err != nil {
			t.Fatal(err)
		}
		best := math.Inf(1)
		for mask := range 1 << n {
			cost, last := 0.0, -1
			for j := range n {
				if mask>>j&1 == 1 {
					last = j
					cost += setup[j]
				}
				if demand[j] > 0 && last < 0 {
					cost = math.Inf(1)
					break
				}
				for i := last; last >= 0 && i < j; i++ {
					cost += demand[j] * holding[i]
				}
			}
			best = min(best, cost)
		}
		got := 0.0
		if n > 0 {
			got = least[n-1]
		}
		if got != best {
			t.Fatalf("cost %v, by trying all %v", got, best)
		}
		// The returned lots cost what is said, and no period is short.
		stock, cost, k := 0.0, 0.0, 0
		for j := range n {
			if k < len(lots) && lots[k].Period == j+1 {
				stock += lots[k].Units
				cost += setup[j]
				k++
			}
			stock -= demand[j]
			if stock < 0 {
				t.Fatalf("short in period %d by %v: %v", j+1, lots, demand)
			}
			cost += stock * holding[j]
		}
		if stock != 0 || k != len(lots) || cost != got {
			t.Fatalf("the lots %v leave %v and cost %v, said %v", lots, stock, cost, got)
		}
	})
}

// Standard formulas; an independent program computed the figures.
func TestEOQ(t *testing.T) {
	lot, cost, err := EOQ(1200, 8, 0.6)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lot", lot, 178.8854, 5e-5)
	near(t, "cost", cost, 107.3313, 5e-5)
	if lot, cost, err := EOQ(0, 8, 0.6); lot != 0 || cost != 0 || err != nil {
		t.Errorf("no demand gave %v, %v, %v", lot, cost, err)
	}
}

// Standard formulas; an independent program computed the figures.
func TestNewsvendor(t *testing.T) {
	ratio, err := CriticalRatio(5, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "critical ratio", ratio, 0.714286, 5e-7)
	near(t, "z", distuv.UnitNormal.Quantile(ratio), 0.565949, 5e-7)
	lot, cost, err := NewsvendorNormal(100, 20, 5, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "normal lot", lot, 111.3190, 5e-5)
	near(t, "mismatch", cost, 47.5868, 5e-5)
	q, err := NewsvendorPoisson(6, 5, 2)
	if err != nil || q != 7 {
		t.Errorf("Poisson lot %d, %v; want 7", q, err)
	}
	near(t, "F(7)", countCDF(6, 6, 7), 0.743980, 5e-7)
	near(t, "F(6)", countCDF(6, 6, 6), distuv.Poisson{Lambda: 6}.CDF(6), 1e-12)
}

// Standard formulas; an independent program computed the figures.
func TestBaseStock(t *testing.T) {
	b, err := BaseStock(12, 5, 5, 1, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "protection", b.Protection, 6, 0)
	near(t, "z", b.Z, 1.644854, 5e-7)
	near(t, "safety stock", b.Safety, 20.1453, 5e-5)
	near(t, "order up to", b.UpTo, 92.1453, 5e-5)
	near(t, "unit normal loss", UnitNormalLoss(b.Z), 0.0208930, 6e-8)
	near(t, "short in a cycle", b.Short, 0.255885, 5e-7)
	near(t, "loss far below", UnitNormalLoss(-40), 40, 1e-9)
	near(t, "loss far above", UnitNormalLoss(40), 0, 0)
}

// The sum of the probabilities themselves, taken from their recursion, reaches p
// at the quantile and not one unit before.
func TestNegativeBinomialQuantileIsTheSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mean := rapid.Float64Range(0.01, 80).Draw(t, "mean")
		over := rapid.Float64Range(0, 60).Draw(t, "variance beyond the mean")
		p := rapid.Float64Range(0.01, 0.99).Draw(t, "p")
		q, err := NegativeBinomialQuantile(mean, mean+over, p)
		if err != nil {
			t.Fatal(err)
		}
		r, fail := mean*mean/over, over/(mean+over)
		f, below := 0.0, 0.0
		mass := math.Exp(-mean)
		if over > mean*1e-9 {
			mass = math.Exp(r * math.Log1p(-fail))
		}
		for k := 0; k <= q; k++ {
			below = f
			f += mass
			if over > mean*1e-9 {
				mass *= (r + float64(k)) / float64(k+1) * fail
			} else {
				mass *= mean / float64(k+1)
			}
		}
		const rounding = 1e-7
		if f < p-rounding || (q > 0 && below > p+rounding) {
			t.Fatalf("mean %v variance %v p %v: %d units have %v, one less has %v", mean, mean+over, p, q, f, below)
		}
	})
}

func TestSmallestOfAnyDemand(t *testing.T) {
	// Half of the weeks have no demand, the others 3 or 10.
	cdf := func(k int) float64 {
		switch {
		case k < 3:
			return 0.5
		case k < 10:
			return 0.8
		}
		return 1
	}
	for p, want := range map[float64]int{0.3: 0, 0.5: 0, 0.6: 3, 0.8: 3, 0.81: 10, 0.999: 10} {
		if got, err := Smallest(cdf, p); err != nil || got != want {
			t.Errorf("p %v: %d, %v; want %d", p, got, err, want)
		}
	}
	if _, err := Smallest(func(int) float64 { return 0.4 }, 0.5); fault.KindOf(err) != fault.Invalid {
		t.Errorf("a chance that is never reached: %v", err)
	}
	if _, err := Smallest(func(int) float64 { return math.NaN() }, 0.5); fault.KindOf(err) != fault.Invalid {
		t.Errorf("a chance that is none: %v", err)
	}
}

func TestWhatCannotBeSummedIsRefused(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	first := func(_ any, _ any, err error) error { return err }
	for name, c := range map[string]struct {
		err   error
		field string
	}{
		"EOQ demand":        {first(EOQ(-1, 8, 1)), "demand"},
		"EOQ setup":         {first(EOQ(1, nan, 1)), "setup"},
		"EOQ holding":       {first(EOQ(1, 8, 0)), "holding"},
		"normal sd":         {first(NewsvendorNormal(1, -1, 1, 1)), "sd"},
		"normal under":      {first(NewsvendorNormal(1, 1, 0, 1)), "under"},
		"lots short list":   {first(WagnerWhitin([]float64{1, 2}, []float64{1}, []float64{1, 1})), "setup"},
		"lots negative":     {first(WagnerWhitin([]float64{1, -2}, []float64{1, 1}, []float64{1, 1})), "demand.2"},
		"lots NaN":          {first(WagnerWhitin([]float64{nan}, []float64{1}, []float64{1})), "demand.1"},
		"lots infinite":     {first(WagnerWhitin([]float64{1}, []float64{1}, []float64{inf})), "holding.1"},
		"base service":      {func() error { _, err := BaseStock(1, 1, 1, 1, 1); return err }(), "service"},
		"base lead":         {func() error { _, err := BaseStock(1, 1, nan, 1, 0.5); return err }(), "lead"},
		"Poisson mean":      {func() error { _, err := NewsvendorPoisson(-1, 1, 1); return err }(), "mean"},
		"quantile p":        {func() error { _, err := NegativeBinomialQuantile(1, 2, nan); return err }(), "p"},
		"quantile variance": {func() error { _, err := NegativeBinomialQuantile(1, inf, 0.5); return err }(), "variance"},
	} {
		l := fault.All(c.err)
		if len(l) == 0 || l[0].Kind != fault.Invalid || l[0].Field != c.field {
			t.Errorf("%s: %v, want a refusal of %s", name, c.err, c.field)
		}
	}
}
