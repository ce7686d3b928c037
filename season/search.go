package season

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// Search looks for a cheap plan by simulated annealing on the pours themselves.
// Its caller steps it and keeps the time. One Search must not be used by several
// goroutines; several searches with different seeds may run side by side.
//
// A state may break rules, at a price that rises while the temperature falls. The
// plan that Best returns never breaks one, unless nothing that keeps the pins was
// found.
type Search struct {
	in                 *Instance
	items, days, weeks int
	rng                *rand.PCG
	unit               float64 // what a typical batch is worth: prices and temperatures are in this unit

	// These fields do not change. A cell is a bench day and an item: day × items
	// + item.
	figures   []figures
	free      []bool        // by cell: may be changed
	adds      []int32       // the free cells
	users     []int32       // items that draw components
	arrive    []int32       // by cell: week in which a product's batch counts; weeks is after the season
	mouldTo   []int32       // by cell: first bench day on which the mould is free again
	rackFrom  []int32       // by cell: rack points from rackFrom to rackTo−1, on which a batch stands there
	rackTo    []int32       //
	usable    []int32       // by cell: first bench day on which a component's batch can be used
	slope     []float64     // by cell: cost of one batch, without set-up and without what happens to a product
	week      []weekFigures // by item, then week
	minutesOf []int         // by bench day
	mouldsOf  []int         // by mould
	rackOf    []int         // by rack point: places left by the opening cure

	now     state
	temp    float64
	price   float64
	done    []shift
	touched []touch

	moves      int64 // in all
	expected   int64 // in all, as the caller says; 0 if not said
	cycle      int   // number of annealings begun
	at, length int64 // moves of the current annealing
	laid       bool  // length was derived from expected
	shares     int   // number of annealings that got a share of the moves left
	doneAt     int64 // move of the current annealing at which its progress was done0
	done0      float64
	schedule   schedule
	best       plan // best of all
}

// plan is a state's pours by cell, and their cost. ok is false as long as there
// is no plan.
type plan struct {
	n    []int32
	cost float64
	ok   bool
}

// schedule is how temperature and price change from the first move to the last.
type schedule struct{ hot, cold, light, heavy float64 }

// temp falls from hot to cold, and over the last tenth quickly to a twentieth of
// cold, so that gains of a cent are found too.
func (s *schedule) temp(x float64) float64 {
	const quench = 0.9
	if x < quench {
		return s.hot * math.Pow(s.cold/s.hot, x/quench)
	}
	return s.cold * math.Pow(0.05, (x-quench)/(1-quench))
}

// state is the plan that the search is at, with all that is computed from it.
type state struct {
	n        []int32 // by cell: batches
	list     []int32 // free cells that have batches
	place    []int32 // by cell: its position in list
	minutes  []int   // by bench day: minutes used
	moulds   []int   // by mould, then bench day: sets used
	rack     []int   // by rack point: places used
	stock    []int   // by item, then bench day: stock of a component
	arrivals []int   // by item, then week; the last is after the season
	before   []int   // by item, then week: stock before the week's arrivals
	sum      []float64
	flow     []float64 // by item: cost of what happens to its stock
	tally
}

// tally holds the sums that are restored when a move is not accepted.
type tally struct {
	linear, flows                 float64
	minutes, sets, places, pieces int     // too many, or missing
	lacking                       float64 // missing pieces, counted in batches of their components
}

func (t *tally) cost() float64 { return t.linear + t.flows }
func (t *tally) sound() bool   { return t.minutes|t.sets|t.places|t.pieces == 0 }

// broken is the weight of the broken rules. One set, one hour, five places and
// one batch of a component weigh the same.
func (t *tally) broken() float64 {
	if t.sound() {
		return 0
	}
	return float64(t.sets) + float64(t.minutes)/60 + float64(t.places)/5 + t.lacking
}

// figures holds an item's numbers, packed for the search.
type figures struct {
	mould, slots, most         int
	setupMinutes, batchMinutes int
	units, opening             int
	setupCost, batchCost       float64
	component                  bool
	share                      float64 // of one piece of a component: its share of a batch
	uses                       []Use
	holding, safety, end       float64
	target                     int
	launchWeek, launchNeed     int
	launchPenalty              float64
}

