package forecast

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unique"

	"barwright/fault"
	"barwright/internal/filescan"
	"barwright/internal/words"
	"barwright/quantity"
)

// What a file of sales may hold at most.
const (
	// MaxFileBytes is the largest file that is read: 64 MiB.
	MaxFileBytes = 64 << 20
	// MaxProducts is how many products there may be.
	MaxProducts = 1000
	// MaxWeeks is how many weeks may lie from the first listed to the last: 20 years.
	MaxWeeks = 1044
	// MaxUnits is the most that a product may sell in a week.
	MaxUnits = 1_000_000

	maxName = 200 // bytes of a product's name
)

// The days that there are: outside them a year was mistyped.
var (
	firstDay = quantity.NewDate(1970, time.January, 5) // a Monday
	lastDay  = quantity.NewDate(2199, time.December, 31)
)

// weekOf reads a date and gives the Monday of its week, by which a forecast's weeks are
// named. Errors: fault.Invalid without a field, also on a day before 1970-01-05 or after
// 2199-12-31.
func weekOf(s string) (quantity.Date, *fault.Error) {
	d, err := quantity.ParseDate(s)
	switch {
	case err != nil:
		return d, fault.Invalidf("", "%s is no date: write year, month and day, such as 2026-11-23", quoted(s))
	case d.Compare(firstDay) < 0 || d.Compare(lastDay) > 0:
		return d, fault.Invalidf("", "%s is out of reach: write a date from %s to %s", quoted(s), firstDay, lastDay)
	}
	return d.Monday(), nil
}

// weeks is how many weeks lie from one Monday to another, below 0 where that lies before.
func weeks(from, to quantity.Date) int { return to.Sub(from) / 7 }

// slot is the place of the week in the year: 0 to 51. The 53rd week that some years
// have shares the place of the 52nd, so that the same feast falls into the same place.
func slot(monday quantity.Date) int {
	_, w := monday.ISOWeek()
	return min(w, season) - 1
}

// season is how many places a year has.
const season = 52

// Series is what was sold of one product, week by week without a gap.
type Series struct {
	Product string
	First   quantity.Date // Monday of the first week
	Units   []float64     // whole and not below 0
	// Out marks the weeks in which the product ran out: what was wanted is not known,
	// only that it was not less than what was sold.
	Out []bool
}

// Sales are all products of a file.
type Sales struct {
	// Series are in the order of their names. Each runs from its first listed week to
	// the last week of the file.
	Series []Series
	// Last is the Monday of the last week of the file.
	Last quantity.Date
}

// Find is the series of that product, nil where there is none.
func (s *Sales) Find(product string) *Series {
	i, ok := slices.BinarySearchFunc(s.Series, product, func(x Series, name string) int { return strings.Compare(x.Product, name) })
	if !ok {
		return nil
	}
	return &s.Series[i]
}

// Figure is what the maker says will be wanted in a week, whatever the past says.
type Figure struct {
	Product string
	Week    quantity.Date // its Monday
	Units   int
	Line    int // of the file it was read from; 0 for none
}

// row is one line of a file of sales or of figures.
type row struct {
	line    int
	product string
	week    quantity.Date
	units   int
	out     bool
}

