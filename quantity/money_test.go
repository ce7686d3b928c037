package quantity

import (
	"encoding/json"
	"math"
	"math/big"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func in(code string) Currency {
	if code == "" {
		return Currency{}
	}
	c, err := ParseCurrency(code)
	if err != nil {
		panic(err)
	}
	return c
}

// What is kept in minor units would mean another amount if the digits of a currency
// changed with a newer table. These are all that have other than two digits.
func TestTheDigitsOfCurrenciesStayWhatTheyAre(t *testing.T) {
	want := map[int]string{
		0: "ADP AFN ALL AMD BIF BYR CLP COP DJF ESP GNF GYD IDR IQD IRR ISK ITL JPY KMF KPW KRW LAK LBP LUF MGA MGF MMK MNT MRO MUR PKR " +
			"PYG RSD RWF SLL SOS STD SYP TMM TRL TZS UGX UYI UZS VND VUV XAF XOF XPF YER ZMK ZWD",
		3: "BHD JOD KWD LYD OMR TND",
		4: "CLF",
	}
	got, two := map[int][]string{}, 0
	letters := strings.Split("ABCDEFGHIJKLMNOPQRSTUVWXYZ", "")
	for _, a := range letters {
		for _, b := range letters {
			for _, c := range letters {
				cur, err := ParseCurrency(a + b + c)
				switch n := cur.Digits(); {
				case err != nil:
				case n == 2:
					two++
				default:
					got[n] = append(got[n], cur.String())
				}
			}
		}
	}
	if two < 150 || len(got) != len(want) {
		t.Errorf("%d currencies have two digits, and there are %d other numbers of digits", two, len(got))
	}
	for n, codes := range want {
		if s := strings.Join(got[n], " "); s != codes {
			t.Errorf("%d digits: %s", n, s)
		}
	}
	for _, code := range []string{"EUR", "GBP", "USD", "CHF", "SEK", "NOK", "DKK", "PLN", "CZK", "CAD", "AUD", "NZD"} {
		if d := in(code).Digits(); d != 2 {
			t.Errorf("%s has %d digits", code, d)
		}
	}
	if (Currency{}).Digits() != 0 || (Currency{}).String() != "" || in("eur") != in("EUR") {
		t.Error("no currency, or one in lower case, is not what it should be")
	}
	for _, code := range []string{"", "XXX", "EU", "EURO", "E R", "€", "\xff", "ZZZ"} {
		if c, err := ParseCurrency(code); err == nil || c != (Currency{}) {
			t.Errorf("%q is the currency %s", code, c)
		}
	}
}

func TestAmountsAreRead(t *testing.T) {
	for _, c := range []struct {
		text, def string
		minor     int64
		code      string
	}{
		{"12.50", "EUR", 1250, "EUR"}, {"12,50", "EUR", 1250, "EUR"}, {"12,5", "EUR", 1250, "EUR"}, {"12", "EUR", 1200, "EUR"}, {" 12 ", "EUR", 1200, "EUR"},
		{"1 250.00", "EUR", 125000, "EUR"}, {"1\u202f250,00", "EUR", 125000, "EUR"}, {"1 250", "EUR", 125000, "EUR"},
		{"1.250,00", "EUR", 125000, "EUR"}, {"1,250.00", "EUR", 125000, "EUR"}, {"1,250.5", "EUR", 125050, "EUR"}, {"1.250.000", "EUR", 125000000, "EUR"},
		{"1,250,000.99", "EUR", 125000099, "EUR"}, {".50", "EUR", 50, "EUR"}, {"0.05", "EUR", 5, "EUR"}, {"007", "EUR", 700, "EUR"},
		{"-3", "EUR", -300, "EUR"}, {"−3,20", "EUR", -320, "EUR"}, {"+3", "EUR", 300, "EUR"}, {"- 3", "EUR", -300, "EUR"}, {"-0", "EUR", 0, "EUR"},
		{"12.50 EUR", "", 1250, "EUR"}, {"EUR 12.50", "", 1250, "EUR"}, {"12.50eur", "GBP", 1250, "EUR"}, {"USD-12.50", "", -1250, "USD"},
		{"1,000", "JPY", 1000, "JPY"}, {"1.000", "JPY", 1000, "JPY"}, {"12", "JPY", 12, "JPY"}, {"JPY 1,234,567", "", 1234567, "JPY"},
		{"1.000", "KWD", 1000, "KWD"}, {"1", "KWD", 1000, "KWD"}, {"1.5", "KWD", 1500, "KWD"}, {"1,000.000", "KWD", 1000000, "KWD"},
		{"1.2345", "CLF", 12345, "CLF"},
		{"92233720368547758.07", "EUR", math.MaxInt64, "EUR"}, {"-92233720368547758.08", "EUR", math.MinInt64, "EUR"},
	} {
		got, err := ParseMoney(c.text, in(c.def))
		if want := (Money{c.minor, in(c.code)}); err != nil || got != want {
			t.Errorf("%q in %q is %v, %v; want %v", c.text, c.def, got, err, want)
		}
	}
}

func TestWhatIsNoAmountGetsASentence(t *testing.T) {
	for _, c := range []struct{ text, def, want string }{
		{"", "EUR", "nothing is typed here"},
		{"1.000", "EUR", `"1.000" could have a mark for thousands or for decimals: write 1000, or 1.00`},
		{"1,000", "EUR", `"1,000" could have a mark for thousands or for decimals: write 1000, or 1.00`},
		{"12.345 EUR", "", `"12.345" could have a mark for thousands or for decimals: write 12345, or 12.34`},
		{"1,000", "KWD", "write 1000, or 1.000"},
		{"1.234", "CLF", "write 1234, or 1.2340"},
		{"0.125", "EUR", `"0.125" has too many decimals for EUR: write it as 12.50`},
		{"1250.000", "EUR", "too many decimals for EUR"},
		{"1,250.000", "EUR", "too many decimals for EUR"},
		{"1.5", "JPY", `"1.5" has too many decimals for JPY: write it as 1` + "\u202f250"},
		{"12.50", "", `"12.50" has no currency: write its code too, as 12.50 EUR`},
		{"€12.50", "EUR", "several share one: write the code, as 12.50 EUR"},
		{"$5", "", "several share one"},
		{"12.50 XQZ", "EUR", `"XQZ" is no currency`},
		{"E 12 UR", "GBP", `"E" is no currency`},
		{"EUR 12 USD", "", "is not an amount of money"},
		{"EUR", "", "is not an amount of money: write digits, such as 12.50"},
		{"twelve", "EUR", "is no currency"},
		{"12.", "EUR", "is not an amount of money"},
		{".", "EUR", "is not an amount of money"},
		{"-", "EUR", "is not an amount of money"},
		{"--3", "EUR", "is not an amount of money"},
		{"1 25.00", "EUR", "is not an amount of money"},
		{"1  250", "EUR", "is not an amount of money"},
		{"1.25.000", "EUR", "is not an amount of money"},
		{"1.250.00", "EUR", "is not an amount of money"},
		{"1,250.000,00", "EUR", "is not an amount of money"},
		{"1e3", "EUR", "is not an amount of money"},
		{"NaN", "EUR", "is no currency"},
		{"٣", "EUR", "is not an amount of money"},
		{"\xff", "EUR", "is not an amount of money"},
		{"92233720368547758.08", "EUR", "is more than can be kept"},
		{strings.Repeat("9", 65), "EUR", "too long"},
	} {
		got, err := ParseMoney(c.text, in(c.def))
		if err == nil || got != (Money{}) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q in %q is %v, %v; want %q", c.text, c.def, got, err, c.want)
			continue
		}
		faultWithoutField(t, c.text, err)
	}
}

