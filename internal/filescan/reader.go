// Package filescan reads the maker's files, TOML or JSON, into one tree of values
// that know their lines. A Reader takes numbers, texts and lists out of the tree
// and gathers everything that is wrong with them, in sentences: where, what, and
// what would do. What a file may hold is said by its Rules.
//
// The first thing that is no TOML or no JSON ends the reading, since what follows
// it cannot be told apart. Everything else is named at once: keys that are not
// known, missing or written twice, and values that cannot be used.
package filescan

import (
	"bytes"
	"cmp"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/words"
)

const (
	// maxFaults is how many faults one message names.
	maxFaults = 20
	// maxKept is how many are kept to choose those from, by line.
	maxKept = 1000
)

// A Reader has the tree of a file and what is wrong with it.
type Reader struct {
	file     string
	rules    Rules
	isJSON   bool
	tomlData []byte
	root     value
	top      *Table
	faults   fault.List
	more     int             // faults that were not kept
	bad      map[string]bool // key paths that have their fault already
	under    map[string]bool // and all that they stand in
	listed   map[string]bool // places whose keys a fault has listed already
}

// TOML scans a file of TOML; file is its name, for the faults. It is false when
// the file is none to be read: Err says why.
func TOML(file string, data []byte, rules Rules) (*Reader, bool) {
	r, data, ok := plain(file, data, rules)
	if !ok || !r.toml(data) {
		return r, false
	}
	r.tomlData = data
	return r, true
}

// JSON scans a file of JSON that holds one object, as TOML does.
func JSON(file string, data []byte, rules Rules) (*Reader, bool) {
	r, data, ok := plain(file, data, rules)
	r.isJSON = true
	return r, ok && r.json(data)
}

// Plain is a file of another form: it is only held to its size and to being text.
// What is wrong with its lines is said by Wrong.
func Plain(file string, data []byte, rules Rules) (*Reader, bool) {
	r, _, ok := plain(file, data, rules)
	return r, ok
}

func plain(file string, data []byte, rules Rules) (*Reader, []byte, bool) {
	r := &Reader{file: file, rules: rules, root: value{kind: table}, bad: map[string]bool{}, under: map[string]bool{}, listed: map[string]bool{}}
	// Some editors begin a file with a mark of the byte order.
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	line, why := rules.unreadable(data)
	if why != "" {
		r.Wrong(line, "", "%s", why)
	}
	return r, data, why == ""
}

// Top is the file itself.
func (r *Reader) Top() *Table {
	if r.top == nil {
		r.top = r.open(&r.root, "", "", "")
	}
	return r.top
}

// Line is the line of a key path, or of what it is in; 0 when it is not known.
func (r *Reader) Line(path string) int {
	v := &r.root
	for path != "" {
		var key string
		key, path, _ = strings.Cut(path, ".")
		next := v.at(key)
		if next == nil {
			break
		}
		v = next
	}
	return int(v.line)
}

// Err is what is wrong with the file: a fault.List of the first twenty, by line;
// nil when there is nothing.
func (r *Reader) Err() error {
	if len(r.faults) == 0 && r.tomlData != nil {
		r.lastWord()
	}
	slices.SortStableFunc(r.faults, func(a, b *fault.Error) int {
		if (a.Line == 0) != (b.Line == 0) {
			return cmp.Compare(b.Line, a.Line) // those without a line come last
		}
		return cmp.Compare(a.Line, b.Line)
	})
	if more := r.more + len(r.faults) - maxFaults; more > 0 {
		r.faults, r.more = r.faults[:maxFaults], 0
		r.keep(fault.Invalidf("", "%s found: mend these first", words.Count(more, "more fault was", "more faults were")), 0)
	}
	return r.faults.Err()
}

// keep takes a fault down, as a whole sentence: what is said in the middle of one,
// as a rule says it to a page, gets its capital and its full stop.
func (r *Reader) keep(e *fault.Error, line int) {
	if len(r.faults) >= maxKept {
		r.more++
		return
	}
	e.File, e.Line, e.Message = r.file, line, words.Sentence(e.Message)
	r.faults.Add(e)
}

// OK reports that nothing is wrong with the file so far.
func (r *Reader) OK() bool { return len(r.faults) == 0 }

