package season

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// drawn is a random tiny season, a plan for it that breaks no rule, and pins that
// the plan keeps.
func drawn(t *rapid.T) (*Instance, Plan, Pins) {
	r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "season"), 7))
	in := roomy(r)
	s := NewSearch(in, rapid.Uint64().Draw(t, "seed"), Pins{})
	moves := rapid.IntRange(1, 3000).Draw(t, "moves")
	s.Expect(int64(moves))
	s.Step(moves)
	p, cost := s.Best()
	if _, broken := Simulate(in, p); broken != nil || math.IsInf(cost, 1) {
		t.Fatalf("the search gave a plan that breaks %v", broken)
	}
	var pins Pins
	g := p.grid()
	for range rapid.IntRange(0, 2).Draw(t, "pins") {
		at := ItemDay{rapid.IntRange(0, len(in.Items)-1).Draw(t, "item"), in.BenchDays[rapid.IntRange(0, len(in.BenchDays)-1).Draw(t, "day")].Day}
		if slices.ContainsFunc(pins.Fixed, func(x Pour) bool { return x.Day == at.Day && x.Item == at.Item }) || slices.Contains(pins.Forbidden, at) {
			continue
		}
		if g[at] == 0 && rapid.Bool().Draw(t, "forbid") {
			pins.Forbidden = append(pins.Forbidden, at)
		} else {
			pins.Fixed = append(pins.Fixed, Pour{Day: at.Day, Item: at.Item, Batches: g[at]})
		}
	}
	return in, p, pins
}

// roomy is a tiny season whose rack holds what cures at the start, as Read
// demands.
func roomy(r *rand.Rand) *Instance {
	in := tinyInstance(r)
	in.RackSlots = max(in.RackSlots, slices.Max(openingRack(in)))
	return in
}

// Pins taken from a plan that breaks no rule never contradict each other, so
// Check must not say that they do.
func TestPinsOfASoundPlanAreNeverRefused(t *testing.T) {
	fixedAll := 0
	rapid.Check(t, func(t *rapid.T) {
		in, p, pins := drawn(t)
		if err := pins.Check(in); err != nil {
			t.Fatalf("%v: %v", pins, err)
		}
		every := Pins{Fixed: p}
		fixedAll += len(p)
		if err := every.Check(in); err != nil {
			t.Fatalf("%v: %v", p, err)
		}
		if b := pins.Broken(in, p); b != nil {
			t.Fatal(b)
		}
	})
	if fixedAll == 0 {
		t.Error("no plan had a pour: this test has tested nothing")
	}
}

// No plan keeps pins that Check refuses: all plans are tried.
func TestPinsRefusedHaveNoPlan(t *testing.T) {
	refused, kept := 0, 0
	r := rand.New(rand.NewPCG(20261125, 3))
	for range 1500 {
		in := tinyInstance(r)
		var pins Pins
		seen := map[ItemDay]bool{}
		for range 1 + r.IntN(3) {
			at := ItemDay{r.IntN(len(in.Items)), in.BenchDays[r.IntN(len(in.BenchDays))].Day}
			if seen[at] {
				continue
			}
			seen[at] = true
			if r.IntN(4) == 0 {
				pins.Forbidden = append(pins.Forbidden, at)
			} else {
				pins.Fixed = append(pins.Fixed, Pour{Day: at.Day, Item: at.Item, Batches: 1 + r.IntN(in.Items[at.Item].MaxBatchesPerDay)})
			}
		}
		if pins.Check(in) == nil {
			kept++
			continue
		}
		if size(in) > 20_000 {
			continue
		}
		refused++
		if _, plans := best(in, pins); plans > 0 {
			t.Fatalf("%v is refused (%v), and %d plans keep it\n%+v", pins, pins.Check(in), plans, *in)
		}
	}
	if refused < 100 || kept < 100 {
		t.Errorf("%d refused, %d not: this test has tested too little", refused, kept)
	}
}

// size is roughly the number of plans of a season.
func size(in *Instance) float64 {
	n := 1.0
	for i := range in.Items {
		n *= math.Pow(float64(in.Items[i].MaxBatchesPerDay+1), float64(len(in.BenchDays)))
	}
	return n
}

