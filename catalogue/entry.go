package catalogue

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"barwright/fault"
	"barwright/quantity"
)

// OwnSource is the source of a value for which an Entry names no source.
const OwnSource = "the studio's own"

// Entry is what the studio says of one ingredient. It can be kept as JSON and
// filled in from a form, whose fields have the JSON names.
//
// With Own it is an ingredient that the catalogue lacks. It then needs an id, a
// name and roles, and whatever those roles require. Without Own it changes the
// catalogue's ingredient with that id: every field that is set replaces the
// catalogue's value, and every other value stays. Roles are added and never
// taken away.
//
// The roles require:
//
//   - fat: a kind, and a saponification value. The value is either a range
//     (sap_min and sap_max) or one value with its tolerance (sap and
//     sap_half_width; 1 % of the value when left out). A wax also needs the acid
//     value that surely reacts. Fatty acids, iodine value, unsaponifiable matter,
//     density, melting point and INCI names are optional.
//   - extra, liquid, colourant, surfactant, scent: nothing. Unless given,
//     percentages and acid are 0 and the density is 1 g/mL, assumed. Fat in it
//     needs its saponification value. Acid needs the salt that it leaves and its
//     molar mass. Liquid, colourant and surfactant make an ingredient an extra as
//     well.
//
// Only the catalogue may give the roles alkali and name.
type Entry struct {
	ID  string `json:"id"`  // lower-case words joined by hyphens; IDFor makes one from a name
	Own bool   `json:"own"` // the studio's own ingredient, not a change to one of the catalogue's

	Name     string   `json:"name,omitempty"`
	INCI     string   `json:"inci,omitempty"`
	USName   string   `json:"us_name,omitempty"`
	CAS      string   `json:"cas,omitempty"`
	Function string   `json:"function,omitempty"`
	Note     string   `json:"note,omitempty"`
	Roles    []string `json:"roles,omitempty"` // the words of Role.Words

	// For a fat.
	Kind              string             `json:"kind,omitempty"`                    // triglyceride, fatty_acid or wax; only for an own fat or a new role
	SAPMin            quantity.Maybe     `json:"sap_min_mg_koh_g,omitzero"`         // mg KOH/g; for a fatty_acid, the acid value
	SAPMax            quantity.Maybe     `json:"sap_max_mg_koh_g,omitzero"`         // mg KOH/g
	SAP               quantity.Maybe     `json:"sap_mg_koh_g,omitzero"`             // mg KOH/g, instead of the range
	SAPHalfWidth      quantity.Maybe     `json:"sap_half_width,omitzero"`           // mg KOH/g, with SAP
	SureAcidValue     quantity.Maybe     `json:"sure_acid_value_mg_koh_g,omitzero"` // mg KOH/g, for a wax
	IodineMin         quantity.Maybe     `json:"iodine_min_g_100g,omitzero"`        // g I2/100 g
	IodineMax         quantity.Maybe     `json:"iodine_max_g_100g,omitzero"`
	UnsaponifiableMax quantity.Maybe     `json:"unsaponifiable_max_g_kg,omitzero"` // g/kg
	Density40         quantity.Maybe     `json:"density_40c_g_ml,omitzero"`        // g/ml at 40 °C
	MeltingMin        quantity.Maybe     `json:"melting_min_c,omitzero"`           // °C
	MeltingMax        quantity.Maybe     `json:"melting_max_c,omitzero"`
	INCISodium        string             `json:"inci_sodium,omitempty"`
	INCIPotassium     string             `json:"inci_potassium,omitempty"`
	Profile           map[string]float64 `json:"profile_pct,omitempty"` // by symbol, such as "C18:1"; % of the fatty acids, 90 to 101 in all

	// For what is dosed in addition to the fats. Percentages are of its own
	// mass.
	FatPct        quantity.Maybe `json:"fat_pct,omitzero"`
	FatSAP        quantity.Maybe `json:"fat_sap_mg_koh_g,omitzero"` // mg KOH per g of that fat
	WaterPct      quantity.Maybe `json:"water_pct,omitzero"`
	AcidMolPerG   quantity.Maybe `json:"acid_mol_per_g,omitzero"`        // alkali that 1 g takes before the fats do, mol
	AcidMolarMass quantity.Maybe `json:"acid_molar_mass_g_mol,omitzero"` // g of acid per mol of alkali
	AlkaliSalt    string         `json:"alkali_salt,omitempty"`          // such as "citrate"
	SugarPct      quantity.Maybe `json:"sugar_pct,omitzero"`
	DensityGML    quantity.Maybe `json:"density_g_ml,omitzero"`  // stirred in, g/ml
	GramsPerTsp   quantity.Maybe `json:"grams_per_tsp,omitzero"` // mass of a level US teaspoon, g, weighed by the studio
	Nature        []string       `json:"nature,omitempty"`       // the words of Nature.Words; they replace all of the catalogue's

	// Source is where the values come from, such as "certificate of lot 2291".
	// Sources names other sources for single fields, by JSON name. The source
	// is OwnSource when both are empty.
	Source  string            `json:"source,omitempty"`
	Sources map[string]string `json:"sources,omitempty"`
}

