package season

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"testing"

	"barwright/season/seasoncheck"
)

// written is an instance in the form of its file, and a plan in the form of a
// result. The checker reads both by itself.
func written(t testing.TB, in *Instance, p Plan) (instance, plan []byte) {
	t.Helper()
	type m = map[string]any
	list := func() []m { return []m{} }
	moulds, days, items, pours := list(), list(), list(), list()
	mould := func(i int) string { return "mould " + string(rune('a'+i)) }
	item := func(i int) string { return "item " + string(rune('a'+i)) }
	for i, x := range in.Moulds {
		moulds = append(moulds, m{"id": mould(i), "count": x.Count})
	}
	for _, b := range in.BenchDays {
		days = append(days, m{"day": b.Day, "minutes": b.Minutes})
	}
	for i := range in.Items {
		it := &in.Items[i]
		uses := list()
		for _, u := range it.BOM {
			uses = append(uses, m{"component": item(u.Component), "unitsPerBatch": u.Units})
		}
		o := m{"id": item(i), "kind": "component", "batchUnits": it.BatchUnits, "mould": mould(it.Mould), "mouldDays": it.MouldDays, "leadDays": it.LeadDays,
			"rackSlots": it.RackSlots, "setupMinutes": it.SetupMinutes, "batchMinutes": it.BatchMinutes, "setupCost": it.SetupCost, "batchCost": it.BatchCost,
			"maxBatchesPerDay": it.MaxBatchesPerDay, "holdingPerUnitWeek": it.Holding, "openingStock": it.OpeningStock, "bom": uses}
		if !it.Component {
			cures := list()
			for _, c := range it.OpeningCure {
				cures = append(cures, m{"readyDay": c.ReadyDay, "batches": c.Batches})
			}
			o["kind"], o["demand"], o["lostSalePenalty"], o["openingCure"] = "product", it.Demand, it.LostSale, cures
			o["safetyStock"], o["safetyPenaltyPerUnitWeek"] = it.SafetyStock, it.SafetyPenalty
			o["endPositionTarget"], o["endPositionPenalty"] = it.EndTarget, it.EndPenalty
			if l := it.Launch; l != nil {
				o["launch"] = m{"week": l.Week, "stockNeeded": l.StockNeeded, "shortPenalty": l.ShortPenalty}
			}
		}
		items = append(items, o)
	}
	for _, x := range p {
		pours = append(pours, m{"day": x.Day, "item": item(x.Item), "batches": x.Batches})
	}
	instance, err := json.Marshal(m{"format": Format, "name": "written", "weeks": in.Weeks,
		"rackSlots": in.RackSlots, "moulds": moulds, "benchDays": days, "items": items})
	if err != nil {
		t.Fatal(err)
	}
	if plan, err = json.Marshal(m{"plan": pours}); err != nil {
		t.Fatal(err)
	}
	return instance, plan
}

// checked fails unless the checker, which shares no code with the planner, finds
// that p keeps the rules and costs what it is said to cost.
func checked(t testing.TB, in *Instance, p Plan, cost float64) {
	t.Helper()
	got, broken, err := seasoncheck.Check(written(t, in, p))
	if err != nil || len(broken) > 0 || math.Abs(got-cost) > 1e-6 {
		t.Fatalf("the checker: %v, breaks %v, cost %g, and the plan was said to cost %g", err, broken, got, cost)
	}
}

func tiny(t testing.TB, name string) (*Instance, []byte) {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	in, err := Read(name, data)
	if err != nil {
		t.Fatal(err)
	}
	return in, data
}

