package quantity

import (
	"math"
	"strconv"
	"strings"
)

// The characters that numbers are set with. Each has its reason on a narrow
// screen: neither a number nor its unit may break over a line.
const (
	Thousands = "\u202f" // narrow no-break space
	UnitSpace = "\u00a0" // no-break space
	Minus     = "\u2212"
)

// NotKnown stands where a number is unknown, not finite, or no number.
const NotKnown = "not known"

// Number shows v with a fixed number of decimals (0 to 9), a half rounded away
// from zero, thousands parted by a narrow no-break space, a true minus. A v that
// rounds to nothing has no sign. NaN and infinities show as NotKnown.
func Number(v float64, decimals int) string {
	if !Finite(v) {
		return NotKnown
	}
	return face(rounded(v, decimals))
}

// face sets the digits before and after the point with their marks.
func face(whole, frac string, negative bool) string {
	var b strings.Builder
	if negative {
		b.WriteString(Minus)
	}
	head := len(whole) % 3
	if head == 0 {
		head = 3
	}
	b.WriteString(whole[:head])
	for i := head; i < len(whole); i += 3 {
		b.WriteString(Thousands)
		b.WriteString(whole[i : i+3])
	}
	if frac != "" {
		b.WriteByte('.')
		b.WriteString(frac)
	}
	return b.String()
}

// rounded rounds a finite v at its decimals, a half away from zero, and gives
// the digits before and after the point. It rounds the number that the maker
// would read, to 15 figures, and not the binary one that stands in for it:
// 2.675 is stored as 2.67499999999999982 and yet shows as 2.68.
func rounded(v float64, decimals int) (whole, frac string, negative bool) {
	decimals = min(max(decimals, 0), 9)
	var buf [32]byte
	// d.dddddddddddddde±xx
	e := strconv.AppendFloat(buf[:0], math.Abs(v), 'e', 14, 64)
	exp, _ := strconv.Atoi(string(e[17:]))
	digits := make([]byte, 0, 64)
	digits = append(digits, e[0])
	digits = append(digits, e[2:16]...)
	// The point stands after digits[:exp+1]; keep digits[:keep].
	keep := exp + 1 + decimals
	up := keep >= 0 && keep < len(digits) && digits[keep] >= '5'
	switch {
	case keep < 0:
		digits, keep = digits[:0], 0
	case keep < len(digits):
		digits = digits[:keep]
	default:
		for len(digits) < keep {
			digits = append(digits, '0')
		}
	}
	if up {
		i := len(digits) - 1
		for ; i >= 0 && digits[i] == '9'; i-- {
			digits[i] = '0'
		}
		if i >= 0 {
			digits[i]++
		} else {
			digits = append([]byte{'1'}, digits...)
		}
	}
	// Zeros to the left, so that one digit at least stands before the point.
	if lead := decimals + 1 - len(digits); lead > 0 {
		digits = append([]byte(strings.Repeat("0", lead)), digits...)
	}
	s := string(digits)
	cut := len(s) - decimals
	whole, frac = s[:cut], s[cut:]
	return whole, frac, v < 0 && strings.Trim(s, "0") != ""
}

// Decimals is how many decimals a scale of that division (in g, or in whatever
// unit its numbers are shown) can tell: 1 gives 0, 0.1 gives 1, 0.25 and 0.01
// give 2, and 5 gives 0. At most 4. A division of 0, or one that is no number,
// stands for a scale that nothing is known of, and gives 1.
func Decimals(division float64) int {
	if !Finite(division) || division <= 0 {
		return 1
	}
	step := division
	for d := range 4 {
		if n := math.Round(step); n >= 1 && math.Abs(step-n) < 1e-6*n {
			return d
		}
		step *= 10
	}
	return 4
}

// MassDecimals is how many decimals a mass has in unit on a scale whose division
// is in g: for grams as Decimals; for ounces as many as the division can tell,
// two at most (1 g is 0.035 oz and gives 2; 5 g gives 1).
func MassDecimals(unit MassUnit, divisionG float64) int {
	if unit == Gram {
		return Decimals(divisionG)
	}
	if !Finite(divisionG) || divisionG <= 0 {
		return 2
	}
	return min(max(int(math.Ceil(-math.Log10(divisionG/GramsPerOunce))), 0), 2)
}

// Mass shows a mass in g, in unit and with it, to what a scale whose division
// is in g can tell: 615.6 g, 2 430.8 g, 21.71 oz, 3 lb 4.2 oz.
func Mass(g float64, unit MassUnit, divisionG float64) string {
	s := MassNumber(g, unit, divisionG)
	if s == NotKnown || unit == PoundOunce {
		return s
	}
	return s + UnitSpace + unit.String()
}

// MassNumber is Mass without the unit, for a column whose head names it. Pounds
// and ounces are two units and keep both.
func MassNumber(g float64, unit MassUnit, divisionG float64) string {
	d := MassDecimals(unit, divisionG)
	switch unit {
	case Ounce:
		return Number(g/GramsPerOunce, d)
	case PoundOunce:
		return poundsAndOunces(g, d)
	}
	return Number(g, d)
}

