package bench

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"barwright/catalogue"
	"barwright/design"
	"barwright/formula"
	"barwright/quantity"
)

// Vessel is one portion of the batter in its own vessel, with its colours.
type Vessel struct {
	N          int    // in the order of pouring, from 1
	Name       string // of the portion; "undivided" for batter that is not divided
	Stage      formula.Stage
	StageWords string // "at thin trace"; "" for any stage
	// Tip is the batter to pour in, without colours.
	Tip        Line
	Rest       bool   // it takes what is left; Tip says how much that should be
	Colourants []Line // weighed into it
	MassG      float64
	Mass       string  // of batter and colours, with its unit
	VolumeML   float64 // of the batter without colours
	Volume     string
	// Into says where it goes in a run: "36 × 51.3 g, tower of Lighthouse".
	Into []string
}

// Cook is what heat removes between pot and mould, found by weighing the pot.
type Cook struct {
	BeforeG, LossG, AfterG float64
	Before, Loss, After    string // with their unit
	LossKnown              bool   // false: nobody has written down yet what boils off
}

// at says how thick a batter must be when it is used. Only raw batter has a
// trace: a cooked one is thick, and a melt thin.
func at(m formula.Method, s formula.Stage) string {
	switch {
	case s == formula.Dough:
		return "as dough"
	case s == formula.AnyStage || m != formula.Cold:
		return ""
	}
	return "at " + s.Words()
}

// nameOf is the catalogue's name of an id, or the id in words if it has none.
func nameOf(c *catalogue.Catalogue, id string) string {
	if c != nil {
		if in, err := c.Get(id); err == nil {
			return in.Name
		}
	}
	return inWords(id)
}

// inWords is an id as words: "sea-salt" gives "Sea salt".
func inWords(id string) string {
	return cmp.Or(capital(strings.TrimSpace(strings.ReplaceAll(id, "-", " "))), "something without a name")
}

// vessels divides the batter. A sheet in a run follows the run's need. Otherwise
// the formula's portions decide, and those that must be thin come first.
func (m *maker) vessels() {
	if m.in.vessels != nil {
		m.vesselsOf(m.in.vessels)
		return
	}
	ps := m.f.Portions
	if len(ps) == 0 {
		return
	}
	all := m.s.Batter.MassG
	grams := make([]float64, len(ps))
	left, rest := all, -1
	for i, p := range ps {
		switch p.By {
		case formula.ByShare:
			grams[i] = all * p.Amount / 100
		case formula.ByVolume:
			grams[i] = p.Amount * m.s.Batter.DensityGML
		case formula.ByMass:
			grams[i] = p.Amount
		case formula.ByRest:
			rest = i
			continue
		}
		left -= grams[i]
	}
	if rest >= 0 {
		grams[rest] = math.Max(left, 0)
	}
	need := make([]design.VesselNeed, len(ps))
	for i, p := range ps {
		v := design.VesselNeed{Portion: p.Name, Stage: p.Stage, BatterG: grams[i]}
		for j, c := range p.Colourants {
			d := design.DoseNeed{ID: c.ID, MassG: c.GPerKg * grams[i] / 1000, Typed: c.Typed}
			if i < len(m.r.Portions) && j < len(m.r.Portions[i].Colourants) {
				d.Name = m.r.Portions[i].Colourants[j].Name
			}
			v.Colourants = append(v.Colourants, d)
		}
		need[i] = v
	}
	slices.SortStableFunc(need, func(a, b design.VesselNeed) int { return int(a.Stage) - int(b.Stage) })
	m.vesselsOf(need)
	for i := range m.s.Vessels {
		m.s.Vessels[i].Rest = rest >= 0 && m.s.Vessels[i].Name == ps[rest].Name
	}
	if rest < 0 && left > m.s.DivisionG {
		m.s.Undivided = m.s.near(left)
	}
}

