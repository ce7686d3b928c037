package soap

import (
	"fmt"
	"math"
	"strings"

	"barwright/catalogue"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/words"
	"barwright/quantity"
)

// Values at which the program wants to be told of a melt, a division or a
// colour. All of them are common practice, no source.
const (
	manyRemelts      = 3    // a base that was melted this often before is tired
	muchEvaporation  = 5.0  // % of what went in
	muchMeltFat      = 3.0  // % of the base, as fat stirred in
	muchColour       = 20.0 // g per kg of batter
	oddDensity       = 0.10 // share by which a measured density may differ from its estimate
	coarseDose       = 0.10 // share by which half a step of the scale may change a dose
	thickConcentrate = 30.0 // % lye; a weaker one makes the batter slow to thicken
)

// melt judges a melt of ready-made base.
func (j *judge) melt() {
	r, f := j.r, j.r.Formula
	sum := 0.0
	for i := range f.Bases {
		sum += f.Bases[i].Pct
	}
	if math.Abs(sum-100) > formula.SumTolerancePct+1e-9 {
		do := fmt.Sprintf("Give another base %s, or raise one.", percent(100-sum))
		if sum > 100 {
			do = fmt.Sprintf("Take %s away.", percent(sum-100))
		}
		j.say(finding.Warn, "bases-sum", "bases", "arithmetic", do+" The sums stand for the bases as they are until then.",
			"The bases add up to %s of %s.", percent(sum), j.lim.mass(f.FatsG))
	}
	j.meltHeat()
	m := f.Melting
	if m.Remelts >= manyRemelts {
		j.say(finding.Warn, "melt-remelted", "melting", practice,
			"Keep a remelt for small parts, or cut it with fresh base; and weigh it before and after, for water goes each time.",
			"This base has been melted %d times before: each time it loses water and scent, and it turns tougher and yellower.", m.Remelts)
	}
	switch e := m.EvaporationPct; {
	case e.Known && e.V > muchEvaporation:
		j.say(finding.Warn, "melt-evaporated", "melting", practice,
			"Melt it covered, cooler and in smaller pieces; make up with fresh base, never with plain water.",
			"%s evaporated, %s of what went in: such a base sets tough and strings when it is poured.", j.lim.mass(r.Batter.LostG), percent(e.V))
	case !e.Known && m.Remelts > 0:
		j.say(finding.Note, "melt-unweighed", "melting", "a balance before and after",
			"Weigh the vessel with the base before it is melted and when it is poured, and enter the difference.",
			"It was melted before, %s, and what evaporates is not weighed: %s is counted as poured, and it may be less.", oftenWords(m.Remelts),
			j.lim.mass(r.Batter.MassG))
	}
	if moist := r.MoistG(); moist > 0 {
		j.say(finding.Note, "melt-sweats", "bases", practice,
			"Wrap each piece as soon as it has set and cooled, closed, and keep it dry; a part with lye under it must have dried before.",
			"%s of the melt is base that is rich in glycerin, or does not say what is in it: lying open it draws water from the air and sweats.",
			j.lim.mass(moist))
	}
	fat := 0.0
	for i := range r.Extras {
		fat += r.Extras[i].FatG
	}
	if p := pct(fat, r.FatsG); p > muchMeltFat {
		j.say(finding.Warn, "melt-fat", "bases", practice,
			fmt.Sprintf("Stir in %s or less, unless the supplier allows more: there is no lye left in a base to turn it to soap.",
				j.lim.mass(muchMeltFat/100*r.FatsG)),
			"What is stirred in brings %s of fat, %s of the base: it stays fat, dulls the lather and may come out again as drops.", j.lim.mass(fat), percent(p))
	}
}

