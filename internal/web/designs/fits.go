package designs

import (
	"context"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"barwright/design"
	"barwright/fault"
	"barwright/fit"
	"barwright/internal/web/form"
	"barwright/internal/web/shell"
	"barwright/quantity"
)

func (s *server) fitRoutes() {
	wishPage[fitView]{fitPage, "fit-work", s.fitView, "A wish list, fitted",
		"Batches that fill whole mould sets from one size of pot, with the least left over."}.routes(s, "/designs/fit")
}

// fitView proposes batches for a wish list.
type fitView struct {
	Picks   *picks
	Summary Summary
	Wishes  []wishRow
	Blank   wishRow
	Fields  []Field
	OK      bool
	Why     []string
	Figures []Figure
	Unit    string
	Batches []fitBatch
	Fills   []fitFill
	Traded  []string
	Embeds  string // what is cast beside, and not fitted here
	Proof   string
}

type fitBatch struct{ Href, Name, Count, Mass, Aside string }

type fitFill struct{ Href, Design, Name, Pieces, Sets, Aside string }

func (v fitView) sound() bool { return len(v.Summary.Faults) == 0 }

var fitPage = shell.Declare[fitView](room, "fit")

func (s *server) fitView(ctx context.Context, v url.Values) (fitView, error) {
	var view fitView
	g, err := s.gatherAll(ctx)
	if err != nil {
		return view, err
	}
	c, err := s.picks(ctx, g.t, v, "")
	if err != nil {
		return view, err
	}
	if len(rowsIn(v, "wish", "design")) == 0 {
		v.Set(wishField(1, "design"), "")
	}
	set := g.t.set
	if !v.Has("pot") && set.PotG.Known {
		v.Set("pot", g.t.massTyped(set.PotG.V))
	}
	if !v.Has("over") && set.OveragePct.Known {
		v.Set("over", plainNumber(set.OveragePct.V))
	}
	view.Unit = form.MassColumn(set.Mass)
	in := typed{v: v, faults: c.faults}
	view.Picks = c
	wants, rows := wishes(&in, g)
	pot := in.number("pot", g.t.parseMass)
	least := in.number("least", g.t.parseMass)
	over := in.number("over", parsePercent)
	rounds := in.count("rounds")
	more := in.count("more")
	worth := in.number("worth", g.t.parseMass)
	ready := len(in.faults) == 0 && len(wants) > 0 && pot.Known
	var plan fit.Plan
	if ready {
		p, unworked := g.Fit(wants, more)
		p.BatchG, p.OveragePct, p.Rounds, p.Pot = worth, over.Or(0), rounds, fit.PotFor(pot.V, least)
		p.Unit, p.DivisionG = set.Mass, g.t.division(nil)
		for _, id := range unworked {
			view.Why = append(view.Why, "“"+g.name(id)+"” cannot be worked out as it stands: open it and see what it needs.")
		}
		if len(view.Why) == 0 {
			plan, err = fit.Solve(p)
			for _, f := range fault.All(err) {
				if f.Kind == fault.Internal {
					return view, err
				}
				if field := fitField(f.Field, rows); field != "" {
					in.at(field, &fault.Error{Kind: f.Kind, Message: f.In(g.voice())})
				} else {
					view.Why = append(view.Why, f.In(g.voice()))
				}
			}
		}
	}
	faults := sentences(in.faults)
	view.Wishes, view.Blank = wishRows(v, faults, c)
	unit := massUnitWord(set.Mass)
	view.Fields = []Field{fieldOf(v, faults, "pot", "Largest batch", unit, "that your pot takes"), fieldOf(v, faults, "least", "Least that stirs", unit, "left empty: a quarter of the largest"),
		fieldOf(v, faults, "over", "Beyond the pieces", "%", "what spatula and jug keep"), fieldOf(v, faults, "rounds", "Rounds", "", "how often a set may be filled; left empty: once"),
		fieldOf(v, faults, "more", "Sets beyond a wish", "", "that may be filled if it uses up batter"),
		fieldOf(v, faults, "worth", "Worth of a batch", unit, "batter that one more must save; left empty: a quarter of the largest")}
	view.Summary = Summarise(faults)
	nameFaults(&view.Summary, map[string]string{"pot": "Largest batch", "least": "Least that stirs", "over": "Beyond the pieces", "rounds": "Rounds", "more": "Sets beyond a wish", "worth": "Worth of a batch"})
	switch {
	case len(faults) > 0:
		view.Why = []string{"Fitted as soon as what is marked is mended."}
	case len(wants) == 0:
		view.Why = []string{"Say which designs are wished for, and how many pieces of each."}
	case !pot.Known:
		view.Why = []string{"Say how large a batch your pot takes."}
	case len(view.Why) == 0:
		view.fill(g, plan, wants, over.Or(0))
	}
	return view, nil
}

