package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"strconv"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barwright/benchday"
	"barwright/fault"
	"barwright/internal/words"
)

const dayLong = `Day orders one day's tasks for one pair of hands: the shortest day that keeps
every wait, and how far from the shortest it may be at most. It reads the file,
and the one that --from names, and nothing else; - reads the day from standard
input.

A day is JSON in UTF-8, at most 64 MiB and 500 tasks. The smallest one:

  {
    "format": "bench-day/1",
    "resources": {"hands": 1},
    "tasks": [
      {"id": "weigh", "duration": 15, "needs": {"hands": 1}}
    ]
  }

What else it may hold:

  "name": "lighthouse run",         any text
  "resources": {"hands": 1, "pot": 2},     how many of each there are
  "lags": [                         waits, in whole minutes from start to start
    {"from": "melt", "to": "mix", "min": 21, "max": 66},
    {"from": "START", "to": "courier", "min": 150, "max": 150}
  ]

A task holds what it needs from its start until its duration is over; one that
needs nothing only takes time. A lag says that to starts at least min minutes
after from does, and at most max where there is one; min may be below 0. START
is the start of the day, minute 0. So "starts when the other has ended" is a min
of the other's duration, and "cools no longer than" is a max.

Where no day keeps all of it, that is the answer: waits and shared hands that
contradict each other, and none of them that could be left out.

When the day has begun, --from says where it stands:

  {
    "now": 95,
    "started": {"weigh": 0, "melt": 20, "mix": 88},     minute of each start
    "finished": {"weigh": 19, "melt": 45},              minute of each end
    "remaining": {"mix": 12},                           minutes from now, of what runs
    "plan": {"pour": 100, "clean": 130}                 the starts that you had in mind
  }

All but now may be left out. What has started stays; what runs ends after the
minutes that remain, or else by its duration, and nothing else starts before now.
A longest wait that is broken already, or has to be, is told and let go. Then
comes the shortest rest of the day, and under it the one that moves least from
the plan: yours, or else the day that the same seed finds for the whole file.

For research, PSPLIB's .sm and ProGen/max's .sch files with one mode are read
too; their jobs go by their numbers.

The search goes on for --seconds, and stops as soon as the day is proved the
shortest; Ctrl-C stops it and prints the best so far. With --moves it makes so
many steps instead, and the same seed gives the same answer on any machine.

The exit status is 0, also for a day that is proved impossible; 2 when a file or
a flag cannot be read: then one line on standard error says where and what would
do, and nothing is printed.

A schedule says when, and not how. Lye burns, and hot fat does: Barwright defers
to the supplier's safety data sheet, and work that needs you comes before any
minute of this.`

// daying are the flags of day.
type daying struct {
	json                 bool
	seconds, moves, seed string
	from                 string

	limit time.Duration
	steps int // 0: the clock limits
	rng   uint64
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
		Args: func(cmd *cobra.Command, args []string) error {
			switch len(args) {
			case 1:
				return nil
			case 0:
				return fault.Invalidf("", "no file of a day is named: write barwright day INSTANCE.json")
			}
			return fault.Invalidf("", "one day at a time, and %d were named, %q first", len(args), args[0])
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"json", "sm", "sch"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := o.check(cmd.Flags()); err != nil {
				return err
			}
			return a.day(cmd.Context(), args[0], o)
		},
	}
	f := c.Flags()
	f.BoolVar(&o.json, "json", false, "print one JSON object, times in minutes of the day")
	f.StringVar(&o.seconds, "seconds", "5", "look for so many `SECONDS` at most")
	f.StringVar(&o.moves, "moves", "", "look for `N` steps in place of seconds: the same answer on any machine")
	f.StringVar(&o.seed, "seed", "1", "begin from `N`, a whole number; another one may find another day")
	f.StringVar(&o.from, "from", "", "go on from where the day stands, as this `FILE` says")
	err := c.RegisterFlagCompletionFunc("from", func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
		return []string{"json"}, cobra.ShellCompDirectiveFilterFileExt
	})
	if err != nil {
		panic(err) // the flag is defined above
	}
	return c
}

// check reads the flags.
func (o *daying) check(flags *pflag.FlagSet) error {
	if flags.Changed("seconds") && flags.Changed("moves") {
		return fault.Invalidf("--moves", "the search is limited by seconds or by moves: leave one of the two out")
	}
	s, err := strconv.ParseFloat(o.seconds, 64)
	if err != nil || !(s > 0) || s > 86400 {
		return fault.Invalidf("--seconds", "%.32q will not do: write seconds above 0 and at most 86400, as 5", o.seconds)
	}
	o.limit = time.Duration(s * float64(time.Second))
	if flags.Changed("moves") {
		n, err := strconv.Atoi(o.moves)
		if err != nil || n < 1 || n > 1_000_000_000 {
			return fault.Invalidf("--moves", "%.32q will not do: write a whole number from 1 to 1000000000, as 20000", o.moves)
		}
		o.steps = n
	}
	if o.rng, err = strconv.ParseUint(o.seed, 10, 64); err != nil {
		return fault.Invalidf("--seed", "%.32q will not do: write a whole number, 0 or more, as 1", o.seed)
	}
	return nil
}

