package filescan

import (
	"bytes"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"barwright/internal/words"
)

// Rules are what a kind of file may hold.
type Rules struct {
	What    string // what it is read as: "a formula"
	Least   string // what it has at least, for one that is empty
	Example string // an id, to show how text is written in TOML

	MaxBytes  int
	MaxValues int // of a file of JSON

	// Places are the file itself, which has no name and comes first, and its
	// tables and lists of tables in the order of a file. A file of TOML has at
	// least one list. A table that is not named here may hold any key.
	Places []Place
	// Remarks lets a writer's own remarks stand anywhere: the key note, and keys
	// that begin with _.
	Remarks bool
}

// Place is where keys stand.
type Place struct {
	Name string // alkali; of a list within a list, design.part
	List bool   // any number of times: [[name]], or a list of objects
	Keys []string
	Any  bool // other keys may stand there too, and are not read
}

func (rules *Rules) place(name string) *Place {
	if i := slices.IndexFunc(rules.Places, func(p Place) bool { return p.Name == name }); i >= 0 {
		return &rules.Places[i]
	}
	return nil
}

func (rules *Rules) list(name string) bool {
	p := rules.place(name)
	return p != nil && p.List
}

// known are the keys of a place, the tables in it last.
func (rules *Rules) known(p *Place) []string {
	out := slices.Clone(p.Keys)
	for i := range rules.Places {
		if name := rules.Places[i].Name; name != "" && parent(name) == p.Name {
			out = append(out, name[strings.LastIndexByte(name, '.')+1:])
		}
	}
	return out
}

// key reports that it may stand somewhere.
func (rules *Rules) key(key string) bool {
	return slices.ContainsFunc(rules.Places, func(p Place) bool { return p.Name == key || slices.Contains(p.Keys, key) })
}

// home gives the place of a key that stands in the wrong one, or nil.
func (rules *Rules) home(key, here string) *Place {
	i := slices.IndexFunc(rules.Places, func(p Place) bool { return p.Name != here && slices.Contains(p.Keys, key) })
	if i < 0 {
		return nil
	}
	return &rules.Places[i]
}

func (p *Place) heading() string {
	if p.List {
		return "[[" + p.Name + "]]"
	}
	return "[" + p.Name + "]"
}

// headings are all headings of a file of TOML, in words.
func (rules *Rules) headings() string {
	var all []string
	for i := range rules.Places[1:] {
		all = append(all, rules.Places[1+i].heading())
	}
	return words.List(all)
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

// unreadable says why data is not worth scanning, and in which line; "" where it is.
func (rules *Rules) unreadable(data []byte) (line int, why string) {
	lineAt := func(at int) int { return 1 + bytes.Count(data[:at], []byte("\n")) }
	switch {
	case len(data) > rules.MaxBytes:
		// How many it has is not known: no more than that is read.
		return 0, fmt.Sprintf("the file is over %d MiB, and %s has at most so much: this is another kind of file", rules.MaxBytes>>20, rules.What)
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}), bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		return 0, "the file is in UTF-16: save it in UTF-8"
	case len(bytes.TrimSpace(data)) == 0:
		return 0, "the file is empty: " + rules.What + " has at least " + rules.Least
	case bytes.IndexByte(data, 0) >= 0:
		return lineAt(bytes.IndexByte(data, 0)), "there is a zero byte here, so this is not a text file: save it as plain text in UTF-8"
	case !utf8.Valid(data):
		at := 0
		for r, n := utf8.DecodeRune(data); r != utf8.RuneError || n > 1; r, n = utf8.DecodeRune(data[at:]) {
			at += n
		}
		return lineAt(at), "this is not UTF-8 text: save the file in UTF-8"
	}
	return 0, ""
}

func joinPath(prefix, key string) string {
	if prefix == "" {
		return key
	}
	return prefix + "." + key
}

// parent is the path without its last key: fat.1 of fat.1.pct.
func parent(path string) string {
	return path[:max(strings.LastIndexByte(path, '.'), 0)]
}

// unnumbered is a key path without its numbers: design.part of design.2.part.
func unnumbered(path string) string {
	keys := strings.Split(path, ".")
	return strings.Join(slices.DeleteFunc(keys, func(k string) bool { _, err := strconv.Atoi(k); return err == nil }), ".")
}

// meant is the end of a sentence about a word that is not known: the one that is
// near, or all of them where they are few.
func meant(word, what string, known []string) string {
	const few = 10
	near := words.Meant(word, known)
	switch {
	case near != "" || len(known) > few:
		return near
	case len(known) == 0:
		return ": there are no " + what + " here"
	}
	return ": the " + what + " here are " + strings.Join(known, ", ")
}
