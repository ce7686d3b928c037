package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"barwright/planner"
	"barwright/season"
	"barwright/season/seasoncheck"
)

const quillfen = "../../examples/quillfen-season.json"

// What is printed for programs is what the checker, which shares no code with
// the planner, finds in the plan; with pins and without, by moves and by the clock.
func TestSeasonPrintsWhatTheCheckerFinds(t *testing.T) {
	data, err := os.ReadFile(quillfen)
	if err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"--moves", "200000"},
		{"--moves", "200000", "--seed", "9", "--plan", "../../examples/quillfen-pins.json"},
		{"--seconds", "0.3"},
		{"--moves", "1"},
	} {
		status, out, errs := run(t, "", append([]string{"season", "--json", quillfen}, args...)...)
		if status != Done || errs != "" {
			t.Fatalf("%v: %d %s", args, status, errs)
		}
		var r struct {
			Format, Status string
			Cost           float64
			LowerBound     float64  `json:"lower_bound"`
			GapPct         *float64 `json:"gap_pct"`
			Seconds        float64
		}
		if err := json.Unmarshal([]byte(out), &r); err != nil {
			t.Fatal(err)
		}
		cost, broken, err := seasoncheck.Check(data, []byte(out))
		if err != nil || len(broken) > 0 || math.Abs(cost-r.Cost) > 1e-6 {
			t.Errorf("%v: printed %g, the checker %g, breaks %v, %v", args, r.Cost, cost, broken, err)
		}
		if r.Format != season.ResultFormat || r.Status != "feasible" || r.LowerBound > r.Cost || (r.Seconds == 0) != (args[0] == "--moves") {
			t.Errorf("%v: %+v", args, r)
		}
		switch {
		case r.LowerBound > 0 && (r.GapPct == nil || math.Abs(*r.GapPct-100*(r.Cost/r.LowerBound-1)) > 1e-9):
			t.Errorf("%v: gap %v of %g over %g", args, r.GapPct, r.Cost, r.LowerBound)
		case r.LowerBound <= 0 && r.GapPct != nil:
			t.Errorf("%v: a gap of %g where nothing is proved", args, *r.GapPct)
		}
	}
}

// A page that asks the planner gets what the command prints.
func TestSeasonPrintsWhatThePlannerGives(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped with -short: it takes long under the race detector, which sees the same goroutines in the other tests")
	}
	data, err := os.ReadFile(quillfen)
	if err != nil {
		t.Fatal(err)
	}
	in, err := season.Read(quillfen, data)
	if err != nil {
		t.Fatal(err)
	}
	_, out, _ := run(t, "", "season", "--json", "--explain", quillfen, "--moves", "100000", "--seed", "5")
	w := planner.Work{Moves: 100_000, Seed: 5}
	p := planner.Season(t.Context(), in, season.Pins{}, w, nil)
	missed := planner.Misses(t.Context(), in, season.Pins{}, p.Plan, w, nil)
	var r struct {
		Status     string
		Cost       float64
		LowerBound float64 `json:"lower_bound"`
		GapPct     float64 `json:"gap_pct"`
		Plan       []season.Pour
		Misses     []struct {
			WorthAtLeast float64 `json:"worth_at_least"`
		}
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	if r.Status != p.Status.String() || r.Cost != p.Best.V || r.LowerBound != p.Bound.V || r.GapPct != p.Gap().V || len(r.Plan) != len(p.Plan) {
		t.Errorf("printed %+v, planned %v %+v", r, p.Status, p.Reach)
	}
	for i, x := range p.Plan {
		if r.Plan[i].Day != x.Day || r.Plan[i].Batches != x.Batches {
			t.Errorf("printed %+v, planned %+v", r.Plan[i], x)
		}
	}
	if len(r.Misses) != len(missed) || len(missed) == 0 {
		t.Fatalf("%d misses were printed, and %d found", len(r.Misses), len(missed))
	}
	for i, m := range missed {
		if r.Misses[i].WorthAtLeast != m.WorthAtLeast {
			t.Errorf("printed %+v, found %+v", r.Misses[i], m)
		}
	}
}

