package benchday

import (
	"math/rand/v2"
	"slices"
)

// breeder looks for short days where no wait has a greatest: then any order of the
// tasks that keeps the waits gives a schedule, each task as early as it can after
// those before it in the order (the serial scheme), and an order can be bred.
//
// A schedule stands for itself in the population: its starts are the keys of the
// order. A child takes from one parent the tasks of a stretch in which the
// resources are best used, in their order, and the rest from the other, before and
// after it (Debels and Vanhoucke 2007); every child is pushed to the right and
// back to the left (Valls, Ballestín and Quintanilla 2005). Both from memory.
type breeder struct {
	m     *model
	rng   *rand.Rand
	usage // the profile being filled

	before, after [][]arc // waits by the task they end at, by the task they start from
	rank          []int32 // a topological order, as places
	tail          []int32 // least time from a task's start to the end
	atEnd         bool    // no wait lets a task start before another ends

	people []person
	size   int
	stale  int // children since the population last got better
	best   int32
	bestAt []int32
	crowns int
	made   int
	reborn int

	keys, starts, other []int32
	order, ready, open  []int32
	use                 []float64
}

type person struct {
	starts []int32
	end    int32
}

// longGrid is the longest horizon, min, for which a profile by the minute is kept.
const longGrid = 1 << 20

// usage is what is left of every resource in every minute, several resources to a
// word: each has a lane whose top bit stands, and goes out when more is taken than
// there is.
type usage struct {
	words int
	free  []uint64 // by minute and word
	full  []uint64 // a minute that nothing holds
	tops  []uint64
	takes []uint64 // by task and word
	dur   []int32
	last  int32 // no minute from here on is held
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
	if u.words == 1 {
		for t := range u.free {
			u.free[t] = u.full[0]
		}
	} else {
		for t := 0; t < len(u.free); t += u.words {
			copy(u.free[t:], u.full)
		}
	}
	u.last = 0
}

// grow makes room for minutes before end.
func (u *usage) grow(end int32) {
	for len(u.free) < int(end)*u.words {
		u.free = append(u.free, u.full...)
	}
}

// clash is a minute in [t, t+dur) at which task i finds no room, the last such
// one where late, else the first; −1 for none.
func (u *usage) clash(i, t int32, late bool) int32 {
	d := u.dur[i]
	u.grow(t + d)
	if u.words == 1 {
		take, top := u.takes[i], u.tops[0]
		if late {
			for k := t + d - 1; k >= t; k-- {
				if (u.free[k]-take)&top != top {
					return k
				}
			}
			return -1
		}
		for k := t; k < t+d; k++ {
			if (u.free[k]-take)&top != top {
				return k
			}
		}
		return -1
	}
	for s := range d {
		k := t + s
		if late {
			k = t + d - 1 - s
		}
		for w := range u.words {
			if (u.free[int(k)*u.words+w]-u.takes[int(i)*u.words+w])&u.tops[w] != u.tops[w] {
				return k
			}
		}
	}
	return -1
}

func (u *usage) hold(i, t int32) {
	for k := t; k < t+u.dur[i]; k++ {
		for w := range u.words {
			u.free[int(k)*u.words+w] -= u.takes[int(i)*u.words+w]
		}
	}
}

// release is the opposite of hold.
func (u *usage) release(i, t int32) {
	for k := t; k < t+u.dur[i]; k++ {
		for w := range u.words {
			u.free[int(k)*u.words+w] += u.takes[int(i)*u.words+w]
		}
	}
}

// newBreeder gives nil where it does not serve: a wait has a greatest, two tasks
// wait for each other, or the day is too long for a profile by the minute.
func newBreeder(m *model, seed uint64) *breeder {
	if m.horizon > longGrid || m.n < 2 {
		return nil
	}
	b := &breeder{m: m, rng: rand.New(rand.NewPCG(seed, 0x6272_6565_64)), usage: newUsage(m), atEnd: true, best: none}
	b.before, b.after = make([][]arc, m.n), make([][]arc, m.n)
	left := make([]int, m.n)
	for i := range m.n {
		if m.dist[i][m.n] > none && -m.dist[i][m.n] < m.horizon-m.dur[i] {
			return nil // its start has a latest
		}
	}
	for _, a := range m.arcs {
		if a.w < 0 {
			// Less than nothing from one to the other is a greatest the other way
			// round, unless it goes without saying.
			if m.dist[a.from][a.to] > a.w || m.dist[a.from][m.n] == none && m.est[a.to] >= m.lst[a.from]+a.w {
				continue
			}
			return nil
		}
		b.before[a.to] = append(b.before[a.to], a)
		b.after[a.from] = append(b.after[a.from], a)
		b.atEnd = b.atEnd && a.w >= m.dur[a.from]
		left[a.to]++
	}
	var line []int32
	for i := range int32(m.n) {
		if left[i] == 0 {
			line = append(line, i)
		}
	}
	for k := 0; k < len(line); k++ {
		for _, a := range b.after[line[k]] {
			if left[a.to]--; left[a.to] == 0 {
				line = append(line, a.to)
			}
		}
	}
	if len(line) < m.n {
		return nil
	}
	b.rank, b.tail = make([]int32, m.n), make([]int32, m.n)
	for k := m.n - 1; k >= 0; k-- {
		i := line[k]
		b.rank[i] = int32(k)
		b.tail[i] = m.dur[i]
		for _, a := range b.after[i] {
			b.tail[i] = max(b.tail[i], a.w+b.tail[a.to])
		}
	}
	b.size = max(12, min(40, 60-m.n/4))
	b.keys, b.starts, b.other = make([]int32, m.n), make([]int32, m.n), make([]int32, m.n)
	b.order, b.open = make([]int32, m.n), make([]int32, m.n)
	return b
}

