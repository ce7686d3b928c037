package web

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
)

// fatRow is one fat of the editor.
type fatRow struct {
	rowKeys
	Label         string
	Pick          Select
	Share, Weight Field
	SAP, Half     Field
	Cooked        *Check // nil where nothing is cooked
	Open          bool   // the certificate's fields hold something
	Aside         string
}

// baseRow is one ready-made soap of a melt.
type baseRow struct {
	rowKeys
	Name, Share, Weight Field
	INCI                Field
	More                []Field // what its supplier says of it
	Open                bool
}

// extraRow is what goes in beside them.
type extraRow struct {
	rowKeys
	Pick      Select
	Dose      Field
	Unit, Per Select
	Into      *Select // nil where there is one place only
	More      []Field // what is in it
	Open      bool
}

// scentRow is one scent with its certificate.
type scentRow struct {
	rowKeys
	Name, Dose  Field
	Of, Unit    Select
	Certificate []Field
	Stated      Prose
	Open        bool
}

// portionRow is one part of a divided batter.
type portionRow struct {
	rowKeys
	Name, Amount Field
	By, Stage    Select
	Colours      Prose
	Says, SaysID string // what it comes to besides its mass
}

// rowKeys is what every row has: its number, its answer, the findings on it and
// the key that takes it away.
type rowKeys struct {
	N                   string
	ByWeight            bool // the weight is typed, and the share follows
	Answer, AnswerID    string
	Marks               []Mark
	MarksID             string
	RemoveSays, RemoveV string
}

// blankRow stands for the number of a row that is not there yet, for the module
// that fills it in.
const blankRow = "__i__"

// editor makes the fields of the form from what was typed in it.
type editor struct {
	t       trade
	v       url.Values
	faults  fault.List // of a refused form
	method  formula.Method
	unit    string // of masses
	answers map[string]answer
}

func (e *editor) field(name, label, unit, hint string) Field {
	return fieldOf(e.v, e.faults, name, label, unit, hint)
}

func (e *editor) pick(name, label string, options []Option) Select {
	return selectOf(e.v, e.faults, name, label, options)
}

// open reports that something stands in one of the fields, or is wrong with it.
func open(fields ...Field) bool {
	return slices.ContainsFunc(fields, func(f Field) bool { return f.Value+f.Fault != "" })
}

func (e *editor) keys(list, n, what string) rowKeys {
	k := rowKeys{N: n, ByWeight: e.v.Get("by") == formula.ByWeightWord, AnswerID: "w-" + list + "-" + n, MarksID: "m-" + list + "-" + n,
		RemoveV: "remove " + list + "." + n, RemoveSays: "Take away " + what + " " + n}
	a := e.answers[k.AnswerID]
	k.Answer, k.Marks = a.Text, a.Marks
	return k
}

// rowsOf makes the rows of a list that the form has.
func rowsOf[T any](e *editor, list, key string, row func(n string) T) []T {
	var out []T
	for _, n := range rowsIn(e.v, list, key) {
		out = append(out, row(strconv.Itoa(n)))
	}
	return out
}

// orOne gives an empty first row where there is none: something to begin with.
func orOne[T any](rows []T, row func(n string) T) []T {
	if len(rows) == 0 {
		return []T{row("1")}
	}
	return rows
}

func ingredientOptions(list []*catalogue.Ingredient, none string) []Option {
	out := make([]Option, 0, len(list)+1)
	out = append(out, Option{Value: "", Label: none})
	for _, in := range list {
		name := in.Name
		if in.Own {
			name += " (own)"
		}
		out = append(out, Option{Value: in.ID, Label: name})
	}
	return out
}

func (e *editor) fat(fats []Option) func(n string) fatRow {
	return func(n string) fatRow {
		p := func(k string) string { return "fat." + n + "." + k }
		r := fatRow{rowKeys: e.keys("fat", n, "fat"), Pick: e.pick(p("id"), "Fat "+n, fats),
			Share: e.field(p("pct"), "share", "%", ""), Weight: e.field(p("g"), "weight", e.unit, ""),
			SAP: e.field(p("sap_mg_koh_g"), "SAP, mg KOH/g", "", ""), Half: e.field(p("sap_half_width"), "±", "", "")}
		r.Pick.Ledger, r.Pick.Wide, r.Share.Ledger, r.Weight.Ledger = true, true, true, true
		r.Open = open(r.SAP, r.Half)
		if e.method == formula.Hot {
			r.Cooked = &Check{Name: p("cooked"), Label: "stirred in after the cook", Ticked: e.v.Get(p("cooked")) != ""}
			r.Open = r.Open || r.Cooked.Ticked
		}
		if in, err := e.t.cat.Get(e.v.Get(p("id"))); err == nil {
			r.Label = in.Name
			r.RemoveSays = "Take away " + in.Name
			if in.Fat != nil && in.Fat.SAP.Known() {
				r.Aside = "SAP " + quantity.Interval(in.Fat.SAP.Min.V, in.Fat.SAP.Max.V, 0)
				if in.Fat.SAP.Half() == 0 {
					r.Aside = "SAP " + quantity.Number(in.Fat.SAP.Mid(), 1)
				}
			}
		}
		return r
	}
}

