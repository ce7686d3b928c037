package draw

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barwright/mould"
	"barwright/quantity"
)

func withCut(m mould.Mould, c mould.Cut) mould.Mould {
	m.Cut = &c
	return m
}

var cutSamples = []struct {
	file string
	m    mould.Mould
	pct  float64
	o    CutPlanOptions
}{
	{"cut-loaf", withCut(shaped(mould.Cuboid, "Long loaf", 250, 80, 65), mould.Cut{Along: 10, Across: 1, Layers: 1, KerfMM: 1, EndMM: 5}),
		80, CutPlanOptions{}},
	{"cut-slab", withCut(shaped(mould.Cuboid, "Kelp slab", 400, 300, 60),
		mould.Cut{Along: 6, Across: 5, Layers: 2, KerfMM: 2, EndMM: 6, SideMM: 4, TopMM: 3}), 95, CutPlanOptions{Width: 520, Length: quantity.Inch}},
	{"cut-tin", withCut(shaped(mould.TaperedBox, "Tapered <tin> & lid", 250, 90, 230, 80, 70), mould.Cut{Along: 9, Across: 1, Layers: 1}),
		85, CutPlanOptions{Width: 300}},
	{"cut-many", withCut(shaped(mould.Cuboid, "Sticks", 500, 200, 50), mould.Cut{Along: 40, Across: 8, Layers: 2, KerfMM: .5}), 90, CutPlanOptions{Width: 300}},
	{"cut-paper", withCut(shaped(mould.TaperedBox, "Pyramid foot", 200, 60, 260, 110, 60),
		mould.Cut{Along: 4, Across: 2, Layers: 1, KerfMM: 3, EndMM: 33, SideMM: 20, TopMM: 5}), 100, CutPlanOptions{Variant: Paper}},
}

func cutOf(t rapid.TB, m mould.Mould, pct float64, o CutPlanOptions) (string, mould.Cutting) {
	t.Helper()
	v, err := m.Volume()
	if err != nil {
		t.Fatal(err)
	}
	c, err := m.CutUp(v.Value * pct / 100)
	if err != nil {
		t.Fatal(err)
	}
	svg, err := CutPlan(m, c, o)
	if err != nil {
		t.Fatal(err)
	}
	return svg, c
}

func TestGoldenCutPlans(t *testing.T) {
	for _, c := range cutSamples {
		c.o.ID = c.file
		svg, _ := cutOf(t, c.m, c.pct, c.o)
		golden(t, c.file+".svg", svg)
	}
}

func TestCutPlansKeepTheirFrame(t *testing.T) {
	for _, c := range cutSamples {
		for _, w := range []float64{280, 300, 340, 420, 520} {
			for _, u := range []quantity.LengthUnit{quantity.Millimetre, quantity.Inch} {
				c.o.Width, c.o.Length = w, u
				svg, _ := cutOf(t, c.m, c.pct, c.o)
				checkSection(t, svg)
				read(t, svg)
			}
		}
	}
	svg, _ := cutOf(t, cutSamples[2].m, 85, CutPlanOptions{})
	if !strings.Contains(svg, "Tapered &lt;tin&gt; &amp; lid: the cutting plan") || !strings.Contains(svg, "outer bars lack") {
		t.Error("a tapered plan does not say its name and its slope")
	}
	// Where the trims take the whole slope, no bar lacks any of it.
	square := cutSamples[2].m
	cut := *square.Cut
	cut.EndMM, cut.SideMM = 12, 12
	square.Cut = &cut
	if svg, c := cutOf(t, square, 85, CutPlanOptions{}); c.SpreadPct > 1e-9 || strings.Contains(svg, "outer bars lack") {
		t.Errorf("trimmed square, the bars differ by %g %%, and the plan says that they lack the slope", c.SpreadPct)
	}
	if svg, _ := cutOf(t, cutSamples[0].m, 80, CutPlanOptions{Hidden: true}); strings.Contains(svg, "<title") {
		t.Error("a hidden picture is said")
	}
}

