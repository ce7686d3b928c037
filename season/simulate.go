package season

import (
	"fmt"
)

// Cost is what a plan costs, part by part.
type Cost struct {
	Setup, Batch     float64 // of pouring
	Holding          float64 // of products kept over a week's end
	ComponentHolding float64 // of components kept over a week's end
	Lost             float64 // units asked for and not there
	Safety           float64 // units below the safety stock
	Launch           float64 // units short on a launch's Monday
	End              float64 // units by which the last stock and what still cures fall short
}

// Total is the sum of the parts.
func (c Cost) Total() float64 {
	return c.Setup + c.Batch + c.Holding + c.ComponentHolding + c.Lost + c.Safety + c.Launch + c.End
}

// Flow is what happens to an item under a plan. Each slice of weeks has one entry
// for each week of the season.
type Flow struct {
	Arrivals []int // units that count from that week's Monday (for a component: that are ready in that week)
	Stock    []int // at the week's end, after selling
	Sold     []int // product only
	Lost     []int // product only: units asked for and not there
	// DayStock is a component's stock after each day's arrivals and pours; nil
	// for a product. It is below 0 only where a rule is broken.
	DayStock    []int
	LaunchShort int // product only: units short on the launch's Monday
	Late        int // product only: units still curing when the season ends
	EndShort    int // product only: units by which the last Stock plus Late falls short of EndTarget
}

// Result is what comes of simulating a plan.
type Result struct {
	Cost    Cost
	Flows   []Flow  // by item
	Minutes []int   // by bench day: minutes used
	Moulds  [][]int // by mould, then day: sets in use
	Rack    []int   // by day: places in use
}

// Rule is a limit that every plan must keep.
type Rule string

// The rules. RuleDay is broken by a pour on a day that is not a bench day.
// RuleBatches is broken by too many batches of one item on one day, or by a
// number below 0.
const (
	RuleDay        Rule = "bench day"
	RuleBatches    Rule = "batches a day"
	RuleMinutes    Rule = "bench minutes"
	RuleMoulds     Rule = "mould sets"
	RuleRack       Rule = "rack places"
	RuleComponents Rule = "component stock"
)

// Breach is one rule broken on one day.
type Breach struct {
	Rule  Rule
	Day   int
	Item  int // index into Items; −1 where the rule concerns all
	Mould int // index into Moulds; −1 where the rule is not about moulds
	By    int // how many batches, minutes, sets, places or units too many (RuleComponents: missing)
	Words string
}

// weekOf is the week on whose Monday something that is ready on day begins to
// count.
func weekOf(day int) int { return (day + 6) / 7 }

// openingRack is the places used by what cures at the start, by day.
func openingRack(in *Instance) []int {
	rack := make([]int, 7*in.Weeks)
	for i := range in.Items {
		for _, c := range in.Items[i].OpeningCure {
			for d := range min(c.ReadyDay, len(rack)) {
				rack[d] += c.Batches * in.Items[i].RackSlots
			}
		}
	}
	return rack
}

// Simulate plays a plan through exactly, day by day. It returns the cost and
// every breach, in the order of the rules and then of the days. A pour of an item
// outside Items panics. A pour on a day that is no bench day is a breach and is
// otherwise ignored. Several entries for one day and item are added up.
func Simulate(in *Instance, p Plan) (Result, []Breach) {
	days := 7 * in.Weeks
	r := Result{
		Flows:   make([]Flow, len(in.Items)),
		Minutes: make([]int, len(in.BenchDays)),
		Moulds:  make([][]int, len(in.Moulds)),
		Rack:    openingRack(in),
	}
	var broken []Breach
	pours := tableOf(in, p).pours // by item and bench day
	for _, pour := range p {
		if _, ok := in.DayIndex(pour.Day); !ok && pour.Batches != 0 {
			broken = append(broken, Breach{RuleDay, pour.Day, pour.Item, -1, pour.Batches,
				fmt.Sprintf("day %d is no bench day, and %s is poured on it", pour.Day, in.Items[pour.Item].ID)})
		}
	}
	for m := range r.Moulds {
		r.Moulds[m] = make([]int, days)
	}
	for i := range in.Items {
		it := &in.Items[i]
		for j, n := range pours[i] {
			day := in.BenchDays[j].Day
			if n > it.MaxBatchesPerDay || n < 0 {
				by := n - it.MaxBatchesPerDay
				if n < 0 {
					by = -n
				}
				broken = append(broken, Breach{RuleBatches, day, i, -1, by,
					fmt.Sprintf("%d batches of %s on day %d, where 0 to %d may be poured", n, it.ID, day, it.MaxBatchesPerDay)})
			}
			if n <= 0 {
				pours[i][j] = 0
				continue
			}
			r.Cost.Setup += it.SetupCost
			r.Cost.Batch += it.BatchCost * float64(n)
			r.Minutes[j] += it.SetupMinutes + n*it.BatchMinutes
			for d := day; d < min(day+it.MouldDays, days); d++ {
				r.Moulds[it.Mould][d] += n
			}
			for d := day + it.MouldDays; d < min(day+it.LeadDays, days); d++ {
				r.Rack[d] += n * it.RackSlots
			}
		}
	}
	for j, used := range r.Minutes {
		if b := in.BenchDays[j]; used > b.Minutes {
			broken = append(broken, Breach{RuleMinutes, b.Day, -1, -1, used - b.Minutes,
				fmt.Sprintf("day %d takes %d minutes at the bench and has %d", b.Day, used, b.Minutes)})
		}
	}
	for m, use := range r.Moulds {
		for d, n := range use {
			if n > in.Moulds[m].Count {
				broken = append(broken, Breach{RuleMoulds, d, -1, m, n - in.Moulds[m].Count,
					fmt.Sprintf("%d sets of %s are in use on day %d and there are %d", n, in.Moulds[m].ID, d, in.Moulds[m].Count)})
			}
		}
	}
	for d, n := range r.Rack {
		if n > in.RackSlots {
			broken = append(broken, Breach{RuleRack, d, -1, -1, n - in.RackSlots,
				fmt.Sprintf("%d rack places are in use on day %d and there are %d", n, d, in.RackSlots)})
		}
	}
	for i := range in.Items {
		if it := &in.Items[i]; it.Component {
			broken = append(broken, simulateComponent(in, i, pours, &r)...)
		} else {
			simulateProduct(in, i, pours[i], &r)
		}
	}
	return r, broken
}

