package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"barwright/formula"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/studio"
)

func (s *server) formulaRoutes() {
	s.Place("Formulas", "/formulas")
	s.Handle("GET /formulas", s.formulas)
	s.Handle("GET /formulas/new", s.newFormula)
	s.Handle("POST /formulas/new", s.postFormula)
	s.Handle("POST /formulas/work", s.workFormula)
	s.Handle("GET /formulas/compare", s.compareFormulas)
	s.Handle("GET /formulas/{id}", s.formula)
	s.Handle("POST /formulas/{id}", s.postFormula)
	s.Handle("GET /formulas/{id}/versions", s.versions)
	s.Handle("GET /formulas/{id}/file/{n}", s.formulaFile)
	s.Handle("POST /formulas/{id}/duplicate", s.duplicateFormula)
	s.Handle("POST /formulas/{id}/put-away", s.putFormulaAway)
	s.Handle("POST /formulas/{id}/bring-back", s.bringFormulaBack)
}

// formulasView is the list.
type formulasView struct {
	Query   string
	Away    bool // what was put away is shown
	Rows    []formulaRow
	Pages   Pages
	Empty   *Empty
	Compare []Option // the rows of this page, for comparing two
}

type formulaRow struct {
	Href, Name, Aside, Superfat, Interval, Kept string
	Back                                        string // address that brings it back; "" unless put away
}

var formulasPage = shell.Declare[formulasView](room, "formulas")

func (s *server) formulas(w http.ResponseWriter, r *http.Request) error {
	ctx, q := r.Context(), strings.TrimSpace(r.FormValue("q"))
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	away := r.FormValue("away") != ""
	n, _ := strconv.Atoi(r.FormValue("page"))
	const per = 25
	list := s.cfg.Book.Formulas.List
	if away {
		list = s.cfg.Book.Formulas.ListArchived
	}
	page, err := list(ctx, q, studio.Slice{Number: n, Size: per})
	if err != nil {
		return err
	}
	v := formulasView{Query: q, Away: away}
	for _, f := range page.Items {
		row := formulaRow{Href: "/formulas/" + f.ID, Name: f.Name, Kept: day(f.Newest.KeptAt, t.set.Location()),
			Aside: joined(versionsSaid(f.Newest.N), kindSaid(f.Newest.Doc.Formula))}
		if k := f.Newest.Doc.Kept.Superfat; k.Draws > 0 {
			row.Superfat = quantity.Percent(k.NominalPct, 1)
			row.Interval = quantity.Interval(k.LowPct, k.HighPct, 1)
		}
		if away {
			row.Back = "/formulas/" + f.ID + "/bring-back"
		}
		v.Rows = append(v.Rows, row)
		v.Compare = append(v.Compare, Option{Value: f.ID, Label: f.Name})
	}
	v.Pages, _ = Pagination("formulas", page.Number, per, page.Total, func(n int) string {
		u := url.Values{"page": {strconv.Itoa(n)}}
		if q != "" {
			u.Set("q", q)
		}
		if away {
			u.Set("away", "1")
		}
		return "/formulas?" + u.Encode()
	})
	switch {
	case len(v.Rows) == 0 && q != "":
		v.Empty = &Empty{Text: "No formula has “" + q + "” in its name or among what goes into it.", Do: &Button{Label: "Show all", Href: "/formulas"}}
	case len(v.Rows) == 0 && away:
		v.Empty = &Empty{Text: "Nothing was put away.", Do: &Button{Label: "All formulas", Href: "/formulas"}}
	case len(v.Rows) == 0:
		v.Empty = &Empty{Text: "No formula is written yet. The first one needs the fats, how much is to stay free, and how strong the lye is.",
			Do: &Button{Label: "Write a formula", Look: Main, Href: "/formulas/new"}}
	}
	return formulasPage.Write(s.Shell, w, r, http.StatusOK, Head{Title: "Formulas", Lead: "What goes into one batter or one melt. A version that was kept never changes.",
		Actions: []Button{{Label: "Write a formula", Look: Main, Href: "/formulas/new"}}}, v)
}

func versionsSaid(n int) string {
	if n == 1 {
		return "1 version"
	}
	return strconv.Itoa(n) + " versions"
}

// methodSaid is a method in words, inside a sentence.
func methodSaid(m formula.Method) string {
	switch m {
	case formula.Hot:
		return "hot process"
	case formula.Melt:
		return "melt-and-pour"
	}
	return "cold process"
}

// kindSaid is what a list says of a formula that is no plain cold process batter.
func kindSaid(f *formula.Formula) string {
	said := ""
	if f.Method != formula.Cold {
		said = methodSaid(f.Method)
	}
	switch f.Stage {
	case formula.ThickTrace:
		said = joined(said, "batter for piping")
	case formula.Dough:
		said = joined(said, "soap dough")
	}
	if n := len(f.Portions); n > 1 {
		said = joined(said, strconv.Itoa(n)+" portions")
	}
	return said
}

func (s *server) putFormulaAway(w http.ResponseWriter, r *http.Request) error {
	if err := s.cfg.Book.Formulas.Archive(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/formulas", http.StatusSeeOther)
	return nil
}

func (s *server) bringFormulaBack(w http.ResponseWriter, r *http.Request) error {
	if err := s.cfg.Book.Formulas.BringBack(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/formulas/"+r.PathValue("id"), http.StatusSeeOther)
	return nil
}
