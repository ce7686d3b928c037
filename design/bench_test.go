package design_test

import (
	"fmt"
	"testing"

	"barwright/design"
	"barwright/formula"
	"barwright/mould"
)

// BenchmarkExplode200 takes 200 designs of 8 parts apart, three levels deep, all
// wanted at once: 120 finished pieces, 60 embeds, and 20 embeds of those.
func BenchmarkExplode200(b *testing.B) {
	s := &design.Set{}
	for i := range 30 {
		m := box(fmt.Sprint("m", i), 200)
		if i%3 == 0 {
			m = mould.Mould{ID: m.ID, Shape: mould.Measured, WaterG: []float64{200, 201, 199}, WaterC: some(21), Cavities: 6, Sets: 2}
		}
		m.MaxTempC = some(120)
		s.Moulds = append(s.Moulds, m)
	}
	for i := range 24 {
		s.Batters = append(s.Batters, design.Batter{ID: fmt.Sprint("f", i), DensityGML: 1.03, PotLossG: 12, Method: formula.Cold, PourC: some(38),
			CeilingC: some(80), CuredShare: some(0.9), DryShare: some(0.85), Dries: true,
			Scents: []design.Scent{{Name: fmt.Sprint("s", i%6), Share: 0.02, LimitPct: some(6), Stated: []formula.Constituent{{Name: "Linalool", Pct: 1},
				{Name: "Limonene", Pct: 2}}}}})
	}
	var wants []design.Want
	for i := range 200 {
		f := func(k int) string { return fmt.Sprint("f", (i+k)%24) }
		d := design.Design{ID: fmt.Sprint("d", i), Mould: fmt.Sprint("m", i%30), Parts: []design.Part{
			pour(f(0), 30), pour(f(1), 50), pour(f(2), 60), {Kind: design.Topping, Formula: f(3), FillToPct: some(80), Wait: design.Wait{Minutes: some(20)}},
			{Kind: design.Piping, Formula: f(4), VolumeML: some(5)}, {Kind: design.Sprinkle, Item: "salt", MassG: some(1)}, {Kind: design.Wrap, Item: "band",
				Count: some(1)},
		}}
		switch {
		case i < 120:
			d.Parts = append(d.Parts, embed(fmt.Sprint("d", 120+i%60), 1, 0, 0))
		case i < 180:
			d.Parts = append(d.Parts, embed(fmt.Sprint("d", 180+i%20), 2, 0, 0))
		default:
			d.Parts = append(d.Parts, design.Part{Kind: design.Piping, Formula: f(5), VolumeML: some(2)})
		}
		s.Designs = append(s.Designs, d)
		if i < 120 {
			wants = append(wants, design.Want{Design: d.ID, Pieces: 12})
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		n, err := design.Explode(s, wants, design.Options{OveragePct: 3})
		if err != nil || len(n.Pieces) != 200 {
			b.Fatal(err)
		}
	}
}
