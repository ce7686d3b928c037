package fit

import (
	"cmp"
	"math"
	"slices"
)

const (
	// tieG is the difference in score, g, below which two plans count as equal.
	tieG = 1e-4
	// fuzz is how much a number of pots may fall short from binary rounding
	// alone.
	fuzz = 1e-9
	// stretches is how many parts the sizes of pot are divided into at first.
	// From manyStretches on, stretches are no longer halved.
	stretches     = 32
	manyStretches = 48
)

// step is where the search decides about one design.
type step struct {
	design int       // index in the problem
	group  int       // its mould
	pieces int       // from one set
	most   int       // sets that may be filled
	set    []float64 // by formula: g for one set, with overage
	// For the designs of the group from this one on, with r sets left: the fewest
	// pieces missed; the least that missed and extra pieces then count; the least
	// and the most that each formula then takes.
	miss   []int
	lin    []float64
	lo, hi [][]float64
}

type group struct {
	mould       int
	sets        int
	first, last int // steps of the group; last is not included
	lin         float64
	lo, hi      []float64 // of this whole group
	sufLin      float64   // of all groups after it
	sufLo       []float64
	sufHi       []float64
}

// stretch is a range of pot sizes; both ends are equal for a single size.
type stretch struct{ from, to float64 }

type search struct {
	p        *Problem
	loss     []float64
	potMax   float64
	batchG   float64
	beyondG  float64
	steps    []step
	groups   []group
	first    []stretch // all sizes of pot
	listed   bool      // the sizes are single ones
	limit    int
	nodes    int
	stopped  bool
	open     float64 // the least bound of what was not searched
	best     float64
	bestX    []int
	bestPot  float64
	x        []int // sets filled, by step
	seen     map[key]float64
	lo, hi   []float64 // scratch
	children [][]child
	alive    [][]stretch // by depth
	base     [][]float64 // by depth
}

type child struct {
	x     int
	bound float64
}

// key is a place in the search. Nothing else influences what follows.
type key struct{ a, b uint64 }

// newSearch prepares the search. The problem must be valid, except that the
// number of batches is not checked yet.
func newSearch(p *Problem) *search {
	s := &search{p: p, beyondG: p.BeyondG.Or(defaultBeyondG), limit: p.Nodes, best: math.Inf(1), open: math.Inf(1)}
	if s.limit == 0 {
		s.limit = defaultNodes
	}
	for _, f := range p.Formulas {
		s.loss = append(s.loss, f.LossG)
	}
	switch pot := p.Pot; {
	case len(pot.SizesG) > 0:
		s.listed = true
		for _, g := range pot.SizesG {
			s.first = append(s.first, stretch{g, g})
		}
	case pot.StepG > 0:
		s.listed = true
		for n := math.Ceil(pot.MinG/pot.StepG - fuzz); n <= math.Floor(pot.MaxG/pot.StepG+fuzz); n++ {
			s.first = append(s.first, stretch{n * pot.StepG, n * pot.StepG})
		}
	default:
		ratio := math.Pow(pot.MaxG/pot.MinG, 1.0/stretches)
		for i, from := 0, pot.MinG; i < stretches && from < pot.MaxG; i++ {
			to := from * ratio
			if i == stretches-1 {
				to = pot.MaxG
			}
			s.first = append(s.first, stretch{from, math.Min(to, pot.MaxG)})
			from = to
		}
		if pot.MinG == pot.MaxG {
			s.first = []stretch{{pot.MinG, pot.MaxG}}
		}
	}
	slices.SortFunc(s.first, func(a, b stretch) int { return cmp.Compare(a.from, b.from) })
	s.first = slices.Compact(s.first)
	s.potMax = s.first[len(s.first)-1].to
	s.batchG = p.BatchG.Or(defaultBatchPct / 100 * s.potMax)
	s.lay()
	return s
}

// lay orders the designs by mould. It does not depend on what they need.
func (s *search) lay() {
	p := s.p
	formula := make(map[string]int, len(p.Formulas))
	for i, f := range p.Formulas {
		formula[f.ID] = i
	}
	rounds := max(p.Rounds, 1)
	for m, mould := range p.Moulds {
		g := group{mould: m, first: len(s.steps)}
		wanted := 0
		for d, design := range p.Designs {
			if design.Mould != mould.ID {
				continue
			}
			st := step{design: d, group: len(s.groups), pieces: mould.Cavities * mould.Bars, set: make([]float64, len(p.Formulas))}
			st.most = min((design.Wish+st.pieces-1)/st.pieces+design.MoreSets, mould.Sets*rounds)
			wanted += st.most
			for _, q := range design.Pours {
				st.set[formula[q.Formula]] = float64(mould.Cavities) * q.G * (1 + p.OveragePct/100)
			}
			s.steps = append(s.steps, st)
		}
		g.last = len(s.steps)
		if g.sets = min(mould.Sets*rounds, wanted); g.last > g.first {
			s.groups = append(s.groups, g)
		}
	}
}

