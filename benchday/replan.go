package benchday

import (
	"cmp"
	"slices"
)

// Replan is the best rest of a day that has begun.
type Replan struct {
	Status   Status
	Starts   Schedule // of every task, as it was or is planned now; nil where none was found
	Makespan int      // min; no earlier than the ends that are known
	Lower    int      // no rest of the day ends sooner
	// Planned is the schedule that moves as little as can be: by index, −1 where
	// nothing was planned. nil where there was none.
	Planned     []int
	Shift       int  // sum over the tasks that had not started of |start − planned|, min
	ShiftProved bool // no rest of that makespan shifts less
	Relaxed     []Relaxed
	Overheld    []Group // tasks that hold more than there is as the day stands
	// Contradiction stands where the rest is Infeasible.
	Contradiction Contradiction
}

// Relaxed is a wait that is broken already, or has to be.
type Relaxed struct {
	Lag    int
	Max    bool // its greatest wait; otherwise its least
	Broken bool // already, by what has started; otherwise it has to be
}

// Budget is how many steps each part of replanning has. 0 leaves the part out.
type Budget struct {
	Plan  int // finding the schedule in hand, where the maker gives none
	Rest  int // the least makespan of the rest
	Shift int // moving as little as can be under it
	Trial int // one trial of what contradicts what
}

// Replanner looks for the best rest of a day. What has started stays where it is,
// and nothing else starts before now. A greatest wait that is broken already, or
// cannot but break, is let go and told. Then comes the least makespan, and under
// it the least total shift against the schedule in hand: the maker's, or else the
// one that the solver finds for the whole day with the same seed.
type Replanner struct {
	in     *Instance
	now    *Now
	o      Options
	budget Budget

	phase  int // index into the parts of a Budget; 3 is the end
	used   int
	solver *Solver
	why    *Explainer
	rest   *rest
	shift  *shifter
	free   map[Relaxed]bool

	// With a rest found, each wait that was let go and is not broken yet is tried
	// again: what had to go for one contradiction may do once another is let go.
	tried   bool
	again   []Relaxed
	trial   *Solver
	trialOf int // steps of it
	r       Replan
}

// rest is what is left of a day, with now as its minute 0. Waits from and to
// tasks that have started are waits from now.
type rest struct {
	in    *Instance
	tasks []int // index into the whole day
	lags  []restLag
}

// restLag says which lag of the whole day a lag of the rest is: turned round where
// its To has started and its From has not.
type restLag struct {
	lag    int
	turned bool
}

// NewReplanner prepares it; now has been read against in.
func NewReplanner(in *Instance, now *Now, o Options, b Budget) *Replanner {
	p := &Replanner{in: in, now: now, o: o, budget: b, free: map[Relaxed]bool{}}
	if now.Plan != nil || b.Plan <= 0 {
		if now.Plan != nil {
			p.r.Planned = make([]int, len(in.Tasks))
			for i := range p.r.Planned {
				p.r.Planned[i] = -1
			}
			for i, at := range now.Plan {
				p.r.Planned[i] = at
			}
		}
		p.begin()
	} else {
		p.solver = NewSolver(in, o)
	}
	return p
}

// Step goes on by about n steps, and says that nothing is left to do.
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
			// What contradicts what is told in any case, so it has its own limit.
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

// nextTrial takes back the next wait that was let go, for a trial.
func (p *Replanner) nextTrial() bool {
	if len(p.again) == 0 {
		return false
	}
	p.forget(p.again[0])
	p.make()
	p.trial, p.trialOf = NewSolver(p.rest.in, p.o), 0
	return true
}

func (p *Replanner) forget(x Relaxed) {
	delete(p.free, x)
	p.r.Relaxed = slices.DeleteFunc(p.r.Relaxed, func(y Relaxed) bool { return x == y })
}

// tryAgain goes on with the trial; where it finds a rest, the wait is kept, and
// that rest is the one in hand.
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

// giveUp lets the wait of the trial in hand go for good.
func (p *Replanner) giveUp() {
	p.relax(p.again[0])
	p.make()
}

// Next ends the part in hand and goes to the next one.
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
			if _, _, fixed, _ := p.now.facts(i, p.in.Tasks[i]); !fixed && p.r.Planned[i] >= 0 {
				// What was planned before now is late by so much whatever is done.
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

// Phase says which part is in hand: 0 the schedule in hand, 1 the least makespan,
// 2 the least shift, 3 none.
func (p *Replanner) Phase() int { return p.phase }

// lower is the bound of the whole day by now, min. Where nothing is left to
// start, the day has ended when its last task did, which may be before now.
func (p *Replanner) lower() int {
	for i, t := range p.in.Tasks {
		if _, _, fixed, _ := p.now.facts(i, t); !fixed {
			return max(p.r.Lower, p.now.Minute+p.solver.Lower())
		}
	}
	return p.r.Lower
}

// Result is the best so far.
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
	slices.SortFunc(r.Relaxed, func(a, b Relaxed) int { return cmp.Or(cmp.Compare(a.Lag, b.Lag), boolCompare(a.Max, b.Max)) })
	return r
}

