package quantity

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// spaced writes the spaces of the faces plainly, so that the tables can be read.
var spaced = strings.NewReplacer("\u202f", "'", "\u00a0", "_", "\u2212", "-")

func TestNumbersAreShownForTheBench(t *testing.T) {
	for _, c := range []struct {
		got, want string
	}{
		{Number(2430.8, 1), "2'430.8"},
		{Number(1234567.891, 2), "1'234'567.89"},
		{Number(999.95, 1), "1'000.0"},
		{Number(-999.95, 1), "-1'000.0"},
		{Number(615.64, 0), "616"},
		{Number(0.5, 0), "1"},
		{Number(0.05, 1), "0.1"},
		{Number(0.049, 1), "0.0"},
		{Number(-0.04, 1), "0.0"},
		{Number(math.Copysign(0, -1), 0), "0"},
		{Number(-0.5, 0), "-1"},
		{Number(2.675, 2), "2.68"}, // 2.67499999999999982236431605997495353221893310546875 in binary
		{Number(1.005, 2), "1.01"},
		{Number(0.125, 2), "0.13"},
		{Number(9.9999, 3), "10.000"},
		{Number(1e-300, 2), "0.00"},
		{Number(5, 99), "5.000000000"},
		{Number(5.5, -3), "6"},
		{Number(math.NaN(), 1), "not known"},
		{Number(math.Inf(-1), 1), "not known"},
		{Mass(615.64, Gram, 0.1), "615.6_g"},
		{Mass(615.64, Gram, 1), "616_g"},
		{Mass(615.64, Gram, 0.01), "615.64_g"},
		{Mass(2430.83, Gram, 0.1), "2'430.8_g"},
		{Mass(615.64, Gram, 0), "615.6_g"},
		{Mass(-2, Gram, 1), "-2_g"},
		{Mass(615.64, Ounce, 1), "21.72_oz"},
		{Mass(615.64, Ounce, 5), "21.7_oz"},
		{Mass(615.64, Ounce, 50), "22_oz"},
		{Mass(52.2*GramsPerOunce, PoundOunce, 5), "3_lb_4.2_oz"},
		{Mass(52.2*GramsPerOunce, PoundOunce, 1), "3_lb_4.20_oz"},
		{Mass(15.99*GramsPerOunce, PoundOunce, 5), "1_lb_0.0_oz"},
		{Mass(31.996*GramsPerOunce, PoundOunce, 1), "2_lb_0.00_oz"},
		{Mass(15.94*GramsPerOunce, PoundOunce, 5), "15.9_oz"},
		{Mass(-15.99*GramsPerOunce, PoundOunce, 5), "-1_lb_0.0_oz"},
		{Mass(0, PoundOunce, 5), "0.0_oz"},
		{Mass(math.NaN(), PoundOunce, 1), "not known"},
		{Mass(math.Inf(1), Gram, 1), "not known"},
		{Mass(1, Gram, math.NaN()), "1.0_g"},
		{MassNumber(615.64, Gram, 0.1), "615.6"},
		{Percent(3.04, 1), "3.0_%"},
		{Percent(math.NaN(), 1), "not known"},
		{Interval(0.74, 5.15, 1), "0.7 to 5.2"},
		{Interval(-1.5, 5, 1), "-1.5 to 5.0"},
		{Interval(math.NaN(), 5, 1), "not known"},
		{Volume(29.5735295625, USFluidOunce, 1), "1.0_fl oz"},
		{Volume(1238.56, Millilitre, 0), "1'239_ml"},
		{Volume(1, VolumeUnit(99), 0), "not known"},
		{Length(65, Millimetre), "65_mm"},
		{Length(65.46, Millimetre), "65.5_mm"},
		{Length(65, Inch), "2.56_in"},
		{Temp(130.0/3, Fahrenheit, 0), "110_°F"},
		{Temp(43.33, Celsius, 1), "43.3_°C"},
		{Temp(math.NaN(), Celsius, 0), "not known"},
		{Odds(1/390.0, 200_000), "1 in 390"},
		{Odds(0.0025617, 200_000), "1 in 390"},
		{Odds(0, 200_000), "fewer than 1 in 200'000"},
		{Odds(1/200_000.0, 200_000), "1 in 200'000"},
		{Odds(1e-9, 0), "fewer than 1 in 1'000'000"},
		{Odds(1/27.3, 0), "1 in 27"},
		{Odds(0.18, 0), "18 in 100"},
		{Odds(0.1, 0), "10 in 100"},
		{Odds(0.9949, 0), "99 in 100"}, // and never 100 in 100, which would be certain
		{Odds(0.996, 0), "more than 99 in 100"},
		{Odds(1, 200_000), "more than 99 in 100"},
		{Odds(math.NaN(), 0), "not known"},
		{Odds(1.5, 0), "not known"},
	} {
		if got := spaced.Replace(c.got); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestSheetsRoundToTheScale(t *testing.T) {
	for _, c := range []struct{ got, want float64 }{
		{RoundTo(615.64, 0.1), 615.6}, {RoundTo(0.15, 0.1), 0.2}, {RoundTo(0.25, 0.1), 0.3}, {RoundTo(-0.25, 0.1), -0.3},
		{RoundTo(612, 5), 610}, {RoundTo(2.5, 1), 3}, {RoundTo(0.3, 0.25), 0.25}, {RoundTo(7, 0), 7}, {RoundTo(7.3, math.NaN()), 7.3},
		{RoundDown(0.3, 0.1), 0.3}, {RoundDown(0.1+0.2, 0.1), 0.3}, {RoundDown(144.99, 1), 144}, {RoundDown(144.99, 0.1), 144.9},
		{RoundDown(615.6, 0.1), 615.6}, {RoundDown(0.7*3, 0.1), 2.1}, {RoundDown(4.9, 5), 0}, {RoundDown(7.3, 0), 7.3},
	} {
		if c.got != c.want {
			t.Errorf("got %.17g, want %.17g", c.got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		div := rapid.SampledFrom([]float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1, 2, 5}).Draw(t, "division")
		g := rapid.Float64Range(0, 1e6).Draw(t, "g")
		down, near := RoundDown(g, div), RoundTo(g, div)
		if down > g+1e-9*math.Max(1, g) || g-down > div*(1+1e-6) {
			t.Fatalf("RoundDown(%v, %v) = %v", g, div, down)
		}
		if math.Abs(near-g) > div/2*(1+1e-6)+1e-9 {
			t.Fatalf("RoundTo(%v, %v) = %v", g, div, near)
		}
		if RoundDown(down, div) != down || RoundTo(near, div) != near || RoundTo(down, div) != down {
			t.Fatalf("rounding %v to %v twice is not rounding it once", g, div)
		}
	})
}

func TestWhatIsShownIsReadBackWithinHalfADivision(t *testing.T) {
	near := func(t *rapid.T, text string, got float64, err error, want, half float64) {
		t.Helper()
		if err != nil || math.Abs(got-want) > half*(1+1e-9)+1e-12*math.Abs(want) {
			t.Fatalf("%v shows as %q and reads as %v, %v", want, text, got, err)
		}
	}
	half := func(decimals int) float64 { return 0.5 * math.Pow(10, -float64(decimals)) }
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		d := rapid.IntRange(0, 4).Draw(t, "decimals")
		div := rapid.SampledFrom([]float64{0.01, 0.1, 0.5, 1, 2, 5, 50}).Draw(t, "division")

		s := Number(x, d)
		v, err := ParseNumber(s)
		near(t, s, v, err, x, half(d))
		for _, u := range []MassUnit{Gram, Ounce, PoundOunce} {
			s, per := Mass(x, u, div), 1.0
			if u != Gram {
				per = GramsPerOunce
			}
			v, err := ParseMass(s, Gram)
			near(t, s, v, err, x, half(MassDecimals(u, div))*per)
		}
		for u := range VolumeUnit(len(volumeUnitNames)) {
			s := Volume(x, u, d)
			v, err := ParseVolume(s, Millilitre)
			near(t, s, v, err, x, half(d)*u.Millilitres())
		}
		for u := range LengthUnit(len(lengthUnitNames)) {
			s := Length(x/1000, u)
			v, err := ParseLength(s, Millimetre)
			near(t, s, v, err, x/1000, half(int(1+u))*u.Millimetres())
		}
		c := rapid.Float64Range(-200, 1000).Draw(t, "celsius")
		for u := range TempUnit(len(tempUnitNames)) {
			s := Temp(c, u, d)
			v, err := ParseTemp(s, Celsius)
			near(t, s, v, err, c, half(d))
		}
	})
}

