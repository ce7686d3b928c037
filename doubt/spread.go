package doubt

import "math"

// widest is how many rectangular terms a Spread keeps as rectangles. The sum in
// Below has 2^widest parts. Beyond four, the other terms are so many or so
// small that a normal distribution with their fourth moment is within 0.0003 of
// them.
const widest = 4

// Spread is the distribution of a first-order result. It keeps the widest
// rectangular terms as rectangles, and replaces all others by one nearly normal
// term with their variance and fourth moment (Edgeworth's correction). A
// triangle counts as the two rectangles whose sum it is.
//
// In most batters two SAP ranges make nearly all the doubt. The tails of the
// Spread then end where those ranges end, while the tails of a plain normal
// distribution do not. The zero Spread is an exact 0.
//
// It is exact to rounding for up to four rectangular terms, alone or with
// normal ones, when none of them is narrower than 1/256 of the widest.
// Otherwise it is within 0.0003 of the chance.
type Spread struct {
	Value  float64
	half   [widest]float64 // half-widths, widest first
	n      int             // how many of half are in use
	sd     float64         // standard deviation of the other terms
	excess float64         // fourth cumulant of the other terms, over 24
}

// spreading collects the terms of a Spread.
type spreading struct {
	Spread
	variance float64 // of the other terms
}

// gather adds a term with the given standard deviation and distribution.
func (s *spreading) gather(d Dist, sd float64) {
	switch {
	case sd == 0:
	case d == Rectangular:
		s.rectangle(sd * math.Sqrt(3))
	case d == Triangular:
		s.rectangle(sd * math.Sqrt(1.5))
		s.rectangle(sd * math.Sqrt(1.5))
	default:
		s.variance += sd * sd
	}
}

// rectangle adds a rectangle of half-width a > 0. When there are too many, the
// narrowest one moves to the other terms.
func (s *spreading) rectangle(a float64) {
	i := s.n
	if i == widest {
		i--
		if a <= s.half[i] {
			s.toRest(a)
			return
		}
		s.toRest(s.half[i])
	} else {
		s.n++
	}
	for i > 0 && s.half[i-1] < a {
		s.half[i] = s.half[i-1]
		i--
	}
	s.half[i] = a
}

func (s *spreading) toRest(a float64) {
	s.variance += a * a / 3
	s.excess -= a * a * a * a * (2.0 / 15 / 24)
}

// settled returns the Spread of what was gathered. Rectangles that are much
// narrower than the other terms, or than the widest, move to the other terms:
// they do not show, and dividing by their width would only cost digits. For the
// same reason the other terms are dropped when they are too narrow to show
// beside the narrowest rectangle.
func (s *spreading) settled() Spread {
	for s.n > 0 {
		a := s.half[s.n-1]
		if a*a >= s.variance/16 && a >= s.half[0]/256 {
			break
		}
		s.n--
		s.toRest(a)
	}
	s.sd = math.Sqrt(s.variance)
	if s.n > 0 && s.sd < 1e-6*s.half[s.n-1] {
		s.sd, s.excess = 0, 0
	}
	return s.Spread
}

// Below is the chance that the quantity is below limit, 0 to 1.
func (s Spread) Below(limit float64) float64 {
	if s.SD() == 0 {
		return NormalBelow(s.Value, 0, limit)
	}
	// Work in the lower tail, where the parts are small and so are their
	// rounding errors.
	d := limit - s.Value
	if d > 0 {
		chance, _ := s.tail(-d)
		return 1 - chance
	}
	chance, _ := s.tail(d)
	return chance
}

// tail is the chance that the terms add up to less than d ≤ 0, and the density
// there.
//
// A rectangle of half-width a is an integral over the difference of two steps.
// So n rectangles and the other terms give the n-fold integral of the
// distribution function of the other terms, summed over the 2^n corners with
// alternating signs:
//
//	chance = Σ ± integral(d ± a_1 ± … ± a_n) / (2a_1 · … · 2a_n)
func (s *Spread) tail(d float64) (chance, density float64) {
	reach, box := 0.0, 1.0
	for _, a := range s.half[:s.n] {
		reach += a
		box *= 2 * a
	}
	if d+reach <= -39*s.sd {
		return 0, 0
	}
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
		c, p := s.integral(at)
		chance += sign * c
		density += sign * p
	}
	return min(max(chance/box, 0), 1), max(density/box, 0)
}

