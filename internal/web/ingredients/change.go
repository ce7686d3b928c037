package ingredients

import (
	"slices"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/quantity"
)

// changeView is the form of one of the studio's own, or of a change.
type changeView struct {
	Form   *form.Form
	Action string
	Own    bool
	asked
	FatOpen, AcidsOpen, ExtraOpen bool // what is folded away otherwise
}

// Draws are the fields of a group.
func (v changeView) Draws(group []string) ([]shell.Field, error) { return v.Form.DrawAll(group...) }

// asked are the fields that the form of an ingredient has, by the groups in which
// they stand.
type asked struct {
	MayChange                                     bool // its roles and its chemistry may be changed here
	Names, Roles, Kind, Fat, Acids, Extra, Nature []string
}

var changePage = shell.Declare[changeView](room, "change")

// entryRoles are the roles that the studio may give.
var entryRoles = []shell.Option{
	{Value: "fat", Label: "a fat", Hint: "one of the fats, and is saponified"},
	{Value: "extra", Label: "an extra", Hint: "dosed in addition to the fats"},
	{Value: "liquid", Label: "a liquid", Hint: "may take the place of water"},
	{Value: "colourant", Label: "a colourant"},
	{Value: "surfactant", Label: "a surfactant"},
	{Value: "scent", Label: "a scent"},
}

// natures are the words of what an extra does, as an entry writes them.
var natures = []shell.Option{
	{Value: "sugar", Label: "sugar: heats the batter, browns"},
	{Value: "milk", Label: "milk: scorches in hot lye"},
	{Value: "honey", Label: "honey"},
	{Value: "salt", Label: "salt: hardens, stops lather in high dose"},
	{Value: "clay", Label: "clay: draws water, thickens"},
	{Value: "acid", Label: "acid: takes alkali first"},
	{Value: "alkaline", Label: "alkaline: adds alkali that is not counted"},
	{Value: "alcohol", Label: "alcohol: burns easily, thickens the batter"},
	{Value: "scratchy", Label: "scratchy: rough on skin"},
	{Value: "plastic", Label: "plastic: particles, banned in places"},
}

// sapFields are the ones that stand in for each other.
var sapFields = []string{"sap_min_mg_koh_g", "sap_max_mg_koh_g", "sap_mg_koh_g", "sap_half_width"}

// factOfField is the fact that shows what a number stands at now.
var factOfField = map[string]string{
	"sap_min_mg_koh_g": "sap", "sure_acid_value_mg_koh_g": "sure-acid-value", "iodine_min_g_100g": "iodine",
	"unsaponifiable_max_g_kg": "unsaponifiable", "density_40c_g_ml": "density-40", "melting_min_c": "melting",
	"fat_pct": "fat", "fat_sap_mg_koh_g": "fat-sap", "water_pct": "water", "acid_mol_per_g": "acid", "acid_molar_mass_g_mol": "acid-molar-mass",
	"sugar_pct": "sugar", "density_g_ml": "density", "grams_per_tsp": "grams-per-tsp",
	"inci": "inci", "us_name": "us-name", "cas": "cas", "inci_sodium": "inci-sodium", "inci_potassium": "inci-potassium", "alkali_salt": "alkali-salt",
}

// binder binds the form of an ingredient.
type binder struct {
	f   *form.Form
	in  *catalogue.Ingredient // as it stands now; nil for a new one
	now map[string]string     // values of the catalogue's that a change replaces, by the key of the fact
}

// text binds words, under the value that they replace, or a hint.
func (b *binder) text(to *string, name, label, hint string, opts ...form.Option) string {
	b.f.Text(name, to, append([]form.Option{form.Label(label), form.Hint(b.hint(name, hint)), form.Wide}, opts...)...)
	return name
}

func (b *binder) hint(name, otherwise string) string {
	if x := b.now[factOfField[name]]; x != "" {
		return "now " + x
	}
	return otherwise
}

// bind is the form of an entry: of one of the studio's own, or of a change to the
// catalogue's. Old is what the studio says of it already.
func bind(f *form.Form, e *catalogue.Entry, in *catalogue.Ingredient, old *catalogue.Entry) asked {
	b := &binder{f, in, map[string]string{}}
	a := asked{MayChange: in == nil || !in.Roles.Has(catalogue.RoleAlkali) && !in.Roles.Has(catalogue.RoleName)}
	if e.Own {
		a.Names = []string{b.text(&e.Name, "name", "Name", "what you call it at the bench",
			form.Needed("The ingredient has no name: write what you call it at the bench."), form.Shades("id"))}
	} else {
		for _, x := range in.Facts {
			b.now[x.Key] = strings.TrimSpace(x.Value + " " + x.Unit)
		}
		a.Names = []string{b.text(&e.Name, "name", "Name", "now "+in.Name)}
	}
	if in == nil {
		a.Names = append(a.Names, b.text(&e.ID, "id", "Id for files", "made of the name when left empty, as neem-oil"))
	}
	a.Names = append(a.Names, b.text(&e.INCI, "inci", "INCI name", "for the label"), b.text(&e.USName, "us_name", "Name on a US label", "where it differs"),
		b.text(&e.CAS, "cas", "CAS number", ""), b.text(&e.Function, "function", "What it does", "as colourant, chelating"))
	f.Prose("note", &e.Note, form.Label("Notes"), form.Height(3))
	b.text(&e.Source, "source", "Where the values come from", "as certificate of lot 2291; “"+catalogue.OwnSource+"” when left empty")
	if a.MayChange {
		b.chemistry(e, old, &a)
	}
	return a
}

