package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/studio"
)

func (s *server) ingredientRoutes() {
	s.Place("Ingredients", "/ingredients")
	s.Handle("GET /ingredients", s.ingredients)
	s.Handle("GET /ingredients/new", s.newIngredient)
	s.Handle("POST /ingredients/new", s.postIngredient)
	s.Handle("GET /ingredients/{id}", s.ingredient)
	s.Handle("GET /ingredients/{id}/change", s.changeIngredient)
	s.Handle("POST /ingredients/{id}/change", s.postIngredient)
	s.Handle("POST /ingredients/{id}/withdraw", s.withdrawIngredient)
}

// typed reads a form and gathers what is wrong with it, field by field.
type typed struct {
	v      url.Values
	faults fault.List
}

// at notes what err says of a field, once per field.
func (t *typed) at(field string, err error) {
	if err == nil || t.has(field) {
		return
	}
	for _, f := range fault.All(err) {
		c := *f
		c.Field = field
		t.faults.Add(&c)
	}
}

// has reports that something is wrong with one of the fields already, or with
// one of their rows.
func (t *typed) has(fields ...string) bool {
	return slices.ContainsFunc(t.faults, func(f *fault.Error) bool {
		return slices.ContainsFunc(fields, func(n string) bool { return f.Field == n || strings.HasPrefix(f.Field, n+".") })
	})
}

// text is a line, or several, without space around.
func (t *typed) text(field string) string {
	return strings.TrimSpace(strings.ReplaceAll(t.v.Get(field), "\r\n", "\n"))
}

// number reads what may be left empty.
func (t *typed) number(field string, read func(string) (float64, error)) quantity.Maybe {
	text := t.text(field)
	if text == "" {
		return quantity.Maybe{}
	}
	x, err := read(text)
	if err != nil {
		t.at(field, err)
		return quantity.Maybe{}
	}
	return quantity.Some(x)
}

// count reads a whole number; nothing typed is 0.
func (t *typed) count(field string) int {
	m := t.number(field, quantity.ParseNumber)
	if n := int(m.V); m.V == float64(n) {
		return n
	}
	t.at(field, fault.Invalidf(field, "Half a one cannot be counted: write a whole number, as 12."))
	return 0
}

