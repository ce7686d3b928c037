package benchday

import (
	"slices"
	"strconv"
	"strings"

	"barwright/internal/filescan"
)

// numbersAt reads a line of whole numbers, at least so many, each within the
// limits of minutes.
func (r *research) numbersAt(line int, words []string, least int, what string) ([]int, bool) {
	v, err := numbers(words)
	if err != nil {
		r.bad(line, "%q is not %s: whole numbers stand there", filescan.Short(strings.Join(words, " ")), what)
		return nil, false
	}
	if len(v) < least {
		r.bad(line, "%d numbers stand here, and %s has at least %d", len(v), what, least)
		return nil, false
	}
	for _, x := range v {
		if x < -MaxMinutes || x > MaxMinutes {
			r.bad(line, "%d cannot be used: numbers here are from %d to %d", x, -MaxMinutes, MaxMinutes)
			return nil, false
		}
	}
	return v, true
}

// ReadSM reads a file of PSPLIB with one mode (Kolisch and Sprecher 1997): a job
// starts when those before it have ended, a lag of the duration from start to
// start. The ids are the numbers of the jobs, both dummies included. Where jobs
// need more than there is, the day is sound and infeasible.
//
// Errors: as Read.
func ReadSM(name string, data []byte) (*Instance, error) {
	return readResearch(name, data, "a file of PSPLIB", "jobs, precedence relations, requests and availabilities", 1, (*research).sm)
}

// readResearch reads a file of lines of numbers, whose first job has the number base.
func readResearch(name string, data []byte, what, least string, base int, read func(*research)) (*Instance, error) {
	r, ok := filescan.Plain(name, data, filescan.Rules{What: what, Least: least, MaxBytes: MaxFileBytes})
	if ok {
		x := &research{Reader: r, in: &Instance{}, lines: strings.Split(strings.TrimPrefix(string(data), "\ufeff"), "\n"), base: base}
		read(x)
		if n := len(x.in.Lags); n > MaxLags {
			x.bad(0, "there are %d lags, and a day has at most %d", n, MaxLags)
		}
		if r.OK() {
			return x.in, nil
		}
	}
	return nil, r.Err()
}

// research is a file of the literature that is being read.
type research struct {
	*filescan.Reader
	in       *Instance
	lines    []string
	base     int   // the number of the first job
	seen     []int // line of the successors of each job
	seenTask []int // line of the needs of each job
}

// bad notes what is wrong with a line; 0 is the whole file.
func (r *research) bad(line int, format string, args ...any) {
	r.Wrong(line, "", format, args...)
}

// makeTasks makes so many tasks.
func (r *research) makeTasks(jobs int) {
	r.seen, r.seenTask = make([]int, jobs), make([]int, jobs)
	r.in.Tasks = make([]Task, jobs)
	for j := range r.in.Tasks {
		r.in.Tasks[j].ID = strconv.Itoa(r.base + j)
	}
}

func (r *research) makeResources(line, n int) bool {
	if n < 0 || n > MaxResources {
		r.bad(line, "%d resources cannot be used: there are from 0 to %d", n, MaxResources)
		return false
	}
	for k := range n {
		r.in.Resources = append(r.in.Resources, Resource{ID: "R" + strconv.Itoa(k+1)})
	}
	return true
}

// The parts of a file of PSPLIB begin with a line in capitals.
var smParts = []string{"PRECEDENCE RELATIONS", "REQUESTS/DURATIONS", "RESOURCEAVAILABILITIES", "PROJECT INFORMATION"}

func (r *research) sm() {
	part, capacities := "", 0
	for i, line := range r.lines {
		at := i + 1
		words := strings.Fields(line)
		if len(words) == 0 || strings.HasPrefix(words[0], "***") || strings.HasPrefix(words[0], "---") {
			continue
		}
		key, val, colon := strings.Cut(line, ":")
		head := strings.ToUpper(strings.TrimSpace(key))
		if k := slices.IndexFunc(smParts, func(s string) bool { return strings.HasPrefix(head, s) }); k >= 0 {
			part = smParts[k]
			if part != "PROJECT INFORMATION" && len(r.in.Tasks) == 0 {
				r.bad(at, "the number of jobs should stand above: write jobs (incl. supersource/sink ): 32")
				return
			}
			continue
		}
		switch {
		case part == "" && colon:
			if !r.smCount(at, head, val) {
				return
			}
		case part == "", part == "PROJECT INFORMATION":
			// who drew the instance, and when
		case strings.HasPrefix(words[0], "jobnr"), part == "RESOURCEAVAILABILITIES" && strings.HasPrefix(words[0], "R"):
			// the heads of the columns
		case part == "PRECEDENCE RELATIONS":
			r.smFollow(at, words)
		case part == "REQUESTS/DURATIONS":
			if v, ok := r.numbersAt(at, words, 3+len(r.in.Resources), "a line of job, mode, duration and needs"); ok {
				r.task(at, v)
			}
		case capacities > 0:
			r.bad(at, "a second line of capacities: line %d has them", capacities)
		default:
			if v, ok := r.numbersAt(at, words, len(r.in.Resources), "the line of capacities"); ok {
				capacities = at
				r.capacities(at, v)
			}
		}
	}
	if r.OK() {
		r.smWhole(capacities > 0)
	}
}

