package season_test

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"barwright/season"
)

// bench is a season of three weeks, small enough to count by hand. A bar and a
// lantern share a mould of two sets, and a lamp goes into the lantern.
const bench = `{"format": "season-plan/1", "name": "three weeks", "weeks": 3, "rackSlots": 2,
"moulds": [{"id": "loaf", "count": 2}, {"id": "cups", "count": 1}],
"benchDays": [{"day": 0, "minutes": 100}, {"day": 2, "minutes": 100}, {"day": 7, "minutes": 200}, {"day": 14, "minutes": 60}],
"items": [
 {"id": "bar", "name": "Bar", "kind": "product", "batchUnits": 10, "mould": "loaf", "mouldDays": 3, "leadDays": 7, "rackSlots": 1,
  "setupMinutes": 10, "batchMinutes": 40, "setupCost": 1, "batchCost": 2, "holdingPerUnitWeek": 0.1, "lostSalePenalty": [5, 4.9, 4.8],
  "demand": [0, 6, 9], "openingStock": 0, "endPositionTarget": 3, "endPositionPenalty": 2, "maxBatchesPerDay": 2},
 {"id": "lantern", "name": "Lantern", "kind": "product", "batchUnits": 5, "mould": "loaf", "mouldDays": 1, "leadDays": 7, "rackSlots": 1,
  "setupMinutes": 10, "batchMinutes": 50, "setupCost": 1, "batchCost": 2, "holdingPerUnitWeek": 0.1, "lostSalePenalty": [6, 5.9, 5.8],
  "demand": [0, 0, 4], "openingStock": 0, "maxBatchesPerDay": 2, "bom": [{"component": "lamp", "unitsPerBatch": 5}],
  "launch": {"week": 2, "stockNeeded": 5, "shortPenalty": 3}},
 {"id": "lamp", "name": "Lamp", "kind": "component", "batchUnits": 10, "mould": "cups", "mouldDays": 1, "leadDays": 2, "batchMinutes": 30,
  "setupCost": 1, "batchCost": 1, "holdingPerUnitWeek": 0.01, "openingStock": 0, "maxBatchesPerDay": 1}]}`

func season3(t testing.TB) *season.Instance {
	t.Helper()
	in, err := season.Read("bench.json", []byte(bench))
	if err != nil {
		t.Fatal(err)
	}
	return in
}

func TestPinsAreReadAsWritten(t *testing.T) {
	in := season3(t)
	got, err := season.ReadPins("pins.json", []byte(`{"note": "the fair", "fixed": [{"day": 2, "item": "lamp", "batches": 1}, {"day": 7, "item": "lantern", "batches": 1},
		{"day": 14, "item": "bar", "batches": 0}], "forbidden": [{"day": 0, "item": "bar"}]}`), in)
	want := season.Pins{
		Fixed:     []season.Pour{{Day: 2, Item: 2, Batches: 1}, {Day: 7, Item: 1, Batches: 1}, {Day: 14, Item: 0, Batches: 0}},
		Forbidden: []season.ItemDay{{Item: 0, Day: 0}},
	}
	if err != nil || cmp.Diff(want, got) != "" {
		t.Errorf("%v\n%s", err, cmp.Diff(want, got))
	}
	for _, empty := range []string{`{}`, `{"fixed": [], "forbidden": null}`} {
		if got, err := season.ReadPins("pins.json", []byte(empty), in); err != nil || len(got.Fixed)+len(got.Forbidden) > 0 {
			t.Errorf("%s: %v %v", empty, got, err)
		}
	}
}

