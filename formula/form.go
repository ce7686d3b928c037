package formula

import (
	"cmp"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/words"
	"barwright/quantity"
)

// FormOptions says how a form is read.
type FormOptions struct {
	Faces Faces // the units in which masses and temperatures are typed
	// Strict is for keeping a version. Without it the maker is still typing;
	// see Validate.
	Strict bool
	// Ingredients is where ids are looked up, and the mass of a teaspoon that
	// was not measured. When nil, nothing is looked up.
	Ingredients Ingredients
}

// These choices of the form are not part of a formula file.
const (
	// ByShareWord and ByWeightWord are the values of the field "by". They say
	// whether shares or weights of the fats were typed. The others are worked
	// out.
	ByShareWord  = "share"
	ByWeightWord = "weight"
)

var rowField = regexp.MustCompile(`^(fat|extra|scent|base|portion)\.([1-9][0-9]{0,3})\.([a-z_]+)$`)

// typedKeys holds the fields that make a row more than an empty one. Choices
// and ticks do not, because every row has them from the start.
var typedKeys = map[string][]string{
	"fat":   {"id", "pct", "g", "sap_mg_koh_g", "sap_half_width"},
	"extra": {"id", "dose_g", "gtsp", "fat_pct", "water_pct", "sap_mg_koh_g"},
	"scent": {"name", "dose_pct", "limit_pct", "category", "dated", "stated"},

	"base":    {"name", "pct", "g", "inci", "density_g_ml", "softens_c", "max_melt_c", "max_pour_c"},
	"portion": {"name", "amount", "colours"},
}

// RowNumbers returns, in rising order, the numbers of the rows of a list (fat,
// extra, scent, base, portion) in which something is typed. Line i, counted
// from 0, of the formula that FromForm reads comes from row RowNumbers[i] of
// the form.
func RowNumbers(v url.Values, list string) []int {
	var rows []int
	for name, vals := range v {
		m := rowField.FindStringSubmatch(name)
		if m == nil || m[1] != list || !slices.Contains(typedKeys[list], m[3]) ||
			!slices.ContainsFunc(vals, func(s string) bool { return strings.TrimSpace(s) != "" }) {
			continue
		}
		n, err := strconv.Atoi(m[2])
		if err == nil && !slices.Contains(rows, n) {
			rows = append(rows, n)
		}
	}
	slices.Sort(rows)
	return rows
}

// FromForm reads the editor's form. Its fields are the key paths of Validate,
// and these:
//
//	by            share: fat.N.pct and fats_g are read; weight: fat.N.g is read, and the shares and fats_g follow
//	water         as ParseWater reads it, in place of lye_concentration
//	fat.N.g       a mass
//	extra.N.unit  g, oz-per-lb or tsp-per-lb: the unit of extra.N.dose_g; the last two are per lb of fats
//	extra.N.gtsp  g in a level teaspoon, as the studio measured it; when empty it is assumed from the catalogue
//	scent.N.unit  g (the dose is a percentage) or oz-per-lb
//	base.N.g      a mass, as fat.N.g, for a melt
//
//	portion.N.colours  one colour on each line: its id or its name in the catalogue, then the dose in the
//	                   portion's batter, with its unit: 'Titanium dioxide 6 g/kg', 'mica 0.1 oz/lb', 'Black
//	                   iron oxide 0.5 %' or 'Kaolin: 1 1/2 tsp/lb'. The mass of a level teaspoon, when the
//	                   studio measured it, comes last: 'Kaolin 2 tsp/lb at 2.1 g'. Otherwise it is assumed
//	scent.N.stated     one constituent on each line, then its share of the scent in %: 'Linalool 12.5'
//
// In both lists a colon, a comma or a dash may separate the name from its
// number, a name may contain numbers, and empty lines are ignored. A fault
// begins with its line, such as 'Line 2: '.
//
// Masses (fats_g, fat.N.g, base.N.g, scale.division_g, a dose per batch),
// volumes and temperatures are in the options' units unless a unit is typed.
// portion.N.by says whether a portion's amount is a percentage, a volume or a
// mass; for the rest it is not read. Percentages may have a % sign. For a melt,
// the fields of superfat, water, cure_water_loss_pct, alkali and liquid are not
// read. Rows in which nothing is typed are dropped, and the row numbers may
// have gaps. Fields with other names are ignored.
//
// The formula is always returned, as far as it could be read. Without faults it
// is valid for the options' strictness. Faults have the form's own names and
// row numbers. v keeps what was typed, so that the page can show it again.
func FromForm(v url.Values, o FormOptions) (*Formula, fault.List) {
	d := &formReader{v: v, o: o, bad: map[string]bool{}}
	f := &Formula{
		Name:  d.text("name"),
		Notes: strings.ReplaceAll(d.get("notes"), "\r\n", "\n"),
	}
	d.choice("method", methodWords[1:], "", func(i int) { f.Method = Method(i + 1) })
	if f.Method != Melt {
		d.lye(f)
	}
	f.PourC = d.maybe("pour_c", d.temp)
	f.CookLossPct = d.maybe("cook_loss_pct", d.percent)
	f.DensityGML = d.maybe("measured_density_g_ml", d.number)
	d.choice("stage", stageWords[1:], "", func(i int) { f.Stage = Stage(i + 1) })
	f.ScaleDivisionG = d.maybe("scale.division_g", d.smallMass)
	d.fats(f)
	d.melting(f)
	d.extras(f)
	d.scents(f)
	d.portions(f)
	rules := f.Validate(o.Strict)
	if o.Ingredients != nil {
		rules = append(rules, f.CheckIDs(o.Ingredients)...)
	}
	for _, e := range rules {
		e.Field = d.rowOf(e.Field)
		d.asTyped(e)
		if !d.overshadowed(e.Field) {
			d.faults.Add(e)
		}
	}
	return f, d.faults
}

