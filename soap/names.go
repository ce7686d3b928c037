package soap

import (
	"errors"
	"strconv"

	"barwright/fault"
	"barwright/formula"
)

// about names a row as findings and pages do, counted from 0: "fat:2".
func about(what string, i int) string {
	if i >= 0 && i < len(abouts[what]) {
		return abouts[what][i]
	}
	return what + ":" + strconv.Itoa(i)
}

// abouts holds the first names, made once, because a formula is worked out at
// every keystroke.
var abouts = func() map[string][]string {
	m := map[string][]string{}
	for _, w := range []string{"fat", "extra", "scent", "base", "portion"} {
		for i := range 32 {
			m[w] = append(m[w], w+":"+strconv.Itoa(i))
		}
	}
	return m
}()

// field names a field of a row as forms and files do, counted from 1: the third
// fat's share is "fat.3.pct".
func field(what string, i int, name string) string { return formula.Path(what, i, name) }

// at moves a fault of the catalogue to the field that named the ingredient.
func at(err error, what string, i int, name string) *fault.Error {
	var e *fault.Error
	if errors.As(err, &e) {
		c := *e
		c.Field = field(what, i, name)
		return &c
	}
	return &fault.Error{Kind: fault.Internal, Field: field(what, i, name), Err: err}
}
