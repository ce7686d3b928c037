package catalogue

import (
	"bytes"
	"maps"
	"math"
	"strings"
	"testing"

	"barwright/fault"
	"barwright/quantity"
)

func TestDefaultIsOneCatalogue(t *testing.T) {
	a, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	if b, err := Default(); err != nil || a != b {
		t.Error("a second call read the tables again")
	}
}

// Every value has a source, and no number is impossible.
func TestEveryIngredientIsSound(t *testing.T) {
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	all := c.All()
	if len(all) < 250 || len(c.Fats()) < 54 || len(c.Extras()) < 180 {
		t.Fatalf("%d ingredients, %d fats, %d extras: rows have gone", len(all), len(c.Fats()), len(c.Extras()))
	}
	ids := map[string]bool{}
	for i, in := range all {
		if ids[in.ID] {
			t.Errorf("%s is there twice", in.ID)
		}
		ids[in.ID] = true
		if i > 0 && strings.ToLower(all[i-1].Name) > strings.ToLower(in.Name) {
			t.Errorf("%q stands after %q", in.Name, all[i-1].Name)
		}
		sound(t, in)
		if in.Own || in.Changed {
			t.Errorf("%s is marked as the studio's", in.ID)
		}
	}
}

// sound checks what must be true of any ingredient, whether the catalogue's or
// the studio's.
func sound(t *testing.T, in *Ingredient) {
	t.Helper()
	if in.Name == "" || in.Roles == 0 {
		t.Errorf("%s has no name or no role", in.ID)
	}
	if in.Roles.Has(RoleFat) != (in.Fat != nil) {
		t.Errorf("%s: roles %v and fat %v", in.ID, in.Roles.Words(), in.Fat)
	}
	if (in.Roles&(RoleExtra|RoleScent) != 0) != (in.Extra != nil) {
		t.Errorf("%s: roles %v and extra %v", in.ID, in.Roles.Words(), in.Extra)
	}
	keys := map[string]bool{}
	for _, f := range in.Facts {
		if f.Key == "" || f.Label == "" || f.Value == "" || f.Source == "" || strings.Contains(f.Value, "NaN") || strings.Contains(f.Value, "Inf") {
			t.Errorf("%s: a fact is not whole: %+v", in.ID, f)
		}
		if keys[f.Key] {
			t.Errorf("%s: the fact %s is there twice", in.ID, f.Key)
		}
		keys[f.Key] = true
	}
	if f := in.Fat; f != nil {
		if !f.SAP.Known() || !(f.SAP.Min.V > 0) || f.SAP.Min.V > f.SAP.Max.V || f.SAP.Max.V > 800 || !keys["sap"] {
			t.Errorf("%s: SAP %v", in.ID, f.SAP)
		}
		sum := 0.0
		for i, v := range f.Profile {
			sum += v
			if !(v >= 0 && v <= 1) {
				t.Errorf("%s: %s is %v", in.ID, Acid(i), v)
			}
			if v > 0 && !keys[acidKeys[i]] {
				t.Errorf("%s: no fact says where its %s comes from", in.ID, Acid(i))
			}
		}
		if f.HasProfile && math.Abs(sum-1) > 1e-12 || !f.HasProfile && sum != 0 {
			t.Errorf("%s: the profile sums to %v", in.ID, sum)
		}
		if f.UnsaponifiableMax.Known && !keys["unsaponifiable"] || f.Density40.Known && !keys["density-40"] ||
			(f.Iodine.Min.Known || f.Iodine.Max.Known) && !keys["iodine"] || f.Kind == Wax && !keys["sure-acid-value"] {
			t.Errorf("%s: a value has no fact", in.ID)
		}
		if f.Kind == Wax != keys["sure-acid-value"] || f.SureAcidValue < 0 || f.SureAcidValue > f.SAP.Max.V {
			t.Errorf("%s: sure acid value %v", in.ID, f.SureAcidValue)
		}
	}
	if x := in.Extra; x != nil {
		for _, k := range []string{"fat", "water", "acid", "sugar", "density"} {
			if !keys[k] {
				t.Errorf("%s: no fact on %s", in.ID, k)
			}
		}
		if l := x.faults(); len(l) > 0 {
			t.Errorf("%s: %v", in.ID, l)
		}
		for _, v := range []float64{x.FatPct, x.WaterPct, x.SugarPct, x.AcidMolPerG, x.AcidMolarMass, x.DensityGML, x.FatSAP.V, x.GramsPerTsp.V} {
			if !quantity.Finite(v) || v < 0 {
				t.Errorf("%s: %+v", in.ID, x)
			}
		}
		if !(x.DensityGML > 0) {
			t.Errorf("%s: density %v", in.ID, x.DensityGML)
		}
		if x.AcidMolPerG > 0 && !x.Nature.Has(NatureAcid) && !in.Own && !in.Changed {
			t.Errorf("%s takes alkali and is not marked as an acid", in.ID)
		}
		if x.GramsPerTsp.Known != keys["grams-per-tsp"] {
			t.Errorf("%s: teaspoon %v", in.ID, x.GramsPerTsp)
		}
	}
}

