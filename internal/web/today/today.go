// Package today is the room of the first page: what is in the book, and what is
// still to be set.
package today

import (
	"embed"
	"fmt"
	"net/http"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/finding"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

//go:embed *.html
var files embed.FS

var room = shell.NewRoom("today", files)

// rooms are the pages with what they need.
type rooms struct{ form.Room }

// Open registers the place of today and its address.
func Open(s *shell.Shell, book *studio.Studio) {
	o := rooms{form.Room{Shell: s, Book: book}}
	s.Place("Today", "/")
	o.Serve(o.today, "GET /{$}")
}

// view is the first page.
type view struct {
	Steps    []step // what is still missing before the first batch; none when all is done
	Formulas shell.List
	Links    []shell.Link // below the formulas
	Sheets   shell.List
	Names    []group
}

// step is one thing that a studio needs before its first batch.
type step struct {
	Done bool
	Text string
	Why  string
	Do   shell.Button
}

// group is what there is to say about one formula.
type group struct {
	Name, Href string
	Notes      []shell.Note
}

var page = shell.Declare[view](room, "today")

// How many of each the page shows.
const (
	someFormulas = 6
	someSheets   = 5
)

func (o rooms) today(a *form.Ask) error {
	ctx, faces := a.Context(), a.Faces
	list, err := o.Book.Formulas.List(ctx, "", studio.Slice{Size: someFormulas})
	if err != nil {
		return err
	}
	moulds, err := o.Book.Moulds.List(ctx, "", studio.Slice{Size: 1})
	if err != nil {
		return err
	}
	runs, err := o.Book.Runs(ctx, studio.RunsOf{}, studio.Slice{Size: someSheets})
	if err != nil {
		return err
	}
	v := view{Steps: firstSteps(faces.Set, list.Total, moulds.Total, runs.Total)}
	if err := v.show(faces, list.Items); err != nil {
		return err
	}
	if list.Total > len(list.Items) {
		v.Links = append(v.Links, shell.Link{Href: "/formulas", Text: fmt.Sprintf("All %d formulas", list.Total)})
	}
	v.Links = append(v.Links, shell.Link{Href: "/formulas/compare", Text: "Compare two formulas"})
	if moulds.Total > 0 {
		v.Links = append(v.Links, shell.Link{Href: "/moulds", Text: words.Count(moulds.Total, "mould", "moulds") + " on the shelf"})
	}
	v.Sheets = shell.List{Caption: "The newest bench sheets", Title: "Batch", Columns: []shell.Column{{Label: "code"}}}
	for _, x := range runs.Items {
		v.Sheets.Rows = append(v.Sheets.Rows, shell.ListRow{Href: "/bench/" + x.Code, Name: x.Title(),
			Aside: []string{x.Extent() + ", made " + faces.Day(x.MadeAt)}, Cells: []shell.Cell{{Value: x.Code, Plain: true}}})
	}
	return form.Show(page, a, http.StatusOK, shell.Head{Title: o.Now().In(faces.Set.Location()).Format("Monday 2 January 2006"),
		Lead: "Your newest formulas and bench sheets.", Actions: []shell.Button{{Label: "Write a formula", Look: shell.Main, Href: "/formulas/new"}}}, v)
}

// show lists the newest formulas, with what there is to say about each.
func (v *view) show(faces form.Faces, list []studio.Record[studio.Formula]) error {
	v.Formulas = shell.List{Caption: "The newest formulas, with what there is to say about them", Title: "Formula",
		Columns: []shell.Column{{Label: "superfat"}, {Label: "95 % interval", Wide: true}, {Label: "findings", Marks: true}}}
	// The letters of the findings run on through the page.
	var about []int
	var found []finding.Finding
	for i, f := range list {
		if f.Unread != nil {
			v.Formulas.Rows = append(v.Formulas.Rows, shell.ListRow{Name: f.Name, Aside: []string{f.Unread.Error()}, Cells: make([]shell.Cell, 3)})
			continue
		}
		said := append(append([]string{words.Count(f.Newest.N, "version", "versions")}, f.Newest.Doc.Formula.Traits()...), "kept "+faces.Day(f.Newest.KeptAt))
		row := shell.ListRow{Href: "/formulas/" + f.ID, Name: f.Name, Aside: []string{strings.Join(said, ", ")}, Cells: make([]shell.Cell, 3)}
		sf, has, fs, err := judged(f.Newest.Doc, faces.Cat, faces.Set.SoapLimits())
		if err != nil {
			return err
		}
		for _, one := range fs {
			found, about = append(found, one), append(about, i)
		}
		if has {
			row.Cells[0] = shell.Cell{Value: quantity.Percent(sf.NominalPct, 1), Plain: true}
			row.Cells[1].Value = quantity.Interval(sf.LowPct, sf.HighPct, 1)
		}
		v.Formulas.Rows = append(v.Formulas.Rows, row)
	}
	for j, note := range shell.Footnotes(found).Notes {
		row := &v.Formulas.Rows[about[j]]
		row.Cells[2].Marks = append(row.Cells[2].Marks, note.Mark())
		if n := len(v.Names); n == 0 || v.Names[n-1].Href != row.Href {
			v.Names = append(v.Names, group{Name: row.Name, Href: row.Href})
		}
		g := &v.Names[len(v.Names)-1]
		g.Notes = append(g.Notes, note)
	}
	return nil
}

// judged gives a formula's superfat, whether it has one, and the findings that are
// more than a note. The superfat is that with which it was kept, where it was drawn.
func judged(f studio.Formula, cat *catalogue.Catalogue, limits soap.Limits) (sf soap.Superfat, has bool, found []finding.Finding, err error) {
	sf = f.Kept.Superfat
	res, err := soap.Work(f.Formula, cat)
	switch {
	case err != nil && fault.KindOf(err) == fault.Internal:
		return sf, false, nil, err
	case err != nil:
		// An ingredient was changed after the formula was kept, and the formula cannot
		// be worked out any more. Its own page says what would help.
		return sf, sf.Draws > 0, []finding.Finding{{Rule: "formula.works", Severity: finding.Stop, Message: fault.All(err)[0].Message,
			Source: "the sums", Remedy: "Open the formula and correct the line."}}, nil
	}
	has = sf.Draws > 0 || !res.Melts()
	if sf.Draws == 0 {
		sf = res.Superfat
	}
	return sf, has, shell.NoNotes(soap.Findings(res, sf, limits)), nil
}

// firstSteps are what a studio needs before its first batch, in the order in which
// they are done. There are none once each is done.
func firstSteps(set studio.Settings, formulas, moulds, sheets int) []step {
	scale := set.ScaleDivisionG.Known && set.NaOHPurityPct.Known
	// A maker without a mould, or who never prints, is not reminded for ever: the
	// steps go once a formula can be weighed out.
	if scale && formulas > 0 && (moulds > 0 || sheets > 0) {
		return nil
	}
	var steps []step
	add := func(done bool, path, text, why, label string) {
		steps = append(steps, step{done, text, why, shell.Button{Label: label, Href: path}})
	}
	add(scale, "/studio", "Set the step of your scale and the purity of your alkali.",
		"You find both on the label of the scale and on the label of the container. "+
			"Until then sheets assume a step of 0.1 g, and alkali counts as pure.", "Set them")
	add(formulas > 0, "/formulas/new", "Write a formula.",
		"It needs the fats, how much of them stays free, and how strong the lye is.", "Write a formula")
	add(moulds > 0, "/moulds/new", "Measure a mould.",
		"Measure the inside with a rule, or weigh the water that fills it. Then a batch can be made to fit.", "Measure a mould")
	add(sheets > 0, "/bench", "Make a bench sheet.",
		"It says what to weigh, in the order in which you do it, to print and lay beside the scale.", "To the bench")
	return steps
}
