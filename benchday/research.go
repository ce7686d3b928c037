package benchday

import (
	"strconv"
	"strings"

	"barwright/internal/tomlscan"
)

// lines gives the file line by line, without its ends of lines.
func (r *reader) lines() []string {
	all := strings.Split(string(r.data), "\n")
	for i := range all {
		all[i] = strings.TrimRight(all[i], "\r")
	}
	return all
}

// numbersAt reads a line of whole numbers, at least so many, each within the
// limits of minutes.
func (r *reader) numbersAt(line int, words []string, least int, what string) ([]int, bool) {
	v, err := numbers(words)
	if err != nil {
		r.badLine(line, "", "%q is not %s: whole numbers stand there", tomlscan.Short(strings.Join(words, " ")), what)
		return nil, false
	}
	if len(v) < least {
		r.badLine(line, "", "%d numbers stand here, and %s has at least %d", len(v), what, least)
		return nil, false
	}
	for _, x := range v {
		if x < -MaxMinutes || x > MaxMinutes {
			r.badLine(line, "", "%d will not do: numbers here are from %d to %d", x, -MaxMinutes, MaxMinutes)
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
	r := &reader{file: name, data: data}
	if !r.text("a file of PSPLIB has jobs, precedence relations, requests and availabilities") {
		return nil, r.err()
	}
	in := r.sm()
	if err := r.err(); err != nil {
		return nil, err
	}
	return in, nil
}

func (r *reader) sm() *Instance {
	in := &Instance{}
	jobs, resources := 0, 0
	section := ""
	var after [][]int
	var seenAfter, seenTask []int // line on which a job was read
	capacities := 0
	for i, line := range r.lines() {
		at := i + 1
		words := strings.Fields(line)
		if len(words) == 0 || strings.HasPrefix(words[0], "***") || strings.HasPrefix(words[0], "---") {
			continue
		}
		key, val, colon := strings.Cut(line, ":")
		switch head := strings.ToUpper(strings.TrimSpace(key)); {
		case strings.HasPrefix(head, "PRECEDENCE RELATIONS"), strings.HasPrefix(head, "REQUESTS/DURATIONS"), strings.HasPrefix(head, "RESOURCEAVAILABILITIES"),
			strings.HasPrefix(head, "PROJECT INFORMATION"):
			section = strings.Fields(head)[0]
			if section != "PROJECT" && jobs == 0 {
				r.badLine(at, "", "the number of jobs should stand above: write jobs (incl. supersource/sink ): 32")
				return in
			}
			continue
		case section == "" && colon && strings.HasPrefix(head, "JOBS"):
			v, ok := r.numbersAt(at, strings.Fields(val), 1, "the number of jobs")
			if !ok {
				return in
			}
			if jobs = v[0]; jobs < 1 || jobs > MaxTasks {
				r.badLine(at, "", "%d jobs will not do: a day has from 1 to %d", jobs, MaxTasks)
				return in
			}
			after, seenAfter, seenTask = make([][]int, jobs), make([]int, jobs), make([]int, jobs)
			in.Tasks = make([]Task, jobs)
			for j := range in.Tasks {
				in.Tasks[j].ID = strconv.Itoa(j + 1)
			}
			continue
		case section == "" && colon && strings.HasPrefix(strings.TrimLeft(head, "- "), "RENEWABLE"):
			v, ok := r.numbersAt(at, firstWord(val), 1, "the number of resources")
			if !ok {
				return in
			}
			if resources = v[0]; resources < 0 || resources > MaxResources {
				r.badLine(at, "", "%d resources will not do: there are from 0 to %d", resources, MaxResources)
				return in
			}
			for k := range resources {
				in.Resources = append(in.Resources, Resource{ID: "R" + strconv.Itoa(k+1)})
			}
			continue
		case section == "" && colon && (strings.HasPrefix(strings.TrimLeft(head, "- "), "NONRENEWABLE") || strings.HasPrefix(strings.TrimLeft(head, "- "), "DOUBLY")):
			if v, ok := r.numbersAt(at, firstWord(val), 1, "the number of resources"); ok && v[0] != 0 {
				r.badLine(at, "", "resources that are used up are not read: only renewable ones are shared through a day")
			}
			continue
		}
		if section == "" || section == "PROJECT" {
			continue // who drew the instance, and when
		}
		if strings.HasPrefix(words[0], "jobnr") || section == "RESOURCEAVAILABILITIES" && strings.HasPrefix(words[0], "R") {
			continue
		}
		switch section {
		case "PRECEDENCE":
			v, ok := r.numbersAt(at, words, 3, "a line of job, modes, successors")
			if !ok {
				continue
			}
			j, ok := r.job(at, v[0], 1, seenAfter)
			if !ok {
				continue
			}
			r.oneMode(at, v[0], v[1], "modes")
			if len(v)-3 != v[2] {
				r.badLine(at, "", "job %d names %d successors, and %d are counted", v[0], len(v)-3, v[2])
				continue
			}
			for _, s := range v[3:] {
				if s < 1 || s > jobs || s-1 == j {
					r.badLine(at, "", "job %d cannot be followed by job %d: the others are from 1 to %d", v[0], s, jobs)
					continue
				}
				after[j] = append(after[j], s-1)
			}
		case "REQUESTS/DURATIONS":
			v, ok := r.numbersAt(at, words, 3+resources, "a line of job, mode, duration and needs")
			if !ok {
				continue
			}
			r.task(in, at, v, 1, seenTask)
		case "RESOURCEAVAILABILITIES":
			if v, ok := r.numbersAt(at, words, resources, "the line of capacities"); ok {
				if capacities > 0 {
					r.badLine(at, "", "a second line of capacities: line %d has them", capacities)
					continue
				}
				capacities = at
				r.capacities(in, at, v)
			}
		}
	}
	if len(r.list) > 0 {
		return in
	}
	if jobs == 0 {
		r.bad(-1, "", "this is no file of PSPLIB: the number of jobs is missing, as jobs (incl. supersource/sink ): 32")
		return in
	}
	for j := range jobs {
		if seenAfter[j] == 0 {
			r.bad(-1, "", "job %d is missing from the precedence relations", j+1)
		}
		if seenTask[j] == 0 {
			r.bad(-1, "", "job %d is missing from the requests and durations", j+1)
		}
	}
	if capacities == 0 && resources > 0 {
		r.bad(-1, "", "the capacities are missing: they stand below RESOURCEAVAILABILITIES")
	}
	for j, list := range after {
		for _, s := range list {
			in.Lags = append(in.Lags, Lag{From: j, To: s, Min: in.Tasks[j].Duration})
		}
	}
	r.tooManyLags(in)
	return in
}

func firstWord(s string) []string {
	words := strings.Fields(s)
	return words[:min(1, len(words))]
}

// job gives the index of a job that stands on its own line, once.
func (r *reader) job(line, number, base int, seen []int) (int, bool) {
	j := number - base
	switch {
	case j < 0 || j >= len(seen):
		r.badLine(line, "", "there is no job %d: they are from %d to %d", number, base, base+len(seen)-1)
		return 0, false
	case seen[j] > 0:
		r.badLine(line, "", "job %d stands in line %d already", number, seen[j])
		return 0, false
	}
	seen[j] = line
	return j, true
}

func (r *reader) oneMode(line, job, mode int, what string) {
	if mode != 1 {
		r.badLine(line, "", "job %d has %s %d: only files with one mode are read", job, what, mode)
	}
}

// task reads job, mode, duration, needs.
func (r *reader) task(in *Instance, line int, v []int, base int, seen []int) {
	j, ok := r.job(line, v[0], base, seen)
	if !ok {
		return
	}
	r.oneMode(line, v[0], v[1], "mode")
	if len(v) != 3+len(in.Resources) {
		r.badLine(line, "", "job %d has %d needs, and there are %d resources", v[0], len(v)-3, len(in.Resources))
		return
	}
	for _, x := range v[2:] {
		if x < 0 {
			r.badLine(line, "", "job %d: %d will not do: durations and needs are 0 or more", v[0], x)
			return
		}
	}
	in.Tasks[j].Duration = v[2]
	in.Tasks[j].Needs = v[3:]
}

func (r *reader) capacities(in *Instance, line int, v []int) {
	if len(v) != len(in.Resources) {
		r.badLine(line, "", "%d capacities stand here, and there are %d resources", len(v), len(in.Resources))
		return
	}
	for k, c := range v {
		if c < 0 {
			r.badLine(line, "", "a capacity of %d will not do: it is 0 or more", c)
		}
		in.Resources[k].Capacity = c
	}
}

func (r *reader) tooManyLags(in *Instance) {
	if len(in.Lags) > MaxLags {
		r.bad(-1, "", "there are %d lags, and a day has at most %d", len(in.Lags), MaxLags)
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
	r := &reader{file: name, data: data}
	if !r.text("a file of ProGen/max has a line of counts, lines of successors and of needs, and capacities") {
		return nil, r.err()
	}
	in := r.sch()
	if err := r.err(); err != nil {
		return nil, err
	}
	return in, nil
}

func (r *reader) sch() *Instance {
	in := &Instance{}
	type numbered struct {
		line  int
		words []string
	}
	var rows []numbered
	for i, line := range r.lines() {
		if words := strings.Fields(line); len(words) > 0 {
			rows = append(rows, numbered{i + 1, words})
		}
	}
	v, ok := r.numbersAt(rows[0].line, rows[0].words, 2, "the line of counts: jobs, resources, 0, 0")
	if !ok {
		return in
	}
	jobs, resources := v[0]+2, v[1]
	switch {
	case v[0] < 0 || jobs > MaxTasks:
		r.badLine(rows[0].line, "", "%d jobs will not do: a day has from 0 to %d beside the dummies", v[0], MaxTasks-2)
		return in
	case resources < 0 || resources > MaxResources:
		r.badLine(rows[0].line, "", "%d resources will not do: there are from 0 to %d", resources, MaxResources)
		return in
	}
	for _, x := range v[2:] {
		if x != 0 {
			r.badLine(rows[0].line, "", "resources that are used up are not read: only renewable ones are shared through a day")
			return in
		}
	}
	want := 1 + 2*jobs
	if resources > 0 {
		want++
	}
	if len(rows) != want {
		r.bad(-1, "", "%d lines are filled, and %d jobs with both dummies have %d: counts, a line of successors each, a line of needs each, capacities", len(rows), jobs, want)
		return in
	}
	in.Tasks = make([]Task, jobs)
	for j := range in.Tasks {
		in.Tasks[j].ID = strconv.Itoa(j)
	}
	for k := range resources {
		in.Resources = append(in.Resources, Resource{ID: "R" + strconv.Itoa(k+1)})
	}
	in.Lags = append(in.Lags, Lag{From: -1, To: 0, HasMax: true})
	seen := make([]int, jobs)
	for _, row := range rows[1 : 1+jobs] {
		r.follow(in, row.line, row.words, seen)
	}
	seen = make([]int, jobs)
	for _, row := range rows[1+jobs : 1+2*jobs] {
		if v, ok := r.numbersAt(row.line, row.words, 3, "a line of job, mode, duration and needs"); ok {
			r.task(in, row.line, v, 0, seen)
		}
	}
	if resources > 0 {
		row := rows[len(rows)-1]
		if v, ok := r.numbersAt(row.line, row.words, 1, "the line of capacities"); ok {
			r.capacities(in, row.line, v)
		}
	}
	r.tooManyLags(in)
	return in
}

// follow reads job, modes, count, successors, [lags].
func (r *reader) follow(in *Instance, line int, words []string, seen []int) {
	var plain, lags []string
	for _, w := range words {
		if inner, ok := strings.CutPrefix(w, "["); ok {
			inner, ok = strings.CutSuffix(inner, "]")
			if !ok {
				r.badLine(line, "", "%q is not closed: a lag stands in square brackets, as [5]", tomlscan.Short(w))
				return
			}
			lags = append(lags, inner)
		} else if len(lags) > 0 {
			r.badLine(line, "", "%q stands among the lags: they come last, in square brackets, as [5]", tomlscan.Short(w))
			return
		} else {
			plain = append(plain, w)
		}
	}
	v, ok := r.numbersAt(line, plain, 3, "a line of job, modes, successors")
	if !ok {
		return
	}
	j, ok := r.job(line, v[0], 0, seen)
	if !ok {
		return
	}
	r.oneMode(line, v[0], v[1], "modes")
	d, ok := r.numbersAt(line, lags, 0, "a lag")
	if !ok {
		return
	}
	if v[2] != len(v)-3 || v[2] != len(d) {
		r.badLine(line, "", "job %d counts %d successors, names %d and gives %d lags", v[0], v[2], len(v)-3, len(d))
		return
	}
	for k, s := range v[3:] {
		if s < 0 || s >= len(in.Tasks) || s == j {
			r.badLine(line, "", "job %d cannot be followed by job %d: the others are from 0 to %d", v[0], s, len(in.Tasks)-1)
			continue
		}
		in.Lags = append(in.Lags, Lag{From: j, To: s, Min: d[k]})
	}
}
