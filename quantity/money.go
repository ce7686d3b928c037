package quantity

import (
	"cmp"
	"math/big"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/currency"

	"barwright/fault"
)

// A Currency is one of ISO 4217's. The zero Currency is none.
//
// Which codes there are and how many digits each has after the point comes from Unicode
// CLDR 32, supplemental data, as golang.org/x/text/currency carries it. CLDR gives the
// digits in use. For some currencies these are fewer than ISO 4217's, as 0 for IDR.
type Currency struct{ unit currency.Unit }

// ParseCurrency reads a code of ISO 4217 in either case, as EUR.
//
// Errors: fault.Invalid without a field.
func ParseCurrency(code string) (Currency, error) {
	u, err := currency.ParseISO(code)
	if err != nil || u == (currency.Unit{}) {
		return Currency{}, fault.Invalidf("", "%s is no currency that is known here: write the three letters of ISO 4217, such as EUR", quoted(code))
	}
	return Currency{u}, nil
}

// String is the code, and "" for no currency.
func (c Currency) String() string {
	if c == (Currency{}) {
		return ""
	}
	return c.unit.String()
}

// Digits is how many digits an amount has after the point: 2 for EUR, 0 for JPY, 3 for
// KWD. It is 0 for no currency.
func (c Currency) Digits() int {
	if c == (Currency{}) {
		return 0
	}
	digits, _ := currency.Standard.Rounding(c.unit)
	return digits
}

// MarshalText writes the code.
func (c Currency) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads what ParseCurrency reads, and "" as no currency.
func (c *Currency) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*c = Currency{}
		return nil
	}
	return readUnit(c, b, ParseCurrency)
}

// Money is an amount in whole minor units of its currency, so that sums are exact.
// The zero Money is nothing, in no currency, and can be added to any other.
//
// Its text, also in JSON, is as 1250.00 EUR, and "" for the zero Money.
type Money struct {
	Minor    int64 // cents for EUR, whole yen for JPY
	Currency Currency
}

// String shows the amount with its code: 1 250.00 EUR.
func (m Money) String() string {
	if m.Currency == (Currency{}) {
		return m.Number()
	}
	return m.Number() + UnitSpace + m.Currency.String()
}

// Number is String without the code, for a column whose head names it.
func (m Money) Number() string { return fixed(m.Minor, m.Currency.Digits()) }

// MarshalText writes the amount plainly: 1250.00 EUR, without marks between thousands.
func (m Money) MarshalText() ([]byte, error) {
	switch {
	case m == (Money{}):
		return nil, nil
	case m.Currency == (Currency{}):
		return nil, fault.Invalidf("", "%d has no currency: an amount of money needs one", m.Minor)
	}
	whole, frac := fixedDigits(m.Minor, m.Currency.Digits())
	if frac != "" {
		frac = "." + frac
	}
	if m.Minor < 0 {
		whole = "-" + whole
	}
	return []byte(whole + frac + " " + m.Currency.String()), nil
}

// UnmarshalText reads what ParseMoney reads with its code, and "" as the zero Money.
func (m *Money) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*m = Money{}
		return nil
	}
	return readUnit(m, b, func(s string) (Money, error) { return ParseMoney(s, Currency{}) })
}

