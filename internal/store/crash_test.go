package store_test

import (
	"bufio"
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/design"
	"barwright/internal/store"
	"barwright/quantity"
	"barwright/studio"
)

// keeperPlace makes this test binary a program that keeps versions of the
// formula keeperFormula, or of the design keeperDesign with a run of each, until
// it is killed, and says each on its standard output once it was acknowledged.
const (
	keeperPlace   = "BARWRIGHT_TEST_KEEPER_PLACE"
	keeperFormula = "BARWRIGHT_TEST_KEEPER_FORMULA"
	keeperDesign  = "BARWRIGHT_TEST_KEEPER_DESIGN"
)

func TestMain(m *testing.M) {
	if where := os.Getenv(keeperPlace); where != "" {
		if err := keeper(where, os.Getenv(keeperFormula), os.Getenv(keeperDesign)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

func keeper(where, id, designID string) error {
	ctx := context.Background()
	st, err := store.Open(ctx, where)
	if err != nil {
		return err
	}
	cat, err := catalogue.Default()
	if err != nil {
		return err
	}
	s := studio.New(st, cat, ticking(), studio.NewID)
	for designID != "" {
		now, err := s.Designs.Get(ctx, designID)
		if err != nil {
			return err
		}
		d := now.Newest.Doc
		d.Parts[0].FillToPct = quantity.Some(10 + float64(now.Newest.N)/3)
		v, err := s.Designs.Keep(ctx, designID, now.Newest.N, d, "")
		if err != nil {
			return err
		}
		// One batch weighs as much as the design is filled to, to tell it by.
		run, err := s.MakeRun(ctx, studio.Making{
			Designs: []studio.RunDesign{{DesignID: designID, N: v.N, Pieces: v.N, Made: v.N}}, MouldIDs: []string{d.Mould},
			Batches: []studio.Batching{{FormulaID: d.Parts[0].Formula, FormulaN: 1, MassG: d.Parts[0].FillToPct.V}}, Working: []byte("{}"),
		})
		if err != nil {
			return err
		}
		fmt.Println(v.N, d.Parts[0].FillToPct.V, run.Code)
	}
	for {
		now, err := s.Formulas.Get(ctx, id)
		if err != nil {
			return err
		}
		f := lantern("Storm lantern")
		f.FatsG = 1000 + float64(now.Newest.N)/3
		v, err := s.Formulas.Keep(ctx, id, now.Newest.N, studio.Formula{Formula: f, Kept: worked()}, fmt.Sprintf("after %d", now.Newest.N))
		if err != nil {
			return err
		}
		fmt.Println(v.N, v.Doc.Formula.FatsG) // written at once: os.Stdout has no buffer
	}
}

// killed runs the keeper with env, again and again, kills it each time at another
// moment, and gives every line that it said.
func killed(t *testing.T, env ...string) (said []string) {
	t.Helper()
	for round := range rounds {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), env...)
		var complaint strings.Builder
		cmd.Stderr = &complaint
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		for n := 0; lines.Scan(); n++ {
			said = append(said, lines.Text())
			if n == 5+7*round { // what it still says before it dies counts too
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := cmd.Wait(); err == nil || complaint.Len() > 0 {
			t.Fatalf("the keeper ended by itself: %v %s", err, complaint.String())
		}
	}
	if len(said) < rounds*6 {
		t.Fatalf("only %d times was anything kept: this test has tested too little", len(said))
	}
	return said
}

// rounds is how often a keeper is killed.
const rounds = 6

// sound checks a file from within.
func sound(t *testing.T, where string) {
	t.Helper()
	if strings.HasPrefix(where, "postgres://") {
		return
	}
	var word string
	if err := raw(t, where).QueryRow("PRAGMA integrity_check").Scan(&word); err != nil || word != "ok" {
		t.Errorf("integrity: %q, %v", word, err)
	}
}

// A program that is killed while it keeps versions, again and again at another
// moment, loses none that it had acknowledged, and leaves none half kept.
func TestAKillLosesNothingAcknowledged(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		id := mustKeepNew(t, opened(t, where), lantern("Storm lantern")).ID
		acked := map[int]float64{}
		for _, line := range killed(t, keeperPlace+"="+where, keeperFormula+"="+id) {
			var v int
			var fatsG float64
			if _, err := fmt.Sscan(line, &v, &fatsG); err != nil {
				t.Fatalf("the keeper said %q", line)
			}
			acked[v] = fatsG
		}
		s := opened(t, where)
		got := must(t, func() ([]studio.FormulaVersion, error) { return s.Formulas.Versions(t.Context(), id) })
		have := map[int]float64{}
		for _, v := range got {
			have[v.N] = v.Doc.Formula.FatsG
		}
		for n, fatsG := range acked {
			if have[n] != fatsG {
				t.Errorf("version %d was acknowledged with %v g of fats and is there with %v", n, fatsG, have[n])
			}
		}
		// At most one more a kill: kept, and killed before it could say so.
		if over := len(got) - 1 - len(acked); over > rounds {
			t.Errorf("%d versions that nobody was told of", over)
		}
		f := must(t, func() (studio.Record[studio.Formula], error) { return s.Formulas.Get(t.Context(), id) })
		if f.Newest.N != len(got) {
			t.Errorf("the newest is %d of %d versions", f.Newest.N, len(got))
		}
		sound(t, where)
	})
}

// The same of a design and its runs, which are kept in several tables.
func TestAKillLosesNoDesignAndNoRun(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		ctx := t.Context()
		q := quarried(t, opened(t, where))
		id := q.keep(t, q.lighthouse("Lighthouse")).ID
		type ack struct {
			n   int
			pct float64
		}
		acked := map[string]ack{} // by the code of the run
		for _, line := range killed(t, keeperPlace+"="+where, keeperDesign+"="+id) {
			var a ack
			var code string
			if _, err := fmt.Sscan(line, &a.n, &a.pct, &code); err != nil {
				t.Fatalf("the keeper said %q", line)
			}
			acked[code] = a
		}
		s := opened(t, where)
		versions := must(t, func() ([]studio.DesignVersion, error) { return s.Designs.Versions(ctx, id) })
		have := map[int]float64{}
		for _, v := range versions {
			have[v.N] = v.Doc.Parts[0].FillToPct.V
		}
		for code, a := range acked {
			run, err := s.Run(ctx, code+"-A")
			if err != nil || have[a.n] != a.pct || len(run.Designs) != 1 || run.Designs[0].N != a.n ||
				run.Batches[0].Mass != quantity.Milligrams(math.Round(a.pct*1000)) {
				t.Errorf("run %s of version %d, filled to %v, is there as %+v of %v (%v)", code, a.n, a.pct, run, have[a.n], err)
			}
		}
		runs := must(t, func() (studio.Page[studio.Run], error) {
			return s.Runs(ctx, studio.RunsOf{DesignID: id}, studio.Slice{Size: 500})
		})
		if over := runs.Total - len(acked); over > rounds {
			t.Errorf("%d runs that nobody was told of", over)
		}
		// No run is half there, and no code was skipped.
		for i, r := range runs.Items {
			if want := fmt.Sprintf("%04d", runs.Total-i); r.Code != want || len(r.Designs) != 1 || len(r.Batches) != 1 || len(r.MouldIDs) != 1 {
				t.Errorf("run %s, want %s: %+v", r.Code, want, r)
			}
		}
		d := must(t, func() (studio.Record[*design.Design], error) { return s.Designs.Get(ctx, id) })
		if over := len(versions) - 1 - len(acked); d.Newest.N != len(versions) || over > rounds {
			t.Errorf("the newest is %d of %d versions, %d acknowledged", d.Newest.N, len(versions), len(acked))
		}
		sound(t, where)
	})
}