func TestAmountsAreShown(t *testing.T) {
	for _, c := range []struct {
		m          Money
		want, text string
	}{
		{Money{}, "0", ""},
		{Money{0, in("EUR")}, "0.00_EUR", "0.00 EUR"},
		{Money{125000, in("EUR")}, "1'250.00_EUR", "1250.00 EUR"},
		{Money{-5, in("EUR")}, "-0.05_EUR", "-0.05 EUR"},
		{Money{1234567, in("JPY")}, "1'234'567_JPY", "1234567 JPY"},
		{Money{1000, in("KWD")}, "1.000_KWD", "1.000 KWD"},
		{Money{math.MinInt64, in("EUR")}, "-92'233'720'368'547'758.08_EUR", "-92233720368547758.08 EUR"},
	} {
		text, err := c.m.MarshalText()
		if got := spaced.Replace(c.m.String()); got != c.want || err != nil || string(text) != c.text {
			t.Errorf("got %q and %q, %v; want %q and %q", got, text, err, c.want, c.text)
		}
	}
	type record struct {
		Price Money    `json:"price"`
		Paid  Money    `json:"paid,omitzero"`
		In    Currency `json:"in"`
	}
	b, err := json.Marshal(record{Price: Money{1250, in("GBP")}, In: in("USD")})
	if want := `{"price":"12.50 GBP","in":"USD"}`; err != nil || string(b) != want {
		t.Errorf("%s, %v", b, err)
	}
	var out record
	if err := json.Unmarshal(b, &out); err != nil || out != (record{Price: Money{1250, in("GBP")}, In: in("USD")}) {
		t.Errorf("%+v, %v", out, err)
	}
	if err := json.Unmarshal([]byte(`{"price":"","in":""}`), &out); err != nil || out != (record{}) {
		t.Errorf("%+v, %v", out, err)
	}
	if _, err := json.Marshal(Money{Minor: 5}); err == nil {
		t.Error("an amount in no currency is written")
	}
}

