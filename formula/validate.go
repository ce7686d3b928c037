package formula

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"barwright/fault"
	"barwright/quantity"
)

// Limits on what is accepted as a formula. They are far outside the trade. They
// keep every sum finite and every page drawable.
const (
	// MaxFats, MaxExtras and MaxScents are the largest numbers of lines of each
	// kind.
	MaxFats   = 100
	MaxExtras = 100
	MaxScents = 100
	// MinFatsG and MaxFatsG limit the mass of fats: 1 mg and 10 t.
	MinFatsG = 0.001
	MaxFatsG = 1e7
	// MaxSAP is more than any fat or fatty acid takes, mg KOH/g: butyric acid,
	// the smallest acid of a fat, takes 637 (56.1056 / 88.11, from memory).
	MaxSAP = 1000
	// SumTolerancePct is how far the sum of the fats' shares may be from 100.
	SumTolerancePct = 0.01

	// minShare is what 'above 0' means where a sum divides by the number.
	// Otherwise the mass of alkali or water would grow without limit.
	minShare          = 0.001
	maxDoseGPerKgFats = 10_000
	maxNameRunes      = 200
	maxNotesRunes     = 20_000
)

// Validate returns everything that is wrong with f itself. The file reader and
// the web form share it. Ids are not looked up; CheckIDs does that.
//
// strict is for a formula that is to be kept or weighed out. While the maker is
// still typing (strict false), a missing name, a list without fats, fats that
// do not sum to 100 and lines that weigh nothing are accepted.
//
// Every fault is of kind Invalid. Its Field is a key path. For a single value
// it is the key of the file (superfat, alkali.koh_mol_pct). For a line of a
// list it is the list, the line counted from 1, and the key (fat.2.pct,
// extra.1.dose_g, scent.1.limit_pct). The form field has the same path as its
// name and as its HTML id.
//
// These fields exist only on the page:
//
//	water, pour_c, notes, stage
//	alkali.naoh_solution_pct, alkali.koh_solution_pct
//	liquid.ice_pct, liquid.later_pct, liquid.peak_c
//	melting.melt_c, melting.remelts, melting.evaporation_pct
//	fat, extra, scent, portion, base          the whole list
//	extra.1.unit, .gtsp
//	scent.1.stated
//	portion.1.name, .by, .amount, .stage, .colours
//	base.1.name, .pct, .inci, .density_g_ml, .softens_c, .max_melt_c, .max_pour_c
//
// .colours and .stated are lists of their own: a fault of one entry is on
// portion.1.colours.2.
//
// A melt has no superfat, water, alkali, water lost when sold, or liquid, so
// none of these is checked for it.
func (f *Formula) Validate(strict bool) fault.List {
	c := checker{}
	if strict || f.Name != "" {
		c.text("name", f.Name, "the name of the formula", maxNameRunes, true)
	}
	c.text("notes", f.Notes, "the notes", maxNotesRunes, false)
	const methods = "write cold (saponifies in the mould), hot (cooked) or melt (ready-made base)"
	switch f.Method {
	case Cold, Hot, Melt:
	case MethodUnset:
		c.addf("method", "The method is missing: "+methods+".")
	default:
		c.addf("method", "This is neither cold, hot nor melt: "+methods+".")
	}
	if f.Method == Melt {
		c.fatsG(f.FatsG, "base")
		c.melt(f, strict)
	} else {
		c.lye(f, strict)
	}
	c.maybe("pour_c", f.PourC, func(v float64) bool { return v >= 0 && v <= 110 },
		"the pour temperature must be from 0 to 110 °C, such as 40")
	if f.CookLossPct.Known && f.Method != Hot && f.Method != MethodUnset {
		c.addf("cook_loss_pct", "Nothing is cooked in this method, so no water boils off: write method hot, or leave this empty.")
	} else {
		c.maybe("cook_loss_pct", f.CookLossPct, func(v float64) bool { return v >= 0 && v < 100 },
			"the share of the water that boils off in the cook must be from 0 to below 100 %, such as 15")
	}
	c.density("measured_density_g_ml", f.DensityGML, "the density measured")
	c.stage("stage", f.Stage)
	c.maybe("scale.division_g", f.ScaleDivisionG, func(v float64) bool { return v >= 0 && v <= MaxFatsG },
		"the scale's division must be 0 or more, in g, such as 1.0")
	c.extras(f, strict)
	c.scents(f, strict)
	c.batterShares(f)
	c.portions(f, strict)
	return c.faults
}

