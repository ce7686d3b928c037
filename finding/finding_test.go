package finding_test

import (
	"testing"

	"barwright/finding"
)

func TestWhatIsSaidTwiceIsSaidOnce(t *testing.T) {
	a := finding.Finding{Rule: "embed-softens", Message: "The lamp may give.", About: "part:1"}
	again, other := a, a
	again.About, other.Message = "part:2", "The star may give."
	got := finding.Once([]finding.Finding{a, other, again})
	if len(got) != 2 || got[0].About != "part:1" || got[1].Message != other.Message {
		t.Errorf("got %+v", got)
	}
}

func TestTheGravestCountsWhereverItStands(t *testing.T) {
	of := func(severities ...finding.Severity) (out []finding.Finding) {
		for _, s := range severities {
			out = append(out, finding.Finding{Severity: s})
		}
		return out
	}
	for _, c := range []struct {
		fs   []finding.Finding
		want finding.Severity
	}{
		{of(finding.Stop, finding.Note), finding.Stop}, {of(finding.Note, finding.Stop, finding.Warn), finding.Stop},
		{of(finding.Note, finding.Warn), finding.Warn}, {of(finding.Note), finding.Note},
	} {
		if got, ok := finding.Worst(c.fs); !ok || got != c.want {
			t.Errorf("the gravest of %v is %v, want %v", c.fs, got, c.want)
		}
	}
	if _, ok := finding.Worst(nil); ok {
		t.Error("nothing was found, and something of it is the gravest")
	}
	if n := finding.Count(of(finding.Stop, finding.Note, finding.Stop), finding.Stop); n != 2 {
		t.Errorf("%d stops, want 2", n)
	}
}
