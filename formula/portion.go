package formula

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/internal/words"
	"barwright/quantity"
)

// Limits on what a batter is divided into.
const (
	// MaxPortions, MaxColours and MaxConstituents are the largest numbers of
	// portions in a formula, colours in a portion, and stated constituents of a
	// scent.
	MaxPortions     = 100
	MaxColours      = 100
	MaxConstituents = 100

	maxPortion        = 1e7  // g or mL, the same as MaxFatsG
	maxColourGPerKg   = 1000 // as much colour as batter
	minDensity        = 0.3  // g/ml: whipped to three times its volume
	maxDensity        = 3.0  // g/ml: a salt bar weighs half of that
	colourLineExample = "Titanium dioxide 6 g/kg"
	statedLineExample = "Linalool 12.5"
)

// entry is the path of one entry of a list that a portion or a scent holds.
func entry(field string, i int) string { return field + "." + strconv.Itoa(i+1) }

func (c *checker) stage(field string, s Stage) {
	if s > Dough {
		c.addf(field, "This is no thickness of a batter: write thin, medium, thick or dough, or leave it open.")
	}
}

// portions checks how the batter is divided.
func (c *checker) portions(f *Formula, strict bool) {
	if len(f.Portions) > MaxPortions {
		c.addf("portion", "There are %d portions: %d at most.", len(f.Portions), MaxPortions)
		return
	}
	var share float64
	rest, onlyShares, sound := -1, true, true
	for i, p := range f.Portions {
		path := func(key string) string { return Path("portion", i, key) }
		c.text(path("name"), p.Name, "the name of the portion, as sea white", maxNameRunes, true)
		for j, q := range f.Portions[:i] {
			if name := strings.TrimSpace(p.Name); name != "" && strings.EqualFold(name, strings.TrimSpace(q.Name)) {
				c.addf(path("name"), "Portion %d is called %s already: give each its own name.", j+1, short(name))
				break
			}
		}
		some := p.Amount > 0 || !strict && p.Amount == 0
		const none = "; leave out a portion that is not poured"
		switch p.By {
		case ByShare:
			ok := some && p.Amount <= 100
			c.number(path("amount"), p.Amount, ok, "a portion's share must be above 0 and at most 100 % of the batter, such as 40"+none)
			share += p.Amount
			sound = sound && ok
		case ByVolume:
			onlyShares = false
			c.number(path("amount"), p.Amount, some && p.Amount <= maxPortion, "a portion's volume must be above 0 and at most 10 000 000 ml, such as 250"+none)
		case ByMass:
			onlyShares = false
			c.number(path("amount"), p.Amount, some && p.Amount <= maxPortion, "a portion's mass must be above 0 and at most 10 000 000 g, such as 250"+none)
		case ByRest:
			onlyShares = false
			if !quantity.Finite(p.Amount) {
				c.number(path("amount"), p.Amount, true, "the rest needs no amount: leave it empty")
			}
			if rest >= 0 {
				c.addf(path("by"), "Portion %d takes the rest already: only one can.", rest+1)
			} else {
				rest = i
			}
		default:
			c.addf(path("by"), "This is no way to size a portion: write share, volume, mass or rest.")
		}
		c.stage(path("stage"), p.Stage)
		c.colours(i, p.Colourants, strict)
	}
	switch over := share - 100; {
	case !sound || len(f.Portions) == 0:
	case over > SumTolerancePct+1e-9:
		c.addf("portion", "The shares of the portions sum to %s %%: take %s %% away, because a batter is divided only once.",
			Plain(round(share, 4)), Plain(round(over, 4)))
	case strict && onlyShares && over < -SumTolerancePct-1e-9:
		c.addf("portion", "The shares of the portions sum to %s %%: they must sum to 100 (± 0.01), or one portion takes the rest.", Plain(round(share, 4)))
	case strict && rest >= 0 && share >= 100-SumTolerancePct:
		c.addf(Path("portion", rest, "by"), "The other portions take all of the batter, so that there is no rest: lower one of them, or leave this one out.")
	}
}

