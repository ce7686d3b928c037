// Package formulas is the room of the formulas: their list, their editor with its
// live sums, their versions, and two of them side by side.
package formulas

import (
	"context"
	"embed"
	"fmt"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/record"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
	"barwright/studio"
)

//go:embed *.html
var files embed.FS

var room = shell.NewRoom("formulas", files)

// rooms are the pages of the formulas with what they need.
type rooms struct{ record.Pages[studio.Formula] }

// Open registers the place of the formulas and their addresses.
func Open(s *shell.Shell, book *studio.Studio) {
	columns := []record.Column{{Label: "superfat"}, {Label: "95 % interval", Wide: true}}
	o := rooms{record.Pages[studio.Formula]{Room: form.Room{Shell: s, Book: book}, Records: book.Formulas, Path: "/formulas",
		Words: record.Words{One: "formula", Many: "formulas", Lead: "What goes into one batter or one melt. A version that was kept never changes.",
			Write: "Write a formula", First: "No formula is written yet. The first one needs the fats, how much of them stays free, and how strong the lye is.",
			Find: "Find by name, or by what goes in", Within: "in its name or among what goes into it", Same: "Nothing that is weighed differs."},
		Columns: columns, VersionColumns: columns,
		Rows: func(_ context.Context, _ form.Faces, list []studio.Record[studio.Formula]) ([]record.Row, error) {
			out := make([]record.Row, len(list))
			for i, f := range list {
				said := append([]string{words.Count(f.Newest.N, "version", "versions")}, f.Newest.Doc.Formula.Traits()...)
				out[i] = record.Row{Aside: []string{strings.Join(said, "; ")}, Cells: superfat(f.Newest)}
			}
			return out, nil
		},
		VersionRow: func(_ form.Faces, v studio.FormulaVersion) record.Row {
			return record.Row{Cells: superfat(v), Links: []shell.Link{{Href: fmt.Sprintf("/formulas/%s/file/%d", v.ID, v.N), Text: "as a file"}}}
		},
		Changes: func(_ context.Context, f form.Faces, from, to studio.Formula) ([]formula.Change, error) {
			return diff(f, from.Formula, to.Formula), nil
		},
		Links: []shell.Link{{Href: "/formulas/compare", Text: "Compare two formulas"}}}}
	s.Place("Formulas", "/formulas")
	o.Pages.Open()
	o.Serve(o.edit, "GET /formulas/new", "POST /formulas/new", "POST /formulas/work", "GET /formulas/{id}", "POST /formulas/{id}")
	o.Serve(o.compare, "GET /formulas/compare")
	o.Serve(o.file, "GET /formulas/{id}/file/{n}")
}

// superfat is that of a version, as it was drawn when it was kept; a melt has none.
func superfat(v studio.FormulaVersion) []record.Cell {
	k := v.Doc.Kept.Superfat
	if k.Draws == 0 {
		return nil
	}
	return []record.Cell{{Value: quantity.Percent(k.NominalPct, 1), Plain: true}, {Value: quantity.Interval(k.LowPct, k.HighPct, 1)}}
}

// diff is what changed from a to b, each line under the name of its ingredient.
// What a method does not have is not said of it: a melt has no superfat, not one
// of 0 %.
func diff(faces form.Faces, a, b *formula.Formula) []formula.Change {
	named := func(id string) string {
		if in, err := faces.Cat.Named(id); err == nil && in.ID == id {
			return in.Name
		}
		return id
	}
	c := choices{faces: faces, fats: listOf(faces.Cat, "", "fat", nil), extras: listOf(faces.Cat, "", "extra", nil)}
	before, after := c.write(a.Clone()), c.write(b.Clone())
	var out []formula.Change
	for _, x := range formula.Diff(a, b, faces.Formula()) {
		if !asks(before, x.Field) {
			x.Before = ""
		}
		if !asks(after, x.Field) {
			x.After = ""
		}
		if x.Before == x.After {
			continue
		}
		switch x.Field {
		case "method":
			x.Before, x.After = a.Method.Words(), b.Method.Words()
		case "fats_g":
			if (a.Method == formula.Melt) != (b.Method == formula.Melt) {
				x.Label = "Fats, or base, in all"
			}
		}
		x.ID = named(x.ID)
		if colour, ok := strings.CutPrefix(x.Label, "Colour "); ok {
			x.Label = "Colour: " + named(colour)
		}
		if strings.HasPrefix(x.Field, "portion.") {
			x.Before, x.After = coloursNamed(x.Before, a, named), coloursNamed(x.After, b, named)
		}
		out = append(out, x)
	}
	return out
}

// coloursNamed is what a formula says of a portion, with its colours by their names.
func coloursNamed(said string, x *formula.Formula, named func(id string) string) string {
	for _, p := range x.Portions {
		for _, c := range p.Colourants {
			said = strings.ReplaceAll(said, "; "+c.ID+" ", "; "+named(c.ID)+" ")
		}
	}
	return said
}

// asks reports whether a formula's form has a field, in any row.
func asks(f *form.Form, field string) bool {
	list, rest, _ := strings.Cut(field, ".")
	if row := f.Empty(list); row != nil {
		_, key, _ := strings.Cut(rest, ".")
		return row.Asks(key)
	}
	return f.Asks(field)
}

// file gives a version as a formula file, as the command reads it.
func (o rooms) file(a *form.Ask) error {
	n, err := strconv.Atoi(a.PathValue("n"))
	if err != nil {
		return fault.NotFoundf("n", "There is no version “%s”.", a.PathValue("n"))
	}
	ver, err := o.Records.Version(a.Context(), a.PathValue("id"), n)
	if err != nil {
		return err
	}
	b, err := formula.WriteTOML(ver.Doc.Formula)
	if err != nil {
		return err
	}
	a.W.Header().Set("Content-Type", "application/toml; charset=utf-8")
	a.W.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="formula-%s-%d.toml"`, ver.ID[:min(8, len(ver.ID))], n))
	_, _ = a.W.Write(b)
	return nil
}
