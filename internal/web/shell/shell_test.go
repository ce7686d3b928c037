package shell

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"barwright/fault"
	"barwright/internal/web/htmlcheck"
	"barwright/internal/web/webtest"
)

// testConfig is a studio with a name and nothing in it.
func testConfig() Config {
	return Config{
		Version: "0.0-test",
		Studio:  func(context.Context) (Card, error) { return Card{Name: "Quillfen studio", Demo: true}, nil },
		Log:     slog.New(slog.DiscardHandler),
	}
}

func newTestShell(t testing.TB, cfg Config) *Shell {
	t.Helper()
	s, err := New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The helpers of every test of pages.
var (
	ask     = webtest.Ask
	browser = webtest.Browser
	becomes = webtest.Becomes
	settled = webtest.Settled
	click   = webtest.Click
	do      = webtest.Do
)

func TestEveryShellPageIsSound(t *testing.T) {
	s := newTestShell(t, testConfig())
	h := s.Handler()
	pages := 0
	for path := range s.paths {
		t.Run(path, func(t *testing.T) {
			w := ask(t, h, "GET", path, nil)
			if w.Code != http.StatusOK {
				t.Fatalf("status %d", w.Code)
			}
			htmlcheck.Page(t, w.Body)
		})
		pages++
	}
	if pages < 2 {
		t.Fatalf("%d pages: this test has tested next to nothing", pages)
	}
}

func TestTheHomeAddressLeadsSomewhere(t *testing.T) {
	w := ask(t, newTestShell(t, testConfig()).Handler(), "GET", "/", nil)
	if w.Code != http.StatusSeeOther && w.Code != http.StatusOK {
		t.Errorf("status %d", w.Code)
	}
}

func TestPlacesStandInTheHeadOnlyWhenTheyExist(t *testing.T) {
	s := newTestShell(t, testConfig())
	if s.paths["/moulds"] {
		t.Fatal("a shell without records has a page of moulds")
	}
	s.Place("Formulas", "/formulas")
	s.Place("Moulds", "/moulds")
	s.Handle("GET /moulds", s.parts)
	s.Handle("GET /moulds/{id}", s.parts)
	s.Handle("GET /mouldsmith", s.parts) // begins like the place, and lies in none
	for path, current := range map[string]string{"/moulds": "/moulds", "/moulds/7": "/moulds", "/parts": "", "/mouldsmith": ""} {
		d := htmlcheck.Page(t, ask(t, s.Handler(), "GET", path, nil).Body)
		if n := d.Find("nav.places a[href='/moulds']").Length(); n != 1 {
			t.Errorf("%s: %d links to the moulds, want 1", path, n)
		}
		if n := d.Find("nav.places a[href='/formulas']").Length(); n != 0 {
			t.Errorf("%s: there is a link to formulas, which have no page", path)
		}
		if got := d.Find("nav.places [aria-current]").AttrOr("href", ""); got != current {
			t.Errorf("%s: %q is underlined, want %q", path, got, current)
		}
	}
	d := htmlcheck.Page(t, ask(t, s.Handler(), "GET", "/about", nil).Body)
	if got := d.Find(".studio").Text(); got != "Quillfen studio, invented demo" {
		t.Errorf("the head says %q", got)
	}
}

// The headers are those that OWASP's list for HTML answers asks for
// (cheatsheetseries.owasp.org, HTTP Headers), from memory.
func TestHeadersStandOnEveryAnswer(t *testing.T) {
	h := newTestShell(t, testConfig()).Handler()
	for _, c := range []struct {
		name string
		w    *httptest.ResponseRecorder
	}{
		{"a page", ask(t, h, "GET", "/about", nil)},
		{"no page", ask(t, h, "GET", "/nowhere", nil)},
		{"another host", ask(t, h, "GET", "/about", nil, func(r *http.Request) { r.Host = "evil.example" })},
		{"a static file", ask(t, h, "GET", "/static/x/"+styleSheet, nil)},
		{"health", ask(t, h, "GET", "/healthz", nil)},
	} {
		for name, want := range map[string]string{
			"Content-Security-Policy":    "default-src 'none'",
			"X-Content-Type-Options":     "nosniff",
			"Referrer-Policy":            "same-origin",
			"Cross-Origin-Opener-Policy": "same-origin",
			"Permissions-Policy":         "camera=()",
		} {
			if got := c.w.Header().Get(name); !strings.HasPrefix(got, want) {
				t.Errorf("%s: %s is %q, want %q", c.name, name, got, want)
			}
		}
		csp := c.w.Header().Get("Content-Security-Policy")
		if strings.Contains(csp, "unsafe") || strings.Contains(csp, "*") || !strings.Contains(csp, "frame-ancestors 'none'") {
			t.Errorf("%s: the policy lets too much: %s", c.name, csp)
		}
	}
}

func TestOnlyTheStudiosOwnNamesAreAnswered(t *testing.T) {
	cfg := testConfig()
	cfg.Hosts = []string{"Bench.lan"}
	h := newTestShell(t, cfg).Handler()
	for _, host := range []string{"127.0.0.1", "127.0.0.1:4870", "localhost:9", "LOCALHOST", "localhost.:80", "[::1]:4870", "[::1]", "bench.lan",
		"bench.lan:4870"} {
		if w := ask(t, h, "GET", "/about", nil, func(r *http.Request) { r.Host = host }); w.Code != http.StatusOK {
			t.Errorf("%q: status %d, want 200", host, w.Code)
		}
	}
	for _, host := range []string{"", "evil.example", "127.0.0.1.evil.example", "localhost.evil.example:4870", "evil.example:127", "0.0.0.0",
		"127.0.0.2:4870", "[::2]", "bench.lan.evil.example", "user@localhost", "::1x"} {
		w := ask(t, h, "GET", "/about", nil, func(r *http.Request) { r.Host = host })
		if w.Code != http.StatusMisdirectedRequest {
			t.Errorf("%q: status %d, want 421", host, w.Code)
		}
		if body := w.Body.String(); strings.Contains(body, "Quillfen") || !strings.Contains(body, "does not answer to that name") {
			t.Errorf("%q: answered with %q", host, body)
		}
	}
	for _, bad := range []string{"", "http://bench.lan", "bench.lan:80", "*", "a b"} {
		cfg.Hosts = []string{bad}
		if _, err := New(cfg); err == nil {
			t.Errorf("host %q was taken", bad)
		}
	}
}

// No method gets past the check of the name.
func TestNothingIsDoneUnderAnotherName(t *testing.T) {
	s := newTestShell(t, testConfig())
	done := 0
	for _, method := range []string{"GET", "POST", "PUT", "DELETE"} {
		s.Handle(method+" /try", func(http.ResponseWriter, *http.Request) error { done++; return nil })
	}
	for _, method := range []string{"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS"} {
		w := ask(t, s.Handler(), method, "/try", nil, func(r *http.Request) { r.Host = "evil.example" })
		if w.Code != http.StatusMisdirectedRequest || done != 0 {
			t.Errorf("%s under another name: status %d, done %d times", method, w.Code, done)
		}
	}
}

// A page comes compressed and whole, however many are asked for at once, and a cache on
// the way is told that it depends on what the browser takes. A length that was set for
// the plain page is none of the compressed one. Files stay as they are.
func TestPagesComeCompressedAndWhole(t *testing.T) {
	text := func(i string) string { return strings.Repeat("<p>"+i+"</p>", 2000) }
	h := pressed(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body := text(r.URL.Query().Get("i"))
		w.Header().Set("Content-Type", r.URL.Query().Get("type"))
		w.Header().Set("Content-Length", strconv.Itoa(len(body)))
		w.WriteHeader(http.StatusOK)
		for part := range slices.Chunk([]byte(body), 1000) {
			_, _ = w.Write(part)
			runtime.Gosched()
		}
	}))
	get := func(kind, i, takes string) *httptest.ResponseRecorder {
		return ask(t, h, "GET", "/?i="+i+"&type="+url.QueryEscape(kind), nil, func(r *http.Request) { r.Header.Set("Accept-Encoding", takes) })
	}
	for range 3 { // writers are used again
		var wg sync.WaitGroup
		for k := range 16 {
			wg.Go(func() {
				i := strconv.Itoa(k)
				w := get("text/html; charset=utf-8", i, "br, gzip")
				if h := w.Header(); h.Get("Content-Encoding") != "gzip" || h.Get("Vary") != "Accept-Encoding" || h.Get("Content-Length") != "" {
					t.Errorf("page %s comes with %v", i, h)
					return
				}
				z, err := gzip.NewReader(w.Body)
				if err != nil {
					t.Error(err)
					return
				}
				if got, err := io.ReadAll(z); err != nil || string(got) != text(i) {
					t.Errorf("page %s came as %d bytes, %v", i, len(got), err)
				}
			})
		}
		wg.Wait()
	}
	for _, c := range [][2]string{{"application/pdf", "gzip"}, {"text/html", ""}, {"text/plain", "gzip"}} {
		if w := get(c[0], "1", c[1]); w.Header().Get("Content-Encoding") != "" || w.Body.String() != text("1") {
			t.Errorf("%s for a browser that takes %q comes with %v", c[0], c[1], w.Header())
		}
	}
}

