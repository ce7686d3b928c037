package design

import (
	"barwright/formula"
	"barwright/quantity"
	"barwright/soap"
)

// BatterOf is what a formula that was worked out pours. potLossG is what of it
// stays in the pot, g.
//
// CeilingC is the high end of its ceiling (soap.Result.Ceiling) and known of cold process only: a
// cook is over before the mould. MaxPourC and SoftensC are the lowest of a melt's
// bases. PourC is known of a melt only where the maker wrote it down, as what
// is assumed for its volume is no reading. Cold and hot process dry and must; a
// melt sweats when a base of it does (soap.Result.MoistG).
func BatterOf(id string, r *soap.Result, potLossG float64) Batter {
	f := r.Formula
	b := Batter{ID: id, Name: f.Name, DensityGML: r.Batter.DensityGML, PotLossG: potLossG, Method: f.Method, Stage: f.Stage, PourC: f.PourC}
	switch f.Method {
	case formula.Melt:
		b.Sweats = r.MoistG() > 0
		for i := range r.Bases {
			if r.Bases[i].MassG > 0 {
				b.MaxPourC = lowest(b.MaxPourC, r.Bases[i].MaxPourC)
				b.SoftensC = lowest(b.SoftensC, r.Bases[i].SoftensC)
			}
		}
	case formula.Cold:
		// Outside the tables it is not known, and not judged.
		if c, err := r.Ceiling(); err == nil && quantity.Finite(c.HighC) {
			b.CeilingC = quantity.Some(c.HighC)
		}
		fallthrough
	case formula.Hot:
		b.Dries = true
		b.PourC = quantity.Some(r.Batter.PourC)
	}
	if r.Batter.MassG > 0 && r.Bar.MassG > 0 {
		b.CuredShare = quantity.Some(min(r.Bar.MassG/r.Batter.MassG, 1))
		if dry := r.Bar.MassG - r.Bar.Water; dry > 0 {
			b.DryShare = quantity.Some(min(dry/r.Batter.MassG, 1))
		}
	}
	for _, p := range r.Portions {
		q := Portion{Name: p.Name, Stage: p.Stage}
		for _, c := range p.Colourants {
			q.Colourants = append(q.Colourants, Colourant{ID: c.ID, Name: c.Name, GPerKg: c.GPerKg, Typed: c.Typed})
		}
		b.Portions = append(b.Portions, q)
	}
	for i := range r.Scents {
		s := &r.Scents[i]
		if !(s.MassG > 0) || !(r.Batter.MassG > 0) {
			continue
		}
		out := Scent{Name: s.Name, Share: s.MassG / r.Batter.MassG, LimitPct: s.LimitPct, Category: s.Category, Dated: s.Dated}
		if i < len(f.Scents) {
			out.Stated = f.Scents[i].Constituents
		}
		b.Scents = append(b.Scents, out)
	}
	return b
}

func lowest(a, b quantity.Maybe) quantity.Maybe {
	if !a.Known || b.Known && b.V < a.V {
		return b
	}
	return a
}
