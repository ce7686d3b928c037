package studio

import (
	"slices"

	"barwright/design"
	"barwright/fit"
)

// Fit is what the designs of a wish list take of the moulds and of each batter, as
// a problem of package fit: the pot, the overage and the rounds are left to the
// caller. moreSets is how many sets beyond each wish may be filled. Designs that
// cannot be worked out are left out of it and come as unworked, by id.
func (g *Gathered) Fit(wants []design.Want, moreSets int) (p fit.Problem, unworked []string) {
	for _, w := range wants {
		d := g.Set.Design(w.Design)
		_, piece, err := design.One(g.Set, w.Design, design.Options{})
		if err != nil {
			unworked = append(unworked, w.Design)
			continue
		}
		m := g.Set.Mould(d.Mould)
		bars := max(m.Bars(), 1)
		if !slices.ContainsFunc(p.Moulds, func(x fit.Mould) bool { return x.ID == m.ID }) {
			p.Moulds = append(p.Moulds, fit.Mould{ID: m.ID, Name: m.Name, Sets: m.Sets, Cavities: m.Cavities, Bars: bars})
		}
		fd := fit.Design{ID: d.ID, Name: d.Name, Mould: m.ID, Wish: w.Pieces, MoreSets: moreSets}
		for _, q := range piece.Parts {
			if !q.Kind.Batter() || !(q.MassG > 0) {
				continue
			}
			grams := q.MassG * float64(bars)
			if i := slices.IndexFunc(fd.Pours, func(x fit.Pour) bool { return x.Formula == q.Formula }); i >= 0 {
				fd.Pours[i].G += grams
				continue
			}
			fd.Pours = append(fd.Pours, fit.Pour{Formula: q.Formula, G: grams})
			if !slices.ContainsFunc(p.Formulas, func(x fit.Formula) bool { return x.ID == q.Formula }) {
				b := g.Set.Batter(q.Formula)
				p.Formulas = append(p.Formulas, fit.Formula{ID: b.ID, Name: b.Name, LossG: b.PotLossG})
			}
		}
		p.Designs = append(p.Designs, fd)
	}
	return p, unworked
}
