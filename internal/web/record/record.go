// Package record is the pages that every kind of versioned record has: the list,
// the versions with what changed between two, and what can be done with a record
// as a whole: keep, copy, archive, bring back. A room says what is special about
// its kind (see Pages) and writes its editor; a kind whose form is plain fields
// needs no editor of its own (see Plain).
package record

import (
	"cmp"
	"context"
	"embed"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/studio"
)

//go:embed *.html
var files embed.FS

var room = shell.NewRoom("record", files)

// Words are what the pages say of one kind.
type Words struct {
	One    string // "formula"
	Many   string // "formulas"
	Lead   string // of the list
	Write  string // the button that begins one: "Write a formula"
	First  string // the list before there is one: what the first one needs
	Find   string // label of the search: "Find by name, or by what goes in"
	Within string // where a search looks: "in its name or among what goes into it"
	Note   string // under the list; may be empty
	// Same is what is said where nothing changed between two versions; "" says
	// that nothing differs.
	Same string
	// Versions is the lead of the versions page; "" says that a version never changes.
	Versions string
}

// Pages are the pages of one kind of record. Doc is its document.
type Pages[Doc any] struct {
	form.Room
	Records studio.Records[Doc]
	Path    string // "/formulas"
	Words   Words

	// Columns of the list, after the name and before the date; Rows gives a row
	// for each record of a page. Without Rows a row is the name alone.
	Columns []Column
	Rows    func(ctx context.Context, f form.Faces, list []studio.Record[Doc]) ([]Row, error)
	// VersionColumns and VersionRow are the same for the list of versions.
	VersionColumns []Column
	VersionRow     func(f form.Faces, v studio.Version[Doc]) Row
	// Changes says what changed from one version to another; nil compares nothing.
	Changes func(ctx context.Context, f form.Faces, from, to Doc) ([]formula.Change, error)
	// Links lead on from the list.
	Links []shell.Link
}

// A list is drawn by the shell. Of a Row, a room says all but where it leads and
// its name.
type (
	Column = shell.Column
	Cell   = shell.Cell
	Row    = shell.ListRow
)

// Open registers the addresses of the list and of the versions, and what can be
// done with a record as a whole. The room registers its editor.
func (p Pages[Doc]) Open() {
	p.Serve(p.list, "GET "+p.Path)
	p.Serve(p.versions, "GET "+p.Path+"/{id}/versions")
	p.Serve(p.duplicate, "POST "+p.Path+"/{id}/duplicate")
	p.Serve(p.archive, "POST "+p.Path+"/{id}/archive")
	p.Serve(p.bringBack, "POST "+p.Path+"/{id}/bring-back")
}

// perPage is how many records a page of a list shows.
const perPage = 25

// listView is the list of one kind.
type listView struct {
	Words       Words
	Path, Query string
	Archived    bool
	List        shell.List
	Pages       shell.Pages
	Empty       *shell.Empty
	Links       []shell.Link
}

// filled are the columns of a list, or none where no row has an answer in any.
func filled(columns []Column, rows []Row) []Column {
	if slices.ContainsFunc(rows, func(r Row) bool { return len(r.Cells) > 0 }) {
		return columns
	}
	return nil
}

var listPage = shell.Declare[listView](room, "list")

