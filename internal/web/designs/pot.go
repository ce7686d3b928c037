package designs

import (
	"context"
	"net/url"
	"strconv"
	"strings"

	"barwright/design"
	"barwright/fault"
	"barwright/internal/web/shell"
	"barwright/quantity"
)

func (s *server) potRoutes() {
	wishPage[potView]{potPage, "pot-work", s.potView, "This much batter",
		"What a pot fills, what is left of it, and which mould would take the rest."}.routes(s, "/designs/pot")
}

// potView goes from a pot of batter forward to pieces.
type potView struct {
	Picks   *picks
	Summary Summary
	Formula shell.Control
	Fields  []Field
	Wishes  []wishRow
	Blank   wishRow
	OK      bool
	Why     string
	Each    []potRow // every design that takes the formula, by itself
	Made    []potRow // of the wishes, in their order
	Asked   bool     // there are wishes
	Left    string
	LeftOf  string // what is left of: "what the wishes leave", or the whole pot
	Takers  []takerRow
}

// wishRow is a design and how many pieces of it are wished for.
type wishRow struct {
	Num    string
	Design shell.Control
	Pieces Field
}

func (r wishRow) blank() wishRow {
	r.Num = blankRow
	blankControl(&r.Design)
	asBlank(&r.Pieces.Name, &r.Pieces.Label)
	return r
}

type potRow struct {
	Href, Name, Pieces, Aside string
	None                      bool // it fills no piece
}

type takerRow struct{ Href, Name, Cavities, Left, Aside string }

func (v potView) sound() bool { return len(v.Summary.Faults) == 0 }

var potPage = shell.Declare[potView](room, "pot")

func wishField(n int, key string) string { return "wish." + strconv.Itoa(n) + "." + key }

func wishRows(v url.Values, faults fault.List, c *picks) (rows []wishRow, blank wishRow) {
	row := func(n int) wishRow {
		r := wishRow{Num: strconv.Itoa(n), Design: c.control(wishField(n, "design"), faults),
			Pieces: fieldOf(v, faults, wishField(n, "pieces"), "Pieces of wish "+strconv.Itoa(n), "", "")}
		r.Pieces.Ledger = true
		return r
	}
	for _, n := range rowsIn(v, "wish", "design") {
		rows = append(rows, row(n))
	}
	return rows, row(0).blank()
}

// wishes reads the rows of a wish list; at[i] is the row of wish i.
func wishes(in *typed, g *gathered) (wants []design.Want, at []int) {
	for _, n := range rowsIn(in.v, "wish", "design") {
		d, p := in.text(wishField(n, "design")), in.text(wishField(n, "pieces"))
		switch {
		case d == "" && p == "":
		case d == "":
			in.at(wishField(n, "design"), fault.Invalidf("", "Choose the design that is wished for, or take the row away."))
		case g.design(d) == nil:
			in.at(wishField(n, "design"), fault.Invalidf("", "That design is not there any more: choose another."))
		default:
			field := wishField(n, "pieces")
			m := in.number(field, quantity.ParseNumber)
			if in.has(field) {
				continue
			}
			if k := int(m.V); m.Known && m.V == float64(k) && k >= 1 && k <= 100_000 {
				wants, at = append(wants, design.Want{Design: d, Pieces: k}), append(at, n)
				continue
			}
			in.at(field, fault.Invalidf(field, "Write how many pieces are wished for: a whole number from 1, as 24."))
		}
	}
	return wants, at
}

// gatherAll is studio.GatherAll in the studio's faces.
func (s *server) gatherAll(ctx context.Context) (*gathered, error) {
	t, err := s.trade(ctx)
	if err != nil {
		return nil, err
	}
	all, err := s.book.GatherAll(ctx)
	if err != nil {
		return nil, err
	}
	return &gathered{all, t}, nil
}

