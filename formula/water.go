package formula

import (
	"regexp"
	"strings"

	"barwright/fault"
	"barwright/quantity"
)

// waterHint says in words what the water field reads.
const waterHint = "write a lye concentration as 33 %, water to alkali as 2 to 1, a share of the fats as 38 % of fats, or a discount as 10 % less than " +
	"38 % of fats"

const (
	waterNum  = `([0-9.,/½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞+\-− \x{a0}\x{202f}]+?(?:e[+-]?[0-9]+)?)`
	waterPct  = `\s*(?:%|per ?cent|pct)?`
	waterOf   = `\s*(?:%|per ?cent|pct)?\s*(?:water\s*)?(?:of|on)\s+(?:the\s+)?(?:mass of |weight of )?(?:the\s+)?(?:fats?|oils?)(?:\s+and\s+(?:fats?|oils?))?`
	waterLess = `\s*(?:off|less than|less|below|under|discount(?:ed)? (?:from|on|of)|from)\s*`
)

var (
	waterConcentration = regexp.MustCompile(`^` + waterNum + waterPct + `(?:\s*(?:lye|lye concentration|concentration|naoh|alkali))?$`)
	waterRatio         = regexp.MustCompile(`^` + waterNum + `\s*(?:to|:|∶)\s*` + waterNum + `(?:\s*(?:water to (?:lye|alkali|naoh)|water:lye))?$`)
	waterFats          = regexp.MustCompile(`^` + waterNum + waterOf + `$`)
	waterDiscount      = regexp.MustCompile(`^` + waterNum + waterPct + waterLess + `(?:full water (?:of|at)\s+)?` + waterNum + waterOf + `$`)
	waterDiscountAfter = regexp.MustCompile(`^` + waterNum + waterOf + `,?\s*(?:less|minus|-|−|with)\s*` + waterNum + waterPct + `(?:\s*(?:off|discount))?$`)
)

// ParseWater reads how much water there is, as a maker writes it:
//
//	33, 33 %                         a lye concentration: alkali / (alkali + water), by mass
//	2 to 1, 2:1                      parts of water to parts of alkali, by mass: water comes first
//	38 % of fats                     water as a share of the mass of fats
//	10 % less than 38 % of fats,     a discount from what is called full water
//	10 % off 38 % of fats
//
// A ratio with less water than alkali, such as 1 to 2, is most likely the wrong
// way round. It is refused unless the alkali is 1.
//
// Errors: fault.Invalid on field "water".
func ParseWater(text string) (Water, error) {
	s := strings.Join(strings.Fields(strings.ToLower(strings.ToValidUTF8(text, "�"))), " ")
	if len(s) > 100 {
		return Water{}, fault.Invalidf("water", "This is too long: %s.", waterHint)
	}
	if s == "" {
		return Water{}, fault.Invalidf("water", "The water is missing: %s.", waterHint)
	}
	checked := func(w Water) (Water, error) {
		c := checker{}
		c.water(w)
		if len(c.faults) > 0 {
			return Water{}, c.faults[0]
		}
		return w, nil
	}
	read := func(rule WaterRule, value, full string) (Water, error) {
		w := Water{Rule: rule}
		var err error
		if w.Value, err = quantity.ParseNumber(value); err == nil && full != "" {
			w.FullPct, err = quantity.ParseNumber(full)
		}
		if err != nil {
			return Water{}, fault.Invalidf("water", "%s", fault.All(err)[0].Message)
		}
		return checked(w)
	}
	if m := waterConcentration.FindStringSubmatch(s); m != nil {
		return read(ByConcentration, m[1], "")
	}
	if m := waterFats.FindStringSubmatch(s); m != nil {
		return read(ByFats, m[1], "")
	}
	if m := waterDiscount.FindStringSubmatch(s); m != nil {
		return read(ByDiscount, m[1], m[2])
	}
	if m := waterDiscountAfter.FindStringSubmatch(s); m != nil {
		return read(ByDiscount, m[2], m[1])
	}
	if m := waterRatio.FindStringSubmatch(s); m != nil {
		water, err := quantity.ParseNumber(m[1])
		var alkali float64
		if err == nil {
			alkali, err = quantity.ParseNumber(m[2])
		}
		switch {
		case err != nil:
			return Water{}, fault.Invalidf("water", "%s", fault.All(err)[0].Message)
		case !(alkali > 0) || !(water > 0):
			return Water{}, fault.Invalidf("water", "Both parts must be above 0: the water comes first and the alkali second, as in 2 to 1.")
		case water < alkali && alkali != 1:
			return Water{}, fault.Invalidf("water", "%s to %s would be less water than alkali, which does not dissolve it: the water comes first, so "+
				"perhaps %s to %s.",
				Plain(water), Plain(alkali), Plain(alkali), Plain(water))
		}
		return checked(Water{Rule: ByRatio, Value: water / alkali})
	}
	return Water{}, fault.Invalidf("water", "This cannot be read as water: %s.", waterHint)
}

// String writes the water as ParseWater reads it: 33 %, 2 to 1, 38 % of fats,
// or 10 % less than 38 % of fats.
func (w Water) String() string {
	v := Plain(w.Value)
	switch w.Rule {
	case ByRatio:
		return v + " to 1"
	case ByFats:
		return v + " % of fats"
	case ByDiscount:
		return v + " % less than " + Plain(w.FullPct) + " % of fats"
	default:
		return v + " %"
	}
}

// Grams is the mass of water, g, for alkaliG of alkali as weighed and fatsG of
// fats.
func (w Water) Grams(alkaliG, fatsG float64) float64 {
	switch w.Rule {
	case ByRatio:
		return alkaliG * w.Value
	case ByFats:
		return fatsG * w.Value / 100
	case ByDiscount:
		return fatsG * w.FullPct / 100 * (1 - w.Value/100)
	default:
		return alkaliG * (100 - w.Value) / w.Value
	}
}

// LyeConcentration is the lye concentration that the water means: alkali as
// weighed over alkali and water, % by mass. For a share of the fats it depends
// on how much alkali there is, and without alkali it is 0.
func (w Water) LyeConcentration(alkaliG, fatsG float64) float64 {
	switch w.Rule {
	case ByConcentration:
		return w.Value
	case ByRatio:
		return 100 / (1 + w.Value)
	}
	all := alkaliG + w.Grams(alkaliG, fatsG)
	if !(all > 0) {
		return 0
	}
	return 100 * alkaliG / all
}
