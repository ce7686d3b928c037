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

// Limits that can bind beyond the rules that Simulate knows.
const (
	// RuleLead: even a batch poured on the season's first day would be ready too
	// late.
	RuleLead Rule = "lead time"
	// RulePins: what is fixed or forbidden prevents it.
	RulePins Rule = "pins"
	// RuleCost: one more batch would fit, but would cost more than what is
	// missing.
	RuleCost Rule = "cost"
	// RuleNone: one more batch would fit and would save money; the search ended
	// too early.
	RuleNone Rule = "nothing"
)

// Binding is the limit that causes a miss.
type Binding struct {
	Rule      Rule
	Mould     int // index into Moulds; −1 where the limit is not on moulds
	Component int // index into Items; −1 where the limit is not on components
	// Days are the bench days on which the limit keeps one more batch of the item
	// out. Only the last twelve bench days that are early enough are looked at.
	Days []int
}

// Relaxation is something that the season could have more of.
type Relaxation struct {
	Rule   Rule
	Day    int  // RuleMinutes: the day that gets them
	Mould  int  // RuleMoulds: index into Moulds
	Item   int  // RuleComponents, RuleBatches: index into Items
	Amount int  // minutes, sets, places, units or batches more; at least 1
	NewDay bool // without the relaxation, Day is no bench day
}

// Miss is a shortage that a plan leaves: units not sold, or a launch or an end of
// season that falls short. Short reserves are not counted.
type Miss struct {
	Shortage
	Binding Binding
	// More is the relaxation that was asked about. It is nil if nothing at the
	// bench would help, or if too many other questions weighed more.
	More *Relaxation
	// WorthAtLeast is a lower limit of what More is worth:
	//
	//   cost of the plan in hand − cost of the best plan found with More − what the same search gained without More
	//
	// Both plans' costs come from exact simulation. It is never below 0. It holds
	// for the whole season, not for this miss alone, and misses with the same
	// More share it.
	WorthAtLeast float64
	// Left is how much of this miss is still missing in the plan that was found
	// with More.
	Left int
	// Pays is what one more batch would save, under RuleNone.
	Pays float64
}

// maxAsked is the greatest number of relaxations that are asked about. The
// weightiest are chosen.
const maxAsked = 12

// AskMoves is a good number of moves for each question of an Inquiry.
const AskMoves = 200_000

// Inquiry finds which limit binds where a plan misses something, and what more of
// that limit would be worth. It plans again, starting from the plan in hand. Its
// caller steps it, as with Search. The same plan, seed and moves give the same
// answers, however the moves are divided into steps.
type Inquiry struct {
	in    *Instance
	plan  Plan
	pins  Pins
	seed  uint64
	moves int

	cost   float64
	base   Result // of the plan in hand
	table  *table // the plan in hand
	minute int    // minutes of a bench day, the median
	ways   map[ItemDay]way
	wants  []want
	asked  []asked // the first is the season as it is
	at     int     // the question being asked
	better Plan    // the plan found for the season as it is, once that was asked
	search *Search
}

// way is what happens with one more batch of an item on a day.
type way struct {
	blocks []obstacle
	saves  float64 // if nothing blocks it
}

// obstacle is a limit that keeps a batch out.
type obstacle struct {
	rule         Rule
	mould, thing int // −1 for none; thing is a component, or an item under RuleBatches
}

// want is a miss and what is known about it.
type want struct {
	Shortage
	deadline int // the last day to pour on
	weight   float64
	blocks   map[obstacle][]int // by obstacle: the days
	more     map[obstacle]int   // index into asked
	free     bool               // one more batch fits …
	saves    float64            // … and saves at best this much
	days     int                // how many days were tried
}

// asked is a question and its answer.
type asked struct {
	Relaxation
	weight float64
	done   bool
	cost   float64
	left   []Shortage
}

// Ask starts an Inquiry into plan p of the season, with so many moves of a search
// for each question (see AskMoves). The plan must break no rule and must keep the
// pins.
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

