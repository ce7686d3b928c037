package forecast

import "barwright/quantity"

// Class is the kind of demand: how often it comes and how much it varies. Source:
// Syntetos, Boylan and Croston, On the categorization of demand patterns, 2005
// (limits from memory).
type Class uint8

const (
	// Smooth: nearly every week, in similar amounts.
	Smooth Class = iota
	// Erratic: nearly every week, in amounts that differ a lot.
	Erratic
	// Intermittent: not every week, in similar amounts.
	Intermittent
	// Lumpy: not every week, in amounts that differ a lot.
	Lumpy
)

var classes = [...]string{"smooth", "erratic", "intermittent", "lumpy"}

// String is the class as one word.
func (c Class) String() string { return classes[c] }

// MarshalText writes the class as String does.
func (c Class) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// Often reports whether demand comes nearly every week.
func (c Class) Often() bool { return c == Smooth || c == Erratic }

// The limits between the classes: the average interval (weeks per week with
// demand), and the squared coefficient of variation of the sizes.
const (
	maxADI = 1.32
	maxCV2 = 0.49
)

// Classify returns three things:
//
//   - adi, the average interval between weeks with demand: weeks / weeks with demand;
//   - cv2, the squared coefficient of variation of the demand in those weeks, with n − 1 in the variance;
//   - the class.
//
// Weeks in which the product ran out are left out of both. adi is unknown if
// nothing was sold, and then demand counts as rare. cv2 is unknown if fewer than
// two weeks had sales, and then demand counts as not varying.
func Classify(units []float64, out []bool) (adi, cv2 quantity.Maybe, c Class) {
	weeks, n, sum := 0, 0, 0.0
	for i, y := range units {
		if i < len(out) && out[i] {
			continue
		}
		weeks++
		if y > 0 {
			n++
			sum += y
		}
	}
	if n == 0 {
		return adi, cv2, Intermittent
	}
	adi = quantity.Some(float64(weeks) / float64(n))
	if n > 1 {
		mean, squares := sum/float64(n), 0.0
		for i, y := range units {
			if y > 0 && !(i < len(out) && out[i]) {
				squares += (y - mean) * (y - mean)
			}
		}
		cv2 = quantity.Some(squares / float64(n-1) / (mean * mean))
	}
	often, alike := adi.V < maxADI, cv2.Or(0) < maxCV2
	switch {
	case often && alike:
		return adi, cv2, Smooth
	case often:
		return adi, cv2, Erratic
	case alike:
		return adi, cv2, Intermittent
	}
	return adi, cv2, Lumpy
}
