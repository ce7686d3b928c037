package bench

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	making "barwright/bench"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/shell"
	"barwright/internal/web/webtest"
	"barwright/lye"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

var ask, submit, flat = webtest.Ask, webtest.Post, webtest.Flat

// value is what stands in a field.
func value(d *goquery.Document, name string) string {
	return d.Find(`[name="`+name+`"]`).AttrOr("value", "")
}

// bookServer is an empty studio, and the room over it.
func bookServer(t testing.TB) (*studio.Studio, http.Handler) {
	t.Helper()
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	book := webtest.Book(t, now)
	s, err := shell.New(shell.Config{Studio: func(context.Context) (shell.Card, error) { return shell.Card{}, nil }, Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	Open(s, book)
	return book, s.Handler()
}

// keptFormula keeps a formula, changed as a test wants it, and gives its id.
func keptFormula(t testing.TB, book *studio.Studio, change ...func(*formula.Formula)) string {
	t.Helper()
	f := &formula.Formula{Name: "Storm lantern", Method: formula.Cold, SuperfatPct: 5, FatsG: 1000, Water: formula.Water{Value: 33},
		Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(99)}, ScaleDivisionG: quantity.Some(1),
		Fats: []formula.Fat{{ID: "olive-oil", Pct: 60}, {ID: "coconut-oil", Pct: 40}}}
	for _, c := range change {
		c(f)
	}
	v, err := book.Formulas.New(t.Context(), studio.Formula{Formula: f}, "")
	if err != nil {
		t.Fatal(err)
	}
	return v.ID
}

func TestABenchSheetIsMadeOnce(t *testing.T) {
	book, h := bookServer(t)
	htmlcheck.Page(t, ask(t, h, "GET", "/bench", nil).Body)
	id := keptFormula(t, book)

	d := htmlcheck.Page(t, ask(t, h, "GET", "/bench?formula="+id, nil).Body)
	sheet := value(d, "once")
	if sheet == "" {
		t.Fatal("the form has no id of the sheet to be")
	}
	form := func(amount string) url.Values {
		return url.Values{"once": {sheet}, "formula": {id}, "by": {"fats"}, "fats_g": {amount}}
	}
	var wg sync.WaitGroup
	at := make([]string, 5)
	for i := range at {
		wg.Go(func() { at[i] = submit(t, h, "/bench", form("1000")).Header().Get("Location") })
	}
	wg.Wait()
	for _, x := range at {
		if x == "" || x != at[0] {
			t.Fatalf("one form, sent five times, led to %q", at)
		}
	}
	first := ask(t, h, "GET", at[0], nil)
	text := flat(htmlcheck.Page(t, first.Body).Find("main").Text())
	for _, want := range []string{"Never pour water onto alkali", "All fats1000", "safety data sheet"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not on the sheet", want)
		}
	}

	// Going back and changing the size is another sheet, not the old weights again.
	w := submit(t, h, "/bench", form("2000"))
	if to := w.Header().Get("Location"); w.Code != http.StatusSeeOther || to == at[0] {
		t.Fatalf("another size: status %d to %q", w.Code, to)
	} else if text := flat(htmlcheck.Page(t, ask(t, h, "GET", to, nil).Body).Find("main").Text()); !strings.Contains(text, "All fats2000") {
		t.Errorf("the sheet for 2000 g of fats does not say so")
	}

	for _, paper := range []string{"", "?paper=a4", "?paper=letter"} {
		w := ask(t, h, "GET", at[0]+"/sheet.pdf"+paper, nil)
		if w.Code != http.StatusOK || !bytes.HasPrefix(w.Body.Bytes(), []byte("%PDF-")) {
			t.Errorf("%q: status %d, and no PDF", paper, w.Code)
		}
	}
	if w := ask(t, h, "GET", at[0]+"/sheet.pdf?paper=../x", nil); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("paper of an unknown size: status %d", w.Code)
	}
	for _, path := range []string{"/bench/9999", "/bench/..%2f..%2fx", "/bench/%00", "/bench/x/sheet.pdf"} {
		w := ask(t, h, "GET", path, nil)
		if w.Code != http.StatusNotFound {
			t.Errorf("%s: status %d", path, w.Code)
			continue
		}
		htmlcheck.Page(t, w.Body)
	}
}

