package web

import (
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/fault"
	"barwright/internal/draw"
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
	list := s.cfg.Book.Moulds
	if v.Away {
		list = s.cfg.Book.MouldsPutAway
	}
	all, err := list(ctx)
	if err != nil {
		return err
	}
	for _, m := range all {
		row := mouldRow{Href: "/moulds/" + m.ID, Name: m.Name, Aside: t.mouldSaid(&m.Mould), Use: t.mouldUse(&m.Mould), Cavities: strconv.Itoa(m.Cavities)}
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

// volumeSaid is a volume and its doubt in the studio's unit, to as many figures
// as the doubt leaves. The doubt is twice the standard uncertainty (GUM, k = 2).
func (t trade) volumeSaid(v quantity.Reading[float64]) (value, doubt string) {
	decimals := 2
	if one := t.set.Volume.Millilitres(); one > 0 {
		switch u := 2 * v.SD / one; {
		case u >= 10:
			decimals = 0
		case u >= 1:
			decimals = 1
		}
	}
	return quantity.Volume(v.Value, t.set.Volume, decimals), "±" + quantity.UnitSpace + quantity.Volume(2*v.SD, t.set.Volume, decimals)
}

// mouldView is one mould, to be written down or changed.
type mouldView struct {
	Action  string
	ID      string
	PutAway bool
	Summary Summary
	Name    Field
	Shape   Select
	Dims    []Field
	Carried []carried // what was typed for another shape
	Fills   []Field
	FillsAt string // the fault of the fills together
	Water   *Field
	Cut     []Field // how a block is cut; none for a shape that is not
	Poured  []Field // what the drawing goes by
	Shelf   []Field
	Note    Prose
	Work    mouldWork
}

type carried struct{ Name, Value string }

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

// allDims are the dimensions of every shape, once each.
var allDims = func() []string {
	var out []string
	for _, s := range mould.Shapes() {
		for _, d := range mouldDims(s) {
			if !slices.Contains(out, d) {
				out = append(out, d)
			}
		}
	}
	return out
}()

// dimLabel is a dimension's name at the head of its field.
func dimLabel(name string) string {
	words := mould.FieldWords(name)
	return strings.ToUpper(words[:1]) + words[1:]
}

// maxFillRows bounds the boxes for fills, however many a form sends.
const maxFillRows = 60

// lengthShown is a length in the studio's face, without its unit.
func (t trade) lengthShown(m quantity.Maybe) string {
	if one := t.set.Length.Millimetres(); t.set.Length != quantity.Millimetre && one > 0 {
		return inFace(m, func(mm float64) float64 { return mm / one })
	}
	return plainMaybe(m)
}

// waterShown is a fill as the form shows it. Pounds and ounces are two units,
// which keep both.
func (t trade) waterShown(g float64) string {
	switch t.set.Mass {
	case quantity.Ounce:
		return inFace(quantity.Some(g), func(g float64) float64 { return g / quantity.GramsPerOunce })
	case quantity.PoundOunce:
		return quantity.Mass(g, quantity.PoundOunce, 0.1)
	}
	return plainNumber(g)
}

// mouldForm writes a mould as the form shows it.
func (t trade) mouldForm(m *mould.Mould) url.Values {
	v := url.Values{"name": {m.Name}, "shape": {m.Shape.String()}, "note": {m.Note}, "cavities": {strconv.Itoa(m.Cavities)}, "sets": {strconv.Itoa(m.Sets)},
		"release_hours": {plainMaybe(m.ReleaseHours)}, "max_temp_c": {t.tempShown(m.MaxTempC)}, "water_c": {t.tempShown(m.WaterC)}}
	for _, name := range allDims {
		v.Set(name, t.lengthShown(*m.Field(name)))
	}
	for i, g := range m.WaterG {
		v.Set("water_g."+strconv.Itoa(i+1), t.waterShown(g))
	}
	t.cutForm(v, m.Cut)
	return v
}

// readMould reads the form of a mould; old is the one that is changed. All that
// is wrong is in the faults, in the order of the form.
func (t trade) readMould(v url.Values, old mould.Mould) (mould.Mould, fault.List) {
	in := typed{v: v}
	m := mould.Mould{ID: old.ID, Name: in.text("name"), Note: in.text("note")}
	if m.Name == "" {
		in.faults.Add(fault.Invalidf("name", "The mould has no name: write what you call it, as loaf, beech."))
	}
	var err error
	if m.Shape, err = mould.ParseShape(v.Get("shape")); err != nil {
		in.at("shape", err)
	}
	length := func(text string) (float64, error) { return quantity.ParseLength(text, t.set.Length) }
	for _, name := range mouldDims(m.Shape) {
		was := *old.Field(name)
		*m.Field(name) = in.orOld(name, was, t.lengthShown(was), length)
	}
	if m.Shape == mould.Measured {
		for n := range maxFillRows {
			name := "water_g." + strconv.Itoa(n+1)
			var was quantity.Maybe
			shown := ""
			if n < len(old.WaterG) {
				was, shown = quantity.Some(old.WaterG[n]), t.waterShown(old.WaterG[n])
			}
			if g := in.orOld(name, was, shown, func(text string) (float64, error) { return quantity.ParseMass(text, t.set.Mass) }); g.Known {
				m.WaterG = append(m.WaterG, g.V)
			}
		}
		m.WaterC = in.orOld("water_c", old.WaterC, t.tempShown(old.WaterC), t.parseTemp)
	}
	if cuttable(m.Shape) {
		m.Cut = t.readCut(&in, old.Cut)
	}
	m.Cavities, m.Sets = in.count("cavities"), in.count("sets")
	m.ReleaseHours = in.number("release_hours", quantity.ParseNumber)
	m.MaxTempC = in.orOld("max_temp_c", old.MaxTempC, t.tempShown(old.MaxTempC), t.parseTemp)
	for _, f := range m.Validate() {
		if !in.has(f.Field) {
			in.faults.Add(f)
		}
	}
	return m, sentences(in.faults)
}

func (s *server) newMould(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	v := url.Values{"shape": {mould.Cuboid.String()}, "cavities": {"1"}, "sets": {"1"}}
	return s.showMould(w, r, http.StatusOK, t, v, nil, nil)
}

func (s *server) mould(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	m, err := s.cfg.Book.Mould(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.showMould(w, r, http.StatusOK, t, t.mouldForm(&m.Mould), nil, &m)
}

func (s *server) workMould(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	v, err := readForm(r)
	if err != nil {
		return err
	}
	if !isLive(r) {
		return s.showMould(w, r, http.StatusOK, t, v, nil, nil)
	}
	return mouldPage.Fragments(s.Shell, w, http.StatusOK, t.mouldView(v, nil, mould.Mould{}), "mould-dims", "mould-cut", "mould-work")
}

func (s *server) postMould(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	v, err := readForm(r)
	if err != nil {
		return err
	}
	var mine *studio.Mould
	var old mould.Mould
	if id := r.PathValue("id"); id != "" {
		m, err := s.cfg.Book.Mould(ctx, id)
		if err != nil {
			return err
		}
		mine, old = &m, m.Mould
	}
	switch v.Get("do") {
	case "work":
		return s.showMould(w, r, http.StatusOK, t, v, nil, mine)
	case "add-fill":
		v.Set("water_g."+strconv.Itoa(min(fillRows(v)+1, maxFillRows)), "")
		return s.showMould(w, r, http.StatusOK, t, v, nil, mine)
	}
	m, faults := t.readMould(v, old)
	_, more := readPoured(v)
	if faults = append(faults, more...); len(faults) > 0 {
		return s.showMould(w, r, http.StatusUnprocessableEntity, t, v, faults, mine)
	}
	if _, err := s.cfg.Book.PutMould(ctx, m); err != nil {
		if k := fault.KindOf(err); k == fault.Invalid || k == fault.Conflict {
			return s.showMould(w, r, statusOf(k), t, v, sentences(fault.All(err)), mine)
		}
		return err
	}
	http.Redirect(w, r, "/moulds", http.StatusSeeOther)
	return nil
}

// fillRows is how many boxes for fills the form has: three at least, and always
// those that it was sent with.
func fillRows(v url.Values) int {
	n := 3
	for name := range v {
		if rest, ok := strings.CutPrefix(name, "water_g."); ok {
			if i, err := strconv.Atoi(rest); err == nil && i > n && i <= maxFillRows {
				n = i
			}
		}
	}
	return n
}

// mouldView reads the form in v and works it out.
func (t trade) mouldView(v url.Values, faults fault.List, old mould.Mould) mouldView {
	m, wrong := t.readMould(v, old)
	shape := m.Shape
	if shape == mould.ShapeUnset {
		shape = mould.Cuboid
	}
	opts := make([]Option, 0, len(mould.Shapes()))
	for _, x := range mould.Shapes() {
		words := x.Words()
		if x == mould.Measured {
			words = "any shape, measured with water"
		}
		opts = append(opts, Option{Value: x.String(), Label: words})
	}
	d := mouldView{Action: "/moulds/new", ID: m.ID, Name: fieldOf(v, faults, "name", "Name", "", "what you call it, as loaf, beech"), Shape: selectOf(v, faults, "shape", "Shape of one cavity, inside", opts)}
	d.Name.Words, d.Name.Wide, d.Shape.Wide = true, true, true
	d.Shape.Value = shape.String()
	unit := t.set.Length.String()
	optional := map[string]string{"depth_mm": "optional, for levels", "rim_diameter_mm": "optional, for the meniscus"}
	for _, name := range mouldDims(shape) {
		hint := ""
		if shape == mould.Measured {
			hint = optional[name]
		}
		d.Dims = append(d.Dims, fieldOf(v, faults, name, dimLabel(name), unit, hint))
	}
	for _, name := range allDims {
		if x := v.Get(name); x != "" && !slices.Contains(mouldDims(shape), name) {
			d.Carried = append(d.Carried, carried{name, x})
		}
	}
	rows := fillRows(v)
	if shape == mould.Measured {
		mass := massUnitWord(t.set.Mass)
		if t.set.Mass == quantity.PoundOunce {
			mass = "" // each fill names its own units
		}
		for n := range rows {
			d.Fills = append(d.Fills, fieldOf(v, faults, "water_g."+strconv.Itoa(n+1), "Fill "+strconv.Itoa(n+1), mass, ""))
		}
		d.FillsAt = FaultAt(faults, "water_g")
		w := fieldOf(v, faults, "water_c", "Water was at", t.set.Temperature.String(), "its density goes by it")
		d.Water = &w
	} else {
		for n := range rows {
			name := "water_g." + strconv.Itoa(n+1)
			if x := v.Get(name); x != "" {
				d.Carried = append(d.Carried, carried{name, x})
			}
		}
		if x := v.Get("water_c"); x != "" {
			d.Carried = append(d.Carried, carried{"water_c", x})
		}
	}
	cut := slices.Concat(cutCounts, cutLengths)
	if cuttable(shape) {
		d.Cut = t.cutFields(v, faults)
	} else {
		for _, name := range cut {
			if x := v.Get(name); x != "" {
				d.Carried = append(d.Carried, carried{name, x})
			}
		}
	}
	d.Poured = []Field{
		fieldOf(v, faults, "fill_pct", "Filled to", "%", "of the cavity; empty is to the brim"),
		fieldOf(v, faults, "density_g_ml", "Density of the batter", "g/ml", "for masses; may stay empty"),
	}
	d.Shelf = []Field{
		fieldOf(v, faults, "cavities", "Cavities in one set", "", ""),
		fieldOf(v, faults, "sets", "Sets that you have", "", ""),
		fieldOf(v, faults, "release_hours", "Unmould after", "h", "from the pour; may stay empty"),
		fieldOf(v, faults, "max_temp_c", "Stands at most", t.set.Temperature.String(), "as its maker says; may stay empty"),
	}
	d.Note = Prose{Name: "note", Label: "Note", Value: v.Get("note"), Fault: FaultAt(faults, "note"), Rows: 3}
	p, more := readPoured(v)
	d.Work = t.mouldWorkOf(&m, p, append(wrong, more...))
	d.Summary = Summarise(faults)
	return d
}

// mouldWorkOf draws the cavity and says what it holds, as far as it is known.
func (t trade) mouldWorkOf(m *mould.Mould, p poured, wrong fault.List) mouldWork {
	var w mouldWork
	for _, f := range wrong {
		if f.Field == "shape" || strings.HasPrefix(f.Field, "water_") || slices.Contains(allDims, f.Field) {
			why := f.Message
			// A number that could not be read does not say whose it is.
			if words := mould.FieldWords(f.Field); words != "" && !strings.Contains(why, words) {
				why = dimLabel(f.Field) + ": " + why
			}
			w.Why = append(w.Why, why)
		}
	}
	if len(w.Why) > 0 {
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
	if f := p.FillPct; f.Known && f.V < 100 {
		part, _ := t.volumeSaid(quantity.Reading[float64]{Value: vol.Value * f.V / 100, SD: vol.SD * f.V / 100})
		w.Figures = append(w.Figures, Figure{Value: part, Label: "filled to " + quantity.Percent(f.V, wholeOrTenth(f.V))})
	}
	if d := p.DensityGML; d.Known {
		ml := vol.Value
		if p.FillPct.Known {
			ml *= p.FillPct.V / 100
		}
		w.Figures = append(w.Figures, Figure{Value: t.amounts(ml, d)(ml), Label: "of batter in it"})
	}
	if n := m.All(); n > 1 && !slices.ContainsFunc(wrong, func(f *fault.Error) bool { return f.Field == "cavities" || f.Field == "sets" }) {
		all, _ := t.volumeSaid(quantity.Reading[float64]{Value: vol.Value * float64(n), SD: vol.SD * float64(n)})
		w.Figures = append(w.Figures, Figure{Value: all, Label: "all " + strconv.Itoa(n) + " cavities"})
	}
	w.Basis = "Worked out " + one.VolumeBasis() + "."
	found := one.Findings()
	if cuttable(m.Shape) {
		one.Cut = m.Cut
		cut, more := t.cutWorkOf(one, vol.Value, p, wrong)
		if m.Cut != nil {
			w.Cut = &cut
			found = append(found, more...)
		}
	}
	w.Findings = Footnotes(found)
	return w
}

func (s *server) showMould(w http.ResponseWriter, r *http.Request, status int, t trade, v url.Values, faults fault.List, mine *studio.Mould) error {
	var old mould.Mould
	head := Head{Title: "A new mould", Lead: "Measure the inside of one cavity, or fill it with water and weigh that."}
	if mine != nil {
		old = mine.Mould
		head.Title, head.Lead = mine.Name, "A sheet that was taken down keeps the mould as it was then."
	}
	d := t.mouldView(v, faults, old)
	if mine != nil {
		d.Action, d.PutAway = "/moulds/"+mine.ID, mine.PutAway()
		if d.PutAway {
			head.Lead = "Put away. Bring it back before you change it."
		}
	}
	head.Actions = []Button{{Label: "The shelf", Href: "/moulds"}, {Label: "Keep", Look: Main, Form: "mould", Name: "do", Value: "keep"}}
	if d.PutAway {
		head.Actions = head.Actions[:1]
	}
	return mouldPage.Write(s.Shell, w, r, status, head, d)
}

func (s *server) putMouldAway(w http.ResponseWriter, r *http.Request) error {
	if err := s.cfg.Book.PutAwayMould(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/moulds", http.StatusSeeOther)
	return nil
}

func (s *server) bringMouldBack(w http.ResponseWriter, r *http.Request) error {
	if err := s.cfg.Book.BringBackMould(r.Context(), r.PathValue("id")); err != nil {
		return err
	}
	http.Redirect(w, r, "/moulds/"+url.PathEscape(r.PathValue("id")), http.StatusSeeOther)
	return nil
}
