package benchday

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"barwright/benchday/daycheck"
	"barwright/internal/instances"
)

// someDay is a random day. If its waits have a greatest, some of these days are
// infeasible.
func someDay(rng *rand.Rand, n, long int, most bool) *Instance {
	in := &Instance{Name: "some"}
	for r := range 1 + rng.IntN(3) {
		in.Resources = append(in.Resources, Resource{fmt.Sprint("r", r), 1 + rng.IntN(3)})
	}
	for i := range n {
		t := Task{ID: fmt.Sprint("t", i), Duration: rng.IntN(long + 1)}
		for _, r := range in.Resources {
			t.Needs = append(t.Needs, max(0, rng.IntN(r.Capacity+2)-1))
		}
		in.Tasks = append(in.Tasks, t)
	}
	for range rng.IntN(2*n + 1) {
		from, to := rng.IntN(n+1)-1, rng.IntN(n)
		if from == to {
			continue
		}
		l := Lag{From: from, To: to, Min: rng.IntN(long+2) - 1}
		if most {
			if rng.IntN(2) == 0 {
				l.HasMax, l.Max = true, l.Min+rng.IntN(long+1)
			}
			if rng.IntN(8) == 0 {
				l.Min = -rng.IntN(long + 1)
			}
		} else if l.Min = max(l.Min, 0); from > to {
			continue
		}
		in.Lags = append(in.Lags, l)
	}
	return in
}

// shortest finds the least makespan by trying all starts. ok is false if there is
// no schedule of at most end minutes.
func shortest(in *Instance, o Options, end int) (makespan int, ok bool) {
	n := len(in.Tasks)
	at := make([]int, n)
	best := end + 1
	held := make([][]int, len(in.Resources))
	for r := range held {
		held[r] = make([]int, end+1)
	}
	var place func(i, span int)
	place = func(i, span int) {
		if span >= best {
			return
		}
		if i == n {
			best = span
			return
		}
		t := in.Tasks[i]
		lo, hi := 0, best-1-t.Duration
		if i < len(o.Release) {
			lo = max(lo, o.Release[i])
		}
		if f, ok := o.Fixed[i]; ok {
			lo, hi = max(lo, f), min(hi, f)
		}
		for _, l := range in.Lags {
			switch {
			case l.To == i && l.From < i:
				from := 0
				if l.From >= 0 {
					from = at[l.From]
				}
				lo = max(lo, from+l.Min)
				if l.HasMax {
					hi = min(hi, from+l.Max)
				}
			case l.From == i && l.To < i:
				hi = min(hi, at[l.To]-l.Min)
				if l.HasMax {
					lo = max(lo, at[l.To]-l.Max)
				}
			}
		}
	starts:
		for s := lo; s <= hi; s++ {
			for r := range held {
				for m := s; m < s+t.Duration; m++ {
					if held[r][m]+t.Needs[r] > in.Resources[r].Capacity {
						continue starts
					}
				}
			}
			for r := range held {
				for m := s; m < s+t.Duration; m++ {
					held[r][m] += t.Needs[r]
				}
			}
			at[i] = s
			place(i+1, max(span, s+t.Duration))
			for r := range held {
				for m := s; m < s+t.Duration; m++ {
					held[r][m] -= t.Needs[r]
				}
			}
		}
	}
	place(0, 0)
	return best, best <= end
}

// checked is the instance for the checker.
func checked(in *Instance) *daycheck.Day {
	d := &daycheck.Day{Capacity: map[string]int{}, Jobs: map[string]daycheck.Job{}}
	for _, r := range in.Resources {
		d.Capacity[r.ID] = r.Capacity
	}
	for _, t := range in.Tasks {
		j := daycheck.Job{Minutes: t.Duration, Holds: map[string]int{}}
		for r, n := range t.Needs {
			j.Holds[in.Resources[r].ID] = n
		}
		d.Jobs[t.ID] = j
	}
	for _, l := range in.Lags {
		w := daycheck.Wait{From: in.TaskID(l.From), To: in.TaskID(l.To), Least: l.Min}
		if l.HasMax {
			most := l.Max
			w.Most = &most
		}
		d.Waits = append(d.Waits, w)
	}
	return d
}