// sheetOf is the sheet of a run as it was kept.
func sheetOf(t *testing.T, book *studio.Studio, h http.Handler, v url.Values) (studio.Run, making.Sheet) {
	t.Helper()
	w := submit(t, h, "/bench", v)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("%v: status %d: %s", v, w.Code, flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()))
	}
	run, err := book.Run(t.Context(), strings.TrimPrefix(w.Header().Get("Location"), "/bench/"))
	if err != nil {
		t.Fatal(err)
	}
	var s making.Sheet
	if err := json.Unmarshal(run.Working, &s); err != nil {
		t.Fatal(err)
	}
	return run, s
}

// A batch comes out as large as it was asked for: by its fats, by its batter, or for
// a mould. 10 cavities of 80 × 55 × 30 mm, 132 ml, filled to 90 % and with 5 % over
// are 1247.4 ml. Four lines are rounded to 1 g each.
func TestABatchIsAsLargeAsItWasAskedFor(t *testing.T) {
	book, h := bookServer(t)
	id := keptFormula(t, book)
	m, err := book.Moulds.New(t.Context(), mould.Mould{Name: "Bar tray", Shape: mould.Cuboid, Cavities: 10, Sets: 1,
		Dimensions: mould.Dimensions{LengthMM: quantity.Some(80), WidthMM: quantity.Some(55), DepthMM: quantity.Some(30)}}, "")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		v    url.Values
		of   func(making.Sheet) float64
		want float64
	}{
		{url.Values{"by": {"fats"}, "fats_g": {"750"}}, func(s making.Sheet) float64 { return s.AllFats.WeighG }, 750},
		{url.Values{"by": {"batter"}, "batter_g": {"1500"}}, func(s making.Sheet) float64 { return s.Batter.MassG }, 1500},
		{url.Values{"by": {"mould"}, "mould_id": {m.ID}, "pieces": {"10"}, "fill_pct": {"90"}, "overage_pct": {"5"}},
			func(s making.Sheet) float64 { return s.Batter.VolumeML }, 1247.4},
	} {
		c.v.Set("formula", id)
		run, s := sheetOf(t, book, h, c.v)
		if got := c.of(s); math.Abs(got-c.want) > 2 {
			t.Errorf("by %s: %g, want %g", c.v.Get("by"), got, c.want)
		}
		// The batch of the run weighs what its sheet does, to the milligram.
		if mg, err := quantity.MilligramsOf(s.Batter.MassG); err != nil || run.Batches[0].Mass != mg {
			t.Errorf("by %s: the batch is kept as %v, and its sheet says %v", c.v.Get("by"), run.Batches[0].Mass, mg)
		}
	}
}

// A page past the end of the list is its last page: it does not say that nothing
// was made.
func TestAPagePastTheEndIsTheLastOne(t *testing.T) {
	book, h := bookServer(t)
	run, _ := sheetOf(t, book, h, url.Values{"formula": {keptFormula(t, book)}, "by": {"fats"}, "fats_g": {"750"}})
	d := htmlcheck.Page(t, ask(t, h, "GET", "/bench?page=99", nil).Body)
	if d.Find(`a[href="/bench/`+run.Code+`"]`).Length() != 1 {
		t.Errorf("/bench?page=99 does not show the run %s: %s", run.Code, flat(d.Find("main").Text()))
	}
}

// The scale counts for more in a smaller batch, so the interval of its superfat is
// wider: each sheet draws it anew for its own size.
func TestEachSheetDrawsItsOwnSuperfat(t *testing.T) {
	book, h := bookServer(t)
	id := keptFormula(t, book)
	width := map[string]float64{}
	for _, fats := range []string{"100", "1000"} {
		_, s := sheetOf(t, book, h, url.Values{"formula": {id}, "by": {"fats"}, "fats_g": {fats}})
		if s.Superfat.Draws != soap.Draws {
			t.Errorf("%s g of fats: %d draws, want %d", fats, s.Superfat.Draws, soap.Draws)
		}
		width[fats] = s.Superfat.HighPct - s.Superfat.LowPct
	}
	if !(width["100"] > width["1000"]) || width["1000"] <= 0 {
		t.Errorf("the interval is %g points wide for 100 g of fats, and %g for 1000 g", width["100"], width["1000"])
	}
}

