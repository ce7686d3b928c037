package draw

import (
	"math"
	"strings"
	"testing"

	"barwright/fault"

	"pgregory.net/rapid"
)

// An areaTolerance of 0.2 % of the bar is less than a twentieth of the thinnest
// stratum that carries letters. Drawn coordinates are in hundredths of a pixel,
// which is much more exact.
const areaTolerance = 0.002

// checkAreas reads the picture back and compares what it shows with the bar.
func checkAreas(tb rapid.TB, bar Bar, svg string) {
	tb.Helper()
	areas := map[string]float64{}
	var total, foot float64
	var outline [][]Point
	paths := map[string][]Point{}
	key := 0.0
	for _, e := range read(tb, svg) {
		class := e.attrs["class"]
		switch {
		case class == "stratum":
			a := area(mustFlatten(tb, e.attrs["d"])[0])
			if _, twice := areas[e.attrs["data-stratum"]]; twice {
				tb.Errorf("%s is drawn twice", e.attrs["data-stratum"])
			}
			areas[e.attrs["data-stratum"]] = a
			total += a
		case class == "cut-outline":
			outline = mustFlatten(tb, e.attrs["d"])
		case class == "area-key":
			key = area(mustFlatten(tb, e.attrs["d"])[0])
		case strings.HasPrefix(class, "superfat-"):
			paths[class] = mustFlatten(tb, e.attrs["d"])[0]
		}
	}
	if len(areas) == 0 || len(outline) == 0 {
		tb.Fatal("no stratum, or no outline: nothing was measured")
	}
	for s, share := range bar.Shares {
		l := looks[s]
		a, drawn := areas[l.Key]
		if drawn != (share > 0) {
			tb.Errorf("%s: share %v, drawn: %v", l.Key, share, drawn)
		}
		if got := a / total; math.Abs(got-share) > areaTolerance {
			tb.Errorf("%s: %.3f %% of the area, %.3f %% of the bar", l.Key, got*100, share*100)
		}
	}
	face := area(outline[0])
	if math.Abs(face-total) > areaTolerance*face {
		tb.Errorf("the strata cover %.1f px², the face %.1f", total, face)
	}
	if key > 0 && math.Abs(key/face-0.01) > 0.0002 {
		tb.Errorf("the square that is 1 %% is %.3f %%", 100*key/face)
	}
	for _, p := range outline[0] {
		foot = math.Max(foot, p.Y)
	}

	// The area below an edge is the polygon between it and the foot of the face's
	// box, minus the two corners that the rounded foot leaves out. These are the
	// same for every edge above them.
	below := func(edge []Point) float64 {
		poly := append(append([]Point{}, edge...), Point{edge[len(edge)-1].X, foot}, Point{edge[0].X, foot})
		return area(poly)
	}
	lowest := outline[0] // its first half is the line of the foot, left to right
	var footLine []Point
	for _, p := range lowest {
		if len(footLine) > 0 && p.X < footLine[len(footLine)-1].X-1e-9 {
			break
		}
		footLine = append(footLine, p)
	}
	// The last of these may already be on the right side; drop it.
	for n := len(footLine); n > 1 && footLine[n-1].X == footLine[n-2].X && footLine[n-1].Y < footLine[n-2].Y-3; n = len(footLine) {
		footLine = footLine[:n-1]
	}
	corners := below(footLine)
	var soap float64
	for s := range FreeFat {
		soap += bar.Shares[s]
	}
	edge := func(class string, want float64) {
		tb.Helper()
		p, ok := paths[class]
		if !ok {
			tb.Fatalf("%s is not drawn", class)
		}
		if got := (below(p) - corners) / face; math.Abs(got-want) > areaTolerance {
			tb.Errorf("%s: %.3f %% of the bar below it, want %.3f %%", class, got*100, want*100)
		}
	}
	edge("superfat-edge", soap)
	if d := bar.Doubt; d != nil {
		within := func(x float64) float64 { return math.Max(0, math.Min(1, x)) }
		n := bar.Shares[FreeFat]
		edge("superfat-more", within(soap+n-d.High))
		edge("superfat-less", within(soap+n-math.Max(d.Low, bar.Wax)))
	} else if len(paths) != 1 {
		tb.Errorf("no interval is known, and %d edges are drawn", len(paths))
	}
}

