package soap

import (
	"fmt"
	"math"
	"strings"

	"barwright/catalogue"
	"barwright/doubt"
	"barwright/finding"
	"barwright/formula"
	"barwright/lye"
	"barwright/quantity"
)

const practice = "common practice, no source"

// Limits are the values at which the studio wants to be told. All defaults are
// common practice, no source, and the studio can change them.
type Limits struct {
	SuperfatColdPct float64 // above this, cold process
	SuperfatHotPct  float64 // above this, hot process
	SuperfatSaltPct float64 // above this where quick acids exceed half
	LyeLowPct       float64 // lye concentration below this
	LyeHighPct      float64 // and above this
	// Mass writes a mass in the studio's unit. When nil, masses are in grams.
	Mass func(g float64) string
	// MassUnit is the studio's unit, used for doses: g per kg, or oz per lb.
	MassUnit quantity.MassUnit
	// Temp writes a temperature in the studio's unit. When nil, temperatures
	// are in °C.
	Temp func(c float64) string
}

// DefaultLimits returns the limits of a studio that has set none.
func DefaultLimits() Limits {
	return Limits{SuperfatColdPct: 12, SuperfatHotPct: 15, SuperfatSaltPct: 25, LyeLowPct: 22, LyeHighPct: 42}
}

func (l Limits) mass(g float64) string {
	if l.Mass != nil {
		return l.Mass(g)
	}
	return quantity.Number(g, 1) + "\u00a0g"
}

// dose writes a dose given in g/kg in the maker's own unit: 46.0 g per kg, or
// 0.74 oz per lb.
func (l Limits) dose(gPerKg float64, decimals int) string {
	if l.MassUnit == quantity.Gram {
		return quantity.Number(gPerKg, decimals) + quantity.UnitSpace + "g per kg"
	}
	return quantity.Number(gPerKg*ouncesPerPound/1000, 2) + quantity.UnitSpace + "oz per lb"
}

const ouncesPerPound = 16 // avoirdupois

func (l Limits) temp(c float64) string {
	if l.Temp != nil {
		return l.Temp(c)
	}
	return quantity.Temp(c, quantity.Celsius, 0)
}

func percent(v float64) string { return quantity.Percent(v, 1) }

// judge collects findings.
type judge struct {
	r   *Result
	sf  Superfat
	lim Limits
	out []finding.Finding
}

func (j *judge) say(s finding.Severity, rule, about, source, remedy, format string, args ...any) {
	j.out = append(j.out, finding.Finding{Rule: rule, Severity: s, About: about, Source: source,
		Remedy: remedy, Message: fmt.Sprintf(format, args...)})
}

// Findings returns what there is to say about a formula that was worked out. sf
// is its superfat, either r's own or the one that [Result.Draw] found. The
// gravest findings come first, and those of one severity are in the order of
// making. Every finding has a rule, numbers, a source and a remedy.
func Findings(r *Result, sf Superfat, lim Limits) []finding.Finding {
	j := &judge{r: r, sf: sf, lim: lim}
	if r.Melts() {
		j.melt()
	} else {
		j.fatsSum()
		for i := range r.Fats {
			j.fat(i)
		}
		j.superfat()
		j.alkali()
		j.water()
		j.scale()
		j.cook()
	}
	for i := range r.Extras {
		j.extra(i)
	}
	j.scents()
	j.constituents()
	j.density()
	j.portions()
	j.doses()
	if !r.Bar.HasProfile && !r.Melts() {
		j.say(finding.Note, "profile-missing", "fats", "the catalogue: no profile is stated for these fats",
			"Use a fat with a profile, or enter one for your own.",
			"0 of %d fats have a fatty acid profile, so that the bar's soaps, its iodine value and its oxidizability stay unknown.", len(r.Fats))
	}
	sorted := make([]finding.Finding, 0, len(j.out))
	for _, s := range [...]finding.Severity{finding.Stop, finding.Warn, finding.Note} {
		for _, f := range j.out {
			if f.Severity == s {
				sorted = append(sorted, f)
			}
		}
	}
	return sorted
}

