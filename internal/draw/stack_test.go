package draw

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barwright/design"
	"barwright/internal/words"
	"barwright/mould"
	"barwright/quantity"
)

var (
	lanternHouse = mould.Mould{Name: "Lantern house", Shape: mould.Measured, WaterG: []float64{111.2, 111.5, 111.5},
		WaterC: quantity.Some(21), Cavities: 6, Sets: 2,
		Dimensions: mould.Dimensions{DepthMM: quantity.Some(84)}}
	ovalDome = shaped(mould.HalfEllipsoid, "Oval dome", 100, 60, 30)
	wideDisc = shaped(mould.Cylinder, "Disc", 70, 13)
	smallCup = shaped(mould.ConeFrustum, "Lamp", 18, 14, 20)
)

// Invented pieces, each hard to draw in its own way.
var stackSamples = []struct {
	file string
	m    mould.Mould
	in   StackInput
	o    StackOptions
}{
	{"stack-lantern", lanternHouse, StackInput{Name: "Lantern house", Parts: []StackPart{
		{Kind: design.Pour, Label: "tower", FromPct: 0, ToPct: 55},
		{Kind: design.Embed, Label: "lamp", VolumeML: 1.7, SunkPct: 60, CoveredPct: 40},
		{Kind: design.Topping, Label: "rock", FromPct: 55.911, ToPct: 94},
		{Kind: design.Piping, Label: "foam", VolumeML: 7.5},
		{Kind: design.Sprinkle, Label: "salt"},
		{Kind: design.Wrap, Label: "belly band"},
	}}, StackOptions{Key: true}},
	{"stack-cup", shaped(mould.ConeFrustum, "Cup", 76, 52, 60), StackInput{Name: "Harbour cup", Parts: []StackPart{
		{Kind: design.Pour, Label: "sea", FromPct: 0, ToPct: 40},
		{Kind: design.Embed, Label: "lamp", VolumeML: 4, Count: 2, SunkPct: 50, CoveredPct: 20, Mould: &smallCup},
		{Kind: design.Topping, Label: "ice", FromPct: 42.077, ToPct: 70},
		{Kind: design.Pour, Label: "sky", FromPct: 70, ToPct: 85},
		{Kind: design.Embed, Label: "pearl", VolumeML: 3, Count: 3, SunkPct: 30},
		{Kind: design.Sprinkle, Label: "beads"},
		{Kind: design.Sprinkle, Label: "petals"},
		{Kind: design.Wrap, Label: "film"},
		{Kind: design.Wrap, Label: "box"},
	}}, StackOptions{Key: true, Length: quantity.Inch}},
	{"stack-loaf", shaped(mould.Cuboid, "Long loaf", 250, 80, 65), StackInput{Name: "Strand loaf", Parts: []StackPart{
		{Kind: design.Pour, Label: "sand", FromPct: 0, ToPct: 30},
		{Kind: design.Pour, Label: "wet sand", FromPct: 30, ToPct: 34},
		{Kind: design.Pour, Label: "sea", FromPct: 34, ToPct: 70},
		{Kind: design.Pour, Label: "sky <high> & low", FromPct: 70, ToPct: 92},
		{Kind: design.Piping, Label: "cloud", VolumeML: 180},
		{Kind: design.Sprinkle, Label: "mica"},
	}}, StackOptions{Width: 520}},
	{"stack-over", shaped(mould.TaperedBox, "Tapered tin", 250, 90, 230, 80, 70), StackInput{Name: "Too much", Parts: []StackPart{
		{Kind: design.Pour, Label: "base", FromPct: 0, ToPct: 80},
		{Kind: design.Pour, Label: "top", FromPct: 80, ToPct: 112},
	}}, StackOptions{Width: 300, Key: true}},
	{"stack-dome", ovalDome, StackInput{Name: "Dome", Parts: []StackPart{
		{Kind: design.Pour, FromPct: 0, ToPct: 35},
		{Kind: design.Topping, FromPct: 35, ToPct: 100},
		{Kind: design.Embed, Label: "shell", VolumeML: 12, SunkPct: 20},
	}}, StackOptions{Width: 300}},
	{"stack-misfit", shaped(mould.Cylinder, "Puck", 60, 25), StackInput{Name: "Puck", Parts: []StackPart{
		{Kind: design.Pour, Label: "base", FromPct: 0, ToPct: 50},
		{Kind: design.Embed, Label: "disc", VolumeML: 50, SunkPct: 25, Mould: &wideDisc},
	}}, StackOptions{Width: 340, Key: true}},
	{"stack-paper", shaped(mould.ConeFrustum, "Cup", 76, 52, 60), StackInput{Name: "On paper", Parts: []StackPart{
		{Kind: design.Pour, FromPct: 0, ToPct: 15}, {Kind: design.Pour, FromPct: 15, ToPct: 28},
		{Kind: design.Pour, FromPct: 28, ToPct: 41}, {Kind: design.Pour, FromPct: 41, ToPct: 54},
		{Kind: design.Pour, FromPct: 54, ToPct: 66}, {Kind: design.Pour, FromPct: 66, ToPct: 78},
		{Kind: design.Pour, FromPct: 78, ToPct: 90}, {Kind: design.Pour, FromPct: 90, ToPct: 104},
	}}, StackOptions{Variant: Paper}},
}

