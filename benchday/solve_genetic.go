package benchday

import (
	"math/rand/v2"
	"slices"
)

// breeder looks for short days when no wait has a greatest. Then any order of the
// tasks that keeps the waits gives a schedule: each task starts as early as it
// can after those before it in the order (the serial scheme). Such an order can
// be bred.
//
// There are two populations: one of schedules that start as early as possible,
// and one of schedules that end as late as possible, which is the same with time
// reversed. A schedule stands for its order. Two parents of one population have a
// child in the other. The child takes from one parent the tasks of a stretch in
// which the resources are used well, in their order. It takes the tasks before
// and after that stretch from the other parent. So every generation is pushed
// back and forth, at the cost of one schedule for each child (Debels and
// Vanhoucke 2007, from memory).
type breeder struct {
	m     *model
	rng   *rand.Rand
	usage // the profile being filled

	ways  [2]way // the day as it is, and with time reversed
	now   int    // the way of the next child
	size  int    // of each population
	born  int    // children since the populations last changed over
	stale int    // children since one last improved a population

	best   int32 // the least makespan so far; none before there is one
	bestAt []int32
	made   int

	keys        []int32
	ready, open []int32
	use         []float64
}

// A way is the waits in one direction of time, and the schedules that start as
// early as possible in it.
type way struct {
	before, after [][]arc // by the task at their end, and by the task at their start
	tail          []int32 // least time from a task's start to the end
	est           []int32
	people        []person
}

type person struct {
	starts []int32
	end    int32
}

// longGrid is the longest horizon, in minutes, for which a profile by the minute
// is kept: 45 days. Above it one schedule would take longer than the whole of a
// short search, and the proof alone does.
const longGrid = 1 << 16

// usage is what is left of every resource in every minute. Several resources
// share a word. Each has a lane whose top bit is set; the bit becomes 0 when more
// is taken than there is.
type usage struct {
	words int
	free  []uint64 // by minute and word
	full  []uint64 // a minute in which nothing is held
	tops  []uint64
	takes []uint64 // by task and word
	dur   []int32
	last  int32 // nothing is held from this minute on
}

func newUsage(m *model) usage {
	width := 16
	for _, p := range m.res {
		if p.capacity >= 1<<15 {
			width = 64
		}
	}
	lanes := 64 / width
	u := usage{words: max(1, (len(m.res)+lanes-1)/lanes), dur: m.dur}
	u.full, u.tops = make([]uint64, u.words), make([]uint64, u.words)
	u.takes = make([]uint64, m.n*u.words)
	for r, p := range m.res {
		w, shift := r/lanes, r%lanes*width
		u.tops[w] |= 1 << (shift + width - 1)
		u.full[w] |= (uint64(p.capacity) | 1<<(width-1)) << shift
		for i := range m.n {
			u.takes[i*u.words+w] |= uint64(m.need[i][r]) << shift
		}
	}
	return u
}

func (u *usage) clear() {
	held := u.free[:int(u.last)*u.words]
	if u.words == 1 {
		for t := range held {
			held[t] = u.full[0]
		}
	} else {
		for t := 0; t < len(held); t += u.words {
			copy(held[t:], u.full)
		}
	}
	u.last = 0
}

// clash is the last minute in [t, t+dur) at which task i has no room; −1 if there
// is none.
func (u *usage) clash(i, t int32) int32 {
	end := t + u.dur[i]
	for len(u.free) < int(end)*u.words {
		u.free = append(u.free, u.full...)
	}
	if u.words == 1 {
		take, top := u.takes[i], u.tops[0]
		for k := end - 1; k >= t; k-- {
			if (u.free[k]-take)&top != top {
				return k
			}
		}
		return -1
	}
	for k := end - 1; k >= t; k-- {
		for w := range u.words {
			if (u.free[int(k)*u.words+w]-u.takes[int(i)*u.words+w])&u.tops[w] != u.tops[w] {
				return k
			}
		}
	}
	return -1
}

func (u *usage) hold(i, t int32) {
	end := t + u.dur[i]
	for k := t; k < end; k++ {
		for w := range u.words {
			u.free[int(k)*u.words+w] -= u.takes[int(i)*u.words+w]
		}
	}
	u.last = max(u.last, end)
}