// plainNumber is a number as a form shows it, to be typed over.
func plainNumber(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// plainMaybe is plainNumber, or nothing.
func plainMaybe(m quantity.Maybe) string {
	if !m.Known {
		return ""
	}
	return plainNumber(m.V)
}

// inFace is a number that another unit's face was put on, in as many figures as
// anyone measures.
func inFace(m quantity.Maybe, face func(float64) float64) string {
	if !m.Known {
		return ""
	}
	s := strconv.FormatFloat(face(m.V), 'f', 4, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// orOld reads a number shown with a face. What was not touched stays as it was
// kept, which the face may have rounded.
func (t *typed) orOld(field string, old quantity.Maybe, shown string, read func(string) (float64, error)) quantity.Maybe {
	if old.Known && t.text(field) == shown {
		return old
	}
	return t.number(field, read)
}

// tempShown is a temperature in the studio's face, without its unit.
func (t trade) tempShown(m quantity.Maybe) string {
	if t.set.Temperature == quantity.Fahrenheit {
		return inFace(m, quantity.FahrenheitOf)
	}
	return plainMaybe(m)
}

func (t trade) parseTemp(text string) (float64, error) {
	return quantity.ParseTemp(text, t.set.Temperature)
}

// sentences begins what is wrong with a capital and ends it with a stop.
func sentences(l fault.List) fault.List {
	out := make(fault.List, len(l))
	for i, f := range l {
		c := *f
		if r, n := utf8.DecodeRuneInString(c.Message); n > 0 && unicode.IsLower(r) {
			c.Message = string(unicode.ToUpper(r)) + c.Message[n:]
		}
		if c.Message != "" && !strings.HasSuffix(c.Message, ".") {
			c.Message += "."
		}
		out[i] = &c
	}
	return out
}

// ingredientsView is the list.
type ingredientsView struct {
	Query, Kind string
	Kinds       []kindLink
	Fats        bool // the columns are those of fats
	Title       string
	Rows        []ingredientRow
	Pages       Pages
	Empty       *Empty
}

type kindLink struct {
	Link
	Current bool
}

type ingredientRow struct {
	Href, Name, Aside string
	SAP, Iodine       string // of a fat
	May               string // what it may be
}

// kindsOfIngredient are what the list can be narrowed to.
var kindsOfIngredient = []struct {
	value, label string
	is           func(*catalogue.Ingredient) bool
}{
	{"", "Everything", func(*catalogue.Ingredient) bool { return true }},
	{"fats", "Fats", func(i *catalogue.Ingredient) bool { return i.Roles.Has(catalogue.RoleFat) }},
	{"extras", "Extras", func(i *catalogue.Ingredient) bool { return i.Roles.Has(catalogue.RoleExtra) }},
	{"colourants", "Colourants", func(i *catalogue.Ingredient) bool { return i.Roles.Has(catalogue.RoleColourant) }},
	{"own", "The studio’s own", func(i *catalogue.Ingredient) bool { return i.Own || i.Changed }},
}

var ingredientsPage = shell.Declare[ingredientsView](room, "ingredients")

func (s *server) ingredients(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	v := ingredientsView{Query: strings.TrimSpace(r.FormValue("q")), Title: "Ingredient"}
	kind := kindsOfIngredient[0]
	for _, k := range kindsOfIngredient {
		if k.value == r.FormValue("kind") {
			kind = k
		}
	}
	v.Kind, v.Fats = kind.value, kind.value == "fats"
	address := func(kind string, page int) string {
		u := url.Values{}
		if v.Query != "" {
			u.Set("q", v.Query)
		}
		if kind != "" {
			u.Set("kind", kind)
		}
		if page > 1 {
			u.Set("page", strconv.Itoa(page))
		}
		if len(u) == 0 {
			return "/ingredients"
		}
		return "/ingredients?" + u.Encode()
	}
	for _, k := range kindsOfIngredient {
		v.Kinds = append(v.Kinds, kindLink{Link{Href: address(k.value, 1), Text: k.label}, k.value == kind.value})
	}
	found := slices.DeleteFunc(slices.Clone(t.cat.Search(v.Query)), func(i *catalogue.Ingredient) bool { return !kind.is(i) })
	const per = 40
	n, _ := strconv.Atoi(r.FormValue("page"))
	pages, offset := Pagination("ingredients", n, per, len(found), func(n int) string { return address(kind.value, n) })
	v.Pages = pages
	for _, in := range found[offset:min(offset+per, len(found))] {
		row := ingredientRow{Href: "/ingredients/" + in.ID, Name: in.Name, Aside: in.INCI, May: strings.Join(in.Roles.Words(), ", ")}
		switch {
		case in.Own:
			row.Aside = joined(row.Aside, "the studio’s own")
		case in.Changed:
			row.Aside = joined(row.Aside, "changed for this studio")
		}
		if f := in.Fat; f != nil {
			row.SAP, row.Iodine = rangeSaid(f.SAP), rangeSaid(f.Iodine)
		}
		v.Rows = append(v.Rows, row)
	}
	if len(v.Rows) == 0 {
		v.Empty = &Empty{Text: "Nothing here has “" + v.Query + "” in its name or its INCI name. Spell it another way, or write it in as one of your own.",
			Do: &Button{Label: "Show everything", Href: "/ingredients"}}
		if v.Query == "" {
			v.Empty = &Empty{Text: "Nothing of the studio’s own is written in yet. A certificate with a closer saponification value than the catalogue’s is worth the typing.",
				Do: &Button{Label: "Write in one of your own", Href: "/ingredients/new"}}
		}
	}
	return ingredientsPage.Write(s.Shell, w, r, http.StatusOK, Head{Title: "Ingredients", Lead: "What may go into a formula, each value with where it comes from.",
		Actions: []Button{{Label: "Write in one of your own", Look: Main, Href: "/ingredients/new"}}}, v)
}

// joined sets two asides one after the other.
func joined(a, b string) string {
	switch {
	case a == "":
		return b
	case b == "":
		return a
	}
	return a + "; " + b
}

// rangeSaid is a range as a column shows it: either end may be unknown.
func rangeSaid(r quantity.Range) string {
	switch {
	case r.Known() && r.Min.V == r.Max.V:
		return plainNumber(r.Min.V)
	case r.Known():
		return plainNumber(r.Min.V) + " to " + plainNumber(r.Max.V)
	case r.Min.Known:
		return "from " + plainNumber(r.Min.V)
	case r.Max.Known:
		return "to " + plainNumber(r.Max.V)
	}
	return ""
}

// ingredientView is one ingredient.
// usesShown is how many formulas a page of an ingredient names; the rest are
// found in the list of formulas.
const usesShown = 40

type ingredientView struct {
	MoreUses, FindUses string // what stands after the formulas named, and where they are
	Summary            Summary
	ID, Note           string
	Facts              []factRow
	Groups             []groupRow
	Sources            []string // of the fatty acids
	Uses               []useRow
	Change             string // address of the form
	Says               string // what the button to it says
	Withdraw           string // what the button that takes back says; "" when nothing was changed
}

type factRow struct {
	Label, Value, Unit, Source string
	Words                      bool // the value is words
}

type groupRow struct {
	Name, Does, Share string
	Width             float64 // of its bar, of 100
	Acids             []acidRow
}

type acidRow struct{ Name, Aside, Share string }

type useRow struct{ Href, Name, Aside string }

// groupsDo says in a few words what a group of fatty acids does in the bar:
// common practice, no source.
var groupsDo = [catalogue.NumGroups]string{
	catalogue.Quick:    "dissolves fast: early, big lather; takes more oil off the skin",
	catalogue.Slow:     "dissolves slowly: a firm bar that wears well",
	catalogue.Mellow:   "soft, mild, slow to lather",
	catalogue.Fleeting: "mild, and the first to turn rancid",
	catalogue.Holder:   "holds a lather, draws water",
}

// ofTheAcids is the unit that marks a fact as a fatty acid's share.
const ofTheAcids = "% of the fatty acids"

var ingredientPage = shell.Declare[ingredientView](room, "ingredient")

func (s *server) ingredient(w http.ResponseWriter, r *http.Request) error {
	return s.showIngredient(w, r, http.StatusOK, nil)
}

func (s *server) showIngredient(w http.ResponseWriter, r *http.Request, status int, refused error) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	in, err := t.cat.Get(r.PathValue("id"))
	if err != nil {
		return err
	}
	uses, err := s.cfg.Book.Uses(ctx, studio.KindIngredient, in.ID)
	if err != nil {
		return err
	}
	v := ingredientView{ID: in.ID, Note: in.Note, Change: "/ingredients/" + in.ID + "/change", Says: "Change a value for this studio"}
	for _, f := range fault.All(refused) {
		v.Summary.Faults = append(v.Summary.Faults, Link{Text: f.Message})
	}
	for _, f := range in.Facts {
		if f.Unit == ofTheAcids {
			if !slices.Contains(v.Sources, f.Source) {
				v.Sources = append(v.Sources, f.Source)
			}
			continue
		}
		v.Facts = append(v.Facts, factRow{f.Label, f.Value, f.Unit, f.Source, f.Unit == ""})
	}
	if in.Fat != nil && in.Fat.HasProfile {
		v.Groups = groupsOf(in.Fat)
	}
	if more := len(uses) - usesShown; more > 0 {
		uses = uses[:usesShown]
		v.MoreUses = "and " + quantity.Number(float64(more), 0) + " more"
		v.FindUses = "/formulas?" + url.Values{"q": {in.Name}}.Encode()
	}
	for _, u := range uses {
		row := useRow{Href: "/formulas/" + u.ID, Name: u.Name}
		if !u.Newest {
			row.Href += "?v=" + strconv.Itoa(u.N)
			row.Aside = fmt.Sprintf("last in version %d; the newest is without it", u.N)
		}
		if u.Archived {
			row.Aside = joined(row.Aside, "put away")
		}
		v.Uses = append(v.Uses, row)
	}
	head := Head{Title: in.Name, Lead: in.INCI}
	switch {
	case in.Own:
		head.Lead, v.Says, v.Withdraw = joined(in.INCI, "the studio’s own"), "Change it", "Withdraw it"
	case in.Changed:
		head.Lead, v.Says, v.Withdraw = joined(in.INCI, "changed for this studio"), "Change it further", "Take the studio’s change back"
	}
	head.Actions = []Button{{Label: v.Says, Href: v.Change}}
	return ingredientPage.Write(s.Shell, w, r, status, head, v)
}

// groupsOf sorts the fatty acids of a fat into what they do, largest acid first.
func groupsOf(f *catalogue.Fat) []groupRow {
	info := catalogue.AcidTable()
	var out []groupRow
	for g := range catalogue.Group(catalogue.NumGroups) {
		var acids []catalogue.Acid
		sum := 0.0
		for a := range catalogue.Acid(catalogue.NumAcids) {
			if a.Group() == g && (f.Profile[a] > 0 || f.ProfileRange[a].Max.V > 0) {
				acids = append(acids, a)
				sum += f.Profile[a]
			}
		}
		slices.SortStableFunc(acids, func(a, b catalogue.Acid) int {
			switch {
			case f.Profile[a] > f.Profile[b]:
				return -1
			case f.Profile[a] < f.Profile[b]:
				return 1
			}
			return 0
		})
		row := groupRow{Name: g.String(), Does: groupsDo[g], Share: quantity.Number(sum*100, 1), Width: min(max(sum*100, 0), 100)}
		for _, a := range acids {
			said := rangeSaid(quantity.Range{Min: timesHundred(f.ProfileRange[a].Min), Max: timesHundred(f.ProfileRange[a].Max)})
			if said != "" {
				said = "published: " + said
			}
			row.Acids = append(row.Acids, acidRow{info[a].Symbol + " " + info[a].Trivial, said, quantity.Number(f.Profile[a]*100, 1)})
		}
		out = append(out, row)
	}
	return out
}

// timesHundred turns a share into percent without the fuzz of binary fractions.
func timesHundred(m quantity.Maybe) quantity.Maybe {
	if !m.Known {
		return m
	}
	x, err := strconv.ParseFloat(strconv.FormatFloat(m.V*100, 'f', 6, 64), 64)
	if err != nil {
		return quantity.Maybe{}
	}
	return quantity.Some(x)
}

func (s *server) withdrawIngredient(w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PathValue("id")
	err := s.cfg.Book.WithdrawIngredient(ctx, id)
	if fault.KindOf(err) == fault.Conflict && err != nil {
		return s.showIngredient(w, r, http.StatusConflict, err)
	}
	if err != nil {
		return err
	}
	to := "/ingredients?kind=own"
	if cat, err := s.cfg.Book.Catalogue(ctx); err == nil {
		if _, err := cat.Get(id); err == nil {
			to = "/ingredients/" + id
		}
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// ingredientFormView is the form of one of the studio's own, or of a change.
type ingredientFormView struct {
	Action      string
	Back        string
	Own         bool
	Summary     Summary
	Names       []Field
	Note        Prose
	MayChange   bool // its roles and its chemistry may be changed here
	Roles       []Check
	RolesFault  string
	Kind        *Select
	Fat         []Field
	FatOpen     bool
	Acids       []Field
	AcidsOpen   bool
	AcidsFault  string
	Extra       []Field
	ExtraOpen   bool
	Nature      []Check
	NatureFault string
	Source      Field
	Keep        string
}

var ingredientFormPage = shell.Declare[ingredientFormView](room, "ingredient_form")

// entryRoles are the roles that the studio may give.
var entryRoles = []struct{ word, label, hint string }{
	{"fat", "a fat", "stands among the fats and is saponified"},
	{"extra", "an extra", "dosed beside the fats"},
	{"liquid", "a liquid", "may take the place of water"},
	{"colourant", "a colourant", ""},
	{"surfactant", "a surfactant", ""},
	{"scent", "a scent", ""},
}

// natures are the words of what an extra does, as an entry writes them.
var natures = []struct{ word, label string }{
	{"sugar", "sugar: heats the batter, browns"},
	{"milk", "milk: scorches in hot lye"},
	{"honey", "honey"},
	{"salt", "salt: hardens, stops lather in high dose"},
	{"clay", "clay: draws water, thickens"},
	{"acid", "acid: takes alkali first"},
	{"alkaline", "alkaline: adds alkali that is not counted"},
	{"alcohol", "alcohol: flames, thickens the batter"},
	{"scratchy", "scratchy: rough on skin"},
	{"plastic", "plastic: particles, banned in places"},
}

// acidField is the form's name of a fatty acid's share. A colon in an address
// would be read as the end of a scheme.
func acidField(a catalogue.Acid) string {
	return "profile_pct." + strings.ReplaceAll(a.String(), ":", "-")
}

// entryForm writes an entry as the form shows it.
func (t trade) entryForm(e *catalogue.Entry) url.Values {
	v := url.Values{}
	for name, text := range map[string]string{"id": e.ID, "name": e.Name, "inci": e.INCI, "us_name": e.USName, "cas": e.CAS, "function": e.Function,
		"note": e.Note, "kind": e.Kind, "inci_sodium": e.INCISodium, "inci_potassium": e.INCIPotassium, "alkali_salt": e.AlkaliSalt, "source": e.Source} {
		v.Set(name, text)
	}
	for _, f := range catalogue.Fields() {
		v.Set(f.Name, t.entryShown(f, *f.In(e)))
	}
	for symbol, pct := range e.Profile {
		if a, err := catalogue.ParseAcid(symbol); err == nil {
			v.Set(acidField(a), plainNumber(pct))
		}
	}
	for _, w := range e.Roles {
		v.Set("role-"+w, "on")
	}
	for _, w := range e.Nature {
		v.Set("nature-"+w, "on")
	}
	return v
}

func (t trade) entryShown(f catalogue.Field, m quantity.Maybe) string {
	if f.Unit == "°C" {
		return t.tempShown(m)
	}
	return plainMaybe(m)
}

// sapFields are the ones that stand in for each other.
var sapFields = []string{"sap_min_mg_koh_g", "sap_max_mg_koh_g", "sap_mg_koh_g", "sap_half_width"}

// readEntry reads the form of an ingredient. Old is what stands under its id,
// if anything does. What cannot be read at all is in the faults, with what is
// wrong with the rest as far as that can be told.
func (t trade) readEntry(v url.Values, id string, own bool, old catalogue.Entry) (catalogue.Entry, fault.List) {
	in := typed{v: v}
	e := catalogue.Entry{ID: id, Own: own, Name: in.text("name"), INCI: in.text("inci"), USName: in.text("us_name"), CAS: in.text("cas"),
		Function: in.text("function"), Note: in.text("note"), Kind: in.text("kind"), INCISodium: in.text("inci_sodium"),
		INCIPotassium: in.text("inci_potassium"), AlkaliSalt: in.text("alkali_salt"), Source: in.text("source")}
	if own && id == "" {
		if e.ID = in.text("id"); e.ID == "" {
			e.ID = catalogue.IDFor(e.Name)
		}
		switch {
		case e.Name == "":
			in.faults.Add(fault.Invalidf("name", "A name is missing: what you call it at the bench."))
		case e.ID == "new":
			in.faults.Add(fault.Invalidf("id", "“new” is the address of this form: give another word for files, as new-oil."))
		case e.ID == "":
			in.faults.Add(fault.Invalidf("id", "No word for files can be made of that name: write one, in lower case words joined by hyphens, as neem-oil."))
		}
	}
	for _, f := range catalogue.Fields() {
		read := quantity.ParseNumber
		if f.Unit == "°C" {
			read = t.parseTemp
		}
		was := *f.In(&old)
		*f.In(&e) = in.orOld(f.Name, was, t.entryShown(f, was), read)
	}
	for a := range catalogue.Acid(catalogue.NumAcids) {
		if m := in.number(acidField(a), parsePercent); m.Known {
			if e.Profile == nil {
				e.Profile = map[string]float64{}
			}
			e.Profile[a.String()] = m.V
		}
	}
	for _, r := range entryRoles {
		if v.Get("role-"+r.word) != "" {
			e.Roles = append(e.Roles, r.word)
		}
	}
	for _, n := range natures {
		if v.Get("nature-"+n.word) != "" {
			e.Nature = append(e.Nature, n.word)
		}
	}
	// A value's own source, written by a file, stays with a value that stays.
	sets := e.Sets()
	for name, source := range old.Sources {
		if slices.Contains(sets, name) && v.Get(name) == t.entryForm(&old).Get(name) {
			if e.Sources == nil {
				e.Sources = map[string]string{}
			}
			e.Sources[name] = source
		}
	}
	if !own && len(sets) == 0 && len(in.faults) == 0 {
		in.faults.Add(fault.Invalidf("", "Nothing is changed: type the values that are to stand in place of the catalogue’s. To take a change back, withdraw it."))
	}
	if len(in.faults) > 0 {
		in.alsoWrong(e)
	}
	return e, in.faults
}

// alsoWrong adds what is wrong with the fields that could be read, so that a
// form comes back once.
func (t *typed) alsoWrong(e catalogue.Entry) {
	base, err := catalogue.Default()
	if err != nil {
		return
	}
	if e.ID == "" {
		e.ID = "not-named-yet" // said already, and no reason to keep the rest back
	}
	if _, err = base.With(e); err == nil {
		return
	}
	sap, acids := t.has(sapFields...), t.has("profile_pct")
	for _, f := range entryFaults(fault.All(err), e.ID) {
		if t.has(f.Field) || f.Field == "id" && !e.Own || sap && slices.Contains(sapFields, f.Field) || acids && f.Field == "profile_pct" {
			continue
		}
		t.faults.Add(f)
	}
}

// entryFaults gives faults of an entry the names of the form's fields, and takes
// the id from the head of their sentences.
func entryFaults(l fault.List, id string) fault.List {
	out := make(fault.List, len(l))
	for i, f := range l {
		c := *f
		if strings.HasPrefix(c.Field, "profile_pct.") {
			c.Field = strings.ReplaceAll(c.Field, ":", "-")
		}
		if strings.HasPrefix(c.Field, "sources.") {
			c.Field = "source"
		}
		head, rest, ok := strings.Cut(c.Message, ": ")
		if quoted, named := strings.CutPrefix(head, `Ingredient "`); ok && named && id != "" &&
			strings.HasPrefix(id, strings.TrimSuffix(strings.TrimSuffix(quoted, `"`), "…")) {
			c.Message = rest
		}
		out[i] = &c
	}
	return out
}

func (s *server) newIngredient(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	v := url.Values{"name": {strings.TrimSpace(r.FormValue("name"))}}
	return s.showIngredientForm(w, r, http.StatusOK, t, nil, v, nil)
}

func (s *server) changeIngredient(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	in, err := t.cat.Get(r.PathValue("id"))
	if err != nil {
		return err
	}
	e, err := s.entryOf(r.Context(), in)
	if err != nil {
		return err
	}
	return s.showIngredientForm(w, r, http.StatusOK, t, in, t.entryForm(&e), nil)
}

// entryOf is what the studio says of an ingredient already; empty when nothing.
func (s *server) entryOf(ctx context.Context, in *catalogue.Ingredient) (catalogue.Entry, error) {
	if !in.Own && !in.Changed {
		return catalogue.Entry{ID: in.ID}, nil
	}
	return s.cfg.Book.Ingredient(ctx, in.ID)
}

// postIngredient keeps the form of a new ingredient, or of a change.
func (s *server) postIngredient(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	v, err := readForm(r)
	if err != nil {
		return err
	}
	var in *catalogue.Ingredient
	var old catalogue.Entry
	id, own := "", true
	if asked := r.PathValue("id"); asked != "" {
		if in, err = t.cat.Get(asked); err != nil {
			return err
		}
		if old, err = s.entryOf(ctx, in); err != nil {
			return err
		}
		id, own = in.ID, in.Own
	}
	e, faults := t.readEntry(v, id, own, old)
	if len(faults) == 0 && in == nil {
		// PutEntry would put this one in the place of the one that has the id.
		if there, err := t.cat.Get(e.ID); err == nil {
			faults.Add(fault.Conflictf("id", "“%s” is the word of %s already: give another word for files, or change that one.", e.ID, there.Name))
		}
	}
	if len(faults) > 0 {
		return s.showIngredientForm(w, r, http.StatusUnprocessableEntity, t, in, v, faults)
	}
	if err := s.cfg.Book.PutIngredient(ctx, e); err != nil {
		// What the catalogue says of a taken id is as much a fault of the form.
		if k := fault.KindOf(err); k == fault.Invalid || k == fault.Conflict {
			return s.showIngredientForm(w, r, http.StatusUnprocessableEntity, t, in, v, entryFaults(fault.All(err), e.ID))
		}
		return err
	}
	http.Redirect(w, r, "/ingredients/"+e.ID, http.StatusSeeOther)
	return nil
}

// factOfField is the fact that shows what a number stands at now.
var factOfField = map[string]string{
	"sap_min_mg_koh_g": "sap", "sure_acid_value_mg_koh_g": "sure-acid-value", "iodine_min_g_100g": "iodine",
	"unsaponifiable_max_g_kg": "unsaponifiable", "density_40c_g_ml": "density-40", "melting_min_c": "melting",
	"fat_pct": "fat", "fat_sap_mg_koh_g": "fat-sap", "water_pct": "water", "acid_mol_per_g": "acid", "acid_molar_mass_g_mol": "acid-molar-mass",
	"sugar_pct": "sugar", "density_g_ml": "density", "grams_per_tsp": "grams-per-tsp",
	"inci": "inci", "us_name": "us-name", "cas": "cas", "inci_sodium": "inci-sodium", "inci_potassium": "inci-potassium", "alkali_salt": "alkali-salt",
}

// showIngredientForm writes the form with what stands in v; in is nil for a new one.
func (s *server) showIngredientForm(w http.ResponseWriter, r *http.Request, status int, t trade, in *catalogue.Ingredient, v url.Values, faults fault.List) error {
	own := in == nil || in.Own
	now := map[string]string{}
	if in != nil && !in.Own {
		for _, f := range in.Facts {
			now[f.Key] = strings.TrimSpace(f.Value + " " + f.Unit)
		}
	}
	hint := func(name, otherwise string) string {
		if x := now[factOfField[name]]; x != "" {
			return "now " + x
		}
		return otherwise
	}
	words := func(name, label, otherwise string) Field {
		f := fieldOf(v, faults, name, label, "", hint(name, otherwise))
		f.Words, f.Wide = true, true
		return f
	}
	d := ingredientFormView{Action: "/ingredients/new", Back: "/ingredients", Own: own, Keep: "Keep it", MayChange: true}
	name := ""
	if in != nil {
		d.Action, d.Back, name = "/ingredients/"+in.ID+"/change", "/ingredients/"+in.ID, in.Name
		d.MayChange = !in.Roles.Has(catalogue.RoleAlkali) && !in.Roles.Has(catalogue.RoleName)
	}
	nameHint := "what you call it at the bench"
	if !own {
		nameHint = "now " + name
	}
	d.Names = []Field{words("name", "Name", nameHint)}
	if in == nil {
		d.Names = append(d.Names, words("id", "Word for files", "made of the name when left empty, as neem-oil"))
	}
	d.Names = append(d.Names, words("inci", "INCI name", "for the label"), words("us_name", "Name on a US label", "where it differs"),
		words("cas", "CAS number", ""), words("function", "What it does", "as colourant, chelating"))
	d.Note = Prose{Name: "note", Label: "Note", Value: v.Get("note"), Fault: FaultAt(faults, "note"), Rows: 3}
	for _, x := range entryRoles {
		has := in != nil && !in.Own && slices.Contains(in.Roles.Words(), x.word)
		if has && v.Get("role-"+x.word) == "" {
			continue // the catalogue's already, and not to be taken away
		}
		d.Roles = append(d.Roles, Check{Name: "role-" + x.word, Label: x.label, Hint: x.hint, Ticked: v.Get("role-"+x.word) != ""})
	}
	d.RolesFault = FaultAt(faults, "roles")
	if own || in.Fat == nil || v.Get("kind") != "" {
		k := selectOf(v, faults, "kind", "How a fat meets alkali", []Option{{Value: "", Label: "it is no fat"}, {Value: "triglyceride", Label: "triglyceride: saponifies"},
			{Value: "fatty_acid", Label: "free fatty acid: neutralises at once"}, {Value: "wax", Label: "wax: hardly reacts"}})
		d.Kind = &k
	}
	open := func(fields []Field) bool {
		return slices.ContainsFunc(fields, func(f Field) bool { return f.Value != "" || f.Fault != "" })
	}
	for _, f := range catalogue.Fields() {
		unit := f.Unit
		if unit == "°C" {
			unit = t.set.Temperature.String()
		}
		short := strings.TrimSuffix(unit, " of its mass") // the legend says of what
		field := fieldOf(v, faults, f.Name, f.Label, short, hint(f.Name, ""))
		if f.Name == "sure_acid_value_mg_koh_g" && !own && in.Fat != nil && in.Fat.Kind != catalogue.Wax && field.Value == "" {
			continue // of a wax only
		}
		if f.Of == catalogue.RoleFat {
			d.Fat = append(d.Fat, field)
		} else {
			d.Extra = append(d.Extra, field)
		}
	}
	d.Fat = append(d.Fat, words("inci_sodium", "INCI name as sodium soap", ""), words("inci_potassium", "INCI name as potassium soap", ""))
	d.Extra = append(d.Extra, words("alkali_salt", "What its acid leaves", "as citrate"))
	d.FatOpen = in == nil || in.Fat != nil || d.Kind != nil && d.Kind.Fault != "" || open(d.Fat)
	info := catalogue.AcidTable()
	for a := range catalogue.Acid(catalogue.NumAcids) {
		shown := ""
		if in != nil && !in.Own && in.Fat != nil && in.Fat.Profile[a] > 0 {
			shown = "now " + quantity.Number(in.Fat.Profile[a]*100, 1)
		}
		d.Acids = append(d.Acids, fieldOf(v, faults, acidField(a), info[a].Symbol+" "+info[a].Trivial, "%", shown))
	}
	d.AcidsFault = FaultAt(faults, "profile_pct")
	d.AcidsOpen = d.AcidsFault != "" || open(d.Acids)
	for _, n := range natures {
		d.Nature = append(d.Nature, Check{Name: "nature-" + n.word, Label: n.label, Ticked: v.Get("nature-"+n.word) != ""})
	}
	d.NatureFault = FaultAt(faults, "nature")
	d.ExtraOpen = d.NatureFault != "" || in != nil && in.Extra != nil || open(d.Extra) || slices.ContainsFunc(d.Nature, func(c Check) bool { return c.Ticked })
	d.Source = words("source", "Where the values come from", "as certificate of lot 2291; “"+catalogue.OwnSource+"” when left empty")
	d.Summary = Summarise(faults)
	if in != nil && in.Own || in == nil {
		// Its word for files is a field only while it is new.
		for i, l := range d.Summary.Faults {
			if in != nil && l.Href == "#id" {
				d.Summary.Faults[i].Href = ""
			}
		}
	}
	head := Head{Title: "One of your own", Lead: "An ingredient that the catalogue lacks. A fat needs its saponification value; all else may stay empty."}
	if in != nil {
		head.Title = in.Name + ", changed"
		head.Lead = "What you type stands in place of the catalogue’s value, for this studio. What stays empty stays as it is. Versions that were kept keep their figures."
		if own {
			head.Lead = "The studio’s own. Versions that were kept keep their figures."
		}
	}
	head.Actions = []Button{{Label: "Leave it", Href: d.Back}, {Label: d.Keep, Look: Main, Form: "ingredient"}}
	return ingredientFormPage.Write(s.Shell, w, r, status, head, d)
}
