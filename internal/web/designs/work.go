package designs

import (
	"cmp"
	"context"
	"html/template"
	"slices"
	"strconv"
	"strings"

	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/internal/draw"
	"barwright/internal/web/form"
	"barwright/internal/words"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

// gathered is what designs reach, with the faces in which it is said.
type gathered struct {
	*studio.Gathered
	t trade
}

// gather is studio.Gather in the studio's faces.
func (s *server) gather(ctx context.Context, t trade, extra *design.Design, ids ...string) (*gathered, error) {
	g, err := s.book.Gather(ctx, extra, ids...)
	if err != nil {
		return nil, err
	}
	for i := range g.Set.Designs {
		d := &g.Set.Designs[i]
		d.Name = cmp.Or(d.Name, "this design") // one that is being drawn up
	}
	return &gathered{g, t}, nil
}

// name is what an id stands for.
func (g *gathered) name(id string) string {
	if m, ok := g.Moulds[id]; ok {
		return m.Name
	}
	if f, ok := g.Formulas[id]; ok {
		return f.Doc.Name
	}
	if d, ok := g.Designs[id]; ok {
		return cmp.Or(d.Doc.Name, "this design")
	}
	return ""
}

func (g *gathered) design(id string) *design.Design {
	if d, ok := g.Designs[id]; ok {
		return d.Doc
	}
	return nil
}

func (g *gathered) mould(id string) *mould.Mould {
	if m, ok := g.Moulds[id]; ok {
		return &m
	}
	return nil
}

func (g *gathered) mass(grams float64) string { return g.t.massSaid(grams, g.t.division(nil)) }

func (g *gathered) massNumber(grams float64) string {
	return quantity.MassNumber(grams, g.t.set.Mass, g.t.division(nil))
}

// volumeDecimals are as many as a batter's volume, known to 3 % at best, bears.
func (g *gathered) volumeDecimals(ml float64) int {
	if one := g.t.set.Volume.Millilitres(); one > 0 && ml/one < 100 {
		return 1 + int(min(one/10, 1))
	}
	return 0
}

func (g *gathered) volume(ml float64) string {
	return quantity.Volume(ml, g.t.set.Volume, g.volumeDecimals(ml))
}

func (g *gathered) volumeNumber(ml float64) string {
	return quantity.Number(ml/g.t.set.Volume.Millilitres(), g.volumeDecimals(ml))
}

// refused says what Explode refused, in the names of the page. What another
// record is at fault for is said of that record; the fields are those of self.
func (g *gathered) refused(err error, self string) fault.List {
	var out fault.List
	for _, f := range fault.All(err) {
		if f.Kind == fault.Internal {
			return fault.All(err)
		}
		c := *f
		c.Message = f.In(g.voice())
		switch f.Of.ID {
		case "":
		case self:
			c.Field = f.OfField
		default:
			where := strings.ToLower(strings.TrimSuffix(partWhere(f.OfField), ": "))
			c.Field, c.Message = "", listed(g.name(f.Of.ID), where)+": "+c.Message
		}
		out.Add(&c)
	}
	return out
}

// voice is how the pages of designs name records and fields.
func (g *gathered) voice() fault.Voice { return designVoice{g.name} }

// designVoice names records by what an id stands for, and fields in words.
type designVoice struct{ name func(id string) string }

func (v designVoice) Record(r fault.Ref) string {
	called := ""
	if v.name != nil {
		called = v.name(r.ID)
	}
	return "“" + cmp.Or(called, r.ID) + "”"
}

func (v designVoice) Field(k fault.Key) string { return cmp.Or(designWords[k], string(k)) }

// designWords are the fields of a design that are named in what is wrong with it.
var designWords = map[fault.Key]string{"fill_to_pct": "level", "volume_ml": "volume", "mass_g": "mass", "count": "number",
	"sunk_pct": "sunk share", "covered_pct": "covered share"}

// one takes one cavity's pieces of a design apart.
func (g *gathered) one(id string) (*design.Need, *design.PieceNeed, error) {
	return design.One(g.Set, id, design.Options{Faces: g.t.faces()})
}

// designWork is what follows the typing.
type designWork struct {
	OK         bool
	Why        []string
	Wide       template.HTML
	Phone      template.HTML
	NotDrawn   string // why there is no drawing, where the rest is known
	Rows       []stackRow
	VolumeUnit string
	MassUnit   string
	Figures    []Figure
	Basis      string
	Findings   Findings
}

// stackRow is one part of the piece in the table beside the drawing.
type stackRow struct {
	Letter, Name, Aside, Level, Volume, Mass string
	Swatch                                   template.HTML
	said                                     string
}

// said is what stands below part i in the form.
func (w designWork) said(i int) string {
	if i < len(w.Rows) {
		return w.Rows[i].said
	}
	return ""
}

func letterOf(w designWork, i int) string {
	if i < len(w.Rows) {
		return w.Rows[i].Letter
	}
	return ""
}

// aboutPart is how a finding names part i of a design, from 0.
func aboutPart(id string, i int) string {
	return cmp.Or(id, studio.Unkept) + "/part:" + strconv.Itoa(i)
}

// designWork takes what is typed apart. Until it can be, it says what is missing.
func (s *server) designWork(ctx context.Context, t trade, d *design.Design, rows []int, typing fault.List) (designWork, error) {
	w := designWork{VolumeUnit: t.set.Volume.String(), MassUnit: form.MassColumn(t.set.Mass)}
	g, err := s.gather(ctx, t, d)
	if err != nil {
		return w, err
	}
	if w.Why = g.missing(d, rows, typing); len(w.Why) > 0 {
		return w, nil
	}
	draft := *d
	draft.ID = cmp.Or(d.ID, studio.Unkept)
	n, piece, err := g.one(draft.ID)
	if err != nil {
		for _, f := range g.refused(err, draft.ID) {
			if f.Kind == fault.Internal {
				return w, err
			}
			w.Why = append(w.Why, partWhere(f.Field)+f.Message)
		}
		return w, nil
	}
	w.OK = true
	for i := range piece.Parts {
		w.Rows = append(w.Rows, g.stackRow(&draft, &piece.Parts[i], i))
	}
	for i, swatch := range draw.StackSwatches("parts", draw.StackOf(g.Set, &draft, piece), draw.Page) {
		w.Rows[i].Swatch = SVG(swatch)
	}
	m := g.mould(draft.Mould)
	vol, err := m.Volume()
	if err != nil {
		return w, err
	}
	holds, _ := t.volumeSaid(vol)
	w.Figures = []Figure{{Value: g.mass(piece.PieceG), Label: "a piece as poured"}, {Value: g.mass(piece.SoldG), Label: "when sold, about"}, {Value: holds, Label: "the cavity holds"}}
	w.Basis = "Levels are shares of the cavity’s volume. Volumes and masses are of one piece; a batter’s density is an estimate, ± 3 %, until a pot of it was measured."
	if bars := m.Bars(); bars > 1 {
		w.Figures = append(w.Figures, Figure{Value: strconv.Itoa(bars), Label: "pieces cut from a cavity"})
		w.Basis = "Amounts are typed of one cavity, the block before it is cut; this table is of one piece. " + w.Basis
	}
	w.Findings = Footnotes(finding.Once(n.Findings))
	if w.Wide, w.Phone, err = g.stack(&draft, piece); err != nil {
		if fault.KindOf(err) == fault.Internal {
			return w, err
		}
		w.NotDrawn = "It cannot be drawn as it stands: " + Summarise(err).First()
	}
	return w, nil
}

// partWhere is the part of a field in words, with a colon: "Part 2: ".
func partWhere(field string) string {
	rest, ok := strings.CutPrefix(field, "part.")
	if n, _, cut := strings.Cut(rest, "."); ok && cut {
		return "Part " + n + ": "
	}
	return ""
}

// missing says, in the order of the form, what stands in the way of the sums.
func (g *gathered) missing(d *design.Design, rows []int, typing fault.List) []string {
	var why []string
	where := func(field string) string {
		for i, n := range rows {
			if strings.HasPrefix(field, partField(n, "")) {
				return "Part " + strconv.Itoa(i+1) + ": "
			}
		}
		return ""
	}
	bad := func(field string) bool {
		return slices.ContainsFunc(typing, func(f *fault.Error) bool { return f.Field == field })
	}
	for _, f := range typing {
		why = append(why, where(f.Field)+f.Message)
	}
	switch {
	case d.Mould == "":
		why = append(why, "Choose the mould that it is cast in.")
	case g.mould(d.Mould) == nil:
		why = append(why, "The mould is not on the shelf any more: choose another.")
	}
	if len(d.Parts) == 0 {
		why = append(why, "Say what is poured into it: its first part has neither a formula nor an amount yet.")
	}
	faulted := map[string]bool{}
	for i := range d.Parts {
		p := &d.Parts[i]
		say := func(text string) { why = append(why, "Part "+strconv.Itoa(i+1)+": "+text) }
		amount := partField(rows[i], "amount")
		if p.Kind == design.Embed {
			amount = partField(rows[i], "count")
		}
		switch {
		case p.Kind.Batter() && p.Formula == "":
			say("Choose the formula that it is made of.")
		case p.Kind.Batter() && g.Formulas[p.Formula].Doc.Formula == nil:
			say("Its formula is not there any more: choose another.")
		case p.Kind.Batter() && g.Faults[p.Formula] != nil:
			if !faulted[p.Formula] {
				say("“" + g.name(p.Formula) + "” cannot be worked out as it stands: open it and see what it needs.")
			}
			faulted[p.Formula] = true
		case p.Kind == design.Embed && p.Design == "":
			say("Choose the design that is embedded.")
		case p.Kind == design.Embed && g.design(p.Design) == nil:
			say("The design that is embedded is not there any more: choose another.")
		case p.Kind.Item() && p.Item == "":
			say("Write what it is, as coarse sea salt.")
		}
		if !p.FillToPct.Known && !p.VolumeML.Known && !p.MassG.Known && !p.Count.Known && !bad(amount) {
			say("Say how much of it there is.")
		}
	}
	if len(why) == 0 {
		for _, f := range checked(d, rows, false) {
			why = append(why, where(f.Field)+f.Message)
		}
	}
	return why
}

// partName is what a part is called: the maker's word, else its kind.
func partName(p *design.Part) string { return cmp.Or(p.Name, p.Kind.String()) }

// madeOf is what a part is made of: the formula and its portion, the embed, the item.
func (g *gathered) madeOf(p *design.Part) string {
	switch {
	case p.Kind.Batter():
		return listed(g.name(p.Formula), p.Portion)
	case p.Kind == design.Embed:
		return g.name(p.Design)
	}
	return p.Item
}

// lies is how an embed lies: "40 % sunk, 60 % stands proud".
func lies(p *design.Part) string {
	var said []string
	if p.SunkPct > 0 {
		said = append(said, quantity.Percent(p.SunkPct, 0)+" sunk")
	}
	if p.CoveredPct > 0 {
		said = append(said, quantity.Percent(p.CoveredPct, 0)+" covered")
	}
	if proud := 100 - p.SunkPct - p.CoveredPct; proud > 0 {
		said = append(said, quantity.Percent(proud, 0)+" stands proud")
	}
	return strings.Join(said, ", ")
}

// stackRow is part i of a piece.
func (g *gathered) stackRow(d *design.Design, q *design.PartNeed, i int) stackRow {
	p := &d.Parts[i]
	r := stackRow{Letter: words.Letters(i), Name: partName(p), Aside: g.madeOf(p)}
	if p.Name != "" {
		r.Aside = listed(p.Kind.String(), r.Aside)
	}
	var said []string
	switch {
	case q.Kind.Level():
		r.Level = quantity.Number(q.FromPct, 0) + " to " + quantity.Number(q.ToPct, 0)
		said = append(said, "from "+quantity.Percent(q.FromPct, 0)+" to "+quantity.Percent(q.ToPct, 0))
		if q.DisplacedML > 0 {
			room := " of its room"
			if m := g.mould(d.Mould); m != nil && m.Bars() > 1 {
				room += " in the whole block"
			}
			said = append(said, "embeds take "+g.volume(q.DisplacedML)+room)
		}
	case q.Kind == design.Embed:
		r.Level = lies(p)
		said = append(said, r.Level)
	case q.Kind == design.Piping:
		r.Level = "above"
	}
	if q.Kind != design.Wrap && q.VolumeML > 0 {
		r.Volume = g.volumeNumber(q.VolumeML)
		said = append(said, g.volume(q.VolumeML))
	}
	switch {
	case q.MassG > 0:
		r.Mass = g.massNumber(q.MassG)
		said = append(said, g.mass(q.MassG))
	case q.Count > 0:
		r.Mass = quantity.Number(q.Count, 0)
		said = append(said, quantity.Number(q.Count, 0)+" of it")
	}
	if q.Kind == design.Embed {
		r.Aside = listed(r.Aside, r.Level)
		r.Level = ""
	}
	r.said = strings.Join(said, ", ")
	return r
}

// small is the list's drawing of a design, the mass of a piece, or why there is none.
func (g *gathered) small(d *design.Design) (picture template.HTML, mass, why string) {
	_, piece, err := g.one(d.ID)
	if err != nil || piece == nil {
		return "", "", "cannot be worked out: open it"
	}
	return g.smallStack(d, piece), g.mass(piece.PieceG), ""
}

// listed joins what is not empty: "sky, thin trace".
func listed(words ...string) string {
	return strings.Join(slices.DeleteFunc(words, func(s string) bool { return s == "" }), ", ")
}

// stack draws a piece in its cavity, for a wide page and for a phone.
func (g *gathered) stack(d *design.Design, piece *design.PieceNeed) (wide, phone template.HTML, err error) {
	m, in := g.mould(d.Mould), draw.StackOf(g.Set, d, piece)
	for _, x := range []struct {
		to    *template.HTML
		id    string
		width float64
	}{{&wide, "stack", 460}, {&phone, "stackp", 350}} {
		svg, err := draw.Stack(*m, in, draw.StackOptions{ID: x.id, Width: x.width, Length: g.t.set.Length})
		if err != nil {
			return "", "", err
		}
		*x.to = SVG(svg)
	}
	return wide, phone, nil
}

// smallStack is the list's drawing: the levels of a piece, without its words.
func (g *gathered) smallStack(d *design.Design, piece *design.PieceNeed) template.HTML {
	m := g.mould(d.Mould)
	svg, err := draw.StackSmall(*m, draw.StackOf(g.Set, d, piece), "small"+strings.ReplaceAll(d.ID, "-", ""), 64)
	if err != nil {
		return "" // the row says the rest
	}
	return SVG(svg)
}
