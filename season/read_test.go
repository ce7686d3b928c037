package season

import (
	"errors"
	"os"
	"strings"
	"testing"

	"barwright/fault"
)

// least is the smallest season that has every field.
const least = `{"format": "season-plan/1", "name": "least", "note": "a remark", "_x": [1], "weeks": 2, "rackSlots": 4,
 "moulds": [{"id": "loaf", "count": 2}],
 "benchDays": [{"day": 8, "minutes": 200}, {"day": 1, "minutes": 100}],
 "items": [
 {"id": "bar", "kind": "product", "batchUnits": 10, "mould": "loaf", "mouldDays": 1, "leadDays": 5, "rackSlots": 1, "batchMinutes": 40, "maxBatchesPerDay": 2,
  "demand": [1, 2], "lostSalePenalty": [3, 2.5], "openingCure": [{"readyDay": 3, "batches": 1}], "launch": {"week": 1, "stockNeeded": 4, "shortPenalty": 2},
  "bom": [{"component": "wire", "unitsPerBatch": 3}]},
 {"id": "wire", "name": "Lamp wire", "kind": "component", "batchUnits": 9, "mould": "loaf", "mouldDays": 1, "leadDays": 2, "batchMinutes": 20, "maxBatchesPerDay": 1,
  "openingCure": []}]}`

func TestRead(t *testing.T) {
	in, err := Read("least.json", []byte("\xef\xbb\xbf"+least))
	if err != nil {
		t.Fatal(err)
	}
	bar, wire := &in.Items[0], &in.Items[1]
	switch {
	case in.Name != "least" || in.Weeks != 2 || in.RackSlots != 4 || len(in.Moulds) != 1:
		t.Errorf("%+v", in)
	case in.BenchDays[0] != BenchDay{1, 100} || in.BenchDays[1] != BenchDay{8, 200}:
		t.Errorf("bench days are to rise: %v", in.BenchDays)
	case bar.Name != "bar" || bar.Component || bar.Demand[1] != 2 || bar.LostSale[1] != 2.5 || len(bar.SafetyStock) != 2:
		t.Errorf("%+v", bar)
	case *bar.Launch != Launch{1, 4, 2} || bar.OpeningCure[0] != Curing{3, 1} || bar.BOM[0] != Use{1, 3}:
		t.Errorf("%+v", bar)
	case !wire.Component || wire.Name != "Lamp wire":
		t.Errorf("%+v", wire)
	}
}

