package soap

import (
	"slices"
	"strings"

	"barwright/catalogue"
)

// Stratum is a kind of matter in the bar. The picture of the bar cut open shows
// the strata from bottom to top, soaps first.
type Stratum uint8

// The strata. Each soap belongs to the stratum of its acid's group.
const (
	Slow Stratum = iota
	Mellow
	Holder
	Fleeting
	Quick
	UnknownSoap // soap of acids that nobody stated: of hidden fat, of a wax, or of a ready-made base
	FreeFat     // unsaponified fat, free acids
	Wax         // what remains of a wax
	Unsaponifiable
	Glycerol
	Water
	Salts
	Extras
	Scent
	FreeAlkali // only when alkali is in excess
	NumStrata  = iota
)

var groupStratum = [catalogue.NumGroups]Stratum{
	catalogue.Quick: Quick, catalogue.Slow: Slow, catalogue.Mellow: Mellow,
	catalogue.Fleeting: Fleeting, catalogue.Holder: Holder,
}

// Cation is the metal of a soap or a salt.
type Cation uint8

const (
	// Sodium soaps make a hard bar.
	Sodium Cation = iota
	// Potassium soaps stay soft.
	Potassium
)

// Bar is what the bar is made of, in g for the whole batch. It closes:
// everything in the bar and the water lost add up to the batter.
type Bar struct {
	MassG      float64 // when sold
	WaterLostG float64 // since the pour
	MadeWaterG float64 // water made by neutralised acids

	Soap           [catalogue.NumAcids][2]float64 // by acid and cation
	UnknownSoap    [2]float64
	FreeFat        float64
	Wax            float64
	Unsaponifiable float64
	Glycerol       float64
	Water          float64
	Impurities     float64    // what is not alkali in the alkali as weighed
	FreeAlkali     [2]float64 // only when alkali is in excess

	// Reached is the share of all esters that found alkali. AcidReached is the
	// share of all acids that did. Both are 1 at superfat 0.
	Reached, AcidReached float64

	FattyAcidG   float64 // of the soaps, as acids
	TFMPct       float64 // total fatty matter, ISO 685: fatty acids, free fat, wax, unsaponifiable
	GlycerolPct  float64
	IodineValue  float64 // of the fats, g I2/100 g; AOCS Cd 1c-85
	HasProfile   bool    // false: no fat has a profile, so groups, iodine value and oxidizability are unknown
	Oxidizable   float64 // Cosgrove, Church & Pryor, Lipids 22 (1987) 299
	GroupsPct    [catalogue.NumGroups]float64
	Acids        catalogue.Profile // shares of the total fatty acids, by mass
	ProfiledG    float64           // fatty acids behind that profile, g
	SaponifiedBy Cation            // the cation of most of the soap
}

// Species is one line of the composition.
type Species struct {
	Name, INCI string
	MassG, Pct float64
	Stratum    Stratum
}

// demand returns how much alkali the esters take and how much the acids of
// every kind take, mol.
func (r *Result) demand() (ester, acid float64) {
	acid = r.AcidMol
	for i := range r.Fats {
		m := &r.Fats[i]
		if m.Cooked {
			continue
		}
		free, est := m.split()
		acid += free
		ester += est
	}
	for i := range r.Extras {
		ester += r.Extras[i].FatMol
	}
	return ester, acid
}

// split divides the alkali that a fat takes between its free acids and its
// esters, mol. A wax's sure acids are free acids. If a certificate gives a
// higher value, the rest is esters.
func (m *FatMass) split() (free, ester float64) {
	switch m.Kind {
	case catalogue.FreeAcid:
		return m.Mol, 0
	case catalogue.Wax:
		sure := m.MassG * m.fat.SureAcidValue / 1000 / catalogue.MolarKOH
		free = min(m.Mol, sure)
		return free, m.Mol - free
	}
	return 0, m.Mol
}

// reached returns the share of the esters and the share of the acids that find
// alkali. Acids come first. The alkali that is left saponifies all esters in
// equal shares. If the alkali does not suffice for the acids, they share it.
// excess is the alkali that remains at the end, mol.
func (r *Result) reached() (ester, acid, excess float64) {
	e, a := r.demand()
	n := r.Mol
	switch {
	case n <= a:
		if a == 0 {
			return 0, 1, 0
		}
		return 0, n / a, 0
	case n-a <= e:
		if e == 0 {
			return 1, 1, 0
		}
		return (n - a) / e, 1, 0
	}
	return 1, 1, n - a - e
}

