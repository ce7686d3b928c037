package soap

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/formula"
	"barwright/quantity"
)

// worked is a formula as an independent program worked it out. That program was
// written from the equations alone and shares no code with this one.
type worked struct {
	Fats []struct {
		MassG float64 `json:"mass_g"`
		SAP   float64 `json:"sap_mg_koh_g"`
	} `json:"fats"`
	Alkali struct {
		NaOHG float64 `json:"naoh_g"`
		KOHG  float64 `json:"koh_g"`
		Mol   float64 `json:"mol"`
	} `json:"alkali"`
	WaterG   float64 `json:"water_g"`
	Superfat struct {
		Low    float64 `json:"p2_5_pct"`
		High   float64 `json:"p97_5_pct"`
		Excess float64 `json:"excess_alkali_probability"`
		For    float64 `json:"superfat_for_1_in_1000_pct"`
		SD     float64 `json:"std_first_order_pct"`
	} `json:"superfat"`
	Lye struct {
		MassG float64  `json:"mass_g"`
		Conc  float64  `json:"concentration_pct"`
		PeakC *float64 `json:"peak_c"`
	} `json:"lye_solution"`
	Batter struct {
		MassG   float64 `json:"mass_g"`
		Density float64 `json:"density_g_ml"`
	} `json:"batter"`
	Bar struct {
		MassG    float64            `json:"cured_mass_g"`
		TFM      float64            `json:"tfm_pct"`
		Glycerol float64            `json:"glycerol_pct"`
		Iodine   float64            `json:"iodine_value"`
		OX       float64            `json:"oxidizability"`
		Groups   map[string]float64 `json:"groups"`
		Species  []struct {
			Name  string  `json:"name"`
			MassG float64 `json:"mass_g"`
		} `json:"composition"`
	} `json:"bar"`
	Scents []struct {
		Pct    float64 `json:"pct_of_cured_bar"`
		Within bool    `json:"within_limit"`
	} `json:"scents"`
}

func some(v float64) quantity.Maybe { return quantity.Some(v) }

func workedOne() *formula.Formula {
	return &formula.Formula{
		Name: "Worked one", Method: formula.Cold, SuperfatPct: 5, FatsG: 1000,
		Water: formula.Water{Value: 33}, CureWaterLossPct: some(60),
		Alkali:         formula.Alkali{NaOHPurityPct: some(99), PurityHalfWidthPct: 0.5},
		ScaleDivisionG: some(1),
		Fats: []formula.Fat{
			{ID: "olive-oil", Pct: 60, SAP: some(190), SAPHalfWidth: some(1)},
			{ID: "coconut-oil", Pct: 30, SAP: some(257), SAPHalfWidth: some(2)},
			{ID: "castor-oil", Pct: 10, SAP: some(180), SAPHalfWidth: some(1.5)},
		},
		Scents: []formula.Scent{{Name: "Fig and sea salt", DosePct: 5, LimitPct: some(6.2)}},
	}
}

func workedTwo() *formula.Formula {
	return &formula.Formula{
		Name: "Worked two", Method: formula.Cold, SuperfatPct: 6, FatsG: 1200,
		Water: formula.Water{Value: 31}, CureWaterLossPct: some(65),
		Alkali:         formula.Alkali{KOHMolPct: 6, NaOHPurityPct: some(98.5), KOHPurityPct: some(90), PurityHalfWidthPct: 0.8},
		ScaleDivisionG: some(0.5),
		Fats: []formula.Fat{
			{ID: "palm-kernel-oil", Pct: 28}, {ID: "rice-bran-oil", Pct: 40},
			{ID: "lard", Pct: 28}, {ID: "stearic-acid-95", Pct: 4},
		},
		Extras: []formula.Extra{
			{ID: "citric-acid", Dose: 8},
			{ID: "coconut-milk-powder", Dose: 30, FatPct: some(60), WaterPct: some(2), SAP: some(256)},
		},
		Scents: []formula.Scent{{Name: "Driftwood", DosePct: 2, Of: formula.OfBatter, LimitPct: some(2.3)}},
	}
}

