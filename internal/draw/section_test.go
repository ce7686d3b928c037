package draw

import (
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barwright/mould"
	"barwright/quantity"
)

func shaped(s mould.Shape, name string, mm ...float64) mould.Mould {
	m := mould.Mould{Name: name, Shape: s, Cavities: 1, Sets: 1}
	for i, f := range s.Fields() {
		*m.Field(f) = quantity.Some(mm[i])
	}
	return m
}

// Invented moulds, one or more of every shape, some of them hard to draw.
var sectionSamples = []struct {
	file string
	m    mould.Mould
	o    SectionOptions
}{
	{"mould-loaf", shaped(mould.Cuboid, "Long loaf", 250, 80, 65), SectionOptions{FillPct: quantity.Some(80)}},
	{"mould-loaf-phone", shaped(mould.Cuboid, "Long loaf", 250, 80, 65), SectionOptions{Width: 300, Inches: true, FillPct: quantity.Some(97.5)}},
	{"mould-slab", shaped(mould.Cuboid, "Kelp slab", 400, 300, 30), SectionOptions{Width: 520, Inches: true}},
	{"mould-cylinder", shaped(mould.Cylinder, "Pipe", 75, 250), SectionOptions{FillPct: quantity.Some(90)}},
	{"mould-puck", shaped(mould.Cylinder, "Puck", 80, 25), SectionOptions{Width: 300, FillPct: quantity.Some(60)}},
	{"mould-trough", shaped(mould.HalfCylinder, "Trough", 75, 250), SectionOptions{FillPct: quantity.Some(50)}},
	{"mould-cup", shaped(mould.ConeFrustum, "Cup", 100, 60, 100), SectionOptions{FillPct: quantity.Some(80), Inches: true}},
	{"mould-bell", shaped(mould.ConeFrustum, "Bell", 50, 90, 60), SectionOptions{Width: 300, FillPct: quantity.Some(100)}},
	{"mould-tin", shaped(mould.TaperedBox, "Tapered <tin> & lid", 250, 90, 230, 80, 70), SectionOptions{FillPct: quantity.Some(85)}},
	{"mould-cube", shaped(mould.TaperedBox, "Drafted cube", 52, 52, 48, 48, 50), SectionOptions{Width: 300, Inches: true}},
	{"mould-bowl", shaped(mould.SphericalCap, "Bowl", 80, 20), SectionOptions{FillPct: quantity.Some(70)}},
	{"mould-buoy", shaped(mould.SphericalCap, "Buoy", 30, 58), SectionOptions{Width: 520, FillPct: quantity.Some(88)}},
	{"mould-dome", shaped(mould.HalfEllipsoid, "Oval dome", 100, 60, 30), SectionOptions{FillPct: quantity.Some(75)}},
	{"mould-lantern", mould.Mould{Name: "Lantern house", Shape: mould.Measured, WaterG: []float64{118.2, 118.6, 118.3},
		WaterC: quantity.Some(21), Cavities: 6, Sets: 2},
		SectionOptions{FillPct: quantity.Some(80)}},
	{"mould-lantern-phone", mould.Mould{Name: "Lantern house", Shape: mould.Measured, WaterG: []float64{7.1}, WaterC: quantity.Some(21), Cavities: 6, Sets: 2,
		Dimensions: mould.Dimensions{DepthMM: quantity.Some(22)}}, SectionOptions{Width: 300, FillPct: quantity.Some(95)}},
	{"mould-paper", shaped(mould.TaperedBox, "Tapered tin", 250, 90, 230, 80, 70), SectionOptions{Variant: Paper, FillPct: quantity.Some(85)}},
}

func section(t testing.TB, m mould.Mould, o SectionOptions) string {
	t.Helper()
	svg, err := Section(m, o)
	if err != nil {
		t.Fatalf("%s: %v", m.Name, err)
	}
	return svg
}

func TestGoldenSections(t *testing.T) {
	for _, c := range sectionSamples {
		c.o.ID = c.file
		golden(t, c.file+".svg", section(t, c.m, c.o))
	}
}

var (
	sectionSize  = regexp.MustCompile(`font-size="([0-9.]+)"`)
	sectionScale = regexp.MustCompile(`data-px-per-m[ml]="([0-9.]+)"`)
	sectionPath  = regexp.MustCompile(`class="cavity" d="([^"]+)"`)
	sectionXText = regexp.MustCompile(`<text class="([a-z-]+)" x="(-?[0-9.]+)" y="(-?[0-9.]+)" font-size="([0-9.]+)"[^>]*?(?:text-anchor="([a-z]+)")?>([^<]*)<`)
)

