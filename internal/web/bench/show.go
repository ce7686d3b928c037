package bench

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	making "barwright/bench"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/draw"
	"barwright/internal/export/sheetpdf"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/lye"
	"barwright/quantity"
	"barwright/studio"
)

// paper is what a sheet and a run on the screen share.
type paper struct {
	What, Code string // "batch" or "run", and its code
	Demo       bool
	PDF        string
	Lacking    string // what the paper's fonts cannot print
	Stops      []shell.Note
	Warns      []shell.Note
}

// sheetView is one bench sheet on the screen.
type sheetView struct {
	*making.Sheet
	Paper  paper
	Before shell.Caution // of the lye, or of the heat of a melt
	Cut    template.HTML
	Strata []strataRow
	Unit   string
}

// strataRow is a line of the bar's legend.
type strataRow struct {
	Stratum draw.Stratum
	Pct     string
}

// Melt reports that the sheet is of ready-made base: no lye stands on it.
func (v sheetView) Melt() bool { return v.Method == formula.Melt }

// runView is the sheet of a run on the screen.
type runView struct {
	*making.Run
	Paper  paper
	Before []shell.Caution
	List   shell.List // its batches
	Notes  []shell.Note
}

// BatchHref is where the sheet of a batch is.
func (v runView) BatchHref(letter string) string { return "/bench/" + v.BatchCode(letter) }

// BatchCode is the code of a batch.
func (v runView) BatchCode(letter string) string { return making.BatchCode(v.Code, letter) }

var (
	sheetPage = shell.Declare[sheetView](room, "sheet")
	runPage   = shell.Declare[runView](room, "run")
)

// opened is a run as it was kept: the sheet of its one batch, or the sheets of a
// run of designs. The other is nil.
type opened struct {
	studio.Run
	sheet *making.Sheet
	run   *making.Run
}

// open reads a run back as it was made, by its code or that of one of its batches.
func (o rooms) open(a *form.Ask) (opened, error) {
	kept, err := o.Book.Run(a.Context(), a.PathValue("code"))
	if err != nil {
		return opened{}, err
	}
	out := opened{Run: kept}
	// What cannot be read is as good as a sheet without weights, which is said below.
	if kept.Alone() {
		if json.Unmarshal(kept.Working, &out.sheet) != nil {
			out.sheet = nil
		}
		if err := sheetpdf.Weighs(out.sheet); err != nil {
			return opened{}, err
		}
		out.sheet.Code = kept.Code
		return out, nil
	}
	if json.Unmarshal(kept.Working, &out.run) != nil || out.run == nil || len(out.run.Batches) < len(kept.Batches) {
		return opened{}, fault.NotFoundf("code", "The old run %s holds no sheets, so there is nothing to show or to print. Make a new run from its design.",
			kept.Code)
	}
	for i := range out.run.Batches {
		if b := out.run.Batches[i].Sheet; b != nil {
			if err := sheetpdf.Weighs(b); err != nil {
				return opened{}, err
			}
		}
	}
	out.run.SetCode(kept.Code)
	return out, nil
}

// show shows what was made under a code: the sheet of one batch, or a whole run.
func (o rooms) show(a *form.Ask) error {
	x, err := o.open(a)
	if err != nil {
		return err
	}
	letter, ofRun := strings.CutPrefix(a.PathValue("code"), x.Code+"-")
	switch {
	case x.sheet != nil:
		return showSheet(a, x, x.sheet, x.Batches[0].FormulaID)
	case ofRun:
		for _, b := range x.run.Batches {
			if b.Letter == letter && b.Sheet != nil {
				return showSheet(a, x, b.Sheet, b.Formula, shell.Button{Label: "The whole run", Href: "/bench/" + x.Code})
			}
		}
		return fault.NotFoundf("code", "The run %s has no batch “%s”. Look for it in the list of its batches.", x.Code, letter)
	}
	return showRun(a, x)
}

// paperOf is what of a sheet or a run there is to say on paper: where it is, and which
// letters it lacks. Its findings are lettered through the page, notes last.
func paperOf(x opened, of any, p paper, stops, warns, notes []finding.Finding) (paper, []shell.Note, error) {
	all := shell.Footnotes(slices.Concat(stops, warns, notes)).Notes
	p.Stops, p.Warns = all[:len(stops)], all[len(stops):len(stops)+len(warns)]
	lacking, err := sheetpdf.Lacking(of)
	p.PDF = "/bench/" + x.Code + "/sheet.pdf"
	if len(lacking) > 0 {
		p.Lacking = "Letters that the fonts of the paper lack are printed as □, as in " + strings.Join(lacking, ", ") + "."
	}
	return p, all[len(stops)+len(warns):], err
}