// meltHeat compares the temperatures with what the bases can bear.
func (j *judge) meltHeat() {
	r, f := j.r, j.r.Formula
	missing := 0
	for i := range r.Bases {
		b := &r.Bases[i]
		about, source := about("base", i), "the base's supplier, as entered"
		if b.MassG <= 0 {
			continue
		}
		if !b.MaxMeltC.Known {
			missing++
		}
		if t := f.Melting.MeltC; t.Known && b.MaxMeltC.Known && t.V > b.MaxMeltC.V {
			j.say(finding.Warn, "melt-overheated", about, source,
				fmt.Sprintf("Melt at %s or less, in small pieces, stirred, over water and not over a flame.", j.lim.temp(b.MaxMeltC.V)),
				"It is melted at %s, and %s can take %s: overheated base yellows, smells and may boil over, and it burns skin.", j.lim.temp(t.V),
				b.Name, j.lim.temp(b.MaxMeltC.V))
		}
		if t := f.PourC; t.Known && b.MaxPourC.Known && t.V > b.MaxPourC.V {
			j.say(finding.Warn, "melt-poured-hot", about, source,
				fmt.Sprintf("Let it cool to %s before it is poured: a thermometer, not a guess.", j.lim.temp(b.MaxPourC.V)),
				"It is poured at %s, and %s should be poured at %s or less: hotter it melts what it is poured on, and warps moulds.",
				j.lim.temp(t.V), b.Name, j.lim.temp(b.MaxPourC.V))
		}
	}
	if t := f.Melting.MeltC; t.Known && f.PourC.Known && f.PourC.V > t.V {
		j.say(finding.Warn, "melt-poured-hot", "melting", "arithmetic",
			"Set the pour temperature below the temperature of melting, or heat it more.",
			"It is poured at %s but melted at only %s.", j.lim.temp(f.PourC.V), j.lim.temp(t.V))
	}
	if missing > 0 {
		of := words.Count(missing, "base", "bases")
		if missing < len(r.Bases) {
			of = fmt.Sprintf("%d of %d bases", missing, len(r.Bases))
		}
		j.say(finding.Note, "melt-limit-missing", "bases", "no supplier's sheet was entered",
			"Enter the highest temperatures for melting and pouring from the supplier's sheet.",
			"The highest temperature of %s is not known, so overheating is not judged.", of)
	}
	for i := range r.Scents {
		if s := &r.Scents[i]; s.MassG > 0 {
			j.say(finding.Note, "scent-heat", about("scent", i), "the flash point stands in its safety data sheet",
				"Stir it in last, at the lowest temperature that still pours, and never above its flash point; no flame near it.",
				"%s goes into a melt at about %s, and its flash point is not entered.", s.Name, j.lim.temp(r.Batter.PourC))
		}
	}
}

func oftenWords(n int) string {
	switch n {
	case 1:
		return "1 time"
	default:
		return fmt.Sprintf("%d times", n)
	}
}

// MoistG is how much of a melt, in g, is base that draws water from the air
// when it lies open, judged by its declaration. Common practice, no source.
func (r *Result) MoistG() float64 {
	var moist float64
	for i := range r.Bases {
		if b := &r.Bases[i]; drawsWater(b.INCI) {
			moist += b.LeftG
		}
	}
	return moist
}

// drawsWater reports whether a base with that declaration draws water from the
// air: it names a humectant, or nobody said what is in it.
func drawsWater(inci string) bool {
	if strings.TrimSpace(inci) == "" {
		return true
	}
	low := strings.ToLower(inci)
	for _, w := range []string{"glycerin", "glycerol", "sorbitol", "glycol", "sucrose", "betaine"} {
		if strings.Contains(low, w) {
			return true
		}
	}
	return false
}

