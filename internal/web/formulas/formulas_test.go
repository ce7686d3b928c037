package formulas

import (
	"context"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"barwright/formula"
	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/webtest"
	"barwright/studio"
)

// formulasKept is how many formulas the studio has.
func formulasKept(t *testing.T, book *studio.Studio) int {
	t.Helper()
	page, err := book.Formulas.List(context.Background(), "", studio.Slice{Size: 10})
	if err != nil {
		t.Fatal(err)
	}
	return page.Total
}

func TestFormulaPagesAreSound(t *testing.T) {
	_, h := bookServer(t)
	at := webtest.Kept(t, h, lantern("extra.1.id", "goat-milk", "extra.1.dose_g", "50", "extra.1.per", "liquid", "scent.1.name", "Fig <b>",
		"scent.1.dose_pct", "3"))
	other := webtest.Kept(t, h, lantern("name", "Other"))
	if w := submit(t, h, at, lantern("superfat", "6", "base", "1")); w.Code != http.StatusSeeOther {
		t.Fatalf("version 2: status %d", w.Code)
	}
	id := func(at string) string { return strings.TrimPrefix(at, "/formulas/") }
	for _, path := range []string{"/formulas", "/formulas?q=nothing-is-called-that", "/formulas?archived=1", "/formulas?page=-1", "/formulas/new", at,
		at + "?v=1", at + "/versions",
		at + "/versions?from=1&to=2", "/formulas/compare", "/formulas/compare?a=" + id(at) + "&b=" + id(other)} {
		w := ask(t, h, "GET", path, nil)
		if w.Code != http.StatusOK {
			t.Errorf("%s: status %d", path, w.Code)
			continue
		}
		htmlcheck.Page(t, w.Body)
	}
	for _, path := range []string{at + "?v=9", at + "/file/9", at + "/file/x", at + "/file/01", at + "/file/+1",
		at + "/file/0",
		at + "?v=0", at + "?v=99999999999999999999", at + "?v=x", "/formulas/x", "/formulas/%00", "/formulas/..%2f..%2fetc"} {
		w := ask(t, h, "GET", path, nil)
		if w.Code != http.StatusNotFound {
			t.Errorf("%s: status %d, want 404", path, w.Code)
			continue
		}
		htmlcheck.Page(t, w.Body)
	}
	if w := submit(t, h, at, lantern("superfat", "6", "base", "2")); w.Code != http.StatusConflict ||
		!strings.Contains(w.Body.String(), "Nothing has changed since version 2") {
		t.Errorf("kept with nothing changed: status %d", w.Code)
	}
	w := ask(t, h, "GET", at+"/file/2", nil)
	if f, err := formula.ReadTOML("version-2.toml", w.Body.Bytes()); err != nil || f.SuperfatPct != 6 {
		t.Errorf("the file of version 2 comes back as %+v, %v", f, err)
	}
}

