// Package bench is the bench sheet as a finished value: what to weigh, rounded
// for the scale that there is, in the order of the work, with the cautions
// directly above the lye. A page and a PDF only lay it out; they decide nothing.
//
// Fats, water, extras and scents are rounded to the nearest step of the scale.
// Alkali is rounded down, so that rounding it never uses up more fat. If the
// studio reads ounces, the step is the smallest that the scale can tell and the
// sheet can print. So what is printed is exactly what is meant.
//
// A run is every batch that a number of pieces of some designs needs: what to
// have ready, what to cast on an earlier day, each pour in its order, and a sheet
// for each batch.
package bench

import (
	"fmt"
	"math"
	"slices"

	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/lye"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
)

// AssumedDivisionG is the step, in g, of a sheet for a scale about which nothing
// is known. It is assumed, and the sheet says so.
const AssumedDivisionG = 0.1

// TestAbove is the chance of alkali in excess above which no bar leaves before a
// free-alkali test. Common practice, no source.
const TestAbove = 0.001

// TestNote says what that test is.
const TestNote = "Free-alkali test before any bar leaves: titration by ISO 456, or phenolphthalein on a cut face as a screen. pH cannot show superfat."

// Input is what a sheet is made from.
type Input struct {
	Result   *soap.Result
	Superfat soap.Superfat // as drawn by Monte Carlo, or Result.Superfat
	Findings []finding.Finding

	Mould  *mould.Mould // nil if the batch is for no mould
	Pieces int          // pieces to fill; 0 fills as many as the batter does
	Fill   mould.Fill

	// Head is what the caller knows of it: code, date, studio and units.
	Head
	// Version is the version of the formula; 0 if it was never kept.
	Version int
	// Catalogue gives the name of a colourant that has none; with nil the sheet
	// writes its id.
	Catalogue *catalogue.Catalogue

	// These are set for a sheet in a run: what the batch is divided into, and
	// where each portion goes.
	vessels []design.VesselNeed
	into    func(*Sheet) map[string]poured
}

// Line is one thing to weigh.
type Line struct {
	About string // "fat:2", "extra:0", "scent:1", "naoh", "koh", "water", "ice", "later"
	Name  string
	Note  string // small, next to the name; may be empty
	PlanG float64
	// WeighG is what to weigh, g. Weigh is the same number in the sheet's unit;
	// the unit is in the head of the column.
	WeighG float64
	Weigh  string
	// Spoons replaces Weigh if the dose was entered in teaspoons whose mass
	// nobody measured: "about 2 1/4 tsp". WeighG is then the planned mass, which is
	// assumed.
	Spoons string
	// LyeForIt is how much alkali, as weighed, one gram of this needs at this
	// superfat, g/g. It is for the sum by hand, and 0 if it needs none.
	LyeForIt float64
	// After says how an alkali or the water follows from what was really weighed,
	// for the maker to finish by hand: "231.2 ± sum".
	After    string
	GoesIn   string
	CountsOn bool // without it, alkali would be left over
}

// Step is one step of the work. It has room for a reading if Read is set.
type Step struct {
	Key  string // stable: "wear", "water", "alkali", "cool", "melt" …
	Text string
	Read string // what is read: "peak", "at", "left"
	Unit string // of the reading: "°C", "g"; empty for a time
}

// Batter is the whole batter, from the weights on the sheet.
type Batter struct {
	MassG, VolumeML, DensityGML float64
	Mass, Volume                string
}

// Pour is what goes into each cavity.
type Pour struct {
	Mould   string
	Pieces  int
	PieceG  float64 // in each, g
	PieceML float64
	Each    string         // PieceG to the step of the scale, with its unit
	FillPct float64        // of the cavity
	LevelMM quantity.Maybe // depth of the batter; unknown for a cavity of unknown depth
	About   bool           // the level is by proportion
	Rounds  int
	LeftML  float64
	// ReleaseHours is how long to wait from pour to unmould.
	ReleaseHours quantity.Maybe
}

// Share is one stratum of the bar as sold.
type Share struct {
	Stratum soap.Stratum
	Share   float64 // of the bar's mass, 0 to 1
}

