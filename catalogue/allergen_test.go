package catalogue

import (
	"strings"
	"testing"
)

// Reg. (EU) 2023/1545: Annex III has 81 entries. 24 of them remain from the
// first 26, and the other two are prohibited.
func TestTheListOfAllergensIsWhole(t *testing.T) {
	var named, first, prohibited, oral int
	for _, a := range Allergens() {
		if a.Source == "" || a.Name == "" || len(a.CAS) == 0 {
			t.Errorf("a part is missing: %+v", a)
		}
		switch {
		case a.Prohibited:
			prohibited++
		default:
			named++
			if a.First {
				first++
			}
		}
		if a.OralOnly {
			oral++
		}
		if got, ok := AllergenOf(strings.ToUpper(a.Name)); !ok || got.Name != a.Name {
			t.Errorf("%s is found as %q", a.Name, got.Name)
		}
		for _, name := range a.Covers {
			if got, ok := AllergenOf(name); !ok || got.Name != a.Name {
				t.Errorf("%s of %s is found as %q", name, a.Name, got.Name)
			}
		}
		for _, cas := range a.CAS {
			if got, ok := AllergenOf(cas); !ok || !strings.Contains(got.Name, a.Name) {
				t.Errorf("%s of %s is found as %q", cas, a.Name, got.Name)
			}
		}
	}
	if named != 81 || first != 24 || prohibited != 2 || oral != 1 {
		t.Errorf("%d named, %d of the first list, %d prohibited, %d oral; want 81, 24, 2, 1", named, first, prohibited, oral)
	}
}

func TestAnAllergenIsFoundAsCertificatesWriteIt(t *testing.T) {
	for text, want := range map[string]string{
		"linalool": "Linalool", "LINALOOL (78-70-6)": "Linalool", "78-70-6": "Linalool", "Linalool 78-70-6": "Linalool",
		"d-Limonene": "Limonene", "(R)-Limonene": "Limonene", "dl limonene": "Limonene",
		"α-Isomethyl ionone": "Alpha-Isomethyl Ionone", "alpha isomethylionone": "Alpha-Isomethyl Ionone",
		"Geranial": "Citral", "Neral": "Citral", "trans-Anethole": "Anethole",
		"alpha-Pinene": "Pinene", "β-pinene": "Pinene", "alpha-Terpineol": "Terpineol",
		"Cinnamaldehyde": "Cinnamal", "Hexyl cinnamic aldehyde": "Hexyl Cinnamal", "alpha-Hexyl Cinnamaldehyde": "Hexyl Cinnamal",
		"methyl-2-octynoate": "Methyl 2-Octynoate", "Oakmoss extract": "Evernia Prunastri Extract", "Lavender oil": "Lavandula Oil/Extract",
		"butylphenyl methylpropional": "Butylphenyl Methylpropional",
		// One number stands for two entries, and neither may be missed.
		"8028-48-6": "Citrus Aurantium Flower Oil or Citrus Aurantium Peel Oil", "Citrus Aurantium Dulcis Peel Oil 8028-48-6": "Citrus Aurantium Peel Oil",
		// These are not on the list.
		"gamma-Terpinene": "", "beta-Ionone": "", "Ethyl vanillin": "", "Dipropylene glycol": "", "": "", "-": "", "99-99-9": "",
	} {
		if got, ok := AllergenOf(text); got.Name != want || ok != (want != "") {
			t.Errorf("%q is found as %q, want %q", text, got.Name, want)
		}
	}
}

func FuzzAllergenOf(f *testing.F) {
	for _, a := range Allergens() {
		f.Add(a.Name)
		f.Add(a.Name + " (" + a.CAS[0] + ")")
	}
	for _, s := range []string{"(±)-α-Isomethyl ionone", "d-", "((", "78-70-6 78-70-6", "trans-cis-alpha-", "\xff-Limonene"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		a, ok := AllergenOf(text)
		if ok != (a.Name != "") {
			t.Fatalf("%q: %v, %+v", text, ok, a)
		}
		// What is found must be found again by its own name, unless that is two
		// names.
		if again, found := AllergenOf(a.Name); ok && !strings.Contains(a.Name, " or ") && (!found || again.Name != a.Name) {
			t.Fatalf("%q is %s, and that is %s", text, a.Name, again.Name)
		}
	})
}

// Coumarin is 0.40 % of a scent. A dose of 2.5 % of the product makes 0.0100 %,
// which need not be named, and 2.6 % makes 0.0104 %, which must be. Citral as
// 0.0062 % of geranial and 0.0041 % of neral makes 0.0103 %. Worked by hand
// from Reg. (EC) 1223/2009 Annex III: above 0.01 % in what is rinsed off.
func TestANameIsPrintedAboveTheThresholdAndNotAtIt(t *testing.T) {
	coumarin, _ := AllergenOf("coumarin")
	citral, _ := AllergenOf("geranial")
	methylCoumarin, _ := AllergenOf("6-Methyl Coumarin")
	banned, _ := AllergenOf("80-54-6")
	for _, c := range []struct {
		a    Allergen
		pct  float64
		want bool
	}{
		{coumarin, 2.5 * 0.40 / 100, false}, {coumarin, 2.6 * 0.40 / 100, true},
		{citral, 0.0062, false}, {citral, 0.0062 + 0.0041, true},
		{methylCoumarin, 5, false}, {banned, 5, false},
	} {
		if got := c.a.MustName(c.pct); got != c.want {
			t.Errorf("%s at %g %%: %v, want %v", c.a.Name, c.pct, got, c.want)
		}
	}
	if !banned.Prohibited || !methylCoumarin.OralOnly {
		t.Errorf("%+v\n%+v", banned, methylCoumarin)
	}
}

func TestABrokenListOfAllergensIsRefused(t *testing.T) {
	b, err := data.ReadFile("data/" + allergensFile)
	if err != nil {
		t.Fatal(err)
	}
	for what, swap := range map[string][2]string{
		"a slip in a CAS number": {"78-70-6", "78-70-5"},
		"an unknown status":      {",declarable,", ",perhaps,"},
		"a name twice":           {"Eugenol", "Linalool"},
		"a name gone":            {"Cinnamal,", "Cinnamol,"},
		"no source": {`"Reg. (EC) 1223/2009 Annex III entry 67; read in a CosIng Annex III export ` +
			`and cross-checked with public reprints of OJ L 188, 27.7.2023"`, ""},
	} {
		if !strings.Contains(string(b), swap[0]) {
			t.Fatalf("%s: %q is not in the table, so this tests nothing", what, swap[0])
		}
		if l, err := loadAllergens([]byte(strings.Replace(string(b), swap[0], swap[1], 1))); err == nil || l != nil {
			t.Errorf("%s: the table was read", what)
		}
	}
}

func TestAnIngredientIsFoundByWhatItIsCalled(t *testing.T) {
	c, err := Default()
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"titanium-dioxide": "titanium-dioxide", "Titanium dioxide": "titanium-dioxide", "titanium_Dioxide": "titanium-dioxide", "CI 77891": "titanium-dioxide",
		"Kaolin": "kaolin", "kaolin (white clay)": "kaolin", "ULTRAMARINE": "ultramarine", "kaolin-colour": "kaolin",
	} {
		if in, err := c.Named(text); err != nil || in.ID != want {
			t.Errorf("%q: %v, %v, want %s", text, in, err, want)
		}
	}
	for text, words := range map[string]string{"titanum dioxide": "did you mean titanium-dioxide", "": "not in the catalogue",
		"stearic-acid": "comes in grades"} {
		if _, err := c.Named(text); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%q: %v, want %q", text, err, words)
		}
	}
}
