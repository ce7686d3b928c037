package studio

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"barwright/bench"
	"barwright/design"
	"barwright/fault"
	"barwright/quantity"
)

// Run is the bench sheet of a whole design, or of several that are made
// together: a record of what was to be made, from which versions, in which
// batches. It never changes.
type Run struct {
	ID         string
	Code       string // as 0042: of the one sequence that bench sheets have too
	Date       string // ISO 8601, in the studio's time zone, when it was taken down
	TakenAt    time.Time
	OveragePct float64        // made beyond what the pieces take, %
	Stock      map[string]int // pieces of a design that were at hand as embeds, by its id
	// Designs are those asked for, in the order asked, and then those made for them.
	Designs  []RunDesign
	Batches  []RunBatch // in the order of making
	MouldIDs []string   // in order of id
	// Working is the whole sheet as it was worked out, as JSON. Lists leave it out.
	Working json.RawMessage
}

// Asked are the designs that were asked for, in the order asked.
func (r Run) Asked() []RunDesign {
	var out []RunDesign
	for _, d := range r.Designs {
		if d.Pieces > 0 {
			out = append(out, d)
		}
	}
	return out
}

// BatchCode is the code of one of its batches, as 0042-A.
func (r Run) BatchCode(b RunBatch) string { return r.Code + "-" + b.Letter }

// RunDesign is a design in a run.
type RunDesign struct {
	DesignID string
	N        int    // version
	Name     string // as it was
	Pieces   int    // asked for; 0 for one that is made only to be embedded
	Made     int    // pieces to make, for others of the run as well
}

// RunBatch is a batch of a run.
type RunBatch struct {
	Letter      string // within the run: A, B … Z, AA …
	FormulaID   string
	N           int     // version
	FormulaName string  // as it was
	MassG       float64 // of batter, overage and what stays in the pot included
}

// RunTaking is what a run is taken down from; Gathered.Taking makes one. Names
// and letters are given here, and need not be set.
type RunTaking struct {
	// ID is made when the form is drawn (NewID), so that a form sent twice takes
	// one run down; "" makes one.
	ID         string
	OveragePct float64        // %, in [0, 100]
	Stock      map[string]int // by the design's id; may be nil
	Designs    []RunDesign    // at least one that is asked for
	Batches    []RunBatch     // in the order of making; may be none, where all is cast or at hand
	MouldIDs   []string
	Working    json.RawMessage // one JSON value, at most 1 MiB
}

// Taking is what a run of n is taken down from: what n reaches, in the versions
// that were gathered, and the batches of its sheet: a formula that is wanted on
// two days is one batch of the need and two of the sheet, each with its letter.
// ID and Working are the caller's to set.
func (g *Gathered) Taking(n *design.Need, o design.Options, batches []bench.RunBatch) RunTaking {
	t := RunTaking{OveragePct: o.OveragePct, Stock: o.Stock}
	at := map[string]int{}
	of := func(id string) *RunDesign {
		i, ok := at[id]
		if !ok {
			i = len(t.Designs)
			at[id] = i
			t.Designs = append(t.Designs, RunDesign{DesignID: id, N: g.Designs[id].N})
		}
		return &t.Designs[i]
	}
	for _, w := range n.Wants {
		of(w.Design).Pieces += w.Pieces
	}
	for _, p := range n.Pieces {
		of(p.Design).Made += p.Net
	}
	for i := range batches {
		b := &batches[i]
		t.Batches = append(t.Batches, RunBatch{FormulaID: b.Formula, N: g.Formulas[b.Formula].N, MassG: b.MassG})
	}
	for _, c := range n.Cavities {
		t.MouldIDs = append(t.MouldIDs, c.Mould)
	}
	return t
}

// asked is what of a run is kept as a document.
type asked struct {
	OveragePct float64        `json:"overage_pct"`
	Stock      map[string]int `json:"stock,omitempty"`
}

// Limits on a run, so that a slip of the finger is caught. A kitchen's run has a
// hundred pieces of a few designs.
const (
	maxPieces     = 100_000
	maxRunDesigns = 1000
)

