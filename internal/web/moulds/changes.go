package moulds

import (
	"context"

	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/mould"
)

// changes says what changed from one version of a mould to another: every field of
// the form that reads otherwise, as the form shows it.
func changes(_ context.Context, f form.Faces, from, to mould.Mould) ([]formula.Change, error) {
	before, after := form.Of(f), form.Of(f)
	bindMould(before, &from, &poured{})
	bindMould(after, &to, &poured{})
	return form.Changes(before, after), nil
}
