package doubt_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"barwright/doubt"
	"barwright/fault"
	"barwright/quantity"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.6g, want %.6g ± %g", what, got, want, tol)
	}
}

// Calibration of an end gauge: JCGM 100:2008, H.1, with the standard
// uncertainties and degrees of freedom printed in table H.1. Lengths are in nm.
func TestEndGaugeOfTheGUM(t *testing.T) {
	in := []doubt.Input{
		{Name: "lS", Dist: doubt.Normal, Value: 50_000_623, Width: 25, DoF: 18},
		{Name: "d", Dist: doubt.Normal, Value: 215, Width: 9.7, DoF: 25.6},
		{Name: "alphaS", Dist: doubt.Normal, Value: 11.5e-6, Width: 1.2e-6},
		{Name: "theta", Dist: doubt.Normal, Value: -0.1, Width: 0.41},
		{Name: "dalpha", Dist: doubt.Normal, Width: 0.58e-6, DoF: 50},
		{Name: "dtheta", Dist: doubt.Normal, Width: 0.029, DoF: 2},
		{Name: "unread", Dist: doubt.Exact, Value: 3, Width: math.Inf(1)}, // Width of Exact is not read
	}
	b := doubt.Propagate(func(x []float64) float64 {
		lS, d, alphaS, theta, dalpha, dtheta := x[0], x[1], x[2], x[3], x[4], x[5]
		return lS + d - lS*(dalpha*theta+alphaS*dtheta)
	}, in)
	near(t, "l", b.Value, 50_000_838, 0.5)
	near(t, "u_c", b.SD, 31.71, 0.01) // H.1.4 prints 32
	for i, want := range []float64{25, 9.7, 0, 0, 2.9, 16.6, 0} {
		// Table H.1 prints 16.6, although lS·αS·0.029 is 16.68.
		near(t, "term "+b.Terms[i].Name, b.Terms[i].SD, want, 0.08)
	}
	near(t, "effective degrees of freedom", b.DoF, 16.7, 0.1) // H.1.6: 16
	near(t, "t99", b.CoverageFactor(0.99), 2.92, 0.005)       // H.1.6 and table G.2
	lo, hi := b.Interval(0.99)
	near(t, "U99", (hi-lo)/2, 93, 0.5) // H.1.6
	near(t, "middle of the interval", (hi+lo)/2, b.Value, 1e-6)
	sum := 0.0
	for _, term := range b.Terms {
		sum += term.Share
	}
	near(t, "sum of the shares", sum, 1, 1e-12)
}

// t for 95 and 99 %: JCGM 100:2008, table G.2.
func TestCoverageFactorIsTheTableOfT(t *testing.T) {
	for _, row := range []struct{ dof, t95, t99 float64 }{
		{1, 12.71, 63.66}, {2, 4.30, 9.92}, {3, 3.18, 5.84}, {5, 2.57, 4.03}, {10, 2.23, 3.17},
		{20, 2.09, 2.85}, {50, 2.01, 2.68}, {100, 1.984, 2.626}, {math.Inf(1), 1.960, 2.576},
	} {
		b := doubt.PropagateWith(0, []float64{1}, []doubt.Input{{Dist: doubt.Normal, Width: 1, DoF: row.dof}})
		near(t, fmt.Sprintf("t95 at %g", row.dof), b.CoverageFactor(0.95), row.t95, 0.0051)
		near(t, fmt.Sprintf("t99 at %g", row.dof), b.CoverageFactor(0.99), row.t99, 0.0051)
	}
}

