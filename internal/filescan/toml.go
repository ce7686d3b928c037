package filescan

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"sort"
	"strconv"
	"strings"

	toml "github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

// tomlFace reads a file of TOML. go-toml's own decoder stops at the first wrong
// value and hides what follows it, folds the case of keys and lets nan through.
// Its parser underneath gives every value with its place.
type tomlFace struct {
	*Reader
	data   []byte
	starts []int            // offset of the first byte of every line
	headed map[*inside]bool // lists whose entries stand under [[name]]
}

// toml fills the tree from a file of TOML. It stops at the first line that is no
// TOML, and says what is wrong with it.
func (r *Reader) toml(data []byte) bool {
	f := &tomlFace{Reader: r, data: bytes.Clone(data), starts: []int{0}, headed: map[*inside]bool{}}
	for i, b := range f.data {
		if b == '\n' {
			f.starts = append(f.starts, i+1)
		}
	}
	var p unstable.Parser
	p.Reset(f.data)
	in, prefix := &r.root, ""
	for p.NextExpression() {
		e := p.Expression()
		var keys []string
		line := 0
		for it := e.Key(); it.Next(); {
			if len(keys) == 0 {
				line = f.lineAt(int(it.Node().Raw.Offset))
			}
			keys = append(keys, string(it.Node().Data))
		}
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			in, prefix = f.heading(keys, line, e.Kind == unstable.ArrayTable)
		case unstable.KeyValue:
			f.assign(in, prefix, keys, line, e.Value(), 0)
		}
	}
	if err := p.Error(); err != nil {
		line := f.lineAt(f.placeOf(err))
		key, words := f.explain(f.lineText(line), err.Error())
		if key != "" {
			key = joinPath(prefix, key)
		}
		r.Wrong(line, key, "%s", words)
		return false
	}
	return true
}

// lastWord is the library's on what is TOML, where nothing else was found: it
// knows rules of tables that the reader does not need to.
func (r *Reader) lastWord() {
	err := toml.Unmarshal(r.tomlData, new(map[string]any))
	if err == nil {
		return
	}
	line, words := 0, err.Error()
	var de *toml.DecodeError
	if errors.As(err, &de) {
		line, _ = de.Position()
		words = strings.TrimPrefix(de.Error(), "toml: ")
	}
	r.Wrong(line, "", "this is not TOML: %s", words)
}

func (f *tomlFace) lineAt(offset int) int { return sort.SearchInts(f.starts, offset+1) }

func (f *tomlFace) lineText(line int) string {
	end := len(f.data)
	if line < len(f.starts) {
		end = f.starts[line]
	}
	return strings.TrimRight(string(f.data[f.starts[line-1]:end]), "\r\n")
}

// placeOf is the offset of what the parser stopped at.
func (f *tomlFace) placeOf(err error) int {
	at := len(f.data)
	var pe *unstable.ParserError
	if errors.As(err, &pe) && cap(pe.Highlight) > 0 && cap(pe.Highlight) <= cap(f.data) {
		// The parser points into data; what is left behind the pointer tells where.
		at = min(cap(f.data)-cap(pe.Highlight), at)
	}
	if at == len(f.data) {
		// What is not closed is found at the end of the file; an empty last line
		// would be named for it.
		at = len(bytes.TrimRight(f.data, "\r\n"))
	}
	return at
}

// heading opens the table under [path] or [[path]], and gives its key path.
func (f *tomlFace) heading(path []string, line int, double bool) (*value, string) {
	name, short := strings.Join(path, "."), Short(strings.Join(path, "."))
	lost := &value{line: int32(line), kind: table} // where the keys of a refused heading go
	isList := f.rules.list(name)
	if len(path) != 1 && !(len(path) == 2 && isList) {
		f.Wrong(line, short, "there is no such table: the tables are %s", f.rules.headings())
		return lost, short
	}
	in, prefix, key := &f.root, name, path[len(path)-1]
	if len(path) == 2 {
		up := f.root.at(path[0])
		if up == nil || !f.headed[up.in] {
			f.Wrong(line, short, "a %s belongs to what stands above it: write [[%s]] above it", key, path[0])
			return lost, short
		}
		in = &up.in.vals[up.len()-1]
		prefix = path[0] + "." + strconv.Itoa(up.len()) + "." + key
	}
	was := in.at(key)
	switch {
	case double && was != nil && !f.headed[was.in]:
		f.Wrong(line, short, "this is written in line %d already, in another way: write each as [[%s]], in double brackets", was.line, short)
		return lost, short
	case double:
		if was == nil {
			was = in.add(key, value{line: int32(line), kind: list, in: &inside{}})
			f.headed[was.in] = true
		}
		return was.add("", value{line: int32(line), kind: table}), prefix + "." + strconv.Itoa(was.len())
	case isList && (was != nil || len(path) == 2):
		f.Wrong(line, name, "each %s is written under [[%s]], in double brackets", key, name)
		return lost, short
	}
	// A table that was begun already is added all the same; the reader says that
	// it is written twice.
	return in.add(key, value{line: int32(line), kind: table}), prefix
}

// assign puts a value under a path of keys in a table.
func (f *tomlFace) assign(in *value, prefix string, path []string, line int, v *unstable.Node, depth int) {
	full := Short(joinPath(prefix, strings.Join(path, ".")))
	if len(path) > 3 {
		f.Wrong(line, full, "there is no such key")
		return
	}
	for _, key := range path[:len(path)-1] {
		was := in.at(key)
		if was == nil {
			was = in.add(key, value{line: int32(line), kind: table})
		}
		if was.kind != table {
			f.Wrong(line, full, "%s has its value already, in line %d", Short(key), was.line)
			return
		}
		in = was
	}
	in.add(path[len(path)-1], f.valueOf(full, line, v, depth))
}

