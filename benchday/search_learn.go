package benchday

import (
	"math/rand/v2"
	"slices"
)

// The proof is a depth-first search that learns. There is a variable for every
// start, for the makespan, and for the order of every two tasks that cannot run
// together. Each has a lower and an upper bound.
//
// Everything is expressed as 'a bound is at least a value'. Each propagator can
// say from which bounds a new bound follows. From these reasons, every dead end
// yields a clause that is true of every schedule within the current limit, and
// that rules out more than the dead end alone. Schutt, Feydy, Stuckey and Wallace
// (2013) do this for the same problem with one Boolean for each value; here the
// bounds themselves are the literals.

// A lit says that bound p is at least v. Bound 2x is the lower bound of variable
// x, and bound 2x+1 the lower bound of −x. So the opposite of (p, v) is (p^1,
// 1−v).
type lit struct{ p, v int32 }

func (l lit) not() lit { return lit{l.p ^ 1, 1 - l.v} }

// noLit is a condition that always holds.
var noLit = lit{p: -1}

const (
	byDecision = iota
	byClause   // ref: the clause
	byEdge     // ref: the edge
	byReasons  // ref: position in reasons; the first entry is their number
)

// An event records that a bound was raised.
type event struct {
	p, v, was int32
	before    int32 // the event that raised p before this one; −1 if none did since the root
	ref       int32
	level     int32
	by        uint8
}

// An edge says: while cond holds, bound to is at least bound from + w.
type edge struct {
	from, to, w int32
	cond        lit
}

type clause struct {
	lits []lit
	glue int32 // how many levels it spans
	dead bool
}

type watcher struct {
	at  int32 // the watched literal is false from this value on
	ref int32
}

type learner struct {
	m     *model
	tasks int32 // variables 0 … tasks−1 are starts, tasks is the makespan, the rest are orders
	vars  int32

	cur, root []int32 // by bound: the value now, and at the root
	last      []int32 // by bound: the last event that raised it
	trail     []event
	head      int
	levels    []int32 // length of the trail at each decision
	tops      []int32 // length of reasons at each decision
	reasons   []lit

	edges    []edge
	out, on  [][]int32 // edges by the bound they start from, and by the bound of their condition
	clauses  []clause
	watches  [][]watcher
	learned  int
	maxLearn int
	spare    []int32

	pools  []*cumulative
	ofTask [][]int32 // pools by task
	queue  []int32

	// The current dead end: the bounds that contradict each other.
	conflict    []lit
	wanted      []int32 // by bound: the value that the dead end needs; none if it needs none
	touched     []int32
	buf, learnt []lit
	seen        []bool // by level

	activity []float64
	bump     float64
	heap     []int32
	place    []int32

	guide []int32 // the best schedule known; new orders follow it first
	phase []int8

	unsat      bool  // nothing is possible even at the root
	target     int32 // the makespan limit that the first decision tries; 0 for none
	conflicts  int
	decisions  int
	limit      int // conflicts left before the next restart
	restarts   int
	bySchedule bool
}

