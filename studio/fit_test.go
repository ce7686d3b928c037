package studio

import (
	"slices"
	"testing"

	"barwright/design"
	"barwright/fit"
	"barwright/mould"
	"barwright/quantity"
)

func TestAWishListBecomesAFit(t *testing.T) {
	pour := func(formula string, grams float64) design.Part {
		return design.Part{Kind: design.Pour, Formula: formula, MassG: quantity.Some(grams)}
	}
	g := Gathered{Set: &design.Set{
		Moulds: []mould.Mould{{ID: "tin", Name: "Tin", Shape: mould.Cuboid, Cavities: 2, Sets: 3, Cut: &mould.Cut{Along: 4, Across: 1, Layers: 1},
			Dimensions: mould.Dimensions{LengthMM: quantity.Some(200.0), WidthMM: quantity.Some(80.0), DepthMM: quantity.Some(60.0)}}},
		Batters: []design.Batter{{ID: "white", Name: "Sea white", DensityGML: 1, PotLossG: 15}, {ID: "rock", Name: "Rock", DensityGML: 1}},
		Designs: []design.Design{
			{ID: "loaf", Name: "Loaf", Mould: "tin", Parts: []design.Part{pour("white", 300), pour("rock", 200), pour("white", 100)}},
			{ID: "lost", Name: "Lost", Mould: "gone", Parts: []design.Part{pour("white", 300)}},
		},
	}}
	p, unworked := g.Fit([]design.Want{{Design: "loaf", Pieces: 12}, {Design: "lost", Pieces: 1}}, 2)
	if !slices.Equal(unworked, []string{"lost"}) {
		t.Errorf("unworked are %v", unworked)
	}
	if !slices.Equal(p.Moulds, []fit.Mould{{ID: "tin", Name: "Tin", Sets: 3, Cavities: 2, Bars: 4}}) ||
		!slices.Equal(p.Formulas, []fit.Formula{{ID: "white", Name: "Sea white", LossG: 15}, {ID: "rock", Name: "Rock"}}) {
		t.Errorf("got %+v", p)
	}
	if d := p.Designs[0]; len(p.Designs) != 1 || d.Wish != 12 || d.MoreSets != 2 || d.Mould != "tin" ||
		!slices.Equal(d.Pours, []fit.Pour{{Formula: "white", G: 400}, {Formula: "rock", G: 200}}) {
		t.Errorf("got %+v", p.Designs)
	}
}
