package mould

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barwright/fault"
	"barwright/lye"
	"barwright/quantity"
)

func some(v float64) quantity.Maybe { return quantity.Some(v) }

func of(s Shape, d Dimensions) Mould { return Mould{Shape: s, Dimensions: d, Cavities: 1, Sets: 1} }

func volumeOf(t testing.TB, m Mould) quantity.Reading[float64] {
	t.Helper()
	v, err := m.Volume()
	if err != nil {
		t.Fatalf("%v: %v", m.Shape, err)
	}
	return v
}

// The published figures are in cubed units of length. Here one unit is 10 mm,
// so that a unit of volume is a millilitre.
func TestClosedFormsGivePublishedVolumes(t *testing.T) {
	for _, c := range []struct {
		name    string
		m       Mould
		ml, tol float64
	}{
		// Cone frustum with radii 5 and 3 and height 10: 490π/3.
		{"frustum", of(ConeFrustum, Dimensions{TopDiameterMM: some(100), BottomDiameterMM: some(60), DepthMM: some(100)}), 513.127, 5e-4},
		// Moscow mathematical papyrus, problem 14: 56 exactly.
		{"papyrus", of(TaperedBox, Dimensions{TopLengthMM: some(20), TopWidthMM: some(20), BottomLengthMM: some(40), BottomWidthMM: some(40),
			DepthMM: some(60)}), 56, 1e-9},
		// Similar ends with areas 100 and 64, height 5: 406.667.
		{"similar ends", of(TaperedBox, Dimensions{TopLengthMM: some(100), TopWidthMM: some(100), BottomLengthMM: some(80), BottomWidthMM: some(80),
			DepthMM: some(50)}), 406.667, 5e-4},
		// Loaf tin 25 × 9 above 23 × 8, 7 deep, by the prismoid rule. The rule
		// for similar ends would give 1429.096.
		{"tapered tin", of(TaperedBox, Dimensions{TopLengthMM: some(250), TopWidthMM: some(90), BottomLengthMM: some(230), BottomWidthMM: some(80),
			DepthMM: some(70)}), 1429.167, 5e-4},
		// Cap of a sphere of radius 5, height 2. Its rim is 4 from the axis.
		{"cap", of(SphericalCap, Dimensions{RimDiameterMM: some(80), DepthMM: some(20)}), 54.4543, 5e-5},
		{"hemisphere, 2πr³/3", of(SphericalCap, Dimensions{RimDiameterMM: some(60), DepthMM: some(30)}), 2 * math.Pi * 27 / 3, 1e-9},
		// A rim of 1 mm on a sphere of radius 3: nearly all of 4πr³/3.
		{"all but a sphere", of(SphericalCap, Dimensions{RimDiameterMM: some(1), DepthMM: some(30 + math.Sqrt(900-0.25))}), 4 * math.Pi * 27 / 3, 1e-4},
		{"half ellipsoid of equal axes", of(HalfEllipsoid, Dimensions{LengthMM: some(60), WidthMM: some(60), DepthMM: some(30)}), 2 * math.Pi * 27 / 3, 1e-9},
		// Half axes 5, 3 and 2: 2π/3 · 30.
		{"half ellipsoid", of(HalfEllipsoid, Dimensions{LengthMM: some(100), WidthMM: some(60), DepthMM: some(20)}), 62.8318530718, 1e-9},
		// Diameter 7.5, height 25.
		{"cylinder", of(Cylinder, Dimensions{DiameterMM: some(75), DepthMM: some(250)}), 1104.466, 5e-4},
		{"half of it, lying", of(HalfCylinder, Dimensions{DiameterMM: some(75), LengthMM: some(250)}), 1104.466 / 2, 5e-4},
		{"frustum of equal ends is a cylinder", of(ConeFrustum, Dimensions{TopDiameterMM: some(75), BottomDiameterMM: some(75), DepthMM: some(250)}),
			1104.466, 5e-4},
		{"cuboid", of(Cuboid, Dimensions{LengthMM: some(250), WidthMM: some(80), DepthMM: some(65)}), 1300, 1e-9},
	} {
		if v := volumeOf(t, c.m); math.Abs(v.Value-c.ml) > c.tol || !(v.SD > 0) {
			t.Errorf("%s: %.6f ± %.6f mL, want %.6f", c.name, v.Value, v.SD, c.ml)
		}
	}
}