func (f *tomlFace) valueOf(path string, line int, v *unstable.Node, depth int) value {
	out := value{line: int32(line), text: string(v.Data)}
	switch v.Kind {
	case unstable.String:
		out.kind = text
	case unstable.Bool:
		out.kind = boolean
	case unstable.Integer, unstable.Float:
		out.kind, out.text = number, strings.ReplaceAll(out.text, "_", "")
		if n, err := strconv.ParseInt(out.text, 0, 64); err == nil && len(out.text) > 2 && strings.ContainsAny(out.text[1:2], "xob") {
			out.text = strconv.FormatInt(n, 10)
		}
	case unstable.Array:
		out.kind, out.text = list, ""
		// Nothing that is read is nested deeper than a list in a list of tables.
		for it := v.Children(); depth <= maxTOMLDepth && it.Next(); {
			out.add("", f.valueOf(path+"."+strconv.Itoa(out.len()+1), line, it.Node(), depth+1))
		}
	case unstable.InlineTable:
		out.kind, out.text = table, ""
		for it := v.Children(); depth <= maxTOMLDepth && it.Next(); {
			kv := it.Node()
			if kv.Kind != unstable.KeyValue {
				continue
			}
			var keys []string
			for k := kv.Key(); k.Next(); {
				keys = append(keys, string(k.Node().Data))
				// An inline table may run over lines; its keys know theirs.
				line = f.lineAt(int(k.Node().Raw.Offset))
			}
			f.assign(&out, path, keys, line, kv.Value(), depth+1)
		}
	default:
		out.kind = date
	}
	return out
}

const maxTOMLDepth = 3

var lineKey = regexp.MustCompile(`^\s*([A-Za-z0-9_-]+)\s*(=?)\s*(.*)$`)

// slips are values that are often written and are no TOML, with what is said of
// them: $1 and so on stand for the groups.
var slips = []struct {
	value *regexp.Regexp
	words string
}{
	{regexp.MustCompile(`^([+-]?[0-9]+),([0-9]+)$`), "a number is written with a point, not a comma: $1.$2"},
	{regexp.MustCompile(`^([+-]?[0-9]+),([0-9]+)\s*(%|[A-Za-z°][A-Za-z°/ -]*)$`),
		"a number is written with a point, not a comma, and without its unit $3: $1.$2"},
	{regexp.MustCompile(`^([+-]?[0-9]+(?:\.[0-9]+)?)\s*(%|[A-Za-z°][A-Za-z°/ -]*)$`), "a number is written without its unit $2: $1"},
	{regexp.MustCompile(`^([+-]?[0-9]+)\.$`), "a number has a digit on both sides of its point: $1.0"},
	{regexp.MustCompile(`^([+-]?)\.([0-9]+)$`), "a number has a digit on both sides of its point: ${1}0.$2"},
	{regexp.MustCompile(`^([+-]?[0-9]+(?:\.[0-9]+){2,})$`), "$1 has more than one point: write a number as 60.0, without marks between thousands"},
	{regexp.MustCompile(`^([+-]?)0+([0-9]+(?:\.[0-9]+)?)$`), "a number has no leading zeros: $1$2"},
	{regexp.MustCompile(`^([A-Za-z][^"'=\[\]{}“”„‘’«»]*)$`), `text is written in quotes: "$1"`},
}

// explain says what is wrong with a line that is not TOML, and gives its key when
// the line is of the kind key = value. why is the parser's word for it.
func (f *tomlFace) explain(line, why string) (key, words string) {
	lost := "this line cannot be read (" + why + "): a line is a heading, such as [[" + f.rules.firstList() + "]], or key = value"
	m := lineKey.FindStringSubmatch(line)
	if m == nil {
		if strings.HasPrefix(strings.TrimSpace(line), "[") {
			return "", "this heading is not closed: write it as " + f.rules.heading() + ", alone on its line"
		}
		return "", lost
	}
	key, value := m[1], strings.TrimSpace(m[3])
	if m[2] == "" {
		if f.rules.key(key) && value != "" && !strings.ContainsAny(value, `"'[]{}=`) {
			return key, fmt.Sprintf("the sign = is missing: write %s = …", key)
		}
		return "", lost
	}
	if toml.Unmarshal([]byte(line), new(map[string]any)) == nil {
		// The line itself is sound, so the parser was still inside something.
		return "", "something before this line is left open: look above it for a bracket, a brace or a quote that is not closed"
	}
	bare, _, _ := strings.Cut(value, "#")
	bare = Short(strings.TrimSpace(bare))
	if bare == "" {
		return key, fmt.Sprintf("the value is missing after the sign =: write %s = …", key)
	}
	for _, s := range slips {
		if m := s.value.FindStringSubmatchIndex(bare); m != nil {
			return key, string(s.value.ExpandString(nil, s.words, bare, m))
		}
	}
	switch q := value[0]; {
	case strings.ContainsAny(value, "“”„‘’«»"):
		return key, fmt.Sprintf("text is written in straight quotes, such as %q", f.rules.Example)
	case strings.HasPrefix(value, `"""`), strings.HasPrefix(value, `'''`), q == '[', q == '{':
		return "", fmt.Sprintf("the value of %s cannot be read (%s)", key, why)
	case (q == '"' || q == '\'') && strings.Count(value, string(q)) == 1:
		return key, fmt.Sprintf("the text is not closed: end it with %c, as it begins", q)
	}
	return key, fmt.Sprintf("the value cannot be read (%s): a number is written as 60.0, text as %q", why, f.rules.Example)
}
