package season

import "math"

// sum works out excess and the proposed prices afresh from the weights.
func (bd *Bound) sum() {
	for r, v := range bd.room {
		bd.excess[r] = -v
	}
	for j := range bd.blocks {
		for k := range bd.blocks[j].columns {
			c := &bd.blocks[j].columns[k]
			if c.weight > 0 {
				for e, r := range c.rows {
					bd.excess[r] += c.weight * c.counts[e]
				}
			}
		}
	}
	for r := range bd.proposed {
		bd.proposed[r] = math.Max(bd.floor[r], bd.center[r]+bd.penalty*bd.scale[r]*bd.excess[r])
	}
}

// tabulate works out what the proposed prices charge for each number of batches
// of an item on each bench day. A plan can then be priced by its pours alone.
func (bd *Bound) tabulate(i int) {
	bd.run(bd.proposed)
	bd.unitPrices(i, bd.proposed)
	links := bd.proposed[bd.link[i]:]
	levels := bd.levels[i]
	at := 0
	for b, l := range bd.limit[i] {
		add := 0.0
		bd.table[at] = 0
		for n := 1; n <= l.most; n++ {
			if n <= levels {
				add += links[b*levels+n-1]
			}
			bd.table[at+n] = add + float64(n)*bd.unit[b]
		}
		at += bd.wide[i]
	}
}

// reduced is the cost of a column at the proposed prices. For an item's column,
// call tabulate first.
func (bd *Bound) reduced(j int, c *column) float64 {
	v := c.cost
	if j >= len(bd.in.Items) {
		for e, r := range c.rows {
			v += c.counts[e] * bd.proposed[r]
		}
		return v
	}
	wide := bd.wide[j]
	for _, p := range c.pours {
		v += bd.table[p.Day*wide+p.Batches]
	}
	if c.drawn != nil {
		for b, n := range c.drawn {
			v -= float64(n) * bd.proposed[bd.draw[j]+b]
		}
	}
	return v
}

// sweeps is how often settle goes over the blocks at most. memory is after how
// many rounds without weight a column is dropped.
const (
	sweeps = 8
	memory = 30
)

// settle weighs the columns of one block after another, so that the augmented
// Lagrangian of the weighted plans becomes least. It returns the modelValue at
// the prices that result, which is at least L there.
func (bd *Bound) settle() float64 {
	bd.drop()
	bd.sum()
	var costs []float64
	for sweep := range sweeps {
		gap := 0.0
		for j := range bd.blocks {
			cols := bd.blocks[j].columns
			if len(cols) < 2 {
				continue
			}
			for inner := range 3 {
				costs = costs[:0]
				if j < len(bd.in.Items) {
					bd.tabulate(j)
				}
				best, worst := 0, -1
				mean := 0.0
				for k := range cols {
					v := bd.reduced(j, &cols[k])
					costs = append(costs, v)
					if v < costs[best] {
						best = k
					}
					if cols[k].weight > 0 {
						mean += cols[k].weight * v
						if worst < 0 || v > costs[worst] {
							worst = k
						}
					}
				}
				if inner == 0 {
					gap += mean - costs[best]
				}
				if costs[worst]-costs[best] <= 1e-9 {
					break
				}
				bd.shift(&cols[worst], &cols[best], costs[worst]-costs[best])
			}
		}
		if gap <= 1e-7*math.Abs(bd.value) || (sweep > 3 && gap <= 0.02*(bd.modelValue()-bd.value)) {
			break
		}
	}
	return bd.modelValue()
}

// shift moves weight from one column to another of the same block, as far as this
// gains anything.
func (bd *Bound) shift(from, to *column, gain float64) {
	square := 0.0
	for e, r := range to.rows {
		d := to.counts[e]
		bd.mark(r, d)
	}
	for e, r := range from.rows {
		bd.mark(r, -from.counts[e])
	}
	for _, r := range bd.touched {
		d := bd.delta[r]
		square += d * d * bd.scale[r]
	}
	step := from.weight
	if square > 0 {
		step = math.Min(step, gain/(bd.penalty*square))
	}
	for _, r := range bd.touched {
		bd.excess[r] += step * bd.delta[r]
		bd.proposed[r] = math.Max(bd.floor[r], bd.center[r]+bd.penalty*bd.scale[r]*bd.excess[r])
		bd.delta[r] = 0
	}
	bd.touched = bd.touched[:0]
	to.weight += step
	from.weight -= step
	if from.weight < 1e-12 {
		to.weight += from.weight
		from.weight = 0
	}
}

