package cli

import (
	"bytes"
	"encoding/json"
	"fmt"

	"barwright/benchday"
	"barwright/planner"
)

type (
	dayed struct {
		Status     planner.Status `json:"status"`
		Makespan   *int           `json:"makespan"`    // min; null where there is no schedule
		LowerBound *int           `json:"lower_bound"` // min; null where the day is infeasible
		Seconds    float64        `json:"seconds"`     // 0 with --moves
		Starts     startsByID     `json:"starts"`
		Conflict   []any          `json:"conflict"`
		*dayedRest
	}
	// dayedRest is what --from adds.
	dayedRest struct {
		Shift       *int         `json:"shift"` // min; null where nothing was planned
		ShiftProved bool         `json:"shift_proved"`
		Relaxed     []dayRelaxed `json:"relaxed"`
	}
	dayLag struct {
		From string `json:"from"`
		To   string `json:"to"`
		Min  int    `json:"min"`
		Max  *int   `json:"max"`
	}
	dayGroup struct {
		Resource string   `json:"resource"`
		Tasks    []string `json:"tasks"`
	}
	dayRelaxed struct {
		dayLag
		Side   string `json:"side"`   // min | max: which of the two is not kept
		Broken bool   `json:"broken"` // already, and not only to be
		Waited *int   `json:"waited"` // min from start to start as it is now planned; null without a schedule
	}
	// startsByID keeps the order of the file.
	startsByID struct {
		in *benchday.Instance
		at benchday.Schedule
	}
)

// MarshalJSON writes an object of ids and minutes.
func (s startsByID) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, at := range s.at {
		if i > 0 {
			b.WriteByte(',')
		}
		id, err := json.Marshal(s.in.Tasks[i].ID)
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(&b, "%s:%d", id, at)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

func lagClause(in *benchday.Instance, k int) dayLag {
	l := in.Lags[k]
	c := dayLag{From: in.TaskID(l.From), To: in.TaskID(l.To), Min: l.Min}
	if l.HasMax {
		c.Max = &l.Max
	}
	return c
}

func groupClause(in *benchday.Instance, g benchday.Group) dayGroup {
	return dayGroup{in.Resources[g.Resource].ID, objects(g.Tasks, in.TaskID)}
}

// waited is the minutes from start to start, by the schedule.
func waited(s benchday.Schedule, l benchday.Lag) int {
	if l.From < 0 {
		return s[l.To]
	}
	return s[l.To] - s[l.From]
}

// dayObject is a day, for JSON.
func dayObject(d *dayAnswer) dayed {
	o := dayed{Status: d.Status, Seconds: float64(d.Elapsed.Microseconds()) / 1e6, Starts: startsByID{d.in, d.Starts}, Conflict: []any{}}
	if d.Starts != nil {
		o.Makespan = &d.End
	}
	if d.Status != planner.Infeasible {
		o.LowerBound = &d.Lower
	}
	for _, k := range d.Against.Lags {
		o.Conflict = append(o.Conflict, lagClause(d.in, k))
	}
	for _, g := range d.Against.Groups {
		o.Conflict = append(o.Conflict, groupClause(d.in, g))
	}
	if d.now != nil {
		r := &dayedRest{Relaxed: []dayRelaxed{}, ShiftProved: d.Rest.ShiftProved}
		if d.Rest.Planned != nil && d.Starts != nil {
			r.Shift = &d.Rest.Shift
		}
		for _, x := range d.Rest.Relaxed {
			c := lagClause(d.in, x.Lag)
			l := dayRelaxed{dayLag: c, Side: "min", Broken: x.Broken}
			if x.Max {
				l.Side = "max"
			}
			if d.Starts != nil {
				w := waited(d.Starts, d.in.Lags[x.Lag])
				l.Waited = &w
			}
			r.Relaxed = append(r.Relaxed, l)
			// What is let go also belongs to what contradicts the day as it stands.
			o.Conflict = append(o.Conflict, c)
		}
		for _, g := range d.Rest.Overheld {
			o.Conflict = append(o.Conflict, groupClause(d.in, g))
		}
		o.dayedRest = r
	}
	return o
}
