package formula

import (
	"math"
	"strconv"
	"strings"

	"barwright/internal/words"
	"barwright/quantity"
)

// Faces are the units in which masses, volumes and temperatures are typed and
// shown. The zero Faces are grams, millilitres and degrees Celsius.
type Faces struct {
	Mass   quantity.MassUnit
	Temp   quantity.TempUnit
	Volume quantity.VolumeUnit
}

// Change is one thing that differs between two versions.
type Change struct {
	Field string // key path of Validate in the later version; in the earlier one for a line that was removed
	ID    string // the line's ingredient, or the scent's name; "" for what concerns the whole formula
	Label string // what changed, in the maker's words, such as "Superfat" or "Share of the fats"
	// Before and After are the two values with their units. Before is "" for a
	// line that was added, and After is "" for a line that was removed.
	Before, After string
}

// Diff returns what changed from a to b, in the order of the form. Lines are
// matched by ingredient, so a new order is not a change. The same dose typed in
// another unit is not a change either. Masses, volumes and temperatures are
// shown in faces. name gives the name of an ingredient by its id, for colours
// inside a text; with nil the ids stand there.
func Diff(a, b *Formula, faces Faces, name func(id string) string) []Change {
	if name == nil {
		name = byID
	}
	d := &differ{faces: faces, name: name}
	d.words("name", "", "Name", a.Name, b.Name)
	d.words("method", "", "Method", methodSaid(a.Method), methodSaid(b.Method))
	d.words("superfat", "", "Superfat", pct(a.SuperfatPct), pct(b.SuperfatPct))
	if a.Water != b.Water {
		d.words("water", "", "Water", a.Water.Words(), b.Water.Words())
	}
	if !near(a.FatsG, b.FatsG) {
		label := "Fats in all"
		if b.Method == Melt {
			label = "Base in all"
		}
		d.words("fats_g", "", label, d.mass(a.FatsG), d.mass(b.FatsG))
	}
	d.words("cure_water_loss_pct", "", "Water lost when sold", maybePct(a.CureWaterLossPct), maybePct(b.CureWaterLossPct))
	d.words("pour_c", "", "Pour temperature", d.temp(a.PourC), d.temp(b.PourC))
	d.words("cook_loss_pct", "", "Water lost in the cook", maybePct(a.CookLossPct), maybePct(b.CookLossPct))
	d.words("measured_density_g_ml", "", "Density measured", densitySaid(a.DensityGML), densitySaid(b.DensityGML))
	d.words("stage", "", "Thickness when used", said(a.Stage.Words()), said(b.Stage.Words()))
	d.words("melting.melt_c", "", "Melted at", d.temp(a.Melting.MeltC), d.temp(b.Melting.MeltC))
	d.words("melting.remelts", "", "Melted before", times(a.Melting.Remelts), times(b.Melting.Remelts))
	d.words("melting.evaporation_pct", "", "Evaporated while molten", maybePct(a.Melting.EvaporationPct), maybePct(b.Melting.EvaporationPct))
	d.words("alkali.koh_mol_pct", "", "KOH in the alkali", molPct(a.Alkali.KOHMolPct), molPct(b.Alkali.KOHMolPct))
	d.words("alkali.naoh_purity_pct", "", "Purity of the NaOH", maybePct(a.Alkali.NaOHPurityPct), maybePct(b.Alkali.NaOHPurityPct))
	d.words("alkali.koh_purity_pct", "", "Purity of the KOH", maybePct(a.Alkali.KOHPurityPct), maybePct(b.Alkali.KOHPurityPct))
	d.words("alkali.purity_half_width_pct", "", "Tolerance of the purity", "± "+pct(a.Alkali.PurityHalfWidthPct), "± "+pct(b.Alkali.PurityHalfWidthPct))
	d.words("alkali.naoh_solution_pct", "", "Strength of the NaOH solution", maybePct(a.Alkali.NaOHSolutionPct), maybePct(b.Alkali.NaOHSolutionPct))
	d.words("alkali.koh_solution_pct", "", "Strength of the KOH solution", maybePct(a.Alkali.KOHSolutionPct), maybePct(b.Alkali.KOHSolutionPct))
	if a.ScaleDivisionG != b.ScaleDivisionG {
		d.words("scale.division_g", "", "Division of the scale", d.maybeMass(a.ScaleDivisionG), d.maybeMass(b.ScaleDivisionG))
	}

	lines(d, "fat", "id", "Fat", a.Fats, b.Fats, func(x *Fat) string { return x.ID }, fatSaid,
		func(x, y *Fat) int { return score(x.ID == y.ID, x.Cooked == y.Cooked, x.SAP == y.SAP) },
		func(say say, x, y *Fat) {
			if !near(x.Pct, y.Pct) {
				say("pct", "Share of the fats", pct(x.Pct), pct(y.Pct))
			}
			say("sap_mg_koh_g", "Saponification value", sapSaid(x), sapSaid(y))
			say("cooked", "Goes in", cookedSaid(x.Cooked), cookedSaid(y.Cooked))
		})
	lines(d, "extra", "id", "Extra", a.Extras, b.Extras, func(x *Extra) string { return x.ID },
		func(x *Extra) string { return x.Said(d.faces) + " into " + intoSaid(x.Into) },
		func(x, y *Extra) int { return score(x.ID == y.ID, x.Into == y.Into, x.Per == y.Per) },
		func(say say, x, y *Extra) {
			if x.Per != y.Per || !near(x.Dose, y.Dose) {
				say("dose_g", "Dose", x.Said(d.faces), y.Said(d.faces))
			}
			say("into", "Goes into", intoSaid(x.Into), intoSaid(y.Into))
			say("fat_pct", "Fat in it", fromCatalogue(x.FatPct, "%"), fromCatalogue(y.FatPct, "%"))
			say("water_pct", "Water in it", fromCatalogue(x.WaterPct, "%"), fromCatalogue(y.WaterPct, "%"))
			say("sap_mg_koh_g", "Saponification value of its fat", fromCatalogue(x.SAP, "mg KOH/g"), fromCatalogue(y.SAP, "mg KOH/g"))
		})
	lines(d, "scent", "name", "Scent", a.Scents, b.Scents, func(x *Scent) string { return x.Name }, scentSaid,
		func(x, y *Scent) int { return score(x.Name == y.Name, x.Of == y.Of, x.LimitPct == y.LimitPct) },
		func(say say, x, y *Scent) {
			if x.Of != y.Of || !near(x.DosePct, y.DosePct) {
				say("dose_pct", "Dose", scentSaid(x), scentSaid(y))
			}
			say("limit_pct", "Limit in the bar", maybePct(x.LimitPct), maybePct(y.LimitPct))
			say("category", "Category of its certificate", said(x.Category), said(y.Category))
			say("dated", "Date of its certificate", said(x.Dated), said(y.Dated))
			say("stated", "What its certificate states", said(statedSaid(x.Constituents)), said(statedSaid(y.Constituents)))
		})
	d.bases(a.Bases, b.Bases)
	d.portions(a.Portions, b.Portions)
	d.words("liquid.ice_pct", "", "Water weighed as ice", pct(a.Liquid.IcePct), pct(b.Liquid.IcePct))
	d.words("liquid.later_pct", "", "Water kept back from the lye", pct(a.Liquid.LaterPct), pct(b.Liquid.LaterPct))
	d.words("liquid.peak_c", "", "Peak wanted in the lye", d.temp(a.Liquid.PeakC), d.temp(b.Liquid.PeakC))
	d.words("notes", "", "Notes", said(a.Notes), said(b.Notes))
	return d.changes
}

