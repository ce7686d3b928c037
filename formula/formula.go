// Package formula is what the maker writes down for one batter: which fats,
// how much is left free, how the water is set, what else goes in. It reads and
// writes that, and refuses what cannot be read; the sums are package soap's.
package formula

import "barwright/quantity"

// Method is how the batter is made to soap.
type Method uint8

const (
	// MethodUnset is no method: refused.
	MethodUnset Method = iota
	// Cold saponifies in the mould.
	Cold
	// Hot is cooked; a fat may be stirred in after the cook and stays free.
	Hot
	// Melt is ready-made soap base, melted and poured: no lye, no fats. FatsG is
	// then the mass of base, Bases what it is made of, and a dose 'of fats' is of base.
	Melt
)

// Formula is one batter, as written. Masses are g, shares are percent.
type Formula struct {
	Name        string  `json:"name"`
	Method      Method  `json:"method"`
	SuperfatPct float64 `json:"superfat_pct"` // % of the saponifiable fat left free, in [0, 100)
	Water       Water   `json:"water"`
	FatsG       float64 `json:"fats_g"` // total mass of fats; of base, for Melt
	// CureWaterLossPct is the share of all water that is gone when sold; the
	// studio's own, else 60, when unknown.
	CureWaterLossPct quantity.Maybe `json:"cure_water_loss_pct,omitzero"`
	// PourC is the temperature at which volumes are worked out; 40 °C when unknown.
	PourC  quantity.Maybe `json:"pour_c,omitzero"`
	Alkali Alkali         `json:"alkali"`
	// ScaleDivisionG is the smallest step of the scale's display; unknown means
	// that weighing is taken as exact, and a finding says so.
	ScaleDivisionG quantity.Maybe `json:"scale_division_g,omitzero"`
	Fats           []Fat          `json:"fats"`
	// ByWeight: the maker typed weights and the shares follow from them; only
	// the face on the page differs, the shares here are always set.
	ByWeight bool    `json:"by_weight,omitzero"`
	Extras   []Extra `json:"extras,omitempty"`
	Scents   []Scent `json:"scents,omitempty"`
	Liquid   Liquid  `json:"liquid,omitzero"`
	// CookLossPct is the share of all the water that boils off in the cook, %
	// (method hot): what is poured is lighter by it. None when unknown.
	CookLossPct quantity.Maybe `json:"cook_loss_pct,omitzero"`
	// DensityGML is the density as poured, g/mL, measured from a pot of this
	// formula; unknown leaves the estimate from what is in it.
	DensityGML quantity.Maybe `json:"measured_density_g_ml,omitzero"`
	// Stage is how thick an undivided batter is when it is used: piping wants it
	// thick, dough is kneaded.
	Stage Stage `json:"stage,omitzero"`
	// Portions are what the batter is divided into, in the order of pouring.
	Portions []Portion `json:"portions,omitempty"`
	// Bases are the ready-made soaps of a melt, shares of FatsG; Melt only.
	Bases []Base `json:"bases,omitempty"`
	// Melting is how the base was and will be melted; Melt only.
	Melting Melting `json:"melting,omitzero"`
	Notes   string  `json:"notes,omitempty"`
}

// Stage is how thick a batter is. The words are the trade's.
type Stage uint8

const (
	// AnyStage leaves it open.
	AnyStage Stage = iota
	// ThinTrace runs like single cream and fills every corner.
	ThinTrace
	// MediumTrace holds a line on its surface for a moment.
	MediumTrace
	// ThickTrace keeps a peak: for piping.
	ThickTrace
	// Dough is kneaded and shaped by hand.
	Dough
)

// PortionBy is how the size of a portion is set.
type PortionBy uint8

const (
	// ByShare: Amount is % of the batter.
	ByShare PortionBy = iota
	// ByVolume: Amount is mL of batter.
	ByVolume
	// ByMass: Amount is g of batter.
	ByMass
	// ByRest takes what the others leave; at most one portion. Amount is not used.
	ByRest
)

