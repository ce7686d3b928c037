package fit

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"barwright/fault"
	"barwright/quantity"
)

// Bounds on what is taken for one studio's bench.
const (
	maxList     = 60 // moulds, designs or formulas
	maxSets     = 200
	maxCavities = 1000
	maxBars     = 2000
	maxWish     = 100_000
	maxMore     = 50
	maxRounds   = 20
	maxG        = 1e6
	minG        = 1e-3
	maxRange    = 20.0 // how many times the smallest pot the largest may be
	maxSizes    = 500
	maxBatches  = 200 // of one formula
	maxName     = 200
)

const (
	// defaultBatchPct is what a batch must save when the maker does not say, % of
	// the largest pot. To weigh, mix and wash up once more costs a maker about an
	// hour, for which a few grams less left over are no fair price: common practice,
	// no source; that it is worth a quarter of a pot is assumed.
	defaultBatchPct = 25.0
	// defaultBeyondG is what a piece beyond the wish counts when the maker does not
	// say, g: assumed, and only enough to part plans that are otherwise alike.
	defaultBeyondG = 1.0
	// defaultNodes bound the search when the caller does not: some tenth of a
	// second.
	defaultNodes = 200_000
	maxNodes     = 50_000_000
)

// Mould is a kind of mould that the studio owns.
type Mould struct {
	ID, Name string
	Sets     int // owned, 1 to 200
	Cavities int // in one set, 1 to 1000
	Bars     int // pieces from one cavity, 1 to 2000: above 1 where a block is cut
}

// Formula is a batter.
type Formula struct {
	ID, Name string
	LossG    float64 // stays in the pot, once per batch; at least 0
}

// Pour is how much batter of a formula one cavity takes, overage not counted.
type Pour struct {
	Formula string
	G       float64 // above 0
}

// Design is a piece that is wished for.
type Design struct {
	ID, Name string
	Mould    string
	Wish     int // pieces, at least 0
	// MoreSets is how many sets beyond those that the wish takes may be filled, if
	// that uses up batter: at least 0.
	MoreSets int
	Pours    []Pour // of one cavity, each formula once
}

// Pot is how large a batch may be: batter as made, g. Every batch of a plan has
// the one size. With neither a step nor sizes any size from MinG to MaxG will do.
type Pot struct {
	MinG, MaxG float64   // the least that stirs, and what the pot takes
	StepG      float64   // above 0: whole multiples of it only
	SizesG     []float64 // if any: only these; then MinG, MaxG and StepG stay 0
}

// Problem is what is to be fitted. The zero values of Rounds, BatchG,
// BeyondG, MissedG and Nodes stand for their defaults.
type Problem struct {
	Moulds     []Mould
	Formulas   []Formula
	Designs    []Design
	Pot        Pot
	OveragePct float64 // added to what the cavities take, %, in [0, 100]
	Rounds     int     // how often every set may be filled; 0 is once
	// BatchG is what a batch more must save to be worth it, g; unknown is 25 % of
	// the largest pot (assumed).
	BatchG quantity.Maybe
	// BeyondG is what a piece that nobody asked for counts against batter left
	// over, g; unknown is 1 g (assumed).
	BeyondG quantity.Maybe
	// MissedG is what a missed piece counts, g. Unknown, a wish outranks any batter.
	MissedG quantity.Maybe
	// Nodes bounds the search; 0 is 200 000.
	Nodes int
	// Unit and DivisionG are the face of masses in sentences: a division of 0
	// shows a decimal.
	Unit      quantity.MassUnit
	DivisionG float64
}

// Plan is what Solve proposes.
type Plan struct {
	PotG    float64 // every batch
	Batches []Batch // of the formulas that are needed, in the order of the problem
	Fills   []Fill  // one for every design, in the order of the problem
	Missed  int     // pieces wished and not made
	Beyond  int     // pieces made and not wished
	Count   int     // batches
	LeftG   float64 // over, in all
	StaysG  float64 // stays in the pots, in all
	// ScoreG is what the plan was chosen by: see the package's equations.
	ScoreG float64
	// BoundG is a score that no plan with as few pieces missed can be below: ScoreG
	// when Proved.
	BoundG float64
	// Proved says that no plan is better; false when the search came to its bound
	// of nodes first.
	Proved bool
	Nodes  int // searched
	// Traded says in sentences what was given for what, and what more room would
	// change.
	Traded []string
}

// Batch is the batches of one formula, all of Plan.PotG.
type Batch struct {
	Formula  string
	Count    int
	MassG    float64 // of all: NeedG, OverageG, StaysG and LeftG
	NeedG    float64 // what the cavities take
	OverageG float64
	StaysG   float64 // in the pots
	LeftG    float64 // over
}

// Fill is what is filled of one design.
type Fill struct {
	Design, Mould        string
	Sets, Cavities       int
	Pieces               int
	Wish, Missed, Beyond int
}

