package benchday

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"barwright/benchday/daycheck"
	"barwright/fault"
	"barwright/internal/instances"
)

// sound is a day whose file has no error.
const sound = `{"format": "bench-day/1", "name": "x", "unit": "minute",
 "resources": {"hands": 1, "pot": 2},
 "tasks": [
  {"id": "melt", "duration": 21, "needs": {"pot": 1}},
  {"id": "mix", "duration": 8, "needs": {"hands": 1, "pot": 1}}
 ],
 "lags": [
  {"from": "melt", "to": "mix", "min": 21, "max": 66},
  {"from": "START", "to": "mix", "min": 30}
 ],
 "objective": "makespan", "note": "y"}`

func TestWhatIsWrongWithADayGetsASentence(t *testing.T) {
	if in, err := ReadJSON("x.json", []byte(sound)); err != nil || len(in.Tasks) != 2 || len(in.Lags) != 2 ||
		in.Lags[1].From != -1 || in.Lags[1].HasMax || !in.Lags[0].HasMax {
		t.Fatalf("%+v, %v", in, err)
	}
	for _, c := range []struct{ old, new, want string }{
		{sound, "", `x.json: The file is empty: a day has at least "format": "bench-day/1", "resources" and "tasks".`},
		{sound, " \n", `x.json: The file is empty: a day has at least "format": "bench-day/1", "resources" and "tasks".`},
		{sound, "[]", `x.json:1: A day is one object in braces, and this is a list: write at least "format": "bench-day/1", "resources" and "tasks".`},
		{sound, "{", "x.json:1: This is not JSON: the file ends before its brackets and braces are closed, so its end may be missing."},
		{sound, "{} {}", "x.json:1: There is more after the end of the first value: a file holds one object in braces."},
		{sound, "\x00", "x.json:1: There is a zero byte here, so this is not a text file: save it as plain text in UTF-8."},
		{sound, "\xff{}", "x.json:1: This is not UTF-8 text: save the file in UTF-8."},
		{"bench-day/1", "bench-day/2", `x.json:1: format: The text "bench-day/2" cannot be used: write "format": "bench-day/1".`},
		{`"format": "bench-day/1", `, ``, `x.json:1: format: This is missing: write "format": "bench-day/1".`},
		{`"minute"`, `"hour"`, `x.json:1: unit: The text "hour" cannot be used: write "unit": "minute".`},
		{`"makespan"`, `"cost"`, `x.json:11: objective: The text "cost" cannot be used: write "objective": "makespan".`},
		{`"lags"`, `"lag"`, "x.json:7: lag: There is no such key; did you mean lags?"},
		{`"hands": 1, "pot": 2`, `"hands": 1, "pot": -2`, "x.json:2: resources.pot: -2 cannot be used: write a whole number from 0 to 1000000"},
		{`"pot": 2`, `"pot": 2, "pot": 3`, "x.json:2: resources.pot: This key is written twice, first in line 2: keep one of the two."},
		{`"duration": 21`, `"duration": -21`, "x.json:4: tasks.1.duration: -21 cannot be used: write a whole number from 0 to 1000000"},
		{`"duration": 21`, `"duration": 20.5`, "x.json:4: tasks.1.duration: 20.5 cannot be used: write a whole number, such as 21"},
		{`"duration": 21`, `"duration": NaN`, "x.json:4: This is not JSON: 'N' is no part of a number; write one in digits, such as 12 or 0.5."},
		{`"duration": 21`, `"duration": -Infinity`, "x.json:4: This is not JSON: 'I' is no part of a number; write one in digits, such as 12 or 0.5."},
		{`"duration": 21`, `"duration": 1e300`, "x.json:4: tasks.1.duration: 1e300 cannot be used: write a whole number from 0 to 1000000"},
		{`"duration": 21`, `"duration": "21"`, `x.json:4: tasks.1.duration: The text "21" is not a number: write it without quotes, as 21.`},
		{`"duration": 21, `, ``, `x.json:4: tasks.1.duration: This is missing: write its minutes, as "duration": 15.`},
		{`"id": "mix"`, `"id": "melt"`, `x.json:5: tasks.2.id: "melt" is the id of entry 1 already: give each entry its own`},
		{`"id": "mix"`, `"id": "START"`, `x.json:5: tasks.2.id: START is the start of the day itself: give the task another name`},
		{`"id": "mix"`, `"id": ""`, "x.json:5: tasks.2.id: This is empty: write a name of 1 to 100 characters."},
		{`"hands": 1, "pot": 1`, `"hand": 1`, `x.json:5: tasks.2.needs.hand: There is no resource "hand"; did you mean hands?`},
		{`"hands": 1, "pot": 1`, `"hands": -1`, "x.json:5: tasks.2.needs.hands: -1 cannot be used: write a whole number from 0 to 1000000"},
		{`"to": "mix", "min": 21`, `"to": "mixe", "min": 21`, `x.json:8: lags.1.to: There is no task "mixe"; did you mean mix?`},
		{`"from": "melt"`, `"from": "mix"`, `x.json:8: lags.1: A wait leads from one task to another, and not from "mix" to itself.`},
		{`"to": "mix", "min": 30`, `"to": "START", "min": 30`,
			`x.json:9: lags.2.to: Nothing waits for the start of the day: write "from": "START" with a max for a task that must start early.`},
		{`"max": 66`, `"max": 6`, "x.json:8: lags.1.max: The greatest wait of 6 min is below the least of 21: raise max or lower min."},
		{`"min": 21, "max": 66`, `"max": 66`,
			`x.json:8: lags.1.min: This is missing: write the least minutes from start to start (below 0, the task under "to" may start first), as "min": 15.`},
		{`"min": 30`, `"min": 30.5`, "x.json:9: lags.2.min: 30.5 cannot be used: write a whole number, such as 31"},
	} {
		text := strings.Replace(sound, c.old, c.new, 1)
		if text == sound {
			t.Fatalf("%q is not in the day", c.old)
		}
		in, err := Read("x.json", []byte(text))
		if in != nil || err == nil || !strings.HasPrefix(err.Error(), c.want) || len(c.want) > 0 && fault.KindOf(err) != fault.Invalid {
			t.Errorf("%q:\n%v\nwant\n%s", c.new, err, c.want)
		}
	}
	if _, err := Read("x", make([]byte, MaxFileBytes+1)); err == nil || !strings.Contains(err.Error(), "64 MiB") {
		t.Errorf("%v", err)
	}
	if _, err := Read("x.txt", []byte("good morning")); err == nil || !strings.Contains(err.Error(), "none of the forms") {
		t.Errorf("%v", err)
	}
	if _, err := Read("x", []byte(strings.Repeat("[", 100_000))); err == nil || !strings.Contains(err.Error(), "deep") {
		t.Errorf("%v", err)
	}
}

