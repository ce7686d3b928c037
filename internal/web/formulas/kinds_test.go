package formulas

import (
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/chromedp/chromedp"

	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/webtest"
	"barwright/quantity"
	"barwright/studio"
)

// typedIn are the names of the fields that can be typed in.
func typedIn(d *goquery.Document) map[string]bool {
	out := map[string]bool{}
	d.Find("#formula").Find("input, select, textarea").Each(func(_ int, f *goquery.Selection) {
		if f.AttrOr("type", "") != "hidden" && f.ParentsFiltered("template").Length() == 0 {
			out[f.AttrOr("name", "")] = true
		}
	})
	return out
}

func TestThePageShowsTheFieldsOfItsMethod(t *testing.T) {
	_, h := bookServer(t)
	for _, tt := range []struct {
		method    string
		has, lack []string
	}{
		{"cold", []string{"superfat", "water", "fat.1.id", "alkali.naoh_purity_pct", "liquid.ice_pct", "cure_water_loss_pct", "measured_density_g_ml", "stage"},
			[]string{"cook_loss_pct", "fat.1.cooked", "base.1.name", "melting.melt_c"}},
		{"hot", []string{"superfat", "water", "fat.1.id", "fat.1.cooked", "cook_loss_pct", "measured_density_g_ml", "stage"}, []string{"base.1.name",
			"melting.melt_c"}},
		{"melt", []string{"base.1.name", "base.1.pct", "base.1.max_melt_c", "base.1.softens_c", "base.1.density_g_ml", "base.1.inci", "melting.melt_c",
			"melting.remelts",
			"melting.evaporation_pct", "pour_c", "measured_density_g_ml", "stage"},
			[]string{"superfat", "water", "fat.1.id", "alkali.naoh_purity_pct", "liquid.ice_pct", "cure_water_loss_pct", "cook_loss_pct", "extra.1.into"}},
	} {
		t.Run(tt.method, func(t *testing.T) {
			v := lantern("do", "work", "method", tt.method, "base.1.name", "Clear base", "base.1.pct", "100", "extra.1.id", "kaolin", "extra.1.dose_g", "5",
				"portion.1.name", "sea", "portion.1.by", "rest", "cook_loss_pct", "10")
			d := htmlcheck.Page(t, submit(t, h, "/formulas/new", v).Body)
			have := typedIn(d)
			for _, name := range append(tt.has, "portion.1.name", "portion.1.colours", "portion.1.stage", "extra.1.id") {
				if !have[name] {
					t.Errorf("%s is not there", name)
				}
			}
			for _, name := range tt.lack {
				if have[name] {
					t.Errorf("%s is there", name)
				}
			}
			if got := d.Find("input[name=method][checked]").AttrOr("value", ""); got != tt.method {
				t.Errorf("the method chosen is %q", got)
			}
			// What was typed for another method comes back with it.
			if tt.method != "hot" && d.Find("input[type=hidden][name=cook_loss_pct]").AttrOr("value", "") != "10" {
				t.Error("the cook-off was lost")
			}
			if got := d.Find("[name='fat.2.pct']").AttrOr("value", ""); got != "40" {
				t.Errorf("the second fat's share came back as %q", got)
			}
			if got := d.Find("[name='base.1.name']").AttrOr("value", ""); got != "Clear base" {
				t.Errorf("the base came back as %q", got)
			}
		})
	}
}

func TestALiveChangeOfMethodBringsItsFields(t *testing.T) {
	_, h := bookServer(t)
	live := func(r *http.Request) { r.Header.Set("Barwright-Live", "1") }
	ids := func(v url.Values) string {
		w := submit(t, h, "/formulas/work", v, live)
		d := htmlcheck.Fragment(t, w.Body)
		var ids []string
		d.Find("[id]").Each(func(_ int, e *goquery.Selection) { ids = append(ids, e.AttrOr("id", "")) })
		return " " + strings.Join(ids, " ") + " "
	}
	if all := ids(lantern("shown", "cold", "size.shown", "fats", "size.by", "fats")); strings.Contains(all, " recipe ") ||
		strings.Contains(all, " size-fields ") {
		t.Errorf("what is typed in is renewed though no choice was changed: %s", all)
	}
	if all := ids(lantern("shown", "cold", "method", "melt")); !strings.Contains(all, " recipe ") || !strings.Contains(all, " melting.melt_c ") {
		t.Errorf("a melt's fields do not come: %s", all)
	}
	if all := ids(lantern("shown", "cold", "size.shown", "fats", "size.by", "cylinder")); !strings.Contains(all,
		" size.diameter_mm ") || strings.Contains(all, " recipe ") {
		t.Errorf("a cylinder's measures do not come: %s", all)
	}
}