// madeWater is the water that neutralised acids make, g: one mole for each mole
// of acid.
func (r *Result) madeWater() float64 {
	_, acid, _ := r.reached()
	_, a := r.demand()
	return acid * a * catalogue.MolarWater
}

// balance fills in the bar, species by species.
func (r *Result) balance() {
	b := &r.Bar
	*b = Bar{}
	var excess float64
	b.Reached, b.AcidReached, excess = r.reached()
	t := tally{bar: b, share: [2]float64{1 - r.x, r.x}}
	for i := range r.Fats {
		if r.Fats[i].MassG != 0 {
			t.fat(&r.Fats[i])
		}
	}
	for i := range r.Extras {
		if r.Extras[i].FatG != 0 {
			t.hiddenFat(&r.Extras[i])
		}
	}
	// The rest of a ready-mixed solution is water and not an impurity.
	if !r.naSolution {
		b.Impurities += r.NaOHG * (1 - r.purityNa)
	}
	if !r.kSolute {
		b.Impurities += r.KOHG * (1 - r.purityK)
	}
	hydroxide := [2]float64{catalogue.MolarNaOH, catalogue.MolarKOH}
	for c := range 2 {
		b.FreeAlkali[c] = excess * t.share[c] * hydroxide[c]
	}
	b.MadeWaterG = r.madeWater()
	water := r.AllWaterG + b.MadeWaterG
	b.WaterLostG = water * (r.lossShare - r.cookShare)
	b.Water = water - b.WaterLostG - r.Batter.LostG
	b.MassG = r.Batter.MassG - b.WaterLostG
	t.profile()
	b.TFMPct = pct(b.FattyAcidG+b.FreeFat+b.Wax+b.Unsaponifiable, b.MassG)
	b.GlycerolPct = pct(b.Glycerol, b.MassG)
	if r.x > 0.5 {
		b.SaponifiedBy = Potassium
	}
}

// tally adds up the species of a bar, fat by fat.
type tally struct {
	bar             *Bar
	share           [2]float64        // of the alkali, by cation, mol/mol
	acidsG          catalogue.Profile // mass of each fatty acid in the fats with a profile, g
	iodine, iodineG float64           // Σ of mass times iodine value, and the mass behind it
}

// soap adds the soap of n mol of acids whose mean molar mass is mean, g/mol. The
// profile spreads it over the acids by mass. Without a profile it is soap of
// unknown acids.
func (t *tally) soap(n, mean float64, p *catalogue.Profile) {
	b := t.bar
	metal := [2]float64{catalogue.MolarNa, catalogue.MolarK}
	b.FattyAcidG += n * mean
	for c := range 2 {
		g := n * t.share[c] * (mean - catalogue.MolarH + metal[c])
		if p == nil {
			b.UnknownSoap[c] += g
			continue
		}
		for a, v := range p {
			if v != 0 {
				b.Soap[a][c] += v * g
			}
		}
	}
}

// fat adds what a fat becomes.
func (t *tally) fat(m *FatMass) {
	b := t.bar
	var prof *catalogue.Profile
	if m.fat.HasProfile {
		prof = &m.fat.Profile
		if iv := prof.Iodine(m.Kind); iv.Known {
			t.iodine += m.MassG * iv.V
			t.iodineG += m.MassG
		}
	}
	unsap := m.MassG * m.unsap
	ester := m.MassG - unsap
	b.Unsaponifiable += unsap
	// n is the number of mol that sets the mean molar mass of the acids. A cooked
	// fat has the same acids although it takes no alkali.
	n := m.Mol
	if m.Cooked {
		n = m.MassG * m.SAP / 1000 / catalogue.MolarKOH
	}
	var fattyG float64 // its fatty acids, for the mean profile
	switch m.Kind {
	case catalogue.FreeAcid:
		fattyG = ester
		if m.Cooked {
			b.FreeFat += ester
			break
		}
		if n > 0 {
			t.soap(n*b.AcidReached, ester/n, prof)
		}
		b.FreeFat += ester * (1 - b.AcidReached)
	case catalogue.Wax:
		t.wax(m, ester, prof)
	default:
		mean := 0.0
		if n > 0 {
			mean = ester/n - catalogue.MolarGlycerol/3 + catalogue.MolarWater
		}
		fattyG = n * mean
		if m.Cooked {
			b.FreeFat += ester
			break
		}
		t.soap(n*b.Reached, mean, prof)
		b.Glycerol += n * b.Reached / 3 * catalogue.MolarGlycerol
		b.FreeFat += ester * (1 - b.Reached)
	}
	if prof != nil && fattyG > 0 {
		for a, v := range prof {
			t.acidsG[a] += v * fattyG
		}
		b.ProfiledG += fattyG
	}
}

