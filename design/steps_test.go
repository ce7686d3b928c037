package design_test

import (
	"fmt"
	"strings"
	"testing"

	"barwright/design"
)

func TestStepsGoFromPourToPourWithWhatIsDoneBetween(t *testing.T) {
	s := lighthouse()
	s.Designs[0].Parts = append(s.Designs[0].Parts,
		design.Part{Kind: design.Sprinkle, Item: "salt", MassG: some(1)}, design.Part{Kind: design.Wrap, Item: "band", Count: some(1)})
	// A piece without a pour of its own comes last.
	s.Designs = append(s.Designs, design.Design{ID: "gift", Mould: "house", Parts: []design.Part{embed("lamp", 1, 0, 0)}})
	n, err := design.Explode(s, []design.Want{{Design: "house", Pieces: 3}, {Design: "gift", Pieces: 1}}, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, x := range n.Steps(s) {
		word := "between"
		if x.Pour != nil {
			word = "pour"
			if x.Pour.Design != x.Design || x.Pour.Part != x.Part {
				t.Errorf("step %+v has the pour %+v", x, x.Pour)
			}
		}
		got = append(got, fmt.Sprintf("%s %s %d", word, x.Design, x.Part))
	}
	want := "pour lamp 1, pour house 1, between house 2, pour house 3, between house 4, between house 5, between gift 1"
	if strings.Join(got, ", ") != want {
		t.Errorf("got  %s\nwant %s", strings.Join(got, ", "), want)
	}
}
