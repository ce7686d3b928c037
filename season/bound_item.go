package season

import "math"

// productChart is a dynamic programme for one product's whole batches over week
// and stock. Stock is in whole units, so its levels are exact. Only levels that
// can be reached are kept.
//
// A bucket is a week in which batches arrive. The last bucket, at index Weeks, is
// what arrives after the season; it counts only for the end target. The bench
// days that lead to one bucket differ only in their prices. So the programme
// first finds the cheapest way to pour k batches over those days (spreadOver),
// and then chooses k for each level of stock.
// stock takes only k.
type productChart struct {
	buckets []chartBucket
	use     int  // the most batches that some cheapest plan has
	own     bool // false: the chart would be too large, and its cost counts as 0
}

type chartBucket struct {
	days       []int32 // indices of the bench days whose batches arrive here
	least      int     // batches that are fixed
	most       int     // the most batches that can be of use
	states     int
	firstY     []int32 // by state: where its arrivals begin in toY
	leastOf    []int32 // by state: batches of its first arrival
	toY        []int32 // level after arrival, by state and number of batches
	levelCost  []float64
	levelNext  []int32 // state in the next bucket
	spread     []float64
	spreadPick []int32
	stay       []float64 // by state: least cost from here to the end
	pick       []int32   // batches taken in that case
	levelValue []float64
}

// chartLimit is the greatest number of choices (batches by stock, and batches by
// day) in a chart. A larger item is left out of the bound, which stays valid but
// loses that item's cost.
const chartLimit = 8_000_000

// limits is the least and the greatest number of batches of an item on a bench
// day.
type limits struct{ least, most int }

// newProductChart also applies the cuts by week. It returns nil if they leave no
// plan.
func newProductChart(in *Instance, item int, day []limits, cuts []cut) *productChart {
	it := &in.Items[item]
	weeks := in.Weeks
	c := &productChart{buckets: make([]chartBucket, weeks+1)}
	for b, bd := range in.BenchDays {
		w := min(weekOf(bd.Day+it.LeadDays), weeks)
		if day[b].most > 0 {
			k := &c.buckets[w]
			k.days = append(k.days, int32(b))
			k.least += day[b].least
			k.most += day[b].most
		}
	}
	for _, x := range cuts {
		if x.item == item && x.week >= 0 {
			k := &c.buckets[x.week]
			if k.least, k.most = max(k.least, x.least), min(k.most, x.most); k.least > k.most {
				return nil
			}
		}
	}
	arriving := make([]int, weeks+1)
	for _, o := range it.OpeningCure {
		if w := weekOf(o.ReadyDay); w < weeks {
			arriving[max(w, 0)] += o.Batches * it.BatchUnits
		}
	}
	enough := enoughStock(it, weeks)
	// The pours before a batch that is let in hold less than enough[0].
	c.use = enough[0]/it.BatchUnits + 1
	possible := 0
	for w := range c.buckets {
		c.use += c.buckets[w].least
		possible += c.buckets[w].most
	}
	c.use = min(c.use, possible)
	stock := []int{it.OpeningStock + arriving[0]}
	total := 0
	for w := range c.buckets {
		k := &c.buckets[w]
		k.states = len(stock)
		k.firstY = make([]int32, len(stock)+1)
		k.leastOf = make([]int32, len(stock))
		level := map[int]int32{}
		var levels []int
		highest := k.least
		for s, have := range stock {
			k.firstY[s] = int32(len(k.toY))
			k.leastOf[s] = int32(k.least)
			for n := k.least; n <= k.most; n++ {
				if n > k.least && have+(n-1)*it.BatchUnits >= enough[w] {
					break
				}
				y := have + n*it.BatchUnits
				at, ok := level[y]
				if !ok {
					at = int32(len(levels))
					level[y] = at
					levels = append(levels, y)
				}
				k.toY = append(k.toY, at)
				highest = max(highest, n)
			}
			if total += len(k.toY) - int(k.firstY[s]); total > chartLimit {
				return &productChart{use: c.use}
			}
		}
		k.firstY[len(stock)] = int32(len(k.toY))
		k.most = highest
		for _, b := range k.days {
			total += (highest + 1) * (min(day[b].most, highest) + 1)
		}
		if total > chartLimit {
			return &productChart{use: c.use}
		}
		k.levelCost = make([]float64, len(levels))
		k.levelNext = make([]int32, len(levels))
		state := map[int]int32{}
		var next []int
		for j, y := range levels {
			if w == weeks {
				k.levelCost[j] = it.EndPenalty * float64(max(0, it.EndTarget-y))
				continue
			}
			cost := 0.0
			if l := it.Launch; l != nil && l.Week == w {
				cost += l.ShortPenalty * float64(max(0, l.StockNeeded-y))
			}
			left := max(0, y-it.Demand[w])
			cost += it.LostSale[w] * float64(max(0, it.Demand[w]-y))
			cost += it.Holding * float64(left)
			cost += it.SafetyPenalty * float64(max(0, it.SafetyStock[w]-left))
			k.levelCost[j] = cost
			left += arriving[w+1] // what arrives at index Weeks is not counted as stock
			at, ok := state[left]
			if !ok {
				at = int32(len(next))
				state[left] = at
				next = append(next, left)
			}
			k.levelNext[j] = at
		}
		k.spread = make([]float64, (len(k.days)+1)*(k.most+1))
		k.spreadPick = make([]int32, (len(k.days)+1)*(k.most+1))
		k.stay = make([]float64, k.states)
		k.pick = make([]int32, k.states)
		k.levelValue = make([]float64, len(levels))
		stock = next
	}
	c.own = true
	return c
}

