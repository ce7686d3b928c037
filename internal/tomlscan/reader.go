package tomlscan

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	toml "github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"barwright/fault"
	"barwright/internal/words"
	"barwright/quantity"
)

// Rules are what a kind of file may hold.
type Rules struct {
	What    string // what it is read as: "a formula"
	Least   string // what it has at least, for one that is empty
	Example string // an id, to show how text is written
	// Places are the file itself, which has no name and stands first, and its
	// tables and lists of tables in the order of a file. There is at least one list.
	Places []Place
}

// Place is where keys stand.
type Place struct {
	Name string // alkali; of a list within a list, design.part
	List bool   // [[name]], any number of times
	Keys []string
}

func (rules *Rules) list(name string) bool {
	return slices.ContainsFunc(rules.Places, func(p Place) bool { return p.Name == name && p.List })
}

// known are the keys of a place, the tables in it last.
func (rules *Rules) known(place string) []string {
	var out []string
	for i := range rules.Places {
		if rules.Places[i].Name == place {
			out = slices.Clone(rules.Places[i].Keys)
		}
	}
	for i := range rules.Places {
		if name := rules.Places[i].Name; name != "" && parent(name) == place {
			out = append(out, name[strings.LastIndexByte(name, '.')+1:])
		}
	}
	return out
}

// key reports that it may stand somewhere.
func (rules *Rules) key(key string) bool {
	return slices.ContainsFunc(rules.Places, func(p Place) bool { return p.Name == key || slices.Contains(p.Keys, key) })
}

func (p *Place) heading() string {
	if p.List {
		return "[[" + p.Name + "]]"
	}
	return "[" + p.Name + "]"
}

// home names the place of a key that stands in the wrong one, or gives "".
func (rules *Rules) home(key, here string) string {
	for i := range rules.Places {
		p := &rules.Places[i]
		if p.Name == here || !slices.Contains(p.Keys, key) {
			continue
		}
		if p.Name == "" {
			return "above the first heading"
		}
		return "under " + p.heading()
	}
	return ""
}

// headings are all headings of a file, in words.
func (rules *Rules) headings() string {
	var all []string
	for i := range rules.Places[1:] {
		all = append(all, rules.Places[1+i].heading())
	}
	return strings.Join(all[:len(all)-1], ", ") + " and " + all[len(all)-1]
}

// heading shows what a heading looks like: a table and a list where there are both.
func (rules *Rules) heading() string {
	if t := slices.IndexFunc(rules.Places, func(p Place) bool { return p.Name != "" && !p.List }); t >= 0 {
		return rules.Places[t].heading() + " or [[" + rules.firstList() + "]]"
	}
	return "[[" + rules.firstList() + "]]"
}

func (rules *Rules) firstList() string {
	return rules.Places[slices.IndexFunc(rules.Places, func(p Place) bool { return p.List })].Name
}

// A Reader turns tables into a value, and gathers what is wrong with them.
type Reader struct {
	*scan
	data  []byte
	lines map[string]int  // of every key path that stands in the file
	bad   map[string]bool // key paths that have their fault already
	under map[string]bool // and all that they stand in
}