func (e *editor) base(n string) baseRow {
	p := func(k string) string { return "base." + n + "." + k }
	temp := e.t.set.Temperature.String()
	r := baseRow{rowKeys: e.keys("base", n, "base"), Name: e.field(p("name"), "Base "+n, "", ""),
		Share: e.field(p("pct"), "share", "%", ""), Weight: e.field(p("g"), "weight", e.unit, ""),
		INCI: e.field(p("inci"), "declared as", "", "its supplier’s INCI names, commas between"),
		More: []Field{
			e.field(p("max_melt_c"), "melt no hotter than", temp, ""),
			e.field(p("max_pour_c"), "pour no hotter than", temp, ""),
			e.field(p("softens_c"), "set, it gives from", temp, ""),
			e.field(p("density_g_ml"), "density, molten", "g/ml", "assumed when left empty"),
		}}
	r.Name.Words, r.Name.Wide, r.Share.Ledger, r.Weight.Ledger, r.INCI.Words, r.INCI.Wide = true, true, true, true, true, true
	r.Open = open(append(r.More, r.INCI)...)
	return r
}

// ofWord is what a dose 'of fats' is of: the base, in a melt.
func (e *editor) ofWord() string {
	if e.method == formula.Melt {
		return "base"
	}
	return "fats"
}

// unitOptions are the faces of a dose, of batter for what is dosed to a portion.
func unitOptions(plain, of string, spoons bool) []Option {
	out := []Option{{Value: formula.Grams.String(), Label: plain}, {Value: formula.OuncesPerPound.String(), Label: "oz per lb of " + of}}
	if spoons {
		out = append(out, Option{Value: formula.TeaspoonsPerPound.String(), Label: "tsp per lb of " + of})
	}
	return out
}

func (e *editor) extra(extras []Option) func(n string) extraRow {
	per := []Option{{Value: formula.PerKgFats.String(), Label: "per kg of " + e.ofWord()}, {Value: formula.PerKgBatter.String(), Label: "per kg of batter"},
		{Value: formula.PerBatch.String(), Label: "in the batch"}}
	into := []Option{{Value: formula.IntoBatter.String(), Label: "into the batter"}}
	if e.method != formula.Melt {
		per = append(per, Option{Value: formula.PerLiquid.String(), Label: "% of the liquid"})
		into = append(into, Option{Value: formula.IntoLye.String(), Label: "into the lye"}, Option{Value: formula.IntoFats.String(), Label: "into the fats"},
			Option{Value: formula.IntoCooked.String(), Label: "after the cook"})
	}
	return func(n string) extraRow {
		p := func(k string) string { return "extra." + n + "." + k }
		r := extraRow{rowKeys: e.keys("extra", n, "extra"), Pick: e.pick(p("id"), "Extra "+n, extras), Dose: e.field(p("dose_g"), "dose", "", ""),
			Unit: e.pick(p("unit"), "in", unitOptions("g", e.ofWord(), true)), Per: e.pick(p("per"), "counted", per),
			More: []Field{e.field(p("gtsp"), "g in a level teaspoon, measured", "", ""), e.field(p("fat_pct"), "fat in it", "%", ""),
				e.field(p("water_pct"), "water in it", "%", "")}}
		if e.method != formula.Melt {
			r.More = append(r.More, e.field(p("sap_mg_koh_g"), "SAP of that fat", "", ""))
			i := e.pick(p("into"), "goes in", withoutCook(into, e.method, e.v.Get(p("into"))))
			r.Into = &i
		}
		r.Pick.Ledger, r.Pick.Wide, r.Dose.Ledger = true, true, true
		r.Open = open(r.More...)
		return r
	}
}

// withoutCook leaves out 'after the cook' where nothing is cooked, unless that
// was chosen: the page then says what is wrong with it.
func withoutCook(into []Option, m formula.Method, chosen string) []Option {
	if m == formula.Hot || chosen == formula.IntoCooked.String() {
		return into
	}
	return slices.DeleteFunc(slices.Clone(into), func(o Option) bool { return o.Value == formula.IntoCooked.String() })
}

