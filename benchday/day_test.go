package benchday

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"

	"barwright/benchday/daycheck"
)

// small is a day of a few tasks, and the same day for the checker. Some of these
// days are infeasible.
func small(rng *rand.Rand, n int) (*Instance, *daycheck.Day) {
	in := &Instance{Name: "small", Resources: []Resource{{"hands", 1}, {"pot", 2}}}
	d := &daycheck.Day{Capacity: map[string]int{"hands": 1, "pot": 2}, Jobs: map[string]daycheck.Job{}}
	for i := range n {
		t := Task{ID: fmt.Sprint("t", i), Duration: rng.IntN(4), Needs: []int{rng.IntN(2), rng.IntN(3)}}
		in.Tasks = append(in.Tasks, t)
		d.Jobs[t.ID] = daycheck.Job{Minutes: t.Duration, Holds: map[string]int{"hands": t.Needs[0], "pot": t.Needs[1]}}
	}
	for range rng.IntN(2 * n) {
		l := Lag{From: rng.IntN(n+1) - 1, To: rng.IntN(n), Min: rng.IntN(6) - 2}
		if l.From == l.To {
			continue
		}
		w := daycheck.Wait{From: in.TaskID(l.From), To: in.TaskID(l.To), Least: l.Min}
		if rng.IntN(2) == 0 {
			l.HasMax, l.Max = true, l.Min+rng.IntN(4)
			most := l.Max
			w.Most = &most
		}
		in.Lags = append(in.Lags, l)
		d.Waits = append(d.Waits, w)
	}
	return in, d
}

func byID(in *Instance, s Schedule) map[string]int {
	out := map[string]int{}
	for i, v := range s {
		out[in.Tasks[i].ID] = v
	}
	return out
}

// horizonOf is longer than the shortest schedule of any small day.
const horizonOf = 22

func TestTheWaitsAloneNeverSayTooMuch(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	feasible, cyclic := 0, 0
	for range 3000 {
		in, d := small(rng, 2+rng.IntN(3))
		cycle := cycleOf(in)
		waits := newModel(&Instance{Tasks: in.Tasks, Lags: in.Lags}, Options{})
		if waits.broken != (cycle != nil) {
			t.Fatalf("the solver finds a contradiction of waits: %v, and the cycle is %v: %+v", waits.broken, cycle, in)
		}
		if cycle != nil {
			cyclic++
			checkCycle(t, in, cycle)
			for _, r := range []string{"hands", "pot"} {
				d.Capacity[r] = 1000
			}
			if m, ok := d.Possible(horizonOf); ok {
				t.Fatalf("a contradiction of waits %v, and yet a day of %d: %+v", cycle, m, in)
			}
			continue
		}
		d.Capacity["hands"], d.Capacity["pot"] = 1000, 1000
		if m, ok := d.Possible(horizonOf); ok {
			feasible++
			if b := int(waits.lower); b != m {
				t.Fatalf("bound %d, shortest %d without sharing: %+v", b, m, in)
			}
			early := make(Schedule, len(in.Tasks))
			for i := range early {
				early[i] = int(waits.est[i])
				if path := int(waits.dist[len(in.Tasks)][i]); path != early[i] {
					t.Fatalf("path from the start to %d is %d, earliest start %d", i, path, early[i])
				}
			}
			if end, broken := d.Check(byID(in, early)); len(broken) > 0 || end != m {
				t.Fatalf("the earliest starts %v break %v: %+v", early, broken, in)
			}
		}
	}
	if feasible < 500 || cyclic < 100 {
		t.Errorf("%d feasible and %d cyclic: too few to have tested much", feasible, cyclic)
	}
}

// checkCycle checks that the links form a cycle, sum to more than 0, and are
// irreducible.
func checkCycle(t *testing.T, in *Instance, cycle []link) {
	t.Helper()
	sum := 0
	without := &Instance{Resources: in.Resources, Tasks: in.Tasks}
	for k, l := range cycle {
		if l.Lag >= 0 {
			if l.Max {
				sum -= in.Lags[l.Lag].Max
			} else {
				sum += in.Lags[l.Lag].Min
			}
			next := cycle[(k+1)%len(cycle)]
			if e := endOf(in, l); next.Lag >= 0 && e != beginOf(in, next) || next.Lag < 0 && e != -1 {
				t.Fatalf("link %d leads to %d and the next does not begin there: %v in %+v", k, e, cycle, in)
			}
		}
	}
	if sum <= 0 {
		t.Fatalf("the cycle %v sums to %d: %+v", cycle, sum, in)
	}
	used := map[int]bool{}
	for _, l := range cycle {
		if l.Lag >= 0 {
			used[l.Lag] = true
		}
	}
	for out := range used {
		without.Lags = nil
		for k := range in.Lags {
			if used[k] && k != out {
				without.Lags = append(without.Lags, in.Lags[k])
			}
		}
		if c := cycleOf(without); c != nil {
			t.Fatalf("without lag %d the rest of %v contradicts itself still", out, cycle)
		}
	}
}

func endOf(in *Instance, l link) int {
	if l.Max {
		return in.Lags[l.Lag].From
	}
	return in.Lags[l.Lag].To
}