// 1234.5 g at 22 °C: ISO 8655-6 gives Z(22) near 1.0033 mL/g. Worked with
// Kell's density it is 1238.56 mL (tolerance 0.1, the table's last digit).
func TestAFillOfWaterIsAVolume(t *testing.T) {
	m := Mould{Shape: Measured, WaterG: []float64{1234.5}, WaterC: some(22), Cavities: 6, Sets: 2}
	if v := volumeOf(t, m); math.Abs(v.Value-1238.56) > 0.1 || math.Abs(v.SD-0.005*v.Value) > 1e-9 {
		t.Errorf("one fill: %+v", v)
	}
	// ISO 8655-6 (from memory): Z(20) 1.0029, Z(25) 1.0040.
	for c, z := range map[float64]float64{20: 1.0029, 25: 1.0040} {
		if got, err := lye.BalanceToMillilitres(c); err != nil || math.Abs(got-z) > 0.5e-4+1e-5 {
			t.Errorf("Z(%v) = %.5f, %v; want %.4f", c, got, err, z)
		}
	}
	// Three fills: mean 118.3667, s 0.20817, standard error 0.12019 g (worked by hand).
	m.WaterG, m.WaterC = []float64{118.2, 118.6, 118.3}, some(21)
	v := volumeOf(t, m)
	if math.Abs(v.Value-118.36667*1.00307) > 2e-3 || math.Abs(v.SD-0.12019*1.00307) > 1e-4 {
		t.Errorf("three fills: %+v", v)
	}
	// A rim of 40 mm adds (π/4 · 40² · 1 mm)/√3 = 0.72552 mL in quadrature.
	m.RimDiameterMM = some(40)
	if u := volumeOf(t, m).SD; math.Abs(u-math.Hypot(v.SD, 0.72552)) > 1e-4 {
		t.Errorf("with a meniscus: %v", u)
	}
}

// The doubt of a cuboid by hand: each relative term is 0.5/√3 divided by the
// side.
func TestDoubtOfDimensions(t *testing.T) {
	v := volumeOf(t, of(Cuboid, Dimensions{LengthMM: some(250), WidthMM: some(80), DepthMM: some(65)}))
	u := 0.5 / math.Sqrt(3)
	want := 1300 * math.Sqrt(u*u/(250*250)+u*u/(80*80)+u*u/(65*65))
	if math.Abs(v.SD-want) > 1e-6*want { // the central difference is exact for a product, to binary rounding
		t.Errorf("%v, want %v", v.SD, want)
	}
}

var closed = []Shape{Cuboid, Cylinder, HalfCylinder, ConeFrustum, TaperedBox, SphericalCap, HalfEllipsoid}

func anyMould(t *rapid.T) Mould {
	m := of(rapid.SampledFrom(closed).Draw(t, "shape"), Dimensions{})
	for _, name := range m.Shape.Fields() {
		*m.Field(name) = some(rapid.Float64Range(8, 400).Draw(t, name))
	}
	return m
}

// Simpson's rule over the areas shares only the spans with the closed forms.
// With h = D(1 − cos θ)/2 the square-root ends of a half cylinder become
// smooth.
func TestVolumeIsTheIntegralOfAreas(t *testing.T) {
	seen := map[Shape]bool{}
	rapid.Check(t, func(t *rapid.T) {
		m := anyMould(t)
		seen[m.Shape] = true
		deep, _ := m.Depth()
		level := deep * rapid.Float64Range(0.01, 1).Draw(t, "share")
		const n = 400
		var sum float64
		for i := 0; i <= n; i++ {
			th := math.Pi * float64(i) / n
			w := 2.0 + 2*float64(i%2)
			if i == 0 || i == n {
				w = 1
			}
			h := min(level*(1-math.Cos(th))/2, level)
			sum += w * m.AreaAt(h) * level / 2 * math.Sin(th)
		}
		want := sum * math.Pi / n / 3 / 1000
		got, err := m.VolumeBelow(level)
		if err != nil || math.Abs(got-want) > 1e-6*want {
			t.Fatalf("%v %+v below %v: %v, %v; by integration %v", m.Shape, m.Dimensions, level, got, err, want)
		}
	})
	if len(seen) != len(closed) {
		t.Errorf("only %d of %d shapes were tried", len(seen), len(closed))
	}
}

func TestLevelsAndVolumesAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMould(t)
		v, err := m.Volume()
		if err != nil {
			t.Fatal(err)
		}
		ml := v.Value * rapid.Float64Range(0, 1).Draw(t, "share")
		h, err := m.LevelFor(ml)
		if err != nil {
			t.Fatal(err)
		}
		back, err := m.VolumeBelow(h)
		if err != nil || math.Abs(back-ml) > 1e-9*v.Value {
			t.Fatalf("%v mL stand at %v mm, where %v mL are (%v)", ml, h, back, err)
		}
		more, err := m.LevelFor(v.Value)
		if deep, _ := m.Depth(); err != nil || math.Abs(more-deep) > 1e-9*deep || h > more {
			t.Fatalf("full at %v of %v mm, %v", more, deep, err)
		}
	})
}

func TestAMeasuredCavityGoesByProportion(t *testing.T) {
	m := Mould{Shape: Measured, WaterG: []float64{100}, WaterC: some(20), Cavities: 1, Sets: 1}
	if _, err := m.LevelFor(10); err == nil || !strings.Contains(err.Error(), "depth_mm: The depth of this cavity is not known") {
		t.Errorf("a level without a depth: %v", err)
	}
	if _, err := m.VolumeBelow(10); err == nil {
		t.Error("a volume below a level without a depth")
	}
	m.DepthMM = some(50)
	h, err := m.LevelFor(volumeOf(t, m).Value / 4)
	if err != nil || math.Abs(h-12.5) > 1e-9 || !m.Proportional() {
		t.Errorf("%v, %v", h, err)
	}
	if ml, err := m.VolumeBelow(25); err != nil || math.Abs(ml-volumeOf(t, m).Value/2) > 1e-9 {
		t.Errorf("%v, %v", ml, err)
	}
	for _, bad := range []float64{-1, 51, math.NaN(), math.Inf(1)} {
		if _, err := m.VolumeBelow(bad); err == nil {
			t.Errorf("a volume below %v", bad)
		}
		if _, err := m.LevelFor(bad * 4); err == nil {
			t.Errorf("a level for %v", bad*4)
		}
	}
}

