package formulas

import (
	"maps"
	"math"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/formula/formulatest"
	"barwright/internal/web/form"
	"barwright/quantity"
	"barwright/studio"
)

var allFaces = []studio.Settings{
	{},
	{Mass: quantity.Ounce, Temperature: quantity.Fahrenheit},
	{Mass: quantity.PoundOunce, Temperature: quantity.Fahrenheit, Volume: quantity.USFluidOunce},
}

// options say how a form is read.
type options struct {
	Faces  studio.Settings
	Strict bool
}

func choicesOf(t testing.TB, set studio.Settings) choices {
	t.Helper()
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	return choices{faces: form.Faces{Set: set, Cat: cat}, fats: listOf(cat, "fats", "fat", cat.Fats()), extras: listOf(cat, "extras", "extra", cat.Extras())}
}

// bound reads what was typed over a formula that was shown; nil for none.
func bound(t testing.TB, v url.Values, o options, shown *formula.Formula) (*formula.Formula, *form.Form) {
	t.Helper()
	c := choicesOf(t, o.Faces)
	f, x := form.Read(v, c.faces), &formula.Formula{}
	if shown != nil {
		f.Over(c.write(shown.Clone()))
	}
	c.bind(f, x)
	f.Check(x.Validate(o.Strict))
	if o.Strict {
		f.Check(x.CheckIDs(c.faces.Cat))
	}
	return x, f
}

// readForm is what was typed, and what is wrong with it, in the words of the page.
func readForm(t testing.TB, v url.Values, o options) (*formula.Formula, fault.List) {
	t.Helper()
	x, f := bound(t, v, o, nil)
	return x, said(f)
}

func said(f *form.Form) fault.List {
	f.Refused(nil)
	l := f.Faults()
	for i, link := range f.Summary().Faults {
		e := *l[i]
		e.Message = link.Text
		l[i] = &e
	}
	return l
}

// same reports every difference between two formulas; alike forgives one part in
// 10⁸, for numbers that went through a change of units.
func same(t fataler, got, want *formula.Formula, more ...cmp.Option) {
	t.Helper()
	if d := cmp.Diff(want, got, append(more, cmpopts.EquateEmpty())...); d != "" {
		t.Errorf("the formulas differ (- want, + got):\n%s", d)
	}
}

func alike(t fataler, got, want *formula.Formula) {
	t.Helper()
	same(t, got, want, cmpopts.EquateApprox(1e-8, 1e-12))
}

// fataler is a *testing.T or a *rapid.T.
type fataler interface {
	Helper()
	Errorf(format string, args ...any)
}

func TestTheFormGivesTheFormulaBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := formulatest.Any(rt, false)
		set := rapid.SampledFrom(allFaces).Draw(rt, "faces")
		v := choicesOf(t, set).write(f.Clone()).Values()
		g, fm := bound(t, v, options{Faces: set}, f)
		if l := said(fm); len(l) > 0 {
			rt.Fatalf("%v\n%v", l, v)
		}
		alike(rt, g, f)
		v = choicesOf(t, set).write(formulatest.Whole()).Values()
		if _, fm := bound(t, v, options{Faces: set, Strict: true}, formulatest.Whole()); !fm.Sound() {
			rt.Fatal(said(fm))
		}
	})
}

// form is a small valid form, changed by pairs of field and text.
func lanternForm(pairs ...string) url.Values {
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
	f, l := readForm(t, lanternForm(), options{Strict: true})
	if len(l) > 0 {
		t.Fatal(l)
	}
	same(t, f, &formula.Formula{Name: "Storm lantern", Method: formula.Cold, SuperfatPct: 5,
		Water: formula.Water{Rule: formula.ByRatio, Value: 2}, FatsG: 1000,
		Fats: []formula.Fat{{ID: "olive-oil", Pct: 70}, {ID: "coconut-oil", Pct: 30}}})
}

