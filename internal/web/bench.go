package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"barwright/bench"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/draw"
	"barwright/internal/export/sheetpdf"
	"barwright/internal/web/shell"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

func (s *server) benchRoutes() {
	s.Place("Bench", "/bench")
	s.Handle("GET /bench", s.bench)
	s.Handle("POST /bench", s.takeDown)
	s.Handle("GET /bench/{code}", s.benchSheet)
	s.Handle("GET /bench/{code}/sheet.pdf", s.benchPDF)
}

// benchView asks what goes on the bench and lists the sheets taken down.
type benchView struct {
	ID      string // of the sheet to be, so that a form sent twice takes one down
	Summary Summary
	Formula Select
	By      Select
	Amount  Field
	Mould   Select
	Pieces  Field
	Fill    Field
	Over    Field
	Empty   *Empty
	Sheets  []sheetRow
	Pages   Pages
	Look    *lookView // at the size that was asked for, before it is taken down
}

// lookView is what a batch comes to at a size, before its sheet is taken down: a
// small one shows by itself what the scale does to it.
type lookView struct {
	Title    string
	Figures  []Figure
	Aside    string
	Findings Findings
}

type sheetRow struct{ Href, Code, Name, Aside, PDF string }

var benchPage = shell.Declare[benchView](room, "bench")

func (s *server) bench(w http.ResponseWriter, r *http.Request) error {
	return s.showBench(w, r, http.StatusOK, r.URL.Query(), nil)
}

func (s *server) showBench(w http.ResponseWriter, r *http.Request, status int, q url.Values, faults fault.List) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	formulas, err := s.cfg.Book.Formulas.List(ctx, "", studio.Slice{Size: 200})
	if err != nil {
		return err
	}
	moulds, err := s.cfg.Book.Moulds.All(ctx)
	if err != nil {
		return err
	}
	v := benchView{ID: q.Get("id"), Summary: Summarise(faults)}
	if v.ID == "" {
		v.ID = studio.NewID()
	}
	opts := []Option{{Value: "", Label: "choose a formula"}}
	there := false
	for _, f := range formulas.Items {
		opts = append(opts, Option{Value: f.ID, Label: f.Name + ", version " + strconv.Itoa(f.Newest.N)})
		there = there || f.ID == q.Get("formula")
	}
	if id := q.Get("formula"); id != "" && !there {
		if f, err := s.cfg.Book.Formulas.Get(ctx, id); err == nil {
			opts = append(opts, Option{Value: f.ID, Label: f.Name + ", version " + strconv.Itoa(f.Newest.N)})
		}
	}
	v.Formula = selectOf(q, faults, "formula", "Formula", opts)
	v.By = selectOf(q, faults, "by", "Sized by", []Option{{Value: "mould", Label: "a mould and its pieces"}, {Value: "fats", Label: "a mass of fats, or of base"}, {Value: "batter", Label: "a mass of batter"}, {Value: "kept", Label: "as it was kept"}})
	if v.By.Value == "" {
		v.By.Value = "kept"
		if len(moulds) > 0 {
			v.By.Value = "mould"
		}
	}
	fo := func(name, label, unit, hint string) Field { return fieldOf(q, faults, name, label, unit, hint) }
	mo := []Option{{Value: "", Label: "choose a mould"}}
	for _, m := range moulds {
		mo = append(mo, Option{Value: m.ID, Label: m.Name})
	}
	nameFaults(&v.Summary, benchLabels)
	v.Amount = fo("amount", "Mass", massUnitWord(t.set.Mass), "of the fats, the base or the batter; as little as you like for a test")
	v.Mould = selectOf(q, faults, "mould", "Mould", mo)
	v.Pieces = fo("pieces", "Pieces", "", "cavities to fill")
	v.Fill = fo("fill", "Filled to", "%", "of the cavity; 100 when left empty")
	v.Over = fo("over", "Beyond the moulds", "%", "what the spatula keeps")
	if len(formulas.Items) == 0 {
		v.Empty = &Empty{Text: "A bench sheet is made from a formula that was kept. There is none yet.", Do: &Button{Label: "Write a formula", Look: Main, Href: "/formulas/new"}}
	}
	if v.Look, err = s.lookAt(ctx, t, q, &v); err != nil {
		return err
	}
	n, _ := strconv.Atoi(q.Get("page"))
	taken, err := s.cfg.Book.Runs(ctx, studio.RunsOf{}, studio.Slice{Number: n, Size: 25})
	if err != nil {
		return err
	}
	for _, x := range taken.Items {
		v.Sheets = append(v.Sheets, takenRow(x, t.set.Location()))
	}
	v.Pages, _ = Pagination("sheets", taken.Number, 25, taken.Total, func(n int) string { return "/bench?page=" + strconv.Itoa(n) })
	return benchPage.Write(s.Shell, w, r, status, Head{Title: "Bench", Lead: "What is weighed, in which order, with the cautions where the hand is."}, v)
}

