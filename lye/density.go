package lye

import (
	"math"

	"barwright/fault"
)

// Sources of the densities and of the saturation, for a page to show.
const (
	NaOHDensitySource = "CRC Handbook of Chemistry and Physics (20 °C); Perry's Chemical Engineers' Handbook"
	KOHDensitySource  = "M. Laliberté, J. Chem. Eng. Data 54 (2009) 1725"
	WaterSource       = "G. S. Kell, J. Chem. Eng. Data 20 (1975) 97"
	SaturationSource  = "solubility of NaOH and KOH in water, CRC Handbook of Chemistry and Physics"
	FatDensitySource  = "Lund's rule, J. Am. Oil Chem. Soc. 76 (1999) 1415"
)

// NaOHDensity is the density of sodium hydroxide solution, g/mL, for w from 0
// to 0.50 and 20 to 60 °C. It follows straight lines between the points of the
// table. The points are good to 0.001 g/mL where the CRC Handbook has them, and
// to 0.003 elsewhere. Errors: fault.Invalid on "concentration" or "temp_c"
// outside those ranges.
func NaOHDensity(w, tempC float64) (float64, error) {
	if err := strengthIn("The density of sodium hydroxide solution", w, 0, 0.50); err != nil {
		return 0, err
	}
	if err := tempIn("temp_c", "The density of sodium hydroxide solution", tempC, 20, 60); err != nil {
		return 0, err
	}
	t := tables()
	k := 0
	if tempC > 40 {
		k = 1
	}
	cool, warm := t.naoh[k].at(100*w), t.naoh[k+1].at(100*w)
	f := (tempC - 20*float64(k+1)) / 20
	return (cool + f*(warm-cool)) / 1000, nil
}

// KOHDensity is the density of potassium hydroxide solution, g/mL, for w from 0
// to 0.519 and 4 to 95 °C. It agrees with tables to within 0.002 up to 40 %.
// Errors: fault.Invalid on "concentration" or "temp_c" outside those ranges.
// Source: Laliberté 2009. Its coefficients for NaOH are not used, because they
// are up to 0.009 g/mL too low at 50 %.
func KOHDensity(w, tempC float64) (float64, error) {
	if err := strengthIn("The density of potassium hydroxide solution", w, 0, 0.519); err != nil {
		return 0, err
	}
	if err := tempIn("temp_c", "The density of potassium hydroxide solution", tempC, 4, 95); err != nil {
		return 0, err
	}
	const c0, c1, c2, c3, c4 = 821.119043254761, 1043.20173374381, 0.112873330222752, 0.00124023636407386, 539.630388368877
	apparent := (w + c2 + c3*tempC) / ((c0*w + c1) * math.Exp(1e-6*(tempC+c4)*(tempC+c4)))
	return 1 / ((1-w)/kell(tempC) + w*apparent) / 1000, nil
}

// Density is NaOHDensity or KOHDensity.
func Density(a Alkali, w, tempC float64) (float64, error) {
	if a == KOH {
		return KOHDensity(w, tempC)
	}
	return NaOHDensity(w, tempC)
}

// WaterDensityGML is the density of air-free water at 101.325 kPa, g/mL, from 0
// to 100 °C. Error: fault.Invalid on "temp_c" outside that range. Source: Kell
// 1975.
func WaterDensityGML(tempC float64) (float64, error) {
	if err := tempIn("temp_c", "The density of water", tempC, 0, 100); err != nil {
		return 0, err
	}
	return kell(tempC) / 1000, nil
}

// kell is the density of water in kg/m³. One copy of the equation on the web
// prints the last constant as 16.897850e-3, with two digits swapped, which is
// 0.27 kg/m³ out at 20 °C.
func kell(t float64) float64 {
	return (999.83952 + t*(16.945176+t*(-7.9870401e-3+t*(-46.170461e-6+t*(105.56302e-9-t*280.54253e-12))))) /
		(1 + 16.879850e-3*t)
}

// BalanceToMillilitres is the volume, in mL, of each gram of water that a
// balance shows, for water at 0 to 60 °C. A mould's volume is the weight of its
// water times this. It allows for the buoyancy of air (1.2 kg/m³) on water and
// on the balance's weights (8000 kg/m³), as ISO 8655-6 does. Between whole
// degrees it follows straight lines. Error: fault.Invalid on "water_c" outside
// that range.
func BalanceToMillilitres(tempC float64) (float64, error) {
	if err := tempIn("water_c", "The volume of weighed water", tempC, 0, 60); err != nil {
		return 0, err
	}
	return tables().balance.at(tempC), nil
}

// FatDensityGML is the density of a liquid fat, g/mL, from 15 to 110 °C. Lund's
// rule gives it from the saponification value (mg KOH/g) and the iodine value
// (g/100 g). It is within 0.004 of measured fats. It does not hold for castor
// oil, whose acid has a hydroxyl group, nor for waxes. Errors: fault.Invalid on
// "sap", "iodine" or "temp_c". Source: J. Am. Oil Chem. Soc. 76 (1999) 1415,
// with water of 15 °C at 0.99910 g/mL.
func FatDensityGML(sapMgKOHPerG, iodine, tempC float64) (float64, error) {
	if !(sapMgKOHPerG > 0 && sapMgKOHPerG <= 1000) {
		return 0, fault.Invalidf("sap", "A saponification value of %g mg KOH/g gives no density; give one above 0, such as 190.", sapMgKOHPerG)
	}
	if !(iodine >= 0 && iodine <= 1000) {
		return 0, fault.Invalidf("iodine", "An iodine value of %g gives no density; give one of 0 or more, such as 84.", iodine)
	}
	if err := tempIn("temp_c", "The density of fats", tempC, 15, 110); err != nil {
		return 0, err
	}
	return (999.10*(0.8475+0.00030*sapMgKOHPerG+0.00014*iodine) - 0.64*(tempC-15)) / 1000, nil
}

// How much alkali 100 g of water dissolves, g, by temperature. At 5.4 °C, 32.5
// % lye starts to crystallise. Without that point, a line from 0 to 20 °C would
// promise more than stays dissolved in a cold room.
var (
	naohInWater = series{
		x: []float64{0, 5.4, 20, 40, 60},
		y: []float64{42, 100 * 32.5 / 67.5, 109, 129, 174},
	}
	kohInWater = series{
		x: []float64{0, 20, 50, 100},
		y: []float64{97, 112, 140, 178},
	}
)

// SaturationPct is the strongest solution that stays dissolved, % by mass: NaOH
// from 0 to 60 °C (20 °C: 52.2), KOH from 0 to 100 °C (20 °C: 52.8). Between
// the points of the table it follows a straight line. For NaOH below 20 °C the
// line gives a little less than really dissolves. Error: fault.Invalid on
// "temp_c" outside those ranges.
func SaturationPct(a Alkali, tempC float64) (float64, error) {
	s := naohInWater
	if a == KOH {
		s = kohInWater
	}
	if err := tempIn("temp_c", "The solubility of "+a.String(), tempC, s.x[0], s.x[len(s.x)-1]); err != nil {
		return 0, err
	}
	g := s.at(tempC)
	return 100 * g / (100 + g), nil
}
