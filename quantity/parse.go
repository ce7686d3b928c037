package quantity

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"barwright/fault"
)

// Bounds on what can be typed. They lie far outside any workshop, and are there
// so that a slipped key cannot carry an overflow into the sums.
const (
	maxNumber   = 1e12
	maxExponent = 12
	maxMassG    = 1e9
	maxVolumeML = 1e9
	maxLengthMM = 1e6
	maxTempC    = 5000.0
	minTempC    = -273.15 // absolute zero
	maxTyped    = 64      // bytes
)

// vulgar are the fractions that keyboards and phones offer as one character.
var vulgar = map[rune]string{
	'½': "1/2", '⅓': "1/3", '⅔': "2/3", '¼': "1/4", '¾': "3/4", '⅕': "1/5", '⅖': "2/5", '⅗': "3/5", '⅘': "4/5",
	'⅙': "1/6", '⅚': "5/6", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8",
}

// ParseNumber reads a number as a maker types it: 33.5, 1 200.5 (thousands
// parted by a space of any width), −3 with a hyphen or a minus, 1/2 and
// 1 1/2, 1e-3. The decimal mark is a point. The result is finite, at most 10¹²
// either way, and never −0.
//
// Errors: fault.Invalid without a field, which the caller sets: nothing typed,
// a comma, anything that is not a number, and numbers beyond reason.
func ParseNumber(text string) (float64, error) {
	s := strings.TrimSpace(strings.ToValidUTF8(text, "\uFFFD"))
	switch {
	case s == "":
		return 0, fault.Invalidf("", "nothing is typed here: write a number, such as 12.5")
	case len(s) > maxTyped:
		return 0, fault.Invalidf("", "%s is too long for a number: write at most 15 digits", quoted(s))
	case strings.ContainsRune(s, ','):
		return 0, commaFault(s)
	}
	low := strings.ToLower(strings.TrimLeft(s, "+-−"))
	switch {
	case strings.HasPrefix(low, "nan"), strings.HasPrefix(low, "inf"), strings.HasPrefix(low, "∞"):
		return 0, fault.Invalidf("", "%s is not a number that can be weighed: write digits, such as 12.5", quoted(s))
	case strings.HasPrefix(low, "0x"), strings.HasPrefix(low, "0b"), strings.HasPrefix(low, "0o"):
		return 0, fault.Invalidf("", "%s is not in decimal digits: write it as 12.5", quoted(s))
	}

	rest, negative := s, false
	switch r, n := utf8.DecodeRuneInString(s); r {
	case '-', '−':
		rest, negative = strings.TrimSpace(s[n:]), true
	case '+':
		rest = strings.TrimSpace(s[n:])
	}
	// 1½ is 1 1/2; a lone ½ is 1/2.
	if r, n := utf8.DecodeLastRuneInString(rest); vulgar[r] != "" {
		rest = strings.TrimSpace(rest[:len(rest)-n] + " " + vulgar[r])
	}
	v, f := unsigned(s, rest)
	if f != nil {
		return 0, f
	}
	if !(v <= maxNumber) {
		return 0, fault.Invalidf("", "%s is larger than anything in a workshop: check the number of digits", quoted(s))
	}
	if negative && v != 0 {
		v = -v
	}
	return v, nil
}

// unsigned reads what follows the sign. whole is all that was typed, for the
// sentence.
func unsigned(whole, s string) (float64, error) {
	notANumber := func() error {
		return fault.Invalidf("", "%s is not a number: write digits, such as 12.5", quoted(whole))
	}
	if !strings.Contains(s, "/") {
		return decimal(whole, s, notANumber)
	}
	above, below, _ := strings.Cut(s, "/")
	above, below = strings.TrimSpace(above), strings.TrimSpace(below)
	var whole1 float64
	mixed := false
	if i := strings.LastIndexFunc(above, unicode.IsSpace); i >= 0 {
		_, n := utf8.DecodeRuneInString(above[i:])
		w, f := decimal(whole, strings.TrimSpace(above[:i]), notANumber)
		if f != nil {
			return 0, f
		}
		whole1, above, mixed = w, above[i+n:], true
	}
	if !digits(above) || !digits(below) || whole1 != math.Trunc(whole1) {
		return 0, notANumber()
	}
	num, err1 := strconv.ParseFloat(above, 64)
	den, err2 := strconv.ParseFloat(below, 64)
	if err1 != nil || err2 != nil {
		return 0, notANumber()
	}
	if den == 0 {
		return 0, fault.Invalidf("", "%s divides by zero: write a fraction such as 1/2", quoted(whole))
	}
	if mixed && num >= den {
		return 0, fault.Invalidf("", "%s has a fraction of 1 or more after a whole number: write it as 1 1/2 or as 1.5", quoted(whole))
	}
	return whole1 + num/den, nil
}

