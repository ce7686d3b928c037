package soap

import (
	"math"
	"slices"

	"barwright/catalogue"
	"barwright/doubt"
)

// Draws is how many draws a saved version and the command take.
const Draws = 200_000

// Seed is the seed of those draws. It is the same everywhere, so that one
// formula gives the same figures on every machine.
const Seed = 20_260_917

// Superfat is how much of the saponifiable fat is left free, and how sure that
// is. Percentages are of the saponifiable fat.
type Superfat struct {
	NominalPct float64 `json:"nominal_pct"` // asked for, or found from what was weighed
	SDPct      float64 `json:"sd_pct"`      // standard uncertainty, first order (GUM)
	LowPct     float64 `json:"p2_5_pct"`    // 2.5 % point
	HighPct    float64 `json:"p97_5_pct"`   // 97.5 % point
	// Excess is the chance of alkali in excess, 0 to 1, from the ranges of SAP,
	// purity and scale. Another batch from the same lots will be off by about
	// as much.
	Excess float64 `json:"excess"`
	// For1In1000Pct is the smallest superfat at which that chance is at most 1
	// in 1000, with everything else as given.
	For1In1000Pct float64 `json:"for_1_in_1000_pct"`
	// Draws is how many Monte Carlo draws gave the interval and the chances. 0
	// means that they are first order.
	Draws int    `json:"draws"`
	Seed  uint64 `json:"seed"`
}

// Saponifies reports whether alkali can turn any fat to soap. Less than a trace
// of such fat does not count, because a superfat then means nothing.
func (r *Result) Saponifies() bool { return r.SapMol > 1e-6*r.FatsG }

// weighed is one thing on the scale that the superfat depends on. Among the
// model's inputs its mass comes first and its saponification value next.
type weighed struct {
	about     string // "fat:2", "extra:0"
	name      string
	fatShare  float64 // the share of its mass to which S applies
	acidMol   float64 // mol of alkali per g that its acid takes
	sapInput  int     // index of S among the inputs; -1 when it has none
	massInput int
}

// model is the superfat as a function of everything that it depends on.
type model struct {
	in     []doubt.Input
	things []weighed
	// Indexes of the inputs for each alkali; −1 when it is not used.
	naMass, naPurity, kMass, kPurity int
	// The values as planned, which wanted needs.
	x, pNa, pK, sapMol, acidMol, naMass0, kMass0 float64
}

// model builds the inputs: every saponification value is rectangular over its
// range, every purity over its tolerance, and every weighing over ± half a
// scale division. The tare adds nothing more.
func (r *Result) model() *model {
	f := r.Formula
	n := 2*(len(r.Fats)+len(r.Extras)) + 4
	m := &model{in: make([]doubt.Input, 0, n), things: make([]weighed, 0, len(r.Fats)+len(r.Extras)),
		naMass: -1, naPurity: -1, kMass: -1, kPurity: -1,
		x: r.x, pNa: r.purityNa, pK: r.purityK, sapMol: r.SapMol, acidMol: r.AcidMol, naMass0: r.NaOHG, kMass0: r.KOHG}
	d := f.ScaleDivisionG
	for i := range r.Fats {
		t := &r.Fats[i]
		if t.Cooked || t.MassG == 0 {
			continue
		}
		w := weighed{about: about("fat", i), name: t.Name, fatShare: 1, massInput: len(m.in), sapInput: len(m.in) + 1}
		m.in = append(m.in, doubt.Division(t.Name, t.MassG, d), rectangular(t.Name, t.SAP, t.SAPHalf))
		m.things = append(m.things, w)
	}
	for i := range r.Extras {
		t := &r.Extras[i]
		if !t.LyeCountsOn() || t.MassG == 0 {
			continue
		}
		w := weighed{about: about("extra", i), name: t.Name, acidMol: t.acidMolPerG, massInput: len(m.in), sapInput: -1}
		m.in = append(m.in, doubt.Division(t.Name, t.MassG, d))
		if t.FatMol > 0 {
			w.fatShare, w.sapInput = t.fatShare, len(m.in)
			m.in = append(m.in, rectangular(t.Name, t.SAP, t.SAPHalf))
		}
		m.things = append(m.things, w)
	}
	half := f.Alkali.PurityHalfWidthPct / 100
	if r.NaOHG > 0 {
		m.naMass, m.naPurity = len(m.in), len(m.in)+1
		m.in = append(m.in, doubt.Division("sodium hydroxide", r.NaOHG, d), rectangular("sodium hydroxide", r.purityNa, half))
	}
	if r.KOHG > 0 {
		m.kMass, m.kPurity = len(m.in), len(m.in)+1
		m.in = append(m.in, doubt.Division("potassium hydroxide", r.KOHG, d), rectangular("potassium hydroxide", r.purityK, half))
	}
	return m
}

