package lye

import (
	"math"

	"barwright/fault"
	"barwright/quantity"
)

// Sources of the heats, for a page to show.
const (
	EnthalpySource = "H. Olsson, Å. Jernqvist, G. Aly, Int. J. Thermophys. 18 (1997) 779; heat of solution at infinite dilution: CRC Handbook of Chemistry and Physics"
	IceSource      = "heat of fusion of ice 333.55 kJ/kg, CRC Handbook of Chemistry and Physics; heat capacity of ice: IAPWS R10-06, from memory"
)

// Heats of solution at infinite dilution and 25 °C, kJ/mol: CRC Handbook, after
// Parker, NSRDS-NBS 2 (1965). That of KOH against strength was not found: its
// value here is an upper bound of what stronger lye gives off.
const (
	NaOHSolutionHeat = -44.51
	KOHSolutionHeat  = -57.61
)

const (
	// solidNaOH is the enthalpy of solid NaOH at 20 °C on Olsson's scale, kJ/kg,
	// from NaOHSolutionHeat. The chart of textbooks rests on 455 Btu/lb (1058.3)
	// at 68 °F (Himmelblau, example 13.3), which gives peaks some 2 to 4 °C lower;
	// of the two, the higher is the one to be warned by.
	solidNaOH = 1085.65
	// solidNaOHCp is in kJ/kg·K: 59.5 J/mol·K (CRC Handbook).
	solidNaOHCp = 59.5 / NaOHMolarMass
	waterCp     = 4.18   // kJ/kg·K, within 0.3 % from 0 to 60 °C
	iceFusion   = 333.55 // kJ/kg
)

// olsson are the coefficients of h = c[0] + c[1]·t + c[2]·t² + c[3]·t³, kJ/kg of
// solution, at one strength.
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

// Where the enthalpy is known: strengths, and the temperatures that lye sees.
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
// solution, w from 0.04 to 0.50 and 0 to 150 °C; water at 0 °C and infinitely
// dilute NaOH at 20 °C stand at 0. Above 0.46 it is extrapolated at room
// temperature, and soft. Errors: fault.Invalid on "concentration" or "temp_c"
// outside that. Source: Olsson, Jernqvist and Aly 1997.
func NaOHEnthalpy(w, tempC float64) (float64, error) {
	if err := enthalpyKnown("The enthalpy of sodium hydroxide solution", w, tempC); err != nil {
		return 0, err
	}
	c := olssonAt(w)
	return c.enthalpy(tempC), nil
}

// NaOHCp is the specific heat of sodium hydroxide solution, kJ/kg·K, by the slope
// of NaOHEnthalpy; below 0.04 a straight line to that of water. w from 0 to 0.50,
// 0 to 150 °C; errors as there.
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

// KOHCp is the specific heat of potassium hydroxide solution at 20 °C, kJ/kg·K, w
// from 0 to 0.46. Error: fault.Invalid on "concentration" outside that. Source:
// Laliberté, J. Chem. Eng. Data 54 (2009) 1725.
func KOHCp(w float64) (float64, error) {
	if err := strengthIn("The specific heat of potassium hydroxide solution", w, 0, 0.46); err != nil {
		return 0, err
	}
	return tables().kohCp.at(100 * w), nil
}

// NaOHHeatOfSolution is the heat, kJ per mol of NaOH, below 0 because it is given
// off, when the solid dissolves to the strength w at 25 °C; w from 0.04 to 0.50,
// good to 0.3 kJ/mol. Error: fault.Invalid on "concentration" outside that.
func NaOHHeatOfSolution(w float64) (float64, error) {
	if err := strengthIn("The heat of solution of sodium hydroxide", w, weakest, strongest); err != nil {
		return 0, err
	}
	solution, water := olssonAt(w), olssonAt(0)
	kJPerKg := solution.enthalpy(25) - (1-w)*water.enthalpy(25) - w*(solidNaOH+5*solidNaOHCp)
	return kJPerKg * NaOHMolarMass / w / 1000, nil
}

// BoilingC is where sodium hydroxide solution boils at 101.3 kPa, °C, w from 0 to
// 0.50, by straight lines between points. Error: fault.Invalid on "concentration"
// outside that. Source: Olsson, Jernqvist and Aly 1997.
func BoilingC(w float64) (float64, error) {
	if err := strengthIn("The boiling point of sodium hydroxide solution", w, 0, 0.50); err != nil {
		return 0, err
	}
	return tables().boiling.at(100 * w), nil
}