// integral is the n-fold integral, from −∞ to at, of the distribution function
// of the other terms, and of their density.
func (s *Spread) integral(at float64) (chance, density float64) {
	if s.sd == 0 {
		if at <= 0 {
			return 0, 0
		}
		density, chance = 0, 1
		for k := 1; k <= s.n; k++ {
			density, chance = chance, chance*at/float64(k)
		}
		return chance, density
	}
	z := at / s.sd
	if z < -39 {
		return 0, 0
	}
	// For k ≥ 0, steps[5+k] is the k-fold integral I_k of the normal
	// distribution function Φ in units of sd. For k below 0 it is the
	// derivative of that order. I_k = (z·I_{k−1} + I_{k−2})/k.
	var steps [5 + widest + 1]float64
	phi := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
	steps[0] = ((z*z-6)*z*z + 3) * phi
	steps[1] = (3 - z*z) * z * phi
	steps[2] = (z*z - 1) * phi
	steps[3] = -z * phi
	steps[4] = phi
	steps[5] = math.Erfc(-z/math.Sqrt2) / 2
	scale := 1.0
	for k := 1; k <= s.n; k++ {
		steps[5+k] = (z*steps[4+k] + steps[3+k]) / float64(k)
		scale *= s.sd
	}
	// Edgeworth: the fourth cumulant over 24 times the fourth derivative.
	c := s.excess / (s.sd * s.sd * s.sd * s.sd)
	chance = scale * (steps[5+s.n] + c*steps[1+s.n])
	density = scale / s.sd * (steps[4+s.n] + c*steps[s.n])
	return chance, density
}

// SD is the standard deviation.
func (s Spread) SD() float64 {
	v := s.sd * s.sd
	for _, a := range s.half[:s.n] {
		v += a * a / 3
	}
	return math.Sqrt(v)
}

// Quantile is the value below which the share p lies, to 1e-7 standard
// deviations. A p outside (0, 1) gives the end of the possible values, which is
// ±Inf when there is a normal term.
func (s Spread) Quantile(p float64) float64 {
	sd := s.SD()
	if sd == 0 {
		return s.Value
	}
	end := 0.0
	for _, a := range s.half[:s.n] {
		end += a
	}
	if s.sd > 0 {
		end = math.Inf(1)
	}
	switch {
	case !(p > 0):
		return s.Value - end
	case p >= 1:
		return s.Value + end
	}
	d := s.below(min(p, 1-p), sd, end)
	if p > 0.5 {
		d = -d
	}
	return s.Value + d
}

// below is the d ≤ 0 with the chance q ≤ ½ below it. It uses Newton's rule on
// the logarithm of the chance, which is concave, and stays between two ends
// that close in.
func (s *Spread) below(q, sd, end float64) float64 {
	lo, hi := -min(end, 40*sd), 0.0
	d := max(-sd*math.Sqrt2*math.Erfinv(1-2*q), lo)
	for range 100 {
		chance, density := s.tail(d)
		if chance < q {
			lo = d
		} else {
			hi = d
		}
		next := (lo + hi) / 2
		if chance > 0 && density > 0 {
			next = d - chance/density*math.Log(chance/q)
			if !(next > lo && next < hi) {
				next = (lo + hi) / 2
			}
		}
		step := math.Abs(next - d)
		d = next
		if step < 1e-7*sd || hi-lo < 1e-7*sd {
			break
		}
	}
	return d
}

// Interval is the central interval that holds the share p.
func (s Spread) Interval(p float64) (lo, hi float64) {
	// The distribution is symmetric, so one quantile gives both ends.
	lo = s.Quantile((1 - p) / 2)
	return lo, 2*s.Value - lo
}
