package benchday

import (
	"math/rand/v2"
	"slices"
	"testing"

	"barwright/benchday/daycheck"
)

var plenty = Budget{Plan: 50_000, Rest: 200_000, Shift: 200_000, Trial: 20_000}

func replanned(in *Instance, now *Now) Replan {
	p := NewReplanner(in, now, Options{Seed: 1}, plenty)
	for !p.Step(1000) {
	}
	return p.Result()
}

// A day that runs to its plan is continued by that plan.
func TestNothingMovesWhereNothingIsLate(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	tried := 0
	for tried < 60 {
		in, d := small(rng, 3+rng.IntN(2))
		m, ok := d.Possible(horizonOf)
		if !ok {
			continue
		}
		s := NewSolver(in, Options{Seed: 1})
		s.Step(1 << 20)
		plan, ok := s.Best()
		if !ok || in.Makespan(plan) != m {
			t.Fatalf("the solver has %v, the least is %d: %+v", plan, m, in)
		}
		now := &Now{Minute: rng.IntN(m + 1), Started: map[int]int{}, Finished: map[int]int{}}
		for i, at := range plan {
			if at <= now.Minute {
				now.Started[i] = at
				if end := at + in.Tasks[i].Duration; end <= now.Minute {
					now.Finished[i] = end
				}
			}
		}
		r := replanned(in, now)
		if r.Status != Optimal || r.Makespan != m || r.Shift != 0 || !r.ShiftProved || len(r.Relaxed) > 0 || len(r.Overheld) > 0 {
			t.Fatalf("%+v at %d of plan %v, in %+v", r, now.Minute, plan, in)
		}
		for i := range plan {
			if r.Starts[i] != plan[i] {
				t.Fatalf("%v became %v with no shift", plan, r.Starts)
			}
		}
		tried++
	}
}

// A day that is over ended with its last task, however late one looks.
func TestADayThatIsOverHasTheBoundOfItsEnd(t *testing.T) {
	in := &Instance{Resources: []Resource{{ID: "hands", Capacity: 1}},
		Tasks: []Task{{ID: "weigh", Duration: 10, Needs: []int{1}}, {ID: "mix", Duration: 5, Needs: []int{1}}}}
	now := &Now{Minute: 200, Started: map[int]int{0: 0, 1: 10}, Finished: map[int]int{0: 10, 1: 15}}
	if r := replanned(in, now); r.Status != Optimal || r.Makespan != 15 || r.Lower != 15 {
		t.Errorf("%v, %d min, none below %d; want 15 of both, the shortest", r.Status, r.Makespan, r.Lower)
	}
}

// Whatever happened, the rest is the shortest, and has the least shift, of all
// rests that keep what was not let go. What was let go could not be kept.
func TestTheRestIsTheBestOfAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	tried, relaxed, over := 0, 0, 0
	for tried < 120 {
		in, d := small(rng, 4)
		if _, ok := d.Possible(horizonOf); !ok {
			continue
		}
		now := &Now{Minute: 2 + rng.IntN(4), Started: map[int]int{}, Finished: map[int]int{}, Remaining: map[int]int{}, Plan: map[int]int{}}
		for i := range in.Tasks {
			now.Plan[i] = rng.IntN(8)
			switch rng.IntN(4) {
			case 0:
				now.Started[i] = rng.IntN(now.Minute + 1)
				now.Finished[i] = now.Started[i] + rng.IntN(now.Minute-now.Started[i]+1)
			case 1:
				now.Started[i] = rng.IntN(now.Minute + 1)
				if rng.IntN(2) == 0 {
					now.Remaining[i] = rng.IntN(4)
				}
			}
		}
		tried++
		r := replanned(in, now)
		if r.Status != Optimal || !r.ShiftProved {
			t.Fatalf("%+v\n of %+v\n at %+v", r, in, now)
		}
		if len(r.Overheld) > 0 {
			over++
		}
		day := func(free []Relaxed) *daycheck.Day { return asItStands(in, now, free) }
		makespan, shift, ok := bestRest(in, now, day(r.Relaxed), 20)
		if !ok || makespan != r.Makespan || shift != r.Shift {
			t.Fatalf("%+v, but the best is %d with %d moved (%v)\n of %+v\n at %+v", r, makespan, shift, ok, in, now)
		}
		if len(r.Relaxed) > 0 {
			relaxed++
			if _, _, ok := bestRest(in, now, day(nil), 20); ok {
				t.Fatalf("every wait can be kept, and yet %+v\n of %+v\n at %+v", r, in, now)
			}
			for k := range r.Relaxed {
				if _, _, ok := bestRest(in, now, day(slices.Delete(slices.Clone(r.Relaxed), k, k+1)), 20); ok {
					t.Fatalf("wait %d of %+v can be kept\n of %+v\n at %+v", k, r, in, now)
				}
			}
		}
	}
	if relaxed < 20 || over < 3 {
		t.Errorf("%d with a wait let go, %d that hold too much: too few", relaxed, over)
	}
}

