package studio

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"barwright/fault"
)

// onceKey is the key of the id that Once puts into a context.
type onceKey struct{}

// Once says that what is done with the context counts once under id. The id is
// made where the act began: when the form was drawn, or on the device. A form
// sent twice, or a device that asks again after a lost answer, then gets the
// result of the first time.
//
// An empty id changes nothing: each call counts.
func Once(ctx context.Context, id string) context.Context {
	if id == "" {
		return ctx
	}
	return context.WithValue(ctx, onceKey{}, id)
}

// maxOnceID is how many printable characters of ASCII the id of an act may have.
// A UUID has 36.
const maxOnceID = 100

// act is something the maker does that changes records.
type act[T any] struct {
	what string // as "keep formula"
	// asked is all that it is done from. With the same id and something else
	// asked for, the act is refused.
	asked any
	do    func(Writer) (T, error)
	// ref is the id of a result, and its version where it has some; load gives the
	// result of an act that was done before.
	ref  func(T) (id string, n int)
	load func(r Reader, id string, n int) (T, error)
}

// soundID reports that a form can have the id.
func soundID(id string) bool {
	return id != "" && len(id) <= maxOnceID && !strings.ContainsFunc(id, func(r rune) bool { return r <= ' ' || r > '~' })
}

// digestOf is a digest of what was asked for.
func digestOf(asked any) string {
	b, err := json.Marshal(asked)
	if err != nil {
		// What cannot be written as JSON is refused by the act itself, with its reason.
		b = fmt.Appendf(nil, "%+v", asked)
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// is reports that what was done is what is asked for again.
func (d DoneRow) is(what, digest string) bool {
	return d.What == what && (d.Digest == "" || d.Digest == digest)
}

// once does an act in one transaction. Where the context carries an id (see
// Once) under which the act was done before, nothing is changed and the first
// result is given again.
//
// Errors: those of the act; fault.Conflict when the id was used for something else.
func once[T any](ctx context.Context, s *Studio, a act[T]) (T, error) {
	id, _ := ctx.Value(onceKey{}).(string)
	var digest string
	if id != "" {
		var zero T
		if !soundID(id) {
			return zero, fault.Invalidf("once", "This form's id cannot be used. Open the page again and send it from there.")
		}
		digest = digestOf(a.asked)
	}
	return within(ctx, s.store.Write, func(w Writer) (T, error) {
		var zero T
		if id == "" {
			return a.do(w)
		}
		before, err := w.Done(ctx, id)
		if err == nil {
			if !before.is(a.what, digest) {
				return zero, fault.Conflictf("", "This form was sent before with something else in it, and that was kept. Nothing was changed now. Open the "+
					"page again, and look at what is there.").Under("once")
			}
			return a.load(w, before.Result, before.N)
		}
		if !errors.Is(err, ErrNone) {
			return zero, err
		}
		out, err := a.do(w)
		if err != nil {
			return zero, err
		}
		ref, n := a.ref(out)
		return out, w.AddDone(ctx, DoneRow{ID: id, What: a.what, Digest: digest, Result: ref, N: n, At: s.instant()})
	})
}
