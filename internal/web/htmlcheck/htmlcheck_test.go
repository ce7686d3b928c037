package htmlcheck

import (
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"golang.org/x/net/html"
)

const sound = `<!doctype html><html lang="en-GB"><head><title>Moulds</title></head><body><header></header>
<main><h1>Moulds</h1><form method="post" action="/moulds"><label for="n">Name</label><input id="n" name="n" aria-describedby="h"><p id="h">a hint</p>
<button type="submit">Keep</button></form><a href="#h">the hint</a>
<table><tr><th scope="col">mould</th></tr></table><svg aria-hidden="true"></svg></main><footer></footer></body></html>`

func faultsOf(t *testing.T, page string) []string {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	d := goquery.NewDocumentFromNode(root)
	return append(pageFaults(d), elementFaults(d)...)
}

func TestASoundPageHasNoFault(t *testing.T) {
	for _, f := range faultsOf(t, sound) {
		t.Error(f)
	}
}

// Each page is the sound one with one thing broken, and exactly the words that
// break are looked for: a check that checks nothing must fail.
func TestEveryFaultIsFound(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"an id twice", `<p id="h">`, `<p id="n"></p><p id="h">`, `id "n" stands 2 times`},
		{"an entry without a label", `for="n"`, `for="h"`, "has no label"},
		{"an entry that is not sent", `id="n" name="n"`, `id="n"`, "would not be sent"},
		{"a label for nothing", `<label for="n">`, `<label for="zz">x</label><label for="n">`, `names "zz"`},
		{"a hint that is gone", `<p id="h">`, `<p id="hh">`, `aria-describedby names "h"`},
		{"no h1", `<h1>Moulds</h1>`, ``, "0 h1"},
		{"two h1", `<h1>Moulds</h1>`, `<h1>Moulds</h1><h1>x</h1>`, "2 h1"},
		{"a jump in headings", `<h1>Moulds</h1>`, `<h1>Moulds</h1><h3>x</h3>`, "jumps"},
		{"no title", `<title>Moulds</title>`, ``, "no title"},
		{"no language", ` lang="en-GB"`, ``, "language"},
		{"no main", `main>`, `div>`, "0 main"},
		{"an inline style", `<p id="h">`, `<p id="h" style="color:red">`, "attribute style"},
		{"an inline handler", `<p id="h">`, `<p id="h" onclick="x()">`, "attribute onclick"},
		{"an inline script", `<footer>`, `<script>x()</script><footer>`, "refuses it"},
		{"a style element", `<footer>`, `<style>p{}</style><footer>`, "refuses it"},
		{"another machine", `href="#h"`, `href="https://example.org/"`, "leaves this machine"},
		{"a relative address", `href="#h"`, `href="x/y"`, "is relative"},
		{"a link to nowhere", `href="#h"`, `href="#gone"`, "not on the page"},
		{"a button without words", `>Keep<`, `><`, "has no words"},
		{"a button without a type", ` type="submit"`, ``, "its type"},
		{"a form without a method", ` method="post"`, ``, "its method"},
		{"a head without scope", ` scope="col"`, ``, "its scope"},
		{"a nameless picture", ` aria-hidden="true"`, ``, "nor named"},
		{"no number", `a hint`, `NaN g`, "NaN"},
		{"no number in an entry", `name="n"`, `name="n" value="+Inf"`, "+Inf"},
		{"a lost value", `a hint`, `&lt;no value&gt;`, "no value"},
		{"the word", `a hint`, `this bar is safe`, `says "safe"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			broken := strings.ReplaceAll(sound, c.old, c.new)
			if broken == sound {
				t.Fatalf("%q is not in the sound page", c.old)
			}
			got := strings.Join(faultsOf(t, broken), "\n")
			if !strings.Contains(got, c.want) {
				t.Errorf("want a fault with %q, got:\n%s", c.want, got)
			}
		})
	}
}

func TestAFragmentNeedsAnID(t *testing.T) {
	root, err := html.Parse(strings.NewReader(`<section id="a"></section><p>lost</p>`))
	if err != nil {
		t.Fatal(err)
	}
	got := fragmentFaults(goquery.NewDocumentFromNode(root))
	if len(got) != 1 || !strings.Contains(got[0], "without an id") {
		t.Errorf("got %q, want one fault about an id", got)
	}
}
