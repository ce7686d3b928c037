package demo

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"barwright/bench"
	"barwright/catalogue"
	"barwright/mould"
	"barwright/soap"
	"barwright/studio"
)

// pouring is a batch that Quillfen made, oldest first in the list.
type pouring struct {
	formula string
	n       int
	mould   string // "" makes it as it was kept
	pieces  int
	daysAgo int
}

var pourings = []pouring{
	{"Groyne salt bar", 2, "Fog-bell round", 16, 57},
	{"Pebble loaf", 3, "", 0, 29},
	{"Storm lantern", 6, "Lighthouse, sculpted", 36, 24},
}

// takeDown keeps the bench sheet of a pouring, worked out as its page would.
func (p pouring) takeDown(ctx context.Context, book *studio.Studio, cat *catalogue.Catalogue, set studio.Settings, at time.Time) error {
	found, err := book.Formulas(ctx, p.formula, studio.Slice{Size: 1})
	if err != nil {
		return err
	}
	if len(found.Items) == 0 {
		return fmt.Errorf("no formula is called %s", p.formula)
	}
	v, err := book.Version(ctx, found.Items[0].ID, p.n)
	if err != nil {
		return err
	}
	r, err := soap.Work(v.Formula, cat)
	if err != nil {
		return err
	}
	size := studio.Size{By: studio.ByFats, FatsG: r.FatsG}
	var m *mould.Mould
	fill := mould.Fill{Pct: 100}
	if p.mould != "" {
		shelf, err := book.Moulds(ctx)
		if err != nil {
			return err
		}
		for i := range shelf {
			if shelf[i].Name == p.mould {
				m = &shelf[i].Mould
			}
		}
		if m == nil {
			return fmt.Errorf("no mould is called %s", p.mould)
		}
		fill.OveragePct = 3
		size = studio.Size{By: studio.ByMould, MouldID: m.ID, Pieces: p.pieces, FillPct: fill.Pct, OveragePct: fill.OveragePct}
		ml, err := m.BatterFor(p.pieces, fill)
		if err != nil {
			return err
		}
		if r, err = soap.Work(v.Formula.Scale(ml/r.Batter.VolumeML), cat); err != nil {
			return err
		}
	}
	sf := r.Draw(soap.Draws, soap.Seed)
	sheet, err := bench.New(bench.Input{
		Result: r, Superfat: sf, Findings: soap.Findings(r, sf, set.SoapLimits()), Mould: m, Pieces: p.pieces, Fill: fill,
		Units: bench.Units{Mass: set.Mass, Temp: set.Temperature, Volume: set.Volume, Length: set.Length},
		Date:  at.In(set.Location()).Format("Monday, 2 January 2006"), At: at.UTC(), Studio: set.StudioName, Version: v.N, Demo: true,
	})
	if err != nil {
		return err
	}
	working, err := json.Marshal(sheet)
	if err != nil {
		return err
	}
	_, err = book.TakeDown(ctx, studio.Taking{FormulaID: v.FormulaID, N: v.N, Size: size, Working: working})
	return err
}
