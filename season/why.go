package season

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"barwright/internal/words"
	"barwright/quantity"
)

// Short says in which way a product runs short.
type Short uint8

const (
	// Lost counts units that customers asked for in a week and did not get.
	Lost Short = iota
	// LaunchShort counts units that are missing for a launch on its Monday.
	LaunchShort
	// BelowSafety counts units by which the stock at a week's end is below the
	// reserve.
	BelowSafety
	// EndShort counts units by which the last week's stock and everything still
	// curing fall short of the season's end target. Its week is the last one.
	EndShort
)

var shortNames = [...]string{Lost: "lost", LaunchShort: "launch", BelowSafety: "safety", EndShort: "end"}

// String is the word used in JSON: lost, launch, safety, end.
func (s Short) String() string { return shortNames[s] }

// MarshalJSON writes the word.
func (s Short) MarshalJSON() ([]byte, error) { return []byte(`"` + s.String() + `"`), nil }

// Shortage is a number of units of a product that are missing in a week.
type Shortage struct {
	Item, Week int // index into Items; weeks from 0
	Units      int // above 0
	Kind       Short
}

// where is the shortage without how much it is.
func (s Shortage) where() Shortage {
	s.Units = 0
	return s
}

// Reason says why a pour is in a plan: what would go wrong without this one pour,
// by exact simulation.
type Reason struct {
	Pour
	// Prevents is what would be missing in addition without the pour, by item,
	// week and kind. It is empty if the pour prevents no shortage.
	Prevents []Shortage
	// Strands are the pours that would lack a component without this one, with
	// the number of batches that could not be made. Only a component's pour can
	// have any.
	Strands []Pour
	// Saves is how much more the plan would cost without the pour. It is below 0
	// if the plan would be cheaper without it.
	Saves float64
}

// grid is the plan as batches by item and day, one entry for each pair.
func (p Plan) grid() map[ItemDay]int {
	g := map[ItemDay]int{}
	for _, x := range p {
		g[ItemDay{x.Item, x.Day}] += x.Batches
	}
	return g
}

// planOf turns a grid into a plan, sorted by day and then by item, without empty
// pours.
func planOf(g map[ItemDay]int) Plan {
	out := make(Plan, 0, len(g))
	for at, n := range g {
		if n > 0 {
			out = append(out, Pour{Day: at.Day, Item: at.Item, Batches: n})
		}
	}
	slices.SortFunc(out, func(a, b Pour) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Item, b.Item))
	})
	return out
}

// stranded is the part of a plan that cannot be poured because components are
// missing. Day by day, and in the order of making, each item is poured in as many
// batches as its components allow. Batches that lack a component are not poured
// later: this asks what a plan would come to, not what a maker would do.
func stranded(in *Instance, p Plan) Plan {
	var out Plan
	order, _ := making(in)
	place := make([]int, len(in.Items))
	for at, i := range order {
		place[i] = at
	}
	p = slices.Clone(p)
	slices.SortFunc(p, func(a, b Pour) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(place[a.Item], place[b.Item]))
	})
	stock := make([]int, len(in.Items))
	for i := range in.Items {
		stock[i] = in.Items[i].OpeningStock
	}
	var curing []Pour // components that are not ready yet; Day is the day on which they are
	for _, x := range p {
		rest := curing[:0]
		for _, c := range curing {
			if c.Day <= x.Day {
				stock[c.Item] += c.Batches * in.Items[c.Item].BatchUnits
			} else {
				rest = append(rest, c)
			}
		}
		curing = rest
		it := &in.Items[x.Item]
		can := x.Batches
		for _, u := range it.BOM {
			if u.Units > 0 {
				can = min(can, max(stock[u.Component], 0)/u.Units)
			}
		}
		for _, u := range it.BOM {
			stock[u.Component] -= can * u.Units
		}
		if it.Component && can > 0 {
			curing = append(curing, Pour{Day: x.Day + it.LeadDays, Item: x.Item, Batches: can})
		}
		if can < x.Batches {
			out = append(out, Pour{Day: x.Day, Item: x.Item, Batches: x.Batches - can})
		}
	}
	return planOf(out.grid())
}

