package shell

import (
	"errors"
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"

	"barwright/fault"
	"barwright/finding"
	"barwright/internal/web/htmlcheck"
)

func TestLettersGoOnPastZ(t *testing.T) {
	for i, want := range map[int]string{0: "a", 1: "b", 25: "z", 26: "aa", 27: "ab", 51: "az", 52: "ba", 701: "zz", 702: "aaa"} {
		if got := Letters(i); got != want {
			t.Errorf("Letters(%d) = %q, want %q", i, got, want)
		}
	}
}

func TestFootnotesKeyTheirNumbers(t *testing.T) {
	f := Footnotes([]finding.Finding{
		{Rule: "r", Severity: finding.Warn, About: "fat:1"},
		{Rule: "s", Severity: finding.Stop, About: "alkali"},
		{Rule: "t", Severity: finding.Warn, About: "fat:1"},
		{Rule: "u", Severity: finding.Note, About: "scent:0"},
	})
	if got := fmt.Sprint(f.About("fat:1")); got != "[{a Warn #finding-a} {c Warn #finding-c}]" {
		t.Errorf("fat:1 has %s", got)
	}
	if f.About("fat:2") != nil {
		t.Error("a number without a finding has a mark")
	}
	if got := f.Count(); got != "1\u00a0stop, 2\u00a0warnings, 1\u00a0note" {
		t.Errorf("count %q", got)
	}
	if !f.Stops() || len(f.Marks()) != 4 {
		t.Errorf("stops %v, marks %v", f.Stops(), f.Marks())
	}
	if (Findings{}).Count() != "" || (Findings{}).Stops() {
		t.Error("no findings are counted")
	}
}

func TestPaginationStaysInsideTheList(t *testing.T) {
	href := func(n int) string { return fmt.Sprintf("?page=%d", n) }
	for _, c := range []struct {
		n, per, all, first, last, offset int
		prev, next                       string
	}{
		{1, 20, 5000, 1, 20, 0, "", "?page=2"},
		{2, 20, 5000, 21, 40, 20, "?page=1", "?page=3"},
		{250, 20, 5000, 4981, 5000, 4980, "?page=249", ""},
		{251, 20, 5000, 4981, 5000, 4980, "?page=249", ""},
		{-3, 20, 45, 1, 20, 0, "", "?page=2"},
		{3, 20, 45, 41, 45, 40, "?page=2", ""},
		{1, 20, 20, 1, 20, 0, "", ""},
		{7, 20, 0, 0, 0, 0, "", ""},
		{1, 0, 2, 1, 1, 0, "", "?page=2"},
	} {
		p, off := Pagination("formulas", c.n, c.per, c.all, href)
		if p.First != c.first || p.Last != c.last || off != c.offset || p.Previous != c.prev || p.Next != c.next {
			t.Errorf("page %d of %d by %d: %+v from %d", c.n, c.all, c.per, p, off)
		}
	}
}

func TestSummariseLinksEveryFaultToItsField(t *testing.T) {
	var l fault.List
	l.Add(fault.Invalidf("superfat", "Too much."))
	l.Add(fault.Invalidf("", "Both at once."))
	l.Add(&fault.Error{Kind: fault.Internal, Message: "a secret"})
	err := fmt.Errorf("keeping: %w", error(l))
	s := Summarise(err)
	if len(s.Faults) != 2 || s.Faults[0] != (Link{"#superfat", "Too much."}) || s.Faults[1] != (Link{"", "Both at once."}) {
		t.Errorf("summary %+v", s)
	}
	if FaultAt(err, "superfat") != "Too much." || FaultAt(err, "water") != "" || FaultAt(nil, "superfat") != "" {
		t.Error("a field has another's fault")
	}
	if got := Summarise(errors.New("disk on fire")); got.Faults != nil {
		t.Errorf("a fault of the machine is shown: %+v", got)
	}
}

// What a maker typed is shown as typed, never as markup.
func TestPartsEscapeWhatWasTyped(t *testing.T) {
	s := newTestShell(t, testConfig())
	const typed = `"><script>alert(1)</script><b onclick="x()">`
	v := partsShown()
	v.Words.Value, v.Words.Label, v.Words.Hint, v.Words.Fault = typed, typed, typed, typed
	v.Controls[3].Value = "</textarea>" + typed
	v.Controls[0].Options[0].Label = typed
	v.List.Rows[0].Name, v.List.Rows[0].Aside = typed, []string{typed}
	v.Findings.Notes[0].Message = typed
	v.Refused.Faults[0].Text = typed
	w := httptest.NewRecorder()
	if err := partsPage.Write(s, w, httptest.NewRequest("GET", "/parts", nil), 200, Head{Title: typed, Lead: typed, Foot: typed}, v); err != nil {
		t.Fatal(err)
	}
	d := htmlcheck.Page(t, strings.NewReader(w.Body.String()))
	if n := d.Find("script").Length(); n != 1 {
		t.Errorf("%d scripts, want the one module", n)
	}
	if got := d.Find("#name").AttrOr("value", ""); got != typed {
		t.Errorf("the entry holds %q", got)
	}
	if got := d.Find("#remarks").Text(); got != "</textarea>"+typed {
		t.Errorf("the remarks hold %q", got)
	}
}

func TestFragmentsAreSound(t *testing.T) {
	s := newTestShell(t, testConfig())
	w := httptest.NewRecorder()
	if err := partsPage.Fragments(s, w, 200, partsShown(), "parts-findings"); err != nil {
		t.Fatal(err)
	}
	d := htmlcheck.Fragment(t, w.Body)
	if d.Find("#findings .finding").Length() != 3 {
		t.Error("the fragment does not hold the findings")
	}
	if err := partsPage.Fragments(s, httptest.NewRecorder(), 200, partsShown(), "gone"); err == nil {
		t.Error("a fragment that is not there gave no error")
	}
}