// longest is a makespan that no shortest day exceeds: all tasks and waits in a
// row.
func longest(in *Instance, o Options) int {
	sum := 0
	for i, t := range in.Tasks {
		widest := t.Duration
		for _, l := range in.Lags {
			if l.From == i {
				widest = max(widest, l.Min)
			}
			if l.To == i && l.HasMax {
				widest = max(widest, -l.Max)
			}
		}
		sum += widest
		if i < len(o.Release) {
			sum = max(sum, sum-widest+o.Release[i]+widest)
		}
	}
	for _, l := range in.Lags {
		if l.From < 0 {
			sum += max(0, l.Min)
		}
	}
	for _, at := range o.Fixed {
		sum += at
	}
	for _, at := range o.Release {
		sum += at
	}
	return sum
}

func TestTheShortestOfAllSchedulesIsFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	var seen [4]int
	bred := 0
	for k := range 4000 {
		n := 2 + rng.IntN(4)
		in := someDay(rng, n, 2+rng.IntN(3), k%3 != 0)
		o := Options{Seed: uint64(k)}
		if rng.IntN(4) == 0 {
			o.Release = []int{rng.IntN(5), rng.IntN(3)}
		}
		if rng.IntN(5) == 0 {
			o.Fixed = map[int]int{rng.IntN(n): rng.IntN(6)}
		}
		end := longest(in, o)
		if rng.IntN(4) == 0 {
			o.Within = 1 + rng.IntN(10)
			end = o.Within
		}
		want, possible := shortest(in, o, end)
		s := NewSolver(in, o)
		if _, ok := s.maker.(*breeder); ok {
			bred++
		}
		before := 0
		for step := 0; !s.Step(1); step++ {
			if s.Lower() < before {
				t.Fatalf("day %d: the lower bound fell from %d to %d", k, before, s.Lower())
			}
			if before = s.Lower(); possible && before > want {
				t.Fatalf("day %d: lower bound %d, and the shortest is %d: %+v %+v", k, before, want, in, o)
			}
			if step > 100000 {
				t.Fatalf("day %d: no end", k)
			}
		}
		seen[s.Status()]++
		best, ok := s.Best()
		if ok != possible {
			t.Fatalf("day %d: found %v, want %v (%d): %+v %+v", k, ok, possible, want, in, o)
		}
		if !ok {
			if s.Status() != Infeasible {
				t.Fatalf("day %d: status %d of a day without a schedule", k, s.Status())
			}
			continue
		}
		made, broken := checked(in).Check(byID(in, best))
		if made != want || s.Lower() != want || s.Status() != Optimal || broken != nil {
			t.Fatalf("day %d: %d, bound %d, status %d, want %d: %v: %+v %+v", k, made, s.Lower(), s.Status(), want, broken, in, o)
		}
		for i, at := range o.Fixed {
			if best[i] != at {
				t.Fatalf("day %d: task %d starts at %d and is fixed to %d", k, i, best[i], at)
			}
		}
		for i := range min(n, len(o.Release)) {
			if best[i] < o.Release[i] {
				t.Fatalf("day %d: task %d starts at %d, before %d", k, i, best[i], o.Release[i])
			}
		}
	}
	if seen[Optimal] < 1000 || seen[Infeasible] < 400 || bred < 300 {
		t.Errorf("by status %v, %d bred: too few of a kind to have tested much", seen, bred)
	}
}

// turnedRound is the same day with time reversed. Its shortest makespan is the
// same.
func turnedRound(in *Instance) *Instance {
	out := &Instance{Resources: in.Resources, Tasks: in.Tasks}
	for _, l := range in.Lags {
		if l.From < 0 {
			continue
		}
		// from' = −(from + its duration), and likewise for to.
		d := in.Tasks[l.To].Duration - in.Tasks[l.From].Duration
		b := Lag{From: l.To, To: l.From, Min: l.Min + d, HasMax: l.HasMax}
		if l.HasMax {
			b.Max = l.Max + d
		}
		out.Lags = append(out.Lags, b)
	}
	return out
}