// The simulation and the checker agree on any plan, whether it breaks rules or
// not, and reading back what was written gives the same instance.
func TestSimulateAgreesWithTheChecker(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	sound := 0
	for range 3000 {
		in := roomy(r)
		var p Plan
		for range r.IntN(8) {
			i := r.IntN(len(in.Items))
			p = append(p, Pour{in.BenchDays[r.IntN(len(in.BenchDays))].Day, i, 1 + r.IntN(in.Items[i].MaxBatchesPerDay)})
		}
		p = planOf(p.grid())
		res, broken := Simulate(in, p)
		instance, plan := written(t, in, p)
		cost, says, err := seasoncheck.Check(instance, plan)
		if err != nil {
			t.Fatal(err)
		}
		if (len(broken) == 0) != (len(says) == 0) || math.Abs(cost-res.Cost.Total()) > 1e-9 {
			t.Fatalf("Simulate %g %v, the checker %g %v\n%s\n%s", res.Cost.Total(), broken, cost, says, instance, plan)
		}
		if len(broken) == 0 {
			sound++
		}
	}
	if sound < 300 || sound > 2700 {
		t.Errorf("%d of 3000 plans were sound: both kinds are wanted", sound)
	}
}

// The costs of plans of the two tiny seasons come from an independent simulator
// in Python.
func TestSimulateKnownCosts(t *testing.T) {
	for _, c := range []struct {
		name string
		plan Plan
		cost float64
	}{
		{"tiny-1.json", nil, 1105.45},
		{"tiny-2.json", nil, 2332.65},
		{"tiny-2.json", Plan{{Day: 16, Item: 2, Batches: 1}, {Day: 16, Item: 5, Batches: 2}, {Day: 23, Item: 0, Batches: 1}}, 2047.834},
	} {
		in, _ := tiny(t, c.name)
		r, broken := Simulate(in, c.plan)
		if len(broken) > 0 || math.Abs(r.Cost.Total()-c.cost) > 5e-4 {
			t.Errorf("%s %v: %g, breaks %v, want %g", c.name, c.plan, r.Cost.Total(), broken, c.cost)
		}
	}
}

func TestSimulateNamesEveryRule(t *testing.T) {
	in, _ := tiny(t, "tiny-1.json")
	for _, c := range []struct {
		plan  Plan
		rule  Rule
		words string
	}{
		{Plan{{Day: 3, Item: 0, Batches: 1}}, RuleDay, "day 3 is no bench day, and P01 is poured on it"},
		{Plan{{Day: 2, Item: 0, Batches: 3}}, RuleBatches, "3 batches of P01 on day 2, where 0 to 2 may be poured"},
		{Plan{{Day: 2, Item: 0, Batches: -1}}, RuleBatches, "-1 batches of P01 on day 2, where 0 to 2 may be poured"},
		{Plan{{Day: 2, Item: 1, Batches: 2}, {Day: 2, Item: 0, Batches: 1}}, RuleMinutes, "day 2 takes 250 minutes at the bench and has 170"},
		{Plan{{Day: 2, Item: 2, Batches: 2}, {Day: 2, Item: 4, Batches: 4}}, RuleMoulds, "6 sets of cavity-12 are in use on day 2 and there are 5"},
		{Plan{{Day: 2, Item: 1, Batches: 2}, {Day: 9, Item: 1, Batches: 2}, {Day: 16, Item: 1, Batches: 2}},
			RuleRack, "12 rack places are in use on day 17 and there are 10"},
		{Plan{{Day: 2, Item: 3, Batches: 1}}, RuleComponents, "9 of star embeds are missing on day 2"},
	} {
		_, broken := Simulate(in, c.plan)
		found := false
		for _, b := range broken {
			found = found || b.Rule == c.rule && b.Words == c.words
		}
		if !found {
			t.Errorf("%v: no breach of %s as %q in %v", c.plan, c.rule, c.words, broken)
		}
	}
}