// enoughStock gives, by week, a stock after arrivals with which nothing can fall
// short from that week on. No further batch need arrive on top of it. The entry at
// index weeks is for the end of the season.
func enoughStock(it *Item, weeks int) []int {
	enough := make([]int, weeks+1)
	enough[weeks] = it.EndTarget
	for w := weeks - 1; w >= 0; w-- {
		enough[w] = it.Demand[w] + max(it.SafetyStock[w], enough[w+1])
		if l := it.Launch; l != nil && l.Week == w {
			enough[w] = max(enough[w], l.StockNeeded)
		}
	}
	return enough
}

// solve finds the plan of least cost and appends its pours to to. price[b][n] is
// what n batches on bench day b cost, rising in n. Pour.Day is the index of the
// bench day for as long as a plan is inside the bound.
func (c *productChart) solve(price [][]float64, day []limits, to []Pour) (float64, []Pour) {
	if !c.own {
		return 0, to
	}
	for w := len(c.buckets) - 1; w >= 0; w-- {
		k := &c.buckets[w]
		k.spreadOver(price, day)
		var after []float64
		if w+1 < len(c.buckets) {
			after = c.buckets[w+1].stay
		}
		for j, cost := range k.levelCost {
			if after != nil {
				cost += after[k.levelNext[j]]
			}
			k.levelValue[j] = cost
		}
		pour := k.spread[len(k.days)*(k.most+1):]
		for s := range k.states {
			best, pick := math.Inf(1), int32(0)
			n := k.leastOf[s]
			for _, y := range k.toY[k.firstY[s]:k.firstY[s+1]] {
				if v := pour[n] + k.levelValue[y]; v < best {
					best, pick = v, n
				}
				n++
			}
			k.stay[s], k.pick[s] = best, pick
		}
	}
	value := c.buckets[0].stay[0] // there is one state at the beginning
	s := int32(0)
	for w := range c.buckets {
		k := &c.buckets[w]
		n := k.pick[s]
		y := k.toY[k.firstY[s]+n-k.leastOf[s]]
		s = k.levelNext[y]
		for j := len(k.days) - 1; j >= 0; j-- {
			take := k.spreadPick[(j+1)*(k.most+1)+int(n)]
			if take > 0 {
				to = append(to, Pour{Day: int(k.days[j]), Batches: int(take)})
			}
			n -= take
		}
	}
	return value, to
}

// spreadOver fills spread: row j, column n is the least cost of pouring n batches
// over the first j days.
func (k *chartBucket) spreadOver(price [][]float64, day []limits) {
	width := k.most + 1
	for n := range width {
		k.spread[n] = math.Inf(1)
	}
	k.spread[0] = 0
	for j, b := range k.days {
		before, now := k.spread[j*width:(j+1)*width], k.spread[(j+1)*width:(j+2)*width]
		pick := k.spreadPick[(j+1)*width : (j+2)*width]
		p, l := price[b], day[b]
		for n := range width {
			best, take := math.Inf(1), 0
			for m := l.least; m <= min(l.most, n); m++ {
				if v := before[n-m] + p[m]; v < best {
					best, take = v, m
				}
			}
			now[n], pick[n] = best, int32(take)
		}
	}
}

