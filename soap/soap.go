// Package soap works out a batter: what to weigh, how sure the superfat is, and
// what the cured bar is made of.
//
// # Alkali
//
// The sums use these symbols:
//
//	m_i   mass of fat i, g
//	S_i   its saponification value, mg KOH/g
//	a_j   mass of acid j, g
//	e_j   its molar demand, mol/g
//	f     superfat, a share of the saponifiable fat
//	x     share of the alkali that is supplied as KOH, mol/mol
//	p     purity of an alkali, a share
//	c     lye concentration, a share
//
//	n_sap  = Σ m_i · S_i / 1000 / M(KOH)       mol that would saponify every fat
//	n_acid = Σ a_j · e_j                       mol that acids take first
//	n      = n_sap · (1 − f) + n_acid
//	NaOH   = n · (1 − x) · M(NaOH) / p_Na
//	KOH    = n · x · M(KOH) / p_K
//	water  = (NaOH + KOH) · (1 − c) / c
//
// The saponification value is that of ISO 3657: the milligrams of KOH that
// saponify 1 g of fat, free and esterified acids together. Fat hidden in an
// extra counts in n_sap. The water that extras bring is taken off the water to
// weigh. A wax counts only by the acids that surely react. A fat stirred in
// after the cook does not count.
//
// The same equation gives the superfat from what was weighed: f = 1 − (n_alkali
// − n_acid) / n_sap. A negative f means that alkali is in excess.
//
// # What the bar is made of
//
// A triglyceride takes 3 mol of alkali and gives 1 mol of glycerol. The mean
// molar mass of a fat's acids is chosen so that both the fat's mass and its S
// come out right:
//
//	M̄ = m · (1 − u) / n − M(glycerol)/3 + M(H2O)     u = unsaponifiable share
//
// The profile gives each acid's share by mass. Acids, and fats that are free
// acids, neutralise first, and each mole of them makes one mole of water. It is
// assumed that the alkali that is left saponifies all esters in equal shares.
// The unsaponifiable matter is taken to be half of its stated maximum.
//
// # Before the pour
//
// In a cooked batter, a share of all its water boils off in the cook, so the
// batter is lighter by that much when it is poured. The share of the water that
// is gone when the bar is sold includes what boiled off. It is therefore never
// taken to be less than the cook's share, or more water would leave than there
// was.
//
// A melt of ready-made base has no alkali and nothing in it reacts. It holds
// what went in, less what evaporated while it was molten, which is taken off
// the base.
package soap

import (
	"math"

	"barwright/catalogue"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/words"
	"barwright/lye"
	"barwright/quantity"
)

const (
	// DefaultCureWaterLossPct is the share of the water, in %, that is gone
	// when a bar is sold. It is used when neither the formula nor the studio
	// gives a share. Common practice, no source.
	DefaultCureWaterLossPct = 60.0
	// DefaultPourC is the temperature, in °C, at which volumes are worked out
	// when no pour temperature is set. Common practice, no source.
	DefaultPourC = 40.0
	// certificateTolerance is the half-width, as a share of the value, of a
	// certificate's saponification value that states no tolerance. A typed
	// number must not switch doubt off. Assumed.
	certificateTolerance = 0.01
	// waxAcidTolerance is the half-width of a wax's sure acid value, as a share
	// of it. Beeswax ranges from 17 to 24, whose middle is 20.5 (JECFA 2005,
	// from memory).
	waxAcidTolerance = 3.5 / 20.5
	// cerotic is the molar mass of cerotic acid, C26H52O2, in g/mol. It stands
	// for the acids of a wax without a profile. The mass is computed from
	// atomic weights. That beeswax's free acids are of this length is from
	// JECFA 2005, from memory.
	cerotic = 396.700
	// scentDensity is the density of a fragrance or essential oil, g/mL. Common
	// practice, no source.
	scentDensity = 0.95
	// waxDensity is the density near 40 °C, g/mL, of a wax for which nothing
	// was measured. Assumed.
	waxDensity = 0.95
	// baseDensity is the density of molten soap base, g/mL, when none is
	// stated. Common practice, no source.
	baseDensity = 1.04
	// DefaultMeltPourC is the temperature, in °C, at which a melt is taken to
	// be poured when none is set. Common practice, no source.
	DefaultMeltPourC = 60.0
	// unruledDensity is the density, g/mL, of a fat for which Lund's rule has
	// no answer, for example because its saponification value is one that no
	// fat has. Assumed.
	unruledDensity = 0.91
)

