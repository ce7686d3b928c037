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
	"unicode/utf8"

	"barwright/fault"
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

	maxName    = 200 // bytes of a product's name
	moreFaults = 5   // that are told at once
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
		return quantity.Date{}, fault.Invalidf("", "%s is no date: write year, month and day, as 2026-11-23", quoted(s))
	case d.Compare(firstDay) < 0 || d.Compare(lastDay) > 0:
		return quantity.Date{}, fault.Invalidf("", "%s is out of reach: write a date from %s to %s", quoted(s), firstDay, lastDay)
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
	rows, err := readRows(name, data, "a file of sales", true)
	if err != nil {
		return nil, err
	}
	type span struct {
		first quantity.Date
		rows  []row
	}
	spans := map[string]*span{}
	var l faults
	l.file = name
	first, last := rows[0].week, rows[0].week
	for _, r := range rows {
		if r.week.Compare(first) < 0 {
			first = r.week
		}
		if last.Compare(r.week) < 0 {
			last = r.week
		}
		if n := weeks(first, last) + 1; n > MaxWeeks {
			l.add(r.line, "week", "with this week the file spans %d weeks, and %d (20 years) is the most: look for a mistyped year, or leave the oldest out",
				n, MaxWeeks)
			return nil, l.err()
		}
		s := spans[r.product]
		if s == nil {
			if len(spans) == MaxProducts {
				l.add(r.line, "product", "with this one there are over %d products, and that is the most: divide the file", MaxProducts)
				return nil, l.err()
			}
			s = &span{first: r.week}
			spans[r.product] = s
		}
		if r.week.Compare(s.first) < 0 {
			s.first = r.week
		}
		s.rows = append(s.rows, r)
	}
	out := &Sales{Last: last}
	for product, s := range spans {
		n := weeks(s.first, last) + 1
		x := Series{Product: product, First: s.first, Units: make([]float64, n), Out: make([]bool, n)}
		for _, r := range s.rows {
			i := weeks(s.first, r.week)
			x.Units[i] += float64(r.units)
			x.Out[i] = x.Out[i] || r.out
			if x.Units[i] > MaxUnits {
				l.add(r.line, "units", "with this line %s sold over %d in the week of %s, and that is the most", quoted(product), MaxUnits, r.week)
				return nil, l.err()
			}
		}
		out.Series = append(out.Series, x)
	}
	slices.SortFunc(out.Series, func(a, b Series) int { return strings.Compare(a.Product, b.Product) })
	return out, nil
}

// ReadFigures reads the maker's own figures: columns product, week and units, as of
// sales, one line for each product and week.
//
// Errors: fault.Invalid with file, line and column, also on a week named twice.
func ReadFigures(name string, data []byte) ([]Figure, error) {
	rows, err := readRows(name, data, "a file of your own figures", false)
	if err != nil {
		return nil, err
	}
	type key struct {
		product string
		week    quantity.Date
	}
	seen := map[key]int{}
	l := faults{file: name}
	var out []Figure
	for _, r := range rows {
		k := key{r.product, r.week}
		if at, ok := seen[k]; ok {
			if l.add(r.line, "week", "the week of %s has a figure for %s already, in line %d: leave one of the two out", r.week, quoted(r.product), at) {
				break
			}
			continue
		}
		seen[k] = r.line
		out = append(out, Figure{r.product, r.week, r.units, r.line})
	}
	if err := l.err(); err != nil {
		return nil, err
	}
	return out, nil
}

// faults collects what is wrong with a file, but no more than a reader takes in.
type faults struct {
	file string
	list fault.List
}

// add tells one more, and reports that there is no room for another.
func (l *faults) add(line int, field, format string, args ...any) (full bool) {
	f := fault.Invalidf(field, format, args...)
	f.File, f.Line = l.file, line
	l.list.Add(f)
	return len(l.list) >= moreFaults
}

func (l *faults) err() error {
	if len(l.list) >= moreFaults {
		l.list[len(l.list)-1].Message += " (only the first faults are told)"
	}
	return l.list.Err()
}

// quoted is a piece of the file as it may stand in a sentence.
func quoted(s string) string {
	const most = 40
	if len(s) <= most {
		return strconv.Quote(s)
	}
	cut := most
	for cut > 0 && !utf8.RuneStart(s[cut]) {
		cut--
	}
	return strconv.Quote(s[:cut] + "…")
}

var headings = [...]string{"product", "week", "units", "out_of_stock"}

// Places of the headings.
const (
	inProduct = iota
	inWeek
	inUnits
	inOut
)

