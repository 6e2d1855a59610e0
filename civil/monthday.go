package civil

import (
	"fmt"
	"time"
)

// MonthDay is a day of the year without a year, written MM-DD. The zero value
// means "not set". 02-29 becomes 03-01 in years that lack it.
type MonthDay struct {
	Month time.Month
	Day   int
}

// ParseMonthDay reads MM-DD.
func ParseMonthDay(s string) (MonthDay, error) {
	// A leap year, so that 02-29 can be said.
	t, err := time.Parse("2006-01-02", "2000-"+s)
	if err != nil {
		return MonthDay{}, fmt.Errorf("%q is not a day of the year of the form MM-DD", s)
	}
	return MonthDay{t.Month(), t.Day()}, nil
}

// IsZero says whether the day is not set.
func (m MonthDay) IsZero() bool { return m == MonthDay{} }

// In returns the date in a year.
func (m MonthDay) In(year int) Date { return New(year, m.Month, m.Day) }

// OnOrBefore returns the last such date that is not after d.
func (m MonthDay) OnOrBefore(d Date) Date {
	if c := m.In(d.Year()); c <= d {
		return c
	}
	return m.In(d.Year() - 1)
}

// String returns MM-DD, or an empty string when not set.
func (m MonthDay) String() string {
	if m.IsZero() {
		return ""
	}
	return fmt.Sprintf("%02d-%02d", m.Month, m.Day)
}

// MarshalText writes MM-DD.
func (m MonthDay) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads MM-DD; empty is not set.
func (m *MonthDay) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*m = MonthDay{}
		return nil
	}
	v, err := ParseMonthDay(string(b))
	if err != nil {
		return err
	}
	*m = v
	return nil
}
