package forecast

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barwright/fault"
	"barwright/quantity"
	"barwright/reorder"
)

// usual is what the command asks for by default.
func usual() Options {
	return Options{Weeks: 12, LeadWeeks: 6, ReviewWeeks: 1, ServicePct: 95, Seed: 1}
}

// poisson draws a count from the gaps between its events.
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
	// This is a sum of exponentials; all shapes used here are whole numbers.
	g := 0.0
	for range int(math.Round(shape)) {
		g += r.ExpFloat64()
	}
	return poisson(r, g*mean/shape)
}

// lateYear rises before the winter holidays.
func lateYear(week int) float64 {
	d := float64((week%52+52)%52) - 48
	return 0.85 + 1.2*math.Exp(-d*d/18)
}

// demands are the kinds of demand to simulate, week after week.
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

var start = quantity.NewDate(2021, time.January, 4)

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
	return &Sales{Series: series, Last: x.First.AddDays(7 * (len(x.Units) - 1))}
}

// At most 10 % of the weeks are below the 10 % quantile of a count, and at most
// 10 % above the 90 % quantile. The two are not needlessly far apart.
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
				// The weeks of a run depend on each other. The tolerance is four
				// standard deviations of a binomial, as if a third of the weeks
				// were independent.
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

// What a method forecasts at a start does not depend on any later week: whatever
// is sold then, and whether it ran out, the forecast was the same.
func TestNoStartKnowsWhatCameAfter(t *testing.T) {
	seen := map[Method]bool{}
	rapid.Check(t, func(t *rapid.T) {
		weeks := rapid.SampledFrom([]int{20, 70, 150}).Draw(t, "weeks")
		k := rapid.IntRange(1, 15).Draw(t, "weeks before the end")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		names := slices.Sorted(maps.Keys(demands))
		demand := demands[rapid.SampledFrom(names).Draw(t, "demand")]
		a, _ := simulated("a", r, weeks, demand)
		old, _ := simulated("old", r, weeks, demands["seasonal"])
		rolls := func() map[Method]*rolled {
			all := []*course{newCourse(&a, 12), newCourse(&old, 12)}
			pools := tables(all, max(all[0].starts(0), 0))
			out := map[Method]*rolled{}
			for _, p := range all[0].plain() {
				out[p.method] = p
			}
			if p := all[0].profiled(Pooled, pools, 0); p != nil {
				out[Pooled] = p
			}
			if p := all[0].profiled(Like, pools, 1); p != nil {
				out[Like] = p
			}
			return out
		}
		was := rolls()
		a.Units, old.Units, a.Out = slices.Clone(a.Units), slices.Clone(old.Units), slices.Clone(a.Out)
		for t := weeks - k; t < weeks; t++ {
			a.Units[t] = float64(r.IntN(500))
			old.Units[t] = float64(r.IntN(500))
			a.Out[t] = r.IntN(3) == 0
		}
		for m, p := range rolls() {
			seen[m] = true
			if k > p.starts {
				continue
			}
			before, ok := was[m]
			if !ok {
				// A profile may exist now, because the years are told apart
				// better.
				continue
			}
			if !reflect.DeepEqual(before.at(k), p.at(k)) {
				t.Fatalf("%v, %d weeks before the end of %d: said %v, and after other weeks %v", m, k, weeks, before.at(k), p.at(k))
			}
		}
	})
	if len(seen) != len(methods) {
		t.Fatalf("only %v were tried", seen)
	}
}

// The score is the MASE of each start; every week counts the same.
func TestScoreIsMASE(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	s, _ := simulated("x", r, 150, demands["erratic"])
	c := newCourse(&s, 12)
	checked := 0
	for _, p := range c.plain() {
		sum, n := 0.0, 0.0
		for k := 1; k <= 26; k++ {
			h := min(k, 12)
			sum += float64(h) * MASE(s.Units[:150-k], s.Units[150-k:150-k+h], p.at(k), 1)
			n += float64(h)
		}
		near(t, p.method.String(), p.score(c), sum/n, 1e-12)
		checked++
	}
	if checked != 8 {
		t.Fatalf("%d methods were scored", checked)
	}
}

