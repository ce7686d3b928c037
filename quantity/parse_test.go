package quantity

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"

	"barwright/fault"
)

func TestNumbersAreReadAsAMakerTypesThem(t *testing.T) {
	for text, want := range map[string]float64{
		"33.5": 33.5, " 12 ": 12, "1 200.5": 1200.5, "1\u202f200.5": 1200.5, "1\u00a0200": 1200, "12 345 678": 12345678,
		"1/2": 0.5, "1 1/2": 1.5, "3 3 / 4": 3.75, "½": 0.5, "1½": 1.5, "1 ¾": 1.75, "1 200 1/2": 1200.5,
		"-3": -3, "\u22123.5": -3.5, "- 3": -3, "+7": 7, ".5": 0.5, "5.": 5, "-0": 0, "\u2212½": -0.5,
		"1e3": 1000, "2.5E-3": 0.0025, "1e+2": 100, "007": 7,
	} {
		got, err := ParseNumber(text)
		if err != nil || got != want || math.Signbit(got) != (want < 0) {
			t.Errorf("ParseNumber(%q) = %v, %v; want %v", text, got, err, want)
		}
	}
}

func TestWhatIsNoNumberGetsASentence(t *testing.T) {
	for text, want := range map[string]string{
		"":                       "nothing is typed here",
		"  \u202f ":              "nothing is typed here",
		"33,5":                   `"33,5" has a comma: write 33.5`,
		"-33,5":                  "has a comma",
		"1,200":                  `"1,200" has a comma: write 1200, or 1.200 if it stood for the point`,
		"1,200.5":                `"1,200.5" has a comma: write 1200.5`,
		"1,2,3.4.5":              "write one number with a point",
		"NaN":                    "not a number that can be weighed",
		"-inf":                   "not a number that can be weighed",
		"Infinity":               "not a number that can be weighed",
		"0x1F":                   "not in decimal digits",
		"0x1p-2":                 "not in decimal digits",
		"1e400":                  "power of ten beyond reason",
		"1e-400":                 "power of ten beyond reason",
		"9999999999999":          "larger than anything",
		"1e":                     "is not a number",
		"1e+-3":                  "is not a number",
		"1_000":                  "is not a number",
		"12 34":                  `"12 34" has a space that parts no thousands: write 1234`,
		"1234 567":               "write 1234567",
		"1  200":                 "is not a number",
		"1.2.3":                  "is not a number",
		"--3":                    "is not a number",
		"3-4":                    "is not a number",
		"1/0":                    "divides by zero",
		"1/2/3":                  "is not a number",
		"1.5/2":                  "is not a number",
		"1 3/2":                  "fraction of 1 or more",
		"1 2/2":                  "fraction of 1 or more",
		"1.5 1/2":                "is not a number",
		"twelve":                 "is not a number",
		".":                      "is not a number",
		"-":                      "is not a number",
		"\xff\xfe":               "is not a number",
		"3\x00":                  "is not a number",
		"٣":                      "is not a number",
		strings.Repeat("9", 100): "too long for a number",
	} {
		got, err := ParseNumber(text)
		refused(t, "ParseNumber", text, got, err, want)
	}
}

// Unicode says which fraction each of the characters is: its compatibility
// decomposition (UnicodeData.txt) spells ⅝ as 5, a fraction slash and 8.
func TestAFractionOfOneCharacterIsWhatUnicodeSays(t *testing.T) {
	if len(vulgar) == 0 {
		t.Fatal("there are no fractions of one character: this test has tested nothing")
	}
	for r := range vulgar {
		above, below, ok := strings.Cut(norm.NFKC.String(string(r)), "\u2044")
		num, err1 := strconv.Atoi(above)
		den, err2 := strconv.Atoi(below)
		if !ok || err1 != nil || err2 != nil {
			t.Errorf("%q is no fraction", r)
			continue
		}
		for whole, text := range map[float64]string{0: string(r), 3: "3" + string(r)} {
			want := whole + float64(num)/float64(den)
			if got, err := ParseNumber(text); err != nil || got != want {
				t.Errorf("ParseNumber(%q) = %v, %v; want %v", text, got, err, want)
			}
		}
	}
}