// serial fills starts: of those tasks whose waits allow it the one with the least
// key comes next, as early as it can. One schedule.
func (b *breeder) serial(keys, starts []int32) int32 {
	m := b.m
	b.clear()
	b.ready = b.ready[:0]
	for i := range int32(m.n) {
		b.open[i] = int32(len(b.before[i]))
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
		end = max(end, b.early(i, starts)+m.dur[i])
		for _, a := range b.after[i] {
			if b.open[a.to]--; b.open[a.to] == 0 {
				b.ready = append(b.ready, a.to)
			}
		}
	}
	b.made++
	return end
}

// early places task i as early as it can after those before it.
func (b *breeder) early(i int32, starts []int32) int32 {
	t := b.m.est[i]
	for _, a := range b.before[i] {
		t = max(t, starts[a.from]+a.w)
	}
	for {
		c := b.clash(i, t, true)
		if c < 0 {
			break
		}
		t = c + 1
	}
	b.hold(i, t)
	starts[i] = t
	return t
}

// sorted fills order with the tasks by key; the waits decide among the equal.
func (b *breeder) sorted(key func(i int32) int32) {
	for i := range b.order {
		b.order[i] = int32(i)
	}
	slices.SortFunc(b.order, func(x, y int32) int {
		if d := key(x) - key(y); d != 0 {
			return int(d)
		}
		return int(b.rank[x] - b.rank[y])
	})
}

// rightAndLeft pushes all tasks as late as the makespan lets them, then as early
// as they go; the makespan never grows. Two schedules.
func (b *breeder) rightAndLeft(starts []int32, end int32) int32 {
	m := b.m
	if b.atEnd {
		b.sorted(func(i int32) int32 { return starts[i] + m.dur[i] })
	} else {
		b.sorted(func(i int32) int32 { return starts[i] })
	}
	b.clear()
	late := b.other
	for k := m.n - 1; k >= 0; k-- {
		i := b.order[k]
		t := end - m.dur[i]
		for _, a := range b.after[i] {
			t = min(t, late[a.to]-a.w)
		}
		for t >= 0 {
			c := b.clash(i, t, false)
			if c < 0 {
				break
			}
			t = c - m.dur[i]
		}
		if t < 0 {
			b.made++
			return end // only where a wait may be shorter than the task it follows
		}
		b.hold(i, t)
		late[i] = t
	}
	b.sorted(func(i int32) int32 { return late[i] })
	b.clear()
	now := int32(0)
	for _, i := range b.order {
		now = max(now, b.early(i, late)+m.dur[i])
	}
	b.made += 2
	if now <= end {
		copy(starts, late)
		return now
	}
	return end
}

// grown makes one schedule of keys, pushed to and fro.
func (b *breeder) grown(keys []int32) person {
	p := person{starts: make([]int32, b.m.n)}
	p.end = b.serial(keys, p.starts)
	p.end = b.rightAndLeft(p.starts, p.end)
	if b.best == none || p.end < b.best {
		b.best = p.end
		b.bestAt = append(b.bestAt[:0], p.starts...)
	}
	return p
}

// founder is a schedule of its own: the longer the way from a task to the end the
// sooner it tends to come.
func (b *breeder) founder() person {
	spread := 1 + b.m.lower/4
	if b.rng.IntN(4) == 0 {
		spread *= 4
	}
	for i := range b.keys {
		b.keys[i] = -b.tail[i] + b.rng.Int32N(spread)
	}
	return b.grown(b.keys)
}

// step breeds one schedule more.
func (b *breeder) step() {
	if len(b.people) < b.size {
		b.people = append(b.people, b.founder())
		b.stale = 0
		return
	}
	if b.stale > 12*b.size {
		// They are all of a kind: begin again.
		b.people = b.people[:0]
		b.reborn++
		return
	}
	mother, father := b.chosen(), b.chosen()
	for try := 0; mother == father && try < 4; try++ {
		father = b.rng.IntN(len(b.people))
	}
	b.cross(&b.people[mother], &b.people[father])
	child := b.grown(b.keys)
	worst := 0
	for k := range b.people {
		if b.people[k].end == child.end && slices.Equal(b.people[k].starts, child.starts) {
			b.stale++
			return
		}
		if b.people[k].end > b.people[worst].end || b.people[k].end == b.people[worst].end && b.rng.IntN(3) == 0 {
			worst = k
		}
	}
	if child.end < b.people[worst].end {
		b.stale = 0
	} else {
		b.stale++
	}
	if child.end <= b.people[worst].end {
		b.people[worst] = child
	}
}

// chosen is the better of two.
func (b *breeder) chosen() int {
	x, y := b.rng.IntN(len(b.people)), b.rng.IntN(len(b.people))
	if b.people[y].end < b.people[x].end {
		return y
	}
	return x
}

// cross fills keys for a child.
func (b *breeder) cross(mother, father *person) {
	m := b.m
	end := mother.end
	from, to := b.stretch(mother)
	for i := range m.n {
		switch f, own := father.starts[i], mother.starts[i]; {
		case own >= from && own < to:
			b.keys[i] = own * 4
		case f < from:
			b.keys[i] = (f - end) * 4
		case f >= to:
			b.keys[i] = (f + end) * 4
		default:
			b.keys[i] = f * 4
		}
	}
	for i := range b.keys {
		b.keys[i] += b.rng.Int32N(4)
		if b.rng.IntN(40) == 0 {
			b.keys[i] += (b.rng.Int32N(41) - 20) * 4 * max(1, end/100)
		}
	}
}

// stretch is the part of the mother's day, of a length by chance, in which the
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
	long := n/4 + b.rng.IntN(n/2+1)
	best, most := 0, -1.0
	// Every second time the place is by chance too, lest the children be alike.
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