func TestADayTurnedRoundIsAsLong(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	learned, feasible := 0, 0
	for k := range 120 {
		in := someDay(rng, 9+rng.IntN(6), 9, k%2 == 0)
		in.Lags = slices.DeleteFunc(in.Lags, func(l Lag) bool { return l.From < 0 })
		want := -2
		for seed, in := range []*Instance{in, in, turnedRound(in)} {
			s := NewSolver(in, Options{Seed: uint64(seed)})
			for steps := 0; !s.Step(500); steps++ {
				if steps > 400 {
					t.Fatalf("day %d has no end: %d, bound %d", k, in.Makespan(s.best), s.Lower())
				}
			}
			got := -1
			if best, ok := s.Best(); ok {
				got = in.Makespan(best)
				if _, broken := checked(in).Check(byID(in, best)); broken != nil {
					t.Fatalf("day %d: %v", k, broken)
				}
				feasible++
			}
			if want != -2 && got != want {
				t.Fatalf("day %d, way %d: %d, and %d before: %+v", k, seed, got, want, in)
			}
			want = got
			if s.learn != nil {
				learned += s.learn.conflicts
			}
		}
	}
	if learned < 500 || feasible < 100 {
		t.Errorf("%d dead ends, %d schedules: too few to have tested much", learned, feasible)
	}
}

// No clause may contradict a schedule within the limit. The test uses a learner
// that only looks for days shorter than the shortest, and checks every clause
// that it learns.
func TestNothingLearnedContradictsASchedule(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	clauses := 0
	for k := range 150 {
		in := someDay(rng, 10+rng.IntN(8), 9, k%2 == 0)
		s := NewSolver(in, Options{})
		for steps := 0; !s.Step(500) && steps < 100; steps++ {
		}
		best, ok := s.Best()
		if !ok {
			continue
		}
		end := int32(in.Makespan(best))
		l := newLearner(newModel(in, Options{}), uint64(k))
		value := func(p int32) int32 { // the value of the bound's variable in that schedule
			x, v := p>>1, int32(0)
			switch {
			case x < l.tasks:
				v = int32(best[x])
			case x == l.tasks:
				v = end
			default:
				for _, e := range l.on[2*x] {
					if e := l.edges[e]; e.from&1 == 0 && int32(best[e.to>>1]-best[e.from>>1]) >= e.w {
						v = 1
					}
				}
			}
			if p&1 == 1 {
				return -v
			}
			return v
		}
		// With a limit that cannot be kept, tried by a decision, every clause is
		// learned on the way to a proof. Each must hold without that decision.
		for try := range int32(3) {
			l.target, l.limit = max(1, end-1-try), 1<<30
			for range 40 {
				if l.target == 0 || l.unsat {
					break
				}
				if found := l.step(20); found != nil {
					l.backTo(0)
					break
				}
				for c := range l.clauses {
					if l.clauses[c].dead {
						continue
					}
					clauses++
					if !slices.ContainsFunc(l.clauses[c].lits, func(a lit) bool { return value(a.p) >= a.v }) {
						t.Fatalf("day %d: clause %v of %+v is broken by %v", k, l.clauses[c].lits, in, best)
					}
				}
			}
			l.backTo(0)
			if l.unsat {
				t.Fatalf("day %d: nothing left, and there is a schedule of %d", k, end)
			}
			for p := range int32(len(l.root)) {
				if value(p) < l.root[p] {
					t.Fatalf("day %d: bound %d is at least %d, and the schedule has %d", k, p, l.root[p], value(p))
				}
			}
		}
	}
	if clauses < 3000 {
		t.Errorf("%d clauses were looked at: too few", clauses)
	}
}

