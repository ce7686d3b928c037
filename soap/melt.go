package soap

import (
	"fmt"
	"math"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
)

// BaseMass is one ready-made base of a melt, to weigh.
type BaseMass struct {
	Name, INCI string  // the INCI names as its supplier declares them
	MassG      float64 // to weigh
	LeftG      float64 // in the melt as poured, less what evaporated
	DensityGML float64 // molten
	Assumed    bool    // nobody stated the density
	// SoftensC is the temperature at which it begins to soften once set.
	// MaxMeltC and MaxPourC are the limits that its supplier gives. All are in
	// °C.
	SoftensC, MaxMeltC, MaxPourC quantity.Maybe
}

// Melts reports whether the formula is a melt of ready-made base. A melt has no
// fats, alkali or superfat, and nothing in it reacts.
func (r *Result) Melts() bool { return r.Formula.Method == formula.Melt }

// melt works a melt out. A dose counted on the melt as poured includes itself
// and is solved exactly:
//
//	melt = (1 − e) · (G + s · melt)
//
// where e is the share that evaporates, s the sum of such doses as a share of
// the melt, and G everything else that goes in.
//
// What evaporates is water of the base, taken off every base alike. A melt
// loses no predictable water on the rack, so it is sold as poured.
func (r *Result) melt(f *formula.Formula, cat *catalogue.Catalogue) error {
	var l fault.List
	checkRange(&l, "fats_g", f.FatsG, f.FatsG > 0, "the mass of base must be above 0 g")
	e := f.Melting.EvaporationPct.Or(0) / 100
	checkRange(&l, "melting.evaporation_pct", e, e >= 0 && e < 1, "what evaporated must be from 0 to under 100 %")
	checkDensity(&l, f)
	if len(f.Bases) == 0 {
		l.Add(fault.Invalidf("base", "a melt needs at least one base"))
	}
	if len(f.Fats) > 0 {
		l.Add(fault.Invalidf("fat", "a melt takes no fats into lye: take them out, or write method cold or hot"))
	}
	r.Bases = make([]BaseMass, len(f.Bases))
	for i := range f.Bases {
		in := &f.Bases[i]
		checkRange(&l, field("base", i, "pct"), in.Pct, in.Pct >= 0, "the share must be 0 % or more")
		b := BaseMass{Name: in.Name, INCI: in.INCI, MassG: f.FatsG * in.Pct / 100, DensityGML: in.DensityGML.Or(baseDensity), Assumed: !in.DensityGML.Known,
			SoftensC: in.SoftensC, MaxMeltC: in.MaxMeltC, MaxPourC: in.MaxPourC}
		checkRange(&l, field("base", i, "density_g_ml"), b.DensityGML, b.DensityGML > 0, "the density must be above 0 g/ml")
		r.Bases[i] = b
		r.FatsG += b.MassG
	}
	r.gatherExtras(f, cat, &l)
	if len(l) > 0 {
		return l.Err()
	}
	if !(r.FatsG > 0) || !quantity.Finite(r.FatsG) {
		return fault.Invalidf("base", "there is no base in the melt yet: give at least one base a share")
	}
	in, ownShare := r.FatsG, 0.0
	for i := range r.Extras {
		m := &r.Extras[i]
		switch m.Per {
		case formula.PerKgFats:
			m.MassG = m.Dose * r.FatsG / 1000
		case formula.PerKgBatter:
			ownShare += m.Dose / 1000
		case formula.PerBatch:
			m.MassG = m.Dose
		case formula.PerLiquid:
			return fault.Invalidf(field("extra", i, "per"), "a melt has no liquid to take a share of: dose %s per kg", m.Name)
		}
		in += m.MassG
	}
	for i := range r.Scents {
		if f.Scents[i].Of == formula.OfFats {
			r.Scents[i].MassG = f.Scents[i].DosePct / 100 * r.FatsG
			in += r.Scents[i].MassG
		} else { // a melt is sold as poured, so a share of the bar is a share of the melt
			ownShare += f.Scents[i].DosePct / 100
		}
	}
	if !(ownShare < 1) {
		return fault.Invalidf("doses", "the doses counted on the melt or the bar add up to all of it, so that nothing else fits in: lower one of them")
	}
	b := &r.Batter
	b.MassG = (1 - e) * in / (1 - (1-e)*ownShare)
	b.LostG = b.MassG * e / (1 - e)
	b.PourC = f.PourC.Or(DefaultMeltPourC)
	left := 1 - b.LostG/r.FatsG
	if !(left > 0) || !quantity.Finite(b.MassG) {
		return fault.Invalidf("melting.evaporation_pct", "%s would evaporate, and there is only %s of base: weigh it again",
			DefaultLimits().mass(b.LostG), DefaultLimits().mass(r.FatsG))
	}
	var ml float64
	for i := range r.Bases {
		x := &r.Bases[i]
		x.LeftG = x.MassG * left
		ml += x.LeftG / x.DensityGML
	}
	for i := range r.Extras {
		m := &r.Extras[i]
		if m.Per == formula.PerKgBatter {
			m.MassG = m.Dose / 1000 * b.MassG
		}
		m.FatG, m.WaterG, m.SugarG = m.MassG*m.fatShare, m.MassG*m.waterShare, m.MassG*m.sugarShare
		d := m.DensityGML
		if d <= 0 {
			d = 1
		}
		ml += m.MassG / d
	}
	for i := range r.Scents {
		if f.Scents[i].Of != formula.OfFats {
			r.Scents[i].MassG = f.Scents[i].DosePct / 100 * b.MassG
		}
		ml += r.Scents[i].MassG / scentDensity
	}
	b.fill(f, ml)
	r.Bar.MassG = b.MassG
	return nil
}