func mustCatalogue(t testing.TB) *catalogue.Catalogue {
	t.Helper()
	c, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func mustWork(t testing.TB, f *formula.Formula) *Result {
	t.Helper()
	r, err := Work(f, mustCatalogue(t))
	if err != nil {
		t.Fatalf("%s: %v", f.Name, err)
	}
	return r
}

// TestWorkedFormulas compares two formulas with the figures of the independent
// program, within the agreed tolerances: masses 3e-4 of themselves; the ends of
// the interval 0.05 plus 3 % of the standard deviation; chances 0.002; TFM 0.4,
// glycerol 0.12, groups 0.35 points; iodine value 1; oxidizability 0.006;
// density 0.025 g/mL (the densities of its extras are guesses); peak 1.5 °C;
// scents 0.01 points.
func TestWorkedFormulas(t *testing.T) {
	for name, f := range map[string]*formula.Formula{"w1": workedOne(), "w2": workedTwo()} {
		t.Run(name, func(t *testing.T) {
			b, err := os.ReadFile("testdata/" + name + ".expected.json")
			if err != nil {
				t.Fatal(err)
			}
			var w worked
			if err := json.Unmarshal(b, &w); err != nil {
				t.Fatal(err)
			}
			r := mustWork(t, f)
			near := func(what string, got, want, tol float64) {
				t.Helper()
				if !(math.Abs(got-want) <= tol) {
					t.Errorf("%s is %.6g, want %.6g ± %.3g", what, got, want, tol)
				}
			}
			mass := func(what string, got, want float64) {
				t.Helper()
				near(what, got, want, 3e-4*math.Abs(want)+1e-6)
			}
			for i := range w.Fats {
				mass(r.Fats[i].Name, r.Fats[i].MassG, w.Fats[i].MassG)
				near("SAP of "+r.Fats[i].Name, r.Fats[i].SAP, w.Fats[i].SAP, 1e-9)
			}
			mass("NaOH", r.NaOHG, w.Alkali.NaOHG)
			mass("KOH", r.KOHG, w.Alkali.KOHG)
			mass("alkali", r.Mol, w.Alkali.Mol)
			mass("water", r.WaterG, w.WaterG)
			sf := r.Draw(Draws, Seed)
			end := 0.05 + 0.03*w.Superfat.SD
			near("2.5 % point", sf.LowPct, w.Superfat.Low, end)
			near("97.5 % point", sf.HighPct, w.Superfat.High, end)
			near("chance of excess", sf.Excess, w.Superfat.Excess, 0.002)
			near("superfat for 1 in 1000", sf.For1In1000Pct, w.Superfat.For, end)
			near("standard uncertainty", sf.SDPct, w.Superfat.SD, 1e-3*w.Superfat.SD)
			// The first-order interval must agree too.
			near("2.5 % point, first order", r.Superfat.LowPct, w.Superfat.Low, end)
			near("97.5 % point, first order", r.Superfat.HighPct, w.Superfat.High, end)
			near("superfat for 1 in 1000, first order", r.Superfat.For1In1000Pct, w.Superfat.For, 2*end)
			mass("lye solution", r.Lye.MassG, w.Lye.MassG)
			near("lye concentration", r.Lye.ConcentrationPct, w.Lye.Conc, 0.01)
			if (w.Lye.PeakC != nil) != r.Lye.PeakC.Known {
				t.Errorf("peak known: %v, want %v", r.Lye.PeakC.Known, w.Lye.PeakC != nil)
			} else if w.Lye.PeakC != nil {
				near("peak", r.Lye.PeakC.V, *w.Lye.PeakC, 1.5)
			}
			mass("batter", r.Batter.MassG, w.Batter.MassG)
			near("density", r.Batter.DensityGML, w.Batter.Density, 0.025)
			mass("cured bar", r.Bar.MassG, w.Bar.MassG)
			near("TFM", r.Bar.TFMPct, w.Bar.TFM, 0.4)
			near("glycerol", r.Bar.GlycerolPct, w.Bar.Glycerol, 0.12)
			near("iodine value", r.Bar.IodineValue, w.Bar.Iodine, 1)
			near("oxidizability", r.Bar.Oxidizable, w.Bar.OX, 0.006)
			for g := range catalogue.NumGroups {
				name := catalogue.Group(g).String()
				near(name, r.Bar.GroupsPct[g], w.Bar.Groups[name+"_pct"], 0.35)
			}
			for i := range w.Scents {
				near("scent", r.Scents[i].PctOfBar, w.Scents[i].Pct, 0.01)
				if r.Scents[i].Within() != w.Scents[i].Within {
					t.Errorf("scent %d within its limit: %v", i, r.Scents[i].Within())
				}
			}
			if len(w.Bar.Species) == 0 {
				t.Fatal("no species to compare: this test has tested nothing")
			}
			ours := map[string]float64{}
			for _, s := range r.Composition() {
				ours[s.Name] += s.MassG
			}
			for _, s := range w.Bar.Species {
				name := strings.ReplaceAll(s.Name, "of unknown", "of unknown acids")
				if name == "coconut-milk-powder" {
					name = r.Extras[1].Name
				}
				mass(name, ours[name], s.MassG)
			}
		})
	}
}