func TestARefusedFormulaSaysWhereAndKeepsNothing(t *testing.T) {
	book, h := bookServer(t)
	manyFats := lantern()
	for i := range 200 {
		n := strconv.Itoa(i + 1)
		manyFats.Set("fat."+n+".id", "olive-oil")
		manyFats.Set("fat."+n+".pct", "0.5")
	}
	twice := lantern()
	twice.Add("superfat", "6")
	tests := []struct {
		what, field string
		form        url.Values
	}{
		{"no name", "name", lantern("name", " ")},
		{"name of 5000 letters", "name", lantern("name", strings.Repeat("x", 5000))},
		{"name with a NUL", "name", lantern("name", "a\x00b")},
		{"name that is not UTF-8", "name", lantern("name", "a\xff")},
		{"notes of 900 kB", "notes", lantern("notes", strings.Repeat("x", 900_000))},
		{"method misspelt", "method", lantern("method", "cald")},
		{"superfat -5", "superfat", lantern("superfat", "-5")},
		{"superfat 100", "superfat", lantern("superfat", "100")},
		{"superfat NaN", "superfat", lantern("superfat", "nan")},
		{"superfat without end", "superfat", lantern("superfat", "inf")},
		{"superfat with a comma", "superfat", lantern("superfat", "1,250")},
		{"superfat missing", "superfat", lantern("superfat", "")},
		{"superfat twice", "superfat", twice},
		{"lye of 0", "water", lantern("water", "0 %")},
		{"lye of 100", "water", lantern("water", "100 %")},
		{"water the wrong way round", "water", lantern("water", "2 to 3")},
		{"water in prose", "water", lantern("water", "plenty")},
		{"fats 0", "fats_g", lantern("fats_g", "0")},
		{"fats huge", "fats_g", lantern("fats_g", strings.Repeat("9", 40))},
		{"share 0", "fat.1.pct", lantern("fat.1.pct", "0")},
		{"share negative", "fat.2.pct", lantern("fat.2.pct", "-40")},
		{"sum of 99", "fats-title", lantern("fat.2.pct", "39")},
		{"the same fat twice", "fat.2.id", lantern("fat.2.id", "olive-oil")},
		{"a fat misspelt", "fat.2.id", lantern("fat.2.id", "coconut-oyl")},
		{"a fat that is a path", "fat.2.id", lantern("fat.2.id", "../../etc/passwd")},
		{"a fat that is none", "fat.2.id", lantern("fat.2.id", "citric-acid")},
		{"200 fats", "fats-title", manyFats},
		{"SAP 0", "fat.1.sap_mg_koh_g", lantern("fat.1.sap_mg_koh_g", "0")},
		{"tolerance alone", "fat.1.sap_half_width", lantern("fat.1.sap_half_width", "2")},
		{"purity 101", "alkali.naoh_purity_pct", lantern("alkali.naoh_purity_pct", "101")},
		{"solution of 100 %", "alkali.naoh_solution_pct", lantern("alkali.naoh_solution_pct", "100")},
		{"ice 101 %", "liquid.ice_pct", lantern("liquid.ice_pct", "101")},
		{"dose negative", "extra.1.dose_g", lantern("extra.1.id", "honey", "extra.1.dose_g", "-3")},
		{"all of the batter", "extra.1.dose_g", lantern("extra.1.id", "honey", "extra.1.dose_g", "1000", "extra.1.per", "kg-batter")},
		{"scent of all the batter", "scent.1.dose_pct", lantern("scent.1.name", "S", "scent.1.dose_pct", "100", "scent.1.of", "batter")},
	}
	for _, tt := range tests {
		t.Run(tt.what, func(t *testing.T) {
			w := submit(t, h, "/formulas/new", tt.form)
			if w.Code != http.StatusUnprocessableEntity {
				t.Fatalf("status %d, want 422", w.Code)
			}
			d := htmlcheck.Page(t, w.Body)
			link := d.Find(".summary a[href='#" + tt.field + "']")
			if link.Length() == 0 || strings.TrimSpace(link.First().Text()) == "" {
				t.Errorf("no sentence leads to %s: %s", tt.field, flat(d.Find(".summary").Text()))
			}
			for _, bad := range []string{"NaN", "+Inf", "%!"} {
				if strings.Contains(d.Find("main").Text(), bad) {
					t.Errorf("%s stands on the page", bad)
				}
			}
			if n := formulasKept(t, book); n != 0 {
				t.Errorf("%d formulas were kept", n)
			}
		})
	}
}

// While it is typed and on Keep, a name that could be several is asked about alike.
func TestAnUnclearFatIsAskedAboutByOneSentence(t *testing.T) {
	_, h := bookServer(t)
	const asks = "“Coconut” could be “Coconut fatty acids” or “Coconut oil”: write which."
	v := lantern("fat.2.id", "Coconut")
	if got := submit(t, h, "/formulas/work", v, webtest.Live).Body.String(); !strings.Contains(got, asks) || strings.Contains(got, "did you mean") {
		t.Errorf("while it is typed: %s", got)
	}
	if got := htmlcheck.Page(t, submit(t, h, "/formulas/new", v).Body).Find(".summary").Text(); !strings.Contains(got, asks) {
		t.Errorf("on Keep: %s", got)
	}
	// An extra without a dose hinders nothing yet.
	if got := submit(t, h, "/formulas/work", lantern("extra.1.id", "o"), webtest.Live).Body.String(); strings.Contains(got, "could be") {
		t.Errorf("an extra that is being typed: %s", got)
	}
}