func TestAreaIsMass(t *testing.T) {
	one := func(s Stratum) Bar {
		var b Bar
		b.Shares[s] = 1
		return b
	}
	thin := Bar{Doubt: &Interval{0.00005, 0.0002}}
	for s := range thin.Shares {
		thin.Shares[s] = 0.0001
	}
	thin.Shares[Mellow] = 1 - 0.0001*float64(NumStrata-1)
	bars := map[string]Bar{
		"storm lantern": stormLantern, "olive": tideOlive, "salt": saltHouse, "excess": thumbPot,
		"all but one at 0.01 %": thin, "all slow": one(Slow), "all free fat": one(FreeFat), "all scent": one(Scent),
		"all water": one(Water), "free fat on the bench": {Shares: [NumStrata]float64{FreeFat: .5, Scent: .5}, Doubt: &Interval{-.2, .9}},
	}
	for name, b := range bars {
		for size, o := range map[string]CutOptions{
			"laptop": {Width: 260, Height: 500, Leaders: legend(), Key: true},
			"phone":  {Width: 350, Height: 380, Key: true}, "small": {Width: 96, Height: 160},
			"paper": {Variant: Paper}, "plain": {}, "lying": {Width: 600, Height: 90},
		} {
			t.Run(name+", "+size, func(t *testing.T) {
				svg, err := BarCut(b, o)
				if err != nil {
					t.Fatal(err)
				}
				checkAreas(t, b, svg)
			})
		}
	}
}

// anyBar draws a random composition: some strata are missing, some very thin.
func anyBar(t *rapid.T) Bar {
	var b Bar
	sum := 0.0
	for sum == 0 {
		for s := range b.Shares {
			switch rapid.IntRange(0, 3).Draw(t, "how much") {
			case 0:
				b.Shares[s] = 0
			case 1:
				b.Shares[s] = rapid.Float64Range(0, 1e-3).Draw(t, "a hair")
			default:
				b.Shares[s] = rapid.Float64Range(0, 1).Draw(t, "share")
			}
			sum += b.Shares[s]
		}
	}
	for s := range b.Shares {
		b.Shares[s] /= sum
	}
	if rapid.Bool().Draw(t, "doubt") {
		lo := rapid.Float64Range(-0.3, 0.5).Draw(t, "low")
		b.Doubt = &Interval{lo, lo + rapid.Float64Range(0, 0.5).Draw(t, "width")}
	}
	b.Wax = b.Shares[FreeFat] * rapid.Float64Range(0, 1).Draw(t, "wax")
	b.MassG = rapid.Float64Range(0, 5000).Draw(t, "g")
	b.Name = rapid.StringN(0, 12, -1).Draw(t, "name")
	return b
}

func TestAreaIsMassForAnyBar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := anyBar(t)
		o := CutOptions{Width: rapid.Float64Range(90, 500).Draw(t, "w"), Height: rapid.Float64Range(150, 700).Draw(t, "h"),
			Key: rapid.Bool().Draw(t, "key"), Seed: rapid.String().Draw(t, "seed")}
		svg, err := BarCut(b, o)
		if err != nil {
			t.Fatal(err)
		}
		checkAreas(t, b, svg)
	})
}

func TestBoundariesNeverCross(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := newBasis(rapid.Float64Range(minFace, 600).Draw(t, "w"), rapid.Float64Range(minFace, 900).Draw(t, "h"), rapid.String().Draw(t, "seed"))
		last := b.curve(0)
		for i := 1; i <= 200; i++ {
			k := b.curve(float64(i) / 200)
			for j := range k {
				if k[j].Y >= last[j].Y {
					t.Fatalf("at t = %v the boundary does not rise at x = %v", float64(i)/200, k[j].X)
				}
			}
			last = k
		}
		for _, p := range last {
			if p.Y < -0.02*b.h {
				t.Fatalf("the crest stands %v px out of its box of %v", -p.Y, b.h)
			}
		}
	})
}

