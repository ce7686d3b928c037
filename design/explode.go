package design

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/finding"
	"barwright/formula"
	"barwright/internal/words"
	"barwright/mould"
	"barwright/quantity"
)

// fuzz is the share of a cavity or a piece that counts as none: what binary
// numbers make of a level that was meant to be met.
const fuzz = 1e-9

// built is a design worked out for one cavity. Masses g, volumes mL.
type built struct {
	state  uint8 // 0 not yet, 1 on the way, 2 done
	sound  bool  // it and all that it embeds can be worked out
	mould  int
	cavity float64 // volume of one
	bars   int
	parts  []builtPart
	massG  float64 // of a cavity's piece or block, wraps not
	soldG  float64 // the same when sold: each batter at what the cure leaves of it
	volML  float64
	found  []finding.Finding
	// When the first of its batters begins to give, °C, and whose that is; the
	// batters that dry and that sweat, "" for none.
	gives                  quantity.Maybe
	givesOf, dries, sweats string
}

type builtPart struct {
	volML, massG, count float64
	from, to            float64 // mL in the cavity
	displaced           float64
	batter, child       int // indices; -1 for none
}

// plan works a set out: each mould, batter and design once, and only those that
// are reached.
type plan struct {
	s       *Set
	moulds  map[string]int
	batters map[string]int
	designs map[string]int
	volumes []quantity.Reading[float64]
	mouldOK []uint8 // 0 not looked at, 1 sound, 2 not
	batOK   []uint8
	built   []built
	order   []int // reached designs, embeds before what takes them
	path    []int // on the way
	faces   formula.Faces
	doubled fault.List
	faults  fault.List
	// allergens that were looked up, by the name that a certificate gives.
	allergens map[string]*catalogue.Allergen
}

func newPlan(s *Set) *plan {
	p := &plan{s: s, moulds: make(map[string]int, len(s.Moulds)), batters: make(map[string]int, len(s.Batters)),
		designs: make(map[string]int, len(s.Designs)), volumes: make([]quantity.Reading[float64], len(s.Moulds)),
		mouldOK: make([]uint8, len(s.Moulds)), batOK: make([]uint8, len(s.Batters)), built: make([]built, len(s.Designs))}
	note := func(m map[string]int, list, id string, i int) {
		field := list + "." + strconv.Itoa(i+1) + ".id"
		first, twice := m[id]
		switch {
		case id == "":
			p.doubled.Add(fault.Invalidf(field, "This %s has no id: give it one, by which the designs name it.", list))
		case twice:
			p.doubled.Add(fault.Invalidf(field, "The id %s is given twice: %s number %d has it already.", fault.Ref{Kind: list, ID: id}, list, first+1))
		default:
			m[id] = i
		}
	}
	for i := range s.Moulds {
		note(p.moulds, "mould", s.Moulds[i].ID, i)
	}
	for i := range s.Batters {
		note(p.batters, "formula", s.Batters[i].ID, i)
	}
	for i := range s.Designs {
		note(p.designs, "design", s.Designs[i].ID, i)
	}
	return p
}

// mould works the cavity out once, and reports that it could.
func (p *plan) mould(i int) bool {
	if p.mouldOK[i] == 0 {
		p.mouldOK[i] = 1
		m := &p.s.Moulds[i]
		v, err := m.Volume()
		l := fault.All(err)
		if m.Bars() < 1 && err == nil {
			l.Add(fault.Invalidf("cut", "The cutting plan gives no bars: cut it into 1 or more along, across and in layers."))
		}
		if len(l) > 0 {
			p.mouldOK[i] = 2
			p.faults = append(p.faults, within(l, "mould", i, m.ID)...)
		}
		p.volumes[i] = v
	}
	return p.mouldOK[i] == 1
}

func (p *plan) batter(i int) bool {
	if p.batOK[i] == 0 {
		p.batOK[i] = 1
		if l := checkBatter(&p.s.Batters[i], i); len(l) > 0 {
			p.batOK[i] = 2
			p.faults = append(p.faults, l...)
		}
	}
	return p.batOK[i] == 1
}

