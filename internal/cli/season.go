package cli

import (
	"context"
	"fmt"
	"math"
	"os"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"barwright/fault"
	"barwright/season"
)

const seasonLong = `Season plans what to pour on which bench day over the weeks of a file: whole
batches, within the minutes of each day, the mould sets and the places on the
rack, with the components that are made ahead. It looks for the plan that costs
least, and proves that no plan can cost less than a bound; between the two lies
how far from perfect the plan may be. It reads the files named and nothing else;
- reads the season from standard input.

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
  mouldDays      so long a batch holds its mould set, then rackSlots till ready
  bom            [{"component": ID, "unitsPerBatch": N}]: drawn on the pour day
  openingCure    [{"readyDay": D, "batches": N}]: on the rack at the start
  launch         {"week": W, "stockNeeded": N, "shortPenalty": P}
  safetyStock, safetyPenaltyPerUnitWeek, endPositionTarget, endPositionPenalty

An item of kind component is not sold, and can be used on its ready day. The
README lists every key.

--plan takes what you have decided: pours that are fixed, exactly so, and pours
that are forbidden:

  {"fixed": [{"day": 8, "item": "lantern", "batches": 1}],
   "forbidden": [{"day": 1, "item": "lantern"}]}

--against compares with another plan, such as one that --json printed before.
--explain says of each pour what would be missing without it, and of what is
missing all the same what stands in the way and what more of it would be worth
at least; that takes some seconds more.

With --seconds one core plans and the others prove and plan; Ctrl-C ends it at
any time and prints the best plan so far. With --moves the work is counted
instead: equal seeds and moves give the same bytes on any machine of a kind,
however many cores it has, and seconds is then printed as 0.

The status is optimal where the bound meets the cost, feasible where the plan
keeps every rule, infeasible where no plan can keep what is fixed, and unknown
where none was found in the time. The exit status is 0; 2 when a file or a flag
cannot be read: then one line on standard error says where and what would do,
and nothing is printed.`

// seasoning are the flags of season.
type seasoning struct {
	json, explain        bool
	seconds, moves, seed string
	pins, against        string
}

const (
	aSeasonFile = "a season file, as autumn.json"
	aPinsFile   = "a file of pins, as pins.json"
	aPlanFile   = "a plan, as season --json prints it"
)

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
		Args: func(cmd *cobra.Command, args []string) error {
			switch len(args) {
			case 1:
				return nil
			case 0:
				return fault.Invalidf("", "no season file is named: write barwright season INSTANCE.json")
			}
			return fault.Invalidf("", "one season file at a time, and %d were named, %q first", len(args), args[0])
		},
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"json"}, cobra.ShellCompDirectiveFilterFileExt
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.season(cmd.Context(), args[0], o, cmd.Flags())
		},
	}
	f := c.Flags()
	f.BoolVar(&o.json, "json", false, "print one JSON object, nothing rounded")
	f.StringVar(&o.seconds, "seconds", "10", "plan for `N` seconds, 0.1 to 86400")
	f.StringVar(&o.moves, "moves", "", "try `N` moves in place of planning by the clock: the same bytes every time")
	f.StringVar(&o.seed, "seed", "1", "begin from `N`: another number looks elsewhere")
	f.StringVar(&o.pins, "plan", "", "keep the pours that `FILE` fixes, and leave out those it forbids")
	f.StringVar(&o.against, "against", "", "compare with the plan in `FILE`")
	f.BoolVar(&o.explain, "explain", false, "say why each pour is there, and what would cure each miss")
	for _, flag := range []string{"plan", "against"} {
		if err := c.RegisterFlagCompletionFunc(flag, c.ValidArgsFunction); err != nil {
			panic(err) // the flags are defined above
		}
	}
	return c
}

// work is how long to plan: for so long, or so many moves.
type work struct {
	time  time.Duration
	moves int64 // above 0 where they count
	seed  uint64
}