// A browser that has gone is no failure: nothing is logged as one, for nobody waits.
func TestABrowserThatHasGoneIsNoFailure(t *testing.T) {
	s := newTestShell(t, testConfig())
	var log bytes.Buffer
	s.log = slog.New(slog.NewTextHandler(&log, nil))
	s.Handle("GET /slow", func(_ http.ResponseWriter, r *http.Request) error { return r.Context().Err() })
	ctx, gone := context.WithCancel(t.Context())
	gone()
	if w := ask(t, s.Handler(), "GET", "/slow", nil, func(r *http.Request) { *r = *r.WithContext(ctx) }); w.Body.Len() > 0 || log.Len() > 0 {
		t.Errorf("answered with %q, and logged %s", w.Body, log.String())
	}
}

func TestPostsFromOtherSitesAreRefused(t *testing.T) {
	s := newTestShell(t, testConfig())
	done := 0
	s.Handle("POST /try", func(w http.ResponseWriter, r *http.Request) error { done++; return nil })
	h := s.Handler()
	for _, c := range []struct {
		name   string
		head   map[string]string
		status int
	}{
		{"its own page", map[string]string{"Sec-Fetch-Site": "same-origin"}, 200},
		{"its own page, an older browser", map[string]string{"Origin": "http://127.0.0.1:4870"}, 200},
		{"a program without a browser", nil, 200},
		{"another site", map[string]string{"Sec-Fetch-Site": "cross-site", "Origin": "https://evil.example"}, 403},
		{"another site, an older browser", map[string]string{"Origin": "https://evil.example"}, 403},
		{"another port of this machine", map[string]string{"Sec-Fetch-Site": "same-site", "Origin": "http://127.0.0.1:9"}, 403},
		{"a file opened in the browser", map[string]string{"Origin": "null"}, 403},
	} {
		before := done
		w := ask(t, h, "POST", "/try", strings.NewReader("a=1"), func(r *http.Request) {
			for k, v := range c.head {
				r.Header.Set(k, v)
			}
		})
		if w.Code != c.status || (done > before) != (c.status == 200) {
			t.Errorf("%s: status %d, done %v; want %d", c.name, w.Code, done > before, c.status)
		}
		if c.status == 403 {
			htmlcheck.Page(t, w.Body)
		}
	}
}