// Validate gives everything that is wrong with p, by field: moulds[0].sets,
// designs[2].pours[0].g, pot.max_g … An empty list means that Solve answers.
func (p Problem) Validate() fault.List {
	var l fault.List
	lists := func(field, what string, n int) {
		switch {
		case n == 0:
			l.Add(fault.Invalidf(field, "There are no %s: add at least one.", what))
		case n > maxList:
			l.Add(fault.Invalidf(field, "%d %s are more than one bench is planned for: keep it to %d.", n, what, maxList))
		}
	}
	lists("moulds", "moulds", len(p.Moulds))
	lists("formulas", "formulas", len(p.Formulas))
	lists("designs", "designs", len(p.Designs))
	if len(p.Moulds) > maxList || len(p.Formulas) > maxList || len(p.Designs) > maxList {
		return l
	}
	before := len(l)
	id := func(at, what, id, name string, seen map[string]bool) {
		switch {
		case strings.TrimSpace(id) == "":
			l.Add(fault.Invalidf(at+".id", "This %s has no id: give it one.", what))
		case seen[id]:
			l.Add(fault.Invalidf(at+".id", "%s is given twice among the %ss: leave one out.", fault.Ref{Kind: what, ID: id}, what))
		case utf8.RuneCountInString(id) > maxName || utf8.RuneCountInString(name) > maxName:
			l.Add(fault.Invalidf(at+".name", "The name of this %s is too long: keep it to %d letters.", what, maxName))
		}
		seen[id] = true
	}
	count := func(field, what string, n, least, most int) {
		if n < least || n > most {
			l.Add(fault.Invalidf(field, "%d cannot be the number of %s: write %d to %d.", n, what, least, most))
		}
	}
	amount := func(field, what string, g, least float64) {
		switch {
		case !quantity.Finite(g):
			l.Add(fault.Invalidf(field, "%s is not a number: write grams.", what))
		case g < least || g > maxG:
			l.Add(fault.Invalidf(field, "%s cannot be %s g: write %s to %s.", what, quantity.Number(g, 3), strconv.FormatFloat(least, 'g', -1, 64), quantity.Number(maxG, 0)))
		}
	}

	moulds, formulas, designs := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for i, m := range p.Moulds {
		at := at("moulds", i)
		id(at, "mould", m.ID, m.Name, moulds)
		count(at+".sets", "sets owned", m.Sets, 1, maxSets)
		if m.Sets <= maxSets && p.Rounds <= maxRounds && m.Sets*p.Rounds > maxSets {
			l.Add(fault.Invalidf("rounds", "%d rounds of %d sets of %s are more than one plan takes: keep it to %d sets filled in all.", p.Rounds, m.Sets, fault.Ref{Kind: "mould", ID: m.ID}, maxSets))
		}
		count(at+".cavities", "cavities in a set", m.Cavities, 1, maxCavities)
		count(at+".bars", "pieces from a cavity", m.Bars, 1, maxBars)
	}
	for i, f := range p.Formulas {
		at := at("formulas", i)
		id(at, "formula", f.ID, f.Name, formulas)
		amount(at+".loss_g", "What stays in the pot", f.LossG, 0)
	}
	wished := 0
	for i, d := range p.Designs {
		at := at("designs", i)
		id(at, "design", d.ID, d.Name, designs)
		if !moulds[d.Mould] {
			l.Add(fault.Invalidf(at+".mould", "%s is none of the moulds: choose one that is owned.", fault.Ref{Kind: "mould", ID: d.Mould}))
		}
		count(at+".wish", "pieces wished", d.Wish, 0, maxWish)
		count(at+".more_sets", "sets beyond the wish", d.MoreSets, 0, maxMore)
		wished += min(max(d.Wish, 0), maxWish)
		if len(d.Pours) == 0 {
			l.Add(fault.Invalidf(at+".pours", "%s takes no batter: say of which formula how much goes into a cavity.", fault.Ref{Kind: "design", ID: d.ID}))
		}
		if len(d.Pours) > maxList {
			l.Add(fault.Invalidf(at+".pours", "%d batters in one cavity are too many: keep it to %d.", len(d.Pours), maxList))
			continue
		}
		seen := map[string]bool{}
		for j, q := range d.Pours {
			at := at + ".pours[" + strconv.Itoa(j) + "]"
			switch {
			case !formulas[q.Formula]:
				l.Add(fault.Invalidf(at+".formula", "%s is none of the formulas: choose one of them.", fault.Ref{Kind: "formula", ID: q.Formula}))
			case seen[q.Formula]:
				l.Add(fault.Invalidf(at+".formula", "%s is given twice in this design: add the two amounts up.", fault.Ref{Kind: "formula", ID: q.Formula}))
			}
			seen[q.Formula] = true
			amount(at+".g", "The batter in a cavity", q.G, minG)
		}
	}
	if len(p.Designs) > 0 && wished == 0 && len(l) == before {
		l.Add(fault.Invalidf("designs", "Nothing is wished for: write how many pieces of at least one design."))
	}
	if !(p.OveragePct >= 0 && p.OveragePct <= 100) {
		l.Add(fault.Invalidf("overage_pct", "The overage (%s) is outside 0 to 100 %%: write a number in that range.", quantity.Percent(p.OveragePct, 1)))
	}
	count("rounds", "rounds", p.Rounds, 0, maxRounds)
	count("nodes", "nodes", p.Nodes, 0, maxNodes)
	if p.BatchG.Known {
		amount("batch_g", "What a batch must save", p.BatchG.V, 0)
	}
	if p.BeyondG.Known {
		amount("beyond_g", "What a piece beyond the wish counts", p.BeyondG.V, 0)
	}
	if p.MissedG.Known {
		amount("missed_g", "What a missed piece counts", p.MissedG.V, 0)
	}
	if !(p.DivisionG >= 0 && p.DivisionG <= maxG) {
		l.Add(fault.Invalidf("division_g", "A scale cannot have a division of %s g: write 0 or more.", quantity.Number(p.DivisionG, 3)))
	}
	if int(p.Unit) > int(quantity.PoundOunce) {
		l.Add(fault.Invalidf("unit", "Unit %d is not one that masses are shown in.", p.Unit))
	}
	p.checkPot(&l, amount)
	if len(l) > 0 {
		return l
	}
	// A pot that is tiny beside the wish would make the search long and the plan
	// of no use to anybody.
	s := newSearch(&p)
	for f, most := range s.mostNeed() {
		if n := math.Ceil(most / (s.potMax - s.loss[f])); n > maxBatches {
			l.Add(fault.Invalidf("pot.max_g", "%s would take up to %s batches in pots of %s: use a larger pot, or wish for less.", fault.Ref{Kind: "formula", ID: p.Formulas[f].ID}, quantity.Number(n, 0), p.mass(s.potMax)))
		}
	}
	return l
}

