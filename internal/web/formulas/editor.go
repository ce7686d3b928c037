package formulas

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/record"
	"barwright/internal/web/shell"
	"barwright/quantity"
	"barwright/soap"
	"barwright/studio"
)

// view is the editor.
type view struct {
	Form, Size  *form.Form // the formula, and what it is sized to
	Edit        record.Editing[studio.Formula]
	Summary     shell.Summary
	Method      formula.Method // whose fields stand on the page
	Melt, Hot   bool
	ByWeight    bool
	Unit        string // of masses, as typed
	FatsG       shell.Field
	Fats        rows // or bases
	Extras      rows
	Scents      rows
	Portions    rows
	Carried     []form.Hidden // what was typed for another method
	SizeBy      string
	SizeFields  []string // beside the choice itself
	SizeCarried []form.Hidden
	SizeSaid    string
	PourOpen    bool // something is typed of how it is poured
	Work        work
}

// rows are the rows of a list.
type rows struct {
	Rows  []row
	Blank row
}

// row is one row of the editor: its fields, and what the sums say of it.
type row struct {
	*form.Form
	List                string
	ByWeight, Melt, Hot bool
	Answer, Says        answer
	Name, Aside, Take   string
	Open                bool // what is folded away holds something
}

var editorPage = shell.Declare[view](room, "formula")

// fragments are what a live answer renews while only amounts are typed.
var fragments = []string{"answers", "lye-lines", "fats-sum", "batter", "allergens", "undivided", "work", "findings-part", "head-count"}

// desk is a formula that is edited: what was typed, and what was read from it.
type desk struct {
	choices
	edit   record.Editing[studio.Formula]
	form   *form.Form
	size   *form.Form
	x      *formula.Formula
	z      size
	sizing bool // a size was asked for, and its faults are the page's
}

// blank is what a new formula begins with.
func blank(set studio.Settings) *formula.Formula {
	return &formula.Formula{Method: formula.Cold, Water: formula.Water{Value: 33}, SuperfatPct: 5, FatsG: 1000,
		Alkali:         formula.Alkali{NaOHPurityPct: set.NaOHPurityPct, KOHPurityPct: set.KOHPurityPct, PurityHalfWidthPct: set.PurityHalfWidthPct.Or(0)},
		ScaleDivisionG: set.ScaleDivisionG, CureWaterLossPct: set.CureWaterLossPct}
}

// write writes a formula into a form.
func (c choices) write(x *formula.Formula) *form.Form {
	f := form.Of(c.faces)
	c.bind(f, x)
	return f
}

// take binds the form to a formula and what stands beside it, and checks it.
func (d *desk) take(x *formula.Formula, strict bool) {
	d.x = x
	d.bind(d.form, d.x)
	record.BindNote(d.form)
	d.form.Known("id", "shown")
	d.form.Check(d.x.Validate(strict))
	d.form.Check(d.x.CheckIDs(d.faces.Cat))
}

// renew writes fields of a formula that was changed into the form, and reads it again.
func (d *desk) renew(x *formula.Formula, places ...string) {
	d.form.Renew(d.write(x), places...)
	d.form = form.Read(d.form.Values(), d.faces).Over(d.form)
	d.take(&formula.Formula{}, false)
}

// open makes the desk for a request: of what was posted, or of the version that is
// shown, or of a new formula. The name of the button that was pressed comes back; one
// that adds or takes away a row is carried out.
func (o rooms) open(a *form.Ask) (d *desk, pressed string, err error) {
	d = &desk{choices: choices{faces: a.Faces, rows: 1}}
	d.fats = listOf(a.Faces.Cat, "list-fats", "fat", a.Faces.Cat.Fats())
	d.extras = listOf(a.Faces.Cat, "list-extras", "extra", a.Faces.Cat.Extras())
	if d.mould, err = form.Records(a.Context(), "list-moulds", "mould", o.Book.Moulds); err != nil {
		return nil, "", err
	}
	if d.edit, err = o.Edit(a, cmp.Or(a.PathValue("id"), a.Sent.Get("id"))); err != nil {
		return nil, "", err
	}
	d.form, pressed = d.edit.Form(a, func(f *form.Form, x *studio.Formula) { d.bind(f, x.Formula.Clone()) })
	x := &formula.Formula{}
	switch {
	case d.edit.Shown != nil:
		x = d.edit.Shown.Doc.Formula.Clone()
	case !a.Posted:
		x, d.rows = blank(d.faces.Set), 3
	}
	d.take(x, pressed == "keep")
	d.size = form.Read(a.Sent, d.faces)
	d.bindSize(d.size, &d.z)
	return d, pressed, nil
}