func refused(t *testing.T, parser, text string, got float64, err error, want string) {
	t.Helper()
	var f *fault.Error
	switch {
	case !errors.As(err, &f):
		t.Errorf("%s(%q) = %v, %v; want a fault", parser, text, got, err)
	case got != 0 || f.Kind != fault.Invalid || f.Field != "" || !strings.Contains(f.Message, want):
		t.Errorf("%s(%q) = %v, %+v; want no value and %q", parser, text, got, f, want)
	}
}

// Factors: NIST SP 811 (2008) appendix B.8 and NIST Handbook 44 appendix C; they
// are exact by definition. 110 °F = 43.333 °C by SP 811's formula.
func TestUnitsAreReadByTheirExactFactors(t *testing.T) {
	type row struct {
		text string
		want float64
	}
	const tol = 1e-12 // relative: one multiplication and one sum in binary
	check := func(name string, parse func(string) (float64, error), rows []row) {
		t.Helper()
		for _, r := range rows {
			got, err := parse(r.text)
			if err != nil || math.Abs(got-r.want) > tol*math.Abs(r.want) {
				t.Errorf("%s(%q) = %.15g, %v; want %.15g", name, r.text, got, err, r.want)
			}
		}
	}
	check("ParseMass in g", func(s string) (float64, error) { return ParseMass(s, Gram) }, []row{
		{"250", 250}, {"250 g", 250}, {"250g", 250}, {"1.2 kg", 1200}, {"1 200 g", 1200}, {"500 mg", 0.5},
		{"1 lb", 453.59237}, {"1 oz", 28.349523125}, {"16 oz", 453.59237}, {"4.5 oz", 127.5728540625}, {"4.5 oz.", 127.5728540625},
		{"3 lb 4 oz", 52 * 28.349523125}, {"1lb4oz", 20 * 28.349523125}, {"12 lb 3 1/2 oz", 195.5 * 28.349523125}, {"12 lbs, 3½ oz.", 195.5 * 28.349523125},
		{"1 lb .5 oz", 16.5 * 28.349523125}, {"1 lb + 4 oz", 20 * 28.349523125}, {"1 pound and 4 ounces", 20 * 28.349523125}, {"1/2 lb", 226.796185},
		{"\u22123 lb 4 oz", -52 * 28.349523125}, {"1e3 g", 1000}, {"0", 0},
		{"3\u00a0lb\u00a04.2\u00a0oz", 52.2 * 28.349523125},
	})
	check("ParseMass in oz", func(s string) (float64, error) { return ParseMass(s, Ounce) }, []row{{"4.5", 127.5728540625}, {"250 g", 250}})
	check("ParseMass in lb+oz", func(s string) (float64, error) { return ParseMass(s, PoundOunce) }, []row{{"0", 0}, {"3 lb", 1360.77711},
		{"4 oz", 113.3980925}})
	check("ParseVolume in ml", func(s string) (float64, error) { return ParseVolume(s, Millilitre) }, []row{
		{"250", 250}, {"1.2 l", 1200}, {"1.2 L", 1200}, {"1 fl oz", 29.5735295625}, {"1 fl. oz.", 29.5735295625}, {"128 fl oz", 3785.411784},
		{"160 imp fl oz", 4546.09}, {"6 tsp", 29.5735295625}, {"1 metric tsp", 5}, {"231 in3", 3785.411784}, {"231 in³", 3785.411784}, {"3 cm3", 3},
	})
	check("ParseVolume in fl oz", func(s string) (float64, error) { return ParseVolume(s, USFluidOunce) }, []row{{"2", 59.147059125}})
	check("ParseLength in mm", func(s string) (float64, error) { return ParseLength(s, Millimetre) }, []row{
		{"65", 65}, {"6.5 cm", 65}, {"1 in", 25.4}, {"3 1/2 in", 88.9}, {`3.5"`, 88.9}, {"3½″", 88.9}, {"3.5''", 88.9}, {"2 inches", 50.8},
	})
	check("ParseLength in in", func(s string) (float64, error) { return ParseLength(s, Inch) }, []row{{"2", 50.8}, {"2 mm", 2}})
	check("ParseTemp in °C", func(s string) (float64, error) { return ParseTemp(s, Celsius) }, []row{
		{"43", 43}, {"43 °C", 43}, {"43C", 43}, {"43°", 43}, {"110 F", 130.0 / 3}, {"110°F", 130.0 / 3}, {"212 degrees F", 100}, {"-18 °C",
			-18}, {"−40 °F", -40}, {"43 ℃", 43},
	})
	check("ParseTemp in °F", func(s string) (float64, error) { return ParseTemp(s, Fahrenheit) }, []row{{"110", 130.0 / 3}, {"20 C", 20}})
}