type formReader struct {
	v      url.Values
	o      FormOptions
	rows   map[string][]int // for each list: the form's row of each line
	lines  map[string][]int // for each field: the line from which each entry of a list came
	faults fault.List
	bad    map[string]bool
}

// lye reads what only a batter with lye has.
func (d *formReader) lye(f *Formula) {
	f.SuperfatPct = d.percent("superfat")
	if w, err := ParseWater(d.get("water")); err != nil {
		d.refuse("water", err)
	} else {
		f.Water = w
	}
	f.CureWaterLossPct = d.maybe("cure_water_loss_pct", d.percent)
	f.Alkali = Alkali{
		KOHMolPct:          d.maybe("alkali.koh_mol_pct", d.percent).Or(0),
		NaOHPurityPct:      d.maybe("alkali.naoh_purity_pct", d.percent),
		KOHPurityPct:       d.maybe("alkali.koh_purity_pct", d.percent),
		PurityHalfWidthPct: d.maybe("alkali.purity_half_width_pct", d.percent).Or(0),
		NaOHSolutionPct:    d.maybe("alkali.naoh_solution_pct", d.percent),
		KOHSolutionPct:     d.maybe("alkali.koh_solution_pct", d.percent),
	}
	f.Liquid = Liquid{
		IcePct:   d.maybe("liquid.ice_pct", d.percent).Or(0),
		LaterPct: d.maybe("liquid.later_pct", d.percent).Or(0),
		PeakC:    d.maybe("liquid.peak_c", d.temp),
	}
}

// rowOf turns the path of a line into the path of its row in the form.
func (d *formReader) rowOf(path string) string {
	m := rowField.FindStringSubmatch(path)
	if m == nil {
		return path
	}
	i, err := strconv.Atoi(m[2])
	if rows := d.rows[m[1]]; err == nil && i <= len(rows) {
		return Path(m[1], rows[i-1]-1, m[3])
	}
	return path
}

// overshadowed reports whether a rule has nothing to add about a field, because
// the value that it judges could not be read.
func (d *formReader) overshadowed(field string) bool {
	if d.bad[field] {
		return true
	}
	if row, ok := strings.CutSuffix(field, ".sap_half_width"); ok && d.bad[row+".sap_mg_koh_g"] {
		return true
	}
	if row, ok := strings.CutSuffix(field, ".dose_g"); ok && d.bad[row+".gtsp"] {
		return true
	}
	if row, ok := strings.CutSuffix(field, ".amount"); ok && d.bad[row+".by"] {
		return true
	}
	// With by=weight the shares follow from the weights.
	if row, ok := strings.CutSuffix(field, ".pct"); ok && d.bad[row+".g"] {
		return true
	}
	if _, list := typedKeys[field]; list || field == "fats_g" && d.v.Get("by") == ByWeightWord {
		list := field
		if field == "fats_g" {
			list = "fat"
			if d.text("method") == methodWords[Melt] {
				list = "base"
			}
		}
		for path := range d.bad {
			if path == list || strings.HasPrefix(path, list+".") {
				return true
			}
		}
	}
	return false
}

