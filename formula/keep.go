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
	"barwright/quantity"
)

// Clone returns a copy that shares nothing with f.
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

// Encode writes f as the JSON that is stored. Choices are words, and what is
// unknown is left out. It fails on a number that is not finite and on an
// unknown choice. Validate names both.
func Encode(f *Formula) ([]byte, error) {
	b, err := json.Marshal(f)
	if err != nil {
		return nil, fmt.Errorf("encode formula: %w", err)
	}
	return b, nil
}

// Decode reads only what Encode wrote: an unknown key, an unknown word, a
// second document and more than 1 MiB are errors. The rules of Validate are not
// applied, so that a version kept under other rules can still be read.
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

// WriteTOML writes f as a file. ReadTOML reads it back to the same sums. A
// ratio of water to alkali is written as the lye concentration that it means.
// What has no key and does not change the sums is written as comments: notes, a
// certificate's category and date, a dose as it was typed, portions with their
// colours, a stage, and what a scent's certificate states. Whether the fats
// were typed by weight is not written.
//
// The error is a fault.List. It holds whatever Validate(true) finds, or else a
// sentence for each thing that the file has no key for, above all a melt. Its
// Fields are those of Validate.
func WriteTOML(f *Formula) ([]byte, error) {
	l := f.Validate(true)
	if len(l) == 0 {
		l = noKey(f)
	}
	if len(l) > 0 {
		return nil, l
	}
	var w tomlWriter
	w.note(f.Notes)
	w.text("name", f.Name)
	w.text("method", f.Method.String())
	w.num("superfat", f.SuperfatPct)
	if f.Water.Rule == ByRatio {
		w.note("water to alkali " + f.Water.String())
	}
	w.num("lye_concentration", f.Water.LyeConcentration(0, 0))
	w.num("fats_g", f.FatsG)
	w.maybe("cure_water_loss_pct", f.CureWaterLossPct)
	w.maybe("cook_loss_pct", f.CookLossPct)
	w.maybe("measured_density_g_ml", f.DensityGML)
	if f.Stage != AnyStage {
		w.note(f.Stage.Words())
	}
	for _, p := range f.Portions {
		w.note("portion " + p.Name + ": " + portionSaid(p, Faces{}, byID))
	}
	w.heading("[alkali]")
	w.num("koh_mol_pct", f.Alkali.KOHMolPct)
	w.maybe("naoh_purity_pct", f.Alkali.NaOHPurityPct)
	w.maybe("koh_purity_pct", f.Alkali.KOHPurityPct)
	w.num("purity_half_width_pct", f.Alkali.PurityHalfWidthPct)
	if f.ScaleDivisionG.Known {
		w.heading("[scale]")
		w.num("division_g", f.ScaleDivisionG.V)
	}
	for _, x := range f.Fats {
		w.heading("[[fat]]")
		w.text("id", x.ID)
		w.num("pct", x.Pct)
		w.maybe("sap_mg_koh_g", x.SAP)
		w.maybe("sap_half_width", x.SAPHalfWidth)
		if x.Cooked {
			w.WriteString("cooked = true\n")
		}
	}
	for _, x := range f.Extras {
		w.heading("[[extra]]")
		w.text("id", x.ID)
		w.typed(x.Typed)
		w.num("dose_g", x.Dose)
		w.text("per", x.Per.String())
		w.text("into", x.Into.String())
		w.maybe("fat_pct", x.FatPct)
		w.maybe("water_pct", x.WaterPct)
		w.maybe("sap_mg_koh_g", x.SAP)
	}
	for _, s := range f.Scents {
		w.heading("[[scent]]")
		w.text("name", s.Name)
		w.typed(s.Typed)
		w.num("dose_pct", s.DosePct)
		w.text("of", s.Of.String())
		if s.Category != "" || s.Dated != "" {
			w.note(strings.TrimSpace("certificate: " + s.Category + " " + s.Dated))
		}
		if len(s.Constituents) > 0 {
			w.note("stated: " + statedSaid(s.Constituents))
		}
		w.maybe("limit_pct", s.LimitPct)
	}
	return []byte(w.String()), nil
}

// noKey returns a sentence for each thing in f that a formula file has no key for.
func noKey(f *Formula) (l fault.List) {
	no := func(field, format string, args ...any) {
		l.Add(fault.Invalidf(field, format, args...))
	}
	if f.Method == Melt {
		no("method", "A formula file is of a batter with its lye, and has no key for the base of a melt: a melt stays in the studio.")
		return l
	}
	if f.Water.Rule == ByFats || f.Water.Rule == ByDiscount {
		no("water", "A formula file holds a lye concentration, and %s is one only once the alkali is worked out: set the water as a concentration "+
			"first.", f.Water)
	}
	if f.PourC.Known {
		no("pour_c", "A formula file has no pour temperature: take it out first, and volumes are worked out at 40 °C.")
	}
	if f.Alkali.NaOHSolutionPct.Known {
		no("alkali.naoh_solution_pct", "A formula file has no ready-mixed solution: write the purity of dry NaOH instead.")
	}
	if f.Alkali.KOHSolutionPct.Known {
		no("alkali.koh_solution_pct", "A formula file has no ready-mixed solution: write the purity of dry KOH instead.")
	}
	for i, x := range f.Extras {
		if x.Per == PerLiquid {
			no(Path("extra", i, "per"), "A formula file has no dose by share of the liquid: dose %s per kg of fats or per batch first.", x.ID)
		}
	}
	if f.Liquid.IcePct != 0 || f.Liquid.PeakC.Known {
		no("liquid.ice_pct", "A formula file has no ice: take it out first; the water is the same.")
	}
	if f.Liquid.LaterPct != 0 {
		no("liquid.later_pct", "A formula file has no water kept back from the lye: take it out first; the water is the same.")
	}
	return l
}

// tomlWriter writes the lines of a formula file.
type tomlWriter struct{ strings.Builder }

func (w *tomlWriter) heading(s string)          { w.WriteString("\n" + s + "\n") }
func (w *tomlWriter) text(key, v string)        { fmt.Fprintf(w, "%s = %s\n", key, quoteTOML(v)) }
func (w *tomlWriter) num(key string, v float64) { fmt.Fprintf(w, "%s = %s\n", key, floatTOML(v)) }

func (w *tomlWriter) maybe(key string, m quantity.Maybe) {
	if m.Known {
		w.num(key, m.V)
	}
}

// note writes s as comments, one on each line.
func (w *tomlWriter) note(s string) {
	for line := range strings.Lines(s) {
		clean := strings.Map(func(r rune) rune {
			if unprintable(r, true) {
				return ' '
			}
			return r
		}, strings.TrimRight(line, "\r\n"))
		w.WriteString(strings.TrimRight("# "+clean, " ") + "\n")
	}
}

// typed writes a dose as it was typed, unless that was in grams.
func (w *tomlWriter) typed(t Typed) {
	if t.Unit != Grams {
		w.note(typedWords(t))
	}
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
