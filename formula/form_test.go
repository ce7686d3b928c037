package formula_test

import (
	"maps"
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
)

var allFaces = []formula.Faces{
	{},
	{Mass: quantity.Ounce, Temp: quantity.Fahrenheit},
	{Mass: quantity.PoundOunce, Temp: quantity.Fahrenheit},
}

func TestTheFormGivesTheFormulaBack(t *testing.T) {
	cat := ingredients(t)
	rapid.Check(t, func(rt *rapid.T) {
		f := anyFormula(rt, false)
		faces := rapid.SampledFrom(allFaces).Draw(rt, "faces")
		// Very small weights of fats and the scale lose their last figures.
		g, l := formula.FromForm(formula.ToForm(f, faces), formula.FormOptions{Faces: faces})
		if len(l) > 0 {
			rt.Fatalf("%v\n%v", l, formula.ToForm(f, faces))
		}
		alike(rt, g, f)
		if _, l := formula.FromForm(formula.ToForm(wholeFormula(), faces), formula.FormOptions{Faces: faces, Strict: true, Ingredients: cat}); len(l) > 0 {
			rt.Fatal(l)
		}
	})
}

// form is a small sound form, changed by pairs of field and text.
func form(pairs ...string) url.Values {
	v := url.Values{
		"name": {"Storm lantern"}, "method": {"cold"}, "superfat": {"5 %"}, "water": {"2 to 1"}, "by": {"share"}, "fats_g": {"1 000"},
		"fat.1.id": {"olive-oil"}, "fat.1.pct": {"70"}, "fat.1.g": {"stale"},
		"fat.2.id": {"coconut-oil"}, "fat.2.pct": {"30 %"},
		"save": {"Keep"}, "fat.x.pct": {"not looked at"}, "fat.0.pct": {"nor this"},
	}
	for i := 0; i < len(pairs); i += 2 {
		v[pairs[i]] = []string{pairs[i+1]}
	}
	return v
}

func TestAFormIsReadByShare(t *testing.T) {
	f, l := formula.FromForm(form(), formula.FormOptions{Strict: true, Ingredients: ingredients(t)})
	if len(l) > 0 {
		t.Fatal(l)
	}
	same(t, f, &formula.Formula{Name: "Storm lantern", Method: formula.Cold, SuperfatPct: 5,
		Water: formula.Water{Rule: formula.ByRatio, Value: 2}, FatsG: 1000,
		Fats: []formula.Fat{{ID: "olive-oil", Pct: 70}, {ID: "coconut-oil", Pct: 30}}})
}

func TestAFormIsReadByWeight(t *testing.T) {
	v := form("by", "weight", "fat.1.g", "1 lb 8 oz", "fat.2.g", "8", "fats_g", "nonsense that is not read", "fat.1.pct", "stale")
	f, l := formula.FromForm(v, formula.FormOptions{Faces: formula.Faces{Mass: quantity.Ounce}, Strict: true})
	if len(l) > 0 {
		t.Fatal(l)
	}
	if !f.ByWeight || math.Abs(f.FatsG-2*453.59237) > 1e-9 || math.Abs(f.Fats[0].Pct-75) > 1e-9 || math.Abs(f.Fats[1].Pct-25) > 1e-9 {
		t.Errorf("read as %+v", f)
	}
}

func TestRowsMayHaveGapsAndEmptyOnesAreDropped(t *testing.T) {
	v := form("fat.2.id", "", "fat.2.pct", " ", "fat.2.cooked", "on", "fat.7.id", "lard", "fat.7.pct", "x",
		"extra.1.per", "kg-fats", "extra.1.into", "lye", "extra.1.unit", "g", "scent.3.of", "bar")
	f, l := formula.FromForm(v, formula.FormOptions{})
	if len(f.Fats) != 2 || f.Fats[1].ID != "lard" || len(f.Extras) != 0 || len(f.Scents) != 0 {
		t.Errorf("read as %+v", f)
	}
	if len(l) != 1 || l[0].Field != "fat.7.pct" {
		t.Errorf("faults %v; want one on fat.7.pct", l)
	}
	if rows := formula.RowNumbers(v, "fat"); !slices.Equal(rows, []int{1, 7}) {
		t.Errorf("rows %v, want 1 and 7", rows)
	}
	r := formula.Renumber(v)
	if r.Get("fat.2.id") != "lard" || r.Get("fat.2.pct") != "x" || r.Has("fat.7.id") || r.Has("fat.2.cooked") || r.Has("extra.1.per") || r.Get("save") != "Keep" {
		t.Errorf("renumbered to %v", r)
	}
	// Rules speak of the form's own rows too.
	v = form("fat.2.id", "", "fat.2.pct", "", "fat.7.id", "coconut-oil", "fat.7.pct", "130")
	if _, l := formula.FromForm(v, formula.FormOptions{}); len(l) != 1 || l[0].Field != "fat.7.pct" {
		t.Errorf("faults %v; want one on fat.7.pct", l)
	}
}

