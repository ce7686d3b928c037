package season

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"barwright/fault"
	"barwright/internal/words"
)

// MaxFileBytes is the most that a file of a season, of pins or of a plan may have.
const MaxFileBytes = 64 << 20

// A file may hold so many values, so that one of endless brackets cannot fill
// the memory; a season of 500 products and ten years has a quarter of them.
const maxValues = 3_000_000

// A season nests five deep; brackets without end would fill the stack.
const maxDepth = 32

// maxFaults is how many faults are told at once; more would not be read.
const maxFaults = 12

// value is a piece of JSON that knows its line.
type value struct {
	line    int
	kind    byte // '{' '[' '"' '0' 't' 'n': object, list, text, number, true or false, null
	text    string
	members []member
	list    []value
}

type member struct {
	key string
	value
}

func (v *value) name() string {
	switch v.kind {
	case '{':
		return "an object in braces"
	case '[':
		return "a list"
	case '"':
		return strconv.Quote(clip(v.text))
	case 'n':
		return "null"
	}
	return v.text
}

func clip(s string) string {
	const most = 40
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "…"
}

// reader turns JSON into values and gathers what is wrong with them.
type reader struct {
	file   string
	faults fault.List
	loose  bool // how many weeks there are is not known, so no list is too long
}

func (r *reader) fault(line int, field, format string, args ...any) {
	if len(r.faults) < maxFaults {
		r.faults.Add(&fault.Error{Kind: fault.Invalid, File: r.file, Line: line, Field: field, Message: fmt.Sprintf(format, args...)})
	}
}

// parse reads all of data as one JSON value. what is what the file is to be, as
// "a season"; least what it holds at least, for a file that is empty.
func (r *reader) parse(data []byte, what, least string) (*value, bool) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	switch {
	case len(data) > MaxFileBytes:
		r.fault(0, "", "the file is too big: %s has 64 MiB at most", what)
		return nil, false
	case !utf8.Valid(data):
		r.fault(0, "", "this is not text in UTF-8: save the file as JSON in UTF-8")
		return nil, false
	case len(bytes.TrimSpace(data)) == 0:
		r.fault(0, "", "the file is empty: %s has at least %s", what, least)
		return nil, false
	}
	p := parser{data: data, line: 1, left: maxValues, dec: json.NewDecoder(bytes.NewReader(data))}
	p.dec.UseNumber()
	v, err := p.value(0)
	if err == nil {
		if _, more := p.dec.Token(); more != io.EOF {
			err = errors.New("something stands after the closing brace: leave one object in the file")
		}
	}
	if err != nil {
		var s *json.SyntaxError
		p.reach(p.dec.InputOffset())
		switch {
		case errors.As(err, &s):
			p.reach(s.Offset)
			err = errors.New("this is not JSON: " + plainSyntax(s.Error()))
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			p.reach(int64(len(data)))
			err = errors.New("this is not JSON: the file ends in the middle of it; close every bracket and brace")
		}
		r.fault(p.line, "", "%s", err)
		return nil, false
	}
	if v.kind != '{' {
		r.fault(v.line, "", "%s is one object in braces, and this is %s", what, v.name())
		return nil, false
	}
	for _, m := range slices.Backward(p.doubled) {
		r.fault(m.line, m.key, "this key stands twice: leave one of them")
	}
	return v, len(p.doubled) == 0
}

// plainSyntax puts the decoder's complaint into words.
func plainSyntax(s string) string {
	var c, where string
	if rest, ok := strings.CutPrefix(s, "invalid character "); ok {
		c, where, _ = strings.Cut(rest, "' ")
		c += "'"
	}
	switch {
	case c == "'N'" || c == "'I'" || strings.Contains(where, "numeric literal"):
		return fmt.Sprintf("%s is no part of a number; write one as 12 or 0.5 (there is no NaN or Infinity)", c)
	case c != "":
		return fmt.Sprintf("%s cannot stand here (%s)", c, where)
	}
	return s
}

type parser struct {
	data    []byte
	dec     *json.Decoder
	at      int64
	line    int
	left    int
	doubled []member
}

// reach counts the lines up to offset.
func (p *parser) reach(offset int64) {
	offset = min(offset, int64(len(p.data)))
	if offset > p.at {
		p.line += bytes.Count(p.data[p.at:offset], []byte("\n"))
		p.at = offset
	}
}

