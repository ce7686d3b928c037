package formula_test

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
)

var update = flag.Bool("update", false, "write what is said as what should be said")

func ingredients(t testing.TB) *catalogue.Catalogue {
	t.Helper()
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	return cat
}

// The gallery has, for every refusal, the smallest file that causes it and the
// exact words.
func TestEveryRefusalHasItsExactWords(t *testing.T) {
	files, err := filepath.Glob("testdata/errors/*.toml")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) < 90 {
		t.Fatalf("the gallery has %d files; it should have 90 at least", len(files))
	}
	cat := ingredients(t)
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(strings.TrimSuffix(name, ".toml"), func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			f, err := formula.ReadTOMLAgainst(name, data, cat)
			if err == nil || f != nil {
				t.Fatalf("read as %+v, with error %v; it should be refused", f, err)
			}
			var l fault.List
			if !errors.As(err, &l) || len(l) == 0 {
				t.Fatalf("the error is no fault.List: %v", err)
			}
			for _, e := range l {
				if e.Kind != fault.Invalid || e.File != name || e.Message == "" {
					t.Errorf("fault without kind, file or words: %+v", e)
				}
			}
			if strings.ContainsAny(err.Error(), "\n\r") {
				t.Errorf("more than one line: %q", err)
			}
			said := err.Error() + "\n"
			golden := strings.TrimSuffix(file, ".toml") + ".txt"
			if *update {
				if err := os.WriteFile(golden, []byte(said), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if said != string(want) {
				t.Errorf("said:\n%swant:\n%s", said, want)
			}
		})
	}
}

// These files are too large to keep beside the test.
func TestLargeFilesAreRefusedInWords(t *testing.T) {
	for name, data := range map[string][]byte{
		"10 MB of prose":       bytes.Repeat([]byte("soap "), 2<<20),
		"one byte over 1 MiB":  append([]byte("name = \"x\" #"), bytes.Repeat([]byte("a"), 1<<20-10)...),
		"1 MiB of nesting":     append([]byte("fat = "), bytes.Repeat([]byte("["), 1<<20-6)...),
		"1 MiB of dotted keys": append(bytes.Repeat([]byte("a."), 1<<19-10), []byte("a = 1")...),
		"1 MiB of one key":     bytes.Repeat([]byte("superfat = 5\n"), 1<<20/13),
		"1 MiB of bad lines":   bytes.Repeat([]byte("superfat = 5,5\n"), 1<<20/15),
		"1 MiB of fats":        bytes.Repeat([]byte("[[fat]]\n"), 1<<17),
	} {
		f, err := formula.ReadTOML("big.toml", data)
		if err == nil || f != nil {
			t.Errorf("%s: read without a fault", name)
			continue
		}
		if s := err.Error(); strings.Contains(s, "\n") || len(s) > 8000 || !strings.HasPrefix(s, "big.toml") {
			t.Errorf("%s: %d bytes said: %.200s", name, len(s), s)
		}
	}
}

const whole = `# everything that a file can hold
name = "Storm lantern"
method = "hot"
superfat = 5
lye_concentration = 33.5
fats_g = 1_000
cure_water_loss_pct = 61.0

[alkali]
koh_mol_pct = 5.0
naoh_purity_pct = 99.0
koh_purity_pct = 90.0
purity_half_width_pct = 0.5

[scale]
division_g = 1.0

[[fat]]
id = "olive-oil"
pct = 60.0
sap_mg_koh_g = 190.0
sap_half_width = 1.0

[[fat]]
id = "coconut-oil"
pct = 30

[[fat]]
id = "shea-butter"
pct = 10
cooked = true

[[extra]]
id = "coconut-milk-powder"
dose_g = 20.0
per = "kg-fats"
into = "cooked"
fat_pct = 60.0
water_pct = 2.0
sap_mg_koh_g = 256.0

[[extra]]
id = "citric-acid"
dose_g = 8
per = "batch"

[[scent]]
name = "Fig and sea salt"
dose_pct = 5.0
of = "fats"
limit_pct = 6.2
`

func TestEveryKeyOfAFileIsRead(t *testing.T) {
	f, err := formula.ReadTOMLAgainst("whole.toml", []byte(whole), ingredients(t))
	if err != nil {
		t.Fatal(err)
	}
	same(t, f, wholeFormula())
}