// newBreeder returns nil if breeding cannot be used: a wait has a greatest, two
// tasks wait for each other, or the day is too long for a profile by the minute.
func newBreeder(m *model, seed uint64) *breeder {
	if m.total > longGrid || m.n < 2 {
		return nil
	}
	b := &breeder{m: m, rng: rand.New(rand.NewPCG(seed, 0x6272_6565_64)), usage: newUsage(m), best: none}
	for d := range b.ways {
		b.ways[d] = way{before: make([][]arc, m.n), after: make([][]arc, m.n), tail: make([]int32, m.n), est: make([]int32, m.n)}
	}
	copy(b.ways[0].est, m.est)
	left := make([]int, m.n)
	for i := range m.n {
		if m.dist[i][m.n] > none && -m.dist[i][m.n] < m.horizon-m.dur[i] {
			return nil // there is a latest start
		}
	}
	for _, a := range m.arcs {
		if a.w < 0 {
			// A wait below 0 from one task to the other is a greatest wait in the
			// other direction, unless it always holds anyway.
			if m.dist[a.from][a.to] > a.w || m.dist[a.from][m.n] == none && m.est[a.to] >= m.lst[a.from]+a.w {
				continue
			}
			return nil
		}
		back := arc{a.to, a.from, a.w + m.dur[a.to] - m.dur[a.from]}
		for d, a := range []arc{a, back} {
			w := &b.ways[d]
			w.before[a.to] = append(w.before[a.to], a)
			w.after[a.from] = append(w.after[a.from], a)
		}
		left[a.to]++
	}
	var line []int32
	for i := range int32(m.n) {
		if left[i] == 0 {
			line = append(line, i)
		}
	}
	for k := 0; k < len(line); k++ {
		for _, a := range b.ways[0].after[line[k]] {
			if left[a.to]--; left[a.to] == 0 {
				line = append(line, a.to)
			}
		}
	}
	if len(line) < m.n {
		return nil
	}
	for k := m.n - 1; k >= 0; k-- {
		i := line[k]
		b.ways[0].tail[i] = m.dur[i]
		for _, a := range b.ways[0].after[i] {
			b.ways[0].tail[i] = max(b.ways[0].tail[i], a.w+b.ways[0].tail[a.to])
		}
		b.ways[1].tail[i] = m.est[i] + m.dur[i]
	}
	b.size = max(20, min(60, m.n))
	b.keys, b.open = make([]int32, m.n), make([]int32, m.n)
	return b
}

// serial fills starts with one schedule. Of the tasks that their waits allow, the
// one with the least key comes next, as early as it can.
func (b *breeder) serial(w *way, keys, starts []int32) int32 {
	m := b.m
	b.clear()
	b.ready = b.ready[:0]
	for i := range int32(m.n) {
		b.open[i] = int32(len(w.before[i]))
		if b.open[i] == 0 {
			b.ready = append(b.ready, i)
		}
	}
	end := int32(0)
	for len(b.ready) > 0 {
		k := 0
		for j, i := range b.ready {
			if keys[i] < keys[b.ready[k]] {
				k = j
			}
		}
		i := b.ready[k]
		b.ready[k] = b.ready[len(b.ready)-1]
		b.ready = b.ready[:len(b.ready)-1]
		t := w.est[i]
		for _, a := range w.before[i] {
			t = max(t, starts[a.from]+a.w)
		}
		for {
			c := b.clash(i, t)
			if c < 0 {
				break
			}
			t = c + 1
		}
		b.hold(i, t)
		starts[i] = t
		end = max(end, t+m.dur[i])
		for _, a := range w.after[i] {
			if b.open[a.to]--; b.open[a.to] == 0 {
				b.ready = append(b.ready, a.to)
			}
		}
	}
	b.made++
	return end
}

// child makes the schedule for the current keys in way d.
func (b *breeder) child(d int) person {
	p := person{starts: make([]int32, b.m.n)}
	p.end = b.serial(&b.ways[d], b.keys, p.starts)
	if b.best != none && p.end >= b.best {
		return p
	}
	at := slices.Clone(p.starts)
	if d == 1 {
		for i := range at {
			at[i] = p.end - at[i] - b.m.dur[i]
			if at[i] < b.m.est[i] {
				return p // with time turned back, it would start too early
			}
		}
	}
	b.best, b.bestAt = p.end, at
	return p
}

// turn grows from evenSteps on, because its steps are much shorter than the
// proof's.
func (b *breeder) turn(made int) int {
	const evenSteps, longTurn = 2500, 5000
	if made <= evenSteps {
		return turnSteps
	}
	return longTurn
}

func (b *breeder) step() []int32 {
	was := b.best
	if b.breedOne(); b.best == was {
		return nil
	}
	return b.bestAt
}

