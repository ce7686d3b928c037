package season

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"barwright/internal/words"
	"barwright/quantity"
)

// What can bind beyond the rules that Simulate knows.
const (
	// RuleLead: even a pour on the season's first day would be ready too late.
	RuleLead Rule = "lead time"
	// RulePins: what is fixed or forbidden stands in the way.
	RulePins Rule = "pins"
	// RuleCost: a batch more would fit, and costs more than what is missing.
	RuleCost Rule = "cost"
	// RuleNone: a batch more would fit and pay; the search ended too early.
	RuleNone Rule = "nothing"
)

// Binding is the limit that stands in the way of what is missing.
type Binding struct {
	Rule      Rule
	Mould     int // index into Moulds; −1 where it is not of moulds
	Component int // index into Items; −1 where it is not of components
	// Days are the bench days, of the last dozen that would be early enough, on
	// which it keeps one more batch of the item out.
	Days []int
}

// Relaxation is something more than the season has.
type Relaxation struct {
	Rule   Rule
	Day    int  // RuleMinutes: where they are had
	Mould  int  // RuleMoulds: index into Moulds
	Item   int  // RuleComponents, RuleBatches: index into Items
	Amount int  // minutes, sets, places, units or batches more; at least 1
	NewDay bool // Day is no bench day without it
}

// Miss is a shortage that a plan leaves: units not sold, a launch or an end that
// is short; reserves are not counted.
type Miss struct {
	Shortage
	Binding Binding
	// More is what was asked for besides, nil where nothing of the bench's would
	// help or where too many other questions weighed more.
	More *Relaxation
	// WorthAtLeast is what More is worth at least: what the plan in hand costs
	// less what the best plan costs that was found with More, both by exact
	// simulation, and with what the same search gained without More taken off.
	// Never below 0. It is for the whole season, not for this miss alone, and
	// misses that share More share it.
	WorthAtLeast float64
	// Left is what is still missing of it in the plan that was found with More.
	Left int
	// Pays is what one more batch would spare, with RuleNone.
	Pays float64
}

// maxAsked is how many relaxations are asked at most: what weighs most is.
const maxAsked = 12

// AskMoves is a good number of moves for each question of an Inquiry.
const AskMoves = 200_000

// Inquiry finds what binds where a plan misses something, and what more of it
// would be worth, by planning again from the plan in hand. It is stepped by its
// caller, as Search is. The same plan, seed and moves give the same answers,
// however they are cut into steps.
type Inquiry struct {
	in    *Instance
	plan  Plan
	pins  Pins
	seed  uint64
	moves int

	cost   float64
	base   Result // of the plan in hand
	table  *table // the plan in hand
	minute int    // what a bench day has: the median
	ways   map[ItemDay]way
	wants  []want
	asked  []asked // the first is the season as it is
	at     int     // the one being asked
	better Plan    // what the season as it is gave, once it was asked
	search *Search
}

// way is what one more batch of an item on a day comes to.
type way struct {
	blocks []obstacle
	saves  float64 // where nothing blocks
}

// obstacle is a limit that keeps a batch out.
type obstacle struct {
	rule         Rule
	mould, thing int // −1 for none; thing is a component or, of RuleBatches, an item
}

// want is a miss with what is known of it.
type want struct {
	Shortage
	deadline int // the last day to pour on
	weight   float64
	blocks   map[obstacle][]int // the days
	more     map[obstacle]int   // index into asked
	free     bool               // one more batch fits
	saves    float64            // and spares so much at best
	days     int                // how many were tried
}

// asked is a question and its answer.
type asked struct {
	Relaxation
	weight float64
	done   bool
	cost   float64
	left   []Shortage
}

// Ask begins to ask what binds where plan p of the season misses something, with
// so many moves of a search for each question (see AskMoves). The plan must break
// no rule and keep the pins.
func Ask(in *Instance, p Plan, pins Pins, seed uint64, moves int) *Inquiry {
	q := &Inquiry{in: in, plan: planOf(p.grid()), pins: pins, seed: seed, moves: max(moves, 1), ways: map[ItemDay]way{}}
	q.base, _ = Simulate(in, q.plan)
	q.table = tableOf(in, q.plan)
	q.cost = q.base.Cost.Total()
	minutes := make([]int, len(in.BenchDays))
	for j, b := range in.BenchDays {
		minutes[j] = b.Minutes
	}
	slices.Sort(minutes)
	q.minute = max(minutes[len(minutes)/2], 1)
	for _, s := range q.base.shortages(in) {
		if s.Kind != BelowSafety {
			q.wants = append(q.wants, q.look(s))
		}
	}
	q.choose()
	return q
}

