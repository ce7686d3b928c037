package form

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"barwright/fault"
	"barwright/internal/web/shell"
	"barwright/studio"
)

// A Room is what the pages of a room of the studio stand on.
type Room struct {
	*shell.Shell
	Book *studio.Studio
}

// An Ask is a request to a room: what was sent, and the faces in which it is answered.
type Ask struct {
	*http.Request
	W      http.ResponseWriter
	Shell  *shell.Shell
	Faces  Faces
	Posted bool
	Sent   url.Values // the form that was posted, else what the address asks for
}

// Serve registers a handler for patterns of http.ServeMux, each with its method. A
// body that is no form is refused in words, before the handler sees it.
func (o Room) Serve(h func(*Ask) error, patterns ...string) {
	for _, pattern := range patterns {
		o.Handle(pattern, func(w http.ResponseWriter, r *http.Request) error {
			a := &Ask{Request: r, W: w, Shell: o.Shell, Posted: r.Method == http.MethodPost, Sent: r.URL.Query()}
			var err error
			if a.Posted {
				if a.Sent, err = posted(r); err != nil {
					return err
				}
			}
			if a.Faces, err = facesOf(r.Context(), o.Book); err != nil {
				return err
			}
			return h(a)
		})
	}
}

// posted is the body of a request as a form's values.
func posted(r *http.Request) (url.Values, error) {
	if err := r.ParseForm(); err != nil {
		if strings.Contains(err.Error(), "too large") {
			return nil, err
		}
		return nil, fault.Invalidf("", "The form could not be read. Go back and send it again.")
	}
	return r.PostForm, nil
}

// GoTo leads on after something was done, or gives back why it was not.
func (a *Ask) GoTo(path string, err error) error {
	if err == nil {
		http.Redirect(a.W, a.Request, path, http.StatusSeeOther)
	}
	return err
}

// Typed is the form that was sent, as one text: where it was sent and what was
// typed. It is the same whenever the same form is sent. What the maker did not
// type, the names of hidden fields and of the button, is given as unseen and left out.
func (a *Ask) Typed(unseen ...string) string {
	typed := url.Values{}
	for name, values := range a.Sent {
		if slices.Contains(unseen, name) {
			continue
		}
		for _, v := range values {
			if v = strings.TrimSpace(strings.ReplaceAll(v, "\r\n", "\n")); v != "" {
				typed.Add(name, v)
			}
		}
	}
	return a.URL.EscapedPath() + "?" + typed.Encode()
}

// Show writes a page.
func Show[T any](p shell.Page[T], a *Ask, status int, head shell.Head, data T) error {
	return p.Write(a.Shell, a.W, a.Request, status, head, data)
}

// Answer writes a page with the form's status. Where a live form asks, it writes
// the named fragments of the page instead.
func Answer[T any](p shell.Page[T], a *Ask, f *Form, head shell.Head, data T, fragments ...string) error {
	if shell.IsLive(a.Request) {
		return p.Fragments(a.Shell, a.W, http.StatusOK, data, fragments...)
	}
	return Show(p, a, f.Status(), head, data)
}
