package formula

import "testing"

func TestAssumedTeaspoonOfAPowderIsHalfAir(t *testing.T) {
	// A level teaspoon of table salt weighs 5 to 6 g, and one of water 4.9 g
	// (common practice, no source). Solid salt would weigh 10.7 g.
	for _, tt := range []struct {
		what            string
		density, lo, hi float64
	}{{"salt", 2.17, 5, 6.5}, {"water", 0.998, 4.9, 4.95}, {"honey", 1.42, 6.9, 7.1}} {
		if g := assumedTeaspoon(tt.density); g < tt.lo || g > tt.hi {
			t.Errorf("a teaspoon of %s is taken as %g g, want %g to %g", tt.what, g, tt.lo, tt.hi)
		}
	}
}
