package studio

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"barwright/bench"
	"barwright/design"
	"barwright/fault"
	"barwright/internal/words"
	"barwright/quantity"
)

// Run is the batches of one making, as a record of what was to be made, from
// which versions: of a whole design, of several designs that are made together,
// or of one formula without a design, which is a run of one batch. It never
// changes.
type Run struct {
	ID         string
	Code       string        // as 0042: unique, rising; on the sheets and on the bars
	Date       quantity.Date // in the studio's time zone, when it was made
	MadeAt     time.Time
	OveragePct float64        // made beyond what the pieces take, %
	Stock      map[string]int // pieces of a design that were at hand as embeds, by its id
	// Size is how large the batch of a run without a design was asked for; nil for
	// the others.
	Size *Size
	// Designs are those asked for, in the order asked, and then those made for them.
	Designs  []RunDesign
	Batches  []Batch  // in the order of making
	MouldIDs []string // in order of id
	// Unread says why OveragePct, Stock and Size cannot be read; nil where they can.
	Unread error
	// Working is the whole sheet as it was worked out, as JSON: the mould and the
	// ingredients' values included. Lists leave it out.
	Working json.RawMessage
}

// Alone reports that the run is one batch of a formula, without a design.
func (r Run) Alone() bool { return len(r.Designs) == 0 && len(r.Batches) == 1 }

// Asked are the designs that were asked for, in the order asked.
func (r Run) Asked() []RunDesign {
	return slices.DeleteFunc(slices.Clone(r.Designs), func(d RunDesign) bool { return d.Pieces == 0 })
}

// Title is what a list calls the run: its formula, or how many pieces of which designs.
func (r Run) Title() string {
	if r.Alone() {
		return r.Batches[0].FormulaName
	}
	var names []string
	for _, d := range r.Asked() {
		names = append(names, strconv.Itoa(d.Pieces)+" × "+d.Name)
	}
	if more := len(names) - 3; more > 0 {
		names = append(names[:3], strconv.Itoa(more)+" more")
	}
	return strings.Join(names, ", ")
}

// Extent is what the run consists of: "version 3" of its formula, or "a run of 3 batches".
func (r Run) Extent() string {
	if r.Alone() {
		return "version " + strconv.Itoa(r.Batches[0].FormulaN)
	}
	return "a run of " + words.Count(len(r.Batches), "batch", "batches")
}

// Batch is one execution of a formula version, within a run.
type Batch struct {
	ID          string
	Code        string // 0042-A, or 0042 for the batch of a run without a design
	N           int    // its place in the run, from 1
	FormulaID   string
	FormulaN    int    // version
	FormulaName string // as it was
	// Mass is the mass of batter: overage and what stays in the pot are included. 0
	// is unknown, as of some batches from before it was kept.
	Mass quantity.Milligrams
}

// RunDesign is a design in a run.
type RunDesign struct {
	DesignID string
	N        int    // version
	Name     string // as it was
	Pieces   int    // asked for; 0 for one that is made only to be embedded
	Made     int    // pieces to make, for others of the run as well
}

// Making is what a run is made from; Gathered.Making gives one. Names and codes
// are given by MakeRun, and need not be set.
type Making struct {
	OveragePct float64         // %, in [0, 100]
	Stock      map[string]int  // by the design's id; may be nil
	Size       *Size           // of a run without designs
	Designs    []RunDesign     // at least one that is asked for, or none for a run of one batch
	Batches    []Batching      // in the order of making; may be none, where all is cast or at hand
	MouldIDs   []string        // that of the size is added
	Working    json.RawMessage // one JSON value, at most 1 MiB
}

// Batching is a batch that a run is to have.
type Batching struct {
	FormulaID string
	FormulaN  int
	MassG     float64 // of batter, above 0
}

// Making is what a run of n is made from: what n reaches, in the versions that
// were gathered, and the batches of its sheet. A formula that is wanted on two
// days is one batch of the need and two of the sheet, each with its letter.
// Working is the caller's to set.
func (g *Gathered) Making(n *design.Need, o design.Options, batches []bench.RunBatch) Making {
	t := Making{OveragePct: o.OveragePct, Stock: o.Stock}
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
		t.Batches = append(t.Batches, Batching{FormulaID: b.Formula, FormulaN: g.Formulas[b.Formula].N, MassG: b.MassG})
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
	Size       *Size          `json:"size,omitempty"`
}

// Limits on a run, so that a slip of the finger is caught. A kitchen's run has a
// hundred pieces of a few designs.
const (
	maxPieces     = 100_000
	maxRunDesigns = 1000
	maxBatchG     = 1e7 // 10 t
)

