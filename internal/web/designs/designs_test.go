package designs

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"
	"github.com/chromedp/chromedp"

	making "barwright/bench"
	"barwright/design"
	"barwright/formula"
	"barwright/internal/web/bench"
	"barwright/internal/web/form"
	"barwright/internal/web/formulas"
	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/roomtest"
	"barwright/internal/web/webtest"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

var (
	ask, submit, page = webtest.Ask, webtest.Post, webtest.Page
	asLive, flat      = webtest.Live, webtest.Flat
	valuesOf, value   = webtest.ValuesOf, webtest.Value
	browser, becomes  = webtest.Browser, webtest.Becomes
	settled, read, do = webtest.Settled, webtest.Read, webtest.Do
)

// bookServer is an empty studio, with the rooms that a design leads from and to.
func bookServer(t testing.TB) (*studio.Studio, http.Handler) {
	return roomtest.Room(t, time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC), formulas.Open, Open, bench.Open)
}

// keptFormula keeps a formula, with changes in pairs of name and value, and gives
// its address.
func keptFormula(t testing.TB, h http.Handler, change ...string) string {
	return webtest.Kept(t, h, webtest.Lantern(change...))
}

// workshop is a studio with what a lighthouse is built of. The formula has two
// portions, sky and sea, the second with a colour.
type workshop struct {
	book                         *studio.Studio
	h                            http.Handler
	formula, tower, round, block string // ids
	lamp, lighthouse             string
}

// aMould puts a mould on the shelf and gives its id.
func aMould(t testing.TB, book *studio.Studio, m mould.Mould) string {
	t.Helper()
	kept, err := book.Moulds.New(context.Background(), m, "")
	if err != nil {
		t.Fatal(err)
	}
	return kept.ID
}

func newWorkshop(t testing.TB) *workshop {
	t.Helper()
	book, h := bookServer(t)
	w := &workshop{book: book, h: h}
	at := keptFormula(t, h, "portion.1.name", "sky", "portion.1.by", "share", "portion.1.amount", "60", "portion.2.name", "sea", "portion.2.by", "rest")
	w.formula = strings.TrimPrefix(at, "/formulas/")
	// 100 ml, 2 × 6 cavities; 10 ml, 24 cavities; a block of 1 l cut into 10.
	w.tower = aMould(t, book, mould.Mould{Name: "Tower", Shape: mould.Cuboid, Cavities: 6, Sets: 2,
		Dimensions: mould.Dimensions{LengthMM: quantity.Some(50), WidthMM: quantity.Some(40), DepthMM: quantity.Some(50)}})
	w.round = aMould(t, book, mould.Mould{Name: "Small cube", Shape: mould.Cuboid, Cavities: 24, Sets: 1,
		Dimensions: mould.Dimensions{LengthMM: quantity.Some(25), WidthMM: quantity.Some(20), DepthMM: quantity.Some(20)}})
	w.block = aMould(t, book, mould.Mould{Name: "Loaf", Shape: mould.Cuboid, Cavities: 1, Sets: 1, Cut: &mould.Cut{Along: 10, Across: 1, Layers: 1},
		Dimensions: mould.Dimensions{LengthMM: quantity.Some(250), WidthMM: quantity.Some(80), DepthMM: quantity.Some(50)}})
	w.lamp = w.keep(t, w.form("name", "Lamp", "mould", w.round, "part.1.kind", "pour", "part.1.formula", w.formula, "part.1.amount", "100",
		"part.1.by", "level"))
	w.lighthouse = w.keep(t, w.tall())
	return w
}

// form is a form with pairs of name and value.
func (w *workshop) form(pairs ...string) url.Values {
	v := url.Values{"do": {"keep"}}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

// tall is the form of the lighthouse, with changes.
func (w *workshop) tall(change ...string) url.Values {
	return w.form(append([]string{"name", "Lighthouse", "mould", w.tower,
		"part.1.kind", "embed", "part.1.design", w.lamp, "part.1.count", "1", "part.1.covered_pct", "100",
		"part.2.kind", "pour", "part.2.name", "tower", "part.2.formula", w.formula, "part.2.portion", "sky", "part.2.amount", "80", "part.2.by", "level",
		"part.2.reminders", "start the camera\n\nput the kettle on",
		"part.3.kind", "topping", "part.3.name", "rock", "part.3.formula", w.formula, "part.3.portion", "sea", "part.3.amount", "100", "part.3.by", "level",
		"part.3.wait.minutes", "2 h", "part.3.wait.until", "skinned over",
		"part.4.kind", "sprinkle", "part.4.item", "sea salt", "part.4.amount", "0.4", "part.4.by", "mass",
		"part.5.kind", "wrap", "part.5.item", "box", "part.5.amount", "1", "part.5.by", "count"}, change...)...)
}

// keep keeps a new design and gives its id.
func (w *workshop) keep(t testing.TB, v url.Values) string {
	t.Helper()
	r := submit(t, w.h, "/designs/new", v)
	if r.Code != http.StatusSeeOther {
		t.Fatalf("not kept: status %d: %s", r.Code, htmlcheck.Page(t, r.Body).Find(".summary, .fault").Text())
	}
	return strings.TrimPrefix(webtest.Led(r), "/designs/")
}

func (w *workshop) get(t testing.TB, path string) *goquery.Document {
	t.Helper()
	return page(t, ask(t, w.h, "GET", path, nil), http.StatusOK)
}

func TestDesignPagesAreSound(t *testing.T) {
	w := newWorkshop(t)
	at := "/designs/" + w.lighthouse
	if r := submit(t, w.h, at, w.tall("part.2.amount", "70", "base", "1", "version_note", "less <b>sky</b>")); r.Code != http.StatusSeeOther {
		t.Fatalf("version 2: status %d: %s", r.Code, r.Body)
	}
	for _, path := range []string{"/designs", "/designs?q=salt", "/designs?q=nothing", "/designs?archived=1", "/designs?page=-3", "/designs/new",
		"/designs/new?mould=" + w.tower,
		at, at + "?v=1", at + "/versions", at + "/versions?from=1&to=2", at + "/need", at + "/need?pieces=36&over=3&have." + w.lamp + "=5",
		at + "/need?pieces=12&do=add",
		"/designs/pot", "/designs/pot?formula=" + w.formula + "&batter=1000&wish.1.design=" + w.lighthouse + "&wish.1.pieces=3",
		"/designs/fit", "/designs/fit?wish.1.design=" + w.lighthouse + "&wish.1.pieces=20&pot=1500&rounds=2"} {
		w.get(t, path)
	}
	for _, path := range []string{at + "?v=9", "/designs/x", "/designs/%00", "/designs/x/need", "/designs/x/versions", "/bench/9999", "/bench/9999-A"} {
		page(t, ask(t, w.h, "GET", path, nil), http.StatusNotFound)
	}
}

func TestADesignIsKeptAsItWasTyped(t *testing.T) {
	w := newWorkshop(t)
	d, err := w.book.Designs.Get(context.Background(), w.lighthouse)
	if err != nil {
		t.Fatal(err)
	}
	p := d.Newest.Doc.Parts
	if len(p) != 5 || p[0].CoveredPct != 100 || p[1].Portion != "sky" || p[1].FillToPct != quantity.Some(80) || len(p[1].Reminders) != 2 ||
		p[2].Wait != (design.Wait{Minutes: quantity.Some(120), Until: "skinned over"}) || p[3].MassG != quantity.Some(0.4) || p[4].Count != quantity.Some(1) {
		t.Errorf("kept as %+v", p)
	}
	doc := w.get(t, "/designs/"+w.lighthouse)
	for name, want := range map[string]string{"part.2.amount": "80", "part.3.wait.minutes": "2 h", "part.3.wait.until": "skinned over",
		"part.4.amount": "0.4", "part.1.covered_pct": "100"} {
		if got := value(doc, name); got != want {
			t.Errorf("%s shows %q, want %q", name, got, want)
		}
	}
	// Kept again as the page shows it, nothing has changed.
	v := valuesOf(doc, "#design")
	v.Set("version_note", "looked at again")
	v.Set("do", "keep")
	if r := submit(t, w.h, "/designs/"+w.lighthouse, v); r.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", r.Code, page(t, r, r.Code).Find(".summary").Text())
	}
	again, err := w.book.Designs.Get(context.Background(), w.lighthouse)
	if err != nil {
		t.Fatal(err)
	}
	if c := design.Diff(d.Newest.Doc, again.Newest.Doc, design.Face{}); again.Newest.N != 2 || len(c) > 0 {
		t.Errorf("version %d differs: %+v", again.Newest.N, c)
	}
}

