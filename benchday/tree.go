package benchday

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"barwright/fault"
	"barwright/internal/tomlscan"
	"barwright/internal/words"
)

// MaxFileBytes is the largest file that is read: 64 MiB.
const MaxFileBytes = 64 << 20

// Limits of what is read: beyond them a file is no day's work, making ready to
// solve it would take longer than the search, and sums of minutes might leave 32
// bits.
const (
	MaxTasks     = 500
	MaxResources = 1000
	MaxLags      = 100_000
	MaxMinutes   = 1_000_000 // a duration or a wait, either way
	MaxUnits     = 1_000_000 // a capacity or a need

	maxValues = 700_000 // of a JSON file
	maxDepth  = 16
	maxFaults = 8 // that are told at once
	maxID     = 100
)

// reader collects what is wrong with a file, and where.
type reader struct {
	file string
	data []byte
	list fault.List
	more int
}

// bad takes a fault down at a byte of the file; offset −1 is no place.
func (r *reader) bad(offset int, field, format string, args ...any) {
	if len(r.list) >= maxFaults {
		r.more++
		return
	}
	e := fault.Invalidf(field, format, args...)
	e.File = r.file
	if offset >= 0 {
		e.Line = 1 + bytes.Count(r.data[:min(offset, len(r.data))], []byte("\n"))
	}
	r.list = append(r.list, e)
}

// badLine is bad at a line, from 1.
func (r *reader) badLine(line int, field, format string, args ...any) {
	r.bad(-1, field, format, args...)
	if r.more == 0 && len(r.list) > 0 {
		r.list[len(r.list)-1].Line = line
	}
}

func (r *reader) err() error {
	if r.more > 0 {
		e := fault.Invalidf("", "and %d more faults: mend these first", r.more)
		if r.more == 1 {
			e = fault.Invalidf("", "and 1 more fault: mend these first")
		}
		e.File = r.file
		r.list, r.more = append(r.list, e), 0
	}
	return r.list.Err()
}

// text refuses what is too large, empty or no text, and says that it went well.
func (r *reader) text(holds string) bool {
	switch {
	case len(r.data) > MaxFileBytes:
		r.bad(-1, "", "the file has over %d bytes (64 MiB), and a day has at most so many: this is another kind of file", MaxFileBytes)
	case len(bytes.TrimSpace(r.data)) == 0:
		r.bad(-1, "", "the file is empty: %s", holds)
	case bytes.IndexByte(r.data, 0) >= 0:
		r.bad(bytes.IndexByte(r.data, 0), "", "there is a zero byte here, so this is no text file: save it as plain text in UTF-8")
	case !utf8.Valid(r.data):
		at := 0
		for at < len(r.data) {
			c, n := utf8.DecodeRune(r.data[at:])
			if c == utf8.RuneError && n == 1 {
				break
			}
			at += n
		}
		r.bad(at, "", "there is a byte here that is no UTF-8: save the file as plain text in UTF-8")
	}
	return len(r.list) == 0
}

// A jsonNode is one value of a JSON file, with its place. Objects keep the order of
// their keys, which a map would lose, and two of one name, which it would hide.
type jsonNode struct {
	kind  byte // { [ s(tring) n(umber) b(oolean) 0 (null)
	at    int  // byte after its first token
	text  string
	keys  []string
	items []jsonNode
}

func (n *jsonNode) is() string {
	switch n.kind {
	case '{':
		return "an object"
	case '[':
		return "a list"
	case 's':
		return "the text " + strconv.Quote(tomlscan.Short(n.text))
	case 'n':
		return "the number " + tomlscan.Short(n.text)
	case 'b':
		return n.text
	}
	return "null"
}

// get is the value of a key, nil where there is none or it is null.
func (n *jsonNode) get(key string) *jsonNode {
	for i, k := range n.keys {
		if k == key && n.items[i].kind != '0' {
			return &n.items[i]
		}
	}
	return nil
}

var errDeep, errMany = errors.New("deep"), errors.New("many")

