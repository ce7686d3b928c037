package soap

import (
	"math"
	"strings"
	"testing"

	"barwright/finding"
	"barwright/formula"
	"barwright/quantity"
)

// plain is a formula of which the program has only notes to give.
func plain() *formula.Formula {
	f := workedOne()
	f.Scents = nil
	return f
}

func fat(id string, pct float64) formula.Fat { return formula.Fat{ID: id, Pct: pct} }

func extra(id string, g float64, into formula.Into) []formula.Extra {
	return []formula.Extra{{ID: id, Dose: g, Into: into}}
}

// ruleCase is the smallest change to a plain formula that triggers a rule.
type ruleCase struct {
	rule string
	want finding.Severity
	edit func(*formula.Formula)
}

// lyeRules triggers the rules about fats, lye, scents and extras.
func lyeRules() []ruleCase {
	return []ruleCase{
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
}

// otherRules triggers the rules about the cook, the portions, the certificates
// and the melt.
func otherRules() []ruleCase {
	hot := func(edit func(*formula.Formula)) func(*formula.Formula) {
		return func(f *formula.Formula) { f.Method = formula.Hot; edit(f) }
	}
	melted := func(edit func(*formula.Formula)) func(*formula.Formula) {
		return func(f *formula.Formula) { *f = *quietMelt(); edit(f) }
	}
	stated := func(c ...formula.Constituent) []formula.Scent {
		return []formula.Scent{{Name: "Fig", DosePct: 2, LimitPct: some(5), Constituents: c}}
	}
	return []ruleCase{
		{"cook-loss-missing", finding.Note, hot(func(*formula.Formula) {})},
		{"cook-loss-high", finding.Warn, hot(func(f *formula.Formula) { f.CookLossPct = some(61) })},
		{"density-odd", finding.Warn, func(f *formula.Formula) { f.DensityGML = some(0.8) }},
		{"portions-over", finding.Warn, func(f *formula.Formula) {
			f.Portions = []formula.Portion{{Name: "sky", By: formula.ByMass, Amount: 5000}}
		}},
		{"portions-left", finding.Note, func(f *formula.Formula) {
			f.Portions = []formula.Portion{{Name: "sky", By: formula.ByVolume, Amount: 500}}
		}},
		{"portion-empty", finding.Warn, func(f *formula.Formula) {
			f.Portions = []formula.Portion{{Name: "sky", By: formula.ByMass, Amount: 5000}, {Name: "sea", By: formula.ByRest}}
		}},
		{"colour-high", finding.Warn, func(f *formula.Formula) {
			f.Portions = []formula.Portion{{Name: "sky", By: formula.ByRest, Colourants: []formula.Colour{{ID: "charcoal", GPerKg: 21}}}}
		}},
		{"thick-slow", finding.Note, func(f *formula.Formula) { f.Stage, f.Water.Value = formula.ThickTrace, 29 }},
		{"thick-slow", finding.Note, func(f *formula.Formula) {
			f.Water.Value, f.Portions = 29, []formula.Portion{{Name: "foam", By: formula.ByRest, Stage: formula.ThickTrace}}
		}},
		{"dough-soft", finding.Note, func(f *formula.Formula) {
			f.Stage, f.Fats = formula.Dough, []formula.Fat{fat("olive-oil", 100)}
		}},
		{"allergen-declared", finding.Note, func(f *formula.Formula) { f.Scents = stated(formula.Constituent{Name: "linalool", Pct: 12}) }},
		{"constituent-prohibited", finding.Warn, func(f *formula.Formula) { f.Scents = stated(formula.Constituent{Name: "80-54-6", Pct: 1}) }},
		{"dose-coarse", finding.Note, func(f *formula.Formula) {
			f.Portions = []formula.Portion{{Name: "sky", By: formula.ByRest},
				{Name: "dark", By: formula.ByMass, Amount: 200, Colourants: []formula.Colour{{ID: "charcoal", GPerKg: 6}}}}
		}},
		{"bases-sum", finding.Warn, melted(func(f *formula.Formula) { f.Bases[0].Pct = 90 })},
		{"melt-overheated", finding.Warn, melted(func(f *formula.Formula) { f.Melting.MeltC = some(76) })},
		{"melt-poured-hot", finding.Warn, melted(func(f *formula.Formula) { f.PourC = some(64) })},
		{"melt-poured-hot", finding.Warn, melted(func(f *formula.Formula) { f.Melting.MeltC = some(57) })},
		{"melt-limit-missing", finding.Note, melted(func(f *formula.Formula) { f.Bases[0].MaxMeltC = quantity.Maybe{} })},
		{"melt-remelted", finding.Warn, melted(func(f *formula.Formula) { f.Melting.Remelts = 3 })},
		{"melt-evaporated", finding.Warn, melted(func(f *formula.Formula) { f.Melting.EvaporationPct = some(6) })},
		{"melt-unweighed", finding.Note, melted(func(f *formula.Formula) { f.Melting.Remelts, f.Melting.EvaporationPct = 1, quantity.Maybe{} })},
		{"melt-sweats", finding.Note, melted(func(f *formula.Formula) { f.Bases[0].INCI = "" })},
		{"melt-fat", finding.Warn, melted(func(f *formula.Formula) { f.Extras = extra("goat-milk-powder", 100, formula.IntoBatter) })},
		{"melt-wet", finding.Warn, melted(func(f *formula.Formula) { f.Extras = extra("aloe-juice", 50, formula.IntoBatter) })},
		{"scent-heat", finding.Note, melted(func(f *formula.Formula) { f.Scents = stated() })},
	}
}

// TestEveryRuleIsMet triggers each rule with the smallest change to a plain
// formula, and checks its severity. What the rules say of the trade is common
// practice, no source, where the finding itself says so.
func TestEveryRuleIsMet(t *testing.T) {
	for _, c := range append(lyeRules(), otherRules()...) {
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
	// Of a dry melt within its supplier's limits there is nothing to say at all.
	r := mustWork(t, quietMelt())
	if all := Findings(r, r.Superfat, DefaultLimits()); len(all) > 0 {
		t.Errorf("a quiet melt is told: %+v", all)
	}
	// Of a plain formula there is nothing to say except what it is made of.
	r = mustWork(t, plain())
	for _, x := range Findings(r, r.Superfat, DefaultLimits()) {
		if x.Severity != finding.Note {
			t.Errorf("a plain formula is told: %+v", x)
		}
	}
}

// TestATwoAndAHalfPoundBatch: 2.5 lb of fats with 2 oz of scent make about 3.8
// lb of batter at 29 % lye and 5 % superfat. At 33 % lye they make about 3.65
// lb. Common practice, no source.
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

// TestADoseInTheMakersUnit: 46 g per kg is 46/1000 of 16 oz, which is 0.736 oz,
// per lb.
func TestADoseInTheMakersUnit(t *testing.T) {
	f := workedOne()
	f.Portions = []formula.Portion{{Name: "sky", By: formula.ByRest, Colourants: []formula.Colour{{ID: "charcoal", GPerKg: 46}}}}
	for unit, want := range map[quantity.MassUnit]string{
		quantity.Gram:       "is 46.0\u00a0g per kg of batter: above 20\u00a0g per kg the lather",
		quantity.Ounce:      "is 0.74\u00a0oz per lb of batter: above 0.32\u00a0oz per lb the lather",
		quantity.PoundOunce: "is 0.74\u00a0oz per lb of batter: above 0.32\u00a0oz per lb the lather",
	} {
		r, lim, said := mustWork(t, f), DefaultLimits(), ""
		lim.MassUnit = unit
		for _, x := range Findings(r, r.Superfat, lim) {
			if x.Rule == "colour-high" {
				said = x.Message
			}
		}
		if !strings.Contains(said, want) {
			t.Errorf("in %s: %q", unit, said)
		}
	}
}
