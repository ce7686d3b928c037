package formula

import "barwright/quantity"

// GramsPerKgFats is the dose that was typed, in g per kg of fats. An ounce per
// pound is 62.5 g/kg; a teaspoon is GramsPerTsp. A dose typed in grams is its
// amount.
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

// PctOfFats is the dose that was typed, in % of the mass of fats: an ounce per
// pound is 6.25 %. A dose of a scent typed in percent has the zero Typed, and
// its amount is the percentage.
func (t Typed) PctOfFats() float64 {
	if t.Unit == Grams {
		return t.Amount
	}
	return t.GramsPerKgFats() / 10
}

// SetTyped sets the dose from the face in which it was typed, per kg of fats.
// The zero Typed is left to mean plain grams, and only clears the face.
func (x *Extra) SetTyped(t Typed) {
	x.Typed = t
	if t != (Typed{}) {
		x.Dose, x.Per = t.GramsPerKgFats(), PerKgFats
	}
}

// SetTyped sets the dose, as % of the fats, from the face in which it was typed.
// The zero Typed is left to mean plain percent, and only clears the face.
func (s *Scent) SetTyped(t Typed) {
	s.Typed = t
	if t != (Typed{}) {
		s.DosePct, s.Of = t.PctOfFats(), OfFats
	}
}
