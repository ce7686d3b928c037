// Package designs is the room of the designs: how a piece is built, what so many
// pieces need, what a pot of batter fills, and a wish list fitted to the moulds.
package designs

import (
	"cmp"
	"context"
	"embed"
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/design"
	"barwright/fault"
	"barwright/formula"
	"barwright/internal/web/form"
	"barwright/internal/web/record"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
	"barwright/studio"
)

//go:embed *.html
var files embed.FS

var room = shell.NewRoom("designs", files)

// server is the pages of the room.
type server struct {
	*shell.Shell
	book  *studio.Studio
	pages record.Pages[*design.Design]
}

// Open registers the room.
func Open(sh *shell.Shell, book *studio.Studio) {
	s := &server{Shell: sh, book: book}
	s.pages = record.Pages[*design.Design]{
		Shell: sh, Book: book, Records: book.Designs, Path: "/designs",
		Words: record.Words{One: "design", Many: "designs", Lead: "How one finished piece is built, part by part.", Write: "Draw up a design",
			First: "There is no design yet. The first one needs a mould, and what is poured into it in which order.",
			Find:  "Find by name, or by what it is made of", Within: "in its name or in one of its parts",
			Versions: "A version that was kept never changes. What it stands on is meant in its newest version."},
		Columns: []record.Column{{Label: "a piece, as poured"}}, Rows: s.rows,
		VersionColumns: []record.Column{{Label: "parts"}},
		VersionRow: func(_ form.Faces, v studio.DesignVersion) record.Row {
			return record.Row{Cells: []record.Cell{{Value: strconv.Itoa(len(v.Doc.Parts))}}}
		},
		Changes: s.changes,
		Links:   []shell.Link{{Href: "/designs/pot", Text: "I have this much batter"}, {Href: "/designs/fit", Text: "Fit a wish list to the moulds"}},
	}
	s.Place("Designs", "/designs")
	s.pages.Handle()
	s.Handle("GET /designs/new", s.newDesign)
	s.Handle("POST /designs/new", s.postDesign)
	s.Handle("POST /designs/work", s.workDesign)
	s.Handle("GET /designs/{id}", s.design)
	s.Handle("POST /designs/{id}", s.postDesign)
	s.needRoutes()
	s.potRoutes()
	s.fitRoutes()
}

// rows are the designs of a list.
func (s *server) rows(ctx context.Context, f form.Faces, list []studio.Record[*design.Design]) ([]record.Row, error) {
	ids := make([]string, len(list))
	for i, d := range list {
		ids[i] = d.ID
	}
	g, err := s.gather(ctx, tradeOf(f), nil, ids...)
	if err != nil {
		return nil, err
	}
	out := make([]record.Row, len(list))
	for i, d := range list {
		uses, err := s.book.Designs.Uses(ctx, d.ID)
		if err != nil {
			return nil, err
		}
		row := record.Row{Aside: []string{listed(g.name(d.Newest.Doc.Mould), words.Count(len(d.Newest.Doc.Parts), "part", "parts"))}, Cells: make([]record.Cell, 1)}
		if used := usedBySaid(uses); used != "" {
			row.Aside = append(row.Aside, used)
		}
		row.Picture, row.Cells[0].Value, row.Cells[0].Under = g.small(d.Newest.Doc)
		out[i] = row
	}
	return out, nil
}

// changes says what changed from one version to another.
func (s *server) changes(ctx context.Context, f form.Faces, from, to *design.Design) ([]formula.Change, error) {
	names, err := s.namesOf(ctx, from, to)
	if err != nil {
		return nil, err
	}
	return design.Diff(from, to, design.Face{Name: names, Mass: f.Set.Mass, Volume: f.Set.Volume}), nil
}

