package season

// Format is the name of the form that Read takes.
const Format = "season-plan/1"

// Instance is one season to plan, as its file says it. Days and weeks count from
// 0. Minutes are the maker's working minutes; money is in the studio's currency.
type Instance struct {
	Name      string
	Weeks     int
	RackSlots int
	Moulds    []Mould
	BenchDays []BenchDay // in rising order of day
	Items     []Item
}

// Mould is a type of mould and how many sets of it there are.
type Mould struct {
	ID    string
	Count int
}

// BenchDay is a day on which the maker can pour.
type BenchDay struct {
	Day, Minutes int
}

// Item is something that is poured: a product that is sold, or a component that
// goes into batches of other items.
type Item struct {
	ID, Name  string
	Component bool
	// BatchUnits is the number of pieces in one batch.
	BatchUnits int
	Mould      int // index into Moulds
	MouldDays  int // the mould is in use on days d … d+MouldDays−1
	LeadDays   int
	RackSlots  int // places that one batch takes on days d+MouldDays … d+LeadDays−1
	// SetupMinutes and SetupCost are spent once on each day on which the item is
	// poured, BatchMinutes and BatchCost on every batch.
	SetupMinutes, BatchMinutes int
	SetupCost, BatchCost       float64
	MaxBatchesPerDay           int
	Holding                    float64 // for each unit and week
	OpeningStock               int
	BOM                        []Use // what one batch draws from stock on the day it is poured

	// The fields below apply to products only.
	Demand        []int     // by week
	LostSale      []float64 // penalty for each unit, by week
	SafetyStock   []int     // by week
	SafetyPenalty float64   // for each unit below the safety stock and week
	EndTarget     int
	EndPenalty    float64 // for each unit by which the last stock and what still cures fall short
	OpeningCure   []Curing
	Launch        *Launch // nil for none
}

// Use is a number of units of one component.
type Use struct {
	Component int // index into Items
	Units     int
}

// Curing is what is on the rack when the season begins.
type Curing struct {
	ReadyDay, Batches int
}

// Launch asks for a stock on the Monday of a week.
type Launch struct {
	Week, StockNeeded int
	ShortPenalty      float64 // for each unit
}

// Pour is a number of batches of one item on one bench day.
type Pour struct {
	Day     int `json:"day"`
	Item    int `json:"-"` // index into Items; files name it by its id
	Batches int `json:"batches"`
}

// Plan is what to pour: one entry for each day and item, in rising order of day,
// then of item.
type Plan []Pour