// poundsAndOunces rounds first and parts afterwards, so that 15.96 oz to one
// decimal is a pound and never 16.0 oz.
func poundsAndOunces(g float64, decimals int) string {
	if !Finite(g) {
		return NotKnown
	}
	whole, frac, negative := rounded(g/GramsPerOunce, decimals)
	oz, err := strconv.ParseUint(whole, 10, 64)
	if err != nil {
		return NotKnown // beyond 10¹⁹ oz
	}
	var b strings.Builder
	if negative {
		b.WriteString(Minus)
	}
	if lb := oz / 16; lb > 0 {
		b.WriteString(Number(float64(lb), 0))
		b.WriteString(UnitSpace + "lb" + UnitSpace)
	}
	b.WriteString(strconv.FormatUint(oz%16, 10))
	if frac != "" {
		b.WriteByte('.')
		b.WriteString(frac)
	}
	b.WriteString(UnitSpace + "oz")
	return b.String()
}

// Volume shows a volume in mL, in unit and with it.
func Volume(ml float64, unit VolumeUnit, decimals int) string {
	if f := unit.Millilitres(); f > 0 {
		return withUnit(Number(ml/f, decimals), unit.String())
	}
	return NotKnown
}

// Length shows a length in mm, in unit and with it: millimetres to 0.1 and
// without a nought there (65 mm, 65.5 mm), inches to 0.01.
func Length(mm float64, unit LengthUnit) string {
	return withUnit(LengthNumber(mm, unit), unit.String())
}

// LengthNumber is Length without the unit.
func LengthNumber(mm float64, unit LengthUnit) string {
	if unit == Inch {
		return Number(mm/MillimetresPerInch, 2)
	}
	return strings.TrimSuffix(Number(mm, 1), ".0")
}

// Temp shows a temperature in °C, in unit and with it: 43 °C, 110 °F.
func Temp(c float64, unit TempUnit, decimals int) string {
	if unit == Fahrenheit {
		c = FahrenheitOf(c)
	}
	return withUnit(Number(c, decimals), unit.String())
}

// Percent shows v, which is in percent already: 5.0 %.
func Percent(v float64, decimals int) string { return withUnit(Number(v, decimals), "%") }

// Interval shows two ends: 0.7 to 5.2. With an end unknown it is NotKnown.
func Interval(lo, hi float64, decimals int) string {
	if !Finite(lo) || !Finite(hi) {
		return NotKnown
	}
	return Number(lo, decimals) + " to " + Number(hi, decimals)
}

// Odds shows a probability from 0 to 1: '1 in 390' below a tenth, to two figures;
// '18 in 100' above. draws is how many Monte Carlo draws it was counted from, or
// 0 for one that was computed; below what they can tell it is 'fewer than 1 in
// 200 000'. Outside 0 to 1 it is NotKnown.
func Odds(p float64, draws int) string {
	const finest = 1_000_000 // a computed tail says nothing true beyond this
	if draws <= 0 || draws > finest {
		draws = finest
	}
	switch {
	case !(p >= 0 && p <= 1):
		return NotKnown
	case p*float64(draws) < 1-1e-9:
		return "fewer than 1 in " + Number(float64(draws), 0)
	case p < 0.1:
		n := 1 / p
		if n >= 100 {
			step := math.Pow(10, math.Floor(math.Log10(n))-1)
			n = math.Round(n/step) * step
		}
		return "1 in " + Number(n, 0)
	case p > 0.994999:
		return "more than 99 in 100"
	}
	return Number(p*100, 0) + " in 100"
}

func withUnit(number, unit string) string {
	if number == NotKnown {
		return number
	}
	return number + UnitSpace + unit
}

// RoundTo is the multiple of division nearest to v, a half away from zero: what
// a sheet tells the hand to weigh. Both are in the same unit. It is proof
// against binary fuzz: RoundTo(0.15, 0.1) is 0.2 and RoundTo(615.64, 0.1) is
// exactly 615.6. A division that is 0 or no number rounds nothing.
func RoundTo(v, division float64) float64 {
	return toMultiple(v, division, func(steps, fuzz float64) float64 {
		return math.Round(steps + math.Copysign(fuzz, steps))
	})
}

// RoundDown is the greatest multiple of division that is not above v: how alkali
// is rounded, so that rounding never takes fat away. A v that falls short of a
// multiple by binary fuzz alone counts as that multiple: RoundDown(0.3, 0.1) is
// 0.3. A division that is 0 or no number rounds nothing.
func RoundDown(v, division float64) float64 {
	return toMultiple(v, division, func(steps, fuzz float64) float64 {
		return math.Floor(steps + fuzz)
	})
}

func toMultiple(v, division float64, round func(steps, fuzz float64) float64) float64 {
	if !Finite(v) || !Finite(division) || division <= 0 {
		return v
	}
	steps := v / division
	if math.Abs(steps) > 1e14 {
		return v // finer than a float64 can tell
	}
	n := round(steps, 1e-9+1e-13*math.Abs(steps))
	if n == 0 {
		return 0 // and not −0
	}
	// 6156 × 0.1 is 615.6000000000001. Fifteen figures are what the maker reads.
	var buf [32]byte
	clean, err := strconv.ParseFloat(string(strconv.AppendFloat(buf[:0], n*division, 'g', 15, 64)), 64)
	if err != nil {
		return n * division
	}
	return clean
}
