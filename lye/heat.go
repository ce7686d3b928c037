package lye

import (
	"math"

	"barwright/fault"
	"barwright/quantity"
)

// Sources of the heats, for a page to show.
const (
	EnthalpySource = "H. Olsson, Å. Jernqvist, G. Aly, Int. J. Thermophys. 18 (1997) 779; heat of solution at infinite dilution: CRC Handbook of " +
		"Chemistry and Physics"
	IceSource = "heat of fusion of ice 333.55 kJ/kg, CRC Handbook of Chemistry and Physics; heat capacity of ice: IAPWS R10-06, from memory"
)

// Heats of solution at infinite dilution and 25 °C, kJ/mol: CRC Handbook, after
// Parker, NSRDS-NBS 2 (1965). How the heat of KOH depends on strength was not
// found. The value here is an upper bound for stronger lye.
const (
	NaOHSolutionHeat = -44.51
	KOHSolutionHeat  = -57.61
)

const (
	// solidNaOH is the enthalpy of solid NaOH at 20 °C on Olsson's scale,
	// kJ/kg, from NaOHSolutionHeat. The chart in textbooks rests on 455 Btu/lb
	// (1058.3 kJ/kg) at 68 °F (Himmelblau, example 13.3), which gives peaks
	// some 2 to 4 °C lower. The higher of the two gives the better warning.
	solidNaOH = 1085.65
	// solidNaOHCp is the specific heat of solid NaOH, kJ/kg·K, from 59.5
	// J/mol·K (CRC Handbook).
	solidNaOHCp = 59.5 / NaOHMolarMass
	waterCp     = 4.18   // kJ/kg·K, within 0.3 % from 0 to 60 °C
	iceFusion   = 333.55 // kJ/kg
)

// olsson holds the coefficients of the enthalpy at one strength, kJ/kg of
// solution: h = c[0] + c[1]·t + c[2]·t² + c[3]·t³.
type olsson [4]float64

func olssonAt(w float64) olsson {
	y := 1 - w
	return olsson{
		poly(y, 1288.4485, -4387.8908, 4938.2298, -1841.1890) /
			poly(y, 1, -0.49649131, -4.0915144, 7.2887292, -3.0202651),
		poly(y, 2.3087919, -9.0004252, 167.59914, -1051.6368, 3394.3378, -6115.0986, 6220.8249, -3348.8098, 743.87432),
		poly(y, 0.02302860, -0.37866056, 2.4529593, -8.2693542, 15.728833, -16.944427, 9.6254192, -2.2410628),
		1e-5 * poly(y, -8.5131313, 136.52823, -875.68741, 2920.0398, -5488.2983, 5841.8034, -3278.7483, 754.45993),
	}
}

func poly(y float64, c ...float64) float64 {
	sum := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		sum = sum*y + c[i]
	}
	return sum
}

func (c *olsson) enthalpy(t float64) float64 { return c[0] + t*(c[1]+t*(c[2]+t*c[3])) }
func (c *olsson) cp(t float64) float64       { return c[1] + t*(2*c[2]+t*3*c[3]) }

// The range in which the enthalpy is known: the strengths, and the temperatures
// that lye reaches.
const (
	weakest, strongest = 0.04, 0.50
	coldest, hottest   = 0, 150
)

func enthalpyKnown(what string, w, tempC float64) error {
	if err := strengthIn(what, w, weakest, strongest); err != nil {
		return err
	}
	return tempIn("temp_c", what, tempC, coldest, hottest)
}

// NaOHEnthalpy is the enthalpy of sodium hydroxide solution, kJ per kg of
// solution, for w from 0.04 to 0.50 and 0 to 150 °C. Water at 0 °C and
// infinitely dilute NaOH at 20 °C have the enthalpy 0. Above 0.46 it is
// extrapolated at room temperature, and less reliable. Errors: fault.Invalid on
// "concentration" or "temp_c" outside those ranges. Source: Olsson, Jernqvist
// and Aly 1997.
func NaOHEnthalpy(w, tempC float64) (float64, error) {
	if err := enthalpyKnown("The enthalpy of sodium hydroxide solution", w, tempC); err != nil {
		return 0, err
	}
	c := olssonAt(w)
	return c.enthalpy(tempC), nil
}