// look finds what keeps one more batch out on the bench days before it is too
// late.
func (q *Inquiry) look(s Shortage) want {
	it := &q.in.Items[s.Item]
	w := want{Shortage: s, deadline: 7*s.Week - it.LeadDays, blocks: map[obstacle][]int{}, more: map[obstacle]int{}}
	switch s.Kind {
	case Lost:
		w.weight = it.LostSale[s.Week] * float64(s.Units)
	case LaunchShort:
		w.weight = it.Launch.ShortPenalty * float64(s.Units)
	case EndShort:
		// What still cures counts for the end.
		w.deadline = 7*q.in.Weeks - 1
		w.weight = it.EndPenalty * float64(s.Units)
	}
	w.saves = math.Inf(-1)
	for _, b := range slices.Backward(q.in.BenchDays) {
		if b.Day > w.deadline {
			continue
		}
		if w.days++; w.days > lookBack {
			w.days--
			break
		}
		way := q.wayOf(ItemDay{s.Item, b.Day})
		if len(way.blocks) == 0 {
			w.free = true
			w.saves = max(w.saves, way.saves)
			continue
		}
		for _, bl := range way.blocks {
			w.blocks[bl] = append(w.blocks[bl], b.Day)
		}
	}
	for _, days := range w.blocks {
		slices.Sort(days)
	}
	return w
}

// lookBack is how many bench days before the last one in time are looked at, for
// a product and for the components that it lacks.
const lookBack = 12

func (q *Inquiry) wayOf(at ItemDay) way {
	w, there := q.ways[at]
	if !there {
		var added []ItemDay
		if added, w.blocks = q.insert(at); added != nil {
			pours := make([]Pour, len(added))
			for k, x := range added {
				pours[k] = Pour{Item: x.Item, Day: x.Day}
			}
			items := touched(q.in, pours...)
			_, before := q.table.play(items)
			for _, x := range added {
				q.table.add(x.Item, x.Day, 1)
			}
			_, after := q.table.play(items)
			for _, x := range added {
				q.table.add(x.Item, x.Day, -1)
			}
			w.saves = before.Total() - after.Total()
		}
		q.ways[at] = w
	}
	return w
}

// insert pours one batch more than the plan in hand does, and before it what it
// lacks of components; or says what keeps it out.
func (q *Inquiry) insert(at ItemDay) ([]ItemDay, []obstacle) {
	added, blocks := q.fit(nil, at)
	for rounds := 0; added != nil; rounds++ {
		component, by := q.lacking(added)
		if component < 0 {
			break
		}
		lack := obstacle{RuleComponents, -1, component}
		if rounds == maxSupply {
			return nil, []obstacle{lack}
		}
		if added, blocks = q.supply(added, component, by); added == nil && !slices.Contains(blocks, lack) {
			blocks = append([]obstacle{lack}, blocks...) // the component, and what keeps it from being made
		}
	}
	return added, blocks
}

// maxSupply is how many batches of components one batch more may ask for.
const maxSupply = 40

// supply pours one batch more of a component that is short on a day, as late as
// it is ready in time.
func (q *Inquiry) supply(added []ItemDay, component, by int) ([]ItemDay, []obstacle) {
	var all []obstacle
	tried := 0
	for _, b := range slices.Backward(q.in.BenchDays) {
		if b.Day+q.in.Items[component].LeadDays > by {
			continue
		}
		if tried++; tried > lookBack {
			break
		}
		next, blocks := q.fit(added, ItemDay{component, b.Day})
		if next != nil {
			return next, nil
		}
		for _, bl := range blocks {
			if !slices.Contains(all, bl) {
				all = append(all, bl)
			}
		}
	}
	return nil, all
}

