package web

import (
	"context"
	"log/slog"
	"net/http"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"barwright/internal/web/shell"
	"barwright/internal/web/webtest"
	"barwright/studio"
)

// shellConfig is a studio with a name and nothing in it.
func shellConfig() Config {
	return Config{Config: shell.Config{
		Version: "0.0-test",
		Studio: func(context.Context) (shell.Card, error) {
			return shell.Card{Name: "Quillfen studio", Demo: true}, nil
		},
		Log: slog.New(slog.DiscardHandler),
	}}
}

// bookServer serves an empty studio on its own file.
func bookServer(t testing.TB) (*studio.Studio, http.Handler) {
	t.Helper()
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	book := todayBook(t, now)
	cfg := shellConfig()
	cfg.Book, cfg.Now = book, func() time.Time { return now }
	return book, newTestServer(t, cfg)
}

func newTestServer(t testing.TB, cfg Config) http.Handler {
	t.Helper()
	s, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The helpers of every test of pages, under the names that the tests in this
// package have for them.
var (
	todayBook = webtest.Book
	ask       = webtest.Ask
	submit    = webtest.Post
	page      = webtest.Page
	flat      = webtest.Flat
	value     = webtest.Value
	lantern   = webtest.Lantern
	pairsForm = webtest.Pairs
)

// What the first page tells an empty studio to do can be done.
func TestTheFirstStepsLeadToPages(t *testing.T) {
	cfg := shellConfig()
	cfg.Book = todayBook(t, time.Date(2026, 11, 24, 12, 0, 0, 0, time.UTC))
	h := newTestServer(t, cfg)
	steps := page(t, ask(t, h, "GET", "/", nil), http.StatusOK).Find(".steps a")
	if steps.Length() != 4 {
		t.Errorf("%d steps lead on, want 4", steps.Length())
	}
	steps.Each(func(_ int, a *goquery.Selection) {
		page(t, ask(t, h, "GET", a.AttrOr("href", ""), nil), http.StatusOK)
	})
}