func (d *formReader) refuse(field string, err error) {
	d.bad[field] = true
	for _, e := range fault.All(err) {
		c := *e
		c.Field = field
		d.faults.Add(&c)
	}
}

func (d *formReader) refusef(field, format string, args ...any) {
	d.refuse(field, fault.Invalidf(field, format, args...))
}

// get returns what was typed in a field. The same field twice with different
// values is refused, because nobody could tell which was meant.
func (d *formReader) get(field string) string {
	vals := d.v[field]
	if len(vals) == 0 {
		return ""
	}
	for _, s := range vals[1:] {
		if s != vals[0] && !d.bad[field] {
			d.refusef(field, "This came twice, as %q and as %q: send it once.", short(vals[0]), short(s))
		}
	}
	return vals[0]
}

func (d *formReader) text(field string) string { return strings.TrimSpace(d.get(field)) }

func (d *formReader) maybe(field string, read func(string) float64) quantity.Maybe {
	if d.text(field) == "" {
		return quantity.Maybe{}
	}
	if v := read(field); !d.bad[field] {
		return quantity.Some(v)
	}
	return quantity.Maybe{}
}

func (d *formReader) number(field string) float64 {
	return d.parse(field, quantity.ParseNumber)
}

func (d *formReader) parse(field string, parse func(string) (float64, error)) float64 {
	v, err := parse(d.get(field))
	if err != nil {
		if !d.bad[field] {
			d.refuse(field, err)
		}
		return 0
	}
	return v
}

func (d *formReader) percent(field string) float64 {
	return d.parse(field, func(s string) (float64, error) {
		return quantity.ParseNumber(strings.TrimSuffix(strings.TrimSpace(s), "%"))
	})
}

func (d *formReader) mass(field string) float64 {
	return d.parse(field, func(s string) (float64, error) { return quantity.ParseMass(s, d.o.Faces.Mass) })
}

// smallMass reads a mass that a studio of pounds and ounces types in ounces.
func (d *formReader) smallMass(field string) float64 {
	return d.parse(field, func(s string) (float64, error) { return quantity.ParseMass(s, smallUnit(d.o.Faces.Mass)) })
}

func smallUnit(u quantity.MassUnit) quantity.MassUnit {
	if u == quantity.PoundOunce {
		return quantity.Ounce
	}
	return u
}

func (d *formReader) temp(field string) float64 {
	return d.parse(field, func(s string) (float64, error) { return quantity.ParseTemp(s, d.o.Faces.Temp) })
}

// choice reads one of choices. Nothing chosen means def, and when def is empty
// nothing is set.
func (d *formReader) choice(field string, choices []string, def string, set func(i int)) {
	s := d.text(field)
	if s == "" {
		s = def
	}
	if s == "" {
		return
	}
	if i := slices.Index(choices, s); i >= 0 {
		set(i)
		return
	}
	end := cmp.Or(words.Meant(s, choices), ".")
	d.refusef(field, "%q will not do: choose %s%s", short(s), strings.Join(choices, ", "), end)
}

// ticked reports whether a box is ticked: it holds anything but an explicit no.
func (d *formReader) ticked(field string) bool {
	switch d.text(field) {
	case "", "0", "no", "off", "false":
		return false
	}
	return true
}

func (d *formReader) list(name string) []int {
	if d.rows == nil {
		d.rows = map[string][]int{}
	}
	rows := RowNumbers(d.v, name)
	d.rows[name] = rows
	return rows
}