func stackOf(t rapid.TB, m mould.Mould, in StackInput, o StackOptions) string {
	t.Helper()
	svg, err := Stack(m, in, o)
	if err != nil {
		t.Fatalf("%s: %v", in.Name, err)
	}
	return svg
}

func TestGoldenStacks(t *testing.T) {
	var swatches string
	for _, c := range stackSamples {
		c.o.ID = c.file
		golden(t, c.file+".svg", stackOf(t, c.m, c.in, c.o))
		for _, s := range StackSwatches("sw"+c.file, c.in, c.o.Variant) {
			read(t, s)
			swatches += s
		}
	}
	golden(t, "stack-swatches.svg", swatches)
}

// areaOf sums the areas of the shapes of a class and a part, px².
func areaOf(t rapid.TB, els []element, class, part string) float64 {
	t.Helper()
	var sum float64
	for _, e := range els {
		if e.attrs["class"] == class && e.attrs["data-part"] == part {
			for _, p := range mustFlatten(t, e.attrs["d"]) {
				sum += area(p)
			}
		}
	}
	return sum
}

// scaleOf is the scale in px per mm, or px per mL.
func scaleOf(t rapid.TB, svg string) float64 {
	t.Helper()
	k, err := strconv.ParseFloat(sectionScale.FindStringSubmatch(svg)[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// between integrates the width of the cavity by the midpoint rule, mm². It uses
// none of the drawing's code.
func between(m mould.Mould, lo, hi float64) float64 {
	const n = 4000
	var sum float64
	for i := range n {
		a, _ := m.SpanAt(lo + (hi-lo)*(float64(i)+.5)/n)
		sum += a
	}
	return sum * (hi - lo) / n
}

// The area of every layer on the page is that of the cavity between its two
// levels. In an upright cavity this is its share of the volume.
func TestALayersAreaIsThatOfTheCavityBetweenItsLevels(t *testing.T) {
	levels := []float64{0, 12, 30, 30.5, 75, 100}
	moulds := []mould.Mould{
		shaped(mould.Cuboid, "loaf", 250, 80, 65), shaped(mould.Cylinder, "pipe", 75, 90), shaped(mould.HalfCylinder, "trough", 75, 250),
		shaped(mould.ConeFrustum, "cup", 100, 60, 100), shaped(mould.ConeFrustum, "bell", 50, 90, 60), shaped(mould.TaperedBox, "tin", 250, 90, 230, 80, 70),
		shaped(mould.SphericalCap, "bowl", 80, 20), shaped(mould.SphericalCap, "buoy", 30, 58), ovalDome, lanternHouse}
	measured := 0
	for _, m := range moulds {
		var in StackInput
		for i := range len(levels) - 1 {
			in.Parts = append(in.Parts, StackPart{Kind: design.Pour, FromPct: levels[i], ToPct: levels[i+1]})
		}
		svg := stackOf(t, m, in, StackOptions{Width: 520})
		els, k := read(t, svg), scaleOf(t, svg)
		v, err := m.Volume()
		if err != nil {
			t.Fatal(err)
		}
		var all float64
		for i := range in.Parts {
			all += areaOf(t, els, "layer", words.Letters(i))
		}
		for i := range in.Parts {
			got := areaOf(t, els, "layer", words.Letters(i))
			share := (levels[i+1] - levels[i]) / 100
			// Corners are rounded to 0.01 px on edges up to 500 px long. 40
			// chords are within 0.3 % of a bowl.
			tol := 6 + .003*got
			if m.Shape == mould.Measured {
				if want := share * v.Value * k * jarWide; math.Abs(got-want) > tol {
					t.Errorf("%s, %s: %.1f px², want %.1f", m.Name, words.Letters(i), got, want)
				}
			} else {
				lo, err1 := m.LevelFor(v.Value * levels[i] / 100)
				hi, err2 := m.LevelFor(v.Value * levels[i+1] / 100)
				if err1 != nil || err2 != nil {
					t.Fatal(err1, err2)
				}
				if want := between(m, lo, hi) * k * k; math.Abs(got-want) > tol {
					t.Errorf("%s, %s: %.1f px², want %.1f", m.Name, words.Letters(i), got, want)
				}
			}
			if m.Shape == mould.Cuboid || m.Shape == mould.Cylinder || m.Shape == mould.Measured {
				if math.Abs(got-share*all) > tol {
					t.Errorf("%s, %s: %.4f of the section is a share of %.4f", m.Name, words.Letters(i), got/all, share)
				}
			}
			measured++
		}
	}
	if measured != len(moulds)*(len(levels)-1) || measured == 0 {
		t.Fatalf("%d layers were measured", measured)
	}
}

// In a box everything has the same extent front to back, so px² stand for mL.
func TestWhatStandsAboveTheBrimIsTrueToItsVolume(t *testing.T) {
	box := shaped(mould.Cuboid, "Box", 100, 60, 50) // 300 mL
	svg := stackOf(t, box, StackInput{Parts: []StackPart{
		{Kind: design.Pour, ToPct: 70}, {Kind: design.Pour, FromPct: 70, ToPct: 120}, {Kind: design.Piping, VolumeML: 45}}}, StackOptions{})
	els, k := read(t, svg), scaleOf(t, svg)
	ml := func(px2 float64) float64 { return px2 / k / k * 60 / 1000 }
	for _, c := range []struct {
		class, part string
		want        float64
	}{{"layer", "A", 210}, {"layer", "B", 90}, {"draw-over", "B", 60}, {"piping", "C", 45}} {
		if got := ml(areaOf(t, els, c.class, c.part)); math.Abs(got-c.want) > .5 {
			t.Errorf("%s of %s is drawn as %.2f mL, want %v", c.class, c.part, got, c.want)
		}
	}
	for _, want := range []string{"runs over the brim by 60.0", "120", paintStop} {
		if !strings.Contains(svg, want) {
			t.Errorf("an overflow is drawn without %q", want)
		}
	}
	if areaOf(t, read(t, stackOf(t, box, StackInput{Parts: []StackPart{{Kind: design.Pour, ToPct: 100}}}, StackOptions{})), "draw-over", "A") != 0 {
		t.Error("a full cavity runs over")
	}
}

// A cuboid embed cast in its own mould, and a ball of unknown shape, are placed
// at shares that geometry gives.
func TestAnEmbedStandsWhereItsSharesSay(t *testing.T) {
	box, brick := shaped(mould.Cuboid, "Box", 100, 60, 50), shaped(mould.Cuboid, "Brick", 20, 20, 10)
	cases := []struct {
		what               string
		p                  StackPart
		area               float64 // mm²
		foot, top, surface float64 // mm, from the bottom
	}{
		// 4 mL with a quarter under the surface: the fill rises by 1 mL in 300,
		// to 25 1/6 mm.
		{"a brick a quarter sunk", StackPart{Kind: design.Embed, VolumeML: 4, SunkPct: 25, Mould: &brick}, 200, 25 + 1./6 - 2.5, 25 + 1./6 + 7.5, 25 + 1./6},
		{"a brick set on top", StackPart{Kind: design.Embed, VolumeML: 4, Mould: &brick}, 200, 25, 35, 25},
		{"a brick covered", StackPart{Kind: design.Embed, VolumeML: 4, SunkPct: 50, CoveredPct: 50, Mould: &brick}, 200, 25 + 1./3 - 5,
			25 + 1./3 + 5, 25 + 1./3},
		// A ball of 10 mm radius is 4.18879 mL; half of it is under the surface.
		{"a ball half sunk", StackPart{Kind: design.Embed, VolumeML: 4.18879, SunkPct: 50}, 100 * math.Pi, 25.349 - 10, 25.349 + 10, 25.349},
	}
	for _, c := range cases {
		svg := stackOf(t, box, StackInput{Parts: []StackPart{{Kind: design.Pour, ToPct: 50}, c.p}}, StackOptions{Width: 520})
		els, k := read(t, svg), scaleOf(t, svg)
		if got := areaOf(t, els, "embed", "B") / k / k; math.Abs(got-c.area) > .01*c.area {
			t.Errorf("%s: %.1f mm², want %.1f", c.what, got, c.area)
		}
		var bottom, surface float64
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, e := range els {
			for _, p := range mustFlatten(t, pathOf(e)) {
				for _, q := range p {
					switch e.attrs["class"] {
					case "layer":
						bottom, surface = max(bottom, q.Y), q.Y
					case "embed":
						lo, hi = min(lo, q.Y), max(hi, q.Y)
					}
				}
			}
			if e.attrs["class"] == "layer" {
				for _, q := range mustFlatten(t, e.attrs["d"])[0] {
					surface = min(surface, q.Y)
				}
			}
		}
		for _, x := range []struct {
			what      string
			got, want float64
		}{{"foot", (bottom - hi) / k, c.foot}, {"top", (bottom - lo) / k, c.top}, {"surface", (bottom - surface) / k, c.surface}} {
			if math.Abs(x.got-x.want) > .05 {
				t.Errorf("%s: its %s is %.2f mm up, want %.2f", c.what, x.what, x.got, x.want)
			}
		}
	}
}

// pathOf is the path of a layer or an embed. For any other element it is a path
// without a size.
func pathOf(e element) string {
	if c := e.attrs["class"]; c == "layer" || c == "embed" {
		return e.attrs["d"]
	}
	return "M0 0"
}

func TestStacksKeepTheirFrame(t *testing.T) {
	for _, c := range stackSamples {
		for _, w := range []float64{280, 300, 340, 420, 520} {
			for _, key := range []bool{false, true} {
				c.o.Width, c.o.Key = w, key
				svg := stackOf(t, c.m, c.in, c.o)
				checkSection(t, svg)
				read(t, svg)
				for i, p := range c.in.Parts {
					if !strings.Contains(svg, "; "+words.Letters(i)+", ") {
						t.Errorf("%s does not say what %s is", c.file, words.Letters(i))
					}
					if p.Kind != design.Wrap && !strings.Contains(svg, `data-part="`+words.Letters(i)+`"`) {
						t.Errorf("%s does not draw %s", c.file, words.Letters(i))
					}
				}
			}
		}
	}
	if svg := stackOf(t, lanternHouse, stackSamples[0].in, StackOptions{}); !strings.Contains(svg, "levels by proportion") {
		t.Error("a measured mould does not say that its levels go by proportion")
	}
	if svg := stackOf(t, lanternHouse, stackSamples[0].in, StackOptions{Hidden: true}); strings.Contains(svg, "<title") ||
		!strings.Contains(svg, `aria-hidden="true"`) {
		t.Error("a hidden picture is said")
	}
}

// Every look has a pattern of its own, which no stratum has either, so parts can be
// told apart without colour. Neighbouring looks also differ in colour.
func TestLayersDifferWithoutColour(t *testing.T) {
	seen := map[string]bool{}
	for _, l := range stackLooks {
		if l.strokes == "" || seen[l.strokes] {
			t.Errorf("the pattern %q stands twice", l.strokes)
		}
		seen[l.strokes] = true
		for _, s := range looks {
			if s.strokes == l.strokes {
				t.Errorf("a part has the pattern of %s", s.Name)
			}
		}
	}
	for i := range stackLooks {
		if stackLooks[i].fill == stackLooks[(i+1)%StackLooks].fill {
			t.Errorf("looks %d and its neighbour have one colour", i+1)
		}
	}
}

func TestAStackThatCannotBeDrawnIsRefused(t *testing.T) {
	box := shaped(mould.Cuboid, "Box", 100, 60, 50)
	nan := math.NaN()
	for _, c := range []struct {
		m    mould.Mould
		p    []StackPart
		w    float64
		want string
	}{
		{mould.Mould{}, nil, 0, "shape: "},
		{box, nil, 20, "size: "},
		{box, nil, nan, "size: "},
		{box, []StackPart{{Kind: design.Pour, ToPct: -1}}, 0, "parts.1.to_pct: Part A "},
		{box, []StackPart{{Kind: design.Pour, ToPct: nan}}, 0, "parts.1.to_pct: "},
		{box, []StackPart{{Kind: design.Pour, ToPct: 50}, {Kind: design.Pour, FromPct: 40, ToPct: 60}}, 0, "parts.2.from_pct: Part B "},
		{box, []StackPart{{ToPct: 50}}, 0, "parts.1.kind: Part A is of a kind that is not known here"},
		{box, []StackPart{{Kind: design.Embed}}, 0, "parts.1.volume_ml: "},
		{box, []StackPart{{Kind: design.Embed, VolumeML: nan}}, 0, "parts.1.volume_ml: "},
		{box, []StackPart{{Kind: design.Embed, VolumeML: 4000}}, 0, "parts.1.volume_ml: "},
		{box, []StackPart{{Kind: design.Embed, VolumeML: 4, SunkPct: 80, CoveredPct: 30}}, 0, "parts.1.sunk_pct: "},
		{box, []StackPart{{Kind: design.Embed, VolumeML: 4, Count: -1}}, 0, "parts.1.count: "},
		{box, []StackPart{{Kind: design.Piping, VolumeML: math.Inf(1)}}, 0, "parts.1.volume_ml: "},
		{box, []StackPart{{Kind: 99}}, 0, "parts.1.kind: "},
		{box, make([]StackPart, maxStack+1), 0, "parts: "},
	} {
		if svg, err := Stack(c.m, StackInput{Parts: c.p}, StackOptions{Width: c.w}); err == nil || svg != "" || !strings.Contains(err.Error(), c.want) {
			t.Errorf("want %s: %d bytes, %v", c.want, len(svg), err)
		}
	}
}

func TestAnyStackCanBeDrawn(t *testing.T) {
	drawn := 0
	rapid.Check(t, func(t *rapid.T) {
		m := anyShape(t, "cavity ")
		own := anyShape(t, "own ")
		v, err := m.Volume()
		if err != nil {
			t.Skip("refused")
		}
		in := StackInput{Name: rapid.String().Draw(t, "name")}
		level := 0.0
		for range rapid.IntRange(0, 8).Draw(t, "parts") {
			p := StackPart{Kind: rapid.SampledFrom(design.Kinds()).Draw(t, "kind"),
				Label: rapid.String().Draw(t, "label"), Look: rapid.IntRange(-1, 10).Draw(t, "look"),
				SunkPct: rapid.Float64Range(0, 50).Draw(t, "sunk"), CoveredPct: rapid.Float64Range(0, 50).Draw(t, "covered"),
				Count: rapid.IntRange(0, 200).Draw(t, "count"), VolumeML: v.Value * math.Pow(10, rapid.Float64Range(-6, 0.4).Draw(t, "volume"))}
			if p.Kind.Level() {
				p.FromPct = level
				level += rapid.Float64Range(0, 60).Draw(t, "pct")
				p.ToPct = level
			}
			if rapid.Bool().Draw(t, "known") {
				p.Mould = &own
			}
			in.Parts = append(in.Parts, p)
		}
		svg := stackOf(t, m, in, StackOptions{Width: rapid.Float64Range(280, 520).Draw(t, "width"), Key: rapid.Bool().Draw(t, "key"),
			Length: rapid.SampledFrom([]quantity.LengthUnit{quantity.Millimetre, quantity.Inch}).Draw(t, "unit")})
		read(t, svg)
		drawn++
	})
	if drawn == 0 {
		t.Fatal("nothing was drawn: this test has tested nothing")
	}
}

func anyShape(t *rapid.T, what string) mould.Mould {
	m := mould.Mould{Shape: rapid.SampledFrom(mould.Shapes()).Draw(t, what+"shape"), Cavities: 1, Sets: 1}
	for _, f := range m.Shape.Fields() {
		*m.Field(f) = quantity.Some(math.Pow(10, rapid.Float64Range(0, 3.3).Draw(t, what+f)))
	}
	if m.Shape == mould.Measured {
		m.WaterG, m.WaterC = []float64{math.Pow(10, rapid.Float64Range(-0.9, 5.9).Draw(t, what+"g"))}, quantity.Some(20)
	}
	return m
}

// FuzzStack checks that any numbers give either an error sentence or a picture
// that is XML.
func FuzzStack(f *testing.F) {
	f.Add(50., 120., 4., 25., 30., 100., 60., 50., 2, "sea", uint8(1))
	f.Add(math.NaN(), 0., math.Inf(1), -1., 1e300, 1e-300, 0., 5., -7, "\x00<&", uint8(4))
	f.Fuzz(func(t *testing.T, a, b, ml, sunk, covered, l, w, h float64, count int, name string, shape uint8) {
		shapes := mould.Shapes()
		m := mould.Mould{Shape: shapes[int(shape)%len(shapes)], Cavities: 1, Sets: 1, WaterG: []float64{l}, WaterC: quantity.Some(20)}
		if m.Shape != mould.Measured {
			m.WaterG, m.WaterC = nil, quantity.Maybe{}
		}
		for i, field := range m.Shape.Fields() {
			*m.Field(field) = quantity.Some([]float64{l, w, h}[i%3])
		}
		svg, err := Stack(m, StackInput{Name: name, Parts: []StackPart{
			{Kind: design.Pour, Label: name, FromPct: 0, ToPct: a}, {Kind: design.Topping, FromPct: a, ToPct: b},
			{Kind: design.Embed, VolumeML: ml, SunkPct: sunk, CoveredPct: covered, Count: count, Mould: &m},
			{Kind: design.Piping, VolumeML: ml}, {Kind: design.Sprinkle}, {Kind: design.Wrap, Label: name}}}, StackOptions{ID: name, Key: true})
		if err != nil {
			if svg != "" {
				t.Error("a fault came with a picture")
			}
			return
		}
		read(t, svg)
	})
}

func BenchmarkStack(b *testing.B) {
	c := stackSamples[1]
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Stack(c.m, c.in, c.o); err != nil {
			b.Fatal(err)
		}
	}
}