type weekFigures struct {
	lost           float64
	demand, safety int
}

// shift moves k batches of an item from one bench day to another; −1 stands for
// no day.
type shift struct{ item, from, to, k int }

// touch is a product whose arrivals changed between two weeks.
type touch struct {
	item, from, to int
	flow           float64
}

// NewSearch begins a search for plans of in that keep the pins. The same seed and
// the same number of moves give the same plan, however the moves are divided into
// steps.
func NewSearch(in *Instance, seed uint64, pins Pins) *Search {
	s := &Search{
		in: in, items: len(in.Items), days: len(in.BenchDays), weeks: in.Weeks,
		rng: rand.NewPCG(seed, 0x6261727772696768),
	}
	s.readItems()
	s.readCells(pins)
	s.reset(s.now.n)
	s.note(&s.best)
	return s
}

func (s *Search) readItems() {
	in := s.in
	s.figures = make([]figures, s.items)
	s.week = make([]weekFigures, s.items*s.weeks)
	var worth []float64
	for i := range in.Items {
		it := &in.Items[i]
		s.figures[i] = figures{
			mould: it.Mould, slots: it.RackSlots, most: it.MaxBatchesPerDay,
			setupMinutes: it.SetupMinutes, batchMinutes: it.BatchMinutes,
			units: it.BatchUnits, opening: it.OpeningStock,
			setupCost: it.SetupCost, batchCost: it.BatchCost,
			component: it.Component, share: 1 / float64(it.BatchUnits), uses: it.BOM,
			holding: it.Holding, safety: it.SafetyPenalty, end: it.EndPenalty, target: it.EndTarget,
			launchWeek: -1,
		}
		if l := it.Launch; l != nil {
			f := &s.figures[i]
			f.launchWeek, f.launchNeed, f.launchPenalty = l.Week, l.StockNeeded, l.ShortPenalty
		}
		if len(it.BOM) > 0 {
			s.users = append(s.users, int32(i))
		}
		if it.Component {
			continue
		}
		lost := 0.0
		for w := range s.weeks {
			s.week[i*s.weeks+w] = weekFigures{it.LostSale[w], it.Demand[w], it.SafetyStock[w]}
			lost += it.LostSale[w]
		}
		worth = append(worth, float64(it.BatchUnits)*max(lost/float64(s.weeks), it.EndPenalty, 1e-6))
	}
	s.unit = 1
	if len(worth) > 0 {
		slices.Sort(worth)
		s.unit = worth[len(worth)/2]
	}
	s.minutesOf = make([]int, s.days)
	for j, b := range in.BenchDays {
		s.minutesOf[j] = b.Minutes
	}
	s.mouldsOf = make([]int, len(in.Moulds))
	for m := range in.Moulds {
		s.mouldsOf[m] = in.Moulds[m].Count
	}
}

