package web

import (
	"context"
	"fmt"
	"html/template"
	"maps"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/draw"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

func (s *server) formulaRoutes() {
	s.handle("GET /formulas", s.formulas)
	s.handle("GET /formulas/new", s.newFormula)
	s.handle("POST /formulas/new", s.postFormula)
	s.handle("POST /formulas/work", s.workFormula)
	s.handle("GET /formulas/compare", s.compareFormulas)
	s.handle("GET /formulas/{id}", s.formula)
	s.handle("POST /formulas/{id}", s.postFormula)
	s.handle("GET /formulas/{id}/versions", s.versions)
	s.handle("GET /formulas/{id}/file/{n}", s.formulaFile)
	s.handle("POST /formulas/{id}/duplicate", s.duplicateFormula)
	s.handle("POST /formulas/{id}/put-away", s.putFormulaAway)
	s.handle("POST /formulas/{id}/bring-back", s.bringFormulaBack)
}

// trade is what every page of the trade is written with: the studio's settings
// and its catalogue.
type trade struct {
	set studio.Settings
	cat *catalogue.Catalogue
}

func (s *server) trade(ctx context.Context) (trade, error) {
	set, err := s.cfg.Book.Settings(ctx)
	if err != nil {
		return trade{}, err
	}
	cat, err := s.cfg.Book.Catalogue(ctx)
	return trade{set, cat}, err
}

func (t trade) faces() formula.Faces {
	return formula.Faces{Mass: t.set.Mass, Temp: t.set.Temperature}
}

// division is the step in which masses are shown: the formula's own scale, else
// the studio's, else 0.1 g.
func (t trade) division(f *formula.Formula) float64 {
	if f != nil && f.ScaleDivisionG.Known && f.ScaleDivisionG.V > 0 {
		return f.ScaleDivisionG.V
	}
	return t.set.ScaleDivisionG.Or(0.1)
}

// limits are the studio's, with masses to the step of the formula's own scale.
func (t trade) limits(f *formula.Formula) soap.Limits {
	l, d := t.set.SoapLimits(), t.division(f)
	l.Mass = func(g float64) string { return quantity.Mass(g, t.set.Mass, d) }
	return l
}

// formulasView is the list.
type formulasView struct {
	Query   string
	Away    bool // what was put away is shown
	Rows    []formulaRow
	Pages   Pages
	Empty   *Empty
	Compare []Option // the rows of this page, for comparing two
}

type formulaRow struct {
	Href, Name, Aside, Superfat, Interval, Kept string
	Back                                        string // address that brings it back; "" unless put away
}

var formulasPage = declare[formulasView]("formulas")

func (s *server) formulas(w http.ResponseWriter, r *http.Request) error {
	ctx, q := r.Context(), strings.TrimSpace(r.FormValue("q"))
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	away := r.FormValue("away") != ""
	n, _ := strconv.Atoi(r.FormValue("page"))
	const per = 25
	list := s.cfg.Book.Formulas
	if away {
		list = s.cfg.Book.FormulasPutAway
	}
	page, err := list(ctx, q, studio.Slice{Number: n, Size: per})
	if err != nil {
		return err
	}
	v := formulasView{Query: q, Away: away}
	for _, f := range page.Items {
		row := formulaRow{Href: "/formulas/" + f.ID, Name: f.Name, Kept: day(f.Newest.KeptAt, t.set.Location()),
			Aside: versionsSaid(f.Newest.N)}
		if k := f.Newest.Kept.Superfat; k.Draws > 0 {
			row.Superfat = quantity.Percent(k.NominalPct, 1)
			row.Interval = quantity.Interval(k.LowPct, k.HighPct, 1)
		}
		if away {
			row.Back = "/formulas/" + f.ID + "/bring-back"
		}
		v.Rows = append(v.Rows, row)
		v.Compare = append(v.Compare, Option{Value: f.ID, Label: f.Name})
	}
	v.Pages, _ = Pagination("formulas", page.Number, per, page.Total, func(n int) string {
		u := url.Values{"page": {strconv.Itoa(n)}}
		if q != "" {
			u.Set("q", q)
		}
		if away {
			u.Set("away", "1")
		}
		return "/formulas?" + u.Encode()
	})
	switch {
	case len(v.Rows) == 0 && q != "":
		v.Empty = &Empty{Text: "No formula has “" + q + "” in its name or among what goes into it.", Do: &Button{Label: "Show all", Href: "/formulas"}}
	case len(v.Rows) == 0 && away:
		v.Empty = &Empty{Text: "Nothing was put away.", Do: &Button{Label: "All formulas", Href: "/formulas"}}
	case len(v.Rows) == 0:
		v.Empty = &Empty{Text: "No formula is written yet. The first one needs the fats, how much is to stay free, and how strong the lye is.",
			Do: &Button{Label: "Write a formula", Look: Main, Href: "/formulas/new"}}
	}
	return formulasPage.write(s, w, r, http.StatusOK, Head{Title: "Formulas", Lead: "What goes into one batter. A version that was kept never changes.",
		Actions: []Button{{Label: "Write a formula", Look: Main, Href: "/formulas/new"}}}, v)
}

func versionsSaid(n int) string {
	if n == 1 {
		return "1 version"
	}
	return strconv.Itoa(n) + " versions"
}

// day is a date as the maker reads it, in their own time zone.
func day(t time.Time, loc *time.Location) string { return t.In(loc).Format("2 January 2006") }

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

type sizeView struct {
	By                    Select
	Amount, Pieces        Field
	Fill, Over            Field
	Mould                 Select
	Length, Width, Height Field
	Said                  string
}

// workView is what the sums say: everything that follows the typing.
type workView struct {
	OK      bool
	Why     string // why there is nothing to show
	Answers []answer
	NaOH    []lyeLine
	Figures []Figure
	Cut     template.HTML
	Strata  []strataRow
	WholeG  string
	SoapPct string
	SoapG   string
	OtherBy string // head of the column of the other version
	Glass   template.HTML
	// GlassPhone is the same for a narrow page, its words as large.
	GlassPhone template.HTML
	Phone      template.HTML
	Numbers    []Figure
	Findings   Findings
	Batter     string
	Volume     string
	FatsSum    string
	FatsG      string
	Means      string // the concentration that the water means
	Peak       string
	Ice        string
	When       string
	FreeSaid   string
}

// answer is one number beside a field.
type answer struct {
	ID    string
	Text  string
	Marks []Mark
	Mark  string // id of the marks
}

type lyeLine struct {
	Name, Aside, Value string
	Marks              []Mark
}

type strataRow struct {
	Look       draw.Look
	Stratum    draw.Stratum
	Does       string // what it does in a bar
	Aside      string
	Pct, G     string
	Other      string
	SoapBegins bool // a heavy rule parts soap from what lies on it
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

// resize sizes the formula in the form to fats, batter or a mould.
func (s *server) resize(ctx context.Context, t trade, v url.Values) (url.Values, fault.List) {
	f, faults := formula.FromForm(v, formula.FormOptions{Faces: t.faces(), Ingredients: t.cat})
	if len(faults) > 0 {
		return v, faults
	}
	r, err := soap.Work(f, t.cat)
	if err != nil {
		return v, fault.All(err)
	}
	factor, l := s.sizeFactor(ctx, t, v, r)
	if len(l) > 0 {
		return v, l
	}
	if fats := f.FatsG * factor; !quantity.Finite(fats) || fats < formula.MinFatsG || fats > formula.MaxFatsG {
		return v, fault.List{fault.Invalidf("size.by", "That size would take %s g of fats: give one that takes from 1 mg to 10 tonnes.", formula.Plain(fats))}
	} else if v.Get("size.by") != "fats" {
		// A volume is known to 3 % at best: a long tail of digits would only be in the way.
		if step := t.sizeStep(); fats > 100*step {
			factor = math.Round(fats/step) * step / f.FatsG
		}
	}
	g := f.Scale(factor)
	fresh := formula.ToForm(g, t.faces())
	for i, n := range formula.RowNumbers(v, "fat") {
		if i < len(g.Fats) {
			v.Set("fat."+strconv.Itoa(n)+".g", fresh.Get(formula.Path("fat", i, "g")))
		}
	}
	for i, n := range formula.RowNumbers(v, "extra") {
		if i < len(g.Extras) {
			v.Set("extra."+strconv.Itoa(n)+".dose_g", fresh.Get(formula.Path("extra", i, "dose_g")))
		}
	}
	v.Set("fats_g", fresh.Get("fats_g"))
	return v, nil
}

// sizeStep is the step to which the fats of a batch sized by its volume or its
// batter are rounded, g.
func (t trade) sizeStep() float64 {
	if t.set.Mass == quantity.Gram {
		return 0.1
	}
	return 0.01 * quantity.GramsPerOunce
}

// sizeFactor is by how much a formula worked out is to grow to the size that
// the form asks for.
func (s *server) sizeFactor(ctx context.Context, t trade, v url.Values, r *soap.Result) (float64, fault.List) {
	var l fault.List
	number := func(field, what string, read func(string) (float64, error)) float64 {
		x, err := read(v.Get(field))
		if err != nil {
			for _, e := range fault.All(err) {
				c := *e
				c.Field = field
				l.Add(&c)
			}
			return 0
		}
		if !(x > 0) {
			l.Add(fault.Invalidf(field, "%s must be above 0.", what))
		}
		return x
	}
	mass := func(text string) (float64, error) { return quantity.ParseMass(text, t.set.Mass) }
	length := func(text string) (float64, error) { return quantity.ParseLength(text, t.set.Length) }
	switch v.Get("size.by") {
	case "fats":
		g := number("size.amount", "The mass of fats", mass)
		if len(l) > 0 {
			return 0, l
		}
		return g / r.FatsG, nil
	case "batter":
		g := number("size.amount", "The mass of batter", mass)
		if len(l) > 0 {
			return 0, l
		}
		return g / r.Batter.MassG, nil
	}
	pieces := number("size.pieces", "The number of pieces", quantity.ParseNumber)
	fill := 100.0
	if strings.TrimSpace(v.Get("size.fill")) != "" {
		fill = number("size.fill", "The level", parsePercent)
	}
	over := 0.0
	if strings.TrimSpace(v.Get("size.over")) != "" {
		x, err := parsePercent(v.Get("size.over"))
		if err != nil || x < 0 || x > 100 {
			l.Add(fault.Invalidf("size.over", "The batter beyond the moulds must be from 0 to 100 %%."))
		}
		over = x
	}
	if fill > 100 {
		l.Add(fault.Invalidf("size.fill", "A level above 100 %% runs over: give 100 %% or less."))
	}
	if pieces != float64(int(pieces)) {
		l.Add(fault.Invalidf("size.pieces", "The number of pieces must be whole."))
	}
	var volume float64
	if v.Get("size.by") == "box" {
		a := number("size.length", "The length", length)
		b := number("size.width", "The width", length)
		c := number("size.height", "The depth", length)
		volume = a * b * c / 1000
	} else {
		m, err := s.cfg.Book.Mould(ctx, v.Get("size.mould"))
		if err != nil {
			l.Add(fault.Invalidf("size.mould", "Choose the mould that the batch is for, or measure one under Moulds first."))
		} else if vol, err := m.Mould.Volume(); err != nil {
			l.Add(fault.Invalidf("size.mould", "The volume of %s is not known: measure it again under Moulds.", m.Mould.Name))
		} else {
			volume = vol.Value
		}
	}
	if len(l) > 0 {
		return 0, l
	}
	return volume * pieces * fill / 100 * (1 + over/100) / r.Batter.VolumeML, nil
}

func parsePercent(text string) (float64, error) {
	return quantity.ParseNumber(strings.TrimSuffix(strings.TrimSpace(text), "%"))
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

// tempSaid is a temperature in the studio's face.
func (t trade) tempSaid(c float64) string { return quantity.Temp(c, t.set.Temperature, 0) }

func (t trade) massSaid(g, division float64) string { return quantity.Mass(g, t.set.Mass, division) }

func massUnitWord(u quantity.MassUnit) string {
	switch u {
	case quantity.Ounce:
		return "oz"
	case quantity.PoundOunce:
		return "lb"
	}
	return "g"
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

func sizeOf(t trade, v url.Values, faults fault.List, moulds []studio.Mould, w workView) sizeView {
	fo := func(name, label, unit, hint string) Field { return fieldOf(v, faults, name, label, unit, hint) }
	by := []Option{{"fats", "a mass of fats", ""}, {"batter", "a mass of batter", ""}, {"mould", "a mould of the studio", ""}, {"box", "a box, by its inside", ""}}
	opts := []Option{{"", "choose a mould", ""}}
	for _, m := range moulds {
		opts = append(opts, Option{m.Mould.ID, m.Mould.Name, ""})
	}
	z := sizeView{By: selectOf(v, faults, "size.by", "Size it to", by), Amount: fo("size.amount", "mass", massUnitWord(t.set.Mass), ""),
		Mould: selectOf(v, faults, "size.mould", "mould", opts), Pieces: fo("size.pieces", "pieces", "", ""), Fill: fo("size.fill", "filled to", "%", ""), Over: fo("size.over", "beyond the moulds", "%", ""),
		Length: fo("size.length", "length", t.set.Length.String(), ""), Width: fo("size.width", "width", t.set.Length.String(), ""), Height: fo("size.height", "depth", t.set.Length.String(), "")}
	if z.By.Value == "" {
		z.By.Value = "fats"
	}
	if w.OK {
		z.Said = "Now " + w.Batter + " of batter, about " + w.Volume + "."
	}
	return z
}

// work is what the sums say to f, as far as they can.
func (s *server) work(t trade, v url.Values, f *formula.Formula, faults fault.List, mine *studio.Formula) workView {
	var w workView
	d := t.division(f)
	// A row without an ingredient yet is no fault while typing.
	g := f.Clone()
	rows := map[string][]int{"fat": formula.RowNumbers(v, "fat"), "extra": formula.RowNumbers(v, "extra"), "scent": formula.RowNumbers(v, "scent")}
	g.Fats, rows["fat"] = chosen(g.Fats, rows["fat"], func(x formula.Fat) bool { return x.ID != "" })
	g.Extras, rows["extra"] = chosen(g.Extras, rows["extra"], func(x formula.Extra) bool { return x.ID != "" && x.Dose > 0 })
	if len(g.Fats) == 0 {
		w.Why = "Choose a fat and give it a share: the bar is drawn as soon as there is something to draw."
		return w
	}
	for _, e := range faults {
		switch e.Field {
		case "name", "water", "notes":
			if e.Field != "water" {
				continue
			}
			w.Why = e.Message
			return w
		}
		if strings.HasSuffix(e.Field, ".id") || strings.HasSuffix(e.Field, ".name") || e.Field == "fat" || e.Field == "fats_g" {
			continue
		}
		if w.Why == "" && e.Message != "" {
			w.Why = named(e.Field, nil) + e.Message
		}
	}
	if w.Why != "" {
		return w
	}
	r, err := soap.Work(g, t.cat)
	if err != nil {
		if l := fault.All(err); len(l) > 0 && l[0].Message != "" {
			w.Why = l[0].Message
		} else {
			w.Why = "The sums do not come out yet."
		}
		return w
	}
	sf := r.Superfat
	if mine != nil && mine.Newest.Kept.Superfat.Draws > 0 && sameSums(mine.Newest.Formula, f) {
		sf = mine.Newest.Kept.Superfat
	}
	fs := soap.Findings(r, sf, t.limits(f))
	// The page knows rows, the sums know lines.
	w.Findings = Footnotes(fs)
	w.OK = true
	for i := range r.Fats {
		m := &r.Fats[i]
		text := quantity.MassNumber(m.MassG, t.set.Mass, d)
		if f.ByWeight {
			text = quantity.Percent(g.Fats[i].Pct, 1)
		}
		n := strconv.Itoa(rows["fat"][i])
		w.Answers = append(w.Answers, answer{ID: "w-fat-" + n, Text: text, Marks: w.Findings.About("fat:" + strconv.Itoa(i)), Mark: "m-fat-" + n})
	}
	for i := range r.Extras {
		n := strconv.Itoa(rows["extra"][i])
		w.Answers = append(w.Answers, answer{ID: "w-extra-" + n, Text: quantity.MassNumber(r.Extras[i].MassG, t.set.Mass, d), Marks: w.Findings.About("extra:" + strconv.Itoa(i)), Mark: "m-extra-" + n})
	}
	for i := range r.Scents {
		if i >= len(rows["scent"]) {
			break
		}
		n := strconv.Itoa(rows["scent"][i])
		w.Answers = append(w.Answers, answer{ID: "w-scent-" + n, Text: quantity.MassNumber(r.Scents[i].MassG, t.set.Mass, d), Marks: w.Findings.About("scent:" + strconv.Itoa(i)), Mark: "m-scent-" + n})
	}
	w.lye(t, r, d)
	sum := 0.0
	for i := range g.Fats {
		sum += g.Fats[i].Pct
	}
	w.FatsSum, w.FatsG = quantity.Percent(sum, 1), quantity.MassNumber(r.FatsG, t.set.Mass, d)
	w.Batter, w.Volume = t.massSaid(r.Batter.MassG, d), quantity.Volume(r.Batter.VolumeML, t.set.Volume, 0)
	w.Means = "the lye is " + quantity.Percent(r.ConcentrationPct, 1) + " alkali"
	if r.ConcentrationPct > 0 {
		w.Means += ", " + quantity.Number((100-r.ConcentrationPct)/r.ConcentrationPct, 2) + " of water to 1"
	}
	seed := f.Name
	if mine != nil {
		seed = mine.ID
	}
	w.picture(t, r, sf, seed, d)
	earlier := mine
	if mine != nil && sameSums(mine.Newest.Formula, f) {
		earlier = nil // nothing has changed yet
	}
	w.glass(sf, earlier)
	w.Numbers = []Figure{{Value: quantity.Percent(r.Bar.TFMPct, 1), Label: "total fatty matter, ISO 685"}}
	if r.Bar.HasProfile {
		w.Numbers = append(w.Numbers, Figure{Value: quantity.Number(r.Bar.IodineValue, 0), Label: "iodine value"},
			Figure{Value: quantity.Number(r.Bar.Oxidizable, 2), Label: "oxidizability"})
	}
	w.Numbers = append(w.Numbers, Figure{Value: quantity.Percent(r.Bar.GlycerolPct, 1), Label: "glycerol"})
	return w
}

// sameSums reports that two formulas give the same sums: they differ at most in
// words.
func sameSums(a, b *formula.Formula) bool {
	x, y := a.Clone(), b.Clone()
	x.Name, y.Name, x.Notes, y.Notes = "", "", "", ""
	ja, err := formula.Encode(x)
	if err != nil {
		return false
	}
	jb, err := formula.Encode(y)
	return err == nil && string(ja) == string(jb)
}

// chosen leaves out the lines that are not chosen yet, with their row numbers.
func chosen[T any](list []T, rows []int, ok func(T) bool) ([]T, []int) {
	var out []T
	var nums []int
	for i, x := range list {
		if ok(x) && i < len(rows) {
			out = append(out, x)
			nums = append(nums, rows[i])
		}
	}
	return out, nums
}

func (w *workView) lye(t trade, r *soap.Result, d float64) {
	alkali := func(name string, g float64, solution bool, p quantity.Maybe, marks []Mark) {
		if g <= 0 {
			return
		}
		aside := ""
		if p.Known {
			aside = quantity.Number(p.V, 1) + " %"
			if solution {
				aside += " solution, as one line"
			}
		}
		w.NaOH = append(w.NaOH, lyeLine{Name: name, Aside: aside, Value: quantity.MassNumber(g, t.set.Mass, d), Marks: marks})
	}
	a := r.Formula.Alkali
	w.NaOH = nil
	water := lyeLine{Name: "Water, first into the jug", Value: quantity.MassNumber(r.Lye.WaterG, t.set.Mass, d), Marks: w.Findings.About("water")}
	if r.Lye.PeakC.Known {
		water.Aside = "the lye may reach " + t.tempSaid(r.Lye.PeakC.V)
		switch {
		case r.Lye.IcedPeakC.Known:
			water.Aside = "with the ice the lye may reach " + t.tempSaid(r.Lye.IcedPeakC.V)
		case r.Lye.IceG > 0:
			water.Aside += " without the ice"
		}
	}
	w.NaOH = append(w.NaOH, water)
	if r.Lye.IceG > 0 {
		w.NaOH = append(w.NaOH, lyeLine{Name: "Ice, of the same water", Value: quantity.MassNumber(r.Lye.IceG, t.set.Mass, d)})
	}
	pick := func(solid, solution quantity.Maybe) (quantity.Maybe, bool) {
		if solution.Known {
			return solution, true
		}
		return solid, false
	}
	p, sol := pick(a.NaOHPurityPct, a.NaOHSolutionPct)
	alkali("Sodium hydroxide", r.NaOHG, sol, p, append(w.Findings.About("superfat"), w.Findings.About("alkali")...))
	p, sol = pick(a.KOHPurityPct, a.KOHSolutionPct)
	alkali("Potassium hydroxide", r.KOHG, sol, p, nil)
	if r.Lye.LaterG > 0 {
		w.NaOH = append(w.NaOH, lyeLine{Name: "Water kept back", Aside: "into the batter, never into made lye", Value: quantity.MassNumber(r.Lye.LaterG, t.set.Mass, d)})
	}
}

// drawn is the stratum of the picture for each of the sums'.
var drawn = [soap.NumStrata]draw.Stratum{
	soap.Slow: draw.Slow, soap.Mellow: draw.Mellow, soap.Holder: draw.Holder, soap.Fleeting: draw.Fleeting, soap.Quick: draw.Quick,
	soap.UnknownSoap: draw.UnknownSoap, soap.FreeFat: draw.FreeFat, soap.Wax: draw.FreeFat, soap.Unsaponifiable: draw.Unsaponifiable,
	soap.Glycerol: draw.Glycerol, soap.Water: draw.Water, soap.Salts: draw.Salts, soap.Extras: draw.Extras, soap.Scent: draw.Scent,
	soap.FreeAlkali: draw.Salts,
}

// barOf is the bar for the picture.
func barOf(r *soap.Result, sf soap.Superfat, name string) draw.Bar {
	b := draw.Bar{Name: name, MassG: r.Bar.MassG}
	total := 0.0
	strata := r.Strata()
	for _, g := range strata {
		total += g
	}
	for i, g := range strata {
		b.Shares[drawn[i]] += g / total
	}
	b.Wax = strata[soap.Wax] / total
	if sf.SDPct > 0 {
		b.Doubt = &draw.Interval{Low: b.Wax + r.FreeFatAt(sf.LowPct)/total, High: b.Wax + r.FreeFatAt(sf.HighPct)/total}
	}
	return b
}

const (
	barHeight  = 470.0
	legendHead = 34.0
	legendRow  = 33.0
)

func (w *workView) picture(t trade, r *soap.Result, sf soap.Superfat, seed string, d float64) {
	bar := barOf(r, sf, r.Formula.Name)
	rows := bar.Present()
	cut, err := draw.BarCut(bar, draw.CutOptions{ID: "bar", Width: 262, Height: barHeight, Seed: seed, Hidden: false,
		Leaders: &draw.Leaders{Top: legendHead, Pitch: legendRow, Rows: rows}})
	if err == nil {
		w.Cut = SVG(cut)
	}
	if p, err := draw.BarCut(bar, draw.CutOptions{ID: "barp", Width: 340, Height: 400, Seed: seed, Hidden: true}); err == nil {
		w.Phone = SVG(p)
	}
	for _, s := range rows {
		look := s.Look()
		row := strataRow{Look: look, Stratum: s, Does: look.Does, Pct: quantity.Number(100*bar.Shares[s], 1), G: quantity.MassNumber(bar.Shares[s]*r.Bar.MassG, t.set.Mass, d)}
		if s == draw.FreeFat && bar.Doubt != nil {
			row.Does, row.Aside = "", quantity.Interval(100*bar.Doubt.Low, 100*bar.Doubt.High, 1)+" % of the bar"
		}
		w.Strata = append(w.Strata, row)
	}
	for i := range w.Strata {
		w.Strata[i].SoapBegins = i > 0 && int(w.Strata[i].Stratum) < draw.Soaps && int(w.Strata[i-1].Stratum) >= draw.Soaps
	}
	w.WholeG = quantity.MassNumber(r.Bar.MassG, t.set.Mass, d)
	w.SoapPct, w.SoapG = quantity.Number(100*r.SoapG()/r.Bar.MassG, 1), quantity.MassNumber(r.SoapG(), t.set.Mass, d)
	loss := r.Formula.CureWaterLossPct
	w.When = "Area is mass, when sold: " + quantity.Percent(loss.Or(soap.DefaultCureWaterLossPct), 0) + " of the water has gone"
	if !loss.Known {
		w.When += ", which is assumed"
	}
	w.When += "."
	w.FreeSaid = t.massSaid(r.Bar.FreeFat, d) + " of free fat: " + quantity.Percent(sf.NominalPct, 1) + " of the saponifiable fat, " +
		quantity.Percent(100*r.Bar.FreeFat/r.Bar.MassG, 1) + " of the bar."
}

func (w *workView) glass(sf soap.Superfat, mine *studio.Formula) {
	odds := quantity.Odds(sf.Excess, max(sf.Draws, soap.Draws))
	w.Figures = []Figure{{Value: quantity.Percent(sf.NominalPct, 1), Label: "asked for"},
		{Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "95 % interval"},
		{Value: odds, Label: "chance of alkali in excess"},
		{Value: quantity.Percent(sf.For1In1000Pct, 1), Label: "would make it 1 in 1000"}}
	g := draw.Superfat{NominalPct: sf.NominalPct, LowPct: sf.LowPct, HighPct: sf.HighPct, MeanPct: sf.NominalPct, SDPct: sf.SDPct, Excess: sf.Excess, Odds: odds, Label: "this version"}
	if mine != nil && mine.Newest.Kept.Superfat.Draws > 0 {
		k := mine.Newest.Kept.Superfat
		g.Earlier = &draw.Earlier{Label: "version " + strconv.Itoa(mine.Newest.N), NominalPct: k.NominalPct, LowPct: k.LowPct, HighPct: k.HighPct}
	}
	if p, err := draw.Glass(g, draw.GlassOptions{ID: "glass", Width: 536}); err == nil {
		w.Glass = SVG(p)
	}
	if p, err := draw.Glass(g, draw.GlassOptions{ID: "glassp", Width: 346, Hidden: true}); err == nil {
		w.GlassPhone = SVG(p)
	}
}

// versionsView lists a formula's versions and what changed between two.
type versionsView struct {
	ID, Name   string
	Rows       []versionRow
	From, To   Select
	Changes    []formula.Change
	Between    string
	Duplicate  Field
	PutAway    bool
	NothingOff bool
}

type versionRow struct {
	N                                    int
	Href, Kept, Note, Superfat, Interval string
	File                                 string
}

var versionsPage = declare[versionsView]("versions")

func (s *server) versions(w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PathValue("id")
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	f, err := s.cfg.Book.Formula(ctx, id)
	if err != nil {
		return err
	}
	all, err := s.cfg.Book.Versions(ctx, id)
	if err != nil {
		return err
	}
	slices.SortFunc(all, func(a, b studio.Version) int { return b.N - a.N })
	v := versionsView{ID: id, Name: f.Name, PutAway: f.PutAway(), Duplicate: Field{Name: "name", Label: "Name of the copy", Words: true, Wide: true, Value: f.Name + ", again"}}
	byN := map[int]studio.Version{}
	var opts []Option
	for _, x := range all {
		byN[x.N] = x
		opts = append(opts, Option{strconv.Itoa(x.N), "version " + strconv.Itoa(x.N), ""})
		row := versionRow{N: x.N, Href: fmt.Sprintf("/formulas/%s?v=%d", id, x.N), Kept: day(x.KeptAt, t.set.Location()), Note: x.Note,
			File: fmt.Sprintf("/formulas/%s/file/%d", id, x.N)}
		if x.Kept.Superfat.Draws > 0 {
			row.Superfat, row.Interval = quantity.Percent(x.Kept.Superfat.NominalPct, 1), quantity.Interval(x.Kept.Superfat.LowPct, x.Kept.Superfat.HighPct, 1)
		}
		v.Rows = append(v.Rows, row)
	}
	to, from := f.Newest.N, max(f.Newest.N-1, 1)
	if n, err := strconv.Atoi(r.FormValue("to")); err == nil && byN[n].N != 0 {
		to = n
	}
	if n, err := strconv.Atoi(r.FormValue("from")); err == nil && byN[n].N != 0 {
		from = n
	}
	v.From = Select{Name: "from", Label: "from", Value: strconv.Itoa(from), Options: opts}
	v.To = Select{Name: "to", Label: "to", Value: strconv.Itoa(to), Options: opts}
	if from != to {
		v.Between = fmt.Sprintf("version %d to version %d", from, to)
		v.Changes = formula.Diff(byN[from].Formula, byN[to].Formula, t.faces())
		v.NothingOff = len(v.Changes) == 0
	}
	return versionsPage.write(s, w, r, http.StatusOK, Head{Title: f.Name + ", versions", Lead: "A version that was kept never changes.",
		Actions: []Button{{Label: "Back to the formula", Href: "/formulas/" + id}}}, v)
}

// formulaFile gives a version as a formula file, as the command reads it.
func (s *server) formulaFile(w http.ResponseWriter, r *http.Request) error {
	n, err := strconv.Atoi(r.PathValue("n"))
	if err != nil {
		return fault.NotFoundf("n", "There is no version “%s”.", r.PathValue("n"))
	}
	ver, err := s.cfg.Book.Version(r.Context(), r.PathValue("id"), n)
	if err != nil {
		return err
	}
	b, err := formula.WriteTOML(ver.Formula)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/toml; charset=utf-8")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="formula-%s-%d.toml"`, ver.FormulaID[:min(8, len(ver.FormulaID))], n))
	_, _ = w.Write(b)
	return nil
}

func (s *server) duplicateFormula(w http.ResponseWriter, r *http.Request) error {
	v, err := readForm(r)
	if err != nil {
		return err
	}
	n, _ := strconv.Atoi(v.Get("n"))
	if n == 0 {
		f, err := s.cfg.Book.Formula(r.Context(), r.PathValue("id"))
		if err != nil {
			return err
		}
		n = f.Newest.N
	}
	ver, err := s.cfg.Book.Duplicate(r.Context(), r.PathValue("id"), n, v.Get("name"))
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/formulas/"+ver.FormulaID, http.StatusSeeOther)
	return nil
}

func (s *server) putFormulaAway(w http.ResponseWriter, r *http.Request) error {
	if err := s.cfg.Book.PutAway(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/formulas", http.StatusSeeOther)
	return nil
}

func (s *server) bringFormulaBack(w http.ResponseWriter, r *http.Request) error {
	if err := s.cfg.Book.BringBack(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/formulas/"+r.PathValue("id"), http.StatusSeeOther)
	return nil
}

// compareView sets two formulas side by side.
type compareView struct {
	A, B    compared
	Strata  []comparedRow
	Changes []formula.Change
	PickA   Select
	PickB   Select
}

type compared struct {
	Name, Href string
	Cut        template.HTML
	Figures    []Figure
	Findings   []finding.Finding
}

type comparedRow struct {
	Stratum    draw.Stratum
	Look       draw.Look
	A, B, Move string
}

var comparePage = declare[compareView]("compare")

func (s *server) compareFormulas(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	page, err := s.cfg.Book.Formulas(ctx, "", studio.Slice{Size: 200})
	if err != nil {
		return err
	}
	var opts []Option
	for _, f := range page.Items {
		opts = append(opts, Option{f.ID, f.Name, ""})
	}
	a, b := r.FormValue("a"), r.FormValue("b")
	v := compareView{PickA: Select{Name: "a", Label: "Left", Value: a, Options: opts}, PickB: Select{Name: "b", Label: "Right", Value: b, Options: opts}}
	head := Head{Title: "Two formulas, side by side", Lead: "Compare with a bar you know: there is no score here, and no good range.",
		Actions: []Button{{Label: "All formulas", Href: "/formulas"}}}
	if a == "" || b == "" {
		return comparePage.write(s, w, r, http.StatusOK, head, v)
	}
	var bars [2]draw.Bar
	var forms [2]*formula.Formula
	for i, id := range []string{a, b} {
		f, err := s.cfg.Book.Formula(ctx, id)
		if err != nil {
			return err
		}
		res, err := soap.Work(f.Newest.Formula, t.cat)
		if err != nil {
			return err
		}
		sf := res.Superfat
		if f.Newest.Kept.Superfat.Draws > 0 {
			sf = f.Newest.Kept.Superfat
		}
		bars[i], forms[i] = barOf(res, sf, f.Name), f.Newest.Formula
		c := compared{Name: f.Name, Href: "/formulas/" + f.ID}
		if cut, err := draw.BarCut(bars[i], draw.CutOptions{ID: "bar" + strconv.Itoa(i), Width: 260, Height: 380, Seed: f.ID}); err == nil {
			c.Cut = SVG(cut)
		}
		c.Figures = []Figure{{Value: quantity.Percent(sf.NominalPct, 1), Label: "superfat"}, {Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "95 % interval"},
			{Value: quantity.Odds(sf.Excess, max(sf.Draws, soap.Draws)), Label: "alkali in excess"}, {Value: quantity.Number(res.Bar.IodineValue, 0), Label: "iodine value"}, {Value: quantity.Percent(res.Bar.TFMPct, 1), Label: "total fatty matter"}}
		if i == 0 {
			v.A = c
		} else {
			v.B = c
		}
	}
	for i := int(draw.NumStrata) - 1; i >= 0; i-- {
		if bars[0].Shares[i] == 0 && bars[1].Shares[i] == 0 {
			continue
		}
		st := draw.Stratum(i)
		v.Strata = append(v.Strata, comparedRow{Stratum: st, Look: st.Look(), A: quantity.Number(100*bars[0].Shares[i], 1), B: quantity.Number(100*bars[1].Shares[i], 1),
			Move: signed(100 * (bars[1].Shares[i] - bars[0].Shares[i]))})
	}
	v.Changes = formula.Diff(forms[0], forms[1], t.faces())
	return comparePage.write(s, w, r, http.StatusOK, head, v)
}

func signed(v float64) string {
	s := quantity.Number(v, 1)
	if v > 0.05 {
		return "+" + s
	}
	return s
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