func (bd *Bound) mark(r int32, d float64) {
	if bd.delta[r] == 0 {
		bd.touched = append(bd.touched, r)
	}
	bd.delta[r] += d
}

// modelValue is L at the proposed prices as far as the columns found so far know
// it. The true L is at most this.
func (bd *Bound) modelValue() float64 {
	v := 0.0
	for r, p := range bd.proposed {
		v -= p * bd.room[r]
	}
	for j := range bd.blocks {
		best := math.Inf(1)
		if j < len(bd.in.Items) {
			bd.tabulate(j)
		}
		for k := range bd.blocks[j].columns {
			best = math.Min(best, bd.reduced(j, &bd.blocks[j].columns[k]))
		}
		v += best
	}
	return v
}

// drop removes columns that have had no weight for a long time.
func (bd *Bound) drop() {
	for j := range bd.blocks {
		cols := bd.blocks[j].columns
		kept := cols[:0]
		for k := range cols {
			c := cols[k]
			if c.weight > 0 {
				c.idle = 0
			} else {
				c.idle++
			}
			if c.idle <= memory {
				kept = append(kept, c)
			}
		}
		clear(cols[len(kept):])
		bd.blocks[j].columns = kept
	}
}

// findScarce looks for days on which the weighted plans take more of the rack or
// of a mould type than there is, and prices those days from now on. A day without
// a price is a rule left out, which a bound may always do.
func (bd *Bound) findScarce() {
	in := bd.in
	days := 7 * in.Weeks
	shares := bd.Shares()
	known := map[scarceRow]bool{}
	for _, r := range bd.scarce {
		known[r] = true
	}
	found := len(bd.scarce)
	take := make([]float64, days+1)
	for m := -1; m < len(in.Moulds); m++ {
		clear(take)
		for i := range in.Items {
			it := &in.Items[i]
			for b, d := range in.BenchDays {
				if shares[i][b] == 0 {
					continue
				}
				from, to, each := d.Day, d.Day+it.MouldDays, 1
				if m < 0 {
					from, to, each = to, d.Day+it.LeadDays, it.RackSlots
				} else if it.Mould != m {
					continue
				}
				if from, to = min(from, days), min(to, days); from < to {
					take[from] += shares[i][b] * float64(each)
					take[to] -= shares[i][b] * float64(each)
				}
			}
		}
		used := 0.0
		for t := range days {
			rises := take[t] > 1e-9 // otherwise the row of the day before says the same
			used += take[t]
			row := scarceRow{m, t}
			if !rises || known[row] {
				continue
			}
			if room := bd.roomOf(row); used > room+0.01 {
				bd.scarce = append(bd.scarce, row)
				bd.room = append(bd.room, room)
				bd.scale = append(bd.scale, 1)
				bd.floor = append(bd.floor, 0)
				bd.center = append(bd.center, 0)
				bd.proposed = append(bd.proposed, 0)
				bd.excess = append(bd.excess, 0)
				bd.delta = append(bd.delta, 0)
			}
		}
	}
	if len(bd.scarce) == found {
		return
	}
	for i := range in.Items {
		for k := range bd.blocks[i].columns {
			bd.fill(&bd.blocks[i].columns[k], i)
		}
	}
}

func (bd *Bound) roomOf(row scarceRow) float64 {
	if row.mould >= 0 {
		return float64(bd.in.Moulds[row.mould].Count)
	}
	room := bd.in.RackSlots
	for i := range bd.in.Items {
		for _, o := range bd.in.Items[i].OpeningCure {
			if row.day < o.ReadyDay {
				room -= o.Batches * bd.in.Items[i].RackSlots
			}
		}
	}
	return float64(room)
}
