package web

import (
	"html/template"
	"net/http"
	"strconv"

	"barwright/formula"
	"barwright/internal/draw"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// compareView sets two formulas side by side.
type compareView struct {
	A, B    compared
	Strata  []comparedRow // none where one of them is a melt
	Changes []formula.Change
	PickA   Select
	PickB   Select
}

// compared is one of the two: a bar cut open, or what a melt is made of.
type compared struct {
	Name, Href, Kind string
	Cut              template.HTML
	Made             []madeRow
	Figures          []Figure
	bar              draw.Bar
}

type comparedRow struct {
	Stratum    draw.Stratum
	Look       draw.Look
	A, B, Move string
}

var comparePage = shell.Declare[compareView](room, "compare")

func (s *server) compareFormulas(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	page, err := s.cfg.Book.Formulas.List(ctx, "", studio.Slice{Size: 200})
	if err != nil {
		return err
	}
	var opts []Option
	for _, f := range page.Items {
		opts = append(opts, Option{Value: f.ID, Label: f.Name})
	}
	a, b := r.FormValue("a"), r.FormValue("b")
	v := compareView{PickA: Select{Name: "a", Label: "Left", Value: a, Options: opts}, PickB: Select{Name: "b", Label: "Right", Value: b, Options: opts}}
	head := Head{Title: "Two formulas, side by side", Lead: "Compare with a bar you know: there is no score here, and no good range.",
		Actions: []Button{{Label: "All formulas", Href: "/formulas"}}}
	if a == "" || b == "" {
		return comparePage.Write(s.Shell, w, r, http.StatusOK, head, v)
	}
	var forms [2]*formula.Formula
	for i, side := range []struct {
		id string
		to *compared
	}{{a, &v.A}, {b, &v.B}} {
		f, err := s.cfg.Book.Formulas.Get(ctx, side.id)
		if err != nil {
			return err
		}
		if *side.to, err = t.compared(&f, "bar"+strconv.Itoa(i)); err != nil {
			return err
		}
		forms[i] = f.Newest.Doc.Formula
	}
	// A melt's base is whatever its supplier made: its soaps are not known.
	if v.A.Made == nil && v.B.Made == nil {
		for i := int(draw.NumStrata) - 1; i >= 0; i-- {
			x, y := v.A.bar.Shares[i], v.B.bar.Shares[i]
			if x == 0 && y == 0 {
				continue
			}
			st := draw.Stratum(i)
			v.Strata = append(v.Strata, comparedRow{Stratum: st, Look: st.Look(), A: quantity.Number(100*x, 1), B: quantity.Number(100*y, 1), Move: signed(100 * (y - x))})
		}
	}
	v.Changes = t.diff(forms[0], forms[1])
	return comparePage.Write(s.Shell, w, r, http.StatusOK, head, v)
}

// compared works the newest version of a formula out for one side of the page.
func (t trade) compared(f *studio.Record[studio.Formula], id string) (compared, error) {
	c := compared{Name: f.Name, Href: "/formulas/" + f.ID, Kind: methodSaid(f.Newest.Doc.Formula.Method)}
	r, err := soap.Work(f.Newest.Doc.Formula, t.cat)
	if err != nil {
		return c, err
	}
	if f.Newest.Doc.Formula.Method == formula.Melt {
		c.Made = t.made(r, t.division(f.Newest.Doc.Formula))
		c.Figures = t.meltFigures(r)
		return c, nil
	}
	sf := r.Superfat
	if f.Newest.Doc.Kept.Superfat.Draws > 0 {
		sf = f.Newest.Doc.Kept.Superfat
	}
	c.bar = draw.BarOf(r, sf, f.Name)
	if cut, err := draw.BarCut(c.bar, draw.CutOptions{ID: id, Width: 260, Height: 380, Seed: f.ID}); err == nil {
		c.Cut = SVG(cut)
	}
	c.Figures = []Figure{{Value: quantity.Percent(sf.NominalPct, 1), Label: "superfat"}, {Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "95 % interval"},
		{Value: quantity.Odds(sf.Excess, max(sf.Draws, soap.Draws)), Label: "alkali in excess"}}
	if r.Bar.HasProfile {
		c.Figures = append(c.Figures, Figure{Value: quantity.Number(r.Bar.IodineValue, 0), Label: "iodine value"})
	}
	c.Figures = append(c.Figures, Figure{Value: quantity.Percent(r.Bar.TFMPct, 1), Label: "total fatty matter"})
	return c, nil
}

func signed(v float64) string {
	s := quantity.Number(v, 1)
	if v > 0.05 {
		return "+" + s
	}
	return s
}