// fitField is the field of the form for one of the problem's.
func fitField(field string, rows []int) string {
	switch field {
	case "pot.max_g":
		return "pot"
	case "pot.min_g":
		return "least"
	case "overage_pct":
		return "over"
	case "batch_g":
		return "worth"
	case "rounds":
		return "rounds"
	}
	rest, ok := strings.CutPrefix(field, "designs[")
	num, key, cut := strings.Cut(rest, "].")
	i, err := strconv.Atoi(num)
	switch {
	case !ok || !cut || err != nil || i < 0 || i >= len(rows):
		return ""
	case key == "wish":
		return wishField(rows[i], "pieces")
	case key == "more_sets":
		return "more"
	case key == "id":
		return wishField(rows[i], "design")
	}
	return ""
}

// fill writes what a plan says.
func (view *fitView) fill(g *gathered, plan fit.Plan, wants []design.Want, over float64) {
	view.OK = true
	view.Figures = []Figure{{Value: g.mass(plan.PotG), Label: "every batch"}, {Value: quantity.Number(float64(plan.Count), 0), Label: "batches"},
		{Value: g.mass(plan.LeftG), Label: "left over"}, {Value: quantity.Number(float64(plan.Missed), 0), Label: "pieces missed"}, {Value: quantity.Number(float64(plan.Beyond), 0), Label: "beyond the wish"}}
	for _, b := range plan.Batches {
		said := []string{g.mass(b.NeedG) + " in the cavities"}
		if b.OverageG > 0 {
			said = append(said, g.mass(b.OverageG)+" beyond")
		}
		if b.StaysG > 0 {
			said = append(said, g.mass(b.StaysG)+" stays in the pot")
		}
		said = append(said, g.mass(b.LeftG)+" left over")
		view.Batches = append(view.Batches, fitBatch{Href: "/formulas/" + b.Formula, Name: g.name(b.Formula), Count: quantity.Number(float64(b.Count), 0) + " ×", Mass: g.massNumber(plan.PotG), Aside: strings.Join(said, ", ")})
	}
	for _, f := range plan.Fills {
		row := fitFill{Design: "/designs/" + f.Design, Name: g.name(f.Design), Pieces: quantity.Number(float64(f.Pieces), 0), Sets: quantity.Number(float64(f.Sets), 0)}
		said := []string{quantity.Number(float64(f.Wish), 0) + " wished for", countOf(f.Cavities, "cavity", "cavities") + " of " + g.name(f.Mould)}
		if f.Missed > 0 {
			said = append(said, quantity.Number(float64(f.Missed), 0)+" missed")
		}
		if f.Beyond > 0 {
			said = append(said, quantity.Number(float64(f.Beyond), 0)+" beyond")
		}
		row.Aside = strings.Join(said, ", ")
		if f.Pieces > 0 {
			row.Href = needHref(f.Design, f.Pieces, plainNumber(over))
		}
		view.Fills = append(view.Fills, row)
	}
	view.Traded = plan.Traded
	view.Proof = "No plan that misses as few pieces leaves less, each batch counted at its worth: every other was tried or ruled out."
	if !plan.Proved {
		view.Proof = "The search came to its bound first: no plan can be better by more than " + g.mass(max(plan.ScoreG-plan.BoundG, 0)) + ", counting what batches cost."
	}
	var embeds []string
	for _, w := range wants {
		for _, q := range g.design(w.Design).Parts {
			if q.Kind == design.Embed && !slices.Contains(embeds, g.name(q.Design)) {
				embeds = append(embeds, g.name(q.Design))
			}
		}
	}
	if len(embeds) > 0 {
		view.Embeds = "Cast beside, in moulds and batches of their own: " + strings.Join(embeds, ", ") + ". What N need says how many; to fit them too, put them on a list of their own."
	}
}
