package mould

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barwright/fault"
	"barwright/quantity"
)

func loaf(c Cut) Mould {
	m := of(Cuboid, Dimensions{LengthMM: some(250), WidthMM: some(90), DepthMM: some(75)})
	m.Cut = &c
	return m
}

// By hand: 250 − 2·5 − 9·1 = 231 mm makes ten bars of 23.1 mm, and 90 − 2·2 =
// 86 mm is left across. 1 125 mL reaches 50 mm high, 47 without the top: 23.1 ·
// 86 · 47 = 93.3702 mL. The blade takes 9 · 1 · 86 · 47 = 36.378 mL, and the
// rest of the 1 125 mL is trimmed.
func TestALoafCutByHand(t *testing.T) {
	m := loaf(Cut{Along: 10, Across: 1, Layers: 1, KerfMM: 1, EndMM: 5, SideMM: 2, TopMM: 3})
	c, err := m.CutUp(1125)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Bars) != m.Bars() || len(c.Bars) != 10 || math.Abs(c.LevelMM-50) > 1e-9 {
		t.Fatalf("%d bars, %v mm high", len(c.Bars), c.LevelMM)
	}
	for _, b := range c.Bars {
		if math.Abs(b.LengthMM-23.1) > 1e-9 || math.Abs(b.WidthMM-86) > 1e-9 || math.Abs(b.HeightMM-47) > 1e-9 || math.Abs(b.VolumeML-93.3702) > 1e-9 {
			t.Errorf("%+v", b)
		}
	}
	if math.Abs(c.KerfML-36.378) > 1e-9 || math.Abs(c.TrimML-(1125-933.702-36.378)) > 1e-9 || c.SpreadPct > 1e-9 {
		t.Errorf("kerf %v, trims %v, spread %v", c.KerfML, c.TrimML, c.SpreadPct)
	}
	if a := c.Along[3]; math.Abs(a.FromMM-(5+3*24.1)) > 1e-9 || math.Abs(a.Len()-23.1) > 1e-9 {
		t.Errorf("the fourth bar lies at %+v", a)
	}
}

type point [3]float64

