package form

import (
	"maps"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/web/shell"
)

// A Form is what a page asks for, bound to a domain value. The zero Form is of no
// use: Read makes one of what was typed, Of one that a value is to be written in.
//
// The same bind function serves both. In a Form by Read each field is read from
// what was typed into the value; in a Form by Of it is written from the value.
// Either can then be drawn.
//
// A Form of a row (see Rows) is scoped: its names are those of the row.
type Form struct {
	*state
	scope string // what the form's names begin with, as "fat.2."; "" for the page
	row   *row   // the row whose fields these are; nil for the page
	write bool   // values go from the domain into the form
	draft bool   // an empty row that is not there yet
}

// state is what a page's form and those of its rows share.
type state struct {
	v       url.Values
	faces   Faces
	voice   fault.Voice
	decls   map[string]*decl
	order   []string          // names of fields and lists as they were declared
	alias   map[string]string // from what the rules call a field to the form's field
	lists   map[string]*list
	picks   []*List // long lists that the page has fields for
	pageIDs map[string]bool
	exact   map[string]float64   // what a number was, by its place and how it is shown
	faults  fault.List           // Field is the form's name, or the rule's where the form has none
	bad     map[string]bool      // names that could not be read
	line    map[*fault.Error]int // of the text that a fault is about, from 1; see Entries
	refused bool
	adding  string // list that gets one more row
	focus   string // value of the button that was pressed, by the row's new number
}

// decl is a field as it was declared.
type decl struct {
	settings
	name string // in full
	row  *row
	at   []int // of Entries: the line of the text that each entry came from
	list *List
}

// unseen is a field that the form knows and the page draws itself.
const unseen shell.Kind = "unseen"

// Of makes an empty form for a value to be written in.
func Of(faces Faces) *Form {
	return &Form{state: newState(url.Values{}, faces), write: true}
}

// Read makes a form of what was typed. The values are copied.
func Read(v url.Values, faces Faces) *Form {
	own := make(url.Values, len(v))
	for k, x := range v {
		own[k] = slices.Clone(x)
	}
	return &Form{state: newState(own, faces)}
}

func newState(v url.Values, faces Faces) *state {
	return &state{v: v, faces: faces, decls: map[string]*decl{}, alias: map[string]string{}, lists: map[string]*list{}, pageIDs: map[string]bool{},
		exact: map[string]float64{}, bad: map[string]bool{}, line: map[*fault.Error]int{}}
}

// Over says which value the form was filled from. A number that still stands as
// it was shown keeps its exact value, which a unit of the studio's may have
// rounded: kept is a Form by Of that the value was bound to.
func (f *Form) Over(kept *Form) *Form {
	maps.Copy(f.exact, kept.exact)
	return f
}

// Speak gives the voice in which faults name records and fields. Without one a
// fault names a record by its id and a field by its label.
func (f *Form) Speak(v fault.Voice) { f.voice = v }

// Faces are the units and the catalogue that the form is read and written with.
func (f *Form) Faces() Faces { return f.faces }

// Writing reports whether values go from the domain into the form.
func (f *Form) Writing() bool { return f.write }

// Typed is the text that stands in a field, declared or not, without space
// around it.
func (f *Form) Typed(path string) string {
	return strings.TrimSpace(strings.ReplaceAll(f.v.Get(f.name(path)), "\r\n", "\n"))
}

// Set puts a text into a field, declared or not.
func (f *Form) Set(path, text string) { f.v.Set(f.name(path), text) }

// Has reports whether a field was sent at all, though empty.
func (f *Form) Has(path string) bool { return f.v.Has(f.name(path)) }

// Asks reports whether the form has a field, or a field that answers for what the
// rules call so.
func (f *Form) Asks(path string) bool {
	name := f.name(path)
	d := f.decls[name]
	return d != nil && d.Kind != unseen || f.alias[name] != ""
}

// Stands reports whether something is typed in one of the fields, or is wrong with
// it: what a page folds away is then open.
func (f *Form) Stands(paths ...string) bool {
	return slices.ContainsFunc(paths, func(p string) bool { return f.Typed(p) != "" || f.FaultAt(p) != "" })
}

