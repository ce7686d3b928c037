package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"barwright/benchday"
	"barwright/benchday/daycheck"
	"barwright/internal/instances"
	"barwright/planner"
)

type dayJSON struct {
	Status     string
	Makespan   *int
	LowerBound *int `json:"lower_bound"`
	Seconds    float64
	Starts     map[string]int
	Conflict   []map[string]any
	Shift      *int
}

func ordered(t *testing.T, args ...string) (dayJSON, string) {
	t.Helper()
	status, out, errs := run(t, "", append([]string{"day", "--json"}, args...)...)
	if status != Done || errs != "" {
		t.Fatalf("status %d, %s", status, errs)
	}
	var d dayJSON
	if err := json.Unmarshal([]byte(out), &d); err != nil {
		t.Fatal(err)
	}
	return d, out
}

// The checker reads file and answer by itself.
func TestTheDayThatIsPrintedKeepsEveryRule(t *testing.T) {
	const file = "../../examples/quillfen-day.json"
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	day, err := daycheck.JSON(b)
	if err != nil {
		t.Fatal(err)
	}
	for _, seed := range []string{"0", "1", "7"} {
		d, out := ordered(t, file, "--moves", "3000", "--seed", seed)
		m, broken := day.Check(d.Starts)
		if len(broken) > 0 || d.Makespan == nil || *d.Makespan != m || d.LowerBound == nil || *d.LowerBound > m || d.Seconds != 0 {
			t.Errorf("seed %s: %v\n%s", seed, broken, out)
		}
		got := keys(t, json.NewDecoder(strings.NewReader(out)))
		if !strings.HasPrefix(got, "{status, makespan, lower_bound, seconds, starts{lay-out, weigh-white, ") || !strings.HasSuffix(got, "}, conflict[]}") {
			t.Errorf("keys %s", got)
		}
	}
}