// FatMass is one fat to weigh.
type FatMass struct {
	ID, Name string
	MassG    float64
	// SAP is the saponification value used, mg KOH/g. SAPHalf is the half-width
	// of its rectangular range. For a wax without a certificate both are those
	// of its sure acids.
	SAP, SAPHalf float64
	Certificate  bool    // the value came from a certificate
	Mol          float64 // alkali that would saponify it, mol; 0 when it stays free
	Cooked       bool    // stirred in after the cook
	Kind         catalogue.FatKind
	fat          *catalogue.Fat
	facts        []catalogue.Fact
	unsap        float64 // share by mass
}

// ExtraMass is one extra to weigh.
type ExtraMass struct {
	ID, Name, INCI         string
	MassG                  float64
	FatG, WaterG           float64 // hidden in it
	SAP, SAPHalf           float64 // of that fat, mg KOH/g
	FatMol                 float64 // alkali for the hidden fat, mol
	AcidMol                float64 // alkali that its acid takes, mol
	AcidG                  float64 // mass of that acid
	SugarG                 float64
	Salt                   string // what the neutralised acid leaves, such as "citrate"
	Into                   formula.Into
	Per                    formula.Per
	Dose                   float64
	Typed                  formula.Typed
	Nature                 catalogue.Nature
	DensityGML             float64
	acidMolPerG, fatShare  float64
	waterShare, sugarShare float64
	acidMolarMass          float64
}

// ScentMass is one scent to weigh, and how it compares with its limit.
type ScentMass struct {
	Name     string
	MassG    float64
	PctOfBar float64        // of the bar when sold
	PctDry   float64        // of the bar when all water has gone
	LimitPct quantity.Maybe // of the finished product, from the certificate
	Category string
	Dated    string
}

// Within reports whether the scent keeps within its limit in the bar as sold.
// It is true when there is no limit.
func (s ScentMass) Within() bool { return !s.LimitPct.Known || s.PctOfBar <= s.LimitPct.V }

// LyeSolution is what is in the jug.
type LyeSolution struct {
	MassG            float64
	ConcentrationPct float64        // alkali over the solution, % by mass; impurities count as alkali, the water of a ready-mixed solution does not
	PureNaOHPct      float64        // pure sodium hydroxide over the solution, % by mass
	PeakC            quantity.Maybe // adiabatic, from 20 °C; unknown with KOH in it
	// IcedPeakC is PeakC with the ice in it. It is unknown when there is no
	// ice, when PeakC is unknown, and when that much ice would not all melt.
	IcedPeakC quantity.Maybe
	IceG      float64 // the part of the jug's water that is weighed as ice
	WaterG    float64 // liquid water in the jug
	LaterG    float64 // water kept back for the batter
}

// Batter is everything in the pot, as poured.
type Batter struct {
	MassG, VolumeML, DensityGML float64
	PourC                       float64
	// Measured says that the density is the formula's own, measured from a pot
	// of it. EstimateGML is the density that the ingredients would give, g/mL.
	Measured    bool
	EstimateGML float64
	// LostG is what left before the pour: water that boiled off in the cook, or
	// that evaporated while a melt was molten. MassG does not include it.
	LostG float64
}

// Result is a formula worked out. Masses are in g and are not rounded.
type Result struct {
	Formula *formula.Formula
	Fats    []FatMass
	Bases   []BaseMass // the bases of a melt, which has no fats
	Extras  []ExtraMass
	Scents  []ScentMass
	// Portions are the parts that the batter is divided into, in the formula's
	// order.
	Portions []PortionMass

	FatsG float64 // mass of fats; of base, for a melt
	// NaOHG and KOHG are what to weigh of each alkali as it comes: impure, or
	// as a ready-mixed solution.
	NaOHG, KOHG float64
	Mol         float64 // alkali, mol
	SapMol      float64 // n_sap
	AcidMol     float64 // n_acid
	WaterG      float64 // water to weigh, after what extras and a ready-mixed solution bring
	AllWaterG   float64 // all water before the reaction: weighed, from extras, from a solution
	// ShortWaterG is how much more water the extras bring than was asked for.
	// It is 0 when they do not bring more.
	ShortWaterG float64
	// ConcentrationPct is alkali over alkali and all water, %. The findings
	// judge by it.
	ConcentrationPct float64

	Superfat Superfat
	Lye      LyeSolution
	Batter   Batter
	Bar      Bar

	purityNa, purityK   float64 // shares used
	naSolution, kSolute bool    // a ready-mixed solution is weighed
	x                   float64 // share of alkali as KOH, mol
	lossShare           float64 // share of the water that is gone when sold
	cookShare           float64 // share of the water that boiled off in the cook
}

