// Package htmlcheck says what is wrong with a page that a browser would show
// without complaint: an entry nobody labelled, an id that stands twice, a link
// to nowhere, a style that the content policy refuses, a number that is none.
package htmlcheck

import (
	"fmt"
	"io"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"
	"golang.org/x/net/html"
)

// Page fails t for everything that is wrong with a whole page, and returns the
// page for what else a test wants to know of it.
func Page(t testing.TB, body io.Reader) *goquery.Document {
	t.Helper()
	return check(t, body, pageFaults)
}

// Fragment fails t for everything that is wrong with the answer to a live form:
// the same as for a page, and each element at its top must have the id of the
// element whose place it takes. References to ids outside of it are allowed.
func Fragment(t testing.TB, body io.Reader) *goquery.Document {
	t.Helper()
	return check(t, body, fragmentFaults)
}

// check reads the HTML and fails t for its faults, and for those of its elements.
func check(t testing.TB, body io.Reader, faults func(*goquery.Document) []string) *goquery.Document {
	t.Helper()
	root, err := html.Parse(body)
	if err != nil {
		t.Fatalf("the page cannot be read: %v", err)
	}
	d := goquery.NewDocumentFromNode(root)
	for _, f := range append(faults(d), elementFaults(d)...) {
		t.Error(f)
	}
	return d
}

func pageFaults(d *goquery.Document) (out []string) {
	add := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	if n := d.Find("h1").Length(); n != 1 {
		add("%d h1, want one", n)
	}
	if d.Find("html[lang]").Length() == 0 {
		add("the page does not say its language")
	}
	if strings.TrimSpace(d.Find("head > title").Text()) == "" {
		add("the page has no title")
	}
	for _, one := range []string{"main", "header", "footer"} {
		if n := d.Find("body > " + one).Length(); n != 1 {
			add("%d %s, want one", n, one)
		}
	}
	last := 1
	d.Find("h1, h2, h3, h4, h5, h6").Each(func(_ int, s *goquery.Selection) {
		level := int(goquery.NodeName(s)[1] - '0')
		if level > last+1 {
			add("heading %q jumps from level %d to %d", text(s), last, level)
		}
		last = level
	})
	ids := idsOf(d)
	d.Find("a[href^='#']").Each(func(_ int, s *goquery.Selection) {
		if id := strings.TrimPrefix(s.AttrOr("href", ""), "#"); id != "" && ids[id] == 0 {
			add("link %q leads to #%s, which is not on the page", text(s), id)
		}
	})
	for _, attr := range idRefs {
		d.Find("[" + attr + "]").Each(func(_ int, s *goquery.Selection) {
			for _, id := range strings.Fields(s.AttrOr(attr, "")) {
				if ids[id] == 0 {
					add("%s: %s names %q, which is not on the page", where(s), attr, id)
				}
			}
		})
	}
	return out
}

// idRefs are attributes that name other elements.
var idRefs = []string{"for", "aria-labelledby", "aria-describedby", "aria-controls", "aria-details", "list", "form", "headers"}

func fragmentFaults(d *goquery.Document) (out []string) {
	top := d.Find("body").Children()
	if top.Length() == 0 {
		out = append(out, "the answer holds no element: nothing would be renewed")
	}
	top.Each(func(_ int, s *goquery.Selection) {
		if s.AttrOr("id", "") == "" {
			out = append(out, where(s)+" stands at the top of a fragment without an id, and takes no place")
		}
	})
	return out
}

