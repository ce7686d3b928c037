package planner

import (
	"context"
	"time"

	"barwright/benchday"
	"barwright/quantity"
)

const (
	// trialSteps is how many steps one trial of what contradicts what may have.
	trialSteps = 20_000
	// reasonSteps, over the number of tasks, is how many steps all trials together
	// have at least where moves count.
	reasonSteps = 2_000_000
	// dayPace is how many steps are made at most between two looks at the clock.
	dayPace = 100
	// replanSteps is how many steps each part of replanning has where the clock
	// ends it: more than it makes.
	replanSteps = 1 << 30
)

// DayPlan is a day put in order, or the rest of one that has begun.
type DayPlan struct {
	Status  Status
	Starts  benchday.Schedule // of every task, min; nil where none was found
	End     int               // min, of the last task; 0 where there are no Starts
	Lower   int               // min: no day ends sooner; it means nothing where Status is Infeasible
	Elapsed time.Duration     // 0 where moves count
	// Against are rules that contradict each other, where Status is Infeasible.
	Against benchday.Contradiction
	// Rest is what was let go and how far tasks move; zero for a day that has not
	// begun.
	Rest benchday.Replan
}

// dayStatus is how this package calls what benchday knows of a day.
var dayStatus = [...]Status{
	benchday.Unknown: Unknown, benchday.Feasible: Feasible, benchday.Optimal: Optimal, benchday.Infeasible: Infeasible,
}

// Day looks for the shortest day that keeps every wait, and stops as soon as the
// day is proved the shortest. Where it is proved that no day keeps them all, it
// looks for the fewest rules that contradict each other, for as long again. A
// move is a schedule or a decision of the proof.
//
// progress is told as by Season.
func Day(ctx context.Context, in *benchday.Instance, w Work, progress func(Progress)) DayPlan {
	r := begin(ctx, w, Searching)
	var p DayPlan
	r.do(progress, 1, func() {
		s := benchday.NewSolver(in, benchday.Options{Seed: w.Seed})
		moves := w.Moves
		if w.byClock() {
			moves = unlimited
		}
		r.loop(r.share(1), moves, pace(in), func(n int) bool {
			done := s.Step(n)
			reach := Reach{Bound: quantity.Some(float64(s.Lower()))}
			if best, ok := s.Best(); ok {
				reach.Best = quantity.Some(float64(in.Makespan(best)))
			}
			r.note(func(p *Progress) { p.Reach, p.Moves = reach, p.Moves+int64(n) })
			return done
		})
		p = DayPlan{Status: dayStatus[s.Status()], Lower: s.Lower()}
		if best, ok := s.Best(); ok {
			p.Starts, p.End = best, in.Makespan(best)
		}
		if p.Status == Infeasible {
			p.Against = r.explain(in)
		}
	})
	p.Elapsed = r.elapsed()
	return p
}

// explain looks for the reason why no day keeps every rule.
func (r *run) explain(in *benchday.Instance) benchday.Contradiction {
	r.enter(Explaining)
	e := benchday.NewExplainer(in, benchday.Options{Seed: r.work.Seed}, r.trial())
	var until time.Time
	moves := int64(unlimited)
	if r.work.byClock() {
		until = time.Now().Add(max(r.work.Time, time.Second))
	} else {
		// So many that a small day comes down to its last rule.
		moves = max(r.work.Moves, int64(reasonSteps/max(len(in.Tasks), 1)))
	}
	r.loop(until, moves, pace(in), func(n int) bool {
		done := e.Step(n)
		c := e.Contradiction()
		r.note(func(p *Progress) { p.Rules, p.Moves = len(c.Lags)+len(c.Groups), p.Moves+int64(n) })
		return done
	})
	return e.Contradiction()
}

// trial is how many steps one trial of what contradicts what has.
func (r *run) trial() int {
	if r.work.byClock() {
		return trialSteps
	}
	return int(min(r.work.Moves, trialSteps))
}

// pace is how many steps of a day take about a tenth of a second: at a thousand
// tasks that is one.
func pace(in *benchday.Instance) int {
	n := len(in.Tasks)
	return max(1, min(dayPace, 1_500_000/(n*n+1)))
}

// Replan looks for the best rest of a day that has begun: the shortest, and under
// it the one that moves least from the maker's plan, or else from the day that
// the same seed finds for the whole file. Now must have been read against in.
// Where moves count, each of the three parts has all of them; by the clock the
// first has a quarter of the time, and the second up to three quarters.
//
// progress is told as by Season.
func Replan(ctx context.Context, in *benchday.Instance, now *benchday.Now, w Work, progress func(Progress)) DayPlan {
	r := begin(ctx, w, Recalling)
	var rest benchday.Replan
	r.do(progress, 1, func() {
		n := replanSteps
		if !w.byClock() {
			n = int(min(w.Moves, replanSteps))
		}
		rp := benchday.NewReplanner(in, now, benchday.Options{Seed: w.Seed}, benchday.Budget{Plan: n, Rest: n, Shift: n, Trial: r.trial()})
		// The second part begins anew each time that it lets go of one more wait. It
		// then has all the time that is left, and no longer.
		for rounds := 0; rp.Phase() < 3 && rounds < 3; {
			at := rp.Phase()
			share := [...]float64{0.25, 0.75, 1}[at]
			if at == 1 {
				if rounds++; rounds > 1 {
					share = 1
				}
			}
			r.enter([...]Stage{Recalling, Searching, Settling}[at])
			r.loop(r.share(share), unlimited, pace(in), func(n int) bool {
				done := rp.Step(n)
				r.note(func(p *Progress) { p.Moves += int64(n) })
				return done || rp.Phase() != at
			})
			if rp.Phase() == at {
				rp.Next()
			}
		}
		rest = rp.Result()
	})
	return DayPlan{Status: dayStatus[rest.Status], Starts: rest.Starts, End: rest.Makespan, Lower: rest.Lower,
		Elapsed: r.elapsed(), Against: rest.Contradiction, Rest: rest}
}