// lye checks what only a batter with lye has.
func (c *checker) lye(f *Formula, strict bool) {
	c.noMelt(f)
	c.number("superfat", f.SuperfatPct, f.SuperfatPct >= 0 && f.SuperfatPct < 100,
		"the superfat must be from 0 to below 100 % of the saponifiable fat, such as 5.0")
	c.water(f.Water)
	c.fatsG(f.FatsG, "fats")
	c.maybe("cure_water_loss_pct", f.CureWaterLossPct, func(v float64) bool { return v >= 0 && v <= 100 },
		"the share of the water lost when sold must be from 0 to 100 %, such as 60.0; left out it counts as 60")
	c.alkali(f.Alkali)
	c.fats(f, strict)
	for _, s := range []struct {
		field string
		v     float64
		what  string
	}{
		{"liquid.ice_pct", f.Liquid.IcePct, "the share of the water that is ice"},
		{"liquid.later_pct", f.Liquid.LaterPct, "the share of the water that is kept back from the lye"},
	} {
		c.number(s.field, s.v, s.v >= 0 && s.v <= 100, s.what+" must be from 0 to 100 %")
	}
	c.maybe("liquid.peak_c", f.Liquid.PeakC, func(v float64) bool { return v >= 0 && v <= 110 },
		"the peak wanted in the lye must be from 0 to 110 °C")
}

// checker collects what Validate finds.
type checker struct{ faults fault.List }

func (c *checker) addf(field, format string, args ...any) {
	c.faults.Add(fault.Invalidf(field, format, args...))
}

// number adds a fault unless v is finite and ok is true. rule says in words
// which values are accepted, and the sentence puts the refused value before it.
func (c *checker) number(field string, v float64, ok bool, rule string) {
	switch {
	case math.IsNaN(v):
		c.addf(field, "This is not a number: %s.", rule)
	case math.IsInf(v, 0):
		c.addf(field, "This is without end: %s.", rule)
	case !ok && v > 0 && v < minShare:
		c.addf(field, "%s is too small to work with: write at least 0.001.", Plain(v))
	case !ok:
		c.addf(field, "%s cannot be used: %s.", Plain(v), rule)
	}
}

func (c *checker) maybe(field string, m quantity.Maybe, ok func(float64) bool, rule string) {
	if m.Known {
		c.number(field, m.V, ok(m.V), rule)
	}
}

func (c *checker) text(field, s, what string, limit int, line bool) {
	switch {
	case !utf8.ValidString(s):
		c.addf(field, "This is not UTF-8 text: type %s again.", what)
	case line && strings.TrimSpace(s) == "":
		c.addf(field, "This is missing: write %s.", what)
	case utf8.RuneCountInString(s) > limit:
		c.addf(field, "There are %d characters in %s: %d at most.", utf8.RuneCountInString(s), what, limit)
	case strings.ContainsFunc(s, func(r rune) bool { return unprintable(r, line) }):
		c.addf(field, "There is a control character, such as a line break or a tab, in %s: take it out.", what)
	}
}

func unprintable(r rune, line bool) bool {
	if !line && (r == '\n' || r == '\r' || r == '\t') {
		return false
	}
	return unicode.IsControl(r)
}

func (c *checker) water(w Water) {
	switch w.Rule {
	case ByConcentration:
		c.number("water", w.Value, w.Value >= minShare && w.Value < 100,
			"the lye concentration must be above 0 and below 100 %, such as 33.0")
	case ByRatio:
		c.number("water", w.Value, w.Value >= minShare && w.Value <= 1000,
			"the parts of water to 1 of alkali must be above 0 and at most 1000, such as 2 to 1")
	case ByFats:
		c.number("water", w.Value, w.Value >= minShare && w.Value <= 1000,
			"water as a share of the fats must be above 0 and at most 1000 %, such as 38 % of fats")
	case ByDiscount:
		c.number("water", w.Value, w.Value >= 0 && w.Value < 100,
			"the discount must be from 0 to below 100 %, such as 10 % less than 38 % of fats")
		c.number("water", w.FullPct, w.FullPct >= minShare && w.FullPct <= 1000,
			"full water must be above 0 and at most 1000 % of the fats, such as 10 % less than 38 % of fats")
	default:
		c.addf("water", "This is no rule for the water: %s.", waterHint)
	}
}