func TestLeadersFindEveryStratumInOrder(t *testing.T) {
	svg, err := BarCut(stormLantern, CutOptions{Width: 256, Height: 500, Leaders: legend()})
	if err != nil {
		t.Fatal(err)
	}
	present := stormLantern.Present()
	if present[0] != Scent || present[len(present)-1] != Slow {
		t.Errorf("the rows run from %v to %v, want scent to slow", present[0], present[len(present)-1])
	}
	inLeaders, n, dots := false, 0, 0
	lastDot := 0.0
	for _, e := range read(t, svg) {
		switch c := e.attrs["class"]; {
		case e.name == "g":
			inLeaders = c == "leaders"
		case inLeaders && e.name == "path":
			p := mustFlatten(t, e.attrs["d"])[0]
			// The row's middle is where the style sheet puts it.
			if want := 30 + 38*(float64(n)+.5); math.Abs(p[len(p)-1].Y-want) > 0.01 {
				t.Errorf("leader %d ends at %v, its row is at %v", n, p[len(p)-1].Y, want)
			}
			if p[0].Y < lastDot {
				t.Errorf("leader %d starts above the one before: they would cross", n)
			}
			lastDot = p[0].Y
			n++
		case e.name == "circle":
			dots++
		}
	}
	if n != len(present) || dots != n {
		t.Errorf("%d leaders and %d dots for %d strata", n, dots, len(present))
	}
	// Leaders stay in line when the table has a row for something that this bar
	// lacks.
	rows := append([]Stratum{UnknownSoap}, present...)
	svg, err = BarCut(stormLantern, CutOptions{Width: 256, Height: 560, Leaders: &Leaders{Pitch: 30, Rows: rows}})
	if err != nil || strings.Count(svg, "<circle") < len(present) || !strings.Contains(svg, "H255") {
		t.Errorf("a table with an empty row: %v", err)
	}
}

func TestLettersStandOnStrataThatHaveRoom(t *testing.T) {
	svg, err := BarCut(stormLantern, CutOptions{})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]bool{}
	for _, e := range read(t, svg) {
		if e.name == "text" {
			got[e.words] = true
		}
	}
	for _, l := range []string{"Sl", "Me", "Qu", "Wa", "Gl", "Fl"} {
		if !got[l] {
			t.Errorf("%s is missing", l)
		}
	}
	for _, l := range []string{"Ff", "Un", "Sa", "Ex", "Uk"} {
		if got[l] {
			t.Errorf("%s stands on a stratum that is too thin for it or not there", l)
		}
	}
}

func TestPictureSaysItsShares(t *testing.T) {
	svg, err := BarCut(thumbPot, CutOptions{ID: "a b<", Key: true})
	if err != nil {
		t.Fatal(err)
	}
	var desc, title string
	for _, e := range read(t, svg) {
		switch e.name {
		case "desc":
			desc = e.words
		case "title":
			title = e.words
		}
	}
	if title != "The bar, cut open: Thumb pot" {
		t.Errorf("title %q", title)
	}
	for _, want := range []string{"slow 21.0\u00a0%", "free fat 2.0\u00a0% (of it wax 0.4\u00a0%)", "salts 0.2\u00a0%", "soap of unknown acids 4.1\u00a0%",
		"may be as much as 5.5\u00a0%", "alkali in excess", "Not layers: all of it is mixed through."} {
		if !strings.Contains(desc, want) {
			t.Errorf("the sentence lacks %q: %s", want, desc)
		}
	}
	if strings.Contains(desc, "scent") {
		t.Errorf("the sentence names what is not there: %s", desc)
	}
	hidden, err := BarCut(Bar{Name: `<b>&"`, Shares: stormLantern.Shares}, CutOptions{Hidden: true})
	if err != nil || strings.Contains(hidden, "<title") || !strings.Contains(hidden, `aria-hidden="true"`) {
		t.Errorf("a hidden picture still speaks, or fails: %v", err)
	}
}

func TestEachNameHasACrestOfItsOwn(t *testing.T) {
	draw := func(name, seed string) string {
		b := stormLantern
		b.Name = name
		svg, err := BarCut(b, CutOptions{Seed: seed, Hidden: true})
		if err != nil {
			t.Fatal(err)
		}
		return svg
	}
	first, again := draw("a", ""), draw("a", "")
	if first != again {
		t.Error("the same bar is drawn in two ways")
	}
	if draw("a", "") == draw("b", "") {
		t.Error("two bars share a crest")
	}
}

