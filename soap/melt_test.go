package soap

import (
	"math"
	"slices"
	"strings"
	"testing"

	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
)

func aMelt() *formula.Formula {
	return &formula.Formula{
		Name: "Rock", Method: formula.Melt, FatsG: 600, PourC: some(58),
		Bases: []formula.Base{
			{Name: "Clear base", Pct: 75, INCI: "Aqua, Glycerin, Sodium Stearate", DensityGML: some(1.05), SoftensC: some(52), MaxMeltC: some(75),
				MaxPourC: some(63)},
			{Name: "White base", Pct: 25},
		},
		Melting: formula.Melting{MeltC: some(68), Remelts: 1, EvaporationPct: some(1.5)},
		Extras:  []formula.Extra{{ID: "kaolin", Dose: 10, Per: formula.PerKgBatter}},
		Scents: []formula.Scent{{Name: "Fig", DosePct: 2, LimitPct: some(6), Constituents: []formula.Constituent{
			{Name: "Linalool", Pct: 12.5}, {Name: "Geranial", Pct: 0.3}, {Name: "Neral", Pct: 0.21}, {Name: "Coumarin", Pct: 0.4}}}},
		Portions: []formula.Portion{
			{Name: "dark", By: formula.ByMass, Amount: 200, Colourants: []formula.Colour{{ID: "charcoal", GPerKg: 6}}},
			{Name: "drops", By: formula.ByVolume, Amount: 50},
			{Name: "clear", By: formula.ByRest},
		},
	}
}

// quietMelt is a melt about which there is nothing to say.
func quietMelt() *formula.Formula {
	return &formula.Formula{Name: "Quiet", Method: formula.Melt, FatsG: 500, PourC: some(58),
		Bases:   []formula.Base{{Name: "Base", Pct: 100, INCI: "Aqua, Sodium Stearate, Sodium Laurate", MaxMeltC: some(75), MaxPourC: some(63)}},
		Melting: formula.Melting{MeltC: some(68), EvaporationPct: some(1)}}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if math.Abs(got-want) > tol || math.IsNaN(got) {
		t.Errorf("%s is %.7g, want %.7g", what, got, want)
	}
}

// Worked by hand. There are 600 g of base and 12 g of scent (2 % of the base).
// Kaolin is 1 % of the melt m as poured, and 1.5 % evaporates:
//
//	m = 0.985 · (612 + 0.01 m) = 602.82 / 0.99015 = 608.816846 g
//	kaolin 6.088168 g; in all 618.088168 g went in, 9.271323 g of it evaporated
//	base left 590.728677 g: clear ¾ of it at 1.05 g/mL (stated), white ¼ at 1.04 g/mL (assumed)
//	volume 443.046508/1.05 + 147.682169/1.04 + 6.088168/2.6 + 12/0.95 = 578.924318 mL
func TestAMeltWorkedByHand(t *testing.T) {
	r := mustWork(t, aMelt())
	near(t, "melt", r.Batter.MassG, 608.816846, 1e-6)
	near(t, "kaolin", r.Extras[0].MassG, 6.088168, 1e-6)
	near(t, "scent", r.Scents[0].MassG, 12, 1e-9)
	near(t, "evaporated", r.Batter.LostG, 9.271323, 1e-6)
	near(t, "clear base to weigh", r.Bases[0].MassG, 450, 1e-9)
	near(t, "clear base left", r.Bases[0].LeftG, 443.046508, 1e-6)
	near(t, "volume", r.Batter.VolumeML, 443.046508/1.05+147.682169/1.04+6.088168/2.6+12/0.95, 1e-5)
	near(t, "density", r.Batter.DensityGML, 608.816846/r.Batter.VolumeML, 1e-9)
	near(t, "bar", r.Bar.MassG, r.Batter.MassG, 0)
	near(t, "scent in the bar", r.Scents[0].PctOfBar, 1.971036, 1e-6) // 12 / 608.816846
	if r.Bases[0].Assumed || !r.Bases[1].Assumed || r.Batter.Measured || !r.Melts() || r.Saponifies() {
		t.Errorf("%+v", r.Bases)
	}
	// There is no alkali and no lye, and nothing to draw.
	if r.NaOHG != 0 || r.KOHG != 0 || r.WaterG != 0 || r.Lye != (LyeSolution{}) || r.Draw(1000, 1) != r.Superfat || len(r.Doubts()) != 0 ||
		r.SuperfatOf(r.Plan()) != 0 {
		t.Errorf("a melt has lye: %+v, %+v", r.Lye, r.Superfat)
	}
	c := r.Composition()
	if len(c) != 4 || c[0].Name != "Clear base" || c[0].INCI != "Aqua, Glycerin, Sodium Stearate" || c[1].Name != "White base" ||
		c[2].INCI != "Parfum" || c[3].Name != "Kaolin (white clay)" {
		t.Errorf("composition %+v", c)
	}
	for _, s := range r.Stages() {
		near(t, s.Name, s.MassG, r.Batter.MassG, 0)
	}
	// The portions are 200 g, 50 mL, and what those leave. Charcoal at 6 g/kg
	// on 200 g is 1.2 g.
	near(t, "dark", r.Portions[0].MassG, 201.2, 1e-9)
	near(t, "charcoal", r.Portions[0].Colourants[0].MassG, 1.2, 1e-9)
	near(t, "drops", r.Portions[1].BatterG, 50*r.Batter.DensityGML, 1e-9)
	near(t, "clear", r.Portions[2].BatterG, r.Batter.MassG-200-50*r.Batter.DensityGML, 1e-9)
	near(t, "left", r.PortionsLeftG(), 0, 1e-9)
}

