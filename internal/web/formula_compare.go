package web

import (
	"html/template"
	"net/http"
	"strconv"

	"barwright/finding"
	"barwright/formula"
	"barwright/internal/draw"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// compareView sets two formulas side by side.
type compareView struct {
	A, B    compared
	Strata  []comparedRow
	Changes []formula.Change
	PickA   Select
	PickB   Select
}

type compared struct {
	Name, Href string
	Cut        template.HTML
	Figures    []Figure
	Findings   []finding.Finding
}

type comparedRow struct {
	Stratum    draw.Stratum
	Look       draw.Look
	A, B, Move string
}

var comparePage = declare[compareView]("compare")

func (s *server) compareFormulas(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	page, err := s.cfg.Book.Formulas(ctx, "", studio.Slice{Size: 200})
	if err != nil {
		return err
	}
	var opts []Option
	for _, f := range page.Items {
		opts = append(opts, Option{f.ID, f.Name, ""})
	}
	a, b := r.FormValue("a"), r.FormValue("b")
	v := compareView{PickA: Select{Name: "a", Label: "Left", Value: a, Options: opts}, PickB: Select{Name: "b", Label: "Right", Value: b, Options: opts}}
	head := Head{Title: "Two formulas, side by side", Lead: "Compare with a bar you know: there is no score here, and no good range.",
		Actions: []Button{{Label: "All formulas", Href: "/formulas"}}}
	if a == "" || b == "" {
		return comparePage.write(s, w, r, http.StatusOK, head, v)
	}
	var bars [2]draw.Bar
	var forms [2]*formula.Formula
	for i, id := range []string{a, b} {
		f, err := s.cfg.Book.Formula(ctx, id)
		if err != nil {
			return err
		}
		res, err := soap.Work(f.Newest.Formula, t.cat)
		if err != nil {
			return err
		}
		sf := res.Superfat
		if f.Newest.Kept.Superfat.Draws > 0 {
			sf = f.Newest.Kept.Superfat
		}
		bars[i], forms[i] = barOf(res, sf, f.Name), f.Newest.Formula
		c := compared{Name: f.Name, Href: "/formulas/" + f.ID}
		if cut, err := draw.BarCut(bars[i], draw.CutOptions{ID: "bar" + strconv.Itoa(i), Width: 260, Height: 380, Seed: f.ID}); err == nil {
			c.Cut = SVG(cut)
		}
		c.Figures = []Figure{{Value: quantity.Percent(sf.NominalPct, 1), Label: "superfat"}, {Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "95 % interval"},
			{Value: quantity.Odds(sf.Excess, max(sf.Draws, soap.Draws)), Label: "alkali in excess"}, {Value: quantity.Number(res.Bar.IodineValue, 0), Label: "iodine value"}, {Value: quantity.Percent(res.Bar.TFMPct, 1), Label: "total fatty matter"}}
		if i == 0 {
			v.A = c
		} else {
			v.B = c
		}
	}
	for i := int(draw.NumStrata) - 1; i >= 0; i-- {
		if bars[0].Shares[i] == 0 && bars[1].Shares[i] == 0 {
			continue
		}
		st := draw.Stratum(i)
		v.Strata = append(v.Strata, comparedRow{Stratum: st, Look: st.Look(), A: quantity.Number(100*bars[0].Shares[i], 1), B: quantity.Number(100*bars[1].Shares[i], 1),
			Move: signed(100 * (bars[1].Shares[i] - bars[0].Shares[i]))})
	}
	v.Changes = formula.Diff(forms[0], forms[1], t.faces())
	return comparePage.write(s, w, r, http.StatusOK, head, v)
}

func signed(v float64) string {
	s := quantity.Number(v, 1)
	if v > 0.05 {
		return "+" + s
	}
	return s
}
