package benchday

import "math"

// NoPath is the distance where no path of waits leads from one task to the other.
const NoPath = math.MinInt32

// Temporal is what follows from the waits alone, before anything is shared: how
// early each task can start, and how much of the day is left at least from its
// start.
type Temporal struct {
	Head []int // earliest start from the waits alone, min
	Tail []int // least time from its start to the end of the day, min; at least its duration

	n    int
	arcs []tie
}

// Link is one step along the waits: the least wait of a lag from its From to its
// To, or the greatest wait from its To back to its From. Lag −1 is the rule that
// no task starts before the day does.
type Link struct {
	Lag int // index into the lags of the instance
	Max bool
}

// tie says start(to) ≥ start(from) + weight. The start of the day is node n.
type tie struct {
	from, to, weight int
	link             Link
}

// NewTemporal works out the longest paths along the waits, in O(tasks · lags) at
// worst. If the waits contradict each other, it returns no Temporal but a cycle:
// links, each starting where the one before it ended, whose waits sum to more
// than 0 around the cycle. The cycle is irreducible: with any of its lags left
// out, the others no longer contradict each other. On days of ordinary size it is
// short too.
func NewTemporal(in *Instance) (*Temporal, []Link) {
	t, cycle := newTemporal(in)
	// A cycle uses one side of each lag. The other sides may close a smaller
	// cycle.
	for k := 0; k < len(cycle); k++ {
		less := &Instance{Tasks: in.Tasks}
		var was []int
		for _, l := range cycle {
			if l.Lag >= 0 && l.Lag != cycle[k].Lag {
				less.Lags, was = append(less.Lags, in.Lags[l.Lag]), append(was, l.Lag)
			}
		}
		if _, c := newTemporal(less); c != nil && cycle[k].Lag >= 0 {
			for i := range c {
				if c[i].Lag >= 0 {
					c[i].Lag = was[c[i].Lag]
				}
			}
			cycle, k = c, -1
		}
	}
	return t, cycle
}

func newTemporal(in *Instance) (*Temporal, []Link) {
	n := len(in.Tasks)
	t := &Temporal{n: n, Head: make([]int, n+1), Tail: make([]int, n+1)}
	for i := range n {
		t.arcs = append(t.arcs, tie{n, i, 0, Link{Lag: -1}})
		t.Tail[i] = in.Tasks[i].Duration
	}
	for k, l := range in.Lags {
		from := l.From
		if from < 0 {
			from = n
		}
		t.arcs = append(t.arcs, tie{from, l.To, l.Min, Link{Lag: k}})
		if l.HasMax {
			t.arcs = append(t.arcs, tie{l.To, from, -l.Max, Link{k, true}})
		}
	}
	for i := range n {
		t.Head[i] = NoPath
	}
	last := make([]int, n+1) // by node: the arc that set its head
	for i := range last {
		last[i] = -1
	}
	moved := true
	for round := 0; moved && round <= n+1; round++ {
		moved = false
		for k, a := range t.arcs {
			if t.Head[a.from] != NoPath && t.Head[a.from]+a.weight > t.Head[a.to] {
				t.Head[a.to] = t.Head[a.from] + a.weight
				last[a.to] = k
				moved = true
			}
		}
	}
	if moved {
		if n*len(t.arcs) > 200_000 {
			if c := t.along(last); c != nil {
				return nil, c
			}
		}
		return nil, t.shortest()
	}
	for moved = true; moved; {
		moved = false
		for k := len(t.arcs) - 1; k >= 0; k-- {
			if a := t.arcs[k]; t.Tail[a.to]+a.weight > t.Tail[a.from] {
				t.Tail[a.from] = t.Tail[a.to] + a.weight
				moved = true
			}
		}
	}
	t.Head, t.Tail = t.Head[:n], t.Tail[:n]
	return t, nil
}

// along finds a cycle along the arcs that last set each head. If the heads never
// settle, there is one among them, and its sum is above 0.
func (t *Temporal) along(last []int) []Link {
	seen := make([]int, t.n+1) // 1 + the walk on which the node was met
	for start := range last {
		v := start
		for seen[v] == 0 && last[v] >= 0 {
			seen[v] = start + 1
			v = t.arcs[last[v]].from
		}
		if seen[v] != start+1 || last[v] < 0 {
			continue
		}
		var back []Link
		for u := v; ; {
			a := t.arcs[last[u]]
			back = append(back, a.link)
			if u = a.from; u == v {
				break
			}
		}
		for i, j := 0, len(back)-1; i < j; i, j = i+1, j-1 {
			back[i], back[j] = back[j], back[i]
		}
		return back
	}
	return nil
}

// shortest finds a cycle with a sum above 0 and the fewest links. The shortest
// closed walk above 0 visits no node twice: otherwise one of its two loops would
// be a shorter one.
func (t *Temporal) shortest() []Link {
	n := t.n + 1
	var best []Link
	for s := range n {
		limit := n
		if best != nil {
			limit = len(best) - 1
		}
		// by[k][v] is the greatest walk of k arcs from s to v, and its last arc.
		type step struct{ sum, arc int }
		row := make([]step, n)
		for v := range row {
			row[v] = step{NoPath, -1}
		}
		row[s].sum = 0
		by := [][]step{row}
		for k := 1; k <= limit; k++ {
			next := make([]step, n)
			for v := range next {
				next[v] = step{NoPath, -1}
			}
			for i, a := range t.arcs {
				if f := by[k-1][a.from].sum; f != NoPath && f+a.weight > next[a.to].sum {
					next[a.to] = step{f + a.weight, i}
				}
			}
			by = append(by, next)
			if next[s].sum > 0 {
				best = make([]Link, k)
				v := s
				for j := k; j > 0; j-- {
					a := t.arcs[by[j][v].arc]
					best[j-1] = a.link
					v = a.from
				}
				break
			}
		}
	}
	return best
}

// Bound is the least makespan that the waits alone allow, min.
func (t *Temporal) Bound() int {
	b := 0
	for i := range t.Head {
		b = max(b, t.Head[i]+t.Tail[i])
	}
	return b
}

// Pairs gives the longest path from every node to every other, row by row. The
// entry at i*(n+1)+j is the least number of minutes from the start of i to that
// of j. It is below 0 where it comes from a greatest wait in the other direction,
// and NoPath where nothing binds the two. Node n is the start of the day. It
// takes O(n³), about 1 ms at 60 tasks.
func (t *Temporal) Pairs() []int32 {
	n := t.n + 1
	d := make([]int32, n*n)
	for i := range d {
		d[i] = NoPath
	}
	for i := range n {
		d[i*n+i] = 0
	}
	for _, a := range t.arcs {
		d[a.from*n+a.to] = max(d[a.from*n+a.to], int32(a.weight))
	}
	for k := range n {
		via := d[k*n : k*n+n]
		for i := range n {
			f := d[i*n+k]
			if f == NoPath || i == k {
				continue
			}
			row := d[i*n : i*n+n]
			for j, w := range via {
				if w != NoPath && f+w > row[j] {
					row[j] = f + w
				}
			}
		}
	}
	return d
}
