package forecast

import "barwright/quantity"

// Class is the sort of demand, by how often it comes and how much it varies.
// Source: Syntetos, Boylan and Croston, On the categorization of demand patterns,
// 2005 (limits from memory).
type Class uint8

const (
	// Smooth comes nearly every week, in like amounts.
	Smooth Class = iota
	// Erratic comes nearly every week, in amounts that differ much.
	Erratic
	// Intermittent leaves weeks out, and comes in like amounts.
	Intermittent
	// Lumpy leaves weeks out, and comes in amounts that differ much.
	Lumpy
)

var classes = [...]string{"smooth", "erratic", "intermittent", "lumpy"}

// String is the class in one word.
func (c Class) String() string { return classes[c] }

// MarshalText writes the class as String does.
func (c Class) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// Often says that demand comes nearly every week.
func (c Class) Often() bool { return c == Smooth || c == Erratic }

// Limits between the classes: weeks per week of demand, and squared coefficient of
// variation of the sizes.
const (
	maxADI = 1.32
	maxCV2 = 0.49
)

// Classify gives the average interval between weeks of demand (ADI: weeks over weeks
// with demand), the squared coefficient of variation of what was sold in those (CV²,
// with n − 1 in the variance), and the class.
//
// Weeks that ran out are left out of both. ADI is not known where nothing was sold,
// CV² not where fewer than two weeks sold: what is not known counts as rare, and as
// not varying.
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
