package formula

import (
	"fmt"
	"slices"
)

// The words of each choice, as files, forms and stored formulas have them.
var (
	methodWords = [...]string{MethodUnset: "", Cold: "cold", Hot: "hot", Melt: "melt"}
	ruleWords   = [...]string{ByConcentration: "concentration", ByRatio: "ratio", ByFats: "fats", ByDiscount: "discount"}
	perWords    = [...]string{PerKgFats: "kg-fats", PerKgBatter: "kg-batter", PerBatch: "batch", PerLiquid: "liquid"}
	intoWords   = [...]string{IntoBatter: "batter", IntoLye: "lye", IntoFats: "fats", IntoCooked: "cooked"}
	unitWords   = [...]string{Grams: "g", OuncesPerPound: "oz-per-lb", TeaspoonsPerPound: "tsp-per-lb"}
	stageWords  = [...]string{AnyStage: "", ThinTrace: "thin", MediumTrace: "medium", ThickTrace: "thick", Dough: "dough"}
	byWords     = [...]string{ByShare: "share", ByVolume: "volume", ByMass: "mass", ByRest: "rest"}
	ofWords     = [...]string{OfFats: "fats", OfBatter: "batter", OfBar: "bar"}
)

func word(words []string, i uint8) string {
	if int(i) < len(words) {
		return words[i]
	}
	return fmt.Sprintf("unknown (%d)", i)
}

func marshalWord(words []string, i uint8, what string) ([]byte, error) {
	if int(i) >= len(words) {
		return nil, fmt.Errorf("%d is no %s", i, what)
	}
	return []byte(words[i]), nil
}

func unmarshalWord(words []string, text []byte, what string) (uint8, error) {
	if i := slices.Index(words, string(text)); i >= 0 {
		return uint8(i), nil
	}
	return 0, fmt.Errorf("%q is no %s", short(string(text)), what)
}

// String is the word in files: cold or hot. It is melt, which no file has, for
// Melt, and "" when unset.
func (m Method) String() string { return word(methodWords[:], uint8(m)) }

// Words is the method inside a sentence, such as 'cold process'.
func (m Method) Words() string {
	switch m {
	case Hot:
		return "hot process"
	case Melt:
		return "melt-and-pour"
	}
	return "cold process"
}

// Traits are what a list says of a formula that is no plain batter of cold process.
func (f *Formula) Traits() []string {
	var out []string
	if f.Method != Cold {
		out = append(out, f.Method.Words())
	}
	switch f.Stage {
	case ThickTrace:
		out = append(out, "batter for piping")
	case Dough:
		out = append(out, "soap dough")
	}
	if n := len(f.Portions); n > 1 {
		out = append(out, fmt.Sprintf("%d portions", n))
	}
	return out
}

// MarshalText writes the word.
func (m Method) MarshalText() ([]byte, error) {
	return marshalWord(methodWords[:], uint8(m), "method")
}

// UnmarshalText reads the word.
func (m *Method) UnmarshalText(b []byte) error {
	i, err := unmarshalWord(methodWords[:], b, "method")
	*m = Method(i)
	return err
}

// String is the word that is stored: concentration, ratio, fats or discount.
func (r WaterRule) String() string { return word(ruleWords[:], uint8(r)) }

// MarshalText writes the word.
func (r WaterRule) MarshalText() ([]byte, error) {
	return marshalWord(ruleWords[:], uint8(r), "rule for the water")
}

// UnmarshalText reads the word.
func (r *WaterRule) UnmarshalText(b []byte) error {
	i, err := unmarshalWord(ruleWords[:], b, "rule for the water")
	*r = WaterRule(i)
	return err
}

// String is the word in files: kg-fats, kg-batter or batch. It is liquid, which
// no file has, for PerLiquid.
func (p Per) String() string { return word(perWords[:], uint8(p)) }

// MarshalText writes the word.
func (p Per) MarshalText() ([]byte, error) {
	return marshalWord(perWords[:], uint8(p), "basis of a dose")
}

// UnmarshalText reads the word.
func (p *Per) UnmarshalText(b []byte) error {
	i, err := unmarshalWord(perWords[:], b, "basis of a dose")
	*p = Per(i)
	return err
}

// String is the word in files: batter, lye, fats or cooked.
func (n Into) String() string { return word(intoWords[:], uint8(n)) }

// MarshalText writes the word.
func (n Into) MarshalText() ([]byte, error) {
	return marshalWord(intoWords[:], uint8(n), "place of an extra")
}

// UnmarshalText reads the word.
func (n *Into) UnmarshalText(b []byte) error {
	i, err := unmarshalWord(intoWords[:], b, "place of an extra")
	*n = Into(i)
	return err
}

// String is the word that is stored: g, oz-per-lb or tsp-per-lb.
func (u DoseUnit) String() string { return word(unitWords[:], uint8(u)) }

// MarshalText writes the word.
func (u DoseUnit) MarshalText() ([]byte, error) {
	return marshalWord(unitWords[:], uint8(u), "unit of a dose")
}

// UnmarshalText reads the word.
func (u *DoseUnit) UnmarshalText(b []byte) error {
	i, err := unmarshalWord(unitWords[:], b, "unit of a dose")
	*u = DoseUnit(i)
	return err
}

// String is the word in files: fats, batter or bar.
func (o Of) String() string { return word(ofWords[:], uint8(o)) }

// MarshalText writes the word.
func (o Of) MarshalText() ([]byte, error) {
	return marshalWord(ofWords[:], uint8(o), "basis of a scent")
}

// UnmarshalText reads the word.
func (o *Of) UnmarshalText(b []byte) error {
	i, err := unmarshalWord(ofWords[:], b, "basis of a scent")
	*o = Of(i)
	return err
}

// String is the word that is stored: thin, medium, thick or dough. It is "" for
// any.
func (s Stage) String() string { return word(stageWords[:], uint8(s)) }

// Words is the stage on a page, such as 'thin trace' or 'dough'. It is "" for
// any.
func (s Stage) Words() string {
	switch s {
	case ThinTrace, MediumTrace, ThickTrace:
		return s.String() + " trace"
	}
	return s.String()
}

// Stages returns all stages that have a name, the thinnest first. That is the
// order in which batters are poured.
func Stages() []Stage { return []Stage{ThinTrace, MediumTrace, ThickTrace, Dough} }

// MarshalText writes the word.
func (s Stage) MarshalText() ([]byte, error) {
	return marshalWord(stageWords[:], uint8(s), "stage")
}

// UnmarshalText reads the word.
func (s *Stage) UnmarshalText(b []byte) error {
	i, err := unmarshalWord(stageWords[:], b, "stage")
	*s = Stage(i)
	return err
}

// String is the word that is stored: share, volume, mass or rest.
func (p PortionBy) String() string { return word(byWords[:], uint8(p)) }

// MarshalText writes the word.
func (p PortionBy) MarshalText() ([]byte, error) {
	return marshalWord(byWords[:], uint8(p), "way to size a portion")
}

// UnmarshalText reads the word.
func (p *PortionBy) UnmarshalText(b []byte) error {
	i, err := unmarshalWord(byWords[:], b, "way to size a portion")
	*p = PortionBy(i)
	return err
}