// smCount reads how many jobs or resources there are. It is false when nothing
// that follows can be read.
func (r *research) smCount(at int, head, val string) bool {
	words := strings.Fields(val)
	switch kind := strings.TrimLeft(head, "- "); {
	case strings.HasPrefix(head, "JOBS"):
		v, ok := r.numbersAt(at, words, 1, "the number of jobs")
		if ok && (v[0] < 1 || v[0] > MaxTasks) {
			r.bad(at, "%d jobs cannot be used: a day has from 1 to %d", v[0], MaxTasks)
			ok = false
		}
		if ok {
			r.makeTasks(v[0])
		}
		return ok
	case strings.HasPrefix(kind, "RENEWABLE"):
		v, ok := r.numbersAt(at, words[:min(1, len(words))], 1, "the number of resources")
		return ok && r.makeResources(at, v[0])
	case strings.HasPrefix(kind, "NONRENEWABLE"), strings.HasPrefix(kind, "DOUBLY"):
		if v, ok := r.numbersAt(at, words[:min(1, len(words))], 1, "the number of resources"); ok && v[0] != 0 {
			r.bad(at, "resources that are used up are not read: only renewable ones are shared through a day")
		}
	}
	return true
}

// smFollow reads job, modes, count, successors.
func (r *research) smFollow(at int, words []string) {
	j, v, ok := r.follow(at, words)
	if !ok {
		return
	}
	if len(v)-3 != v[2] {
		r.bad(at, "job %d names %d successors, and %d are counted", v[0], len(v)-3, v[2])
		return
	}
	for _, s := range v[3:] {
		r.lag(at, j, s, 0)
	}
}

// follow reads the beginning of a line of job, modes, count, successors, and gives
// the index of the job with all numbers of the line.
func (r *research) follow(line int, words []string) (j int, v []int, ok bool) {
	v, ok = r.numbersAt(line, words, 3, "a line of job, modes, successors")
	if !ok {
		return 0, nil, false
	}
	if j, ok = r.job(line, v[0], r.seen); ok {
		r.oneMode(line, v[0], v[1], "modes")
	}
	return j, v, ok
}

// lag has a job of that number follow job j.
func (r *research) lag(line, j, number, least int) {
	last := len(r.in.Tasks) - 1
	to := number - r.base
	if to < 0 || to > last || to == j {
		r.bad(line, "job %d cannot be followed by job %d: the others are from %d to %d", r.base+j, number, r.base, r.base+last)
		return
	}
	r.in.Lags = append(r.in.Lags, Lag{From: j, To: to, Min: least})
}

// smWhole says what is missing, and makes the lags of what is there.
func (r *research) smWhole(capacities bool) {
	if len(r.in.Tasks) == 0 {
		r.bad(0, "this is no file of PSPLIB: the number of jobs is missing, as jobs (incl. supersource/sink ): 32")
		return
	}
	for j := range r.in.Tasks {
		if r.seen[j] == 0 {
			r.bad(0, "job %d is missing from the precedence relations", j+1)
		}
		if r.seenTask[j] == 0 {
			r.bad(0, "job %d is missing from the requests and durations", j+1)
		}
	}
	if !capacities && len(r.in.Resources) > 0 {
		r.bad(0, "the capacities are missing: they stand below RESOURCEAVAILABILITIES")
	}
	slices.SortStableFunc(r.in.Lags, func(a, b Lag) int { return a.From - b.From })
	for k := range r.in.Lags {
		r.in.Lags[k].Min = r.in.Tasks[r.in.Lags[k].From].Duration
	}
}

// job gives the index of a job that stands on its own line, once.
func (r *research) job(line, number int, seen []int) (int, bool) {
	j := number - r.base
	switch {
	case j < 0 || j >= len(seen):
		r.bad(line, "there is no job %d: they are from %d to %d", number, r.base, r.base+len(seen)-1)
		return 0, false
	case seen[j] > 0:
		r.bad(line, "job %d stands in line %d already", number, seen[j])
		return 0, false
	}
	seen[j] = line
	return j, true
}

func (r *research) oneMode(line, job, mode int, what string) {
	if mode != 1 {
		r.bad(line, "job %d has %s %d: only files with one mode are read", job, what, mode)
	}
}

