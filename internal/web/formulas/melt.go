package formulas

import (
	"strconv"
	"strings"

	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/soap"
)

// melt is what a melt says in place of a bar cut open.
func (w *work) melt(t form.Faces, r *soap.Result, d float64) {
	w.Made, w.Numbers = made(t, r, d), meltFigures(t, r)
	var declared []string
	for _, b := range r.Bases {
		if s := strings.Join(strings.Fields(b.INCI), " "); s != "" {
			declared = append(declared, s)
		}
	}
	w.Declared = strings.Join(declared, "; ")
}

// made lists what goes into a melt, by mass as it is weighed in.
func made(t form.Faces, r *soap.Result, d float64) shell.List {
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
		var limits []string
		if b.MaxMeltC.Known {
			limits = append(limits, "melt no hotter than "+t.Temp(b.MaxMeltC.V))
		}
		if b.MaxPourC.Known {
			limits = append(limits, "pour no hotter than "+t.Temp(b.MaxPourC.V))
		}
		add(b.Name, strings.Join(limits, "; "), b.MassG)
	}
	for i := range r.Extras {
		add(r.Extras[i].Name, "", r.Extras[i].MassG)
	}
	for i := range r.Scents {
		add(r.Scents[i].Name, "scent", r.Scents[i].MassG)
	}
	out := shell.List{Class: "made", Caption: "What the melt is made of, as poured", Title: "Made of", Columns: []shell.Column{{Label: "%"}, {Label: "mass"}}}
	for _, p := range parts {
		out.Rows = append(out.Rows, shell.ListRow{Name: p.name, Aside: []string{p.aside},
			Cells: []shell.Cell{{Value: quantity.Number(100*p.g/total, 1), Plain: true}, {Value: t.Mass(p.g, d)}}})
	}
	return out
}

// meltFigures are the numbers of a melt.
func meltFigures(t form.Faces, r *soap.Result) []shell.Figure {
	out := []shell.Figure{{Value: quantity.Number(r.Batter.DensityGML, 3) + quantity.UnitSpace + "g/ml", Label: "density as poured"}}
	m := r.Formula.Melting
	if m.MeltC.Known {
		out = append(out, shell.Figure{Value: t.Temp(m.MeltC.V), Label: "melted at"})
	}
	pour := shell.Figure{Value: t.Temp(r.Batter.PourC), Label: "poured at"}
	if !r.Formula.PourC.Known {
		pour.Label += ", assumed"
	}
	out = append(out, pour)
	if m.Remelts > 0 {
		out = append(out, shell.Figure{Value: strconv.Itoa(m.Remelts), Label: "times melted before"})
	}
	if r.Batter.LostG > 0 {
		out = append(out, shell.Figure{Value: t.Mass(r.Batter.LostG, t.Division(r.Formula)), Label: "evaporates while molten"})
	}
	return out
}
