package season

import (
	"math"
	"slices"
)

// A Bound proves what no plan of an instance can cost less than. It holds after
// every step and only rises.
type Bound struct {
	in       *Instance
	limit    [][]limits // by item, by bench day
	products []*productChart
	stores   []*componentChart
	packs    []*dayPack

	// Rows of the constraints that are priced, in this order: links of the two
	// copies by item, bench day and batch; draws by component and bench day; rows of
	// rack and moulds, as they are found to bind.
	link, levels []int // by item: first row, levels of a day
	draw         []int // by item: first row of a component, −1
	scarce       []scarceRow
	room         []float64 // right-hand side by row
	scale        []float64 // how strongly a row's excess moves its price, beside a link's

	blocks   []block   // items, then bench days
	center   []float64 // prices of the best bound so far
	proposed []float64 // prices that the master proposes
	excess   []float64 // left side of the weighted columns less room, by row
	penalty  float64

	value    float64 // best bound, before it is rounded down
	gross    float64 // sum of what the parts of the last value came to, each taken as positive
	proved   float64 // the same, rounded down
	rounds   int
	stalled  int
	done     bool
	hopeless bool // the pins cannot be kept

	price   [][][]float64 // scratch: by item, bench day, batches
	worth   [][][]float64
	unit    [][]float64
	earn    []float64
	drawn   []int
	running []float64
	table   []float64
	delta   []float64
	touched []int32
	pours   []Pour
}

// A scarceRow says that all batches in use of a mould type, or places on the
// rack, on one day are no more than there are.
type scarceRow struct {
	mould int // −1: the rack
	day   int
}

type block struct {
	columns []column
}

// A column is one plan of a block: what it costs and how it counts in each row.
type column struct {
	cost   float64
	rows   []int32
	counts []float64
	pours  []Pour
	drawn  []int
	weight float64
	idle   int
	key    uint64
}

// NewBound makes ready to bound the cost of every plan of in that keeps the pins.
// The instance must be as Read would give it.
func NewBound(in *Instance, pins Pins) *Bound {
	bd := &Bound{in: in, value: math.Inf(-1), proved: math.Inf(-1), penalty: 1}
	nd := len(in.BenchDays)
	bd.limit = make([][]limits, len(in.Items))
	at := map[int]int{}
	for b, d := range in.BenchDays {
		at[d.Day] = b
	}
	for i := range in.Items {
		it := &in.Items[i]
		bd.limit[i] = make([]limits, nd)
		for b, d := range in.BenchDays {
			most := it.MaxBatchesPerDay
			if it.MouldDays > 0 {
				most = min(most, in.Moulds[it.Mould].Count)
			}
			if it.BatchMinutes > 0 {
				most = min(most, (d.Minutes-it.SetupMinutes)/it.BatchMinutes)
			} else if it.SetupMinutes > d.Minutes {
				most = 0
			}
			bd.limit[i][b].most = max(most, 0)
		}
	}
	for _, f := range pins.Forbidden {
		if b, ok := at[f.Day]; ok {
			bd.limit[f.Item][b].most = 0
		}
	}
	for _, f := range pins.Fixed {
		b, ok := at[f.Day]
		if !ok || f.Batches > bd.limit[f.Item][b].most {
			if f.Batches > 0 {
				bd.hopeless = true
			}
			continue
		}
		bd.limit[f.Item][b] = limits{f.Batches, f.Batches}
	}
	if bd.hopeless {
		bd.done = true
		return bd
	}
	bd.packs = make([]*dayPack, nd)
	for b := range nd {
		bd.packs[b] = newDayPack(in, b, bd.limit)
		if !bd.packs[b].feasible {
			bd.hopeless, bd.done = true, true
			return bd
		}
	}
	rows := 0
	bd.link, bd.levels = make([]int, len(in.Items)), make([]int, len(in.Items))
	for i := range in.Items {
		for _, l := range bd.limit[i] {
			bd.levels[i] = max(bd.levels[i], l.most)
		}
		bd.link[i] = rows
		rows += bd.levels[i] * nd
	}
	bd.draw = make([]int, len(in.Items))
	for i := range in.Items {
		bd.draw[i] = -1
		if in.Items[i].Component {
			bd.draw[i] = rows
			rows += nd
		}
	}
	bd.room = make([]float64, rows)
	bd.scale = make([]float64, rows)
	for r := range bd.scale {
		bd.scale[r] = 1
	}
	for c, first := range bd.draw {
		if first < 0 {
			continue
		}
		most := 1
		for i := range in.Items {
			most = max(most, drawnBy(&in.Items[i], c))
		}
		for b := range nd {
			bd.scale[first+b] = 1 / float64(most*most)
		}
	}
	bd.center = make([]float64, rows)
	bd.proposed = make([]float64, rows)
	bd.excess = make([]float64, rows)

	bd.products = make([]*productChart, len(in.Items))
	bd.stores = make([]*componentChart, len(in.Items))
	for i := range in.Items {
		if !in.Items[i].Component {
			bd.products[i] = newProductChart(in, i, bd.limit[i])
			continue
		}
		most := make([]int, nd)
		for b := range most {
			all, _ := bd.packs[b].solve(in, b, func(j, n int) float64 { return float64(n * drawnBy(&in.Items[j], i)) }, nil)
			most[b] = int(math.Round(all))
		}
		bd.stores[i] = newComponentChart(in, i, bd.limit[i], most)
	}
	bd.blocks = make([]block, len(in.Items)+nd)
	bd.price = make([][][]float64, len(in.Items))
	bd.worth = make([][][]float64, len(in.Items))
	bd.unit = make([][]float64, len(in.Items))
	for i := range in.Items {
		bd.price[i] = make([][]float64, nd)
		bd.worth[i] = make([][]float64, nd)
		bd.unit[i] = make([]float64, nd)
		for b := range nd {
			bd.price[i][b] = make([]float64, bd.levels[i]+1)
			bd.worth[i][b] = make([]float64, bd.levels[i]+1)
		}
	}
	bd.earn = make([]float64, nd)
	bd.running = make([]float64, 7*in.Weeks+1)
	bd.table = make([]float64, nd*(slices.Max(append(bd.levels, 0))+1))
	bd.drawn = make([]int, nd)
	return bd
}

