// Package tomlscan reads a TOML file into tables that know their lines, and says
// everything that is wrong with it at once, in sentences: where, what, and what
// would do. What a file may hold is its reader's to say.
package tomlscan

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	toml "github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"barwright/fault"
)

// MaxFileBytes is the largest file that is read: 1 MiB.
const MaxFileBytes = 1 << 20

// value is one value of a file, with the line it stands on.
type value struct {
	line  int
	kind  unstable.Kind // ArrayTable for the lines under [[name]]
	text  string        // of a value that is neither table nor list
	table *Table        // Table, InlineTable
	list  []*value      // Array, ArrayTable
	// broken: the line could not be read and has its fault already.
	broken bool
}

// A Table is a table of a file, its keys in the order they were written.
type Table struct {
	line   int // of its heading; 0 for the file itself
	headed bool
	keys   []string
	values map[string]*value
}

func newTable(line int) *Table {
	return &Table{line: line, values: map[string]*value{}}
}

func (t *Table) set(key string, v *value) {
	t.keys = append(t.keys, key)
	t.values[key] = v
}

// maxFaults is how many faults one message names.
const maxFaults = 20

// scan turns a file into tables. go-toml's own decoder stops at the first wrong
// value and hides what follows it, folds the case of keys and lets nan through;
// its parser underneath gives every value with its place, so that all that is
// wrong is said at once.
type scan struct {
	file   string
	rules  Rules
	starts []int // offset of the first byte of every line
	root   *Table
	faults fault.List
	// stopped: the rest of the file after a fault was not read.
	stopped bool
}

func (s *scan) addf(line int, field, format string, args ...any) {
	e := fault.Invalidf(field, format, args...)
	e.File, e.Line = s.file, line
	s.faults.Add(e)
}

func (s *scan) lineAt(offset int) int {
	return sort.SearchInts(s.starts, offset+1)
}

// read fills s from data. A line of the kind key = value that is not TOML is
// named, blanked out and read past; after anything else that is not TOML the
// reading stops.
func (s *scan) read(data []byte) {
	data = slices.Clip(bytes.Clone(data))
	s.starts = []int{0}
	for i, b := range data {
		if b == '\n' {
			s.starts = append(s.starts, i+1)
		}
	}
	broken := map[int]string{} // by line, its key
	for {
		s.root = newTable(0)
		bad, why := s.pass(data, broken)
		if why == "" {
			break
		}
		line := s.lineAt(bad)
		key, words := s.explainLine(s.lineText(data, line), why)
		if _, seen := broken[line]; key == "" || seen || len(s.faults) >= maxFaults {
			s.addf(line, "", "%s", words)
			s.stopped = true
			break
		}
		broken[line] = key
		s.blank(data, line)
		s.faults = slices.DeleteFunc(s.faults, func(e *fault.Error) bool { return e.Err != errSyntax })
		e := fault.Invalidf(key, "%s", words)
		e.File, e.Line, e.Err = s.file, line, errSyntax
		s.faults.Add(e)
	}
}

// errSyntax marks the faults that outlive another pass over the file.
var errSyntax = errors.New("not TOML")

func (s *scan) lineText(data []byte, line int) string {
	end := len(data)
	if line < len(s.starts) {
		end = s.starts[line]
	}
	return strings.TrimRight(string(data[s.starts[line-1]:end]), "\r\n")
}

func (s *scan) blank(data []byte, line int) {
	for i := s.starts[line-1]; i < len(data) && data[i] != '\n'; i++ {
		if data[i] != '\r' {
			data[i] = ' '
		}
	}
}

