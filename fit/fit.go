package fit

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"barwright/fault"
	"barwright/quantity"
)

// Limits on what is accepted for one studio.
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
	maxRange    = 20.0 // how many times larger than the smallest pot the largest may be
	maxSizes    = 500
	maxBatches  = 200 // of one formula
	maxName     = 200
)

const (
	// defaultBatchPct is what a batch must save if the maker does not say, as %
	// of the largest pot. Weighing, mixing and washing up once more costs a maker
	// about an hour, and saving a few grams is not worth that. This is common
	// practice without a source. That the hour is worth a quarter of a pot is
	// assumed.
	defaultBatchPct = 25.0
	// defaultBeyondG is how much a piece beyond the wish counts if the maker does
	// not say, g. It is assumed, and only large enough to decide between plans that
	// are otherwise alike.
	defaultBeyondG = 1.0
	// defaultNodes limits the search if the caller does not, to about a tenth of a
	// second.
	defaultNodes = 200_000
	maxNodes     = 50_000_000
)

// Mould is a kind of mould that the studio owns.
type Mould struct {
	ID, Name string
	Sets     int // owned, 1 to 200
	Cavities int // in one set, 1 to 1000
	Bars     int // pieces from one cavity, 1 to 2000; above 1 if a block is cut
}

// Formula is a batter.
type Formula struct {
	ID, Name string
	LossG    float64 // stays in the pot, once per batch; at least 0
}

// Pour is how much batter of a formula one cavity takes, without overage.
type Pour struct {
	Formula string
	G       float64 // above 0
}

// Design is a piece and how many of it are wished for.
type Design struct {
	ID, Name string
	Mould    string
	Wish     int // pieces, at least 0
	// MoreSets is how many sets may be filled beyond those that the wish takes,
	// if that uses up batter. It is at least 0.
	MoreSets int
	Pours    []Pour // of one cavity, each formula at most once
}

// Pot is how large a batch may be, as g of batter made. All batches of a plan
// have the same size. Without StepG and SizesG, any size from MinG to MaxG is
// allowed.
type Pot struct {
	MinG, MaxG float64   // the least that can be stirred, and the most that the pot holds
	StepG      float64   // if above 0: only whole multiples of it
	SizesG     []float64 // if any: only these sizes, and MinG, MaxG and StepG are 0
}

// Problem is what to fit. The zero values of Rounds, BatchG, BeyondG, MissedG and
// Nodes stand for their defaults.
type Problem struct {
	Moulds     []Mould
	Formulas   []Formula
	Designs    []Design
	Pot        Pot
	OveragePct float64 // added to what the cavities take, %, in [0, 100]
	Rounds     int     // how often every set may be filled; 0 means once
	// BatchG is what one more batch must save to be worth it, g. Unknown means 25
	// % of the largest pot (assumed).
	BatchG quantity.Maybe
	// BeyondG is how much a piece that nobody asked for counts against batter
	// left over, g. Unknown means 1 g (assumed).
	BeyondG quantity.Maybe
	// MissedG is how much a missed piece counts, g. If unknown, a wish outranks
	// any amount of batter.
	MissedG quantity.Maybe
	// Nodes limits the search; 0 means 200 000.
	Nodes int
	// Unit and DivisionG say how sentences show masses. A division of 0 shows one
	// decimal.
	Unit      quantity.MassUnit
	DivisionG float64
}

// Plan is what Solve proposes.
type Plan struct {
	PotG    float64 // size of every batch
	Batches []Batch // of the formulas that are needed, in the order of the problem
	Fills   []Fill  // one for every design, in the order of the problem
	Missed  int     // pieces wished and not made
	Beyond  int     // pieces made and not wished
	Count   int     // batches
	LeftG   float64 // over, in all
	StaysG  float64 // stays in the pots, in all
	// ScoreG is the score by which the plan was chosen; the package comment has
	// the equation.
	ScoreG float64
	// BoundG is a score that no plan with as few missed pieces can go below. It
	// equals ScoreG if Proved.
	BoundG float64
	// Proved says that no plan is better. It is false if the search reached its
	// limit of nodes first.
	Proved bool
	Nodes  int // searched
	// Traded says in sentences what was traded for what, and what more room would
	// change.
	Traded []string
}