// readCells works out what a batch of each item on each bench day uses, and when.
//
// Sets, places and components are watched on a few days only. The use of moulds
// rises only on bench days. The use of the rack rises only on days on which a
// batch may leave its mould. A component's stock falls only on bench days. So a
// rule that is broken at all is broken on one of those days.
func (s *Search) readCells(pins Pins) {
	in, last := s.in, 7*s.weeks
	var points []int
	for i := range in.Items {
		if it := &in.Items[i]; it.RackSlots > 0 && it.LeadDays > it.MouldDays {
			for _, b := range in.BenchDays {
				if d := b.Day + it.MouldDays; d < last {
					points = append(points, d)
				}
			}
		}
	}
	slices.Sort(points)
	points = slices.Compact(points)
	opening := openingRack(in)
	s.rackOf = make([]int, len(points))
	for p, d := range points {
		s.rackOf[p] = in.RackSlots - opening[d]
	}

	cells := s.items * s.days
	s.free = make([]bool, cells)
	s.arrive, s.mouldTo, s.usable = make([]int32, cells), make([]int32, cells), make([]int32, cells)
	s.rackFrom, s.rackTo = make([]int32, cells), make([]int32, cells)
	s.slope = make([]float64, cells)
	s.now.n = make([]int32, cells)
	benchFrom := func(day int) int32 {
		j, _ := in.DayIndex(day)
		return int32(j)
	}
	for j, b := range in.BenchDays {
		for i := range in.Items {
			it, c := &in.Items[i], j*s.items+i
			ready := b.Day + it.LeadDays
			s.arrive[c] = int32(min(weekOf(ready), s.weeks))
			s.mouldTo[c] = benchFrom(b.Day + it.MouldDays)
			s.usable[c] = benchFrom(ready)
			if it.RackSlots > 0 && it.LeadDays > it.MouldDays {
				from, _ := slices.BinarySearch(points, b.Day+it.MouldDays)
				to, _ := slices.BinarySearch(points, ready)
				s.rackFrom[c], s.rackTo[c] = int32(from), int32(to)
			}
			s.slope[c] = it.BatchCost
			if it.Component && ready < last {
				s.slope[c] += it.Holding * float64(it.BatchUnits*(s.weeks-ready/7))
			}
			for _, u := range it.BOM {
				s.slope[c] -= in.Items[u.Component].Holding * float64(u.Units*(s.weeks-b.Day/7))
			}
			// A batch that could never be poured on that day is not tried.
			s.free[c] = it.MaxBatchesPerDay > 0 && it.SetupMinutes+it.BatchMinutes <= b.Minutes &&
				(it.MouldDays == 0 || in.Moulds[it.Mould].Count > 0)
		}
	}
	for _, p := range pins.Forbidden {
		if j, ok := in.DayIndex(p.Day); ok {
			s.free[j*s.items+p.Item] = false
		}
	}
	for _, p := range pins.Fixed {
		if j, ok := in.DayIndex(p.Day); ok {
			s.free[j*s.items+p.Item] = false
			s.now.n[j*s.items+p.Item] = int32(p.Batches)
		}
	}
	for c, free := range s.free {
		if free {
			s.adds = append(s.adds, int32(c))
		}
	}
}

// reset makes n the state and computes everything that depends on it.
func (s *Search) reset(n []int32) {
	from := slices.Clone(n)
	cells := s.items * s.days
	st := &s.now
	if st.place == nil {
		st.n, st.place = make([]int32, cells), make([]int32, cells)
		st.minutes = make([]int, s.days)
		st.moulds = make([]int, len(s.mouldsOf)*s.days)
		st.rack = make([]int, len(s.rackOf))
		st.stock = make([]int, s.items*s.days)
		st.arrivals = make([]int, s.items*(s.weeks+1))
		st.before = make([]int, s.items*(s.weeks+1))
		st.sum = make([]float64, s.items*(s.weeks+1))
		st.flow = make([]float64, s.items)
	}
	st.tally = tally{}
	st.list = st.list[:0]
	clear(st.n)
	clear(st.minutes)
	clear(st.moulds)
	clear(st.rack)
	clear(st.arrivals)
	for i := range s.figures {
		f := &s.figures[i]
		if f.component {
			for j := range s.days {
				st.stock[i*s.days+j] = f.opening
			}
			// The opening stock is paid for from the end of the first week.
			st.linear += s.in.Items[i].Holding * float64(f.opening*s.weeks)
			continue
		}
		for _, c := range s.in.Items[i].OpeningCure {
			st.arrivals[i*(s.weeks+1)+min(weekOf(c.ReadyDay), s.weeks)] += c.Batches * f.units
		}
		// What is ready only after the season counts for nothing (Read refuses
		// it).
		st.arrivals[i*(s.weeks+1)+s.weeks] = 0
	}
	for c, k := range from {
		if k > 0 {
			s.apply(shift{c % s.items, -1, c / s.items, int(k)})
		}
	}
	st.flows = 0
	for i := range s.figures {
		if !s.figures[i].component {
			s.settle(i, 0)
			st.flows += st.flow[i]
		}
	}
}