// Field describes a number of an Entry, so that a form can be built from it.
type Field struct {
	Name     string  // its JSON name
	Label    string  // such as "Saponification value, lower end"
	Unit     string  // such as "mg KOH/g"
	Min, Max float64 // what may be typed, both ends included
	Of       Role    // RoleFat or RoleExtra
	// In returns the place of the number in an Entry.
	In func(*Entry) *quantity.Maybe
}

// Fields describes the numbers of an Entry, except the fatty acids, in the
// order of a form. The caller may change the slice.
func Fields() []Field { return slices.Clone(fields) }

// sapLow is the lowest number that is accepted as a saponification value. The
// lowest of a named fat is 160 (shea, CXS 325R-2017). A value in g or mg of
// NaOH lies below.
const sapLow = 150

var fields = []Field{
	{"sap_min_mg_koh_g", "Saponification value, lower end", "mg KOH/g", 0, 700, RoleFat, func(e *Entry) *quantity.Maybe { return &e.SAPMin }},
	{"sap_max_mg_koh_g", "Saponification value, upper end", "mg KOH/g", 0, 700, RoleFat, func(e *Entry) *quantity.Maybe { return &e.SAPMax }},
	{"sap_mg_koh_g", "Saponification value", "mg KOH/g", 0, 700, RoleFat, func(e *Entry) *quantity.Maybe { return &e.SAP }},
	{"sap_half_width", "Its tolerance, plus or minus", "mg KOH/g", 0, 100, RoleFat, func(e *Entry) *quantity.Maybe { return &e.SAPHalfWidth }},
	{"sure_acid_value_mg_koh_g", "Acid value that surely reacts", "mg KOH/g", 0, 300, RoleFat, func(e *Entry) *quantity.Maybe { return &e.SureAcidValue }},
	{"iodine_min_g_100g", "Iodine value, lower end", "g I2/100 g", 0, 300, RoleFat, func(e *Entry) *quantity.Maybe { return &e.IodineMin }},
	{"iodine_max_g_100g", "Iodine value, upper end", "g I2/100 g", 0, 300, RoleFat, func(e *Entry) *quantity.Maybe { return &e.IodineMax }},
	{"unsaponifiable_max_g_kg", "Unsaponifiable matter, at most", "g/kg", 0, 1000, RoleFat, func(e *Entry) *quantity.Maybe { return &e.UnsaponifiableMax }},
	{"density_40c_g_ml", "Density at 40 °C", "g/ml", 0.7, 1.2, RoleFat, func(e *Entry) *quantity.Maybe { return &e.Density40 }},
	{"melting_min_c", "Melting or slip point, lower end", "°C", -60, 120, RoleFat, func(e *Entry) *quantity.Maybe { return &e.MeltingMin }},
	{"melting_max_c", "Melting or slip point, upper end", "°C", -60, 120, RoleFat, func(e *Entry) *quantity.Maybe { return &e.MeltingMax }},
	{"fat_pct", "Fat in it", "% of its mass", 0, 100, RoleExtra, func(e *Entry) *quantity.Maybe { return &e.FatPct }},
	{"fat_sap_mg_koh_g", "Saponification value of that fat", "mg KOH/g", 0, 700, RoleExtra, func(e *Entry) *quantity.Maybe { return &e.FatSAP }},
	{"water_pct", "Water in it", "% of its mass", 0, 100, RoleExtra, func(e *Entry) *quantity.Maybe { return &e.WaterPct }},
	{"acid_mol_per_g", "Alkali that it takes first", "mol/g", 0, 0.05, RoleExtra, func(e *Entry) *quantity.Maybe { return &e.AcidMolPerG }},
	{"acid_molar_mass_g_mol", "Acid per mol of alkali", "g/mol", 10, 1000, RoleExtra, func(e *Entry) *quantity.Maybe { return &e.AcidMolarMass }},
	{"sugar_pct", "Sugar in it", "% of its mass", 0, 100, RoleExtra, func(e *Entry) *quantity.Maybe { return &e.SugarPct }},
	{"density_g_ml", "Density, stirred in", "g/ml", 0.3, 12, RoleExtra, func(e *Entry) *quantity.Maybe { return &e.DensityGML }},
	{"grams_per_tsp", "A level US teaspoon of it", "g", 0.05, 60, RoleExtra, func(e *Entry) *quantity.Maybe { return &e.GramsPerTsp }},
}

// textField is a line of text of an Entry.
type textField struct {
	name string
	max  int // letters
	of   Role
	get  func(*Entry) string
}

