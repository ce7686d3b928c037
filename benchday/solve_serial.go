package benchday

import "math/rand/v2"

// A placer makes schedules when waits have a greatest. It places one task after
// another, each as early as it can. If a task comes too late for one placed
// before it, that earlier one is taken out again, with all that was placed from
// its start on, and may then only come later (Franck, Neumann and Schwindt 2001,
// from memory).
type placer struct {
	m     *model
	rng   *rand.Rand
	usage // the profile being filled

	before [][]int32 // tasks that always start before it, or that must be placed first
	tail   []int32   // least time from a task's start to the end
	keys   []int32
	floor  []int32 // no earlier start is tried, because of what was taken out
	early  []int32 // the window that the placed tasks leave each task
	late   []int32
	starts []int32
	placed []bool

	best   int32 // the least makespan so far; none before there is one
	bestAt []int32
	spread int32
	failed int // passes in a row that found nothing
}

// newPlacer returns nil if the day is too long for a profile by the minute.
func newPlacer(m *model, seed uint64) *placer {
	if m.horizon > longGrid || m.n < 2 {
		return nil
	}
	b := &placer{m: m, rng: rand.New(rand.NewPCG(seed, 0x706c_6163_65)), usage: newUsage(m), best: none,
		before: make([][]int32, m.n), tail: make([]int32, m.n), keys: make([]int32, m.n),
		floor: make([]int32, m.n), early: make([]int32, m.n), late: make([]int32, m.n),
		starts: make([]int32, m.n), placed: make([]bool, m.n), spread: 1 + m.lower/4}
	for i := range m.n {
		for j := range m.n {
			if i == j || m.dist[i][j] == none {
				continue
			}
			b.tail[i] = max(b.tail[i], m.dist[i][j]+m.dur[j])
			if d := m.dist[i][j]; d > 0 || d == 0 && m.dist[j][i] < 0 {
				b.before[j] = append(b.before[j], int32(i))
			}
		}
		b.tail[i] = max(b.tail[i], m.dur[i])
	}
	return b
}

// turn is short: where the waits are tight, these schedules are of less use than
// what the proof finds.
func (b *placer) turn(int) int { return 50 }

// step makes one more schedule, or fails to.
func (b *placer) step() []int32 {
	if b.best == none || b.rng.IntN(4) == 0 {
		spread := b.spread
		if b.failed > 20 {
			spread = 1 + b.rng.Int32N(4*b.spread)
		}
		for i := range b.keys {
			b.keys[i] = -b.tail[i] + b.rng.Int32N(spread)
		}
	} else {
		// Near the best: a stretch of it is shaken up.
		from := b.rng.Int32N(b.best + 1)
		to := from + 1 + b.rng.Int32N(1+b.best/3)
		shake := 2 + b.rng.Int32N(2+b.best/8)
		for i, at := range b.bestAt {
			b.keys[i] = 4 * at
			if at >= from && at < to {
				b.keys[i] += 4 * (b.rng.Int32N(2*shake) - shake)
			}
			b.keys[i] += b.rng.Int32N(4)
		}
	}
	end, ok := b.pass()
	if !ok {
		b.failed++
		return nil
	}
	b.failed = 0
	if b.best != none && end > b.best {
		return nil
	}
	better := b.best == none || end < b.best
	b.best = end
	b.bestAt = append(b.bestAt[:0], b.starts...)
	if !better {
		return nil
	}
	return b.bestAt
}

// adopt takes a schedule that was found elsewhere as the best.
func (b *placer) adopt(starts []int32) {
	if end := b.m.makespan(starts); b.best == none || end < b.best {
		b.best = end
		b.bestAt = append(b.bestAt[:0], starts...)
	}
}

func (b *placer) pass() (end int32, ok bool) {
	m := b.m
	b.clear()
	copy(b.floor, m.est)
	copy(b.early, m.est)
	copy(b.late, m.lst)
	clear(b.placed)
	count, undone := 0, 0
	for count < m.n {
		i := b.next()
		t, late := b.early[i], b.late[i]
		for t <= late {
			c := b.clash(i, t)
			if c < 0 {
				break
			}
			t = c + 1
		}
		if t <= late {
			b.put(i, t)
			count++
			end = max(end, t+m.dur[i])
			continue
		}
		if t > m.lst[i] || undone > 6*m.n {
			return 0, false
		}
		// Take out what must start sooner than t allows, and everything placed
		// from the first of these on.
		first := m.horizon
		for k, in := range b.placed {
			if d := m.dist[i][k]; in && d != none && b.starts[k]-d < t {
				first = min(first, b.starts[k])
				b.floor[k] = max(b.floor[k], t+d)
				if b.floor[k] > m.lst[k] {
					return 0, false
				}
			}
		}
		b.clear()
		copy(b.early, b.floor)
		copy(b.late, m.lst)
		end = 0
		for k, in := range b.placed {
			if !in {
				continue
			}
			if b.starts[k] >= first {
				b.placed[k] = false
				count--
				undone++
				continue
			}
			b.put(int32(k), b.starts[k])
			end = max(end, b.starts[k]+m.dur[k])
		}
	}
	return end, true
}

// put places task i at t.
func (b *placer) put(i, t int32) {
	b.hold(i, t)
	b.starts[i], b.placed[i] = t, true
	for j, d := range b.m.dist[i][:b.m.n] {
		if d != none {
			b.early[j] = max(b.early[j], t+d)
		}
		if back := b.m.dist[j][i]; back != none {
			b.late[j] = min(b.late[j], t-back)
		}
	}
}

// next chooses the next task. Tasks that surely run at some minute come first, as
// long as there are any. After those, it chooses among the tasks whose
// predecessors are all placed: the one to which the placed tasks leave the least
// time, before others take it. If all may be as late as they like, it takes the
// one with the least key.
func (b *placer) next() int32 {
	best, held := int32(-1), false
tasks:
	for i, in := range b.placed {
		if in {
			continue
		}
		if b.m.lst[i] < b.m.est[i]+b.m.dur[i] {
			return int32(i)
		}
		for _, k := range b.before[i] {
			if !b.placed[k] {
				continue tasks
			}
		}
		urgent := b.late[i] < b.m.lst[i]
		switch {
		case best < 0, urgent && !held:
		case held && !urgent:
			continue
		case held && b.late[i] >= b.late[best], !held && b.keys[i] >= b.keys[best]:
			continue
		}
		best, held = int32(i), urgent
	}
	return best
}
