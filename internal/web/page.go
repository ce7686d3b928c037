package web

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"reflect"
	"strings"
	"text/template/parse"
)

//go:embed page/*.html part/*.html
var templateFiles embed.FS

// Head is what a page tells the shell about itself.
type Head struct {
	Title   string   // the h1, and the document's title
	Lead    string   // one sentence under the h1; may be empty
	Actions []Button // at the right of the h1, the main one last
	Place   string   // path of the place to underline; "" finds it by the address
	Foot    string   // an aside at the left of the foot, as "Weighed on the bench scale, 0.1 g divisions"
	Bare    bool     // the page draws its own h1: define "head" in its template
	Module  string   // JavaScript module for the page's main part; may be empty
}

// view is what the layout is executed with; a page's own template sees Page.
type view struct {
	Head
	Here    string // name of the current place
	Places  []placeView
	Studio  Card
	Version string
	Page    any
}

type placeView struct {
	place
	Current bool
}

// declared are the names of all pages, in the order of their declarations.
var declared = map[string]bool{}

// pageOf is the page that stands in page/NAME.html and shows a T.
type pageOf[T any] struct{ name string }

// declare names a page and the struct that it shows, once, as a package
// variable:
//
//	var mouldsPage = declare[mouldsView]("moulds")
//
// Its file defines the template "content", which is executed with a T. New
// fails when a declared page has no file, or a file no declaration.
func declare[T any](name string) pageOf[T] {
	if reflect.TypeFor[T]().Kind() != reflect.Struct {
		panic("web: page " + name + " must show a struct")
	}
	if declared[name] {
		panic("web: page " + name + " is declared twice")
	}
	declared[name] = true
	return pageOf[T]{name}
}

// write shows the page. It is made whole before a byte is sent, so a failure
// never leaves half a page.
func (p pageOf[T]) write(s *server, w http.ResponseWriter, r *http.Request, status int, head Head, data T) error {
	card, err := s.cfg.Studio(r.Context())
	if err != nil {
		if status < 500 {
			return err
		}
		card = Card{} // already saying that something failed: say it without a name
	}
	if head.Place == "" {
		head.Place = placeOf(r.URL.Path)
	}
	v := view{Head: head, Studio: card, Version: s.cfg.Version, Page: data}
	for _, pl := range places {
		if !s.paths[pl.Path] {
			continue
		}
		v.Places = append(v.Places, placeView{pl, pl.Path == head.Place})
		if pl.Path == head.Place {
			v.Here = pl.Name
		}
	}
	var b bytes.Buffer
	if err := s.sheets[p.name].ExecuteTemplate(&b, "layout", v); err != nil {
		return fmt.Errorf("page %s: %w", p.name, err)
	}
	return s.send(w, status, &b)
}

// fragments answers a live form: the named templates of the page, each of which
// is one element with an id, executed with data and written one after another.
func (p pageOf[T]) fragments(s *server, w http.ResponseWriter, status int, data T, names ...string) error {
	var b bytes.Buffer
	for _, n := range names {
		if err := s.sheets[p.name].ExecuteTemplate(&b, n, data); err != nil {
			return fmt.Errorf("page %s, fragment %s: %w", p.name, n, err)
		}
	}
	return s.send(w, status, &b)
}

func (s *server) send(w http.ResponseWriter, status int, b *bytes.Buffer) error {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store") // a page shows records: it must not outlive them
	w.WriteHeader(status)
	_, _ = b.WriteTo(w) // the browser has gone when this fails: nobody to tell
	return nil
}

// isLive reports that a live form asks: it takes fragments, or a line of text.
func isLive(r *http.Request) bool { return r.Header.Get("Barwright-Live") != "" }

// placeOf is the path of the place that an address lies in; "" for none.
func placeOf(p string) string {
	for _, pl := range places {
		if p == pl.Path || pl.Path != "/" && strings.HasPrefix(p, pl.Path+"/") {
			return pl.Path
		}
	}
	return ""
}

// sheets are the pages' templates by name, each with the layout and all parts.
type sheets map[string]*template.Template

func loadSheets(files fs.FS, a *assets) (sheets, error) {
	base, err := template.New("").Funcs(funcs(a)).ParseFS(files, "part/*.html")
	if err != nil {
		return nil, fmt.Errorf("web: a part cannot be read: %w", err)
	}
	found, err := fs.Glob(files, "page/*.html")
	if err != nil {
		return nil, err
	}
	out := sheets{}
	for _, file := range found {
		name := strings.TrimSuffix(path.Base(file), ".html")
		if !declared[name] {
			return nil, fmt.Errorf("web: %s is not declared by any page", file)
		}
		t, err := base.Clone()
		if err != nil {
			return nil, err
		}
		if t, err = t.ParseFS(files, file); err != nil {
			return nil, fmt.Errorf("web: %s cannot be read: %w", file, err)
		}
		if t.Lookup("content") == nil {
			return nil, fmt.Errorf("web: %s does not define the template \"content\"", file)
		}
		if err := checkCalls(t); err != nil {
			return nil, fmt.Errorf("web: %s: %w", file, err)
		}
		out[name] = t
	}
	for name := range declared {
		if out[name] == nil {
			return nil, fmt.Errorf("web: page %s is declared and has no file page/%s.html", name, name)
		}
	}
	return out, nil
}

// checkCalls fails when a template calls one that is not there, which the
// template package would say only on a maker's first visit.
func checkCalls(t *template.Template) error {
	for _, one := range t.Templates() {
		if one.Tree == nil || one.Tree.Root == nil {
			continue
		}
		var missing error
		walk(one.Tree.Root, func(n parse.Node) {
			if call, ok := n.(*parse.TemplateNode); ok && t.Lookup(call.Name) == nil && missing == nil {
				missing = fmt.Errorf("template %q calls %q, which is not declared", one.Name(), call.Name)
			}
		})
		if missing != nil {
			return missing
		}
	}
	return nil
}

func walk(n parse.Node, f func(parse.Node)) {
	list := func(l *parse.ListNode) {
		if l != nil {
			for _, c := range l.Nodes {
				walk(c, f)
			}
		}
	}
	f(n)
	switch n := n.(type) {
	case *parse.ListNode:
		list(n)
	case *parse.IfNode:
		list(n.List)
		list(n.ElseList)
	case *parse.RangeNode:
		list(n.List)
		list(n.ElseList)
	case *parse.WithNode:
		list(n.List)
		list(n.ElseList)
	}
}
