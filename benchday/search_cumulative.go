package benchday

// A cumulative watches one resource: at no minute may the running tasks hold more
// than there is. It looks at the tasks twice, once as they are and once with time
// reversed, so that the same code raises earliest starts and lowers latest
// starts. In the second look, a task's start stands for minus its end.
//
// There are two checks. The time-table knows what surely runs at each minute. The
// energy check asks, for each interval from an earliest start to a latest end,
// whether what must run inside has room (Vilím 2011; with reasons, Schutt, Feydy
// and Stuckey 2013).
type cumulative struct {
	looks  [2]*look
	queued bool
	pause  int // energy checks to skip after each one
	idle   int // energy checks skipped so far
}

// manySteps is how many of its own durations a task is pushed along a stretch of
// the profile in single steps.
const manySteps = 4

// longPause is the greatest number of energy checks skipped in a row.
const longPause = 8

// A look holds what one look at the resource works with. Each look keeps its own
// orders, because they hardly change from one time to the next.
type look struct {
	s        *learner
	turned   int32
	capacity int32
	tasks    []int32

	// By position in tasks:
	need, dur []int32
	est, lst  []int32
	byEst     []int32 // positions by earliest start
	byLct     []int32 // positions by latest end
	byLst     []int32
	byEct     []int32
	from      []int32 // the profile: heights from each of these minutes on
	height    []int32
	area      []int64 // the profile's area before each minute of from
	areaEst   []int64 // and before each task's earliest start and latest end
	areaLct   []int64
	why       []lit
}

func newCumulative(s *learner, capacity int32, tasks, need []int32) *cumulative {
	return &cumulative{looks: [2]*look{newLook(s, 0, capacity, tasks, need), newLook(s, 1, capacity, tasks, need)}}
}

func newLook(s *learner, turned, capacity int32, tasks, need []int32) *look {
	k := len(tasks)
	c := &look{s: s, turned: turned, capacity: capacity, tasks: tasks, need: need, dur: make([]int32, k),
		est: make([]int32, k), lst: make([]int32, k), byEst: make([]int32, k), byLct: make([]int32, k), byLst: make([]int32, k), byEct: make([]int32, k),
		areaEst: make([]int64, k), areaLct: make([]int64, k)}
	for i, t := range tasks {
		c.dur[i] = s.m.dur[t]
		c.byEst[i], c.byLct[i], c.byLst[i], c.byEct[i] = int32(i), int32(i), int32(i), int32(i)
	}
	return c
}

// atLeast and atMost give the bounds start ≥ v and start ≤ v in the current look.
func (c *look) atLeast(i, v int32) lit {
	return lit{2*c.tasks[i] + c.turned, v + c.turned*c.dur[i]}
}

func (c *look) atMost(i, v int32) lit {
	return lit{2*c.tasks[i] + 1 - c.turned, -v - c.turned*c.dur[i]}
}

func (c *look) read() {
	for i, t := range c.tasks {
		off := c.turned * c.dur[i]
		c.est[i] = c.s.cur[2*t+c.turned] - off
		c.lst[i] = -c.s.cur[2*t+1-c.turned] - off
	}
}

// nearlySort sorts positions by key. It is fast because they are nearly sorted
// already.
func nearlySort(places, key, plus []int32) {
	for a := 1; a < len(places); a++ {
		i := places[a]
		k := key[i]
		if plus != nil {
			k += plus[i]
		}
		b := a
		for b > 0 {
			j := places[b-1]
			kj := key[j]
			if plus != nil {
				kj += plus[j]
			}
			if kj <= k {
				break
			}
			places[b] = j
			b--
		}
		places[b] = i
	}
}

func (c *cumulative) propagate() bool {
	s := c.looks[0].s
	raised := len(s.trail)
	for turned, l := range c.looks {
		l.read()
		l.profile()
		if turned == 0 && !l.overload() || !l.timetable() {
			return false
		}
	}
	if len(s.trail) > raised {
		return true // the cheaper check first: the queue returns to this resource
	}
	// The energy check takes the longest. Where it finds nothing it is made less
	// often, but always near the root, where bounds are proved.
	if c.idle < c.pause && s.level() > 1 {
		c.idle++
		return true
	}
	c.idle = 0
	for _, l := range c.looks {
		ok := l.energies()
		if !ok || len(s.trail) > raised {
			c.pause /= 2
			return ok
		}
	}
	c.pause = min(2*c.pause+1, longPause)
	return true
}