func TestOnlyWhatHasLyeIsDrawnAtRandom(t *testing.T) {
	_, h := bookServer(t)
	for _, c := range []struct {
		v     url.Values
		draws bool
	}{{lantern("do", "work"), true}, {webtest.Rock("do", "work"), false}} {
		got := flat(htmlcheck.Page(t, submit(t, h, "/formulas/new", c.v).Body).Find(".foot-here").Text())
		if !strings.Contains(got, "Figures change as you type.") || strings.Contains(got, "random draws") != c.draws {
			t.Errorf("%s: the foot says %q", c.v.Get("method"), got)
		}
	}
}

func TestSummaryNamesTheField(t *testing.T) {
	_, h := bookServer(t)
	w := submit(t, h, "/formulas/new", lantern("superfat", "", "fat.2.pct", "x", "scale.division_g", "y"))
	text := flat(htmlcheck.Page(t, w.Body).Find(".summary").Text())
	for _, want := range []string{"Superfat: nothing is typed here", "Fat 2, share: ", "Smallest step of the scale: "} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in: %s", want, text)
		}
	}
}

// The masses are by hand: S of olive oil is 184 to 196 and of coconut oil 248 to
// 265 (Codex CXS 33-1981, CXS 210-1999), the middle is used; M(NaOH) 39.997 and
// M(KOH) 56.106 g/mol.
func TestWhatAFirstEveningTypes(t *testing.T) {
	_, h := bookServer(t)
	pure := (600*190.0 + 400*256.5) / 1000 / 56.106 * 0.95 * 39.997
	naoh := pure / 0.99
	tests := []struct {
		what   string
		form   url.Values
		water  float64
		alkali float64
		extra  string
	}{
		{"a concentration", lantern(), naoh * 67 / 33, naoh, ""},
		{"a ratio", lantern("water", "2 to 1"), 2 * naoh, naoh, ""},
		{"a share of the fats", lantern("water", "38 % of fats"), 380, naoh, ""},
		{"a discount", lantern("water", "10 % off 38 % of fats"), 342, naoh, ""},
		{"a ready-mixed solution", lantern("alkali.naoh_solution_pct", "50"), pure*67/33 - pure, 2 * pure, ""},
		{"water kept back", lantern("liquid.later_pct", "20"), 0.8 * naoh * 67 / 33, naoh, ""},
		{"ice", lantern("liquid.ice_pct", "30"), 0.7 * naoh * 67 / 33, naoh, ""},
		{"weights", lantern("by", "weight", "fat.1.g", "600", "fat.2.g", "400", "fat.1.pct", "", "fat.2.pct", "", "fats_g", ""), naoh * 67 / 33, naoh, ""},
		{"pounds and ounces", lantern("fats_g", "2 lb 3.274 oz"), naoh * 67 / 33, naoh, ""},
		// 1 oz/lb is 62.5 g/kg.
		{"ounces per pound", lantern("extra.1.id", "honey", "extra.1.dose_g", "0.4", "extra.1.unit", "oz-per-lb"), -1, naoh, "25"},
		{"teaspoons per pound, measured", lantern("extra.1.id", "kaolin", "extra.1.dose_g", "1", "extra.1.unit", "tsp-per-lb", "extra.1.gtsp", "3"),
			naoh * 67 / 33, naoh, "7"},
	}
	for _, tt := range tests {
		t.Run(tt.what, func(t *testing.T) {
			tt.form.Set("do", "look")
			w := submit(t, h, "/formulas/new", tt.form)
			if w.Code != http.StatusOK {
				t.Fatalf("status %d", w.Code)
			}
			d := htmlcheck.Page(t, w.Body)
			line := func(name string) (answer string) {
				d.Find("#lye-lines .line").Each(func(_ int, l *goquery.Selection) {
					if strings.HasPrefix(l.Find(".row-name").Text(), name) {
						answer = flat(l.Find(".line-answer").Text())
					}
				})
				return answer
			}
			near := func(text string, want float64) bool {
				got, err := strconv.ParseFloat(text, 64)
				return err == nil && math.Abs(got-want) <= 1
			}
			if text := line("Water, first"); tt.water >= 0 && !near(text, tt.water) {
				t.Errorf("water %q, want %.0f", text, tt.water)
			}
			if text := line("Sodium hydroxide"); !near(text, tt.alkali) {
				t.Errorf("alkali %q, want %.0f", text, tt.alkali)
			}
			if tt.extra != "" && flat(d.Find("#w-extra-1").Text()) != tt.extra {
				t.Errorf("the extra is %q, want %s g", d.Find("#w-extra-1").Text(), tt.extra)
			}
		})
	}
}

