package benchday

// Options say how a day is looked for.
type Options struct {
	// Seed chooses among the equal; the same seed and the same steps give the same
	// schedules.
	Seed uint64
	// Release is the earliest start of each task, min, by index; shorter than the
	// tasks, or nil, leaves the others at 0.
	Release []int
	// Fixed gives the start of those tasks that may not move, min, by index.
	Fixed map[int]int
	// Within is the longest makespan of interest, min; 0 for any. Where no schedule
	// keeps it, the day is Infeasible.
	Within int
}

// Status says what is known of a day.
type Status int

const (
	Unknown    Status = iota // no schedule found, and none ruled out
	Feasible                 // a schedule found, perhaps not the shortest
	Optimal                  // a schedule found, proved the shortest
	Infeasible               // proved that there is none
)

// A Solver looks for the shortest day of one instance. Its caller steps it, and
// may stop at any time; it keeps no clock and starts no goroutines.
type Solver struct {
	in *Instance
	o  Options
	m  *model

	best      Schedule
	lower     int
	status    Status
	schedules int

	learn *learner
	turn  int
	sweep bool // the bounds by propagation alone are through
}

// NewSolver prepares the search. The instance must have been read or be as a
// reader leaves it: indices in range, no negative durations. Days whose durations
// and waits sum to more than 2²⁸ min stay Unknown.
func NewSolver(in *Instance, o Options) *Solver {
	s := &Solver{in: in, o: o, m: newModel(in, o)}
	switch {
	case s.m.broken:
		s.status = Infeasible
	case s.m.tooFar:
	default:
		s.lower = int(s.m.lower)
		s.learn = newLearner(s.m, o.Seed)
		s.settle()
	}
	return s
}

// Best is the shortest schedule found so far, a copy; false while there is none.
// It was checked against every lag and resource of the instance and the options.
func (s *Solver) Best() (Schedule, bool) {
	return append(Schedule(nil), s.best...), s.best != nil
}

// Lower is a proven lower bound of the makespan, min. It never falls from step to
// step, and no schedule lies below it. Of an infeasible day it means nothing.
func (s *Solver) Lower() int { return s.lower }

// Status says what is known by now.
func (s *Solver) Status() Status { return s.status }

// Schedules counts the schedules generated, every serial pass being one, passes
// to the right and back to the left included.
func (s *Solver) Schedules() int { return s.schedules }

// offer takes a schedule that shortens the day, if it keeps every rule.
func (s *Solver) offer(starts []int32) bool {
	at := make(Schedule, len(starts))
	for i, v := range starts {
		at[i] = int(v)
	}
	end := s.in.Makespan(at)
	if s.best != nil && end >= s.in.Makespan(s.best) || s.o.Within > 0 && end > s.o.Within || s.in.Verify(at) != nil {
		return false
	}
	for i, v := range at {
		if i < len(s.o.Release) && v < s.o.Release[i] {
			return false
		}
		if f, ok := s.o.Fixed[i]; ok && f != v {
			return false
		}
	}
	s.best = at
	s.status = Feasible
	s.learn.guide = append(s.learn.guide[:0], starts...)
	s.learn.follow(starts)
	s.learn.better(int32(end))
	s.settle()
	return true
}

// settle reads off what the proof has come to.
func (s *Solver) settle() {
	if s.status == Optimal || s.status == Infeasible {
		return
	}
	if s.learn.unsat {
		if s.best == nil {
			s.status = Infeasible
			return
		}
		s.lower, s.status = s.in.Makespan(s.best), Optimal
		return
	}
	s.lower = max(s.lower, int(s.learn.lower()))
	if s.best != nil && s.lower >= s.in.Makespan(s.best) {
		s.lower, s.status = s.in.Makespan(s.best), Optimal
	}
}

// Step looks on for about n steps, schedules or decisions of the proof, and says
// whether the search has ended.
func (s *Solver) Step(n int) (done bool) {
	if s.learn == nil {
		return true
	}
	for until := s.learn.decisions + n; s.learn.decisions < until && s.status != Optimal && s.status != Infeasible; {
		if !s.sweep {
			end := s.learn.lower()
			if end > s.m.horizon || s.best != nil && int(end) >= s.in.Makespan(s.best) {
				s.sweep = true
			} else {
				s.sweep = s.learn.probe(end)
			}
			s.settle()
			continue
		}
		found := s.learn.step(until - s.learn.decisions)
		s.settle()
		if found != nil && !s.offer(found) {
			panic("benchday: the proof's schedule breaks a rule")
		}
	}
	return s.status == Optimal || s.status == Infeasible
}
