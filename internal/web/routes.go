package web

import "net/http"

// A place is one of the studio's rooms, named in the head of every page.
type place struct {
	Name string
	Path string
}

// places in the order in which they stand. One that has no page is not shown.
var places = []place{
	{"Today", "/"},
	{"Formulas", "/formulas"},
	{"Designs", "/designs"},
	{"Ingredients", "/ingredients"},
	{"Moulds", "/moulds"},
	{"Bench", "/bench"},
	{"Studio", "/studio"},
}

// routes registers every page, one call per noun.
func (s *server) routes() {
	s.mux.HandleFunc("GET /healthz", healthz)
	s.mux.Handle("GET /static/", s.assets)

	s.aboutRoutes()
	s.partsRoutes()
	if s.cfg.Book != nil {
		s.todayRoutes()
		s.formulaRoutes()
		s.designRoutes()
		s.needRoutes()
		s.potRoutes()
		s.fitRoutes()
		s.ingredientRoutes()
		s.mouldRoutes()
		s.settingsRoutes()
		s.benchRoutes()
	}

	if !s.paths["/"] {
		// No page for today: the first place that exists opens the book.
		to := "/parts"
		for _, p := range places {
			if s.paths[p.Path] {
				to = p.Path
				break
			}
		}
		s.mux.Handle("GET /{$}", http.RedirectHandler(to, http.StatusSeeOther))
	}
	// All that has no page, of any method.
	s.mux.HandleFunc("/", s.notFound)
}

// healthz answers that the program is up. It touches no record.
func healthz(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write([]byte("ok\n"))
}
