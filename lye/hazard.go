package lye

import (
	"math"
	"slices"
)

// ClassSource is where Classify's limits come from.
const ClassSource = "Regulation (EC) No 1272/2008 (CLP), Annex VI: index 011-002-00-6 (NaOH), 019-002-00-8 (KOH)"

// Statement is a hazard statement of CLP, with its code.
type Statement struct{ Code, Text string }

// The statements in use, in the words of CLP, Annex III.
var (
	h302 = Statement{"H302", "Harmful if swallowed."}
	h314 = Statement{"H314", "Causes severe skin burns and eye damage."}
	h315 = Statement{"H315", "Causes skin irritation."}
	h319 = Statement{"H319", "Causes serious eye irritation."}
)

// Class is how CLP classes a solution, for the label of a lye container and for
// the sheet. It does not replace the supplier's safety data sheet.
type Class struct {
	Category   string // such as "Skin Corr. 1A"; "" when no class follows from the limits
	Signal     string // "Danger", "Warning" or ""
	Statements []Statement
	Pictograms []string // such as "GHS05"
}

// Classify returns the class of a solution with the mass fraction w of alkali,
// or of the solid (w = 1), by the limits of the harmonised entries:
//
//	5 % and over       burns (1A)
//	2 to under 5 %     burns (1B)
//	0.5 to under 2 %   irritates
//	under 0.5 %        no class follows, which does not mean that it is without danger
//
// KOH from 5 % up also carries the statement of its oral class, H302. For a
// solution this is rather too strict, because the exact limit takes a toxicity
// calculation. A w outside 0 to 1, or NaN, is classed as the solid.
func Classify(a Alkali, w float64) Class {
	if !(w >= 0) || w > 1 {
		w = 1
	}
	// The shares are compared in hundred-thousandths, so that 2 g in 100 g
	// counts as 2 % despite rounding in the last bit.
	switch parts := math.Round(w * 1e5); {
	case parts >= 5000:
		c := Class{Category: "Skin Corr. 1A", Signal: "Danger", Statements: []Statement{h314}, Pictograms: []string{"GHS05"}}
		if a == KOH {
			c.Statements = append(c.Statements, h302)
			c.Pictograms = append(c.Pictograms, "GHS07")
		}
		return c
	case parts >= 2000:
		return Class{Category: "Skin Corr. 1B", Signal: "Danger", Statements: []Statement{h314}, Pictograms: []string{"GHS05"}}
	case parts >= 500:
		return Class{Category: "Skin Irrit. 2, Eye Irrit. 2", Signal: "Warning", Statements: []Statement{h315, h319}, Pictograms: []string{"GHS07"}}
	}
	return Class{}
}

// Moment is when a caution is needed: at the work that it is about.
type Moment uint8

const (
	// BeforeOpening is before the alkali's container is opened.
	BeforeOpening Moment = iota
	// Weighing is the weighing of alkali.
	Weighing
	// Pouring is when alkali goes into the water.
	Pouring
	// Splash is lye or alkali on skin, in an eye, swallowed or breathed in.
	Splash
	// Spill is alkali or lye on the bench or the floor.
	Spill
	// Waste is what is left over.
	Waste
	// Storage is the storage of alkali and of made lye.
	Storage
)

// Caution is one short sentence for a page or a sheet. It comes before, and never
// instead of, the supplier's safety data sheet.
type Caution struct {
	Key    string // stable, kebab-case
	When   Moment
	Text   string
	Source string
}

const (
	icsc     = "International Chemical Safety Card 0360 (NaOH)"
	clp      = "precautionary statements of CLP, Annex IV"
	practice = "common practice, no source"
)

var cautions = []Caution{
	{"wear", BeforeOpening, "Put on goggles, alkali-proof gloves, long sleeves, an apron and closed shoes before you open the alkali.",
		icsc + "; P280, " + clp},
	{"air", BeforeOpening, "Open a window or run the fan, and do not breathe dust, mist or steam.", "P260, " + clp},
	{"others", BeforeOpening, "Keep children and animals out of the room, and food off the bench.", practice},
	{"sheet", BeforeOpening, "Read the supplier's safety data sheet first; where it differs from this sheet, follow it.", practice},
	{"rinse-ready", BeforeOpening, "Know the nearest running water before you start.", practice},

	{"materials", Weighing, "No aluminium, zinc or tin: lye eats them and gives off hydrogen, which explodes. Use stainless steel, polypropylene, " +
		"HDPE or silicone.", icsc + "; list of what resists: " + practice},
	{"no-glass", Weighing, "No glass jug: heat cracks it, lye etches it, and one day it shatters.", practice},
	{"dry-cup", Weighing, "Weigh the alkali in a dry cup of its own and close the container at once: it draws water from the air.", icsc},
	{"too-much", Weighing, "If you have weighed too much alkali, tip the rest into a labelled dry waste cup, never back into its container.", practice},

	{"water-first", Pouring,
		"Put the water into the heatproof jug first, then add the alkali to it little by little, stirring. Never pour water onto alkali, " +
			"and never add water to made lye.", icsc},
	{"cold-liquid", Pouring, "Start with cold water or ice: never hot water, hot milk or alcohol. The lye heats by itself, spits and steams.",
		icsc + "; heat of solution: CRC Handbook of Chemistry and Physics"},
	{"flames", Pouring, "No flame or hotplate near spirit sprays, and nothing that burns near hot lye.", icsc},
	{"acids", Pouring, "Keep acids away from strong lye: they react violently.", icsc},

	{"splash-skin", Splash, "On skin: take off wet clothing and rinse with running water at once, for 15 minutes or more. Never use vinegar. " +
		"Then get medical help.", icsc + "; P303+P361+P353, " + clp + "; 15 minutes: university laboratory practice"},
	{"splash-eye", Splash, "In an eye: rinse with running water at once, lenses out, keep rinsing for 15 minutes or more, and get medical help " +
		"without delay.", icsc + "; P305+P351+P338, " + clp + "; 15 minutes: university laboratory practice"},
	{"swallowed", Splash, "Swallowed: rinse the mouth, do not bring on vomiting, and call the emergency number or a poison centre at once.",
		icsc + "; P301+P330+P331, P310, " + clp},
	{"breathed", Splash, "Breathed in: fresh air, rest, and medical help.", icsc + "; P304+P340, " + clp},

	{"spill", Spill, "Still in goggles and gloves: sweep up dry alkali into a dry plastic tub, then rinse the rest away with much water.", icsc},

	{"waste", Waste, "Leftover lye is still lye: keep it labelled and closed, and dispose of it by local rules.", "P501, " + clp},

	{"store", Storage, "Keep alkali dry, closed, labelled and locked up, apart from acids, metals and food.", icsc + "; P405, " + clp},
	{"opened-on", Storage, "Write the opening date on the container: alkali that has drawn water and carbon dioxide from the air is weaker than its " +
		"label.", icsc},
	{"lye-label", Storage, "If made lye has to wait, label it with its name, strength and date. Never put it in a drinks bottle.", practice},
}

// Cautions returns the cautions of working with lye, in the order of the work.
func Cautions() []Caution { return slices.Clone(cautions) }

// CautionsFor returns the cautions for one moment.
func CautionsFor(m Moment) []Caution {
	var out []Caution
	for _, c := range cautions {
		if c.When == m {
			out = append(out, c)
		}
	}
	return out
}
