// Package archtest holds the rule of who may import whom.
package archtest

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "barwright/"

// rings are all packages. A package imports only packages of a lower ring, and
// those of its own ring that arrows allow it.
var rings = map[string]int{
	"quantity": 0, "fault": 0, "finding": 0, "internal/filescan": 0, "internal/words": 0,

	"catalogue": 1, "formula": 1, "soap": 1, "doubt": 1, "lye": 1, "mould": 1, "design": 1, "fit": 1, "bench": 1,
	"reorder": 1, "forecast": 1, "season": 1, "benchday": 1,

	"studio": 2, "planner": 2, "internal/draw": 2, "internal/export/sheetpdf": 2,

	"internal/store": 3, "internal/web": 3, "internal/web/shell": 3, "internal/web/form": 3, "internal/web/record": 3,
	"internal/web/formulas": 3, "internal/web/designs": 3, "internal/web/bench": 3, "internal/web/moulds": 3, "internal/web/settings": 3,
	"internal/web/today": 3, "internal/web/ingredients": 3,
	"internal/cli": 3, "internal/demo": 3,

	"cmd/barwright": 4, "internal/archtest": 4, "internal/instances": 4, "e2e": 4,

	// Only tests import these; they stand on nothing of ours.
	"internal/web/htmlcheck": 0, "internal/web/webtest": 4, "internal/web/roomtest": 4, "formula/formulatest": 4, "benchday/daycheck": 0,
	"season/seasoncheck": 0,
}

// testsOnly are the packages that no program imports.
var testsOnly = []string{"internal/web/htmlcheck", "internal/web/webtest", "internal/web/roomtest", "formula/formulatest", "benchday/daycheck",
	"season/seasoncheck", "internal/instances"}

var arrows = map[string][]string{
	"quantity":                 {"fault"},
	"internal/words":           {"quantity"},
	"internal/filescan":        {"fault", "quantity", "internal/words"},
	"formula":                  {"catalogue"},
	"soap":                     {"formula", "catalogue", "doubt", "lye"},
	"mould":                    {"lye"},
	"design":                   {"soap", "formula", "mould", "lye", "catalogue"},
	"forecast":                 {"reorder"},
	"season":                   {"reorder"},
	"bench":                    {"design", "soap", "formula", "mould", "lye", "catalogue"},
	"internal/web/form":        {"internal/web/shell"},
	"internal/web/record":      {"internal/web/shell", "internal/web/form"},
	"internal/export/sheetpdf": {"internal/draw"}, // the looks of the strata, one set for screen and paper
}

// impure is what no package of rings 0 and 1 imports: the sums have no clock, no
// disk, no records, no net and nobody to cancel them.
var impure = []string{"context", "database/sql", "io/ioutil", "log", "log/slog", "math/rand", "net", "os", "path/filepath", "syscall"}

type source struct {
	file string
	tree *ast.File
}

// packages gives the files of every package below root. Those that only tests
// are in have no sources.
func packages(t *testing.T, root string) map[string][]source {
	t.Helper()
	out := map[string][]source{}
	fset := token.NewFileSet()
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() {
			if p != root && (strings.HasPrefix(name, ".") || strings.HasPrefix(name, "_") || name == "testdata" || name == "build") {
				return filepath.SkipDir
			}
			if _, err := os.Stat(filepath.Join(p, "go.mod")); err == nil && p != root {
				return filepath.SkipDir // another module
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") {
			return nil
		}
		rel, err := filepath.Rel(root, filepath.Dir(p))
		if err != nil {
			return err
		}
		pkg := filepath.ToSlash(rel)
		list := out[pkg]
		if !strings.HasSuffix(name, "_test.go") {
			tree, err := parser.ParseFile(fset, p, nil, parser.SkipObjectResolution)
			if err != nil {
				return err
			}
			list = append(list, source{path.Join(pkg, name), tree})
		}
		out[pkg] = list
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func root(t *testing.T) string {
	t.Helper()
	dir, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, "go.mod")); err != nil {
		t.Fatal(err)
	}
	return dir
}

func imports(s source) []string {
	var out []string
	for _, i := range s.tree.Imports {
		p, err := strconv.Unquote(i.Path.Value)
		if err == nil {
			out = append(out, p)
		}
	}
	return out
}

func TestPackagesAreTheOnesNamed(t *testing.T) {
	found := packages(t, root(t))
	for pkg := range found {
		if _, ok := rings[pkg]; !ok {
			t.Errorf("package %s stands in no ring: name it in rings, and say who may import it", pkg)
		}
	}
	for pkg := range rings {
		if _, ok := found[pkg]; !ok {
			t.Errorf("package %s is named here and is not there", pkg)
		}
	}
	for from, to := range arrows {
		for _, pkg := range to {
			if a, ok := rings[from]; !ok || a != rings[pkg] {
				t.Errorf("the arrow %s → %s does not stay in one ring", from, pkg)
			}
		}
	}
}