func (j *judge) fatsSum() {
	sum := 0.0
	for i := range j.r.Formula.Fats {
		sum += j.r.Formula.Fats[i].Pct
	}
	if math.Abs(sum-100) > 0.01 {
		do := fmt.Sprintf("Give another fat %s, or raise one.", percent(100-sum))
		if sum > 100 {
			do = fmt.Sprintf("Take %s away.", percent(sum-100))
		}
		j.say(finding.Warn, "fats-sum", "fats", "arithmetic", do+" The sums stand for the fats as they are until then.",
			"The fats add up to %s of %s.", percent(sum), j.lim.mass(j.r.Formula.FatsG))
	}
}

func (j *judge) fat(i int) {
	m, in := &j.r.Fats[i], &j.r.Formula.Fats[i]
	about := about("fat", i)
	cat := m.fat.SAP
	if m.Certificate {
		switch {
		case in.SAP.V < 1:
			j.say(finding.Warn, "sap-unit", about, "ISO 3657: mg KOH/g; the factor is M(NaOH)/M(KOH)",
				fmt.Sprintf("If it was a sodium hydroxide factor, write %.0f; if grams of potassium hydroxide, write %.0f.",
					in.SAP.V*1000*catalogue.MolarKOH/catalogue.MolarNaOH, in.SAP.V*1000),
				"The saponification value of %s is given as %g, but it counts milligrams of potassium hydroxide. %g looks like grams of sodium "+
					"hydroxide for a gram of fat: as KOH that is %.0f.",
				m.Name, in.SAP.V, in.SAP.V, in.SAP.V*1000*catalogue.MolarKOH/catalogue.MolarNaOH)
		case cat.Known() && m.Kind != catalogue.Wax && (in.SAP.V < cat.Min.V || in.SAP.V > cat.Max.V):
			asKOH := in.SAP.V * catalogue.MolarKOH / catalogue.MolarNaOH
			if asKOH >= cat.Min.V && asKOH <= cat.Max.V {
				j.say(finding.Warn, "sap-unit", about, "ISO 3657: mg KOH/g; the factor is M(NaOH)/M(KOH)",
					fmt.Sprintf("If it was milligrams of sodium hydroxide, write %.1f.", asKOH),
					"The saponification value of %s is given as %g mg KOH/g, outside its %g to %g. As sodium hydroxide it would be right: as KOH that is %.0f.",
					m.Name, in.SAP.V, cat.Min.V, cat.Max.V, asKOH)
			} else {
				j.say(finding.Warn, "sap-outside", about, j.fact(i, "sap"),
					"Check the certificate's number, its unit, and that it is of this fat.",
					"The saponification value of %s is given as %g mg KOH/g, outside the %g to %g of that fat.",
					m.Name, in.SAP.V, cat.Min.V, cat.Max.V)
			}
		}
		if !in.SAPHalfWidth.Known {
			j.say(finding.Note, "sap-tolerance", about, "assumed",
				"Enter the tolerance that the certificate states.",
				"The saponification value %g of %s comes without a tolerance; ± %s is assumed, since one typed number must not switch doubt off.",
				in.SAP.V, m.Name, quantity.Number(m.SAPHalf, 1))
		}
	}
	if m.MassG <= 0 {
		return
	}
	switch m.Kind {
	case catalogue.Wax:
		if !m.Cooked {
			j.wax(i, about)
		}
	case catalogue.Triglyceride:
		if !m.Certificate && !m.Cooked && m.fat.HasProfile {
			byProfile := m.fat.Profile.SAP(m.Kind).Or(m.SAP)
			switch d := byProfile/m.SAP - 1; {
			case m.fat.UnsaponifiableMax.Or(0) >= 20 && d > 0.01:
				j.say(finding.Note, "fat-unsaponifiable", about, j.fact(i, "unsaponifiable"),
					"Do not work its lye out from its fatty acids. A certificate for the lot narrows this more than anything else.",
					"Up to %g g/kg of %s never saponifies. Its fatty acids alone would ask for %s more alkali than its saponification value of %s mg "+
						"KOH/g, which is used.",
					m.fat.UnsaponifiableMax.V, m.Name, percent(100*d), quantity.Number(m.SAP, 1))
			case d < -0.01:
				j.say(finding.Note, "fat-profile-low", about, j.fact(i, "sap"),
					"Ask for a certificate, or leave a little more superfat.",
					"The typical fatty acids of %s ask for %s less alkali than the middle of its range, %s mg KOH/g, which is used.",
					m.Name, percent(-100*d), quantity.Number(m.SAP, 1))
			}
		}
	}
}

