package web

import (
	"net/url"
	"strconv"
	"strings"

	"barwright/catalogue"
	"barwright/formula"
	"barwright/quantity"
	"barwright/soap"
)

// toForm fills the editor with f; colourants stand there by name.
func (t trade) toForm(f *formula.Formula) url.Values {
	v := formula.ToForm(f, t.faces())
	for i, p := range f.Portions {
		path := formula.Path("portion", i, "colours")
		lines := strings.Split(v.Get(path), "\n")
		for k, c := range p.Colourants {
			in, err := t.cat.Get(c.ID)
			if err != nil || k >= len(lines) {
				continue
			}
			// Only a name that would be read as this very colourant.
			if back, err := t.cat.Named(in.Name); err == nil && back.ID == in.ID {
				if dose, ok := strings.CutPrefix(lines[k], c.ID+" "); ok {
					lines[k] = in.Name + " " + dose
				}
			}
		}
		v.Set(path, strings.Join(lines, "\n"))
	}
	return v
}

// portions are the masses of the vessels and of the colourants in each.
func (w *workView) portions(t trade, r *soap.Result, rows []int, d float64) {
	for i := range r.Portions {
		if i >= len(rows) {
			break
		}
		p, n := &r.Portions[i], strconv.Itoa(rows[i])
		w.Answers = append(w.Answers, answer{ID: "w-portion-" + n, Text: quantity.MassNumber(p.BatterG, t.set.Mass, d),
			Marks: w.Findings.About("portion:" + strconv.Itoa(i)), Mark: "m-portion-" + n})
		said := []string{"About " + quantity.Volume(p.VolumeML, t.set.Volume, 0) + " of batter"}
		for _, c := range p.Colourants {
			said = append(said, strings.ToLower(c.Name[:1])+c.Name[1:]+" "+t.colourSaid(&c, d))
		}
		if len(p.Colourants) > 0 {
			said = append(said, t.massSaid(p.MassG, d)+" with its colours")
		}
		w.Answers = append(w.Answers, answer{ID: "c-portion-" + n, Text: strings.Join(said, "; ") + "."})
	}
	if left := r.PortionsLeftG(); len(r.Portions) > 0 && left > max(d, 1e-6*r.Batter.MassG) {
		w.Undivided = t.massSaid(left, d) + " of batter is in no portion."
	}
}

// colourSaid is how much of a colourant goes in: by the spoon where nobody
// weighed one, since the mass is then only assumed.
func (t trade) colourSaid(c *soap.ColourMass, d float64) string {
	g := t.massSaid(c.MassG, min(d, 0.1))
	if c.Typed.Unit == formula.TeaspoonsPerPound && !c.Typed.Measured && c.Typed.GramsPerTsp > 0 {
		return quantity.Number(c.MassG/c.Typed.GramsPerTsp, 1) + quantity.UnitSpace + "tsp, taken as " + g
	}
	return g
}

// allergens are what the scents' certificates state, over all of them.
func (w *workView) allergens(r *soap.Result) {
	for _, c := range r.Constituents() {
		row := allergenRow{Name: c.Name, Pct: quantity.Number(c.PctOfBar, 3), Said: "not on the list"}
		if len(c.Stated) > 0 {
			row.Aside = "stated as " + strings.Join(c.Stated, ", ")
		}
		switch {
		case c.Prohibited:
			row.Said = "prohibited"
		case c.Declarable:
			row.Said, row.Must = "name it", true
		case c.Listed:
			row.Said = "need not be named"
		}
		row.Aside = joined(row.Aside, c.Note)
		w.Allergens = append(w.Allergens, row)
	}
	w.AllergensSaid = "Of the bar as sold. What is on the list is named above " + quantity.Number(catalogue.AllergenRinseOffPct, 2) + quantity.UnitSpace +
		"% of what is rinsed off: " + catalogue.AllergenSource + ". Only what is typed here is known."
}