// fatsG checks the mass that all shares refer to, of fats or of base.
func (c *checker) fatsG(g float64, what string) {
	switch {
	case quantity.Finite(g) && g > 0 && g < MinFatsG:
		c.addf("fats_g", "%s g is less than a milligram of %s: write at least 0.001.", Plain(g), what)
	case quantity.Finite(g) && g > MaxFatsG:
		c.addf("fats_g", "%s g of %s is more than 10 tonnes: write at most 10 000 000.", Plain(g), what)
	default:
		c.number("fats_g", g, g > 0, "the mass of all "+what+" must be above 0 g, such as 1000.0")
	}
}

func (c *checker) alkali(a Alkali) {
	c.number("alkali.koh_mol_pct", a.KOHMolPct, a.KOHMolPct >= 0 && a.KOHMolPct <= 100,
		"the share of the alkali that is KOH must be from 0 to 100 mol %")
	const width = "alkali.purity_half_width_pct"
	c.number(width, a.PurityHalfWidthPct, a.PurityHalfWidthPct >= 0 && a.PurityHalfWidthPct < 100,
		"the tolerance of the purity must be from 0 to below 100 points, such as 0.5")
	for _, p := range []struct {
		field string
		v     quantity.Maybe
		what  string
		like  string
	}{
		{"alkali.naoh_purity_pct", a.NaOHPurityPct, "purity of the NaOH", "99.0"},
		{"alkali.koh_purity_pct", a.KOHPurityPct, "purity of the KOH", "90.0"},
		{"alkali.naoh_solution_pct", a.NaOHSolutionPct, "strength of the NaOH solution", "50.0"},
		{"alkali.koh_solution_pct", a.KOHSolutionPct, "strength of the KOH solution", "45.0"},
	} {
		c.maybe(p.field, p.v, func(v float64) bool { return v >= minShare && v <= 100 },
			"the "+p.what+" must be above 0 and at most 100 %, such as "+p.like)
		// A tolerance that reaches 0 would ask for infinitely much alkali.
		if p.v.Known && p.v.V > 0 && a.PurityHalfWidthPct >= p.v.V && a.PurityHalfWidthPct < 100 {
			c.addf(width, "A tolerance of ± %s points reaches below 0 for a %s of %s %%: the tolerance must be smaller than the value.",
				Plain(a.PurityHalfWidthPct), p.what, Plain(p.v.V))
		}
	}
}

// Path returns the key path of key in line i, counted from 0, of a list: fat,
// extra, scent, base or portion. The path counts from 1, as the maker does.
func Path(list string, i int, key string) string {
	return list + "." + strconv.Itoa(i+1) + "." + key
}

func (c *checker) id(field, id, what string) {
	c.text(field, id, "the id of "+what, maxNameRunes, true)
}

func (c *checker) sap(field string, m quantity.Maybe) {
	c.maybe(field, m, func(v float64) bool { return v >= minShare && v <= MaxSAP },
		"a saponification value must be above 0 and at most 1000 mg KOH/g, such as 190.0")
}

func (c *checker) fats(f *Formula, strict bool) {
	if strict && len(f.Fats) == 0 {
		c.addf("fat", "The fat is missing: a formula has at least one fat, with its id and its share.")
	}
	if len(f.Fats) > MaxFats {
		c.addf("fat", "There are %d lines of fats: %d at most, so put those of one kind together.", len(f.Fats), MaxFats)
		return
	}
	sum, cooked, sound := 0.0, 0, true
	for i, x := range f.Fats {
		path := func(key string) string { return Path("fat", i, key) }
		c.id(path("id"), x.ID, "the fat, such as olive-oil")
		ok := x.Pct > 0 && x.Pct <= 100 || !strict && x.Pct == 0
		c.number(path("pct"), x.Pct, ok,
			"a fat's share must be above 0 and at most 100 % of the fats, such as 60.0; leave out the line of a fat that is not used")
		sound = sound && ok
		sum += x.Pct
		c.sap(path("sap_mg_koh_g"), x.SAP)
		switch {
		case x.SAPHalfWidth.Known && !x.SAP.Known:
			c.addf(path("sap_half_width"), "A tolerance needs its value: write the certificate's sap_mg_koh_g too, or leave this out.")
		case x.SAPHalfWidth.Known:
			c.maybe(path("sap_half_width"), x.SAPHalfWidth, func(v float64) bool { return v >= 0 && (v < x.SAP.V || !(x.SAP.V > 0)) },
				"the tolerance must be from 0 to below the value itself, in mg KOH/g, such as 1.0")
		}
		if x.Cooked {
			cooked++
			if f.Method == Cold {
				c.addf(path("cooked"), "Nothing is cooked in the cold method, so no fat goes in after the cook: write method hot, or leave this out.")
			}
		}
		for j, y := range f.Fats[:i] {
			if x.ID != "" && x.ID == y.ID && x.SAP == y.SAP && x.SAPHalfWidth == y.SAPHalfWidth && x.Cooked == y.Cooked {
				c.addf(path("id"), "The fat %s is in line %d already: put both shares on one line, or give each lot its own saponification value.", x.ID, j+1)
				break
			}
		}
	}
	if !strict || len(f.Fats) == 0 {
		return
	}
	if cooked == len(f.Fats) {
		c.addf("fat", "Every fat goes in after the cook, so nothing would saponify: leave at least one in the cook.")
	}
	if sound {
		c.sum("fat", "fats", sum)
	}
}

