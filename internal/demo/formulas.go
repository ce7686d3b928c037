package demo

import (
	"barwright/formula"
	"barwright/quantity"
)

// basic is a formula as Quillfen begins one, with its own scale and alkali.
func basic(name string, fatsG, superfatPct, lyePct float64, fats ...formula.Fat) *formula.Formula {
	return &formula.Formula{
		Name: name, Method: formula.Cold, SuperfatPct: superfatPct, FatsG: fatsG,
		Water: formula.Water{Rule: formula.ByConcentration, Value: lyePct},
		Alkali: formula.Alkali{NaOHPurityPct: quantity.Some(99), KOHPurityPct: quantity.Some(90),
			PurityHalfWidthPct: 0.5},
		ScaleDivisionG: quantity.Some(0.1),
		Fats:           fats,
		Notes:          "Invented, as is everything of the Quillfen studio.",
	}
}

func fat(id string, pct float64) formula.Fat { return formula.Fat{ID: id, Pct: pct} }

func perKg(id string, g float64, into formula.Into) formula.Extra {
	return formula.Extra{ID: id, Dose: g, Per: formula.PerKgFats, Into: into}
}

// scent has a limit from a certificate that is as invented as its name.
func scent(name string, dosePct, limitPct float64) formula.Scent {
	return formula.Scent{Name: name, DosePct: dosePct, Of: formula.OfFats, LimitPct: quantity.Some(limitPct),
		Category: "rinse-off bar soap", Dated: "3 March 2026 (invented)"}
}

// book is the history of one formula.
type book = history[*formula.Formula]

// begin is a book whose first version is f, after the changes.
func begin(daysAgo int, note string, f *formula.Formula, changes ...func(*formula.Formula)) book {
	for _, change := range changes {
		change(f)
	}
	return book{name: f.Name, versions: []written[*formula.Formula]{{f, note, daysAgo}}, clone: (*formula.Formula).Clone}
}

// formulas are the book, one history for each formula.
func formulas() []book {
	return []book{
		stormLantern(), pebbleLoaf(), kelpSlab(), seaFoam(), saltBar(), milkBar(), hotBatch(), ropewalk(), fogSignal(),
		lampGlow(), darkRock(), nightGlaze(), tower(), nightSea(), pebbleDough(),
	}
}

func stormLantern() book {
	return begin(171, "First pour, in the loaf. Soft at the corners after a month.",
		basic("Storm lantern", 1000, 6, 30,
			fat("olive-oil", 45), fat("coconut-oil", 30), fat("shea-butter", 15), fat("castor-oil", 10))).
		then(158, "Cocoa butter for the edge of the gallery; less water, it came out of the mould torn.", func(f *formula.Formula) {
			f.Fats = []formula.Fat{fat("olive-oil", 44), fat("coconut-oil", 27), fat("shea-butter", 14), fat("cocoa-butter", 9), fat("castor-oil", 6)}
			f.Water.Value = 33
		}).
		then(141, "Some olive out for high-oleic sunflower. Paler.", func(f *formula.Formula) {
			f.Fats = []formula.Fat{fat("olive-oil", 38), fat("coconut-oil", 25), fat("shea-butter", 14), fat("cocoa-butter", 9),
				fat("sunflower-oil-high-oleic", 8), fat("castor-oil", 6)}
		}).
		then(120, "Sodium lactate, to unmould after three days and not five.", func(f *formula.Formula) {
			f.Extras = []formula.Extra{perKg("sodium-lactate", 18, formula.IntoLye)}
		}).
		then(93, "Scent settled, kaolin with it. Sized for all six sets.", func(f *formula.Formula) {
			f.Extras = append(f.Extras, perKg("kaolin", 10, formula.IntoFats))
			f.Scents = []formula.Scent{scent("Fig and sea salt", 4.5, 6.2)}
			f.FatsG = 1620
		}).
		then(48, "A little less free fat.", func(f *formula.Formula) { f.SuperfatPct = 5 }).
		then(9, "3 %, to see whether the lather opens sooner. Look at the odds before weighing.", func(f *formula.Formula) { f.SuperfatPct = 3 })
}

func pebbleLoaf() book {
	return begin(163, "For the loaf.", basic("Pebble loaf", 1000, 5, 33,
		fat("olive-oil", 62), fat("coconut-oil", 22), fat("shea-butter", 10), fat("castor-oil", 6))).
		then(102, "Charcoal in a third of it, for the grey.", func(f *formula.Formula) {
			f.Extras = []formula.Extra{perKg("charcoal", 3, formula.IntoBatter)}
		}).
		then(31, "Scented, for the shop on the causeway.", func(f *formula.Formula) {
			f.Scents = []formula.Scent{scent("Wet slate", 3, 5.5)}
		}).
		then(27, "Divided for the swirl: the charcoal goes into the slate alone.", func(f *formula.Formula) {
			f.Extras = nil
			f.Portions = []formula.Portion{share("Slate", 30, formula.ThinTrace, colour("charcoal", 6)),
				rest("Mist", formula.ThinTrace, colour("titanium-dioxide", 3))}
		})
}