func TestPinsRefuseInWords(t *testing.T) {
	in := season3(t)
	for name, c := range map[string]struct{ pins, want string }{
		"empty":            {``, `pins.json: The file is empty: a file of pins has at least {"fixed": [], "forbidden": []}.`},
		"a list":           {`[]`, `pins.json:1: A file of pins is one object in braces, and this is a list: write at least {"fixed": [], "forbidden": []}.`},
		"cut off":          {"{\"fixed\": [", "This is not JSON: the file ends before its brackets and braces are closed, so its end may be missing."},
		"misspelt":         {`{"fixd": []}`, "pins.json:1: fixd: There is no such key; did you mean fixed?; the name of a remark begins with _."},
		"no bench day":     {`{"fixed": [{"day": 3, "item": "bar", "batches": 1}]}`, "fixed.1.day: Day 3 is no bench day; those next to it are days 2 and 7."},
		"after the last":   {`{"forbidden": [{"day": 20, "item": "bar"}]}`, "forbidden.1.day: Day 20 is no bench day; the last is day 14."},
		"before the first": {`{"forbidden": [{"day": -1, "item": "bar"}]}`, "forbidden.1.day: Day -1 is no bench day; the first is day 0."},
		"half a day":       {`{"fixed": [{"day": 2.5, "item": "bar", "batches": 1}]}`, "fixed.1.day: 2.5 cannot be used: write a whole number, such as 3"},
		"unknown item": {"{\"fixed\": [\n{\"day\": 2, \"item\": \"lantem\", \"batches\": 1}]}",
			`pins.json:2: fixed.1.item: There is no item "lantem"; did you mean lantern?`},
		"no item": {`{"fixed": [{"day": 2, "batches": 1}]}`, `fixed.1.item: This is missing: write "item": "bar".`},
		"too many": {`{"fixed": [{"day": 7, "item": "lamp", "batches": 2}]}`,
			`fixed.1.batches: 2 batches of lamp on one day are too many: its maxBatchesPerDay is 1`},
		"fewer than none": {`{"fixed": [{"day": 7, "item": "lamp", "batches": -1}]}`, `fixed.1.batches: -1 cannot be used: write a whole number from 0 to 1`},
		"not said":        {`{"fixed": [{"day": 7, "item": "lamp"}]}`, `fixed.1.batches: This is missing: write "batches": 1, or 0 for none.`},
		"a forbidden many": {`{"forbidden": [{"day": 7, "item": "lamp", "batches": 1}]}`,
			`forbidden.1.batches: This key does not belong here, but in "fixed".`},
		"twice": {`{"fixed": [{"day": 7, "item": "lamp", "batches": 1}, {"day": 7, "item": "lamp", "batches": 1}]}`,
			"fixed.2.day: Lamp on day 7 is also fixed.1: keep one of them, with all its batches."},
		"fixed, forbidden": {`{"fixed": [{"day": 7, "item": "lamp", "batches": 1}], "forbidden": [{"day": 7, "item": "lamp"}]}`,
			"forbidden.1.day: Lamp on day 7 is also fixed.1: keep one of them."},
		"minutes": {`{"fixed": [{"day": 2, "item": "bar", "batches": 1}, {"day": 2, "item": "lantern", "batches": 1}]}`,
			"fixed.2: The pours fixed on day 2 take 110 minutes, and it has 100: 1 batch of bar on day 2 and 1 batch of lantern on day 2; fix fewer, or " +
				"give that day more minutes."},
		"moulds": {`{"fixed": [{"day": 0, "item": "bar", "batches": 2}, {"day": 2, "item": "bar", "batches": 1}]}`,
			"fixed.2: On day 2 the fixed pours take 3 sets of the mould loaf, and there are 2: 2 batches of bar on day 0 and 1 batch of bar on day 2; " +
				"fix one of them earlier or later; pins.json:1: fixed.2: On day 5 the fixed pours take 3 places on the rack, and 2 are free then: 2 batches " +
				"of bar on day 0 and 1 batch of bar on day 2; fix fewer, or some of them later."},
		"rack": {`{"fixed": [{"day": 2, "item": "bar", "batches": 2}, {"day": 7, "item": "bar", "batches": 1}, {"day": 0, "item": "lamp", "batches": 1}, {"day": 7, "item": "lantern", "batches": 1}]}`,
			"fixed.4: On day 8 the fixed pours take 3 places on the rack, and 2 are free then: 2 batches of bar on day 2 and 1 batch of lantern on day " +
				"7; fix fewer, or some of them later."},
		"components": {`{"fixed": [{"day": 0, "item": "lamp", "batches": 0}, {"day": 2, "item": "lantern", "batches": 1}]}`,
			"fixed.2: By day 2 the fixed pours draw 5 of lamp, and at most 0 can be ready by then: 1 batch of lantern on day 2; fix them later, or leave " +
				"earlier days free for lamp."},
		"components, no minutes": {`{"fixed": [{"day": 0, "item": "bar", "batches": 2}, {"day": 2, "item": "lantern", "batches": 1}]}`,
			"fixed.2: On day 2 the fixed pours take 3 sets of the mould loaf, and there are 2: 2 batches of bar on day 0 and 1 batch of lantern on day " +
				"2; fix one of them earlier or later; pins.json:1: fixed.2: On day 3 the fixed pours take 3 places on the rack, and 2 are free then: 2 " +
				"batches of bar on day 0 and 1 batch of lantern on day 2; fix fewer, or some of them later; pins.json:1: fixed.2: By day 2 the fixed pours " +
				"draw 5 of lamp, and at most 0 can be ready by then: 1 batch of lantern on day 2; fix them later, or leave earlier days free for lamp."},
	} {
		got, err := season.ReadPins("pins.json", []byte(c.pins), in)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s:\n got %v\nwant %s", name, err, c.want)
		}
		if len(got.Fixed)+len(got.Forbidden) > 0 {
			t.Errorf("%s: pins were given all the same: %v", name, got)
		}
	}
}