// Pure is the mass of pure NaOH and KOH, g.
func (r *Result) Pure() (naohG, kohG float64) {
	return r.NaOHG * r.purityNa, r.KOHG * r.purityK
}

// Work works a formula out: what to weigh, the superfat with its first-order
// spread, the lye solution, the batter and the cured bar. It makes no Monte
// Carlo draws; see [Result.Draw]. While a maker types, the shares may not sum
// to 100. The sums then use the fats as they are.
//
// Errors: fault.NotFound on "fat.N.id" or "extra.N.id" for an unknown
// ingredient. fault.Invalid when an ingredient is of the wrong kind, when doses
// counted on the batter, the bar or the liquid leave no room for anything else,
// or when a number is outside what the sums can take (superfat in [0, 100),
// concentration in (0, 100), fats above 0). For a melt the fields are "base"
// and those of its lines, and "melting.evaporation_pct" when more would
// evaporate than there is base.
func Work(f *formula.Formula, cat *catalogue.Catalogue) (*Result, error) {
	r := &Result{Formula: f}
	if f.Method == formula.Melt {
		if err := r.melt(f, cat); err != nil {
			return nil, err
		}
	} else {
		if err := r.gather(f, cat); err != nil {
			return nil, err
		}
		if err := r.solve(f); err != nil {
			return nil, err
		}
		r.lyeSolution(f)
		r.volume(f)
		r.balance()
	}
	if err := r.divide(f, cat); err != nil {
		return nil, err
	}
	for i := range r.Scents {
		s := &r.Scents[i]
		s.PctOfBar = pct(s.MassG, r.Bar.MassG)
		s.PctDry = pct(s.MassG, r.Bar.MassG-r.Bar.Water)
	}
	r.firstOrder()
	return r, nil
}

// pct is 100 · part / whole, and 0 for an empty whole.
func pct(part, whole float64) float64 {
	if whole <= 0 {
		return 0
	}
	return 100 * part / whole
}

func checkDensity(l *fault.List, f *formula.Formula) {
	if d := f.DensityGML; d.Known {
		checkRange(l, "measured_density_g_ml", d.V, d.V > 0, "the density must be above 0 g/ml")
	}
}

func checkRange(l *fault.List, field string, v float64, ok bool, sentence string) {
	if !quantity.Finite(v) || !ok {
		l.Add(fault.Invalidf(field, "%s", words.Sentence(sentence)))
	}
}

