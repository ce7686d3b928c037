// Package instances finds the published and the invented instances, which lie
// beside the project and not in it. Only tests import it, and they skip if it
// finds none.
package instances

import (
	"os"
	"path/filepath"
	"testing"
)

// Planning is the folder of the planning instances: the one that
// BARWRIGHT_PLANNING names, or else shared/reference/planning beside the module.
// If neither exists, the test is skipped and says so.
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