func TestPinsBrokenNamesEach(t *testing.T) {
	in := season3(t)
	pins := season.Pins{Fixed: []season.Pour{{Day: 2, Item: 2, Batches: 1}, {Day: 0, Item: 2}}, Forbidden: []season.ItemDay{{Item: 0, Day: 7}}}
	if got := pins.Broken(in, season.Plan{{Day: 2, Item: 2, Batches: 1}}); got != nil {
		t.Errorf("kept, and yet %q", got)
	}
	got := pins.Broken(in, season.Plan{{Day: 0, Item: 2, Batches: 1}, {Day: 7, Item: 0, Batches: 2}})
	want := []string{"lamp on day 2 is fixed at 1 batch, and 0 are poured", "lamp on day 0 is fixed at 0 batches, and 1 are poured",
		"bar on day 7 is forbidden, and 2 batches are poured"}
	if cmp.Diff(want, got) != "" {
		t.Error(cmp.Diff(want, got))
	}
}

func TestPlanIsRead(t *testing.T) {
	in := season3(t)
	want := season.Plan{{Day: 0, Item: 2, Batches: 1}, {Day: 2, Item: 0, Batches: 2}}
	for _, text := range []string{
		`{"plan": [{"day": 2, "item": "bar", "batches": 2}, {"day": 0, "item": "lamp", "batches": 1}]}`,
		`{"format": "season-plan-result/1", "cost": 3, "lower_bound": null, "why": [], "plan": [{"day": 2, "item": "bar", "batches": 1}, {"day": 0, "item": "lamp", "batches": 1},
			{"day": 2, "item": "bar", "batches": 1}, {"day": 14, "item": "bar", "batches": 0}]}`,
	} {
		got, err := season.ReadPlan("plan.json", []byte(text), in)
		if err != nil || cmp.Diff(want, got) != "" {
			t.Errorf("%v\n%s", err, cmp.Diff(want, got))
		}
	}
	for text, want := range map[string]string{
		`{"format": "season-plan/1", "plan": []}`: `plan.json:1: format: The text "season-plan/1" cannot be used: write "format": "season-plan-result/1".`,
		`{}`:           `plan.json:1: plan: This is missing: write "plan": [{"day": 2, "item": "P01", "batches": 1}].`,
		`{"plan": {}}`: `plan.json:1: plan: An object cannot be used: write a list in square brackets, such as "plan": [{"day": 2, "item": "P01", "batches": 1}].`,
		`{"plan": [{"day": 5, "item": "bar", "batches": 1}]}`:      "plan.1.day: Day 5 is no bench day; those next to it are days 2 and 7.",
		`{"plan": [{"day": 1e300, "item": "bar", "batches": 1}]}`:  `plan.1.day: 1e300 cannot be used`,
		`{"plan": [{"day": 2, "item": "bar", "batches": "many"}]}`: `plan.1.batches: The text "many" is not a number: write one in digits, such as "batches": 1.`,
		`{"plan": [7]}`: "plan.1: The number 7 cannot be used: write an object in braces, such as {…}.",
	} {
		if _, err := season.ReadPlan("plan.json", []byte(text), in); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s:\n got %v\nwant %s", text, err, want)
		}
	}
}