// Additive models: JCGM 101:2008, 9.2.2 to 9.2.4.
func TestSumsOfSupplement1(t *testing.T) {
	sum := func(x []float64) float64 { return x[0] + x[1] + x[2] + x[3] }
	drawn := func(x, y []float64) { y[0] = sum(x) }
	four := func(dist doubt.Dist, width float64) []doubt.Input {
		return slices.Repeat([]doubt.Input{{Dist: dist, Width: width}}, 4)
	}
	ten := four(doubt.Rectangular, math.Sqrt(3))
	ten[3].Width *= 10
	for _, c := range []struct {
		name                      string
		in                        []doubt.Input
		first, firstEnd           float64 // first order: u and the 95 % end, as published
		drawnSD, drawnEnd, sdTol  float64 // Monte Carlo; ends ± 0.02, which is five times what a million draws scatter
		exactEnd, endTol, spreadT float64
	}{
		{name: "four normals (9.2.2)", in: four(doubt.Normal, 1), first: 2, firstEnd: 3.92, drawnSD: 2, drawnEnd: 3.92, sdTol: 0.01,
			exactEnd: 3.9199, endTol: 0.03, spreadT: 0.0002},
		{name: "four rectangular (9.2.3)", in: four(doubt.Rectangular, math.Sqrt(3)), first: 2, firstEnd: 3.92, drawnSD: 2, drawnEnd: 3.88, sdTol: 0.01,
			exactEnd: 2 * math.Sqrt(3) * (2 - math.Pow(0.6, 0.25)), endTol: 0.02, spreadT: 1e-6}, // Annex E's closed form
		{name: "one of them ten times as wide (9.2.4)", in: ten, first: 10.1, firstEnd: 19.9, drawnSD: 10.1, drawnEnd: 17.0, sdTol: 0.06,
			exactEnd: 17.0, endTol: 0.06, spreadT: 0.05},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := doubt.Propagate(sum, c.in)
			near(t, "first-order u", b.SD, c.first, 0.06)
			lo, hi := b.Interval(0.95)
			near(t, "first-order end", hi, c.firstEnd, 0.06)
			near(t, "first-order lower end", lo, -c.firstEnd, 0.06)
			near(t, "end by the spread", b.Spread().Quantile(0.975), c.exactEnd, c.spreadT)

			s := doubt.Draw(drawn, c.in, 1, 1_000_000, 1)
			near(t, "mean", s.Mean(0), 0, 0.04)
			near(t, "drawn u", s.SD(0), c.drawnSD, c.sdTol)
			lo, hi = s.SymmetricInterval(0, 0.95)
			near(t, "drawn end", hi, c.drawnEnd, c.endTol)
			near(t, "drawn lower end", lo, -c.drawnEnd, c.endTol)
		})
	}
	closed := 2 * math.Sqrt(3) * (2 - math.Pow(0.6, 0.25))
	near(t, "Annex E", closed, 3.8794, 5e-5)
}

// Mass calibration: JCGM 101:2008, 9.3, table 6. Result in mg above 100 g.
func TestMassCalibrationOfSupplement1(t *testing.T) {
	in := []doubt.Input{
		{Name: "mRc", Dist: doubt.Normal, Value: 100_000.000, Width: 0.050},
		{Name: "dmRc", Dist: doubt.Normal, Value: 1.234, Width: 0.020},
		{Name: "air", Dist: doubt.Rectangular, Value: 1.20, Width: 0.10},
		{Name: "W", Dist: doubt.Rectangular, Value: 8000, Width: 1000},
		{Name: "R", Dist: doubt.Rectangular, Value: 8000, Width: 50},
	}
	model := func(x []float64) float64 {
		return (x[0]+x[1])*(1+(x[2]-1.2)*(1/x[3]-1/x[4])) - 100_000
	}
	b := doubt.Propagate(model, in)
	near(t, "first-order value", b.Value, 1.2340, 0.00005)
	near(t, "first-order u", b.SD, 0.0539, 0.00005)
	lo, hi := b.Interval(0.95)
	near(t, "first-order lower end", lo, 1.1285, 0.0001)
	near(t, "first-order upper end", hi, 1.3395, 0.0001)

	s := doubt.Draw(func(x, y []float64) { y[0] = model(x) }, in, 1, 1_000_000, 2)
	near(t, "drawn mean", s.Mean(0), 1.2341, 0.0004)
	near(t, "drawn u", s.SD(0), 0.0754, 0.0004)
	lo, hi = s.ShortestInterval(0, 0.95)
	near(t, "shortest lower end", lo, 1.0834, 0.004)
	near(t, "shortest upper end", hi, 1.3825, 0.004)
	slo, shi := s.SymmetricInterval(0, 0.95)
	if shi-slo < hi-lo {
		t.Errorf("the shortest interval, %g to %g, is longer than the symmetric one, %g to %g", lo, hi, slo, shi)
	}
}

