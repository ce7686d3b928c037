package store_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"barwright/fault"
	"barwright/quantity"
	"barwright/studio"
)

// alone is a run of one batch without a design, of a size.
func alone(formulaID string, n int, size studio.Size, mouldIDs ...string) studio.Making {
	return studio.Making{Size: &size, Batches: []studio.Batching{{FormulaID: formulaID, FormulaN: n, MassG: 1500}}, MouldIDs: mouldIDs, Working: []byte("{}")}
}

func mustMake(t testing.TB, s *studio.Studio, m studio.Making) studio.Run {
	t.Helper()
	return must(t, func() (studio.Run, error) { return s.MakeRun(context.Background(), m) })
}

func runs(t testing.TB, s *studio.Studio, of studio.RunsOf, page studio.Slice) studio.Page[studio.Run] {
	t.Helper()
	return must(t, func() (studio.Page[studio.Run], error) { return s.Runs(context.Background(), of, page) })
}

func TestARunOfOneBatchIsMadeOnceAndKeepsItsCode(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		v := mustKeepNew(t, s, lantern("Storm lantern"))
		m := mustKeepMould(t, s, loaf("Long loaf"))
		set := studio.DefaultSettings()
		set.TimeZone = "Pacific/Pago_Pago" // UTC−11: 1 March 2026, 8:00 UTC, is still 28 February there
		if err := s.PutSettings(ctx, set); err != nil {
			t.Fatal(describe(err))
		}
		working := []byte(`{"naoh_g": 142.30000000000001, "note": "ø"}`)
		size := studio.Size{By: studio.ByMould, MouldID: m.ID, Pieces: 10, FillPct: 95, OveragePct: 3}
		form := alone(v.ID, 1, size, m.ID)
		form.Working = working
		once := studio.Once(ctx, studio.NewID())
		first := must(t, func() (studio.Run, error) { return s.MakeRun(once, form) })
		want := studio.Run{
			ID: first.ID, Code: "0001", Date: quantity.DateOf(first.MadeAt.In(set.Location())), MadeAt: first.MadeAt, Size: &size,
			Batches: []studio.Batch{{ID: first.Batches[0].ID, Code: "0001", N: 1, FormulaID: v.ID, FormulaN: 1, FormulaName: "Storm lantern",
				Mass: 1_500_000}},
			MouldIDs: []string{m.ID}, Working: working,
		}
		if diff := cmp.Diff(want, first); diff != "" || first.ID == "" || first.Batches[0].ID == "" || !first.Alone() {
			t.Errorf("made as %+v:\n%s", first, diff)
		}
		if first.Date.String() != "2026-02-28" {
			t.Errorf("made on %s by the studio's calendar, want 2026-02-28", first.Date)
		}
		// The form sent twice is one run, byte for byte.
		if diff := cmp.Diff(first, must(t, func() (studio.Run, error) { return s.MakeRun(once, form) })); diff != "" {
			t.Error(diff)
		}
		if diff := cmp.Diff(first, must(t, func() (studio.Run, error) {
			return opened(t, where).Run(ctx,
				"0001")
		})); diff != "" || string(first.Working) != string(working) {
			t.Error(diff)
		}
		// So it is when it is sent a minute later, though its sheet was worked out anew
		// with another time on it; and the sheet stays the first.
		later := form
		later.Working = []byte(`{"naoh_g": 142.30000000000001, "note": "a minute later"}`)
		if diff := cmp.Diff(first, must(t, func() (studio.Run, error) { return s.MakeRun(once, later) })); diff != "" {
			t.Error(diff)
		}
		// Archiving both leaves the run, and more can be made.
		if err := errors.Join(s.Moulds.Archive(ctx, m.ID), s.Formulas.Archive(ctx, v.ID)); err != nil {
			t.Fatal(describe(err))
		}
		second := mustMake(t, s, form)
		fats := mustMake(t, s, alone(v.ID, 1, studio.Size{By: studio.ByFats, FatsG: 1 / 3.0, Pieces: 9}))
		// Only what the size is set by counts.
		if diff := cmp.Diff(&studio.Size{By: studio.ByFats, FatsG: 1 / 3.0}, fats.Size); diff != "" {
			t.Error(diff)
		}
		page := runs(t, s, studio.RunsOf{Alone: true}, studio.Slice{Size: 2})
		if page.Total != 3 || len(page.Items) != 2 || page.Items[0].Code != "0003" || page.Items[1].ID != second.ID || page.Items[0].Working != nil {
			t.Errorf("page of runs: %+v", page)
		}
		if page := runs(t, s, studio.RunsOf{FormulaID: v.ID, Alone: true}, studio.Slice{}); page.Total != 3 || len(page.Items) != 3 {
			t.Errorf("runs of the formula: %+v", page)
		}
		if page := runs(t, s, studio.RunsOf{FormulaID: "another", Alone: true}, studio.Slice{}); page.Total != 0 {
			t.Errorf("runs of another formula: %+v", page)
		}

		for field, z := range map[string]studio.Size{
			"fats_g":      {By: studio.ByFats, FatsG: math.NaN()},
			"batter_g":    {By: studio.ByBatter, BatterG: -1},
			"mould_id":    {By: studio.ByMould, Pieces: 1, FillPct: 100},
			"pieces":      {By: studio.ByMould, MouldID: m.ID, FillPct: 100},
			"fill_pct":    {By: studio.ByMould, MouldID: m.ID, Pieces: 1, FillPct: 101},
			"overage_pct": {By: studio.ByMould, MouldID: m.ID, Pieces: 1, FillPct: 100, OveragePct: math.Inf(1)},
			"by":          {By: 7},
		} {
			_, err := s.MakeRun(ctx, alone(v.ID, 1, z))
			refused(t, err, fault.Invalid, field)
		}
		ok := studio.Size{By: studio.ByBatter, BatterG: 1500}
		_, err := s.MakeRun(ctx, alone("nothing", 1, ok))
		refused(t, err, fault.NotFound, "formula")
		_, err = s.MakeRun(ctx, alone(v.ID, 2, ok))
		refused(t, err, fault.NotFound, "version")
		// A mould that only the size names counts as one of the run's.
		_, err = s.MakeRun(ctx, alone(v.ID, 1, studio.Size{By: studio.ByMould, MouldID: "nothing", Pieces: 1, FillPct: 100}))
		refused(t, err, fault.NotFound, "mould")
		bad := alone(v.ID, 1, ok)
		bad.Working = []byte("{")
		_, err = s.MakeRun(ctx, bad)
		refused(t, err, fault.Internal, "")
		two := alone(v.ID, 1, ok)
		two.Batches = append(two.Batches, two.Batches[0])
		_, err = s.MakeRun(ctx, two)
		refused(t, err, fault.Invalid, "pieces")
		_, err = s.Run(ctx, "0004")
		refused(t, err, fault.NotFound, "code", "0004")
		// After all that was refused, the next code follows on the last.
		if got := mustMake(t, s, alone(v.ID, 1, studio.Size{By: studio.ByMould, MouldID: m.ID, Pieces: 1,
			FillPct: 100})); got.Code != "0004" || !cmp.Equal(got.MouldIDs, []string{m.ID}) {
			t.Errorf("the next run: %+v", got)
		}
	})
}