func TestLessFillMovesLevelsMassesAndDrawing(t *testing.T) {
	w := newWorkshop(t)
	row := func(fill string) (levels, masses []string, picture string) {
		v := w.tall("part.2.amount", fill, "id", w.lighthouse)
		v.Del("do")
		r := submit(t, w.h, "/designs/work", v, asLive)
		if r.Code != http.StatusOK {
			t.Fatalf("status %d: %s", r.Code, r.Body)
		}
		doc := htmlcheck.Fragment(t, r.Body)
		doc.Find(".stack-table tbody tr").Each(func(_ int, s *goquery.Selection) {
			levels = append(levels, flat(s.Find("td.number").Eq(0).Text()))
			masses = append(masses, flat(s.Find("td.number").Eq(2).Text()))
		})
		picture, _ = doc.Find(".cut-wide svg path.layer").First().Attr("d")
		return levels, masses, picture
	}
	l80, m80, p80 := row("80")
	l70, m70, p70 := row("70")
	if len(l80) != 5 || l80[1] != "0 to 80" || l80[2] != "80 to 100" || l70[1] != "0 to 70" || l70[2] != "70 to 100" {
		t.Errorf("levels %q and %q", l80, l70)
	}
	if m80[1] == m70[1] || m80[2] == m70[2] || m80[0] != m70[0] {
		t.Errorf("masses %q and %q: pour and topping move, the lamp does not", m80, m70)
	}
	if p80 == "" || p80 == p70 {
		t.Errorf("the drawing stays: %q", p80)
	}
	need := func(fill string) string {
		if r := submit(t, w.h, "/designs/"+w.lighthouse, w.tall("part.2.amount", fill, "base", map[string]string{"80": "1",
			"70": "1"}[fill])); fill == "70" && r.Code != http.StatusSeeOther {
			t.Fatalf("status %d", r.Code)
		}
		return flat(w.get(t, "/designs/"+w.lighthouse+"/need?pieces=36").Find("ol.pours").Text())
	}
	before := flat(w.get(t, "/designs/"+w.lighthouse+"/need?pieces=36").Find("ol.pours").Text())
	if after := need("70"); before == after || !strings.Contains(after, "to 70 % of the cavity") {
		t.Errorf("what 36 need says %q, and said %q", after, before)
	}
}

func TestARefusedDesignSaysWhereAndKeepsNothing(t *testing.T) {
	w := newWorkshop(t)
	many := w.tall()
	for i := range 120 {
		many.Set(fmt.Sprintf("part.%d.kind", i+10), "sprinkle")
		many.Set(fmt.Sprintf("part.%d.item", i+10), "bead")
	}
	tests := []struct {
		what, field, says string
		v                 url.Values
	}{
		{"no name", "name", "no name", w.tall("name", " ")},
		{"no mould", "mould", "mould", w.tall("name", "A", "mould", "")},
		{"an unknown mould", "mould", "no mould called", w.tall("name", "A", "mould", "x")},
		{"no parts", "", "no parts", w.form("name", "A", "mould", w.tower, "part.1.kind", "pour")},
		{"no formula", "part.2.formula", "give its formula", w.tall("name", "A", "part.2.formula", "")},
		{"no amount", "part.2.amount", "give its level, volume or mass", w.tall("name", "A", "part.2.amount", "")},
		{"a level below nothing", "part.2.amount", "cannot fill the cavity", w.tall("name", "A", "part.2.amount", "-5")},
		{"an amount in words", "part.2.amount", "", w.tall("name", "A", "part.2.amount", "plenty")},
		{"half an embed", "part.1.count", "whole number", w.tall("name", "A", "part.1.count", "0.5")},
		{"no embed", "part.1.design", "give its design", w.tall("name", "A", "part.1.design", "")},
		{"sunk and covered over 100", "part.1.covered_pct", "come to 160", w.tall("name", "A", "part.1.sunk_pct", "60")},
		{"a portion that is not there", "part.2.portion", "no portion called", w.tall("name", "A", "part.2.portion", "fire")},
		{"a wait in words", "part.3.wait.minutes", "no wait", w.tall("name", "A", "part.3.wait.minutes", "a while")},
		{"a name that is taken", "name", "already", w.tall()},
		{"too many parts", "", "", many},
	}
	for _, tt := range tests {
		t.Run(tt.what, func(t *testing.T) {
			r := submit(t, w.h, "/designs/new", tt.v)
			if r.Code != http.StatusUnprocessableEntity && r.Code != http.StatusConflict {
				t.Fatalf("status %d", r.Code)
			}
			doc := htmlcheck.Page(t, r.Body)
			said := flat(doc.Find(".summary").Text())
			if !strings.Contains(strings.ToLower(said), strings.ToLower(tt.says)) {
				t.Errorf("says %q, want %q in it", said, tt.says)
			}
			for _, word := range []string{"fill_to_pct", "volume_ml", "mass_g", "_pct"} {
				if strings.Contains(said, word) {
					t.Errorf("says %q, which is a word of files", said)
				}
			}
			if tt.field != "" && doc.Find(`[id="`+tt.field+`-fault"]`).Length() != 1 {
				t.Errorf("no fault stands at %s: %s", tt.field, said)
			}
			if got := value(doc, "name"); got != strings.TrimSpace(tt.v.Get("name")) && strings.TrimSpace(got) != "" {
				t.Errorf("the name typed was lost: %q", got)
			}
		})
	}
	got, err := w.book.Designs.List(context.Background(), "", studio.Slice{})
	if err != nil || got.Total != 2 {
		t.Errorf("%d designs, %v: want the two there were", got.Total, err)
	}
}