// wax adds a wax: the soap of the acids that reacted, and the wax that remains.
// ester is its mass without the unsaponifiable matter, g.
func (t *tally) wax(m *FatMass, ester float64, prof *catalogue.Profile) {
	b := t.bar
	if m.Cooked {
		b.Wax += ester
		return
	}
	mean := cerotic
	if prof != nil {
		mean = prof.MeanMolarMass().Or(cerotic)
	}
	free, est := m.split()
	// No more acid can come out of a wax than it weighs.
	if total := (free + est) * mean; total > ester {
		mean *= ester / total
	}
	t.soap(free*b.AcidReached, mean, prof)
	t.soap(est*b.Reached, mean, prof)
	// An ester that alkali splits leaves its alcohol, which stays with the wax:
	//
	//	ester + water = acid + alcohol
	//
	// So the wax loses the mass of the acid less that of one water.
	b.Wax += ester - free*b.AcidReached*mean - est*b.Reached*(mean-catalogue.MolarWater)
}

// hiddenFat adds what the fat in an extra becomes.
func (t *tally) hiddenFat(m *ExtraMass) {
	b := t.bar
	if m.FatMol <= 0 {
		b.FreeFat += m.FatG
		return
	}
	mean := m.FatG/m.FatMol - catalogue.MolarGlycerol/3 + catalogue.MolarWater
	t.soap(m.FatMol*b.Reached, mean, nil)
	b.Glycerol += m.FatMol * b.Reached / 3 * catalogue.MolarGlycerol
	b.FreeFat += m.FatG * (1 - b.Reached)
}

// profile sets what follows from the fats' profiles: the shares of the acids and
// groups, the iodine value and the oxidizability.
func (t *tally) profile() {
	b := t.bar
	b.HasProfile = b.ProfiledG > 0
	if !b.HasProfile {
		return
	}
	for a := range t.acidsG {
		b.Acids[a] = t.acidsG[a] / b.ProfiledG
		b.GroupsPct[catalogue.Acid(a).Group()] += 100 * b.Acids[a]
	}
	if t.iodineG > 0 {
		b.IodineValue = t.iodine / t.iodineG
	}
	b.Oxidizable = 0.02*b.Acids[catalogue.C18x1] + b.Acids[catalogue.C18x2] + 2*b.Acids[catalogue.C18x3]
}

// rest is the mass of an extra that is not fat, water or an acid that reacts,
// g.
func (m *ExtraMass) rest() float64 {
	return max(m.MassG-m.FatG-m.WaterG-m.AcidG, 0)
}

// salt is the mass of the salt that an extra's acid forms with cation c, g. The
// acid that found no alkali is not in it.
func (m *ExtraMass) salt(r *Result, c Cation) float64 {
	share, gain := 1-r.x, catalogue.MolarNa-catalogue.MolarH
	if c == Potassium {
		share, gain = r.x, catalogue.MolarK-catalogue.MolarH
	}
	return m.AcidMol * r.Bar.AcidReached * share * (m.acidMolarMass + gain)
}

func (m *ExtraMass) stratum() Stratum {
	if m.Nature.Has(catalogue.NatureSalt) {
		return Salts
	}
	return Extras
}

// Strata returns the mass of each stratum of the bar as sold, g. They add up to
// the bar's mass.
func (r *Result) Strata() [NumStrata]float64 {
	var s [NumStrata]float64
	if r.Melts() {
		return r.meltStrata()
	}
	b := &r.Bar
	for a := range b.Soap {
		s[groupStratum[catalogue.Acid(a).Group()]] += b.Soap[a][0] + b.Soap[a][1]
	}
	s[UnknownSoap] = b.UnknownSoap[0] + b.UnknownSoap[1]
	s[FreeFat], s[Wax], s[Unsaponifiable] = b.FreeFat, b.Wax, b.Unsaponifiable
	s[Glycerol], s[Water], s[Salts] = b.Glycerol, b.Water, b.Impurities
	s[FreeAlkali] = b.FreeAlkali[0] + b.FreeAlkali[1]
	for i := range r.Extras {
		m := &r.Extras[i]
		s[m.stratum()] += m.rest() + m.AcidG*(1-b.AcidReached)
		s[Salts] += m.salt(r, Sodium) + m.salt(r, Potassium)
	}
	for i := range r.Scents {
		s[Scent] += r.Scents[i].MassG
	}
	return s
}

