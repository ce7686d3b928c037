package bench

import (
	"fmt"
	"strings"

	"barwright/design"
	"barwright/formula"
	"barwright/internal/words"
	"barwright/lye"
	"barwright/quantity"
)

func (m *runner) group(key, title string, things []Thing) {
	if len(things) > 0 {
		m.r.Ready = append(m.r.Ready, Group{Key: key, Title: title, Things: things})
	}
}

// ready lists what to have ready (the mise en place).
func (m *runner) ready() {
	m.group("moulds", "Moulds", m.readyMoulds())
	m.group("embeds", "Embeds", m.readyEmbeds())
	m.group("vessels", "Vessels", m.readyVessels())
	items, wraps := m.readyItems()
	m.group("items", "To strew", items)
	m.group("packaging", "Packaging, for later", wraps)
	m.group("tools", "Tools", m.readyTools())
	m.group("reminders", "Your own reminders", m.readyReminders())
}

func (m *runner) readyMoulds() (out []Thing) {
	for _, c := range m.in.Need.Cavities {
		t := Thing{ID: c.Mould, Name: m.mouldName(c.Mould), N: float64(c.Needed)}
		d := m.set.Mould(c.Mould)
		t.Text = fmt.Sprintf("%s: %s", t.Name, words.Count(c.Needed, "cavity", "cavities"))
		if d.Cavities > 0 {
			sets := (c.Needed + d.Cavities - 1) / d.Cavities
			if d.Sets > 0 {
				sets = min(sets, d.Sets)
			}
			t.Text += fmt.Sprintf(", in %s of %d", words.Count(sets, "set", "sets"), d.Cavities)
		}
		if c.Rounds > 1 {
			t.Text += fmt.Sprintf(", filled %s over", times(c.Rounds))
		}
		var aside []string
		if c.VolumeML > 0 {
			aside = append(aside, m.volume(c.VolumeML)+" each")
		}
		var by []string
		for _, p := range m.in.Need.Pieces {
			if p.Net > 0 && m.set.Design(p.Design).Mould == c.Mould {
				by = append(by, m.designName(p.Design))
			}
		}
		if len(by) > 0 {
			aside = append(aside, "for "+words.List(by))
		}
		t.Aside = strings.Join(aside, ", ")
		out = append(out, t)
	}
	return out
}

func (m *runner) readyEmbeds() (out []Thing) {
	for _, e := range m.in.Need.Embeds {
		t := Thing{ID: e.Design, Name: m.designName(e.Design), N: float64(e.Gross), Text: fmt.Sprintf("%d × %s", e.Gross, m.designName(e.Design))}
		switch {
		case e.Pieces == 0:
			t.Text += ": all from the shelf"
		case e.Stock > 0:
			t.Text += fmt.Sprintf(": %d from the shelf, %d to cast first", e.Stock, e.Pieces)
		default:
			t.Text += ": cast first"
		}
		var by []string
		for _, w := range e.For {
			by = append(by, fmt.Sprintf("%d in %s", w.Pieces, m.designName(w.Design)))
		}
		t.Aside = strings.Join(by, ", ")
		out = append(out, t)
	}
	return out
}

func (m *runner) readyVessels() (out []Thing) {
	for _, b := range m.r.Batches {
		s := b.Sheet
		t := Thing{Name: b.Letter, N: 1, Text: fmt.Sprintf("%s, %s: a pot for %s, with room to stir", b.Letter, b.Name, s.Batter.Volume)}
		if b.Lye {
			t.Aside = "for the lye a heatproof jug, for the alkali a dry cup"
		}
		out = append(out, t)
		if !s.portioned() {
			continue
		}
		for _, v := range s.Vessels {
			out = append(out, Thing{Name: v.Name, N: 1, Text: fmt.Sprintf("%s%d, %s: room for %s", b.Letter, v.N, v.Name, v.Volume),
				Aside: strings.Join(v.Into, "; ")})
		}
	}
	return out
}