// lye is the alkali in excess, in g NaOH, of two oils. The inputs are the lye's
// mass and purity, then the mass and SAP (mg KOH/g) of each oil. 0.712888 is
// M(NaOH)/M(KOH) from the IUPAC atomic weights.
func lye(x []float64) float64 {
	const naohPerKOH = 39.9968 / 56.1053
	return x[0]*x[1] - naohPerKOH/1000*(x[2]*x[3]+x[4]*x[5])
}

func batch(lyeG float64) []doubt.Input {
	gram := quantity.Some(1)
	return []doubt.Input{
		doubt.Division("lye", lyeG, gram),
		{Name: "purity", Dist: doubt.Rectangular, Value: 0.985, Width: 0.01},
		doubt.Division("olive", 700, gram),
		doubt.Between("olive SAP", quantity.Both(184, 196)),
		doubt.Division("coconut", 300, gram),
		doubt.Between("coconut SAP", quantity.Both(248, 265)),
	}
}

// A batch of 700 g olive and 300 g coconut oil with 144 g of lye at 98.5 ± 1 %,
// weighed in steps of 1 g, with the SAP ranges of Codex CXS 33 and CXS 210. The
// terms were worked out by hand from GUM 5.1.2. The chances are those of an
// independent Monte Carlo with a million draws.
func TestABatchOfTwoOils(t *testing.T) {
	b := doubt.Propagate(lye, batch(144))
	near(t, "excess", b.Value, -7.831, 0.001)
	near(t, "u", b.SD, 2.206, 0.001)
	for i, want := range []float64{0.284, 0.831, 0.039, 1.729, 0.053, 1.050} {
		near(t, "term "+b.Terms[i].Name, b.Terms[i].SD, want, 0.0006)
	}
	need := 144*0.985 - b.Value
	near(t, "alkali needed", need, 149.671, 0.001)
	near(t, "superfat", -100*b.Value/need, 5.23, 0.005)
	near(t, "u of the superfat", 100*b.SD/need, 1.47, 0.005)

	for _, row := range []struct{ lyeG, chance float64 }{{144, 0}, {148, 0.037}, {150, 0.210}, {152, 0.508}} {
		in := batch(row.lyeG)
		s := doubt.Draw(func(x, y []float64) { y[0] = -lye(x) }, in, 1, 1_000_000, 3)
		chance := s.ShareBelow(0, 0)
		near(t, fmt.Sprintf("drawn chance of excess with %g g", row.lyeG), chance, row.chance, 0.003)
		first := doubt.Propagate(lye, in)
		near(t, fmt.Sprintf("first-order chance of excess with %g g", row.lyeG), 1-first.Below(0), row.chance, 0.003)
		if row.lyeG == 144 {
			if chance >= 1e-6 || 1-first.Below(0) >= 1e-6 {
				t.Errorf("the chance of excess with 144 g is %g drawn, %g by first order; want below 1e-6", chance, 1-first.Below(0))
			}
			near(t, "drawn u", s.SD(0), 2.204, 0.006)
			near(t, "drawn 2.5 %", -s.Quantile(0, 0.975), -12.01, 0.02)
			near(t, "drawn 97.5 %", -s.Quantile(0, 0.025), -3.65, 0.02)
			near(t, "first-order 2.5 %", first.Spread().Quantile(0.025), -12.01, 0.03)
			near(t, "first-order 97.5 %", first.Spread().Quantile(0.975), -3.65, 0.03)
		}
	}
}