func TestThePeakIsThatWithTheIce(t *testing.T) {
	_, h := bookServer(t)
	d := htmlcheck.Page(t, submit(t, h, "/formulas/new", lantern("do", "look", "liquid.peak_c", "50")).Body)
	if text := flat(d.Find("#lye-lines").Text()); !strings.Contains(text, "with the ice the lye may reach 50 °C") {
		t.Errorf("ice for 50 °C: %s", text)
	}
}

func TestSwitchingTheFaceOfTheFatsKeepsThem(t *testing.T) {
	_, h := bookServer(t)
	d := htmlcheck.Page(t, submit(t, h, "/formulas/new", lantern("do", "by-weight")).Body)
	if a, b := value(d, "fat.1.g"), value(d, "fat.2.g"); a != "600" || b != "400" {
		t.Errorf("weights %q and %q, want 600 and 400", a, b)
	}
	d = htmlcheck.Page(t, submit(t, h, "/formulas/new", lantern("do", "by-share", "by", "weight", "fat.1.g", "300", "fat.2.g", "100")).Body)
	if a, b, all := value(d, "fat.1.pct"), value(d, "fat.2.pct"), value(d, "fats_g"); a != "75" || b != "25" || all != "400" {
		t.Errorf("shares %q and %q of %q, want 75 and 25 of 400", a, b, all)
	}
	for _, bad := range [][2]string{{"fats_g", "abc"}, {"fat.1.pct", "6x"}} {
		w := submit(t, h, "/formulas/new", lantern("do", "by-weight", bad[0], bad[1]))
		if w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s of %q: status %d, want 422", bad[0], bad[1], w.Code)
		}
		d := htmlcheck.Page(t, w.Body)
		if got := value(d, bad[0]); got != bad[1] {
			t.Errorf("%s was typed as %q and came back as %q", bad[0], bad[1], got)
		}
		if got := value(d, "fat.2.pct"); got != "40" {
			t.Errorf("the other share came back as %q", got)
		}
	}
}

func TestResizing(t *testing.T) {
	_, h := bookServer(t)
	// 12 × 3 × 2.75 in at 25.4 mm to the inch is 1622.3 ml.
	w := submit(t, h, "/formulas/new", lantern("do", "resize", "size.by", "cuboid", "size.length_mm", "12 in", "size.width_mm", "3 in",
		"size.depth_mm", "2.75 in", "size.pieces", "1"))
	d := htmlcheck.Page(t, w.Body)
	if text := flat(d.Text()); w.Code != http.StatusOK || !strings.Contains(text, "of batter, about 1622 ml") {
		t.Errorf("status %d, and the batter is not 1622 ml", w.Code)
	}
	if g := value(d, "fats_g"); len(g) > len("1125.5") {
		t.Errorf("the fats came out as %q g", g)
	}
	for _, tt := range []struct{ field, by, name, value string }{
		{"size.amount", "fats", "size.amount", "-1"},
		{"size.amount", "fats", "size.amount", ""},
		{"size.amount", "batter", "size.amount", "nan"},
		{"size.length_mm", "cuboid", "size.length_mm", "0"},
		{"size.mould", "mould", "size.mould", "../x"},
		{"size.by", "fats", "size.amount", "0.0000001"},
	} {
		v := lantern("do", "resize", "size.by", tt.by, "size.length_mm", "100", "size.width_mm", "100", "size.depth_mm", "100", "size.pieces", "1",
			"size.amount", "5")
		v.Set(tt.name, tt.value)
		w := submit(t, h, "/formulas/new", v)
		d := htmlcheck.Page(t, w.Body)
		if w.Code != http.StatusUnprocessableEntity || d.Find(".summary a[href='#"+tt.field+"']").Length() != 1 {
			t.Errorf("%s of %q: status %d, %s", tt.name, tt.value, w.Code, flat(d.Find(".summary").Text()))
		}
		if got := value(d, "fats_g"); got != "1000" {
			t.Errorf("a refused size left the fats at %q", got)
		}
	}
}