// mostNeed is an upper bound of what each formula may need, g.
func (s *search) mostNeed() []float64 {
	out := make([]float64, len(s.loss))
	for _, g := range s.groups {
		for f := range out {
			var sum, largest float64
			for _, st := range s.steps[g.first:g.last] {
				sum += float64(st.most) * st.set[f]
				largest = math.Max(largest, st.set[f])
			}
			out[f] += math.Min(sum, float64(g.sets)*largest)
		}
	}
	return out
}

// missed and linear say what x sets of a step miss, and how much the missed
// pieces and the pieces beyond the wish count.
func (s *search) missed(st *step, x int) int {
	return max(0, s.p.Designs[st.design].Wish-x*st.pieces)
}

func (s *search) linear(st *step, x int) float64 {
	lin := s.beyondG * float64(max(0, x*st.pieces-s.p.Designs[st.design].Wish))
	if v := s.p.MissedG; v.Known {
		lin += v.V * float64(s.missed(st, x))
	}
	return lin
}

// may reports whether x sets at step i, with r sets left, can still lead to the
// least number of missed pieces.
func (s *search) may(i, r, x int) bool {
	st := &s.steps[i]
	if s.p.MissedG.Known {
		return true
	}
	after := 0
	if i+1 < s.groups[st.group].last {
		after = s.steps[i+1].miss[r-x]
	}
	return s.missed(st, x)+after == st.miss[r]
}

// tables works out what the rest of each mould can still miss and need, from its
// last design back to its first.
func (s *search) tables() {
	nf := len(s.loss)
	zero := make([]float64, nf)
	for gi := range s.groups {
		g := &s.groups[gi]
		for i := g.last - 1; i >= g.first; i-- {
			st := &s.steps[i]
			n := g.sets + 1
			st.miss, st.lin = make([]int, n), make([]float64, n)
			st.lo, st.hi = make([][]float64, n), make([][]float64, n)
			for r := range n {
				rest := func(x int) (int, float64, []float64, []float64) {
					if i+1 == g.last {
						return 0, 0, zero, zero
					}
					next := &s.steps[i+1]
					return next.miss[r-x], next.lin[r-x], next.lo[r-x], next.hi[r-x]
				}
				fewest := math.MaxInt
				for x := 0; x <= min(st.most, r); x++ {
					m, _, _, _ := rest(x)
					fewest = min(fewest, s.missed(st, x)+m)
				}
				st.miss[r] = fewest
				st.lin[r] = math.Inf(1)
				lo, hi := make([]float64, nf), make([]float64, nf)
				for f := range lo {
					lo[f] = math.Inf(1)
				}
				for x := 0; x <= min(st.most, r); x++ {
					m, lin, l, h := rest(x)
					if !s.p.MissedG.Known && s.missed(st, x)+m != fewest {
						continue
					}
					st.lin[r] = math.Min(st.lin[r], s.linear(st, x)+lin)
					for f := range lo {
						v := float64(x) * st.set[f]
						lo[f], hi[f] = math.Min(lo[f], v+l[f]), math.Max(hi[f], v+h[f])
					}
				}
				st.lo[r], st.hi[r] = lo, hi
			}
		}
		top := &s.steps[g.first]
		g.lin, g.lo, g.hi = top.lin[g.sets], top.lo[g.sets], top.hi[g.sets]
	}
}

// arrange puts the moulds with the most open choices first. So little is left
// open towards the end of a branch, and the bounds are sharp there.
func (s *search) arrange() {
	wide := func(g group) float64 {
		var w float64
		for f := range g.lo {
			w += g.hi[f] - g.lo[f]
		}
		return w
	}
	order := slices.Clone(s.groups)
	slices.SortStableFunc(order, func(a, b group) int { return cmp.Compare(wide(b), wide(a)) })
	var steps []step
	for gi := range order {
		g := &order[gi]
		first := len(steps)
		steps = append(steps, s.steps[g.first:g.last]...)
		g.first, g.last = first, len(steps)
		for i := g.first; i < g.last; i++ {
			steps[i].group = gi
		}
	}
	s.steps, s.groups = steps, order
	nf := len(s.loss)
	lin, lo, hi := 0.0, make([]float64, nf), make([]float64, nf)
	for gi := len(order) - 1; gi >= 0; gi-- {
		g := &s.groups[gi]
		g.sufLin, g.sufLo, g.sufHi = lin, slices.Clone(lo), slices.Clone(hi)
		lin += g.lin
		for f := range lo {
			lo[f] += g.lo[f]
			hi[f] += g.hi[f]
		}
	}
}