// visit works a design out, its embeds first. Faults go to p.faults.
func (p *plan) visit(i int) bool {
	b := &p.built[i]
	if b.state == 2 {
		return b.sound
	}
	d := &p.s.Designs[i]
	b.state = 1
	p.path = append(p.path, i)
	ok := true
	wrong := func(l ...*fault.Error) {
		ok = ok && len(l) == 0
		p.faults = append(p.faults, within(l, "design", i, d.ID)...)
	}
	wrong(d.Validate(true)...)
	if d.Mould != "" {
		if m, known := p.moulds[d.Mould]; known {
			b.mould = m
			ok = p.mould(m) && ok
		} else {
			wrong(p.noSuch("mould", "mould", d.Mould, p.moulds))
		}
	}
	b.parts = make([]builtPart, len(d.Parts))
	for k := range d.Parts {
		part := &d.Parts[k]
		bp := &b.parts[k]
		bp.batter, bp.child = -1, -1
		switch {
		case part.Kind.Batter() && part.Formula != "":
			f, known := p.batters[part.Formula]
			if !known {
				wrong(p.noSuch(partField(k, "formula"), "formula", part.Formula, p.batters))
				continue
			}
			bp.batter = f
			ok = p.batter(f) && ok
			if part.Portion != "" && p.portion(f, part.Portion) < 0 {
				wrong(fault.NotFoundf(partField(k, "portion"), "The formula %s has no portion %s: name one that it has, or pour the batter undivided.",
					fault.Ref{Kind: "formula", ID: part.Formula}, fault.Ref{Kind: "portion", ID: part.Portion}))
			}
		case part.Kind == Embed && part.Design != "":
			child, known := p.designs[part.Design]
			if !known {
				wrong(p.noSuch(partField(k, "design"), "design", part.Design, p.designs))
				continue
			}
			bp.child = child
			if p.built[child].state == 1 {
				wrong(p.ring(partField(k, "design"), child))
				continue
			}
			ok = p.visit(child) && ok
		}
	}
	p.path = p.path[:len(p.path)-1]
	b.state, b.sound = 2, ok
	if ok {
		p.fill(i)
		p.nature(i)
		p.order = append(p.order, i)
		// Embeds within embeds multiply; what comes to this is a slip of the keys.
		if !(b.massG <= maxPieceG) || !(b.volML <= maxPieceG) {
			b.sound = false
			wrong(fault.Invalidf("part", "With all that is embedded in it, one piece of %s comes to more than %s kg: check how many of each embed it takes.",
				fault.Ref{Kind: "design", ID: d.ID}, quantity.Number(maxPieceG/1000, 0)))
		}
	}
	return b.sound
}

// ring is the fault of a design that embeds itself. Its sentence names the way
// from the design back to it: lamp → glow → lamp.
func (p *plan) ring(field string, start int) *fault.Error {
	var names []any
	for _, i := range p.path[slices.Index(p.path, start):] {
		names = append(names, fault.Ref{Kind: "design", ID: p.s.Designs[i].ID})
	}
	way := strings.Repeat("%s → ", len(names))
	if len(names) > 12 {
		names = names[:11]
		way = strings.Repeat("%s → ", len(names)) + "… → "
	}
	names = append(names, fault.Ref{Kind: "design", ID: p.s.Designs[start].ID})
	return fault.Invalidf(field, "The design goes into itself: "+way+"%s. Take it out of one of them.", names...)
}

// title is what a finding calls a design.
func (d *Design) title() string { return called(d.Name, d.ID) }

func (b *Batter) title() string { return called(b.Name, b.ID) }