// beforeLye and beforeMelt stand directly above the work that they are about.
func beforeLye(l []lye.Caution, emergency string) shell.Caution {
	return shell.Caution{Strong: "Before you open the lye.", Points: l, Emergency: emergency}
}

func beforeMelt(l []lye.Caution, emergency string) shell.Caution {
	return shell.Caution{Strong: "Before you melt.", Points: l, Emergency: emergency}
}

func (p paper) button() shell.Button {
	return shell.Button{Label: "On paper (PDF)", Look: shell.Main, Href: p.PDF}
}

// showSheet writes the sheet of one batch, with what else can be gone to from it.
func showSheet(a *form.Ask, x opened, b *making.Sheet, formulaID string, more ...shell.Button) error {
	v := sheetView{Sheet: b, Unit: form.MassColumn(b.Units.Mass), Before: beforeLye(b.Cautions, a.Faces.Set.Emergency)}
	if v.Melt() {
		v.Before = beforeMelt(b.Heat, a.Faces.Set.Emergency)
	}
	var err error
	if v.Paper, _, err = paperOf(x, b, paper{What: "batch", Code: b.Code, Demo: b.Demo}, b.Stops, b.Warns, nil); err != nil {
		return err
	}
	if bar, ok := draw.BarOfSheet(b); ok && !v.Melt() {
		if cut, err := draw.BarCut(bar, draw.CutOptions{ID: "bar", Width: 200, Height: 300, Seed: formulaID}); err == nil {
			v.Cut = shell.SVG(cut)
		}
		for _, st := range bar.Present() {
			v.Strata = append(v.Strata, strataRow{Stratum: st, Pct: quantity.Number(100*bar.Shares[st], 1)})
		}
	}
	version := strconv.Itoa(b.Version)
	return form.Show(sheetPage, a, http.StatusOK, shell.Head{Title: b.Name, Foot: b.Foot,
		Lead:    "Bench sheet " + b.Code + ", " + b.Date + ". Version " + version + ", " + b.Batter.Mass + " of batter, about " + b.Batter.Volume + ".",
		Actions: append(more, shell.Button{Label: "The formula", Href: "/formulas/" + formulaID + "?v=" + version}, v.Paper.button())}, v)
}

// showRun writes the sheet of a whole run.
func showRun(a *form.Ask, x opened) error {
	b := x.run
	v := runView{Run: b, List: shell.List{Caption: "Batches of this run", Title: "Batch", Columns: []shell.Column{{Label: "batter"}}}}
	var err error
	if v.Paper, v.Notes, err = paperOf(x, b, paper{What: "run", Code: b.Code, Demo: b.Demo}, b.Stops, b.Warns, b.Notes); err != nil {
		return err
	}
	emergency := a.Faces.Set.Emergency // said once, above the first work that can hurt
	if slices.ContainsFunc(b.Batches, func(one making.RunBatch) bool { return one.Lye }) {
		v.Before = append(v.Before, beforeLye(b.Cautions, emergency))
		emergency = ""
	}
	if len(b.Heat) > 0 {
		v.Before = append(v.Before, beforeMelt(b.Heat, emergency))
	}
	for _, one := range b.Batches {
		v.List.Rows = append(v.List.Rows, shell.ListRow{Href: v.BatchHref(one.Letter), Code: v.BatchCode(one.Letter),
			Name: one.Name, Aside: []string{one.Split},
			Cells: []shell.Cell{{Value: one.Mass, Plain: true}}})
	}
	return form.Show(runPage, a, http.StatusOK, shell.Head{Title: b.Name, Foot: b.Foot,
		Lead: "Run " + b.Code + ", " + b.Date + ": " + words.Count(len(b.Batches), "batch", "batches") + ".", Actions: []shell.Button{v.Paper.button()}}, v)
}

// pdf gives a sheet, or all sheets of a run, on paper.
func (o rooms) pdf(a *form.Ask) error {
	size, err := sheetpdf.ParsePaper(a.FormValue("paper"))
	if err != nil {
		return err
	}
	x, err := o.open(a)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	name := "bench-sheet"
	if x.sheet != nil {
		err = sheetpdf.WriteOn(&out, x.sheet, size)
	} else {
		name = "run"
		err = sheetpdf.WriteRun(&out, x.run, size)
	}
	if err != nil {
		return err
	}
	a.W.Header().Set("Content-Type", "application/pdf")
	a.W.Header().Set("Cache-Control", "no-store")
	a.W.Header().Set("Content-Disposition", fmt.Sprintf(`inline; filename="%s-%s.pdf"`, name, x.Code))
	_, _ = out.WriteTo(a.W) // the browser has gone when this fails: nobody to tell
	return nil
}
