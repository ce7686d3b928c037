package moulds

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"barwright/design"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/roomtest"
	"barwright/internal/web/webtest"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

var (
	ask, post, page  = webtest.Ask, webtest.Post, webtest.Page
	faulty, valuesOf = webtest.Faulty, webtest.ValuesOf
	asLive           = webtest.Live
)

// shelf is an empty studio, and the room over it.
func shelf(t testing.TB) (*studio.Studio, http.Handler) {
	t.Helper()
	return roomtest.Room(t, time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC), Open)
}

func boxForm(name string) url.Values {
	return url.Values{"do": {"keep"}, "name": {name}, "shape": {"cuboid"}, "length_mm": {"250"}, "width_mm": {"2.5 in"}, "depth_mm": {"7 cm"},
		"cavities": {"1"}, "sets": {"2"},
		"release_hours": {"24"}, "max_temp_c": {""}, "note": {"first\r\nsecond"}}
}

func TestAMouldIsMeasuredChangedArchivedAndBroughtBack(t *testing.T) {
	book, h := shelf(t)
	page(t, ask(t, h, "GET", "/moulds", nil), 200)
	page(t, ask(t, h, "GET", "/moulds?archived=1", nil), 200)
	page(t, ask(t, h, "GET", "/moulds/new", nil), 200)
	if w := post(t, h, "/moulds/new", boxForm("Loaf, <beech>")); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	all, err := book.Moulds.All(t.Context())
	if err != nil || len(all) != 1 {
		t.Fatal(all, err)
	}
	m := all[0]
	if m.Newest.Doc.LengthMM.V != 250 || m.Newest.Doc.WidthMM.V != 63.5 || m.Newest.Doc.DepthMM.V != 70 || m.Newest.Doc.Sets != 2 ||
		m.Newest.Doc.Note != "first\nsecond" || m.Newest.Doc.ReleaseHours.V != 24 || m.Newest.Doc.MaxTempC.Known {
		t.Errorf("kept as %+v", m.Newest.Doc)
	}
	// 250 × 63.5 × 70 mm is 1111.25 mL; ± 0.5 mm rectangular on each: by hand,
	// u = 0.5/√3 · √(4.445² + 17.5² + 15.875²) = 6.94 mL, twice that 13.9.
	text := page(t, ask(t, h, "GET", "/moulds", nil), 200).Find("tbody").Text()
	for _, want := range []string{"Loaf, <beech>", "1\u202f111\u00a0ml", "±\u00a014\u00a0ml", "2 × 1"} {
		if !strings.Contains(text, want) {
			t.Errorf("the shelf does not show %q: %q", want, text)
		}
	}
	d := page(t, ask(t, h, "GET", "/moulds/"+m.ID, nil), 200)
	if d.Find(".cut-wide svg .cavity").Length() != 1 || d.Find(".cut-phone svg .cavity").Length() != 1 {
		t.Error("the cavity is not drawn")
	}
	v := valuesOf(d, "#mould")
	v.Set("name", "Loaf")
	if w := post(t, h, "/moulds/"+m.ID, v); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	if again, err := book.Moulds.Get(t.Context(), m.ID); err != nil || again.Name != "Loaf" || again.Newest.Doc.Dimensions != m.Newest.Doc.Dimensions {
		t.Errorf("changed into %+v, %v", again, err)
	}
	d = page(t, post(t, h, "/moulds/new", boxForm("Loaf")), http.StatusConflict)
	faulty(t, d, boxForm("Loaf"), "name")
	if w := post(t, h, "/moulds/"+m.ID+"/archive", nil); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	if d := page(t, ask(t, h, "GET", "/moulds?archived=1", nil), 200); d.Find(`form[action$="/bring-back"]`).Length() != 1 {
		t.Error("an archived mould cannot be brought back")
	}
	archived := valuesOf(page(t, ask(t, h, "GET", "/moulds/"+m.ID, nil), 200), "#mould")
	archived.Set("do", "keep")
	archived.Set("note", "other")
	if w := post(t, h, "/moulds/"+m.ID, archived); w.Code != http.StatusConflict {
		t.Errorf("changing an archived mould: status %d", w.Code)
	}
	if w := post(t, h, "/moulds/"+m.ID+"/bring-back", nil); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/moulds/"+m.ID {
		t.Error(w.Code, w.Header())
	}
	for _, path := range []string{"/moulds/none", "/moulds/none/archive", "/moulds/none/bring-back"} {
		if w := post(t, h, path, boxForm("x")); w.Code != http.StatusNotFound {
			t.Errorf("%s: status %d", path, w.Code)
		}
	}
}