// Wrong notes a fault in a line, on a key path, about which the rules of what was
// read need say nothing more.
func (r *Reader) Wrong(line int, path, format string, args ...any) {
	if len(r.faults) < maxKept {
		r.mark(path)
	}
	r.keep(fault.Invalidf(path, format, args...), line)
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
	if r.under[e.Field] && r.rules.list(unnumbered(e.Field)) {
		return
	}
	r.keep(e, cmp.Or(e.Line, r.Line(e.Field)))
}

// aTable is what the file's form calls a table.
func (r *Reader) aTable() string {
	if r.isJSON {
		return "an object"
	}
	return "a table"
}

// pair is a key with its value, as the file's form writes it.
func (r *Reader) pair(key, example string) string {
	if r.isJSON {
		return strconv.Quote(key) + ": " + example
	}
	return key + " = " + example
}

// open gives the table or the list v, which stands at path. Of a table it names
// the keys that do not belong, and those that are written twice.
func (r *Reader) open(v *value, path, place, who string) *Table {
	t := &Table{r: r, v: v, path: path, place: place, who: who}
	p := r.rules.place(place)
	if p == nil {
		p = &Place{Any: true}
	}
	if v.kind == table {
		t.known = r.rules.known(p)
	}
	for i, key := range v.keys() {
		e := &v.in.vals[i]
		if first := v.find(key); first != i {
			t.wrong(e, key, "this key is written twice, first in line %d: keep one of the two", v.in.vals[first].line)
			continue
		}
		if p.Any || slices.Contains(t.known, key) || r.rules.Remarks && (key == "note" || key[:min(1, len(key))] == "_") {
			continue
		}
		if len(r.faults) >= maxKept { // a near word takes long to find
			r.more++
			continue
		}
		switch home := r.rules.home(key, place); {
		case home == nil:
			remark := ""
			if r.rules.Remarks {
				remark = "; the name of a remark begins with _"
			}
			hint := words.Meant(key, t.known)
			if hint == "" && !r.listed[place] {
				// In a file of another kind nearly every key is unknown, so the list is
				// said once.
				r.listed[place], hint = true, meant(key, "keys", t.known)
			}
			t.wrong(e, key, "there is no such key%s%s", hint, remark)
		case home.Name == "" && !r.isJSON:
			t.wrong(e, key, "this key does not belong here: write it above the first heading")
		case home.Name == "":
			t.wrong(e, key, "this key does not belong here: write it at the top of the file")
		case r.isJSON:
			t.wrong(e, key, "this key does not belong here, but in %q", fault.Key(home.Name))
		default:
			t.wrong(e, key, "this key does not belong here: write it under %s", home.heading())
		}
	}
	return t
}

// Names are the ids of one kind of thing in a file, in its order, so that one
// that stands twice, and a reference to one that does not exist, gets its fault.
// Those of the zero Names are called entries.
type Names struct {
	What, Whats string // mould, moulds
	// Lost is set when not all ids could be read: then one that is not there may
	// be one of those, and nothing is said of it.
	Lost bool
	ids  []string
	at   map[string]int
}

// Add notes the id of the entry that comes next; key is where it stands in t. One
// that is there already is a fault; "" is one that could not be read.
func (n *Names) Add(t *Table, key, id string) {
	if n.at == nil {
		n.at = map[string]int{}
	}
	place := len(n.ids)
	n.ids = append(n.ids, id)
	was, twice := n.at[id]
	switch {
	case id == "":
		n.Lost = true
	case twice:
		t.Wrong(key, "%q is the %s of entry %d already: give each entry its own", Short(id), fault.Key(key), was+1)
		n.Lost = true
	default:
		n.at[id] = place
	}
}

// Find gives the place of an id that stands under key in t, from 0; one that is
// not there is a fault.
func (n *Names) Find(t *Table, key, id string) (int, bool) {
	i, ok := n.at[id]
	switch {
	case ok || n.Lost:
	case len(t.r.faults) >= maxKept: // a near word takes long to find
		t.r.more++
	default:
		t.Wrong(key, "there is no %s %q%s", n.What, Short(id), meant(id, n.Whats, n.ids))
	}
	return i, ok
}