// SoapG is the mass of all soap in the bar, g. Ready-made base counts whole.
func (r *Result) SoapG() float64 {
	s := r.Strata()
	return s[Slow] + s[Mellow] + s[Holder] + s[Fleeting] + s[Quick] + s[UnknownSoap]
}

// Composition lists what is in the bar as sold, heaviest first: each soap by
// cation and acid, and everything else. In a melt nothing reacts, so each base
// is one line with its INCI as declared, and the extras and scents are listed
// as they are.
func (r *Result) Composition() []Species {
	b := &r.Bar
	if r.Melts() {
		return r.meltComposition()
	}
	out := make([]Species, 0, 32)
	add := func(name, inci string, g float64, s Stratum) {
		if g > 0 {
			out = append(out, Species{Name: name, INCI: inci, MassG: g, Pct: pct(g, b.MassG), Stratum: s})
		}
	}
	acids := catalogue.AcidTable()
	for a := range b.Soap {
		st := groupStratum[acids[a].Group]
		add("Sodium soap of "+acids[a].Symbol, acids[a].INCISodium, b.Soap[a][Sodium], st)
		add("Potassium soap of "+acids[a].Symbol, "", b.Soap[a][Potassium], st)
	}
	add("Sodium soap of unknown acids", "", b.UnknownSoap[Sodium], UnknownSoap)
	add("Potassium soap of unknown acids", "", b.UnknownSoap[Potassium], UnknownSoap)
	add("Free fat", "", b.FreeFat, FreeFat)
	add("Wax", "", b.Wax, Wax)
	add("Unsaponifiable matter", "", b.Unsaponifiable, Unsaponifiable)
	add("Glycerol", "Glycerin", b.Glycerol, Glycerol)
	add("Water", "Aqua", b.Water, Water)
	add("Alkali impurities", "", b.Impurities, Salts)
	add("Sodium hydroxide in excess", "Sodium Hydroxide", b.FreeAlkali[Sodium], FreeAlkali)
	add("Potassium hydroxide in excess", "Potassium Hydroxide", b.FreeAlkali[Potassium], FreeAlkali)
	for i := range r.Extras {
		m := &r.Extras[i]
		add(m.Name, m.INCI, m.rest(), m.stratum())
		add(m.Name+", not neutralised", m.INCI, m.AcidG*(1-b.AcidReached), Extras)
		if m.Salt != "" {
			title := strings.ToUpper(m.Salt[:1]) + m.Salt[1:]
			add("Sodium "+m.Salt, "Sodium "+title, m.salt(r, Sodium), Salts)
			add("Potassium "+m.Salt, "Potassium "+title, m.salt(r, Potassium), Salts)
		}
	}
	for i := range r.Scents {
		add("Scent "+r.Scents[i].Name, "Parfum", r.Scents[i].MassG, Scent)
	}
	return heaviestFirst(out)
}

func heaviestFirst(out []Species) []Species {
	slices.SortStableFunc(out, func(a, b Species) int {
		switch {
		case a.MassG > b.MassG:
			return -1
		case a.MassG < b.MassG:
			return 1
		}
		return strings.Compare(a.Name, b.Name)
	})
	return out
}

// Stage is the bar at one time: its mass and the water still in it.
type Stage struct {
	Name   string
	MassG  float64
	WaterG float64
}

// Stages are the bar as poured, when sold, and when all water has gone, in g
// for the whole batch. What boiled off before the pour is in none of them. How
// much water a ready-made base holds is not known, so a melt is the same at
// each stage.
func (r *Result) Stages() [3]Stage {
	all := r.AllWaterG + r.Bar.MadeWaterG - r.Batter.LostG
	if r.Melts() {
		all = 0
	}
	dry := r.Batter.MassG - all
	return [3]Stage{
		{"poured", r.Batter.MassG, all},
		{"sold", r.Bar.MassG, r.Bar.Water},
		{"dried out", dry, 0},
	}
}

// LyeCountsOn reports whether the lye counts on this extra: it holds fat or
// acid, so leaving it out would leave some alkali unused.
func (m *ExtraMass) LyeCountsOn() bool { return m.FatMol > 0 || m.AcidMol > 0 }

// SuperfatWithout is the superfat, as a share, that the weighed alkali would
// give if extra i were left out.
func (r *Result) SuperfatWithout(i int) float64 {
	n := r.SapMol - r.Extras[i].FatMol
	if n <= 0 {
		return 0
	}
	return 1 - (r.Mol-(r.AcidMol-r.Extras[i].AcidMol))/n
}