func TestALargeBodyIsRefusedInWords(t *testing.T) {
	cfg := testConfig()
	cfg.MaxBody = 2048
	s := newTestShell(t, cfg)
	got, begun := -1, 0
	s.Handle("POST /try", func(w http.ResponseWriter, r *http.Request) error {
		begun++
		if err := r.ParseForm(); err != nil {
			return err
		}
		got = len(r.PostForm.Get("a"))
		return nil
	})
	h := s.Handler()
	form := func(n int) string { return url.Values{"a": {strings.Repeat("x", n)}}.Encode() }

	if w := ask(t, h, "POST", "/try", strings.NewReader(form(2000))); w.Code != 200 || got != 2000 {
		t.Errorf("2000 bytes: status %d, %d read", w.Code, got)
	}
	got, begun = -1, 0
	for name, length := range map[string]int64{"said beforehand": 5002, "not said": -1} {
		w := ask(t, h, "POST", "/try", strings.NewReader(form(5000)), func(r *http.Request) { r.ContentLength = length })
		if w.Code != http.StatusRequestEntityTooLarge || got != -1 {
			t.Errorf("5000 bytes, length %s: status %d, %d read; want 413 and none", name, w.Code, got)
		}
		d := htmlcheck.Page(t, w.Body)
		if words := d.Find("main").Text(); !strings.Contains(words, "2 KiB") {
			t.Errorf("the page does not say the limit: %q", words)
		}
	}
	if begun != 1 {
		t.Errorf("the handler began %d times, want once: a length said beforehand is refused before it", begun)
	}
	if w := ask(t, h, "POST", "/try", strings.NewReader(form(5000)), func(r *http.Request) {
		r.Header.Set("Barwright-Live",
			"1")
	}); w.Code != 413 || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/plain") {
		t.Errorf("a live form is told by %d %s", w.Code, w.Header().Get("Content-Type"))
	}
}

