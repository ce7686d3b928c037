package designs

import (
	"context"
	"strings"

	"barwright/design"
	"barwright/fault"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/quantity"
)

// potView goes from a pot of batter forward to pieces.
type potView struct {
	Form   *form.Form
	Wishes wantsPart
	Why    string     // it is not worked out yet
	Each   shell.List // every design that takes the formula, by itself
	Made   shell.List // of the wishes, in their order; empty without wishes
	Left   string
	LeftOf string // what is left of: "after what was wished for", or the whole pot
	Takers shell.List
}

var potPage = shell.Declare[potView](room, "pot")

// pot is what is in the pot, and what is wished for.
type pot struct {
	formula string
	batterG quantity.Maybe
	over    float64
	wishes  []design.Want
}

func (p *pot) bind(f *form.Form, g *gathered, formulas, designs *form.List) {
	f.Pick("formula", &p.formula, formulas, form.Label("Batter of"), form.Wide, form.Only(func() error {
		if p.formula != "" && g.Formulas[p.formula].Doc.Formula == nil {
			if err := g.Faults[p.formula]; err != nil {
				return err // it cannot be read
			}
			return fault.Invalidf("", "This formula is archived: bring it back, or choose another.")
		}
		return nil
	}))
	f.Maybe("batter", &p.batterG, form.Mass, form.Label("In the pot"), form.Hint("as weighed"), form.Answers("batter_g"), form.Only(func() error {
		if g := p.batterG; g.Known && !(g.V > 0 && g.V <= 1e7) {
			return fault.Invalidf("", "A pot of batter is above nothing and at most 10 tonnes: weigh it, and write that.")
		}
		return nil
	}))
	bindOver(f, &p.over, form.Label("Overage"), form.Hint("what spatula and jug keep"))
	bindWants(f, "wish", &p.wishes, designs, g)
}

// pot works out what a pot of batter fills.
func (o *rooms) pot(ctx context.Context, a asked) (potView, error) {
	f, g := a.form, a.gathered
	formulas, err := form.Records(ctx, "formulas", "formula", o.Book.Formulas)
	if err != nil {
		return potView{}, err
	}
	var p pot
	p.bind(f, g, formulas, a.designs)
	how := design.Options{OveragePct: p.over, Faces: g.faces.Formula()}
	known := p.formula != "" && p.batterG.Known
	unworked := g.Faults[p.formula] != nil
	if f.Sound() && known && !unworked {
		for _, row := range f.Rows("wish") {
			if row.Line() < 0 {
				continue
			}
			_, err := design.Forward(g.Set, p.wishes[row.Line()].Design, p.formula, p.batterG.V, how)
			why, internal := g.refused(err, nil, "")
			if internal != nil {
				return potView{}, internal
			}
			if len(why) > 0 {
				row.Refuse("design", fault.Invalidf("", "%s", strings.Join(why, " ")))
			}
		}
	}
	if a.pressed && p.formula == "" && !f.Bad("formula") {
		f.Refuse("formula", fault.Invalidf("", "Choose the formula whose batter is in the pot."))
	}
	if a.pressed && !p.batterG.Known && !f.Bad("batter") {
		f.Refuse("batter", fault.Invalidf("", "Weigh the batter in the pot, and write that."))
	}
	v := potView{Form: f, Wishes: wantsOf(f, "wish", "Add a design")}
	switch {
	case f.Refused(nil):
		v.Why = strings.Join(f.Why(), " ")
	case !known:
		v.Why = "Choose the formula and write what is in the pot."
	case unworked:
		v.Why = g.unworked(p.formula)[0]
	default:
		err = v.fill(g, &p, how)
	}
	return v, err
}

// fill says what the pot fills.
func (v *potView) fill(g *gathered, p *pot, how design.Options) error {
	pieces := []shell.Column{{Label: "pieces"}}
	v.Each = shell.List{Caption: "How many pieces of each design the pot fills by itself", Title: "Design", Columns: pieces}
	for i := range g.Set.Designs {
		d := &g.Set.Designs[i]
		n, err := design.Forward(g.Set, d.ID, p.formula, p.batterG.V, how)
		if err != nil {
			continue // it takes none of this batter, or cannot be worked out
		}
		row := listRow("/designs/"+d.ID, d.Name, "0", "one takes more than there is")
		for _, w := range n.Wants {
			row = listRow(needHref(d.ID, w.Pieces, p.over), d.Name, whole(w.Pieces), listed(g.name(d.Mould), g.mass(n.LeftG.V)+" left over"))
		}
		v.Each.Rows = append(v.Each.Rows, row)
	}
	b := g.Set.Batter(p.formula)
	left := b.OutOfPot(p.batterG.V)
	v.LeftOf = listed("of the whole pot", g.more(b.PotLossG, " stays in it"))
	if len(p.wishes) > 0 {
		n, err := design.Fillable(g.Set, p.formula, p.batterG.V, p.wishes, how)
		if err != nil {
			why, internal := g.refused(err, nil, "")
			v.Why = strings.Join(why, " ")
			return internal
		}
		v.Made = shell.List{Caption: "What of the wishes the pot fills", Title: "Design", Columns: pieces}
		for _, w := range p.wishes {
			got := 0
			for _, x := range n.Wants {
				if x.Design == w.Design {
					got = x.Pieces
				}
			}
			v.Made.Rows = append(v.Made.Rows, listRow(needHref(w.Design, max(got, 1), p.over), g.name(w.Design), whole(got),
				"of "+whole(w.Pieces)+" wished for"))
		}
		left, v.LeftOf = n.LeftG.V, "after what was wished for"
	}
	v.Left = g.mass(left)
	v.Takers = shell.List{Caption: "Moulds on the shelf that would take the rest", Title: "Would take it",
		Columns: []shell.Column{{Label: "cavities"}, {Label: "then left over"}}}
	takers := design.Takers(g.Set, p.formula, left)
	for _, x := range takers[:min(len(takers), 8)] {
		said := g.mass(x.EachG) + " in each, to the brim"
		if x.LastPct >= 0.5 {
			said += "; one more would be " + quantity.Percent(x.LastPct, 0) + " full"
		}
		v.Takers.Rows = append(v.Takers.Rows, shell.ListRow{Href: "/moulds/" + x.Mould, Name: g.name(x.Mould), Aside: []string{said},
			Cells: []shell.Cell{{Value: whole(x.Cavities)}, {Value: g.mass(x.LeftG)}}})
	}
	return nil
}