// A unit means the same however it is spelt. The spellings are written out here a
// second time, so that a slip in the table of the parser is seen.
func TestAUnitMeansTheSameHoweverItIsSpelt(t *testing.T) {
	spelt := 0
	check := func(parse func(string) (float64, error), words map[string]float64, groups map[string]string) {
		t.Helper()
		known := map[string]bool{}
		for name, others := range groups {
			want, err := parse("3 " + name)
			if err != nil || want == 0 {
				t.Errorf("3 %s: %v, %v", name, want, err)
			}
			known[name] = true
			for _, word := range strings.Split(others, ", ") {
				known[word] = true
				spelt++
				if got, err := parse("3 " + word); err != nil || got != want {
					t.Errorf("3 %s is %v, %v; and 3 %s is %v", word, got, err, name, want)
				}
			}
		}
		for word := range words {
			if !known[word] {
				t.Errorf("the parser reads %q, which this test does not know", word)
			}
		}
	}
	check(func(s string) (float64, error) { return ParseMass(s, Gram) }, massWords, map[string]string{
		"g": "gram, grams, gramme, grammes", "kg": "kilo, kilos, kilogram, kilograms", "mg": "milligram, milligrams",
		"oz": "ounce, ounces", "lb": "lbs, pound, pounds",
	})
	check(func(s string) (float64, error) { return ParseVolume(s, Millilitre) }, volumeWords, map[string]string{
		"ml": "millilitre, millilitres, milliliter, milliliters, cm3, cm³", "cl": "cl", "l": "litre, litres, liter, liters",
		"fl oz":     "floz, us fl oz, fluid ounce, fluid ounces, us fluid ounce, us fluid ounces",
		"imp fl oz": "imperial fl oz, imperial fluid ounce, imperial fluid ounces",
		"tsp":       "teaspoon, teaspoons, us tsp", "metric tsp": "metric teaspoon, metric teaspoons", "in3": "in³, cu in",
	})
	check(func(s string) (float64, error) { return ParseLength(s, Millimetre) }, lengthWords, map[string]string{
		"mm": "millimetre, millimetres, millimeter, millimeters", "cm": "centimetre, centimetres, centimeter, centimeters",
		"in": `inch, inches, ", ″, ”, '', ′′`,
	})
	if spelt < 40 {
		t.Errorf("only %d spellings were tried", spelt)
	}
}

func TestMassesThatCannotBeMeantAreRefusedInWords(t *testing.T) {
	for text, want := range map[string]string{
		"8 fl oz": "is a volume", "20 ml": "is a volume", "1 tsp": "is a volume", "imp fl oz": "no number",
		"3 lb 20 oz": "write 4 lb 4 oz", "3 lb 16 oz": "write 4 lb 0 oz", "3.5 lb 4 oz": "write 3 lb 12 oz", "3 lb -4 oz": "minus before its ounces",
		"3 lb 4": "without a unit at its end", "4 oz 3 lb": "more than one mass", "3 g 4 g": "more than one mass",
		"5 gr": "grams or grains", "5 stone": "no unit of mass", "g": "no number", "": "nothing is typed", "nan": "not a number that can be weighed",
		"NaN":    `"NaN" is not a number that can be weighed`,
		"33,5 g": "write 33.5", "9e9 kg": "heavier than anything", "1 lb 1 lb 1 lb": "more than one mass", "\xff g": "no number",
		strings.Repeat("1 lb ", 40): "too long",
	} {
		got, err := ParseMass(text, Gram)
		refused(t, "ParseMass", text, got, err, want)
	}
	got, err := ParseMass("3", PoundOunce)
	refused(t, "ParseMass", "3", got, err, "could be pounds or ounces: write 3 lb or 3 oz")
	got, err = ParseVolume("8 oz", Millilitre)
	refused(t, "ParseVolume", "8 oz", got, err, "is a mass")
	got, err = ParseVolume("8 cups", Millilitre)
	refused(t, "ParseVolume", "8 cups", got, err, "no unit of volume")
	got, err = ParseVolume("1 ml 2 ml", Millilitre)
	refused(t, "ParseVolume", "1 ml 2 ml", got, err, "more than one number")
	got, err = ParseLength("3 furlongs", Millimetre)
	refused(t, "ParseLength", "3 furlongs", got, err, "no unit of length")
	got, err = ParseLength("1e9 cm", Millimetre)
	refused(t, "ParseLength", "1e9 cm", got, err, "larger than anything")
	got, err = ParseTemp("300 K", Celsius)
	refused(t, "ParseTemp", "300 K", got, err, "no unit of temperature")
	got, err = ParseTemp("-500 F", Celsius)
	refused(t, "ParseTemp", "-500 F", got, err, "colder than anything")
	got, err = ParseTemp("99999", Celsius)
	refused(t, "ParseTemp", "99999", got, err, "hotter than anything")
}

