package filescan

import (
	"fmt"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"barwright/fault"
	"barwright/internal/words"
	"barwright/quantity"
)

// A Table is a table of a file, or a list, whose keys are "1", "2", and so on. Its
// methods take values by their keys. Where they end in write, the key may be left
// out unless write says what to write: an example of the value, or what it is and
// an example.
//
// What is not there, or cannot be used, gives the zero value, and a fault where it
// is one. A table that is not there is empty, and nothing is missing in it.
type Table struct {
	r           *Reader
	v           *value
	path, place string
	who         string   // the name of what the table tells of, for its faults
	known       []string // the keys that may stand in it
	absent      bool
}

// Called puts the name of what the table tells of before its faults.
func (t *Table) Called(id string) { t.who = id }

// Has reports that a key stands in the table, readable or not, and is not null.
func (t *Table) Has(key string) bool { v := t.v.at(key); return v != nil && v.kind != null }

// Empty reports that a key is a list of nothing.
func (t *Table) Empty(key string) bool {
	v := t.v.at(key)
	return v != nil && v.kind == list && v.len() == 0
}

// Len is how many entries a list has, or keys a table.
func (t *Table) Len() int { return t.v.len() }

// Keys are the keys of a table, each once, in the order of the file.
func (t *Table) Keys() iter.Seq[string] {
	return func(yield func(string) bool) {
		for i, key := range t.v.keys() {
			if t.v.find(key) == i && !yield(key) {
				return
			}
		}
	}
}

// Path is the key path of a key of the table, as fat.2.pct; of "" the table's own.
func (t *Table) Path(key string) string {
	switch {
	case key == "":
		return t.path
	case t.path == "":
		return Short(key)
	}
	return t.path + "." + Short(key)
}

// Bad reports that a key has its fault already.
func (t *Table) Bad(key string) bool { return t.r.bad[t.Path(key)] }

// Wrong notes a fault on a key, or of "" on the whole table, in the line of the
// key or else of the table.
func (t *Table) Wrong(key, format string, args ...any) {
	v := t.v
	if key != "" {
		if e := t.v.at(key); e != nil {
			v = e
		}
	}
	t.wrong(v, key, format, args...)
}

func (t *Table) wrong(v *value, key, format string, args ...any) {
	if t.absent {
		return
	}
	if t.who != "" {
		format, args = "in %q, "+format, append([]any{Short(t.who)}, args...)
	}
	t.r.Wrong(int(v.line), t.Path(key), format, args...)
}

// get gives the value of a key, or nil; a required one that is missing is a fault.
func (t *Table) get(key string, write []string) *value {
	v := t.v.at(key)
	if v != nil && v.kind != null {
		return v
	}
	if len(write) == 0 || t.absent || t.Bad(key) {
		return nil
	}
	if t.astray(key) {
		t.r.mark(t.Path(key)) // it is named where it stands; that it is missing is then no news
		return nil
	}
	what := ""
	if len(write) > 1 {
		what = write[0] + ", as "
	}
	t.Wrong(key, "this is missing: write %s%s", what, t.like(key, "", write))
	return nil
}

// astray reports that a key that is missing is there, misspelt, or that it is one
// of the file itself that slipped below a heading.
func (t *Table) astray(key string) bool {
	wanted := []string{key}
	misspelt := func(k string) bool { return words.Nearest(k, wanted) == key && !slices.Contains(t.known, k) }
	return slices.ContainsFunc(t.v.keys(), misspelt) || t.path == "" && t.r.rules.home(key, "") == nil && below(t.v, key, false)
}

// below reports that a key stands in a table under v.
func below(v *value, key string, here bool) bool {
	if here && v.kind == table && v.find(key) >= 0 {
		return true
	}
	return slices.ContainsFunc(v.vals(), func(e value) bool { return below(&e, key, true) })
}

// like is how a key is written, for one that is of the wrong type.
func (t *Table) like(key, example string, write []string) string {
	if len(write) > 0 {
		example = write[len(write)-1]
	}
	if t.v.kind == list {
		return example
	}
	return t.r.pair(key, example)
}

// Peek is the text of a key, whatever it is, and "" when it is no text; it finds
// no fault.
func (t *Table) Peek(key string) string {
	if v := t.v.at(key); v != nil && v.kind == text {
		return v.text
	}
	return ""
}

