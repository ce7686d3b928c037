package formula

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
	"unicode/utf8"

	toml "github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"barwright/fault"
	"barwright/quantity"
)

// tomlValue is one value of a file, with the line it stands on.
type tomlValue struct {
	line  int
	kind  unstable.Kind // ArrayTable for the lines under [[name]]
	text  string        // of a value that is neither table nor list
	table *tomlTable    // Table, InlineTable
	list  []*tomlValue  // Array, ArrayTable
	// broken: the line could not be read and has its fault already.
	broken bool
}

// tomlTable is a table of a file, its keys in the order they were written.
type tomlTable struct {
	line   int // of its heading; 0 for the file itself
	headed bool
	keys   []string
	values map[string]*tomlValue
}

func newTable(line int) *tomlTable {
	return &tomlTable{line: line, values: map[string]*tomlValue{}}
}

func (t *tomlTable) set(key string, v *tomlValue) {
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
	starts []int // offset of the first byte of every line
	root   *tomlTable
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
		key, words := explainLine(s.lineText(data, line), why)
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
				table.set(key, &tomlValue{line: todo[0], broken: true})
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
func (s *scan) heading(path []string, line int, kind unstable.Kind) (*tomlTable, string) {
	name := strings.Join(path, ".")
	lost := newTable(line) // where the keys of a refused heading go
	if len(path) != 1 {
		s.addf(line, short(name), "there is no such table: the tables are [alkali], [scale], [[fat]], [[extra]] and [[scent]]")
		return lost, short(name)
	}
	was := s.root.values[name]
	if kind == unstable.ArrayTable {
		if was == nil {
			was = &tomlValue{line: line, kind: unstable.ArrayTable}
			s.root.set(name, was)
		}
		if was.kind != unstable.ArrayTable {
			s.addf(line, short(name), "it stands once already, in line %d, in another way: write each as [[%s]], in double brackets", was.line, short(name))
			return lost, short(name)
		}
		t := newTable(line)
		was.list = append(was.list, &tomlValue{line: line, kind: unstable.Table, table: t})
		return t, name + "." + strconv.Itoa(len(was.list))
	}
	switch {
	case was == nil:
		was = &tomlValue{line: line, kind: unstable.Table, table: newTable(line)}
		s.root.set(name, was)
	case was.kind == unstable.Table && !was.table.headed && was.line != line:
		// Begun by dotted keys; TOML does not let it be opened again.
		fallthrough
	default:
		if slices.Contains(listNames, name) {
			s.addf(line, name, "each %s stands under [[%s]], in double brackets", name, name)
		} else {
			s.addf(line, short(name), "it stands twice, first in line %d: write it once", was.line)
		}
		return lost, short(name)
	}
	was.table.headed = true
	return was.table, name
}

// assign puts a value under path in t.
func (s *scan) assign(t *tomlTable, prefix string, path []string, line int, v *unstable.Node, depth int) {
	full := joinPath(prefix, strings.Join(path, "."))
	if len(path) > 3 {
		s.addf(line, short(full), "there is no such key")
		return
	}
	for _, key := range path[:len(path)-1] {
		was := t.values[key]
		switch {
		case was == nil:
			was = &tomlValue{line: line, kind: unstable.Table, table: newTable(line)}
			t.set(key, was)
		case was.table == nil || was.kind == unstable.InlineTable:
			s.addf(line, short(full), "%s has its value already, in line %d", short(key), was.line)
			return
		}
		t = was.table
	}
	key := path[len(path)-1]
	if was := t.values[key]; was != nil {
		if was.broken && was.line == line {
			return
		}
		s.addf(line, short(full), "it stands twice, first in line %d: write it once", was.line)
		return
	}
	t.set(key, s.value(full, line, v, depth))
}

func (s *scan) value(path string, line int, v *unstable.Node, depth int) *tomlValue {
	out := &tomlValue{line: line, kind: v.Kind, text: string(v.Data)}
	// Nothing in a formula is nested deeper than a list of tables.
	if depth > 3 {
		return out
	}
	switch v.Kind {
	case unstable.Array:
		for it := v.Children(); it.Next(); {
			out.list = append(out.list, s.value(path+"."+strconv.Itoa(len(out.list)+1), line, it.Node(), depth+1))
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

// short keeps a name from a file within a line.
func short(name string) string {
	r := []rune(strings.ToValidUTF8(name, "�"))
	for i := range r {
		if unprintable(r[i], true) {
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
func explainLine(text, why string) (key, words string) {
	m := lineKey.FindStringSubmatch(text)
	if m == nil {
		if strings.HasPrefix(strings.TrimSpace(text), "[") {
			return "", "this heading is not closed: write it as [alkali] or [[fat]], alone on its line"
		}
		return "", "this line cannot be read (" + why + "): a line is a heading, as [[fat]], or key = value"
	}
	key, value := m[1], strings.TrimSpace(m[3])
	if m[2] == "" {
		if isKey(key) && value != "" && !strings.ContainsAny(value, `"'[]{}=`) {
			return key, fmt.Sprintf("the sign = is missing: write %s = …", key)
		}
		return "", "this line cannot be read (" + why + "): a line is a heading, as [[fat]], or key = value"
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
		return key, fmt.Sprintf("%s has more than one point: write a number as 60.0, without marks between thousands", short(value))
	case zeroNumber.MatchString(value):
		n := zeroNumber.FindStringSubmatch(value)
		return key, fmt.Sprintf("a number has no leading zeros: %s%s", n[1], n[2])
	case strings.ContainsAny(value, "“”„‘’«»"):
		return key, `text stands in straight quotes, as "olive-oil"`
	case bareWord.MatchString(value):
		return key, fmt.Sprintf("text stands in quotes: %q", short(bareWord.FindStringSubmatch(value)[1]))
	}
	if strings.HasPrefix(value, `"""`) || strings.HasPrefix(value, `'''`) || strings.HasPrefix(value, "[") || strings.HasPrefix(value, "{") {
		return "", fmt.Sprintf("the value of %s cannot be read (%s)", key, why)
	}
	if q := value[0]; (q == '"' || q == '\'') && strings.Count(value, string(q)) == 1 {
		return key, fmt.Sprintf("the text is not closed: it ends with %c as it begins", q)
	}
	return key, fmt.Sprintf("the value cannot be read (%s): a number is written as 60.0, text as \"olive-oil\"", why)
}

// MaxFileBytes is the largest file that is read as a formula: 1 MiB.
const MaxFileBytes = 1 << 20

// ReadTOML reads a formula from a file's bytes; file is its name, for the faults.
//
// The keys are: name, method, superfat, lye_concentration, fats_g (all
// required), cure_water_loss_pct, cook_loss_pct (method hot),
// measured_density_g_ml; [alkali] koh_mol_pct, naoh_purity_pct,
// koh_purity_pct, purity_half_width_pct; [scale] division_g; [[fat]] id, pct
// (required), sap_mg_koh_g, sap_half_width, cooked; [[extra]] id, dose_g, per
// (required), into, fat_pct, water_pct, sap_mg_koh_g; [[scent]] name, dose_pct,
// of (required), limit_pct. A purity, a division or a loss left out stays
// unknown; a KOH share or a tolerance left out is 0; into is batter.
//
// The same fat may stand twice when the two are told apart by their
// saponification values (two lots) or by being cooked or not; otherwise the
// second is refused, as is an extra that differs from another in its dose only.
//
// The error is a fault.List of kind Invalid with everything that is wrong (the
// first twenty), each with File, Field as Validate has it, and Line where there
// is one. There is no formula then. Ids are not looked up: see ReadTOMLAgainst.
func ReadTOML(file string, data []byte) (*Formula, error) {
	return readTOML(file, data, nil)
}

// ReadTOMLAgainst is ReadTOML, with the ids looked up in cat: one that it does
// not hold, and one that cannot be what the file makes of it, is a fault.
func ReadTOMLAgainst(file string, data []byte, cat Ingredients) (*Formula, error) {
	return readTOML(file, data, cat)
}

func readTOML(file string, data []byte, cat Ingredients) (*Formula, error) {
	s := &scan{file: file}
	if refuse := unreadable(data); refuse != "" {
		s.addf(0, "", "%s", refuse)
		return nil, s.faults
	}
	if at := bytes.IndexByte(data, 0); at >= 0 {
		s.addf(1+bytes.Count(data[:at], []byte("\n")), "", "there is a zero byte here, so this is no text file: save it as plain text in UTF-8")
		return nil, s.faults
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if at := invalidAt(data); at >= 0 {
		s.addf(1+bytes.Count(data[:at], []byte("\n")), "", "this is not UTF-8 text: save the file in the encoding UTF-8")
		return nil, s.faults
	}
	s.read(data)
	r := &reader{scan: s, lines: map[string]int{}, bad: map[string]bool{}}
	for _, e := range s.faults {
		r.bad[e.Field] = true
	}
	f := r.formula()
	for _, e := range f.Validate(true) {
		r.addFromRules(e)
	}
	if cat != nil {
		for _, e := range f.CheckIDs(cat) {
			r.addFromRules(e)
		}
	}
	if len(s.faults) == 0 {
		// The last word on what is TOML is the library's: it knows rules of
		// tables that scan does not need to.
		var any map[string]any
		if err := toml.Unmarshal(data, &any); err != nil {
			line, words := 0, err.Error()
			var de *toml.DecodeError
			if errors.As(err, &de) {
				line, _ = de.Position()
				words = strings.TrimPrefix(de.Error(), "toml: ")
			}
			s.addf(line, "", "this is not TOML: %s", words)
		}
	}
	if len(s.faults) == 0 {
		return f, nil
	}
	sortByLine(s.faults)
	if more := len(s.faults) - maxFaults; more > 0 {
		s.faults = s.faults[:maxFaults]
		s.addf(0, "", "and %d more", more)
	}
	for _, e := range s.faults {
		if e.Err == errSyntax {
			e.Err = nil
		}
	}
	return nil, s.faults
}

// unreadable says why data is not worth scanning, or "".
func unreadable(data []byte) string {
	utf16 := bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || bytes.HasPrefix(data, []byte{0xFE, 0xFF})
	switch {
	case len(data) > MaxFileBytes:
		return fmt.Sprintf("the file has %d bytes and a formula at most %d (1 MiB): this is another kind of file", len(data), MaxFileBytes)
	case utf16:
		return "the file is in UTF-16: save it in the encoding UTF-8"
	case len(bytes.TrimSpace(data)) == 0:
		return "the file is empty: a formula has at least name, method, superfat, lye_concentration, fats_g and one [[fat]]"
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

// The keys of the file, by table, in the order in which they are written.
var (
	topNames    = []string{"name", "method", "superfat", "lye_concentration", "fats_g", "cure_water_loss_pct", "cook_loss_pct", "measured_density_g_ml", "alkali", "scale", "fat", "extra", "scent"}
	alkaliNames = []string{"koh_mol_pct", "naoh_purity_pct", "koh_purity_pct", "purity_half_width_pct"}
	scaleNames  = []string{"division_g"}
	fatNames    = []string{"id", "pct", "sap_mg_koh_g", "sap_half_width", "cooked"}
	extraNames  = []string{"id", "dose_g", "per", "into", "fat_pct", "water_pct", "sap_mg_koh_g"}
	scentNames  = []string{"name", "dose_pct", "of", "limit_pct"}
	listNames   = []string{"fat", "extra", "scent"}
)

// topKeys is how many of topNames are keys, and no tables.
const topKeys = 8

func isKey(key string) bool {
	return slices.Contains(topNames, key) || home(key, "\x00") != ""
}

// home names the place of a key that stands in the wrong table, or gives "".
func home(key, list string) string {
	for _, t := range []struct {
		name, words string
		keys        []string
	}{
		{"", "above the first heading", topNames[:topKeys]},
		{"alkali", "under [alkali]", alkaliNames},
		{"scale", "under [scale]", scaleNames},
		{"fat", "under [[fat]]", fatNames},
		{"extra", "under [[extra]]", extraNames},
		{"scent", "under [[scent]]", scentNames},
	} {
		if t.name != list && slices.Contains(t.keys, key) {
			return t.words
		}
	}
	return ""
}

// reader turns tables into a Formula.
type reader struct {
	*scan
	lines map[string]int  // of every key path that stands in the file
	bad   map[string]bool // key paths that have their fault already
}

func (r *reader) wrong(line int, path, format string, args ...any) {
	r.bad[path] = true
	r.addf(line, path, format, args...)
}

// addFromRules adds a fault of Validate or CheckIDs, with its line, unless the
// field could not be read in the first place.
func (r *reader) addFromRules(e *fault.Error) {
	if e.Field == "water" {
		e.Field = "lye_concentration"
	}
	for path := e.Field; path != ""; path = parent(path) {
		if r.bad[path] {
			return
		}
	}
	// A tolerance is judged by its value; of one that could not be read nothing
	// more is to be said.
	if line, ok := strings.CutSuffix(e.Field, ".sap_half_width"); ok && r.bad[line+".sap_mg_koh_g"] {
		return
	}
	if e.Field == "fat" || e.Field == "extra" || e.Field == "scent" {
		// What is said of a whole list is said only when the list was read whole.
		for path := range r.bad {
			if path == e.Field || strings.HasPrefix(path, e.Field+".") {
				return
			}
		}
		if r.stopped {
			return
		}
	}
	e.File = r.file
	for path := e.Field; path != "" && e.Line == 0; path = parent(path) {
		e.Line = r.lines[path]
	}
	r.faults.Add(e)
}

// parent is the path without its last key: fat.1 of fat.1.pct.
func parent(path string) string {
	return path[:max(strings.LastIndexByte(path, '.'), 0)]
}

// open notes the keys of a table and names those that do not belong.
func (r *reader) open(path, list string, t *tomlTable, known []string) {
	if path != "" && t.line > 0 && r.lines[path] == 0 {
		r.lines[path] = t.line
	}
	for _, key := range t.keys {
		v := t.values[key]
		full := joinPath(path, key)
		r.lines[full] = v.line
		if slices.Contains(known, key) {
			if v.broken {
				r.bad[full] = true
			}
			continue
		}
		switch place := home(key, list); {
		case v.broken:
		case place != "":
			r.wrong(v.line, short(full), "it does not belong here: it stands %s", place)
		default:
			r.wrong(v.line, short(full), "there is no such key%s", meant(key, known))
		}
	}
}

// get gives the value of a key, or nil; a required one that is missing is a
// fault, with what to write.
func (r *reader) get(t *tomlTable, path, key, write string) *tomlValue {
	v := t.values[key]
	switch {
	case v == nil && write != "" && !r.stopped && !r.bad[joinPath(path, key)]:
		// A misspelt key is named with the right one; its absence is then no news.
		for _, k := range t.keys {
			if nearest(k, []string{key}) == key {
				r.bad[joinPath(path, key)] = true
				return nil
			}
		}
		r.wrong(t.line, joinPath(path, key), "missing: write %s", write)
	case v == nil && write != "":
		r.bad[joinPath(path, key)] = true
	case v != nil && v.broken:
		return nil
	}
	return v
}

// words for a value that is of the wrong type.
func (v *tomlValue) words() string {
	switch v.kind {
	case unstable.String:
		return fmt.Sprintf("the text %q", short(v.text))
	case unstable.Bool:
		return v.text
	case unstable.Integer, unstable.Float:
		return "the number " + short(v.text)
	case unstable.Array:
		return "a list"
	case unstable.Table, unstable.InlineTable, unstable.ArrayTable:
		return "a table"
	default:
		return "the date or time " + short(v.text)
	}
}

func (r *reader) text(t *tomlTable, path, key, write string) string {
	v := r.get(t, path, key, write)
	if v == nil {
		return ""
	}
	if v.kind != unstable.String {
		r.wrong(v.line, joinPath(path, key), "%s is not text: write it in quotes, as %s", v.words(), likeText(write, key))
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

// number gives the value of a key, and whether it is there and a finite number.
func (r *reader) number(t *tomlTable, path, key, write string) (float64, bool) {
	v := r.get(t, path, key, write)
	if v == nil {
		return 0, false
	}
	full := joinPath(path, key)
	bare := strings.ReplaceAll(v.text, "_", "")
	switch v.kind {
	case unstable.Float, unstable.Integer:
		if strings.HasSuffix(bare, "nan") || strings.HasSuffix(bare, "inf") {
			r.wrong(v.line, full, "%s is not a number to weigh by: write one with digits, as 60.0", bare)
			return 0, false
		}
		n, err := strconv.ParseFloat(bare, 64)
		if v.kind == unstable.Integer && len(bare) > 1 && strings.ContainsAny(bare[1:2], "xob") {
			var i int64
			i, err = strconv.ParseInt(bare, 0, 64)
			n = float64(i)
		}
		if err != nil {
			r.wrong(v.line, full, "%s is too large a number: write a smaller one", short(bare))
			return 0, false
		}
		return n, true
	case unstable.String:
		if n, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(v.text), ",", ".", 1), 64); err == nil && !math.IsNaN(n) && !math.IsInf(n, 0) {
			r.wrong(v.line, full, "%s is not a number: write it without quotes, as %s", v.words(), Plain(n))
			return 0, false
		}
	}
	r.wrong(v.line, full, "%s is not a number: write one with digits, as 60.0", v.words())
	return 0, false
}

func (r *reader) flag(t *tomlTable, path, key string) bool {
	v := r.get(t, path, key, "")
	if v == nil {
		return false
	}
	if v.kind != unstable.Bool {
		r.wrong(v.line, joinPath(path, key), "%s is neither true nor false: write one of the two, without quotes", v.words())
		return false
	}
	return v.text == "true"
}

// choice reads a word into out, which knows its words.
func (r *reader) choice(t *tomlTable, path, key, write string, words []string, set func(i int)) {
	v := r.get(t, path, key, write)
	if v == nil {
		return
	}
	list := strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
	if v.kind != unstable.String {
		r.wrong(v.line, joinPath(path, key), "%s will not do: write %s, in quotes", v.words(), list)
		return
	}
	if i := slices.Index(words, v.text); i >= 0 {
		set(i)
		return
	}
	r.wrong(v.line, joinPath(path, key), "%q will not do: write %s%s", short(v.text), list, meant(v.text, words))
}

// sub gives the table under a key, or nil.
func (r *reader) sub(key string) *tomlTable {
	v := r.root.values[key]
	if v == nil || v.broken {
		return nil
	}
	if v.table == nil {
		if v.kind == unstable.ArrayTable {
			r.wrong(v.line, key, "[%s] stands once, in single brackets", key)
		} else {
			r.wrong(v.line, key, "%s is not a table: write the heading [%s], and its keys below it", v.words(), key)
		}
		return nil
	}
	return v.table
}

// lists gives the tables under [[key]].
func (r *reader) lists(key string) []*tomlTable {
	v := r.root.values[key]
	if v == nil || v.broken {
		return nil
	}
	if v.kind != unstable.ArrayTable && v.kind != unstable.Array {
		if !r.bad[key] {
			r.wrong(v.line, key, "each %s stands under [[%s]], in double brackets", key, key)
		}
		return nil
	}
	var out []*tomlTable
	for i, e := range v.list {
		if e.table == nil {
			r.wrong(e.line, key+"."+strconv.Itoa(i+1), "%s is not a table: write the heading [[%s]], and its keys below it", e.words(), key)
			out = append(out, nil)
			continue
		}
		out = append(out, e.table)
	}
	return out
}

// formula reads the whole of r.root. Where a value is at fault the field is left
// as it is and the fault noted.
func (r *reader) formula() *Formula {
	f := &Formula{}
	top := r.root
	// A key of the file itself that slipped below a heading is named there; that
	// it is missing above is then no news.
	for _, v := range top.values {
		for _, t := range append(v.list, v) {
			if t.table == nil {
				continue
			}
			for _, key := range topNames[1:topKeys] {
				if t.table.values[key] != nil {
					r.bad[key] = true
				}
			}
		}
	}
	r.open("", "", top, topNames)
	maybe := func(t *tomlTable, path, key string) (m quantity.Maybe) {
		m.V, m.Known = r.number(t, path, key, "")
		return m
	}

	f.Name = r.text(top, "", "name", `the formula's name, as name = "Storm lantern"`)
	if v := top.values["method"]; v != nil && v.kind == unstable.String && v.text == methodWords[Melt] {
		r.wrong(v.line, "method", "a melt of ready-made base has no lye to work out, and a file has no key for its base: keep melts in the studio, and write cold or hot here")
	} else {
		r.choice(top, "", "method", `method = "cold" or method = "hot"`, methodWords[1:3], func(i int) { f.Method = Method(i + 1) })
	}
	f.SuperfatPct, _ = r.number(top, "", "superfat", "the % of the saponifiable fat left free, as superfat = 5.0")
	f.Water.Value, _ = r.number(top, "", "lye_concentration", "the lye concentration in % by mass, as lye_concentration = 33.0")
	f.FatsG, _ = r.number(top, "", "fats_g", "the mass of all fats in g, as fats_g = 1000.0")
	f.CureWaterLossPct = maybe(top, "", "cure_water_loss_pct")
	f.CookLossPct = maybe(top, "", "cook_loss_pct")
	f.DensityGML = maybe(top, "", "measured_density_g_ml")

	if t := r.sub("alkali"); t != nil {
		r.open("alkali", "alkali", t, alkaliNames)
		f.Alkali.KOHMolPct, _ = r.number(t, "alkali", "koh_mol_pct", "")
		f.Alkali.NaOHPurityPct = maybe(t, "alkali", "naoh_purity_pct")
		f.Alkali.KOHPurityPct = maybe(t, "alkali", "koh_purity_pct")
		f.Alkali.PurityHalfWidthPct, _ = r.number(t, "alkali", "purity_half_width_pct", "")
	}
	if t := r.sub("scale"); t != nil {
		r.open("scale", "scale", t, scaleNames)
		f.ScaleDivisionG = maybe(t, "scale", "division_g")
	}
	for i, t := range r.lists("fat") {
		var x Fat
		if t != nil {
			path := "fat." + strconv.Itoa(i+1)
			r.open(path, "fat", t, fatNames)
			x.ID = r.text(t, path, "id", `which fat it is, as id = "olive-oil"`)
			x.Pct, _ = r.number(t, path, "pct", "its share of the fats in %, as pct = 60.0")
			x.SAP = maybe(t, path, "sap_mg_koh_g")
			x.SAPHalfWidth = maybe(t, path, "sap_half_width")
			x.Cooked = r.flag(t, path, "cooked")
		}
		f.Fats = append(f.Fats, x)
	}
	for i, t := range r.lists("extra") {
		var x Extra
		if t != nil {
			path := "extra." + strconv.Itoa(i+1)
			r.open(path, "extra", t, extraNames)
			x.ID = r.text(t, path, "id", `which extra it is, as id = "sea-salt"`)
			x.Dose, _ = r.number(t, path, "dose_g", "its dose in g, as dose_g = 20.0")
			r.choice(t, path, "per", `what the dose is counted on: per = "kg-fats", "kg-batter" or "batch"`, perWords[:PerLiquid], func(i int) { x.Per = Per(i) })
			r.choice(t, path, "into", "", intoWords[:], func(i int) { x.Into = Into(i) })
			x.FatPct = maybe(t, path, "fat_pct")
			x.WaterPct = maybe(t, path, "water_pct")
			x.SAP = maybe(t, path, "sap_mg_koh_g")
		}
		f.Extras = append(f.Extras, x)
	}
	for i, t := range r.lists("scent") {
		var x Scent
		if t != nil {
			path := "scent." + strconv.Itoa(i+1)
			r.open(path, "scent", t, scentNames)
			x.Name = r.text(t, path, "name", `the scent's name, as name = "Fig and sea salt"`)
			x.DosePct, _ = r.number(t, path, "dose_pct", "its dose in %, as dose_pct = 3.0")
			r.choice(t, path, "of", `what the dose is a share of: of = "fats", "batter" or "bar"`, ofWords[:], func(i int) { x.Of = Of(i) })
			x.LimitPct = maybe(t, path, "limit_pct")
		}
		f.Scents = append(f.Scents, x)
	}
	return f
}