// A form counts once for what was typed into it, whatever was kept since and how
// often it is sent; also after it was changed, and under an id that something else
// was kept under.
func TestAFormThatIsSentAgainMakesNoOtherSheet(t *testing.T) {
	book, h := bookServer(t)
	id := keptFormula(t, book)
	sent := func(once, by, amount string) string {
		t.Helper()
		w := submit(t, h, "/bench", url.Values{"once": {once}, "formula": {id}, "by": {by}, "fats_g": {amount}, "page": {""}})
		if w.Code != http.StatusSeeOther {
			t.Errorf("%s by %s, %s: status %d", once, by, amount, w.Code)
		}
		return w.Header().Get("Location")
	}
	of := studio.NewID()
	if _, err := book.Formulas.Duplicate(studio.Once(t.Context(), of), id, 1, "Another"); err != nil {
		t.Fatal(err)
	}
	first := map[[3]string]string{}
	forms := [][3]string{{"form", "fats", "1000"}, {"form", "fats", "2000"}, {"form", "fats", "3000"}, {"form", "kept", ""},
		{of, "fats", "1000"}, {of, "kept", ""}}
	for _, f := range forms {
		var wg sync.WaitGroup
		at := make([]string, 20)
		for i := range at {
			wg.Go(func() { at[i] = sent(f[0], f[1], f[2]) })
		}
		wg.Wait()
		for _, x := range at {
			if x != at[0] {
				t.Fatalf("%v, sent %d times at once, led to %q", f, len(at), at)
			}
		}
		first[f] = at[0]
	}
	count := func() int {
		t.Helper()
		runs, err := book.Runs(t.Context(), studio.RunsOf{}, studio.Slice{})
		if err != nil {
			t.Fatal(err)
		}
		return runs.Total
	}
	if n := count(); n != len(forms) {
		t.Errorf("%d forms made %d sheets", len(forms), n)
	}

	// Everything that the sheets were worked out from changes, and the formula goes.
	rec, err := book.Formulas.Get(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	changed := *rec.Newest.Doc.Formula
	changed.Name, changed.FatsG = "Storm lantern, changed", 500
	if _, err := book.Formulas.Keep(t.Context(), id, 1, studio.Formula{Formula: &changed}, ""); err != nil {
		t.Fatal(err)
	}
	set := studio.DefaultSettings()
	set.Mass = quantity.Ounce
	if err := book.PutSettings(t.Context(), set); err != nil {
		t.Fatal(err)
	}
	if err := book.Formulas.Archive(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	for _, f := range forms {
		if at := sent(f[0], f[1], f[2]); at != first[f] {
			t.Errorf("%v, sent again, led to %q, before to %q", f, at, first[f])
		}
	}
	if n := count(); n != len(forms) {
		t.Errorf("%d forms, sent again, made %d sheets", len(forms), n)
	}
}

// An old sheet may hold no weights, or nothing that can be read: the page and the
// paper say so in the same sentence.
func TestAnOldSheetWithoutWeightsSaysSo(t *testing.T) {
	book, h := bookServer(t)
	id := keptFormula(t, book)
	whole := submit(t, h, "/bench", url.Values{"formula": {id}, "by": {"kept"}}).Header().Get("Location")
	x, err := book.Run(t.Context(), strings.TrimPrefix(whole, "/bench/"))
	if err != nil {
		t.Fatal(err)
	}
	var sheet making.Sheet
	if err := json.Unmarshal(x.Working, &sheet); err != nil {
		t.Fatal(err)
	}
	sheet.Steps = nil
	noSteps, err := json.Marshal(sheet)
	if err != nil {
		t.Fatal(err)
	}
	for _, working := range []string{`{}`, `{"naoh_g": 142.3}`, `[1, 2]`, `null`, `"text"`, string(noSteps)} {
		run, err := book.MakeRun(t.Context(), studio.Making{Size: x.Size, Working: []byte(working),
			Batches: []studio.Batching{{FormulaID: id, FormulaN: 1, MassG: 1000}}})
		if err != nil {
			t.Fatal(err)
		}
		for _, at := range []string{"/bench/" + run.Code, "/bench/" + run.Code + "/sheet.pdf"} {
			w := ask(t, h, "GET", at, nil)
			if w.Code != http.StatusNotFound {
				t.Errorf("%.20s, %s: status %d", working, at, w.Code)
				continue
			}
			if got := flat(htmlcheck.Page(t, w.Body).Find("main").Text()); !strings.Contains(got, "This old sheet holds no weights") {
				t.Errorf("%.20s, %s says %q", working, at, got)
			}
		}
	}
}

func TestARefusedSheetSaysWhereAndKeepsNothing(t *testing.T) {
	book, h := bookServer(t)
	id := keptFormula(t, book)
	for _, tt := range []struct {
		field  string
		change []string
	}{
		{"formula", []string{"formula", ""}},
		{"formula", []string{"formula", "../.."}},
		{"fats_g", []string{"fats_g", "-5"}},
		{"fats_g", []string{"fats_g", "0"}},
		{"fats_g", []string{"fats_g", ""}},
		{"fats_g", []string{"fats_g", "nan"}},
		{"fats_g", []string{"fats_g", "inf"}},
		{"fats_g", []string{"fats_g", "1,250"}},
		{"fats_g", []string{"fats_g", "1e400"}},
		{"fats_g", []string{"fats_g", "50000000"}},
		{"fats_g", []string{"fats_g", "0.0000001"}},
		{"batter_g", []string{"by", "batter", "batter_g", "0"}},
		{"pieces", []string{"by", "mould", "mould_id", "x"}},
		{"pieces", []string{"by", "mould", "mould_id", "x", "pieces", "1.5"}},
		{"pieces", []string{"by", "mould", "mould_id", "x", "pieces", "1e9"}},
		{"mould_id", []string{"by", "mould", "mould_id", "../x", "pieces", "1"}},
		{"fill_pct", []string{"by", "mould", "mould_id", "x", "pieces", "1", "fill_pct", "0"}},
		{"fill_pct", []string{"by", "mould", "mould_id", "x", "pieces", "1", "fill_pct", "101"}},
		{"overage_pct", []string{"by", "mould", "mould_id", "x", "pieces", "1", "overage_pct", "-1"}},
	} {
		v := url.Values{"formula": {id}, "by": {"fats"}, "fats_g": {"1000"}}
		for i := 0; i < len(tt.change); i += 2 {
			v.Set(tt.change[i], tt.change[i+1])
		}
		w := submit(t, h, "/bench", v)
		if w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%v: status %d, want 422", tt.change, w.Code)
			continue
		}
		d := htmlcheck.Page(t, w.Body)
		if d.Find(".summary a[href='#"+tt.field+"']").Length() != 1 {
			t.Errorf("%v: no sentence leads to %s: %s", tt.change, tt.field, flat(d.Find(".summary").Text()))
		}
		if strings.Contains(d.Find("main").Text(), "+Inf") {
			t.Errorf("%v: a number without end stands on the page", tt.change)
		}
	}
	if d := htmlcheck.Page(t, ask(t, h, "GET", "/bench", nil).Body); d.Find("table.list").Length() != 0 {
		t.Error("a refused sheet was kept")
	}
}

// Chinese is in none of the paper's fonts: the page that offers the paper says so.
func TestWhatThePaperCannotPrintIsSaid(t *testing.T) {
	book, h := bookServer(t)
	for name, want := range map[string]string{"Harbour 海港": "Letters that the fonts of the paper lack are printed as □, as in 海港.", "Harbour": ""} {
		id := keptFormula(t, book, func(f *formula.Formula) { f.Name = name })
		w := submit(t, h, "/bench", url.Values{"formula": {id}, "by": {"kept"}})
		doc := htmlcheck.Page(t, ask(t, h, "GET", w.Header().Get("Location"), nil).Body)
		if got := flat(doc.Find(".paper-lacks").Text()); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}

func TestAllTheWaterAsIceStillMakesASheet(t *testing.T) {
	book, h := bookServer(t)
	id := keptFormula(t, book, func(f *formula.Formula) { f.Liquid.PeakC = quantity.Some(0) })
	w := submit(t, h, "/bench", url.Values{"formula": {id}, "by": {"kept"}})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()))
	}
	text := flat(htmlcheck.Page(t, ask(t, h, "GET", w.Header().Get("Location"), nil).Body).Find("main").Text())
	if !strings.Contains(text, "Ice") || strings.Contains(text, "NaN") {
		t.Errorf("no ice on the sheet")
	}
}