// clip keeps the part of a convex solid, given by its faces, where n · p ≤ d,
// and closes it with a new face.
func clip(faces [][]point, n point, d float64) [][]point {
	dot := func(p point) float64 {
		if v := n[0]*p[0] + n[1]*p[1] + n[2]*p[2] - d; math.Abs(v) > 1e-9 {
			return v
		}
		return 0
	}
	if !slices.ContainsFunc(faces, func(f []point) bool { return slices.ContainsFunc(f, func(p point) bool { return dot(p) > 0 }) }) {
		return faces // a face that only touches would be closed twice
	}
	var out [][]point
	var rim []point
	for _, f := range faces {
		var kept []point
		for i, p := range f {
			q := f[(i+1)%len(f)]
			a, b := dot(p), dot(q)
			if a <= 0 {
				kept = append(kept, p)
			}
			if a < 0 && b > 0 || a > 0 && b < 0 {
				s := a / (a - b)
				x := point{p[0] + s*(q[0]-p[0]), p[1] + s*(q[1]-p[1]), p[2] + s*(q[2]-p[2])}
				kept = append(kept, x)
				rim = append(rim, x)
			} else if a == 0 {
				rim = append(rim, p)
			}
		}
		if len(kept) > 2 {
			out = append(out, kept)
		}
	}
	if len(rim) < 3 {
		return out
	}
	// The points are sorted around their middle, by the angle in the plane of
	// the cut.
	var c point
	for _, p := range rim {
		for k := range c {
			c[k] += p[k] / float64(len(rim))
		}
	}
	u := point{n[1], -n[0], 0}
	if n[0] == 0 && n[1] == 0 {
		u = point{1, 0, 0}
	}
	v := point{n[1]*u[2] - n[2]*u[1], n[2]*u[0] - n[0]*u[2], n[0]*u[1] - n[1]*u[0]}
	size := math.Sqrt(n[0]*n[0] + n[1]*n[1] + n[2]*n[2])
	angle := func(p point) float64 {
		var x, y float64
		for k := range p {
			x += (p[k] - c[k]) * u[k] * size
			y += (p[k] - c[k]) * v[k]
		}
		return math.Atan2(y, x)
	}
	slices.SortFunc(rim, func(p, q point) int {
		switch a, b := angle(p), angle(q); {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return 0
	})
	return append(out, rim)
}

// solid is the volume of a convex solid, from pyramids with their apex at a
// point inside it.
func solid(faces [][]point) float64 {
	var c point
	n := 0.0
	for _, f := range faces {
		for _, p := range f {
			for k := range c {
				c[k] += p[k]
			}
			n++
		}
	}
	if n == 0 {
		return 0
	}
	for k := range c {
		c[k] /= n
	}
	var sum float64
	for _, f := range faces {
		for i := 1; i+1 < len(f); i++ {
			var a, b, d point
			for k := range c {
				a[k], b[k], d[k] = f[0][k]-c[k], f[i][k]-c[k], f[i+1][k]-c[k]
			}
			sum += math.Abs(a[0]*(b[1]*d[2]-b[2]*d[1])-a[1]*(b[0]*d[2]-b[2]*d[0])+a[2]*(b[0]*d[1]-b[1]*d[0])) / 6
		}
	}
	return sum
}

func box(x0, x1, y0, y1, z0, z1 float64) [][]point {
	p := func(i, j, k int) point {
		return point{[2]float64{x0, x1}[i], [2]float64{y0, y1}[j], [2]float64{z0, z1}[k]}
	}
	return [][]point{
		{p(0, 0, 0), p(1, 0, 0), p(1, 1, 0), p(0, 1, 0)}, {p(0, 0, 1), p(1, 0, 1), p(1, 1, 1), p(0, 1, 1)},
		{p(0, 0, 0), p(1, 0, 0), p(1, 0, 1), p(0, 0, 1)}, {p(0, 1, 0), p(1, 1, 0), p(1, 1, 1), p(0, 1, 1)},
		{p(0, 0, 0), p(0, 1, 0), p(0, 1, 1), p(0, 0, 1)}, {p(1, 0, 0), p(1, 1, 0), p(1, 1, 1), p(1, 0, 1)},
	}
}

func anyCut(t *rapid.T) Mould {
	side := rapid.Float64Range(60, 400)
	m := of(TaperedBox, Dimensions{})
	for _, name := range m.Shape.Fields() {
		*m.Field(name) = some(side.Draw(t, name))
	}
	if rapid.Bool().Draw(t, "upright") {
		m = of(Cuboid, Dimensions{LengthMM: some(side.Draw(t, "length")), WidthMM: some(side.Draw(t, "width")), DepthMM: some(side.Draw(t, "depth"))})
	}
	m.Cut = &Cut{Along: rapid.IntRange(1, 6).Draw(t, "along"), Across: rapid.IntRange(1, 5).Draw(t, "across"), Layers: rapid.IntRange(1, 3).Draw(t, "layers"),
		KerfMM: rapid.Float64Range(0, 3).Draw(t, "kerf"), EndMM: rapid.Float64Range(0, 15).Draw(t, "end"),
		SideMM: rapid.Float64Range(0, 15).Draw(t, "side"), TopMM: rapid.Float64Range(0, 10).Draw(t, "top")}
	return m
}

// Every bar is the box that it is cut as, clipped by the four sloping faces.
// Clipping polygons shares no step with the slices by level. Every millilitre
// is in a bar, in the kerf or in the trimmings.
func TestBarsAreTheSolidsThatClippingGives(t *testing.T) {
	tried, sloping, refused := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		m := anyCut(t)
		full := volume(&m.Dimensions, m.Shape)
		ml := full * rapid.Float64Range(0.3, 1).Draw(t, "share")
		c, err := m.CutUp(ml)
		if err != nil {
			refused++
			return
		}
		tried++
		if len(c.Bars) != m.Bars() {
			t.Fatalf("%d bars of %d", len(c.Bars), m.Bars())
		}
		l0, w0, l1, w1, deep := m.LengthMM.V, m.WidthMM.V, m.LengthMM.V, m.WidthMM.V, m.DepthMM.V
		if m.Shape == TaperedBox {
			sloping++
			l0, w0, l1, w1 = m.BottomLengthMM.V, m.BottomWidthMM.V, m.TopLengthMM.V, m.TopWidthMM.V
		}
		longest := math.Max(l0, l0+(l1-l0)*c.LevelMM/deep)
		widest := math.Max(w0, w0+(w1-w0)*c.LevelMM/deep)
		long := (longest - 2*m.Cut.EndMM - float64(m.Cut.Along-1)*m.Cut.KerfMM) / float64(m.Cut.Along)
		wide := (widest - 2*m.Cut.SideMM - float64(m.Cut.Across-1)*m.Cut.KerfMM) / float64(m.Cut.Across)
		high := (c.LevelMM - m.Cut.TopMM - float64(m.Cut.Layers-1)*m.Cut.KerfMM) / float64(m.Cut.Layers)
		var sum float64
		for _, b := range c.Bars {
			x := m.Cut.EndMM + float64(b.Along-1)*(long+m.Cut.KerfMM) - longest/2
			y := m.Cut.SideMM + float64(b.Across-1)*(wide+m.Cut.KerfMM) - widest/2
			z := float64(b.Layer-1) * (high + m.Cut.KerfMM)
			f := box(x, x+long, y, y+wide, z, z+high)
			// x ≤ l0/2 + (l1 − l0)/2 · z/deep, and the same for the other three
			// faces.
			tx, ty := (l1-l0)/2/deep, (w1-w0)/2/deep
			f = clip(f, point{1, 0, -tx}, l0/2)
			f = clip(f, point{-1, 0, -tx}, l0/2)
			f = clip(f, point{0, 1, -ty}, w0/2)
			f = clip(f, point{0, -1, -ty}, w0/2)
			want := solid(f) / 1000
			// Where a corner of the box lies in a face, clipping is only as
			// exact as binary numbers allow. Elsewhere both are exact.
			if math.Abs(b.VolumeML-want) > 1e-6*want+1e-9 {
				t.Fatalf("%+v %+v filled with %v: bar %+v, by clipping %v", m.Dimensions, *m.Cut, ml, b, want)
			}
			if b.LengthMM > long+1e-9 || b.WidthMM > wide+1e-9 || b.VolumeML > b.LengthMM*b.WidthMM*b.HeightMM/1000*(1+1e-12) {
				t.Fatalf("a bar larger than it is cut: %+v", b)
			}
			sum += b.VolumeML
		}
		if math.Abs(sum+c.KerfML+c.TrimML-ml) > 1e-9*full || c.KerfML < 0 || c.TrimML < 0 {
			t.Fatalf("%+v %+v: bars %v, kerf %v, trims %v of %v", m.Dimensions, *m.Cut, sum, c.KerfML, c.TrimML, ml)
		}
		if c.LeastML > c.MeanML*(1+1e-12) || c.MeanML > c.MostML*(1+1e-12) || m.Shape == Cuboid && c.SpreadPct > 1e-6 {
			t.Fatalf("%v, %v, %v ± %v %%", c.LeastML, c.MeanML, c.MostML, c.SpreadPct)
		}
	})
	if !testing.Short() && (tried < 50 || sloping < 10) { // -short draws a fifth of the blocks
		t.Errorf("only %d blocks were cut, %d of them sloping; %d were refused", tried, sloping, refused)
	}
}

