package form

import (
	"cmp"
	"fmt"
	"slices"

	"barwright/internal/web/shell"
)

// Draw is a field as the page shows it, for template "control":
//
//	{{template "control" (.Form.Draw "superfat")}}
//
// The error is a programmer's: no field of that name was declared.
func (f *Form) Draw(path string) (shell.Field, error) {
	d := f.decls[f.name(path)]
	if d == nil || d.Kind == unseen {
		return shell.Field{}, fmt.Errorf("form: there is no field %q", f.name(path))
	}
	x := d.Field
	x.Name, x.Fault, x.Value = d.name, f.FaultAt(path), cmp.Or(f.v.Get(d.name), x.Value)
	return x, nil
}

// Drawn are the paths of the fields that a page draws, those of rows left out, in the
// order in which they were bound.
func (f *Form) Drawn() []string {
	return slices.DeleteFunc(slices.Clone(f.order), func(n string) bool {
		d := f.decls[n]
		return d == nil || d.Kind == unseen || d.row != nil
	})
}

// DrawAll are several fields, for a page that ranges over them.
func (f *Form) DrawAll(paths ...string) ([]shell.Field, error) {
	var out []shell.Field
	for _, p := range paths {
		c, err := f.Draw(p)
		if err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, nil
}
