package doubt

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Term is what one input contributes to the doubt of the result.
type Term struct {
	Name        string
	Sensitivity float64 // change of the result per unit of the input
	SD          float64 // |Sensitivity| · the input's standard uncertainty, in the unit of the result; u_i(y) in the GUM
	Share       float64 // SD² as a share of the whole variance, 0 to 1; 0 for every term when nothing is in doubt
}

// Budget is a result with its first-order doubt.
type Budget struct {
	Value float64 // the model at the inputs' values
	SD    float64 // combined standard uncertainty, in the unit of Value
	// Terms has one term for each input, in the same order.
	Terms []Term
	// DoF is the effective degrees of freedom (Welch–Satterthwaite, GUM G.4.1).
	// It is +Inf when the doubt of every input is taken as known.
	DoF    float64
	spread Spread
}

// Room is the working space of a Budget. It is kept between calls, so that none
// of them allocates once it has grown. The zero Room is ready to use. Only one
// goroutine may use a Room at a time, and the next call overwrites the Terms of
// a Budget made in it.
type Room struct {
	terms []Term
	x     []float64
	c     []float64
}

// Propagate works out the model at the inputs' values and its doubt to first
// order (GUM 5.1.2). The sensitivities are central differences over ± one
// standard uncertainty of each input (GUM 5.1.3, note 2).
//
// The model is called once, and then twice for each input that is in doubt. It
// must not keep or write x, and it must be defined one standard uncertainty to
// either side. The inputs are not checked; Check says which ones would spoil
// the result.
func Propagate(model func(x []float64) float64, in []Input) Budget {
	var r Room
	return r.Propagate(model, in)
}

// PropagateWith does what Propagate does, but is given the result's value and
// its partial derivative c[i] with respect to each input i. It panics when c is
// not as long as in.
func PropagateWith(value float64, c []float64, in []Input) Budget {
	var r Room
	return r.PropagateWith(value, c, in)
}

// Propagate is the function of the same name, with r as its working space.
func (r *Room) Propagate(model func(x []float64) float64, in []Input) Budget {
	r.x = grown(r.x, len(in))
	r.c = grown(r.c, len(in))
	for i := range in {
		r.x[i] = in[i].Value
	}
	value := model(r.x)
	for i := range in {
		u := in[i].SD()
		r.c[i] = 0
		if u == 0 {
			continue
		}
		// The step is taken as it really is after rounding, so that the
		// sensitivity stays exact for an input far from 0 with a small doubt.
		hi, lo := in[i].Value+u, in[i].Value-u
		if hi == lo {
			continue
		}
		r.x[i] = hi
		above := model(r.x)
		r.x[i] = lo
		below := model(r.x)
		r.x[i] = in[i].Value
		r.c[i] = (above - below) / (hi - lo)
	}
	return r.PropagateWith(value, r.c, in)
}

// PropagateWith is the function of the same name, with r as its working space.
func (r *Room) PropagateWith(value float64, c []float64, in []Input) Budget {
	if len(c) != len(in) {
		panic("doubt: one sensitivity for each input is needed")
	}
	r.terms = grown(r.terms, len(in))
	terms := r.terms
	b := Budget{Value: value, Terms: terms, DoF: math.Inf(1)}
	variance, slack := 0.0, 0.0
	s := spreading{Spread: Spread{Value: value}}
	for i := range in {
		p := &in[i]
		u := math.Abs(c[i]) * p.SD()
		v := u * u
		variance += v
		if p.DoF > 0 {
			slack += v * v / p.DoF
		}
		s.gather(p.Dist, u)
		terms[i] = Term{Name: p.Name, Sensitivity: c[i], SD: u}
	}
	b.SD = math.Sqrt(variance)
	if variance > 0 {
		for i := range terms {
			terms[i].Share = terms[i].SD * terms[i].SD / variance
		}
		if slack > 0 {
			b.DoF = variance * variance / slack
		}
	}
	b.spread = s.settled()
	return b
}

// CoverageFactor is the k for which Value ± k·SD holds the share p of the
// values that the result may have. It is that of Student's t with DoF rounded
// down to a whole number (GUM G.4.1, note 1), or of the normal distribution
// when DoF is infinite. p lies in (0, 1). Outside that range the factor is 0 or
// +Inf.
func (b *Budget) CoverageFactor(p float64) float64 {
	nu := b.DoF
	if nu >= 1 {
		nu = math.Floor(nu)
	}
	return tQuantile(p, nu)
}

// Interval is Value ± CoverageFactor(p)·SD.
func (b *Budget) Interval(p float64) (lo, hi float64) {
	if b.SD == 0 {
		return b.Value, b.Value
	}
	d := b.CoverageFactor(p) * b.SD
	return b.Value - d, b.Value + d
}

// Spread is the distribution that the terms of b make together; see the type
// Spread.
func (b *Budget) Spread() Spread { return b.spread }

// Below is the chance that the result is below limit, according to Spread.
func (b *Budget) Below(limit float64) float64 { return b.spread.Below(limit) }

// NormalInterval is the central interval that holds the share p of a normal
// distribution with the standard deviation sd. p lies in [0, 1], and a p
// outside is moved to the nearer end. With p = 1 and sd above 0 the interval is
// ±Inf.
func NormalInterval(value, sd, p float64) (lo, hi float64) {
	if sd == 0 {
		return value, value
	}
	d := tQuantile(p, math.Inf(1)) * sd
	return value - d, value + d
}

// NormalBelow is the chance that a normal quantity is below limit. With sd 0 it
// is 0 or 1, and it is 0 when value equals limit.
func NormalBelow(value, sd, limit float64) float64 {
	if sd == 0 {
		if value < limit {
			return 1
		}
		return 0
	}
	return math.Erfc((value-limit)/(sd*math.Sqrt2)) / 2
}

// tQuantile is the k for which |t| ≤ k has the chance p, where t has nu degrees
// of freedom.
func tQuantile(p, nu float64) float64 {
	switch {
	case !(p > 0):
		return 0
	case p >= 1:
		return math.Inf(1)
	case nu > 1e7:
		// Student's t and the normal differ by less than 1e-7 here, and the
		// incomplete beta function loses digits.
		return math.Sqrt2 * math.Erfinv(p)
	}
	// P(|t| > k) = I_x(nu/2, 1/2), x = nu/(nu + k²); Abramowitz & Stegun 26.5.27.
	x := mathext.InvRegIncBeta(nu/2, 0.5, 1-p)
	return math.Sqrt(nu * (1 - x) / x)
}

func grown[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