// melt is a small valid form of a melt, changed by pairs of field and text.
func meltForm(pairs ...string) url.Values {
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
	o := options{Strict: true}
	f, l := readForm(t, meltForm(), o)
	if len(l) > 0 {
		t.Fatal(l)
	}
	alike(t, f, want)
	f, l = readForm(t, meltForm("by", "weight", "fats_g", "not read", "base.1.g", "1 lb 8 oz", "base.3.g", "8 oz"), o)
	if len(l) > 0 {
		t.Fatal(l)
	}
	want.ByWeight, want.FatsG = true, 2*453.59237
	alike(t, f, want)
}

// A colour is read from any line that a maker would write, and its name may end
// in a number.
func TestColoursAreReadLineByLine(t *testing.T) {
	o := options{Strict: true}
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
		f, l := readForm(t, lanternForm("portion.1.name", "sky", "portion.1.by", "rest", "portion.1.amount", "not read", "portion.1.colours",
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
	f, l := readForm(t, lanternForm("scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.stated",
		"Linalool 12.5\n\nCitral: 0.4 %\r\nMethyl 2-Octynoate 1/2\n127-51-5 3 per cent"),
		options{Strict: true})
	if len(l) > 0 {
		t.Fatal(l)
	}
	want := []formula.Constituent{{Name: "Linalool", Pct: 12.5}, {Name: "Citral", Pct: 0.4}, {Name: "Methyl 2-Octynoate", Pct: 0.5}, {Name: "127-51-5", Pct: 3}}
	if !slices.Equal(f.Scents[0].Constituents, want) {
		t.Errorf("read as %v, want %v", f.Scents[0].Constituents, want)
	}
}

func TestAPortionIsTypedInTheStudiosFaces(t *testing.T) {
	f, l := readForm(t, lanternForm("portion.2.name", "sky", "portion.2.by", "volume", "portion.2.amount", "8", "portion.3.name", "sea",
		"portion.3.by", "mass", "portion.3.amount", "12",
		"portion.3.stage", "thick", "portion.9.name", "foam", "portion.9.by", "rest"),
		options{Strict: true, Faces: studio.Settings{Mass: quantity.Ounce, Volume: quantity.USFluidOunce}})
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
	v := lanternForm("by", "weight", "fat.1.g", "1 lb 8 oz", "fat.2.g", "8", "fats_g", "nonsense that is not read", "fat.1.pct", "stale")
	f, l := readForm(t, v, options{Faces: studio.Settings{Mass: quantity.Ounce}, Strict: true})
	if len(l) > 0 {
		t.Fatal(l)
	}
	if !f.ByWeight || math.Abs(f.FatsG-2*453.59237) > 1e-9 || math.Abs(f.Fats[0].Pct-75) > 1e-9 || math.Abs(f.Fats[1].Pct-25) > 1e-9 {
		t.Errorf("read as %+v", f)
	}
}

func TestRowsMayHaveGapsAndEmptyOnesAreDropped(t *testing.T) {
	v := lanternForm("fat.2.id", "", "fat.2.pct", " ", "fat.2.cooked", "on", "fat.7.id", "lard", "fat.7.pct", "x",
		"extra.1.per", "kg-fats", "extra.1.into", "batter", "extra.1.unit", "g", "scent.3.of", "fats")
	f, l := readForm(t, v, options{})
	if len(f.Fats) != 2 || f.Fats[1].ID != "lard" || len(f.Extras) != 0 || len(f.Scents) != 0 {
		t.Errorf("read as %+v", f)
	}
	if len(l) != 1 || l[0].Field != "fat.7.pct" {
		t.Errorf("faults %v; want one on fat.7.pct", l)
	}
	_, fm := bound(t, v, options{}, nil)
	if rows := numbers(fm, "fat"); !slices.Equal(rows, []string{"1", "7"}) {
		t.Errorf("rows %v, want 1 and 7", rows)
	}
	// The rules name the form's own rows too.
	v = lanternForm("fat.2.id", "", "fat.2.pct", "", "fat.7.id", "coconut-oil", "fat.7.pct", "130")
	if _, l := readForm(t, v, options{}); len(l) != 1 || l[0].Field != "fat.7.pct" {
		t.Errorf("faults %v; want one on fat.7.pct", l)
	}
}

func TestTeaspoonsAreMeasuredOrAssumed(t *testing.T) {
	o := options{Strict: true}
	row := []string{"extra.1.id", "sea-salt", "extra.1.dose_g", "2", "extra.1.unit", "tsp-per-lb"}
	f, l := readForm(t, lanternForm(row...), o)
	if len(l) > 0 {
		t.Fatal(l)
	}
	if x := f.Extras[0]; x.Typed.Measured || !(x.Typed.GramsPerTsp > 0) || math.Abs(x.Dose-2*x.Typed.GramsPerTsp/0.45359237) > 1e-9 {
		t.Errorf("unmeasured: %+v", x)
	}
	f, l = readForm(t, lanternForm(append(row, "extra.1.gtsp", "6.1")...), o)
	if len(l) > 0 {
		t.Fatal(l)
	}
	if x := f.Extras[0]; !x.Typed.Measured || x.Typed.GramsPerTsp != 6.1 {
		t.Errorf("measured: %+v", x)
	}
	if _, l = readForm(t, lanternForm("extra.1.id", "olive-oil", "extra.1.dose_g", "2", "extra.1.unit", "tsp-per-lb"),
		options{}); len(l) != 1 || l[0].Field != "extra.1.gtsp" {
		t.Errorf("of what is no extra: %v", l)
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
	{[]string{"superfat", "1,250"}, "superfat", "has a comma"},
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
	{[]string{"fat.1.id", "olve-oil"}, "fat.1.id", "did you mean Olive oil?"},
	{[]string{"fat.1.id", "sea-salt"}, "fat.1.id", "no fat"},
	{[]string{"fat.2.id", "olive-oil"}, "fat.2.id", "line 1 already"},
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
	{[]string{"method", "hot", "cook_loss_pct", "100"}, "cook_loss_pct", "below 100"},
	{[]string{"measured_density_g_ml", "1035"}, "measured_density_g_ml", "from 0.3 to 3"},
	{[]string{"stage", "runny"}, "stage", "choose thin trace, medium trace"},
	{[]string{"notes", strings.Repeat("x", 20_001)}, "notes", "20000 at most"},
}

// badRows are the faults of extras, scents and portions.
var badRows = []badField{
	{[]string{"extra.1.id", "sea-salt"}, "extra.1.dose_g", "nothing is typed"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.unit", "cup"}, "extra.1.unit", "choose g"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.per", "bar"}, "extra.1.per", "choose per kg of fats"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.unit", "oz-per-lb", "extra.1.per", "batch"}, "extra.1.per", "counted on the fats"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.unit", "tsp-per-lb", "extra.1.gtsp", "0"}, "extra.1.gtsp", "above 0"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "101", "extra.1.per", "liquid"}, "extra.1.dose_g", "at most 100"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.into", "mould"}, "extra.1.into", "choose into the batter"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.of", "soap"}, "scent.1.of", "choose of the fats"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.unit", "oz-per-lb", "scent.1.of", "bar"}, "scent.1.of", "counted on the fats"},
	{[]string{"scent.1.dose_pct", "3"}, "scent.1.name", "missing"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.stated", "Linalool 12\n\nlots of citral"}, "scent.1.stated",
		"Line 3: “lots of citral” cannot be read"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.stated", "\nLinalool 12,5"}, "scent.1.stated",
		"Line 2: “12,5” has a comma: write 12.5"},
	{[]string{"scent.1.name", "Fig", "scent.1.dose_pct", "3", "scent.1.stated", "Linalool 120"}, "scent.1.stated", "Line 1: 120 % of Linalool cannot be used"},
	{[]string{"scent.2.name", "Fig", "scent.2.dose_pct", "3", "scent.2.stated", "Linalool 1\n\n\nLINALOOL 2"}, "scent.2.stated",
		"Line 4: The constituent LINALOOL is in line 1 already"},
	{[]string{"portion.1.amount", "100"}, "portion.1.name", "missing"},
	{[]string{"portion.1.name", "sky", "portion.1.amount", "99"}, "portion", "sum to 99 %"},
	{[]string{"portion.1.name", "sky", "portion.1.amount", "60", "portion.2.name", "sea", "portion.2.amount", "60"}, "portion", "take 20 % away"},
	{[]string{"portion.1.name", "sky", "portion.1.amount", "0"}, "portion.1.amount", "above 0"},
	{[]string{"portion.1.name", "sky", "portion.1.amount", "100", "portion.2.name", "sea", "portion.2.by", "rest"}, "portion.2.by", "there is no rest"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "rest", "portion.2.name", "sea", "portion.2.by", "rest"}, "portion.2.by", "only one can"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "rest", "portion.2.name", "SKY", "portion.2.amount", "5"}, "portion.2.name", "called SKY already"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "half"}, "portion.1.by", "choose % of the batter"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "volume", "portion.1.amount", "200 g"}, "portion.1.amount", "is a mass"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "mass", "portion.1.amount", "200 ml"}, "portion.1.amount", "volume"},
	{[]string{"portion.1.name", "sky", "portion.1.by", "rest", "portion.1.stage", "firm"}, "portion.1.stage", "choose thin trace"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 6"}, "portion.4.colours",
		"Line 1: “mica 6” cannot be read: its dose has no unit"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica"}, "portion.4.colours", "write the colour and then its dose"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "6 g/kg"}, "portion.4.colours", "Line 1:"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 6 g/kg\n\nmics 5 g/kg"}, "portion.4.colours",
		"Line 3: “mics” is not in the catalogue; did you mean mica"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 6 g/kg\n\nMica 1 g/kg"}, "portion.4.colours",
		"Line 3: The colour mica is in line 1 already"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "\nolive oil 6 g/kg"}, "portion.4.colours",
		"Line 2: The ingredient olive-oil neither colours"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 0 g/kg"}, "portion.4.colours",
		"Line 1: 0 g per kg of mica cannot be used"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica -2 g/kg"}, "portion.4.colours", "above 0"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 2 tsp/lb at 300 g"}, "portion.4.colours",
		"Line 1: A level teaspoon must weigh"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", "mica 2 g/kg at 3 g"}, "portion.4.colours", "belongs to a dose in tsp/lb"},
	{[]string{"portion.4.name", "sky", "portion.4.by", "rest", "portion.4.colours", strings.Repeat("x", 20_001)}, "portion.4.colours", "20000 at most"},
}