func TestFaultsBecomePagesInWords(t *testing.T) {
	s := newTestShell(t, testConfig())
	var log bytes.Buffer
	s.log = slog.New(slog.NewTextHandler(&log, nil))
	var both fault.List
	both.Add(fault.Invalidf("a", "The first is wrong."))
	both.Add(fault.Invalidf("b", "So is the second."))
	for _, c := range []struct {
		path   string
		err    error
		status int
		says   []string
		hides  string
	}{
		{"/invalid", both, 422, []string{"The first is wrong.", "So is the second."}, ""},
		{"/missing", fault.NotFoundf("", "There is no mould 7."), 404, []string{"There is no mould 7."}, ""},
		{"/conflict", fault.Conflictf("", "Version 8 was kept meanwhile."), 409, []string{"Version 8 was kept", "Nothing was changed."}, ""},
		{"/internal", fmt.Errorf("reading: %w", errors.New("disk /dev/sda1 on fire")), 500, []string{"Reference", "fault of the program"}, "sda1"},
		{"/hidden", &fault.Error{Kind: fault.Internal, Message: "table lot has no column q"}, 500, []string{"Reference"}, "column"},
	} {
		s.Handle("GET "+c.path, func(http.ResponseWriter, *http.Request) error { return c.err })
		log.Reset()
		w := ask(t, s.Handler(), "GET", c.path, nil)
		if w.Code != c.status {
			t.Errorf("%s: status %d, want %d", c.path, w.Code, c.status)
		}
		d := htmlcheck.Page(t, w.Body)
		words := d.Find("main").Text()
		for _, say := range c.says {
			if !strings.Contains(words, say) {
				t.Errorf("%s: %q is not said in %q", c.path, say, words)
			}
		}
		if c.hides != "" {
			if strings.Contains(words, c.hides) {
				t.Errorf("%s: the page tells %q", c.path, c.hides)
			}
			ref := d.Find("main .code").Text()
			if ref == "" || !strings.Contains(log.String(), ref) || !strings.Contains(log.String(), c.hides) {
				t.Errorf("%s: the log has not both the reference %q and the cause: %s", c.path, ref, log.String())
			}
		}
	}
}

