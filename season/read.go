package season

import (
	"fmt"
	"slices"
	"strings"

	"barwright/internal/words"
)

// What a season may have at most. A plan of ten years for a thousand products is
// beyond what one pair of hands pours, and bounds the memory of the search.
const (
	maxWeeks = 520
	maxItems = 1000
	maxCount = 1_000_000 // units, minutes, places, batches
)

// Read takes a season from a file of form season-plan/1. name stands in the
// faults; all of them are given at once, in a fault.List, each with its line and
// its entry. A season that Read gives has at least one bench day and one item,
// and the plan that pours nothing breaks none of its rules.
func Read(name string, data []byte) (*Instance, error) {
	r := &reader{file: name}
	v, ok := r.parse(data, "a season", `"format", "weeks", "rackSlots", "moulds", "benchDays" and "items"`)
	if !ok {
		return nil, r.faults.Err()
	}
	in := &Instance{}
	o := r.object(v, "")
	if f := o.text("format", `"`+Format+`"`); f != "" && f != Format {
		o.fault(o.line("format"), "format", "%q will not do: this reads %q", clip(f), Format)
		return nil, r.faults.Err()
	}
	if in.Name = "season"; o.get("name", "") != nil {
		in.Name = o.text("name", "")
	}
	if o.get("daysPerWeek", "") != nil {
		o.whole("daysPerWeek", "", 7, 7)
	}
	if o.get("startWeekOfYear", "") != nil {
		o.whole("startWeekOfYear", "", 1, 53)
	}
	in.Weeks = o.whole("weeks", "26", 1, maxWeeks)
	if len(r.faults) > 0 {
		in.Weeks, r.loose = maxWeeks, true // that is said; what hangs on it is not
	}
	in.RackSlots = o.whole("rackSlots", "32", 0, maxCount)
	moulds := readMoulds(in, o)
	readBenchDays(in, o)
	readItems(in, o, moulds)
	o.rest()
	if len(r.faults) == 0 {
		checkCycles(in, o)
		checkRack(in, o)
	}
	if err := r.faults.Err(); err != nil {
		return nil, err
	}
	return in, nil
}

// first notes that entry nr has name under key, and reports whether it is new; a
// doubled one is a fault.
func first(o *object, seen map[string]int, key, name string, nr int) bool {
	if name == "" {
		return false
	}
	if was, twice := seen[name]; twice {
		o.fault(o.line(key), key, "%q is also the %s of entry %d: give every entry its own", clip(name), key, was)
		return false
	}
	seen[name] = nr
	return true
}

func readMoulds(in *Instance, top *object) map[string]int {
	at, seen := map[string]int{}, map[string]int{}
	for i, v := range top.items("moulds", `[{"id": "loaf", "count": 2}]`) {
		o := top.r.object(&v, fmt.Sprintf("moulds.%d.", i+1))
		m := Mould{ID: o.text("id", `"loaf"`)}
		if first(o, seen, "id", m.ID, i+1) {
			at[m.ID] = len(in.Moulds)
		}
		m.Count = o.whole("count", "2", 0, maxCount)
		in.Moulds = append(in.Moulds, m)
		o.rest()
	}
	return at
}

func readBenchDays(in *Instance, top *object) {
	list := top.items("benchDays", `[{"day": 2, "minutes": 240}]`)
	last := 7*in.Weeks - 1
	seen := map[int]int{}
	for i, v := range list {
		o := top.r.object(&v, fmt.Sprintf("benchDays.%d.", i+1))
		var b BenchDay
		if d := o.get("day", "2"); d != nil {
			if f, ok := numberOf(d); ok && f == float64(int(f)) && (f < 0 || f > float64(last)) && f > -maxCount && f < maxCount {
				o.fault(d.line, "day", "day %d is outside the season, whose %d weeks are days 0 to %d: leave it out, or write more weeks", int(f), in.Weeks, last)
			} else {
				b.Day = o.wholeOf(d, "day", 0, last)
				if was, twice := seen[b.Day]; twice {
					o.fault(d.line, "day", "day %d is also entry %d: leave one of them, with all its minutes", b.Day, was)
				}
				seen[b.Day] = i + 1
			}
		}
		b.Minutes = o.whole("minutes", "240", 0, maxCount)
		in.BenchDays = append(in.BenchDays, b)
		o.rest()
	}
	if v := top.get("benchDays", ""); v != nil && v.kind == '[' && len(list) == 0 {
		top.fault(v.line, "benchDays", `there is no bench day, so nothing can be poured: write at least one, as {"day": 2, "minutes": 240}`)
	}
	slices.SortFunc(in.BenchDays, func(a, b BenchDay) int { return a.Day - b.Day })
}

