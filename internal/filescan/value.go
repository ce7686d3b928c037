package filescan

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// kind says what a value is.
type kind uint8

const (
	null kind = iota
	text
	number
	boolean
	date
	list
	table
)

// value is one value of a file, with the line it stands on. A big file has
// millions of values, so what only lists and tables need lies behind a pointer.
type value struct {
	line int32
	kind kind
	text string  // of a text, a number, a boolean, a date
	in   *inside // of a list or a table; nil where it is empty
}

// inside is what a list or a table holds, in the order of the file. A key that
// is written twice is in it twice: the reader says so when it gets there.
type inside struct {
	keys  []string // of a table; a list has none
	vals  []value
	index map[string]int // of the first of each key; made when there are many
}

// add puts a value at the end of a list or a table, and gives its place.
func (v *value) add(key string, e value) *value {
	if v.in == nil {
		v.in = &inside{}
	}
	if v.kind == table {
		if _, twice := v.in.index[key]; v.in.index != nil && !twice {
			v.in.index[key] = len(v.in.keys)
		}
		v.in.keys = append(v.in.keys, key)
	}
	v.in.vals = append(v.in.vals, e)
	return &v.in.vals[len(v.in.vals)-1]
}

func (v *value) keys() []string {
	if v.in == nil {
		return nil
	}
	return v.in.keys
}

func (v *value) vals() []value {
	if v.in == nil {
		return nil
	}
	return v.in.vals
}

func (v *value) len() int { return len(v.vals()) }

// find gives the place of a key in a table, or −1.
func (v *value) find(key string) int {
	const few = 16 // looking at so many is quicker than a map
	in := v.in
	switch {
	case in == nil:
		return -1
	case len(in.keys) <= few:
		return slices.Index(in.keys, key)
	case in.index == nil:
		in.index = make(map[string]int, len(in.keys))
		for i, k := range slices.Backward(in.keys) {
			in.index[k] = i
		}
	}
	if i, ok := in.index[key]; ok {
		return i
	}
	return -1
}

// at gives the value of a key of a table, or of an entry of a list, which are
// numbered from 1; nil where there is none.
func (v *value) at(key string) *value {
	i := -1
	switch v.kind {
	case table:
		i = v.find(key)
	case list:
		if n, err := strconv.Atoi(key); err == nil && n <= v.len() {
			i = n - 1
		}
	}
	if i < 0 {
		return nil
	}
	return &v.in.vals[i]
}

// words name a value that is of the wrong type.
func (r *Reader) words(v *value) string {
	switch v.kind {
	case text:
		return fmt.Sprintf("the text %q", Short(v.text))
	case number:
		return "the number " + Short(v.text)
	case boolean:
		return "the word " + v.text
	case date:
		return "the date or time " + Short(v.text)
	case list:
		return "a list"
	case table:
		return r.aTable()
	}
	return "null"
}

// Short keeps a name from a file printable and within a line.
func Short(name string) string {
	r := []rune(strings.ToValidUTF8(name, "�"))
	for i := range r {
		if unicode.IsControl(r[i]) || unicode.Is(unicode.Cf, r[i]) { // Cf: marks that turn the direction of a line
			r[i] = '·'
		}
	}
	if len(r) > 60 {
		return string(r[:57]) + "…"
	}
	return string(r)
}