func newLearner(m *model, seed uint64) *learner {
	s := &learner{m: m, tasks: int32(m.n), bump: 1, maxLearn: 4000}
	rng := rand.New(rand.NewPCG(seed, 0x6265_6e63_6864_6179))
	n := int32(m.n)

	// Two tasks that cannot run together are put in order at once if one order is
	// impossible. The other pairs become variables.
	type pair struct{ i, j int32 }
	var open []pair
	for again := true; again; {
		again = false
		open = open[:0]
		for i := range n {
			for j := i + 1; j < n; j++ {
				if !m.apart(i, j) || m.dist[i][j] >= m.dur[i] || m.dist[j][i] >= m.dur[j] {
					continue
				}
				ij, ji := m.dist[j][i] == none || m.dist[j][i]+m.dur[i] <= 0, m.dist[i][j] == none || m.dist[i][j]+m.dur[j] <= 0
				switch {
				case ij && ji:
					open = append(open, pair{i, j})
				case ij:
					again = m.follow(i, j, m.dur[i]) || again
				case ji:
					again = m.follow(j, i, m.dur[j]) || again
				default:
					s.unsat = true
					return s
				}
			}
		}
	}
	if len(open) > 20000 {
		open = open[:20000] // these only help; the resources are watched anyway
	}
	s.vars = n + 1 + int32(len(open))
	b := 2 * s.vars
	s.cur, s.root, s.last = make([]int32, b), make([]int32, b), make([]int32, b)
	s.wanted = make([]int32, b)
	s.out, s.on, s.watches = make([][]int32, b), make([][]int32, b), make([][]watcher, b)
	s.activity, s.phase, s.place = make([]float64, s.vars), make([]int8, s.vars), make([]int32, s.vars)
	for p := range b {
		s.last[p], s.wanted[p] = -1, none
	}
	for i := range n {
		s.cur[2*i], s.cur[2*i+1] = m.est[i], -m.lst[i]
	}
	s.cur[2*n], s.cur[2*n+1] = m.lower, -m.horizon
	for _, a := range m.arcs {
		s.addEdge(2*a.from, 2*a.to, a.w, noLit)
	}
	for i := range n {
		s.addEdge(2*i, 2*n, m.dur[i], noLit)
	}
	for k, pr := range open {
		x := n + 1 + int32(k)
		s.cur[2*x], s.cur[2*x+1] = 0, -1
		s.addEdge(2*pr.i, 2*pr.j, m.dur[pr.i], lit{2 * x, 1})
		s.addEdge(2*pr.j, 2*pr.i, m.dur[pr.j], lit{2*x + 1, 0})
	}
	s.ofTask = make([][]int32, n)
	for r, p := range m.res {
		if len(p.tasks) < 2 {
			continue
		}
		var need []int32
		for _, i := range p.tasks {
			need = append(need, m.need[i][r])
		}
		s.watch(p.capacity, p.tasks, need)
	}
	for _, c := range m.cliques(maxCliques) {
		s.watch(1, c, slices.Repeat([]int32{1}, len(c)))
	}
	copy(s.root, s.cur)
	for x := range s.vars {
		s.place[x] = -1
		s.activity[x] = rng.Float64() * 1e-3
		s.push(x)
	}
	for p := range b {
		s.touch(p)
	}
	for p := range b {
		if s.cur[p]+s.cur[p^1] > 0 {
			s.unsat = true
			return s
		}
		for _, e := range s.out[p] {
			if !s.relax(e) {
				s.unsat = true
				return s
			}
		}
	}
	s.settleRoot()
	return s
}

// watch adds a resource.
func (s *learner) watch(capacity int32, tasks, need []int32) {
	for _, i := range tasks {
		s.ofTask[i] = append(s.ofTask[i], int32(len(s.pools)))
	}
	s.pools = append(s.pools, newCumulative(s, capacity, tasks, need))
}

func (s *learner) addEdge(from, to, w int32, cond lit) {
	for range 2 {
		e := int32(len(s.edges))
		s.edges = append(s.edges, edge{from, to, w, cond})
		s.out[from] = append(s.out[from], e)
		if cond != noLit {
			s.on[cond.p] = append(s.on[cond.p], e)
		}
		from, to = to^1, from^1
	}
}

func (s *learner) level() int32 { return int32(len(s.levels)) }

func (s *learner) holds(l lit) bool { return s.cur[l.p] >= l.v }

// touch queues the pools that depend on bound p.
func (s *learner) touch(p int32) {
	if x := p >> 1; x < s.tasks {
		for _, c := range s.ofTask[x] {
			if !s.pools[c].queued {
				s.pools[c].queued = true
				s.queue = append(s.queue, c)
			}
		}
	}
}

// raise sets bound p to at least v, for the given reason. It returns false if
// that leaves the variable no value; conflict then holds the contradiction.
func (s *learner) raise(p, v int32, by uint8, ref int32) bool {
	if s.cur[p] >= v {
		return true
	}
	if v+s.cur[p^1] > 0 {
		need := 1 - s.cur[p^1] // a smaller v would have been enough
		s.conflict = append(s.conflict[:0], lit{p ^ 1, s.cur[p^1]})
		s.conflict = s.explain(s.conflict, p, need, by, ref)
		return false
	}
	s.trail = append(s.trail, event{p: p, v: v, was: s.cur[p], before: s.last[p], ref: ref, level: s.level(), by: by})
	s.last[p] = int32(len(s.trail) - 1)
	s.cur[p] = v
	return true
}

// because stores the reasons for an event and returns their position.
func (s *learner) because(lits []lit) int32 {
	at := int32(len(s.reasons))
	s.reasons = append(s.reasons, lit{p: int32(len(lits))})
	s.reasons = append(s.reasons, lits...)
	return at
}