func TestTheKeysOfACookedBatterComeBack(t *testing.T) {
	text := strings.Replace(whole, "cure_water_loss_pct = 61.0\n", "cure_water_loss_pct = 61.0\ncook_loss_pct = 12.5\nmeasured_density_g_ml = 1.01\n", 1)
	f, err := formula.ReadTOMLAgainst("cooked.toml", []byte(text), ingredients(t))
	if err != nil {
		t.Fatal(err)
	}
	want := wholeFormula()
	want.CookLossPct, want.DensityGML = quantity.Some(12.5), quantity.Some(1.01)
	same(t, f, want)
	f.Stage = formula.ThickTrace
	f.Portions = []formula.Portion{{Name: "sky", Amount: 40, Stage: formula.ThinTrace, Colourants: []formula.Colour{{ID: "mica", GPerKg: 6}}},
		{Name: "sea", By: formula.ByRest}}
	b, err := formula.WriteTOML(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{"# thick trace\n", "# portion sky: 40 % of the batter, thin trace; mica 6 g per kg of batter\n",
		"# portion sea: the rest\n"} {
		if !strings.Contains(strings.ReplaceAll(string(b), "\u00a0", " "), line) {
			t.Errorf("%q is not in\n%s", line, b)
		}
	}
	again, err := formula.ReadTOML("again.toml", b)
	if err != nil {
		t.Fatal(err)
	}
	same(t, again, want)
}

func TestLineEndingsMarksAndInlineTablesAreRead(t *testing.T) {
	inline := `fat = [{id = "olive-oil", pct = 60}, {id = "lard", pct = 40}]
alkali.naoh_purity_pct = 98
scale = { division_g = 0x01 }
name = 'One'
method = "cold"
superfat = 5
lye_concentration = 33
fats_g = 1e3
`
	want := &formula.Formula{
		Name: "One", Method: formula.Cold, SuperfatPct: 5, Water: formula.Water{Value: 33}, FatsG: 1000,
		Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(98)}, ScaleDivisionG: quantity.Some(1),
		Fats: []formula.Fat{{ID: "olive-oil", Pct: 60}, {ID: "lard", Pct: 40}},
	}
	for name, text := range map[string]string{
		"as it is":            inline,
		"lines end in CR LF":  strings.ReplaceAll(inline, "\n", "\r\n"),
		"a UTF-8 mark before": "\ufeff" + inline,
	} {
		f, err := formula.ReadTOMLAgainst("inline.toml", []byte(text), ingredients(t))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		same(t, f, want)
	}
}

func TestTwoLotsOfOneFatAreTwoLines(t *testing.T) {
	lines := func(a, b string) string {
		return strings.Replace(whole, "pct = 60.0\nsap_mg_koh_g = 190.0\nsap_half_width = 1.0\n",
			"pct = 30\n"+a+"\n[[fat]]\nid = \"olive-oil\"\npct = 30\n"+b+"\n", 1)
	}
	for name, c := range map[string]struct {
		a, b string
		ok   bool
	}{
		"two certificates":                {"sap_mg_koh_g = 188.5", "sap_mg_koh_g = 190.5", true},
		"one certificate":                 {"", "sap_mg_koh_g = 190.5", true},
		"one into the cook and one after": {"", "cooked = true", true},
		"the same twice":                  {"sap_mg_koh_g = 190.5", "sap_mg_koh_g = 190.5", false},
	} {
		f, err := formula.ReadTOML("lots.toml", []byte(lines(c.a, c.b)))
		if (err == nil) != c.ok {
			t.Errorf("%s: error %v", name, err)
		}
		if c.ok && f != nil && len(f.Fats) != 4 {
			t.Errorf("%s: %d fats, want 4", name, len(f.Fats))
		}
	}
}

func TestAHundredFatsAreReadAndMoreAreRefused(t *testing.T) {
	file := func(n int) []byte {
		var b strings.Builder
		b.WriteString("name = \"Many\"\nmethod = \"cold\"\nsuperfat = 5\nlye_concentration = 33\nfats_g = 1000\n")
		for i := range n {
			b.WriteString("[[fat]]\nid = \"olive-oil\"\npct = " + strconv.FormatFloat(100/float64(n), 'f', -1, 64) +
				"\nsap_mg_koh_g = " + strconv.Itoa(150+i) + "\n")
		}
		return []byte(b.String())
	}
	if f, err := formula.ReadTOML("many.toml", file(formula.MaxFats)); err != nil || len(f.Fats) != formula.MaxFats {
		t.Errorf("%d fats: %v", formula.MaxFats, err)
	}
	if _, err := formula.ReadTOML("many.toml", file(formula.MaxFats+1)); err == nil {
		t.Errorf("%d fats were read", formula.MaxFats+1)
	}
}

// The shares may differ from 100 by 0.01, and by no more.
func TestSharesSumTo100Within001(t *testing.T) {
	for pct, ok := range map[string]bool{"39.99": true, "40.01": true, "39.98": false, "40.02": false} {
		text := strings.Replace(whole, "pct = 30\n", "pct = "+pct+"\n", 1)
		text = strings.Replace(text, "pct = 60.0", "pct = 50", 1)
		if _, err := formula.ReadTOML("sum.toml", []byte(text)); (err == nil) != ok {
			t.Errorf("olive 50, coconut %s, shea 10: error %v", pct, err)
		}
	}
}

func FuzzReadTOML(f *testing.F) {
	f.Add([]byte(whole))
	files, err := filepath.Glob("testdata/*/*.toml")
	if err != nil || len(files) < 90 {
		f.Fatalf("%d seeds, %v", len(files), err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		x, err := formula.ReadTOML("fuzz.toml", data)
		if err != nil {
			if x != nil {
				t.Fatalf("a formula beside the error %v", err)
			}
			l := fault.All(err)
			for _, e := range l {
				if e.Kind != fault.Invalid || e.Message == "" || e.File != "fuzz.toml" {
					t.Fatalf("fault %+v", e)
				}
			}
			if strings.ContainsAny(err.Error(), "\n\r") {
				t.Fatalf("several lines: %q", err)
			}
			return
		}
		if l := x.Validate(true); len(l) > 0 {
			t.Fatalf("read what the rules refuse: %v", l)
		}
		out, err := formula.WriteTOML(x)
		if err != nil {
			t.Fatalf("read but not written: %v", err)
		}
		again, err := formula.ReadTOML("again.toml", out)
		if err != nil {
			t.Fatalf("written but not read: %v\n%s", err, out)
		}
		same(t, again, x)
	})
}
