package designs

import (
	"cmp"
	"context"
	"errors"
	"net/url"
	"slices"
	"strings"

	"barwright/design"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/record"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
	"barwright/studio"
)

// view is the editor.
type view struct {
	record.Editing[*design.Design]
	Form  *form.Form
	ID    string // "" while new
	Parts []part
	Blank part
	Items []string // what other designs are strewn with and packed in
	Work  work
}

// Datalists are the names that the fields choose from.
func (v view) Datalists() []shell.Datalist {
	return append(v.Form.Datalists(), shell.Datalist{ID: "items", Names: v.Items})
}

// part is a row of the editor: its fields, and what the sums say of it.
type part struct {
	*form.Form
	Letter, Said string
	More         string // what its folded fields hold
	Marks        []shell.Mark
}

// folded are the fields that a row folds away.
var folded = []string{"stage", "wait.minutes", "wait.until", "note", "reminders"}

// Open reports that something is wrong with what a row folds away.
func (p part) Open() bool {
	return slices.ContainsFunc(folded, func(key string) bool { return p.FaultAt(key) != "" })
}

var editorPage = shell.Declare[view](room, "design")

// choices are what the fields of the editor choose from.
type choices struct {
	set                       studio.Settings
	moulds, formulas, designs *form.List
	portions                  func(formula string) []formula.Portion // those of its newest version
	err                       error                                  // why portions could not be read
}

// choices reads them from the studio's records. A design is no choice in itself.
func (o *rooms) choices(ctx context.Context, set studio.Settings, self string) (*choices, error) {
	c, known := &choices{set: set}, map[string][]formula.Portion{"": nil}
	c.portions = func(id string) []formula.Portion {
		if _, ok := known[id]; !ok {
			found, err := o.Book.Formulas.Some(ctx, id)
			c.err = errors.Join(c.err, err)
			known[id] = nil
			for _, f := range found {
				known[id] = f.Newest.Doc.Portions
			}
		}
		return known[id]
	}
	var err error
	if c.moulds, err = form.Records(ctx, "moulds", "mould", o.Book.Moulds); err != nil {
		return nil, err
	}
	if c.formulas, err = form.Records(ctx, "formulas", "formula", o.Book.Formulas); err != nil {
		return nil, err
	}
	c.designs, err = form.Records(ctx, "designs", "design", o.Book.Designs, self)
	return c, err
}

// bind is the form of a design.
func (c *choices) bind(f *form.Form, d *design.Design) {
	f.Text("name", &d.Name, form.Label("Name"), form.Wide,
		form.Needed("The design has no name: write what you call the piece, as Lighthouse."))
	f.Pick("mould", &d.Mould, c.moulds, form.Label("Mould"), form.Wide)
	// What was typed for another kind of part counts too, so that nothing is lost.
	form.Rows(f, "part", &d.Parts, c.bindPart, form.Each("Part"), form.AtLeast(1), form.LedTo("parts-title"),
		form.Counting("formula", "design", "item", "amount", "sunk_pct", "covered_pct"))
	f.Prose("note", &d.Note, form.Label("Notes"), form.Height(3))
	record.BindNote(f)
	f.Known("id")
	if !f.Writing() {
		f.Check(d.Validate(true))
	}
}

var kinds = func() (out []form.Case[design.Kind]) {
	for _, x := range design.Kinds() {
		out = append(out, form.Is(x, x.String()))
	}
	return out
}()

var stages = form.Stages("as its batter has it")

// bindPart is the form of a part: which fields it has goes by its kind. What was
// typed for another kind is carried along.
func (c *choices) bindPart(f *form.Form, p *design.Part) {
	p.Kind = cmp.Or(p.Kind, design.Pour)
	form.Choose(f, "kind", &p.Kind, kinds, form.Label("Kind of part "+f.Num()), form.Ledger, form.Wide)
	f.Text("name", &p.Name, form.Label("called"), form.Wide)
	switch {
	case p.Kind.Batter():
		f.Pick("formula", &p.Formula, c.formulas, form.Label("made of"), form.Wide)
		c.bindPortion(f, p)
		form.Choose(f, "stage", &p.Stage, stages, form.Label("stage"))
	case p.Kind == design.Embed:
		f.Pick("design", &p.Design, c.designs, form.Label("which design"), form.Wide)
		f.Maybe("count", &p.Count, form.Plain, form.Label("in each piece"))
		f.Number("sunk_pct", &p.SunkPct, form.Percent, form.Empty(0), form.Label("sunk in what is below"),
			form.Hint("of its volume; it pushes that much aside"))
		f.Number("covered_pct", &p.CoveredPct, form.Percent, form.Empty(0), form.Label("covered by what comes after"),
			form.Hint("the rest stands proud"))
	case p.Kind == design.Wrap:
		f.Text("item", &p.Item, form.Label("what it is packed in"), form.Wide, form.Suggest("items"))
		f.Tick("closed", &p.Closed, form.Label("closed: it keeps moisture in"))
	default:
		f.Text("item", &p.Item, form.Label("what is strewn"), form.Wide, form.Suggest("items"))
	}
	if ways := c.ways(p); len(ways) > 0 {
		f.Ways("amount", "by", "counted in", ways, form.Label("how much"))
	}
	f.Maybe("wait.minutes", &p.Wait.Minutes, form.Wait, form.Label("wait before it"), form.Hint("as 2 h, or 40 min"))
	f.Text("wait.until", &p.Wait.Until, form.Label("until"), form.Hint("what to see, as skinned over"))
	f.Text("note", &p.Note, form.Label("notes"), form.Wide)
	f.Lines("reminders", &p.Reminders, form.Label("reminders, one a line"), form.Height(2))
}

