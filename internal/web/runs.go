package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"barwright/bench"
	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/internal/export/sheetpdf"
	"barwright/internal/web/shell"
	"barwright/soap"
	"barwright/studio"
)

// takenRow is a run in the list of what was taken down.
func takenRow(r studio.Run, loc *time.Location) sheetRow {
	if r.Alone() {
		b := r.Batches[0]
		return sheetRow{Href: "/bench/" + r.Code, Code: r.Code, Name: b.FormulaName, Aside: fmt.Sprintf("version %d, taken down %s", b.FormulaN, day(r.MadeAt, loc)), PDF: "/bench/" + r.Code + "/sheet.pdf"}
	}
	var names []string
	for _, d := range r.Asked() {
		names = append(names, strconv.Itoa(d.Pieces)+" × "+d.Name)
	}
	if more := len(names) - 3; more > 0 {
		names = append(names[:3], strconv.Itoa(more)+" more")
	}
	return sheetRow{Href: "/bench/" + r.Code, Code: r.Code, Name: strings.Join(names, ", "),
		Aside: listed("a run of "+countOf(len(r.Batches), "batch", "batches"), "taken down "+day(r.MadeAt, loc)), PDF: "/bench/" + r.Code + "/sheet.pdf"}
}

// takeRunDown makes the sheet of a run and keeps it.
func (s *server) takeRunDown(w http.ResponseWriter, r *http.Request, v url.Values) error {
	ctx, id := r.Context(), r.PathValue("id")
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	ids := []string{id}
	for _, n := range rowsIn(v, "also", "design") {
		if e := v.Get(alsoField(n, "design")); e != "" {
			ids = append(ids, e)
		}
	}
	g, err := s.gather(ctx, t, nil, ids...)
	if err != nil {
		return err
	}
	again := func(l fault.List) error {
		return s.showNeed(w, r, http.StatusUnprocessableEntity, v, l)
	}
	wants, o, faults := g.wants(v, id)
	if len(faults) > 0 {
		return again(nil) // the page says what is wrong with the form by itself
	}
	n, err := design.Explode(g.Set, wants, o)
	if err != nil {
		if fault.KindOf(err) == fault.Internal {
			return err
		}
		return again(nil)
	}
	if worst, ok := finding.Worst(n.Findings); ok && worst == finding.Stop {
		return again(fault.List{fault.Invalidf("", "It cannot be built as it stands, so no sheet was taken down: see what stops it below.")})
	}
	made, err := s.makeRun(ctx, g, n)
	if err != nil {
		if fault.KindOf(err) == fault.Internal {
			return err
		}
		return again(sentences(fault.All(err)))
	}
	making := g.Making(n, o, made.Batches)
	if making.Working, err = json.Marshal(made); err != nil {
		return err
	}
	kept, err := s.keepRun(ctx, v.Get("run"), making)
	if err != nil {
		if k := fault.KindOf(err); k == fault.Invalid || k == fault.Conflict {
			return again(sentences(needFields(fault.All(err))))
		}
		return err
	}
	http.Redirect(w, r, "/bench/"+kept.Code, http.StatusSeeOther)
	return nil
}

// keepRun keeps a run once for the id of its form.
func (s *server) keepRun(ctx context.Context, id string, m studio.Making) (studio.Run, error) {
	kept, err := s.cfg.Book.MakeRun(studio.Once(ctx, id), m)
	if l := fault.All(err); len(l) == 1 && l[0].Rule == "once" {
		// The form was gone back to and changed: that is another run, and the one
		// made before stays as it is.
		return s.cfg.Book.MakeRun(ctx, m)
	}
	return kept, err
}

// needFields gives the faults of a run the names of the form.
func needFields(l fault.List) fault.List {
	names := map[string]string{"overage_pct": "over", "stock": "", "need": "", "results": ""}
	out := make(fault.List, len(l))
	for i, f := range l {
		c := *f
		if to, ok := names[c.Field]; ok {
			c.Field = to
		}
		out[i] = &c
	}
	return out
}

