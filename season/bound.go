package season

import (
	"math"
	"slices"
)

// A Bound proves a cost that no plan of an instance can go below. The package
// comment, under 'How the bound is proved', has the argument; its steps are done
// here:
//
//   - makeRows and findScarce write the rows (bound_master.go has findScarce);
//   - ask works out L(λ) from the blocks (bound_item.go, bound_day.go);
//   - settle (bound_master.go) and Step move the prices;
//   - branch splits the plans into kinds (bound_branch.go).
type Bound struct {
	in       *Instance
	pins     Pins
	limit    [][]limits // by item, by bench day
	products []*productChart
	stores   []*componentChart
	packs    []*dayPack

	// Rows of the priced constraints, in this order: links by item, bench day and
	// batch; draws by component and bench day; rack and mould rows in the order
	// in which they are found.
	link, levels []int // by item: its first row; how many batches of a day are linked
	draw         []int // by item: the first row of a component, −1 for a product
	scarce       []scarceRow
	room         []float64 // right side, by row
	floor        []float64 // lowest price, by row
	scale        []float64 // how strongly a row's excess moves its price, compared with a link's

	blocks   []block   // items, then bench days
	center   []float64 // prices of the best bound so far
	proposed []float64 // prices that the master proposes
	excess   []float64 // left side of the weighted columns minus room, by row
	penalty  float64   // how far an excess moves a price

	value     float64 // best bound, before it is rounded down
	proved    float64 // the same, rounded down
	gross     float64 // sum of the sizes of all parts of the last answer
	ceiling   float64 // every plan costs at most this
	rounds    int
	stalled   int     // rounds since the value rose
	rise      float64 // value when it last rose noticeably, and the round
	riseAt    int
	stirredAt int // round of the last rise that earns a kind more rounds, and the value then
	stirred   float64
	kind      bool // this bound belongs to a tree and is not split itself
	tree      *tree
	done      bool
	hopeless  bool // the pins cannot be kept

	// Scratch.
	price   [][][]float64 // by item, bench day, batches
	worth   [][][]float64 // by item, bench day, batches linked
	unit    []float64     // by bench day
	earn    []float64     // by bench day
	drawn   []int         // by bench day
	pours   []Pour
	running []float64 // by day
	table   []float64 // by bench day, with room for the most batches of a day
	wide    []int     // by item
	delta   []float64
	touched []int32
}

// A scarceRow says that all batches that use a mould type, or all places in use
// on the rack, are at most as many as there are on one day.
type scarceRow struct {
	mould int // −1: the rack
	day   int
}

type block struct {
	columns []column
}

// level scales the weights so that they add up to 1. Where there are none, the
// newest column gets the whole weight.
func (bl *block) level() {
	sum := 0.0
	for k := range bl.columns {
		sum += bl.columns[k].weight
	}
	if sum < 1e-6 {
		for k := range bl.columns {
			bl.columns[k].weight = 0
		}
		bl.columns[len(bl.columns)-1].weight = 1
		return
	}
	for k := range bl.columns {
		bl.columns[k].weight /= sum
	}
}

// A column is one plan of a block: its cost and what it counts in each row. Days
// are indices of bench days.
type column struct {
	cost   float64
	rows   []int32
	counts []float64
	pours  []Pour
	drawn  []int // units of a component, by bench day
	weight float64
	idle   int // rounds without weight
	key    uint64
}

const (
	// linked is how many batches of an item and day have a link of their own.
	// Further batches go with the last link, which makes the bound a little
	// weaker but keeps it valid.
	linked = 12
	// cells is the greatest number of items × bench days × batches that is worked
	// on. A larger season keeps the bound 0, since no cost is below 0.
	cells = 4_000_000
)

// NewBound prepares a bound for the cost of every plan of in that keeps the pins.
// The instance must be as Read returns it: no cost below 0, days in rising order.
func NewBound(in *Instance, pins Pins) *Bound { return newBound(in, pins, nil) }

