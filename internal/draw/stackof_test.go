package draw

import (
	"math"
	"testing"

	"barwright/bench"
	"barwright/design"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
)

func TestEmbedsPushTheFillUpOneByOne(t *testing.T) {
	box := func(id string, mm float64) mould.Mould {
		return mould.Mould{ID: id, Shape: mould.Cuboid, Cavities: 1, Sets: 1,
			Dimensions: mould.Dimensions{LengthMM: quantity.Some(mm), WidthMM: quantity.Some(mm), DepthMM: quantity.Some(mm)}}
	}
	s := &design.Set{
		Moulds:  []mould.Mould{box("house", 100), box("cup", 50)}, // 1000 and 125 ml
		Batters: []design.Batter{{ID: "white", DensityGML: 1}},
		Designs: []design.Design{
			{ID: "house", Mould: "house", Parts: []design.Part{
				{Kind: design.Pour, Formula: "white", FillToPct: quantity.Some(60.0)},
				{Kind: design.Embed, Design: "lamp", Count: quantity.Some(1.0), SunkPct: 80},
				{Kind: design.Embed, Name: "star", Design: "lamp", Count: quantity.Some(2.0), SunkPct: 40},
				{Kind: design.Topping, Formula: "white", FillToPct: quantity.Some(100.0)},
			}},
			{ID: "lamp", Name: "Lamp", Mould: "cup", Parts: []design.Part{{Kind: design.Pour, Formula: "white", FillToPct: quantity.Some(100.0)}}},
		},
	}
	_, piece, err := design.One(s, "house", design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	in := StackOf(s, &s.Designs[0], piece)
	if in.Name != "This piece" || len(in.Parts) != 4 || in.Parts[1].Label != "Lamp" || in.Parts[2].Label != "star" || in.Parts[2].Count != 2 {
		t.Fatalf("got %+v", in)
	}
	// 20 % of the cavity is sunk into the pour: 10 by the lamp, 10 by the two stars.
	for i, want := range []float64{40, 50, 60, 100} {
		if got := in.Parts[i].ToPct; math.Abs(got-want) > 1e-9 {
			t.Errorf("part %d reaches %v %%, want %v", i+1, got, want)
		}
	}
	if in.Parts[1].Mould == nil || in.Parts[1].Mould.ID != "cup" || math.Abs(in.Parts[2].VolumeML-125) > 1e-9 {
		t.Errorf("the embeds are %+v", in.Parts[1:3])
	}
}

func TestTheBarOfASheetIsItsStrata(t *testing.T) {
	sheet := &bench.Sheet{Strata: []bench.Share{
		{Stratum: soap.Mellow, Share: 6}, {Stratum: soap.FreeFat, Share: 1}, {Stratum: soap.Wax, Share: 2}, {Stratum: soap.FreeAlkali, Share: 1},
	}}
	sheet.Name = "Fig"
	b, ok := BarOfSheet(sheet)
	if !ok || b.Name != "Fig" || math.Abs(b.Shares[Mellow]-0.6) > 1e-12 || math.Abs(b.Shares[FreeFat]-0.3) > 1e-12 || math.Abs(b.Wax-0.2) > 1e-12 ||
		math.Abs(b.Shares[Salts]-0.1) > 1e-12 {
		t.Errorf("got %v, %+v", ok, b)
	}
	if _, ok := BarOfSheet(&bench.Sheet{}); ok {
		t.Error("a sheet without strata has a bar")
	}
}