// tree reads the file as one JSON object.
func (r *reader) tree(holds string) (*jsonNode, bool) {
	// Some editors begin a file with a mark of the byte order.
	r.data = bytes.TrimPrefix(r.data, []byte("\ufeff"))
	if !r.text(holds) {
		return nil, false
	}
	d := json.NewDecoder(bytes.NewReader(r.data))
	d.UseNumber()
	count := 0
	root, err := jsonValue(d, 0, &count)
	if err == nil {
		if _, again := d.Token(); again != io.EOF {
			r.bad(int(d.InputOffset()), "", "something stands after the end of the object: a file holds one object in braces")
			return nil, false
		}
	}
	if err != nil {
		// The offset that a syntax error brings counts from where its value began.
		after := r.data[min(int(d.InputOffset()), len(r.data)):]
		at := len(r.data) - len(bytes.TrimLeft(after, " \t\r\n:,"))
		rest := bytes.TrimLeft(r.data[at:], "-+")
		switch {
		case errors.Is(err, errDeep):
			r.bad(at, "", "values stand in one another over %d deep: a day is not so deep", maxDepth)
		case errors.Is(err, errMany):
			r.bad(at, "", "the file has over %d values: a day has fewer", maxValues)
		case bytes.HasPrefix(rest, []byte("NaN")), bytes.HasPrefix(rest, []byte("Inf")), bytes.HasPrefix(rest, []byte("nan")), bytes.HasPrefix(rest, []byte("inf")):
			r.bad(at, "", "this is no number: write whole minutes, as 15")
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF), len(rest) == 0:
			r.bad(len(r.data), "", "the file ends before its braces close: the end of it is missing")
		default:
			r.bad(at, "", "this is not JSON: %s", strings.TrimPrefix(err.Error(), "json: "))
		}
		return nil, false
	}
	if root.kind != '{' {
		r.bad(root.at, "", "the file holds %s, and not one object in braces: %s", root.is(), holds)
		return nil, false
	}
	return &root, true
}

func jsonValue(d *json.Decoder, depth int, count *int) (jsonNode, error) {
	if depth > maxDepth {
		return jsonNode{}, errDeep
	}
	if *count++; *count > maxValues {
		return jsonNode{}, errMany
	}
	t, err := d.Token()
	if err != nil {
		return jsonNode{}, err
	}
	n := jsonNode{at: int(d.InputOffset())}
	switch v := t.(type) {
	case string:
		n.kind, n.text = 's', v
	case json.Number:
		n.kind, n.text = 'n', v.String()
	case bool:
		n.kind, n.text = 'b', strconv.FormatBool(v)
	case nil:
		n.kind = '0'
	case json.Delim:
		n.kind = byte(v)
		for d.More() {
			if v == '{' {
				k, err := d.Token()
				if err != nil {
					return n, err
				}
				key, ok := k.(string)
				if !ok {
					return n, errors.New("a key must be text in quotes")
				}
				n.keys = append(n.keys, key)
			}
			item, err := jsonValue(d, depth+1, count)
			if err != nil {
				return n, err
			}
			n.items = append(n.items, item)
		}
		if _, err := d.Token(); err != nil {
			return n, err
		}
	}
	return n, nil
}

// known refuses keys that are none of those, and any that stands twice.
func (r *reader) known(n *jsonNode, path string, keys ...string) {
	seen := map[string]bool{}
	for i, k := range n.keys {
		field := keyPath(path, k)
		switch {
		case seen[k]:
			r.bad(n.items[i].at, field, "this key stands twice: leave one of the two out")
		case !slices.Contains(keys, k):
			r.bad(n.items[i].at, field, "there is no such key%s", orList(words.Meant(k, keys), keys))
		}
		seen[k] = true
	}
}

func orList(meant string, keys []string) string {
	if meant != "" {
		return meant
	}
	if len(keys) == 0 {
		return ": there are none here"
	}
	return ": the keys here are " + strings.Join(keys, ", ")
}

func keyPath(path, key string) string {
	key = tomlscan.Short(key)
	if path == "" {
		return key
	}
	return path + "." + key
}

// whole reads a number of whole units within [lo, hi]; ok is false when it will
// not do, and that is taken down.
func (r *reader) whole(n *jsonNode, field, what string, lo, hi int) (v int, ok bool) {
	if n.kind != 'n' {
		r.bad(n.at, field, "%s will not do: %s is a whole number, as 15", n.is(), what)
		return 0, false
	}
	f, err := strconv.ParseFloat(n.text, 64)
	switch {
	case err != nil, !(f >= float64(lo)), !(f <= float64(hi)):
		switch {
		case lo == 0 && f < 0:
			r.bad(n.at, field, "%s will not do: %s must be 0 or more", tomlscan.Short(n.text), what)
		default:
			r.bad(n.at, field, "%s will not do: %s must be from %d to %d", tomlscan.Short(n.text), what, lo, hi)
		}
		return 0, false
	case f != math.Trunc(f):
		r.bad(n.at, field, "%s will not do: %s is in whole numbers, as %d", tomlscan.Short(n.text), what, int(math.Round(f)))
		return 0, false
	}
	return int(f), true
}

// word reads a text that is not empty.
func (r *reader) word(n *jsonNode, field, what string) (string, bool) {
	switch {
	case n.kind != 's':
		r.bad(n.at, field, "%s will not do: %s is text in quotes", n.is(), what)
	case strings.TrimSpace(n.text) == "":
		r.bad(n.at, field, "this is empty: write %s", what)
	case utf8.RuneCountInString(n.text) > maxID:
		r.bad(n.at, field, "this is over %d characters long: write a shorter one", maxID)
	case strings.ContainsFunc(n.text, func(c rune) bool { return c < ' ' || c == 0x7f || c == utf8.RuneError }):
		r.bad(n.at, field, "%s has a control character in it: write it in letters and digits", n.is())
	default:
		return n.text, true
	}
	return "", false
}