// Jug is sodium hydroxide about to be dissolved in water: the water, with the
// ice in it, stands first, and the flakes go onto it.
type Jug struct {
	NaOHG  float64 // pure; what is not NaOH in the flakes counts as water
	WaterG float64 // all of it, the ice included
	StartC float64 // of the water, 0 to 40 °C: hot water is never used
	// FlakesC is the temperature of the flakes; that of the water when unknown.
	FlakesC quantity.Maybe
	IceC    float64 // of the ice, −40 to 0 °C; a freezer's −18 for less ice
}

// PeakC is the temperature, °C, that fresh lye of the strength w may reach when
// water and flakes both start at startC: an upper end, as if no heat were lost
// while the flakes go in. As a claim about the world it is good to ± 4 °C. For w
// and errors, see PeakWithIce.
func PeakC(w, startC float64) (float64, error) {
	return Jug{NaOHG: w, WaterG: 1 - w, StartC: startC}.PeakWithIce(0)
}

// PeakWithIce is the temperature, °C, that the lye may reach when iceG of the
// water is ice. The strength must lie between 4 and 50 % NaOH by mass, where the
// heat is known; so much ice that the lye would end below 0 °C is refused. Errors:
// fault.Invalid on "naoh_g", "water_g", "concentration", "start_c", "flakes_c",
// "ice_c", "ice_g". Sources: EnthalpySource, IceSource.
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

// IceFor is the least mass of ice, g, out of the water of j, that keeps the peak at
// targetC; 0 when the peak is no higher without. Errors: those of PeakWithIce;
// fault.Invalid on "peak_c" when even all the water as ice does not do, with the
// peak it would give, or when targetC is not between 0 and 150 °C.
func IceFor(j Jug, targetC float64) (float64, error) {
	if err := j.check(); err != nil {
		return 0, err
	}
	if err := tempIn("peak_c", "The heat of sodium hydroxide solution", targetC, coldest, hottest); err != nil {
		return 0, err
	}
	all := j.NaOHG + j.WaterG
	c := olssonAt(j.NaOHG / all)
	// Each gram of ice in place of water takes the same heat out, so that the
	// mass follows in one step.
	ice := (j.heat() - all*c.enthalpy(targetC)) / j.perGramOfIce()
	if ice <= 0 {
		return 0, nil
	}
	if ice > j.WaterG {
		least, err := j.PeakWithIce(j.WaterG)
		if err != nil {
			return 0, err
		}
		return 0, fault.Invalidf("peak_c", "No amount of ice keeps the peak at %.0f °C: with all %.4g g of the water as ice the lye may still reach %.0f °C. Ask for that or more, or for a weaker lye.",
			targetC, j.WaterG, math.Ceil(least))
	}
	return ice, nil
}

// FrozenFor is the mass, g, of a frozen liquid that cools as iceG of ice does: its
// water is the ice, and the heat that its solids take up is left out, which errs
// towards too much of it. waterPct is its share of water, 0.1 to 100 (whole
// milk: about 87, from memory). Errors: fault.Invalid on "ice_g", "water_pct".
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

// heat is the enthalpy of what goes in with no ice, J.
func (j Jug) heat() float64 {
	return j.WaterG*waterEnthalpy(j.StartC) + j.NaOHG*(solidNaOH+solidNaOHCp*(j.FlakesC.Or(j.StartC)-20))
}

// perGramOfIce is how much less heat comes in with 1 g of ice than with 1 g of
// the water, J.
func (j Jug) perGramOfIce() float64 {
	// IAPWS R10-06: 2.097 kJ/kg·K at 0 °C, 7 J/kg·K less with each degree down
	// (from memory).
	t := j.IceC
	return waterEnthalpy(j.StartC) - (waterEnthalpy(0) - iceFusion + t*(2.097+t*0.0035))
}

// waterEnthalpy is that of water, kJ/kg. Olsson's equation was made for solutions
// and at w = 0 drifts by up to 3 kJ/kg near 0 °C; at 20 °C, where solidNaOH was
// fixed with it, it is right.
func waterEnthalpy(tempC float64) float64 {
	c := olssonAt(0)
	return c.enthalpy(20) + waterCp*(tempC-20)
}

// temperature is where the enthalpy is h, and false when that is below coldest or
// above hottest.
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