// least is a lower bound of the score of every plan whose needs lie between lo
// and hi and whose pot lies in the stretch. It stops as soon as it reaches limit.
//
// A formula that needs at least lo takes n = ⌈lo / (to − l)⌉ batches or more.
// With n batches, n·l stays in the pots whatever is poured, and at least n·from
// is made while at most hi is poured. Both grow with n.
func (s *search) least(lin float64, lo, hi []float64, b stretch, limit float64) float64 {
	for f, l := range lo {
		if l <= fuzz {
			continue
		}
		n := math.Ceil(l/(b.to-s.loss[f]) - fuzz)
		lin += n*s.batchG + math.Max(n*s.loss[f], n*b.from-hi[f])
		if lin >= limit {
			break
		}
	}
	return lin
}

// pot is the best size among the stretches for known needs, and its score. The
// score is infinite if none is below limit.
func (s *search) pot(lin float64, need []float64, in []stretch, limit float64) (size, score float64) {
	score = limit
	try := func(b float64) {
		sum := lin
		for f, v := range need {
			if v <= fuzz {
				continue
			}
			n := math.Ceil(v/(b-s.loss[f]) - fuzz)
			sum += n*s.batchG + math.Max(n*s.loss[f], n*b-v)
			if sum >= score {
				return
			}
		}
		size, score = b, sum
	}
	if s.listed {
		for _, b := range in {
			try(b.from)
		}
	} else {
		from, to := in[0].from, in[len(in)-1].to
		try(from) // the smallest that stirs, or a size so small that it will not win
		for f, v := range need {
			if v <= fuzz {
				continue
			}
			for n := math.Ceil(v/(to-s.loss[f]) - fuzz); ; n++ {
				b := v/n + s.loss[f]
				if b < from || lin+n*math.Max(s.batchG, s.loss[f]) >= score {
					break // smaller than any pot, or so many that they cannot win
				}
				try(math.Min(b, to))
			}
		}
	}
	if score >= limit {
		return 0, math.Inf(1)
	}
	return size, score
}

// run makes the search and leaves the best plan in s.
func (s *search) run() {
	s.tables()
	s.arrange()
	n, nf := len(s.steps), len(s.loss)
	s.x, s.seen = make([]int, n), map[key]float64{}
	s.lo, s.hi = make([]float64, nf), make([]float64, nf)
	s.children, s.alive, s.base = make([][]child, n+1), make([][]stretch, n+1), make([][]float64, n+1)
	for i := range s.base {
		s.base[i] = make([]float64, nf)
	}
	s.alive[0] = append(s.alive[0], s.first...)
	s.down(0, s.groups[0].sets, 0)
}

// down decides step i, with r sets of its mould left. s.base[i] holds the batter
// of the steps before, and lin is what their pieces count.
func (s *search) down(i, r int, lin float64) {
	if i == len(s.steps) {
		if size, score := s.pot(lin, s.base[i], s.alive[i], s.best-tieG); score < s.best {
			s.best, s.bestPot, s.bestX = score, size, slices.Clone(s.x)
		}
		return
	}
	k := s.place(i, r)
	if before, ok := s.seen[k]; ok && before <= lin+fuzz {
		return
	}
	s.seen[k] = lin

	st := &s.steps[i]
	children := s.children[i][:0]
	for x := min(st.most, r); x >= 0; x-- {
		if !s.may(i, r, x) {
			continue
		}
		s.nodes++
		low := s.reach(i, r, x)
		bound := math.Inf(1)
		for _, b := range s.alive[i] {
			bound = math.Min(bound, s.least(lin+s.linear(st, x)+low, s.lo, s.hi, b, math.Min(bound, s.best)))
		}
		if bound < s.best-tieG {
			children = append(children, child{x, bound})
		}
	}
	s.children[i] = children
	slices.SortStableFunc(children, func(a, b child) int { return cmp.Compare(a.bound, b.bound) })
	for _, c := range children {
		if c.bound >= s.best-tieG {
			break
		}
		if s.stopped || s.nodes > s.limit && !math.IsInf(s.best, 1) {
			s.stopped = true
			s.open = math.Min(s.open, c.bound)
			return
		}
		low := s.reach(i, r, c.x)
		s.alive[i+1] = s.keep(s.alive[i+1][:0], s.alive[i], lin+s.linear(st, c.x)+low)
		if len(s.alive[i+1]) == 0 {
			continue
		}
		for f := range s.base[i] {
			s.base[i+1][f] = s.base[i][f] + float64(c.x)*st.set[f]
		}
		s.x[i] = c.x
		left := r - c.x
		if i+1 == s.groups[st.group].last && i+1 < len(s.steps) {
			left = s.groups[st.group+1].sets
		}
		s.down(i+1, left, lin+s.linear(st, c.x))
	}
}

