package store_test

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"

	"barwright/catalogue"
	"barwright/internal/store"
	"barwright/studio"
)

// keeperPlace makes this test binary a program that keeps versions of the
// formula keeperFormula until it is killed, and says each on its standard
// output once it was acknowledged.
const (
	keeperPlace   = "BARWRIGHT_TEST_KEEPER_PLACE"
	keeperFormula = "BARWRIGHT_TEST_KEEPER_FORMULA"
)

func TestMain(m *testing.M) {
	if where := os.Getenv(keeperPlace); where != "" {
		if err := keeper(where, os.Getenv(keeperFormula)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

func keeper(where, id string) error {
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
	for {
		now, err := s.Formula(ctx, id)
		if err != nil {
			return err
		}
		f := lantern("Storm lantern")
		f.FatsG = 1000 + float64(now.Newest.N)/3
		v, err := s.Keep(ctx, id, now.Newest.N, f, worked(), fmt.Sprintf("after %d", now.Newest.N))
		if err != nil {
			return err
		}
		fmt.Println(v.N, v.Formula.FatsG) // written at once: os.Stdout has no buffer
	}
}

// A program that is killed while it keeps versions, again and again at another
// moment, loses none that it had acknowledged, and leaves none half kept.
func TestAKillLosesNothingAcknowledged(t *testing.T) {
	onEach(t, func(t *testing.T, where string) {
		id := mustKeepNew(t, opened(t, where), lantern("Storm lantern")).FormulaID
		acked := map[int]float64{}
		for round := range 6 {
			cmd := exec.Command(os.Args[0])
			cmd.Env = append(os.Environ(), keeperPlace+"="+where, keeperFormula+"="+id)
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
				var v int
				var fatsG float64
				if _, err := fmt.Sscan(lines.Text(), &v, &fatsG); err != nil {
					t.Fatalf("the keeper said %q", lines.Text())
				}
				acked[v] = fatsG
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
		if len(acked) < 6*6 {
			t.Fatalf("only %d versions were kept: this test has tested too little", len(acked))
		}
		s := opened(t, where)
		got := must(t, func() ([]studio.Version, error) { return s.Versions(t.Context(), id) })
		have := map[int]float64{}
		for _, v := range got {
			have[v.N] = v.Formula.FatsG
		}
		for n, fatsG := range acked {
			if have[n] != fatsG {
				t.Errorf("version %d was acknowledged with %v g of fats and is there with %v", n, fatsG, have[n])
			}
		}
		// At most one more a kill: kept, and killed before it could say so.
		if over := len(got) - 1 - len(acked); over > 6 {
			t.Errorf("%d versions that nobody was told of", over)
		}
		f := must(t, func() (studio.Formula, error) { return s.Formula(t.Context(), id) })
		if f.Newest.N != len(got) {
			t.Errorf("the newest is %d of %d versions", f.Newest.N, len(got))
		}
		if !strings.HasPrefix(where, "postgres://") {
			var word string
			if err := raw(t, where).QueryRow("PRAGMA integrity_check").Scan(&word); err != nil || word != "ok" {
				t.Errorf("integrity: %q, %v", word, err)
			}
		}
	})
}
