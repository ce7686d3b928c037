package formulas

import (
	"cmp"
	"errors"
	"slices"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/mould"
	"barwright/quantity"
)

// choices are what the fields of the editor choose from.
type choices struct {
	faces               form.Faces
	fats, extras, mould *form.List
	rows                int // of fats or bases, at least
}

// listOf are ingredients to choose from. Any other of the catalogue is read too, for
// the rules say what is wrong with it.
func listOf(cat *catalogue.Catalogue, id, noun string, list []*catalogue.Ingredient) *form.List {
	options := make([]shell.Option, len(list))
	for i, in := range list {
		options[i] = shell.Option{Value: in.ID, Label: in.Name}
		if in.Own {
			options[i].Label += " (own)"
		}
	}
	l := form.NewList(id, noun, options)
	l.Find = func(id string) (string, error) {
		in, err := cat.Named(id)
		if err != nil || in.ID != id {
			return "", errors.Join(err, fault.NotFoundf("", "There is no %s called “%s”.", noun, id))
		}
		return in.Name, nil
	}
	return l
}

var (
	methods = []form.Case[formula.Method]{
		{Is: formula.Cold, Word: formula.Cold.String(), Label: "Cold process", Hint: "saponifies in the mould"},
		{Is: formula.Hot, Word: formula.Hot.String(), Label: "Hot process", Hint: "cooked, then moulded"},
		{Is: formula.Melt, Word: formula.Melt.String(), Label: "Melt-and-pour", Hint: "ready-made base, melted"},
	}
	typedBy = []form.Case[bool]{{Is: false, Word: "share", Label: "share"}, {Is: true, Word: "weight", Label: "weight"}}
	stages  = form.Stages("as it comes")
)

// methodOf is the method whose fields stand on the page: cold while none is chosen.
func methodOf(x *formula.Formula) formula.Method { return cmp.Or(x.Method, formula.Cold) }

// ofWord is what a dose 'of fats' is of: the base, in a melt.
func ofWord(m formula.Method) string {
	if m == formula.Melt {
		return "base"
	}
	return "fats"
}

// bind binds the editor's form to a formula. What only another method has is not
// bound: the form carries along what was typed for it, unseen, so that choosing back
// and forth loses nothing.
func (c choices) bind(f *form.Form, x *formula.Formula) {
	f.Text("name", &x.Name, form.Label("Name"), form.Wide)
	form.Choose(f, "method", &x.Method, methods, form.Label("Method"), form.Radio)
	form.Choose(f, "by", &x.ByWeight, typedBy, form.Label("Typed by"))
	m := methodOf(x)
	if m == formula.Melt {
		weighed(f, x, &x.Bases, func(b *formula.Base) *float64 { return &b.Pct }, bindBase, "Base", c.rows)
	} else {
		weighed(f, x, &x.Fats, func(b *formula.Fat) *float64 { return &b.Pct }, c.bindFat(m), "Fat", c.rows)
	}
	if x.ByWeight {
		f.Known("fats_g")
	} else {
		f.Number("fats_g", &x.FatsG, form.Mass, form.Label(shell.Upper(ofWord(m))+" in all"), form.Beside)
	}
	f.Maybe("scale.division_g", &x.ScaleDivisionG, form.SmallMass, form.Label("Smallest step of the scale"))
	if m == formula.Melt {
		f.Maybe("melting.melt_c", &x.Melting.MeltC, form.Temp, form.Label("Melt at"))
		f.Maybe("pour_c", &x.PourC, form.Temp, form.Label("Pour at"))
		f.Count("melting.remelts", &x.Melting.Remelts, form.Empty(0), form.Label("Melted before"), form.Unit("times"))
		f.Maybe("melting.evaporation_pct", &x.Melting.EvaporationPct, form.Percent, form.Label("Lost while molten"),
			form.Hint("as weighed, before and after"))
	} else {
		bindLye(f, x)
		f.Maybe("pour_c", &x.PourC, form.Temp, form.Label("Poured at"), form.Hint("for the volume; 40 °C when left empty"))
		f.Maybe("cure_water_loss_pct", &x.CureWaterLossPct, form.Percent, form.Label("Water gone when sold"),
			form.Hint("of all water; 60 % when left empty"))
	}
	if m == formula.Hot {
		f.Maybe("cook_loss_pct", &x.CookLossPct, form.Percent, form.Label("Of all the water, gone in the cook"),
			form.Hint("weigh the pot before and after; none when left empty"))
	}
	form.Rows(f, "extra", &x.Extras, c.bindExtra(m), form.Each("Extra"), form.LedTo("extras-title"), form.Called("doses"))
	form.Rows(f, "scent", &x.Scents, bindScent(m), form.Each("Scent"), form.LedTo("scents-title"))
	form.Rows(f, "portion", &x.Portions, c.bindPortion, form.Each("Portion"), form.LedTo("portions-title"))
	form.Choose(f, "stage", &x.Stage, stages, form.Label("Used at"), form.Hint("thick trace to pipe, dough to knead"))
	f.Maybe("measured_density_g_ml", &x.DensityGML, form.Plain, form.Label("Density, of a pot measured"), form.Unit("g/ml"),
		form.Hint("a jug of it: mass over volume"))
	f.Prose("notes", &x.Notes, form.Label("Notes"), form.Height(3))
}