// fit pours one batch more than the plan in hand and what was added to it; or
// says what keeps the batch out, components apart. Only what the batch itself
// takes is looked at: all else keeps the rules.
func (q *Inquiry) fit(added []ItemDay, at ItemDay) ([]ItemDay, []obstacle) {
	pinned := func(x Pour) bool { return x.Day == at.Day && x.Item == at.Item }
	if slices.Contains(q.pins.Forbidden, at) || slices.ContainsFunc(q.pins.Fixed, pinned) {
		return nil, []obstacle{{RulePins, -1, -1}}
	}
	in, it := q.in, &q.in.Items[at.Item]
	j, _ := in.DayIndex(at.Day)
	end := 7 * in.Weeks
	var blocks []obstacle

	poured, minutes := q.table.pours[at.Item][j], q.base.Minutes[j]+it.BatchMinutes
	setUp := map[int]bool{}
	for _, x := range added {
		if x == at {
			poured++
		}
		if x.Day == at.Day {
			minutes += in.Items[x.Item].BatchMinutes
			setUp[x.Item] = true
		}
	}
	setUp[at.Item] = true
	for i := range setUp {
		if q.table.pours[i][j] == 0 {
			minutes += in.Items[i].SetupMinutes
		}
	}
	if poured >= it.MaxBatchesPerDay {
		blocks = append(blocks, obstacle{RuleBatches, -1, at.Item})
	}
	if minutes > in.BenchDays[j].Minutes {
		blocks = append(blocks, obstacle{RuleMinutes, -1, -1})
	}
	for d := at.Day; d < min(at.Day+it.MouldDays, end); d++ {
		n := q.base.Moulds[it.Mould][d] + 1
		for _, x := range added {
			if o := &in.Items[x.Item]; o.Mould == it.Mould && x.Day <= d && d < x.Day+o.MouldDays {
				n++
			}
		}
		if n > in.Moulds[it.Mould].Count {
			blocks = append(blocks, obstacle{RuleMoulds, it.Mould, -1})
			break
		}
	}
	for d := at.Day + it.MouldDays; d < min(at.Day+it.LeadDays, end) && it.RackSlots > 0; d++ {
		n := q.base.Rack[d] + it.RackSlots
		for _, x := range added {
			if o := &in.Items[x.Item]; x.Day+o.MouldDays <= d && d < x.Day+o.LeadDays {
				n += o.RackSlots
			}
		}
		if n > in.RackSlots {
			blocks = append(blocks, obstacle{RuleRack, -1, -1})
			break
		}
	}
	if len(blocks) > 0 {
		return nil, blocks
	}
	return append(slices.Clone(added), at), nil
}

// lacking is the component that is short first when something is added to the
// plan in hand, and the day; below 0 for none.
func (q *Inquiry) lacking(added []ItemDay) (component, day int) {
	component = -1
	var drawn []int
	for _, x := range added {
		for _, u := range q.in.Items[x.Item].BOM {
			if !slices.Contains(drawn, u.Component) {
				drawn = append(drawn, u.Component)
			}
		}
	}
	slices.Sort(drawn)
	for _, k := range drawn {
		for d, n := range q.base.Flows[k].DayStock {
			for _, x := range added {
				it := &q.in.Items[x.Item]
				if x.Item == k && x.Day+it.LeadDays <= d {
					n += it.BatchUnits
				}
				if x.Day <= d {
					n -= drawnBy(it, k)
				}
			}
			if n < 0 {
				if component < 0 || d < day {
					component, day = k, d
				}
				break
			}
		}
	}
	return component, day
}

// choose puts the questions together, each once, those before that weigh most.
func (q *Inquiry) choose() {
	var all []asked
	find := func(r Relaxation) int {
		return slices.IndexFunc(all, func(a asked) bool { return a.Relaxation == r })
	}
	wanted := make([]map[obstacle]Relaxation, len(q.wants))
	for k := range q.wants {
		w := &q.wants[k]
		wanted[k] = map[obstacle]Relaxation{}
		if w.deadline < 0 || w.free {
			continue
		}
		if w.days == 0 {
			w.blocks[obstacle{RuleDay, -1, -1}] = nil
		}
		for bl := range w.blocks {
			wanted[k][bl] = q.relax(w, bl)
		}
		for _, bl := range w.order() {
			r := wanted[k][bl]
			at := find(r)
			if at < 0 {
				at = len(all)
				all = append(all, asked{Relaxation: r})
			}
			all[at].weight += w.weight
		}
	}
	slices.SortStableFunc(all, func(a, b asked) int { return cmp.Compare(b.weight, a.weight) })
	all = all[:min(len(all), maxAsked)]
	for k := range q.wants {
		w := &q.wants[k]
		for bl, r := range wanted[k] {
			at := find(r)
			if at < 0 && r.Day >= 0 {
				// Minutes on an earlier day serve too: the latest that is asked for.
				for j, a := range all {
					if a.Day >= 0 && a.Day <= w.deadline && (at < 0 || a.Day > all[at].Day) {
						at = j
					}
				}
			}
			if at >= 0 {
				w.more[bl] = at + 1
			}
		}
	}
	q.asked = slices.Insert(all, 0, asked{})
}

