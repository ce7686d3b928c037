package formula_test

import (
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"barwright/formula"
	"barwright/formula/formulatest"
)

// The formulas that tests share.
var (
	anyFormula   = formulatest.Any
	wholeFormula = formulatest.Whole
	aMelt        = formulatest.Rock
)

// same reports every difference between two formulas.
func same(t fataler, got, want *formula.Formula) {
	t.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
		t.Errorf("the formulas differ (- want, + got):\n%s", d)
	}
}

// alike is same for numbers that went through a change of units. They must
// agree to one part in 10⁸.
func alike(t fataler, got, want *formula.Formula) {
	t.Helper()
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty(), cmpopts.EquateApprox(1e-8, 1e-12)); d != "" {
		t.Errorf("the formulas differ (- want, + got):\n%s", d)
	}
}

// fataler is a *testing.T or a *rapid.T.
type fataler interface {
	Helper()
	Errorf(format string, args ...any)
}