// pass reads data once into s.root. It gives the offset of what is not TOML and
// the parser's word for it, or "".
func (s *scan) pass(data []byte, broken map[int]string) (int, string) {
	var p unstable.Parser
	p.Reset(data)
	table, prefix := s.root, ""
	todo := make([]int, 0, len(broken))
	for line := range broken {
		todo = append(todo, line)
	}
	slices.Sort(todo)
	// A broken line still says that its key is there, in the table it is in.
	note := func(before int) {
		for len(todo) > 0 && todo[0] < before {
			key := broken[todo[0]]
			for _, e := range s.faults {
				if e.Line == todo[0] && e.Err == errSyntax {
					e.Field = joinPath(prefix, key)
				}
			}
			if table.values[key] == nil {
				table.set(key, &value{line: todo[0], broken: true})
			}
			todo = todo[1:]
		}
	}
	for p.NextExpression() {
		e := p.Expression()
		var path []string
		line := 0
		for it := e.Key(); it.Next(); {
			k := it.Node()
			if len(path) == 0 {
				line = s.lineAt(int(k.Raw.Offset))
			}
			path = append(path, string(k.Data))
		}
		note(line)
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			table, prefix = s.heading(path, line, e.Kind)
		case unstable.KeyValue:
			s.assign(table, prefix, path, line, e.Value(), 0)
		}
	}
	note(math.MaxInt)
	err := p.Error()
	if err == nil {
		return 0, ""
	}
	at := len(data)
	var pe *unstable.ParserError
	if errors.As(err, &pe) && cap(pe.Highlight) > 0 && cap(pe.Highlight) <= cap(data) {
		// The parser points into data; what is left behind the pointer tells where.
		at = cap(data) - cap(pe.Highlight)
	}
	// What is not closed is found at the end of the file; an empty last line
	// would be named for it.
	at = min(at, len(data))
	for at > 0 && at == len(data) && (data[at-1] == '\n' || data[at-1] == '\r') {
		at--
		data = data[:at]
	}
	return at, err.Error()
}

func joinPath(prefix, key string) string {
	if prefix == "" {
		return key
	}
	return prefix + "." + key
}

// heading opens the table under [path] or [[path]], and gives its key path.
func (s *scan) heading(path []string, line int, kind unstable.Kind) (*Table, string) {
	name := strings.Join(path, ".")
	lost := newTable(line) // where the keys of a refused heading go
	isList := s.rules.list(name)
	if len(path) != 1 && !(len(path) == 2 && isList) {
		s.addf(line, Short(name), "there is no such table: the tables are %s", s.rules.headings())
		return lost, Short(name)
	}
	in, prefix, key := s.root, name, path[len(path)-1]
	if len(path) == 2 {
		up := s.root.values[path[0]]
		if up == nil || up.kind != unstable.ArrayTable || up.list[len(up.list)-1].table == nil {
			s.addf(line, Short(name), "a %s stands below what it belongs to: write [[%s]] above it", key, path[0])
			return lost, Short(name)
		}
		in = up.list[len(up.list)-1].table
		prefix = path[0] + "." + strconv.Itoa(len(up.list)) + "." + key
	}
	was := in.values[key]
	if kind == unstable.ArrayTable {
		if was == nil {
			was = &value{line: line, kind: unstable.ArrayTable}
			in.set(key, was)
		}
		if was.kind != unstable.ArrayTable {
			s.addf(line, Short(name), "it stands once already, in line %d, in another way: write each as [[%s]], in double brackets", was.line, Short(name))
			return lost, Short(name)
		}
		t := newTable(line)
		was.list = append(was.list, &value{line: line, kind: unstable.Table, table: t})
		return t, prefix + "." + strconv.Itoa(len(was.list))
	}
	switch {
	case len(path) == 1 && was == nil:
		was = &value{line: line, kind: unstable.Table, table: newTable(line)}
		in.set(key, was)
	default:
		// A table begun by dotted keys may not be opened again either.
		switch {
		case isList:
			s.addf(line, name, "each %s stands under [[%s]], in double brackets", key, name)
		default:
			s.addf(line, Short(name), "it stands twice, first in line %d: write it once", was.line)
		}
		return lost, Short(name)
	}
	was.table.headed = true
	return was.table, prefix
}