func TestAPanicIsAPageWithAReference(t *testing.T) {
	s := newTestShell(t, testConfig())
	var log bytes.Buffer
	s.log = slog.New(slog.NewTextHandler(&log, nil))
	s.Handle("GET /panic", func(http.ResponseWriter, *http.Request) error { panic("the jug is empty") })
	w := ask(t, s.Handler(), "GET", "/panic", nil)
	if w.Code != 500 {
		t.Errorf("status %d", w.Code)
	}
	d := htmlcheck.Page(t, w.Body)
	ref := d.Find("main .code").Text()
	if ref == "" || !strings.Contains(log.String(), ref) || !strings.Contains(log.String(), "the jug is empty") {
		t.Errorf("reference %q, log %s", ref, log.String())
	}
	if strings.Contains(d.Text(), "jug") {
		t.Error("the page tells what was thrown")
	}

	s.Handle("GET /late", func(w http.ResponseWriter, _ *http.Request) error {
		_, _ = io.WriteString(w, "begun")
		panic("too late")
	})
	defer func() {
		if v := recover(); v != http.ErrAbortHandler {
			t.Errorf("after an answer has begun, recovered %v, want the connection cut", v)
		}
	}()
	ask(t, s.Handler(), "GET", "/late", nil)
}

func TestUnknownAddressesAndMethods(t *testing.T) {
	h := newTestShell(t, testConfig()).Handler()
	for _, c := range []struct {
		method, path string
		status       int
	}{
		{"GET", "/nowhere", 404}, {"POST", "/nowhere", 404}, {"GET", "/about/", 404}, {"GET", "/%00", 404},
		{"GET", "/static/x/../../web.go", 0}, {"GET", "/static/x/nothing.css", 404}, {"GET", "/static/", 404},
	} {
		w := ask(t, h, c.method, c.path, nil)
		if c.status != 0 && w.Code != c.status {
			t.Errorf("%s %s: status %d, want %d", c.method, c.path, w.Code, c.status)
		}
		if strings.Contains(w.Body.String(), "package web") {
			t.Errorf("%s %s: gave a source file away", c.method, c.path)
		}
		if w.Code == 404 && !strings.HasPrefix(c.path, "/static") {
			htmlcheck.Page(t, w.Body)
		}
	}
	if w := ask(t, h, "GET", "/healthz", nil); w.Code != 200 || w.Body.String() != "ok\n" {
		t.Errorf("health: %d %q", w.Code, w.Body)
	}
}

func TestStaticFilesAreKeptByTheBrowser(t *testing.T) {
	s := newTestShell(t, testConfig())
	h := s.Handler()
	d := htmlcheck.Page(t, ask(t, h, "GET", "/about", nil).Body)
	seen := 0
	for _, sel := range []string{"link[href]", "script[src]"} {
		for _, n := range d.Find(sel).Nodes {
			for _, a := range n.Attr {
				if a.Key != "href" && a.Key != "src" {
					continue
				}
				seen++
				w := ask(t, h, "GET", a.Val, nil)
				if w.Code != 200 || w.Body.Len() == 0 || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
					t.Errorf("%s: status %d, %d bytes, %q", a.Val, w.Code, w.Body.Len(), w.Header().Get("Cache-Control"))
				}
				if strings.HasPrefix(w.Header().Get("Content-Type"), "text/plain") {
					t.Errorf("%s: type %q: a browser would refuse it", a.Val, w.Header().Get("Content-Type"))
				}
				tag := w.Header().Get("ETag")
				w = ask(t, h, "GET", a.Val, nil, func(r *http.Request) { r.Header.Set("If-None-Match", tag) })
				if w.Code != http.StatusNotModified || tag == "" {
					t.Errorf("%s: asked again with %s: status %d, want 304", a.Val, tag, w.Code)
				}
			}
		}
	}
	if seen < 4 {
		t.Fatalf("the page links %d files: this test has tested next to nothing", seen)
	}
	w := ask(t, h, "GET", "/static/000000000000/"+styleSheet, nil)
	if w.Code != 200 || strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("an old address: %d %q; want the file of now, not kept", w.Code, w.Header().Get("Cache-Control"))
	}
	if w := ask(t, h, "GET", "/about", nil); w.Header().Get("Cache-Control") != "no-store" {
		t.Errorf("a page is kept: %q", w.Header().Get("Cache-Control"))
	}
}