// explain appends the bounds from which bound p ≥ v followed.
func (s *learner) explain(dst []lit, p, v int32, by uint8, ref int32) []lit {
	switch by {
	case byEdge:
		e := &s.edges[ref]
		dst = append(dst, lit{e.from, v - e.w})
		if e.cond != noLit {
			dst = append(dst, e.cond)
		}
	case byClause:
		skipped := false
		for _, l := range s.clauses[ref].lits {
			if !skipped && l.p == p {
				skipped = true
				continue
			}
			dst = append(dst, l.not())
		}
	case byReasons:
		dst = append(dst, s.reasons[ref+1:ref+1+s.reasons[ref].p]...)
	}
	return dst
}

// relax brings one edge up to date.
func (s *learner) relax(e int32) bool {
	d := &s.edges[e]
	v := s.cur[d.from] + d.w
	if d.cond == noLit || s.holds(d.cond) {
		return s.cur[d.to] >= v || s.raise(d.to, v, byEdge, e)
	}
	// The edge would leave bound to no value, so its condition is false.
	if over := s.cur[d.to^1] + v; over > 0 {
		not := d.cond.not()
		if s.holds(not) {
			return true
		}
		why := [2]lit{{d.from, s.cur[d.from] - over + 1}, {d.to ^ 1, s.cur[d.to^1]}}
		return s.raise(not.p, not.v, byReasons, s.because(why[:]))
	}
	return true
}

func (s *learner) propagate() bool {
	for {
		for s.head < len(s.trail) {
			e := s.trail[s.head]
			s.head++
			s.touch(e.p)
			if s.cur[e.p] == e.v {
				for _, k := range s.out[e.p] {
					if !s.relax(k) {
						return false
					}
				}
			}
			for _, k := range s.on[e.p] {
				if c := s.edges[k].cond; c.v > e.was && c.v <= e.v && !s.relax(k) {
					return false
				}
			}
			if !s.wake(e) {
				return false
			}
		}
		if len(s.queue) == 0 {
			return true
		}
		c := s.queue[0]
		copy(s.queue, s.queue[1:])
		s.queue = s.queue[:len(s.queue)-1]
		s.pools[c].queued = false
		if !s.pools[c].propagate() {
			return false
		}
	}
}

// wake looks at the clauses in which a watched literal has become false.
func (s *learner) wake(e event) bool {
	list := s.watches[e.p]
	keep := 0
	for k := 0; k < len(list); k++ {
		w := list[k]
		if w.at <= e.was || w.at > e.v {
			list[keep] = w
			keep++
			continue
		}
		c := &s.clauses[w.ref]
		if c.dead {
			continue
		}
		lits := c.lits
		// Put the false literal at position 1.
		if lits[0].p == e.p^1 && 1-lits[0].v == w.at {
			lits[0], lits[1] = lits[1], lits[0]
		}
		if s.holds(lits[0]) {
			list[keep] = w
			keep++
			continue
		}
		moved := false
		for j := 2; j < len(lits); j++ {
			if not := lits[j].not(); !s.holds(not) {
				lits[1], lits[j] = lits[j], lits[1]
				s.watches[not.p] = append(s.watches[not.p], watcher{not.v, w.ref})
				moved = true
				break
			}
		}
		if moved {
			if len(s.watches[e.p]) != len(list) { // a watch was added to this very list
				list = s.watches[e.p]
			}
			continue
		}
		list[keep] = w
		keep++
		if !s.raise(lits[0].p, lits[0].v, byClause, w.ref) {
			keep += copy(list[keep:], list[k+1:])
			s.watches[e.p] = list[:keep]
			return false
		}
	}
	s.watches[e.p] = list[:keep]
	return true
}

// settleRoot propagates at the root and then forgets why its bounds hold.
func (s *learner) settleRoot() bool {
	if s.unsat {
		return false
	}
	if !s.propagate() {
		s.unsat = true
		s.clearQueue()
		return false
	}
	for _, e := range s.trail {
		s.last[e.p] = -1
	}
	copy(s.root, s.cur)
	s.trail, s.head, s.reasons = s.trail[:0], 0, s.reasons[:0]
	return true
}