func TestASheetInPoundsAndOunces(t *testing.T) {
	book, h := bookServer(t)
	set := studio.DefaultSettings()
	set.Mass, set.Temperature, set.Length, set.Volume = quantity.PoundOunce, quantity.Fahrenheit, quantity.Inch, quantity.USFluidOunce
	if err := book.PutSettings(context.Background(), set); err != nil {
		t.Fatal(err)
	}
	id := keptFormula(t, book, func(f *formula.Formula) {
		f.FatsG, f.ScaleDivisionG = 40*quantity.GramsPerOunce, quantity.Some(0.05*quantity.GramsPerOunce)
	})
	w := submit(t, h, "/bench", url.Values{"formula": {id}, "by": {"fats"}, "fats_g": {"5 lb"}})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	text := flat(htmlcheck.Page(t, ask(t, h, "GET", w.Header().Get("Location"), nil).Body).Find("main").Text())
	// 60 and 40 % of 5 lb, at 16 oz to the pound (NIST SP 811).
	for _, want := range []string{"weigh, lb and oz", "3 lb 0.00 oz", "2 lb 0.00 oz", "°F"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not on the sheet: %.600s", want, text)
		}
	}
}

// No list is cut: the formula that was kept first is found among hundreds, by a
// part of its name.
func TestAnyFormulaOfHundredsIsChosenByAPartOfItsName(t *testing.T) {
	book, h := bookServer(t)
	first := keptFormula(t, book, func(f *formula.Formula) { f.Name = "Bosun’s whistle" })
	for i := range 600 {
		keptFormula(t, book, func(f *formula.Formula) { f.Name = fmt.Sprintf("Pebble %03d", i) })
	}
	d := htmlcheck.Page(t, ask(t, h, "GET", "/bench", nil).Body)
	if n := d.Find("datalist#formulas option").Length(); n != 601 {
		t.Fatalf("%d formulas can be chosen, want 601", n)
	}
	w := submit(t, h, "/bench", url.Values{"formula": {"whistle"}, "by": {byKept}})
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()))
	}
	runs, err := book.Runs(t.Context(), studio.RunsOf{FormulaID: first}, studio.Slice{})
	if err != nil || runs.Total != 1 {
		t.Errorf("%d runs of it, %v", runs.Total, err)
	}
	// The list has the order of its use.
	names, err := book.Formulas.Names(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if got := d.Find("datalist#formulas option").First().AttrOr("value", ""); !strings.HasPrefix(got, names[0].Name+" (") {
		t.Errorf("the list begins with %q, want %q", got, names[0].Name)
	}
	// A name that could be several is asked about.
	w = submit(t, h, "/bench", url.Values{"formula": {"pebble"}, "by": {byKept}})
	if got := flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()); w.Code != http.StatusUnprocessableEntity || !strings.Contains(got, "could be") {
		t.Errorf("status %d: %q", w.Code, got)
	}
}

