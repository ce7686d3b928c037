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
	Method     Select
	FatsG      Field
	Superfat   Field
	Water      Field
	Fats       []fatRow
	Extras     []extraRow
	Scents     []scentRow
	BlankFat   fatRow
	BlankExtra extraRow
	BlankScent scentRow
	Details    []Field // alkali and scale
	Liquid     []Field
	More       []Field
	Notes      Prose
	Size       sizeView
	Note       Field // what changed, kept with the version
	KeepLabel  string
	Work       workView
	History    string // address of the versions; "" while new
	Sheet      string // address of the bench sheet; "" while new
	Status     string
}

type fatRow struct {
	N                   int
	Label               string
	Pick                Select
	Share, Weight       Field
	SAP, Half           Field
	Cooked              Check
	Open                bool // the certificate's fields hold something
	Aside               string
	Answer              string // weight or share, worked out
	AnswerID            string
	Marks               []Mark
	MarksID             string
	RemoveSays, RemoveV string
}

type extraRow struct {
	N                        int
	Pick                     Select
	Dose                     Field
	Unit, Per, Into          Select
	Gtsp, Fat, WaterPct, SAP Field
	Open                     bool
	Answer, AnswerID         string
	Marks                    []Mark
	MarksID                  string
	RemoveSays, RemoveV      string
}

type scentRow struct {
	N                   int
	Name, Dose, Limit   Field
	Category, Dated     Field
	Of, Unit            Select
	Open                bool
	Answer, AnswerID    string
	Marks               []Mark
	MarksID             string
	RemoveSays, RemoveV string
}

var formulaPage = declare[formulaView]("formula")

// formulaFragments are what a live answer renews.
var formulaFragments = []string{"answers", "lye-lines", "fats-sum", "batter", "work", "findings-part", "head-count"}

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
	f, err := s.cfg.Book.Formula(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	ver := f.Newest
	if n, err := strconv.Atoi(r.FormValue("v")); err == nil && n != ver.N {
		if ver, err = s.cfg.Book.Version(r.Context(), f.ID, n); err != nil {
			return err
		}
	}
	v := formula.ToForm(ver.Formula, t.faces())
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
	return formulaPage.fragments(s, w, http.StatusOK, view, formulaFragments...)
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
	f, faults := formula.FromForm(v, formula.FormOptions{Faces: t.faces(), Strict: true, Ingredients: t.cat})
	if len(faults) > 0 {
		return s.showFormula(w, r, http.StatusUnprocessableEntity, t, v, faults, nil)
	}
	kept, err := s.workedOut(f, t.cat)
	if err != nil {
		return s.showFormula(w, r, http.StatusUnprocessableEntity, t, v, fault.All(err), nil)
	}
	var ver studio.Version
	if id := r.PathValue("id"); id == "" {
		ver, err = s.cfg.Book.NewFormula(ctx, f, kept, v.Get("note"))
	} else {
		base, faults, berr := s.baseOf(ctx, id, v.Get("base"))
		if berr != nil {
			return berr
		}
		if len(faults) > 0 {
			return s.showFormula(w, r, http.StatusUnprocessableEntity, t, v, faults, nil)
		}
		ver, err = s.cfg.Book.Keep(ctx, id, base, f, kept, v.Get("note"))
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
	http.Redirect(w, r, "/formulas/"+ver.FormulaID, http.StatusSeeOther)
	return nil
}

// baseOf reads which version of a formula a form was opened from.
func (s *server) baseOf(ctx context.Context, id, text string) (int, fault.List, error) {
	f, err := s.cfg.Book.Formula(ctx, id)
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
	sf := r.Draw(soap.Draws, soap.Seed)
	return studio.Kept{Superfat: sf, Engine: s.cfg.Version}, nil
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
	case do == "add-fat":
		add("fat", "id")
	case do == "add-extra":
		add("extra", "id")
	case do == "add-scent":
		add("scent", "name")
	case strings.HasPrefix(do, "remove "):
		row := strings.TrimPrefix(do, "remove ") + "."
		for name := range v {
			if strings.HasPrefix(name, row) {
				delete(v, name)
			}
		}
	case do == "by-weight" || do == "by-share":
		f, faults := formula.FromForm(v, formula.FormOptions{Faces: t.faces(), Ingredients: t.cat})
		// A number that could not be read would come back as 0: leave what was typed.
		if l := amountFaults(faults); len(l) > 0 {
			return v, l
		}
		f.ByWeight = do == "by-weight"
		fresh := formula.ToForm(f, t.faces())
		rows := formula.RowNumbers(v, "fat")
		for i, n := range rows {
			if i >= len(f.Fats) {
				break
			}
			for _, k := range []string{"pct", "g"} {
				v.Set("fat."+strconv.Itoa(n)+"."+k, fresh.Get(formula.Path("fat", i, k)))
			}
		}
		v.Set("by", fresh.Get("by"))
		v.Set("fats_g", fresh.Get("fats_g"))
	case do == "resize":
		return s.resize(ctx, t, v)
	}
	return v, nil
}

