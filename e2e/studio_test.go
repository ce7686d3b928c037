// The whole program in a real browser: the seeded demo studio on a database of
// its own, served as the maker's is.
//
// It needs Chromium, and for the checks of accessibility the file axe.min.js of
// axe-core (npm, MPL-2.0), named by BARWRIGHT_AXE. What is not there is skipped
// with a line that says so; where BARWRIGHT_CI is 1 it is a failure.

package e2e_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"barwright/catalogue"
	"barwright/internal/demo"
	"barwright/internal/store"
	"barwright/internal/web"
	"barwright/internal/web/shell"
	"barwright/studio"
)

// widths are a phone's, a tablet's and a laptop's, in CSS pixels.
var widths = []int64{390, 820, 1280}

// closing is what has to be closed when all tests are done, last first.
var closing []func()

// serverLog is what the server complained of.
var serverLog lockedBuffer

type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func TestMain(m *testing.M) {
	code := m.Run()
	for i := len(closing) - 1; i >= 0; i-- {
		closing[i]()
	}
	if said := serverLog.String(); strings.Contains(said, "level=ERROR") {
		fmt.Fprintf(os.Stderr, "the server went wrong while the tests ran:\n%s", said)
		code = max(code, 1)
	}
	os.Exit(code)
}

// demoStudio is the address of the seeded studio, without a slash at its end. It
// is opened once for all tests.
var demoStudio = sync.OnceValues(func() (string, error) {
	ctx, stop := context.WithCancel(context.Background())
	dir, err := os.MkdirTemp("", "barwright-e2e-")
	if err != nil {
		stop()
		return "", err
	}
	closing = append(closing, func() { _ = os.RemoveAll(dir) })
	base, err := catalogue.Default()
	if err != nil {
		stop()
		return "", err
	}
	records, err := store.Open(ctx, filepath.Join(dir, "studio.db"))
	if err != nil {
		stop()
		return "", err
	}
	// The day is always the same, so that pictures taken twice are alike; the
	// clock goes on from there, for what is kept later must be newer.
	began, day := time.Now(), time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)
	clock := func() time.Time { return day.Add(time.Since(began)) }
	if err := demo.Seed(ctx, records, base, day, "e2e"); err != nil {
		stop()
		return "", errors.Join(err, records.Close())
	}
	book := studio.New(records, base, clock, studio.NewID)
	log := slog.New(slog.NewTextHandler(&serverLog, &slog.HandlerOptions{Level: slog.LevelError}))
	pages, err := web.New(web.Config{Book: book, Config: shell.Config{
		Studio: func(ctx context.Context) (shell.Card, error) {
			set, err := book.Settings(ctx)
			return shell.Card{Name: set.StudioName, Demo: true}, err
		},
		Version: "e2e",
		Log:     log,
		Now:     clock,
	}})
	if err != nil {
		stop()
		return "", errors.Join(err, records.Close())
	}
	running, err := shell.Serve(ctx, pages, "127.0.0.1:0", log)
	if err != nil {
		stop()
		return "", errors.Join(err, records.Close())
	}
	closing = append(closing, func() {
		stop()
		_ = running.Wait()
		_ = records.Close()
	})
	return running.URL, nil
})

// openStudio is demoStudio for a test.
func openStudio(t *testing.T) string {
	t.Helper()
	url, err := demoStudio()
	if err != nil {
		t.Fatal(err)
	}
	return url
}

// missing skips a test whose tool is not on this machine, or fails it where
// everything has to be there.
func missing(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("BARWRIGHT_CI") == "1" {
		t.Fatal(what)
	}
	t.Skip(what)
}

var errNoBrowser = errors.New("no browser: install chromium to run this")

// browser is one Chromium for all tests. It can resolve no name: whatever would
// leave this machine fails.
var browser = sync.OnceValues(func() (context.Context, error) {
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		return nil, errNoBrowser
	}
	dir, err := os.MkdirTemp("", "barwright-e2e-browser-")
	if err != nil {
		return nil, err
	}
	// With motion reduced a page jumps where it would scroll smoothly: a press goes to
	// a place, and under load the page would still be moving below it.
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.ExecPath(path), chromedp.UserDataDir(dir),
		chromedp.Flag("force-prefers-reduced-motion", true), chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND , EXCLUDE 127.0.0.1"))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, stopTab := chromedp.NewContext(alloc)
	closing = append(closing, func() {
		stopTab()
		stop()
		_ = os.RemoveAll(dir)
	})
	return ctx, chromedp.Do(ctx) // the first call starts it, and takes no deadline
})

// openTab opens a tab of a width, which lives as long as the test, two minutes at most.
func openTab(t *testing.T, width int64) context.Context {
	t.Helper()
	parent, err := browser()
	if errors.Is(err, errNoBrowser) {
		missing(t, err.Error())
	}
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := chromedp.NewContext(parent)
	t.Cleanup(stop)
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, 900)); err != nil {
		t.Fatal(err)
	}
	// Several tabs are open at once; each is to draw as the one in front does.
	if _, err := chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true}); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(cancel)
	return ctx
}

