package season_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"barwright/season"
)

// In bench, item 0 is the bar, item 1 the lantern and item 2 the lamp.
const (
	bar = iota
	lantern
	lamp
)

// all meets the whole demand of bench. A bar of day 0 counts in week 1, one of
// day 7 in week 2. The lamp of day 0 is ready on day 2 for the lantern, which
// counts in week 2.
var all = season.Plan{
	{Day: 0, Item: bar, Batches: 1}, {Day: 0, Item: lamp, Batches: 1}, {Day: 2, Item: lantern, Batches: 1}, {Day: 7, Item: bar, Batches: 1},
}

func feasible(t testing.TB, in *season.Instance, p season.Plan) season.Result {
	t.Helper()
	r, broken := season.Simulate(in, p)
	if broken != nil {
		t.Fatalf("the plan breaks %v", broken)
	}
	return r
}

// The expected reasons are worked out by hand from bench.
func TestWhyOfEveryPour(t *testing.T) {
	in := season3(t)
	feasible(t, in, all)
	if got := season.Shortages(in, all); got != nil {
		t.Fatalf("nothing is missing, and yet %v", got)
	}
	fair := []season.Shortage{
		{Item: lantern, Week: 2, Units: 4, Kind: season.Lost}, // 4 are asked for and none is there
		{Item: lantern, Week: 2, Units: 5, Kind: season.LaunchShort},
	}
	want := []season.Reason{
		{Pour: all[0], Prevents: []season.Shortage{
			{Item: bar, Week: 1, Units: 6, Kind: season.Lost},     // the 6 of week 1
			{Item: bar, Week: 2, Units: 2, Kind: season.EndShort}, // 10 arrive, 9 go, 1 stays of 3
		}, Saves: 6*4.9 + 2*2 - 1 - 2 - 0.1*(4+5-0-1)},
		{Pour: all[1], Prevents: fair, Strands: []season.Pour{all[2]},
			// Without it there is no lantern. That saves the lantern's own costs and
			// the holding of the one lantern left over for a week. It also saves
			// the holding of the 5 lamps that are left of 10.
			Saves: 4*5.8 + 5*3 - (1 + 2) - 0.1 - (1 + 1) - 3*5*0.01},
		{Pour: all[2], Prevents: fair, Saves: 4*5.8 + 5*3 - (1 + 2) - 0.1 + 3*5*0.01},
		{Pour: all[3], Prevents: []season.Shortage{
			{Item: bar, Week: 2, Units: 5, Kind: season.Lost}, // 4 are left of week 1, 9 are asked for
			{Item: bar, Week: 2, Units: 3, Kind: season.EndShort},
		}, Saves: 5*4.8 + 3*2 - 1 - 2 - 0.1*5},
	}
	got := season.Why(in, all)
	if d := cmp.Diff(want, got, cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-9 })); d != "" {
		t.Error(d)
	}
	for k, words := range []string{
		"Pour 1 of Bar on day 0 (week 0): without it, 6 would be missing in week 1 and the season would end 2 short.",
		"Pour 1 of Lamp on day 0 (week 0): without it, 4 of Lantern would be missing in week 2 and the Lantern launch in week 2 would be " +
			"5 short, since 1 batch of Lantern on day 2 would lack it.",
		"Pour 1 of Lantern on day 2 (week 0): without it, 4 would be missing in week 2 and the launch in week 2 would be 5 short.",
		"Pour 1 of Bar on day 7 (week 1): without it, 5 would be missing in week 2 and the season would end 3 short.",
	} {
		if k < len(got) && got[k].Words(in, season.Pins{}) != words {
			t.Errorf("got  %s\nwant %s", got[k].Words(in, season.Pins{}), words)
		}
	}
}

func TestWhyOfAPourThatPreventsNothing(t *testing.T) {
	in := season3(t)
	late := season.Pour{Day: 14, Item: bar, Batches: 1} // ready after the season, whose end target is met anyway
	plan := append(append(season.Plan{}, all...), late)
	feasible(t, in, plan)
	got := season.Why(in, plan)
	last := got[len(got)-1]
	if last.Pour != late || len(last.Prevents) != 0 || math.Abs(last.Saves+3) > 1e-9 {
		t.Errorf("%+v, want that it prevents nothing and costs 1 + 2", last)
	}
	if w := last.Words(in, season.Pins{}); w != "Pour 1 of Bar on day 14 (week 2): nothing would be missing without it." {
		t.Error(w)
	}
	if w := last.Words(in, season.Pins{Fixed: []season.Pour{late}}); w != "Pour 1 of Bar on day 14 (week 2): you fixed it; "+
		"nothing would be missing without it." {
		t.Error(w)
	}
}

