// Package season plans what to pour on which bench day over the next months:
// whole batches, within the minutes of each day, the mould sets and when they
// are free again, the places on the rack, and the embeds that are made ahead.
//
// Day 0 is a Monday and week w begins on day 7w. A batch poured on day d is
// ready on day d + LeadDays; a product counts from the first Monday at or after
// that, a component from the day itself.
package season

// Format is the name of the form that Read takes.
const Format = "season-plan/1"

// Instance is one season to plan, as its file says it. Days count from 0,
// weeks from 0, minutes are the maker's, money is in the studio's currency.
type Instance struct {
	Name      string
	Weeks     int
	RackSlots int
	Moulds    []Mould
	BenchDays []BenchDay // rising by day
	Items     []Item
}

// Mould is a type of mould and how many sets of it there are.
type Mould struct {
	ID    string
	Count int
}

// BenchDay is a day on which may be poured.
type BenchDay struct {
	Day, Minutes int
}

// Item is what is poured: a product that is sold, or a component that goes into
// other items' batches.
type Item struct {
	ID, Name  string
	Component bool
	// BatchUnits are the pieces of one batch.
	BatchUnits int
	Mould      int // index into Moulds
	MouldDays  int // the mould is taken on days d … d+MouldDays−1
	LeadDays   int
	RackSlots  int // of one batch, on days d+MouldDays … d+LeadDays−1
	// SetupMinutes are spent once on a day that the item is poured, BatchMinutes
	// on every batch; SetupCost and BatchCost likewise.
	SetupMinutes, BatchMinutes int
	SetupCost, BatchCost       float64
	MaxBatchesPerDay           int
	Holding                    float64 // a unit, a week
	OpeningStock               int
	BOM                        []Use // what one batch draws on the day it is poured

	// The rest is a product's.
	Demand        []int     // by week
	LostSale      []float64 // penalty a unit, by week
	SafetyStock   []int     // by week
	SafetyPenalty float64   // a unit below it, a week
	EndTarget     int
	EndPenalty    float64 // a unit by which last stock and what cures fall short
	OpeningCure   []Curing
	Launch        *Launch // nil for none
}

// Use is so many units of a component.
type Use struct {
	Component int // index into Items
	Units     int
}

// Curing is what is on the rack when the season begins.
type Curing struct {
	ReadyDay, Batches int
}

// Launch asks for stock on a week's Monday.
type Launch struct {
	Week, StockNeeded int
	ShortPenalty      float64 // a unit
}

// Pour is so many batches of an item on a bench day.
type Pour struct {
	Day     int `json:"day"`
	Item    int `json:"-"` // index into Items; files name it by its id
	Batches int `json:"batches"`
}

// Plan is what to pour, rising by day, then by item; one entry for each.
type Plan []Pour