// asItStands is the day for the checker, without the waits that were let go.
func asItStands(in *Instance, now *Now, free []Relaxed) *daycheck.Day {
	d := &daycheck.Day{Capacity: map[string]int{}, Jobs: map[string]daycheck.Job{}}
	for k, l := range in.Lags {
		w := daycheck.Wait{From: in.TaskID(l.From), To: in.TaskID(l.To), Least: l.Min}
		if l.HasMax {
			most := l.Max
			w.Most = &most
		}
		for _, x := range free {
			if x.Lag == k && x.Max {
				w.Most = nil
			} else if x.Lag == k {
				w.Least = -1000
			}
		}
		d.Waits = append(d.Waits, w)
	}
	return d
}

// bestRest tries all rests. It returns the least makespan, and the least shift
// with it. Holding is counted from now on, and running tasks may hold more than
// there is.
func bestRest(in *Instance, now *Now, d *daycheck.Day, latest int) (makespan, shift int, ok bool) {
	n := len(in.Tasks)
	s, end := make([]int, n), make([]int, n)
	var free []int
	runs := make([]bool, n)
	for i, t := range in.Tasks {
		start, started := now.Started[i]
		fin, finished := now.Finished[i]
		left, remaining := now.Remaining[i]
		switch {
		case finished:
			s[i], end[i] = start, fin
		case remaining:
			s[i], end[i], runs[i] = start, now.Minute+left, true
		case started:
			s[i], end[i], runs[i] = start, max(start+t.Duration, now.Minute), true
		default:
			free = append(free, i)
		}
	}
	makespan = latest + 1
	keeps := func() bool {
		for _, w := range d.Waits {
			at := func(id string) int {
				for i, t := range in.Tasks {
					if t.ID == id {
						return s[i]
					}
				}
				return 0
			}
			got := at(w.To) - at(w.From)
			if got < w.Least || w.Most != nil && got > *w.Most {
				return false
			}
		}
		for minute := now.Minute; minute < latest; minute++ {
			for r, res := range in.Resources {
				byRuns, byFree := 0, 0
				for i, t := range in.Tasks {
					if s[i] > minute || minute >= end[i] {
						continue
					}
					if runs[i] {
						byRuns += t.Needs[r]
					} else if _, f := now.Finished[i]; !f {
						byFree += t.Needs[r]
					}
				}
				if byFree > 0 && byRuns+byFree > res.Capacity {
					return false
				}
			}
		}
		return true
	}
	var place func(k int)
	place = func(k int) {
		if k == len(free) {
			if !keeps() {
				return
			}
			m, moved := 0, 0
			for i := range s {
				m = max(m, end[i])
			}
			for _, i := range free {
				if p, ok := now.Plan[i]; ok {
					moved += max(p-s[i], s[i]-p)
				}
			}
			if m < makespan || m == makespan && moved < shift {
				makespan, shift, ok = m, moved, true
			}
			return
		}
		i := free[k]
		for s[i] = now.Minute; s[i]+in.Tasks[i].Duration <= min(makespan, latest); s[i]++ {
			end[i] = s[i] + in.Tasks[i].Duration
			place(k + 1)
		}
	}
	place(0)
	return makespan, shift, ok
}