// Read scans a file; file is its name, for the faults. It is false when the file
// is none to be read: then there are no tables, and Err says why.
func Read(file string, data []byte, rules Rules) (*Reader, bool) {
	r := &Reader{scan: &scan{file: file, rules: rules, root: newTable(0)}, lines: map[string]int{}, bad: map[string]bool{}, under: map[string]bool{}}
	if refuse := rules.unreadable(data); refuse != "" {
		r.addf(0, "", "%s", refuse)
		return r, false
	}
	if at := bytes.IndexByte(data, 0); at >= 0 {
		r.addf(1+bytes.Count(data[:at], []byte("\n")), "", "there is a zero byte here, so this is no text file: save it as plain text in UTF-8")
		return r, false
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if at := invalidAt(data); at >= 0 {
		r.addf(1+bytes.Count(data[:at], []byte("\n")), "", "this is not UTF-8 text: save the file in the encoding UTF-8")
		return r, false
	}
	r.data = data
	r.read(data)
	for _, e := range r.faults {
		r.mark(e.Field)
	}
	// A key of the file itself that slipped below a heading is named there; that
	// it is missing above is then no news.
	for _, key := range rules.Places[0].Keys {
		if rules.home(key, "") == "" && below(r.root, key, false) {
			r.mark(key)
		}
	}
	return r, true
}

// below reports that a key stands in a table under t.
func below(t *Table, key string, here bool) bool {
	if here && t.values[key] != nil {
		return true
	}
	for _, v := range t.values {
		if v.table != nil && below(v.table, key, true) {
			return true
		}
		for _, e := range v.list {
			if e.table != nil && below(e.table, key, true) {
				return true
			}
		}
	}
	return false
}

// Top is the file itself.
func (r *Reader) Top() *Table { return r.root }

// Line is the line of a key path, or of what it is in; 0 when it is not known.
func (r *Reader) Line(path string) int {
	for ; path != ""; path = parent(path) {
		if line := r.lines[path]; line > 0 {
			return line
		}
	}
	return 0
}

// Word is the text of a key and its line, and false when it is no text.
func (t *Table) Word(key string) (text string, line int, ok bool) {
	v := t.values[key]
	if v == nil || v.broken || v.kind != unstable.String {
		return "", 0, false
	}
	return v.text, v.line, true
}

// Has reports that a key stands in the table, readable or not.
func (t *Table) Has(key string) bool { return t.values[key] != nil }

// Err is what is wrong with the file: a fault.List of the first twenty, by line;
// nil when there is nothing.
func (r *Reader) Err() error {
	if len(r.faults) == 0 && r.data != nil {
		// The last word on what is TOML is the library's: it knows rules of
		// tables that scan does not need to.
		var any map[string]any
		if err := toml.Unmarshal(r.data, &any); err != nil {
			line, words := 0, err.Error()
			var de *toml.DecodeError
			if errors.As(err, &de) {
				line, _ = de.Position()
				words = strings.TrimPrefix(de.Error(), "toml: ")
			}
			r.addf(line, "", "this is not TOML: %s", words)
		}
	}
	if len(r.faults) == 0 {
		return nil
	}
	sortByLine(r.faults)
	if more := len(r.faults) - maxFaults; more > 0 {
		r.faults = r.faults[:maxFaults]
		r.addf(0, "", "and %d more", more)
	}
	for _, e := range r.faults {
		if e.Err == errSyntax {
			e.Err = nil
		}
	}
	return r.faults
}

// sortByLine orders faults by line, those without one last, keeping the order of
// faults on one line.
func sortByLine(l fault.List) {
	slices.SortStableFunc(l, func(a, b *fault.Error) int {
		if (a.Line == 0) != (b.Line == 0) {
			return cmp.Compare(b.Line, a.Line)
		}
		return cmp.Compare(a.Line, b.Line)
	})
}

// Wrong notes a fault on a key path, about which nothing more is then said.
func (r *Reader) Wrong(line int, path, format string, args ...any) {
	r.mark(path)
	r.addf(line, path, format, args...)
}

// Bad reports that the key path has its fault already.
func (r *Reader) Bad(path string) bool { return r.bad[path] }

// BadBelow reports that something below the key path has its fault already.
func (r *Reader) BadBelow(path string) bool { return r.under[path] }

func (r *Reader) mark(path string) {
	r.bad[path] = true
	for up := parent(path); up != "" && !r.under[up]; up = parent(up) {
		r.under[up] = true
	}
}

// Add adds a fault that the rules of what was read found, with its line, unless
// the field could not be read in the first place. What is said of a whole list is
// said only when the list was read whole.
func (r *Reader) Add(e *fault.Error) {
	for path := e.Field; path != ""; path = parent(path) {
		if r.bad[path] {
			return
		}
	}
	if r.rules.list(unnumbered(e.Field)) {
		if r.under[e.Field] || r.stopped {
			return
		}
	}
	e.File = r.file
	if e.Line == 0 {
		e.Line = r.Line(e.Field)
	}
	r.faults.Add(e)
}

// unnumbered is a key path without its numbers: design.part of design.2.part.
func unnumbered(path string) string {
	keys := strings.Split(path, ".")
	return strings.Join(slices.DeleteFunc(keys, func(k string) bool { _, err := strconv.Atoi(k); return err == nil }), ".")
}

// parent is the path without its last key: fat.1 of fat.1.pct.
func parent(path string) string {
	return path[:max(strings.LastIndexByte(path, '.'), 0)]
}

// Open notes the keys of a table, which stands at path and is of that place, and
// names those that do not belong.
func (r *Reader) Open(path, place string, t *Table) {
	known := r.rules.known(place)
	if path != "" && t.line > 0 && r.lines[path] == 0 {
		r.lines[path] = t.line
	}
	for _, key := range t.keys {
		v := t.values[key]
		full := joinPath(path, key)
		r.lines[full] = v.line
		if slices.Contains(known, key) {
			if v.broken {
				r.mark(full)
			}
			continue
		}
		switch home := r.rules.home(key, place); {
		case v.broken:
		case home != "":
			r.Wrong(v.line, Short(full), "it does not belong here: it stands %s", home)
		default:
			r.Wrong(v.line, Short(full), "there is no such key%s", words.Meant(key, known))
		}
	}
}

// get gives the value of a key, or nil; a required one that is missing is a
// fault, with what to write.
func (r *Reader) get(t *Table, path, key, write string) *value {
	v := t.values[key]
	switch {
	case v == nil && write != "" && !r.stopped && !r.bad[joinPath(path, key)]:
		// A misspelt key is named with the right one; its absence is then no news.
		for _, k := range t.keys {
			if words.Nearest(k, []string{key}) == key {
				r.mark(joinPath(path, key))
				return nil
			}
		}
		r.Wrong(t.line, joinPath(path, key), "missing: write %s", write)
	case v == nil && write != "":
		r.mark(joinPath(path, key))
	case v != nil && v.broken:
		return nil
	}
	return v
}

// words for a value that is of the wrong type.
func (v *value) words() string {
	switch v.kind {
	case unstable.String:
		return fmt.Sprintf("the text %q", Short(v.text))
	case unstable.Bool:
		return v.text
	case unstable.Integer, unstable.Float:
		return "the number " + Short(v.text)
	case unstable.Array:
		return "a list"
	case unstable.Table, unstable.InlineTable, unstable.ArrayTable:
		return "a table"
	default:
		return "the date or time " + Short(v.text)
	}
}

// Text gives the text of a key, "" where there is none. Where write is not empty
// the key is required, and write says what to write.
func (r *Reader) Text(t *Table, path, key, write string) string {
	v := r.get(t, path, key, write)
	if v == nil {
		return ""
	}
	if v.kind != unstable.String {
		r.Wrong(v.line, joinPath(path, key), "%s is not text: write it in quotes, as %s", v.words(), likeText(write, key))
		return ""
	}
	return v.text
}

func likeText(write, key string) string {
	if _, after, ok := strings.Cut(write, "as "); ok {
		return after
	}
	return key + ` = "…"`
}

// Number gives the value of a key, and whether it is there and a finite number.
// Where write is not empty the key is required.
func (r *Reader) Number(t *Table, path, key, write string) (float64, bool) {
	v := r.get(t, path, key, write)
	if v == nil {
		return 0, false
	}
	return r.numberOf(v, joinPath(path, key))
}

// numberOf reads a value that is to be a finite number.
func (r *Reader) numberOf(v *value, full string) (float64, bool) {
	bare := strings.ReplaceAll(v.text, "_", "")
	switch v.kind {
	case unstable.Float, unstable.Integer:
		if strings.HasSuffix(bare, "nan") || strings.HasSuffix(bare, "inf") {
			r.Wrong(v.line, full, "%s is not a number to weigh by: write one with digits, as 60.0", bare)
			return 0, false
		}
		n, err := strconv.ParseFloat(bare, 64)
		if v.kind == unstable.Integer && len(bare) > 1 && strings.ContainsAny(bare[1:2], "xob") {
			var i int64
			i, err = strconv.ParseInt(bare, 0, 64)
			n = float64(i)
		}
		if err != nil {
			r.Wrong(v.line, full, "%s is too large a number: write a smaller one", Short(bare))
			return 0, false
		}
		return n, true
	case unstable.String:
		if n, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(v.text), ",", ".", 1), 64); err == nil && !math.IsNaN(n) && !math.IsInf(n, 0) {
			r.Wrong(v.line, full, "%s is not a number: write it without quotes, as %s", v.words(), plain(n))
			return 0, false
		}
	}
	r.Wrong(v.line, full, "%s is not a number: write one with digits, as 60.0", v.words())
	return 0, false
}