// sum checks that the shares of a list make 100 %.
func (c *checker) sum(field, what string, sum float64) {
	off := sum - 100
	if math.Abs(off) <= SumTolerancePct+1e-9 {
		return
	}
	side := "too much"
	if off < 0 {
		side = "short"
	}
	c.addf(field, "The shares of the %s sum to %s %%, %s %s: they must sum to 100 (± 0.01).", what, Plain(round(sum, 4)), Plain(round(math.Abs(off), 4)), side)
}

func (c *checker) extras(f *Formula, strict bool) {
	if len(f.Extras) > MaxExtras {
		c.addf("extra", "There are %d lines of extras: %d at most.", len(f.Extras), MaxExtras)
		return
	}
	liquid, sound := 0.0, true
	for i, x := range f.Extras {
		path := func(key string) string { return Path("extra", i, key) }
		c.id(path("id"), x.ID, "the extra, such as sea-salt")
		some := x.Dose > 0 || !strict && x.Dose == 0
		const none = "; leave out the line of an extra that is not used"
		switch x.Per {
		case PerKgFats:
			c.number(path("dose_g"), x.Dose, some && x.Dose <= maxDoseGPerKgFats,
				"a dose must be above 0 and at most 10 000 g per kg of fats, such as 20.0"+none)
		case PerKgBatter:
			c.number(path("dose_g"), x.Dose, some && x.Dose < 1000,
				"a dose must be above 0 and below 1000 g per kg of batter, itself included, such as 20.0"+none)
		case PerBatch:
			c.number(path("dose_g"), x.Dose, some && x.Dose <= MaxFatsG, "a dose must be above 0 and at most 10 000 000 g in the batch, such as 20.0"+none)
		case PerLiquid:
			c.number(path("dose_g"), x.Dose, some && x.Dose <= 100, "a share of the liquid must be above 0 and at most 100 %, such as 50"+none)
			liquid += x.Dose
			sound = sound && some && x.Dose <= 100
		default:
			c.addf(path("per"), "This is no basis for a dose: write kg-fats, kg-batter or batch.")
		}
		if x.Into > IntoCooked {
			c.addf(path("into"), "This is no place for an extra: write lye, fats, batter or cooked.")
		}
		if x.Into == IntoCooked && f.Method == Cold {
			c.addf(path("into"), "Nothing is cooked in the cold method, so nothing goes in after the cook: write method hot, or into batter.")
		}
		share := func(v float64) bool { return v >= 0 && v <= 100 }
		c.maybe(path("fat_pct"), x.FatPct, share, "the fat in an extra must be from 0 to 100 % of its mass, such as 60.0")
		c.maybe(path("water_pct"), x.WaterPct, share, "the water in an extra must be from 0 to 100 % of its mass, such as 2.0")
		if x.FatPct.Known && x.WaterPct.Known && share(x.FatPct.V) && share(x.WaterPct.V) && x.FatPct.V+x.WaterPct.V > 100+1e-9 {
			c.addf(path("water_pct"), "Fat and water come to %s %% of the extra: together they must be at most 100.", Plain(round(x.FatPct.V+x.WaterPct.V, 4)))
		}
		c.sap(path("sap_mg_koh_g"), x.SAP)
		c.typed("extra", i, "dose_g", x.Typed, x.Dose, x.Per == PerKgFats, x.Typed.GramsPerKgFats())
		for j, y := range f.Extras[:i] {
			x.Dose, y.Dose, x.Typed, y.Typed = 0, 0, Typed{}, Typed{}
			if x.ID != "" && x == y {
				c.addf(path("id"), "The extra %s is in line %d already, dosed in the same way: put both doses on one line.", x.ID, j+1)
				break
			}
		}
	}
	if sound && liquid > 100+1e-9 {
		c.addf("extra", "What takes the place of water comes to %s %% of the liquid: 100 at most.", Plain(round(liquid, 4)))
	}
}

