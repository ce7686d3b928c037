package web

import (
	"context"
	"testing"

	"barwright/internal/web/htmlcheck"
	"barwright/quantity"
	"barwright/studio"
)

func TestAFormulaInPoundsAndOuncesComesBackAsTyped(t *testing.T) {
	book, h := bookServer(t)
	set := studio.DefaultSettings()
	set.Mass, set.Temperature, set.Length, set.Volume = quantity.PoundOunce, quantity.Fahrenheit, quantity.Inch, quantity.USFluidOunce
	if err := book.PutSettings(context.Background(), set); err != nil {
		t.Fatal(err)
	}
	at := keptFormula(t, h, "fats_g", "2 lb 8 oz", "scale.division_g", "0.05")
	d := htmlcheck.Page(t, ask(t, h, "GET", at, nil).Body)
	if all, step := value(d, "fats_g"), value(d, "scale.division_g"); all != "2 lb 8 oz" || step != "0.05" {
		t.Errorf("typed 2 lb 8 oz on a scale of 0.05 oz, and it came back as %q and %q", all, step)
	}
}