var textFields = []textField{
	{"name", 120, 0, func(e *Entry) string { return e.Name }},
	{"inci", 200, 0, func(e *Entry) string { return e.INCI }},
	{"us_name", 200, 0, func(e *Entry) string { return e.USName }},
	{"cas", 80, 0, func(e *Entry) string { return e.CAS }},
	{"function", 120, 0, func(e *Entry) string { return e.Function }},
	{"note", 2000, 0, func(e *Entry) string { return e.Note }},
	{"inci_sodium", 200, RoleFat, func(e *Entry) string { return e.INCISodium }},
	{"inci_potassium", 200, RoleFat, func(e *Entry) string { return e.INCIPotassium }},
	{"alkali_salt", 60, RoleExtra, func(e *Entry) string { return e.AlkaliSalt }},
	{"source", 300, 0, func(e *Entry) string { return e.Source }},
}

// Sets returns the JSON names of the values that the entry sets, in the order
// of a form. A page lists them as changed.
func (e *Entry) Sets() []string {
	var out []string
	for _, f := range textFields {
		if f.name != "source" && f.get(e) != "" {
			out = append(out, f.name)
		}
	}
	if len(e.Roles) > 0 {
		out = append(out, "roles")
	}
	if e.Kind != "" {
		out = append(out, "kind")
	}
	for _, f := range fields {
		if f.In(e).Known {
			out = append(out, f.Name)
		}
	}
	if len(e.Profile) > 0 {
		out = append(out, "profile_pct")
	}
	if len(e.Nature) > 0 {
		out = append(out, "nature")
	}
	return out
}

// source is the entry's source for the first of the fields that has one of its
// own.
func (e *Entry) source(names ...string) string {
	for _, n := range names {
		if s := e.Sources[n]; s != "" {
			return s
		}
	}
	if e.Source != "" {
		return e.Source
	}
	return OwnSource
}

// IDFor makes an id from a name: "Neem oil, cold-pressed" gives
// "neem-oil-cold-pressed". Letters outside a to z are left out, so the id may
// be empty, or may be taken already.
func IDFor(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	})
	id := strings.Join(words, "-")
	if len(id) > maxID {
		id = strings.TrimRight(id[:maxID], "-")
	}
	return id
}

// maxID is the greatest number of letters in an id.
const maxID = 60

// ParseAcid returns the fatty acid of a symbol such as "C18:1-OH". Case does
// not count. Errors: fault.NotFound without a field.
func ParseAcid(symbol string) (Acid, error) {
	for i := range shapes {
		if strings.EqualFold(symbol, shapes[i].symbol) {
			return Acid(i), nil
		}
	}
	return 0, fault.NotFoundf("", "%q is no fatty acid of the catalogue: write it by carbons and double bonds, such as C18:1.", clip(symbol))
}

// clip shortens what was typed, for a sentence about it.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// With applies the studio's entries to the catalogue and returns the result as
// a new one. The catalogue itself does not change. Without entries it returns
// the catalogue itself.
//
// The error is a fault.List with every fault of every entry, and nothing is
// applied then. Field is the JSON name of the entry's field,
// "profile_pct.C18:1" for a fatty acid, and "sources.NAME" for a source. A sentence
// names other ingredients by reference. With more than one entry it begins with
// the ingredient that it is about, as a reference too. Kinds:
// Invalid; NotFound on "id" for a change to an ingredient that the catalogue
// lacks; Conflict on "id" for an id that is taken.
func (c *Catalogue) With(entries ...Entry) (*Catalogue, error) {
	if len(entries) == 0 {
		return c, nil
	}
	var all fault.List
	list := slices.Clone(c.list)
	at := make(map[string]int, len(list))
	byName := make(map[string]string, len(list))
	for i, in := range list {
		at[in.ID] = i
		byName[strings.ToLower(in.Name)] = in.ID
	}
	seen := make(map[string]bool, len(entries))
	for i := range entries {
		e := &entries[i]
		l := laying{e: e, many: len(entries) > 1}
		l.check()
		in := l.base(c, list, at)
		if seen[e.ID] && len(l.faults) == 0 {
			l.bad("id", "%q is there twice: put both into one entry.", e.ID)
		}
		seen[e.ID] = true
		if id, ok := byName[strings.ToLower(e.Name)]; ok && e.Name != "" && id != e.ID {
			l.bad("name", "The name is taken by %s: give this one a name that tells them apart.", ref(id))
		}
		if in != nil {
			l.lay(in)
		}
		all = append(all, l.faults...)
		if in == nil || len(l.faults) > 0 {
			continue
		}
		if e.Name != "" {
			byName[strings.ToLower(e.Name)] = e.ID
		}
		if j, ok := at[in.ID]; ok {
			list[j] = in
		} else {
			at[in.ID] = len(list)
			list = append(list, in)
		}
	}
	if err := all.Err(); err != nil {
		return nil, err
	}
	return index(list), nil
}

