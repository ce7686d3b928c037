package formula

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"barwright/fault"
)

// Clone gives a copy that shares nothing with f.
func (f *Formula) Clone() *Formula {
	g := *f
	g.Fats = slices.Clone(f.Fats)
	g.Extras = slices.Clone(f.Extras)
	g.Scents = slices.Clone(f.Scents)
	for i := range g.Scents {
		g.Scents[i].Constituents = slices.Clone(f.Scents[i].Constituents)
	}
	g.Portions = slices.Clone(f.Portions)
	for i := range g.Portions {
		g.Portions[i].Colourants = slices.Clone(f.Portions[i].Colourants)
	}
	g.Bases = slices.Clone(f.Bases)
	return &g
}

// FatG is the mass of fat i, counted from 0, in g.
func (f *Formula) FatG(i int) float64 { return f.FatsG * f.Fats[i].Pct / 100 }

// BaseG is the mass of base i of a melt, counted from 0, in g.
func (f *Formula) BaseG(i int) float64 { return f.FatsG * f.Bases[i].Pct / 100 }

// Resize gives f for another mass of fats (of base, for a melt), in g. Doses per
// batch, and portions by volume or by mass, scale with it; all else is a share
// and stays. So every mass of a formula grows with its fats. It does not judge the
// mass: ResizeTo does.
func (f *Formula) Resize(fatsG float64) *Formula {
	g := f.Clone()
	g.FatsG = fatsG
	if !(f.FatsG > 0) {
		return g
	}
	for i := range g.Extras {
		if g.Extras[i].Per == PerBatch {
			g.Extras[i].Dose *= fatsG / f.FatsG
		}
	}
	for i := range g.Portions {
		if by := g.Portions[i].By; by == ByVolume || by == ByMass {
			g.Portions[i].Amount *= fatsG / f.FatsG
		}
	}
	return g
}

// ResizeTo is Resize, and refuses a size at which no batch can be made.
//
// Errors: fault.Invalid on "fats_g" outside MinFatsG to MaxFatsG, and where the
// size breaks a rule of Validate that f keeps.
func (f *Formula) ResizeTo(fatsG float64) (*Formula, error) {
	if !(fatsG >= MinFatsG && fatsG <= MaxFatsG) {
		return nil, fault.Invalidf("fats_g", "This size takes %s g of fats or base: give one that takes from 1 mg to 10 tonnes.", Plain(fatsG))
	}
	g, had := f.Resize(fatsG), f.Validate(true)
	for _, e := range g.Validate(true) {
		if !slices.ContainsFunc(had, func(x *fault.Error) bool { return x.Field == e.Field }) {
			return nil, fault.Invalidf("fats_g", "With %s g of fats or base this size cannot be made: %s.", Plain(fatsG), strings.TrimSuffix(e.Message, "."))
		}
	}
	return g, nil
}

// SameSums reports that two formulas give the same sums: they differ in their name
// and notes at most. What cannot be encoded is the same as nothing.
func SameSums(a, b *Formula) bool {
	x, y := a.Clone(), b.Clone()
	x.Name, y.Name, x.Notes, y.Notes = "", "", "", ""
	ja, err := Encode(x)
	if err != nil {
		return false
	}
	jb, err := Encode(y)
	return err == nil && bytes.Equal(ja, jb)
}

// Encode writes f as the JSON that is stored. Choices are words, what is unknown
// is left out. It fails on a number that is not finite and on a choice that is
// none of ours, which Validate names.
func Encode(f *Formula) ([]byte, error) {
	b, err := json.Marshal(f)
	if err != nil {
		return nil, fmt.Errorf("encode formula: %w", err)
	}
	return b, nil
}

