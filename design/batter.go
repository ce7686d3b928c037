package design

import (
	"math"
	"strings"

	"barwright/formula"
	"barwright/lye"
	"barwright/quantity"
	"barwright/soap"
)

// BatterOf is what a formula that was worked out pours. potLossG is what of it
// stays in the pot, g.
//
// CeilingC is the high end of lye.BatterCeiling and known of cold process only: a
// cook is over before the mould. MaxPourC and SoftensC are the lowest of a melt's
// bases. PourC is known of a melt only where the maker wrote it down, as what
// is assumed for its volume is no reading. Cold and hot process dry and must; a
// melt sweats. Colourants are named by their ids: see NameColourants.
func BatterOf(id string, r *soap.Result, potLossG float64) Batter {
	f := r.Formula
	b := Batter{ID: id, Name: f.Name, DensityGML: r.Batter.DensityGML, PotLossG: potLossG, Method: f.Method, Stage: f.Stage, PourC: f.PourC}
	switch f.Method {
	case formula.Melt:
		b.Sweats = true
		for i := range f.Bases {
			if f.Bases[i].Pct > 0 {
				b.MaxPourC = lowest(b.MaxPourC, f.Bases[i].MaxPourC)
				b.SoftensC = lowest(b.SoftensC, f.Bases[i].SoftensC)
			}
		}
	case formula.Cold:
		b.CeilingC = ceiling(r)
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
	for _, p := range f.Portions {
		q := Portion{Name: p.Name, Stage: p.Stage}
		for _, c := range p.Colourants {
			q.Colourants = append(q.Colourants, Colourant{ID: c.ID, Name: strings.ReplaceAll(c.ID, "-", " "), GPerKg: c.GPerKg, Typed: c.Typed})
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

// NameColourants gives every colourant of b the name that the catalogue has for
// its id; one for which name gives "" keeps its own.
func (b *Batter) NameColourants(name func(id string) string) {
	for i := range b.Portions {
		for k := range b.Portions[i].Colourants {
			c := &b.Portions[i].Colourants[k]
			if n := name(c.ID); n != "" {
				c.Name = n
			}
		}
	}
}

func lowest(a, b quantity.Maybe) quantity.Maybe {
	if !a.Known || b.Known && b.V < a.V {
		return b
	}
	return a
}

// ceiling is how hot a batter may get by itself if it kept all of its heat;
// unknown outside the tables.
func ceiling(r *soap.Result) quantity.Maybe {
	na, k := r.Pure()
	c, err := lye.BatterCeiling(lye.Batter{FatsG: r.FatsG, NaOHG: na, KOHG: k, WaterG: r.AllWaterG,
		EsterMol: math.Max(r.Mol-r.AcidMol, 0), AcidMol: r.AcidMol, StartC: r.Batter.PourC})
	if err != nil || !quantity.Finite(c.HighC) {
		return quantity.Maybe{}
	}
	return quantity.Some(c.HighC)
}