func TestARunIsMadeOnceAndItsBatchesAreLettered(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		s := opened(t, where)
		q := quarried(t, s)
		lamp := q.keep(t, q.lighthouse("Lamp"))
		house := q.keep(t, q.lighthouse("Lighthouse", lamp.ID))
		single := func() studio.Run { return mustMake(t, s, alone(q.dark, 1, studio.Size{FatsG: 500})) }
		set := studio.DefaultSettings()
		set.TimeZone = "Pacific/Kiritimati"
		if err := s.PutSettings(ctx, set); err != nil {
			t.Fatal(describe(err))
		}
		form := studio.Making{
			OveragePct: 0.1 + 0.2, Stock: map[string]int{lamp.ID: 4},
			Designs:  []studio.RunDesign{{DesignID: house.ID, N: 1, Pieces: 36, Made: 36}, {DesignID: lamp.ID, N: 1, Made: 32}},
			Batches:  []studio.Batching{{FormulaID: q.white, FormulaN: 1, MassG: 4120.000000000001}, {FormulaID: q.dark, FormulaN: 1, MassG: 1 / 3.0}},
			MouldIDs: []string{q.mould, q.lamp, q.mould}, Working: []byte(`{"pieces": 36, "note": "ø"}`),
		}
		single()
		once := studio.Once(ctx, studio.NewID())
		first := must(t, func() (studio.Run, error) { return s.MakeRun(once, form) })
		moulds := []string{q.mould, q.lamp}
		slices.Sort(moulds)
		want := studio.Run{
			ID: first.ID, Code: "0002", Date: quantity.DateOf(first.MadeAt.In(set.Location())), MadeAt: first.MadeAt, OveragePct: form.OveragePct,
			Stock: form.Stock,
			Designs: []studio.RunDesign{{DesignID: house.ID, N: 1, Name: "Lighthouse", Pieces: 36, Made: 36},
				{DesignID: lamp.ID, N: 1, Name: "Lamp", Made: 32}},
			Batches: []studio.Batch{
				{ID: first.Batches[0].ID, Code: "0002-A", N: 1, FormulaID: q.white, FormulaN: 1, FormulaName: "Sea white", Mass: 4_120_000},
				{ID: first.Batches[1].ID, Code: "0002-B", N: 2, FormulaID: q.dark, FormulaN: 1, FormulaName: "Wet rock", Mass: 333},
			},
			MouldIDs: moulds, Working: form.Working,
		}
		if diff := cmp.Diff(want, first); diff != "" || first.ID == "" || first.Batches[0].ID == first.Batches[1].ID {
			t.Error(diff)
		}
		if first.Alone() || len(first.Asked()) != 1 {
			t.Errorf("alone %v, asked %+v", first.Alone(), first.Asked())
		}
		// The form sent twice is one run, byte for byte; so it reads back, by a batch's code too.
		if diff := cmp.Diff(first, must(t, func() (studio.Run, error) { return s.MakeRun(once, form) })); diff != "" {
			t.Error(diff)
		}
		for _, code := range []string{"0002", "0002-A", "0002-B"} {
			if diff := cmp.Diff(first, must(t, func() (studio.Run, error) { return opened(t, where).Run(ctx, code) })); diff != "" {
				t.Error(diff)
			}
		}
		if got := single(); got.Code != "0003" {
			t.Errorf("the run of one batch after the run is %s", got.Code)
		}
		// Archiving all of it leaves the run, and more can be made.
		if err := errors.Join(s.Designs.Archive(ctx, house.ID), s.Designs.Archive(ctx, lamp.ID), s.Formulas.Archive(ctx, q.white), s.Moulds.Archive(ctx,
			q.mould)); err != nil {
			t.Fatal(describe(err))
		}
		form.Designs, form.Batches = form.Designs[:1], nil
		for range 30 {
			form.Batches = append(form.Batches, studio.Batching{FormulaID: q.white, FormulaN: 1, MassG: float64(len(form.Batches) + 1)})
		}
		many := mustMake(t, s, form)
		again := must(t, func() (studio.Run, error) { return s.Run(ctx, "0004-AD") })
		if diff := cmp.Diff(many, again); diff != "" || again.Batches[29].Code != "0004-AD" || again.Batches[25].Code != "0004-Z" ||
			again.Batches[26].Code != "0004-AA" {
			t.Error(diff)
		}
		for i, b := range again.Batches {
			if b.N != i+1 || b.Mass.Grams() != float64(i+1) {
				t.Errorf("batch %d is %+v", i, b)
			}
		}
		page := runs(t, s, studio.RunsOf{}, studio.Slice{Size: 3})
		var codes []string
		for _, x := range page.Items {
			codes = append(codes, x.Code)
		}
		if diff := cmp.Diff([]string{"0004", "0003", "0002"}, codes); diff != "" || page.Total != 4 || page.Pages() != 2 {
			t.Errorf("%d in all:\n%s", page.Total, diff)
		}
		if x, y := page.Items[0], page.Items[1]; x.Alone() || x.Working != nil || len(x.Batches) != 30 || !y.Alone() || y.Working != nil {
			t.Errorf("made: %+v", page.Items)
		}
		if page := runs(t, s, studio.RunsOf{}, studio.Slice{Number: 2, Size: 3}); len(page.Items) != 1 || page.Items[0].Code != "0001" {
			t.Errorf("second page: %+v", page)
		}
		if page := runs(t, s, studio.RunsOf{}, studio.Slice{Number: 9}); len(page.Items) != 0 || page.Total != 4 {
			t.Errorf("a page beyond the last: %+v", page)
		}
		runsOf(t, s, q, house.ID, lamp.ID)
		refusedRuns(t, s, form, house.ID, lamp.ID)
		for _, code := range []string{"0009", "0001-A", "0002-C", "0002-", "0002-a", "", "-", "%", "\x00", "\xff"} {
			_, err := s.Run(ctx, code)
			refused(t, err, fault.NotFound, "code", "no run and no batch")
		}
		if page := runs(t, s, studio.RunsOf{}, studio.Slice{}); page.Total != 4 {
			t.Errorf("%d made after what was refused, want 4", page.Total)
		}
		// What was refused took no code.
		if got := single(); got.Code != "0005" {
			t.Errorf("the next code is %s, want 0005", got.Code)
		}
	})
}