func TestWhyIsWhatIsMissingWithoutThePour(t *testing.T) {
	prevented, stranded := 0, 0
	check := func(t *rapid.T) {
		in, p, pins := drawn(t)
		before := Shortages(in, p)
		if d := beyond(before, before); d != nil {
			t.Fatalf("nothing is taken out, and %v is missing", d)
		}
		reasons := Why(in, p)
		if len(reasons) != len(p) {
			t.Fatalf("%d reasons for %d pours", len(reasons), len(p))
		}
		for k, r := range reasons {
			if r.Pour != p[k] {
				t.Fatalf("reason %d is of %v, not of %v", k, r.Pour, p[k])
			}
			rest := slices.Delete(slices.Clone(p), k, k+1)
			for _, s := range r.Strands {
				j := slices.IndexFunc(rest, func(x Pour) bool { return x.Day == s.Day && x.Item == s.Item })
				if j < 0 || s.Batches < 1 || s.Batches > rest[j].Batches {
					t.Fatalf("%v is stranded, which is not in %v", s, rest)
				}
				rest[j].Batches -= s.Batches
				stranded++
			}
			left, broken := Simulate(in, rest)
			if broken != nil {
				t.Fatalf("without %v and %v: %v", r.Pour, r.Strands, broken)
			}
			full, _ := Simulate(in, p)
			if math.Abs(left.Cost.Total()-full.Cost.Total()-r.Saves) > 1e-9 {
				t.Fatalf("saves %g", r.Saves)
			}
			// Units lost and short are exactly those prevented, and no unit is
			// counted twice.
			lost := 0
			for i := range in.Items {
				if in.Items[i].Component {
					continue
				}
				was, now := full.Flows[i], left.Flows[i]
				for w := range in.Weeks {
					if d := now.Lost[w] - was.Lost[w]; d != unitsOf(r.Prevents, Shortage{Item: i, Week: w, Kind: Lost}) {
						t.Fatalf("item %d week %d: %d lost more, %v", i, w, d, r.Prevents)
					} else {
						lost += d
					}
				}
				if d := now.LaunchShort - was.LaunchShort; d > 0 &&
					d != unitsOf(r.Prevents, Shortage{Item: i, Week: in.Items[i].Launch.Week, Kind: LaunchShort}) {
					t.Fatalf("item %d: launch %d shorter, %v", i, d, r.Prevents)
				}
				if d := now.EndShort - was.EndShort; d != unitsOf(r.Prevents, Shortage{Item: i, Week: in.Weeks - 1, Kind: EndShort}) {
					t.Fatalf("item %d: end %d shorter, %v", i, d, r.Prevents)
				}
			}
			made := r.Batches * in.Items[r.Item].BatchUnits
			if in.Items[r.Item].Component {
				made = 0
				for _, s := range r.Strands {
					if !in.Items[s.Item].Component {
						made += s.Batches * in.Items[s.Item].BatchUnits
					}
				}
			}
			if lost > made {
				t.Fatalf("%d are lost for want of %d", lost, made)
			}
			prevented += lost
			if w := r.Words(in, pins); w == "" {
				t.Fatal("no words")
			}
		}
	}
	// A hundred small seasons may strand nothing by chance; five hundred do not.
	for range 5 {
		rapid.Check(t, check)
		if prevented > 0 && stranded > 0 {
			return
		}
	}
	t.Errorf("%d prevented, %d stranded: this test has tested too little", prevented, stranded)
}

