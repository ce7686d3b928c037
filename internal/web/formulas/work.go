package formulas

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/draw"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// work is what the sums say: everything that follows the typing.
type work struct {
	OK       bool
	Melt     bool
	Why      string // why there is nothing to show
	Answers  []answer
	answers  map[string]answer // by their ids
	Findings shell.Findings
	Unit     string // heads a column of masses
	Batter   string
	Volume   string
	Measured bool // the density was, so that the volume is no estimate
	FatsSum  string
	FatsG    string
	WholeG   string
	Numbers  []shell.Figure
	// Allergens are the constituents that the scents state, of the whole bar.
	Allergens     []allergenRow
	AllergensSaid string
	Undivided     string // batter that is in no portion

	// Of a batter with lye.
	Lye      []lyeLine
	Means    string // the concentration that the water means
	Heat     string // how hot the batter may get
	Figures  []shell.Figure
	Cut      shell.Picture
	Strata   []strataRow
	SoapPct  string
	SoapG    string
	Glass    shell.Picture
	When     string
	FreeSaid string

	// Of a melt.
	Made     shell.List
	Declared string // what its bases are declared as
}

// allergenRow is one constituent that scents state.
type allergenRow struct {
	Name, Aside, Pct, Said string
	Must                   bool // a label must name it
}

// answer is one number beside a field.
type answer struct {
	ID    string
	Text  string
	Marks []shell.Mark
	Mark  string // id of the marks
}

// lyeLine is one line of what goes into the jug.
type lyeLine struct {
	Name, Aside, Value string
	Marks              []shell.Mark
}

type strataRow struct {
	Stratum    draw.Stratum
	Does       string // what it does in a bar
	Aside      string
	Pct, G     string
	Other      string
	SoapBegins bool // a heavy rule parts soap from what lies on it
}

// workOut is what the sums say of the formula, as far as they can.
func workOut(d *desk) work {
	t, x := d.faces, d.x
	w := work{Unit: form.MassColumn(t.Set.Mass), Melt: x.Method == formula.Melt, answers: map[string]answer{}}
	// A row without an ingredient yet is no fault while typing. The page knows rows,
	// the sums know lines.
	g := x.Clone()
	rows := map[string][]string{"scent": numbers(d.form, "scent"), "portion": numbers(d.form, "portion")}
	g.Fats, rows["fat"] = chosen(g.Fats, numbers(d.form, "fat"), func(x formula.Fat) bool { return x.ID != "" })
	g.Bases, rows["base"] = chosen(g.Bases, numbers(d.form, "base"), func(x formula.Base) bool { return x.Name != "" })
	g.Extras, rows["extra"] = chosen(g.Extras, numbers(d.form, "extra"), func(x formula.Extra) bool { return x.ID != "" && x.Dose > 0 })
	switch {
	case w.Melt && len(g.Bases) == 0:
		w.Why = "Name a base and give it a share: what the melt comes to stands here as soon as there is something to say."
		return w
	case !w.Melt && len(g.Fats) == 0:
		w.Why = "Choose a fat and give it a share: the bar is drawn as soon as there is something to draw."
		return w
	}
	if w.Why = d.form.Hindrance(d.harmless); w.Why != "" {
		return w
	}
	r, err := soap.Work(g, t.Cat)
	if err != nil {
		w.Why = "The sums do not come out yet."
		if l := fault.All(err); len(l) > 0 && l[0].Message != "" {
			w.Why = words.Sentence(l[0].Message)
		}
		return w
	}
	w.OK = true
	sf, mine := r.Superfat, d.edit.Record
	unchanged := mine != nil && formula.SameSums(mine.Newest.Doc.Formula, x)
	if unchanged && mine.Newest.Doc.Kept.Superfat.Draws > 0 {
		sf = mine.Newest.Doc.Kept.Superfat
	}
	w.Findings = shell.Footnotes(soap.Findings(r, sf, t.Limits(x)))
	step := t.Division(x)
	w.rows(d, r, rows, step)
	w.allergens(r)
	w.Batter, w.Volume = t.Mass(r.Batter.MassG, step), quantity.Volume(r.Batter.VolumeML, t.Set.Volume, 0)
	w.Measured = x.DensityGML.Known
	if w.Melt {
		w.melt(t, r, step)
		return w
	}
	w.lye(t, r, step)
	w.heat(t, r)
	w.Means = "the lye is " + quantity.Percent(r.ConcentrationPct, 1) + " alkali"
	if r.ConcentrationPct > 0 {
		w.Means += ", " + quantity.Number((100-r.ConcentrationPct)/r.ConcentrationPct, 2) + " of water to 1"
	}
	seed := x.Name
	if mine != nil {
		seed = mine.ID
	}
	w.picture(t, r, sf, seed, step)
	if unchanged {
		mine = nil // there is no earlier one to set beside it
	}
	w.glass(sf, mine)
	w.Numbers = []shell.Figure{{Value: quantity.Percent(r.Bar.TFMPct, 1), Label: "total fatty matter, ISO 685"}}
	if r.Bar.HasProfile {
		w.Numbers = append(w.Numbers, shell.Figure{Value: quantity.Number(r.Bar.IodineValue, 0), Label: "iodine value"},
			shell.Figure{Value: quantity.Number(r.Bar.Oxidizable, 2), Label: "oxidizability"})
	}
	w.Numbers = append(w.Numbers, shell.Figure{Value: quantity.Percent(r.Bar.GlycerolPct, 1), Label: "glycerol"})
	return w
}