// task reads job, mode, duration, needs.
func (r *research) task(line int, v []int) {
	in := r.in
	j, ok := r.job(line, v[0], r.seenTask)
	if !ok {
		return
	}
	r.oneMode(line, v[0], v[1], "mode")
	if len(v) != 3+len(in.Resources) {
		r.bad(line, "job %d has %d needs, and there are %d resources", v[0], len(v)-3, len(in.Resources))
		return
	}
	for _, x := range v[2:] {
		if x < 0 {
			r.bad(line, "job %d: %d cannot be used: durations and needs are 0 or more", v[0], x)
			return
		}
	}
	in.Tasks[j].Duration = v[2]
	in.Tasks[j].Needs = v[3:]
}

func (r *research) capacities(line int, v []int) {
	in := r.in
	if len(v) != len(in.Resources) {
		r.bad(line, "%d capacities stand here, and there are %d resources", len(v), len(in.Resources))
		return
	}
	for k, c := range v {
		if c < 0 {
			r.bad(line, "a capacity of %d cannot be used: it is 0 or more", c)
		}
		in.Resources[k].Capacity = c
	}
}

// ReadSCH reads a file of ProGen/max with one mode (Schwindt 1998): lags from
// start to start, where one below 0 is a greatest wait the other way round. Job 0
// starts the day, at minute 0. The ids are the numbers of the jobs, both dummies
// included. The day ends with its last task, which in these files the last dummy
// never comes before. Where jobs need more than there is, the day is sound and
// infeasible.
//
// Errors: as Read.
func ReadSCH(name string, data []byte) (*Instance, error) {
	return readResearch(name, data, "a file of ProGen/max", "a line of counts, lines of successors and of needs, and capacities", 0, (*research).sch)
}

func (r *research) sch() {
	type numbered struct {
		line  int
		words []string
	}
	var rows []numbered
	for i, line := range r.lines {
		if words := strings.Fields(line); len(words) > 0 {
			rows = append(rows, numbered{i + 1, words})
		}
	}
	first := rows[0].line
	v, ok := r.numbersAt(first, rows[0].words, 2, "the line of counts: jobs, resources, 0, 0")
	if !ok {
		return
	}
	jobs := v[0] + 2
	if v[0] < 0 || jobs > MaxTasks {
		r.bad(first, "%d jobs cannot be used: a day has from 0 to %d beside the dummies", v[0], MaxTasks-2)
		return
	}
	if !r.makeResources(first, v[1]) {
		return
	}
	if slices.ContainsFunc(v[2:], func(x int) bool { return x != 0 }) {
		r.bad(first, "resources that are used up are not read: only renewable ones are shared through a day")
		return
	}
	want := 1 + 2*jobs + min(1, len(r.in.Resources))
	if len(rows) != want {
		r.bad(0, "%d lines are filled, and %d jobs with both dummies have %d: counts, a line of successors each, a line of needs each, capacities",
			len(rows), jobs, want)
		return
	}
	r.makeTasks(jobs)
	r.in.Lags = append(r.in.Lags, Lag{From: -1, To: 0, HasMax: true})
	for _, row := range rows[1 : 1+jobs] {
		r.schFollow(row.line, row.words)
	}
	for _, row := range rows[1+jobs : 1+2*jobs] {
		if v, ok := r.numbersAt(row.line, row.words, 3, "a line of job, mode, duration and needs"); ok {
			r.task(row.line, v)
		}
	}
	for _, row := range rows[1+2*jobs:] {
		if v, ok := r.numbersAt(row.line, row.words, 1, "the line of capacities"); ok {
			r.capacities(row.line, v)
		}
	}
}

// schFollow reads job, modes, count, successors, [lags].
func (r *research) schFollow(line int, words []string) {
	var plain, lags []string
	for _, w := range words {
		if inner, ok := strings.CutPrefix(w, "["); ok {
			inner, ok = strings.CutSuffix(inner, "]")
			if !ok {
				r.bad(line, "%q is not closed: a lag stands in square brackets, such as [5]", filescan.Short(w))
				return
			}
			lags = append(lags, inner)
		} else if len(lags) > 0 {
			r.bad(line, "%q stands among the lags: they come last, in square brackets, such as [5]", filescan.Short(w))
			return
		} else {
			plain = append(plain, w)
		}
	}
	j, v, ok := r.follow(line, plain)
	if !ok {
		return
	}
	d, ok := r.numbersAt(line, lags, 0, "a lag")
	if !ok {
		return
	}
	if v[2] != len(v)-3 || v[2] != len(d) {
		r.bad(line, "job %d counts %d successors, names %d and gives %d lags", v[0], v[2], len(v)-3, len(d))
		return
	}
	for k, s := range v[3:] {
		r.lag(line, j, s, d[k])
	}
}