func TestAllFaultsAreToldAtOnceUpToTwenty(t *testing.T) {
	text := strings.ReplaceAll(strings.ReplaceAll(sound, `"duration": `, `"duration": -`), `"min": `, `"min": 0.`)
	_, err := Read("x.json", []byte(text))
	if l := fault.All(err); len(l) != 4 || l[0].Line != 4 || l[1].Line != 5 || l[2].Line != 8 || l[3].Line != 9 {
		t.Errorf("%v", err)
	}
	var b strings.Builder
	for i := range 32 {
		fmt.Fprintf(&b, `{"id": "t%d", "duration": -1},`, i)
	}
	_, err = Read("x.json", []byte(`{"format": "bench-day/1", "resources": {}, "tasks": [`+strings.TrimSuffix(b.String(), ",")+`]}`))
	if l := fault.All(err); len(l) != 21 || l[20].Error() != "x.json: 12 more faults were found: mend these first." {
		t.Errorf("%v", err)
	}
}

// A need above the capacity makes a day impossible; it does not make the file
// bad.
func TestANeedAboveTheCapacityIsAnAnswer(t *testing.T) {
	in, err := Read("x.json", []byte(strings.Replace(sound, `"pot": 2`, `"pot": 0`, 1)))
	if err != nil {
		t.Fatal(err)
	}
	if s := NewSolver(in, Options{}); s.Status() != Infeasible {
		s.Step(1000)
		if s.Status() != Infeasible {
			t.Errorf("status %v", s.Status())
		}
	}
	e := NewExplainer(in, Options{}, 1000)
	e.Step(1000)
	if c := e.Contradiction(); !c.Minimal || len(c.Lags) > 0 || len(c.Groups) != 1 || len(c.Groups[0].Tasks) != 1 {
		t.Errorf("%+v", c)
	}
}