func (o *seasoning) work(flags *pflag.FlagSet) (work, error) {
	var l fault.List
	var w work
	if s, err := strconv.ParseFloat(strings.TrimSpace(o.seconds), 64); err != nil || !(s >= 0.1 && s <= 86400) {
		l.Add(fault.Invalidf("--seconds", "%.32q will not do: write seconds from 0.1 to 86400, as 20", o.seconds))
	} else {
		w.time = time.Duration(s * float64(time.Second))
	}
	if flags.Changed("moves") {
		n, err := strconv.ParseInt(strings.TrimSpace(o.moves), 10, 64)
		if err != nil || n < 1 || n > 1e12 {
			l.Add(fault.Invalidf("--moves", "%.32q will not do: write a whole number from 1 to 1000000000000, as 20000000", o.moves))
		}
		if w.moves = n; flags.Changed("seconds") {
			l.Add(fault.Invalidf("--moves", "the work is measured by the clock or by moves: leave --seconds or --moves out"))
		}
	}
	var err error
	if w.seed, err = strconv.ParseUint(strings.TrimSpace(o.seed), 10, 64); err != nil {
		l.Add(fault.Invalidf("--seed", "%.32q will not do: write a whole number, 0 or more", o.seed))
	}
	return w, l.Err()
}

// seasonFile reads a file that may be big, and refuses one that is too big
// before it is read.
func (a *App) seasonFile(name *string, like string) ([]byte, error) {
	if st, err := os.Stat(*name); *name != "-" && err == nil && st.Mode().IsRegular() && st.Size() > season.MaxFileBytes {
		return nil, &fault.Error{Kind: fault.Invalid, File: *name, Message: fmt.Sprintf("the file has %d MiB, and %s has 64 at most: this is another kind of file",
			st.Size()>>20, strings.SplitN(like, ",", 2)[0])}
	}
	data, err := a.readUpTo(*name, like, season.MaxFileBytes)
	if err != nil {
		return nil, err
	}
	if *name == "-" {
		*name = "standard input"
	}
	return data, nil
}

// season answers on standard output.
func (a *App) season(ctx context.Context, name string, o seasoning, flags *pflag.FlagSet) error {
	w, err := o.work(flags)
	if err != nil {
		return err
	}
	stdin := 0
	for _, f := range []string{name, o.pins, o.against} {
		if f == "-" {
			stdin++
		}
	}
	if stdin > 1 {
		return fault.Invalidf("", "standard input can be read once: write all but one of the files named - to disk")
	}
	data, err := a.seasonFile(&name, aSeasonFile)
	if err != nil {
		return err
	}
	in, err := season.Read(name, data)
	if err != nil {
		return err
	}
	var pins season.Pins
	if flags.Changed("plan") {
		if data, err = a.seasonFile(&o.pins, aPinsFile); err != nil {
			return err
		}
		if pins, err = season.ReadPins(o.pins, data, in); err != nil {
			return err
		}
	}
	var other season.Plan
	if flags.Changed("against") {
		if data, err = a.seasonFile(&o.against, aPlanFile); err != nil {
			return err
		}
		if other, err = season.ReadPlan(o.against, data, in); err != nil {
			return err
		}
	}

	begun := time.Now()
	tell := a.progress()
	p := planSeason(ctx, in, pins, w, tell)
	if w.moves == 0 {
		p.seconds = time.Since(begun).Seconds()
	}
	if p.found && o.explain {
		p.reasons = season.Why(in, p.plan)
		p.missed = misses(ctx, in, pins, p, w, tell)
	}
	if p.found && flags.Changed("against") {
		d := season.Compare(in, other, p.plan)
		_, p.breaks = season.Simulate(in, other)
		p.against, p.name = &d, o.against
	}
	tell("")
	var out []byte
	if o.json {
		out, err = seasonObject(in, p, o)
	} else {
		out = seasonTable(in, p, pins, o)
	}
	if err != nil {
		return err
	}
	if _, err := a.Stdout.Write(out); err != nil {
		return &fault.Error{Message: "the answer could not be written", Err: err}
	}
	return nil
}