// Flag gives the value of a key that is true or false; false where it is left out.
func (r *Reader) Flag(t *Table, path, key string) bool {
	v := r.get(t, path, key, "")
	if v == nil {
		return false
	}
	if v.kind != unstable.Bool {
		r.Wrong(v.line, joinPath(path, key), "%s is neither true nor false: write one of the two, without quotes", v.words())
		return false
	}
	return v.text == "true"
}

// Choice reads a word, and hands its place among choices to set.
func (r *Reader) Choice(t *Table, path, key, write string, choices []string, set func(i int)) {
	v := r.get(t, path, key, write)
	if v == nil {
		return
	}
	list := strings.Join(choices[:len(choices)-1], ", ") + " or " + choices[len(choices)-1]
	if v.kind != unstable.String {
		r.Wrong(v.line, joinPath(path, key), "%s will not do: write %s, in quotes", v.words(), list)
		return
	}
	if i := slices.Index(choices, v.text); i >= 0 {
		set(i)
		return
	}
	r.Wrong(v.line, joinPath(path, key), "%q will not do: write %s%s", Short(v.text), list, words.Meant(v.text, choices))
}

// Sub gives the table under a key of the file, or nil.
func (r *Reader) Sub(key string) *Table {
	v := r.root.values[key]
	if v == nil || v.broken {
		return nil
	}
	if v.table == nil {
		if v.kind == unstable.ArrayTable {
			r.Wrong(v.line, key, "[%s] stands once, in single brackets", key)
		} else {
			r.Wrong(v.line, key, "%s is not a table: write the heading [%s], and its keys below it", v.words(), key)
		}
		return nil
	}
	return v.table
}