// fats reads the rows that make up FatsG: the fats, or the bases of a melt. Of
// the kind that the method does not use only the names are read, so that it can
// be refused.
func (d *formReader) fats(f *Formula) {
	d.choice("by", []string{ByShareWord, ByWeightWord}, ByShareWord, func(i int) { f.ByWeight = i == 1 })
	if !f.ByWeight {
		f.FatsG = d.mass("fats_g")
	}
	grams := make([]float64, 0, MaxFats)
	share := func(path func(string) string, what string) float64 {
		if !f.ByWeight {
			return d.percent(path("pct"))
		}
		g := d.mass(path("g"))
		switch {
		case d.bad[path("g")]:
		case g < 0 || g == 0 && d.o.Strict:
			d.refusef(path("g"), "The weight of a %s must be above 0: leave out the line of a %s that is not used.", what, what)
			g = 0
		case g > MaxFatsG:
			d.refusef(path("g"), "This is more than 10 tonnes of one %s: write less.", what)
			g = 0
		}
		grams = append(grams, g)
		f.FatsG += g
		return 0
	}
	for _, n := range d.list("fat") {
		path := func(key string) string { return Path("fat", n-1, key) }
		x := Fat{ID: d.text(path("id"))}
		if f.Method != Melt {
			x.SAP = d.maybe(path("sap_mg_koh_g"), d.number)
			x.SAPHalfWidth = d.maybe(path("sap_half_width"), d.number)
			x.Cooked = d.ticked(path("cooked"))
			x.Pct = share(path, "fat")
		}
		f.Fats = append(f.Fats, x)
	}
	for _, n := range d.list("base") {
		path := func(key string) string { return Path("base", n-1, key) }
		x := Base{Name: d.text(path("name"))}
		if f.Method == Melt {
			x.INCI = strings.Join(strings.Fields(d.get(path("inci"))), " ")
			x.DensityGML = d.maybe(path("density_g_ml"), d.number)
			x.SoftensC = d.maybe(path("softens_c"), d.temp)
			x.MaxMeltC = d.maybe(path("max_melt_c"), d.temp)
			x.MaxPourC = d.maybe(path("max_pour_c"), d.temp)
			x.Pct = share(path, "base")
		}
		f.Bases = append(f.Bases, x)
	}
	if !f.ByWeight {
		return
	}
	list := "fat"
	if f.Method == Melt {
		list = "base"
	}
	if !(f.FatsG > 0) {
		if len(d.bad) == 0 || !d.overshadowed(list) {
			d.refusef(list, "No %s is weighed in yet: write the weight of at least one.", list)
		}
		return
	}
	for i, g := range grams {
		pct := min(100*g/f.FatsG, 100) // 100·g/g may be slightly over 100
		if f.Method == Melt {
			f.Bases[i].Pct = pct
		} else {
			f.Fats[i].Pct = pct
		}
	}
}

func (d *formReader) extras(f *Formula) {
	for _, n := range d.list("extra") {
		path := func(key string) string { return Path("extra", n-1, key) }
		x := Extra{
			ID:       d.text(path("id")),
			FatPct:   d.maybe(path("fat_pct"), d.percent),
			WaterPct: d.maybe(path("water_pct"), d.percent),
			SAP:      d.maybe(path("sap_mg_koh_g"), d.number),
		}
		d.choice(path("per"), perWords[:], perWords[PerKgFats], func(i int) { x.Per = Per(i) })
		d.choice(path("into"), intoWords[:], intoWords[IntoBatter], func(i int) { x.Into = Into(i) })
		var unit DoseUnit
		d.choice(path("unit"), unitWords[:], unitWords[Grams], func(i int) { unit = DoseUnit(i) })
		switch {
		case unit == Grams && x.Per == PerBatch:
			x.Dose = d.smallMass(path("dose_g"))
		case unit == Grams && x.Per == PerLiquid:
			x.Dose = d.percent(path("dose_g"))
		case unit == Grams:
			x.Dose = d.number(path("dose_g"))
		default:
			t := Typed{Unit: unit, Amount: d.number(path("dose_g"))}
			if unit == TeaspoonsPerPound {
				t.GramsPerTsp, t.Measured = d.teaspoon(path("gtsp"), x.ID)
			}
			per := x.Per
			if d.bad[path("dose_g")] || d.bad[path("gtsp")] {
				t = Typed{}
			}
			x.SetTyped(t)
			x.Per = per // Validate reports it when it is not the fats
		}
		f.Extras = append(f.Extras, x)
	}
}

// assumedTeaspoon is the mass, g, that a level teaspoon of a substance of that
// density, g/mL, is taken to have. A substance denser than any liquid of the
// trade is a powder or a salt, and half of its spoon is air. Common practice,
// no source.
func assumedTeaspoon(density float64) float64 {
	g := density * quantity.MillilitresPerUSTeaspoon
	if density > 1.45 {
		g /= 2
	}
	return g
}