// Sheet is the bench sheet.
type Sheet struct {
	Head
	Version        int
	Method         formula.Method
	DivisionStated bool // false: AssumedDivisionG is used

	Stops, Warns []finding.Finding

	Fats    []Line
	AllFats Line
	// Cautions stand directly above Lye. Those in Behind are for the second page.
	Cautions []lye.Caution
	Behind   []lye.Caution
	// Heat holds the cautions of a melt; they stand above its base.
	Heat     []lye.Caution
	Bases    []Line // of a melt: what is melted; AllFats is their sum
	Lye      []Line // water, ice, then alkali
	KeptBack []Line // water kept back, which goes into the batter: one line or none
	Extras   []Line
	Scents   []Line
	Cooked   []Line // fats stirred in after the cook

	Batter Batter
	// Cook is what boils off, or what evaporates from a melt; nil if nothing
	// does.
	Cook *Cook
	// Vessels are what the batter is divided into, in the order of pouring; empty
	// if it is not divided. Undivided is what is in none of them.
	Vessels   []Vessel
	Undivided string
	Pour      *Pour
	Steps     []Step
	Strata    []Share // above 0, in the order of soap.Stratum

	AskedPct, RoundedPct float64 // the superfat asked for, and the one that the sheet's weights give
	Superfat             soap.Superfat
	Test                 bool   // a free-alkali test is due: see TestNote
	Foot                 string // superfat, interval, chance, scale
}

// cautionsAbove are the keys of the cautions that stand directly above the lye.
// The others are on the second page.
var cautionsAbove = []string{"wear", "air", "others", "sheet", "water-first", "cold-liquid", "materials", "no-glass", "too-much", "splash-skin", "splash-eye"}

// maker works out one sheet.
type maker struct {
	in   *Input
	r    *soap.Result
	f    *formula.Formula
	s    *Sheet
	perG float64
	w    soap.Weights
	jugG float64 // water in the jug as weighed, with the ice
	// verbs say, for each vessel of a sheet in a run, what is done with its batter.
	verbs []string
}

// New makes the sheet.
//
// Errors: fault.Invalid on "result" if there is none or its masses are not
// numbers, on "scale_division_g" if the scale cannot tell the alkali, on "water"
// if there is nothing in the jug for the alkali to dissolve in, and what the
// mould reports about its fill.
func New(in Input) (*Sheet, error) {
	r := in.Result
	if r == nil || r.Formula == nil {
		return nil, fault.Invalidf("result", "There is no formula worked out to make a sheet from.")
	}
	sum := r.Batter.MassG + r.Batter.VolumeML + r.NaOHG + r.KOHG + r.WaterG +
		in.Superfat.NominalPct + in.Superfat.LowPct + in.Superfat.HighPct + in.Superfat.Excess
	if !quantity.Finite(sum) || r.Batter.MassG <= 0 || r.Batter.VolumeML <= 0 {
		return nil, fault.Invalidf("result", "The masses of this formula are not all numbers: work it out again.")
	}
	m := &maker{in: &in, r: r, f: r.Formula}
	m.s = &Sheet{Head: in.Head, Version: in.Version, Method: r.Formula.Method, Superfat: in.Superfat, AskedPct: r.Formula.SuperfatPct}
	m.s.Name = r.Formula.Name
	if r.Mol > 0 {
		m.perG = (r.NaOHG + r.KOHG) / r.Mol
	}
	m.scale()
	m.s.Stops, m.s.Warns, _ = bySeverity(in.Findings)
	melt := m.f.Method == formula.Melt
	if melt {
		m.bases()
	} else {
		m.fats()
		if err := m.lye(); err != nil {
			return nil, err
		}
	}
	m.extras()
	m.scents()
	m.batter()
	m.vessels()
	if err := m.pour(); err != nil {
		return nil, err
	}
	m.cautions()
	if melt {
		m.meltSteps()
	} else {
		m.s.RoundedPct = 100 * r.SuperfatOf(m.w)
		m.s.Test = in.Superfat.Excess > TestAbove || m.s.RoundedPct < 0
		m.steps()
	}
	if f, ok := mouldHeat(in.Mould, m.f.Name, pourC(r), ceilingC(r), m.s.temp); ok {
		m.s.Warns = append(m.s.Warns, f)
	}
	if r.Bar.MassG > 0 && !melt { // nobody knows what the base of a melt is made of
		for i, g := range r.Strata() {
			if g > 0 {
				m.s.Strata = append(m.s.Strata, Share{soap.Stratum(i), g / r.Bar.MassG})
			}
		}
	}
	m.foot()
	return m.s, nil
}

