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
	{Mass: quantity.PoundOunce, Temp: quantity.Fahrenheit, Volume: quantity.USFluidOunce},
}

func TestTheFormGivesTheFormulaBack(t *testing.T) {
	cat := ingredients(t)
	rapid.Check(t, func(rt *rapid.T) {
		f := anyFormula(rt, false)
		faces := rapid.SampledFrom(allFaces).Draw(rt, "faces")
		// Very small weights of fats, and the scale's division, lose their last
		// figures.
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

// form is a small valid form, changed by pairs of field and text.
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

// melt is a small valid form of a melt, changed by pairs of field and text.
func melt(pairs ...string) url.Values {
	v := url.Values{
		"name": {"Rock"}, "method": {"melt"}, "by": {"share"}, "fats_g": {"600"}, "superfat": {"nonsense that is not read"}, "water": {""},
		"alkali.koh_mol_pct": {"x"},
		"base.1.name":        {"Clear base"}, "base.1.pct": {"75 %"}, "base.1.inci": {"Aqua, Glycerin,\r\nSodium Stearate"}, "base.1.max_melt_c": {"167 F"},
		"base.1.g":    {"stale"},
		"base.3.name": {"White base"}, "base.3.pct": {"25"}, "melting.melt_c": {"68"}, "melting.remelts": {"2"}, "melting.evaporation_pct": {"1.5 %"},
	}
	for i := 0; i < len(pairs); i += 2 {
		v[pairs[i]] = []string{pairs[i+1]}
	}
	return v
}

func TestAFormOfAMeltIsReadWithoutLye(t *testing.T) {
	some := quantity.Some
	want := &formula.Formula{Name: "Rock", Method: formula.Melt, FatsG: 600,
		Bases:   []formula.Base{{Name: "Clear base", Pct: 75, INCI: "Aqua, Glycerin, Sodium Stearate", MaxMeltC: some(75)}, {Name: "White base", Pct: 25}},
		Melting: formula.Melting{MeltC: some(68), Remelts: 2, EvaporationPct: some(1.5)}}
	o := formula.FormOptions{Strict: true, Ingredients: ingredients(t)}
	f, l := formula.FromForm(melt(), o)
	if len(l) > 0 {
		t.Fatal(l)
	}
	alike(t, f, want)
	f, l = formula.FromForm(melt("by", "weight", "fats_g", "not read", "base.1.g", "1 lb 8 oz", "base.3.g", "8 oz"), o)
	if len(l) > 0 {
		t.Fatal(l)
	}
	want.ByWeight, want.FatsG = true, 2*453.59237
	alike(t, f, want)
}

// A colour is read from any line that a maker would write, and its name may end
// in a number.
func TestColoursAreReadLineByLine(t *testing.T) {
	o := formula.FormOptions{Strict: true, Ingredients: ingredients(t)}
	for text, want := range map[string]formula.Colour{
		"titanium-dioxide 6 g/kg":          {ID: "titanium-dioxide", GPerKg: 6},
		"Titanium dioxide 6 g/kg":          {ID: "titanium-dioxide", GPerKg: 6},
		"TITANIUM  DIOXIDE: 6.25 g per kg": {ID: "titanium-dioxide", GPerKg: 6.25},
		"CI 77891 6g/kg":                   {ID: "titanium-dioxide", GPerKg: 6},
		"Ultramarine, 0.5 %":               {ID: "ultramarine", GPerKg: 5},
		"mica = 0.1 oz/lb":                 {ID: "mica", GPerKg: 6.25, Typed: formula.Typed{Unit: formula.OuncesPerPound, Amount: 0.1}},
		"mica – ½ oz per lb":               {ID: "mica", GPerKg: 31.25, Typed: formula.Typed{Unit: formula.OuncesPerPound, Amount: 0.5}},
		"mica 1 1/2 tsp/lb at 2.1 g": {ID: "mica", GPerKg: 1.5 * 2.1 / 0.45359237,
			Typed: formula.Typed{Unit: formula.TeaspoonsPerPound, Amount: 1.5, GramsPerTsp: 2.1, Measured: true}},
		"mica 2 tsp per lb (2.1 g)": {ID: "mica", GPerKg: 4.2 / 0.45359237,
			Typed: formula.Typed{Unit: formula.TeaspoonsPerPound, Amount: 2, GramsPerTsp: 2.1, Measured: true}},
		// When a teaspoon was not measured, half of it is taken to be air if
		// the substance is denser than a liquid: 4.92892 mL · 2.8 g/mL / 2.
		"mica 2 tsp/lb": {ID: "mica", GPerKg: 2 * 6.900490231 / 0.45359237,
			Typed: formula.Typed{Unit: formula.TeaspoonsPerPound, Amount: 2, GramsPerTsp: 6.900490231}},
	} {
		f, l := formula.FromForm(form("portion.1.name", "sky", "portion.1.by", "rest", "portion.1.amount", "not read", "portion.1.colours",
			"\r\n "+text+" \r\n"), o)
		if len(l) > 0 || len(f.Portions) != 1 || len(f.Portions[0].Colourants) != 1 {
			t.Errorf("%q: %v, %+v", text, l, f.Portions)
			continue
		}
		alike(t, &formula.Formula{Portions: []formula.Portion{{Colourants: f.Portions[0].Colourants}}},
			&formula.Formula{Portions: []formula.Portion{{Colourants: []formula.Colour{want}}}})
	}
}

func TestConstituentsAreReadLineByLine(t *testing.T) {
	f, l := formula.FromForm(form("scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.stated",
		"Linalool 12.5\n\nCitral: 0.4 %\r\nMethyl 2-Octynoate 1/2\n127-51-5 3 per cent"),
		formula.FormOptions{Strict: true, Ingredients: ingredients(t)})
	if len(l) > 0 {
		t.Fatal(l)
	}
	want := []formula.Constituent{{Name: "Linalool", Pct: 12.5}, {Name: "Citral", Pct: 0.4}, {Name: "Methyl 2-Octynoate", Pct: 0.5}, {Name: "127-51-5", Pct: 3}}
	if !slices.Equal(f.Scents[0].Constituents, want) {
		t.Errorf("read as %v, want %v", f.Scents[0].Constituents, want)
	}
}

func TestAPortionIsTypedInTheStudiosFaces(t *testing.T) {
	f, l := formula.FromForm(form("portion.2.name", "sky", "portion.2.by", "volume", "portion.2.amount", "8", "portion.3.name", "sea",
		"portion.3.by", "mass", "portion.3.amount", "12",
		"portion.3.stage", "thick", "portion.9.name", "foam", "portion.9.by", "rest"),
		formula.FormOptions{Strict: true, Faces: formula.Faces{Mass: quantity.Ounce, Volume: quantity.USFluidOunce}})
	if len(l) > 0 {
		t.Fatal(l)
	}
	p := f.Portions
	// NIST SP 811: 1 US fl oz is 29.573 529 562 5 mL, 1 oz 28.349 523 125 g.
	if len(p) != 3 || math.Abs(p[0].Amount-8*29.5735295625) > 1e-9 || math.Abs(p[1].Amount-12*28.349523125) > 1e-9 ||
		p[1].Stage != formula.ThickTrace || p[2].By != formula.ByRest {
		t.Errorf("read as %+v", p)
	}
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
	// The rules name the form's own rows too.
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

// badField is a change of a form, the field on which its one fault must be, and
// words of the fault's sentence.
type badField struct {
	change       []string
	field, words string
}

// badFields are the faults of the fields that a form has once, and of its fats.
var badFields = []badField{
	{[]string{"name", " "}, "name", "missing"},
	{[]string{"method", ""}, "method", "missing"},
	{[]string{"method", "clod"}, "method", "did you mean cold?"},
	{[]string{"superfat", ""}, "superfat", "nothing is typed"},
	{[]string{"superfat", "5,5"}, "superfat", "5.5"},
	{[]string{"superfat", "-5"}, "superfat", "from 0 to below 100"},
	{[]string{"superfat", "100"}, "superfat", "from 0 to below 100"},
	{[]string{"superfat", "NaN"}, "superfat", "not a number"},
	{[]string{"superfat", "1e999"}, "superfat", "beyond reason"},
	{[]string{"water", "1 to 2"}, "water", "perhaps 2 to 1"},
	{[]string{"water", "100 %"}, "water", "below 100"},
	{[]string{"water", ""}, "water", "missing"},
	{[]string{"by", "volume"}, "by", "share, weight"},
	{[]string{"fats_g", "0"}, "fats_g", "above 0"},
	{[]string{"fats_g", ""}, "fats_g", "nothing is typed"},
	{[]string{"fats_g", "1 l"}, "fats_g", "volume"},
	{[]string{"fat.1.pct", ""}, "fat.1.pct", "nothing is typed"},
	{[]string{"fat.1.pct", "69"}, "fat", "sum to 99 %"},
	{[]string{"fat.1.id", ""}, "fat.1.id", "missing"},
	{[]string{"fat.1.id", "olve-oil"}, "fat.1.id", "olive-oil"},
	{[]string{"fat.1.id", "sea-salt"}, "fat.1.id", "no fat"},
	{[]string{"fat.2.id", "olive-oil"}, "fat.2.id", "line 1 already"},
	{[]string{"fat.2.cooked", "on"}, "fat.2.cooked", "cold method"},
	{[]string{"fat.2.sap_mg_koh_g", "zero"}, "fat.2.sap_mg_koh_g", "not a number"},
	{[]string{"fat.2.sap_half_width", "1"}, "fat.2.sap_half_width", "needs its value"},
	{[]string{"by", "weight", "fat.1.g", "", "fat.2.g", "300"}, "fat.1.g", "nothing is typed"},
	{[]string{"by", "weight", "fat.1.g", "-700", "fat.2.g", "300"}, "fat.1.g", "above 0"},
	{[]string{"by", "weight", "fat.1.g", "20000 kg", "fat.2.g", "300"}, "fat.1.g", "10 tonnes"},
	{[]string{"fat.1.id", "", "fat.1.pct", "", "fat.1.g", "", "fat.2.id", "", "fat.2.pct", ""}, "fat", "at least one fat"},
	{[]string{"by", "weight", "fat.1.id", "", "fat.1.pct", "", "fat.1.g", "", "fat.2.id", "", "fat.2.pct", ""}, "fat", "No fat is weighed in"},
	{[]string{"alkali.naoh_purity_pct", "0"}, "alkali.naoh_purity_pct", "above 0"},
	{[]string{"alkali.koh_solution_pct", "101"}, "alkali.koh_solution_pct", "at most 100"},
	{[]string{"scale.division_g", "-1"}, "scale.division_g", "0 or more"},
	{[]string{"pour_c", "400 F"}, "pour_c", "from 0 to 110"},
	{[]string{"liquid.ice_pct", "120"}, "liquid.ice_pct", "from 0 to 100"},
	{[]string{"cook_loss_pct", "15"}, "cook_loss_pct", "write method hot"},
	{[]string{"method", "hot", "cook_loss_pct", "100"}, "cook_loss_pct", "below 100"},
	{[]string{"measured_density_g_ml", "1035"}, "measured_density_g_ml", "from 0.3 to 3"},
	{[]string{"stage", "runny"}, "stage", "choose thin, medium"},
	{[]string{"base.1.name", "Clear"}, "base", "write method melt"},
	{[]string{"melting.melt_c", "70"}, "melting.melt_c", "Only a melt"},
	{[]string{"melting.remelts", "1"}, "melting.remelts", "Only a melt"},
	{[]string{"melting.evaporation_pct", "1"}, "melting.evaporation_pct", "Only a melt"},
	{[]string{"notes", strings.Repeat("x", 20_001)}, "notes", "20000 at most"},
}

// badRows are the faults of extras, scents and portions.
var badRows = []badField{
	{[]string{"extra.1.id", "sea-salt"}, "extra.1.dose_g", "nothing is typed"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.unit", "cup"}, "extra.1.unit", "choose g"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.per", "bar"}, "extra.1.per", "choose kg-fats"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.unit", "oz-per-lb", "extra.1.per", "batch"}, "extra.1.per", "counted on the fats"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.unit", "tsp-per-lb", "extra.1.gtsp", "0"}, "extra.1.gtsp", "above 0"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "101", "extra.1.per", "liquid"}, "extra.1.dose_g", "at most 100"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.into", "mould"}, "extra.1.into", "choose batter"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.of", "soap"}, "scent.1.of", "choose fats"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.unit", "oz-per-lb", "scent.1.of", "bar"}, "scent.1.per", "counted on the fats"},
	{[]string{"scent.1.dose_pct", "3"}, "scent.1.name", "missing"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.stated", "Linalool 12\n\nlots of citral"}, "scent.1.stated",
		"Line 3: \"lots of citral\" cannot be read"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.stated", "\nLinalool 12,5"}, "scent.1.stated",
		"Line 2: \"12,5\" has a comma: write 12.5"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.stated", "Linalool 120"}, "scent.1.stated", "Line 1: 120 % of Linalool will not do"},
	{[]string{"scent.2.name", "Fig", "scent.2.dose_pct", "3", "scent.2.stated", "Linalool 1\n\n\nLINALOOL 2"}, "scent.2.stated",
		"Line 4: The constituent LINALOOL is in line 1 already"},
	{[]string{"portion.1.amount", "100"}, "portion.1.name", "missing"},
	{[]string{"portion.1.name", "sky", "portion.1.amount", "99"}, "portion", "sum to 99 %"},
	{[]string{"portion.1.name", "sky", "portion.1.amount", "60", "portion.2.name", "sea", "portion.2.amount", "60"}, "portion", "take 20 % away"},
	{[]string{"portion.1.name", "sky", "portion.1.amount", "0"}, "portion.1.amount", "above 0"},
	{[]string{"portion.1.name", "sky", "portion.1.amount", "100", "portion.2.name", "sea", "portion.2.by", "rest"}, "portion.2.by", "there is no rest"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "rest", "portion.2.name", "sea", "portion.2.by", "rest"}, "portion.2.by", "only one can"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "rest", "portion.2.name", "SKY", "portion.2.amount", "5"}, "portion.2.name", "called SKY already"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "half"}, "portion.1.by", "choose share"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "volume", "portion.1.amount", "200 g"}, "portion.1.amount", "is a mass"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "mass", "portion.1.amount", "200 ml"}, "portion.1.amount", "volume"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "rest", "portion.1.stage", "firm"}, "portion.1.stage", "choose thin"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 6"}, "portion.4.colours",
		"Line 1: \"mica 6\" cannot be read: its dose has no unit"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica"}, "portion.4.colours", "write the colour and then its dose"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "6 g/kg"}, "portion.4.colours", "Line 1:"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 6 g/kg\n\nmics 5 g/kg"}, "portion.4.colours",
		"Line 3: \"mics\" is not in the catalogue; did you mean mica"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 6 g/kg\n\nMica 1 g/kg"}, "portion.4.colours",
		"Line 3: The colour mica is in line 1 already"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "\nolive oil 6 g/kg"}, "portion.4.colours",
		"Line 2: The ingredient olive-oil neither colours"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 0 g/kg"}, "portion.4.colours",
		"Line 1: 0 g per kg of mica will not do"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica -2 g/kg"}, "portion.4.colours", "above 0"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 2 tsp/lb at 300 g"}, "portion.4.colours",
		"Line 1: A level teaspoon must weigh"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 2 g/kg at 3 g"}, "portion.4.colours", "belongs to a dose in tsp/lb"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", strings.Repeat("x", 20_001)}, "portion.4.colours", "20000 at most"},
}