// lookAt works out what the form asks for, when it asks for something; what is
// wrong with a size that was typed is said in the form.
func (s *server) lookAt(ctx context.Context, t trade, q url.Values, v *benchView) (*lookView, error) {
	if len(v.Summary.Faults) > 0 || q.Get("formula") == "" || q.Get("by") == "" {
		return nil, nil
	}
	f, err := s.cfg.Book.Formulas.Get(ctx, q.Get("formula"))
	if err != nil {
		return nil, nil // the form asks for one
	}
	b, faults, err := s.sized(ctx, t, f, q)
	if err != nil || len(faults) > 0 {
		if len(faults) > 0 {
			v.Summary = Summarise(faults)
			nameFaults(&v.Summary, benchLabels)
			for _, x := range []*Field{&v.Amount, &v.Pieces, &v.Fill, &v.Over} {
				x.Fault = FaultAt(faults, x.Name)
			}
			v.Mould.Fault = FaultAt(faults, "mould")
		}
		return nil, err
	}
	r, d := b.r, t.division(b.r.Formula)
	out := &lookView{Title: "What that comes to"}
	of := "fats"
	if r.Formula.Method == formula.Melt {
		of = "base"
	}
	out.Figures = []Figure{{Value: t.massSaid(r.FatsG, d), Label: of}, {Value: t.massSaid(r.Batter.MassG, d), Label: "batter"},
		{Value: quantity.Volume(r.Batter.VolumeML, t.set.Volume, 0), Label: "about"}}
	var fs []finding.Finding
	for _, x := range soap.Findings(r, r.Superfat, t.limits(r.Formula)) {
		if x.Severity != finding.Note {
			fs = append(fs, x)
		}
	}
	if r.Formula.Method != formula.Melt {
		sf := r.Superfat
		out.Figures = append(out.Figures, Figure{Value: quantity.Interval(sf.LowPct, sf.HighPct, 1) + quantity.UnitSpace + "%", Label: "superfat, 95 % interval"},
			Figure{Value: quantity.Odds(sf.Excess, soap.Draws), Label: "chance of alkali in excess"})
		out.Aside = "The scale’s step is not written in the formula, so weighing is taken as exact here; on a small batch it is what errs most."
		if r.Formula.ScaleDivisionG.Known {
			out.Aside = "On a scale that shows steps of " + t.massSaid(d, d) + ". The smaller the batch, the more a step counts: a finer scale or a larger batch narrows it."
		}
	}
	out.Findings = Footnotes(fs)
	return out, nil
}

// takeDown makes a bench sheet and keeps it.
func (s *server) takeDown(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	v, err := readForm(r)
	if err != nil {
		return err
	}
	f, err := s.cfg.Book.Formulas.Get(ctx, v.Get("formula"))
	if err != nil {
		return s.showBench(w, r, http.StatusUnprocessableEntity, v, fault.List{fault.Invalidf("formula", "Choose the formula that goes on the bench.")})
	}
	made, size, faults, err := s.makeSheet(ctx, t, f, v)
	if err != nil {
		return err
	}
	if len(faults) > 0 {
		return s.showBench(w, r, http.StatusUnprocessableEntity, v, faults)
	}
	working, err := json.Marshal(made)
	if err != nil {
		return err
	}
	making := studio.Making{Size: &size, Batches: []studio.Batching{{FormulaID: f.ID, FormulaN: f.Newest.N, MassG: made.Batter.MassG}}, Working: working}
	kept, err := s.keepRun(ctx, v.Get("id"), making)
	if err != nil {
		if k := fault.KindOf(err); k == fault.Invalid || k == fault.Conflict {
			return s.showBench(w, r, statusOf(k), v, benchFields(fault.All(err)))
		}
		return err
	}
	http.Redirect(w, r, "/bench/"+kept.Code, http.StatusSeeOther)
	return nil
}

// benchLabels are the fields of the form as the maker reads them.
var benchLabels = map[string]string{"formula": "Formula", "amount": "Mass", "mould": "Mould", "pieces": "Pieces", "fill": "Filled to", "over": "Beyond the moulds"}

// benchFields gives the faults of a size the names of the form.
func benchFields(l fault.List) fault.List {
	names := map[string]string{"fats_g": "amount", "batter_g": "amount", "mould_id": "mould", "fill_pct": "fill", "overage_pct": "over"}
	out := make(fault.List, len(l))
	for i, e := range l {
		c := *e
		if n, ok := names[c.Field]; ok {
			c.Field = n
		}
		out[i] = &c
	}
	return out
}

