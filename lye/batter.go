package lye

import (
	"barwright/fault"
)

// Sources of a batter's heat, for a page to show.
const (
	SaponificationSource = "no calorimetry of a batter was found; by Hess's law from formation enthalpies, CRC Handbook of Chemistry and Physics " +
		"(ethyl acetate -54.3, methyl laurate -54.1 kJ/mol)"
	FatHeatSource = "Y. Choi and M. R. Okos, Food Engineering and Process Applications 1 (1986) 93"
)

const (
	// SaponificationHeat is the heat of an ester in alkali, kJ per mol of
	// ester. SaponificationHeatSD is its standard uncertainty, an estimate.
	SaponificationHeat   = -54.2
	SaponificationHeatSD = 6.0
	// NeutralisationHeat is the heat of an acid in alkali, kJ/mol: H+ + OH-,
	// CRC Handbook.
	NeutralisationHeat = -55.8
)

// FatCp is the specific heat of liquid fat, kJ/kg·K, from −40 to 150 °C. Error:
// fault.Invalid on "temp_c" outside that range. Source: Choi and Okos 1986.
func FatCp(tempC float64) (float64, error) {
	if err := tempIn("temp_c", "The specific heat of fat", tempC, -40, 150); err != nil {
		return 0, err
	}
	return 1.9842 + tempC*(1.4733e-3-4.8008e-6*tempC), nil
}

// FatConductivity is the thermal conductivity of fat, W/m·K. Its range, error
// and source are those of FatCp. The signs of its terms are from memory.
func FatConductivity(tempC float64) (float64, error) {
	if err := tempIn("temp_c", "The conductivity of fat", tempC, -40, 150); err != nil {
		return 0, err
	}
	return 0.18071 - tempC*(2.7604e-4+1.7749e-7*tempC), nil
}

// SaponificationKJPerKg is the heat that 1 kg of fat gives off, kJ, from its
// saponification value in mg KOH/g, 0 to 1000. Error: fault.Invalid on "sap"
// outside that range.
func SaponificationKJPerKg(sapMgKOHPerG float64) (float64, error) {
	if !(sapMgKOHPerG >= 0 && sapMgKOHPerG <= 1000) {
		return 0, fault.Invalidf("sap", "A saponification value of %g mg KOH/g is not one; give one from 0 to 1000, such as 190.", sapMgKOHPerG)
	}
	return -SaponificationHeat * sapMgKOHPerG / KOHMolarMass, nil
}

// Batter is fats and lye that are about to react.
type Batter struct {
	FatsG  float64
	NaOHG  float64 // pure
	KOHG   float64 // pure
	WaterG float64
	// EsterMol will saponify and AcidMol will be neutralised, mol.
	EsterMol, AcidMol float64
	StartC            float64 // of the batter as stirred, 0 to 100 °C
}

// Ceiling is how hot a batter may get if it keeps all of its heat. It is a
// band, because it is not known how much of the heat stored in strong lye the
// soap gives back. A loaf loses heat and stays below the band. Sugar, honey and
// milk add heat of their own, which the band does not include.
type Ceiling struct {
	LowC, HighC float64
	// DoubtK is how far both ends may be out, as one standard deviation, K. It
	// covers the heat of saponification (6 of 54 kJ/mol) and the specific
	// heats: together 15 % of the rise.
	DoubtK float64
	// HeatKJ is the heat of saponification and neutralisation. LyeKJ is the
	// heat stored in the lye, which only the high end includes. The heat stored
	// by KOH is not known and is left out.
	HeatKJ, LyeKJ float64
	// CapacityKJPerK is the heat capacity of fats and lye.
	CapacityKJPerK float64
}

// ceilingDoubt is DoubtK as a share of the rise: about 8 K of 52 K.
const ceilingDoubt = 0.15

// BatterCeiling is the adiabatic ceiling of b. The specific heat of a mixed lye
// is the average of those of its alkalis at the same strength, weighted by
// mass.
//
// Errors, all at once: fault.Invalid on "fats_g", "naoh_g", "koh_g", "water_g",
// "ester_mol", "acid_mol" or "start_c", and on "concentration" when the lye is
// stronger than the range of its specific heat (NaOH 50 %, KOH 46 %).
func BatterCeiling(b Batter) (Ceiling, error) {
	var faults fault.List
	add := func(err error) { faults = append(faults, fault.All(err)...) }
	add(massIn("fats_g", "fats", b.FatsG))
	add(massIn("naoh_g", "sodium hydroxide", b.NaOHG))
	add(massIn("koh_g", "potassium hydroxide", b.KOHG))
	add(massIn("water_g", "water", b.WaterG))
	for _, mol := range []struct {
		field string
		n     float64
	}{{"ester_mol", b.EsterMol}, {"acid_mol", b.AcidMol}} {
		if !(mol.n >= 0 && mol.n <= 1e9) {
			faults.Add(fault.Invalidf(mol.field, "%g mol cannot react; give 0 or more.", mol.n))
		}
	}
	add(tempIn("start_c", "The heat of a batter", b.StartC, 0, 100))
	if len(faults) == 0 && b.FatsG+b.WaterG == 0 {
		faults.Add(fault.Invalidf("fats_g", "There is no batter: no fats and no water. Add fats."))
	}
	if len(faults) > 0 {
		return Ceiling{}, faults
	}

	fatCp, err := FatCp(b.StartC)
	if err != nil {
		return Ceiling{}, err
	}
	alkali := b.NaOHG + b.KOHG
	lyeG := alkali + b.WaterG
	lyeCp := waterCp
	c := Ceiling{}
	if alkali > 0 {
		w := alkali / lyeG
		lyeCp = 0
		if b.NaOHG > 0 {
			cp, err := NaOHCp(w, b.StartC)
			if err != nil {
				return Ceiling{}, err
			}
			lyeCp += b.NaOHG / alkali * cp
			// A lye weaker than the table's range stores almost no heat.
			if w >= weakest {
				stored, err := NaOHHeatOfSolution(w)
				if err != nil {
					return Ceiling{}, err
				}
				c.LyeKJ = max(stored-NaOHSolutionHeat, 0) * b.NaOHG / NaOHMolarMass
			}
		}
		if b.KOHG > 0 {
			cp, err := KOHCp(w)
			if err != nil {
				return Ceiling{}, err
			}
			lyeCp += b.KOHG / alkali * cp
		}
	}
	c.CapacityKJPerK = (b.FatsG*fatCp + lyeG*lyeCp) / 1000
	c.HeatKJ = -SaponificationHeat*b.EsterMol - NeutralisationHeat*b.AcidMol
	c.LowC = b.StartC + c.HeatKJ/c.CapacityKJPerK
	c.HighC = b.StartC + (c.HeatKJ+c.LyeKJ)/c.CapacityKJPerK
	c.DoubtK = ceilingDoubt * (c.HighC - b.StartC)
	if !(c.HighC < 1e4) {
		return Ceiling{}, fault.Invalidf("ester_mol", "%g mol of ester and %g mol of acid are more than %g g of fats hold; check them.",
			b.EsterMol, b.AcidMol, b.FatsG)
	}
	return c, nil
}
