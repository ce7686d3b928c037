package demo

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"barwright/bench"
	"barwright/catalogue"
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

// make keeps the run of a pouring, worked out as its page would.
func (p pouring) make(ctx context.Context, book *studio.Studio, cat *catalogue.Catalogue, set studio.Settings, at time.Time) error {
	found, err := book.Formulas.List(ctx, p.formula, studio.Slice{Size: 1})
	if err != nil {
		return err
	}
	if len(found.Items) == 0 {
		return fmt.Errorf("no formula is called %s", p.formula)
	}
	v, err := book.Formulas.Version(ctx, found.Items[0].ID, p.n)
	if err != nil {
		return err
	}
	r, err := soap.Work(v.Doc.Formula, cat)
	if err != nil {
		return err
	}
	size := studio.Size{By: studio.ByFats, FatsG: r.FatsG}
	var m *mould.Mould
	fill := mould.Fill{Pct: 100}
	if p.mould != "" {
		shelf, err := book.Moulds.All(ctx)
		if err != nil {
			return err
		}
		for i := range shelf {
			if shelf[i].Name == p.mould {
				m = &shelf[i].Newest.Doc
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
		if r, err = soap.WorkAt(v.Doc.Formula, r.SizedByVolume(ml), cat); err != nil {
			return err
		}
	}
	sf := r.Drawn()
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
	making := studio.Making{Size: &size, Batches: []studio.Batching{{FormulaID: v.ID, FormulaN: v.N, MassG: sheet.Batter.MassG}}, Working: working}
	_, err = book.MakeRun(ctx, making)
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

// makeRuns keeps the runs, worked out as their page would.
func (s *seeding) makeRuns(ctx context.Context) error {
	for _, m := range makings {
		s.evening(m.daysAgo)
		if err := s.makeRun(ctx, m); err != nil {
			return fmt.Errorf("demo: run of %s: %w", m.pieces[0].design, err)
		}
	}
	return nil
}

func (s *seeding) makeRun(ctx context.Context, m making) error {
	var wants []design.Want
	var ids []string
	for _, p := range m.pieces {
		wants = append(wants, design.Want{Design: s.designs[p.design], Pieces: p.n})
		ids = append(ids, s.designs[p.design])
	}
	o := design.Options{OveragePct: s.set.OveragePct.Or(0), Stock: map[string]int{}}
	for name, n := range m.stock {
		o.Stock[s.designs[name]] = n
	}
	g, err := s.book.Gather(ctx, nil, ids...)
	if err != nil {
		return err
	}
	n, err := design.Explode(g.Set, wants, o)
	if err != nil {
		return err
	}
	versions := map[string]int{}
	for id, f := range g.Formulas {
		versions[id] = f.N
	}
	at := s.now()
	made, err := bench.NewRun(bench.RunInput{Need: n, Set: g.Set, Results: g.Results, Catalogue: s.cat, Versions: versions,
		Judge: func(_ string, r *soap.Result) (soap.Superfat, []finding.Finding) {
			sf := r.Drawn()
			return sf, soap.Findings(r, sf, s.set.SoapLimits())
		},
		Units: bench.Units{Mass: s.set.Mass, Temp: s.set.Temperature, Volume: s.set.Volume, Length: s.set.Length},
		Date:  at.In(s.set.Location()).Format("Monday, 2 January 2006"), At: at.UTC(), Studio: s.set.StudioName, Demo: true})
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