// gather looks up every ingredient and copies what does not depend on the size
// of the batch.
func (r *Result) gather(f *formula.Formula, cat *catalogue.Catalogue) error {
	var l fault.List
	checkRange(&l, "superfat", f.SuperfatPct, f.SuperfatPct >= 0 && f.SuperfatPct < 100,
		"the superfat must be from 0 to under 100 %")
	checkRange(&l, "fats_g", f.FatsG, f.FatsG > 0, "the mass of fats must be above 0 g")
	checkRange(&l, "alkali.koh_mol_pct", f.Alkali.KOHMolPct, f.Alkali.KOHMolPct >= 0 && f.Alkali.KOHMolPct <= 100,
		"the share of alkali supplied as KOH must be from 0 to 100 mol %")
	loss := f.CureWaterLossPct.Or(DefaultCureWaterLossPct)
	checkRange(&l, "cure_water_loss_pct", loss, loss >= 0 && loss <= 100, "the share of water lost must be from 0 to 100 %")
	if f.Method == formula.Hot {
		cook := f.CookLossPct.Or(0)
		checkRange(&l, "cook_loss_pct", cook, cook >= 0 && cook < 100, "the share of the water that boils off in the cook must be from 0 to under 100 %")
		r.cookShare = cook / 100
	}
	// The water that is gone when sold left either in the cook or after it.
	r.lossShare = math.Max(loss/100, r.cookShare)
	checkDensity(&l, f)
	r.x = f.Alkali.KOHMolPct / 100
	r.purityNa, r.naSolution = purity(&l, "naoh", f.Alkali.NaOHPurityPct, f.Alkali.NaOHSolutionPct)
	r.purityK, r.kSolute = purity(&l, "koh", f.Alkali.KOHPurityPct, f.Alkali.KOHSolutionPct)
	if len(f.Fats) == 0 {
		l.Add(fault.Invalidf("fat", "a formula needs at least one fat"))
	}
	r.Fats = make([]FatMass, 0, len(f.Fats))
	for i := range f.Fats {
		in := &f.Fats[i]
		ing, err := cat.Get(in.ID)
		if err != nil {
			l.Add(at(err, "fat", i, "id"))
			continue
		}
		if ing.Fat == nil {
			l.Add(fault.Invalidf(field("fat", i, "id"), "%s is no fat: put it among the extras", ing.Name))
			continue
		}
		checkRange(&l, field("fat", i, "pct"), in.Pct, in.Pct >= 0, "the share must be 0 % or more")
		m := FatMass{ID: in.ID, Name: ing.Name, Cooked: in.Cooked, Kind: ing.Fat.Kind, fat: ing.Fat, facts: ing.Facts,
			unsap: ing.Fat.UnsaponifiableMax.Or(0) / 1000 / 2}
		switch {
		case in.SAP.Known:
			m.SAP, m.Certificate = in.SAP.V, true
			m.SAPHalf = in.SAPHalfWidth.Or(certificateTolerance * in.SAP.V)
			checkRange(&l, field("fat", i, "sap_mg_koh_g"), m.SAP, m.SAP > 0 && m.SAP < 1500,
				"the saponification value must be above 0 and below 1500 mg KOH/g")
			checkRange(&l, field("fat", i, "sap_half_width"), m.SAPHalf, m.SAPHalf >= 0 && m.SAPHalf <= m.SAP,
				"the tolerance must be from 0 to the value itself")
		case ing.Fat.Kind == catalogue.Wax:
			m.SAP = ing.Fat.SureAcidValue
			m.SAPHalf = waxAcidTolerance * m.SAP
		default:
			m.SAP, m.SAPHalf = ing.Fat.SAP.Mid(), ing.Fat.SAP.Half()
		}
		r.Fats = append(r.Fats, m)
	}
	r.gatherExtras(f, cat, &l)
	return l.Err()
}