func TestADesignIsNotMadeOfItself(t *testing.T) {
	w := newWorkshop(t)
	v := w.form("name", "Lamp", "mould", w.round, "base", "1", "part.1.kind", "embed", "part.1.design", w.lighthouse, "part.1.count", "1")
	r := submit(t, w.h, "/designs/"+w.lamp, v)
	doc := page(t, r, http.StatusUnprocessableEntity)
	if said := flat(doc.Find(`[id="part.1.design-fault"]`).Text()); !strings.Contains(said, "made of itself") {
		t.Errorf("says %q", said)
	}
	// While it is typed the page says so too, and nothing is drawn.
	v.Set("id", w.lamp)
	v.Del("do")
	live := htmlcheck.Fragment(t, submit(t, w.h, "/designs/work", v, asLive).Body)
	if said := flat(live.Find("#work").Text()); !strings.Contains(said, "into itself") || live.Find("#work svg").Length() > 0 {
		t.Errorf("while typing: %q", said)
	}
}

func TestWhatCannotBeBuiltIsStopped(t *testing.T) {
	w := newWorkshop(t)
	tests := []struct {
		what, rule, missing string
		change              []string
	}{
		{"over 100 %", "cavity-over-full", "", []string{"part.3.amount", "110"}},
		{"a level that falls", "level-falls", "until then: rock of a level that falls.", []string{"part.3.amount", "60"}},
		{"an embed larger than its cavity", "embed-too-large", "until then: tower of an embed larger than its cavity, ", []string{"mould", w.round,
			"part.1.count", "1", "part.1.design", w.lighthouse}},
	}
	for _, tt := range tests {
		t.Run(tt.what, func(t *testing.T) {
			id := w.keep(t, w.tall(append(tt.change, "name", tt.what)...))
			doc := w.get(t, "/designs/"+id)
			if got := doc.Find(".findings .word-stop").Length(); got == 0 || !strings.Contains(doc.Find(".findings").Text(), tt.rule) {
				t.Errorf("the editor does not stop: %s", flat(doc.Find(".findings").Text()))
			}
			need := w.get(t, "/designs/"+id+"/need?pieces=6")
			if need.Find(".need-stop").Length() != 1 || need.Find("button[value=make]").Length() != 0 {
				t.Error("what six need lets it go to the bench")
			}
			need.Find(".pours .pour-what b, .ledger td.number").Each(func(_ int, s *goquery.Selection) {
				if said := strings.TrimSpace(strings.TrimSuffix(flat(s.Text()), "each")); regexp.MustCompile(`^0(\.0+)?( g)?$`).MatchString(said) {
					t.Errorf("a step or a row of nothing: %s", flat(s.Parent().Text()))
				}
			})
			if got := flat(need.Find(".need-stop .need-missing").Text()); (got != "") != (tt.missing != "") || !strings.Contains(got, tt.missing) {
				t.Errorf("left out: %q, want %q", got, tt.missing)
			}
			v := url.Values{"pieces": {"6"}, "do": {"make"}}
			r := submit(t, w.h, "/designs/"+id+"/need", v)
			if doc := page(t, r, http.StatusUnprocessableEntity); !strings.Contains(doc.Find(".summary").Text(), "cannot be built") {
				t.Errorf("a sheet was made all the same: %s", flat(doc.Find(".summary").Text()))
			}
		})
	}
	runs, err := w.book.Runs(context.Background(), studio.RunsOf{}, studio.Slice{})
	if err != nil || runs.Total != 0 {
		t.Errorf("%d runs, %v", runs.Total, err)
	}
}

func TestPartsMoveAndGoWithoutAModule(t *testing.T) {
	w := newWorkshop(t)
	press := func(v url.Values, do string) *goquery.Document {
		t.Helper()
		v.Set("do", do)
		return page(t, submit(t, w.h, "/designs/"+w.lighthouse, v), http.StatusOK)
	}
	names := func(doc *goquery.Document) string {
		var out []string
		doc.Find("#parts-list > li").Each(func(_ int, s *goquery.Selection) {
			k, _ := s.Find("select option[selected]").First().Attr("value")
			n, _ := s.Find(".part-name input").Attr("value")
			out = append(out, k+":"+n)
		})
		return strings.Join(out, " ")
	}
	const start = "embed: pour:tower topping:rock sprinkle: wrap:"
	doc := press(w.tall(), "down part.2")
	if got := names(doc); got != "embed: topping:rock pour:tower sprinkle: wrap:" {
		t.Errorf("tower moved down: %s", got)
	}
	v := valuesOf(doc, "#design")
	if v.Get("part.2.wait.minutes") != "2 h" || v.Get("part.3.portion") != "sky" {
		t.Errorf("what belongs to a part did not move with it: %v", v)
	}
	doc = press(v, "up part.3")
	if got := names(doc); got != start {
		t.Errorf("and up again: %s", got)
	}
	for _, edge := range []string{"up part.1", "down part.5", "up part.99", "up part.x", "sideways part.2"} {
		if got := names(press(w.tall(), edge)); got != start {
			t.Errorf("%s: %s", edge, got)
		}
	}
	if got := names(press(w.tall(), "remove part.2")); got != "embed: topping:rock sprinkle: wrap:" {
		t.Errorf("taken away: %s", got)
	}
	if got := names(press(w.tall(), "add-part")); got != start+" pour:" {
		t.Errorf("added: %s", got)
	}
	// Pressed in a live form, the list alone comes back, and the moved part has the focus.
	live := w.tall("do", "up part.3", "id", w.lighthouse)
	d := htmlcheck.Fragment(t, submit(t, w.h, "/designs/work", live, asLive).Body)
	if got := names(d); got != "embed: topping:rock pour:tower sprinkle: wrap:" || d.Find(".part").Eq(1).Find("[data-focus]").Length() != 1 {
		t.Errorf("moved in place: %s", got)
	}
}

