package forecast

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"barwright/fault"
	"barwright/quantity"
)

func TestSalesAreRead(t *testing.T) {
	got, err := ReadCSV("sales.csv", []byte("\uFEFFWeek, units ,PRODUCT,out_of_stock\r\n"+
		"2026-11-18,3,\"Fig, and \"\"salt\"\"\",\r\n"+
		"\r\n"+
		"2026-11-22, 4 ,\"Fig, and \"\"salt\"\"\",no\r\n"+ // the Sunday of the same week
		"2026-12-07,5,\"Fig, and \"\"salt\"\"\",Yes\r\n"+
		"2026-12-13,1,\"Fig, and \"\"salt\"\"\",\r\n"+
		"2026-11-30,7,Étoile,x\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := &Sales{Last: quantity.NewDate(2026, time.December, 7), Series: []Series{
		{`Fig, and "salt"`, quantity.NewDate(2026, time.November, 16), []float64{7, 0, 0, 6}, []bool{false, false, false, true}},
		{"Étoile", quantity.NewDate(2026, time.November, 30), []float64{7, 0}, []bool{true, false}},
	}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%+v", got)
	}
	if got.Find("Étoile") == nil || got.Find("étoile") != nil {
		t.Error("products are not found by their names")
	}
}

// ISO 8601's own examples of weeks at the end of a year (from memory): 29
// December 2008 is in the first week of 2009, and 3 January 2010 is in the 53rd
// week of 2009.
func TestWeeksAreThoseOfISO8601(t *testing.T) {
	for day, want := range map[string]string{
		"2008-12-29": "2008-12-29", "2009-01-04": "2008-12-29", "2010-01-03": "2009-12-28", "2024-02-29": "2024-02-26", "2026-11-23": "2026-11-23",
	} {
		d, f := weekOf(day)
		if f != nil || d.String() != want {
			t.Errorf("%s lies in the week of %s, %v; want %s", day, d, f, want)
		}
	}
	if a, b := quantity.NewDate(2009, time.December, 28), quantity.NewDate(2009, time.December, 21); slot(a) != 51 || slot(b) != 51 {
		t.Errorf("the 53rd week has the place %d, the 52nd %d", slot(a), slot(b))
	}
}

