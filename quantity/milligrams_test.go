package quantity

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"barwright/fault"
)

func faultWithoutField(t *testing.T, text string, err error) {
	t.Helper()
	var f *fault.Error
	if !errors.As(err, &f) || f.Kind != fault.Invalid || f.Message == "" || f.Field != "" {
		t.Fatalf("%q: %+v", text, err)
	}
}

func TestGramsAreRoundedToMilligrams(t *testing.T) {
	for _, c := range []struct {
		g    float64
		want Milligrams
	}{
		{0, 0}, {1, 1000}, {615.64, 615640}, {0.0005, 1}, {-0.0005, -1}, {0.00049999, 0}, {-0.0004, 0}, {1.0005, 1001}, {8.0005, 8001},
		{2.6745, 2675}, {1e9, 1e12}, {-1e9, -1e12}, {1e-300, 0}, {math.Copysign(0, -1), 0}, {GramsPerOunce, 28350},
	} {
		if got, err := MilligramsOf(c.g); err != nil || got != c.want {
			t.Errorf("%v g is %d mg, %v; want %d", c.g, int64(got), err, int64(c.want))
		}
	}
	for _, g := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1.0000001e9, -2e9, 1e300} {
		got, err := MilligramsOf(g)
		if got != 0 || err == nil {
			t.Errorf("%v g is %d mg", g, int64(got))
			continue
		}
		faultWithoutField(t, "", err)
	}
}

func TestMilligramsAreShown(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{Milligrams(0).String(), "0.000_g"},
		{Milligrams(5).String(), "0.005_g"},
		{Milligrams(-1234500).String(), "-1'234.500_g"},
		{Milligrams(math.MaxInt64).String(), "9'223'372'036'854'775.807_g"},
		{Milligrams(math.MinInt64).String(), "-9'223'372'036'854'775.808_g"},
		{Milligrams(615640).Show(Gram, 0.1), "615.6_g"},
		{Milligrams(615640).Show(Ounce, 1), "21.72_oz"},
	} {
		if got := spaced.Replace(c.got); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

func TestMassesAddUp(t *testing.T) {
	const most = Milligrams(math.MaxInt64)
	for _, c := range []struct {
		masses []Milligrams
		want   Milligrams
		ok     bool
	}{
		{nil, 0, true},
		{[]Milligrams{1, 2, -5}, -2, true},
		{[]Milligrams{most, 1, -2}, most - 1, true}, // only the sum counts
		{[]Milligrams{most, 1}, 0, false},
		{[]Milligrams{math.MinInt64, -1}, 0, false},
	} {
		if got, err := SumOf(c.masses...); got != c.want || (err == nil) != c.ok {
			t.Errorf("%v: %d, %v", c.masses, int64(got), err)
		}
	}
}

func TestMilligramsAreWholeNumbersInJSON(t *testing.T) {
	type record struct {
		Mass Milligrams            `json:"mass_mg"`
		By   map[Milligrams]string `json:"by"`
	}
	b, err := json.Marshal(record{math.MinInt64, map[Milligrams]string{5: "a"}})
	if want := `{"mass_mg":-9223372036854775808,"by":{"5":"a"}}`; err != nil || string(b) != want {
		t.Fatalf("%s, %v", b, err)
	}
	var out record
	if err := json.Unmarshal(b, &out); err != nil || out.Mass != math.MinInt64 || out.By[5] != "a" {
		t.Errorf("%+v, %v", out, err)
	}
	for _, text := range []string{"1.5", "1e3", `"5"`, "9223372036854775808", "true"} {
		out.Mass = 7
		if err := json.Unmarshal([]byte(`{"mass_mg":`+text+`}`), &out); err == nil || out.Mass != 7 {
			t.Errorf("%s is read as %d mg", text, int64(out.Mass))
		}
	}
	if err := json.Unmarshal([]byte(`{"mass_mg":null}`), &out); err != nil || out.Mass != 7 {
		t.Errorf("null is read as %d mg, %v", int64(out.Mass), err)
	}
}

func TestMilligramsComeBackFromGrams(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Milligrams(rapid.Int64Range(-1e12, 1e12).Draw(t, "mg"))
		if got, err := MilligramsOf(m.Grams()); err != nil || got != m {
			t.Fatalf("%d mg is %v g and then %d mg, %v", int64(m), m.Grams(), int64(got), err)
		}
		g := rapid.Float64Range(-1e9, 1e9).Draw(t, "g")
		got, err := MilligramsOf(g)
		// Half a milligram, and what the sixteenth figure can hide.
		if err != nil || math.Abs(got.Grams()-g) > 0.0005*(1+1e-9)+1e-14*math.Abs(g) {
			t.Fatalf("%v g is %d mg, %v", g, int64(got), err)
		}
		if back, err := MilligramsOf(-g); err != nil || back != -got {
			t.Fatalf("%v g is %d mg, and its opposite %d mg", g, int64(got), int64(back))
		}
	})
}