// Shortages in neighbouring weeks are told together. A short reserve says how far
// it falls short at most.
func TestWhySaysSinceWhen(t *testing.T) {
	in := season3(t)
	in.Items[bar].SafetyStock = []int{0, 2, 2}
	plan := season.Plan{{Day: 0, Item: bar, Batches: 2}}
	feasible(t, in, plan)
	r := season.Why(in, plan)[0]
	if w := r.Words(in,
		season.Pins{}); w != "Pour 2 of Bar on day 0 (week 0): without it, 15 would be missing in weeks 1 and 2 and the season would end 3 short." {
		t.Error(w)
	}
	in.Items[bar].Demand = []int{0, 0, 0}
	in.Items[bar].EndTarget = 0
	r = season.Why(in, plan)[0]
	if w := r.Words(in, season.Pins{}); w != "Pour 2 of Bar on day 0 (week 0): without it, the reserve would be up to 2 short in weeks 1 and 2." {
		t.Error(w)
	}
}

func TestCompareByHand(t *testing.T) {
	in := season3(t)
	// The lantern is poured one bench day later, no bar on day 7, and one more
	// lamp on day 2.
	other := season.Plan{{Day: 7, Item: lantern, Batches: 1}, {Day: 0, Item: bar, Batches: 1},
		{Day: 0, Item: lamp, Batches: 1}, {Day: 2, Item: lamp, Batches: 1}}
	feasible(t, in, other)
	got := season.Compare(in, all, other)
	want := season.Difference{
		A: got.A, B: got.B,
		Changes: []season.Change{
			{Item: lantern, Batches: 1, From: 2, To: 7, Cost: season.Cost{ComponentHolding: 5 * 0.01}}, // 5 lamps are kept over the end of week 0
			{Item: lamp, Batches: 1, From: season.NoDay, To: 2, Cost: season.Cost{Setup: 1, Batch: 1, ComponentHolding: 3 * 10 * 0.01}},
			{Item: bar, Batches: 1, From: 7, To: season.NoDay, Cost: season.Cost{Setup: -1, Batch: -2, Holding: -0.5, Lost: 24, End: 6}},
		},
		Shortages: []season.ShortageChange{{Item: bar, Week: 2, Kind: season.Lost, B: 5}, {Item: bar, Week: 2, Kind: season.EndShort, B: 3}},
	}
	near := cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-9 })
	if d := cmp.Diff(want, got, near); d != "" {
		t.Error(d)
	}
	if w := got.Words(); w != "28.85 dearer (batches −1.00, holding −0.50, holding components +0.35, lost sales +24.00, a short end +6.00)" {
		t.Error(w)
	}
	for k, words := range []string{
		"1 batch of Lantern moved from day 2 (week 0) to day 7 (week 1): 0.05 dearer (holding components +0.05).",
		"1 batch of Lamp added on day 2 (week 0): 2.30 dearer (setting up +1.00, batches +1.00, holding components +0.30).",
		"1 batch of Bar dropped from day 7 (week 1): 26.50 dearer (setting up −1.00, batches −2.00, holding −0.50, lost sales +24.00, a short end +6.00).",
	} {
		if k < len(got.Changes) && got.Changes[k].Words(in) != words {
			t.Errorf("got  %s\nwant %s", got.Changes[k].Words(in), words)
		}
	}
	if w := got.Shortages[0].Words(in); w != "Bar, week 2: 5 missing in place of 0" {
		t.Error(w)
	}
}

func answers(t *testing.T, in *season.Instance, p season.Plan, pins season.Pins) []season.Miss {
	t.Helper()
	feasible(t, in, p)
	q := season.Ask(in, p, pins, 1, 20_000)
	for q.Step(1000) {
	}
	return q.Misses()
}

