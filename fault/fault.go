// Package fault is the one error type of Barwright: what is wrong, where, and
// what would do, in a sentence for the maker, with the cause kept for the log.
package fault

import (
	"errors"
	"fmt"
	"strings"
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
	File    string // file name as given; "" when it did not come from a file
	Line    int    // 1-based line in File; 0 when there is none
	Field   string // form field, key path or flag; "" when no single field is at fault
	Message string // a full sentence for the maker: what is wrong and what would do
	Err     error  // the cause, for the log; may be nil
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

// Invalidf makes an Invalid fault on field.
func Invalidf(field, format string, args ...any) *Error {
	return &Error{Kind: Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
}

// NotFoundf makes a NotFound fault on field.
func NotFoundf(field, format string, args ...any) *Error {
	return &Error{Kind: NotFound, Field: field, Message: fmt.Sprintf(format, args...)}
}

// Conflictf makes a Conflict fault on field.
func Conflictf(field, format string, args ...any) *Error {
	return &Error{Kind: Conflict, Field: field, Message: fmt.Sprintf(format, args...)}
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

// Error joins the faults on one line.
func (l List) Error() string {
	parts := make([]string, len(l))
	for i, e := range l {
		parts[i] = e.Error()
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