// Validate gives everything that is wrong with what a run is taken down from.
// What the maker can have typed is of kind Invalid, on overage_pct, stock or
// pieces.
func (t RunTaking) Validate() fault.List {
	var l fault.List
	if !(t.OveragePct >= 0 && t.OveragePct <= 100) {
		l.Add(fault.Invalidf("overage_pct", "The batter made beyond what the pieces take must be from 0 to 100 %%."))
	}
	for _, n := range t.Stock {
		if n < 0 || n > maxPieces {
			l.Add(fault.Invalidf("stock", "What is at hand of an embed must be from 0 to 100 000 pieces."))
			break
		}
	}
	asked, twice := false, map[string]bool{}
	for _, d := range t.Designs {
		if twice[d.DesignID] {
			l.Add(fault.Invalidf("pieces", "A design stands twice in the run. Ask for it once, with all its pieces."))
			break
		}
		twice[d.DesignID] = true
		asked = asked || d.Pieces > 0
		if d.Pieces < 0 || d.Pieces > maxPieces || d.Made < 0 || d.Made > maxRunDesigns*maxPieces {
			l.Add(fault.Invalidf("pieces", "Give how many pieces to make, from 1 to 100 000."))
			break
		}
	}
	if !asked {
		l.Add(fault.Invalidf("pieces", "Say which design to make, and how many pieces."))
	}
	if len(t.Designs) > maxRunDesigns || len(t.Batches) > maxRunDesigns {
		l.Add(fault.Invalidf("pieces", "A run takes at most %d designs and as many batches. Make two runs of it.", maxRunDesigns))
	}
	for _, b := range t.Batches {
		if !(quantity.Finite(b.MassG) && b.MassG > 0 && b.MassG <= 1e7) {
			l.Add(fault.Invalidf("pieces", "A batch must be above 0 g and at most 10 t. Ask for fewer pieces."))
			break
		}
	}
	if len(t.Working) > maxDocumentBytes || !json.Valid(t.Working) {
		l.Add(&fault.Error{Kind: fault.Internal, Message: "The working of the run is not JSON of at most 1 MiB. Nothing was kept."})
	}
	return l
}

// TakeDownRun keeps a run and gives it the next code, of the same sequence as
// bench sheets; its batches are lettered in their order. A form sent twice (the
// same ID) gives the run that is there.
//
// Errors: those of Validate; fault.NotFound for an unknown design, formula,
// version or mould. What was put away still serves.
func (s *Studio) TakeDownRun(ctx context.Context, t RunTaking) (Run, error) {
	if err := t.Validate().Err(); err != nil {
		return Run{}, err
	}
	t.ID = cmp.Or(t.ID, s.newID())
	doc, err := document("overage of the run", asked{t.OveragePct, t.Stock})
	if err != nil {
		return Run{}, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return Run{}, err
	}
	return write(ctx, s, func(w Writer) (Run, error) {
		before, err := w.RunByID(ctx, t.ID)
		if err == nil {
			return run(before)
		}
		if !errors.Is(err, ErrNone) {
			return Run{}, err
		}
		made := RunRow{ID: t.ID, Asked: doc, Working: t.Working}
		for _, d := range t.Designs {
			row, err := designRow(ctx, w, d.DesignID)
			if err != nil {
				return Run{}, err
			}
			v, err := designVersionOf(ctx, w, row, d.N)
			if err != nil {
				return Run{}, err
			}
			d.Name = v.Design.Name
			made.Designs = append(made.Designs, d)
		}
		for i, b := range t.Batches {
			row, err := formulaRow(ctx, w, b.FormulaID)
			if err != nil {
				return Run{}, err
			}
			v, err := versionOf(ctx, w, row, b.N)
			if err != nil {
				return Run{}, err
			}
			b.Letter, b.FormulaName = bench.BatchLetter(i), v.Formula.Name
			made.Batches = append(made.Batches, b)
		}
		made.MouldIDs = slices.Compact(slices.Sorted(slices.Values(t.MouldIDs)))
		for _, id := range made.MouldIDs {
			if _, err := mouldRow(ctx, w, id); err != nil {
				return Run{}, err
			}
		}
		last, err := w.LastNumber(ctx)
		if err != nil {
			return Run{}, err
		}
		made.Number, made.Code, made.TakenAt = last+1, fmt.Sprintf("%04d", last+1), s.instant()
		made.Date = made.TakenAt.In(set.Location()).Format(time.DateOnly)
		if err := w.AddRun(ctx, made); err != nil {
			return Run{}, err
		}
		return run(made)
	})
}