// profile works out how much surely runs at each minute.
func (c *look) profile() {
	nearlySort(c.byLst, c.lst, nil)
	nearlySort(c.byEct, c.est, c.dur)
	c.from, c.height, c.area = c.from[:0], c.height[:0], c.area[:0]
	a, b, h := 0, 0, int32(0)
	k := len(c.tasks)
	for {
		for a < k && c.lst[c.byLst[a]] >= c.est[c.byLst[a]]+c.dur[c.byLst[a]] {
			a++
		}
		for b < k && c.lst[c.byEct[b]] >= c.est[c.byEct[b]]+c.dur[c.byEct[b]] {
			b++
		}
		if b >= k {
			return
		}
		i, j := int32(-1), c.byEct[b]
		at := c.est[j] + c.dur[j]
		if a < k {
			if i = c.byLst[a]; c.lst[i] < at {
				at = c.lst[i]
			} else {
				i = -1
			}
		}
		if i >= 0 {
			h += c.need[i]
			a++
		} else {
			h -= c.need[j]
			b++
		}
		if n := len(c.from); n > 0 && c.from[n-1] == at {
			c.height[n-1] = h
			continue
		}
		if n := len(c.from); n > 0 {
			c.area = append(c.area, c.area[n-1]+int64(c.height[n-1])*int64(at-c.from[n-1]))
		} else {
			c.area = append(c.area, 0)
		}
		c.from, c.height = append(c.from, at), append(c.height, h)
	}
}

// running fills why with tasks that surely run from minute t to minute last, both
// in one stretch of the profile, and that together hold more than room. The task
// but is left out.
func (c *look) running(t, last, room, but int32) {
	c.why = c.why[:0]
	for i := range c.tasks {
		if int32(i) == but || c.lst[i] > t || c.est[i]+c.dur[i] <= t {
			continue
		}
		c.why = append(c.why, c.atLeast(int32(i), last-c.dur[i]+1), c.atMost(int32(i), t))
		if room -= c.need[i]; room < 0 {
			return
		}
	}
}

func (c *look) fail() bool {
	c.s.conflict = append(c.s.conflict[:0], c.why...)
	return false
}

func (c *look) overload() bool {
	for k, h := range c.height {
		if h > c.capacity {
			c.running(c.from[k], c.from[k], c.capacity, -1)
			return c.fail()
		}
	}
	return true
}

func (c *look) timetable() bool {
	last := len(c.from) - 1 // the profile falls to 0 there
	if last < 0 {
		return true
	}
	nearlySort(c.byEst, c.est, nil)
	first := 0
	for _, i := range c.byEst {
		est, lst := c.est[i], c.lst[i]
		if est == lst {
			continue
		}
		for first < last && c.from[first+1] <= est {
			first++
		}
		ect, now := est+c.dur[i], est
		for k := first; k < last && c.from[k] < now+c.dur[i]; k++ {
			if c.from[k+1] <= now || c.height[k]+c.need[i] <= c.capacity {
				continue
			}
			if lst < ect && c.from[k] >= lst { // its own sure part begins here
				break
			}
			for now < c.from[k+1] {
				// The last minute of this stretch at which it would run.
				t := min(now+c.dur[i], c.from[k+1]) - 1
				last := t
				if c.from[k+1]-now > manySteps*c.dur[i] {
					last = c.from[k+1] - 1 // the whole stretch in one step, for a stronger reason
				}
				c.running(t, last, c.capacity-c.need[i], i)
				c.why = append(c.why, c.atLeast(i, t-c.dur[i]+1))
				l := c.atLeast(i, last+1)
				if !c.s.raise(l.p, l.v, byReasons, c.s.because(c.why)) {
					return false
				}
				now = last + 1
			}
		}
	}
	return true
}

