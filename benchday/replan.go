package benchday

import (
	"cmp"
	"slices"
)

// Replan is the best rest of a day that has begun.
type Replan struct {
	Status   Status
	Starts   Schedule // of every task, as it was or as it is planned now; nil if no rest was found
	Makespan int      // min; not before the ends that are known
	Lower    int      // min; no rest of the day ends sooner
	// Planned is the schedule from which the rest should differ as little as
	// possible: by index, −1 for a task that was not planned. It is nil if there
	// was none.
	Planned     []int
	Shift       int  // min: sum of |start − planned| over the tasks that had not started
	ShiftProved bool // proved: no rest with that makespan has a smaller shift
	Relaxed     []Relaxed
	Overheld    []Group // tasks that hold more than there is, as the day stands now
	// Contradiction is set if the rest is Infeasible.
	Contradiction Contradiction
}

// Relaxed is a wait that is already broken or has to be.
type Relaxed struct {
	Lag    int
	Max    bool // its greatest wait; otherwise its least wait
	Broken bool // already broken by what has started; otherwise it has to be broken
}

// Budget is how many steps each part of replanning may take. 0 leaves the part
// out.
type Budget struct {
	Plan  int // finding a schedule for the whole day, if the maker gives none
	Rest  int // the least makespan of the rest
	Shift int // the least shift with that makespan
	Trial int // one trial of what contradicts what
}

// Replanner looks for the best rest of a day. What has started stays where it is,
// and nothing else starts before now. A greatest wait that is already broken, or
// cannot be kept, is let go and reported. Then the Replanner looks for the least
// makespan and, with that makespan, for the least total shift from the planned
// schedule. That schedule is the maker's, or else the one that the solver finds
// for the whole day with the same seed.
type Replanner struct {
	in     *Instance
	now    *Now
	known  []Known // of every task
	o      Options
	budget Budget

	phase  int // index into the parts of a Budget; 3 means finished
	used   int
	solver *Solver
	why    *Explainer
	rest   *rest
	shift  *shifter
	free   map[Relaxed]bool

	// Once a rest is found, each wait that was let go and is not broken yet is
	// tried again. A wait that was given up for one contradiction may be possible
	// after another wait was let go.
	tried   bool
	again   []Relaxed
	trial   *Solver
	trialOf int // steps of that trial
	r       Replan
}

// rest is what is left of a day, with now as its minute 0. Waits between an open
// task and a started one become waits from now.
type rest struct {
	in    *Instance
	tasks []int // index into the whole day
	lags  []restLag
}

// restLag says which lag of the whole day a lag of the rest stands for. It is
// reversed if the lag's To has started and its From has not.
type restLag struct {
	lag    int
	turned bool
}

// NewReplanner prepares the search. now must have been read against in.
func NewReplanner(in *Instance, now *Now, o Options, b Budget) *Replanner {
	p := &Replanner{in: in, now: now, o: o, budget: b, free: map[Relaxed]bool{}}
	for i, t := range in.Tasks {
		p.known = append(p.known, now.Known(i, t))
	}
	if now.Plan == nil && b.Plan > 0 {
		p.solver = NewSolver(in, o)
		return p
	}
	if now.Plan != nil {
		p.r.Planned = slices.Repeat([]int{-1}, len(in.Tasks))
		for i, at := range now.Plan {
			p.r.Planned[i] = at
		}
	}
	p.begin()
	return p
}

// Step works for about n steps. It reports whether nothing is left to do.
func (p *Replanner) Step(n int) (done bool) {
	for n > 0 && p.phase < 3 {
		limit := [...]int{p.budget.Plan, p.budget.Rest, p.budget.Shift}[p.phase]
		step := min(n, limit-p.used)
		if step <= 0 {
			p.Next()
			continue
		}
		n -= step
		switch {
		case p.why != nil:
			// The contradiction is reported in any case, so it has a limit of its
			// own.
			if p.why.Step(step) {
				p.relaxOne()
			}
			continue
		case p.trial != nil:
			p.tryAgain(step)
		case p.phase == 2:
			p.used += step
			if p.shift.Step(step) {
				p.Next()
			}
		default:
			p.used += step
			ended := p.solver.Step(step)
			if p.phase == 1 && p.solver.Status() == Infeasible {
				p.why = NewExplainer(p.rest.in, p.o, p.budget.Trial)
				continue
			}
			if _, ok := p.solver.Best(); ok && p.phase == 1 && !p.tried {
				p.tried = true
				for _, x := range p.r.Relaxed {
					if !x.Broken {
						p.again = append(p.again, x)
					}
				}
				if p.nextTrial() {
					continue
				}
			}
			if ended {
				p.Next()
			}
		}
	}
	return p.phase == 3
}