func drawnBy(it *Item, component int) int {
	n := 0
	for _, u := range it.BOM {
		if u.Component == component {
			n += u.Units
		}
	}
	return n
}

// Value is the best bound proved so far: −Inf before the first step, +Inf where
// the pins themselves break a bench day.
func (bd *Bound) Value() float64 {
	if bd.hopeless {
		return math.Inf(1)
	}
	return bd.proved
}

// Step does one round. It returns false once the bound can rise no more to speak of.
func (bd *Bound) Step() bool {
	if bd.done {
		return false
	}
	if bd.rounds == 0 {
		bd.take(bd.ask(bd.center))
		for j := range bd.blocks {
			bd.blocks[j].columns[0].weight = 1
		}
		bd.sum()
		bd.rounds++
		return true
	}
	bd.rounds++
	if bd.rounds%5 == 0 {
		bd.findScarce()
	}
	bd.settle()
	model := bd.modelValue()
	hoped := model - bd.value
	value := bd.ask(bd.proposed)
	if value > bd.value {
		gain := value - bd.value
		serious := gain >= 0.1*hoped
		bd.take(value)
		copy(bd.center, bd.proposed)
		if serious && gain >= 0.3*hoped {
			bd.penalty *= 1.3
		}
		bd.stalled = 0
	} else {
		bd.stalled++
		if bd.stalled%4 == 0 || bd.value-value > 2*hoped {
			bd.penalty /= 1.2
		}
	}
	return true
}

// take keeps a better value. What is proved is the sum of about a hundred
// programmes, each of some thousand additions and comparisons of figures that add
// up to gross at most, so rounding is below 1e4 × 2⁻⁵³ of it, about 1e-12; a
// thousand times as much is taken off.
func (bd *Bound) take(value float64) {
	bd.value = value
	bd.proved = math.Max(bd.proved, value-1e-9*(1+bd.gross))
}