func boolCompare(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// keep puts a schedule of the rest into the whole day.
func (p *Replanner) keep(s Schedule) {
	p.r.Starts = make(Schedule, len(p.in.Tasks))
	p.r.Makespan, p.r.Shift = 0, 0
	for i, t := range p.in.Tasks {
		if start, end, fixed, _ := p.now.facts(i, t); fixed {
			p.r.Starts[i] = start
			p.r.Makespan = max(p.r.Makespan, end)
		}
	}
	for k, i := range p.rest.tasks {
		t := p.in.Tasks[i]
		if _, _, fixed, _ := p.now.facts(i, t); fixed {
			continue
		}
		at := s[k] + p.now.Minute
		p.r.Starts[i] = at
		p.r.Makespan = max(p.r.Makespan, at+t.Duration)
		if p.r.Planned != nil && p.r.Planned[i] >= 0 {
			p.r.Shift += max(at-p.r.Planned[i], p.r.Planned[i]-at)
		}
	}
	if p.phase == 2 {
		p.r.ShiftProved = p.shift.proved
	}
}

// begin takes down what is broken between tasks that have started, and makes the
// rest.
func (p *Replanner) begin() {
	p.phase, p.used = 1, 0
	for k, l := range p.in.Lags {
		to, _, ok, _ := p.now.facts(l.To, p.in.Tasks[l.To])
		from := 0
		if l.From >= 0 && ok {
			from, _, ok, _ = p.now.facts(l.From, p.in.Tasks[l.From])
		}
		if !ok {
			continue
		}
		if to-from < l.Min {
			p.relax(Relaxed{k, false, true})
		}
		if l.HasMax && to-from > l.Max {
			p.relax(Relaxed{k, true, true})
		}
	}
	for i, t := range p.in.Tasks {
		if _, end, fixed, _ := p.now.facts(i, t); fixed {
			p.r.Lower = max(p.r.Lower, end)
		}
	}
	p.r.Lower = max(p.r.Lower, 0)
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

// resolve makes the rest, lets go of waits until they no longer contradict each
// other, and begins to solve it.
func (p *Replanner) resolve() {
	for {
		p.make()
		_, cycle := NewTemporal(p.rest.in)
		if cycle == nil {
			break
		}
		if !p.letGo(cycle) {
			var c Contradiction
			for _, l := range cycle {
				if l.Lag >= 0 && !slices.Contains(c.Lags, p.rest.lags[l.Lag].lag) && p.rest.lags[l.Lag].lag >= 0 {
					c.Lags = append(c.Lags, p.rest.lags[l.Lag].lag)
				}
			}
			c.Minimal = true
			p.r.Contradiction, p.r.Status, p.phase = c, Infeasible, 3
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

// letGo lets one wait of a contradiction go, and says whether there was one: a
// greatest wait whose clock is running before one whose is not, one from another
// task before one from the start of the day (which may be a promise to someone),
// and the longest of those; a least wait only where what should have come first
// has not.
func (p *Replanner) letGo(links []Link) bool {
	best, rank := Relaxed{}, -1
	for _, l := range links {
		if l.Lag < 0 || p.rest.lags[l.Lag].lag < 0 {
			continue
		}
		of := p.rest.lags[l.Lag]
		lag := p.in.Lags[of.lag]
		x := Relaxed{Lag: of.lag, Max: l.Max != of.turned}
		if !x.Max && !of.turned || x.Max && !lag.HasMax || p.relaxed(x.Lag, x.Max) {
			continue // nothing makes a least wait of what is to come shorter
		}
		began := of.turned || p.began(lag.From)
		score := lag.Max + 2*MaxMinutes
		if lag.From >= 0 {
			score += 8 * MaxMinutes
		}
		if !x.Max {
			score = 0
		}
		if began && x.Max {
			score += 16 * MaxMinutes
			start := 0
			if lag.From >= 0 {
				start, _, _, _ = p.now.facts(lag.From, p.in.Tasks[lag.From])
			}
			x.Broken = !p.began(lag.To) && start+lag.Max < p.now.Minute
		} else if !x.Max {
			start, _, _, _ := p.now.facts(lag.To, p.in.Tasks[lag.To])
			x.Broken = start-lag.Min < p.now.Minute
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

func (p *Replanner) began(i int) bool {
	if i < 0 {
		return true
	}
	_, _, fixed, _ := p.now.facts(i, p.in.Tasks[i])
	return fixed
}

// make builds the rest from what has not been let go.
func (p *Replanner) make() {
	r := &rest{in: &Instance{Name: p.in.Name, Resources: p.in.Resources}}
	at := map[int]int{}
	add := func(i int, t Task) {
		at[i] = len(r.tasks)
		r.tasks = append(r.tasks, i)
		r.in.Tasks = append(r.in.Tasks, t)
	}
	// What runs holds what it needs until it ends; where it already holds more than
	// there is, that is so, and nothing more is to be had until enough of it ends.
	var running []int
	for i, t := range p.in.Tasks {
		if _, end, _, runs := p.now.facts(i, t); runs && end > p.now.Minute {
			running = append(running, i)
		}
	}
	end := func(i int) int {
		_, e, _, _ := p.now.facts(i, p.in.Tasks[i])
		return e
	}
	slices.SortStableFunc(running, func(a, b int) int { return cmp.Compare(end(b), end(a)) })
	held := make([]int, len(p.in.Resources))
	for _, i := range running {
		t := p.in.Tasks[i]
		t.Duration = end(i) - p.now.Minute
		t.Needs = slices.Clone(t.Needs)
		for k := range t.Needs {
			t.Needs[k] = min(t.Needs[k], p.in.Resources[k].Capacity-held[k])
			held[k] += t.Needs[k]
		}
		add(i, t)
		r.in.Lags = append(r.in.Lags, Lag{From: -1, To: at[i], HasMax: true})
		r.lags = append(r.lags, restLag{lag: -1})
	}
	for i, t := range p.in.Tasks {
		if !p.began(i) {
			add(i, t)
		}
	}
	for k, l := range p.in.Lags {
		freeMin, freeMax := p.relaxed(k, false), !l.HasMax || p.relaxed(k, true)
		from, to := p.began(l.From), p.began(l.To)
		start := 0
		if from && l.From >= 0 {
			start, _, _, _ = p.now.facts(l.From, p.in.Tasks[l.From])
		}
		since := p.now.Minute - start // of the clock of this wait
		switch {
		case from && to, freeMin && freeMax:
			continue
		case from:
			// A greatest wait that has run out shows as a contradiction with the rule
			// that nothing starts before the day of the rest does, which is now.
			x := Lag{From: -1, To: at[l.To], Min: l.Min - since, Max: l.Max - since, HasMax: !freeMax}
			r.in.Lags = append(r.in.Lags, x)
			r.lags = append(r.lags, restLag{lag: k})
		case to:
			s, _, _, _ := p.now.facts(l.To, p.in.Tasks[l.To])
			// start(from) ≤ s − Min, and ≥ s − Max.
			x := Lag{From: -1, To: at[l.From], Min: s - l.Max - p.now.Minute, Max: s - l.Min - p.now.Minute, HasMax: !freeMin}
			if freeMax {
				x.Min = min(0, x.Max)
			}
			r.in.Lags = append(r.in.Lags, x)
			r.lags = append(r.lags, restLag{k, true})
		default:
			x := Lag{From: at[l.From], To: at[l.To], Min: l.Min, Max: l.Max, HasMax: !freeMax}
			r.in.Lags = append(r.in.Lags, x)
			r.lags = append(r.lags, restLag{lag: k})
		}
	}
	p.rest = r
}

// overheld gives the tasks that run and hold more than there is.
func (p *Replanner) overheld() []Group {
	var out []Group
	for r, res := range p.in.Resources {
		g, held := Group{Resource: r}, 0
		for i, t := range p.in.Tasks {
			if _, end, _, runs := p.now.facts(i, t); runs && end > p.now.Minute && t.Needs[r] > 0 {
				g.Tasks = append(g.Tasks, i)
				held += t.Needs[r]
			}
		}
		if held > res.Capacity {
			out = append(out, g)
		}
	}
	return out
}

// relaxOne lets a wait go that sharing makes impossible, or ends infeasible.
func (p *Replanner) relaxOne() {
	c := p.why.Contradiction()
	var links []Link
	for _, k := range c.Lags {
		if p.rest.in.Lags[k].HasMax {
			links = append(links, Link{k, true})
		}
		links = append(links, Link{k, false})
	}
	if !p.letGo(links) {
		p.infeasible()
		return
	}
	p.why = nil
	p.resolve()
}

// infeasible ends with what contradicts what, in the terms of the whole day.
func (p *Replanner) infeasible() {
	c := p.why.Contradiction()
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
