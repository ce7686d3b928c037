package form

import (
	"cmp"
	"slices"

	"barwright/formula"
	"barwright/internal/web/shell"
	"barwright/quantity"
)

// Changes says what reads otherwise in the second of two written forms, field by
// field in the order of the form, as the page shows it. Both were made by Of and
// bound to the two values by the same function.
func Changes(before, after *Form) []formula.Change {
	names := slices.Clone(after.order)
	for _, n := range before.order {
		if !slices.Contains(names, n) {
			names = append(names, n)
		}
	}
	var out []formula.Change
	for _, n := range names {
		was, is := before.shown(n), after.shown(n)
		if was == is {
			continue
		}
		out = append(out, formula.Change{Field: n, Label: cmp.Or(after.decls[n], before.decls[n]).called(), Before: was, After: is})
	}
	return out
}

// shown is what stands in a field as a sentence would say it: a choice by its
// label, a number with its unit; "" for an empty field and for one that is not there.
func (f *Form) shown(name string) string {
	d, text := f.decls[name], f.v.Get(name)
	if d == nil || d.Kind == unseen || text == "" {
		return ""
	}
	if d.Kind == shell.Check {
		return "yes"
	}
	for _, o := range d.Options {
		if o.Value == text {
			return o.Label
		}
	}
	if d.list != nil {
		if n, ok := d.list.name(text); ok {
			return n
		}
	}
	if d.Field.Unit != "" {
		return text + quantity.UnitSpace + d.Field.Unit
	}
	return text
}
