package demo

import (
	"context"
	"encoding/json"

	"barwright/bench"
	"barwright/design"
	"barwright/finding"
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

// pour keeps the run of a pouring, worked out as its page would.
func (s *seeding) pour(ctx context.Context, p pouring) error {
	id, err := s.id(studio.KindFormula, p.formula)
	if err != nil {
		return err
	}
	v, err := s.book.Formulas.Version(ctx, id, p.n)
	if err != nil {
		return err
	}
	r, err := soap.Work(v.Doc.Formula, s.cat)
	if err != nil {
		return err
	}
	size := studio.Size{By: studio.ByFats, FatsG: r.FatsG}
	var m *mould.Mould
	fill := mould.Fill{Pct: 100}
	if p.mould != "" {
		id, err := s.id(studio.KindMould, p.mould)
		if err != nil {
			return err
		}
		kept, err := s.book.Moulds.Get(ctx, id)
		if err != nil {
			return err
		}
		m = &kept.Newest.Doc
		fill.OveragePct = 3
		size = studio.Size{By: studio.ByMould, MouldID: m.ID, Pieces: p.pieces, FillPct: fill.Pct, OveragePct: fill.OveragePct}
		ml, err := m.BatterFor(p.pieces, fill)
		if err != nil {
			return err
		}
		if r, err = soap.WorkAt(v.Doc.Formula, r.SizedByVolume(ml), s.cat); err != nil {
			return err
		}
	}
	sf := r.Drawn()
	sheet, err := bench.New(bench.Input{Result: r, Superfat: sf, Findings: soap.Findings(r, sf, s.set.SoapLimits()), Mould: m, Pieces: p.pieces,
		Fill: fill, Head: s.head(), Version: v.N})
	if err != nil {
		return err
	}
	working, err := json.Marshal(sheet)
	if err != nil {
		return err
	}
	making := studio.Making{Size: &size, Batches: []studio.Batching{{FormulaID: v.ID, FormulaN: v.N, MassG: sheet.Batter.MassG}}, Working: working}
	_, err = s.book.MakeRun(ctx, making)
	return err
}

// making is a run that Quillfen made: pieces of designs, and what was at hand for
// them.
type making struct {
	pieces  []pieces
	stock   map[string]int // lamps that were cast before, by the design's name
	daysAgo int
}

type pieces struct {
	design string
	n      int
}

// makings are the runs, oldest first.
var makings = []making{
	{pieces: []pieces{{"Lamp", 48}}, daysAgo: 22},
	{pieces: []pieces{{"Pebble bar", 20}, {"Kelp cube", 35}}, daysAgo: 15},
	{pieces: []pieces{{"Lighthouse", 36}}, stock: map[string]int{"Lamp": 44}, daysAgo: 8},
}

// makeRun keeps a run, worked out as its page would.
func (s *seeding) makeRun(ctx context.Context, m making) error {
	var wants []design.Want
	var ids []string
	for _, p := range m.pieces {
		id, err := s.id(studio.KindDesign, p.design)
		if err != nil {
			return err
		}
		wants = append(wants, design.Want{Design: id, Pieces: p.n})
		ids = append(ids, id)
	}
	o := design.Options{OveragePct: s.set.OveragePct.Or(0), Stock: map[string]int{}}
	for name, n := range m.stock {
		o.Stock[s.ids[thing{studio.KindDesign, name}]] = n
	}
	g, err := s.book.Gather(ctx, nil, ids...)
	if err != nil {
		return err
	}
	n, err := design.Explode(g.Set, wants, o)
	if err != nil {
		return err
	}
	in := g.RunInput(n, s.at)
	in.Head = s.head()
	in.Judge = func(_ string, r *soap.Result) (soap.Superfat, []finding.Finding) {
		sf := r.Drawn()
		return sf, soap.Findings(r, sf, s.set.SoapLimits())
	}
	made, err := bench.NewRun(in)
	if err != nil {
		return err
	}
	making := g.Making(n, o, made.Batches)
	if making.Working, err = json.Marshal(made); err != nil {
		return err
	}
	_, err = s.book.MakeRun(ctx, making)
	return err
}
