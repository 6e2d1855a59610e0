package catalog

import (
	"fmt"
	"slices"
	"time"

	"plotwarden/civil"
)

// TimeOfYear is a season of three whole months of the site's own year: spring is
// March to May in the north, September to November in the south.
type TimeOfYear string

// The times of the year.
const (
	Spring TimeOfYear = "spring"
	Summer TimeOfYear = "summer"
	Autumn TimeOfYear = "autumn"
	Winter TimeOfYear = "winter"
)

// UnmarshalText reads one of the times of the year.
func (t *TimeOfYear) UnmarshalText(b []byte) error {
	switch v := TimeOfYear(b); v {
	case Spring, Summer, Autumn, Winter:
		*t = v
		return nil
	}
	return fmt.Errorf("%q is not one of: spring, summer, autumn, winter", b)
}

// timeOf returns the time of the year of a date at a site whose year starts on a
// day: 1 January in the north, 1 July in the south; a zero one is 1 January.
func timeOf(d civil.Date, start civil.MonthDay) TimeOfYear {
	_, month, _ := d.YMD()
	if !start.IsZero() && start != (civil.MonthDay{Month: time.January, Day: 1}) {
		days := min(364, d.Sub(start.OnOrBefore(d)))
		_, month, _ = civil.New(2001, 1, 1).AddDays(days).YMD() // the same day of the northern year
	}
	switch {
	case month < time.March || month == time.December:
		return Winter
	case month < time.June:
		return Spring
	case month < time.September:
		return Summer
	}
	return Autumn
}

// Due returns the first day, not before d, on which the step is in season at a
// site whose year starts on a day: d itself for steps of the whole year.
func (a *Advice) Due(d civil.Date, start civil.MonthDay) civil.Date {
	if len(a.When) == 0 {
		return d
	}
	for last := d.AddDays(366); d < last && !slices.Contains(a.When, timeOf(d, start)); {
		d++
	}
	return d
}