// planned is a season planned.
type planned struct {
	plan    season.Plan
	found   bool    // plan keeps every rule and pin
	cost    float64 // of plan
	bound   float64 // no plan costs less; at least 0, +Inf where no plan is
	seconds float64 // 0 where moves count
	result  season.Result
	reasons []season.Reason
	missed  []season.Miss
	against *season.Difference
	breaks  []season.Breach // of the plan compared with
	name    string          // its file
}

// near is how near a cost and its bound are where they are the same but for the
// rounding of sums.
const near = 1e-6

func (p *planned) status() string {
	switch {
	case !p.found && math.IsInf(p.bound, 1):
		return "infeasible"
	case !p.found:
		return "unknown"
	case p.cost-p.bound <= near*max(1, p.cost):
		return "optimal"
	}
	return "feasible"
}

// gap is how much dearer than the best the plan is at most, in percent; false
// where the bound is not above 0.
func (p *planned) gap() (float64, bool) {
	if !p.found || !(p.bound > 0) {
		return 0, false
	}
	if p.status() == "optimal" {
		return 0, true
	}
	return 100 * (p.cost/p.bound - 1), true
}

const (
	// restarts is how many searches share the moves where moves count. It does not
	// hang on the machine, and nor does the plan.
	restarts = 2
	// movesARound is how many moves one round of the bound goes with, and
	// leastRounds is how many rounds there are at least, where moves count.
	movesARound = 40_000
	leastRounds = 60
	// step is how many moves are tried between two looks at the clock.
	step = 20_000
)

// planSeason searches and bounds, on as many cores as there are, until the work
// is done or ctx ends.
func planSeason(ctx context.Context, in *season.Instance, pins season.Pins, w work, tell func(string)) *planned {
	begun := time.Now()
	b := &board{in: in, bests: map[int]found{}, moves: map[int]int64{}}
	var jobs []func()
	stop := func() bool { return ctx.Err() != nil }
	if w.moves > 0 {
		for k := range restarts {
			share := w.moves / restarts
			if int64(k) < w.moves%restarts {
				share++
			}
			jobs = append(jobs, func() { b.search(k, season.NewSearch(in, seedOf(w.seed, k), pins), share, time.Time{}, stop) })
		}
		rounds := leastRounds + w.moves/movesARound
		// First, as it takes longest.
		jobs = append([]func(){func() { b.prove(season.NewBound(in, pins), rounds, stop) }}, jobs...)
	} else {
		stop = func() bool { return ctx.Err() != nil || time.Since(begun) >= w.time || b.met() }
		cores := max(2, runtime.GOMAXPROCS(0))
		for k := range cores - 1 {
			jobs = append(jobs, func() {
				b.search(k, season.NewSearch(in, seedOf(w.seed, k), pins), math.MaxInt64, begun.Add(w.time), stop)
			})
		}
		jobs = append(jobs, func() {
			b.prove(season.NewBound(in, pins), math.MaxInt64, stop)
			if runtime.GOMAXPROCS(0) < 2 {
				return // the one core has its search
			}
			// Proved as far as it goes: the core that is free searches too.
			b.search(cores-1, season.NewSearch(in, seedOf(w.seed, cores-1), pins), math.MaxInt64, begun.Add(w.time), stop)
		})
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		queue := make(chan func())
		var wg sync.WaitGroup
		workers := min(len(jobs), max(1, runtime.GOMAXPROCS(0)))
		if w.moves == 0 {
			workers = len(jobs)
		}
		for range workers {
			wg.Go(func() {
				for job := range queue {
					job()
				}
			})
		}
		for _, job := range jobs {
			queue <- job
		}
		close(queue)
		wg.Wait()
	}()
	tick := time.NewTicker(200 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-done:
			return b.planned()
		case <-tick.C:
			tell(b.line(time.Since(begun)))
		}
	}
}

// seedOf is the seed of the k-th search; the first has the maker's own.
func seedOf(seed uint64, k int) uint64 { return seed + uint64(k)*0x9e3779b97f4a7c15 }