// The kerf and the trims are each found by counting the points of a grid, to
// ½ % of the block.
func TestKerfAndTrimsByCounting(t *testing.T) {
	m := of(TaperedBox, Dimensions{TopLengthMM: some(260), TopWidthMM: some(100), BottomLengthMM: some(230), BottomWidthMM: some(82), DepthMM: some(70)})
	m.Cut = &Cut{Along: 5, Across: 2, Layers: 2, KerfMM: 4, EndMM: 9, SideMM: 6, TopMM: 5}
	v := volumeOf(t, m).Value
	c, err := m.CutUp(v)
	if err != nil {
		t.Fatal(err)
	}
	const n = 160
	var bars, kerf, trim float64
	cell := 260.0 * 100 * 70 / n / n / n / 1000
	for i := range n {
		for j := range n {
			for k := range n {
				x, y, z := (float64(i)+0.5)/n*260, (float64(j)+0.5)/n*100, (float64(k)+0.5)/n*70
				if math.Abs(x-130) > 115+15*z/70 || math.Abs(y-50) > 41+9*z/70 {
					continue
				}
				switch {
				case x < 9 || x > 251 || y < 6 || y > 94 || z > 65:
					trim += cell
				case math.Mod(x-9, (242-16)/5.0+4) > (242-16)/5.0, math.Mod(y-6, 42+4) > 42, math.Mod(z, 30.5+4) > 30.5:
					kerf += cell
				default:
					bars += cell
				}
			}
		}
	}
	if math.Abs(bars-c.MeanML*20) > 0.005*v || math.Abs(kerf-c.KerfML) > 0.005*v || math.Abs(trim-c.TrimML) > 0.005*v || kerf < 0.05*v || trim < 0.1*v {
		t.Errorf("counted %v, %v, %v; worked out %v, %v, %v", bars, kerf, trim, c.MeanML*20, c.KerfML, c.TrimML)
	}
	if c.SpreadPct <= 0 || !(c.LeastML < c.MostML) {
		t.Errorf("a sloping block of equal bars: %+v", c)
	}
}