// cook judges the water that boils off in the cook.
func (j *judge) cook() {
	r, f := j.r, j.r.Formula
	if f.Method != formula.Hot {
		return
	}
	all := r.AllWaterG + r.Bar.MadeWaterG
	if !f.CookLossPct.Known {
		j.say(finding.Note, "cook-loss-missing", "water", "a balance before and after",
			"Weigh the pot before and after the cook once, and enter the share of the water that went.",
			"How much of the %s of water boils off in the cook is not stated: all of it is counted as poured, and the pot will hold less.", j.lim.mass(all))
		return
	}
	if loss := f.CureWaterLossPct.Or(DefaultCureWaterLossPct); f.CookLossPct.V > loss {
		j.say(finding.Warn, "cook-loss-high", "water", "arithmetic",
			"Look at both again: what is gone when sold counts what boiled off.",
			"In the cook %s of the water boils off, and when sold only %s of it is said to be gone: the bar is taken to lose no more.",
			percent(f.CookLossPct.V), percent(loss))
	}
}

// density compares a measured density with the density that the ingredients
// would give.
func (j *judge) density() {
	b := &j.r.Batter
	if !b.Measured || !(b.EstimateGML > 0) {
		return
	}
	if d := b.DensityGML/b.EstimateGML - 1; math.Abs(d) > oddDensity {
		side := "heavier"
		if d < 0 {
			side = "lighter"
		}
		j.say(finding.Warn, "density-odd", "batter", "arithmetic; that "+percent(100*oddDensity)+" is too much: assumed",
			"Measure again: the mass of a full vessel over the mass of water that fills it. Air beaten in makes a batter lighter.",
			"The density was measured as %s g/ml, %s %s than the %s g/ml that its ingredients come to.",
			quantity.Number(b.DensityGML, 3), percent(100*math.Abs(d)), side, quantity.Number(b.EstimateGML, 3))
	}
}

// portions judges the division of the batter.
func (j *judge) portions() {
	r, f := j.r, j.r.Formula
	if len(r.Portions) > 0 {
		left := r.PortionsLeftG()
		switch tol := 1e-6 * r.Batter.MassG; {
		case left < -tol:
			j.say(finding.Warn, "portions-over", "portions", "arithmetic",
				fmt.Sprintf("Make %s of batter, or lower a portion.", j.lim.mass(r.Batter.MassG-left)),
				"The portions ask for %s of batter, and there is %s: %s too little.", j.lim.mass(r.Batter.MassG-left), j.lim.mass(r.Batter.MassG),
				j.lim.mass(-left))
		case left > math.Max(tol, 2e-4*r.Batter.MassG):
			j.say(finding.Note, "portions-left", "portions", "arithmetic",
				"Let one portion take the rest, or make less.",
				"The portions leave %s of %s in the pot.", j.lim.mass(left), j.lim.mass(r.Batter.MassG))
		}
	}
	thick := f.Stage
	for i := range r.Portions {
		p := &r.Portions[i]
		thick = max(thick, p.Stage)
		if f.Portions[i].By == formula.ByRest && p.BatterG <= 0 {
			j.say(finding.Warn, "portion-empty", about("portion", i), "arithmetic",
				"Lower another portion, or make more batter.",
				"Nothing is left for the rest, %s: 0 of %s.", p.Name, j.lim.mass(r.Batter.MassG))
		}
		for _, c := range p.Colourants {
			if c.GPerKg > muchColour {
				j.say(finding.Warn, "colour-high", about("portion", i), practice,
					fmt.Sprintf("Take %s or less for this portion unless a test batch shows that lather, skin and cloth stay clean.",
						j.lim.mass(muchColour*p.BatterG/1000)),
					"%s in %s is %s of batter: above %s the lather may be coloured.", c.Name, p.Name, j.lim.dose(c.GPerKg, 1), j.lim.dose(muchColour, 0))
			}
		}
	}
	if !r.Melts() && thick >= formula.ThickTrace && r.ConcentrationPct < thickConcentrate {
		j.say(finding.Note, "thick-slow", "water", practice,
			fmt.Sprintf("A lye of %s or more thickens sooner; else give it time and stir little.", percent(thickConcentrate)),
			"%s is wanted, and the lye is %s alkali over alkali and all water: a batter this wet takes long to thicken.", upper(thick.Words()),
			percent(r.ConcentrationPct))
	}
	if !r.Melts() && thick == formula.Dough {
		if soft := r.Bar.GroupsPct[catalogue.Mellow] + r.Bar.GroupsPct[catalogue.Fleeting]; soft > 75 {
			j.say(finding.Note, "dough-soft", "fats", practice,
				"Wait a day or two, wrapped close against the air, before it is kneaded; or take more fats that are firm.",
				"Dough is wanted, and %s of the fatty acids make soft soap: it stays sticky long.", percent(soft))
		}
	}
}

