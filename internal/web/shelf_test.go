package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"barwright/catalogue"
	"barwright/internal/store"
	"barwright/internal/web/form"
	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/shell"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

// shelf is a studio on a disk of its own, and the pages over it.
func shelf(t testing.TB) (*studio.Studio, http.Handler, *server) {
	t.Helper()
	st, err := store.Open(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	base, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	cfg := shellConfig()
	cfg.Book = studio.New(st, base, time.Now, studio.NewID)
	s := newTestServer(t, cfg)
	return cfg.Book, s.Handler(), s
}

func TestIngredientPagesAreSound(t *testing.T) {
	_, h, _ := shelf(t)
	for _, path := range []string{"/ingredients", "/ingredients?kind=fats", "/ingredients?kind=extras&page=3", "/ingredients?kind=colourants", "/ingredients?kind=own",
		"/ingredients?q=olive", "/ingredients?q=%3Cscript%3E", "/ingredients?page=-4&kind=none", "/ingredients?page=9999999", "/ingredients/new",
		"/ingredients/olive-oil/change", "/ingredients/honey/change", "/ingredients/sodium-hydroxide/change", "/ingredients/jojoba-oil/change"} {
		t.Run(path, func(t *testing.T) { page(t, ask(t, h, "GET", path, nil), http.StatusOK) })
	}
	d := page(t, ask(t, h, "GET", "/ingredients?q=shea+butter&kind=fats", nil), 200)
	if d.Find(`a[href^="/ingredients/shea"]`).Length() == 0 || d.Find(`a[href="/ingredients/olive-oil"]`).Length() > 0 {
		t.Error("the search finds something else than shea butter")
	}
	if got := d.Find(`.kinds [aria-current]`).Text(); got != "Fats" {
		t.Errorf("the kind shown is %q", got)
	}
	if w := ask(t, h, "GET", "/ingredients/no-such-thing", nil); w.Code != http.StatusNotFound {
		t.Errorf("status %d for what is not there", w.Code)
	}
}

func TestTheListOfIngredientsLeadsToAllOfThem(t *testing.T) {
	book, h, _ := shelf(t)
	cat, err := book.Catalogue(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for next := "/ingredients"; next != ""; {
		d := page(t, ask(t, h, "GET", next, nil), 200)
		d.Find("th a.row-name").Each(func(_ int, a *goquery.Selection) { seen[a.AttrOr("href", "")] = true })
		next = d.Find(`.pages a[rel="next"]`).AttrOr("href", "")
	}
	if len(seen) != len(cat.All()) {
		t.Errorf("%d ingredients are listed, the catalogue has %d", len(seen), len(cat.All()))
	}
}

// Every value of every ingredient stands on its page with its unit and source.
func TestEveryIngredientShowsEveryValueWithItsSource(t *testing.T) {
	book, h, _ := shelf(t)
	cat, err := book.Catalogue(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	for _, in := range cat.All() {
		d := page(t, ask(t, h, "GET", "/ingredients/"+in.ID, nil), 200)
		text := squeeze(d.Find("main").Text())
		for _, f := range in.Facts {
			for _, want := range []string{shell.SourceSaid(f.Source), f.Unit} {
				if !strings.Contains(text, squeeze(want)) {
					t.Errorf("%s: %s does not show %q", in.ID, f.Label, want)
				}
			}
			if f.Unit != ofTheAcids && !strings.Contains(text, squeeze(f.Value)) {
				t.Errorf("%s: %s does not show %q", in.ID, f.Label, f.Value)
			}
		}
		if in.Fat != nil && in.Fat.HasProfile {
			if n := d.Find(".profile .group").Length(); n != catalogue.NumGroups {
				t.Errorf("%s shows %d groups", in.ID, n)
			}
		}
	}
}

// The groups of olive oil from its typical profile; the sum of C18:1 and C16:1
// is what the table of fatty acids says.
func TestOliveOilIsMostlyOneGroup(t *testing.T) {
	cat, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	in, err := cat.Get("olive-oil")
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for _, g := range groupsOf(in.Fat) {
		sum += g.Width
		if g.Name == "mellow" && !(g.Width > 65 && g.Width < 75) {
			t.Errorf("mellow is %v %%", g.Width)
		}
	}
	if sum < 99.9 || sum > 100.1 {
		t.Errorf("the groups sum to %v %%", sum)
	}
}

func TestAValueIsChangedShownAndTakenBack(t *testing.T) {
	book, h, _ := shelf(t)
	v := url.Values{"sap_mg_koh_g": {"189.5"}, "sap_half_width": {"1.5"}, "source": {"certificate of lot 7 <b>"}}
	if w := post(t, h, "/ingredients/olive-oil/change", v); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/ingredients/olive-oil" {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	text := page(t, ask(t, h, "GET", "/ingredients/olive-oil", nil), 200).Find(".facts").Text()
	if !strings.Contains(text, "188 to 191") || !strings.Contains(text, "certificate of lot 7 <b>") {
		t.Errorf("the page does not show the change: %s", text)
	}
	d := page(t, ask(t, h, "GET", "/ingredients/olive-oil/change", nil), 200)
	if got := d.Find("#sap_mg_koh_g").AttrOr("value", ""); got != "189.5" {
		t.Errorf("the form shows %q", got)
	}
	if w := post(t, h, "/ingredients/olive-oil/withdraw", nil); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/ingredients/olive-oil" {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	if all, err := book.Ingredients(t.Context()); err != nil || len(all) != 0 {
		t.Errorf("%v entries are left, %v", all, err)
	}
	if w := post(t, h, "/ingredients/olive-oil/withdraw", nil); w.Code != http.StatusNotFound {
		t.Errorf("withdrawn twice: status %d", w.Code)
	}
}

func TestOneOfTheStudiosOwnIsWrittenIn(t *testing.T) {
	book, h, _ := shelf(t)
	if err := book.PutSettings(t.Context(), func() studio.Settings {
		set := studio.DefaultSettings()
		set.Temperature = quantity.Fahrenheit
		return set
	}()); err != nil {
		t.Fatal(err)
	}
	v := url.Values{"name": {"Marrow-seed oil, test"}, "role-fat": {"on"}, "kind": {"triglyceride"}, "sap_min_mg_koh_g": {"185"}, "sap_max_mg_koh_g": {"198"},
		"melting_max_c": {"50"}, "profile_pct.C16-0": {"12 %"}, "profile_pct.C18-1": {"38"}, "profile_pct.C18-2": {"50"}}
	if w := post(t, h, "/ingredients/new", v); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/ingredients/marrow-seed-oil-test" {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	e, err := book.Ingredient(t.Context(), "marrow-seed-oil-test")
	if err != nil || e.Profile["C18:2"] != 50 || e.MeltingMax.V < 9.99 || e.MeltingMax.V > 10.01 {
		t.Errorf("kept as %+v, %v", e, err)
	}
	page(t, ask(t, h, "GET", "/ingredients/marrow-seed-oil-test", nil), 200)
	d := page(t, ask(t, h, "GET", "/ingredients/marrow-seed-oil-test/change", nil), 200)
	// The form as it stands changes nothing.
	if w := post(t, h, "/ingredients/marrow-seed-oil-test/change", valuesOf(d, "#ingredient")); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	if again, err := book.Ingredient(t.Context(), e.ID); err != nil || again.MeltingMax != e.MeltingMax || again.Profile["C18:1"] != 38 || again.Kind != "triglyceride" {
		t.Errorf("sent back unchanged it became %+v, %v", again, err)
	}
	// The same again is refused, and not put in its place.
	v.Set("sap_min_mg_koh_g", "186")
	d = page(t, post(t, h, "/ingredients/new", v), http.StatusUnprocessableEntity)
	faulty(t, d, v, "id")
	if w := post(t, h, "/ingredients/marrow-seed-oil-test/withdraw", nil); w.Header().Get("Location") != "/ingredients?kind=own" {
		t.Errorf("withdrawn, it leads to %q", w.Header().Get("Location"))
	}
}

func TestAFaultyIngredientComesBackWhole(t *testing.T) {
	book, h, _ := shelf(t)
	if err := book.PutIngredient(t.Context(), catalogue.Entry{ID: "olive-oil", Note: "another entry"}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, path string
		v          url.Values
		fields     []string
	}{
		{"unreadable and out of range", "/ingredients/new", url.Values{"name": {"Oil \"x\" <i>"}, "role-fat": {"on"}, "kind": {"triglyceride"}, "sap_mg_koh_g": {"19O"},
			"iodine_min_g_100g": {"400"}, "density_40c_g_ml": {"9"}, "profile_pct.C18-1": {"many"}}, []string{"sap_mg_koh_g", "profile_pct.C18-1", "iodine_min_g_100g", "density_40c_g_ml"}},
		{"nothing", "/ingredients/new", url.Values{}, []string{"name", "roles"}},
		{"as NaOH", "/ingredients/new", url.Values{"name": {"Test oil"}, "role-fat": {"on"}, "kind": {"triglyceride"}, "sap_min_mg_koh_g": {"0.134"}, "sap_max_mg_koh_g": {"0.14"}}, []string{"sap_min_mg_koh_g"}},
		{"acids that do not sum", "/ingredients/new", url.Values{"name": {"Test oil"}, "role-fat": {"on"}, "kind": {"triglyceride"}, "sap_min_mg_koh_g": {"184"}, "sap_max_mg_koh_g": {"190"},
			"profile_pct.C18-1-OH": {"20"}}, []string{"profile_pct"}},
		{"no role", "/ingredients/new", url.Values{"name": {"Test"}}, []string{"roles"}},
		{"nature of a fat", "/ingredients/olive-oil/change", url.Values{"nature-sugar": {"on"}}, []string{"nature"}},
		{"the form's own address", "/ingredients/new", url.Values{"name": {"New"}, "role-extra": {"on"}}, []string{"id"}},
		{"taken by the catalogue", "/ingredients/new", url.Values{"name": {"Honey"}, "role-extra": {"on"}}, []string{"id"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := page(t, post(t, h, c.path, c.v), http.StatusUnprocessableEntity)
			faulty(t, d, c.v, c.fields...)
			if strings.Contains(d.Find(".summary").Text(), `": `) {
				t.Errorf("a sentence begins with an id: %s", d.Find(".summary").Text())
			}
			if n := d.Find("details:not([open]) .fault").Length(); n > 0 {
				t.Errorf("%d faults are folded away", n)
			}
		})
	}
	d := page(t, post(t, h, "/ingredients/honey/change", url.Values{}), http.StatusUnprocessableEntity)
	if !strings.Contains(d.Find(".summary").Text(), "Nothing is changed") {
		t.Errorf("an empty change: %s", d.Find(".summary").Text())
	}
}

func TestWhatAFormulaNeedsIsNotWithdrawn(t *testing.T) {
	book, h, _ := shelf(t)
	v := url.Values{"name": {"Marrow-seed oil"}, "role-fat": {"on"}, "kind": {"triglyceride"}, "sap_min_mg_koh_g": {"185"}, "sap_max_mg_koh_g": {"198"}}
	if w := post(t, h, "/ingredients/new", v); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	form := lantern("fat.1.id", "marrow-seed-oil", "fat.1.pct", "100", "fat.2.id", "", "fat.2.pct", "")
	for _, k := range []string{"naoh_purity_pct", "koh_purity_pct"} {
		form.Set(k, "99")
	}
	if w := post(t, h, "/formulas/new", form); w.Code != http.StatusSeeOther {
		d := page(t, w, http.StatusUnprocessableEntity)
		t.Fatalf("the formula was refused: %s", d.Find(".summary").Text())
	}
	d := page(t, ask(t, h, "GET", "/ingredients/marrow-seed-oil", nil), 200)
	if got := d.Find(".used a").Text(); got != "Storm lantern" {
		t.Errorf("used in %q", got)
	}
	d = page(t, post(t, h, "/ingredients/marrow-seed-oil/withdraw", nil), http.StatusConflict)
	if !strings.Contains(d.Find(".summary").Text(), "Storm lantern") {
		t.Errorf("the refusal says %q", d.Find(".summary").Text())
	}
	if _, err := book.Ingredient(t.Context(), "marrow-seed-oil"); err != nil {
		t.Error(err)
	}
}

func boxForm(name string) url.Values {
	return url.Values{"do": {"keep"}, "name": {name}, "shape": {"cuboid"}, "length_mm": {"250"}, "width_mm": {"2.5 in"}, "depth_mm": {"7 cm"}, "cavities": {"1"}, "sets": {"2"},
		"release_hours": {"24"}, "max_temp_c": {""}, "note": {"first\r\nsecond"}}
}

func TestAMouldIsMeasuredChangedPutAwayAndBroughtBack(t *testing.T) {
	book, h, _ := shelf(t)
	page(t, ask(t, h, "GET", "/moulds", nil), 200)
	page(t, ask(t, h, "GET", "/moulds?away=1", nil), 200)
	page(t, ask(t, h, "GET", "/moulds/new", nil), 200)
	if w := post(t, h, "/moulds/new", boxForm("Loaf, <beech>")); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	all, err := book.Moulds.All(t.Context())
	if err != nil || len(all) != 1 {
		t.Fatal(all, err)
	}
	m := all[0]
	if m.Newest.Doc.LengthMM.V != 250 || m.Newest.Doc.WidthMM.V != 63.5 || m.Newest.Doc.DepthMM.V != 70 || m.Newest.Doc.Sets != 2 || m.Newest.Doc.Note != "first\nsecond" || m.Newest.Doc.ReleaseHours.V != 24 || m.Newest.Doc.MaxTempC.Known {
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
	if w := post(t, h, "/moulds/"+m.ID+"/put-away", nil); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code)
	}
	if d := page(t, ask(t, h, "GET", "/moulds?away=1", nil), 200); d.Find(`form[action$="/bring-back"]`).Length() != 1 {
		t.Error("what was put away cannot be brought back")
	}
	page(t, ask(t, h, "GET", "/moulds/"+m.ID, nil), 200)
	if w := post(t, h, "/moulds/"+m.ID, boxForm("Loaf")); w.Code != http.StatusConflict {
		t.Errorf("changing what was put away: status %d", w.Code)
	}
	if w := post(t, h, "/moulds/"+m.ID+"/bring-back", nil); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/moulds/"+m.ID {
		t.Error(w.Code, w.Header())
	}
	for _, path := range []string{"/moulds/none", "/moulds/none/put-away", "/moulds/none/bring-back"} {
		if w := post(t, h, path, boxForm("x")); w.Code != http.StatusNotFound {
			t.Errorf("%s: status %d", path, w.Code)
		}
	}
}