// scale sets the step. It is a whole multiple of what the sheet's last digit is
// worth, and not finer than the scale.
func (m *maker) scale() {
	d := m.f.ScaleDivisionG
	s := m.s
	s.DivisionStated = d.Known && d.V > 0 && quantity.Finite(d.V)
	s.DivisionG = AssumedDivisionG
	if s.DivisionStated {
		s.DivisionG = d.V
	}
	digit := math.Pow10(-quantity.MassDecimals(s.Units.Mass, s.DivisionG))
	if s.Units.Mass != quantity.Gram {
		digit *= quantity.GramsPerOunce
	}
	n := math.Max(math.Ceil(s.DivisionG/digit-1e-6), 1)
	if step := n * digit; math.Abs(step-s.DivisionG) > 1e-9*step {
		s.DivisionG = step
	}
	s.Scale = s.mass(s.DivisionG)
	if s.Units.Mass == quantity.PoundOunce {
		s.Scale = quantity.Mass(s.DivisionG, quantity.Ounce, s.DivisionG)
	}
}

// MassUnit is the unit as the head of a column writes it.
func (s *Sheet) MassUnit() string { return s.Units.Mass.String() }

func (m *maker) line(about, name string, planG float64) Line {
	return m.down(about, name, planG, quantity.RoundTo(planG, m.s.DivisionG))
}

func (m *maker) down(about, name string, planG, weighG float64) Line {
	l := Line{About: about, Name: name, PlanG: planG, WeighG: weighG, Weigh: quantity.MassNumber(weighG, m.s.Units.Mass, m.s.DivisionG)}
	if weighG == 0 && planG > 0 {
		l.Note = fmt.Sprintf("%s by plan: too little for this scale", little(planG, m.s.Units.Mass))
	}
	return l
}

// little writes a mass, in g, that is too small for the scale, in the maker's
// unit.
func little(g float64, unit quantity.MassUnit) string {
	if unit == quantity.Gram {
		return fmt.Sprintf("%.2g", g) + quantity.UnitSpace + "g"
	}
	return fmt.Sprintf("%.2g", g/quantity.GramsPerOunce) + quantity.UnitSpace + "oz"
}

// note adds to the small text of a line.
func (l *Line) note(words string) {
	if l.Note != "" {
		l.Note += "; "
	}
	l.Note += words
}

func (m *maker) fats() {
	var plan, sum float64
	m.w.Fats = make([]float64, len(m.r.Fats))
	for i := range m.r.Fats {
		t := &m.r.Fats[i]
		l := m.line(fmt.Sprintf("fat:%d", i), t.Name, t.MassG)
		m.w.Fats[i] = l.WeighG
		if t.MassG <= 0 {
			continue
		}
		if t.Certificate {
			l.note("by its certificate")
		}
		if t.Cooked {
			l.GoesIn = "after the cook"
			m.s.Cooked = append(m.s.Cooked, l)
			continue
		}
		plan += t.MassG
		sum += l.WeighG
		l.LyeForIt = t.Mol / t.MassG * (1 - m.f.SuperfatPct/100) * m.perG
		m.s.Fats = append(m.s.Fats, l)
	}
	m.s.AllFats = m.down("fats", "All fats", plan, sum)
	m.s.AllFats.Note = ""
}

// alkali is one of the alkalis of the formula.
type alkali struct {
	about, name      string
	massG            float64
	solution, purity quantity.Maybe
	weighed          *float64 // where its weight, g, is noted
}

// alkalis are those that the formula needs.
func (m *maker) alkalis() []alkali {
	a := &m.f.Alkali
	both := []alkali{{"naoh", lye.NaOH.String(), m.r.NaOHG, a.NaOHSolutionPct, a.NaOHPurityPct, &m.w.NaOH},
		{"koh", lye.KOH.String(), m.r.KOHG, a.KOHSolutionPct, a.KOHPurityPct, &m.w.KOH}}
	return slices.DeleteFunc(both, func(a alkali) bool { return a.massG <= 0 })
}

// alkali is the line of one of the alkalis.
func (m *maker) alkali(a alkali) (Line, error) {
	l := m.down(a.about, capital(a.name), a.massG, quantity.RoundDown(a.massG, m.s.DivisionG))
	if l.WeighG <= 0 {
		return l, fault.Invalidf("scale_division_g",
			"The %s comes to %s, which a scale of %s cannot tell: make a larger batch or use a finer scale.",
			a.name, little(a.massG, m.s.Units.Mass), m.s.Scale)
	}
	switch {
	case a.solution.Known:
		l.Name += " solution, " + quantity.Percent(a.solution.V, 1)
		l.note("ready-mixed, all of it lye already")
	case a.purity.Known:
		l.note(quantity.Percent(a.purity.V, 1) + " pure, in a dry cup of its own")
	default:
		l.note("in a dry cup of its own")
	}
	l.After = l.Weigh + " ± sum"
	if all := m.r.NaOHG + m.r.KOHG; a.massG < all {
		l.After += " × " + quantity.Number(a.massG/all, 3)
	}
	return l, nil
}

