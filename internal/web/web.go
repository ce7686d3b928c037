// Package web is the studio in a browser: pages written on the server, usable
// without JavaScript, and a shell that every page stands on. It holds no rule
// of the trade; it asks, and shows what it is told.
package web

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"

	"barwright/fault"
	"barwright/studio"
)

// MaxBody is how many bytes of a form are read when Config says nothing: 1 MiB.
const MaxBody = 1 << 20

// Card is what the head of every page says about whose studio it is.
type Card struct {
	Name string // as the maker wrote it; "" before it has a name
	Demo bool   // everything in it is invented
}

// Config is what the pages need. The zero value of every field but Studio is
// useful.
type Config struct {
	// Studio tells whose studio this is, for the head of every page. It is
	// asked once per page.
	Studio func(context.Context) (Card, error)

	// Book is the studio's records, what the pages of the trade stand on. Without
	// it only the shell is there.
	Book *studio.Studio

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

// server is the studio's pages with what they need.
type server struct {
	cfg    Config
	log    *slog.Logger
	now    func() time.Time
	mux    *http.ServeMux
	sheets sheets
	assets *assets
	hosts  map[string]bool

	// paths of pages that stand at an address without a wild card: what the
	// places in the head and the tests of every page go by.
	paths map[string]bool
}

// New makes the handler of the whole studio. It reads every template and every
// static file, and fails when one is missing, undeclared or unreadable.
func New(cfg Config) (http.Handler, error) {
	s, err := newServer(cfg)
	if err != nil {
		return nil, err
	}
	return s.handler(), nil
}

func newServer(cfg Config) (*server, error) {
	if cfg.Studio == nil {
		return nil, fmt.Errorf("web: Config.Studio is missing")
	}
	s := &server{cfg: cfg, log: cfg.Log, now: cfg.Now, mux: http.NewServeMux(), paths: map[string]bool{}}
	if s.log == nil {
		s.log = slog.Default()
	}
	if s.now == nil {
		s.now = time.Now
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
	if s.sheets, err = loadSheets(templateFiles, s.assets); err != nil {
		return nil, err
	}
	s.routes()
	return s, nil
}

// handler wraps the routes in what every request passes through, outermost
// first: headers, recovery, host, origin, body.
func (s *server) handler() http.Handler {
	same := http.NewCrossOriginProtection()
	same.SetDenyHandler(http.HandlerFunc(s.refuseOrigin))
	return s.headers(s.recovered(s.knownHost(same.Handler(s.limited(s.mux)))))
}

// handlerFunc is a page's handler. It returns what went wrong, and one place,
// (*server).fail, shows it.
type handlerFunc func(http.ResponseWriter, *http.Request) error

// handle registers h for a pattern of http.ServeMux with a method, as in
// "GET /formulas/{id}".
func (s *server) handle(pattern string, h handlerFunc) {
	s.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.fail(w, r, err)
		}
	})
	if method, path, ok := strings.Cut(pattern, " "); ok && method == http.MethodGet {
		path = strings.TrimSuffix(path, "{$}")
		if !strings.Contains(path, "{") {
			s.paths[path] = true
		}
	}
}

// hostOnly is a Host header without its port, brackets, final dot and case.
func hostOnly(host string) string {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.TrimSuffix(strings.TrimPrefix(host, "["), "]")
	return strings.TrimSuffix(strings.ToLower(host), ".")
}
