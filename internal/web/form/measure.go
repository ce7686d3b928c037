package form

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/quantity"
)

// A Measure is what a number is of: how it is typed, shown and read in the
// studio's units. A unit may be typed with the number. Fractions (1/2, 1 1/2, ½)
// are read everywhere; a comma is the decimal mark where it cannot part thousands.
type Measure struct {
	parse func(f Faces, text string) (float64, error)
	show  func(f Faces, v float64) string
	unit  func(f Faces) string
}

// NewMeasure makes a measure that stands in one unit whatever the studio's are.
func NewMeasure(unit string, parse func(string) (float64, error), show func(float64) string) Measure {
	return Measure{func(_ Faces, s string) (float64, error) { return parse(s) }, func(_ Faces, v float64) string { return show(v) },
		func(Faces) string { return unit }}
}

// The measures.
var (
	// Plain is a number without a unit.
	Plain = NewMeasure("", quantity.ParseNumber, Digits)

	// Percent may carry its sign.
	Percent = NewMeasure("%", ParsePercent, Digits)

	// Wait is a time in minutes, typed as 90, 2 h, 1 h 30 min or 3 d.
	Wait = NewMeasure("", ParseWait, ShowWait)

	// Mass is in g inside.
	Mass = Measure{
		func(f Faces, s string) (float64, error) { return quantity.ParseMass(s, f.Set.Mass) },
		func(f Faces, g float64) string { return massTyped(g, f.Set.Mass) },
		func(f Faces) string { return MassUnit(f.Set.Mass) },
	}

	// SmallMass is a mass that a studio of pounds and ounces types in ounces.
	SmallMass = Measure{
		func(f Faces, s string) (float64, error) { return quantity.ParseMass(s, small(f.Set.Mass)) },
		func(f Faces, g float64) string { return massTyped(g, small(f.Set.Mass)) },
		func(f Faces) string { return MassUnit(small(f.Set.Mass)) },
	}

	// Grams are grams whatever the studio's unit is, unless another is typed.
	Grams = NewMeasure("g", func(s string) (float64, error) { return quantity.ParseMass(s, quantity.Gram) }, Digits)

	// Volume is in ml inside.
	Volume = Measure{
		func(f Faces, s string) (float64, error) { return quantity.ParseVolume(s, f.Set.Volume) },
		func(f Faces, ml float64) string { return inUnit(ml, f.Set.Volume.Millilitres()) },
		func(f Faces) string { return f.Set.Volume.String() },
	}

	// Length is in mm inside.
	Length = Measure{
		func(f Faces, s string) (float64, error) { return quantity.ParseLength(s, f.Set.Length) },
		func(f Faces, mm float64) string { return inUnit(mm, f.Set.Length.Millimetres()) },
		func(f Faces) string { return f.Set.Length.String() },
	}

	// Temp is in °C inside.
	Temp = Measure{
		func(f Faces, s string) (float64, error) { return quantity.ParseTemp(s, f.Set.Temperature) },
		func(f Faces, c float64) string {
			if f.Set.Temperature == quantity.Fahrenheit {
				return few(quantity.FahrenheitOf(c))
			}
			return Digits(c)
		},
		func(f Faces) string { return f.Set.Temperature.String() },
	}
)

// As is the measure with another unit beside the box.
func (m Measure) As(unit string) Measure {
	m.unit = func(Faces) string { return unit }
	return m
}