// nextTrial picks the next wait that was let go, and puts it back for a trial.
func (p *Replanner) nextTrial() bool {
	if len(p.again) == 0 {
		return false
	}
	x := p.again[0]
	delete(p.free, x)
	p.r.Relaxed = slices.DeleteFunc(p.r.Relaxed, func(y Relaxed) bool { return x == y })
	p.make()
	p.trial, p.trialOf = NewSolver(p.rest.in, p.o), 0
	return true
}

// tryAgain continues the trial. If it finds a rest, the wait is kept and that
// rest is used.
func (p *Replanner) tryAgain(n int) {
	ended := p.trial.Step(n)
	p.trialOf += n
	if _, ok := p.trial.Best(); ok {
		p.solver = p.trial
	} else if ended || p.trialOf >= p.budget.Trial {
		p.giveUp()
	} else {
		return
	}
	p.trial, p.again = nil, p.again[1:]
	p.nextTrial()
}

// giveUp lets the wait of the current trial go for good.
func (p *Replanner) giveUp() {
	p.relax(p.again[0])
	p.make()
}

// Next ends the current part and goes on to the next one.
func (p *Replanner) Next() {
	switch p.phase {
	case 0:
		if s, ok := p.solver.Best(); ok {
			p.r.Planned = s
		}
		p.begin()
	case 1:
		if p.why != nil {
			p.relaxOne()
			return
		}
		if p.trial != nil {
			p.giveUp()
			p.trial, p.again = nil, nil
		}
		p.r.Status = p.solver.Status()
		s, ok := p.solver.Best()
		p.r.Lower = p.lower()
		if !ok {
			p.phase = 3
			return
		}
		p.keep(s)
		if p.r.Planned == nil {
			p.r.ShiftProved = true
			p.phase = 3
			return
		}
		plan := make([]int, len(p.rest.tasks))
		for k, i := range p.rest.tasks {
			plan[k] = -1
			if !p.known[i].Started && p.r.Planned[i] >= 0 {
				// A task planned before now is late by the difference in any
				// case.
				plan[k] = max(p.r.Planned[i]-p.now.Minute, 0)
			}
		}
		p.phase, p.used = 2, 0
		p.shift = newShifter(p.rest.in, plan, s, p.rest.in.Makespan(s), p.o.Seed)
		if p.shift.Step(1) {
			p.Next()
		}
	case 2:
		p.keep(p.shift.best)
		p.phase = 3
	}
}

// Phase is the current part: 0 planning the whole day, 1 the least makespan, 2
// the least shift, 3 finished.
func (p *Replanner) Phase() int { return p.phase }

// lower is the current bound for the whole day, min. If nothing is left to start,
// the day ended with its last task, perhaps before now.
func (p *Replanner) lower() int {
	if slices.ContainsFunc(p.known, func(k Known) bool { return !k.Started }) {
		return max(p.r.Lower, p.now.Minute+p.solver.Lower())
	}
	return p.r.Lower
}

// Result is the best found so far.
func (p *Replanner) Result() Replan {
	r := p.r
	switch {
	case p.phase == 1 && p.why == nil:
		if s, ok := p.solver.Best(); ok {
			q := *p
			q.keep(s)
			r = q.r
			r.Status, r.Lower = p.solver.Status(), p.lower()
		}
	case p.phase == 2:
		q := *p
		q.keep(p.shift.best)
		r = q.r
		r.ShiftProved = p.shift.proved
	}
	r.Relaxed = slices.Clone(r.Relaxed)
	// Of one lag, the least wait comes first.
	slices.SortFunc(r.Relaxed, func(a, b Relaxed) int {
		switch {
		case a.Lag != b.Lag:
			return cmp.Compare(a.Lag, b.Lag)
		case a.Max == b.Max:
			return 0
		case b.Max:
			return -1
		}
		return 1
	})
	return r
}

