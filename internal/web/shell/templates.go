package shell

import (
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"regexp"
	"slices"
	"strings"
)

//go:embed part/*.html
var partFiles embed.FS

//go:embed page/*.html
var pageFiles embed.FS

// A Room is a set of pages whose templates stand together.
//
// A file of it that is declared as a page defines the template "content". Any
// other file holds pieces that pages of the room share, and at least one of them
// must call it.
type Room struct {
	name     string
	files    fs.FS
	declared map[string]bool // its pages
}

// rooms are all that are linked into the program.
var rooms []*Room

// NewRoom makes a room of the templates at the root of files, once, as a package
// variable. Its name is for what is said when the program does not start.
func NewRoom(name string, files fs.FS) *Room {
	r := &Room{name, files, map[string]bool{}}
	rooms = append(rooms, r)
	return r
}

// own are the shell's pages.
var own = NewRoom("shell", Sub(pageFiles, "page"))

// Sub is the folder of an embedded file system, for a room whose templates stand
// in one.
func Sub(files embed.FS, dir string) fs.FS {
	sub, err := fs.Sub(files, dir)
	if err != nil {
		panic("web: " + err.Error())
	}
	return sub
}

// sheets are the pages' templates, each with the layout, all parts and what its
// room shares.
type sheets map[pageName]*template.Template

func loadSheets(parts fs.FS, rooms []*Room, a *assets) (sheets, error) {
	base, err := template.New("").Funcs(funcs(a)).ParseFS(parts, "part/*.html")
	if err != nil {
		return nil, fmt.Errorf("web: a part cannot be read: %w", err)
	}
	out := sheets{}
	for _, r := range rooms {
		if err := r.load(base, out); err != nil {
			return nil, fmt.Errorf("web: room %s: %w", r.name, err)
		}
	}
	return out, nil
}

// load reads the templates of a room into out.
func (r *Room) load(base *template.Template, out sheets) error {
	files, err := fs.Glob(r.files, "*.html")
	if err != nil {
		return err
	}
	shared, err := base.Clone()
	if err != nil {
		return err
	}
	defines := map[string][]string{} // by file that is no page: the pieces in it
	for _, file := range files {
		if r.declared[strings.TrimSuffix(file, ".html")] {
			continue
		}
		alone, err := template.New(file).Funcs(funcs(nil)).ParseFS(r.files, file)
		if err != nil {
			return fmt.Errorf("%s cannot be read: %w", file, err)
		}
		for _, t := range alone.Templates() {
			if t.Name() != file {
				defines[file] = append(defines[file], t.Name())
			}
		}
		if len(defines[file]) == 0 || slices.Contains(defines[file], "content") {
			return fmt.Errorf("%s is not declared by any page", file)
		}
		if shared, err = shared.ParseFS(r.files, file); err != nil {
			return fmt.Errorf("%s cannot be read: %w", file, err)
		}
	}
	called := map[string]bool{}
	for name := range r.declared {
		file := name + ".html"
		if !slices.Contains(files, file) {
			return fmt.Errorf("page %s is declared and has no file %s", name, file)
		}
		t, err := shared.Clone()
		if err != nil {
			return err
		}
		if t, err = t.ParseFS(r.files, file); err != nil {
			return fmt.Errorf("%s cannot be read: %w", file, err)
		}
		if t.Lookup("content") == nil {
			return fmt.Errorf("%s does not define the template \"content\"", file)
		}
		if err := checkCalls(t, called); err != nil {
			return fmt.Errorf("%s: %w", file, err)
		}
		out[pageName{r, name}] = t
	}
	for file, names := range defines {
		if !slices.ContainsFunc(names, func(n string) bool { return called[n] }) {
			return fmt.Errorf("%s is not declared by any page, and no page calls what it defines", file)
		}
	}
	return nil
}

// calls are the calls in a template, as its parser writes it back.
var calls = regexp.MustCompile(`\{\{template "([^"]+)"`)

// checkCalls fails when a template calls one that is not there, which the
// template package would say only on a maker's first visit. It marks in called
// those that are called.
func checkCalls(t *template.Template, called map[string]bool) error {
	for _, one := range t.Templates() {
		if one.Tree == nil || one.Tree.Root == nil {
			continue
		}
		for _, call := range calls.FindAllStringSubmatch(one.Tree.Root.String(), -1) {
			called[call[1]] = true
			if t.Lookup(call[1]) == nil {
				return fmt.Errorf("template %q calls %q, which is not declared", one.Name(), call[1])
			}
		}
	}
	return nil
}