func rectangular(name string, v, half float64) doubt.Input {
	in := doubt.Input{Name: name, Dist: doubt.Rectangular, Value: v, Width: half}
	if half == 0 {
		in.Dist = doubt.Exact
	}
	return in
}

// moles returns the alkali at x, in mol, that would saponify the fats, that the
// acids take, and that was weighed.
func (m *model) moles(x []float64) (sap, acid, alkali float64) {
	for i := range m.things {
		t := &m.things[i]
		g := x[t.massInput]
		if t.sapInput >= 0 {
			sap += g * t.fatShare * x[t.sapInput]
		}
		acid += g * t.acidMol
	}
	sap /= 1000 * catalogue.MolarKOH
	if m.naMass >= 0 {
		alkali += x[m.naMass] * x[m.naPurity] / catalogue.MolarNaOH
	}
	if m.kMass >= 0 {
		alkali += x[m.kMass] * x[m.kPurity] / catalogue.MolarKOH
	}
	return sap, acid, alkali
}

// superfat is f = 1 − (n_alkali − n_acid)/n_sap at x.
func (m *model) superfat(x []float64) float64 {
	sap, acid, alkali := m.moles(x)
	if sap <= 0 {
		return 0
	}
	return 1 - (alkali-acid)/sap
}

// wanted is the superfat to ask for so that a batch with the errors of x has no
// alkali left over. The alkali weighed for a superfat f is n_sap(1 − f) +
// n_acid as planned; the purities and the scale's errors are those of x.
func (m *model) wanted(x []float64) float64 {
	sap, acid, _ := m.moles(x)
	if m.sapMol <= 0 {
		return 0
	}
	var a, d float64
	if m.naMass >= 0 {
		a += (1 - m.x) * x[m.naPurity] / m.pNa
		d += (x[m.naMass] - m.naMass0) * x[m.naPurity] / catalogue.MolarNaOH
	}
	if m.kMass >= 0 {
		a += m.x * x[m.kPurity] / m.pK
		d += (x[m.kMass] - m.kMass0) * x[m.kPurity] / catalogue.MolarKOH
	}
	if a <= 0 {
		return 0
	}
	return 1 - ((sap+acid-d)/a-m.acidMol)/m.sapMol
}

// sensitivities fills c with ∂f/∂x_i at the inputs' values. sap, acid and
// alkali are what moles returns there.
func (m *model) sensitivities(c []float64, sap, acid, alkali float64) {
	bySap := (alkali - acid) / (sap * sap)
	for i := range m.things {
		t := &m.things[i]
		g := m.in[t.massInput].Value
		c[t.massInput] = t.acidMol / sap
		if t.sapInput >= 0 {
			s := m.in[t.sapInput].Value
			c[t.massInput] += bySap * t.fatShare * s / 1000 / catalogue.MolarKOH
			c[t.sapInput] = bySap * g * t.fatShare / 1000 / catalogue.MolarKOH
		}
	}
	if m.naMass >= 0 {
		c[m.naMass] = -m.in[m.naPurity].Value / catalogue.MolarNaOH / sap
		c[m.naPurity] = -m.in[m.naMass].Value / catalogue.MolarNaOH / sap
	}
	if m.kMass >= 0 {
		c[m.kMass] = -m.in[m.kPurity].Value / catalogue.MolarKOH / sap
		c[m.kPurity] = -m.in[m.kMass].Value / catalogue.MolarKOH / sap
	}
}

// budget propagates the doubt to first order, with the plan's own
// sensitivities.
func (m *model) budget() doubt.Budget {
	c := make([]float64, len(m.in))
	x := make([]float64, len(m.in))
	for i := range m.in {
		x[i] = m.in[i].Value
	}
	sap, acid, alkali := m.moles(x)
	if sap <= 0 {
		return doubt.Budget{}
	}
	m.sensitivities(c, sap, acid, alkali)
	return doubt.PropagateWith(1-(alkali-acid)/sap, c, m.in)
}

// firstOrder fills in the superfat by first-order propagation (GUM), which is
// quick enough to follow typing. The interval and the chances come from the sum
// of the widest rectangles and a normal remainder; see doubt.Spread.
func (r *Result) firstOrder() {
	s := &r.Superfat
	*s = Superfat{NominalPct: r.Formula.SuperfatPct}
	if !r.Saponifies() {
		return
	}
	b := r.model().budget()
	s.SDPct = 100 * b.SD
	sp := b.Spread()
	lo, hi := sp.Interval(0.95)
	s.LowPct, s.HighPct = 100*lo, 100*hi
	s.Excess = sp.Below(0)
	// The superfat is nearly linear in f, so the distance from the middle to
	// the 1 in 1000 point is proportional to 1 − f.
	f := r.Formula.SuperfatPct / 100
	if f < 1 {
		d := (f - sp.Quantile(0.001)) / (1 - f)
		s.For1In1000Pct = 100 * math.Max(d/(1+d), 0)
	}
}