// Whatever was sold, the forecast can be used for stock: no NaN, nothing below 0,
// quantiles in order, a level that covers the expected demand, and the same
// result for the same seed.
func TestAnyHistoryGivesAForecast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weeks := rapid.IntRange(1, 170).Draw(t, "weeks")
		var l []Series
		products := rapid.IntRange(1, 4).Draw(t, "products")
		for i := range products {
			r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
			n := rapid.IntRange(1, weeks).Draw(t, "its weeks")
			most := rapid.SampledFrom([]int{1, 2, 40, MaxUnits + 1}).Draw(t, "most a week")
			rare := rapid.SampledFrom([]float64{0, 0.1, 0.5, 1}).Draw(t, "sells in")
			outs := rapid.SampledFrom([]float64{0, 0.1, 0.9, 1}).Draw(t, "ran out in")
			s := Series{Product: fmt.Sprint("p", i), First: start.AddDays(7 * (weeks - n)), Units: make([]float64, n), Out: make([]bool, n)}
			for k := range n {
				if r.Float64() < rare {
					s.Units[k] = float64(r.IntN(most))
				}
				s.Out[k] = r.Float64() < outs
			}
			l = append(l, s)
		}
		all := &Sales{Series: l, Last: start.AddDays(7 * (weeks - 1))}
		o := Options{Weeks: rapid.IntRange(1, 30).Draw(t, "H"), LeadWeeks: rapid.IntRange(0, 20).Draw(t, "lead"),
			ReviewWeeks: rapid.IntRange(1, 5).Draw(t, "review"),
			ServicePct:  rapid.Float64Range(0.5, 99.9).Draw(t, "service"), Seed: rapid.Uint64().Draw(t, "seed of the draws")}
		if len(l[0].Units) >= 52 && rapid.Bool().Draw(t, "like") {
			o.Like = map[string]string{"p1": "p0", "new": "p0"}
		}
		if rapid.Bool().Draw(t, "figures") {
			o.Figures = []Figure{{Product: "p0", Week: all.Last.AddDays(7), Units: rapid.IntRange(0, 99).Draw(t, "figure")}}
		}
		got, err := Make(all, o)
		if err != nil {
			if o.Like == nil || fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), "has sold nothing") {
				t.Fatal(err)
			}
			return
		}
		for _, x := range got {
			if len(x.Forecast) != o.Weeks || x.Reason == "" || !strings.HasSuffix(x.Reason, ".") {
				t.Fatalf("%+v", x)
			}
			found := false
			for _, c := range x.Candidates {
				found = found || c.Method == x.Chosen
				if c.MASE.Known && !(c.MASE.V >= 0 && c.MASE.V < math.Inf(1)) {
					t.Fatalf("MASE %v of %v", c.MASE.V, c.Method)
				}
			}
			if !found {
				t.Fatalf("%v was chosen and is no candidate: %+v", x.Chosen, x.Candidates)
			}
			for h, w := range x.Forecast {
				if !(w.Mean >= 0 && w.Mean < math.Inf(1)) || w.P10 < 0 || float64(w.P10) > w.Mean || w.P90 < w.P10 || w.Week != all.Last.AddDays(7*(h+1)) {
					t.Fatalf("%s, %d ahead: %+v", x.Product, h+1, w)
				}
			}
			s := x.Safety
			if !(s.Stock >= 0) || math.Abs(s.Mean+s.Stock-float64(s.ReorderLevel)) > 1e-6*(1+s.Mean) {
				t.Fatalf("%s: %+v", x.Product, s)
			}
		}
		again, err := Make(all, o)
		if err != nil || !reflect.DeepEqual(got, again) {
			t.Fatalf("the same seed gave another answer: %v", err)
		}
	})
}

func made(t *testing.T, s *Sales, o Options) map[string]Result {
	t.Helper()
	got, err := Make(s, o)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]Result{}
	for _, r := range got {
		out[r.Product] = r
	}
	return out
}

func constant(name string, weeks int, v float64) Series {
	s := Series{Product: name, First: start, Units: make([]float64, weeks), Out: make([]bool, weeks)}
	for t := range s.Units {
		s.Units[t] = v
	}
	return s
}

