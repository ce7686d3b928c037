// Package roomtest opens rooms of the studio for their tests.
package roomtest

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

// Room is an empty studio, and a room's pages over it, at a time of their own.
func Room(t testing.TB, now time.Time, open ...func(*shell.Shell, *studio.Studio)) (*studio.Studio, http.Handler) {
	t.Helper()
	book := webtest.Book(t, now)
	return book, Serve(t, book, now, open...)
}

// Serve is rooms' pages over a studio.
func Serve(t testing.TB, book *studio.Studio, now time.Time, open ...func(*shell.Shell, *studio.Studio)) http.Handler {
	t.Helper()
	s := Shell(t, now)
	for _, o := range open {
		o(s, book)
	}
	return s.Handler()
}

// Shell is one in which no room is open.
func Shell(t testing.TB, now time.Time) *shell.Shell {
	t.Helper()
	s, err := shell.New(shell.Config{Version: "0.0-test", Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return now },
		Studio: func(context.Context) (shell.Card, error) { return shell.Card{Name: "Quillfen studio", Demo: true}, nil }})
	if err != nil {
		t.Fatal(err)
	}
	return s
}
