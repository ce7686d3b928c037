package quantity

import (
	"cmp"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestDatesAreRead(t *testing.T) {
	for _, c := range []struct {
		text       string
		year       int
		month      time.Month
		day        int
		weekday    time.Weekday
		isoYear    int
		week       int
		mondayText string
	}{
		{"2026-11-23", 2026, time.November, 23, time.Monday, 2026, 48, "2026-11-23"},
		{"2024-02-29", 2024, time.February, 29, time.Thursday, 2024, 9, "2024-02-26"},
		{"0001-01-01", 1, time.January, 1, time.Monday, 1, 1, "0001-01-01"},
		{"9999-12-31", 9999, time.December, 31, time.Friday, 9999, 52, "9999-12-27"},
		{"1970-01-01", 1970, time.January, 1, time.Thursday, 1970, 1, "1969-12-29"},
		// ISO 8601's own examples of weeks at a year's end (from memory).
		{"2008-12-29", 2008, time.December, 29, time.Monday, 2009, 1, "2008-12-29"},
		{"2010-01-03", 2010, time.January, 3, time.Sunday, 2009, 53, "2009-12-28"},
	} {
		d, err := ParseDate(c.text)
		if err != nil || d.String() != c.text || d != NewDate(c.year, c.month, c.day) {
			t.Errorf("%s is read as %s, %v", c.text, d, err)
			continue
		}
		if y, m, day := d.Date(); y != c.year || m != c.month || day != c.day {
			t.Errorf("%s has the parts %d, %d, %d", c.text, y, m, day)
		}
		if y, w := d.ISOWeek(); y != c.isoYear || w != c.week {
			t.Errorf("%s lies in week %d of %d", c.text, w, y)
		}
		if d.Weekday() != c.weekday || d.Monday().String() != c.mondayText {
			t.Errorf("%s is a %s in the week of %s", c.text, d.Weekday(), d.Monday())
		}
	}
	for _, text := range []string{
		"", " ", "2026-11-23 ", "2026-02-29", "2026-13-01", "2026-00-10", "2026-11-31", "0000-01-01", "10000-01-01", "-001-01-01",
		"23.11.2026", "11/23/2026", "2026-1-2", "2026-W48-1", "20261123", "2026-11-23T00:00:00Z", "\xff", "٢٠٢٦-١١-٢٣",
	} {
		d, err := ParseDate(text)
		if err == nil || d != (Date{}) || !strings.Contains(err.Error(), "is no date: write year, month and day, such as 2026-11-23") {
			t.Errorf("%q is read as %s, %v", text, d, err)
		}
	}
}

func TestDatesAreCountedWith(t *testing.T) {
	leap := NewDate(2024, time.February, 28)
	first, last := NewDate(1, time.January, 1), NewDate(9999, time.December, 31)
	for _, c := range []struct {
		got  Date
		want string
	}{
		{leap.AddDays(1), "2024-02-29"}, {leap.AddDays(2), "2024-03-01"}, {leap.AddDays(-59), "2023-12-31"}, {leap.AddDays(0), "2024-02-28"},
		{first.AddDays(-1), ""}, {last.AddDays(1), ""}, {first.AddDays(last.Sub(first)), "9999-12-31"}, {Date{}.AddDays(5), ""},
		{leap.AddDays(1 << 40), ""}, {leap.AddDays(-1 << 40), ""},
		{NewDate(2026, time.February, 30), "2026-03-02"}, {NewDate(2026, 14, 1), "2027-02-01"}, {NewDate(0, time.December, 31), ""}, {NewDate(10000,
			time.January, 1), ""},
		{Date{}.Monday(), ""},
	} {
		if got := c.got.String(); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
	if n := NewDate(2024, time.March, 1).Sub(leap); n != 2 {
		t.Errorf("%d days", n)
	}
	if (Date{}).Sub(leap) != 0 || leap.Sub(Date{}) != 0 || leap.Compare(Date{}) <= 0 || (Date{}).Compare(Date{}) != 0 {
		t.Error("no date is counted with")
	}
	if y, m, d := (Date{}).Date(); y != 0 || m != 0 || d != 0 {
		t.Error(y, m, d)
	}
	if y, w := (Date{}).ISOWeek(); y != 0 || w != 0 {
		t.Error(y, w)
	}
}

// The same moment lies on different days in different zones.
func TestADateIsThatOfTheZone(t *testing.T) {
	moment := time.Date(2026, time.November, 23, 23, 30, 0, 0, time.UTC)
	for hours, want := range map[int]string{0: "2026-11-23", 1: "2026-11-24", 14: "2026-11-24", -12: "2026-11-23", -23: "2026-11-23"} {
		if got := DateOf(moment.In(time.FixedZone("", hours*3600))).String(); got != want {
			t.Errorf("%+d h: %s, want %s", hours, got, want)
		}
	}
	if !DateOf(time.Time{}).IsZero() {
		t.Error("the zero Time has a date")
	}
}

func TestDatesInJSON(t *testing.T) {
	type record struct {
		Cured Date          `json:"cured"`
		Sold  Date          `json:"sold,omitzero"`
		By    map[Date]bool `json:"by"`
	}
	in := record{Cured: NewDate(2026, time.November, 23), By: map[Date]bool{NewDate(2027, time.January, 1): true}}
	b, err := json.Marshal(in)
	if want := `{"cured":"2026-11-23","by":{"2027-01-01":true}}`; err != nil || string(b) != want {
		t.Fatalf("%s, %v", b, err)
	}
	var out record
	if err := json.Unmarshal(b, &out); err != nil || out.Cured != in.Cured || !out.Sold.IsZero() || len(out.By) != 1 {
		t.Errorf("%+v, %v", out, err)
	}
	if err := json.Unmarshal([]byte(`{"cured":""}`), &out); err != nil || !out.Cured.IsZero() {
		t.Errorf("%+v, %v", out, err)
	}
	out.Cured = in.Cured
	if err := json.Unmarshal([]byte(`{"cured":"2026-02-30"}`), &out); err == nil || out.Cured != in.Cured {
		t.Errorf("%+v, %v", out, err)
	}
}

func anyDate(t *rapid.T, label string) Date {
	return numbered(rapid.Int64Range(1, lastDate).Draw(t, label))
}

func TestDatesAgreeWithTheCalendarOfTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, e := anyDate(t, "d"), anyDate(t, "e")
		days := rapid.IntRange(-1000, 1000).Draw(t, "days")
		year, month, day := d.Date()
		at := time.Date(year, month, day, 12, 0, 0, 0, time.UTC)
		if got, want := d.AddDays(days), DateOf(at.AddDate(0, 0, days)); got != want {
			t.Fatalf("%s and %d days is %s, want %s", d, days, got, want)
		}
		isoYear, week := at.ISOWeek()
		if y, w := d.ISOWeek(); y != isoYear || w != week || d.Weekday() != at.Weekday() {
			t.Fatalf("%s is a %s in week %d of %d", d, d.Weekday(), w, y)
		}
		if e.AddDays(d.Sub(e)) != d || cmp.Compare(d.Sub(e), 0) != d.Compare(e) || strings.Compare(d.String(), e.String()) != d.Compare(e) {
			t.Fatalf("%s and %s: %d days, compared %d", d, e, d.Sub(e), d.Compare(e))
		}
		if m := d.Monday(); !m.IsZero() && (m.Weekday() != time.Monday || d.Sub(m) < 0 || d.Sub(m) > 6) {
			t.Fatalf("the week of %s begins on %s", d, m)
		}
	})
}

func FuzzParseDate(f *testing.F) {
	for _, s := range []string{"2026-11-23", "2024-02-29", "2026-02-29", "0001-01-01", "9999-12-31", "0000-12-31", "", "2026-1-2", "\xff",
		"2026-11-23T10:00:00Z"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		d, err := ParseDate(text)
		if err != nil {
			faultWithoutField(t, text, err)
			if !d.IsZero() {
				t.Fatalf("%q: %s with %v", text, d, err)
			}
			return
		}
		if d.IsZero() || d.String() != text {
			t.Fatalf("%q is read as %q", text, d)
		}
	})
}
