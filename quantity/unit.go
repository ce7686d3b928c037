package quantity

import (
	"strings"

	"barwright/fault"
)

// MassUnit is the face in which masses are typed and shown. Inside it is
// always grams.
type MassUnit uint8

const (
	// Gram is the zero MassUnit.
	Gram MassUnit = iota
	// Ounce is the avoirdupois ounce, with decimals.
	Ounce
	// PoundOunce is whole pounds and ounces, as in 3 lb 4.2 oz.
	PoundOunce
)

// VolumeUnit is the face in which volumes are typed and shown. Inside it is
// always millilitres.
type VolumeUnit uint8

const (
	// Millilitre is the zero VolumeUnit.
	Millilitre VolumeUnit = iota
	// USFluidOunce is what 'fl oz' alone means here.
	USFluidOunce
	// ImperialFluidOunce is always named, as 'imp fl oz'.
	ImperialFluidOunce
	// USTeaspoon is what 'tsp' alone means here: a sixth of a US fluid ounce.
	USTeaspoon
	// MetricTeaspoon is 5 mL, always named, as 'metric tsp'.
	MetricTeaspoon
)

// LengthUnit is the face in which lengths are typed and shown. Inside it is
// always millimetres.
type LengthUnit uint8

const (
	// Millimetre is the zero LengthUnit.
	Millimetre LengthUnit = iota
	// Inch is the international inch, with decimals.
	Inch
)

// TempUnit is the face in which temperatures are typed and shown. Inside it is
// always degrees Celsius.
type TempUnit uint8

const (
	// Celsius is the zero TempUnit.
	Celsius TempUnit = iota
	// Fahrenheit is degrees Fahrenheit.
	Fahrenheit
)

// The names are what String gives, what pages show beside a number, and what
// JSON and settings hold: so they never change.
var (
	massUnitNames   = []string{Gram: "g", Ounce: "oz", PoundOunce: "lb+oz"}
	volumeUnitNames = []string{Millilitre: "ml", USFluidOunce: "fl oz", ImperialFluidOunce: "imp fl oz", USTeaspoon: "tsp", MetricTeaspoon: "metric tsp"}
	lengthUnitNames = []string{Millimetre: "mm", Inch: "in"}
	tempUnitNames   = []string{Celsius: "°C", Fahrenheit: "°F"}
)

// What a maker may type for a unit, lower case, without full stops. The value
// of mass, volume and length words is how many grams, millilitres or
// millimetres one of them holds.
var (
	massWords = map[string]float64{
		"g": 1, "gram": 1, "grams": 1, "gramme": 1, "grammes": 1,
		"kg": 1000, "kilo": 1000, "kilos": 1000, "kilogram": 1000, "kilograms": 1000,
		"mg": 0.001, "milligram": 0.001, "milligrams": 0.001,
		"oz": GramsPerOunce, "ounce": GramsPerOunce, "ounces": GramsPerOunce,
		"lb": GramsPerPound, "lbs": GramsPerPound, "pound": GramsPerPound, "pounds": GramsPerPound,
	}
	volumeWords = map[string]float64{
		"ml": 1, "millilitre": 1, "millilitres": 1, "milliliter": 1, "milliliters": 1, "cm3": 1, "cm³": 1,
		"cl": 10, "l": 1000, "litre": 1000, "litres": 1000, "liter": 1000, "liters": 1000,
		"fl oz": MillilitresPerUSFlOz, "floz": MillilitresPerUSFlOz, "us fl oz": MillilitresPerUSFlOz,
		"fluid ounce": MillilitresPerUSFlOz, "fluid ounces": MillilitresPerUSFlOz,
		"us fluid ounce": MillilitresPerUSFlOz, "us fluid ounces": MillilitresPerUSFlOz,
		"imp fl oz": MillilitresPerImpFlOz, "imperial fl oz": MillilitresPerImpFlOz,
		"imperial fluid ounce": MillilitresPerImpFlOz, "imperial fluid ounces": MillilitresPerImpFlOz,
		"tsp": MillilitresPerUSTeaspoon, "teaspoon": MillilitresPerUSTeaspoon, "teaspoons": MillilitresPerUSTeaspoon,
		"us tsp": MillilitresPerUSTeaspoon, "metric tsp": MillilitresPerMetricSpoon,
		"metric teaspoon": MillilitresPerMetricSpoon, "metric teaspoons": MillilitresPerMetricSpoon,
		"in3": MillilitresPerCubicInch, "in³": MillilitresPerCubicInch, "cu in": MillilitresPerCubicInch,
	}
	lengthWords = map[string]float64{
		"mm": 1, "millimetre": 1, "millimetres": 1, "millimeter": 1, "millimeters": 1,
		"cm": 10, "centimetre": 10, "centimetres": 10, "centimeter": 10, "centimeters": 10,
		"in": MillimetresPerInch, "inch": MillimetresPerInch, "inches": MillimetresPerInch,
		`"`: MillimetresPerInch, "″": MillimetresPerInch, "”": MillimetresPerInch, "''": MillimetresPerInch, "′′": MillimetresPerInch,
	}
	tempWords = map[string]TempUnit{
		"c": Celsius, "°c": Celsius, "° c": Celsius, "℃": Celsius, "celsius": Celsius, "degrees c": Celsius, "deg c": Celsius, "degrees celsius": Celsius,
		"f": Fahrenheit, "°f": Fahrenheit, "° f": Fahrenheit, "℉": Fahrenheit, "fahrenheit": Fahrenheit,
		"degrees f": Fahrenheit, "deg f": Fahrenheit, "degrees fahrenheit": Fahrenheit,
	}
)