// decimal reads digits, grouped in thousands or not, with a point and a power
// of ten or without.
func decimal(whole, s string, notANumber func() error) (float64, error) {
	mantissa, exponent := s, ""
	if i := strings.IndexAny(s, "eE"); i >= 0 {
		mantissa, exponent = s[:i], s[i+1:]
		if !digits(strings.TrimLeft(exponent, "+-")) || len(exponent)-len(strings.TrimLeft(exponent, "+-")) > 1 {
			return 0, notANumber()
		}
		if e, err := strconv.Atoi(exponent); err != nil || e > maxExponent || e < -maxExponent {
			return 0, fault.Invalidf("", "%s has a power of ten beyond reason: write the number out, such as 12.5", quoted(whole))
		}
	}
	intPart, frac, pointed := strings.Cut(mantissa, ".")
	if intPart == "" && frac == "" || frac != "" && !digits(frac) {
		return 0, notANumber()
	}
	groups := strings.FieldsFunc(intPart, unicode.IsSpace)
	for i, g := range groups {
		if !digits(g) {
			return 0, notANumber()
		}
		if len(groups) > 1 && (i > 0 && len(g) != 3 || i == 0 && len(g) > 3) {
			joined := strings.Join(groups, "")
			if pointed {
				joined += "." + frac
			}
			return 0, fault.Invalidf("", "%s has a space that parts no thousands: write %s", quoted(whole), joined)
		}
	}
	// Two spaces running would be one separator to FieldsFunc: refuse them, for
	// they are two numbers in one box.
	if len(groups) > 1 && utf8.RuneCountInString(intPart) != utf8.RuneCountInString(strings.Join(groups, " ")) {
		return 0, notANumber()
	}
	clean := strings.Join(groups, "")
	if clean == "" {
		clean = "0"
	}
	if frac != "" {
		clean += "." + frac
	}
	if exponent != "" {
		clean += "e" + exponent
	}
	v, err := strconv.ParseFloat(clean, 64)
	if err != nil || !Finite(v) {
		return 0, notANumber()
	}
	return v, nil
}

// commaFault says what to write instead. A comma before three digits may part
// thousands or decimals, and the two differ by a thousand: so both are named.
func commaFault(s string) error {
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		head, tail, _ := strings.Cut(s, ",")
		if digits(head) && digits(tail) {
			if len(tail) == 3 {
				return fault.Invalidf("", "%s has a comma: write %s%s, or %s.%s if it stood for the point", quoted(s), head, tail, head, tail)
			}
			return fault.Invalidf("", "%s has a comma: write %s.%s", quoted(s), head, tail)
		}
	}
	// With both marks the last one is the decimal one, if the others part thousands.
	comma, point := strings.LastIndex(s, ","), strings.LastIndex(s, ".")
	whole, frac := s, ""
	switch {
	case point > comma:
		whole, frac = s[:point], s[point:]
	case point >= 0:
		whole, frac = strings.ReplaceAll(s[:comma], ".", ","), "."+s[comma+1:]
	}
	if joined, ok := thousands(whole); ok && (frac == "" || digits(frac[1:])) {
		return fault.Invalidf("", "%s has a comma: write %s", quoted(s), joined+frac)
	}
	return fault.Invalidf("", "%s has a comma: write one number with a point, such as 33.5", quoted(s))
}

// thousands joins the groups of a number that commas part, and reports whether
// they are groups of thousands.
func thousands(s string) (joined string, ok bool) {
	groups := strings.Split(s, ",")
	for i, g := range groups {
		if !digits(g) || i == 0 && len(g) > 3 || i > 0 && len(g) != 3 {
			return "", false
		}
	}
	return strings.Join(groups, ""), true
}

// part is a number with the unit that followed it, "" when none did.
type part struct {
	value float64
	unit  string
}

// parts reads number, unit, number, unit … as in "3 lb 4 oz".
func parts(text string) ([]part, error) {
	s := strings.TrimSpace(strings.ToValidUTF8(text, "\uFFFD"))
	if s == "" {
		return nil, fault.Invalidf("", "nothing is typed here: write a number, such as 12.5")
	}
	if len(s) > maxTyped {
		return nil, fault.Invalidf("", "%s is too long: write a number and a unit", quoted(s))
	}
	var out []part
	for s != "" {
		n := numberEnd(s)
		num := s[:n]
		s = s[n:]
		u := unitEnd(s)
		word := strings.TrimRight(unitWord(s[:u]), " ,+&")
		word = strings.TrimSuffix(strings.TrimSuffix(word, " and"), " plus")
		asTyped := s[:u]
		s = s[u:]
		if strings.TrimSpace(num) == "" {
			if len(out) == 0 && word != "" {
				if _, f := ParseNumber(asTyped); f != nil && (strings.HasPrefix(word, "nan") || strings.HasPrefix(word, "inf")) {
					return nil, f
				}
			}
			return nil, fault.Invalidf("", "%s has no number in it: write a number and a unit", quoted(text))
		}
		v, f := ParseNumber(num)
		if f != nil {
			return nil, f
		}
		out = append(out, part{v, word})
	}
	return out, nil
}