const soundSM = `***
projects : 1
jobs (incl. supersource/sink ): 4
RESOURCES
  - renewable : 1 R
  - nonrenewable : 0 N
***
PRECEDENCE RELATIONS:
jobnr. #modes #successors successors
 1 1 2 2 3
 2 1 1 4
 3 1 1 4
 4 1 0
***
REQUESTS/DURATIONS:
jobnr. mode duration R 1
---
 1 1 0 0
 2 1 3 2
 3 1 5 2
 4 1 0 0
***
RESOURCEAVAILABILITIES:
 R 1
 3
***
`

const soundSCH = "2 1 0 0\n0 1 2 1 2 [0] [0]\n1 1 2 2 3 [-4] [3]\n2 1 1 3 [5]\n3 1 0\n0 1 0 0\n1 1 3 2\n2 1 5 2\n3 1 0 0\n3\n"

func TestResearchFilesAreReadOrRefusedInWords(t *testing.T) {
	for _, c := range []struct{ file, text, old, new, want string }{
		{"x.sm", soundSM, " 2 1 3 2\n", " 2 1 -3 2\n", "x.sm:19: Job 2: -3 cannot be used: durations and needs are 0 or more."},
		{"x.sm", soundSM, " 2 1 3 2\n", " 2 2 3 2\n", "x.sm:19: Job 2 has mode 2: only files with one mode are read."},
		{"x.sm", soundSM, " 2 1 3 2\n", "", "x.sm: Job 2 is missing from the requests and durations."},
		{"x.sm", soundSM, " 2 1 3 2\n", " 2 1 3 2\n 2 1 3 2\n", "x.sm:20: Job 2 stands in line 19 already."},
		{"x.sm", soundSM, " 2 1 3 2\n", " 2 1 x 2\n", `x.sm:19: "2 1 x 2" is not a line of job, mode, duration and needs: whole numbers stand there`},
		{"x.sm", soundSM, " 3 1 1 4\n", " 3 1 1 5\n", "x.sm:12: Job 3 cannot be followed by job 5: the others are from 1 to 4."},
		{"x.sm", soundSM, " 3 1 1 4\n", " 3 1 2 4\n", "x.sm:12: Job 3 names 1 successors, and 2 are counted."},
		{"x.sm", soundSM, "nonrenewable : 0", "nonrenewable : 2",
			"x.sm:6: Resources that are used up are not read: only renewable ones are shared through a day."},
		{"x.sm", soundSM, "jobs (incl", "work (incl", "x.sm:8: The number of jobs should stand above: write jobs (incl. supersource/sink ): 32."},
		{"x.sm", soundSM, " R 1\n 3\n", "", "x.sm: The capacities are missing: they stand below RESOURCEAVAILABILITIES."},
		{"x.sch", soundSCH, "[-4]", "[-4", `x.sch:3: "[-4" is not closed: a lag stands in square brackets, such as [5]`},
		{"x.sch", soundSCH, "[-4] [3]", "[-4]", "x.sch:3: Job 1 counts 2 successors, names 2 and gives 1 lags."},
		{"x.sch", soundSCH, "[-4]", "[x]", `x.sch:3: "x 3" is not a lag: whole numbers stand there`},
		{"x.sch", soundSCH, "1 1 2 2 3", "1 1 2 2 9", "x.sch:3: Job 1 cannot be followed by job 9: the others are from 0 to 3."},
		{"x.sch", soundSCH, "3 1 0 0\n3\n", "3 1 0 0\n",
			`x.sch: 9 lines are filled, and 4 jobs with both dummies have 10: counts, a line of successors each, a line of needs each, capacities`},
		{"x.sch", soundSCH, "2 1 0 0\n", "2000000 1 0 0\n", `x.sch:1: 2000000 cannot be used: numbers here are from -1000000 to 1000000`},
		{"x.sch", soundSCH, "2 1 0 0\n", "2000 1 0 0\n", `x.sch:1: 2000 jobs cannot be used: a day has from 0 to 498 beside the dummies`},
	} {
		if _, err := Read(c.file, []byte(c.text)); err != nil {
			t.Fatal(err)
		}
		text := strings.Replace(c.text, c.old, c.new, 1)
		if text == c.text {
			t.Fatalf("%q is not in the file", c.old)
		}
		if in, err := Read(c.file, []byte(text)); in != nil || err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%q:\n%v\nwant\n%s", c.new, err, c.want)
		}
	}
	// If the name does not say which form it is, the content does.
	if in, err := Read("x", []byte(soundSM)); err != nil || len(in.Lags) != 4 || in.Lags[2].Min != 3 {
		t.Errorf("%+v, %v", in, err)
	}
	if in, err := Read("-", []byte(soundSCH)); err != nil || len(in.Tasks) != 4 || in.Tasks[0].ID != "0" {
		t.Errorf("%+v, %v", in, err)
	}
}

