package today_test

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"barwright/formula"
	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/roomtest"
	"barwright/internal/web/settings"
	"barwright/internal/web/shell"
	"barwright/internal/web/today"
	"barwright/internal/web/webtest"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// others stands in for the rooms to which the steps lead.
func others(s *shell.Shell, _ *studio.Studio) {
	for _, at := range []string{"/formulas/new", "/moulds", "/moulds/new", "/bench"} {
		s.Handle("GET "+at, func(w http.ResponseWriter, _ *http.Request) error { _, err := w.Write([]byte("here")); return err })
	}
}

func TestTodayInAnEmptyStudioSaysWhatItNeeds(t *testing.T) {
	// 23:30 UTC is the next day in Auckland, by 12 or 13 hours (IANA tzdb).
	now := time.Date(2026, 11, 24, 23, 30, 0, 0, time.UTC)
	book, h := roomtest.Room(t, now, today.Open, settings.Open, others)

	d := htmlcheck.Page(t, webtest.Ask(t, h, "GET", "/", nil).Body)
	if n := d.Find(".steps li").Length(); n == 0 {
		t.Error("an empty studio is told no step")
	}
	if d.Find(".steps a[href='/formulas/new']").Length() != 1 {
		t.Error("no step leads to a first formula")
	}
	d.Find(".steps a").Each(func(_ int, a *goquery.Selection) {
		if w := webtest.Ask(t, h, "GET", a.AttrOr("href", ""), nil); w.Code != http.StatusOK {
			t.Errorf("the step %q leads to status %d", a.Text(), w.Code)
		}
	})

	set := studio.DefaultSettings()
	set.TimeZone = "Pacific/Auckland"
	set.ScaleDivisionG, set.NaOHPurityPct = quantity.Some(0.1), quantity.Some(99)
	if err := book.PutSettings(context.Background(), set); err != nil {
		t.Fatal(err)
	}
	d = htmlcheck.Page(t, webtest.Ask(t, h, "GET", "/", nil).Body)
	if got := d.Find("h1").Text(); got != "Wednesday 25 November 2026" {
		t.Errorf("today is %q", got)
	}
}

func TestTodayShowsTheNewestFormulaAndItsStop(t *testing.T) {
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	book, h := roomtest.Room(t, now, today.Open, settings.Open, others)
	cat, err := book.Catalogue(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	f := &formula.Formula{Name: "Tarred <rope>", Method: formula.Cold, SuperfatPct: 0, FatsG: 1000, Water: formula.Water{Value: 33},
		Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(99)}, ScaleDivisionG: quantity.Some(0.1),
		Fats:   []formula.Fat{{ID: "olive-oil", Pct: 100}},
		Scents: []formula.Scent{{Name: "Tar", DosePct: 5, LimitPct: quantity.Some(1)}}}
	r, err := soap.Work(f, cat)
	if err != nil {
		t.Fatal(err)
	}
	v, err := book.Formulas.New(context.Background(), studio.Formula{Formula: f, Kept: studio.Kept{Superfat: r.Draw(soap.Draws, soap.Seed)}}, "")
	if err != nil {
		t.Fatal(err)
	}
	d := htmlcheck.Page(t, webtest.Ask(t, h, "GET", "/", nil).Body)
	row := d.Find("a.row-name[href='/formulas/" + v.ID + "']")
	if row.Text() != "Tarred <rope>" {
		t.Fatalf("the newest formula is %q", row.Text())
	}
	marks := d.Find("td.marks a.ring")
	if marks.Length() == 0 {
		t.Fatal("no finding beside it")
	}
	if id := marks.First().AttrOr("href", ""); d.Find(id).Length() != 1 {
		t.Errorf("the mark leads to %q, which is not there", id)
	}
	if said := d.Find("#findings").Text(); !strings.Contains(said, "Stop") {
		t.Errorf("a scent at five times its limit is not stopped: %s", said)
	}
}
