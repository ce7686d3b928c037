package design

import (
	"strconv"
	"strings"

	"barwright/formula"
	"barwright/internal/words"
	"barwright/quantity"
)

// Face is how what a design holds is written in words. The zero Face writes ids
// as they are, in g and mL.
type Face struct {
	// Name is what an id stands for; nil, or an answer of "", leaves the id.
	Name   func(id string) string
	Mass   quantity.MassUnit
	Volume quantity.VolumeUnit
}

// Diff gives what changed from a to b, in the order of b's parts, with what was
// taken out last. Parts are matched by what they are made of, so that one which
// only moved is said to have moved. Field is that of the later version, as in
// part.2.fill_to_pct; of the earlier one for a part that was taken out.
func Diff(a, b *Design, f Face) []formula.Change {
	d := &differ{f: f}
	d.words("name", "Name", a.Name, b.Name)
	d.words("mould", "Mould", f.name(a.Mould), f.name(b.Mould))
	from, gone := words.Pair(a.Parts, b.Parts, 4, like)
	inOrder := rising(from)
	for j, i := range from {
		y := &b.Parts[j]
		if i < 0 {
			d.words(field(j, "kind"), "Added, part "+strconv.Itoa(j+1), "", f.Part(y))
			continue
		}
		x, label := &a.Parts[i], f.label(j, y)
		say := func(key, what, before, after string) { d.words(field(j, key), label+", "+what, before, after) }
		if !inOrder[j] {
			say("kind", "place", "part "+strconv.Itoa(i+1), "part "+strconv.Itoa(j+1))
		}
		say("kind", "kind", x.Kind.String(), y.Kind.String())
		say("name", "name", given(x.Name), given(y.Name))
		say("formula", "formula", f.name(x.Formula), f.name(y.Formula))
		say("portion", "portion", portionSaid(x), portionSaid(y))
		say("design", "embed", f.name(x.Design), f.name(y.Design))
		say("item", "what", given(x.Item), given(y.Item))
		say("amount", "amount", f.Amount(x), f.Amount(y))
		if x.Kind == Embed && y.Kind == Embed {
			say("sunk_pct", "sunk", share(x.SunkPct), share(y.SunkPct))
			say("covered_pct", "covered after it", share(x.CoveredPct), share(y.CoveredPct))
		}
		say("closed", "wrapped", wrapSaid(x), wrapSaid(y))
		say("stage", "stage", given(x.Stage.Words()), given(y.Stage.Words()))
		say("wait", "wait before it", given(x.Wait.Words()), given(y.Wait.Words()))
		say("note", "note", given(x.Note), given(y.Note))
		say("reminders", "reminders", given(strings.Join(x.Reminders, "; ")), given(strings.Join(y.Reminders, "; ")))
	}
	for _, i := range gone {
		d.words(field(i, "kind"), "Taken out, part "+strconv.Itoa(i+1), f.Part(&a.Parts[i]), "")
	}
	d.words("note", "Note", given(a.Note), given(b.Note))
	return d.changes
}

// Part is a part in a few words: "pour sky, Sea white: to 80 %".
func (f Face) Part(p *Part) string {
	s := p.Kind.String()
	if p.Name != "" {
		s += " " + p.Name
	}
	switch {
	case p.Kind.Batter():
		s += ", " + given(f.name(p.Formula))
		if p.Portion != "" {
			s += " (" + p.Portion + ")"
		}
	case p.Kind == Embed:
		s += ", " + given(f.name(p.Design))
	default:
		s += ", " + given(p.Item)
	}
	return s + ": " + f.Amount(p)
}

// Amount is how much of a part there is: "to 80 %", "12 ml", "2".
func (f Face) Amount(p *Part) string {
	switch {
	case p.FillToPct.Known:
		return "to " + share(p.FillToPct.V)
	case p.VolumeML.Known:
		return quantity.Volume(p.VolumeML.V, f.Volume, 1)
	case p.MassG.Known:
		return quantity.Mass(p.MassG.V, f.Mass, 0.1)
	case p.Count.Known:
		return formula.Plain(p.Count.V)
	}
	return notGiven
}

// Words is the wait in a few words: "2 h, until skinned over", "3 days"; "" for none.
func (w Wait) Words() string {
	var s string
	if m := w.Minutes; m.Known {
		s = formula.Plain(m.V) + quantity.UnitSpace + "min"
		switch h, d := m.V/60, m.V/1440; {
		case d >= 2 && d == float64(int(d)):
			s = strconv.Itoa(int(d)) + quantity.UnitSpace + "days"
		case h >= 1 && h == float64(int(h)):
			s = strconv.Itoa(int(h)) + quantity.UnitSpace + "h"
		}
	}
	if w.Until != "" {
		if s != "" {
			s += ", "
		}
		s += "until " + w.Until
	}
	return s
}

type differ struct {
	f       Face
	changes []formula.Change
}

func (d *differ) words(field, label, before, after string) {
	if before != after {
		d.changes = append(d.changes, formula.Change{Field: field, Label: label, Before: before, After: after})
	}
}

func (f Face) name(id string) string {
	if f.Name != nil {
		if n := f.Name(id); n != "" {
			return n
		}
	}
	return id
}

func (f Face) label(j int, p *Part) string {
	s := "Part " + strconv.Itoa(j+1)
	if p.Name != "" {
		return s + ", " + p.Name
	}
	return s + ", " + p.Kind.String()
}

const notGiven = "not given"

func given(s string) string {
	if strings.TrimSpace(s) == "" {
		return notGiven
	}
	return s
}

func share(pct float64) string { return formula.Plain(pct) + quantity.UnitSpace + "%" }

func portionSaid(p *Part) string {
	if !p.Kind.Batter() {
		return ""
	}
	if p.Portion == "" {
		return "undivided"
	}
	return p.Portion
}

func wrapSaid(p *Part) string {
	switch {
	case p.Kind != Wrap:
		return ""
	case p.Closed:
		return "closed"
	}
	return "open"
}

func field(i int, key string) string { return "part." + strconv.Itoa(i+1) + "." + key }

// like is how much alike two parts are, 0 to 4: first what they are made of,
// then the maker's own name and the portion, then the kind alone.
func like(x, y *Part) int {
	made := x.Formula == y.Formula && x.Design == y.Design && x.Item == y.Item
	switch {
	case x.Kind == y.Kind && made && x.Portion == y.Portion && x.Name == y.Name:
		return 4
	case x.Kind == y.Kind && made && (x.Portion == y.Portion || x.Name == y.Name):
		return 3
	case made && x.Formula+x.Design+x.Item != "" && x.Kind.Batter() == y.Kind.Batter(), x.Kind == y.Kind && x.Name != "" && x.Name == y.Name:
		return 2
	case x.Kind == y.Kind:
		return 1
	}
	return 0
}

// rising says which of the matched parts stand in the order that they had: the
// longest such run of them. The others moved.
func rising(from []int) []bool {
	length, prev := make([]int, len(from)), make([]int, len(from))
	end := -1
	for j, i := range from {
		prev[j] = -1
		if i < 0 {
			continue
		}
		length[j] = 1
		for k := range j {
			if from[k] >= 0 && from[k] < i && length[k]+1 > length[j] {
				length[j], prev[j] = length[k]+1, k
			}
		}
		if end < 0 || length[j] > length[end] {
			end = j
		}
	}
	out := make([]bool, len(from))
	for ; end >= 0; end = prev[end] {
		out[end] = true
	}
	return out
}