// laying is one entry while it is applied to the catalogue.
type laying struct {
	e      *Entry
	many   bool // there are other entries
	faults fault.List
}

// ref names an ingredient in a sentence.
func ref(id string) fault.Ref { return fault.Ref{Kind: "ingredient", ID: clip(id)} }

func (l *laying) bad(field, format string, args ...any) {
	l.add(fault.Invalidf, field, format, args...)
}

// add notes a fault. Among several entries its sentence begins with the ingredient.
func (l *laying) add(kind func(field, format string, args ...any) *fault.Error, field, format string, args ...any) {
	if l.many {
		format, args = "Ingredient %s: "+format, slices.Insert(args, 0, any(ref(l.e.ID)))
	}
	l.faults.Add(kind(field, format, args...))
}

// check judges each field by itself.
func (l *laying) check() {
	e := l.e
	for _, f := range textFields {
		l.text(f.name, f.get(e), f.max)
	}
	for _, f := range fields {
		m := *f.In(e)
		if !m.Known {
			continue
		}
		switch {
		case !quantity.Finite(m.V):
			l.bad(f.Name, "This is not a number: type digits, such as 190.5.")
		case m.V < f.Min || m.V > f.Max:
			l.bad(f.Name, "%s lies outside %g to %g %s.", num(m.V), f.Min, f.Max, f.Unit)
		}
	}
	for _, w := range e.Roles {
		if r, ok := roleNames[w]; !ok {
			l.bad("roles", "%q is no role: choose among fat, extra, liquid, colourant, scent, surfactant.", clip(w))
		} else if r == RoleAlkali || r == RoleName {
			l.bad("roles", "The role %q is the catalogue's alone.", w)
		}
	}
	for _, w := range e.Nature {
		if _, ok := natureNames[w]; !ok {
			l.bad("nature", "%q is not known: choose among %s.", clip(w), Nature(math.MaxUint16))
		}
	}
	if _, ok := kinds[e.Kind]; e.Kind != "" && (!ok || e.Kind == "wax_ester") {
		l.bad("kind", "%q is none of triglyceride, fatty_acid, wax.", clip(e.Kind))
	}
	known := map[string]bool{"roles": true, "kind": true, "profile_pct": true, "nature": true}
	for _, f := range textFields {
		known[f.name] = true
	}
	for _, f := range fields {
		known[f.Name] = true
	}
	for _, name := range sortedKeys(e.Sources) {
		if !known[name] {
			l.bad("sources."+clip(name), "There is a source for %q, which is no field.", clip(name))
			continue
		}
		l.text("sources."+name, e.Sources[name], 300)
	}
	l.profile()
}

// text judges a line of text. It must be UTF-8, have no more than limit
// letters, have no space around it, and hold only characters that print.
func (l *laying) text(field, s string, limit int) {
	switch {
	case !utf8.ValidString(s):
		l.bad(field, "The text is not UTF-8: type it again.")
	case utf8.RuneCountInString(s) > limit:
		l.bad(field, "The text is longer than %d letters: shorten it.", limit)
	case s != strings.TrimSpace(s):
		l.bad(field, "There is space before or after the text: take it away.")
	case strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) && (r != '\n' || field != "note") }):
		l.bad(field, "There is a character in the text that does not print: take it out.")
	}
}

// profile judges the fatty acids.
func (l *laying) profile() {
	if len(l.e.Profile) == 0 {
		return
	}
	var sum float64
	var seen [NumAcids]bool
	before := len(l.faults)
	for _, symbol := range sortedKeys(l.e.Profile) {
		v, field := l.e.Profile[symbol], "profile_pct."+clip(symbol)
		a, err := ParseAcid(symbol)
		switch {
		case err != nil:
			l.bad(field, "%s", fault.All(err)[0].Message)
		case seen[a]:
			l.bad(field, "%s is there twice.", a)
		case !quantity.Finite(v):
			l.bad(field, "This is not a number: type digits, such as 38.5.")
		case v < 0 || v > 100:
			l.bad(field, "%s lies outside 0 to 100 %%.", num(v))
		default:
			seen[a] = true
			sum += v
		}
	}
	if len(l.faults) == before && (sum < 90 || sum > 101) {
		l.bad("profile_pct", "The fatty acids sum to %s %%: they should come to 100, and 90 to 101 is taken.", num(sum))
	}
}