func TestEveryFileThatTheStyleSheetNamesIsServed(t *testing.T) {
	s := newTestShell(t, testConfig())
	css := string(s.assets.files[styleSheet].body)
	n := 0
	for _, part := range strings.Split(css, `url("../`)[1:] {
		name, _, _ := strings.Cut(part, `"`)
		if _, err := s.assets.url(name); err != nil {
			t.Error(err)
		}
		n++
	}
	if n == 0 {
		t.Fatal("the style sheet names no file: this test has tested nothing")
	}
	if i, j := strings.Index(css, "--paper:"), strings.Index(css, "@page"); i < 0 || j < i || strings.LastIndex(css, "/* button.css") > j {
		t.Error("the sheets are not in the order ink, others, print")
	}
	// What a font is shipped with, its licence must be too.
	for name := range s.assets.files {
		if strings.HasSuffix(name, ".woff2") {
			family, _, _ := strings.Cut(strings.TrimPrefix(name, "fonts/"), "-latin")
			family, _, _ = strings.Cut(family, "-greek")
			family, _, _ = strings.Cut(family, "-cyrillic")
			if lic := string(s.assets.files["fonts/"+family+"-OFL.txt"].body); !strings.Contains(lic, "SIL OPEN FONT LICENSE Version 1.1") {
				t.Errorf("%s: no licence beside it", name)
			}
		}
	}
}

