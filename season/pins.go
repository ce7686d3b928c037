package season

import (
	"fmt"
	"slices"

	"barwright/fault"
	"barwright/internal/words"
)

// ResultFormat is the name of the form that a plan is printed in, and that
// ReadPlan takes.
const ResultFormat = "season-plan-result/1"

// Pins are what the maker has decided: pours that a plan must hold exactly, and
// pours that it must not hold. The zero Pins decide nothing.
type Pins struct {
	// Fixed is exact: on that day exactly so many batches of that item are
	// poured; 0 is none. There is at most one entry for a day and an item.
	Fixed []Pour
	// Forbidden is what must not be poured on a day.
	Forbidden []ItemDay
}

// ItemDay is an item on a bench day.
type ItemDay struct {
	Item int // index into Items
	Day  int
}

// ReadPins takes pins from a JSON file: {"fixed":[{"day","item","batches"}],
// "forbidden":[{"day","item"}]}, each list may be left out. name stands in the
// faults. An entry twice, a day that is no bench day, an item that is not of the
// season, more batches than the item allows, and a pour both fixed and forbidden
// are refused, and so is what Check finds.
//
// Errors: a fault.List of fault.Invalid, each with its line and its entry.
func ReadPins(name string, data []byte, in *Instance) (Pins, error) {
	r := &reader{file: name}
	v, ok := r.parse(data, "a file of pins", `{"fixed": [], "forbidden": []}`)
	if !ok {
		return Pins{}, r.faults.Err()
	}
	top := r.object(v, "")
	var p Pins
	lines, was := map[string]int{}, map[ItemDay]string{}
	for k, v := range top.items("fixed", "") {
		o := r.object(&v, fixed(k)+".")
		at, known := o.itemDay(in)
		pour := Pour{Day: at.Day, Item: at.Item, Batches: o.batches(in, at, known)}
		o.rest()
		lines[fixed(k)] = v.line
		if known {
			if _, twice := was[at]; twice {
				o.fault(v.line, "day", "%s on day %d is also %s: leave one of them, with all its batches", in.Items[at.Item].ID, at.Day, was[at])
				continue
			}
			was[at] = fixed(k)
		}
		p.Fixed = append(p.Fixed, pour)
	}
	for k, v := range top.items("forbidden", "") {
		name := fmt.Sprintf("forbidden.%d", k+1)
		o := r.object(&v, name+".")
		at, known := o.itemDay(in)
		o.rest()
		if known {
			// Fixed at 0 and forbidden say the same, but the one who wrote both
			// meant two things.
			if other, twice := was[at]; twice {
				o.fault(v.line, "day", "%s on day %d is also %s: leave one of them", in.Items[at.Item].ID, at.Day, other)
				continue
			}
			was[at] = name
		}
		p.Forbidden = append(p.Forbidden, at)
	}
	top.rest()
	if err := r.faults.Err(); err != nil {
		return Pins{}, err
	}
	if err := p.Check(in); err != nil {
		for _, e := range fault.All(err) {
			e.File, e.Line = name, lines[e.Field]
		}
		return Pins{}, err
	}
	return p, nil
}

// ReadPlan takes a plan from a JSON file: a season-plan-result/1, as the command
// prints it, or only {"plan":[{"day","item","batches"}]}; what else stands in it
// is passed over. name stands in the faults. Entries of one day and item add up,
// and those of no batches are left out. The rules of the season are not asked
// here, save that a day must be a bench day and an item known: Simulate says
// what a plan breaks.
//
// Errors: a fault.List of fault.Invalid, each with its line and its entry.
func ReadPlan(name string, data []byte, in *Instance) (Plan, error) {
	r := &reader{file: name}
	v, ok := r.parse(data, "a plan", `{"plan": [{"day": 2, "item": "P01", "batches": 1}]}`)
	if !ok {
		return nil, r.faults.Err()
	}
	top := r.object(v, "")
	if top.get("format", "") != nil {
		if f := top.text("format", ""); f != "" && f != ResultFormat {
			top.fault(top.line("format"), "format", "%q will not do: this reads %q, or a plan without a format", clip(f), ResultFormat)
			return nil, r.faults.Err()
		}
	}
	g := map[ItemDay]int{}
	for k, v := range top.items("plan", `[{"day": 2, "item": "P01", "batches": 1}]`) {
		o := r.object(&v, fmt.Sprintf("plan.%d.", k+1))
		at, known := o.itemDay(in)
		n := o.whole("batches", "1", 0, maxCount)
		o.rest()
		if known {
			if g[at] += n; g[at] > maxCount {
				o.fault(v.line, "batches", "%d batches of %s on day %d are more than the %d that are counted: write fewer", g[at], in.Items[at.Item].ID, at.Day, maxCount)
			}
		}
	}
	if err := r.faults.Err(); err != nil {
		return nil, err
	}
	return planOf(g), nil
}