// What is typed by mass is resized with the formula: 30 g of kaolin on 1000 g of fats
// are 60 g on 2000. What is typed as a share stays as it was typed.
func TestWhatIsTypedByMassIsResized(t *testing.T) {
	_, h := bookServer(t)
	w := submit(t, h, "/formulas/new", lantern("do", "resize", "size.by", "fats", "size.amount", "2000",
		"extra.1.id", "kaolin", "extra.1.dose_g", "30", "extra.1.per", "batch"))
	d := htmlcheck.Page(t, w.Body)
	for name, want := range map[string]string{"fats_g": "2000", "extra.1.dose_g": "60", "fat.1.pct": "60"} {
		if got := value(d, name); w.Code != http.StatusOK || got != want {
			t.Errorf("status %d: %s is %q, want %q", w.Code, name, got, want)
		}
	}
}

// The interval that was drawn when a version was kept is of that version: once the
// superfat is changed, it is no longer shown as that of what stands in the form.
func TestAChangedFormulaDoesNotShowTheKeptSuperfat(t *testing.T) {
	_, h := bookServer(t)
	at := webtest.Kept(t, h, lantern())
	for typed, want := range map[string]string{"5": "asked for5.0 %", "1": "asked for1.0 %"} {
		w := submit(t, h, at, lantern("do", "", "base", "1", "superfat", typed))
		if got := flat(htmlcheck.Page(t, w.Body).Find(".figures").Text()); !strings.Contains(got, want) {
			t.Errorf("with a superfat of %s %%, the figures are %q, want %q", typed, got, want)
		}
	}
}

func TestAMarkStandsByItsOwnRow(t *testing.T) {
	_, h := bookServer(t)
	// Row 1 has a share but no fat yet; the finding is about row 2.
	v := lantern("do", "look", "fat.1.id", "", "fat.1.pct", "10", "fat.2.id", "beeswax", "fat.2.pct", "10", "fat.3.id", "olive-oil", "fat.3.pct", "80")
	d := htmlcheck.Page(t, submit(t, h, "/formulas/new", v).Body)
	if d.Find("#m-fat-1 a").Length() != 0 || d.Find("#m-fat-2 a").Length() == 0 {
		t.Errorf("marks: row 1 has %d, row 2 has %d", d.Find("#m-fat-1 a").Length(), d.Find("#m-fat-2 a").Length())
	}
}

func TestRowsWithoutEndAreNotDrawn(t *testing.T) {
	_, h := bookServer(t)
	v := lantern("do", "look", "fat.01.id", "x", "fat.+2.id", "x")
	for i := range 9000 {
		v.Set("fat."+strconv.Itoa(i+1)+".id", "")
	}
	w := submit(t, h, "/formulas/new", v)
	if n := htmlcheck.Page(t, w.Body).Find("[name^='fat.'][name$='.id']").Length(); n > 221 {
		t.Errorf("%d rows were drawn", n)
	}
}

