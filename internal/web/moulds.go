package web

import (
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"barwright/internal/draw"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

func (s *server) mouldRoutes() {
	s.Place("Moulds", "/moulds")
	s.Handle("GET /moulds", s.moulds)
	s.Handle("GET /moulds/new", s.newMould)
	s.Handle("POST /moulds/new", s.postMould)
	s.Handle("POST /moulds/work", s.workMould)
	s.Handle("GET /moulds/{id}", s.mould)
	s.Handle("POST /moulds/{id}", s.postMould)
	s.Handle("POST /moulds/{id}/put-away", s.putMouldAway)
	s.Handle("POST /moulds/{id}/bring-back", s.bringMouldBack)
}

// mouldsView is the shelf.
type mouldsView struct {
	Away  bool
	Rows  []mouldRow
	Empty *Empty
}

type mouldRow struct {
	Href, Name, Aside string
	Use               string // how long it stands and how hot, where known
	Holds, Doubt      string
	Cavities          string
	Back              string // address that brings it back; "" unless put away
}

var mouldsPage = shell.Declare[mouldsView](room, "moulds")

func (s *server) moulds(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	v := mouldsView{Away: r.FormValue("away") != ""}
	list := s.cfg.Book.Moulds.List
	if v.Away {
		list = s.cfg.Book.Moulds.ListArchived
	}
	all, err := list(ctx, "", studio.Slice{Size: 500})
	if err != nil {
		return err
	}
	for _, x := range all.Items {
		m := x.Newest.Doc
		row := mouldRow{Href: "/moulds/" + m.ID, Name: m.Name, Aside: t.mouldSaid(&m), Use: t.mouldUse(&m), Cavities: strconv.Itoa(m.Cavities)}
		if m.Sets > 1 {
			row.Cavities = strconv.Itoa(m.Sets) + " × " + row.Cavities
		}
		if vol, err := m.Volume(); err == nil {
			row.Holds, row.Doubt = t.volumeSaid(vol)
		}
		if v.Away {
			row.Back = "/moulds/" + m.ID + "/bring-back"
		}
		v.Rows = append(v.Rows, row)
	}
	switch {
	case len(v.Rows) == 0 && v.Away:
		v.Empty = &Empty{Text: "Nothing was put away.", Do: &Button{Label: "The shelf", Href: "/moulds"}}
	case len(v.Rows) == 0:
		v.Empty = &Empty{Text: "No mould is on the shelf yet. Measure one inside with a rule, or fill it with water and weigh that: then a batch can be sized to it.",
			Do: &Button{Label: "Measure a mould", Look: Main, Href: "/moulds/new"}}
	}
	return mouldsPage.Write(s.Shell, w, r, http.StatusOK, Head{Title: "Moulds", Lead: "What batter is poured into, and how much it holds.",
		Actions: []Button{{Label: "Measure a mould", Look: Main, Href: "/moulds/new"}}}, v)
}

// mouldSaid is a mould's shape and measures in a few words.
func (t trade) mouldSaid(m *mould.Mould) string {
	if m.Shape == mould.Measured {
		if n := len(m.WaterG); n > 1 {
			return "measured with " + strconv.Itoa(n) + " fills of water"
		}
		return "measured with water"
	}
	var dims []string
	for _, name := range m.Shape.Fields() {
		dims = append(dims, quantity.LengthNumber(m.Field(name).V, t.set.Length))
	}
	said := m.Shape.Words() + ", " + strings.Join(dims, " × ") + quantity.UnitSpace + t.set.Length.String()
	if n := m.Bars(); m.Cut != nil && n > 1 {
		said += ", cut into " + strconv.Itoa(n) + " bars"
	}
	return said
}

// mouldUse is how long a mould is left and how hot it may get; "" where neither
// is known.
func (t trade) mouldUse(m *mould.Mould) string {
	var said []string
	if m.ReleaseHours.Known {
		said = append(said, "unmould after "+quantity.Number(m.ReleaseHours.V, wholeOrTenth(m.ReleaseHours.V))+quantity.UnitSpace+"h")
	}
	if m.MaxTempC.Known {
		said = append(said, "stands "+t.tempSaid(m.MaxTempC.V)+" at most")
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
	Action  string
	ID      string
	PutAway bool
	Form    *form.Form
	Shape   mould.Shape
	Work    mouldWork
}

// Water reports that the cavity is measured by the water that fills it.
func (v mouldView) Water() bool { return v.Shape == mould.Measured }

// Dims are the fields of the dimensions.
func (v mouldView) Dims() ([]shell.Control, error) { return v.Form.DrawAll(mouldDims(v.Shape)...) }

// Cut reports that a block of the shape is cut by a plan.
func (v mouldView) Cut() bool { return cuttable(v.Shape) }

// mouldWork is what follows the typing.
type mouldWork struct {
	OK       bool
	Why      []string
	Figures  []Figure
	Basis    string
	Wide     template.HTML
	Phone    template.HTML
	Cut      *cutWork // nil for what is not cut
	Findings Findings
}

var mouldPage = shell.Declare[mouldView](room, "mould")

// mouldDims are the dimensions that a shape's form asks for.
func mouldDims(s mould.Shape) []string {
	if s == mould.Measured {
		return []string{"depth_mm", "rim_diameter_mm"}
	}
	return s.Fields()
}

// dimLabel is a dimension's name at the head of its field.
func dimLabel(name string) string {
	words := mould.FieldWords(name)
	return strings.ToUpper(words[:1]) + words[1:]
}

// shapeCases are the shapes that can be chosen.
func shapeCases() []form.Case[mould.Shape] {
	var out []form.Case[mould.Shape]
	for _, x := range mould.Shapes() {
		c := form.Case[mould.Shape]{Is: x, Word: x.String(), Label: x.Words()}
		if x == mould.Measured {
			c.Label = "any shape, measured with water"
		}
		out = append(out, c)
	}
	return out
}

// bindMould is the form of a mould, and of what its drawing is asked for. It gives
// the shape whose fields stand in the form.
func bindMould(f *form.Form, m *mould.Mould, p *poured) mould.Shape {
	f.Text("name", &m.Name, form.Label("Name"), form.Hint("what you call it, as loaf, beech"), form.Wide,
		form.Needed("The mould has no name: write what you call it, as loaf, beech."))
	form.Choose(f, "shape", &m.Shape, shapeCases(), form.Label("Shape of one cavity, inside"), form.Wide)
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
		f.Maybe(name, m.Field(name), form.Length, form.Label(dimLabel(name)), form.Hint(optional[name]))
	}
	if cuttable(shape) {
		bindCut(f, &m.Cut)
	}
	bindPoured(f, p)
	f.Count("cavities", &m.Cavities, form.Label("Cavities in one set"))
	f.Count("sets", &m.Sets, form.Label("Sets that you have"))
	f.Maybe("release_hours", &m.ReleaseHours, form.Hours, form.Label("Unmould after"), form.Hint("from the pour; may stay empty"))
	f.Maybe("max_temp_c", &m.MaxTempC, form.Temp, form.Label("Stands at most"), form.Hint("as its maker says; may stay empty"))
	f.Prose("note", &m.Note, form.Label("Note"), form.Height(3))
	if !f.Writing() {
		f.Check(m.Validate())
	}
	return shape
}

// mouldForm writes a mould as the form shows it, and works it out.
func (t trade) mouldForm(m mould.Mould) mouldView {
	f, p := form.Of(t.Faces), poured{}
	shape := bindMould(f, &m, &p)
	f.Check(m.Validate())
	return t.mouldView(f, &m, p, shape)
}

// readMould reads the form of a mould; old is the one that is changed.
func (t trade) readMould(f *form.Form, old mould.Mould) (mould.Mould, mouldView) {
	kept := form.Of(t.Faces)
	was := old
	bindMould(kept, &was, &poured{})
	m, p := mould.Mould{ID: old.ID}, poured{}
	shape := bindMould(f.Over(kept), &m, &p)
	return m, t.mouldView(f, &m, p, shape)
}

func (t trade) mouldView(f *form.Form, m *mould.Mould, p poured, shape mould.Shape) mouldView {
	return mouldView{Action: "/moulds/new", ID: m.ID, Form: f, Shape: shape, Work: t.mouldWorkOf(m, p, f)}
}

func (s *server) newMould(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	return s.showMould(w, r, t.mouldForm(mould.Mould{Shape: mould.Cuboid, Cavities: 1, Sets: 1}), nil)
}

func (s *server) mould(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	m, err := s.cfg.Book.Moulds.Get(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.showMould(w, r, t.mouldForm(m.Newest.Doc), &m)
}

func (s *server) workMould(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	v, err := form.Posted(r)
	if err != nil {
		return err
	}
	_, view := t.readMould(form.Read(v, t.Faces), mould.Mould{})
	return s.showMould(w, r, view, nil)
}

func (s *server) postMould(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	v, err := form.Posted(r)
	if err != nil {
		return err
	}
	var mine *studio.Record[mould.Mould]
	var old mould.Mould
	if id := r.PathValue("id"); id != "" {
		m, err := s.cfg.Book.Moulds.Get(ctx, id)
		if err != nil {
			return err
		}
		mine, old = &m, m.Newest.Doc
	}
	f := form.Read(v, t.Faces)
	pressed := f.Do()
	m, view := t.readMould(f, old)
	if pressed == "work" || pressed == form.Reshaped || f.Refused(nil) {
		return s.showMould(w, r, view, mine)
	}
	if mine == nil {
		_, err = s.cfg.Book.Moulds.New(ctx, m, "")
	} else {
		_, err = s.cfg.Book.Moulds.Keep(ctx, mine.ID, mine.Newest.N, m, "")
	}
	if err != nil {
		if f.Refused(err) {
			return s.showMould(w, r, view, mine)
		}
		return err
	}
	http.Redirect(w, r, "/moulds", http.StatusSeeOther)
	return nil
}

// mouldWorkOf draws the cavity and says what it holds, as far as it is known.
func (t trade) mouldWorkOf(m *mould.Mould, p poured, f *form.Form) mouldWork {
	var w mouldWork
	if w.Why = f.Why(append([]string{"shape", "water_"}, mouldDims(m.Shape)...)...); len(w.Why) > 0 {
		return w
	}
	// The cavity alone: a slip in how many there are hinders no drawing.
	one := mould.Mould{Shape: m.Shape, Dimensions: m.Dimensions, WaterG: m.WaterG, WaterC: m.WaterC, Cavities: 1, Sets: 1}
	vol, err := one.Volume()
	if err != nil {
		w.Why = []string{Summarise(err).First()}
		return w
	}
	// The drawing is named by what was typed, which may be too long to be kept.
	if r := []rune(m.Name); len(r) <= 200 {
		one.Name = m.Name
	}
	for _, x := range []struct {
		to    *template.HTML
		id    string
		width float64
	}{{&w.Wide, "mould", 420}, {&w.Phone, "mouldp", 340}} {
		svg, err := draw.Section(one, draw.SectionOptions{ID: x.id, Width: x.width, Inches: t.set.Length == quantity.Inch, FillPct: p.FillPct})
		if err != nil {
			w.Why = []string{Summarise(err).First()}
			return w
		}
		*x.to = SVG(svg)
	}
	w.OK = true
	holds, doubt := t.volumeSaid(vol)
	w.Figures = []Figure{{Value: holds, Label: "one cavity, to its brim"}, {Value: doubt, Label: "give or take, twice its standard uncertainty"}}
	if to := p.FillPct; to.Known && to.V < 100 {
		part, _ := t.volumeSaid(quantity.Reading[float64]{Value: vol.Value * to.V / 100, SD: vol.SD * to.V / 100})
		w.Figures = append(w.Figures, Figure{Value: part, Label: "filled to " + quantity.Percent(to.V, wholeOrTenth(to.V))})
	}
	if d := p.DensityGML; d.Known {
		ml := vol.Value
		if p.FillPct.Known {
			ml *= p.FillPct.V / 100
		}
		w.Figures = append(w.Figures, Figure{Value: t.amounts(ml, d)(ml), Label: "of batter in it"})
	}
	if n := m.All(); n > 1 && len(f.Why("cavities", "sets")) == 0 {
		all, _ := t.volumeSaid(quantity.Reading[float64]{Value: vol.Value * float64(n), SD: vol.SD * float64(n)})
		w.Figures = append(w.Figures, Figure{Value: all, Label: "all " + strconv.Itoa(n) + " cavities"})
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
	w.Findings = Footnotes(found)
	return w
}

func (s *server) showMould(w http.ResponseWriter, r *http.Request, view mouldView, mine *studio.Record[mould.Mould]) error {
	head := Head{Title: "A new mould", Lead: "Measure the inside of one cavity, or fill it with water and weigh that."}
	if mine != nil {
		head.Title, head.Lead = mine.Name, "A sheet that was taken down keeps the mould as it was then."
		view.Action, view.PutAway = "/moulds/"+mine.ID, mine.Archived()
		if view.PutAway {
			head.Lead = "Put away. Bring it back before you change it."
		}
	}
	head.Actions = []Button{{Label: "The shelf", Href: "/moulds"}, {Label: "Keep", Look: Main, Form: "mould", Name: "do", Value: "keep"}}
	if view.PutAway {
		head.Actions = head.Actions[:1]
	}
	return form.Answer(mouldPage, s.Shell, w, r, view.Form, head, view, "mould-dims", "mould-cut", "mould-work")
}

func (s *server) putMouldAway(w http.ResponseWriter, r *http.Request) error {
	if err := s.cfg.Book.Moulds.Archive(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/moulds", http.StatusSeeOther)
	return nil
}

func (s *server) bringMouldBack(w http.ResponseWriter, r *http.Request) error {
	if err := s.cfg.Book.Moulds.BringBack(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/moulds/"+url.PathEscape(r.PathValue("id")), http.StatusSeeOther)
	return nil
}
