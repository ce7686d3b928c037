package cli

import (
	"fmt"

	"barwright/benchday"
	"barwright/internal/words"
)

// lagWords says a wait as a person would.
func lagWords(in *benchday.Instance, l benchday.Lag) string {
	to, from := in.TaskID(l.To), in.TaskID(l.From)
	lo, hi := l.Min, l.Max
	if l.From < 0 {
		switch {
		case l.HasMax && lo == hi:
			return fmt.Sprintf("%s must start at minute %d", to, lo)
		case l.HasMax && lo <= 0:
			return fmt.Sprintf("%s must start by minute %d", to, hi)
		case l.HasMax:
			return fmt.Sprintf("%s must start from minute %d to minute %d", to, lo, hi)
		}
		return fmt.Sprintf("%s must not start before minute %d", to, lo)
	}
	after, before := "after "+from, "before "+from
	switch {
	case l.HasMax && lo == hi && lo == 0:
		return fmt.Sprintf("%s must start together with %s", to, from)
	case l.HasMax && lo == hi && lo > 0:
		return fmt.Sprintf("%s must start exactly %d min %s", to, lo, after)
	case l.HasMax && lo == hi:
		return fmt.Sprintf("%s must start exactly %d min %s", to, -lo, before)
	case l.HasMax && lo >= 0:
		return fmt.Sprintf("%s must wait at least %d min %s and at most %d", to, lo, after, hi)
	case l.HasMax && hi >= 0:
		return fmt.Sprintf("%s may start at most %d min %s, and at most %d after it", to, -lo, before, hi)
	case l.HasMax:
		return fmt.Sprintf("%s must start at least %d min %s and at most %d", to, -hi, before, -lo)
	case lo >= 0:
		return fmt.Sprintf("%s must wait at least %d min %s", to, lo, after)
	}
	return fmt.Sprintf("%s may start at most %d min %s", to, -lo, before)
}

// groupWords says why tasks cannot share what there is, in the words that begin a
// sentence.
func groupWords(in *benchday.Instance, g benchday.Group) string {
	r := in.Resources[g.Resource]
	there := fmt.Sprintf("there are %d", r.Capacity)
	switch r.Capacity {
	case 0:
		there = "there is none"
	case 1:
		there = "there is 1"
	}
	if len(g.Tasks) == 1 {
		t := in.Tasks[g.Tasks[0]]
		return fmt.Sprintf("%s needs %d of %s, and %s", t.ID, t.Needs[g.Resource], r.ID, there)
	}
	var ids []string
	for _, i := range g.Tasks {
		id := in.Tasks[i].ID
		if n := in.Tasks[i].Needs[g.Resource]; n > 1 {
			id += fmt.Sprintf(" (%d of it for %d min)", n, in.Tasks[i].Duration)
		} else {
			id += fmt.Sprintf(" (%d min)", in.Tasks[i].Duration)
		}
		ids = append(ids, id)
	}
	return fmt.Sprintf("Of %s %s, and %s share it", r.ID, there, words.List(ids))
}