// gatherExtras looks up what is added to the fats or to the base.
func (r *Result) gatherExtras(f *formula.Formula, cat *catalogue.Catalogue, l *fault.List) {
	if len(f.Extras) > 0 {
		r.Extras = make([]ExtraMass, 0, len(f.Extras))
	}
	for i := range f.Extras {
		in := &f.Extras[i]
		ing, err := cat.Get(in.ID)
		if err != nil {
			l.Add(at(err, "extra", i, "id"))
			continue
		}
		if ing.Extra == nil {
			l.Add(fault.Invalidf(field("extra", i, "id"), "%s cannot be dosed beside the fats: put it among the fats", ing.Name))
			continue
		}
		checkRange(l, field("extra", i, "dose_g"), in.Dose, in.Dose >= 0, "the dose must be 0 or more")
		e := ing.Extra
		m := ExtraMass{ID: in.ID, Name: ing.Name, INCI: ing.INCI, Into: in.Into, Per: in.Per, Dose: in.Dose, Typed: in.Typed,
			Nature: e.Nature, DensityGML: e.DensityGML, acidMolPerG: e.AcidMolPerG, acidMolarMass: e.AcidMolarMass,
			Salt: e.AlkaliSalt, fatShare: in.FatPct.Or(e.FatPct) / 100, waterShare: in.WaterPct.Or(e.WaterPct) / 100,
			sugarShare: e.SugarPct / 100, SAP: in.SAP.Or(e.FatSAP.V)}
		m.SAPHalf = certificateTolerance * m.SAP
		if !in.SAP.Known {
			// The catalogue's value for a hidden fat is a plain figure without
			// a range. Three times a certificate's doubt is assumed.
			m.SAPHalf *= 3
		}
		checkRange(l, field("extra", i, "fat_pct"), m.fatShare, m.fatShare >= 0 && m.fatShare <= 1, "the share of fat must be from 0 to 100 %")
		checkRange(l, field("extra", i, "water_pct"), m.waterShare, m.waterShare >= 0 && m.waterShare+m.fatShare <= 1+1e-9,
			"the shares of water and fat must be 0 or more and together at most 100 %")
		checkRange(l, field("extra", i, "sap_mg_koh_g"), m.SAP, m.SAP >= 0 && m.SAP < 1500, "the saponification value must be below 1500 mg KOH/g")
		if m.fatShare > 0 && m.SAP == 0 {
			l.Add(fault.Invalidf(field("extra", i, "sap_mg_koh_g"),
				"%s is said to hold %g %% fat, but there is no saponification value for that fat: give one", ing.Name, 100*m.fatShare))
		}
		// Stated shares are rounded. If they add up to slightly more than the
		// whole, the surplus is taken off the water so that the balance closes.
		acidShare := m.acidMolPerG * m.acidMolarMass
		if over := m.waterShare + m.fatShare + acidShare - 1; over > 0 && m.waterShare > 0 {
			if over > 0.005 {
				l.Add(fault.Invalidf(field("extra", i, "water_pct"),
					"water, fat and acid of %s add up to %s: lower one of them", ing.Name, quantity.Percent(100*(1+over), 1)))
			}
			m.waterShare = max(m.waterShare-over, 0)
		}
		if room := 1 - m.fatShare - m.waterShare; m.acidMolPerG*m.acidMolarMass > room {
			m.acidMolarMass = room / m.acidMolPerG
		}
		r.Extras = append(r.Extras, m)
	}
	if len(f.Scents) > 0 {
		r.Scents = make([]ScentMass, len(f.Scents))
	}
	for i := range f.Scents {
		in := &f.Scents[i]
		checkRange(l, field("scent", i, "dose_pct"), in.DosePct, in.DosePct >= 0, "the dose must be 0 % or more")
		r.Scents[i] = ScentMass{Name: in.Name, LimitPct: in.LimitPct, Category: in.Category, Dated: in.Dated}
	}
}

// purity returns the share of what is weighed that is alkali. A missing purity
// counts as 100 %, which weighs out the least alkali, and a finding says so.
func purity(l *fault.List, which string, solid, solution quantity.Maybe) (share float64, ready bool) {
	if solution.Known {
		checkRange(l, "alkali."+which+"_solution_pct", solution.V, solution.V > 0 && solution.V < 100,
			"the strength of a ready-mixed solution must be above 0 and below 100 %")
		return solution.V / 100, true
	}
	p := solid.Or(100)
	checkRange(l, "alkali."+which+"_purity_pct", p, p > 0 && p <= 100, "the purity must be above 0 and at most 100 %")
	return p / 100, false
}

// size holds the masses, in g, on which a dose may be counted but which are
// known only at the end: the batter, the bar when sold, and the liquid.
type size struct{ batter, bar, liquid float64 }

// solve finds the masses. A dose counted on the batter, the bar or the liquid
// includes itself. The sizes s then satisfy
//
//	s = F(s)
//
// where F is linear in pieces, because the water is never below 0. Newton's
// method solves this exactly after a step or two.
func (r *Result) solve(f *formula.Formula) error {
	r.FatsG = 0
	for i := range r.Fats {
		m := &r.Fats[i]
		m.MassG = f.FatsG * f.Fats[i].Pct / 100
		m.Mol = 0
		if !m.Cooked {
			m.Mol = m.MassG * m.SAP / 1000 / catalogue.MolarKOH
		}
		r.FatsG += m.MassG
	}
	if r.FatsG <= 0 {
		return fault.Invalidf("fat", "there is no fat in the formula yet: give at least one fat a share")
	}
	var s size
	out, err := r.once(f, s)
	if err != nil {
		return err
	}
	if !r.selfCounting(f) {
		return nil
	}
	for range 12 {
		// out = F(s). The columns of J, the slope of F, come from unit steps
		// scaled to the batch. The steps are small because F bends where the
		// water runs out.
		h := r.FatsG / 1000
		var j [3][3]float64
		for k := range 3 {
			t := s
			*t.at(k) += h
			o, err := r.once(f, t)
			if err != nil {
				return err
			}
			for i := range 3 {
				j[i][k] = (*o.at(i) - *out.at(i)) / h
			}
		}
		// (I − J) ds = out − s
		var a [3][4]float64
		for i := range 3 {
			for k := range 3 {
				a[i][k] = -j[i][k]
			}
			a[i][i]++
			a[i][3] = *out.at(i) - *s.at(i)
		}
		d, ok := solve3(a)
		for i := range 3 {
			*s.at(i) += d[i]
		}
		if !ok || s.batter <= 0 || s.bar <= 0 || s.liquid < 0 || !quantity.Finite(s.batter+s.bar+s.liquid) {
			return fault.Invalidf("doses", "the doses counted on the batter, the bar or the liquid add up to all of it, "+
				"so that nothing else fits in: lower one of them")
		}
		if out, err = r.once(f, s); err != nil {
			return err
		}
		if math.Abs(out.batter-s.batter)+math.Abs(out.bar-s.bar)+math.Abs(out.liquid-s.liquid) < 1e-10*s.batter {
			return nil
		}
	}
	return fault.Invalidf("doses", "the doses counted on the batter, the bar or the liquid do not settle: lower one of them")
}

