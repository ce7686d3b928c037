package filescan

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/go-json-experiment/json/jsontext"
)

// maxDepth is how deep a file of JSON may nest: a season nests five deep, and
// brackets without end would fill the stack.
const maxDepth = 32

// jsonFace reads a file of JSON: jsontext gives its tokens with their places.
type jsonFace struct {
	*jsontext.Decoder
	data []byte
	at   int // up to here the lines are counted
	line int32
}

func newJSONFace(data []byte) *jsonFace {
	// A key that is written twice is for the reader to name.
	return &jsonFace{Decoder: jsontext.NewDecoder(bytes.NewBuffer(data), jsontext.AllowDuplicateNames(true)), data: data, line: 1}
}

// reach counts the lines up to an offset, which never goes back.
func (j *jsonFace) reach(offset int64) int32 {
	if to := min(int(offset), len(j.data)); to > j.at {
		j.line += int32(bytes.Count(j.data[j.at:to], []byte("\n")))
		j.at = to
	}
	return j.line
}

// json fills the tree from a file of JSON. It goes over the file twice, so that a
// file that is refused, and it may be any file, takes no memory for its values.
func (r *Reader) json(data []byte) bool {
	j := newJSONFace(data)
	if line, why := j.check(&r.rules); why != "" {
		r.Wrong(int(line), "", "%s", why)
		return false
	}
	r.root = newJSONFace(data).value()
	if r.root.kind != table {
		r.Wrong(int(r.root.line), "", "%s is one object in braces, and this is %s: write at least %s", r.rules.What, r.words(&r.root), r.rules.Least)
		return false
	}
	return true
}

// check reads to the end, and says where the file is no JSON or too much.
func (j *jsonFace) check(rules *Rules) (line int32, why string) {
	for n, begun := 0, false; ; begun = true {
		if begun && j.StackDepth() == 0 {
			if rest := bytes.TrimLeft(j.data[j.InputOffset():], " \t\r\n"); len(rest) > 0 {
				return j.reach(int64(len(j.data) - len(rest))), "there is more after the end of the first value: a file holds one object in braces"
			}
			return 0, ""
		}
		t, err := j.ReadToken()
		if err != nil {
			return j.syntax(err, rules)
		}
		in, place := j.StackIndex(j.StackDepth())
		if k := t.Kind(); k != '}' && k != ']' && !(k == '"' && in == '{' && place%2 == 1) {
			n++ // it is neither the end of a value nor a key
		}
		switch {
		case j.StackDepth() > maxDepth:
			return j.reach(j.InputOffset()), fmt.Sprintf("brackets stand over %d deep here: no file of this kind nests so deep", maxDepth)
		case n > rules.MaxValues:
			return j.reach(j.InputOffset()), fmt.Sprintf("the file holds more than %d values, and %s has fewer: this is another kind of file",
				rules.MaxValues, rules.What)
		}
	}
}

// jsonStart is how a value of JSON may begin. A file that begins otherwise is of
// another form, and what the decoder says of its first letters tells nobody that.
var jsonStart = regexp.MustCompile(`^([{\["\-0-9]|true\b|false\b|null\b)`)

// syntax puts the decoder's complaint into words.
func (j *jsonFace) syntax(err error, rules *Rules) (line int32, why string) {
	var s *jsontext.SyntacticError
	if !errors.As(err, &s) || errors.Is(err, io.ErrUnexpectedEOF) {
		end := int64(len(bytes.TrimRight(j.data, " \t\r\n")))
		return j.reach(end), "this is not JSON: the file ends before its brackets and braces are closed, so its end may be missing"
	}
	if start := bytes.TrimLeft(j.data, " \t\r\n"); !jsonStart.Match(start) {
		return j.reach(int64(len(j.data) - len(start))), "this is not JSON: " + rules.What + " is one object in braces, so the file begins with {"
	}
	line, why = j.reach(s.ByteOffset), s.Err.Error()
	what, where, _ := strings.Cut(strings.TrimPrefix(why, "invalid character "), "' ")
	what += "'"
	switch {
	case strings.Contains(why, "in number"), what == "'N'" || what == "'I'":
		return line, fmt.Sprintf("this is not JSON: %s is no part of a number; write one in digits, such as 12 or 0.5", what)
	case what == "','" && where == "at start of value":
		return line, "this is not JSON: nothing follows this comma, so leave it out, or write what is missing"
	case where != "":
		return line, fmt.Sprintf("this is not JSON: %s cannot stand here (%s)", what, where)
	}
	return line, "this is not JSON: " + why
}

// value reads one value of a file that check has passed.
func (j *jsonFace) value() value {
	t, err := j.ReadToken()
	if err != nil {
		return value{line: j.line}
	}
	v := value{line: j.reach(j.InputOffset())}
	switch t.Kind() {
	case '"':
		v.kind, v.text = text, t.String()
	case '0':
		v.kind, v.text = number, t.String()
	case 't', 'f':
		v.kind, v.text = boolean, t.String()
	case '[':
		v.kind = list
		for k := j.PeekKind(); k != ']' && k > 0; k = j.PeekKind() {
			v.add("", j.value())
		}
		_, _ = j.ReadToken()
	case '{':
		v.kind = table
		for k := j.PeekKind(); k == '"'; k = j.PeekKind() {
			key, _ := j.ReadToken()
			name := key.String() // before the next token takes its place
			v.add(name, j.value())
		}
		_, _ = j.ReadToken()
	}
	return v
}
