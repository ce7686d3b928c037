package formula_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barwright/formula"
	"barwright/quantity"
)

func TestWhatChangedIsSaidInWords(t *testing.T) {
	a, b := wholeFormula(), wholeFormula()
	if c := formula.Diff(a, b, formula.Faces{}, nil); len(c) != 0 {
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
	got := formula.Diff(a, b, formula.Faces{}, nil)
	for i := range got {
		got[i].Before = strings.ReplaceAll(got[i].Before, "\u00a0", " ")
		got[i].After = strings.ReplaceAll(got[i].After, "\u00a0", " ")
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	for _, c := range formula.Diff(a, b, formula.Faces{Mass: quantity.PoundOunce}, nil) {
		if c.Field == "fats_g" && c.Before != "2\u00a0lb 3.274\u00a0oz" {
			t.Errorf("1000 g in pounds and ounces is %q", c.Before)
		}
	}
}

func TestWhatChangedInAMeltIsSaidInWords(t *testing.T) {
	a, b := aMelt(), aMelt()
	b.FatsG, b.Melting.Remelts, b.Melting.EvaporationPct = 700, 2, quantity.Maybe{}
	b.Bases[0].MaxPourC = quantity.Some(60)
	b.Portions[0], b.Portions[2] = b.Portions[2], b.Portions[0] // pour order is no line of its own
	b.Portions[2].Amount = 250
	b.Portions[2].Colourants = []formula.Colour{{ID: "mica", GPerKg: 6}}
	b.Portions[1].Stage = formula.AnyStage
	b.Scents[0].Constituents[0].Pct = 10
	want := []formula.Change{
		{Field: "fats_g", Label: "Base in all", Before: "600 g", After: "700 g"},
		{Field: "melting.remelts", Label: "Melted before", Before: "once", After: "twice"},
		{Field: "melting.evaporation_pct", Label: "Evaporated while molten", Before: "1.5 %", After: "not given"},
		{Field: "scent.1.stated", ID: "Fig", Label: "What its certificate states", Before: "Linalool 12.5 %", After: "Linalool 10 %"},
		{Field: "base.1.max_pour_c", ID: "Clear base", Label: "Hottest to pour", Before: "63 °C", After: "60 °C"},
		{Field: "portion.2.stage", ID: "drops", Label: "Thickness of the portion", Before: "thick trace", After: "not given"},
		{Field: "portion.3.amount", ID: "dark", Label: "Size of the portion", Before: "200 g", After: "250 g"},
		{Field: "portion.3.colours", ID: "dark", Label: "Colour: mica", After: "6 g per kg of batter"},
		{Field: "portion.3.colours", ID: "dark", Label: "Colour: charcoal", Before: "6 g per kg of batter"},
	}
	got := formula.Diff(a, b, formula.Faces{}, nil)
	for i := range got {
		got[i].Before = strings.ReplaceAll(got[i].Before, "\u00a0", " ")
		got[i].After = strings.ReplaceAll(got[i].After, "\u00a0", " ")
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

// Two lots of one fat are matched with those that they are most like.
func TestChangesMatchTheLotThatIsMostAlike(t *testing.T) {
	a := wholeFormula()
	a.Fats = []formula.Fat{{ID: "olive-oil", Pct: 40, SAP: quantity.Some(188)}, {ID: "olive-oil", Pct: 60, SAP: quantity.Some(191)}}
	b := a.Clone()
	b.Fats = []formula.Fat{{ID: "olive-oil", Pct: 100, SAP: quantity.Some(191)}}
	got := formula.Diff(a, b, formula.Faces{}, nil)
	if len(got) != 2 || got[0].Label != "Share of the fats" || got[0].Before != "60\u00a0%" || got[1].Field != "fat.1.id" || got[1].After != "" {
		t.Errorf("got %q", got)
	}
}

func TestADiffWithItselfIsEmpty(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f, g := anyFormula(rt, false), anyFormula(rt, false)
		if c := formula.Diff(f, f.Clone(), formula.Faces{}, nil); len(c) > 0 {
			rt.Fatalf("with itself: %q", c)
		}
		there, back := formula.Diff(f, g, formula.Faces{}, nil), formula.Diff(g, f, formula.Faces{}, nil)
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

// Colours stand in the text of a portion that is new or gone, and there as in
// every other line they have the names of the catalogue.
func TestChangesCallColoursByTheirNames(t *testing.T) {
	a := wholeFormula()
	a.Portions = []formula.Portion{{Name: "dark", By: formula.ByRest, Colourants: []formula.Colour{{ID: "mica", GPerKg: 3}}}}
	b := a.Clone()
	b.Portions[0].Colourants[0].GPerKg = 4
	b.Portions = append(b.Portions, formula.Portion{Name: "light", By: formula.ByMass, Amount: 200,
		Colourants: []formula.Colour{{ID: "titanium-dioxide", GPerKg: 3}}})
	name := func(id string) string {
		return map[string]string{"mica": "Mica", "titanium-dioxide": "Titanium dioxide"}[id]
	}
	got := formula.Diff(a, b, formula.Faces{}, name)
	want := []formula.Change{
		{Field: "portion.1.colours", ID: "dark", Label: "Colour: Mica", Before: "3\u00a0g per kg of batter", After: "4\u00a0g per kg of batter"},
		{Field: "portion.2.name", ID: "light", Label: "Portion", After: "200\u00a0g; Titanium dioxide 3\u00a0g per kg of batter"},
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}
