package benchday

import (
	"cmp"
	"fmt"
	"slices"
)

// Makespan is when the last task of a schedule ends, min.
func (in *Instance) Makespan(s Schedule) int {
	end := 0
	for i, t := range in.Tasks {
		end = max(end, s[i]+t.Duration)
	}
	return end
}

// Verify returns the first rule that a schedule breaks, or nil. The rules are:
// every task has a start, none of them before the day, every lag is kept, and no
// resource is held beyond its capacity at any minute.
func (in *Instance) Verify(s Schedule) error {
	if len(s) != len(in.Tasks) {
		return fmt.Errorf("%d starts for %d tasks", len(s), len(in.Tasks))
	}
	for i, t := range in.Tasks {
		if s[i] < 0 {
			return fmt.Errorf("%s starts at %d, before the day", t.ID, s[i])
		}
	}
	for _, l := range in.Lags {
		from := 0
		if l.From >= 0 {
			from = s[l.From]
		}
		if wait := s[l.To] - from; wait < l.Min || l.HasMax && wait > l.Max {
			return fmt.Errorf("%s starts %d min after %s, and not as the lag has it", in.Tasks[l.To].ID, wait, in.TaskID(l.From))
		}
	}
	for r, res := range in.Resources {
		if at, held := in.peak(s, r); held > res.Capacity {
			return fmt.Errorf("%d of %s are held at minute %d, and there are %d", held, res.ID, at, res.Capacity)
		}
	}
	return nil
}

// TaskID is the id of a task by its index, and START for −1.
func (in *Instance) TaskID(i int) string {
	if i < 0 {
		return Start
	}
	return in.Tasks[i].ID
}

// peak is the first minute at which the most of a resource is held, and how much
// that is. A task without duration holds nothing.
func (in *Instance) peak(s Schedule, r int) (at, held int) {
	type change struct{ at, by int }
	var all []change
	for i, t := range in.Tasks {
		if t.Needs[r] > 0 && t.Duration > 0 {
			all = append(all, change{s[i], t.Needs[r]}, change{s[i] + t.Duration, -t.Needs[r]})
		}
	}
	slices.SortFunc(all, func(a, b change) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.by, b.by)) })
	now := 0
	for _, c := range all {
		if now += c.by; now > held {
			at, held = c.at, now
		}
	}
	return at, held
}
