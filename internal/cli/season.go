package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"barwright/planner"
	"barwright/season"
)

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