// edit shows a formula, or an empty form for a new one, works out what was typed, and
// does what a button asks: it keeps the formula, or changes the form and shows it again.
func (o rooms) edit(a *form.Ask) error {
	d, pressed, err := o.open(a)
	switch {
	case err != nil:
		return err
	case a.URL.Path == "/formulas/work":
		if shell.IsLive(a.Request) {
			return o.live(a, d)
		}
	case pressed == "keep":
		if id, err := o.keep(a, d); err != nil || id != "" {
			return o.GoKept(a, &d.edit, id, err)
		}
	case pressed == "by-weight", pressed == "by-share":
		d.reweigh(pressed == "by-weight")
	case pressed == "resize":
		if err := o.resize(a.Context(), d); err != nil {
			return err
		}
	}
	return o.show(a, d)
}

// live renews what follows the typing.
func (o rooms) live(a *form.Ask, d *desk) error {
	names := fragments
	// What the maker types in is renewed only when a choice asks for other fields.
	if a.Sent.Get("shown") != methodOf(d.x).String() {
		names = []string{"jumps", "recipe", "batter", "work", "findings-part", "head-count"}
	}
	if a.Sent.Get("size.shown") != a.Sent.Get("size.by") {
		names = append([]string{"size-fields"}, names...)
	}
	return editorPage.Fragments(o.Shell, a.W, http.StatusOK, o.view(d), names...)
}

// keep keeps the formula with its Monte Carlo, drawn once. It gives the record's id,
// or "" for a form that goes back to the maker.
func (o rooms) keep(a *form.Ask, d *desk) (id string, err error) {
	if d.form.Refused(nil) {
		return "", nil
	}
	res, err := soap.Work(d.x, d.faces.Cat)
	if err != nil {
		return "", d.form.Take(err)
	}
	kept := studio.Kept{Engine: o.Version()}
	if d.x.Method != formula.Melt {
		kept.Superfat = res.Drawn()
	}
	return o.Kept(a, d.form, &d.edit, studio.Formula{Formula: d.x, Kept: kept})
}

// reweigh turns shares into weights, or back. An amount that could not be read would
// come back as 0: the form is then refused, with what was typed.
func (d *desk) reweigh(byWeight bool) {
	list := d.form.Rows(strings.TrimSuffix(ofWord(methodOf(d.x)), "s"))
	if d.form.Bad("fats_g") || slices.ContainsFunc(list, func(r *form.Form) bool { return r.Bad("pct") || r.Bad("g") }) {
		d.form.Refused(nil)
		return
	}
	x := d.x.Clone()
	x.ByWeight = byWeight
	d.renew(x, "by", "fats_g", "fat.*.pct", "fat.*.g", "base.*.pct", "base.*.g")
}

// show writes the editor.
func (o rooms) show(a *form.Ask, d *desk) error {
	v := o.view(d)
	var more []shell.Button
	if rec := d.edit.Record; rec != nil {
		amount, unit := soap.TestBatch(d.faces.Set.Mass)
		text := form.Digits(amount)
		if unit != quantity.Gram {
			text += " " + unit.String()
		}
		sheet := "/bench?formula=" + rec.ID
		more = []shell.Button{{Label: "Bench sheet", Href: sheet}, {Label: "A test batch", Href: sheet + "&by=fats&fats_g=" + url.QueryEscape(text)}}
	}
	head := o.Head(d.edit, d.faces, d.x.Name, more...)
	head.Foot = "Figures change as you type."
	if methodOf(d.x) != formula.Melt {
		head.Foot += " Keeping a version runs " + quantity.Number(soap.Draws, 0) + " random draws."
	}
	return form.Show(editorPage, a, max(d.form.Status(), d.size.Status()), head, v)
}

