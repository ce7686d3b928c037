package planner

import (
	"context"
	"math"
	"runtime"
	"slices"
	"time"

	"barwright/quantity"
	"barwright/season"
)

const (
	// restarts is how many searches share the moves where moves count. It must not
	// depend on the machine, since the plan depends on it.
	restarts = 2
	// movesARound is how many moves one round of the bound goes with, and
	// leastRounds is how many rounds there are at least, where moves count.
	movesARound = 40_000
	leastRounds = 60
	// seasonPace is how many moves are tried between two looks at the clock.
	seasonPace = 20_000
)

// SeasonPlan is a season planned.
type SeasonPlan struct {
	// Reach is what Plan costs, and what no plan can cost less than, which is at
	// least 0.
	Reach
	Status  Status
	Plan    season.Plan   // keeps every rule and pin; nil where none was found, and where nothing is poured
	Result  season.Result // Plan played through; zero where none was found
	Elapsed time.Duration // 0 where moves count
}

// Season looks for the plan of a season that keeps the pins and costs least, and
// for a bound below which no plan can cost. It uses as many cores as there are.
// By the clock it stops early once the plan meets the bound.
//
// progress may be nil. It is called a few times a second, by the goroutine that
// called Season.
func Season(ctx context.Context, in *season.Instance, pins season.Pins, w Work, progress func(Progress)) SeasonPlan {
	b := &board{run: begin(ctx, w, Searching), in: in, pins: pins}
	cores := runtime.GOMAXPROCS(0)
	var jobs []func()
	if w.byClock() {
		// One core searches in any case. Where there are more, one of them proves, and
		// searches too when the bound rises no further.
		n := max(2, cores)
		b.found = slices.Repeat([]found{nothing}, n)
		jobs = append(jobs, func() {
			b.prove(unlimited)
			if cores >= 2 {
				b.search(n-1, unlimited)
			}
		})
		for k := range n - 1 {
			jobs = append(jobs, func() { b.search(k, unlimited) })
		}
		cores = len(jobs)
	} else {
		b.found = slices.Repeat([]found{nothing}, restarts)
		// The bound comes first, as it takes longest.
		jobs = append(jobs, func() { b.prove(leastRounds + w.Moves/movesARound) })
		for k := range restarts {
			share := w.Moves / restarts
			if int64(k) < w.Moves%restarts {
				share++
			}
			jobs = append(jobs, func() { b.search(k, share) })
		}
	}
	b.do(progress, cores, jobs...)
	return b.answer()
}

// board is where the searches and the bound of a season write what they find.
type board struct {
	*run
	in   *season.Instance
	pins season.Pins

	// What follows is guarded by run.mu.
	found []found // by search
	bound float64
}

// found is the best that one search has found.
type found struct {
	plan  season.Plan
	cost  float64 // +Inf where it has found no plan
	moves int64
}

// nothing is what a search has found before it has begun.
var nothing = found{cost: math.Inf(1)}

// best is the cheapest plan of all searches, and that of the first of them where
// several are as cheap.
func (b *board) best() found {
	out := nothing
	for _, f := range b.found {
		if f.cost < out.cost {
			out = f
		}
	}
	return out
}

// reach is how near the best plan is to the bound.
func (b *board) reach() Reach {
	var r Reach
	if cost := b.best().cost; !math.IsInf(cost, 1) {
		r.Best = quantity.Some(cost)
	}
	if !math.IsInf(b.bound, 1) {
		r.Bound = quantity.Some(b.bound)
	}
	return r
}

// post takes down what a search or the bound has found. It reports that there is
// nothing left to look for; that ends no work that is counted in moves.
func (b *board) post(change func()) (done bool) {
	b.note(func(p *Progress) {
		change()
		p.Reach, p.Moves = b.reach(), 0
		for _, f := range b.found {
			p.Moves += f.moves
		}
		done = b.work.byClock() && (p.met() || math.IsInf(b.bound, 1))
	})
	return done
}

// search tries so many moves with the k-th search.
func (b *board) search(k int, moves int64) {
	// The first search has the seed that was given; the others lie far from it.
	s := season.NewSearch(b.in, b.work.Seed+uint64(k)*0x9e3779b97f4a7c15, b.pins)
	post := func() bool {
		plan, cost := s.Best()
		return b.post(func() { b.found[k] = found{plan, cost, s.Moves()} })
	}
	until, begun := b.share(1), time.Now()
	if !b.work.byClock() {
		s.Expect(moves)
	}
	// The first plan is there before any move, also for those who stop at once.
	if post() {
		return
	}
	b.loop(until, moves, seasonPace, func(n int) bool {
		s.Step(n)
		if gone := time.Since(begun); b.work.byClock() && gone > 20*time.Millisecond {
			s.Expect(int64(float64(s.Moves()) * float64(until.Sub(begun)) / float64(gone)))
		}
		return post()
	})
}

// prove raises the bound, by so many rounds at most.
func (b *board) prove(rounds int64) {
	bd := season.NewBound(b.in, b.pins)
	b.loop(b.share(1), rounds, 1, func(int) bool {
		more := bd.Step()
		met := b.post(func() { b.bound = max(b.bound, bd.Value()) })
		return met || !more
	})
}

// answer is the best plan with what is known of it.
func (b *board) answer() SeasonPlan {
	b.mu.Lock()
	defer b.mu.Unlock()
	p := SeasonPlan{Reach: b.reach()}
	if p.Best.Known {
		// The plan is played through once more before anyone is told of it.
		best := b.best()
		result, broken := season.Simulate(b.in, best.plan)
		if len(broken) > 0 {
			p.Best = quantity.Maybe{}
		} else {
			p.Plan, p.Result = best.plan, result
		}
	}
	switch {
	case !p.Best.Known && !p.Bound.Known:
		p.Status = Infeasible
	case !p.Best.Known:
		p.Status = Unknown
	case p.met() || !p.Bound.Known:
		p.Status = Optimal
	default:
		p.Status = Feasible
	}
	p.Elapsed = b.elapsed()
	return p
}

// Misses asks of each thing that a plan leaves missing what stands in the way,
// and what more of that would be worth. It plans again for each question, with a
// fixed number of moves from w.Seed, and stops early only when ctx ends: then it
// gives the answers so far. The plan must break no rule and keep the pins.
//
// progress is told as by Season.
func Misses(ctx context.Context, in *season.Instance, pins season.Pins, p season.Plan, w Work, progress func(Progress)) []season.Miss {
	r := begin(ctx, w, Asking)
	q := season.Ask(in, p, pins, w.Seed, season.AskMoves)
	r.at.Total = q.Moves()
	r.do(progress, 1, func() {
		r.loop(time.Time{}, unlimited, seasonPace, func(n int) bool {
			more := q.Step(n)
			r.note(func(p *Progress) { p.Moves += int64(n) })
			return !more
		})
	})
	return q.Misses()
}
