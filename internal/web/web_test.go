package web

import (
	"context"
	"log/slog"
	"testing"

	"barwright/internal/web/shell"
	"barwright/internal/web/webtest"
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
	click     = webtest.Click
	do        = webtest.Do
)