// noSuch is the fault of a field that names a record which is not there. It
// suggests the id that may have been meant.
func (p *plan) noSuch(field, kind, id string, known map[string]int) *fault.Error {
	no, near := "There is no "+kind+" %s", ""
	// It suggests for the first faults only: a file may hold thousands, and nobody
	// reads so many.
	if len(known) == 0 || len(known) > 1000 || len(p.faults) > 20 {
		return fault.NotFoundf(field, no+".", fault.Ref{Kind: kind, ID: id})
	}
	names := make([]string, 0, len(known))
	for name := range known {
		names = append(names, name)
	}
	slices.Sort(names)
	if near = words.Nearest(id, names); near != "" {
		no += ". Did you mean %s?"
	} else {
		no, near = no+": give one that is there, such as %s.", names[0]
	}
	return fault.NotFoundf(field, no, fault.Ref{Kind: kind, ID: id}, fault.Ref{Kind: kind, ID: near})
}

// portion is the index of a batter's portion, without regard to case; -1 for none.
func (p *plan) portion(batter int, name string) int {
	return slices.IndexFunc(p.s.Batters[batter].Portions, func(q Portion) bool { return strings.EqualFold(q.Name, name) })
}

// fill stacks the parts of a sound design in one cavity.
//
// What lies in a level part is what embeds have sunk into it, listed after it and
// before the next level part, and what of the embeds listed before it, and after
// the level part before, is covered by it. So an embed stands in the list after
// the pour that it sinks into and before the one that covers it. To whichever of
// level, volume or mass the part is set, its level rises by its own volume and
// by all of that.
func (p *plan) fill(i int) {
	d, b := &p.s.Designs[i], &p.built[i]
	b.cavity, b.bars = p.volumes[b.mould].Value, p.s.Moulds[b.mould].Bars()
	last, covered := -1, 0.0
	var coverer int // the last embed that waits to be covered
	for k := range d.Parts {
		part, bp := &d.Parts[k], &b.parts[k]
		switch {
		case part.Kind.Level():
			bp.displaced += covered
			last, covered = k, 0
		case part.Kind == Embed:
			child := &p.built[bp.child]
			one := float64(child.bars)
			bp.count = part.Count.V
			bp.volML, bp.massG = bp.count*child.volML/one, bp.count*child.massG/one
			p.embedSize(i, k)
			if sunk := bp.volML * part.SunkPct / 100; sunk > 0 {
				if last < 0 {
					p.say(i, k, p.sunkInNothing(d, k, part.SunkPct, sunk))
				} else {
					b.parts[last].displaced += sunk
				}
			}
			if part.CoveredPct > 0 {
				covered += bp.volML * part.CoveredPct / 100
				coverer = k
			}
		}
	}
	if covered > 0 {
		p.say(i, coverer, p.coveredByNothing(d, coverer, covered))
	}
	level, over := 0.0, false
	for k := range d.Parts {
		part, bp := &d.Parts[k], &b.parts[k]
		bp.from = level
		var density float64
		if bp.batter >= 0 {
			density = p.s.Batters[bp.batter].DensityGML
		}
		switch {
		case part.Kind.Level() && part.FillToPct.Known:
			to := part.FillToPct.V / 100 * b.cavity
			bp.volML = to - level - bp.displaced
			switch {
			case to < level-fuzz*b.cavity:
				p.say(i, k, p.levelFalls(d, k, 100*level/b.cavity))
				bp.volML = 0
			case bp.volML < -fuzz*b.cavity:
				p.say(i, k, p.embedOverFill(d, k, bp.displaced, to-level))
				bp.volML = 0
			case bp.volML <= fuzz*b.cavity:
				p.say(i, k, p.partEmpty(d, k, part.FillToPct.V))
				bp.volML = math.Max(bp.volML, 0)
			}
			bp.massG = bp.volML * density
		case part.Kind.Batter():
			if part.MassG.Known {
				bp.massG, bp.volML = part.MassG.V, part.MassG.V/density
			} else {
				bp.volML, bp.massG = part.VolumeML.V, part.VolumeML.V*density
			}
		case part.Kind.Item():
			bp.count, bp.massG = part.Count.Or(0), part.MassG.Or(0)
		}
		if part.Kind.Level() {
			level += bp.volML + bp.displaced
			if level > b.cavity*(1+fuzz) && !over {
				over = true
				p.say(i, k, p.overFull(d, k, 100*level/b.cavity, level-b.cavity))
			}
		}
		bp.to = level
		if part.Kind != Wrap {
			b.massG += bp.massG
			b.volML += bp.volML
			b.soldG += p.sold(part, bp)
		}
	}
}