func TestEveryFaultOfAMouldHasAFieldAndASentence(t *testing.T) {
	loaf := func(change func(*Mould)) Mould {
		m := of(Cuboid, Dimensions{LengthMM: some(250), WidthMM: some(80), DepthMM: some(65)})
		change(&m)
		return m
	}
	sculpted := func(change func(*Mould)) Mould {
		m := Mould{Shape: Measured, WaterG: []float64{118.2, 118.6, 118.3}, WaterC: some(21), Cavities: 6, Sets: 2}
		change(&m)
		return m
	}
	for _, c := range []struct {
		m           Mould
		field, want string
	}{
		{loaf(func(m *Mould) { m.Shape = ShapeUnset }), "shape", "has no shape: choose measured, cuboid"},
		{loaf(func(m *Mould) { m.Shape = 77 }), "shape", "has no shape"},
		{loaf(func(m *Mould) { m.LengthMM = quantity.Maybe{} }), "length_mm", "The length is missing: a cuboid needs it"},
		{loaf(func(m *Mould) { m.LengthMM = some(0) }), "length_mm", "would hold nothing"},
		{loaf(func(m *Mould) { m.WidthMM = some(-5) }), "width_mm", "below 0"},
		{loaf(func(m *Mould) { m.DepthMM = some(math.NaN()) }), "depth_mm", "is not a number"},
		{loaf(func(m *Mould) { m.DepthMM = some(math.Inf(1)) }), "depth_mm", "is not a number"},
		{loaf(func(m *Mould) { m.DepthMM = some(0.01) }), "depth_mm", "thinner than a mould can be"},
		{loaf(func(m *Mould) { m.DepthMM = some(2500) }), "depth_mm", "over two metres"},
		{loaf(func(m *Mould) { m.DiameterMM = some(70) }), "diameter_mm", "A cuboid has no diameter"},
		{loaf(func(m *Mould) { m.WaterG = []float64{1} }), "water_g", "Fills of water are given for a cuboid"},
		{loaf(func(m *Mould) { m.WaterC = some(20) }), "water_c", "given for a cuboid"},
		{loaf(func(m *Mould) { m.LengthMM, m.WidthMM, m.DepthMM = some(1), some(1), some(1) }), "length_mm", "next to nothing"},
		{loaf(func(m *Mould) { m.Cavities = 0 }), "cavities", "There are no cavities in one set"},
		{loaf(func(m *Mould) { m.Cavities = -3 }), "cavities", "-3 cannot be"},
		{loaf(func(m *Mould) { m.Sets = 5000 }), "sets", "more than a bench holds"},
		{loaf(func(m *Mould) { m.ReleaseHours = some(-1) }), "release_hours", "A release time of"},
		{loaf(func(m *Mould) { m.ReleaseHours = some(math.NaN()) }), "release_hours", "A release time of"},
		{loaf(func(m *Mould) { m.MaxTempC = some(5) }), "max_temp_c", "A mould cannot stand"},
		{loaf(func(m *Mould) { m.Name = strings.Repeat("a", 300) }), "name", "300 letters long"},
		{loaf(func(m *Mould) { m.Note = strings.Repeat("ü", 5000) }), "note", "5000 letters long"},
		{sculpted(func(m *Mould) { m.WaterG = nil }), "water_g", "No fill of water is given"},
		{sculpted(func(m *Mould) { m.WaterG = make([]float64, 60) }), "water_g", "60 fills are given"},
		{sculpted(func(m *Mould) { m.WaterG[1] = math.NaN() }), "water_g", "Fill 2 is not a number"},
		{sculpted(func(m *Mould) { m.WaterG[1] = -3 }), "water_g", "Fill 2 is \u22123.0 g"},
		{sculpted(func(m *Mould) { m.WaterG[1] = 0.001 }), "water_g", "less than a drop"},
		{sculpted(func(m *Mould) { m.WaterG[1] = 1e9 }), "water_g", "over a tonne"},
		{sculpted(func(m *Mould) { m.WaterG[1] = 1186 }), "water_g", "The fills run from 118.2 to 1\u202f186.0 g, too far apart"},
		{sculpted(func(m *Mould) { m.WaterC = quantity.Maybe{} }), "water_c", "temperature of the water is missing"},
		{sculpted(func(m *Mould) { m.WaterC = some(math.NaN()) }), "water_c", "is not a number"},
		{sculpted(func(m *Mould) { m.WaterC = some(95) }), "water_c", "is outside 0 to 40 °C"},
		{sculpted(func(m *Mould) { m.LengthMM = some(50) }), "length_mm", "A measured cavity has no length"},
	} {
		l := c.m.Validate()
		i := slices.IndexFunc(l, func(f *fault.Error) bool { return f.Field == c.field && strings.Contains(f.Message, c.want) })
		if i < 0 {
			t.Errorf("want %s: …%s…, got %v", c.field, c.want, l)
			continue
		}
		if l[i].Kind != fault.Invalid {
			t.Errorf("%s is of kind %v", c.field, l[i].Kind)
		}
		if v, err := c.m.Volume(); err == nil || v != (quantity.Reading[float64]{}) {
			t.Errorf("%s: a mould that is refused still holds %v", c.field, v)
		}
		if f := c.m.Findings(); f != nil {
			t.Errorf("%s: a mould that is refused still has findings: %v", c.field, f)
		}
	}
	for _, m := range []Mould{loaf(func(*Mould) {}), sculpted(func(*Mould) {}), sculpted(func(m *Mould) { m.DepthMM, m.RimDiameterMM = some(40), some(50) })} {
		if l := m.Validate(); len(l) > 0 || len(m.Findings()) > 0 {
			t.Errorf("a sound mould: %v, %v", l, m.Findings())
		}
	}
}