func TestADesignFollowsTheTyping(t *testing.T) {
	ctx := browser(t)
	w := newWorkshop(t)
	srv := httptest.NewServer(w.h)
	t.Cleanup(srv.Close)
	row := func(n int) string {
		return `document.querySelectorAll('.stack-table tbody tr')[` + strconv.Itoa(n) + `]?.innerText.replace(/\s+/g, ' ')`
	}
	// By the key, not by the place: under load the page may still be scrolling.
	press := func(sel string) {
		t.Helper()
		do(t, ctx, chromedp.Evaluate[chromedp.Void](`void ((e) => { e.focus(); e.click(); })(document.querySelector("`+sel+`"))`))
	}
	do(t, ctx, chromedp.Navigate(srv.URL+"/designs/"+w.lighthouse), chromedp.WaitVisible("[name='part.2.amount']"))
	settled(t, ctx)
	do(t, ctx,
		chromedp.Evaluate[chromedp.Void](`void (window.stayed = true, window.before = document.querySelector('.cut-wide path.layer').getAttribute('d'))`))

	do(t, ctx, chromedp.Evaluate[chromedp.Void](`void document.getElementsByName('part.2.amount')[0].select()`),
		chromedp.SendKeys("[name='part.2.amount']", "70"))
	becomes(t, ctx, "the levels follow", row(1)+`?.includes('0 to 70') && `+row(2)+`?.includes('70 to 100')`)
	becomes(t, ctx, "and the drawing", `document.querySelector('.cut-wide path.layer').getAttribute('d') !== window.before`)
	becomes(t, ctx, "the caret stays in what was typed", `document.activeElement.name === 'part.2.amount' && document.activeElement.value === '70'`)

	press("[value='down part.2']")
	becomes(t, ctx, "a part moves in place, and keeps the focus",
		`document.getElementsByName('part.3.name')[0].value === 'tower' && document.activeElement.value === 'down part.3'`)
	press("[value='up part.3']")
	becomes(t, ctx, "and back again", `document.getElementsByName('part.2.name')[0].value === 'tower' && `+row(1)+`?.includes('0 to 70')`)

	// Twice before the first answer: it goes two places up or down, and what is
	// typed meanwhile counts.
	settled(t, ctx)
	name := func(n int) string {
		return read(t, ctx, `document.getElementsByName('part.`+strconv.Itoa(n)+`.name')[0].value`)
	}
	first, second := name(4), name(3)
	do(t, ctx, chromedp.Evaluate[chromedp.Void](`void ((e) => { e.focus(); e.click(); e.click(); })(document.querySelector("[value='up part.4']"))`))
	settled(t, ctx)
	if got := name(2); got != first {
		t.Errorf("two presses bring part 4, %q, not to place 2, where %q is", first, got)
	}
	do(t, ctx, chromedp.Evaluate[chromedp.Void](`void ((e) => { e.focus(); e.click(); e.click(); })(document.querySelector("[value='down part.2']"))`))
	settled(t, ctx)
	if got := []string{name(3), name(4)}; got[0] != second || got[1] != first {
		t.Errorf("and back again they are %q", got)
	}
	do(t, ctx,
		chromedp.Evaluate[chromedp.Void](`void ((k, e) => { k.click(); e.value = 'Quay'; e.dispatchEvent(new Event('input', { bubbles: true })); })(document.querySelector("[value='down part.2']"), document.getElementsByName('name')[0])`))
	settled(t, ctx)
	if got := name(3); got != "tower" {
		t.Errorf("typing takes a press back: part 3 is %q", got)
	}
	press("[value='up part.3']")
	becomes(t, ctx, "the tower is back", `document.getElementsByName('part.2.name')[0].value === 'tower'`)

	press("[data-rows-add]")
	becomes(t, ctx, "a part is added and has the focus", `document.activeElement.name === 'part.6.kind'`)
	do(t, ctx,
		chromedp.Evaluate[chromedp.Void](`void ((e) => { e.value = 'sprinkle'; e.dispatchEvent(new Event('change', { bubbles: true })); })(document.getElementsByName('part.6.kind')[0])`))
	becomes(t, ctx, "its kind has its fields",
		`document.getElementsByName('part.6.item').length === 1 && document.getElementsByName('part.6.formula').length === 0`)
	do(t, ctx, chromedp.SendKeys("[name='part.6.item']", "beads"), chromedp.SendKeys("[name='part.6.amount']", "2"))
	becomes(t, ctx, "and it is worked out", row(5)+`?.includes('beads')`)
	press("[value='remove part.6']")
	becomes(t, ctx, "taken away it is gone",
		`document.querySelectorAll('.part').length === 5 && document.querySelectorAll('.stack-table tbody tr').length === 5`)
	becomes(t, ctx, "all that on one page", `window.stayed === true`)
}

func TestAChangeOfKindLosesNothing(t *testing.T) {
	w := newWorkshop(t)
	v := w.tall("part.2.kind", "sprinkle", "do", "work")
	doc := page(t, submit(t, w.h, "/designs/"+w.lighthouse, v), http.StatusOK)
	back := valuesOf(doc, "#design")
	if back.Get("part.2.formula") != w.formula || back.Get("part.2.portion") != "sky" {
		t.Errorf("what was typed for a pour is gone: %v", back)
	}
	if doc.Find(`select[name="part.2.formula"]`).Length() != 0 || doc.Find(`input[name="part.2.item"]`).Length() != 1 {
		t.Error("a sprinkle asks for an item, and for no formula")
	}
}

