package quantity

import (
	"cmp"
	"time"

	"barwright/fault"
)

// A Date is a day of the calendar, without a time of day and without a zone. It lies in
// the years 1 to 9999. The zero Date is no date. Dates can be compared with ==.
//
// Its text, also in JSON and in a database, is ISO 8601's, as 2026-11-23, and "" for no
// date. Such texts sort in the order of the days.
type Date struct {
	n int32 // days since 31 December of the year 0, so that 1 is 1 January of the year 1
}

// daysToUnix is the number of the day on which Unix time begins.
const daysToUnix = 719163

// lastDate is the number of 31 December 9999.
const lastDate = 3652059

// NewDate is the date of that year, month and day of the month. Months and days beyond
// their end run on into the next, as in time.Date. Outside the years 1 to 9999 it is
// no date.
func NewDate(year int, month time.Month, day int) Date {
	return numbered(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix()/86400 + daysToUnix)
}

// DateOf is the date on which t falls in the zone that t has. The zero Time has no date.
func DateOf(t time.Time) Date {
	if t.IsZero() {
		return Date{}
	}
	return NewDate(t.Date())
}

func numbered(n int64) Date {
	if n < 1 || n > lastDate {
		return Date{}
	}
	return Date{int32(n)}
}

// ParseDate reads a date of ISO 8601, as 2026-11-23.
//
// Errors: fault.Invalid without a field, also for a day that its month does not have.
func ParseDate(text string) (Date, error) {
	if t, err := time.Parse(time.DateOnly, text); err == nil {
		if d := NewDate(t.Date()); !d.IsZero() {
			return d, nil
		}
	}
	return Date{}, fault.Invalidf("", "%s is no date: write year, month and day, such as 2026-11-23", quoted(text))
}

// time is midnight at the beginning of the day, in UTC.
func (d Date) time() time.Time { return time.Unix((int64(d.n)-daysToUnix)*86400, 0).UTC() }

// IsZero reports that d is no date.
func (d Date) IsZero() bool { return d.n == 0 }

// Date gives the year, the month and the day of the month, and zeros for no date.
func (d Date) Date() (year int, month time.Month, day int) {
	if d.IsZero() {
		return 0, 0, 0
	}
	return d.time().Date()
}

// String writes the date as 2026-11-23, and "" for no date.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.time().Format(time.DateOnly)
}

// Compare is below 0 when d lies before e, 0 when they are the same day, and above 0
// when d lies after e. No date lies before every date.
func (d Date) Compare(e Date) int { return cmp.Compare(d.n, e.n) }

// Equal reports whether both are the same day.
func (d Date) Equal(e Date) bool { return d == e }

// AddDays is the date so many days later, or earlier where days is below 0. It is no
// date when d is none, and when the result lies outside the years 1 to 9999.
func (d Date) AddDays(days int) Date {
	if d.IsZero() || days > lastDate || days < -lastDate {
		return Date{}
	}
	return numbered(int64(d.n) + int64(days))
}

// Sub is how many days d lies after e, below 0 when it lies before. It is 0 when one of
// the two is no date: ask IsZero where that may be.
func (d Date) Sub(e Date) int {
	if d.IsZero() || e.IsZero() {
		return 0
	}
	return int(d.n) - int(e.n)
}

// Weekday is the day of the week. Of no date it is Sunday, the zero Weekday.
func (d Date) Weekday() time.Weekday { return time.Weekday(d.n % 7) }

// Monday is the first day of the date's ISO week.
func (d Date) Monday() Date { return d.AddDays(-(int(d.Weekday()) + 6) % 7) }

// ISOWeek is the week of ISO 8601, 1 to 53, and the year that the week belongs to: the
// first days of January may lie in the last week of the year before. Both are 0 for no date.
func (d Date) ISOWeek() (year, week int) {
	if d.IsZero() {
		return 0, 0
	}
	return d.time().ISOWeek()
}

// MarshalText writes the date as String does.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what ParseDate reads, and "" as no date.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = Date{}
		return nil
	}
	return readUnit(d, b, ParseDate)
}
