// Package formula holds what the maker writes down for one batter: which fats,
// how much of them stays free, how the water is set, and what else goes in. It
// reads and writes formulas and refuses what cannot be read. Package soap does
// the sums.
package formula

import "barwright/quantity"

// Method is how the batter becomes soap.
type Method uint8

const (
	// MethodUnset means that no method was chosen. It is refused.
	MethodUnset Method = iota
	// Cold saponifies in the mould.
	Cold
	// Hot is cooked. A fat may be stirred in after the cook and stays free.
	Hot
	// Melt is ready-made soap base, melted and poured, with no lye and no fats.
	// FatsG is then the mass of base, and Bases is what it is made of. A dose
	// 'of fats' is then a dose of base.
	Melt
)

// Formula is one batter, as the maker wrote it. Masses are in g and shares in
// percent.
type Formula struct {
	Name        string  `json:"name"`
	Method      Method  `json:"method"`
	SuperfatPct float64 `json:"superfat_pct"` // % of the saponifiable fat left free, in [0, 100)
	Water       Water   `json:"water"`
	FatsG       float64 `json:"fats_g"` // total mass of the fats, or of the base for Melt
	// CureWaterLossPct is the share of all water that is gone when the bar is
	// sold. When unknown it is the studio's own, or else 60.
	CureWaterLossPct quantity.Maybe `json:"cure_water_loss_pct,omitzero"`
	// PourC is the temperature at which volumes are worked out. When unknown it
	// is 40 °C, or 60 °C for a melt.
	PourC  quantity.Maybe `json:"pour_c,omitzero"`
	Alkali Alkali         `json:"alkali"`
	// ScaleDivisionG is the smallest step of the scale's display. When unknown,
	// weighing is taken as exact and a finding says so.
	ScaleDivisionG quantity.Maybe `json:"scale_division_g,omitzero"`
	Fats           []Fat          `json:"fats"`
	// ByWeight says that the maker typed weights and the shares follow from
	// them. Only the page shows a difference: the shares here are always set.
	ByWeight bool    `json:"by_weight,omitzero"`
	Extras   []Extra `json:"extras,omitempty"`
	Scents   []Scent `json:"scents,omitempty"`
	Liquid   Liquid  `json:"liquid,omitzero"`
	// CookLossPct is the share of all the water that boils off in the cook, %
	// (method hot). The batter is lighter by that much when poured. Unknown
	// counts as none.
	CookLossPct quantity.Maybe `json:"cook_loss_pct,omitzero"`
	// DensityGML is the density as poured, g/mL, measured from a pot of this
	// formula. When unknown it is estimated from the ingredients.
	DensityGML quantity.Maybe `json:"measured_density_g_ml,omitzero"`
	// Stage is how thick a batter that is not divided is when it is used.
	// Piping needs it thick, and dough is kneaded.
	Stage Stage `json:"stage,omitzero"`
	// Portions are what the batter is divided into, in the order of pouring.
	Portions []Portion `json:"portions,omitempty"`
	// Bases are the ready-made soaps of a melt, as shares of FatsG. For Melt
	// only.
	Bases []Base `json:"bases,omitempty"`
	// Melting is how the base was melted before and is to be melted. For Melt
	// only.
	Melting Melting `json:"melting,omitzero"`
	Notes   string  `json:"notes,omitempty"`
}

// Stage is how thick a batter is, in the trade's words.
type Stage uint8

const (
	// AnyStage means that no thickness was chosen.
	AnyStage Stage = iota
	// ThinTrace runs like single cream and fills every corner.
	ThinTrace
	// MediumTrace holds a line on its surface for a moment.
	MediumTrace
	// ThickTrace keeps a peak and can be piped.
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
	// ByRest takes what the other portions leave, for at most one portion.
	// Amount is not used.
	ByRest
)

// Portion is one part of a batter: its size, its colours, and how thick it is
// when it is used. Its colourants are added to its share of the batter.
type Portion struct {
	Name       string    `json:"name"` // unique in the formula; case does not count
	By         PortionBy `json:"by"`
	Amount     float64   `json:"amount"`
	Stage      Stage     `json:"stage,omitzero"`
	Colourants []Colour  `json:"colourants,omitempty"`
}

// Colour is a colourant in a portion.
type Colour struct {
	ID string `json:"id"` // in the catalogue
	// GPerKg is g per kg of the portion's batter, not counting the colourant.
	GPerKg float64 `json:"g_per_kg"`
	// Typed keeps the dose as the maker typed it. For a portion the pound is a
	// pound of batter, not of fats.
	Typed Typed `json:"typed,omitzero"`
}

// Base is one ready-made soap base of a melt. The limits are those that its
// supplier gives.
type Base struct {
	Name       string         `json:"name"`
	Pct        float64        `json:"pct"`                   // % of FatsG
	INCI       string         `json:"inci,omitempty"`        // as its supplier declares it, separated by commas
	DensityGML quantity.Maybe `json:"density_g_ml,omitzero"` // molten; assumed when unknown
	SoftensC   quantity.Maybe `json:"softens_c,omitzero"`    // °C at which the set base begins to soften
	MaxMeltC   quantity.Maybe `json:"max_melt_c,omitzero"`   // °C; a hotter melt spoils the base
	MaxPourC   quantity.Maybe `json:"max_pour_c,omitzero"`   // °C; a hotter pour spoils what it is poured on or into
}

