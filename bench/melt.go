package bench

import (
	"fmt"
	"math"
	"slices"
	"unicode"
	"unicode/utf8"

	"barwright/formula"
	"barwright/quantity"
	"barwright/soap"
)

// bases adds the ready-made soaps of a melt.
func (m *maker) bases() {
	s := m.s
	var plan, sum float64
	for i, b := range m.r.Bases {
		if !(b.MassG > 0) {
			continue
		}
		l := m.line(fmt.Sprintf("base:%d", i), b.Name, b.MassG)
		if b.MaxMeltC.Known {
			l.note("never above " + m.floorC(b.MaxMeltC.V))
		}
		plan += b.MassG
		sum += l.WeighG
		s.Bases = append(s.Bases, l)
	}
	s.AllFats = m.down("bases", "All base", plan, sum)
	s.AllFats.Note = ""
}

// least is the smallest of the bases' known limits.
func (m *maker) least(of func(*soap.BaseMass) quantity.Maybe) quantity.Maybe {
	var out quantity.Maybe
	for i := range m.r.Bases {
		b := &m.r.Bases[i]
		if v := of(b); b.MassG > 0 && v.Known && (!out.Known || v.V < out.V) {
			out = v
		}
	}
	return out
}

func (m *maker) maxMelt() quantity.Maybe {
	return m.least(func(b *soap.BaseMass) quantity.Maybe { return b.MaxMeltC })
}

// floorC writes a limit in whole degrees, rounded down.
func (m *maker) floorC(c float64) string { return m.wholeC(c, math.Floor, 1e-9) }

// ceilC writes an upper limit in whole degrees, rounded up.
func (m *maker) ceilC(c float64) string { return m.wholeC(c, math.Ceil, -1e-9) }

// wholeC rounds in the unit that the studio reads. The fuzz, in degrees, keeps what
// is whole but for the last bit.
func (m *maker) wholeC(c float64, round func(float64) float64, fuzz float64) string {
	if m.s.Units.Temp == quantity.Fahrenheit {
		return m.s.temp(quantity.CelsiusOf(round(quantity.FahrenheitOf(c) + fuzz)))
	}
	return m.s.temp(round(c + fuzz))
}

// cookOff works out what boils off in a cook or evaporates from a melt: what the
// weighed total, weighedG, loses before it is poured.
func (m *maker) cookOff(weighedG float64) {
	s, r := m.s, m.r
	loss := r.Batter.LostG
	known := m.f.CookLossPct.Known
	switch s.Method {
	case formula.Hot:
	case formula.Melt:
		known = m.f.Melting.EvaporationPct.Known
		if !known || m.f.Melting.EvaporationPct.V <= 0 {
			return
		}
	default:
		return
	}
	later := 0.0 // goes in after the heat
	after := slices.Concat(s.Scents, s.Cooked)
	if s.Method == formula.Hot {
		after = append(after, m.extrasInto(formula.IntoCooked)...)
	}
	for _, l := range after {
		later += l.WeighG
	}
	c := &Cook{BeforeG: weighedG - later, LossG: loss, LossKnown: known}
	c.AfterG = c.BeforeG - c.LossG
	c.Before, c.Loss, c.After = s.near(c.BeforeG), s.near(c.LossG), s.near(c.AfterG)
	s.Cook = c
}

// meltSteps are the steps of melt-and-pour: there is no lye, but there is heat.
// Common practice, no source, except for the limits, which are the supplier's.
func (m *maker) meltSteps() {
	s := m.s
	deg, unit := s.Units.Temp.String(), s.Units.Mass.String()
	m.step("wear", "", "", "Put on heatproof gloves, long sleeves and closed shoes: hot melt burns skin. Send children and animals out")
	m.step("cut", "", "", "Cut the base small, in even pieces: %s", names(s.Bases))
	if s.Cook != nil {
		m.step("pot-before", "weighs", unit, "Weigh the pot with the base in it, and take off its own weight")
	}
	t := "Melt it gently, covered. Stir now and then without beating air in"
	most := m.maxMelt()
	switch at := m.f.Melting.MeltC; {
	case most.Known && at.Known && at.V < most.V:
		t += ". Bring it to about " + s.temp(at.V) + ", never above " + m.floorC(most.V)
	case most.Known:
		t += ". Never heat it above " + m.floorC(most.V)
	case at.Known:
		t += ". Bring it to about " + s.temp(at.V) + ", and no hotter than its supplier says"
	default:
		t += ". Heat it no hotter than its supplier says"
	}
	m.step("melt", "hottest", deg, "%s", t)
	if len(s.Extras) > 0 {
		m.step("into-melt", "", "", "Stir in evenly: %s", m.weights(s.Extras))
	}
	if c := s.Cook; c != nil {
		m.step("pot-after", "weighs", unit, "Weigh the pot again and take off its own weight: about %s, because %s evaporates", c.After, c.Loss)
	}
	t = "Take it off the heat and let it cool"
	if p := pourC(m.r); p.Known {
		t += " to about " + s.temp(p.V)
	}
	t += ". Stir now and then"
	if p := m.least(func(b *soap.BaseMass) quantity.Maybe { return b.MaxPourC }); p.Known {
		t += ". Never pour it above " + m.floorC(p.V)
	}
	m.step("cool", "at", deg, "%s", t)
	m.scentIn("Stir in the scent by hand, off the heat: %s", "at", "")
	if len(s.Vessels) > 0 {
		m.divide()
	}
	m.pourStep()
	m.step("mist", "", "", "If there are bubbles on top, spray a mist of spirit, only away from flame, hotplate and hot pan")
	if m.in.vessels == nil {
		m.step("still", "at", "", "Leave it still until it has set all through")
		m.unmould("Unmould")
		m.step("wrap", "at", "", "Wrap it soon: most melts draw water from the air and sweat when they lie open")
	}
	m.step("left", "left", unit, "Weigh what is left. Label it with its name and “melted %s”", times(m.f.Melting.Remelts+1))
}

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

func (m *maker) meltFoot() string {
	s := m.s
	t := "Melt-and-pour"
	if p := pourC(m.r); p.Known {
		t += ", poured near " + s.temp(p.V)
	}
	if p := m.maxMelt(); p.Known {
		t += ", melted at " + m.floorC(p.V) + " at most"
	}
	if n := m.f.Melting.Remelts; n > 0 {
		t += ", melted " + times(n) + " before"
	}
	return t + s.footScale()
}

// capital makes the first letter of the maker's own word upper case.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}
