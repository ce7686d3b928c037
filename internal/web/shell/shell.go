// Package shell is what every page of the studio stands on: the layout with its
// head and its places, the parts that a page is set from, the guard that every
// request passes, the static files, the page that says what went wrong, and the
// address at which it is all served. It knows no record and no rule of the trade.
//
// A room of the studio (formulas, moulds, bench, …) is a package of its own beside
// this one. It keeps its templates beside its Go files and declares each page as a
// package variable:
//
//	//go:embed *.html
//	var files embed.FS
//
//	var room = shell.NewRoom("moulds", files)
//
//	var shelfPage = shell.Declare[shelfView](room, "moulds") // moulds.html
//
// It registers its addresses, and its place in the head, when the studio starts:
//
//	func Open(s *shell.Shell, book *studio.Studio) {
//		r := &rooms{s, book}
//		s.Place("Moulds", "/moulds")
//		s.Handle("GET /moulds", r.list)
//	}
//
// A handler writes a whole page by Page.Write, answers a live form by
// Page.Fragments, and returns what went wrong: the shell shows it.
package shell

import (
	"cmp"
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"

	"barwright/fault"
)

// MaxBody is how many bytes of a form are read when Config says nothing: 1 MiB.
const MaxBody = 1 << 20

// Card is what the head of every page says about whose studio it is.
type Card struct {
	Name string // as the maker wrote it; "" before it has a name
	Demo bool   // everything in it is invented
}

// Config is what the shell needs. The zero value of every field but Studio is
// useful.
type Config struct {
	// Studio tells whose studio this is, for the head of every page. It is
	// asked once per page.
	Studio func(context.Context) (Card, error)

	// Version of the program, for the foot of every page.
	Version string

	// Hosts are names beside the loopback ones that this studio answers to,
	// without a port, as in "bench.lan". A request for any other name is refused: a page
	// elsewhere could otherwise point its own name at this machine and read
	// the studio (DNS rebinding).
	Hosts []string

	// MaxBody is the largest body read, in bytes; 0 means MaxBody.
	MaxBody int64

	// Log takes what went wrong; nil means slog.Default.
	Log *slog.Logger

	// Now is the clock; nil means time.Now.
	Now func() time.Time
}

// Shell serves the pages that rooms register with it.
type Shell struct {
	cfg    Config
	log    *slog.Logger
	mux    *http.ServeMux
	sheets sheets
	assets *assets
	hosts  map[string]bool
	places []place

	// paths of pages that stand at an address without a wild card: what the
	// places in the head and the tests of every page go by.
	paths map[string]bool
}

// New makes a shell with the pages that are its own. It reads every template of
// every room and every static file, and fails when one is missing, undeclared or
// unreadable.
func New(cfg Config) (*Shell, error) {
	if cfg.Studio == nil {
		return nil, fmt.Errorf("web: Config.Studio is missing")
	}
	s := &Shell{cfg: cfg, log: cmp.Or(cfg.Log, slog.Default()), mux: http.NewServeMux(), paths: map[string]bool{}}
	if s.cfg.Now == nil {
		s.cfg.Now = time.Now
	}
	if s.cfg.MaxBody <= 0 {
		s.cfg.MaxBody = MaxBody
	}
	s.hosts = map[string]bool{"127.0.0.1": true, "localhost": true, "::1": true}
	for _, h := range cfg.Hosts {
		h = strings.ToLower(strings.TrimSpace(h))
		if h == "" || strings.ContainsAny(h, "/:* ") {
			return nil, fault.Invalidf("hosts", "%q is no host name; write the name alone, as in bench.lan", h)
		}
		s.hosts[h] = true
	}
	var err error
	if s.assets, err = loadAssets(staticFiles); err != nil {
		return nil, err
	}
	if s.sheets, err = loadSheets(partFiles, rooms, s.assets); err != nil {
		return nil, err
	}
	s.mux.HandleFunc("GET /healthz", healthz)
	s.mux.Handle("GET /static/", s.assets)
	s.Handle("GET /about", s.about)
	s.Handle("GET /parts", s.parts)
	// All that has no page, of any method.
	s.mux.HandleFunc("/", s.elsewhere)
	return s, nil
}

// Handler wraps the pages in what every request passes through, outermost first:
// headers, recovery, host, origin, body, compression.
func (s *Shell) Handler() http.Handler {
	same := http.NewCrossOriginProtection()
	same.SetDenyHandler(http.HandlerFunc(s.refuseOrigin))
	return s.headers(s.recovered(s.knownHost(same.Handler(s.limited(pressed(s.mux))))))
}

// Handle registers a page's handler for a pattern of http.ServeMux with a method,
// as in "GET /formulas/{id}". What the handler returns is shown by Fail.
func (s *Shell) Handle(pattern string, h func(http.ResponseWriter, *http.Request) error) {
	s.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.Fail(w, r, err)
		}
	})
	if method, path, ok := strings.Cut(pattern, " "); ok && method == http.MethodGet {
		path = strings.TrimSuffix(path, "{$}")
		if !strings.Contains(path, "{") {
			s.paths[path] = true
		}
	}
}

// Now is the time by the shell's clock.
func (s *Shell) Now() time.Time { return s.cfg.Now() }

// Studio tells whose studio this is.
func (s *Shell) Studio(ctx context.Context) (Card, error) { return s.cfg.Studio(ctx) }

// Version is that of the program.
func (s *Shell) Version() string { return s.cfg.Version }

// A place is a room's name in the head of every page.
type place struct {
	Name string
	Path string
}

// Place names a room in the head of every page. Places stand in the order in
// which they are registered; one that has no page is not shown.
func (s *Shell) Place(name, path string) { s.places = append(s.places, place{name, path}) }

// placeOf is the path of the place that an address lies in; "" for none.
func (s *Shell) placeOf(p string) string {
	for _, pl := range s.places {
		if p == pl.Path || pl.Path != "/" && strings.HasPrefix(p, pl.Path+"/") {
			return pl.Path
		}
	}
	return ""
}

// elsewhere answers what no page answers. Where no room has the home address, it
// leads to the first place that has a page.
func (s *Shell) elsewhere(w http.ResponseWriter, r *http.Request) {
	if r.URL.Path == "/" && (r.Method == http.MethodGet || r.Method == http.MethodHead) {
		to := "/parts"
		for _, p := range s.places {
			if s.paths[p.Path] {
				to = p.Path
				break
			}
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	s.say(w, r, http.StatusNotFound, faultView{
		Sentences: []string{"There is nothing at this address."},
		Do:        "The menu above leads to everything that is kept here.",
	})
}

// healthz answers that the program is up. It touches no record.
func healthz(w http.ResponseWriter, _ *http.Request) {
	answer(w, http.StatusOK, "text/plain", []byte("ok\n"))
}

// hostOnly is a Host header without its port, brackets, final dot and case.
func hostOnly(host string) string {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.TrimSuffix(strings.TrimPrefix(host, "["), "]")
	return strings.TrimSuffix(strings.ToLower(host), ".")
}
