package forecast

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.10g, want %.10g ± %g", what, got, want, tol)
	}
}

// worked is a series for which an independent program computed every step.
var worked = []float64{0, 0, 3, 0, 5, 0, 0, 0, 2, 4, 0, 6}

func TestIntermittentMethodsStepByStep(t *testing.T) {
	want := map[int][5]float64{ // size, interval, Croston, SBA, TSB at alpha 0.2, beta 0.2
		3:  {3, 3, 1.000000, 0.900000, 1.000000},
		4:  {3, 3, 1.000000, 0.900000, 0.800000},
		5:  {3.4, 2.8, 1.214286, 1.092857, 1.405333},
		8:  {3.4, 2.8, 1.214286, 1.092857, 0.719531},
		9:  {3.12, 3.04, 1.026316, 0.923684, 1.152220},
		10: {3.296, 2.632, 1.252280, 1.127052, 1.632974},
		11: {3.296, 2.632, 1.252280, 1.127052, 1.306379},
		12: {3.8368, 2.5056, 1.531290, 1.378161, 1.983941},
	}
	c, fade, slow := Croston{Alpha: 0.2}, TSB{Alpha: 0.2, Beta: 0.2}, TSB{Alpha: 0.2, Beta: 0.1}
	checked := 0
	for i, y := range worked {
		c.Step(y)
		fade.Step(y)
		slow.Step(y)
		w, ok := want[i+1]
		if !ok {
			continue
		}
		checked++
		for k, got := range []float64{c.Size, c.Interval, c.Rate(), c.SBA(), fade.Rate()} {
			near(t, fmt.Sprintf("t=%d figure %d", i+1, k), got, w[k], 5e-7)
		}
	}
	if checked != len(want) {
		t.Fatalf("%d of %d steps were checked", checked, len(want))
	}
	near(t, "SBJ", c.SBJ(), 1.361147, 5e-7)
	near(t, "TSB 0.2, 0.1", slow.Rate(), 1.653161, 5e-7)
	adi, cv2, class := Classify(worked, nil)
	near(t, "ADI", adi.V, 2.4, 1e-12)
	near(t, "CV²", cv2.V, 0.15625, 1e-12)
	if class != Intermittent {
		t.Errorf("class %v", class)
	}
}

// Six invented series, worked out by an independent program. Its SES, Croston and
// Holt-Winters agree with R 4.2.2 and forecast 8.20 to better than 1e-8.
func TestInventedSeries(t *testing.T) {
	data, err := os.ReadFile("testdata/series.json")
	if err != nil {
		t.Fatal(err)
	}
	var all []struct {
		ID             string
		Train, Test    []float64
		Classification struct {
			ADI, CV2 float64
			Class    string
		}
		PointForecast       map[string]float64
		MASE                map[string]float64
		HoltWintersAdditive struct {
			Period                  int
			Alpha, Beta, Gamma      float64
			StartLevel, StartTrend  float64
			StartSeason             []float64
			FirstUpdatedObservation int
			Level, Trend            float64
			Forecast                []float64
			MASE                    float64
		}
	}
	if err := json.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	if len(all) != 6 {
		t.Fatalf("%d series", len(all))
	}
	const tol = 1e-6
	for _, s := range all {
		t.Run(s.ID, func(t *testing.T) {
			adi, cv2, class := Classify(s.Train, nil)
			near(t, "ADI", adi.V, s.Classification.ADI, tol)
			near(t, "CV²", cv2.V, s.Classification.CV2, tol)
			if class.String() != s.Classification.Class {
				t.Errorf("class %v, want %s", class, s.Classification.Class)
			}
			if len(s.PointForecast) != 13 || len(s.MASE) != 13 {
				t.Fatalf("%d forecasts, %d scores", len(s.PointForecast), len(s.MASE))
			}
			for name, want := range s.PointForecast {
				parts := strings.Split(name, "_")
				par := make([]float64, 2)
				for i, p := range parts[1:] {
					if par[i], err = strconv.ParseFloat(p, 64); err != nil {
						t.Fatal(err)
					}
				}
				if len(parts) == 2 {
					par[1] = par[0]
				}
				ses, croston, tsb := SES{Alpha: par[0]}, Croston{Alpha: par[0]}, TSB{Alpha: par[0], Beta: par[1]}
				sum := 0.0
				for _, y := range s.Train {
					ses.Step(y)
					croston.Step(y)
					tsb.Step(y)
					sum += y
				}
				got := map[string]float64{
					"ses": ses.Level, "croston": croston.Rate(), "sba": croston.SBA(), "sbj": croston.SBJ(), "tsb": tsb.Rate(),
					"naive": s.Train[len(s.Train)-1], "mean": sum / float64(len(s.Train)),
				}[parts[0]]
				near(t, name, got, want, tol)
				ahead := make([]float64, len(s.Test))
				for i := range ahead {
					ahead[i] = got
				}
				near(t, "MASE of "+name, MASE(s.Train, s.Test, ahead, 1), s.MASE[name], tol)
			}
			hw := s.HoltWintersAdditive
			w := HoltWinters{Alpha: hw.Alpha, Beta: hw.Beta, Gamma: hw.Gamma, Phi: 1, Level: hw.StartLevel, Trend: hw.StartTrend, Season: hw.StartSeason}
			for i, y := range s.Train[hw.FirstUpdatedObservation:] {
				w.Step(y, (i+hw.FirstUpdatedObservation)%hw.Period)
			}
			near(t, "level", w.Level, hw.Level, tol)
			near(t, "trend", w.Trend, hw.Trend, tol)
			ahead := make([]float64, len(s.Test))
			for h := range ahead {
				ahead[h] = w.Ahead(h+1, (len(s.Train)+h)%hw.Period)
				near(t, fmt.Sprintf("Holt-Winters %d ahead", h+1), ahead[h], hw.Forecast[h], tol)
			}
			near(t, "MASE of Holt-Winters", MASE(s.Train, s.Test, ahead, 1), hw.MASE, tol)
		})
	}
}