// The closed forms are compared with points counted by the equation of each
// solid. The count shares nothing with the spans, and would notice a wrong one.
// With 128³ points, those near the surface leave a doubt of 1 %.
func TestClosedFormsByCountingPoints(t *testing.T) {
	sq := func(x float64) float64 { return x * x }
	for name, c := range map[string]struct {
		m       Mould
		x, y, z float64 // half the box, half the box, its depth
		in      func(x, y, z float64) bool
	}{
		"cuboid": {of(Cuboid, Dimensions{LengthMM: some(100), WidthMM: some(60), DepthMM: some(40)}), 60, 40, 40,
			func(x, y, z float64) bool { return math.Abs(x) < 50 && math.Abs(y) < 30 }},
		"cylinder": {of(Cylinder, Dimensions{DiameterMM: some(70), DepthMM: some(30)}), 35, 35, 30,
			func(x, y, z float64) bool { return sq(x)+sq(y) < sq(35) }},
		"half cylinder": {of(HalfCylinder, Dimensions{DiameterMM: some(80), LengthMM: some(90)}), 40, 45, 40,
			func(x, y, z float64) bool { return sq(x)+sq(z-40) < sq(40) }},
		"frustum": {of(ConeFrustum, Dimensions{TopDiameterMM: some(80), BottomDiameterMM: some(50), DepthMM: some(60)}), 40, 40, 60,
			func(x, y, z float64) bool { return math.Hypot(x, y) < 25+z/4 }},
		"tapered box": {of(TaperedBox, Dimensions{TopLengthMM: some(100), TopWidthMM: some(40), BottomLengthMM: some(60), BottomWidthMM: some(50),
			DepthMM: some(50)}), 50, 25, 50, func(x, y, z float64) bool { return math.Abs(x) < 30+0.4*z && math.Abs(y) < 25-0.1*z }},
		"cap": {of(SphericalCap, Dimensions{RimDiameterMM: some(80), DepthMM: some(20)}), 40, 40, 20,
			func(x, y, z float64) bool { return sq(x)+sq(y)+sq(z-50) < sq(50) }},
		"deep cap": {of(SphericalCap, Dimensions{RimDiameterMM: some(80), DepthMM: some(80)}), 50, 50, 80,
			func(x, y, z float64) bool { return sq(x)+sq(y)+sq(z-50) < sq(50) }},
		"half ellipsoid": {of(HalfEllipsoid, Dimensions{LengthMM: some(90), WidthMM: some(60), DepthMM: some(30)}), 45, 30, 30,
			func(x, y, z float64) bool { return sq(x/45)+sq(y/30)+sq((z-30)/30) < 1 }},
	} {
		const n = 128
		inside, below := 0, 0
		for i := range n {
			for j := range n {
				for k := range n {
					if c.in((2*(float64(i)+0.5)/n-1)*c.x, (2*(float64(j)+0.5)/n-1)*c.y, (float64(k)+0.5)/n*c.z) {
						inside++
						if k < n/2 {
							below++
						}
					}
				}
			}
		}
		cell := 4 * c.x * c.y * c.z / n / n / n / 1000
		v := volumeOf(t, c.m).Value
		half, err := c.m.VolumeBelow(c.z / 2)
		if err != nil || math.Abs(v-float64(inside)*cell) > 0.01*v || math.Abs(half-float64(below)*cell) > 0.01*v {
			t.Errorf("%s: %v mL and %v below half; counted %v and %v (%v)", name, v, half, float64(inside)*cell, float64(below)*cell, err)
		}
	}
}