func simulateComponent(in *Instance, k int, pours [][]int, r *Result) []Breach {
	it := &in.Items[k]
	days := 7 * in.Weeks
	change := make([]int, days)
	f := Flow{Arrivals: make([]int, in.Weeks), Stock: make([]int, in.Weeks), DayStock: make([]int, days)}
	for j, n := range pours[k] {
		if ready := in.BenchDays[j].Day + it.LeadDays; n > 0 && ready < days {
			change[ready] += n * it.BatchUnits
			f.Arrivals[ready/7] += n * it.BatchUnits
		}
	}
	for i := range in.Items {
		for _, u := range in.Items[i].BOM {
			if u.Component != k {
				continue
			}
			for j, n := range pours[i] {
				change[in.BenchDays[j].Day] -= n * u.Units
			}
		}
	}
	var broken []Breach
	stock := it.OpeningStock
	for d := range days {
		stock += change[d]
		f.DayStock[d] = stock
		if stock < 0 {
			broken = append(broken, Breach{RuleComponents, d, k, -1, -stock,
				fmt.Sprintf("%d of %s are missing on day %d", -stock, it.ID, d)})
		}
		if d%7 == 6 {
			f.Stock[d/7] = stock
			r.Cost.ComponentHolding += it.Holding * float64(stock)
		}
	}
	r.Flows[k] = f
	return broken
}

func simulateProduct(in *Instance, i int, pours []int, r *Result) {
	it := &in.Items[i]
	f := Flow{Arrivals: make([]int, in.Weeks), Stock: make([]int, in.Weeks), Sold: make([]int, in.Weeks), Lost: make([]int, in.Weeks)}
	for _, c := range it.OpeningCure {
		if w := weekOf(c.ReadyDay); w < in.Weeks {
			f.Arrivals[w] += c.Batches * it.BatchUnits
		}
	}
	for j, n := range pours {
		if w := weekOf(in.BenchDays[j].Day + it.LeadDays); w < in.Weeks {
			f.Arrivals[w] += n * it.BatchUnits
		} else {
			f.Late += n * it.BatchUnits
		}
	}
	stock := it.OpeningStock
	for w := range in.Weeks {
		stock += f.Arrivals[w]
		if l := it.Launch; l != nil && l.Week == w {
			f.LaunchShort = max(0, l.StockNeeded-stock)
			r.Cost.Launch += l.ShortPenalty * float64(f.LaunchShort)
		}
		f.Sold[w] = min(stock, it.Demand[w])
		f.Lost[w] = it.Demand[w] - f.Sold[w]
		stock -= f.Sold[w]
		f.Stock[w] = stock
		r.Cost.Lost += it.LostSale[w] * float64(f.Lost[w])
		r.Cost.Holding += it.Holding * float64(stock)
		r.Cost.Safety += it.SafetyPenalty * float64(max(0, it.SafetyStock[w]-stock))
	}
	f.EndShort = max(0, it.EndTarget-stock-f.Late)
	r.Cost.End += it.EndPenalty * float64(f.EndShort)
	r.Flows[i] = f
}
