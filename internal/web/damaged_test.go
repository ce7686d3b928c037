package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"barwright/design"
	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/webtest"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

// damaging is a store in which the newest versions of some records, and what was
// asked for of every run, cannot be read.
type damaging struct {
	studio.Store
	names map[string]bool
}

func (d *damaging) Read(ctx context.Context, f func(studio.Reader) error) error {
	return d.Store.Read(ctx, func(r studio.Reader) error { return f(damagedReader{r, d}) })
}

type damagedReader struct {
	studio.Reader
	of *damaging
}

func (r damagedReader) damage(rows []studio.NewestRow) []studio.NewestRow {
	for i := range rows {
		if r.of.names[rows[i].Name] {
			rows[i].Version.Document.Body = []byte(`{"name": "half a docu`)
		}
	}
	return rows
}

func (r damagedReader) RecordPage(ctx context.Context, q studio.RecordQuery) ([]studio.NewestRow, int, error) {
	rows, total, err := r.Reader.RecordPage(ctx, q)
	return r.damage(rows), total, err
}

func (r damagedReader) NewestVersions(ctx context.Context, kind studio.Kind, ids ...string) ([]studio.NewestRow, error) {
	rows, err := r.Reader.NewestVersions(ctx, kind, ids...)
	return r.damage(rows), err
}

func (r damagedReader) RunPage(ctx context.Context, q studio.RunQuery) ([]studio.RunRow, int, error) {
	rows, total, err := r.Reader.RunPage(ctx, q)
	if len(r.of.names) > 0 {
		for i := range rows {
			rows[i].Document.Body = []byte("no JSON")
		}
	}
	return rows, total, err
}

// One document that cannot be read stands in its list as one, and every room works.
func TestADamagedDocumentTakesNoRoomDown(t *testing.T) {
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	d := &damaging{}
	book := webtest.BookOver(t, now, func(s studio.Store) studio.Store { d.Store = s; return d })
	cfg := shellConfig()
	cfg.Book = book
	h, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	ctx := t.Context()
	good, bad := webtest.Kept(t, h, webtest.Lantern("name", "Sound lantern")), webtest.Kept(t, h, webtest.Lantern("name", "Torn lantern"))
	tray := func(name string) string {
		m, err := book.Moulds.New(ctx, mould.Mould{Name: name, Shape: mould.Cuboid, Cavities: 1, Sets: 1,
			Dimensions: mould.Dimensions{LengthMM: quantity.Some(80), WidthMM: quantity.Some(50), DepthMM: quantity.Some(30)}}, "")
		if err != nil {
			t.Fatal(err)
		}
		return m.ID
	}
	goodTray, badTray := tray("Sound tray"), tray("Torn tray")
	piece := func(name, formula, mould string) string {
		v, err := book.Designs.New(ctx, &design.Design{Name: name, Mould: mould, Parts: []design.Part{{Kind: design.Pour,
			Formula: strings.TrimPrefix(formula, "/formulas/"), FillToPct: quantity.Some(100)}}}, "")
		if err != nil {
			t.Fatal(err)
		}
		return "/designs/" + v.ID
	}
	sound := piece("Sound piece", good, goodTray)
	inBad, ofBad := piece("Piece in a torn tray", good, badTray), piece("Piece of a torn lantern", bad, goodTray)
	piece("Torn piece", good, goodTray)
	w := webtest.Post(t, h, "/bench", url.Values{"formula": {strings.TrimPrefix(good, "/formulas/")}, "by": {"kept"}})
	sheet := w.Header().Get("Location")
	if w.Code != http.StatusSeeOther {
		t.Fatalf("a sheet: status %d", w.Code)
	}
	if err := book.Moulds.Archive(ctx, tray("Torn and archived")); err != nil {
		t.Fatal(err)
	}
	d.names = map[string]bool{"Torn lantern": true, "Torn tray": true, "Torn piece": true, "Torn and archived": true}

	for at, want := range map[string]string{
		"/": "formula “Torn lantern” is damaged", "/formulas": "formula “Torn lantern” is damaged", "/moulds": "mould “Torn tray” is damaged",
		"/designs": "design “Torn piece” is damaged", "/moulds?archived=1": "mould “Torn and archived” is damaged",
		ofBad + "/need?pieces=4": "formula “Torn lantern” is damaged", "/bench": "Sound lantern", sheet: "Sound lantern", "/ingredients": "", good: "",
		sound: "Sound piece", sound + "/need?pieces=4": "", inBad: "", ofBad: "", inBad + "/need?pieces=4": "", "/formulas/new": "", "/designs/new": "",
		"/designs/fit": "", "/formulas/compare": "", "/designs/pot": "",
		"/designs/pot?formula=" + strings.TrimPrefix(bad, "/formulas/"): "formula “Torn lantern” is damaged",
	} {
		w := webtest.Ask(t, h, "GET", at, nil)
		refused := strings.Contains(at, "pot?formula=") && w.Code == http.StatusConflict
		if w.Code != http.StatusOK && !refused {
			t.Errorf("%s: status %d", at, w.Code)
			continue
		}
		if got := webtest.Flat(htmlcheck.Page(t, w.Body).Find("main").Text()); !strings.Contains(got, want) {
			t.Errorf("%s does not say %q: %s", at, want, got)
		}
	}
}
