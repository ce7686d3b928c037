package season

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/filescan"
)

// MaxFileBytes is the most that a file of a season, of pins or of a plan may have.
const MaxFileBytes = 64 << 20

// What a season may have at most. A plan of ten years for a thousand products is
// beyond what one pair of hands pours, and bounds the memory of the search.
const (
	maxWeeks = 520
	maxItems = 1000
	maxCount = 1_000_000 // units, minutes, places, batches

	maxName   = 200       // characters
	maxMoney  = 1e9       // above it cents are lost to rounding
	maxValues = 3_000_000 // of a file; a season of 500 products and ten years has a quarter of them
)

// productKeys say something of products only.
var productKeys = []string{"demand", "lostSalePenalty", "safetyStock", "safetyPenaltyPerUnitWeek",
	"endPositionTarget", "endPositionPenalty", "openingCure", "launch"}

// fileRules are the keys of a season's file.
var fileRules = filescan.Rules{
	What: "a season", Least: `"format", "weeks", "rackSlots", "moulds", "benchDays" and "items"`,
	MaxBytes: MaxFileBytes, MaxValues: maxValues, Remarks: true,
	Places: []filescan.Place{
		{Keys: []string{"format", "name", "daysPerWeek", "startWeekOfYear", "weeks", "rackSlots"}},
		{Name: "moulds", List: true, Keys: []string{"id", "count"}},
		{Name: "benchDays", List: true, Keys: []string{"day", "minutes"}},
		{Name: "items", List: true, Keys: slices.Concat([]string{"id", "name", "kind", "batchUnits", "mould", "mouldDays", "leadDays", "rackSlots",
			"setupMinutes", "batchMinutes", "setupCost", "batchCost", "maxBatchesPerDay", "holdingPerUnitWeek", "openingStock"}, productKeys)},
		{Name: "items.bom", List: true, Keys: []string{"component", "unitsPerBatch"}},
		{Name: "items.openingCure", List: true, Keys: []string{"readyDay", "batches"}},
		{Name: "items.launch", Keys: []string{"week", "stockNeeded", "shortPenalty"}},
	},
}

// file is a season's file that is being read.
type file struct {
	*Instance
	top           *filescan.Table
	anyWeeks      bool // how many weeks there are could not be read, so no list is too long
	moulds, items filescan.Names
	noProduct     []bool // of each item: it is a component, or its kind could not be read
}

// Read takes a season from a file of form season-plan/1. name appears in the
// faults; all of them are given at once, in a fault.List, each with its line and
// its entry. A season that Read gives has at least one bench day and one item,
// and the plan that pours nothing breaks none of its rules.
func Read(name string, data []byte) (*Instance, error) {
	r, ok := filescan.JSON(name, data, fileRules)
	if !ok {
		return nil, r.Err()
	}
	top := r.Top()
	top.Choice("format", []string{Format}, func(int) {}, strconv.Quote(Format))
	if top.Bad("format") && top.Has("format") {
		return nil, r.Err() // what follows would be measured by the wrong rule
	}
	f := &file{Instance: &Instance{Name: "season"}, top: top}
	if top.Has("name") {
		f.Name = top.Name("name", maxName)
	}
	top.Whole("daysPerWeek", 7, 7)
	top.Whole("startWeekOfYear", 1, 53)
	if f.Weeks, ok = top.Whole("weeks", 1, maxWeeks, "26"); !ok {
		f.Weeks, f.anyWeeks = maxWeeks, true
	}
	f.RackSlots = upTo(maxCount, top, "rackSlots", "32")
	f.moulds = filescan.Names{What: "mould", Whats: "moulds"}
	for _, t := range top.Tables("moulds", maxCount, `[{"id": "loaf", "count": 2}]`) {
		m := Mould{ID: t.Name("id", maxName, `"loaf"`), Count: upTo(maxCount, t, "count", "2")}
		f.moulds.Add(t, "id", m.ID)
		f.Moulds = append(f.Moulds, m)
	}
	f.moulds.Lost = f.moulds.Lost || top.Bad("moulds")
	f.readBenchDays()
	f.readItems()
	if r.OK() {
		checkCycles(f.Instance, r)
		checkRack(f.Instance, top)
	}
	if err := r.Err(); err != nil {
		return nil, err
	}
	return f.Instance, nil
}

// upTo reads a whole number from 0 to most.
func upTo(most int, t *filescan.Table, key string, write ...string) int {
	n, _ := t.Whole(key, 0, most, write...)
	return n
}