// itemDay reads the day and the item of an entry, and reports that both are of
// the season.
func (o *object) itemDay(in *Instance) (at ItemDay, known bool) {
	known = true
	days := 7*in.Weeks - 1
	if v := o.get("day", "2"); v == nil {
		known = false
	} else if f, ok := numberOf(v); !ok || f != float64(int(f)) {
		o.wholeOf(v, "day", 0, days)
		known = false
	} else if at.Day = int(f); known {
		if _, known = in.DayIndex(at.Day); !known {
			o.fault(v.line, "day", "day %s is no bench day%s", clip(v.text), in.beside(at.Day))
		}
	}
	if id := o.text("item", `"`+in.Items[0].ID+`"`); id == "" {
		known = false
	} else if i, ok := in.ItemByID(id); ok {
		at.Item = i
	} else {
		ids := make([]string, len(in.Items))
		for i := range in.Items {
			ids[i] = in.Items[i].ID
		}
		o.fault(o.line("item"), "item", "%q is no item of the season%s", clip(id), words.Meant(id, ids))
		known = false
	}
	return at, known
}

// beside is the end of a sentence that offers the bench days next to a day.
func (in *Instance) beside(day int) string {
	j, _ := in.DayIndex(day)
	switch {
	case len(in.BenchDays) == 0:
		return ""
	case j == 0:
		return fmt.Sprintf("; the first is day %d", in.BenchDays[0].Day)
	case j == len(in.BenchDays):
		return fmt.Sprintf("; the last is day %d", in.BenchDays[j-1].Day)
	}
	return fmt.Sprintf("; those next to it are days %d and %d", in.BenchDays[j-1].Day, in.BenchDays[j].Day)
}

// batches reads how many are poured: 0 to what the item allows a day.
func (o *object) batches(in *Instance, at ItemDay, known bool) int {
	if !known {
		return o.whole("batches", "1", 0, maxCount)
	}
	it := &in.Items[at.Item]
	v := o.get("batches", "1, or 0 for none")
	if v == nil {
		return 0
	}
	if f, ok := numberOf(v); ok && f > float64(it.MaxBatchesPerDay) {
		o.fault(v.line, "batches", "%s batches of %s on one day are too many: its maxBatchesPerDay is %d", clip(v.text), it.ID, it.MaxBatchesPerDay)
		return 0
	}
	return o.wholeOf(v, "batches", 0, it.MaxBatchesPerDay)
}

// Broken says which pins a plan does not keep, one sentence each; none when it
// keeps all.
func (p Pins) Broken(in *Instance, plan Plan) []string {
	g := plan.grid()
	var out []string
	for _, x := range p.Fixed {
		if n := g[ItemDay{x.Item, x.Day}]; n != x.Batches {
			out = append(out, fmt.Sprintf("%s on day %d is fixed at %s, and %d are poured", in.Items[x.Item].ID, x.Day, words.Count(x.Batches, "batch", "batches"), n))
		}
	}
	for _, x := range p.Forbidden {
		if n := g[x]; n > 0 {
			out = append(out, fmt.Sprintf("%s on day %d is forbidden, and %s poured", in.Items[x.Item].ID, x.Day, words.Count(n, "batch is", "batches are")))
		}
	}
	return out
}

// Check says whether the pins alone already contradict the season: minutes of a
// day, moulds, rack places, or a component that cannot be there in time however
// the days that are left free are used. It is quick and no proof that a plan
// exists; the search finds that out.
//
// Errors: fault.Invalid, one for each bench day, mould, component, and one for
// the rack, on the last pin that takes part in it, as "fixed.2".
func (p Pins) Check(in *Instance) error {
	var faults fault.List
	minutes := map[int]int{}
	for _, b := range in.BenchDays {
		minutes[b.Day] = b.Minutes
	}
	p.checkMinutes(in, minutes, &faults)
	p.checkMoulds(in, &faults)
	p.checkRack(in, &faults)
	p.checkComponents(in, minutes, &faults)
	return faults.Err()
}

// fixed is the name of a pin in its file, where entries count from 1.
func fixed(k int) string { return fmt.Sprintf("fixed.%d", k+1) }

// names lists what pours, as "2 batches of lamp on day 4 and …".
func (p Pins) names(in *Instance, ks []int) string {
	parts := make([]string, len(ks))
	for j, k := range ks {
		x := p.Fixed[k]
		parts[j] = fmt.Sprintf("%s of %s on day %d", words.Count(x.Batches, "batch", "batches"), in.Items[x.Item].ID, x.Day)
	}
	return words.Some(parts, 5, "more")
}

func (p Pins) checkMinutes(in *Instance, minutes map[int]int, faults *fault.List) {
	taken, who := map[int]int{}, map[int][]int{}
	for k, x := range p.Fixed {
		if x.Batches == 0 {
			continue
		}
		it := &in.Items[x.Item]
		taken[x.Day] += it.SetupMinutes + x.Batches*it.BatchMinutes
		who[x.Day] = append(who[x.Day], k)
	}
	for _, b := range in.BenchDays {
		if ks := who[b.Day]; taken[b.Day] > minutes[b.Day] {
			faults.Add(fault.Invalidf(fixed(ks[len(ks)-1]), "the pours fixed on day %d take %d minutes, and it has %d: %s; fix fewer, or give that day more minutes",
				b.Day, taken[b.Day], minutes[b.Day], p.names(in, ks)))
		}
	}
}