// Text gives the text of a key.
func (t *Table) Text(key string, write ...string) string {
	v := t.get(key, write)
	if v == nil {
		return ""
	}
	if v.kind != text {
		t.wrong(v, key, "%s is not text: write it in quotes, such as %s", t.r.words(v), t.like(key, `"…"`, write))
		return ""
	}
	return v.text
}

// Name gives the text of a key that names something: not blank, of one line, and
// at most so many characters.
func (t *Table) Name(key string, most int, write ...string) string {
	s := t.Text(key, write...)
	if t.Has(key) && !t.Bad(key) {
		if why := badName(s, most); why != "" {
			t.Wrong(key, "%s", why)
			return ""
		}
	}
	return s
}

// Names are the keys of a table that stand for names, as Name has them.
func (t *Table) Names(most int) []string {
	var out []string
	for key := range t.Keys() {
		if why := badName(key, most); why != "" {
			t.Wrong(key, "%s", why)
			continue
		}
		out = append(out, key)
	}
	return out
}

func badName(s string, most int) string {
	switch {
	case strings.TrimSpace(s) == "":
		return fmt.Sprintf("this is empty: write a name of 1 to %d characters", most)
	case utf8.RuneCountInString(s) > most:
		return fmt.Sprintf("this is over %d characters long: write a shorter one", most)
	case strings.ContainsFunc(s, func(c rune) bool { return unicode.IsControl(c) || c == utf8.RuneError }):
		return fmt.Sprintf("%q has a control character in it: write it in letters and digits", Short(s))
	}
	return ""
}

// Choice reads a word, and hands its place among choices to set.
func (t *Table) Choice(key string, choices []string, set func(i int), write ...string) {
	v := t.get(key, write)
	if v == nil {
		return
	}
	i := slices.Index(choices, v.text)
	switch {
	case v.kind == text && i >= 0:
		set(i)
	case len(choices) == 1:
		t.wrong(v, key, "%s cannot be used: write %s", t.r.words(v), t.like(key, strconv.Quote(choices[0]), nil))
	case v.kind != text:
		t.wrong(v, key, "%s cannot be used: write %s, in quotes", t.r.words(v), words.Either(choices))
	default:
		t.wrong(v, key, "%q cannot be used: write %s%s", Short(v.text), words.Either(choices), words.Meant(v.text, choices))
	}
}

// Flag gives the value of a key that is true or false; false where it is left out.
func (t *Table) Flag(key string) bool {
	v := t.get(key, nil)
	if v == nil {
		return false
	}
	if v.kind != boolean {
		t.wrong(v, key, "%s is neither true nor false: write one of the two, without quotes", t.r.words(v))
		return false
	}
	return v.text == "true"
}

// Number gives a finite number.
func (t *Table) Number(key string, write ...string) float64 {
	n, _ := t.number(t.get(key, write), key, t.like(key, "60.0", write))
	return n
}

// Maybe gives a number that may be unknown.
func (t *Table) Maybe(key string) (m quantity.Maybe) {
	m.V, m.Known = t.number(t.get(key, nil), key, t.like(key, "60.0", nil))
	return m
}

// Between gives a number from least to most.
func (t *Table) Between(key string, least, most float64, write ...string) float64 {
	n, ok := t.number(t.get(key, write), key, t.like(key, "60.0", write))
	if ok && (n < least || n > most) {
		t.Wrong(key, "%s cannot be used: write a number from %s to %s", Short(t.v.at(key).text), plainNumber(least), plainNumber(most))
		return 0
	}
	return n + 0 // −0 becomes 0
}

// Whole gives a whole number from least to most, and whether there is one that
// will do.
func (t *Table) Whole(key string, least, most int, write ...string) (n int, ok bool) {
	f, ok := t.number(t.get(key, write), key, t.like(key, "15", write))
	switch {
	case ok && (f < float64(least) || f > float64(most)):
		t.Wrong(key, "%s cannot be used: write a whole number from %d to %d", Short(t.v.at(key).text), least, most)
		return 0, false
	case ok && f != math.Trunc(f):
		t.Wrong(key, "%s cannot be used: write a whole number, such as %s", Short(t.v.at(key).text), plainNumber(math.Round(f)))
		return 0, false
	}
	return int(f), ok
}