// sold is the mass of a part of one cavity when it is sold, g.
func (p *plan) sold(part *Part, bp *builtPart) float64 {
	switch {
	case part.Kind.Batter():
		return bp.massG * p.s.Batters[bp.batter].CuredShare.Or(1)
	case part.Kind == Embed:
		child := &p.built[bp.child]
		return bp.count * child.soldG / float64(child.bars)
	}
	return bp.massG
}

// load is how often each design is made.
type load struct {
	wanted, embeds, stock, net, cavities []int
	far                                  []int
}

// demand goes from what was asked for down to every embed: an embed's own parts
// are needed for what of it is made, after what is at hand. It is false where
// the numbers run away.
func (p *plan) demand(wants []wanted, o Options) (load, bool) {
	n := len(p.built)
	all := make([]int, 6*n)
	l := load{wanted: all[:n], embeds: all[n : 2*n], stock: all[2*n : 3*n], net: all[3*n : 4*n], cavities: all[4*n : 5*n], far: all[5*n:]}
	for _, w := range wants {
		l.wanted[w.design] += w.pieces
		if l.wanted[w.design] > maxMade {
			return l, false
		}
	}
	for _, i := range slices.Backward(p.order) {
		b := &p.built[i]
		if l.embeds[i] > 0 {
			l.stock[i] = min(max(o.Stock[p.s.Designs[i].ID], 0), l.embeds[i])
		}
		l.net[i] = l.wanted[i] + l.embeds[i] - l.stock[i]
		l.cavities[i] = (l.net[i] + b.bars - 1) / b.bars
		for k := range b.parts {
			c := b.parts[k].child
			if c < 0 {
				continue
			}
			l.embeds[c] += l.cavities[i] * int(b.parts[k].count)
			l.far[c] = max(l.far[c], l.far[i]+1)
			if l.embeds[c] > maxMade {
				return l, false
			}
		}
	}
	return l, true
}

// wanted is a Want whose design was found.
type wanted struct{ design, pieces int }

// look finds what was asked for and works it out.
func (p *plan) look(wants []Want) []wanted {
	var out []wanted
	if len(wants) == 0 {
		p.faults.Add(fault.Invalidf("pieces", "Nothing is asked for: name a design, and how many pieces of it."))
	}
	for _, w := range wants {
		if w.Pieces < 1 || w.Pieces > maxPieces {
			p.faults.Add(fault.Invalidf("pieces", "%d pieces cannot be made: give 1 to %s.", w.Pieces, quantity.Number(maxPieces, 0)))
		}
		i, ok := p.designs[w.Design]
		if !ok {
			p.faults.Add(p.noSuch("design", "design", w.Design, p.designs))
			continue
		}
		if p.visit(i) {
			out = append(out, wanted{i, w.Pieces})
		}
	}
	return out
}

// One takes the pieces of one cavity of a design apart: one piece, or a block
// with all that is cut from it. The Need's piece of the design comes with it.
//
// Errors: what Explode gives.
func One(s *Set, design string, o Options) (*Need, *PieceNeed, error) {
	pieces := 1
	if d := s.Design(design); d != nil {
		if m := s.Mould(d.Mould); m != nil {
			pieces = max(m.Bars(), 1)
		}
	}
	n, err := Explode(s, []Want{{design, pieces}}, o)
	if err != nil {
		return nil, nil, err
	}
	return n, n.Piece(design), nil
}