// Renew writes fields of a value that was changed since it was read from the form:
// now is a Form by Of that it is bound to. A star stands for every row: "fat.*.pct".
// All other texts stay as they were typed. To draw the form, read it anew.
func (f *Form) Renew(now *Form, places ...string) {
	for _, name := range now.order {
		if d := now.decls[name]; d != nil && d.Kind != unseen && slices.Contains(places, place(name)) {
			f.v.Set(f.inRows(name), now.v.Get(name))
		}
	}
	maps.Copy(f.exact, now.exact)
}

// Values are the form's names and texts, as a browser would send them.
func (f *Form) Values() url.Values { return f.v }

// Known declares fields that the page draws by itself, so that they are not
// carried along unseen.
func (f *Form) Known(paths ...string) {
	for _, p := range paths {
		f.declare(&decl{settings: settings{Field: shell.Field{Kind: unseen}}, name: f.name(p), row: f.row})
	}
}

// Anchor declares ids of the page that are no fields, where faults can lead: the
// table of a list, say.
func (f *Form) Anchor(ids ...string) {
	for _, id := range ids {
		f.pageIDs[id] = true
	}
}

// name is the full name of a path.
func (f *Form) name(path string) string {
	if path == "" {
		return strings.TrimSuffix(f.scope, ".")
	}
	return f.scope + path
}

func (s *state) declare(d *decl) {
	if _, ok := s.decls[d.name]; ok {
		panic("form: the field " + d.name + " is declared twice")
	}
	s.decls[d.name] = d
	s.order = append(s.order, d.name)
}

// text is what was typed in a declared field. The same field twice with two
// values is refused: nobody could tell which was meant.
func (f *Form) text(d *decl) string {
	vals := f.v[d.name]
	if len(vals) == 0 {
		return ""
	}
	for _, s := range vals[1:] {
		if s != vals[0] && !f.bad[d.name] {
			f.refuse(d.name, fault.Invalidf("", "This came twice, as “%.40s” and as “%.40s”: send it once.", vals[0], s))
		}
	}
	text := strings.TrimSpace(strings.ReplaceAll(vals[0], "\r\n", "\n"))
	if text != "" && f.row != nil && d.counts {
		f.row.typed = true
	}
	return text
}

var digitsBetween = regexp.MustCompile(`\.[0-9]+(\.|$)`)

// place is where a number stands, whatever row it is in: "fat.*.pct".
func place(name string) string { return digitsBetween.ReplaceAllString(name, ".*$1") }

// A Hidden is a field that is carried along unseen.
type Hidden = shell.Hidden

// maxCarried is how many fields are carried along: more than any form has.
const maxCarried = 5000

// carriedName is what a field may be called.
var carriedName = regexp.MustCompile(`^[a-z][A-Za-z0-9_-]*(\.[A-Za-z0-9_-]+)*$`)

// Carried is what was typed for another choice than the one that stands, so that
// choosing back and forth loses nothing: every text that was sent and that no
// field of the form asks for. A row carries its own along; the page's form
// carries what is in no row.
func (f *Form) Carried() []Hidden {
	var out []Hidden
	for _, name := range slices.Sorted(maps.Keys(f.v)) {
		if name == "do" || f.decls[name] != nil || !strings.HasPrefix(name, f.scope) || !carriedName.MatchString(name) || f.row == nil && f.inRow(name) {
			continue
		}
		for _, x := range f.v[name] {
			if x != "" && len(out) < maxCarried {
				out = append(out, Hidden{Name: name, Value: x})
			}
		}
	}
	return out
}

// inRow reports whether a name belongs to a row that the form shows.
func (s *state) inRow(name string) bool {
	for at, l := range s.lists {
		rest, ok := strings.CutPrefix(name, at+".")
		if !ok {
			continue
		}
		num, _, _ := strings.Cut(rest, ".")
		if n, err := strconv.Atoi(num); err == nil && l.byN(n) != nil {
			return true
		}
	}
	return false
}
