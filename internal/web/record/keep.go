package record

import (
	"cmp"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/studio"
)

// Editing is where an editor stands: which record it changes, and from which version.
type Editing[Doc any] struct {
	Record *studio.Record[Doc]  // nil for a new one
	Shown  *studio.Version[Doc] // the version that was opened; nil where a form was posted
	// Base is the version that the form changes, and Once the id under which
	// keeping it counts once: the form carries both along unseen.
	Base int
	Once string

	Action  string // address of the form
	Keep    string // the words on its button: "Keep as version 3"
	History string // address of the versions; "" while new

	Conflict *shell.Conflict // after a newer version was kept meanwhile; nil otherwise
	Kept     int             // the version that was kept just now; 0 for none
}

// Edit finds the record that a request is about, none for a new one, and the
// version it asks for, by ?v=. Errors: fault.NotFound.
func (p Pages[Doc]) Edit(a *form.Ask, id string) (Editing[Doc], error) {
	e := Editing[Doc]{Action: p.Path + "/new", Keep: "Keep as version 1", Once: cmp.Or(a.PostFormValue("once"), studio.NewID())}
	if id == "" {
		return e, nil
	}
	rec, err := p.Records.Get(a.Context(), id)
	if err != nil {
		return e, err
	}
	e.Record, e.Base = &rec, rec.Newest.N
	e.Action = p.Path + "/" + id
	e.History, e.Keep = e.Action+"/versions", "Keep as version "+strconv.Itoa(rec.Newest.N+1)
	if a.Posted {
		// What is no version of the record is told by Kept; the form shows the newest.
		if n, err := strconv.Atoi(a.PostFormValue("base")); err == nil && n >= 1 && n <= rec.Newest.N {
			e.Base = n
		}
		return e, nil
	}
	e.Shown, e.Kept = &rec.Newest, keptJustNow(a, rec.Newest.N)
	n, err := VersionN(cmp.Or(a.FormValue("v"), strconv.Itoa(rec.Newest.N)))
	if err != nil {
		return e, err
	}
	if n != rec.Newest.N {
		ver, err := p.Records.Version(a.Context(), id, n)
		if err != nil {
			return e, err
		}
		e.Shown = &ver
	}
	return e, nil
}

// VersionN reads the number of a version in an address, as the program writes it.
// Errors: fault.NotFound for any other text.
func VersionN(text string) (int, error) {
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || strconv.Itoa(n) != text {
		return 0, fault.NotFoundf("version", "There is no version “%.40s”. Look for it in the list of versions.", strings.ToValidUTF8(text, "�"))
	}
	return n, nil
}

// Form is the form of a request's document: of what was posted, or one that a value is
// to be written in. Bind binds it to a document, whose newest version says what numbers
// are exactly that stand as they were shown. Pressed is as form.Do gives it.
func (e *Editing[Doc]) Form(a *form.Ask, bind func(*form.Form, *Doc)) (f *form.Form, pressed string) {
	if !a.Posted {
		return form.Of(a.Faces), ""
	}
	f = form.Read(a.Sent, a.Faces)
	if pressed = f.Do(); pressed == keepApart {
		e.rename(f)
		pressed = "keep"
	}
	if e.Record != nil {
		kept, was := form.Of(a.Faces), e.Record.Newest.Doc
		bind(kept, &was)
		f.Over(kept)
	}
	return f, pressed
}

// Head is the head of the editor's page: its title, which version stands there,
// and the button that keeps it. The form has the id of the kind's word.
func (p Pages[Doc]) Head(e Editing[Doc], f form.Faces, name string, actions ...shell.Button) shell.Head {
	h := shell.Head{Title: cmp.Or(name, "A new "+p.Words.One), Lead: "Nothing is kept until you press Keep."}
	if rec := e.Record; rec != nil {
		h.Lead = fmt.Sprintf("Version %d is the newest, kept %s. It never changes.", rec.Newest.N, f.Day(rec.Newest.KeptAt))
		if e.Shown != nil && e.Shown.N != rec.Newest.N {
			h.Lead = fmt.Sprintf("You are looking at version %d of %d. Keeping it makes version %d.", e.Shown.N, rec.Newest.N, rec.Newest.N+1)
		}
		if rec.Archived() {
			h.Lead = "It is archived. Bring it back under Versions before you change it."
		}
		if e.Kept > 0 {
			h.Said = fmt.Sprintf("Kept as version %d.", e.Kept)
		}
		h.Actions = append(h.Actions, shell.Button{Label: "Versions", Href: e.History})
	}
	h.Actions = append(h.Actions, actions...)
	h.Actions = append(h.Actions, shell.Button{Label: e.Keep, Look: shell.Main, Form: p.Words.One, Name: "do", Value: "keep"})
	return h
}

// Kept keeps a document that was read from a form, as a new record or as the next
// version of the one that is edited. It gives the record's id, or "" for a form that
// goes back to the maker with its faults and with what was typed. After a
// conflict the form no longer says which version it changes: told of the newer
// version, the maker may keep theirs on top of it.
func (p Pages[Doc]) Kept(a *form.Ask, f *form.Form, e *Editing[Doc], d Doc) (id string, err error) {
	if f.Refused(nil) {
		return "", p.conflict(a, e, d, nil)
	}
	ctx := studio.Once(a.Context(), e.Once)
	var ver studio.Version[Doc]
	switch {
	case e.Record == nil, apart(a):
		ver, err = p.Records.New(ctx, d, f.Typed(NoteField))
	case a.PostFormValue("base") != strconv.Itoa(e.Base):
		err = fault.Invalidf("", "The form does not say which version it changes, so nothing was kept. "+
			"What you typed is still here. The newest is version %d: look at it, then keep yours on top of it.", e.Record.Newest.N)
	default:
		ver, err = p.Records.Keep(ctx, e.Record.ID, e.Base, d, f.Typed(NoteField))
	}
	if err == nil {
		e.Kept = ver.N
		return ver.ID, nil
	}
	refused := err
	if err = f.Take(err); err != nil {
		return "", err
	}
	if err = p.conflict(a, e, d, refused); err == nil && f.Status() == http.StatusConflict {
		// The form as it comes back is another one than the form that was sent before.
		e.Once = studio.NewID()
		if e.Record != nil {
			e.Base = e.Record.Newest.N
		}
	}
	return "", err
}
