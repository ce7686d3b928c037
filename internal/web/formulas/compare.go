package formulas

import (
	"html/template"
	"strconv"

	"barwright/formula"
	"barwright/internal/draw"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// compareView sets two formulas side by side.
type compareView struct {
	Form    *form.Form
	A, B    compared
	Strata  []comparedRow // none where one of them is a melt
	Changes []formula.Change
}

// compared is one of the two: a bar cut open, or what a melt is made of.
type compared struct {
	Name, Href, Kind string
	Cut              template.HTML
	Made             shell.List
	Figures          []shell.Figure
	bar              draw.Bar
}

type comparedRow struct {
	Stratum    draw.Stratum
	A, B, Move string
}

var comparePage = shell.Declare[compareView](room, "compare")

func (o rooms) compare(a *form.Ask) error {
	ctx, faces := a.Context(), a.Faces
	list, err := form.Records(ctx, "list-formulas", "formula", o.Records)
	if err != nil {
		return err
	}
	f := form.Read(a.Sent, faces)
	var ids [2]string
	f.Pick("a", &ids[0], list, form.Label("Left"))
	f.Pick("b", &ids[1], list, form.Label("Right"))
	v := compareView{Form: f}
	if !f.Refused(nil) && ids[0] != "" && ids[1] != "" {
		var forms [2]*formula.Formula
		for i, to := range []*compared{&v.A, &v.B} {
			kept, err := o.Records.Get(ctx, ids[i])
			if err != nil {
				return err
			}
			if *to, err = sideOf(faces, &kept, "bar"+strconv.Itoa(i)); err != nil {
				return err
			}
			forms[i] = kept.Newest.Doc.Formula
		}
		v.Strata, v.Changes = strata(v.A, v.B), diff(faces, forms[0], forms[1])
	}
	return form.Show(comparePage, a, f.Status(), shell.Head{Title: "Two formulas, side by side",
		Lead:    "Compare with a bar you know: there is no score here, and no good range.",
		Actions: []shell.Button{{Label: "All formulas", Href: "/formulas"}}}, v)
}

// strata are what the two bars are made of. A melt's base is whatever its supplier
// made: its soaps are not known.
func strata(a, b compared) []comparedRow {
	if a.Made.Rows != nil || b.Made.Rows != nil {
		return nil
	}
	var out []comparedRow
	for i := int(draw.NumStrata) - 1; i >= 0; i-- {
		x, y, st := a.bar.Shares[i], b.bar.Shares[i], draw.Stratum(i)
		if x != 0 || y != 0 {
			out = append(out, comparedRow{Stratum: st,
				A: quantity.Number(100*x, 1), B: quantity.Number(100*y, 1), Move: signed(100 * (y - x))})
		}
	}
	return out
}

// sideOf works the newest version of a formula out for one side of the page.
func sideOf(t form.Faces, f *studio.Record[studio.Formula], id string) (compared, error) {
	c := compared{Name: f.Name, Href: "/formulas/" + f.ID, Kind: f.Newest.Doc.Formula.Method.Words()}
	r, err := soap.Work(f.Newest.Doc.Formula, t.Cat)
	if err != nil {
		return c, err
	}
	if f.Newest.Doc.Formula.Method == formula.Melt {
		c.Made = made(t, r, t.Division(f.Newest.Doc.Formula))
		c.Figures = meltFigures(t, r)
		return c, nil
	}
	sf := r.Superfat
	if f.Newest.Doc.Kept.Superfat.Draws > 0 {
		sf = f.Newest.Doc.Kept.Superfat
	}
	c.bar = draw.BarOf(r, sf, f.Name)
	if cut, err := draw.BarCut(c.bar, draw.CutOptions{ID: id, Width: 260, Height: 380, Seed: f.ID}); err == nil {
		c.Cut = shell.SVG(cut)
	}
	c.Figures = []shell.Figure{{Value: quantity.Percent(sf.NominalPct, 1), Label: "superfat"},
		{Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "95 % interval"},
		{Value: quantity.Odds(sf.Excess, max(sf.Draws, soap.Draws)), Label: "alkali in excess"}}
	if r.Bar.HasProfile {
		c.Figures = append(c.Figures, shell.Figure{Value: quantity.Number(r.Bar.IodineValue, 0), Label: "iodine value"})
	}
	c.Figures = append(c.Figures, shell.Figure{Value: quantity.Percent(r.Bar.TFMPct, 1), Label: "total fatty matter"})
	return c, nil
}

func signed(v float64) string {
	s := quantity.Number(v, 1)
	if v > 0.05 {
		return "+" + s
	}
	return s
}
