package fit

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"barwright/fault"
	"barwright/quantity"
)

func sound() Problem {
	return Problem{
		Moulds:   []Mould{{"house", "Lantern mould", 3, 6, 1}, {"loaf", "Loaf", 1, 1, 10}},
		Formulas: []Formula{{"white", "Sea white", 20}, {"rock", "Rock", 10}},
		Designs: []Design{
			{"lantern", "Lantern house", "house", 14, 0, []Pour{{"white", 95}, {"rock", 22}}},
			{"pebble", "Pebble", "loaf", 10, 1, []Pour{{"rock", 1250}}},
		},
		Pot: Pot{MinG: 500, MaxG: 2500}, OveragePct: 3, DivisionG: 1,
	}
}

// FuzzSolve tries anything that a form or a file may hold. The result is either a
// fault in words or a plan that satisfies the equations; never a panic, and never
// an infinite number or NaN.
func FuzzSolve(f *testing.F) {
	add := func(change func(*Problem)) {
		p := sound()
		change(&p)
		doc, err := json.Marshal(p)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(doc)
	}
	add(func(*Problem) {})
	add(func(p *Problem) {
		p.MissedG, p.BatchG, p.BeyondG = quantity.Some(50), quantity.Some(0), quantity.Some(0)
	})
	add(func(p *Problem) { p.Pot = Pot{SizesG: []float64{700, 2000, 700}} })
	add(func(p *Problem) { p.Pot.StepG, p.Rounds = 50, 3 })
	add(func(p *Problem) { p.Designs[0].Pours[0].G = 1e5 })
	add(func(p *Problem) { p.Designs[1].MoreSets, p.Moulds[1].Sets, p.Designs[1].Wish = 50, 200, 1e5 })
	f.Fuzz(func(t *testing.T, doc []byte) {
		var p Problem
		if json.Unmarshal(doc, &p) != nil {
			return
		}
		p.Nodes = min(max(p.Nodes, 1), 2000)
		for _, e := range p.Validate() {
			if e.Field == "" || e.Message == "" || strings.Contains(e.Message, "NaN") {
				t.Fatalf("a poor fault: %+v", e)
			}
		}
		plan, err := Solve(p)
		if err != nil {
			if len(plan.Fills) > 0 || len(p.Validate()) == 0 {
				t.Fatalf("%v, and a plan: %+v", err, plan)
			}
			return
		}
		if _, err := json.Marshal(plan); err != nil { // refuses infinite numbers and NaN
			t.Fatal(err)
		}
		check(t, &p, &plan)
		for _, line := range plan.Traded {
			if strings.Contains(line, quantity.NotKnown) || strings.Contains(line, "NaN") || strings.Contains(line, "Inf") {
				t.Fatal(line)
			}
		}
	})
}

