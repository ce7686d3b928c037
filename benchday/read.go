package benchday

import (
	"bytes"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/filescan"
)

// MaxFileBytes is the largest file that is read: 64 MiB.
const MaxFileBytes = 64 << 20

// Limits of what is read: beyond them a file is no day's work, making ready to
// solve it would take longer than the search, and sums of minutes might leave 32
// bits.
const (
	MaxTasks     = 500
	MaxResources = 1000
	MaxLags      = 100_000
	MaxMinutes   = 1_000_000 // a duration or a wait, either way
	MaxUnits     = 1_000_000 // a capacity or a need

	maxValues = 700_000 // of a JSON file
	maxID     = 100
)

// Start is the id of the start of the day, minute 0, in the lags of a file.
const Start = "START"

// dayRules are the keys of a file of a day. Resources and needs have the maker's
// own.
var dayRules = filescan.Rules{
	What: "a day", Least: `"format": "bench-day/1", "resources" and "tasks"`,
	MaxBytes: MaxFileBytes, MaxValues: maxValues,
	Places: []filescan.Place{
		{Keys: []string{"format", "name", "unit", "resources", "objective", "note"}},
		{Name: "tasks", List: true, Keys: []string{"id", "duration", "needs"}},
		{Name: "lags", List: true, Keys: []string{"from", "to", "min", "max"}},
	},
}

// Read reads a day from any of the forms that are taken: JSON of bench-day/1,
// PSPLIB's .sm and ProGen/max's .sch. The end of the name says which; where it
// says nothing, what the file holds does. name is as the user gave it, and
// appears in the faults.
//
// Errors: fault.Invalid, with the line; all that is wrong with a file at once, up
// to twenty faults.
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
	e := fault.Invalidf("", "This is none of the forms that are read: JSON of bench-day/1, PSPLIB's .sm or ProGen/max's .sch.")
	e.File = name
	return nil, e
}

// ReadJSON reads a day of bench-day/1. An unknown key, a lag to a task that does
// not exist and a fraction of a minute are faults. A need above the capacity is
// none: such a day is sound, and infeasible. Resources and tasks keep the order of
// the file.
//
// Errors: as Read.
func ReadJSON(name string, data []byte) (*Instance, error) {
	r, ok := filescan.JSON(name, data, dayRules)
	if !ok {
		return nil, r.Err()
	}
	in := &Instance{}
	top := r.Top()
	top.Choice("format", []string{Format}, func(int) {}, `"`+Format+`"`)
	if top.Bad("format") && top.Has("format") {
		return nil, r.Err() // what follows would be measured by the wrong rule
	}
	in.Name = top.Name("name", maxID)
	top.Choice("unit", []string{"minute"}, func(int) {})
	top.Choice("objective", []string{"makespan"}, func(int) {})
	top.Text("note")
	resources := readResources(top, in)
	tasks := readTasks(top, in, resources)
	for _, t := range top.Tables("lags", MaxLags) {
		if l, ok := readLag(t, tasks); ok {
			in.Lags = append(in.Lags, l)
		}
	}
	if err := r.Err(); err != nil {
		return nil, err
	}
	return in, nil
}

// readResources reads their names and capacities.
func readResources(top *filescan.Table, in *Instance) *filescan.Names {
	names := &filescan.Names{What: "resource", Whats: "resources"}
	t := top.Table("resources", "what the tasks share and how many there are", `{"hands": 1}`)
	if t.Len() > MaxResources {
		top.Wrong("resources", "there are %d, and at most %d are read", t.Len(), MaxResources)
	}
	if names.Lost = top.Bad("resources"); names.Lost {
		return names
	}
	for _, id := range t.Names(maxID) {
		capacity, _ := t.Whole(id, 0, MaxUnits)
		names.Add(t, id, id)
		in.Resources = append(in.Resources, Resource{ID: id, Capacity: capacity})
	}
	return names
}

func readTasks(top *filescan.Table, in *Instance, resources *filescan.Names) *filescan.Names {
	names := &filescan.Names{What: "task", Whats: "tasks"}
	const example = `[{"id": "weigh", "duration": 15, "needs": {"hands": 1}}]`
	list := top.Tables("tasks", MaxTasks, "the tasks", example)
	if top.Empty("tasks") {
		top.Wrong("tasks", "the list is empty, and a day has at least one task: write it, such as %s", example)
	}
	for _, t := range list {
		k := Task{ID: t.Name("id", maxID, "the task's name", `"weigh"`), Needs: make([]int, len(in.Resources))}
		if k.ID == Start {
			t.Wrong("id", "%s is the start of the day itself: give the task another name", Start)
		}
		names.Add(t, "id", k.ID)
		k.Duration, _ = t.Whole("duration", 0, MaxMinutes, "its minutes", "15")
		needs := t.Table("needs")
		for id := range needs.Keys() {
			if at, ok := resources.Find(needs, id, id); ok {
				k.Needs[at], _ = needs.Whole(id, 0, MaxUnits)
			}
		}
		in.Tasks = append(in.Tasks, k)
	}
	names.Lost = names.Lost || top.Bad("tasks")
	return names
}

func readLag(t *filescan.Table, tasks *filescan.Names) (l Lag, ok bool) {
	end := func(key string) (int, bool) {
		id := t.Name(key, maxID, "the task's id", `"weigh"`)
		switch {
		case id == "":
			return 0, false
		case id != Start:
			return tasks.Find(t, key, id)
		case key == "from":
			return -1, true
		}
		t.Wrong(key, `nothing waits for the start of the day: write "from": %q with a max for a task that must start early`, Start)
		return 0, false
	}
	var fromOK, toOK, minOK, maxOK bool
	l.From, fromOK = end("from")
	l.To, toOK = end("to")
	if fromOK && toOK && l.From == l.To {
		t.Wrong("", "a wait leads from one task to another, and not from %q to itself", filescan.Short(t.Peek("to")))
		return l, false
	}
	// Without a least wait it is open which of the two starts first.
	l.Min, minOK = t.Whole("min", -MaxMinutes, MaxMinutes,
		`the least minutes from start to start (below 0, the task under "to" may start first)`, "15")
	l.HasMax = t.Has("max")
	l.Max, maxOK = t.Whole("max", -MaxMinutes, MaxMinutes)
	if minOK && maxOK && l.Max < l.Min {
		t.Wrong("max", "the greatest wait of %d min is below the least of %d: raise %s or lower %s", l.Max, l.Min, fault.Key("max"), fault.Key("min"))
		return l, false
	}
	return l, fromOK && toOK && minOK
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
