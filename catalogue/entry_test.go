package catalogue

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"barwright/fault"
	"barwright/quantity"
)

func some(v float64) quantity.Maybe { return quantity.Some(v) }

// neem is an own fat without a fault.
func neem() Entry {
	return Entry{
		ID: "neem-oil", Own: true, Name: "Neem oil", INCI: "Melia Azadirachta Seed Oil", Roles: []string{"fat"}, Kind: "triglyceride",
		SAPMin: some(185), SAPMax: some(205), IodineMin: some(65), IodineMax: some(95), UnsaponifiableMax: some(20),
		Profile: map[string]float64{"C16:0": 18, "C18:0": 18, "C18:1": 48, "C18:2": 15},
		Source:  "certificate of lot 12",
		Sources: map[string]string{"profile_pct": "gas chromatography of lot 12"},
	}
}

// mash is an own extra without a fault.
func mash() Entry {
	return Entry{
		ID: "kelp-mash", Own: true, Name: "Kelp mash", Roles: []string{"liquid"}, WaterPct: some(80), FatPct: some(1), FatSAP: some(190),
		AcidMolPerG: some(0.0001), AcidMolarMass: some(90), AlkaliSalt: "lactate", DensityGML: some(1.05), Nature: []string{"scratchy", "acid"},
		Sources: map[string]string{"density_g_ml": "a jug and the scale"},
	}
}

func factOf(in *Ingredient, key string) Fact {
	for _, f := range in.Facts {
		if f.Key == key {
			return f
		}
	}
	return Fact{}
}

func with(t *testing.T, e ...Entry) *Catalogue {
	t.Helper()
	c, err := def(t).With(e...)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func find(t *testing.T, c *Catalogue, id string) *Ingredient {
	t.Helper()
	in, err := c.Get(id)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, in)
	return in
}

func TestAnOwnFat(t *testing.T) {
	before := len(def(t).All())
	c := with(t, neem())
	in := find(t, c, "neem-oil")
	if !in.Own || in.Changed || in.Roles != RoleFat || in.Extra != nil || in.INCI == "" {
		t.Errorf("%+v", in)
	}
	near(t, "SAP", in.Fat.SAP.Mid(), 195, 0)
	near(t, "oleic", in.Fat.Profile[C18x1], 48.0/99, 1e-12)
	if f := factOf(in, "sap"); f.Value != "185 to 205" || f.Unit != "mg KOH/g" || f.Source != "certificate of lot 12" {
		t.Errorf("%+v", f)
	}
	if f := factOf(in, "c18:1"); f.Source != "gas chromatography of lot 12; they sum to 99 %, and are counted as 100" {
		t.Errorf("%+v", f)
	}
	if _, err := def(t).Get("neem-oil"); err == nil || len(def(t).All()) != before {
		t.Error("the catalogue itself was changed")
	}
	if !slices.Contains(ids(c.Fats()), "neem-oil") || !slices.Contains(ids(c.Search("azadirachta")), "neem-oil") {
		t.Error("the own fat is not found")
	}
	if _, err := c.Get("neam-oil"); err == nil || !strings.Contains(err.Error(), "neem-oil") {
		t.Errorf("%v", err)
	}
}

func TestAnOwnFatByOneValueAndItsTolerance(t *testing.T) {
	e := neem()
	e.SAPMin, e.SAPMax = quantity.Maybe{}, quantity.Maybe{}
	e.SAP, e.SAPHalfWidth = some(196), some(3)
	in := find(t, with(t, e), "neem-oil")
	if in.Fat.SAP != quantity.Both(193, 199) {
		t.Errorf("%+v", in.Fat.SAP)
	}
	e.SAPHalfWidth = quantity.Maybe{}
	in = find(t, with(t, e), "neem-oil")
	near(t, "half width", in.Fat.SAP.Half(), 1.96, 1e-9)
	if f := factOf(in, "sap"); !strings.Contains(f.Source, "1 % assumed") {
		t.Errorf("%+v", f)
	}
	e.SAPHalfWidth = some(0) // exact, if the maker says so
	if in = find(t, with(t, e), "neem-oil"); in.Fat.SAP.Half() != 0 {
		t.Errorf("%+v", in.Fat.SAP)
	}
}

