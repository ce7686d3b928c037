package season

// Pins are what the maker has decided: pours that a plan must hold exactly, and
// pours that it must not hold. The zero Pins decide nothing.
type Pins struct {
	// Fixed is exact: on that day exactly so many batches of that item are
	// poured; 0 is none. There is at most one entry for a day and an item.
	Fixed []Pour
	// Forbidden is what must not be poured on a day.
	Forbidden []ItemDay
}

// ItemDay is an item on a bench day.
type ItemDay struct {
	Item int // index into Items
	Day  int
}
