package designs

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"barwright/design"
	"barwright/formula"
	"barwright/internal/web/htmlcheck"
	"barwright/quantity"
	"barwright/studio"
)

// A name may be one long word, and no page is wider for it than the screen.
func TestALongNameWidensNoPage(t *testing.T) {
	ctx := browser(t)
	w := newWorkshop(t)
	name := strings.Repeat("Quillfenlight", 7)
	at := keptFormula(t, w.h, "name", name)
	formula := strings.TrimPrefix(at, "/formulas/")
	d := w.keep(t, w.form("name", name, "mould", w.tower, "part.1.kind", "pour", "part.1.name", name, "part.1.formula", formula, "part.1.amount", "100",
		"part.1.by", "level"))
	srv := httptest.NewServer(w.h)
	t.Cleanup(srv.Close)
	for _, width := range []int64{390, 820} {
		for _, path := range []string{"/formulas", at, at + "/versions", "/formulas/compare?a=" + formula + "&b=" + w.formula, "/designs", "/designs/" + d,
			"/designs/" + d + "/need?pieces=36", "/designs/pot"} {
			do(t, ctx, chromedp.EmulateViewport(width, 844), chromedp.Navigate(srv.URL+path), chromedp.WaitReady("main"))
			settled(t, ctx)
			if got := read(t, ctx, `String(document.documentElement.scrollWidth)`); got != fmt.Sprint(width) {
				t.Errorf("%s is %s px wide on a screen of %d", path, got, width)
			}
		}
	}
}

// many keeps n more formulas and m more designs in a workshop, each design pouring
// the first formula.
func (w *workshop) many(t testing.TB, n, m int) {
	t.Helper()
	for i := range n {
		f := &formula.Formula{Name: fmt.Sprintf("Pebble batter %04d", i), Method: formula.Cold, SuperfatPct: 5, FatsG: 1000, Water: formula.Water{Value: 33},
			Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(99)}, ScaleDivisionG: quantity.Some(1), Fats: []formula.Fat{{ID: "olive-oil", Pct: 100}}}
		if _, err := w.book.Formulas.New(t.Context(), studio.Formula{Formula: f}, ""); err != nil {
			t.Fatal(err)
		}
	}
	for i := range m {
		d := &design.Design{Name: fmt.Sprintf("Pebble %04d", i), Mould: w.tower, Parts: []design.Part{{Kind: design.Pour, Formula: w.formula,
			FillToPct: quantity.Some(100)}}}
		if _, err := w.book.Designs.New(t.Context(), d, ""); err != nil {
			t.Fatal(err)
		}
	}
}

// No list is cut. What a design stands on is there however many came after it.
func TestHundredsOfFormulasAndDesignsHideNone(t *testing.T) {
	w := newWorkshop(t)
	w.many(t, 505, 505)
	d := w.get(t, "/designs/"+w.lighthouse)
	if got := d.Find("main").Text(); strings.Contains(got, "not there any more") {
		t.Error("the lighthouse says of what is living that it is gone")
	}
	if n := d.Find("datalist#formulas option").Length(); n != 506 {
		t.Errorf("%d formulas can be chosen, want 506", n)
	}
	if got := value(d, "part.2.formula"); got != "Storm lantern" {
		t.Errorf("the tower is made of %q", got)
	}
	// As it stands on the page it is kept: the names mean the same records.
	v := valuesOf(d, "#design")
	v.Set("do", "keep")
	v.Set("part.2.amount", "70")
	if r := submit(t, w.h, "/designs/"+w.lighthouse, v); r.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", r.Code, flat(htmlcheck.Page(t, r.Body).Find(".summary").Text()))
	}
	// Another design made in the same run, by a part of its name.
	q := url.Values{"pieces": {"6"}, "also.1.design": {"lamp"}, "also.1.pieces": {"24"}}
	need := page(t, ask(t, w.h, "GET", "/designs/"+w.lighthouse+"/need?"+q.Encode(), nil), http.StatusOK)
	if got := flat(need.Find("#need-work").Text()); !strings.Contains(got, "Lamp") {
		t.Errorf("what they need does not name the lamp: %.300s", got)
	}
	q.Set("also.1.design", "pebble")
	need = page(t, ask(t, w.h, "GET", "/designs/"+w.lighthouse+"/need?"+q.Encode(), nil), http.StatusUnprocessableEntity)
	if got := flat(need.Find(".summary").Text()); !strings.Contains(got, "could be") {
		t.Errorf("a name of many is not asked about: %q", got)
	}
}

// typing is what the editor sends while the maker types in the lighthouse.
func (w *workshop) typing(t testing.TB) url.Values {
	r := ask(t, w.h, "GET", "/designs/"+w.lighthouse, nil)
	v := valuesOf(page(t, r, http.StatusOK), "#design")
	v.Set("part.2.amount", "75")
	return v
}

// compressed asks for an answer as a browser does.
func compressed(r *http.Request) { r.Header.Set("Accept-Encoding", "gzip") }

// A live answer says what follows the typing, and not what could be chosen.
func TestALiveAnswerIsSmallAmongThousands(t *testing.T) {
	w := newWorkshop(t)
	few := submit(t, w.h, "/designs/work", w.typing(t), asLive).Body.Len()
	w.many(t, 300, 300)
	v := w.typing(t)
	if n := submit(t, w.h, "/designs/work", v, asLive).Body.Len(); n > few+1000 {
		t.Errorf("the live answer has %d bytes among hundreds, and %d among few: what could be chosen is in it", n, few)
	}
	answer := submit(t, w.h, "/designs/work", v, asLive, compressed)
	if answer.Code != http.StatusOK || answer.Header().Get("Content-Encoding") != "gzip" {
		t.Fatal(answer.Code, answer.Header())
	}
	if n := answer.Body.Len(); n > 30_000 {
		t.Errorf("a browser is sent %d bytes for a change, want at most 30000", n)
	}
}

// The editor's live answer among 5000 formulas and 2000 designs.
func BenchmarkLiveAnswerAmongThousands(b *testing.B) {
	w := newWorkshop(b)
	w.many(b, 5000, 2000)
	v := w.typing(b)
	var size int
	for b.Loop() {
		r := submit(b, w.h, "/designs/work", v, asLive, compressed)
		if r.Code != http.StatusOK {
			b.Fatal(r.Code)
		}
		size = r.Body.Len()
	}
	b.ReportMetric(float64(size), "B/answer")
}