// bindPortion binds the portion of a part, where its formula has some or one was
// chosen that it does not have.
func (c *choices) bindPortion(f *form.Form, p *design.Part) {
	have, chosen := c.portions(p.Formula), cmp.Or(p.Portion, f.Typed("portion"))
	if len(have) == 0 && chosen == "" {
		return
	}
	options := []shell.Option{{Label: "the batter undivided"}}
	for _, x := range have {
		options = append(options, shell.Option{Value: x.Name, Label: x.Name})
	}
	f.Word("portion", &p.Portion, options, chosen+", which it does not have", form.Label("portion"), form.Wide)
}

// ways are those in which the amount of a part can be given; none for an embed,
// which is counted.
func (c *choices) ways(p *design.Part) []form.Way {
	unit := form.MassUnit(c.set.Mass)
	if c.set.Mass == quantity.PoundOunce {
		unit = "lb or oz"
	}
	level := form.Way{Word: "level", Label: "% full after it", Path: "fill_to_pct", To: &p.FillToPct, In: form.Percent}
	volume := form.Way{Word: "volume", Label: c.set.Volume.String(), Path: "volume_ml", To: &p.VolumeML, In: form.Volume}
	mass := form.Way{Word: "mass", Label: unit, Path: "mass_g", To: &p.MassG, In: form.Mass}
	count := form.Way{Word: "count", Label: "pieces", Path: "count", To: &p.Count, In: form.Plain}
	switch {
	case p.Kind.Level():
		return []form.Way{level, volume, mass}
	case p.Kind == design.Piping:
		return []form.Way{volume, mass}
	case p.Kind == design.Wrap: // a band, a bag: counted, where a sprinkle is weighed
		return []form.Way{count, mass}
	case p.Kind.Item():
		return []form.Way{mass, count}
	}
	return nil
}

// edit shows the form of a design, answers it while the maker types, and keeps it.
func (o *rooms) edit(a *form.Ask) error {
	id := cmp.Or(a.PathValue("id"), a.Sent.Get("id"))
	e, err := o.Edit(a, id)
	if err != nil {
		return err
	}
	c, err := o.choices(a.Context(), a.Faces.Set, id)
	if err != nil {
		return err
	}
	d := design.Design{ID: id}
	f, pressed := e.Form(a, func(f *form.Form, d **design.Design) { c.bind(f, *d) })
	switch {
	case e.Shown != nil:
		d = *e.Shown.Doc
	case !a.Posted:
		f = form.Read(url.Values{"mould": {a.FormValue("mould")}}, a.Faces)
	}
	c.bind(f, &d)
	if c.err != nil {
		return c.err
	}
	// What a record refuses later hinders no drawing.
	sound := len(f.Why("mould", "part")) == 0
	if pressed == "keep" && a.URL.Path != "/designs/work" {
		if id, err := o.Kept(a, f, &e, &d); err != nil || id != "" {
			return o.GoKept(a, &e, id, err)
		}
	}
	page := view{Editing: e, Form: f, ID: id, Blank: part{Form: f.Empty("part")}}
	if page.Work, err = o.work(a.Context(), f, &d, sound); err != nil {
		return err
	}
	return o.show(a, page, &d, pressed)
}

// show writes the editor, or what of it follows the typing.
func (o *rooms) show(a *form.Ask, v view, d *design.Design, pressed string) error {
	f := v.Form
	for _, row := range f.Rows("part") {
		p := part{Form: row}
		if i := row.Line(); i >= 0 {
			p.More = moreSaid(&d.Parts[i])
			if i < len(v.Work.Rows) {
				p.Letter, p.Said, p.Marks = v.Work.Rows[i].Letter, v.Work.Rows[i].said, v.Work.Findings.About(aboutPart(d.ID, i))
			}
		}
		v.Parts = append(v.Parts, p)
	}
	fragments := []string{"parts-live", "design-work", "findings-part", "head-count"}
	if pressed == form.Reshaped {
		fragments[0] = "parts-list"
	}
	var more []shell.Button
	if d.ID != "" {
		more = []shell.Button{{Label: "What 36 need", Href: "/designs/" + d.ID + "/need?pieces=36"}}
	}
	if !shell.IsLive(a.Request) {
		var err error
		if v.Items, err = o.Book.UsedIDs(a.Context(), studio.KindItem); err != nil {
			return err
		}
	}
	head := o.Head(v.Editing, f.Faces(), f.Typed("name"), more...)
	head.Foot = "Levels are shares of the cavity’s volume."
	return form.Answer(editorPage, a, f, head, v, fragments...)
}

// moreSaid is what a part holds besides its amount: its stage, its wait, its
// reminders and its note.
func moreSaid(p *design.Part) string {
	wait, reminders := p.Wait.Words(), ""
	if wait != "" {
		wait = "wait " + wait
	}
	if n := len(p.Reminders); n > 0 {
		reminders = words.Count(n, "reminder", "reminders")
	}
	return listed(p.Stage.Words(), wait, reminders, strings.TrimSuffix(p.Note, "."))
}