// fact returns the source of one of the fat's values.
func (j *judge) fact(i int, key string) string {
	for _, f := range j.r.Fats[i].facts {
		if f.Key == key {
			return f.Source
		}
	}
	return "the catalogue"
}

func (j *judge) wax(i int, about string) {
	r, m := j.r, &j.r.Fats[i]
	if m.Certificate || !m.fat.SAP.Known() {
		return
	}
	// At the other end of the range, every ester of the wax saponifies too and
	// takes alkali.
	whole := m.MassG * m.fat.SAP.Mid() / 1000 / catalogue.MolarKOH
	n := r.SapMol - m.Mol + whole
	high := 1 - (r.Mol-r.AcidMol)/n
	j.say(finding.Warn, "wax-as-fat", about, "acid value: "+j.fact(i, "sure-acid-value")+"; saponification value: "+j.fact(i, "sap"),
		"Keep waxes few. Enter a saponification value only if you know how far the wax reacts in your process.",
		"%s is a wax: its esters saponify slowly and only in part. %s mg KOH/g of it is counted on. The superfat is %s if no ester reacts and %s if all do.",
		m.Name, quantity.Number(m.SAP, 1), percent(j.sf.NominalPct), percent(100*high))
}

func (j *judge) superfat() {
	r, s := j.r, j.sf
	if !r.Saponifies() {
		j.say(finding.Stop, "excess-alkali", "superfat", "ISO 3657", "Add a fat that saponifies.",
			"0 g of the fats saponifies: there is nothing for alkali to turn to soap.")
		return
	}
	ranges := "GUM and GUM Supplement 1 (JCGM 100, 101); SAP ranges as the catalogue states"
	switch {
	case s.NominalPct < 0:
		j.say(finding.Stop, "excess-alkali", "superfat", "ISO 3657", "Do not go on. Use less alkali or more fat.",
			"The superfat is %s: alkali is in excess.", percent(s.NominalPct))
	case s.NominalPct == 0:
		j.say(finding.Stop, "excess-alkali", "superfat", "ISO 3657",
			"Do not sell or give away a bar made like this: nothing in it is left over to take up alkali. "+j.wanted(),
			"A superfat of 0 %% leaves no margin: the chance of alkali in excess is %s, from the ranges of SAP, purity and scale.", j.odds())
		return
	}
	if s.NominalPct > 0 && s.Excess > 0.001 {
		sev, word := finding.Warn, "The chance of alkali in excess is"
		if s.Excess > 0.1 {
			sev = finding.Stop
		}
		msg := fmt.Sprintf("%s %s, from the ranges of SAP, purity and scale; another batch from these lots will be off by about as much.", word, j.odds())
		do := j.wanted()
		if ds := r.Doubts(); len(ds) > 0 && ds[0].Share > 0.2 {
			msg += fmt.Sprintf(" %s of the doubt is %s.", share(ds[0].Share), strings.ToLower(ds[0].Name[:1])+ds[0].Name[1:])
			do += j.narrower(ds[0])
		}
		j.say(sev, "excess-chance", "superfat", ranges, do, "%s", msg)
	}
	limit, method := j.lim.SuperfatColdPct, "cold process"
	if r.Formula.Method == formula.Hot {
		limit, method = j.lim.SuperfatHotPct, "hot process"
	}
	if r.Bar.GroupsPct[catalogue.Quick] > 50 {
		limit, method = j.lim.SuperfatSaltPct, "a bar of mostly quick soap"
	}
	if s.NominalPct > limit {
		j.say(finding.Warn, "superfat-high", "superfat", practice,
			fmt.Sprintf("Ask for %s or less, unless a soft bar that turns sooner is what you want.", percent(limit)),
			"A superfat of %s is above the %s at which the studio wants to be told for %s.", percent(s.NominalPct), percent(limit), method)
	}
	for i := range r.Fats {
		if m := &r.Fats[i]; m.Cooked && m.MassG > 0 {
			j.say(finding.Note, "fat-cooked", about("fat", i), "arithmetic: it gets no lye",
				"Stir it in once the cook is done and it has cooled to a temperature that the fat can take.",
				"%s of %s goes in after the cook and stays free, beside the superfat of %s: free fat comes to %s of the bar.",
				j.lim.mass(m.MassG), m.Name, percent(s.NominalPct), percent(pct(r.Bar.FreeFat, r.Bar.MassG)))
		}
	}
}