// use adds by to the use of a limit, and updates the total above limits.
func use(used, over *int, limit, by int) {
	was := max(0, *used-limit)
	*used += by
	*over += max(0, *used-limit) - was
}

// supply adds by to a component's stock on bench days from … to−1.
func (s *Search) supply(item, from, to, by int) {
	row := s.now.stock[item*s.days+from : item*s.days+to]
	lack := 0
	for j, was := range row {
		is := was + by
		row[j] = is
		lack += min(0, was) - min(0, is)
	}
	if lack != 0 {
		s.now.pieces += lack
		if s.now.lacking += float64(lack) * s.figures[item].share; s.now.pieces == 0 {
			s.now.lacking = 0
		}
	}
}

func (s *Search) useRack(from, to, by int) {
	if from >= to {
		return
	}
	limits := s.rackOf[from:to]
	over := 0
	row := s.now.rack[from:to][:len(limits)]
	for p, was := range row {
		is := was + by
		row[p] = is
		over += max(0, is-limits[p]) - max(0, was-limits[p])
	}
	s.now.places += over
}

// apply moves batches, which must exist, and updates everything except flows.
func (s *Search) apply(m shift) {
	st, f := &s.now, &s.figures[m.item]
	k := m.k
	if m.from >= 0 {
		c := m.from*s.items + m.item
		st.n[c] -= int32(k)
		minutes := -k * f.batchMinutes
		if st.n[c] == 0 {
			minutes -= f.setupMinutes
			st.linear -= f.setupCost
			if s.free[c] {
				end := st.list[len(st.list)-1]
				st.list[st.place[c]], st.place[end] = end, st.place[c]
				st.list = st.list[:len(st.list)-1]
			}
		}
		use(&st.minutes[m.from], &st.tally.minutes, s.minutesOf[m.from], minutes)
		st.linear -= float64(k) * s.slope[c]
		for j := m.from; j < int(s.mouldTo[c]); j++ {
			use(&st.moulds[f.mould*s.days+j], &st.sets, s.mouldsOf[f.mould], -k)
		}
		st.arrivals[m.item*(s.weeks+1)+int(s.arrive[c])] -= k * f.units
	}
	if m.to >= 0 {
		c := m.to*s.items + m.item
		minutes := k * f.batchMinutes
		if st.n[c] == 0 {
			minutes += f.setupMinutes
			st.linear += f.setupCost
			if s.free[c] {
				st.place[c] = int32(len(st.list))
				st.list = append(st.list, int32(c))
			}
		}
		st.n[c] += int32(k)
		use(&st.minutes[m.to], &st.tally.minutes, s.minutesOf[m.to], minutes)
		st.linear += float64(k) * s.slope[c]
		for j := m.to; j < int(s.mouldTo[c]); j++ {
			use(&st.moulds[f.mould*s.days+j], &st.sets, s.mouldsOf[f.mould], k)
		}
		st.arrivals[m.item*(s.weeks+1)+int(s.arrive[c])] += k * f.units
	}
	// Where a batch moves a short way, only the days between are looked at.
	switch {
	case f.slots == 0:
	case m.from < 0:
		c := m.to*s.items + m.item
		s.useRack(int(s.rackFrom[c]), int(s.rackTo[c]), k*f.slots)
	case m.to < 0:
		c := m.from*s.items + m.item
		s.useRack(int(s.rackFrom[c]), int(s.rackTo[c]), -k*f.slots)
	default:
		a, b, by := m.from*s.items+m.item, m.to*s.items+m.item, k*f.slots
		if m.from > m.to {
			a, b, by = b, a, -by
		}
		a0, a1, b0, b1 := int(s.rackFrom[a]), int(s.rackTo[a]), int(s.rackFrom[b]), int(s.rackTo[b])
		s.useRack(a0, min(a1, b0), -by)
		s.useRack(max(a1, b0), b1, by)
	}
	if f.component {
		from, to := s.days, s.days
		if m.from >= 0 {
			from = int(s.usable[m.from*s.items+m.item])
		}
		if m.to >= 0 {
			to = int(s.usable[m.to*s.items+m.item])
		}
		if to < from {
			s.supply(m.item, to, from, k*f.units)
		} else if from < to {
			s.supply(m.item, from, to, -k*f.units)
		}
	}
	for _, u := range f.uses {
		from, to := m.from, m.to
		if from < 0 {
			from = s.days
		}
		if to < 0 {
			to = s.days
		}
		if to < from {
			s.supply(u.Component, to, from, -k*u.Units)
		} else {
			s.supply(u.Component, from, to, k*u.Units)
		}
	}
}

