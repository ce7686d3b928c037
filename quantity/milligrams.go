package quantity

import (
	"math"
	"math/big"
	"strconv"
	"strings"

	"barwright/fault"
)

// Milligrams is a mass as a ledger holds it: a whole number, so that sums are exact.
// Its JSON is that number, also as a key.
type Milligrams int64

// MilligramsOf rounds a mass in g to whole milligrams, a half away from zero. Like
// Number it rounds the 15 figures that a person would read: 0.0005 g is 1 mg.
//
// Errors: fault.Invalid without a field on a mass that is not finite or is beyond
// 10⁹ g either way.
func MilligramsOf(g float64) (Milligrams, error) {
	if !(math.Abs(g) <= maxMassG) {
		return 0, fault.Invalidf("", "%v g cannot be kept as a mass: write at most 1 000 000 000 g", g)
	}
	whole, frac, negative := rounded(g, 3)
	n, err := strconv.ParseInt(whole+frac, 10, 64)
	if err != nil {
		return 0, &fault.Error{Message: "a mass could not be rounded to milligrams", Err: err}
	}
	if negative {
		n = -n
	}
	return Milligrams(n), nil
}

// Grams is the mass in g. MilligramsOf gives the same milligrams back, up to 10⁹ g.
func (m Milligrams) Grams() float64 { return float64(m) / 1000 }

// String shows the mass exactly: 1 234.500 g.
func (m Milligrams) String() string { return fixed(int64(m), 3) + UnitSpace + Gram.String() }

// Show shows the mass in unit, to what a scale whose division is in g can tell, as Mass does.
func (m Milligrams) Show(unit MassUnit, divisionG float64) string {
	return Mass(m.Grams(), unit, divisionG)
}

// SumOf adds masses up. The order does not matter: only a sum that is too large is
// refused, whatever the sums on the way to it.
//
// Errors: fault.Invalid without a field.
func SumOf(masses ...Milligrams) (Milligrams, error) {
	sum := new(big.Int)
	for _, m := range masses {
		sum.Add(sum, big.NewInt(int64(m)))
	}
	if !sum.IsInt64() {
		return 0, fault.Invalidf("", "the masses add up to more than can be kept: look for one that was mistyped")
	}
	return Milligrams(sum.Int64()), nil
}

// fixed writes n with its last digits after the point, in the face of Number.
func fixed(n int64, decimals int) string {
	whole, frac := fixedDigits(n, decimals)
	return face(whole, frac, n < 0)
}

// fixedDigits are the digits of n without its sign, parted before the last ones.
func fixedDigits(n int64, decimals int) (whole, frac string) {
	magnitude := uint64(n)
	if n < 0 {
		magnitude = -magnitude
	}
	s := strconv.FormatUint(magnitude, 10)
	if short := decimals + 1 - len(s); short > 0 {
		s = strings.Repeat("0", short) + s
	}
	return s[:len(s)-decimals], s[len(s)-decimals:]
}