func TestEveryFaultOfACuttingPlan(t *testing.T) {
	plain := Cut{Along: 10, Across: 1, Layers: 1}
	for _, c := range []struct {
		name, field, want string
		change            func(*Mould)
	}{
		{"a round mould", "cut", "Only a cuboid and a tapered box can be cut", func(m *Mould) {
			*m = of(Cylinder, Dimensions{DiameterMM: some(70), DepthMM: some(30)})
			m.Cut = &plain
		}},
		{"none along", "cut.along", "0 cannot be the number of bars along", func(m *Mould) { m.Cut.Along = 0 }},
		{"none across", "cut.across", "-2 cannot be", func(m *Mould) { m.Cut.Across = -2 }},
		{"no layers", "cut.layers", "0 cannot be the number of layers", func(m *Mould) { m.Cut.Layers = 0 }},
		{"too many", "cut.along", "write at most 200", func(m *Mould) { m.Cut.Along = 1 << 40 }},
		{"too many layers", "cut.layers", "write at most 20", func(m *Mould) { m.Cut.Layers = 21 }},
		{"too many in all", "cut.along", "makes 4500 bars", func(m *Mould) { m.Cut.Along, m.Cut.Across, m.Cut.Layers = 150, 15, 2 }},
		{"a kerf below nothing", "cut.kerf_mm", "below 0", func(m *Mould) { m.Cut.KerfMM = -1 }},
		{"a kerf that is none", "cut.kerf_mm", "not a number", func(m *Mould) { m.Cut.KerfMM = math.NaN() }},
		{"an end that is none", "cut.end_mm", "not a number", func(m *Mould) { m.Cut.EndMM = math.Inf(1) }},
		{"a side below nothing", "cut.side_mm", "below 0", func(m *Mould) { m.Cut.SideMM = -0.01 }},
		{"a top of miles", "cut.top_mm", "over two metres", func(m *Mould) { m.Cut.TopMM = 1e9 }},
		{"ends that meet", "cut.end_mm", "leave no bar", func(m *Mould) { m.Cut.EndMM = 125 }},
		{"sides that meet", "cut.side_mm", "leave no bar", func(m *Mould) { m.Cut.SideMM = 60 }},
		{"a top as deep as the mould", "cut.top_mm", "leave no bar", func(m *Mould) { m.Cut.TopMM = 75 }},
		{"all kerf", "cut.along", "no thicker than a shaving", func(m *Mould) { m.Cut.KerfMM = 30 }},
		{"layers that are shavings", "cut.layers", "no thicker than a shaving", func(m *Mould) { m.Cut.Layers, m.Cut.KerfMM = 20, 3.7 }},
	} {
		m := loaf(plain)
		c.change(&m)
		l := m.Validate()
		if !slices.ContainsFunc(l, func(e *fault.Error) bool {
			return strings.Contains(e.Error(), c.field+": ") && strings.Contains(e.Error(), c.want)
		}) {
			t.Errorf("%s: want %s: …%s…, got %v", c.name, c.field, c.want, l)
		}
		if got, err := m.CutUp(500); err == nil || got.Bars != nil {
			t.Errorf("%s: cut up all the same", c.name)
		}
	}
	m := loaf(Cut{Along: 10, Across: 1, Layers: 2, TopMM: 10})
	for _, c := range []struct {
		m           Mould
		ml          float64
		field, want string
	}{
		{m, 0, "volume_ml", "makes no block"},
		{m, math.NaN(), "volume_ml", "makes no block"},
		{m, 5000, "volume_ml", "does not fit"},
		{m, 225, "cut.top_mm", "leaves no bar"},
		{m, 260, "cut.layers", "too shallow for 2 layers"},
		{of(Cuboid, m.Dimensions), 500, "cut", "no cutting plan"},
	} {
		if _, err := c.m.CutUp(c.ml); err == nil || !strings.Contains(err.Error(), c.field+": ") || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v mL: %v", c.ml, err)
		}
	}
	// A tin like a funnel: filled low, its block is far narrower than its rim.
	tin := of(TaperedBox, Dimensions{TopLengthMM: some(300), TopWidthMM: some(100), BottomLengthMM: some(40), BottomWidthMM: some(40), DepthMM: some(100)})
	tin.Cut = &Cut{Along: 2, Across: 1, Layers: 1, EndMM: 40}
	if _, err := tin.CutUp(30); err == nil || !strings.Contains(err.Error(), "cut.along: Filled ") {
		t.Errorf("a block narrower than its trims: %v", err)
	}
	tin.Cut = &Cut{Along: 12, Across: 1, Layers: 3}
	if err := tin.Validate().Err(); err == nil || !strings.Contains(err.Error(), "The sides slope so far that bar 1 along") {
		t.Errorf("bars that the slope leaves nothing of: %v", err)
	}
}