// batch is a formula at the size that goes on the bench.
type batch struct {
	r    *soap.Result
	m    *mould.Mould // nil when it is for none
	fill mould.Fill
	size studio.Size
}

// sized works a formula out at the size that the form asks for.
func (s *server) sized(ctx context.Context, t trade, f studio.Record[studio.Formula], v url.Values) (batch, fault.List, error) {
	var l fault.List
	var z studio.Size
	number := func(field string, read func(string) (float64, error)) float64 {
		x, err := read(v.Get(field))
		for _, e := range fault.All(err) {
			c := *e
			c.Field = field
			l.Add(&c)
		}
		return x
	}
	refused := func(l fault.List) (batch, fault.List, error) { return batch{}, l, nil }
	r, err := soap.Work(f.Newest.Doc.Formula, t.cat)
	if err != nil {
		if fault.KindOf(err) != fault.Internal {
			return refused(fault.List{fault.Invalidf("formula", "This formula cannot be worked out as it stands: %v", err)})
		}
		return batch{}, nil, err
	}
	fatsG := f.Newest.Doc.Formula.FatsG
	var m *mould.Mould
	fill := mould.Fill{Pct: 100}
	switch v.Get("by") {
	case "fats":
		z.By = studio.ByFats
		z.FatsG = number("amount", func(x string) (float64, error) { return quantity.ParseMass(x, t.set.Mass) })
		fatsG = r.SizedByFats(z.FatsG)
	case "batter":
		z.By = studio.ByBatter
		z.BatterG = number("amount", func(x string) (float64, error) { return quantity.ParseMass(x, t.set.Mass) })
		fatsG = r.SizedByBatter(z.BatterG)
	case "kept":
		z.By, z.FatsG = studio.ByFats, r.FatsG
	default:
		z.By, z.MouldID = studio.ByMould, v.Get("mould")
		pieces := number("pieces", quantity.ParseNumber)
		if pieces != float64(int(pieces)) {
			l.Add(fault.Invalidf("pieces", "The number of pieces must be whole."))
		}
		z.Pieces, z.FillPct = int(pieces), 100
		if strings.TrimSpace(v.Get("fill")) != "" {
			z.FillPct = number("fill", parsePercent)
		}
		if strings.TrimSpace(v.Get("over")) != "" {
			z.OveragePct = number("over", parsePercent)
		}
		fill = mould.Fill{Pct: z.FillPct, OveragePct: z.OveragePct}
	}
	if len(l) == 0 {
		l = benchFields(z.Validate())
	}
	if len(l) > 0 {
		return refused(l)
	}
	if z.By == studio.ByMould {
		kept, err := s.cfg.Book.Moulds.Get(ctx, z.MouldID)
		if err != nil {
			return refused(fault.List{fault.Invalidf("mould", "Choose the mould that the batch is for.")})
		}
		m = &kept.Newest.Doc
		ml, err := m.BatterFor(z.Pieces, fill)
		if err != nil {
			return refused(benchFields(fault.All(err)))
		}
		fatsG = r.SizedByVolume(ml)
	}
	if r, err = soap.WorkAt(f.Newest.Doc.Formula, fatsG, t.cat); err != nil {
		l := fault.All(err)
		if l[0].Field != "fats_g" {
			return batch{}, nil, err
		}
		if z.By == studio.ByMould {
			l[0].Field = "pieces"
		}
		return refused(benchFields(l))
	}
	return batch{r, m, fill, z}, nil, nil
}

// makeSheet works a bench sheet out at the size that the form asks for.
func (s *server) makeSheet(ctx context.Context, t trade, f studio.Record[studio.Formula], v url.Values) (*bench.Sheet, studio.Size, fault.List, error) {
	b, faults, err := s.sized(ctx, t, f, v)
	if err != nil || len(faults) > 0 {
		return nil, b.size, faults, err
	}
	sf := b.r.Drawn()
	card, err := s.Studio(ctx)
	if err != nil {
		return nil, b.size, nil, err
	}
	at := s.Now()
	made, err := bench.New(bench.Input{Result: b.r, Superfat: sf, Findings: soap.Findings(b.r, sf, t.limits(b.r.Formula)), Mould: b.m, Pieces: b.size.Pieces, Fill: b.fill,
		Units: bench.Units{Mass: t.set.Mass, Temp: t.set.Temperature, Volume: t.set.Volume, Length: t.set.Length}, Catalogue: t.cat,
		Date: at.In(t.set.Location()).Format("Monday, 2 January 2006"), At: at.UTC().Truncate(time.Second), Studio: card.Name, Version: f.Newest.N, Demo: card.Demo})
	if err != nil {
		if fault.KindOf(err) == fault.Internal {
			return nil, b.size, nil, err
		}
		return nil, b.size, benchFields(fault.All(err)), nil
	}
	return made, b.size, nil, nil
}