// What is shown in inches, ounces and °F is kept as it was when nothing is typed.
func TestAFaceChangesNoMould(t *testing.T) {
	book, h := shelf(t)
	kept, err := book.Moulds.New(t.Context(), mould.Mould{Name: "Shell", Shape: mould.Measured, WaterG: []float64{101.37, 100.9, 101.1},
		WaterC:     quantity.Some(21.3),
		Dimensions: mould.Dimensions{DepthMM: quantity.Some(33.3)}, Cavities: 6, Sets: 1, MaxTempC: quantity.Some(230)}, "")
	if err != nil {
		t.Fatal(err)
	}
	for _, mass := range []quantity.MassUnit{quantity.Ounce, quantity.PoundOunce} {
		set := studio.DefaultSettings()
		set.Mass, set.Length, set.Temperature, set.Volume = mass, quantity.Inch, quantity.Fahrenheit, quantity.USFluidOunce
		if err := book.PutSettings(t.Context(), set); err != nil {
			t.Fatal(err)
		}
		d := page(t, ask(t, h, "GET", "/moulds/"+kept.ID, nil), 200)
		if got := d.Find("#max_temp_c").AttrOr("value", ""); got != "446" {
			t.Errorf("230 °C shows as %q °F", got)
		}
		if !strings.Contains(d.Find(".figures").Text(), "fl oz") {
			t.Errorf("the volume is not in fluid ounces: %s", d.Find(".figures").Text())
		}
		same := valuesOf(d, "#mould")
		same.Set("version_note", "looked at in ounces")
		if w := post(t, h, "/moulds/"+kept.ID, same); w.Code != http.StatusSeeOther {
			t.Fatal(mass, w.Code, page(t, w, w.Code).Find(".summary").Text())
		}
		again, err := book.Moulds.Get(t.Context(), kept.ID)
		if err != nil || again.Newest.Doc.Dimensions != kept.Doc.Dimensions || again.Newest.Doc.WaterC != kept.Doc.WaterC ||
			again.Newest.Doc.MaxTempC != kept.Doc.MaxTempC || again.Newest.Doc.WaterG[0] != 101.37 || len(again.Newest.Doc.WaterG) != 3 {
			t.Errorf("%v: kept as %+v, %v", mass, again.Newest.Doc, err)
		}
	}
}

func TestAFaultyMouldComesBackWhole(t *testing.T) {
	_, h := shelf(t)
	for _, c := range []struct {
		name   string
		v      url.Values
		fields []string
	}{
		{"all of it", url.Values{"name": {" "}, "shape": {"cuboid"}, "length_mm": {"wide"}, "width_mm": {"-3"}, "cavities": {"1.5"}, "sets": {""},
			"release_hours": {"-1"}, "max_temp_c": {"9000"}},
			[]string{"name", "length_mm", "width_mm", "depth_mm", "cavities", "sets", "release_hours", "max_temp_c"}},
		{"water", url.Values{"name": {"x"}, "shape": {"measured"}, "water_g.1": {"12 ml"}, "water_g.2": {"100"}, "cavities": {"1"}, "sets": {"1"}},
			[]string{"water_g.1", "water_c"}},
		{"fills that disagree", url.Values{"name": {"x"}, "shape": {"measured"}, "water_g.1": {"50"}, "water_g.4": {"100"}, "water_c": {"20"},
			"cavities": {"1"}, "sets": {"1"}}, []string{"water_g"}},
		{"no shape", url.Values{"name": {"x"}, "shape": {"egg"}, "cavities": {"1"}, "sets": {"1"}}, []string{"shape"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.v.Set("do", "keep")
			faulty(t, page(t, post(t, h, "/moulds/new", c.v), http.StatusUnprocessableEntity), c.v, c.fields...)
		})
	}
}