// runsOf asks for the runs of a design, of a formula, and of one batch alone.
func runsOf(t *testing.T, s *studio.Studio, q quarry, house, lamp string) {
	t.Helper()
	for _, c := range []struct {
		of   studio.RunsOf
		want []string
	}{
		{studio.RunsOf{DesignID: house}, []string{"0004", "0002"}},
		{studio.RunsOf{DesignID: lamp}, []string{"0002"}},
		{studio.RunsOf{DesignID: "nothing"}, nil},
		{studio.RunsOf{FormulaID: q.dark}, []string{"0003", "0002", "0001"}},
		{studio.RunsOf{FormulaID: q.dark, Alone: true}, []string{"0003", "0001"}},
		{studio.RunsOf{FormulaID: q.dark, DesignID: house}, []string{"0002"}},
		{studio.RunsOf{DesignID: house, Alone: true}, nil},
		{studio.RunsOf{FormulaID: q.white}, []string{"0004", "0002"}}, // of thirty batches, and once
		{studio.RunsOf{Alone: true}, []string{"0003", "0001"}},
	} {
		page := runs(t, s, c.of, studio.Slice{})
		var codes []string
		for _, x := range page.Items {
			codes = append(codes, x.Code)
		}
		if diff := cmp.Diff(c.want, codes); diff != "" || page.Total != len(c.want) {
			t.Errorf("runs of %+v, %d in all:\n%s", c.of, page.Total, diff)
		}
	}
}