// assign puts a value under path in t.
func (s *scan) assign(t *Table, prefix string, path []string, line int, v *unstable.Node, depth int) {
	full := joinPath(prefix, strings.Join(path, "."))
	if len(path) > 3 {
		s.addf(line, Short(full), "there is no such key")
		return
	}
	for _, key := range path[:len(path)-1] {
		was := t.values[key]
		switch {
		case was == nil:
			was = &value{line: line, kind: unstable.Table, table: newTable(line)}
			t.set(key, was)
		case was.table == nil || was.kind == unstable.InlineTable:
			s.addf(line, Short(full), "%s has its value already, in line %d", Short(key), was.line)
			return
		}
		t = was.table
	}
	key := path[len(path)-1]
	if was := t.values[key]; was != nil {
		if was.broken && was.line == line {
			return
		}
		s.addf(line, Short(full), "it stands twice, first in line %d: write it once", was.line)
		return
	}
	t.set(key, s.valueOf(full, line, v, depth))
}

func (s *scan) valueOf(path string, line int, v *unstable.Node, depth int) *value {
	out := &value{line: line, kind: v.Kind, text: string(v.Data)}
	// Nothing that is read is nested deeper than a list in a list of tables.
	if depth > 3 {
		return out
	}
	switch v.Kind {
	case unstable.Array:
		for it := v.Children(); it.Next(); {
			out.list = append(out.list, s.valueOf(path+"."+strconv.Itoa(len(out.list)+1), line, it.Node(), depth+1))
		}
	case unstable.InlineTable:
		out.table = newTable(line)
		for it := v.Children(); it.Next(); {
			kv := it.Node()
			if kv.Kind != unstable.KeyValue {
				continue
			}
			var keys []string
			for k := kv.Key(); k.Next(); {
				keys = append(keys, string(k.Node().Data))
				// An inline table may run over lines; its keys know theirs.
				out.table.line = s.lineAt(int(k.Node().Raw.Offset))
			}
			s.assign(out.table, path, keys, out.table.line, kv.Value(), depth+1)
		}
		out.table.line = line
	}
	return out
}

// Short keeps a name from a file printable and within a line.
func Short(name string) string {
	r := []rune(strings.ToValidUTF8(name, "�"))
	for i := range r {
		if unicode.IsControl(r[i]) {
			r[i] = '·'
		}
	}
	if len(r) > 60 {
		return string(r[:57]) + "…"
	}
	return string(r)
}

var (
	lineKey     = regexp.MustCompile(`^\s*([A-Za-z0-9_-]+)\s*(=?)\s*(.*)$`)
	commaNumber = regexp.MustCompile(`^([+-]?[0-9]+),([0-9]+)\s*(?:#.*)?$`)
	unitNumber  = regexp.MustCompile(`^([+-]?[0-9]+(?:[.,][0-9]+)?)\s*(%|[A-Za-z°][A-Za-z°/ -]*)\s*(?:#.*)?$`)
	looseNumber = regexp.MustCompile(`^([+-]?)([0-9]*)\.([0-9]*)\s*(?:#.*)?$`)
	zeroNumber  = regexp.MustCompile(`^([+-]?)0+([0-9]+(?:\.[0-9]+)?)\s*(?:#.*)?$`)
	manyPoints  = regexp.MustCompile(`^[+-]?[0-9]+(?:\.[0-9]+){2,}$`)
	bareWord    = regexp.MustCompile(`^([A-Za-z][^"'=\[\]{}#]*?)\s*(?:#.*)?$`)
)