// teaspoon returns the mass of a level teaspoon, g, and whether the studio
// measured it. A mass that was typed counts as measured.
func (d *formReader) teaspoon(field, id string) (g float64, measured bool) {
	if d.text(field) != "" {
		g := d.number(field)
		if !d.bad[field] && !(g > 0 && g <= maxGramsPerTsp) {
			d.refusef(field, "%s", teaspoonRule)
		}
		return g, true
	}
	if g := d.assumedSpoon(id); g > 0 {
		return g, false
	}
	d.refusef(field, "Nobody knows what a teaspoon of this weighs: weigh ten level ones, divide by ten, and write it here in g.")
	return 0, false
}

// assumedSpoon is the mass, g, of a level teaspoon of an ingredient, as the
// catalogue states it or as its density suggests. It is 0 when the ingredient
// is not known.
func (d *formReader) assumedSpoon(id string) float64 {
	if d.o.Ingredients == nil {
		return 0
	}
	in, err := d.o.Ingredients.Get(id)
	if err != nil || in.Extra == nil {
		return 0
	}
	return in.Extra.GramsPerTsp.Or(assumedTeaspoon(in.Extra.DensityGML))
}

func (d *formReader) scents(f *Formula) {
	for _, n := range d.list("scent") {
		path := func(key string) string { return Path("scent", n-1, key) }
		s := Scent{
			Name:     d.text(path("name")),
			LimitPct: d.maybe(path("limit_pct"), d.percent),
			Category: d.text(path("category")),
			Dated:    d.text(path("dated")),

			Constituents: d.stated(path("stated")),
		}
		d.choice(path("of"), ofWords[:], ofWords[OfFats], func(i int) { s.Of = Of(i) })
		unit := Grams
		d.choice(path("unit"), unitWords[:TeaspoonsPerPound], unitWords[Grams], func(i int) { unit = DoseUnit(i) })
		if unit == Grams {
			s.DosePct = d.percent(path("dose_pct"))
		} else if amount := d.number(path("dose_pct")); !d.bad[path("dose_pct")] {
			of := s.Of
			s.SetTyped(Typed{Unit: unit, Amount: amount})
			s.Of = of // Validate reports it when it is not the fats
		}
		f.Scents = append(f.Scents, s)
	}
}