func TestEveryFaultHasAFieldAndASentence(t *testing.T) {
	nan, inf := 0.0, 0.0
	nan /= nan
	inf = 1 / inf
	if s := sound(); len(s.Validate()) > 0 {
		t.Fatal(s.Validate())
	}
	for _, c := range []struct {
		change      func(*Problem)
		field, want string
	}{
		{func(p *Problem) { p.Moulds = nil }, "moulds", "There are no moulds"},
		{func(p *Problem) { p.Formulas = nil }, "formulas", "There are no formulas"},
		{func(p *Problem) { p.Designs = nil }, "designs", "There are no designs"},
		{func(p *Problem) { p.Designs = make([]Design, 61) }, "designs", "keep it to 60"},
		{func(p *Problem) { p.Moulds[1].ID = "house" }, "moulds.2.id", "is given twice among the moulds"},
		{func(p *Problem) { p.Formulas[0].ID = " " }, "formulas.1.id", "has no id"},
		{func(p *Problem) { p.Designs[0].Name = strings.Repeat("a", 300) }, "designs.1.name", "too long"},
		{func(p *Problem) { p.Moulds[0].Cavities = 0 }, "moulds.1.cavities", "0 cannot be the number of cavities"},
		{func(p *Problem) { p.Moulds[0].Sets = -1 }, "moulds.1.sets", "-1 cannot be the number of sets"},
		{func(p *Problem) { p.Moulds[0].Bars = 0 }, "moulds.1.bars", "0 cannot be the number of pieces"},
		{func(p *Problem) { p.Moulds[0].Sets, p.Rounds = 150, 2 }, "rounds", "more than one plan takes"},
		{func(p *Problem) { p.Rounds = -1 }, "rounds", "-1 cannot be the number of rounds"},
		{func(p *Problem) { p.Nodes = -1 }, "nodes", "cannot be the number of nodes"},
		{func(p *Problem) { p.Formulas[0].LossG = -1 }, "formulas.1.loss_g", "cannot be"},
		{func(p *Problem) { p.Formulas[0].LossG = nan }, "formulas.1.loss_g", "is not a number"},
		{func(p *Problem) { p.Formulas[0].LossG = 400 }, "formulas.1.loss_g", "more than half of it"},
		{func(p *Problem) { p.Designs[0].Mould = "bell" }, "designs.1.mould", `"bell" is none of the moulds`},
		{func(p *Problem) { p.Designs[0].Wish = -6 }, "designs.1.wish", "-6 cannot be the number of pieces wished"},
		{func(p *Problem) { p.Designs[0].MoreSets = 99 }, "designs.1.more_sets", "99 cannot be"},
		{func(p *Problem) { p.Designs[0].Pours = nil }, "designs.1.pours", `"lantern" takes no batter`},
		{func(p *Problem) { p.Designs[0].Pours[1].Formula = "fog" }, "designs.1.pours.2.formula", `"fog" is none of the formulas`},
		{func(p *Problem) { p.Designs[0].Pours[1].Formula = "white" }, "designs.1.pours.2.formula", "is given twice in this design"},
		{func(p *Problem) { p.Designs[0].Pours[1].G = 0 }, "designs.1.pours.2.g", "cannot be"},
		{func(p *Problem) { p.Designs[0].Pours[1].G = inf }, "designs.1.pours.2.g", "is not a number"},
		{func(p *Problem) { p.Designs[0].Wish, p.Designs[1].Wish = 0, 0 }, "designs", "Nothing is wished for"},
		{func(p *Problem) { p.OveragePct = nan }, "overage_pct", "outside 0 to 100"},
		{func(p *Problem) { p.BatchG = quantity.Some(-1) }, "batch_g", "cannot be"},
		{func(p *Problem) { p.BeyondG = quantity.Some(nan) }, "beyond_g", "is not a number"},
		{func(p *Problem) { p.MissedG = quantity.Some(1e9) }, "missed_g", "cannot be"},
		{func(p *Problem) { p.DivisionG = -1 }, "division_g", "cannot have a division of"},
		{func(p *Problem) { p.Unit = 99 }, "unit", "not one that masses are shown in"},
		{func(p *Problem) { p.Pot = Pot{} }, "pot.max_g", "cannot be 0"},
		{func(p *Problem) { p.Pot.MinG = nan }, "pot.min_g", "is not a number"},
		{func(p *Problem) { p.Pot.MinG = 3000 }, "pot.min_g", "is more than the pot takes"},
		{func(p *Problem) { p.Pot.MinG = 100 }, "pot.min_g", "too far apart"},
		{func(p *Problem) { p.Pot.StepG = 1 }, "pot.step_g", "choose a step"},
		{func(p *Problem) { p.Pot.MinG, p.Pot.MaxG, p.Pot.StepG = 510, 590, 100 }, "pot.step_g", "give 0 sizes"},
		{func(p *Problem) { p.Pot.SizesG = []float64{800} }, "pot.sizes_g", "the one or the other"},
		{func(p *Problem) { p.Pot = Pot{SizesG: []float64{800, nan}} }, "pot.sizes_g", "is not a number"},
		{func(p *Problem) { p.Pot = Pot{SizesG: make([]float64, 600)} }, "pot.sizes_g", "more than can be tried"},
		{func(p *Problem) { p.Designs[0].Pours[0].G = 1e5 }, "pot.max_g", `"white" would take up to`},
	} {
		p := sound()
		c.change(&p)
		found := false
		for _, e := range p.Validate() {
			found = found || e.Field == c.field && strings.Contains(e.Message, c.want) && e.Kind == fault.Invalid
		}
		if !found {
			t.Errorf("want %s: …%s…, got %v", c.field, c.want, p.Validate())
		}
		if plan, err := Solve(p); err == nil || fmt.Sprint(plan) != fmt.Sprint(Plan{}) {
			t.Errorf("%s: a plan all the same: %v", c.field, plan)
		}
	}
}