func TestAmountsAreAddedAndMultiplied(t *testing.T) {
	eur := func(minor int64) Money { return Money{minor, in("EUR")} }
	ratio := func(m Money, num, den int64) func() (Money, error) {
		return func() (Money, error) { return m.Times(num, den) }
	}
	add := func(a, b Money) func() (Money, error) { return func() (Money, error) { return a.Add(b) } }
	sub := func(a, b Money) func() (Money, error) { return func() (Money, error) { return a.Sub(b) } }
	for _, c := range []struct {
		name string
		do   func() (Money, error)
		want Money
		bad  string
	}{
		{"a sum", add(eur(1250), eur(-50)), eur(1200), ""},
		{"nothing added", add(eur(1250), Money{}), eur(1250), ""},
		{"added to nothing", add(Money{}, eur(1250)), eur(1250), ""},
		{"taken from nothing", sub(Money{}, eur(1250)), eur(-1250), ""},
		{"the least taken away", sub(eur(-1), eur(math.MinInt64)), eur(math.MaxInt64), ""},
		{"two currencies", add(eur(1), Money{1, in("USD")}), Money{}, "different currencies"},
		{"none of two currencies", add(eur(0), Money{0, in("USD")}), Money{}, "different currencies"},
		{"no currency", add(eur(1), Money{Minor: 1}), Money{}, "different currencies"},
		{"too much", add(eur(math.MaxInt64), eur(1)), Money{}, "more than can be kept"},
		{"too little", sub(eur(math.MinInt64), eur(1)), Money{}, "more than can be kept"},
		{"the least taken from nothing", sub(Money{}, eur(math.MinInt64)), Money{}, "more than can be kept"},
		{"a half to the even cent", ratio(eur(125), 1, 10), eur(12), ""},
		{"a half to the even cent above", ratio(eur(135), 1, 10), eur(14), ""},
		{"a half below 0", ratio(eur(-125), 1, 10), eur(-12), ""},
		{"a half below 0, to the even cent below", ratio(eur(135), -1, 10), eur(-14), ""},
		{"both signs", ratio(eur(135), -1, -10), eur(14), ""},
		{"a third", ratio(eur(200), 1, 3), eur(67), ""},
		{"a half of one", ratio(eur(1), 1, 2), eur(0), ""},
		{"beyond 64 bits on the way", ratio(eur(math.MaxInt64), math.MaxInt64, math.MaxInt64), eur(math.MaxInt64), ""},
		{"the least divided by itself", ratio(eur(math.MinInt64), 1, math.MinInt64), eur(1), ""},
		{"the least, its sign turned", ratio(eur(math.MinInt64), -1, 1), Money{}, "more than can be kept"},
		{"by nothing", ratio(eur(1), 1, 0), Money{}, "divided by 0"},
	} {
		got, err := c.do()
		if got != c.want || (err == nil) != (c.bad == "") || err != nil && !strings.Contains(err.Error(), c.bad) {
			t.Errorf("%s: %v, %v; want %v", c.name, got, err, c.want)
		}
	}
}

func minors(ms []Money) []int64 {
	var out []int64
	for _, m := range ms {
		out = append(out, m.Minor)
	}
	return out
}