func TestAnOwnExtraScentAndColourant(t *testing.T) {
	c := with(t, mash(),
		Entry{ID: "fig-scent", Own: true, Name: "Fig and sea salt", Roles: []string{"scent"}},
		Entry{ID: "tide-blue", Own: true, Name: "Tide blue", Roles: []string{"colourant"}, GramsPerTsp: some(2.4), Source: "weighed"})
	in := find(t, c, "kelp-mash")
	if !in.Roles.Has(RoleExtra|RoleLiquid) || in.Extra.WaterPct != 80 || !in.Extra.Nature.Has(NatureScratchy|NatureAcid) {
		t.Errorf("%+v %+v", in, in.Extra)
	}
	if f := factOf(in, "density"); f.Source != "a jug and the scale" || f.Value != "1.05" {
		t.Errorf("%+v", f)
	}
	if f := factOf(in, "water"); f.Source != OwnSource {
		t.Errorf("%+v", f)
	}
	if f := factOf(in, "sugar"); f.Source != "assumed" || f.Value != "0" {
		t.Errorf("%+v", f)
	}
	in = find(t, c, "fig-scent")
	if in.Roles != RoleScent || in.Extra == nil || in.Extra.DensityGML != 1 {
		t.Errorf("%+v", in)
	}
	in = find(t, c, "tide-blue")
	if in.Roles != RoleColourant|RoleExtra || in.Extra.GramsPerTsp != some(2.4) {
		t.Errorf("%+v", in)
	}
}

// A fat that may be stirred in beside the fats takes alkali there too: all of it is
// fat, with the middle of its saponification range.
func TestAnOwnFatThatIsAnExtraTooIsFatThere(t *testing.T) {
	e := Entry{ID: "shade-oil", Own: true, Name: "Shade oil", Kind: "triglyceride", Roles: []string{"fat", "extra"},
		SAPMin: some(175), SAPMax: some(205), Density40: some(0.915)}
	in := find(t, with(t, e), "shade-oil")
	if x := in.Extra; x == nil || x.FatPct != 100 || x.FatSAP != some(190) || x.DensityGML != 0.915 {
		t.Errorf("%+v", in.Extra)
	}
	if f := factOf(in, "fat"); f.Value != "100" || f.Source != "as the fat that it is" {
		t.Errorf("%+v", f)
	}
	e.FatPct, e.FatSAP = some(40), some(188)
	if x := find(t, with(t, e), "shade-oil").Extra; x.FatPct != 40 || x.FatSAP != some(188) {
		t.Errorf("as stated: %+v", x)
	}
	acid := Entry{ID: "shade-acid", Own: true, Name: "Shade acid", Kind: "fatty_acid", Roles: []string{"fat", "extra"}, SAPMin: some(195), SAPMax: some(205)}
	// A fatty acid of acid value 200 takes 200/56105.6 mol per g, all of it.
	if x := find(t, with(t, acid), "shade-acid").Extra; x.FatPct != 0 || math.Abs(x.AcidMolPerG-0.00356471) > 1e-7 ||
		math.Abs(x.AcidMolPerG*x.AcidMolarMass-1) > 1e-12 || x.AlkaliSalt != "soap" {
		t.Errorf("an acid: %+v", x)
	}
}

