package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"barwright/planner"
	"barwright/season"
)

const seasonLong = `Season plans what to pour on which bench day over the weeks of a file. It pours
whole batches, within the minutes of each day, the mould sets and the places on
the rack, and makes components ahead. It looks for the plan that costs least, and
proves a bound that no plan can cost less than: the gap between the two is how far
from perfect the plan may be. It reads only the files that are named. With - it
reads the season from standard input.

A season is JSON, at most 64 MiB. A small one:

  {"format": "season-plan/1", "name": "Autumn", "weeks": 4, "rackSlots": 12,
   "moulds": [{"id": "loaf", "count": 2}],
   "benchDays": [{"day": 1, "minutes": 240}, {"day": 8, "minutes": 240}],
   "items": [{"id": "lantern", "kind": "product", "batchUnits": 18,
     "mould": "loaf", "mouldDays": 1, "leadDays": 14, "rackSlots": 2,
     "setupMinutes": 20, "batchMinutes": 80, "setupCost": 4, "batchCost": 3,
     "maxBatchesPerDay": 2, "holdingPerUnitWeek": 0.02, "openingStock": 10,
     "demand": [5, 5, 6, 6], "lostSalePenalty": [6.5, 6.4, 6.3, 6.2]}]}

  day            0 is the Monday of week 0; week 1 begins on day 7
  leadDays       from pour to ready; a product is sold from the next Monday on
  mouldDays      how long a batch holds its mould set; then it holds rackSlots
                 places on the rack until it is ready
  bom            [{"component": ID, "unitsPerBatch": N}]: drawn on the pour day
  openingCure    [{"readyDay": D, "batches": N}]: on the rack at the start
  launch         {"week": W, "stockNeeded": N, "shortPenalty": P}
  safetyStock, safetyPenaltyPerUnitWeek, endPositionTarget, endPositionPenalty

An item of kind component is not sold, and can be used on the day it is ready.
The page docs/season.md of the source lists every key.

--plan takes what you have decided: pours that are fixed exactly, and pours that
are forbidden:

  {"fixed": [{"day": 8, "item": "lantern", "batches": 1}],
   "forbidden": [{"day": 1, "item": "lantern"}]}

--against compares with another plan, such as one that --json printed before.
--explain says what would be missing without each pour. Of what is missing all
the same it says what stands in the way, and what more of that would be worth at
least. This takes some seconds more.

With --seconds one core looks for plans, and the others prove the bound and look
for plans too. Ctrl-C ends the search at any time and prints the best plan so far.
With --moves the work is counted instead: equal seeds and moves give the same
bytes on any machine of a kind, however many cores it has, and seconds is then
printed as 0.

The status is optimal where the bound meets the cost, feasible where the plan
keeps every rule, infeasible where no plan can keep what is fixed, and unknown
where no plan was found in the time.

The exit status is 0; 2 when a file or a flag cannot be read. Then one line on
standard error says where the fault is and what to do, and nothing is printed.`

// What season reads.
var (
	aSeasonFile = source{"a season file", "autumn.json", season.MaxFileBytes, []string{"json"}}
	aPinsFile   = source{"a file of pins", "pins.json", season.MaxFileBytes, []string{"json"}}
	aPlanFile   = source{"a plan that season --json printed", "last.json", season.MaxFileBytes, []string{"json"}}
)

// seasoning are the flags of season.
type seasoning struct {
	effort
	json, explain bool
	pins, against string
}

func (a *App) seasonCommand() *cobra.Command {
	var o seasoning
	c := &cobra.Command{
		Use:   "season INSTANCE.json | -",
		Short: "Plan what to pour on which bench day, and prove how good the plan is",
		Long:  seasonLong,
		Example: `  barwright season autumn.json
  barwright season autumn.json --seconds 60 --explain
  barwright season autumn.json --plan pins.json --against last.json
  barwright season autumn.json --moves 20000000 --seed 7 --json > plan.json`,
		RunE: func(cmd *cobra.Command, args []string) error { return a.season(cmd, args[0], o) },
	}
	aSeasonFile.of(c)
	f := c.Flags()
	f.BoolVar(&o.json, "json", false, "print one JSON object, nothing rounded")
	o.define(f, "10")
	f.StringVar(&o.pins, "plan", "", "keep the pours that `FILE` fixes, and leave out those it forbids")
	f.StringVar(&o.against, "against", "", "compare with the plan in `FILE`")
	f.BoolVar(&o.explain, "explain", false, "say why each pour is there, and what would cure each shortage")
	completes(c, "plan", aPinsFile.complete)
	completes(c, "against", aPlanFile.complete)
	return c
}

// seasonAnswer is a season planned, with what was asked about the plan.
type seasonAnswer struct {
	planner.SeasonPlan
	in      *season.Instance
	pins    season.Pins
	explain bool // whether reasons and missed were asked for
	reasons []season.Reason
	missed  []season.Miss
	against *season.Difference // nil where the plan was compared with none
	breaks  []season.Breach    // of the plan compared with
	name    string             // its file
}

func (a *App) season(cmd *cobra.Command, name string, o seasoning) error {
	flags := cmd.Flags()
	w, err := o.work(flags, 1e12)
	if err != nil {
		return err
	}
	if err := stdinOnce(cmd, name, "plan", "against"); err != nil {
		return err
	}
	in, err := load(a, aSeasonFile, &name, season.Read)
	if err != nil {
		return err
	}
	d := &seasonAnswer{in: in, explain: o.explain}
	if flags.Changed("plan") {
		d.pins, err = load(a, aPinsFile, &o.pins, func(name string, data []byte) (season.Pins, error) { return season.ReadPins(name, data, in) })
		if err != nil {
			return err
		}
	}
	var other season.Plan
	if flags.Changed("against") {
		other, err = load(a, aPlanFile, &o.against, func(name string, data []byte) (season.Plan, error) { return season.ReadPlan(name, data, in) })
		if err != nil {
			return err
		}
	}

	progress, end := a.watching(seasonProgress)
	d.SeasonPlan = planner.Season(cmd.Context(), in, d.pins, w, progress)
	if d.Status.Found() && o.explain {
		d.reasons = season.Why(in, d.Plan)
		d.missed = planner.Misses(cmd.Context(), in, d.pins, d.Plan, w, progress)
	}
	end()
	if d.Status.Found() && flags.Changed("against") {
		diff := season.Compare(in, other, d.Plan)
		_, d.breaks = season.Simulate(in, other)
		d.against, d.name = &diff, o.against
	}
	return a.answer(o.json, func() any { return seasonObject(d) }, func(p *page) { p.season(d) })
}

// seasonProgress says how far a season is, for a terminal.
func seasonProgress(p planner.Progress) string {
	if p.Stage == planner.Asking {
		return fmt.Sprintf("asking what more would be worth, %.0f %%", 100*float64(p.Moves)/float64(max(p.Total, 1)))
	}
	s := fmt.Sprintf("%.0f s, %.1f million moves", p.Elapsed.Seconds(), float64(p.Moves)/1e6)
	if p.Best.Known {
		s += fmt.Sprintf(", best plan %.2f", p.Best.V)
	}
	if gap := p.Gap(); gap.Known {
		s += fmt.Sprintf(", at most %.1f %% from perfect", gap.V)
	}
	return s
}