// badMelts are the faults of the form of a melt.
var badMelts = []badField{
	{[]string{"fat.1.id", "olive-oil"}, "fat", "takes no fats"},
	{[]string{"base.1.pct", "70"}, "base", "sum to 95 %"},
	{[]string{"base.1.name", "", "base.1.pct", "", "base.1.g", "", "base.1.inci", "", "base.1.max_melt_c", "", "base.3.name", "", "base.3.pct", ""},
		"base", "at least one base"},
	{[]string{"base.3.name", "CLEAR BASE"}, "base.3.name", "The base CLEAR BASE is in line 1 already"},
	{[]string{"base.3.name", ""}, "base.3.name", "missing"},
	{[]string{"by", "weight", "base.1.g", "", "base.3.g", "100"}, "base.1.g", "nothing is typed"},
	{[]string{"by", "weight", "base.1.g", "-5", "base.3.g", "100"}, "base.1.g", "weight of a base"},
	{[]string{"base.3.density_g_ml", "0"}, "base.3.density_g_ml", "from 0.3"},
	{[]string{"base.3.softens_c", "800"}, "base.3.softens_c", "from 20 to 150"},
	{[]string{"base.1.max_pour_c", "80"}, "base.1.max_pour_c", "one of the two is a slip"},
	{[]string{"base.1.softens_c", "80"}, "base.1.softens_c", "never be melted"},
	{[]string{"melting.melt_c", "7"}, "melting.melt_c", "from 20 to 150"},
	{[]string{"melting.remelts", "1.5"}, "melting.remelts", "whole number"},
	{[]string{"melting.remelts", "-1"}, "melting.remelts", "whole number"},
	{[]string{"melting.remelts", "1e12"}, "melting.remelts", "whole number"},
	{[]string{"melting.evaporation_pct", "100"}, "melting.evaporation_pct", "below 100"},
	{[]string{"cook_loss_pct", "10"}, "cook_loss_pct", "write method hot"},
	{[]string{"fats_g", "0"}, "fats_g", "the mass of all base"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.into", "lye"}, "extra.1.into", "write batter"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.per", "liquid"}, "extra.1.per", "no liquid"},
}

