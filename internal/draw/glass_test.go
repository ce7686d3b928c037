package draw

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"barwright/fault"

	"pgregory.net/rapid"
)

// labels lists the numbers of the axis.
func labels(t *testing.T, svg string) []string {
	t.Helper()
	var out []string
	inside := false
	for _, e := range read(t, svg) {
		if e.name == "g" {
			inside = e.attrs["class"] == classFigs
		}
		if inside && e.name == "text" {
			out = append(out, e.words)
		}
	}
	if len(out) < 3 {
		t.Fatalf("only %d numbers on the axis", len(out))
	}
	return out
}

func TestScaleWidensByWholePerCents(t *testing.T) {
	cases := []struct {
		name                 string
		nominal, low, high   float64
		from, to             float64
		earlierLo, earlierHi float64
	}{
		{"all inside", 3, .7, 5.2, -2, 8, 0, 0},
		{"ends on the ends", 3, -2, 8, -2, 8, 0, 0},
		{"below", 1, -3.1, 5, -5, 8, 0, 0},  // the scale continues below by a fifth of 8.1
		{"above", 8, 5, 10.5, -2, 12, 0, 0}, // the scale continues above by a fifth of 5.5
		{"an earlier one above", 3, .7, 5.2, -2, 13, 9, 12.4},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := Superfat{NominalPct: c.nominal, LowPct: c.low, HighPct: c.high, MeanPct: c.nominal, SDPct: 1}
			if c.earlierHi != 0 {
				s.Earlier = &Earlier{"version 1", c.earlierLo, c.earlierLo, c.earlierHi}
			}
			svg, err := Glass(s, GlassOptions{})
			if err != nil {
				t.Fatal(err)
			}
			// Read the scale from two positions: the line at 0 and the superfat
			// asked for.
			at := map[string]float64{}
			for _, e := range read(t, svg) {
				if cl := e.attrs["class"]; cl == "glass-zero" || cl == "glass-nominal" {
					at[cl] = mustFlatten(t, e.attrs["d"])[0][0].X
				}
			}
			ratio := (at["glass-nominal"] - at["glass-zero"]) / c.nominal
			from, to := (1-at["glass-zero"])/ratio, (535-at["glass-zero"])/ratio
			if math.Abs(from-c.from) > .02 || math.Abs(to-c.to) > .02 {
				t.Errorf("the scale runs from %.2f to %.2f, want %v to %v", from, to, c.from, c.to)
			}
			ls := labels(t, svg)
			if last := ls[len(ls)-1]; !strings.HasSuffix(last, "\u00a0%") {
				t.Errorf("the last number, %q, lacks its unit", last)
			}
		})
	}
}

func TestTailLeftOfZeroIsTheChanceOfExcess(t *testing.T) {
	// The share of a normal curve below 0 is ½ erfc(mean / (sd √2)), as in any
	// handbook of statistics. The tail in the picture must be that share of the
	// whole curve.
	for _, mean := range []float64{.5, 1, 2} {
		s := Superfat{NominalPct: mean, LowPct: mean - 1.96, HighPct: mean + 1.96, MeanPct: mean, SDPct: 1}
		svg, err := Glass(s, GlassOptions{})
		if err != nil {
			t.Fatal(err)
		}
		var tail, rest float64
		inCurve := false
		for _, e := range read(t, svg) {
			if e.name == "g" {
				inCurve = e.attrs["class"] == "glass-curve"
			}
			if !inCurve || e.name != "path" {
				continue
			}
			if e.attrs["class"] == "glass-tail" {
				tail = area(mustFlatten(t, e.attrs["d"])[0])
			} else if rest == 0 {
				rest = area(mustFlatten(t, e.attrs["d"])[0])
			}
		}
		want := math.Erfc(mean/math.Sqrt2) / 2
		// The scale ends 2.5 to 4.5 sd out, and a cubic follows the curve to a
		// hundredth of its height: 0.006 in all.
		if got := tail / (tail + rest); math.Abs(got-want) > .006 {
			t.Errorf("mean %v: the tail is %.4f of the curve, want %.4f", mean, got, want)
		}
	}
}

func TestGlassSaysTheChanceInWords(t *testing.T) {
	cases := []struct {
		p    float64
		want string
	}{
		{0, "under 1 in 1\u202f000\u202f000"}, {1.0 / 387, "1 in 390"}, {1.0 / 12, "1 in 12"}, {.00001234, "1 in 81\u202f000"},
		{.198, "20 in 100"}, {.1, "10 in 100"}, {.999, "all but certain"}, {1, "all but certain"},
	}
	for _, c := range cases {
		if got := (&Superfat{Excess: c.p}).odds(); got != c.want {
			t.Errorf("%v: %q, want %q", c.p, got, c.want)
		}
	}
	for _, w := range []float64{240, 350, 536, 900} {
		for _, s := range []Superfat{stormFat, thumbFat, saltFat} {
			svg, err := Glass(s, GlassOptions{Width: w})
			if err != nil {
				t.Fatal(err)
			}
			var said []string
			inside := false
			for _, e := range read(t, svg) {
				if e.name == "g" {
					inside = strings.Contains(e.attrs["class"], "glass-odds")
				}
				if inside && e.name == "text" {
					said = append(said, e.words)
				}
				if size, ok := e.attrs["font-size"]; ok {
					if v, err := strconv.ParseFloat(size, 64); err != nil || v < 12 {
						t.Errorf("words of %s px at %v px width; 12 is the least", size, w)
					}
				}
			}
			if got, want := strings.Join(said, " "), "alkali in excess: "+s.odds(); got != want {
				t.Errorf("at %v px it says %q, want %q", w, got, want)
			}
		}
	}
}

