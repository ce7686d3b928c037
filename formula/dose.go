package formula

import (
	"barwright/catalogue"
	"barwright/fault"
	"barwright/quantity"
)

// CheckTeaspoon refuses what no level teaspoon weighs, g.
func CheckTeaspoon(g float64) error {
	if g > 0 && g <= maxGramsPerTsp {
		return nil
	}
	return fault.Invalidf("", "%s", teaspoonRule)
}

// AssumedTeaspoon is the mass, g, of a level teaspoon of an ingredient, as the
// catalogue states it or as its density suggests. It is 0 when the ingredient is
// nil, or is none that is dosed.
func AssumedTeaspoon(in *catalogue.Ingredient) float64 {
	if in == nil || in.Extra == nil {
		return 0
	}
	return in.Extra.GramsPerTsp.Or(assumedTeaspoon(in.Extra.DensityGML))
}

// assumedTeaspoon is the mass, g, that a level teaspoon of a substance of that
// density, g/mL, is taken to have. A substance denser than any liquid of the
// trade is a powder or a salt, and half of its spoon is air. Common practice,
// no source.
func assumedTeaspoon(density float64) float64 {
	g := density * quantity.MillilitresPerUSTeaspoon
	if density > 1.45 {
		g /= 2
	}
	return g
}

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
