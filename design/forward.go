package design

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"barwright/fault"
	"barwright/finding"
	"barwright/quantity"
)

// nearly is the share of a piece by which a pot may fall short of it and still
// fill it, so that what Explode asks for fills just as many pieces again.
const nearly = 1e-6

// Forward goes from a pot of one formula's batter to pieces of the design main:
//
//	pieces = ⌊(G − loss) / ((1 + overage) · mass of that formula per piece, embeds included)⌋
//
// and gives what they need, as Explode does; LeftG is what of the pot is over.
// Where moulds have a cutting plan, or embeds are at hand, it is the most pieces
// whose batter the pot holds. A pot that fills none has no Wants, nothing to pour
// and a finding; its parts are given all the same.
//
// Errors: what Explode gives; fault.NotFound on "main" and "formula";
// fault.Invalid on "formula" where the design takes none of it, and on
// "batter_g" for a mass that is none or that would fill over a million pieces.
func Forward(s *Set, main, formulaID string, batterG float64, o Options) (*Need, error) {
	p := newPlan(s)
	p.faces = o.Faces
	f, avail := p.pot(formulaID, batterG, o)
	i, ok := p.designs[main]
	if !ok {
		p.faults.Add(p.noSuch("main", "design", main, p.designs))
	} else {
		p.visit(i)
	}
	if err := p.refused(); err != nil {
		return nil, err
	}
	pieces, err := p.most(nil, i, f, avail, o, maxPieces+1)
	if err != nil {
		return nil, err
	}
	if pieces > maxPieces {
		return nil, fault.Invalidf("batter_g", "%s would fill more than %s pieces: check the number.",
			quantity.Mass(batterG, o.Faces.Mass, 1), quantity.Number(maxPieces, 0))
	}
	return p.filled([]wanted{{i, pieces}}, f, avail, o)
}

// Fillable fills wants from a pot of one formula's batter in their order: the
// first as far as the pot goes, at most as many as wanted, then the next from
// what is left. Wants of the Need are what can be made, those of which none can
// left out; LeftG is what of the pot is over, for which Takers knows a mould.
//
// Errors: what Forward gives, of every want. A want that takes none of the
// formula is refused on "formula".
func Fillable(s *Set, formulaID string, batterG float64, wants []Want, o Options) (*Need, error) {
	p := newPlan(s)
	p.faces = o.Faces
	f, avail := p.pot(formulaID, batterG, o)
	found := p.look(wants)
	if err := p.refused(); err != nil {
		return nil, err
	}
	var got []wanted
	for _, w := range found {
		n, err := p.most(got, w.design, f, avail, o, w.pieces)
		if err != nil {
			return nil, err
		}
		got = append(got, wanted{w.design, n})
	}
	return p.filled(got, f, avail, o)
}

// pot checks what is in the pot: the formula's index, and what can be tipped out
// of it, g.
func (p *plan) pot(formulaID string, batterG float64, o Options) (f int, avail float64) {
	p.faults = append(p.faults, o.Validate()...)
	f, ok := p.batters[formulaID]
	if !ok {
		p.faults.Add(p.noSuch("formula", "formula", formulaID, p.batters))
		return 0, 0
	}
	if !(batterG >= 0 && batterG <= 1e9) {
		p.faults.Add(fault.Invalidf("batter_g", "A pot cannot hold %s g of batter: give 0 or more.", plainNumber(batterG)))
	}
	p.batter(f)
	return f, p.s.Batters[f].OutOfPot(batterG)
}

// takes is the mass of a formula in the parts of a load, g.
func (p *plan) takes(f int, l load) float64 {
	var g float64
	for _, i := range p.order {
		if l.cavities[i] == 0 {
			continue
		}
		for k := range p.built[i].parts {
			if bp := &p.built[i].parts[k]; bp.batter == f {
				g += bp.massG * float64(l.cavities[i])
			}
		}
	}
	return g
}

