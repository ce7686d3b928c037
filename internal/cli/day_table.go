package cli

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"barwright/internal/words"
	"barwright/planner"
)

// hours says a minute of the day as h:mm from its start.
func hours(m int) string { return fmt.Sprintf("%d:%02d", m/60, m%60) }

// long says a number of minutes as a person would.
func long(m int) string {
	switch {
	case m < 60:
		return fmt.Sprintf("%d min", m)
	case m%60 == 0:
		return fmt.Sprintf("%d h", m/60)
	}
	return fmt.Sprintf("%d h %d min", m/60, m%60)
}

// day is a day for people: how short it is and how sure that is, the day as
// a strip, and every task in its order.
func (p *page) day(d *dayAnswer) {
	p.say(0, 0, fmt.Sprintf("%s, %s", cmp.Or(d.in.Name, "A day"), words.Count(len(d.in.Tasks), "task", "tasks")))
	p.dayProof(d)
	if d.Starts == nil {
		p.dayAgainst(d)
	}
	p.dayLet(d)
	if d.Starts == nil {
		return
	}
	order := make([]int, len(d.in.Tasks))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(d.Starts[a], d.Starts[b]) })
	marks := p.dayStrip(d, order)
	p.dayOrder(d, order, marks)
	p.dayWaits(d)
}

// dayProof says how long the day is, and how far from the shortest at most.
func (p *page) dayProof(d *dayAnswer) {
	whole := "The day"
	if d.now != nil {
		whole = fmt.Sprintf("It is minute %d of the day, %s. The day", d.now.Minute, hours(d.now.Minute))
	}
	switch d.Status {
	case planner.Infeasible:
		s := "No day keeps all of this: that is proved, and no longer search would find one."
		if d.now != nil {
			s = "No rest of this day keeps what has to be kept: that is proved."
		}
		p.say(0, 0, s)
	case planner.Optimal:
		p.say(0, 0, fmt.Sprintf("%s ends at minute %d, after %s. That is proved: no schedule ends sooner.", whole, d.End, long(d.End)))
	case planner.Feasible:
		s := fmt.Sprintf("%s ends at minute %d, after %s. Proved is that no schedule ends before minute %d", whole, d.End, long(d.End), d.Lower)
		if d.Lower > 0 {
			s += fmt.Sprintf(": this one is at most %d min, %s, from the shortest", d.End-d.Lower, percent1(100*float64(d.End-d.Lower)/float64(d.Lower)))
		}
		p.say(0, 0, s+".")
	default:
		p.say(0, 0, fmt.Sprintf("No schedule was found, and none is ruled out but those that end before minute %d: give it longer, as --seconds 60.", d.Lower))
	}
	if d.now != nil && d.Starts != nil && d.Rest.Planned != nil {
		s := "Nothing moves against the plan."
		if d.Rest.Shift > 0 {
			s = fmt.Sprintf("Against the plan, starts move by %d min in all", d.Rest.Shift)
			if d.Rest.ShiftProved {
				s += "; no day that ends as soon moves less."
			} else {
				s += "; whether less would do is not proved."
			}
		}
		p.say(0, 0, s)
	}
}

func percent1(v float64) string { return fmt.Sprintf("%.1f %%", v) }

// dayAgainst says what contradicts what.
func (p *page) dayAgainst(d *dayAnswer) {
	c := d.Against
	if len(c.Lags)+len(c.Groups) == 0 {
		return
	}
	p.head("These cannot hold together")
	for _, k := range c.Lags {
		p.say(2, 2, "- "+lagWords(d.in, d.in.Lags[k])+".")
	}
	for _, g := range c.Groups {
		p.say(2, 2, "- "+groupWords(d.in, g)+".")
	}
	if len(c.Lags)+len(c.Groups) == 1 {
		return
	}
	p.b.WriteString("\n")
	if c.Minimal {
		p.say(2, 0, "Changing any one of them resolves the conflict. So does giving one task what it needs to itself.")
	} else {
		p.say(2, 0, "Some of these may not matter: the search for the fewest was cut short. A longer one may name less, as --seconds 60.")
	}
}

// dayLet says which rules were let go, because the day as it stands breaks them.
func (p *page) dayLet(d *dayAnswer) {
	if d.now == nil || len(d.Rest.Relaxed)+len(d.Rest.Overheld) == 0 {
		return
	}
	p.head("What is not kept")
	for _, x := range d.Rest.Relaxed {
		l := d.in.Lags[x.Lag]
		s := lagWords(d.in, l)
		if x.Broken {
			s += ": this is broken already"
		} else {
			s += ": this cannot be kept any more"
		}
		if d.Starts != nil {
			if l.From < 0 {
				s += fmt.Sprintf(", and it starts at minute %d", waited(d.Starts, l))
			} else {
				s += fmt.Sprintf(", and comes to %d min", waited(d.Starts, l))
			}
		}
		p.say(2, 2, "- "+s+". Look before you go on.")
	}
	for _, g := range d.Rest.Overheld {
		p.say(2, 2, "- "+groupWords(d.in, g)+" as the day stands.")
	}
}

// marksOf are the letters of tasks in a strip.
const marksOf = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"

// lanesMost is how many of a resource have a line each. Where there are more, one
// line says how many are held.
const lanesMost = 4