func TestTheSameSeedAndStepsGiveTheSame(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	moved := false
	for k := range 12 {
		in := someDay(rng, 25, 9, k%2 == 0)
		run := func(seed uint64, step int) string {
			s := NewSolver(in, Options{Seed: seed})
			for left := 3000; left > 0; left -= step {
				s.Step(step)
			}
			best, _ := s.Best()
			return fmt.Sprint(best, s.Lower(), s.Status(), s.Schedules())
		}
		a := run(3, 100)
		for _, step := range []int{100, 1, 60} {
			if b := run(3, step); b != a {
				t.Fatalf("day %d, %d steps at a time: %s, then %s", k, step, a, b)
			}
		}
		moved = moved || a != run(4, 100)
	}
	if !moved {
		t.Error("no seed made a difference")
	}
}

// The largest day that can be read is prepared, and gets its first schedule,
// while the maker waits. The cost of a step does not grow out of proportion to
// the number of tasks.
func TestTheGreatestDayIsReadyAtOnce(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	in := &Instance{Resources: []Resource{{ID: "hands", Capacity: 1}, {ID: "pot", Capacity: 2}}}
	for i := range MaxTasks {
		in.Tasks = append(in.Tasks, Task{ID: strconv.Itoa(i), Duration: 1 + rng.IntN(30), Needs: []int{1, rng.IntN(3)}})
		if i > 0 {
			in.Lags = append(in.Lags, Lag{From: rng.IntN(i), To: i, Min: rng.IntN(40)})
		}
	}
	begun := time.Now()
	s := NewSolver(in, Options{Seed: 1})
	ready := time.Since(begun)
	for range 200 {
		s.Step(1)
	}
	best, ok := s.Best()
	if !ok {
		t.Fatal("no schedule in 200 steps")
	}
	if err := in.Verify(best); err != nil {
		t.Error(err)
	}
	// These take about 0.1 s and 3 s here. When the sets of mutually exclusive
	// tasks were summed afresh at every choice, it took most of a minute.
	if ready > 10*time.Second {
		t.Errorf("ready after %v", ready)
	}
}

func TestOddDays(t *testing.T) {
	one := []Resource{{"hands", 1}}
	for name, c := range map[string]struct {
		in   Instance
		o    Options
		want Status
		end  int
	}{
		"no task":                   {Instance{}, Options{}, Optimal, 0},
		"a task that takes no time": {Instance{Resources: one, Tasks: []Task{{"a", 0, []int{1}}}}, Options{}, Optimal, 0},
		"more than there is":        {Instance{Resources: one, Tasks: []Task{{"a", 5, []int{2}}}}, Options{}, Infeasible, 0},
		"within too little":         {Instance{Resources: one, Tasks: []Task{{"a", 5, []int{1}}}}, Options{Within: 4}, Infeasible, 0},
		"a fixed start on a wait": {Instance{Resources: one, Tasks: []Task{{"a", 5, []int{1}}}, Lags: []Lag{{From: -1, Min: 3, Max: 4, HasMax: true}}},
			Options{Fixed: map[int]int{0: 5}}, Infeasible, 0},
		"waits round": {Instance{Tasks: []Task{{"a", 1, nil}, {"b", 1, nil}},
			Lags: []Lag{{From: 0, To: 1, Min: 2}, {From: 1, To: 0, Min: -1}}}, Options{}, Infeasible, 0},
		"hands against waits": {Instance{Resources: one, Tasks: []Task{{"a", 5, []int{1}}, {"b", 5, []int{1}}},
			Lags: []Lag{{From: 0, To: 1, Min: -4, Max: 4, HasMax: true}}}, Options{}, Infeasible, 0},
		"a year of minutes": {Instance{Resources: one, Tasks: []Task{{"a", 525600, []int{1}}, {"b", 525600, []int{1}}}}, Options{}, Optimal, 1051200},
		"a minute beside a year": {Instance{Resources: one, Tasks: []Task{{"a", 525600, []int{1}}, {"b", 1, []int{1}}, {"c", 525600, []int{1}}},
			Lags: []Lag{{From: -1, To: 0, Min: 7, Max: 7, HasMax: true}, {From: 1, To: 2, Min: 525700, Max: 600000, HasMax: true}}},
			Options{}, Optimal, 525607 + 525600 + 93},
		"many units": {Instance{Resources: []Resource{{"ml", 1 << 20}}, Tasks: []Task{{"a", 3, []int{1 << 19}}, {"b", 3, []int{1 << 19}}, {"c", 3, []int{1}}}},
			Options{}, Optimal, 6},
		"beyond all days": {Instance{Resources: one, Tasks: []Task{{"a", 1 << 28, []int{1}}, {"b", 1 << 28, []int{1}}}}, Options{}, Unknown, 0},
	} {
		t.Run(name, func(t *testing.T) {
			s := NewSolver(&c.in, c.o)
			if !s.Step(10000) || s.Status() != c.want {
				t.Fatalf("status %d, want %d", s.Status(), c.want)
			}
			best, ok := s.Best()
			if ok != (c.want == Optimal) || ok && (c.in.Makespan(best) != c.end || s.Lower() != c.end) {
				t.Errorf("%v, bound %d, want %d", best, s.Lower(), c.end)
			}
		})
	}
}