func (p *Problem) checkPot(l *fault.List, amount func(field, what string, g, least float64)) {
	before := len(*l)
	most, least, leastField := p.Pot.MaxG, p.Pot.MinG, "pot.min_g"
	switch sizes := p.Pot.SizesG; {
	case len(sizes) > maxSizes:
		l.Add(fault.Invalidf("pot.sizes_g", "%d sizes of pot are more than can be tried: keep it to %d.", len(sizes), maxSizes))
	case len(sizes) > 0:
		leastField = "pot.sizes_g"
		if p.Pot.MinG != 0 || p.Pot.MaxG != 0 || p.Pot.StepG != 0 {
			l.Add(fault.Invalidf("pot.sizes_g", "Sizes are given beside a smallest, a largest or a step: give the one or the other."))
		}
		least, most = math.Inf(1), 0
		for _, g := range sizes {
			amount("pot.sizes_g", "A size of pot", g, 1)
			least, most = min(least, g), max(most, g)
		}
	default:
		amount("pot.max_g", "What the pot takes", most, 1)
		amount("pot.min_g", "The least that stirs", least, 1)
		amount("pot.step_g", "The step between sizes", p.Pot.StepG, 0)
	}
	if len(*l) > before {
		return
	}
	switch {
	case least > most:
		l.Add(fault.Invalidf("pot.min_g", "The least that stirs, %s, is more than the pot takes, %s: check both.", p.mass(least), p.mass(most)))
		return
	case most > maxRange*least:
		l.Add(fault.Invalidf(leastField, "Pots from %s to %s are too far apart to be one pot: keep the largest to %.0f times the smallest.", p.mass(least), p.mass(most), maxRange))
		return
	}
	if step := p.Pot.StepG; step > 0 && len(p.Pot.SizesG) == 0 {
		first, last := math.Ceil(least/step-1e-9), math.Floor(most/step+1e-9)
		if n := last - first + 1; n < 1 || n > maxSizes {
			l.Add(fault.Invalidf("pot.step_g", "Steps of %s give %s sizes from %s to %s: choose a step that gives 1 to %d.", p.mass(step), quantity.Number(n, 0), p.mass(least), p.mass(most), maxSizes))
		}
	}
	for i, f := range p.Formulas {
		// A pot of which nothing can be poured makes no batch, however many.
		if f.LossG > 0.5*least {
			l.Add(fault.Invalidf(at("formulas", i)+".loss_g", "%s of %s stays in a pot of %s, which is more than half of it: check the loss, or use a larger smallest pot.", p.mass(f.LossG), fault.Ref{Kind: "formula", ID: f.ID}, p.mass(least)))
		}
	}
}

func at(list string, i int) string { return list + "[" + strconv.Itoa(i) + "]" }

// name is what a sentence calls a thing: its name, else its id.
func name(name, id string) string {
	if strings.TrimSpace(name) == "" {
		return id
	}
	return name
}

func (p *Problem) mass(g float64) string { return quantity.Mass(g, p.Unit, p.DivisionG) }