// NaOHCp is the specific heat of sodium hydroxide solution, kJ/kg·K, for w from
// 0 to 0.50 and 0 to 150 °C. It is the slope of NaOHEnthalpy, and below 0.04 a
// straight line to the value of water. Errors: as for NaOHEnthalpy.
func NaOHCp(w, tempC float64) (float64, error) {
	if w >= 0 && w < weakest {
		if err := tempIn("temp_c", "The specific heat of sodium hydroxide solution", tempC, coldest, hottest); err != nil {
			return 0, err
		}
		c := olssonAt(weakest)
		return waterCp + w/weakest*(c.cp(tempC)-waterCp), nil
	}
	if err := enthalpyKnown("The specific heat of sodium hydroxide solution", w, tempC); err != nil {
		return 0, err
	}
	c := olssonAt(w)
	return c.cp(tempC), nil
}

// KOHCp is the specific heat of potassium hydroxide solution at 20 °C, kJ/kg·K,
// for w from 0 to 0.46. Error: fault.Invalid on "concentration" outside that
// range. Source: Laliberté, J. Chem. Eng. Data 54 (2009) 1725.
func KOHCp(w float64) (float64, error) {
	if err := strengthIn("The specific heat of potassium hydroxide solution", w, 0, 0.46); err != nil {
		return 0, err
	}
	return tables().kohCp.at(100 * w), nil
}

// NaOHHeatOfSolution is the heat, kJ per mol of NaOH, when the solid dissolves
// to the strength w at 25 °C, for w from 0.04 to 0.50. It is below 0 because
// the heat is given off. It is good to 0.3 kJ/mol. Error: fault.Invalid on
// "concentration" outside that range.
func NaOHHeatOfSolution(w float64) (float64, error) {
	if err := strengthIn("The heat of solution of sodium hydroxide", w, weakest, strongest); err != nil {
		return 0, err
	}
	solution, water := olssonAt(w), olssonAt(0)
	kJPerKg := solution.enthalpy(25) - (1-w)*water.enthalpy(25) - w*(solidNaOH+5*solidNaOHCp)
	return kJPerKg * NaOHMolarMass / w / 1000, nil
}

// BoilingC is the boiling point of sodium hydroxide solution at 101.3 kPa, °C,
// for w from 0 to 0.50. It follows straight lines between the points of the
// table. Error: fault.Invalid on "concentration" outside that range. Source:
// Olsson, Jernqvist and Aly 1997.
func BoilingC(w float64) (float64, error) {
	if err := strengthIn("The boiling point of sodium hydroxide solution", w, 0, 0.50); err != nil {
		return 0, err
	}
	return tables().boiling.at(100 * w), nil
}

// Jug is sodium hydroxide about to be dissolved in water. The water, with the
// ice in it, is in the jug first, and the flakes are added to it.
type Jug struct {
	NaOHG  float64 // pure; what is not NaOH in the flakes counts as water
	WaterG float64 // all of the water, including the ice
	StartC float64 // of the water, 0 to 40 °C: hot water is never used
	// FlakesC is the temperature of the flakes. When unknown, it is that of the
	// water.
	FlakesC quantity.Maybe
	IceC    float64 // of the ice, −40 to 0 °C; straight from a freezer at −18 °C less ice is needed
}

// PeakC is the temperature, °C, that fresh lye of the strength w may reach when
// water and flakes both start at startC. It is an upper limit, because no heat
// is taken to be lost while the flakes go in. As a prediction of the real peak
// it is good to ± 4 °C. For the range of w and the errors, see PeakWithIce.
func PeakC(w, startC float64) (float64, error) {
	return Jug{NaOHG: w, WaterG: 1 - w, StartC: startC}.PeakWithIce(0)
}

// PeakWithIce is the temperature, °C, that the lye may reach when iceG of the
// water is ice. The strength must lie between 4 and 50 % NaOH by mass, where
// the heat is known. It refuses so much ice that the lye would end below 0 °C.
//
// Errors: fault.Invalid on "naoh_g", "water_g", "concentration", "start_c",
// "flakes_c", "ice_c" or "ice_g". Sources: EnthalpySource, IceSource.
func (j Jug) PeakWithIce(iceG float64) (float64, error) {
	if err := j.check(); err != nil {
		return 0, err
	}
	if !(iceG >= 0 && iceG <= j.WaterG*(1+1e-9)) {
		return 0, fault.Invalidf("ice_g", "%g g of ice out of %g g of water cannot be; take from 0 g to all of it.", iceG, j.WaterG)
	}
	all := j.NaOHG + j.WaterG
	c := olssonAt(j.NaOHG / all)
	t, ok := c.temperature((j.heat() - iceG*j.perGramOfIce()) / all)
	if !ok {
		return 0, fault.Invalidf("ice_g", "With %.4g g of ice the lye would end below 0 °C, where its heat is not known and ice may be left; take less.", iceG)
	}
	return t, nil
}