// componentChart is a dynamic programme for one component, day by day. Batches
// become ready, then units are drawn, then the stock of a week's last day is paid
// for. How much is drawn is a choice here, and has a price. Stock is never below
// 0. Where a cut bounds the batches of the season, the programme counts the
// batches too.
type componentChart struct {
	steps       []chartStep
	units       int
	hold        float64
	open        int
	least, most int   // batches in the whole season
	capped      bool  // most is less than what could be poured
	size        int   // levels of stock over all steps, each counted once
	all         []int // by bench day: the most that can be drawn
	own         bool  // false: the chart would be too large, and all draws count as possible
}

type chartStep struct {
	bench   int         // index of the bench day of an arrival or a draw; −1 on a week's last day
	draw    int         // the most units that may be drawn; −1 where batches arrive
	enough  int         // of an arrival: a stock that needs no batch on top of it
	top     int         // the highest stock after the step
	value   [][]float64 // by batches so far (as far as they are counted), then by stock
	weekEnd bool
}

const componentLimit = 4_000_000

// newComponentChart takes the most that all users can draw, on each bench day
// (draw) and over the season (need). It returns nil if the cuts leave no plan.
func newComponentChart(in *Instance, item int, day []limits, draw []int, need int, cuts []cut) *componentChart {
	it := &in.Items[item]
	c := &componentChart{units: it.BatchUnits, hold: it.Holding, open: it.OpeningStock, all: draw}
	possible := 0
	for _, l := range day {
		possible += l.most
	}
	c.most = possible
	for _, x := range cuts {
		if x.item == item && x.day < 0 {
			c.least, c.most = max(c.least, x.least), min(c.most, x.most)
		}
	}
	if c.least > c.most {
		return nil
	}
	c.capped = c.most < possible
	counts := c.least + 1
	if c.capped {
		counts = c.most + 1
	}
	left := 0
	for _, n := range draw {
		left += n
	}
	arrive, use := 0, 0 // the next bench day whose arrival, and whose draw, has no step yet
	for t := 0; t < 7*in.Weeks; t++ {
		for arrive < len(in.BenchDays) && in.BenchDays[arrive].Day+it.LeadDays <= t {
			if day[arrive].most > 0 {
				c.steps = append(c.steps, chartStep{bench: arrive, draw: -1, enough: min(left, need)})
			}
			arrive++
		}
		for use < len(in.BenchDays) && in.BenchDays[use].Day <= t {
			if draw[use] > 0 {
				c.steps = append(c.steps, chartStep{bench: use, draw: draw[use]})
				left -= draw[use]
			}
			use++
		}
		if t%7 == 6 {
			c.steps = append(c.steps, chartStep{bench: -1, draw: -1, weekEnd: true})
		}
	}
	for ; arrive < len(in.BenchDays); arrive++ { // ready after the season
		if day[arrive].least > 0 || c.least > 0 && day[arrive].most > 0 {
			c.steps = append(c.steps, chartStep{bench: arrive, draw: -1})
		}
	}
	top, total, work := c.open, 0, 0
	for j := range c.steps {
		s := &c.steps[j]
		if s.bench >= 0 && s.draw < 0 {
			l := day[s.bench]
			next := top + l.least*c.units
			if l.most > l.least {
				high := s.enough + c.units - 1
				if c.least > 0 {
					// Batches that only the count asks for come on top. While
					// there are fewer than least batches, the stock is at most
					// what they can make.
					high = max(high, c.open+(c.least-1+l.most)*c.units)
				}
				next = max(next, min(top+l.most*c.units, high))
			}
			top = next
		}
		s.top = top
		c.size += top + 1
		if total += (top + 1) * counts; s.bench >= 0 && s.draw < 0 {
			work += (top + 1) * counts * (day[s.bench].most + 1)
		}
		if total > componentLimit || work > chartLimit {
			return &componentChart{all: draw}
		}
		s.value = make([][]float64, counts)
		for n := range s.value {
			s.value[n] = make([]float64, top+1)
		}
	}
	c.own = true
	return c
}

