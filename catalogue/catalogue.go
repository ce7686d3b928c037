// Package catalogue holds what the studio may put into a formula: fats with
// their fatty acids, everything that is added to them, and the source of each
// value. It knows nothing of formulas.
package catalogue

import "barwright/quantity"

// Acid is a fatty acid. It is an index into the table of fatty acids and into
// every Profile.
type Acid uint8

// The fatty acids of the catalogue, named by carbons and double bonds. OH marks
// the hydroxyl group of ricinoleic acid.
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

// Group is what the soap of a fatty acid does in the bar, in five words of our
// own.
type Group uint8

const (
	// Quick dissolves fast. It makes a big lather early and takes more oil off
	// the skin.
	Quick Group = iota
	// Slow dissolves slowly and makes a firm bar that wears well.
	Slow
	// Mellow is soft and mild, and slow to lather.
	Mellow
	// Fleeting is mild, but the first to turn rancid.
	Fleeting
	// Holder holds a lather and draws water.
	Holder
	NumGroups = iota
)

// AcidInfo is what is known of one fatty acid.
type AcidInfo struct {
	Acid          Acid
	Symbol        string // such as "C18:1-OH"
	Trivial       string // such as "ricinoleic"
	Systematic    string
	Formula       string // such as "C18H34O3"
	MolarMass     float64
	DoubleBonds   int
	Hydroxyls     int
	Group         Group
	INCIAcid      string
	INCISodium    string // empty when it is not certain that the name is listed
	MeltingC      quantity.Maybe
	INCISource    string
	MeltingSource string
	MolarSource   string
}

// FatKind is how a fat reacts with alkali.
type FatKind uint8

const (
	// Triglyceride saponifies, and gives three soaps and a glycerol.
	Triglyceride FatKind = iota
	// FreeAcid neutralises at once, and gives water but no glycerol.
	FreeAcid
	// Wax is esters without glycerol that the cold process hardly touches. Only
	// its sure acid value is counted.
	Wax
)

// Profile is the share of every fatty acid. A known profile sums to 1.
type Profile [NumAcids]float64

// Fat is the chemistry of a fat.
type Fat struct {
	Kind FatKind
	// SAP is the range of the saponification value, mg KOH/g (ISO 3657). For a
	// FreeAcid it is the range of the acid value.
	SAP quantity.Range
	// SureAcidValue is the part of a Wax's value that surely reacts, mg KOH/g.
	SureAcidValue float64
	Iodine        quantity.Range // g I2/100 g; either end may be unknown
	// UnsaponifiableMax is the stated maximum, g/kg.
	UnsaponifiableMax quantity.Maybe
	HasProfile        bool
	Profile           Profile // typical, normalised to sum to 1; all zero when there is none
	// ProfileRange is each acid's published range as a share of 1, not
	// normalised. Either end may be unknown.
	ProfileRange [NumAcids]quantity.Range
	// Density40 is a density measured at 40 °C, g/mL, for fats for which Lund's
	// rule does not hold (castor, jojoba). It is unknown where the rule holds.
	Density40     quantity.Maybe
	Melting       quantity.Range // °C, melting or slip point
	INCISodium    string
	INCIPotassium string
}

// Role is a set of the parts that an ingredient may play in a formula.
type Role uint8

const (
	// RoleFat may be listed among the fats.
	RoleFat Role = 1 << iota
	// RoleExtra may be dosed in addition to the fats.
	RoleExtra
	// RoleScent scents the soap. Its certificate sets a limit.
	RoleScent
	// RoleColourant colours the soap.
	RoleColourant
	// RoleAlkali saponifies.
	RoleAlkali
	// RoleLiquid may replace water.
	RoleLiquid
	// RoleSurfactant is used in melt-and-pour bases and is not soap.
	RoleSurfactant
	// RoleName is only a name for a label, for a soap salt that forms in the
	// making.
	RoleName
)

// Has reports whether r holds every role of q.
func (r Role) Has(q Role) bool { return r&q == q }

// Nature is a set of the effects of an extra that a maker must know.
type Nature uint16

const (
	// NatureSugar heats and browns the batter.
	NatureSugar Nature = 1 << iota
	// NatureMilk scorches in hot lye and heats the batter.
	NatureMilk
	// NatureHoney is sugar in concentrated form.
	NatureHoney
	// NatureSalt hardens the bar, and stops lather in high doses.
	NatureSalt
	// NatureClay draws water and thickens the batter.
	NatureClay
	// NatureAcid takes alkali before the fats do.
	NatureAcid
	// NatureAlkaline adds alkali that the sums do not count.
	NatureAlkaline
	// NatureAlcohol burns easily, and thickens the batter.
	NatureAlcohol
	// NatureScratchy is rough on skin.
	NatureScratchy
	// NaturePlastic is a plastic particle, which is banned in places.
	NaturePlastic
)

// Has reports whether n holds every nature of q.
func (n Nature) Has(q Nature) bool { return n&q == q }

// Extra is the chemistry of an ingredient that is dosed in addition to the
// fats. Percentages are of its own mass.
type Extra struct {
	FatPct   float64        // fat hidden in it
	FatSAP   quantity.Maybe // mg KOH per g of that fat; known when FatPct is above 0
	WaterPct float64
	// AcidMolPerG is the alkali, in mol, that 1 g takes before any fat does.
	AcidMolPerG float64
	// AlkaliSalt names what the neutralised acid leaves, such as "citrate". It
	// is "" when there is no acid.
	AlkaliSalt string
	// AcidMolarMass is the acid's mass, g, per mol of H+ that it gives up, for
	// the mass balance. It is 0 when there is no acid.
	AcidMolarMass float64
	SugarPct      float64
	DensityGML    float64        // of the substance as dosed, stirred in; g/ml
	GramsPerTsp   quantity.Maybe // mass of a level US teaspoon, g, where it was measured
	Nature        Nature
}

// Ingredient is one thing that may go into a formula. In the whole catalogue
// one id means one ingredient.
type Ingredient struct {
	ID       string
	Name     string // as the maker says it
	INCI     string
	USName   string // the name on a US label where it differs
	CAS      string
	Function string
	Roles    Role
	Fat      *Fat   // nil when it is not a fat
	Extra    *Extra // nil when it cannot be dosed in addition to the fats
	Note     string
	// Own is true for an ingredient that the studio added. Changed is true for
	// a catalogue ingredient in which the studio overrides a value.
	Own, Changed bool
	// Facts are all values with their units and sources, for a page to show.
	Facts []Fact
}

// Fact is one value of an ingredient and its source. Source is never empty.
// "assumed" means that nobody measured it.
type Fact struct {
	Key    string // stable: "sap", "iodine", "unsaponifiable", "water", "density", "c18:1", …
	Label  string // such as "Saponification value"
	Value  string // such as "184 to 196"
	Unit   string // such as "mg KOH/g"
	Source string
}