// A page that asks the planner gets what the command prints, of a whole day and of
// the rest of one.
func TestDayPrintsWhatThePlannerGives(t *testing.T) {
	const file, from = "../../examples/quillfen-day.json", "../../examples/quillfen-now.json"
	read := func(name string) []byte {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	in, err := benchday.Read(file, read(file))
	if err != nil {
		t.Fatal(err)
	}
	now, err := benchday.ReadNow(from, read(from), in)
	if err != nil {
		t.Fatal(err)
	}
	w := planner.Work{Moves: 9000, Seed: 4}
	for _, c := range []struct {
		want planner.DayPlan
		args []string
	}{
		{planner.Day(t.Context(), in, w, nil), nil},
		{planner.Replan(t.Context(), in, now, w, nil), []string{"--from", from}},
	} {
		d, out := ordered(t, append([]string{file, "--moves", "9000", "--seed", "4"}, c.args...)...)
		if d.Status != c.want.Status.String() || d.Makespan == nil || *d.Makespan != c.want.End || d.LowerBound == nil || *d.LowerBound != c.want.Lower ||
			len(d.Starts) != len(in.Tasks) || (d.Shift != nil) != (c.args != nil) || d.Shift != nil && *d.Shift != c.want.Rest.Shift {
			t.Errorf("%+v\n%s", c.want, out)
		}
		for i, at := range c.want.Starts {
			if got, ok := d.Starts[in.TaskID(i)]; !ok || got != at {
				t.Errorf("%s starts at %d, printed %d", in.TaskID(i), at, got)
			}
		}
	}
}

// A late day in which a hundred promises contradict each other lets go of one
// after another, and stops when its time is over.
func TestAReplanThatLetsGoOfWaitsKeepsItsTime(t *testing.T) {
	var tasks, lags []string
	for i := range 250 {
		tasks = append(tasks, fmt.Sprintf(`{"id": "t%d", "duration": 5, "needs": {"hands": 1}}`, i))
		lags = append(lags, fmt.Sprintf(`{"from": "START", "to": "t%d", "min": %d, "max": %d}`, i, 3*i, 3*i+100))
	}
	dir := t.TempDir()
	day, now := filepath.Join(dir, "day.json"), filepath.Join(dir, "now.json")
	text := `{"format": "bench-day/1", "resources": {"hands": 1}, "tasks": [` + strings.Join(tasks, ", ") + `], "lags": [` + strings.Join(lags, ", ") + `]}`
	for name, text := range map[string]string{day: text, now: `{"now": 60, "started": {"t0": 0}, "finished": {"t0": 30}}`} {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	begun := time.Now()
	d, out := ordered(t, day, "--from", now, "--seconds", "0.5")
	most := 8 * time.Second // 150 s where letting go went on
	if testing.Short() {
		most = 40 * time.Second // under the race detector everything takes ten times as long
	}
	if took := time.Since(begun); took > most {
		t.Errorf("%v for half a second", took)
	}
	if d.Status != "unknown" && d.Status != "feasible" && d.Status != "optimal" || !strings.Contains(out, `"relaxed": [`) {
		t.Errorf("%s", out[:min(len(out), 400)])
	}
}

func TestTheReferenceDaysAreOrderedInSeconds(t *testing.T) {
	dir := instances.Planning(t)
	// Makespans at most those known, from the results that come with the instances.
	for name, best := range map[string]int{"bench-x": 183, "bench-y": 248} {
		d, out := ordered(t, filepath.Join(dir, "bench", name+".json"), "--moves", "60000")
		if d.Makespan == nil || *d.Makespan > best {
			t.Errorf("%s: want %d\n%s", name, best, out)
		}
	}
}

func TestTheStripFitsATerminal(t *testing.T) {
	for _, args := range [][]string{
		{"day", "../../examples/quillfen-day.json", "--moves", "2000"},
		{"day", "../../examples/quillfen-day.json", "--moves", "2000", "--from", "../../examples/quillfen-now.json"},
	} {
		_, out, _ := run(t, "", args...)
		if len(out) < 1000 {
			t.Fatalf("%s", out)
		}
		for line := range strings.Lines(out) {
			line = strings.TrimRight(line, "\n")
			if n := utf8.RuneCountInString(line); n > width || strings.HasSuffix(line, " ") || strings.ContainsAny(line, "\t\u00a0") {
				t.Errorf("%d characters: %q", n, line)
			}
		}
	}
	// A long day, many of one resource, and names that are too long for a line.
	for _, text := range []string{
		`{"format": "bench-day/1", "resources": {"a very long name of a resource": 2, "cups": 40}, "tasks": [
			{"id": "a", "duration": 900000, "needs": {"cups": 12, "a very long name of a resource": 2}}, {"id": "b", "duration": 7, "needs": {"cups": 3}}]}`,
		`{"format": "bench-day/1", "resources": {}, "tasks": [{"id": "a", "duration": 0}]}`,
		`{"format": "bench-day/1", "resources": {"hands": 0}, "tasks": [{"id": "a", "duration": 1}]}`,
	} {
		status, out, errs := run(t, text, "day", "-", "--moves", "100")
		if status != Done || errs != "" {
			t.Fatalf("status %d, %s", status, errs)
		}
		for line := range strings.Lines(out) {
			if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > width {
				t.Errorf("%d characters: %q", n, line)
			}
		}
	}
}

// A search that someone stops prints what it has.
func TestStoppedEarlyADayIsPrintedAllTheSame(t *testing.T) {
	// Ninety tasks on three resources: more than can be proved in the time.
	rng := rand.New(rand.NewPCG(6, 1))
	var tasks, lags []string
	for i := range 90 {
		tasks = append(tasks, fmt.Sprintf(`{"id": "t%d", "duration": %d, "needs": {"a": %d, "b": %d, "c": %d}}`,
			i, 1+rng.IntN(10), rng.IntN(7), rng.IntN(7), rng.IntN(7)))
		if i > 8 {
			lags = append(lags, fmt.Sprintf(`{"from": "t%d", "to": "t%d", "min": %d}`, i-1-rng.IntN(8), i, rng.IntN(12)))
		}
	}
	text := `{"format": "bench-day/1", "resources": {"a": 10, "b": 10, "c": 10},
		"tasks": [` + strings.Join(tasks, ",") + `], "lags": [` + strings.Join(lags, ",") + `]}`
	ctx, stop := context.WithTimeout(t.Context(), 400*time.Millisecond)
	defer stop()
	begun := time.Now()
	var out, errs bytes.Buffer
	status := App{Stdin: strings.NewReader(text), Stdout: &out, Stderr: &errs}.Run(ctx, []string{"day", "-", "--json", "--seconds", "600"})
	if status != Done || errs.Len() > 0 || time.Since(begun) > 30*time.Second ||
		!strings.Contains(out.String(), `"status": "feasible"`) || !strings.Contains(out.String(), `"t0": `) {
		t.Errorf("status %d after %v, %s\n%.300s", status, time.Since(begun), errs.String(), out.String())
	}
}

func TestWaitsAreSaidAsOneWould(t *testing.T) {
	in := &benchday.Instance{Tasks: []benchday.Task{{ID: "lye"}, {ID: "mix"}}}
	for _, c := range []struct {
		from, least, most int // most 999 is none
		want              string
	}{
		{0, 28, 999, "mix must wait at least 28 min after lye"},
		{0, 28, 90, "mix must wait at least 28 min after lye and at most 90"},
		{0, 0, 0, "mix must start together with lye"},
		{0, 9, 9, "mix must start exactly 9 min after lye"},
		{0, -9, -9, "mix must start exactly 9 min before lye"},
		{0, -9, 999, "mix may start at most 9 min before lye"},
		{0, -9, 4, "mix may start at most 9 min before lye, and at most 4 after it"},
		{0, -9, -4, "mix must start at least 4 min before lye and at most 9"},
		{-1, 150, 150, "mix must start at minute 150"},
		{-1, 0, 150, "mix must start by minute 150"},
		{-1, 90, 150, "mix must start from minute 90 to minute 150"},
		{-1, 90, 999, "mix must not start before minute 90"},
	} {
		l := benchday.Lag{From: c.from, To: 1, Min: c.least}
		if c.most != 999 {
			l.Max, l.HasMax = c.most, true
		}
		if got := lagWords(in, l); got != c.want {
			t.Errorf("%+v: %q, want %q", c, got, c.want)
		}
	}
}
