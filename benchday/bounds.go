package benchday

import "slices"

// maxCliques is how many sets of mutually exclusive tasks are watched as if each
// set shared a tool of its own.
const maxCliques = 6

// cliques finds sets of tasks of which no two can run together, because of one
// resource or another, or because they wait for each other. It returns at most
// count sets, those with the most minutes first. Sets that one resource already
// enforces alone are left out.
func (m *model) cliques(count int) [][]int32 {
	n := int32(m.n)
	excluded := func(i, j int32) bool {
		return m.dist[i][j] >= m.dur[i] || m.dist[j][i] >= m.dur[j] || m.apart(i, j)
	}
	var all []int32
	for i := range n {
		if m.dur[i] > 0 {
			all = append(all, i)
		}
	}
	beside := make([][]bool, n)
	for _, i := range all {
		beside[i] = make([]bool, n)
		for _, j := range all {
			beside[i][j] = i != j && excluded(i, j)
		}
	}
	type clique struct {
		tasks   []int32
		minutes int
	}
	var found []clique
	left := make([]int, n)
	seeds := slices.Clone(all)
	slices.SortStableFunc(seeds, func(i, j int32) int { return int(m.dur[j] - m.dur[i]) })
	for _, seed := range seeds[:min(60, len(seeds))] {
		c := clique{[]int32{seed}, int(m.dur[seed])}
		open := slices.DeleteFunc(slices.Clone(all), func(j int32) bool { return !beside[seed][j] })
		// The minutes that each choice leaves are summed once and then kept up to
		// date. Summing them every time would take minutes for a thousand tasks.
		for _, i := range open {
			left[i] = int(m.dur[i])
			for _, j := range open {
				if beside[i][j] {
					left[i] += int(m.dur[j])
				}
			}
		}
		for len(open) > 0 {
			// Next, take the task that leaves the most minutes to choose from.
			next := open[0]
			for _, i := range open {
				if left[i] > left[next] {
					next = i
				}
			}
			c.tasks, c.minutes = append(c.tasks, next), c.minutes+int(m.dur[next])
			kept := make([]int32, 0, len(open))
			for _, j := range open {
				if beside[next][j] {
					kept = append(kept, j)
				}
			}
			for _, j := range open {
				if beside[next][j] {
					continue
				}
				for _, i := range kept {
					if beside[i][j] {
						left[i] -= int(m.dur[j])
					}
				}
			}
			open = kept
		}
		slices.Sort(c.tasks)
		if len(c.tasks) > 2 && !m.alone(c.tasks) && !slices.ContainsFunc(found, func(f clique) bool { return slices.Equal(f.tasks, c.tasks) }) {
			found = append(found, c)
		}
	}
	slices.SortStableFunc(found, func(a, b clique) int { return b.minutes - a.minutes })
	var out [][]int32
	for _, c := range found[:min(count, len(found))] {
		out = append(out, c.tasks)
	}
	return out
}

// alone reports whether a single resource already keeps the tasks apart, or the
// waits do, which put them in a row.
func (m *model) alone(tasks []int32) bool {
	for r, p := range m.res {
		if !slices.ContainsFunc(tasks, func(i int32) bool { return m.need[i][r] < p.capacity }) {
			return true
		}
	}
	for k, i := range tasks {
		for _, j := range tasks[:k] {
			if m.dist[i][j] < m.dur[i] && m.dist[j][i] < m.dur[j] {
				return false
			}
		}
	}
	return true
}
