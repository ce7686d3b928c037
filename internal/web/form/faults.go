package form

import (
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"barwright/fault"
	"barwright/internal/web/shell"
	"barwright/internal/words"
)

// refuse notes what is wrong with a field that could not be read, once.
func (s *state) refuse(name string, err error) {
	if s.bad[name] {
		return
	}
	s.bad[name] = true
	for _, e := range fault.All(err) {
		c := *e
		c.Field = name
		if c.Kind == fault.Internal {
			c.Kind = fault.Invalid // a parser's plain error is about what was typed
		}
		s.faults.Add(&c)
	}
}

// Refuse notes what is wrong with a field, as far as nothing was before.
func (f *Form) Refuse(path string, err error) { f.refuse(f.name(path), err) }

// Bad reports whether a field could not be read, or was refused.
func (f *Form) Bad(path string) bool { return f.bad[f.name(path)] }

// Check takes in what the rules say of the value that was read. The paths of its
// faults are those of the value. A rule has nothing to add on a field that could
// not be read, nor on a list with such a field.
func (f *Form) Check(err error) {
	for _, e := range fault.All(err) {
		c := *e
		c.Field = f.at(e.Field)
		if d := f.decls[c.Field]; d != nil && d.at != nil {
			k, err := strconv.Atoi(e.Field[strings.LastIndexByte(e.Field, '.')+1:])
			if err == nil && k >= 1 && k <= len(d.at) {
				f.line[&c] = d.at[k-1]
			}
		}
		if !f.shaded(c.Field) {
			f.faults.Add(&c)
		}
	}
}

// at is the form's name for a path of the domain value: lines are counted without
// gaps there, and by the rows here.
func (s *state) at(path string) string {
	if path == "" {
		return ""
	}
	name := s.inRows(path)
	if to, ok := s.alias[name]; ok {
		return to
	}
	if s.decls[name] != nil || s.lists[name] != nil {
		return name
	}
	// A fault of one entry stands at the field that holds them all.
	if i := strings.LastIndexByte(name, '.'); i > 0 {
		if d := s.decls[name[:i]]; d != nil && d.at != nil {
			return d.name
		}
	}
	// A fault of a row as a whole stands at its first field.
	for _, n := range s.order {
		if d := s.decls[n]; d != nil && d.Kind != unseen && strings.HasPrefix(n, name+".") && d.row != nil &&
			d.row.list.name+"."+strconv.Itoa(d.row.n) == name {
			return n
		}
	}
	return name
}

// inRows is a path of the domain value with the numbers of the form's rows.
func (s *state) inRows(path string) string {
	var name string
	for i, part := range strings.Split(path, ".") {
		if to := s.alias[name]; s.lists[to] != nil {
			name = to // what the rules call the list
		}
		if l := s.lists[name]; l != nil {
			if k, err := strconv.Atoi(part); err == nil && k >= 1 && k <= len(l.lines) {
				part = strconv.Itoa(l.lines[k-1].n)
			}
		}
		if i > 0 {
			name += "."
		}
		name += part
	}
	return name
}

func (s *state) shaded(name string) bool {
	if name == "" {
		return false
	}
	if s.bad[name] {
		return true
	}
	for bad := range s.bad {
		if strings.HasPrefix(bad, name+".") || strings.HasPrefix(name, bad+".") {
			return true
		}
		if d := s.decls[bad]; d != nil && slices.Contains(d.shades, name) {
			return true
		}
	}
	return false
}

// Sound reports whether nothing is wrong with what was typed, as far as it was
// read and checked.
func (f *Form) Sound() bool { return len(f.faults) == 0 }

// Faults are all that is wrong, each on the form's name of its field, in the order
// of the form. They are drawn once the form is refused.
func (f *Form) Faults() fault.List {
	out := slices.Clone(f.faults)
	rank := map[string]int{"": len(f.order) + 1}
	for i, n := range f.order {
		rank[n] = i
	}
	of := func(e *fault.Error) int {
		if r, ok := rank[e.Field]; ok {
			return r
		}
		return len(f.order)
	}
	slices.SortStableFunc(out, func(a, b *fault.Error) int { return of(a) - of(b) })
	return out
}

// Refused takes in what a rule or a record says of the value, as Check does, and
// reports whether the form goes back to the maker. From then on its faults stand
// at their fields and in the summary. What is no fault of the form, a record that
// is gone or a disk that fails, is left to the handler: then Refused is false, and
// the handler returns err.
func (f *Form) Refused(err error) bool {
	for _, e := range fault.All(err) {
		if e.Kind == fault.Internal || e.Kind == fault.NotFound {
			return false
		}
	}
	f.Check(err)
	f.refused = len(f.faults) > 0
	return f.refused
}

// Take is Refused for a handler that then asks whether the form is Sound: it gives
// back what is no fault of the form.
func (f *Form) Take(err error) error {
	if err == nil || f.Refused(err) {
		return nil
	}
	return err
}

// Status is that of the page: 422 or 409 for a form that was refused, else 200.
func (f *Form) Status() int {
	if !f.refused {
		return http.StatusOK
	}
	return shell.StatusOf(f.faults[0].Kind)
}

// FaultAt is the sentence that stands at a field, or at an element of the page of
// that name; "" for none.
func (f *Form) FaultAt(path string) string {
	if f.refused {
		name := f.name(path)
		for _, e := range f.faults {
			if e.Field == name {
				return f.sentence(e)
			}
		}
	}
	return ""
}