// By hand: 800 g of base, 75 % and 25 %; 2 % of 800 g of scent; linalool is 12.5 %
// of 16 g in 816 g: 0.2451 %; limonene 0.2 % of it: 0.0039 %, below the 0.01 %
// above which Reg. (EC) 1223/2009 Annex III has it named on what is rinsed off.
func TestAMelt(t *testing.T) {
	book, h := bookServer(t)
	w := submit(t, h, "/formulas/new", rock("do", "work"))
	d := htmlcheck.Page(t, w.Body)
	if a, b, s := flat(d.Find("#w-base-1").Text()), flat(d.Find("#w-base-2").Text()), flat(d.Find("#w-scent-1").Text()); a != "600.0" || b != "200.0" ||
		s != "16.0" {
		t.Errorf("bases %q and %q, scent %q; want 600, 200 and 16 g", a, b, s)
	}
	if text := flat(d.Find("#batter .total").Text()); text != "816.0 g" {
		t.Errorf("the batter is %q, want 816 g", text)
	}
	allergens := map[string]string{}
	d.Find("#allergens tbody tr").Each(func(_ int, r *goquery.Selection) {
		allergens[flat(r.Find("th").Text())] = flat(r.Find("td").Eq(0).Text() + " " + r.Find("td").Eq(1).Text())
	})
	if got := allergens["Linalool"]; got != "0.245 name it" {
		t.Errorf("linalool: %q", got)
	}
	if got := allergens["Limonene"]; got != "0.004 need not be named" {
		t.Errorf("limonene: %q", got)
	}
	work := flat(d.Find("#work").Text())
	for _, bad := range []string{"superfat", "Superfat", "NaN", "iodine", "0.0 % of the"} {
		if strings.Contains(work, bad) {
			t.Errorf("a melt says %q: %s", bad, work)
		}
	}
	if !strings.Contains(work, "Aqua, Glycerin, Sodium Stearate") {
		t.Errorf("what the base is declared as is not there: %s", work)
	}

	w = submit(t, h, "/formulas/new", rock())
	if w.Code != http.StatusSeeOther {
		t.Fatalf("not kept: %s", flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()))
	}
	at := webtest.Led(w)
	id := strings.TrimPrefix(at, "/formulas/")
	if w := submit(t, h, at, rock("base", "1", "base.1.pct", "70", "base.2.pct", "30")); w.Code != http.StatusSeeOther {
		t.Fatalf("version 2: status %d", w.Code)
	}
	lye := strings.TrimPrefix(webtest.Kept(t, h, lantern()), "/formulas/")
	list := htmlcheck.Page(t, ask(t, h, "GET", "/formulas", nil).Body)
	row := list.Find("a[href='" + at + "']").Closest("tr")
	if text := flat(row.Text()); !strings.Contains(text, "melt-and-pour") || strings.Contains(text, "%") {
		t.Errorf("the list says of a melt: %s", text)
	}
	versions := htmlcheck.Page(t, ask(t, h, "GET", at+"/versions", nil).Body)
	if text := flat(versions.Find("main").Text()); strings.Contains(text, "superfat") || !strings.Contains(text, "Share of the baseClear base75 %70 %") {
		t.Errorf("the versions of a melt: %s", text)
	}
	for _, pair := range []string{"?a=" + id + "&b=" + lye, "?a=" + lye + "&b=" + id, "?a=" + id + "&b=" + id} {
		d := htmlcheck.Page(t, ask(t, h, "GET", "/formulas/compare"+pair, nil).Body)
		text := flat(d.Find("main").Text())
		if strings.Contains(text, "NaN") || strings.Contains(text, "0.0 % superfat") || !strings.Contains(text, "Clear base") {
			t.Errorf("compared: %s", text)
		}
	}
	if n := formulasKept(t, book); n != 2 {
		t.Errorf("%d formulas are kept, want 2", n)
	}
}

