package draw

import (
	"encoding/xml"
	"io"
	"strings"
	"testing"

	"barwright/design"
	"barwright/fault"
	"barwright/mould"
	"barwright/quantity"
)

func TestASmallPieceShowsEveryShapeAndNoWords(t *testing.T) {
	box := mould.Mould{ID: "box", Name: "box", Shape: mould.Cuboid, Cavities: 1, Sets: 1,
		Dimensions: mould.Dimensions{LengthMM: quantity.Some(80), WidthMM: quantity.Some(60), DepthMM: quantity.Some(25)}}
	jar := mould.Mould{ID: "jar", Name: "jar", Shape: mould.Measured, WaterG: []float64{120}, WaterC: quantity.Some(20), Cavities: 1, Sets: 1}
	in := StackInput{Name: "piece", Parts: []StackPart{
		{Kind: design.Pour, ToPct: 70}, {Kind: design.Embed, VolumeML: 4, Count: 2, SunkPct: 50, ToPct: 73.3},
		{Kind: design.Topping, FromPct: 73.3, ToPct: 110}, {Kind: design.Piping, VolumeML: 6}, {Kind: design.Sprinkle}}}
	for _, m := range []mould.Mould{box, jar} {
		svg, err := StackSmall(m, in, "list3", 64)
		if err != nil {
			t.Fatalf("%s: %v", m.Name, err)
		}
		for class, want := range map[string]int{"layer": 2, "draw-over": 1, "embed": 2, "piping": 1, "sprinkle": 1} {
			if got := strings.Count(svg, `class="`+class+`"`); got != want {
				t.Errorf("%s: %d shapes of class %s, want %d", m.Name, got, class, want)
			}
		}
		if strings.Contains(svg, "<text") || strings.Contains(svg, "NaN") || strings.Contains(svg, "Inf") {
			t.Errorf("%s: words or no numbers in %s", m.Name, svg)
		}
		d := xml.NewDecoder(strings.NewReader(svg))
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: not well formed: %v", m.Name, err)
			}
		}
	}
	for _, size := range []float64{0, 23, 281} {
		if _, err := StackSmall(box, in, "x", size); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%v px: %v", size, err)
		}
	}
}
