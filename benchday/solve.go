package benchday

// Options say how to look for a day.
type Options struct {
	// Seed chooses among equals. The same seed and steps give the same schedules.
	Seed uint64
	// Release is the earliest start of each task, min, by index. Tasks beyond its
	// length may start at 0.
	Release []int
	// Fixed gives the start of each task that may not move, min, by index.
	Fixed map[int]int
	// Within is the longest makespan of interest, min; 0 means any. If no
	// schedule is that short, the day is Infeasible.
	Within int
}

// Status says what is known about a day.
type Status int

const (
	Unknown    Status = iota // no schedule found, and none proved impossible
	Feasible                 // a schedule is found, perhaps not the shortest
	Optimal                  // a schedule is found and proved to be the shortest
	Infeasible               // proved that there is no schedule
)

// A Solver looks for the shortest day of one instance. Its caller steps it and
// may stop at any time. It keeps no clock and starts no goroutines.
type Solver struct {
	in *Instance
	o  Options
	m  *model

	best      Schedule
	lower     int
	status    Status
	schedules int

	maker  maker // nil if no maker can be used
	learn  *learner
	turn   int   // steps left in the maker's turn; below 0, steps left for the proof
	swept  bool  // the bounds by propagation alone are finished
	stride int32 // min: how far beyond the bound the next try by propagation alone goes
}

// NewSolver prepares the search. The instance must come from Read, or be equally
// sound: indices in range, no negative durations. A day whose durations and waits
// sum to more than 2²⁸ min stays Unknown.
func NewSolver(in *Instance, o Options) *Solver {
	s := &Solver{in: in, o: o, m: newModel(in, o)}
	switch {
	case s.m.broken:
		s.status = Infeasible
	case s.m.tooFar:
	default:
		s.lower = int(s.m.lower)
		if b := newBreeder(s.m, o.Seed); b != nil {
			s.maker = b
		} else if p := newPlacer(s.m, o.Seed); p != nil {
			s.maker = p
		}
		s.learn = newLearner(s.m, o.Seed)
		s.settle()
	}
	return s
}

// Best returns a copy of the shortest schedule found so far, or false as long as
// there is none. It was checked against every lag and resource of the instance
// and against the options.
func (s *Solver) Best() (Schedule, bool) {
	return append(Schedule(nil), s.best...), s.best != nil
}

// Lower is a proved lower bound of the makespan, min. It never falls from step to
// step, and no schedule is shorter. It means nothing for an infeasible day.
func (s *Solver) Lower() int { return s.lower }

// Status says what is known so far.
func (s *Solver) Status() Status { return s.status }

// Schedules counts the schedules generated. Every serial pass counts as one,
// including passes to the right and back to the left.
func (s *Solver) Schedules() int { return s.schedules }

// offer accepts a schedule if it is shorter than the best and keeps every rule.
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

// settle takes over what the proof has found.
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

// A maker makes schedules one by one. It is a breeder, or a placer if waits have
// a greatest.
type maker interface {
	// step makes one schedule, and returns it if it is shorter than all before.
	step() []int32
	// turn is how many schedules it makes in a row, after making so many in all.
	turn(made int) int
	// adopt continues from a schedule that the proof found.
	adopt(starts []int32)
}

// The maker and the proof take turns, with turnSteps for the proof. Both gain:
// the proof first tries what the best schedule did, and ends sooner with its
// makespan as the limit.
const turnSteps = 500

// Step searches for about n steps, each a schedule or a decision of the proof. It
// reports whether the search has ended.
func (s *Solver) Step(n int) (done bool) {
	if s.learn == nil {
		return true
	}
	for n > 0 && s.status != Optimal && s.status != Infeasible {
		switch {
		case !s.swept:
			n--
			s.sweep()
		case s.maker != nil && s.turn >= 0:
			n--
			s.schedules++
			if s.turn++; s.turn >= s.maker.turn(s.schedules) {
				s.turn = -turnSteps
			}
			if found := s.maker.step(); found != nil {
				s.offer(found)
			}
		default:
			k := n
			if s.maker != nil {
				k = min(n, -s.turn)
			}
			before := s.learn.decisions
			found := s.learn.step(k)
			k = s.learn.decisions - before
			n -= k
			if s.maker != nil {
				s.turn += k
			}
			s.settle()
			if found == nil {
				continue
			}
			if !s.offer(found) {
				// The proof returned a schedule that breaks a rule, so nothing
				// that it says can be trusted.
				s.learn, s.lower = nil, int(s.m.lower)
				return true
			}
			if s.maker != nil {
				s.maker.adopt(found)
			}
		}
	}
	return s.status == Optimal || s.status == Infeasible
}

// sweep tries, by propagation alone, whether the day can end at the lower bound,
// and raises the bound if it cannot. The strides double for as long as they
// succeed.
func (s *Solver) sweep() {
	low := s.learn.lower()
	end := low + s.stride
	if end > s.m.horizon || s.best != nil && int(end) >= s.in.Makespan(s.best) {
		end = low
		s.stride = 0
	}
	switch {
	case low > s.m.horizon || s.best != nil && int(low) >= s.in.Makespan(s.best):
		s.swept = true
	case !s.learn.probe(end):
		s.stride = 2*s.stride + 1
	case s.stride == 0:
		s.swept = true
	default:
		s.stride /= 2
	}
	s.settle()
}