// reach works out the least and the most that each formula may need if step i
// fills x of r sets, and stores them in s.lo and s.hi. It returns the least that
// the pieces still to be decided count.
func (s *search) reach(i, r, x int) float64 {
	st := &s.steps[i]
	g := &s.groups[st.group]
	low := g.sufLin
	for f, v := range s.base[i] {
		v += float64(x) * st.set[f]
		s.lo[f], s.hi[f] = v+g.sufLo[f], v+g.sufHi[f]
	}
	if i+1 < g.last {
		next := &s.steps[i+1]
		low += next.lin[r-x]
		for f := range s.lo {
			s.lo[f] += next.lo[r-x][f]
			s.hi[f] += next.hi[r-x][f]
		}
	}
	return low
}

// keep returns the stretches in which a plan can still win. It halves them where
// that may separate good sizes from bad ones.
func (s *search) keep(out, in []stretch, lin float64) []stretch {
	add := func(b stretch) {
		if s.least(lin, s.lo, s.hi, b, s.best-tieG) < s.best-tieG {
			out = append(out, b)
		}
	}
	halve := !s.listed && len(in) <= manyStretches
	for _, b := range in {
		if mid := b.from + (b.to-b.from)/2; halve && b.to-b.from > 0.01 && mid > b.from {
			add(stretch{b.from, mid})
			add(stretch{mid, b.to})
			continue
		}
		add(b)
	}
	return out
}

// place is the current position of the search, to a millionth of a gram, as a
// 128-bit hash. Two places are in practice never confused.
func (s *search) place(i, r int) key {
	const prime = 0x9E3779B97F4A7C15
	a, b := uint64(i)<<32|uint64(r), uint64(i)*prime^uint64(r)
	mix := func(h, v uint64) uint64 {
		h = (h ^ v) * prime
		h ^= h >> 29
		h *= 0xBF58476D1CE4E5B9
		return h ^ h>>32
	}
	for _, v := range s.base[i] {
		q := uint64(int64(math.Round(v * 1e6)))
		a, b = mix(a, q), mix(b, q+0x94D049BB133111EB)
	}
	return key{a, b}
}

// Solve proposes the best plan. The same problem gives the same plan.
//
// Errors: those of Validate.
func Solve(p Problem) (Plan, error) {
	if err := p.Validate().Err(); err != nil {
		return Plan{}, err
	}
	s := newSearch(&p)
	s.run()
	plan := s.plan()
	plan.Traded = s.traded(&plan)
	return plan, nil
}

func (s *search) plan() Plan {
	p := s.p
	out := Plan{PotG: s.bestPot, ScoreG: s.best, BoundG: s.best, Proved: !s.stopped, Nodes: s.nodes}
	if s.stopped {
		out.BoundG = math.Max(0, math.Min(s.open, s.best))
	}
	sets := make([]int, len(p.Designs))
	need := make([]float64, len(p.Formulas))
	for i, x := range s.bestX {
		sets[s.steps[i].design] = x
		for f, g := range s.steps[i].set {
			need[f] += float64(x) * g
		}
	}
	moulds := make(map[string]Mould, len(p.Moulds))
	for _, m := range p.Moulds {
		moulds[m.ID] = m
	}
	for d, design := range p.Designs {
		m := moulds[design.Mould]
		f := Fill{Design: design.ID, Mould: m.ID, Sets: sets[d], Cavities: sets[d] * m.Cavities, Wish: design.Wish}
		f.Pieces = f.Cavities * m.Bars
		f.Missed, f.Beyond = max(0, f.Wish-f.Pieces), max(0, f.Pieces-f.Wish)
		out.Missed += f.Missed
		out.Beyond += f.Beyond
		out.Fills = append(out.Fills, f)
	}
	for f, g := range need {
		if g <= fuzz {
			continue
		}
		n := math.Ceil(g/(s.bestPot-s.loss[f]) - fuzz)
		b := Batch{Formula: p.Formulas[f].ID, Count: int(n), MassG: n * s.bestPot, StaysG: n * s.loss[f], NeedG: g / (1 + p.OveragePct/100)}
		b.OverageG = g - b.NeedG
		if b.LeftG = b.MassG - b.StaysG - g; b.LeftG < 1e-6 {
			b.LeftG = 0 // it came out even, apart from binary rounding
		}
		out.Batches = append(out.Batches, b)
		out.Count += b.Count
		out.LeftG += b.LeftG
		out.StaysG += b.StaysG
	}
	return out
}