// solve finds the plan of least cost. price[b][n] is what n batches on bench day
// b cost, and earn[b] is what a unit drawn on that day brings. It appends the
// pours to to and fills drawn, by bench day. The value is +Inf if no plan has the
// batches that the cuts ask for.
func (c *componentChart) solve(price [][]float64, day []limits, earn []float64, drawn []int, to []Pour) (float64, []Pour) {
	clear(drawn)
	if !c.own {
		// Every plan costs at least as much as pouring nothing and drawing all
		// that can be drawn.
		value := 0.0
		for b, n := range c.all {
			if earn[b] > 0 {
				drawn[b] = n
				value -= earn[b] * float64(n)
			}
		}
		return value, to
	}
	// The value of step j is the least cost of the rest, by stock after the step.
	last := len(c.steps) - 1
	if last < 0 {
		if c.least > 0 {
			return math.Inf(1), to
		}
		return 0, to
	}
	for n, row := range c.steps[last].value {
		end := 0.0
		if n < c.least {
			end = math.Inf(1)
		}
		for x := range row {
			row[x] = end
		}
	}
	queue := make([]int32, 0, 64)
	for j := last; j > 0; j-- {
		queue = c.back(&c.steps[j], c.steps[j-1].value, price, day, earn, queue)
	}
	start := make([][]float64, len(c.steps[0].value))
	for n := range start {
		start[n] = make([]float64, c.open+1)
	}
	c.back(&c.steps[0], start, price, day, earn, queue)
	value, stock, count := start[0][c.open], c.open, 0
	if math.IsInf(value, 1) {
		return value, to
	}
	for j := range c.steps {
		s := &c.steps[j]
		switch {
		case s.weekEnd:
		case s.draw >= 0:
			best, at := math.Inf(1), 0
			for left := max(0, stock-s.draw); left <= stock; left++ {
				if v := s.value[count][left] - earn[s.bench]*float64(stock-left); v < best {
					best, at = v, left
				}
			}
			drawn[s.bench] += stock - at
			stock = at
		default:
			l := day[s.bench]
			best, take := math.Inf(1), 0
			for n := l.least; n <= l.most && c.may(n, l, stock, count, s); n++ {
				if v := price[s.bench][n] + s.value[c.after(count, n)][stock+n*c.units]; v < best {
					best, take = v, n
				}
			}
			if take > 0 {
				to = append(to, Pour{Day: s.bench, Batches: take})
			}
			stock += take * c.units
			count = c.after(count, take)
		}
	}
	return value, to
}

// may reports whether an nth batch is a choice. It is one if the batch is fixed,
// if the count asks for it, or if the stock before it does not cover all that can
// still be drawn.
func (c *componentChart) may(n int, l limits, stock, count int, s *chartStep) bool {
	if c.capped && count+n > c.most || stock+n*c.units > s.top { // so high is never reached
		return false
	}
	return n <= l.least || stock+(n-1)*c.units < s.enough || count+n <= c.least
}

// after is the count after n more batches. Beyond least, the count matters only
// if it is capped.
func (c *componentChart) after(count, n int) int {
	if c.capped {
		return count + n
	}
	return min(count+n, c.least)
}

// back works out the values before step s from those after it.
func (c *componentChart) back(s *chartStep, before [][]float64, price [][]float64, day []limits, earn []float64, queue []int32) []int32 {
	for count, to := range before {
		from := s.value[count]
		switch {
		case s.weekEnd:
			for x := range to {
				to[x] = from[x] + c.hold*float64(x)
			}
		case s.draw >= 0:
			// The least of from[left] + e·left, minus e·x, over left in [x−draw,
			// x]. This is a sliding window; queue holds its candidates in rising
			// order of value.
			e := earn[s.bench]
			queue = queue[:0]
			head := 0
			for x := range to {
				key := from[x] + e*float64(x)
				for len(queue) > head && from[queue[len(queue)-1]]+e*float64(queue[len(queue)-1]) >= key {
					queue = queue[:len(queue)-1]
				}
				queue = append(queue, int32(x))
				if int(queue[head]) < x-s.draw {
					head++
				}
				left := queue[head]
				to[x] = from[left] - e*float64(x-int(left))
			}
		default:
			l, p := day[s.bench], price[s.bench]
			for x := range to {
				best := math.Inf(1)
				for n := l.least; n <= l.most && c.may(n, l, x, count, s); n++ {
					if v := p[n] + s.value[c.after(count, n)][x+n*c.units]; v < best {
						best = v
					}
				}
				to[x] = best
			}
		}
	}
	return queue
}