// Each bad file is the good one with one change. The sentence names the line and
// the entry, and says what would be right.
func TestReadRefuses(t *testing.T) {
	for name, c := range map[string]struct{ old, new, want string }{
		"empty":     {least, " \n", `x.json: The file is empty: a season has at least "format", "weeks", "rackSlots", "moulds", "benchDays" and "items".`},
		"not UTF-8": {"least", "\xff", "x.json:1: This is not UTF-8 text: save the file in UTF-8."},
		"a list": {least, "[]",
			`x.json:1: A season is one object in braces, and this is a list: write at least "format", "weeks", "rackSlots", "moulds", "benchDays" and "items".`},
		"cut off": {least, least[:300], "x.json:5: This is not JSON: the file ends before its brackets and braces are closed, so its " +
			"end may be missing."},
		"brackets without end": {least, strings.Repeat("[", 5000), "x.json:1: Brackets stand over 32 deep here: no file of this kind nests so deep."},
		"more after it": {`"openingCure": []}]}`, `"openingCure": []}]} {}`,
			"x.json:9: There is more after the end of the first value: a file holds one object in braces."},
		"NaN": {"[1, 2]", "[1, NaN]", "x.json:6: This is not JSON: 'N' is no part of a number; write one in digits, such as 12 or 0.5."},
		"a comma too many": {`"count": 2}`, `"count": 2,}`,
			"x.json:2: This is not JSON: nothing follows this comma, so leave it out, or write what is missing."},
		"other format":    {"season-plan/1", "season-plan/2", `x.json:1: format: The text "season-plan/2" cannot be used: write "format": "season-plan/1".`},
		"no format":       {`"format": "season-plan/1", `, "", `x.json:1: format: This is missing: write "format": "season-plan/1".`},
		"no weeks":        {`"weeks": 2, `, "", `x.json:1: weeks: This is missing: write "weeks": 26.`},
		"weeks of 0":      {`"weeks": 2`, `"weeks": 0`, "x.json:1: weeks: 0 cannot be used: write a whole number from 1 to 520"},
		"weeks by halves": {`"weeks": 2`, `"weeks": 2.5`, "x.json:1: weeks: 2.5 cannot be used: write a whole number, such as 3"},
		"weeks in words":  {`"weeks": 2`, `"weeks": "2"`, `x.json:1: weeks: The text "2" is not a number: write it without quotes, as 2.`},
		"too big to be":   {`"rackSlots": 4`, `"rackSlots": 1e999`, "x.json:1: rackSlots: 1e999 is too large a number: write a smaller one"},
		"no bench day": {`[{"day": 8, "minutes": 200}, {"day": 1, "minutes": 100}]`, "[]",
			`x.json:3: benchDays: There is no bench day, so nothing can be poured: write at least one, such as {"day": 2, "minutes": 240}.`},
		"bench day outside": {`"day": 8`, `"day": 14`,
			"x.json:3: benchDays.1.day: Day 14 is outside the season, whose 2 weeks are days 0 to 13: leave it out, or write more weeks."},
		"bench day before": {`"day": 8`, `"day": -1`,
			"x.json:3: benchDays.1.day: Day -1 is outside the season, whose 2 weeks are days 0 to 13: leave it out, or write more weeks."},
		"bench day twice": {`"day": 8`, `"day": 1`, "x.json:3: benchDays.2.day: Day 1 is also entry 1: keep one of them, with all its minutes."},
		"minutes below 0": {`"minutes": 200`, `"minutes": -5`, "x.json:3: benchDays.1.minutes: -5 cannot be used: write a whole number from 0 to 1000000"},
		"a day that is none": {`{"day": 8, "minutes": 200}`, `8`,
			"x.json:3: benchDays.1: The number 8 cannot be used: write an object in braces, such as {…}."},
		"no items": {least[strings.Index(least, `"items": [`):], `"items": []}`,
			"x.json:4: items: There is nothing to pour: write at least one item."},
		"unknown mould": {`"mould": "loaf", "mouldDays": 1, "leadDays": 5`, `"mould": "loav", "mouldDays": 1, "leadDays": 5`,
			`x.json:5: items.1.mould: In "bar", there is no mould "loav"; did you mean loaf?`},
		"mould twice": {`[{"id": "loaf", "count": 2}]`, `[{"id": "loaf", "count": 2}, {"id": "loaf", "count": 1}]`,
			`x.json:2: moulds.2.id: "loaf" is the id of entry 1 already: give each entry its own`},
		"item twice": {`"id": "wire"`, `"id": "bar"`, `x.json:8: items.2.id: "bar" is the id of entry 1 already: give each entry its own`},
		"unknown component": {`"component": "wire"`, `"component": "wyre"`,
			`x.json:7: items.1.bom.1.component: In "bar", there is no item "wyre"; did you mean wire?`},
		"a product in another": {`"component": "wire"`, `"component": "bar"`,
			`x.json:7: items.1.bom.1.component: In "bar", "bar" is a product, and only components go into others: write "kind": "component" for it, or name one that is.`},
		"component twice": {`[{"component": "wire", "unitsPerBatch": 3}]`,
			`[{"component": "wire", "unitsPerBatch": 3}, {"component": "wire", "unitsPerBatch": 1}]`,
			`x.json:7: items.1.bom.2.component: In "bar", "wire" is the component of entry 1 already: give each entry its own.`},
		"a control character": {`"id": "wire"`, `"id": "wi\u0007re"`, `has a control character in it: write it in letters and digits`},
		"a circle": {`"openingCure": []}`, `"bom": [{"component": "wire", "unitsPerBatch": 1}]}`,
			`x.json:9: items.2.bom: Components go round in a circle: "wire" uses "wire": take one of these uses out.`},
		"lead below 0": {`"leadDays": 5`, `"leadDays": -5`, `x.json:5: items.1.leadDays: In "bar", -5 cannot be used: write a whole number from 0 to 3640.`},
		"ready in the mould": {`"mouldDays": 1, "leadDays": 5`, `"mouldDays": 6, "leadDays": 5`,
			`x.json:5: items.1.leadDays: In "bar", 5 is less than mouldDays, 6: a batch is ready when it is out of its mould at the earliest; raise leadDays.`},
		"launch outside": {`"week": 1`, `"week": 2`,
			`x.json:6: items.1.launch.week: In "bar", the launch is in week 2, outside the season, whose weeks are 0 to 1: move it, or write more weeks.`},
		"demand of one week": {"[1, 2]", "[1]",
			`x.json:6: items.1.demand: In "bar", the list has 1 of the 2 weeks of the season: write one entry for each week.`},
		"demand below 0":      {"[1, 2]", "[1, -2]", `x.json:6: items.1.demand.2: In "bar", -2 cannot be used: write a whole number from 0 to 1000000.`},
		"penalty without end": {"[3, 2.5]", "[3, 1e999]", `x.json:6: items.1.lostSalePenalty.2: In "bar", 1e999 is too large a number: write a smaller one.`},
		"penalty too large": {"[3, 2.5]", "[3, 1e10]",
			`x.json:6: items.1.lostSalePenalty.2: In "bar", 1e10 cannot be used: write a number from 0 to 1000000000.`},
		"no demand": {`"demand": [1, 2], `, ``,
			`x.json:5: items.1.demand: In "bar", this is missing: write a list of units, one for each week, as "demand": [4, 6, …].`},
		"a component sold": {`"openingCure": []}`, `"demand": [1, 1]}`,
			`x.json:9: items.2.demand: In "wire", a component is not sold, so this says nothing: leave it out.`},
		"cures too long": {`"readyDay": 3`, `"readyDay": 8`,
			`x.json:6: items.1.openingCure.1.readyDay: In "bar", day 8 is after the season's last Monday, day 7, so nothing of it is sold: leave the entry out and take its units off endPositionTarget.`},
		"rack full from before": {`"batches": 1`, `"batches": 5`,
			"x.json:1: rackSlots: What cures at the start (openingCure) takes 5 places on day 0, and the rack has 4: raise rackSlots, or leave out what lies elsewhere."},
		"unknown key": {`"batchMinutes": 40`, `"batchMinute": 40`,
			"x.json:5: items.1.batchMinute: There is no such key; did you mean batchMinutes?; the name of a remark begins with _."},
		"key twice":         {`"weeks": 2`, `"weeks": 2, "weeks": 3`, "x.json:1: weeks: This key is written twice, first in line 1: keep one of the two."},
		"kind of neither":   {`"kind": "component"`, `"kind": "part"`, `x.json:8: items.2.kind: In "wire", "part" cannot be used: write product or component.`},
		"other days a week": {`"weeks": 2`, `"weeks": 2, "daysPerWeek": 5`, "x.json:1: daysPerWeek: 5 cannot be used: write a whole number from 7 to 7"},
	} {
		text := strings.Replace(least, c.old, c.new, 1)
		if text == least {
			t.Errorf("%s: nothing was changed", name)
			continue
		}
		in, err := Read("x.json", []byte(text))
		if err == nil || in != nil {
			t.Errorf("%s: read as %+v", name, in)
			continue
		}
		if got := err.Error(); !strings.Contains(got, c.want) {
			t.Errorf("%s:\n got %s\nwant %s", name, got, c.want)
		}
		for _, e := range fault.All(err) {
			if e.Kind != fault.Invalid || e.File != "x.json" {
				t.Errorf("%s: %+v is no fault of the file", name, e)
			}
		}
	}
}

