package record

import (
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/studio"
)

// Plain is an editor of plain fields, for a kind that needs no drawing and no live
// answer.
type Plain[Doc any] struct {
	Pages[Doc]
	// Bind binds the form to the document; see package form. Fields are drawn in the
	// order in which it binds them.
	Bind func(f *form.Form, d *Doc)
	// Name is the field that holds the record's name.
	Name string
}

// plainView is the editor's page.
type plainView struct {
	Form   *form.Form
	Fields []string
	ID     string // of the form
	Action string
	Base   int
	Once   string

	Conflict *shell.Conflict
}

var plainPage = shell.Declare[plainView](room, "plain")

// Open registers the editor's addresses and those of Pages.
func (p Plain[Doc]) Open() {
	p.Pages.Open()
	p.Serve(p.edit, "GET "+p.Path+"/new", "POST "+p.Path+"/new", "GET "+p.Path+"/{id}", "POST "+p.Path+"/{id}")
}

// edit shows the editor, and keeps what was posted.
func (p Plain[Doc]) edit(a *form.Ask) error {
	e, err := p.Edit(a, a.PathValue("id"))
	if err != nil {
		return err
	}
	var d Doc
	if e.Shown != nil {
		d = e.Shown.Doc
	}
	f, _ := e.Form(a, p.Bind)
	p.Bind(f, &d)
	BindNote(f)
	if a.Posted {
		if id, err := p.Kept(a, f, &e, d); err != nil || id != "" {
			return p.GoKept(a, &e, id, err)
		}
	}
	return form.Answer(plainPage, a, f, p.Head(e, a.Faces, f.Typed(p.Name)),
		plainView{Form: f, Fields: f.Drawn(), ID: p.Words.One, Action: e.Action, Base: e.Base, Once: e.Once, Conflict: e.Conflict})
}

// NoteField is the field for what the maker says of a version. It stands beside
// the document, which may have a note of its own.
const NoteField = studio.NoteField

// BindNote binds NoteField.
func BindNote(f *form.Form) {
	note := f.Typed(NoteField)
	f.Text(NoteField, &note, form.Label("What changed, for the record"), form.Wide)
	f.Known("base", "once")
}
