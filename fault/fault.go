// Package fault is the one error type of Barwright. A fault says what is wrong
// and what to do about it, in a sentence for the maker. It keeps the cause for
// the log.
//
// A fault also carries its rule, its field and the records that it is about, so
// that the door that shows it (a page, a command) can write the sentence with
// its own names. See Error.In.
package fault

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Kind says what sort of fault it is, and so which status a page or a command
// answers with.
type Kind uint8

const (
	// Internal is a fault of the program or the machine. It is the zero Kind,
	// so that forgetting to set one hides detail rather than leaking it.
	Internal Kind = iota
	// Invalid is input that cannot be used: status 422, exit code 2.
	Invalid
	// NotFound is a name that stands for nothing: status 404, exit code 2.
	NotFound
	// Conflict is input that was sound when the page was drawn and no longer
	// is, as when someone else kept a version first: status 409.
	Conflict
)

// Error is one fault.
type Error struct {
	Kind    Kind
	Rule    string // stable name of the rule that was broken, in kebab-case; "" where no door asks for it
	File    string // file name as given; "" when it did not come from a file
	Line    int    // 1-based line in File; 0 when there is none
	Field   string // form field, key path or flag; "" when no single field is at fault
	Message string // a full sentence for the maker, with ids and keys as a file has them
	Err     error  // the cause, for the log; may be nil

	// Of is the record that the fault belongs to, and OfField the field within it,
	// where a question reaches several records; see Within.
	Of      Ref
	OfField string

	// What Message was written from, so that it can be written in another voice.
	format string
	args   []any
}

// A Ref names a record in a sentence: an argument of Invalidf and its siblings.
// A file knows the record by its id; a page shows its name.
type Ref struct {
	Kind string // formula, mould, design, ingredient, …
	ID   string
}

// maxShown is how many letters of an id a sentence shows: a file may hold an id
// as long as itself.
const maxShown = 60

// String is the id in quotes, as a command shows it: printable, and cut short
// where it is very long.
func (r Ref) String() string {
	id := strings.ToValidUTF8(r.ID, "\uFFFD")
	if utf8.RuneCountInString(id) > maxShown {
		id = string([]rune(id)[:maxShown-3]) + "…"
	}
	return strconv.Quote(id)
}

// A Key names a field in a sentence: an argument of Invalidf and its siblings. A
// file calls the field by its key, as fill_to_pct; a page says it in words.
type Key string

// A Voice is how a door names records and fields in a sentence.
type Voice interface {
	// Record is what the door calls a record, in quotes where it needs them.
	Record(Ref) string
	// Field is what the door calls a field.
	Field(Key) string
}

// Refs are the records that the fault is about, in the order of its sentence.
func (e *Error) Refs() []Ref {
	var out []Ref
	for _, a := range e.args {
		switch a := a.(type) {
		case Ref:
			out = append(out, a)
		case []Ref:
			out = append(out, a...)
		}
	}
	return out
}

// In is the fault's sentence in the voice of a door. It is Message where the
// fault was not written with references or keys.
func (e *Error) In(v Voice) string {
	if e.format == "" {
		return e.Message
	}
	return spoken(v, e.format, e.args)
}

// spoken writes a sentence; a nil voice keeps ids and keys as a file has them.
func spoken(v Voice, format string, args []any) string {
	said := make([]any, len(args))
	for i, a := range args {
		switch a := a.(type) {
		case Ref:
			said[i] = record(v, a)
		case []Ref:
			names := make([]string, len(a))
			for k, r := range a {
				names[k] = record(v, r)
			}
			said[i] = strings.Join(names, ", ")
		case Key:
			said[i] = string(a)
			if v != nil {
				said[i] = v.Field(a)
			}
		default:
			said[i] = a
		}
	}
	return fmt.Sprintf(format, said...)
}

func record(v Voice, r Ref) string {
	if v == nil {
		return r.String()
	}
	return v.Record(r)
}

// Error gives the place, if known, and the sentence.
func (e *Error) Error() string {
	var b strings.Builder
	if e.File != "" {
		b.WriteString(e.File)
		if e.Line > 0 {
			fmt.Fprintf(&b, ":%d", e.Line)
		}
		b.WriteString(": ")
	} else if e.Line > 0 {
		fmt.Fprintf(&b, "line %d: ", e.Line)
	}
	if e.Field != "" {
		b.WriteString(e.Field)
		b.WriteString(": ")
	}
	if e.Message == "" {
		b.WriteString("something went wrong inside the program")
	} else {
		b.WriteString(e.Message)
	}
	return b.String()
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// Under gives the fault the name of a rule, for a door or a test that asks which
// rule was broken.
func (e *Error) Under(rule string) *Error {
	e.Rule = rule
	return e
}

// Within says that the fault belongs to a record which is one of several that
// were asked about, and stands at path among them. The path is put before the
// field, as a file has it; a page that shows the record alone asks for OfField.
func (e *Error) Within(path string, of Ref) *Error {
	e.Of, e.OfField, e.Field = of, e.Field, path+e.Field
	return e
}

// Invalidf makes an Invalid fault on a field. The arguments of its sentence may
// be Refs, lists of Refs and Keys, formatted with %s.
func Invalidf(field, format string, args ...any) *Error {
	return newf(Invalid, field, format, args)
}

// NotFoundf makes a NotFound fault on a field, as Invalidf does.
func NotFoundf(field, format string, args ...any) *Error {
	return newf(NotFound, field, format, args)
}

// Conflictf makes a Conflict fault on a field, as Invalidf does.
func Conflictf(field, format string, args ...any) *Error {
	return newf(Conflict, field, format, args)
}

func newf(kind Kind, field, format string, args []any) *Error {
	return &Error{Kind: kind, Field: field, Message: spoken(nil, format, args), format: format, args: args}
}

// List collects faults, so that every bad field is reported at once. The zero
// List is empty and ready.
type List []*Error

// Add appends e, which may be nil.
func (l *List) Add(e *Error) {
	if e != nil {
		*l = append(*l, e)
	}
}

// Err returns the list as an error, or nil when it is empty.
func (l List) Err() error {
	if len(l) == 0 {
		return nil
	}
	return l
}

// Error joins the faults on one line. A sentence that another fault follows
// loses its full stop to the semicolon.
func (l List) Error() string {
	parts := make([]string, len(l))
	for i, e := range l {
		parts[i] = e.Error()
		if i < len(l)-1 {
			parts[i] = strings.TrimSuffix(parts[i], ".")
		}
	}
	return strings.Join(parts, "; ")
}

// Unwrap lets errors.Is and errors.As look into every fault.
func (l List) Unwrap() []error {
	out := make([]error, len(l))
	for i, e := range l {
		out[i] = e
	}
	return out
}

// All flattens err into its faults. An error that is none of ours becomes one
// Internal fault with err as its cause; nil gives nil.
func All(err error) List {
	if err == nil {
		return nil
	}
	var l List
	if errors.As(err, &l) {
		return l
	}
	var e *Error
	if errors.As(err, &e) {
		return List{e}
	}
	return List{{Kind: Internal, Err: err}}
}

// KindOf is the kind of the first fault in err; Internal for a foreign error.
func KindOf(err error) Kind {
	l := All(err)
	if len(l) == 0 {
		return Internal
	}
	return l[0].Kind
}
