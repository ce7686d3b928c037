// Package web is the studio in a browser: pages written on the server, usable
// without JavaScript. It opens the rooms of the studio in one shell. It holds no
// rule of the trade; it asks, and shows what it is told.
package web

import (
	"net/http"

	"barwright/internal/web/bench"
	"barwright/internal/web/designs"
	"barwright/internal/web/formulas"
	"barwright/internal/web/ingredients"
	"barwright/internal/web/moulds"
	"barwright/internal/web/settings"
	"barwright/internal/web/shell"
	"barwright/internal/web/today"
	"barwright/studio"
)

// Config is what the pages need. The zero value of every field but Studio is
// useful.
type Config struct {
	shell.Config

	// Book is the studio's records, what the pages of the trade stand on. Without
	// it only the shell is there.
	Book *studio.Studio
}

// server is the studio's pages with what they need.
type server struct {
	*shell.Shell
	cfg Config
}

// New makes the handler of the whole studio. It reads every template and every
// static file, and fails when one is missing, undeclared or unreadable.
func New(cfg Config) (http.Handler, error) {
	s, err := newServer(cfg)
	if err != nil {
		return nil, err
	}
	return s.Handler(), nil
}

func newServer(cfg Config) (*server, error) {
	sh, err := shell.New(cfg.Config)
	if err != nil {
		return nil, err
	}
	s := &server{sh, cfg}
	if cfg.Book != nil {
		s.routes()
	}
	return s, nil
}

// routes registers every page, one call per noun, in the order in which their
// places stand in the head.
func (s *server) routes() {
	today.Open(s.Shell, s.cfg.Book)
	formulas.Open(s.Shell, s.cfg.Book)
	designs.Open(s.Shell, s.cfg.Book)
	ingredients.Open(s.Shell, s.cfg.Book)
	moulds.Open(s.Shell, s.cfg.Book)
	bench.Open(s.Shell, s.cfg.Book)
	settings.Open(s.Shell, s.cfg.Book)
}
