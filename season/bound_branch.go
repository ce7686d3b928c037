package season

import (
	"math"
	"slices"
)

// Once prices alone cannot lift the bound further, the plans are split into kinds
// that together leave none out. One split is by count: at most n batches of a
// component in the season, or more; or at most n batches of a product ready for a
// week, or more. Where the columns agree on those counts, the split is by day: 0,
// 1, 2, … batches of an item on one day.
//
// Each kind has its own prices and its own bound. The season's bound is the least
// of these, so the kind with the least bound is split next. Small seasons end
// with a kind whose best priced plan keeps every rule; its cost is the bound.

// A cut is a choice that all plans of a kind share: between least and most
// batches of a product that are ready for a week (index Weeks means after the
// season), of a component in the whole season, or of either on one bench day.
type cut struct {
	item        int
	week, day   int // −1: the cut does not concern it
	least, most int
}

// A kind is a set of plans. Several kinds may share the Bound that they start
// from.
type kind struct {
	cuts   []cut
	proved float64
	from   *Bound  // prices and columns to start from; holds no programmes
	parts  [][]cut // how to split it further; nil until it has been worked on
	worked bool
}

type tree struct {
	base *Bound // as it was when the splitting began
	open []*kind
	now  *kind
	work *Bound // the bound of now
	held int    // pours kept in the columns of all kinds
}

const (
	// heldMost is the greatest number of pours that the kinds may keep, about 200
	// MB.
	heldMost = 8_000_000
	// partMost is the greatest number of batches of an item on a day by which
	// plans are split. Items of which more can be poured on a day are split by
	// counts only.
	partMost = 5
	// kindRounds is how many rounds a kind is worked on before it is split again.
	// It may be split earlier if it does not rise for kindPatience rounds.
	kindRounds   = 120
	kindPatience = 12
)

// branch does one round on the kinds. It returns false once nothing is left to
// do.
func (bd *Bound) branch() bool {
	t := bd.tree
	if t == nil {
		t = &tree{base: bd.light()}
		root := &kind{proved: bd.proved, from: t.base, parts: bd.parts(), worked: true}
		if len(root.parts) == 0 {
			root.parts, root.proved = bd.last(bd.proved)
		}
		t.open = []*kind{root}
		bd.tree = t
		// Each kind builds its own programmes.
		bd.products, bd.stores, bd.packs = nil, nil, nil
	}
	if t.work == nil {
		// Take the kind with the least bound; of equals, the one with the most
		// cuts.
		least := 0
		for k, x := range t.open {
			if y := t.open[least]; x.proved < y.proved || x.proved == y.proved && len(x.cuts) > len(y.cuts) {
				least = k
			}
		}
		x := t.open[least]
		if x.worked {
			if len(x.parts) == 0 || t.held > heldMost {
				bd.proved = math.Max(bd.proved, x.proved)
				return false // solved, or out of memory for more kinds
			}
			t.open = slices.Delete(t.open, least, least+1)
			for _, more := range x.parts {
				t.open = append(t.open, &kind{cuts: append(slices.Clone(x.cuts), more...), proved: x.proved, from: x.from})
			}
			return true
		}
		t.now = x
		t.work = x.from.child(t.base, x.cuts)
	}
	w, x := t.work, t.now
	more := w.Step()
	x.proved = math.Max(x.proved, w.Value())
	if w.hopeless {
		x.worked, x.proved = true, math.Inf(1)
	} else if !more || w.rounds%kindPatience == 0 && (w.rounds >= kindRounds || w.rounds-w.stirredAt > kindPatience) || t.beyond(x) {
		x.parts = w.parts()
		x.worked = !more || len(x.parts) > 0 || t.beyond(x) // otherwise the columns agree, but the bound has not reached their cost yet
		if x.worked && len(x.parts) == 0 {
			x.parts, x.proved = w.last(x.proved)
		}
	}
	if x.worked {
		if math.IsInf(x.proved, 1) {
			t.open = slices.DeleteFunc(t.open, func(y *kind) bool { return y == x })
		} else {
			x.from = w.light()
			t.held += x.from.held()
		}
		t.now, t.work = nil, nil
	}
	least := math.Inf(1)
	for _, y := range t.open {
		least = math.Min(least, y.proved)
	}
	if math.IsInf(least, 1) {
		bd.hopeless = true // no kind is left, so no plan keeps the rules
		return false
	}
	bd.proved = math.Max(bd.proved, least)
	return true
}

