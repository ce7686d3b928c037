package designs

import (
	"context"
	"net/url"
	"slices"
	"strings"

	"barwright/fault"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/studio"
)

// picks are the fields of a form that choose a record. A long list is typed into to
// find, and sent once however many fields choose from it; whether a record is there
// is asked of the store.
type picks struct {
	form    *form.Form
	lists   map[studio.Kind]*form.List
	drawn   map[string]bool
	faults  fault.List // of names that mean no record, or several
	Items   []string   // what other designs are strewn with and packed in
	portion map[string][]Option
}

// pickKind says which kind of record a field chooses, what the field is called on
// the page, and whether its label is only read out; "" for a field that chooses none.
func pickKind(name string) (kind studio.Kind, label string, hidden bool) {
	list, rest, row := strings.Cut(name, ".")
	num, key, _ := strings.Cut(rest, ".")
	switch {
	case name == "mould":
		return studio.KindMould, "Mould", false
	case name == "formula":
		return studio.KindFormula, "Batter of", false
	case !row:
	case list == "part" && key == "formula":
		return studio.KindFormula, "made of", false
	case list == "part" && key == "design":
		return studio.KindDesign, "which design", false
	case list == "also" && key == "design":
		return studio.KindDesign, "Also make, " + num, true
	case list == "wish" && key == "design":
		return studio.KindDesign, "Wish " + num, true
	}
	return "", "", false
}

// picks reads the fields of a form that choose a record, and writes the ids that
// were meant into v. Self is the design that the form is of, which is no choice in it.
func (s *server) picks(ctx context.Context, t trade, v url.Values, self string) (*picks, error) {
	p := &picks{form: form.Read(v, t.Faces), lists: map[studio.Kind]*form.List{}, drawn: map[string]bool{}, portion: map[string][]Option{}}
	for kind, list := range map[studio.Kind]func() (*form.List, error){
		studio.KindMould:   func() (*form.List, error) { return form.Records(ctx, "moulds", "mould", s.book.Moulds) },
		studio.KindFormula: func() (*form.List, error) { return form.Records(ctx, "formulas", "formula", s.book.Formulas) },
		studio.KindDesign:  func() (*form.List, error) { return form.Records(ctx, "designs", "design", s.book.Designs, self) },
	} {
		l, err := list()
		if err != nil {
			return nil, err
		}
		p.lists[kind] = l
	}
	names := make([]string, 0, len(v))
	for name := range v {
		if kind, _, _ := pickKind(name); kind != "" {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	var formulas []string
	for _, name := range names {
		id := p.pick(name)
		if id == "" {
			continue
		}
		v.Set(name, id)
		if kind, _, _ := pickKind(name); kind == studio.KindFormula {
			formulas = append(formulas, id)
		}
	}
	p.faults = p.form.Faults()
	written, err := s.book.Formulas.Some(ctx, formulas...)
	if err != nil {
		return nil, err
	}
	for _, f := range written {
		for i, x := range f.Newest.Doc.Portions {
			if i == 0 {
				p.portion[f.ID] = []Option{{Value: "", Label: "the batter undivided"}}
			}
			p.portion[f.ID] = append(p.portion[f.ID], Option{Value: x.Name, Label: x.Name})
		}
	}
	p.Items, err = s.book.UsedIDs(ctx, studio.KindItem)
	return p, err
}

// pick binds a field and gives the id that it means; "" for none.
func (p *picks) pick(name string) string {
	kind, label, hidden := pickKind(name)
	opts := []form.Option{form.Label(label), form.Wide}
	if hidden {
		opts = append(opts, form.Ledger)
	}
	var id string
	p.form.Pick(name, &id, p.lists[kind], opts...)
	p.drawn[name] = true
	if p.form.Bad(name) {
		return ""
	}
	return id
}

// control draws a field, with what was refused of it.
func (p *picks) control(name string, refused fault.List) shell.Control {
	if !p.drawn[name] {
		p.pick(name)
	}
	c, err := p.form.Draw(name)
	if err != nil {
		panic(err) // it was bound just now
	}
	said := FaultAt(refused, name)
	if c.Select != nil {
		c.Select.Fault = said
	} else {
		c.Field.Fault = said
	}
	return c
}

// Datalists are the long lists that the fields choose from.
func (p *picks) Datalists() []shell.Datalist { return p.form.Datalists() }

// blankControl writes blankRow where the field of row 0 has its number.
func blankControl(c *shell.Control) {
	if c.Select != nil {
		asBlank(&c.Select.Name, &c.Select.Label)
	} else {
		asBlank(&c.Field.Name, &c.Field.Label)
	}
}