func (s *server) potView(ctx context.Context, v url.Values) (potView, error) {
	var view potView
	g, err := s.gatherAll(ctx)
	if err != nil {
		return view, err
	}
	c, err := s.picks(ctx, g.t, v, "")
	if err != nil {
		return view, err
	}
	// As everywhere, what is kept beyond the pieces starts from the studio's.
	if !v.Has("over") && g.t.set.OveragePct.Known {
		v.Set("over", plainNumber(g.t.set.OveragePct.V))
	}
	in := typed{v: v, faults: c.faults}
	id := in.text("formula")
	grams := in.number("batter", g.t.parseMass)
	over := in.number("over", parsePercent).Or(0)
	if !in.has("over") && !(over >= 0 && over <= 100) {
		in.at("over", fault.Invalidf("over", "Write from 0 to 100 %% of batter beyond what the pieces take."))
	}
	wants, rows := wishes(&in, g)
	if id != "" && g.Formulas[id].Doc.Formula == nil {
		in.at("formula", fault.Invalidf("formula", "That formula is not there any more: choose another."))
	}
	if grams.Known && !(grams.V > 0 && grams.V <= 1e7) {
		in.at("batter", fault.Invalidf("batter", "A pot of batter is above nothing and at most 10 tonnes: weigh it, and write that."))
	}
	if o := (design.Options{OveragePct: over, Faces: g.t.faces()}); len(in.faults) == 0 && grams.Known && id != "" && g.Faults[id] == nil {
		for i, w := range wants {
			if _, err := design.Forward(g.Set, w.Design, id, grams.V, o); err != nil {
				for _, f := range g.refused(err, "") {
					if f.Kind == fault.Internal {
						return view, err
					}
					in.at(wishField(rows[i], "design"), f)
				}
			}
		}
	}
	faults := sentences(in.faults)
	view.Formula, view.Picks = c.control("formula", faults), c
	view.Fields = []Field{fieldOf(v, faults, "batter", "In the pot", massUnitWord(g.t.set.Mass), "as weighed"), fieldOf(v, faults, "over", "Beyond the pieces", "%", "what spatula and jug keep")}
	view.Wishes, view.Blank = wishRows(v, faults, c)
	view.Summary = Summarise(faults)
	switch {
	case len(faults) > 0:
		view.Why = "Worked out as soon as what is marked is mended."
	case id == "" || !grams.Known:
		view.Why = "Choose the formula and write what is in the pot."
	case g.Faults[id] != nil:
		view.Why = "“" + g.name(id) + "” cannot be worked out as it stands: open the formula and see what it needs."
	default:
		err = view.fill(g, id, grams.V, wants, design.Options{OveragePct: over, Faces: g.t.faces()})
	}
	return view, err
}

// fill says what the pot fills.
func (view *potView) fill(g *gathered, id string, grams float64, wants []design.Want, o design.Options) error {
	view.OK, view.Asked = true, len(wants) > 0
	over := quantity.Number(o.OveragePct, 2)
	for i := range g.Set.Designs {
		d := &g.Set.Designs[i]
		n, err := design.Forward(g.Set, d.ID, id, grams, o)
		if err != nil {
			continue // it takes none of this batter, or cannot be worked out
		}
		row := potRow{Href: "/designs/" + d.ID, Name: d.Name, Pieces: "0", Aside: "more than there is", None: true}
		for _, w := range n.Wants {
			row = potRow{Href: needHref(d.ID, w.Pieces, over), Name: d.Name, Pieces: quantity.Number(float64(w.Pieces), 0),
				Aside: listed(g.name(d.Mould), g.mass(n.LeftG.V)+" over")}
		}
		view.Each = append(view.Each, row)
	}
	b := g.Set.Batter(id)
	loss, left := b.PotLossG, b.OutOfPot(grams)
	view.LeftOf = "of the whole pot"
	if loss > 0 {
		view.LeftOf += ", " + g.mass(loss) + " stays in it"
	}
	if len(wants) > 0 {
		n, err := design.Fillable(g.Set, id, grams, wants, o)
		if err != nil {
			l := g.refused(err, "")
			if fault.KindOf(err) == fault.Internal {
				return err
			}
			view.OK, view.Why = false, l[0].Message
			return nil
		}
		for _, w := range wants {
			got := 0
			for _, x := range n.Wants {
				if x.Design == w.Design {
					got = x.Pieces
				}
			}
			row := potRow{Href: needHref(w.Design, max(got, 1), over), Name: g.name(w.Design), Pieces: quantity.Number(float64(got), 0), None: got == 0,
				Aside: "of " + quantity.Number(float64(w.Pieces), 0) + " wished for"}
			view.Made = append(view.Made, row)
		}
		left, view.LeftOf = n.LeftG.V, "after what was wished for"
	}
	view.Left = g.mass(left)
	for i, x := range design.Takers(g.Set, id, left) {
		if i == 8 {
			break
		}
		row := takerRow{Href: "/moulds/" + x.Mould, Name: g.name(x.Mould), Cavities: quantity.Number(float64(x.Cavities), 0), Left: g.mass(x.LeftG), Aside: g.mass(x.EachG) + " in each, to the brim"}
		if x.LastPct >= 0.5 {
			row.Aside += "; one more would be " + quantity.Percent(x.LastPct, 0) + " full"
		}
		view.Takers = append(view.Takers, row)
	}
	return nil
}

// needHref is the address of what so many pieces need.
func needHref(id string, pieces int, over string) string {
	u := url.Values{"pieces": {strconv.Itoa(pieces)}}
	if over = strings.TrimSpace(over); over != "" && over != "0" {
		u.Set("over", over)
	}
	return "/designs/" + id + "/need?" + u.Encode()
}