// some reads a whole number of which there is at least one.
func some(t *filescan.Table, key, example string) int {
	n, _ := t.Whole(key, 1, maxCount, example)
	return n
}

// money reads an amount.
func money(t *filescan.Table, key string, write ...string) float64 {
	return t.Between(key, 0, maxMoney, write...)
}

func (f *file) readBenchDays() {
	const example = `{"day": 2, "minutes": 240}`
	last := 7*f.Weeks - 1
	seen := map[int]int{}
	for i, t := range f.top.Tables("benchDays", maxCount, "["+example+"]") {
		b := BenchDay{Minutes: upTo(maxCount, t, "minutes", "240")}
		var ok bool
		b.Day, ok = t.Whole("day", -maxCount, maxCount, "2")
		was, twice := seen[b.Day]
		switch {
		case !ok:
		case b.Day < 0 || b.Day > last:
			t.Wrong("day", "day %d is outside the season, whose %d weeks are days 0 to %d: leave it out, or write more weeks", b.Day, f.Weeks, last)
		case twice:
			t.Wrong("day", "day %d is also entry %d: keep one of them, with all its minutes", b.Day, was)
		default:
			seen[b.Day] = i + 1
		}
		f.BenchDays = append(f.BenchDays, b)
	}
	if f.top.Empty("benchDays") {
		f.top.Wrong("benchDays", "there is no bench day, so nothing can be poured: write at least one, such as %s", example)
	}
	slices.SortFunc(f.BenchDays, func(a, b BenchDay) int { return a.Day - b.Day })
}

func (f *file) readItems() {
	list := f.top.Tables("items", maxItems, `[{"id": "P01", "kind": "product", …}]`)
	if f.top.Empty("items") {
		f.top.Wrong("items", "there is nothing to pour: write at least one item")
	}
	// The ids come first: an item may use a component that is written after it.
	f.items = filescan.Names{What: "item", Whats: "items"}
	for _, t := range list {
		it := Item{ID: t.Name("id", maxName, `"P01"`)}
		f.items.Add(t, "id", it.ID)
		t.Called(it.ID)
		t.Choice("kind", []string{"product", "component"}, func(i int) { it.Component = i == 1 }, `"product" or "component"`)
		f.noProduct = append(f.noProduct, it.Component || t.Bad("kind"))
		f.Items = append(f.Items, it)
	}
	for i, t := range list {
		it := &f.Items[i]
		f.readItem(t, it)
		if !f.noProduct[i] {
			f.readProduct(t, it)
		}
		if !it.Component {
			continue
		}
		for _, key := range productKeys {
			switch {
			case !t.Has(key) || t.Empty(key):
			case key == "openingCure":
				t.Wrong(key, "a component is not sold, so this says nothing: leave it out, and count what is ready in %s", fault.Key("openingStock"))
			default:
				t.Wrong(key, "a component is not sold, so this says nothing: leave it out")
			}
		}
	}
}

// readItem reads what products and components have in common.
func (f *file) readItem(t *filescan.Table, it *Item) {
	if it.Name = it.ID; t.Has("name") {
		it.Name = t.Name("name", maxName)
	}
	it.BatchUnits = some(t, "batchUnits", "18")
	if m := t.Name("mould", maxName, `"loaf"`); m != "" {
		it.Mould, _ = f.moulds.Find(t, "mould", m)
	}
	it.MouldDays = upTo(7*maxWeeks, t, "mouldDays", "1")
	it.LeadDays = upTo(7*maxWeeks, t, "leadDays", "28")
	if it.LeadDays < it.MouldDays && !t.Bad("leadDays") && !t.Bad("mouldDays") {
		t.Wrong("leadDays", "%d is less than %s, %d: a batch is ready when it is out of its mould at the earliest; raise %s",
			it.LeadDays, fault.Key("mouldDays"), it.MouldDays, fault.Key("leadDays"))
	}
	it.RackSlots = upTo(maxCount, t, "rackSlots")
	it.SetupMinutes = upTo(maxCount, t, "setupMinutes")
	it.BatchMinutes = upTo(maxCount, t, "batchMinutes", "75")
	it.SetupCost = money(t, "setupCost")
	it.BatchCost = money(t, "batchCost")
	it.MaxBatchesPerDay = upTo(1000, t, "maxBatchesPerDay", "2")
	it.Holding = money(t, "holdingPerUnitWeek")
	it.OpeningStock = upTo(maxCount, t, "openingStock")
	used := filescan.Names{}
	for _, u := range t.Tables("bom", maxCount) {
		id := u.Name("component", maxName, `"star embeds"`)
		used.Add(u, "component", id)
		use := Use{Units: some(u, "unitsPerBatch", "18")}
		if id == "" {
			continue
		}
		var ok bool
		if use.Component, ok = f.items.Find(u, "component", id); ok && !f.noProduct[use.Component] {
			u.Wrong("component", `%q is a product, and only components go into others: write "kind": "component" for it, or name one that is`,
				filescan.Short(id))
		}
		it.BOM = append(it.BOM, use)
	}
}

