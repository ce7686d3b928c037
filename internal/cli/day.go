package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"barwright/benchday"
	"barwright/planner"
)

const dayLong = `Day puts one day's tasks in order for one pair of hands: it looks for the shortest
day that keeps every wait, and says how far from the shortest it may be at most.
It reads only the file and the one that --from names. With - it reads the day
from standard input.

A day is JSON in UTF-8, at most 64 MiB and 500 tasks. The smallest one:

  {
    "format": "bench-day/1",
    "resources": {"hands": 1},
    "tasks": [
      {"id": "weigh", "duration": 15, "needs": {"hands": 1}}
    ]
  }

It may also hold:

  "name": "lighthouse run",         any text
  "resources": {"hands": 1, "pot": 2},     how many of each there are
  "lags": [                         waits, in whole minutes from start to start
    {"from": "melt", "to": "mix", "min": 21, "max": 66},
    {"from": "START", "to": "courier", "min": 150, "max": 150}
  ]

A task holds what it needs from its start until its duration is over; a task that
needs nothing only takes time. A lag says that the task "to" starts at least min
minutes after the task "from" does, and at most max where there is a max; min may
be below 0. START is the start of the day, minute 0. So "starts when the other has
ended" is a min of the other's duration, and "cools no longer than" is a max.

Where no day can keep all of it, the answer says which waits and shared hands
contradict each other, and leaves out those that do not matter.

When the day has begun, --from says where it stands:

  {
    "now": 95,
    "started": {"weigh": 0, "melt": 20, "mix": 88},     minute of each start
    "finished": {"weigh": 19, "melt": 45},              minute of each end
    "remaining": {"mix": 12},                           minutes from now, of what runs
    "plan": {"pour": 100, "clean": 130}                 the starts that you had in mind
  }

Everything but now may be left out. What has started stays where it is. What is
running ends after the minutes that remain, or else after its duration, and
nothing else starts before now. If a longest wait is broken already, or has to be,
day says so and lets it go. It then looks for the shortest rest of the day, and
among those for the one that moves least from the plan: yours, or else the day
that the same seed finds for the whole file.

For research, day also reads PSPLIB's .sm and ProGen/max's .sch files with one
mode. Their jobs are called by their numbers.

The search goes on for --seconds, and stops as soon as the day is proved the
shortest. Ctrl-C stops it and prints the best day so far. With --moves it tries so
many moves instead, and the same seed gives the same answer on any machine.

The exit status is 0, also for a day that is proved impossible; 2 when a file or a
flag cannot be read. Then one line on standard error says where the fault is and
what to do, and nothing is printed.

A schedule says when, and not how. Lye burns, and so does hot fat: Barwright
defers to the supplier's safety data sheet, and work that needs you comes before
any minute of this.`

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
		Long:  dayLong,
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