// weighed binds the rows that share the mass of the batch, by share or by weight.
// While they are typed by weight, pct holds the weights: the shares and the mass of
// all follow from them.
func weighed[T any](f *form.Form, x *formula.Formula, rows *[]T, pct func(*T) *float64, bind func(*form.Form, *T), noun string, least int) {
	list := strings.ToLower(noun)
	opts := []form.RowOption{form.Each(noun), form.AtLeast(least), form.LedTo("fats-title")}
	if x.ByWeight {
		opts = append(opts, form.Called("fats_g"))
		if f.Writing() {
			own := slices.Clone(*rows)
			for i := range own {
				p := pct(&own[i])
				*p = form.Rounded(*p * x.FatsG / 100)
			}
			rows = &own
		}
	}
	form.Rows(f, list, rows, func(f *form.Form, row *T) {
		bind(f, row)
		if !x.ByWeight {
			f.Number("pct", pct(row), form.Percent, form.Label("share"), form.Ledger)
			return
		}
		f.Number("g", pct(row), form.Mass, form.Label("weight"), form.Ledger, form.Answers("pct"),
			form.Between(0, formula.MaxFatsG, "The weight of a "+list+" must be above 0, and at most 10 tonnes: "+
				"leave out the row of a "+list+" that is not used."))
	}, opts...)
	if f.Writing() || !x.ByWeight {
		return
	}
	x.FatsG = 0
	for i := range *rows {
		x.FatsG += *pct(&(*rows)[i])
	}
	if !(x.FatsG > 0) {
		x.FatsG = 0
		if !slices.ContainsFunc(f.Rows(list), func(r *form.Form) bool { return r.Bad("g") }) {
			f.Refuse(list, fault.Invalidf("", "No %s is weighed in yet: write the weight of at least one.", list))
		}
		return
	}
	for i := range *rows {
		p := pct(&(*rows)[i])
		*p = min(100**p/x.FatsG, 100) // 100·g/g may be slightly over 100
	}
}

func (c choices) bindFat(m formula.Method) func(f *form.Form, x *formula.Fat) {
	return func(f *form.Form, x *formula.Fat) {
		f.Pick("id", &x.ID, c.fats, form.Label("Fat "+f.Num()), form.Ledger, form.Wide)
		f.Maybe("sap_mg_koh_g", &x.SAP, form.Plain, form.Label("SAP, mg KOH/g"), form.Shades("sap_half_width"))
		f.Maybe("sap_half_width", &x.SAPHalfWidth, form.Plain, form.Label("give or take"))
		if m == formula.Hot {
			f.Tick("cooked", &x.Cooked, form.Label("stirred in after the cook"))
		}
	}
}