func TestAValueLaidOverTheCatalogue(t *testing.T) {
	c := with(t, Entry{ID: "olive-oil", SAP: some(190), SAPHalfWidth: some(1), Note: "the co-operative's", Source: "certificate of lot 7"},
		Entry{ID: "mica", GramsPerTsp: some(2.1), Source: "weighed three times"},
		Entry{ID: "citric-acid", AcidMolPerG: some(0)})
	in, was := find(t, c, "olive-oil"), get(t, "olive-oil")
	if !in.Changed || in.Own || in.Fat.SAP != quantity.Both(189, 191) || in.Note != "the co-operative's" || in.Name != was.Name {
		t.Errorf("%+v", in)
	}
	if in.Fat.Iodine != was.Fat.Iodine || in.Fat.Profile != was.Fat.Profile || len(in.Facts) != len(was.Facts) {
		t.Error("what was not set did not stand")
	}
	if was.Changed || was.Fat.SAP != quantity.Both(184, 196) || factOf(was, "sap").Source == "certificate of lot 7" {
		t.Error("the catalogue itself was changed")
	}
	if f := factOf(in, "sap"); f.Value != "189 to 191" || f.Source != "certificate of lot 7" {
		t.Errorf("%+v", f)
	}
	if in = find(t, c, "mica"); in.Extra.GramsPerTsp != some(2.1) || factOf(in, "grams-per-tsp").Source != "weighed three times" {
		t.Errorf("%+v", in.Extra)
	}
	if get(t, "mica").Extra.GramsPerTsp.Known {
		t.Error("the catalogue itself was changed")
	}
	if in = find(t, c, "citric-acid"); in.Extra.AcidMolPerG != 0 || in.Extra.AlkaliSalt != "" || factOf(in, "alkali-salt").Key != "" {
		t.Errorf("%+v", in.Extra)
	}
	// The acids of an own analysis replace all of the catalogue's acids.
	c = with(t, Entry{ID: "olive-oil", Profile: map[string]float64{"c18:1": 80, "C16:0": 12, "C18:2": 8}})
	in = find(t, c, "olive-oil")
	if in.Fat.Profile[C18x3] != 0 || factOf(in, "c18:3").Key != "" || in.Fat.ProfileRange[C18x1].Known() {
		t.Errorf("%+v", in.Fat)
	}
	near(t, "oleic", in.Fat.Profile[C18x1], 0.8, 1e-12)
}

func TestARoleAddedToTheCatalogue(t *testing.T) {
	c := with(t, Entry{ID: "candelilla-wax", Roles: []string{"fat"}, Kind: "wax",
		SAPMin: some(43), SAPMax: some(65), SureAcidValue: some(15), Source: "certificate"},
		Entry{ID: "turmeric", Roles: []string{"extra"}}, Entry{ID: "cocoa-butter", Roles: []string{"extra"}, FatPct: some(100), FatSAP: some(193)})
	in := find(t, c, "candelilla-wax")
	if !in.Roles.Has(RoleFat|RoleExtra) || in.Fat.Kind != Wax || in.Fat.SureAcidValue != 15 {
		t.Errorf("%+v", in.Fat)
	}
	if in = find(t, c, "cocoa-butter"); in.Extra == nil || in.Extra.FatPct != 100 {
		t.Errorf("%+v", in.Extra)
	}
}