// dayStrip draws the day with a line for each resource, or for each one of it where
// there are few, and returns the letter of every task.
func (p *page) dayStrip(d *dayAnswer, order []int) []string {
	marks := make([]string, len(d.in.Tasks))
	for k, i := range order {
		marks[i] = string(marksOf[k%len(marksOf)])
	}
	if d.End == 0 {
		return marks
	}
	names := 8
	for _, r := range d.in.Resources {
		n := utf8.RuneCountInString(r.ID) + 2
		if r.Capacity > 1 && r.Capacity <= lanesMost {
			n += 2
		}
		names = max(names, min(n, 18))
	}
	room := width - names - 4
	scale := 0
	for _, s := range []int{1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60, 120, 240, 480, 1440} {
		if scale = s; (d.End+s-1)/s <= room {
			break
		}
	}
	for (d.End+scale-1)/scale > room {
		scale *= 2
	}
	cells := (d.End + scale - 1) / scale
	p.head(fmt.Sprintf("The day as a strip, %s a mark", long(scale)))
	line := func(name string, body []byte) {
		if utf8.RuneCountInString(name) > names-2 {
			name = string([]rune(name)[:names-3]) + "…"
		}
		p.b.WriteString(strings.TrimRight("  "+name+strings.Repeat(" ", names-utf8.RuneCountInString(name))+string(body), " ") + "\n")
	}
	// There is a tick wherever there is room for its time.
	ruler := []byte(strings.Repeat(" ", cells+6))
	for c := 0; c < cells; c += 10 {
		copy(ruler[c:], "|"+hours(c*scale))
	}
	line("", []byte(strings.TrimRight(string(ruler), " ")))
	ends := func(i int) int {
		if k := d.now.Known(i, d.in.Tasks[i]); k.Started {
			return k.End
		}
		return d.Starts[i] + d.in.Tasks[i].Duration
	}
	for r, res := range d.in.Resources {
		if res.Capacity > lanesMost {
			body := make([]byte, cells)
			for c := range body {
				// The most is held either when the cell begins or when a task starts in it.
				most := heldAt(d, r, c*scale, ends)
				for _, at := range d.Starts {
					if at > c*scale && at < (c+1)*scale {
						most = max(most, heldAt(d, r, at, ends))
					}
				}
				body[c] = '.'
				if most > 9 {
					body[c] = '+'
				} else if most > 0 {
					body[c] = byte('0' + most)
				}
			}
			line(res.ID, body)
			continue
		}
		lanes := make([][]byte, res.Capacity)
		free := make([]int, res.Capacity)
		for k := range lanes {
			lanes[k] = []byte(strings.Repeat(".", cells))
		}
		for _, i := range order {
			if ends(i) <= d.Starts[i] {
				continue
			}
			need := d.in.Tasks[i].Needs[r]
			for k := 0; k < len(lanes) && need > 0; k++ {
				if free[k] > d.Starts[i] {
					continue
				}
				free[k] = ends(i)
				need--
				for c := d.Starts[i] / scale; c <= (ends(i)-1)/scale && c < cells; c++ {
					// A cell belongs to the task that first runs in it.
					if lanes[k][c] == '.' || c > d.Starts[i]/scale {
						lanes[k][c] = marks[i][0]
					}
				}
			}
		}
		for k, body := range lanes {
			name := res.ID
			if res.Capacity > 1 {
				name = fmt.Sprintf("%s %d", res.ID, k+1)
			}
			line(name, body)
		}
	}
	return marks
}

// heldAt is how much of a resource is held at a minute.
func heldAt(d *dayAnswer, r, at int, ends func(i int) int) int {
	held := 0
	for i, t := range d.in.Tasks {
		if d.Starts[i] <= at && at < ends(i) {
			held += t.Needs[r]
		}
	}
	return held
}

// dayOrder lists the tasks in their order.
func (p *page) dayOrder(d *dayAnswer, order []int, marks []string) {
	p.head("In order")
	for _, i := range order {
		t := d.in.Tasks[i]
		minutes := t.Duration
		note := ""
		if k := d.now.Known(i, t); k.Started {
			note, minutes = "done", k.End-k.Start
			if k.Running {
				note = "running"
			}
		} else if d.Rest.Planned != nil && d.Rest.Planned[i] >= 0 {
			if late := d.Starts[i] - d.Rest.Planned[i]; late > 0 {
				note = fmt.Sprintf("%d min later than planned", late)
			} else if late < 0 {
				note = fmt.Sprintf("%d min sooner than planned", -late)
			}
		}
		what := fmt.Sprintf("%s  %s, ", marks[i], t.ID)
		if minutes > 0 {
			what += fmt.Sprintf("%d min, until %s", minutes, hours(d.Starts[i]+minutes))
		} else {
			what += "a moment"
		}
		var needs []string
		for r, n := range t.Needs {
			switch {
			case n == 1:
				needs = append(needs, d.in.Resources[r].ID)
			case n > 1:
				needs = append(needs, fmt.Sprintf("%d of %s", n, d.in.Resources[r].ID))
			}
		}
		if len(needs) > 0 {
			what += ": " + strings.Join(needs, ", ")
		}
		p.row(hours(d.Starts[i]), 6, what, note)
	}
}

// dayWaits lists the waits that may not be too long.
func (p *page) dayWaits(d *dayAnswer) {
	first := true
	for _, l := range d.in.Lags {
		if !l.HasMax || l.From < 0 || l.Min == l.Max {
			continue
		}
		if first {
			p.head("Waits that may not be too long, from start to start")
			first = false
		}
		s := fmt.Sprintf("%s to %s", d.in.TaskID(l.From), d.in.TaskID(l.To))
		p.row(fmt.Sprintf("%d min", waited(d.Starts, l)), 8, s, fmt.Sprintf("at least %d, at most %d", l.Min, l.Max))
	}
}