func (m *maker) lye() error {
	r, s := m.r, m.s
	total := quantity.RoundTo(r.Lye.WaterG+r.Lye.IceG, s.DivisionG)
	m.jugG = total
	ice := math.Min(quantity.RoundTo(r.Lye.IceG, s.DivisionG), total)
	water := total - ice
	dry := 0.0 // alkali that must still dissolve
	for _, a := range m.alkalis() {
		if !a.solution.Known {
			dry += a.massG
		}
	}
	if dry > 0 && m.jugWaterG() <= 0 && dry == r.NaOHG+r.KOHG {
		return fault.Invalidf("water", "There is nothing in the jug for the alkali to dissolve in: all the liquid goes elsewhere. Put some of it into the lye.")
	}
	if water > 0 {
		l := m.down("water", "Water", r.Lye.WaterG, water)
		l.note("cold, first, in the heatproof jug")
		if ice == 0 && dry > 0 {
			l.After = "alkali × " + quantity.Number((r.Lye.WaterG+r.Lye.IceG)/(r.NaOHG+r.KOHG), 3)
		}
		s.Lye = append(s.Lye, l)
	}
	if ice > 0 {
		l := m.down("ice", "Ice", r.Lye.IceG, ice)
		l.note("part of the water, in the same jug before the alkali")
		s.Lye = append(s.Lye, l)
	}
	for _, a := range m.alkalis() {
		l, err := m.alkali(a)
		if err != nil {
			return err
		}
		*a.weighed = l.WeighG
		s.Lye = append(s.Lye, l)
	}
	if r.Lye.LaterG > 0 {
		l := m.line("later", "Water kept back", r.Lye.LaterG)
		l.GoesIn = "batter, at trace; never the lye"
		s.KeptBack = append(s.KeptBack, l)
	}
	return nil
}

// jugWaterG is the water in the jug before any alkali, g: the water weighed in,
// and that of extras that go in there.
func (m *maker) jugWaterG() float64 {
	g := m.jugG
	for i := range m.r.Extras {
		if m.r.Extras[i].Into == formula.IntoLye {
			g += m.r.Extras[i].WaterG
		}
	}
	return g
}

// spoons replaces the mass of a line by teaspoons if the dose was entered in
// teaspoons whose mass was not measured. It reports whether it did. exact is for
// what the lye counts on.
func (m *maker) spoons(l *Line, t formula.Typed, exact bool) bool {
	if t.Unit != formula.TeaspoonsPerPound || t.Measured || !(t.GramsPerTsp > 0) {
		return false
	}
	l.WeighG = l.PlanG
	l.Note = ""
	l.Spoons = teaspoons(l.PlanG/t.GramsPerTsp, exact) + quantity.UnitSpace + "tsp"
	l.note("level teaspoons; " + m.s.fine(l.PlanG, 0.1) + ", at an assumed " + m.s.fine(t.GramsPerTsp, 0.01) + " each")
	return true
}

// teaspoons writes a number of teaspoons by the spoons that there are: in quarters,
// and below one in eighths. What the lye counts on is written exactly, and so is
// less than the smallest spoon.
func teaspoons(n float64, exact bool) string {
	part := 4.0
	if n < 1 {
		part = 8
	}
	parts := math.Round(n * part)
	switch {
	case exact || parts < 1:
		d := 2
		if n >= 2 {
			d = 1
		}
		return quantity.Number(n, d)
	case math.Mod(parts, part) == 0:
		return "about " + quantity.Number(parts/part, 0)
	}
	whole, over := math.Floor(parts/part), math.Mod(parts, part)
	for math.Mod(over, 2) == 0 {
		over, part = over/2, part/2
	}
	t := fmt.Sprintf("%.0f/%.0f", over, part)
	if whole > 0 {
		t = quantity.Number(whole, 0) + quantity.UnitSpace + t
	}
	return "about " + t
}

// fine writes a mass that is not weighed here, in the maker's unit and to a
// division of its own, g. The mass is small, so it is never written in pounds.
func (s *Sheet) fine(g, divisionG float64) string {
	unit := s.Units.Mass
	if unit == quantity.PoundOunce {
		unit = quantity.Ounce
	}
	return quantity.Mass(g, unit, divisionG)
}