// badMelts are the faults of the form of a melt.
var badMelts = []badField{
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
	{[]string{"fats_g", "0"}, "fats_g", "the mass of all base"},
	{[]string{"extra.1.id", "sea-salt", "extra.1.dose_g", "1", "extra.1.per", "liquid"}, "extra.1.per", "choose per kg of base"},
}

// Every fault a form can have is on its own field, with its words.
func TestEveryBadFieldIsNamedWithASentence(t *testing.T) {
	strict := options{Strict: true}
	check := func(o options, of func(...string) url.Values, c badField) {
		v := of(c.change...)
		before := maps.Clone(v)
		f, l := readForm(t, v, o)
		if f == nil || len(l) != 1 || l[0].Field != c.field || !strings.Contains(l[0].Message, c.words) || l[0].Kind != fault.Invalid {
			t.Errorf("%q: faults %v; want one on %s with %q", c.change, l, c.field, c.words)
		}
		if !maps.EqualFunc(v, before, slices.Equal) {
			t.Errorf("%q: what was typed was changed", c.change)
		}
	}
	for _, c := range slices.Concat(badFields, badRows) {
		check(strict, lanternForm, c)
	}
	for _, c := range badMelts {
		check(strict, meltForm, c)
	}
	pounds := strict
	pounds.Faces.Mass = quantity.PoundOunce
	check(pounds, lanternForm, badField{[]string{"fats_g", "2"}, "fats_g", "pounds or ounces"})
	v := lanternForm()
	v["superfat"] = []string{"5", "6"}
	if _, l := readForm(t, v, strict); len(l) != 1 || l[0].Field != "superfat" || !strings.Contains(l[0].Message, "came twice") {
		t.Errorf("a field sent twice: %v", l)
	}
}