// No substance on earth weighs 112 g in a teaspoon of 4.93 mL.
const (
	maxGramsPerTsp = 100
	teaspoonRule   = "A level teaspoon must weigh above 0 and at most 100 g: weigh ten of them and divide by ten."
)

// typed checks that a dose agrees with what was typed, to one part in a
// million. Both are kept, and a sheet prints both.
func (c *checker) typed(list string, i int, key string, t Typed, dose float64, onFats bool, want float64) {
	if t == (Typed{}) {
		return
	}
	path := Path(list, i, key)
	amount := t.Amount
	switch {
	case t.Unit > TeaspoonsPerPound:
		c.addf(Path(list, i, "unit"), "This is no unit of a dose: choose g, oz per lb, or teaspoons per lb.")
	case !quantity.Finite(amount) || amount < 0:
		c.number(path, amount, false, "a dose must be above 0")
	case t.Unit == Grams:
	case t.Unit == TeaspoonsPerPound && (list == "scent" || !(t.GramsPerTsp > 0) || t.GramsPerTsp > maxGramsPerTsp):
		c.addf(Path(list, i, "gtsp"), "%s", teaspoonRule)
	case !onFats:
		c.addf(Path(list, i, "per"), "Ounces and teaspoons per pound are counted on the fats: choose per kg of fats.")
	case math.Abs(want-dose) > 1e-6*math.Max(math.Abs(want), math.Abs(dose)):
		c.addf(path, "The dose as typed comes to %s, but %s is kept beside it: type it again.", Plain(want), Plain(dose))
	}
}

func (c *checker) scents(f *Formula, strict bool) {
	if len(f.Scents) > MaxScents {
		c.addf("scent", "There are %d lines of scents: %d at most.", len(f.Scents), MaxScents)
		return
	}
	for i, s := range f.Scents {
		path := func(key string) string { return Path("scent", i, key) }
		c.text(path("name"), s.Name, "the name of the scent", maxNameRunes, true)
		const rule = "a scent's dose must be above 0 and at most 100 %, such as 3.0; leave out the line of a scent that is not used"
		c.number(path("dose_pct"), s.DosePct, (s.DosePct > 0 || !strict && s.DosePct == 0) && s.DosePct <= 100, rule)
		if s.Of > OfBar {
			c.addf(path("of"), "This is no basis for a scent: write fats, batter or bar.")
		}
		c.maybe(path("limit_pct"), s.LimitPct, func(v float64) bool { return v >= 0 && v <= 100 },
			"the certificate's limit must be from 0 to 100 % of the finished product, such as 6.2")
		c.text(path("category"), s.Category, "the certificate's category", maxNameRunes, false)
		c.text(path("dated"), s.Dated, "the certificate's date", maxNameRunes, false)
		c.stated(i, s.Constituents)
		c.typed("scent", i, "dose_pct", s.Typed, s.DosePct, s.Of == OfFats, s.Typed.PctOfFats())
	}
}

// batterShares refuses doses on the batter and on the bar that leave no room
// for the batter itself. The cured bar is never heavier than the batter, so a
// share of the bar is at most the same share of the batter.
func (c *checker) batterShares(f *Formula) {
	sum, field := 0.0, ""
	for i, x := range f.Extras {
		if x.Per == PerKgBatter && x.Dose > 0 {
			sum += x.Dose / 10
			field = Path("extra", i, "dose_g")
		}
	}
	for i, s := range f.Scents {
		if (s.Of == OfBatter || s.Of == OfBar) && s.DosePct > 0 {
			sum += s.DosePct
			field = Path("scent", i, "dose_pct")
		}
	}
	// Above 99 % the batter would weigh a hundred times its fats, which must be
	// a mistake.
	if sum > 99 && !slices.ContainsFunc(c.faults, func(e *fault.Error) bool { return e.Field == field }) {
		c.addf(field, "All that is dosed on the batter and on the bar comes to %s %% of it, which leaves no batter: it must stay below 99.",
			Plain(round(sum, 4)))
	}
}

// Plain writes a number so that a maker can type it again: the shortest decimal
// that reads back as the same value, without an exponent unless it is very
// large or very small.
func Plain(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-9 || a >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func round(v float64, places int) float64 {
	p := math.Pow10(places)
	return math.Round(v*p) / p
}