// base returns a copy of the ingredient that the entry changes, or a new
// ingredient. It returns nil, and adds a fault, when there is neither.
func (l *laying) base(c *Catalogue, list []*Ingredient, at map[string]int) *Ingredient {
	e := l.e
	if e.ID == "" {
		l.bad("id", "An id is missing: lower case words joined by hyphens, as neem-oil.")
		return nil
	}
	i, here := at[e.ID]
	if !e.Own {
		if !here {
			if to, ok := aliases[e.ID]; ok {
				l.add(fault.NotFoundf, "id", "%q is listed as %s: change that one.", e.ID, ref(to))
			} else {
				l.add(fault.NotFoundf, "id", "%s", fault.All(c.notFound(e.ID))[0].Message)
			}
			return nil
		}
		in := *list[i]
		in.Facts = slices.Clone(in.Facts)
		if in.Fat != nil {
			fat := *in.Fat
			in.Fat = &fat
		}
		if in.Extra != nil {
			x := *in.Extra
			in.Extra = &x
		}
		in.Changed = !in.Own
		return &in
	}
	if e.ID != IDFor(e.ID) {
		l.bad("id", "%q is not an id: lower case words joined by hyphens, at most %d letters, as neem-oil.", clip(e.ID), maxID)
		return nil
	}
	if _, taken := aliases[e.ID]; here || taken || grades[e.ID] != nil {
		l.add(fault.Conflictf, "id", "%q is taken: choose another id, or change the one that is there.", e.ID)
		return nil
	}
	if e.Name == "" {
		l.bad("name", "A name is missing: what you call it at the bench.")
	}
	if len(e.Roles) == 0 {
		l.bad("roles", "Say what it may be in a formula: fat, extra, liquid, colourant, scent, surfactant.")
	}
	return &Ingredient{ID: e.ID, Own: true}
}

// lay applies the entry's values to in, and judges them together.
func (l *laying) lay(in *Ingredient) {
	e := l.e
	var added Role
	for _, w := range e.Roles {
		added |= roleNames[w]
	}
	added &^= RoleAlkali | RoleName
	if added&(RoleLiquid|RoleColourant|RoleSurfactant) != 0 {
		added |= RoleExtra
	}
	if added&^in.Roles != 0 && in.Roles&(RoleAlkali|RoleName) != 0 {
		l.bad("roles", "%s is for %s only: it cannot take another role.", ref(in.ID), strings.Join(in.Roles.Words(), " and "))
		return
	}
	in.Roles |= added
	for _, t := range []struct {
		field, key, label string
		to                *string
		s                 string
	}{
		{"name", "", "", &in.Name, e.Name}, {"function", "", "", &in.Function, e.Function}, {"note", "", "", &in.Note, e.Note},
		{"inci", "inci", "INCI name", &in.INCI, e.INCI}, {"us_name", "us-name", "Name on a US label", &in.USName, e.USName},
		{"cas", "cas", "CAS number", &in.CAS, e.CAS},
	} {
		if t.s == "" {
			continue
		}
		*t.to = t.s
		if t.key != "" {
			in.setFact(t.key, t.label, t.s, "", e.source(t.field))
		}
	}
	l.layFat(in)
	l.layExtra(in)
}

// sets returns the name of the first field that the entry sets for a fat or for
// an extra, or "".
func (l *laying) sets(of Role) string {
	for _, f := range fields {
		if f.Of == of && f.In(l.e).Known {
			return f.Name
		}
	}
	for _, f := range textFields {
		if f.of == of && f.get(l.e) != "" {
			return f.name
		}
	}
	switch {
	case of == RoleFat && len(l.e.Profile) > 0:
		return "profile_pct"
	case of == RoleFat && l.e.Kind != "":
		return "kind"
	case of == RoleExtra && len(l.e.Nature) > 0:
		return "nature"
	}
	return ""
}