// harmless reports whether a fault on a field leaves something to work out: a name
// that is still missing, a sum that is not yet 100 %, or what no field is at fault for.
func harmless(field string) bool {
	return slices.Contains([]string{"", "name", "notes", "note", "fat", "base", "portion", "fats_g"}, field) ||
		strings.HasSuffix(field, ".id") || strings.HasSuffix(field, ".name")
}

// harmless is as the function, but for an ingredient that is typed and not known: what
// could be meant is asked for, where it would count.
func (d *desk) harmless(field string) bool {
	if row, ok := strings.CutSuffix(field, ".id"); ok && d.form.Bad(field) {
		return strings.HasPrefix(row, "extra.") && d.form.Typed(row+".dose_g") == ""
	}
	return harmless(field)
}

// numbers are the rows of the page that the lines of a list stand in.
func numbers(f *form.Form, list string) []string {
	var out []string
	for _, r := range f.Rows(list) {
		if r.Line() >= 0 {
			out = append(out, r.Num())
		}
	}
	return out
}

// answer puts a number beside its row.
func (w *work) answer(a answer) {
	w.Answers = append(w.Answers, a)
	w.answers[a.ID] = a
}

// rows are what every row of the recipe weighs, and the findings on it.
func (w *work) rows(d *desk, r *soap.Result, rows map[string][]string, step float64) {
	t := d.faces
	mass := func(g float64) string { return quantity.MassNumber(g, t.Set.Mass, step) }
	say := func(list string, i int, text string) {
		if i < len(rows[list]) {
			n := rows[list][i]
			w.answer(answer{ID: "w-" + list + "-" + n, Text: text, Marks: w.Findings.About(list + ":" + strconv.Itoa(i)), Mark: "m-" + list + "-" + n})
		}
	}
	sum := 0.0
	share := func(list string, i int, pct, g float64) {
		sum += pct
		if d.x.ByWeight {
			say(list, i, quantity.Percent(pct, 1))
		} else {
			say(list, i, mass(g))
		}
	}
	for i := range r.Fats {
		share("fat", i, r.Formula.Fats[i].Pct, r.Fats[i].MassG)
	}
	for i := range r.Bases {
		share("base", i, r.Formula.Bases[i].Pct, r.Bases[i].MassG)
	}
	w.FatsSum, w.FatsG = quantity.Percent(sum, 1), mass(r.FatsG)
	for i := range r.Extras {
		say("extra", i, mass(r.Extras[i].MassG))
	}
	for i := range r.Scents {
		say("scent", i, mass(r.Scents[i].MassG))
	}
	for i := range r.Portions {
		p := &r.Portions[i]
		say("portion", i, mass(p.BatterG))
		said := []string{"About " + quantity.Volume(p.VolumeML, t.Set.Volume, 0) + " of batter"}
		for _, c := range p.Colourants {
			said = append(said, strings.ToLower(c.Name[:1])+c.Name[1:]+" "+colourSaid(t, &c, step))
		}
		if len(p.Colourants) > 0 {
			said = append(said, t.Mass(p.MassG, step)+" with its colours")
		}
		if i < len(rows["portion"]) {
			w.answer(answer{ID: "c-portion-" + rows["portion"][i], Text: strings.Join(said, "; ") + "."})
		}
	}
	if left := r.PortionsLeftG(); len(r.Portions) > 0 && left > max(step, 1e-6*r.Batter.MassG) {
		w.Undivided = t.Mass(left, step) + " of batter is in no portion."
	}
}