func TestRefusedBars(t *testing.T) {
	bad := func(change func(*Bar, *CutOptions)) (Bar, CutOptions) {
		b, o := stormLantern, CutOptions{}
		change(&b, &o)
		return b, o
	}
	nan, inf := math.NaN(), math.Inf(1)
	cases := []struct {
		name, field string
		change      func(*Bar, *CutOptions)
	}{
		{"shares short of 1", "shares", func(b *Bar, _ *CutOptions) { b.Shares[Slow] -= .01 }},
		{"shares over 1", "shares", func(b *Bar, _ *CutOptions) { b.Shares[Slow] += .01 }},
		{"no shares", "shares", func(b *Bar, _ *CutOptions) { b.Shares = [NumStrata]float64{} }},
		{"a share that is no number", "shares", func(b *Bar, _ *CutOptions) { b.Shares[Slow] = nan }},
		{"an endless share", "shares", func(b *Bar, _ *CutOptions) { b.Shares[Slow] = inf }},
		{"a share below 0", "shares", func(b *Bar, _ *CutOptions) { b.Shares[Slow] -= .2; b.Shares[Mellow] += .2; b.Shares[Slow] -= .1 }},
		{"more wax than free fat", "wax", func(b *Bar, _ *CutOptions) { b.Wax = .5 }},
		{"an interval backwards", "doubt", func(b *Bar, _ *CutOptions) { b.Doubt = &Interval{.1, 0} }},
		{"an interval without end", "doubt", func(b *Bar, _ *CutOptions) { b.Doubt = &Interval{0, inf} }},
		{"a mass below 0", "mass", func(b *Bar, _ *CutOptions) { b.MassG = -1 }},
		{"no room", "size", func(_ *Bar, o *CutOptions) { o.Width = 8 }},
		{"a size that is no number", "size", func(_ *Bar, o *CutOptions) { o.Height = nan }},
		{"a wall of a picture", "size", func(_ *Bar, o *CutOptions) { o.Height = 1e9 }},
		{"rows on one another", "leaders", func(_ *Bar, o *CutOptions) { o.Leaders = &Leaders{} }},
		{"rows nowhere", "leaders", func(_ *Bar, o *CutOptions) { o.Leaders = &Leaders{Top: nan, Pitch: 3} }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			svg, err := BarCut(bad(c.change))
			if err == nil || svg != "" {
				t.Fatalf("drawn, error %v", err)
			}
			if f := fault.All(err)[0]; f.Kind != fault.Invalid || f.Field != c.field || !strings.HasSuffix(f.Message, ".") {
				t.Errorf("kind %v, field %q, %q; want field %q and a sentence", f.Kind, f.Field, f.Message, c.field)
			}
		})
	}
}

func FuzzBarCut(f *testing.F) {
	f.Add(.2, .3, .01, .1, .39, -.01, .05, 210., 430., "Storm lantern")
	f.Add(1., 0., 0., 0., 0., 0., 0., 96., 160., "")
	f.Add(1e-300, 1., 1e-17, 0., 0., -1e300, 1e300, 4000., 20., "\x00<&")
	f.Fuzz(func(t *testing.T, slow, mellow, free, water, salts, lo, hi, w, h float64, name string) {
		b := Bar{Name: name, Shares: [NumStrata]float64{Slow: slow, Mellow: mellow, FreeFat: free, Water: water, Salts: salts}, Doubt: &Interval{lo, hi}}
		if sum := slow + mellow + free + water + salts; sum > 0 && !math.IsInf(sum, 0) {
			for s := range b.Shares {
				b.Shares[s] /= sum // otherwise nearly every input would be refused
			}
		}
		svg, err := BarCut(b, CutOptions{Width: w, Height: h, Key: true, Leaders: legend()})
		if err != nil {
			if svg != "" || fault.KindOf(err) != fault.Invalid {
				t.Fatalf("refused with %v and %d bytes of picture", err, len(svg))
			}
			return
		}
		read(t, svg)
	})
}

func BenchmarkBarCut(b *testing.B) {
	for b.Loop() {
		if _, err := BarCut(stormLantern, CutOptions{Width: 256, Height: 500, Leaders: &Leaders{Top: 30, Pitch: 38}, Key: true}); err != nil {
			b.Fatal(err)
		}
	}
}
