package bench

import (
	"fmt"
	"strings"

	"barwright/formula"
	"barwright/internal/words"
	"barwright/quantity"
)

// names joins the names of lines: "a, b and c".
func names(lines []Line) string {
	n := make([]string, len(lines))
	for i := range lines {
		n[i] = lines[i].Name
	}
	return words.List(n)
}

// extrasInto are the lines of the extras that go in at the given time.
func (m *maker) extrasInto(into formula.Into) []Line {
	var out []Line
	for _, l := range m.s.Extras {
		var i int
		if _, err := fmt.Sscanf(l.About, "extra:%d", &i); err == nil && m.r.Extras[i].Into == into {
			out = append(out, l)
		}
	}
	return out
}

func (m *maker) step(key, read, unit, format string, args ...any) {
	m.s.Steps = append(m.s.Steps, Step{Key: key, Text: words.Sentence(fmt.Sprintf(format, args...)), Read: read, Unit: unit})
}

// weight is what a line says to weigh, with its unit.
func (m *maker) weight(l Line) string {
	if l.Spoons != "" {
		return l.Spoons
	}
	return m.s.mass(l.WeighG)
}

// weights lists lines with what each says to weigh.
func (m *maker) weights(lines []Line) string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = l.Name + ", " + m.weight(l)
	}
	return strings.Join(out, "; ")
}

// steps are the steps of the work. Water, and what dissolves in it, is always in
// the jug before any alkali. After that no water goes in.
func (m *maker) steps() {
	s := m.s
	deg := s.Units.Temp.String()
	near := s.temp(m.r.Batter.PourC)
	m.step("wear", "", "", "Put on goggles and alkali-proof gloves, long sleeves and closed shoes. "+
		"Open the window. Send children and animals out.")
	inJug := m.extrasInto(formula.IntoLye)
	inFats := m.extrasInto(formula.IntoFats)
	if m.jugWaterG() <= 0 {
		inJug, inFats = nil, append(inJug, inFats...)
	}
	m.jug(inJug, deg)
	m.step("cool", "at", deg, "Let the lye cool to about %s where nobody can knock it over", near)
	m.step("melt", "at", deg, "Melt the fats together and bring them to about %s", near)
	if len(inFats) > 0 {
		m.step("into-fats", "", "", "Stir into the fats: %s", names(inFats))
	}
	m.step("lye-into-fats", "at", "", "Pour the lye into the fats in a thin stream. Blend in short bursts to thin trace")
	if len(s.KeptBack) > 0 {
		m.step("later", "", "", "Stir the water kept back, %s, into the batter at trace: never into the lye", m.weight(s.KeptBack[0]))
	}
	if l := m.extrasInto(formula.IntoBatter); len(l) > 0 {
		m.step("into-batter", "", "", "Stir into the batter at thin trace: %s", names(l))
	}
	if s.Method == formula.Hot {
		m.cook(deg)
	} else {
		m.scentIn("Stir in the scent by hand: %s", "at", "")
	}
	if len(s.Vessels) > 0 {
		m.divide()
	} else {
		m.thicken(m.f.Stage)
	}
	m.pourStep()
	switch {
	case m.in.vessels != nil:
		// The run's own order has what comes after the pour.
	case s.Method == formula.Hot:
		m.step("cover", "at", "", "Press it down, cover it and let it set")
	default:
		m.step("cover", "at", "", "Cover it and leave it still. Look in after an hour, and uncover it if it swells or cracks")
	}
	// The lye is put out of reach before the long wait for the mould.
	m.step("waste", "", "", "Label and close the waste cup and any leftover lye. Wipe everything down while your gloves are still on")
	m.unmould("Unmould in gloves")
	if s.Test {
		m.step("test", "found", "", "%s Chance of alkali in excess: %s", TestNote, quantity.Odds(m.in.Superfat.Excess, m.in.Superfat.Draws))
	}
}

// unmould adds the step of unmoulding for a mould whose time is known.
func (m *maker) unmould(words string) {
	if p := m.s.Pour; p != nil && p.ReleaseHours.Known {
		m.step("unmould", "at", "", "%s, no sooner than %s%sh after the pour", words, quantity.Number(p.ReleaseHours.V, 0), quantity.UnitSpace)
	}
}