func TestEveryFaultOfAnEntry(t *testing.T) {
	change := func(f func(*Entry)) Entry { e := neem(); f(&e); return e }
	extra := func(f func(*Entry)) Entry { e := mash(); f(&e); return e }
	long := strings.Repeat("é", 301)
	for _, c := range []struct {
		name  string
		e     Entry
		kind  fault.Kind
		field string
		words string
	}{
		{"no id", change(func(e *Entry) { e.ID = "" }), fault.Invalid, "id", "An id is missing"},
		{"an id with a space", change(func(e *Entry) { e.ID = "neem oil" }), fault.Invalid, "id", "is not an id"},
		{"an id that is too long", change(func(e *Entry) { e.ID = strings.Repeat("n", 61) }), fault.Invalid, "id", "at most 60 letters"},
		{"an id that is taken", change(func(e *Entry) { e.ID = "olive-oil" }), fault.Conflict, "id", "is taken"},
		{"an id that is another name", change(func(e *Entry) { e.ID = "kaolin-colour" }), fault.Conflict, "id", "is taken"},
		{"an id that stands for grades", change(func(e *Entry) { e.ID = "stearic-acid" }), fault.Conflict, "id", "is taken"},
		{"a change to nothing", Entry{ID: "olve-oil", Note: "x"}, fault.NotFound, "id", "did you mean olive-oil"},
		{"a change to another name", Entry{ID: "kaolin-colour", Note: "x"}, fault.NotFound, "id", `listed as "kaolin"`},
		{"no name", change(func(e *Entry) { e.Name = "" }), fault.Invalid, "name", "A name is missing"},
		{"a name that is taken", change(func(e *Entry) { e.Name = "Shea Butter (unrefined)" }), fault.Invalid, "name", `taken by "shea-butter"`},
		{"a name that is too long", change(func(e *Entry) { e.Name = long }), fault.Invalid, "name", "longer than 120"},
		{"a name with a line break", change(func(e *Entry) { e.Name = "Neem\noil" }), fault.Invalid, "name", "does not print"},
		{"a name with space around it", change(func(e *Entry) { e.Name = " Neem" }), fault.Invalid, "name", "space before or after"},
		{"an INCI name that is not UTF-8", change(func(e *Entry) { e.INCI = "\xff" }), fault.Invalid, "inci", "not UTF-8"},
		{"a CAS number that is too long", change(func(e *Entry) { e.CAS = long }), fault.Invalid, "cas", "longer than 80"},
		{"a source that is too long", change(func(e *Entry) { e.Source = long }), fault.Invalid, "source", "longer than 300"},
		{"a source of a field that is too long", change(func(e *Entry) { e.Sources = map[string]string{"sap_min_mg_koh_g": long} }), fault.Invalid,
			"sources.sap_min_mg_koh_g", "longer than 300"},
		{"a source of nothing", change(func(e *Entry) { e.Sources = map[string]string{"colour": "x"} }), fault.Invalid, "sources.colour", "no field"},
		{"no roles", change(func(e *Entry) { e.Roles = nil }), fault.Invalid, "roles", "what it may be"},
		{"a role that is none", change(func(e *Entry) { e.Roles = []string{"fat", "oil"} }), fault.Invalid, "roles", `"oil" is no role`},
		{"the role of lye", change(func(e *Entry) { e.Roles = []string{"fat", "alkali"} }), fault.Invalid, "roles", "catalogue's alone"},
		{"lye as an extra", Entry{ID: "sodium-hydroxide", Roles: []string{"extra"}}, fault.Invalid, "roles", "is for alkali only"},
		{"no kind", change(func(e *Entry) { e.Kind = "" }), fault.Invalid, "kind", "how it meets alkali"},
		{"a kind that is none", change(func(e *Entry) { e.Kind = "oil" }), fault.Invalid, "kind", "none of triglyceride"},
		{"another kind for the catalogue's", Entry{ID: "olive-oil", Kind: "wax"}, fault.Invalid, "kind", "cannot be changed"},
		{"no SAP", change(func(e *Entry) { e.SAPMin, e.SAPMax = quantity.Maybe{}, quantity.Maybe{} }), fault.Invalid, "sap_min_mg_koh_g",
			"A fat needs its saponification value"},
		{"half a SAP, upper missing", change(func(e *Entry) { e.SAPMax = quantity.Maybe{} }), fault.Invalid, "sap_max_mg_koh_g", "give this one too"},
		{"half a SAP, lower missing", change(func(e *Entry) { e.SAPMin = quantity.Maybe{} }), fault.Invalid, "sap_min_mg_koh_g", "give this one too"},
		{"a SAP twice", change(func(e *Entry) { e.SAP = some(190) }), fault.Invalid, "sap_mg_koh_g", "not both"},
		{"a tolerance of nothing", change(func(e *Entry) { e.SAPMin, e.SAPMax, e.SAPHalfWidth = quantity.Maybe{}, quantity.Maybe{}, some(2) }),
			fault.Invalid, "sap_half_width", "give that value too"},
		{"a tolerance that reaches too low", Entry{ID: "olive-oil", SAP: some(190), SAPHalfWidth: some(60)}, fault.Invalid, "sap_half_width",
			"reaches down to 130"},
		{"a SAP upside down", change(func(e *Entry) { e.SAPMin, e.SAPMax = some(205), some(185) }), fault.Invalid, "sap_min_mg_koh_g", "exchange them"},
		{"g of NaOH per g", Entry{ID: "olive-oil", SAP: some(0.135)}, fault.Invalid, "sap_mg_koh_g", "as NaOH that is 189.37 mg KOH/g, as KOH 135"},
		{"g of NaOH per g as a range", change(func(e *Entry) { e.SAPMin, e.SAPMax = some(0.13), some(0.14) }), fault.Invalid, "sap_min_mg_koh_g",
			"as NaOH that is 182.36"},
		{"mg of NaOH per g", Entry{ID: "olive-oil", SAP: some(135)}, fault.Invalid, "sap_mg_koh_g", "as KOH that is 189.37"},
		{"mg of NaOH per g where the acids know better", Entry{ID: "coconut-oil", SAP: some(183)}, fault.Invalid, "sap_mg_koh_g",
			"The fatty acids ask for about 254"},
		{"a SAP of 5", Entry{ID: "olive-oil", SAP: some(5)}, fault.Invalid, "sap_mg_koh_g", "too low"},
		{"a SAP of 0", Entry{ID: "olive-oil", SAP: some(0)}, fault.Invalid, "sap_mg_koh_g", "too low"},
		{"a negative SAP", Entry{ID: "olive-oil", SAP: some(-190)}, fault.Invalid, "sap_mg_koh_g", "outside 0 to 700"},
		{"a SAP of NaN", Entry{ID: "olive-oil", SAP: some(math.NaN())}, fault.Invalid, "sap_mg_koh_g", "not a number"},
		{"an infinite SAP", change(func(e *Entry) { e.SAPMax = some(math.Inf(1)) }), fault.Invalid, "sap_max_mg_koh_g", "not a number"},
		{"an iodine value out of bounds", change(func(e *Entry) { e.IodineMax = some(301) }), fault.Invalid, "iodine_max_g_100g", "outside 0 to 300"},
		{"an iodine value upside down", change(func(e *Entry) { e.IodineMin = some(100) }), fault.Invalid, "iodine_min_g_100g", "above the upper end"},
		{"an iodine value far from the acids", change(func(e *Entry) { e.IodineMin, e.IodineMax = some(150), some(160) }), fault.Invalid,
			"iodine_min_g_100g", "ask for an iodine value"},
		{"a melting point upside down", change(func(e *Entry) { e.MeltingMin, e.MeltingMax = some(30), some(20) }), fault.Invalid, "melting_min_c",
			"above the upper end"},
		{"more unsaponifiable than fat", change(func(e *Entry) { e.UnsaponifiableMax = some(1001) }), fault.Invalid, "unsaponifiable_max_g_kg",
			"outside 0 to 1000"},
		{"a density in kg/m³", change(func(e *Entry) { e.Density40 = some(911) }), fault.Invalid, "density_40c_g_ml", "outside 0.7 to 1.2 g/ml"},
		{"a wax without its acid value", change(func(e *Entry) { e.Kind = "wax" }), fault.Invalid, "sure_acid_value_mg_koh_g", "A wax needs"},
		{"an acid value above the SAP", Entry{ID: "beeswax", SureAcidValue: some(120)}, fault.Invalid, "sure_acid_value_mg_koh_g",
			"above the saponification value"},
		{"an acid value of no wax", change(func(e *Entry) { e.SureAcidValue = some(1) }), fault.Invalid, "sure_acid_value_mg_koh_g", "Only a wax"},
		{"an acid that is none", change(func(e *Entry) { e.Profile["C17:0"] = 1 }), fault.Invalid, "profile_pct.C17:0", "no fatty acid"},
		{"an acid twice", change(func(e *Entry) { e.Profile["c16:0"] = 1 }), fault.Invalid, "profile_pct.c16:0", "there twice"},
		{"a negative acid", change(func(e *Entry) { e.Profile["C16:0"] = -1 }), fault.Invalid, "profile_pct.C16:0", "outside 0 to 100"},
		{"an acid of NaN", change(func(e *Entry) { e.Profile["C16:0"] = math.NaN() }), fault.Invalid, "profile_pct.C16:0", "not a number"},
		{"half the acids", change(func(e *Entry) { e.Profile = map[string]float64{"C16:0": 50} }), fault.Invalid, "profile_pct", "sum to 50 %"},
		{"a value of a fat on an extra", extra(func(e *Entry) { e.IodineMin = some(50) }), fault.Invalid, "iodine_min_g_100g", "give it the role fat"},
		{"a soap's name on an extra", extra(func(e *Entry) { e.INCISodium = "Sodium Kelpate" }), fault.Invalid, "inci_sodium", "give it the role fat"},
		{"acids on an extra", extra(func(e *Entry) { e.Profile = map[string]float64{"C16:0": 100} }), fault.Invalid, "profile_pct", "give it the role fat"},
		{"a kind on an extra", extra(func(e *Entry) { e.Kind = "wax" }), fault.Invalid, "kind", "give it the role fat"},
		{"a value of an extra on a fat", change(func(e *Entry) { e.WaterPct = some(1) }), fault.Invalid, "water_pct", "give it the role extra"},
		{"a nature on a fat", change(func(e *Entry) { e.Nature = []string{"salt"} }), fault.Invalid, "nature", "give it the role extra"},
		{"a salt on a fat", change(func(e *Entry) { e.AlkaliSalt = "citrate" }), fault.Invalid, "alkali_salt", "give it the role extra"},
		{"water above 100", extra(func(e *Entry) { e.WaterPct = some(100.1) }), fault.Invalid, "water_pct", "outside 0 to 100"},
		{"more than there is", extra(func(e *Entry) { e.WaterPct = some(100) }), fault.Invalid, "water_pct", "more than there is"},
		{"fat without its SAP", extra(func(e *Entry) { e.FatSAP = quantity.Maybe{} }), fault.Invalid, "fat_sap_mg_koh_g", "give the saponification value"},
		{"the SAP of its fat as NaOH", extra(func(e *Entry) { e.FatSAP = some(0.135) }), fault.Invalid, "fat_sap_mg_koh_g", "as NaOH that is 189.37"},
		{"an acid without its salt", extra(func(e *Entry) { e.AlkaliSalt = "" }), fault.Invalid, "alkali_salt", "say what"},
		{"an acid without its mass", extra(func(e *Entry) { e.AcidMolarMass = quantity.Maybe{} }), fault.Invalid, "acid_molar_mass_g_mol",
			"give the acid's mass"},
		{"a salt without its acid", extra(func(e *Entry) { e.AcidMolPerG = quantity.Maybe{} }), fault.Invalid, "acid_mol_per_g", "a salt but no acid"},
		{"an acid in mmol", extra(func(e *Entry) { e.AcidMolPerG = some(15.6) }), fault.Invalid, "acid_mol_per_g", "outside 0 to 0.05"},
		{"a density of nothing", extra(func(e *Entry) { e.DensityGML = some(0) }), fault.Invalid, "density_g_ml", "outside 0.3 to 12"},
		{"a teaspoon of nothing", extra(func(e *Entry) { e.GramsPerTsp = some(0) }), fault.Invalid, "grams_per_tsp", "outside 0.05 to 60"},
		{"a nature that is none", extra(func(e *Entry) { e.Nature = []string{"blue"} }), fault.Invalid, "nature", `"blue" is not known`},
		{"a teaspoon of lye", Entry{ID: "sodium-hydroxide", GramsPerTsp: some(5)}, fault.Invalid, "grams_per_tsp", "give it the role extra"},
	} {
		got, err := def(t).With(c.e)
		if err == nil || got != nil {
			t.Errorf("%s: was taken", c.name)
			continue
		}
		ok := false
		for _, f := range fault.All(err) {
			if f.Field == c.field && f.Kind == c.kind && strings.Contains(f.Message, c.words) {
				ok = true
			}
			if f.Field == "" || f.Message == "" || strings.Contains(f.Message, "%!") || len(f.Message) > 300 {
				t.Errorf("%s: no whole fault: %+v", c.name, f)
			}
		}
		if !ok {
			t.Errorf("%s: %v does not say %q on %s", c.name, err, c.words, c.field)
		}
	}
}