// amountFaults are the faults of l that stand on how much of the fats there is.
func amountFaults(l fault.List) fault.List {
	var out fault.List
	for _, e := range l {
		inRow := strings.HasPrefix(e.Field, "fat.") && (strings.HasSuffix(e.Field, ".pct") || strings.HasSuffix(e.Field, ".g"))
		if e.Field == "fats_g" || inRow {
			out = append(out, e)
		}
	}
	return out
}

// showFormula writes the editor with what stands in v.
func (s *server) showFormula(w http.ResponseWriter, r *http.Request, status int, t trade, v url.Values, faults fault.List, ver *studio.Version) error {
	id := r.PathValue("id")
	var mine *studio.Formula
	if id != "" {
		f, err := s.cfg.Book.Formula(r.Context(), id)
		if err != nil {
			return err
		}
		mine = &f
	}
	view, name := s.formulaView(t, v, faults, id, mine)
	moulds, err := s.cfg.Book.Moulds(r.Context())
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
		head.Actions = append(head.Actions, Button{Label: "Versions", Href: view.History}, Button{Label: "Bench sheet", Href: view.Sheet})
	} else {
		head.Lead = "Nothing is kept until you press Keep."
	}
	head.Actions = append(head.Actions, Button{Label: view.KeepLabel, Look: Main, Form: "formula", Name: "do", Value: "keep"})
	return formulaPage.write(s, w, r, status, head, view)
}

func fieldOf(v url.Values, faults fault.List, name, label, unit, hint string) Field {
	return Field{Name: name, Label: label, Unit: unit, Hint: hint, Value: v.Get(name), Fault: FaultAt(faults, name)}
}

func selectOf(v url.Values, faults fault.List, name, label string, options []Option) Select {
	return Select{Name: name, Label: label, Value: v.Get(name), Options: options, Fault: FaultAt(faults, name)}
}

func ingredientOptions(list []*catalogue.Ingredient, none string) []Option {
	out := make([]Option, 0, len(list)+1)
	out = append(out, Option{"", none, ""})
	for _, in := range list {
		name := in.Name
		if in.Own {
			name += " (own)"
		}
		out = append(out, Option{in.ID, name, ""})
	}
	return out
}