// over finds the first day on which what pins take of something, on days from
// the first to before the second of span, is more than there is.
func (p Pins) over(have func(day int) int, span func(x Pour) (from, to, take int)) (day, taken int, who []int) {
	var days []int
	for _, x := range p.Fixed {
		from, to, take := span(x)
		if take > 0 && to > from {
			days = append(days, from)
		}
	}
	slices.Sort(days)
	for _, day := range slices.Compact(days) {
		taken, who = 0, nil
		for k, x := range p.Fixed {
			if from, to, take := span(x); take > 0 && from <= day && day < to {
				taken += take
				who = append(who, k)
			}
		}
		if taken > have(day) {
			return day, taken, who
		}
	}
	return 0, 0, nil
}

func (p Pins) checkMoulds(in *Instance, faults *fault.List) {
	end := 7 * in.Weeks
	for m := range in.Moulds {
		day, taken, who := p.over(func(int) int { return in.Moulds[m].Count }, func(x Pour) (int, int, int) {
			it := &in.Items[x.Item]
			if it.Mould != m {
				return 0, 0, 0
			}
			return x.Day, min(x.Day+it.MouldDays, end), x.Batches
		})
		if who != nil {
			faults.Add(fault.Invalidf(fixed(who[len(who)-1]), "on day %d the fixed pours take %d sets of the mould %s, and there are %d: %s; fix one of them earlier or later",
				day, taken, in.Moulds[m].ID, in.Moulds[m].Count, p.names(in, who)))
		}
	}
}

func (p Pins) checkRack(in *Instance, faults *fault.List) {
	end := 7 * in.Weeks
	free := func(day int) int {
		n := in.RackSlots
		for i := range in.Items {
			for _, c := range in.Items[i].OpeningCure {
				if day < c.ReadyDay {
					n -= c.Batches * in.Items[i].RackSlots
				}
			}
		}
		return n
	}
	day, taken, who := p.over(free, func(x Pour) (int, int, int) {
		it := &in.Items[x.Item]
		return x.Day + it.MouldDays, min(x.Day+it.LeadDays, end), x.Batches * it.RackSlots
	})
	if who != nil {
		faults.Add(fault.Invalidf(fixed(who[len(who)-1]), "on day %d the fixed pours take %d places on the rack, and %d are free then: %s; fix fewer, or some of them later",
			day, taken, max(free(day), 0), p.names(in, who)))
	}
}

// checkComponents holds what fixed pours draw of a component against the most
// that could be ready by then: what is in stock, what is fixed, and on every day
// left free as many batches as the day, the moulds and the item allow.
func (p Pins) checkComponents(in *Instance, minutes map[int]int, faults *fault.List) {
	pinned := map[ItemDay]int{}
	left := map[int]int{}
	for d, m := range minutes {
		left[d] = m
	}
	for _, x := range p.Fixed {
		pinned[ItemDay{x.Item, x.Day}] = x.Batches
		if x.Batches > 0 {
			left[x.Day] -= in.Items[x.Item].SetupMinutes + x.Batches*in.Items[x.Item].BatchMinutes
		}
	}
	for _, x := range p.Forbidden {
		pinned[x] = 0
	}
	for c := range in.Items {
		it := &in.Items[c]
		if !it.Component {
			continue
		}
		draws := map[int]int{}
		var users []int
		for k, x := range p.Fixed {
			for _, u := range in.Items[x.Item].BOM {
				if u.Component == c && x.Batches > 0 {
					draws[x.Day] += u.Units * x.Batches
					users = append(users, k)
				}
			}
		}
		drawn := 0
		for _, b := range in.BenchDays {
			if draws[b.Day] == 0 {
				continue
			}
			drawn += draws[b.Day]
			most := it.OpeningStock
			for _, e := range in.BenchDays {
				if e.Day+it.LeadDays <= b.Day {
					n, said := pinned[ItemDay{c, e.Day}]
					if !said {
						n = min(it.MaxBatchesPerDay, in.Moulds[it.Mould].Count)
						if it.BatchMinutes > 0 {
							n = min(n, max(left[e.Day]-it.SetupMinutes, 0)/it.BatchMinutes)
						} else if left[e.Day] < it.SetupMinutes {
							n = 0
						}
					}
					most += n * it.BatchUnits
				}
			}
			if drawn > most {
				who := slices.DeleteFunc(users, func(k int) bool { return p.Fixed[k].Day > b.Day })
				faults.Add(fault.Invalidf(fixed(who[len(who)-1]), "by day %d the fixed pours draw %d of %s, and at most %d can be ready by then: %s; fix them later, or leave earlier days free for %s",
					b.Day, drawn, it.ID, most, p.names(in, who), it.ID))
				break
			}
		}
	}
}
