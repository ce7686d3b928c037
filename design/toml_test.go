package design_test

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barwright/design"
	"barwright/fault"
	"barwright/mould"
	"barwright/quantity"
)

func read(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "fill", name))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestAFileHoldsWhatItSays(t *testing.T) {
	f, err := design.ReadTOML("harbour.toml", read(t, "harbour.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	if f.Name != "Harbour light" || f.Main != "harbour-light" || f.Pieces != 12 || f.OveragePct != 3 || len(f.Set.Moulds) != 2 ||
		len(f.Set.Batters) != 2 || len(f.Set.Designs) != 2 {
		t.Errorf("%+v", f)
	}
	if m := f.Set.Moulds[0]; m.Shape != mould.Measured || len(m.WaterG) != 3 || m.WaterC != some(21) || m.Cavities != 6 || m.Sets != 2 {
		t.Errorf("%+v", m)
	}
	if p := f.Set.Designs[0].Parts[1]; p.Kind != design.Embed || p.Design != "lamp" || p.Count != some(1) || p.SunkPct != 40 || p.CoveredPct != 0 ||
		p.MassG != (quantity.Maybe{}) {
		t.Errorf("%+v", p)
	}
	n, err := design.Explode(&f.Set, []design.Want{{Design: f.Main, Pieces: f.Pieces}}, design.Options{OveragePct: f.OveragePct})
	if err != nil {
		t.Fatal(err)
	}
	// 118.3667 g · 1.003052 mL/g at 21 °C: water-density table of mould's own test.
	near(t, "the cavity", n.Cavities[1].VolumeML, 118.73005233333333)
	near(t, "the lamp", n.Cavities[0].VolumeML, math.Pi/4*20*20*30/1000)
}

// Closed forms worked out here, from the textbook solids, against what one piece
// of a brimful cavity holds.
func TestEveryShapeOfAFileHoldsItsClosedForm(t *testing.T) {
	f, err := design.ReadTOML("every-shape.toml", read(t, "every-shape.toml"), nil)
	if err != nil {
		t.Fatal(err)
	}
	cap := 30.0 // half the rim
	want := map[string]float64{
		"cup": math.Pi * 15 * 15 * 20, "trough": math.Pi * 30 * 30 / 2 * 90, "cone": math.Pi * 30 / 3 * (30*30 + 30*20 + 20*20),
		// Simpson's rule is exact for the prismoid.
		"tray": 28.0 / 6 * (80*60 + 4*78*57.5 + 76*55), "dome": math.Pi * 25 / 6 * (3*cap*cap + 25*25), "egg": 2 * math.Pi / 3 * 35 * 25 * 30,
		"cube": 50 * 50 * 40,
	}
	for id, mm3 := range want {
		s := f.Set
		s.Designs = []design.Design{{ID: "x", Mould: id, Parts: []design.Part{pour("ink", 100)}}}
		n, err := design.Explode(&s, []design.Want{{Design: "x", Pieces: 1}}, design.Options{})
		if err != nil {
			t.Fatal(err)
		}
		near(t, id, n.Pieces[0].VolumeML, mm3/1000)
	}
}

func TestADensityMayComeFromAFormulaFile(t *testing.T) {
	text := strings.Replace(string(read(t, "harbour.toml")), "density_g_ml = 1.035", `file = "white.toml"`, 1)
	f, err := design.ReadTOML("x.toml", []byte(text), func(name string) (float64, error) {
		if name != "white.toml" {
			t.Errorf("asked for %q", name)
		}
		return 1.04, nil
	})
	if err != nil || f.Set.Batters[0].DensityGML != 1.04 || f.Formulas[0] != "white.toml" || f.Formulas[1] != "" {
		t.Errorf("%+v, %v", f, err)
	}
	for _, load := range []func(string) (float64, error){nil, func(string) (float64, error) { return 0, errors.New("gone") }, func(string) (float64,
		error) {
		return math.NaN(), nil
	}} {
		if f, err := design.ReadTOML("x.toml", []byte(text), load); f != nil || err == nil || !strings.HasPrefix(fault.All(err)[0].Field, "formula.1.") {
			t.Errorf("%+v, %v", f, err)
		}
	}
}

// The gallery: the smallest change to a sound file, and how what is said of it begins.
func TestRefusalsOfAFile(t *testing.T) {
	sound := string(read(t, "harbour.toml"))
	for _, c := range []struct{ from, to, want string }{
		{`main = "harbour-light"`, ``, `x.toml: main: This is missing: write the id of the design that is counted in pieces, as main = "harbour-light".`},
		{`main = "harbour-light"`, `main = "harbor-light"`, `x.toml:2: main: There is no design "harbor-light". Did you mean "harbour-light"?`},
		{`pieces = 12`, `pieces = 0`, "x.toml:3: pieces: 0 cannot be used: write a whole number from 1 to 1000000"},
		{`pieces = 12`, `pieces = 1.5`, "x.toml:3: pieces: 1.5 cannot be used: write a whole number, such as 2"},
		{`pieces = 12`, `pieces = 99999999999`, "x.toml:3: pieces: 99999999999 cannot be used: write a whole number from 1 to 1000000"},
		{`name = "Harbour light"`, `name = "Harbour\nlight"`, "x.toml:1: name: The name holds a character that cannot be printed: type it again."},
		{`id = "lantern-house"`, `id = "lantern-\u001b[2Jhouse"`, "x.toml:7: mould.1.id: The id holds a character that cannot be printed: type it again."},
		{`id = "amber"`, `id = "` + strings.Repeat("a", 201) + `"`, "x.toml:26: formula.2.id: The id is 201 letters long: keep it to 200."},
		{`density_g_ml = 1.05`, `file = "amber.toml"`, "x.toml:27: formula.2.file: Formula files cannot be read from here: write density_g_ml instead."},
		{`overage_pct = 3.0`, `overage_pct = 300`, "x.toml:4: overage_pct: The overage (300 %) is outside 0 to 100 %: give a number in that range."},
		{`shape = "measured"`, `shape = "measurd"`,
			`x.toml:8: mould.1.shape: "measurd" cannot be used: write measured, cuboid, cylinder, half-cylinder, cone-frustum, tapered-box, spherical-cap or half-ellipsoid; did you mean measured?`},
		{`water_g = [118.2, 118.6, 118.3]`, `water_g = [118.2, "x"]`,
			`x.toml:9: mould.1.water_g: The text "x" is not a number: write one in digits, such as 60.0.`},
		{`water_g = [118.2, 118.6, 118.3]`, `water_g = []`,
			"x.toml:9: mould.1.water_g: No fill of water is given: fill one cavity to the brim, weigh the water, and write its grams; three fills are better than one."},
		{`diameter_mm = 20`, ``, "x.toml:13: mould.2.diameter_mm: The diameter is missing: a cylinder needs it, such as 65 mm (2.56 in)."},
		{`sets = 2`, ``, "x.toml:6: mould.1.sets: This is missing: write how many sets of it there are, as sets = 2."},
		{`density_g_ml = 1.05`, ``,
			`x.toml:25: formula.2.density_g_ml: This is missing: write the density as poured, as density_g_ml = 1.035, or the formula's file, as file = "sea-white.toml".`},
		{`density_g_ml = 1.05`, `density_g_ml = 1,05`, "x.toml:27: formula.2.density_g_ml: A number is written with a point, not a comma: 1.05."},
		{`pot_loss_g = 15.0`, `pot_loss = 15.0`, "x.toml:24: formula.1.pot_loss: There is no such key; did you mean pot_loss_g?"},
		{`mould = "lantern-house"`, ``, `x.toml:29: design.1.mould: This is missing: write which mould it is cast in, as mould = "lantern-house".`},
		{`mould = "lantern-house"`, `mould = "lighthouse"`,
			`x.toml:31: design.1.mould: There is no mould "lighthouse": give one that is there, such as "lamp-cup".`},
		{`kind = "embed"`, `kind = "embedded"`,
			`x.toml:37: design.1.part.2.kind: "embedded" cannot be used: write pour, topping, embed, piping, sprinkle or wrap; did you mean embed?`},
		{`design = "lamp"`, `formula = "amber"`,
			"x.toml:36: design.1.part.2.design: Say what this part is an embed of: give its design; x.toml:38: design.1.part.2.formula: An embed takes no formula: leave it out."},
		{`sunk_pct = 40.0`, `sunk_pct = -1`, `x.toml:40: design.1.part.2.sunk_pct: -1 is not a share of an embed: give 0 to 100.`},
		{`item = "salt"`, ``, "x.toml:42: design.1.part.3.item: Say what this part is made of: give its item."},
		{`mass_g = 1.5`, `mass_g = 1.5` + "\ncount = 3",
			"x.toml:46: design.1.part.3.count: The amount of this sprinkle is given twice, as mass_g and count: keep one of them."},
		{`mass_g = 1.5`, `fill_to_pct = 1.5`, "x.toml:45: design.1.part.3.fill_to_pct: A sprinkle takes no fill_to_pct: give its mass_g or count."},
		{`[[design.part]]`, `[design.part]`, "x.toml:32: design.part: Each part is written under [[design.part]], in double brackets."},
		{`[[design.part]]`, `[[design.parts]]`,
			"x.toml:32: design.parts: There is no such table: the tables are [[mould]], [[formula]], [[design]] and [[design.part]]."},
		{`[[formula]]`, `[[formular]]`, "x.toml:21: formular: There is no such key; did you mean formula?"},
		{`id = "lamp"`, `id = "harbour-light"`,
			`x.toml:38: design.1.part.2.design: There is no design "lamp": give one that is there, such as "harbour-light"; x.toml:51: design.2.id: The id "harbour-light" is given twice: design number 1 has it already.`},
		{`id = "amber"`, `id = ""`, "x.toml:26: formula.2.id: This formula has no id: give it one, by which the designs name it."},
		{`fill_to_pct = 80.0`, `fill_to_pct = nan`,
			"x.toml:35: design.1.part.1.fill_to_pct: The value nan is not a number to weigh by: write one in digits, such as fill_to_pct = 60.0."},
		{`fill_to_pct = 80.0`, `pieces = 9`, "x.toml:35: design.1.part.1.pieces: This key does not belong here: write it above the first heading."},
		{`fill_to_pct = 80.0`, `cavities = 9`, "x.toml:35: design.1.part.1.cavities: This key does not belong here: write it under [[mould]]."},
		{sound, "",
			"x.toml: The file is empty: a file of designs has at least main, one [[mould]], one [[formula]] and one [[design]] with a [[design.part]]."},
		{sound, strings.Repeat("#", design.MaxFileBytes+1), "x.toml: The file is over 1 MiB, and a file of designs has at most so much: this is " +
			"another kind of file."},
		{sound, "\xff\xfea", "x.toml: The file is in UTF-16: save it in UTF-8."},
	} {
		if !strings.Contains(sound, c.from) {
			t.Fatalf("%q is not in the file", c.from)
		}
		f, err := design.ReadTOML("x.toml", []byte(strings.Replace(sound, c.from, c.to, 1)), nil)
		said := "nothing"
		if err != nil {
			said = strings.ReplaceAll(err.Error(), quantity.UnitSpace, " ")
		}
		if f != nil || !strings.HasPrefix(said, c.want) {
			t.Errorf("%.40q for %.40q:\n got %s\nwant %s", c.to, c.from, said, c.want)
		}
	}
}

// A file is read or refused; what is read can be taken apart or is refused in
// words, and no number without end comes out.
func FuzzReadTOML(f *testing.F) {
	files, err := filepath.Glob("testdata/fill/*.toml")
	if err != nil || len(files) < 2 {
		f.Fatalf("no file to start from: %v", err)
	}
	for _, name := range files {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte("main = \"a\"\n[[design]]\nid = \"a\"\nmould = \"m\"\n[[design.part]]\nkind = \"embed\"\ndesign = \"a\"\ncount = 1\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := design.ReadTOML("x.toml", data, nil)
		if (file == nil) == (err == nil) {
			t.Fatalf("%v, %v", file, err)
		}
		if err != nil {
			for _, e := range fault.All(err) {
				if e.Kind == fault.Internal || e.Message == "" {
					t.Fatalf("%+v", e)
				}
			}
			return
		}
		n, err := design.Explode(&file.Set, []design.Want{{Design: file.Main, Pieces: max(file.Pieces, 1)}}, design.Options{OveragePct: file.OveragePct})
		if err != nil {
			if fault.KindOf(err) == fault.Internal {
				t.Fatal(err)
			}
			return
		}
		for _, p := range n.Pieces {
			for _, q := range append(p.Parts, design.PartNeed{MassG: p.PieceG, VolumeML: p.VolumeML}) {
				for _, v := range []float64{q.MassG, q.VolumeML, q.FromPct, q.ToPct, q.DisplacedML} {
					if !quantity.Finite(v) || v < 0 {
						t.Fatalf("%+v", q)
					}
				}
			}
		}
		for _, b := range n.Batches {
			if !quantity.Finite(b.MassG) || !(b.MassG >= 0) {
				t.Fatalf("%+v", b)
			}
			if _, err := design.Forward(&file.Set, file.Main, b.Formula, 1000, design.Options{}); fault.KindOf(err) == fault.Internal && err != nil {
				t.Fatal(err)
			}
		}
	})
}
