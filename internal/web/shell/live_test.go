package shell

import (
	"fmt"
	"net"
	"net/http"
	"sort"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"barwright/fault"
)

// A page as an author writes it: a live form with rows. Its arithmetic is the
// server's, as everywhere.
const liveFixture = `<!doctype html><html lang="en-GB"><head><title>f</title><script type="module" src="%s"></script></head><body><main>
<section class="summary" role="alert">as it was sent</section>
<form id="f" method="post" action="/fixture" data-module="live rows" data-action="/fixture/live">
%s
<template><p data-row><input name="fat.__i__.share" id="fat.__i__.share" aria-label="share"><output data-live="weigh-__i__"></output>
<button type="submit" name="do" value="remove-fat.__i__" data-row-remove>Remove</button></p></template>
<button type="submit" id="add" name="do" value="add-fat" data-rows-add>Add a fat</button>
<p class="live-status" role="status" data-live-status></p>
</form><p id="sum">nothing yet</p><details id="d"><summary>more</summary><p>x</p></details></main></body></html>`

func liveServer(t *testing.T) (base string, asked *atomic.Int64, stop func()) {
	t.Helper()
	s := newTestShell(t, testConfig())
	asked = &atomic.Int64{}
	rows := func(r *http.Request) (string, float64, error) {
		var names []string
		for name := range r.PostForm {
			if strings.HasPrefix(name, "fat.") {
				names = append(names, name)
			}
		}
		sort.Strings(names)
		var b strings.Builder
		sum := 0.0
		b.WriteString(`<section id="fats"><div data-rows-list>`)
		for _, name := range names {
			i := strings.TrimSuffix(strings.TrimPrefix(name, "fat."), ".share")
			v := 0.0
			if typed := r.PostForm.Get(name); typed != "" {
				var err error
				if v, err = strconv.ParseFloat(typed, 64); err != nil {
					return "", 0, fault.Invalidf(name, "%q is no number.", typed)
				}
			}
			sum += v
			// The answer writes another value into the entry on purpose: what is
			// being typed must not be taken away.
			fmt.Fprintf(&b, `<p data-row><input name="%s" id="%s" aria-label="share" value="overwritten"><output data-live="weigh-%s">%g g</output>`+
				`<button type="submit" name="do" value="remove-fat.%s" data-row-remove>Remove</button></p>`, name, name, i, v*10, i)
		}
		b.WriteString(`</div></section>`)
		return b.String(), sum, nil
	}
	s.Handle("GET /fixture", func(w http.ResponseWriter, r *http.Request) error {
		js, err := s.assets.url("js/main.js")
		if err != nil {
			return err
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, err = fmt.Fprintf(w, liveFixture, js,
			`<section id="fats"><div data-rows-list><p data-row><input name="fat.1.share" id="fat.1.share" aria-label="share"><output data-live="weigh-1"></output><button type="submit" name="do" value="remove-fat.1" data-row-remove>Remove</button></p></div></section>`)
		return err
	})
	s.Handle("POST /fixture/live", func(w http.ResponseWriter, r *http.Request) error {
		asked.Add(1)
		if err := r.ParseForm(); err != nil {
			return err
		}
		list, sum, err := rows(r)
		if err != nil {
			return err
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_, err = fmt.Fprintf(w, `%s<p id="sum">%g</p><p id="not-on-the-page">x</p>`, list, sum)
		return err
	})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	srv := &http.Server{Handler: s.Handler(), ReadHeaderTimeout: time.Second}
	go func() { _ = srv.Serve(l) }()
	stop = func() { _ = srv.Close() }
	t.Cleanup(stop)
	return "http://" + l.Addr().String(), asked, stop
}

func TestALiveFormFollowsTheTyping(t *testing.T) {
	ctx := browser(t)
	base, asked, stop := liveServer(t)
	do(t, ctx, chromedp.Navigate(base+"/fixture"), chromedp.WaitVisible("[name='fat.1.share']"))
	settled(t, ctx)
	do(t, ctx, chromedp.Evaluate[chromedp.Void](`void (window.stayed = true, document.getElementById('d').open = true)`))

	do(t, ctx, chromedp.SendKeys("[name='fat.1.share']", "62"))
	becomes(t, ctx, "the sum outside the form is renewed", `document.getElementById('sum').textContent === '62'`)
	becomes(t, ctx, "beside the caret, what is marked is renewed", `document.querySelector('[data-live=weigh-1]').textContent === '620 g'`)
	becomes(t, ctx, "the entry keeps the caret and what was typed",
		`document.activeElement.id === 'fat.1.share' && document.activeElement.value === '62' && document.activeElement.selectionStart === 2`)

	becomes(t, ctx, "the summary of what was sent is gone", `document.querySelector('.summary') === null`)
	click(t, ctx, "#add")
	becomes(t, ctx, "a row is added and has the focus", `document.activeElement.name === 'fat.2.share'`)
	do(t, ctx, chromedp.SendKeys("[name='fat.2.share']", "8"))
	becomes(t, ctx, "the new row counts", `document.getElementById('sum').textContent === '70'`)

	do(t, ctx, chromedp.SendKeys("[name='fat.2.share']", "x"))
	becomes(t, ctx, "a refusal is said", `document.querySelector('[data-live-status]').textContent === 'not worked out: "8x" is no number.'`)
	becomes(t, ctx, "what was worked out before stays",
		`document.getElementById('sum').textContent === '70' && document.getElementById('f').hasAttribute('data-stale')`)
	do(t, ctx, chromedp.SendKeys("[name='fat.2.share']", "\b"))
	becomes(t, ctx, "and is taken back",
		`document.querySelector('[data-live-status]').textContent === '' && !document.getElementById('f').hasAttribute('data-stale')`)

	click(t, ctx, "[value='remove-fat.1']")
	becomes(t, ctx, "a row taken away no longer counts",
		`document.getElementById('sum').textContent === '8' && document.querySelectorAll('[data-row]').length === 1`)
	becomes(t, ctx, "the key beside it has the focus, in a list that was renewed",
		`document.activeElement.value === 'remove-fat.2' && document.activeElement.isConnected && document.getElementById('fat.2.share').value === 'overwritten'`)
	becomes(t, ctx, "all that on one page", `window.stayed === true && document.getElementById('d').open`)
	if asked.Load() == 0 {
		t.Fatal("the server was never asked: this test has tested nothing")
	}

	stop()
	do(t, ctx, chromedp.SendKeys("[name='fat.2.share']", "9"))
	becomes(t, ctx, "silence is said", `document.querySelector('[data-live-status]').textContent === 'not worked out: the program does not answer'`)
}

func TestTheArithmeticOfTheModules(t *testing.T) {
	ctx := browser(t)
	base, _, _ := liveServer(t)
	s := newTestShell(t, testConfig())
	do(t, ctx, chromedp.Navigate(base+"/fixture"))
	for _, c := range []struct{ file, expr, want string }{
		{"rows", `m.nextIndex([])`, "1"},
		{"rows", `m.nextIndex(["fat.1.pct", "fat.10.pct", "name", "lye-2", "fat.4.id"])`, "11"},
		{"rows", `m.nextIndex(["water_g.1", "water_g.3"])`, "4"},
		{"live", `(() => {
			const f = document.getElementById('f');
			f.insertAdjacentHTML('beforeend', '<div class="field field-fault"><input id="x.1" aria-invalid="true" aria-describedby="x.1-hint x.1-fault">' +
				'<p class="fault" id="x.1-fault">No.</p></div>');
			m.clearFaults(f);
			return [document.querySelector('.summary, .fault, .field-fault, [aria-invalid]'), document.getElementById('x.1').getAttribute('aria-describedby')];
		})()`, ",x.1-hint"},
		{"main", `m.moduleNames(" live  rows ../x A http://x ").join("|")`, "live|rows"},
		{"live", `m.reason(422, "The fats add up to 98 %.\n")`, "The fats add up to 98 %."},
		{"live", `m.reason(500, "<html>")`, "the program answered 500"},
		{"live", `m.reason(200, "anything")`, "the program answered 200"},
		{"live", `m.reason(500, "")`, "the program answered 500"},
	} {
		file, err := s.assets.url("js/" + c.file + ".js")
		if err != nil {
			t.Fatal(err)
		}
		got, err := chromedp.Run(ctx, chromedp.Evaluate[string](`import("`+file+`").then((m) => String(`+c.expr+`))`, chromedp.EvalAwaitPromise))
		if err != nil || got != c.want {
			t.Errorf("%s: %s = %q (%v), want %q", c.file, c.expr, got, err, c.want)
		}
	}
}

// TestWhatWasTypedBeforeTheModuleCameIsAnswered: a hand may be faster than the
// network, and a browser fills a form that was gone back to by itself.
func TestWhatWasTypedBeforeTheModuleCameIsAnswered(t *testing.T) {
	ctx := browser(t)
	base, _, _ := liveServer(t)
	do(t, ctx, chromedp.Navigate(base+"/about"), chromedp.WaitReady("main"))
	settled(t, ctx)
	do(t, ctx, chromedp.Evaluate[chromedp.Void](`fetch('/fixture').then((r) => r.text()).then((html) => {
		const fresh = new DOMParser().parseFromString(html, 'text/html');
		document.querySelector('main').replaceWith(document.importNode(fresh.querySelector('main'), true));
		document.getElementById('fat.1.share').value = '62';
		return import(fresh.querySelector('script').src).then((m) => m.start(document.body));
	}).then(() => undefined)`, chromedp.EvalAwaitPromise))
	becomes(t, ctx, "it is worked out without another key", `document.getElementById('sum')?.textContent === '62'`)
}
