package benchday

import (
	"bytes"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/tomlscan"
	"barwright/internal/words"
)

// Start is the id of the start of the day, minute 0, in the lags of a file.
const Start = "START"

const dayHolds = `a day has at least "format": "bench-day/1", resources and tasks`

// Read reads a day from any of the forms that are taken: JSON of bench-day/1,
// PSPLIB's .sm and ProGen/max's .sch. The end of the name says which; where it
// says nothing, what stands in the file does. name is as the user gave it, and
// stands in the faults.
//
// Errors: fault.Invalid, with the line; every fault of a file at once, the first
// eight of them.
func Read(name string, data []byte) (*Instance, error) {
	lower := strings.ToLower(name)
	switch {
	case strings.HasSuffix(lower, ".json"):
		return ReadJSON(name, data)
	case strings.HasSuffix(lower, ".sm"):
		return ReadSM(name, data)
	case strings.HasSuffix(lower, ".sch"):
		return ReadSCH(name, data)
	}
	body := bytes.TrimSpace(bytes.TrimPrefix(data[:min(len(data), 1<<16)], []byte("\ufeff")))
	switch {
	case len(data) > MaxFileBytes, len(body) == 0, body[0] == '{', body[0] == '[':
		return ReadJSON(name, data)
	case bytes.HasPrefix(body, []byte("***")), bytes.Contains(body, []byte("PRECEDENCE RELATIONS")):
		return ReadSM(name, data)
	}
	first, _, _ := bytes.Cut(body, []byte("\n"))
	if _, err := numbers(strings.Fields(string(first))); err == nil {
		return ReadSCH(name, data)
	}
	e := fault.Invalidf("", "this is none of the forms that are read: JSON of bench-day/1, PSPLIB's .sm or ProGen/max's .sch")
	e.File = name
	return nil, e
}

// ReadJSON reads a day of bench-day/1. Strict: an unknown key, a lag to nothing, a
// fraction of a minute is a fault. A need above the capacity is none: such a day
// is sound, and infeasible. Resources and tasks keep the order of the file.
//
// Errors: as Read.
func ReadJSON(name string, data []byte) (*Instance, error) {
	r := &reader{file: name, data: data}
	root, ok := r.tree(dayHolds)
	if !ok {
		return nil, r.err()
	}
	in := r.day(root)
	if err := r.err(); err != nil {
		return nil, err
	}
	return in, nil
}

func (r *reader) day(root *jsonNode) *Instance {
	in := &Instance{}
	r.known(root, "", "format", "name", "unit", "resources", "tasks", "lags", "objective", "note")
	if f := root.get("format"); f == nil {
		r.bad(-1, "format", `missing: write "format": %q`, Format)
	} else if f.kind != 's' || f.text != Format {
		r.bad(f.at, "format", "%s will not do: write %q", f.is(), Format)
		return nil // what follows would be measured by the wrong rule
	}
	if n := root.get("name"); n != nil {
		in.Name, _ = r.word(n, "name", "the day's name")
	}
	if n := root.get("unit"); n != nil && n.text != "minute" {
		r.bad(n.at, "unit", `%s will not do: times are in whole minutes, "unit": "minute"`, n.is())
	}
	if n := root.get("objective"); n != nil && n.text != "makespan" {
		r.bad(n.at, "objective", `%s will not do: the day is made short, "objective": "makespan"`, n.is())
	}
	if n := root.get("note"); n != nil && n.kind != 's' {
		r.bad(n.at, "note", "%s will not do: a note is text in quotes", n.is())
	}
	byResource := r.resources(root.get("resources"), in)
	byTask := r.tasks(root.get("tasks"), in, byResource)
	if n := root.get("lags"); n != nil {
		r.lags(n, in, byTask)
	}
	return in
}

// resources reads their names and capacities.
func (r *reader) resources(n *jsonNode, in *Instance) map[string]int {
	by := map[string]int{}
	switch {
	case n == nil:
		r.bad(-1, "resources", `missing: write what tasks share and how many there are, as "resources": {"hands": 1}`)
		return by
	case n.kind != '{':
		r.bad(n.at, "resources", `%s will not do: write an object, as {"hands": 1, "pot": 2}`, n.is())
		return by
	case len(n.keys) > MaxResources:
		r.bad(n.at, "resources", "there are %d, and at most %d are read", len(n.keys), MaxResources)
		return by
	}
	for i, id := range n.keys {
		v := &n.items[i]
		field := keyPath("resources", id)
		if _, twice := by[id]; twice {
			r.bad(v.at, field, "this resource stands twice: leave one of the two out")
			continue
		}
		if _, ok := r.word(&jsonNode{kind: 's', at: v.at, text: id}, "resources", "the resource's name"); !ok {
			continue
		}
		c, _ := r.whole(v, field, "a capacity", 0, MaxUnits)
		by[id] = len(in.Resources)
		in.Resources = append(in.Resources, Resource{ID: id, Capacity: c})
	}
	return by
}

