// Package doubt says how sure a result is. It has two methods, which a test
// compares:
//
//   - First-order propagation (GUM, JCGM 100:2008, clause 5.1) is quick enough to
//     follow typing.
//   - Monte Carlo (GUM Supplement 1, JCGM 101:2008), with a seed, is kept for the
//     record.
//
// A measurement is entered as an ordinary function of its inputs. Neither
// method knows any formula of the trade.
//
// Inputs are taken to be independent of one another.
package doubt

import (
	"fmt"
	"math"

	"barwright/fault"
	"barwright/quantity"
)

// Dist is the shape of an input's distribution.
type Dist uint8

const (
	// Exact has no doubt. Width is not read.
	Exact Dist = iota
	// Rectangular lies anywhere in Value ± Width with equal chance. Its
	// standard deviation is Width/√3 (GUM 4.3.7).
	Rectangular
	// Triangular lies in Value ± Width and most likely in the middle. Its
	// standard deviation is Width/√6 (GUM 4.3.9).
	Triangular
	// Normal has the standard deviation Width.
	Normal
	// StudentT is the mean of a few readings. Width is its standard uncertainty
	// s/√n. DoF, which must be above 0, is n − 1 (GUM 4.2, JCGM 101 6.4.9).
	StudentT
)

var distNames = [...]string{
	Exact: "exact", Rectangular: "rectangular", Triangular: "triangular", Normal: "normal", StudentT: "Student's t",
}

// String is the name of the distribution, as in a table of a budget.
func (d Dist) String() string {
	if int(d) < len(distNames) {
		return distNames[d]
	}
	return fmt.Sprintf("Dist(%d)", uint8(d))
}

// Input is one quantity that a result depends on. The zero Input is an exact 0.
type Input struct {
	Name  string
	Dist  Dist
	Value float64 // best estimate, in the input's own unit
	Width float64 // half-width or standard deviation, as Dist says; same unit; at least 0
	// DoF is the degrees of freedom of Width, for the first-order method. 0
	// means that Width is taken as known, as with infinitely many.
	DoF float64
}

// SD is the standard uncertainty of the input, in its own unit.
func (in *Input) SD() float64 {
	switch in.Dist {
	case Rectangular:
		return in.Width / math.Sqrt(3)
	case Triangular:
		return in.Width / math.Sqrt(6)
	case Normal, StudentT:
		return in.Width
	default:
		return 0
	}
}

// Division is an input that was read off a display with steps of d: Value ±
// d/2, rectangular (GUM F.2.2.1). Its standard deviation is d/√12. An unknown
// or zero d gives an exact input.
func Division(name string, value float64, d quantity.Maybe) Input {
	if !d.Known || d.V == 0 {
		return Input{Name: name, Value: value}
	}
	return Input{Name: name, Dist: Rectangular, Value: value, Width: d.V / 2}
}

// Between is an input that lies anywhere in r. Both ends of r must be known.
func Between(name string, r quantity.Range) Input {
	in := Input{Name: name, Dist: Rectangular, Value: r.Mid(), Width: r.Half()}
	if in.Width == 0 {
		in.Dist = Exact
	}
	return in
}

// Check reports every input that neither method can use: a value or a width
// that is not finite, a width below 0, a distribution that is not listed above,
// degrees of freedom below 0, or none for StudentT. The faults are
// fault.Invalid on the field "input:N", with N counted from 0.
func Check(in []Input) error {
	var faults fault.List
	for i := range in {
		field := fmt.Sprintf("input:%d", i)
		p := &in[i]
		switch {
		case !quantity.Finite(p.Value):
			faults.Add(fault.Invalidf(field, "The value of %q is not a finite number; give one.", p.Name))
		case p.Dist > StudentT:
			faults.Add(fault.Invalidf(field, "The distribution of %q is none of exact, rectangular, triangular, normal, Student's t.", p.Name))
		case p.Dist != Exact && (!quantity.Finite(p.Width) || p.Width < 0):
			faults.Add(fault.Invalidf(field, "The width of %q is %g; it must be 0 or more, and finite.", p.Name, p.Width))
		case math.IsNaN(p.DoF) || p.DoF < 0:
			faults.Add(fault.Invalidf(field, "The degrees of freedom of %q are %g; give a number above 0, or 0 for infinitely many.", p.Name, p.DoF))
		case p.Dist == StudentT && p.DoF == 0:
			faults.Add(fault.Invalidf(field, "Student's t for %q needs its degrees of freedom: one less than the number of readings.", p.Name))
		}
	}
	return faults.Err()
}