// numberEnd is where the number at the head of s ends.
func numberEnd(s string) int {
	prevDigit := false
	for i, r := range s {
		next := s[i+utf8.RuneLen(r):]
		switch {
		case r >= '0' && r <= '9', vulgar[r] != "":
			prevDigit = true
			continue
		case r == '.' || r == '/' || unicode.IsSpace(r) || r == '-' || r == '−' || r == '+':
			prevDigit = prevDigit && r != '/' && !unicode.IsSpace(r)
			continue
		case r == ',' && startsWithDigit(next):
			continue
		case (r == 'e' || r == 'E') && prevDigit && startsWithDigit(strings.TrimLeft(next, "+-")):
			continue
		}
		return i
	}
	return len(s)
}

// unitEnd is where the unit at the head of s ends: before the next number.
func unitEnd(s string) int {
	for i, r := range s {
		if r >= '0' && r <= '9' || vulgar[r] != "" {
			// cm3 and in3 are units that end in a digit.
			if r == '3' && i >= 2 && (strings.HasSuffix(s[:i], "cm") || strings.HasSuffix(s[:i], "in")) {
				continue
			}
			return i
		}
		if (r == '.' || r == '-' || r == '−') && i+utf8.RuneLen(r) < len(s) && startsWithDigit(s[i+utf8.RuneLen(r):]) {
			return i
		}
	}
	return len(s)
}

// ParseMass reads a mass and returns grams: 250, 250 g, 1.2 kg, 4.5 oz, 3 lb,
// 3 lb 4 oz, 12 lb 3 1/2 oz. A bare number is in def; where def is PoundOunce a
// bare number other than 0 could be either and is refused. Negative masses are
// read, for the caller to judge. At most 10⁹ g.
//
// Errors: fault.Invalid without a field. A volume (fl oz, ml, tsp) is refused in
// words, for a fluid ounce of lye and one of oil weigh differently.
func ParseMass(text string, def MassUnit) (float64, error) {
	ps, f := parts(text)
	if f != nil {
		return 0, f
	}
	for i, p := range ps {
		if _, ok := massWords[p.unit]; ok || p.unit == "" && len(ps) == 1 {
			continue
		}
		switch {
		case p.unit == "":
			return 0, fault.Invalidf("", "%s has a number without a unit at its end: write it as 3 lb 4 oz", quoted(text))
		case volumeWords[p.unit] != 0:
			return 0, fault.Invalidf("", "%s is a volume, and volumes of different things weigh differently: weigh it, and write g or oz", quoted(text))
		case p.unit == "gr":
			return 0, fault.Invalidf("", "%s could be grams or grains: write %s g", quoted(text), plain(ps[i].value))
		}
		return 0, fault.Invalidf("", "%s has no unit of mass that is known here: write g, kg, oz, lb, or lb and oz", quoted(text))
	}
	var g float64
	switch {
	case len(ps) == 1 && ps[0].unit == "":
		switch {
		case ps[0].value == 0:
		case def == Ounce:
			g = ps[0].value * GramsPerOunce
		case def == PoundOunce:
			return 0, fault.Invalidf("", "%s could be pounds or ounces: write %s lb or %s oz", quoted(text), plain(ps[0].value), plain(ps[0].value))
		default:
			g = ps[0].value
		}
	case len(ps) == 1:
		g = ps[0].value * massWords[ps[0].unit]
	case len(ps) == 2 && massWords[ps[0].unit] == GramsPerPound && massWords[ps[1].unit] == GramsPerOunce:
		lb, oz := ps[0].value, ps[1].value
		if oz < 0 {
			return 0, fault.Invalidf("", "%s has a minus before its ounces: put it first, or leave it out", quoted(text))
		}
		if lb != math.Trunc(lb) || oz >= 16 {
			total := math.Abs(lb)*16 + oz
			return 0, fault.Invalidf("", "%s mixes pounds and ounces in a way that can be misread: write %s lb %s oz",
				quoted(text), plain(math.Floor(total/16)), plain(total-16*math.Floor(total/16)))
		}
		g = math.Abs(lb)*GramsPerPound + oz*GramsPerOunce
		if lb < 0 {
			g = -g
		}
	default:
		return 0, fault.Invalidf("", "%s holds more than one mass: write one, such as 250 g or 3 lb 4 oz", quoted(text))
	}
	if math.Abs(g) > maxMassG {
		return 0, fault.Invalidf("", "%s is heavier than anything in a workshop: check the number and its unit", quoted(text))
	}
	return g, nil
}