// colourSaid is how much of a colourant goes in: by the spoon where nobody weighed
// one, since the mass is then only assumed.
func colourSaid(t form.Faces, c *soap.ColourMass, step float64) string {
	g := t.Mass(c.MassG, min(step, 0.1))
	if c.Typed.Unit == formula.TeaspoonsPerPound && !c.Typed.Measured && c.Typed.GramsPerTsp > 0 {
		return quantity.Number(c.MassG/c.Typed.GramsPerTsp, 1) + quantity.UnitSpace + "tsp, taken as " + g
	}
	return g
}

// allergens are what the scents' certificates state, over all of them.
func (w *work) allergens(r *soap.Result) {
	for _, c := range r.Constituents() {
		row := allergenRow{Name: c.Name, Pct: quantity.Number(c.PctOfBar, 3), Said: "not on the list"}
		var aside []string
		if len(c.Stated) > 0 {
			aside = append(aside, "stated as "+strings.Join(c.Stated, ", "))
		}
		if c.Note != "" {
			aside = append(aside, c.Note)
		}
		row.Aside = strings.Join(aside, "; ")
		switch {
		case c.Prohibited:
			row.Said = "prohibited"
		case c.Declarable:
			row.Said, row.Must = "name it", true
		case c.Listed:
			row.Said = "need not be named"
		}
		w.Allergens = append(w.Allergens, row)
	}
	w.AllergensSaid = "Of the bar as sold. What is on the list is named above " + quantity.Number(catalogue.AllergenRinseOffPct, 2) + quantity.UnitSpace +
		"% of what is rinsed off: " + catalogue.AllergenSource + ". Only what is typed here is known."
}

// heat says how hot the batter may get: never a forecast.
func (w *work) heat(t form.Faces, r *soap.Result) {
	c, err := r.Ceiling()
	if err != nil || r.Formula.Method == formula.Hot {
		return // outside the tables, or in the pot where the cook is: nothing is said
	}
	w.Heat = "The batter may reach " + t.Temp(math.Ceil(c.LowC)) + " to " + t.Temp(math.Ceil(c.HighC)) + ", poured at " + t.Temp(r.Batter.PourC) +
		", if it kept all of its heat; a loaf keeps more than single bars. Give or take " + t.Degrees(c.DoubtK) + "."
	if sweet := sweets(r); sweet != "" {
		w.Heat += " " + sweet + " brings heat of its own, which is not in it."
	}
}

// sweets are the extras of a batter that heat it further as they react.
func sweets(r *soap.Result) string {
	var names []string
	for i := range r.Extras {
		if e := &r.Extras[i]; e.SugarG > 0 {
			names = append(names, e.Name)
		}
	}
	return strings.Join(names, ", ")
}

// chosen leaves out the lines that are not chosen yet, with the rows they stand in.
func chosen[T any](list []T, rows []string, ok func(T) bool) (out []T, in []string) {
	for i, x := range list {
		if ok(x) && i < len(rows) {
			out, in = append(out, x), append(in, rows[i])
		}
	}
	return out, in
}

// lye is what stands in the jug, water first.
func (w *work) lye(t form.Faces, r *soap.Result, d float64) {
	add := func(name, aside string, g float64, marks ...shell.Mark) {
		w.Lye = append(w.Lye, lyeLine{name, aside, quantity.MassNumber(g, t.Set.Mass, d), marks})
	}
	alkali := func(name string, g float64, solid, solution quantity.Maybe, marks ...shell.Mark) {
		aside := ""
		switch {
		case g <= 0:
			return
		case solution.Known:
			aside = quantity.Number(solution.V, 1) + " % solution, as one line"
		case solid.Known:
			aside = quantity.Number(solid.V, 1) + " %"
		}
		add(name, aside, g, marks...)
	}
	peak := ""
	switch {
	case !r.Lye.PeakC.Known:
	case r.Lye.IcedPeakC.Known:
		peak = "with the ice the lye may reach " + t.Temp(r.Lye.IcedPeakC.V)
	default:
		peak = "the lye may reach " + t.Temp(r.Lye.PeakC.V)
		if r.Lye.IceG > 0 {
			peak += " without the ice"
		}
	}
	add("Water, first into the jug", peak, r.Lye.WaterG, w.Findings.About("water")...)
	if r.Lye.IceG > 0 {
		add("Ice, of the same water", "", r.Lye.IceG)
	}
	a := r.Formula.Alkali
	alkali("Sodium hydroxide", r.NaOHG, a.NaOHPurityPct, a.NaOHSolutionPct, append(w.Findings.About("superfat"), w.Findings.About("alkali")...)...)
	alkali("Potassium hydroxide", r.KOHG, a.KOHPurityPct, a.KOHSolutionPct)
	if r.Lye.LaterG > 0 {
		add("Water kept back", "into the batter, never into made lye", r.Lye.LaterG)
	}
}