// chemistry binds what an ingredient may be and what the sums need to know of it.
func (b *binder) chemistry(e, old *catalogue.Entry, a *asked) {
	f, in := b.f, b.in
	// A role that the catalogue gives is not to be taken away.
	roles := slices.DeleteFunc(slices.Clone(entryRoles), func(x shell.Option) bool {
		return !e.Own && slices.Contains(in.Roles.Words(), x.Value) && !slices.Contains(old.Roles, x.Value)
	})
	a.Roles = ticks(f, "roles", &e.Roles, roles)
	if e.Own || in.Fat == nil || e.Kind != "" || f.Typed("kind") != "" {
		a.Kind = []string{"kind"}
		f.Word("kind", &e.Kind, []shell.Option{{Value: "", Label: "it is no fat"}, {Value: "triglyceride", Label: "triglyceride: saponifies"},
			{Value: "fatty_acid", Label: "free fatty acid: neutralises at once"}, {Value: "wax", Label: "wax: hardly reacts"}},
			"a kind that is not known here", form.Label("How a fat meets alkali"))
	}
	for _, x := range catalogue.Fields() {
		to := x.In(e)
		if x.Name == "sure_acid_value_mg_koh_g" && !e.Own && in.Fat != nil && in.Fat.Kind != catalogue.Wax && !to.Known && f.Typed(x.Name) == "" {
			continue // of a wax only
		}
		measure := form.Plain.As(strings.TrimSuffix(x.Unit, " of its mass")) // the legend says of what
		if x.Unit == "°C" {
			measure = form.Temp
		}
		opts := []form.Option{form.Label(x.Label), form.Hint(b.hint(x.Name, ""))}
		if slices.Contains(sapFields, x.Name) {
			opts = append(opts, form.Shades(sapFields...))
		}
		f.Maybe(x.Name, to, measure, opts...)
		if x.Of == catalogue.RoleFat {
			a.Fat = append(a.Fat, x.Name)
		} else {
			a.Extra = append(a.Extra, x.Name)
		}
	}
	a.Fat = append(a.Fat, b.text(&e.INCISodium, "inci_sodium", "INCI name as sodium soap", ""),
		b.text(&e.INCIPotassium, "inci_potassium", "INCI name as potassium soap", ""))
	a.Extra = append(a.Extra, b.text(&e.AlkaliSalt, "alkali_salt", "Salt that its acid leaves", "as citrate"))
	b.acids(e, a)
	a.Nature = ticks(f, "nature", &e.Nature, natures)
}

// ticks binds a set of words. A fault of the set stands at its frame.
func ticks(f *form.Form, path string, to *[]string, options []shell.Option) []string {
	f.Ticks(path, to, options)
	var out []string
	for _, x := range options {
		out = append(out, path+"-"+x.Value)
	}
	if len(out) > 0 {
		f.Anchor(path)
	}
	return out
}

// acids binds the shares of the fatty acids, %.
func (b *binder) acids(e *catalogue.Entry, a *asked) {
	var was catalogue.Profile // in %, whichever way a file wrote the symbols
	known := map[catalogue.Acid]bool{}
	for symbol, pct := range e.Profile {
		if acid, err := catalogue.ParseAcid(symbol); err == nil {
			was[acid], known[acid] = pct, true
		}
	}
	read := map[string]float64{}
	info := catalogue.AcidTable()
	for acid := range catalogue.Acid(catalogue.NumAcids) {
		name, hint := "profile_pct."+acid.String(), ""
		if !e.Own && b.in.Fat != nil && b.in.Fat.Profile[acid] > 0 {
			hint = "now " + quantity.Number(b.in.Fat.Profile[acid]*100, 1)
		}
		pct := quantity.Maybe{V: was[acid], Known: known[acid]}
		b.f.Maybe(name, &pct, form.Percent, form.Label(info[acid].Symbol+" "+info[acid].Trivial), form.Hint(hint))
		if pct.Known {
			read[acid.String()] = pct.V
		}
		a.Acids = append(a.Acids, name)
	}
	b.f.Anchor("profile_pct")
	if e.Profile = nil; len(read) > 0 {
		e.Profile = read
	}
}

