package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"barwright/internal/words"
	"barwright/planner"
	"barwright/quantity"
	"barwright/season"
)

// season is a season planned, for people: week by week what is poured and what
// runs out, and how good that is.
func (p *page) season(d *seasonAnswer) {
	p.say(0, 0, d.in.Name)
	p.say(0, 0, fmt.Sprintf("%s, %s, %s; day 0 is the Monday of week 0", words.Count(d.in.Weeks, "week", "weeks"),
		words.Count(len(d.in.BenchDays), "bench day", "bench days"), words.Count(len(d.in.Items), "item", "items")))
	p.say(0, 0, verdict(d))
	if !d.Status.Found() {
		return
	}
	p.weeks(d)
	p.costs(d)
	if d.explain {
		p.why(d)
		p.misses(d)
	}
	if d.against != nil {
		p.against(d)
	}
}

// verdict says how good the plan is proved to be.
func verdict(d *seasonAnswer) string {
	cost, bound := quantity.Number(d.Best.V, 2), quantity.Number(d.Bound.V, 2)
	switch d.Status {
	case planner.Infeasible:
		return "No plan can keep what is fixed and forbidden: take one of the pins out."
	case planner.Unknown:
		return "No plan that keeps what is fixed and forbidden was found in this time: give it more, or take one of the pins out."
	case planner.Optimal:
		return fmt.Sprintf("This plan costs %s, and no plan costs less: that is proved.", cost)
	}
	if gap := d.Gap(); gap.Known {
		return fmt.Sprintf("This plan costs %s, and no plan costs less than %s: it is at most %s from perfect.", cost, bound, quantity.Percent(gap.V, 1))
	}
	return fmt.Sprintf("This plan costs %s. How near that is to perfect was not proved in this time.", cost)
}

// weeks writes the weeks in which something is poured or runs out.
func (p *page) weeks(d *seasonAnswer) {
	in := d.in
	pours := map[int][]season.Pour{}
	for _, x := range d.Plan {
		pours[x.Day] = append(pours[x.Day], x)
	}
	quiet := -1 // the first of the weeks that there is nothing to say about
	hush := func(w int) {
		switch {
		case quiet < 0:
		case quiet == w-1:
			p.head(fmt.Sprintf("Week %d: nothing is poured, and nothing runs out.", quiet))
		default:
			p.head(fmt.Sprintf("Weeks %d to %d: nothing is poured, and nothing runs out.", quiet, w-1))
		}
		quiet = -1
	}
	for w := range in.Weeks {
		var days []int
		for j := range in.BenchDays {
			if day := in.BenchDays[j].Day; day/7 == w && len(pours[day]) > 0 {
				days = append(days, j)
			}
		}
		missing := shortIn(d, w)
		if len(days) == 0 && len(missing) == 0 {
			if quiet < 0 {
				quiet = w
			}
			continue
		}
		hush(w)
		p.head(fmt.Sprintf("Week %d", w))
		for _, j := range days {
			b := in.BenchDays[j]
			var what []string
			for _, x := range pours[b.Day] {
				what = append(what, fmt.Sprintf("%d × %s", x.Batches, in.Items[x.Item].Name))
			}
			first := fmt.Sprintf("  %s, day %d: ", weekdays[b.Day%7], b.Day)
			p.wrap(first, utf8.RuneCountInString(first), fmt.Sprintf("%s (%d of %d min)", strings.Join(what, ", "), d.Result.Minutes[j], b.Minutes))
		}
		for _, m := range missing {
			p.say(2, 2, m)
		}
	}
	hush(in.Weeks)
}

var weekdays = [...]string{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}

// shortIn says what runs out in a week.
func shortIn(d *seasonAnswer, w int) []string {
	var out []string
	for i := range d.in.Items {
		it, f := &d.in.Items[i], &d.Result.Flows[i]
		if it.Component {
			continue
		}
		if it.Launch != nil && it.Launch.Week == w && f.LaunchShort > 0 {
			out = append(out, fmt.Sprintf("SHORT: %s is launched with %d too few", it.Name, f.LaunchShort))
		}
		if f.Lost[w] > 0 {
			out = append(out, fmt.Sprintf("OUT: %s, %d of %d wanted are not there", it.Name, f.Lost[w], it.Demand[w]))
		}
	}
	return out
}

// costs writes what the plan costs, part by part, and what is left at the end.
func (p *page) costs(d *seasonAnswer) {
	p.head("What it costs")
	numbers := len(plain.Replace(quantity.Number(d.Best.V, 2)))
	for _, c := range d.Result.Cost.Parts() {
		if math.Abs(c.Value) >= 0.005 {
			p.row(quantity.Number(c.Value, 2), numbers, c.Words, "")
		}
	}
	p.row(quantity.Number(d.Best.V, 2), numbers, "in all", "")
}

// why says of every pour what would be missing without it.
func (p *page) why(d *seasonAnswer) {
	p.head("Why each pour is there")
	if len(d.reasons) == 0 {
		p.say(2, 2, "Nothing is poured.")
	}
	for k := range d.reasons {
		p.say(2, 4, d.reasons[k].Words(d.in, d.pins))
	}
}

// misses says what is missing all the same, what binds, and what more of it would
// be worth.
func (p *page) misses(d *seasonAnswer) {
	p.head("What is missing all the same")
	if len(d.missed) == 0 {
		p.say(2, 2, "Nothing: all that is asked for is there, and the season ends as it should.")
		return
	}
	for _, w := range season.MissWords(d.in, d.missed) {
		p.say(2, 4, w)
	}
	if slices.ContainsFunc(d.missed, func(m season.Miss) bool { return m.More != nil }) {
		p.say(2, 2, "The worth is what a new plan with one more of that thing would save over the whole season.")
	}
}

// against says how the plan above differs from another.
func (p *page) against(d *seasonAnswer) {
	p.head("Against " + d.name)
	diff, broken := d.against, d.breaks
	if len(broken) > 0 {
		p.say(2, 2, fmt.Sprintf("That plan cannot be kept: %s.", broken[0].Words))
		if n := len(broken) - 1; n > 0 {
			p.say(2, 2, fmt.Sprintf("It breaks rules %s more, so its cost cannot be reached.", words.Count(n, "time", "times")))
		}
	}
	if diff.None() {
		p.say(2, 2, "The two plans pour the same.")
		return
	}
	p.say(2, 4, fmt.Sprintf("That plan costs %s; the one above is %s.", quantity.Number(diff.A.Total(), 2), diff.Words()))
	for k := range diff.Changes {
		p.say(2, 4, diff.Changes[k].Words(d.in))
	}
	for k := range diff.Shortages {
		if diff.Shortages[k].Kind != season.BelowSafety {
			p.say(2, 4, diff.Shortages[k].Words(d.in)+".")
		}
	}
	p.say(2, 2, "Each step is costed after those before it, so they add up.")
}