// Melting is how a melt is melted and how it was melted before.
type Melting struct {
	// MeltC is the temperature at which it is melted, °C. The pour temperature
	// is the formula's PourC.
	MeltC quantity.Maybe `json:"melt_c,omitzero"`
	// Remelts is how many times it was melted before, at least 0.
	Remelts int `json:"remelts,omitzero"`
	// EvaporationPct is the loss of mass while molten, % of what went in, as
	// weighed before and after. Unknown counts as none.
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
	FullPct float64   `json:"full_pct,omitzero"` // for ByDiscount only: what counts as full water, % of fats
}

// Alkali is the alkali that saponifies.
type Alkali struct {
	KOHMolPct          float64        `json:"koh_mol_pct"` // share of the alkali supplied as KOH, mol %
	NaOHPurityPct      quantity.Maybe `json:"naoh_purity_pct,omitzero"`
	KOHPurityPct       quantity.Maybe `json:"koh_purity_pct,omitzero"`
	PurityHalfWidthPct float64        `json:"purity_half_width_pct"` // rectangular, the same for both
	// A ready-mixed solution is weighed as one line. Its strength, % by mass,
	// replaces the purity, and the rest of it is water.
	NaOHSolutionPct quantity.Maybe `json:"naoh_solution_pct,omitzero"`
	KOHSolutionPct  quantity.Maybe `json:"koh_solution_pct,omitzero"`
}

// Fat is one fat of the formula.
type Fat struct {
	ID  string  `json:"id"`  // in the catalogue
	Pct float64 `json:"pct"` // % of FatsG
	// SAP is a certificate's value, mg KOH/g. SAPHalfWidth is its tolerance,
	// and 1 % of the value when unknown.
	SAP          quantity.Maybe `json:"sap_mg_koh_g,omitzero"`
	SAPHalfWidth quantity.Maybe `json:"sap_half_width,omitzero"`
	Cooked       bool           `json:"cooked,omitzero"` // stirred in after the cook, so that it stays free and unchanged
}

// Per says what a dose is counted on.
type Per uint8

const (
	// PerKgFats is g per kg of fats.
	PerKgFats Per = iota
	// PerKgBatter is g per kg of batter, which includes the dose itself.
	PerKgBatter
	// PerBatch is g in the whole batch as written. It scales with the batch.
	PerBatch
	// PerLiquid is % by mass of all the liquid: water and what replaces it.
	PerLiquid
)

// Into is where an extra goes.
type Into uint8

const (
	// IntoBatter goes in at trace. It is the default.
	IntoBatter Into = iota
	// IntoLye goes into the lye solution.
	IntoLye
	// IntoFats goes into the fats before the lye.
	IntoFats
	// IntoCooked goes in after the cook (method hot).
	IntoCooked
)

// Extra is something added besides fats, alkali and water.
type Extra struct {
	ID   string  `json:"id"`
	Dose float64 `json:"dose"` // g as Per says; % for PerLiquid
	Per  Per     `json:"per"`
	Into Into    `json:"into"`
	// Typed keeps the dose as the maker typed it. The zero Typed means plain
	// grams.
	Typed Typed `json:"typed,omitzero"`
	// These override the catalogue.
	FatPct   quantity.Maybe `json:"fat_pct,omitzero"`
	WaterPct quantity.Maybe `json:"water_pct,omitzero"`
	SAP      quantity.Maybe `json:"sap_mg_koh_g,omitzero"` // of the fat in it, mg KOH/g
}

// DoseUnit is the unit in which a dose was typed.
type DoseUnit uint8

const (
	// Grams is g per kg, or g per batch.
	Grams DoseUnit = iota
	// OuncesPerPound is oz per lb of fats: 1 oz/lb is 62.5 g/kg.
	OuncesPerPound
	// TeaspoonsPerPound is level US teaspoons per lb of fats.
	TeaspoonsPerPound
)

// Typed is a dose as the maker typed it. Dose was worked out from it.
type Typed struct {
	Unit   DoseUnit `json:"unit"`
	Amount float64  `json:"amount"`
	// GramsPerTsp is the mass that a teaspoon was taken to have. Measured says
	// that the studio weighed it. Otherwise it is assumed, and the sheet prints
	// teaspoons.
	GramsPerTsp float64 `json:"grams_per_tsp,omitzero"`
	Measured    bool    `json:"measured,omitzero"`
}

// Of is what a scent's dose is a share of.
type Of uint8

const (
	// OfFats is % of the mass of fats.
	OfFats Of = iota
	// OfBatter is % of the batter, which includes the scent itself.
	OfBatter
	// OfBar is % of the cured bar, which includes the scent itself.
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
	// Constituents are the substances that its certificate states: allergens
	// and whatever else has a limit of its own.
	Constituents []Constituent `json:"constituents,omitempty"`
}

// Constituent is a substance that a scent's certificate states.
type Constituent struct {
	Name string  `json:"name"` // as declared, such as 'Linalool'
	Pct  float64 `json:"pct"`  // % of the scent, by mass
}

// Liquid is how the weighed water is handled. Milk and other liquids that
// replace water are extras with PerLiquid.
type Liquid struct {
	IcePct   float64        `json:"ice_pct,omitzero"`   // share of the water for the lye that is weighed as ice
	LaterPct float64        `json:"later_pct,omitzero"` // share of all the water that is kept back from the lye and goes into the batter
	PeakC    quantity.Maybe `json:"peak_c,omitzero"`    // the peak wanted; the ice follows from it, and IcePct is not used
}
