package season

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"barwright/internal/instances"
)

// planning reads an instance of the planning reference. It skips the test if the
// reference is not there.
func planning(t testing.TB, name string) *Instance {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(instances.Planning(t), "season", name))
	if err != nil {
		t.Fatal(err)
	}
	in, err := Read(name, data)
	if err != nil {
		t.Fatal(err)
	}
	return in
}

// The optima are those of a general solver, HiGHS, as the reference's results
// give them, to 0.001.
func TestBoundIsNearAndBelowKnownOptima(t *testing.T) {
	for _, c := range []struct {
		name          string
		optimum, near float64
		rounds        int
	}{
		{"season-tiny-1.json", 301.816, 301.815, 20000}, // proved
		{"season-tiny-2.json", 244.056, 242, 1500},
	} {
		in := planning(t, c.name)
		b := NewBound(in, Pins{})
		for range c.rounds {
			was := b.Value()
			more := b.Step()
			if b.Value() < was {
				t.Fatalf("%s: the bound fell from %g to %g", c.name, was, b.Value())
			}
			if b.Value() > c.optimum+0.001 {
				t.Fatalf("%s: bound %g is above the optimum %g", c.name, b.Value(), c.optimum)
			}
			if !more {
				break
			}
		}
		if b.Value() < c.near {
			t.Errorf("%s: bound %g, want %g at least", c.name, b.Value(), c.near)
		}
	}
}

func TestBoundIsTheSameEachTime(t *testing.T) {
	in := planning(t, "season-x.json")
	var first []float64
	for run := range 2 {
		b := NewBound(in, Pins{})
		for round := range 60 {
			b.Step()
			if run == 0 {
				first = append(first, b.Value())
			} else if b.Value() != first[round] {
				t.Fatalf("round %d: %v, then %v", round, first[round], b.Value())
			}
		}
	}
	// The reference's results give 704.082 as a proved bound, and 730.004 as the
	// cost of the best known plan.
	if last := first[len(first)-1]; last < 697 || last > 730.004 {
		t.Errorf("after 60 rounds %g, want 697 at least and no more than 730.004", last)
	}
}

func TestBoundOfPinsThatADayCannotHold(t *testing.T) {
	in := planning(t, "season-tiny-1.json")
	day := in.BenchDays[0].Day // 170 minutes; two batches of P02 take 15 + 150
	b := NewBound(in, Pins{Fixed: []Pour{{Day: day, Item: 0, Batches: 1}, {Day: day, Item: 1, Batches: 2}}})
	if b.Step() || !math.IsInf(b.Value(), 1) {
		t.Errorf("the bound is %g, want +Inf: no plan keeps the pins", b.Value())
	}
	b = NewBound(in, Pins{Fixed: []Pour{{Day: day, Item: 1, Batches: 2}}})
	for range 100 {
		b.Step()
	}
	free := NewBound(in, Pins{})
	for range 400 {
		free.Step()
	}
	if b.Value() < free.Value()-1 || math.IsInf(b.Value(), 1) {
		t.Errorf("with a pour fixed the bound is %g, without %g", b.Value(), free.Value())
	}
}

func BenchmarkBoundRound(b *testing.B) {
	for _, name := range []string{"season-x.json", "season-y.json"} {
		b.Run(name, func(b *testing.B) {
			in := planning(b, name)
			bound := NewBound(in, Pins{})
			for b.Loop() {
				if !bound.Step() {
					bound = NewBound(in, Pins{})
				}
			}
		})
	}
}