// Validate gives everything that is wrong with what a run is made from. What the
// maker can have typed is of kind Invalid, on overage_pct, stock or pieces, or on
// the fields of the size.
func (t Making) Validate() fault.List {
	var l fault.List
	if t.Size != nil {
		l = append(l, t.Size.Validate()...)
	}
	if !(t.OveragePct >= 0 && t.OveragePct <= 100) {
		l.Add(fault.Invalidf("overage_pct", "The overage must be from 0 to 100 %% of what the pieces take."))
	}
	for _, n := range t.Stock {
		if n < 0 || n > maxPieces {
			l.Add(fault.Invalidf("stock", "The number of an embed on the shelf must be from 0 to 100 000 pieces."))
			break
		}
	}
	asked, twice := t.Size != nil && len(t.Designs) == 0 && len(t.Batches) == 1, map[string]bool{}
	for _, d := range t.Designs {
		if twice[d.DesignID] {
			l.Add(fault.Invalidf("pieces", "A design is in the run twice. Ask for it once, with all its pieces."))
			break
		}
		twice[d.DesignID] = true
		asked = asked || d.Pieces > 0
		if d.Pieces < 0 || d.Pieces > maxPieces || d.Made < 0 || d.Made > maxRunDesigns*maxPieces {
			l.Add(fault.Invalidf("pieces", "Write how many pieces to make, from 1 to 100 000."))
			break
		}
	}
	if !asked {
		l.Add(fault.Invalidf("pieces", "Say which design to make, and how many pieces."))
	}
	if len(t.Designs) > maxRunDesigns || len(t.Batches) > maxRunDesigns {
		l.Add(fault.Invalidf("pieces", "A run takes at most %d designs and as many batches. Make two runs instead.", maxRunDesigns))
	}
	for _, b := range t.Batches {
		if !(quantity.Finite(b.MassG) && b.MassG > 0 && b.MassG <= maxBatchG) {
			l.Add(fault.Invalidf("pieces", "A batch must be above 0 g and at most 10 t. Ask for less."))
			break
		}
	}
	if len(t.Working) > maxDocumentBytes || !json.Valid(t.Working) {
		l.Add(&fault.Error{Kind: fault.Internal, Message: "The run is too large to keep. Nothing was kept."})
	}
	return l
}

// sound checks what a run is made from. A size has no more than its own fields
// afterwards, and its mould is among those of the run.
func (t Making) sound() (Making, error) {
	if err := t.Validate().Err(); err != nil {
		return t, err
	}
	if t.Size != nil {
		size := t.Size.own()
		if t.Size = &size; size.MouldID != "" {
			t.MouldIDs = append(slices.Clip(t.MouldIDs), size.MouldID)
		}
	}
	return t, nil
}

// MakeRun keeps a run and gives it the next code. Its batches are lettered in
// their order; the one batch of a run without a design has the run's own code.
// From then on the versions count as used.
//
// Errors: those of Validate; fault.NotFound for an unknown design, formula,
// version or mould. What was archived still serves.
func (s *Studio) MakeRun(ctx context.Context, t Making) (Run, error) {
	t, err := t.sound()
	if err != nil {
		return Run{}, err
	}
	// The working holds the time at which it was worked out: a form that is sent
	// again a minute later asks for the same run.
	same := t
	same.Working = nil
	return s.makeRun(ctx, same, t)
}

// makingRun is what is written down of making a run under the id of a form.
const makingRun = "make run"

// makeRun is MakeRun of what was found sound. Sent is what it was made from, as far
// as the same form says the same.
func (s *Studio) makeRun(ctx context.Context, sent any, t Making) (Run, error) {
	doc, err := document("size of the run", asked{t.OveragePct, t.Stock, t.Size})
	if err != nil {
		return Run{}, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return Run{}, err
	}
	return once(ctx, s, act[Run]{
		what: makingRun, asked: sent,
		do: func(w Writer) (Run, error) {
			made := RunRow{Run: Run{ID: s.newID(), Working: t.Working}, Document: doc}
			used, err := s.parts(ctx, w, t, &made.Run)
			if err != nil {
				return Run{}, err
			}
			if made.Number, err = w.NextNumber(ctx); err != nil {
				return Run{}, err
			}
			made.Code, made.MadeAt = fmt.Sprintf("%04d", made.Number), s.instant()
			made.Date = quantity.DateOf(made.MadeAt.In(set.Location()))
			for i := range made.Batches {
				b := &made.Batches[i]
				b.ID, b.N, b.Code = s.newID(), i+1, made.Code
				if len(made.Designs) > 0 {
					b.Code = bench.BatchCode(made.Code, words.Letters(i))
				}
			}
			if err := w.AddRun(ctx, made); err != nil {
				return Run{}, err
			}
			if err := w.Touch(ctx, made.MadeAt, used...); err != nil {
				return Run{}, err
			}
			return run(made), nil
		},
		ref:  func(r Run) (string, int) { return r.ID, 0 },
		load: func(r Reader, id string, _ int) (Run, error) { return runByID(ctx, r, id) },
	})
}

func runByID(ctx context.Context, r Reader, id string) (Run, error) {
	row, err := r.RunByID(ctx, id)
	if err != nil {
		return Run{}, err
	}
	return run(row), nil
}