// adopt takes in a schedule that was found elsewhere, in place of the worst.
func (b *breeder) adopt(starts []int32) {
	end := b.m.makespan(starts)
	if b.best == none || end < b.best {
		b.best, b.bestAt = end, slices.Clone(starts)
	}
	people := b.ways[0].people
	if len(people) < b.size {
		return // the founders are not finished
	}
	worst := 0
	for k, p := range people {
		if p.end > people[worst].end {
			worst = k
		}
	}
	people[worst] = person{slices.Clone(starts), end}
}

// breedOne makes one more schedule.
func (b *breeder) breedOne() {
	mine, theirs := &b.ways[b.now], &b.ways[1-b.now]
	if len(mine.people) < b.size {
		if k := len(mine.people); b.now == 1 {
			p := &theirs.people[k]
			for i, at := range p.starts {
				b.keys[i] = -at - b.m.dur[i]
			}
		} else {
			// The longer the way from a task to the end, the earlier it tends to
			// come.
			spread := 1 + b.m.lower/4
			if b.rng.IntN(4) == 0 {
				spread *= 4
			}
			for i := range b.keys {
				b.keys[i] = -mine.tail[i] + b.rng.Int32N(spread)
			}
		}
		mine.people = append(mine.people, b.child(b.now))
		if len(mine.people) == b.size {
			b.now, b.born, b.stale = 1-b.now, 0, 0
		}
		return
	}
	if b.stale > 30*b.size {
		// All schedules are alike, so begin again.
		b.ways[0].people, b.ways[1].people, b.now = nil, nil, 0
		return
	}
	mother, father := b.chosen(theirs), b.chosen(theirs)
	for try := 0; mother == father && try < 4; try++ {
		father = b.rng.IntN(b.size)
	}
	b.cross(&theirs.people[mother], &theirs.people[father])
	child := b.child(b.now)
	if b.born++; b.born%b.size == 0 {
		b.now = 1 - b.now
	}
	b.stale++
	worst := 0
	for k := range mine.people {
		p := &mine.people[k]
		if p.end == child.end && slices.Equal(p.starts, child.starts) {
			return
		}
		if p.end > mine.people[worst].end || p.end == mine.people[worst].end && b.rng.IntN(3) == 0 {
			worst = k
		}
	}
	if child.end < mine.people[worst].end {
		b.stale = 0
	}
	if child.end <= mine.people[worst].end {
		mine.people[worst] = child
	}
}

// chosen is the better of two random schedules.
func (b *breeder) chosen(w *way) int {
	x, y := b.rng.IntN(len(w.people)), b.rng.IntN(len(w.people))
	if w.people[y].end < w.people[x].end {
		return y
	}
	return x
}

// cross fills keys for a child of two schedules of the other way.
func (b *breeder) cross(mother, father *person) {
	end := mother.end
	from, to := b.stretch(mother)
	for i, f := range father.starts {
		at := f
		switch own := mother.starts[i]; {
		case own >= from && own < to:
			at = own
		case f < from:
			at = f - end
		case f >= to:
			at = f + end
		}
		if b.rng.IntN(40) == 0 {
			at += (b.rng.Int32N(41) - 20) * max(1, end/100)
		}
		// With time reversed, the last to end comes first. The two lowest bits
		// decide at random among equals.
		b.keys[i] = -4*(at+b.m.dur[i]) + b.rng.Int32N(4)
	}
}

// stretch is the part of the mother's day, of random length, in which the
// resources are used best.
func (b *breeder) stretch(p *person) (from, to int32) {
	if p.end < 4 {
		return 0, p.end
	}
	n := int(p.end)
	b.use = append(b.use[:0], make([]float64, n+1)...)
	for i, at := range p.starts {
		if b.m.dur[i] == 0 {
			continue
		}
		w := 0.0
		for r := range b.m.res {
			if c := b.m.res[r].capacity; c > 0 {
				w += float64(b.m.need[i][r]) / float64(c)
			}
		}
		b.use[at] += w
		b.use[at+b.m.dur[i]] -= w
	}
	sum := 0.0
	h := 0.0
	for t := range b.use {
		h += b.use[t]
		b.use[t] = sum
		sum += h
	}
	long := n/10 + b.rng.IntN(n/2+1)
	best, most := 0, -1.0
	// Every second time the place is random too, so that the children differ.
	if b.rng.IntN(2) == 0 {
		best = b.rng.IntN(n - long + 1)
	} else {
		for t := 0; t+long <= n; t++ {
			if u := b.use[t+long] - b.use[t]; u > most {
				best, most = t, u
			}
		}
	}
	return int32(best), int32(best + long)
}