// What is shown in inches, ounces and °F is kept as it was when nothing is typed.
func TestAFaceChangesNoMould(t *testing.T) {
	book, h, _ := shelf(t)
	kept, err := book.Moulds.New(t.Context(), mould.Mould{Name: "Shell", Shape: mould.Measured, WaterG: []float64{101.37, 100.9, 101.1}, WaterC: quantity.Some(21.3),
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
		if w := post(t, h, "/moulds/"+kept.ID, valuesOf(d, "#mould")); w.Code != http.StatusSeeOther {
			t.Fatal(mass, w.Code, page(t, w, w.Code).Find(".summary").Text())
		}
		again, err := book.Moulds.Get(t.Context(), kept.ID)
		if err != nil || again.Newest.Doc.Dimensions != kept.Doc.Dimensions || again.Newest.Doc.WaterC != kept.Doc.WaterC || again.Newest.Doc.MaxTempC != kept.Doc.MaxTempC || again.Newest.Doc.WaterG[0] != 101.37 || len(again.Newest.Doc.WaterG) != 3 {
			t.Errorf("%v: kept as %+v, %v", mass, again.Newest.Doc, err)
		}
	}
}

func TestAFaultyMouldComesBackWhole(t *testing.T) {
	_, h, _ := shelf(t)
	for _, c := range []struct {
		name   string
		v      url.Values
		fields []string
	}{
		{"all of it", url.Values{"name": {" "}, "shape": {"cuboid"}, "length_mm": {"wide"}, "width_mm": {"-3"}, "cavities": {"1.5"}, "sets": {""}, "release_hours": {"-1"}, "max_temp_c": {"9000"}},
			[]string{"name", "length_mm", "width_mm", "depth_mm", "cavities", "sets", "release_hours", "max_temp_c"}},
		{"water", url.Values{"name": {"x"}, "shape": {"measured"}, "water_g.1": {"12 ml"}, "water_g.2": {"100"}, "cavities": {"1"}, "sets": {"1"}}, []string{"water_g.1", "water_c"}},
		{"fills that disagree", url.Values{"name": {"x"}, "shape": {"measured"}, "water_g.1": {"50"}, "water_g.4": {"100"}, "water_c": {"20"}, "cavities": {"1"}, "sets": {"1"}}, []string{"water_g"}},
		{"no shape", url.Values{"name": {"x"}, "shape": {"egg"}, "cavities": {"1"}, "sets": {"1"}}, []string{"shape"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.v.Set("do", "keep")
			faulty(t, page(t, post(t, h, "/moulds/new", c.v), http.StatusUnprocessableEntity), c.v, c.fields...)
		})
	}
}

func TestAMouldIsDrawnWhileItIsTyped(t *testing.T) {
	_, h, _ := shelf(t)
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
	if d.Find("#diameter_mm").Length() != 1 || d.Find(`input[type=hidden][name=length_mm]`).AttrOr("value", "") != "250" || !strings.Contains(d.Find("#mould-work").Text(), "diameter") {
		t.Errorf("a cylinder is asked for %s", d.Text())
	}
	// One fill gets its finding; the button makes room.
	m := url.Values{"shape": {"measured"}, "water_g.1": {"100"}, "water_c": {"20"}, "do": {"add water_g"}}
	d = page(t, post(t, h, "/moulds/new", m), 200)
	if d.Find(".finding").Length() != 1 || d.Find(`[name="water_g.4"]`).Length() != 1 {
		t.Errorf("%d findings, %d boxes", d.Find(".finding").Length(), d.Find(`[name^="water_g."]`).Length())
	}
}

func TestSettingsAreKeptOrComeBack(t *testing.T) {
	book, h, _ := shelf(t)
	d := page(t, ask(t, h, "GET", "/studio", nil), 200)
	if !strings.Contains(d.Text(), "common practice, no source") {
		t.Error("the limits do not say that they have no source")
	}
	// As it stands it is the default.
	if w := post(t, h, "/studio", valuesOf(d, "#settings")); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	if set, err := book.Settings(t.Context()); err != nil || set != studio.DefaultSettings() {
		t.Errorf("kept as %+v, %v", set, err)
	}
	v := url.Values{"studio_name": {"Quillfen <studio>"}, "mass": {"lb+oz"}, "volume": {"imp fl oz"}, "length": {"in"}, "temperature": {"°F"}, "currency": {"eur"}, "scale_division_g": {"0.1 g"},
		"naoh_purity_pct": {"99 %"}, "koh_purity_pct": {"90"}, "purity_half_width_pct": {"0.5"}, "cure_water_loss_pct": {"60"}, "overage_pct": {"3 %"}, "pot_loss_g": {"15"}, "pot_g": {"6 kg"}, "limits.superfat_cold_pct": {"10"}, "limits.lye_max_pct": {""},
		"time_zone": {"Europe/Lisbon"}, "emergency": {"Ring\r\nthe bell"}}
	if w := post(t, h, "/studio", v); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, page(t, w, w.Code).Find(".summary").Text())
	}
	set, err := book.Settings(t.Context())
	if err != nil || set.Currency != "EUR" || set.Length != quantity.Inch || set.NaOHPurityPct.V != 99 || set.OveragePct != quantity.Some(3) || set.PotLossG != quantity.Some(15) || set.PotG != quantity.Some(6000) || set.Limits.SuperfatColdPct != 10 || set.Limits.LyeMaxPct != 42 || set.Emergency != "Ring\nthe bell" {
		t.Errorf("kept as %+v, %v", set, err)
	}
	d = page(t, ask(t, h, "GET", "/studio?kept=1", nil), 200)
	if d.Find("[role=status]").Length() != 1 || d.Find("#time_zone").AttrOr("value", "") != "Europe/Lisbon" {
		t.Error("the page does not say what was kept")
	}
	bad := url.Values{"studio_name": {strings.Repeat("x", 500)}, "mass": {"stone"}, "volume": {"ml"}, "length": {"mm"}, "temperature": {"°C"}, "currency": {"€"}, "scale_division_g": {"0"},
		"naoh_purity_pct": {"101"}, "koh_purity_pct": {"pure"}, "purity_half_width_pct": {"-1"}, "cure_water_loss_pct": {"200"}, "overage_pct": {"101"}, "pot_loss_g": {"-1"}, "pot_g": {"big"}, "limits.lye_min_pct": {"0"}, "time_zone": {"Moon/Tycho"}}
	d = page(t, post(t, h, "/studio", bad), http.StatusUnprocessableEntity)
	faulty(t, d, bad, "studio_name", "mass", "currency", "scale_division_g", "naoh_purity_pct", "koh_purity_pct", "purity_half_width_pct", "cure_water_loss_pct", "overage_pct", "pot_loss_g", "pot_g", "limits.lye_min_pct", "time_zone")
	if now, err := book.Settings(t.Context()); err != nil || now != set {
		t.Errorf("a refused form changed the settings to %+v, %v", now, err)
	}
}

