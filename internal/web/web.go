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

// rooms open all rooms, in the order in which their places stand in the head.
var rooms = []func(*shell.Shell, *studio.Studio){today.Open, formulas.Open, designs.Open, ingredients.Open, moulds.Open, bench.Open, settings.Open}

// New makes the handler of the whole studio. It reads every template and every
// static file, and fails when one is missing, undeclared or unreadable.
func New(cfg Config) (http.Handler, error) {
	s, err := shell.New(cfg.Config)
	if err != nil {
		return nil, err
	}
	if cfg.Book != nil {
		for _, open := range rooms {
			open(s, cfg.Book)
		}
	}
	return s.Handler(), nil
}
