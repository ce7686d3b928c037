// Package planner looks for an answer and proves how good it is, side by side: a
// season's plan and its bound, a bench day's order, and the rest of a day that
// runs late.
//
// The searches themselves are in the packages season and benchday. They are
// stepped by their caller and know no clock. This package is that caller. It
// shares the work out over the cores, looks at the clock, stops when it is told
// to, and says how far it is. Values go in and values come out: it reads no
// files and prints nothing, so a page and a command can both use it.
//
// Every function here ends by itself when its Work is done, and ends early, with
// the best that it has found so far, when its context ends.
package planner

import (
	"context"
	"math"
	"sync"
	"sync/atomic"
	"time"

	"barwright/quantity"
)

// Work says how long to look, and where to begin.
//
// Where Moves is above 0, the work is counted in moves and Time is not used.
// Equal moves and seeds then give equal answers on any machine of a kind,
// whatever the number of its cores. Otherwise the clock ends the work after Time.
type Work struct {
	Time  time.Duration
	Moves int64
	// Seed chooses among what is equally good: another seed looks elsewhere.
	Seed uint64
}

// byClock reports that the clock ends the work.
func (w Work) byClock() bool { return w.Moves <= 0 }

// Status says what is known of the answer.
type Status uint8

const (
	// Unknown: no answer was found, and it is not proved that there is none.
	Unknown Status = iota
	// Feasible: an answer that keeps every rule was found. A better one may exist.
	Feasible
	// Optimal: an answer was found, and it is proved that none is better.
	Optimal
	// Infeasible: it is proved that no answer keeps every rule.
	Infeasible
)

var statusWords = [...]string{Unknown: "unknown", Feasible: "feasible", Optimal: "optimal", Infeasible: "infeasible"}

// String is the word for the status that JSON uses.
func (s Status) String() string { return statusWords[s] }

// MarshalText writes the word.
func (s Status) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Found reports that there is an answer.
func (s Status) Found() bool { return s == Feasible || s == Optimal }

// Reach says how near an answer is to the best that there can be. A season is
// measured by its cost in the studio's currency, a day by the minute at which it
// ends; less is better.
type Reach struct {
	Best  quantity.Maybe // of the best answer found; unknown where none was found
	Bound quantity.Maybe // no answer lies below it; unknown where nothing is proved, or where no answer can exist
}

// near is how near the best and its bound are, relative to the best, where they
// differ by no more than the rounding of sums.
const near = 1e-6

// met reports that the bound leaves nothing better to look for.
func (r Reach) met() bool {
	return r.Best.Known && r.Bound.Known && r.Best.V-r.Bound.V <= near*max(1, r.Best.V)
}

// Gap is by how many percent the best answer lies above the bound, and so above
// any better answer at most. It is unknown where no answer was found or where
// the bound is not above 0.
func (r Reach) Gap() quantity.Maybe {
	switch {
	case !r.Best.Known || !(r.Bound.Or(0) > 0):
		return quantity.Maybe{}
	case r.met():
		return quantity.Some(0)
	}
	return quantity.Some(100 * (r.Best.V/r.Bound.V - 1))
}

// Stage says what is being done.
type Stage uint8

const (
	// Searching looks for the best answer and proves a bound.
	Searching Stage = iota
	// Explaining looks for the fewest rules that contradict each other, after it
	// was proved that no day keeps all of them.
	Explaining
	// Recalling looks for the order that a late day was to follow, where the maker
	// gave none.
	Recalling
	// Settling looks for the rest of a late day that moves least from that order.
	Settling
	// Asking works out what more of each thing that was short would be worth.
	Asking
)

// Progress is how far the work has come.
type Progress struct {
	Reach
	Stage   Stage
	Elapsed time.Duration // since the work began
	Moves   int64         // made so far in this stage
	Total   int64         // moves that this stage will make in all; 0 where that is not known
	Rules   int           // Explaining: how many rules the reason has come down to
}

// everySoOften is how long it is from one report of progress to the next.
const everySoOften = 200 * time.Millisecond

// A run is one piece of work while it is being done. It knows when to stop and
// whom to tell how far it is.
type run struct {
	ctx   context.Context
	work  Work
	begun time.Time

	mu sync.Mutex
	at Progress
}

func begin(ctx context.Context, w Work, s Stage) *run {
	return &run{ctx: ctx, work: w, begun: time.Now(), at: Progress{Stage: s}}
}

// share is when so great a share of the time is over; the zero Time, which never
// comes, where moves count.
func (r *run) share(of float64) time.Time {
	if !r.work.byClock() {
		return time.Time{}
	}
	return r.begun.Add(time.Duration(of * float64(r.work.Time)))
}

// elapsed is how long the work took: 0 where moves count, so that equal work
// gives equal answers.
func (r *run) elapsed() time.Duration {
	if !r.work.byClock() {
		return 0
	}
	return time.Since(r.begun)
}

// note changes what is told of the progress.
func (r *run) note(change func(*Progress)) {
	r.mu.Lock()
	defer r.mu.Unlock()
	change(&r.at)
}

// enter goes on to another stage.
func (r *run) enter(s Stage) {
	r.note(func(p *Progress) {
		if p.Stage != s {
			p.Stage, p.Moves, p.Total = s, 0, 0
		}
	})
}

// loop makes steps of n moves, n at most pace, until a step says that it was the
// last, so many moves are made, until has come (the zero Time never does), or
// the context ends. No limit on the moves is unlimited.
func (r *run) loop(until time.Time, moves int64, pace int, step func(n int) (done bool)) {
	for r.ctx.Err() == nil && (until.IsZero() || time.Now().Before(until)) {
		n := min(int64(pace), moves)
		if n <= 0 || step(int(n)) {
			return
		}
		moves -= n
	}
}

// unlimited is as many moves as no work makes.
const unlimited = math.MaxInt64

// do does the jobs in their order, so many of them at once, and returns when all
// are done. Meanwhile it tells progress, if that is not nil, how far they are:
// always on the goroutine that called do, so that never two are told at once.
//
// A job that panics does so on that goroutine too, once the others have ended:
// there a page can recover, while a panic elsewhere would end the whole program.
func (r *run) do(progress func(Progress), atOnce int, jobs ...func()) {
	done := make(chan struct{})
	var broken atomic.Pointer[any]
	go func() {
		defer close(done)
		var wg sync.WaitGroup
		room := make(chan struct{}, atOnce)
		for _, job := range jobs {
			room <- struct{}{}
			wg.Go(func() {
				defer func() {
					if p := recover(); p != nil {
						broken.CompareAndSwap(nil, &p)
					}
					<-room
				}()
				job()
			})
		}
		wg.Wait()
	}()
	tick := time.NewTicker(everySoOften)
	defer tick.Stop()
	for {
		select {
		case <-done:
			if p := broken.Load(); p != nil {
				panic(*p)
			}
			return
		case <-tick.C:
			if progress != nil {
				r.mu.Lock()
				p := r.at
				r.mu.Unlock()
				p.Elapsed = time.Since(r.begun)
				progress(p)
			}
		}
	}
}
