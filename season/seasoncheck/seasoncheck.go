// Package seasoncheck checks a plan for tests. It reads a season and a plan by
// itself, simulates the plan one day after another, and says what it costs and
// which rules it breaks. It shares no code with the planner, and keeps single
// batches where the planner keeps sums, so tests need not trust the planner.
package seasoncheck

import (
	"encoding/json"
	"fmt"
	"sort"
)

type season struct {
	Weeks     int
	RackSlots int
	Moulds    []struct {
		ID    string
		Count int
	}
	BenchDays []struct{ Day, Minutes int }
	Items     []*item
}

type item struct {
	ID, Kind, Mould                            string
	BatchUnits, MouldDays, LeadDays, RackSlots int
	SetupMinutes, BatchMinutes                 int
	SetupCost, BatchCost                       float64
	MaxBatchesPerDay                           int
	HoldingPerUnitWeek                         float64
	OpeningStock                               int
	BOM                                        []struct {
		Component     string
		UnitsPerBatch int
	}
	Demand               []int
	LostSalePenalty      []float64
	SafetyStock          []int
	SafetyPenaltyPerUnit float64 `json:"safetyPenaltyPerUnitWeek"`
	EndPositionTarget    int
	EndPositionPenalty   float64
	OpeningCure          []struct{ ReadyDay, Batches int }
	Launch               *struct {
		Week, StockNeeded int
		ShortPenalty      float64
	}
}

// batch is one batch. poured is below 0 if it was curing before the season began.
type batch struct {
	of            *item
	poured, ready int
	free          int // day on which its mould is free again
	counted       bool
}

// pour is one entry of a plan.
type pour struct {
	Day     int
	Item    string
	Batches int
}

// Check simulates a plan, {"plan":[{"day","item","batches"}]}, of a season-plan/1.
// It returns the cost, to the rounding of sums, and a phrase for every broken rule.
//
// Errors: JSON that cannot be read, or an item that is not in the season.
func Check(instance, plan []byte) (cost float64, broken []string, err error) {
	var s season
	if err := json.Unmarshal(instance, &s); err != nil {
		return 0, nil, err
	}
	var p struct{ Plan []pour }
	if err := json.Unmarshal(plan, &p); err != nil {
		return 0, nil, err
	}
	byID := map[string]*item{}
	for _, it := range s.Items {
		byID[it.ID] = it
	}
	minutes := map[int]int{}
	for _, b := range s.BenchDays {
		minutes[b.Day] = b.Minutes
	}
	pours, broken, err := s.poured(p.Plan, byID, minutes)
	if err != nil {
		return 0, nil, err
	}
	var batches []*batch
	stock := map[*item]int{}
	for _, it := range s.Items {
		stock[it] = it.OpeningStock
		for _, c := range it.OpeningCure {
			for range c.Batches {
				batches = append(batches, &batch{of: it, poured: -1, ready: c.ReadyDay})
			}
		}
	}
	for day := range 7 * s.Weeks {
		// Morning: some batches become ready. Products are counted on Mondays.
		for _, b := range batches {
			if !b.counted && b.ready <= day && (b.of.Kind == "component" || day%7 == 0) {
				b.counted = true
				stock[b.of] += b.of.BatchUnits
			}
		}
		if day%7 == 0 {
			cost += s.monday(day/7, stock)
		}
		// Day: batches are poured. A component without lead time is there at once.
		spent := 0
		for _, it := range s.Items {
			n := pours[day][it]
			if n == 0 {
				continue
			}
			if n > it.MaxBatchesPerDay {
				broken = append(broken, fmt.Sprintf("%d batches of %s on day %d", n, it.ID, day))
			}
			spent += it.SetupMinutes
			cost += it.SetupCost
			for range n {
				spent += it.BatchMinutes
				cost += it.BatchCost
				b := &batch{of: it, poured: day, ready: day + it.LeadDays, free: day + it.MouldDays}
				if it.Kind == "component" && it.LeadDays == 0 {
					b.counted = true
					stock[it] += it.BatchUnits
				}
				batches = append(batches, b)
				for _, u := range it.BOM {
					stock[byID[u.Component]] -= u.UnitsPerBatch
				}
			}
		}
		if spent > minutes[day] {
			broken = append(broken, fmt.Sprintf("day %d takes %d minutes", day, spent))
		}
		broken = append(broken, s.evening(day, batches)...)
		for _, it := range s.Items {
			if it.Kind != "component" {
				continue
			}
			if stock[it] < 0 {
				broken = append(broken, fmt.Sprintf("%d of %s on day %d", stock[it], it.ID, day))
			}
			if day%7 == 6 {
				cost += it.HoldingPerUnitWeek * float64(stock[it])
			}
		}
	}
	for _, it := range s.Items {
		if it.Kind == "component" {
			continue
		}
		have := stock[it]
		for _, b := range batches {
			if b.of == it && b.poured >= 0 && !b.counted {
				have += it.BatchUnits
			}
		}
		if have < it.EndPositionTarget {
			cost += it.EndPositionPenalty * float64(it.EndPositionTarget-have)
		}
	}
	sort.Strings(broken)
	return cost, broken, nil
}

