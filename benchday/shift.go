package benchday

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// before says start(to) ≥ start(from) + wait.
type before struct{ from, to, wait int }

// shifter looks for the schedule that moves least from a plan: the least sum of
// |start − planned start| within a makespan.
//
// For a given order on the resources, this is a convex function under limits on
// differences of starts. Starting from the earliest schedule and raising sets of
// starts solves it exactly (steepest ascent for L♮-convex functions: Murota 2003,
// from memory). Tasks that overlap beyond a capacity are put in order by branch
// and bound. Where that takes too long, parts of the best order found are taken
// apart and solved again.
type shifter struct {
	in     *Instance
	plan   []int // by task; −1 if it was not planned
	latest []int // by task: latest start within the makespan
	waits  []before
	rng    *rand.Rand

	best   Schedule
	cost   int
	bound  int      // proved: no schedule of that makespan has a smaller shift
	whole  []*order // open nodes of the branch and bound over all orders
	part   []*order // the same over a part that was taken apart
	parts  bool     // working on the part now
	left   int      // nodes before switching to the other
	proved bool
}

// firstNodes is how many nodes the branch and bound over all orders gets before a
// part is taken apart for the first time. After that they alternate, with
// turnNodes each.
const firstNodes, turnNodes = 2000, 300

// order is a node: the orders decided so far, and the best schedule under them if
// nothing else were shared.
type order struct {
	up    *order
	added []before
	s     []int
	cost  int
}

// newShifter starts from a schedule that keeps every rule.
func newShifter(in *Instance, plan []int, from Schedule, makespan int, seed uint64) *shifter {
	h := &shifter{in: in, plan: plan, rng: rand.New(rand.NewPCG(seed, 0x5417)), best: slices.Clone(from), left: firstNodes}
	for _, t := range in.Tasks {
		h.latest = append(h.latest, makespan-t.Duration)
	}
	for _, l := range in.Lags {
		h.waits = append(h.waits, before{l.From, l.To, l.Min})
		if l.HasMax {
			h.waits = append(h.waits, before{l.To, l.From, -l.Max})
		}
	}
	h.cost = h.total(h.best)
	// Keep the order of the given schedule, but move its starts as little as
	// possible.
	if o := h.solve(nil, h.orders(h.best, nil)); o != nil && o.cost < h.cost {
		h.best, h.cost = slices.Clone(o.s), o.cost
	}
	root := h.solve(nil, nil)
	if root == nil { // cannot happen: from keeps every wait
		h.bound, h.proved = h.cost, true
		return h
	}
	h.bound = root.cost
	h.whole = []*order{root}
	return h
}

// total is the sum of the shifts, min.
func (h *shifter) total(s []int) int {
	sum := 0
	for i, p := range h.plan {
		if p >= 0 {
			sum += max(s[i]-p, p-s[i])
		}
	}
	return sum
}

// orders is the order on every resource in s: for each two tasks that share a
// resource, which one ended before the other started. Tasks without an order
// overlap in s. Tasks that overlap in pairs all share one minute of s, so any
// schedule with this order keeps the capacities. Tasks in loose get no order.
func (h *shifter) orders(s []int, loose []bool) []before {
	var out []before
	for i, a := range h.in.Tasks {
		if a.Duration == 0 || loose != nil && loose[i] {
			continue
		}
		for j, b := range h.in.Tasks {
			if i == j || b.Duration == 0 || loose != nil && loose[j] || s[i]+a.Duration > s[j] {
				continue
			}
			for r := range h.in.Resources {
				if a.Needs[r] > 0 && b.Needs[r] > 0 {
					out = append(out, before{i, j, a.Duration})
					break
				}
			}
		}
	}
	return out
}

// Step looks at about n nodes. It reports whether the least shift is proved.
func (h *shifter) Step(n int) (done bool) {
	for ; n > 0 && !h.proved; n-- {
		if h.cost == h.bound {
			h.proved = true
			break
		}
		if h.left <= 0 {
			h.parts, h.left = !h.parts, turnNodes
			if h.parts {
				h.takeApart()
			}
			continue
		}
		stack := &h.whole
		if h.parts {
			stack = &h.part
		}
		if len(*stack) == 0 {
			if !h.parts {
				h.bound, h.proved = h.cost, true
				break
			}
			h.left = 0
			continue
		}
		o := (*stack)[len(*stack)-1]
		*stack = (*stack)[:len(*stack)-1]
		h.left--
		if o.cost >= h.cost {
			continue
		}
		clash := h.clash(o.s)
		if clash == nil {
			h.best, h.cost = slices.Clone(o.s), o.cost
			continue
		}
		var next []*order
		for _, i := range clash {
			for _, j := range clash {
				if i == j {
					continue
				}
				if c := h.solve(o, []before{{i, j, h.in.Tasks[i].Duration}}); c != nil && c.cost < h.cost {
					next = append(next, c)
				}
				n--
			}
		}
		slices.SortStableFunc(next, func(a, b *order) int { return cmp.Compare(b.cost, a.cost) })
		*stack = append(*stack, next...)
	}
	return h.proved
}

// takeApart removes a few tasks of the best schedule from the order, so that they
// are ordered again.
func (h *shifter) takeApart() {
	n := len(h.in.Tasks)
	loose := make([]bool, n)
	centre := h.rng.IntN(n)
	near := make([]int, n)
	for i := range near {
		near[i] = i
	}
	far := func(i int) int { return max(h.best[i]-h.best[centre], h.best[centre]-h.best[i]) }
	slices.SortStableFunc(near, func(a, b int) int { return cmp.Compare(far(a), far(b)) })
	for _, i := range near[:min(n, 2+h.rng.IntN(5))] {
		loose[i] = true
	}
	for range h.rng.IntN(3) {
		loose[h.rng.IntN(n)] = true
	}
	h.part = h.part[:0]
	if o := h.solve(nil, h.orders(h.best, loose)); o != nil && o.cost < h.cost {
		h.part = append(h.part, o)
	}
}