// Nothing dries, so a share of the bar is a share of the melt. With 3 % of
// scent and 5 g of mica per kg of batter, 965 parts of 1000 are left for 500 g
// of base. Worked by hand.
func TestDosesOnAMeltCountThemselves(t *testing.T) {
	f := quietMelt()
	f.Melting.EvaporationPct = quantity.Maybe{}
	f.Scents = []formula.Scent{{Name: "Fig", DosePct: 3, Of: formula.OfBar}}
	f.Extras = []formula.Extra{{ID: "mica", Dose: 5, Per: formula.PerKgBatter}}
	r := mustWork(t, f)
	near(t, "melt", r.Batter.MassG, 500/0.965, 1e-9)
	near(t, "scent", r.Scents[0].PctOfBar, 3, 1e-9)
	near(t, "mica", r.Extras[0].MassG, 5*500/965., 1e-9)
}

func TestAMeltThatCannotBeIsRefused(t *testing.T) {
	cat := mustCatalogue(t)
	for _, c := range []struct {
		edit         func(f *formula.Formula)
		field, words string
	}{
		{func(f *formula.Formula) { f.Bases = nil }, "base", "at least one base"},
		{func(f *formula.Formula) { f.Bases[0].Pct = 0 }, "base", "no base in the melt"},
		{func(f *formula.Formula) { f.FatsG = 0 }, "fats_g", "above 0 g"},
		{func(f *formula.Formula) { f.Bases[0].DensityGML = some(0) }, "base.1.density_g_ml", "above 0"},
		{func(f *formula.Formula) { f.Melting.EvaporationPct = some(100) }, "melting.evaporation_pct", "under 100"},
		{func(f *formula.Formula) {
			f.Melting.EvaporationPct, f.Extras = some(60), []formula.Extra{{ID: "kaolin", Dose: 2000}}
		}, "melting.evaporation_pct", "would evaporate"},
		{func(f *formula.Formula) {
			f.Scents = []formula.Scent{{Name: "Fig", DosePct: 100, Of: formula.OfBatter}}
		}, "doses", "add up to all of it"},
		{func(f *formula.Formula) { f.Fats = []formula.Fat{{ID: "olive-oil", Pct: 100}} }, "fat", "no fats"},
		{func(f *formula.Formula) { f.DensityGML = some(0) }, "measured_density_g_ml", "above 0"},
		{func(f *formula.Formula) {
			f.Portions = []formula.Portion{{Name: "a", By: formula.ByRest, Colourants: []formula.Colour{{ID: "mica"}, {ID: "mics"}}}}
		}, "portion.1.colours", "line 2: "},
	} {
		f := quietMelt()
		c.edit(f)
		_, err := Work(f, cat)
		if l := fault.All(err); len(l) != 1 || l[0].Field != c.field || !strings.Contains(l[0].Message, c.words) {
			t.Errorf("%s: %v, want %q", c.field, err, c.words)
		}
	}
}

// This is the worked formula, cooked. All of its water W is that of the lye,
// and none is made, since nothing in it is a free acid. When a fifth of W boils
// off, the pot is lighter by W/5. The bar stays the same, since 60 % of W is
// gone when it is sold. When 70 % boils off, the bar can hold no more than the
// other 30 %.
func TestWaterThatBoilsOffIsNotPoured(t *testing.T) {
	f := workedOne()
	f.Method = formula.Hot
	plain := mustWork(t, f)
	w := plain.AllWaterG
	f.CookLossPct = some(20)
	cooked := mustWork(t, f)
	near(t, "water to weigh", cooked.WaterG, plain.WaterG, 1e-9)
	near(t, "boiled off", cooked.Batter.LostG, w/5, 1e-9)
	near(t, "poured", cooked.Batter.MassG, plain.Batter.MassG-w/5, 1e-9)
	near(t, "sold", cooked.Bar.MassG, plain.Bar.MassG, 1e-9)
	near(t, "lost on the rack", cooked.Bar.WaterLostG, 0.4*w, 1e-9)
	near(t, "water left", cooked.Bar.Water, 0.4*w, 1e-9)
	near(t, "water poured", cooked.Stages()[0].WaterG, 0.8*w, 1e-9)
	near(t, "dried out", cooked.Stages()[2].MassG, plain.Stages()[2].MassG, 1e-9)
	if cooked.Batter.VolumeML >= plain.Batter.VolumeML || cooked.NaOHG != plain.NaOHG {
		t.Errorf("cooked %+v, plain %+v", cooked.Batter, plain.Batter)
	}
	f.CookLossPct = some(70)
	dry := mustWork(t, f)
	near(t, "water left", dry.Bar.Water, 0.3*w, 1e-9)
	near(t, "lost on the rack", dry.Bar.WaterLostG, 0, 1e-9)
	// A dose on the batter is counted on what is poured.
	f.CookLossPct = some(20)
	f.Scents = []formula.Scent{{Name: "Fig", DosePct: 3, Of: formula.OfBatter}}
	r := mustWork(t, f)
	near(t, "scent", 100*r.Scents[0].MassG/r.Batter.MassG, 3, 1e-7)
	// In the cold process nothing is cooked.
	f.Method = formula.Cold
	if r := mustWork(t, f); r.Batter.LostG != 0 {
		t.Errorf("cold, %g g boiled off", r.Batter.LostG)
	}
}