func TestARefusedMeltSaysWhereAndKeepsNothing(t *testing.T) {
	book, h := bookServer(t)
	for _, tt := range []struct {
		what, field string
		form        url.Values
	}{
		{"no base", "fats-title", pairsForm("name", "A melt", "method", "melt", "fats_g", "100", "do", "keep")},
		{"shares short", "fats-title", rock("base.2.pct", "20")},
		{"a share of 0", "base.2.pct", rock("base.2.pct", "0", "base.1.pct", "100")},
		{"a name missing", "base.2.name", rock("base.2.name", "")},
		{"too hot to melt", "base.1.max_melt_c", rock("base.1.max_melt_c", "400")},
		{"poured hotter than melted", "base.1.max_pour_c", rock("base.1.max_pour_c", "80")},
		{"melt at words", "melting.melt_c", rock("melting.melt_c", "hot")},
		{"half a remelt", "melting.remelts", rock("melting.remelts", "1.5")},
		{"all of it gone", "melting.evaporation_pct", rock("melting.evaporation_pct", "100")},
		{"density 0", "base.1.density_g_ml", rock("base.1.density_g_ml", "0")},
		{"a certificate that cannot be read", "scent.1.stated", rock("scent.1.stated", "Linalool")},
		{"portions over the whole", "portions-title", rock("portion.1.name", "a", "portion.1.amount", "70", "portion.2.name", "b", "portion.2.amount", "60")},
		{"a portion without its name", "portion.1.name", rock("portion.1.name", " ", "portion.1.amount", "100", "portion.1.by", "share")},
		{"a colour that is none", "portion.1.colours", rock("portion.1.name", "a", "portion.1.by", "rest", "portion.1.colours", "moonlight 5 g/kg")},
		{"a colour without its dose", "portion.1.colours", rock("portion.1.name", "a", "portion.1.by", "rest", "portion.1.colours", "Titanium dioxide")},
		{"a stage that is none", "portion.1.stage", rock("portion.1.name", "a", "portion.1.by", "rest", "portion.1.stage", "soupy")},
	} {
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
			if d.Find("[id='"+tt.field+"']").Length() != 1 {
				t.Errorf("there is no %s to be led to", tt.field)
			}
			if n := formulasKept(t, book); n != 0 {
				t.Errorf("%d formulas were kept", n)
			}
		})
	}
}

func TestPortionsWeighTheirVesselsAndColours(t *testing.T) {
	_, h := bookServer(t)
	v := lantern("do", "work", "scale.division_g", "0.1",
		"portion.1.name", "sea", "portion.1.by", "share", "portion.1.amount", "40", "portion.1.stage", "thin", "portion.1.colours", "Titanium dioxide 5 g/kg",
		"portion.2.name", "foam", "portion.2.by", "mass", "portion.2.amount", "200", "portion.2.stage", "thick",
		"portion.3.name", "deep", "portion.3.by", "rest", "portion.3.colours", "Titanium dioxide 2 g/kg\nKaolin 10 g/kg")
	d := htmlcheck.Page(t, submit(t, h, "/formulas/new", v).Body)
	number := func(sel string) float64 {
		x, err := strconv.ParseFloat(strings.TrimSuffix(flat(d.Find(sel).Text()), " g"), 64)
		if err != nil {
			t.Fatalf("%s: %v", sel, err)
		}
		return x
	}
	batter := number("#batter .total")
	sea, foam, deep := number("#w-portion-1"), number("#w-portion-2"), number("#w-portion-3")
	if math.Abs(sea-0.4*batter) > 0.1 || foam != 200 || math.Abs(sea+foam+deep-batter) > 0.2 {
		t.Errorf("%g g of batter is divided into %g, %g and %g g", batter, sea, foam, deep)
	}
	said := flat(d.Find("#c-portion-1").Text())
	if want := "titanium dioxide " + strconv.FormatFloat(math.Round(sea*5/1000*10)/10, 'f', 1, 64) + " g"; !strings.Contains(said, want) {
		t.Errorf("the first portion says %q, want %q in it", said, want)
	}
	if said := flat(d.Find("#c-portion-3").Text()); !strings.Contains(said, "kaolin (white clay) "+strconv.FormatFloat(math.Round(deep/100*10)/10, 'f',
		1, 64)+" g") {
		t.Errorf("the last portion says %q", said)
	}

	v.Set("do", "keep")
	w := submit(t, h, "/formulas/new", v)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("not kept: %s", flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()))
	}
	at := webtest.Led(w)
	d = htmlcheck.Page(t, ask(t, h, "GET", at, nil).Body)
	if got := d.Find("[name='portion.3.colours']").Text(); !strings.Contains(got, "10 g/kg") || strings.Count(got, "\n") != 1 {
		t.Errorf("the colours come back as %q", got)
	}
	if got := d.Find("[name='portion.2.stage'] option[selected]").AttrOr("value", ""); got != "thick" {
		t.Errorf("the stage comes back as %q", got)
	}
}

