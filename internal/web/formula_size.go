package web

import (
	"context"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/formula"
	"barwright/mould"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// sizeView asks for the size of the batch: only what the way of asking needs.
type sizeView struct {
	By      Select
	Shown   string // the way whose fields stand on the page
	Fields  []Field
	Mould   *Select
	Carried []carried // what was typed for another way
	Said    string
}

// resize sizes the formula in the form to fats, batter or a mould.
func (s *server) resize(ctx context.Context, t trade, v url.Values) (url.Values, fault.List) {
	f, faults := t.read(v, false)
	if len(faults) > 0 {
		return v, faults
	}
	r, err := soap.Work(f, t.cat)
	if err != nil {
		return v, fault.All(err)
	}
	fatsG, l := s.sizeFats(ctx, t, v, r)
	if len(l) > 0 {
		return v, l
	}
	if v.Get("size.by") != "fats" {
		fatsG = soap.RoundSize(fatsG, t.set.Mass)
	}
	g, err := f.ResizeTo(fatsG)
	if err != nil {
		return v, fault.List{fault.Invalidf("size.by", "%s", fault.All(err)[0].Message)}
	}
	fresh := formula.ToForm(g, t.faces())
	// What is typed by mass follows; what is typed as a share stays as typed.
	for list, keys := range map[string][]string{"fat": {"g"}, "base": {"g"}, "extra": {"dose_g"}, "portion": {"amount"}} {
		for i, n := range formula.RowNumbers(v, list) {
			for _, key := range keys {
				if typed := formula.Path(list, i, key); fresh.Has(typed) {
					v.Set(list+"."+strconv.Itoa(n)+"."+key, fresh.Get(typed))
				}
			}
		}
	}
	v.Set("fats_g", fresh.Get("fats_g"))
	return v, nil
}

// sizeFats is the mass of fats at which a formula that was worked out comes to the
// size that the form asks for.
func (s *server) sizeFats(ctx context.Context, t trade, v url.Values, r *soap.Result) (float64, fault.List) {
	in := &typed{v: v}
	mass := func(text string) (float64, error) { return quantity.ParseMass(text, t.set.Mass) }
	above0 := func(field, what string, read func(string) (float64, error)) float64 {
		x, err := read(v.Get(field))
		in.at(field, err)
		if err == nil && !(x > 0) {
			in.at(field, fault.Invalidf(field, "%s must be above 0.", what))
		}
		return x
	}
	switch v.Get("size.by") {
	case "fats":
		g := above0("size.amount", "The mass", mass)
		return r.SizedByFats(g), in.faults
	case "batter":
		g := above0("size.amount", "The mass of batter", mass)
		return r.SizedByBatter(g), in.faults
	}
	m, at := s.sizeMould(ctx, t, in, v.Get("size.by"))
	fill := mould.Fill{Pct: in.number("size.fill", parsePercent).Or(100), OveragePct: in.number("size.over", parsePercent).Or(0)}
	pieces := in.count("size.pieces")
	if len(in.faults) > 0 {
		return 0, in.faults
	}
	ml, err := m.BatterFor(pieces, fill)
	if err != nil {
		for _, e := range fault.All(err) {
			field, ok := map[string]string{"pieces": "size.pieces", "fill_pct": "size.fill", "overage_pct": "size.over"}[e.Field]
			if !ok {
				field = at(e.Field)
			}
			in.at(field, e)
		}
		return 0, in.faults
	}
	return r.SizedByVolume(ml), nil
}

// sizeMould is the cavity that the form sizes a batch to: a mould of the studio,
// or one of a shape that is measured here and now. The second answer gives the
// form's name of one of its fields.
func (s *server) sizeMould(ctx context.Context, t trade, in *typed, by string) (m mould.Mould, at func(field string) string) {
	if by == "mould" {
		kept, err := s.cfg.Book.Moulds.Get(ctx, in.v.Get("size.mould"))
		if err != nil {
			in.at("size.mould", fault.Invalidf("size.mould", "Choose the mould that the batch is for, or measure one under Moulds first."))
		}
		return kept.Newest.Doc, func(string) string { return "size.mould" }
	}
	shape, err := mould.ParseShape(by)
	if err != nil || shape == mould.Measured {
		in.at("size.by", fault.Invalidf("size.by", "Choose what the batch is sized to."))
	}
	m = mould.Mould{Shape: shape, Cavities: 1, Sets: 1}
	for _, name := range shape.Fields() {
		*m.Field(name) = in.number("size."+name, func(text string) (float64, error) { return quantity.ParseLength(text, t.set.Length) })
	}
	return m, func(field string) string { return "size." + field }
}

func parsePercent(text string) (float64, error) {
	return quantity.ParseNumber(strings.TrimSuffix(strings.TrimSpace(text), "%"))
}

func sizeOf(t trade, v url.Values, faults fault.List, moulds []studio.Record[mould.Mould], w workView) sizeView {
	fo := func(name, label, unit, hint string) Field { return fieldOf(v, faults, "size."+name, label, unit, hint) }
	by := []Option{{Value: "fats", Label: "a mass of fats or base"}, {Value: "batter", Label: "a mass of batter"}, {Value: "mould", Label: "a mould of the studio"}}
	for _, shape := range mould.Shapes() {
		if shape != mould.Measured {
			by = append(by, Option{Value: shape.String(), Label: "a " + shape.Words() + ", by its inside"})
		}
	}
	z := sizeView{By: selectOf(v, faults, "size.by", "Size it to", by)}
	z.By.Wide = true
	if z.By.Value == "" {
		z.By.Value = "fats"
	}
	z.Shown = z.By.Value
	switch z.By.Value {
	case "fats", "batter":
		z.Fields = []Field{fo("amount", "mass", massUnitWord(t.set.Mass), "")}
	default:
		if z.By.Value == "mould" {
			opts := []Option{{Value: "", Label: "choose a mould"}}
			for _, m := range moulds {
				opts = append(opts, Option{Value: m.ID, Label: m.Name})
			}
			mo := selectOf(v, faults, "size.mould", "mould", opts)
			z.Mould = &mo
		} else if shape, err := mould.ParseShape(z.By.Value); err == nil {
			for _, name := range shape.Fields() {
				z.Fields = append(z.Fields, fo(name, mould.FieldWords(name), t.set.Length.String(), ""))
			}
		}
		z.Fields = append(z.Fields, fo("pieces", "pieces", "", ""), fo("fill", "filled to", "%", "100 when left empty"), fo("over", "beyond the moulds", "%", ""))
	}
	shown := map[string]bool{"size.by": true, "size.shown": true, "size.mould": z.Mould != nil}
	for _, f := range z.Fields {
		shown[f.Name] = true
	}
	for name := range v {
		if x := v.Get(name); strings.HasPrefix(name, "size.") && !shown[name] && x != "" && len(z.Carried) < maxRows {
			z.Carried = append(z.Carried, carried{Name: name, Value: x})
		}
	}
	slices.SortFunc(z.Carried, func(a, b carried) int { return strings.Compare(a.Name, b.Name) })
	if w.OK {
		z.Said = "Now " + w.Batter + " of batter, about " + w.Volume + "."
	}
	return z
}