// ask works out the Lagrangian at prices, exactly, and keeps each block's answer
// as a column.
func (bd *Bound) ask(prices []float64) float64 {
	in := bd.in
	nd := len(in.BenchDays)
	total := 0.0
	for r, v := range prices {
		total -= v * bd.room[r]
	}
	bd.gross = -total
	for i := range in.Items {
		it := &in.Items[i]
		unit := bd.unit[i]
		clear(unit)
		for _, u := range it.BOM {
			for b := range nd {
				unit[b] += prices[bd.draw[u.Component]+b] * float64(u.Units)
			}
		}
		for b := range nd {
			p, w := bd.price[i][b], bd.worth[i][b]
			add := 0.0
			for n := 1; n < len(p); n++ {
				add += prices[bd.link[i]+b*bd.levels[i]+n-1]
				w[n] = add
			}
		}
	}
	base := len(bd.room) - len(bd.scarce)
	for s, row := range bd.scarce {
		if v := prices[base+s]; v > 0 {
			for i := range in.Items {
				for b := range nd {
					bd.unit[i][b] += v * bd.uses(row, i, b)
				}
			}
		}
	}
	for i := range in.Items {
		it := &in.Items[i]
		for b := range nd {
			p, w := bd.price[i][b], bd.worth[i][b]
			for n := 1; n < len(p); n++ {
				p[n] = it.SetupCost + float64(n)*(it.BatchCost+bd.unit[i][b]) + w[n]
			}
		}
		var value float64
		if it.Component {
			copy(bd.earn, prices[bd.draw[i]:bd.draw[i]+nd])
			value, bd.pours = bd.stores[i].solve(bd.price[i], bd.limit[i], bd.earn, bd.drawn, bd.pours[:0])
		} else {
			value, bd.pours = bd.products[i].solve(bd.price[i], bd.limit[i], bd.pours[:0])
		}
		for j := range bd.pours {
			bd.pours[j].Item = i
		}
		total += value
		bd.gross += math.Abs(value)
		for b, n := range bd.drawn {
			if it.Component {
				bd.gross += bd.earn[b] * float64(n)
			}
		}
		bd.keepItem(i, value, prices)
	}
	for b := range nd {
		var value float64
		value, bd.pours = bd.packs[b].solve(in, b, func(i, n int) float64 { return bd.worth[i][b][n] }, bd.pours[:0])
		total -= value
		bd.gross += value
		bd.keepDay(b)
	}
	return total
}

// uses is how one batch of an item, poured on bench day b, counts in a scarce row.
func (bd *Bound) uses(row scarceRow, i, b int) float64 {
	it, d := &bd.in.Items[i], bd.in.BenchDays[b].Day
	if row.mould >= 0 {
		if it.Mould == row.mould && d <= row.day && row.day < d+it.MouldDays {
			return 1
		}
		return 0
	}
	if d+it.MouldDays <= row.day && row.day < d+it.LeadDays {
		return float64(it.RackSlots)
	}
	return 0
}

func (bd *Bound) keepItem(i int, value float64, prices []float64) {
	c := column{pours: slices.Clone(bd.pours)}
	if bd.in.Items[i].Component {
		c.drawn = slices.Clone(bd.drawn)
	}
	bd.fill(&c, i)
	// What the plan costs without the prices.
	c.cost = value
	for k, r := range c.rows {
		c.cost -= c.counts[k] * prices[r]
	}
	bd.add(i, c)
}

func (bd *Bound) keepDay(b int) {
	c := column{pours: slices.Clone(bd.pours)}
	for _, p := range c.pours {
		for n := range p.Batches {
			c.rows = append(c.rows, int32(bd.link[p.Item]+b*bd.levels[p.Item]+n))
			c.counts = append(c.counts, -1)
		}
	}
	bd.add(len(bd.in.Items)+b, c)
}

// fill gives an item's column its rows.
func (bd *Bound) fill(c *column, i int) {
	it := &bd.in.Items[i]
	c.rows, c.counts = c.rows[:0], c.counts[:0]
	for _, p := range c.pours {
		for n := range p.Batches {
			c.rows = append(c.rows, int32(bd.link[i]+p.Day*bd.levels[i]+n))
			c.counts = append(c.counts, 1)
		}
		for _, u := range it.BOM {
			c.rows = append(c.rows, int32(bd.draw[u.Component]+p.Day))
			c.counts = append(c.counts, float64(u.Units*p.Batches))
		}
	}
	for b, n := range c.drawn {
		if n > 0 {
			c.rows = append(c.rows, int32(bd.draw[i]+b))
			c.counts = append(c.counts, -float64(n))
		}
	}
	base := len(bd.room) - len(bd.scarce)
	for s, row := range bd.scarce {
		n := 0.0
		for _, p := range c.pours {
			n += bd.uses(row, i, p.Day) * float64(p.Batches)
		}
		if n > 0 {
			c.rows = append(c.rows, int32(base+s))
			c.counts = append(c.counts, n)
		}
	}
}

func (bd *Bound) add(j int, c column) {
	h := uint64(14695981039346656037)
	for _, p := range c.pours {
		h = (h ^ uint64(p.Day)) * 1099511628211
		h = (h ^ uint64(p.Item)) * 1099511628211
		h = (h ^ uint64(p.Batches)) * 1099511628211
	}
	for _, n := range c.drawn {
		h = (h ^ uint64(n)) * 1099511628211
	}
	c.key = h
	for k := range bd.blocks[j].columns {
		old := &bd.blocks[j].columns[k]
		if old.key == h && slices.Equal(old.pours, c.pours) && slices.Equal(old.drawn, c.drawn) {
			old.idle = 0
			return
		}
	}
	bd.blocks[j].columns = append(bd.blocks[j].columns, c)
}