// IceFor is the smallest mass of ice, g, in place of water of j, that keeps the
// peak at targetC. It is 0 when the peak is no higher without ice.
//
// Errors: those of PeakWithIce; fault.Invalid on "peak_c" when targetC is not
// between 0 and 150 °C, or when even all the water as ice is not enough. The
// message then gives the peak with all of it as ice.
func IceFor(j Jug, targetC float64) (float64, error) {
	if err := j.check(); err != nil {
		return 0, err
	}
	if err := tempIn("peak_c", "The heat of sodium hydroxide solution", targetC, coldest, hottest); err != nil {
		return 0, err
	}
	all := j.NaOHG + j.WaterG
	c := olssonAt(j.NaOHG / all)
	// Each gram of ice in place of water removes the same heat, so one division
	// gives the mass.
	ice := (j.heat() - all*c.enthalpy(targetC)) / j.perGramOfIce()
	if ice <= 0 {
		return 0, nil
	}
	if ice > j.WaterG {
		least, err := j.PeakWithIce(j.WaterG)
		if err != nil {
			return 0, err
		}
		return 0, fault.Invalidf("peak_c", "No amount of ice keeps the peak at %.0f °C: with all %.4g g of the water as ice the lye may still reach "+
			"%.0f °C. Ask for that or more, or for a weaker lye.",
			targetC, j.WaterG, math.Ceil(least))
	}
	return ice, nil
}

// FrozenFor is the mass, g, of a frozen liquid that cools as much as iceG of
// ice. Its water counts as ice. The heat that its solids take up is left out,
// so the result is rather too much than too little. waterPct is its share of
// water, 0.1 to 100 (whole milk: about 87, from memory). Errors: fault.Invalid
// on "ice_g" or "water_pct".
func FrozenFor(iceG, waterPct float64) (float64, error) {
	if err := massIn("ice_g", "ice", iceG); err != nil {
		return 0, err
	}
	if !(waterPct >= 0.1 && waterPct <= 100) {
		return 0, fault.Invalidf("water_pct", "The frozen liquid's share of water is %g %%; give one from 0.1 to 100.", waterPct)
	}
	return iceG * 100 / waterPct, nil
}

func (j Jug) check() error {
	var faults fault.List
	add := func(err error) { faults = append(faults, fault.All(err)...) }
	add(massIn("naoh_g", "sodium hydroxide", j.NaOHG))
	add(massIn("water_g", "water", j.WaterG))
	add(tempIn("start_c", "The heat of the water", j.StartC, 0, 40))
	add(tempIn("flakes_c", "The heat of the flakes", j.FlakesC.Or(20), -20, 60))
	add(tempIn("ice_c", "The heat of ice", j.IceC, -40, 0))
	if len(faults) == 0 {
		add(strengthIn("The heat of sodium hydroxide solution", j.NaOHG/(j.NaOHG+j.WaterG), weakest, strongest))
	}
	return faults.Err()
}

// heat is the enthalpy of everything that goes in, without ice, J.
func (j Jug) heat() float64 {
	return j.WaterG*waterEnthalpy(j.StartC) + j.NaOHG*(solidNaOH+solidNaOHCp*(j.FlakesC.Or(j.StartC)-20))
}

// perGramOfIce is how much less heat 1 g of ice brings in than 1 g of the
// water, J.
func (j Jug) perGramOfIce() float64 {
	// IAPWS R10-06: 2.097 kJ/kg·K at 0 °C, and 7 J/kg·K less for each degree
	// below (from memory).
	t := j.IceC
	return waterEnthalpy(j.StartC) - (waterEnthalpy(0) - iceFusion + t*(2.097+t*0.0035))
}

// waterEnthalpy is the enthalpy of water, kJ/kg. Olsson's equation was made for
// solutions, and at w = 0 it drifts by up to 3 kJ/kg near 0 °C. It is right at
// 20 °C, where solidNaOH was fixed with it.
func waterEnthalpy(tempC float64) float64 {
	c := olssonAt(0)
	return c.enthalpy(20) + waterCp*(tempC-20)
}

// temperature is where the enthalpy is h. The bool is false when that is below
// coldest or above hottest.
func (c *olsson) temperature(h float64) (float64, bool) {
	if math.IsNaN(h) || h < c.enthalpy(coldest) || h > c.enthalpy(hottest) {
		return 0, false
	}
	t := 60.0
	for range 50 {
		step := (c.enthalpy(t) - h) / c.cp(t)
		t -= step
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return t, true
}
