package season

import (
	"fmt"
	"slices"
	"strconv"

	"barwright/fault"
	"barwright/internal/filescan"
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
	r, ok := filescan.JSON(name, data, pinRules)
	if !ok {
		return Pins{}, r.Err()
	}
	var p Pins
	was := map[ItemDay]string{}
	items := in.names(r.Top())
	// once reports that a pin is the first on its day and item.
	once := func(t *filescan.Table, at ItemDay, what string) bool {
		if other, twice := was[at]; twice {
			t.Wrong("day", "%s on day %d is also %s: keep one of them%s", in.Items[at.Item].ID, at.Day, other, what)
			return false
		}
		was[at] = t.Path("")
		return true
	}
	for _, t := range r.Top().Tables("fixed", maxCount) {
		at, known := itemDay(in, items, t)
		pour := Pour{Day: at.Day, Item: at.Item, Batches: pinned(in, t, at, known)}
		if !known || once(t, at, ", with all its batches") {
			p.Fixed = append(p.Fixed, pour)
		}
	}
	for _, t := range r.Top().Tables("forbidden", maxCount) {
		// Fixed at 0 and forbidden say the same, but the one who wrote both
		// meant two things.
		at, known := itemDay(in, items, t)
		if !known || once(t, at, "") {
			p.Forbidden = append(p.Forbidden, at)
		}
	}
	if r.OK() {
		for _, e := range fault.All(p.Check(in)) {
			r.Add(e)
		}
	}
	if err := r.Err(); err != nil {
		return Pins{}, err
	}
	return p, nil
}

// pinRules and planRules are the keys of the two files that stand beside a season.
var (
	pinRules = filescan.Rules{
		What: "a file of pins", Least: `{"fixed": [], "forbidden": []}`, MaxBytes: MaxFileBytes, MaxValues: maxValues, Remarks: true,
		Places: []filescan.Place{
			{},
			{Name: "fixed", List: true, Keys: []string{"day", "item", "batches"}},
			{Name: "forbidden", List: true, Keys: []string{"day", "item"}},
		},
	}
	planRules = filescan.Rules{
		What: "a plan", Least: planExample, MaxBytes: MaxFileBytes, MaxValues: maxValues, Remarks: true,
		Places: []filescan.Place{
			{Keys: []string{"format"}, Any: true},
			{Name: "plan", List: true, Keys: []string{"day", "item", "batches"}},
		},
	}
)

const planExample = `{"plan": [{"day": 2, "item": "P01", "batches": 1}]}`

// ReadPlan takes a plan from a JSON file: a season-plan-result/1, as the command
// prints it, or only {"plan":[{"day","item","batches"}]}; what else stands in it
// is passed over. name stands in the faults. Entries of one day and item add up,
// and those of no batches are left out. The rules of the season are not asked
// here, save that a day must be a bench day and an item known: Simulate says
// what a plan breaks.
//
// Errors: a fault.List of fault.Invalid, each with its line and its entry.
func ReadPlan(name string, data []byte, in *Instance) (Plan, error) {
	r, ok := filescan.JSON(name, data, planRules)
	if !ok {
		return nil, r.Err()
	}
	top := r.Top()
	if top.Choice("format", []string{ResultFormat}, func(int) {}); top.Bad("format") {
		return nil, r.Err()
	}
	g := map[ItemDay]int{}
	items := in.names(r.Top())
	for _, t := range top.Tables("plan", maxCount, `[{"day": 2, "item": "P01", "batches": 1}]`) {
		at, known := itemDay(in, items, t)
		n := upTo(maxCount, t, "batches", "1")
		if known {
			if g[at] += n; g[at] > maxCount {
				t.Wrong("batches", "%d batches of %s on day %d are more than the %d that are counted: write fewer",
					g[at], in.Items[at.Item].ID, at.Day, maxCount)
			}
		}
	}
	if err := r.Err(); err != nil {
		return nil, err
	}
	return planOf(g), nil
}

// names are the ids of the items, for a file that names them.
func (in *Instance) names(t *filescan.Table) *filescan.Names {
	n := &filescan.Names{What: "item", Whats: "items"}
	for i := range in.Items {
		n.Add(t, "", in.Items[i].ID)
	}
	return n
}