// readRows reads the lines of a file that is like that; there is one at least.
func readRows(name string, data []byte, like string, out bool) ([]row, error) {
	l := faults{file: name}
	if len(data) > MaxFileBytes {
		l.add(0, "", "the file has over %d MiB, and %s has at most so many: this is another kind of file", MaxFileBytes>>20, like)
		return nil, l.err()
	}
	if bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || bytes.HasPrefix(data, []byte{0xFE, 0xFF}) {
		l.add(1, "", "the file is written in UTF-16: save it as CSV in UTF-8")
		return nil, l.err()
	}
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	if len(bytes.TrimSpace(data)) == 0 {
		l.add(0, "", "the file is empty: write the headings product,week,units and one line for each product and week")
		return nil, l.err()
	}
	if !utf8.Valid(data) {
		at := 0
		for at < len(data) {
			r, n := utf8.DecodeRune(data[at:])
			if r == utf8.RuneError && n == 1 {
				break
			}
			at += n
		}
		l.add(1+bytes.Count(data[:at], []byte("\n")), "", "a byte here is no UTF-8: save the file as CSV in UTF-8")
		return nil, l.err()
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = -1 // said in our own words below
	r.ReuseRecord = true
	head, err := r.Read()
	if err != nil {
		return nil, l.csv(err)
	}
	at, width := l.headings(head, like, out)
	if err := l.err(); err != nil {
		return nil, err
	}
	names := map[string]string{} // one copy of each, not one for each line
	var rows []row
	for {
		rec, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, l.csv(err)
		}
		line, _ := r.FieldPos(0)
		if len(rec) != width {
			const wrong = "there are %s in this line and %s in the headings: give every column its value, and set a value that has a comma in it in quotes"
			if l.add(line, "", wrong, words.Count(len(rec), "column", "columns"), words.Count(width, "column", "columns")) {
				return nil, l.err()
			}
			continue
		}
		x := row{line: line}
		bad := func(column int, f *fault.Error) bool {
			line, _ := r.FieldPos(at[column])
			return l.add(line, headings[column], "%s", f.Message)
		}
		full := false
		product, f := parseProduct(rec[at[inProduct]])
		if f != nil {
			full = bad(inProduct, f)
		} else if x.product = names[product]; x.product == "" {
			x.product = strings.Clone(product)
			names[x.product] = x.product
		}
		if x.week, f = weekOf(strings.TrimSpace(rec[at[inWeek]])); f != nil {
			full = bad(inWeek, f) || full
		}
		if x.units, f = parseUnits(strings.TrimSpace(rec[at[inUnits]])); f != nil {
			full = bad(inUnits, f) || full
		}
		if at[inOut] >= 0 {
			if x.out, f = parseOut(strings.TrimSpace(rec[at[inOut]])); f != nil {
				full = bad(inOut, f) || full
			}
		}
		if full {
			return nil, l.err()
		}
		rows = append(rows, x)
	}
	if err := l.err(); err != nil {
		return nil, err
	}
	if len(rows) == 0 {
		l.add(1, "", "there are headings and nothing below them: write one line for each product and week, as Storm lantern,2026-11-23,14")
		return nil, l.err()
	}
	return rows, nil
}

// headings says where each column stands, −1 for one that is not there, and how many
// there are.
func (l *faults) headings(head []string, like string, out bool) (at [len(headings)]int, width int) {
	for i := range at {
		at[i] = -1
	}
	known := headings[:inOut]
	if out {
		known = headings[:]
	}
	for i, h := range head {
		h = strings.ToLower(strings.TrimSpace(h))
		k := slices.Index(known, h)
		switch {
		case k < 0 && len(head) == 1 && strings.ContainsAny(h, ";\t|"):
			l.add(1, "", "the headings are not parted by commas: save %s with commas between the columns", like)
			return at, 0
		case k < 0:
			if l.add(1, "", "%s is no column of %s: it has %s", quoted(strings.TrimSpace(head[i])), like, strings.Join(known, ", ")) {
				return at, 0
			}
		case at[k] >= 0:
			if l.add(1, h, "this column is there twice: leave one of the two out") {
				return at, 0
			}
		default:
			at[k] = i
		}
	}
	for _, k := range []int{inProduct, inWeek, inUnits} {
		if at[k] < 0 && l.add(1, headings[k], "there is no such column: the first line names the columns, as product,week,units") {
			break
		}
	}
	return at, len(head)
}

// csv puts what is wrong with the quotes into words.
func (l *faults) csv(err error) error {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return &fault.Error{Message: "the file could not be read", File: l.file, Err: err}
	}
	line := p.Line
	words := "a quote stands inside a value: set the whole value in quotes, and write each quote in it twice"
	if errors.Is(p.Err, csv.ErrQuote) {
		words = "a quoted value does not end where its column does: close the quotes just before the comma"
		line = p.StartLine
	}
	l.list = nil
	l.add(line, "", "%s", words)
	return l.err()
}

func parseProduct(s string) (string, *fault.Error) {
	s = strings.TrimSpace(s)
	switch {
	case s == "":
		return "", fault.Invalidf("", "there is no product: write its name")
	case len(s) > maxName:
		return "", fault.Invalidf("", "%s is too long for a name: %d letters are the most", quoted(s), maxName)
	}
	for _, r := range s {
		if !unicode.IsPrint(r) {
			return "", fault.Invalidf("", "%s holds a character that cannot be printed: leave it out", quoted(s))
		}
	}
	return s, nil
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
		return 0, fault.Invalidf("", "%s is no whole number in plain digits: write whole pieces, as 1200", quoted(s))
	}
	return 0, fault.Invalidf("", "%s is no whole number: write how many pieces, as 14", quoted(s))
}

// outWords are what may stand under out_of_stock.
var outWords = map[string]bool{"": false, "no": false, "n": false, "false": false, "0": false, "yes": true, "y": true, "true": true, "1": true, "x": true}

func parseOut(s string) (bool, *fault.Error) {
	out, ok := outWords[strings.ToLower(s)]
	if !ok {
		return false, fault.Invalidf("", "%s will not do: write yes for a week that ran out, and no or nothing for another", quoted(s))
	}
	return out, nil
}