func TestWhereADayStandsIsReadOrRefusedInWords(t *testing.T) {
	in, err := Read("x.json", []byte(sound))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ text, want string }{
		{`{}`, `now.json:1: now: This is missing: write the minute of the day that it is, as "now": 95.`},
		{`{"now": 5.5}`, "now.json:1: now: 5.5 cannot be used: write a whole number, such as 6."},
		{`{"now": 5, "started": {"melt": 6}}`, "now.json:1: started.melt: Minute 6 is after now, 5: leave out what has not come yet, or mend now."},
		{`{"now": 5, "started": {"mlet": 5}}`, `now.json:1: started.mlet: There is no task "mlet"; did you mean melt?`},
		{`{"now": 5, "started": [5]}`, `now.json:1: started: A list cannot be used: write an object in braces, such as "started": {…}.`},
		{`{"now": 5, "started": {"melt": 4}, "finished": {"melt": 3}}`,
			"now.json:1: finished.melt: It ended at minute 3, before it started at 4: mend one of the two."},
		{`{"now": 5, "remaining": {"melt": 3}}`,
			`now.json:1: remaining.melt: No minutes remain of "melt": it has not started, so write its start under started.`},
		{`{"now": 5, "finished": {"melt": 5}, "remaining": {"melt": 3}}`,
			`now.json:1: remaining.melt: No minutes remain of "melt": it has ended, so leave it out.`},
		{`{"now": 5, "end": 3}`, "now.json:1: end: There is no such key: the keys here are now, started, finished, remaining, plan, note."},
		{``, `now.json: The file is empty: a file of where a day stands has at least {"now": 95, "started": {"weigh": 0}}.`},
	} {
		if now, err := ReadNow("now.json", []byte(c.text), in); now != nil || err == nil || err.Error() != c.want {
			t.Errorf("%s:\n%v\nwant\n%s", c.text, err, c.want)
		}
	}
	now, err := ReadNow("now.json", []byte(`{"now": 25, "started": {"melt": 0}, "finished": {"melt": 21}, "plan": {"mix": 30}}`), in)
	if err != nil || now.Minute != 25 || now.Finished[0] != 21 || now.Plan[1] != 30 {
		t.Errorf("%+v, %v", now, err)
	}
}