func TestImportsGoInwards(t *testing.T) {
	checked := 0
	for pkg, files := range packages(t, root(t)) {
		for _, s := range files {
			for _, imp := range imports(s) {
				to, ours := strings.CutPrefix(imp, module)
				if !ours {
					continue
				}
				checked++
				if mayImport(pkg, to) {
					continue
				}
				t.Errorf("%s imports %s: ring %d may not reach ring %d there", s.file, to, rings[pkg], rings[to])
			}
		}
	}
	if checked < 50 {
		t.Fatalf("only %d imports were found: this test has tested next to nothing", checked)
	}
}

// mayImport reports whether a package may import another of ours.
func mayImport(from, to string) bool {
	switch {
	case slices.Contains(testsOnly, to):
		return slices.Contains(testsOnly, from)
	case rings[to] != rings[from]:
		return rings[to] < rings[from]
	case isRoom(from):
		return slices.Contains(underRooms, to)
	case from == "internal/web":
		return isRoom(to) || slices.Contains(underRooms, to)
	}
	return slices.Contains(arrows[from], to)
}

// underRooms are what every room of the pages stands on.
var underRooms = []string{"internal/web/shell", "internal/web/form", "internal/web/record"}

// isRoom reports whether a package is a room of the pages: a place of the trade.
// Rooms never import each other; what two of them need belongs to the shell, the
// forms, studio, or a lower ring. Package internal/web opens them all.
func isRoom(pkg string) bool {
	return strings.HasPrefix(pkg, "internal/web/") && !slices.Contains(underRooms, pkg) && !slices.Contains(testsOnly, pkg)
}

func TestRoomsStandOnTheShellAndNeverOnEachOther(t *testing.T) {
	for _, pkg := range []string{"internal/web/one", "internal/web/other"} {
		if _, ok := rings[pkg]; ok {
			t.Fatalf("%s is a package: this test wants made-up ones", pkg)
		}
		rings[pkg] = rings["internal/web"]
		defer delete(rings, pkg)
	}
	for _, c := range []struct {
		from, to string
		may      bool
	}{
		{"internal/web/one", "internal/web/other", false},
		{"internal/web/one", "internal/web", false},
		{"internal/web/one", "internal/store", false},
		{"internal/web/one", "internal/web/webtest", false},
		{"internal/web/one", "internal/web/shell", true},
		{"internal/web/one", "internal/web/form", true},
		{"internal/web/one", "internal/web/record", true},
		{"internal/web/record", "internal/web/one", false},
		{"internal/web/one", "studio", true},
		{"internal/web", "internal/web/one", true},
		{"internal/web", "internal/web/shell", true},
		{"internal/web/form", "internal/web/shell", true},
		{"internal/web/form", "internal/web/one", false},
		{"internal/web/shell", "internal/web/form", false},
		{"internal/web/shell", "internal/web/one", false},
	} {
		if got := mayImport(c.from, c.to); got != c.may {
			t.Errorf("%s may import %s: %v, want %v", c.from, c.to, got, c.may)
		}
	}
}

func TestTheSumsArePure(t *testing.T) {
	for pkg, files := range packages(t, root(t)) {
		if rings[pkg] > 1 || pkg == "internal/web/htmlcheck" {
			continue
		}
		for _, s := range files {
			for _, imp := range imports(s) {
				if slices.Contains(impure, imp) || strings.HasPrefix(imp, "os/") || strings.HasPrefix(imp, "net/") {
					t.Errorf("%s imports %s", s.file, imp)
				}
			}
			ast.Inspect(s.tree, func(n ast.Node) bool {
				sel, ok := n.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				if x, ok := sel.X.(*ast.Ident); ok && x.Name == "time" &&
					slices.Contains([]string{"Now", "Since", "Until", "Sleep", "After", "NewTimer"}, sel.Sel.Name) {
					t.Errorf("%s reads the clock: time.%s", s.file, sel.Sel.Name)
				}
				return true
			})
		}
	}
}

func TestSQLStandsInOnePlace(t *testing.T) {
	for pkg, files := range packages(t, root(t)) {
		for _, s := range files {
			for _, imp := range imports(s) {
				if pkg != "internal/store" && (imp == "database/sql" || strings.HasPrefix(imp, "modernc.org/sqlite") ||
					strings.HasPrefix(imp, "github.com/jackc/pgx")) {
					t.Errorf("%s imports %s: all SQL is in internal/store", s.file, imp)
				}
			}
		}
	}
}
