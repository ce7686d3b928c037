package cli

import (
	"cmp"
	"fmt"
	"strconv"
	"strings"

	"barwright/design"
	"barwright/internal/words"
	"barwright/quantity"
)

// filled is a need for people, in the order of the work: what to cast first, what
// to make, what to set out, what goes where, and what is in one piece. pot is the
// id of the formula in a pot that was given.
func (p *page) filled(f *design.File, n *design.Need, pot string) {
	p.say(0, 0, cmp.Or(f.Name, f.Main))
	made := pieces(n)
	p.say(0, 0, fmt.Sprintf("%s of %s, %s each as poured", words.Count(made, "piece", "pieces"), f.Main, grams(pieceG(f, n))))
	p.stop(n.Findings)
	p.castFirst(n)
	p.toMake(n)
	p.setOut(n)
	p.pour(n)
	p.fillMoulds(f, n)
	p.onePiece(n, f)
	if n.LeftG.Known {
		p.head("Left in the pot")
		p.say(2, 2, fmt.Sprintf("%s, beside overage and what stays in the pot.", grams(n.LeftG.V)))
		p.takers(f, n, pot)
	}
	p.findings(n.Findings)
}

func grams(g float64) string { return quantity.Mass(g, quantity.Gram, 0.1) }
func gram(g float64) string  { return quantity.Number(g, 1) }
func ml(v float64) string    { return quantity.Volume(v, quantity.Millilitre, 1) }

func pieceG(f *design.File, n *design.Need) float64 {
	if p := n.Piece(f.Main); p != nil {
		return p.PieceG
	}
	return 0
}

func (p *page) castFirst(n *design.Need) {
	table(p, "Cast first, on an earlier day: embeds must set", n.Embeds, func(e design.EmbedNeed) (number, what, note string) {
		var uses []string
		for _, f := range e.For {
			uses = append(uses, fmt.Sprintf("%d in %s", f.Pieces, f.Design))
		}
		return strconv.Itoa(e.Pieces), e.Design, "for " + strings.Join(uses, ", ")
	})
}

func (p *page) toMake(n *design.Need) {
	table(p, "Batches to make, in g", n.Batches, func(b design.BatchNeed) (number, what, note string) {
		note = gram(b.PartsG) + " in the pieces"
		if b.OverageG > 0 {
			note += ", " + gram(b.OverageG) + " overage"
		}
		if b.PotLossG > 0 {
			note += ", " + gram(b.PotLossG) + " stays in the pot"
		}
		return gram(b.MassG), b.Formula + ", about " + ml(b.VolumeML), note
	})
}

func (p *page) setOut(n *design.Need) {
	table(p, "Set out", items(n), func(i filledItem) (number, what, note string) {
		switch {
		case i.MassG.Known && i.Count.Known:
			return quantity.Number(i.Count.V, 0) + " and " + grams(i.MassG.V), i.Item, ""
		case i.Count.Known:
			return quantity.Number(i.Count.V, 0), i.Item, ""
		}
		return grams(i.MassG.V), i.Item, ""
	})
}

func (p *page) pour(n *design.Need) {
	if pieces(n) == 0 {
		return
	}
	table(p, "Pour in this order: g into each cavity", n.Pours, func(s design.PourStep) (number, what, note string) {
		what = fmt.Sprintf("%s into %s of %s, %s in all", s.Formula, words.Count(s.Cavities, "cavity", "cavities"), s.Mould, grams(s.TotalG))
		note = fmt.Sprintf("%s, part %d, %s", s.Design, s.Part, s.Kind)
		if s.ToPct.Known {
			note += ", to " + quantity.Percent(s.ToPct.V, 1)
		}
		return gram(s.EachG), what, note
	})
}

func (p *page) fillMoulds(f *design.File, n *design.Need) {
	table(p, "Cavities to fill", n.Cavities, func(c design.CavityNeed) (number, what, note string) {
		note = fmt.Sprintf("%d stand at once: %s", f.Set.Mould(c.Mould).All(), words.Count(c.Rounds, "round", "rounds"))
		return strconv.Itoa(c.Needed), c.Mould + ", " + ml(c.VolumeML) + " each", note
	})
}

func (p *page) onePiece(n *design.Need, f *design.File) {
	for _, piece := range n.Pieces {
		parts := f.Set.Design(piece.Design).Parts
		p.head("In one " + piece.Design + ", " + plain.Replace(grams(piece.PieceG)) + ": g, part by part")
		number := func(q design.PartNeed) string {
			if q.Kind.Item() && q.MassG == 0 {
				return ""
			}
			return gram(q.MassG)
		}
		w := column(piece.Parts, number)
		for k, q := range piece.Parts {
			what, note := fmt.Sprintf("%d. %s", q.Part, q.Kind), ""
			switch {
			case q.Kind.Batter():
				what += ": " + q.Formula
				note = ml(q.VolumeML)
				if q.Kind.Level() {
					note += ", to " + quantity.Percent(q.ToPct, 1)
				}
				if q.DisplacedML > 0 {
					note = ml(q.VolumeML) + ", beside " + ml(q.DisplacedML) + " that embeds take, to " + quantity.Percent(q.ToPct, 1)
				}
			case q.Kind == design.Embed:
				what += fmt.Sprintf(": %s %s", quantity.Number(q.Count, 0), parts[k].Design)
				note = fmt.Sprintf("%s, sunk %s, covered %s", ml(q.VolumeML), quantity.Percent(parts[k].SunkPct, 0), quantity.Percent(parts[k].CoveredPct, 0))
			default:
				what += ": "
				if q.Count > 0 {
					what += quantity.Number(q.Count, 0) + " "
				}
				what += parts[k].Item
			}
			p.row(number(q), w, what, note)
		}
	}
}

// takers says which moulds of the file would take the rest: three at most.
func (p *page) takers(f *design.File, n *design.Need, pot string) {
	if !(n.LeftG.V > 0) {
		return
	}
	list := design.Takers(&f.Set, pot, n.LeftG.V)
	for _, t := range list[:min(len(list), 3)] {
		s := fmt.Sprintf("It fills %s of %s", words.Count(t.Cavities, "cavity", "cavities"), t.Mould)
		if t.Cavities == 0 {
			s = fmt.Sprintf("It fills one cavity of %s to %s", t.Mould, quantity.Percent(t.LastPct, 0))
		} else if t.LastPct > 0 {
			s += fmt.Sprintf(", and one more to %s", quantity.Percent(t.LastPct, 0))
		} else if t.LeftG > 0 {
			s += ", and leaves " + grams(t.LeftG)
		}
		p.say(2, 2, s+".")
	}
}
