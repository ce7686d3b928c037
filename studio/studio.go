// Package studio is what the maker does with the studio's records: keep a
// version of a formula, a mould or a design, add an ingredient, make a run.
//
// It knows no SQL and no HTTP. It says what it needs of a store (Store, Reader,
// Writer), and every act of the maker is one transaction there. Records[Doc] is
// the one mechanism of all versioned records; Once makes an act count once.
package studio

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/google/uuid"

	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/mould"
)

// Limits on what is written down, so that a page stays a page. A maker does not
// meet them by hand.
const (
	maxNameRunes     = 200
	maxNoteRunes     = 4000
	maxDocumentBytes = 1 << 20
)

// format is the number of the form in which documents (formulas, designs,
// moulds, ingredients, settings, sheets, runs) are written. It rises when their
// JSON changes in a way that an older program would misread.
//
// It is still 1. Portions, bases, colourants, cutting plans and everything else
// that came later have keys of their own, which are left out if they are empty.
// So a document without them has not changed. An older program refuses a document
// that has them, or the method melt (see decode), and so cannot misread it.
const format = 1

// Studio is the studio's records and the rules on them. Its methods may be
// called from many goroutines. Their errors are fault.Error or fault.List for
// what the maker can mend; anything else is a fault of the machine.
type Studio struct {
	Formulas Records[Formula]
	Moulds   Records[mould.Mould]
	Designs  Records[*design.Design]

	store Store
	base  *catalogue.Catalogue
	now   func() time.Time
	newID func() string

	mu       sync.Mutex
	overlaid *catalogue.Catalogue // base with the studio's own ingredients
	names    map[Kind]namesAt
	revision int // of the ingredients that overlaid was made from
	folded   []foldedName
	foldedOf *catalogue.Catalogue // that folded was made from
}

// New makes a Studio on store. Base is the catalogue beneath the studio's own
// ingredients; now gives the present instant; newID a fresh identifier that
// rises with time (NewID is one).
func New(store Store, base *catalogue.Catalogue, now func() time.Time, newID func() string) *Studio {
	s := &Studio{store: store, base: base, now: now, newID: newID, revision: -1, names: map[Kind]namesAt{}}
	s.Formulas = Records[Formula]{s, formulas{}}
	s.Moulds = Records[mould.Mould]{s, moulds{}}
	s.Designs = Records[*design.Design]{s, designs{}}
	return s
}

// NewID is a fresh UUID of version 7 (RFC 9562): it rises with time, so that
// what was made later sorts later.
func NewID() string { return uuid.Must(uuid.NewV7()).String() }

// instant is the present in UTC, to the microsecond that the store keeps.
func (s *Studio) instant() time.Time { return s.now().UTC().Truncate(time.Microsecond) }

// A Page is one page of a list.
type Page[T any] struct {
	Items  []T
	Number int // from 1
	Size   int // items on a full page
	Total  int // items on all pages together
}

// Pages is how many pages the list has; at least 1.
func (p Page[T]) Pages() int { return max(1, (p.Total+p.Size-1)/p.Size) }

// A Slice asks for one page of a list. The zero Slice is the first page, of 50.
type Slice struct {
	Number int // from 1; less is the first page
	Size   int // 1 to 500; less is 50
}

func (p Slice) sound() Slice {
	p.Number = max(1, p.Number)
	if p.Size < 1 {
		p.Size = 50
	}
	p.Size = min(p.Size, 500)
	// An offset beyond any list is an empty page, not an overflow.
	p.Number = min(p.Number, 1_000_000)
	return p
}

// line checks a one-line text: trimmed, printable, not empty when required.
func line(field, what, s string, required bool) (string, *fault.Error) {
	s = strings.Join(strings.Fields(s), " ")
	if s == "" && required {
		return "", fault.Invalidf(field, "The %s is empty. Give it one.", what)
	}
	return printable(field, what, s, maxNameRunes, "")
}

// text checks a text of several lines.
func text(field, what, s string) (string, *fault.Error) {
	return printable(field, what, strings.TrimSpace(strings.ReplaceAll(s, "\r\n", "\n")), maxNoteRunes, "\n\t")
}

// printable gives s unless it is longer than most, or holds a control character
// that is none of those allowed.
func printable(field, what, s string, most int, allowed string) (string, *fault.Error) {
	if !utf8.ValidString(s) {
		return "", fault.Invalidf(field, "The %s is not written in UTF-8. Type it again.", what)
	}
	if n := utf8.RuneCountInString(s); n > most {
		return "", fault.Invalidf(field, "The %s has %d characters. Keep it to %d.", what, n, most)
	}
	for _, r := range s {
		if unicode.IsControl(r) && !strings.ContainsRune(allowed, r) {
			return "", fault.Invalidf(field, "The %s holds the control character %U. Type it again without it.", what, r)
		}
	}
	return s, nil
}

// document writes v in the present format. Go writes a float64 as the shortest
// decimal that reads back as the same float64, so figures round-trip exactly; it
// refuses NaN and infinity.
func document(what string, v any) (Document, error) {
	b, err := json.Marshal(v)
	if err != nil {
		var bad *json.UnsupportedValueError
		if errors.As(err, &bad) {
			return Document{}, &fault.Error{Kind: fault.Invalid, Message: fmt.Sprintf("The %s holds a number that is not finite (%s). Nothing was kept.", what,
				bad.Str), Err: err}
		}
		return Document{}, &fault.Error{Kind: fault.Internal, Message: fmt.Sprintf("The %s could not be written down. Nothing was kept.", what), Err: err}
	}
	if len(b) > maxDocumentBytes {
		return Document{}, fault.Invalidf("", "The %s takes %d bytes; at most %d are kept.", what, len(b), maxDocumentBytes)
	}
	return Document{Format: format, Body: b}, nil
}

// decode reads a stored document, strictly: a key that this program does not
// know was written by a newer one, and to drop it in silence would lose it.
func decode(what string, d Document, v any) error {
	newer := func(err error) error {
		return &fault.Error{Kind: fault.Internal, Message: fmt.Sprintf("The %s in the studio's file cannot be read by this program. If a newer "+
			"Barwright wrote it, open it with that one. Otherwise bring back a backup.", what), Err: err}
	}
	if d.Format != format {
		return newer(fmt.Errorf("document format %d, this program reads %d", d.Format, format))
	}
	dec := json.NewDecoder(strings.NewReader(string(d.Body)))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		return newer(err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return newer(errors.New("more than one JSON value"))
	}
	return nil
}

// each makes something of every row, in order, and stops at the first that cannot
// be read.
func each[R, T any](rows []R, f func(R) (T, error)) ([]T, error) {
	out := make([]T, len(rows))
	var err error
	for i, row := range rows {
		if out[i], err = f(row); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// read runs f on one steady view of the records.
func read[T any](ctx context.Context, s *Studio, f func(Reader) (T, error)) (T, error) {
	return within(ctx, s.store.Read, f)
}

// within runs f in a view or a transaction, and gives its result when that ended
// well. The store may run f again when another writer came between, so f must not
// change anything outside itself but what it returns.
func within[R, T any](ctx context.Context, run func(context.Context, func(R) error) error, f func(R) (T, error)) (T, error) {
	var out, zero T
	err := run(ctx, func(r R) (err error) {
		out, err = f(r)
		return err
	})
	if err != nil {
		return zero, err
	}
	return out, nil
}