// view works the formula out and lays the page out.
func (o rooms) view(d *desk) view {
	f, m := d.form, methodOf(d.x)
	v := view{Form: f, Size: d.size, Edit: d.edit, Summary: f.Summary(), Method: m, Melt: m == formula.Melt, Hot: m == formula.Hot, ByWeight: d.x.ByWeight,
		Unit: form.MassUnit(d.faces.Set.Mass), Work: workOut(d)}
	if d.sizing {
		v.Summary = d.size.Summary()
	}
	if v.ByWeight {
		v.FatsG = shell.Field{Name: "fats_g", Label: shell.Upper(ofWord(m)) + " in all", Beside: true, Kind: shell.WorkedOut,
			Value: v.Work.FatsG, Unit: v.Unit}
	}
	list, open := "fat", []string{"sap_mg_koh_g", "sap_half_width", "cooked"}
	if v.Melt {
		list, open = "base", []string{"max_melt_c", "max_pour_c", "softens_c", "density_g_ml", "inci"}
	}
	v.Fats = v.rowsOf(d, list, open...)
	v.Extras = v.rowsOf(d, "extra", "gtsp", "fat_pct", "water_pct", "sap_mg_koh_g")
	v.Scents = v.rowsOf(d, "scent", "limit_pct", "category", "dated", "stated")
	v.Portions = v.rowsOf(d, "portion")
	v.PourOpen = f.Stands("stage", "measured_density_g_ml") || !v.Melt && f.Stands("pour_c", "cure_water_loss_pct")
	ofSize := func(h form.Hidden) bool { return strings.HasPrefix(h.Name, "size.") }
	v.Carried = slices.DeleteFunc(f.Carried(), ofSize)
	v.SizeCarried = slices.DeleteFunc(d.size.Carried(), func(h form.Hidden) bool { return !ofSize(h) })
	v.SizeBy, v.SizeFields = d.z.By, d.size.Drawn()[1:]
	if v.Work.OK {
		v.SizeSaid = "Now " + v.Work.Batter + " of batter, about " + v.Work.Volume + "."
	}
	return v
}

// rowsOf are the rows of a list with what the sums say of each. Open names the
// fields that are folded away.
func (v *view) rowsOf(d *desk, list string, open ...string) rows {
	one := func(f *form.Form) row {
		r := row{Form: f, List: list, ByWeight: v.ByWeight, Melt: v.Melt, Hot: v.Hot,
			Answer: v.Work.answers["w-"+list+"-"+f.Num()], Says: v.Work.answers["c-"+list+"-"+f.Num()],
			Take: "Take away " + list + " " + f.Num(), Open: f.Stands(open...)}
		if line := f.Line(); list == "fat" && line >= 0 && line < len(d.x.Fats) {
			if in, err := d.faces.Cat.Named(d.x.Fats[line].ID); err == nil {
				r.Name, r.Take = in.Name, "Take away "+in.Name
				if in.Fat != nil && in.Fat.SAP.Known() {
					r.Aside = "SAP " + quantity.Interval(in.Fat.SAP.Min.V, in.Fat.SAP.Max.V, 0)
					if in.Fat.SAP.Half() == 0 {
						r.Aside = "SAP " + quantity.Number(in.Fat.SAP.Mid(), 1)
					}
				}
			}
		}
		return r
	}
	out := rows{Blank: one(d.form.Empty(list))}
	for _, f := range d.form.Rows(list) {
		out.Rows = append(out.Rows, one(f))
	}
	return out
}

// refuseSize says what is wrong with a size that was asked for.
func (d *desk) refuseSize(err error) error {
	err = d.size.Take(err)
	d.sizing = err == nil
	return err
}