func TestCompareLeadsFromOnePlanToTheOther(t *testing.T) {
	moved := 0
	rapid.Check(t, func(t *rapid.T) {
		in, a, _ := drawn(t)
		s := NewSearch(in, rapid.Uint64().Draw(t, "other"), Pins{})
		moves := rapid.IntRange(1, 3000).Draw(t, "moves")
		s.Expect(int64(moves))
		s.Step(moves)
		b, _ := s.Best()

		shuffled := append(slices.Clone(a), Pour{Day: in.BenchDays[0].Day})
		slices.Reverse(shuffled)
		self := Compare(in, a, shuffled)
		if !self.None() || len(self.Shortages) > 0 || self.A != self.B {
			t.Fatalf("a plan differs from itself: %+v", self)
		}

		d := Compare(in, a, b)
		g := a.grid()
		var sum Cost
		for _, c := range d.Changes {
			if c.Batches < 1 || c.From == c.To {
				t.Fatalf("no change: %+v", c)
			}
			if c.From != NoDay && c.To != NoDay {
				moved++
			}
			if c.From != NoDay {
				if g[ItemDay{c.Item, c.From}] -= c.Batches; g[ItemDay{c.Item, c.From}] < 0 {
					t.Fatalf("%+v takes what is not there", c)
				}
			}
			if c.To != NoDay {
				g[ItemDay{c.Item, c.To}] += c.Batches
			}
			sum = sum.Minus(Cost{}.Minus(c.Cost))
			if c.Words(in) == "" {
				t.Fatal("no words")
			}
		}
		if diff := gocmp.Diff([]Pour(b), []Pour(planOf(g))); len(b)+len(g) > 0 && len(b) > 0 && diff != "" {
			t.Fatal(diff)
		}
		near := gocmp.Comparer(func(x, y float64) bool { return math.Abs(x-y) < 1e-6 })
		if diff := gocmp.Diff(d.B.Minus(d.A), sum, near); diff != "" {
			t.Fatalf("the steps do not add up: %s", diff)
		}
		ra, _ := Simulate(in, a)
		rb, _ := Simulate(in, b)
		for _, x := range d.Shortages {
			k := Shortage{Item: x.Item, Week: x.Week, Kind: x.Kind}
			if x.A == x.B || unitsOf(ra.shortages(in), k) != x.A || unitsOf(rb.shortages(in), k) != x.B {
				t.Fatalf("%+v", x)
			}
		}
	})
	if moved == 0 {
		t.Error("no pour was moved: this test has tested too little")
	}
}

// The worth of one more of something is never below 0, and never above what the
// best of all plans with it saves. All plans are tried.
func TestWorthIsOneThatAPlanHas(t *testing.T) {
	worthy, tight, answers := 0, 0, 0
	rules := map[Rule]int{}
	r := rand.New(rand.NewPCG(20261125, 5))
	for range 100 {
		in := roomy(r)
		s := NewSearch(in, 1, Pins{})
		s.Step(20_000)
		p, cost := s.Best()
		var pins Pins
		if r.IntN(4) == 0 {
			i := r.IntN(len(in.Items))
			for _, b := range in.BenchDays {
				if at := (ItemDay{i, b.Day}); p.grid()[at] == 0 {
					pins.Forbidden = append(pins.Forbidden, at)
				}
			}
		}
		q := Ask(in, p, pins, 1, 5_000)
		for q.Step(20_000) {
		}
		if b, c, ok := q.Better(); ok && (c >= cost || pins.Broken(in, b) != nil) {
			t.Fatalf("%v at %g is not better than %v at %g, or breaks %v", b, c, p, cost, pins.Broken(in, b))
		}
		optima := map[*Relaxation]float64{}
		_, base, _ := q.Better()
		for _, m := range q.Misses() {
			rules[m.Binding.Rule]++
			answers++
			if m.Kind == BelowSafety || m.Units < 1 || m.Left < 0 || !(m.WorthAtLeast >= 0) || math.IsInf(m.WorthAtLeast, 0) {
				t.Fatalf("%+v", m)
			}
			if m.More == nil {
				if m.WorthAtLeast != 0 {
					t.Fatalf("nothing more is asked for, and it is worth %g", m.WorthAtLeast)
				}
				continue
			}
			wide, free := m.More.of(in, pins)
			if size(wide) > 20_000 {
				continue
			}
			if _, there := optima[m.More]; !there {
				optima[m.More], _ = best(wide, free)
			}
			if most := max(cost-optima[m.More], 0); m.WorthAtLeast > most+1e-6 {
				t.Fatalf("%s is said to be worth %g at least and is worth %g at most", m.More.Words(in), m.WorthAtLeast, most)
			} else if most > 0.01 {
				worthy++
				if m.WorthAtLeast > base-optima[m.More]-1e-6 {
					tight++
				}
			}
		}
		for _, w := range MissWords(in, q.Misses()) {
			if w == "" {
				t.Fatal("no words")
			}
		}
	}
	t.Logf("%d misses, %d of a worth, %d of them exactly; %v", answers, worthy, tight, rules)
	if answers < 100 || worthy < 30 || tight < worthy*8/10 {
		t.Errorf("%d misses, %d of a worth, %d of them exactly: this test has tested too little, or the search finds too little", answers, worthy, tight)
	}
	for _, rule := range []Rule{RuleLead, RuleDay, RuleMinutes, RuleMoulds, RuleRack, RuleComponents, RuleBatches, RulePins, RuleCost} {
		if rules[rule] == 0 {
			t.Errorf("no miss was bound by %q: this test has tested too little", rule)
		}
	}
}