func TestFindingsOfCuts(t *testing.T) {
	tin := of(TaperedBox, Dimensions{TopLengthMM: some(250), TopWidthMM: some(90), BottomLengthMM: some(230), BottomWidthMM: some(80), DepthMM: some(70)})
	tin.Cut = &Cut{Along: 20, Across: 1, Layers: 1, TopMM: 2}
	rules := map[string]bool{}
	for _, f := range tin.Findings() {
		rules[f.Rule] = true
		if f.Message == "" || f.Source == "" || f.Remedy == "" || f.About != "cut" {
			t.Errorf("%+v", f)
		}
	}
	for _, want := range []string{"cut-uneven", "cut-thin", "cut-waste"} {
		if !rules[want] {
			t.Errorf("no %s among %v", want, rules)
		}
	}
	m := loaf(Cut{Along: 10, Across: 1, Layers: 1})
	if f := m.Findings(); len(f) > 0 {
		t.Errorf("ten equal bars with a wire: %v", f)
	}
}

func FuzzCutUp(f *testing.F) {
	f.Add([]byte(`{"shape":"cuboid","length_mm":250,"width_mm":90,"depth_mm":75,"cavities":1,"sets":1,`+
		`"cut":{"along":10,"across":1,"layers":1,"kerf_mm":1}}`), 1000.0)
	f.Add([]byte(`{"shape":"tapered-box","top_length_mm":330,"top_width_mm":230,"bottom_length_mm":320,"bottom_width_mm":220,"depth_mm":40,`+
		`"cavities":1,"sets":1,"cut":{"along":5,"across":4,"layers":1,"end_mm":5}}`), 500.0)
	f.Fuzz(func(t *testing.T, b []byte, ml float64) {
		var m Mould
		if json.Unmarshal(b, &m) != nil {
			return
		}
		c, err := m.CutUp(ml)
		if err != nil {
			if c.Bars != nil || strings.Contains(err.Error(), "NaN") {
				t.Fatalf("%v with %v", err, c)
			}
			return
		}
		sum := c.KerfML + c.TrimML
		for _, x := range c.Bars {
			sum += x.VolumeML
			if !(x.VolumeML > 0) || !quantity.Finite(x.LengthMM*x.WidthMM*x.HeightMM) {
				t.Fatalf("%+v", x)
			}
		}
		if !(math.Abs(sum-ml) <= 1e-7*ml+1e-9) {
			t.Fatalf("%s: %v mL of %v", b, sum, ml)
		}
		c.Findings()
	})
}
