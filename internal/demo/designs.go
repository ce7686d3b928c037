package demo

import (
	"slices"

	"barwright/design"
	"barwright/formula"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

// drawing is the history of one design. Its mould, formulas and embeds go by
// their names, for their ids are given when they are kept.
type drawing = history[*design.Design]

func draw(daysAgo int, note string, d *design.Design) drawing {
	return drawing{name: d.Name, versions: []written[*design.Design]{{d, note, daysAgo}}, clone: clone}
}

// clone is a design whose parts can be changed without changing those of d.
func clone(d *design.Design) *design.Design {
	out := *d
	out.Parts = slices.Clone(d.Parts)
	return &out
}

func pour(formulaName, portion, name string, fillPct float64, wait design.Wait, note string, reminders ...string) design.Part {
	return design.Part{Kind: design.Pour, Formula: formulaName, Portion: portion, Name: name, FillToPct: quantity.Some(fillPct),
		Wait: wait, Note: note, Reminders: reminders}
}

func topping(formulaName, portion, name string, fillPct float64, wait design.Wait, note string, reminders ...string) design.Part {
	p := pour(formulaName, portion, name, fillPct, wait, note, reminders...)
	p.Kind = design.Topping
	return p
}

func embed(designName string, count, sunkPct, coveredPct float64, note string, reminders ...string) design.Part {
	return design.Part{Kind: design.Embed, Design: designName, Count: quantity.Some(count), SunkPct: sunkPct, CoveredPct: coveredPct,
		Note: note, Reminders: reminders}
}

func sprinkle(item string, g float64, note string) design.Part {
	return design.Part{Kind: design.Sprinkle, Item: item, MassG: quantity.Some(g), Note: note}
}

func wrap(item string) design.Part {
	return design.Part{Kind: design.Wrap, Item: item, Count: quantity.Some(1.0)}
}

func after(minutes float64, until string) design.Wait {
	return design.Wait{Minutes: quantity.Some(minutes), Until: until}
}

const (
	hour = 60.0
	day  = 24 * hour
)

// designs are what the studio builds, embeds before what takes them.
func designs() []drawing {
	return []drawing{lamp(), doughPebble(), lighthouse(), winterLantern(), pebbleBar(), kelpCube(), keepersRound(), harbourLights()}
}

func lamp() drawing {
	return draw(110, "Cast on a quiet evening, kept in a closed tin.", &design.Design{Name: "Lamp", Mould: "Lamp, small",
		Note: "Invented, as is everything of the Quillfen studio. Keep the lamps closed from the air until they are set: they sweat.",
		Parts: []design.Part{pour("Lamp glow", "Amber", "glow", 96, design.Wait{}, "Spray the bubbles away with alcohol; no flame near it.",
			"Put the kettle on: the base wants a water bath")}}).
		then(70, "To the brim less a hair: the full ones had a skirt.", func(d *design.Design) { d.Parts[0].FillToPct = quantity.Some(94.0) })
}

func doughPebble() drawing {
	return draw(94, "Two greys pressed together by hand.", &design.Design{Name: "Dough pebble", Mould: "Pebble press",
		Note: "Invented. Rolled and pressed by hand; no two are alike, and that is the point.",
		Parts: []design.Part{
			pour("Pebble dough", "Grey", "grey", 62, after(2*day, "it kneads without sticking"), "Press it in from the middle outwards. Gloves."),
			pour("Pebble dough", "White", "vein", 100, design.Wait{}, "A thin sausage across, pressed flush."),
		}})
}

func lighthouse() drawing {
	d := &design.Design{Name: "Lighthouse", Mould: "Lighthouse, sculpted",
		Note: "Invented. Poured upside down: the dome first, the rock last; turned over to pipe.",
		Parts: []design.Part{
			pour("Tower and band", "Tower white", "dome", 16, design.Wait{}, "Tap each mould twice for the railing.", "Start the camera"),
			embed("Lamp", 1, 60, 40, "Wiped dry, flat side up, in the middle."),
			pour("Tower and band", "Red band", "band", 42, after(5, "the dome holds the lamp"), "Over a spoon, so that the dome stays white."),
			pour("Tower and band", "Tower white", "tower", 80, after(10, "the band holds a line"), "To four fifths: the line inside the mould."),
			topping("Dark rock", "Rock", "rock", 100, after(20, "skinned over"), "At 54 °C or cooler, by the thermometer.", "Put the kettle on"),
		}}
	return draw(109, "The first that came out whole.", d).
		then(86, "Foam round the rock, and salt on it while it is soft.", func(d *design.Design) {
			d.Parts = append(d.Parts,
				design.Part{Kind: design.Piping, Formula: "Sea foam (piping)", Name: "foam", MassG: quantity.Some(7.5), Stage: formula.ThickTrace,
					Wait: after(3*day, "it lifts out clean; turn it over"), Note: "Star tip, nine tufts round the rock.",
					Reminders: []string{"Start the camera again"}},
				sprinkle("Sea salt, coarse", 0.4, "While the foam is soft."))
		}).
		then(47, "Wrapped: the band tells the tale, the box keeps the railing whole.", func(d *design.Design) {
			d.Parts = append(d.Parts, wrap("Belly band, printed"), wrap("Box, folded, with an open end"))
		})
}

func winterLantern() drawing {
	return draw(62, "For the winter lantern fair.", &design.Design{Name: "Winter lantern", Mould: "Ship's lamp",
		Note: "Invented. Three lamps in the dark, under a glaze that lets them stand out of it.",
		Parts: []design.Part{
			pour("Night sea", "Night", "night", 70, design.Wait{}, "Cool and thin in the cavity: warm batter softens the lamps.", "Open the window"),
			embed("Lamp", 3, 45, 30, "In a row, tips out.", "Count the lamps before the pour, not after"),
			topping("Night glaze", "Clear", "glaze", 92, after(12*hour, "cold to the back of the hand"), "At 52 °C or cooler: the lamps stand in it."),
			wrap("Waxed paper and string"),
		}}).
		then(34, "Night to two thirds and no more: with the glaze on top it stood too close to the brim.", func(d *design.Design) {
			d.Parts[0].FillToPct = quantity.Some(66.0)
		})
}

func pebbleBar() drawing {
	return draw(93, "The loaf, with pebbles through it.", &design.Design{Name: "Pebble bar", Mould: "Loaf",
		Note: "Invented. Ten bars of a loaf; the amounts are of the loaf, before it is cut.",
		Parts: []design.Part{
			pour("Pebble loaf", "Mist", "mist", 55, design.Wait{}, "", "Start the camera"),
			embed("Dough pebble", 20, 60, 40, "Scattered in two rows, a finger from the ends, where nothing is trimmed."),
			pour("Pebble loaf", "Slate", "slate", 84, after(5, "the mist holds a pebble up"), "From high up in a thin stream: this is the swirl. Hanger "+
				"twice through, lengthwise."),
			pour("Pebble loaf", "Mist", "top", 97, design.Wait{}, "Spooned."),
			wrap("Paper sleeve"),
		}}).
		then(26, "Fewer pebbles: the wire caught on them.", func(d *design.Design) { d.Parts[1].Count = quantity.Some(14.0) })
}

func kelpCube() drawing {
	return draw(65, "Cubes of the slab, seven by five.", &design.Design{Name: "Kelp cube", Mould: "Slab",
		Note: "Invented. The amounts are of the slab, before it is cut.",
		Parts: []design.Part{
			pour("Kelp slab", "", "kelp", 92, design.Wait{}, "Comb the top."),
			sprinkle("Dried kelp, cut", 14, "In lines, one to each row of cubes."),
			wrap("Muslin bag"),
		}}).
		then(17, "Two greens: the mash below, a pale layer on it.", func(d *design.Design) {
			d.Parts = append([]design.Part{
				pour("Kelp slab", "Kelp", "kelp", 62, design.Wait{}, "", "Start the camera"),
				pour("Kelp slab", "Pale", "shallows", 92, after(15, "it bears a spoon's back"), "Over a spatula. Comb the top."),
			}, d.Parts[1:]...)
		})
}

func keepersRound() drawing {
	return draw(32, "The cooked one, in rounds.", &design.Design{Name: "Keeper's round", Mould: "Fog-bell round",
		Note: "Invented. Pressed in hot: gloves, and no dawdling.",
		Parts: []design.Part{
			pour("Keeper's hot batch", "", "round", 96, design.Wait{}, "Pressed down with a spoon, twice round.", "Moulds on a warm tray"),
			sprinkle("Rolled oats", 0.8, "Pressed in with a thumb."),
			wrap("Paper sleeve"),
		}})
}

// harbourLights is a draft that does not fit, and says so.
func harbourLights() drawing {
	h := draw(14, "A draft. It runs over: halve the batter, or take the deeper mould.", &design.Design{Name: "Harbour lights", Mould: "Fog-bell round",
		Note: "Invented. Archived until there is a deeper round.",
		Parts: []design.Part{
			{Kind: design.Pour, Formula: "Night sea", Portion: "Night", Name: "water", VolumeML: quantity.Some(95.0)},
			embed("Lamp", 2, 70, 30, "Side by side."),
			topping("Night glaze", "Clear", "glaze", 115, after(12*hour, "cold"), ""),
		}})
	h.archived = true
	return h
}

// named is a design with ids in the place of names.
func (s *seeding) named(d *design.Design) (out *design.Design, err error) {
	out = clone(d)
	name := func(kind studio.Kind, at *string) {
		if *at != "" && err == nil {
			*at, err = s.id(kind, *at)
		}
	}
	name(studio.KindMould, &out.Mould)
	for i := range out.Parts {
		name(studio.KindFormula, &out.Parts[i].Formula)
		name(studio.KindDesign, &out.Parts[i].Design)
	}
	return out, err
}

// small are the moulds that only designs use.
func small() []mould.Mould {
	return []mould.Mould{
		{Name: "Lamp, small", Shape: mould.ConeFrustum, Dimensions: mould.Dimensions{TopDiameterMM: mm(16), BottomDiameterMM: mm(12), DepthMM: mm(20)},
			Cavities: 24, Sets: 2, ReleaseHours: quantity.Some(3), MaxTempC: quantity.Some(200), Note: "Silicone. Invented."},
		{Name: "Pebble press", Shape: mould.HalfEllipsoid, Dimensions: mould.Dimensions{LengthMM: mm(32), WidthMM: mm(24), DepthMM: mm(14)},
			Cavities: 12, Sets: 2, ReleaseHours: quantity.Some(1), Note: "Pressed full by hand. Invented."},
	}
}