func TestAllFaultsAtOnceAndNothingLaid(t *testing.T) {
	bad, worse := neem(), mash()
	bad.SAPMin, bad.IodineMax, bad.Name, bad.Source = some(math.NaN()), some(999), "", "\x00"
	worse.WaterPct, worse.Nature = some(-1), []string{"blue"}
	c, err := def(t).With(bad, worse, Entry{ID: "mica", GramsPerTsp: some(2)})
	if c != nil {
		t.Fatal("something was laid")
	}
	fields := map[string]bool{}
	for _, f := range fault.All(err) {
		fields[f.Field] = true
		if !strings.HasPrefix(f.Message, `Ingredient "neem-oil": `) && !strings.HasPrefix(f.Message, `Ingredient "kelp-mash": `) {
			t.Errorf("which entry? %s", f.Message)
		}
	}
	for _, want := range []string{"sap_min_mg_koh_g", "iodine_max_g_100g", "name", "source", "water_pct", "nature"} {
		if !fields[want] {
			t.Errorf("nothing said on %s: %v", want, err)
		}
	}
}

func TestEntriesAmongThemselves(t *testing.T) {
	if _, err := def(t).With(neem(), neem()); fault.KindOf(err) != fault.Conflict {
		t.Errorf("the same own id twice: %v", err)
	}
	if _, err := def(t).With(Entry{ID: "mica", Note: "a"}, Entry{ID: "mica", Note: "b"}); err == nil || !strings.Contains(err.Error(), "there twice") {
		t.Errorf("two changes to one: %v", err)
	}
	twin := neem()
	twin.ID, twin.Name = "neem-2", "NEEM OIL"
	if _, err := def(t).With(neem(), twin); err == nil || !strings.Contains(err.Error(), `taken by "neem-oil"`) {
		t.Errorf("the same name twice: %v", err)
	}
	// Two entries one after the other give the same as one entry with both,
	// except that an own ingredient stays own.
	c, err := with(t, neem()).With(Entry{ID: "neem-oil", IodineMax: some(90)})
	if err != nil {
		t.Fatal(err)
	}
	if in := find(t, c, "neem-oil"); !in.Own || in.Changed || in.Fat.Iodine != quantity.Both(65, 90) {
		t.Errorf("%+v", in)
	}
	if c, err := def(t).With(); err != nil || c != def(t) {
		t.Error("no entries made another catalogue")
	}
}