// follow is the cost of a product's stock after its arrivals changed, in the
// weeks from … to only. It stops where the stock is as it was before.
func (s *Search) follow(item, from, to int) float64 {
	st, f := &s.now, &s.figures[item]
	row := item * (s.weeks + 1)
	arrivals, before := st.arrivals[row:row+s.weeks+1], st.before[row:row+s.weeks+1]
	week := s.week[item*s.weeks : (item+1)*s.weeks]
	stock, cost := before[from], st.sum[row+from]
	for w := from; w < len(week); w++ {
		if w > to && stock == before[w] {
			return cost + st.flow[item] - st.sum[row+w]
		}
		x := &week[w]
		stock += arrivals[w]
		if w == f.launchWeek && stock < f.launchNeed {
			cost += f.launchPenalty * float64(f.launchNeed-stock)
		}
		if stock -= x.demand; stock < 0 {
			cost -= x.lost * float64(stock)
			stock = 0
		}
		cost += f.holding * float64(stock)
		if stock < x.safety {
			cost += f.safety * float64(x.safety-stock)
		}
	}
	if short := f.target - stock - arrivals[s.weeks]; short > 0 {
		cost += f.end * float64(short)
	}
	return cost
}

// settle does the same as follow, from a week to the end, and stores the results.
func (s *Search) settle(item, from int) {
	st, f := &s.now, &s.figures[item]
	row := item * (s.weeks + 1)
	if from == 0 {
		st.before[row], st.sum[row] = f.opening, 0
	}
	stock, cost := st.before[row+from], st.sum[row+from]
	for w := from; w < s.weeks; w++ {
		x := &s.week[item*s.weeks+w]
		st.before[row+w], st.sum[row+w] = stock, cost
		stock += st.arrivals[row+w]
		if w == f.launchWeek && stock < f.launchNeed {
			cost += f.launchPenalty * float64(f.launchNeed-stock)
		}
		if stock -= x.demand; stock < 0 {
			cost -= x.lost * float64(stock)
			stock = 0
		}
		cost += f.holding * float64(stock)
		if stock < x.safety {
			cost += f.safety * float64(x.safety-stock)
		}
	}
	st.before[row+s.weeks], st.sum[row+s.weeks] = stock, cost
	if short := f.target - stock - st.arrivals[row+s.weeks]; short > 0 {
		cost += f.end * float64(short)
	}
	st.flow[item] = cost
}

// move applies a shift if it is allowed: both cells are free, the batches exist,
// and the day may hold them.
func (s *Search) move(item, from, to, k int) bool {
	if from == to || k <= 0 {
		return false
	}
	first := s.weeks
	if from >= 0 {
		c := from*s.items + item
		if !s.free[c] || int(s.now.n[c]) < k {
			return false
		}
		first = int(s.arrive[c])
	}
	last := first
	if to >= 0 {
		c := to*s.items + item
		if !s.free[c] || int(s.now.n[c])+k > s.figures[item].most {
			return false
		}
		if last = int(s.arrive[c]); from < 0 {
			first = last
		}
	}
	m := shift{item, from, to, k}
	s.apply(m)
	s.done = append(s.done, m)
	if s.figures[item].component || first == last && from >= 0 && to >= 0 {
		return true
	}
	if first > last {
		first, last = last, first
	}
	for i := range s.touched {
		if t := &s.touched[i]; t.item == item {
			t.from, t.to = min(t.from, first), max(t.to, last)
			return true
		}
	}
	s.touched = append(s.touched, touch{item: item, from: first, to: last})
	return true
}