// ReadCSV reads sales: a line of headings, then one line for each product and week.
//
// The columns are product, week (any date in it) and units, and out_of_stock where
// the maker noted it, in any order; other columns are refused, for a misspelt one
// would else be lost. Lines of one product and week add up, and a week is out of
// stock where one of its lines is. Weeks not listed are zero sold. name is that of
// the file, for faults.
// Errors: fault.Invalid with file, line and the column as field; several at once.
func ReadCSV(name string, data []byte) (*Sales, error) {
	f, rows := readRows(name, data, "a file of sales", headings[:])
	if !f.OK() {
		return nil, f.Err()
	}
	firsts := map[string]quantity.Date{} // of each product, its first week
	first, last := rows[0].week, rows[0].week
	for _, r := range rows {
		if r.week.Compare(first) < 0 {
			first = r.week
		}
		if last.Compare(r.week) < 0 {
			last = r.week
		}
		if n := weeks(first, last) + 1; n > MaxWeeks {
			f.Wrong(r.line, "week", "with this week the file spans %d weeks, and %d (20 years) is the most: look for a mistyped year, or leave the oldest out",
				n, MaxWeeks)
			return nil, f.Err()
		}
		was, known := firsts[r.product]
		if !known && len(firsts) == MaxProducts {
			f.Wrong(r.line, "product", "with this one there are over %d products, and that is the most: divide the file", MaxProducts)
			return nil, f.Err()
		}
		if !known || r.week.Compare(was) < 0 {
			firsts[r.product] = r.week
		}
	}
	out := &Sales{Last: last}
	for product, first := range firsts {
		n := weeks(first, last) + 1
		out.Series = append(out.Series, Series{Product: product, First: first, Units: make([]float64, n), Out: make([]bool, n)})
	}
	slices.SortFunc(out.Series, func(a, b Series) int { return strings.Compare(a.Product, b.Product) })
	for _, r := range rows {
		x := out.Find(r.product)
		i := weeks(x.First, r.week)
		x.Units[i] += float64(r.units)
		x.Out[i] = x.Out[i] || r.out
		if x.Units[i] > MaxUnits {
			f.Wrong(r.line, "units", "with this line %s sold over %d in the week of %s, and that is the most", quoted(r.product), MaxUnits, r.week)
			return nil, f.Err()
		}
	}
	return out, nil
}

// ReadFigures reads the maker's own figures: columns product, week and units, as of
// sales, one line for each product and week.
//
// Errors: fault.Invalid with file, line and column, also on a week named twice.
func ReadFigures(name string, data []byte) ([]Figure, error) {
	f, rows := readRows(name, data, "a file of your own figures", headings[:inOut])
	type key struct {
		product string
		week    quantity.Date
	}
	seen := map[key]int{}
	var out []Figure
	for _, r := range rows {
		k := key{r.product, r.week}
		if at, ok := seen[k]; ok {
			f.Wrong(r.line, "week", "the week of %s has a figure for %s already, in line %d: leave one of the two out", r.week, quoted(r.product), at)
			continue
		}
		seen[k] = r.line
		out = append(out, Figure{r.product, r.week, r.units, r.line})
	}
	if !f.OK() {
		return nil, f.Err()
	}
	return out, nil
}

// quoted is a piece of the file as it may stand in a sentence.
func quoted(s string) string { return strconv.Quote(filescan.Short(s)) }

var headings = [...]string{"product", "week", "units", "out_of_stock"}

// Places of the headings.
const (
	inProduct = iota
	inWeek
	inUnits
	inOut
)

// readRows reads the lines of a file that is like that, with the known columns;
// there is one at least. The file says what is wrong with it.
func readRows(name string, data []byte, like string, known []string) (*filescan.Reader, []row) {
	f, ok := filescan.Plain(name, data, filescan.Rules{What: like, MaxBytes: MaxFileBytes,
		Least: "the headings product,week,units and one line for each product and week"})
	if !ok {
		return f, nil
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\uFEFF"))))
	r.FieldsPerRecord = -1 // said in our own words below
	r.ReuseRecord = true
	head, err := r.Read()
	if err != nil {
		return wrongQuotes(f, err), nil
	}
	at, width := readHeadings(f, head, like, known), len(head)
	if !f.OK() {
		return f, nil
	}
	var rows []row
	for {
		rec, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return wrongQuotes(f, err), nil
		}
		line, _ := r.FieldPos(0)
		if len(rec) != width {
			f.Wrong(line, "", "there are %s in this line and %s in the headings: give every column its value, and set a value that has a comma in it in quotes",
				words.Count(len(rec), "column", "columns"), words.Count(width, "column", "columns"))
			continue
		}
		value := func(column int) string { return strings.TrimSpace(rec[at[column]]) }
		check := func(column int, e *fault.Error) {
			if e != nil {
				line, _ := r.FieldPos(at[column])
				f.Wrong(line, headings[column], "%s", e.Message)
			}
		}
		x := row{line: line, product: unique.Make(value(inProduct)).Value()} // one copy of each, not one for each line
		check(inProduct, badProduct(x.product))
		var bad *fault.Error
		x.week, bad = weekOf(value(inWeek))
		check(inWeek, bad)
		x.units, bad = parseUnits(value(inUnits))
		check(inUnits, bad)
		if at[inOut] >= 0 {
			x.out, bad = parseOut(value(inOut))
			check(inOut, bad)
		}
		rows = append(rows, x)
	}
	if f.OK() && len(rows) == 0 {
		f.Wrong(1, "", "there are headings and nothing below them: write one line for each product and week, as Storm lantern,2026-11-23,14")
	}
	return f, rows
}