// checkSection checks what every drawing must satisfy: it is XML, its words are
// large enough to read and inside the frame, and it has no style attribute and no
// NaN.
func checkSection(t interface {
	Helper()
	Fatalf(string, ...any)
}, svg string) {
	t.Helper()
	for _, never := range []string{"NaN", "Inf", "style=", "<script", "not known", "-9223372036854775808"} {
		if strings.Contains(svg, never) {
			t.Fatalf("%q in %s", never, svg)
		}
	}
	ids := map[string]bool{}
	d := xml.NewDecoder(strings.NewReader(svg))
	width, height := 0.0, 0.0
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%v in %s", err, svg)
		}
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		for _, a := range el.Attr {
			switch {
			case a.Name.Local == "id" && ids[a.Value]:
				t.Fatalf("id %q twice", a.Value)
			case a.Name.Local == "id":
				ids[a.Value] = true
			case el.Name.Local == "svg" && a.Name.Local == "width":
				width, _ = strconv.ParseFloat(a.Value, 64)
			case el.Name.Local == "svg" && a.Name.Local == "height":
				height, _ = strconv.ParseFloat(a.Value, 64)
			}
		}
	}
	sizes := sectionSize.FindAllStringSubmatch(svg, -1)
	texts := sectionXText.FindAllStringSubmatch(svg, -1)
	if len(sizes) == 0 || len(texts) != len(sizes) {
		t.Fatalf("%d sizes and %d texts", len(sizes), len(texts))
	}
	for _, x := range texts {
		at, _ := strconv.ParseFloat(x[2], 64)
		y, _ := strconv.ParseFloat(x[3], 64)
		size, _ := strconv.ParseFloat(x[4], 64)
		w := float64(len([]rune(x[6]))) * size * sectionEm(x[1])
		left := at
		if x[5] == "middle" {
			left = at - w/2
		}
		if size < 12 || left < -0.5 || left+w > width+0.5 || y < size*0.7 || y > height {
			t.Fatalf("%q is %v px and runs from %.1f to %.1f of %v, at %.1f of %v", x[6], size, left, left+w, width, y, height)
		}
	}
	for _, x := range texts {
		for _, y := range texts {
			if x[0] != y[0] && sectionBox(x).overlaps(sectionBox(y)) {
				t.Fatalf("%q lies on %q", x[6], y[6])
			}
		}
	}
}

// sectionEm is the width of a letter in em, as measured in a browser on these
// drawings: '65 mm' in the typeface of numbers, and the lines of the key in the
// other.
func sectionEm(class string) float64 {
	if class == classFigs {
		return 0.62
	}
	return 0.47
}

type box struct{ l, t, r, b float64 }

func sectionBox(x []string) box {
	at, _ := strconv.ParseFloat(x[2], 64)
	y, _ := strconv.ParseFloat(x[3], 64)
	size, _ := strconv.ParseFloat(x[4], 64)
	w := float64(len([]rune(x[6]))) * size * sectionEm(x[1])
	if x[5] == "middle" {
		at -= w / 2
	}
	return box{at, y - size*0.7, at + w, y}
}

func (a box) overlaps(b box) bool { return a.l < b.r && b.l < a.r && a.t < b.b && b.t < a.b }

func TestSectionsKeepTheirFrame(t *testing.T) {
	for _, c := range sectionSamples {
		for _, w := range []float64{280, 300, 390, 420, 520} {
			for _, inches := range []bool{false, true} {
				c.o.Width, c.o.Inches = w, inches
				svg := section(t, c.m, c.o)
				checkSection(t, svg)
				if !strings.Contains(svg, `role="img" aria-labelledby="`) {
					t.Errorf("%s says nothing to a screen reader", c.file)
				}
			}
		}
	}
	if !strings.Contains(section(t, sectionSamples[8].m, SectionOptions{}), `Tapered &lt;tin&gt; &amp; lid`) {
		t.Error("a name is not escaped")
	}
	if svg := section(t, sectionSamples[0].m, SectionOptions{Hidden: true}); strings.Contains(svg, "<title") || !strings.Contains(svg, `aria-hidden="true"`) {
		t.Error("a hidden picture is said")
	}
}

func TestAnyMouldCanBeDrawn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := mould.Mould{Shape: rapid.SampledFrom(mould.Shapes()).Draw(t, "shape")}
		for _, f := range m.Shape.Fields() {
			// Drawn evenly in the logarithm, so that thin and long shapes occur.
			*m.Field(f) = quantity.Some(math.Pow(10, rapid.Float64Range(0, 3.3).Draw(t, f)))
		}
		if m.Shape == mould.Measured {
			m.WaterG, m.WaterC = []float64{math.Pow(10, rapid.Float64Range(-0.9, 5.9).Draw(t, "g"))}, quantity.Some(20)
		}
		if len(m.Validate()) > 2 { // no cavities, no sets; more faults mean almost no volume
			t.Skip("refused")
		}
		svg, err := Section(m, SectionOptions{
			Width:   rapid.Float64Range(280, 520).Draw(t, "width"),
			Inches:  rapid.Bool().Draw(t, "inches"),
			FillPct: quantity.Some(rapid.Float64Range(0.01, 100).Draw(t, "fill")),
		})
		if err != nil {
			t.Fatal(err)
		}
		checkSection(t, svg)
	})
}

