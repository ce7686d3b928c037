package draw

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden pictures in testdata")

// golden compares got with testdata/name, or rewrites it with -update.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v; run go test -update to draw it", err)
	}
	if string(want) != got+"\n" {
		t.Errorf("%s is no longer what is drawn; look at the picture, then run go test -update", name)
	}
}

// Invented bars, each hard to draw in its own way.
var (
	// Twelve strata, several of them thin.
	stormLantern = Bar{Name: "Storm lantern", MassG: 2149,
		Shares: [NumStrata]float64{Slow: .166, Mellow: .330, Holder: .039, Fleeting: .056, Quick: .153,
			FreeFat: .023, Unsaponifiable: .014, Glycerol: .082, Water: .089, Salts: .008, Extras: .006, Scent: .034},
		Doubt: &Interval{.006, .038}}
	// Nearly all of one fat.
	tideOlive = Bar{Name: "Tide olive", MassG: 1240,
		Shares: [NumStrata]float64{Slow: .118, Mellow: .585, Fleeting: .079, FreeFat: .031, Unsaponifiable: .006,
			Glycerol: .086, Water: .092, Salts: .003},
		Doubt: &Interval{.017, .046}}
	// Salt is a third of the bar.
	saltHouse = Bar{Name: "Salt house", MassG: 1835,
		Shares: [NumStrata]float64{Slow: .061, Mellow: .042, Fleeting: .010, Quick: .291, FreeFat: .112,
			Unsaponifiable: .002, Glycerol: .064, Water: .078, Salts: .295, Extras: .018, Scent: .027},
		Doubt: &Interval{.094, .131}}
	// 100 g of fats on a 1 g scale, with milk and beeswax: the interval reaches
	// below zero.
	thumbPot = Bar{Name: "Thumb pot", MassG: 131, Wax: .004,
		Shares: [NumStrata]float64{Slow: .21, Mellow: .271, Holder: .012, Fleeting: .058, UnknownSoap: .041, Quick: .168,
			FreeFat: .020, Unsaponifiable: .007, Glycerol: .078, Water: .104, Salts: .0021, Extras: .0289},
		Doubt: &Interval{-.012, .055}}
)

// legend is a table with rows 38 px apart under a head of 30 px, at the right of
// the picture.
func legend() *Leaders { return &Leaders{Top: 30, Pitch: 38} }

func TestGoldenBars(t *testing.T) {
	cases := []struct {
		file string
		bar  Bar
		o    CutOptions
	}{
		{"bar-laptop.svg", stormLantern, CutOptions{ID: "lap", Width: 256, Height: 500, Leaders: legend(), Key: true}},
		{"bar-olive.svg", tideOlive, CutOptions{ID: "olive", Width: 256, Height: 500, Leaders: legend(), Key: true}},
		{"bar-salt.svg", saltHouse, CutOptions{ID: "salt", Width: 256, Height: 500, Leaders: legend(), Key: true}},
		{"bar-excess.svg", thumbPot, CutOptions{ID: "thumb", Width: 256, Height: 500, Leaders: legend(), Key: true}},
		{"bar-phone.svg", stormLantern, CutOptions{ID: "ph", Width: 350, Height: 380, Key: true}},
		{"bar-small.svg", stormLantern, CutOptions{ID: "sm", Width: 96, Height: 160}},
		{"bar-tablet.svg", saltHouse, CutOptions{ID: "tab", Width: 150, Height: 200}},
		{"bar-paper.svg", stormLantern, CutOptions{ID: "pa", Width: 190, Height: 330, Variant: Paper, Leaders: &Leaders{Top: 0, Pitch: 25, Gutter: 36}}},
	}
	for _, c := range cases {
		got, err := BarCut(c.bar, c.o)
		if err != nil {
			t.Errorf("%s: %v", c.file, err)
			continue
		}
		golden(t, c.file, got)
	}
}

// Invented superfats.
var (
	stormFat = Superfat{NominalPct: 3, LowPct: .7, HighPct: 5.2, MeanPct: 2.97, SDPct: 1.15, Excess: 1.0 / 390, Odds: "1 in 390",
		Earlier: &Earlier{"version 6", 5, 2.8, 7.1}}
	thumbFat = Superfat{NominalPct: 2, LowPct: -2.6, HighPct: 6.4, MeanPct: 1.95, SDPct: 2.3, Excess: .198}
	saltFat  = Superfat{NominalPct: 20, LowPct: 17.2, HighPct: 22.7, MeanPct: 20, SDPct: 1.4, Excess: 1e-12}
)

// draws is a histogram of the sum of four rectangular inputs. Monte Carlo gives
// this if a few ranges of SAP cause all the doubt.
func draws() *Histogram {
	h := &Histogram{FromPct: -1, StepPct: .125, Counts: make([]float64, 64)}
	r := newSeeded("draws")
	for range 40000 {
		x := 3 + 1.4*(r.between(-1, 1)+r.between(-1, 1)) + .4*r.between(-1, 1) + .3*r.between(-1, 1)
		h.Counts[int((x-h.FromPct)/h.StepPct)]++
	}
	return h
}

func TestGoldenGlass(t *testing.T) {
	drawn := stormFat
	drawn.Histogram = draws()
	cases := []struct {
		file string
		s    Superfat
		o    GlassOptions
	}{
		{"glass-wide.svg", stormFat, GlassOptions{ID: "gw"}},
		{"glass-excess.svg", thumbFat, GlassOptions{ID: "ge"}},
		{"glass-phone.svg", stormFat, GlassOptions{ID: "gp", Width: 350}},
		{"glass-phone-excess.svg", thumbFat, GlassOptions{ID: "gpe", Width: 350}},
		{"glass-phone-high.svg", saltFat, GlassOptions{ID: "gph", Width: 350}},
		{"glass-histogram.svg", drawn, GlassOptions{ID: "gh", Width: 350}},
		{"glass-paper.svg", stormFat, GlassOptions{ID: "gpa", Variant: Paper}},
	}
	for _, c := range cases {
		got, err := Glass(c.s, c.o)
		if err != nil {
			t.Errorf("%s: %v", c.file, err)
			continue
		}
		golden(t, c.file, got)
	}
}

func TestGoldenMarkAndSwatches(t *testing.T) {
	var marks, swatches string
	for _, size := range []int{16, 24, 48, 96} {
		marks += Mark(size)
	}
	golden(t, "marks.svg", marks)
	for s := range NumStrata {
		swatches += Swatch("sw", s, Page)
	}
	for s := range NumStrata {
		swatches += Swatch("swp", s, Paper)
	}
	golden(t, "swatches.svg", swatches)
}
