package design

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"barwright/fault"
	"barwright/formula"
	"barwright/internal/words"
	"barwright/quantity"
)

// Bounds on what is taken for a design on a kitchen-sized bench.
const (
	// MaxParts is how many parts a design has at most.
	MaxParts     = 100
	maxName      = 200
	maxNote      = 4000
	maxReminders = 20
	maxLevelPct  = 1000.0
	maxVolumeML  = 1e6
	maxMassG     = 1e6
	maxCount     = 10_000
	maxWaitMin   = 60 * 24 * 60.0
	maxDensity   = 20.0
	maxPotLossG  = 1e5
	// maxPieces bounds a run, so that a slip of the keys does not ask for a lake.
	maxPieces = 1_000_000
	// maxPieceG bounds one piece with all that is embedded in it, g and mL.
	maxPieceG = 1e9
	// maxMade bounds what a run may come to once it is taken apart.
	maxMade = 1_000_000_000
)

// checker collects the faults of one record.
type checker struct{ fault.List }

func (c *checker) addf(field, format string, args ...any) {
	c.Add(fault.Invalidf(field, format, args...))
}

// within gives the faults of one record of a set their place in it: entry i of
// a list.
func within(l fault.List, list string, i int, id string) fault.List {
	for _, e := range l {
		e.Within(list+"."+strconv.Itoa(i+1)+".", fault.Ref{Kind: list, ID: id})
	}
	return l
}

// partField names a field of a part, counted from 1: "part.2.fill_to_pct".
func partField(i int, key string) string { return "part." + strconv.Itoa(i+1) + "." + key }

// Validate gives everything that is wrong with the design by itself: name, note,
// mould, part, and for every part, counted from 1, part.N.kind, part.N.name,
// part.N.formula, part.N.portion, part.N.fill_to_pct, part.N.volume_ml,
// part.N.mass_g, part.N.count, part.N.design, part.N.sunk_pct,
// part.N.covered_pct, part.N.item, part.N.closed, part.N.stage,
// part.N.wait.minutes, part.N.wait.until, part.N.note, part.N.reminders. Ids are
// not looked up: that is Set.Validate. An empty name is not refused here: a file
// names a design by its id, a page by its name.
//
// With strict false, for a design that is still being typed, it passes a missing
// mould, a design without parts, and parts that still lack their kind, amount,
// formula, embed or item. Levels that fall or run over are findings, not faults.
func (d *Design) Validate(strict bool) fault.List {
	c := checker{}
	c.design(d, strict)
	return c.List
}

func (c *checker) design(d *Design, strict bool) {
	c.text("name", d.Name, "name", maxName, true)
	c.text("note", d.Note, "note", maxNote, false)
	if d.Mould == "" && strict {
		c.addf("mould", "The design names no mould: give the one that it is cast in.")
	}
	switch n := len(d.Parts); {
	case n == 0 && strict:
		c.addf("part", "The design has no parts: give it at least one, as a pour.")
	case n > MaxParts:
		c.addf("part", "The design has %d parts: keep it to %d.", n, MaxParts)
		return
	}
	for i := range d.Parts {
		c.part(i, &d.Parts[i], strict)
	}
}

func (c *checker) text(field, s, what string, limit int, line bool) {
	if n := utf8.RuneCountInString(s); n > limit {
		c.addf(field, "The %s is %d letters long: keep it to %d.", what, n, limit)
	}
	bad := func(r rune) bool { return unicode.IsControl(r) && (line || r != '\n' && r != '\r' && r != '\t') }
	if !utf8.ValidString(s) || strings.ContainsFunc(s, bad) {
		c.addf(field, "The %s holds a character that cannot be printed: type it again.", what)
	}
}

// amounts are the ways in which each kind says how much; a part has just one.
var amounts = [...][]string{
	Pour: {"fill_to_pct", "volume_ml", "mass_g"}, Topping: {"fill_to_pct", "volume_ml", "mass_g"},
	Embed: {"count"}, Piping: {"volume_ml", "mass_g"}, Sprinkle: {"mass_g", "count"}, Wrap: {"mass_g", "count"},
}

// amountField gives the amount by its name.
func (p *Part) amountField(name string) *quantity.Maybe {
	switch name {
	case "fill_to_pct":
		return &p.FillToPct
	case "volume_ml":
		return &p.VolumeML
	case "mass_g":
		return &p.MassG
	case "count":
		return &p.Count
	}
	return nil
}

// choice is words.Either of fields, as a format and its arguments.
func choice(fields []string) (format string, args []any) {
	verbs := make([]string, len(fields))
	for i, f := range fields {
		verbs[i], args = "%s", append(args, fault.Key(f))
	}
	return words.Either(verbs), args
}

