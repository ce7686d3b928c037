// Package lye holds what is known of sodium and potassium hydroxide in water,
// and of the heat they make: densities, saturation, the peak that fresh lye may
// reach, the ice that keeps it lower, how it cools, how hot a batter may get,
// and the cautions that go with all of it.
//
// Every peak here is a ceiling, worked out as if no heat were lost. It says
// what a jug may reach and is not a forecast. w is the mass fraction of pure
// alkali in the solution, 0 to 1. Temperatures are in °C, densities in g/mL and
// heats in kJ, unless a comment says otherwise.
//
// The tables are in data/, and each row has its source. A value outside the
// range that a source covers is an error (fault.Invalid), never a guess.
package lye

import (
	"fmt"
	"math"

	"barwright/fault"
)

// Alkali is one of the two alkalis that make soap.
type Alkali uint8

const (
	// NaOH is sodium hydroxide, for hard soap.
	NaOH Alkali = iota
	// KOH is potassium hydroxide, for soft soap.
	KOH
)

// String is the name as the maker says it.
func (a Alkali) String() string {
	switch a {
	case NaOH:
		return "sodium hydroxide"
	case KOH:
		return "potassium hydroxide"
	}
	return fmt.Sprintf("Alkali(%d)", uint8(a))
}

// Molar masses in g/mol, from the abridged standard atomic weights of IUPAC
// (H 1.008, C 12.011, O 15.999, Na 22.98976928, K 39.0983).
const (
	NaOHMolarMass     = 22.98976928 + 15.999 + 1.008
	KOHMolarMass      = 39.0983 + 15.999 + 1.008
	WaterMolarMass    = 2*1.008 + 15.999
	GlycerolMolarMass = 3*12.011 + 8*1.008 + 3*15.999
)

// MolarMass is the molar mass of the alkali, g/mol.
func (a Alkali) MolarMass() float64 {
	if a == KOH {
		return KOHMolarMass
	}
	return NaOHMolarMass
}

// strengthIn refuses a mass fraction outside what a source covers.
func strengthIn(what string, w, lo, hi float64) error {
	if w >= lo && w <= hi {
		return nil
	}
	if math.IsNaN(w) || math.IsInf(w, 0) {
		return fault.Invalidf("concentration", "The strength of the lye is not a finite number; give one in %%.")
	}
	return fault.Invalidf("concentration", "%s is known from %.4g to %.4g %% alkali by mass, not at %.4g %%; choose a strength between.",
		what, 100*lo, 100*hi, 100*w)
}

// tempIn refuses a temperature outside what a source covers.
func tempIn(field, what string, tempC, lo, hi float64) error {
	if tempC >= lo && tempC <= hi {
		return nil
	}
	if math.IsNaN(tempC) || math.IsInf(tempC, 0) {
		return fault.Invalidf(field, "The temperature is not a finite number; give one in °C.")
	}
	return fault.Invalidf(field, "%s is known from %.4g to %.4g °C, not at %.4g °C; give a temperature between.", what, lo, hi, tempC)
}

// massIn refuses a mass that is not a number, is negative, or is more than a
// thousand tonnes.
func massIn(field, what string, g float64) error {
	if g >= 0 && g <= 1e9 {
		return nil
	}
	return fault.Invalidf(field, "The mass of %s is %g g; give one from 0 to a thousand million.", what, g)
}