func (m *runner) readyItems() (items, wraps []Thing) {
	for _, n := range m.in.Need.Items {
		t := Thing{ID: n.Item, Name: m.itemName(n.Item), N: n.Count}
		switch {
		case n.Count > 0 && n.MassG > 0:
			t.Text = fmt.Sprintf("%s × %s, and %s", quantity.Number(n.Count, 0), t.Name, m.r.near(n.MassG))
		case n.Count > 0:
			t.Text = fmt.Sprintf("%s × %s", quantity.Number(n.Count, 0), t.Name)
		default:
			t.Text = fmt.Sprintf("%s, %s", t.Name, m.r.near(n.MassG))
		}
		if n.Wrap {
			wraps = append(wraps, t)
		} else {
			items = append(items, t)
		}
	}
	return items, wraps
}

func (m *runner) readyTools() (out []Thing) {
	add := func(needed bool, text, aside string) {
		if needed {
			out = append(out, Thing{Name: text, Text: text, Aside: aside})
		}
	}
	raw, melt := m.rawAndMelt()
	var hot, pipe, dough, cut, fill bool
	for _, b := range m.r.Batches {
		hot = hot || b.Sheet.Method == formula.Hot
		for _, v := range b.Sheet.Vessels {
			dough = dough || v.Stage == formula.Dough
		}
	}
	for _, p := range m.in.Need.Pours {
		pipe = pipe || p.Kind == design.Piping
		fill = fill || p.Kind.Level()
		cut = cut || m.set.Mould(p.Mould).Cut != nil
	}
	add(true, "Scale that shows steps of "+m.r.Scale, "and a spare battery")
	add(true, "Thermometer", "")
	add(raw, "Goggles, alkali-proof gloves, apron", "for everybody in the room")
	add(raw, "Stick blender and spatulas", "no aluminium, no zinc, no tin")
	add(raw, "Labelled waste cup with a lid", "for extra alkali and leftover lye")
	add(hot, "Covered cooking pot with a stirrer", "twice the room of the batter")
	add(melt, "Water bath or hotplate with a lidded pan", "")
	add(melt, "Heatproof gloves", "")
	add(melt, "Spirit in a sprayer, away from every flame", "for bubbles")
	add(fill, "Jugs with a lip", "one for each vessel above")
	add(pipe, "Piping bags and nozzles", "")
	add(dough, "Film, against drying, and clean gloves", "for the dough")
	add(cut, "Cutter and a ruler", "for later")
	return out
}

// rawAndMelt reports whether a batch is made with lye, and whether one is melted.
func (m *runner) rawAndMelt() (raw, melt bool) {
	for _, b := range m.r.Batches {
		raw = raw || b.Lye
		melt = melt || !b.Lye
	}
	return raw, melt
}

func (m *runner) readyReminders() (out []Thing) {
	for _, p := range m.in.Need.Pieces {
		if p.Net <= 0 {
			continue
		}
		d := m.set.Design(p.Design)
		for i := range d.Parts {
			for _, t := range d.Parts[i].Reminders {
				out = append(out, Thing{ID: p.Design, Name: t, Text: t, Aside: fmt.Sprintf("at %s of %s", partName(&d.Parts[i]), d.Name)})
			}
		}
	}
	return out
}

// lastWords adds the cautions of the run and its foot.
func (m *runner) lastWords() {
	r := m.r
	raw, melt := m.rawAndMelt()
	if raw {
		r.Cautions = lye.Cautions()
	}
	if melt {
		r.Heat = HeatCautions()
	}
	var what []string
	for _, t := range r.What {
		what = append(what, t.Text)
	}
	r.Foot = words.List(what)
	switch n := len(r.Batches); n {
	case 0:
	case 1:
		r.Foot += ". One batch, A"
	default:
		r.Foot += fmt.Sprintf(". %d batches, A to %s", n, words.Letters(n-1))
	}
	r.Foot += ". Scale " + r.Scale + "."
}
