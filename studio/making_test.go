package studio

import (
	"context"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"barwright/bench"
	"barwright/design"
	"barwright/mould"
	"barwright/quantity"
)

// A run is made from the versions that were gathered. Of an embed it makes what is not
// at hand: 5 houses take 5 lamps, and 2 of them lie on the shelf.
func TestARunIsMadeFromWhatWasGathered(t *testing.T) {
	box := func(id string, ml float64) mould.Mould {
		return mould.Mould{ID: id, Shape: mould.Cuboid, Cavities: 10, Sets: 1,
			Dimensions: mould.Dimensions{LengthMM: quantity.Some(100), WidthMM: quantity.Some(100), DepthMM: quantity.Some(ml / 10)}}
	}
	pour := design.Part{Kind: design.Pour, Formula: "white", FillToPct: quantity.Some(50)}
	g := &Gathered{
		Set: &design.Set{Moulds: []mould.Mould{box("tower", 100), box("cup", 10)}, Batters: []design.Batter{{ID: "white", DensityGML: 1}},
			Designs: []design.Design{
				{ID: "house", Mould: "tower", Parts: []design.Part{pour, {Kind: design.Embed, Design: "lamp", Count: quantity.Some(1)}}},
				{ID: "lamp", Mould: "cup", Parts: []design.Part{pour}},
			}},
		Formulas: map[string]Version[Formula]{"white": {ID: "white", N: 7}},
		Designs:  map[string]Version[*design.Design]{"house": {ID: "house", N: 3}, "lamp": {ID: "lamp", N: 4}},
	}
	o := design.Options{OveragePct: 3, Stock: map[string]int{"lamp": 2}}
	n, err := design.Explode(g.Set, []design.Want{{Design: "house", Pieces: 5}}, o)
	if err != nil {
		t.Fatal(err)
	}
	// The formula is wanted on two days, so it is two batches of the sheet.
	got := g.Making(n, o, []bench.RunBatch{{Formula: "white", MassG: 15.45}, {Formula: "white", MassG: 257.5}})
	want := Making{OveragePct: 3, Stock: o.Stock,
		Designs:  []RunDesign{{DesignID: "house", N: 3, Pieces: 5, Made: 5}, {DesignID: "lamp", N: 4, Made: 3}},
		Batches:  []Batching{{FormulaID: "white", FormulaN: 7, MassG: 15.45}, {FormulaID: "white", FormulaN: 7, MassG: 257.5}},
		MouldIDs: got.MouldIDs}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if moulds := slices.Sorted(slices.Values(got.MouldIDs)); !slices.Equal(moulds, []string{"cup", "tower"}) {
		t.Errorf("moulds %v", moulds)
	}
}

// usesGiven is a reader of uses, in the order in which they are given.
type usesGiven struct {
	Reader
	rows []UseRow
}

func (u usesGiven) Uses(context.Context, Link) ([]UseRow, error) { return u.rows, nil }

// A store gives the uses of a thing in no order. The newest version that has it in any
// role counts: by the older one it would look as if it were out of use.
func TestUsesAreGatheredInAnyOrder(t *testing.T) {
	rows := []UseRow{
		{Kind: KindFormula, RecordID: "f", Name: "Storm lantern", Role: AsFat, N: 3, Newest: 3},
		{Kind: KindFormula, RecordID: "f", Name: "Storm lantern", Role: AsExtra, N: 1, Newest: 3},
	}
	want := []Use{{Kind: KindFormula, ID: "f", Name: "Storm lantern", Roles: []string{AsExtra, AsFat}, N: 3, Newest: true}}
	for range 2 {
		got, err := usesOf(t.Context(), usesGiven{rows: rows}, Link{Kind: KindIngredient, ID: "olive-oil"})
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Errorf("%v\n%s", err, diff)
		}
		slices.Reverse(rows)
	}
}
