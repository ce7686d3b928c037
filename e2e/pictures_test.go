package e2e_test

import (
	"flag"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/chromedp/chromedp"
)

var update = flag.Bool("update", false, "take the pictures of docs/pictures anew")

// TestPicturesForTheReadme takes the pictures that the README shows, of the
// demo: go test ./e2e -run Pictures -update.
func TestPicturesForTheReadme(t *testing.T) {
	if !*update {
		t.Skip("pictures are taken with -update only")
	}
	base := openStudio(t)
	sheet := aSheet(t, base)
	res, err := http.Get(base + "/formulas?q=storm")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(res.Body)
	_ = res.Body.Close()
	if err != nil {
		t.Fatal(err)
	}
	formula := ""
	doc.Find("a.row-name").Each(func(_ int, a *goquery.Selection) {
		if strings.TrimSpace(a.Text()) == "Storm lantern" {
			formula = a.AttrOr("href", "")
		}
	})
	if formula == "" {
		t.Fatal("the demo has no Storm lantern")
	}
	dir := filepath.Join("..", "docs", "pictures")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, p := range []struct {
		name, path    string
		width, height int64
	}{
		{"formula-1280", formula, 1280, 1080},
		{"formula-390", formula, 390, 1200},
		{"bench-sheet-1280", sheet, 1280, 1480},
		{"moulds-1280", "/moulds", 1280, 640},
		{"today-1280", "/", 1280, 900},
	} {
		ctx := openTab(t, p.width)
		do(t, ctx, chromedp.EmulateViewport(p.width, p.height), chromedp.Navigate(base+p.path))
		if at := ask[string](t, ctx, `document.querySelector('main h1')?.textContent ?? ''`); at == "" || strings.Contains(at, "not here") {
			t.Errorf("%s is no page yet: %q", p.path, at)
			continue
		}
		if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.fonts.ready.then(() => true)`, chromedp.EvalAwaitPromise)); err != nil {
			t.Fatal(err)
		}
		png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
		if err != nil {
			t.Fatal(err)
		}
		if len(png) > 400_000 {
			t.Errorf("%s is %d bytes: take less of the page", p.name, len(png))
		}
		if err := os.WriteFile(filepath.Join(dir, p.name+".png"), png, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
