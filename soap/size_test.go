package soap

import (
	"testing"

	"barwright/fault"
	"barwright/quantity"
)

func TestABatchIsSizedByItsFatsItsBatterOrItsVolume(t *testing.T) {
	f := workedOne()
	f.Fats[0].Pct /= 2 // while typing the shares do not sum to 100 %
	r := mustWork(t, f)
	for _, c := range []struct {
		name  string
		fatsG float64
		got   func(*Result) float64
		want  float64
	}{
		{"by fats", r.SizedByFats(500), func(r *Result) float64 { return r.FatsG }, 500},
		{"by batter", r.SizedByBatter(1200), func(r *Result) float64 { return r.Batter.MassG }, 1200},
		{"by volume", r.SizedByVolume(950), func(r *Result) float64 { return r.Batter.VolumeML }, 950},
	} {
		at, err := WorkAt(f, c.fatsG, mustCatalogue(t))
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name, c.got(at), c.want, 1e-9*c.want)
	}
	if at, err := WorkAt(f, r.SizedByBatter(0), mustCatalogue(t)); at != nil || fault.KindOf(err) != fault.Invalid {
		t.Errorf("a batch of nothing gives %v", err)
	}
}

func TestASizeByVolumeIsRoundedUnlessItIsSmall(t *testing.T) {
	const oz = quantity.GramsPerOunce
	for _, c := range []struct {
		fatsG float64
		unit  quantity.MassUnit
		want  float64
	}{
		{1234.5678, quantity.Gram, 1234.6}, {9.8765, quantity.Gram, 9.8765}, {10.04, quantity.Gram, 10},
		{40.1234 * oz, quantity.Ounce, 40.12 * oz}, {40.1234 * oz, quantity.PoundOunce, 40.12 * oz}, {0.98765 * oz, quantity.Ounce, 0.98765 * oz},
	} {
		near(t, "rounded", RoundSize(c.fatsG, c.unit), c.want, 1e-9*c.want)
	}
	for unit, want := range map[quantity.MassUnit]float64{quantity.Gram: 100, quantity.Ounce: 4, quantity.PoundOunce: 4} {
		if n, u := TestBatch(unit); n != want || (u == quantity.Gram) != (unit == quantity.Gram) {
			t.Errorf("a test batch for %v is %v %v", unit, n, u)
		}
	}
}

func TestTheSuperfatIsDrawnAnewForEveryBatch(t *testing.T) {
	f := workedOne()
	f.ScaleDivisionG = quantity.Some(1.0)
	r := mustWork(t, f)
	small, err := WorkAt(f, f.FatsG/20, mustCatalogue(t))
	if err != nil {
		t.Fatal(err)
	}
	if a, b := r.Drawn(), small.Drawn(); a.Draws != Draws || a != r.Draw(Draws, Seed) || !(b.HighPct-b.LowPct > a.HighPct-a.LowPct) {
		t.Errorf("a small batch is no less sure: %+v, %+v", a, b)
	}
	if m := mustWork(t, aMelt()); m.Drawn() != m.Superfat {
		t.Error("a melt, which has no lye, is drawn")
	}
}