func newBound(in *Instance, pins Pins, cuts []cut) *Bound {
	bd := &Bound{in: in, pins: pins, value: math.Inf(-1), proved: math.Inf(-1), rise: math.Inf(-1), stirred: math.Inf(-1), penalty: 1}
	bd.limits(Pins{})
	bd.makeRows() // rows of all that could be poured without pins, so that a child can take over prices
	if !bd.limits(pins) || !bd.cut(cuts) {
		bd.hopeless, bd.done = true, true
		return bd
	}
	bd.ceiling = bd.dearest()
	nd, size := len(in.BenchDays), 0
	for i := range in.Items {
		for _, l := range bd.limit[i] {
			size += l.most + 1
		}
	}
	if size > cells {
		bd.proved, bd.done = 0, true
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
	bd.products = make([]*productChart, len(in.Items))
	bd.stores = make([]*componentChart, len(in.Items))
	for i := range in.Items {
		if in.Items[i].Component {
			continue
		}
		if bd.products[i] = newProductChart(in, i, bd.limit[i], cuts); bd.products[i] == nil {
			bd.hopeless, bd.done = true, true
			return bd
		}
	}
	need := bd.needs(cuts)
	for i := range in.Items {
		if !in.Items[i].Component {
			continue
		}
		most := make([]int, nd)
		for b := range most {
			most[b] = bd.mostDrawn(i, b)
		}
		if bd.stores[i] = newComponentChart(in, i, bd.limit[i], most, need[i], cuts); bd.stores[i] == nil {
			bd.hopeless, bd.done = true, true
			return bd
		}
	}
	bd.blocks = make([]block, len(in.Items)+nd)
	bd.price = make([][][]float64, len(in.Items))
	bd.worth = make([][][]float64, len(in.Items))
	bd.wide = make([]int, len(in.Items))
	widest := 0
	for i := range in.Items {
		bd.price[i] = make([][]float64, nd)
		bd.worth[i] = make([][]float64, nd)
		for b, l := range bd.limit[i] {
			bd.price[i][b] = make([]float64, l.most+1)
			bd.worth[i][b] = make([]float64, bd.levels[i]+1)
			bd.wide[i] = max(bd.wide[i], l.most+1)
		}
		widest = max(widest, bd.wide[i])
	}
	bd.unit = make([]float64, nd)
	bd.earn = make([]float64, nd)
	bd.drawn = make([]int, nd)
	bd.running = make([]float64, 7*in.Weeks+1)
	bd.table = make([]float64, nd*widest)
	return bd
}

// limits works out how many batches of each item may be poured on each day. It
// returns false if a pin asks for more than the day allows.
func (bd *Bound) limits(pins Pins) bool {
	in := bd.in
	bd.limit = make([][]limits, len(in.Items))
	for i := range in.Items {
		it := &in.Items[i]
		bd.limit[i] = make([]limits, len(in.BenchDays))
		for b, d := range in.BenchDays {
			most := it.MaxBatchesPerDay
			if it.MouldDays > 0 {
				most = min(most, in.Moulds[it.Mould].Count)
			}
			if it.BatchMinutes > 0 {
				most = min(most, (d.Minutes-it.SetupMinutes)/it.BatchMinutes)
			}
			if it.SetupMinutes > d.Minutes {
				most = 0
			}
			bd.limit[i][b].most = max(most, 0)
		}
	}
	for _, f := range pins.Forbidden {
		if b, ok := in.DayIndex(f.Day); ok {
			bd.limit[f.Item][b].most = 0
		}
	}
	for _, f := range pins.Fixed {
		b, ok := in.DayIndex(f.Day)
		if f.Batches > 0 && (!ok || f.Batches > bd.limit[f.Item][b].most) {
			return false
		}
		if ok {
			bd.limit[f.Item][b] = limits{f.Batches, f.Batches}
		}
	}
	return true
}

// cut narrows the limits to what the cuts allow on single days. It returns false
// if nothing is left.
func (bd *Bound) cut(cuts []cut) bool {
	for _, x := range cuts {
		if x.day >= 0 {
			l := &bd.limit[x.item][x.day]
			l.least, l.most = max(l.least, x.least), min(l.most, x.most)
			if l.least > l.most {
				return false
			}
		}
	}
	return true
}

func (bd *Bound) makeRows() {
	in, nd := bd.in, len(bd.in.BenchDays)
	rows := 0
	bd.link, bd.levels = make([]int, len(in.Items)), make([]int, len(in.Items))
	for i := range in.Items {
		for _, l := range bd.limit[i] {
			bd.levels[i] = max(bd.levels[i], min(l.most, linked))
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
	bd.center = make([]float64, rows)
	bd.proposed = make([]float64, rows)
	bd.excess = make([]float64, rows)
	bd.delta = make([]float64, rows)
	bd.floor = make([]float64, rows)
	bd.scale = make([]float64, rows)
	for r := range bd.scale {
		bd.scale[r] = 1
	}
	for c, first := range bd.draw {
		if first < 0 {
			continue
		}
		most, low := 1, math.Inf(1)
		for i := range in.Items {
			it := &in.Items[i]
			all := 0
			for _, u := range it.BOM {
				all += u.Units
			}
			if n := drawnBy(it, c); n > 0 {
				most = max(most, n)
				low = min(low, 0.999*it.BatchCost/float64(all))
			}
		}
		for b := range nd {
			bd.scale[first+b] = 1 / (float64(most) * float64(most))
			if !math.IsInf(low, 1) {
				bd.floor[first+b] = -low
			}
		}
	}
}

// mostDrawn is the most that all batches of one bench day can draw of a
// component.
func (bd *Bound) mostDrawn(component, b int) int {
	in := bd.in
	all := 0
	for i := range in.Items {
		n := drawnBy(&in.Items[i], component)
		if n > 0 && bd.limit[i][b].most > linked { // more than the knapsack counts
			for j := range in.Items {
				all += bd.limit[j][b].most * drawnBy(&in.Items[j], component)
			}
			return all
		}
	}
	worth, _ := bd.packs[b].solve(in, b, func(j, n int) float64 { return float64(n * drawnBy(&in.Items[j], component)) }, nil)
	return int(math.Round(worth))
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

// Value is the best bound proved so far, in the studio's currency. It is valid at
// any time and never falls. It is −Inf before the first step, and +Inf once it is
// proved that no plan keeps both the pins and the rules.
func (bd *Bound) Value() float64 {
	if bd.hopeless {
		return math.Inf(1)
	}
	return bd.proved
}

// Shares gives the weighted number of batches by item and bench day over the
// columns behind the bound. This is what a plan at just the bound's cost would
// pour if a batch could be divided, so a search may start near it.
func (bd *Bound) Shares() [][]float64 {
	in := bd.in
	shares := make([][]float64, len(in.Items))
	for i := range shares {
		shares[i] = make([]float64, len(in.BenchDays))
		if bd.blocks == nil {
			continue
		}
		for k := range bd.blocks[i].columns {
			if c := &bd.blocks[i].columns[k]; c.weight > 0 {
				for _, p := range c.pours {
					shares[i][p.Day] += c.weight * float64(p.Batches)
				}
			}
		}
	}
	return shares
}

// patience is how many rounds may pass without a rise of 1e-5 of the bound.
const patience = 75

// Step does one round. It weighs the columns found so far, takes the prices that
// these weights ask for, and works out the bound at those prices. It returns
// false once nothing more can be gained. The same instance and pins always give
// the same values.
func (bd *Bound) Step() bool {
	if bd.done {
		return false
	}
	if bd.tree != nil {
		bd.done = !bd.branch()
		return !bd.done
	}
	bd.rounds++
	if bd.rounds == 1 {
		value := bd.ask(bd.center)
		if bd.hopeless {
			return false
		}
		bd.take(value)
		for j := range bd.blocks {
			bd.blocks[j].level()
		}
		return !bd.done
	}
	if bd.rounds%5 == 0 {
		bd.findScarce()
	}
	hoped := bd.settle() - bd.value
	value := bd.ask(bd.proposed)
	if gain := value - bd.value; gain > 0 {
		bd.take(value)
		copy(bd.center, bd.proposed)
		if gain >= 0.3*hoped {
			bd.penalty *= 1.3
		}
		bd.stalled = 0
	} else {
		bd.stalled++
		if bd.stalled%4 == 0 || -gain > 2*hoped {
			bd.penalty /= 1.2
		}
	}
	if bd.done {
		return false
	}
	if bd.value > bd.rise+1e-5*(1+math.Abs(bd.value)) {
		bd.rise, bd.riseAt = bd.value, bd.rounds
	}
	if bd.value > bd.stirred+1e-4*(1+math.Abs(bd.value)) {
		bd.stirred, bd.stirredAt = bd.value, bd.rounds
	}
	switch waited := bd.rounds - bd.riseAt; {
	case waited > patience && bd.kind:
		bd.done = true
	case waited > patience:
		bd.done = !bd.branch()
	case waited == patience/3:
		bd.penalty = 1 // the steps may have become too short to show a rise
	}
	return !bd.done
}

// take keeps a better value. The proved value is the sum of about a hundred
// programmes. Each does some thousand additions and comparisons, of figures whose
// sizes add up to gross at most. So the rounding error is below 1e4 × 2⁻⁵³ of
// gross, about 1e-12; a thousand times as much is taken off.
func (bd *Bound) take(value float64) {
	bd.value = value
	bd.proved = max(bd.proved, 0, value-1e-9*(1+bd.gross)) // no cost is below 0
	if bd.proved > bd.ceiling {
		bd.hopeless, bd.done = true, true
	}
}

// needs is, for each component, the most units that some cheapest plan of the
// season draws.
//
// There is a cheapest plan that has no more batches of a product than its
// programme allows, and no batch of a component on top of a supply that covers
// all draws. The reason: leaving such a batch out keeps every rule and saves its
// cost, and the only cost it adds is for holding, to the end, the components that
// it would have drawn. Where that holding could cost more than the batch, needs
// counts every batch that could be poured.
func (bd *Bound) needs(cuts []cut) []int {
	in := bd.in
	batches, need := make([]int, len(in.Items)), make([]int, len(in.Items))
	known := make([]bool, len(in.Items))
	var count func(i int)
	count = func(i int) {
		if known[i] {
			return
		}
		known[i] = true
		it := &in.Items[i]
		possible, least := 0, 0
		for _, l := range bd.limit[i] {
			possible += l.most
			least += l.least
		}
		if it.Component {
			for j := range in.Items {
				if n := drawnBy(&in.Items[j], i); n > 0 {
					count(j)
					need[i] += n * batches[j]
				}
			}
		}
		held := 0.0
		for _, u := range it.BOM {
			held += float64(u.Units) * in.Items[u.Component].Holding * float64(in.Weeks)
		}
		switch {
		case held > it.BatchCost:
			batches[i] = possible
		case it.Component:
			for _, x := range cuts {
				if x.item == i && x.day < 0 {
					least = max(least, x.least)
				}
			}
			batches[i] = min(possible, need[i]/it.BatchUnits+1+least)
		default:
			batches[i] = bd.products[i].use
		}
	}
	for i := range in.Items {
		count(i)
	}
	return need
}

// dearest is a cost that every plan stays below. A bound above it shows that
// there is no plan.
func (bd *Bound) dearest() float64 {
	in := bd.in
	cost := 1.0
	for i := range in.Items {
		it := &in.Items[i]
		stock := it.OpeningStock
		for _, o := range it.OpeningCure {
			stock += o.Batches * it.BatchUnits
		}
		for _, l := range bd.limit[i] {
			if l.most > 0 {
				cost += it.SetupCost + float64(l.most)*it.BatchCost
				stock += l.most * it.BatchUnits
			}
		}
		cost += it.Holding * float64(stock) * float64(in.Weeks)
		if it.Component {
			continue
		}
		for w := range in.Weeks {
			cost += it.LostSale[w]*float64(it.Demand[w]) + it.SafetyPenalty*float64(it.SafetyStock[w])
		}
		if it.Launch != nil {
			cost += it.Launch.ShortPenalty * float64(it.Launch.StockNeeded)
		}
		cost += it.EndPenalty * float64(it.EndTarget)
	}
	return cost * (1 + 1e-9)
}

// ask works out L(λ) exactly at the given prices, and keeps each block's best
// plan as a column.
func (bd *Bound) ask(prices []float64) float64 {
	in := bd.in
	total := 0.0
	for r, v := range prices {
		total -= v * bd.room[r]
	}
	bd.gross = -total
	bd.run(prices)
	for i := range in.Items {
		it := &in.Items[i]
		bd.unitPrices(i, prices)
		for b := range in.BenchDays {
			p, w := bd.price[i][b], bd.worth[i][b]
			for n := 1; n < len(w); n++ {
				w[n] = w[n-1] + prices[bd.link[i]+b*bd.levels[i]+n-1]
			}
			for n := 1; n < len(p); n++ {
				p[n] = it.SetupCost + float64(n)*(it.BatchCost+bd.unit[b]) + w[min(n, len(w)-1)]
			}
		}
		var value float64
		if it.Component {
			copy(bd.earn, prices[bd.draw[i]:])
			value, bd.pours = bd.stores[i].solve(bd.price[i], bd.limit[i], bd.earn, bd.drawn, bd.pours[:0])
			if math.IsInf(value, 1) {
				bd.hopeless, bd.done = true, true
				return value
			}
			for b, n := range bd.drawn {
				bd.gross += math.Abs(bd.earn[b]) * float64(n)
			}
		} else {
			value, bd.pours = bd.products[i].solve(bd.price[i], bd.limit[i], bd.pours[:0])
		}
		total += value
		bd.gross += math.Abs(value)
		bd.keepItem(i, value, prices)
	}
	for b := range in.BenchDays {
		var value float64
		value, bd.pours = bd.packs[b].solve(in, b, func(i, n int) float64 {
			w := bd.worth[i][b]
			return w[min(n, len(w)-1)]
		}, bd.pours[:0])
		total -= value
		bd.gross += value
		bd.keepDay(b)
	}
	return total
}

// run fills running with the running sum of the rack prices by day.
func (bd *Bound) run(prices []float64) {
	base := len(bd.room) - len(bd.scarce)
	clear(bd.running)
	for s, row := range bd.scarce {
		if row.mould < 0 {
			bd.running[row.day+1] = prices[base+s]
		}
	}
	for t := 1; t < len(bd.running); t++ {
		bd.running[t] += bd.running[t-1]
	}
}

// unitPrices fills unit, by bench day, with what the prices charge for one batch
// of an item, links apart. Call run first: a batch has many rack rows, and over a
// range of days their sum is the difference of two running sums.
func (bd *Bound) unitPrices(i int, prices []float64) {
	in := bd.in
	it := &in.Items[i]
	days := 7 * in.Weeks
	for b, bench := range in.BenchDays {
		bd.unit[b] = 0
		if from, to := min(bench.Day+it.MouldDays, days), min(bench.Day+it.LeadDays, days); from < to {
			bd.unit[b] = float64(it.RackSlots) * math.Max(0, bd.running[to]-bd.running[from])
		}
	}
	for _, u := range it.BOM {
		for b, v := range prices[bd.draw[u.Component] : bd.draw[u.Component]+len(in.BenchDays)] {
			bd.unit[b] += float64(u.Units) * v
		}
	}
	base := len(bd.room) - len(bd.scarce)
	for s, row := range bd.scarce {
		if v := prices[base+s]; v > 0 && row.mould >= 0 && row.mould == it.Mould {
			for b := range in.BenchDays {
				bd.unit[b] += v * bd.uses(row, i, b)
			}
		}
	}
}

// uses is what one batch of an item, poured on bench day b, counts in a scarce
// row.
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
	// The cost of the plan without the prices.
	c.cost = value
	for k, r := range c.rows {
		c.cost -= c.counts[k] * prices[r]
	}
	bd.add(i, c)
}

func (bd *Bound) keepDay(b int) {
	c := column{pours: slices.Clone(bd.pours)}
	bd.fillDay(&c, b)
	bd.add(len(bd.in.Items)+b, c)
}

// fillDay writes the rows of a bench day's column.
func (bd *Bound) fillDay(c *column, b int) {
	for _, p := range c.pours {
		for n := range min(p.Batches, linked) {
			c.rows = append(c.rows, int32(bd.link[p.Item]+b*bd.levels[p.Item]+n))
			c.counts = append(c.counts, -1)
		}
	}
}

// fill writes the rows of an item's column.
func (bd *Bound) fill(c *column, i int) {
	it := &bd.in.Items[i]
	c.rows, c.counts = c.rows[:0], c.counts[:0]
	for _, p := range c.pours {
		for n := range min(p.Batches, linked) {
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