// Portion is one part of a batter: its size, its colours, how thick it is when
// it is used. Its colourants come on top of its share of the batter.
type Portion struct {
	Name       string    `json:"name"` // unique in the formula, without regard to case
	By         PortionBy `json:"by"`
	Amount     float64   `json:"amount"`
	Stage      Stage     `json:"stage,omitzero"`
	Colourants []Colour  `json:"colourants,omitempty"`
}

// Colour is a colourant in a portion.
type Colour struct {
	ID string `json:"id"` // in the catalogue
	// GPerKg is g per kg of the portion's batter, colourant not counted.
	GPerKg float64 `json:"g_per_kg"`
	// Typed keeps the maker's own face of the dose. Of a portion the pound is a
	// pound of batter, not of fats.
	Typed Typed `json:"typed,omitzero"`
}

// Base is one ready-made soap base of a melt. Its limits are its supplier's.
type Base struct {
	Name       string         `json:"name"`
	Pct        float64        `json:"pct"`                   // % of FatsG
	INCI       string         `json:"inci,omitempty"`        // as its supplier declares it, commas between
	DensityGML quantity.Maybe `json:"density_g_ml,omitzero"` // molten; assumed when unknown
	SoftensC   quantity.Maybe `json:"softens_c,omitzero"`    // °C at which the set base begins to give
	MaxMeltC   quantity.Maybe `json:"max_melt_c,omitzero"`   // °C, hotter spoils it
	MaxPourC   quantity.Maybe `json:"max_pour_c,omitzero"`   // °C, hotter spoils what it is poured on or into
}

// Melting is how a melt is and was melted.
type Melting struct {
	// MeltC is the temperature that it is melted at, °C; the pour temperature is
	// the formula's PourC.
	MeltC quantity.Maybe `json:"melt_c,omitzero"`
	// Remelts is how often it was melted before this time, at least 0.
	Remelts int `json:"remelts,omitzero"`
	// EvaporationPct is the loss of mass while molten, % of what went in, as
	// weighed before and after; none when unknown.
	EvaporationPct quantity.Maybe `json:"evaporation_pct,omitzero"`
}

// WaterRule is how the maker sets the water. The zero rule is a lye
// concentration.
type WaterRule uint8

const (
	// ByConcentration: Value is alkali / (alkali + water), % by mass.
	ByConcentration WaterRule = iota
	// ByRatio: Value parts of water to 1 part of alkali, by mass.
	ByRatio
	// ByFats: Value is water as % of the mass of fats.
	ByFats
	// ByDiscount: Value % less than FullPct % of the mass of fats.
	ByDiscount
)

// Water is how much water the alkali is dissolved in, as the maker set it.
type Water struct {
	Rule    WaterRule `json:"rule"`
	Value   float64   `json:"value"`
	FullPct float64   `json:"full_pct,omitzero"` // ByDiscount only: what 'full water' is, % of fats
}

// Alkali is what saponifies.
type Alkali struct {
	KOHMolPct          float64        `json:"koh_mol_pct"` // share of the alkali supplied as KOH, mol %
	NaOHPurityPct      quantity.Maybe `json:"naoh_purity_pct,omitzero"`
	KOHPurityPct       quantity.Maybe `json:"koh_purity_pct,omitzero"`
	PurityHalfWidthPct float64        `json:"purity_half_width_pct"` // rectangular, same for both
	// A ready-mixed solution is weighed as one line: its strength, % by mass,
	// stands in for the purity, and what is not alkali in it is water.
	NaOHSolutionPct quantity.Maybe `json:"naoh_solution_pct,omitzero"`
	KOHSolutionPct  quantity.Maybe `json:"koh_solution_pct,omitzero"`
}

// Fat is one fat of the formula.
type Fat struct {
	ID  string  `json:"id"`  // in the catalogue
	Pct float64 `json:"pct"` // % of FatsG
	// SAP is a certificate's value, mg KOH/g, and SAPHalfWidth its tolerance;
	// 1 % of the value when unknown.
	SAP          quantity.Maybe `json:"sap_mg_koh_g,omitzero"`
	SAPHalfWidth quantity.Maybe `json:"sap_half_width,omitzero"`
	Cooked       bool           `json:"cooked,omitzero"` // stirred in after the cook: stays free, as itself
}

