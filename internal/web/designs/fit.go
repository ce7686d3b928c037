package designs

import (
	"context"
	"slices"
	"strings"

	"barwright/design"
	"barwright/fault"
	"barwright/fit"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/internal/words"
	"barwright/quantity"
)

// fitView proposes batches for a wish list.
type fitView struct {
	Form    *form.Form
	Wishes  wantsPart
	Why     []string // it is not fitted yet
	Figures []shell.Figure
	Batches shell.List
	Fills   shell.List
	Traded  []string
	Proof   string
	Embeds  string // what is cast beside, and not fitted here
}

var fitPage = shell.Declare[fitView](room, "fit")

// fitting is what the form of a wish list asks for.
type fitting struct {
	wishes            []design.Want
	pot, least, worth quantity.Maybe
	over              float64
	rounds, more      int
}

func (x *fitting) bind(f *form.Form, g *gathered, designs *form.List) {
	bindWants(f, "wish", &x.wishes, designs, g, form.AtLeast(1), form.Called("designs"))
	f.Maybe("pot", &x.pot, form.Mass, form.Usual(g.Settings.PotG), form.Label("Largest batch"),
		form.Hint("that your pot takes"), form.Answers("pot.max_g"))
	f.Maybe("least", &x.least, form.Mass, form.Label("Smallest batch"),
		form.Hint("that you can stir; left empty: a quarter of the largest"), form.Answers("pot.min_g"))
	bindOver(f, &x.over, form.Label("Overage"), form.Hint("what spatula and jug keep"))
	f.Count("rounds", &x.rounds, form.Empty(0), form.Label("Rounds"), form.Hint("how often a set may be filled; left empty: once"))
	f.Count("more", &x.more, form.Empty(0), form.Label("Extra sets"),
		form.Hint("more than a wish needs, filled where that uses up batter"), form.Answers("more_sets"))
	f.Maybe("worth", &x.worth, form.Mass, form.Label("Worth of a batch"), form.Hint("batter that one more must save; left empty: a quarter of the largest"),
		form.Answers("batch_g"))
}

// need refuses what a plan cannot do without.
func (x *fitting) need(f *form.Form) {
	if first := f.Rows("wish")[0]; len(x.wishes) == 0 {
		first.Refuse("design", fault.Invalidf("", "Choose a design, and write how many pieces of it you wish for."))
	}
	if !x.pot.Known && !f.Bad("pot") {
		f.Refuse("pot", fault.Invalidf("", "Write how large a batch your pot takes."))
	}
}

// fit fits a wish list to the moulds.
func (o *rooms) fit(_ context.Context, a asked) (fitView, error) {
	f, g := a.form, a.gathered
	var x fitting
	x.bind(f, g, a.designs)
	if a.pressed {
		x.need(f)
	}
	v := fitView{Form: f, Wishes: wantsOf(f, "wish", "Add a design")}
	var plan fit.Plan
	if f.Sound() && len(x.wishes) > 0 && x.pot.Known {
		p, unworked := g.Fit(x.wishes, x.more)
		p.BatchG, p.OveragePct, p.Rounds, p.Pot = x.worth, x.over, x.rounds, fit.PotFor(x.pot.V, x.least)
		p.Unit, p.DivisionG = g.Settings.Mass, g.faces.Division(nil)
		v.Why = g.unworked(unworked...)
		if len(v.Why) == 0 {
			var err error
			plan, err = fit.Solve(p)
			for _, e := range fault.All(err) {
				if e.Kind == fault.Internal {
					return v, err
				}
				if strings.HasSuffix(e.Field, ".more_sets") {
					e.Field = "more_sets" // it is asked once for all designs
				}
				f.Check(e)
			}
		}
	}
	switch {
	case f.Refused(nil):
		v.Why = f.Why()
	case len(x.wishes) == 0:
		v.Why = []string{"Say which designs are wished for, and how many pieces of each."}
	case !x.pot.Known:
		v.Why = []string{"Say how large a batch your pot takes."}
	case len(v.Why) == 0:
		v.fill(g, plan, &x)
	}
	return v, nil
}

// fill writes what a plan says.
func (v *fitView) fill(g *gathered, plan fit.Plan, x *fitting) {
	v.Figures = []shell.Figure{{Value: g.mass(plan.PotG), Label: "every batch"}, {Value: whole(plan.Count), Label: "batches"},
		{Value: g.mass(plan.LeftG), Label: "left over"},
		{Value: whole(plan.Missed), Label: "pieces missed"}, {Value: whole(plan.Beyond), Label: "more than wished for"}}
	v.Batches = shell.List{Caption: "Batches", Title: "Batches", Columns: []shell.Column{{Label: "of"}, {Label: form.MassColumn(g.Settings.Mass)}}}
	for _, b := range plan.Batches {
		v.Batches.Rows = append(v.Batches.Rows, shell.ListRow{Href: "/formulas/" + b.Formula, Name: g.name(b.Formula),
			Aside: []string{listed(g.mass(b.NeedG)+" in the cavities", g.more(b.OverageG, " overage"), g.more(b.StaysG, " stays in the pot"),
				g.mass(b.LeftG)+" left over")},
			Cells: []shell.Cell{{Value: whole(b.Count) + " ×"}, {Value: g.massNumber(plan.PotG), Plain: true}}})
	}
	v.Fills = shell.List{Caption: "Pieces", Title: "Pieces", Columns: []shell.Column{{Label: "sets"}, {Label: "pieces"}}}
	for _, q := range plan.Fills {
		said := []string{whole(q.Wish) + " wished for", words.Count(q.Cavities, "cavity", "cavities") + " of " + g.name(q.Mould)}
		if q.Missed > 0 {
			said = append(said, whole(q.Missed)+" missed")
		}
		if q.Beyond > 0 {
			said = append(said, whole(q.Beyond)+" more than wished for")
		}
		row := shell.ListRow{Href: "/designs/" + q.Design, Name: g.name(q.Design), Aside: []string{listed(said...)},
			Cells: []shell.Cell{{Value: whole(q.Sets)}, {Value: whole(q.Pieces), Plain: true}}}
		if q.Pieces > 0 {
			row.Links = []shell.Link{{Href: needHref(q.Design, q.Pieces, x.over), Text: "What " + whole(q.Pieces) + " need"}}
		}
		v.Fills.Rows = append(v.Fills.Rows, row)
	}
	v.Traded = plan.Traded
	v.Proof = "Every other plan was tried or ruled out: none misses fewer pieces, and of those that miss as few, none leaves less batter over. " +
		"Each batch counts as its worth in batter."
	if !plan.Proved {
		v.Proof = "The search stopped before every plan was tried. No plan can be better by more than " +
			g.mass(max(plan.ScoreG-plan.BoundG, 0)) + ", where each batch counts as its worth in batter."
	}
	var embeds []string
	for _, w := range x.wishes {
		for _, q := range g.design(w.Design).Parts {
			if q.Kind == design.Embed && !slices.Contains(embeds, g.name(q.Design)) {
				embeds = append(embeds, g.name(q.Design))
			}
		}
	}
	if len(embeds) > 0 {
		v.Embeds = "These embeds are cast in moulds and batches of their own: " + strings.Join(embeds, ", ") +
			". The page of what a design’s pieces need says how many. To fit them too, put them on a wish list of their own."
	}
}
