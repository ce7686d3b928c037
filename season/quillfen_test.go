package season_test

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"barwright/season"
	"barwright/season/seasoncheck"
)

func example(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile("../examples/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// Quillfen's own season, which docs/season.md shows, can be planned with its pins.
// The launch is met, and the program says what no pour could bring in time.
func TestQuillfensSeason(t *testing.T) {
	in, err := season.Read("quillfen-season.json", example(t, "quillfen-season.json"))
	if err != nil {
		t.Fatal(err)
	}
	pins, err := season.ReadPins("quillfen-pins.json", example(t, "quillfen-pins.json"), in)
	if err != nil {
		t.Fatal(err)
	}
	if len(pins.Fixed) != 1 || len(pins.Forbidden) != 2 {
		t.Errorf("%+v", pins)
	}
	free, _ := planned(t, in, season.Pins{})
	plan, cost := planned(t, in, pins)
	if b := pins.Broken(in, plan); b != nil {
		t.Error(b)
	}
	bound := season.NewBound(in, pins)
	for range 40 {
		if !bound.Step() {
			break
		}
	}
	if v := bound.Value(); !(v > 0) || v > cost {
		t.Errorf("bound %g, cost %g", v, cost)
	} else if cost > 1.2*v {
		t.Errorf("the plan at %g is more than a fifth above the bound %g", cost, v)
	}
	checked(t, in, example(t, "quillfen-season.json"), plan, cost)
	r := feasible(t, in, plan)
	lantern := itemOf(in, "winter-lantern")
	if r.Flows[lantern].LaunchShort > 0 {
		t.Errorf("the launch is %d short", r.Flows[lantern].LaunchShort)
	}
	q := season.Ask(in, plan, pins, 1, 50_000)
	for q.Step(100_000) {
	}
	if better, c, ok := q.Better(); ok {
		checked(t, in, example(t, "quillfen-season.json"), better, c)
	}
	// The first two weeks take 16 and 17 of the 38 kelp cubes, and the third asks
	// for 15. A cube cures for four weeks.
	cube := itemOf(in, "kelp-cube")
	found := false
	for _, m := range q.Misses() {
		found = found || m.Item == cube && m.Week == 2 && m.Units == 10 && m.Kind == season.Lost && m.Binding.Rule == season.RuleLead
	}
	if !found {
		t.Errorf("the 10 kelp cubes of week 2 are not said: %v", season.MissWords(in, q.Misses()))
	}
	for _, x := range season.Why(in, plan) {
		if len(x.Prevents) == 0 && x.Saves < 0 {
			t.Errorf("%s (%.2f)", x.Words(in, pins), x.Saves)
		}
	}
	if d := season.Compare(in, free, plan); math.Abs(d.B.Total()-cost) > 1e-9 {
		t.Errorf("%g is not %g", d.B.Total(), cost)
	}
}

// checked has a plan simulated by the checker, which shares no code with the
// planner.
func checked(t *testing.T, in *season.Instance, data []byte, plan season.Plan, cost float64) {
	t.Helper()
	type pour struct {
		Day     int    `json:"day"`
		Item    string `json:"item"`
		Batches int    `json:"batches"`
	}
	var out struct {
		Plan []pour `json:"plan"`
	}
	for _, p := range plan {
		out.Plan = append(out.Plan, pour{p.Day, in.Items[p.Item].ID, p.Batches})
	}
	text, err := json.Marshal(out)
	if err != nil {
		t.Fatal(err)
	}
	got, broken, err := seasoncheck.Check(data, text)
	if err != nil || broken != nil || math.Abs(got-cost) > 1e-6 {
		t.Errorf("the checker finds %g, %q, %v; the cost is %g", got, broken, err, cost)
	}
}

// planned is the better result of two short searches.
func planned(t *testing.T, in *season.Instance, pins season.Pins) (season.Plan, float64) {
	t.Helper()
	best, least := season.Plan(nil), math.Inf(1)
	for seed := range uint64(2) {
		s := season.NewSearch(in, seed, pins)
		s.Step(800_000)
		if p, c := s.Best(); c < least {
			best, least = p, c
		}
	}
	if math.IsInf(least, 1) {
		t.Fatal("no plan was found")
	}
	return best, least
}

// itemOf is the index of an item, −1 where there is none of that id.
func itemOf(in *season.Instance, id string) int {
	return slices.IndexFunc(in.Items, func(it season.Item) bool { return it.ID == id })
}