// Per is what a dose is counted on.
type Per uint8

const (
	// PerKgFats: g per kg of fats.
	PerKgFats Per = iota
	// PerKgBatter: g per kg of batter, itself included.
	PerKgBatter
	// PerBatch: g in the whole batch as written; scales with it.
	PerBatch
	// PerLiquid: % of all the liquid (water and what takes its place) by mass.
	PerLiquid
)

// Into is where an extra goes.
type Into uint8

const (
	// IntoBatter at trace; the default.
	IntoBatter Into = iota
	// IntoLye, the lye solution.
	IntoLye
	// IntoFats before the lye.
	IntoFats
	// IntoCooked after the cook (method hot).
	IntoCooked
)

// Extra is what goes in beside fats, alkali and water.
type Extra struct {
	ID   string  `json:"id"`
	Dose float64 `json:"dose"` // g by Per; % for PerLiquid
	Per  Per     `json:"per"`
	Into Into    `json:"into"`
	// Typed keeps the maker's own face of the dose; the zero Typed is plain grams.
	Typed Typed `json:"typed,omitzero"`
	// Overrides of the catalogue.
	FatPct   quantity.Maybe `json:"fat_pct,omitzero"`
	WaterPct quantity.Maybe `json:"water_pct,omitzero"`
	SAP      quantity.Maybe `json:"sap_mg_koh_g,omitzero"` // of the fat in it, mg KOH/g
}

// DoseUnit is the face in which a dose was typed.
type DoseUnit uint8

const (
	// Grams per kg (or per batch).
	Grams DoseUnit = iota
	// OuncesPerPound of fats: 1 oz/lb is 62.5 g/kg.
	OuncesPerPound
	// TeaspoonsPerPound of fats, a level US teaspoon.
	TeaspoonsPerPound
)

// Typed is a dose as the maker typed it, from which Dose was worked out.
type Typed struct {
	Unit   DoseUnit `json:"unit"`
	Amount float64  `json:"amount"`
	// GramsPerTsp is the mass the teaspoon was taken as; Measured says that the
	// studio weighed it, else it is assumed and the sheet prints teaspoons.
	GramsPerTsp float64 `json:"grams_per_tsp,omitzero"`
	Measured    bool    `json:"measured,omitzero"`
}

// Of is what a scent's dose is a share of.
type Of uint8

const (
	// OfFats: % of the mass of fats.
	OfFats Of = iota
	// OfBatter: % of the batter, itself included.
	OfBatter
	// OfBar: % of the cured bar, itself included.
	OfBar
)

// Scent is one fragrance or essential oil.
type Scent struct {
	Name     string         `json:"name"`
	DosePct  float64        `json:"dose_pct"`
	Of       Of             `json:"of"`
	LimitPct quantity.Maybe `json:"limit_pct,omitzero"` // of the finished product, from its certificate
	// Category and Dated are the certificate's product category and date, as printed.
	Category string `json:"category,omitempty"`
	Dated    string `json:"dated,omitempty"`
	Typed    Typed  `json:"typed,omitzero"`
	// Constituents are what its certificate states of what is in it: allergens
	// and whatever else has a limit of its own.
	Constituents []Constituent `json:"constituents,omitempty"`
}

// Constituent is a substance that a scent's certificate states.
type Constituent struct {
	Name string  `json:"name"` // as declared: 'Linalool'
	Pct  float64 `json:"pct"`  // % of the scent, by mass
}

// Liquid is how the water that is weighed is handled. Milk and its like in
// place of water are extras, PerLiquid.
type Liquid struct {
	IcePct   float64        `json:"ice_pct,omitzero"`   // of the water into the lye, weighed as ice
	LaterPct float64        `json:"later_pct,omitzero"` // of all the water, kept back from the lye, into the batter
	PeakC    quantity.Maybe `json:"peak_c,omitzero"`    // the peak wanted; ice is worked out and IcePct not used
}
