package season

import (
	"math"
	"slices"
)

// Once prices alone can lift the bound no further, the plans are parted into kinds
// that leave none out: those that make at most n batches of a component, or have at
// most n of a product ready for a week, and those with more; or, where these are settled, those that pour 0,
// 1, 2, … batches of an item on a day. The bound is then the least over the kinds,
// each with prices of its own, and the least kind is parted next. Small seasons
// end with a kind whose best priced plan keeps every rule: its cost is the bound.

// A cut is a choice that all plans of a kind have made: from least to most batches
// of a product that is ready for a week (at index Weeks: after the season), of a
// component in the whole season, or of either on a bench day.
type cut struct {
	item        int
	week, day   int // −1: not by it
	least, most int
}

// A kind is a set of plans. Kinds share what they took over.
type kind struct {
	cuts   []cut
	proved float64
	from   *Bound  // prices and plans to begin with; holds no programmes
	parts  [][]cut // how to part it further; nil before it was worked on
	worked bool
}

type tree struct {
	base *Bound // as it was when the parting began
	open []*kind
	now  *kind
	work *Bound // of now
	held int    // pours kept in all kinds' plans
}

const (
	// heldMost is how many pours the kinds may keep, about 200 MB of them.
	heldMost = 8_000_000
	// partMost is how many kinds a day's batches are parted into; items of which
	// more can be poured on a day are parted by weeks only.
	partMost = 5
	// kindRounds and kindPatience are how long a kind is worked on before it is
	// parted again.
	kindRounds   = 120
	kindPatience = 12
)

// branch does one round on the kinds, and returns false once nothing is left to do.
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
		// The programmes are made anew for each kind.
		bd.products, bd.stores, bd.packs = nil, nil, nil
	}
	if t.work == nil {
		// The least kind is next; of equals, the one that has made more choices.
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
				return false // settled, or as far as memory goes
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
		x.worked = !more || len(x.parts) > 0 || t.beyond(x) // else of one mind, but not yet at its own price
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
		bd.hopeless = true // no kind is left: no plan keeps the rules
		return false
	}
	bd.proved = math.Max(bd.proved, least)
	return true
}

// beyond reports that a kind has risen so far above another that it can wait.
func (t *tree) beyond(x *kind) bool {
	for _, y := range t.open {
		if y != x && x.proved > y.proved+0.02*(1+math.Abs(y.proved)) {
			return true
		}
	}
	return false
}

// last parts a kind whose weighted plans are of one mind and yet no plan of the
// season, or no dear enough one: by what else could be poured. Where nothing else
// can be, the one plan that is left is played through.
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
	// What the file's sums come to, in another order: no higher than that.
	return nil, math.Max(proved, r.Cost.Total()*(1-1e-9)-1e-9)
}

// dayParts parts by how many batches of an item are poured on a bench day.
func (bd *Bound) dayParts(item, day int) [][]cut {
	var out [][]cut
	for n := bd.limit[item][day].least; n <= bd.limit[item][day].most; n++ {
		out = append(out, []cut{{item: item, week: -1, day: day, least: n, most: n}})
	}
	return out
}

// light is what a kind hands on: prices, and the plans that have weight.
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

// child is a bound of base's season with cuts, which begins with the prices of bd
// and those of its plans that keep the cuts.
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

// keeps reports whether a plan of block j keeps the cuts.
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

// readyWeek is the week for which what is poured of an item on bench day b counts,
// Weeks where that is after the season.
func (in *Instance) readyWeek(item, b int) int {
	return min(weekOf(in.BenchDays[b].Day+in.Items[item].LeadDays), in.Weeks)
}

// parts says how to part the plans next: where the weighted plans are of two
// minds most. It is nil where they are of one mind throughout.
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
				off++ // it binds all users, so it goes first
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
			first, other := -1, 0.0 // batches of the weightiest choice; weight of the rest
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
