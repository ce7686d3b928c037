// Package quantity holds the units of the trade and their faces. Inside the
// program mass is grams, volume millilitres, length millimetres, temperature
// degrees Celsius; everything else is a face put on at the edge with an exact
// factor.
//
// Factors: NIST SP 811 and NIST Handbook 44 (exact definitions).
package quantity

import (
	"encoding/json"
	"math"
)

// Exact factors, NIST SP 811 appendix B and Handbook 44 appendix C.
const (
	GramsPerPound             = 453.59237
	GramsPerOunce             = 28.349523125
	MillimetresPerInch        = 25.4
	MillilitresPerUSFlOz      = 29.5735295625
	MillilitresPerImpFlOz     = 28.4130625
	MillilitresPerUSTeaspoon  = 4.92892159375
	MillilitresPerCubicInch   = 16.387064
	MillilitresPerUSGallon    = 3785.411784
	MillilitresPerMetricSpoon = 5.0
)

// A Reading is a value and its standard uncertainty, both in the unit of T.
// The zero Reading is an exact zero.
type Reading[T ~float64] struct{ Value, SD T }

// Maybe is a number that may be unknown. The zero Maybe is unknown, which is
// not zero. Its JSON is the number or null.
type Maybe struct {
	V     float64
	Known bool
}

// Some is a known number.
func Some(v float64) Maybe { return Maybe{V: v, Known: true} }

// Or gives the number, or d when it is unknown.
func (m Maybe) Or(d float64) float64 {
	if m.Known {
		return m.V
	}
	return d
}

// IsZero reports that the number is unknown, for the JSON option omitzero.
func (m Maybe) IsZero() bool { return !m.Known }

// MarshalJSON writes the number, or null.
func (m Maybe) MarshalJSON() ([]byte, error) {
	if !m.Known {
		return []byte("null"), nil
	}
	return json.Marshal(m.V)
}

// UnmarshalJSON reads a number, or null as unknown.
func (m *Maybe) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*m = Maybe{}
		return nil
	}
	if err := json.Unmarshal(b, &m.V); err != nil {
		return err
	}
	m.Known = true
	return nil
}

// Range is a lower and an upper limit, in the unit its field names. Either may
// be unknown.
type Range struct {
	Min Maybe `json:"min"`
	Max Maybe `json:"max"`
}

// Both makes a range known at both ends.
func Both(lo, hi float64) Range { return Range{Min: Some(lo), Max: Some(hi)} }

// Known reports that both ends are known.
func (r Range) Known() bool { return r.Min.Known && r.Max.Known }

// Mid is the midpoint of a range known at both ends.
func (r Range) Mid() float64 { return (r.Min.V + r.Max.V) / 2 }

// Half is half the width of a range known at both ends.
func (r Range) Half() float64 { return (r.Max.V - r.Min.V) / 2 }

// Finite reports that v is neither NaN nor infinite.
func Finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