// A best seller that was sold out for a month is still wanted. Without the marks
// for running out, it would look as if demand had fallen.
func TestWeeksThatRanOutAreNotLowDemand(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	s, _ := simulated("x", r, 60, demands["steady, 20 a week"])
	for k := 54; k < 60; k++ {
		s.Units[k] = 0
		s.Out[k] = true
	}
	marked := made(t, sales(s), usual())["x"]
	s.Out = make([]bool, 60)
	blind := made(t, sales(s), usual())["x"]
	if m := marked.Forecast[0].Mean; m < 17 || m > 23 || marked.OutWeeks != 6 {
		t.Errorf("%v expected, of 20 a week", m)
	}
	if m := blind.Forecast[0].Mean; m > 14 {
		t.Errorf("unmarked, %v is expected: the weeks were not seen", m)
	}
	if !strings.Contains(marked.Reason, "the 6 weeks that ran out are left aside") {
		t.Error(marked.Reason)
	}
	if adi, _, _ := Classify(s.Units, marks(60, 54)); adi.V != 1 {
		t.Errorf("ADI %v: weeks that ran out count as weeks without demand", adi.V)
	}
}

func marks(n, from int) []bool {
	out := make([]bool, n)
	for i := from; i < n; i++ {
		out[i] = true
	}
	return out
}

// Each kind of demand gets a method that suits it.
func TestMethodsSuitTheDemand(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	year := func(r *rand.Rand, w int) float64 { return poisson(r, 60*lateYear(w)) }
	// For a random walk, the best forecast is its last value. Now and then chance
	// decides otherwise.
	stands := 0
	for range 20 {
		at := 400.0
		s, _ := simulated("walk", r, 100, func(r *rand.Rand, _ int) float64 {
			at = max(at+60*(r.Float64()-0.5), 50)
			return math.Round(at)
		})
		if made(t, sales(s), usual())["walk"].Chosen == Naive {
			stands++
		}
	}
	if stands < 10 {
		t.Errorf("naive was taken for %d walks of 20", stands)
	}
	faded, _ := simulated("faded", r, 100, func(r *rand.Rand, w int) float64 {
		if w < 60 && r.Float64() < 0.5 {
			return 1 + poisson(r, 4)
		}
		return 0
	})
	seasonal, _ := simulated("seasonal", r, 200, year)
	lumpy, _ := simulated("lumpy", r, 150, demands["lumpy"])
	for name, c := range map[string]struct {
		s     Series
		suits []Method
	}{
		"faded":    {faded, []Method{Fading}},
		"seasonal": {seasonal, []Method{SeasonalNaive, Pooled, Winters}},
		"lumpy":    {lumpy, []Method{SBA, Fading, SBJ, CrostonRate}},
	} {
		x := made(t, sales(c.s), usual())[name]
		if !slices.Contains(c.suits, x.Chosen) {
			t.Errorf("%s: %v of %+v: %s", name, x.Chosen, x.Candidates, x.Reason)
		}
	}
	if m := made(t, sales(faded), usual())["faded"].Forecast[0].Mean; m > 0.7 {
		t.Errorf("a product that sold nothing for 40 weeks is expected to sell %v a week", m)
	}
	if c := made(t, sales(constant("c", 40, 6)), usual())["c"]; c.Forecast[5].Mean != 6 ||
		c.Safety.ReorderLevel < 42 || !strings.Contains(c.Reason, "no week differed") {
		t.Errorf("%+v", c)
	}
}

func TestTheSimplerWinsATie(t *testing.T) {
	scores := func(pairs ...any) []Score {
		var out []Score
		for i := 0; i < len(pairs); i += 2 {
			out = append(out, scoreOf(pairs[i].(Method), pairs[i+1].(float64)))
		}
		return out
	}
	for _, c := range []struct {
		class  Class
		scores []Score
		want   Method
		says   string
	}{
		{Smooth, scores(Naive, 1.0, Smoothing, 0.71, Winters, 0.70), Smoothing,
			"SES, because it sells nearly every week and in like amounts, and this method is simpler and was 1.4 % further off " +
				"than the best, Holt-Winters; over the last 26 starts it missed by 0.71 of a naive forecast's error one week ahead"},
		{Smooth, scores(Naive, 1.0, Smoothing, 0.715, Winters, 0.70), Winters, "did best of the 3 methods that suit"},
		{Smooth, scores(Naive, 1.0, Smoothing, 0.985), Naive, "is simpler and was 1.5 % further off than the best, SES"},
		{Lumpy, scores(Naive, 0.5, SBA, 0.81, Fading, 0.80), SBA, "naive missed by less, 0.50, and is not taken"},
		{Lumpy, scores(Naive, 0.9, SBA, 0.83, Fading, 0.70), Fading,
			"TSB, because it leaves weeks out and sells in amounts that differ much, and this method did best of the 2"},
		{Intermittent, scores(Naive, math.NaN(), SBA, math.NaN()), SBA, "no week differed"},
	} {
		got, said := choose(&Result{Class: c.class, Candidates: c.scores, Starts: 26}, 100, "")
		if got != c.want || !strings.Contains(plainSpaces(said), plainSpaces(c.says)) {
			t.Errorf("%v: %s", got, said)
		}
	}
}

