package demo_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"slices"
	"testing"
	"time"
	_ "time/tzdata"

	"barwright/bench"
	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/demo"
	"barwright/internal/store"
	"barwright/soap"
	"barwright/studio"
)

var now = time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)

func seeded(t *testing.T) (*studio.Studio, *store.Store, *catalogue.Catalogue) {
	t.Helper()
	base, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	records, err := store.Open(context.Background(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := records.Close(); err != nil {
			t.Error(err)
		}
	})
	began := time.Now()
	if err := demo.Seed(context.Background(), records, base, now, "test"); err != nil {
		t.Fatal(err)
	}
	took := time.Since(began)
	t.Logf("seeded in %v", took)
	// A person waits for it. The limit is loose, for machines that are busy.
	if took > 10*time.Second {
		t.Errorf("seeding took %v", took)
	}
	return studio.New(records, base, func() time.Time { return now }, studio.NewID), records, base
}

func TestTheBookIsWhole(t *testing.T) {
	ctx := context.Background()
	book, records, base := seeded(t)
	page, err := book.Formulas.List(ctx, "", studio.Slice{Size: 100})
	if err != nil {
		t.Fatal(err)
	}
	if page.Total < 8 {
		t.Fatalf("%d formulas", page.Total)
	}
	cat, err := book.Catalogue(ctx)
	if err != nil {
		t.Fatal(err)
	}
	set, err := book.Settings(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if set.Location().String() != set.TimeZone {
		t.Errorf("the zone %s is not known", set.TimeZone)
	}
	worst := map[string]finding.Severity{}
	for _, f := range page.Items {
		versions, err := book.Formulas.Versions(ctx, f.ID)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range versions {
			if l := v.Doc.Formula.Validate(true); len(l) > 0 {
				t.Errorf("%s, version %d: %v", f.Name, v.N, l)
			}
			if l := v.Doc.Formula.CheckIDs(cat); len(l) > 0 {
				t.Errorf("%s, version %d: %v", f.Name, v.N, l)
			}
			draws := soap.Draws
			if v.Doc.Formula.Method == formula.Melt {
				draws = 0 // nothing in it is drawn
			}
			if v.Note == "" || v.KeptAt.After(now) || v.Doc.Kept.Superfat.Draws != draws {
				t.Errorf("%s, version %d: note %q, kept %v, %d draws", f.Name, v.N, v.Note, v.KeptAt, v.Doc.Kept.Superfat.Draws)
			}
			if i > 0 && !v.KeptAt.Before(versions[i-1].KeptAt) {
				t.Errorf("%s: version %d is not older than the next", f.Name, v.N)
			}
		}
		r, err := soap.Work(f.Newest.Doc.Formula, cat)
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		// What was kept is what the sums give: the same seed, the same figures.
		if got := r.Draw(soap.Draws, soap.Seed); !r.Melts() && got != f.Newest.Doc.Kept.Superfat {
			t.Errorf("%s: kept %+v, worked out %+v", f.Name, f.Newest.Doc.Kept.Superfat, got)
		}
		worst[f.Name], _ = finding.Worst(soap.Findings(r, f.Newest.Doc.Kept.Superfat, set.SoapLimits()))
		t.Logf("%-20s %d versions, worst %v, superfat %.2f [%.2f, %.2f], excess %.4f", f.Name, f.Newest.N, worst[f.Name],
			f.Newest.Doc.Kept.Superfat.NominalPct, f.Newest.Doc.Kept.Superfat.LowPct, f.Newest.Doc.Kept.Superfat.HighPct, f.Newest.Doc.Kept.Superfat.Excess)
	}
	if got := worst["Fog signal"]; got == finding.Note {
		t.Errorf("a scent over its limit is only a %v", got)
	}

	lantern, err := book.Formulas.List(ctx, "storm lantern", studio.Slice{})
	if err != nil || len(lantern.Items) != 1 {
		t.Fatalf("storm lantern: %v, %v", lantern.Items, err)
	}
	f := lantern.Items[0].Newest.Doc.Formula
	sum := 0.0
	for _, x := range f.Fats {
		sum += x.Pct
	}
	if lantern.Items[0].Newest.N != 7 || len(f.Fats) != 6 || f.FatsG != 1620 || f.SuperfatPct != 3 || math.Abs(sum-100) > 1e-9 {
		t.Errorf("storm lantern is not as it should be: %+v", f)
	}
	if v6, err := book.Formulas.Version(ctx, lantern.Items[0].ID, 6); err != nil || v6.Doc.Formula.SuperfatPct != 5 {
		t.Errorf("version 6: %+v, %v", v6, err)
	}

	theShelf(t, book)

	sheets, err := book.Runs(ctx, studio.RunsOf{Alone: true}, studio.Slice{})
	if err != nil || sheets.Total != 3 {
		t.Fatalf("%d sheets, %v", sheets.Total, err)
	}
	last, err := book.Run(ctx, sheets.Items[0].Code)
	if err != nil {
		t.Fatal(err)
	}
	var onBench bench.Sheet
	if err := json.Unmarshal(last.Working, &onBench); err != nil {
		t.Fatal(err)
	}
	// 36 lighthouses of 111.37 mL and 3 % over: the batter that the sheet weighs.
	if want := 36 * 111.373 * 1.03; last.Batches[0].FormulaName != "Storm lantern" || last.Batches[0].FormulaN != 6 ||
		math.Abs(onBench.Batter.VolumeML-want) > 0.002*want {
		t.Errorf("%s, version %d, %.1f mL; want %.1f", last.Batches[0].FormulaName, last.Batches[0].FormulaN, onBench.Batter.VolumeML, want)
	}

	err = demo.Seed(ctx, records, base, now, "test")
	var e *fault.Error
	if !errors.As(err, &e) || e.Kind != fault.Conflict {
		t.Errorf("a second seeding gives %v", err)
	}
}

// theShelf wants moulds of many shapes, sound ones, and an ingredient of one's own.
func theShelf(t *testing.T, book *studio.Studio) {
	t.Helper()
	ctx := t.Context()
	shelf, err := book.Moulds.All(ctx)
	if err != nil {
		t.Fatal(err)
	}
	shapes := map[string]bool{}
	for _, m := range shelf {
		v, err := m.Newest.Doc.Volume()
		if err != nil {
			t.Errorf("%s: %v", m.Name, err)
			continue
		}
		for _, f := range m.Newest.Doc.Findings() {
			if f.Severity != finding.Note {
				t.Errorf("%s: %s", m.Name, f.Message)
			}
		}
		shapes[m.Newest.Doc.Shape.String()] = true
		t.Logf("%-22s %v mL", m.Name, v)
	}
	if len(shapes) < 5 {
		t.Errorf("moulds of %d shapes only", len(shapes))
	}
	if own, err := book.Ingredients(ctx); err != nil || len(own) != 1 {
		t.Errorf("own ingredients: %v, %v", own, err)
	}
}

// Every design can be built as it stands; the draft that cannot is put away and
// says why.
func TestTheDesignsCanBeBuilt(t *testing.T) {
	ctx := context.Background()
	book, _, _ := seeded(t)
	living, err := book.Designs.List(ctx, "", studio.Slice{Size: 100})
	if err != nil {
		t.Fatal(err)
	}
	away, err := book.Designs.ListArchived(ctx, "", studio.Slice{Size: 100})
	if err != nil {
		t.Fatal(err)
	}
	if living.Total < 7 || away.Total != 1 {
		t.Fatalf("%d designs and %d put away", living.Total, away.Total)
	}
	kinds, methods := map[design.Kind]bool{}, map[formula.Method]bool{}
	several, embeds := 0, map[string]int{}
	for i, d := range append(living.Items, away.Items...) {
		versions, err := book.Designs.Versions(ctx, d.ID)
		if err != nil {
			t.Fatal(err)
		}
		for k, v := range versions {
			if l := v.Doc.Validate(true); len(l) > 0 {
				t.Errorf("%s, version %d: %v", d.Name, v.N, l)
			}
			if v.Note == "" || v.KeptAt.After(now) || k > 0 && !v.KeptAt.Before(versions[k-1].KeptAt) {
				t.Errorf("%s, version %d: note %q, kept %v", d.Name, v.N, v.Note, v.KeptAt)
			}
		}
		if len(versions) > 1 {
			several++
		}
		g, err := book.Gather(ctx, nil, d.ID)
		if err != nil {
			t.Fatal(err)
		}
		for id, err := range g.Faults {
			t.Errorf("%s: %s cannot be worked out: %v", d.Name, id, err)
		}
		n, err := design.Explode(g.Set, []design.Want{{Design: d.ID, Pieces: 36}}, design.Options{OveragePct: 3})
		if err != nil {
			t.Errorf("%s: %v", d.Name, err)
			continue
		}
		worst, _ := finding.Worst(n.Findings)
		if draft := i >= len(living.Items); (worst == finding.Stop) != draft {
			t.Errorf("%s: worst %v: %v", d.Name, worst, n.Findings)
		}
		for _, p := range d.Newest.Doc.Parts {
			kinds[p.Kind] = true
			if p.Kind.Batter() {
				methods[g.Formulas[p.Formula].Doc.Formula.Method] = true
			}
			if p.Kind == design.Embed && i < len(living.Items) {
				embeds[p.Design]++
			}
		}
	}
	if len(kinds) != len(design.Kinds()) || len(methods) != 3 || several < 5 {
		t.Errorf("the designs have parts of %d kinds, of %d methods; %d of them have several versions", len(kinds), len(methods), several)
	}
	shared := false
	for _, n := range embeds {
		shared = shared || n > 1
	}
	if !shared {
		t.Error("no embed goes into two designs")
	}

	runs, err := book.Runs(ctx, studio.RunsOf{}, studio.Slice{})
	if err != nil || runs.Total != 6 {
		t.Fatalf("%d runs, %v", runs.Total, err)
	}
	if n := len(slices.DeleteFunc(slices.Clone(runs.Items), studio.Run.Alone)); n != 3 {
		t.Fatalf("%d runs of designs, want 3", n)
	}
	last, err := book.Run(ctx, runs.Items[0].Code)
	if err != nil {
		t.Fatal(err)
	}
	var onBench bench.Run
	if err := json.Unmarshal(last.Working, &onBench); err != nil {
		t.Fatal(err)
	}
	if a := last.Asked(); len(a) != 1 || a[0].Name != "Lighthouse" || a[0].Pieces != 36 || len(last.Stock) != 1 || len(onBench.Batches) != 3 {
		t.Errorf("the last run: %+v, with %v at hand, %d batches", a, last.Stock, len(onBench.Batches))
	}
	// 36 towers to four fifths of 111.37 mL, less the lamps in them and 3 % over.
	for _, b := range last.Batches {
		if b.FormulaName != "Tower and band" {
			continue
		}
		g, err := book.Gather(ctx, nil, last.Asked()[0].DesignID)
		if err != nil {
			t.Fatal(err)
		}
		lamp := math.Pi / 12 * (16*16 + 16*12 + 12*12) * 20 / 1000 * 0.94
		want := 36*(0.8*111.373-lamp)*1.03*g.Results[b.FormulaID].Batter.DensityGML + 12
		if math.Abs(b.Mass.Grams()-want) > 0.002*want {
			t.Errorf("the towers take %.1f g; want %.1f", b.Mass.Grams(), want)
		}
	}
}