// ParseMoney reads an amount as a maker types it: 12.50, 12,50, 1 250.00, 1.250,00,
// 1,250.00, -3, each with a code before or after it, as EUR 12.50, or without one. An
// amount without a code is in def.
//
// One mark before three digits could part thousands or decimals: 1.000 and 1,000 are
// refused, and the fault asks which was meant. Two cases are clear: a currency without
// minor units has only thousands, and one with three digits has them after a point.
//
// Errors: fault.Invalid without a field, also on more decimals than the currency has,
// on a sign such as €, and where neither the text nor def names a currency.
func ParseMoney(text string, def Currency) (Money, error) {
	s := strings.TrimSpace(strings.ToValidUTF8(text, "\uFFFD"))
	switch {
	case s == "":
		return Money{}, fault.Invalidf("", "nothing is typed here: write an amount, such as 12.50")
	case len(s) > maxTyped:
		return Money{}, fault.Invalidf("", "%s is too long for an amount: write at most 18 digits", quoted(s))
	case strings.IndexFunc(s, func(r rune) bool { return unicode.Is(unicode.Sc, r) }) >= 0:
		return Money{}, fault.Invalidf("", "%s has a sign for its currency, and several share one: write the code, as 12.50 EUR", quoted(s))
	}
	number := strings.TrimLeftFunc(s, unicode.IsLetter)
	code := strings.TrimSuffix(s, number)
	if code == "" {
		number = strings.TrimRightFunc(s, unicode.IsLetter)
		code = strings.TrimPrefix(s, number)
	}
	if code != "" {
		c, err := ParseCurrency(code)
		if err != nil {
			return Money{}, err
		}
		def = c
	}
	if def == (Currency{}) {
		return Money{}, fault.Invalidf("", "%s has no currency: write its code too, as %s EUR", quoted(s), strings.TrimSpace(number))
	}
	number, sign := strings.TrimSpace(number), ""
	switch r, n := utf8.DecodeRuneInString(number); r {
	case '-', '−':
		number, sign = strings.TrimSpace(number[n:]), "-"
	case '+':
		number = strings.TrimSpace(number[n:])
	}
	whole, frac, f := moneyDigits(number, def)
	if f != nil {
		return Money{}, f
	}
	frac += strings.Repeat("0", def.Digits()-len(frac))
	minor, err := strconv.ParseInt(sign+whole+frac, 10, 64)
	if err != nil {
		return Money{}, fault.Invalidf("", "%s is more than can be kept: check the number of digits", quoted(s))
	}
	return Money{minor, def}, nil
}

// moneyDigits parts an amount without sign and code into the digits before and after
// its decimal mark, at most as many as the currency has. It finds out which mark is
// the decimal one.
func moneyDigits(s string, c Currency) (whole, frac string, f *fault.Error) {
	ok := false
	head, tail, mark, other := s, "", ".", ","
	if last := strings.LastIndexAny(s, ".,"); last >= 0 {
		head, tail = s[:last], s[last+1:]
		if s[last] == ',' {
			mark, other = other, mark
		}
	}
	switch {
	case head == s:
		whole, ok = ungroup(s, unicode.IsSpace)
	case !digits(tail):
	case strings.Contains(head, mark): // 1.250.000: only thousands are parted more than once
		whole, ok = ungroup(s, func(r rune) bool { return string(r) == mark })
	case strings.Contains(head, other): // 1.250,00
		whole, ok = ungroup(head, func(r rune) bool { return string(r) == other })
		frac = tail
	case len(tail) == 3 && len(head) <= 3 && digits(head) && head[0] != '0' && (c.Digits() != 3 || mark == ","):
		if c.Digits() > 0 {
			return "", "", fault.Invalidf("", "%s could have a mark for thousands or for decimals: write %s%s, or %s.%s",
				quoted(s), head, tail, head, (tail + "000")[:c.Digits()])
		}
		whole, ok = head+tail, true
	case head == "": // .50
		whole, frac, ok = "0", tail, true
	default:
		whole, ok = ungroup(head, unicode.IsSpace)
		frac = tail
	}
	switch {
	case !ok:
		return "", "", fault.Invalidf("", "%s is not an amount of money: write digits, such as %s", quoted(s), Money{1250, c}.Number())
	case len(frac) > c.Digits():
		return "", "", fault.Invalidf("", "%s has too many decimals for %s: write it as %s", quoted(s), c, Money{1250, c}.Number())
	}
	return whole, frac, nil
}

// ungroup takes the marks between thousands out of a whole number. It is false unless s
// is digits, in groups of three where they are parted.
func ungroup(s string, parts func(rune) bool) (string, bool) {
	groups := strings.Split(strings.Map(func(r rune) rune {
		if parts(r) {
			return ' '
		}
		return r
	}, s), " ")
	for i, g := range groups {
		if !digits(g) || len(groups) > 1 && (len(g) > 3 || i > 0 && len(g) < 3) {
			return "", false
		}
	}
	return strings.Join(groups, ""), true
}

// Add is the sum of both.
//
// Errors: fault.Invalid without a field where the currencies differ, and where the sum
// is more than can be kept.
func (m Money) Add(n Money) (Money, error) { return m.plus(n, 1) }