// jug fills the jug: water, ice, what dissolves in it, and only then alkali.
func (m *maker) jug(extras []Line, deg string) {
	var in []Line
	for _, l := range m.s.Lye {
		switch l.About {
		case "water":
			in = append(in, l)
		case "ice":
			l.Name = "ice"
			in = append(in, l)
		}
	}
	in = append(in, extras...)
	switch {
	case len(in) == 1 && in[0].About == "water":
		m.step("water", "at", deg, "Pour %s of water, cold, into the heatproof jug first", m.weight(in[0]))
	case len(in) > 0:
		m.step("water", "at", deg, "Put into the heatproof jug first, cold: %s", m.weights(in))
	}
	var dry, wet []string
	for _, a := range m.alkalis() {
		if a.solution.Known {
			wet = append(wet, a.name)
		} else {
			dry = append(dry, a.name)
		}
	}
	if len(wet) > 0 {
		how := "Weigh the %s solution straight into the empty heatproof jug. Add nothing to it"
		if len(in) > 0 {
			how = "Add the %s solution to the water, little by little, while you stir"
		}
		m.step("solution", "at", deg, how, strings.Join(wet, " and "))
	}
	if len(dry) == 0 {
		return
	}
	onto := "to the water"
	switch {
	case len(in) == 0:
		onto = "to the solution"
	case m.jugG <= 0:
		onto = "to what is in the jug"
	}
	peak := "It may reach the boil, so wait between the thirds"
	if p := m.r.Lye.PeakC; p.Known {
		peak = "It may reach " + m.ceilC(p.V)
		if m.r.Lye.IceG > 0 {
			peak = "Without the ice it may reach " + m.ceilC(p.V)
			if i := m.r.Lye.IcedPeakC; i.Known {
				peak = "With the ice it may reach " + m.ceilC(i.V) + ", without it " + m.ceilC(p.V)
			}
		}
	}
	m.step("alkali", "peak", deg, "Add the %s %s, a third at a time. Stir, with your face turned away. %s",
		strings.Join(dry, ", then the "), onto, peak)
}

// cook is what hot process does between trace and mould. Common practice, no
// source.
func (m *maker) cook(deg string) {
	s := m.s
	unit := s.Units.Mass.String()
	if c := s.Cook; c != nil {
		m.step("pot-before", "weighs", unit, "Weigh the pot and take off its own weight: about %s", c.Before)
	}
	m.step("cook", "at", deg, "Cook it, covered, on low heat. Stir it down when it climbs: it can spit and burn")
	m.step("cooked", "at", "", "Cook it until it is even and translucent, with no fat and no liquid apart")
	if c := s.Cook; c != nil {
		if c.LossKnown {
			m.step("pot-after", "weighs", unit,
				"Weigh the pot again and take off its own weight: about %s, because %s boils off. If it is heavier, cook on with the lid off", c.After, c.Loss)
		} else {
			m.step("pot-after", "weighs", unit, "Weigh the pot again. What it has lost is the cook-off to write into the formula")
		}
	}
	if len(s.Cooked) > 0 {
		m.step("cooked-fats", "", "", "Stir in after the cook: %s", names(s.Cooked))
	}
	if l := m.extrasInto(formula.IntoCooked); len(l) > 0 {
		m.step("into-cooked", "", "", "Stir into the cooked soap: %s", names(l))
	}
	m.scentIn("Take it off the heat. When it is as cool as you can still stir it, stir in the scent: %s", "at", deg)
}

func (m *maker) scentIn(format, read, unit string) {
	if len(m.s.Scents) > 0 {
		m.step("scent", read, unit, format, names(m.s.Scents))
	}
}

func (m *maker) pourStep() {
	s := m.s
	unit := s.Units.Mass.String()
	p := s.Pour
	if m.in.vessels != nil {
		for _, v := range s.Vessels {
			what := m.verbs[v.N-1]
			if s.portioned() {
				what += " " + v.Name
			}
			m.step(fmt.Sprintf("pour-%d", v.N), "left", unit, "%s in the order of the run: %s", what, strings.Join(v.Into, "; "))
		}
		return
	}
	if p == nil {
		m.step("pour", "at", "", "Pour %s of batter, about %s", s.Batter.Mass, s.Batter.Volume)
		return
	}
	if m.f.Stage == formula.Dough && len(s.Vessels) == 0 {
		m.step("pour", "left", unit, "Press it by hand, in gloves, into %s of %s, %s in each",
			words.Count(p.Pieces, "cavity", "cavities"), p.Mould, p.Each)
		return
	}
	if p.Pieces <= 0 {
		m.step("pour", "left", unit, "Pour it into %s. The batter fills no whole cavity", p.Mould)
		return
	}
	t := fmt.Sprintf("Fill %s of %s to %s, %s in each", words.Count(p.Pieces, "cavity", "cavities"), p.Mould, quantity.Percent(p.FillPct, 0), p.Each)
	if p.LevelMM.Known {
		t += s.deep(p.LevelMM.V, p.About)
	}
	if p.Rounds > 1 {
		t += fmt.Sprintf(", in %d rounds", p.Rounds)
	}
	m.step("pour", "left", unit, "%s", t)
}