// order is what keeps a want out, in a fixed order: on most days first.
func (w *want) order() []obstacle {
	out := slices.Collect(maps.Keys(w.blocks))
	slices.SortFunc(out, func(a, b obstacle) int {
		return cmp.Or(cmp.Compare(len(w.blocks[b]), len(w.blocks[a])), cmp.Compare(a.rule, b.rule), cmp.Compare(a.mould, b.mould), cmp.Compare(a.thing, b.thing))
	})
	return out
}

// relax is one more of what keeps a want out.
func (q *Inquiry) relax(w *want, bl obstacle) Relaxation {
	r := Relaxation{Rule: bl.rule, Day: NoDay, Mould: -1, Item: -1, Amount: 1}
	switch bl.rule {
	case RuleDay, RuleMinutes:
		r.Rule = RuleMinutes
		r.Amount = q.minute
		r.Day, r.NewDay = q.room(min(w.deadline, 7*q.in.Weeks-1))
	case RuleMoulds:
		r.Mould = bl.mould
	case RuleRack:
		r.Amount = max(q.in.Items[w.Item].RackSlots, 1)
	case RuleComponents:
		r.Item = bl.thing
		r.Amount = q.in.Items[bl.thing].BatchUnits
	case RuleBatches:
		r.Item = bl.thing
	}
	return r
}

// room is the day for more minutes: the last day up to then that is no bench day,
// of the seven before it is too late; where all seven are, the shortest of them.
func (q *Inquiry) room(last int) (day int, isNew bool) {
	day = last
	least := math.MaxInt
	for d := last; d >= max(last-6, 0); d-- {
		j, bench := q.in.DayIndex(d)
		if !bench {
			return d, true
		}
		if m := q.in.BenchDays[j].Minutes; m < least {
			day, least = d, m
		}
	}
	return day, false
}

// of is the season with a relaxation, and its pins.
func (r *Relaxation) of(in *Instance, pins Pins) (*Instance, Pins) {
	out := *in
	switch r.Rule {
	case RuleMinutes:
		out.BenchDays = slices.Clone(in.BenchDays)
		if j, bench := in.DayIndex(r.Day); bench {
			out.BenchDays[j].Minutes += r.Amount
		} else {
			out.BenchDays = slices.Insert(out.BenchDays, j, BenchDay{Day: r.Day, Minutes: r.Amount})
		}
	case RuleMoulds:
		out.Moulds = slices.Clone(in.Moulds)
		out.Moulds[r.Mould].Count += r.Amount
	case RuleRack:
		out.RackSlots += r.Amount
	case RuleComponents:
		out.Items = slices.Clone(in.Items)
		out.Items[r.Item].OpeningStock += r.Amount
	case RuleBatches:
		out.Items = slices.Clone(in.Items)
		out.Items[r.Item].MaxBatchesPerDay += r.Amount
	case RulePins:
		pins = Pins{}
	}
	return &out, pins
}

// Words says what a relaxation is.
func (r *Relaxation) Words(in *Instance) string {
	switch r.Rule {
	case RuleMinutes:
		if r.NewDay {
			return fmt.Sprintf("one more bench day of %d minutes on day %d (week %d)", r.Amount, r.Day, r.Day/7)
		}
		return fmt.Sprintf("%d more minutes on bench day %d (week %d)", r.Amount, r.Day, r.Day/7)
	case RuleMoulds:
		return fmt.Sprintf("one more mould set of %s", in.Moulds[r.Mould].ID)
	case RuleRack:
		if r.Amount == 1 {
			return "one more rack place"
		}
		return fmt.Sprintf("%d more rack places (as one batch takes)", r.Amount)
	case RuleComponents:
		return fmt.Sprintf("one more batch of %s (%d units) in stock at the start", in.Items[r.Item].Name, r.Amount)
	case RuleBatches:
		return fmt.Sprintf("one more batch of %s a day", in.Items[r.Item].Name)
	}
	return "a plan without the pins"
}

