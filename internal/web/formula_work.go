package web

import (
	"html/template"
	"math"
	"net/url"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/formula"
	"barwright/internal/draw"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// workView is what the sums say: everything that follows the typing.
type workView struct {
	OK       bool
	Melt     bool
	Why      string // why there is nothing to show
	Answers  []answer
	Findings Findings
	Unit     string // of masses
	Batter   string
	Volume   string
	Measured bool // the density was, so that the volume is no estimate
	FatsSum  string
	FatsG    string
	WholeG   string
	Numbers  []Figure
	// Allergens are the constituents that the scents state, of the whole bar.
	Allergens     []allergenRow
	AllergensSaid string
	Undivided     string // batter that is in no portion

	// Of a batter with lye.
	Lye     []lyeLine
	Means   string // the concentration that the water means
	Heat    string // how hot the batter may get
	Figures []Figure
	Cut     template.HTML
	Phone   template.HTML
	Strata  []strataRow
	SoapPct string
	SoapG   string
	Glass   template.HTML
	// GlassPhone is the same for a narrow page, its words as large.
	GlassPhone template.HTML
	When       string
	FreeSaid   string

	// Of a melt.
	Made     []madeRow
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
	Marks []Mark
	Mark  string // id of the marks
}

// lyeLine is one line of what goes into the jug.
type lyeLine struct {
	Name, Aside, Value string
	Marks              []Mark
}

type strataRow struct {
	Look       draw.Look
	Stratum    draw.Stratum
	Does       string // what it does in a bar
	Aside      string
	Pct, G     string
	Other      string
	SoapBegins bool // a heavy rule parts soap from what lies on it
}

// work is what the sums say to f, as far as they can.
func (s *server) work(t trade, v url.Values, f *formula.Formula, faults fault.List, mine *studio.Record[studio.Formula]) workView {
	w := workView{Unit: massUnitWord(t.set.Mass), Melt: f.Method == formula.Melt}
	d := t.division(f)
	// A row without an ingredient yet is no fault while typing.
	g := f.Clone()
	rows := map[string][]int{}
	for list := range listKeys {
		rows[list] = formula.RowNumbers(v, list)
	}
	g.Fats, rows["fat"] = chosen(g.Fats, rows["fat"], func(x formula.Fat) bool { return x.ID != "" })
	g.Bases, rows["base"] = chosen(g.Bases, rows["base"], func(x formula.Base) bool { return x.Name != "" })
	g.Extras, rows["extra"] = chosen(g.Extras, rows["extra"], func(x formula.Extra) bool { return x.ID != "" && x.Dose > 0 })
	switch {
	case w.Melt && len(g.Bases) == 0:
		w.Why = "Name a base and give it a share: what the melt comes to stands here as soon as there is something to say."
		return w
	case !w.Melt && len(g.Fats) == 0:
		w.Why = "Choose a fat and give it a share: the bar is drawn as soon as there is something to draw."
		return w
	}
	if w.Why = unreadable(faults); w.Why != "" {
		return w
	}
	r, err := soap.Work(g, t.cat)
	if err != nil {
		if l := fault.All(err); len(l) > 0 && l[0].Message != "" {
			w.Why = l[0].Message
		} else {
			w.Why = "The sums do not come out yet."
		}
		return w
	}
	sf := r.Superfat
	if mine != nil && mine.Newest.Doc.Kept.Superfat.Draws > 0 && formula.SameSums(mine.Newest.Doc.Formula, f) {
		sf = mine.Newest.Doc.Kept.Superfat
	}
	w.Findings = Footnotes(soap.Findings(r, sf, t.limits(f)))
	w.OK = true
	// The page knows rows, the sums know lines.
	say := func(list string, i int, text string) {
		if i >= len(rows[list]) {
			return
		}
		n := strconv.Itoa(rows[list][i])
		w.Answers = append(w.Answers, answer{ID: "w-" + list + "-" + n, Text: text, Marks: w.Findings.About(list + ":" + strconv.Itoa(i)), Mark: "m-" + list + "-" + n})
	}
	mass := func(g float64) string { return quantity.MassNumber(g, t.set.Mass, d) }
	shareOr := func(pct, g float64) string {
		if f.ByWeight {
			return quantity.Percent(pct, 1)
		}
		return mass(g)
	}
	sum := 0.0
	for i := range r.Fats {
		sum += g.Fats[i].Pct
		say("fat", i, shareOr(g.Fats[i].Pct, r.Fats[i].MassG))
	}
	for i := range r.Bases {
		sum += g.Bases[i].Pct
		say("base", i, shareOr(g.Bases[i].Pct, r.Bases[i].MassG))
	}
	for i := range r.Extras {
		say("extra", i, mass(r.Extras[i].MassG))
	}
	for i := range r.Scents {
		say("scent", i, mass(r.Scents[i].MassG))
	}
	w.portions(t, r, rows["portion"], d)
	w.allergens(r)
	w.FatsSum, w.FatsG = quantity.Percent(sum, 1), mass(r.FatsG)
	w.Batter, w.Volume = t.massSaid(r.Batter.MassG, d), quantity.Volume(r.Batter.VolumeML, t.set.Volume, 0)
	w.Measured = f.DensityGML.Known
	if w.Melt {
		w.melt(t, r, d)
		return w
	}
	w.lye(t, r, d)
	w.heat(t, r)
	w.Means = "the lye is " + quantity.Percent(r.ConcentrationPct, 1) + " alkali"
	if r.ConcentrationPct > 0 {
		w.Means += ", " + quantity.Number((100-r.ConcentrationPct)/r.ConcentrationPct, 2) + " of water to 1"
	}
	seed := f.Name
	if mine != nil {
		seed = mine.ID
	}
	w.picture(t, r, sf, seed, d)
	earlier := mine
	if mine != nil && formula.SameSums(mine.Newest.Doc.Formula, f) {
		earlier = nil // nothing has changed yet
	}
	w.glass(sf, earlier)
	w.Numbers = []Figure{{Value: quantity.Percent(r.Bar.TFMPct, 1), Label: "total fatty matter, ISO 685"}}
	if r.Bar.HasProfile {
		w.Numbers = append(w.Numbers, Figure{Value: quantity.Number(r.Bar.IodineValue, 0), Label: "iodine value"},
			Figure{Value: quantity.Number(r.Bar.Oxidizable, 2), Label: "oxidizability"})
	}
	w.Numbers = append(w.Numbers, Figure{Value: quantity.Percent(r.Bar.GlycerolPct, 1), Label: "glycerol"})
	return w
}

// unreadable is the first of the faults that leaves nothing to work out, with
// the name of its field; "" for none. A name that is still missing, or a sum
// that is not yet 100 %, is no such fault.
func unreadable(faults fault.List) string {
	for _, e := range faults {
		switch {
		case e.Field == "name" || e.Field == "notes" || e.Message == "",
			e.Field == "fat" || e.Field == "base" || e.Field == "portion" || e.Field == "fats_g",
			strings.HasSuffix(e.Field, ".id") || strings.HasSuffix(e.Field, ".name"):
			continue
		case e.Field == "water":
			return e.Message
		}
		return named(e.Field, nil) + e.Message
	}
	return ""
}

// heat says how hot the batter may get: never a forecast.
func (w *workView) heat(t trade, r *soap.Result) {
	c, err := r.Ceiling()
	if err != nil || r.Formula.Method == formula.Hot {
		return // outside the tables, or in the pot where the cook is: nothing is said
	}
	w.Heat = "The batter may reach " + t.tempSaid(math.Ceil(c.LowC)) + " to " + t.tempSaid(math.Ceil(c.HighC)) + ", poured at " + t.tempSaid(r.Batter.PourC) +
		", if it kept all of its heat; a loaf keeps more than single bars. Give or take " + t.degreesSaid(c.DoubtK) + "."
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

// chosen leaves out the lines that are not chosen yet, with their row numbers.
func chosen[T any](list []T, rows []int, ok func(T) bool) ([]T, []int) {
	var out []T
	var nums []int
	for i, x := range list {
		if ok(x) && i < len(rows) {
			out = append(out, x)
			nums = append(nums, rows[i])
		}
	}
	return out, nums
}

// lye is what stands in the jug, water first.
func (w *workView) lye(t trade, r *soap.Result, d float64) {
	alkali := func(name string, g float64, solution bool, p quantity.Maybe, marks []Mark) {
		if g <= 0 {
			return
		}
		aside := ""
		if p.Known {
			aside = quantity.Number(p.V, 1) + " %"
			if solution {
				aside += " solution, as one line"
			}
		}
		w.Lye = append(w.Lye, lyeLine{Name: name, Aside: aside, Value: quantity.MassNumber(g, t.set.Mass, d), Marks: marks})
	}
	a := r.Formula.Alkali
	w.Lye = nil
	water := lyeLine{Name: "Water, first into the jug", Value: quantity.MassNumber(r.Lye.WaterG, t.set.Mass, d), Marks: w.Findings.About("water")}
	if r.Lye.PeakC.Known {
		water.Aside = "the lye may reach " + t.tempSaid(r.Lye.PeakC.V)
		switch {
		case r.Lye.IcedPeakC.Known:
			water.Aside = "with the ice the lye may reach " + t.tempSaid(r.Lye.IcedPeakC.V)
		case r.Lye.IceG > 0:
			water.Aside += " without the ice"
		}
	}
	w.Lye = append(w.Lye, water)
	if r.Lye.IceG > 0 {
		w.Lye = append(w.Lye, lyeLine{Name: "Ice, of the same water", Value: quantity.MassNumber(r.Lye.IceG, t.set.Mass, d)})
	}
	pick := func(solid, solution quantity.Maybe) (quantity.Maybe, bool) {
		if solution.Known {
			return solution, true
		}
		return solid, false
	}
	p, sol := pick(a.NaOHPurityPct, a.NaOHSolutionPct)
	alkali("Sodium hydroxide", r.NaOHG, sol, p, append(w.Findings.About("superfat"), w.Findings.About("alkali")...))
	p, sol = pick(a.KOHPurityPct, a.KOHSolutionPct)
	alkali("Potassium hydroxide", r.KOHG, sol, p, nil)
	if r.Lye.LaterG > 0 {
		w.Lye = append(w.Lye, lyeLine{Name: "Water kept back", Aside: "into the batter, never into made lye", Value: quantity.MassNumber(r.Lye.LaterG, t.set.Mass, d)})
	}
}

const (
	barHeight  = 470.0
	legendHead = 34.0
	legendRow  = 33.0
)

func (w *workView) picture(t trade, r *soap.Result, sf soap.Superfat, seed string, d float64) {
	bar := draw.BarOf(r, sf, r.Formula.Name)
	rows := bar.Present()
	cut, err := draw.BarCut(bar, draw.CutOptions{ID: "bar", Width: 262, Height: barHeight, Seed: seed, Hidden: false,
		Leaders: &draw.Leaders{Top: legendHead, Pitch: legendRow, Rows: rows}})
	if err == nil {
		w.Cut = SVG(cut)
	}
	if p, err := draw.BarCut(bar, draw.CutOptions{ID: "barp", Width: 340, Height: 400, Seed: seed, Hidden: true}); err == nil {
		w.Phone = SVG(p)
	}
	for _, s := range rows {
		look := s.Look()
		row := strataRow{Look: look, Stratum: s, Does: look.Does, Pct: quantity.Number(100*bar.Shares[s], 1), G: quantity.MassNumber(bar.Shares[s]*r.Bar.MassG, t.set.Mass, d)}
		if s == draw.FreeFat && bar.Doubt != nil {
			row.Does, row.Aside = "", quantity.Interval(100*bar.Doubt.Low, 100*bar.Doubt.High, 1)+" % of the bar"
		}
		w.Strata = append(w.Strata, row)
	}
	for i := range w.Strata {
		w.Strata[i].SoapBegins = i > 0 && int(w.Strata[i].Stratum) < draw.Soaps && int(w.Strata[i-1].Stratum) >= draw.Soaps
	}
	w.WholeG = quantity.MassNumber(r.Bar.MassG, t.set.Mass, d)
	w.SoapPct, w.SoapG = quantity.Number(100*r.SoapG()/r.Bar.MassG, 1), quantity.MassNumber(r.SoapG(), t.set.Mass, d)
	loss := r.Formula.CureWaterLossPct
	w.When = "Area is mass, when sold: " + quantity.Percent(loss.Or(soap.DefaultCureWaterLossPct), 0) + " of the water has gone"
	if !loss.Known {
		w.When += ", which is assumed"
	}
	w.When += "."
	w.FreeSaid = t.massSaid(r.Bar.FreeFat, d) + " of free fat: " + quantity.Percent(sf.NominalPct, 1) + " of the saponifiable fat, " +
		quantity.Percent(100*r.Bar.FreeFat/r.Bar.MassG, 1) + " of the bar."
}

func (w *workView) glass(sf soap.Superfat, mine *studio.Record[studio.Formula]) {
	odds := quantity.Odds(sf.Excess, max(sf.Draws, soap.Draws))
	w.Figures = []Figure{{Value: quantity.Percent(sf.NominalPct, 1), Label: "asked for"},
		{Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "95 % interval"},
		{Value: odds, Label: "chance of alkali in excess"},
		{Value: quantity.Percent(sf.For1In1000Pct, 1), Label: "would make it 1 in 1000"}}
	g := draw.Superfat{NominalPct: sf.NominalPct, LowPct: sf.LowPct, HighPct: sf.HighPct, MeanPct: sf.NominalPct, SDPct: sf.SDPct, Excess: sf.Excess, Odds: odds, Label: "this version"}
	if mine != nil && mine.Newest.Doc.Kept.Superfat.Draws > 0 {
		k := mine.Newest.Doc.Kept.Superfat
		g.Earlier = &draw.Earlier{Label: "version " + strconv.Itoa(mine.Newest.N), NominalPct: k.NominalPct, LowPct: k.LowPct, HighPct: k.HighPct}
	}
	if p, err := draw.Glass(g, draw.GlassOptions{ID: "glass", Width: 536}); err == nil {
		w.Glass = SVG(p)
	}
	if p, err := draw.Glass(g, draw.GlassOptions{ID: "glassp", Width: 346, Hidden: true}); err == nil {
		w.GlassPhone = SVG(p)
	}
}