// The answers do not depend on how the moves are divided into steps.
func TestAnswersAreTheSameHoweverSteppedAndAtAnyTime(t *testing.T) {
	asked := 0
	rapid.Check(t, func(t *rapid.T) {
		in, p, pins := drawn(t)
		whole, cut := Ask(in, p, pins, 3, 500), Ask(in, p, pins, 3, 500)
		for whole.Step(1 << 30) {
		}
		for cut.Step(rapid.IntRange(1, 900).Draw(t, "cut")) {
			for _, m := range cut.Misses() { // may be read at any time
				if !(m.WorthAtLeast >= 0) {
					t.Fatalf("%+v", m)
				}
			}
		}
		asked += len(whole.Misses())
		if d := gocmp.Diff(whole.Misses(), cut.Misses()); d != "" {
			t.Fatal(d)
		}
		if !slices.EqualFunc(whole.Misses(), Shortages(in, p), func(m Miss, s Shortage) bool { return m.Shortage == s }) {
			rest := slices.DeleteFunc(Shortages(in, p), func(s Shortage) bool { return s.Kind == BelowSafety })
			if !slices.EqualFunc(whole.Misses(), rest, func(m Miss, s Shortage) bool { return m.Shortage == s }) {
				t.Fatalf("%v are missing, and the answers are of %v", rest, whole.Misses())
			}
		}
	})
	if asked == 0 {
		t.Error("nothing was missing: this test has tested nothing")
	}
}

func TestPlanOfIsInOrder(t *testing.T) {
	p := planOf(map[ItemDay]int{{1, 4}: 2, {0, 4}: 1, {2, 1}: 1, {0, 2}: 0})
	want := Plan{{Day: 1, Item: 2, Batches: 1}, {Day: 4, Item: 0, Batches: 1}, {Day: 4, Item: 1, Batches: 2}}
	if !slices.Equal(p, want) || !slices.IsSortedFunc(p, func(a, b Pour) int { return cmp.Compare(a.Day, b.Day) }) {
		t.Errorf("%v", p)
	}
}

// What is said to fit breaks no rule, and what is said to keep a batch out is a
// breach that Simulate finds.
func TestWhatFitsIsWhatSimulateAllows(t *testing.T) {
	fits, supplied, kept := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		in, p, _ := drawn(t)
		q := Ask(in, p, Pins{}, 1, 1)
		for i := range in.Items {
			for _, b := range in.BenchDays {
				at := ItemDay{i, b.Day}
				added, blocks := q.insert(at)
				plan := slices.Concat(p, added)
				if added != nil {
					if _, broken := Simulate(in, plan); broken != nil || added[0] != (Pour{at.Day, at.Item, 1}) {
						t.Fatalf("%v fits with %v, and breaks %v", at, added, broken)
					}
					if fits++; len(added) > 1 {
						supplied++
					}
					continue
				}
				kept++
				_, broken := Simulate(in, append(plan, Pour{Day: at.Day, Item: at.Item, Batches: 1}))
				if len(broken) == 0 || len(blocks) == 0 {
					t.Fatalf("%v is kept out by %v, and breaks %v", at, blocks, broken)
				}
				if slices.ContainsFunc(broken, func(b Breach) bool { return b.Rule != RuleComponents }) {
					for _, b := range broken {
						if b.Rule != RuleComponents && !slices.ContainsFunc(blocks, func(o obstacle) bool { return o.rule == b.Rule && o.mould == b.Mould }) {
							t.Fatalf("%v is kept out by %v, and breaks %v", at, blocks, broken)
						}
					}
				}
			}
		}
	})
	if fits == 0 || supplied == 0 || kept == 0 {
		t.Errorf("%d fit, %d of them with components, %d do not: this test has tested too little", fits, supplied, kept)
	}
}
