package shell

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"sort"
	"strings"
	"time"

	"barwright/internal/draw"
)

//go:embed static/css/*.css static/js/*.js static/fonts/*.woff2 static/fonts/*.txt
var staticFiles embed.FS

// styleSheet is the one sheet that a page links to.
const styleSheet = "css/barwright.css"

// assets serves the static files under an address that holds a hash of all of
// them: /static/HASH/js/main.js. So a browser may keep each for ever, files
// refer to each other by relative names, and a new version of the program is a
// new address.
type assets struct {
	hash  string
	files map[string]asset
}

type asset struct {
	body []byte
	mime string
	etag string
}

// mimes are said by us, not by the machine's own table, which differs.
var mimes = map[string]string{
	".css":   "text/css; charset=utf-8",
	".js":    "text/javascript; charset=utf-8",
	".woff2": "font/woff2",
	".svg":   "image/svg+xml",
	".txt":   "text/plain; charset=utf-8",
}

func loadAssets(files fs.FS) (*assets, error) {
	a := &assets{files: map[string]asset{}}
	all := sha256.New()
	var styles []string
	add := func(name string, body []byte) {
		sum := sha256.Sum256(body)
		a.files[name] = asset{body, mimes[path.Ext(name)], `"` + hex.EncodeToString(sum[:8]) + `"`}
		fmt.Fprintf(all, "%s %x\n", name, sum)
	}
	err := fs.WalkDir(files, "static", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if path.Ext(p) == ".css" {
			styles = append(styles, p)
			return nil
		}
		if mimes[path.Ext(p)] == "" {
			return fmt.Errorf("%s: no type is declared for such a file", p)
		}
		body, err := fs.ReadFile(files, p)
		if err != nil {
			return err
		}
		add(strings.TrimPrefix(p, "static/"), body)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("web: static files: %w", err)
	}
	if len(styles) == 0 {
		return nil, fmt.Errorf("web: there is no style sheet under static/css")
	}
	sheet, err := joinStyles(files, styles)
	if err != nil {
		return nil, err
	}
	add(styleSheet, sheet)
	// The mark takes the colour of the words beside it; alone in a browser's tab
	// it has none, and is given ink.
	add("mark.svg", []byte(strings.ReplaceAll(draw.Mark(32), "currentColor", draw.Ink)))
	a.hash = hex.EncodeToString(all.Sum(nil)[:6])
	return a, nil
}

// first and last are the sheets whose place in the cascade matters; all others
// stand between them by name.
var (
	first = []string{"ink.css", "fonts.css", "page.css"}
	last  = []string{"print.css"}
)

func joinStyles(files fs.FS, names []string) ([]byte, error) {
	rank := func(name string) int {
		base := path.Base(name)
		if i := slices.Index(first, base); i >= 0 {
			return i - len(first)
		}
		return slices.Index(last, base) + 1
	}
	sort.Slice(names, func(i, j int) bool {
		if a, b := rank(names[i]), rank(names[j]); a != b {
			return a < b
		}
		return names[i] < names[j]
	})
	var b bytes.Buffer
	for _, n := range names {
		body, err := fs.ReadFile(files, n)
		if err != nil {
			return nil, fmt.Errorf("web: style sheet: %w", err)
		}
		fmt.Fprintf(&b, "/* %s */\n", path.Base(n))
		b.Write(body)
		b.WriteByte('\n')
	}
	return b.Bytes(), nil
}

// Asset is the address of a static file, as in Asset("js/main.js").
func (s *Shell) Asset(name string) (string, error) { return s.assets.url(name) }

// url is the address of a static file.
func (a *assets) url(name string) (string, error) {
	if _, ok := a.files[name]; !ok {
		return "", fmt.Errorf("there is no static file %q", name)
	}
	return "/static/" + a.hash + "/" + name, nil
}

func (a *assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	rest := strings.TrimPrefix(r.URL.Path, "/static/")
	hash, name, _ := strings.Cut(rest, "/")
	f, ok := a.files[name]
	if !ok {
		answer(w, http.StatusNotFound, "text/plain", []byte("There is no such file here.\n"))
		return
	}
	w.Header().Set("Content-Type", f.mime)
	w.Header().Set("ETag", f.etag)
	if hash == a.hash {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	} else {
		// A page kept open across a new version of the program asks here. It
		// gets the file of now, and must not keep it under the old name.
		w.Header().Set("Cache-Control", "no-cache")
	}
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(f.body))
}