const (
	aDayFile = "a file of a day, as quillfen-day.json"
	aNowFile = "a file of where the day stands, as now.json"

	// trialSteps is how many steps one trial of what contradicts what may have.
	trialSteps = 20_000
	// reasonSteps, over the number of tasks, is how many steps all trials together
	// have at least where the day is worked out by moves and not by the clock.
	reasonSteps = 2_000_000
	// dayStep is how many steps are made at most between two looks at the clock.
	dayStep = 100
)

// day answers on standard output.
func (a *App) day(ctx context.Context, name string, o daying) error {
	if name == "-" && o.from == "-" {
		return fault.Invalidf("--from", "standard input can be read once: write one of the two into a file")
	}
	data, err := a.readUpTo(name, aDayFile, benchday.MaxFileBytes)
	if err != nil {
		return err
	}
	if name == "-" {
		name = "standard input"
	}
	in, err := benchday.Read(name, data)
	if err != nil {
		return err
	}
	var now *benchday.Now
	if o.from != "" {
		data, err := a.readUpTo(o.from, aNowFile, benchday.MaxFileBytes)
		if err != nil {
			return err
		}
		from := o.from
		if from == "-" {
			from = "standard input"
		}
		if now, err = benchday.ReadNow(from, data, in); err != nil {
			return err
		}
	}
	w := &watch{ctx: ctx, o: o, begun: time.Now(), pace: pace(len(in.Tasks)), out: progressOn(a.Stderr)}
	var d *dayAnswer
	if now != nil {
		d = w.replan(in, now)
	} else {
		d = w.solve(in)
	}
	w.end()
	if o.steps == 0 {
		d.seconds = float64(time.Since(w.begun).Microseconds()) / 1e6
	}
	var out []byte
	if o.json {
		out, err = dayObject(d)
	} else {
		out = dayTable(d)
	}
	if err != nil {
		return err
	}
	if _, err := a.Stdout.Write(out); err != nil {
		return &fault.Error{Message: "the answer could not be written", Err: err}
	}
	return nil
}

// dayAnswer is a day as it was found, or what is in its way.
type dayAnswer struct {
	in      *benchday.Instance
	now     *benchday.Now // nil for a day that has not begun
	status  benchday.Status
	starts  benchday.Schedule // nil where none was found
	end     int
	lower   int
	seconds float64
	against benchday.Contradiction
	rest    benchday.Replan
}

// watch limits a search by the clock or by its steps, and shows how far it is.
type watch struct {
	ctx   context.Context
	o     daying
	begun time.Time
	pace  int       // steps between two looks at the clock
	out   io.Writer // nil where nobody looks on
	shown time.Time
	wrote bool
}

// pace is how many steps of a day of so many tasks take about a tenth of a
// second: at a thousand tasks that is one.
func pace(tasks int) int {
	return max(1, min(dayStep, 1_500_000/(tasks*tasks+1)))
}

// run steps until the search ends, the share of the time since the beginning is
// over, so many steps are made, or someone stops it.
func (w *watch) run(share float64, steps int, step func(n int) (done bool), say func() string) {
	for made := 0; w.ctx.Err() == nil; {
		n := w.pace
		if w.o.steps > 0 {
			if n = min(n, steps-made); n <= 0 {
				return
			}
		} else if time.Since(w.begun) >= time.Duration(share*float64(w.o.limit)) {
			return
		}
		made += n
		if step(n) {
			return
		}
		if w.out != nil && time.Since(w.shown) > 200*time.Millisecond {
			w.shown, w.wrote = time.Now(), true
			fmt.Fprintf(w.out, "\r\x1b[K%s; %.0f s, Ctrl-C stops", say(), time.Since(w.begun).Seconds())
		}
	}
}

// end takes the line of progress away.
func (w *watch) end() {
	if w.wrote {
		fmt.Fprint(w.out, "\r\x1b[K")
	}
}

// progressOn is where a line of progress goes: a terminal, or nowhere.
func progressOn(w io.Writer) io.Writer {
	if f, ok := w.(*os.File); ok {
		if st, err := f.Stat(); err == nil && st.Mode()&os.ModeCharDevice != 0 && st.Mode()&os.ModeDevice != 0 && f.Name() != os.DevNull {
			return f
		}
	}
	return nil
}

func (w *watch) trial() int {
	if w.o.steps > 0 {
		return min(w.o.steps, trialSteps)
	}
	return trialSteps
}