func numbers(t *testing.T, file string) []float64 {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var out []float64
	for line := range bytes.Lines(data) {
		if line[0] == '#' {
			continue
		}
		for _, f := range strings.Fields(string(line)) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, v)
		}
	}
	return out
}

// Fits of public series by R 4.2.2, stats::HoltWinters. R prints its parameters
// to seven digits, and starts from stats::decompose over the first two years.
func TestHoltWintersAgainstR(t *testing.T) {
	run := func(y []float64, w HoltWinters) (HoltWinters, float64) {
		const period = 12
		w.Phi = 1
		w.Level, w.Trend, w.Season = Decompose(y, period, w.Multiplicative)
		sse := 0.0
		for i := period; i < len(y); i++ {
			off := y[i] - w.Ahead(1, i%period)
			sse += off * off
			w.Step(y[i], i%period)
		}
		return w, sse
	}
	co2 := numbers(t, "testdata/co2.txt")
	if len(co2) != 468 {
		t.Fatalf("%d months of co2", len(co2))
	}
	w, _ := run(co2, HoltWinters{Alpha: 0.5126484, Beta: 0.0094977, Gamma: 0.4728868})
	// An error of half a digit in the last place of the parameters moves co2's
	// level by about 1e-6, and the passengers' by about 3e-5.
	near(t, "co2 level", w.Level, 364.761624, 2e-6)
	near(t, "co2 trend", w.Trend, 0.124744, 1e-6)

	air := numbers(t, "testdata/airpassengers.txt")
	if len(air) != 144 {
		t.Fatalf("%d months of passengers", len(air))
	}
	w, sse := run(air, HoltWinters{Alpha: 0.2755925, Beta: 0.0326930, Gamma: 0.8707292, Multiplicative: true})
	near(t, "passengers level", w.Level, 469.323221, 5e-5)
	near(t, "passengers trend", w.Trend, 3.021539, 2e-5)
	near(t, "passengers SSE", sse, 16570.78, 5e-3)
	for h, want := range []float64{447.0559, 419.7123, 464.8671} {
		near(t, fmt.Sprintf("passengers %d ahead", h+1), w.Ahead(h+1, h), want, 1e-4)
	}
}

// A damped trend adds up to the geometric series. An unknown week moves the level
// by exactly what was expected of it.
func TestDampedTrendAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := HoltWinters{Phi: rapid.Float64Range(0.5, 1).Draw(t, "phi"), Level: rapid.Float64Range(0, 50).Draw(t, "level"),
			Trend: rapid.Float64Range(-3, 3).Draw(t, "trend"), Season: []float64{1, -1, 0}}
		h := rapid.IntRange(1, 30).Draw(t, "h")
		sum, f := w.Level, 1.0
		for range h {
			f *= w.Phi
			sum += f * w.Trend
		}
		want := sum + w.Season[h%3]
		if got := w.Ahead(h, h%3); math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
			t.Fatalf("%v, want %v", got, want)
		}
		next := w.Ahead(h+1, 1)
		w.Skip()
		if got := w.Ahead(h, 1); math.Abs(got-next) > 1e-9*(1+math.Abs(next)) {
			t.Fatalf("after a week unknown %v, before it %v", got, next)
		}
	})
}

func TestMASEByDefinition(t *testing.T) {
	// Errors of 1, 1 and 4 over steps of 2, 1 and 3: (6/3) / (6/3).
	near(t, "MASE", MASE([]float64{1, 3, 2, 5}, []float64{4, 4, 1}, []float64{5, 5, 5}, 1), 1, 1e-12)
	// Steps of two weeks: 1 and 2.
	near(t, "MASE of a season of 2", MASE([]float64{1, 3, 2, 5}, []float64{4}, []float64{7}, 2), 2, 1e-12)
	if v := MASE([]float64{2, 2, 2}, []float64{1}, []float64{2}, 1); !math.IsNaN(v) {
		t.Errorf("a series without steps gave %v", v)
	}
}
