package ingredients

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"barwright/catalogue"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/roomtest"
	"barwright/internal/web/webtest"
	"barwright/quantity"
	"barwright/studio"
)

var (
	ask, post, page  = webtest.Ask, webtest.Post, webtest.Page
	faulty, valuesOf = webtest.Faulty, webtest.ValuesOf
)

// shelf is an empty studio, and the room over it.
func shelf(t testing.TB) (*studio.Studio, http.Handler) {
	t.Helper()
	return roomtest.Room(t, time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC), Open)
}

func TestIngredientPagesAreSound(t *testing.T) {
	_, h := shelf(t)
	for _, path := range []string{"/ingredients", "/ingredients?kind=fats", "/ingredients?kind=extras&page=3", "/ingredients?kind=colourants",
		"/ingredients?kind=own",
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
	book, h := shelf(t)
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
	book, h := shelf(t)
	cat, err := book.Catalogue(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	squeeze := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	for _, in := range cat.All() {
		d := page(t, ask(t, h, "GET", "/ingredients/"+in.ID, nil), 200)
		text := squeeze(d.Find("main").Text())
		for _, f := range in.Facts {
			for _, want := range []string{catalogue.SourceSaid(f.Source), f.Unit} {
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
	book, h := shelf(t)
	v := url.Values{"sap_mg_koh_g": {"189.5"}, "sap_half_width": {"1.5"}, "source": {"certificate of lot 7 <b>"}}
	if w := post(t, h, "/ingredients/olive-oil/change", v); w.Code != http.StatusSeeOther || webtest.Led(w) != "/ingredients/olive-oil" {
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
	book, h := shelf(t)
	if err := book.PutSettings(t.Context(), func() studio.Settings {
		set := studio.DefaultSettings()
		set.Temperature = quantity.Fahrenheit
		return set
	}()); err != nil {
		t.Fatal(err)
	}
	v := url.Values{"name": {"Marrow-seed oil, test"}, "roles-fat": {"on"}, "kind": {"triglyceride"}, "sap_min_mg_koh_g": {"185"}, "sap_max_mg_koh_g": {"198"},
		"melting_max_c": {"50"}, "profile_pct.C16:0": {"12 %"}, "profile_pct.C18:1": {"38"}, "profile_pct.C18:2": {"50"}}
	if w := post(t, h, "/ingredients/new", v); w.Code != http.StatusSeeOther || webtest.Led(w) != "/ingredients/marrow-seed-oil-test" {
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
	if again, err := book.Ingredient(t.Context(), e.ID); err != nil || again.MeltingMax != e.MeltingMax || again.Profile["C18:1"] != 38 ||
		again.Kind != "triglyceride" {
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

func TestAnIngredientSaysWhatItMayBeAndWhereFrom(t *testing.T) {
	_, h := shelf(t)
	d := page(t, ask(t, h, "GET", "/ingredients/new", nil), 200)
	if d.Find("details[open]").Length() != 0 {
		t.Error("a new ingredient is asked for a fat's values before it is one")
	}
	v := url.Values{"name": {"Salt wind"}, "roles-scent": {"on"}, "roles-liquid": {"on"}, "source": {"certificate of lot 7."}}
	w := post(t, h, "/ingredients/new", v)
	got := webtest.Flat(page(t, ask(t, h, "GET", w.Header().Get("Location"), nil), 200).Find("main").Text())
	for _, want := range []string{"Kept.", "It may be used as an extra, a liquid or a scent.", "The studio has its values from: certificate of lot 7."} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not in %s", want, got)
		}
	}
	v = url.Values{"name": {"Marrow oil"}, "roles-fat": {"on"}, "kind": {"triglyceride"}}
	d = page(t, post(t, h, "/ingredients/new", v), http.StatusUnprocessableEntity)
	if d.Find("details[open]").Length() == 0 {
		t.Error("a fat's values are folded away")
	}
}

func TestAFaultyIngredientComesBackWhole(t *testing.T) {
	book, h := shelf(t)
	if err := book.PutIngredient(t.Context(), catalogue.Entry{ID: "olive-oil", Note: "another entry"}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, path string
		v          url.Values
		fields     []string
	}{
		{"unreadable and out of range", "/ingredients/new", url.Values{"name": {"Oil \"x\" <i>"}, "roles-fat": {"on"}, "kind": {"triglyceride"},
			"sap_mg_koh_g":      {"19O"},
			"iodine_min_g_100g": {"400"}, "density_40c_g_ml": {"9"}, "profile_pct.C18:1": {"many"}}, []string{"sap_mg_koh_g", "profile_pct.C18:1",
			"iodine_min_g_100g", "density_40c_g_ml"}},
		{"nothing", "/ingredients/new", url.Values{}, []string{"name", "roles"}},
		{"as NaOH", "/ingredients/new", url.Values{"name": {"Test oil"}, "roles-fat": {"on"}, "kind": {"triglyceride"}, "sap_min_mg_koh_g": {"0.134"},
			"sap_max_mg_koh_g": {"0.14"}}, []string{"sap_min_mg_koh_g"}},
		{"acids that do not sum", "/ingredients/new", url.Values{"name": {"Test oil"}, "roles-fat": {"on"}, "kind": {"triglyceride"},
			"sap_min_mg_koh_g": {"184"}, "sap_max_mg_koh_g": {"190"},
			"profile_pct.C18:1-OH": {"20"}}, []string{"profile_pct"}},
		{"no role", "/ingredients/new", url.Values{"name": {"Test"}}, []string{"roles"}},
		{"nature of a fat", "/ingredients/olive-oil/change", url.Values{"nature-sugar": {"on"}}, []string{"nature"}},
		{"the form's own address", "/ingredients/new", url.Values{"name": {"New"}, "roles-extra": {"on"}}, []string{"id"}},
		{"taken by the catalogue", "/ingredients/new", url.Values{"name": {"Honey"}, "roles-extra": {"on"}}, []string{"id"}},
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
	book, h := shelf(t)
	v := url.Values{"name": {"Marrow-seed oil"}, "roles-fat": {"on"}, "kind": {"triglyceride"}, "sap_min_mg_koh_g": {"185"}, "sap_max_mg_koh_g": {"198"}}
	if w := post(t, h, "/ingredients/new", v); w.Code != http.StatusSeeOther {
		t.Fatal(w.Code, w.Body)
	}
	_, err := book.Formulas.New(t.Context(), studio.Formula{Formula: &formula.Formula{Name: "Storm lantern", Method: formula.Cold, SuperfatPct: 5, FatsG: 1000,
		Water: formula.Water{Value: 33}, Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(99)}, ScaleDivisionG: quantity.Some(0.1),
		Fats: []formula.Fat{{ID: "marrow-seed-oil", Pct: 100}}}}, "")
	if err != nil {
		t.Fatal(err)
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

// No form, however odd, brings a decoder down, and what it lets pass is valid.
func FuzzIngredientForms(f *testing.F) {
	for _, seed := range []url.Values{{"name": {"Oil"}, "roles-fat": {"on"}, "kind": {"wax"}, "sap_mg_koh_g": {"190"}, "profile_pct.C18:1": {"1/0"}},
		{"name": {"\xff\x00"}, "profile_pct.C18:1": {"99999999999999999999"}}} {
		f.Add(seed.Encode())
	}
	cat, err := catalogue.Default()
	if err != nil {
		f.Fatal(err)
	}
	odd := studio.DefaultSettings()
	odd.Mass, odd.Length, odd.Temperature, odd.Volume = quantity.PoundOunce, quantity.Inch, quantity.Fahrenheit, quantity.USTeaspoon
	olive := catalogue.Entry{ID: "olive-oil", SAP: quantity.Some(190), Sources: map[string]string{"sap_mg_koh_g": "a certificate"}}
	s := roomtest.Shell(f, time.Now())
	f.Fuzz(func(t *testing.T, body string) {
		v, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		for _, set := range []studio.Settings{studio.DefaultSettings(), odd} {
			faces := form.Faces{Set: set, Cat: cat}
			for _, old := range []catalogue.Entry{{Own: true}, olive} {
				var in *catalogue.Ingredient
				if !old.Own {
					if in, err = cat.Get(old.ID); err != nil {
						t.Fatal(err)
					}
				}
				kept, was := form.Of(faces), old
				bind(kept, &was, in, &old)
				f, e, a := read(form.Read(v, faces).Over(kept), kept, in, &old)
				if _, err := cat.With(e); f.Sound() && err != nil {
					t.Errorf("taken for an ingredient: %v", err)
				}
				f.Refused(nil)
				ask := &form.Ask{Request: httptest.NewRequest("GET", "/ingredients/new", nil), W: httptest.NewRecorder(), Shell: s, Faces: faces}
				if err := showChange(ask, f, in, a); err != nil {
					t.Error(err)
				}
			}
		}
	})
}