func (w *watch) solve(in *benchday.Instance) *dayAnswer {
	s := benchday.NewSolver(in, benchday.Options{Seed: w.o.rng})
	w.run(1, w.o.steps, s.Step, func() string {
		if best, ok := s.Best(); ok {
			return fmt.Sprintf("best so far %d min, no day below %d", in.Makespan(best), s.Lower())
		}
		return fmt.Sprintf("no day found yet, none below %d min", s.Lower())
	})
	d := &dayAnswer{in: in, status: s.Status(), lower: s.Lower()}
	if best, ok := s.Best(); ok {
		d.starts, d.end = best, in.Makespan(best)
	}
	if d.status == benchday.Infeasible {
		// What is known to be impossible deserves its reason: as long again.
		e := benchday.NewExplainer(in, benchday.Options{Seed: w.o.rng}, w.trial())
		begun := w.begun
		w.begun, w.o.limit = time.Now(), max(w.o.limit, time.Second)
		// By moves, so many of them that a small day comes down to its last rule.
		most := 1 << 30
		if w.o.steps > 0 {
			most = max(w.o.steps, reasonSteps/max(len(in.Tasks), 1))
		}
		w.run(1, most, e.Step, func() string {
			c := e.Contradiction()
			return fmt.Sprintf("no day keeps all of it; looking for the reason among %d rules", len(c.Lags)+len(c.Groups))
		})
		w.begun = begun
		d.against = e.Contradiction()
	}
	return d
}

func (w *watch) replan(in *benchday.Instance, now *benchday.Now) *dayAnswer {
	n := w.o.steps
	if n == 0 {
		n = 1 << 30
	}
	r := benchday.NewReplanner(in, now, benchday.Options{Seed: w.o.rng}, benchday.Budget{Plan: n, Rest: n, Shift: n, Trial: w.trial()})
	// By the clock: the plan a quarter, the shortest rest up to three, the shift the last.
	// A part that only lets go of one wait after another has to the end, and no longer.
	rounds := 0
	for r.Phase() < 3 && rounds < 3 {
		at := r.Phase()
		share := [...]float64{0.25, 0.75, 1}[at]
		if at == 1 {
			if rounds++; rounds > 1 {
				share = 1
			}
		}
		w.run(share, 1<<30, func(k int) bool { return r.Step(k) || r.Phase() != at }, func() string {
			return [...]string{"looking for the plan to go by", "looking for the shortest rest", "moving as little as can be"}[at]
		})
		if r.Phase() == at {
			r.Next()
		}
	}
	res := r.Result()
	return &dayAnswer{in: in, now: now, status: res.Status, lower: res.Lower, starts: res.Starts, end: res.Makespan, against: res.Contradiction, rest: res}
}

// lagWords says a wait as one would.
func lagWords(in *benchday.Instance, l benchday.Lag) string {
	to, from := in.TaskID(l.To), in.TaskID(l.From)
	lo, hi := l.Min, l.Max
	if l.From < 0 {
		switch {
		case l.HasMax && lo == hi:
			return fmt.Sprintf("%s must start at minute %d", to, lo)
		case l.HasMax && lo <= 0:
			return fmt.Sprintf("%s must start by minute %d", to, hi)
		case l.HasMax:
			return fmt.Sprintf("%s must start from minute %d to minute %d", to, lo, hi)
		}
		return fmt.Sprintf("%s must not start before minute %d", to, lo)
	}
	after, before := "after "+from, "before "+from
	switch {
	case l.HasMax && lo == hi && lo == 0:
		return fmt.Sprintf("%s must start together with %s", to, from)
	case l.HasMax && lo == hi && lo > 0:
		return fmt.Sprintf("%s must start exactly %d min %s", to, lo, after)
	case l.HasMax && lo == hi:
		return fmt.Sprintf("%s must start exactly %d min %s", to, -lo, before)
	case l.HasMax && lo >= 0:
		return fmt.Sprintf("%s must wait at least %d min %s and at most %d", to, lo, after, hi)
	case l.HasMax && hi >= 0:
		return fmt.Sprintf("%s may start at most %d min %s, and at most %d after it", to, -lo, before, hi)
	case l.HasMax:
		return fmt.Sprintf("%s must start at least %d min %s and at most %d", to, -hi, before, -lo)
	case lo >= 0:
		return fmt.Sprintf("%s must wait at least %d min %s", to, lo, after)
	}
	return fmt.Sprintf("%s may start at most %d min %s", to, -lo, before)
}

// groupWords says that tasks cannot share what there is.
func groupWords(in *benchday.Instance, g benchday.Group) string {
	r := in.Resources[g.Resource]
	there := fmt.Sprintf("there are %d", r.Capacity)
	switch r.Capacity {
	case 0:
		there = "there is none"
	case 1:
		there = "there is 1"
	}
	if len(g.Tasks) == 1 {
		t := in.Tasks[g.Tasks[0]]
		return fmt.Sprintf("%s needs %d of %s, and %s", t.ID, t.Needs[g.Resource], r.ID, there)
	}
	var ids []string
	for _, i := range g.Tasks {
		id := in.Tasks[i].ID
		if n := in.Tasks[i].Needs[g.Resource]; n > 1 {
			id += fmt.Sprintf(" (%d of it for %d min)", n, in.Tasks[i].Duration)
		} else {
			id += fmt.Sprintf(" (%d min)", in.Tasks[i].Duration)
		}
		ids = append(ids, id)
	}
	return fmt.Sprintf("of %s %s, and %s share it", r.ID, there, words.List(ids))
}