func (s *size) at(i int) *float64 {
	switch i {
	case 0:
		return &s.batter
	case 1:
		return &s.bar
	}
	return &s.liquid
}

func (r *Result) selfCounting(f *formula.Formula) bool {
	for i := range r.Extras {
		if p := r.Extras[i].Per; p == formula.PerKgBatter || p == formula.PerLiquid {
			return true
		}
	}
	for i := range f.Scents {
		if f.Scents[i].Of != formula.OfFats {
			return true
		}
	}
	return false
}

// once works the masses out for assumed sizes and returns the sizes that follow
// from them.
func (r *Result) once(f *formula.Formula, s size) (size, error) {
	r.SapMol, r.AcidMol = 0, 0
	for i := range r.Fats {
		r.SapMol += r.Fats[i].Mol
	}
	var extrasG, extraWater, liquidG float64
	for i := range r.Extras {
		m := &r.Extras[i]
		switch m.Per {
		case formula.PerKgFats:
			m.MassG = m.Dose * r.FatsG / 1000
		case formula.PerKgBatter:
			m.MassG = m.Dose * s.batter / 1000
		case formula.PerBatch:
			m.MassG = m.Dose
		case formula.PerLiquid:
			m.MassG = m.Dose / 100 * s.liquid
			liquidG += m.MassG
		}
		m.FatG, m.WaterG, m.SugarG = m.MassG*m.fatShare, m.MassG*m.waterShare, m.MassG*m.sugarShare
		m.FatMol = 0
		if m.Into != formula.IntoCooked {
			m.FatMol = m.FatG * m.SAP / 1000 / catalogue.MolarKOH
		}
		m.AcidMol = m.MassG * m.acidMolPerG
		m.AcidG = m.AcidMol * m.acidMolarMass
		r.SapMol += m.FatMol
		r.AcidMol += m.AcidMol
		extrasG += m.MassG
		extraWater += m.WaterG
	}
	var scentG float64
	for i := range r.Scents {
		base := r.FatsG
		switch f.Scents[i].Of {
		case formula.OfBatter:
			base = s.batter
		case formula.OfBar:
			base = s.bar
		}
		r.Scents[i].MassG = f.Scents[i].DosePct / 100 * base
		scentG += r.Scents[i].MassG
	}
	r.Mol = r.SapMol*(1-f.SuperfatPct/100) + r.AcidMol
	r.NaOHG = r.Mol * (1 - r.x) * catalogue.MolarNaOH / r.purityNa
	r.KOHG = r.Mol * r.x * catalogue.MolarKOH / r.purityK
	// The concentration counts the alkali as weighed. Of a ready-mixed solution
	// it counts only the alkali in it, because the rest is water.
	alkali, solutionWater := 0.0, 0.0
	if r.naSolution {
		alkali += r.NaOHG * r.purityNa
		solutionWater += r.NaOHG * (1 - r.purityNa)
	} else {
		alkali += r.NaOHG
	}
	if r.kSolute {
		alkali += r.KOHG * r.purityK
		solutionWater += r.KOHG * (1 - r.purityK)
	} else {
		alkali += r.KOHG
	}
	var asked float64
	switch w := f.Water; w.Rule {
	case formula.ByConcentration:
		c := w.Value / 100
		if !(c > 0 && c < 1) {
			return size{}, fault.Invalidf("lye_concentration", "the lye concentration must be above 0 and below 100 %%")
		}
		asked = alkali * (1 - c) / c
	case formula.ByRatio:
		asked = alkali * w.Value
	case formula.ByFats:
		asked = r.FatsG * w.Value / 100
	case formula.ByDiscount:
		asked = r.FatsG * w.FullPct / 100 * (1 - w.Value/100)
	}
	if alkali <= 0 && !(asked > 0) {
		return size{}, fault.Invalidf("fat", "nothing in these fats takes alkali, so there is no lye to make: add a fat that saponifies")
	}
	if !(asked > 0) || !quantity.Finite(asked) {
		return size{}, fault.Invalidf("lye_concentration", "the water comes to nothing: set a lye concentration above 0 and below 100 %%")
	}
	r.WaterG = asked - extraWater - solutionWater
	r.ShortWaterG = 0
	if r.WaterG < 0 {
		r.ShortWaterG = -r.WaterG
		if r.ShortWaterG < 1e-9*asked {
			r.ShortWaterG = 0 // other liquids replace all of the water, up to rounding
		}
		r.WaterG = 0
	}
	r.AllWaterG = r.WaterG + extraWater + solutionWater
	r.ConcentrationPct = pct(alkali, alkali+r.AllWaterG)
	in := r.FatsG + r.NaOHG + r.KOHG + r.WaterG + extrasG + scentG
	// Water made by neutralised acids boils off and dries out like any other.
	water := r.AllWaterG + r.madeWater()
	return size{batter: in - r.cookShare*water, bar: in - r.lossShare*water, liquid: r.WaterG + liquidG}, nil
}