func (m *maker) vesselsOf(need []design.VesselNeed) {
	s := m.s
	tips := m.tips(need)
	for i, n := range need {
		v := Vessel{N: i + 1, Name: cmp.Or(n.Portion, "undivided"), Stage: n.Stage, StageWords: at(s.Method, n.Stage)}
		v.Tip = m.down(fmt.Sprintf("vessel:%d", i), v.Name, n.BatterG, tips[i])
		if v.StageWords != "" {
			v.Tip.note(v.StageWords)
		}
		v.MassG = v.Tip.WeighG
		for j, c := range n.Colourants {
			l := m.line(fmt.Sprintf("colour:%d:%d", i, j), cmp.Or(c.Name, nameOf(m.in.Catalogue, c.ID)), c.MassG)
			m.spoons(&l, c.Typed, false)
			l.GoesIn = v.Name
			v.MassG += l.WeighG
			v.Colourants = append(v.Colourants, l)
		}
		v.Mass = s.mass(v.MassG)
		if s.Batter.DensityGML > 0 {
			// A pinch of pigment needs no room that a vessel would show.
			v.VolumeML = v.Tip.WeighG / s.Batter.DensityGML
		}
		if len(need) == 1 && s.Undivided == "" {
			v.VolumeML = s.Batter.VolumeML // all of it, exactly the volume of the batter
		}
		v.Volume = s.volume(v.VolumeML)
		if m.in.into != nil {
			p := m.in.into(s)[strings.ToLower(n.Portion)]
			v.Into = p.into
			m.verbs = append(m.verbs, p.verb(n.Stage))
		}
		s.Vessels = append(s.Vessels, v)
	}
}

// tips are what to weigh into each vessel. In a run they sum to the batter as the
// sheet weighs it: the largest of them takes what rounding leaves.
func (m *maker) tips(need []design.VesselNeed) []float64 {
	out := make([]float64, len(need))
	most, sum := 0, 0.0
	for i, n := range need {
		out[i] = quantity.RoundTo(n.BatterG, m.s.DivisionG)
		sum += out[i]
		if out[i] > out[most] {
			most = i
		}
	}
	if m.in.vessels != nil && len(need) > 0 {
		if all := quantity.RoundTo(out[most]+m.s.Batter.MassG-sum, m.s.DivisionG); all > 0 {
			out[most] = all
		}
	}
	return out
}

// divide adds the steps that fill the vessels.
func (m *maker) divide() {
	s := m.s
	if len(s.Vessels) == 1 && len(s.Vessels[0].Colourants) == 0 && !s.portioned() {
		m.thicken(s.Vessels[0].Stage)
		return
	}
	for _, v := range s.Vessels {
		t := fmt.Sprintf("Vessel %d, %s: pour in %s of batter", v.N, v.Name, s.mass(v.Tip.WeighG))
		if v.Rest {
			t = fmt.Sprintf("Vessel %d, %s: pour in what is left, about %s", v.N, v.Name, s.mass(v.Tip.WeighG))
		}
		if len(v.Colourants) > 0 {
			t += ". Stir in: " + m.weights(v.Colourants)
		}
		switch {
		case v.Stage == formula.Dough:
			t += ". Let it thicken to dough"
		case s.Method != formula.Cold || v.Stage == formula.AnyStage:
		case v.Stage == formula.ThinTrace:
			t += ". Keep it at thin trace"
		default:
			t += ". Stir on to " + v.Stage.Words()
		}
		m.step(fmt.Sprintf("vessel-%d", v.N), "at", "", "%s", t)
	}
	if s.Undivided != "" {
		m.step("undivided", "", "", "%s of batter is in no vessel. Pour it into a spare mould", s.Undivided)
	}
	if m.in.vessels == nil && len(s.Vessels) > 1 {
		var order []string
		for _, v := range s.Vessels {
			order = append(order, v.Name)
		}
		m.step("order", "", "", "Pour in this order: %s", strings.Join(order, ", then "))
	}
}

// portioned reports whether the batter is really divided.
func (s *Sheet) portioned() bool {
	return len(s.Vessels) > 1 || len(s.Vessels) == 1 && s.Vessels[0].Name != "undivided"
}

// thicken brings an undivided batter to its stage.
func (m *maker) thicken(to formula.Stage) {
	if m.s.Method != formula.Cold && to != formula.Dough {
		return
	}
	switch to {
	case formula.MediumTrace:
		m.step("thicken", "at", "", "Stir on to medium trace: a line holds on its surface for a moment")
	case formula.ThickTrace:
		m.step("thicken", "at", "", "Stir on to thick trace: it keeps a peak")
	case formula.Dough:
		m.step("thicken", "at", "", "Leave it, covered against drying, until it can be kneaded. Knead it in gloves")
	}
}