// usedBySaid names the designs that embed one today.
func usedBySaid(uses []studio.Use) string {
	var names []string
	for _, u := range uses {
		if u.Newest && !u.Archived {
			names = append(names, u.Name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	if more := len(names) - 4; more > 0 {
		names = append(names[:4], strconv.Itoa(more)+" more")
	}
	return "embed of " + strings.Join(names, ", ")
}

// designView is the editor.
type designView struct {
	Action    string
	ID        string
	Base      int
	Summary   Summary
	Name      Field
	Mould     shell.Control
	Parts     []partRow
	Blank     partRow
	Picks     *picks
	Once      string // the id under which keeping it counts once
	Notes     Prose
	Note      Field // what changed, kept with the version
	KeepLabel string
	Work      designWork
	History   string // address of the versions; "" while new
	Need      string // address of what so many need; "" while new
}

// partRow is one part in the editor. Which fields are shown goes by its kind;
// what was typed for another kind is carried along until the row is kept.
type partRow struct {
	N                    int
	Num                  string // N, or __i__ in the empty row
	Letter               string
	Focus                string // up or down where it was moved so: that key has the focus
	Batter, Embed, Wrap  bool
	Kind                 Select
	Name                 Field
	Formula              shell.Control
	Portion              Select
	Portions             bool // the formula has some
	Design               shell.Control
	Count, Sunk, Covered Field
	Item                 Field
	Closed               Check
	Amount               Field
	By                   Select
	Stage                Select
	Wait, Until, Note    Field
	Reminders            Prose
	Carried              []carried
	Open                 bool
	Said                 string
	More                 string // what stands in the part of the row that is folded away
	Marks                []Mark
}

var designPage = shell.Declare[designView](room, "design")

// blankDesign is the form of a design that is not drawn up yet.
func blankDesign() url.Values {
	return url.Values{partField(1, "kind"): {design.Pour.String()}, partField(1, "by"): {byLevel}}
}

func (s *server) newDesign(w http.ResponseWriter, r *http.Request) error {
	t, err := s.trade(r.Context())
	if err != nil {
		return err
	}
	v := blankDesign()
	v.Set("mould", r.FormValue("mould"))
	return s.showDesign(w, r, http.StatusOK, t, v, nil, nil)
}

func (s *server) design(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	d, err := s.book.Designs.Get(ctx, r.PathValue("id"))
	if err != nil {
		return err
	}
	ver := d.Newest
	if n, err := strconv.Atoi(r.FormValue("v")); err == nil && n != ver.N {
		if ver, err = s.book.Designs.Version(ctx, d.ID, n); err != nil {
			return err
		}
	}
	v := t.designForm(ver.Doc)
	v.Set("base", strconv.Itoa(d.Newest.N))
	return s.showDesign(w, r, http.StatusOK, t, v, nil, &ver)
}

// workDesign answers the editor while the maker types, or presses a key that
// moves a part.
func (s *server) workDesign(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	v, err := readForm(r)
	if err != nil {
		return err
	}
	if !isLive(r) {
		return s.showDesign(w, r, http.StatusOK, t, v, nil, nil)
	}
	names := []string{"parts-live", "design-work", "findings-part", "head-count"}
	moved, pressed := 0, v.Get("do")
	if do := pressed; do != "" {
		v, moved = reshapeDesign(v, do)
		names[0] = "parts-list"
	}
	id := v.Get("id")
	if id != "" {
		// An id that the studio has not given must not reach the sums.
		if _, err := s.book.Designs.Get(ctx, id); err != nil {
			return err
		}
	}
	view, err := s.designView(ctx, t, v, nil, id, nil)
	if err != nil {
		return err
	}
	view.focus(moved, pressed)
	return designPage.Fragments(s.Shell, w, http.StatusOK, view, names...)
}

// focus gives the row that was moved the focus, on the key that moved it, so that
// the next press moves it on.
func (v *designView) focus(row int, pressed string) {
	way, _, _ := strings.Cut(pressed, " ")
	for i := range v.Parts {
		if v.Parts[i].N == row {
			v.Parts[i].Focus = way
		}
	}
}

func (s *server) postDesign(w http.ResponseWriter, r *http.Request) error {
	ctx, id := r.Context(), r.PathValue("id")
	t, err := s.trade(ctx)
	if err != nil {
		return err
	}
	v, err := readForm(r)
	if err != nil {
		return err
	}
	if do := v.Get("do"); do != "keep" {
		v, _ = reshapeDesign(v, do)
		return s.showDesign(w, r, http.StatusOK, t, v, nil, nil)
	}
	chosen, err := s.picks(ctx, t, v, id)
	if err != nil {
		return err
	}
	d, rows, faults := t.readDesign(v, id)
	faults = append(faults, chosen.faults...)
	if d.Name == "" {
		faults.Add(fault.Invalidf("name", "The design has no name: write what you call the piece, as Lighthouse."))
	}
	for _, f := range checked(&d, rows, true) {
		if !slices.ContainsFunc(faults, func(x *fault.Error) bool { return x.Field == f.Field }) {
			faults.Add(f)
		}
	}
	if len(faults) > 0 {
		return s.showDesign(w, r, http.StatusUnprocessableEntity, t, v, faults, nil)
	}
	var ver studio.DesignVersion
	if id == "" {
		ver, err = s.book.Designs.New(studio.Once(ctx, v.Get("once")), &d, v.Get("note"))
	} else {
		have, derr := s.book.Designs.Get(ctx, id)
		if derr != nil {
			return derr
		}
		base, berr := strconv.Atoi(v.Get("base"))
		if berr != nil || base < 1 || base > have.Newest.N {
			return s.showDesign(w, r, http.StatusUnprocessableEntity, t, v, fault.List{fault.Invalidf("", "The form does not say which version it changes, so nothing was kept. What you typed is still here: the newest is version %d; look at it, then keep yours on top of it.", have.Newest.N)}, nil)
		}
		ver, err = s.book.Designs.Keep(studio.Once(ctx, v.Get("once")), id, base, &d, v.Get("note"))
	}
	if err != nil {
		if k := fault.KindOf(err); k == fault.Invalid || k == fault.Conflict {
			if k == fault.Conflict {
				// Told of the newer version, the maker may keep theirs on top of it.
				v = maps.Clone(v)
				v.Del("base")
				v.Del("once")
			}
			return s.showDesign(w, r, statusOf(k), t, v, formFaults(fault.All(err), &d, rows), nil)
		}
		return err
	}
	http.Redirect(w, r, "/designs/"+ver.ID, http.StatusSeeOther)
	return nil
}

// showDesign writes the editor with what stands in v.
func (s *server) showDesign(w http.ResponseWriter, r *http.Request, status int, t trade, v url.Values, faults fault.List, ver *studio.DesignVersion) error {
	ctx, id := r.Context(), r.PathValue("id")
	if id == "" {
		id = v.Get("id") // the button that works it out, without a module
	}
	var mine *studio.Record[*design.Design]
	if id != "" {
		d, err := s.book.Designs.Get(ctx, id)
		if err != nil {
			return err
		}
		mine = &d
	}
	view, err := s.designView(ctx, t, v, faults, id, mine)
	if err != nil {
		return err
	}
	head := Head{Title: strings.TrimSpace(v.Get("name")), Foot: "Levels are shares of the cavity’s volume."}
	if head.Title == "" {
		head.Title = "A new design"
	}
	if mine != nil {
		head.Lead = fmt.Sprintf("Version %d is the newest, kept %s; it stays as it is.", mine.Newest.N, day(mine.Newest.KeptAt, t.set.Location()))
		if ver != nil && ver.N != mine.Newest.N {
			head.Lead = fmt.Sprintf("You are looking at version %d of %d. Keeping it makes version %d.", ver.N, mine.Newest.N, mine.Newest.N+1)
		}
		if mine.Archived() {
			head.Lead = "It was put away: bring it back under Versions before you change it."
		}
		head.Actions = append(head.Actions, Button{Label: "Versions", Href: view.History}, Button{Label: "What 36 need", Href: view.Need})
	} else {
		head.Lead = "Nothing is kept until you press Keep."
	}
	head.Actions = append(head.Actions, Button{Label: view.KeepLabel, Look: Main, Form: "design", Name: "do", Value: "keep"})
	return designPage.Write(s.Shell, w, r, status, head, view)
}

// with adds an option that the list does not have, so that a form never loses
// what it was sent with.
func with(opts []Option, value, label string) []Option {
	if value == "" || slices.ContainsFunc(opts, func(o Option) bool { return o.Value == value }) {
		return opts
	}
	return append(slices.Clip(opts), Option{Value: value, Label: label})
}

// designView reads the form in v and works it out.
func (s *server) designView(ctx context.Context, t trade, v url.Values, refused fault.List, id string, mine *studio.Record[*design.Design]) (designView, error) {
	view := designView{Action: "/designs/new", ID: id, KeepLabel: "Keep as version 1"}
	if id != "" {
		view.Action, view.History, view.Need = "/designs/"+id, "/designs/"+id+"/versions", "/designs/"+id+"/need?pieces=36"
	}
	view.Base, _ = strconv.Atoi(v.Get("base"))
	if mine != nil {
		if view.Base < 1 || view.Base > mine.Newest.N {
			view.Base = mine.Newest.N
		}
		view.KeepLabel = "Keep as version " + strconv.Itoa(mine.Newest.N+1)
	}
	view.Summary = Summarise(refused)
	namePartFaults(&view.Summary, v)
	c, err := s.picks(ctx, t, v, id)
	if err != nil {
		return view, err
	}
	view.Name = fieldOf(v, refused, "name", "Name", "", "")
	view.Name.Words, view.Name.Wide = true, true
	view.Mould = c.control("mould", refused)
	view.Notes = Prose{Name: "notes", Label: "Notes", Value: v.Get("notes"), Fault: FaultAt(refused, "notes"), Rows: 3}
	view.Note = fieldOf(v, refused, "note", "What changed, for the record", "", "")
	view.Note.Words, view.Note.Wide = true, true

	d, rows, typing := t.readDesign(v, id)
	typing = append(typing, c.faults...)
	if view.Work, err = s.designWork(ctx, t, &d, rows, typing); err != nil {
		return view, err
	}
	for _, n := range partRows(v) {
		p := t.partRow(v, refused, c, n)
		if i := slices.Index(rows, n); i >= 0 {
			p.Letter, p.Said = letterOf(view.Work, i), view.Work.said(i)
			p.Marks = view.Work.Findings.About(aboutPart(id, i))
		}
		view.Parts = append(view.Parts, p)
	}
	view.Picks, view.Once = c, cmp.Or(v.Get("once"), studio.NewID())
	view.Blank = t.partRow(url.Values{}, nil, c, 0).blank()
	return view, nil
}

// partRow is row n of the form.
func (t trade) partRow(v url.Values, faults fault.List, c *picks, n int) partRow {
	f := func(key string) string { return partField(n, key) }
	fo := func(key, label, unit, hint string) Field { return fieldOf(v, faults, f(key), label, unit, hint) }
	words := func(x Field, wide bool) Field {
		x.Words, x.Wide = true, wide
		return x
	}
	k := kindOf(v.Get(f("kind")))
	p := partRow{N: n, Num: strconv.Itoa(n), Batter: k.Batter(), Embed: k == design.Embed, Wrap: k == design.Wrap}
	var kinds []Option
	for _, x := range design.Kinds() {
		kinds = append(kinds, Option{Value: x.String(), Label: x.String()})
	}
	p.Kind = Select{Name: f("kind"), Label: "Kind of part " + strconv.Itoa(n), Value: k.String(), Options: kinds, Fault: FaultAt(faults, f("kind")), Ledger: true, Wide: true}
	p.Name = words(fo("name", "Name of part "+strconv.Itoa(n), "", ""), true)
	p.Name.Label = "called"
	p.Formula = c.control(f("formula"), faults)
	ports := c.portion[v.Get(f("formula"))]
	p.Portions = len(ports) > 0 || FaultAt(faults, f("portion")) != ""
	if p.Portions && len(ports) == 0 {
		ports = []Option{{Value: "", Label: "the batter undivided"}}
	}
	p.Portion = selectOf(v, faults, f("portion"), "portion", with(ports, v.Get(f("portion")), v.Get(f("portion"))+", which it does not have"))
	p.Portion.Wide = true
	p.Design = c.control(f("design"), faults)
	p.Count = fo("count", "in each piece", "", "")
	p.Sunk = fo("sunk_pct", "sunk in what is below", "%", "of its volume; it pushes that much aside")
	p.Covered = fo("covered_pct", "covered by what comes after", "%", "the rest stands proud")
	item := "what is strewn"
	if p.Wrap {
		item = "what it is packed in"
	}
	p.Item = words(fo("item", item, "", ""), true)
	p.Item.Choose = "items"
	p.Closed = Check{Name: f("closed"), Label: "closed: it keeps moisture in", Ticked: v.Get(f("closed")) != ""}
	p.Amount = fo("amount", "how much", "", "")
	by := wayOf(k, v.Get(f("by")))
	mass := massUnitWord(t.set.Mass)
	if t.set.Mass == quantity.PoundOunce {
		mass = "lb or oz"
	}
	labels := map[string]string{byLevel: "% full after it", byVolume: t.set.Volume.String(), byMass: mass, byCount: "pieces"}
	var opts []Option
	for _, x := range waysOf(k) {
		opts = append(opts, Option{Value: x, Label: labels[x]})
	}
	p.By = Select{Name: f("by"), Label: "counted in", Value: by, Options: opts, Fault: FaultAt(faults, f("by"))}
	stages := []Option{{Value: "", Label: "as its batter has it"}}
	for _, x := range formula.Stages() {
		stages = append(stages, Option{Value: x.String(), Label: x.Words()})
	}
	p.Stage = selectOf(v, faults, f("stage"), "stage", stages)
	p.Wait = fo("wait", "wait before it", "", "as 2 h, or 40 min")
	p.Until = words(fo("until", "until", "", "what to see, as skinned over"), false)
	p.Note = words(fo("note", "note", "", ""), true)
	p.Reminders = Prose{Name: f("reminders"), Label: "reminders, one a line", Value: v.Get(f("reminders")), Fault: FaultAt(faults, f("reminders")), Rows: 2}
	for _, key := range []string{"stage", "wait", "until", "note", "reminders"} {
		p.Open = p.Open || FaultAt(faults, f(key)) != ""
	}
	if n > 0 {
		p.More = t.moreSaid(v, n)
	}
	if n > 0 {
		p.Carried = carriedOf(v, n, k)
	}
	return p
}

// moreSaid is what a row holds besides its amount: its stage, its wait, its
// note and its reminders.
func (t trade) moreSaid(v url.Values, n int) string {
	in := typed{v: v}
	p := t.readPart(&in, n)
	said := []string{p.Stage.Words()}
	if w := p.Wait.Words(); w != "" {
		said = append(said, "wait "+w)
	}
	if k := len(p.Reminders); k > 0 {
		said = append(said, countOf(k, "reminder", "reminders"))
	}
	return listed(append(said, strings.TrimSuffix(p.Note, "."))...)
}

// carriedOf is what row n was given for a kind that it is not, so that a change
// of kind and back loses nothing.
func carriedOf(v url.Values, n int, k design.Kind) []carried {
	shown := []string{"kind", "name", "stage", "wait", "until", "note", "reminders"}
	switch {
	case k.Batter():
		shown = append(shown, "formula", "portion", "amount", "by")
	case k == design.Embed:
		shown = append(shown, "design", "count", "sunk_pct", "covered_pct")
	default:
		shown = append(shown, "item", "amount", "by")
		if k == design.Wrap {
			shown = append(shown, "closed")
		}
	}
	var out []carried
	for _, key := range append(slices.Clone(partTyped), "portion", "count", "by", "closed") {
		if x := v.Get(partField(n, key)); x != "" && !slices.Contains(shown, key) {
			out = append(out, carried{Name: partField(n, key), Value: x})
		}
	}
	return out
}

// blank writes __i__ where row 0 has its number, for the module that fills it in.
func (p partRow) blank() partRow {
	p.Num = blankRow
	blankControl(&p.Formula)
	blankControl(&p.Design)
	asBlank(&p.Kind.Name, &p.Kind.Label, &p.Name.Name, &p.Portion.Name, &p.Count.Name, &p.Sunk.Name, &p.Covered.Name, &p.Item.Name, &p.Closed.Name,
		&p.Amount.Name, &p.By.Name, &p.Stage.Name, &p.Wait.Name, &p.Until.Name, &p.Note.Name, &p.Reminders.Name)
	return p
}

// partLabels are the fields of a part as the maker reads them.
var partLabels = map[string]string{"kind": "kind", "name": "name", "formula": "formula", "portion": "portion", "design": "embed", "count": "how many", "sunk_pct": "sunk", "covered_pct": "covered",
	"item": "what", "amount": "how much", "by": "how much", "stage": "stage", "wait": "wait", "until": "until", "note": "note", "reminders": "reminders"}

// namePart puts before each fault of a part which part and field it is about,
// parts counted as they stand.
func namePartFaults(s *Summary, v url.Values) {
	rows := partRows(v)
	for i := range s.Faults {
		l := &s.Faults[i]
		rest, ok := strings.CutPrefix(l.Href, "#part.")
		if !ok {
			if l.Href == "#part" || l.Href == "#parts" {
				l.Href = "#parts-title"
			}
			continue
		}
		num, key, _ := strings.Cut(rest, ".")
		n, _ := strconv.Atoi(num)
		if at := slices.Index(rows, n); at >= 0 && partLabels[key] != "" {
			l.Text = fmt.Sprintf("part %d, %s: %s", at+1, partLabels[key], l.Text)
		}
	}
}

// namesOf looks up what the designs stand on, put away or not.
func (s *server) namesOf(ctx context.Context, ds ...*design.Design) (func(id string) string, error) {
	names := map[string]string{}
	look := func(id string, name func() (string, error)) error {
		if id == "" || names[id] != "" {
			return nil
		}
		n, err := name()
		if err != nil && fault.KindOf(err) != fault.NotFound {
			return err
		}
		names[id] = n
		return nil
	}
	for _, d := range ds {
		err := look(d.Mould, func() (string, error) {
			m, err := s.book.Moulds.Get(ctx, d.Mould)
			return m.Name, err
		})
		if err != nil {
			return nil, err
		}
		for _, p := range d.Parts {
			err := look(p.Formula, func() (string, error) {
				f, err := s.book.Formulas.Get(ctx, p.Formula)
				return f.Name, err
			})
			if err != nil {
				return nil, err
			}
			err = look(p.Design, func() (string, error) {
				e, err := s.book.Designs.Get(ctx, p.Design)
				return e.Name, err
			})
			if err != nil {
				return nil, err
			}
		}
	}
	return func(id string) string { return names[id] }, nil
}