func (m *maker) extras() {
	m.w.Extras = make([]float64, len(m.r.Extras))
	for i := range m.r.Extras {
		t := &m.r.Extras[i]
		l := m.line(fmt.Sprintf("extra:%d", i), t.Name, t.MassG)
		m.spoons(&l, t.Typed, t.LyeCountsOn())
		m.w.Extras[i] = l.WeighG
		if t.MassG <= 0 {
			continue
		}
		l.GoesIn = m.goesIn(t.Into)
		if t.LyeCountsOn() {
			l.CountsOn = true
			l.note("the lye counts on this")
			l.LyeForIt = (t.FatMol*(1-m.f.SuperfatPct/100) + t.AcidMol) / t.MassG * m.perG
		}
		m.s.Extras = append(m.s.Extras, l)
	}
}

func (m *maker) goesIn(into formula.Into) string {
	if m.s.Method == formula.Melt {
		return "the melt, stirred in without beating"
	}
	switch into {
	case formula.IntoLye:
		if m.jugWaterG() <= 0 {
			return "fats, before the lye: the jug has no water for it"
		}
		return "the jug, before the alkali"
	case formula.IntoFats:
		return "fats, before the lye"
	case formula.IntoCooked:
		return "after the cook"
	}
	return "batter, at thin trace"
}

func (m *maker) scents() {
	for i := range m.r.Scents {
		t := &m.r.Scents[i]
		if t.MassG <= 0 {
			continue
		}
		l := m.line(fmt.Sprintf("scent:%d", i), t.Name, t.MassG)
		m.spoons(&l, m.f.Scents[i].Typed, false)
		l.GoesIn = "batter, at thin trace"
		switch m.s.Method {
		case formula.Hot:
			l.GoesIn = "after the cook"
		case formula.Melt:
			l.GoesIn = "the melt, off the heat, just before the pour"
		}
		m.s.Scents = append(m.s.Scents, l)
	}
}

// Lines lists all lines of the sheet in order.
func (s *Sheet) Lines() []Line {
	return slices.Concat(s.Fats, s.Bases, s.Lye, s.KeptBack, s.Extras, s.Scents, s.Cooked)
}

func (m *maker) batter() {
	b := &m.s.Batter
	for _, l := range m.s.Lines() {
		b.MassG += l.WeighG
	}
	m.cookOff(b.MassG)
	if m.s.Cook != nil {
		b.MassG -= m.s.Cook.LossG
	}
	b.DensityGML = m.r.Batter.DensityGML
	b.VolumeML = b.MassG / b.DensityGML
	b.Mass = m.s.mass(b.MassG)
	b.Volume = m.s.volume(b.VolumeML)
}

func (m *maker) pour() error {
	d := m.in.Mould
	if d == nil {
		return nil
	}
	fit, err := d.Pieces(m.s.Batter.VolumeML, m.in.Fill)
	if err != nil {
		return err
	}
	p := &Pour{Mould: d.Name, Pieces: m.in.Pieces, PieceML: fit.PieceML, PieceG: fit.PieceML * m.s.Batter.DensityGML, FillPct: m.in.Fill.Pct,
		About: d.Proportional(), LeftML: fit.LeftML, ReleaseHours: d.ReleaseHours}
	if p.Pieces <= 0 {
		p.Pieces = fit.Pieces
	}
	p.Rounds = d.Rounds(p.Pieces)
	p.Each = m.s.near(p.PieceG)
	if mm, err := d.LevelFor(p.PieceML); err == nil {
		p.LevelMM = quantity.Some(mm)
	}
	m.s.Pour = p
	return nil
}

func (m *maker) cautions() {
	if m.s.Method == formula.Melt {
		m.s.Heat = HeatCautions()
		return
	}
	if m.s.Method == formula.Hot {
		m.s.Behind = heatFor("heat-steam", "heat-burn")
	}
	above, behind := byKey(lye.Cautions(), cautionsAbove...)
	m.s.Cautions, m.s.Behind = above, append(m.s.Behind, behind...)
}

func (m *maker) foot() {
	s, sf := m.s, m.in.Superfat
	if s.Method == formula.Melt {
		s.Foot = m.meltFoot()
		return
	}
	d := "Superfat " + quantity.Percent(s.AskedPct, 1) + " asked, " + quantity.Percent(s.RoundedPct, 2) + " as rounded here"
	if m.r.Saponifies() {
		d += "; " + quantity.Interval(sf.LowPct, sf.HighPct, 1) + " as the 95 % interval; alkali in excess " + quantity.Odds(sf.Excess, sf.Draws)
	}
	s.Foot = d + s.footScale()
}

// footScale is the end of the foot: the scale that the sheet is for.
func (s *Sheet) footScale() string {
	t := ". Scale " + s.Scale
	if !s.DivisionStated {
		t += ", assumed"
	}
	return t + "."
}
