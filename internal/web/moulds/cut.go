package moulds

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/finding"
	"barwright/internal/draw"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/mould"
	"barwright/quantity"
)

// cuttable reports that a block of the shape is cut into bars by a plan.
func cuttable(s mould.Shape) bool { return s == mould.Cuboid || s == mould.TaperedBox }

// cutNames are the fields of a plan, by the names of mould.Cut.
var cutNames = []string{"cut.along", "cut.across", "cut.layers", "cut.kerf_mm", "cut.end_mm", "cut.side_mm", "cut.top_mm"}

// bindCut is how a block is cut; nil where nothing of it is written. One across
// and one layer is what a loaf has, and what empty boxes mean.
func bindCut(f *form.Form, to **mould.Cut) {
	c := mould.Cut{Across: 1, Layers: 1}
	if *to != nil {
		c = **to
	}
	f.Count("cut.along", &c.Along, form.Label("Bars along the length"), form.Hint("empty: it is not cut"), form.Empty(0))
	f.Count("cut.across", &c.Across, form.Label("Bars across the width"), form.Hint("empty is 1"), form.Empty(1))
	f.Count("cut.layers", &c.Layers, form.Label("Layers"), form.Hint("empty is 1"), form.Empty(1))
	f.Number("cut.kerf_mm", &c.KerfMM, form.Length, form.Label("Kerf"), form.Hint("what a cut takes; none for a wire"), form.Empty(0))
	f.Number("cut.end_mm", &c.EndMM, form.Length, form.Label("Off each end"), form.Empty(0))
	f.Number("cut.side_mm", &c.SideMM, form.Length, form.Label("Off each side"), form.Empty(0))
	f.Number("cut.top_mm", &c.TopMM, form.Length, form.Label("Off the top"), form.Empty(0))
	if f.Writing() {
		return
	}
	if *to = &c; !slices.ContainsFunc(cutNames, func(name string) bool { return f.Typed(name) != "" }) {
		*to = nil
	} else if f.Typed("cut.along") == "" {
		f.Refuse("cut.along", fault.Invalidf("", "The number of bars along the length is missing: write 1 or more, or leave the whole plan empty."))
	}
}

// poured is what a drawing is asked for and a mould does not keep: how high it is
// filled, and how heavy the batter is.
type poured struct {
	FillPct    quantity.Maybe // of the cavity; unknown is the brim
	DensityGML quantity.Maybe
}

// bindPoured is the form of it. What is out of range counts as unknown.
func bindPoured(f *form.Form, p *poured) {
	f.Maybe("fill_pct", &p.FillPct, form.Percent, form.Label("Filled to"), form.Hint("of the cavity; empty is to the brim"), form.Only(func() error {
		if to := p.FillPct; to.Known && !(to.V > 0 && to.V <= 100) {
			p.FillPct = quantity.Maybe{}
			return fault.Invalidf("", "A cavity cannot be filled to %s: write more than 0, and 100 at most.", quantity.Percent(to.V, 1))
		}
		return nil
	}))
	f.Maybe("density_g_ml", &p.DensityGML, form.Plain.As("g/ml"), form.Label("Density of the batter"),
		form.Hint("for masses; may stay empty"), form.Only(func() error {
			if d := p.DensityGML; d.Known && !(d.V >= 0.2 && d.V <= 3) {
				p.DensityGML = quantity.Maybe{}
				return fault.Invalidf("", "No batter weighs %s g per ml: write about 1, such as 1.02.", quantity.Number(d.V, 2))
			}
			return nil
		}))
}

// cutWork is the plan, drawn and added up.
type cutWork struct {
	shell.Picture
	Why        []string
	Figures    []shell.Figure
	Rows       []cutRow
	More       int // sizes that are not listed
	Bars, Lost []cutRow
	Sum        cutRow
}

// cutRow is bars of one size, or what is lost.
type cutRow struct {
	Name, Aside          string
	Many, Each, Together string
}

// maxCutRows bounds the sizes that are listed: a block whose sides slope far has
// many.
const maxCutRows = 24