func (l *laying) layFat(in *Ingredient) {
	e, first := l.e, l.sets(RoleFat)
	if !in.Roles.Has(RoleFat) {
		if first != "" {
			l.bad(first, "This is a value of a fat: give it the role fat, or leave the value out.")
		}
		return
	}
	if in.Fat == nil {
		in.Fat = &Fat{}
		if e.Kind == "" {
			l.bad("kind", "Say how it meets alkali: triglyceride, fatty_acid or wax.")
		}
		in.Fat.Kind = kinds[e.Kind]
	} else if e.Kind != "" && kinds[e.Kind] != in.Fat.Kind {
		l.bad("kind", "How a fat of the catalogue meets alkali cannot be changed: enter one of your own.")
	}
	f := in.Fat
	l.laySAP(in)
	if l.e.SureAcidValue.Known {
		if f.Kind != Wax {
			l.bad("sure_acid_value_mg_koh_g", "Only a wax has an acid value that surely reacts beside what may not: leave it out.")
		}
		f.SureAcidValue = e.SureAcidValue.V
		l.number(in, "sure-acid-value", "Acid value that surely reacts", "mg KOH/g", "sure_acid_value_mg_koh_g", e.SureAcidValue)
	} else if f.Kind == Wax && !in.hasFact("sure-acid-value") {
		l.bad("sure_acid_value_mg_koh_g", "A wax needs the acid value that surely reacts; 0 counts on none of it.")
	}
	if f.Kind == Wax && f.SAP.Known() && f.SureAcidValue > f.SAP.Max.V {
		l.bad("sure_acid_value_mg_koh_g", "%s is above the saponification value %s: the acids are a part of it.", num(f.SureAcidValue), num(f.SAP.Max.V))
	}
	l.ends(in, &f.Iodine, e.IodineMin, e.IodineMax, "iodine", "Iodine value", "g I2/100 g", "iodine_min_g_100g", "iodine_max_g_100g")
	l.ends(in, &f.Melting, e.MeltingMin, e.MeltingMax, "melting", "Melting or slip point", "°C", "melting_min_c", "melting_max_c")
	if e.UnsaponifiableMax.Known {
		f.UnsaponifiableMax = e.UnsaponifiableMax
		in.setFact("unsaponifiable", "Unsaponifiable matter", "at most "+num(e.UnsaponifiableMax.V), "g/kg", e.source("unsaponifiable_max_g_kg"))
	}
	if e.Density40.Known {
		f.Density40 = e.Density40
		l.number(in, "density-40", "Density at 40 °C", "g/ml", "density_40c_g_ml", e.Density40)
	}
	if e.INCISodium != "" {
		f.INCISodium = e.INCISodium
		in.setFact("inci-sodium", "INCI name as sodium soap", e.INCISodium, "", e.source("inci_sodium"))
	}
	if e.INCIPotassium != "" {
		f.INCIPotassium = e.INCIPotassium
		in.setFact("inci-potassium", "INCI name as potassium soap", e.INCIPotassium, "", e.source("inci_potassium"))
	}
	l.layProfile(in)
	l.agree(f)
}

// number records the fact of a value that was applied.
func (l *laying) number(in *Ingredient, key, label, unit, field string, m quantity.Maybe) {
	in.setFact(key, label, num(m.V), unit, l.e.source(field))
}

// laySAP applies the saponification value, given as a range or as a value with
// its tolerance.
func (l *laying) laySAP(in *Ingredient) {
	e, f := l.e, in.Fat
	lo, hi, field, source := e.SAPMin, e.SAPMax, "sap_min_mg_koh_g", e.source("sap_min_mg_koh_g", "sap_max_mg_koh_g")
	switch {
	case e.SAP.Known && (lo.Known || hi.Known):
		l.bad("sap_mg_koh_g", "Give the range or one value with its tolerance, not both.")
		return
	case e.SAP.Known:
		field, source = "sap_mg_koh_g", e.source("sap_mg_koh_g")
		half := e.SAPHalfWidth.V
		if !e.SAPHalfWidth.Known {
			half = e.SAP.V / 100
			source += "; a tolerance of 1 % assumed"
		} else if half >= e.SAP.V {
			l.bad("sap_half_width", "The tolerance is as large as the value: give it in mg KOH/g, such as 2.")
			return
		}
		lo, hi = quantity.Some(e.SAP.V-half), quantity.Some(e.SAP.V+half)
	case e.SAPHalfWidth.Known:
		l.bad("sap_half_width", "This is the tolerance of a single value: give that value too.")
		return
	case lo.Known != hi.Known:
		missing := "sap_max_mg_koh_g"
		if hi.Known {
			missing = "sap_min_mg_koh_g"
		}
		l.bad(missing, "The other end of the range is there: give this one too.")
		return
	case !lo.Known:
		if !f.SAP.Known() {
			l.bad("sap_min_mg_koh_g", "A fat needs its saponification value in mg KOH/g: the range, or a value with its tolerance.")
		}
		return
	}
	if !quantity.Finite(lo.V) || !quantity.Finite(hi.V) {
		return // reported already
	}
	if e.SAP.Known {
		if !l.plausible(field, e.SAP.V, f.Kind) {
			return
		}
		if lo.V < sapLowest(f.Kind) {
			l.bad("sap_half_width", "The tolerance reaches down to %s mg KOH/g, lower than any named fat asks for: narrow it.", num(lo.V))
			return
		}
	} else if !l.plausible("sap_min_mg_koh_g", lo.V, f.Kind) || lo != hi && !l.plausible("sap_max_mg_koh_g", hi.V, f.Kind) {
		return
	}
	if lo.V > hi.V {
		l.bad("sap_min_mg_koh_g", "The lower end %s is above the upper end %s: exchange them.", num(lo.V), num(hi.V))
		return
	}
	f.SAP = quantity.Range{Min: lo, Max: hi}
	label := "Saponification value"
	if f.Kind == FreeAcid {
		label = "Acid value"
	}
	in.setFact("sap", label, between(num(lo.V), num(hi.V)), "mg KOH/g", source)
}

// sapLowest is the lowest saponification or acid value that is accepted for a
// kind.
func sapLowest(kind FatKind) float64 {
	if kind == Wax {
		return 1
	}
	return sapLow
}