// sheetView is one bench sheet on the screen.
type sheetView struct {
	*bench.Sheet
	PDF, Formula string
	Cut          template.HTML
	Strata       []strataRow
	Unit         string
	Emergency    string
	Stops        []Note
	Warns        []Note
	Lacking      string // what the paper's fonts cannot print
}

// weighUnit heads a column of masses.
func weighUnit(u quantity.MassUnit) string {
	if u == quantity.PoundOunce {
		return "lb and oz"
	}
	return massUnitWord(u)
}

var sheetPage = shell.Declare[sheetView](room, "sheet")

// sheetOf reads the sheet of a run of one batch back as it was made.
func sheetOf(kept studio.Run) (*bench.Sheet, error) {
	var b bench.Sheet
	if err := json.Unmarshal(kept.Working, &b); err != nil {
		return nil, fmt.Errorf("sheet %s: %w", kept.Code, err)
	}
	b.Code = kept.Code
	return &b, nil
}

func (s *server) benchSheet(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	kept, err := s.cfg.Book.Run(r.Context(), r.PathValue("code"))
	if err != nil {
		return err
	}
	if !kept.Alone() {
		return s.run(w, r, t, kept)
	}
	b, err := sheetOf(kept)
	if err != nil {
		return err
	}
	return s.showSheet(w, r, t, b, kept.Batches[0].FormulaID, "/bench/"+kept.Code+"/sheet.pdf", nil)
}

// showSheet writes a sheet, with what else can be gone to from it.
func (s *server) showSheet(w http.ResponseWriter, r *http.Request, t trade, b *bench.Sheet, formulaID, pdf string, more []Button) error {
	v := sheetView{Sheet: b, PDF: pdf, Formula: "/formulas/" + formulaID + "?v=" + strconv.Itoa(b.Version), Unit: weighUnit(b.Units.Mass), Emergency: t.set.Emergency}
	if b.Method != formula.Melt {
		v.cut(formulaID)
	}
	var err error
	if v.Lacking, err = lacking(b); err != nil {
		return err
	}
	for i, f := range b.Stops {
		v.Stops = append(v.Stops, Note{Finding: f, Letter: letters(i)})
	}
	for i, f := range b.Warns {
		v.Warns = append(v.Warns, Note{Finding: f, Letter: letters(len(b.Stops) + i)})
	}
	return sheetPage.Write(s.Shell, w, r, http.StatusOK, Head{Title: b.Name, Lead: "Bench sheet " + b.Code + ", " + b.Date + ". Version " + strconv.Itoa(b.Version) + ", " + b.Batter.Mass + " of batter, about " + b.Batter.Volume + ".",
		Actions: append(more, Button{Label: "The formula", Href: v.Formula}, Button{Label: "On paper (PDF)", Look: Main, Href: v.PDF}), Foot: b.Foot}, v)
}

// cut draws the bar of a batter with lye.
func (v *sheetView) cut(seed string) {
	bar, ok := draw.BarOfSheet(v.Sheet)
	if !ok {
		return
	}
	if cut, err := draw.BarCut(bar, draw.CutOptions{ID: "bar", Width: 200, Height: 300, Seed: seed}); err == nil {
		v.Cut = SVG(cut)
	}
	for _, st := range bar.Present() {
		v.Strata = append(v.Strata, strataRow{Look: st.Look(), Stratum: st, Pct: quantity.Number(100*bar.Shares[st], 1)})
	}
}

// Melt reports that the sheet is of ready-made base: no lye stands on it.
func (v sheetView) Melt() bool { return v.Method == formula.Melt }

func (s *server) benchPDF(w http.ResponseWriter, r *http.Request) error {
	paper, err := sheetpdf.ParsePaper(r.FormValue("paper"))
	if err != nil {
		return err
	}
	kept, err := s.cfg.Book.Run(r.Context(), r.PathValue("code"))
	if err != nil {
		return err
	}
	var out bytes.Buffer
	name := "run"
	if kept.Alone() {
		name = "bench-sheet"
		b, err := sheetOf(kept)
		if err != nil {
			return err
		}
		if err := sheetpdf.WriteOn(&out, b, paper); err != nil {
			return err
		}
	} else {
		b, err := runOf(kept)
		if err != nil {
			return err
		}
		if err := sheetpdf.WriteRun(&out, b, paper); err != nil {
			return err
		}
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`inline; filename="%s-%s.pdf"`, name, kept.Code))
	_, _ = out.WriteTo(w)
	return nil
}
