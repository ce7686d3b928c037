package cli

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"barwright/internal/words"
	"barwright/quantity"
	"barwright/season"
)

// seasonTable is a season planned, for people: week by week what is poured and
// what runs out, then how good that is.
func seasonTable(in *season.Instance, pl *planned, pins season.Pins, o seasoning) []byte {
	p := &page{}
	p.say(0, 0, in.Name)
	p.say(0, 0, fmt.Sprintf("%s, %s, %s; day 0 is the Monday of week 0", words.Count(in.Weeks, "week", "weeks"),
		words.Count(len(in.BenchDays), "bench day", "bench days"), words.Count(len(in.Items), "item", "items")))
	p.say(0, 0, pl.verdict())
	if !pl.found {
		return []byte(p.b.String())
	}
	p.weeks(in, pl)
	p.costs(pl)
	if o.explain {
		p.why(in, pl.reasons, pins)
		p.misses(in, pl.missed)
	}
	if pl.against != nil {
		p.against(in, pl.name, pl.against, pl.breaks)
	}
	return []byte(p.b.String())
}

// verdict says how good the plan is proved to be.
func (pl *planned) verdict() string {
	cost, bound := quantity.Number(pl.cost, 2), quantity.Number(pl.bound, 2)
	gap, ok := pl.gap()
	switch status := pl.status(); {
	case status == "infeasible":
		return "No plan can keep what is fixed and forbidden: take one of the pins out."
	case status == "unknown":
		return "No plan that keeps what is fixed and forbidden was found in this time: give it more, or take one of the pins out."
	case status == "optimal":
		return fmt.Sprintf("This plan costs %s, and no plan costs less: that is proved.", cost)
	case ok:
		return fmt.Sprintf("This plan costs %s, and no plan costs less than %s: it is at most %s from perfect.", cost, bound, quantity.Percent(gap, 1))
	}
	return fmt.Sprintf("This plan costs %s. How near that is to perfect was not proved in this time.", cost)
}

// weeks writes the weeks in which something is poured or runs out.
func (p *page) weeks(in *season.Instance, pl *planned) {
	pours := map[int][]season.Pour{}
	for _, x := range pl.plan {
		pours[x.Day] = append(pours[x.Day], x)
	}
	quiet := -1 // first of the weeks of which there is nothing to say
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
			if d := in.BenchDays[j].Day; d/7 == w && len(pours[d]) > 0 {
				days = append(days, j)
			}
		}
		missing := shortIn(in, pl, w)
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
			p.wrap(first, utf8.RuneCountInString(first), fmt.Sprintf("%s (%d of %d min)", strings.Join(what, ", "), pl.result.Minutes[j], b.Minutes))
		}
		for _, m := range missing {
			p.say(2, 2, m)
		}
	}
	hush(in.Weeks)
}

var weekdays = [...]string{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}

// shortIn says what runs out in a week.
func shortIn(in *season.Instance, pl *planned, w int) []string {
	var out []string
	for i := range in.Items {
		it, f := &in.Items[i], &pl.result.Flows[i]
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
func (p *page) costs(pl *planned) {
	p.head("What it costs")
	parts := pl.result.Cost.Parts()
	parts = slices.DeleteFunc(parts, func(c season.CostPart) bool { return math.Abs(c.Value) < 0.005 })
	numbers := len(plain.Replace(quantity.Number(pl.cost, 2)))
	for _, c := range parts {
		p.row(quantity.Number(c.Value, 2), numbers, c.Words, "")
	}
	p.row(quantity.Number(pl.cost, 2), numbers, "in all", "")
}