func (c *checker) part(i int, p *Part, strict bool) {
	at := func(key string) string { return partField(i, key) }
	if p.Kind == KindUnset || int(p.Kind) >= len(kinds.Words) {
		if strict || p.Kind != KindUnset {
			c.addf(at("kind"), "Say what kind of part this is: %s.", words.Either(kinds.Words[1:]))
		}
		return
	}
	for _, x := range [...]struct {
		key, text, what string
		limit           int
	}{{"name", p.Name, "name", maxName}, {"note", p.Note, "note", maxNote}, {"wait.until", p.Wait.Until, "wait", maxNote}} {
		if x.text != "" {
			c.text(at(x.key), x.text, x.what, x.limit, x.key == "name")
		}
	}
	if n := len(p.Reminders); n > maxReminders {
		c.addf(at("reminders"), "%d reminders are more than anyone reads at the bench: keep them to %d.", n, maxReminders)
	} else {
		for _, r := range p.Reminders {
			c.text(at("reminders"), r, "reminder", maxName, true)
		}
	}
	if w := p.Wait.Minutes; w.Known && !(w.V >= 0 && w.V <= maxWaitMin) {
		c.addf(at("wait.minutes"), "A wait cannot be %s minutes: give 0 to %s.", plainNumber(w.V), plainNumber(maxWaitMin))
	}
	c.amount(i, p, strict)
	c.belongs(i, p, strict)
	for _, pct := range []struct {
		key string
		v   float64
	}{{"sunk_pct", p.SunkPct}, {"covered_pct", p.CoveredPct}} {
		switch {
		case pct.v != 0 && p.Kind != Embed:
			c.addf(at(pct.key), "Only an embed takes a %s: leave it out of this %s.", fault.Key(pct.key), p.Kind)
		case !(pct.v >= 0 && pct.v <= 100):
			c.addf(at(pct.key), "%s is not a share of an embed: give 0 to 100.", plainNumber(pct.v))
		}
	}
	inRange := p.SunkPct >= 0 && p.CoveredPct >= 0 && p.SunkPct <= 100 && p.CoveredPct <= 100
	if p.Kind == Embed && inRange && p.SunkPct+p.CoveredPct > 100+1e-9 {
		c.addf(at("covered_pct"), "An embed has 100 %%, and its %s (%s) and %s (%s) come to %s: do not count what is sunk as covered too.",
			fault.Key("sunk_pct"), plainNumber(p.SunkPct), fault.Key("covered_pct"), plainNumber(p.CoveredPct), plainNumber(p.SunkPct+p.CoveredPct))
	}
}

// amount checks that a part says once how much of it there is.
func (c *checker) amount(i int, p *Part, strict bool) {
	mine := amounts[p.Kind]
	var given []string
	faulty := false // an amount has its fault already
	for _, key := range [...]string{"fill_to_pct", "volume_ml", "mass_g", "count"} {
		m := *p.amountField(key)
		if !m.Known {
			continue
		}
		if !slices.Contains(mine, key) {
			faulty = true
			one, keys := choice(mine)
			c.addf(partField(i, key), "%s takes no %s: give its "+one+".", append([]any{upper(p.Kind.Article()), fault.Key(key)}, keys...)...)
			continue
		}
		given = append(given, key)
		switch key {
		case "fill_to_pct":
			if !(m.V > 0 && m.V <= maxLevelPct) {
				c.addf(partField(i, key), "A part cannot fill the cavity to %s %%: give %% of the cavity's volume, above 0, such as 80.", plainNumber(m.V))
			}
		case "volume_ml":
			if !(m.V > 0 && m.V <= maxVolumeML) {
				c.addf(partField(i, key), "A part cannot have a volume of %s: give one above 0 and at most %s.", bothVolumes(m.V), bothVolumes(maxVolumeML))
			}
		case "mass_g":
			if !(m.V > 0 && m.V <= maxMassG) {
				c.addf(partField(i, key), "A part cannot weigh %s: give a mass above 0 and at most %s.", bothMasses(m.V), bothMasses(maxMassG))
			}
		case "count":
			if !(m.V >= 1 && m.V <= maxCount && m.V == math.Trunc(m.V)) {
				c.addf(partField(i, key), "%s cannot be counted out: give a whole number from 1 to %s.", plainNumber(m.V), plainNumber(maxCount))
			}
		}
	}
	switch {
	case len(given) == 0 && strict && !faulty:
		one, keys := choice(mine)
		c.addf(partField(i, mine[0]), "Say how much of this %s there is: give its "+one+".", append([]any{p.Kind}, keys...)...)
	case len(given) > 1:
		c.addf(partField(i, given[1]), "The amount of this %s is given twice, as %s and %s: keep one of them.",
			p.Kind, fault.Key(given[0]), fault.Key(given[1]))
	}
}