func TestFieldsOfAForm(t *testing.T) {
	seen := map[string]bool{}
	for i, f := range Fields() {
		if f.Name == "" || f.Label == "" || f.Unit == "" || !(f.Min < f.Max) || seen[f.Name] || f.Of != RoleFat && f.Of != RoleExtra {
			t.Errorf("%+v", f)
		}
		seen[f.Name] = true
		var e Entry
		*f.In(&e) = some(float64(i) + 1)
		b, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		if want := fmt.Sprintf(`%q:%d`, f.Name, i+1); !strings.Contains(string(b), want) {
			t.Errorf("%s is not in %s", want, b)
		}
		if got := e.Sets(); !slices.Equal(got, []string{f.Name}) {
			t.Errorf("%s sets %v", f.Name, got)
		}
	}
	if len(seen) < 19 {
		t.Errorf("%d fields", len(seen))
	}
	e := neem()
	want := []string{"name", "inci", "roles", "kind", "sap_min_mg_koh_g", "sap_max_mg_koh_g", "iodine_min_g_100g", "iodine_max_g_100g",
		"unsaponifiable_max_g_kg", "profile_pct"}
	if got := e.Sets(); !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
}

func TestAnEntryComesBackFromJSON(t *testing.T) {
	for _, e := range []Entry{neem(), mash(), {ID: "mica", GramsPerTsp: some(2)}} {
		b, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		var back Entry
		if err := json.Unmarshal(b, &back); err != nil {
			t.Fatal(err)
		}
		again, err := json.Marshal(back)
		if err != nil || string(again) != string(b) {
			t.Errorf("%s came back as %s, %v", b, again, err)
		}
		if strings.Contains(string(b), "null") {
			t.Errorf("what is not set is written: %s", b)
		}
	}
}