func (f *file) readProduct(t *filescan.Table, it *Item) {
	units := func(t *filescan.Table, key string) int { return upTo(maxCount, t, key) }
	amounts := func(t *filescan.Table, key string) float64 { return money(t, key) }
	it.Demand = weekly(f, t, "demand", units, "a list of units, one for each week", "[4, 6, …]")
	it.LostSale = weekly(f, t, "lostSalePenalty", amounts, "a list of amounts, one for each week", "[5, 4.9, …]")
	it.SafetyStock = weekly(f, t, "safetyStock", units)
	it.SafetyPenalty = money(t, "safetyPenaltyPerUnitWeek")
	it.EndTarget = upTo(maxCount, t, "endPositionTarget")
	it.EndPenalty = money(t, "endPositionPenalty")
	for _, c := range t.Tables("openingCure", maxCount) {
		cure := Curing{ReadyDay: upTo(maxCount, c, "readyDay", "7"), Batches: some(c, "batches", "1")}
		if weekOf(cure.ReadyDay) >= f.Weeks && !f.anyWeeks {
			c.Wrong("readyDay", "day %d is after the season's last Monday, day %d, so nothing of it is sold: leave the entry out and take its units off %s",
				cure.ReadyDay, 7*(f.Weeks-1), fault.Key("endPositionTarget"))
		}
		it.OpeningCure = append(it.OpeningCure, cure)
	}
	if !t.Has("launch") {
		return
	}
	l := t.Table("launch")
	week, ok := l.Whole("week", -maxCount, maxCount, "8")
	if ok && (week < 0 || week >= f.Weeks) {
		l.Wrong("week", "the launch is in week %d, outside the season, whose weeks are 0 to %d: move it, or write more weeks", week, f.Weeks-1)
	}
	it.Launch = &Launch{Week: week, StockNeeded: upTo(maxCount, l, "stockNeeded", "20"), ShortPenalty: money(l, "shortPenalty", "4")}
}

// weekly reads a list with one entry for each week; all are zero where it is left
// out and may be.
func weekly[T any](f *file, t *filescan.Table, key string, one func(*filescan.Table, string) T, write ...string) []T {
	out := make([]T, f.Weeks)
	l := t.List(key, write...)
	if !t.Has(key) || t.Bad(key) {
		return out
	}
	if n := l.Len(); n != f.Weeks && !f.anyWeeks {
		t.Wrong(key, "the list has %d of the %d weeks of the season: write one entry for each week", n, f.Weeks)
		return out
	}
	for w := range min(l.Len(), f.Weeks) {
		out[w] = one(l, strconv.Itoa(w+1))
	}
	return out
}

// checkCycles refuses components that go into themselves.
func checkCycles(in *Instance, r *filescan.Reader) {
	_, circle := making(in)
	if circle == nil {
		return
	}
	var ids []string
	for _, i := range circle {
		ids = append(ids, fmt.Sprintf("%q", filescan.Short(in.Items[i].ID)))
	}
	path := fmt.Sprintf("items.%d.bom", circle[0]+1)
	r.Wrong(r.Line(path), path, "components go round in a circle: %s: take one of these uses out", strings.Join(ids, " uses "))
}

// checkRack refuses a season whose rack is too full before anything is poured.
func checkRack(in *Instance, top *filescan.Table) {
	for d, n := range openingRack(in) {
		if n > in.RackSlots {
			top.Wrong("rackSlots", "what cures at the start (%s) takes %d places on day %d, and the rack has %d: raise %s, or leave out what lies elsewhere",
				fault.Key("openingCure"), n, d, in.RackSlots, fault.Key("rackSlots"))
			return
		}
	}
}

// DayIndex finds a day among BenchDays; false where it is none.
func (in *Instance) DayIndex(day int) (int, bool) {
	return slices.BinarySearchFunc(in.BenchDays, day, func(b BenchDay, day int) int { return b.Day - day })
}