// ParseVolume reads a volume and returns millilitres: 250 ml, 1.2 l, 8 fl oz
// (US), 8 imp fl oz, 2 tsp (US), 2 metric tsp, 30 in3. A bare number is in def.
// At most 10⁹ mL.
//
// Errors: fault.Invalid without a field. A mass is refused in words.
func ParseVolume(text string, def VolumeUnit) (float64, error) {
	return parseScaled(text, def.String(), volumeWords, maxVolumeML, func(word string) string {
		if massWords[word] != 0 {
			return " is a mass: for a volume write ml, or fl oz for fluid ounces"
		}
		return " has no unit of volume that is known here: write ml, l, fl oz, imp fl oz or tsp"
	})
}

// ParseLength reads a length and returns millimetres: 65, 65 mm, 6.5 cm, 2.5 in,
// 3 1/2 in, 3.5". A bare number is in def. At most 10⁶ mm.
//
// Errors: fault.Invalid without a field.
func ParseLength(text string, def LengthUnit) (float64, error) {
	return parseScaled(text, def.String(), lengthWords, maxLengthMM, func(string) string {
		return " has no unit of length that is known here: write mm, cm or in"
	})
}

// parseScaled reads one number with one unit of words, or with none: then in
// def.
func parseScaled(text, def string, words map[string]float64, limit float64, wrongUnit func(word string) string) (float64, error) {
	ps, f := parts(text)
	if f != nil {
		return 0, f
	}
	if len(ps) != 1 {
		return 0, fault.Invalidf("", "%s holds more than one number: write one, with its unit", quoted(text))
	}
	word := ps[0].unit
	if word == "" {
		word = def
	}
	factor := words[word]
	if factor == 0 {
		return 0, fault.Invalidf("", "%s%s", quoted(text), wrongUnit(word))
	}
	v := ps[0].value * factor
	if math.Abs(v) > limit {
		return 0, fault.Invalidf("", "%s is larger than anything in a workshop: check the number and its unit", quoted(text))
	}
	return v, nil
}

// ParseTemp reads a temperature and returns degrees Celsius: 43, 43 °C, 110 F.
// A bare number is in def. From absolute zero to 5000 °C.
//
// Errors: fault.Invalid without a field.
func ParseTemp(text string, def TempUnit) (float64, error) {
	ps, f := parts(text)
	if f != nil {
		return 0, f
	}
	if len(ps) != 1 {
		return 0, fault.Invalidf("", "%s holds more than one number: write one temperature, such as 43 °C or 110 °F", quoted(text))
	}
	u := def
	if w := ps[0].unit; w != "" && w != "°" {
		known, ok := tempWords[w]
		if !ok {
			return 0, fault.Invalidf("", "%s has no unit of temperature that is known here: write °C or °F", quoted(text))
		}
		u = known
	}
	c := ps[0].value
	if u == Fahrenheit {
		c = CelsiusOf(c)
	}
	switch {
	case c < minTempC:
		return 0, fault.Invalidf("", "%s is colder than anything can be: check the number and its unit", quoted(text))
	case c > maxTempC:
		return 0, fault.Invalidf("", "%s is hotter than anything in a workshop: check the number and its unit", quoted(text))
	}
	return c, nil
}

// CelsiusOf turns degrees Fahrenheit into degrees Celsius. Source: NIST SP 811
// appendix B.8, t/°C = (t/°F − 32)/1.8.
func CelsiusOf(fahrenheit float64) float64 { return (fahrenheit - 32) / 1.8 }

// FahrenheitOf turns degrees Celsius into degrees Fahrenheit.
func FahrenheitOf(celsius float64) float64 { return celsius*1.8 + 32 }

func digits(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

func startsWithDigit(s string) bool { return s != "" && s[0] >= '0' && s[0] <= '9' }

// plain writes a number for use inside a sentence that says what to type.
func plain(v float64) string {
	return strconv.FormatFloat(math.Round(math.Abs(v)*1e6)/1e6, 'f', -1, 64)
}

// quoted shows what was typed, short and printable.
func quoted(s string) string {
	s = strings.TrimSpace(strings.ToValidUTF8(s, "\uFFFD"))
	if r := []rune(s); len(r) > 32 {
		s = string(r[:31]) + "…"
	}
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case !unicode.IsPrint(r):
			return '\uFFFD'
		}
		return r
	}, s)
	return `"` + s + `"`
}