// Step tries so many moves, and reports whether there are more to try.
func (q *Inquiry) Step(moves int) bool {
	if len(q.wants) == 0 {
		return false
	}
	for moves > 0 && q.at < len(q.asked) {
		a := &q.asked[q.at]
		in, pins := q.in, q.pins
		if q.at > 0 {
			in, pins = a.of(q.in, q.pins)
		}
		if q.search == nil {
			from := q.plan
			if q.at > 0 {
				from, _ = q.start()
			}
			q.search = NewSearch(in, q.seed, pins)
			q.search.From(from, q.moves)
		}
		n := min(moves, q.moves-int(q.search.Moves()))
		q.search.Step(n)
		moves -= n
		if int(q.search.Moves()) < q.moves {
			return true
		}
		best, cost := q.search.Best()
		if q.at == 0 {
			q.better = best
		}
		a.done, a.cost, a.left = true, cost, Shortages(in, best)
		q.search = nil
		q.at++
	}
	return q.at < len(q.asked)
}

// start is the plan that worths are reckoned from, and its cost: the one in hand,
// or a cheaper one that the same search found without anything more.
func (q *Inquiry) start() (Plan, float64) {
	if b := &q.asked[0]; b.done && b.cost < q.cost {
		return q.better, b.cost
	}
	return q.plan, q.cost
}

// Misses are the answers so far, in the order of Shortages.
func (q *Inquiry) Misses() []Miss {
	out := make([]Miss, len(q.wants))
	_, base := q.start()
	for k := range q.wants {
		w := &q.wants[k]
		m := &out[k]
		*m = Miss{Shortage: w.Shortage, Left: w.Units, Binding: Binding{Mould: -1, Component: -1}}
		switch {
		case w.deadline < 0:
			m.Binding.Rule = RuleLead
			continue
		case w.free && w.saves > 1e-6:
			m.Binding.Rule, m.Pays = RuleNone, w.saves
			continue
		case w.free:
			m.Binding.Rule = RuleCost
			continue
		}
		// What binds is what, were there more of it, leaves the least of this miss;
		// of several, what the maker can do most easily, and then what spares the
		// most. Where nothing is known of it, what keeps a batch out on most days.
		first, easiest := true, 0
		for _, bl := range w.order() {
			left, worth := w.Units, 0.0
			var more *Relaxation
			if at := w.more[bl]; at > 0 {
				more = &q.asked[at].Relaxation
				if a := q.answer(at); a != nil {
					worth = max(base-a.cost, 0)
					left = unitsOf(a.left, w.Shortage)
				}
			}
			ease := easeOf(bl.rule)
			if !first && cmp.Or(cmp.Compare(left, m.Left), cmp.Compare(ease, easiest), cmp.Compare(m.WorthAtLeast, worth)) >= 0 {
				continue
			}
			first, easiest = false, ease
			m.Left, m.WorthAtLeast, m.More = left, worth, more
			m.Binding = Binding{Rule: bl.rule, Mould: bl.mould, Component: -1, Days: w.blocks[bl]}
			if bl.rule == RuleComponents {
				m.Binding.Component = bl.thing
			}
		}
	}
	return out
}

// easeOf says how easily there is more of something: pins are the maker's own,
// and components in stock at the start would have to have been made before it.
func easeOf(r Rule) int {
	switch r {
	case RulePins:
		return 0
	case RuleComponents:
		return 2
	}
	return 1
}

// answer is the cheapest plan that is known to do with a relaxation, nil before
// there is one. What needs fewer rack places does with more.
func (q *Inquiry) answer(at int) *asked {
	var best *asked
	for j := range q.asked {
		a := &q.asked[j]
		same := j == at || j > 0 && a.Rule == RuleRack && q.asked[at].Rule == RuleRack && a.Amount < q.asked[at].Amount
		if same && a.done && (best == nil || a.cost < best.cost) {
			best = a
		}
	}
	return best
}

// Moves is how many moves all questions take together.
func (q *Inquiry) Moves() int64 {
	if len(q.wants) == 0 {
		return 0
	}
	return int64(len(q.asked)) * int64(q.moves)
}

// Better is a plan of the season as it is that is cheaper than the one in hand,
// and what it costs; false where none was found by the way.
func (q *Inquiry) Better() (Plan, float64, bool) {
	p, cost := q.start()
	return p, cost, cost < q.cost-1e-6
}

func unitsOf(ss []Shortage, s Shortage) int {
	for _, x := range ss {
		if x.Item == s.Item && x.Week == s.Week && x.Kind == s.Kind {
			return x.Units
		}
	}
	return 0
}