func (r *Result) meltStrata() (s [NumStrata]float64) {
	for i := range r.Bases {
		s[UnknownSoap] += r.Bases[i].LeftG
	}
	for i := range r.Extras {
		s[r.Extras[i].stratum()] += r.Extras[i].MassG
	}
	for i := range r.Scents {
		s[Scent] += r.Scents[i].MassG
	}
	return s
}

func (r *Result) meltComposition() []Species {
	out := make([]Species, 0, len(r.Bases)+len(r.Extras)+len(r.Scents))
	add := func(name, inci string, g float64, s Stratum) {
		if g > 0 {
			out = append(out, Species{Name: name, INCI: inci, MassG: g, Pct: pct(g, r.Bar.MassG), Stratum: s})
		}
	}
	for i := range r.Bases {
		add(r.Bases[i].Name, r.Bases[i].INCI, r.Bases[i].LeftG, UnknownSoap)
	}
	for i := range r.Extras {
		m := &r.Extras[i]
		add(m.Name, m.INCI, m.MassG, m.stratum())
	}
	for i := range r.Scents {
		add("Scent "+r.Scents[i].Name, "Parfum", r.Scents[i].MassG, Scent)
	}
	return heaviestFirst(out)
}

// PortionMass is one portion of a batter, poured into a vessel of its own.
type PortionMass struct {
	Name     string
	Stage    formula.Stage
	BatterG  float64 // batter to pour in, before its colours
	VolumeML float64 // of that batter
	// Colourants are added on top. Neither the batter's mass nor the bar's
	// includes them.
	Colourants []ColourMass
	MassG      float64 // batter and colours
}

// ColourMass is a colour to weigh into a portion.
type ColourMass struct {
	ID, Name, INCI string
	MassG          float64
	GPerKg         float64 // of the portion's batter
	Typed          formula.Typed
}

// divide divides the batter into portions. A portion that takes the rest gets
// what the others leave, and never less than 0. Findings warns when they ask
// for more than there is.
func (r *Result) divide(f *formula.Formula, cat *catalogue.Catalogue) error {
	if len(f.Portions) == 0 {
		return nil
	}
	var l fault.List
	r.Portions = make([]PortionMass, len(f.Portions))
	taken := 0.0
	for i := range f.Portions {
		in := &f.Portions[i]
		p := PortionMass{Name: in.Name, Stage: in.Stage}
		if in.By != formula.ByRest {
			checkRange(&l, field("portion", i, "amount"), in.Amount, in.Amount >= 0, "the amount must be 0 or more")
		}
		switch in.By {
		case formula.ByShare:
			p.BatterG = r.Batter.MassG * in.Amount / 100
		case formula.ByVolume:
			p.BatterG = in.Amount * r.Batter.DensityGML
		case formula.ByMass:
			p.BatterG = in.Amount
		}
		taken += p.BatterG
		r.Portions[i] = p
	}
	for i := range f.Portions {
		in, p := &f.Portions[i], &r.Portions[i]
		if in.By == formula.ByRest {
			p.BatterG = math.Max(r.Batter.MassG-taken, 0)
		}
		p.VolumeML = p.BatterG / r.Batter.DensityGML
		p.MassG = p.BatterG
		for k, x := range in.Colourants {
			ing, err := cat.Get(x.ID)
			if err != nil {
				e := at(err, "portion", i, "colours")
				e.Message = fmt.Sprintf("line %d: %s", k+1, e.Message)
				l.Add(e)
				continue
			}
			checkRange(&l, field("portion", i, "colours"), x.GPerKg, x.GPerKg >= 0, fmt.Sprintf("line %d: the dose must be 0 or more", k+1))
			c := ColourMass{ID: x.ID, Name: ing.Name, INCI: ing.INCI, GPerKg: x.GPerKg, Typed: x.Typed, MassG: p.BatterG * x.GPerKg / 1000}
			p.Colourants = append(p.Colourants, c)
			p.MassG += c.MassG
		}
	}
	return l.Err()
}

// PortionsLeftG is how much batter the portions leave, g. It is negative when
// they ask for more than there is. Without portions it is all of the batter.
func (r *Result) PortionsLeftG() float64 {
	left := r.Batter.MassG
	for i := range r.Portions {
		left -= r.Portions[i].BatterG
	}
	return left
}
