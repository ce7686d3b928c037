package e2e_test

import (
	"flag"
	"image/png"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/chromedp/chromedp"
)

var update = flag.Bool("update", false, "take the pictures of docs/pictures anew")

// readmePicture is a picture in the README.
var readmePicture = regexp.MustCompile(`\]\((docs/pictures/[^)]+\.png)\)`)

// TestPicturesForTheReadme holds that every picture that the README shows is
// there and is one, and takes them anew, of the demo:
// go test ./e2e -run Pictures -update.
func TestPicturesForTheReadme(t *testing.T) {
	if *update {
		takePictures(t)
	}
	text, err := os.ReadFile(filepath.Join("..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	shown := readmePicture.FindAllStringSubmatch(string(text), -1)
	if len(shown) == 0 {
		t.Fatal("the README shows no picture: this test has tested nothing")
	}
	for _, m := range shown {
		f, err := os.Open(filepath.Join("..", filepath.FromSlash(m[1])))
		if err != nil {
			t.Error(err)
			continue
		}
		c, err := png.DecodeConfig(f)
		_ = f.Close()
		if err != nil || c.Width < 390 {
			t.Errorf("%s is no picture of a page: %v", m[1], err)
		}
	}
}

func takePictures(t *testing.T) {
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
	lighthouse := rowCalled(t, base, "/designs?q=lighthouse", "Lighthouse")
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
		{"design-1280", lighthouse, 1280, 1000},
		{"need-1280", lighthouse + "/need?pieces=36", 1280, 1240},
		{"need-390", lighthouse + "/need?pieces=36", 390, 1200},
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
		shot, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
		if err != nil {
			t.Fatal(err)
		}
		if len(shot) > 400_000 {
			t.Errorf("%s is %d bytes: take less of the page", p.name, len(shot))
		}
		if err := os.WriteFile(filepath.Join(dir, p.name+".png"), shot, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