// The optima were proved by a general solver, HiGHS.
func TestSearchFindsTheProvenOptimum(t *testing.T) {
	for name, want := range map[string]float64{"tiny-1.json": 301.816, "tiny-2.json": 244.056} {
		in, data := tiny(t, name)
		for seed := range uint64(10) {
			s := NewSearch(in, seed, Pins{})
			s.Expect(1_200_000) // well under a second
			s.Step(1_200_000)
			p, cost := s.Best()
			if math.Abs(cost-want) > 5e-4 {
				t.Errorf("%s, seed %d: %.4f, want %.3f", name, seed, cost, want)
			}
			checked(t, in, p, cost)
			var pours []map[string]any
			for _, x := range p {
				pours = append(pours, map[string]any{"day": x.Day, "item": in.Items[x.Item].ID, "batches": x.Batches})
			}
			plan, err := json.Marshal(map[string]any{"plan": pours})
			if err != nil {
				t.Fatal(err)
			}
			if got, broken, err := seasoncheck.Check(data, plan); err != nil || len(broken) > 0 || math.Abs(got-cost) > 1e-6 {
				t.Errorf("%s, seed %d: the checker has %g %v %v", name, seed, got, broken, err)
			}
		}
	}
}

// For random tiny seasons, with pins and without, every plan is tried. The search
// finds the cheapest, or that there is none.
func TestSearchFindsTheBestOfAllPlans(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 20261125))
	rounds := 300
	if testing.Short() {
		rounds = 60
	}
	pinned, none := 0, 0
	for k := range rounds {
		in := roomy(r)
		var pins Pins
		for n := r.IntN(3); n > 0; n-- {
			at := ItemDay{r.IntN(len(in.Items)), in.BenchDays[r.IntN(len(in.BenchDays))].Day}
			if _, twice := pinsAt(pins, at); twice {
				continue
			}
			if r.IntN(2) == 0 {
				pins.Forbidden = append(pins.Forbidden, at)
			} else {
				pins.Fixed = append(pins.Fixed, Pour{at.Day, at.Item, r.IntN(in.Items[at.Item].MaxBatchesPerDay + 1)})
			}
			pinned++
		}
		want, plans := best(in, pins)
		s := NewSearch(in, uint64(k), pins)
		s.Expect(60_000)
		s.Step(60_000)
		p, cost := s.Best()
		if plans == 0 {
			none++
			if !math.IsInf(cost, 1) {
				t.Fatalf("no plan keeps %+v, and the search found one at %g", pins, cost)
			}
			continue
		}
		if math.Abs(cost-want) > 1e-6 {
			t.Errorf("instance %d, %d plans: the search found %g, and %g is the best\n%+v %+v", k, plans, cost, want, *in, pins)
			continue
		}
		checked(t, in, p, cost)
		if b := pins.Broken(in, p); b != nil {
			t.Errorf("instance %d: %v", k, b)
		}
	}
	if pinned == 0 || none == 0 {
		t.Errorf("%d pins, %d times no plan: both are wanted", pinned, none)
	}
}

func pinsAt(pins Pins, at ItemDay) (int, bool) {
	for _, x := range pins.Fixed {
		if x.Day == at.Day && x.Item == at.Item {
			return x.Batches, true
		}
	}
	for _, x := range pins.Forbidden {
		if x == at {
			return 0, true
		}
	}
	return 0, false
}

// At any time, the costs and breaches that the search updates by differences are
// those that Simulate finds from the plan alone.
func TestSearchReckonsExactly(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 9))
	ins := []*Instance{}
	for _, name := range []string{"tiny-1.json", "tiny-2.json"} {
		in, _ := tiny(t, name)
		ins = append(ins, in)
	}
	for range 60 {
		ins = append(ins, roomy(r))
	}
	broken := 0
	for k, in := range ins {
		s := NewSearch(in, uint64(k), Pins{})
		for range 200 {
			s.Step(1 + r.IntN(300))
			g := map[ItemDay]int{}
			for c, n := range s.now.n {
				g[ItemDay{c % s.items, in.BenchDays[c/s.items].Day}] = int(n)
			}
			res, breaks := Simulate(in, planOf(g))
			if d := res.Cost.Total() - s.now.cost(); math.Abs(d) > 1e-6 || (len(breaks) == 0) != s.now.sound() {
				t.Fatalf("instance %d after %d moves: %g reckoned, %g simulated, sound %t, breaks %v",
					k, s.Moves(), s.now.cost(), res.Cost.Total(), s.now.sound(), breaks)
			}
			if len(breaks) > 0 {
				broken++
			}
		}
	}
	if broken == 0 {
		t.Error("no state broke a rule: this test has tested half")
	}
}