// Step makes so many moves.
func (s *Search) Step(moves int) {
	if len(s.adds) == 0 {
		s.moves += int64(moves)
		return
	}
	for range moves {
		if s.at == s.length {
			s.begin()
		}
		if s.at == 0 {
			s.doneAt, s.done0 = 0, 0
		}
		if s.at&255 == 0 {
			x := s.progress()
			s.temp = s.unit * s.schedule.temp(x)
			s.price = s.unit * s.schedule.light * math.Pow(s.schedule.heavy/s.schedule.light, x)
		}
		s.at++
		s.moves++
		s.try()
	}
}

// Moves is the number of moves made so far.
func (s *Search) Moves() int64 { return s.moves }

// Expect says how many moves there will be in all. One long annealing finds far
// better plans than several short ones, so the search lays its annealings out to
// end with the last move. A caller who goes by a clock may call Expect again
// whenever its pace shows another number. A caller who wants the same plan every
// time calls it once, before the first Step. Without Expect, or beyond its
// number, each annealing is longer than the one before.
func (s *Search) Expect(moves int64) {
	s.expected = moves
	if s.laid && s.at > 0 && s.at < s.length {
		end, _ := s.end(s.moves - s.at)
		if end < s.moves+256 {
			end = moves // the moves are divided differently than when this one began
		}
		s.done0, s.doneAt = s.progress(), s.at
		s.length = max(s.at+256, s.at+end-s.moves)
	}
}

// progress is how far the current annealing is, from 0 to 1.
func (s *Search) progress() float64 {
	return s.done0 + (1-s.done0)*float64(s.at-s.doneAt)/float64(s.length-s.doneAt)
}

// end is the move at which an annealing that begins after from moves is to end.
// The first ones are short, so that a caller who stops early has a plan. Beyond a
// length that grows with the season, another annealing finds more than a longer
// one does. So the moves left are then divided into equal shares; last says that
// the annealing is such a share.
func (s *Search) end(from int64) (at int64, last bool) {
	all, enough := s.expected, int64(len(s.adds))*20_000
	if all >= 5*firstCycle {
		next := from + from/3
		for e := int64(firstCycle); e < all/25; e *= 5 {
			if e > next && e-from < enough {
				return e, false
			}
		}
		if e := all / 5; e > next && e-from < enough {
			return e, false
		}
	}
	left := max(all-from, 0)
	return from + left/max(1, (left+enough/2)/enough), true
}

// begin starts the next annealing, from an empty plan.
func (s *Search) begin() {
	end, last := s.end(s.moves)
	length := end - s.moves
	s.schedule = fromCold
	if s.laid = length > 0; s.laid && last {
		s.schedule.light *= lighter[s.shares%len(lighter)]
		s.shares++
	}
	if !s.laid {
		length = max(firstCycle, 3*s.length)
	}
	s.at, s.length = 0, length
	n := slices.Clone(s.now.n)
	for _, c := range s.now.list {
		n[c] = 0
	}
	s.reset(n)
	s.cycle++
}

const firstCycle = 400_000

// lighter varies the first price of broken rules from share to share. A price
// that leads one annealing into a dead end leads the next elsewhere.
var lighter = [...]float64{1, 7, 0.2}

// fromCold was chosen by trial on seasons of 12 and 15 products. A lower or
// slower price ends with broken rules; a colder end finds nothing more.
var fromCold = schedule{hot: 0.3, cold: 0.002, light: 0.015, heavy: 2000}

// note keeps the state if it breaks no rule and is the cheapest so far.
func (s *Search) note(p *plan) {
	if !s.now.sound() {
		return
	}
	if cost := s.now.cost(); !p.ok || cost < p.cost-1e-7 {
		p.n, p.cost, p.ok = append(p.n[:0], s.now.n...), cost, true
	}
}

