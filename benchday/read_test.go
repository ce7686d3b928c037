package benchday

import (
	"os"
	"path/filepath"
	"testing"

	"barwright/internal/instances"
)

func TestEveryReferenceInstanceIsRead(t *testing.T) {
	dir := instances.Planning(t)
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
			if cycle := cycleOf(in); cycle != nil {
				t.Errorf("%s: a cycle %v", f, cycle)
				continue
			}
			t.Log(filepath.Base(f), len(in.Tasks), len(in.Lags), newModel(in, Options{}).lower)
			counted++
		}
	}
	if counted != 53 {
		t.Errorf("%d instances were read, want 53", counted)
	}
}