// A band or a bag is counted, a sprinkle weighed, unless the maker says otherwise.
func TestAWrapIsCountedAndASprinkleIsWeighed(t *testing.T) {
	w := newWorkshop(t)
	for kind, want := range map[string]string{"wrap": "count", "sprinkle": "mass"} {
		doc := page(t, submit(t, w.h, "/designs/"+w.lighthouse, w.tall("part.2.kind", kind, "do", "work")), http.StatusOK)
		if got := valuesOf(doc, "#design").Get("part.2.by"); got != want {
			t.Errorf("a new %s is given by %q, want %q", kind, got, want)
		}
	}
}

func TestAFaceChangesNoDesign(t *testing.T) {
	w := newWorkshop(t)
	set, err := w.book.Settings(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	set.Mass, set.Volume = quantity.Ounce, quantity.USFluidOunce
	if err := w.book.PutSettings(context.Background(), set); err != nil {
		t.Fatal(err)
	}
	id := w.keep(t, w.tall("name", "Ounces", "part.4.amount", "0.1", "part.3.by", "volume", "part.3.amount", "0.6"))
	before, err := w.book.Designs.Get(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	v := valuesOf(w.get(t, "/designs/"+id), "#design")
	v.Set("do", "keep")
	v.Set("version_note", "looked at in ounces")
	if r := submit(t, w.h, "/designs/"+id, v); r.Code != http.StatusSeeOther {
		t.Fatalf("status %d", r.Code)
	}
	after, err := w.book.Designs.Get(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range after.Newest.Doc.Parts {
		q := before.Newest.Doc.Parts[i]
		if p.MassG != q.MassG || p.VolumeML != q.VolumeML {
			t.Errorf("part %d: %v g, %v ml; was %v, %v", i+1, p.MassG, p.VolumeML, q.MassG, q.VolumeML)
		}
	}
}

func TestVersionsOfADesignSayWhatChanged(t *testing.T) {
	w := newWorkshop(t)
	at := "/designs/" + w.lighthouse
	if r := submit(t, w.h, at, w.tall("part.2.amount", "70", "base", "1")); r.Code != http.StatusSeeOther {
		t.Fatalf("status %d", r.Code)
	}
	doc := w.get(t, at+"/versions")
	if got := flat(doc.Find(".recto table").Text()); !strings.Contains(got, "tower, amount") || !strings.Contains(got,
		"to 80 %") || !strings.Contains(got, "to 70 %") {
		t.Errorf("changes: %q", got)
	}
	// Kept on an old version, it is a conflict, and what was typed is there still.
	r := submit(t, w.h, at, w.tall("part.2.amount", "55", "base", "1"))
	if doc := page(t, r, http.StatusConflict); value(doc, "part.2.amount") != "55" {
		t.Error("what was typed is lost")
	}
	r = submit(t, w.h, at+"/duplicate", url.Values{"name": {"Lighthouse, small"}})
	if r.Code != http.StatusSeeOther {
		t.Fatalf("copied: status %d", r.Code)
	}
	copied := r.Header().Get("Location")
	for _, act := range []string{"/archive", "/bring-back"} {
		if r := submit(t, w.h, copied+act, nil); r.Code != http.StatusSeeOther {
			t.Errorf("%s: status %d", act, r.Code)
		}
	}
	// The lamp is built in: it is not put away from under the lighthouse.
	if r := submit(t, w.h, "/designs/"+w.lamp+"/archive", nil); r.Code != http.StatusConflict || !strings.Contains(r.Body.String(), "Lighthouse") {
		t.Errorf("put away from under the lighthouse: status %d", r.Code)
	}
}

func TestWhatSoManyNeedReadsInTheOrderOfTheWork(t *testing.T) {
	w := newWorkshop(t)
	doc := w.get(t, "/designs/"+w.lighthouse+"/need?pieces=36&over=5&have."+w.lamp+"=6")
	var heads []string
	doc.Find("#need-work h2").Each(func(_ int, s *goquery.Selection) {
		if !s.HasClass("unseen") {
			heads = append(heads, strings.TrimSpace(s.Contents().First().Text()))
		}
	})
	if got := strings.Join(heads, " | "); !strings.HasPrefix(got, "Cast first | Make | Into vessels | In this order | Moulds | Sprinkled and packed") {
		t.Errorf("order: %s", got)
	}
	text := flat(doc.Find("#need-work").Text())
	for _, want := range []string{"36 for Lighthouse, 6 at hand", "30 cavities of Small cube", "Pour Storm lantern, sky into 36 cavities of Tower",
		"First wait 2 h, until skinned over", "start the camera", "Strew sea salt onto 36 cavities", "14.4 g", "Pack in box, 36 pieces"} {
		if !strings.Contains(text, want) {
			t.Errorf("does not say %q in: %s", want, text)
		}
	}
	// 36 of 12 cavities: three rounds.
	if got := flat(doc.Find("#moulds-title").Parent().Find("tbody tr").Last().Text()); !strings.HasSuffix(got, "36123") {
		t.Errorf("moulds: %q", got)
	}
	// The batch is its parts, what is beyond, and what stays: as the sums have it.
	g, err := w.book.Gather(context.Background(), nil, w.lighthouse)
	if err != nil {
		t.Fatal(err)
	}
	n, err := design.Explode(g.Set, []design.Want{{Design: w.lighthouse, Pieces: 36}}, design.Options{OveragePct: 5, Stock: map[string]int{w.lamp: 6}})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := flat(doc.Find("#weigh-title").Parent().Find("tfoot .total").Text()), flat(quantity.MassNumber(n.Batches[0].MassG, quantity.Gram,
		0.1)); got != want || len(n.Batches) != 1 {
		t.Errorf("in all %s, want %s of %d batches", got, want, len(n.Batches))
	}
}

func TestBadQuestionsOfWhatSoManyNeed(t *testing.T) {
	w := newWorkshop(t)
	at := "/designs/" + w.lighthouse + "/need?"
	for q, field := range map[string]string{"pieces=0": "pieces", "pieces=": "pieces", "pieces=-3": "pieces", "pieces=2.5": "pieces",
		"pieces=many": "pieces", "pieces=1e9": "pieces",
		"pieces=3&over=101": "over", "pieces=3&over=-1": "over", "pieces=3&over=x": "over", "pieces=3&have." + w.lamp + "=1.5": "have." + w.lamp,
		"pieces=3&also.1.design=&also.1.pieces=4": "also.1.design", "pieces=3&also.1.design=x&also.1.pieces=4": "also.1.design",
		"pieces=3&also.1.design=" + w.lamp + "&also.1.pieces=": "also.1.pieces"} {
		doc := page(t, ask(t, w.h, "GET", at+q, nil), http.StatusUnprocessableEntity)
		if doc.Find(`[id="`+field+`-fault"]`).Length() != 1 {
			t.Errorf("%s: no fault at %s: %s", q, field, flat(doc.Find("main").Text()))
		}
		if doc.Find("button[value=make]").Length() != 0 {
			t.Errorf("%s: the bench is offered", q)
		}
	}
}

// A row that was added and left empty asks for nothing.
func TestAnEmptyRowOfDesignsIsNoFault(t *testing.T) {
	w := newWorkshop(t)
	doc := w.get(t, "/designs/"+w.lighthouse+"/need?pieces=3&also.1.design=&also.1.pieces=")
	if doc.Find(".summary, .fault").Length() > 0 || doc.Find("button[value=make]").Length() != 1 {
		t.Errorf("says %s", flat(doc.Find(".summary").Text()))
	}
	doc = w.get(t, "/designs/fit?pot=1400&wish.1.design=&wish.1.pieces=")
	if got := flat(doc.Find("#fit-work").Text()); !strings.Contains(got, "Say which designs are wished for") {
		t.Errorf("says %q", got)
	}
}

// A fault of the rules stands at the field of the row that it is about, whatever
// rows are empty, and names no key of files.
func TestAFaultOfAPartStandsInItsRow(t *testing.T) {
	w := newWorkshop(t)
	v := w.form("name", "Gaps", "mould", w.tower, "part.2.kind", "pour", "part.5.kind", "sprinkle", "part.5.item", "salt", "part.5.by", "count",
		"part.5.amount", "0.5",
		"part.7.kind", "wrap", "part.7.item", "box", "part.7.wait.minutes", "100 d")
	doc := page(t, submit(t, w.h, "/designs/new", v), http.StatusUnprocessableEntity)
	for field, want := range map[string]string{"part.5.amount": "0.5 cannot be counted out", "part.7.amount": "give its mass or number",
		"part.7.wait.minutes": "A wait cannot be"} {
		if got := flat(doc.Find(`[id="` + field + `-fault"]`).Text()); !strings.Contains(got, want) {
			t.Errorf("at %s stands %q, want %q in it", field, got, want)
		}
	}
	if got := flat(doc.Find(".summary").Text()); !strings.Contains(got, "Part 2, how much: 0.5 cannot") || !strings.Contains(got, "Part 3, wait before it") {
		t.Errorf("the summary says %q", got)
	}
}

func TestASheetIsMadeOnce(t *testing.T) {
	w := newWorkshop(t)
	doc := w.get(t, "/designs/"+w.lighthouse+"/need?pieces=12&over=3")
	v := valuesOf(doc, "#need")
	v.Set("do", "make")
	take := func() string {
		t.Helper()
		r := submit(t, w.h, "/designs/"+w.lighthouse+"/need", v)
		if r.Code != http.StatusSeeOther {
			t.Fatalf("status %d: %s", r.Code, page(t, r, r.Code).Find(".summary").Text())
		}
		return r.Header().Get("Location")
	}
	at := take()
	if again := take(); again != at {
		t.Errorf("the same form twice: %s and %s", at, again)
	}
	v.Set("pieces", "6")
	other := take()
	if other == at {
		t.Error("another number of pieces is another run")
	}
	// A new version of the design, and each form once more: the runs are there already.
	rec, err := w.book.Designs.Get(t.Context(), w.lighthouse)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.book.Designs.Keep(t.Context(), w.lighthouse, rec.Newest.N, rec.Newest.Doc, "looked at again"); err != nil {
		t.Fatal(err)
	}
	if again := take(); again != other {
		t.Errorf("the changed form twice: %s and %s", other, again)
	}
	v.Set("pieces", "12")
	if again := take(); again != at {
		t.Errorf("the first form after the second: %s and %s", at, again)
	}
	code := strings.TrimPrefix(at, "/bench/")
	run := w.get(t, at)
	text := flat(run.Find("main").Text())
	for _, want := range []string{"12 × Lighthouse", code + "-A", "start the camera", "Sea salt", "Before you open the lye"} {
		if !strings.Contains(text, want) {
			t.Errorf("the run does not say %q", want)
		}
	}
	batch := w.get(t, at+"-A")
	if got := flat(batch.Find(".batch-code").Text()); !strings.Contains(got, code+"-A") || batch.Find(".sheet-lines").Length() == 0 {
		t.Errorf("the sheet of batch A: %q", got)
	}
	page(t, ask(t, w.h, "GET", at+"-Z", nil), http.StatusNotFound)
	pdf := ask(t, w.h, "GET", at+"/sheet.pdf", nil)
	if pdf.Code != http.StatusOK || !strings.HasPrefix(pdf.Body.String(), "%PDF-") || pdf.Header().Get("Content-Type") != "application/pdf" {
		t.Errorf("on paper: status %d, %s", pdf.Code, pdf.Header().Get("Content-Type"))
	}
	// Each sheet has the superfat of its own size, drawn anew.
	kept, err := w.book.Run(t.Context(), code)
	if err != nil {
		t.Fatal(err)
	}
	var made making.Run
	if err := json.Unmarshal(kept.Working, &made); err != nil || len(made.Batches) == 0 {
		t.Fatalf("%d batches, %v", len(made.Batches), err)
	}
	for _, b := range made.Batches {
		if b.Lye && b.Sheet.Superfat.Draws != soap.Draws {
			t.Errorf("the superfat of batch %s was drawn %d times, want %d", b.Letter, b.Sheet.Superfat.Draws, soap.Draws)
		}
	}
	// The list has sheets and runs of one sequence.
	list := w.get(t, "/bench")
	if got := flat(list.Find(".recto tbody").Text()); !strings.Contains(got, "12 × Lighthouse") || !strings.Contains(got, "6 × Lighthouse") {
		t.Errorf("the bench lists %q", got)
	}
}

// A piece weighs less when it is sold: what the cure leaves of it stands beside what
// was poured.
func TestAPieceIsLighterWhenItIsSold(t *testing.T) {
	w := newWorkshop(t)
	g, err := w.book.Gather(t.Context(), nil, w.lamp)
	if err != nil {
		t.Fatal(err)
	}
	_, piece, err := design.One(g.Set, w.lamp, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !(piece.SoldG < 0.97*piece.PieceG) { // a third of a 33 % lye's water at least, and water is a fifth of it
		t.Fatalf("%g g as poured, %g g when sold", piece.PieceG, piece.SoldG)
	}
	text := flat(w.get(t, "/designs/"+w.lamp).Find(".figures").Text())
	for label, g := range map[string]float64{"a piece as poured": piece.PieceG, "when sold, about": piece.SoldG} {
		if !strings.Contains(text, label+flat(quantity.Mass(g, quantity.Gram, 0.1))) {
			t.Errorf("%s: %.2f g; the figures are %q", label, g, text)
		}
	}
}

// Hot melt burns as lye does: a run of melts alone says whom to call, too.
func TestARunOfMeltsSaysWhomToCall(t *testing.T) {
	w := newWorkshop(t)
	set := studio.DefaultSettings()
	set.Emergency = "Ring the harbour office"
	if err := w.book.PutSettings(t.Context(), set); err != nil {
		t.Fatal(err)
	}
	melt, err := w.book.Formulas.New(t.Context(), studio.Formula{Formula: &formula.Formula{Name: "Lamp glow", Method: formula.Melt, FatsG: 800,
		PourC: quantity.Some(55),
		Bases: []formula.Base{{Name: "Clear base", Pct: 100, MaxMeltC: quantity.Some(75)}}}}, "")
	if err != nil {
		t.Fatal(err)
	}
	id := w.keep(t, w.form("name", "Bead", "mould", w.round, "part.1.kind", "pour", "part.1.formula", melt.ID, "part.1.amount", "100", "part.1.by", "level"))
	r := submit(t, w.h, "/designs/"+id+"/need", url.Values{"pieces": {"24"}, "do": {"make"}})
	if r.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", r.Code, page(t, r, r.Code).Find(".summary").Text())
	}
	if got := flat(w.get(t, r.Header().Get("Location")).Find(".caution").First().Text()); !strings.Contains(got,
		"Before you melt.") || !strings.Contains(got, "Ring the harbour office") {
		t.Errorf("above the melt stands %q", got)
	}
}

func TestAPotGoesForwardToPieces(t *testing.T) {
	w := newWorkshop(t)
	g, err := w.book.Gather(context.Background(), nil, w.lighthouse)
	if err != nil {
		t.Fatal(err)
	}
	n, err := design.Explode(g.Set, []design.Want{{Design: w.lighthouse, Pieces: 7}}, design.Options{})
	if err != nil {
		t.Fatal(err)
	}
	// What seven need, and half a piece more, fills seven.
	grams := n.Batches[0].MassG * 7.5 / 7
	path := fmt.Sprintf("/designs/pot?formula=%s&batter=%.2f", w.formula, grams)
	doc := w.get(t, path)
	found := false
	doc.Find("#each-title").Parent().Find("tbody tr").Each(func(_ int, s *goquery.Selection) {
		if strings.Contains(s.Text(), "Lighthouse") {
			found = true
			if got := flat(s.Find("td.number").Text()); got != "7" {
				t.Errorf("fills %s lighthouses, want 7", got)
			}
		}
	})
	if !found {
		t.Error("the lighthouse is not offered")
	}
	doc = w.get(t, path+"&wish.1.design="+w.lighthouse+"&wish.1.pieces=5&wish.2.design="+w.lamp+"&wish.2.pieces=1")
	var made []string
	doc.Find("#made-title").Parent().Find("tbody td.number").Each(func(_ int, s *goquery.Selection) { made = append(made, flat(s.Text())) })
	if strings.Join(made, " ") != "5 1" {
		t.Errorf("made %v, want 5 and 1", made)
	}
	if doc.Find("#left-title").Parent().Find("tbody tr").Length() == 0 {
		t.Error("no mould would take the rest")
	}
	for q, field := range map[string]string{"formula=x&batter=3": "formula", "batter=0&formula=" + w.formula: "batter",
		"batter=x&formula=" + w.formula: "batter", "over=200": "over",
		"wish.1.design=" + w.lamp + "&wish.1.pieces=0": "wish.1.pieces", "wish.1.design=x&wish.1.pieces=2": "wish.1.design"} {
		if doc := page(t, ask(t, w.h, "GET", "/designs/pot?"+q, nil), http.StatusUnprocessableEntity); doc.Find(`[id="`+field+`-fault"]`).Length() != 1 {
			t.Errorf("%s: no fault at %s", q, field)
		}
	}
}

// The studio's overage stands in the pot's form from the start, as on the pages
// that go the other way: what fills 12 there must fill 12 here.
// An empty form that is sent comes back as every other does; a page that was only
// opened, or gets another row, waits.
func TestAnEmptyQuestionSaysWhatItNeeds(t *testing.T) {
	w := newWorkshop(t)
	for path, fields := range map[string][]string{
		"/designs/pot?formula=&batter=&over=":                   {"formula", "batter"},
		"/designs/fit?wish.1.design=&wish.1.pieces=&pot=&over=": {"wish.1.design", "pot"},
	} {
		faulty := page(t, ask(t, w.h, "GET", path, nil), http.StatusUnprocessableEntity)
		webtest.Faulty(t, faulty, url.Values{}, fields...)
		open, _, _ := strings.Cut(path, "?")
		for _, waits := range []string{open, path + "&do=add+wish"} {
			if n := w.get(t, waits).Find(".summary, .fault").Length(); n != 0 {
				t.Errorf("%s says %d faults", waits, n)
			}
		}
	}
}

// A part of which only the kind was chosen is the maker's, and lacks the rest.
func TestAPartWithAKindAloneIsNotDropped(t *testing.T) {
	w := newWorkshop(t)
	d := page(t, submit(t, w.h, "/designs/new", w.form("name", "Buoy", "mould", w.tower, "part.1.kind", "pour", "part.1.formula", w.formula,
		"part.1.amount", "100", "part.1.by", "level", "part.2.kind", "sprinkle", "part.2.by", "mass")), http.StatusUnprocessableEntity)
	if got := d.Find(".summary").Text(); !strings.Contains(got, "Part 2") {
		t.Errorf("the summary says %q", got)
	}
}

func TestAPotStartsFromTheStudiosOverage(t *testing.T) {
	w := newWorkshop(t)
	set, err := w.book.Settings(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	set.OveragePct = quantity.Some(4.0)
	if err := w.book.PutSettings(context.Background(), set); err != nil {
		t.Fatal(err)
	}
	if got, _ := w.get(t, "/designs/pot").Find(`input[name="over"]`).Attr("value"); got != "4" {
		t.Errorf("beyond the pieces starts from %q, want 4", got)
	}
	if got, _ := w.get(t, "/designs/pot?over=").Find(`input[name="over"]`).Attr("value"); got != "" {
		t.Errorf("what was emptied is %q again", got)
	}
}

func TestAWishListIsFitted(t *testing.T) {
	w := newWorkshop(t)
	doc := w.get(t, "/designs/fit?pot=1400&least=100&rounds=3&wish.1.design="+w.lighthouse+"&wish.1.pieces=12")
	if got := flat(doc.Find("#fit-work table").Last().Find("tbody").Text()); !strings.Contains(got,
		"12 wished for, 12 cavities of Tower") || !strings.Contains(got, "What 12 need") {
		t.Errorf("fitted: %q in %s", got, flat(doc.Find("#fit-work").Text()))
	}
	href, _ := doc.Find("#fit-work .row-aside a").Attr("href")
	w.get(t, href)
	if !strings.Contains(flat(doc.Find("#fit-work").Text()), "These embeds are cast in moulds and batches of their own: Lamp") {
		t.Error("the lamp is not named")
	}
	if got, _ := w.get(t, "/designs/fit?pot=1400&worth=150").Find(`input[name="worth"]`).Attr("value"); got != "150" {
		t.Errorf("what a batch is worth stands as %q", got)
	}
	for q, field := range map[string]string{"worth=-5&pot=1400&wish.1.pieces=5&wish.1.design=" + w.lamp: "worth", "pot=x": "pot",
		"pot=-4&wish.1.design=" + w.lamp + "&wish.1.pieces=5": "pot", "pot=100&least=200&wish.1.design=" + w.lamp + "&wish.1.pieces=5": "least",
		"rounds=1.5": "rounds", "wish.1.pieces=5": "wish.1.design", "wish.1.design=" + w.lamp: "wish.1.pieces"} {
		if q == "wish.1.pieces=5" {
			q += "&wish.1.design="
		}
		if doc := page(t, ask(t, w.h, "GET", "/designs/fit?"+q, nil), http.StatusUnprocessableEntity); doc.Find(`[id="`+field+`-fault"]`).Length() != 1 {
			t.Errorf("%s: no fault at %s: %s", q, field, flat(doc.Find(".summary, #fit-work").Text()))
		}
	}
}

func TestABlockIsTakenApartByItsBars(t *testing.T) {
	w := newWorkshop(t)
	id := w.keep(t, w.form("name", "Pebble", "mould", w.block, "part.1.kind", "pour", "part.1.formula", w.formula, "part.1.amount", "100", "part.1.by",
		"level", "part.2.kind", "wrap", "part.2.item", "band", "part.2.amount", "1", "part.2.by", "count"))
	doc := w.get(t, "/designs/"+id)
	if got := flat(doc.Find("#work").Text()); !strings.Contains(got, "10pieces cut from a cavity") && !strings.Contains(got, "pieces cut from a cavity10") {
		t.Errorf("says %q", got)
	}
	need := flat(w.get(t, "/designs/"+id+"/need?pieces=20").Find("#need-work").Text())
	for _, want := range []string{"2 cavities of Loaf", "Pack in band, 20 pieces", "cut into 10"} {
		if !strings.Contains(need, want) {
			t.Errorf("does not say %q in %s", want, need)
		}
	}
}

// Whatever is typed and pressed, a form is read without a panic, and what was read
// without a fault is read the same from the form that it is written in.
func FuzzDesignForms(f *testing.F) {
	f.Add("part.1.amount", "80", "up part.1")
	f.Add("part.1.wait.minutes", "2 h", "remove part.1")
	f.Add("part.9999.kind", "wrap", "down part.9999")
	f.Add("part.1.reminders", "a\nb", "add part")
	c := &choices{set: studio.DefaultSettings(), portions: func(string) []formula.Portion { return nil }}
	// Any id is a record's, as far as a form knows.
	list := func(id string) *form.List {
		l := form.NewList(id, "record", nil)
		l.Find = func(id string) (string, error) { return id, nil }
		return l
	}
	c.moulds, c.formulas, c.designs = list("moulds"), list("formulas"), list("designs")
	faces := form.Faces{Set: c.set}
	f.Fuzz(func(t *testing.T, name, text, do string) {
		v := url.Values{"name": {"Pebble"}, "mould": {"m"}, "part.1.kind": {"pour"}, "part.2.kind": {"embed"}, "part.2.design": {"x"}, name: {text}, "do": {do}}
		read := form.Read(v, faces)
		read.Do()
		var d design.Design
		c.bind(read, &d)
		lines := 0
		for _, row := range read.Rows("part") {
			if row.Line() >= 0 {
				lines++
			}
		}
		if lines != len(d.Parts) {
			t.Fatalf("%d rows for %d parts", lines, len(d.Parts))
		}
		for _, p := range d.Parts {
			for _, m := range []quantity.Maybe{p.FillToPct, p.VolumeML, p.MassG, p.Count, p.Wait.Minutes} {
				if m.Known && !quantity.Finite(m.V) {
					t.Fatalf("read %v", m.V)
				}
			}
		}
		// A draft may lack what a kept design has; all else must be sound.
		if len(d.Validate(false)) > 0 || read.Bad("name") {
			return
		}
		written, was := form.Of(faces), d
		c.bind(written, &was)
		again := form.Read(written.Values(), faces)
		var back design.Design
		c.bind(again, &back)
		for _, e := range read.Faults() {
			if read.Bad(e.Field) {
				return // it was not read
			}
		}
		if c := design.Diff(&d, &back, design.Face{}); len(c) > 0 {
			t.Fatalf("%+v comes back as %+v: %+v", d, back, c)
		}
	})
}
