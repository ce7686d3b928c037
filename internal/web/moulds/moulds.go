// Package moulds is the room of the moulds: what batter is poured into, how much it
// holds, and how a block is cut.
package moulds

import (
	"context"
	"embed"
	"math"
	"strconv"
	"strings"

	"barwright/internal/draw"
	"barwright/internal/web/form"
	"barwright/internal/web/record"
	"barwright/internal/web/shell"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

//go:embed *.html
var files embed.FS

var room = shell.NewRoom("moulds", files)

// rooms are the pages of the moulds.
type rooms struct{ record.Pages[mould.Mould] }

// Open registers the room.
func Open(s *shell.Shell, book *studio.Studio) {
	o := rooms{record.Pages[mould.Mould]{
		Room: form.Room{Shell: s, Book: book}, Records: book.Moulds, Path: "/moulds",
		Words: record.Words{One: "mould", Many: "moulds", Lead: "What batter is poured into, and how much it holds.", Write: "Measure a mould",
			First: "There is no mould yet. Measure one inside with a rule, or fill it with water and weigh that. Then a batch can be sized to it.",
			Find:  "Find by name", Within: "in its name",
			Note: "Give or take: twice the standard uncertainty, from the rule or from the fills of water."},
		Columns: []record.Column{{Label: "a cavity holds"}, {Label: "cavities"}},
		Rows:    rows, Changes: changes,
	}}
	s.Place("Moulds", "/moulds")
	o.Pages.Open()
	o.Serve(o.edit, "GET /moulds/new", "POST /moulds/new", "POST /moulds/work", "GET /moulds/{id}", "POST /moulds/{id}")
}

// faces are what the pages of the room are written with.
type faces struct{ form.Faces }

// rows are the moulds of a list.
func rows(_ context.Context, f form.Faces, list []studio.Record[mould.Mould]) ([]record.Row, error) {
	t, out := faces{f}, make([]record.Row, len(list))
	for i := range list {
		m := &list[i].Newest.Doc
		cavities := strconv.Itoa(m.Cavities)
		if m.Sets > 1 {
			cavities = strconv.Itoa(m.Sets) + " × " + cavities
		}
		row := record.Row{Aside: []string{t.mouldSaid(m)}, Cells: []record.Cell{{}, {Value: cavities}}}
		if use := t.mouldUse(m); use != "" {
			row.Aside = append(row.Aside, use)
		}
		if vol, err := m.Volume(); err == nil {
			row.Cells[0].Value, row.Cells[0].Under = t.Volume(vol)
		}
		out[i] = row
	}
	return out, nil
}

// mouldSaid is a mould's shape and measures in a few words.
func (t faces) mouldSaid(m *mould.Mould) string {
	if m.Shape == mould.Measured {
		if n := len(m.WaterG); n > 1 {
			return "measured with " + strconv.Itoa(n) + " fills of water"
		}
		return "measured with water"
	}
	said := m.Shape.Words() + ", " + t.dimsSaid(m)
	if n := m.Bars(); m.Cut != nil && n > 1 {
		said += ", cut into " + strconv.Itoa(n) + " bars"
	}
	return said
}

// dimsSaid are the measures of a mould: top and bottom by name where they differ.
func (t faces) dimsSaid(m *mould.Mould) string {
	number := func(x quantity.Maybe) string { return quantity.LengthNumber(x.V, t.Set.Length) }
	unit := quantity.UnitSpace + t.Set.Length.String()
	d := &m.Dimensions
	switch m.Shape {
	case mould.TaperedBox:
		return "top " + number(d.TopLengthMM) + " × " + number(d.TopWidthMM) + ", bottom " + number(d.BottomLengthMM) + " × " +
			number(d.BottomWidthMM) + ", " + number(d.DepthMM) + unit + " deep"
	case mould.ConeFrustum:
		return "top " + number(d.TopDiameterMM) + ", bottom " + number(d.BottomDiameterMM) + ", " + number(d.DepthMM) + unit + " deep"
	}
	var dims []string
	for _, name := range m.Shape.Fields() {
		dims = append(dims, number(*m.Field(name)))
	}
	return strings.Join(dims, " × ") + unit
}

// mouldUse is how long a mould is left and how hot it may get; "" where neither
// is known.
func (t faces) mouldUse(m *mould.Mould) string {
	var said []string
	if m.ReleaseHours.Known {
		said = append(said, "unmould after "+quantity.Number(m.ReleaseHours.V, wholeOrTenth(m.ReleaseHours.V))+quantity.UnitSpace+"h")
	}
	if m.MaxTempC.Known {
		said = append(said, "heat limit "+t.Temp(m.MaxTempC.V))
	}
	return strings.Join(said, ", ")
}

// wholeOrTenth is the decimals that a number is shown with: none where it has
// none.
func wholeOrTenth(v float64) int {
	if v == math.Trunc(v) {
		return 0
	}
	return 1
}

// mouldView is one mould, to be written down or changed.
type mouldView struct {
	record.Editing[mould.Mould]
	Archived bool
	Form     *form.Form
	Shape    mould.Shape
	Work     mouldWork
	Uses     shell.Uses
}

// Water reports that the cavity is measured by the water that fills it.
func (v mouldView) Water() bool { return v.Shape == mould.Measured }

// Dims are the fields of the dimensions.
func (v mouldView) Dims() ([]shell.Field, error) { return v.Form.DrawAll(mouldDims(v.Shape)...) }

// Cut reports that a block of the shape is cut by a plan.
func (v mouldView) Cut() bool { return cuttable(v.Shape) }

// mouldWork is what follows the typing.
type mouldWork struct {
	shell.Picture
	OK       bool
	Why      []string
	Figures  []shell.Figure
	Basis    string
	Cut      *cutWork // nil for what is not cut
	Findings shell.Findings
}

var mouldPage = shell.Declare[mouldView](room, "mould")

// mouldDims are the dimensions that a shape's form asks for.
func mouldDims(s mould.Shape) []string {
	if s == mould.Measured {
		return []string{"depth_mm", "rim_diameter_mm"}
	}
	return s.Fields()
}

// shapes are the shapes that can be chosen.
var shapes = func() (out []form.Case[mould.Shape]) {
	for _, x := range mould.Shapes() {
		label := x.Words()
		if x == mould.Measured {
			label = "any shape, measured with water"
		}
		out = append(out, form.Is(x, label))
	}
	return out
}()

// bindMould is the form of a mould, and of what its drawing is asked for. It gives
// the shape whose fields stand in the form.
func bindMould(f *form.Form, m *mould.Mould, p *poured) mould.Shape {
	f.Text("name", &m.Name, form.Label("Name"), form.Hint("what you call it, as loaf, beech"), form.Wide,
		form.Needed("The mould has no name: write what you call it, as loaf, beech."))
	form.Choose(f, "shape", &m.Shape, shapes, form.Label("Shape of one cavity, inside"), form.Wide)
	shape := m.Shape
	if shape == mould.ShapeUnset {
		shape = mould.Cuboid
		f.Set("shape", shape.String())
	}
	if shape == mould.Measured {
		mass := form.Mass
		if f.Faces().Set.Mass == quantity.PoundOunce {
			mass = mass.As("") // each fill names its own units
		}
		form.Rows(f, "water_g", &m.WaterG, func(f *form.Form, g *float64) {
			f.Number("", g, mass, form.Label("Fill "+f.Num()))
		}, form.Each("Fill"), form.AtLeast(3), form.LedTo("water_g"))
		f.Maybe("water_c", &m.WaterC, form.Temp, form.Label("Water was at"), form.Hint("its density goes by it"))
	}
	optional := map[string]string{}
	if shape == mould.Measured {
		optional = map[string]string{"depth_mm": "optional, for levels", "rim_diameter_mm": "optional, for the meniscus"}
	}
	for _, name := range mouldDims(shape) {
		f.Maybe(name, m.Field(name), form.Length, form.Label(shell.Upper(mould.FieldWords(name))), form.Hint(optional[name]))
	}
	if cuttable(shape) {
		bindCut(f, &m.Cut)
	}
	bindPoured(f, p)
	f.Count("cavities", &m.Cavities, form.Label("Cavities in one set"))
	f.Count("sets", &m.Sets, form.Label("Sets that you have"))
	f.Maybe("release_hours", &m.ReleaseHours, form.Plain.As("h"), form.Label("Unmould after"), form.Hint("from the pour; may stay empty"))
	f.Maybe("max_temp_c", &m.MaxTempC, form.Temp, form.Label("Heat limit"), form.Hint("as its maker says; may stay empty"))
	f.Prose("note", &m.Note, form.Label("Notes"), form.Height(3))
	record.BindNote(f)
	f.Check(m.Validate())
	return shape
}

// edit shows the form of a mould, answers it while the maker types, and keeps it.
func (o rooms) edit(a *form.Ask) error {
	e, err := o.Edit(a, a.PathValue("id"))
	if err != nil {
		return err
	}
	m := mould.Mould{ID: a.PathValue("id")}
	switch {
	case e.Shown != nil:
		m = e.Shown.Doc
	case !a.Posted:
		m = mould.Mould{Shape: mould.Cuboid, Cavities: 1, Sets: 1}
	}
	f, pressed := e.Form(a, func(f *form.Form, m *mould.Mould) { bindMould(f, m, &poured{}) })
	v := faces{a.Faces}.mouldView(f, &m)
	working := shell.IsLive(a.Request) || a.URL.Path == "/moulds/work" || pressed == "work" || pressed == form.Reshaped
	if a.Posted && !working {
		if id, err := o.Kept(a, f, &e, m); err != nil || id != "" {
			return o.GoKept(a, &e, id, err)
		}
	}
	return o.page(a, v, e)
}

// mouldView binds the form to a mould and works it out.
func (t faces) mouldView(f *form.Form, m *mould.Mould) mouldView {
	var p poured
	v := mouldView{Form: f, Shape: bindMould(f, m, &p)}
	v.Work = t.mouldWorkOf(m, p, f)
	return v
}

// mouldWorkOf draws the cavity and says what it holds, as far as it is known.
func (t faces) mouldWorkOf(m *mould.Mould, p poured, f *form.Form) mouldWork {
	var w mouldWork
	if w.Why = f.Why(append([]string{"shape", "water_"}, mouldDims(m.Shape)...)...); len(w.Why) > 0 {
		return w
	}
	// The cavity alone: a slip in how many there are hinders no drawing.
	one := mould.Mould{Shape: m.Shape, Dimensions: m.Dimensions, WaterG: m.WaterG, WaterC: m.WaterC, Cavities: 1, Sets: 1}
	vol, err := one.Volume()
	if err != nil {
		w.Why = notDrawn(f, err)
		return w
	}
	// The drawing is named by what was typed, which may be too long to be kept.
	if r := []rune(m.Name); len(r) <= 200 {
		one.Name = m.Name
	}
	if w.Picture, err = shell.Draw("mould", 420, 340, func(id string, width float64) (string, error) {
		return draw.Section(one, draw.SectionOptions{ID: id, Width: width, Inches: t.Set.Length == quantity.Inch, FillPct: p.FillPct})
	}); err != nil {
		w.Why = notDrawn(f, err)
		return w
	}
	w.OK = true
	holds, doubt := t.Volume(vol)
	w.Figures = []shell.Figure{{Value: holds, Label: "one cavity, to its brim"}, {Value: doubt, Label: "give or take, twice its standard uncertainty"}}
	if to := p.FillPct; to.Known && to.V < 100 {
		part, _ := t.Volume(quantity.Reading[float64]{Value: vol.Value * to.V / 100, SD: vol.SD * to.V / 100})
		w.Figures = append(w.Figures, shell.Figure{Value: part, Label: "filled to " + quantity.Percent(to.V, wholeOrTenth(to.V))})
	}
	if d := p.DensityGML; d.Known {
		ml := vol.Value
		if p.FillPct.Known {
			ml *= p.FillPct.V / 100
		}
		w.Figures = append(w.Figures, shell.Figure{Value: t.amounts(ml, d)(ml), Label: "of batter in it"})
	}
	if n := m.All(); n > 1 && len(f.Why("cavities", "sets")) == 0 {
		all, _ := t.Volume(quantity.Reading[float64]{Value: vol.Value * float64(n), SD: vol.SD * float64(n)})
		w.Figures = append(w.Figures, shell.Figure{Value: all, Label: "all " + strconv.Itoa(n) + " cavities"})
	}
	w.Basis = "Worked out " + one.VolumeBasis() + "."
	found := one.Findings()
	if cuttable(m.Shape) {
		one.Cut = m.Cut
		cut, more := t.cutWorkOf(one, vol.Value, p, f)
		if m.Cut != nil {
			w.Cut = &cut
			found = append(found, more...)
		}
	}
	w.Findings = shell.Footnotes(found)
	return w
}

// notDrawn is why a cavity or its cut is not drawn.
func notDrawn(f *form.Form, err error) []string {
	if why := f.Say(err); len(why) > 0 {
		return why
	}
	return []string{"The cavity could not be worked out."}
}

// page writes the form of a mould, or what of it follows the typing.
func (o rooms) page(a *form.Ask, view mouldView, e record.Editing[mould.Mould]) error {
	head := o.Head(e, a.Faces, "")
	if e.Record == nil {
		head.Lead = "Measure the inside of one cavity, or fill it with water and weigh that."
	} else {
		head.Title, view.Archived = e.Record.Name, e.Record.Archived()
		uses, err := o.Records.Uses(a.Context(), e.Record.ID)
		if err != nil {
			return err
		}
		view.Uses = record.Uses(uses, "No design uses it yet.", "/designs")
		if !view.Archived {
			head.Lead += " A sheet keeps the mould as it was when the sheet was made."
		}
	}
	view.Editing = e
	return form.Answer(mouldPage, a, view.Form, head, view, "mould-dims", "mould-cut", "mould-work")
}