func kelpSlab() book {
	return begin(150, "Dried kelp only.",
		basic("Kelp slab", 1800, 6, 32, fat("olive-oil", 45), fat("coconut-oil", 25), fat("rice-bran-oil", 15), fat("cocoa-butter", 10), fat("castor-oil", 5)),
		func(f *formula.Formula) { f.Extras = []formula.Extra{perKg("kelp", 8, formula.IntoBatter)} }).
		then(112, "Our own mash instead of the powder: its water comes off the water to weigh.", func(f *formula.Formula) {
			f.Extras = []formula.Extra{perKg("quillfen-kelp-mash", 60, formula.IntoLye)}
		}).
		then(66, "Twice the slab.", func(f *formula.Formula) { f.FatsG = 2200 }).
		then(20, "Spirulina for the green that the mash loses.", func(f *formula.Formula) {
			f.Extras = append(f.Extras, perKg("spirulina", 5, formula.IntoBatter))
		}).
		then(18, "Two portions: the spirulina below, a pale one on it.", func(f *formula.Formula) {
			f.Extras = f.Extras[:1]
			f.Portions = []formula.Portion{share("Pale", 32, formula.MediumTrace, colour("titanium-dioxide", 4)),
				rest("Kelp", formula.ThinTrace, colour("spirulina", 7))}
		})
}

func seaFoam() book {
	return begin(84, "To pipe on the slab: stays up for a quarter of an hour.", basic("Sea foam (piping)", 420, 5, 30,
		fat("coconut-oil", 28), fat("babassu-oil", 10), fat("shea-butter", 30), fat("olive-oil", 26), fat("castor-oil", 6))).
		then(37, "White, and a little sugar for the lather.", func(f *formula.Formula) {
			f.Extras = []formula.Extra{perKg("titanium-dioxide", 6, formula.IntoFats), perKg("sucrose", 10, formula.IntoLye)}
		}).
		then(30, "Written down as what it is: thick. Whipped, its pot weighs 0.93 g to the ml.", func(f *formula.Formula) {
			f.Stage, f.DensityGML = formula.ThickTrace, quantity.Some(0.93)
		})
}

func saltBar() book {
	return begin(133, "Salt as half the fats. Cut it while it is warm, or not at all.",
		basic("Groyne salt bar", 900, 18, 34, fat("coconut-oil", 82), fat("olive-oil", 10), fat("castor-oil", 8)),
		func(f *formula.Formula) { f.Extras = []formula.Extra{perKg("sea-salt", 500, formula.IntoBatter)} }).
		then(74, "In rounds now: nothing to cut.", func(f *formula.Formula) { f.FatsG = 1400 }).
		then(26, "20 % free, kinder in winter.", func(f *formula.Formula) { f.SuperfatPct = 20 })
}

func milkBar() book {
	return begin(127, "Milk powder at trace.",
		basic("Milkhouse bar", 1100, 5, 33, fat("olive-oil", 48), fat("coconut-oil", 24), fat("shea-butter", 16), fat("almond-oil-sweet", 7),
			fat("castor-oil", 5)),
		func(f *formula.Formula) {
			f.Extras = []formula.Extra{perKg("goat-milk-powder", 20, formula.IntoBatter)}
		}).
		then(55, "Half the liquid is milk, kept out of the lye; the rest goes in as ice, most of it.", func(f *formula.Formula) {
			f.Extras = []formula.Extra{{ID: "goat-milk", Dose: 30, Per: formula.PerLiquid, Into: formula.IntoBatter}}
			f.Liquid = formula.Liquid{IcePct: 60}
		})
}

func hotBatch() book {
	return begin(88, "Cooked, with the shea stirred in after: it stays itself.",
		basic("Keeper's hot batch", 1200, 2, 30, fat("olive-oil", 55), fat("coconut-oil", 28), fat("castor-oil", 7), fat("beef-tallow", 5)),
		func(f *formula.Formula) {
			f.Method = formula.Hot
			f.Fats = append(f.Fats, formula.Fat{ID: "shea-butter", Pct: 5, Cooked: true})
			f.Extras = []formula.Extra{perKg("sodium-lactate", 20, formula.IntoCooked)}
		}).
		then(41, "Scented after the cook.", func(f *formula.Formula) {
			f.Scents = []formula.Scent{scent("Clove and rope", 2, 3.1)}
		}).
		then(33, "Weighed the pot before and after: 14 % of the water boils off.", func(f *formula.Formula) {
			f.CookLossPct = quantity.Some(14.0)
			f.Scents[0].Constituents = []formula.Constituent{{Name: "Eugenol", Pct: 11}, {Name: "Cinnamal", Pct: 0.3}}
		})
}

func ropewalk() book {
	return begin(99, "Beeswax for the snap.", basic("Ropewalk bar", 1000, 5, 33,
		fat("olive-oil", 60), fat("coconut-oil", 24), fat("cocoa-butter", 8), fat("castor-oil", 6), fat("beeswax", 2))).
		then(60, "Oatmeal, for hands that have hauled.", func(f *formula.Formula) {
			f.Extras = []formula.Extra{perKg("oatmeal", 15, formula.IntoBatter)}
		})
}

func fogSignal() book {
	return begin(5, "Asked for stronger. The certificate has to be read again before this one is poured.",
		basic("Fog signal", 800, 5, 33, fat("olive-oil", 50), fat("coconut-oil", 28), fat("sunflower-oil-high-oleic", 14), fat("castor-oil", 8)),
		func(f *formula.Formula) { f.Scents = []formula.Scent{scent("Bog myrtle and tar", 5, 2.4)} })
}
