// Package civil has the calendar date and the one function that turns a site's
// local clock time into an instant. A date has no zone: zones enter only where
// a date becomes an instant or an instant becomes a date.
package civil

import (
	"fmt"
	"time"
)

// Date is a day of the proleptic Gregorian calendar, counted in days from
// 0001-01-01, which is the zero value and means "not set". Dates compare and
// subtract as integers.
type Date int32

// New returns the date of a year, month and day. Like time.Date it normalises
// days and months out of range; Parse is the strict way in.
func New(year int, month time.Month, day int) Date {
	return fromUTC(time.Date(year, month, day, 0, 0, 0, 0, time.UTC))
}

// Parse reads YYYY-MM-DD. A date that the calendar does not have (2026-02-30)
// is an error that says so.
func Parse(s string) (Date, error) {
	t, err := time.Parse("2006-01-02", s)
	if err != nil {
		if _, _, _, ok := digits(s); ok {
			return 0, fmt.Errorf("%q is not a day of the calendar", s)
		}
		return 0, fmt.Errorf("%q is not a date of the form YYYY-MM-DD", s)
	}
	return fromUTC(t), nil
}

// Of returns the local date of an instant.
func Of(t time.Time, loc *time.Location) Date {
	y, m, d := t.In(loc).Date()
	return New(y, m, d)
}

// IsZero says whether the date is not set.
func (d Date) IsZero() bool { return d == 0 }

// YMD returns year, month and day.
func (d Date) YMD() (int, time.Month, int) { return d.utc().Date() }

// Year returns the calendar year.
func (d Date) Year() int { return d.utc().Year() }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return d.utc().Weekday() }

// YearDay returns the day of the year, 1 to 366.
func (d Date) YearDay() int { return d.utc().YearDay() }

// AddDays returns the date n days later.
func (d Date) AddDays(n int) Date { return d + Date(n) }

// Sub returns the days from e to d.
func (d Date) Sub(e Date) int { return int(d - e) }

// String returns YYYY-MM-DD, or an empty string for the zero date.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.utc().Format("2006-01-02")
}

// Format formats the date with a layout of package time.
func (d Date) Format(layout string) string { return d.utc().Format(layout) }

// MarshalText writes YYYY-MM-DD; the zero date is empty.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads YYYY-MM-DD; empty is the zero date.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = 0
		return nil
	}
	v, err := Parse(string(b))
	if err != nil {
		return err
	}
	*d = v
	return nil
}

const secondsPerDay = 86400

// epochOffset is the number of days from 0001-01-01 to 1970-01-01.
const epochOffset = 719162

func fromUTC(t time.Time) Date { return Date(floorDiv(t.Unix(), secondsPerDay) + epochOffset) }

func (d Date) utc() time.Time {
	return time.Unix((int64(d)-epochOffset)*secondsPerDay, 0).UTC()
}

func floorDiv(a, b int64) int64 {
	q := a / b
	if a%b < 0 {
		q--
	}
	return q
}

func digits(s string) (y, m, d int, ok bool) {
	if len(s) != 10 {
		return 0, 0, 0, false
	}
	n, err := fmt.Sscanf(s, "%4d-%2d-%2d", &y, &m, &d)
	return y, m, d, err == nil && n == 3
}