// solve3 solves three equations in three unknowns. ok is false when they have
// no single answer.
func solve3(a [3][4]float64) (x [3]float64, ok bool) {
	for c := range 3 {
		p := c
		for i := c + 1; i < 3; i++ {
			if math.Abs(a[i][c]) > math.Abs(a[p][c]) {
				p = i
			}
		}
		a[c], a[p] = a[p], a[c]
		if math.Abs(a[c][c]) < 1e-12 {
			return x, false
		}
		for i := range 3 {
			if i == c {
				continue
			}
			k := a[i][c] / a[c][c]
			for j := c; j < 4; j++ {
				a[i][j] -= k * a[c][j]
			}
		}
	}
	for i := range 3 {
		x[i] = a[i][3] / a[i][i]
	}
	return x, true
}

// lyeSolution works out what is in the jug.
func (r *Result) lyeSolution(f *formula.Formula) {
	l := &r.Lye
	l.LaterG = r.WaterG * f.Liquid.LaterPct / 100
	jug := r.WaterG - l.LaterG
	l.MassG = r.NaOHG + r.KOHG + jug
	var extraWater float64
	for i := range r.Extras {
		if r.Extras[i].Into == formula.IntoLye {
			l.MassG += r.Extras[i].MassG
			extraWater += r.Extras[i].WaterG
		}
	}
	alkali := r.NaOHG + r.KOHG
	if r.naSolution {
		alkali -= r.NaOHG * (1 - r.purityNa)
	}
	if r.kSolute {
		alkali -= r.KOHG * (1 - r.purityK)
	}
	l.ConcentrationPct = pct(alkali, l.MassG)
	pureNa, _ := r.Pure()
	l.PureNaOHPct = pct(pureNa, l.MassG)
	ice := math.Min(math.Max(f.Liquid.IcePct, 0), 100) / 100 * jug
	if r.KOHG == 0 && !r.naSolution {
		if t, err := lye.PeakC(l.PureNaOHPct/100, 20); err == nil {
			l.PeakC = quantity.Some(t)
		}
		whole := lye.Jug{NaOHG: pureNa, WaterG: jug + extraWater, StartC: 20}
		if f.Liquid.PeakC.Known {
			g, err := lye.IceFor(whole, f.Liquid.PeakC.V)
			switch {
			case err == nil:
				ice = math.Min(g, jug)
			case fault.All(err)[0].Field == "peak_c" && l.PeakC.Known:
				ice = jug // even all of it as ice is not enough; a finding says so
			}
		}
		if ice > 0 && l.PeakC.Known {
			if t, err := whole.PeakWithIce(ice); err == nil {
				l.IcedPeakC = quantity.Some(t)
			}
		}
	}
	l.IceG, l.WaterG = ice, jug-ice
}