func TestIDFor(t *testing.T) {
	for name, want := range map[string]string{
		"Neem oil, cold-pressed": "neem-oil-cold-pressed", "  ": "", "Öl": "l", "C 18:1": "c-18-1",
		strings.Repeat("ab ", 40): strings.TrimSuffix(strings.Repeat("ab-", 20), "-"),
	} {
		if got := IDFor(name); got != want || got != IDFor(got) {
			t.Errorf("%q gives %q, want %q", name, got, want)
		}
	}
}

func TestNum(t *testing.T) {
	for v, want := range map[float64]string{190: "190", 189.36897: "189.37", 0: "0", -1: "-1", 1e300: "1e+300", 0.0156149: "0.015615",
		1e-12: "1e-12", 123456: "123460"} {
		if got := num(v); got != want {
			t.Errorf("%v is written %q, want %q", v, got, want)
		}
	}
}

// seeds are the entries from which the fuzzer starts. They are files, so that a
// failure can be added to them.
func seeds(t testing.TB) [][]byte {
	t.Helper()
	names, err := filepath.Glob("testdata/entry/*.json")
	if err != nil || len(names) != 8 {
		t.Fatalf("%d seeds, want 8: %v", len(names), err)
	}
	var out [][]byte
	for _, n := range names {
		b, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, b)
	}
	return out
}