func TestTheCookTakesWater(t *testing.T) {
	_, h := bookServer(t)
	batter := func(change ...string) float64 {
		d := htmlcheck.Page(t, submit(t, h, "/formulas/new", lantern(append([]string{"do", "work", "method", "hot"}, change...)...)).Body)
		x, err := strconv.ParseFloat(strings.TrimSuffix(flat(d.Find("#batter .total").Text()), " g"), 64)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	// 1000 g of fats take about 150.7 g of alkali of 99 % and so 306 g of water.
	whole, cooked := batter(), batter("cook_loss_pct", "20")
	if lost := whole - cooked; math.Abs(lost-61) > 1.5 {
		t.Errorf("a fifth of 306 g of water boils off, and the batter is lighter by %g g", lost)
	}
}

func TestChoosingAMethodChangesTheFieldsInPlace(t *testing.T) {
	ctx := browser(t)
	_, h := bookServer(t)
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	has := func(name string) string { return `document.getElementsByName('` + name + `').length === 1` }
	do(t, ctx, chromedp.Navigate(srv.URL+"/formulas/new"), chromedp.WaitVisible("#method-0"))
	settled(t, ctx)
	do(t, ctx, chromedp.Evaluate[chromedp.Void](`void (window.stayed = true)`))
	do(t, ctx, chromedp.SendKeys("[name='name']", "Rock"), chromedp.SendKeys("[name='fat.1.pct']", "62"))

	click(t, ctx, "#method-2")
	becomes(t, ctx, "a melt has a base and no superfat",
		has("base.1.name")+` && `+has("melting.melt_c")+` && document.querySelector('input[name=superfat]').type === 'hidden'`)
	do(t, ctx, chromedp.SendKeys("[name='base.1.name']", "Clear base"), chromedp.SendKeys("[name='base.1.pct']", "100"))
	becomes(t, ctx, "and is worked out", `document.getElementById('w-base-1')?.textContent.replace(/\s/g, '') === '1000.0'`)
	click(t, ctx, "[value='add base']")
	becomes(t, ctx, "another base has its number in its label",
		`document.activeElement.name === 'base.2.name' && document.querySelector("label[for='base.2.name']").textContent === 'Base 2'`)

	click(t, ctx, "#method-1")
	becomes(t, ctx, "a cook has its fats back, and a cook-off",
		has("cook_loss_pct")+` && document.getElementsByName('fat.1.pct')[0].value === '62' && document.getElementsByName('fat.1.pct')[0].type === 'text'`)
	click(t, ctx, "#method-2")
	becomes(t, ctx, "and the melt its base",
		`document.getElementsByName('base.1.name')[0].value === 'Clear base' && document.getElementById('w-base-1')?.textContent.replace(/\s/g, '') === '1000.0'`)
	becomes(t, ctx, "all that on one page, with what was typed elsewhere", `window.stayed === true && document.getElementsByName('name')[0].value === 'Rock'`)
}

// Besides its drawings of the bar, which are 70 kB, an answer while typing is small,
// and it lists no ingredient or record.
func TestTheLiveAnswerIsSmall(t *testing.T) {
	_, h := bookServer(t)
	at := strings.TrimPrefix(webtest.Kept(t, h, lantern()), "/formulas/")
	for _, v := range []url.Values{lantern("shown", "cold", "superfat", "6", "id", at), rock("shown", "melt")} {
		v.Set("size.by", "fats")
		v.Set("size.shown", "fats")
		w := submit(t, h, "/formulas/work", v, webtest.Live)
		words := drawing.ReplaceAllString(w.Body.String(), "")
		if w.Code != http.StatusOK || len(words) > 20_000 || strings.Contains(words, "<datalist") || w.Body.Len() > 95_000 {
			t.Errorf("status %d, an answer of %d bytes, %d of them words", w.Code, w.Body.Len(), len(words))
		}
	}
}

var drawing = regexp.MustCompile(`(?s)<svg.*?</svg>`)

// A portion that is new is said with its colours by their names.
func TestColoursOfANewPortionHaveNames(t *testing.T) {
	_, h := bookServer(t)
	at := webtest.Kept(t, h, lantern())
	v := lantern("base", "1", "portion.1.name", "sea", "portion.1.by", "rest", "portion.1.colours", "Titanium dioxide 3 g/kg\nActivated charcoal 1 g/kg")
	if w := submit(t, h, at, v); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, htmlcheck.Page(t, w.Body).Find(".summary").Text())
	}
	got := flat(htmlcheck.Page(t, webtest.Ask(t, h, "GET", at+"/versions", nil).Body).Find(".changes").Text())
	if !strings.Contains(got, "; Titanium dioxide 3 g") || strings.Contains(got, "titanium-dioxide") || strings.Contains(got, "; charcoal ") {
		t.Errorf("what changed is %q", got)
	}
}