// upper begins a sentence with s.
func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// belongs checks that a part names what it is made of, and nothing else.
func (c *checker) belongs(i int, p *Part, strict bool) {
	names := [...]struct {
		key, value, what string
		mine             bool
	}{
		{"formula", p.Formula, "made from", p.Kind.Batter()},
		{"design", p.Design, "an embed of", p.Kind == Embed},
		{"item", p.Item, "made of", p.Kind.Item()},
	}
	for _, n := range names {
		switch {
		case n.mine && n.value == "" && strict:
			c.addf(partField(i, n.key), "Say what this part is %s: give its %s.", n.what, fault.Key(n.key))
		case !n.mine && n.value != "":
			c.addf(partField(i, n.key), "%s takes no %s: leave it out.", upper(p.Kind.Article()), fault.Key(n.key))
		case n.value != "":
			c.text(partField(i, n.key), n.value, n.key, maxName, true)
		}
	}
	if p.Portion != "" && !p.Kind.Batter() {
		c.addf(partField(i, "portion"), "%s is not poured, so it takes no portion: leave it out.", upper(p.Kind.Article()))
	}
	if p.Closed && p.Kind != Wrap {
		c.addf(partField(i, "closed"), "Only a wrap can be closed: leave that out of this %s.", p.Kind)
	}
	if p.Stage != formula.AnyStage && (!p.Kind.Batter() || p.Stage > formula.Dough) {
		c.addf(partField(i, "stage"), "%s takes no such stage: leave it out.", upper(p.Kind.Article()))
	}
}

// Validate gives everything that is wrong with the whole set: what Design.Validate
// gives, strictly, of every design under design.N.; of the moulds mould.N.id and
// mould's own fields; of the batters formula.N.id, formula.N.density_g_ml,
// formula.N.pot_loss_g; ids that stand twice; ids that name nothing
// (fault.NotFound, on the field that names them); and designs that embed
// themselves, through others or not, the ring named once.
func (s *Set) Validate() fault.List {
	p := newPlan(s)
	c := &checker{List: p.doubled}
	for i := range s.Moulds {
		p.mould(i)
	}
	for i := range s.Batters {
		p.batter(i)
	}
	for i := range s.Designs {
		p.visit(i)
	}
	c.List = append(c.List, p.faults...)
	return c.List
}

// bothVolumes writes a volume in mL and in fluid ounces, since the maker may have
// typed either.
func bothVolumes(ml float64) string {
	if !quantity.Finite(ml) {
		return plainNumber(ml)
	}
	return quantity.Volume(ml, quantity.Millilitre, 2) + " (" + quantity.Volume(ml, quantity.USFluidOunce, 2) + ")"
}

// bothMasses writes a mass in g and in ounces.
func bothMasses(g float64) string {
	if !quantity.Finite(g) {
		return plainNumber(g)
	}
	return quantity.Mass(g, quantity.Gram, 0) + " (" + quantity.Mass(g, quantity.Ounce, 0) + ")"
}

func checkBatter(b *Batter, i int) fault.List {
	c := checker{}
	if !(b.DensityGML > 0 && b.DensityGML <= maxDensity) {
		c.addf("density_g_ml", "The density of %s cannot be %s: give g/ml above 0, such as 1.035.",
			fault.Ref{Kind: "formula", ID: b.ID}, plainNumber(b.DensityGML))
	}
	if !(b.PotLossG >= 0 && b.PotLossG <= maxPotLossG) {
		c.addf("pot_loss_g", "What stays in the pot cannot be %s g: give 0 or more.", plainNumber(b.PotLossG))
	}
	return within(c.List, "formula", i, b.ID)
}

// Validate gives what is wrong with the options: fault.Invalid on "overage_pct"
// outside 0 to 100, and on "stock" below 0.
func (o Options) Validate() fault.List {
	var l fault.List
	if !(o.OveragePct >= 0 && o.OveragePct <= 100) {
		l.Add(fault.Invalidf("overage_pct", "The overage (%s %%) is outside 0 to 100 %%: give a number in that range.", plainNumber(o.OveragePct)))
	}
	for id, n := range o.Stock {
		if n < 0 {
			l.Add(fault.Invalidf("stock", "You cannot have %d of %s at hand: give 0 or more.", n, fault.Ref{Kind: "design", ID: id}))
		}
	}
	return l
}

// plainNumber writes a number for use inside a sentence that says what to type.
func plainNumber(v float64) string {
	if !quantity.Finite(v) {
		return "a number without end"
	}
	return strconv.FormatFloat(v, 'g', 12, 64)
}

// called is what a finding calls a record: its name, or its id in quotes where
// it has none.
func called(name, id string) string {
	if name != "" {
		return name
	}
	return fault.Ref{ID: id}.String()
}