// plausible refuses a value that looks like grams or milligrams of NaOH.
func (l *laying) plausible(field string, v float64, kind FatKind) bool {
	const toKOH = MolarKOH / MolarNaOH
	switch {
	case v >= sapLowest(kind):
		return true
	case v > 0 && v < 1:
		l.bad(field, "%s looks like g of alkali per g of fat: as NaOH that is %s mg KOH/g, as KOH %s.", num(v), num(1000*v*toKOH), num(1000*v))
	case v >= 100:
		l.bad(field, "%s is lower than any named fat asks for: if it is mg NaOH/g, as KOH that is %s.", num(v), num(v*toKOH))
	default:
		l.bad(field, "%s is too low for a saponification value in mg KOH/g: most fats lie between 170 and 260.", num(v))
	}
	return false
}

// ends applies a range of which either end may stay unknown.
func (l *laying) ends(in *Ingredient, r *quantity.Range, lo, hi quantity.Maybe, key, label, unit, loField, hiField string) {
	if !lo.Known && !hi.Known {
		return
	}
	if lo.Known {
		r.Min = lo
	}
	if hi.Known {
		r.Max = hi
	}
	if r.Known() && r.Min.V > r.Max.V {
		l.bad(loField, "The lower end %s is above the upper end %s.", num(r.Min.V), num(r.Max.V))
		return
	}
	face := func(m quantity.Maybe) string {
		if !m.Known {
			return ""
		}
		return num(m.V)
	}
	in.setFact(key, label, between(face(r.Min), face(r.Max)), unit, l.e.source(loField, hiField))
}

// layProfile replaces the fatty acids, and normalises them to sum to 1.
func (l *laying) layProfile(in *Ingredient) {
	if len(l.e.Profile) == 0 {
		return
	}
	var p Profile
	var sum float64
	for symbol, v := range l.e.Profile {
		a, err := ParseAcid(symbol)
		if err != nil || !quantity.Finite(v) || v < 0 || v > 100 {
			return // reported already
		}
		p[a] = v
	}
	for _, v := range p {
		sum += v
	}
	if sum < 90 || sum > 101 {
		return // reported already
	}
	source := l.e.source("profile_pct")
	if math.Abs(sum-100) > profileSumTol {
		source += fmt.Sprintf("; they sum to %s %%, and are counted as 100", num(sum))
	}
	in.Facts = slices.DeleteFunc(in.Facts, func(f Fact) bool { return slices.Contains(acidKeys[:], f.Key) })
	for i, v := range p {
		if v > 0 {
			in.fact(acidKeys[i], acidLabels[i], num(v), "% of the fatty acids", source)
		}
		p[i] = v / sum
	}
	in.Fat.HasProfile, in.Fat.Profile, in.Fat.ProfileRange = true, p, [NumAcids]quantity.Range{}
}

// agree refuses a saponification or iodine value that is far from what the
// fatty acids ask for. It allows more than the check on the catalogue's own
// tables. A fat with much unsaponifiable matter asks for less alkali, and a
// certificate should be believed. But no named fat differs by more than 15 %.
func (l *laying) agree(f *Fat) {
	if !f.HasProfile || len(l.faults) > 0 {
		return
	}
	if sap := f.Profile.SAP(f.Kind); sap.Known && (sap.V < f.SAP.Min.V*0.85 || sap.V > f.SAP.Max.V*1.15) {
		field := "sap_min_mg_koh_g"
		if l.e.SAP.Known {
			field = "sap_mg_koh_g"
		}
		l.bad(field, "The fatty acids ask for about %.0f mg KOH/g, which is far from %s: look at the unit (KOH, not NaOH) and at the acids.",
			sap.V, between(num(f.SAP.Min.V), num(f.SAP.Max.V)))
	}
	if iv := f.Profile.Iodine(f.Kind); iv.Known {
		if lo, hi := f.Iodine.Min, f.Iodine.Max; lo.Known && iv.V < lo.V-max(0.25*lo.V, 10) || hi.Known && iv.V > hi.V+max(0.25*hi.V, 10) {
			l.bad("iodine_min_g_100g", "The fatty acids ask for an iodine value of about %.0f, which is far from what is given: look at both.", iv.V)
		}
	}
}