// poured adds the entries of a plan up, by day and item. It also says which
// entries break a rule; those are left out.
//
// Errors: an item that is not in the season.
func (s *season) poured(plan []pour, byID map[string]*item, minutes map[int]int) (pours map[int]map[*item]int, broken []string, err error) {
	pours = map[int]map[*item]int{}
	for _, x := range plan {
		it := byID[x.Item]
		if it == nil {
			return nil, nil, fmt.Errorf("no item %q", x.Item)
		}
		if _, bench := minutes[x.Day]; !bench {
			broken = append(broken, fmt.Sprintf("day %d is no bench day", x.Day))
			continue
		}
		if x.Batches < 0 {
			broken = append(broken, fmt.Sprintf("%d batches of %s on day %d", x.Batches, x.Item, x.Day))
			continue
		}
		if pours[x.Day] == nil {
			pours[x.Day] = map[*item]int{}
		}
		pours[x.Day][it] += x.Batches
	}
	return pours, broken, nil
}

// evening says which limits of mould sets and rack places are broken at the end of
// a day.
func (s *season) evening(day int, batches []*batch) (broken []string) {
	sets, places := map[string]int{}, 0
	for _, b := range batches {
		if b.poured >= 0 && day < b.free {
			sets[b.of.Mould]++
		}
		if day >= b.free && day < b.ready {
			places += b.of.RackSlots
		}
	}
	for _, m := range s.Moulds {
		if sets[m.ID] > m.Count {
			broken = append(broken, fmt.Sprintf("%d sets of %s on day %d", sets[m.ID], m.ID, day))
		}
		delete(sets, m.ID)
	}
	for id := range sets {
		broken = append(broken, fmt.Sprintf("there is no mould %s", id))
	}
	if places > s.RackSlots {
		broken = append(broken, fmt.Sprintf("%d rack places on day %d", places, day))
	}
	return broken
}

// monday sells a week's demand and returns what that costs.
func (s *season) monday(w int, stock map[*item]int) (cost float64) {
	for _, it := range s.Items {
		if it.Kind == "component" {
			continue
		}
		if it.Launch != nil && it.Launch.Week == w && stock[it] < it.Launch.StockNeeded {
			cost += it.Launch.ShortPenalty * float64(it.Launch.StockNeeded-stock[it])
		}
		for range it.Demand[w] {
			if stock[it] > 0 {
				stock[it]--
			} else {
				cost += it.LostSalePenalty[w]
			}
		}
		cost += it.HoldingPerUnitWeek * float64(stock[it])
		if len(it.SafetyStock) > 0 && stock[it] < it.SafetyStock[w] {
			cost += it.SafetyPenaltyPerUnit * float64(it.SafetyStock[w]-stock[it])
		}
	}
	return cost
}