func readItems(in *Instance, top *object, moulds map[string]int) {
	list := top.items("items", `[{"id": "P01", "kind": "product", …}]`)
	if v := top.get("items", ""); v != nil && v.kind == '[' && len(list) == 0 {
		top.fault(v.line, "items", "there is nothing to pour: write at least one item")
	}
	if len(list) > maxItems {
		top.fault(top.line("items"), "items", "%d are too many: a season has %d items at most", len(list), maxItems)
		return
	}
	// The ids first: an item may use a component that stands after it.
	at, kinds, seen := map[string]int{}, map[string]string{}, map[string]int{}
	var ids []string
	for i := range list {
		quiet := &object{r: &reader{}, v: &list[i]}
		if id := quiet.text("id", ""); id != "" {
			if _, twice := at[id]; !twice {
				at[id], kinds[id] = i, quiet.text("kind", "")
				ids = append(ids, id)
			}
		}
	}
	var components []string
	for _, id := range ids {
		if kinds[id] == "component" {
			components = append(components, id)
		}
	}
	names := make([]string, 0, len(moulds))
	for _, m := range in.Moulds {
		names = append(names, m.ID)
	}
	for i := range list {
		o := top.r.object(&list[i], fmt.Sprintf("items.%d.", i+1))
		var it Item
		if it.ID = o.text("id", `"P01"`); it.ID != "" {
			first(o, seen, "id", it.ID, i+1)
			o.who = fmt.Sprintf("of %q, ", clip(it.ID))
		}
		if it.Name = it.ID; o.get("name", "") != nil {
			it.Name = o.text("name", "")
		}
		kind := o.text("kind", `"product" or "component"`)
		switch kind {
		case "product", "":
		case "component":
			it.Component = true
		default:
			o.fault(o.line("kind"), "kind", `%q will not do: write "product" or "component"`, clip(kind))
		}
		it.BatchUnits = o.whole("batchUnits", "18", 1, maxCount)
		if m := o.text("mould", `"loaf", one of moulds`); m != "" {
			var known bool
			if it.Mould, known = moulds[m]; !known {
				o.fault(o.line("mould"), "mould", "%q is none of moulds%s; list it there, or name one that is", clip(m), words.Meant(m, names))
			}
		}
		days, before := 7*maxWeeks, len(top.r.faults)
		it.MouldDays = o.whole("mouldDays", "1", 0, days)
		it.LeadDays = o.whole("leadDays", "28", 0, days)
		if it.LeadDays < it.MouldDays && len(top.r.faults) == before {
			o.fault(o.line("leadDays"), "leadDays", "%d is less than mouldDays, %d: a batch is ready when it is out of its mould at the earliest; raise leadDays", it.LeadDays, it.MouldDays)
		}
		it.RackSlots = o.whole("rackSlots", "", 0, maxCount)
		it.SetupMinutes = o.whole("setupMinutes", "", 0, maxCount)
		it.BatchMinutes = o.whole("batchMinutes", "75", 0, maxCount)
		it.SetupCost = o.money("setupCost", "")
		it.BatchCost = o.money("batchCost", "")
		it.MaxBatchesPerDay = o.whole("maxBatchesPerDay", "2", 0, 1000)
		it.Holding = o.money("holdingPerUnitWeek", "")
		it.OpeningStock = o.whole("openingStock", "", 0, maxCount)
		readUses(&it, o, at, kinds, components)
		if it.Component {
			for _, key := range productKeys {
				if v := o.get(key, ""); v != nil && !(v.kind == '[' && len(v.list) == 0) {
					o.fault(v.line, key, "a component is not sold, so this says nothing: leave it out%s", map[bool]string{true: ", and count what is ready in openingStock"}[key == "openingCure"])
				}
			}
		} else {
			readProduct(in, &it, o)
		}
		in.Items = append(in.Items, it)
		o.rest()
	}
}

var productKeys = []string{"demand", "lostSalePenalty", "safetyStock", "safetyPenaltyPerUnitWeek", "endPositionTarget", "endPositionPenalty", "openingCure", "launch"}

func readUses(it *Item, o *object, at map[string]int, kinds map[string]string, components []string) {
	used := map[string]int{}
	for j, v := range o.items("bom", "") {
		u := o.r.object(&v, fmt.Sprintf("%sbom.%d.", o.path, j+1))
		u.who = o.who
		id := u.text("component", `"star embeds"`)
		units := u.whole("unitsPerBatch", "18", 1, maxCount)
		u.rest()
		k, known := at[id]
		switch {
		case id == "":
			continue
		case !known:
			u.fault(u.line("component"), "component", "%q is none of items%s; list it there as a component, or name one that is", clip(id), words.Meant(id, components))
			continue
		case kinds[id] != "component":
			u.fault(u.line("component"), "component", `%q is a product, and only components go into others: write "kind": "component" for it, or name one that is`, clip(id))
			continue
		}
		if first(u, used, "component", id, j+1) {
			it.BOM = append(it.BOM, Use{Component: k, Units: units})
		}
	}
}