// Decode reads what Encode wrote, and nothing else: an unknown key, an unknown
// word, a second document and more than 1 MiB are errors. The rules of Validate
// are not applied, so that a version kept under other rules can still be read.
func Decode(data []byte) (*Formula, error) {
	if len(data) > MaxFileBytes {
		return nil, fmt.Errorf("decode formula: %d bytes are more than %d", len(data), MaxFileBytes)
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	var f *Formula
	if err := d.Decode(&f); err != nil {
		return nil, fmt.Errorf("decode formula: %w", err)
	}
	if f == nil {
		return nil, errors.New("decode formula: null is no formula")
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("decode formula: something follows the formula")
	}
	return f, nil
}

// WriteTOML writes f as a file that ReadTOML reads back to the same sums. Water
// to alkali becomes the lye concentration that it means. What does not bear on
// the sums and has no key (notes, a certificate's category and date, the face of
// a dose, portions with their colours, a stage, what a scent's certificate states)
// stands in comments; whether fats were typed by weight is dropped.
//
// The error is a fault.List: whatever Validate(true) has to say, or a sentence
// for each thing that the file has no key for, a melt above all. Its Fields are Validate's.
func WriteTOML(f *Formula) ([]byte, error) {
	l := f.Validate(true)
	if len(l) > 0 {
		return nil, l
	}
	no := func(field, format string, args ...any) {
		l.Add(fault.Invalidf(field, format, args...))
	}
	if f.Method == Melt {
		no("method", "a formula file is of a batter with its lye, and has no key for the base of a melt: a melt stays in the studio")
		return nil, l
	}
	if f.Water.Rule == ByFats || f.Water.Rule == ByDiscount {
		no("water", "a formula file holds a lye concentration, and %s is one only once the alkali is worked out: set the water as a concentration first", f.Water)
	}
	if f.PourC.Known {
		no("pour_c", "a formula file has no pour temperature: take it out first, and volumes are worked out at 40 °C")
	}
	if f.Alkali.NaOHSolutionPct.Known {
		no("alkali.naoh_solution_pct", "a formula file has no ready-mixed solution: write the purity of dry NaOH instead")
	}
	if f.Alkali.KOHSolutionPct.Known {
		no("alkali.koh_solution_pct", "a formula file has no ready-mixed solution: write the purity of dry KOH instead")
	}
	for i, x := range f.Extras {
		if x.Per == PerLiquid {
			no(Path("extra", i, "per"), "a formula file has no dose by share of the liquid: dose %s per kg of fats or per batch first", x.ID)
		}
	}
	if f.Liquid.IcePct != 0 || f.Liquid.PeakC.Known {
		no("liquid.ice_pct", "a formula file has no ice: take it out first; the water is the same")
	}
	if f.Liquid.LaterPct != 0 {
		no("liquid.later_pct", "a formula file has no water kept back from the lye: take it out first; the water is the same")
	}
	if len(l) > 0 {
		return nil, l
	}

	var b strings.Builder
	text := func(key, v string) { fmt.Fprintf(&b, "%s = %s\n", key, quoteTOML(v)) }
	num := func(key string, v float64) { fmt.Fprintf(&b, "%s = %s\n", key, floatTOML(v)) }
	maybe := func(key string, known bool, v float64) {
		if known {
			num(key, v)
		}
	}
	note := func(s string) {
		for line := range strings.Lines(s) {
			clean := strings.Map(func(r rune) rune {
				if unprintable(r, true) {
					return ' '
				}
				return r
			}, strings.TrimRight(line, "\r\n"))
			b.WriteString(strings.TrimRight("# "+clean, " ") + "\n")
		}
	}

	note(f.Notes)
	text("name", f.Name)
	text("method", f.Method.String())
	num("superfat", f.SuperfatPct)
	if f.Water.Rule == ByRatio {
		note("water to alkali " + f.Water.String())
	}
	num("lye_concentration", f.Water.LyeConcentration(0, 0))
	num("fats_g", f.FatsG)
	maybe("cure_water_loss_pct", f.CureWaterLossPct.Known, f.CureWaterLossPct.V)
	maybe("cook_loss_pct", f.CookLossPct.Known, f.CookLossPct.V)
	maybe("measured_density_g_ml", f.DensityGML.Known, f.DensityGML.V)
	if f.Stage != AnyStage {
		note(f.Stage.Words())
	}
	for _, p := range f.Portions {
		note("portion " + p.Name + ": " + portionSaid(p, Faces{}))
	}
	b.WriteString("\n[alkali]\n")
	num("koh_mol_pct", f.Alkali.KOHMolPct)
	maybe("naoh_purity_pct", f.Alkali.NaOHPurityPct.Known, f.Alkali.NaOHPurityPct.V)
	maybe("koh_purity_pct", f.Alkali.KOHPurityPct.Known, f.Alkali.KOHPurityPct.V)
	num("purity_half_width_pct", f.Alkali.PurityHalfWidthPct)
	if f.ScaleDivisionG.Known {
		b.WriteString("\n[scale]\n")
		num("division_g", f.ScaleDivisionG.V)
	}
	for _, x := range f.Fats {
		b.WriteString("\n[[fat]]\n")
		text("id", x.ID)
		num("pct", x.Pct)
		maybe("sap_mg_koh_g", x.SAP.Known, x.SAP.V)
		maybe("sap_half_width", x.SAPHalfWidth.Known, x.SAPHalfWidth.V)
		if x.Cooked {
			b.WriteString("cooked = true\n")
		}
	}
	for _, x := range f.Extras {
		b.WriteString("\n[[extra]]\n")
		text("id", x.ID)
		if x.Typed.Unit != Grams {
			note(typedWords(x.Typed))
		}
		num("dose_g", x.Dose)
		text("per", x.Per.String())
		text("into", x.Into.String())
		maybe("fat_pct", x.FatPct.Known, x.FatPct.V)
		maybe("water_pct", x.WaterPct.Known, x.WaterPct.V)
		maybe("sap_mg_koh_g", x.SAP.Known, x.SAP.V)
	}
	for _, s := range f.Scents {
		b.WriteString("\n[[scent]]\n")
		text("name", s.Name)
		if s.Typed.Unit != Grams {
			note(typedWords(s.Typed))
		}
		num("dose_pct", s.DosePct)
		text("of", s.Of.String())
		if s.Category != "" || s.Dated != "" {
			note(strings.TrimSpace("certificate: " + s.Category + " " + s.Dated))
		}
		if len(s.Constituents) > 0 {
			note("stated: " + statedSaid(s.Constituents))
		}
		maybe("limit_pct", s.LimitPct.Known, s.LimitPct.V)
	}
	return []byte(b.String()), nil
}

func quoteTOML(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < 0x20 || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

func floatTOML(v float64) string {
	s := Plain(v)
	if !strings.ContainsAny(s, ".e") {
		s += ".0"
	}
	return s
}
