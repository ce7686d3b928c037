// Package daycheck checks a schedule for tests. It reads a bench day and a
// schedule of it by itself, and says which rules the schedule breaks. It shares
// no code with the planner. It goes through the day minute by minute where the
// planner sorts starts and ends, so tests need not trust the planner.
package daycheck

import (
	"encoding/json"
	"fmt"
	"regexp"
	"sort"
	"strconv"
	"strings"
)

// Day is an instance as this package reads it.
type Day struct {
	Capacity map[string]int
	Jobs     map[string]Job
	Waits    []Wait
}

// Job is one task: its minutes, and what it holds during them.
type Job struct {
	Minutes int
	Holds   map[string]int
}

// Wait is a rule on two starts. "START" is minute 0. Most is nil if there is no
// greatest wait.
type Wait struct {
	From, To string
	Least    int
	Most     *int
}

// JSON reads bench-day/1.
func JSON(data []byte) (*Day, error) {
	var f struct {
		Format    string
		Resources map[string]int
		Tasks     []struct {
			ID       string
			Duration int
			Needs    map[string]int
		}
		Lags []struct {
			From, To string
			Min      int
			Max      *int
		}
	}
	if err := json.Unmarshal(data, &f); err != nil {
		return nil, err
	}
	if f.Format != "bench-day/1" {
		return nil, fmt.Errorf("format %q", f.Format)
	}
	d := &Day{Capacity: f.Resources, Jobs: map[string]Job{}}
	for _, t := range f.Tasks {
		if _, twice := d.Jobs[t.ID]; twice {
			return nil, fmt.Errorf("task %q twice", t.ID)
		}
		d.Jobs[t.ID] = Job{t.Duration, t.Needs}
	}
	for _, l := range f.Lags {
		d.Waits = append(d.Waits, Wait{l.From, l.To, l.Min, l.Max})
	}
	return d, nil
}

var whole = regexp.MustCompile(`-?\d+`)

func ints(line string) []int {
	var out []int
	for _, w := range whole.FindAllString(line, -1) {
		v, _ := strconv.Atoi(w) // only digits, by the pattern
		out = append(out, v)
	}
	return out
}

// SM reads PSPLIB's single-mode form: it takes what is between the headings.
func SM(data []byte) (*Day, error) {
	text := strings.ReplaceAll(string(data), "\r", "")
	part := func(from, to string) ([]string, error) {
		_, rest, ok := strings.Cut(text, from)
		if !ok {
			return nil, fmt.Errorf("no %s", from)
		}
		rest, _, _ = strings.Cut(rest, to)
		var out []string
		for _, l := range strings.Split(rest, "\n") {
			if t := strings.TrimSpace(l); t != "" && (t[0] >= '0' && t[0] <= '9') {
				out = append(out, t)
			}
		}
		return out, nil
	}
	precedence, err := part("PRECEDENCE RELATIONS", "****")
	if err != nil {
		return nil, err
	}
	requests, err := part("REQUESTS/DURATIONS", "****")
	if err != nil {
		return nil, err
	}
	capacities, err := part("RESOURCEAVAILABILITIES", "****")
	if err != nil {
		return nil, err
	}
	d := &Day{Capacity: map[string]int{}, Jobs: map[string]Job{}}
	var names []string
	if len(capacities) > 0 {
		for k, c := range ints(capacities[0]) {
			names = append(names, "R"+strconv.Itoa(k+1))
			d.Capacity[names[k]] = c
		}
	}
	for _, l := range requests {
		v := ints(l)
		j := Job{v[2], map[string]int{}}
		for k, n := range v[3:] {
			j.Holds[names[k]] = n
		}
		d.Jobs[strconv.Itoa(v[0])] = j
	}
	for _, l := range precedence {
		v := ints(l)
		from := strconv.Itoa(v[0])
		for _, s := range v[3:] {
			d.Waits = append(d.Waits, Wait{From: from, To: strconv.Itoa(s), Least: d.Jobs[from].Minutes})
		}
	}
	return d, nil
}