// Digits is a number in full, as a form shows it to be typed over.
func Digits(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// few is a number that another unit was put on, in as many digits as anyone
// measures: four decimals, or more where these would be fewer than four figures.
func few(v float64) string {
	decimals := 4
	if a := math.Abs(v); a > 0 && a < 0.1 {
		decimals += int(math.Ceil(-math.Log10(a))) - 1
	}
	s := strconv.FormatFloat(v, 'f', min(decimals, 12), 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// inUnit is a value in a unit that is one times as large.
func inUnit(v, one float64) string {
	if one == 1 || !(one > 0) {
		return Digits(v)
	}
	return few(v / one)
}

// massTyped is a mass as a form shows it. Pounds and ounces are shown with both,
// as a bare number could be either.
func massTyped(g float64, unit quantity.MassUnit) string {
	switch unit {
	case quantity.Ounce:
		return few(g / quantity.GramsPerOunce)
	case quantity.PoundOunce:
		oz := math.Abs(g) / quantity.GramsPerOunce
		lb := math.Floor(oz / 16)
		rest := few(oz - 16*lb)
		if rest == "16" { // rounded up to a pound
			lb, rest = lb+1, "0"
		}
		sign := ""
		if g < 0 {
			sign = "-"
		}
		switch {
		case lb == 0:
			return sign + rest + " oz"
		case rest == "0":
			return sign + Digits(lb) + " lb"
		}
		return sign + Digits(lb) + " lb " + rest + " oz"
	}
	return Digits(Rounded(g))
}

// Rounded is a number to 15 figures. What follows from others by a sum carries what
// is left of binary fractions, which nobody typed.
func Rounded(v float64) float64 {
	if r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 15, 64), 64); err == nil {
		return r
	}
	return v
}

func small(u quantity.MassUnit) quantity.MassUnit {
	if u == quantity.PoundOunce {
		return quantity.Ounce
	}
	return u
}

var oneComma = regexp.MustCompile(`^([^,.]*?\d+),(\d+)([^,.]*)$`)

// pointed reads a lone comma between digits as the decimal mark. Before three
// digits it could part thousands as well, and is left to be refused in words; but
// not after a lone 0, which nobody parts from thousands.
func pointed(text string) string {
	m := oneComma.FindStringSubmatch(text)
	if m == nil || len(m[2]) == 3 && strings.TrimLeft(m[1], "+-− ") != "0" {
		return text
	}
	return m[1] + "." + m[2] + m[3]
}

// ParsePercent reads a number that may carry a per cent sign.
func ParsePercent(text string) (float64, error) {
	return quantity.ParseNumber(strings.TrimSuffix(strings.TrimSpace(text), "%"))
}

// waitUnits are the minutes in each unit of a wait.
var waitUnits = map[string]float64{"": 1, "min": 1, "minute": 1, "minutes": 1, "m": 1, "h": 60, "hour": 60, "hours": 60, "d": 1440, "day": 1440, "days": 1440}

// ParseWait reads how long to wait, in minutes: "90", "2 h", "1 h 30 min", "3 d".
func ParseWait(text string) (float64, error) {
	sum, rest, found := 0.0, strings.ToLower(strings.TrimSpace(text)), false
	wrong := func() (float64, error) {
		return 0, fault.Invalidf("", "“%.40s” is no wait: write minutes, as 90, or 2 h, 1 h 30 min, or 3 d.", strings.TrimSpace(text))
	}
	for rest != "" {
		i := strings.IndexFunc(rest, func(r rune) bool { return (r < '0' || r > '9') && r != '.' && r != ',' })
		if i < 0 {
			i = len(rest)
		}
		n, err := quantity.ParseNumber(pointed(rest[:i]))
		if err != nil {
			return wrong()
		}
		rest = strings.TrimLeft(rest[i:], " \u00a0\u202f")
		j := strings.IndexFunc(rest, func(r rune) bool { return r < 'a' || r > 'z' })
		if j < 0 {
			j = len(rest)
		}
		one, ok := waitUnits[rest[:j]]
		if !ok || found && rest[:j] == "" {
			return wrong()
		}
		sum, found = sum+n*one, true
		rest = strings.TrimLeft(rest[j:], " \u00a0\u202f")
	}
	if !found || !quantity.Finite(sum) {
		return wrong()
	}
	return sum, nil
}

// ShowWait is a wait as a form shows it.
func ShowWait(minutes float64) string {
	switch {
	case minutes >= 1440 && math.Mod(minutes, 1440) == 0:
		return Digits(minutes/1440) + " d"
	case minutes >= 60 && math.Mod(minutes, 60) == 0:
		return Digits(minutes/60) + " h"
	}
	return Digits(minutes) + " min"
}
