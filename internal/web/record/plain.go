package record

import (
	"net/http"
	"slices"

	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/studio"
)

// Plain is an editor of plain fields, for a kind that needs no drawing and no live
// answer.
type Plain[Doc any] struct {
	Pages[Doc]
	// Bind binds the form to the document; see package form.
	Bind func(f *form.Form, d *Doc)
	// Name is the field that holds the record's name, and Fields are all fields in
	// the order in which they are drawn.
	Name   string
	Fields []string
}

// plainView is the editor's page.
type plainView struct {
	Form   *form.Form
	Fields []string
	ID     string // of the form
	Action string
	Base   int
	Once   string
}

var plainPage = shell.Declare[plainView](room, "plain")

// Handle registers the editor's addresses and those of Pages.
func (p Plain[Doc]) Handle() {
	p.Pages.Handle()
	p.Shell.Handle("GET "+p.Path+"/new", p.edit)
	p.Shell.Handle("POST "+p.Path+"/new", p.edit)
	p.Shell.Handle("GET "+p.Path+"/{id}", p.edit)
	p.Shell.Handle("POST "+p.Path+"/{id}", p.edit)
}

// edit shows the editor, and keeps what was posted.
func (p Plain[Doc]) edit(w http.ResponseWriter, r *http.Request) error {
	faces, err := form.FacesOf(r.Context(), p.Book)
	if err != nil {
		return err
	}
	e, err := p.Edit(r, r.PathValue("id"))
	if err != nil {
		return err
	}
	var d Doc
	f := form.Of(faces)
	if e.Shown != nil {
		d = e.Shown.Doc
	}
	if r.Method == http.MethodPost {
		v, err := form.Posted(r)
		if err != nil {
			return err
		}
		f, d = form.Read(v, faces), *new(Doc)
	}
	p.Bind(f, &d)
	BindNote(f)
	if r.Method == http.MethodPost && !f.Refused(nil) {
		ver, ok, err := p.Kept(r, f, &e, d)
		if err != nil || ok {
			return p.goTo(w, r, ver.ID, err)
		}
	}
	return form.Answer(plainPage, p.Shell, w, r, f, p.Head(e, faces, f.Typed(p.Name)),
		plainView{Form: f, Fields: append(slices.Clone(p.Fields), NoteField), ID: p.Words.One, Action: e.Action, Base: e.Base, Once: e.Once})
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