// Numbers gives the numbers of a key that is a list of them, or of one that is a
// number.
func (t *Table) Numbers(key string) []float64 {
	v := t.get(key, nil)
	if v == nil {
		return nil
	}
	entries := []value{*v}
	if v.kind == list {
		entries = v.vals()
	}
	out := make([]float64, 0, len(entries))
	for i := range entries {
		n, ok := t.number(&entries[i], key, "60.0")
		if !ok {
			return nil
		}
		out = append(out, n)
	}
	return out
}

// number reads a value that is to be a finite number, written like that; nil is
// none.
func (t *Table) number(v *value, key, like string) (float64, bool) {
	if v == nil {
		return 0, false
	}
	switch v.kind {
	case number:
		n, err := strconv.ParseFloat(v.text, 64)
		switch {
		case err != nil:
			t.wrong(v, key, "%s is too large a number: write a smaller one", Short(v.text))
		case math.IsNaN(n), math.IsInf(n, 0):
			t.wrong(v, key, "the value %s is not a number to weigh by: write one in digits, such as %s", v.text, like)
		default:
			return n, true
		}
		return 0, false
	case text:
		if n, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(v.text), ",", ".", 1), 64); err == nil && !math.IsNaN(n) && !math.IsInf(n, 0) {
			t.wrong(v, key, "%s is not a number: write it without quotes, as %s", t.r.words(v), plainNumber(n))
			return 0, false
		}
	}
	t.wrong(v, key, "%s is not a number: write one in digits, such as %s", t.r.words(v), like)
	return 0, false
}

// Table gives the table under a key.
func (t *Table) Table(key string, write ...string) *Table {
	v := t.get(key, write)
	switch {
	case v == nil:
	case v.kind == table:
		return t.r.open(v, t.Path(key), joinPath(t.place, key), t.who)
	case t.r.isJSON:
		t.wrong(v, key, "%s cannot be used: write an object in braces, such as %s", t.r.words(v), t.like(key, "{…}", write))
	case v.kind == list:
		t.wrong(v, key, "[%s] is written once, in single brackets", fault.Key(key))
	default:
		t.wrong(v, key, "%s is not a table: write the heading [%s], and its keys below it", t.r.words(v), fault.Key(key))
	}
	return t.lost(key)
}

// List gives the list under a key.
func (t *Table) List(key string, write ...string) *Table {
	v := t.get(key, write)
	switch {
	case v == nil:
	case v.kind == list:
		return &Table{r: t.r, v: v, path: t.Path(key), place: joinPath(t.place, key), who: t.who}
	case t.r.isJSON:
		t.wrong(v, key, "%s cannot be used: write a list in square brackets, such as %s", t.r.words(v), t.like(key, "[…]", write))
	case !t.Bad(key):
		t.wrong(v, key, "each %s is written under [[%s]], in double brackets", fault.Key(key), joinPath(t.place, key))
	}
	return t.lost(key)
}

// Tables gives the tables of the list under a key, up to so many. What is in the
// list and no table is a fault, and an empty table in the answer.
func (t *Table) Tables(key string, most int, write ...string) []*Table {
	l := t.List(key, write...)
	if l.Len() > most {
		t.Wrong(key, "there are %d, and at most %d are read", l.Len(), most)
		return nil
	}
	out := make([]*Table, l.Len())
	for i := range out {
		n := strconv.Itoa(i + 1)
		switch v := &l.v.in.vals[i]; {
		case v.kind == table:
			out[i] = t.r.open(v, l.Path(n), l.place, t.who)
			continue
		case t.r.isJSON:
			l.wrong(v, n, "%s cannot be used: write an object in braces, such as {…}", t.r.words(v))
		default:
			l.wrong(v, n, "%s is not a table: write the heading [[%s]], and its keys below it", t.r.words(v), l.place)
		}
		out[i] = l.lost(n)
	}
	return out
}

// lost is a table for one that cannot be read.
func (t *Table) lost(key string) *Table {
	return &Table{r: t.r, v: &value{kind: table, line: t.v.line}, path: t.Path(key), place: joinPath(t.place, key), absent: true}
}

// plainNumber writes a number as it can be typed again.
func plainNumber(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-9 || a >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
