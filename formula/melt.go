package formula

import (
	"strconv"
	"strings"

	"barwright/quantity"
)

// MaxBases is the largest number of bases in a melt. MaxRemelts is the largest
// number of times that it may have been melted before.
const (
	MaxBases   = 100
	MaxRemelts = 100
)

// melt checks what only a melt has, and refuses what belongs to lye.
func (c *checker) melt(f *Formula, strict bool) {
	if len(f.Fats) > 0 {
		c.addf("fat", "A melt is ready-made base and takes no fats into lye: take them out, list what is stirred in among the extras, or write method "+
			"cold or hot.")
	}
	for i, x := range f.Extras {
		if x.Into != IntoBatter && x.Into <= IntoCooked {
			c.addf(Path("extra", i, "into"), "A melt has one place for an extra, the molten base: write batter.")
		}
		if x.Per == PerLiquid {
			c.addf(Path("extra", i, "per"), "A melt has no liquid to take a share of: write kg-fats (of base), kg-batter or batch.")
		}
	}
	if strict && len(f.Bases) == 0 {
		c.addf("base", "The base is missing: a melt has at least one base, with its name and its share.")
	}
	if len(f.Bases) > MaxBases {
		c.addf("base", "There are %d bases: %d at most.", len(f.Bases), MaxBases)
		return
	}
	sum, sound := 0.0, true
	for i, x := range f.Bases {
		path := func(key string) string { return Path("base", i, key) }
		c.text(path("name"), x.Name, "the name of the base, such as white melt-and-pour base", maxNameRunes, true)
		for j, y := range f.Bases[:i] {
			if name := strings.TrimSpace(x.Name); name != "" && strings.EqualFold(name, strings.TrimSpace(y.Name)) {
				c.addf(path("name"), "The base %s is in line %d already: put both shares on one line.", short(name), j+1)
				break
			}
		}
		ok := x.Pct > 0 && x.Pct <= 100 || !strict && x.Pct == 0
		c.number(path("pct"), x.Pct, ok,
			"a base's share must be above 0 and at most 100 % of the base, such as 60.0; leave out the line of a base that is not used")
		sound = sound && ok
		sum += x.Pct
		c.text(path("inci"), x.INCI, "what the supplier declares is in the base", maxNotesRunes, false)
		c.density(path("density_g_ml"), x.DensityGML, "the density of the molten base")
		c.hot(path("softens_c"), x.SoftensC, "the temperature at which the set base begins to soften")
		c.hot(path("max_melt_c"), x.MaxMeltC, "the highest temperature for melting the base")
		c.hot(path("max_pour_c"), x.MaxPourC, "the highest temperature for pouring the base")
		if x.MaxPourC.Known && x.MaxMeltC.Known && x.MaxPourC.V > x.MaxMeltC.V {
			c.addf(path("max_pour_c"), "It may be poured at %s °C and melted at no more than %s °C, so one of the two is a slip: look at the "+
				"supplier's sheet again.",
				Plain(round(x.MaxPourC.V, 1)), Plain(round(x.MaxMeltC.V, 1)))
		}
		if x.SoftensC.Known && x.MaxMeltC.Known && x.SoftensC.V > x.MaxMeltC.V {
			c.addf(path("softens_c"), "It begins to soften at %s °C and is spoilt above %s °C, so it could never be melted: look at the supplier's "+
				"sheet again.",
				Plain(round(x.SoftensC.V, 1)), Plain(round(x.MaxMeltC.V, 1)))
		}
	}
	if strict && len(f.Bases) > 0 && sound {
		c.sum("base", "bases", sum)
	}
	m := f.Melting
	c.hot("melting.melt_c", m.MeltC, "the temperature of melting")
	if m.Remelts < 0 || m.Remelts > MaxRemelts {
		c.addf("melting.remelts", "%d cannot be used: how often it was melted before is a whole number from 0 to 100.", m.Remelts)
	}
	c.maybe("melting.evaporation_pct", m.EvaporationPct, func(v float64) bool { return v >= 0 && v < 100 },
		"what evaporated must be from 0 to below 100 % of what went in, such as 2.5")
}

// noMelt refuses what only a melt has in a batter with lye.
func (c *checker) noMelt(f *Formula) {
	if len(f.Bases) > 0 {
		c.addf("base", "Ready-made base belongs in a melt, and this formula has lye: write method melt, or take the base out.")
	}
	const only = "Only a melt is melted: write method melt, or leave this empty."
	if f.Melting.MeltC.Known {
		c.addf("melting.melt_c", only)
	}
	if f.Melting.Remelts != 0 {
		c.addf("melting.remelts", only)
	}
	if f.Melting.EvaporationPct.Known {
		c.addf("melting.evaporation_pct", only)
	}
}

func (c *checker) density(field string, m quantity.Maybe, what string) {
	c.maybe(field, m, func(v float64) bool { return v >= minDensity && v <= maxDensity },
		what+" must be from 0.3 to 3 g/ml, such as 1.03")
}

// hot checks a temperature of molten base. The limits are far outside the
// trade: a cool room, and well above the boiling point of any base.
func (c *checker) hot(field string, m quantity.Maybe, what string) {
	c.maybe(field, m, func(v float64) bool { return v >= 20 && v <= 150 },
		what+" must be from 20 to 150 °C, such as 65")
}

func times(n int) string {
	switch n {
	case 0:
		return "never"
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return strconv.Itoa(n) + " times"
}

// bases adds the differences between the bases of two melts.
func (d *differ) bases(a, b []Base) {
	lines(d, "base", "name", "Base", a, b, func(x *Base) string { return x.Name }, func(x *Base) string { return pct(x.Pct) },
		func(x, y *Base) int { return score(strings.EqualFold(x.Name, y.Name), x.INCI == y.INCI) },
		func(say say, x, y *Base) {
			if !near(x.Pct, y.Pct) {
				say("pct", "Share of the base", pct(x.Pct), pct(y.Pct))
			}
			say("inci", "What is declared in it", said(x.INCI), said(y.INCI))
			say("density_g_ml", "Density of the molten base", densitySaid(x.DensityGML), densitySaid(y.DensityGML))
			say("softens_c", "Begins to soften at", d.temp(x.SoftensC), d.temp(y.SoftensC))
			say("max_melt_c", "Hottest to melt", d.temp(x.MaxMeltC), d.temp(y.MaxMeltC))
			say("max_pour_c", "Hottest to pour", d.temp(x.MaxPourC), d.temp(y.MaxPourC))
		})
}
