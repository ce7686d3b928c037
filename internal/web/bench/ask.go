// Package bench is the room of the bench: it asks which formula is made at which
// size, makes the sheet, and shows what was made, on the screen and on paper.
package bench

import (
	"cmp"
	"context"
	"embed"
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"

	making "barwright/bench"
	"barwright/fault"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

//go:embed *.html
var files embed.FS

var room = shell.NewRoom("bench", files)

// rooms are the pages of the bench.
type rooms struct{ form.Room }

// Open registers the room.
func Open(s *shell.Shell, book *studio.Studio) {
	o := rooms{form.Room{Shell: s, Book: book}}
	s.Place("Bench", "/bench")
	o.Serve(o.ask, "GET /bench", "POST /bench")
	o.Serve(o.show, "GET /bench/{code}")
	o.Serve(o.pdf, "GET /bench/{code}/sheet.pdf")
}

// askView asks what goes on the bench, and lists what was made.
type askView struct {
	Once  string // the id under which making a sheet counts once
	Form  *form.Form
	Empty *shell.Empty
	Runs  shell.List
	Pages shell.Pages
	Look  *lookView // at the size that was asked for, before a sheet is made
}

// lookView is what a batch comes to at a size, before its sheet is made: a small
// one shows by itself what the scale does to it.
type lookView struct {
	Figures  []shell.Figure
	Aside    string
	Findings shell.Findings
}

var askPage = shell.Declare[askView](room, "bench")

// The ways to say how large a batch is.
const (
	byMould  = "mould"
	byFats   = "fats"
	byBatter = "batter"
	byKept   = "kept" // as the formula was kept
)

// sizedBy is what each way that has fields of its own is to the size.
var sizedBy = map[string]studio.SizeBy{byMould: studio.ByMould, byFats: studio.ByFats, byBatter: studio.ByBatter}

// wanted is what the form asks for.
type wanted struct {
	formula string // its id
	by      string
	size    studio.Size
}

// bind is the form of a sheet to be. The fields of every way to give the size stand on
// the page; those of the way that was chosen are read.
func bind(f *form.Form, w *wanted, formulas, moulds *form.List, usual string) {
	f.Pick("formula", &w.formula, formulas, form.Label("Formula"), form.Wide, form.Needed("Choose the formula that goes on the bench."))
	f.Word("by", &w.by, []shell.Option{{Value: byMould, Label: "a mould and its pieces"}, {Value: byFats, Label: "a mass of fats, or of base"},
		{Value: byBatter, Label: "a mass of batter"}, {Value: byKept, Label: "as it was kept"}}, "another way", form.Label("Sized by"))
	if w.by == "" {
		w.by = usual
		f.Set("by", usual)
	}
	z, inMould := &w.size, form.When(w.by == byMould)
	f.Pick("mould_id", &z.MouldID, moulds, form.Label("Mould"), inMould)
	f.Count("pieces", &z.Pieces, form.Label("Pieces"), form.Hint("cavities to fill"), inMould)
	f.Number("fill_pct", &z.FillPct, form.Percent, form.Label("Filled to"), form.Hint("of the cavity; 100 when left empty"), form.Empty(100), inMould)
	f.Number("overage_pct", &z.OveragePct, form.Percent, form.Label("Overage"), form.Hint("more than the moulds take"), form.Empty(0), inMould)
	f.Number("fats_g", &z.FatsG, form.Mass, form.Label("Mass of fats"), form.Hint("or of base; as little as you like for a test"), form.When(w.by == byFats))
	f.Number("batter_g", &z.BatterG, form.Mass, form.Label("Mass of batter"), form.Hint("as little as you like for a test"), form.When(w.by == byBatter))
	if by, ok := sizedBy[w.by]; ok {
		z.By = by
		f.Check(z.Validate())
	}
}

// sentForm is a form that was sent: its id, and what was typed into it.
type sentForm struct{ id, typed string }

// ask shows the form and what its answer comes to. A form that was sent makes the
// sheet and leads to it.
func (o rooms) ask(a *form.Ask) error {
	ctx, faces, typed := a.Context(), a.Faces, a.Sent
	once := sentForm{typed.Get("once"), a.Typed("once", "page", "do")}
	if a.Posted {
		if made, ok, err := o.Book.RunMade(ctx, once.id, once.typed); err != nil || ok {
			return a.GoTo("/bench/"+url.PathEscape(made.Code), err)
		}
	}
	formulas, err := form.RecordsAs(ctx, "formulas", "formula", o.Book.Formulas, func(n studio.Name) string {
		return n.Name + " (version " + strconv.Itoa(n.Newest) + ")"
	})
	if err != nil {
		return err
	}
	moulds, err := form.Records(ctx, "moulds", "mould", o.Book.Moulds)
	if err != nil {
		return err
	}
	v := askView{Once: cmp.Or(typed.Get("once"), studio.NewID())}
	usual := byKept
	if moulds.Any() {
		usual = byMould
	}
	var want wanted
	v.Form = form.Read(typed, faces)
	bind(v.Form, &want, formulas, moulds, usual)
	v.Form.Known("once", "page")
	if !formulas.Any() {
		v.Empty = &shell.Empty{Text: "A bench sheet is made from a formula that was kept. There is none yet.",
			Do: &shell.Button{Label: "Write a formula", Look: shell.Main, Href: "/formulas/new"}}
	}
	// A page that was asked for nothing yet says nothing of what is missing.
	if a.Posted || typed.Get("formula") != "" && typed.Get("by") != "" {
		b, err := o.sized(ctx, faces, v.Form, want)
		if err != nil {
			return err
		}
		if a.Posted && b != nil {
			if code, err := o.make(ctx, faces, v.Form, once, *b); err != nil || code != "" {
				return a.GoTo("/bench/"+url.PathEscape(code), err)
			}
		}
		if !v.Form.Refused(nil) && b != nil {
			v.Look = look(faces, b.result)
		}
	}
	n, _ := strconv.Atoi(typed.Get("page")) // what is no number is the first page
	runs, err := o.Book.Runs(ctx, studio.RunsOf{}, studio.Slice{Number: n, Size: perPage})
	if err == nil && runs.Number > runs.Pages() { // the list ends sooner: its last page
		runs, err = o.Book.Runs(ctx, studio.RunsOf{}, studio.Slice{Number: runs.Pages(), Size: perPage})
	}
	if err != nil {
		return err
	}
	v.Runs = shell.List{Caption: "Bench sheets, last first", Title: "Batch", Columns: []shell.Column{{Label: "paper"}}}
	for _, x := range runs.Items {
		at := "/bench/" + x.Code
		v.Runs.Rows = append(v.Runs.Rows, shell.ListRow{Href: at, Code: x.Code, Name: x.Title(), Aside: []string{x.Extent() + ", made " + faces.Day(x.MadeAt)},
			Cells: []shell.Cell{{Value: "PDF", Href: at + "/sheet.pdf", Said: "Sheet " + x.Code + " as PDF"}}})
	}
	v.Pages, _ = shell.Pagination("sheets", runs.Number, perPage, runs.Total, func(n int) string { return "/bench?page=" + strconv.Itoa(n) })
	status := http.StatusOK
	if a.Posted {
		status = v.Form.Status()
	}
	return form.Show(askPage, a, status, shell.Head{Title: "Bench", Lead: "What is weighed, in which order, with the cautions next to each step."}, v)
}

// perPage is how many runs a page of the list shows.
const perPage = 25

// batch is a formula at the size that goes on the bench.
type batch struct {
	formula studio.Record[studio.Formula]
	result  *soap.Result
	mould   *mould.Mould // nil when it is for none
	size    studio.Size
}

// sized works a formula out at the size that the form asks for; nil where the form
// has faults, which it notes.
func (o rooms) sized(ctx context.Context, faces form.Faces, f *form.Form, want wanted) (*batch, error) {
	if !f.Sound() {
		return nil, nil
	}
	rec, err := o.Book.Formulas.Get(ctx, want.formula)
	if err != nil {
		return nil, gone(f, err, "formula", "Choose the formula that goes on the bench.")
	}
	b := &batch{formula: rec, size: want.size}
	written := rec.Newest.Doc.Formula
	r, err := soap.Work(written, faces.Cat)
	if err != nil {
		if fault.KindOf(err) == fault.Internal {
			return nil, err
		}
		f.Refuse("formula", fault.Invalidf("", "This formula cannot be worked out as it stands: %v", err))
		return nil, nil
	}
	fatsG, at := written.FatsG, "formula"
	switch want.by {
	case byFats:
		fatsG, at = r.SizedByFats(b.size.FatsG), "fats_g"
	case byBatter:
		fatsG, at = r.SizedByBatter(b.size.BatterG), "batter_g"
	case byKept:
		b.size = studio.Size{By: studio.ByFats, FatsG: r.FatsG}
	default:
		m, err := o.Book.Moulds.Get(ctx, b.size.MouldID)
		if err != nil {
			return nil, gone(f, err, "mould_id", "Choose the mould that the batch is for.")
		}
		b.mould, at = &m.Newest.Doc, "pieces"
		ml, err := b.mould.BatterFor(b.size.Pieces, b.fill())
		if err != nil {
			f.Check(err)
			return nil, nil
		}
		fatsG = r.SizedByVolume(ml)
	}
	if b.result, err = soap.WorkAt(written, fatsG, faces.Cat); err != nil {
		l := fault.All(err)
		if l[0].Kind == fault.Internal || l[0].Field != "fats_g" {
			return nil, err
		}
		f.Refuse(at, l[0])
		return nil, nil
	}
	return b, nil
}

// gone asks at a field for another choice where the record that was chosen is not
// there; any other error of the store is not the maker's, and is given back.
func gone(f *form.Form, err error, path, sentence string) error {
	if fault.KindOf(err) != fault.NotFound {
		return err
	}
	f.Refuse(path, fault.Invalidf("", "%s", sentence))
	return nil
}

// fill is how the mould is filled.
func (b batch) fill() mould.Fill {
	if b.mould == nil {
		return mould.Fill{Pct: 100}
	}
	return mould.Fill{Pct: b.size.FillPct, OveragePct: b.size.OveragePct}
}

// look says what a batch comes to.
func look(t form.Faces, r *soap.Result) *lookView {
	d, of := t.Division(r.Formula), "fats"
	if r.Melts() {
		of = "base"
	}
	v := &lookView{Figures: []shell.Figure{{Value: t.Mass(r.FatsG, d), Label: of}, {Value: t.Mass(r.Batter.MassG, d), Label: "batter"},
		{Value: quantity.Volume(r.Batter.VolumeML, t.Set.Volume, 0), Label: "about"}}}
	if !r.Melts() {
		sf := r.Superfat
		v.Figures = append(v.Figures,
			shell.Figure{Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "superfat, 95 % interval"},
			shell.Figure{Value: quantity.Odds(sf.Excess, soap.Draws), Label: "chance of alkali in excess"})
		v.Aside = "The formula does not say what steps your scale shows, so weighing counts as exact here. In a small batch it is the largest error."
		if r.Formula.ScaleDivisionG.Known {
			v.Aside = "On a scale that shows steps of " + t.Mass(d, d) +
				". The smaller the batch, the more a step counts: a finer scale or a larger batch narrows the interval."
		}
	}
	v.Findings = shell.Footnotes(shell.NoNotes(soap.Findings(r, r.Superfat, t.Limits(r.Formula))))
	return v
}

// make makes the sheet of a batch and keeps it under a code; "" where the form has
// faults, which it notes.
func (o rooms) make(ctx context.Context, t form.Faces, f *form.Form, once sentForm, b batch) (code string, err error) {
	card, err := o.Studio(ctx)
	if err != nil {
		return "", err
	}
	sf, head := b.result.Drawn(), t.Set.Head(o.Now())
	head.Studio, head.Demo = card.Name, card.Demo
	sheet, err := making.New(making.Input{Result: b.result, Superfat: sf, Findings: soap.Findings(b.result, sf, t.Limits(b.result.Formula)),
		Mould: b.mould, Pieces: b.size.Pieces, Fill: b.fill(), Catalogue: t.Cat, Head: head, Version: b.formula.Newest.N})
	if err != nil {
		return "", f.Take(err)
	}
	working, err := json.Marshal(sheet)
	if err != nil {
		return "", err
	}
	kept, err := o.Book.MakeRunOnce(ctx, once.id, once.typed, studio.Making{Size: &b.size, Working: working,
		Batches: []studio.Batching{{FormulaID: b.formula.ID, FormulaN: b.formula.Newest.N, MassG: sheet.Batter.MassG}}})
	return kept.Code, f.Take(err)
}
