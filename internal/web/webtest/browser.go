package webtest

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// Browser starts a real one, for what only a browser can show. Where none is
// installed the test is skipped, except in CI, where that is a failure.
func Browser(t testing.TB) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		if os.Getenv("BARWRIGHT_CI") == "1" {
			t.Fatal("no browser: install chromium")
		}
		t.Skip("no browser here: install chromium to run this")
	}
	// With motion reduced a page jumps where it would scroll smoothly: a press goes to
	// a place, and under load the page would still be moving below it.
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.ExecPath(path), chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("force-prefers-reduced-motion", true))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(stop)
	ctx, stopTab := chromedp.NewContext(alloc)
	t.Cleanup(stopTab)
	if err := chromedp.Do(ctx); err != nil { // the first call starts it, and takes no deadline
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(ctx, 60*time.Second)
	t.Cleanup(cancel)
	return ctx
}

// Becomes waits until a JavaScript expression is true.
func Becomes(t testing.TB, ctx context.Context, what, expr string) {
	t.Helper()
	if _, err := chromedp.Run(ctx, chromedp.Poll[bool](expr, chromedp.WithPollingTimeout(30*time.Second))); err != nil {
		is, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`document.querySelector('main').innerHTML + ' focus:' + document.activeElement.id`))
		t.Fatalf("%s: never so (%v); the page is\n%s", what, err, is)
	}
}

// Settled waits until modules have started, fonts are there and every change has
// its answer on the page: then nothing moves under the pointer any more.
func Settled(t testing.TB, ctx context.Context) {
	t.Helper()
	Becomes(t, ctx, "the page settles",
		`document.readyState === 'complete' && document.fonts.status === 'loaded' && !document.querySelector('[data-starting], [data-asking]')`)
}

// Read is the value of a JavaScript expression.
func Read(t testing.TB, ctx context.Context, expr string) string {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[string](expr))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Click presses what a selector names once the page stands still: a press goes to
// a place, and an answer or a font that comes meanwhile moves what was there.
func Click(t testing.TB, ctx context.Context, sel string) {
	t.Helper()
	Settled(t, ctx)
	Do(t, ctx, chromedp.Click(sel))
}

// Do takes steps in the browser, and fails the test when one cannot be taken.
func Do(t testing.TB, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.Fatal(err)
	}
}
