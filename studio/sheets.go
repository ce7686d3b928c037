package studio

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"barwright/fault"
	"barwright/quantity"
)

// SizeBy says what the size of a batch was set by.
type SizeBy uint8

const (
	// ByFats: Size.FatsG of fats. It is the zero SizeBy.
	ByFats SizeBy = iota
	// ByBatter: Size.BatterG of batter.
	ByBatter
	// ByMould: Size.Pieces of the mould Size.MouldID.
	ByMould
)

var sizeByNames = [...]string{ByFats: "fats", ByBatter: "batter", ByMould: "mould"}

// String is the word in forms and in JSON: fats, batter, mould.
func (b SizeBy) String() string {
	if int(b) < len(sizeByNames) {
		return sizeByNames[b]
	}
	return fmt.Sprintf("SizeBy(%d)", uint8(b))
}

// MarshalText writes the word.
func (b SizeBy) MarshalText() ([]byte, error) {
	if int(b) >= len(sizeByNames) {
		return nil, fmt.Errorf("%v is no way to size a batch", b)
	}
	return []byte(b.String()), nil
}

// UnmarshalText reads the word.
func (b *SizeBy) UnmarshalText(t []byte) error {
	for i, n := range sizeByNames {
		if n == string(t) {
			*b = SizeBy(i)
			return nil
		}
	}
	return fmt.Errorf("%q is none of fats, batter, mould", t)
}

// Size is how large a batch is, as the maker set it. Only the fields of its By
// count.
type Size struct {
	By         SizeBy  `json:"by"`
	FatsG      float64 `json:"fats_g,omitzero"`      // mass of fats, g, above 0
	BatterG    float64 `json:"batter_g,omitzero"`    // mass of batter, g, above 0
	MouldID    string  `json:"mould_id,omitzero"`    // a mould of the studio
	Pieces     int     `json:"pieces,omitzero"`      // cavities to fill, from 1
	FillPct    float64 `json:"fill_pct,omitzero"`    // of a cavity's volume, in (0, 100]
	OveragePct float64 `json:"overage_pct,omitzero"` // batter beyond what the cavities take, %, in [0, 100]
}

// Validate gives everything that is wrong with the size, each of kind Invalid
// on the field's JSON name.
func (z Size) Validate() fault.List {
	var l fault.List
	mass := func(field, what string, g float64) {
		if !(g > 0 && g <= 1e7) {
			l.Add(fault.Invalidf(field, "The mass of %s must be above 0 g and at most 10 t.", what))
		}
	}
	switch z.By {
	case ByFats:
		mass("fats_g", "fats", z.FatsG)
	case ByBatter:
		mass("batter_g", "batter", z.BatterG)
	case ByMould:
		if z.MouldID == "" {
			l.Add(fault.Invalidf("mould_id", "Choose the mould that the batch is for."))
		}
		if z.Pieces < 1 || z.Pieces > 100_000 {
			l.Add(fault.Invalidf("pieces", "Give how many pieces the batch is for, from 1 to 100 000."))
		}
		if !(z.FillPct > 0 && z.FillPct <= 100) {
			l.Add(fault.Invalidf("fill_pct", "The level in the mould must be above 0 and at most 100 %% of its volume."))
		}
		if !(quantity.Finite(z.OveragePct) && z.OveragePct >= 0 && z.OveragePct <= 100) {
			l.Add(fault.Invalidf("overage_pct", "The batter made beyond what the moulds take must be from 0 to 100 %%."))
		}
	default:
		l.Add(fault.Invalidf("by", "Say what the batch is sized by: fats, batter or a mould."))
	}
	return l
}

// Sheet is a bench sheet that was taken down: a record of what was to be
// weighed, from which version, at which size. It never changes.
type Sheet struct {
	ID          string
	Code        string // of the batch, as 0042: unique, rising; on the sheet and on the bar
	FormulaID   string
	N           int    // version
	FormulaName string // as it was
	Date        string // ISO 8601, in the studio's time zone, when it was taken down
	TakenAt     time.Time
	Size        Size
	// Working is the whole sheet as it was worked out, the mould and the
	// ingredients' values included, as JSON. Lists leave it out.
	Working json.RawMessage
}