// itemDay reads the day and the item of an entry, and reports that both are of
// the season.
func itemDay(in *Instance, items *filescan.Names, t *filescan.Table) (at ItemDay, known bool) {
	day, dayOK := t.Whole("day", -maxCount, maxCount, "2")
	if _, is := in.DayIndex(day); dayOK && !is {
		t.Wrong("day", "day %d is no bench day%s", day, in.beside(day))
		dayOK = false
	}
	id := t.Name("item", maxName, strconv.Quote(in.Items[0].ID))
	if id == "" {
		return at, false
	}
	i, itemOK := items.Find(t, "item", id)
	return ItemDay{Item: i, Day: day}, dayOK && itemOK
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

// pinned reads how many are poured: 0 to what the item allows a day.
func pinned(in *Instance, t *filescan.Table, at ItemDay, known bool) int {
	n, ok := t.Whole("batches", 0, maxCount, "1, or 0 for none")
	if it := &in.Items[at.Item]; ok && known && n > it.MaxBatchesPerDay {
		t.Wrong("batches", "%d batches of %s on one day are too many: its %s is %d", n, it.ID, fault.Key("maxBatchesPerDay"), it.MaxBatchesPerDay)
	}
	return n
}

// Broken says which pins a plan does not keep, one sentence each; none when it
// keeps all.
func (p Pins) Broken(in *Instance, plan Plan) []string {
	g := plan.grid()
	var out []string
	for _, x := range p.Fixed {
		if n := g[ItemDay{x.Item, x.Day}]; n != x.Batches {
			out = append(out, fmt.Sprintf("%s on day %d is fixed at %s, and %d are poured",
				in.Items[x.Item].ID, x.Day, words.Count(x.Batches, "batch", "batches"), n))
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
	p.checkMinutes(in, &faults)
	p.checkMoulds(in, &faults)
	p.checkRack(in, &faults)
	p.checkComponents(in, &faults)
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

func (p Pins) checkMinutes(in *Instance, faults *fault.List) {
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
		if ks := who[b.Day]; taken[b.Day] > b.Minutes {
			faults.Add(fault.Invalidf(fixed(ks[len(ks)-1]),
				"the pours fixed on day %d take %d minutes, and it has %d: %s; fix fewer, or give that day more minutes",
				b.Day, taken[b.Day], b.Minutes, p.names(in, ks)))
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
			faults.Add(fault.Invalidf(fixed(who[len(who)-1]),
				"on day %d the fixed pours take %d sets of the mould %s, and there are %d: %s; fix one of them earlier or later",
				day, taken, in.Moulds[m].ID, in.Moulds[m].Count, p.names(in, who)))
		}
	}
}

func (p Pins) checkRack(in *Instance, faults *fault.List) {
	end := 7 * in.Weeks
	opening := openingRack(in)
	free := func(day int) int { return in.RackSlots - opening[day] }
	day, taken, who := p.over(free, func(x Pour) (int, int, int) {
		it := &in.Items[x.Item]
		return x.Day + it.MouldDays, min(x.Day+it.LeadDays, end), x.Batches * it.RackSlots
	})
	if who != nil {
		faults.Add(fault.Invalidf(fixed(who[len(who)-1]),
			"on day %d the fixed pours take %d places on the rack, and %d are free then: %s; fix fewer, or some of them later",
			day, taken, max(free(day), 0), p.names(in, who)))
	}
}

// checkComponents holds what fixed pours draw of a component against the most
// that could be ready by then: what is in stock, what is fixed, and on every day
// left free as many batches as the day, the moulds and the item allow.
func (p Pins) checkComponents(in *Instance, faults *fault.List) {
	pinned := map[ItemDay]int{}
	left := map[int]int{} // minutes of each bench day
	for _, b := range in.BenchDays {
		left[b.Day] = b.Minutes
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
				faults.Add(fault.Invalidf(fixed(who[len(who)-1]),
					"by day %d the fixed pours draw %d of %s, and at most %d can be ready by then: %s; fix them later, or leave earlier days free for %s",
					b.Day, drawn, it.ID, most, p.names(in, who), it.ID))
				break
			}
		}
	}
}
