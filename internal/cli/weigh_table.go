package cli

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"barwright/bench"
	"barwright/fault"
	"barwright/finding"
	"barwright/quantity"
	"barwright/soap"
)

// weighed is a formula worked out, for people.
func (p *page) weighed(r *soap.Result, sf soap.Superfat, found []finding.Finding) {
	f := r.Formula
	p.say(0, 0, f.Name)
	p.say(0, 0, fmt.Sprintf("%s method, %s of fats, superfat %s, lye %s", f.Method, quantity.Mass(r.FatsG, quantity.Gram, f.ScaleDivisionG.Or(0)),
		quantity.Percent(f.SuperfatPct, 1), quantity.Percent(r.Lye.ConcentrationPct, 1)))
	p.stop(found)
	sheet, err := bench.New(bench.Input{Result: r, Superfat: sf, Findings: found})
	if err != nil {
		p.unrounded(r, err)
	} else {
		p.weigh(sheet)
	}
	p.sure(r, sf)
	p.lye(r)
	p.bar(r)
	p.scents(r)
	p.findings(found)
}

// weigh writes what to weigh, rounded to the scale, in the order of the hand.
func (p *page) weigh(s *bench.Sheet) {
	scale := "to the scale's " + s.Scale
	if !s.DivisionStated {
		scale = "to an assumed " + s.Scale + ": the file names no scale"
	}
	p.head("Weigh, in " + s.MassUnit() + ", " + plain.Replace(scale))
	numbers := 0
	for _, l := range s.Lines() {
		numbers = max(numbers, utf8.RuneCountInString(l.Weigh), utf8.RuneCountInString(l.Spoons))
	}
	lines := func(ls []bench.Line) {
		for _, l := range ls {
			number, note := l.Weigh, l.Note
			if l.Spoons != "" {
				number = l.Spoons
			}
			if l.GoesIn != "" {
				note = strings.TrimPrefix(note+"; into: "+l.GoesIn, "; ")
			}
			p.row(number, numbers, l.Name, note)
		}
	}
	lines(s.Fats)
	p.head("Before the lye")
	for _, c := range s.Cautions {
		p.say(2, 2, "- "+c.Text)
	}
	p.head("Lye: water first, then the alkali into it")
	lines(s.Lye)
	if rest := append(append(append([]bench.Line{}, s.KeptBack...), s.Extras...), append(s.Scents, s.Cooked...)...); len(rest) > 0 {
		p.head("Then")
		lines(rest)
	}
	p.b.WriteString("\n")
	p.say(2, 2, fmt.Sprintf("Batter %s, about %s. Alkali is rounded down; as rounded, the superfat is %s.",
		s.Batter.Mass, s.Batter.Volume, quantity.Percent(s.RoundedPct, 2)))
	if s.Test {
		p.say(2, 2, bench.TestNote)
	}
}

// unrounded writes the plan where no sheet can be made for the scale, and why.
func (p *page) unrounded(r *soap.Result, why error) {
	p.head("By plan, in g, not to be weighed so")
	var said []string
	for _, e := range fault.All(why) {
		said = append(said, e.Message)
	}
	p.say(2, 2, strings.Join(said, " "))
	g := func(v float64) string { return quantity.Number(v, 3) }
	numbers := len(plain.Replace(g(r.Batter.MassG)))
	for _, m := range r.Fats {
		p.row(g(m.MassG), numbers, m.Name, "")
	}
	p.row(g(r.WaterG), numbers, "Water", "first, in the heatproof jug")
	if r.NaOHG > 0 {
		p.row(g(r.NaOHG), numbers, "Sodium hydroxide", "")
	}
	if r.KOHG > 0 {
		p.row(g(r.KOHG), numbers, "Potassium hydroxide", "")
	}
	for _, m := range r.Extras {
		p.row(g(m.MassG), numbers, m.Name, "")
	}
	for _, m := range r.Scents {
		p.row(g(m.MassG), numbers, m.Name, "")
	}
}

// sure writes how sure the superfat is.
func (p *page) sure(r *soap.Result, sf soap.Superfat) {
	p.head("How sure is the superfat")
	if !r.Saponifies() {
		p.say(2, 2, "No fat here is counted on to saponify, so there is no superfat to speak of.")
		return
	}
	const numbers = 26
	p.row(quantity.Percent(sf.NominalPct, 1), numbers, "asked for", "")
	p.row(quantity.Interval(sf.LowPct, sf.HighPct, 1)+" %", numbers, "its central 95 % interval", "")
	p.row(quantity.Odds(sf.Excess, sf.Draws), numbers, "chance of alkali in excess", "")
	p.row(quantity.Percent(sf.For1In1000Pct, 1), numbers, "smallest superfat for a chance of 1 in 1000", "")
	p.say(2, 2, "From the ranges of SAP, purity and scale; another batch from these lots will be off by about as much.")
	if d := r.Doubts(); len(d) > 0 && d[0].Share > 0 {
		p.say(2, 2, fmt.Sprintf("Most of the doubt is in %s (%s).", lowerFirst(d[0].Name), quantity.Percent(100*d[0].Share, 0)))
	}
}

func lowerFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	// A name that goes on in capitals is no common word.
	if next, _ := utf8.DecodeRuneInString(s[n:]); strings.ToUpper(string(next)) == string(next) {
		return s
	}
	return strings.ToLower(string(r)) + s[n:]
}

// lye writes what stands in the jug.
func (p *page) lye(r *soap.Result) {
	p.head("In the jug")
	s := fmt.Sprintf("%s of lye at %s.", quantity.Mass(r.Lye.MassG, quantity.Gram, 0.1), quantity.Percent(r.Lye.ConcentrationPct, 1))
	if r.Lye.PeakC.Known {
		s += fmt.Sprintf(" It may reach %s, if both start at 20 °C and no heat is lost.", quantity.Temp(r.Lye.PeakC.V, quantity.Celsius, 0))
	} else {
		s += " How hot it may get cannot be worked out from the tables at hand."
	}
	p.say(2, 2, s)
}

// rows of the bar, from its foot to its crest, as the picture has them.
var strata = [...]struct {
	is         soap.Stratum
	name, does string
}{
	{soap.Slow, "slow soap", "dissolves slowly: a firm bar that wears well"},
	{soap.Mellow, "mellow soap", "soft, mild, slow to lather"},
	{soap.Holder, "holder soap", "holds a lather, draws water"},
	{soap.Fleeting, "fleeting soap", "mild, but the first to turn rancid"},
	{soap.UnknownSoap, "soap of unknown acids", "from fat whose acids nobody has stated"},
	{soap.Quick, "quick soap", "dissolves fast: early, big lather, takes more oil off the skin"},
	{soap.FreeFat, "free fat", ""},
	{soap.Wax, "wax", ""},
	{soap.Unsaponifiable, "unsaponifiable matter", ""},
	{soap.Glycerol, "glycerol", ""},
	{soap.Water, "water", ""},
	{soap.Salts, "salts", ""},
	{soap.Extras, "extras", ""},
	{soap.Scent, "scent", ""},
	{soap.FreeAlkali, "alkali in excess", ""},
}

// bar writes what the cured bar is made of.
func (p *page) bar(r *soap.Result) {
	mass := func(g float64) string { return quantity.Number(g, 1) }
	p.head(plain.Replace("The cured bar, " + mass(r.Bar.MassG) + " g in all: % of it, and g"))
	s := r.Strata()
	numbers := utf8.RuneCountInString(plain.Replace(mass(r.Bar.MassG)))
	for _, row := range strata {
		g := s[row.is]
		if !(g > 0) || !(r.Bar.MassG > 0) {
			continue
		}
		grams := plain.Replace(mass(g))
		p.row(fmt.Sprintf("%5s  %*s", quantity.Number(100*g/r.Bar.MassG, 1), numbers, grams), numbers+7, row.name, row.does)
	}
	p.say(2, 2, "Not layers: all of it is mixed through.")
	line := fmt.Sprintf("Total fatty matter %s, glycerol %s", quantity.Percent(r.Bar.TFMPct, 1), quantity.Percent(r.Bar.GlycerolPct, 1))
	if r.Bar.HasProfile {
		line += fmt.Sprintf(", iodine value %s, oxidizability %s", quantity.Number(r.Bar.IodineValue, 0), quantity.Number(r.Bar.Oxidizable, 3))
	}
	p.say(2, 2, line+".")
	if free := s[soap.FreeFat]; free > 0 && r.Bar.MassG > 0 {
		p.say(2, 2, fmt.Sprintf("%s g of free fat: %s of the saponifiable fat, %s of the bar.",
			mass(free), quantity.Percent(r.Superfat.NominalPct, 1), quantity.Percent(100*free/r.Bar.MassG, 1)))
	}
}

func (p *page) scents(r *soap.Result) {
	if len(r.Scents) == 0 {
		return
	}
	p.head("Scent, in the cured bar")
	for _, s := range r.Scents {
		against := "no limit is given, so none was checked"
		if s.LimitPct.Known {
			against = "its limit is " + quantity.Percent(s.LimitPct.V, 2)
			if !s.Within() {
				against = "OVER its limit of " + quantity.Percent(s.LimitPct.V, 2)
			}
		}
		p.row(quantity.Percent(s.PctOfBar, 2), 8, s.Name, against)
	}
}