// elementFaults are those that pages and fragments share.
func elementFaults(d *goquery.Document) (out []string) {
	add := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }

	for id, n := range idsOf(d) {
		if n > 1 {
			add("id %q stands %d times", id, n)
		}
		if strings.ContainsAny(id, " \t\n") || id == "" {
			add("id %q is empty or has a space", id)
		}
	}

	d.Find("input, select, textarea").Each(func(_ int, s *goquery.Selection) {
		switch s.AttrOr("type", "") {
		case "hidden", "submit", "button":
			return
		}
		id := s.AttrOr("id", "")
		named := strings.TrimSpace(s.AttrOr("aria-label", "")) != "" || s.AttrOr("aria-labelledby", "") != "" || s.ParentsFiltered("label").Length() > 0
		if id != "" {
			d.Find("label").Each(func(_ int, l *goquery.Selection) {
				named = named || l.AttrOr("for", "") == id && text(l) != ""
			})
		}
		if !named {
			add("%s has no label", where(s))
		}
		if s.AttrOr("name", "") == "" {
			add("%s has no name and would not be sent", where(s))
		}
	})
	d.Find("fieldset").Each(func(_ int, s *goquery.Selection) {
		if text(s.ChildrenFiltered("legend")) == "" {
			add("%s has no legend", where(s))
		}
	})
	d.Find("a[href], button, summary").Each(func(_ int, s *goquery.Selection) {
		if text(s) == "" && s.AttrOr("aria-label", "") == "" {
			add("%s has no words", where(s))
		}
	})
	d.Find("button:not([type])").Each(func(_ int, s *goquery.Selection) {
		add("%s does not say its type", where(s))
	})
	d.Find("img:not([alt])").Each(func(_ int, s *goquery.Selection) { add("%s has no alt", where(s)) })
	d.Find("svg").Each(func(_ int, s *goquery.Selection) {
		if s.ParentsFiltered("svg").Length() > 0 || s.AttrOr("aria-hidden", "") == "true" {
			return
		}
		if s.AttrOr("role", "") != "img" || s.AttrOr("aria-label", "")+s.AttrOr("aria-labelledby", "") == "" {
			add("%s is neither hidden from a screen reader nor named for it", where(s))
		}
	})
	d.Find("table").Each(func(_ int, s *goquery.Selection) {
		if s.Find("th").Length() == 0 {
			add("%s has no heads", where(s))
		}
		s.Find("th:not([scope])").Each(func(_ int, th *goquery.Selection) { add("head %q does not say its scope", text(th)) })
	})
	d.Find("form").Each(func(_ int, s *goquery.Selection) {
		if m := strings.ToLower(s.AttrOr("method", "")); m != "get" && m != "post" && m != "dialog" {
			add("%s does not say its method", where(s))
		}
	})

	// What the content policy refuses.
	d.Find("style, iframe, object, embed, base, script:not([src])").Each(func(_ int, s *goquery.Selection) {
		add("%s: the content policy refuses it", where(s))
	})
	d.Find("*").Each(func(_ int, s *goquery.Selection) {
		for _, a := range s.Nodes[0].Attr {
			switch {
			case a.Key == "style" || strings.HasPrefix(a.Key, "on"):
				add("%s has the attribute %s: the content policy refuses it", where(s), a.Key)
			case a.Key == "href" || a.Key == "src" || a.Key == "action" || a.Key == "data-action":
				if f := outside(a.Val); f != "" {
					add("%s: %s=%q %s", where(s), a.Key, a.Val, f)
				}
			}
			if bad := notANumber.FindString(a.Val); bad != "" && a.Key != "placeholder" {
				add("%s: %s=%q holds %q", where(s), a.Key, a.Val, bad)
			}
		}
	})

	shown := visible(d.Nodes[0])
	if bad := notANumber.FindString(shown); bad != "" {
		add("the page shows %q", bad)
	}
	if word := safe.FindString(shown); word != "" {
		add("the page says %q", word)
	}
	return out
}

// notANumber is what a program says when it has no number, or lost a value on
// its way to a template.
var notANumber = regexp.MustCompile(`\bNaN\b|[-+]Inf\b|\bInfinity\b|<no value>|ZgotmplZ|%!|<nil>|\bundefined\b`)

// The word stands on no face: no program can know that it is so.
// The safety data sheet is another word.
var safe = regexp.MustCompile(`(?i)\bsafe(ly|r|st)?\b`)

// outside says why an address leaves the studio; "" when it does not.
func outside(raw string) string {
	u, err := url.Parse(raw)
	switch {
	case err != nil:
		return "is no address"
	case u.Scheme != "" || u.Host != "":
		return "leaves this machine"
	case u.Path != "" && !strings.HasPrefix(u.Path, "/"):
		return "is relative, and means another place on another page"
	}
	return ""
}

func idsOf(d *goquery.Document) map[string]int {
	ids := map[string]int{}
	d.Find("[id]").Each(func(_ int, s *goquery.Selection) { ids[s.AttrOr("id", "")]++ })
	return ids
}

func text(s *goquery.Selection) string { return strings.Join(strings.Fields(s.Text()), " ") }

// where names an element so that it can be found.
func where(s *goquery.Selection) string {
	n := goquery.NodeName(s)
	for _, a := range []string{"id", "name", "class", "href"} {
		if v := s.AttrOr(a, ""); v != "" {
			return fmt.Sprintf("<%s %s=%q>", n, a, v)
		}
	}
	if t := text(s); t != "" {
		return fmt.Sprintf("<%s> %.40q", n, t)
	}
	return "<" + n + ">"
}

// visible is the text of a page without its scripts.
func visible(n *html.Node) string {
	var b strings.Builder
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.ElementNode && (n.Data == "script" || n.Data == "style") {
			return
		}
		if n.Type == html.TextNode {
			b.WriteString(n.Data)
			b.WriteByte(' ')
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(n)
	return b.String()
}