// beyond reports whether a kind's bound is so far above another's that it can
// wait.
func (t *tree) beyond(x *kind) bool {
	for _, y := range t.open {
		if y != x && x.proved > y.proved+0.02*(1+math.Abs(y.proved)) {
			return true
		}
	}
	return false
}

// last handles a kind whose weighted columns agree and still do not prove its
// cost: they are no plan of the season, or one that costs more than the bound. It
// splits the kind by any item and day whose batches are not settled yet. Where
// all are settled, only one plan is left, and last simulates it.
func (bd *Bound) last(proved float64) ([][]cut, float64) {
	in := bd.in
	item, day := -1, -1
	var only Plan
	shares := bd.Shares()
	for b, d := range in.BenchDays {
		for i := range in.Items {
			l := bd.limit[i][b]
			if l.least == l.most {
				if l.least > 0 {
					only = append(only, Pour{Day: d.Day, Item: i, Batches: l.least})
				}
				continue
			}
			if l.most > partMost {
				return nil, proved
			}
			if item < 0 || shares[i][b] > shares[item][day] {
				item, day = i, b
			}
		}
	}
	if item >= 0 {
		return bd.dayParts(item, day), proved
	}
	r, broken := Simulate(in, only)
	if len(broken) > 0 {
		return nil, math.Inf(1)
	}
	// The same sum in another order of additions, so take a little off for
	// rounding.
	return nil, math.Max(proved, r.Cost.Total()*(1-1e-9)-1e-9)
}

// dayParts splits by how many batches of an item are poured on a bench day.
func (bd *Bound) dayParts(item, day int) [][]cut {
	var out [][]cut
	for n := bd.limit[item][day].least; n <= bd.limit[item][day].most; n++ {
		out = append(out, []cut{{item: item, week: -1, day: day, least: n, most: n}})
	}
	return out
}

// light is what a kind hands on: its prices, and the columns that have weight.
func (bd *Bound) light() *Bound {
	l := &Bound{
		in: bd.in, pins: bd.pins, scarce: slices.Clone(bd.scarce), room: slices.Clone(bd.room),
		scale: bd.scale, floor: bd.floor, center: slices.Clone(bd.center), penalty: bd.penalty,
		blocks: make([]block, len(bd.blocks)),
	}
	for j := range bd.blocks {
		for k := range bd.blocks[j].columns {
			if c := &bd.blocks[j].columns[k]; c.weight > 0 {
				l.blocks[j].columns = append(l.blocks[j].columns, column{cost: c.cost, pours: c.pours, drawn: c.drawn, weight: c.weight, key: c.key})
			}
		}
	}
	return l
}

func (bd *Bound) held() int {
	n := len(bd.center)
	for j := range bd.blocks {
		for k := range bd.blocks[j].columns {
			n += 4 + len(bd.blocks[j].columns[k].pours) + len(bd.blocks[j].columns[k].drawn)
		}
	}
	return n
}