// readHeadings says where each column stands, −1 for one that is not there.
func readHeadings(f *filescan.Reader, head []string, like string, known []string) [len(headings)]int {
	at := [len(headings)]int{-1, -1, -1, -1}
	for i, h := range head {
		h = strings.TrimSpace(h)
		k := slices.Index(known, strings.ToLower(h))
		switch {
		case k < 0 && len(head) == 1 && strings.ContainsAny(h, ";\t|"):
			f.Wrong(1, "", "the headings are not parted by commas: save %s with commas between the columns", like)
			return at
		case k < 0:
			f.Wrong(1, "", "%s is no column of %s: it has %s", quoted(h), like, strings.Join(known, ", "))
		case at[k] >= 0:
			f.Wrong(1, headings[k], "this column is there twice: leave one of the two out")
		default:
			at[k] = i
		}
	}
	for k, column := range headings[:inOut] {
		if at[k] < 0 {
			f.Wrong(1, column, "there is no such column: the first line names the columns, as product,week,units")
		}
	}
	return at
}

// wrongQuotes puts what is wrong with the quotes of a file into words.
func wrongQuotes(f *filescan.Reader, err error) *filescan.Reader {
	var p *csv.ParseError
	if errors.As(err, &p); errors.Is(err, csv.ErrQuote) {
		f.Wrong(p.StartLine, "", "a quoted value does not end where its column does: close the quotes just before the comma")
	} else {
		f.Wrong(p.Line, "", "a quote stands inside a value: set the whole value in quotes, and write each quote in it twice")
	}
	return f
}

// badProduct says why a product cannot have that name, nil where it can.
func badProduct(s string) *fault.Error {
	switch {
	case s == "":
		return fault.Invalidf("", "there is no product: write its name")
	case len(s) > maxName:
		return fault.Invalidf("", "%s is too long for a name: %d letters are the most", quoted(s), maxName)
	case strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }):
		return fault.Invalidf("", "%s holds a character that cannot be printed: leave it out", quoted(s))
	}
	return nil
}

func parseUnits(s string) (int, *fault.Error) {
	n, err := strconv.Atoi(s)
	digits := s != "" && strings.Trim(s, "0123456789") == ""
	switch {
	case digits && err == nil && n <= MaxUnits:
		return n, nil
	case digits:
		return 0, fault.Invalidf("", "%s is more than a studio sells in a week: %d is the most", quoted(s), MaxUnits)
	case s == "":
		return 0, fault.Invalidf("", "there is no number: write how many were sold, 0 for none")
	case strings.HasPrefix(s, "-") || strings.HasPrefix(s, "−"):
		return 0, fault.Invalidf("", "%s is below 0: what came back was wanted all the same, so leave returns out", quoted(s))
	case strings.ContainsAny(s, ",.'’ \u00a0\u202f"):
		return 0, fault.Invalidf("", "%s is no whole number in plain digits: write whole pieces, such as 1200", quoted(s))
	}
	return 0, fault.Invalidf("", "%s is no whole number: write how many pieces, such as 14", quoted(s))
}

// outWords are what may stand under out_of_stock.
var outWords = map[string]bool{"": false, "no": false, "n": false, "false": false, "0": false, "yes": true, "y": true, "true": true, "1": true, "x": true}

func parseOut(s string) (bool, *fault.Error) {
	out, ok := outWords[strings.ToLower(s)]
	if !ok {
		return false, fault.Invalidf("", "%s cannot be used: write yes for a week that ran out, and no or nothing for another", quoted(s))
	}
	return out, nil
}
