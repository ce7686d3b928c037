package designs

import (
	"cmp"
	"maps"
	"slices"

	"barwright/design"
	"barwright/fault"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/studio"
)

// defaultPieces is how many the page asks for until the maker says.
const defaultPieces = "36"

// needView is what so many pieces need.
type needView struct {
	Action string
	Once   string // the id under which making a sheet counts once
	Form   *form.Form
	Also   wantsPart
	Have   []string // the fields for embeds at hand
	Why    []string // it could not be taken apart
	Apart  *apart
}

var needPage = shell.Declare[needView](room, "need")

// asking is the form of what so many pieces need, and what it was taken apart to.
type asking struct {
	*gathered
	form *form.Form
	name string // of the design
	how  design.Options
	have []string
	need *design.Need // nil where it could not be taken apart
	why  []string
}

// ask reads the form and takes the pieces apart.
func (o *rooms) ask(ask *form.Ask) (*asking, error) {
	ctx, id := ask.Context(), ask.PathValue("id")
	d, err := o.Book.Designs.Get(ctx, id)
	if err != nil {
		return nil, err
	}
	designs, err := form.Records(ctx, "designs", "design", o.Book.Designs, id)
	if err != nil {
		return nil, err
	}
	f := form.Read(ask.Sent, ask.Faces)
	f.Do()
	a := &asking{form: f, name: d.Name, how: design.Options{Stock: map[string]int{}}}
	asked := []design.Want{{Design: id}}
	var also []design.Want
	bindPieces(f, "pieces", &asked[0].Pieces, form.Label("Pieces"))
	bindOver(f, &a.how.OveragePct, form.Label("Overage"), form.Hint("of each batter, what spatula and jug keep"))
	bindWants(f, "also", &also, designs, nil)
	f.Known("once")
	wants, ids := []design.Want{{Design: id, Pieces: 1}}, []string{id}
	if f.Sound() {
		wants = append(asked, also...)
		for _, w := range also {
			ids = append(ids, w.Design)
		}
	}
	if a.gathered, err = o.gather(ctx, nil, ids...); err != nil {
		return nil, err
	}
	f.Speak(voice{a.gathered.name})
	a.how.Faces = ask.Faces.Formula()
	a.bindHave(wants)
	if !f.Sound() {
		a.why = f.Why()
	} else if a.need, err = design.Explode(a.Set, wants, a.how); err != nil {
		a.need = nil
		why, internal := a.refused(err, nil, "")
		if internal != nil {
			return nil, internal
		}
		a.why = append(a.unworked(slices.Collect(maps.Keys(a.Faults))...), why...)
	}
	f.Refused(nil)
	return a, nil
}

// bindHave binds how many there are at hand of each embed that the pieces take.
func (a *asking) bindHave(wants []design.Want) {
	n, err := design.Explode(a.Set, wants, design.Options{Faces: a.how.Faces})
	if err != nil {
		return // it is said where the pieces are taken apart
	}
	for _, e := range n.Embeds {
		field, k := "have."+e.Design, 0
		a.form.Count(field, &k, form.Empty(0), form.Label(a.gathered.name(e.Design)), form.Only(func() error {
			if k < 0 || k > 1_000_000 {
				return fault.Invalidf("", "Write how many are at hand: a whole number such as 12, or nothing.")
			}
			return nil
		}))
		a.have = append(a.have, field)
		if k > 0 {
			a.how.Stock[e.Design] = k
		}
	}
}

// need shows what so many pieces need, answers while the maker types, and makes the
// sheet of the run.
func (o *rooms) need(ask *form.Ask) error {
	if len(ask.Sent) == 0 && !ask.Posted {
		ask.Sent.Set("pieces", defaultPieces)
	}
	once, typed := ask.Sent.Get("once"), ask.Typed("once", "do")
	makes := ask.Posted && ask.Sent.Get("do") == "make" && !shell.IsLive(ask.Request)
	if makes {
		if made, ok, err := o.Book.RunMade(ask.Context(), once, typed); err != nil || ok {
			return ask.GoTo("/bench/"+made.Code, err)
		}
	}
	a, err := o.ask(ask)
	if err != nil {
		return err
	}
	view := needView{Action: ask.URL.Path, Once: cmp.Or(once, studio.NewID()), Form: a.form,
		Also: wantsOf(a.form, "also", "Make another design beside it"), Have: a.have, Why: a.why}
	if makes {
		if code, err := o.makeSheet(ask.Context(), a, once, typed); err != nil || code != "" {
			return ask.GoTo("/bench/"+code, err)
		}
	}
	if a.need != nil {
		view.Apart = a.apart(a.need)
	}
	pieces := "so many"
	if !a.form.Bad("pieces") {
		pieces = a.form.Typed("pieces")
	}
	head := shell.Head{Title: "What " + pieces + " need", Lead: a.name + ", taken apart, in the order of the work.",
		Actions: []shell.Button{{Label: "The design", Href: "/designs/" + ask.PathValue("id")}}}
	return form.Answer(needPage, ask, a.form, head, view, "need-have", "need-work")
}