func plainSpaces(s string) string {
	return strings.NewReplacer(" ", " ", " ", " ").Replace(s)
}

// A new product follows the year of the product that it is like, at its own
// level. A product that has not sold yet is forecast as that one.
func TestANewProductBorrowsAYear(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	old, _ := simulated("old", r, 190, func(r *rand.Rand, w int) float64 { return poisson(r, 60*lateYear(w)) })
	fresh := Series{Product: "fresh", First: start.AddDays(7 * 178), Units: make([]float64, 12), Out: make([]bool, 12)}
	for i := range fresh.Units {
		fresh.Units[i] = poisson(r, 12*lateYear(178+i))
	}
	o := usual()
	o.Weeks = 52
	o.Like = map[string]string{"fresh": "old", "to come": "old"}
	got := made(t, sales(fresh, old), o)
	x := got["fresh"]
	if x.Chosen != Like || x.Weeks != 12 {
		t.Fatalf("%v after %d weeks", x.Chosen, x.Weeks)
	}
	off, truth := 0.0, 0.0
	for h, w := range x.Forecast {
		off += math.Abs(w.Mean - 12*lateYear(190+h))
		truth += 12 * lateYear(190+h)
	}
	// Twelve weeks of about a dozen pieces tell the level to within about a
	// tenth.
	if off/truth > 0.25 {
		t.Errorf("off by %.2f of a year's demand", off/truth)
	}
	if c := got["to come"]; c.Weeks != 0 || c.ADI.Known || c.Chosen != Like || !reflect.DeepEqual(c.Forecast, got["old"].Forecast) {
		t.Errorf("%+v", c)
	}
	for name, like := range map[string]map[string]string{
		"is no product of the file":      {"fresh": "elder"},
		"did you mean \"old\"":           {"fresh": "OLD"},
		"cannot borrow from itself":      {"old": "old"},
		"has sold for 12 weeks only":     {"old": "fresh"},
		"a character that cannot be pri": {"a\tb": "old"},
	} {
		o.Like = like
		if _, err := Make(sales(fresh, old), o); err == nil || !strings.Contains(err.Error(), name) || fault.All(err)[0].Field != "like" {
			t.Errorf("%v: %v, want %q", like, err, name)
		}
	}
}

func TestTheMakersFigureOverrules(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	s, _ := simulated("x", r, 100, demands["steady, 20 a week"])
	all := sales(s)
	o := usual()
	was := made(t, all, o)["x"]
	o.Figures = []Figure{{Product: "x", Week: all.Last.AddDays(7), Units: 60}, {Product: "x", Week: all.Last.AddDays(14), Units: 0}}
	x := made(t, all, o)["x"]
	if w := x.Forecast[0]; w.Mean != 60 || !w.Own || w.P10 > 60 || w.P90 < 60 || w.P10 < 30 {
		t.Errorf("%+v", w)
	}
	if w := x.Forecast[1]; w.Mean != 0 || !w.Own || w.P10 != 0 || w.P90 != 0 {
		t.Errorf("%+v", w)
	}
	if !reflect.DeepEqual(x.Forecast[2:], was.Forecast[2:]) {
		t.Error("other weeks changed")
	}
	near(t, "wanted over the lead", x.Safety.Mean, was.Safety.Mean+60-was.Forecast[0].Mean-was.Forecast[1].Mean, 1e-9)
	if !strings.HasSuffix(x.Reason, "; 2 weeks are your own figures.") {
		t.Error(x.Reason)
	}
	for words, f := range map[string]Figure{
		"the week of 2022-11-28 is not forecast: the weeks from 2022-12-05 to 2023-02-20 are": {"x", all.Last, 1, 2},
		"the week of 2023-02-27 is not forecast":                                              {"x", all.Last.AddDays(7 * 13), 1, 3},
		`"y" is no product`:                                                                   {"y", all.Last.AddDays(7), 1, 4},
	} {
		o.Figures = []Figure{f}
		_, err := Make(all, o)
		if l := fault.All(err); len(l) != 1 || !strings.Contains(l[0].Message, words) || l[0].Line != f.Line {
			t.Errorf("%v, want %q", err, words)
		}
	}
}