// Summary is the list of faults at the head of the page, each with the label of
// its field and a link to it.
func (f *Form) Summary() shell.Summary {
	var s shell.Summary
	if !f.refused {
		return s
	}
	for _, e := range f.Faults() {
		s.Faults = append(s.Faults, shell.Link{Href: f.href(e.Field), Text: f.labelled(e)})
	}
	return s
}

// Why says, in the order of the form, what hinders the sums while the maker types:
// the faults on fields whose names begin with one of these, or all of them.
func (f *Form) Why(begins ...string) []string {
	var out []string
	for _, e := range f.Faults() {
		if len(begins) == 0 || slices.ContainsFunc(begins, func(b string) bool { return strings.HasPrefix(e.Field, b) }) {
			out = append(out, f.labelled(e))
		}
	}
	return out
}

// Hindrance is the first sentence of what hinders the sums while the maker types;
// "" for none. Skip says on which fields a fault hinders nothing: a name that is
// still missing, say.
func (f *Form) Hindrance(skip func(name string) bool) string {
	for _, e := range f.Faults() {
		if !skip(e.Field) {
			return f.labelled(e)
		}
	}
	return ""
}

// Say is what is wrong by err, in the form's voice: a sentence for each fault, as far
// as a maker can do something about it.
func (f *Form) Say(err error) []string {
	var out []string
	for _, e := range fault.All(err) {
		if e.Kind != fault.Internal {
			out = append(out, f.sentence(e))
		}
	}
	return out
}

// Told is what is wrong by err, as Why says it, without taking it in: what the sums
// refuse of a value that is still being typed.
func (f *Form) Told(err error) []string {
	var out []string
	for _, e := range fault.All(err) {
		if e.Kind != fault.Internal {
			c := *e
			c.Field = f.at(e.Field)
			out = append(out, f.labelled(&c))
		}
	}
	return out
}

// href is where a fault leads.
func (s *state) href(name string) string {
	switch d, l := s.decls[name], s.lists[name]; {
	case name == "":
		return ""
	case l != nil && l.anchor != "":
		return "#" + l.anchor
	case d != nil && d.Kind != unseen, s.pageIDs[name]:
		return "#" + name
	}
	return ""
}

// labelled is a fault's sentence after the label of its field. Outside of rows the
// label is left out where the sentence has all its words, so that every line names its
// field once.
func (f *Form) labelled(e *fault.Error) string {
	d := f.decls[e.Field]
	if d == nil {
		return f.sentence(e)
	}
	said, label := f.said(e), d.called()
	if label == "" || !d.inRow() && names(said, label) {
		return f.sentence(e)
	}
	return label + ": " + said
}

// names reports whether a sentence has every word of a label, in any order.
func names(said, label string) bool {
	said = strings.ToLower(said)
	for _, w := range strings.FieldsFunc(strings.ToLower(label), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if !strings.Contains(said, w) {
			return false
		}
	}
	return true
}

// quoted is a text in straight quotes, as lower packages set what was typed.
var quoted = regexp.MustCompile(`"(?:[^"\\]|\\.)*"`)

// curly sets the quotes of a page around what lower packages quoted.
func curly(s string) string {
	return quoted.ReplaceAllStringFunc(s, func(q string) string {
		if text, err := strconv.Unquote(q); err == nil {
			return "“" + text + "”"
		}
		return q
	})
}

// inRow reports whether a field stands in a row that has a name.
func (d *decl) inRow() bool { return d.row != nil && d.row.list.noun != "" }

// called is what a field is called outside of its row: "Part 2, how much".
func (d *decl) called() string {
	if !d.inRow() {
		return d.Label
	}
	head := d.row.list.noun + " " + strconv.Itoa(d.row.at)
	if d.Label == "" || strings.HasPrefix(d.Label, d.row.list.noun+" ") {
		return head
	}
	return head + ", " + lower(d.Label)
}

// said is a fault in the form's voice, with a stop at its end.
func (f *Form) said(e *fault.Error) string {
	var v fault.Voice = f.voice
	if v == nil {
		v = byLabel{f.state}
	}
	s := curly(e.In(v))
	if n := f.line[e]; n > 0 {
		s = "Line " + strconv.Itoa(n) + ": " + s
	}
	if s != "" && !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return s
}

// sentence is a fault that stands by itself. What a parser says of a number is a
// clause, for a command puts the file and the key before it.
func (f *Form) sentence(e *fault.Error) string { return words.Sentence(f.said(e)) }

// lower begins a label in lower case, inside a sentence; abbreviations stay.
func lower(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if next, _ := utf8.DecodeRuneInString(s[n:]); unicode.IsUpper(next) {
		return s
	}
	return string(unicode.ToLower(r)) + s[n:]
}

// byLabel is the voice of a form that was given none: it knows the ingredients.
type byLabel struct{ *state }

func (v byLabel) Record(r fault.Ref) string {
	if cat := v.faces.Cat; cat != nil && r.Kind == "ingredient" {
		if in, err := cat.Get(r.ID); err == nil {
			return "“" + in.Name + "”"
		}
	}
	return "“" + r.ID + "”"
}

func (v byLabel) Field(k fault.Key) string {
	name := string(k)
	if to, ok := v.alias[name]; ok {
		name = to
	}
	if d := v.decls[name]; d != nil && d.Field.Label != "" {
		return lower(d.Field.Label)
	}
	for _, n := range v.order {
		if d := v.decls[n]; d != nil && strings.HasSuffix(n, "."+name) && d.Field.Label != "" {
			return lower(d.Field.Label)
		}
	}
	return strings.ReplaceAll(name, "_", " ")
}
