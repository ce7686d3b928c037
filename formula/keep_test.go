package formula_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
)

func TestAStoredFormulaIsReadBackAsItWas(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := anyFormula(rt, false)
		b, err := formula.Encode(f)
		if err != nil {
			rt.Fatal(err)
		}
		g, err := formula.Decode(b)
		if err != nil {
			rt.Fatalf("%v\n%s", err, b)
		}
		same(rt, g, f)
	})
}

func TestAStoredFormulaIsReadable(t *testing.T) {
	b, err := formula.Encode(wholeFormula())
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"method":"hot"`, `"rule":"concentration"`, `"per":"batch"`, `"into":"cooked"`, `"of":"fats"`, `"scale_division_g":1`} {
		if !strings.Contains(string(b), want) {
			t.Errorf("%s is not in %s", want, b)
		}
	}
	if strings.Contains(string(b), "pour_c") || strings.Contains(string(b), "liquid") {
		t.Errorf("what is unknown is written: %s", b)
	}
}

func TestWhatIsNotAStoredFormulaIsRefused(t *testing.T) {
	sound, err := formula.Encode(wholeFormula())
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"nothing":             "",
		"null":                "null",
		"a list":              "[]",
		"an unknown key":      strings.Replace(string(sound), `"name"`, `"colour":"red","name"`, 1),
		"an unknown word":     strings.Replace(string(sound), `"hot"`, `"melted"`, 1),
		"a number for a word": strings.Replace(string(sound), `"hot"`, `2`, 1),
		"cut short":           string(sound[:len(sound)-1]),
		"two of them":         string(sound) + string(sound),
		"too large":           string(sound) + strings.Repeat(" ", formula.MaxFileBytes),
	} {
		if f, err := formula.Decode([]byte(text)); err == nil || f != nil {
			t.Errorf("%s: read as %+v", name, f)
		}
	}
	bad := wholeFormula()
	bad.FatsG = math.NaN()
	if b, err := formula.Encode(bad); err == nil {
		t.Errorf("a mass that is no number was stored: %s", b)
	}
	bad = wholeFormula()
	bad.Method = 9
	if b, err := formula.Encode(bad); err == nil {
		t.Errorf("a method that is none was stored: %s", b)
	}
}

func TestAFileIsWrittenAsItIsRead(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := anyFormula(rt, true)
		b, err := formula.WriteTOML(f)
		if err != nil {
			rt.Fatal(err)
		}
		g, err := formula.ReadTOML("written.toml", b)
		if err != nil {
			rt.Fatalf("%v\n%s", err, b)
		}
		same(rt, g, f)
	})
}

// Everything that affects the sums is in the file. The rest is in comments.
func TestARatioAndNotesGoIntoAFile(t *testing.T) {
	f := wholeFormula()
	f.Water = formula.Water{Rule: formula.ByRatio, Value: 2}
	f.Notes = "First try.\nNext time # less salt."
	f.Scents[0].Category, f.Scents[0].Dated = "9", "2026-01-31"
	f.Extras[0].SetTyped(formula.Typed{Unit: formula.OuncesPerPound, Amount: 0.5})
	b, err := formula.WriteTOML(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"# First try.\n# Next time # less salt.\n", "# water to alkali 2 to 1\nlye_concentration = 33.333333333333336\n",
		"# certificate: 9 2026-01-31\n", "# 0.5 oz per lb of fats\ndose_g = 31.25\n"} {
		if !strings.Contains(string(b), want) {
			t.Errorf("%q is not in\n%s", want, b)
		}
	}
	if _, err := formula.ReadTOMLAgainst("ratio.toml", b, ingredients(t)); err != nil {
		t.Error(err)
	}
}

func TestWhatAFileHasNoKeyForIsSaid(t *testing.T) {
	for field, change := range map[string]func(f *formula.Formula){
		"water":                    func(f *formula.Formula) { f.Water = formula.Water{Rule: formula.ByFats, Value: 38} },
		"pour_c":                   func(f *formula.Formula) { f.PourC = quantity.Some(45) },
		"alkali.naoh_solution_pct": func(f *formula.Formula) { f.Alkali.NaOHSolutionPct = quantity.Some(50) },
		"alkali.koh_solution_pct":  func(f *formula.Formula) { f.Alkali.KOHSolutionPct = quantity.Some(45) },
		"extra.2.per":              func(f *formula.Formula) { f.Extras[1].Per = formula.PerLiquid },
		"liquid.ice_pct":           func(f *formula.Formula) { f.Liquid.IcePct = 40 },
		"liquid.later_pct":         func(f *formula.Formula) { f.Liquid.LaterPct = 40 },
		"superfat":                 func(f *formula.Formula) { f.SuperfatPct = 100 },
		"method":                   func(f *formula.Formula) { *f = *aMelt() },
	} {
		f := wholeFormula()
		change(f)
		b, err := formula.WriteTOML(f)
		l := fault.All(err)
		if b != nil || len(l) != 1 || l[0].Field != field || l[0].Kind != fault.Invalid {
			t.Errorf("%s: %q, %v", field, b, err)
		}
	}
}

// NIST SP 811: 1 oz is 28.349 523 125 g and 1 lb is 453.592 37 g, so an ounce
// per pound is 1/16, 62.5 g/kg.
func TestDosesPerPound(t *testing.T) {
	oz := formula.Typed{Unit: formula.OuncesPerPound, Amount: 1}
	if g := oz.GramsPerKgFats(); g != 62.5 || math.Abs(g-1000*28.349523125/453.59237) > 1e-12 {
		t.Errorf("1 oz per lb is %g g/kg, want 62.5", g)
	}
	if p := oz.PctOfFats(); p != 6.25 {
		t.Errorf("1 oz per lb is %g %%, want 6.25", p)
	}
	tsp := formula.Typed{Unit: formula.TeaspoonsPerPound, Amount: 2, GramsPerTsp: 4.2}
	if g := tsp.GramsPerKgFats(); math.Abs(g-8.4/0.45359237) > 1e-12 {
		t.Errorf("2 tsp of 4.2 g per lb are %g g/kg", g)
	}
	var x formula.Extra
	x.SetTyped(tsp)
	if x.Dose != tsp.GramsPerKgFats() || x.Per != formula.PerKgFats {
		t.Errorf("the extra is dosed %+v", x)
	}
	s := formula.Scent{Of: formula.OfBar}
	s.SetTyped(oz)
	if s.DosePct != 6.25 || s.Of != formula.OfFats {
		t.Errorf("the scent is dosed %+v", s)
	}
}

func TestACloneSharesNothing(t *testing.T) {
	f, want := aMelt(), aMelt()
	g := f.Clone()
	same(t, g, want)
	g.Bases[0].Pct, g.Portions[0].Amount, g.Portions[0].Colourants[0].GPerKg, g.Scents[0].Constituents[0].Pct, g.Extras[0].Dose = 1, 1, 1, 1, 1
	same(t, f, want)
}

func TestResizingKeepsTheSharesOfADividedBatch(t *testing.T) {
	g := aMelt().Resize(1500)
	if g.Portions[0].Amount != 500 || g.Portions[1].Amount != 125 || g.Portions[2].Amount != 0 || g.Extras[0].Dose != 5 ||
		g.Portions[0].Colourants[0].GPerKg != 6 || g.Scents[0].DosePct != 2 || g.BaseG(0) != 1125 {
		t.Errorf("resized to %+v", g)
	}
	rapid.Check(t, func(rt *rapid.T) {
		f := anyFormula(rt, false)
		k := rapid.Float64Range(0.01, 100).Draw(rt, "k")
		g := f.Resize(f.FatsG * k)
		for i, p := range f.Portions {
			want := p.Amount
			if p.By == formula.ByMass || p.By == formula.ByVolume {
				want *= k
			}
			if got := g.Portions[i].Amount; math.Abs(got-want) > 1e-9*want {
				rt.Errorf("portion %d is %g, want %g", i+1, got, want)
			}
		}
		alike(rt, g.Resize(g.FatsG/k), f)
	})
}

func TestResizingScalesOnlyWhatIsPerBatch(t *testing.T) {
	f := wholeFormula()
	g := f.Resize(2500)
	if g.FatsG != 2500 || g.Extras[1].Dose != 20 || g.Extras[0].Dose != 20 || g.FatG(0) != 1500 {
		t.Errorf("resized to %+v", g)
	}
	if f.FatsG != 1000 || f.Extras[1].Dose != 8 {
		t.Errorf("the original changed: %+v", f)
	}
	if h := f.Resize(f.FatsG * 2.5); h.FatsG != 2500 || h.Extras[1].Dose != 20 {
		t.Errorf("scaled to %+v", h)
	}
}

func TestASizeAtWhichNoBatchCanBeMadeIsRefused(t *testing.T) {
	f := wholeFormula()
	g, err := f.ResizeTo(2500)
	if err != nil {
		t.Fatal(err)
	}
	same(t, g, f.Resize(2500))
	for fats, want := range map[float64]string{0: "takes 0 g", -1: "takes -1 g", 0.0001: "takes 0.0001 g", 2e7: "from 1 mg to 10 tonnes",
		math.NaN(): "takes NaN g", math.Inf(1): "10 tonnes"} {
		g, err := f.ResizeTo(fats)
		if l := fault.All(err); g != nil || len(l) != 1 || l[0].Kind != fault.Invalid || l[0].Field != "fats_g" || !strings.Contains(l[0].Message, want) {
			t.Errorf("%v g of fats: %v, want %q", fats, err, want)
		}
	}
	// A dose of more than 10 tonnes is what the size brings; a formula without a
	// name was at fault before.
	f.Extras[1].Dose = 2000
	if _, err := f.ResizeTo(9e6); err == nil || !strings.Contains(err.Error(), "cannot be made") {
		t.Errorf("a dose beyond any batch gives %v", err)
	}
	f = wholeFormula()
	f.Name = ""
	if _, err := f.ResizeTo(2500); err != nil {
		t.Errorf("what was wrong before is told of the size: %v", err)
	}
}

func TestTheSameSumsUnderAnotherName(t *testing.T) {
	f, g := wholeFormula(), wholeFormula()
	g.Name, g.Notes = "Another", "Tried in spring."
	if !formula.SameSums(f, g) || g.Name != "Another" {
		t.Error("a name and a note change the sums")
	}
	g.SuperfatPct++
	if formula.SameSums(f, g) {
		t.Error("another superfat gives the same sums")
	}
	f.FatsG, g.FatsG = math.NaN(), math.NaN()
	if g.SuperfatPct--; formula.SameSums(f, g) {
		t.Error("what is no number is the same as something")
	}
}

func TestRulesOnAFormulaThatIsBeingTyped(t *testing.T) {
	f := &formula.Formula{Method: formula.Cold, SuperfatPct: 5, Water: formula.Water{Value: 33}, FatsG: 1000,
		Fats:   []formula.Fat{{ID: "olive-oil", Pct: 60}, {ID: "lard"}},
		Extras: []formula.Extra{{ID: "sea-salt"}}, Scents: []formula.Scent{{Name: "Fig"}}}
	if l := f.Validate(false); len(l) > 0 {
		t.Errorf("while typing: %v", l)
	}
	var got []string
	for _, e := range f.Validate(true) {
		got = append(got, e.Field)
	}
	if s := strings.Join(got, " "); s != "name fat.2.pct extra.1.dose_g scent.1.dose_pct" {
		t.Errorf("strictly: %s", s)
	}
}

// Every number of a formula is set to NaN and to infinity, one at a time.
func TestNoNumberMayBeUnendingOrNone(t *testing.T) {
	for name, set := range map[string]func(f *formula.Formula, v float64){
		"superfat":                     func(f *formula.Formula, v float64) { f.SuperfatPct = v },
		"water":                        func(f *formula.Formula, v float64) { f.Water.Value = v },
		"fats_g":                       func(f *formula.Formula, v float64) { f.FatsG = v },
		"cure_water_loss_pct":          func(f *formula.Formula, v float64) { f.CureWaterLossPct = quantity.Some(v) },
		"pour_c":                       func(f *formula.Formula, v float64) { f.PourC = quantity.Some(v) },
		"alkali.koh_mol_pct":           func(f *formula.Formula, v float64) { f.Alkali.KOHMolPct = v },
		"alkali.naoh_purity_pct":       func(f *formula.Formula, v float64) { f.Alkali.NaOHPurityPct = quantity.Some(v) },
		"alkali.koh_purity_pct":        func(f *formula.Formula, v float64) { f.Alkali.KOHPurityPct = quantity.Some(v) },
		"alkali.purity_half_width_pct": func(f *formula.Formula, v float64) { f.Alkali.PurityHalfWidthPct = v },
		"alkali.naoh_solution_pct":     func(f *formula.Formula, v float64) { f.Alkali.NaOHSolutionPct = quantity.Some(v) },
		"alkali.koh_solution_pct":      func(f *formula.Formula, v float64) { f.Alkali.KOHSolutionPct = quantity.Some(v) },
		"scale.division_g":             func(f *formula.Formula, v float64) { f.ScaleDivisionG = quantity.Some(v) },
		"fat.1.pct":                    func(f *formula.Formula, v float64) { f.Fats[0].Pct = v },
		"fat.1.sap_mg_koh_g":           func(f *formula.Formula, v float64) { f.Fats[0].SAP = quantity.Some(v) },
		"fat.1.sap_half_width":         func(f *formula.Formula, v float64) { f.Fats[0].SAPHalfWidth = quantity.Some(v) },
		"extra.1.dose_g":               func(f *formula.Formula, v float64) { f.Extras[0].Dose = v },
		"extra.1.fat_pct":              func(f *formula.Formula, v float64) { f.Extras[0].FatPct = quantity.Some(v) },
		"extra.1.water_pct":            func(f *formula.Formula, v float64) { f.Extras[0].WaterPct = quantity.Some(v) },
		"extra.1.sap_mg_koh_g":         func(f *formula.Formula, v float64) { f.Extras[0].SAP = quantity.Some(v) },
		"scent.1.dose_pct":             func(f *formula.Formula, v float64) { f.Scents[0].DosePct = v },
		"scent.1.limit_pct":            func(f *formula.Formula, v float64) { f.Scents[0].LimitPct = quantity.Some(v) },
		"liquid.ice_pct":               func(f *formula.Formula, v float64) { f.Liquid.IcePct = v },
		"liquid.later_pct":             func(f *formula.Formula, v float64) { f.Liquid.LaterPct = v },
		"liquid.peak_c":                func(f *formula.Formula, v float64) { f.Liquid.PeakC = quantity.Some(v) },
		"cook_loss_pct":                func(f *formula.Formula, v float64) { f.CookLossPct = quantity.Some(v) },
		"measured_density_g_ml":        func(f *formula.Formula, v float64) { f.DensityGML = quantity.Some(v) },
		"portion.1.amount": func(f *formula.Formula, v float64) {
			f.Portions = []formula.Portion{{Name: "a", Amount: v}, {Name: "b", By: formula.ByRest}}
		},
		"portion.2.colours.1": func(f *formula.Formula, v float64) {
			f.Portions = []formula.Portion{{Name: "a", Amount: 9}, {Name: "b", By: formula.ByRest, Colourants: []formula.Colour{{ID: "mica", GPerKg: v}}}}
		},
		"scent.1.stated.1": func(f *formula.Formula, v float64) {
			f.Scents[0].Constituents = []formula.Constituent{{Name: "Citral", Pct: v}}
		},
		"base.1.pct":              func(f *formula.Formula, v float64) { *f = *aMelt(); f.Bases[0].Pct = v },
		"base.1.density_g_ml":     func(f *formula.Formula, v float64) { *f = *aMelt(); f.Bases[0].DensityGML = quantity.Some(v) },
		"base.1.softens_c":        func(f *formula.Formula, v float64) { *f = *aMelt(); f.Bases[0].SoftensC = quantity.Some(v) },
		"base.1.max_melt_c":       func(f *formula.Formula, v float64) { *f = *aMelt(); f.Bases[0].MaxMeltC = quantity.Some(v) },
		"base.1.max_pour_c":       func(f *formula.Formula, v float64) { *f = *aMelt(); f.Bases[0].MaxPourC = quantity.Some(v) },
		"melting.melt_c":          func(f *formula.Formula, v float64) { *f = *aMelt(); f.Melting.MeltC = quantity.Some(v) },
		"melting.evaporation_pct": func(f *formula.Formula, v float64) { *f = *aMelt(); f.Melting.EvaporationPct = quantity.Some(v) },
	} {
		for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1} {
			f := wholeFormula()
			set(f, v)
			for _, strict := range []bool{true, false} {
				l := f.Validate(strict)
				found := false
				for _, e := range l {
					found = found || e.Field == name
				}
				if !found {
					t.Errorf("%s = %g, strict %v: %v", name, v, strict, l)
				}
			}
		}
	}
}

// What belongs to another method is refused, each on its own field.
func TestWhatAnotherMethodHasIsRefused(t *testing.T) {
	cold := func() *formula.Formula {
		return &formula.Formula{Name: "Lantern", Method: formula.Cold, SuperfatPct: 5, Water: formula.Water{Value: 33}, FatsG: 1000,
			Fats: []formula.Fat{{ID: "olive-oil", Pct: 70}, {ID: "coconut-oil", Pct: 30}}}
	}
	for _, c := range []struct {
		of           func() *formula.Formula
		change       func(f *formula.Formula)
		field, words string
	}{
		{cold, func(f *formula.Formula) { f.Fats[1].Cooked = true }, "fat.2.cooked", "cold method"},
		{cold, func(f *formula.Formula) { f.CookLossPct = quantity.Some(15) }, "cook_loss_pct", "write method hot"},
		{cold, func(f *formula.Formula) { f.Bases = []formula.Base{{Name: "Clear"}} }, "base", "write method melt"},
		{cold, func(f *formula.Formula) { f.Melting.MeltC = quantity.Some(70) }, "melting.melt_c", "Only a melt"},
		{cold, func(f *formula.Formula) { f.Melting.Remelts = 1 }, "melting.remelts", "Only a melt"},
		{cold, func(f *formula.Formula) { f.Melting.EvaporationPct = quantity.Some(1) }, "melting.evaporation_pct", "Only a melt"},
		{aMelt, func(f *formula.Formula) { f.Fats = []formula.Fat{{ID: "olive-oil", Pct: 100}} }, "fat", "takes no fats"},
		{aMelt, func(f *formula.Formula) { f.CookLossPct = quantity.Some(10) }, "cook_loss_pct", "write method hot"},
		{aMelt, func(f *formula.Formula) { f.Extras[0].Into = formula.IntoLye }, "extra.1.into", "write batter"},
		{aMelt, func(f *formula.Formula) { f.Extras[0].Per = formula.PerLiquid }, "extra.1.per", "no liquid"},
	} {
		f := c.of()
		c.change(f)
		if l := f.Validate(true); len(l) != 1 || l[0].Field != c.field || !strings.Contains(l[0].Message, c.words) || l[0].Kind != fault.Invalid {
			t.Errorf("faults %v; want one on %s with %q", l, c.field, c.words)
		}
	}
}