// A name that another begins with is still a name of its own.
func TestAFormulaIsChosenByItsWholeName(t *testing.T) {
	book, h := bookServer(t)
	named := func(name string) string {
		return keptFormula(t, book, func(f *formula.Formula) { f.Name = name })
	}
	ids := map[string]string{"harbour": named("Harbour"), "sea foam (piping)": named("Sea foam (piping)")}
	named("Sea foam (piping) again")
	for i := range 40 {
		keptFormula(t, book, func(f *formula.Formula) { f.Name = fmt.Sprintf("Harbour %03d", i) })
	}
	for name, id := range ids {
		w := submit(t, h, "/bench", url.Values{"formula": {name}, "by": {byKept}})
		if w.Code != http.StatusSeeOther {
			t.Fatalf("%s: status %d: %s", name, w.Code, flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()))
		}
		if runs, err := book.Runs(t.Context(), studio.RunsOf{FormulaID: id}, studio.Slice{}); err != nil || runs.Total != 1 {
			t.Errorf("%s: %d runs of it, %v", name, runs.Total, err)
		}
	}
}

// What stands in a field of a way that was not chosen is neither read nor lost.
func TestOnlyTheChosenWayOfSizingIsRead(t *testing.T) {
	book, h := bookServer(t)
	id := keptFormula(t, book)
	v := url.Values{"formula": {id}, "by": {"fats"}, "fats_g": {"abc"}, "batter_g": {"x1"}, "mould_id": {"gone"},
		"pieces": {"x2"}, "fill_pct": {"x3"}, "overage_pct": {"x4"}}
	w := submit(t, h, "/bench", v)
	d := htmlcheck.Page(t, w.Body)
	if w.Code != http.StatusUnprocessableEntity || d.Find(".summary a").Length() != 1 || d.Find(".summary a[href='#fats_g']").Length() != 1 {
		t.Fatalf("status %d: %s", w.Code, flat(d.Find(".summary").Text()))
	}
	for name, want := range map[string]string{"fats_g": "abc", "batter_g": "x1", "pieces": "x2", "fill_pct": "x3", "overage_pct": "x4"} {
		if got := value(d, name); got != want {
			t.Errorf("%s came back as %q, want %q", name, got, want)
		}
	}
	if got := d.Find("#mould_id option[selected]").AttrOr("value", ""); got != "gone" {
		t.Errorf("the mould came back as %q", got)
	}
	v.Set("fats_g", "500")
	if w := submit(t, h, "/bench", v); w.Code != http.StatusSeeOther {
		t.Errorf("status %d: %s", w.Code, flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()))
	}
}

