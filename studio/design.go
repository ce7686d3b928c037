package studio

import (
	"context"
	"errors"
	"slices"

	"barwright/catalogue"
	"barwright/design"
	"barwright/fault"
	"barwright/formula"
)

// DesignVersion is one version of a design.
type DesignVersion = Version[*design.Design]

// designs is the nature of designs. A formula may lose a portion that a design
// pours, and a mould may change under it; the design then says so where it is
// worked out.
type designs struct{ plain[*design.Design] }

func (designs) kind() Kind                   { return KindDesign }
func (designs) name(d *design.Design) string { return d.Name }

func (designs) under(d *design.Design, id, name string) *design.Design {
	named := *d
	named.ID, named.Name = id, name
	return &named
}

func (designs) check(d *design.Design, _ *catalogue.Catalogue) fault.List { return d.Validate(true) }

func (designs) words(d *design.Design) []string {
	var out []string
	for i := range d.Parts {
		out = append(out, d.Parts[i].Name, d.Parts[i].Item)
	}
	return out
}

func (designs) links(d *design.Design, _ *catalogue.Catalogue) []Link {
	out := []Link{{Kind: KindMould, ID: d.Mould}}
	for i := range d.Parts {
		var l Link
		switch p := &d.Parts[i]; {
		case p.Kind.Batter():
			l = Link{Kind: KindFormula, ID: p.Formula}
		case p.Kind == design.Embed:
			l = Link{Kind: KindDesign, ID: p.Design}
		default:
			l = Link{Kind: KindItem, ID: p.Item}
		}
		if l.ID != "" && !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	return out
}

func (designs) read(doc, _ Document) (*design.Design, error) {
	d := new(design.Design)
	return d, decode("design", doc, d)
}

// stands says what is wrong with d in the light of the studio: what it names
// that is not there or was archived, a portion that its formula does not have, a
// design that comes back to itself.
func (designs) stands(ctx context.Context, r Reader, d *design.Design) error {
	var l fault.List
	// on looks up what a field names. It is not there where it has a fault.
	on := func(field string, kind Kind, id string) (RecordRow, bool, error) {
		row, err := r.Record(ctx, kind, id)
		if errors.Is(err, ErrNone) {
			l.Add(fault.Invalidf(field, "There is no such %s in this studio. Choose one of the list.", kind).Under("unknown-record"))
			return row, false, nil
		}
		if err == nil && row.Archived() {
			l.Add(fault.Invalidf(field, "The %s “%s” was archived. Bring it back, or choose another.", kind, row.Name).Under("archived"))
		}
		return row, err == nil, err
	}
	if _, _, err := on("mould", KindMould, d.Mould); err != nil {
		return err
	}
	for i := range d.Parts {
		switch p := &d.Parts[i]; {
		case p.Kind.Batter():
			row, there, err := on(formula.Path("part", i, "formula"), KindFormula, p.Formula)
			if err != nil {
				return err
			}
			if !there || p.Portion == "" {
				continue
			}
			has, err := hasPortion(ctx, r, row, p.Portion)
			if err != nil {
				return err
			}
			if !has {
				l.Add(fault.Invalidf(formula.Path("part", i, "portion"), "Version %d of “%s” has no portion called “%s”. Choose one that it has, or its "+
					"batter undivided.", row.Newest, row.Name, p.Portion))
			}
		case p.Kind == design.Embed:
			// A design that is being made cannot embed itself: nobody has its id.
			field := formula.Path("part", i, "design")
			row, there, err := on(field, KindDesign, p.Design)
			if err != nil {
				return err
			}
			if !there {
				continue
			}
			way, err := wayTo(ctx, r, p.Design, d.ID, map[string]bool{})
			if err != nil {
				return err
			}
			switch {
			case len(way) == 1:
				l.Add(fault.Invalidf(field, "“%s” cannot be embedded in itself. Choose another design.", d.Name))
			case len(way) > 1:
				l.Add(fault.Invalidf(field, "“%s” cannot be embedded here: it is made with %s, and so would be made of itself. Choose another design.",
					row.Name, through(way[1:len(way)-1], d.Name)))
			}
		}
	}
	return l.Err()
}

// wayTo walks from a design down its embeds and gives the names of those passed
// on the way to another, both ends included; none when it is not reached.
func wayTo(ctx context.Context, r Reader, from, to string, seen map[string]bool) ([]string, error) {
	if seen[from] {
		return nil, nil
	}
	seen[from] = true
	row, err := r.Record(ctx, KindDesign, from)
	if err != nil {
		return nil, err
	}
	if from == to {
		return []string{row.Name}, nil
	}
	on, err := r.Links(ctx, from)
	if err != nil {
		return nil, err
	}
	for _, l := range on {
		if l.Kind != KindDesign {
			continue
		}
		way, err := wayTo(ctx, r, l.ID, to, seen)
		if err != nil || len(way) > 0 {
			return append([]string{row.Name}, way...), err
		}
	}
	return nil, nil
}

// through names the designs between, outermost first, and the last.
func through(between []string, last string) string {
	out := "“" + last + "”"
	for _, name := range slices.Backward(between) {
		out += ", by way of “" + name + "”"
	}
	return out
}