func (c *checker) colours(portion int, list []Colour, strict bool) {
	field := Path("portion", portion, "colours")
	if len(list) > MaxColours {
		c.addf(field, "There are %d colours in one portion: %d at most.", len(list), MaxColours)
		return
	}
	for i, x := range list {
		bad := func(format string, args ...any) { c.addf(entry(field, i), format, args...) }
		switch t := x.Typed; {
		case strings.TrimSpace(x.ID) == "":
			bad("The colour is missing: write it before its dose, such as %s.", colourLineExample)
		case !lineText(x.ID):
			bad("The colour's name cannot be read: write its id or its name in the catalogue, such as %s.", colourLineExample)
		case t.Unit == TeaspoonsPerPound && !(t.GramsPerTsp > 0 && t.GramsPerTsp <= maxGramsPerTsp):
			bad("%s", teaspoonRule)
		case !quantity.Finite(x.GPerKg):
			bad("The dose of %s is not a number: write one, such as %s.", short(x.ID), colourLineExample)
		case !(x.GPerKg > 0 || !strict && x.GPerKg == 0) || x.GPerKg > maxColourGPerKg:
			bad("%s g per kg of %s cannot be used: a dose must be above 0 and at most 1000 g per kg of the portion's batter.", Plain(x.GPerKg), short(x.ID))
		case t == Typed{}:
		case t.Unit > TeaspoonsPerPound || !quantity.Finite(t.Amount) || t.Amount < 0 || !quantity.Finite(t.GramsPerTsp):
			bad("The dose of %s as typed cannot be read: type it again.", short(x.ID))
		case t.Unit != Grams && math.Abs(t.GramsPerKgFats()-x.GPerKg) > 1e-6*math.Max(x.GPerKg, t.GramsPerKgFats()):
			bad("The dose of %s as typed comes to %s g per kg, but %s is kept beside it: type it again.",
				short(x.ID), Plain(t.GramsPerKgFats()), Plain(x.GPerKg))
		}
		for j, y := range list[:i] {
			if x.ID != "" && x.ID == y.ID {
				bad("The colour %s is in line %d already: put both doses on one line.", short(x.ID), j+1)
				break
			}
		}
	}
}

func (c *checker) stated(scent int, list []Constituent) {
	field := Path("scent", scent, "stated")
	if len(list) > MaxConstituents {
		c.addf(field, "There are %d constituents of one scent: %d at most.", len(list), MaxConstituents)
		return
	}
	for i, x := range list {
		bad := func(format string, args ...any) { c.addf(entry(field, i), format, args...) }
		switch {
		case strings.TrimSpace(x.Name) == "":
			bad("The constituent is missing: write it before its share of the scent, such as %s.", statedLineExample)
		case !lineText(x.Name):
			bad("The constituent's name cannot be read: write it as the certificate does, such as %s.", statedLineExample)
		case !quantity.Finite(x.Pct) || !(x.Pct > 0 && x.Pct <= 100):
			bad("%s %% of %s cannot be used: a constituent is above 0 and at most 100 %% of the scent.", Plain(x.Pct), short(x.Name))
		}
		for j, y := range list[:i] {
			if strings.EqualFold(strings.TrimSpace(x.Name), strings.TrimSpace(y.Name)) && strings.TrimSpace(x.Name) != "" {
				bad("The constituent %s is in line %d already: add the two up.", short(x.Name), j+1)
				break
			}
		}
	}
}

// lineText reports whether s can be part of a line of text.
func lineText(s string) bool {
	c := checker{}
	c.text("", s, "", maxNameRunes, true)
	return len(c.faults) == 0
}

// lineNumber matches the number in a dose at the end of a line, after the name.
// The number is one token, or a whole number with a fraction, so that a name
// may end in a number: 'CI 77891 6 g/kg'.
const lineNumber = `([-−+]?(?:(?:[0-9]{1,2} )?[0-9]+/[0-9]+|[0-9]*[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|[0-9.,]*[0-9][0-9.,]*(?:e[-+]?[0-9]+)?))`

var (
	colourLine = regexp.MustCompile(`(?i)^(.*?)[\s,:;=–—]+` + lineNumber + `\s*(%|g ?(?:/|per) ?kg|oz ?(?:/|per) ?lb|(?:tsp|teaspoons?) ?(?:/|per) ?lb)\.?` +
		`(?:\s*(?:at|of|=|\(|,)+\s*` + lineNumber + `\s*g(?: ?(?:/|per|a) ?(?:tsp|teaspoon))?\s*\)?)?$`)
	statedLine = regexp.MustCompile(`(?i)^(.*?)[\s,:;=–—]+` + lineNumber + `\s*(?:%|per ?cent)?$`)
	bareDose   = regexp.MustCompile(`^(.*?)[\s,:;=–—]+` + lineNumber + `$`)
)