// The drawn outline, measured in px and converted by the scale on the root, gives
// the mould's own dimensions.
func TestTheCavityIsToScale(t *testing.T) {
	measured := 0
	for _, c := range sectionSamples {
		svg := section(t, c.m, c.o)
		k, err := strconv.ParseFloat(sectionScale.FindStringSubmatch(svg)[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		d := sectionPath.FindStringSubmatch(svg)[1]
		var n []float64
		for _, f := range strings.FieldsFunc(d, func(r rune) bool { return r == ' ' || r == 'M' || r == 'L' || r == 'A' }) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatal(err)
			}
			n = append(n, v)
		}
		near := func(what string, px, mm float64) {
			t.Helper()
			if math.Abs(px-mm*k) > 0.03 { // each end is rounded to 0.01 px
				t.Errorf("%s: %s is %.2f px at %v px per mm, want %.2f", c.file, what, px, k, mm*k)
			}
		}
		deep, _ := c.m.Depth()
		rim, _ := c.m.SpanAt(deep)
		foot, _ := c.m.SpanAt(0)
		switch {
		case c.m.Shape == mould.Measured:
			// This is a closed polygon of 50 corners. Its area by the shoelace
			// rule is the width times the height, so the height stands for
			// volume.
			var a float64
			for i := 0; i < len(n); i += 2 {
				j := (i + 2) % len(n)
				a += n[i]*n[j+1] - n[j]*n[i+1]
			}
			v, err := c.m.Volume()
			if err != nil || math.Abs(math.Abs(a)/2-v.Value*k*jarWide) > 0.02*jarWide {
				t.Errorf("%s: an area of %.1f px² for %v mL at %v px per mL (%v)", c.file, a/2, v.Value, k, err)
			}
		case strings.Contains(d, "A"):
			// x1 y1 rx ry 0 large 0 x2 y2
			near("rim", n[7]-n[0], rim)
			if c.m.Shape == mould.SphericalCap {
				// The lowest point of the arc is r + √(r² − a²), or r minus that
				// root, below the rim.
				drop := math.Sqrt(max(0, n[2]*n[2]-(n[7]-n[0])*(n[7]-n[0])/4))
				if n[5] == 0 {
					drop = -drop
				}
				near("depth of the cap", n[2]+drop, deep)
			} else {
				near("half the rim", n[2], rim/2)
				near("depth of the arc", n[3], deep)
			}
		default:
			near("rim", n[6]-n[0], rim)
			near("foot", n[4]-n[2], foot)
			near("depth", n[3]-n[1], deep)
		}
		measured++
	}
	if measured != len(sectionSamples) || measured == 0 {
		t.Errorf("%d of %d drawings were measured", measured, len(sectionSamples))
	}
}

func TestWhatCannotBeDrawnIsRefused(t *testing.T) {
	loaf := sectionSamples[0].m
	for _, c := range []struct {
		m    mould.Mould
		o    SectionOptions
		want string
	}{
		{mould.Mould{}, SectionOptions{}, "shape: "},
		{shaped(mould.Cuboid, "", 0, 80, 65), SectionOptions{}, "length_mm: "},
		{shaped(mould.Cuboid, "", math.NaN(), 80, 65), SectionOptions{}, "length_mm: "},
		{loaf, SectionOptions{Width: 20}, "size: "},
		{loaf, SectionOptions{Width: math.NaN()}, "size: "},
		{loaf, SectionOptions{FillPct: quantity.Some(0)}, "fill_pct: "},
		{loaf, SectionOptions{FillPct: quantity.Some(math.NaN())}, "fill_pct: "},
	} {
		if svg, err := Section(c.m, c.o); err == nil || svg != "" || !strings.Contains(err.Error(), c.want) {
			t.Errorf("want %s: %d bytes, %v", c.want, len(svg), err)
		}
	}
	loaf.Cavities = 0
	if _, err := Section(loaf, SectionOptions{}); err != nil {
		t.Errorf("a mould is not drawn for want of a number of cavities: %v", err)
	}
}

func BenchmarkSection(b *testing.B) {
	m, o := sectionSamples[8].m, sectionSamples[8].o
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Section(m, o); err != nil {
			b.Fatal(err)
		}
	}
}