// Explode takes finished pieces apart into everything that they need: the
// cavities to fill, every batch of batter, the embeds that must be made before,
// what is strewn and wrapped, and the order of pouring.
//
// A level part's volume is (level − level before) · cavity − what embeds displace
// in it; a part set by volume or mass raises the level by its volume and by what
// embeds take in it. An embed's sunk share lies in the nearest pour or topping
// listed before it, whose volume it lessens or whose level it lifts; its covered
// share lies in the next one listed after it. The rest of it stands proud: it
// raises no level and counts against no limit. Its volume and mass are the sums
// of its own parts, sprinkles in, wraps not. Piping lies above the cavity.
//
// One batch of each formula serves the whole run: the mass of its parts over
// every design reached · (1 + overage) + what stays in the pot, the last two
// parted over its vessels by mass; colourants come on top. What is at hand
// (Options.Stock) is taken as embeds before any are made, and an embed's own
// embeds are needed only for those that are made. Of a mould with a cutting plan
// whole cavities are poured; what that gives beyond what was asked for is said in
// a finding.
//
// Pours: embeds before what takes them; among those of one day a design's own
// order holds, and across designs thin batters come before thick ones, and in one
// stage measured (sculpted) cavities before plain ones.
//
// Errors, all at once: fault.NotFound for a design, mould, formula or portion
// that is not there; fault.Invalid for what Set.Validate refuses in what is
// reached, for a design that goes into itself, for fewer than 1 or more than
// 1 000 000 pieces, on "overage_pct" outside 0 to 100, and on "stock" below 0.
// What cannot be built (levels that fall or run over, embeds that displace more
// than the fill that they lie in, embeds larger than their cavity) is no error but
// a finding that says stop; such a part's volume is then 0, not less.
func Explode(s *Set, wants []Want, o Options) (*Need, error) {
	p := newPlan(s)
	p.faces = o.Faces
	p.faults = append(p.faults, o.Validate()...)
	found := p.look(wants)
	if err := p.refused(); err != nil {
		return nil, err
	}
	return p.need(wants, found, o)
}

// refused gives the faults, those of doubled ids included.
func (p *plan) refused() error { return append(p.doubled, p.faults...).Err() }

// need is what was found, taken apart.
func (p *plan) need(wants []Want, found []wanted, o Options) (*Need, error) {
	l, ok := p.demand(found, o)
	if !ok {
		return nil, fault.Invalidf("pieces", "Taken apart, that would be more than %s pieces of one design: ask for fewer.", quantity.Number(maxMade, 0))
	}
	n := &Need{Wants: slices.Clone(wants)}
	// Embeds first: the longer the way from what was asked for, the earlier.
	making := slices.Clone(p.order)
	slices.SortStableFunc(making, func(a, b int) int { return cmp.Compare(l.far[b], l.far[a]) })
	p.pieces(n, making, l)
	p.embeds(n, making, l)
	p.pours(n, making, l)
	p.batches(n, making, l, o)
	p.items(n, making, l)
	p.judge(n, making, found, l)
	return n, nil
}

// pieces writes the cavities and the pieces.
func (p *plan) pieces(n *Need, making []int, l load) {
	needed := make([]int, len(p.s.Moulds))
	var moulds []int
	total := 0
	for _, i := range making {
		total += len(p.built[i].parts)
	}
	parts := make([]PartNeed, 0, total)
	n.Pieces = make([]PieceNeed, 0, len(making))
	for _, i := range making {
		d, b := &p.s.Designs[i], &p.built[i]
		if c := l.cavities[i]; c > 0 {
			if needed[b.mould] == 0 {
				moulds = append(moulds, b.mould)
			}
			needed[b.mould] += c
		}
		per, from := float64(b.bars), len(parts)
		for k := range d.Parts {
			part, bp := &d.Parts[k], &b.parts[k]
			q := PartNeed{Part: k + 1, Kind: part.Kind, Formula: part.Formula, Portion: part.Portion,
				VolumeML: bp.volML / per, MassG: bp.massG / per, Count: bp.count / per,
				FromPct: 100 * bp.from / b.cavity, ToPct: 100 * bp.to / b.cavity, DisplacedML: bp.displaced}
			if part.Kind == Wrap {
				q.MassG, q.Count = bp.massG, bp.count
			}
			parts = append(parts, q)
		}
		n.Pieces = append(n.Pieces, PieceNeed{Design: d.ID, Gross: l.wanted[i] + l.embeds[i], Net: l.net[i], Cavities: l.cavities[i],
			PieceG: b.massG / per, SoldG: b.soldG / per, VolumeML: b.volML / per, Parts: parts[from:len(parts):len(parts)]})
	}
	for _, m := range moulds {
		n.Cavities = append(n.Cavities, CavityNeed{Mould: p.s.Moulds[m].ID, VolumeML: p.volumes[m].Value, Needed: needed[m],
			Rounds: p.s.Moulds[m].Rounds(needed[m])})
	}
}