func (p Pages[Doc]) list(a *form.Ask) error {
	q, archived := strings.TrimSpace(a.FormValue("q")), a.FormValue("archived") != ""
	list := p.Records.List
	if archived {
		list = p.Records.ListArchived
	}
	n, _ := strconv.Atoi(a.FormValue("page")) // what is no number is the first page
	page, err := list(a.Context(), q, studio.Slice{Number: n, Size: perPage})
	if err == nil && page.Number > page.Pages() { // the list has become shorter: its last page
		page, err = list(a.Context(), q, studio.Slice{Number: page.Pages(), Size: perPage})
	}
	if err != nil {
		return err
	}
	v := listView{Words: p.Words, Path: p.Path, Query: q, Archived: archived, Links: p.Links,
		List: shell.List{Title: shell.Upper(p.Words.One), Caption: shell.Upper(p.Words.Many) + ", newest first"}}
	if archived {
		v.List.Title = "Archived"
	}
	rows, err := p.rows(a, page.Items)
	if err != nil {
		return err
	}
	columns := filled(p.Columns, rows)
	for i, rec := range page.Items {
		row, kept := rows[i], a.Faces.Day(rec.Newest.KeptAt)
		row.Name = rec.Name
		if rec.Unread == nil {
			row.Href = p.Path + "/" + rec.ID
		}
		row.Narrow, row.Cells = "kept "+kept, append(slices.Clone(row.Cells), make([]Cell, len(columns)+1-len(row.Cells))...)
		row.Cells[len(columns)].Value = kept
		if archived {
			row.Back = p.Path + "/" + rec.ID + "/bring-back"
		}
		v.List.Rows = append(v.List.Rows, row)
	}
	v.List.Columns = append(slices.Clip(columns), Column{Label: "kept", Wide: true})
	v.Pages, _ = shell.Pagination(p.Words.Many, page.Number, perPage, page.Total, func(n int) string {
		return shell.Address(p.Path, "page", strconv.Itoa(n), "q", q, "archived", a.FormValue("archived"))
	})
	write := shell.Button{Label: p.Words.Write, Look: shell.Main, Href: p.Path + "/new"}
	switch {
	case len(v.List.Rows) > 0:
	case q != "":
		v.Empty = &shell.Empty{Text: "No " + p.Words.One + " has “" + q + "” " + p.Words.Within + ".", Do: &shell.Button{Label: "Show all", Href: p.Path}}
	case archived:
		v.Empty = &shell.Empty{Text: "No " + p.Words.One + " is archived.", Do: &shell.Button{Label: "All " + p.Words.Many, Href: p.Path}}
	default:
		v.Empty = &shell.Empty{Text: p.Words.First, Do: &write}
	}
	return form.Show(listPage, a, http.StatusOK, shell.Head{Title: shell.Upper(p.Words.Many), Lead: p.Words.Lead, Actions: []shell.Button{write}}, v)
}

// rows are the rows of a list. A record that cannot be read has its sentence in it,
// and leads nowhere.
func (p Pages[Doc]) rows(a *form.Ask, list []studio.Record[Doc]) ([]Row, error) {
	var sound []studio.Record[Doc]
	for _, rec := range list {
		if rec.Unread == nil {
			sound = append(sound, rec)
		}
	}
	drawn := make([]Row, len(sound))
	if p.Rows != nil && len(sound) > 0 {
		var err error
		if drawn, err = p.Rows(a.Context(), a.Faces, sound); err != nil {
			return nil, err
		}
	}
	out := make([]Row, len(list))
	for i, rec := range list {
		if rec.Unread != nil {
			out[i].Aside = []string{rec.Unread.Error()}
			continue
		}
		out[i], drawn = drawn[0], drawn[1:]
	}
	return out, nil
}

// versionHref is the address of a version of the record that stands at here.
func versionHref(here string, n int) string { return fmt.Sprintf("%s?v=%d", here, n) }

// versionsView lists a record's versions and what changed between two.
type versionsView struct {
	Summary   shell.Summary
	Words     Words
	Here      string // address of the record
	List      shell.List
	From, To  shell.Field
	Compares  bool
	Between   string
	Changes   []formula.Change
	Same      string // said where nothing changed
	Duplicate shell.Field
	Archived  bool
	Once      string
}

var versionsPage = shell.Declare[versionsView](room, "versions")

func (p Pages[Doc]) versions(a *form.Ask) error { return p.showVersions(a, http.StatusOK, nil) }