func TestTemplatesMustBeDeclaredAndWhole(t *testing.T) {
	a := newTestShell(t, testConfig()).assets
	content := &fstest.MapFile{Data: []byte(`{{define "content"}}x{{end}}`)}
	for _, c := range []struct {
		name string
		harm func(parts, files fstest.MapFS)
		want string // "" where the set is whole
	}{
		{"a whole set", func(_, _ fstest.MapFS) {}, ""},
		{"a page nobody declares", func(_, m fstest.MapFS) { m["stray.html"] = m["about.html"] }, "stray.html is not declared"},
		{"a declared page without a file", func(_, m fstest.MapFS) { delete(m, "about.html") }, "page about is declared and has no file"},
		{"a page without content", func(_, m fstest.MapFS) { m["about.html"] = &fstest.MapFile{Data: []byte(`x`)} }, `does not define the template "content"`},
		{"a call of a part that is not there", func(_, m fstest.MapFS) {
			m["about.html"] = &fstest.MapFile{Data: []byte(`{{define "content"}}{{if .}}{{range .}}{{template "gone"}}{{end}}{{end}}{{end}}`)}
		}, `calls "gone"`},
		{"a template that does not parse", func(_, m fstest.MapFS) {
			m["about.html"] = &fstest.MapFile{Data: []byte(`{{define "content"}}{{if}}{{end}}`)}
		}, "cannot be read"},
		{"no parts", func(p, _ fstest.MapFS) { delete(p, "part/layout.html") }, "part cannot be read"},
		{"a piece that a page of the room calls", func(_, m fstest.MapFS) {
			m["about.html"] = &fstest.MapFile{Data: []byte(`{{define "content"}}{{template "wish" .}}{{end}}`)}
			m["wishes.html"] = &fstest.MapFile{Data: []byte(`{{define "wish"}}x{{end}}`)}
		}, ""},
		{"a piece that no page calls", func(_, m fstest.MapFS) {
			m["wishes.html"] = &fstest.MapFile{Data: []byte(`{{define "wish"}}x{{end}}`)}
		}, "no page calls what it defines"},
		{"a file that defines nothing", func(_, m fstest.MapFS) { m["empty.html"] = &fstest.MapFile{Data: []byte(`x`)} }, "empty.html is not declared"},
	} {
		parts := fstest.MapFS{"part/layout.html": {Data: []byte(`{{define "layout"}}{{template "content" .Page}}{{end}}`)}}
		files := fstest.MapFS{"about.html": content, "moulds.html": content}
		c.harm(parts, files)
		r := &Room{"test", files, map[string]bool{}}
		Declare[aboutView](r, "about")
		Declare[aboutView](r, "moulds")
		_, err := loadSheets(parts, []*Room{r}, a)
		switch {
		case c.want == "" && err != nil:
			t.Errorf("%s is refused: %v", c.name, err)
		case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
	}
}

func TestServeTakesTheNextFreePortAndStopsGracefully(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = taken.Close() }()

	slow := make(chan struct{})
	began := make(chan struct{})
	h := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		close(began)
		<-slow
		_, _ = io.WriteString(w, "answered")
	})
	ctx, stop := context.WithCancel(context.Background())
	run, err := Serve(ctx, h, taken.Addr().String(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if run.URL == "http://"+taken.Addr().String() || !strings.HasPrefix(run.URL, "http://127.0.0.1:") {
		t.Fatalf("served at %s", run.URL)
	}
	got := make(chan string, 1)
	go func() {
		res, err := http.Get(run.URL) //nolint:noctx // ends with the test
		if err != nil {
			got <- err.Error()
			return
		}
		b, _ := io.ReadAll(res.Body)
		_ = res.Body.Close()
		got <- string(b)
	}()
	<-began
	stop()
	time.Sleep(20 * time.Millisecond)
	close(slow)
	if err := run.Wait(); err != nil {
		t.Errorf("stopped with %v", err)
	}
	if g := <-got; g != "answered" {
		t.Errorf("the request in hand got %q", g)
	}
}

func TestServeStaysOnThisMachine(t *testing.T) {
	for _, addr := range []string{"0.0.0.0:4870", "192.168.1.10:80", "[::]:80", "bench.lan:80", "nonsense", "127.0.0.1:99999", "127.0.0.1:-1", "1:2:3"} {
		run, err := Serve(context.Background(), http.NotFoundHandler(), addr, nil)
		if err == nil {
			t.Errorf("%s: served at %s", addr, run.URL)
			continue
		}
		if l := fault.All(err); l[0].Kind != fault.Invalid || l[0].Field != "addr" || !strings.Contains(l[0].Message,
			"127.0.0.1") && !strings.Contains(l[0].Message, "65535") {
			t.Errorf("%s: %v does not say what would do", addr, err)
		}
	}
	for addr, want := range map[string][2]any{"": {"127.0.0.1", 4870}, "9000": {"127.0.0.1", 9000}, ":9000": {"127.0.0.1", 9000},
		"localhost:0": {"127.0.0.1", 0}, "[::1]:7": {"::1", 7}, "127.3.2.1:7": {"127.0.0.1", 7}} {
		h, p, err := splitAddr(addr)
		if err != nil || h != want[0] || p != want[1] {
			t.Errorf("%q: %s %d %v, want %v", addr, h, p, err, want)
		}
	}
}

func TestTheServerBoundsWhatAClientMayTake(t *testing.T) {
	s := newHTTPServer(nil, slog.New(slog.DiscardHandler))
	if s.ReadHeaderTimeout <= 0 || s.ReadTimeout <= 0 || s.WriteTimeout <= 0 || s.IdleTimeout <= 0 || s.MaxHeaderBytes <= 0 {
		t.Errorf("something is unbounded: %+v", s)
	}
	if s.ReadHeaderTimeout > s.ReadTimeout {
		t.Error("the head may take longer than the whole")
	}
}
