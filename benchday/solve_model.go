package benchday

import "slices"

// far is the longest day that the searches can handle, min. All starts, waits and
// sums of two of them fit an int32 with room to spare.
const far = 1 << 28

// none means that there is no path between two tasks.
const none = -1 << 30

// A model is an instance prepared for the searches: the windows of the starts,
// the longest paths along the waits, and each resource with the tasks that hold
// any of it. Tasks without duration hold nothing.
type model struct {
	n        int
	dur      []int32
	need     [][]int32 // by task and resource
	res      []pool
	est, lst []int32   // the window of each start, from the waits and the options
	dist     [][]int32 // the longest path from start to start; none where there is none
	arcs     []arc     // the waits between two tasks, each once, as least waits
	horizon  int32     // the shortest day is not longer than this, or longer days are of no interest
	total    int32     // the length of all tasks and waits in a row
	lower    int32     // lower bound from the waits alone
	broken   bool      // the waits contradict each other, or a task needs more than there is
	tooFar   bool      // the waits and durations are longer than the searches can handle
}

type pool struct {
	capacity int32
	tasks    []int32
}

// An arc says that task to starts at least w minutes after task from starts.
type arc struct{ from, to, w int32 }

// newModel prepares an instance for the searches. It stops early, with broken or
// tooFar set, where no search is possible.
func newModel(in *Instance, o Options) *model {
	n := len(in.Tasks)
	m := &model{n: n, dur: make([]int32, n), need: make([][]int32, n), est: make([]int32, n), lst: make([]int32, n)}
	widest, ok := m.readWaits(in, o)
	if !ok || !m.readNeeds(in) || !m.longestPaths(widest) {
		return m
	}
	for i := range n {
		m.est[i] = m.dist[n][i]
		m.lst[i] = m.horizon - m.dur[i]
		if back := m.dist[i][n]; back != none {
			m.lst[i] = min(m.lst[i], -back)
		}
		m.lower = max(m.lower, m.est[i]+m.dur[i])
		if m.est[i] > m.lst[i] {
			m.broken = true
		}
	}
	return m
}

// readWaits reads the durations and the waits, and works out the horizon. It returns
// the widest wait between any two nodes, with node n for the start of the day. It
// reports false if the day is too long for the searches.
func (m *model) readWaits(in *Instance, o Options) (widest map[[2]int]int, ok bool) {
	n := m.n
	reach := make([]int, n+1)
	for i, t := range in.Tasks {
		if t.Duration < 0 || t.Duration > far {
			m.tooFar = true
			return nil, false
		}
		m.dur[i], reach[i] = int32(t.Duration), t.Duration
	}
	widest = map[[2]int]int{}
	wait := func(from, to, w int) {
		if w > far {
			m.tooFar = true
			return
		}
		w = max(w, -far)
		if from < 0 {
			from = n
		}
		if to < 0 {
			to = n
		}
		if from == to {
			m.broken = m.broken || w > 0
			return
		}
		if old, ok := widest[[2]int{from, to}]; !ok || w > old {
			widest[[2]int{from, to}] = w
		}
		reach[from] = max(reach[from], w)
	}
	for _, l := range in.Lags {
		wait(l.From, l.To, l.Min)
		if l.HasMax {
			wait(l.To, l.From, -l.Max)
		}
	}
	for i := range n {
		wait(n, i, 0)
		if i < len(o.Release) {
			wait(n, i, o.Release[i])
		}
		if at, ok := o.Fixed[i]; ok {
			wait(n, i, at)
			wait(i, n, -at)
		}
	}
	// total is the longest day worth looking at. In a shortest day that cannot be
	// closed up by a minute, every minute lies in some task or in some wait that
	// binds. So it is enough to sum, over the tasks, the greater of the two (Franck,
	// Neumann and Schwindt 2001, from memory).
	total := 0
	for _, r := range reach {
		total += r
		if total > far {
			m.tooFar = true
			return nil, false
		}
	}
	m.total, m.horizon = int32(total), int32(total)
	if o.Within > 0 && o.Within < total {
		m.horizon = int32(o.Within)
	}
	return widest, true
}