func TestBracketsStandWhereTheirNumbersAre(t *testing.T) {
	svg, err := Glass(stormFat, GlassOptions{Width: 352}) // 35 px per %
	if err != nil {
		t.Fatal(err)
	}
	var class string
	seen := 0
	for _, e := range read(t, svg) {
		if e.name == "g" {
			class = e.attrs["class"]
		}
		want, ok := map[string]float64{"glass-this": 1 + 35*5, "glass-earlier": 1 + 35*7}[class]
		if !ok || e.name != "circle" {
			continue
		}
		if x, err := strconv.ParseFloat(e.attrs["cx"], 64); err != nil || math.Abs(x-want) > .01 {
			t.Errorf("%s: its dot is at %v, want %v", class, x, want)
		}
		seen++
	}
	if seen != 2 {
		t.Errorf("%d brackets, want 2", seen)
	}
}

func TestRefusedSuperfats(t *testing.T) {
	nan := math.NaN()
	cases := []struct {
		name, field string
		change      func(*Superfat, *GlassOptions)
	}{
		{"no number", "superfat", func(s *Superfat, _ *GlassOptions) { s.NominalPct = nan }},
		{"backwards", "superfat", func(s *Superfat, _ *GlassOptions) { s.LowPct = 9 }},
		{"a spread below 0", "superfat", func(s *Superfat, _ *GlassOptions) { s.SDPct = -1 }},
		{"a chance over 1", "superfat", func(s *Superfat, _ *GlassOptions) { s.Excess = 1.1 }},
		{"off every scale", "superfat", func(s *Superfat, _ *GlassOptions) { s.HighPct = 1e9 }},
		{"no bins", "histogram", func(s *Superfat, _ *GlassOptions) { s.Histogram = &Histogram{StepPct: 1} }},
		{"bins without width", "histogram", func(s *Superfat, _ *GlassOptions) { s.Histogram = &Histogram{Counts: []float64{1}} }},
		{"empty bins", "histogram", func(s *Superfat, _ *GlassOptions) { s.Histogram = &Histogram{StepPct: 1, Counts: []float64{0}} }},
		{"a bin below 0", "histogram", func(s *Superfat, _ *GlassOptions) { s.Histogram = &Histogram{StepPct: 1, Counts: []float64{3, -1}} }},
		{"an earlier one backwards", "earlier", func(s *Superfat, _ *GlassOptions) { s.Earlier = &Earlier{"v1", 1, 2, 1} }},
		{"too narrow", "size", func(_ *Superfat, o *GlassOptions) { o.Width = 100 }},
		{"no width", "size", func(_ *Superfat, o *GlassOptions) { o.Width = nan }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s, o := stormFat, GlassOptions{}
			c.change(&s, &o)
			svg, err := Glass(s, o)
			if err == nil || svg != "" {
				t.Fatalf("drawn, error %v", err)
			}
			if f := fault.All(err)[0]; f.Kind != fault.Invalid || f.Field != c.field || !strings.HasSuffix(f.Message, ".") {
				t.Errorf("kind %v, field %q, %q; want field %q and a sentence", f.Kind, f.Field, f.Message, c.field)
			}
		})
	}
}

func TestAnySuperfatIsDrawnWithinItsPicture(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-300, 300).Draw(t, "low")
		s := Superfat{LowPct: lo, HighPct: lo + rapid.Float64Range(0, 200).Draw(t, "width"), NominalPct: rapid.Float64Range(-100, 100).Draw(t, "nominal"),
			MeanPct: rapid.Float64Range(-100, 100).Draw(t, "mean"), SDPct: rapid.Float64Range(0, 50).Draw(t, "sd"),
			Excess: rapid.Float64Range(0, 1).Draw(t, "p")}
		w := rapid.Float64Range(240, 900).Draw(t, "w")
		svg, err := Glass(s, GlassOptions{Width: w})
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, e := range read(t, svg) {
			cl := e.attrs["class"]
			if cl != "glass-zero" && cl != "glass-nominal" && cl != "glass-interval" && cl != "glass-tail" {
				continue
			}
			for _, p := range mustFlatten(t, e.attrs["d"])[0] {
				if p.X < -.01 || p.X > w+.01 || p.Y < -.01 {
					t.Fatalf("%s reaches %v, %v in a picture %v wide", cl, p.X, p.Y, w)
				}
				n++
			}
		}
		if n == 0 {
			t.Fatal("nothing was measured")
		}
	})
}

func FuzzGlass(f *testing.F) {
	f.Add(3., .7, 5.2, 3., 1.1, .003, 536., .1, -1., 3.)
	f.Add(20., 17., 23., 20., 1e-9, 0., 350., 0., 0., 0.)
	f.Add(-5., -900., 900., 0., 1e3, 1., 240., 1e-300, 999., 1.)
	f.Fuzz(func(t *testing.T, nominal, lo, hi, mean, sd, p, w, step, from, count float64) {
		for _, h := range []*Histogram{nil, {from, step, []float64{count, 1, 2}}} {
			svg, err := Glass(Superfat{NominalPct: nominal, LowPct: lo, HighPct: hi, MeanPct: mean, SDPct: sd, Excess: p, Histogram: h}, GlassOptions{Width: w})
			if err != nil {
				if svg != "" || fault.KindOf(err) != fault.Invalid {
					t.Fatalf("refused with %v and %d bytes of picture", err, len(svg))
				}
				continue
			}
			read(t, svg)
		}
	})
}

func BenchmarkGlass(b *testing.B) {
	h := draws()
	for name, hist := range map[string]*Histogram{"normal": nil, "draws": h} {
		b.Run(name, func(b *testing.B) {
			s := stormFat
			s.Histogram = hist
			for b.Loop() {
				if _, err := Glass(s, GlassOptions{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
