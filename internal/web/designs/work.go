package designs

import (
	"cmp"
	"context"
	"html/template"
	"maps"
	"slices"
	"strconv"
	"strings"

	"barwright/design"
	"barwright/fault"
	"barwright/finding"
	"barwright/internal/draw"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/mould"
	"barwright/quantity"
	"barwright/studio"
)

// gathered is what designs reach, with the faces in which it is said.
type gathered struct {
	*studio.Gathered
	faces form.Faces
}

// gather is studio.Gather in the studio's faces.
func (o *rooms) gather(ctx context.Context, extra *design.Design, ids ...string) (*gathered, error) {
	all, err := o.Book.Gather(ctx, extra, ids...)
	return inFaces(all), err
}

// inFaces gives what was gathered the faces of its studio.
func inFaces(all *studio.Gathered) *gathered {
	if all == nil {
		return nil
	}
	for i := range all.Set.Designs {
		d := &all.Set.Designs[i]
		d.Name = cmp.Or(d.Name, "this design") // one that is being drawn up
	}
	return &gathered{all, form.Faces{Set: all.Settings, Cat: all.Catalogue}}
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

func (g *gathered) mass(grams float64) string { return g.faces.Mass(grams, g.faces.Division(nil)) }

func (g *gathered) massNumber(grams float64) string {
	return quantity.MassNumber(grams, g.Settings.Mass, g.faces.Division(nil))
}

// volumeDecimals are as many as a batter's volume, known to 3 % at best, bears.
func (g *gathered) volumeDecimals(ml float64) int {
	if one := g.Settings.Volume.Millilitres(); one > 0 && ml/one < 100 {
		return 1 + int(min(one/10, 1))
	}
	return 0
}

func (g *gathered) volume(ml float64) string {
	return quantity.Volume(ml, g.Settings.Volume, g.volumeDecimals(ml))
}

func (g *gathered) volumeNumber(ml float64) string {
	return quantity.Number(ml/g.Settings.Volume.Millilitres(), g.volumeDecimals(ml))
}

// refused says what a question about designs refused: what is wrong with the design
// self by the fields of the form, which may be nil, and what is wrong with another
// record by its name. A fault that no maker can mend comes back as an error.
func (g *gathered) refused(err error, f *form.Form, self string) (why []string, internal error) {
	for _, e := range fault.All(err) {
		switch {
		case e.Kind == fault.Internal:
			return nil, err
		case f != nil && e.Of.ID == self:
			own := *e
			own.Field = e.OfField
			why = append(why, f.Told(&own)...)
		case e.Of.ID != "":
			why = append(why, listed(g.name(e.Of.ID), partOf(e.OfField))+": "+e.In(voice{g.name}))
		default:
			why = append(why, e.In(voice{g.name}))
		}
	}
	return why, nil
}

// partOf is the part that a field of a design belongs to: "part 2"; "" for none.
func partOf(field string) string {
	list, rest, _ := strings.Cut(field, ".")
	n, _, ok := strings.Cut(rest, ".")
	if list != "part" || !ok {
		return ""
	}
	return "part " + n
}

// unworked says that formulas cannot be worked out.
func (g *gathered) unworked(ids ...string) []string {
	var out []string
	for _, id := range ids {
		if _, worked := g.Formulas[id]; !worked {
			out = append(out, g.Faults[id].Error()) // it cannot even be read
			continue
		}
		out = append(out, "“"+g.name(id)+"” cannot be worked out as it stands: open the formula and see what it needs.")
	}
	slices.Sort(out)
	return out
}

// voice names records by what an id stands for, and fields of a design in words.
type voice struct{ name func(id string) string }

func (v voice) Record(r fault.Ref) string { return "“" + cmp.Or(v.name(r.ID), r.ID) + "”" }

func (v voice) Field(k fault.Key) string { return cmp.Or(fieldWords[k], string(k)) }

// fieldWords are the fields of a design that sentences name.
var fieldWords = map[fault.Key]string{"fill_to_pct": "level", "volume_ml": "volume", "mass_g": "mass", "count": "number",
	"sunk_pct": "sunk share", "covered_pct": "covered share"}

// one takes one cavity's pieces of a design apart.
func (g *gathered) one(id string) (*design.Need, *design.PieceNeed, error) {
	return design.One(g.Set, id, design.Options{Faces: g.faces.Formula()})
}

// work is what follows the typing.
type work struct {
	shell.Picture
	OK         bool
	Why        []string
	NotDrawn   string // why there is no drawing, where the rest is known
	Rows       []stackRow
	VolumeUnit string
	MassUnit   string
	Figures    []shell.Figure
	Basis      string
	Findings   shell.Findings
}

// stackRow is one part of the piece in the table beside the drawing.
type stackRow struct {
	Letter, Name, Aside, Level, Volume, Mass string
	Swatch                                   template.HTML
	said                                     string
}

// aboutPart is how a finding names part i of a design, from 0.
func aboutPart(id string, i int) string {
	return cmp.Or(id, studio.Unkept) + "/part:" + strconv.Itoa(i)
}

// work takes what is typed apart. Where it is not sound, it says what is missing.
func (o *rooms) work(ctx context.Context, f *form.Form, d *design.Design, sound bool) (work, error) {
	faces := f.Faces()
	w := work{VolumeUnit: faces.Set.Volume.String(), MassUnit: form.MassColumn(faces.Set.Mass)}
	g, err := o.gather(ctx, d)
	if err != nil {
		return w, err
	}
	f.Speak(voice{g.name})
	if !sound {
		w.Why = f.Why("mould", "part")
	}
	if w.Why = append(w.Why, g.unworked(slices.Collect(maps.Keys(g.Faults))...)...); len(w.Why) > 0 {
		return w, nil
	}
	draft := *d
	draft.ID = cmp.Or(d.ID, studio.Unkept)
	n, piece, err := g.one(draft.ID)
	if err != nil {
		w.Why, err = g.refused(err, f, draft.ID)
		return w, err
	}
	w.OK = true
	stack := draw.StackOf(g.Set, &draft, piece)
	for i := range piece.Parts {
		w.Rows = append(w.Rows, g.stackRow(&draft, &piece.Parts[i], i))
	}
	for i, swatch := range draw.StackSwatches("parts", stack, draw.Page) {
		w.Rows[i].Swatch = shell.SVG(swatch)
	}
	m := g.mould(draft.Mould)
	vol, err := m.Volume()
	if err != nil {
		return w, err
	}
	holds, _ := faces.Volume(vol)
	w.Figures = []shell.Figure{{Value: g.mass(piece.PieceG), Label: "a piece as poured"},
		{Value: g.mass(piece.SoldG), Label: "when sold, about"}, {Value: holds, Label: "the cavity holds"}}
	w.Basis = "Levels are shares of the cavity’s volume. Volumes and masses are of one piece; " +
		"a batter’s density is an estimate, ± 3 %, until a pot of it was measured."
	if bars := m.Bars(); bars > 1 {
		w.Figures = append(w.Figures, shell.Figure{Value: strconv.Itoa(bars), Label: "pieces cut from a cavity"})
		w.Basis = "Amounts are typed of one cavity, the block before it is cut; this table is of one piece. " + w.Basis
	}
	w.Findings = shell.Footnotes(finding.Once(n.Findings))
	if w.Picture, err = shell.Draw("stack", 460, 350, func(id string, width float64) (string, error) {
		return draw.Stack(*m, stack, draw.StackOptions{ID: id, Width: width, Length: g.Settings.Length})
	}); err != nil {
		if fault.KindOf(err) == fault.Internal {
			return w, err
		}
		w.NotDrawn = "It cannot be drawn as it stands: " + f.Say(err)[0]
	}
	return w, nil
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

// smallStack is the list's drawing: the levels of a piece, without its words.
func (g *gathered) smallStack(d *design.Design, piece *design.PieceNeed) template.HTML {
	m := g.mould(d.Mould)
	svg, err := draw.StackSmall(*m, draw.StackOf(g.Set, d, piece), "small"+strings.ReplaceAll(d.ID, "-", ""), 64)
	if err != nil {
		return "" // the row says the rest
	}
	return shell.SVG(svg)
}