const (
	barHeight  = 470.0
	legendHead = 34.0
	legendRow  = 33.0
)

func (w *work) picture(t form.Faces, r *soap.Result, sf soap.Superfat, seed string, d float64) {
	bar := draw.BarOf(r, sf, r.Formula.Name)
	rows := bar.Present()
	// A page without the picture has its figures.
	w.Cut, _ = shell.Draw("bar", 262, 340, func(id string, width float64) (string, error) {
		if id == "bar" {
			return draw.BarCut(bar, draw.CutOptions{ID: id, Width: width, Height: barHeight, Seed: seed,
				Leaders: &draw.Leaders{Top: legendHead, Pitch: legendRow, Rows: rows}})
		}
		return draw.BarCut(bar, draw.CutOptions{ID: id, Width: width, Height: 400, Seed: seed, Hidden: true})
	})
	for _, s := range rows {
		row := strataRow{Stratum: s, Does: s.Look().Does,
			Pct: quantity.Number(100*bar.Shares[s], 1), G: quantity.MassNumber(bar.Shares[s]*r.Bar.MassG, t.Set.Mass, d)}
		if s == draw.FreeFat && bar.Doubt != nil {
			row.Does, row.Aside = "", quantity.Interval(100*bar.Doubt.Low, 100*bar.Doubt.High, 1)+" % of the bar"
		}
		w.Strata = append(w.Strata, row)
	}
	for i := range w.Strata {
		w.Strata[i].SoapBegins = i > 0 && int(w.Strata[i].Stratum) < draw.Soaps && int(w.Strata[i-1].Stratum) >= draw.Soaps
	}
	w.WholeG = quantity.MassNumber(r.Bar.MassG, t.Set.Mass, d)
	w.SoapPct, w.SoapG = quantity.Number(100*r.SoapG()/r.Bar.MassG, 1), quantity.MassNumber(r.SoapG(), t.Set.Mass, d)
	loss := r.Formula.CureWaterLossPct
	w.When = "Each area shows a share of the bar’s mass when it is sold: " +
		quantity.Percent(loss.Or(soap.DefaultCureWaterLossPct), 0) + " of the water has gone"
	if !loss.Known {
		w.When += ", which is assumed"
	}
	w.When += "."
	w.FreeSaid = t.Mass(r.Bar.FreeFat, d) + " of free fat: " + quantity.Percent(sf.NominalPct, 1) + " of the saponifiable fat, " +
		quantity.Percent(100*r.Bar.FreeFat/r.Bar.MassG, 1) + " of the bar."
}

func (w *work) glass(sf soap.Superfat, mine *studio.Record[studio.Formula]) {
	odds := quantity.Odds(sf.Excess, max(sf.Draws, soap.Draws))
	w.Figures = []shell.Figure{{Value: quantity.Percent(sf.NominalPct, 1), Label: "asked for"},
		{Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "95 % interval"},
		{Value: odds, Label: "chance of alkali in excess"},
		{Value: quantity.Percent(sf.For1In1000Pct, 1), Label: "would make it 1 in 1000"}}
	g := draw.Superfat{NominalPct: sf.NominalPct, LowPct: sf.LowPct, HighPct: sf.HighPct,
		MeanPct: sf.NominalPct, SDPct: sf.SDPct, Excess: sf.Excess, Odds: odds, Label: "this version"}
	if mine != nil && mine.Newest.Doc.Kept.Superfat.Draws > 0 {
		k := mine.Newest.Doc.Kept.Superfat
		g.Earlier = &draw.Earlier{Label: "version " + strconv.Itoa(mine.Newest.N), NominalPct: k.NominalPct, LowPct: k.LowPct, HighPct: k.HighPct}
	}
	w.Glass, _ = shell.Draw("glass", 536, 346, func(id string, width float64) (string, error) {
		return draw.Glass(g, draw.GlassOptions{ID: id, Width: width, Hidden: id != "glass"})
	})
}