// Draw works the superfat out by Monte Carlo (GUM Supplement 1) with the given
// number of draws and seed. The interval and the chances come from the draws.
// The standard uncertainty remains that of the first order. The Result is not
// changed.
func (r *Result) Draw(draws int, seed uint64) Superfat {
	s := r.Superfat
	if !r.Saponifies() || draws <= 0 {
		return s
	}
	m := r.model()
	sample := doubt.Draw(func(x, y []float64) {
		y[0] = m.superfat(x)
		y[1] = m.wanted(x)
	}, m.in, 2, draws, seed)
	s.LowPct, s.HighPct = 100*sample.Quantile(0, 0.025), 100*sample.Quantile(0, 0.975)
	s.Excess = sample.ShareBelow(0, 0)
	s.For1In1000Pct = 100 * math.Max(sample.Quantile(1, 0.999), 0)
	s.Draws, s.Seed = draws, seed
	return s
}

// Doubt is how much one thing contributes to the doubt of the superfat.
type Doubt struct {
	About string // "fat:2", "alkali"
	Name  string
	Share float64 // of the variance, 0 to 1
}

// Doubts lists where the doubt comes from, greatest share first.
func (r *Result) Doubts() []Doubt {
	if !r.Saponifies() {
		return nil
	}
	m := r.model()
	b := m.budget()
	out := make([]Doubt, 0, len(m.things)+1)
	for i := range m.things {
		t := &m.things[i]
		s := b.Terms[t.massInput].Share
		if t.sapInput >= 0 {
			s += b.Terms[t.sapInput].Share
		}
		out = append(out, Doubt{t.about, t.name, s})
	}
	alkali := 0.0
	for _, i := range [...]int{m.naMass, m.naPurity, m.kMass, m.kPurity} {
		if i >= 0 {
			alkali += b.Terms[i].Share
		}
	}
	out = append(out, Doubt{"alkali", "the alkali", alkali})
	slices.SortStableFunc(out, func(a, b Doubt) int {
		switch {
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		}
		return 0
	})
	return out
}

// Weights are what was put on the scale, g, in the order of the formula.
type Weights struct {
	Fats, Extras []float64
	NaOH, KOH    float64
}

// SuperfatOf is the superfat, as a share, that the given weights lead to: 1 −
// (n_alkali − n_acid)/n_sap. Below 0, alkali is in excess. Fats and extras that
// are not given (a short or nil slice) weigh what the plan says.
func (r *Result) SuperfatOf(w Weights) float64 {
	sap, acid := 0.0, 0.0
	for i := range r.Fats {
		m := &r.Fats[i]
		if m.MassG <= 0 {
			continue
		}
		g := m.MassG
		if i < len(w.Fats) {
			g = w.Fats[i]
		}
		sap += m.Mol / m.MassG * g
	}
	for i := range r.Extras {
		m := &r.Extras[i]
		if m.MassG <= 0 {
			continue
		}
		g := m.MassG
		if i < len(w.Extras) {
			g = w.Extras[i]
		}
		sap += m.FatMol / m.MassG * g
		acid += m.acidMolPerG * g
	}
	alkali := w.NaOH*r.purityNa/catalogue.MolarNaOH + w.KOH*r.purityK/catalogue.MolarKOH
	if sap <= 0 {
		return 0
	}
	return 1 - (alkali-acid)/sap
}

// Plan returns the weights of the plan, not rounded.
func (r *Result) Plan() Weights {
	w := Weights{NaOH: r.NaOHG, KOH: r.KOHG, Fats: make([]float64, len(r.Fats)), Extras: make([]float64, len(r.Extras))}
	for i := range r.Fats {
		w.Fats[i] = r.Fats[i].MassG
	}
	for i := range r.Extras {
		w.Extras[i] = r.Extras[i].MassG
	}
	return w
}

// FreeFatAt is the mass of free fat that the bar would hold, g, if the superfat
// were pct, % of the saponifiable fat, and everything else stayed as it is. It
// shows where the edge between soap and free fat would lie. A result below the
// mass of fat stirred in after the cook means alkali in excess, and it may be
// negative.
func (r *Result) FreeFatAt(pct float64) float64 {
	ester, _ := r.demand()
	if ester <= 0 {
		return r.Bar.FreeFat
	}
	var esterG float64
	for i := range r.Fats {
		if m := &r.Fats[i]; !m.Cooked && m.Kind == catalogue.Triglyceride {
			esterG += m.MassG * (1 - m.unsap)
		}
	}
	for i := range r.Extras {
		if r.Extras[i].FatMol > 0 {
			esterG += r.Extras[i].FatG
		}
	}
	// The share of the esters that stays free is f · n_sap / n_ester.
	return r.Bar.FreeFat + (pct-r.Formula.SuperfatPct)/100*r.SapMol/ester*esterG
}