// Ctrl-C prints the best so far, with status 0.
func TestSeasonStopsWhenAsked(t *testing.T) {
	for _, args := range [][]string{{"--seconds", "3600"}, {"--moves", "900000000000"}, {"--seconds", "3600", "--explain"}} {
		ctx, stop := context.WithTimeout(context.Background(), 300*time.Millisecond)
		var out, errs bytes.Buffer
		begun := time.Now()
		status := App{Version: "test", Stdin: strings.NewReader(""), Stdout: &out, Stderr: &errs}.Run(ctx, append([]string{"season", quillfen}, args...))
		stop()
		if status != Done || errs.Len() > 0 || !strings.Contains(out.String(), "This plan costs ") {
			t.Errorf("%v: status %d, %s%s", args, status, errs.String(), out.String())
		}
		if gone := time.Since(begun); gone > 20*time.Second {
			t.Errorf("%v: it took %s to stop", args, gone)
		}
	}
}

func TestSeasonFitsATerminal(t *testing.T) {
	_, out, errs := run(t, "", "season", quillfen, "--moves", "100000", "--plan", "../../examples/quillfen-pins.json")
	if errs != "" {
		t.Fatal(errs)
	}
	for _, l := range strings.Split(out, "\n") {
		if utf8.RuneCountInString(l) > width || strings.TrimRight(l, " ") != l {
			t.Errorf("%d letters: %q", utf8.RuneCountInString(l), l)
		}
	}
}

// What pins rule out, though no pin alone contradicts the season, is told as
// infeasible or unknown, and no plan is printed that breaks them.
func TestSeasonWhosePinsCannotHold(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return p
	}
	// The two lamps that day 7 needs each fit on day 0, but not together: their
	// batches want 50 of 60 minutes apiece.
	in := write("in.json", `{"format": "season-plan/1", "weeks": 3, "rackSlots": 9, "moulds": [{"id": "loaf", "count": 9}],
 "benchDays": [{"day": 0, "minutes": 60}, {"day": 7, "minutes": 200}], "items": [
 {"id": "bar", "kind": "product", "batchUnits": 9, "mould": "loaf", "mouldDays": 1, "leadDays": 3, "batchMinutes": 10, "maxBatchesPerDay": 1,
  "demand": [1, 1, 1],
  "lostSalePenalty": [3, 3, 3], "bom": [{"component": "red", "unitsPerBatch": 1}, {"component": "blue", "unitsPerBatch": 1}]},
 {"id": "red", "kind": "component", "batchUnits": 9, "mould": "loaf", "mouldDays": 1, "leadDays": 2, "batchMinutes": 50, "maxBatchesPerDay": 1},
 {"id": "blue", "kind": "component", "batchUnits": 9, "mould": "loaf", "mouldDays": 1, "leadDays": 2, "batchMinutes": 50, "maxBatchesPerDay": 1}]}`)
	pins := write("pins.json", `{"fixed": [{"day": 7, "item": "bar", "batches": 1}]}`)
	status, out, errs := run(t, "", "season", in, "--plan", pins, "--moves", "20000", "--json", "--explain")
	var r struct {
		Status string
		Cost   *float64
		Plan   []any
		Why    []any
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil || status != Done || errs != "" {
		t.Fatalf("%v %d %s", err, status, errs)
	}
	if r.Status != "infeasible" && r.Status != "unknown" || r.Cost != nil || len(r.Plan) > 0 || r.Plan == nil || r.Why == nil {
		t.Errorf("%s", out)
	}
	if _, out, _ := run(t, "", "season", in, "--plan", pins, "--moves", "20000"); !strings.Contains(out, "take one of the") {
		t.Errorf("%s", out)
	}
}

func TestSeasonRefusesAnotherKindOfFile(t *testing.T) {
	big := filepath.Join(t.TempDir(), "big.json")
	f, err := os.Create(big)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Truncate(100 << 20); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	status, out, errs := run(t, "", "season", big)
	if status != Refused || out != "" || !strings.Contains(errs, "The file has 100 MiB, and a season file may have 64 MiB at most.") {
		t.Errorf("%d %s%s", status, out, errs)
	}
}