// embeds writes one run of each embed, and for whom.
func (p *plan) embeds(n *Need, making []int, l load) {
	at := make(map[int]int, len(making))
	for _, i := range making {
		if l.embeds[i] > 0 {
			at[i] = len(n.Embeds)
			n.Embeds = append(n.Embeds, EmbedNeed{Design: p.s.Designs[i].ID, Gross: l.embeds[i], Stock: l.stock[i], Pieces: l.embeds[i] - l.stock[i]})
		}
	}
	for _, i := range making {
		if l.cavities[i] == 0 {
			continue
		}
		for k := range p.built[i].parts {
			bp := &p.built[i].parts[k]
			if bp.child < 0 {
				continue
			}
			e := &n.Embeds[at[bp.child]]
			count := l.cavities[i] * int(bp.count)
			if last := len(e.For) - 1; last >= 0 && e.For[last].Design == p.s.Designs[i].ID {
				e.For[last].Pieces += count
				continue
			}
			e.For = append(e.For, Want{p.s.Designs[i].ID, count})
		}
	}
}

// stage is how thick the batter of a part must be: its own word, else that of
// its portion, else that of its formula.
func (p *plan) stage(part *Part, bp *builtPart) formula.Stage {
	if part.Stage != formula.AnyStage {
		return part.Stage
	}
	return p.vesselStage(bp.batter, part.Portion)
}

func (p *plan) vesselStage(batter int, portion string) formula.Stage {
	b := &p.s.Batters[batter]
	if portion != "" {
		if s := b.Portions[p.portion(batter, portion)].Stage; s != formula.AnyStage {
			return s
		}
	}
	return b.Stage
}

// pours writes the pour order.
func (p *plan) pours(n *Need, making []int, l load) {
	type queue struct{ design, next int }
	skip := func(q *queue) bool { // to the next part that is poured; false when there is none
		parts := p.s.Designs[q.design].Parts
		for q.next < len(parts) && !parts[q.next].Kind.Batter() {
			q.next++
		}
		return q.next < len(parts)
	}
	total := 0
	for _, i := range making {
		total += len(p.built[i].parts)
	}
	n.Pours = make([]PourStep, 0, total)
	var day []queue
	for at := 0; at < len(making); {
		far := l.far[making[at]]
		day = day[:0]
		for ; at < len(making) && l.far[making[at]] == far; at++ {
			q := queue{design: making[at]}
			if l.cavities[making[at]] > 0 && skip(&q) {
				day = append(day, q)
			}
		}
		lastBatter, lastPortion := -1, ""
		for len(day) > 0 {
			best, bestRank := 0, math.MaxInt
			for k := range day {
				part, bp := &p.s.Designs[day[k].design].Parts[day[k].next], &p.built[day[k].design].parts[day[k].next]
				// A stage that nobody named is poured as thin.
				rank := 4 * int(max(p.stage(part, bp), formula.ThinTrace))
				if p.s.Moulds[p.built[day[k].design].mould].Shape != mould.Measured {
					rank += 2
				}
				// The vessel in the hand is emptied first.
				if bp.batter != lastBatter || !strings.EqualFold(part.Portion, lastPortion) {
					rank++
				}
				if rank < bestRank {
					best, bestRank = k, rank
				}
			}
			q := &day[best]
			d, b := &p.s.Designs[q.design], &p.built[q.design]
			part, bp := &d.Parts[q.next], &b.parts[q.next]
			step := PourStep{Design: d.ID, Part: q.next + 1, Kind: part.Kind, Formula: part.Formula, Portion: part.Portion,
				Stage: p.stage(part, bp), Mould: d.Mould, Cavities: l.cavities[q.design], EachG: bp.massG, EachML: bp.volML,
				TotalG: bp.massG * float64(l.cavities[q.design]), Wait: part.Wait}
			if part.Kind.Level() {
				step.ToPct = quantity.Some(100 * bp.to / b.cavity)
			}
			n.Pours = append(n.Pours, step)
			lastBatter, lastPortion = bp.batter, part.Portion
			q.next++
			if !skip(q) {
				day = slices.Delete(day, best, best+1)
			}
		}
	}
}

