package demo

import (
	"barwright/formula"
	"barwright/quantity"
)

// base is a ready-made soap base with the limits of a supplier that is as
// invented as the base.
func base(name, inci string, pct, density, softensC, maxMeltC, maxPourC float64) formula.Base {
	return formula.Base{Name: name, Pct: pct, INCI: inci, DensityGML: quantity.Some(density), SoftensC: quantity.Some(softensC),
		MaxMeltC: quantity.Some(maxMeltC), MaxPourC: quantity.Some(maxPourC)}
}

func clearBase(pct float64) formula.Base {
	return base("Clear base (invented)", "Aqua, Glycerin, Sodium Stearate, Sorbitol, Sodium Laurate, Propylene Glycol", pct, 1.09, 56, 75, 65)
}

func opaqueBase(pct float64) formula.Base {
	return base("Opaque base (invented)", "Aqua, Glycerin, Sodium Palmate, Sodium Cocoate, Titanium Dioxide", pct, 1.07, 54, 72, 62)
}

// melted is a melt as Quillfen begins one.
func melted(name string, baseG, meltC, pourC float64, bases ...formula.Base) *formula.Formula {
	return &formula.Formula{
		Name: name, Method: formula.Melt, FatsG: baseG, PourC: quantity.Some(pourC), Bases: bases,
		Melting: formula.Melting{MeltC: quantity.Some(meltC)}, ScaleDivisionG: quantity.Some(0.1),
		Notes: "Invented, as is everything of the Quillfen studio. The supplier's sheet says how hot a base may get: read it again with every new drum.",
	}
}

func share(name string, pct float64, stage formula.Stage, colours ...formula.Colour) formula.Portion {
	return formula.Portion{Name: name, By: formula.ByShare, Amount: pct, Stage: stage, Colourants: colours}
}

func rest(name string, stage formula.Stage, colours ...formula.Colour) formula.Portion {
	return formula.Portion{Name: name, By: formula.ByRest, Stage: stage, Colourants: colours}
}

func colour(id string, gPerKg float64) formula.Colour { return formula.Colour{ID: id, GPerKg: gPerKg} }

func lampGlow() book {
	return begin(118, "For the lamps. Clear, a breath of yellow.",
		melted("Lamp glow", 180, 68, 60, clearBase(100)),
		func(f *formula.Formula) {
			f.Portions = []formula.Portion{rest("Amber", formula.AnyStage, colour("iron-oxide-yellow", 0.4))}
		}).
		then(91, "Weighed before and after: 0.8 % goes off as steam. Covered from now on.", func(f *formula.Formula) {
			f.Melting.EvaporationPct = quantity.Some(0.8)
		}).
		then(44, "Last week's offcuts melted in once more.", func(f *formula.Formula) { f.Melting.Remelts = 1 })
}

func darkRock() book {
	return begin(116, "Rock for the foot of the tower. Too hot: the tower wept where they meet.",
		melted("Dark rock", 900, 70, 62, opaqueBase(60), clearBase(40)),
		func(f *formula.Formula) {
			f.Portions = []formula.Portion{rest("Rock", formula.AnyStage, colour("iron-oxide-black", 4))}
		}).
		then(89, "Poured at 54 °C, and it takes. Charcoal for half of the black, for the grain.", func(f *formula.Formula) {
			f.PourC, f.Melting.EvaporationPct = quantity.Some(54), quantity.Some(1.1)
			f.Portions[0].Colourants = []formula.Colour{colour("iron-oxide-black", 2), colour("charcoal", 2)}
		})
}

func nightGlaze() book {
	return begin(63, "Clear, over the lamps of the winter lantern.",
		melted("Night glaze", 420, 68, 52, clearBase(100)),
		func(f *formula.Formula) {
			f.Melting.EvaporationPct = quantity.Some(0.8)
			f.Portions = []formula.Portion{rest("Clear", formula.AnyStage)}
		})
}

func tower() book {
	return begin(115, "Storm lantern's fats for the tower, divided: white, and a red band.",
		basic("Tower and band", 1620, 5, 33, fat("olive-oil", 38), fat("coconut-oil", 25), fat("shea-butter", 14), fat("cocoa-butter", 9),
			fat("sunflower-oil-high-oleic", 8), fat("castor-oil", 6)),
		func(f *formula.Formula) {
			f.Extras = []formula.Extra{perKg("sodium-lactate", 18, formula.IntoLye)}
			f.Portions = []formula.Portion{share("Red band", 30, formula.ThinTrace, colour("iron-oxide-red", 6)),
				rest("Tower white", formula.ThinTrace, colour("titanium-dioxide", 5))}
		}).
		then(90, "Scented, with the certificate's constituents written down.", func(f *formula.Formula) {
			s := scent("Fig and sea salt", 3.2, 6.2)
			s.Constituents = []formula.Constituent{{Name: "Linalool", Pct: 6.4}, {Name: "Limonene", Pct: 3.1}, {Name: "Coumarin", Pct: 0.6}}
			f.Scents = []formula.Scent{s}
		}).
		then(49, "Less red: at 6 g it coloured the lather.", func(f *formula.Formula) {
			f.Portions[0].Colourants = []formula.Colour{colour("iron-oxide-red", 4)}
		})
}

func nightSea() book {
	return begin(64, "Dark blue for the lantern fair. Pour it cool: the lamps stand in it.",
		basic("Night sea", 1100, 5, 31, fat("olive-oil", 50), fat("coconut-oil", 24), fat("shea-butter", 14), fat("castor-oil", 12)),
		func(f *formula.Formula) {
			f.PourC = quantity.Some(32)
			f.Portions = []formula.Portion{rest("Night", formula.MediumTrace, colour("ultramarine", 9))}
		}).
		then(35, "Orange and clove, weak: it is a bar for children's hands too.", func(f *formula.Formula) {
			s := scent("Orange and clove", 1.2, 2.8)
			s.Constituents = []formula.Constituent{{Name: "Limonene", Pct: 41}, {Name: "Eugenol", Pct: 4.2}, {Name: "Linalool", Pct: 1.8}}
			f.Scents = []formula.Scent{s}
		})
}

func pebbleDough() book {
	return begin(95, "To knead and press. Kept wrapped for two days before it is touched.",
		basic("Pebble dough", 500, 4, 34, fat("coconut-oil", 25), fat("palm-oil", 30), fat("shea-butter", 20), fat("olive-oil", 20), fat("castor-oil", 5)),
		func(f *formula.Formula) {
			f.Stage = formula.Dough
			f.Portions = []formula.Portion{share("Grey", 60, formula.Dough, colour("charcoal", 3), colour("titanium-dioxide", 4)),
				rest("White", formula.Dough, colour("titanium-dioxide", 8))}
		}).
		then(52, "Tallow for palm, from the island's own cows.", func(f *formula.Formula) {
			f.Fats = []formula.Fat{fat("coconut-oil", 25), fat("beef-tallow", 30), fat("shea-butter", 20), fat("olive-oil", 20), fat("castor-oil", 5)}
		})
}