func TestAMouldIsDrawnWhileItIsTyped(t *testing.T) {
	_, h := shelf(t)
	v := boxForm("Loaf")
	w := post(t, h, "/moulds/work", v, asLive)
	if w.Code != 200 {
		t.Fatal(w.Code)
	}
	d := htmlcheck.Fragment(t, w.Body)
	if d.Find("#mould-work svg").Length() != 2 || d.Find("#mould-dims input").Length() != 3 || !strings.Contains(d.Text(), "all 2 cavities") {
		t.Errorf("the answer is %s", d.Text())
	}
	// The same without JavaScript.
	v.Set("do", "work")
	if d := page(t, post(t, h, "/moulds/new", v), 200); d.Find("#mould-work svg").Length() != 2 || d.Find("#length_mm").AttrOr("value", "") != "250" {
		t.Error("the button does not work it out")
	}
	page(t, post(t, h, "/moulds/work", v), 200)
	// Another shape asks for its own measures, and what was typed is not lost.
	v.Set("shape", "cylinder")
	d = htmlcheck.Fragment(t, post(t, h, "/moulds/work", v, asLive).Body)
	if d.Find("#diameter_mm").Length() != 1 || d.Find(`input[type=hidden][name=length_mm]`).AttrOr("value", "") != "250" ||
		!strings.Contains(d.Find("#mould-work").Text(), "diameter") {
		t.Errorf("a cylinder is asked for %s", d.Text())
	}
	// One fill gets its finding; the button makes room.
	m := url.Values{"shape": {"measured"}, "water_g.1": {"100"}, "water_c": {"20"}, "do": {"add water_g"}}
	d = page(t, post(t, h, "/moulds/new", m), 200)
	if d.Find(".finding").Length() != 1 || d.Find(`[name="water_g.4"]`).Length() != 1 {
		t.Errorf("%d findings, %d boxes", d.Find(".finding").Length(), d.Find(`[name^="water_g."]`).Length())
	}
}

// The versions of a mould say what changed, as the form shows it.
func TestAMouldThatNarrowsNamesItsTopAndBottom(t *testing.T) {
	some := quantity.Some
	for want, m := range map[string]mould.Mould{
		"tapered box, top 300 × 200, bottom 290 × 190, 40 mm deep": {Shape: mould.TaperedBox, Dimensions: mould.Dimensions{TopLengthMM: some(300),
			TopWidthMM: some(200), BottomLengthMM: some(290), BottomWidthMM: some(190), DepthMM: some(40)}},
		"cone frustum, top 80, bottom 70, 40 mm deep": {Shape: mould.ConeFrustum, Dimensions: mould.Dimensions{TopDiameterMM: some(80),
			BottomDiameterMM: some(70), DepthMM: some(40)}},
		"cuboid, 80 × 50 × 30 mm": {Shape: mould.Cuboid, Dimensions: mould.Dimensions{LengthMM: some(80), WidthMM: some(50), DepthMM: some(30)}},
	} {
		if got := webtest.Flat((faces{}).mouldSaid(&m)); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestAFillIsAddedInPlace(t *testing.T) {
	ctx := webtest.Browser(t)
	_, h := shelf(t)
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	webtest.Do(t, ctx, chromedp.Navigate(srv.URL+"/moulds/new"), chromedp.WaitVisible("#shape"))
	webtest.Settled(t, ctx)
	webtest.Do(t, ctx, chromedp.Evaluate[chromedp.Void](`void (window.stayed = true, document.getElementById('shape').value = 'measured',
		document.getElementById('shape').dispatchEvent(new Event('change', {bubbles: true})))`))
	webtest.Becomes(t, ctx, "the fills are asked for", `document.getElementById('water_g.3') !== null`)
	webtest.Click(t, ctx, "[value='add water_g']")
	webtest.Becomes(t, ctx, "a fourth stands there and has the focus", `document.activeElement.id === 'water_g.4' && window.stayed`)
}

func TestVersionsOfAMouldSayWhatChanged(t *testing.T) {
	_, h := shelf(t)
	v := boxForm("Loaf")
	at := "/moulds/"
	if w := post(t, h, "/moulds/new", v); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	at = page(t, ask(t, h, "GET", "/moulds", nil), 200).Find("tbody a.row-name").AttrOr("href", "")
	d := page(t, ask(t, h, "GET", at, nil), 200)
	changed := valuesOf(d, "#mould")
	changed.Set("shape", "measured")
	changed.Set("water_g.1", "1111")
	changed.Set("water_c", "20")
	changed.Set("version_note", "weighed it")
	if w := post(t, h, at, changed); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, page(t, w, w.Code).Find(".summary").Text())
	}
	d = page(t, ask(t, h, "GET", at+"/versions", nil), 200)
	got := strings.Join(strings.Fields(d.Find(".changes").Text()), " ")
	for _, want := range []string{"Shape of one cavity, insidecuboidany shape, measured with water", "Fill 11111 g", "Water was at20 °C", "Length250 mm"} {
		if !strings.Contains(got, want) {
			t.Errorf("the versions do not show %q: %q", want, got)
		}
	}
	if strings.Contains(got, "Unmould after") {
		t.Errorf("what did not change is told: %q", got)
	}
	if note := d.Find(".verso tbody").Text(); !strings.Contains(note, "weighed it") {
		t.Errorf("the note is not shown: %q", note)
	}
}

