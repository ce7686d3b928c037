package planner_test

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"testing"
	"time"

	"barwright/benchday"
	"barwright/benchday/daycheck"
	"barwright/internal/instances"
	"barwright/planner"
	"barwright/season"
)

func file(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "examples", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func quillfenSeason(t *testing.T) (*season.Instance, season.Pins) {
	t.Helper()
	in, err := season.Read("season", file(t, "quillfen-season.json"))
	if err != nil {
		t.Fatal(err)
	}
	pins, err := season.ReadPins("pins", file(t, "quillfen-pins.json"), in)
	if err != nil {
		t.Fatal(err)
	}
	return in, pins
}

func quillfenDay(t *testing.T) (*benchday.Instance, *benchday.Now) {
	t.Helper()
	in, err := benchday.Read("day", file(t, "quillfen-day.json"))
	if err != nil {
		t.Fatal(err)
	}
	now, err := benchday.ReadNow("now", file(t, "quillfen-now.json"), in)
	if err != nil {
		t.Fatal(err)
	}
	return in, now
}

// stubborn is a day of ninety tasks on three resources: more than can be proved
// in a few seconds.
func stubborn() *benchday.Instance {
	in := &benchday.Instance{Resources: []benchday.Resource{{ID: "a", Capacity: 10}, {ID: "b", Capacity: 10}, {ID: "c", Capacity: 10}}}
	for i := range 90 {
		in.Tasks = append(in.Tasks, benchday.Task{ID: "t", Duration: 1 + 7*i%10, Needs: []int{3 * i % 7, 5 * i % 7, (i*i + 1) % 7}})
		if i > 8 {
			in.Lags = append(in.Lags, benchday.Lag{From: i - 1 - 3*i%8, To: i, Min: 5 * i % 12})
		}
	}
	return in
}

// sound fails where a plan is not what it says it is.
func sound(t *testing.T, in *season.Instance, pins season.Pins, p planner.SeasonPlan) {
	t.Helper()
	if !p.Status.Found() || !p.Best.Known || !p.Bound.Known || p.Bound.V < 0 || p.Bound.V > p.Best.V+1e-6*p.Best.V {
		t.Fatalf("%v: %+v", p.Status, p.Reach)
	}
	r, broken := season.Simulate(in, p.Plan)
	if len(broken) > 0 || math.Abs(r.Cost.Total()-p.Best.V) > 1e-9*p.Best.V || !reflect.DeepEqual(r, p.Result) {
		t.Errorf("the plan costs %g and is said to cost %g; it breaks %v", r.Cost.Total(), p.Best.V, broken)
	}
	if broken := pins.Broken(in, p.Plan); len(broken) > 0 {
		t.Errorf("pins are broken: %v", broken)
	}
}

// threeWeeks is a season that is worked out in no time.
const threeWeeks = `{"format": "season-plan/1", "name": "Three weeks", "weeks": 3, "rackSlots": 2,
 "moulds": [{"id": "loaf", "count": 2}, {"id": "cups", "count": 1}],
 "benchDays": [{"day": 2, "minutes": 100}, {"day": 7, "minutes": 200}, {"day": 14, "minutes": 60}], "items": [
 {"id": "bar", "kind": "product", "batchUnits": 10, "mould": "loaf", "mouldDays": 3, "leadDays": 7, "rackSlots": 1, "setupMinutes": 10,
  "batchMinutes": 40, "setupCost": 1, "batchCost": 2, "lostSalePenalty": [5, 4.9, 4.8], "demand": [0, 6, 9], "maxBatchesPerDay": 2},
 {"id": "lantern", "kind": "product", "batchUnits": 5, "mould": "loaf", "mouldDays": 1, "leadDays": 7, "rackSlots": 1, "setupMinutes": 10,
  "batchMinutes": 50, "setupCost": 1, "batchCost": 2, "lostSalePenalty": [6, 5.9, 5.8], "demand": [0, 0, 4], "maxBatchesPerDay": 2,
  "bom": [{"component": "lamp", "unitsPerBatch": 5}], "launch": {"week": 2, "stockNeeded": 5, "shortPenalty": 3}},
 {"id": "lamp", "kind": "component", "batchUnits": 10, "mould": "cups", "mouldDays": 1, "leadDays": 2, "batchMinutes": 30,
  "setupCost": 1, "batchCost": 1, "maxBatchesPerDay": 1}]}`

func TestEqualMovesGiveEqualSeasonsOnAnyNumberOfCores(t *testing.T) {
	in, pins := quillfenSeason(t)
	w := planner.Work{Moves: 150_001, Seed: 7}
	if testing.Short() { // under the race detector the other one takes a minute
		var err error
		if in, err = season.Read("season", []byte(threeWeeks)); err != nil {
			t.Fatal(err)
		}
		pins, w.Moves = season.Pins{}, 20_001
	}
	was := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(was)
	one := planner.Season(t.Context(), in, pins, w, nil)
	why := planner.Misses(t.Context(), in, pins, one.Plan, w, nil)
	runtime.GOMAXPROCS(4)
	four := planner.Season(t.Context(), in, pins, w, nil)
	sound(t, in, pins, one)
	if one.Elapsed != 0 || !reflect.DeepEqual(one, four) {
		t.Errorf("one core %+v\nfour cores %+v", one, four)
	}
	if again := planner.Misses(t.Context(), in, pins, four.Plan, w, nil); len(why) == 0 || !reflect.DeepEqual(why, again) {
		t.Errorf("one core %+v\nfour cores %+v", why, again)
	}
	if testing.Short() {
		return // so small a season has one best plan
	}
	w.Seed++
	if other := planner.Season(t.Context(), in, pins, w, nil); reflect.DeepEqual(other.Plan, one.Plan) {
		t.Error("another seed gave the same plan")
	}
}

func TestEqualMovesGiveEqualDays(t *testing.T) {
	in, now := quillfenDay(t)
	w := planner.Work{Moves: 3000, Seed: 7}
	check, err := daycheck.JSON(file(t, "quillfen-day.json"))
	if err != nil {
		t.Fatal(err)
	}
	a, b := planner.Day(t.Context(), in, w, nil), planner.Day(t.Context(), in, w, nil)
	starts := map[string]int{}
	for i, at := range a.Starts {
		starts[in.TaskID(i)] = at
	}
	if end, broken := check.Check(starts); a.Status != planner.Optimal || end != a.End || a.Lower != a.End || len(broken) > 0 || a.Elapsed != 0 {
		t.Errorf("%+v; the checker finds %d %v", a, end, broken)
	}
	if !reflect.DeepEqual(a, b) {
		t.Errorf("%+v\n%+v", a, b)
	}
	w.Moves = 20_000
	a, b = planner.Replan(t.Context(), in, now, w, nil), planner.Replan(t.Context(), in, now, w, nil)
	if a.Status != planner.Optimal || a.End < a.Lower || !a.Rest.ShiftProved || !reflect.DeepEqual(a, b) {
		t.Errorf("%+v\n%+v", a, b)
	}
	for i, at := range now.Started {
		if a.Starts[i] != at {
			t.Errorf("%s began at %d and is said to begin at %d", in.TaskID(i), at, a.Starts[i])
		}
	}
}

// A day that cannot be is told with rules that contradict each other; which of
// them, the search for a reason finds within its moves.
func TestADayThatCannotBeHasAReason(t *testing.T) {
	in := &benchday.Instance{Tasks: []benchday.Task{{ID: "weigh", Duration: 5}, {ID: "lye", Duration: 5}, {ID: "mix", Duration: 5}},
		Lags: []benchday.Lag{{From: 0, To: 1, Min: 28}, {From: 1, To: 2, Min: 10}, {From: 0, To: 2, Max: 20, HasMax: true}}}
	p := planner.Day(t.Context(), in, planner.Work{Moves: 100}, nil)
	if p.Status != planner.Infeasible || p.Starts != nil || len(p.Against.Lags) != 3 || !p.Against.Minimal {
		t.Errorf("%+v", p)
	}
}

// What pins rule out, though none of them alone contradicts the season, has no
// plan, and no cost.
func TestASeasonThatCannotBeHasNoPlan(t *testing.T) {
	in, err := season.Read("season", []byte(`{"format": "season-plan/1", "weeks": 3, "rackSlots": 9, "moulds": [{"id": "loaf", "count": 9}],
 "benchDays": [{"day": 0, "minutes": 60}, {"day": 7, "minutes": 200}], "items": [
 {"id": "bar", "kind": "product", "batchUnits": 9, "mould": "loaf", "mouldDays": 1, "leadDays": 3, "batchMinutes": 10, "maxBatchesPerDay": 1,
  "demand": [1, 1, 1], "lostSalePenalty": [3, 3, 3], "bom": [{"component": "red", "unitsPerBatch": 1}, {"component": "blue", "unitsPerBatch": 1}]},
 {"id": "red", "kind": "component", "batchUnits": 9, "mould": "loaf", "mouldDays": 1, "leadDays": 2, "batchMinutes": 50, "maxBatchesPerDay": 1},
 {"id": "blue", "kind": "component", "batchUnits": 9, "mould": "loaf", "mouldDays": 1, "leadDays": 2, "batchMinutes": 50, "maxBatchesPerDay": 1}]}`))
	if err != nil {
		t.Fatal(err)
	}
	pins := season.Pins{Fixed: []season.Pour{{Day: 7, Item: 0, Batches: 1}}}
	p := planner.Season(t.Context(), in, pins, planner.Work{Moves: 20_000}, nil)
	if p.Status.Found() || p.Best.Known || p.Plan != nil || p.Gap().Known || (p.Status == planner.Infeasible) == p.Bound.Known {
		t.Errorf("%+v", p)
	}
}

// By the clock a season ends before its time once the plan meets the bound.
func TestASeasonThatIsProvedEndsAtOnce(t *testing.T) {
	in, err := season.Read("season", []byte(`{"format": "season-plan/1", "weeks": 2, "rackSlots": 9, "moulds": [{"id": "loaf", "count": 2}],
 "benchDays": [{"day": 0, "minutes": 60}], "items": [{"id": "bar", "kind": "product", "batchUnits": 9, "mould": "loaf", "mouldDays": 1,
  "leadDays": 3, "batchMinutes": 10, "maxBatchesPerDay": 1, "batchCost": 2, "demand": [0, 4], "lostSalePenalty": [3, 3]}]}`))
	if err != nil {
		t.Fatal(err)
	}
	begun := time.Now()
	p := planner.Season(t.Context(), in, season.Pins{}, planner.Work{Time: time.Hour}, nil)
	sound(t, in, season.Pins{}, p)
	if p.Status != planner.Optimal || p.Gap().Or(1) != 0 || p.Elapsed <= 0 || p.Elapsed > time.Since(begun) {
		t.Errorf("%+v", p)
	}
}

func TestWhatIsStoppedEndsPromptlyWithTheBestSoFar(t *testing.T) {
	in, _ := quillfenSeason(t)
	var pins season.Pins // none, so that there is a plan before any move: to pour nothing
	day, now := quillfenDay(t)
	for name, w := range map[string]planner.Work{"clock": {Time: time.Hour}, "moves": {Moves: 1 << 50}} {
		for _, after := range []time.Duration{0, 150 * time.Millisecond} {
			t.Run(name+" "+after.String(), func(t *testing.T) {
				stopped := func(what string, answer func(ctx context.Context)) {
					ctx, stop := context.WithCancel(t.Context())
					timer := time.AfterFunc(after, stop)
					defer timer.Stop()
					if after == 0 {
						stop()
					}
					begun := time.Now()
					answer(ctx)
					if gone := time.Since(begun) - after; gone > 5*time.Second {
						t.Errorf("%s took %s to stop", what, gone)
					}
				}
				var p planner.SeasonPlan
				stopped("the season", func(ctx context.Context) { p = planner.Season(ctx, in, pins, w, nil) })
				sound(t, in, pins, p)
				stopped("the questions", func(ctx context.Context) { planner.Misses(ctx, in, pins, p.Plan, w, nil) })
				stopped("the day", func(ctx context.Context) {
					if d := planner.Day(ctx, stubborn(), w, nil); d.Status != planner.Feasible && after > 0 {
						t.Errorf("%v: %+v", d.Status, d.Starts)
					}
				})
				stopped("the late day", func(ctx context.Context) {
					if d := planner.Replan(ctx, day, now, w, nil); !d.Status.Found() && after > 0 {
						t.Errorf("%v: %+v", d.Status, d.Starts)
					}
				})
			})
		}
	}
}

// Progress is told a few times a second, one at a time, and never goes back.
func TestProgressIsTold(t *testing.T) {
	in, pins := quillfenSeason(t)
	w := planner.Work{Time: 1500 * time.Millisecond}
	told := func(what string, stage planner.Stage, least int, work func(progress func(planner.Progress))) []planner.Progress {
		t.Helper()
		var all []planner.Progress // unguarded: the race detector sees if two are told at once
		work(func(p planner.Progress) { all = append(all, p) })
		if n := len(all); n < least || all[n-1].Moves <= 0 || n > 1+int(all[n-1].Elapsed/(200*time.Millisecond)) {
			t.Fatalf("%s told %d times: %+v", what, n, all)
		}
		for i, p := range all {
			if p.Stage != stage || p.Elapsed <= 0 {
				t.Errorf("%s: %+v", what, p)
			}
			if i == 0 {
				continue
			}
			was := all[i-1]
			if p.Elapsed < was.Elapsed || p.Moves < was.Moves || p.Best.Or(math.Inf(1)) > was.Best.Or(math.Inf(1)) || p.Bound.V < was.Bound.V {
				t.Errorf("%s went back from %+v to %+v", what, was, p)
			}
		}
		return all
	}

	// A plan that was hardly looked for leaves much to ask about.
	poor := planner.Season(t.Context(), in, season.Pins{}, planner.Work{Moves: 1000}, nil)
	var p planner.SeasonPlan
	all := told("the season", planner.Searching, 2, func(tell func(planner.Progress)) { p = planner.Season(t.Context(), in, pins, w, tell) })
	last := all[len(all)-1]
	if last.Best.Or(0) < p.Best.V || last.Bound.V > p.Bound.V || p.Elapsed < w.Time || last.Gap().Or(-1) < 0 {
		t.Errorf("told %+v at last, and the answer is %+v", last, p.Reach)
	}
	all = told("the day", planner.Searching, 2, func(tell func(planner.Progress)) { planner.Day(t.Context(), stubborn(), w, tell) })
	if last := all[len(all)-1]; !last.Best.Known || last.Best.V < last.Bound.V {
		t.Errorf("%+v", last)
	}

	// However long the questions take here, they are stopped after the same time.
	ctx, stop := context.WithTimeout(t.Context(), w.Time)
	defer stop()
	all = told("the questions", planner.Asking, 2, func(tell func(planner.Progress)) { planner.Misses(ctx, in, season.Pins{}, poor.Plan, w, tell) })
	if last := all[len(all)-1]; last.Moves > last.Total {
		t.Errorf("%+v", last)
	}
}

// The reference seasons are as large as seasons come: they stop promptly too.
func TestTheReferenceSeasonsStop(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(instances.Planning(t), "season", "*.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no reference seasons: %v", err)
	}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		in, err := season.Read(name, b)
		if err != nil {
			continue // a file of results, or of another form
		}
		ctx, stop := context.WithTimeout(t.Context(), 300*time.Millisecond)
		begun := time.Now()
		p := planner.Season(ctx, in, season.Pins{}, planner.Work{Time: time.Hour}, nil)
		stop()
		t.Logf("%s: %s", filepath.Base(name), time.Since(begun))
		if gone := time.Since(begun); !p.Status.Found() || gone > 20*time.Second {
			t.Errorf("%s: %v after %s", name, p.Status, gone)
		}
	}
}

func TestEveryStatusHasItsWord(t *testing.T) {
	b, err := json.Marshal([]planner.Status{planner.Unknown, planner.Feasible, planner.Optimal, planner.Infeasible})
	if want := `["unknown","feasible","optimal","infeasible"]`; err != nil || string(b) != want {
		t.Errorf("%s, %v", b, err)
	}
}
