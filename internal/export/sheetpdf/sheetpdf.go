// Package sheetpdf lays out a bench sheet, or those of a whole run, on paper: black
// on white, exact to 0.1 mm, with 10 mm free on all sides. The same sheet gives the
// same bytes.
//
// The typefaces are Source Serif 4 and Source Sans 3 (SIL Open Font License 1.1; the
// texts are beside the files), which have Latin, Greek and Cyrillic. What neither of
// them has, such as an emoji, is printed as a small box and never left out.
package sheetpdf

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"barwright/bench"
	"barwright/fault"
	"barwright/formula"

	"codeberg.org/go-pdf/fpdf"
)

// Weighs gives the fault of a sheet that holds nothing to weigh or nothing to do, as
// some that an older program kept; else nil. No other function lays one out.
func Weighs(s *bench.Sheet) error {
	if s == nil || len(s.Steps) == 0 || len(s.Fats)+len(s.Bases) == 0 {
		return fault.NotFoundf("sheet", "This old sheet holds no weights, so there is nothing to show or to print. Make a new sheet from the formula.")
	}
	return nil
}

// Write lays out s on A4. Nothing is written unless the whole file could be made.
// The error is the writer's, or that of a sheet that cannot be drawn.
func Write(w io.Writer, s *bench.Sheet) error { return WriteOn(w, s, A4) }

// WriteOn is Write on the given paper.
func WriteOn(w io.Writer, s *bench.Sheet, p Paper) error {
	return write(w, s, p, true)
}

func write(w io.Writer, s *bench.Sheet, paper Paper, compress bool) error {
	if s == nil {
		return fault.Invalidf("sheet", "There is no sheet to set on paper.")
	}
	if err := Weighs(s); err != nil {
		return err
	}
	return file(w, paper, compress, "Bench sheet", &s.Head, func(p *page) error {
		p.sheet(s, "")
		if err := p.order(); err != nil {
			return err
		}
		if !p.signed {
			p.signOff(textW, "Poured by", s.Units)
		}
		p.after()
		return nil
	})
}

// undated is the date in the file of a sheet that was never kept. The dates of a
// file must not follow the clock, or the same sheet would give different bytes.
var undated = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// file makes a file of a kind ("Bench sheet", "Run") from what draw draws, and
// writes it once all of it could be made.
func file(w io.Writer, paper Paper, compress bool, kind string, h *bench.Head, draw func(*page) error) error {
	p, err := document(paper, compress, h.At, kind+" "+h.Code+", "+h.Name)
	if err != nil {
		return err
	}
	p.studio = studio(h)
	if err := draw(p); err != nil {
		return err
	}
	p.feet()
	var b bytes.Buffer
	if err := p.f.Output(&b); err != nil {
		return fmt.Errorf("setting the %s: %w", strings.ToLower(kind), err)
	}
	if _, err := w.Write(b.Bytes()); err != nil {
		return fmt.Errorf("writing the %s: %w", strings.ToLower(kind), err)
	}
	return nil
}

// document is an empty document.
func document(paper Paper, compress bool, at time.Time, title string) (*page, error) {
	w, h := paper.Size()
	f := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	f.SetMargins(0, 0, 0)
	f.SetCellMargin(0)
	f.SetAutoPageBreak(false, 0)
	f.SetCompression(compress)
	f.SetCatalogSort(true)
	if at.IsZero() {
		at = undated
	}
	f.SetCreationDate(at)
	f.SetModificationDate(at)
	f.SetProducer("Barwright", true)
	f.SetCreator("Barwright", true)
	f.SetLang("en-GB")
	f.SetTitle(clean(sans, title), true)
	if err := addFaces(f); err != nil {
		return nil, err
	}
	f.SetDrawColor(0, 0, 0)
	f.SetFillColor(0, 0, 0)
	f.SetTextColor(0, 0, 0)
	return &page{f: f, w: w, h: h, x0: (w - textW) / 2, bottom: h - below}, nil
}

// studio is the name of the studio for the foot.
func studio(h *bench.Head) string {
	if h.Demo {
		return join(", ", h.Studio, "invented demo")
	}
	return h.Studio
}

// sheet begins a sheet on a page of its own, with everything that is weighed. split
// says how a batch of a run is divided; it may be empty.
func (p *page) sheet(s *bench.Sheet, split string) {
	p.s = s
	p.title, p.code, p.foot = s.Name, s.Code, s.Foot
	p.behindDone, p.signed = false, false
	sub := "Bench sheet. "
	if s.Version > 0 {
		sub = fmt.Sprintf("Bench sheet. Version %d, ", s.Version)
	}
	if q := s.Pour; q != nil && q.Pieces > 0 {
		sub += fmt.Sprintf("for %d of %s: ", q.Pieces, q.Mould)
	}
	sub += join(": ", s.Batter.Mass+" of batter, about "+s.Batter.Volume, split)
	p.masthead(&s.Head, masthead{label: "batch", sub: sub, codeSize: 30, codeRoom: 52, codeY: 15, gap: 7, dateRoom: 28,
		nameSize: 28, nameY: 9, under: 3.1, least: 17.6})
	p.y += 3
	p.stops(s.Stops)
	p.fats()
	if s.Method == formula.Melt {
		p.bases()
	} else {
		p.lye()
	}
	p.extras()
	p.cooked()
	p.vessels()
}