// refusedRuns asks for runs like form that each have one thing wrong.
func refusedRuns(t *testing.T, s *studio.Studio, form studio.Making, house, lamp string) {
	t.Helper()
	for _, c := range []struct {
		kind  fault.Kind
		field string
		spoil func(*studio.Making)
	}{
		{fault.Invalid, "overage_pct", func(r *studio.Making) { r.OveragePct = math.NaN() }},
		{fault.Invalid, "stock", func(r *studio.Making) { r.Stock = map[string]int{lamp: -1} }},
		{fault.Invalid, "pieces", func(r *studio.Making) { r.Designs = nil }},
		{fault.Invalid, "pieces", func(r *studio.Making) { r.Designs = []studio.RunDesign{{DesignID: house, N: 1, Made: 3}} }},
		{fault.Invalid, "pieces", func(r *studio.Making) { r.Designs[0].Pieces = 1e9 }},
		{fault.Invalid, "pieces", func(r *studio.Making) { r.Designs = append(r.Designs, r.Designs[0]) }},
		{fault.Invalid, "pieces", func(r *studio.Making) { r.Batches[0].MassG = math.Inf(1) }},
		{fault.Invalid, "pieces", func(r *studio.Making) { r.Batches[0].MassG = 0 }},
		{fault.Internal, "", func(r *studio.Making) { r.Working = []byte("{") }},
		{fault.NotFound, "design", func(r *studio.Making) { r.Designs[0].DesignID = "nothing" }},
		{fault.NotFound, "version", func(r *studio.Making) { r.Designs[0].N = 2 }},
		{fault.NotFound, "formula", func(r *studio.Making) { r.Batches[0].FormulaID = "nothing" }},
		{fault.NotFound, "version", func(r *studio.Making) { r.Batches[0].FormulaN = 2 }},
		{fault.NotFound, "mould", func(r *studio.Making) { r.MouldIDs = []string{"nothing"} }},
	} {
		bad := form
		bad.Designs, bad.Batches = slices.Clone(form.Designs), slices.Clone(form.Batches)
		c.spoil(&bad)
		_, err := s.MakeRun(studio.Once(t.Context(), studio.NewID()), bad)
		refused(t, err, c.kind, c.field)
	}
}