func (r *reader) tasks(n *jsonNode, in *Instance, resources map[string]int) map[string]int {
	by := map[string]int{}
	switch {
	case n == nil:
		r.bad(-1, "tasks", `missing: write the tasks, as "tasks": [{"id": "weigh", "duration": 15, "needs": {"hands": 1}}]`)
		return by
	case n.kind != '[':
		r.bad(n.at, "tasks", "%s will not do: write a list in square brackets", n.is())
		return by
	case len(n.items) == 0:
		r.bad(n.at, "tasks", `the list is empty: a day has at least one task, as {"id": "weigh", "duration": 15, "needs": {"hands": 1}}`)
		return by
	case len(n.items) > MaxTasks:
		r.bad(n.at, "tasks", "there are %d, and a day has at most %d", len(n.items), MaxTasks)
		return by
	}
	var names []string
	for _, res := range in.Resources {
		names = append(names, res.ID)
	}
	for i := range n.items {
		v := &n.items[i]
		path := "tasks." + strconv.Itoa(i+1)
		if v.kind != '{' {
			r.bad(v.at, path, `%s will not do: a task is an object, as {"id": "weigh", "duration": 15}`, v.is())
			continue
		}
		r.known(v, path, "id", "duration", "needs")
		t := Task{Needs: make([]int, len(in.Resources))}
		if id := v.get("id"); id == nil {
			r.bad(v.at, path+".id", `missing: write the task's name, as "id": "weigh"`)
		} else if s, ok := r.word(id, path+".id", "the task's name"); ok {
			if first, twice := by[s]; twice {
				r.bad(id.at, path+".id", "%q is the name of task %d already: give each task a name of its own", s, first+1)
			} else if s == Start {
				r.bad(id.at, path+".id", "%s is the start of the day itself: give the task another name", Start)
			} else {
				by[s] = len(in.Tasks)
			}
			t.ID = s
		}
		if d := v.get("duration"); d == nil {
			r.bad(v.at, path+".duration", `missing: write its minutes, as "duration": 15`)
		} else {
			t.Duration, _ = r.whole(d, path+".duration", "a duration in minutes", 0, MaxMinutes)
		}
		if needs := v.get("needs"); needs != nil && needs.kind != '{' {
			r.bad(needs.at, path+".needs", `%s will not do: write an object, as {"hands": 1}`, needs.is())
		} else if needs != nil {
			seen := map[string]bool{}
			for k, id := range needs.keys {
				field := keyPath(path+".needs", id)
				at, ok := resources[id]
				switch {
				case seen[id]:
					r.bad(needs.items[k].at, field, "this need stands twice: leave one of the two out")
				case !ok:
					r.bad(needs.items[k].at, field, "there is no such resource%s", orList(words.Meant(id, names), names))
				default:
					t.Needs[at], _ = r.whole(&needs.items[k], field, "a need", 0, MaxUnits)
				}
				seen[id] = true
			}
		}
		in.Tasks = append(in.Tasks, t)
	}
	return by
}

func (r *reader) lags(n *jsonNode, in *Instance, tasks map[string]int) {
	if n.kind != '[' {
		r.bad(n.at, "lags", "%s will not do: write a list in square brackets", n.is())
		return
	}
	if len(n.items) > MaxLags {
		r.bad(n.at, "lags", "there are %d, and a day has at most %d", len(n.items), MaxLags)
		return
	}
	var ids []string
	for _, t := range in.Tasks {
		ids = append(ids, t.ID)
	}
	for i := range n.items {
		v := &n.items[i]
		path := "lags." + strconv.Itoa(i+1)
		if v.kind != '{' {
			r.bad(v.at, path, `%s will not do: a lag is an object, as {"from": "weigh", "to": "melt", "min": 15}`, v.is())
			continue
		}
		r.known(v, path, "from", "to", "min", "max")
		end := func(key string) (int, bool) {
			f := v.get(key)
			field := path + "." + key
			if f == nil {
				r.bad(v.at, field, "missing: write the task's id")
				return 0, false
			}
			s, ok := r.word(f, field, "the task's id")
			if !ok {
				return 0, false
			}
			if s == Start && key == "from" {
				return -1, true
			}
			if s == Start {
				r.bad(f.at, field, `nothing waits for the start of the day: write "from": %q with a max for a task that must start early`, Start)
				return 0, false
			}
			t, ok := tasks[s]
			if !ok {
				r.bad(f.at, field, "there is no task %q%s", tomlscan.Short(s), words.Meant(s, ids))
			}
			return t, ok
		}
		from, ok1 := end("from")
		to, ok2 := end("to")
		l := Lag{From: from, To: to}
		ok := ok1 && ok2
		if ok && from == to {
			r.bad(v.at, path, "a wait leads from one task to another, and not from %q to itself", tomlscan.Short(in.Tasks[to].ID))
			ok = false
		}
		lo, hi := v.get("min"), v.get("max")
		switch {
		case lo == nil && hi == nil:
			r.bad(v.at, path+".min", `missing: write the least minutes from start to start, as "min": 15`)
			ok = false
		case lo == nil:
			// A greatest wait alone leaves the order open.
			r.bad(v.at, path+".min", `missing: write the least minutes from start to start, as "min": 0; below 0 lets %q start first`, tomlscan.Short(nodeText(v.get("to"))))
			ok = false
		default:
			var good bool
			if l.Min, good = r.whole(lo, path+".min", "a wait in minutes", -MaxMinutes, MaxMinutes); !good {
				ok = false
			}
		}
		if hi != nil {
			var good bool
			l.HasMax = true
			if l.Max, good = r.whole(hi, path+".max", "a wait in minutes", -MaxMinutes, MaxMinutes); !good {
				ok = false
			} else if ok && l.Max < l.Min {
				r.bad(hi.at, path+".max", "the greatest wait of %d min is below the least of %d: raise max or lower min", l.Max, l.Min)
				ok = false
			}
		}
		if ok {
			in.Lags = append(in.Lags, l)
		}
	}
}

func nodeText(n *jsonNode) string {
	if n == nil {
		return ""
	}
	return n.text
}

// numbers reads words that are all whole numbers.
func numbers(words []string) ([]int, error) {
	out := make([]int, len(words))
	for i, w := range words {
		v, err := strconv.Atoi(w)
		if err != nil {
			return nil, err
		}
		out[i] = v
	}
	return out, nil
}
