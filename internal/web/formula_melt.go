package web

import (
	"strconv"
	"strings"

	"barwright/quantity"
	"barwright/soap"
)

// madeRow is one thing that a melt is made of.
type madeRow struct{ Name, Aside, Pct, G string }

// melt is what a melt says in place of a bar cut open.
func (w *workView) melt(t trade, r *soap.Result, d float64) {
	w.Made, w.Numbers = t.made(r, d), t.meltFigures(r)
	var declared []string
	for _, b := range r.Bases {
		if s := strings.Join(strings.Fields(b.INCI), " "); s != "" {
			declared = append(declared, s)
		}
	}
	w.Declared = strings.Join(declared, "; ")
}

// made lists what goes into a melt, by mass as it is weighed in.
func (t trade) made(r *soap.Result, d float64) []madeRow {
	type part struct {
		name, aside string
		g           float64
	}
	var parts []part
	total := 0.0
	add := func(name, aside string, g float64) {
		if g > 0 {
			parts = append(parts, part{name, aside, g})
			total += g
		}
	}
	for i := range r.Bases {
		b := &r.Bases[i]
		aside := ""
		if b.MaxMeltC.Known {
			aside = "melt no hotter than " + t.tempSaid(b.MaxMeltC.V)
		}
		if b.MaxPourC.Known {
			aside = joined(aside, "pour no hotter than "+t.tempSaid(b.MaxPourC.V))
		}
		add(b.Name, aside, b.MassG)
	}
	for i := range r.Extras {
		add(r.Extras[i].Name, "", r.Extras[i].MassG)
	}
	for i := range r.Scents {
		add(r.Scents[i].Name, "scent", r.Scents[i].MassG)
	}
	out := make([]madeRow, len(parts))
	for i, p := range parts {
		out[i] = madeRow{p.name, p.aside, quantity.Number(100*p.g/total, 1), t.massSaid(p.g, d)}
	}
	return out
}

// meltFigures are the numbers of a melt.
func (t trade) meltFigures(r *soap.Result) []Figure {
	out := []Figure{{Value: quantity.Number(r.Batter.DensityGML, 3) + quantity.UnitSpace + "g/ml", Label: "density as poured"}}
	m := r.Formula.Melting
	if m.MeltC.Known {
		out = append(out, Figure{Value: t.tempSaid(m.MeltC.V), Label: "melted at"})
	}
	pour := Figure{Value: t.tempSaid(r.Batter.PourC), Label: "poured at"}
	if !r.Formula.PourC.Known {
		pour.Label += ", assumed"
	}
	out = append(out, pour)
	if m.Remelts > 0 {
		out = append(out, Figure{Value: strconv.Itoa(m.Remelts), Label: "times melted before"})
	}
	if r.Batter.LostG > 0 {
		out = append(out, Figure{Value: t.massSaid(r.Batter.LostG, t.division(r.Formula)), Label: "evaporates while molten"})
	}
	return out
}