// Reader and checker read the research files alike: a schedule that one verifies
// is sound to the other, with the same makespan.
func TestSchedulesOfTheReferenceInstancesAreSound(t *testing.T) {
	dir := instances.Planning(t)
	checked := 0
	for glob, read := range map[string]func([]byte) (*daycheck.Day, error){
		"bench/*.json": daycheck.JSON, "psplib/*/*.sm": daycheck.SM, "rcpspmax/*/*.[sS][cC][hH]": daycheck.SCH,
	} {
		files, err := filepath.Glob(filepath.Join(dir, glob))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			b, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			in, err := Read(f, b)
			if err != nil {
				t.Fatal(err)
			}
			d, err := read(b)
			if err != nil {
				t.Fatal(err)
			}
			s := NewSolver(in, Options{Seed: 1})
			s.Step(300)
			best, ok := s.Best()
			if !ok {
				continue
			}
			m, broken := d.Check(byID(in, best))
			if len(broken) > 0 || m != in.Makespan(best) || s.Lower() > m {
				t.Errorf("%s: %d (bound %d), the checker has %d and %v", filepath.Base(f), in.Makespan(best), s.Lower(), m, broken)
			}
			checked++
		}
	}
	if checked < 40 {
		t.Errorf("%d schedules were checked", checked)
	}
}

func fuzzReader(f *testing.F, name string, seeds ...string) {
	for _, s := range seeds {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		in, err := Read(name, data)
		if (in == nil) == (err == nil) {
			t.Fatalf("%v and %v", in, err)
		}
		if err != nil {
			if fault.KindOf(err) != fault.Invalid || strings.TrimSpace(err.Error()) == "" {
				t.Fatalf("%v", err)
			}
			return
		}
		for _, l := range in.Lags {
			if l.From < -1 || l.From >= len(in.Tasks) || l.To < 0 || l.To >= len(in.Tasks) || l.From == l.To || l.HasMax && l.Max < l.Min {
				t.Fatalf("%+v of %d tasks", l, len(in.Tasks))
			}
		}
		for _, k := range in.Tasks {
			if k.Duration < 0 || len(k.Needs) != len(in.Resources) {
				t.Fatalf("%+v of %d resources", k, len(in.Resources))
			}
		}
		if len(in.Tasks) > 30 {
			return
		}
		waits := newModel(&Instance{Tasks: in.Tasks, Lags: in.Lags}, Options{})
		if cycle := cycleOf(in); !waits.tooFar && waits.broken != (cycle != nil) {
			t.Fatalf("neither earliest starts nor a contradiction: %+v", in)
		}
	})
}

func FuzzReadJSON(f *testing.F) { fuzzReader(f, "x.json", sound, `{}`, `{"format": "bench-day/1"}`) }
func FuzzReadSM(f *testing.F)   { fuzzReader(f, "x.sm", soundSM) }
func FuzzReadSCH(f *testing.F)  { fuzzReader(f, "x.sch", soundSCH) }

func FuzzReadNow(f *testing.F) {
	in, err := Read("x.json", []byte(sound))
	if err != nil {
		f.Fatal(err)
	}
	f.Add([]byte(`{"now": 25, "started": {"melt": 0}, "remaining": {"melt": 3}, "plan": {"mix": 30}}`))
	f.Add([]byte(`{"now": 90, "started": {"mix": 9}, "finished": {"melt": 21}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		now, err := ReadNow("now.json", data, in)
		if (now == nil) == (err == nil) {
			t.Fatalf("%v and %v", now, err)
		}
		if err != nil {
			return
		}
		p := NewReplanner(in, now, Options{}, Budget{Plan: 50, Rest: 200, Shift: 50, Trial: 50})
		for !p.Step(50) {
		}
		if r := p.Result(); r.Starts != nil && len(r.Starts) != len(in.Tasks) {
			t.Fatalf("%+v", r)
		}
	})
}