// volume adds up the volumes of what goes in, at the pour temperature. Real
// batters shrink a little on mixing, so this is an estimate, ± 3 %. Common
// practice, no source.
func (r *Result) volume(f *formula.Formula) {
	t := f.PourC.Or(DefaultPourC)
	r.Batter.PourC = t
	b := &r.Batter
	b.MassG = r.FatsG + r.NaOHG + r.KOHG + r.WaterG
	var ml float64
	for i := range r.Fats {
		ml += r.Fats[i].MassG / r.Fats[i].densityAt(t)
	}
	jug := r.NaOHG + r.KOHG + r.WaterG - r.Lye.LaterG
	ml += jug / r.jugDensity(jug, t)
	if d, err := lye.WaterDensityGML(t); err == nil {
		ml += r.Lye.LaterG / d
	} else {
		ml += r.Lye.LaterG
	}
	for i := range r.Extras {
		d := r.Extras[i].DensityGML
		if d <= 0 {
			d = 1
		}
		ml += r.Extras[i].MassG / d
		b.MassG += r.Extras[i].MassG
	}
	for i := range r.Scents {
		ml += r.Scents[i].MassG / scentDensity
		b.MassG += r.Scents[i].MassG
	}
	if r.cookShare > 0 {
		b.LostG = r.cookShare * (r.AllWaterG + r.madeWater())
		b.MassG -= b.LostG
		// The steam is taken to have filled as much room as the water that it
		// was.
		if d, err := lye.WaterDensityGML(t); err == nil {
			ml -= b.LostG / d
		} else {
			ml -= b.LostG
		}
	}
	b.fill(f, ml)
}

// fill sets the volume. It follows from the ingredients, or from the density
// that was measured.
func (b *Batter) fill(f *formula.Formula, ml float64) {
	b.VolumeML = ml
	b.DensityGML = b.MassG / ml
	b.EstimateGML = b.DensityGML
	if d := f.DensityGML; d.Known {
		b.Measured, b.DensityGML, b.VolumeML = true, d.V, b.MassG/d.V
	}
}

// densityAt is the density of the fat at t °C, g/mL. It is the measured density
// where there is one, since Lund's rule does not hold for those fats, and
// otherwise follows from the rule. Source of the rule and of the slope of 0.64
// kg/m³ per K: Lund, JAOCS 76 (1999) 1415.
func (m *FatMass) densityAt(t float64) float64 {
	switch {
	case m.fat.Density40.Known:
		return m.fat.Density40.V - 0.00064*(t-40)
	case m.Kind == catalogue.Wax:
		// Lund's rule holds for triglycerides only.
		return waxDensity
	}
	iv := 0.0
	switch {
	case m.fat.Iodine.Known():
		iv = m.fat.Iodine.Mid()
	case m.fat.HasProfile:
		iv = m.fat.Profile.Iodine(m.Kind).Or(0)
	case m.fat.Iodine.Min.Known:
		iv = m.fat.Iodine.Min.V
	case m.fat.Iodine.Max.Known:
		iv = m.fat.Iodine.Max.V
	}
	d, err := lye.FatDensityGML(m.SAP, iv, t)
	if err != nil {
		return unruledDensity
	}
	return d
}

// jugDensity is the density of alkali and water together, g/mL. The densities
// of the two solutions at this strength are averaged, weighted by the mass of
// each alkali.
func (r *Result) jugDensity(massG, t float64) float64 {
	if massG <= 0 {
		return 1
	}
	t = math.Min(math.Max(t, 20), 60) // the range of the tables
	na, k := r.Pure()
	w := (na + k) / massG
	var d, weight float64
	if na > 0 {
		if v, err := lye.NaOHDensity(math.Min(w, 0.5), t); err == nil {
			d += na * v
			weight += na
		}
	}
	if k > 0 {
		if v, err := lye.KOHDensity(math.Min(w, 0.5), t); err == nil {
			d += k * v
			weight += k
		}
	}
	if weight == 0 {
		return 1
	}
	return d / weight
}