// The same seed and moves give the same plan, however the moves are divided into
// steps. Another seed takes another course.
func TestSearchIsTheSameHoweverItIsCut(t *testing.T) {
	in, _ := tiny(t, "tiny-2.json")
	run := func(seed uint64, cut int) ([]int32, Plan) {
		s := NewSearch(in, seed, Pins{})
		s.Expect(300_000)
		for left := 300_000; left > 0; left -= cut {
			s.Step(min(cut, left))
		}
		p, _ := s.Best()
		return s.now.n, p
	}
	n, p := run(7, 300_000)
	for _, cut := range []int{1000, 777, 90_001} {
		if m, q := run(7, cut); !reflect.DeepEqual(n, m) || !reflect.DeepEqual(p, q) {
			t.Errorf("cut into %d moves the search went another way", cut)
		}
	}
	s := NewSearch(in, 8, Pins{})
	s.Step(10_000)
	u := NewSearch(in, 9, Pins{})
	u.Step(10_000)
	if reflect.DeepEqual(s.now.n, u.now.n) {
		t.Error("two seeds went the same way")
	}
}

// A caller who goes by a clock may change the expected number of moves. The
// annealing still ends in time.
func TestSearchFollowsTheClock(t *testing.T) {
	in, _ := tiny(t, "tiny-2.json")
	s := NewSearch(in, 1, Pins{})
	for k := range int64(60) {
		s.Expect(600_000 + 100_000*(k%5))
		s.Step(10_000)
		if s.at > s.length || s.progress() < 0 || s.progress() > 1 {
			t.Fatalf("after %d moves: at %d of %d, progress %g", s.Moves(), s.at, s.length, s.progress())
		}
	}
	if _, cost := s.Best(); cost > 1.1*244.056 {
		t.Errorf("600 000 moves came to %g", cost)
	}
}

func TestSearchWithNothingToPour(t *testing.T) {
	in, _ := tiny(t, "tiny-1.json")
	for j := range in.BenchDays {
		in.BenchDays[j].Minutes = 0
	}
	s := NewSearch(in, 1, Pins{})
	s.Step(1000)
	if p, cost := s.Best(); len(p) > 0 || math.Abs(cost-1105.45) > 1e-6 || s.Moves() != 1000 {
		t.Errorf("%v %g %d", p, cost, s.Moves())
	}
}

// The best known costs came with the two seasons. A search as long as 20 s allow
// must be within 1 %.
func TestSearchOnTheReference(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: takes half a minute")
	}
	for name, known := range map[string]float64{"season-x.json": 730.004, "season-y.json": 1681.86} {
		in := planning(t, name)
		s := NewSearch(in, 1, Pins{})
		s.Expect(24_000_000)
		s.Step(24_000_000)
		p, cost := s.Best()
		checked(t, in, p, cost)
		t.Logf("%s: %.3f, best known %.3f", name, cost, known)
		if cost > 1.01*known {
			t.Errorf("%s: %.3f is more than 1 %% above %.3f", name, cost, known)
		}
	}
}

// BenchmarkMoves measures one move on the season of 15 products, averaged over a
// whole annealing.
func BenchmarkMoves(b *testing.B) {
	for _, name := range []string{"season-x.json", "season-y.json"} {
		b.Run(name, func(b *testing.B) {
			in := planning(b, name)
			s := NewSearch(in, 1, Pins{})
			s.Expect(int64(b.N))
			b.ReportAllocs()
			b.ResetTimer()
			s.Step(b.N)
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "moves/s")
		})
	}
}
