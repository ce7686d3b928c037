package design_test

import (
	"encoding/json"
	"testing"

	"barwright/design"
	"barwright/mould"
	"barwright/quantity"
)

func harbour() *design.Set {
	some := quantity.Some
	return &design.Set{
		Moulds: []mould.Mould{
			{ID: "lantern-house", Shape: mould.Measured, WaterG: []float64{118.2, 118.6, 118.3}, WaterC: some(21), Cavities: 6, Sets: 2},
			{ID: "lamp-cup", Shape: mould.Cylinder, Dimensions: mould.Dimensions{DiameterMM: some(20), DepthMM: some(30)}, Cavities: 10, Sets: 1},
		},
		Batters: []design.Batter{
			{ID: "sea-white", DensityGML: 1.035, PotLossG: 15},
			{ID: "amber", DensityGML: 1.05},
		},
		Designs: []design.Design{
			{ID: "harbour-light", Mould: "lantern-house", Parts: []design.Part{
				{Kind: design.Pour, Formula: "sea-white", FillToPct: some(80)},
				{Kind: design.Embed, Design: "lamp", Count: some(1), SunkPct: 40},
				{Kind: design.Sprinkle, Item: "salt", MassG: some(1)},
			}},
			{ID: "lamp", Mould: "lamp-cup", Parts: []design.Part{{Kind: design.Pour, Formula: "amber", FillToPct: some(100)}}},
		},
	}
}

func TestSmoke(t *testing.T) {
	s := harbour()
	if l := s.Validate(); len(l) > 0 {
		t.Fatal(l)
	}
	n, err := design.Explode(s, []design.Want{{Design: "harbour-light", Pieces: 12}}, design.Options{OveragePct: 3})
	if err != nil {
		t.Fatal(err)
	}
	b, _ := json.MarshalIndent(n, "", " ")
	t.Log(string(b))
}