func bindBase(f *form.Form, x *formula.Base) {
	f.Text("name", &x.Name, form.Label("Base "+f.Num()), form.Wide)
	f.Maybe("max_melt_c", &x.MaxMeltC, form.Temp, form.Label("melt no hotter than"))
	f.Maybe("max_pour_c", &x.MaxPourC, form.Temp, form.Label("pour no hotter than"))
	f.Maybe("softens_c", &x.SoftensC, form.Temp, form.Label("begins to soften at"))
	f.Maybe("density_g_ml", &x.DensityGML, form.Plain, form.Label("density, molten"), form.Unit("g/ml"), form.Hint("assumed when left empty"))
	form.Parsed(f, "inci", &x.INCI, func(s string) (string, error) { return strings.Join(strings.Fields(s), " "), nil }, func(s string) string { return s },
		form.Label("declared as"), form.Hint("its supplier’s INCI names, with commas between them"), form.Wide)
}

func bindLye(f *form.Form, x *formula.Formula) {
	f.Number("superfat", &x.SuperfatPct, form.Percent, form.Label("Superfat"))
	form.Parsed(f, "water", &x.Water, formula.ParseWater, func(w formula.Water) string {
		if w == (formula.Water{}) {
			return ""
		}
		return w.String()
	}, form.Label("Water"), form.Hint("33 % lye, 2 to 1, 38 % of fats, or 10 % off 38 % of fats"), form.Answers("lye_concentration"))
	a, l := &x.Alkali, &x.Liquid
	f.Maybe("alkali.naoh_purity_pct", &a.NaOHPurityPct, form.Percent, form.Label("Sodium hydroxide, purity"), form.Hint("of the lot"))
	f.Number("alkali.purity_half_width_pct", &a.PurityHalfWidthPct, form.Percent, form.Empty(0), form.Label("Purity, give or take"),
		form.Hint("of both alkalis"))
	f.Number("alkali.koh_mol_pct", &a.KOHMolPct, form.Percent, form.Empty(0), form.Unit("mol %"), form.Label("Part of the alkali as KOH"),
		form.Hint("none for a hard bar"))
	f.Maybe("alkali.koh_purity_pct", &a.KOHPurityPct, form.Percent, form.Label("Potassium hydroxide, purity"), form.Hint("of the lot"))
	f.Maybe("alkali.naoh_solution_pct", &a.NaOHSolutionPct, form.Percent, form.Label("Ready-mixed NaOH solution"),
		form.Hint("strength by mass, where the lye comes mixed"))
	f.Maybe("alkali.koh_solution_pct", &a.KOHSolutionPct, form.Percent, form.Label("Ready-mixed KOH solution"), form.Hint("strength by mass"))
	f.Number("liquid.ice_pct", &l.IcePct, form.Percent, form.Empty(0), form.Label("Of the water, as ice"))
	f.Maybe("liquid.peak_c", &l.PeakC, form.Temp, form.Label("Or ice to keep the lye below"), form.Hint("the ice is worked out"))
	f.Number("liquid.later_pct", &l.LaterPct, form.Percent, form.Empty(0), form.Label("Of the water, kept back"),
		form.Hint("it goes into the batter, not the lye"))
}

// doseUnits are the units in which a dose can be typed.
func doseUnits(plain string, m formula.Method, more ...form.Case[formula.DoseUnit]) []form.Case[formula.DoseUnit] {
	return append([]form.Case[formula.DoseUnit]{form.Is(formula.Grams, plain), form.Is(formula.OuncesPerPound, "oz per lb of "+ofWord(m))}, more...)
}