// keep stores a schedule of the rest as a schedule of the whole day.
func (p *Replanner) keep(s Schedule) {
	p.r.Starts = make(Schedule, len(p.in.Tasks))
	p.r.Makespan, p.r.Shift = 0, 0
	for i, k := range p.known {
		p.r.Starts[i] = k.Start
		p.r.Makespan = max(p.r.Makespan, k.End)
	}
	for k, i := range p.rest.tasks {
		if p.known[i].Started {
			continue
		}
		at := s[k] + p.now.Minute
		p.r.Starts[i] = at
		p.r.Makespan = max(p.r.Makespan, at+p.in.Tasks[i].Duration)
		if p.r.Planned != nil && p.r.Planned[i] >= 0 {
			p.r.Shift += max(at-p.r.Planned[i], p.r.Planned[i]-at)
		}
	}
	if p.phase == 2 {
		p.r.ShiftProved = p.shift.proved
	}
}

// of is what is known of a task, or with −1 of the start of the day.
func (p *Replanner) of(i int) Known {
	if i < 0 {
		return Known{Started: true}
	}
	return p.known[i]
}

// begin records what is broken between tasks that have started, and builds the
// rest.
func (p *Replanner) begin() {
	p.phase, p.used = 1, 0
	for k, l := range p.in.Lags {
		from, to := p.of(l.From), p.of(l.To)
		if !from.Started || !to.Started {
			continue
		}
		wait := to.Start - from.Start
		if wait < l.Min {
			p.relax(Relaxed{k, false, true})
		}
		if l.HasMax && wait > l.Max {
			p.relax(Relaxed{k, true, true})
		}
	}
	for _, k := range p.known {
		p.r.Lower = max(p.r.Lower, k.End)
	}
	p.resolve()
}

func (p *Replanner) relax(x Relaxed) {
	if !p.free[x] && !p.free[Relaxed{x.Lag, x.Max, !x.Broken}] {
		p.free[x] = true
		p.r.Relaxed = append(p.r.Relaxed, x)
	}
}

func (p *Replanner) relaxed(lag int, max bool) bool {
	return p.free[Relaxed{lag, max, true}] || p.free[Relaxed{lag, max, false}]
}

// resolve builds the rest, lets waits go until the others no longer contradict
// each other, and begins to solve it.
func (p *Replanner) resolve() {
	for {
		p.make()
		cycle := cycleOf(p.rest.in)
		if cycle == nil {
			break
		}
		if !p.letGo(cycle) {
			c := Contradiction{Minimal: true}
			for _, l := range cycle {
				if l.Lag >= 0 {
					c.Lags = append(c.Lags, l.Lag)
				}
			}
			p.infeasible(c)
			return
		}
	}
	if p.used == 0 {
		p.r.Overheld = p.overheld()
	}
	p.solver = NewSolver(p.rest.in, p.o)
	if p.solver.Status() == Infeasible {
		p.why = NewExplainer(p.rest.in, p.o, p.budget.Trial)
	}
}

// letGo lets one wait of a contradiction go, and reports whether there was one.
// The order of preference is:
//
//  1. a greatest wait that is already running, before one that is not;
//  2. a wait from another task, before one from the start of the day, which may
//     be a promise to someone;
//  3. the longest of those;
//  4. a least wait, only where the task that should have come first has not started.
func (p *Replanner) letGo(links []link) bool {
	best, rank := Relaxed{}, -1
	for _, l := range links {
		if l.Lag < 0 || p.rest.lags[l.Lag].lag < 0 {
			continue
		}
		of := p.rest.lags[l.Lag]
		lag := p.in.Lags[of.lag]
		x := Relaxed{Lag: of.lag, Max: l.Max != of.turned}
		if !x.Max && !of.turned || x.Max && !lag.HasMax || p.relaxed(x.Lag, x.Max) {
			continue // nothing shortens a least wait between tasks that are still to come
		}
		from, to := p.of(lag.From), p.of(lag.To)
		score := lag.Max + 2*MaxMinutes
		if lag.From >= 0 {
			score += 8 * MaxMinutes
		}
		if !x.Max {
			score = 0
		}
		if (of.turned || from.Started) && x.Max {
			score += 16 * MaxMinutes
			x.Broken = !to.Started && from.Start+lag.Max < p.now.Minute
		} else if !x.Max {
			x.Broken = to.Start-lag.Min < p.now.Minute
		}
		if score > rank {
			best, rank = x, score
		}
	}
	if rank < 0 {
		return false
	}
	p.relax(best)
	return true
}