func (p *parser) value(depth int) (*value, error) {
	t, err := p.dec.Token()
	if err != nil {
		return nil, err
	}
	if p.left--; p.left < 0 {
		return nil, fmt.Errorf("the file holds more than %d values: leave out what is not of this season", maxValues)
	}
	p.reach(p.dec.InputOffset())
	if depth > maxDepth {
		return nil, fmt.Errorf("brackets stand %d deep here: no such file nests so", depth)
	}
	v := &value{line: p.line}
	switch t := t.(type) {
	case json.Delim:
		v.kind = byte(t)
		var seen map[string]bool
		if t == '{' {
			seen = map[string]bool{}
		}
		for p.dec.More() {
			var m member
			if t == '{' {
				k, err := p.dec.Token()
				if err != nil {
					return nil, err
				}
				p.reach(p.dec.InputOffset())
				m.key, _ = k.(string)
				if seen[m.key] {
					p.doubled = append(p.doubled, member{key: m.key, value: value{line: p.line}})
				}
				seen[m.key] = true
			}
			inner, err := p.value(depth + 1)
			if err != nil {
				return nil, err
			}
			if t == '[' {
				v.list = append(v.list, *inner)
				continue
			}
			m.value = *inner
			v.members = append(v.members, m)
		}
		_, err = p.dec.Token() // the closing one
		return v, err
	case json.Number:
		v.kind, v.text = '0', t.String()
	case string:
		v.kind, v.text = '"', t
	case bool:
		v.kind, v.text = 't', strconv.FormatBool(t)
	default:
		v.kind = 'n'
	}
	return v, nil
}

// object is one that is being read: every key that is asked for is noted, so
// that rest can name those that nobody asked for.
type object struct {
	r     *reader
	v     *value
	path  string // "", or as "items.3."
	who   string // "", or as `of "P04", `: put before what is wrong
	asked []string
}

// object takes v as one, or says that it is none.
func (r *reader) object(v *value, path string) *object {
	o := &object{r: r, v: v, path: path}
	if v.kind != '{' {
		r.fault(v.line, strings.TrimSuffix(path, "."), "this is to be an object in braces, and is %s", v.name())
		o.v = &value{line: v.line, kind: '{'}
		o.r = &reader{} // what is not there is not said of it besides
	}
	return o
}

func (o *object) fault(line int, key, format string, args ...any) {
	o.r.fault(line, o.path+key, "%s%s", o.who, fmt.Sprintf(format, args...))
}

// get gives the value of key; nil where it is left out or null. example is what
// to write, and "" says that it may be left out.
func (o *object) get(key, example string) *value {
	o.asked = append(o.asked, key)
	for i := range o.v.members {
		if m := &o.v.members[i]; m.key == key && m.kind != 'n' {
			return &m.value
		}
	}
	if example != "" {
		o.fault(o.v.line, key, "this is missing: write \"%s\": %s", key, example)
	}
	return nil
}

func (o *object) line(key string) int {
	for i := range o.v.members {
		if o.v.members[i].key == key {
			return o.v.members[i].line
		}
	}
	return o.v.line
}

func (o *object) text(key, example string) string {
	v := o.get(key, example)
	if v == nil {
		return ""
	}
	if v.kind != '"' || strings.TrimSpace(v.text) == "" || utf8.RuneCountInString(v.text) > 200 {
		o.fault(v.line, key, "%s will not do: write a name of 1 to 200 letters in quotation marks", v.name())
		return ""
	}
	if strings.ContainsFunc(v.text, unicode.IsControl) {
		o.fault(v.line, key, "%s has a control character in it: write it in letters and digits", clip(v.name()))
		return ""
	}
	return v.text
}

// whole reads a whole number from least to most.
func (o *object) whole(key, example string, least, most int) int {
	v := o.get(key, example)
	if v == nil {
		return 0
	}
	return o.wholeOf(v, key, least, most)
}

func (o *object) wholeOf(v *value, key string, least, most int) int {
	f, ok := numberOf(v)
	if !ok || f != math.Trunc(f) || f < float64(least) || f > float64(most) {
		o.fault(v.line, key, "%s will not do: write a whole number from %d to %d", clip(v.name()), least, most)
		return least
	}
	return int(f)
}

// maxMoney is the most that anything may cost; above it cents are lost to rounding.
const maxMoney = 1e9

// money reads an amount that is not below 0.
func (o *object) money(key, example string) float64 {
	v := o.get(key, example)
	if v == nil {
		return 0
	}
	return o.moneyOf(v, key)
}

func (o *object) moneyOf(v *value, key string) float64 {
	f, ok := numberOf(v)
	if !ok || f < 0 || f > maxMoney {
		o.fault(v.line, key, "%s will not do: write a number from 0 to %d", clip(v.name()), int(maxMoney))
		return 0
	}
	return f + 0 // −0 becomes 0
}

func numberOf(v *value) (float64, bool) {
	if v.kind != '0' {
		return 0, false
	}
	f, err := strconv.ParseFloat(v.text, 64)
	return f, err == nil && !math.IsInf(f, 0) && !math.IsNaN(f)
}

func (o *object) items(key, example string) []value {
	v := o.get(key, example)
	if v == nil {
		return nil
	}
	if v.kind != '[' {
		o.fault(v.line, key, "this is to be a list in square brackets, and is %s", v.name())
		return nil
	}
	return v.list
}

// rest names the keys that nobody asked for. note, and keys that begin with _,
// are the writer's own remarks.
func (o *object) rest() {
	for i := range o.v.members {
		m := &o.v.members[i]
		if m.key == "note" || strings.HasPrefix(m.key, "_") || slices.Contains(o.asked, m.key) {
			continue
		}
		o.fault(m.line, clip(m.key), "this key is not known here%s: leave it out, or begin its name with _ for a remark", words.Meant(m.key, o.asked))
	}
}
