package designs

import (
	"context"
	"strconv"

	"barwright/design"
	"barwright/fault"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
)

// bindPieces binds a number of pieces to make.
func bindPieces(f *form.Form, path string, n *int, opts ...form.Option) {
	f.Count(path, n, append(opts, form.Needed("Write how many pieces to make, such as 36."), form.Only(func() error {
		switch {
		case *n == 0:
			return fault.Invalidf("", "Write how many pieces to make, 1 or more.")
		case *n < 0 || *n > 1_000_000:
			return fault.Invalidf("", "Write how many pieces to make: a whole number from 1 to 1 000 000, such as 36.")
		}
		return nil
	}))...)
}

// bindOver binds how much batter is made beyond what the pieces take, %.
func bindOver(f *form.Form, pct *float64, opts ...form.Option) {
	f.Number("over", pct, form.Percent, append(opts, form.Usual(f.Faces().Set.OveragePct), form.Empty(0), form.Answers("overage_pct"),
		form.Between(0, 100, "Write an overage from 0 to 100 %."))...)
}

// bindWants binds a list of designs with the pieces that are wanted of each. Living
// are those that were gathered; nil where archived ones serve as well.
func bindWants(f *form.Form, list string, to *[]design.Want, designs *form.List, living *gathered, opts ...form.RowOption) {
	form.Rows(f, list, to, func(f *form.Form, x *design.Want) {
		f.Pick("design", &x.Design, designs, form.Label("Design "+f.Num()), form.Ledger, form.Wide, form.Answers("id"),
			form.Needed("Choose the design, or take the row away."), form.Only(func() error {
				if living != nil && living.design(x.Design) == nil {
					return fault.Invalidf("", "This design is archived: bring it back, or choose another.")
				}
				return nil
			}))
		bindPieces(f, "pieces", &x.Pieces, form.Label("Pieces of design "+f.Num()), form.Ledger, form.Answers("wish"))
	}, append(opts, form.Each("Design"))...)
}

// wantsPart draws such a list: template "wants".
type wantsPart struct {
	List, Add string
	Rows      []*form.Form
	Blank     *form.Form
}

// wantsOf is the list of a form. Add are the words on the button that adds a row.
func wantsOf(f *form.Form, list, add string) wantsPart {
	return wantsPart{list, add, f.Rows(list), f.Empty(list)}
}

// asked is what a wantsPage works out.
type asked struct {
	*gathered
	form    *form.Form
	designs *form.List
	// pressed reports that the maker asks for an answer, where a page that was only
	// opened, or whose rows were changed, waits for one.
	pressed bool
}

// A wantsPage is a live page that works out a list of wanted designs and keeps
// nothing: its form asks, and its one fragment answers.
type wantsPage[T any] struct {
	page        shell.Page[T]
	fragment    string
	work        func(context.Context, asked) (T, error)
	title, lead string
}

// open registers the page: by its address, by its form, and live.
func (p wantsPage[T]) open(o *rooms, path string) {
	o.Serve(func(a *form.Ask) error {
		all, err := o.Book.GatherAll(a.Context())
		if err != nil {
			return err
		}
		g := inFaces(all)
		designs, err := form.Records(a.Context(), "designs", "design", o.Book.Designs)
		if err != nil {
			return err
		}
		f := form.Read(a.Sent, g.faces)
		waits := f.Do() == form.Reshaped || shell.IsLive(a.Request)
		f.Speak(voice{g.name})
		data, err := p.work(a.Context(), asked{g, f, designs, !waits && f.Has("over") && (f.Has("batter") || f.Has("pot"))})
		if err != nil {
			return err
		}
		head := shell.Head{Title: p.title, Lead: p.lead, Actions: []shell.Button{{Label: "All designs", Href: "/designs"}}}
		return form.Answer(p.page, a, f, head, data, p.fragment)
	}, "GET "+path, "POST "+path)
}

// needHref is the address of what so many pieces need.
func needHref(id string, pieces int, overPct float64) string {
	over := ""
	if overPct > 0 {
		over = form.Digits(overPct)
	}
	return shell.Address("/designs/"+id+"/need", "pieces", strconv.Itoa(pieces), "over", over)
}