// Every bar on the page has the size that it has in the cutting, to scale: its
// rectangle from above and, with the slope taken off, from the side.
func TestBarsAreToScale(t *testing.T) {
	measured := 0
	for _, x := range cutSamples {
		svg, c := cutOf(t, x.m, x.pct, x.o)
		k := scaleOf(t, svg)
		for _, e := range read(t, svg) {
			if e.attrs["class"] != "bars" {
				continue
			}
			polys := mustFlatten(t, e.attrs["d"])
			rows := c.Across
			if e.attrs["data-view"] == "side" {
				rows = c.Layers
			}
			if len(polys) != len(c.Along)*len(rows) {
				t.Fatalf("%s: %d bars from %s, want %d", x.file, len(polys), e.attrs["data-view"], len(c.Along)*len(rows))
			}
			for i, p := range polys {
				along, row := c.Along[i%len(c.Along)], rows[i/len(c.Along)]
				want := along.Len() * row.Len() * k * k
				if e.attrs["data-view"] == "side" {
					// Integrated over the height by the midpoint rule, from the
					// mould's own spans.
					want = 0
					const n = 400
					for j := range n {
						a, _ := x.m.SpanAt(row.FromMM + row.Len()*(float64(j)+.5)/n)
						l, r := along.FromMM-c.LengthMM/2, along.ToMM-c.LengthMM/2
						want += max(0, min(r, a/2)-max(l, -a/2)) * row.Len() / n * k * k
					}
				}
				if got := area(p); math.Abs(got-want) > .02*(math.Sqrt(want)*4)+.002*want {
					t.Errorf("%s: bar %d from %s is %.2f px², want %.2f", x.file, i+1, e.attrs["data-view"], got, want)
				}
				measured++
			}
		}
	}
	if measured < 100 {
		t.Fatalf("%d bars were measured", measured)
	}
}

func TestACutPlanThatCannotBeDrawnIsRefused(t *testing.T) {
	_, c := cutOf(t, cutSamples[0].m, 80, CutPlanOptions{})
	for _, x := range []struct {
		c    mould.Cutting
		w    float64
		want string
	}{{mould.Cutting{}, 0, "cut: "}, {c, 20, "size: "}, {c, math.NaN(), "size: "}} {
		if svg, err := CutPlan(cutSamples[0].m, x.c, CutPlanOptions{Width: x.w}); err == nil || svg != "" || !strings.Contains(err.Error(), x.want) {
			t.Errorf("want %s: %d bytes, %v", x.want, len(svg), err)
		}
	}
}

func TestAnyCuttingCanBeDrawn(t *testing.T) {
	drawn := 0
	rapid.Check(t, func(t *rapid.T) {
		m := mould.Mould{Name: rapid.String().Draw(t, "name"),
			Shape: rapid.SampledFrom([]mould.Shape{mould.Cuboid, mould.TaperedBox}).Draw(t, "shape"), Cavities: 1, Sets: 1}
		for _, f := range m.Shape.Fields() {
			*m.Field(f) = quantity.Some(math.Pow(10, rapid.Float64Range(1, 3.3).Draw(t, f)))
		}
		few := rapid.IntRange(1, 9)
		m.Cut = &mould.Cut{Along: few.Draw(t, "along"), Across: few.Draw(t, "across"), Layers: rapid.IntRange(1, 3).Draw(t, "layers"),
			KerfMM: rapid.Float64Range(0, 3).Draw(t, "kerf"), EndMM: rapid.Float64Range(0, 8).Draw(t, "end"),
			SideMM: rapid.Float64Range(0, 8).Draw(t, "side"), TopMM: rapid.Float64Range(0, 3).Draw(t, "top")}
		v, err := m.Volume()
		if err != nil {
			return
		}
		c, err := m.CutUp(v.Value * rapid.Float64Range(5, 100).Draw(t, "pct") / 100)
		if err != nil {
			return
		}
		svg, err := CutPlan(m, c, CutPlanOptions{Width: rapid.Float64Range(280, 520).Draw(t, "width")})
		if err != nil {
			t.Fatal(err)
		}
		checkSection(t, svg)
		read(t, svg)
		drawn++
	})
	if drawn == 0 {
		t.Fatal("nothing was drawn: this test has tested nothing")
	}
}

func BenchmarkCutPlan(b *testing.B) {
	x := cutSamples[1]
	_, c := cutOf(b, x.m, x.pct, x.o)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := CutPlan(x.m, c, x.o); err != nil {
			b.Fatal(err)
		}
	}
}
