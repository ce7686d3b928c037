package web

import (
	"html/template"
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
	OK      bool
	Why     string // why there is nothing to show
	Answers []answer
	NaOH    []lyeLine
	Figures []Figure
	Cut     template.HTML
	Strata  []strataRow
	WholeG  string
	SoapPct string
	SoapG   string
	OtherBy string // head of the column of the other version
	Glass   template.HTML
	// GlassPhone is the same for a narrow page, its words as large.
	GlassPhone template.HTML
	Phone      template.HTML
	Numbers    []Figure
	Findings   Findings
	Batter     string
	Volume     string
	FatsSum    string
	FatsG      string
	Means      string // the concentration that the water means
	Peak       string
	Ice        string
	When       string
	FreeSaid   string
}

// answer is one number beside a field.
type answer struct {
	ID    string
	Text  string
	Marks []Mark
	Mark  string // id of the marks
}

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
func (s *server) work(t trade, v url.Values, f *formula.Formula, faults fault.List, mine *studio.Formula) workView {
	var w workView
	d := t.division(f)
	// A row without an ingredient yet is no fault while typing.
	g := f.Clone()
	rows := map[string][]int{"fat": formula.RowNumbers(v, "fat"), "extra": formula.RowNumbers(v, "extra"), "scent": formula.RowNumbers(v, "scent")}
	g.Fats, rows["fat"] = chosen(g.Fats, rows["fat"], func(x formula.Fat) bool { return x.ID != "" })
	g.Extras, rows["extra"] = chosen(g.Extras, rows["extra"], func(x formula.Extra) bool { return x.ID != "" && x.Dose > 0 })
	if len(g.Fats) == 0 {
		w.Why = "Choose a fat and give it a share: the bar is drawn as soon as there is something to draw."
		return w
	}
	for _, e := range faults {
		switch e.Field {
		case "name", "water", "notes":
			if e.Field != "water" {
				continue
			}
			w.Why = e.Message
			return w
		}
		if strings.HasSuffix(e.Field, ".id") || strings.HasSuffix(e.Field, ".name") || e.Field == "fat" || e.Field == "fats_g" {
			continue
		}
		if w.Why == "" && e.Message != "" {
			w.Why = named(e.Field, nil) + e.Message
		}
	}
	if w.Why != "" {
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
	if mine != nil && mine.Newest.Kept.Superfat.Draws > 0 && sameSums(mine.Newest.Formula, f) {
		sf = mine.Newest.Kept.Superfat
	}
	fs := soap.Findings(r, sf, t.limits(f))
	// The page knows rows, the sums know lines.
	w.Findings = Footnotes(fs)
	w.OK = true
	for i := range r.Fats {
		m := &r.Fats[i]
		text := quantity.MassNumber(m.MassG, t.set.Mass, d)
		if f.ByWeight {
			text = quantity.Percent(g.Fats[i].Pct, 1)
		}
		n := strconv.Itoa(rows["fat"][i])
		w.Answers = append(w.Answers, answer{ID: "w-fat-" + n, Text: text, Marks: w.Findings.About("fat:" + strconv.Itoa(i)), Mark: "m-fat-" + n})
	}
	for i := range r.Extras {
		n := strconv.Itoa(rows["extra"][i])
		w.Answers = append(w.Answers, answer{ID: "w-extra-" + n, Text: quantity.MassNumber(r.Extras[i].MassG, t.set.Mass, d), Marks: w.Findings.About("extra:" + strconv.Itoa(i)), Mark: "m-extra-" + n})
	}
	for i := range r.Scents {
		if i >= len(rows["scent"]) {
			break
		}
		n := strconv.Itoa(rows["scent"][i])
		w.Answers = append(w.Answers, answer{ID: "w-scent-" + n, Text: quantity.MassNumber(r.Scents[i].MassG, t.set.Mass, d), Marks: w.Findings.About("scent:" + strconv.Itoa(i)), Mark: "m-scent-" + n})
	}
	w.lye(t, r, d)
	sum := 0.0
	for i := range g.Fats {
		sum += g.Fats[i].Pct
	}
	w.FatsSum, w.FatsG = quantity.Percent(sum, 1), quantity.MassNumber(r.FatsG, t.set.Mass, d)
	w.Batter, w.Volume = t.massSaid(r.Batter.MassG, d), quantity.Volume(r.Batter.VolumeML, t.set.Volume, 0)
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
	if mine != nil && sameSums(mine.Newest.Formula, f) {
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

// sameSums reports that two formulas give the same sums: they differ at most in
// words.
func sameSums(a, b *formula.Formula) bool {
	x, y := a.Clone(), b.Clone()
	x.Name, y.Name, x.Notes, y.Notes = "", "", "", ""
	ja, err := formula.Encode(x)
	if err != nil {
		return false
	}
	jb, err := formula.Encode(y)
	return err == nil && string(ja) == string(jb)
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
		w.NaOH = append(w.NaOH, lyeLine{Name: name, Aside: aside, Value: quantity.MassNumber(g, t.set.Mass, d), Marks: marks})
	}
	a := r.Formula.Alkali
	w.NaOH = nil
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
	w.NaOH = append(w.NaOH, water)
	if r.Lye.IceG > 0 {
		w.NaOH = append(w.NaOH, lyeLine{Name: "Ice, of the same water", Value: quantity.MassNumber(r.Lye.IceG, t.set.Mass, d)})
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
		w.NaOH = append(w.NaOH, lyeLine{Name: "Water kept back", Aside: "into the batter, never into made lye", Value: quantity.MassNumber(r.Lye.LaterG, t.set.Mass, d)})
	}
}

// drawn is the stratum of the picture for each of the sums'.
var drawn = [soap.NumStrata]draw.Stratum{
	soap.Slow: draw.Slow, soap.Mellow: draw.Mellow, soap.Holder: draw.Holder, soap.Fleeting: draw.Fleeting, soap.Quick: draw.Quick,
	soap.UnknownSoap: draw.UnknownSoap, soap.FreeFat: draw.FreeFat, soap.Wax: draw.FreeFat, soap.Unsaponifiable: draw.Unsaponifiable,
	soap.Glycerol: draw.Glycerol, soap.Water: draw.Water, soap.Salts: draw.Salts, soap.Extras: draw.Extras, soap.Scent: draw.Scent,
	soap.FreeAlkali: draw.Salts,
}

// barOf is the bar for the picture.
func barOf(r *soap.Result, sf soap.Superfat, name string) draw.Bar {
	b := draw.Bar{Name: name, MassG: r.Bar.MassG}
	total := 0.0
	strata := r.Strata()
	for _, g := range strata {
		total += g
	}
	for i, g := range strata {
		b.Shares[drawn[i]] += g / total
	}
	b.Wax = strata[soap.Wax] / total
	if sf.SDPct > 0 {
		b.Doubt = &draw.Interval{Low: b.Wax + r.FreeFatAt(sf.LowPct)/total, High: b.Wax + r.FreeFatAt(sf.HighPct)/total}
	}
	return b
}

const (
	barHeight  = 470.0
	legendHead = 34.0
	legendRow  = 33.0
)

func (w *workView) picture(t trade, r *soap.Result, sf soap.Superfat, seed string, d float64) {
	bar := barOf(r, sf, r.Formula.Name)
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

func (w *workView) glass(sf soap.Superfat, mine *studio.Formula) {
	odds := quantity.Odds(sf.Excess, max(sf.Draws, soap.Draws))
	w.Figures = []Figure{{Value: quantity.Percent(sf.NominalPct, 1), Label: "asked for"},
		{Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "95 % interval"},
		{Value: odds, Label: "chance of alkali in excess"},
		{Value: quantity.Percent(sf.For1In1000Pct, 1), Label: "would make it 1 in 1000"}}
	g := draw.Superfat{NominalPct: sf.NominalPct, LowPct: sf.LowPct, HighPct: sf.HighPct, MeanPct: sf.NominalPct, SDPct: sf.SDPct, Excess: sf.Excess, Odds: odds, Label: "this version"}
	if mine != nil && mine.Newest.Kept.Superfat.Draws > 0 {
		k := mine.Newest.Kept.Superfat
		g.Earlier = &draw.Earlier{Label: "version " + strconv.Itoa(mine.Newest.N), NominalPct: k.NominalPct, LowPct: k.LowPct, HighPct: k.HighPct}
	}
	if p, err := draw.Glass(g, draw.GlassOptions{ID: "glass", Width: 536}); err == nil {
		w.Glass = SVG(p)
	}
	if p, err := draw.Glass(g, draw.GlassOptions{ID: "glassp", Width: 346, Hidden: true}); err == nil {
		w.GlassPhone = SVG(p)
	}
}