// ParseColour reads a colour and its dose in a portion's batter, as a maker writes
// them on one line: its id or its name in the catalogue, then the dose with its
// unit.
//
//	Titanium dioxide 6 g/kg, mica 0.1 oz/lb, Black iron oxide 0.5 %, Kaolin: 1 1/2 tsp/lb
//
// The mass of a level teaspoon, when the studio measured it, comes last: 'Kaolin 2
// tsp/lb at 2.1 g'. Otherwise it is assumed. A colon, a comma or a dash may separate
// the name from its dose, and a name may contain numbers. A name that cat does not
// hold is taken for an id, which CheckIDs reports.
//
// Errors: fault.Invalid on no field.
func ParseColour(line string, cat Ingredients) (Colour, error) {
	m := colourLine.FindStringSubmatch(line)
	if m == nil || strings.TrimSpace(m[1]) == "" {
		hint := "write the colour and then its dose, such as " + colourLineExample + ", 2 tsp/lb or 0.1 oz/lb"
		if bareDose.MatchString(line) {
			hint = "its dose has no unit: write g/kg, tsp/lb or oz/lb behind it, such as " + colourLineExample
		}
		return Colour{}, fault.Invalidf("", "%q cannot be read: %s.", short(line), hint)
	}
	amount, err := quantity.ParseNumber(m[2])
	if err != nil {
		return Colour{}, err
	}
	x := Colour{ID: strings.TrimSpace(m[1]), GPerKg: amount}
	in := named(x.ID, cat)
	if in != nil {
		x.ID = in.ID
	}
	switch unit := strings.ToLower(m[3]); {
	case m[4] != "" && unit[0] != 't':
		return x, fault.Invalidf("", "The mass of a teaspoon belongs to a dose in tsp/lb: take it out, or write %s tsp/lb.", m[2])
	case unit == "%":
		x.GPerKg = 10 * amount
	case unit[0] == 'o':
		x.Typed = Typed{Unit: OuncesPerPound, Amount: amount}
	case unit[0] == 't':
		x.Typed = Typed{Unit: TeaspoonsPerPound, Amount: amount, Measured: m[4] != ""}
		if x.Typed.Measured {
			x.Typed.GramsPerTsp, err = quantity.ParseNumber(m[4])
		} else if x.Typed.GramsPerTsp = AssumedTeaspoon(in); x.Typed.GramsPerTsp == 0 {
			err = fault.Invalidf("",
				"Nobody knows what a teaspoon of %s weighs: weigh ten level ones, divide by ten, and write it behind, such as %s tsp/lb at 2.1 g.",
				short(x.ID), m[2])
		}
		if err != nil {
			return x, err
		}
	}
	if x.Typed != (Typed{}) {
		x.GPerKg = x.Typed.GramsPerKgFats()
	}
	return x, nil
}

// named is the ingredient that a text means, or nil.
func named(text string, cat Ingredients) *catalogue.Ingredient {
	if cat == nil {
		return nil
	}
	// Named takes an id too. Get is not tried first, because for an unknown id
	// it looks for the nearest one, which takes a millisecond.
	find := cat.Get
	if by, ok := cat.(interface {
		Named(string) (*catalogue.Ingredient, error)
	}); ok {
		find = by.Named
	}
	if in, err := find(text); err == nil {
		return in
	}
	return nil
}

// Line writes the colour as ParseColour reads it: by its name in cat where that
// means this very colour, else by its id.
func (x Colour) Line(cat Ingredients) string {
	name := x.ID
	if in := named(x.ID, cat); in != nil && in.ID == x.ID {
		if back := named(in.Name, cat); back != nil && back.ID == x.ID {
			name = in.Name
		}
	}
	return name + " " + x.dose(Plain)
}

// ParseConstituent reads what a scent's certificate states, as a maker writes it on
// one line: the constituent, then its share of the scent in %, as 'Linalool 12.5'.
//
// Errors: fault.Invalid on no field.
func ParseConstituent(line string) (Constituent, error) {
	m := statedLine.FindStringSubmatch(line)
	if m == nil || strings.TrimSpace(m[1]) == "" {
		return Constituent{}, fault.Invalidf("", "%q cannot be read: write the constituent and then its share of the scent in %%, such as %s.",
			short(line), statedLineExample)
	}
	v, err := quantity.ParseNumber(m[2])
	return Constituent{Name: strings.TrimSpace(m[1]), Pct: v}, err
}

