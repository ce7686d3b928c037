package e2e_test

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"github.com/chromedp/chromedp"
)

// shape is an address with what differs from record to record taken out.
func shape(u *url.URL) string {
	parts := strings.Split(strings.Trim(u.Path, "/"), "/")
	if len(parts) > 1 && parts[1] != "new" && parts[1] != "compare" {
		parts[1] = "*"
	}
	if len(parts) > 3 {
		parts[3] = "*"
	}
	var keys []string
	for k, v := range u.Query() {
		if strings.Join(v, "") != "" {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	return strings.Join(parts, "/") + "?" + strings.Join(keys, "&")
}

// pages follows every link and every form that only asks, from / on, through at
// most two addresses of a shape. It gives those that answer with a page, and which
// of them only a form leads to; what else is linked must answer too.
func pages(t *testing.T, base string) (out []string, byForm map[string]bool) {
	t.Helper()
	root, err := url.Parse(base + "/")
	if err != nil {
		t.Fatal(err)
	}
	seen, shapes := map[string]bool{}, map[string]int{}
	byForm = map[string]bool{}
	queue := []*url.URL{root}
	for len(queue) > 0 {
		u := queue[0]
		queue = queue[1:]
		u.Fragment = ""
		if u.Host != root.Host || seen[u.String()] || strings.HasPrefix(u.Path, "/static/") {
			continue
		}
		seen[u.String()] = true
		if s := shape(u); shapes[s] >= 2 {
			continue
		} else {
			shapes[s]++
		}
		res, err := http.Get(u.String())
		if err != nil {
			t.Fatal(err)
		}
		if res.StatusCode != http.StatusOK {
			t.Errorf("%s is linked and answers %s", u.RequestURI(), res.Status)
		}
		if !strings.HasPrefix(res.Header.Get("Content-Type"), "text/html") {
			_ = res.Body.Close()
			continue
		}
		doc, err := goquery.NewDocumentFromReader(res.Body)
		_ = res.Body.Close()
		if err != nil {
			t.Fatal(err)
		}
		if res.StatusCode == http.StatusOK {
			out = append(out, u.RequestURI())
		}
		doc.Find("a[href]").Each(func(_ int, a *goquery.Selection) {
			if to, err := u.Parse(a.AttrOr("href", "")); err == nil {
				queue = append(queue, to)
			} else {
				t.Errorf("%s links to %q, which is no address", u.RequestURI(), a.AttrOr("href", ""))
			}
		})
		doc.Find("form").Each(func(_ int, f *goquery.Selection) {
			if !strings.EqualFold(f.AttrOr("method", "get"), "get") {
				return
			}
			to, err := u.Parse(f.AttrOr("action", ""))
			if err != nil {
				t.Errorf("%s has a form for %q, which is no address", u.RequestURI(), f.AttrOr("action", ""))
				return
			}
			// As if its last choice were taken, and nothing typed.
			q := url.Values{}
			f.Find("input[name]").Each(func(_ int, in *goquery.Selection) { q.Set(in.AttrOr("name", ""), in.AttrOr("value", "")) })
			f.Find("select[name]").Each(func(_ int, s *goquery.Selection) {
				q.Set(s.AttrOr("name", ""), s.Find("option").Last().AttrOr("value", ""))
			})
			to.RawQuery = q.Encode()
			if !seen[to.String()] {
				byForm[to.RequestURI()] = true
			}
			queue = append(queue, to)
		})
	}
	return out, byForm
}

// aSheet makes one bench sheet, so that there is one to look at, and gives
// its address.
func aSheet(t *testing.T, base string) string {
	t.Helper()
	res, err := http.Get(base + "/bench")
	if err != nil {
		t.Fatal(err)
	}
	doc, err := goquery.NewDocumentFromReader(res.Body)
	_ = res.Body.Close()
	if err != nil {
		t.Fatal(err)
	}
	option := func(sel, has string) string {
		v := doc.Find(sel+" option").FilterFunction(func(_ int, o *goquery.Selection) bool { return strings.HasPrefix(o.Text(), has) }).AttrOr("value", "")
		if v == "" {
			t.Fatalf("the bench offers no %s", has)
		}
		return v
	}
	res, err = http.PostForm(base+"/bench", url.Values{"once": {doc.Find("input[name=once]").AttrOr("value", "")}, "by": {"mould"},
		"formula": {option("#formula", "Storm lantern")}, "mould_id": {option("#mould_id", "Lighthouse")}, "pieces": {"6"}, "overage_pct": {"3"}})
	if err != nil {
		t.Fatal(err)
	}
	_ = res.Body.Close()
	at := res.Request.URL.Path
	if res.StatusCode != http.StatusOK || !strings.HasPrefix(at, "/bench/") {
		t.Fatalf("taking a sheet down answered %s at %s", res.Status, at)
	}
	return at
}

// Nothing leaves the machine, nothing goes wrong on the console, nothing scrolls
// sideways. TestEveryPageIsWhole goes over what links lead to at every width and
// with axe-core; here that is done with what only a form leads to.
func TestEveryPageKeepsToItself(t *testing.T) {
	base := openStudio(t)
	list, byForm := pages(t, base)
	t.Logf("%d pages, %d of them by a form", len(list), len(byForm))
	if len(list) < 10 {
		t.Fatalf("only %d pages are linked from /: this would test little", len(list))
	}
	text, err := axeFile()
	if err != nil {
		t.Fatal(err)
	}
	for _, width := range widths {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			t.Parallel()
			ctx := openTab(t, width)
			w := watch(t, ctx, base)
			var barred []string
			for _, page := range list {
				if width != widths[1] && !byForm[page] {
					continue // what a page asks for is the same at every width
				}
				do(t, ctx, chromedp.Navigate(base+page))
				if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.fonts.ready.then(() => true)`, chromedp.EvalAwaitPromise)); err != nil {
					t.Fatalf("%s: %v", page, err)
				}
				for _, wide := range ask[[]string](t, ctx, tooWide) {
					t.Errorf("%s scrolls sideways: %s", page, wide)
				}
				for _, said := range w.take() {
					t.Errorf("%s: %s", page, said)
				}
				if text == "" || !byForm[page] {
					continue
				}
				found, err := axe(ctx, text)
				if err != nil {
					t.Fatalf("%s: axe: %v", page, err)
				}
				for _, f := range found {
					barred = append(barred, page+": "+f)
				}
				w.take() // what axe itself does is not the page's
			}
			t.Run("axe", func(t *testing.T) {
				if text == "" {
					missing(t, noAxe)
				}
				for _, b := range barred {
					t.Error(b)
				}
			})
		})
	}
}