// Each case is worked out by hand from bench. It changes bench so that only one
// limit keeps the bar out.
func TestMissesByHand(t *testing.T) {
	// A bar of day 14 is too late for any customer but meets the end target: it
	// costs 3 and saves 4.
	late := season.Plan{{Day: 0, Item: lamp, Batches: 1}, {Day: 2, Item: lantern, Batches: 1},
		{Day: 7, Item: bar, Batches: 1}, {Day: 14, Item: bar, Batches: 1}}
	// A bar on day 0 instead sells 6 more in week 1. It means keeping 4 and 5
	// bars where 0 and 1 were kept.
	early := 6*4.9 - 0.1*(4+5-1)
	for name, c := range map[string]struct {
		change func(in *season.Instance)
		plan   season.Plan
		pins   season.Pins
		week   int
		rule   season.Rule
		days   []int
		worth  float64
		words  string
	}{
		"too early for any pour": {
			change: func(in *season.Instance) { in.Items[bar].Demand[0] = 2 }, plan: all, week: 0, rule: season.RuleLead,
			words: "Bar: 2 missing in week 0. Nothing poured in this season is ready so early.",
		},
		"no bench day early enough": {
			change: func(in *season.Instance) { in.BenchDays = in.BenchDays[1:] }, week: 1, rule: season.RuleDay,
			plan: season.Plan{{Day: 2, Item: lamp, Batches: 1}, {Day: 7, Item: lantern, Batches: 1},
				{Day: 7, Item: bar, Batches: 1}, {Day: 14, Item: bar, Batches: 1}},
			// The lamp moves to day 0 as well, and the lantern to day 2: 5 lamps
			// are kept over the end of week 0 where 10 were kept.
			worth: early + 5*0.01,
			words: "Bar: 6 missing in week 1. No bench day is early enough. One more bench day of 100 minutes on day 0 (week 0) would be worth at least 28.65.",
		},
		"a bench day too short": {
			change: func(in *season.Instance) { in.BenchDays[0].Minutes = 40 }, plan: late, week: 1, rule: season.RuleMinutes, days: []int{0}, worth: early,
			words: "Bar: 6 missing in week 1. The bench has no minutes left on day 0. 100 more minutes on bench day 0 (week 0) would be worth at least 28.60.",
		},
		"forbidden": {
			change: func(in *season.Instance) {}, plan: late, pins: season.Pins{Forbidden: []season.ItemDay{{Item: bar, Day: 0}}},
			week: 1, rule: season.RulePins, days: []int{0}, worth: early,
			words: "Bar: 6 missing in week 1. The pins stand in the way on day 0. A plan without the pins would be worth at least 28.60.",
		},
		// There is one set. The bar of day 0 uses it on days 0 to 2, the lantern
		// on day 7. With a second set, the bar of day 14 moves to day 7. There it
		// is in time for 5 customers and leaves 5 to keep. The lamp and the
		// lantern move to days 0 and 2, as above.
		"one mould set": {
			change: func(in *season.Instance) { in.Moulds[0].Count = 1 },
			plan: season.Plan{{Day: 0, Item: bar, Batches: 1}, {Day: 2, Item: lamp, Batches: 1},
				{Day: 7, Item: lantern, Batches: 1}, {Day: 14, Item: bar, Batches: 1}},
			week: 2, rule: season.RuleMoulds, days: []int{0, 2, 7}, worth: 5*4.8 - 0.1*5 + 5*0.01,
			words: "Bar: 5 missing in week 2. No mould set of loaf is free on days 0, 2 and 7. One more mould set of loaf would be worth at least 23.55.",
		},
		"not worth a batch": {
			change: func(in *season.Instance) { in.Items[bar].BatchCost = 60 }, plan: late[:1:1], week: 1, rule: season.RuleCost,
			words: "Bar: 6 missing in week 1. One more batch would fit, but it would cost more than the shortage.",
		},
		"a plan that can be bettered": {
			change: func(in *season.Instance) {}, plan: late, week: 1, rule: season.RuleNone,
			words: "Bar: 6 missing in week 1. Nothing stands in the way: one more batch would save 25.60; search longer.",
		},
	} {
		in := season3(t)
		c.change(in)
		all := answers(t, in, c.plan, c.pins)
		found := false
		for _, m := range all {
			if m.Item != bar || m.Kind != season.Lost || m.Week != c.week {
				continue
			}
			found = true
			if m.Binding.Rule != c.rule || cmp.Diff(c.days, m.Binding.Days) != "" || math.Abs(m.WorthAtLeast-c.worth) > 1e-9 {
				t.Errorf("%s: %+v, want %q on %v, worth %g", name, m, c.rule, c.days, c.worth)
			}
			if w := season.MissWords(in, []season.Miss{m}); len(w) != 1 || w[0] != c.words {
				t.Errorf("%s:\n got %q\nwant %q", name, w, c.words)
			}
		}
		if !found {
			t.Errorf("%s: nothing is missing in week %d: %v", name, c.week, all)
		}
	}
}

func TestMissWordsGatherWeeks(t *testing.T) {
	in := season3(t)
	in.Items[bar].Demand = []int{3, 6, 9}
	none := season.Binding{Rule: season.RuleLead, Mould: -1, Component: -1}
	got := season.MissWords(in, []season.Miss{
		{Shortage: season.Shortage{Item: bar, Week: 0, Units: 3}, Binding: none},
		{Shortage: season.Shortage{Item: bar, Week: 1, Units: 6}, Binding: none},
		{Shortage: season.Shortage{Item: bar, Week: 2, Units: 9}, Binding: none},
		{Shortage: season.Shortage{Item: lantern, Week: 2, Units: 5, Kind: season.LaunchShort},
			Binding: season.Binding{Rule: season.RuleComponents, Mould: -1, Component: lamp, Days: []int{0, 2}}},
		{Shortage: season.Shortage{Item: bar, Week: 2, Units: 3, Kind: season.EndShort},
			Binding: season.Binding{Rule: season.RuleCost, Mould: -1, Component: -1}},
	})
	want := []string{
		"Bar: 18 missing in weeks 0 to 2. Nothing poured in this season is ready so early.",
		"Lantern: the launch in week 2 is 5 short. Lamp cannot be there in time on days 0 and 2.",
		"Bar: the season ends 3 short. One more batch would fit, but it would cost more than the shortage.",
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func TestNothingMissingAsksNothing(t *testing.T) {
	in := season3(t)
	q := season.Ask(in, all, season.Pins{}, 1, season.AskMoves)
	if q.Step(1) || q.Moves() != 0 || len(q.Misses()) != 0 {
		t.Errorf("%d moves, %v", q.Moves(), q.Misses())
	}
}
