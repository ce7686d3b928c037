package catalogue

import "barwright/quantity"

// acidShape holds the facts from which a fatty acid's chemistry follows, and
// what follows from them.
type acidShape struct {
	symbol                            string
	carbons, doubleBonds, hydroxyls   int
	group                             Group
	mass, glyceride, freeIodine, inTG float64 // g/mol; g/mol; g I2/100 g, as free acid and in a triglyceride
}

// shapes is the chemistry of every Acid. The embedded table is checked against
// it when it is loaded.
var shapes = func() [NumAcids]acidShape {
	t := [NumAcids]acidShape{
		C4x0:    {symbol: "C4:0", carbons: 4, group: Quick},
		C6x0:    {symbol: "C6:0", carbons: 6, group: Quick},
		C8x0:    {symbol: "C8:0", carbons: 8, group: Quick},
		C10x0:   {symbol: "C10:0", carbons: 10, group: Quick},
		C12x0:   {symbol: "C12:0", carbons: 12, group: Quick},
		C14x0:   {symbol: "C14:0", carbons: 14, group: Quick},
		C16x0:   {symbol: "C16:0", carbons: 16, group: Slow},
		C16x1:   {symbol: "C16:1", carbons: 16, doubleBonds: 1, group: Mellow},
		C18x0:   {symbol: "C18:0", carbons: 18, group: Slow},
		C18x1:   {symbol: "C18:1", carbons: 18, doubleBonds: 1, group: Mellow},
		C18x1OH: {symbol: "C18:1-OH", carbons: 18, doubleBonds: 1, hydroxyls: 1, group: Holder},
		C18x2:   {symbol: "C18:2", carbons: 18, doubleBonds: 2, group: Fleeting},
		C18x3:   {symbol: "C18:3", carbons: 18, doubleBonds: 3, group: Fleeting},
		C20x0:   {symbol: "C20:0", carbons: 20, group: Slow},
		C20x1:   {symbol: "C20:1", carbons: 20, doubleBonds: 1, group: Mellow},
		C22x0:   {symbol: "C22:0", carbons: 22, group: Slow},
		C22x1:   {symbol: "C22:1", carbons: 22, doubleBonds: 1, group: Mellow},
		C24x0:   {symbol: "C24:0", carbons: 24, group: Slow},
		C24x1:   {symbol: "C24:1", carbons: 24, doubleBonds: 1, group: Mellow},
	}
	for i := range t {
		s := &t[i]
		n, db, oh := float64(s.carbons), float64(s.doubleBonds), float64(s.hydroxyls)
		s.mass = n*MolarC + (2*n-2*db)*MolarH + (2+oh)*MolarO
		s.glyceride = 3*s.mass + glycerylBridge
		s.freeIodine = 100 * db * molarIodine / s.mass
		s.inTG = 300 * db * molarIodine / s.glyceride
	}
	return t
}()

// String is the symbol, such as "C18:1-OH".
func (a Acid) String() string {
	if int(a) >= NumAcids {
		return "C?"
	}
	return shapes[a].symbol
}

// MolarMass is the molar mass of the free acid, g/mol, from the atomic weights.
// It is 0 for an Acid that does not exist.
func (a Acid) MolarMass() float64 {
	if int(a) >= NumAcids {
		return 0
	}
	return shapes[a].mass
}

// DoubleBonds counts the double bonds of the chain.
func (a Acid) DoubleBonds() int {
	if int(a) >= NumAcids {
		return 0
	}
	return shapes[a].doubleBonds
}

// Group is what the acid's soap does in the bar.
func (a Acid) Group() Group {
	if int(a) >= NumAcids {
		return Quick
	}
	return shapes[a].group
}

// IodineFactor is the mass of iodine, g, that 100 g of the pure substance take
// up. The substance is the free acid for FreeAcid, and the triglyceride of this
// acid otherwise.
//
// The rule is that of AOCS Cd 1c-85: one I2 for each double bond, over the
// molar mass. For each percent of oleic acid it gives 0.860 in a triglyceride
// and 0.899 as the acid. The 0.816 and 0.850 of ricinoleic acid are derived by
// the same rule.
func (a Acid) IodineFactor(kind FatKind) float64 {
	if int(a) >= NumAcids {
		return 0
	}
	if kind == FreeAcid {
		return shapes[a].freeIodine
	}
	return shapes[a].inTG
}

// String is the word for the group in JSON and CSV: quick, slow, mellow,
// fleeting or holder.
func (g Group) String() string {
	switch g {
	case Quick:
		return "quick"
	case Slow:
		return "slow"
	case Mellow:
		return "mellow"
	case Fleeting:
		return "fleeting"
	case Holder:
		return "holder"
	}
	return "unknown"
}

// MeanMolarMass is the molar mean of the free acids of p, g/mol: the mass of
// the acids over their moles. It is unknown for a profile that is all zero.
func (p *Profile) MeanMolarMass() quantity.Maybe {
	var mass, mol float64
	for i, x := range p {
		mass += x
		mol += x / shapes[i].mass
	}
	if !(mol > 0) || !quantity.Finite(mass/mol) {
		return quantity.Maybe{}
	}
	return quantity.Some(mass / mol)
}

// SAP is the saponification value of a triglyceride whose fatty acids are p, or
// the acid value of the free acids, mg KOH/g. It is unknown for an empty
// profile and for a Wax, whose esters hold no glycerol.
//
// Source: AOCS Cd 3a-94, where M is the molar mean of the acids:
//
//	SAP = 3 M(KOH) 1000 / (3 M + 38.049)
func (p *Profile) SAP(kind FatKind) quantity.Maybe {
	m := p.MeanMolarMass()
	switch {
	case !m.Known || kind == Wax:
		return quantity.Maybe{}
	case kind == FreeAcid:
		return quantity.Some(1000 * MolarKOH / m.V)
	}
	return quantity.Some(3000 * MolarKOH / (3*m.V + glycerylBridge))
}

// Iodine is the iodine value, g I2/100 g, of a triglyceride with the fatty
// acids p, or of the free acids. The mass shares in p must sum to 1. It is
// unknown for an empty profile and for a Wax.
//
// Source: AOCS Cd 1c-85, Calculated Iodine Value.
func (p *Profile) Iodine(kind FatKind) quantity.Maybe {
	if kind == Wax || !p.MeanMolarMass().Known {
		return quantity.Maybe{}
	}
	var iv float64
	for i, x := range p {
		iv += x * Acid(i).IodineFactor(kind)
	}
	return quantity.Some(iv)
}
