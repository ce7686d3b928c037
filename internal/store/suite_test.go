package store_test

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/store"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// onEach runs one test on every engine. Where is an empty place of its own.
func onEach(t *testing.T, test func(t *testing.T, where string)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) { test(t, sqliteWhere(t)) })
	t.Run("postgres", func(t *testing.T) { test(t, postgresWhere(t)) })
}

// sqliteWhere is a directory that does not exist yet, with a name that a URL
// would cut short.
func sqliteWhere(t testing.TB) string {
	return t.TempDir() + "/the maker's 100% studio? #1 é"
}

// postgresWhere is an empty database, dropped when the test ends.
func postgresWhere(t testing.TB) string {
	t.Helper()
	server := os.Getenv("BARWRIGHT_TEST_POSTGRES")
	if server == "" {
		const why = "BARWRIGHT_TEST_POSTGRES names no PostgreSQL server: run the tests by .ci/postgres go test ./internal/store/"
		if os.Getenv("BARWRIGHT_CI") == "1" {
			t.Fatal(why)
		}
		t.Skip(why)
	}
	db, err := sql.Open("pgx", server)
	if err != nil {
		t.Fatal(err)
	}
	name := "barwright_" + strings.ReplaceAll(studio.NewID(), "-", "")
	if _, err := db.Exec("CREATE DATABASE " + name); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if _, err := db.Exec("DROP DATABASE " + name + " WITH (FORCE)"); err != nil {
			t.Error(err)
		}
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	u, err := url.Parse(server)
	if err != nil {
		t.Fatal(err)
	}
	u.Path = "/" + name
	return u.String()
}

// raw opens the database beneath a studio, to look at it or to spoil it.
func raw(t testing.TB, where string) *sql.DB {
	t.Helper()
	driver, dsn := "pgx", where
	if !strings.HasPrefix(where, "postgres://") {
		driver, dsn = "sqlite", (&url.URL{Scheme: "file", Path: where + "/studio.db"}).String()
	}
	db, err := sql.Open(driver, dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}

// opened is a studio at where, closed when the test ends. Its clock goes one
// second forward with every look at it.
func opened(t testing.TB, where string) *studio.Studio {
	t.Helper()
	s, err := store.Open(t.Context(), where)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return studio.New(s, base(t), ticking(), studio.NewID)
}

func base(t testing.TB) *catalogue.Catalogue {
	t.Helper()
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	return cat
}

// ticking is a clock for one goroutine at a time or several.
func ticking() func() time.Time {
	ticks := make(chan time.Time)
	go func() {
		for now := time.Date(2026, 3, 1, 8, 0, 0, 123456000, time.UTC); ; now = now.Add(time.Second) {
			ticks <- now
		}
	}()
	return func() time.Time { return <-ticks }
}

// lantern is a formula that can be kept, under a name.
func lantern(name string) *formula.Formula {
	return &formula.Formula{
		Name: name, Method: formula.Cold, SuperfatPct: 5, FatsG: 1000,
		Water:  formula.Water{Rule: formula.ByConcentration, Value: 33},
		Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(99), PurityHalfWidthPct: 0.5},
		Fats: []formula.Fat{
			{ID: "olive-oil", Pct: 60},
			{ID: "coconut-oil", Pct: 40},
		},
	}
}

// worked is a result to keep with a formula, with figures that binary fractions
// only come near to.
func worked() studio.Kept {
	return studio.Kept{
		Superfat: soap.Superfat{NominalPct: 5, SDPct: 1.0 / 3, LowPct: 4.1 + 0.2, HighPct: 0.1 * 3 * 20, Excess: 2.5e-6,
			For1In1000Pct: 3.3000000000000003, Draws: 200000, Seed: 1<<63 + 1},
		Engine: "test", Figures: []byte(`{"naoh_g":142.30000000000001}`),
	}
}

func must[T any](t testing.TB, f func() (T, error)) T {
	t.Helper()
	v, err := f()
	if err != nil {
		t.Fatal(describe(err))
	}
	return v
}

func mustKeepNew(t testing.TB, s *studio.Studio, f *formula.Formula) studio.FormulaVersion {
	t.Helper()
	v, err := s.Formulas.New(context.Background(), studio.Formula{Formula: f, Kept: worked()}, "")
	if err != nil {
		t.Fatalf("%s: %v", f.Name, err)
	}
	return v
}

func mustKeepMould(t testing.TB, s *studio.Studio, m mould.Mould) studio.Version[mould.Mould] {
	t.Helper()
	v, err := s.Moulds.New(context.Background(), m, "")
	if err != nil {
		t.Fatalf("%s: %v", m.Name, describe(err))
	}
	return v
}

// uses says what stands on a thing.
func uses(t testing.TB, s *studio.Studio, kind studio.Kind, id string) []studio.Use {
	t.Helper()
	return must(t, func() ([]studio.Use, error) { return s.Uses(t.Context(), kind, id) })
}

// refused checks that err is a fault of the kind on the field, and that its
// sentence holds the words.
func refused(t testing.TB, err error, kind fault.Kind, field string, words ...string) {
	t.Helper()
	if err == nil {
		t.Fatalf("nothing was refused; want kind %d on %q", kind, field)
	}
	for _, f := range fault.All(err) {
		if f.Kind != kind || f.Field != field {
			continue
		}
		for _, w := range words {
			if !strings.Contains(f.Message, w) {
				t.Errorf("sentence %q does not say %q", f.Message, w)
			}
		}
		return
	}
	t.Fatalf("refused with %v; want kind %d on %q", describe(err), kind, field)
}

func describe(err error) string {
	var b strings.Builder
	for _, f := range fault.All(err) {
		fmt.Fprintf(&b, "[kind %d field %q: %s (%v)]", f.Kind, f.Field, f.Message, errors.Unwrap(f))
	}
	return b.String()
}

// names are the names of a page of records of any kind.
func names[Doc any](p studio.Page[studio.Record[Doc]]) []string {
	var out []string
	for _, r := range p.Items {
		out = append(out, r.Name)
	}
	return out
}