func TestTwoFormulasArePickedByTheirNames(t *testing.T) {
	book, h := bookServer(t)
	for i := range 40 {
		webtest.Kept(t, h, lantern("name", "Formula "+strconv.Itoa(i)))
	}
	a := webtest.Kept(t, h, lantern("name", "Harbour light"))
	d := webtest.Page(t, ask(t, h, "GET", "/formulas/compare", nil), http.StatusOK)
	if n := d.Find("datalist").Length(); n != 1 || d.Find("datalist option").Length() != 41 || d.Find("select").Length() != 0 {
		t.Errorf("%d lists of %d names", n, d.Find("datalist option").Length())
	}
	d = webtest.Page(t, ask(t, h, "GET", "/formulas/compare?a=harbour&b=Formula+7", nil), http.StatusOK)
	if text := flat(d.Find("main").Text()); !strings.Contains(text, "Harbour light") || !strings.Contains(text,
		"Nothing that is weighed differs.") && !strings.Contains(text, "moves") {
		t.Errorf("compared: %s", text)
	}
	for _, bad := range []string{"a=x&b=y", "a=Formula&b=harbour", "a=%00&b=harbour"} {
		d := webtest.Page(t, ask(t, h, "GET", "/formulas/compare?"+bad, nil), http.StatusUnprocessableEntity)
		if d.Find(".summary a[href='#a']").Length() != 1 {
			t.Errorf("%s: %s", bad, flat(d.Find(".summary").Text()))
		}
	}
	// An archived one is still found by its address.
	id := strings.TrimPrefix(a, "/formulas/")
	if err := book.Formulas.Archive(t.Context(), id); err != nil {
		t.Fatal(err)
	}
	webtest.Page(t, ask(t, h, "GET", "/formulas/compare?b=Formula+7&a="+id, nil), http.StatusOK)
}

// BenchmarkLiveAnswer is what follows a key press in the editor: six fats, two
// scents with what they state, four portions with their colours. One frame of a
// browser is 16 ms.
func BenchmarkLiveAnswer(b *testing.B) {
	_, h := bookServer(b)
	v := lantern("shown", "cold", "size.by", "fats", "size.shown", "fats")
	for i, id := range []string{"olive-oil", "coconut-oil", "shea-butter", "cocoa-butter", "castor-oil", "sunflower-oil-high-oleic"} {
		n := strconv.Itoa(i + 1)
		v.Set("fat."+n+".id", id)
		v.Set("fat."+n+".pct", []string{"40", "20", "15", "10", "5", "10"}[i])
	}
	for i := range 2 {
		n := strconv.Itoa(i + 1)
		v.Set("scent."+n+".name", "Scent "+n)
		v.Set("scent."+n+".dose_pct", "1")
		v.Set("scent."+n+".stated", "Linalool 12.5\nLimonene 3.1\nCoumarin 0.2")
	}
	for i := range 4 {
		n := strconv.Itoa(i + 1)
		v.Set("portion."+n+".name", "portion "+n)
		v.Set("portion."+n+".by", "share")
		v.Set("portion."+n+".amount", "25")
		v.Set("portion."+n+".colours", "Titanium dioxide 5 g/kg\nKaolin 10 g/kg")
	}
	body := v.Encode()
	for b.Loop() {
		r := httptest.NewRequest(http.MethodPost, "http://localhost/formulas/work", strings.NewReader(body))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Barwright-Live", "1")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "c-portion-4") {
			b.Fatalf("status %d: %.200s", w.Code, w.Body)
		}
	}
}

func TestAFormulaInPoundsAndOuncesComesBackAsTyped(t *testing.T) {
	book, h := bookServer(t)
	set := studio.DefaultSettings()
	set.Mass, set.Temperature, set.Length, set.Volume = quantity.PoundOunce, quantity.Fahrenheit, quantity.Inch, quantity.USFluidOunce
	if err := book.PutSettings(t.Context(), set); err != nil {
		t.Fatal(err)
	}
	at := webtest.Kept(t, h, webtest.Lantern("fats_g", "2 lb 8 oz", "scale.division_g", "0.05"))
	d := htmlcheck.Page(t, webtest.Ask(t, h, "GET", at, nil).Body)
	if all, step := webtest.Value(d, "fats_g"), webtest.Value(d, "scale.division_g"); all != "2 lb 8 oz" || step != "0.05" {
		t.Errorf("typed 2 lb 8 oz on a scale of 0.05 oz, and it came back as %q and %q", all, step)
	}
}