// Lists gives the tables under [[key]] of a table that stands at path; nil stands
// for one that could not be read.
func (r *Reader) Lists(t *Table, path, key string) []*Table {
	v := t.values[key]
	if v == nil || v.broken {
		return nil
	}
	full := joinPath(path, key)
	name := unnumbered(full)
	if v.kind != unstable.ArrayTable && v.kind != unstable.Array {
		if !r.bad[full] {
			r.Wrong(v.line, full, "each %s stands under [[%s]], in double brackets", key, name)
		}
		return nil
	}
	var out []*Table
	for i, e := range v.list {
		if e.table == nil {
			r.Wrong(e.line, full+"."+strconv.Itoa(i+1), "%s is not a table: write the heading [[%s]], and its keys below it", e.words(), name)
			out = append(out, nil)
			continue
		}
		out = append(out, e.table)
	}
	return out
}

// Numbers gives the numbers of a key that is a list of them, and whether it is
// there and every one is a finite number. A number that stands alone is a list of
// one.
func (r *Reader) Numbers(t *Table, path, key, write string) ([]float64, bool) {
	v := r.get(t, path, key, write)
	if v == nil {
		return nil, false
	}
	full := joinPath(path, key)
	list := []*value{v}
	if v.kind == unstable.Array {
		list = v.list
	}
	out := make([]float64, 0, len(list))
	for _, e := range list {
		n, ok := r.numberOf(e, full)
		if !ok {
			return nil, false
		}
		out = append(out, n)
	}
	return out, true
}

// Maybe is Number as a number that may be unknown; the key is not required.
func (r *Reader) Maybe(t *Table, path, key string) (m quantity.Maybe) {
	m.V, m.Known = r.Number(t, path, key, "")
	return m
}

// plain writes a number as it can be typed again.
func plain(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-9 || a >= 1e15) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}
