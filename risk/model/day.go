package model

// DayKind is what a rule calls a day. Each is a day of the site's own clock.
type DayKind string

// The kinds of day.
const (
	Calendar DayKind = "calendar" // midnight to midnight
	Noon     DayKind = "noon"     // noon to noon, dated on the day it ends
	From09   DayKind = "09"       // 09 to 09, dated on the day it begins
	From06   DayKind = "06"       // 06 to 06, dated on the day it begins
)

// UnmarshalText reads one of the kinds of day.
func (d *DayKind) UnmarshalText(b []byte) error { return choose(d, b, Calendar, Noon, From09, From06) }

// begins returns the clock hour at which such a day begins, and whether it is
// dated on the day it ends.
func (d DayKind) begins() (hour int, endDated bool) {
	switch d {
	case Noon:
		return 12, true
	case From09:
		return 9, false
	case From06:
		return 6, false
	}
	return 0, false
}

// String says what the day is, in plain words.
func (d DayKind) String() string {
	switch d {
	case Noon:
		return "noon to noon, dated on the day it ends"
	case From09:
		return "09:00 to 09:00, dated on the day it begins"
	case From06:
		return "06:00 to 06:00, dated on the day it begins"
	}
	return "midnight to midnight"
}

// index numbers the kinds of day.
func (d DayKind) index() int {
	switch d {
	case Noon:
		return 1
	case From09:
		return 2
	case From06:
		return 3
	}
	return 0
}