// The sum of n rectangles of one width has Irwin and Hall's distribution, here
// in its closed form. The spread must equal it for up to four rectangles and
// stay near it for more.
func TestSpreadAgainstIrwinAndHall(t *testing.T) {
	irwinHall := func(n int, x float64) float64 {
		sum, choose, factorial := 0.0, 1.0, 1.0
		for k := 0; k <= n; k++ {
			if x > float64(k) {
				sum += math.Pow(-1, float64(k)) * choose * math.Pow(x-float64(k), float64(n))
			}
			choose = choose * float64(n-k) / float64(k+1)
		}
		for k := 2; k <= n; k++ {
			factorial *= float64(k)
		}
		return sum / factorial
	}
	cases := 0
	for n, tol := range map[int]float64{1: 1e-12, 2: 1e-12, 3: 1e-12, 4: 1e-12, 5: 0.0003, 8: 0.0003, 12: 0.0003, 20: 0.0003} {
		in := slices.Repeat([]doubt.Input{{Dist: doubt.Rectangular, Value: 0.5, Width: 0.5}}, n)
		c := slices.Repeat([]float64{1}, n)
		b := doubt.PropagateWith(float64(n)/2, c, in)
		for x := 0.0; x <= float64(n); x += 0.0625 {
			near(t, fmt.Sprintf("chance that %d rectangles are below %g", n, x), b.Below(x), irwinHall(n, x), tol)
			cases++
		}
	}
	if cases < 100 {
		t.Fatalf("only %d cases were tried", cases)
	}
}

func TestNormalByItself(t *testing.T) {
	// Abramowitz & Stegun, table 26.1.
	for _, row := range []struct{ z, p float64 }{{0, 0.5}, {1, 0.841344746}, {2, 0.977249868}, {3, 0.998650102}, {-3, 0.001349898}} {
		near(t, fmt.Sprintf("P(%g)", row.z), doubt.NormalBelow(10, 2, 10+2*row.z), row.p, 1e-9)
	}
	lo, hi := doubt.NormalInterval(10, 2, 0.95)
	near(t, "lower end", lo, 10-2*1.959964, 1e-6)
	near(t, "upper end", hi, 10+2*1.959964, 1e-6)
	lo, hi = doubt.NormalInterval(10, 0, 0.95)
	if lo != 10 || hi != 10 || doubt.NormalBelow(10, 0, 10) != 0 || doubt.NormalBelow(10, 0, 10.1) != 1 {
		t.Errorf("a quantity without doubt has the interval %g to %g", lo, hi)
	}
}

func TestWithoutDoubt(t *testing.T) {
	b := doubt.Propagate(func(x []float64) float64 { return 2 * x[0] }, []doubt.Input{{Value: 4}, {Dist: doubt.Rectangular, Value: 1}})
	lo, hi := b.Interval(0.95)
	if b.Value != 8 || b.SD != 0 || lo != 8 || hi != 8 || !math.IsInf(b.DoF, 1) || b.Terms[0].Share != 0 {
		t.Errorf("twice an exact 4 is %+v, between %g and %g", b, lo, hi)
	}
	if b.Below(8) != 0 || b.Below(8.001) != 1 || b.Spread().Quantile(0.1) != 8 {
		t.Errorf("an exact 8 has spread: below 8 %g, below 8.001 %g", b.Below(8), b.Below(8.001))
	}
	empty := doubt.Draw(nil, nil, 1, 0, 1)
	lo, hi = empty.ShortestInterval(0, 0.95)
	if empty.Draws() != 0 || empty.Mean(0) != 0 || empty.SD(0) != 0 || empty.Quantile(0, 0.5) != 0 || empty.ShareBelow(0, 1) != 0 || lo != 0 || hi != 0 {
		t.Error("an empty sample is not all 0")
	}
}

func TestCheckNamesEveryInputThatSpoils(t *testing.T) {
	in := []doubt.Input{
		{Name: "good", Dist: doubt.Rectangular, Value: 1, Width: 1},
		{Name: "not a number", Value: math.NaN()},
		{Name: "negative", Dist: doubt.Normal, Width: -1},
		{Name: "endless", Dist: doubt.Rectangular, Width: math.Inf(1)},
		{Name: "few readings", Dist: doubt.StudentT, Width: 1},
		{Name: "odd", Dist: doubt.StudentT + 1, Width: 1},
		{Name: "less than none", Dist: doubt.Normal, Width: 1, DoF: -1},
	}
	var faults fault.List
	if !errors.As(doubt.Check(in), &faults) || len(faults) != len(in)-1 {
		t.Fatalf("Check found %v", faults)
	}
	for i, f := range faults {
		if want := fmt.Sprintf("input:%d", i+1); f.Field != want || f.Kind != fault.Invalid || f.Message == "" {
			t.Errorf("fault %d is %v, want one on %s", i, f, want)
		}
	}
	if err := doubt.Check(in[:1]); err != nil {
		t.Errorf("a good input is refused: %v", err)
	}
}

