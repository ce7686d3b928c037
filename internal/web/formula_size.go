package web

import (
	"context"
	"math"
	"net/url"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/formula"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

type sizeView struct {
	By                    Select
	Amount, Pieces        Field
	Fill, Over            Field
	Mould                 Select
	Length, Width, Height Field
	Said                  string
}

// resize sizes the formula in the form to fats, batter or a mould.
func (s *server) resize(ctx context.Context, t trade, v url.Values) (url.Values, fault.List) {
	f, faults := formula.FromForm(v, formula.FormOptions{Faces: t.faces(), Ingredients: t.cat})
	if len(faults) > 0 {
		return v, faults
	}
	r, err := soap.Work(f, t.cat)
	if err != nil {
		return v, fault.All(err)
	}
	factor, l := s.sizeFactor(ctx, t, v, r)
	if len(l) > 0 {
		return v, l
	}
	if fats := f.FatsG * factor; !quantity.Finite(fats) || fats < formula.MinFatsG || fats > formula.MaxFatsG {
		return v, fault.List{fault.Invalidf("size.by", "That size would take %s g of fats: give one that takes from 1 mg to 10 tonnes.", formula.Plain(fats))}
	} else if v.Get("size.by") != "fats" {
		// A volume is known to 3 % at best: a long tail of digits would only be in the way.
		if step := t.sizeStep(); fats > 100*step {
			factor = math.Round(fats/step) * step / f.FatsG
		}
	}
	g := f.Scale(factor)
	fresh := formula.ToForm(g, t.faces())
	for i, n := range formula.RowNumbers(v, "fat") {
		if i < len(g.Fats) {
			v.Set("fat."+strconv.Itoa(n)+".g", fresh.Get(formula.Path("fat", i, "g")))
		}
	}
	for i, n := range formula.RowNumbers(v, "extra") {
		if i < len(g.Extras) {
			v.Set("extra."+strconv.Itoa(n)+".dose_g", fresh.Get(formula.Path("extra", i, "dose_g")))
		}
	}
	v.Set("fats_g", fresh.Get("fats_g"))
	return v, nil
}

// sizeStep is the step to which the fats of a batch sized by its volume or its
// batter are rounded, g.
func (t trade) sizeStep() float64 {
	if t.set.Mass == quantity.Gram {
		return 0.1
	}
	return 0.01 * quantity.GramsPerOunce
}

// sizeFactor is by how much a formula worked out is to grow to the size that
// the form asks for.
func (s *server) sizeFactor(ctx context.Context, t trade, v url.Values, r *soap.Result) (float64, fault.List) {
	var l fault.List
	number := func(field, what string, read func(string) (float64, error)) float64 {
		x, err := read(v.Get(field))
		if err != nil {
			for _, e := range fault.All(err) {
				c := *e
				c.Field = field
				l.Add(&c)
			}
			return 0
		}
		if !(x > 0) {
			l.Add(fault.Invalidf(field, "%s must be above 0.", what))
		}
		return x
	}
	mass := func(text string) (float64, error) { return quantity.ParseMass(text, t.set.Mass) }
	length := func(text string) (float64, error) { return quantity.ParseLength(text, t.set.Length) }
	switch v.Get("size.by") {
	case "fats":
		g := number("size.amount", "The mass of fats", mass)
		if len(l) > 0 {
			return 0, l
		}
		return g / r.FatsG, nil
	case "batter":
		g := number("size.amount", "The mass of batter", mass)
		if len(l) > 0 {
			return 0, l
		}
		return g / r.Batter.MassG, nil
	}
	pieces := number("size.pieces", "The number of pieces", quantity.ParseNumber)
	fill := 100.0
	if strings.TrimSpace(v.Get("size.fill")) != "" {
		fill = number("size.fill", "The level", parsePercent)
	}
	over := 0.0
	if strings.TrimSpace(v.Get("size.over")) != "" {
		x, err := parsePercent(v.Get("size.over"))
		if err != nil || x < 0 || x > 100 {
			l.Add(fault.Invalidf("size.over", "The batter beyond the moulds must be from 0 to 100 %%."))
		}
		over = x
	}
	if fill > 100 {
		l.Add(fault.Invalidf("size.fill", "A level above 100 %% runs over: give 100 %% or less."))
	}
	if pieces != float64(int(pieces)) {
		l.Add(fault.Invalidf("size.pieces", "The number of pieces must be whole."))
	}
	var volume float64
	if v.Get("size.by") == "box" {
		a := number("size.length", "The length", length)
		b := number("size.width", "The width", length)
		c := number("size.height", "The depth", length)
		volume = a * b * c / 1000
	} else {
		m, err := s.cfg.Book.Mould(ctx, v.Get("size.mould"))
		if err != nil {
			l.Add(fault.Invalidf("size.mould", "Choose the mould that the batch is for, or measure one under Moulds first."))
		} else if vol, err := m.Mould.Volume(); err != nil {
			l.Add(fault.Invalidf("size.mould", "The volume of %s is not known: measure it again under Moulds.", m.Mould.Name))
		} else {
			volume = vol.Value
		}
	}
	if len(l) > 0 {
		return 0, l
	}
	return volume * pieces * fill / 100 * (1 + over/100) / r.Batter.VolumeML, nil
}

func parsePercent(text string) (float64, error) {
	return quantity.ParseNumber(strings.TrimSuffix(strings.TrimSpace(text), "%"))
}

func sizeOf(t trade, v url.Values, faults fault.List, moulds []studio.Mould, w workView) sizeView {
	fo := func(name, label, unit, hint string) Field { return fieldOf(v, faults, name, label, unit, hint) }
	by := []Option{{"fats", "a mass of fats", ""}, {"batter", "a mass of batter", ""}, {"mould", "a mould of the studio", ""}, {"box", "a box, by its inside", ""}}
	opts := []Option{{"", "choose a mould", ""}}
	for _, m := range moulds {
		opts = append(opts, Option{m.Mould.ID, m.Mould.Name, ""})
	}
	z := sizeView{By: selectOf(v, faults, "size.by", "Size it to", by), Amount: fo("size.amount", "mass", massUnitWord(t.set.Mass), ""),
		Mould: selectOf(v, faults, "size.mould", "mould", opts), Pieces: fo("size.pieces", "pieces", "", ""), Fill: fo("size.fill", "filled to", "%", ""), Over: fo("size.over", "beyond the moulds", "%", ""),
		Length: fo("size.length", "length", t.set.Length.String(), ""), Width: fo("size.width", "width", t.set.Length.String(), ""), Height: fo("size.height", "depth", t.set.Length.String(), "")}
	if z.By.Value == "" {
		z.By.Value = "fats"
	}
	if w.OK {
		z.Said = "Now " + w.Batter + " of batter, about " + w.Volume + "."
	}
	return z
}
