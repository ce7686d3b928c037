package doubt

import "math"

// widest is how many rectangular terms a Spread keeps as themselves. The sum
// in Below has 2^widest parts; beyond four the rest is so many, or so small,
// that it is normal to well under the chance of 1 in 1000 that matters here.
const widest = 4

// Spread is the distribution of a first-order result: the sum of its widest
// rectangular terms, each kept as a rectangle, and of all else as one normal
// term of the right variance. Where two SAP ranges make nearly all the doubt,
// as in most batters, its tails end where theirs do, and a plain normal's do
// not. The zero Spread is an exact 0.
//
// It is exact for up to four rectangular terms with normal ones, and an
// approximation beyond; a test holds it to Monte Carlo.
type Spread struct {
	Value float64
	half  [widest]float64 // half-widths, widest first
	n     int             // how many of half are in use
	rest  float64         // variance of the normal term; its SD once settled
}

// rectangular adds a rectangular term of half-width a > 0, and turns the
// narrowest over to the rest when there are too many.
func (s *Spread) rectangular(a float64) {
	i := s.n
	if i == widest {
		if a <= s.half[widest-1] {
			s.rest += a * a / 3
			return
		}
		i = widest - 1
		s.rest += s.half[i] * s.half[i] / 3
	} else {
		s.n++
	}
	for i > 0 && s.half[i-1] < a {
		s.half[i] = s.half[i-1]
		i--
	}
	s.half[i] = a
}

// settle turns rectangles over to the rest that are much narrower than it: they
// do not show, and dividing by their width would only cost digits.
func (s *Spread) settle() {
	for s.n > 0 {
		a := s.half[s.n-1]
		if a*a >= s.rest/16 {
			break
		}
		s.rest += a * a / 3
		s.n--
	}
	s.rest = math.Sqrt(s.rest)
	// And a rest too narrow to show beside the narrowest rectangle is dropped,
	// for the same reason the other way round.
	if s.n > 0 && s.rest < 1e-6*s.half[s.n-1] {
		s.rest = 0
	}
}

// Below is the chance that the quantity is below limit, 0 to 1.
func (s Spread) Below(limit float64) float64 {
	if s.n == 0 {
		return NormalBelow(s.Value, s.rest, limit)
	}
	// Work in the lower tail: there the parts are small, and so are their
	// rounding errors.
	d := limit - s.Value
	if d > 0 {
		return 1 - s.tail(-d)
	}
	return s.tail(d)
}

// tail is the chance that the sum of the terms is below d ≤ 0.
//
// A rectangle of half-width a is an integral over the difference of two steps,
// so n of them with a normal term are the n-fold integral of its distribution
// function, taken at the 2^n corners with alternating signs and divided by the
// volume of the box.
func (s Spread) tail(d float64) float64 {
	reach := 0.0
	box := 1.0
	for _, a := range s.half[:s.n] {
		reach += a
		box *= 2 * a
	}
	if d+reach <= 0 && (s.rest == 0 || d+reach < -39*s.rest) {
		return 0
	}
	sum := 0.0
	for corner := range 1 << s.n {
		at, sign := d, 1.0
		for i, a := range s.half[:s.n] {
			if corner>>i&1 == 0 {
				at += a
			} else {
				at -= a
				sign = -sign
			}
		}
		sum += sign * s.integral(at)
	}
	return min(max(sum/box, 0), 1)
}

// integral is the n-fold integral from −∞ to at of the normal term's
// distribution function.
func (s Spread) integral(at float64) float64 {
	if s.rest == 0 {
		if at <= 0 {
			return 0
		}
		v := 1.0
		for k := 1; k <= s.n; k++ {
			v *= at / float64(k)
		}
		return v
	}
	z := at / s.rest
	if z < -39 {
		return 0
	}
	// I_k = (z·I_{k−1} + I_{k−2})/k, from the density and the distribution
	// function of the normal.
	before := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
	now := math.Erfc(-z/math.Sqrt2) / 2
	scale := 1.0
	for k := 1; k <= s.n; k++ {
		before, now = now, (z*now+before)/float64(k)
		scale *= s.rest
	}
	return now * scale
}

// SD is the standard deviation.
func (s Spread) SD() float64 {
	v := s.rest * s.rest
	for _, a := range s.half[:s.n] {
		v += a * a / 3
	}
	return math.Sqrt(v)
}

// Quantile is the value below which the share p lies, p in (0, 1), by bisection
// to 1e-9 standard deviations. A p at or outside the ends gives the end of
// what is possible, which is ±Inf when a normal term is in it.
func (s Spread) Quantile(p float64) float64 {
	sd := s.SD()
	if sd == 0 {
		return s.Value
	}
	end := 0.0
	for _, a := range s.half[:s.n] {
		end += a
	}
	if s.rest > 0 {
		end = math.Inf(1)
	}
	switch {
	case !(p > 0):
		return s.Value - end
	case p >= 1:
		return s.Value + end
	case s.n == 0:
		return s.Value + sd*math.Sqrt2*math.Erfinv(2*p-1)
	}
	q := min(p, 1-p)
	lo, hi := -min(end, 40*sd), 0.0
	for hi-lo > 1e-9*sd {
		mid := (lo + hi) / 2
		if s.tail(mid) < q {
			lo = mid
		} else {
			hi = mid
		}
	}
	d := (lo + hi) / 2
	if p > 0.5 {
		d = -d
	}
	return s.Value + d
}

// Interval is the central interval that holds the share p.
func (s Spread) Interval(p float64) (lo, hi float64) {
	return s.Quantile((1 - p) / 2), s.Quantile((1 + p) / 2)
}