// clash finds tasks that together hold more than there is, none of which can be
// left out, or nil if there are none. It takes the first in time, and prefers two
// tasks to many.
func (h *shifter) clash(s []int) []int {
	var found []int
	first := 0
	for r, res := range h.in.Resources {
		at, ok := -1, false
		for i, t := range h.in.Tasks { // a resource is first overloaded when a task starts
			if t.Duration == 0 || t.Needs[r] == 0 || ok && s[i] >= at {
				continue
			}
			held := 0
			for j, u := range h.in.Tasks {
				if u.Needs[r] > 0 && s[j] <= s[i] && s[i] < s[j]+u.Duration {
					held += u.Needs[r]
				}
			}
			if held > res.Capacity {
				at, ok = s[i], true
			}
		}
		if !ok || found != nil && (len(found) == 2 || at >= first) {
			continue
		}
		var set []int
		held := 0
		for j, u := range h.in.Tasks {
			if u.Needs[r] > 0 && s[j] <= at && at < s[j]+u.Duration {
				set = append(set, j)
				held += u.Needs[r]
			}
		}
		slices.SortStableFunc(set, func(a, b int) int { return cmp.Compare(h.in.Tasks[a].Needs[r], h.in.Tasks[b].Needs[r]) })
		for k := 0; k < len(set); {
			if need := h.in.Tasks[set[k]].Needs[r]; held-need > res.Capacity {
				held -= need
				set = slices.Delete(set, k, k+1)
			} else {
				k++
			}
		}
		found, first = set, at
	}
	return found
}

// solve finds the least shift under the waits and the decided orders. It returns
// nil if no schedule of the makespan keeps them.
func (h *shifter) solve(up *order, added []before) *order {
	n := len(h.in.Tasks)
	waits := slices.Clone(h.waits)
	waits = append(waits, added...)
	for o := up; o != nil; o = o.up {
		waits = append(waits, o.added...)
	}
	s := make([]int, n)
	latest := slices.Clone(h.latest)
	var inner []before
	for _, w := range waits {
		switch {
		case w.from < 0:
			s[w.to] = max(s[w.to], w.wait)
		case w.to < 0:
			latest[w.from] = min(latest[w.from], -w.wait)
		default:
			inner = append(inner, w)
		}
	}
	for moved := true; moved; {
		moved = false
		for _, w := range inner {
			if v := s[w.from] + w.wait; v > s[w.to] {
				s[w.to], moved = v, true
				if v > latest[w.to] {
					return nil
				}
			}
		}
	}
	for i := range s {
		if s[i] > latest[i] {
			return nil
		}
	}
	for h.raise(s, latest, inner) {
	}
	return &order{up: up, added: added, s: s, cost: h.total(s)}
}

// raise moves one set of starts later, for as long as this saves, and reports
// whether there was such a set. A start that moves later takes others along that
// cannot stay. The set that saves most is a maximum closure, found by a minimum
// cut.
func (h *shifter) raise(s, latest []int, waits []before) bool {
	n := len(s)
	next := make([][]int, n)
	prev := make([][]int, n)
	for _, w := range waits {
		if s[w.to] == s[w.from]+w.wait {
			next[w.from] = append(next[w.from], w.to)
			prev[w.to] = append(prev[w.to], w.from)
		}
	}
	gain := make([]int, n) // +1 saves, −1 costs, a large cost means it must not move
	many := n + 1
	for i, p := range h.plan {
		switch {
		case s[i] >= latest[i]:
			gain[i] = -many
		case p >= 0 && s[i] < p:
			gain[i] = 1
		case p >= 0:
			gain[i] = -1
		}
	}
	// The flow goes from what saves to what costs, along what has to move with
	// it.
	flow := map[[2]int]int{}
	left := slices.Clone(gain)
	from := make([]int, n)
	reach := func() int {
		for i := range from {
			from[i] = -1
		}
		var queue []int
		for i, g := range left {
			if g > 0 {
				from[i] = i
				queue = append(queue, i)
			}
		}
		for k := 0; k < len(queue); k++ {
			i := queue[k]
			if left[i] < 0 {
				return i
			}
			for _, j := range next[i] {
				if from[j] < 0 {
					from[j] = i
					queue = append(queue, j)
				}
			}
			for _, j := range prev[i] {
				if from[j] < 0 && flow[[2]int{j, i}] > 0 {
					from[j] = i
					queue = append(queue, j)
				}
			}
		}
		return -1
	}
	for {
		end := reach()
		if end < 0 {
			break
		}
		left[end]++
		i := end
		for from[i] != i {
			j := from[i]
			if flow[[2]int{i, j}] > 0 {
				flow[[2]int{i, j}]--
			} else {
				flow[[2]int{j, i}]++
			}
			i = j
		}
		left[i]--
	}
	// What can still be reached saves more than the tasks that it takes along
	// cost.
	saves := 0
	step := 0
	short := func(v int) {
		if step == 0 || v < step {
			step = v
		}
	}
	for i := range s {
		if from[i] < 0 {
			continue
		}
		saves += gain[i]
		short(latest[i] - s[i])
		if gain[i] > 0 {
			short(h.plan[i] - s[i])
		}
	}
	if saves <= 0 {
		return false
	}
	for _, w := range waits {
		if from[w.from] >= 0 && from[w.to] < 0 {
			short(s[w.to] - s[w.from] - w.wait)
		}
	}
	for i := range s {
		if from[i] >= 0 {
			s[i] += step
		}
	}
	return true
}