func TestOuncesNeverReachAPound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Mass(rapid.Float64Range(0, 1e5).Draw(t, "g"), PoundOunce, rapid.SampledFrom([]float64{0.1, 1, 5, 50}).Draw(t, "division"))
		_, oz, found := strings.Cut(s, "lb"+UnitSpace)
		if !found {
			oz = s
		}
		if v, err := ParseNumber(strings.TrimSuffix(oz, UnitSpace+"oz")); err != nil || v >= 16 {
			t.Fatalf("%q: %v, %v", s, v, err)
		}
	})
}

func TestUnitsKeepTheirNamesInJSON(t *testing.T) {
	type units struct {
		M MassUnit
		V VolumeUnit
		L LengthUnit
		T TempUnit
	}
	for _, u := range []units{{}, {Ounce, USFluidOunce, Inch, Fahrenheit}, {PoundOunce, ImperialFluidOunce, Inch, Celsius}, {V: USTeaspoon},
		{V: MetricTeaspoon}} {
		b, err := json.Marshal(u)
		if err != nil {
			t.Fatal(err)
		}
		var back units
		if err := json.Unmarshal(b, &back); err != nil || back != u {
			t.Errorf("%s reads back as %+v, %v", b, back, err)
		}
	}
	if b, err := json.Marshal(MassUnit(9)); err == nil {
		t.Errorf("a unit that is none of ours was written as %s", b)
	}
	for _, text := range []string{`{"M":"stone"}`, `{"V":"cup"}`, `{"L":"cm"}`, `{"T":"K"}`} {
		var u units
		if err := json.Unmarshal([]byte(text), &u); err == nil || u != (units{}) {
			t.Errorf("%s was read as %+v", text, u)
		}
	}
}