func TestAmountsAreSplit(t *testing.T) {
	for _, c := range []struct {
		minor   int64
		weights []int64
		want    []int64
	}{
		{100, []int64{1, 1, 1}, []int64{34, 33, 33}},
		{-100, []int64{1, 1, 1}, []int64{-34, -33, -33}},
		{1, []int64{1, 1}, []int64{1, 0}},
		{100, []int64{1, 0, 2}, []int64{33, 0, 67}},
		{10, []int64{3, 3, 3, 1}, []int64{3, 3, 3, 1}},
		{1000, []int64{12, 5, 1}, []int64{667, 278, 55}}, // 666.67, 277.78, 55.56: the first two lost most
		{0, []int64{5, 1}, []int64{0, 0}},
		{math.MinInt64, []int64{1}, []int64{math.MinInt64}},
		{math.MaxInt64, []int64{math.MaxInt64, math.MaxInt64}, []int64{math.MaxInt64/2 + 1, math.MaxInt64 / 2}},
	} {
		got, err := Money{c.minor, in("EUR")}.SplitBy(c.weights)
		if err != nil || !slices.Equal(minors(got), c.want) {
			t.Errorf("%d by %v: %v, %v; want %v", c.minor, c.weights, minors(got), err, c.want)
		}
	}
	if got, err := (Money{11, in("EUR")}).Split(3); err != nil || !slices.Equal(minors(got), []int64{4, 4, 3}) {
		t.Errorf("%v, %v", got, err)
	}
	for _, weights := range [][]int64{nil, {0, 0}, {1, -1}, make([]int64, maxShares+1)} {
		if got, err := (Money{11, in("EUR")}).SplitBy(weights); err == nil || got != nil {
			t.Errorf("%d weights: %d shares", len(weights), len(got))
		}
	}
	for _, n := range []int{0, -1, maxShares + 1} {
		if got, err := (Money{11, in("EUR")}).Split(n); err == nil || got != nil {
			t.Errorf("%d shares: %d", n, len(got))
		}
	}
}

func anyMoney(t *rapid.T, label string) Money {
	return Money{rapid.Int64().Draw(t, label), in(rapid.SampledFrom([]string{"EUR", "JPY", "KWD", "CLF"}).Draw(t, label+" currency"))}
}

func TestNoMinorUnitIsLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMoney(t, "m")
		weights := rapid.SliceOfN(rapid.Int64Range(0, math.MaxInt64), 1, 20).Draw(t, "weights")
		weights[0] = max(weights[0], 1)
		shares, err := m.SplitBy(weights)
		if err != nil || len(shares) != len(weights) {
			t.Fatalf("%v, %v", shares, err)
		}
		all := new(big.Int)
		for _, w := range weights {
			all.Add(all, big.NewInt(w))
		}
		sum := Money{}
		for i, s := range shares {
			if sum, err = sum.Add(s); err != nil {
				t.Fatal(err)
			}
			// Less than one unit from its due: |share·all − amount·weight| < all.
			off := new(big.Int).Mul(big.NewInt(s.Minor), all)
			off.Sub(off, new(big.Int).Mul(big.NewInt(m.Minor), big.NewInt(weights[i])))
			if off.CmpAbs(all) >= 0 {
				t.Fatalf("share %d of %v by %v is %v", i, m, weights, s)
			}
		}
		if sum != m {
			t.Fatalf("%v split and added up is %v", m, sum)
		}
		n := Money{rapid.Int64().Draw(t, "n"), m.Currency}
		if sum, err := m.Add(n); err == nil {
			if back, err := sum.Sub(n); err != nil || back != m {
				t.Fatalf("%v and %v less %v is %v, %v", m, n, n, back, err)
			}
		}
		if same, err := m.Times(7, 7); err != nil || same != m {
			t.Fatalf("7/7 of %v is %v, %v", m, same, err)
		}
	})
}

func TestAmountsShownAreReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMoney(t, "m")
		if got, err := ParseMoney(m.String(), Currency{}); err != nil || got != m {
			t.Fatalf("%v is read back as %v, %v", m, got, err)
		}
		text, err := m.MarshalText()
		var got Money
		if err != nil || got.UnmarshalText(text) != nil || got != m {
			t.Fatalf("%s is read back as %v", text, got)
		}
	})
}

func FuzzParseMoney(f *testing.F) {
	for _, s := range []string{
		"12.50", "12,50", "1 250.00", "1.250,00 EUR", "EUR 1,250.00", "1.000", "1,000", "JPY 1,000", "1.000 KWD", "1.2345 CLF", "−3,20", "€5", "",
		"E 12 UR", "-92233720368547758.08", "\xff", "1 250\u00a0USD", ".5", "12.", "XXX 5",
	} {
		f.Add(s, "EUR")
		f.Add(s, "")
	}
	f.Fuzz(func(t *testing.T, text, def string) {
		c, err := ParseCurrency(def)
		if err != nil && c != (Currency{}) {
			t.Fatalf("%q: %s with %v", def, c, err)
		}
		m, err := ParseMoney(text, c)
		if err != nil {
			faultWithoutField(t, text, err)
			if m != (Money{}) {
				t.Fatalf("%q: %v with %v", text, m, err)
			}
			return
		}
		plain, err := m.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		for _, shown := range []string{m.String(), string(plain)} {
			if again, err := ParseMoney(shown, Currency{}); err != nil || again != m {
				t.Fatalf("%q is %v, and that is read as %v, %v", text, m, again, err)
			}
		}
	})
}