// A batch weighs whole milligrams, the nearest, and at least one.
func TestABatchWeighsWholeMilligrams(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s := opened(t, where)
		v := mustKeepNew(t, s, lantern("Storm lantern"))
		for massG, want := range map[float64]quantity.Milligrams{1e-9: 1, 0.0004: 1, 0.0015: 2, 0.3: 300, 1234.5678: 1_234_568, 1e7: 10_000_000_000} {
			m := alone(v.ID, 1, studio.Size{FatsG: 500})
			m.Batches[0].MassG = massG
			run := mustMake(t, s, m)
			again := must(t, func() (studio.Run, error) { return s.Run(t.Context(), run.Code) })
			if got := again.Batches[0]; got.Mass != want || got.Mass.Grams() != want.Grams() {
				t.Errorf("%g g is kept as %d mg, %g g; want %d mg", massG, got.Mass, got.Mass.Grams(), want)
			}
		}
	})
}

// Runs of one batch and of designs that are made at once get codes that are all
// different and have no gap, though some acts among them fail.
func TestCodesAreGivenOnceAndWithoutAGap(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		s, other := opened(t, where), opened(t, where)
		q := quarried(t, s)
		house := q.keep(t, q.lighthouse("Lighthouse"))
		const n = 18
		codes := make(chan string, n)
		for i := range n {
			mine := s
			if i/2%2 == 1 {
				mine = other
			}
			m := alone(q.dark, 1, studio.Size{FatsG: 500})
			switch i % 3 {
			case 1:
				m = studio.Making{Designs: []studio.RunDesign{{DesignID: house.ID, N: 1, Pieces: 1, Made: 1}}, Working: []byte("{}")}
			case 2:
				m.MouldIDs = []string{"nothing"}
			}
			go func() {
				run, err := mine.MakeRun(context.Background(), m)
				if (err != nil) != (i%3 == 2) {
					t.Errorf("%d: %v", i, describe(err))
				}
				codes <- run.Code
			}()
		}
		seen := map[string]int{}
		for range n {
			seen[<-codes]++
		}
		want := map[string]int{"": n / 3}
		for i := range n - n/3 {
			want[fmt.Sprintf("%04d", i+1)] = 1
		}
		if diff := cmp.Diff(want, seen); diff != "" {
			t.Errorf("codes:\n%s", diff)
		}
	})
}