// explainLine says what is wrong with a line that is not TOML, and gives its
// key when the line is of the kind key = value, so that it can be read past.
func (s *scan) explainLine(text, why string) (key, words string) {
	m := lineKey.FindStringSubmatch(text)
	if m == nil {
		if strings.HasPrefix(strings.TrimSpace(text), "[") {
			return "", "this heading is not closed: write it as " + s.rules.heading() + ", alone on its line"
		}
		return "", "this line cannot be read (" + why + "): a line is a heading, as [[" + s.rules.firstList() + "]], or key = value"
	}
	key, value := m[1], strings.TrimSpace(m[3])
	if m[2] == "" {
		if s.rules.key(key) && value != "" && !strings.ContainsAny(value, `"'[]{}=`) {
			return key, fmt.Sprintf("the sign = is missing: write %s = …", key)
		}
		return "", "this line cannot be read (" + why + "): a line is a heading, as [[" + s.rules.firstList() + "]], or key = value"
	}
	if toml.Unmarshal([]byte(text), new(map[string]any)) == nil {
		// The line itself is sound, so the parser was still inside something.
		return "", "something before this line is left open: look above it for a bracket, a brace or a quote that is not closed"
	}
	switch {
	case value == "" || strings.HasPrefix(value, "#"):
		return key, fmt.Sprintf("the value is missing after the sign =: write %s = …", key)
	case commaNumber.MatchString(value):
		n := commaNumber.FindStringSubmatch(value)
		return key, fmt.Sprintf("a number is written with a point, not a comma: %s.%s", n[1], n[2])
	case unitNumber.MatchString(value):
		n := unitNumber.FindStringSubmatch(value)
		return key, fmt.Sprintf("a number stands alone, without its unit %s: %s", strings.TrimSpace(n[2]), strings.Replace(n[1], ",", ".", 1))
	case looseNumber.MatchString(value):
		n := looseNumber.FindStringSubmatch(value)
		pad := func(s string) string {
			if s == "" {
				return "0"
			}
			return s
		}
		if n[2] != "" || n[3] != "" {
			return key, fmt.Sprintf("a number has a digit on both sides of its point: %s%s.%s", n[1], pad(n[2]), pad(n[3]))
		}
	case manyPoints.MatchString(value):
		return key, fmt.Sprintf("%s has more than one point: write a number as 60.0, without marks between thousands", Short(value))
	case zeroNumber.MatchString(value):
		n := zeroNumber.FindStringSubmatch(value)
		return key, fmt.Sprintf("a number has no leading zeros: %s%s", n[1], n[2])
	case strings.ContainsAny(value, "“”„‘’«»"):
		return key, fmt.Sprintf("text stands in straight quotes, as %q", s.rules.Example)
	case bareWord.MatchString(value):
		return key, fmt.Sprintf("text stands in quotes: %q", Short(bareWord.FindStringSubmatch(value)[1]))
	}
	if strings.HasPrefix(value, `"""`) || strings.HasPrefix(value, `'''`) || strings.HasPrefix(value, "[") || strings.HasPrefix(value, "{") {
		return "", fmt.Sprintf("the value of %s cannot be read (%s)", key, why)
	}
	if q := value[0]; (q == '"' || q == '\'') && strings.Count(value, string(q)) == 1 {
		return key, fmt.Sprintf("the text is not closed: it ends with %c as it begins", q)
	}
	return key, fmt.Sprintf("the value cannot be read (%s): a number is written as 60.0, text as %q", why, s.rules.Example)
}

// unreadable says why data is not worth scanning, or "".
func (rules *Rules) unreadable(data []byte) string {
	utf16 := bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || bytes.HasPrefix(data, []byte{0xFE, 0xFF})
	switch {
	case len(data) > MaxFileBytes:
		// How many it has is not known: no more than that is read.
		return fmt.Sprintf("the file has over %d bytes (1 MiB), and %s has at most so many: this is another kind of file", MaxFileBytes, rules.What)
	case utf16:
		return "the file is in UTF-16: save it in the encoding UTF-8"
	case len(bytes.TrimSpace(data)) == 0:
		return "the file is empty: " + rules.What + " has at least " + rules.Least
	}
	return ""
}

func invalidAt(data []byte) int {
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return -1
}
