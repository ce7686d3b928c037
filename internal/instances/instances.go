// Package instances finds the published and invented instances that lie beside
// the project and not in it. Only tests import it; they skip where it finds none.
package instances

import (
	"os"
	"path/filepath"
	"testing"
)

// Planning is the folder of the planning instances: that which BARWRIGHT_PLANNING
// names, else shared/reference/planning beside the module. Where there is none,
// the test skips and says so.
func Planning(t testing.TB) string {
	t.Helper()
	dir := os.Getenv("BARWRIGHT_PLANNING")
	if dir == "" {
		root, err := os.Getwd()
		for err == nil && root != filepath.Dir(root) {
			if _, e := os.Stat(filepath.Join(root, "go.mod")); e == nil {
				break
			}
			root = filepath.Dir(root)
		}
		dir = filepath.Join(root, "..", "shared", "reference", "planning")
	}
	if _, err := os.Stat(dir); err != nil {
		t.Skip("skipped: the planning instances are not on this machine (name their folder in BARWRIGHT_PLANNING)")
	}
	return dir
}