// change shows the form of a new ingredient, or of a change, and keeps it.
func (o rooms) change(a *form.Ask) error {
	var in *catalogue.Ingredient
	e := catalogue.Entry{Own: true}
	if id := a.PathValue("id"); id != "" {
		var err error
		if in, err = a.Faces.Cat.Get(id); err != nil {
			return err
		}
		if e = (catalogue.Entry{ID: in.ID}); in.Own || in.Changed {
			if e, err = o.Book.Ingredient(a.Context(), in.ID); err != nil {
				return err
			}
		}
	} else {
		e.Name = strings.TrimSpace(a.FormValue("name"))
	}
	old, f := e, form.Of(a.Faces)
	has := bind(f, &e, in, &old)
	if a.Posted {
		f, e, has = read(form.Read(a.Sent, a.Faces).Over(f), f, in, &old)
		if !f.Refused(nil) {
			if err := f.Take(o.Book.PutIngredient(a.Context(), e)); err != nil || f.Sound() {
				return a.GoTo("/ingredients/"+e.ID+"?kept=1", err)
			}
		}
	}
	return showChange(a, f, in, has)
}

// read reads an entry and says what is wrong with it. Kept is the form of old, which
// is what the studio says of the ingredient already.
func read(f, kept *form.Form, in *catalogue.Ingredient, old *catalogue.Entry) (*form.Form, catalogue.Entry, asked) {
	e := catalogue.Entry{ID: old.ID, Own: old.Own}
	a := bind(f, &e, in, old)
	if in == nil {
		if e.ID == "" {
			e.ID = catalogue.IDFor(e.Name)
		}
		there, err := f.Faces().Cat.Get(e.ID)
		switch {
		case e.ID == "new":
			f.Refuse("id", fault.Invalidf("", "“new” is the address of this form. Give another id for files, such as new-oil."))
		case e.ID == "" && e.Name != "":
			f.Refuse("id", fault.Invalidf("", "No id for files can be made of that name. "+
				"Write one: words in lower case with hyphens between them, such as neem-oil."))
		case err == nil: // keeping it would put this one in its place
			f.Refuse("id", fault.Invalidf("", "The id “%s” belongs to %s already. Give another id, or change that ingredient.", e.ID, there.Name))
		}
	}
	// A value's own source, written by a file, stays with a value that stays.
	sets := e.Sets()
	for name, source := range old.Sources {
		if slices.Contains(sets, name) && f.Typed(name) == kept.Typed(name) {
			if e.Sources == nil {
				e.Sources = map[string]string{}
			}
			e.Sources[name] = source
		}
	}
	if !e.Own && len(sets) == 0 && f.Sound() {
		f.Refuse("", fault.Invalidf("", "Nothing is changed. Type the values that are to replace the catalogue’s. To take a change back, withdraw it."))
	}
	// The catalogue says what else is wrong, though a field could not be read, so that
	// the form comes back once.
	base, err := catalogue.Default()
	if err == nil {
		whole := e
		if whole.ID == "" {
			whole.ID = "not-named-yet" // said already
		}
		_, err = base.With(whole)
	}
	f.Check(err)
	return f, e, a
}

// showChange writes the form; in is nil for a new one.
func showChange(a *form.Ask, f *form.Form, in *catalogue.Ingredient, has asked) error {
	v := changeView{Form: f, Action: "/ingredients/new", Own: in == nil || in.Own, asked: has}
	back, head := "/ingredients", shell.Head{Title: "One of your own",
		Lead: "An ingredient that the catalogue lacks. A fat needs its saponification value; everything else may stay empty."}
	if in != nil {
		back = "/ingredients/" + in.ID
		v.Action = back + "/change"
		head.Title = in.Name + ", changed"
		head.Lead = "What you type replaces the catalogue’s value for this studio. " +
			"What you leave empty stays as it is. Versions that were kept keep their figures."
		if v.Own {
			head.Lead = "The studio’s own. Versions that were kept keep their figures."
		}
	}
	v.FatOpen = in != nil && in.Fat != nil || f.Typed("roles-fat") != "" || f.Typed("kind") != "" || f.FaultAt("kind") != "" || f.Stands(has.Fat...)
	v.AcidsOpen = f.Stands(append(has.Acids, "profile_pct")...)
	v.ExtraOpen = in != nil && in.Extra != nil || f.Stands(append(append(has.Extra, "nature"), has.Nature...)...)
	head.Actions = []shell.Button{{Label: "Cancel", Href: back}, {Label: "Keep", Look: shell.Main, Form: "ingredient"}}
	return form.Answer(changePage, a, f, head, v)
}