// String is the unit's name: g, oz, lb+oz.
func (u MassUnit) String() string { return unitName(massUnitNames, uint8(u)) }

// String is the unit's name: ml, fl oz, imp fl oz, tsp, metric tsp.
func (u VolumeUnit) String() string { return unitName(volumeUnitNames, uint8(u)) }

// String is the unit's name: mm, in.
func (u LengthUnit) String() string { return unitName(lengthUnitNames, uint8(u)) }

// String is the unit's name: °C, °F.
func (u TempUnit) String() string { return unitName(tempUnitNames, uint8(u)) }

// Millilitres is how many millilitres one of the unit holds, and 0 for a unit
// that is none of ours.
func (u VolumeUnit) Millilitres() float64 { return volumeWords[u.String()] }

// Millimetres is how many millimetres one of the unit spans, and 0 for a unit
// that is none of ours.
func (u LengthUnit) Millimetres() float64 { return lengthWords[u.String()] }

// ParseMassUnit reads a name as String writes it, or a usual spelling of it.
// Errors: fault.Invalid.
func ParseMassUnit(text string) (MassUnit, error) {
	switch unitWord(text) {
	case "g", "gram", "grams":
		return Gram, nil
	case "oz", "ounce", "ounces":
		return Ounce, nil
	case "lb+oz", "lb + oz", "lb oz", "lb-oz", "lb and oz", "pounds and ounces":
		return PoundOunce, nil
	}
	return 0, fault.Invalidf("", "%s is no face for masses: write g, oz or lb+oz", quoted(text))
}

// ParseVolumeUnit reads a name as String writes it, or a usual spelling of it.
// Errors: fault.Invalid.
func ParseVolumeUnit(text string) (VolumeUnit, error) {
	w := unitWord(text)
	f, ok := volumeWords[w]
	for i, n := range volumeUnitNames {
		// The factor tells the spellings of one unit from those of another.
		if ok && volumeWords[n] == f {
			return VolumeUnit(i), nil
		}
	}
	return 0, fault.Invalidf("", "%s is no face for volumes: write ml, fl oz, imp fl oz, tsp or metric tsp", quoted(text))
}

// ParseLengthUnit reads a name as String writes it, or a usual spelling of it.
// Errors: fault.Invalid.
func ParseLengthUnit(text string) (LengthUnit, error) {
	switch lengthWords[unitWord(text)] {
	case 1:
		return Millimetre, nil
	case MillimetresPerInch:
		return Inch, nil
	}
	return 0, fault.Invalidf("", "%s is no face for lengths: write mm or in", quoted(text))
}

// ParseTempUnit reads a name as String writes it, or a usual spelling of it.
// Errors: fault.Invalid.
func ParseTempUnit(text string) (TempUnit, error) {
	if u, ok := tempWords[unitWord(text)]; ok {
		return u, nil
	}
	return 0, fault.Invalidf("", "%s is no face for temperatures: write °C or °F", quoted(text))
}

// MarshalText writes the name; so JSON holds "g" and not 0.
func (u MassUnit) MarshalText() ([]byte, error) { return unitText(massUnitNames, uint8(u)) }

// UnmarshalText reads what ParseMassUnit reads.
func (u *MassUnit) UnmarshalText(b []byte) (err error) { return readUnit(u, b, ParseMassUnit) }

// MarshalText writes the name; so JSON holds "ml" and not 0.
func (u VolumeUnit) MarshalText() ([]byte, error) { return unitText(volumeUnitNames, uint8(u)) }

// UnmarshalText reads what ParseVolumeUnit reads.
func (u *VolumeUnit) UnmarshalText(b []byte) (err error) { return readUnit(u, b, ParseVolumeUnit) }

// MarshalText writes the name; so JSON holds "mm" and not 0.
func (u LengthUnit) MarshalText() ([]byte, error) { return unitText(lengthUnitNames, uint8(u)) }

// UnmarshalText reads what ParseLengthUnit reads.
func (u *LengthUnit) UnmarshalText(b []byte) (err error) { return readUnit(u, b, ParseLengthUnit) }

// MarshalText writes the name; so JSON holds "°C" and not 0.
func (u TempUnit) MarshalText() ([]byte, error) { return unitText(tempUnitNames, uint8(u)) }

// UnmarshalText reads what ParseTempUnit reads.
func (u *TempUnit) UnmarshalText(b []byte) (err error) { return readUnit(u, b, ParseTempUnit) }

func unitName(names []string, i uint8) string {
	if int(i) < len(names) {
		return names[i]
	}
	return "unknown unit"
}

func unitText(names []string, i uint8) ([]byte, error) {
	if int(i) >= len(names) {
		return nil, fault.Invalidf("", "unit %d is none of %s", i, strings.Join(names, ", "))
	}
	return []byte(names[i]), nil
}

func readUnit[U any](to *U, b []byte, parse func(string) (U, error)) error {
	u, err := parse(string(b))
	if err != nil {
		return err
	}
	*to = u
	return nil
}

// unitWord brings a typed unit to the form of the tables above: lower case, one
// plain space between words, no full stops.
func unitWord(s string) string {
	s = strings.ReplaceAll(strings.ToLower(s), ".", " ")
	return strings.Join(strings.Fields(s), " ")
}
