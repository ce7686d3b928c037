package web

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/studio"
)

// versionsView lists a formula's versions and what changed between two.
type versionsView struct {
	ID, Name   string
	Rows       []versionRow
	From, To   Select
	Changes    []formula.Change
	Between    string
	Duplicate  Field
	PutAway    bool
	NothingOff bool
	Superfat   bool // one of them has any: a melt has none
}

type versionRow struct {
	N                                    int
	Href, Kept, Note, Superfat, Interval string
	File                                 string
}

var versionsPage = shell.Declare[versionsView](room, "versions")

func (s *server) versions(w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PathValue("id")
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	f, err := s.cfg.Book.Formulas.Get(ctx, id)
	if err != nil {
		return err
	}
	all, err := s.cfg.Book.Formulas.Versions(ctx, id)
	if err != nil {
		return err
	}
	slices.SortFunc(all, func(a, b studio.FormulaVersion) int { return b.N - a.N })
	v := versionsView{ID: id, Name: f.Name, PutAway: f.Archived(), Duplicate: Field{Name: "name", Label: "Name of the copy", Words: true, Wide: true, Value: f.Name + ", again"}}
	byN := map[int]studio.FormulaVersion{}
	var opts []Option
	for _, x := range all {
		byN[x.N] = x
		opts = append(opts, Option{Value: strconv.Itoa(x.N), Label: "version " + strconv.Itoa(x.N)})
		row := versionRow{N: x.N, Href: fmt.Sprintf("/formulas/%s?v=%d", id, x.N), Kept: day(x.KeptAt, t.set.Location()), Note: x.Note,
			File: fmt.Sprintf("/formulas/%s/file/%d", id, x.N)}
		if x.Doc.Kept.Superfat.Draws > 0 {
			row.Superfat, row.Interval = quantity.Percent(x.Doc.Kept.Superfat.NominalPct, 1), quantity.Interval(x.Doc.Kept.Superfat.LowPct, x.Doc.Kept.Superfat.HighPct, 1)
			v.Superfat = true
		}
		v.Rows = append(v.Rows, row)
	}
	to, from := f.Newest.N, max(f.Newest.N-1, 1)
	if n, err := strconv.Atoi(r.FormValue("to")); err == nil && byN[n].N != 0 {
		to = n
	}
	if n, err := strconv.Atoi(r.FormValue("from")); err == nil && byN[n].N != 0 {
		from = n
	}
	v.From = Select{Name: "from", Label: "from", Value: strconv.Itoa(from), Options: opts}
	v.To = Select{Name: "to", Label: "to", Value: strconv.Itoa(to), Options: opts}
	if from != to {
		v.Between = fmt.Sprintf("version %d to version %d", from, to)
		v.Changes = t.diff(byN[from].Doc.Formula, byN[to].Doc.Formula)
		v.NothingOff = len(v.Changes) == 0
	}
	return versionsPage.Write(s.Shell, w, r, http.StatusOK, Head{Title: f.Name + ", versions", Lead: "A version that was kept never changes.",
		Actions: []Button{{Label: "Back to the formula", Href: "/formulas/" + id}}}, v)
}

// diff is what changed from a to b, each line under the name of its ingredient.
// What a method does not have is not said of it: a melt has no superfat, not one
// of 0 %.
func (t trade) diff(a, b *formula.Formula) []formula.Change {
	named := func(id string) string {
		if in, err := t.cat.Get(id); err == nil {
			return in.Name
		}
		return id
	}
	var out []formula.Change
	for _, c := range formula.Diff(a, b, t.faces()) {
		if !has(a.Method, c.Field) {
			c.Before = ""
		}
		if !has(b.Method, c.Field) {
			c.After = ""
		}
		if c.Before == c.After {
			continue
		}
		switch c.Field {
		case "method":
			c.Before, c.After = methodSaid(a.Method), methodSaid(b.Method)
		case "fats_g":
			if (a.Method == formula.Melt) != (b.Method == formula.Melt) {
				c.Label = "Fats, or base, in all"
			}
		}
		c.ID = named(c.ID)
		if colour, ok := strings.CutPrefix(c.Label, "Colour "); ok {
			c.Label = "Colour: " + named(colour)
		}
		out = append(out, c)
	}
	return out
}

// formulaFile gives a version as a formula file, as the command reads it.
func (s *server) formulaFile(w http.ResponseWriter, r *http.Request) error {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil {
		return fault.NotFoundf("n", "There is no version “%s”.", r.PathValue("n"))
	}
	ver, err := s.cfg.Book.Formulas.Version(r.Context(), r.PathValue("id"), n)
	if err != nil {
		return err
	}
	b, err := formula.WriteTOML(ver.Doc.Formula)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/toml; charset=utf-8")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="formula-%s-%d.toml"`, ver.ID[:min(8, len(ver.ID))], n))
	_, _ = w.Write(b)
	return nil
}

func (s *server) duplicateFormula(w http.ResponseWriter, r *http.Request) error {
	v, err := readForm(r)
	if err != nil {
		return err
	}
	n, _ := strconv.Atoi(v.Get("n"))
	if n == 0 {
		f, err := s.cfg.Book.Formulas.Get(r.Context(), r.PathValue("id"))
		if err != nil {
			return err
		}
		n = f.Newest.N
	}
	ver, err := s.cfg.Book.Formulas.Duplicate(r.Context(), r.PathValue("id"), n, v.Get("name"))
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/formulas/"+ver.ID, http.StatusSeeOther)
	return nil
}
