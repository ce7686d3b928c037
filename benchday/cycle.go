package benchday

import (
	"math"
	"slices"
)

// noPath is the distance where no path of waits leads from one task to the other.
const noPath = math.MinInt32

// link is one step along the waits: the least wait of a lag from its From to its
// To, or the greatest wait from its To back to its From. Lag −1 is the rule that
// no task starts before the day does.
type link struct {
	Lag int // index into the lags of the instance
	Max bool
}

// tie says start(to) ≥ start(from) + weight. The start of the day is node n.
type tie struct {
	from, to, weight int
	link             link
}

// cycleOf finds waits that contradict each other, whatever is shared: links, each
// starting where the one before it ended, whose waits sum to more than 0 around
// the cycle. It is nil if all waits can be kept. The cycle is irreducible: with any
// of its lags left out, the others no longer contradict each other. On days of
// ordinary size it is short too. It takes O(tasks · lags) at worst where there is
// no cycle.
func cycleOf(in *Instance) []link {
	cycle := anyCycle(in)
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
		if c := anyCycle(less); c != nil && cycle[k].Lag >= 0 {
			for i := range c {
				if c[i].Lag >= 0 {
					c[i].Lag = was[c[i].Lag]
				}
			}
			cycle, k = c, -1
		}
	}
	return cycle
}

// anyCycle finds a cycle that need not be irreducible. It raises the earliest start
// of every node, 0 for the start of the day, until all waits are kept. Where they
// never are, some close a cycle.
func anyCycle(in *Instance) []link {
	n := len(in.Tasks)
	var ties []tie
	for i := range n {
		ties = append(ties, tie{n, i, 0, link{Lag: -1}})
	}
	for k, l := range in.Lags {
		from := l.From
		if from < 0 {
			from = n
		}
		ties = append(ties, tie{from, l.To, l.Min, link{Lag: k}})
		if l.HasMax {
			ties = append(ties, tie{l.To, from, -l.Max, link{k, true}})
		}
	}
	early := slices.Repeat([]int{noPath}, n+1)
	early[n] = 0
	last := slices.Repeat([]int{-1}, n+1) // by node: the tie that set its earliest start
	moved := true
	for round := 0; moved && round <= n+1; round++ {
		moved = false
		for k, a := range ties {
			if early[a.from] != noPath && early[a.from]+a.weight > early[a.to] {
				early[a.to] = early[a.from] + a.weight
				last[a.to] = k
				moved = true
			}
		}
	}
	if !moved {
		return nil
	}
	if n*len(ties) > 200_000 {
		if c := along(ties, last); c != nil {
			return c
		}
	}
	return fewest(ties, n+1)
}

// along finds a cycle along the ties that last set each earliest start. If these
// never settle, there is one among them, and its sum is above 0.
func along(ties []tie, last []int) []link {
	seen := make([]int, len(last)) // 1 + the walk on which the node was met
	for start := range last {
		v := start
		for seen[v] == 0 && last[v] >= 0 {
			seen[v] = start + 1
			v = ties[last[v]].from
		}
		if seen[v] != start+1 || last[v] < 0 {
			continue
		}
		var back []link
		for u := v; ; {
			a := ties[last[u]]
			back = append(back, a.link)
			if u = a.from; u == v {
				break
			}
		}
		slices.Reverse(back)
		return back
	}
	return nil
}

// fewest finds a cycle with a sum above 0 and the fewest links. The shortest
// closed walk above 0 visits no node twice: otherwise one of its two loops would
// be a shorter one.
func fewest(ties []tie, n int) []link {
	var best []link
	for s := range n {
		limit := n
		if best != nil {
			limit = len(best) - 1
		}
		// by[k][v] is the greatest walk of k ties from s to v, and its last tie.
		type step struct{ sum, tie int }
		row := slices.Repeat([]step{{noPath, -1}}, n)
		row[s].sum = 0
		by := [][]step{row}
		for k := 1; k <= limit; k++ {
			next := slices.Repeat([]step{{noPath, -1}}, n)
			for i, a := range ties {
				if f := by[k-1][a.from].sum; f != noPath && f+a.weight > next[a.to].sum {
					next[a.to] = step{f + a.weight, i}
				}
			}
			by = append(by, next)
			if next[s].sum > 0 {
				best = make([]link, k)
				v := s
				for j := k; j > 0; j-- {
					a := ties[by[j][v].tie]
					best[j-1] = a.link
					v = a.from
				}
				break
			}
		}
	}
	return best
}
