package season

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"barwright/internal/words"
	"barwright/quantity"
)

// Difference is what changes for a season when plan B is taken instead of plan A.
type Difference struct {
	A, B Cost
	// Changes lead from A to B. Moved pours come first, then added, then dropped
	// ones, each sorted by item and day.
	Changes []Change
	// Shortages are those that differ, by item, week and kind.
	Shortages []ShortageChange
}

// Change is one step from plan A to plan B: some batches of an item are moved
// from one day to another, added on a day, or dropped from a day.
type Change struct {
	Item     int // index into Items
	Batches  int // above 0
	From, To int // days; From is NoDay for an added pour, To is NoDay for a dropped one
	// Cost is what this step costs once all steps before it are done, part by
	// part. It is below 0 where the step saves. So the costs of all changes add
	// up to the whole difference. The cost of a single step depends on the order
	// of the steps, because two pours may serve the same customers.
	Cost Cost
}

// NoDay stands for the missing day of a Change.
const NoDay = -1

// ShortageChange is a shortage that is not the same under both plans.
type ShortageChange struct {
	Item, Week int
	Kind       Short
	A, B       int // units missing under each, at least 0
}

// Minus is c minus d, part by part.
func (c Cost) Minus(d Cost) Cost {
	return Cost{
		Setup: c.Setup - d.Setup, Batch: c.Batch - d.Batch, Holding: c.Holding - d.Holding, ComponentHolding: c.ComponentHolding - d.ComponentHolding,
		Lost: c.Lost - d.Lost, Safety: c.Safety - d.Safety, Launch: c.Launch - d.Launch, End: c.End - d.End,
	}
}

// CostPart is one part of a cost under its name.
type CostPart struct {
	Key   string // as in JSON: setup, batch, holding, component_holding, lost, safety, launch, end
	Words string
	Value float64
}

// Parts gives the parts of a cost in a fixed order.
func (c Cost) Parts() []CostPart {
	return []CostPart{
		{"setup", "setting up", c.Setup}, {"batch", "batches", c.Batch}, {"holding", "holding", c.Holding},
		{"component_holding", "holding components", c.ComponentHolding},
		{"lost", "lost sales", c.Lost}, {"safety", "short reserves", c.Safety}, {"launch", "short launches", c.Launch}, {"end", "a short end", c.End},
	}
}

// Compare says how two plans of a season differ: which pours, what each change
// costs, and which shortages change. A plan compared with itself, in whatever
// order it is written, gives no difference.
func Compare(in *Instance, a, b Plan) Difference {
	ga, gb := a.grid(), b.grid()
	ra, _ := Simulate(in, planOf(ga))
	rb, _ := Simulate(in, planOf(gb))
	d := Difference{A: ra.Cost, B: rb.Cost, Changes: changes(in, ga, gb), Shortages: shortageChanges(ra.shortages(in), rb.shortages(in))}
	t := tableOf(in, planOf(ga))
	for k := range d.Changes {
		c := &d.Changes[k]
		items := touched(in, Pour{Item: c.Item})
		_, before := t.play(items)
		t.add(-1, Pour{c.From, c.Item, c.Batches})
		t.add(1, Pour{c.To, c.Item, c.Batches})
		// Between the two plans, a step may leave a day with too many minutes or
		// a component below 0 for a while. Only A and B need keep the rules; the
		// costs are exact all the same.
		_, after := t.play(items)
		c.Cost = after.Minus(before)
	}
	return d
}

