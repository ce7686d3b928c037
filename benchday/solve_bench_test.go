package benchday

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// spent steps a solver up to a total number of steps, counted from begun.
func spent(s *Solver, begun, steps int) {
	for left := steps - begun; left > 0 && !s.Step(min(left, 100)); left -= 100 {
	}
}

// say prints a line of a table. The log of a benchmark is cut after ten lines.
func say(format string, args ...any) { fmt.Printf("\t"+format+"\n", args...) }

// BenchmarkPSPLIB prints the mean deviation from the best known makespans, in per
// cent, after so many steps (schedules generated and decisions of the proof
// together). It does the same for breeding alone, after so many schedules.
func BenchmarkPSPLIB(b *testing.B) {
	all := references(b, "psplib")
	const seeds = 5
	budgets := []int{1000, 5000, 50000}
	for range b.N {
		for _, set := range []string{"j30", "j60"} {
			mean, alone := make([]float64, len(budgets)), make([]float64, len(budgets))
			worst := make([]float64, len(budgets))
			proved, counted := 0, 0
			for seed := uint64(1); seed <= seeds; seed++ {
				once := make([]float64, len(budgets))
				counted = 0
				for _, r := range all {
					if r.set != set {
						continue
					}
					counted++
					off := func(made int) float64 { return 100 * (float64(made)/float64(r.best) - 1) }
					s := NewSolver(r.in, Options{Seed: seed})
					br := newBreeder(newModel(r.in, Options{}), seed)
					begun := 0
					for k, n := range budgets {
						spent(s, begun, n)
						begun = n
						best, ok := s.Best()
						if !ok {
							b.Fatalf("%s: nothing found", r.file)
						}
						once[k] += off(r.in.Makespan(best))
						for br.made < n {
							br.step()
						}
						alone[k] += off(int(br.best))
					}
					if s.Status() == Optimal {
						proved++
					}
				}
				for k := range budgets {
					once[k] /= float64(counted)
					mean[k] += once[k] / seeds
					worst[k] = max(worst[k], once[k])
				}
			}
			for k, n := range budgets {
				say("%s, %d instances, %5d steps: %.3f %% (worst of %d seeds %.3f %%); breeding alone, so many schedules: %.3f %%",
					set, counted, n, mean[k], seeds, worst[k], alone[k]/float64(seeds*counted))
				b.ReportMetric(mean[k], fmt.Sprintf("%s-%d-%%", set, n))
			}
			say("%s: %d of %d proved", set, proved, seeds*counted)
		}
	}
}

// BenchmarkDays prints, for the bench days and the instances of ProGen/max, the
// makespan, the bound, and the time until the proof, with at most 5 s for each.
func BenchmarkDays(b *testing.B) {
	for range b.N {
		for _, folder := range []string{"bench", "rcpspmax"} {
			all := references(b, folder)
			at, slowest, named, none := 0, time.Duration(0), 0, 0
			for _, r := range all {
				begin := time.Now()
				s := NewSolver(r.in, Options{Seed: 1})
				for !s.Step(100) && time.Since(begin) < 5*time.Second {
				}
				took := time.Since(begin)
				slowest = max(slowest, took)
				best, ok := s.Best()
				made := "none"
				if ok {
					made = fmt.Sprint(r.in.Makespan(best), ", bound ", s.Lower())
				}
				say("%-22s best known %4d: %s, status %d, %d ms", strings.TrimPrefix(r.set+"/"+r.file, "bench/"), r.best, made, s.Status(), took.Milliseconds())
				if r.best < 0 {
					none++
					if s.Status() == Infeasible {
						named++
					}
				} else if ok && r.in.Makespan(best) <= r.best {
					at++
				}
			}
			say("%s: %d of %d at the best known or below, %d of %d infeasible named so, slowest %d ms",
				folder, at, len(all)-none, named, none, slowest.Milliseconds())
		}
	}
}