// try makes one move, then accepts it or undoes it.
func (s *Search) try() {
	s.done, s.touched = s.done[:0], s.touched[:0]
	was := s.now.tally
	// room is the greatest rise in cost that is accepted. It is exponential with
	// mean temp, so a rise of d is accepted with probability exp(−d/temp).
	room := -s.temp * math.Log(s.uniform())
	if s.propose() {
		d := s.now.linear - was.linear + s.price*(s.now.broken()-was.broken())
		for i := range s.touched {
			t := &s.touched[i]
			t.flow = s.follow(t.item, t.from, t.to)
			d += t.flow - s.now.flow[t.item]
		}
		if d <= room {
			for i := range s.touched {
				t := &s.touched[i]
				s.now.flows += t.flow - s.now.flow[t.item]
				s.settle(t.item, min(t.from, s.weeks))
			}
			s.note(&s.best)
			return
		}
	}
	for _, m := range slices.Backward(s.done) {
		s.apply(shift{m.item, m.to, m.from, m.k})
	}
	s.now.tally = was
}

// uniform is a random number in (0, 1].
func (s *Search) uniform() float64 { return (float64(s.rng.Uint64()>>11) + 1) / (1 << 53) }

// below is a random number from 0 to n−1. All are equally likely, to within 2⁻³².
func (s *Search) below(n int) int { return int(uint64(uint32(s.rng.Uint64()>>32)) * uint64(n) >> 32) }

// nearby is a random bench day near j: one day away half of the time, two a
// quarter of the time, …
func (s *Search) nearby(j int) int {
	r := s.rng.Uint64()
	g := 1
	for r&1 == 1 && g < 12 {
		g++
		r >>= 1
	}
	if r>>40&1 == 0 {
		g = -g
	}
	if j+g < 0 || j+g >= s.days {
		g = -g
	}
	if j+g < 0 || j+g >= s.days {
		return j
	}
	return j + g
}

// pour is a random free cell that has batches; ok is false if there is none.
func (s *Search) pour() (item, day int, ok bool) {
	if len(s.now.list) == 0 {
		return 0, 0, false
	}
	c := int(s.now.list[s.below(len(s.now.list))])
	return c % s.items, c / s.items, true
}

// pourOn is a random free cell with batches on that day, of another item.
func (s *Search) pourOn(day, item int) (int, bool) {
	row, free := s.now.n[day*s.items:(day+1)*s.items], s.free[day*s.items:(day+1)*s.items]
	i := s.below(s.items)
	for range s.items {
		if row[i] > 0 && i != item && free[i] {
			return i, true
		}
		if i++; i == s.items {
			i = 0
		}
	}
	return 0, false
}

// some is how many of the batches in a cell to move: all, or one.
func (s *Search) some(item, day int) int {
	n := int(s.now.n[day*s.items+item])
	if n > 1 && s.rng.Uint64()&1 == 0 {
		return 1
	}
	return n
}

// propose makes a move of one of several kinds. It returns false if the move
// cannot be made; what was done of it is then in done.
func (s *Search) propose() bool {
	kind := s.below(100)
	if kind < 8 || len(s.now.list) == 0 { // add a batch
		c := int(s.adds[s.below(len(s.adds))])
		return s.move(c%s.items, -1, c/s.items, 1)
	}
	i, j, ok := s.pour()
	if !ok {
		return false
	}
	switch {
	case kind < 12: // drop
		return s.move(i, j, -1, s.some(i, j))
	case kind < 32: // shift
		return s.move(i, j, s.nearby(j), s.some(i, j))
	case kind < 60: // swap the days of two items
		l := s.nearby(j)
		k, ok := s.pourOn(l, i)
		if !ok || s.now.n[j*s.items+k] > 0 && s.rng.Uint64()&1 == 0 {
			return false
		}
		return s.move(i, j, l, s.some(i, j)) && s.move(k, l, j, s.some(k, l))
	case kind < 68: // replace an item by another
		k := s.below(s.items)
		return k != i && s.move(i, j, -1, s.some(i, j)) && s.move(k, -1, j, 1)
	case kind < 73: // one batch less here, one more on any day
		c := int(s.adds[s.below(len(s.adds))])
		return s.move(i, j, -1, 1) && s.move(c%s.items, -1, c/s.items, 1)
	case kind < 81: // make room by moving another pour
		l := s.nearby(j)
		k, ok := s.pourOn(l, i)
		return ok && s.move(i, j, l, s.some(i, j)) && s.move(k, l, s.nearby(l), s.some(k, l))
	case kind < 85: // exchange two pours of different days
		k, l, ok := s.pour()
		return ok && k != i && l != j && s.move(i, j, l, s.some(i, j)) && s.move(k, l, j, s.some(k, l))
	case kind < 93: // swap two days
		return s.swapDays(j, s.nearby(j))
	case kind < 95: // join two pours of one item
		l := s.below(s.days)
		for g := range s.days {
			if x := (l + g) % s.days; x != j && s.now.n[x*s.items+i] > 0 {
				return s.move(i, j, x, 1)
			}
		}
		return false
	}
	if len(s.users) == 0 {
		return s.move(i, j, s.nearby(j), 1)
	}
	return s.together()
}