// Whatever is typed, there is no panic, every fault is a sentence about a
// field, and what is accepted is sound and comes back the same.
func FuzzEntry(f *testing.F) {
	for _, b := range seeds(f) {
		f.Add(b)
	}
	base := def(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		var e Entry
		if json.Unmarshal(b, &e) != nil {
			return
		}
		c, err := base.With(e)
		if err != nil {
			if c != nil {
				t.Fatal("a catalogue beside a fault")
			}
			for _, x := range fault.All(err) {
				if x.Kind == fault.Internal || x.Field == "" || x.Message == "" || strings.Contains(x.Message, "%!") {
					t.Fatalf("%+v", x)
				}
			}
			return
		}
		in, err := c.Get(e.ID)
		if err != nil {
			t.Fatal(err)
		}
		sound(t, in)
		out, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		var back Entry
		if err := json.Unmarshal(out, &back); err != nil {
			t.Fatal(err)
		}
		if _, err := base.With(back); err != nil {
			t.Fatalf("was taken, and its own JSON is not: %v", err)
		}
	})
}

func BenchmarkWith(b *testing.B) {
	c := def(b)
	e := []Entry{neem(), mash(), {ID: "mica", GramsPerTsp: some(2)}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.With(e...); err != nil {
			b.Fatal(err)
		}
	}
}

// Among several entries a sentence begins with its ingredient, as a reference that
// a page says by its name; one entry alone needs no such beginning.
func TestASentenceNamesIngredientsByReference(t *testing.T) {
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	low := Entry{ID: "olive-oil", SAP: quantity.Some(5)}
	_, err = c.With(low, Entry{ID: "honey", Note: "from the hill"})
	all := fault.All(err)
	if len(all) != 1 || !strings.HasPrefix(all[0].Message, `Ingredient "olive-oil": 5 is too low`) || all[0].Field != "sap_mg_koh_g" ||
		!slices.Equal(all[0].Refs(), []fault.Ref{{Kind: "ingredient", ID: "olive-oil"}}) {
		t.Errorf("two entries: %v, about %v", err, all[0].Refs())
	}
	_, err = c.With(low)
	if all := fault.All(err); len(all) != 1 || !strings.HasPrefix(all[0].Message, "5 is too low") || len(all[0].Refs()) != 0 {
		t.Errorf("one entry: %v", err)
	}
	_, err = c.With(Entry{ID: "honey", Name: "Olive oil (virgin or refined)"})
	if all := fault.All(err); len(all) != 1 || !slices.Equal(all[0].Refs(), []fault.Ref{{Kind: "ingredient", ID: "olive-oil"}}) {
		t.Errorf("a name that is taken: %v", err)
	}
}
