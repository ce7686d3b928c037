package soap

import (
	"math"
	"testing"

	"barwright/finding"
	"barwright/formula"
	"barwright/quantity"
)

// TestEveryRuleIsMet provokes each rule by the smallest change to a plain
// formula, and holds it to its severity. What the rules say of the trade is
// common practice, no source, where the finding itself says so.
func TestEveryRuleIsMet(t *testing.T) {
	plain := func() *formula.Formula {
		f := workedOne()
		f.Scents = nil
		return f
	}
	fat := func(id string, pct float64) formula.Fat { return formula.Fat{ID: id, Pct: pct} }
	extra := func(id string, g float64, into formula.Into) []formula.Extra {
		return []formula.Extra{{ID: id, Dose: g, Into: into}}
	}
	cases := []struct {
		rule string
		want finding.Severity
		edit func(*formula.Formula)
	}{
		{"excess-alkali", finding.Stop, func(f *formula.Formula) { f.SuperfatPct = 0 }},
		{"excess-chance", finding.Stop, func(f *formula.Formula) { f.SuperfatPct = 0.3 }},
		{"excess-chance", finding.Warn, func(f *formula.Formula) { f.SuperfatPct = 1 }},
		{"superfat-high", finding.Warn, func(f *formula.Formula) { f.SuperfatPct = 12.5 }},
		{"superfat-high", finding.Warn, func(f *formula.Formula) { f.Method, f.SuperfatPct = formula.Hot, 15.5 }},
		{"superfat-high", finding.Warn, func(f *formula.Formula) { f.SuperfatPct, f.Fats = 26, []formula.Fat{fat("coconut-oil", 100)} }},
		{"lye-weak", finding.Warn, func(f *formula.Formula) { f.Water.Value = 21 }},
		{"lye-strong", finding.Warn, func(f *formula.Formula) { f.Water.Value = 43 }},
		{"lye-solubility", finding.Stop, func(f *formula.Formula) { f.Water.Value = 54 }},
		{"purity-missing", finding.Warn, func(f *formula.Formula) { f.Alkali.NaOHPurityPct = quantity.Maybe{} }},
		{"scale-coarse", finding.Warn, func(f *formula.Formula) { f.FatsG = 100 }},
		{"scale-missing", finding.Note, func(f *formula.Formula) { f.ScaleDivisionG = quantity.Maybe{} }},
		{"wax-as-fat", finding.Warn, func(f *formula.Formula) { f.Fats[2] = fat("beeswax", 10) }},
		{"wax-as-fat", finding.Warn, func(f *formula.Formula) { f.Fats[2] = fat("jojoba-oil", 10) }},
		{"wax-as-fat", finding.Warn, func(f *formula.Formula) { f.Fats[2] = fat("lanolin", 10) }},
		{"fat-unsaponifiable", finding.Note, func(f *formula.Formula) { f.Fats[2] = fat("shea-butter", 10) }},
		{"fat-profile-low", finding.Note, func(f *formula.Formula) { f.Fats[2] = fat("babassu-oil", 10) }},
		{"sap-unit", finding.Warn, func(f *formula.Formula) { f.Fats[0].SAP, f.Fats[0].SAPHalfWidth = some(0.135), quantity.Maybe{} }},
		{"sap-unit", finding.Warn, func(f *formula.Formula) { f.Fats[0].SAP = some(135) }},
		{"sap-outside", finding.Warn, func(f *formula.Formula) { f.Fats[0].SAP = some(205) }},
		{"sap-tolerance", finding.Note, func(f *formula.Formula) { f.Fats[0].SAPHalfWidth = quantity.Maybe{} }},
		{"fats-sum", finding.Warn, func(f *formula.Formula) { f.Fats[2].Pct = 7 }},
		{"scent-over-limit", finding.Stop, func(f *formula.Formula) {
			f.Scents = []formula.Scent{{Name: "Fig", DosePct: 5, LimitPct: some(3)}}
		}},
		{"scent-dries-over", finding.Note, func(f *formula.Formula) {
			f.Scents = []formula.Scent{{Name: "Fig", DosePct: 5, LimitPct: some(4)}}
		}},
		{"scent-no-limit", finding.Note, func(f *formula.Formula) { f.Scents = []formula.Scent{{Name: "Fig", DosePct: 1}} }},
		{"scents-together", finding.Warn, func(f *formula.Formula) {
			f.Scents = []formula.Scent{{Name: "Fig", DosePct: 2, LimitPct: some(2)}, {Name: "Tar", DosePct: 2, LimitPct: some(2)}}
		}},
		{"heat-sugar", finding.Note, func(f *formula.Formula) { f.Extras = extra("sucrose", 10, formula.IntoBatter) }},
		{"heat-honey", finding.Warn, func(f *formula.Formula) { f.Extras = extra("honey", 10, formula.IntoLye) }},
		{"heat-milk", finding.Note, func(f *formula.Formula) { f.Extras = extra("goat-milk-powder", 10, formula.IntoBatter) }},
		{"salt-bar", finding.Warn, func(f *formula.Formula) { f.Extras = extra("sea-salt", 250, formula.IntoBatter) }},
		{"clay-dose", finding.Warn, func(f *formula.Formula) { f.Extras = extra("kaolin", 40, formula.IntoBatter) }},
		{"lye-counts-on", finding.Note, func(f *formula.Formula) { f.Extras = extra("citric-acid", 10, formula.IntoLye) }},
		{"lye-peak-unknown", finding.Note, func(f *formula.Formula) { f.Alkali.KOHMolPct, f.Alkali.KOHPurityPct = 5, some(90) }},
		{"water-over", finding.Warn, func(f *formula.Formula) { f.Extras = extra("goat-milk", 400, formula.IntoBatter) }},
		{"fat-cooked", finding.Note, func(f *formula.Formula) { f.Method, f.Fats[2].Cooked = formula.Hot, true }},
	}
	for _, c := range cases {
		f := plain()
		c.edit(f)
		r := mustWork(t, f)
		sf := r.Draw(Draws, Seed)
		found := false
		for _, x := range Findings(r, sf, DefaultLimits()) {
			found = found || x.Rule == c.rule && x.Severity == c.want
		}
		if !found {
			t.Errorf("%s (%s) was not found", c.rule, c.want)
		}
		check(t, r, sf, nil)
	}
	// And a plain formula has nothing to be told but what it is made of.
	r := mustWork(t, plain())
	for _, x := range Findings(r, r.Superfat, DefaultLimits()) {
		if x.Severity != finding.Note {
			t.Errorf("a plain formula is told: %+v", x)
		}
	}
}

// TestATwoAndAHalfPoundBatch: 2.5 lb of fats with 2 oz of scent come to about
// 3.8 lb of batter, near 29 % lye at 5 % superfat; 33 % gives about 3.65 lb.
// Common practice, no source.
func TestATwoAndAHalfPoundBatch(t *testing.T) {
	for conc, wantLb := range map[float64]float64{29: 3.8, 33: 3.65} {
		f := workedOne()
		f.FatsG = 2.5 * quantity.GramsPerPound
		f.Water.Value = conc
		f.Scents = []formula.Scent{{Name: "a scent", DosePct: 100 * 2 * quantity.GramsPerOunce / f.FatsG}}
		r := mustWork(t, f)
		if lb := r.Batter.MassG / quantity.GramsPerPound; math.Abs(lb-wantLb) > 0.1 {
			t.Errorf("at %g %% lye the batch is %.3f lb, want about %g", conc, lb, wantLb)
		}
	}
}