func (c choices) bindExtra(m formula.Method) func(f *form.Form, x *formula.Extra) {
	units := doseUnits("g", m, form.Is(formula.TeaspoonsPerPound, "tsp per lb of "+ofWord(m)))
	per := []form.Case[formula.Per]{form.Is(formula.PerKgFats, "per kg of "+ofWord(m)), form.Is(formula.PerKgBatter, "per kg of batter"),
		form.Is(formula.PerBatch, "in the batch")}
	places := []form.Case[formula.Into]{form.Is(formula.IntoBatter, "into the batter"),
		form.Is(formula.IntoLye, "into the lye"), form.Is(formula.IntoFats, "into the fats")}
	cooked := form.Is(formula.IntoCooked, "after the cook")
	if m != formula.Melt {
		per = append(per, form.Is(formula.PerLiquid, "% of the liquid"))
	}
	return func(f *form.Form, x *formula.Extra) {
		f.Pick("id", &x.ID, c.extras, form.Label("Extra "+f.Num()), form.Ledger, form.Wide)
		unit, dose, spoon := x.Typed.Unit, x.Dose, quantity.Maybe{V: x.Typed.GramsPerTsp, Known: x.Typed.Measured}
		if unit != formula.Grams {
			dose = x.Typed.Amount
		}
		form.Choose(f, "unit", &unit, units, form.Label("in"))
		form.Choose(f, "per", &x.Per, per, form.Label("counted"))
		if m != formula.Melt {
			into := places
			// Where nothing is cooked it is offered only where it was chosen: the page says what is wrong with it.
			if m == formula.Hot || x.Into == formula.IntoCooked || f.Typed("into") == cooked.Word {
				into = append(slices.Clip(places), cooked)
			}
			form.Choose(f, "into", &x.Into, into, form.Label("goes in"))
		}
		in := form.Plain
		switch {
		case unit != formula.Grams:
		case x.Per == formula.PerBatch:
			in = form.SmallMass
		case x.Per == formula.PerLiquid:
			in = form.Percent
		}
		f.Number("dose_g", &dose, in.As(""), form.Label("dose"), form.Ledger)
		f.Maybe("gtsp", &spoon, form.Plain, form.Label("g in a level teaspoon, measured"), form.Shades("dose_g"), form.Only(func() error {
			switch {
			case unit != formula.TeaspoonsPerPound:
				return nil
			case spoon.Known:
				return formula.CheckTeaspoon(spoon.V)
			}
			known, _ := c.faces.Cat.Get(x.ID)
			if spoon.V = formula.AssumedTeaspoon(known); spoon.V == 0 {
				return fault.Invalidf("", "Nobody knows what a teaspoon of this weighs: weigh ten level ones, divide by ten, and write it here in g.")
			}
			return nil
		}))
		f.Maybe("fat_pct", &x.FatPct, form.Percent, form.Label("fat in it"))
		f.Maybe("water_pct", &x.WaterPct, form.Percent, form.Label("water in it"))
		f.Maybe("sap_mg_koh_g", &x.SAP, form.Plain, form.Label("SAP of that fat"))
		switch {
		case f.Writing():
		case unit == formula.Grams:
			x.Dose = dose
		case !f.Bad("dose_g") && !f.Bad("gtsp"):
			t := formula.Typed{Unit: unit, Amount: dose}
			if unit == formula.TeaspoonsPerPound {
				t.GramsPerTsp, t.Measured = spoon.V, spoon.Known
			}
			per := x.Per
			x.SetTyped(t)
			x.Per = per // the rules say so where it is not the fats
		}
	}
}

func bindScent(m formula.Method) func(f *form.Form, x *formula.Scent) {
	units := doseUnits("%", m) // the dose of a scent is a percentage where an extra's is a mass
	of := []form.Case[formula.Of]{form.Is(formula.OfFats, "of the "+ofWord(m)), form.Is(formula.OfBatter, "of the batter"), form.Is(formula.OfBar,
		"of the bar")}
	return func(f *form.Form, x *formula.Scent) {
		f.Text("name", &x.Name, form.Label("Scent "+f.Num()), form.Wide)
		unit, dose, in := x.Typed.Unit, x.DosePct, form.Percent
		form.Choose(f, "unit", &unit, units, form.Label("in"))
		form.Choose(f, "of", &x.Of, of, form.Label("share"), form.Answers("per"))
		if unit != formula.Grams {
			dose, in = x.Typed.Amount, form.Plain
		}
		f.Number("dose_pct", &dose, in.As(""), form.Label("dose"), form.Ledger)
		f.Maybe("limit_pct", &x.LimitPct, form.Percent, form.Label("limit, of the finished bar"))
		f.Text("category", &x.Category, form.Label("category"))
		f.Text("dated", &x.Dated, form.Label("dated"))
		form.Entries(f, "stated", &x.Constituents, formula.ParseConstituent, formula.Constituent.Line,
			form.Label("what it states is in it"), form.Hint("one to a line, with its % of the scent: Linalool 12.5"), form.Height(3))
		switch {
		case f.Writing():
		case unit == formula.Grams:
			x.DosePct = dose
		case !f.Bad("dose_pct"):
			of := x.Of
			x.SetTyped(formula.Typed{Unit: unit, Amount: dose})
			x.Of = of // the rules say so where it is not the fats
		}
	}
}

