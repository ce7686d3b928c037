// Package formulatest makes formulas for tests: whole ones, and any that the rules
// accept.
package formulatest

import (
	"strings"

	"pgregory.net/rapid"

	"barwright/formula"
	"barwright/quantity"
)

// Any draws a formula that the strict rules accept, in which every field
// is used at times. simple leaves out what a formula file has no key for.
func Any(t *rapid.T, simple bool) *formula.Formula {
	num := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	maybe := func(name string, lo, hi float64) quantity.Maybe {
		if rapid.Bool().Draw(t, name+" known") {
			return quantity.Some(num(name, lo, hi))
		}
		return quantity.Maybe{}
	}
	word := func(name string) string {
		return rapid.StringMatching(`[A-Za-zé"\\'=#\[\] ,;:-]{0,12}x`).Draw(t, name)
	}
	f := &formula.Formula{
		Name:             word("name"),
		Method:           formula.Method(rapid.IntRange(1, 2).Draw(t, "method")),
		SuperfatPct:      num("superfat", 0, 99),
		Water:            formula.Water{Value: num("water", 1, 99)},
		FatsG:            num("fats", 0.01, 1e6),
		CureWaterLossPct: maybe("loss", 0, 100),
		Alkali: formula.Alkali{
			KOHMolPct: num("koh", 0, 100), NaOHPurityPct: maybe("naoh purity", 50, 100),
			KOHPurityPct: maybe("koh purity", 50, 100), PurityHalfWidthPct: num("half", 0, 5),
		},
		ScaleDivisionG: maybe("division", 0, 10),
	}
	n := rapid.IntRange(1, 6).Draw(t, "fats")
	left := 100.0
	ids := []string{"olive-oil", "coconut-oil", "lard", "castor-oil", "shea-butter", "palm-oil"}
	for i := range n {
		p := left
		if i < n-1 {
			p = left * num("share", 0.1, 0.9)
		}
		left -= p
		x := formula.Fat{ID: ids[i], Pct: p, SAP: maybe("sap", 100, 300)}
		if x.SAP.Known {
			x.SAPHalfWidth = maybe("sap half", 0, 50)
		}
		x.Cooked = f.Method == formula.Hot && i > 0 && rapid.Bool().Draw(t, "cooked")
		f.Fats = append(f.Fats, x)
	}
	extras := []string{"citric-acid", "sea-salt", "coconut-milk-powder"}
	for i := range rapid.IntRange(0, 3).Draw(t, "extras") {
		x := formula.Extra{
			ID: extras[i], Dose: num("dose", 0.001, 90), Per: formula.Per(rapid.IntRange(0, 2).Draw(t, "per")),
			Into: formula.Into(rapid.IntRange(0, 2).Draw(t, "into")), FatPct: maybe("fat in it", 0, 50),
			WaterPct: maybe("water in it", 0, 50), SAP: maybe("sap of it", 100, 300),
		}
		if !simple && rapid.Bool().Draw(t, "typed") {
			u := formula.DoseUnit(rapid.IntRange(1, 2).Draw(t, "unit"))
			ty := formula.Typed{Unit: u, Amount: num("amount", 0.01, 5)}
			if u == formula.TeaspoonsPerPound {
				ty.GramsPerTsp, ty.Measured = num("tsp", 0.5, 9), true
			}
			x.SetTyped(ty)
		} else if !simple && x.Per == formula.PerKgBatter {
			x.Per, x.Dose = formula.PerLiquid, x.Dose/4
		}
		f.Extras = append(f.Extras, x)
	}
	for range rapid.IntRange(0, 2).Draw(t, "scents") {
		s := formula.Scent{Name: word("scent"), DosePct: num("scent dose", 0.01, 20),
			Of: formula.Of(rapid.IntRange(0, 2).Draw(t, "of")), LimitPct: maybe("limit", 0, 100)}
		if !simple {
			s.Category, s.Dated = word("category"), word("dated")
			if rapid.Bool().Draw(t, "scent typed") {
				s.SetTyped(formula.Typed{Unit: formula.OuncesPerPound, Amount: num("oz", 0.01, 2)})
			}
		}
		f.Scents = append(f.Scents, s)
	}
	if !simple {
		f.Water = AnyWater(t)
		f.PourC = maybe("pour", 10, 100)
		f.ByWeight = rapid.Bool().Draw(t, "by weight")
		f.Notes = strings.TrimSpace(word("notes") + "\n" + word("more"))
		f.Alkali.NaOHSolutionPct = maybe("naoh solution", 10, 50)
		f.Alkali.KOHSolutionPct = maybe("koh solution", 10, 50)
		f.Liquid = formula.Liquid{IcePct: num("ice", 0, 100), LaterPct: num("later", 0, 100), PeakC: maybe("peak", 20, 100)}
		f.Stage = formula.Stage(rapid.IntRange(0, 4).Draw(t, "stage"))
		f.Portions = anyPortions(t)
		for i := range f.Scents {
			for _, name := range rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"Linalool", "Citral", "CI 5392-40-5", "Vanillin 2"}), 0, 3,
				rapid.ID).Draw(t, "stated") {
				f.Scents[i].Constituents = append(f.Scents[i].Constituents, formula.Constituent{Name: name, Pct: num("stated share", 0.001, 100)})
			}
		}
		if rapid.IntRange(0, 2).Draw(t, "melt") == 0 {
			makeMelt(t, f)
		}
	}
	f.DensityGML = maybe("measured", 0.5, 1.6)
	if f.Method == formula.Hot {
		f.CookLossPct = maybe("cook loss", 0, 99)
	}
	// A form trims what it reads.
	f.Name = strings.TrimSpace(f.Name)
	for i := range f.Scents {
		s := &f.Scents[i]
		s.Name, s.Category, s.Dated = strings.TrimSpace(s.Name), strings.TrimSpace(s.Category), strings.TrimSpace(s.Dated)
	}
	if l := f.Validate(true); len(l) > 0 {
		t.Fatalf("the draw is refused: %v", l)
	}
	return f
}

