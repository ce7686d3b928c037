package webtest

import (
	"context"
	"testing"
	"time"

	"barwright/catalogue"
	"barwright/internal/store"
	"barwright/studio"
)

// Book is an empty studio on its own file.
func Book(t testing.TB, now time.Time) *studio.Studio {
	t.Helper()
	return BookOver(t, now, func(s studio.Store) studio.Store { return s })
}

// BookOver is Book, with something between the studio and its file.
func BookOver(t testing.TB, now time.Time, between func(studio.Store) studio.Store) *studio.Studio {
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
	return studio.New(between(records), base, func() time.Time { return now }, studio.NewID)
}
