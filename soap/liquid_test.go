package soap

import (
	"math"
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
)

func TestHalfOfTheLiquidAsMilkSettles(t *testing.T) {
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"goat-milk", "cow-milk", "coconut-milk", "buttermilk", "aloe-juice", "beer"} {
		for _, pct := range []float64{1, 25, 50, 75, 99} {
			for _, scent := range []float64{0, 3} {
				f := &formula.Formula{Name: "Milk", Method: formula.Cold, SuperfatPct: 5, FatsG: 1000, Water: formula.Water{Value: 33},
					Fats:   []formula.Fat{{ID: "olive-oil", Pct: 60}, {ID: "coconut-oil", Pct: 40}},
					Extras: []formula.Extra{{ID: id, Dose: pct, Per: formula.PerLiquid}},
					Scents: []formula.Scent{{Name: "Fig", DosePct: scent, Of: formula.OfBar}}}
				r, err := Work(f, cat)
				if err != nil {
					t.Errorf("%g %% of the liquid as %s, scent %g %%: %v", pct, id, scent, err)
					continue
				}
				// The share is that of the extra in the extra and the weighed
				// water together.
				if got := 100 * r.Extras[0].MassG / (r.Extras[0].MassG + r.WaterG); math.Abs(got-pct) > 1e-6 {
					t.Errorf("%s: %g %% of the liquid was asked for and it is %g %%", id, pct, got)
				}
			}
		}
	}
}

func TestFatsThatTakeNoAlkaliAreNamed(t *testing.T) {
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	// Jojoba is a liquid wax, and nothing in it is sure to react.
	_, err = Work(&formula.Formula{Name: "Wax", Method: formula.Cold, SuperfatPct: 5, FatsG: 1000, Water: formula.Water{Value: 33},
		Fats: []formula.Fat{{ID: "jojoba-oil", Pct: 100}}}, cat)
	if l := fault.All(err); len(l) != 1 || l[0].Field != "fat" || !strings.Contains(l[0].Message, "add a fat that saponifies") {
		t.Errorf("a batter of jojoba alone: %v", err)
	}
}