// look finds what keeps one more batch out on the bench days that are early
// enough.
func (q *Inquiry) look(s Shortage) want {
	it := &q.in.Items[s.Item]
	w := want{Shortage: s, deadline: 7*s.Week - it.LeadDays, blocks: map[obstacle][]int{}, more: map[obstacle]int{}}
	switch s.Kind {
	case Lost:
		w.weight = it.LostSale[s.Week] * float64(s.Units)
	case LaunchShort:
		w.weight = it.Launch.ShortPenalty * float64(s.Units)
	case EndShort:
		// What is still curing counts for the end target.
		w.deadline = 7*q.in.Weeks - 1
		w.weight = it.EndPenalty * float64(s.Units)
	}
	w.saves = math.Inf(-1)
	for _, b := range slices.Backward(q.in.BenchDays) {
		if b.Day > w.deadline {
			continue
		}
		if w.days == lookBack {
			break
		}
		w.days++
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

// lookBack is how many bench days are looked at, counted back from the last one
// in time. It holds for a product and for each component that it lacks.
const lookBack = 12

func (q *Inquiry) wayOf(at ItemDay) way {
	w, there := q.ways[at]
	if !there {
		var added []Pour
		if added, w.blocks = q.insert(at); added != nil {
			items := touched(q.in, added...)
			_, before := q.table.play(items)
			q.table.add(1, added...)
			_, after := q.table.play(items)
			q.table.add(-1, added...)
			w.saves = before.Total() - after.Total()
		}
		q.ways[at] = w
	}
	return w
}

// insert adds one batch to the plan in hand, and before it any components that
// the batch lacks, each as a pour of one batch. If it cannot, it returns what keeps
// the batch out.
func (q *Inquiry) insert(at ItemDay) ([]Pour, []obstacle) {
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

// maxSupply is the greatest number of component batches that are added for one
// more batch.
const maxSupply = 40

// supply adds one batch of a component that is short on a day, on the last bench
// day from which it is ready in time.
func (q *Inquiry) supply(added []Pour, component, by int) ([]Pour, []obstacle) {
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

// fit adds one batch to the plan in hand and to what was added before. If it
// cannot, it returns what keeps the batch out, apart from components. Only what
// the batch itself uses is checked, because everything else keeps the rules
// already.
func (q *Inquiry) fit(added []Pour, at ItemDay) ([]Pour, []obstacle) {
	here := func(x Pour) bool { return x.Day == at.Day && x.Item == at.Item }
	if slices.Contains(q.pins.Forbidden, at) || slices.ContainsFunc(q.pins.Fixed, here) {
		return nil, []obstacle{{RulePins, -1, -1}}
	}
	in, it := q.in, &q.in.Items[at.Item]
	j, _ := in.DayIndex(at.Day)
	end := 7 * in.Weeks
	var blocks []obstacle

	poured, minutes := q.table.pours[at.Item][j], q.base.Minutes[j]+it.BatchMinutes
	setUp := map[int]bool{}
	for _, x := range added {
		if here(x) {
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
	return append(slices.Clone(added), Pour{at.Day, at.Item, 1}), nil
}

// lacking finds the component that runs short first when batches are added to the
// plan in hand, and the day on which it does. It returns a component below 0 if
// none does.
func (q *Inquiry) lacking(added []Pour) (component, day int) {
	component = -1
	for _, k := range touched(q.in, added...) { // a product has no DayStock
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

// choose collects the questions, each once, the weightiest first.
func (q *Inquiry) choose() {
	var all []asked
	find := func(r Relaxation) int {
		return slices.IndexFunc(all, func(a asked) bool { return a.Relaxation == r })
	}
	var kept []*want // by a limit
	for k := range q.wants {
		w := &q.wants[k]
		if w.deadline < 0 || w.free {
			continue
		}
		kept = append(kept, w)
		if w.days == 0 {
			w.blocks[obstacle{RuleDay, -1, -1}] = nil
		}
		for _, bl := range w.order() {
			r := q.relax(w, bl)
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
	for _, w := range kept {
		for bl := range w.blocks {
			r := q.relax(w, bl)
			at := find(r)
			if at < 0 && r.Day >= 0 {
				// Minutes on an earlier day help as well, so use the latest such
				// day that is asked about.
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

// order lists what keeps a want out in a fixed order: what blocks most days comes
// first.
func (w *want) order() []obstacle {
	out := slices.Collect(maps.Keys(w.blocks))
	slices.SortFunc(out, func(a, b obstacle) int {
		return cmp.Or(cmp.Compare(len(w.blocks[b]), len(w.blocks[a])), cmp.Compare(a.rule, b.rule),
			cmp.Compare(a.mould, b.mould), cmp.Compare(a.thing, b.thing))
	})
	return out
}

// relax is the Relaxation that asks for one more of what keeps a want out.
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

// room is the day for more minutes: of the seven days up to last, the latest that
// is not a bench day, or the shortest bench day where all seven are bench days.
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

// of is the season with the relaxation, and the pins that go with it.
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

// Words says what the relaxation is.
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

// Step makes so many moves. It reports whether there are more to make.
func (q *Inquiry) Step(moves int) bool {
	if len(q.wants) == 0 {
		return false
	}
	for moves > 0 && q.at < len(q.asked) {
		a := &q.asked[q.at]
		in, pins := a.of(q.in, q.pins) // the zero Relaxation, the first, changes nothing
		if q.search == nil {
			from, _ := q.start()
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

// start is the plan from which worths are counted, and its cost: the plan in
// hand, or a cheaper one that the same search found without any relaxation.
func (q *Inquiry) start() (Plan, float64) {
	if b := &q.asked[0]; b.done && b.cost < q.cost {
		return q.better, b.cost
	}
	return q.plan, q.cost
}

// Misses gives the answers found so far, in the order of Shortages. It may be
// called at any time.
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
		// The binding limit is the one of which more would leave the least of
		// this miss. Of several, it is the one that the maker can extend most
		// easily, then the one that saves most. Where nothing is known about any,
		// it is the one that keeps a batch out on most days.
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

// easeOf ranks how easily the maker can have more of something. Pins are the
// maker's own. Components in stock at the start come last: they would have had to
// be made before the season.
func easeOf(r Rule) int {
	switch r {
	case RulePins:
		return 0
	case RuleComponents:
		return 2
	}
	return 1
}

// answer is the cheapest plan known to work with a relaxation, or nil before
// there is one. A plan that needs fewer rack places works with more.
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

// Moves is the number of moves that all questions take together.
func (q *Inquiry) Moves() int64 {
	if len(q.wants) == 0 {
		return 0
	}
	return int64(len(q.asked)) * int64(q.moves)
}

// Better is a plan for the season as it is that is cheaper than the one in hand,
// and its cost. It returns false if no such plan was found along the way.
func (q *Inquiry) Better() (Plan, float64, bool) {
	p, cost := q.start()
	return p, cost, cost < q.cost-1e-6
}

func unitsOf(ss []Shortage, s Shortage) int {
	for _, x := range ss {
		if x.where() == s.where() {
			return x.Units
		}
	}
	return 0
}

// From lets a search begin with one short annealing, of so many moves, from a
// plan that breaks no rule and keeps the pins. Call it before the first Step.
// After those moves the search continues as any other.
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

// fromHand is cooler than the schedule of a search that starts from nothing: with
// few moves, a plan that is warmed up does not find its way back. On a season of
// 15 products and 74 bench days, 200 000 moves from hot 0.02 found a gain for 3
// questions of 12. From hot 0.0025 they found one for 9, and the gains were four
// times as large.
var fromHand = schedule{hot: 0.0025, cold: 0.0007, light: 2, heavy: 80}

// MissWords says what is missing and what binds, in a few sentences for a
// terminal. Weeks of one item that are bound by the same limit share a line.
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

// within names the weeks of a run that has an end.
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
		return fmt.Sprintf("Nothing stands in the way: one more batch would save %s; search longer.", quantity.Number(m.Pays, 2))
	}
	return "One more batch would fit, but it would cost more than the shortage."
}