// A parser that reads what it wrote reads the same value, and one that fails
// gives no value. what is written here is exact: rounding is tested elsewhere.
func fuzzParser(f *testing.F, parse func(string) (float64, error), unit string, limit float64, seeds ...string) {
	for _, s := range append(seeds, "", "33,5", "1 1/2", "1½", "−3", "1e12", "1e-12", "\xff", "NaN", "0x1p4", "1/3", "3 lb 4 oz", "1 200.5") {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := parse(text)
		if err != nil {
			var fe *fault.Error
			if v != 0 || !errors.As(err, &fe) || fe.Message == "" || fe.Field != "" {
				t.Fatalf("%q: %v with %v", text, v, err)
			}
			return
		}
		if !Finite(v) || math.Abs(v) > limit {
			t.Fatalf("%q gives %v", text, v)
		}
		again, err := parse(strconv.FormatFloat(v, 'g', -1, 64) + unit)
		// A sum such as 1e9 kg/1000 may print more digits than a box takes;
		// the shortest form of a float64 never does.
		if err != nil && (math.Abs(v) >= 1e-12 || v == 0) {
			t.Fatalf("%q gives %v, which is not read back: %v", text, v, err)
		}
		if err == nil && again != v {
			t.Fatalf("%q gives %v and then %v", text, v, again)
		}
	})
}

func FuzzParseNumber(f *testing.F) { fuzzParser(f, ParseNumber, "", maxNumber) }

func FuzzParseMass(f *testing.F) {
	fuzzParser(f, func(s string) (float64, error) { return ParseMass(s, Ounce) }, " g", maxMassG,
		"250 g", "1lb4oz", "12 lb 3 1/2 oz", "8 fl oz", "−1 kg", "5 gr", "3.5 lb 4 oz")
}

func FuzzParseVolume(f *testing.F) {
	fuzzParser(f, func(s string) (float64, error) { return ParseVolume(s, USTeaspoon) }, " ml", maxVolumeML,
		"250 ml", "8 fl oz", "8 imp fl oz", "2 metric tsp", "3 in3", "8 oz")
}

func FuzzParseLength(f *testing.F) {
	fuzzParser(f, func(s string) (float64, error) { return ParseLength(s, Inch) }, " mm", maxLengthMM,
		`3.5"`, "3 1/2 in", "65 mm", "6.5cm", "3.5''")
}

func FuzzParseTemp(f *testing.F) {
	fuzzParser(f, func(s string) (float64, error) { return ParseTemp(s, Fahrenheit) }, " °C", maxTempC,
		"110 F", "43 °C", "-40", "43°", "300 K")
}

// A refusal offers a number only where the marks leave no doubt: with a point and
// a comma the last one is the decimal one, and the others part thousands.
func TestARefusedCommaOffersTheRightNumber(t *testing.T) {
	for typed, want := range map[string]string{
		"1.000,5": "write 1000.5", "1.500,5": "write 1500.5", "12.345,6": "write 12345.6", "1.234.567,8": "write 1234567.8",
		"1,000.5": "write 1000.5", "1,234,567.8": "write 1234567.8", "1,234,567": "write 1234567", "33,5": "write 33.5",
		"1,000": "write 1000, or 1.000 if it stood for the point",
		"1.5,3": "one number with a point", "1,5,2": "one number with a point", "1.5.000,5": "one number with a point",
		"1,00.5": "one number with a point", "1,000,5": "one number with a point", "1.000.5,": "one number with a point",
		"1,000.500.1": "one number with a point", ",": "one number with a point", "1.000,5x": "",
	} {
		_, err := ParseNumber(typed)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; want it to say %q", typed, err, want)
		}
	}
}