// Batch is all batches of one formula, each of Plan.PotG.
type Batch struct {
	Formula  string
	Count    int
	MassG    float64 // of all batches: NeedG + OverageG + StaysG + LeftG
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

// Validate returns everything that is wrong with p, by field: moulds[0].sets,
// designs.3.pours.1.g, pot.max_g … If the list is empty, Solve finds a plan.
func (p Problem) Validate() fault.List {
	var c checks
	c.length("moulds", "moulds", len(p.Moulds))
	c.length("formulas", "formulas", len(p.Formulas))
	c.length("designs", "designs", len(p.Designs))
	if len(p.Moulds) > maxList || len(p.Formulas) > maxList || len(p.Designs) > maxList {
		return c.l
	}
	c.lists(&p)
	if !(p.OveragePct >= 0 && p.OveragePct <= 100) {
		c.add("overage_pct", "The overage (%s) is outside 0 to 100 %%: write a number in that range.", quantity.Percent(p.OveragePct, 1))
	}
	c.count("rounds", "rounds", p.Rounds, 0, maxRounds)
	c.count("nodes", "nodes", p.Nodes, 0, maxNodes)
	if p.BatchG.Known {
		c.amount("batch_g", "What a batch must save", p.BatchG.V, 0)
	}
	if p.BeyondG.Known {
		c.amount("beyond_g", "What a piece beyond the wish counts", p.BeyondG.V, 0)
	}
	if p.MissedG.Known {
		c.amount("missed_g", "What a missed piece counts", p.MissedG.V, 0)
	}
	if !(p.DivisionG >= 0 && p.DivisionG <= maxG) {
		c.add("division_g", "A scale cannot have a division of %s g: write 0 or more.", quantity.Number(p.DivisionG, 3))
	}
	if int(p.Unit) > int(quantity.PoundOunce) {
		c.add("unit", "Unit %d is not one that masses are shown in.", p.Unit)
	}
	c.pot(&p)
	if len(c.l) > 0 {
		return c.l
	}
	// With a pot that is tiny compared with the wish, the search would take long
	// and the plan would be of no use.
	s := newSearch(&p)
	for f, most := range s.mostNeed() {
		if n := math.Ceil(most / (s.potMax - s.loss[f])); n > maxBatches {
			c.add("pot.max_g", "%s would take up to %s batches in pots of %s: use a larger pot, or wish for less.",
				fault.Ref{Kind: "formula", ID: p.Formulas[f].ID}, quantity.Number(n, 0), p.mass(s.potMax))
		}
	}
	return c.l
}

// checks collects what is wrong with a problem.
type checks struct{ l fault.List }

func (c *checks) add(field, format string, args ...any) {
	c.l.Add(fault.Invalidf(field, format, args...))
}

// length checks that a list is neither empty nor too long.
func (c *checks) length(field, what string, n int) {
	switch {
	case n == 0:
		c.add(field, "There are no %s: add at least one.", what)
	case n > maxList:
		c.add(field, "%d %s are more than one bench is planned for: keep it to %d.", n, what, maxList)
	}
}

// id checks that an entry has an id that is not in seen yet, and adds it.
func (c *checks) id(at, what, id, name string, seen map[string]bool) {
	switch {
	case strings.TrimSpace(id) == "":
		c.add(at+".id", "This %s has no id: give it one.", what)
	case seen[id]:
		c.add(at+".id", "%s is given twice among the %ss: leave one out.", fault.Ref{Kind: what, ID: id}, what)
	case utf8.RuneCountInString(id) > maxName || utf8.RuneCountInString(name) > maxName:
		c.add(at+".name", "The name of this %s is too long: keep it to %d letters.", what, maxName)
	}
	seen[id] = true
}

// count checks that a number lies in [least, most].
func (c *checks) count(field, what string, n, least, most int) {
	if n < least || n > most {
		c.add(field, "%d cannot be the number of %s: write %d to %d.", n, what, least, most)
	}
}

// amount checks that a mass is a number of grams in [least, maxG].
func (c *checks) amount(field, what string, g, least float64) {
	switch {
	case !quantity.Finite(g):
		c.add(field, "%s is not a number: write grams.", what)
	case g < least || g > maxG:
		c.add(field, "%s cannot be %s g: write %s to %s.",
			what, quantity.Number(g, 3), strconv.FormatFloat(least, 'g', -1, 64), quantity.Number(maxG, 0))
	}
}

// lists checks the moulds, the formulas and the designs.
func (c *checks) lists(p *Problem) {
	before := len(c.l)
	moulds, formulas, designs := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for i, m := range p.Moulds {
		at := at("moulds", i)
		c.id(at, "mould", m.ID, m.Name, moulds)
		c.count(at+".sets", "sets owned", m.Sets, 1, maxSets)
		if m.Sets <= maxSets && p.Rounds <= maxRounds && m.Sets*p.Rounds > maxSets {
			c.add("rounds", "%d rounds of %d sets of %s are more than one plan takes: keep it to %d sets filled in all.",
				p.Rounds, m.Sets, fault.Ref{Kind: "mould", ID: m.ID}, maxSets)
		}
		c.count(at+".cavities", "cavities in a set", m.Cavities, 1, maxCavities)
		c.count(at+".bars", "pieces from a cavity", m.Bars, 1, maxBars)
	}
	for i, f := range p.Formulas {
		at := at("formulas", i)
		c.id(at, "formula", f.ID, f.Name, formulas)
		c.amount(at+".loss_g", "What stays in the pot", f.LossG, 0)
	}
	wished := 0
	for i, d := range p.Designs {
		at := at("designs", i)
		c.id(at, "design", d.ID, d.Name, designs)
		if !moulds[d.Mould] {
			c.add(at+".mould", "%s is none of the moulds: choose one that is owned.", fault.Ref{Kind: "mould", ID: d.Mould})
		}
		c.count(at+".wish", "pieces wished", d.Wish, 0, maxWish)
		c.count(at+".more_sets", "sets beyond the wish", d.MoreSets, 0, maxMore)
		wished += min(max(d.Wish, 0), maxWish)
		if len(d.Pours) == 0 {
			c.add(at+".pours", "%s takes no batter: say of which formula how much goes into a cavity.", fault.Ref{Kind: "design", ID: d.ID})
		}
		if len(d.Pours) > maxList {
			c.add(at+".pours", "%d batters in one cavity are too many: keep it to %d.", len(d.Pours), maxList)
			continue
		}
		seen := map[string]bool{}
		for j, q := range d.Pours {
			at := at + ".pours." + strconv.Itoa(j+1)
			switch {
			case !formulas[q.Formula]:
				c.add(at+".formula", "%s is none of the formulas: choose one of them.", fault.Ref{Kind: "formula", ID: q.Formula})
			case seen[q.Formula]:
				c.add(at+".formula", "%s is given twice in this design: add the two amounts up.", fault.Ref{Kind: "formula", ID: q.Formula})
			}
			seen[q.Formula] = true
			c.amount(at+".g", "The batter in a cavity", q.G, minG)
		}
	}
	if len(p.Designs) > 0 && wished == 0 && len(c.l) == before {
		c.add("designs", "Nothing is wished for: write how many pieces of at least one design.")
	}
}

// pot checks the sizes of pot, and that each formula can be poured from the smallest.
func (c *checks) pot(p *Problem) {
	before := len(c.l)
	most, least, leastField := p.Pot.MaxG, p.Pot.MinG, "pot.min_g"
	switch sizes := p.Pot.SizesG; {
	case len(sizes) > maxSizes:
		c.add("pot.sizes_g", "%d sizes of pot are more than can be tried: keep it to %d.", len(sizes), maxSizes)
	case len(sizes) > 0:
		leastField = "pot.sizes_g"
		if p.Pot.MinG != 0 || p.Pot.MaxG != 0 || p.Pot.StepG != 0 {
			c.add("pot.sizes_g", "Sizes are given beside a smallest, a largest or a step: give the one or the other.")
		}
		least, most = math.Inf(1), 0
		for _, g := range sizes {
			c.amount("pot.sizes_g", "A size of pot", g, 1)
			least, most = min(least, g), max(most, g)
		}
	default:
		c.amount("pot.max_g", "What the pot takes", most, 1)
		c.amount("pot.min_g", "The least that stirs", least, 1)
		c.amount("pot.step_g", "The step between sizes", p.Pot.StepG, 0)
	}
	if len(c.l) > before {
		return
	}
	switch {
	case least > most:
		c.add("pot.min_g", "The least that stirs, %s, is more than the pot takes, %s: check both.", p.mass(least), p.mass(most))
		return
	case most > maxRange*least:
		c.add(leastField, "Pots from %s to %s are too far apart to be one pot: keep the largest to %.0f times the smallest.",
			p.mass(least), p.mass(most), maxRange)
		return
	}
	if step := p.Pot.StepG; step > 0 && len(p.Pot.SizesG) == 0 {
		first, last := math.Ceil(least/step-1e-9), math.Floor(most/step+1e-9)
		if n := last - first + 1; n < 1 || n > maxSizes {
			c.add("pot.step_g", "Steps of %s give %s sizes from %s to %s: choose a step that gives 1 to %d.",
				p.mass(step), quantity.Number(n, 0), p.mass(least), p.mass(most), maxSizes)
		}
	}
	for i, f := range p.Formulas {
		// If nothing can be poured from the pot, no number of batches is enough.
		if f.LossG > 0.5*least {
			c.add(at("formulas", i)+".loss_g", "%s of %s stays in a pot of %s, which is more than half of it: check the loss, or use a larger smallest pot.",
				p.mass(f.LossG), fault.Ref{Kind: "formula", ID: f.ID}, p.mass(least))
		}
	}
}

// at is the path of entry i of a list, counted from 1.
func at(list string, i int) string { return list + "." + strconv.Itoa(i+1) }

// name is what a sentence calls a thing: its name, or else its id.
func name(name, id string) string {
	if strings.TrimSpace(name) == "" {
		return id
	}
	return name
}

func (p *Problem) mass(g float64) string { return quantity.Mass(g, p.Unit, p.DivisionG) }