// reference is one instance of the public sets, and what is known of it: from
// PSPLIB (Kolisch and Sprecher 1997) and ProGen/max (Kolisch, Schwindt and
// Sprecher 1999), as their tables give it.
type reference struct {
	set, file string
	in        *Instance
	day       *daycheck.Day
	best      int // the best known makespan; −1 if no schedule exists
	bound     int // a proved lower bound
}

func references(t testing.TB, folder string) []reference {
	t.Helper()
	dir := filepath.Join(instances.Planning(t), folder)
	name := map[string]string{"bench": "results.csv"}[folder]
	if name == "" {
		name = "best-known.csv"
	}
	table, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	number := func(s string) int {
		if s == "unsat" {
			return -1
		}
		v, err := strconv.Atoi(s)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	var out []reference
	for _, line := range strings.Split(strings.TrimSpace(string(table)), "\n")[1:] {
		w := strings.Split(line, ",")
		var r reference
		switch folder {
		case "bench":
			r = reference{set: "bench", file: w[0], best: number(w[3]), bound: number(w[2])}
		case "psplib":
			r = reference{set: w[0], file: w[1], best: number(w[4]), bound: number(w[3])}
		default:
			r = reference{set: w[0], file: w[1], best: number(w[2]), bound: number(w[2])}
		}
		file := filepath.Join(dir, r.file)
		if folder != "bench" {
			file = filepath.Join(dir, r.set, r.file)
		}
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if r.in, err = Read(file, b); err != nil {
			t.Fatal(err)
		}
		switch folder {
		case "bench":
			r.day, err = daycheck.JSON(b)
		case "psplib":
			r.day, err = daycheck.SM(b)
		default:
			r.day, err = daycheck.SCH(b)
		}
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, r)
	}
	return out
}

func TestPublicInstances(t *testing.T) {
	looked := 0
	for _, folder := range []string{"bench", "psplib", "rcpspmax"} {
		for _, r := range references(t, folder) {
			s := NewSolver(r.in, Options{Seed: 1})
			for range 20 {
				if s.Step(200) {
					break
				}
			}
			looked++
			best, ok := s.Best()
			if !ok {
				if r.best != -1 || s.Status() != Infeasible {
					t.Errorf("%s: nothing found, status %d, known %d", r.file, s.Status(), r.best)
				}
				continue
			}
			made, broken := r.day.Check(byID(r.in, best))
			if broken != nil {
				t.Errorf("%s: %v", r.file, broken)
			}
			// The best known makespan of the bench days may be improved. For the
			// others, no bound may exceed the best known makespan, and no
			// schedule may be shorter than the known bound.
			if folder != "bench" && s.Lower() > r.best || made < r.bound || made < s.Lower() || r.best == -1 {
				t.Errorf("%s: %d, bound %d; known %d, bound %d", r.file, made, s.Lower(), r.best, r.bound)
			}
			if (folder != "psplib" || r.set == "j30") && (s.Status() != Optimal || made > r.best) {
				t.Errorf("%s: %d, bound %d, not proved; known %d", r.file, made, s.Lower(), r.best)
			}
		}
	}
	if looked != 53 {
		t.Errorf("%d instances were looked at, want 53", looked)
	}
}