func TestFindings(t *testing.T) {
	for rule, m := range map[string]Mould{
		"mould-filled-once":  {Shape: Measured, WaterG: []float64{118}, WaterC: some(21), Cavities: 1, Sets: 1},
		"mould-fills-spread": {Shape: Measured, WaterG: []float64{118, 124}, WaterC: some(21), Cavities: 1, Sets: 1},
		"mould-undercut":     of(ConeFrustum, Dimensions{TopDiameterMM: some(50), BottomDiameterMM: some(60), DepthMM: some(30)}),
	} {
		fs := m.Findings()
		if len(fs) != 1 || fs[0].Rule != rule || fs[0].Message == "" || fs[0].Source == "" || fs[0].Remedy == "" {
			t.Errorf("%s: %+v", rule, fs)
		}
	}
	if fs := of(SphericalCap, Dimensions{RimDiameterMM: some(40), DepthMM: some(30)}).Findings(); len(fs) != 1 || fs[0].Rule != "mould-undercut" {
		t.Errorf("a cap deeper than a hemisphere: %+v", fs)
	}
	if fs := of(SphericalCap, Dimensions{RimDiameterMM: some(60), DepthMM: some(30)}).Findings(); len(fs) != 0 {
		t.Errorf("a hemisphere: %+v", fs)
	}
}

