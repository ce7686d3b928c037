package designs

import (
	"context"
	"net/http"
	"net/url"

	"barwright/internal/web/shell"
)

// A wishPage is a live page that works a list of wished designs out and keeps
// nothing: its form asks, its one fragment answers.
type wishPage[T interface{ sound() bool }] struct {
	page        shell.Page[T]
	fragment    string
	work        func(context.Context, url.Values) (T, error)
	title, lead string
}

// routes registers the page: by its address, by its form, and live.
func (p wishPage[T]) routes(s *server, path string) {
	s.Handle("GET "+path, func(w http.ResponseWriter, r *http.Request) error { return p.show(s, w, r, r.URL.Query()) })
	s.Handle("POST "+path, func(w http.ResponseWriter, r *http.Request) error {
		v, err := readForm(r)
		if err != nil {
			return err
		}
		if !isLive(r) {
			return p.show(s, w, r, v)
		}
		view, err := p.work(r.Context(), v)
		if err != nil {
			return err
		}
		return p.page.Fragments(s.Shell, w, http.StatusOK, view, p.fragment)
	})
}

// show writes the whole page, after the row that was added or taken away.
func (p wishPage[T]) show(s *server, w http.ResponseWriter, r *http.Request, v url.Values) error {
	view, err := p.work(r.Context(), reshapeRows(v, "wish", "design", v.Get("do")))
	if err != nil {
		return err
	}
	status := http.StatusOK
	if !view.sound() {
		status = http.StatusUnprocessableEntity
	}
	return p.page.Write(s.Shell, w, r, status, Head{Title: p.title, Lead: p.lead,
		Actions: []Button{{Label: "All designs", Href: "/designs"}}}, view)
}
