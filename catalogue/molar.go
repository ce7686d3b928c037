package catalogue

// Standard atomic weights, g/mol: IUPAC 2021 (Prohaska et al., Pure Appl. Chem.
// 2022, 94, 573). H, C and O are the abridged values; Na and K are given in
// full.
const (
	MolarH  = 1.008
	MolarC  = 12.011
	MolarO  = 15.999
	MolarNa = 22.98976928
	MolarK  = 39.0983
)

// Molar masses, g/mol, from the atomic weights above.
const (
	MolarWater    = 2*MolarH + MolarO
	MolarNaOH     = MolarNa + MolarO + MolarH
	MolarKOH      = MolarK + MolarO + MolarH
	MolarGlycerol = 3*MolarC + 8*MolarH + 3*MolarO
)

// molarIodine is the molar mass of I2, g/mol. The atomic weight of iodine is
// 126.90447, IUPAC 2021.
const molarIodine = 2 * 126.90447

// glycerylBridge is the mass that three fatty acids gain when they become a
// triglyceride: glycerol less three waters, 38.049 g/mol.
const glycerylBridge = MolarGlycerol - 3*MolarWater
