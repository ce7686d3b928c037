package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"barwright/benchday"
	"barwright/planner"
)

// What day reads.
var (
	aDayFile = source{"a file of a day", "quillfen-day.json", benchday.MaxFileBytes, []string{"json", "sm", "sch"}}
	aNowFile = source{"a file of where the day stands", "now.json", benchday.MaxFileBytes, []string{"json"}}
)

// daying are the flags of day.
type daying struct {
	effort
	json bool
	from string
}

func (a *App) dayCommand() *cobra.Command {
	var o daying
	c := &cobra.Command{
		Use:   "day INSTANCE | -",
		Short: "Order a day's tasks for one pair of hands, and the rest of a day that runs late",
		Example: `  barwright day quillfen-day.json
  barwright day quillfen-day.json --seconds 60
  barwright day quillfen-day.json --from now.json
  barwright day quillfen-day.json --moves 20000 --seed 7 --json | jq .starts`,
		RunE: func(cmd *cobra.Command, args []string) error { return a.day(cmd, args[0], o) },
	}
	aDayFile.of(c)
	f := c.Flags()
	f.BoolVar(&o.json, "json", false, "print one JSON object, times in minutes of the day")
	o.define(f, "5")
	f.StringVar(&o.from, "from", "", "go on from where the day stands, as this `FILE` says")
	completes(c, "from", aNowFile.complete)
	return c
}

// dayAnswer is a day as it was found, or what is in its way.
type dayAnswer struct {
	planner.DayPlan
	in  *benchday.Instance
	now *benchday.Now // nil for a day that has not begun
}

func (a *App) day(cmd *cobra.Command, name string, o daying) error {
	w, err := o.work(cmd.Flags(), 1e9)
	if err != nil {
		return err
	}
	if err := stdinOnce(cmd, name, "from"); err != nil {
		return err
	}
	d := &dayAnswer{}
	if d.in, err = load(a, aDayFile, &name, benchday.Read); err != nil {
		return err
	}
	if o.from != "" {
		d.now, err = load(a, aNowFile, &o.from, func(name string, data []byte) (*benchday.Now, error) { return benchday.ReadNow(name, data, d.in) })
		if err != nil {
			return err
		}
	}
	progress, end := a.watching(dayProgress)
	if d.now != nil {
		d.DayPlan = planner.Replan(cmd.Context(), d.in, d.now, w, progress)
	} else {
		d.DayPlan = planner.Day(cmd.Context(), d.in, w, progress)
	}
	end()
	return a.answer(o.json, func() any { return dayObject(d) }, func(p *page) { p.day(d) })
}

// dayProgress says how far a day is, for a terminal.
func dayProgress(p planner.Progress) string {
	var s string
	switch {
	case p.Stage == planner.Recalling:
		s = "looking for the plan to go by"
	case p.Stage == planner.Settling:
		s = "looking for the rest that moves least"
	case p.Stage == planner.Explaining:
		s = fmt.Sprintf("no day keeps all of it; looking for the reason among %d rules", p.Rules)
	case p.Best.Known:
		s = fmt.Sprintf("best so far %.0f min, no day below %.0f", p.Best.V, p.Bound.V)
	case p.Bound.Known:
		s = fmt.Sprintf("no day found yet, none below %.0f min", p.Bound.V)
	default:
		s = "looking for the shortest rest"
	}
	return fmt.Sprintf("%s; %.0f s", s, p.Elapsed.Seconds())
}