// FuzzPins checks that any file either gives an error sentence, or gives pins
// that belong to the season and keep its limits.
func FuzzPins(f *testing.F) {
	in := season3(f)
	own, err := os.ReadFile("../examples/quillfen-pins.json")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(own)
	f.Add([]byte(`{"fixed": [{"day": 2, "item": "lamp", "batches": 1}], "forbidden": [{"day": 0, "item": "bar"}]}`))
	f.Add([]byte(`{"fixed": [{"day": 1e18, "item": "lamp", "batches": -0}]}`))
	f.Add([]byte("{\"fixed\": [{}, {\"day\": null}], \"x\": \"\u0000\"}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := season.ReadPins("pins.json", data, in)
		if err != nil {
			if err.Error() == "" || len(p.Fixed)+len(p.Forbidden) > 0 {
				t.Fatalf("%q with pins %v", err, p)
			}
			return
		}
		for _, x := range p.Fixed {
			if _, ok := in.DayIndex(x.Day); !ok || x.Batches < 0 || x.Batches > in.Items[x.Item].MaxBatchesPerDay {
				t.Fatalf("%+v", x)
			}
		}
		for _, x := range p.Forbidden {
			if _, ok := in.DayIndex(x.Day); !ok || x.Item < 0 || x.Item >= len(in.Items) {
				t.Fatalf("%+v", x)
			}
		}
		if err := p.Check(in); err != nil {
			t.Fatal(err)
		}
	})
}

// FuzzPlan checks that a plan that was read can be simulated, and that reading it
// back from its printed form gives the same plan.
func FuzzPlan(f *testing.F) {
	in := season3(f)
	f.Add([]byte(`{"plan": [{"day": 2, "item": "bar", "batches": 2}, {"day": 0, "item": "lamp", "batches": 1}]}`))
	f.Add([]byte(`{"format": "season-plan-result/1", "cost": null, "plan": []}`))
	f.Add([]byte(`{"plan": [{"day": 2, "item": "bar", "batches": 999999}, {"day": 2, "item": "bar", "batches": 999999}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := season.ReadPlan("plan.json", data, in)
		if err != nil {
			if err.Error() == "" || p != nil {
				t.Fatalf("%q with plan %v", err, p)
			}
			return
		}
		r, _ := season.Simulate(in, p)
		if c := r.Cost.Total(); math.IsNaN(c) || math.IsInf(c, 0) {
			t.Fatalf("%v costs %g", p, c)
		}
		text := `{"plan": [`
		for k, x := range p {
			if k > 0 {
				text += ","
			}
			text += fmt.Sprintf(`{"day": %d, "item": %q, "batches": %d}`, x.Day, in.Items[x.Item].ID, x.Batches)
		}
		again, err := season.ReadPlan("plan.json", []byte(text+"]}"), in)
		if err != nil || cmp.Diff(p, again) != "" {
			t.Fatalf("%v\n%s", err, cmp.Diff(p, again))
		}
	})
}