// MakeRunOnce is MakeRun, once for the id of a form and what was typed into it. A
// form that was gone back to and changed asks for another run; the one that was
// made before stays as it is. Typed is what the maker asked for, in any words that
// are the same whenever the same form is sent: what was worked out from it may
// differ by then, because a formula or a setting changed.
func (s *Studio) MakeRunOnce(ctx context.Context, id, typed string, t Making) (Run, error) {
	t, err := t.sound()
	if err != nil {
		return Run{}, err
	}
	made, err := s.makeRun(Once(ctx, id), typed, t)
	if l := fault.All(err); len(l) == 1 && l[0].Rule == "once" {
		return s.makeRun(Once(ctx, changedID(id, typed)), typed, t)
	}
	return made, err
}

// RunMade gives the run that MakeRunOnce made from a form, if it did.
func (s *Studio) RunMade(ctx context.Context, id, typed string) (made Run, ok bool, err error) {
	if !soundID(id) {
		return Run{}, false, nil
	}
	made, err = read(ctx, s, func(r Reader) (Run, error) {
		for _, id := range []string{id, changedID(id, typed)} {
			switch done, err := r.Done(ctx, id); {
			case err == nil && done.is(makingRun, digestOf(typed)):
				return runByID(ctx, r, done.Result)
			case err != nil && !errors.Is(err, ErrNone):
				return Run{}, err
			}
		}
		return Run{}, ErrNone
	})
	if errors.Is(err, ErrNone) {
		return Run{}, false, nil
	}
	return made, err == nil, err
}

// changedID is the id of a form that was changed after it had been sent: the same
// for the same change, so that this counts once as well.
func changedID(id, typed string) string { return digestOf([]string{id, typed}) }

// parts fills in the designs, batches and moulds of a run, each as the version
// calls it, and gives the ids of all of them.
func (s *Studio) parts(ctx context.Context, r Reader, t Making, made *Run) (used []string, err error) {
	for _, d := range t.Designs {
		v, err := s.Designs.versionIn(ctx, r, d.DesignID, d.N)
		if err != nil {
			return nil, err
		}
		d.Name = v.Doc.Name
		made.Designs = append(made.Designs, d)
		used = append(used, d.DesignID)
	}
	for _, b := range t.Batches {
		v, err := s.Formulas.versionIn(ctx, r, b.FormulaID, b.FormulaN)
		if err != nil {
			return nil, err
		}
		mass, err := quantity.MilligramsOf(b.MassG)
		if err != nil {
			return nil, err
		}
		made.Batches = append(made.Batches, Batch{FormulaID: b.FormulaID, FormulaN: b.FormulaN, FormulaName: v.Doc.Name, Mass: max(1, mass)})
		used = append(used, b.FormulaID)
	}
	made.MouldIDs = slices.Compact(slices.Sorted(slices.Values(t.MouldIDs)))
	for _, id := range made.MouldIDs {
		if _, err := recordRow(ctx, r, KindMould, id); err != nil {
			return nil, err
		}
	}
	return append(used, made.MouldIDs...), nil
}

// RunsOf says which runs a list has. The zero RunsOf is all of them.
type RunsOf struct {
	FormulaID string // with a batch of this formula
	DesignID  string // that make this design, asked for or to be embedded
	Alone     bool   // of one batch, without a design
}

// Runs gives a page of the runs, the last made first, without their Working.
func (s *Studio) Runs(ctx context.Context, of RunsOf, page Slice) (Page[Run], error) {
	page = page.sound()
	return read(ctx, s, func(r Reader) (Page[Run], error) {
		rows, total, err := r.RunPage(ctx, RunQuery{RunsOf: of, Limit: page.Size, Offset: (page.Number - 1) * page.Size})
		if err != nil {
			return Page[Run]{}, err
		}
		out := Page[Run]{Number: page.Number, Size: page.Size, Total: total}
		for _, row := range rows {
			out.Items = append(out.Items, run(row))
		}
		return out, nil
	})
}

// Run gives the run with a code, also by the code of one of its batches, as
// 0042-A. Errors: fault.NotFound.
func (s *Studio) Run(ctx context.Context, code string) (Run, error) {
	return read(ctx, s, func(r Reader) (Run, error) {
		row, err := r.RunByCode(ctx, code)
		if errors.Is(err, ErrNone) {
			return Run{}, fault.NotFoundf("code", "This studio has no run and no batch with the code “%s”. Look for it in the list on the bench.", code)
		}
		if err != nil {
			return Run{}, err
		}
		return run(row), nil
	})
}

// run is the run of a row. What was asked for is not needed to show what was made of
// it, so that a run in which it is damaged is given without it.
func run(row RunRow) Run {
	var a asked
	if row.Unread = decode("size of the run", row.Document, &a); row.Unread == nil {
		row.OveragePct, row.Stock, row.Size = a.OveragePct, a.Stock, a.Size
	}
	return row.Run
}