// board is where searches and the bound write what they have found.
type board struct {
	in    *season.Instance
	mu    sync.Mutex
	bests map[int]found // by search
	moves map[int]int64
	bound float64
}

type found struct {
	plan season.Plan
	cost float64
}

// search tries moves, or as many as are made by until where it is not zero.
func (b *board) search(k int, s *season.Search, moves int64, until time.Time, stop func() bool) {
	begun := time.Now()
	if until.IsZero() {
		s.Expect(moves)
	}
	for {
		plan, cost := s.Best()
		b.mu.Lock()
		b.bests[k], b.moves[k] = found{plan, cost}, s.Moves()
		b.mu.Unlock()
		left := moves - s.Moves()
		if left <= 0 || stop() {
			return
		}
		s.Step(int(min(left, step)))
		if gone := time.Since(begun); !until.IsZero() && gone > 20*time.Millisecond {
			s.Expect(int64(float64(s.Moves()) * float64(until.Sub(begun)) / float64(gone)))
		}
	}
}

func (b *board) prove(bd *season.Bound, rounds int64, stop func() bool) {
	for more := true; more && rounds > 0 && !stop(); rounds-- {
		more = bd.Step()
		b.mu.Lock()
		b.bound = max(b.bound, bd.Value())
		b.mu.Unlock()
	}
}

// best is the cheapest plan of all searches, of the first where several are.
func (b *board) best() (found, bool) {
	out := found{cost: math.Inf(1)}
	for k := range len(b.bests) {
		if f, ok := b.bests[k]; ok && f.cost < out.cost {
			out = f
		}
	}
	return out, !math.IsInf(out.cost, 1)
}

// met reports that the bound leaves nothing to look for.
func (b *board) met() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	f, ok := b.best()
	return ok && f.cost-b.bound <= near*max(1, f.cost) || math.IsInf(b.bound, 1)
}

func (b *board) planned() *planned {
	b.mu.Lock()
	defer b.mu.Unlock()
	f, ok := b.best()
	p := &planned{plan: f.plan, cost: f.cost, found: ok, bound: b.bound}
	if ok {
		// What is found is played through once more before it is told.
		var broken []season.Breach
		if p.result, broken = season.Simulate(b.in, p.plan); len(broken) > 0 {
			p.found = false
		}
	}
	if !p.found {
		p.plan = nil
	}
	return p
}

// line is how far it is, for a terminal.
func (b *board) line(since time.Duration) string {
	b.mu.Lock()
	defer b.mu.Unlock()
	moves := int64(0)
	for _, n := range b.moves {
		moves += n
	}
	s := fmt.Sprintf("%.0f s, %.1f million moves", since.Seconds(), float64(moves)/1e6)
	if f, ok := b.best(); ok {
		s += fmt.Sprintf(", best plan %.2f", f.cost)
		if b.bound > 0 && !math.IsInf(b.bound, 1) {
			s += fmt.Sprintf(", at most %.1f %% from perfect", max(0, 100*(f.cost/b.bound-1)))
		}
	}
	return s
}

// misses asks what binds, until all is answered or ctx ends.
func misses(ctx context.Context, in *season.Instance, pins season.Pins, p *planned, w work, tell func(string)) []season.Miss {
	q := season.Ask(in, p.plan, pins, w.seed, season.AskMoves)
	for n := 0; ctx.Err() == nil && q.Step(step); n += step {
		if n%(10*step) == 0 {
			tell(fmt.Sprintf("asking what more would be worth, %.0f %%", 100*float64(n)/float64(max(q.Moves(), 1))))
		}
	}
	return q.Misses()
}

// progress writes over one line of standard error where that is a terminal, and
// takes it away for "".
func (a *App) progress() func(string) {
	out := progressOn(a.Stderr)
	if out == nil {
		return func(string) {}
	}
	return func(s string) {
		if s != "" {
			s += "; Ctrl-C stops"
		}
		fmt.Fprint(out, "\r\x1b[K"+s)
	}
}
