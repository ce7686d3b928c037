// Package designs is the room of the designs: how a piece is built, what so many
// pieces need, what a pot of batter fills, and a wish list fitted to the moulds.
package designs

import (
	"cmp"
	"context"
	"embed"
	"strconv"

	"barwright/design"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/record"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/studio"
)

//go:embed *.html
var files embed.FS

var room = shell.NewRoom("designs", files)

// rooms are the pages of the designs.
type rooms struct {
	record.Pages[*design.Design]
}

// Open registers the room.
func Open(s *shell.Shell, book *studio.Studio) {
	o := &rooms{}
	o.Pages = record.Pages[*design.Design]{
		Room: form.Room{Shell: s, Book: book}, Records: book.Designs, Path: "/designs",
		Words: record.Words{One: "design", Many: "designs", Lead: "How one finished piece is built, part by part.", Write: "Draw up a design",
			First: "There is no design yet. The first one needs a mould, and what is poured into it in which order.",
			Find:  "Find by name, or by what it is made of", Within: "in its name or in one of its parts",
			Versions: "A version that was kept never changes. Its formulas, moulds and embeds are taken in their newest versions."},
		Columns: []record.Column{{Label: "a piece, as poured"}}, Rows: o.rows,
		VersionColumns: []record.Column{{Label: "parts"}},
		VersionRow: func(_ form.Faces, v studio.DesignVersion) record.Row {
			return record.Row{Cells: []record.Cell{{Value: strconv.Itoa(len(v.Doc.Parts))}}}
		},
		Changes: o.changes,
		Links:   []shell.Link{{Href: "/designs/pot", Text: "I have this much batter"}, {Href: "/designs/fit", Text: "Fit a wish list to the moulds"}},
	}
	s.Place("Designs", "/designs")
	o.Pages.Open()
	o.Serve(o.edit, "GET /designs/new", "POST /designs/new", "POST /designs/work", "GET /designs/{id}", "POST /designs/{id}")
	o.Serve(o.need, "GET /designs/{id}/need", "POST /designs/{id}/need")
	wantsPage[potView]{page: potPage, fragment: "pot-work", work: o.pot, title: "This much batter",
		lead: "What a pot fills, what is left of it, and which mould would take the rest."}.open(o, "/designs/pot")
	wantsPage[fitView]{page: fitPage, fragment: "fit-work", work: o.fit, title: "A wish list, fitted",
		lead: "Batches that fill whole mould sets from one size of pot, with the least left over."}.open(o, "/designs/fit")
}

// rows are the designs of a list.
func (o *rooms) rows(ctx context.Context, _ form.Faces, list []studio.Record[*design.Design]) ([]record.Row, error) {
	ids := make([]string, len(list))
	for i, d := range list {
		ids[i] = d.ID
	}
	g, err := o.gather(ctx, nil, ids...)
	if err != nil {
		return nil, err
	}
	out := make([]record.Row, len(list))
	for i, d := range list {
		uses, err := o.Book.Designs.Uses(ctx, d.ID)
		if err != nil {
			return nil, err
		}
		doc := d.Newest.Doc
		row := record.Row{Aside: []string{listed(g.name(doc.Mould), words.Count(len(doc.Parts), "part", "parts")), usedBySaid(uses)},
			Cells: make([]record.Cell, 1)}
		row.Picture, row.Cells[0].Value, row.Cells[0].Under = g.small(doc)
		out[i] = row
	}
	return out, nil
}

// changes says what changed from one version to another.
func (o *rooms) changes(ctx context.Context, f form.Faces, from, to *design.Design) ([]formula.Change, error) {
	before, err := o.gather(ctx, from)
	if err != nil {
		return nil, err
	}
	after, err := o.gather(ctx, to)
	if err != nil {
		return nil, err
	}
	name := func(id string) string { return cmp.Or(after.name(id), before.name(id)) }
	return design.Diff(from, to, design.Face{Name: name, Mass: f.Set.Mass, Volume: f.Set.Volume}), nil
}

// usedBySaid names the designs that embed one today.
func usedBySaid(uses []studio.Use) string {
	var names []string
	for _, u := range uses {
		if u.Newest && !u.Archived {
			names = append(names, u.Name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "embed of " + words.Some(names, 4, "more")
}