// wanted says which superfat would bring the chance down to 1 in 1000.
func (j *judge) wanted() string {
	return fmt.Sprintf("A superfat of %s brings the chance to 1 in 1000.", percent(math.Ceil(10*j.sf.For1In1000Pct)/10))
}

// narrower says how far a certificate for the greatest doubt would narrow the
// superfat.
func (j *judge) narrower(d Doubt) string {
	var i int
	if _, err := fmt.Sscanf(d.About, "fat:%d", &i); err != nil || i >= len(j.r.Fats) || j.r.Fats[i].Certificate {
		return ""
	}
	m := j.r.model()
	for k := range m.things {
		if m.things[k].about == d.About && m.things[k].sapInput >= 0 {
			in := &m.in[m.things[k].sapInput]
			if half := certificateTolerance * in.Value; half < in.Width {
				in.Width = half
				b := m.budget()
				sp := b.Spread()
				lo, hi := sp.Interval(0.95)
				return fmt.Sprintf(" A certificate for %s (say %s ± %s) would narrow the superfat to %s %%.",
					lower(d.Name), quantity.Number(in.Value, 0), quantity.Number(half, 1), quantity.Interval(100*lo, 100*hi, 1))
			}
		}
	}
	return ""
}

func lower(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// share puts a share of the doubt into words.
func share(s float64) string {
	switch {
	case s > 0.9:
		return "Nearly all"
	case s > 0.6:
		return percent(100 * s)
	case s > 0.45:
		return "Half"
	}
	return percent(100 * s)
}

func (j *judge) odds() string {
	draws := j.sf.Draws
	if draws == 0 {
		draws = Draws
	}
	return quantity.Odds(j.sf.Excess, draws)
}

func (j *judge) alkali() {
	r, f := j.r, j.r.Formula
	missing := func(name string, g float64, solid, solution quantity.Maybe) {
		if g > 0 && !solid.Known && !solution.Known {
			j.say(finding.Warn, "purity-missing", "alkali", "the lot's certificate says it",
				"Enter the purity from the lot's certificate: at 98 % the same formula takes 2 % more.",
				"No purity is given for %s; it counts as 100 %%, which weighs out least alkali.", name)
		}
	}
	missing("sodium hydroxide", r.NaOHG, f.Alkali.NaOHPurityPct, f.Alkali.NaOHSolutionPct)
	missing("potassium hydroxide", r.KOHG, f.Alkali.KOHPurityPct, f.Alkali.KOHSolutionPct)
	l := &r.Lye
	na, k := r.Pure()
	if pure := na + k; pure > 0 {
		// For a mixed lye, the two saturations are averaged by the mass of each
		// alkali. No source for the mixture was found.
		satNa, errNa := lye.SaturationPct(lye.NaOH, 20)
		satK, errK := lye.SaturationPct(lye.KOH, 20)
		sat := (na*satNa + k*satK) / pure
		if c := pct(pure, l.MassG); errNa == nil && errK == nil && c > sat {
			j.say(finding.Stop, "lye-solubility", "water", "CRC Handbook: solubility of NaOH and KOH in water at 20 °C",
				"Put more water into the lye: some alkali would stay undissolved and burn where it lands.",
				"The lye solution holds %s of alkali; at 20 °C water takes no more than %s.", percent(c), percent(sat))
		}
	}
	switch c := r.ConcentrationPct; {
	case c < j.lim.LyeLowPct:
		j.say(finding.Warn, "lye-weak", "water", practice,
			"Use less water, unless you have time for a slow trace, a long drying and ash.",
			"The lye is %s alkali over alkali and all water, below the %s at which the studio wants to be told.", percent(c), percent(j.lim.LyeLowPct))
	case c > j.lim.LyeHighPct:
		j.say(finding.Warn, "lye-strong", "water", practice,
			"Use more water, unless a quick trace and little time to pour are what you want.",
			"The lye is %s alkali over alkali and all water, above the %s at which the studio wants to be told.", percent(c), percent(j.lim.LyeHighPct))
	}
	switch {
	case r.KOHG > 0:
		j.say(finding.Note, "lye-peak-unknown", "water", "no enthalpy table of KOH solutions was found",
			"Expect it to heat at least as a lye of sodium hydroxide does; keep the jug half empty and add the alkali in thirds.",
			"How hot the lye may get cannot be worked out for a lye with %s of potassium hydroxide.", j.lim.mass(r.KOHG))
	case f.Liquid.PeakC.Known && l.PeakC.Known && l.PeakC.V > f.Liquid.PeakC.V && l.IceG >= r.WaterG-l.LaterG-1e-9:
		j.say(finding.Warn, "ice-short", "water", "Olsson, Jernqvist & Aly, Int. J. Thermophys. 18 (1997) 779; heat of fusion of ice",
			"Add the alkali in small portions with the jug in an ice bath.",
			"Even with all %s of the water as ice the lye may pass %s °C.", j.lim.mass(l.IceG), quantity.Number(f.Liquid.PeakC.V, 0))
	}
}

func (j *judge) water() {
	r := j.r
	if r.ShortWaterG > 0 {
		j.say(finding.Warn, "water-over", "water", "arithmetic",
			"Use less of what brings water, take it as powder, or ask for a weaker lye. All the water now comes from the extras.",
			"What goes in beside the water brings %s more water than was asked for; the lye comes to %s.", j.lim.mass(r.ShortWaterG),
			percent(r.ConcentrationPct))
	}
	if r.Bar.AcidReached < 1-1e-12 {
		j.say(finding.Warn, "acid-over", "superfat", "acids neutralise before fats saponify",
			"Ask for a lower superfat, or take less acid.",
			"The acids take all the alkali and more: %s of them find some, and no fat saponifies.", percent(100*r.Bar.AcidReached))
	}
}

// scale asks whether the scale is fine enough, by what the weighing alone does
// to the superfat.
func (j *judge) scale() {
	r, f := j.r, j.r.Formula
	if !f.ScaleDivisionG.Known {
		j.say(finding.Note, "scale-missing", "scale", "GUM F.2.2.1: a display reads to half its step",
			"Enter the smallest step of the scale's display.",
			"No scale is given: the weighing of %s of fats is taken as exact, which it is not.", j.lim.mass(r.FatsG))
		return
	}
	if !r.Saponifies() {
		return
	}
	m := r.model()
	for i := range m.in {
		m.in[i].Width = 0
		m.in[i].Dist = doubt.Exact
	}
	div := f.ScaleDivisionG.V
	put := func(i int) {
		if i >= 0 {
			m.in[i].Dist, m.in[i].Width = doubt.Rectangular, div/2
		}
	}
	for i := range m.things {
		put(m.things[i].massInput)
	}
	put(m.naMass)
	put(m.kMass)
	b := m.budget()
	sp := b.Spread()
	lo, hi := sp.Interval(0.95)
	if points := 100 * (hi - lo) / 2; points > 1 {
		j.say(finding.Warn, "scale-coarse", "scale", "GUM F.2.2.1; that 1 point is too much: assumed",
			fmt.Sprintf("Make a batch of %s of fats or more, or use a scale with finer steps.", j.lim.mass(math.Ceil(r.FatsG*points/50)*50)),
			"Steps of %s g on %s of alkali alone move the superfat by ± %s points.", quantity.Number(div, quantity.Decimals(div)),
			j.lim.mass(r.NaOHG+r.KOHG), quantity.Number(points, 1))
	}
}

func (j *judge) extra(i int) {
	r, m := j.r, &j.r.Extras[i]
	about := about("extra", i)
	if m.MassG <= 0 {
		return
	}
	ofFats := pct(m.MassG, r.FatsG)
	if m.LyeCountsOn() {
		j.say(finding.Note, "lye-counts-on", about, "arithmetic: fat and acid in it take alkali",
			"Weigh it before the lye is made, and do not leave it out or swap it after.",
			"The lye counts on %s of %s. If you leave it out, the superfat is %s.", j.lim.mass(m.MassG), lower(m.Name), percent(100*r.SuperfatWithout(i)))
	}
	sev := finding.Note
	if m.Into == formula.IntoLye {
		sev = finding.Warn
	}
	of := "the fats"
	if r.Melts() {
		of = "the base"
	}
	switch {
	case r.Melts():
		if m.Nature.Has(catalogue.NatureMilk) || m.WaterG > 0.02*r.FatsG {
			j.say(finding.Warn, "melt-wet", about, practice,
				"Take it as a dry powder, or leave it out: nothing in a melt keeps it from spoiling, and water makes the base soft.",
				"%s brings %s of water into %s of base.", m.Name, j.lim.mass(m.WaterG), j.lim.mass(r.FatsG))
		}
	case m.Nature.Has(catalogue.NatureHoney):
		j.say(sev, "heat-honey", about, practice,
			"Thin it with water, stir it in at thin trace, pour cool and do not insulate.",
			"%s is sugar: %s (%s of the fats) heats the batter and browns it.", m.Name, j.lim.mass(m.MassG), percent(ofFats))
	case m.Nature.Has(catalogue.NatureMilk):
		do := "Stir it in at thin trace, pour cool and do not insulate."
		if m.Into == formula.IntoLye {
			do = "Freeze it, and add the alkali a little at a time below 30 °C; or put it into the batter."
		}
		j.say(sev, "heat-milk", about, practice, do,
			"%s brings sugar and protein: %s (%s of the fats) scorches in hot lye, heats the batter and browns.", m.Name, j.lim.mass(m.MassG), percent(ofFats))
	case m.Nature.Has(catalogue.NatureSugar):
		j.say(sev, "heat-sugar", about, practice,
			"Dissolve it in some of the water before the alkali, pour cool and do not insulate.",
			"%s heats the batter: %s is %s of the fats.", m.Name, j.lim.mass(m.MassG), percent(ofFats))
	}
	if m.Nature.Has(catalogue.NatureSalt) && !r.Melts() {
		if ofFats > 20 {
			j.say(finding.Warn, "salt-bar", about, practice,
				"Cut it while it is still warm, within hours, or pour single cavities: it crumbles later.",
				"%s is %s of the fats: such a bar sets hard and fast.", m.Name, percent(ofFats))
		} else if m.Into != formula.IntoLye && ofFats > 3 {
			j.say(finding.Note, "salt-dose", about, practice,
				"Dissolve it in the water before the alkali if it is meant to harden the bar.",
				"%s is %s of the fats; it thins lather and hardens the bar.", m.Name, percent(ofFats))
		}
	}
	if m.Nature.Has(catalogue.NatureClay) && ofFats > 3 {
		j.say(finding.Warn, "clay-dose", about, practice,
			"Take 30 g or less for each kg of fats, or wet it first with its own weight of water.",
			"%s is %s of %s: clay draws water, thickens the batter and may crack the bar.", m.Name, percent(ofFats), of)
	}
	if m.Nature.Has(catalogue.NatureAlkaline) && !r.Melts() {
		j.say(finding.Warn, "alkali-uncounted", about, "it is an alkali; what it saponifies is not known",
			"Leave it out, or leave more superfat and test for free alkali.",
			"%s of %s is alkaline, and the sums do not count it.", j.lim.mass(m.MassG), lower(m.Name))
	}
	if m.Nature.Has(catalogue.NatureAlcohol) {
		j.say(finding.Warn, "flammable", about, "the supplier's safety data sheet",
			"No flame or hotplate near it; it thickens the batter, so have the mould ready.",
			"%s of %s flames and thickens the batter at once.", j.lim.mass(m.MassG), lower(m.Name))
	}
	if m.Nature.Has(catalogue.NaturePlastic) {
		j.say(finding.Warn, "plastic", about, "Microbead-Free Waters Act of 2015 (US); Reg. (EU) 2023/2055; both from memory",
			"Take a mineral, a seed or a wax bead, and check the law where you sell.",
			"%s of %s is plastic: rinsed-off plastic particles are banned in places.", j.lim.mass(m.MassG), lower(m.Name))
	}
	if m.Nature.Has(catalogue.NatureScratchy) && ofFats > 3 {
		j.say(finding.Note, "scratchy", about, practice,
			"Grind it finer, take less, or keep it from the face.",
			"%s is %s of %s, and rough on skin.", m.Name, percent(ofFats), of)
	}
	if m.Typed.Unit == formula.TeaspoonsPerPound && !m.Typed.Measured {
		j.say(finding.Note, "teaspoon", about, "assumed",
			"Weigh ten level teaspoons of it once and enter a tenth of that.",
			"A teaspoon of %s is taken as %s g, which nobody measured.", lower(m.Name), quantity.Number(m.Typed.GramsPerTsp, 1))
	}
}

func (j *judge) scents() {
	r := j.r
	sum, limited := 0.0, 0
	for i := range r.Scents {
		s := &r.Scents[i]
		about := about("scent", i)
		if s.MassG <= 0 {
			continue
		}
		if !s.LimitPct.Known {
			j.say(finding.Note, "scent-no-limit", about, "no certificate was entered",
				"Enter the limit that the certificate gives for this kind of product.",
				"%s is %s of the bar when sold, and there is no limit to compare it with.", s.Name, percent2(s.PctOfBar))
			continue
		}
		source := "certificate of " + s.Name
		if s.Category != "" {
			source += ", category " + s.Category
		}
		if s.Dated != "" {
			source += ", dated " + s.Dated
		}
		if s.LimitPct.V > 0 {
			sum += s.PctOfBar / s.LimitPct.V
			limited++
		}
		switch {
		case !s.Within():
			most := 0.0
			if s.PctOfBar > 0 {
				most = s.MassG * s.LimitPct.V / s.PctOfBar * (100 - s.PctOfBar) / (100 - s.LimitPct.V)
			}
			j.say(finding.Stop, "scent-over-limit", about, source,
				fmt.Sprintf("Take %s or less in this batch. A limit is no advice on how much is pleasant.", j.lim.mass(most)),
				"When sold, %s is %s of the bar: more than its limit of %s.", s.Name, percent2(s.PctOfBar), percent2(s.LimitPct.V))
		case s.PctDry > s.LimitPct.V:
			j.say(finding.Note, "scent-dries-over", about, source,
				"Take a little less: a bar goes on drying at the buyer's.",
				"When sold, %s is %s of the bar; when it has dried out, %s, more than its limit of %s.", s.Name, percent2(s.PctOfBar),
				percent2(s.PctDry), percent2(s.LimitPct.V))
		default:
			j.say(finding.Note, "scent-limit", about, source,
				"Nothing to do. The limit is the fragrance maker's, for the finished product.",
				"When sold, %s is %s of the bar: the water has left and the scent, it is assumed, has not. Limit %s.", s.Name, percent2(s.PctOfBar),
				percent2(s.LimitPct.V))
		}
	}
	if limited > 1 && sum > 1 {
		j.say(finding.Warn, "scents-together", "scents", "derived: if both hold the same restricted substance their shares add up",
			"Ask the supplier which substance sets each limit, or lower the doses until the sum is 1.",
			"%d scents each keep a share of their own limit, and the shares add up to %s.", limited, quantity.Number(sum, 2))
	}
}

func percent2(v float64) string { return quantity.Percent(v, 2) }