// watched is what a tab has done that no page may do.
type watched struct {
	mu   sync.Mutex
	said []string
}

func (w *watched) add(format string, a ...any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.said = append(w.said, fmt.Sprintf(format, a...))
}

// take gives what was seen since the last time.
func (w *watched) take() []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	out := w.said
	w.said = nil
	return out
}

// watch notes errors on the console, errors of scripts, and requests to any place
// but base.
func watch(t *testing.T, ctx context.Context, base string) *watched {
	t.Helper()
	w := &watched{}
	err := chromedp.Listen(ctx, func(ev any) {
		switch e := ev.(type) {
		case *cdplog.EventEntryAdded:
			if string(e.Entry.Level) == "error" {
				w.add("on the console: %s %s", e.Entry.Text, e.Entry.URL)
			}
		case *runtime.EventConsoleAPICalled:
			if string(e.Type) == "error" || string(e.Type) == "assert" {
				said := ""
				for _, a := range e.Args {
					said += " " + string(a.Value) + a.Description
				}
				w.add("on the console:%s", said)
			}
		case *runtime.EventExceptionThrown:
			why := e.ExceptionDetails.Text
			if x := e.ExceptionDetails.Exception; x != nil {
				why += " " + x.Description
			}
			w.add("a script went wrong: %s", why)
		case *network.EventRequestWillBeSent:
			u := e.Request.URL
			if !strings.HasPrefix(u, base+"/") && !strings.HasPrefix(u, "data:") && !strings.HasPrefix(u, "about:") {
				w.add("asked for %s, which is not of this studio", u)
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// do takes steps in a tab.
func do(t *testing.T, ctx context.Context, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// ask evaluates a JavaScript expression.
func ask[T any](t *testing.T, ctx context.Context, expr string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expr))
	if err != nil {
		t.Fatalf("%s: %v", expr, err)
	}
	return v
}

// becomes waits until an expression is true. It asks from outside, for a page
// that runs no script has no timers, and a page that goes away answers nothing.
func becomes(t *testing.T, ctx context.Context, what, expr string) {
	t.Helper()
	var err error
	for end := time.Now().Add(15 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		var yes bool
		if yes, err = chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+expr+")")); err == nil && yes {
			return
		}
	}
	is, _ := chromedp.Run(ctx, chromedp.Evaluate[string](`location.href + '\n' + document.querySelector('main').innerText.slice(0, 3000)`))
	t.Fatalf("%s: never so (%s; %v); the page is\n%s", what, expr, err, is)
}

// whole is true once a page has all it needs, its fonts and modules too, and every
// change on it has its answer: after that nothing moves under the pointer.
const whole = `document.readyState === 'complete' && document.fonts.status === 'loaded' && !document.querySelector('[data-starting], [data-asking]')`

// settled waits until the page is whole: before a press, which goes to a place, and
// before what is read that the last key changed.
func settled(t *testing.T, ctx context.Context) {
	t.Helper()
	becomes(t, ctx, "the page settles", whole)
}

// soon is whether an expression becomes true within a few seconds.
func soon(ctx context.Context, expr string) bool {
	for end := time.Now().Add(5 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		if yes, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("!!("+expr+")")); err == nil && yes {
			return true
		}
	}
	return false
}

// tooWide says which elements make a page scroll sideways; none when it does not.
const tooWide = `(() => {
  const w = document.documentElement.clientWidth;
  if (document.scrollingElement.scrollWidth <= w) return [];
  const out = ['the page is ' + document.scrollingElement.scrollWidth + ' px wide in a window of ' + w];
  for (const e of document.body.querySelectorAll('*')) {
    if (e.getBoundingClientRect().right > w + 0.5 && out.length < 6) out.push(e.tagName + '.' + (e.getAttribute('class') ?? '') + '#' + e.id);
  }
  return out;
})()`

// axeFile is axe-core's own text, "" when it is not named.
var axeFile = sync.OnceValues(func() (string, error) {
	name := os.Getenv("BARWRIGHT_AXE")
	if name == "" {
		return "", nil
	}
	b, err := os.ReadFile(name)
	return string(b), err
})

const noAxe = "no axe-core: set BARWRIGHT_AXE to its axe.min.js to check accessibility"

// axe says what axe-core finds against WCAG 2.2 AA and its best practice on the
// page as it stands. The content policy lets in no script tag, so its text is
// evaluated from outside.
func axe(ctx context.Context, text string) ([]string, error) {
	if _, err := chromedp.Run(ctx, chromedp.Evaluate[bool](text+"\n;true")); err != nil {
		return nil, err
	}
	return chromedp.Run(ctx, chromedp.Evaluate[[]string](`axe.run(document, {
  runOnly: {type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}, resultTypes: ['violations'], preload: false,
}).then((r) => r.violations.map((v) => v.id + ' (' + v.impact + '): ' + v.help + ': '
  + v.nodes.slice(0, 3).map((n) => n.target.join(' ') + ' [' + n.failureSummary.replace(/\s+/g, ' ') + ']').join('; ') + ' of ' + v.nodes.length))`,
		chromedp.EvalAwaitPromise))
}