// Sub is m less n. Errors: as of Add.
func (m Money) Sub(n Money) (Money, error) { return m.plus(n, -1) }

func (m Money) plus(n Money, sign int64) (Money, error) {
	c := m.Currency
	switch {
	case n == (Money{}):
		return m, nil
	case m == (Money{}):
		c = n.Currency
	case c != n.Currency:
		return Money{}, fault.Invalidf("", "%s and %s are in different currencies: change one of them first", m, n)
	}
	v := new(big.Int).Mul(big.NewInt(n.Minor), big.NewInt(sign))
	return kept(v.Add(v, big.NewInt(m.Minor)), c)
}

// kept is v minor units, if they can be kept.
func kept(v *big.Int, c Currency) (Money, error) {
	if !v.IsInt64() {
		return Money{}, fault.Invalidf("", "the amount comes to more than can be kept: look for one that was mistyped")
	}
	return Money{v.Int64(), c}, nil
}

// Times is num/den of the amount, rounded to whole minor units, a half to the even one.
//
// Errors: fault.Invalid without a field where den is 0, and where the product is more
// than can be kept.
func (m Money) Times(num, den int64) (Money, error) {
	if den == 0 {
		return Money{}, fault.Invalidf("", "an amount of money cannot be divided by 0: write a number above 0")
	}
	d := big.NewInt(den)
	p := new(big.Int).Mul(big.NewInt(m.Minor), big.NewInt(num))
	q, r := new(big.Int).QuoRem(p, d, new(big.Int))
	if half := r.Lsh(r, 1).CmpAbs(d); half > 0 || half == 0 && q.Bit(0) == 1 {
		q.Add(q, big.NewInt(int64(p.Sign()*d.Sign())))
	}
	return kept(q, m.Currency)
}

// maxShares is how many shares an amount can be split into.
const maxShares = 1_000_000

// Split parts the amount into n shares that differ by one minor unit at most and add up
// to it. The first shares are the larger ones.
//
// Errors: fault.Invalid without a field where n is not 1 to 1 000 000.
func (m Money) Split(n int) ([]Money, error) {
	if n < 1 || n > maxShares {
		return nil, fault.Invalidf("", "%d shares cannot be made: write 1 to 1 000 000", n)
	}
	return m.SplitBy(slices.Repeat([]int64{1}, n))
}

// SplitBy parts the amount in proportion to weights, to the last minor unit: each share
// is rounded down, and the units left over go to the shares that lost most by that, the
// first of them where several lost as much (the method of largest remainders). A share
// of weight 0 is 0. What is owed (an amount below 0) is parted as what is had.
//
// Errors: fault.Invalid without a field on a weight below 0, on weights that are all 0
// or missing, and on more than 1 000 000 of them.
func (m Money) SplitBy(weights []int64) ([]Money, error) {
	if len(weights) > maxShares {
		return nil, fault.Invalidf("", "%d shares cannot be made: write 1 to 1 000 000", len(weights))
	}
	all := new(big.Int)
	for i, w := range weights {
		if w < 0 {
			return nil, fault.Invalidf("", "weight %d is %d, and a share cannot be less than nothing: write 0 or more", i+1, w)
		}
		all.Add(all, big.NewInt(w))
	}
	if all.Sign() == 0 {
		return nil, fault.Invalidf("", "nothing has a weight: write one above 0")
	}
	amount := new(big.Int).Abs(big.NewInt(m.Minor))
	left := new(big.Int).Set(amount)
	shares, lost, order := make([]big.Int, len(weights)), make([]big.Int, len(weights)), make([]int, len(weights))
	for i, w := range weights {
		order[i] = i
		shares[i].Mul(amount, big.NewInt(w))
		shares[i].QuoRem(&shares[i], all, &lost[i])
		left.Sub(left, &shares[i])
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(lost[b].Cmp(&lost[a]), cmp.Compare(a, b)) })
	one := big.NewInt(1)
	for _, i := range order[:left.Int64()] {
		shares[i].Add(&shares[i], one)
	}
	out := make([]Money, len(weights))
	for i := range shares {
		if m.Minor < 0 {
			shares[i].Neg(&shares[i])
		}
		out[i] = Money{shares[i].Int64(), m.Currency}
	}
	return out, nil
}
