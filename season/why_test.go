package season_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"barwright/season"
)

// In bench: item 0 is the bar, 1 the lantern, 2 the lamp.
const (
	bar = iota
	lantern
	lamp
)

// all sells all that bench asks for: a bar of day 0 counts in week 1, one of day
// 7 in week 2; the lamp of day 0 is there on day 2 for the lantern, which counts
// in week 2.
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

// Worked out by hand from bench.
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
			// Without it there is no lantern: neither its costs, nor the one left
			// over for a week, nor what is kept of 10 lamps of which 5 are drawn.
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
		"Pour 1 of Bar on day 0 (week 0): else 6 would be missing in week 1 and the season would end 2 short.",
		"Pour 1 of Lamp on day 0 (week 0): else 4 of Lantern would be missing in week 2 and the Lantern launch in week 2 would be 5 short, for want of it in 1 batch of Lantern on day 2.",
		"Pour 1 of Lantern on day 2 (week 0): else 4 would be missing in week 2 and the launch in week 2 would be 5 short.",
		"Pour 1 of Bar on day 7 (week 1): else 5 would be missing in week 2 and the season would end 3 short.",
	} {
		if k < len(got) && got[k].Words(in, season.Pins{}) != words {
			t.Errorf("got  %s\nwant %s", got[k].Words(in, season.Pins{}), words)
		}
	}
}

func TestWhyOfAPourThatPreventsNothing(t *testing.T) {
	in := season3(t)
	late := season.Pour{Day: 14, Item: bar, Batches: 1} // ready after the season, whose end is met
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
	if w := last.Words(in, season.Pins{Fixed: []season.Pour{late}}); w != "Pour 1 of Bar on day 14 (week 2): you fixed it; nothing would be missing without it." {
		t.Error(w)
	}
}

// A reserve has no week of its own to be missed in, and the weeks run on.
func TestWhySaysSinceWhen(t *testing.T) {
	in := season3(t)
	in.Items[bar].SafetyStock = []int{0, 2, 2}
	plan := season.Plan{{Day: 0, Item: bar, Batches: 2}}
	feasible(t, in, plan)
	r := season.Why(in, plan)[0]
	if w := r.Words(in, season.Pins{}); w != "Pour 2 of Bar on day 0 (week 0): else 15 would be missing in weeks 1 and 2 and the season would end 3 short." {
		t.Error(w)
	}
	in.Items[bar].Demand = []int{0, 0, 0}
	in.Items[bar].EndTarget = 0
	r = season.Why(in, plan)[0]
	if w := r.Words(in, season.Pins{}); w != "Pour 2 of Bar on day 0 (week 0): else the reserve would be up to 2 short in weeks 1 and 2." {
		t.Error(w)
	}
}

func TestCompareByHand(t *testing.T) {
	in := season3(t)
	// The lantern a bench day later, no bar on day 7, a lamp more on day 2.
	other := season.Plan{{Day: 7, Item: lantern, Batches: 1}, {Day: 0, Item: bar, Batches: 1}, {Day: 0, Item: lamp, Batches: 1}, {Day: 2, Item: lamp, Batches: 1}}
	feasible(t, in, other)
	got := season.Compare(in, all, other)
	want := season.Difference{
		A: got.A, B: got.B,
		Changes: []season.Change{
			{Item: lantern, Batches: 1, From: 2, To: 7, Cost: season.Cost{ComponentHolding: 5 * 0.01}}, // 5 lamps wait over the end of week 0
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