// making is the order in which items can be made: components before the items
// that they go into, otherwise the order of the file. Where components go into
// themselves, by whatever way, there is no order but a circle of them, with the same
// one at both ends.
func making(in *Instance) (order, circle []int) {
	state := make([]byte, len(in.Items)) // 1 on the way, 2 done
	var way []int
	var visit func(i int) bool
	visit = func(i int) bool {
		if state[i] == 2 {
			return true
		}
		way = append(way, i)
		if state[i] == 1 {
			circle = way[slices.Index(way, i):]
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
		order = append(order, i)
		return true
	}
	for i := range in.Items {
		if !visit(i) {
			return nil, circle
		}
	}
	return order, nil
}

// Shortages lists all that a plan leaves missing, by item, then by week and kind,
// with the item's end last. It covers products only.
func Shortages(in *Instance, p Plan) []Shortage {
	r, _ := Simulate(in, p)
	return r.shortages(in)
}

func (r *Result) shortages(in *Instance) []Shortage {
	var out []Shortage
	for i := range in.Items {
		out = append(out, r.shortagesOf(in, i)...)
	}
	return out
}

func (r *Result) shortagesOf(in *Instance, i int) []Shortage {
	it, f := &in.Items[i], &r.Flows[i]
	if it.Component {
		return nil
	}
	var out []Shortage
	add := func(week, units int, kind Short) {
		if units > 0 {
			out = append(out, Shortage{Item: i, Week: week, Units: units, Kind: kind})
		}
	}
	for w := range in.Weeks {
		add(w, f.Lost[w], Lost)
		if it.Launch != nil && it.Launch.Week == w {
			add(w, f.LaunchShort, LaunchShort)
		}
		add(w, it.SafetyStock[w]-f.Stock[w], BelowSafety)
	}
	add(in.Weeks-1, f.EndShort, EndShort)
	return out
}

// beyond lists what after lacks in addition to before, in the order of after.
func beyond(before, after []Shortage) []Shortage {
	was := make(map[Shortage]int, len(before))
	for _, s := range before {
		was[s.where()] = s.Units
	}
	var out []Shortage
	for _, s := range after {
		if s.Units -= was[s.where()]; s.Units > 0 {
			out = append(out, s)
		}
	}
	return out
}

// Why gives the reason for every pour of a plan, in the plan's order. It takes
// out one pour at a time and simulates the season again. Without a component's
// pour, the items that use it are made, day by day, for as long as the component
// lasts; what they then lack is counted as prevented by the component's pour. If
// two other pours can each stand in for a pour, it prevents nothing alone and
// Prevents is empty.
//
// The plan must break no rule; Simulate says whether it does.
func Why(in *Instance, p Plan) []Reason {
	p = planOf(p.grid())
	t := tableOf(in, p)
	out := make([]Reason, len(p))
	for k, x := range p {
		var lacking Plan
		if in.Items[x.Item].Component {
			lacking = stranded(in, slices.Delete(slices.Clone(p), k, k+1))
		}
		gone := append(Plan{x}, lacking...)
		items := touched(in, gone...)
		before, cost := t.play(items)
		t.add(-1, gone...)
		after, without := t.play(items)
		t.add(1, gone...)
		out[k] = Reason{Pour: x, Prevents: beyond(before, after), Strands: lacking, Saves: without.Total() - cost.Total()}
	}
	return out
}

// touched lists the items whose course changes when pours change: the poured
// items and their components.
func touched(in *Instance, pours ...Pour) []int {
	var items []int
	for _, x := range pours {
		items = append(items, x.Item)
		for _, u := range in.Items[x.Item].BOM {
			items = append(items, u.Component)
		}
	}
	slices.Sort(items)
	return slices.Compact(items)
}

// table is a plan by item and bench day that can be simulated in part.
type table struct {
	in    *Instance
	pours [][]int
}

func tableOf(in *Instance, p Plan) *table {
	t := &table{in, make([][]int, len(in.Items))}
	for i := range t.pours {
		t.pours[i] = make([]int, len(in.BenchDays))
	}
	t.add(1, p...)
	return t
}

// add adds pours so many times over; with −1 it takes them out again. It passes over
// those on a day that is not a bench day.
func (t *table) add(times int, pours ...Pour) {
	for _, x := range pours {
		if j, ok := t.in.DayIndex(x.Day); ok {
			t.pours[x.Item][j] += times * x.Batches
		}
	}
}

// play simulates the plan for some items only. It returns what they lack and what
// they cost.
func (t *table) play(items []int) ([]Shortage, Cost) {
	r := Result{Flows: make([]Flow, len(t.in.Items))}
	var missing []Shortage
	for _, i := range items {
		it := &t.in.Items[i]
		for _, n := range t.pours[i] {
			if n > 0 {
				r.Cost.Setup += it.SetupCost
				r.Cost.Batch += it.BatchCost * float64(n)
			}
		}
		if it.Component {
			simulateComponent(t.in, i, t.pours, &r)
			continue
		}
		simulateProduct(t.in, i, t.pours[i], &r)
		missing = append(missing, r.shortagesOf(t.in, i)...)
	}
	return missing, r.Cost
}

// Words says the reason in a sentence, for a terminal. pins may be the zero Pins.
func (r *Reason) Words(in *Instance, pins Pins) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Pour %d of %s on day %d (week %d): ", r.Batches, in.Items[r.Item].Name, r.Day, r.Day/7)
	told, lacking := r.told(in), r.lacking(in)
	switch {
	case len(told) > 0 && lacking != "":
		fmt.Fprintf(&b, "without it, %s, since %s would lack it", words.List(told), lacking)
	case len(told) > 0:
		b.WriteString("without it, " + words.List(told))
	case lacking != "":
		fmt.Fprintf(&b, "nothing would be missing without it, but %s would lack it", lacking)
	case slices.Contains(pins.Fixed, r.Pour):
		b.WriteString("you fixed it; nothing would be missing without it")
	case r.Saves > 0:
		fmt.Fprintf(&b, "nothing would be missing without it, but it saves %s", quantity.Number(r.Saves, 2))
	default:
		b.WriteString("nothing would be missing without it")
	}
	return b.String() + "."
}

