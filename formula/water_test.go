package formula_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"barwright/fault"
	"barwright/formula"
	"barwright/formula/formulatest"
)

func TestWaterIsReadAsAMakerSaysIt(t *testing.T) {
	for text, want := range map[string]formula.Water{
		"33":                                  {Value: 33},
		" 33.5 % ":                            {Value: 33.5},
		"33%":                                 {Value: 33},
		"33 per cent":                         {Value: 33},
		"33 % lye":                            {Value: 33},
		"33 % lye concentration":              {Value: 33},
		"2 to 1":                              {Rule: formula.ByRatio, Value: 2},
		"2:1":                                 {Rule: formula.ByRatio, Value: 2},
		"2 : 1":                               {Rule: formula.ByRatio, Value: 2},
		"3 TO 2":                              {Rule: formula.ByRatio, Value: 1.5},
		"1.8 to 1 water to lye":               {Rule: formula.ByRatio, Value: 1.8},
		"1½ to 1":                             {Rule: formula.ByRatio, Value: 1.5},
		"0.9 to 1":                            {Rule: formula.ByRatio, Value: 0.9},
		"38 % of fats":                        {Rule: formula.ByFats, Value: 38},
		"38% of the oils":                     {Rule: formula.ByFats, Value: 38},
		"38 % water of fats":                  {Rule: formula.ByFats, Value: 38},
		"10 % less than 38 % of fats":         {Rule: formula.ByDiscount, Value: 10, FullPct: 38},
		"10 % off 38 % of fats":               {Rule: formula.ByDiscount, Value: 10, FullPct: 38},
		"10% discount from 38% of oils":       {Rule: formula.ByDiscount, Value: 10, FullPct: 38},
		"38 % of fats less 10 %":              {Rule: formula.ByDiscount, Value: 10, FullPct: 38},
		"38 % of fats - 10 %":                 {Rule: formula.ByDiscount, Value: 10, FullPct: 38},
		"38 % of the fats with 10 % off":      {Rule: formula.ByDiscount, Value: 10, FullPct: 38},
		"38\u00a0%\u202fof fats":              {Rule: formula.ByFats, Value: 38},
		"0 % less than 38 % of fats":          {Rule: formula.ByDiscount, Value: 0, FullPct: 38},
		"10 % off full water of 38 % of fats": {Rule: formula.ByDiscount, Value: 10, FullPct: 38},
	} {
		w, err := formula.ParseWater(text)
		if err != nil || w != want {
			t.Errorf("%q is %+v, %v; want %+v", text, w, err, want)
		}
	}
}

func TestWaterThatCannotBeReadGetsASentence(t *testing.T) {
	for text, words := range map[string]string{
		"":                             "missing",
		"0":                            "above 0 and below 100",
		"100":                          "above 0 and below 100",
		"-33":                          "above 0 and below 100",
		"33,5":                         "33.5",
		"nan":                          "cannot be read",
		"a lot":                        "lye concentration as 33 %",
		"1 to 2":                       "the water comes first, so perhaps 2 to 1",
		"1:3":                          "perhaps 3 to 1",
		"2 to 0":                       "Both parts must be above 0",
		"0 to 1":                       "Both parts must be above 0",
		"2 to 1 to 3":                  "cannot be read",
		"0 % of fats":                  "above 0",
		"100 % less than 38 % of fats": "from 0 to below 100",
		"10 % less than 0 % of fats":   "above 0",
		"33 g":                         "cannot be read",
		strings.Repeat("3", 200):       "too long",
	} {
		w, err := formula.ParseWater(text)
		l := fault.All(err)
		if err == nil || w != (formula.Water{}) || l[0].Field != "water" || l[0].Kind != fault.Invalid || !strings.Contains(err.Error(), words) {
			t.Errorf("%q is %+v, %v; want a fault with %q", text, w, err, words)
		}
	}
}

// Worked by hand: 100 g of alkali to 700 g of fats.
func TestWaterMeansOneLyeConcentration(t *testing.T) {
	for text, want := range map[string]struct{ grams, pct float64 }{
		"25 %":                        {300, 25},
		"3 to 1":                      {300, 25},
		"30 % of fats":                {210, 100 * 100 / 310.0},
		"10 % less than 30 % of fats": {189, 100 * 100 / 289.0},
	} {
		w, err := formula.ParseWater(text)
		if err != nil {
			t.Fatal(err)
		}
		if g := w.Grams(100, 700); math.Abs(g-want.grams) > 1e-9 {
			t.Errorf("%s is %g g of water, want %g", text, g, want.grams)
		}
		if c := w.LyeConcentration(100, 700); math.Abs(c-want.pct) > 1e-9 {
			t.Errorf("%s is a lye of %g %%, want %g", text, c, want.pct)
		}
	}
	if c := (formula.Water{Rule: formula.ByFats, Value: 38}).LyeConcentration(0, 0); c != 0 {
		t.Errorf("without alkali and fats the lye is %g %%, want 0", c)
	}
}

func TestWaterIsWrittenAsItIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := formulatest.AnyWater(t)
		if again, err := formula.ParseWater(w.String()); err != nil || again != w {
			t.Fatalf("%q is read back as %+v, %v; want %+v", w, again, err, w)
		}
	})
}

func FuzzParseWater(f *testing.F) {
	for _, s := range []string{"33", "2:1", "1 to 2", "38 % of fats", "10 % off 38 % of fats", "33,5", "½ to 1", "1e3 to 7"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		w, err := formula.ParseWater(text)
		if err != nil {
			if w != (formula.Water{}) || fault.KindOf(err) != fault.Invalid {
				t.Fatalf("%q: %+v with %v", text, w, err)
			}
			return
		}
		again, err := formula.ParseWater(w.String())
		if err != nil || again != w {
			t.Fatalf("%q is %+v, written %q, read as %+v, %v", text, w, w, again, err)
		}
		for _, v := range []float64{w.Grams(100, 700), w.LyeConcentration(100, 700)} {
			if math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
				t.Fatalf("%q gives %g", text, v)
			}
		}
	})
}