// linear is a random linear model with its inputs.
func linear(t *rapid.T, dists ...doubt.Dist) (c []float64, in []doubt.Input) {
	n := rapid.IntRange(1, 25).Draw(t, "inputs")
	for range n {
		c = append(c, rapid.Float64Range(-100, 100).Draw(t, "c"))
		in = append(in, doubt.Input{
			Dist:  rapid.SampledFrom(dists).Draw(t, "dist"),
			Value: rapid.Float64Range(-1000, 1000).Draw(t, "value"),
			Width: rapid.Float64Range(0, 10).Draw(t, "width"),
		})
	}
	return c, in
}

func dot(c, x []float64) float64 {
	sum := 0.0
	for i := range c {
		sum += float64(c[i] * x[i])
	}
	return sum
}

func TestFirstOrderIsExactForLinearModels(t *testing.T) {
	var room doubt.Room
	rapid.Check(t, func(t *rapid.T) {
		c, in := linear(t, doubt.Exact, doubt.Rectangular, doubt.Triangular, doubt.Normal)
		variance := 0.0
		for i := range in {
			u := c[i] * in[i].SD()
			variance += u * u
		}
		b := room.Propagate(func(x []float64) float64 { return dot(c, x) }, in)
		// Values up to 100·1000·25 = 2.5e6 leave 1e-9 of rounding in a
		// difference.
		if math.Abs(b.SD-math.Sqrt(variance)) > 1e-7 {
			t.Fatalf("u is %g, want %g", b.SD, math.Sqrt(variance))
		}
		if s := b.Spread().SD(); math.Abs(s-b.SD) > 1e-5*b.SD {
			t.Fatalf("the spread has sd %g, the budget %g", s, b.SD)
		}
	})
}

func TestMonteCarloAgreesWithFirstOrderOnLinearModels(t *testing.T) {
	const draws = 40_000
	rapid.Check(t, func(t *rapid.T) {
		c, in := linear(t, doubt.Exact, doubt.Rectangular, doubt.Triangular, doubt.Normal)
		seed := rapid.Uint64().Draw(t, "seed")
		b := doubt.PropagateWith(dotValues(c, in), c, in)
		s := doubt.Draw(func(x, y []float64) { y[0] = dot(c, x) }, in, 1, draws, seed)
		// A mean scatters by u/√n and an sd by at most u/√(2n). The tolerance
		// is six times that.
		if d := math.Abs(s.Mean(0) - b.Value); d > 6*b.SD/math.Sqrt(draws)+1e-6 {
			t.Fatalf("mean %g, value %g, u %g", s.Mean(0), b.Value, b.SD)
		}
		if d := math.Abs(s.SD(0) - b.SD); d > 6*b.SD/math.Sqrt(2*draws)+1e-6 {
			t.Fatalf("sd %g, u %g", s.SD(0), b.SD)
		}
		// The chance of a limit up to three u below, against the spread. A
		// share scatters by at most 0.5/√n, and the spread itself is within
		// 0.0003.
		limit := b.Value - rapid.Float64Range(0, 3).Draw(t, "how far down")*b.SD
		if b.SD > 1e-6 {
			if got, want := b.Below(limit), s.ShareBelow(0, limit); math.Abs(got-want) > 0.0003+3/math.Sqrt(draws) {
				t.Fatalf("chance below %g is %g by the spread, %g drawn", limit, got, want)
			}
		}
	})
}

func dotValues(c []float64, in []doubt.Input) float64 {
	sum := 0.0
	for i := range c {
		sum += float64(c[i] * in[i].Value)
	}
	return sum
}