func TestOneVersionKeptTwiceAtOnce(t *testing.T) {
	book, h := bookServer(t)
	at := webtest.Kept(t, h, lantern())
	var wg sync.WaitGroup
	codes := make([]int, 6)
	for i := range codes {
		wg.Go(func() {
			codes[i] = submit(t, h, at, lantern("base", "1", "superfat", strconv.Itoa(6+i))).Code
		})
	}
	wg.Wait()
	kept := 0
	for _, c := range codes {
		switch c {
		case http.StatusSeeOther:
			kept++
		case http.StatusConflict:
		default:
			t.Errorf("status %d", c)
		}
	}
	all, err := book.Formulas.Versions(context.Background(), strings.TrimPrefix(at, "/formulas/"))
	if err != nil || kept != 1 || len(all) != 2 {
		t.Fatalf("%d of %d keeps went through and there are %d versions: %v", kept, len(codes), len(all), err)
	}

	// Whoever came second still has what they typed, and can keep it on top.
	w := submit(t, h, at, lantern("base", "1", "superfat", "9.25"))
	d := htmlcheck.Page(t, w.Body)
	if w.Code != http.StatusConflict || value(d, "superfat") != "9.25" || value(d, "base") != "2" {
		t.Errorf("status %d, superfat %q, base %q", w.Code, value(d, "superfat"), value(d, "base"))
	}
	for _, base := range []string{"", "x", "-1", "0", "99"} {
		w := submit(t, h, at, lantern("base", base, "superfat", "9.25"))
		d := htmlcheck.Page(t, w.Body)
		if w.Code != http.StatusUnprocessableEntity || value(d, "superfat") != "9.25" || d.Find(".summary").Length() != 1 {
			t.Errorf("base %q: status %d, superfat %q", base, w.Code, value(d, "superfat"))
		}
	}
	// The same form sent twice is one version.
	for range 2 {
		if w := submit(t, h, at, lantern("base", "2", "superfat", "9.25")); w.Code != http.StatusSeeOther {
			t.Errorf("sent again: status %d", w.Code)
		}
	}
	if all, err = book.Formulas.Versions(context.Background(), strings.TrimPrefix(at, "/formulas/")); err != nil || len(all) != 3 {
		t.Errorf("%d versions, want 3: %v", len(all), err)
	}
}

func TestLiveAnswersAreFragments(t *testing.T) {
	_, h := bookServer(t)
	live := func(r *http.Request) { r.Header.Set("Barwright-Live", "1") }
	for _, v := range []url.Values{lantern(), lantern("superfat", "5,5"), lantern("fat.2.pct", "39"), {}, lantern("fats_g", strings.Repeat("9", 400))} {
		w := submit(t, h, "/formulas/work", v, live)
		if w.Code != http.StatusOK {
			t.Errorf("status %d", w.Code)
		}
		htmlcheck.Fragment(t, w.Body)
	}
}

func TestArchiveDuplicateAndForeignPosts(t *testing.T) {
	book, h := bookServer(t)
	at := webtest.Kept(t, h, lantern())
	for _, tt := range []struct {
		n, name string
		want    int
	}{{"1", "", 422}, {"1", strings.Repeat("x", 3000), 422}, {"9", "Copy", 404}, {"1", "Storm lantern", 409}, {"1", "Copy", 303}} {
		if w := submit(t, h, at+"/duplicate", url.Values{"n": {tt.n}, "name": {tt.name}}); w.Code != tt.want {
			t.Errorf("a copy of %s called %.20q: status %d, want %d", tt.n, tt.name, w.Code, tt.want)
		}
	}
	for range 2 {
		if w := submit(t, h, at+"/archive", nil); w.Code != http.StatusSeeOther {
			t.Errorf("archived: status %d", w.Code)
		}
	}
	for range 2 {
		if w := submit(t, h, at+"/bring-back", nil); w.Code != http.StatusSeeOther {
			t.Errorf("brought back: status %d", w.Code)
		}
	}
	before := formulasKept(t, book)
	foreign := func(name, value string) func(*http.Request) {
		return func(r *http.Request) {
			r.Header.Set(name, value)
			if name == "Host" {
				r.Host = value
			}
		}
	}
	for _, x := range [][2]string{{"Origin", "http://evil.example"}, {"Origin", "null"}, {"Sec-Fetch-Site", "cross-site"}, {"Host", "evil.example"}} {
		if w := submit(t, h, "/formulas/new", lantern("name", "Foreign"), foreign(x[0],
			x[1])); w.Code != http.StatusForbidden && w.Code != http.StatusMisdirectedRequest {
			t.Errorf("%s %s: status %d", x[0], x[1], w.Code)
		}
	}
	if n := formulasKept(t, book); n != before {
		t.Errorf("%d formulas after foreign posts, want %d", n, before)
	}
}