func readProduct(in *Instance, it *Item, o *object) {
	it.Demand = weekly(in, o, "demand", "a list of units, one for each week", func(v *value, key string) int { return o.wholeOf(v, key, 0, maxCount) })
	it.LostSale = weekly(in, o, "lostSalePenalty", "a list of amounts, one for each week", o.moneyOf)
	it.SafetyStock = weekly(in, o, "safetyStock", "", func(v *value, key string) int { return o.wholeOf(v, key, 0, maxCount) })
	it.SafetyPenalty = o.money("safetyPenaltyPerUnitWeek", "")
	it.EndTarget = o.whole("endPositionTarget", "", 0, maxCount)
	it.EndPenalty = o.money("endPositionPenalty", "")
	for j, v := range o.items("openingCure", "") {
		c := o.r.object(&v, fmt.Sprintf("%sopeningCure.%d.", o.path, j+1))
		c.who = o.who
		cure := Curing{ReadyDay: c.whole("readyDay", "7", 0, maxCount), Batches: c.whole("batches", "1", 1, maxCount)}
		if w := weekOf(cure.ReadyDay); w >= in.Weeks && !c.r.loose {
			c.fault(c.line("readyDay"), "readyDay", "day %d is after the season's last Monday, day %d, so nothing of it is sold: leave the entry out and take its units off endPositionTarget", cure.ReadyDay, 7*(in.Weeks-1))
		}
		it.OpeningCure = append(it.OpeningCure, cure)
		c.rest()
	}
	if v := o.get("launch", ""); v != nil {
		l := o.r.object(v, o.path+"launch.")
		l.who = o.who
		launch := Launch{}
		if w := l.get("week", "8"); w != nil {
			if f, ok := numberOf(w); ok && f == float64(int(f)) && (f < 0 || f >= float64(in.Weeks)) && f > -maxCount && f < maxCount {
				l.fault(w.line, "week", "the launch is in week %d, outside the season, whose weeks are 0 to %d: move it, or write more weeks", int(f), in.Weeks-1)
			} else {
				launch.Week = l.wholeOf(w, "week", 0, in.Weeks-1)
			}
		}
		launch.StockNeeded = l.whole("stockNeeded", "20", 0, maxCount)
		launch.ShortPenalty = l.money("shortPenalty", "4")
		it.Launch = &launch
		l.rest()
	}
}

// weekly reads a list with one entry for each week; all zero where it is left
// out and may be.
func weekly[T any](in *Instance, o *object, key, example string, one func(*value, string) T) []T {
	v := o.get(key, example)
	if v == nil {
		return make([]T, in.Weeks)
	}
	if v.kind != '[' {
		o.fault(v.line, key, "this is to be a list of %d, one for each week, and is %s", in.Weeks, v.name())
		return make([]T, in.Weeks)
	}
	if len(v.list) != in.Weeks && !o.r.loose {
		given := "1 entry is"
		if len(v.list) != 1 {
			given = fmt.Sprintf("%d entries are", len(v.list))
		}
		o.fault(v.line, key, "%s given and the season has %d weeks: write one for each", given, in.Weeks)
		return make([]T, in.Weeks)
	}
	out := make([]T, len(v.list))
	for w := range v.list {
		out[w] = one(&v.list[w], fmt.Sprintf("%s.%d", key, w+1))
	}
	return out
}

// checkCycles refuses components that go into themselves, by whatever way.
func checkCycles(in *Instance, top *object) {
	state := make([]byte, len(in.Items)) // 1 on the way, 2 done
	var way []int
	var visit func(i int) bool
	visit = func(i int) bool {
		if state[i] == 2 {
			return true
		}
		way = append(way, i)
		if state[i] == 1 {
			var ids []string
			for _, k := range way[slices.Index(way, i):] {
				ids = append(ids, fmt.Sprintf("%q", clip(in.Items[k].ID)))
			}
			top.fault(top.line("items"), fmt.Sprintf("items.%d.bom", i+1), "components go round in a circle: %s: take one of these uses out", strings.Join(ids, " uses "))
			return false
		}
		state[i] = 1
		for _, u := range in.Items[i].BOM {
			if !visit(u.Component) {
				return false
			}
		}
		state[i] = 2
		way = way[:len(way)-1]
		return true
	}
	for i := range in.Items {
		if !visit(i) {
			return
		}
	}
}

// checkRack refuses a season whose rack is too full before anything is poured.
func checkRack(in *Instance, top *object) {
	full := openingRack(in)
	for d, n := range full {
		if n > in.RackSlots {
			top.fault(top.line("rackSlots"), "rackSlots", "what cures at the start (openingCure) takes %d places on day %d, and the rack has %d: raise rackSlots, or leave out what stands elsewhere", n, d, in.RackSlots)
			return
		}
	}
}

// ItemByID finds an item; false where there is none of that id.
func (in *Instance) ItemByID(id string) (int, bool) {
	i := slices.IndexFunc(in.Items, func(it Item) bool { return it.ID == id })
	return i, i >= 0
}

// DayIndex finds a day among BenchDays; false where it is none.
func (in *Instance) DayIndex(day int) (int, bool) {
	return slices.BinarySearchFunc(in.BenchDays, day, func(b BenchDay, day int) int { return b.Day - day })
}