// byID calls an ingredient by its id.
func byID(id string) string { return id }

type differ struct {
	faces   Faces
	name    func(id string) string
	changes []Change
}

func (d *differ) line(field, id, label, before, after string) {
	d.changes = append(d.changes, Change{Field: field, ID: id, Label: label, Before: before, After: after})
}

// words adds a change unless both sides read the same.
func (d *differ) words(field, id, label, before, after string) {
	if before != after {
		d.line(field, id, label, before, after)
	}
}

// near reports whether two numbers differ by no more than a change of units and
// back may cause.
func near(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-8*math.Max(math.Abs(a), math.Abs(b))
}

func score(same bool, more ...bool) int {
	if !same {
		return 0
	}
	n := 1
	for _, m := range more {
		n *= 2
		if m {
			n++
		}
	}
	return n
}

// say says how one thing of a line differs, by its key, unless both sides read the
// same.
type say func(key, label, before, after string)

// lines says how the lines of a list differ: those that are only in b, added; what
// changed in those that are in both; those that are only in a, removed. id is a
// line's ingredient or name, which stands under key; whole is all of the line in
// words.
func lines[T any](d *differ, list, key, label string, a, b []T, id, whole func(x *T) string, like func(x, y *T) int,
	both func(say say, x, y *T)) {
	from, gone := words.Pair(a, b, 7, like)
	for j, i := range from {
		if i < 0 {
			d.line(Path(list, j, key), id(&b[j]), label, "", whole(&b[j]))
			continue
		}
		both(func(key, label, before, after string) { d.words(Path(list, j, key), id(&b[j]), label, before, after) }, &a[i], &b[j])
	}
	for _, i := range gone {
		d.line(Path(list, i, key), id(&a[i]), label, whole(&a[i]), "")
	}
}

const notGiven = "not given"

// shown writes a number for a sentence, with at most four decimals.
func shown(v float64) string {
	if r := round(v, 4); r != 0 || v == 0 {
		v = r
	}
	return Plain(v)
}

func pct(v float64) string { return shown(v) + quantity.UnitSpace + "%" }
func molPct(v float64) string {
	return shown(v) + quantity.UnitSpace + "mol" + quantity.UnitSpace + "%"
}

func maybePct(m quantity.Maybe) string {
	if !m.Known {
		return notGiven
	}
	return pct(m.V)
}

func fromCatalogue(m quantity.Maybe, unit string) string {
	if !m.Known {
		return "from the catalogue"
	}
	return shown(m.V) + quantity.UnitSpace + unit
}