// Every fault a form can have is on its own field, with its words.
func TestEveryBadFieldIsNamedWithASentence(t *testing.T) {
	strict := formula.FormOptions{Strict: true, Ingredients: ingredients(t)}
	check := func(o formula.FormOptions, of func(...string) url.Values, c badField) {
		v := of(c.change...)
		before := maps.Clone(v)
		f, l := formula.FromForm(v, o)
		if f == nil || len(l) != 1 || l[0].Field != c.field || !strings.Contains(l[0].Message, c.words) || l[0].Kind != fault.Invalid {
			t.Errorf("%q: faults %v; want one on %s with %q", c.change, l, c.field, c.words)
		}
		if !maps.EqualFunc(v, before, slices.Equal) {
			t.Errorf("%q: what was typed was changed", c.change)
		}
	}
	for _, c := range slices.Concat(badFields, badRows) {
		check(strict, form, c)
	}
	for _, c := range badMelts {
		check(strict, melt, c)
	}
	pounds := strict
	pounds.Faces.Mass = quantity.PoundOunce
	check(pounds, form, badField{[]string{"fats_g", "2"}, "fats_g", "pounds or ounces"})
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
		{Field: "portion.3.colours", ID: "dark", Label: "Colour mica", After: "6 g per kg of batter"},
		{Field: "portion.3.colours", ID: "dark", Label: "Colour charcoal", Before: "6 g per kg of batter"},
	}
	got := formula.Diff(a, b, formula.Faces{})
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
	f.Add(formula.ToForm(aMelt(), formula.Faces{}).Encode(), uint8(2), true)
	f.Add(melt("by", "weight", "base.1.g", "1 lb 8 oz", "base.3.g", "½ oz").Encode(), uint8(1), false)
	f.Add(form("method", "hot", "cook_loss_pct", "12", "portion.1.name", "sky", "portion.1.by", "volume", "portion.1.amount", "8 fl oz",
		"portion.2.name", "sea", "portion.2.by", "rest",
		"portion.1.colours", "CI 77891 6 g/kg\r\nmica: 1 1/2 tsp/lb at 2.1 g\n½ ½ %", "scent.1.name", "Fig", "scent.1.dose_pct", "3",
		"scent.1.stated", "Linalool 12.5\n- 3").Encode(), uint8(0), true)
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
		// A number typed with more figures than a form shows may make a sum
		// fail that was exactly at its limit. Nothing else may fail.
		for _, e := range l {
			if e.Field != "fat" && e.Field != "base" && e.Field != "portion" {
				t.Fatalf("shown again, and then refused: %v", l)
			}
		}
		if len(again.Bases) != len(x.Bases) || len(again.Portions) != len(x.Portions) || len(again.Fats) != len(x.Fats) ||
			len(again.Extras) != len(x.Extras) || len(again.Scents) != len(x.Scents) {
			t.Fatalf("shown again, and then %+v, was %+v", again, x)
		}
	})
}
