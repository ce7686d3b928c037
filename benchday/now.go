package benchday

import (
	"strconv"

	"barwright/internal/tomlscan"
	"barwright/internal/words"
)

// Now is where a day stands: what has started, what has ended, and how long what
// runs will take yet. All are by index of the task, and a task that is in none of
// the maps has not started.
type Now struct {
	Minute    int
	Started   map[int]int // minute of its start
	Finished  map[int]int // minute of its end
	Remaining map[int]int // min from Minute to its end, of tasks that run
	// Plan is the schedule in hand, by index, where the maker says it: starts to
	// move as little as can be from. nil where the file has none.
	Plan map[int]int
}

const nowHolds = `where a day stands is at least {"now": 95, "started": {"weigh": 0}}`

// ReadNow reads where the day of in stands: an object with now, started, finished,
// remaining and plan, all but now optional, all in whole minutes.
//
// Errors: as Read; tasks that in has not, times after now, an end before its
// start, minutes remaining of what does not run.
func ReadNow(name string, data []byte, in *Instance) (*Now, error) {
	r := &reader{file: name, data: data}
	root, ok := r.tree(nowHolds)
	if !ok {
		return nil, r.err()
	}
	r.known(root, "", "now", "started", "finished", "remaining", "plan", "note")
	now := &Now{}
	good := false
	if n := root.get("now"); n == nil {
		r.bad(root.at, "now", `missing: write the minute of the day that it is, as "now": 95`)
	} else {
		now.Minute, good = r.whole(n, "now", "a minute of the day", 0, MaxMinutes)
	}
	ids := map[string]int{}
	var names []string
	for i, t := range in.Tasks {
		ids[t.ID] = i
		names = append(names, t.ID)
	}
	minutes := func(key, what string, latest int) (map[int]int, map[int]*jsonNode) {
		out, at := map[int]int{}, map[int]*jsonNode{}
		n := root.get(key)
		if n == nil {
			return out, at
		}
		if n.kind != '{' {
			r.bad(n.at, key, `%s will not do: write tasks with their minutes, as {"weigh": 15}`, n.is())
			return out, at
		}
		seen := map[string]bool{}
		for k, id := range n.keys {
			field := keyPath(key, id)
			v := &n.items[k]
			i, ok := ids[id]
			switch {
			case seen[id]:
				r.bad(v.at, field, "this task stands twice: leave one of the two out")
			case !ok:
				r.bad(v.at, field, "there is no task %q%s", tomlscan.Short(id), words.Meant(id, names))
			default:
				m, ok := r.whole(v, field, what, 0, MaxMinutes)
				if ok && good && m > latest {
					r.bad(v.at, field, "minute %d is after now, %d: leave out what has not come yet, or mend now", m, now.Minute)
					ok = false
				}
				if ok {
					out[i], at[i] = m, v
				}
			}
			seen[id] = true
		}
		return out, at
	}
	var finishedAt, remainingAt map[int]*jsonNode
	now.Started, _ = minutes("started", "the minute of a start", now.Minute)
	now.Finished, finishedAt = minutes("finished", "the minute of an end", now.Minute)
	now.Remaining, remainingAt = minutes("remaining", "minutes that remain", MaxMinutes)
	if plan, _ := minutes("plan", "the minute of a planned start", MaxMinutes); root.get("plan") != nil {
		now.Plan = plan
	}
	for i, t := range in.Tasks {
		end, ended := now.Finished[i]
		start, started := now.Started[i]
		if ended && started && end < start {
			r.bad(finishedAt[i].at, keyPath("finished", t.ID), "it ended at minute %d, before it started at %d: mend one of the two", end, start)
		}
		if n := remainingAt[i]; n != nil && (ended || !started) {
			why := "it has not started: write its start under started"
			if ended {
				why = "it has ended: leave it out"
			}
			r.bad(n.at, keyPath("remaining", t.ID), "no minutes remain of %s: %s", strconv.Quote(tomlscan.Short(t.ID)), why)
		}
	}
	if n := root.get("note"); n != nil && n.kind != 's' {
		r.bad(n.at, "note", "%s will not do: a note is text in quotes", n.is())
	}
	if err := r.err(); err != nil {
		return nil, err
	}
	return now, nil
}

// facts says whether the task has started, when, and when it ends or is taken to
// end. A task of which only the end is known started its duration before. One that
// should have ended, and is not said to have, is taken to end now.
func (now *Now) facts(i int, t Task) (start, end int, fixed, running bool) {
	if e, ok := now.Finished[i]; ok {
		s, ok := now.Started[i]
		if !ok {
			s = max(e-t.Duration, 0)
		}
		return s, e, true, false
	}
	s, ok := now.Started[i]
	if !ok {
		return 0, 0, false, false
	}
	if left, ok := now.Remaining[i]; ok {
		return s, now.Minute + left, true, true
	}
	return s, max(s+t.Duration, now.Minute), true, true
}
