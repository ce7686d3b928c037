package store_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"sync"
	"testing"

	"barwright/design"
	"barwright/formula"
	"barwright/internal/store"
	"barwright/quantity"
	"barwright/studio"
)

// benchEach runs one benchmark on every engine that is there.
func benchEach(b *testing.B, bench func(b *testing.B, where string)) {
	b.Run("sqlite", func(b *testing.B) { bench(b, sqliteWhere(b)) })
	b.Run("postgres", func(b *testing.B) { bench(b, postgresWhere(b)) })
}

// many is how many formulas a full studio has.
const many = 5000

// filled has many formulas of ten ingredients each, two versions apiece. The
// rows are written in one transaction: what is measured comes after.
func filled(b *testing.B, where string) *studio.Studio {
	b.Helper()
	s := opened(b, where)
	fats := base(b).Fats()
	var template studio.VersionRow
	p, err := s.Formulas.List(b.Context(), "", studio.Slice{Size: 1})
	if err != nil {
		b.Fatal(describe(err))
	}
	if p.Total == many { // a benchmark runs several times in one place
		return s
	}
	f := lantern("Template")
	f.Fats = nil
	for k := range 10 {
		f.Fats = append(f.Fats, formula.Fat{ID: fats[k].ID, Pct: 10})
	}
	if _, err = s.Formulas.New(b.Context(), studio.Formula{Formula: f, Kept: worked()}, ""); err != nil {
		b.Fatal(describe(err))
	}
	st, err := store.Open(b.Context(), where)
	if err != nil {
		b.Fatal(err)
	}
	defer st.Close()
	err = st.Write(b.Context(), func(w studio.Writer) error {
		rows, _, err := w.RecordPage(b.Context(), studio.RecordQuery{Kind: studio.KindFormula, Limit: 1})
		if err != nil {
			return err
		}
		template = rows[0].Version
		for i := range many - 1 {
			f := rows[0].RecordRow
			f.ID, f.Name, f.Newest = studio.NewID(), fmt.Sprintf("Pebble %04d", i), 2
			f.NameKey, f.SearchKey = studio.NameKey(f.Name), studio.SearchKey(f.Name)
			if err := w.AddRecord(b.Context(), f); err != nil {
				return err
			}
			for n := 1; n <= 2; n++ {
				v := template
				v.RecordID, v.N = f.ID, n
				var on []studio.Link
				for k := range 10 {
					on = append(on, studio.Link{Kind: studio.KindIngredient, ID: fats[(i+k)%len(fats)].ID, Role: studio.AsFat})
				}
				if err := w.AddVersion(b.Context(), v, on); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(describe(err))
	}
	return s
}

// From nothing open to the first page of formulas answered.
func BenchmarkOpenAndFirstAnswer(b *testing.B) {
	benchEach(b, func(b *testing.B, where string) {
		filled(b, where)
		cat := base(b)
		for b.Loop() {
			st, err := store.Open(b.Context(), where)
			if err != nil {
				b.Fatal(err)
			}
			p, err := studio.New(st, cat, ticking(), studio.NewID).Formulas.List(b.Context(), "", studio.Slice{})
			if err != nil || p.Total != many {
				b.Fatal(p.Total, err)
			}
			b.StopTimer()
			if err := st.Close(); err != nil {
				b.Fatal(err)
			}
			b.StartTimer()
		}
	})
}

// One version kept, durably.
func BenchmarkKeep(b *testing.B) {
	benchEach(b, func(b *testing.B, where string) {
		s := filled(b, where)
		p, err := s.Formulas.List(b.Context(), "", studio.Slice{Size: 1})
		if err != nil {
			b.Fatal(err)
		}
		id, n := p.Items[0].ID, p.Items[0].Newest.N
		f := p.Items[0].Newest.Doc.Formula
		f.Name = p.Items[0].Name // the rows were made from one template
		for b.Loop() {
			f.SuperfatPct = float64(n%15) + 1
			v, err := s.Formulas.Keep(b.Context(), id, n, studio.Formula{Formula: f, Kept: worked()}, "")
			if err != nil {
				b.Fatal(describe(err))
			}
			n = v.N
		}
	})
}

// A page of 50, as the list of formulas asks for it, also from several at once.
func BenchmarkPage(b *testing.B) {
	benchEach(b, func(b *testing.B, where string) {
		s := filled(b, where)
		cat := base(b)
		fats := cat.Fats()
		for _, c := range []struct {
			name, query string
			page        int
		}{
			{"first", "", 1},
			{"last", "", many / 50},
			{"named", "pebble 49", 1},
			{"ingredient", fats[20].Name, 1},
			{"nothing", "zzz", 1},
		} {
			b.Run(c.name, func(b *testing.B) {
				for b.Loop() {
					if _, err := s.Formulas.List(b.Context(), c.query, studio.Slice{Number: c.page}); err != nil {
						b.Fatal(describe(err))
					}
				}
			})
		}
		b.Run("four at once", func(b *testing.B) {
			var wg sync.WaitGroup
			for range 4 {
				wg.Go(func() {
					for range b.N / 4 {
						if _, err := s.Formulas.List(context.Background(), "", studio.Slice{}); err != nil {
							b.Error(err)
						}
					}
				})
			}
			wg.Wait()
		})
	})
}

// What every request asks for: the catalogue, the settings, one formula.
func BenchmarkSmallReads(b *testing.B) {
	benchEach(b, func(b *testing.B, where string) {
		s := filled(b, where)
		if err := s.PutIngredient(b.Context(), seal()); err != nil {
			b.Fatal(err)
		}
		if err := s.PutSettings(b.Context(), studio.DefaultSettings()); err != nil {
			b.Fatal(err)
		}
		p, err := s.Formulas.List(b.Context(), "", studio.Slice{Size: 1})
		if err != nil {
			b.Fatal(err)
		}
		b.Run("catalogue", func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Catalogue(b.Context()); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("settings", func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Settings(b.Context()); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("formula", func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Formulas.Get(b.Context(), p.Items[0].ID); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("used in", func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Uses(b.Context(), studio.KindIngredient, base(b).Fats()[0].ID); err != nil {
					b.Fatal(err)
				}
			}
		})
	})
}

// drawnUp has many designs beside many formulas: of eight parts each, those
// after the first tier embedding one of it.
func drawnUp(b *testing.B, where string) *studio.Studio {
	b.Helper()
	s := filled(b, where)
	p, err := s.Designs.List(b.Context(), "", studio.Slice{Size: 1})
	if err != nil {
		b.Fatal(describe(err))
	}
	if p.Total == many {
		return s
	}
	q := quarried(b, s)
	formulas, err := s.Formulas.List(b.Context(), "", studio.Slice{Size: 60})
	if err != nil {
		b.Fatal(describe(err))
	}
	st, err := store.Open(b.Context(), where)
	if err != nil {
		b.Fatal(err)
	}
	defer st.Close()
	var lamps []string
	now := ticking()
	err = st.Write(b.Context(), func(w studio.Writer) error {
		for i := range many {
			d := eightParts(q, formulas.Items, i, lamps)
			d.ID = studio.NewID()
			if i < many/10 {
				lamps = append(lamps, d.ID)
			}
			body, err := json.Marshal(d)
			if err != nil {
				return err
			}
			at := now()
			row := studio.RecordRow{ID: d.ID, Kind: studio.KindDesign, Name: d.Name, NameKey: studio.NameKey(d.Name),
				SearchKey: studio.SearchKey(d.Name + " sea rock glass beads"), Newest: 1, KeptAt: at, UsedAt: at}
			if err := w.AddRecord(b.Context(), row); err != nil {
				return err
			}
			on := []studio.Link{{Kind: studio.KindMould, ID: d.Mould}}
			for _, p := range d.Parts {
				l := studio.Link{Kind: studio.KindFormula, ID: p.Formula}
				if p.Kind == design.Embed {
					l = studio.Link{Kind: studio.KindDesign, ID: p.Design}
				}
				if l.ID != "" && !slices.Contains(on, l) {
					on = append(on, l)
				}
			}
			if err := w.AddVersion(b.Context(), studio.VersionRow{RecordID: d.ID, N: 1, KeptAt: row.KeptAt, Document: studio.Document{Format: 1,
				Body: body}}, on); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(describe(err))
	}
	return s
}

func eightParts(q quarry, formulas []studio.Record[studio.Formula], i int, lamps []string) *design.Design {
	f := func(k int) string { return formulas[(i+k)%len(formulas)].ID }
	d := &design.Design{Name: fmt.Sprintf("Light %04d", i), Mould: q.mould, Parts: []design.Part{
		{Kind: design.Pour, Name: "sea", Formula: f(0), FillToPct: quantity.Some(30)},
		{Kind: design.Pour, Name: "rock", Formula: f(1), FillToPct: quantity.Some(60)},
		{Kind: design.Sprinkle, Item: "glass beads", MassG: quantity.Some(1.5)},
		{Kind: design.Topping, Formula: f(2), FillToPct: quantity.Some(80)},
		{Kind: design.Topping, Formula: f(3), FillToPct: quantity.Some(95)},
		{Kind: design.Piping, Formula: f(4), MassG: quantity.Some(8)},
		{Kind: design.Wrap, Item: "paper band", Count: quantity.Some(1)},
	}}
	if len(lamps) > 0 {
		d.Parts = slices.Insert(d.Parts, 1, design.Part{Kind: design.Embed, Design: lamps[i%len(lamps)], Count: quantity.Some(1), SunkPct: 50})
	}
	return d
}

// A page of 50 designs among many, and what stands on a formula.
func BenchmarkDesignPage(b *testing.B) {
	benchEach(b, func(b *testing.B, where string) {
		s := drawnUp(b, where)
		for _, c := range []struct {
			name, query string
			page        int
		}{{"first", "", 1}, {"last", "", many / 50}, {"named", "light 49", 1}, {"nothing", "zzz", 1}} {
			b.Run(c.name, func(b *testing.B) {
				for b.Loop() {
					if _, err := s.Designs.List(b.Context(), c.query, studio.Slice{Number: c.page}); err != nil {
						b.Fatal(describe(err))
					}
				}
			})
		}
		p, err := s.Designs.List(b.Context(), "", studio.Slice{Size: 1})
		if err != nil {
			b.Fatal(err)
		}
		b.Run("using a formula", func(b *testing.B) {
			for b.Loop() {
				if _, err := s.Uses(b.Context(), studio.KindFormula, p.Items[0].Newest.Doc.Parts[0].Formula); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("keep", func(b *testing.B) {
			d := p.Items[0].Newest.Doc
			for n := p.Items[0].Newest.N; b.Loop(); n++ {
				d.Parts[0].FillToPct = quantity.Some(1 + float64(n%20))
				if _, err := s.Designs.Keep(b.Context(), d.ID, n, d, ""); err != nil {
					b.Fatal(describe(err))
				}
			}
		})
	})
}

// What 200 designs of eight parts reach, out of many: what the pages of the fit
// and of what N need ask for.
func BenchmarkGather(b *testing.B) {
	benchEach(b, func(b *testing.B, where string) {
		s := drawnUp(b, where)
		p, err := s.Designs.List(b.Context(), "", studio.Slice{Size: 200})
		if err != nil {
			b.Fatal(err)
		}
		var ids []string
		for _, d := range p.Items {
			ids = append(ids, d.ID)
		}
		for _, n := range []int{1, 200} {
			b.Run(strconv.Itoa(n), func(b *testing.B) {
				for b.Loop() {
					g, err := s.Gather(b.Context(), nil, ids[:n]...)
					if err != nil || len(g.Faults) > 0 {
						b.Fatal(err, g.Faults)
					}
				}
			})
		}
	})
}
