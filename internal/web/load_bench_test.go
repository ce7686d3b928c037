package web

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"
	"time"

	"barwright/catalogue"
	"barwright/formula"
	"barwright/internal/store"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// BenchmarkPagesAmongFiveThousand asks every kind of page of a studio with 5 000
// formulas at 50 requests a second, and reports the 99th percentile of each
// answer in ms. An iteration is a second of that.
func BenchmarkPagesAmongFiveThousand(b *testing.B) {
	ctx := context.Background()
	cat, err := catalogue.Default()
	if err != nil {
		b.Fatal(err)
	}
	st, err := store.Open(ctx, b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	defer st.Close()
	book := studio.New(st, cat, time.Now, studio.NewID)
	var first string
	for i := range 5000 {
		f := &formula.Formula{Name: fmt.Sprintf("Formula %d", i), Method: formula.Cold, SuperfatPct: 5, FatsG: 1000, Water: formula.Water{Value: 33},
			ScaleDivisionG: quantity.Some(1), Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(99)},
			Fats: []formula.Fat{{ID: "olive-oil", Pct: 50}, {ID: "coconut-oil", Pct: 25}, {ID: "shea-butter", Pct: 15}, {ID: "castor-oil", Pct: 10}}}
		v, err := book.Formulas.New(ctx, studio.Formula{Formula: f, Kept: studio.Kept{Superfat: soap.Superfat{NominalPct: 5, LowPct: 3, HighPct: 7,
			SDPct: 1, Draws: soap.Draws}}}, "")
		if err != nil {
			b.Fatal(err)
		}
		if i == 0 {
			first = v.ID
		}
	}
	h, err := New(Config{Book: book, Config: shell.Config{Studio: func(context.Context) (shell.Card, error) { return shell.Card{Name: "A studio"}, nil }}})
	if err != nil {
		b.Fatal(err)
	}
	srv := httptest.NewServer(h)
	defer srv.Close()
	paths := []string{"/", "/formulas", "/formulas?page=120", "/formulas?q=shea", "/formulas/" + first, "/formulas/" + first + "/versions",
		"/formulas/new", "/formulas/compare?a=" + first + "&b=" + first, "/ingredients", "/ingredients/shea-butter", "/moulds", "/bench", "/studio"}
	var took []time.Duration
	slowest := map[string]time.Duration{}
	b.ResetTimer()
	for b.Loop() {
		tick := time.NewTicker(20 * time.Millisecond)
		for i := range 50 {
			<-tick.C
			t0 := time.Now()
			res, err := http.Get(srv.URL + paths[i%len(paths)])
			if err != nil {
				b.Fatal(err)
			}
			if res.StatusCode != http.StatusOK {
				b.Fatalf("%s answered %d", paths[i%len(paths)], res.StatusCode)
			}
			buf := make([]byte, 64<<10)
			for {
				if _, err := res.Body.Read(buf); err != nil {
					break
				}
			}
			res.Body.Close()
			d := time.Since(t0)
			took = append(took, d)
			slowest[paths[i%len(paths)]] = max(slowest[paths[i%len(paths)]], d)
		}
		tick.Stop()
	}
	slices.Sort(took)
	for _, p := range paths {
		b.Logf("%-60s slowest %v", p, slowest[p])
	}
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
}