// Quantiles are those of a full sort in whatever order they are asked for, rise
// with p, and leave the draws unchanged.
func TestQuantilesAreThoseOfASort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draws := rapid.IntRange(1, 3000).Draw(t, "draws")
		step := rapid.SampledFrom([]float64{0, 0.001, 0.5}).Draw(t, "coarseness") // ties, and many of them
		in := []doubt.Input{{Dist: doubt.Normal, Width: 1}}
		s := doubt.Draw(func(x, y []float64) {
			y[0], y[1] = x[0], 1
			if step > 0 {
				y[0] = step * math.Round(x[0]/step)
			}
		}, in, 2, draws, rapid.Uint64().Draw(t, "seed"))
		before := slices.Clone(s.Values(0))
		sorted := slices.Sorted(slices.Values(before))
		ps := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 12).Draw(t, "p")
		for _, p := range ps {
			want := sorted[max(int(math.Ceil(p*float64(draws)-1e-9)), 1)-1]
			if got := s.Quantile(0, p); got != want {
				t.Fatalf("quantile %g is %g, want %g", p, got, want)
			}
		}
		slices.Sort(ps)
		for i := 1; i < len(ps); i++ {
			if s.Quantile(0, ps[i]) < s.Quantile(0, ps[i-1]) {
				t.Fatalf("quantile %g lies below quantile %g", ps[i], ps[i-1])
			}
		}
		lo, hi := s.SymmetricInterval(0, 0.9)
		slo, shi := s.ShortestInterval(0, 0.9)
		if lo > hi || slo > shi || shi-slo > hi-lo {
			t.Fatalf("symmetric %g to %g, shortest %g to %g", lo, hi, slo, shi)
		}
		if s.Quantile(1, 0.3) != 1 || s.Quantile(0, 0) != sorted[0] || s.Quantile(0, 1) != sorted[draws-1] {
			t.Fatal("the ends, or the other output, are wrong")
		}
		if !slices.Equal(before, s.Values(0)) {
			t.Fatal("asking for quantiles changed the draws")
		}
	})
}

// A model that gives NaN must not send the selection out of bounds.
func TestQuantilesOfASampleWithNaN(t *testing.T) {
	n := 0
	s := doubt.Draw(func(x, y []float64) {
		n++
		y[0] = x[0]
		if n%7 == 0 {
			y[0] = math.NaN()
		}
	}, []doubt.Input{{Dist: doubt.Normal, Width: 1}}, 1, 5000, 1)
	if q := s.Quantile(0, 0.9); !(q > 0) {
		t.Errorf("the 90 %% quantile is %g", q)
	}
}

func TestSameSeedSameBytes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, in := linear(t, doubt.Rectangular, doubt.Normal, doubt.Exact)
		seed := rapid.Uint64().Draw(t, "seed")
		of := func(seed uint64) []byte {
			s := doubt.Draw(func(x, y []float64) { y[0] = dot(c, x) }, in, 1, 500, seed)
			var b bytes.Buffer
			if err := binary.Write(&b, binary.LittleEndian, s.Values(0)); err != nil {
				t.Fatal(err)
			}
			return b.Bytes()
		}
		first := of(seed)
		if !bytes.Equal(first, of(seed)) {
			t.Fatal("the same seed gave other draws")
		}
		if b := doubt.PropagateWith(0, c, in); b.SD > 1e-3 && bytes.Equal(first, of(seed+1)) {
			t.Fatal("another seed gave the same draws")
		}
	})
}

// The very first draws are written down, so that a change of the generator or
// of the order in which inputs are drawn is noticed. After such a change, kept
// results would no longer be those of their seed.
func TestDrawsAreThoseOfEveryMachine(t *testing.T) {
	in := []doubt.Input{{Dist: doubt.Rectangular, Width: 1}, {Dist: doubt.Rectangular, Width: 1}, {Dist: doubt.Rectangular, Width: 1}}
	s := doubt.Draw(func(x, y []float64) { copy(y, x) }, in, 3, 2, 2026)
	got := fmt.Sprintf("%.9f %.9f", []float64{s.Values(0)[0], s.Values(1)[0], s.Values(2)[0]}, []float64{s.Values(0)[1], s.Values(1)[1], s.Values(2)[1]})
	const want = "[0.337077570 -0.071338800 0.333465798] [-0.102976001 0.720512753 0.593214637]"
	if got != want {
		t.Errorf("the first two draws are %s, want %s", got, want)
	}
}

