package soap

import (
	"math"
	"testing"

	"barwright/catalogue"
	"barwright/finding"
	"barwright/formula"
	"barwright/quantity"
)

func TestIceTakesThePeakDown(t *testing.T) {
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	worked := func(l formula.Liquid) *Result {
		t.Helper()
		r, err := Work(&formula.Formula{Name: "Ice", Method: formula.Cold, SuperfatPct: 5, FatsG: 1000, Water: formula.Water{Value: 33},
			Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(99)}, Fats: []formula.Fat{{ID: "olive-oil", Pct: 100}}, Liquid: l}, cat)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	said := func(r *Result) bool {
		for _, x := range Findings(r, r.Superfat, DefaultLimits()) {
			if x.Rule == "ice-short" {
				return x.Severity == finding.Warn
			}
		}
		return false
	}

	r := worked(formula.Liquid{})
	if r.Lye.IcedPeakC.Known || r.Lye.IceG != 0 {
		t.Errorf("no ice, and yet %g g and a peak of %v", r.Lye.IceG, r.Lye.IcedPeakC)
	}

	r = worked(formula.Liquid{PeakC: quantity.Some(50)})
	if !r.Lye.IcedPeakC.Known || math.Abs(r.Lye.IcedPeakC.V-50) > 0.1 {
		t.Errorf("ice for 50 °C leads to %v", r.Lye.IcedPeakC)
	}
	// By hand: melting ice takes 333.4 J/g (CRC Handbook, from memory), and
	// warming the melt to 20 °C takes another 84 (20 K at 4.19 J/g·K). The lye
	// holds near 3.3 J/g·K at this strength (Olsson and others 1997). So each
	// gram of ice takes up about 417 J of the heat that brings all of the lye
	// from 50 °C to its peak.
	hand := r.Lye.MassG * 3.3 * (r.Lye.PeakC.V - 50) / 417
	if math.Abs(r.Lye.IceG/hand-1) > 0.1 {
		t.Errorf("%.0f g of ice, by hand about %.0f g", r.Lye.IceG, hand)
	}
	if said(r) {
		t.Error("ice that does is called short")
	}

	r = worked(formula.Liquid{PeakC: quantity.Some(0)})
	if jug := r.WaterG; math.Abs(r.Lye.IceG-jug) > 1e-9 {
		t.Errorf("no ice does: %.1f g is used of %.1f g", r.Lye.IceG, jug)
	}
	if !said(r) {
		t.Error("all the water as ice does not do, and no finding says so")
	}
}