// What belongs to another method is not read, refuses nothing, and is not lost.
func TestWhatAnotherMethodHasIsCarriedAlong(t *testing.T) {
	for _, c := range []struct {
		of     func(...string) url.Values
		change []string
	}{
		{lanternForm, []string{"fat.2.cooked", "on"}}, {lanternForm, []string{"cook_loss_pct", "15"}}, {lanternForm, []string{"base.1.name", "Clear"}},
		{lanternForm, []string{"melting.melt_c", "70"}}, {lanternForm, []string{"melting.remelts", "1"}},
		{lanternForm, []string{"melting.evaporation_pct", "1"}},
		{meltForm, []string{"fat.1.id", "olive-oil"}}, {meltForm, []string{"cook_loss_pct", "10"}},
		{meltForm, []string{"extra.1.into", "lye", "extra.1.id", "sea-salt", "extra.1.dose_g", "1"}},
	} {
		x, f := bound(t, c.of(c.change...), options{Strict: true}, nil)
		if !f.Sound() {
			t.Errorf("%q: %v", c.change, said(f))
		}
		carried := f.Carried()
		for _, r := range slices.Concat(f.Rows("fat"), f.Rows("extra")) {
			carried = append(carried, r.Carried()...)
		}
		if !slices.Contains(carried, form.Hidden{Name: c.change[0], Value: c.change[1]}) {
			t.Errorf("%q is lost: %v", c.change, carried)
		}
		if l := x.Validate(true); len(l) > 0 {
			t.Error(l)
		}
	}
}

