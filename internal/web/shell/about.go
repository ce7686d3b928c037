package shell

import "net/http"

// aboutView is the page that says what the program never says.
type aboutView struct {
	Version string
	Faces   []Link // licences of the embedded faces
}

var aboutPage = Declare[aboutView](own, "about")

func (s *Shell) about(w http.ResponseWriter, r *http.Request) error {
	v := aboutView{Version: s.cfg.Version}
	for _, f := range []struct{ file, name string }{
		{"fonts/brygada-1918-OFL.txt", "Brygada 1918"},
		{"fonts/atkinson-hyperlegible-next-OFL.txt", "Atkinson Hyperlegible Next"},
	} {
		href, err := s.Asset(f.file)
		if err != nil {
			return err
		}
		v.Faces = append(v.Faces, Link{Href: href, Text: f.name})
	}
	return aboutPage.Write(s, w, r, http.StatusOK, Head{
		Title: "What it never says",
		Lead:  "Barwright works things out and shows how sure it is. The rest is for people to judge.",
	}, v)
}