// anyPortions draws a division that the strict rules accept.
func anyPortions(t *rapid.T) []formula.Portion {
	num := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	names := []string{"sea white", "Rock 40", "foam", "lamp"}
	var out []formula.Portion
	left, mixed := 100.0, rapid.Bool().Draw(t, "mixed")
	n := rapid.IntRange(0, len(names)).Draw(t, "portions")
	for i := range n {
		p := formula.Portion{Name: names[i], Stage: formula.Stage(rapid.IntRange(0, 4).Draw(t, "stage of it")), Amount: left}
		switch {
		case i == n-1 && mixed:
			p.By, p.Amount = formula.ByRest, 0
		case mixed && i%2 == 1:
			p.By, p.Amount = formula.PortionBy(rapid.IntRange(1, 2).Draw(t, "by")), num("amount", 0.1, 5000)
		case i < n-1 || mixed:
			p.Amount = left * num("share of it", 0.1, 0.9)
		}
		if p.By == formula.ByShare {
			left -= p.Amount
		}
		for _, id := range rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"titanium-dioxide", "mica", "charcoal"}), 0, 3, rapid.ID).Draw(t, "colours") {
			x := formula.Colour{ID: id, GPerKg: num("dose", 0.001, 90)}
			if u := formula.DoseUnit(rapid.IntRange(0, 2).Draw(t, "unit of it")); u != formula.Grams {
				x.Typed = formula.Typed{Unit: u, Amount: num("amount of it", 0.01, 5)}
				if u == formula.TeaspoonsPerPound {
					x.Typed.GramsPerTsp, x.Typed.Measured = num("tsp of it", 0.5, 9), true
				}
				x.GPerKg = x.Typed.GramsPerKgFats()
			}
			p.Colourants = append(p.Colourants, x)
		}
		out = append(out, p)
	}
	return out
}