func TestWhatCannotBeAskedIsRefused(t *testing.T) {
	all := sales(constant("x", 10, 1))
	for field, change := range map[string]func(*Options){
		"weeks":   func(o *Options) { o.Weeks = 0 },
		"lead":    func(o *Options) { o.LeadWeeks = 105 },
		"review":  func(o *Options) { o.LeadWeeks, o.ReviewWeeks = 0, 0 },
		"service": func(o *Options) { o.ServicePct = math.NaN() },
	} {
		o := usual()
		change(&o)
		_, err := Make(all, o)
		if l := fault.All(err); len(l) != 1 || l[0].Kind != fault.Invalid || l[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// A planted yearly profile is found, chance alone produces almost none, and
// products with opposite years are not mixed.
func TestProfilesFindTheYear(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	against := func(w int) float64 { return 2 - lateYear(w) }
	var all []*course
	plant := func(name string, demand func(*rand.Rand, int) float64) {
		s, _ := simulated(name, r, 160, demand)
		all = append(all, newCourse(&s, 12))
	}
	plant("a", func(r *rand.Rand, w int) float64 { return poisson(r, 40*lateYear(w)) })
	plant("b", func(r *rand.Rand, w int) float64 { return poisson(r, 8*lateYear(w)) })
	plant("other way", func(r *rand.Rand, w int) float64 { return poisson(r, 40*max(against(w), 0)) })
	plant("flat", demands["steady, 20 a week"])
	young := constant("young", 20, 5)
	young.First = start.AddDays(7 * 140)
	all = append(all, newCourse(&young, 12))
	idx := profiles(all, 0)
	off := func(i int, truth func(int) float64) float64 {
		mean := 0.0
		for w := range 52 {
			mean += truth(w) / 52
		}
		sum := 0.0
		for w := range 52 {
			sum += math.Abs(idx[i][w]-truth(w)/mean) / 52
		}
		return sum
	}
	for i, truth := range []func(int) float64{lateYear, lateYear, func(w int) float64 { return max(against(w), 0) }, func(int) float64 { return 1 }} {
		if d := off(i, truth); d > 0.12 {
			t.Errorf("product %d is off by %.3f on average", i, d)
		}
	}
	if idx[4] == nil {
		t.Fatal("a product without a year of its own has no profile")
	}
	for i, x := range idx {
		sum := 0.0
		for _, v := range x {
			sum += v
		}
		near(t, fmt.Sprint("mean of the year of ", i), sum/52, 1, 0.02)
	}
	short := constant("short", 51, 5)
	for _, x := range profiles([]*course{newCourse(&short, 12)}, 0) {
		if x != nil {
			t.Error("a year out of 51 weeks")
		}
	}
}

// Where the textbook's assumptions hold (independent weeks around a constant
// level), the reorder level is the textbook's base stock and a little more,
// because the level is learned and not known.
func TestReorderLevelIsNearTheBaseStock(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	want, err := reorder.BaseStock(20, math.Sqrt(20), 6, 1, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	const runs = 30
	for range runs {
		s, _ := simulated("x", r, 156, demands["steady, 20 a week"])
		sum += float64(made(t, sales(s), usual())["x"].Safety.ReorderLevel)
	}
	if got := sum / runs; got < want.UpTo-1 || got > want.UpTo+8 {
		t.Errorf("pour again at %.1f on average, base stock %.1f", got, want.UpTo)
	}
}

// A product that doubles again and again exceeds every forecast. Its range still
// begins at or below the expected demand.
func TestRangeBeginsAtTheMeanWhereAllErrorsLeanUp(t *testing.T) {
	s := Series{Product: "new rage", First: quantity.NewDate(2026, time.January, 5)}
	for w, units := 0, 3.0; w < 40; w++ {
		s.Units, s.Out = append(s.Units, math.Round(units)), append(s.Out, false)
		units *= 1.3
	}
	got, err := Make(sales(s), usual())
	if err != nil {
		t.Fatal(err)
	}
	for h, w := range got[0].Forecast {
		if float64(w.P10) > w.Mean || w.P90 < w.P10 {
			t.Errorf("%d ahead: %+v", h+1, w)
		}
	}
}
