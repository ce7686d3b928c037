package formula

import (
	"fmt"

	"barwright/internal/words"
)

// The words of each choice, as files, forms and stored formulas have them.
var (
	methods = words.Choice{What: "method", Words: []string{MethodUnset: "", Cold: "cold", Hot: "hot", Melt: "melt"}}
	rules   = words.Choice{What: "rule for the water", Words: []string{ByConcentration: "concentration", ByRatio: "ratio", ByFats: "fats",
		ByDiscount: "discount"}}
	doseBases  = words.Choice{What: "basis of a dose", Words: []string{PerKgFats: "kg-fats", PerKgBatter: "kg-batter", PerBatch: "batch", PerLiquid: "liquid"}}
	places     = words.Choice{What: "place of an extra", Words: []string{IntoBatter: "batter", IntoLye: "lye", IntoFats: "fats", IntoCooked: "cooked"}}
	doseUnits  = words.Choice{What: "unit of a dose", Words: []string{Grams: "g", OuncesPerPound: "oz-per-lb", TeaspoonsPerPound: "tsp-per-lb"}}
	stages     = words.Choice{What: "stage", Words: []string{AnyStage: "", ThinTrace: "thin", MediumTrace: "medium", ThickTrace: "thick", Dough: "dough"}}
	portionBys = words.Choice{What: "way to size a portion", Words: []string{ByShare: "share", ByVolume: "volume", ByMass: "mass", ByRest: "rest"}}
	scentBases = words.Choice{What: "basis of a scent", Words: []string{OfFats: "fats", OfBatter: "batter", OfBar: "bar"}}
)

// String is the word in files: cold or hot. It is melt, which no file has, for
// Melt, and "" when unset.
func (m Method) String() string { return methods.Word(uint8(m)) }

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
func (m Method) MarshalText() ([]byte, error) { return methods.Marshal(uint8(m)) }

// UnmarshalText reads the word.
func (m *Method) UnmarshalText(b []byte) error { return methods.Unmarshal((*uint8)(m), b) }

// String is the word that is stored: concentration, ratio, fats or discount.
func (r WaterRule) String() string { return rules.Word(uint8(r)) }

// MarshalText writes the word.
func (r WaterRule) MarshalText() ([]byte, error) { return rules.Marshal(uint8(r)) }

// UnmarshalText reads the word.
func (r *WaterRule) UnmarshalText(b []byte) error { return rules.Unmarshal((*uint8)(r), b) }

// String is the word in files: kg-fats, kg-batter or batch. It is liquid, which
// no file has, for PerLiquid.
func (p Per) String() string { return doseBases.Word(uint8(p)) }

// MarshalText writes the word.
func (p Per) MarshalText() ([]byte, error) { return doseBases.Marshal(uint8(p)) }

// UnmarshalText reads the word.
func (p *Per) UnmarshalText(b []byte) error { return doseBases.Unmarshal((*uint8)(p), b) }

// String is the word in files: batter, lye, fats or cooked.
func (n Into) String() string { return places.Word(uint8(n)) }

// MarshalText writes the word.
func (n Into) MarshalText() ([]byte, error) { return places.Marshal(uint8(n)) }

// UnmarshalText reads the word.
func (n *Into) UnmarshalText(b []byte) error { return places.Unmarshal((*uint8)(n), b) }

// String is the word that is stored: g, oz-per-lb or tsp-per-lb.
func (u DoseUnit) String() string { return doseUnits.Word(uint8(u)) }

// MarshalText writes the word.
func (u DoseUnit) MarshalText() ([]byte, error) { return doseUnits.Marshal(uint8(u)) }

// UnmarshalText reads the word.
func (u *DoseUnit) UnmarshalText(b []byte) error { return doseUnits.Unmarshal((*uint8)(u), b) }

// String is the word in files: fats, batter or bar.
func (o Of) String() string { return scentBases.Word(uint8(o)) }

// MarshalText writes the word.
func (o Of) MarshalText() ([]byte, error) { return scentBases.Marshal(uint8(o)) }

// UnmarshalText reads the word.
func (o *Of) UnmarshalText(b []byte) error { return scentBases.Unmarshal((*uint8)(o), b) }

// String is the word that is stored: thin, medium, thick or dough. It is "" for
// any.
func (s Stage) String() string { return stages.Word(uint8(s)) }

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
func (s Stage) MarshalText() ([]byte, error) { return stages.Marshal(uint8(s)) }

// UnmarshalText reads the word.
func (s *Stage) UnmarshalText(b []byte) error { return stages.Unmarshal((*uint8)(s), b) }

// String is the word that is stored: share, volume, mass or rest.
func (p PortionBy) String() string { return portionBys.Word(uint8(p)) }

// MarshalText writes the word.
func (p PortionBy) MarshalText() ([]byte, error) { return portionBys.Marshal(uint8(p)) }

// UnmarshalText reads the word.
func (p *PortionBy) UnmarshalText(b []byte) error { return portionBys.Unmarshal((*uint8)(p), b) }