// makeRun works the sheets of a run out, each batch at its own size.
func (s *server) makeRun(ctx context.Context, g *gathered, n *design.Need) (*bench.Run, error) {
	card, err := s.Studio(ctx)
	if err != nil {
		return nil, err
	}
	t, at := g.t, s.Now()
	versions := map[string]int{}
	for id, f := range g.Formulas {
		versions[id] = f.N
	}
	need := *n
	need.Findings = finding.Once(n.Findings)
	return bench.NewRun(bench.RunInput{Need: &need, Set: g.Set, Results: g.Results, Catalogue: t.cat, Versions: versions,
		Judge: func(_ string, r *soap.Result) (soap.Superfat, []finding.Finding) {
			sf := r.Drawn()
			return sf, soap.Findings(r, sf, t.limits(r.Formula))
		},
		Units: bench.Units{Mass: t.set.Mass, Temp: t.set.Temperature, Volume: t.set.Volume, Length: t.set.Length},
		Date:  at.In(t.set.Location()).Format("Monday, 2 January 2006"), At: at.UTC().Truncate(time.Second), Studio: card.Name, Demo: card.Demo})
}

// runView is the sheet of a run on the screen.
type runView struct {
	*bench.Run
	PDF       string
	Emergency string
	Stops     []Note
	Warns     []Note
	Notes     []Note
	HasLye    bool
	Lacking   string // what the paper's fonts cannot print
}

// lacking says which words of a sheet or a run the fonts of the paper cannot print
// whole; "" when all can be.
func lacking(of any) (string, error) {
	words, err := sheetpdf.Lacking(of)
	if err != nil || len(words) == 0 {
		return "", err
	}
	return "Letters that the fonts of the paper lack are printed as □, as in " + strings.Join(words, ", ") + ".", nil
}

// BatchHref is where the sheet of a batch is.
func (v runView) BatchHref(letter string) string {
	return "/bench/" + bench.BatchCode(v.Code, letter)
}

// BatchCode is the code of a batch.
func (v runView) BatchCode(letter string) string { return bench.BatchCode(v.Code, letter) }

var runPage = shell.Declare[runView](room, "run")

// runOf reads the sheets of a run back as they were made.
func runOf(kept studio.Run) (*bench.Run, error) {
	var b bench.Run
	if err := json.Unmarshal(kept.Working, &b); err != nil {
		return nil, fmt.Errorf("run %s: %w", kept.Code, err)
	}
	b.SetCode(kept.Code)
	return &b, nil
}

// run shows a run, or under the code of one of its batches that batch's sheet.
func (s *server) run(w http.ResponseWriter, r *http.Request, t trade, kept studio.Run) error {
	code := r.PathValue("code")
	b, err := runOf(kept)
	if err != nil {
		return err
	}
	pdf := "/bench/" + kept.Code + "/sheet.pdf"
	if letter, ok := strings.CutPrefix(code, kept.Code+"-"); ok {
		for _, x := range b.Batches {
			if x.Letter == letter && x.Sheet != nil {
				return s.showSheet(w, r, t, x.Sheet, x.Formula, pdf, []Button{{Label: "The whole run", Href: "/bench/" + kept.Code}})
			}
		}
		return fault.NotFoundf("code", "The run %s has no batch “%s”.", kept.Code, letter)
	}
	v := runView{Run: b, PDF: pdf, Emergency: t.set.Emergency}
	k := 0
	note := func(fs []finding.Finding) []Note {
		var out []Note
		for _, f := range fs {
			out = append(out, Note{Finding: f, Letter: letters(k)})
			k++
		}
		return out
	}
	v.Stops, v.Warns, v.Notes = note(b.Stops), note(b.Warns), note(b.Notes)
	for _, x := range b.Batches {
		v.HasLye = v.HasLye || x.Lye
	}
	if v.Lacking, err = lacking(b); err != nil {
		return err
	}
	return runPage.Write(s.Shell, w, r, http.StatusOK, Head{Title: b.Name, Lead: "Run " + b.Code + ", " + b.Date + ".",
		Actions: []Button{{Label: "On paper (PDF)", Look: Main, Href: pdf}}, Foot: b.Foot}, v)
}