// ToForm returns the fields of the editor for f, as FromForm reads them, with
// masses, volumes and temperatures in faces. Both the shares and the weights of
// the fats are filled in: fat.N.pct and fat.N.g (base.N.pct and base.N.g), and
// fats_g. The page shows those that were not typed as worked out. Lists are
// numbered from 1. Reading the fields back gives f again, except for the last
// figures of values whose unit was changed.
func ToForm(f *Formula, faces Faces) url.Values {
	v := url.Values{}
	set := func(field, s string) { v.Set(field, s) }
	maybe := func(field string, m quantity.Maybe) {
		if m.Known {
			set(field, fieldNumber(m.V))
		} else {
			set(field, "")
		}
	}
	temp := func(field string, m quantity.Maybe) {
		switch {
		case !m.Known:
			set(field, "")
		case faces.Temp == quantity.Fahrenheit:
			set(field, figure(m.V*1.8+32, exactFigures))
		default:
			set(field, fieldNumber(m.V))
		}
	}
	tick := func(field string, on bool) {
		if on {
			set(field, "on")
		}
	}
	set("name", f.Name)
	set("method", f.Method.String())
	set("superfat", fieldNumber(f.SuperfatPct))
	set("water", "")
	if f.Water.Value != 0 || f.Water.Rule != ByConcentration {
		set("water", f.Water.String())
	}
	set("by", ByShareWord)
	if f.ByWeight {
		set("by", ByWeightWord)
	}
	set("fats_g", massField(f.FatsG, faces.Mass))
	maybe("cure_water_loss_pct", f.CureWaterLossPct)
	temp("pour_c", f.PourC)
	maybe("cook_loss_pct", f.CookLossPct)
	maybe("measured_density_g_ml", f.DensityGML)
	set("stage", f.Stage.String())
	set("alkali.koh_mol_pct", fieldNumber(f.Alkali.KOHMolPct))
	maybe("alkali.naoh_purity_pct", f.Alkali.NaOHPurityPct)
	maybe("alkali.koh_purity_pct", f.Alkali.KOHPurityPct)
	set("alkali.purity_half_width_pct", fieldNumber(f.Alkali.PurityHalfWidthPct))
	maybe("alkali.naoh_solution_pct", f.Alkali.NaOHSolutionPct)
	maybe("alkali.koh_solution_pct", f.Alkali.KOHSolutionPct)
	set("scale.division_g", "")
	if f.ScaleDivisionG.Known {
		set("scale.division_g", massField(f.ScaleDivisionG.V, smallUnit(faces.Mass)))
	}
	for i, x := range f.Fats {
		path := func(key string) string { return Path("fat", i, key) }
		set(path("id"), x.ID)
		if f.ByWeight {
			set(path("pct"), figure(x.Pct, derivedFigures))
		} else {
			set(path("pct"), fieldNumber(x.Pct))
		}
		set(path("g"), massField(f.FatG(i), faces.Mass))
		maybe(path("sap_mg_koh_g"), x.SAP)
		maybe(path("sap_half_width"), x.SAPHalfWidth)
		tick(path("cooked"), x.Cooked)
	}
	for i, x := range f.Extras {
		path := func(key string) string { return Path("extra", i, key) }
		set(path("id"), x.ID)
		set(path("unit"), x.Typed.Unit.String())
		set(path("per"), x.Per.String())
		set(path("into"), x.Into.String())
		set(path("gtsp"), "")
		switch {
		case x.Typed.Unit != Grams:
			set(path("dose_g"), fieldNumber(x.Typed.Amount))
			if x.Typed.Measured {
				set(path("gtsp"), fieldNumber(x.Typed.GramsPerTsp))
			}
		case x.Per == PerBatch:
			set(path("dose_g"), massField(x.Dose, smallUnit(faces.Mass)))
		default:
			set(path("dose_g"), fieldNumber(x.Dose))
		}
		maybe(path("fat_pct"), x.FatPct)
		maybe(path("water_pct"), x.WaterPct)
		maybe(path("sap_mg_koh_g"), x.SAP)
	}
	for i, s := range f.Scents {
		path := func(key string) string { return Path("scent", i, key) }
		set(path("name"), s.Name)
		set(path("unit"), s.Typed.Unit.String())
		set(path("of"), s.Of.String())
		set(path("dose_pct"), fieldNumber(s.DosePct))
		if s.Typed.Unit != Grams {
			set(path("dose_pct"), fieldNumber(s.Typed.Amount))
		}
		maybe(path("limit_pct"), s.LimitPct)
		set(path("category"), s.Category)
		set(path("dated"), s.Dated)
		lines := make([]string, len(s.Constituents))
		for j, x := range s.Constituents {
			lines[j] = x.Name + " " + fieldNumber(x.Pct)
		}
		set(path("stated"), strings.Join(lines, "\n"))
	}
	meltFields(f, faces, set, maybe, temp)
	for i, p := range f.Portions {
		portionFields(set, i, p, faces)
	}
	set("liquid.ice_pct", fieldNumber(f.Liquid.IcePct))
	set("liquid.later_pct", fieldNumber(f.Liquid.LaterPct))
	temp("liquid.peak_c", f.Liquid.PeakC)
	set("notes", f.Notes)
	return v
}

// fieldNumber writes a number as quantity.ParseNumber reads it: in full,
// without a power of ten, with at most 40 decimals.
func fieldNumber(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if len(s) > 60 {
		s = strings.TrimRight(strings.TrimRight(strconv.FormatFloat(v, 'f', 40, 64), "0"), ".")
	}
	return s
}

const (
	exactFigures   = 12 // for what was typed and comes back through a change of units
	derivedFigures = 9  // for what is worked out from it
)

// massField writes a mass for an input: a bare number in the given unit. Pounds
// and ounces keep their units, since a bare number could be either.
func massField(g float64, unit quantity.MassUnit) string {
	switch unit {
	case quantity.Gram:
		return figure(g, 15)
	case quantity.Ounce:
		return figure(g/quantity.GramsPerOunce, exactFigures)
	default:
		return strings.ReplaceAll(massText(g, unit, exactFigures), quantity.UnitSpace, " ")
	}
}