// The smallest file for each fault, and its sentence.
func TestSalesThatCannotBeRead(t *testing.T) {
	const head = "product,week,units\n"
	long := strings.Repeat("x", 201)
	for _, c := range []struct{ file, want string }{
		{"", "s.csv: The file is empty: a file of sales has at least the headings product,week,units and one line for each product and week."},
		{" \r\n\n", "s.csv: The file is empty: a file of sales has at least the headings product,week,units and one line for each product and week."},
		{head, "s.csv:1: There are headings and nothing below them: write one line for each product and week, as Storm lantern,2026-11-23,14."},
		{"\xff\xfep\x00", "s.csv: The file is in UTF-16: save it in UTF-8."},
		{head + "a,2026-11-23,1\nf\xe9e,2026-11-23,1\n", "s.csv:3: This is not UTF-8 text: save the file in UTF-8."},
		{"product;week;units\n", "s.csv:1: The headings are not parted by commas: save a file of sales with commas between the columns."},
		{"product,week\na,2026-11-23\n", "s.csv:1: units: There is no such column: the first line names the columns, as product,week,units."},
		{"product,week,units,week\n", "s.csv:1: week: This column is there twice: leave one of the two out."},
		{"product,week,units,out of stock\n", `s.csv:1: "out of stock" is no column of a file of sales: it has product, week, units, out_of_stock.`},
		{head + "a,2026-11-23\n", "s.csv:2: There are 2 columns in this line and 3 columns in the headings: give every column its " +
			"value, and set a value that has a comma in it in quotes."},
		{head + ",2026-11-23,1\n", "s.csv:2: product: There is no product: write its name."},
		{head + long + ",2026-11-23,1\n", `s.csv:2: product: "` + long[:57] + `…" is too long for a name: 200 letters are the most.`},
		{head + "a\x07,2026-11-23,1\n", `s.csv:2: product: "a·" holds a character that cannot be printed: leave it out.`},
		{head + "a,23.11.2026,1\n", `s.csv:2: week: "23.11.2026" is no date: write year, month and day, such as 2026-11-23.`},
		{head + "a,2026-02-29,1\n", `s.csv:2: week: "2026-02-29" is no date: write year, month and day, such as 2026-11-23.`},
		{head + "a,0026-11-23,1\n", `s.csv:2: week: "0026-11-23" is out of reach: write a date from 1970-01-05 to 2199-12-31.`},
		{head + "a,9026-11-23,1\n", `s.csv:2: week: "9026-11-23" is out of reach: write a date from 1970-01-05 to 2199-12-31.`},
		{head + "a,2026-11-23,1\nb,1999-11-23,1\n",
			"s.csv:3: week: With this week the file spans 1410 weeks, and 1044 (20 years) is the most: look for a mistyped year, or leave the oldest out."},
		{head + "a,2026-11-23,\n", "s.csv:2: units: There is no number: write how many were sold, 0 for none."},
		{head + "a,2026-11-23,-3\n", `s.csv:2: units: "-3" is below 0: what came back was wanted all the same, so leave returns out.`},
		{head + "a,2026-11-23,2.5\n", `s.csv:2: units: "2.5" is no whole number in plain digits: write whole pieces, such as 1200.`},
		{head + "a,2026-11-23,\"1,200\"\n", `s.csv:2: units: "1,200" is no whole number in plain digits: write whole pieces, such as 1200.`},
		{head + "a,2026-11-23,NaN\n", `s.csv:2: units: "NaN" is no whole number: write how many pieces, such as 14.`},
		{head + "a,2026-11-23,1e3\n", `s.csv:2: units: "1e3" is no whole number: write how many pieces, such as 14.`},
		{head + "a,2026-11-23,1000001\n", `s.csv:2: units: "1000001" is more than a studio sells in a week: 1000000 is the most.`},
		{head + "a,2026-11-23,99999999999999999999\n", `s.csv:2: units: "99999999999999999999" is more than a studio sells in a week: 1000000 is the most.`},
		{head + "a,2026-11-23,1000000\na,2026-11-24,1\n",
			`s.csv:3: units: With this line "a" sold over 1000000 in the week of 2026-11-23, and that is the most.`},
		{"product,week,units,out_of_stock\na,2026-11-23,1,maybe\n",
			`s.csv:2: out_of_stock: "maybe" cannot be used: write yes for a week that ran out, and no or nothing for another.`},
		{head + "a\"b,2026-11-23,1\n", "s.csv:2: A quote stands inside a value: set the whole value in quotes, and write each quote in it twice."},
		{head + "\"a,2026-11-23,1\n", "s.csv:2: A quoted value does not end where its column does: close the quotes just before the comma."},
		// Several are told at once, but no more than can be taken in.
		{head + "a,x,y\n,2026-11-23,1\n", `s.csv:2: week: "x" is no date: write year, month and day, such as 2026-11-23; s.csv:2: ` +
			`units: "y" is no whole number: write how many pieces, such as 14; s.csv:3: product: There is no product: write its name.`},
	} {
		got, err := ReadCSV("s.csv", []byte(c.file))
		if err == nil || err.Error() != c.want || got != nil || fault.KindOf(err) != fault.Invalid {
			t.Errorf("%q:\n got %v\nwant %s", c.file, err, c.want)
		}
	}
	_, err := ReadCSV("s.csv", []byte(head+strings.Repeat("a,b,c\n", 100)))
	if l := fault.All(err); len(l) != 21 || l[20].Message != "180 more faults were found: mend these first." {
		t.Errorf("of 200 faults: %v", err)
	}
	var many strings.Builder
	many.WriteString(head)
	for i := range MaxProducts + 1 {
		fmt.Fprintf(&many, "p%d,2026-11-23,1\n", i)
	}
	if _, err := ReadCSV("s.csv", []byte(many.String())); err == nil ||
		!strings.HasPrefix(err.Error(), "s.csv:1002: product: With this one there are over 1000 products") {
		t.Errorf("too many products: %v", err)
	}
	if _, err := ReadCSV("s.csv", make([]byte, MaxFileBytes+1)); err == nil || !strings.HasPrefix(err.Error(), "s.csv: The file is over 64 MiB") {
		t.Errorf("too large: %v", err)
	}
}