func TestBatterAndPiecesAgree(t *testing.T) {
	// 12 pieces of 100 mL at 80 %, with 3 % overage and 15 mL left in the pot:
	// 12·80·1.03 + 15.
	m := Mould{Shape: Cuboid, Dimensions: Dimensions{LengthMM: some(100), WidthMM: some(50), DepthMM: some(20)}, Cavities: 5, Sets: 2}
	f := Fill{Pct: 80, OveragePct: 3, PotLossML: 15}
	if ml, err := m.BatterFor(12, f); err != nil || math.Abs(ml-1003.8) > 1e-9 {
		t.Errorf("%v, %v", ml, err)
	}
	// 1 100 mL: (1100 − 15)/82.4 = 13.17, so 13 pieces, 13.8 mL left and 2
	// rounds of 10.
	fit, err := m.Pieces(1100, f)
	if err != nil || fit.Pieces != 13 || math.Abs(fit.LeftML-13.8) > 1e-9 || math.Abs(fit.PieceML-80) > 1e-9 || fit.Rounds != 2 {
		t.Errorf("%+v, %v", fit, err)
	}
	if fit, err := m.Pieces(10, f); err != nil || fit.Pieces != 0 || fit.LeftML != 0 || fit.Rounds != 0 {
		t.Errorf("less than stays in the pot: %+v, %v", fit, err)
	}
	rapid.Check(t, func(t *rapid.T) {
		m := anyMould(t)
		f := Fill{Pct: rapid.Float64Range(1, 100).Draw(t, "pct"), OveragePct: rapid.Float64Range(0, 50).Draw(t, "over"),
			PotLossML: rapid.Float64Range(0, 500).Draw(t, "loss")}
		n := rapid.IntRange(1, 500).Draw(t, "n")
		ml, err := m.BatterFor(n, f)
		if err != nil {
			t.Fatal(err)
		}
		fit, err := m.Pieces(ml, f)
		if err != nil || fit.Pieces != n {
			t.Fatalf("%d pieces need %v mL, which fill %d (%v)", n, ml, fit.Pieces, err)
		}
	})
	for field, call := range map[string]func() error{
		"pieces":      func() error { _, err := m.BatterFor(0, f); return err },
		"fill_pct":    func() error { _, err := m.BatterFor(1, Fill{Pct: 101}); return err },
		"overage_pct": func() error { _, err := m.Pieces(1, Fill{Pct: 1, OveragePct: math.NaN()}); return err },
		"pot_loss_ml": func() error { _, err := m.Pieces(1, Fill{Pct: 1, PotLossML: -1}); return err },
		"batter_ml":   func() error { _, err := m.Pieces(math.Inf(1), f); return err },
	} {
		if err := call(); err == nil || fault.All(err)[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}

func TestShapesAreReadByName(t *testing.T) {
	for _, s := range Shapes() {
		if got, err := ParseShape(s.String()); err != nil || got != s {
			t.Errorf("%v: %v, %v", s, got, err)
		}
		if s != Measured && len(s.Fields()) == 0 {
			t.Errorf("%v has no dimensions", s)
		}
		for _, f := range s.Fields() {
			if FieldWords(f) == "" {
				t.Errorf("%s has no words", f)
			}
		}
	}
	if got, err := ParseShape(" Half Cylinder "); err != nil || got != HalfCylinder {
		t.Errorf("%v, %v", got, err)
	}
	for _, bad := range []string{"", "round", strings.Repeat("x", 1000)} {
		if s, err := ParseShape(bad); err == nil || s != ShapeUnset || len(err.Error()) > 250 {
			t.Errorf("%.20q: %v, %v", bad, s, err)
		}
	}
}

func FuzzMouldJSON(f *testing.F) {
	seeds := []Mould{
		of(Cuboid, Dimensions{LengthMM: some(250), WidthMM: some(80), DepthMM: some(65)}),
		of(SphericalCap, Dimensions{RimDiameterMM: some(60), DepthMM: some(30)}),
		of(TaperedBox, Dimensions{TopLengthMM: some(250), TopWidthMM: some(90), BottomLengthMM: some(230), BottomWidthMM: some(80), DepthMM: some(70)}),
		{Shape: Measured, WaterG: []float64{118.2, 118.6}, WaterC: some(21), Cavities: 6, Sets: 2, Dimensions: Dimensions{RimDiameterMM: some(40)}},
	}
	for _, m := range seeds {
		b, err := json.Marshal(m)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte(`{"shape":"half-ellipsoid","length_mm":1e308,"width_mm":-0,"depth_mm":null,"cavities":1,"sets":1}`))
	f.Add([]byte(`{"shape":"","water_g":[null,1e400]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		var m Mould
		if json.Unmarshal(b, &m) != nil {
			return
		}
		for _, e := range m.Validate() {
			if e.Field == "" || e.Message == "" || strings.Contains(e.Message, "NaN") {
				t.Fatalf("a poor fault: %+v", e)
			}
		}
		v, err := m.Volume()
		if err != nil {
			if v.Value != 0 || v.SD != 0 || len(m.Validate()) == 0 {
				t.Fatalf("%v with %v", v, err)
			}
			return
		}
		if !quantity.Finite(v.Value) || !quantity.Finite(v.SD) || v.Value <= 0 || v.SD < 0 {
			t.Fatalf("%+v holds %+v", m, v)
		}
		for _, x := range m.Findings() {
			if s := fmt.Sprint(x); strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
				t.Fatalf("%s", s)
			}
		}
		if deep, ok := m.Depth(); ok {
			for _, share := range []float64{0, 0.3, 1} {
				a, ml := m.AreaAt(deep*share), 0.0
				if ml, err = m.VolumeBelow(deep * share); err != nil || !quantity.Finite(a) || !quantity.Finite(ml) {
					t.Fatalf("%+v at %v: %v mm², %v mL, %v", m, share, a, ml, err)
				}
				if h, err := m.LevelFor(v.Value * share); err != nil || !quantity.Finite(h) {
					t.Fatalf("%+v at %v: %v, %v", m, share, h, err)
				}
			}
		}
		again, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		var back Mould
		if err := json.Unmarshal(again, &back); err != nil {
			t.Fatal(err)
		}
		if w, err := back.Volume(); err != nil || w != v {
			t.Fatalf("%s holds %v and, written and read again, %v (%v)", b, v, w, err)
		}
	})
}