func TestAMeasuredDensityTakesTheEstimatesPlace(t *testing.T) {
	f := workedOne()
	estimate := mustWork(t, f).Batter
	f.DensityGML = some(0.98)
	b := mustWork(t, f).Batter
	if !b.Measured || b.DensityGML != 0.98 || b.MassG != estimate.MassG || estimate.Measured {
		t.Errorf("%+v, estimate %+v", b, estimate)
	}
	near(t, "volume", b.VolumeML, b.MassG/0.98, 1e-9)
	near(t, "estimate", b.EstimateGML, estimate.DensityGML, 1e-12)
}

// Two scents of a bar, worked by hand from Reg. (EC) 1223/2009 Annex III. A
// name is printed above 0.01 % in a product that is rinsed off, and geranial
// and neral share the printed name Citral. The melt is 1000 g: 25 g of the
// first scent is 2.5 %, and 1 g of the other is 0.1 %.
//
//	Linalool 25·12.5 % + 1·40 %    = 3.525 g     0.3525 %   named
//	Citral   25·(0.25 + 0.165) %   = 0.10375 g   0.010375 % named, though geranial
//	                                 alone is 0.00625 % and neral 0.004125 %
//	Coumarin 25·0.40 %             = 0.1 g       0.0100 %   at the threshold: not named
//	Vetiver  25·3 %                = 0.75 g                 not on the list
func TestStatedConstituentsAddUpOverScents(t *testing.T) {
	f := quietMelt()
	f.FatsG, f.Melting.EvaporationPct = 974, quantity.Maybe{}
	f.Scents = []formula.Scent{
		{Name: "Fig", DosePct: 2.5, Of: formula.OfBar, Constituents: []formula.Constituent{{Name: "Linalool", Pct: 12.5}, {Name: "Geranial", Pct: 0.25},
			{Name: "neral", Pct: 0.165}, {Name: "Coumarin", Pct: 0.4}, {Name: "Vetiver", Pct: 3}}},
		{Name: "Tar", DosePct: 0.1, Of: formula.OfBar, Constituents: []formula.Constituent{{Name: "LINALOOL (78-70-6)", Pct: 40}}},
	}
	r := mustWork(t, f)
	near(t, "bar", r.Bar.MassG, 1000, 1e-9)
	type row struct {
		name       string
		g          float64
		declarable bool
		listed     bool
		scents     []int
	}
	want := []row{{"Linalool", 3.525, true, true, []int{0, 1}}, {"Vetiver", 0.75, false, false, []int{0}}, {"Citral", 0.10375, true, true, []int{0}},
		{"Coumarin", 0.1, false, true, []int{0}}}
	got := r.Constituents()
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i, w := range want {
		c := got[i]
		if c.Name != w.name || c.Declarable != w.declarable || c.Listed != w.listed || !slices.Equal(c.Scents, w.scents) {
			t.Errorf("%d: %+v, want %+v", i, c, w)
		}
		near(t, w.name, c.MassG, w.g, 1e-9)
		near(t, w.name+" of the bar", c.PctOfBar, w.g/10, 1e-9)
	}
	if !slices.Equal(got[2].Stated, []string{"Geranial", "neral"}) {
		t.Errorf("Citral is stated as %q", got[2].Stated)
	}
}

// A test batch of 120 g of batter is made of a formula with a dose per batch
// and a portion by mass. Every mass scales with it.
func TestATestBatchOfAnySize(t *testing.T) {
	for _, f := range []*formula.Formula{workedTwo(), aMelt()} {
		f.Extras = append(f.Extras, formula.Extra{ID: "mica", Dose: 3, Per: formula.PerBatch})
		whole := mustWork(t, f)
		k := 120 / whole.Batter.MassG
		small, err := WorkAt(f, whole.SizedByBatter(120), mustCatalogue(t))
		if err != nil {
			t.Fatal(err)
		}
		near(t, f.Name, small.Batter.MassG, 120, 1e-6)
		near(t, "mica", small.Extras[len(small.Extras)-1].MassG, 3*k, 1e-9)
		for i := range whole.Portions {
			near(t, "portion", small.Portions[i].MassG, k*whole.Portions[i].MassG, 1e-6)
		}
	}
}