// Only a record that is gone is the maker's to mend: a store that fails is not said
// to be a wrong choice.
func TestAStoreThatFailsIsNoWrongChoice(t *testing.T) {
	f := form.Read(url.Values{}, form.Faces{})
	disk := errors.New("the disk failed")
	if err := gone(f, disk, "formula", "Choose another."); !errors.Is(err, disk) || !f.Sound() {
		t.Errorf("gave %v, and said %v", err, f.Faults())
	}
	if err := gone(f, fault.NotFoundf("id", "There is none."), "formula", "Choose another."); err != nil || !f.Bad("formula") {
		t.Errorf("gave %v, and said %v", err, f.Faults())
	}
}

// The cautions stand directly above the lye, or above the base of a melt, each in
// whole and with whom to call.
func TestTheCautionsStandAboveTheWork(t *testing.T) {
	book, h := bookServer(t)
	set := studio.DefaultSettings()
	set.Emergency = "Ring the harbour office"
	if err := book.PutSettings(t.Context(), set); err != nil {
		t.Fatal(err)
	}
	melt := func(f *formula.Formula) {
		*f = formula.Formula{Name: "Wet rock", Method: formula.Melt, FatsG: 800, PourC: quantity.Some(55),
			Bases: []formula.Base{{Name: "Clear base", Pct: 100, MaxMeltC: quantity.Some(75)}}}
	}
	for _, c := range []struct {
		id, strong, above string
		points            func(*making.Sheet) []lye.Caution
	}{
		{keptFormula(t, book), "Before you open the lye.", "Lye", func(s *making.Sheet) []lye.Caution { return s.Cautions }},
		{keptFormula(t, book, melt), "Before you melt.", "Base", func(s *making.Sheet) []lye.Caution { return s.Heat }},
	} {
		w := submit(t, h, "/bench", url.Values{"formula": {c.id}, "by": {byKept}})
		if w.Code != http.StatusSeeOther {
			t.Fatalf("status %d: %s", w.Code, flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()))
		}
		run, err := book.Run(t.Context(), strings.TrimPrefix(w.Header().Get("Location"), "/bench/"))
		if err != nil {
			t.Fatal(err)
		}
		var kept making.Sheet
		if err := json.Unmarshal(run.Working, &kept); err != nil {
			t.Fatal(err)
		}
		points := c.points(&kept)
		box := htmlcheck.Page(t, ask(t, h, "GET", w.Header().Get("Location"), nil).Body).Find(".verso .caution")
		if got := flat(box.Find("b").First().Text()); box.Length() != 1 || got != c.strong {
			t.Errorf("%d cautions, the first says %q, want %q", box.Length(), got, c.strong)
		}
		if n := box.Find("li").Length(); n != len(points) || n == 0 {
			t.Errorf("%s: %d points, want %d", c.strong, n, len(points))
		}
		for _, x := range points {
			if !strings.Contains(flat(box.Text()), flat(x.Text)) {
				t.Errorf("%s: %q is missing", c.strong, x.Text)
			}
		}
		if got := flat(box.Find("p").Last().Text()); got != "In an emergency: Ring the harbour office" {
			t.Errorf("%s: whom to call: %q", c.strong, got)
		}
		if got := flat(box.Next().Find("caption").Text()); got != c.above {
			t.Errorf("%s: it stands above %q, want %q", c.strong, got, c.above)
		}
	}
}
