package soap

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/formula"
	"barwright/quantity"
)

// FuzzWork gives the sums whatever a store or a file may hold, however odd.
// They must not panic, and no figure may be infinite or not a number.
func FuzzWork(f *testing.F) {
	files, err := filepath.Glob("../formula/testdata/weigh/*.toml")
	if err != nil || len(files) == 0 {
		f.Fatalf("no formula to start from: %v", err)
	}
	cat, err := catalogue.Default()
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		fo, err := formula.ReadTOML(name, text)
		if err != nil {
			f.Fatal(err)
		}
		doc, err := formula.Encode(fo)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(doc)
		fo.Liquid = formula.Liquid{LaterPct: 20, PeakC: quantity.Some(5)}
		fo.Water = formula.Water{Rule: formula.ByDiscount, Value: 10, FullPct: 38}
		fo.Alkali.NaOHSolutionPct = quantity.Some(50)
		fo.Extras = append(fo.Extras, formula.Extra{ID: "goat-milk", Dose: 50, Per: formula.PerLiquid, Into: formula.IntoLye})
		if doc, err = formula.Encode(fo); err != nil {
			f.Fatal(err)
		}
		f.Add(doc)
	}
	doc, err := formula.Encode(aMelt())
	if err != nil {
		f.Fatal(err)
	}
	f.Add(doc)
	f.Fuzz(func(t *testing.T, doc []byte) {
		fo, err := formula.Decode(doc)
		if err != nil {
			return
		}
		r, err := Work(fo, cat)
		if err != nil {
			return
		}
		sf := r.Draw(100, Seed)
		// JSON refuses a number that is not finite, wherever it is.
		for what, v := range map[string]any{"superfat": sf, "first order": r.Superfat, "lye": r.Lye, "batter": r.Batter, "bar": r.Bar,
			"fats": r.Fats, "bases": r.Bases, "portions": r.Portions, "constituents": r.Constituents(), "strata": r.Strata(), "composition": r.Composition(),
			"extras": r.Extras, "scents": r.Scents, "plan": r.Plan(), "doubts": r.Doubts(),
			"masses": []float64{r.NaOHG, r.KOHG, r.WaterG, r.AllWaterG, r.ShortWaterG, r.ConcentrationPct}} {
			if _, err := json.Marshal(v); err != nil {
				t.Errorf("%s: %v", what, err)
			}
		}
		for _, x := range Findings(r, sf, DefaultLimits()) {
			for _, text := range []string{x.Message, x.Remedy} {
				if strings.Contains(text, "NaN") || strings.Contains(text, "Inf") || strings.Contains(text, "%!") {
					t.Errorf("%s: %s", x.Rule, text)
				}
			}
		}
	})
}