// doses asks whether each dose is large enough for the scale. In a small test
// batch it is often not.
func (j *judge) doses() {
	r, f := j.r, j.r.Formula
	div := f.ScaleDivisionG.Or(0)
	if div <= 0 {
		return
	}
	least, name, n := math.Inf(1), "", 0
	dose := func(g float64, what string) {
		if g <= 0 || div/2/g <= coarseDose {
			return
		}
		if n++; g < least {
			least, name = g, what
		}
	}
	for i := range r.Extras {
		// A dose by the spoon is not weighed on the scale.
		if r.Extras[i].Typed.Unit != formula.TeaspoonsPerPound {
			dose(r.Extras[i].MassG, lower(r.Extras[i].Name))
		}
	}
	for i := range r.Scents {
		dose(r.Scents[i].MassG, r.Scents[i].Name)
	}
	for i := range r.Portions {
		for _, c := range r.Portions[i].Colourants {
			if c.Typed.Unit != formula.TeaspoonsPerPound {
				dose(c.MassG, lower(c.Name))
			}
		}
	}
	if n == 0 {
		return
	}
	more := ""
	if n > 1 {
		more = fmt.Sprintf(" It is the least of %d such doses.", n)
	}
	enough := math.Ceil(r.Batter.MassG * div / 2 / coarseDose / least)
	j.say(finding.Note, "dose-coarse", "scale", "GUM F.2.2.1; that "+percent(100*coarseDose)+" is too much: assumed",
		fmt.Sprintf("Make %s of batter or more, use a scale with finer steps, or weigh ten times as much into a premix and take a tenth of that.",
			j.lim.mass(enough)),
		"%s g of %s is weighed in steps of %s g: it may be out by %s.%s", quantity.Number(least, 2), name, quantity.Number(div, quantity.Decimals(div)),
		percent(100*div/2/least), more)
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// constituents compares what the certificates state with the list of allergens.
func (j *judge) constituents() {
	for _, c := range j.r.Constituents() {
		what := c.Name
		if len(c.Stated) > 0 {
			what += " (stated as " + strings.Join(c.Stated, ", ") + ")"
		}
		switch {
		case c.Prohibited:
			j.say(finding.Warn, "constituent-prohibited", "scents", catalogue.AllergenSource+"; Annex II",
				"Ask the supplier for a current certificate: do not sell a bar with it where that rule is in force.",
				"%s is %s of the bar when sold: it is prohibited in cosmetic products in the EU.", what, share4(c.PctOfBar))
		case c.Declarable:
			do := "Name " + c.Name + " in the list of ingredients where that rule is in force."
			if c.Note != "" {
				do += " " + c.Note
			}
			j.say(finding.Note, "allergen-declared", "scents", catalogue.AllergenSource, do,
				"%s is %s of the bar when sold, over all scents that state it: above %s of what is rinsed off it is to be declared.", what,
				share4(c.PctOfBar), quantity.Percent(catalogue.AllergenRinseOffPct, 2))
		}
	}
}

// share4 writes a small share with enough decimals that it does not become 0.
func share4(v float64) string {
	if v < 0.1 {
		return quantity.Percent(v, 4)
	}
	return percent2(v)
}
