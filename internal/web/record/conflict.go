package record

import (
	"slices"

	"barwright/fault"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
)

// keepApart is the value of the button that keeps what was typed as a record of its own.
const keepApart = "keep-apart"

// apart reports whether the maker asks to keep what was typed as a record of its own.
func apart(a *form.Ask) bool { return a.PostFormValue("do") == keepApart }

// rename gives what is kept as a record of its own another name than the record that it
// comes from, as a copy has.
func (e *Editing[Doc]) rename(f *form.Form) {
	if e.Record != nil && f.Typed("name") == e.Record.Name {
		f.Set("name", copyName(e.Record.Name))
	}
}

// copyName is the name that a copy is offered.
func copyName(name string) string { return name + ", again" }

// conflict sets what the maker is offered where a newer version was kept meanwhile, and
// while they name a record of its own.
func (p Pages[Doc]) conflict(a *form.Ask, e *Editing[Doc], d Doc, err error) error {
	newer := slices.ContainsFunc(fault.All(err), func(x *fault.Error) bool { return x.Rule == "newer-version" })
	if e.Record == nil || !newer && !apart(a) {
		return nil
	}
	rec, err := p.Records.Get(a.Context(), e.Record.ID)
	if err != nil {
		return err
	}
	e.Record = &rec
	c := shell.Conflict{One: p.Words.One, N: rec.Newest.N, Href: versionHref(p.Path+"/"+rec.ID, rec.Newest.N), Apart: keepApart}
	if p.Changes != nil {
		if c.Changes, err = p.Changes(a.Context(), a.Faces, rec.Newest.Doc, d); err != nil {
			return err
		}
	}
	e.Conflict = &c
	return nil
}
