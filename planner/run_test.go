package planner

import (
	"math"
	"reflect"
	"sync/atomic"
	"testing"

	"barwright/quantity"
	"barwright/season"
)

func TestAJobThatPanicsDoesSoWhereTheCallerCanRecover(t *testing.T) {
	var done atomic.Int32
	defer func() {
		if got := recover(); got != "broken" {
			t.Errorf("the caller recovered %v, want what the job panicked with", got)
		}
		if done.Load() != 2 {
			t.Errorf("%d of the 2 other jobs were done", done.Load())
		}
	}()
	r := begin(t.Context(), Work{Moves: 1}, Searching)
	r.do(nil, 1, func() { done.Add(1) }, func() { panic("broken") }, func() { done.Add(1) })
	t.Error("the panic was swallowed")
}

// A best of 100 over a bound of 99.5 lies 100 · (100/99.5 − 1) = 0.5025 % above it, and
// is not proved; what only the rounding of sums keeps apart is met.
func TestHowNearAnAnswerIs(t *testing.T) {
	for _, c := range []struct {
		best, bound quantity.Maybe
		met         bool
		gap         quantity.Maybe
	}{
		{quantity.Some(100.0), quantity.Some(99.5), false, quantity.Some(100 * (100/99.5 - 1))},
		{quantity.Some(100.00005), quantity.Some(100.0), true, quantity.Some(0.0)},
		{quantity.Some(150.0), quantity.Some(100.0), false, quantity.Some(50.0)},
		{quantity.Some(5.0), quantity.Some(0.0), false, quantity.Maybe{}},
		{quantity.Maybe{}, quantity.Some(5.0), false, quantity.Maybe{}},
		{quantity.Some(5.0), quantity.Maybe{}, false, quantity.Maybe{}},
	} {
		r := Reach{Best: c.best, Bound: c.bound}
		if got := r.Gap(); r.met() != c.met || got.Known != c.gap.Known || math.Abs(got.V-c.gap.V) > 1e-9 {
			t.Errorf("%v over %v: met %v, gap %v; want %v, %v", c.best, c.bound, r.met(), got, c.met, c.gap)
		}
	}
}

// oneBar is a season in which one batch can be poured on one day.
func oneBar(t *testing.T) *season.Instance {
	t.Helper()
	in, err := season.Read("season", []byte(`{"format": "season-plan/1", "weeks": 2, "rackSlots": 9, "moulds": [{"id": "loaf", "count": 2}],
 "benchDays": [{"day": 0, "minutes": 60}], "items": [{"id": "bar", "kind": "product", "batchUnits": 9, "mould": "loaf", "mouldDays": 1,
  "leadDays": 3, "batchMinutes": 10, "maxBatchesPerDay": 1, "batchCost": 2, "demand": [0, 4], "lostSalePenalty": [3, 3]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	return in
}

// What is told of the answer: it is called the best only where the bound meets it, the
// first of equals is taken, and a plan that breaks a rule is told to nobody.
func TestAnAnswerIsCalledWhatItIs(t *testing.T) {
	in := oneBar(t)
	pour := season.Plan{{Day: 0, Item: 0, Batches: 1}}
	r, broken := season.Simulate(in, pour)
	if len(broken) > 0 {
		t.Fatal(broken)
	}
	cost := r.Cost.Total()
	for _, c := range []struct {
		name  string
		plan  season.Plan
		bound float64
		want  Status
	}{
		{"above the bound", pour, cost / 2, Feasible}, {"at the bound", pour, cost, Optimal},
		{"more batches than a day has", season.Plan{{Day: 0, Item: 0, Batches: 7}}, cost / 2, Unknown},
	} {
		b := &board{run: begin(t.Context(), Work{Moves: 1}, Searching), in: in, bound: c.bound,
			found: []found{{cost: math.Inf(1)}, {plan: c.plan, cost: cost, moves: 1}, {plan: season.Plan{}, cost: cost, moves: 2}}}
		if got := b.best(); got.moves != 1 {
			t.Errorf("%s: of two as cheap, the one of search %d is taken", c.name, got.moves+1)
		}
		p := b.answer()
		if p.Status != c.want || p.Best.Known != c.want.Found() || c.want.Found() != reflect.DeepEqual(p.Plan, c.plan) {
			t.Errorf("%s: %v, %+v with the plan %v", c.name, p.Status, p.Reach, p.Plan)
		}
	}
}

// Moves are counted by stage.
func TestAnotherStageCountsItsOwnMoves(t *testing.T) {
	r := begin(t.Context(), Work{Moves: 1}, Searching)
	r.note(func(p *Progress) { p.Moves, p.Total = 5, 9 })
	if r.enter(Searching); r.at.Moves != 5 || r.at.Total != 9 {
		t.Errorf("the same stage went back to %+v", r.at)
	}
	if r.enter(Explaining); r.at.Moves != 0 || r.at.Total != 0 || r.at.Stage != Explaining {
		t.Errorf("another stage goes on with %+v", r.at)
	}
}