// makeMelt turns f into a melt with the same extras, scents and portions.
func makeMelt(t *rapid.T, f *formula.Formula) {
	num := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	maybe := func(name string, lo, hi float64) quantity.Maybe {
		if rapid.Bool().Draw(t, name+" known") {
			return quantity.Some(num(name, lo, hi))
		}
		return quantity.Maybe{}
	}
	f.Method, f.SuperfatPct, f.Water, f.CureWaterLossPct, f.Alkali, f.Liquid, f.Fats = formula.Melt, 0, formula.Water{}, quantity.Maybe{},
		formula.Alkali{}, formula.Liquid{}, nil
	for i := range f.Extras {
		x := &f.Extras[i]
		x.Into = formula.IntoBatter
		if x.Per == formula.PerLiquid {
			x.Per = formula.PerKgBatter
		}
	}
	left := 100.0
	names := []string{"white base", "Clear base 2", "goat milk base"}
	n := rapid.IntRange(1, len(names)).Draw(t, "bases")
	for i := range n {
		p := left
		if i < n-1 {
			p = left * num("share of base", 0.1, 0.9)
		}
		left -= p
		f.Bases = append(f.Bases, formula.Base{Name: names[i], Pct: p, INCI: rapid.SampledFrom([]string{"", "Aqua, Glycerin, Sodium Stearate"}).Draw(t, "inci"),
			DensityGML: maybe("density", 0.9, 1.2), SoftensC: maybe("softens", 40, 55), MaxMeltC: maybe("max melt", 70, 90),
			MaxPourC: maybe("max pour", 50, 70)})
	}
	f.Melting = formula.Melting{MeltC: maybe("melted at", 50, 95), Remelts: rapid.IntRange(0, 5).Draw(t, "remelts"), EvaporationPct: maybe("evaporated", 0, 20)}
}

// Rock is a melt in which every field of a melt is set.
func Rock() *formula.Formula {
	some := quantity.Some
	return &formula.Formula{
		Name: "Rock", Method: formula.Melt, FatsG: 600, ScaleDivisionG: some(1), PourC: some(58), DensityGML: some(1.04), Stage: formula.ThinTrace,
		Bases: []formula.Base{
			{Name: "Clear base", Pct: 75, INCI: "Aqua, Glycerin, Sodium Stearate",
				DensityGML: some(1.05), SoftensC: some(52), MaxMeltC: some(75), MaxPourC: some(63)},
			{Name: "White base", Pct: 25},
		},
		Melting: formula.Melting{MeltC: some(68), Remelts: 1, EvaporationPct: some(1.5)},
		Extras:  []formula.Extra{{ID: "citric-acid", Dose: 2, Per: formula.PerBatch}},
		Scents:  []formula.Scent{{Name: "Fig", DosePct: 2, Constituents: []formula.Constituent{{Name: "Linalool", Pct: 12.5}}}},
		Portions: []formula.Portion{
			{Name: "dark", By: formula.ByMass, Amount: 200, Colourants: []formula.Colour{{ID: "charcoal", GPerKg: 6}}},
			{Name: "drops", By: formula.ByVolume, Amount: 50, Stage: formula.ThickTrace},
			{Name: "clear", By: formula.ByRest},
		},
	}
}

// Whole is a cooked batter in which every key of a formula file is set.
func Whole() *formula.Formula {
	some := quantity.Some
	return &formula.Formula{
		Name: "Storm lantern", Method: formula.Hot, SuperfatPct: 5,
		Water: formula.Water{Value: 33.5}, FatsG: 1000, CureWaterLossPct: some(61),
		Alkali:         formula.Alkali{KOHMolPct: 5, NaOHPurityPct: some(99), KOHPurityPct: some(90), PurityHalfWidthPct: 0.5},
		ScaleDivisionG: some(1),
		Fats: []formula.Fat{
			{ID: "olive-oil", Pct: 60, SAP: some(190), SAPHalfWidth: some(1)},
			{ID: "coconut-oil", Pct: 30},
			{ID: "shea-butter", Pct: 10, Cooked: true},
		},
		Extras: []formula.Extra{
			{ID: "coconut-milk-powder", Dose: 20, Into: formula.IntoCooked, FatPct: some(60), WaterPct: some(2), SAP: some(256)},
			{ID: "citric-acid", Dose: 8, Per: formula.PerBatch},
		},
		Scents: []formula.Scent{{Name: "Fig and sea salt", DosePct: 5, LimitPct: some(6.2)}},
	}
}

// AnyWater draws water by any rule.
func AnyWater(t *rapid.T) formula.Water {
	w := formula.Water{Rule: formula.WaterRule(rapid.IntRange(0, 3).Draw(t, "rule"))}
	w.Value = rapid.Float64Range(0.001, 99.99).Draw(t, "value")
	if w.Rule == formula.ByDiscount {
		w.FullPct = rapid.Float64Range(0.001, 1000).Draw(t, "full")
	}
	return w
}
