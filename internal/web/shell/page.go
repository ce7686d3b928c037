package shell

import (
	"bytes"
	"fmt"
	"net/http"
	"reflect"
)

// Head is what a page tells the shell about itself.
type Head struct {
	Title   string   // the h1, and the document's title
	Lead    string   // one sentence under the h1; may be empty
	Said    string   // what was done just now, as "Kept as version 3."; may be empty
	Actions []Button // at the right of the h1, the main one last
	Foot    string   // an aside at the left of the foot, as "Weighed on the bench scale, 0.1 g divisions"
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

// pageName tells a page from all others.
type pageName struct {
	room *Room
	name string
}

// Page is the page of a room that stands in NAME.html and shows a T.
type Page[T any] struct{ at pageName }

// Declare names a page of a room and the struct that it shows, once, as a package
// variable:
//
//	var shelfPage = shell.Declare[shelfView](room, "moulds")
//
// Its file, moulds.html, defines the template "content", which is executed with a
// T. New fails when a declared page has no file, or a file no declaration.
func Declare[T any](room *Room, name string) Page[T] {
	if reflect.TypeFor[T]().Kind() != reflect.Struct {
		panic("web: page " + name + " must show a struct")
	}
	if room.declared[name] {
		panic("web: page " + name + " is declared twice")
	}
	room.declared[name] = true
	return Page[T]{pageName{room, name}}
}

// Write shows the page. It is made whole before a byte is sent, so a failure
// never leaves half a page.
func (p Page[T]) Write(s *Shell, w http.ResponseWriter, r *http.Request, status int, head Head, data T) error {
	card, err := s.cfg.Studio(r.Context())
	if err != nil {
		if status < 500 {
			return err
		}
		card = Card{} // already saying that something failed: say it without a name
	}
	here := s.placeOf(r.URL.Path)
	v := view{Head: head, Studio: card, Version: s.cfg.Version, Page: data}
	for _, pl := range s.places {
		if !s.paths[pl.Path] {
			continue
		}
		v.Places = append(v.Places, placeView{pl, pl.Path == here})
		if pl.Path == here {
			v.Here = pl.Name
		}
	}
	var b bytes.Buffer
	if err := s.sheets[p.at].ExecuteTemplate(&b, "layout", v); err != nil {
		return fmt.Errorf("page %s: %w", p.at.name, err)
	}
	return send(w, status, &b)
}

// Fragments answers a live form: the named templates of the page, each of which
// is one element with an id, executed with data and written one after another.
func (p Page[T]) Fragments(s *Shell, w http.ResponseWriter, status int, data T, names ...string) error {
	var b bytes.Buffer
	for _, n := range names {
		if err := s.sheets[p.at].ExecuteTemplate(&b, n, data); err != nil {
			return fmt.Errorf("page %s, fragment %s: %w", p.at.name, n, err)
		}
	}
	return send(w, status, &b)
}

func send(w http.ResponseWriter, status int, b *bytes.Buffer) error {
	answer(w, status, "text/html", b.Bytes())
	return nil
}

// answer writes a page, or a line of text.
func answer(w http.ResponseWriter, status int, mime string, body []byte) {
	w.Header().Set("Content-Type", mime+"; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store") // a page shows records: it must not outlive them
	w.WriteHeader(status)
	_, _ = w.Write(body) // the browser has gone when this fails: nobody to tell
}

// IsLive reports that a live form asks: it takes fragments, or a line of text.
func IsLive(r *http.Request) bool { return r.Header.Get("Barwright-Live") != "" }