// All that is wrong is told at once, up to twenty; the rest would not be read.
func TestReadTellsAllAtOnce(t *testing.T) {
	text := strings.NewReplacer(`"count": 2`, `"count": -2`, `"week": 1`, `"week": 9`, `"unitsPerBatch": 3`, `"unitsPerBatch": 0`).Replace(least)
	_, err := Read("x.json", []byte(text))
	if l := fault.All(err); len(l) != 3 {
		t.Errorf("%d faults: %v", len(l), err)
	}
	thousand := strings.TrimSuffix(strings.Repeat("1,", 1000), ",")
	_, err = Read("x.json", []byte(`{"format": "season-plan/1", "weeks": 1, "rackSlots": 1, "moulds": [`+thousand+`]}`))
	if l := fault.All(err); len(l) != 21 || l[20].Error() != "x.json: 982 more faults were found: mend these first." {
		t.Errorf("%d faults", len(l))
	}
}

func TestReadRefusesWhatIsTooMuch(t *testing.T) {
	if _, err := Read("x.json", make([]byte, MaxFileBytes+1)); err == nil || !strings.Contains(err.Error(), "over 64 MiB") {
		t.Error(err)
	}
	if testing.Short() {
		return
	}
	data := []byte(`{"items": [` + strings.Repeat("[],", maxValues) + `[]]}`)
	if _, err := Read("x.json", data); err == nil || !strings.Contains(err.Error(), "more than 3000000 values") {
		t.Error(err)
	}
}

// FuzzRead checks that any bytes are either read or refused with a sentence, that
// what is read can be planned, and that the plan breaks no rule.
func FuzzRead(f *testing.F) {
	f.Add([]byte(least))
	f.Add([]byte("{"))
	f.Add([]byte(strings.Replace(least, "3", "1e3", 1)))
	f.Add([]byte(strings.Repeat("[", 20000)))
	if tiny, err := os.ReadFile("testdata/tiny-1.json"); err == nil {
		f.Add(tiny)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		in, err := Read("x.json", data)
		if err != nil {
			var l fault.List
			if !errors.As(err, &l) || len(l) == 0 {
				t.Fatalf("%T", err)
			}
			for _, e := range l {
				if e.Kind != fault.Invalid || e.Message == "" || strings.ContainsAny(e.Message, "\n") && !strings.ContainsAny(string(data), "\n\\") {
					t.Fatalf("%+v", e)
				}
			}
			return
		}
		if len(in.Items)*len(in.BenchDays) > 2000 {
			return
		}
		if _, broken := Simulate(in, nil); len(broken) > 0 {
			t.Fatalf("the empty plan breaks %v", broken)
		}
		s := NewSearch(in, 1, Pins{})
		s.Expect(500)
		s.Step(500)
		p, cost := s.Best()
		r, broken := Simulate(in, p)
		if len(broken) > 0 || r.Cost.Total() != cost || cost < 0 {
			t.Fatalf("%v breaks %v, cost %g", p, broken, cost)
		}
	})
}