// make builds the rest from the waits that have not been let go.
func (p *Replanner) make() {
	r := &rest{in: &Instance{Name: p.in.Name, Resources: p.in.Resources}}
	at := map[int]int{}
	add := func(i int, t Task) {
		at[i] = len(r.tasks)
		r.tasks = append(r.tasks, i)
		r.in.Tasks = append(r.in.Tasks, t)
	}
	wait := func(of restLag, l Lag) {
		r.in.Lags = append(r.in.Lags, l)
		r.lags = append(r.lags, of)
	}
	// A running task holds what it needs until it ends. If the running tasks
	// already hold more than there is, that is accepted, and nothing more is
	// available until enough of them end.
	running := p.running()
	slices.SortStableFunc(running, func(a, b int) int { return cmp.Compare(p.known[b].End, p.known[a].End) })
	held := make([]int, len(p.in.Resources))
	for _, i := range running {
		t := p.in.Tasks[i]
		t.Duration = p.known[i].End - p.now.Minute
		t.Needs = slices.Clone(t.Needs)
		for k := range t.Needs {
			t.Needs[k] = min(t.Needs[k], p.in.Resources[k].Capacity-held[k])
			held[k] += t.Needs[k]
		}
		add(i, t)
		wait(restLag{lag: -1}, Lag{From: -1, To: at[i], HasMax: true})
	}
	for i, t := range p.in.Tasks {
		if !p.known[i].Started {
			add(i, t)
		}
	}
	for k, l := range p.in.Lags {
		freeMin, freeMax := p.relaxed(k, false), !l.HasMax || p.relaxed(k, true)
		from, to := p.of(l.From), p.of(l.To)
		switch {
		case from.Started && to.Started, freeMin && freeMax:
			continue
		case from.Started:
			// A greatest wait that has run out appears as a contradiction with
			// the rule that nothing starts before minute 0 of the rest, which is
			// now.
			since := p.now.Minute - from.Start // minutes that this wait has been running
			wait(restLag{lag: k}, Lag{From: -1, To: at[l.To], Min: l.Min - since, Max: l.Max - since, HasMax: !freeMax})
		case to.Started:
			// start(from) ≤ s − Min and start(from) ≥ s − Max, where s is the
			// start of to, counted from now.
			s := to.Start - p.now.Minute
			x := Lag{From: -1, To: at[l.From], Min: s - l.Max, Max: s - l.Min, HasMax: !freeMin}
			if freeMax {
				x.Min = min(0, x.Max)
			}
			wait(restLag{k, true}, x)
		default:
			wait(restLag{lag: k}, Lag{From: at[l.From], To: at[l.To], Min: l.Min, Max: l.Max, HasMax: !freeMax})
		}
	}
	p.rest = r
}

// running lists the tasks that run on after now.
func (p *Replanner) running() []int {
	var out []int
	for i, k := range p.known {
		if k.Running && k.End > p.now.Minute {
			out = append(out, i)
		}
	}
	return out
}

// overheld lists the running tasks that together hold more than there is.
func (p *Replanner) overheld() []Group {
	var out []Group
	for r, res := range p.in.Resources {
		g, held := Group{Resource: r}, 0
		for _, i := range p.running() {
			if n := p.in.Tasks[i].Needs[r]; n > 0 {
				g.Tasks = append(g.Tasks, i)
				held += n
			}
		}
		if held > res.Capacity {
			out = append(out, g)
		}
	}
	return out
}

// relaxOne lets go of one wait that sharing makes impossible. If there is none, the
// rest is infeasible.
func (p *Replanner) relaxOne() {
	c := p.why.Contradiction()
	var links []link
	for _, k := range c.Lags {
		if p.rest.in.Lags[k].HasMax {
			links = append(links, link{k, true})
		}
		links = append(links, link{k, false})
	}
	if !p.letGo(links) {
		p.infeasible(c)
		return
	}
	p.why = nil
	p.resolve()
}

// infeasible ends the search with a contradiction of the rest, in terms of the whole
// day.
func (p *Replanner) infeasible(c Contradiction) {
	out := Contradiction{Minimal: c.Minimal}
	for _, k := range c.Lags {
		if of := p.rest.lags[k].lag; of >= 0 && !slices.Contains(out.Lags, of) {
			out.Lags = append(out.Lags, of)
		}
	}
	for _, g := range c.Groups {
		h := Group{Resource: g.Resource}
		for _, i := range g.Tasks {
			h.Tasks = append(h.Tasks, p.rest.tasks[i])
		}
		out.Groups = append(out.Groups, h)
	}
	p.r.Contradiction, p.r.Status, p.phase, p.why = out, Infeasible, 3, nil
}
