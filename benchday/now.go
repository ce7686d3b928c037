package benchday

import (
	"barwright/fault"
	"barwright/internal/filescan"
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

// nowRules are the keys of a file of where a day stands; below them are the
// maker's own tasks.
var nowRules = filescan.Rules{
	What: "a file of where a day stands", Least: `{"now": 95, "started": {"weigh": 0}}`,
	MaxBytes: MaxFileBytes, MaxValues: maxValues,
	Places: []filescan.Place{{Keys: []string{"now", "started", "finished", "remaining", "plan", "note"}}},
}

// ReadNow reads where the day of in stands: an object with now, started, finished,
// remaining and plan, all but now optional, all in whole minutes.
//
// Errors: as Read; tasks that in does not have, times after now, an end before its
// start, minutes remaining of what does not run.
func ReadNow(name string, data []byte, in *Instance) (*Now, error) {
	r, ok := filescan.JSON(name, data, nowRules)
	if !ok {
		return nil, r.Err()
	}
	now := &Now{}
	top := r.Top()
	var known bool
	now.Minute, known = top.Whole("now", 0, MaxMinutes, "the minute of the day that it is", "95")
	top.Text("note")
	ids := &filescan.Names{What: "task", Whats: "tasks"}
	for _, t := range in.Tasks {
		ids.Add(top, "", t.ID)
	}
	minutes := func(key string, past bool) (map[int]int, *filescan.Table) {
		out, t := map[int]int{}, top.Table(key)
		for id := range t.Keys() {
			i, ok := ids.Find(t, id, id)
			if !ok {
				continue
			}
			m, ok := t.Whole(id, 0, MaxMinutes)
			if ok && past && known && m > now.Minute {
				t.Wrong(id, "minute %d is after now, %d: leave out what has not come yet, or mend %s", m, now.Minute, fault.Key("now"))
			} else if ok {
				out[i] = m
			}
		}
		return out, t
	}
	now.Started, _ = minutes("started", true)
	var finished, remaining *filescan.Table
	now.Finished, finished = minutes("finished", true)
	now.Remaining, remaining = minutes("remaining", false)
	if plan, _ := minutes("plan", false); top.Has("plan") {
		now.Plan = plan
	}
	for i, t := range in.Tasks {
		end, ended := now.Finished[i]
		start, started := now.Started[i]
		_, remains := now.Remaining[i]
		switch {
		case remains && ended:
			remaining.Wrong(t.ID, "no minutes remain of %q: it has ended, so leave it out", filescan.Short(t.ID))
		case remains && !started:
			remaining.Wrong(t.ID, "no minutes remain of %q: it has not started, so write its start under %s", filescan.Short(t.ID), fault.Key("started"))
		}
		if ended && started && end < start {
			finished.Wrong(t.ID, "it ended at minute %d, before it started at %d: mend one of the two", end, start)
		}
	}
	if err := r.Err(); err != nil {
		return nil, err
	}
	return now, nil
}

// Known is what is known of a task of a day that has begun. The zero Known is one
// that has not started.
type Known struct {
	Start, End       int // min; End is when it ended, or is taken to end
	Started, Running bool
}

// Known is how it stands with t, the i-th task. A task of which only the end is
// known started its duration before. One that should have ended, and is not said to
// have, is taken to end now. Of a nil Now nothing has started.
func (now *Now) Known(i int, t Task) Known {
	if now == nil {
		return Known{}
	}
	start, started := now.Started[i]
	if end, ok := now.Finished[i]; ok {
		if !started {
			start = max(end-t.Duration, 0)
		}
		return Known{start, end, true, false}
	}
	if !started {
		return Known{}
	}
	if left, ok := now.Remaining[i]; ok {
		return Known{start, now.Minute + left, true, true}
	}
	return Known{start, max(start+t.Duration, now.Minute), true, true}
}