// readNeeds reads what each task holds of each resource. It reports false if a task
// needs more than there is, or if the needs are too large for the searches.
func (m *model) readNeeds(in *Instance) bool {
	for i, t := range in.Tasks {
		m.need[i] = make([]int32, len(in.Resources))
		for r := range in.Resources {
			if r >= len(t.Needs) || t.Needs[r] <= 0 || t.Duration == 0 {
				continue
			}
			if t.Needs[r] > in.Resources[r].Capacity {
				m.broken = true
				return false
			}
			if t.Needs[r] > far {
				m.tooFar = true
				return false
			}
			m.need[i][r] = int32(t.Needs[r])
		}
	}
	for r, res := range in.Resources {
		p, sum := pool{}, 0
		for i := range m.n {
			if m.need[i][r] > 0 {
				p.tasks = append(p.tasks, int32(i))
				sum += int(m.need[i][r])
			}
		}
		if sum > far {
			m.tooFar = true
			return false
		}
		p.capacity = int32(min(res.Capacity, sum))
		m.res = append(m.res, p)
	}
	return true
}

// longestPaths fills arcs and dist from the widest waits. It reports false if the
// waits contradict each other.
func (m *model) longestPaths(widest map[[2]int]int) bool {
	n := m.n
	m.dist = make([][]int32, n+1)
	for i := range m.dist {
		m.dist[i] = make([]int32, n+1)
		for j := range m.dist[i] {
			m.dist[i][j] = none
		}
		m.dist[i][i] = 0
	}
	for ij, w := range widest {
		m.dist[ij[0]][ij[1]] = int32(w)
		if ij[0] < n && ij[1] < n {
			m.arcs = append(m.arcs, arc{int32(ij[0]), int32(ij[1]), int32(w)})
		}
	}
	slices.SortFunc(m.arcs, func(a, b arc) int {
		if a.from != b.from {
			return int(a.from - b.from)
		}
		return int(a.to - b.to)
	})
	for k := range m.dist {
		for i := range m.dist {
			ik := m.dist[i][k]
			if ik == none {
				continue
			}
			row, via := m.dist[i], m.dist[k]
			for j, kj := range via {
				if kj != none && ik+kj > row[j] && ik+kj >= -far {
					// Around a cycle with a sum above 0, lengths could double at
					// every step. They are cut off at far, which says enough.
					row[j] = min(ik+kj, far)
				}
			}
		}
		for i := range m.dist {
			if m.dist[i][i] > 0 {
				m.broken = true
				return false
			}
		}
	}
	return true
}

// follow adds the wait from→to of w to the longest paths and the arcs. It returns
// false if that closes a cycle with a sum above 0.
func (m *model) follow(from, to, w int32) bool {
	if m.dist[from][to] >= w {
		return true
	}
	if back := m.dist[to][from]; back != none && back+w > 0 {
		return false
	}
	m.arcs = append(m.arcs, arc{from, to, w})
	for i := range m.dist {
		if m.dist[i][from] == none {
			continue
		}
		a := m.dist[i][from] + w
		for j, d := range m.dist[to] {
			if d != none && a+d > m.dist[i][j] && a+d >= -far {
				m.dist[i][j] = a + d
			}
		}
	}
	return true
}

// apart reports whether tasks i and j can never run at the same minute.
func (m *model) apart(i, j int32) bool {
	for r := range m.res {
		if a, b := m.need[i][r], m.need[j][r]; a > 0 && b > 0 && a+b > m.res[r].capacity {
			return true
		}
	}
	return false
}

// makespan is the end of the last task, min.
func (m *model) makespan(s []int32) int32 {
	end := int32(0)
	for i, at := range s {
		end = max(end, at+m.dur[i])
	}
	return end
}