// From has a search begin with one short annealing of so many moves from a plan
// that breaks no rule and keeps the pins. It is called before the first Step;
// when the moves are made the search goes on as any.
func (s *Search) From(p Plan, moves int) {
	n := make([]int32, s.items*s.days)
	for _, x := range p {
		if j, ok := s.in.DayIndex(x.Day); ok {
			n[j*s.items+x.Item] += int32(x.Batches)
		}
	}
	s.reset(n)
	s.note(&s.best)
	s.cycle, s.at, s.length = 1, 0, int64(max(moves, 1))
	s.schedule = fromHand
}

// fromHand is cooler than a search from its own best: with few moves a plan that
// is warmed up does not come back to what it was. On a season of 15 products and
// 74 bench days, 200 000 moves from hot 0.02 found a gain for 3 questions of 12,
// from 0.0025 for 9, and four times as much.
var fromHand = schedule{hot: 0.0025, cold: 0.0007, light: 2, heavy: 80}

// MissWords says what is missing and what binds, in a few sentences for a
// terminal: weeks of one item that the same thing binds in one line.
func MissWords(in *Instance, misses []Miss) []string {
	type line struct {
		item, mould, component int
		kind                   Short
		rule                   Rule
		more                   *Relaxation
	}
	var lines []line
	of := map[line][]Miss{}
	for _, m := range misses {
		l := line{m.Item, m.Binding.Mould, m.Binding.Component, m.Kind, m.Binding.Rule, m.More}
		if of[l] == nil {
			lines = append(lines, l)
		}
		of[l] = append(of[l], m)
	}
	out := make([]string, len(lines))
	for k, l := range lines {
		out[k] = missWords(in, of[l])
	}
	return out
}

func missWords(in *Instance, ms []Miss) string {
	m := &ms[0]
	ss := make([]Shortage, len(ms))
	var days []int
	for k := range ms {
		ss[k] = ms[k].Shortage
		days = append(days, ms[k].Binding.Days...)
	}
	slices.Sort(days)
	days = slices.Compact(days)
	r := runs(ss)[0]
	name := in.Items[m.Item].Name
	var b strings.Builder
	switch m.Kind {
	case LaunchShort:
		fmt.Fprintf(&b, "%s: the launch in week %d is %d short. ", name, m.Week, m.Units)
	case EndShort:
		fmt.Fprintf(&b, "%s: the season ends %d short. ", name, m.Units)
	default:
		fmt.Fprintf(&b, "%s: %d missing %s. ", name, r.units, r.within())
	}
	b.WriteString(m.Binding.words(in, m, days))
	if m.More != nil {
		more := m.More.Words(in)
		more = strings.ToUpper(more[:1]) + more[1:]
		if m.WorthAtLeast > 0.005 {
			fmt.Fprintf(&b, " %s would be worth at least %s.", more, quantity.Number(m.WorthAtLeast, 2))
		} else {
			fmt.Fprintf(&b, " %s alone was not found to be worth anything.", more)
		}
	}
	return b.String()
}

// within says the weeks of a run that has an end.
func (r *run) within() string {
	if r.weeks > 2 || r.last > r.first+1 {
		return fmt.Sprintf("in weeks %d to %d", r.first, r.last)
	}
	return r.when()
}

func (b *Binding) words(in *Instance, m *Miss, days []int) string {
	on := ""
	switch {
	case len(days) == 1:
		on = fmt.Sprintf(" on day %d", days[0])
	case len(days) > 1:
		parts := make([]string, 0, 6)
		for _, d := range days {
			parts = append(parts, fmt.Sprint(d))
		}
		on = " on days " + words.Some(parts, 5, "more")
	}
	switch b.Rule {
	case RuleLead:
		return "Nothing poured in this season is ready so early."
	case RuleDay:
		return "No bench day is early enough."
	case RuleMinutes:
		return "The bench has no minutes left" + on + "."
	case RuleMoulds:
		return fmt.Sprintf("No mould set of %s is free%s.", in.Moulds[b.Mould].ID, on)
	case RuleRack:
		return "The rack has no places for a batch poured" + on + "."
	case RuleComponents:
		return fmt.Sprintf("%s cannot be there in time%s.", in.Items[b.Component].Name, on)
	case RuleBatches:
		return "No more batches may be poured" + on + " (maxBatchesPerDay)."
	case RulePins:
		return "The pins stand in the way" + on + "."
	case RuleNone:
		return fmt.Sprintf("Nothing stands in the way: one more batch would spare %s; search longer.", quantity.Number(m.Pays, 2))
	}
	return "A batch more would fit, and cost more than what is missing."
}