// showVersions writes the versions page; refused is what is wrong with a copy
// that was asked for.
func (p Pages[Doc]) showVersions(a *form.Ask, status int, refused error) error {
	ctx, id := a.Context(), a.PathValue("id")
	rec, err := p.Records.Get(ctx, id)
	if err != nil {
		return err
	}
	all, err := p.Records.Versions(ctx, id)
	if err != nil {
		return err
	}
	v := versionsView{Summary: shell.Summarise(refused), Words: p.Words, Here: p.Path + "/" + id,
		List:     shell.List{Title: "Version", Caption: "Versions, newest first"},
		Archived: rec.Archived(), Compares: p.Changes != nil && len(all) > 1, Once: studio.NewID(),
		Duplicate: shell.Field{Name: "name", Label: "Name of the copy", Words: true, Wide: true,
			Value: copyName(rec.Name), Fault: shell.FaultAt(refused, "name")}}
	if name := a.PostFormValue("name"); refused != nil {
		v.Duplicate.Value = name
	}
	byN := map[int]Doc{}
	var opts []shell.Option
	var rows []Row
	for _, x := range all {
		byN[x.N] = x.Doc
		opts = append(opts, shell.Option{Value: strconv.Itoa(x.N), Label: "version " + strconv.Itoa(x.N)})
		var row Row
		if p.VersionRow != nil {
			row = p.VersionRow(a.Faces, x)
		}
		rows = append(rows, row)
		kept := "kept " + a.Faces.Day(x.KeptAt)
		if x.Note != "" {
			kept += ": " + x.Note
		}
		row.Href, row.Name = versionHref(v.Here, x.N), fmt.Sprintf("Version %d", x.N)
		row.Aside = append([]string{kept}, row.Aside...)
		v.List.Rows = append(v.List.Rows, row)
	}
	v.List.Columns = filled(p.VersionColumns, rows)
	asked := func(name string, or int) int {
		if n, err := strconv.Atoi(a.FormValue(name)); err == nil && n >= 1 && n <= rec.Newest.N {
			return n
		}
		return or
	}
	from, to := asked("from", max(rec.Newest.N-1, 1)), asked("to", rec.Newest.N)
	v.From = shell.Field{Name: "from", Kind: shell.Select, Label: "from", Value: strconv.Itoa(from), Options: opts}
	v.To = shell.Field{Name: "to", Kind: shell.Select, Label: "to", Value: strconv.Itoa(to), Options: opts}
	if from != to && v.Compares {
		v.Between = fmt.Sprintf("version %d to version %d", from, to)
		if v.Changes, err = p.Changes(ctx, a.Faces, byN[from], byN[to]); err != nil {
			return err
		}
		if len(v.Changes) == 0 {
			v.Same = cmp.Or(p.Words.Same, "Nothing differs.")
		}
	}
	lead := cmp.Or(p.Words.Versions, "A version that was kept never changes.")
	return form.Show(versionsPage, a, status, shell.Head{Title: rec.Name + ", versions", Lead: lead,
		Actions: []shell.Button{{Label: "Back to the " + p.Words.One, Href: v.Here}}}, v)
}

func (p Pages[Doc]) duplicate(a *form.Ask) error {
	n := 0 // the newest
	if text := a.Sent.Get("n"); text != "" {
		var err error
		if n, err = VersionN(text); err != nil {
			return err
		}
	}
	ver, err := p.Records.Duplicate(studio.Once(a.Context(), a.Sent.Get("once")), a.PathValue("id"), n, a.Sent.Get("name"))
	if k := fault.KindOf(err); err != nil && (k == fault.Invalid || k == fault.Conflict) && shell.FaultAt(err, "name") != "" {
		return p.showVersions(a, shell.StatusOf(k), err)
	}
	return a.GoTo(p.Path+"/"+url.PathEscape(ver.ID), err)
}

func (p Pages[Doc]) archive(a *form.Ask) error {
	return a.GoTo(p.Path, p.Records.Archive(a.Context(), a.PathValue("id")))
}

func (p Pages[Doc]) bringBack(a *form.Ask) error {
	id := a.PathValue("id")
	return a.GoTo(p.Path+"/"+url.PathEscape(id), p.Records.BringBack(a.Context(), id))
}