// changes pairs the batches that only b pours with those that only a pours, item
// by item, nearest days first. Each pair is a move. What is left over is added or
// dropped.
func changes(in *Instance, a, b map[ItemDay]int) []Change {
	var moved, added, dropped []Change
	type pair struct{ from, to int }
	for i := range in.Items {
		less, more := map[int]int{}, map[int]int{}
		var pairs []pair
		for _, bd := range in.BenchDays {
			at := ItemDay{i, bd.Day}
			switch n := b[at] - a[at]; {
			case n < 0:
				less[bd.Day] = -n
			case n > 0:
				more[bd.Day] = n
			}
		}
		for from := range less {
			for to := range more {
				pairs = append(pairs, pair{from, to})
			}
		}
		slices.SortFunc(pairs, func(x, y pair) int {
			return cmp.Or(cmp.Compare(far(x.from, x.to), far(y.from, y.to)), cmp.Compare(x.from, y.from), cmp.Compare(x.to, y.to))
		})
		for _, p := range pairs {
			if n := min(less[p.from], more[p.to]); n > 0 {
				less[p.from] -= n
				more[p.to] -= n
				moved = append(moved, Change{Item: i, Batches: n, From: p.from, To: p.to})
			}
		}
		for _, bd := range in.BenchDays {
			if n := more[bd.Day]; n > 0 {
				added = append(added, Change{Item: i, Batches: n, From: NoDay, To: bd.Day})
			}
			if n := less[bd.Day]; n > 0 {
				dropped = append(dropped, Change{Item: i, Batches: n, From: bd.Day, To: NoDay})
			}
		}
	}
	slices.SortFunc(moved, func(x, y Change) int {
		return cmp.Or(cmp.Compare(x.Item, y.Item), cmp.Compare(x.From, y.From), cmp.Compare(x.To, y.To))
	})
	return slices.Concat(moved, added, dropped)
}

func far(a, b int) int { return max(a-b, b-a) }

func shortageChanges(a, b []Shortage) []ShortageChange {
	both := map[Shortage]ShortageChange{}
	for _, s := range a {
		both[s.where()] = ShortageChange{s.Item, s.Week, s.Kind, s.Units, 0}
	}
	for _, s := range b {
		both[s.where()] = ShortageChange{s.Item, s.Week, s.Kind, both[s.where()].A, s.Units}
	}
	out := slices.Collect(maps.Values(both))
	out = slices.DeleteFunc(out, func(c ShortageChange) bool { return c.A == c.B })
	slices.SortFunc(out, func(x, y ShortageChange) int {
		return cmp.Or(cmp.Compare(x.Item, y.Item), cmp.Compare(x.Week, y.Week), cmp.Compare(x.Kind, y.Kind))
	})
	return out
}

// None reports whether both plans pour the same.
func (d *Difference) None() bool { return len(d.Changes) == 0 }

// Words says what a change does and what it costs, in a sentence for a terminal.
func (c *Change) Words(in *Instance) string {
	what := fmt.Sprintf("%s of %s", words.Count(c.Batches, "batch", "batches"), in.Items[c.Item].Name)
	switch {
	case c.From == NoDay:
		what = fmt.Sprintf("%s added on day %d (week %d)", what, c.To, c.To/7)
	case c.To == NoDay:
		what = fmt.Sprintf("%s dropped from day %d (week %d)", what, c.From, c.From/7)
	default:
		what = fmt.Sprintf("%s moved from day %d (week %d) to day %d (week %d)", what, c.From, c.From/7, c.To, c.To/7)
	}
	return fmt.Sprintf("%s: %s.", what, inWords(c.Cost))
}

// Words says how much more or less plan B costs than plan A, part by part.
func (d *Difference) Words() string { return inWords(d.B.Minus(d.A)) }

// inWords says what a difference in cost is: "3.10 dearer (batches +5.00, lost
// sales −1.90)".
func inWords(c Cost) string {
	// Less than a tenth of a cent is rounding of sums.
	const nothing = 0.001
	var parts []string
	for _, p := range c.Parts() {
		if p.Value > nothing || p.Value < -nothing {
			sign := ""
			if p.Value > 0 {
				sign = "+"
			}
			parts = append(parts, p.Words+" "+sign+quantity.Number(p.Value, 2))
		}
	}
	total := c.Total()
	out := "as dear"
	switch {
	case total > nothing:
		out = quantity.Number(total, 2) + " dearer"
	case total < -nothing:
		out = quantity.Number(-total, 2) + " cheaper"
	}
	if len(parts) > 0 {
		out += " (" + strings.Join(parts, ", ") + ")"
	}
	return out
}

// Words says how a shortage differs.
func (s *ShortageChange) Words(in *Instance) string {
	name := in.Items[s.Item].Name
	switch s.Kind {
	case Lost:
		return fmt.Sprintf("%s, week %d: %d missing in place of %d", name, s.Week, s.B, s.A)
	case LaunchShort:
		return fmt.Sprintf("%s, launch in week %d: %d short in place of %d", name, s.Week, s.B, s.A)
	case EndShort:
		return fmt.Sprintf("%s, end of the season: %d short in place of %d", name, s.B, s.A)
	}
	return fmt.Sprintf("%s, week %d: reserve %d short in place of %d", name, s.Week, s.B, s.A)
}
