package web

import "net/http"

// aboutView is the page that says what the program never says.
type aboutView struct {
	Version string
	Faces   []Link // licences of the embedded faces
}

var aboutPage = declare[aboutView]("about")

func (s *server) aboutRoutes() { s.handle("GET /about", s.about) }

func (s *server) about(w http.ResponseWriter, r *http.Request) error {
	v := aboutView{Version: s.cfg.Version}
	for _, f := range []struct{ file, name string }{
		{"fonts/brygada-1918-OFL.txt", "Brygada 1918"},
		{"fonts/atkinson-hyperlegible-next-OFL.txt", "Atkinson Hyperlegible Next"},
	} {
		href, err := s.assets.url(f.file)
		if err != nil {
			return err
		}
		v.Faces = append(v.Faces, Link{Href: href, Text: f.name})
	}
	return aboutPage.write(s, w, r, http.StatusOK, Head{
		Title: "What it never says",
		Lead:  "Barwright works things out and shows how sure it is. The rest is for people to judge.",
	}, v)
}