// formulaView reads the form in v and works it out; the name is the formula's.
// Faults of a refused form take the place of those found while typing.
func (s *server) formulaView(t trade, v url.Values, refused fault.List, id string, mine *studio.Formula) (formulaView, string) {
	f, faults := formula.FromForm(v, formula.FormOptions{Faces: t.faces(), Ingredients: t.cat})
	shown := refused
	view := formulaView{Action: "/formulas/new", ID: id, KeepLabel: "Keep as version 1", Unit: massUnitWord(t.set.Mass), ByWeight: v.Get("by") == formula.ByWeightWord}
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
	fo := func(name, label, unit, hint string) Field { return fieldOf(v, shown, name, label, unit, hint) }
	view.Name = fo("name", "Name", "", "")
	view.Name.Words, view.Name.Wide = true, true
	view.Method = selectOf(v, shown, "method", "Method", []Option{{"cold", "Cold process", ""}, {"hot", "Hot process", ""}})
	view.FatsG = fo("fats_g", "All fats", view.Unit, "")
	if view.ByWeight {
		view.FatsG.Kind, view.FatsG.Value = WorkedOut, view.Work.FatsG
	}
	view.FatsG.Label, view.FatsG.Beside = "in all", true
	view.Superfat = fo("superfat", "superfat", "%", "")
	view.Water = fo("water", "water", "", "33 % lye, 2 to 1, 38 % of fats, or 10 % off 38 % of fats")
	view.Water.Words = true
	text := fo("note", "What changed, for the record", "", "")
	text.Words, text.Wide = true, true
	view.Note = text

	fats := ingredientOptions(t.cat.Fats(), "choose a fat")
	extras := ingredientOptions(t.cat.Extras(), "choose what else goes in")
	fat := func(n int) fatRow {
		p := func(k string) string { return "fat." + strconv.Itoa(n) + "." + k }
		r := fatRow{N: n, Pick: selectOf(v, shown, p("id"), "Fat "+strconv.Itoa(n), fats),
			Share: fo(p("pct"), "share", "%", ""), Weight: fo(p("g"), "weight", view.Unit, ""),
			SAP: fo(p("sap_mg_koh_g"), "SAP, mg KOH/g", "", ""), Half: fo(p("sap_half_width"), "±", "", ""),
			Cooked:   Check{Name: p("cooked"), Label: "stirred in after the cook", Ticked: v.Get(p("cooked")) != ""},
			AnswerID: "w-fat-" + strconv.Itoa(n), MarksID: "m-fat-" + strconv.Itoa(n),
			RemoveV: "remove fat." + strconv.Itoa(n), RemoveSays: "Take away fat " + strconv.Itoa(n)}
		r.Pick.Ledger, r.Pick.Wide, r.Share.Ledger, r.Weight.Ledger = true, true, true, true
		r.Open = r.SAP.Value != "" || r.Half.Value != "" || r.Cooked.Ticked || r.SAP.Fault != "" || r.Half.Fault != ""
		if in, err := t.cat.Get(v.Get(p("id"))); err == nil {
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
	perOptions := []Option{{formula.PerKgFats.String(), "per kg of fats", ""}, {formula.PerKgBatter.String(), "per kg of batter", ""},
		{formula.PerBatch.String(), "in the batch", ""}, {formula.PerLiquid.String(), "% of the liquid", ""}}
	unitOptions := []Option{{formula.Grams.String(), "g", ""}, {formula.OuncesPerPound.String(), "oz per lb of fats", ""}, {formula.TeaspoonsPerPound.String(), "tsp per lb of fats", ""}}
	intoOptions := []Option{{formula.IntoBatter.String(), "into the batter", ""}, {formula.IntoLye.String(), "into the lye", ""},
		{formula.IntoFats.String(), "into the fats", ""}, {formula.IntoCooked.String(), "after the cook", ""}}
	extra := func(n int) extraRow {
		p := func(k string) string { return "extra." + strconv.Itoa(n) + "." + k }
		r := extraRow{N: n, Pick: selectOf(v, shown, p("id"), "Extra "+strconv.Itoa(n), extras), Dose: fo(p("dose_g"), "dose", "", ""),
			Unit: selectOf(v, shown, p("unit"), "in", unitOptions), Per: selectOf(v, shown, p("per"), "counted", perOptions),
			Into: selectOf(v, shown, p("into"), "goes in", intoOptions), Gtsp: fo(p("gtsp"), "g in a level teaspoon, measured", "", ""),
			Fat: fo(p("fat_pct"), "fat in it", "%", ""), WaterPct: fo(p("water_pct"), "water in it", "%", ""), SAP: fo(p("sap_mg_koh_g"), "SAP of that fat", "", ""),
			AnswerID: "w-extra-" + strconv.Itoa(n), MarksID: "m-extra-" + strconv.Itoa(n),
			RemoveV: "remove extra." + strconv.Itoa(n), RemoveSays: "Take away extra " + strconv.Itoa(n)}
		r.Pick.Ledger, r.Pick.Wide, r.Dose.Ledger = true, true, true
		r.Open = r.Gtsp.Value+r.Fat.Value+r.WaterPct.Value+r.SAP.Value+r.Gtsp.Fault+r.Fat.Fault+r.WaterPct.Fault+r.SAP.Fault != ""
		return r
	}
	ofOptions := []Option{{formula.OfFats.String(), "of the fats", ""}, {formula.OfBatter.String(), "of the batter", ""}, {formula.OfBar.String(), "of the bar", ""}}
	scent := func(n int) scentRow {
		p := func(k string) string { return "scent." + strconv.Itoa(n) + "." + k }
		r := scentRow{N: n, Name: fo(p("name"), "Scent "+strconv.Itoa(n), "", ""), Dose: fo(p("dose_pct"), "dose", "", ""), Of: selectOf(v, shown, p("of"), "share", ofOptions),
			Unit:  selectOf(v, shown, p("unit"), "in", []Option{{formula.Grams.String(), "%", ""}, {formula.OuncesPerPound.String(), "oz per lb of fats", ""}}),
			Limit: fo(p("limit_pct"), "limit, of the finished bar", "%", "from its certificate"), Category: fo(p("category"), "category", "", ""), Dated: fo(p("dated"), "certificate dated", "", ""),
			AnswerID: "w-scent-" + strconv.Itoa(n), MarksID: "m-scent-" + strconv.Itoa(n),
			RemoveV: "remove scent." + strconv.Itoa(n), RemoveSays: "Take away scent " + strconv.Itoa(n)}
		r.Name.Words, r.Name.Wide, r.Dose.Ledger = true, true, true
		r.Category.Words, r.Dated.Words = true, true
		r.Open = true
		return r
	}
	answers := map[string]answer{}
	for _, a := range view.Work.Answers {
		answers[a.ID] = a
	}
	for _, n := range rowsIn(v, "fat", "id") {
		r := fat(n)
		r.Answer, r.Marks = answers[r.AnswerID].Text, answers[r.AnswerID].Marks
		view.Fats = append(view.Fats, r)
	}
	for _, n := range rowsIn(v, "extra", "id") {
		r := extra(n)
		r.Answer, r.Marks = answers[r.AnswerID].Text, answers[r.AnswerID].Marks
		view.Extras = append(view.Extras, r)
	}
	for _, n := range rowsIn(v, "scent", "name") {
		r := scent(n)
		r.Answer, r.Marks = answers[r.AnswerID].Text, answers[r.AnswerID].Marks
		view.Scents = append(view.Scents, r)
	}
	view.BlankFat, view.BlankExtra, view.BlankScent = fat(0), extra(0), scent(0)

	temp := t.set.Temperature.String()
	view.Details = []Field{
		fo("alkali.naoh_purity_pct", "Sodium hydroxide, purity", "%", "of the lot"),
		fo("alkali.purity_half_width_pct", "Purity, give or take", "%", "of both alkalis"),
		fo("scale.division_g", "Smallest step of the scale", massUnitWord(t.set.Mass), ""),
		fo("alkali.koh_mol_pct", "Part of the alkali as KOH", "mol %", "0 for a hard bar"),
		fo("alkali.koh_purity_pct", "Potassium hydroxide, purity", "%", "of the lot"),
		fo("alkali.naoh_solution_pct", "Ready-mixed NaOH solution", "%", "strength by mass, where the lye comes mixed"),
		fo("alkali.koh_solution_pct", "Ready-mixed KOH solution", "%", "strength by mass"),
	}
	view.Liquid = []Field{
		fo("liquid.ice_pct", "Of the water, as ice", "%", ""),
		fo("liquid.peak_c", "Or ice to keep the lye below", temp, "the ice is worked out"),
		fo("liquid.later_pct", "Of the water, kept back", "%", "it goes into the batter, not the lye"),
	}
	view.More = []Field{
		fo("pour_c", "Poured at", temp, "for the volume; 40 °C when left empty"),
		fo("cure_water_loss_pct", "Water gone when sold", "%", "of all water; 60 % when left empty"),
	}
	labels := map[string]string{}
	for _, f := range slices.Concat(view.Details, view.Liquid, view.More, []Field{view.Name, view.FatsG, view.Superfat, view.Water, view.Note}) {
		labels[f.Name] = f.Label
	}
	view.Summary.name(labels)
	view.Notes = Prose{Name: "notes", Label: "Notes", Value: v.Get("notes"), Fault: FaultAt(shown, "notes"), Rows: 3}
	return view, f.Name
}

// name puts before each fault in the summary which field it is about.
func (s *Summary) name(labels map[string]string) {
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
var listTitles = map[string]string{"#fat": "#fats-title", "#extra": "#extras-title", "#scent": "#scents-title", "#doses": "#extras-title", "#lye_concentration": "#water"}

// rowKeys are the fields of a row as the maker reads them.
var rowKeys = map[string]string{"pct": "share", "g": "weight", "sap_mg_koh_g": "SAP", "sap_half_width": "tolerance of its SAP", "dose_g": "dose", "dose_pct": "dose",

	"gtsp": "teaspoon", "limit_pct": "limit", "fat_pct": "fat in it", "water_pct": "water in it", "category": "category", "dated": "date"}

// named is a field in words, with a colon, to stand before what is wrong with
// it; "" where the sentence says it itself.
func named(field string, labels map[string]string) string {
	list, rest, ok := strings.Cut(field, ".")
	if n, key, row := strings.Cut(rest, "."); ok && row && (list == "fat" || list == "extra" || list == "scent") {
		if k := rowKeys[key]; k != "" {
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
	"liquid.later_pct": "of the water, kept back: ", "pour_c": "poured at: ", "cure_water_loss_pct": "water gone when sold: "}

// fatLine is a fat row with the face of the fats.
type fatLine struct {
	Fat      fatRow
	ByWeight bool
}

// blanked writes __i__ where row 0 has its number, for the module that fills it in.
func blanked(fields ...*string) {
	for _, f := range fields {
		*f = strings.Replace(strings.Replace(strings.Replace(*f, ".0.", ".__i__.", 1), "-0", "-__i__", 1), " 0", " __i__", 1)
		*f = strings.Replace(*f, ".0", ".__i__", 1)
	}
}

func (r fatRow) blank() fatRow {
	blanked(&r.Pick.Name, &r.Pick.Label, &r.Share.Name, &r.Weight.Name, &r.SAP.Name, &r.Half.Name, &r.Cooked.Name, &r.AnswerID, &r.MarksID, &r.RemoveSays, &r.RemoveV)
	return r
}

func (r extraRow) blank() extraRow {
	blanked(&r.Pick.Name, &r.Pick.Label, &r.Dose.Name, &r.Unit.Name, &r.Per.Name, &r.Into.Name, &r.Gtsp.Name, &r.Fat.Name, &r.WaterPct.Name, &r.SAP.Name,
		&r.AnswerID, &r.MarksID, &r.RemoveSays, &r.RemoveV)
	return r
}

func (r scentRow) blank() scentRow {
	blanked(&r.Name.Name, &r.Name.Label, &r.Dose.Name, &r.Of.Name, &r.Unit.Name, &r.Limit.Name, &r.Category.Name, &r.Dated.Name, &r.AnswerID, &r.MarksID, &r.RemoveSays, &r.RemoveV)
	return r
}