func (l *laying) layExtra(in *Ingredient) {
	e, first := l.e, l.sets(RoleExtra)
	if in.Roles&(RoleExtra|RoleScent) == 0 {
		if first != "" {
			l.bad(first, "This is a value of what goes in beside the fats: give it the role extra, or leave the value out.")
		}
		return
	}
	fresh, assumed := in.Extra == nil, "assumed"
	if fresh {
		in.Extra = &Extra{DensityGML: 1}
	}
	x := in.Extra
	if f := in.Fat; fresh && f != nil && f.SAP.Known() && !e.FatPct.Known {
		// What is a fat takes alkali when it is stirred in too. A wax hardly does.
		mid := (f.SAP.Min.V + f.SAP.Max.V) / 2 // mg KOH/g
		switch {
		case f.Kind == Triglyceride:
			assumed = "as the fat that it is"
			x.FatPct, x.FatSAP = 100, quantity.Some(mid)
			in.setFact("fat-sap", "Saponification value of that fat", num(mid), "mg KOH/g", "the middle of its range as a fat")
		case f.Kind == FreeAcid && !e.AcidMolPerG.Known:
			assumed = "by the middle of its acid value"
			x.AcidMolPerG, x.AcidMolarMass, x.AlkaliSalt = mid/1000/MolarKOH, 1000*MolarKOH/mid, "soap"
		}
		x.DensityGML = f.Density40.Or(1)
	}
	for _, s := range []struct {
		field, key, label, unit string
		m                       quantity.Maybe
		to                      *float64
	}{
		{"fat_pct", "fat", "Fat in it", "% of its mass", e.FatPct, &x.FatPct},
		{"water_pct", "water", "Water in it", "% of its mass", e.WaterPct, &x.WaterPct},
		{"acid_mol_per_g", "acid", "Alkali that it takes first", "mol/g", e.AcidMolPerG, &x.AcidMolPerG},
		{"acid_molar_mass_g_mol", "acid-molar-mass", "Acid per mol of alkali", "g/mol", e.AcidMolarMass, &x.AcidMolarMass},
		{"sugar_pct", "sugar", "Sugar in it", "% of its mass", e.SugarPct, &x.SugarPct},
		{"density_g_ml", "density", "Density, stirred in", "g/ml", e.DensityGML, &x.DensityGML},
	} {
		switch {
		case s.m.Known:
			*s.to = s.m.V
			in.setFact(s.key, s.label, num(s.m.V), s.unit, e.source(s.field))
		case fresh && s.key != "acid-molar-mass":
			in.setFact(s.key, s.label, num(*s.to), s.unit, assumed)
		}
	}
	if e.FatSAP.Known {
		if quantity.Finite(e.FatSAP.V) && l.plausible("fat_sap_mg_koh_g", e.FatSAP.V, Triglyceride) {
			x.FatSAP = e.FatSAP
			l.number(in, "fat-sap", "Saponification value of that fat", "mg KOH/g", "fat_sap_mg_koh_g", e.FatSAP)
		}
	}
	if e.AlkaliSalt != "" {
		x.AlkaliSalt = e.AlkaliSalt
		in.setFact("alkali-salt", "What the acid leaves", e.AlkaliSalt, "", e.source("alkali_salt"))
	}
	if x.AcidMolPerG == 0 && e.AcidMolPerG.Known && e.AlkaliSalt == "" && !e.AcidMolarMass.Known {
		// The studio says that there is no acid in it, so there is no salt
		// either.
		x.AlkaliSalt, x.AcidMolarMass = "", 0
		in.Facts = slices.DeleteFunc(in.Facts, func(f Fact) bool { return f.Key == "alkali-salt" || f.Key == "acid-molar-mass" })
	}
	if x.FatPct == 0 && e.FatPct.Known && !e.FatSAP.Known {
		x.FatSAP = quantity.Maybe{}
		in.Facts = slices.DeleteFunc(in.Facts, func(f Fact) bool { return f.Key == "fat-sap" })
	}
	if e.GramsPerTsp.Known {
		x.GramsPerTsp = e.GramsPerTsp
		l.number(in, "grams-per-tsp", "A level US teaspoon of it", "g", "grams_per_tsp", e.GramsPerTsp)
	}
	if len(e.Nature) > 0 {
		x.Nature = 0
		for _, w := range e.Nature {
			x.Nature |= natureNames[w]
		}
		in.setFact("nature", "Nature", x.Nature.String(), "", e.source("nature"))
	}
	if len(l.faults) == 0 {
		l.faults = append(l.faults, x.faults()...)
	}
}

// setFact replaces the fact with that key, or adds it.
func (in *Ingredient) setFact(key, label, value, unit, source string) {
	for i := range in.Facts {
		if in.Facts[i].Key == key {
			in.Facts[i] = Fact{Key: key, Label: label, Value: value, Unit: unit, Source: source}
			return
		}
	}
	in.fact(key, label, value, unit, source)
}

func (in *Ingredient) hasFact(key string) bool {
	return slices.ContainsFunc(in.Facts, func(f Fact) bool { return f.Key == key })
}

// num writes a number for a maker to read: at most five figures, and no
// exponent unless it is huge or tiny.
func num(v float64) string {
	short := strconv.FormatFloat(v, 'g', 5, 64)
	r, err := strconv.ParseFloat(short, 64)
	if err != nil || math.Abs(r) >= 1e9 || r != 0 && math.Abs(r) < 1e-9 {
		return short
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