// Runs gives a page of the runs, the last taken down first, without their
// Working.
func (s *Studio) Runs(ctx context.Context, page Slice) (Page[Run], error) {
	return s.RunsOf(ctx, "", page)
}

// RunsOf is as Runs, of the runs that make a design, asked for or to be
// embedded; "" is every run.
func (s *Studio) RunsOf(ctx context.Context, designID string, page Slice) (Page[Run], error) {
	page = page.sound()
	return read(ctx, s, func(r Reader) (Page[Run], error) {
		rows, total, err := r.RunPage(ctx, designID, page.Size, (page.Number-1)*page.Size)
		if err != nil {
			return Page[Run]{}, err
		}
		out := Page[Run]{Number: page.Number, Size: page.Size, Total: total, Items: make([]Run, len(rows))}
		for i, row := range rows {
			if out.Items[i], err = run(row); err != nil {
				return Page[Run]{}, err
			}
		}
		return out, nil
	})
}

// Run gives the run with a code, also by the code of one of its batches, as
// 0042-A. Errors: fault.NotFound.
func (s *Studio) Run(ctx context.Context, code string) (Run, error) {
	return read(ctx, s, func(r Reader) (Run, error) {
		none := fault.NotFoundf("code", "No run with the code “%s” was taken down in this studio.", code)
		whole, letter, batch := strings.Cut(code, "-")
		row, err := r.RunByCode(ctx, whole)
		if errors.Is(err, ErrNone) {
			return Run{}, none
		}
		if err != nil {
			return Run{}, err
		}
		if batch && !slices.ContainsFunc(row.Batches, func(b RunBatch) bool { return b.Letter == letter }) {
			return Run{}, none
		}
		return run(row)
	})
}

// Taken is what was taken down under one code: a bench sheet or a run; the other
// is nil.
type Taken struct {
	Sheet *Sheet
	Run   *Run
}

// Code is its code.
func (t Taken) Code() string {
	if t.Run != nil {
		return t.Run.Code
	}
	return t.Sheet.Code
}

// TakenDown gives a page of the bench sheets and the runs together, the last
// taken down first, without their Working.
func (s *Studio) TakenDown(ctx context.Context, page Slice) (Page[Taken], error) {
	page = page.sound()
	return read(ctx, s, func(r Reader) (Page[Taken], error) {
		sheets, runs, total, err := r.TakenPage(ctx, page.Size, (page.Number-1)*page.Size)
		if err != nil {
			return Page[Taken]{}, err
		}
		out := Page[Taken]{Number: page.Number, Size: page.Size, Total: total, Items: make([]Taken, 0, len(sheets)+len(runs))}
		for len(sheets)+len(runs) > 0 {
			if len(runs) == 0 || len(sheets) > 0 && sheets[0].Number > runs[0].Number {
				one, err := sheet(sheets[0])
				if err != nil {
					return Page[Taken]{}, err
				}
				out.Items, sheets = append(out.Items, Taken{Sheet: &one}), sheets[1:]
				continue
			}
			one, err := run(runs[0])
			if err != nil {
				return Page[Taken]{}, err
			}
			out.Items, runs = append(out.Items, Taken{Run: &one}), runs[1:]
		}
		return out, nil
	})
}

func run(row RunRow) (Run, error) {
	var a asked
	err := decode("overage of the run", row.Asked, &a)
	return Run{
		ID: row.ID, Code: row.Code, Date: row.Date, TakenAt: row.TakenAt, OveragePct: a.OveragePct, Stock: a.Stock,
		Designs: row.Designs, Batches: row.Batches, MouldIDs: row.MouldIDs, Working: row.Working,
	}, err
}