func TestOneSubstanceIsOneIngredientWithBothRoles(t *testing.T) {
	for _, id := range []string{"beeswax", "lanolin", "lauric-acid", "myristic-acid", "palmitic-acid", "stearic-acid-50", "stearic-acid-95", "coconut-acid"} {
		in := get(t, id)
		if !in.Roles.Has(RoleFat|RoleExtra) || in.Fat == nil || in.Extra == nil || in.CAS == "" {
			t.Errorf("%s: %v", id, in.Roles.Words())
		}
	}
	if get(t, "kaolin-colour") != get(t, "kaolin") {
		t.Error("kaolin as a colourant is another ingredient")
	}
	if in := get(t, "candelilla-wax"); in.Fat != nil || !in.Roles.Has(RoleExtra) {
		t.Error("candelilla wax has no data as a fat, and is one")
	}
}

func TestWhatASoaperCountsOn(t *testing.T) {
	// Acid demand from molar masses, CRC Handbook: citric acid 192.124 g/mol
	// with 3 H+, lactic 90.078, acetic 60.052, ascorbic 176.124, sodium
	// bicarbonate 84.007.
	for _, a := range []struct {
		id   string
		want float64
		salt string
	}{
		{"citric-acid", 3 / 192.124, "citrate"},
		{"citric-acid-monohydrate", 3 / 210.139, "citrate"},
		{"lactic-acid", 0.88 / 90.078, "lactate"},
		{"lactic-acid-80", 0.80 / 90.078, "lactate"},
		{"vinegar", 0.05 / 60.052, "acetate"},
		{"ascorbic-acid", 1 / 176.124, "ascorbate"},
		{"tartaric-acid", 2 / 150.087, "tartrate"},
		{"sodium-bicarbonate", 1 / 84.007, "carbonate"},
		{"stearic-acid-95", 197.5 / 56105.6, "stearate"}, // USP32-NF27, middle of 195 to 200
	} {
		x := get(t, a.id).Extra
		near(t, a.id, x.AcidMolPerG, a.want, 3e-5*a.want)
		if x.AlkaliSalt != a.salt || !x.Nature.Has(NatureAcid) {
			t.Errorf("%s leaves %q, %v", a.id, x.AlkaliSalt, x.Nature)
		}
	}
	kinds := map[string]FatKind{"beeswax": Wax, "lanolin": Wax, "jojoba-oil": Wax, "oleic-acid": FreeAcid, "stearic-acid-50": FreeAcid,
		"olive-oil": Triglyceride}
	for id, k := range kinds {
		if got := get(t, id).Fat.Kind; got != k {
			t.Errorf("%s is of kind %d, want %d", id, got, k)
		}
	}
	// Beeswax: the middle of the acid values 17 to 24 of USP32-NF27.
	near(t, "beeswax", get(t, "beeswax").Fat.SureAcidValue, 20.5, 0)
	near(t, "lanolin", get(t, "lanolin").Fat.SureAcidValue, 0, 0)
	near(t, "jojoba", get(t, "jojoba-oil").Fat.SureAcidValue, 0, 0)
	// Castor, USP29: 0.957 to 0.961 against water at 25 °C (0.99704 g/mL, Kell
	// 1975). Jojoba, Merck Index: 0.8642 g/mL at 25 °C. Both change by
	// 0.00064 g/mL per K.
	near(t, "castor at 40 °C", get(t, "castor-oil").Fat.Density40.V, 0.959*0.99704-15*0.00064, 5e-5)
	near(t, "jojoba at 40 °C", get(t, "jojoba-oil").Fat.Density40.V, 0.8642-15*0.00064, 5e-5)
	// Milk, USDA FoodData Central (from memory).
	near(t, "fat of cow milk", get(t, "cow-milk").Extra.FatPct, 3.25, 0.1)
	if m := get(t, "goat-milk"); !m.Roles.Has(RoleLiquid) || !m.Extra.Nature.Has(NatureMilk|NatureSugar) {
		t.Error("goat milk does not take the place of water, or does not heat")
	}
	if f := get(t, "beeswax").Fat; f.HasProfile {
		t.Error("beeswax has no profile in the sources")
	}
	if f := get(t, "oleic-acid").Fat; f.SAP.Half() != 0 {
		t.Error("the range of a pure compound has a width")
	}
}