func TestAMouldSaysWhatUsesIt(t *testing.T) {
	book, h := shelf(t)
	m, err := book.Moulds.New(t.Context(), mould.Mould{Name: "Loaf", Shape: mould.Cuboid, Cavities: 1, Sets: 1,
		Dimensions: mould.Dimensions{LengthMM: quantity.Some(250), WidthMM: quantity.Some(80), DepthMM: quantity.Some(60)}}, "")
	if err != nil {
		t.Fatal(err)
	}
	if got := page(t, ask(t, h, "GET", "/moulds/"+m.ID, nil), 200).Find("#used").Parent().Text(); !strings.Contains(got, "No design uses it yet.") {
		t.Errorf("a mould that nothing uses says %q", got)
	}
	f, err := book.Formulas.New(t.Context(), studio.Formula{Formula: &formula.Formula{Name: "Storm", Method: formula.Cold, SuperfatPct: 5, FatsG: 1000,
		Water: formula.Water{Value: 33}, Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(99)}, ScaleDivisionG: quantity.Some(0.1),
		Fats: []formula.Fat{{ID: "olive-oil", Pct: 100}}}}, "")
	if err != nil {
		t.Fatal(err)
	}
	d, err := book.Designs.New(t.Context(), &design.Design{Name: "Storm lantern", Mould: m.ID,
		Parts: []design.Part{{Kind: design.Pour, Formula: f.ID, FillToPct: quantity.Some(100)}}}, "")
	if err != nil {
		t.Fatal(err)
	}
	if got := page(t, ask(t, h, "GET", "/moulds/"+m.ID, nil), 200).Find(".used a"); got.Text() != "Storm lantern" ||
		got.AttrOr("href", "") != "/designs/"+d.ID {
		t.Errorf("it is used in %q, at %q", got.Text(), got.AttrOr("href", ""))
	}
}

// No form, however odd, brings the reader down, and what it lets pass is valid.
func FuzzMouldForm(f *testing.F) {
	for _, seed := range []url.Values{boxForm("Loaf"), loafForm(), {"shape": {"measured"}, "water_g.1": {"100"}, "water_c": {"20"}, "name": {"x"},
		"cavities": {"1e9"}, "sets": {"1"}},
		{"name": {"\xff\x00"}, "water_g.-1": {"x"}, "water_g.99999999999999999999": {"3"}, "shape": {"spherical-cap"}, "rim_diameter_mm": {"1e-300"},
			"depth_mm": {"2000"}}} {
		f.Add(seed.Encode())
	}
	odd := studio.DefaultSettings()
	odd.Mass, odd.Length, odd.Temperature, odd.Volume = quantity.PoundOunce, quantity.Inch, quantity.Fahrenheit, quantity.USTeaspoon
	s := roomtest.Shell(f, time.Now())
	f.Fuzz(func(t *testing.T, body string) {
		v, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		for _, set := range []studio.Settings{studio.DefaultSettings(), odd} {
			in := form.Read(v, form.Faces{Set: set})
			var m mould.Mould
			view := faces{in.Faces()}.mouldView(in, &m)
			if in.Sound() {
				if vol, err := m.Volume(); err != nil || !quantity.Finite(vol.Value) || !quantity.Finite(vol.SD) {
					t.Errorf("taken for a mould that holds %v, %v", vol, err)
				}
			}
			in.Refused(nil)
			if err := mouldPage.Fragments(s, httptest.NewRecorder(), http.StatusOK, view, "content"); err != nil {
				t.Error(err)
			}
		}
	})
}
