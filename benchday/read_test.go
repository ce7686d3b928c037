package benchday

import (
	"os"
	"path/filepath"
	"testing"
)

// planning is the folder of the reference instances; tests on them skip where it
// is absent.
func planning(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("BARWRIGHT_PLANNING")
	if dir == "" {
		dir = filepath.Join("..", "..", "shared", "reference", "planning")
	}
	if _, err := os.Stat(dir); err != nil {
		t.Skip("skipped: the planning instances are not on this machine (name their folder in BARWRIGHT_PLANNING)")
	}
	return dir
}

func TestEveryReferenceInstanceIsRead(t *testing.T) {
	dir := planning(t)
	counted := 0
	for _, glob := range []string{"bench/*.json", "psplib/*/*.sm", "rcpspmax/*/*.[sS][cC][hH]"} {
		files, err := filepath.Glob(filepath.Join(dir, glob))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			b, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			in, err := Read(f, b)
			if err != nil {
				t.Error(err)
				continue
			}
			tm, cycle := NewTemporal(in)
			if cycle != nil {
				t.Errorf("%s: a cycle %v", f, cycle)
				continue
			}
			t.Log(filepath.Base(f), len(in.Tasks), len(in.Lags), tm.Bound())
			counted++
		}
	}
	if counted != 53 {
		t.Errorf("%d instances were read, want 53", counted)
	}
}