func beginOf(in *Instance, l link) int {
	if l.Max {
		return in.Lags[l.Lag].To
	}
	return in.Lags[l.Lag].From
}

func TestTheLeastShiftIsTheLeastOfAllSchedules(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	tried := 0
	for tried < 400 {
		in, d := small(rng, 3+rng.IntN(2))
		m, ok := d.Possible(14)
		if !ok {
			continue
		}
		plan := make([]int, len(in.Tasks))
		for i := range plan {
			plan[i] = rng.IntN(12) - 1
		}
		within := m + rng.IntN(3)
		first, least := leastShift(in, d, plan, within)
		h := newShifter(in, plan, first, within, 1)
		if !h.Step(1 << 20) {
			t.Fatalf("no proof for %+v", in)
		}
		if end, broken := d.Check(byID(in, h.best)); len(broken) > 0 || end > within {
			t.Fatalf("%v ends at %d of %d and breaks %v", h.best, end, within, broken)
		}
		if h.cost != least || h.total(h.best) != least || h.bound != least {
			t.Fatalf("shift %d (bound %d), the least is %d: %+v, plan %v within %d", h.cost, h.bound, least, in, plan, within)
		}
		tried++
	}
}

// leastShift tries all schedules. It returns the first one found, and the least
// shift of any.
func leastShift(in *Instance, d *daycheck.Day, plan []int, within int) (first Schedule, least int) {
	s := make(Schedule, len(in.Tasks))
	least = -1
	var place func(k int)
	place = func(k int) {
		if k == len(s) {
			if _, broken := d.Check(byID(in, s)); len(broken) == 0 {
				if first == nil {
					first = append(Schedule(nil), s...)
				}
				sum := 0
				for i, p := range plan {
					if p >= 0 {
						sum += max(p-s[i], s[i]-p)
					}
				}
				if least < 0 || sum < least {
					least = sum
				}
			}
			return
		}
		for s[k] = 0; s[k]+in.Tasks[k].Duration <= within; s[k]++ {
			place(k + 1)
		}
	}
	place(0)
	return first, least
}

// only is the day of a contradiction alone, for the checker.
func only(in *Instance, c Contradiction, lag, group, task int) *daycheck.Day {
	d := &daycheck.Day{Capacity: map[string]int{}, Jobs: map[string]daycheck.Job{}}
	for _, r := range in.Resources {
		d.Capacity[r.ID] = r.Capacity
	}
	for _, t := range in.Tasks {
		d.Jobs[t.ID] = daycheck.Job{Minutes: t.Duration, Holds: map[string]int{}}
	}
	for _, k := range c.Lags {
		if k == lag {
			continue
		}
		l := in.Lags[k]
		w := daycheck.Wait{From: in.TaskID(l.From), To: in.TaskID(l.To), Least: l.Min}
		if l.HasMax {
			w.Most = &l.Max
		}
		d.Waits = append(d.Waits, w)
	}
	for g, x := range c.Groups {
		for _, i := range x.Tasks {
			if g != group || i != task {
				d.Jobs[in.Tasks[i].ID].Holds[in.Resources[x.Resource].ID] = in.Tasks[i].Needs[x.Resource]
			}
		}
	}
	return d
}

func TestAContradictionIsOneAndIrreducible(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	alone, shared := 0, 0
	for alone+shared < 80 {
		in, d := small(rng, 3+rng.IntN(2))
		if _, ok := d.Possible(horizonOf); ok {
			continue
		}
		e := NewExplainer(in, Options{Seed: 1}, 20_000)
		if !e.Step(1 << 30) {
			t.Fatalf("no end: %+v", in)
		}
		c := e.Contradiction()
		cut := NewExplainer(in, Options{Seed: 1}, 20_000)
		for !cut.Step(7) {
		}
		if d := cut.Contradiction(); !reflect.DeepEqual(c, d) {
			t.Fatalf("seven steps at a time give %+v, all at once %+v", d, c)
		}
		if !c.Minimal || len(c.Lags)+len(c.Groups) == 0 {
			t.Fatalf("%+v of %+v", c, in)
		}
		if len(c.Groups) == 0 {
			alone++
		} else {
			shared++
		}
		if m, ok := only(in, c, -1, -1, -1).Possible(horizonOf); ok {
			t.Fatalf("no contradiction, a day of %d keeps it: %+v of %+v", m, c, in)
		}
		for _, k := range c.Lags {
			if _, ok := only(in, c, k, -1, -1).Possible(horizonOf); !ok {
				t.Fatalf("without lag %d it is a contradiction still: %+v of %+v", k, c, in)
			}
		}
		for g, x := range c.Groups {
			for _, i := range x.Tasks {
				if _, ok := only(in, c, -1, g, i).Possible(horizonOf); !ok {
					t.Fatalf("without task %d in group %d it is a contradiction still: %+v of %+v", i, g, c, in)
				}
			}
		}
	}
	if alone < 15 || shared < 15 {
		t.Errorf("%d of waits alone, %d of sharing: too few of one", alone, shared)
	}
}
