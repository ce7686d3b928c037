package web

import (
	"context"
	"log/slog"
	"net/http"
	"testing"
	"time"

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
	return book, newTestServer(t, cfg).Handler()
}

// keptFormula keeps a formula, with changes in pairs, and gives its address.
func keptFormula(t *testing.T, h http.Handler, change ...string) string {
	t.Helper()
	return webtest.Kept(t, h, lantern(change...))
}

func newTestServer(t testing.TB, cfg Config) *server {
	t.Helper()
	s, err := newServer(cfg)
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
	post      = webtest.Post
	submit    = webtest.Post
	asLive    = webtest.Live
	page      = webtest.Page
	faulty    = webtest.Faulty
	valuesOf  = webtest.ValuesOf
	flat      = webtest.Flat
	value     = webtest.Value
	browser   = webtest.Browser
	becomes   = webtest.Becomes
	settled   = webtest.Settled
	read      = webtest.Read
	do        = webtest.Do
	lantern   = webtest.Lantern
	pairsForm = webtest.Pairs
)