// most is how many pieces of a design, at most limit, the pot fills beside what
// it fills already. What pieces take never falls with their number, so halving
// finds it.
func (p *plan) most(already []wanted, design, f int, avail float64, o Options, limit int) (int, error) {
	with := append(slices.Clone(already), wanted{design, 0})
	last := &with[len(with)-1].pieces
	need := func(n int) (float64, bool) {
		*last = n
		l, ok := p.demand(with, o)
		return p.takes(f, l) * (1 + o.OveragePct/100), ok
	}
	none, _ := need(0)
	// Embeds at hand may cover the first pieces, so many are asked.
	if g, ok := need(limit); ok && !(g > none) {
		if big, ok := need(maxPieces); ok && !(big > none) {
			return 0, fault.Invalidf("formula", "The design %s takes nothing of the formula %s: name a formula that is poured in it.",
				fault.Ref{Kind: "design", ID: p.s.Designs[design].ID}, fault.Ref{Kind: "formula", ID: p.s.Batters[f].ID})
		}
	}
	fits := func(n int) bool {
		g, ok := need(n)
		return ok && g <= avail+nearly*(g-none)/float64(n)
	}
	// The answer lies near the pot over what a piece takes; double from there.
	lo, hi := 0, 1
	for hi <= limit && fits(hi) {
		lo, hi = hi, hi*2
	}
	hi = min(hi, limit+1)
	for hi-lo > 1 {
		if mid := lo + (hi-lo)/2; fits(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, nil
}

// filled is the need of what a pot fills, with what is left of it.
func (p *plan) filled(got []wanted, f int, avail float64, o Options) (*Need, error) {
	var wants []Want
	var some []wanted
	for _, w := range got {
		if w.pieces > 0 {
			some = append(some, w)
			wants = append(wants, Want{p.s.Designs[w.design].ID, w.pieces})
		}
	}
	n, err := p.need(wants, some, o)
	if err != nil {
		return nil, err
	}
	l, _ := p.demand(some, o)
	n.LeftG = quantity.Some(math.Max(avail-p.takes(f, l)*(1+o.OveragePct/100), 0))
	if len(some) == 0 {
		b := &p.s.Batters[f]
		n.Findings = append([]finding.Finding{{Rule: "pot-too-small", Severity: finding.Warn, Source: "arithmetic", About: "batter",
			Message: "The pot fills no piece: " + p.mass(avail) + " of " + b.title() +
				" can be tipped out of it, after the " + p.mass(b.PotLossG) + " that stay in it.",
			Remedy: "Make more of it, or find a smaller mould for it."}}, n.Findings...)
	}
	return n, nil
}

// Taker is what one mould would take of a rest of batter.
type Taker struct {
	Mould    string
	Cavities int // filled to the brim, at most all that stand on the bench
	// LastPct is how full one cavity more would be of what is then left, % of its
	// volume; 0 when nothing is left or no cavity is free.
	LastPct float64
	EachG   float64 // in a full cavity
	// LeftG is over when only whole cavities are filled.
	LeftG float64
}

// Takers says which moulds of the set would take a rest of a formula's batter,
// best first: the least left over when only whole cavities are filled, then the
// fewest cavities; moulds that it does not fill once come last, the fullest
// first. A mould that cannot be worked out is left out. No rest, and a formula
// that is not there, have no takers.
func Takers(s *Set, formulaID string, leftG float64) []Taker {
	f := slices.IndexFunc(s.Batters, func(b Batter) bool { return b.ID == formulaID })
	if f < 0 || !(leftG > 0) || !(leftG <= 1e9) || !(s.Batters[f].DensityGML > 0) {
		return nil
	}
	var out []Taker
	for i := range s.Moulds {
		m := &s.Moulds[i]
		v, err := m.Volume()
		if err != nil {
			continue
		}
		t := Taker{Mould: m.ID, EachG: v.Value * s.Batters[f].DensityGML}
		if !(t.EachG > 0) {
			continue
		}
		t.Cavities = int(math.Min(math.Floor(leftG/t.EachG+nearly), float64(m.All())))
		t.LeftG = math.Max(leftG-float64(t.Cavities)*t.EachG, 0)
		if t.LeftG < nearly*t.EachG {
			t.LeftG = 0
		}
		if t.Cavities < m.All() {
			t.LastPct = 100 * t.LeftG / t.EachG
		}
		out = append(out, t)
	}
	slices.SortStableFunc(out, func(a, b Taker) int {
		if a.Cavities == 0 || b.Cavities == 0 {
			return cmp.Or(cmp.Compare(min(b.Cavities, 1), min(a.Cavities, 1)), cmp.Compare(b.LastPct, a.LastPct), strings.Compare(a.Mould, b.Mould))
		}
		return cmp.Or(cmp.Compare(a.LeftG, b.LeftG), cmp.Compare(a.Cavities, b.Cavities), strings.Compare(a.Mould, b.Mould))
	})
	return out
}