func (s *learner) clearQueue() {
	for _, c := range s.queue {
		s.pools[c].queued = false
	}
	s.queue = s.queue[:0]
}

func (s *learner) decide(l lit) bool {
	s.levels = append(s.levels, int32(len(s.trail)))
	s.tops = append(s.tops, int32(len(s.reasons)))
	s.decisions++
	return s.raise(l.p, l.v, byDecision, 0)
}

func (s *learner) backTo(level int32) {
	if s.level() <= level {
		return
	}
	cut := s.levels[level]
	for k := int32(len(s.trail)) - 1; k >= cut; k-- {
		e := &s.trail[k]
		s.cur[e.p] = e.was
		s.last[e.p] = e.before
		x := e.p >> 1
		if x > s.tasks {
			s.phase[x] = int8(1 + e.p&1) // 1: it was set to 1; 2: it was set to 0
		}
		if s.place[x] < 0 {
			s.push(x)
		}
	}
	s.trail = s.trail[:cut]
	s.head = int(cut)
	s.reasons = s.reasons[:s.tops[level]]
	s.levels, s.tops = s.levels[:level], s.tops[:level]
	s.clearQueue()
}

// since is the event that made bound p ≥ v true, or −1 if it was true at the
// root.
func (s *learner) since(p, v int32) int32 {
	k := s.last[p]
	for k >= 0 && s.trail[k].was >= v {
		k = s.trail[k].before
	}
	return k
}

// need adds p ≥ v to what the dead end needs, and counts those of the current
// level.
func (s *learner) need(l lit, count *int) {
	if l.v <= s.root[l.p] || l.v <= s.wanted[l.p] {
		return
	}
	here := s.trail[s.since(l.p, l.v)].level == s.level()
	if old := s.wanted[l.p]; old == none {
		s.touched = append(s.touched, l.p)
		if here {
			*count++
		}
	} else if here && s.trail[s.since(l.p, old)].level != s.level() {
		*count++
	}
	s.wanted[l.p] = l.v
	s.bumpVar(l.p >> 1)
}

// analyse turns the dead end into a clause, returns to the level at which that
// clause says something new, and applies it. It returns false if nothing is left
// to try.
func (s *learner) analyse() bool {
	s.conflicts++
	s.clearQueue()
	// The dead end may belong to a level before the current one.
	top := int32(0)
	for _, l := range s.conflict {
		if l.v > s.root[l.p] {
			top = max(top, s.trail[s.since(l.p, l.v)].level)
		}
	}
	if top == 0 {
		s.unsat = true
		return false
	}
	s.backTo(top)
	count := 0
	s.touched = s.touched[:0]
	for _, l := range s.conflict {
		s.need(l, &count)
	}
	var uip lit
	for k := int32(len(s.trail)) - 1; ; k-- {
		e := &s.trail[k]
		v := s.wanted[e.p]
		if v == none || v <= e.was || v > e.v {
			continue
		}
		if count == 1 {
			uip = lit{e.p, v}
			break
		}
		count--
		s.wanted[e.p] = none
		s.buf = s.explain(s.buf[:0], e.p, v, e.by, e.ref)
		for _, l := range s.buf {
			s.need(l, &count)
		}
	}
	// Keep what remains, but drop what follows from the rest.
	learnt := append(s.learnt[:0], uip.not())
	for _, p := range s.touched {
		v := s.wanted[p]
		if v == none || p == uip.p && v == uip.v {
			continue
		}
		at := s.since(p, v)
		e := &s.trail[at]
		if e.by != byDecision {
			s.buf = s.explain(s.buf[:0], p, v, e.by, e.ref)
			spare := true
			for _, l := range s.buf {
				// More may be needed of the same bound, and by this very event.
				// Then each would justify leaving out the other.
				if l.v > s.root[l.p] && (s.wanted[l.p] < l.v || s.since(l.p, s.wanted[l.p]) >= at) {
					spare = false
					break
				}
			}
			if spare {
				continue
			}
		}
		learnt = append(learnt, lit{p, v}.not())
	}
	for _, p := range s.touched {
		s.wanted[p] = none
	}
	// A bound may appear twice in touched.
	slices.SortFunc(learnt[1:], func(a, b lit) int {
		if a.p != b.p {
			return int(a.p - b.p)
		}
		return int(a.v - b.v)
	})
	learnt = slices.Compact(learnt)
	s.learnt = learnt
	s.bump *= 1 / 0.95
	if s.bump > 1e100 {
		for x := range s.activity {
			s.activity[x] *= 1e-100
		}
		s.bump *= 1e-100
	}
	if len(learnt) == 1 {
		s.backTo(0)
		ok := s.raise(learnt[0].p, learnt[0].v, byDecision, 0)
		if !ok {
			s.unsat = true
			return false
		}
		return s.settleRoot()
	}
	back, at := int32(0), 1
	glue := int32(0)
	s.seen = append(s.seen[:0], make([]bool, s.level()+1)...)
	for k, l := range learnt[1:] {
		not := l.not()
		lv := s.trail[s.since(not.p, not.v)].level
		if !s.seen[lv] {
			s.seen[lv] = true
			glue++
		}
		if lv > back {
			back, at = lv, k+1
		}
	}
	learnt[1], learnt[at] = learnt[at], learnt[1]
	s.backTo(back)
	ref := s.add(clause{lits: slices.Clone(learnt), glue: glue})
	s.raise(learnt[0].p, learnt[0].v, byClause, ref)
	return true
}