func FuzzBind(f *testing.F) {
	for _, faces := range allFaces {
		f.Add(choicesOf(f, faces).write(formulatest.Whole()).Values().Encode(), uint8(faces.Mass), true)
	}
	f.Add(choicesOf(f, studio.Settings{}).write(formulatest.Rock()).Values().Encode(), uint8(2), true)
	f.Add(meltForm("by", "weight", "base.1.g", "1 lb 8 oz", "base.3.g", "½ oz").Encode(), uint8(1), false)
	f.Add(lanternForm("method", "hot", "cook_loss_pct", "12", "portion.1.name", "sky", "portion.1.by", "volume", "portion.1.amount", "8 fl oz",
		"portion.2.name", "sea", "portion.2.by", "rest",
		"portion.1.colours", "CI 77891 6 g/kg\r\nmica: 1 1/2 tsp/lb at 2.1 g\n½ ½ %", "scent.1.name", "Fig", "scent.1.dose_pct", "3",
		"scent.1.stated", "Linalool 12.5\n- 3").Encode(), uint8(0), true)
	f.Add(lanternForm("by", "weight", "fat.1.g", "1 lb 8 oz", "fat.2.g", "½ oz").Encode(), uint8(1), false)
	f.Add("fat.9999.pct=1e12&extra.1.unit=tsp-per-lb&extra.1.dose_g=1&water=1%20to%203&scent.5.dose_pct=-0", uint8(2), true)
	f.Fuzz(func(t *testing.T, query string, mass uint8, strict bool) {
		v, err := url.ParseQuery(query)
		if err != nil {
			return
		}
		o := options{Faces: studio.Settings{Mass: quantity.MassUnit(mass % 3), Temperature: quantity.TempUnit(mass % 2)}, Strict: strict}
		x, l := readForm(t, v, o)
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
		again, fm := bound(t, choicesOf(t, o.Faces).write(x.Clone()).Values(), o, x)
		l = said(fm)
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