// cutWorkOf cuts the block of m, filled as p says.
func (t faces) cutWorkOf(m mould.Mould, ml float64, p poured, f *form.Form) (cutWork, []finding.Finding) {
	var w cutWork
	if w.Why = f.Why("cut"); len(w.Why) > 0 || m.Cut == nil {
		return w, nil
	}
	// Of the brim exactly, so that a full block is no sliver short of it.
	fill := ml
	if p.FillPct.Known {
		fill = ml * p.FillPct.V / 100
	}
	c, err := m.CutUp(fill)
	if err != nil {
		w.Why = notDrawn(f, err)
		return w, nil
	}
	if w.Picture, err = shell.Draw("cuts", 420, 340, func(id string, width float64) (string, error) {
		return draw.CutPlan(m, c, draw.CutPlanOptions{ID: id, Width: width, Length: t.Set.Length})
	}); err != nil {
		w.Why = notDrawn(f, err)
		return w, nil
	}
	amount := t.amounts(c.MeanML, p.DensityGML)
	least, most := amount(c.LeastML), amount(c.MostML)
	w.Figures = []shell.Figure{{Value: amount(c.MeanML), Label: "a bar, on the average"}}
	if len(c.Bars) > 1 {
		if least == most {
			w.Figures = append(w.Figures, shell.Figure{Value: "all alike", Label: "smallest to largest"})
		} else {
			w.Figures = append(w.Figures, shell.Figure{Value: fromTo(least, most), Label: "smallest to largest"},
				shell.Figure{Value: quantity.Percent(c.SpreadPct, 1), Label: "spread, of all bars about their mean"})
		}
	}
	waste := (c.KerfML + c.TrimML) / c.BlockML * 100
	w.Figures = append(w.Figures, shell.Figure{Value: quantity.Percent(waste, 1), Label: "of the block cut away"})

	w.Rows = t.cutSizes(&c, amount)
	if n := len(w.Rows) - maxCutRows; n > 0 {
		// The smallest and the largest tell the most.
		w.Rows = slices.Concat(w.Rows[:maxCutRows/2], w.Rows[len(w.Rows)-maxCutRows/2:])
		w.More = n
	}
	w.Bars = []cutRow{{Name: "All bars", Many: quantity.Number(float64(len(c.Bars)), 0), Together: amount(c.MeanML * float64(len(c.Bars)))}}
	for _, x := range []struct {
		name string
		ml   float64
	}{{"What the blade takes", c.KerfML}, {"Trimmed off", c.TrimML}} {
		if x.ml > 1e-9*c.BlockML {
			w.Lost = append(w.Lost, cutRow{Name: x.name, Together: amount(x.ml)})
		}
	}
	aside := "to the brim"
	if p.FillPct.Known && p.FillPct.V < 100 {
		aside = "filled to " + quantity.Percent(p.FillPct.V, wholeOrTenth(p.FillPct.V)) + ", " + quantity.Length(c.LevelMM, t.Set.Length) + " high"
	}
	w.Sum = cutRow{Name: "One block", Aside: aside, Together: amount(c.BlockML)}
	return w, c.Findings()
}

// fromTo is an interval of two amounts, whose unit stands once.
func fromTo(least, most string) string {
	if i, j := strings.LastIndex(least, quantity.UnitSpace), strings.LastIndex(most, quantity.UnitSpace); i > 0 && j > 0 && least[i:] == most[j:] {
		least = least[:i]
	}
	return least + " to " + most
}

// amounts says volumes as masses at a density, or as volumes where that is not
// known, to as many figures as one bar has use for.
func (t faces) amounts(oneML float64, density quantity.Maybe) func(ml float64) string {
	if density.Known {
		division := 0.1
		if oneML*density.V >= 1000 {
			division = 1
		}
		return func(ml float64) string { return t.Mass(ml*density.V, division) }
	}
	decimals := 1
	if one := t.Set.Volume.Millilitres(); one > 0 && oneML/one < 20 {
		decimals = 2
	}
	return func(ml float64) string { return quantity.Volume(ml, t.Set.Volume, decimals) }
}

// cutSizes gathers bars that are alike, from the smallest to the largest.
func (t faces) cutSizes(c *mould.Cutting, amount func(float64) string) []cutRow {
	type size struct {
		bar  mould.Bar
		nums []int
	}
	var sizes []size
	alike := func(a, b *mould.Bar) bool {
		near := func(x, y float64) bool { return math.Abs(x-y) <= 1e-6*max(x, y) }
		return near(a.VolumeML, b.VolumeML) && near(a.LengthMM, b.LengthMM) && near(a.WidthMM, b.WidthMM) && near(a.HeightMM, b.HeightMM)
	}
	for i := range c.Bars {
		b := &c.Bars[i]
		at := slices.IndexFunc(sizes, func(s size) bool { return alike(&s.bar, b) })
		if at < 0 {
			at = len(sizes)
			sizes = append(sizes, size{bar: *b})
		}
		sizes[at].nums = append(sizes[at].nums, i+1)
	}
	slices.SortStableFunc(sizes, func(a, b size) int { return cmp.Compare(a.bar.VolumeML, b.bar.VolumeML) })
	out := make([]cutRow, len(sizes))
	for i, s := range sizes {
		dim := func(mm float64) string { return quantity.LengthNumber(mm, t.Set.Length) }
		out[i] = cutRow{Name: barsSaid(s.nums), Many: quantity.Number(float64(len(s.nums)), 0), Each: amount(s.bar.VolumeML),
			Aside:    dim(s.bar.LengthMM) + " × " + dim(s.bar.WidthMM) + " × " + quantity.Length(s.bar.HeightMM, t.Set.Length),
			Together: amount(s.bar.VolumeML * float64(len(s.nums)))}
	}
	return out
}

// barsSaid names bars by their numbers: 'Bars 1, 3 and 5 to 9'. A long list is
// broken off.
func barsSaid(nums []int) string {
	var runs []string
	for i := 0; i < len(nums); {
		j := i
		for j+1 < len(nums) && nums[j+1] == nums[j]+1 {
			j++
		}
		switch run := strconv.Itoa(nums[i]); {
		case j > i+1:
			runs = append(runs, run+" to "+strconv.Itoa(nums[j]))
		case j == i+1:
			runs = append(runs, run, strconv.Itoa(nums[j]))
		default:
			runs = append(runs, run)
		}
		i = j + 1
	}
	switch {
	case len(nums) == 1:
		return "Bar " + runs[0]
	case len(runs) > 6:
		return "Bars " + strings.Join(runs[:5], ", ") + " …"
	}
	return "Bars " + words.List(runs)
}