// No form, however odd, brings a decoder down, and what it lets pass is valid.
func FuzzShelfForms(f *testing.F) {
	for _, seed := range []url.Values{boxForm("Loaf"), {"shape": {"measured"}, "water_g.1": {"100"}, "water_c": {"20"}, "name": {"x"}, "cavities": {"1e9"}, "sets": {"1"}},
		{"name": {"Oil"}, "role-fat": {"on"}, "kind": {"wax"}, "sap_mg_koh_g": {"190"}, "profile_pct.C18-1": {"1/0"}}, {"mass": {"g"}, "time_zone": {"../etc/passwd"}, "limits.lye_min_pct": {"1e400"}},
		{"name": {"\xff\x00"}, "water_g.-1": {"x"}, "water_g.99999999999999999999": {"3"}, "shape": {"spherical-cap"}, "rim_diameter_mm": {"1e-300"}, "depth_mm": {"2000"}}} {
		f.Add(seed.Encode())
	}
	cat, err := catalogue.Default()
	if err != nil {
		f.Fatal(err)
	}
	odd := studio.DefaultSettings()
	odd.Mass, odd.Length, odd.Temperature, odd.Volume = quantity.PoundOunce, quantity.Inch, quantity.Fahrenheit, quantity.USTeaspoon
	olive := catalogue.Entry{ID: "olive-oil", SAP: quantity.Some(190), Sources: map[string]string{"sap_mg_koh_g": "a certificate"}}
	s, err := newServer(shellConfig())
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, body string) {
		v, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		for _, set := range []studio.Settings{studio.DefaultSettings(), odd} {
			tr := tradeOf(form.Faces{Set: set, Cat: cat})
			in := form.Read(v, tr.Faces)
			m, d := tr.readMould(in, mould.Mould{})
			if in.Sound() {
				if vol, err := m.Volume(); err != nil || !quantity.Finite(vol.Value) || !quantity.Finite(vol.SD) {
					t.Errorf("taken for a mould that holds %v, %v", vol, err)
				}
			}
			in.Refused(nil)
			if err := mouldPage.Fragments(s.Shell, httptest.NewRecorder(), http.StatusOK, d, "content"); err != nil {
				t.Error(err)
			}
			if _, faults := tr.readEntry(v, "", true, catalogue.Entry{}); len(faults) > 0 && faults.Err() == nil {
				t.Error("faults without an error")
			}
			tr.readEntry(v, "olive-oil", false, olive)
		}
		in, set := form.Read(v, form.Faces{}), studio.DefaultSettings()
		bindSettings(in, &set)
		in.Check(set.Validate())
		if in.Sound() && len(set.Validate()) > 0 {
			t.Errorf("taken for settings: %+v", set)
		}
	})
}
