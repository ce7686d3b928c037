package web

import (
	"context"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// formulaView is the editor.
type formulaView struct {
	Action     string // address of the form
	ID         string // "" while new
	Base       int    // version that is edited
	Summary    Summary
	ByWeight   bool
	Unit       string // of masses, as typed
	Name       Field
	Method     Choices
	Shown      string // the method whose fields stand on the page
	Melt, Hot  bool
	Carried    []carried // what was typed for another method
	FatsG      Field
	Superfat   Field
	Water      Field
	Fats       []fatRow
	Bases      []baseRow
	Melting    []Field
	Extras     []extraRow
	Scents     []scentRow
	Portions   []portionRow
	BlankFat   fatRow
	BlankBase  baseRow
	BlankExtra extraRow
	BlankScent scentRow
	BlankPart  portionRow
	Details    []Field // alkali and scale
	Liquid     []Field
	Cook       Field
	Stage      Select
	PourOpen   bool // something is typed of how it is poured
	More       []Field
	Notes      Prose
	Size       sizeView
	Note       Field // what changed, kept with the version
	KeepLabel  string
	Work       workView
	History    string // address of the versions; "" while new
	Sheet      string // address of the bench sheet; "" while new
}

var formulaPage = shell.Declare[formulaView](room, "formula")

// formulaFragments are what a live answer renews.
var formulaFragments = []string{"answers", "lye-lines", "fats-sum", "batter", "allergens", "undivided", "work", "findings-part", "head-count"}

func (s *server) blankForm(t trade) url.Values {
	f := &formula.Formula{Method: formula.Cold, Water: formula.Water{Value: 33}, SuperfatPct: 5, FatsG: 1000,
		Alkali:         formula.Alkali{NaOHPurityPct: t.set.NaOHPurityPct, KOHPurityPct: t.set.KOHPurityPct, PurityHalfWidthPct: t.set.PurityHalfWidthPct.Or(0)},
		ScaleDivisionG: t.set.ScaleDivisionG, CureWaterLossPct: t.set.CureWaterLossPct}
	v := formula.ToForm(f, t.faces())
	for i := range 3 {
		v.Set(formula.Path("fat", i, "id"), "")
	}
	return v
}

func (s *server) newFormula(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	return s.showFormula(w, r, http.StatusOK, t, s.blankForm(t), nil, nil)
}

func (s *server) formula(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	f, err := s.cfg.Book.Formulas.Get(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	ver := f.Newest
	if n, err := strconv.Atoi(r.FormValue("v")); err == nil && n != ver.N {
		if ver, err = s.cfg.Book.Formulas.Version(r.Context(), f.ID, n); err != nil {
			return err
		}
	}
	v := t.toForm(ver.Doc.Formula)
	v.Set("base", strconv.Itoa(f.Newest.N))
	return s.showFormula(w, r, http.StatusOK, t, v, nil, &ver)
}

// readForm reads the editor's form. A body that is no form is refused.
func readForm(r *http.Request) (url.Values, error) {
	if err := r.ParseForm(); err != nil {
		if strings.Contains(err.Error(), "too large") {
			return nil, err
		}
		return nil, fault.Invalidf("", "The form could not be read. Go back and send it again.")
	}
	return r.PostForm, nil
}

func (s *server) workFormula(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	v, err := readForm(r)
	if err != nil {
		return err
	}
	if !isLive(r) {
		return s.showFormula(w, r, http.StatusOK, t, v, nil, nil)
	}
	view, _ := s.formulaView(t, v, nil, "", nil)
	names := formulaFragments
	// What the maker types in is renewed only when a choice asks for other fields.
	if v.Get("shown") != view.Shown {
		names = []string{"jumps", "recipe", "batter", "work", "findings-part", "head-count"}
	}
	if v.Get("size.shown") != v.Get("size.by") {
		moulds, err := s.cfg.Book.Moulds.All(r.Context())
		if err != nil {
			return err
		}
		view.Size = sizeOf(t, v, nil, moulds, view.Work)
		names = append([]string{"size-fields"}, names...)
	}
	return formulaPage.Fragments(s.Shell, w, http.StatusOK, view, names...)
}

// postFormula is the editor's form with a button pressed: keep, or one that
// changes the form, which is shown again.
func (s *server) postFormula(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	v, err := readForm(r)
	if err != nil {
		return err
	}
	do := v.Get("do")
	if do != "keep" {
		var faults fault.List
		v, faults = s.reshape(ctx, t, v, do)
		status := http.StatusOK
		if len(faults) > 0 {
			status = http.StatusUnprocessableEntity
		}
		return s.showFormula(w, r, status, t, v, faults, nil)
	}
	f, faults := t.read(v, true)
	if len(faults) > 0 {
		return s.showFormula(w, r, http.StatusUnprocessableEntity, t, v, faults, nil)
	}
	kept, err := s.workedOut(f, t.cat)
	if err != nil {
		return s.showFormula(w, r, http.StatusUnprocessableEntity, t, v, fault.All(err), nil)
	}
	var ver studio.FormulaVersion
	if id := r.PathValue("id"); id == "" {
		ver, err = s.cfg.Book.Formulas.New(ctx, studio.Formula{Formula: f, Kept: kept}, v.Get("note"))
	} else {
		base, faults, berr := s.baseOf(ctx, id, v.Get("base"))
		if berr != nil {
			return berr
		}
		if len(faults) > 0 {
			return s.showFormula(w, r, http.StatusUnprocessableEntity, t, v, faults, nil)
		}
		ver, err = s.cfg.Book.Formulas.Keep(ctx, id, base, studio.Formula{Formula: f, Kept: kept}, v.Get("note"))
	}
	if err != nil {
		if k := fault.KindOf(err); k == fault.Invalid || k == fault.Conflict {
			if k == fault.Conflict {
				// Told of the newer version, the maker may keep theirs on top of it.
				v = maps.Clone(v)
				v.Del("base")
			}
			return s.showFormula(w, r, statusOf(k), t, v, fault.All(err), nil)
		}
		return err
	}
	http.Redirect(w, r, "/formulas/"+ver.ID, http.StatusSeeOther)
	return nil
}

// baseOf reads which version of a formula a form was opened from.
func (s *server) baseOf(ctx context.Context, id, text string) (int, fault.List, error) {
	f, err := s.cfg.Book.Formulas.Get(ctx, id)
	if err != nil {
		return 0, nil, err
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > f.Newest.N {
		return 0, fault.List{fault.Invalidf("", "The form does not say which version it changes, so nothing was kept. What you typed is still here: the newest is version %d; look at it, then keep yours on top of it.", f.Newest.N)}, nil
	}
	return n, nil, nil
}

// workedOut is what is kept with a version: the Monte Carlo, once.
func (s *server) workedOut(f *formula.Formula, cat *catalogue.Catalogue) (studio.Kept, error) {
	r, err := soap.Work(f, cat)
	if err != nil {
		return studio.Kept{}, err
	}
	k := studio.Kept{Engine: s.Version()}
	if f.Method != formula.Melt {
		k.Superfat = r.Drawn()
	}
	return k, nil
}

// maxRows is how many rows of a list a page shows: more than any formula may
// have, and few enough to draw at once.
const maxRows = formula.MaxFats + 20

// rowsIn are the numbers of a list's rows in the form, empty ones too, rising;
// maxRows at most.
func rowsIn(v url.Values, list, key string) []int {
	var out []int
	for name := range v {
		rest, ok := strings.CutPrefix(name, list+".")
		if !ok {
			continue
		}
		num, k, ok := strings.Cut(rest, ".")
		if n, err := strconv.Atoi(num); ok && err == nil && k == key && n > 0 && n < 10000 && strconv.Itoa(n) == num {
			out = append(out, n)
		}
	}
	slices.Sort(out)
	return out[:min(len(out), maxRows)]
}

// listKeys is, by list, the field that every row of it has.
var listKeys = map[string]string{"fat": "id", "base": "name", "extra": "id", "scent": "name", "portion": "name"}

// shared is the list whose rows share the mass of the batch: fats, or bases.
func shared(m formula.Method) string {
	if m == formula.Melt {
		return "base"
	}
	return "fat"
}

// reshape does what a button asks of the form itself.
func (s *server) reshape(ctx context.Context, t trade, v url.Values, do string) (url.Values, fault.List) {
	v = maps.Clone(v)
	add := func(list, key string) {
		rows := rowsIn(v, list, key)
		n := 1
		if len(rows) > 0 {
			n = rows[len(rows)-1] + 1
		}
		v.Set(list+"."+strconv.Itoa(n)+"."+key, "")
	}
	switch {
	case listKeys[strings.TrimPrefix(do, "add-")] != "" && strings.HasPrefix(do, "add-"):
		list := strings.TrimPrefix(do, "add-")
		add(list, listKeys[list])
	case strings.HasPrefix(do, "remove "):
		row := strings.TrimPrefix(do, "remove ") + "."
		for name := range v {
			if strings.HasPrefix(name, row) {
				delete(v, name)
			}
		}
	case do == "by-weight" || do == "by-share":
		f, faults := t.read(v, false)
		// A number that could not be read would come back as 0: leave what was typed.
		if l := amountFaults(faults); len(l) > 0 {
			return v, l
		}
		f.ByWeight = do == "by-weight"
		fresh := formula.ToForm(f, t.faces())
		list := shared(f.Method)
		for i, n := range formula.RowNumbers(v, list) {
			for _, k := range []string{"pct", "g"} {
				v.Set(list+"."+strconv.Itoa(n)+"."+k, fresh.Get(formula.Path(list, i, k)))
			}
		}
		v.Set("by", fresh.Get("by"))
		v.Set("fats_g", fresh.Get("fats_g"))
	case do == "resize":
		return s.resize(ctx, t, v)
	}
	return v, nil
}

// amountFaults are the faults of l that stand on how much of the fats, or bases, there is.
func amountFaults(l fault.List) fault.List {
	var out fault.List
	for _, e := range l {
		inRow := (strings.HasPrefix(e.Field, "fat.") || strings.HasPrefix(e.Field, "base.")) && (strings.HasSuffix(e.Field, ".pct") || strings.HasSuffix(e.Field, ".g"))
		if e.Field == "fats_g" || inRow {
			out = append(out, e)
		}
	}
	return out
}

// showFormula writes the editor with what stands in v.
func (s *server) showFormula(w http.ResponseWriter, r *http.Request, status int, t trade, v url.Values, faults fault.List, ver *studio.FormulaVersion) error {
	id := r.PathValue("id")
	var mine *studio.Record[studio.Formula]
	if id != "" {
		f, err := s.cfg.Book.Formulas.Get(r.Context(), id)
		if err != nil {
			return err
		}
		mine = &f
	}
	view, name := s.formulaView(t, v, faults, id, mine)
	moulds, err := s.cfg.Book.Moulds.All(r.Context())
	if err != nil {
		return err
	}
	view.Size = sizeOf(t, v, faults, moulds, view.Work)
	head := Head{Title: name, Foot: "Sums follow the typing; a version is drawn " + quantity.Number(soap.Draws, 0) + " times when it is kept."}
	if name == "" {
		head.Title = "A new formula"
	}
	if mine != nil {
		head.Lead = fmt.Sprintf("Version %d is the newest, kept %s; it stays as it is.", mine.Newest.N, day(mine.Newest.KeptAt, t.set.Location()))
		if ver != nil && ver.N != mine.Newest.N {
			head.Lead = fmt.Sprintf("You are looking at version %d of %d. Keeping it makes version %d.", ver.N, mine.Newest.N, mine.Newest.N+1)
		}
		head.Actions = append(head.Actions, Button{Label: "Versions", Href: view.History}, Button{Label: "Bench sheet", Href: view.Sheet}, Button{Label: "A test batch", Href: view.Sheet + "&" + t.testSize().Encode()})
	} else {
		head.Lead = "Nothing is kept until you press Keep."
	}
	head.Actions = append(head.Actions, Button{Label: view.KeepLabel, Look: Main, Form: "formula", Name: "do", Value: "keep"})
	return formulaPage.Write(s.Shell, w, r, status, head, view)
}

func fieldOf(v url.Values, faults fault.List, name, label, unit, hint string) Field {
	return Field{Name: name, Label: label, Unit: unit, Hint: hint, Value: v.Get(name), Fault: FaultAt(faults, name)}
}

func selectOf(v url.Values, faults fault.List, name, label string, options []Option) Select {
	return Select{Name: name, Label: label, Value: v.Get(name), Options: options, Fault: FaultAt(faults, name)}
}

// methodOptions are the methods with what each is.
var methodOptions = []Option{{Value: formula.Cold.String(), Label: "Cold process", Hint: "saponifies in the mould"}, {Value: formula.Hot.String(), Label: "Hot process", Hint: "cooked, then moulded"},
	{Value: formula.Melt.String(), Label: "Melt-and-pour", Hint: "ready-made base, melted"}}

// formulaView reads the form in v and works it out; the name is the formula's.
// Faults of a refused form take the place of those found while typing.
func (s *server) formulaView(t trade, v url.Values, refused fault.List, id string, mine *studio.Record[studio.Formula]) (formulaView, string) {
	f, faults := t.read(v, false)
	method := methodOf(v)
	view := formulaView{Action: "/formulas/new", ID: id, KeepLabel: "Keep as version 1", Unit: massUnitWord(t.set.Mass), ByWeight: v.Get("by") == formula.ByWeightWord,
		Shown: method.String(), Melt: method == formula.Melt, Hot: method == formula.Hot}
	_, view.Carried = ownFields(v)
	if id != "" {
		view.Action, view.History = "/formulas/"+id, "/formulas/"+id+"/versions"
		view.Sheet = "/bench?formula=" + id
	}
	view.Base, _ = strconv.Atoi(v.Get("base"))
	if mine != nil {
		if view.Base < 1 || view.Base > mine.Newest.N {
			view.Base = mine.Newest.N
		}
		view.KeepLabel = "Keep as version " + strconv.Itoa(mine.Newest.N+1)
	}
	view.Summary = Summarise(refused)
	view.Work = s.work(t, v, f, faults, mine)
	e := &editor{t: t, v: v, faults: refused, method: method, unit: view.Unit, answers: map[string]answer{}}
	for _, a := range view.Work.Answers {
		e.answers[a.ID] = a
	}
	view.Name = e.field("name", "Name", "", "")
	view.Name.Words, view.Name.Wide = true, true
	view.Method = Choices{Name: "method", Label: "Method", Value: v.Get("method"), Options: methodOptions, Fault: FaultAt(refused, "method")}
	view.FatsG = e.field("fats_g", "All fats", view.Unit, "")
	if view.ByWeight {
		view.FatsG.Kind, view.FatsG.Value = WorkedOut, view.Work.FatsG
	}
	view.FatsG.Label, view.FatsG.Beside = "in all", true
	view.Superfat = e.field("superfat", "superfat", "%", "")
	view.Water = e.field("water", "water", "", "33 % lye, 2 to 1, 38 % of fats, or 10 % off 38 % of fats")
	view.Water.Words = true
	view.Note = e.field("note", "What changed, for the record", "", "")
	view.Note.Words, view.Note.Wide = true, true

	fat, extra := e.fat(ingredientOptions(t.cat.Fats(), "choose a fat")), e.extra(ingredientOptions(t.cat.Extras(), "choose what else goes in"))
	if view.Melt {
		view.Bases, view.BlankBase = orOne(rowsOf(e, "base", "name", e.base), e.base), e.base(blankRow)
	} else {
		view.Fats, view.BlankFat = orOne(rowsOf(e, "fat", "id", fat), fat), fat(blankRow)
	}
	view.Extras, view.BlankExtra = rowsOf(e, "extra", "id", extra), extra(blankRow)
	view.Scents, view.BlankScent = rowsOf(e, "scent", "name", e.scent), e.scent(blankRow)
	view.Portions, view.BlankPart = rowsOf(e, "portion", "name", e.portion), e.portion(blankRow)

	temp := t.set.Temperature.String()
	scale := e.field("scale.division_g", "Smallest step of the scale", massUnitWord(t.set.Mass), "")
	pour := e.field("pour_c", "Poured at", temp, "for the volume; 40 °C when left empty")
	measured := e.field("measured_density_g_ml", "Density, of a pot measured", "g/ml", "a jug of it: mass over volume")
	view.Stage = e.pick("stage", "Used at", stageOptions())
	view.Stage.Hint = "thick trace to pipe, dough to knead"
	if view.Melt {
		pour.Label, pour.Hint = "Pour at", ""
		view.Melting = []Field{
			e.field("melting.melt_c", "Melt at", temp, ""),
			pour,
			e.field("melting.remelts", "Melted before", "times", ""),
			e.field("melting.evaporation_pct", "Lost while molten", "%", "as weighed, before and after"),
			scale,
		}
		view.More = []Field{measured}
	} else {
		view.Details = []Field{
			e.field("alkali.naoh_purity_pct", "Sodium hydroxide, purity", "%", "of the lot"),
			e.field("alkali.purity_half_width_pct", "Purity, give or take", "%", "of both alkalis"),
			scale,
			e.field("alkali.koh_mol_pct", "Part of the alkali as KOH", "mol %", "0 for a hard bar"),
			e.field("alkali.koh_purity_pct", "Potassium hydroxide, purity", "%", "of the lot"),
			e.field("alkali.naoh_solution_pct", "Ready-mixed NaOH solution", "%", "strength by mass, where the lye comes mixed"),
			e.field("alkali.koh_solution_pct", "Ready-mixed KOH solution", "%", "strength by mass"),
		}
		view.Liquid = []Field{
			e.field("liquid.ice_pct", "Of the water, as ice", "%", ""),
			e.field("liquid.peak_c", "Or ice to keep the lye below", temp, "the ice is worked out"),
			e.field("liquid.later_pct", "Of the water, kept back", "%", "it goes into the batter, not the lye"),
		}
		view.More = []Field{pour, e.field("cure_water_loss_pct", "Water gone when sold", "%", "of all water; 60 % when left empty"), measured}
		view.Cook = e.field("cook_loss_pct", "Of all the water, gone in the cook", "%", "weigh the pot before and after; none when left empty")
	}
	view.PourOpen = view.Stage.Value+view.Stage.Fault != "" || open(view.More...)
	labels := map[string]string{}
	for _, f := range slices.Concat(view.Details, view.Liquid, view.Melting, view.More, []Field{view.Name, view.FatsG, view.Superfat, view.Water, view.Cook, view.Note}) {
		labels[f.Name] = f.Label
	}
	nameFaults(&view.Summary, labels)
	view.Notes = Prose{Name: "notes", Label: "Notes", Value: v.Get("notes"), Fault: FaultAt(refused, "notes"), Rows: 3}
	return view, f.Name
}

// name puts before each fault in the summary which field it is about.
func nameFaults(s *Summary, labels map[string]string) {
	for i := range s.Faults {
		l := &s.Faults[i]
		if to, whole := listTitles[l.Href]; whole {
			l.Href = to
			continue
		}
		l.Text = named(strings.TrimPrefix(l.Href, "#"), labels) + l.Text
	}
}

// listTitles are where a fault of a whole list leads.
var listTitles = map[string]string{"#fat": "#fats-title", "#base": "#fats-title", "#extra": "#extras-title", "#scent": "#scents-title", "#portion": "#portions-title", "#doses": "#extras-title", "#lye_concentration": "#water"}

// rowWords are the fields of a row as the maker reads them.
var rowWords = map[string]string{"pct": "share", "g": "weight", "sap_mg_koh_g": "SAP", "sap_half_width": "tolerance of its SAP", "dose_g": "dose", "dose_pct": "dose",

	"gtsp": "teaspoon", "limit_pct": "limit", "fat_pct": "fat in it", "water_pct": "water in it", "category": "category", "dated": "date",
	"stated": "what it states", "name": "name", "inci": "declared as", "density_g_ml": "density", "softens_c": "softens", "max_melt_c": "hottest melt", "max_pour_c": "hottest pour",
	"amount": "amount", "by": "sized by", "stage": "stage", "colours": "colourants"}

// named is a field in words, with a colon, to stand before what is wrong with
// it; "" where the sentence says it itself.
func named(field string, labels map[string]string) string {
	list, rest, ok := strings.Cut(field, ".")
	if n, key, row := strings.Cut(rest, "."); ok && row && listKeys[list] != "" {
		if k := rowWords[key]; k != "" {
			return list + " " + n + ", " + k + ": "
		}
		return list + " " + n + ": "
	}
	if l := labels[field]; l != "" {
		return l + ": "
	}
	return fieldWords[field]
}

// fieldWords are the fields that the sums name while the maker types.
var fieldWords = map[string]string{"superfat": "superfat: ", "fats_g": "all fats: ", "alkali.naoh_purity_pct": "sodium hydroxide, purity: ", "alkali.koh_purity_pct": "potassium hydroxide, purity: ",

	"alkali.purity_half_width_pct": "purity, give or take: ", "alkali.koh_mol_pct": "part of the alkali as KOH: ", "alkali.naoh_solution_pct": "ready-mixed NaOH solution: ",
	"alkali.koh_solution_pct": "ready-mixed KOH solution: ", "scale.division_g": "smallest step of the scale: ", "liquid.ice_pct": "of the water, as ice: ", "liquid.peak_c": "peak of the lye: ",
	"liquid.later_pct": "of the water, kept back: ", "pour_c": "poured at: ", "cure_water_loss_pct": "water gone when sold: ",
	"cook_loss_pct": "gone in the cook: ", "measured_density_g_ml": "density: ", "melting.melt_c": "melt at: ", "melting.remelts": "melted before: ", "melting.evaporation_pct": "lost while molten: "}
