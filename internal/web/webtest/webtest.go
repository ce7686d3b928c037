// Package webtest is what the tests of pages share: how a page is asked for and
// looked at, with a browser and without one.
package webtest

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"barwright/internal/web/htmlcheck"
	"barwright/quantity"
)

// Ask sends one request and gives the answer. Change may alter the request.
func Ask(t testing.TB, h http.Handler, method, path string, body io.Reader, change ...func(*http.Request)) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, "http://127.0.0.1:4870"+path, body)
	if body != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for _, c := range change {
		c(r)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// Post sends a form and gives the answer. Change may alter the request.
func Post(t testing.TB, h http.Handler, path string, v url.Values, change ...func(*http.Request)) *httptest.ResponseRecorder {
	t.Helper()
	return Ask(t, h, "POST", path, strings.NewReader(v.Encode()), change...)
}

// Led is the address that an answer leads to, without what is asked there.
func Led(w *httptest.ResponseRecorder) string {
	at, _, _ := strings.Cut(w.Header().Get("Location"), "?")
	return at
}

// Live marks a request as that of a live form.
func Live(r *http.Request) { r.Header.Set("Barwright-Live", "1") }

// Page checks a page's status and its HTML.
func Page(t testing.TB, w *httptest.ResponseRecorder, status int) *goquery.Document {
	t.Helper()
	if w.Code != status {
		t.Fatalf("status %d, want %d: %.300s", w.Code, status, w.Body)
	}
	return htmlcheck.Page(t, w.Body)
}

// Faulty checks that the refused form marks these fields, shows what was typed,
// and leads to every one of them from its head.
func Faulty(t testing.TB, d *goquery.Document, v url.Values, fields ...string) {
	t.Helper()
	for _, name := range fields {
		id := `[id="` + name + `"]`
		if d.Find(`.summary a[href="#`+name+`"]`).Length() != 1 {
			t.Errorf("the head of the form does not lead to %s", name)
		}
		if strings.TrimSpace(d.Find(`[id="`+name+`-fault"]`).Text()) == "" {
			t.Errorf("no sentence stands at %s", name)
		}
		if d.Find(id).Length() != 1 {
			t.Errorf("%s is not there", name)
		}
	}
	if n := d.Find(".summary li").Length(); n != len(fields) {
		t.Errorf("%d faults are said, want %d: %s", n, len(fields), d.Find(".summary li").Text())
	}
	for name := range v {
		e := d.Find(`input[type="text"][name="` + name + `"], textarea[name="` + name + `"]`)
		if e.Length() == 0 {
			continue
		}
		if got := e.AttrOr("value", e.Text()); got != strings.ReplaceAll(v.Get(name), "\r\n", "\n") {
			t.Errorf("%s came back as %q, was typed %q", name, got, v.Get(name))
		}
	}
}

// ValuesOf is what a browser would send of a form.
func ValuesOf(d *goquery.Document, form string) url.Values {
	v := url.Values{}
	d.Find(form).Find("input[name], textarea[name], select[name]").Each(func(_ int, e *goquery.Selection) {
		name := e.AttrOr("name", "")
		switch {
		case e.AttrOr("type", "") == "checkbox":
			if _, on := e.Attr("checked"); on {
				v.Add(name, "on")
			}
		case goquery.NodeName(e) == "select":
			v.Add(name, e.Find("option[selected]").AttrOr("value", ""))
		case goquery.NodeName(e) == "textarea":
			v.Add(name, strings.TrimPrefix(e.Text(), "\n"))
		default:
			v.Add(name, e.AttrOr("value", ""))
		}
	})
	return v
}

// Flat is a text with every run of space, narrow ones too, as one plain space.
func Flat(s string) string {
	return strings.Join(strings.Fields(strings.NewReplacer(quantity.UnitSpace, " ", "\u00a0", " ", "\u202f", "").Replace(s)), " ")
}

// Value is what stands in the input of a name.
func Value(d *goquery.Document, name string) string {
	return d.Find("input[name='"+name+"']").AttrOr("value", "")
}