func TestTeaspoonsAreMeasuredOrAssumed(t *testing.T) {
	o := formula.FormOptions{Strict: true, Ingredients: ingredients(t)}
	row := []string{"extra.1.id", "sea-salt", "extra.1.dose_g", "2", "extra.1.unit", "tsp-per-lb"}
	f, l := formula.FromForm(form(row...), o)
	if len(l) > 0 {
		t.Fatal(l)
	}
	if x := f.Extras[0]; x.Typed.Measured || !(x.Typed.GramsPerTsp > 0) || math.Abs(x.Dose-2*x.Typed.GramsPerTsp/0.45359237) > 1e-9 {
		t.Errorf("unmeasured: %+v", x)
	}
	f, l = formula.FromForm(form(append(row, "extra.1.gtsp", "6.1")...), o)
	if len(l) > 0 {
		t.Fatal(l)
	}
	if x := f.Extras[0]; !x.Typed.Measured || x.Typed.GramsPerTsp != 6.1 {
		t.Errorf("measured: %+v", x)
	}
	if _, l = formula.FromForm(form(row...), formula.FormOptions{}); len(l) != 1 || l[0].Field != "extra.1.gtsp" {
		t.Errorf("with nowhere to look: %v", l)
	}
}

// Every fault a form can have, on the field where it is, with words of its
// sentence.
func TestEveryBadFieldIsNamedWithASentence(t *testing.T) {
	strict := formula.FormOptions{Strict: true, Ingredients: ingredients(t)}
	pounds := strict
	pounds.Faces.Mass = quantity.PoundOunce
	for _, c := range []struct {
		o      formula.FormOptions
		change []string
		field  string
		words  string
	}{
		{strict, []string{"name", " "}, "name", "missing"},
		{strict, []string{"method", ""}, "method", "missing"},
		{strict, []string{"method", "clod"}, "method", "did you mean cold?"},
		{strict, []string{"superfat", ""}, "superfat", "nothing is typed"},
		{strict, []string{"superfat", "5,5"}, "superfat", "5.5"},
		{strict, []string{"superfat", "-5"}, "superfat", "from 0 to below 100"},
		{strict, []string{"superfat", "100"}, "superfat", "from 0 to below 100"},
		{strict, []string{"superfat", "NaN"}, "superfat", "not a number"},
		{strict, []string{"superfat", "1e999"}, "superfat", "beyond reason"},
		{strict, []string{"water", "1 to 2"}, "water", "perhaps 2 to 1"},
		{strict, []string{"water", "100 %"}, "water", "below 100"},
		{strict, []string{"water", ""}, "water", "missing"},
		{strict, []string{"by", "volume"}, "by", "share, weight"},
		{strict, []string{"fats_g", "0"}, "fats_g", "above 0"},
		{strict, []string{"fats_g", ""}, "fats_g", "nothing is typed"},
		{strict, []string{"fats_g", "1 l"}, "fats_g", "volume"},
		{pounds, []string{"fats_g", "2"}, "fats_g", "pounds or ounces"},
		{strict, []string{"fat.1.pct", ""}, "fat.1.pct", "nothing is typed"},
		{strict, []string{"fat.1.pct", "69"}, "fat", "sum to 99 %"},
		{strict, []string{"fat.1.id", ""}, "fat.1.id", "missing"},
		{strict, []string{"fat.1.id", "olve-oil"}, "fat.1.id", "olive-oil"},
		{strict, []string{"fat.1.id", "sea-salt"}, "fat.1.id", "no fat"},
		{strict, []string{"fat.2.id", "olive-oil"}, "fat.2.id", "line 1 already"},
		{strict, []string{"fat.2.cooked", "on"}, "fat.2.cooked", "cold method"},
		{strict, []string{"fat.2.sap_mg_koh_g", "zero"}, "fat.2.sap_mg_koh_g", "not a number"},
		{strict, []string{"fat.2.sap_half_width", "1"}, "fat.2.sap_half_width", "needs its value"},
		{strict, []string{"by", "weight", "fat.1.g", "", "fat.2.g", "300"}, "fat.1.g", "nothing is typed"},
		{strict, []string{"by", "weight", "fat.1.g", "-700", "fat.2.g", "300"}, "fat.1.g", "above 0"},
		{strict, []string{"by", "weight", "fat.1.g", "20000 kg", "fat.2.g", "300"}, "fat.1.g", "10 tonnes"},
		{strict, []string{"fat.1.id", "", "fat.1.pct", "", "fat.1.g", "", "fat.2.id", "", "fat.2.pct", ""}, "fat", "at least one fat"},
		{strict, []string{"by", "weight", "fat.1.id", "", "fat.1.pct", "", "fat.1.g", "", "fat.2.id", "", "fat.2.pct", ""}, "fat", "no fat is weighed in"},
		{strict, []string{"alkali.naoh_purity_pct", "0"}, "alkali.naoh_purity_pct", "above 0"},
		{strict, []string{"alkali.koh_solution_pct", "101"}, "alkali.koh_solution_pct", "at most 100"},
		{strict, []string{"scale.division_g", "-1"}, "scale.division_g", "0 or more"},
		{strict, []string{"pour_c", "400 F"}, "pour_c", "from 0 to 110"},
		{strict, []string{"liquid.ice_pct", "120"}, "liquid.ice_pct", "from 0 to 100"},
		{strict, []string{"extra.1.id", "sea-salt"}, "extra.1.dose_g", "nothing is typed"},
		{strict, []string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.unit", "cup"}, "extra.1.unit", "choose g"},
		{strict, []string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.per", "bar"}, "extra.1.per", "choose kg-fats"},
		{strict, []string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.unit", "oz-per-lb", "extra.1.per", "batch"}, "extra.1.per", "counted on the fats"},
		{strict, []string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.unit", "tsp-per-lb", "extra.1.gtsp", "0"}, "extra.1.gtsp", "above 0"},
		{strict, []string{"extra.1.id", "sea-salt", "extra.1.dose_g", "101", "extra.1.per", "liquid"}, "extra.1.dose_g", "at most 100"},
		{strict, []string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.into", "mould"}, "extra.1.into", "choose batter"},
		{strict, []string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.of", "soap"}, "scent.1.of", "choose fats"},
		{strict, []string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.unit", "oz-per-lb", "scent.1.of", "bar"}, "scent.1.per", "counted on the fats"},
		{strict, []string{"scent.1.dose_pct", "3"}, "scent.1.name", "missing"},
		{strict, []string{"notes", strings.Repeat("x", 20_001)}, "notes", "20000 at most"},
	} {
		v := form(c.change...)
		before := maps.Clone(v)
		f, l := formula.FromForm(v, c.o)
		if f == nil || len(l) != 1 || l[0].Field != c.field || !strings.Contains(l[0].Message, c.words) || l[0].Kind != fault.Invalid {
			t.Errorf("%q: faults %v; want one on %s with %q", c.change, l, c.field, c.words)
		}
		if !maps.EqualFunc(v, before, slices.Equal) {
			t.Errorf("%q: what was typed was changed", c.change)
		}
	}
	v := form()
	v["superfat"] = []string{"5", "6"}
	if _, l := formula.FromForm(v, strict); len(l) != 1 || l[0].Field != "superfat" || !strings.Contains(l[0].Message, "came twice") {
		t.Errorf("a field sent twice: %v", l)
	}
}

func TestWhatChangedIsSaidInWords(t *testing.T) {
	a, b := wholeFormula(), wholeFormula()
	if c := formula.Diff(a, b, formula.Faces{}); len(c) != 0 {
		t.Fatalf("nothing changed, and yet %v", c)
	}
	b.SuperfatPct = 6
	b.Water = formula.Water{Rule: formula.ByDiscount, Value: 10, FullPct: 38}
	b.FatsG = 1200.5
	b.CureWaterLossPct = quantity.Maybe{}
	b.Fats[0], b.Fats[1] = b.Fats[1], b.Fats[0] // order is no change
	b.Fats[0].Pct = 25
	b.Fats[1].SAPHalfWidth = quantity.Some(2)
	b.Fats[2] = formula.Fat{ID: "lard", Pct: 15}
	b.Extras[1].SetTyped(formula.Typed{Unit: formula.OuncesPerPound, Amount: 0.5})
	b.Scents = nil
	want := []formula.Change{
		{Field: "superfat", Label: "Superfat", Before: "5 %", After: "6 %"},
		{Field: "water", Label: "Water", Before: "33.5 % lye", After: "10 % less than 38 % of fats"},
		{Field: "fats_g", Label: "Fats in all", Before: "1000 g", After: "1200.5 g"},
		{Field: "cure_water_loss_pct", Label: "Water lost when sold", Before: "61 %", After: "not given"},
		{Field: "fat.1.pct", ID: "coconut-oil", Label: "Share of the fats", Before: "30 %", After: "25 %"},
		{Field: "fat.2.sap_mg_koh_g", ID: "olive-oil", Label: "Saponification value", Before: "190 ± 1 mg KOH/g", After: "190 ± 2 mg KOH/g"},
		{Field: "fat.3.id", ID: "lard", Label: "Fat", After: "15 %"},
		{Field: "fat.3.id", ID: "shea-butter", Label: "Fat", Before: "10 %, after the cook"},
		{Field: "extra.2.dose_g", ID: "citric-acid", Label: "Dose", Before: "8 g per batch", After: "0.5 oz per lb of fats"},
		{Field: "scent.1.name", ID: "Fig and sea salt", Label: "Scent", Before: "5 % of the fats"},
	}
	got := formula.Diff(a, b, formula.Faces{})
	for i := range got {
		got[i].Before = strings.ReplaceAll(got[i].Before, "\u00a0", " ")
		got[i].After = strings.ReplaceAll(got[i].After, "\u00a0", " ")
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	for _, c := range formula.Diff(a, b, formula.Faces{Mass: quantity.PoundOunce}) {
		if c.Field == "fats_g" && c.Before != "2\u00a0lb 3.274\u00a0oz" {
			t.Errorf("1000 g in pounds and ounces is %q", c.Before)
		}
	}
}

// Two lots of one fat are told apart by what is most alike.
func TestChangesMatchTheLotThatIsMostAlike(t *testing.T) {
	a := wholeFormula()
	a.Fats = []formula.Fat{{ID: "olive-oil", Pct: 40, SAP: quantity.Some(188)}, {ID: "olive-oil", Pct: 60, SAP: quantity.Some(191)}}
	b := a.Clone()
	b.Fats = []formula.Fat{{ID: "olive-oil", Pct: 100, SAP: quantity.Some(191)}}
	got := formula.Diff(a, b, formula.Faces{})
	if len(got) != 2 || got[0].Label != "Share of the fats" || got[0].Before != "60\u00a0%" || got[1].Field != "fat.1.id" || got[1].After != "" {
		t.Errorf("got %q", got)
	}
}

func TestADiffWithItselfIsEmpty(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f, g := anyFormula(rt, false), anyFormula(rt, false)
		if c := formula.Diff(f, f.Clone(), formula.Faces{}); len(c) > 0 {
			rt.Fatalf("with itself: %q", c)
		}
		there, back := formula.Diff(f, g, formula.Faces{}), formula.Diff(g, f, formula.Faces{})
		if len(there) != len(back) {
			rt.Fatalf("%d changes one way, %d the other:\n%q\n%q", len(there), len(back), there, back)
		}
		for _, c := range there {
			if c.Label == "" || c.Field == "" || c.Before == c.After {
				rt.Fatalf("change %q", c)
			}
		}
	})
}

func FuzzFromForm(f *testing.F) {
	for _, faces := range allFaces {
		f.Add(formula.ToForm(wholeFormula(), faces).Encode(), uint8(faces.Mass), true)
	}
	f.Add(form("by", "weight", "fat.1.g", "1 lb 8 oz", "fat.2.g", "½ oz").Encode(), uint8(1), false)
	f.Add("fat.9999.pct=1e12&extra.1.unit=tsp-per-lb&extra.1.dose_g=1&water=1%20to%203&scent.5.dose_pct=-0", uint8(2), true)
	cat := ingredients(f)
	f.Fuzz(func(t *testing.T, query string, mass uint8, strict bool) {
		v, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		o := formula.FormOptions{Faces: formula.Faces{Mass: quantity.MassUnit(mass % 3), Temp: quantity.TempUnit(mass % 2)}, Strict: strict, Ingredients: cat}
		x, l := formula.FromForm(v, o)
		if x == nil {
			t.Fatal("no formula")
		}
		for _, e := range l {
			if e.Kind != fault.Invalid || e.Field == "" || e.Message == "" {
				t.Fatalf("fault %+v", e)
			}
		}
		formula.Renumber(v)
		if len(l) > 0 {
			return
		}
		if bad := x.Validate(strict); len(bad) > 0 {
			t.Fatalf("read without a fault, but %v", bad)
		}
		b, err := formula.Encode(x)
		if err != nil {
			t.Fatalf("read without a fault, not stored: %v", err)
		}
		if _, err := formula.Decode(b); err != nil {
			t.Fatal(err)
		}
		again, l := formula.FromForm(formula.ToForm(x, o.Faces), o)
		// Figures that were typed beyond what a form shows may fall out of a sum
		// that was on its very edge; nothing else may.
		for _, e := range l {
			if e.Field != "fat" {
				t.Fatalf("shown again, and then refused: %v", l)
			}
		}
		if len(again.Fats) != len(x.Fats) || len(again.Extras) != len(x.Extras) || len(again.Scents) != len(x.Scents) {
			t.Fatalf("shown again, and then %+v, was %+v", again, x)
		}
	})
}