func (c choices) bindPortion(f *form.Form, x *formula.Portion) {
	set := c.faces.Set
	f.Text("name", &x.Name, form.Label("Portion "+f.Num()), form.Wide)
	form.Choose(f, "by", &x.By, []form.Case[formula.PortionBy]{form.Is(formula.ByShare, "% of the batter"),
		form.Is(formula.ByVolume, "volume, "+set.Volume.String()),
		form.Is(formula.ByMass, "mass, "+form.MassUnit(set.Mass)), form.Is(formula.ByRest, "what is left")}, form.Label("sized by"), form.Shades("amount"))
	amount := []form.Option{form.Label("amount"), form.Ledger}
	in := map[formula.PortionBy]form.Measure{formula.ByShare: form.Percent, formula.ByVolume: form.Volume, formula.ByMass: form.Mass}[x.By]
	if x.By == formula.ByRest || f.Bad("by") { // it is not known what the amount is of
		none := f.Typed("amount")
		f.Text("amount", &none, append(amount, form.Narrow)...)
	} else {
		f.Number("amount", &x.Amount, in.As(""), amount...)
	}
	form.Choose(f, "stage", &x.Stage, stages, form.Label("used at"))
	form.Entries(f, "colours", &x.Colourants, func(line string) (formula.Colour, error) { return formula.ParseColour(line, c.faces.Cat) },
		func(x formula.Colour) string { return x.Line(c.faces.Cat) },
		form.Label("colourants"), form.Hint("one to a line, with its dose: Titanium dioxide 6 g/kg, or 2 tsp/lb"), form.Height(2))
}

// size is what a batch is sized to.
type size struct {
	By    string // fats, batter, mould, or a shape that is measured here and now
	MassG float64
	Mould string // its id
	Shape mould.Mould
	Count int // of pieces
	Fill  mould.Fill
}

// bindSize binds the fields that the way of sizing asks for. They are no part of the
// formula, so they are a form of their own.
func (c choices) bindSize(f *form.Form, z *size) {
	f.Known("size.shown")
	z.By = "fats"
	cases := []form.Case[string]{{Is: "fats", Word: "fats", Label: "a mass of fats or base"}, {Is: "batter", Word: "batter", Label: "a mass of batter"},
		{Is: "mould", Word: "mould", Label: "a mould of the studio"}}
	shapes := map[string]mould.Shape{}
	var measures []string
	for _, shape := range mould.Shapes() {
		if shape != mould.Measured {
			cases = append(cases, form.Case[string]{Is: shape.String(), Word: shape.String(), Label: "a " + shape.Words() + ", by its inside"})
			shapes[shape.String()] = shape
			measures = append(measures, shape.Fields()...)
		}
	}
	form.Choose(f, "size.by", &z.By, cases, form.Label("Size it to"), form.Wide)
	switch z.By {
	case "fats", "batter":
		f.Number("size.amount", &z.MassG, form.Mass, form.Label("mass"), form.Between(1e-9, 1e15, "The mass must be above 0."))
		return
	case "mould":
		f.Pick("size.mould", &z.Mould, c.mould, form.Label("mould"), form.Answers(append(measures, "shape", "water_g", "water_c")...),
			form.Needed("Choose the mould that the batch is for, or measure one under Moulds first."))
	default:
		z.Shape = mould.Mould{Shape: shapes[z.By], Cavities: 1, Sets: 1}
		for _, name := range z.Shape.Shape.Fields() {
			f.Maybe("size."+name, z.Shape.Field(name), form.Length, form.Label(mould.FieldWords(name)), form.Answers(name))
		}
	}
	f.Count("size.pieces", &z.Count, form.Empty(0), form.Label("pieces"), form.Answers("pieces"))
	f.Number("size.fill", &z.Fill.Pct, form.Percent, form.Empty(100), form.Label("filled to"),
		form.Hint("100 when left empty"), form.Answers("fill_pct"))
	f.Number("size.over", &z.Fill.OveragePct, form.Percent, form.Empty(0), form.Label("overage"), form.Answers("overage_pct"))
}