// child is a bound of base's season under the cuts. It starts with the prices of
// bd and with those of its columns that satisfy the cuts.
func (bd *Bound) child(base *Bound, cuts []cut) *Bound {
	c := newBound(base.in, base.pins, cuts)
	c.kind = true
	if c.done {
		return c
	}
	more := len(bd.room) - len(c.room)
	c.scarce = slices.Clone(bd.scarce)
	c.room = slices.Clone(bd.room)
	c.scale, c.floor = slices.Clone(bd.scale), slices.Clone(bd.floor)
	c.center = slices.Clone(bd.center)
	c.proposed = append(c.proposed, make([]float64, more)...)
	c.excess = append(c.excess, make([]float64, more)...)
	c.delta = append(c.delta, make([]float64, more)...)
	c.penalty = max(bd.penalty, 0.3)
	for j := range bd.blocks {
		for _, old := range bd.blocks[j].columns {
			if !c.keeps(j, &old, cuts) {
				continue
			}
			old.rows, old.counts = nil, nil
			if j < len(c.in.Items) {
				c.fill(&old, j)
			} else {
				c.fillDay(&old, j-len(c.in.Items))
			}
			c.blocks[j].columns = append(c.blocks[j].columns, old)
		}
	}
	return c
}

// keeps reports whether a column of block j satisfies the cuts.
func (bd *Bound) keeps(j int, c *column, cuts []cut) bool {
	items := len(bd.in.Items)
	for _, x := range cuts {
		n := 0
		switch {
		case j < items && x.item == j:
			for _, p := range c.pours {
				if x.day == p.Day || x.day < 0 && (x.week < 0 || x.week == bd.in.readyWeek(j, p.Day)) {
					n += p.Batches
				}
			}
			if n < x.least || n > x.most {
				return false
			}
		case j >= items && x.day == j-items:
			for _, p := range c.pours {
				if p.Item == x.item {
					n += p.Batches
				}
			}
			if n < min(x.least, linked) || n > x.most {
				return false
			}
		}
	}
	return true
}

// readyWeek is the week for which a batch of an item poured on bench day b
// counts. It is Weeks for a batch that is ready after the season.
func (in *Instance) readyWeek(item, b int) int {
	return min(weekOf(in.BenchDays[b].Day+in.Items[item].LeadDays), in.Weeks)
}

// parts says how to split the plans next: at the count on which the weighted
// columns disagree most. It is nil if they agree throughout.
func (bd *Bound) parts() [][]cut {
	in := bd.in
	const small = 1e-4
	shares := bd.Shares()
	most, best := small, cut{week: -1, day: -1}
	for i := range in.Items {
		if in.Items[i].Component {
			n := 0.0
			for _, v := range shares[i] {
				n += v
			}
			off := math.Abs(n - math.Round(n))
			if off > 0.1 {
				off++ // it affects all users of the component, so it goes first
			}
			if off > most && bd.stores[i].size*int(n+2) <= componentLimit {
				most, best = off, cut{item: i, week: -1, day: -1, most: int(math.Floor(n))}
			}
			continue
		}
		week := make([]float64, in.Weeks+1)
		for b, n := range shares[i] {
			week[in.readyWeek(i, b)] += n
		}
		for w, n := range week {
			if off := math.Abs(n - math.Round(n)); off > most {
				most, best = off, cut{item: i, week: w, day: -1, most: int(math.Floor(n))}
			}
		}
	}
	if most > small {
		up := best
		up.least, up.most = best.most+1, math.MaxInt32
		return [][]cut{{best}, {up}}
	}
	for i := range in.Items {
		for b := range in.BenchDays {
			top := bd.limit[i][b].most
			if top > partMost || top == bd.limit[i][b].least {
				continue
			}
			first, other := -1, 0.0 // the choice with the most weight; the weight of all others
			byCount := make([]float64, top+1)
			for k := range bd.blocks[i].columns {
				c := &bd.blocks[i].columns[k]
				n := 0
				for _, p := range c.pours {
					if p.Day == b {
						n = p.Batches
					}
				}
				byCount[n] += c.weight
			}
			for n, v := range byCount {
				if first < 0 || v > byCount[first] {
					first = n
				}
			}
			other = 1 - byCount[first]
			if other > most {
				most, best = other, cut{item: i, week: -1, day: b}
			}
		}
	}
	if best.day < 0 {
		return nil
	}
	return bd.dayParts(best.item, best.day)
}