func (s *Search) swapDays(j, l int) bool {
	if j == l {
		return false
	}
	for i := range s.items {
		a, b := int(s.now.n[j*s.items+i]), int(s.now.n[l*s.items+i])
		if a > b && !s.move(i, j, l, a-b) || b > a && !s.move(i, l, j, b-a) {
			return false
		}
	}
	return true
}

// together adds, drops or shifts a pour along with a pour of a component that it
// draws.
func (s *Search) together() bool {
	i := int(s.users[s.below(len(s.users))])
	f := &s.figures[i]
	k := f.uses[s.below(len(f.uses))].Component
	j := s.below(s.days)
	switch s.below(3) {
	case 0: // add both, the component early enough
		if l := s.inTime(k, j); l >= 0 {
			return s.move(k, -1, l, 1) && s.move(i, -1, j, 1)
		}
	case 1: // drop both
		j = s.next(i, j)
		if j < 0 {
			return false
		}
		for l := j; l >= 0; l-- {
			if s.now.n[l*s.items+k] > 0 && int(s.usable[l*s.items+k]) <= j {
				return s.move(i, j, -1, 1) && s.move(k, l, -1, 1)
			}
		}
	case 2: // shift both
		j = s.next(i, j)
		if j < 0 {
			return false
		}
		to := s.nearby(j)
		for l := j; l >= 0; l-- {
			if s.now.n[l*s.items+k] > 0 && int(s.usable[l*s.items+k]) <= j {
				back := s.inTime(k, to)
				return back >= 0 && s.move(i, j, to, s.some(i, j)) && s.move(k, l, back, s.some(k, l))
			}
		}
	}
	return false
}

// next is the first bench day from j on on which item is poured, starting over
// after the last day; −1 for none.
func (s *Search) next(item, j int) int {
	for g := range s.days {
		if x := (j + g) % s.days; s.now.n[x*s.items+item] > 0 {
			return x
		}
	}
	return -1
}

// inTime is a bench day on which component k can be poured for use on bench day
// j: mostly the last such day; −1 for none.
func (s *Search) inTime(k, j int) int {
	for l := j; l >= 0; l-- {
		if c := l*s.items + k; int(s.usable[c]) <= j && s.free[c] && int(s.now.n[c]) < s.figures[k].most {
			if s.rng.Uint64()&3 > 0 || l == 0 {
				return l
			}
		}
	}
	return -1
}

// Best is the cheapest plan found that breaks no rule, and its cost. Before any
// plan that keeps the pins is found, the plan is what the pins fix and the cost
// is +Inf.
func (s *Search) Best() (Plan, float64) {
	if !s.best.ok {
		var p Plan
		for c, n := range s.now.n {
			if !s.free[c] && n > 0 {
				p = append(p, Pour{s.in.BenchDays[c/s.items].Day, c % s.items, int(n)})
			}
		}
		return p, math.Inf(1)
	}
	var p Plan
	for c, n := range s.best.n {
		if n > 0 {
			p = append(p, Pour{s.in.BenchDays[c/s.items].Day, c % s.items, int(n)})
		}
	}
	slices.SortFunc(p, func(a, b Pour) int { return cmp.Or(a.Day-b.Day, a.Item-b.Item) })
	r, _ := Simulate(s.in, p)
	return p, r.Cost.Total()
}