func (s *learner) add(c clause) int32 {
	var ref int32
	if k := len(s.spare); k > 0 {
		ref = s.spare[k-1]
		s.spare = s.spare[:k-1]
		s.clauses[ref] = c
	} else {
		ref = int32(len(s.clauses))
		s.clauses = append(s.clauses, c)
	}
	for _, l := range c.lits[:2] {
		not := l.not()
		s.watches[not.p] = append(s.watches[not.p], watcher{not.v, ref})
	}
	s.learned++
	return ref
}

// forget drops the half of the learned clauses that span the most levels. It is
// called only at the root, where no event depends on a clause.
func (s *learner) forget() {
	var refs []int32
	for k := range s.clauses {
		if c := &s.clauses[k]; !c.dead && c.glue > 2 {
			refs = append(refs, int32(k))
		}
	}
	slices.SortFunc(refs, func(a, b int32) int {
		if d := s.clauses[b].glue - s.clauses[a].glue; d != 0 {
			return int(d)
		}
		if d := len(s.clauses[b].lits) - len(s.clauses[a].lits); d != 0 {
			return d
		}
		return int(a - b)
	})
	for _, k := range refs[:len(refs)/2] {
		s.clauses[k].dead = true
	}
	for p := range s.watches {
		s.watches[p] = slices.DeleteFunc(s.watches[p], func(w watcher) bool { return s.clauses[w.ref].dead })
	}
	for _, k := range refs[:len(refs)/2] {
		s.clauses[k].lits = nil
		s.spare = append(s.spare, k)
		s.learned--
	}
	s.maxLearn += s.maxLearn / 10
}

// better says that from now on only a makespan below end is of interest.
func (s *learner) better(end int32) {
	s.backTo(0)
	if !s.unsat && !s.raise(2*s.tasks+1, 1-end, byDecision, 0) {
		s.unsat = true
	}
	s.settleRoot()
}

// lower is the proved lower bound of the makespan. It means nothing once unsat.
func (s *learner) lower() int32 { return s.root[2*s.tasks] }

// probe tries makespan ≤ end by propagation alone. It reports whether that may be
// possible.
func (s *learner) probe(end int32) bool {
	s.backTo(0)
	if !s.decide(lit{2*s.tasks + 1, -end}) || !s.propagate() {
		s.backTo(0)
		if !s.raise(2*s.tasks, end+1, byDecision, 0) {
			s.unsat = true
			return false
		}
		s.settleRoot()
		return false
	}
	s.backTo(0)
	return true
}

// next chooses the next decision. It returns false if every start is fixed.
func (s *learner) next() (lit, bool) {
	if s.target > 0 && s.level() == 0 {
		return lit{2*s.tasks + 1, -s.target}, true
	}
	if !s.bySchedule {
		for len(s.heap) > 0 {
			x := s.heap[0]
			if s.cur[2*x]+s.cur[2*x+1] == 0 || x == s.tasks {
				s.pop()
				continue
			}
			if x > s.tasks {
				if s.phase[x] == 2 {
					return lit{2*x + 1, 0}, true
				}
				return lit{2 * x, 1}, true
			}
			if s.guide != nil {
				at := s.guide[x]
				if at > s.cur[2*x] && at <= -s.cur[2*x+1] {
					return lit{2 * x, at}, true
				}
			}
			return lit{2*x + 1, -s.cur[2*x]}, true
		}
		return lit{}, false
	}
	best := int32(-1)
	for x := range s.tasks {
		if s.cur[2*x]+s.cur[2*x+1] == 0 {
			continue
		}
		if best < 0 || s.cur[2*x] < s.cur[2*best] || s.cur[2*x] == s.cur[2*best] && s.cur[2*x+1] > s.cur[2*best+1] {
			best = x
		}
	}
	if best < 0 {
		return lit{}, false
	}
	return lit{2*best + 1, -s.cur[2*best]}, true
}