func (e *editor) scent(n string) scentRow {
	p := func(k string) string { return "scent." + n + "." + k }
	r := scentRow{rowKeys: e.keys("scent", n, "scent"), Name: e.field(p("name"), "Scent "+n, "", ""), Dose: e.field(p("dose_pct"), "dose", "", ""),
		Of: e.pick(p("of"), "share", []Option{{Value: formula.OfFats.String(), Label: "of the " + e.ofWord()}, {Value: formula.OfBatter.String(), Label: "of the batter"}, {Value: formula.OfBar.String(), Label: "of the bar"}}),
		// The dose of a scent is a percentage where an extra's is a mass.
		Unit: e.pick(p("unit"), "in", unitOptions("%", e.ofWord(), false)),
		Certificate: []Field{e.field(p("limit_pct"), "limit, of the finished bar", "%", ""),
			e.field(p("category"), "category", "", ""), e.field(p("dated"), "dated", "", "")},
		Stated: Prose{Name: p("stated"), Label: "what it states is in it", Hint: "one a line, its name and its % of the scent: Linalool 12.5",
			Value: e.v.Get(p("stated")), Fault: FaultAt(e.faults, p("stated")), Rows: 3}}
	r.Name.Words, r.Name.Wide, r.Dose.Ledger = true, true, true
	for i := range r.Certificate[1:] {
		r.Certificate[i+1].Words = true
	}
	r.Open = open(r.Certificate...) || r.Stated.Value+r.Stated.Fault != ""
	return r
}

func stageOptions() []Option {
	out := []Option{{Value: formula.AnyStage.String(), Label: "as it comes"}}
	for _, s := range formula.Stages() {
		out = append(out, Option{Value: s.String(), Label: s.Words()})
	}
	return out
}

func (e *editor) portion(n string) portionRow {
	p := func(k string) string { return "portion." + n + "." + k }
	r := portionRow{rowKeys: e.keys("portion", n, "portion"), Name: e.field(p("name"), "Portion "+n, "", ""),
		By: e.pick(p("by"), "sized by", []Option{{Value: formula.ByShare.String(), Label: "% of the batter"}, {Value: formula.ByVolume.String(), Label: "volume, " + e.t.set.Volume.String()},
			{Value: formula.ByMass.String(), Label: "mass, " + e.unit}, {Value: formula.ByRest.String(), Label: "what is left"}}),
		Amount: e.field(p("amount"), "amount", "", ""), Stage: e.pick(p("stage"), "used at", stageOptions()),
		Colours: Prose{Name: p("colours"), Label: "colourants", Hint: colourHint, Value: e.v.Get(p("colours")), Fault: FaultAt(e.faults, p("colours")), Rows: 2},
		SaysID:  "c-portion-" + n}
	r.Says = e.answers[r.SaysID].Text
	r.Name.Words, r.Name.Wide, r.Amount.Ledger = true, true, true
	return r
}

const colourHint = "one a line, with its dose: Titanium dioxide 6 g/kg, or 2 tsp/lb"

// fieldsOnlyOf are the beginnings of the names of fields that only some methods
// have.
var fieldsOnlyOf = []struct {
	begins  string
	methods []formula.Method
}{
	{"fat.", []formula.Method{formula.Cold, formula.Hot}},
	{"superfat", []formula.Method{formula.Cold, formula.Hot}},
	{"water", []formula.Method{formula.Cold, formula.Hot}},
	{"alkali.", []formula.Method{formula.Cold, formula.Hot}},
	{"liquid.", []formula.Method{formula.Cold, formula.Hot}},
	{"cure_water_loss_pct", []formula.Method{formula.Cold, formula.Hot}},
	{"cook_loss_pct", []formula.Method{formula.Hot}},
	{"base.", []formula.Method{formula.Melt}},
	{"melting.", []formula.Method{formula.Melt}},
}

// has reports that a formula of a method has a field of that name.
func has(m formula.Method, name string) bool {
	if m != formula.Hot && strings.HasPrefix(name, "fat.") && strings.HasSuffix(name, ".cooked") {
		return false
	}
	for _, f := range fieldsOnlyOf {
		if strings.HasPrefix(name, f.begins) {
			return slices.Contains(f.methods, m)
		}
	}
	return true
}

// methodOf is the method that a form's fields are shown for: cold while none is
// chosen.
func methodOf(v url.Values) formula.Method {
	var m formula.Method
	if err := m.UnmarshalText([]byte(strings.TrimSpace(v.Get("method")))); err != nil || m == formula.MethodUnset {
		return formula.Cold
	}
	return m
}

// ownFields parts a form into what its method has and what was typed for another
// one: the page carries that along unseen, so that choosing back and forth loses
// nothing, and the formula is read without it.
func ownFields(v url.Values) (own url.Values, other []carried) {
	m := methodOf(v)
	own = make(url.Values, len(v))
	for name, vals := range v {
		if has(m, name) {
			own[name] = vals
			continue
		}
		for _, x := range vals {
			if x != "" && len(other) < maxCarried {
				other = append(other, carried{Name: name, Value: x})
			}
		}
	}
	slices.SortFunc(other, func(a, b carried) int { return strings.Compare(a.Name+"\x00"+a.Value, b.Name+"\x00"+b.Value) })
	return own, other
}

// maxCarried is how many fields are carried along: more than any formula has.
const maxCarried = 5000

// read reads the formula that stands in the form.
func (t trade) read(v url.Values, strict bool) (*formula.Formula, fault.List) {
	own, _ := ownFields(v)
	return formula.FromForm(own, formula.FormOptions{Faces: t.faces(), Strict: strict, Ingredients: t.cat})
}