// Each small mistake in the tables is refused with its own words.
func TestLoadRefusesBrokenTables(t *testing.T) {
	whole, err := embedded()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := load(whole); err != nil {
		t.Fatalf("the whole tables: %v", err)
	}
	for _, c := range []struct {
		name, file, old, new string
		want                 []string
	}{
		{"a value without its source", oilsFile, "olive-oil,Olive oil (virgin or refined),Olea Europaea Fruit Oil,Sodium Olivate,Potassium " +
			"Olivate,\"oil, Na soap: CosIng copy [read]; K soap [memory]\",triglyceride,184,196,CXS 33-1981 Appendix [memory]",
			"olive-oil,Olive oil (virgin or refined),Olea Europaea Fruit Oil,Sodium Olivate,Potassium Olivate,\"oil, Na soap: CosIng copy [read]; " +
				"K soap [memory]\",triglyceride,184,196,", []string{"oils.csv:8", "sap_source", "no source"}},
		{"a name without its source", oilsFile, "Sodium Cocoate,Potassium Cocoate,CosIng copy [read],triglyceride",
			"Sodium Cocoate,Potassium Cocoate,,triglyceride", []string{"oils.csv:2", "inci_source", "no source"}},
		{"a profile that does not sum to 100", oilsFile, "45.1,53.2,47.44", "45.1,53.2,47.64", []string{"oils.csv:2", "sum to 100.2"}},
		{"a typical value outside its range", oilsFile, "45.1,53.2,47.44", "47.6,53.2,47.44", []string{"c12_0_typ", "outside 47.6 to 53.2"}},
		{"a SAP that the acids do not bear out", oilsFile, "triglyceride,248,265", "triglyceride,138,165", []string{"oils.csv:2", "254.4 mg KOH/g"}},
		{"an iodine value that the acids do not bear out", oilsFile, "[read],6.3,10.6,", "[read],16.3,20.6,", []string{"iodine_min_g_100g", "9.5 g I2/100 g"}},
		{"an id that is there twice", oilsFile, "\nbabassu-oil,", "\ncoconut-oil,", []string{"oils.csv:3", "id", "there twice"}},
		{"an id of names that is there twice", inciFile, "\npotassium-carbonate,", "\nsodium-hydroxide,", []string{"inci.csv:4", "there twice"}},
		{"an id of extras that is there twice", extrasFile, "\nsea-water,", "\nwater,", []string{"extras.csv:5", "there twice"}},
		{"NaN", oilsFile, "triglyceride,248,265", "triglyceride,NaN,265", []string{"sap_min_mg_koh_g", `"NaN" is not a number`}},
		{"infinity", extrasFile, "water,extra liquid,0,assumed,,,100", "water,extra liquid,0,assumed,,,Inf", []string{"water_pct", "not a number"}},
		{"a number with a comma for a point", oilsFile, "triglyceride,248,265", `triglyceride,"248,0",265`, []string{"sap_min_mg_koh_g", "not a number"}},
		{"ends that are crossed", oilsFile, "triglyceride,248,265", "triglyceride,265,248", []string{"above the upper end"}},
		{"one end only of a SAP", oilsFile, "triglyceride,248,265", "triglyceride,248,", []string{"needs both ends"}},
		{"a number out of bounds", oilsFile, "triglyceride,248,265", "triglyceride,248,9999", []string{"outside 1 to 700"}},
		{"a column too many in a row", oilsFile, "\ncoconut-oil,", "\ncoconut-oil,,", []string{"oils.csv:2", "columns"}},
		{"a column that is missing", oilsFile, ",sap_source,", ",sap_sauce,", []string{"oils.csv:1", "sap_source", "missing"}},
		{"a column that is there twice", inciFile, "function,cas,", "cas,cas,", []string{"inci.csv:1", "twice"}},
		{"a quote that does not close", oilsFile, "\ncoconut-oil,", "\n\"coconut-oil,", []string{"oils.csv", "quotes"}},
		{"an unknown kind", oilsFile, "wax_ester", "oil", []string{"kind", "none of triglyceride"}},
		{"a wax without its acid value", oilsFile, `20.5,"midpoint`, `,"midpoint`, []string{"sure_acid_value_mg_koh_g", "A wax"}},
		{"space around a cell", oilsFile, "Cocos Nucifera Oil,", "Cocos Nucifera Oil ,", []string{"inci_name", "space around it"}},
		{"an id with a capital", oilsFile, "\ncoconut-oil,", "\nCoconut-oil,", []string{"id", "lower case"}},
		{"a molar mass that the formula does not give", acidsFile, ",284.484,", ",284.584,", []string{"fatty-acids.csv:10", "molar_mass_g_mol", "284.484"}},
		{"a fatty acid in another one's place", acidsFile, "\nC18:0,", "\nC18:9,", []string{"fatty-acids.csv:10", "C18:0 belongs"}},
		{"two INCI names for one id", inciFile, "beeswax,Beeswax,Cera Alba,", "beeswax,Beeswax,Cera Flava,", []string{"inci.csv", "one id is one ingredient"}},
		{"a name without figures", extrasFile, "\nhoney,", "\nyogurt-2,", []string{"extras.csv", "has no row in inci.csv"}},
		{"a role that is none", extrasFile, "water,extra liquid,", "water,extra fluid,", []string{"roles", `"fluid"`}},
		{"a nature that is none", extrasFile, "milk sugar", "milk sugary", []string{"nature", `"sugary"`}},
		{"fat without its SAP", extrasFile, ",226.5,", ",,", []string{"fat_sap_mg_koh_g", "give the saponification value"}},
		{"an acid without its salt", extrasFile, ",64.041,citrate,", ",64.041,,", []string{"alkali_salt", "say what"}},
		{"more water than there is room for", extrasFile, "36.1,USDA FoodData Central [from memory],226.5,midpoint of butterfat in oils.csv,57.7",
			"36.1,USDA FoodData Central [from memory],226.5,midpoint of butterfat in oils.csv,67.7", []string{"water_pct", "more than there is"}},
		{"a figure for lye as an extra", extrasFile, "sodium-hydroxide,alkali,,", "sodium-hydroxide,alkali,1,", []string{"fat_pct", "cannot be dosed"}},
	} {
		if !bytes.Contains(whole[c.file], []byte(c.old)) {
			t.Errorf("%s: %q is not in %s: this case has tested nothing", c.name, c.old, c.file)
			continue
		}
		broken := maps.Clone(whole)
		broken[c.file] = bytes.Replace(whole[c.file], []byte(c.old), []byte(c.new), 1)
		got, err := load(broken)
		if err == nil || got != nil {
			t.Errorf("%s: was taken", c.name)
			continue
		}
		for _, w := range c.want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %q does not say %q", c.name, err, w)
			}
		}
		if l := fault.All(err); len(l) != 1 || l[0].File != c.file || l[0].Line == 0 {
			t.Errorf("%s: no file and line in %+v", c.name, l)
		}
	}
	for _, name := range []string{acidsFile, oilsFile, inciFile, extrasFile} {
		broken := maps.Clone(whole)
		broken[name] = nil
		if _, err := load(broken); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("an empty %s: %v", name, err)
		}
	}
	// A name whose row of figures is missing altogether has no place of its own
	// to point at.
	broken := maps.Clone(whole)
	broken[inciFile] = append(bytes.Clone(whole[inciFile]), "moon-dust,Moon dust,Moon Dust,glow,,imagined,memory,,,\n"...)
	if _, err := load(broken); err == nil || !strings.Contains(err.Error(), `"moon-dust" of inci.csv has no row here`) {
		t.Errorf("a name without figures: %v", err)
	}
}

func BenchmarkLoad(b *testing.B) {
	files, err := embedded()
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := load(files); err != nil {
			b.Fatal(err)
		}
	}
}
