package designs

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"barwright/fault"
	"barwright/quantity"
)

// What the pages in this package still read forms with. A page that moves to a
// room binds a form of package form instead.

// typed reads a form and gathers what is wrong with it, field by field.
type typed struct {
	v      url.Values
	faults fault.List
}

// at notes what err says of a field, once per field.
func (t *typed) at(field string, err error) {
	if err == nil || t.has(field) {
		return
	}
	for _, f := range fault.All(err) {
		c := *f
		c.Field = field
		t.faults.Add(&c)
	}
}

// has reports that something is wrong with one of the fields already, or with
// one of their rows.
func (t *typed) has(fields ...string) bool {
	return slices.ContainsFunc(t.faults, func(f *fault.Error) bool {
		return slices.ContainsFunc(fields, func(n string) bool { return f.Field == n || strings.HasPrefix(f.Field, n+".") })
	})
}

// text is a line, or several, without space around.
func (t *typed) text(field string) string {
	return strings.TrimSpace(strings.ReplaceAll(t.v.Get(field), "\r\n", "\n"))
}

// number reads what may be left empty.
func (t *typed) number(field string, read func(string) (float64, error)) quantity.Maybe {
	text := t.text(field)
	if text == "" {
		return quantity.Maybe{}
	}
	x, err := read(text)
	if err != nil {
		t.at(field, err)
		return quantity.Maybe{}
	}
	return quantity.Some(x)
}

// count reads a whole number; nothing typed is 0.
func (t *typed) count(field string) int {
	m := t.number(field, quantity.ParseNumber)
	if n := int(m.V); m.V == float64(n) {
		return n
	}
	t.at(field, fault.Invalidf(field, "Half a one cannot be counted: write a whole number, as 12."))
	return 0
}

// plainNumber is a number as a form shows it, to be typed over.
func plainNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// plainMaybe is plainNumber, or nothing.
func plainMaybe(m quantity.Maybe) string {
	if !m.Known {
		return ""
	}
	return plainNumber(m.V)
}

// inFace is a number that another unit's face was put on, in as many figures as
// anyone measures.
func inFace(m quantity.Maybe, face func(float64) float64) string {
	if !m.Known {
		return ""
	}
	s := strconv.FormatFloat(face(m.V), 'f', 4, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// sentences begins what is wrong with a capital and ends it with a stop.
func sentences(l fault.List) fault.List {
	out := make(fault.List, len(l))
	for i, f := range l {
		c := *f
		if r, n := utf8.DecodeRuneInString(c.Message); n > 0 && unicode.IsLower(r) {
			c.Message = string(unicode.ToUpper(r)) + c.Message[n:]
		}
		if c.Message != "" && !strings.HasSuffix(c.Message, ".") {
			c.Message += "."
		}
		out[i] = &c
	}
	return out
}
