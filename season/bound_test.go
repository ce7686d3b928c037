package season

import (
	"os"
	"path/filepath"
	"testing"
)

// planning reads an instance of the planning reference, and skips where that is
// not at hand.
func planning(t testing.TB, name string) *Instance {
	t.Helper()
	root := os.Getenv("BARWRIGHT_PLANNING")
	if root == "" {
		root = filepath.Join("..", "..", "shared", "reference", "planning")
	}
	data, err := os.ReadFile(filepath.Join(root, "season", name))
	if os.IsNotExist(err) {
		t.Skipf("no planning reference at %s; set BARWRIGHT_PLANNING", root)
	}
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
	}{
		{"season-tiny-1.json", 301.816, 294},
		{"season-tiny-2.json", 244.056, 238},
	} {
		in := planning(t, c.name)
		b := NewBound(in, Pins{})
		for range 400 {
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
			t.Errorf("%s: bound %g after 400 rounds, want %g at least", c.name, b.Value(), c.near)
		}
	}
}
