// Package catalogue is what the studio may put into a formula: fats with their
// fatty acids, everything else that goes in beside them, and where each value
// comes from. It knows no formula.
package catalogue

import "barwright/quantity"

// Acid is a fatty acid, an index into the table of fatty acids and into every
// Profile.
type Acid uint8

// The fatty acids of the catalogue, by carbons and double bonds; OH is the
// hydroxyl of ricinoleic acid.
const (
	C4x0 Acid = iota
	C6x0
	C8x0
	C10x0
	C12x0
	C14x0
	C16x0
	C16x1
	C18x0
	C18x1
	C18x1OH
	C18x2
	C18x3
	C20x0
	C20x1
	C22x0
	C22x1
	C24x0
	C24x1
	NumAcids = iota
)

// Group is what a fatty acid does in the bar, in our own five words.
type Group uint8

const (
	// Quick dissolves fast: early, big lather, takes more oil off the skin.
	Quick Group = iota
	// Slow dissolves slowly: a firm bar that wears well.
	Slow
	// Mellow is soft, mild, slow to lather.
	Mellow
	// Fleeting is mild, but the first to turn rancid.
	Fleeting
	// Holder holds a lather, draws water.
	Holder
	NumGroups = iota
)

// AcidInfo is what is known of one fatty acid.
type AcidInfo struct {
	Acid          Acid
	Symbol        string // as "C18:1-OH"
	Trivial       string // as "ricinoleic"
	Systematic    string
	Formula       string // as "C18H34O3"
	MolarMass     float64
	DoubleBonds   int
	Hydroxyls     int
	Group         Group
	INCIAcid      string
	INCISodium    string // may be empty: not sure that it is listed
	MeltingC      quantity.Maybe
	INCISource    string
	MeltingSource string
	MolarSource   string
}

// FatKind is how a fat meets alkali.
type FatKind uint8

const (
	// Triglyceride saponifies, three acids and a glycerol.
	Triglyceride FatKind = iota
	// FreeAcid neutralises at once: water, no glycerol.
	FreeAcid
	// Wax is esters without glycerol that the cold process hardly touches:
	// only its sure acid value is counted on.
	Wax
)

// Profile is a share for every fatty acid. A profile that is known sums to 1.
type Profile [NumAcids]float64

// Fat is the chemistry of a fat.
type Fat struct {
	Kind FatKind
	// SAP is the saponification value's range, mg KOH/g (ISO 3657); of a
	// FreeAcid, the acid value's.
	SAP quantity.Range
	// SureAcidValue is the part of a Wax that surely reacts, mg KOH/g.
	SureAcidValue float64
	Iodine        quantity.Range // g I2/100 g; either end may be unknown
	// UnsaponifiableMax is the stated maximum, g/kg.
	UnsaponifiableMax quantity.Maybe
	HasProfile        bool
	Profile           Profile // typical, normalised to sum to 1; all zero without one
	// ProfileRange is each acid's published range as a share of 1, not normalised;
	// its ends may be unknown.
	ProfileRange [NumAcids]quantity.Range
	// Density40 is a measured density at 40 °C in g/mL where Lund's rule does
	// not hold (castor, jojoba); unknown where the rule does.
	Density40     quantity.Maybe
	Melting       quantity.Range // °C, melting or slip point
	INCISodium    string
	INCIPotassium string
}

// Role is a set of what an ingredient may be in a formula.
type Role uint8

const (
	// RoleFat may stand among the fats.
	RoleFat Role = 1 << iota
	// RoleExtra may be dosed beside the fats.
	RoleExtra
	// RoleScent smells; its certificate sets a limit.
	RoleScent
	// RoleColourant colours.
	RoleColourant
	// RoleAlkali saponifies.
	RoleAlkali
	// RoleLiquid may take the place of water.
	RoleLiquid
	// RoleSurfactant is for melt-and-pour bases and is no soap.
	RoleSurfactant
	// RoleName is only a name for a label (a soap salt as made).
	RoleName
)

// Has reports that r holds every role of q.
func (r Role) Has(q Role) bool { return r&q == q }

// Nature is a set of what an extra does that a maker must know of.
type Nature uint16

const (
	// NatureSugar heats the batter and browns.
	NatureSugar Nature = 1 << iota
	// NatureMilk scorches in hot lye and heats the batter.
	NatureMilk
	// NatureHoney is sugar in concentrated form.
	NatureHoney
	// NatureSalt hardens, and stops lather in high dose.
	NatureSalt
	// NatureClay draws water and thickens.
	NatureClay
	// NatureAcid takes alkali first.
	NatureAcid
	// NatureAlkaline adds alkali that is not counted.
	NatureAlkaline
	// NatureAlcohol flames, and thickens the batter.
	NatureAlcohol
	// NatureScratchy is rough on skin.
	NatureScratchy
	// NaturePlastic is a plastic particle, banned in places.
	NaturePlastic
)

// Has reports that n holds every nature of q.
func (n Nature) Has(q Nature) bool { return n&q == q }

// Extra is the chemistry of what is no fat. Percentages are of its own mass.
type Extra struct {
	FatPct   float64        // fat hidden in it
	FatSAP   quantity.Maybe // mg KOH per g of that fat; known when FatPct > 0
	WaterPct float64
	// AcidMolPerG is mol of alkali that 1 g takes before any fat does.
	AcidMolPerG float64
	// AlkaliSalt names what the neutralised acid leaves, as "citrate"; "" when no acid.
	AlkaliSalt string
	// AcidMolarMass is g per mol of H+ given up, for the mass balance; 0 when no acid.
	AcidMolarMass float64
	SugarPct      float64
	DensityGML    float64        // of the substance as dosed, stirred in; g/mL
	GramsPerTsp   quantity.Maybe // a level US teaspoon, g, where it was measured
	Nature        Nature
}

// Ingredient is one thing that may go into a formula; one id means one
// ingredient across the catalogue.
type Ingredient struct {
	ID       string
	Name     string // as the maker says it
	INCI     string
	USName   string // the name on a US label where it differs
	CAS      string
	Function string
	Roles    Role
	Fat      *Fat   // nil when it is no fat
	Extra    *Extra // nil when it cannot be dosed beside the fats
	Note     string
	// Own is true for an ingredient that the studio added, Changed for one of
	// the catalogue's in which the studio overrides a value.
	Own, Changed bool
	// Facts are every value with its unit and its source, for a page to show.
	Facts []Fact
}

// Fact is one value of an ingredient and where it comes from. Source is never
// empty; "assumed" says that nobody measured it.
type Fact struct {
	Key    string // stable, as "sap", "iodine", "unsaponifiable", "water", "density", "c18:1"
	Label  string // as "Saponification value"
	Value  string // as "184 to 196"
	Unit   string // as "mg KOH/g"
	Source string
}
