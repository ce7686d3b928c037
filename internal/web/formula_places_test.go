package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/webtest"
	"barwright/studio"
)

func TestTheSheetOfAMeltSaysNothingOfLye(t *testing.T) {
	_, h := bookServer(t)
	id := strings.TrimPrefix(webtest.Kept(t, h, webtest.Rock()), "/formulas/")
	for _, size := range []url.Values{pairsForm("by", "kept"), pairsForm("by", "fats", "fats_g", "50"), pairsForm("by", "batter", "batter_g", "204")} {
		size.Set("formula", id)
		look := htmlcheck.Page(t, ask(t, h, "GET", "/bench?"+size.Encode(), nil).Body)
		if text := flat(look.Find(".look").Text()); text == "" || strings.Contains(text, "superfat") || strings.Contains(text, "NaN") {
			t.Errorf("%s comes to %q", size.Encode(), text)
		}
		w := submit(t, h, "/bench", size)
		if w.Code != http.StatusSeeOther {
			t.Fatalf("no sheet of %s: %s", size.Encode(), flat(htmlcheck.Page(t, w.Body).Find(".summary").Text()))
		}
		sheet := htmlcheck.Page(t, ask(t, h, "GET", w.Header().Get("Location"), nil).Body)
		text := flat(sheet.Find("main").Text())
		for _, bad := range []string{"lye", "Lye", "superfat", "Superfat", "NaN"} {
			if strings.Contains(text, bad) {
				t.Errorf("the sheet of a melt says %q: %s", bad, text)
			}
		}
		if !strings.Contains(text, "Before you melt") || !strings.Contains(text, "never above 75 °C") {
			t.Errorf("the sheet of a melt: %s", text)
		}
		if w := ask(t, h, "GET", w.Header().Get("Location")+"/sheet.pdf", nil); w.Code != http.StatusOK {
			t.Errorf("its paper: status %d", w.Code)
		}
	}
}

func TestWhereAFormulaWithPortionsIsUsed(t *testing.T) {
	_, h := bookServer(t)
	at := webtest.Kept(t, h, lantern("scale.division_g", "0.1",
		"portion.1.name", "sea", "portion.1.by", "share", "portion.1.amount", "40", "portion.1.stage", "thin", "portion.1.colours", "Titanium dioxide 5 g/kg",
		"portion.2.name", "foam", "portion.2.by", "mass", "portion.2.amount", "200", "portion.2.stage", "thick",
		"portion.3.name", "deep", "portion.3.by", "rest", "portion.3.colours", "Titanium dioxide 2 g/kg\nKaolin 10 g/kg"))
	// The kaolin is used here, though it is among no extras.
	used := htmlcheck.Page(t, ask(t, h, "GET", "/ingredients/kaolin", nil).Body)
	if used.Find(".used a[href='"+at+"']").Length() != 1 {
		t.Errorf("the kaolin of a portion is used in: %s", flat(used.Find(".used").Text()))
	}
	w := submit(t, h, "/bench", pairsForm("formula", strings.TrimPrefix(at, "/formulas/"), "by", "kept"))
	if w.Code != http.StatusSeeOther {
		t.Fatalf("no sheet: status %d", w.Code)
	}
	text := flat(htmlcheck.Page(t, ask(t, h, "GET", w.Header().Get("Location"), nil).Body).Find("main").Text())
	for _, want := range []string{"Vessel 1, ", "foam", "Kaolin", "Titanium dioxide"} {
		if !strings.Contains(text, want) {
			t.Errorf("the sheet does not say %q: %s", want, text)
		}
	}
}

func TestTheSheetOfACookedBatter(t *testing.T) {
	_, h := bookServer(t)
	at := webtest.Kept(t, h, lantern("method", "hot", "cook_loss_pct", "20", "fat.2.cooked", "on", "fat.1.pct", "90", "fat.2.pct", "10"))
	w := submit(t, h, "/bench", pairsForm("formula", strings.TrimPrefix(at, "/formulas/"), "by", "kept"))
	if w.Code != http.StatusSeeOther {
		t.Fatalf("no sheet: status %d", w.Code)
	}
	d := htmlcheck.Page(t, ask(t, h, "GET", w.Header().Get("Location"), nil).Body)
	text := flat(d.Find("main").Text())
	if !strings.Contains(text, "What the heat drives off") || !strings.Contains(text, "After the cook") {
		t.Errorf("the sheet: %s", text)
	}
}

func TestATestBatchShowsWhatTheScaleDoes(t *testing.T) {
	book, h := bookServer(t)
	at := webtest.Kept(t, h, lantern())
	d := htmlcheck.Page(t, ask(t, h, "GET", at, nil).Body)
	link, ok := d.Find(".page-head a").FilterFunction(func(_ int, a *goquery.Selection) bool { return flat(a.Text()) == "A test batch" }).Attr("href")
	if !ok {
		t.Fatal("the page of a formula has no way to a test batch")
	}
	d = htmlcheck.Page(t, ask(t, h, "GET", link, nil).Body)
	if value(d, "fats_g") != "100" {
		t.Errorf("the test batch is of %q g", value(d, "fats_g"))
	}
	look := flat(d.Find(".look").Text())
	// A step of 1 g on about 15 g of alkali.
	if !strings.Contains(look, "100 g fats") && !strings.Contains(look, "fats100 g") && !strings.Contains(look, "100 g") || !strings.Contains(look,
		"scale-coarse") {
		t.Errorf("100 g of fats on a scale of 1 g come to: %s", look)
	}
	for _, bad := range []string{"abc", "-5", "0", ""} {
		w := ask(t, h, "GET", "/bench?"+pairsForm("formula", strings.TrimPrefix(at, "/formulas/"), "by", "fats", "fats_g", bad).Encode(), nil)
		d := htmlcheck.Page(t, w.Body)
		if w.Code != http.StatusOK || d.Find(".summary a[href='#fats_g']").Length() != 1 || d.Find(".look").Length() != 0 {
			t.Errorf("%q g: status %d, %s", bad, w.Code, flat(d.Find(".summary").Text()))
		}
	}
	if page, err := book.Runs(context.Background(), studio.RunsOf{}, studio.Slice{Size: 5}); err != nil || page.Total != 0 {
		t.Errorf("looking made %d sheets: %v", page.Total, err)
	}
}