// areaBefore is the profile's area before minute t. k is a position to search
// from.
func (c *look) areaBefore(t int32, k *int) int64 {
	n := len(c.from)
	if n == 0 || t <= c.from[0] {
		return 0
	}
	for *k+1 < n && c.from[*k+1] <= t {
		*k++
	}
	return c.area[*k] + int64(c.height[*k])*int64(t-c.from[*k])
}

// inside is how long task i surely runs within [a, b).
func (c *look) inside(i, a, b int32) int32 {
	return max(0, min(c.dur[i], b-a, c.est[i]+c.dur[i]-a, b-c.lst[i]))
}

// crowd fills why with what makes the tasks hold more than room units × minutes
// in [a, b). The task but is left out.
func (c *look) crowd(a, b int32, room int64, but int32) {
	c.why = c.why[:0]
	total := int64(0)
	for i := range c.tasks {
		if int32(i) != but {
			total += int64(c.need[i]) * int64(c.inside(int32(i), a, b))
		}
	}
	slack := total - room - 1
	for i := range c.tasks {
		k := c.inside(int32(i), a, b)
		if int32(i) == but || k == 0 {
			continue
		}
		if less := min(slack/int64(c.need[i]), int64(k)); less > 0 {
			slack -= less * int64(c.need[i])
			if k -= int32(less); k == 0 {
				continue
			}
		}
		c.why = append(c.why, c.atLeast(int32(i), a+k-c.dur[i]), c.atMost(int32(i), b-k))
	}
}

func (c *look) energies() bool {
	nearlySort(c.byEst, c.est, nil)
	nearlySort(c.byLct, c.lst, c.dur)
	k := 0
	for _, i := range c.byEst {
		c.areaEst[i] = c.areaBefore(c.est[i], &k)
	}
	k = 0
	for _, i := range c.byLct {
		c.areaLct[i] = c.areaBefore(c.lst[i]+c.dur[i], &k)
	}
	end := int32(none)
	for q := len(c.byLct) - 1; q >= 0; q-- {
		y := c.byLct[q]
		b := c.lst[y] + c.dur[y]
		if b == end {
			continue
		}
		end = b
		energy, most, who := int64(0), int64(0), int32(-1)
		for g := len(c.byEst) - 1; g >= 0; g-- {
			x := c.byEst[g]
			a := c.est[x]
			if a >= b {
				continue
			}
			fixed := max(0, a+c.dur[x]-c.lst[x])
			if c.lst[x]+c.dur[x] <= b {
				energy += int64(c.need[x]) * int64(c.dur[x]-fixed)
			} else {
				in := int32(0)
				if fixed > 0 {
					in = max(0, min(b, a+c.dur[x])-c.lst[x])
				}
				if extra := int64(c.need[x]) * int64(min(c.dur[x], b-a)-in); extra > most {
					most, who = extra, x
				}
			}
			left := int64(c.capacity)*int64(b-a) - energy - (c.areaLct[y] - c.areaEst[x])
			if left < 0 {
				c.crowd(a, b, int64(c.capacity)*int64(b-a), -1)
				return c.fail()
			}
			if who < 0 || most <= left {
				continue
			}
			ect := c.est[who] + c.dur[who]
			rest := left
			if c.lst[who] < ect {
				rest += int64(c.need[who]) * int64(max(0, min(b, ect)-max(a, c.lst[who])))
			}
			fit := int32(rest / int64(c.need[who]))
			to := b - fit
			if to <= c.est[who] {
				continue
			}
			room := int64(c.capacity)*int64(b-a) - int64(c.need[who])*int64(fit+1)
			c.crowd(a, b, room, who)
			c.why = append(c.why, c.atLeast(who, a+fit+1-c.dur[who]))
			l := c.atLeast(who, to)
			if !c.s.raise(l.p, l.v, byReasons, c.s.because(c.why)) {
				return false
			}
			// The arrays still hold the values from before, so make at most one
			// such step in a look.
			most = 0
			who = -1
		}
	}
	return true
}