// Taking is what a sheet is taken down from.
type Taking struct {
	// ID is made when the form is drawn (NewID), so that a form sent twice takes
	// one sheet down; "" makes one.
	ID        string
	FormulaID string
	N         int
	Size      Size
	Working   json.RawMessage // one JSON value, at most 1 MiB
}

// TakeDown keeps a bench sheet and gives it the next code. From then on the
// version counts as used. A form sent twice (the same ID) gives the sheet that
// is there.
//
// Errors: fault.Invalid by the field; fault.NotFound for an unknown formula,
// version or mould. A formula or a mould that was put away still serves.
func (s *Studio) TakeDown(ctx context.Context, t Taking) (Sheet, error) {
	l := t.Size.Validate()
	if len(t.Working) > maxDocumentBytes || !json.Valid(t.Working) {
		l.Add(&fault.Error{Kind: fault.Internal, Message: "The working of the sheet is not JSON of at most 1 MiB. Nothing was kept."})
	}
	if err := l.Err(); err != nil {
		return Sheet{}, err
	}
	if t.ID == "" {
		t.ID = s.newID()
	}
	if t.Size.By != ByMould {
		t.Size = Size{By: t.Size.By, FatsG: t.Size.FatsG, BatterG: t.Size.BatterG}
	}
	size, err := document("size of the batch", t.Size)
	if err != nil {
		return Sheet{}, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return Sheet{}, err
	}
	return write(ctx, s, func(w Writer) (Sheet, error) {
		before, err := w.SheetByID(ctx, t.ID)
		if err == nil {
			return sheet(before)
		}
		if !errors.Is(err, ErrNone) {
			return Sheet{}, err
		}
		row, err := formulaRow(ctx, w, t.FormulaID)
		if err != nil {
			return Sheet{}, err
		}
		v, err := versionOf(ctx, w, row, t.N)
		if err != nil {
			return Sheet{}, err
		}
		if t.Size.By == ByMould {
			if _, err := mouldRow(ctx, w, t.Size.MouldID); err != nil {
				return Sheet{}, err
			}
		}
		last, err := w.LastNumber(ctx)
		if err != nil {
			return Sheet{}, err
		}
		now := s.instant()
		made := SheetRow{
			ID: t.ID, Number: last + 1, Code: fmt.Sprintf("%04d", last+1),
			FormulaID: t.FormulaID, N: t.N, FormulaName: v.Formula.Name, MouldID: t.Size.MouldID,
			Date: now.In(set.Location()).Format(time.DateOnly), TakenAt: now, Size: size, Working: t.Working,
		}
		if err := w.AddSheet(ctx, made); err != nil {
			return Sheet{}, err
		}
		return sheet(made)
	})
}

// Sheets gives a page of the bench sheets, the last taken down first, without
// their Working. FormulaID "" is those of every formula.
func (s *Studio) Sheets(ctx context.Context, formulaID string, page Slice) (Page[Sheet], error) {
	page = page.sound()
	return read(ctx, s, func(r Reader) (Page[Sheet], error) {
		rows, total, err := r.SheetPage(ctx, formulaID, page.Size, (page.Number-1)*page.Size)
		if err != nil {
			return Page[Sheet]{}, err
		}
		out := Page[Sheet]{Number: page.Number, Size: page.Size, Total: total, Items: make([]Sheet, len(rows))}
		for i, row := range rows {
			if out.Items[i], err = sheet(row); err != nil {
				return Page[Sheet]{}, err
			}
		}
		return out, nil
	})
}

// Sheet gives the bench sheet with a code. Errors: fault.NotFound.
func (s *Studio) Sheet(ctx context.Context, code string) (Sheet, error) {
	return read(ctx, s, func(r Reader) (Sheet, error) {
		row, err := r.SheetByCode(ctx, code)
		if errors.Is(err, ErrNone) {
			return Sheet{}, fault.NotFoundf("code", "No bench sheet with the code “%s” was taken down in this studio.", code)
		}
		if err != nil {
			return Sheet{}, err
		}
		return sheet(row)
	})
}

func sheet(row SheetRow) (Sheet, error) {
	out := Sheet{
		ID: row.ID, Code: row.Code, FormulaID: row.FormulaID, N: row.N, FormulaName: row.FormulaName,
		Date: row.Date, TakenAt: row.TakenAt, Working: row.Working,
	}
	err := decode("size of the batch", row.Size, &out.Size)
	return out, err
}