// batches writes one batch of each formula, with its vessels in pour order.
func (p *plan) batches(n *Need, making []int, l load, o Options) {
	at := make([]int, len(p.s.Batters)) // place in n.Batches, from 1
	for k := range n.Pours {
		step := &n.Pours[k]
		if !(step.TotalG > 0) {
			continue
		}
		f := p.batters[step.Formula]
		if at[f] == 0 {
			n.Batches = append(n.Batches, BatchNeed{Formula: step.Formula})
			at[f] = len(n.Batches)
		}
		b := &n.Batches[at[f]-1]
		b.PartsG += step.TotalG
		v := slices.IndexFunc(b.Vessels, func(v VesselNeed) bool { return strings.EqualFold(v.Portion, step.Portion) })
		if v < 0 {
			v = len(b.Vessels)
			b.Vessels = append(b.Vessels, VesselNeed{Portion: step.Portion, Stage: p.vesselStage(f, step.Portion)})
		}
		b.Vessels[v].BatterG += step.TotalG
	}
	for k := range n.Batches {
		b := &n.Batches[k]
		f := p.batters[b.Formula]
		batter := &p.s.Batters[f]
		b.OverageG, b.PotLossG = b.PartsG*o.OveragePct/100, batter.PotLossG
		b.MassG = b.PartsG + b.OverageG + b.PotLossG
		b.VolumeML = b.MassG / batter.DensityGML
		for j := range b.Vessels {
			v := &b.Vessels[j]
			v.BatterG *= b.MassG / b.PartsG
			v.VolumeML = v.BatterG / batter.DensityGML
			v.MassG = v.BatterG
			if v.Portion == "" {
				continue
			}
			for _, c := range batter.Portions[p.portion(f, v.Portion)].Colourants {
				g := c.GPerKg * v.BatterG / 1000
				v.Colourants = append(v.Colourants, DoseNeed{ID: c.ID, Name: c.Name, MassG: g, Typed: c.Typed})
				v.MassG += g
			}
		}
	}
}

// items writes what is strewn and wrapped. Sprinkles are of a cavity, wraps of a
// piece that was asked for.
func (p *plan) items(n *Need, making []int, l load) {
	type key struct {
		item string
		wrap bool
	}
	at := map[key]int{}
	for _, i := range making {
		if l.net[i] == 0 {
			continue
		}
		for k := range p.s.Designs[i].Parts {
			part, bp := &p.s.Designs[i].Parts[k], &p.built[i].parts[k]
			if !part.Kind.Item() {
				continue
			}
			times := float64(l.cavities[i])
			if part.Kind == Wrap {
				times = float64(l.net[i])
			}
			id := key{part.Item, part.Kind == Wrap}
			if _, ok := at[id]; !ok {
				at[id] = len(n.Items)
				n.Items = append(n.Items, ItemNeed{Item: part.Item, Wrap: id.wrap})
			}
			n.Items[at[id]].MassG += times * bp.massG
			n.Items[at[id]].Count += times * bp.count
		}
	}
}
