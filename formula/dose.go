package formula

import "barwright/quantity"

// GramsPerKgFats is the dose that was typed, in g per kg of fats. An ounce per
// pound is 62.5 g/kg. A teaspoon counts as GramsPerTsp. A dose typed in grams
// is its amount.
func (t Typed) GramsPerKgFats() float64 {
	switch t.Unit {
	case OuncesPerPound:
		return t.Amount * 62.5
	case TeaspoonsPerPound:
		return t.Amount * t.GramsPerTsp / (quantity.GramsPerPound / 1000)
	default:
		return t.Amount
	}
}

// PctOfFats is the dose that was typed, in % of the mass of fats. An ounce per
// pound is 6.25 %. A scent's dose typed in percent has the zero Typed, and its
// amount is the percentage.
func (t Typed) PctOfFats() float64 {
	if t.Unit == Grams {
		return t.Amount
	}
	return t.GramsPerKgFats() / 10
}

// SetTyped sets the dose, per kg of fats, from what was typed. The zero Typed
// means plain grams. It only clears Typed and leaves the dose as it is.
func (x *Extra) SetTyped(t Typed) {
	x.Typed = t
	if t != (Typed{}) {
		x.Dose, x.Per = t.GramsPerKgFats(), PerKgFats
	}
}

// SetTyped sets the dose, as % of the fats, from what was typed. The zero Typed
// means plain percent. It only clears Typed and leaves the dose as it is.
func (s *Scent) SetTyped(t Typed) {
	s.Typed = t
	if t != (Typed{}) {
		s.DosePct, s.Of = t.PctOfFats(), OfFats
	}
}
