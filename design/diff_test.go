package design

import (
	"slices"
	"strings"
	"testing"

	"barwright/formula"
	"barwright/quantity"
)

func lighthouse() *Design {
	return &Design{ID: "d", Name: "Lighthouse", Mould: "m1", Parts: []Part{
		{Kind: Embed, Design: "lamp", Count: quantity.Some(1), SunkPct: 0, CoveredPct: 100},
		{Kind: Pour, Name: "tower", Formula: "white", FillToPct: quantity.Some(80), Stage: formula.ThinTrace},
		{Kind: Topping, Name: "rock", Formula: "dark", FillToPct: quantity.Some(100), Wait: Wait{Minutes: quantity.Some(120), Until: "skinned over"}},
		{Kind: Sprinkle, Item: "sea salt", MassG: quantity.Some(0.4)},
	}}
}

func said(changes []formula.Change) []string {
	var out []string
	for _, c := range changes {
		out = append(out, strings.ReplaceAll(c.Field+" | "+c.Label+" | "+c.Before+" | "+c.After, quantity.UnitSpace, " "))
	}
	return out
}

func TestDiffSaysWhatAMakerChanged(t *testing.T) {
	names := Face{Name: func(id string) string {
		return map[string]string{"white": "Sea white", "dark": "Dark rock", "lamp": "Lamp", "m1": "Tower", "m2": "Tower, tall"}[id]
	}}
	tests := []struct {
		name   string
		change func(*Design)
		want   []string
	}{
		{"nothing", func(*Design) {}, nil},
		{"a level", func(d *Design) { d.Parts[1].FillToPct = quantity.Some(70) },
			[]string{"part.2.amount | Part 2, tower, amount | to 80 % | to 70 %"}},
		{"a level for a mass", func(d *Design) { d.Parts[1].FillToPct, d.Parts[1].MassG = quantity.Maybe{}, quantity.Some(62) },
			[]string{"part.2.amount | Part 2, tower, amount | to 80 % | 62.0 g"}},
		{"the mould", func(d *Design) { d.Mould = "m2" }, []string{"mould | Mould | Tower | Tower, tall"}},
		{"a part moved to the front is the one that moved", func(d *Design) {
			p := d.Parts[2]
			d.Parts = slices.Insert(slices.Delete(d.Parts, 2, 3), 0, p)
		}, []string{"part.1.kind | Part 1, rock, place | part 3 | part 1"}},
		{"a part added", func(d *Design) {
			d.Parts = append(d.Parts, Part{Kind: Wrap, Item: "box", Count: quantity.Some(1)})
		}, []string{"part.5.kind | Added, part 5 |  | wrap, box: 1"}},
		{"a part taken out moves no other", func(d *Design) { d.Parts = slices.Delete(d.Parts, 0, 1) },
			[]string{"part.1.kind | Taken out, part 1 | embed, Lamp: 1 | "}},
		{"the formula of a pour", func(d *Design) { d.Parts[1].Formula = "dark" },
			[]string{"part.2.formula | Part 2, tower, formula | Sea white | Dark rock"}},
		{"the wait", func(d *Design) { d.Parts[2].Wait = Wait{Minutes: quantity.Some(90)} },
			[]string{"part.3.wait | Part 3, rock, wait before it | 2 h, until skinned over | 90 min"}},
		{"how deep an embed lies", func(d *Design) { d.Parts[0].CoveredPct = 60 },
			[]string{"part.1.covered_pct | Part 1, embed, covered after it | 100 % | 60 %"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a, b := lighthouse(), lighthouse()
			tt.change(b)
			if got := said(Diff(a, b, names)); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
			if got := Diff(b, b, names); len(got) != 0 {
				t.Errorf("against itself: %q", said(got))
			}
		})
	}
}
