package store_test

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"barwright/formula"
	"barwright/internal/store"
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
	p, err := s.Formulas(b.Context(), "", studio.Slice{Size: 1})
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
	if _, err = s.NewFormula(b.Context(), f, worked(), ""); err != nil {
		b.Fatal(describe(err))
	}
	st, err := store.Open(b.Context(), where)
	if err != nil {
		b.Fatal(err)
	}
	defer st.Close()
	err = st.Write(b.Context(), func(w studio.Writer) error {
		rows, versions, _, err := w.FormulaPage(b.Context(), studio.FormulaQuery{Limit: 1})
		if err != nil {
			return err
		}
		template = versions[0]
		for i := range many - 1 {
			f := rows[0]
			f.ID, f.Name, f.Newest = studio.NewID(), fmt.Sprintf("Pebble %04d", i), 2
			f.NameKey, f.SearchKey = studio.NameKey(f.Name), studio.SearchKey(f.Name)
			if err := w.AddFormula(b.Context(), f); err != nil {
				return err
			}
			for n := 1; n <= 2; n++ {
				v := template
				v.FormulaID, v.N = f.ID, n
				var uses []studio.UseRow
				for k := range 10 {
					uses = append(uses, studio.UseRow{IngredientID: fats[(i+k)%len(fats)].ID, AsFat: true})
				}
				if err := w.AddVersion(b.Context(), v, uses); err != nil {
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
			p, err := studio.New(st, cat, ticking(), studio.NewID).Formulas(b.Context(), "", studio.Slice{})
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
		p, err := s.Formulas(b.Context(), "", studio.Slice{Size: 1})
		if err != nil {
			b.Fatal(err)
		}
		id, n := p.Items[0].ID, p.Items[0].Newest.N
		f := p.Items[0].Newest.Formula
		f.Name = p.Items[0].Name // the rows were made from one template
		for b.Loop() {
			f.SuperfatPct = float64(n%15) + 1
			v, err := s.Keep(b.Context(), id, n, f, worked(), "")
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
					if _, err := s.Formulas(b.Context(), c.query, studio.Slice{Number: c.page}); err != nil {
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
						if _, err := s.Formulas(context.Background(), "", studio.Slice{}); err != nil {
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
		if err := s.PutEntry(b.Context(), seal()); err != nil {
			b.Fatal(err)
		}
		if err := s.PutSettings(b.Context(), studio.DefaultSettings()); err != nil {
			b.Fatal(err)
		}
		p, err := s.Formulas(b.Context(), "", studio.Slice{Size: 1})
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
				if _, err := s.Formula(b.Context(), p.Items[0].ID); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run("used in", func(b *testing.B) {
			for b.Loop() {
				if _, err := s.UsedIn(b.Context(), base(b).Fats()[0].ID); err != nil {
					b.Fatal(err)
				}
			}
		})
	})
}
