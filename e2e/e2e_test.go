// Package e2e walks the made-up studio as a maker does, in a real browser.
package e2e

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/PuerkitoBio/goquery"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"barwright/catalogue"
	"barwright/internal/demo"
	"barwright/internal/store"
	"barwright/internal/web"
	"barwright/internal/web/shell"
	"barwright/studio"
)

// widths are a phone, a tablet held upright and a desk, CSS px.
var widths = []int64{390, 820, 1280}

// missing skips a test for what the machine lacks, and fails it in CI, where
// nothing may be skipped.
func missing(t *testing.T, why string) {
	t.Helper()
	if os.Getenv("BARWRIGHT_CI") == "1" {
		t.Fatal(why)
	}
	t.Skip(why)
}

// serve is the made-up studio on a loopback port, with the handler that makers
// get; or, with seed false, a studio on its first evening.
func serve(t *testing.T, seed bool) string {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	base, err := catalogue.Default()
	if err != nil {
		t.Fatal(err)
	}
	records, err := store.Open(ctx, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	if seed {
		if err := demo.Seed(ctx, records, base, time.Now(), "test"); err != nil {
			t.Fatal(err)
		}
	}
	book := studio.New(records, base, time.Now, studio.NewID)
	quiet := slog.New(slog.NewTextHandler(testWriter{t}, &slog.HandlerOptions{Level: slog.LevelError}))
	h, err := web.New(web.Config{Book: book, Config: shell.Config{
		Studio: func(ctx context.Context) (shell.Card, error) {
			set, err := book.Settings(ctx)
			return shell.Card{Name: set.StudioName, Demo: seed}, err
		},
		Version: "test", Log: quiet,
	}})
	if err != nil {
		t.Fatal(err)
	}
	running, err := shell.Serve(ctx, h, "127.0.0.1:0", quiet)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		stop()
		if err := running.Wait(); err != nil {
			t.Error(err)
		}
		if err := records.Close(); err != nil {
			t.Error(err)
		}
	})
	return running.URL
}

type testWriter struct{ t *testing.T }

func (w testWriter) Write(b []byte) (int, error) {
	w.t.Errorf("the server logged: %s", b)
	return len(b), nil
}

// browser starts a browser; each tab is made from what it returns.
func browser(t *testing.T) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		missing(t, "no browser here: install chromium to run this")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.ExecPath(path), chromedp.UserDataDir(t.TempDir()))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(stop)
	ctx, stopAll := chromedp.NewContext(alloc)
	t.Cleanup(stopAll)
	if err := chromedp.Do(ctx); err != nil { // the first call starts it, and takes no deadline
		t.Fatal(err)
	}
	return ctx
}

// tab is a page of a browser that gathers what goes wrong in it.
type tab struct {
	t   *testing.T
	ctx context.Context

	mu  sync.Mutex
	bad []string
}

func newTab(t *testing.T, from context.Context, width int64) *tab {
	t.Helper()
	ctx, stop := chromedp.NewContext(from)
	t.Cleanup(stop)
	p := &tab{t: t, ctx: ctx}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900)); err != nil {
		t.Fatal(err)
	}
	err := chromedp.Listen(ctx, func(ev any) {
		said := ""
		switch ev := ev.(type) {
		case *runtime.EventExceptionThrown:
			said = fmt.Sprintf("exception: %+v", ev.ExceptionDetails)
		case *runtime.EventConsoleAPICalled:
			if what := fmt.Sprint(ev.Type); what == "error" || what == "warning" || what == "assert" {
				said = fmt.Sprintf("console.%s: %v", ev.Type, ev.Args)
			}
		case *log.EventEntryAdded:
			if what := fmt.Sprint(ev.Entry.Level); what == "error" || what == "warning" {
				said = ev.Entry.Text + " " + ev.Entry.URL
			}
		}
		if said != "" {
			p.mu.Lock()
			p.bad = append(p.bad, said)
			p.mu.Unlock()
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// complaints are what the browser said since they were last asked for.
func (p *tab) complaints() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := p.bad
	p.bad = nil
	return out
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, 60*time.Second)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.t.Fatalf("%v\nthe browser said: %q", err, p.complaints())
	}
}

