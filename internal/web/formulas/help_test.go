package formulas

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

// The helpers of every test of pages, under short names.
var (
	ask     = webtest.Ask
	submit  = webtest.Post
	flat    = webtest.Flat
	value   = webtest.Value
	browser = webtest.Browser
	becomes = webtest.Becomes
	settled = webtest.Settled
	click   = webtest.Click
	do      = webtest.Do

	lantern   = webtest.Lantern
	rock      = webtest.Rock
	pairsForm = webtest.Pairs
)

// bookServer serves the formulas of an empty studio on its own file.
func bookServer(t testing.TB) (*studio.Studio, http.Handler) {
	t.Helper()
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	book := webtest.Book(t, now)
	s, err := shell.New(shell.Config{Version: "0.0-test", Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return now },
		Studio: func(context.Context) (shell.Card, error) { return shell.Card{Name: "Quillfen studio", Demo: true}, nil }})
	if err != nil {
		t.Fatal(err)
	}
	Open(s, book)
	return book, s.Handler()
}