// SCH reads ProGen/max's single-mode form.
func SCH(data []byte) (*Day, error) {
	var rows [][]int
	for _, l := range strings.Split(string(data), "\n") {
		if v := ints(l); len(v) > 0 {
			rows = append(rows, v)
		}
	}
	if len(rows) == 0 || len(rows) < 2*(rows[0][0]+2)+1 {
		return nil, fmt.Errorf("%d rows", len(rows))
	}
	n := rows[0][0] + 2
	zero := 0
	d := &Day{Capacity: map[string]int{}, Jobs: map[string]Job{}, Waits: []Wait{{"START", "0", 0, &zero}}}
	for _, v := range rows[1 : 1+n] {
		for k := range v[2] {
			d.Waits = append(d.Waits, Wait{From: strconv.Itoa(v[0]), To: strconv.Itoa(v[3+k]), Least: v[3+v[2]+k]})
		}
	}
	for _, v := range rows[1+n : 1+2*n] {
		j := Job{v[2], map[string]int{}}
		for k, x := range v[3:] {
			j.Holds["R"+strconv.Itoa(k+1)] = x
		}
		d.Jobs[strconv.Itoa(v[0])] = j
	}
	if len(rows) > 2*n+1 {
		for k, c := range rows[2*n+1] {
			d.Capacity["R"+strconv.Itoa(k+1)] = c
		}
	}
	return d, nil
}

// Check gives the makespan of a schedule, and every rule that it breaks.
func (d *Day) Check(starts map[string]int) (makespan int, broken []string) {
	say := func(format string, args ...any) { broken = append(broken, fmt.Sprintf(format, args...)) }
	if len(starts) != len(d.Jobs) {
		say("%d starts for %d tasks", len(starts), len(d.Jobs))
	}
	var ids []string
	for id, j := range d.Jobs {
		ids = append(ids, id)
		at, ok := starts[id]
		switch {
		case !ok:
			say("%s has no start", id)
		case at < 0:
			say("%s starts at %d", id, at)
		}
		makespan = max(makespan, at+j.Minutes)
	}
	sort.Strings(ids)
	for _, w := range d.Waits {
		from := 0
		if w.From != "START" {
			from = starts[w.From]
		}
		got := starts[w.To] - from
		if got < w.Least || w.Most != nil && got > *w.Most {
			say("%s to %s: %d min", w.From, w.To, got)
		}
	}
	for minute := 0; minute < makespan; minute++ {
		held := map[string]int{}
		for _, id := range ids {
			if at := starts[id]; at <= minute && minute < at+d.Jobs[id].Minutes {
				for r, n := range d.Jobs[id].Holds {
					held[r] += n
				}
			}
		}
		for r, n := range held {
			if n > d.Capacity[r] {
				say("minute %d: %d of %s, and there are %d", minute, n, r, d.Capacity[r])
			}
		}
	}
	return makespan, broken
}

// Possible tries all schedules that end by the horizon, for tests on days of a
// few minutes. It returns the shortest makespan, or false if there is no
// schedule.
func (d *Day) Possible(horizon int) (makespan int, ok bool) {
	var ids []string
	for id := range d.Jobs {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	starts := map[string]int{}
	best := horizon + 1
	var place func(k int)
	place = func(k int) {
		if k == len(ids) {
			if m, broken := d.Check(starts); len(broken) == 0 {
				best = min(best, m)
			}
			return
		}
		for at := 0; at+d.Jobs[ids[k]].Minutes < best; at++ {
			starts[ids[k]] = at
			if d.early(starts) {
				place(k + 1)
			}
		}
		delete(starts, ids[k])
	}
	place(0)
	return best, best <= horizon
}

// early reports whether no wait between tasks that have a start is broken yet.
func (d *Day) early(starts map[string]int) bool {
	for _, w := range d.Waits {
		from, ok := starts[w.From]
		if w.From == "START" {
			from, ok = 0, true
		}
		to, ok2 := starts[w.To]
		if ok && ok2 && (to-from < w.Least || w.Most != nil && to-from > *w.Most) {
			return false
		}
	}
	return true
}