func eval[T any](p *tab, expr string, opts ...chromedp.EvaluateOption) T {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, 60*time.Second)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expr, opts...))
	if err != nil {
		p.t.Fatalf("%.80s: %v", expr, err)
	}
	return v
}

// follow does what opens another page, and gives that page's status and address.
func (p *tab) follow(steps ...chromedp.Action[chromedp.Void]) (int64, string) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, 60*time.Second)
	defer stop()
	res, err := chromedp.RunResponse(ctx, steps...)
	if err != nil {
		p.t.Fatalf("%v\nthe browser said: %q", err, p.complaints())
	}
	return res.Status, res.URL
}

func get(t *testing.T, address string) (*http.Response, []byte) {
	t.Helper()
	res, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return res, b
}

var unlike = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f-]{27}|\d+`)

// pages are the addresses of the studio's pages that links lead to from the
// first one, at most two of a shape (one where a
// query makes the shape), each answering 200 with HTML.
func pages(t *testing.T, base string) []string {
	t.Helper()
	seen, shapes := map[string]bool{"/": true}, map[string]int{}
	var out []string
	for todo := []string{"/"}; len(todo) > 0; todo = todo[1:] {
		at := todo[0]
		res, body := get(t, base+at)
		if res.StatusCode != http.StatusOK {
			t.Errorf("%s: a link leads here, to status %d", at, res.StatusCode)
			continue
		}
		if !strings.HasPrefix(res.Header.Get("Content-Type"), "text/html") {
			continue
		}
		out = append(out, at)
		d, err := goquery.NewDocumentFromReader(strings.NewReader(string(body)))
		if err != nil {
			t.Fatal(err)
		}
		here, err := url.Parse(base + at)
		if err != nil {
			t.Fatal(err)
		}
		d.Find("a[href]").Each(func(_ int, a *goquery.Selection) {
			to, err := here.Parse(a.AttrOr("href", ""))
			if err != nil {
				t.Errorf("%s: the link %q: %v", at, a.AttrOr("href", ""), err)
				return
			}
			if to.Host != here.Host {
				return
			}
			to.Fragment = ""
			next := to.RequestURI()
			if seen[next] {
				return
			}
			seen[next] = true
			shape := shapeOf(to)
			most := 2
			if to.RawQuery != "" {
				most = 1 // the same page, asked otherwise
			}
			if shapes[shape]++; shapes[shape] <= most {
				todo = append(todo, next)
			}
		})
	}
	return out
}

// shapeOf is what an address has in common with its like: ingredients have
// names for numbers, so below a place only the depth tells.
func shapeOf(u *url.URL) string {
	p := unlike.ReplaceAllString(u.Path, "*")
	if parts := strings.Split(p, "/"); len(parts) > 2 && parts[1] == "ingredients" && parts[2] != "new" {
		parts[2] = "*"
		p = strings.Join(parts, "/")
	}
	keys := ""
	for k := range u.Query() {
		keys += "?" + k
	}
	if strings.Count(keys, "?") > 1 {
		keys = "?…"
	}
	return p + keys
}

// axe gives the source of axe-core (npm axe-core, axe.min.js).
func axe(t *testing.T) string {
	t.Helper()
	path := os.Getenv("BARWRIGHT_AXE")
	if path == "" {
		missing(t, "BARWRIGHT_AXE does not name axe.min.js of axe-core: npm install axe-core to run this")
	}
	b, err := os.ReadFile(path)
	if err != nil {
		missing(t, "axe-core cannot be read: "+err.Error())
	}
	return string(b)
}

// faults are what is wrong with the page that stands in the tab: it scrolls
// sideways, axe-core has a violation, the browser complained.
func (p *tab) faults(source string) (out []string) {
	p.t.Helper()
	wide := eval[string](p, `(() => { const d = document.documentElement, w = d.clientWidth;
		if (d.scrollWidth <= w) return '';
		return d.scrollWidth + ' px wide: ' + [...document.body.querySelectorAll('*')].filter(e => e.getBoundingClientRect().right > w + 1)
			.slice(0, 4).map(e => e.tagName + '.' + (e.getAttribute('class') || '')).join(', '); })()`)
	if wide != "" {
		out = append(out, "scrolls sideways: "+wide)
	}
	p.do(chromedp.Evaluate[chromedp.Void](source + "\n;void 0"))
	raw := eval[string](p, `axe.run(document, {resultTypes: ['violations'], preload: false}).then(r => JSON.stringify(r.violations.map(v =>
		({id: v.id, help: v.help, at: v.nodes.slice(0, 3).map(n => n.target.join(' ') + ': ' + n.failureSummary)}))))`, chromedp.EvalAwaitPromise)
	var found []struct {
		ID, Help string
		At       []string
	}
	if err := json.Unmarshal([]byte(raw), &found); err != nil {
		p.t.Fatal(err)
	}
	for _, v := range found {
		out = append(out, fmt.Sprintf("axe %s (%s): %s", v.ID, v.Help, strings.Join(v.At, " | ")))
	}
	for _, c := range p.complaints() {
		out = append(out, "the browser said: "+c)
	}
	return out
}

// The checks find what is planted, so that their silence means something.
func TestTheChecksSee(t *testing.T) {
	source := axe(t)
	p := newTab(t, browser(t), 390)
	p.do(chromedp.Navigate(serve(t, true)+"/about"), chromedp.WaitReady("main"))
	if f := p.faults(source); len(f) > 0 {
		t.Fatalf("the page is not clean to begin with: %q", f)
	}
	p.do(chromedp.Evaluate[chromedp.Void](`void (document.querySelector('main').insertAdjacentHTML('beforeend',
		'<p class="planted" id="planted">x</p><input id="nameless">'), document.getElementById('planted').style.width = '2000px',
		console.error('planted'))`))
	all := strings.Join(p.faults(source), "\n")
	for _, want := range []string{"scrolls sideways", "P.planted", "axe label", "console.error"} {
		if !strings.Contains(all, want) {
			t.Errorf("%q was not found in:\n%s", want, all)
		}
	}
}

// Every page at every width: the browser has nothing to complain of, nothing
// sticks out at the side, and axe-core 4 (rules of WCAG 2.2 A and AA, and its
// best practices) finds no violation.
func TestEveryPageIsWhole(t *testing.T) {
	source := axe(t)
	chrome := browser(t)
	base := serve(t, true)
	const nowhere = "/no-such-page"
	list := append(pages(t, base), "/formulas?q=no-such-name", nowhere)
	t.Logf("%d pages: %s", len(list), strings.Join(list, " "))
	if len(list) < 6 {
		t.Fatalf("only %d pages were found", len(list))
	}
	for _, width := range widths {
		t.Run(fmt.Sprint(width), func(t *testing.T) {
			t.Parallel()
			p := newTab(t, chrome, width)
			for _, at := range list {
				p.do(chromedp.Navigate(base+at), chromedp.WaitReady("main"))
				for _, f := range p.faults(source) {
					if at == nowhere && strings.Contains(f, "404 (Not Found) "+base+nowhere) {
						continue // what a browser says of any page that is not there
					}
					t.Errorf("%s: %s", at, f)
				}
			}
		})
	}
}

// The first evening: nothing is kept yet, and every place says how it begins.
func TestAnEmptyStudioIsWhole(t *testing.T) {
	source := axe(t)
	base := serve(t, false)
	p := newTab(t, browser(t), 390)
	for _, at := range []string{"/", "/formulas", "/moulds", "/bench", "/studio", "/formulas/compare", "/moulds?archived=1"} {
		status, _ := p.follow(chromedp.Navigate(base + at))
		if status != http.StatusOK {
			t.Errorf("%s: status %d", at, status)
		}
		for _, f := range p.faults(source) {
			t.Errorf("%s: %s", at, f)
		}
	}
}
