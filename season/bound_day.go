package season

import "math"

// dayPack finds the batches that fit into one bench day and are worth most. They
// must fit into its minutes, set-ups included, and into the mould sets. It is a
// knapsack, solved exactly over minutes and, for each mould type that can run
// out, over the sets in use.
type dayPack struct {
	slots    int // minutes free, in steps
	step     int // minutes of a step
	types    []packType
	fixed    []Pour // what is fixed on the day; Pour.Day is the day's index
	feasible bool
	best     []float64 // scratch, indexed by sets in use, then by steps
	next     []float64
	pick     [][]uint16 // by entry
}

type packType struct {
	sets    int // −1 where they cannot run out
	entries []packEntry
}

type packEntry struct {
	item, most   int
	setup, batch int // steps
}

const (
	packSteps = 2000
	packCells = 1_000_000
)

func newDayPack(in *Instance, b int, day [][]limits) *dayPack {
	p := &dayPack{feasible: true}
	minutes := in.BenchDays[b].Minutes
	sets := make([]int, len(in.Moulds))
	for m := range sets {
		sets[m] = in.Moulds[m].Count
	}
	step := 0
	free := make([][]int, len(in.Moulds))
	for i := range in.Items {
		it, l := &in.Items[i], day[i][b]
		if l.least > 0 {
			p.fixed = append(p.fixed, Pour{Day: b, Item: i, Batches: l.least})
			minutes -= it.SetupMinutes + l.least*it.BatchMinutes
			if it.MouldDays > 0 {
				sets[it.Mould] -= l.least
			}
			continue
		}
		if l.most > 0 {
			free[it.Mould] = append(free[it.Mould], i)
			step = gcd(step, gcd(it.SetupMinutes, it.BatchMinutes))
		}
	}
	if minutes < 0 {
		p.feasible = false
	}
	for _, n := range sets {
		p.feasible = p.feasible && n >= 0
	}
	if !p.feasible {
		return p
	}
	// Counting minutes in steps of their greatest common divisor loses nothing.
	// Where that leaves too many steps, the steps are made longer, and both need
	// and room are rounded down. What fits still fits, so the bound stays valid.
	p.step = max(step, 1, (minutes+packSteps-1)/packSteps)
	p.slots = minutes / p.step
	width := 1
	count := 0
	for m, items := range free {
		if len(items) == 0 {
			continue
		}
		t := packType{sets: -1}
		all := 0
		for _, i := range items {
			it := &in.Items[i]
			most := min(day[i][b].most, linked)
			if it.MouldDays > 0 {
				most = min(most, sets[m])
			}
			for most > 0 && it.SetupMinutes+most*it.BatchMinutes > minutes {
				most--
			}
			if most == 0 {
				continue
			}
			if it.MouldDays > 0 {
				all += most
			}
			t.entries = append(t.entries, packEntry{item: i, most: most, setup: it.SetupMinutes / p.step, batch: it.BatchMinutes / p.step})
		}
		if all > sets[m] && p.canRunOut(in, t, sets[m], minutes) {
			t.sets = sets[m]
			width = max(width, t.sets+1)
		}
		count += len(t.entries)
		p.types = append(p.types, t)
	}
	if (p.slots+1)*width*count > packCells {
		width = 1 // more fits when sets are ignored, so the bound stays valid
		for k := range p.types {
			p.types[k].sets = -1
		}
	}
	size := (p.slots + 1) * width
	p.best, p.next = make([]float64, size), make([]float64, size)
	p.pick = make([][]uint16, count)
	for j := range p.pick {
		p.pick[j] = make([]uint16, size)
	}
	return p
}

// canRunOut reports whether the minutes would allow more sets to be poured than
// there are, judged by the quickest batch alone.
func (p *dayPack) canRunOut(in *Instance, t packType, sets, minutes int) bool {
	quickest := math.MaxInt
	for _, e := range t.entries {
		if in.Items[e.item].MouldDays > 0 {
			quickest = min(quickest, in.Items[e.item].BatchMinutes)
		}
	}
	return quickest == 0 || minutes/quickest > sets
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// solve appends the batches that are worth most and returns their worth, fixed
// ones included. Here worth(item, n) is what n batches of the item are worth, at
// least 0.
func (p *dayPack) solve(in *Instance, b int, worth func(item, batches int) float64, to []Pour) (float64, []Pour) {
	wide := p.slots + 1
	clear(p.best[:wide])
	entry := 0
	var value float64
	for _, t := range p.types {
		rows := 1
		if t.sets >= 0 {
			rows = t.sets + 1
			for r := 1; r < rows; r++ { // at most r sets in use: each starts the same
				copy(p.best[r*wide:(r+1)*wide], p.best[:wide])
			}
		}
		for _, e := range t.entries {
			pick := p.pick[entry]
			entry++
			if worth(e.item, e.most) <= 0 {
				clear(pick[:rows*wide])
				continue
			}
			takes := 0
			if t.sets >= 0 && in.Items[e.item].MouldDays > 0 {
				takes = 1
			}
			copy(p.next[:rows*wide], p.best[:rows*wide])
			clear(pick[:rows*wide])
			for n := 1; n <= e.most; n++ {
				w, need := worth(e.item, n), e.setup+n*e.batch
				for r := n * takes; r < rows; r++ {
					from := p.best[(r-n*takes)*wide : (r-n*takes+1)*wide]
					into := p.next[r*wide : (r+1)*wide]
					picked := pick[r*wide : (r+1)*wide]
					for m := need; m < wide; m++ {
						if v := from[m-need] + w; v > into[m] {
							into[m] = v
							picked[m] = uint16(n)
						}
					}
				}
			}
			p.best, p.next = p.next, p.best
		}
		if rows > 1 {
			copy(p.best[:wide], p.best[(rows-1)*wide:rows*wide])
		}
	}
	value = p.best[p.slots]
	m := p.slots
	for j := len(p.types) - 1; j >= 0; j-- {
		t := p.types[j]
		r := max(t.sets, 0)
		for k := len(t.entries) - 1; k >= 0; k-- {
			entry--
			e := t.entries[k]
			n := int(p.pick[entry][r*wide+m])
			if n == 0 {
				continue
			}
			to = append(to, Pour{Day: b, Item: e.item, Batches: n})
			m -= e.setup + n*e.batch
			if t.sets >= 0 && in.Items[e.item].MouldDays > 0 {
				r -= n
			}
		}
	}
	for _, f := range p.fixed {
		value += worth(f.Item, f.Batches)
		to = append(to, f)
	}
	return value, to
}
