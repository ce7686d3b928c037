package benchday

import "slices"

// A Contradiction is a set of rules of a day that cannot all be kept: lags by
// index, and resources with the tasks that share them. If Minimal, the others can
// all be kept once any one lag is dropped, or once any one task of a group gets
// the resource to itself.
type Contradiction struct {
	Lags    []int
	Groups  []Group
	Minimal bool
}

// Group is a list of tasks, by index, that share a resource.
type Group struct {
	Resource int
	Tasks    []int
}

// ruleKey is one thing that can be left out: a lag, or a task's need of a
// resource.
type ruleKey struct {
	lag, resource, task int
}

// Explainer makes the contradiction of an infeasible day as small as it can. Its
// caller steps it. Its result can be read at any time and is a contradiction at
// every time. The same options and steps give the same answer.
type Explainer struct {
	in    *Instance
	o     Options
	kept  []ruleKey
	size  int // of the block being left out
	limit int // steps of the solver for one trial
	used  int
	owed  int // steps owed for building a trial, which reads every task
	trial *Solver
	sure  bool
	done  bool
	at    int
}

// NewExplainer starts from a day that is known to be infeasible. Each trial
// leaves something out and has at most limit steps of the solver. If a trial is
// not decided by then, what it left out is kept in the contradiction, which is
// then not called minimal.
//
// Two kinds are found at once, and are minimal: a cycle of waits that contradict
// each other alone, and a task that needs more of a resource than there is.
func NewExplainer(in *Instance, o Options, limit int) *Explainer {
	e := &Explainer{in: in, o: o, limit: max(limit, 1), sure: true}
	if cycle := cycleOf(in); cycle != nil {
		for _, l := range cycle {
			if l.Lag >= 0 {
				e.kept = append(e.kept, ruleKey{lag: l.Lag, resource: -1, task: -1})
			}
		}
		e.done = true
		return e
	}
	for i, t := range in.Tasks {
		for r, n := range t.Needs {
			if t.Duration > 0 && n > in.Resources[r].Capacity {
				e.kept = []ruleKey{{lag: -1, resource: r, task: i}}
				e.done = true
				return e
			}
		}
	}
	// A resource that is enough for all of its tasks at once contradicts nothing.
	for r, res := range in.Resources {
		sum := 0
		for _, t := range in.Tasks {
			if t.Duration > 0 {
				sum += t.Needs[r]
			}
		}
		if sum <= res.Capacity {
			continue
		}
		for i, t := range in.Tasks {
			if t.Duration > 0 && t.Needs[r] > 0 {
				e.kept = append(e.kept, ruleKey{lag: -1, resource: r, task: i})
			}
		}
	}
	for k := range in.Lags {
		e.kept = append(e.kept, ruleKey{lag: k, resource: -1, task: -1})
	}
	e.size = max(len(e.kept)/2, 1)
	return e
}

// Step works for about n solver steps. It reports whether nothing is left to try.
func (e *Explainer) Step(n int) (done bool) {
	for n > 0 && !e.done {
		if e.trial == nil {
			if e.at >= len(e.kept) {
				if e.size == 1 || len(e.kept) == 0 {
					e.done = true
					break
				}
				e.size, e.at = (e.size+1)/2, 0
			}
			e.trial, e.used = NewSolver(e.without(e.at, e.size), e.o), 0
			e.owed += len(e.in.Tasks)
		}
		if pay := min(n, e.owed); pay > 0 {
			e.owed -= pay
			n -= pay
			continue
		}
		step := min(n, e.limit-e.used)
		ended := e.trial.Step(step)
		e.used += step
		n -= step
		switch _, found := e.trial.Best(); {
		case found:
			// Without this block the rest can be kept, so some of the block must
			// stay.
			e.at += e.size
		case e.trial.Status() == Infeasible:
			e.kept = slices.Delete(e.kept, e.at, min(e.at+e.size, len(e.kept)))
		case ended || e.used >= e.limit:
			e.sure = e.sure && e.size > 1
			e.at += e.size
		default:
			continue
		}
		e.trial = nil
	}
	return e.done
}

// without is the day under the rules that are kept, minus a block of them.
func (e *Explainer) without(at, size int) *Instance {
	out := &Instance{Resources: e.in.Resources, Tasks: slices.Clone(e.in.Tasks)}
	for i := range out.Tasks {
		out.Tasks[i].Needs = make([]int, len(e.in.Resources))
	}
	for i, k := range e.kept {
		switch {
		case i >= at && i < at+size:
		case k.lag >= 0:
			out.Lags = append(out.Lags, e.in.Lags[k.lag])
		default:
			out.Tasks[k.task].Needs[k.resource] = e.in.Tasks[k.task].Needs[k.resource]
		}
	}
	return out
}

// Contradiction is the smallest one found so far.
func (e *Explainer) Contradiction() Contradiction {
	c := Contradiction{Minimal: e.done && e.sure}
	for _, k := range e.kept {
		if k.lag >= 0 {
			if !slices.Contains(c.Lags, k.lag) {
				c.Lags = append(c.Lags, k.lag)
			}
			continue
		}
		g := slices.IndexFunc(c.Groups, func(g Group) bool { return g.Resource == k.resource })
		if g < 0 {
			g = len(c.Groups)
			c.Groups = append(c.Groups, Group{Resource: k.resource})
		}
		c.Groups[g].Tasks = append(c.Groups[g].Tasks, k.task)
	}
	return c
}