// step continues the search for at most nodes decisions. It returns a schedule
// when it finds one; the caller must then call better.
func (s *learner) step(nodes int) []int32 {
	if s.unsat {
		return nil
	}
	until := s.decisions + nodes
	for s.decisions < until {
		if !s.propagate() {
			if !s.analyse() {
				return nil
			}
			continue
		}
		if s.level() == 0 {
			if !s.settleRoot() {
				return nil
			}
			if s.target > 0 && s.target < s.lower() {
				s.target = 0
				return nil // the caller chooses another limit
			}
		}
		if s.conflicts >= s.limit {
			s.restart()
			continue
		}
		l, ok := s.next()
		if !ok {
			out := make([]int32, s.tasks)
			for x := range out {
				out[x] = s.cur[2*x]
			}
			return out
		}
		if !s.decide(l) && !s.analyse() {
			return nil
		}
	}
	return nil
}

func (s *learner) restart() {
	s.backTo(0)
	s.restarts++
	s.limit = s.conflicts + 100*luby(s.restarts)
	s.bySchedule = s.restarts%4 == 1
	// From time to time, try the other end: a day as short as the bound. Either
	// it is found, or the bound rises.
	s.target = 0
	if s.restarts%8 == 6 {
		s.target = s.lower()
		s.limit += 200
	}
	if s.learned > s.maxLearn && s.settleRoot() {
		s.forget()
	}
}

// luby is the k-th number of 1 1 2 1 1 2 4 1 1 2 …
func luby(k int) int {
	for {
		p := 1
		for p-1 < k {
			p *= 2
		}
		if p-1 == k {
			return p / 2
		}
		k -= p/2 - 1
	}
}

// A heap of variables by activity.

func (s *learner) bumpVar(x int32) {
	s.activity[x] += s.bump
	if s.place[x] >= 0 {
		s.up(s.place[x])
	}
}

func (s *learner) push(x int32) {
	s.place[x] = int32(len(s.heap))
	s.heap = append(s.heap, x)
	s.up(s.place[x])
}

func (s *learner) pop() {
	x := s.heap[0]
	end := int32(len(s.heap) - 1)
	s.heap[0] = s.heap[end]
	s.place[s.heap[0]] = 0
	s.heap = s.heap[:end]
	s.place[x] = -1
	if end > 0 {
		s.down(0)
	}
}

func (s *learner) up(k int32) {
	x := s.heap[k]
	for k > 0 {
		h := (k - 1) / 2
		if s.activity[s.heap[h]] >= s.activity[x] {
			break
		}
		s.heap[k] = s.heap[h]
		s.place[s.heap[k]] = k
		k = h
	}
	s.heap[k] = x
	s.place[x] = k
}

func (s *learner) down(k int32) {
	x := s.heap[k]
	n := int32(len(s.heap))
	for 2*k+1 < n {
		c := 2*k + 1
		if c+1 < n && s.activity[s.heap[c+1]] > s.activity[s.heap[c]] {
			c++
		}
		if s.activity[x] >= s.activity[s.heap[c]] {
			break
		}
		s.heap[k] = s.heap[c]
		s.place[s.heap[k]] = k
		k = c
	}
	s.heap[k] = x
	s.place[x] = k
}

// follow makes the next orders be tried first as the schedule has them.
func (s *learner) follow(starts []int32) {
	for x := s.tasks + 1; x < s.vars; x++ {
		for _, k := range s.on[2*x] {
			if e := &s.edges[k]; e.from&1 == 0 {
				s.phase[x] = 2
				if starts[e.to>>1] >= starts[e.from>>1]+e.w {
					s.phase[x] = 1
				}
				break
			}
		}
	}
}