func said(s string) string {
	if strings.TrimSpace(s) == "" {
		return notGiven
	}
	return s
}

func methodSaid(m Method) string {
	if m == MethodUnset {
		return notGiven
	}
	return m.String()
}

func (d *differ) mass(g float64) string { return massText(g, d.faces.Mass, 6) }

func (d *differ) maybeMass(m quantity.Maybe) string {
	if !m.Known {
		return notGiven
	}
	return d.mass(m.V)
}

func (d *differ) temp(m quantity.Maybe) string {
	if !m.Known {
		return notGiven
	}
	return quantity.Temp(m.V, d.faces.Temp, 0)
}

func cookedSaid(cooked bool) string {
	if cooked {
		return "after the cook"
	}
	return "before the lye"
}

func intoSaid(n Into) string {
	switch n {
	case IntoLye:
		return "the lye"
	case IntoFats:
		return "the fats"
	case IntoCooked:
		return "the batter, after the cook"
	default:
		return "the batter"
	}
}

func sapSaid(x *Fat) string {
	s := fromCatalogue(x.SAP, "mg KOH/g")
	if x.SAP.Known && x.SAPHalfWidth.Known {
		s = shown(x.SAP.V) + " ± " + shown(x.SAPHalfWidth.V) + quantity.UnitSpace + "mg KOH/g"
	}
	return s
}

func fatSaid(x *Fat) string {
	s := pct(x.Pct)
	if x.SAP.Known {
		s += ", " + sapSaid(x)
	}
	if x.Cooked {
		s += ", " + cookedSaid(true)
	}
	return s
}

func scentSaid(s *Scent) string {
	if s.Typed.Unit != Grams {
		return typedWords(s.Typed)
	}
	of := "the fats"
	switch s.Of {
	case OfBatter:
		of = "the batter"
	case OfBar:
		of = "the cured bar"
	}
	return pct(s.DosePct) + " of " + of
}

// Said is the dose in the maker's words: in the unit in which it was typed, or
// in g per kg. A dose per batch is in the mass unit of faces.
func (x *Extra) Said(faces Faces) string {
	if x.Typed.Unit != Grams {
		return typedWords(x.Typed)
	}
	switch x.Per {
	case PerKgBatter:
		return shown(x.Dose) + quantity.UnitSpace + "g per kg of batter"
	case PerBatch:
		return massText(x.Dose, faces.Mass, 6) + " per batch"
	case PerLiquid:
		return pct(x.Dose) + " of the liquid"
	default:
		return shown(x.Dose) + quantity.UnitSpace + "g per kg of fats"
	}
}

// Words is the water in the maker's words, such as "33 % lye", "2 to 1 water to
// alkali", "38 % of fats" or "10 % less than 38 % of fats".
func (w Water) Words() string {
	switch w.Rule {
	case ByConcentration:
		return pct(w.Value) + " lye"
	case ByRatio:
		return shown(w.Value) + " to 1 water to alkali"
	case ByFats:
		return pct(w.Value) + " of fats"
	default:
		return pct(w.Value) + " less than " + pct(w.FullPct) + " of fats"
	}
}

func typedWords(t Typed) string {
	switch t.Unit {
	case OuncesPerPound:
		return shown(t.Amount) + " oz per lb of fats"
	case TeaspoonsPerPound:
		how := "assumed"
		if t.Measured {
			how = "measured"
		}
		return shown(t.Amount) + " tsp per lb of fats, a level teaspoon " + how + " as " + shown(t.GramsPerTsp) + " g"
	default:
		return shown(t.Amount) + " g per kg of fats"
	}
}

// massText writes a mass with its unit, as quantity.ParseMass reads it, with at
// most that many figures.
func massText(g float64, unit quantity.MassUnit, figures int) string {
	oz := figure(g/quantity.GramsPerOunce, figures)
	switch {
	case unit == quantity.Gram:
		return figure(g, figures) + quantity.UnitSpace + "g"
	case unit == quantity.Ounce || math.Abs(g) < quantity.GramsPerPound || !quantity.Finite(g):
		return oz + quantity.UnitSpace + "oz"
	}
	// The whole pounds are taken from the rounded mass, so that it is never
	// 1 lb 16 oz.
	all, err := strconv.ParseFloat(oz, 64)
	if err != nil {
		return oz + quantity.UnitSpace + "oz"
	}
	lb := math.Trunc(all / 16)
	whole := len(strconv.FormatFloat(math.Trunc(math.Abs(all)), 'f', 0, 64))
	rest := inFull(round(math.Abs(all-16*lb), max(figures-whole, 0)))
	if rest == "0" {
		return Plain(lb) + quantity.UnitSpace + "lb"
	}
	return Plain(lb) + quantity.UnitSpace + "lb " + rest + quantity.UnitSpace + "oz"
}

// inFull writes a number in full, without a power of ten, with at most 40
// decimals.
func inFull(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if len(s) > 60 {
		s = strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 40, 64), "0"), ".")
	}
	return s
}

// figure writes v in full with at most that many significant figures.
func figure(v float64, figures int) string {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', figures, 64), 64)
	if err != nil {
		return inFull(v)
	}
	return inFull(r)
}
