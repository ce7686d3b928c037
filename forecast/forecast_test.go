package forecast

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barwright/fault"
)

// usual is what the command asks for where nobody says otherwise.
func usual() Options {
	return Options{Weeks: 12, LeadWeeks: 6, ReviewWeeks: 1, ServicePct: 95, Seed: 1}
}

// poisson draws a count by the gaps between its events.
func poisson(r *rand.Rand, mean float64) float64 {
	n, t := -1.0, 0.0
	for t < mean {
		t += r.ExpFloat64()
		n++
	}
	return max(n, 0)
}

// overdispersed draws a negative binomial: a Poisson whose mean is itself drawn.
func overdispersed(r *rand.Rand, mean, variance float64) float64 {
	shape := mean * mean / (variance - mean)
	// Sum of exponentials for the whole part of the shape; shapes used are whole.
	g := 0.0
	for range int(math.Round(shape)) {
		g += r.ExpFloat64()
	}
	return poisson(r, g*mean/shape)
}

// lateYear swells before the winter feasts.
func lateYear(week int) float64 {
	d := float64((week%52+52)%52) - 48
	return 0.85 + 1.2*math.Exp(-d*d/18)
}

// demands are sorts of demand to be simulated, week after week.
var demands = map[string]func(r *rand.Rand, week int) float64{
	"steady, 20 a week": func(r *rand.Rand, _ int) float64 { return poisson(r, 20) },
	"steady, 3 a week":  func(r *rand.Rand, _ int) float64 { return poisson(r, 3) },
	"erratic":           func(r *rand.Rand, _ int) float64 { return overdispersed(r, 12, 12+36) },
	"seasonal":          func(r *rand.Rand, w int) float64 { return poisson(r, 30*lateYear(w)) },
	"one in four weeks": func(r *rand.Rand, _ int) float64 {
		if r.Float64() < 0.25 {
			return 1 + poisson(r, 2)
		}
		return 0
	},
	"lumpy": func(r *rand.Rand, _ int) float64 {
		if r.Float64() < 0.3 {
			return 1 + overdispersed(r, 9, 9+81)
		}
		return 0
	},
}

var start = DayOf(2021, time.January, 4)

func simulated(name string, r *rand.Rand, weeks int, demand func(*rand.Rand, int) float64) (Series, []float64) {
	s := Series{Product: name, First: start, Units: make([]float64, weeks), Out: make([]bool, weeks)}
	for t := range s.Units {
		s.Units[t] = demand(r, t)
	}
	then := make([]float64, 12)
	for h := range then {
		then[h] = demand(r, weeks+h)
	}
	return s, then
}

func sales(series ...Series) *Sales {
	slices.SortFunc(series, func(a, b Series) int { return strings.Compare(a.Product, b.Product) })
	x := series[0]
	return &Sales{Series: series, Last: x.First.Add(7 * (len(x.Units) - 1))}
}

// The 10 % quantile of a count has at most 10 % of the weeks below it, the 90 %
// quantile at most 10 % above it; and the two are not wide for nothing.
func TestIntervalsCoverAtTheirRate(t *testing.T) {
	const runs = 120
	for name, demand := range demands {
		for _, weeks := range []int{60, 156} {
			t.Run(fmt.Sprintf("%s, %d weeks", name, weeks), func(t *testing.T) {
				t.Parallel()
				r := rand.New(rand.NewPCG(2026, uint64(weeks)))
				below, above, n, short := 0.0, 0.0, 0.0, 0.0
				for range runs {
					s, then := simulated("x", r, weeks, demand)
					got, err := Make(sales(s), usual())
					if err != nil {
						t.Fatal(err)
					}
					wanted := 0.0
					for h, w := range got[0].Forecast {
						n++
						if then[h] < float64(w.P10) {
							below++
						}
						if then[h] > float64(w.P90) {
							above++
						}
						if h < 7 {
							wanted += then[h]
						}
					}
					if wanted > float64(got[0].Safety.ReorderLevel) {
						short++
					}
				}
				t.Logf("below %.3f above %.3f short %.3f", below/n, above/n, short/runs)
				// The weeks of a run hang together; as if a third of them were free, four
				// standard deviations of a binomial.
				tol := 4 * math.Sqrt(0.1*0.9/(n/3))
				if below/n > 0.1+tol || above/n > 0.1+tol {
					t.Errorf("%.3f of the weeks below the 10 %% quantile and %.3f above the 90 %% one, each 0.1 ± %.3f at most", below/n, above/n, tol)
				}
				if short/runs > 0.05+4*math.Sqrt(0.05*0.95/runs) {
					t.Errorf("stock of 95 %% service ran short in %.3f of the runs", short/runs)
				}
			})
		}
	}
}

func manySales(products, weeks int) *Sales {
	r := rand.New(rand.NewPCG(7, 7))
	var names []string
	for name := range demands {
		names = append(names, name)
	}
	slices.Sort(names)
	var l []Series
	for i := range products {
		s, _ := simulated(fmt.Sprintf("product %02d", i), r, weeks, demands[names[i%len(names)]])
		l = append(l, s)
	}
	return sales(l...)
}

func BenchmarkForecast(b *testing.B) {
	s := manySales(50, 260)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Make(s, usual()); err != nil {
			b.Fatal(err)
		}
	}
}

var _ = reflect.DeepEqual
var _ = rapid.Check
var _ = fault.All