// told says what a pour prevents, the most serious kind first. A short reserve is
// mentioned only if nothing more serious is said of the same item.
func (r *Reason) told(in *Instance) []string {
	var out []string
	graver := map[int]bool{}
	for _, run := range runs(r.Prevents) {
		if run.kind == BelowSafety && graver[run.item] {
			continue
		}
		graver[run.item] = true
		out = append(out, run.would(in, r.Item))
	}
	return out
}

// lacking names the pours that would lack a component, or "" for none.
func (r *Reason) lacking(in *Instance) string {
	parts := make([]string, 0, len(r.Strands))
	for _, s := range r.Strands {
		parts = append(parts, fmt.Sprintf("%s of %s on day %d", words.Count(s.Batches, "batch", "batches"), in.Items[s.Item].Name, s.Day))
	}
	return words.Some(parts, 2, "more pours")
}

// run is the shortages of one item and kind, in one week or several.
type run struct {
	item        int
	kind        Short
	first, last int // weeks
	units, most int // in all, and the most in one week
	weeks       int
}

// runs groups shortages by item and kind: lost sales and short launches first,
// short reserves last, otherwise in the given order.
func runs(ss []Shortage) []run {
	var out []run
	at := map[Shortage]int{}
	for _, s := range ss {
		key := Shortage{Item: s.Item, Kind: s.Kind}
		k, there := at[key]
		if !there {
			k = len(out)
			at[key] = k
			out = append(out, run{item: s.Item, kind: s.Kind, first: s.Week})
		}
		r := &out[k]
		r.last, r.units, r.most = s.Week, r.units+s.Units, max(r.most, s.Units)
		r.weeks++
	}
	grave := [...]int{Lost: 0, LaunchShort: 1, EndShort: 2, BelowSafety: 3}
	slices.SortStableFunc(out, func(a, b run) int { return cmp.Compare(grave[a.kind], grave[b.kind]) })
	return out
}

// when names the weeks of a run.
func (r *run) when() string {
	switch {
	case r.weeks == 1:
		return fmt.Sprintf("in week %d", r.first)
	case r.weeks == 2 && r.last == r.first+1:
		return fmt.Sprintf("in weeks %d and %d", r.first, r.last)
	}
	return fmt.Sprintf("from week %d on", r.first)
}

// would says what would be missing. The item is named unless it is the known one.
func (r *run) would(in *Instance, known int) string {
	name, of, its := in.Items[r.item].Name, "", "the"
	if r.item != known {
		of, its = " of "+name, "the "+name
	}
	switch r.kind {
	case Lost:
		return fmt.Sprintf("%d%s would be missing %s", r.units, of, r.when())
	case LaunchShort:
		return fmt.Sprintf("%s launch in week %d would be %d short", its, r.first, r.units)
	case EndShort:
		return fmt.Sprintf("the season would end %d%s short", r.units, of)
	}
	return fmt.Sprintf("the reserve%s would be up to %d short %s", of, r.most, r.when())
}