func TestFiguresAreRead(t *testing.T) {
	got, err := ReadFigures("mine.csv", []byte("units,week,product\n40,2026-12-24,a\n0,2026-12-24,b\n"))
	monday := quantity.NewDate(2026, time.December, 21)
	if want := []Figure{{"a", monday, 40, 2}, {"b", monday, 0, 3}}; err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, %v", got, err)
	}
	for file, want := range map[string]string{
		"product,week,units\na,2026-12-24,1\na,2026-12-21,2\n": `mine.csv:3: week: The week of 2026-12-21 has a figure for "a" ` +
			`already, in line 2: leave one of the two out.`,
		"product,week,units,out_of_stock\na,2026-12-24,1,no\n": `mine.csv:1: "out_of_stock" is no column of a file of your own ` +
			`figures: it has product, week, units.`,
		"product,week,units\na,2026-12-24,1.5\n": `mine.csv:2: units: "1.5" is no whole number in plain digits: write whole pieces, such as 1200.`,
	} {
		if got, err := ReadFigures("mine.csv", []byte(file)); err == nil || err.Error() != want || got != nil {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// written is a file of sales with a line for each week.
func written(t testing.TB, s *Sales) []byte {
	t.Helper()
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"product", "week", "units", "out_of_stock"}}
	for _, x := range s.Series {
		for i, y := range x.Units {
			out := ""
			if x.Out[i] {
				out = "yes"
			}
			rows = append(rows, []string{x.Product, x.First.AddDays(7 * i).String(), fmt.Sprint(int(y)), out})
		}
	}
	if err := w.WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The order of the lines, and how they are divided, does not matter.
func TestTheOrderOfLinesDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		total := map[string]int{}
		lines := []string{}
		for range rapid.IntRange(1, 40).Draw(t, "lines") {
			p, n := fmt.Sprint("p", r.IntN(3)), r.IntN(9)
			total[p] += n
			lines = append(lines, fmt.Sprintf("%s,%s,%d\n", p, quantity.NewDate(2026, time.January, 1).AddDays(r.IntN(300)), n))
		}
		a, err := ReadCSV("a", []byte("product,week,units\n"+strings.Join(lines, "")))
		if err != nil {
			t.Fatal(err)
		}
		r.Shuffle(len(lines), func(i, j int) { lines[i], lines[j] = lines[j], lines[i] })
		b, err := ReadCSV("b", []byte("product,week,units\n"+strings.Join(lines, "")))
		if err != nil || !reflect.DeepEqual(a, b) {
			t.Fatalf("%+v, shuffled %+v, %v", a, b, err)
		}
		if len(a.Series) != len(total) {
			t.Fatalf("%d products of %d", len(a.Series), len(total))
		}
		for _, s := range a.Series {
			sum := 0.0
			for _, y := range s.Units {
				sum += y
			}
			if int(sum) != total[s.Product] || s.First.AddDays(7*(len(s.Units)-1)) != a.Last {
				t.Fatalf("%+v: %d were sold, up to %s", s, total[s.Product], a.Last)
			}
		}
	})
}

// What is read can be written and read again. A file that is refused leaves no
// value.
func FuzzReadCSV(f *testing.F) {
	for _, s := range []string{
		"product,week,units\na,2026-11-23,1\n", "\uFEFFunits,product,week,out_of_stock\n3,\"a,\"\"b\"\"\",2026-11-23,x\n4,c,2025-01-01,\n",
		"product,week,units\n\"a\nb\",2026-11-23,1\n", "product;week;units\n", "",
		"product,week,units\na,1970-01-05,1\n", "product,week,units\n a ,2199-12-31,000\n",
		"product,week,units\n#,2026-11-23,1\n", "\"product\",week,units\r\na,2026-11-23,1\r\n", "product,week,units\na,2026-11-23,1\na,2026-11-23",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := ReadCSV("f.csv", data)
		if err != nil {
			if s != nil || strings.Contains(err.Error(), "\n") || fault.KindOf(err) != fault.Invalid {
				t.Fatalf("%+v, %q", s, err)
			}
			return
		}
		for _, x := range s.Series {
			for _, y := range x.Units {
				if y < 0 || y > MaxUnits || y != float64(int(y)) {
					t.Fatalf("%v units of %q", y, x.Product)
				}
			}
		}
		again, err := ReadCSV("f.csv", written(t, s))
		if err != nil || !reflect.DeepEqual(s, again) {
			t.Fatalf("%+v was written and read as %+v, %v", s, again, err)
		}
	})
}
