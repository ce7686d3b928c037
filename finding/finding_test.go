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