// Exact factors: NIST SP 811 (2008) appendix B.8, and NIST Handbook 44 appendix
// C for the US and the imperial measures.
func TestFactorsAreExact(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"pound, g", GramsPerPound, 453.59237},
		{"ounce, g", GramsPerOunce, 28.349523125},
		{"16 ounces, g", 16 * GramsPerOunce, GramsPerPound},
		{"inch, mm", MillimetresPerInch, 25.4},
		{"cubic inch, mL", MillilitresPerCubicInch, 16.387064},
		{"cubic inch from the inch", 2.54 * 2.54 * 2.54, 16.387064},
		{"US gallon is 231 in³", 231 * MillilitresPerCubicInch, 3785.411784},
		{"US gallon, mL", MillilitresPerUSGallon, 3785.411784},
		{"US gallon of 128 fl oz", 128 * MillilitresPerUSFlOz, 3785.411784},
		{"imperial gallon of 160 fl oz", 160 * MillilitresPerImpFlOz, 4546.09},
		{"US cup of 48 teaspoons", 48 * MillilitresPerUSTeaspoon, 236.5882365},
		{"110 °F", CelsiusOf(110), 43.333333333333336},
		{"100 °C", FahrenheitOf(100), 212},
	} {
		if math.Abs(c.got-c.want) > 1e-13*math.Abs(c.want) { // relative: binary rounding of the products
			t.Errorf("%s: %.15g, want %.15g", c.name, c.got, c.want)
		}
	}
}

func BenchmarkMass(b *testing.B) {
	for b.Loop() {
		_ = Mass(2430.83, Gram, 0.1)
	}
}