// Line writes the constituent as ParseConstituent reads it.
func (c Constituent) Line() string { return c.Name + " " + Plain(c.Pct) }

// dose is the dose as it is typed in the form.
func (x Colour) dose(number func(float64) string) string {
	switch x.Typed.Unit {
	case OuncesPerPound:
		return number(x.Typed.Amount) + " oz/lb"
	case TeaspoonsPerPound:
		s := number(x.Typed.Amount) + " tsp/lb"
		if x.Typed.Measured {
			s += " at " + number(x.Typed.GramsPerTsp) + " g"
		}
		return s
	default:
		return number(x.GPerKg) + " g/kg"
	}
}

// Said is the dose in the maker's words, in the unit in which it was typed.
func (x Colour) Said() string {
	switch x.Typed.Unit {
	case OuncesPerPound:
		return shown(x.Typed.Amount) + " oz per lb of batter"
	case TeaspoonsPerPound:
		how := "assumed"
		if x.Typed.Measured {
			how = "measured"
		}
		return shown(x.Typed.Amount) + " tsp per lb of batter, a level teaspoon " + how + " as " + shown(x.Typed.GramsPerTsp) + " g"
	default:
		return shown(x.GPerKg) + quantity.UnitSpace + "g per kg of batter"
	}
}

// Said is the size of the portion in the maker's words, such as '40 % of the
// batter' or 'the rest'.
func (p Portion) Said(faces Faces) string {
	switch p.By {
	case ByVolume:
		return volumeText(p.Amount, faces.Volume, 6)
	case ByMass:
		return massText(p.Amount, faces.Mass, 6)
	case ByRest:
		return "the rest"
	default:
		return pct(p.Amount) + " of the batter"
	}
}

func portionSaid(p Portion, faces Faces, name func(id string) string) string {
	s := p.Said(faces)
	if w := p.Stage.Words(); w != "" {
		s += ", " + w
	}
	for _, x := range p.Colourants {
		s += "; " + name(x.ID) + " " + x.Said()
	}
	return s
}

func statedSaid(list []Constituent) string {
	parts := make([]string, len(list))
	for i, x := range list {
		parts[i] = x.Name + " " + pct(x.Pct)
	}
	return strings.Join(parts, ", ")
}

func densitySaid(m quantity.Maybe) string {
	if !m.Known {
		return notGiven
	}
	return shown(m.V) + quantity.UnitSpace + "g/ml"
}

// portions adds the differences between two divisions of a batter.
func (d *differ) portions(a, b []Portion) {
	lines(d, "portion", "name", "Portion", a, b, func(x *Portion) string { return x.Name },
		func(x *Portion) string { return portionSaid(*x, d.faces, d.name) },
		func(x, y *Portion) int {
			return score(strings.EqualFold(x.Name, y.Name), x.By == y.By, x.Stage == y.Stage)
		},
		func(say say, x, y *Portion) {
			if x.By != y.By || x.By != ByRest && !near(x.Amount, y.Amount) {
				say("amount", "Size of the portion", x.Said(d.faces), y.Said(d.faces))
			}
			say("stage", "Thickness of the portion", said(x.Stage.Words()), said(y.Stage.Words()))
			d.colours(say, x.Colourants, y.Colourants)
		})
}

func (d *differ) colours(say say, a, b []Colour) {
	from, gone := words.Pair(a, b, 7, func(x, y *Colour) int { return score(x.ID == y.ID, x.Typed.Unit == y.Typed.Unit) })
	for j, i := range from {
		switch {
		case i < 0:
			say("colours", "Colour: "+d.name(b[j].ID), "", b[j].Said())
		case !near(a[i].GPerKg, b[j].GPerKg):
			say("colours", "Colour: "+d.name(b[j].ID), a[i].Said(), b[j].Said())
		}
	}
	for _, i := range gone {
		say("colours", "Colour: "+d.name(a[i].ID), a[i].Said(), "")
	}
}

// volumeText writes a volume with its unit, with at most that many figures.
func volumeText(ml float64, unit quantity.VolumeUnit, figures int) string {
	f := unit.Millilitres()
	if !(f > 0) {
		f, unit = 1, quantity.Millilitre
	}
	return figure(ml/f, figures) + quantity.UnitSpace + unit.String()
}