// Moments of each distribution: JCGM 101:2008, table 1 and clause 6.4.
func TestDistributions(t *testing.T) {
	for _, c := range []struct {
		in doubt.Input
		sd float64
	}{
		{doubt.Input{Dist: doubt.Rectangular, Value: 5, Width: 3}, 3 / math.Sqrt(3)},
		{doubt.Input{Dist: doubt.Triangular, Value: 5, Width: 3}, 3 / math.Sqrt(6)},
		{doubt.Input{Dist: doubt.Normal, Value: 5, Width: 3}, 3},
		{doubt.Input{Dist: doubt.StudentT, Value: 5, Width: 3, DoF: 10}, 3 * math.Sqrt(10.0/8)}, // 6.4.9.3: ν/(ν−2)
		{doubt.Input{Dist: doubt.Exact, Value: 5, Width: 3}, 0},
	} {
		t.Run(c.in.Dist.String(), func(t *testing.T) {
			s := doubt.Draw(func(x, y []float64) { y[0] = x[0] }, []doubt.Input{c.in}, 1, 400_000, 4)
			near(t, "mean", s.Mean(0), 5, 0.03)
			near(t, "sd", s.SD(0), c.sd, 0.03)
			if c.in.Dist == doubt.StudentT {
				// t(10) at 97.5 %: 2.228 (GUM table G.2).
				near(t, "97.5 %", s.Quantile(0, 0.975), 5+3*2.228, 0.06)
			}
			if lo, hi := s.Quantile(0, 0), s.Quantile(0, 1); c.in.Dist <= doubt.Triangular && (lo < 2 || hi > 8) {
				t.Errorf("drawn from %g to %g, outside 2 to 8", lo, hi)
			}
		})
	}
}

func rectangles(n int) (c []float64, in []doubt.Input) {
	for i := range n {
		c = append(c, 1+float64(i%7))
		in = append(in, doubt.Input{Name: "input", Dist: doubt.Rectangular, Value: float64(i), Width: 0.5 + float64(i%5)})
	}
	return c, in
}

func BenchmarkFirstOrderWith25Inputs(b *testing.B) {
	c, in := rectangles(25)
	var room doubt.Room
	b.ReportAllocs()
	for b.Loop() {
		budget := room.PropagateWith(-200, c, in)
		if budget.Below(0) < 0.5 {
			b.Fatal("the chance is wrong")
		}
	}
}

func BenchmarkFirstOrderByDifferences25Inputs(b *testing.B) {
	c, in := rectangles(25)
	model := func(x []float64) float64 { return dot(c, x) }
	var room doubt.Room
	b.ReportAllocs()
	for b.Loop() {
		room.Propagate(model, in)
	}
}

func BenchmarkSpreadInterval(b *testing.B) {
	c, in := rectangles(25)
	budget := doubt.PropagateWith(0, c, in)
	spread := budget.Spread()
	b.ReportAllocs()
	for b.Loop() {
		spread.Interval(0.95)
	}
}

func BenchmarkMillionDrawsOf22Inputs(b *testing.B) {
	c, in := rectangles(22)
	for b.Loop() {
		s := doubt.Draw(func(x, y []float64) {
			sum := 0.0
			for i, v := range x {
				sum += float64(c[i] * v)
			}
			y[0] = sum
		}, in, 1, 1_000_000, 5)
		if !(s.Quantile(0, 0.025) < s.Quantile(0, 0.975)) {
			b.Fatal("the quantiles are wrong")
		}
	}
}

func TestPropagatingDoesNotAllocate(t *testing.T) {
	c, in := rectangles(25)
	var room doubt.Room
	room.PropagateWith(0, c, in)
	if n := testing.AllocsPerRun(100, func() { room.PropagateWith(0, c, in) }); n != 0 {
		t.Errorf("PropagateWith allocates %g times", n)
	}
}
