package config

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Duration is a length of time, written as a number with its unit: "30 min",
// "12 h", "2 d". A number alone is refused: nobody can tell what it counts.
type Duration time.Duration

// The units of durations.
const (
	Minute = Duration(time.Minute)
	Hour   = Duration(time.Hour)
	Day    = 24 * Hour
)

var durationUnits = []struct {
	name string
	size Duration
}{{"d", Day}, {"h", Hour}, {"min", Minute}}

// maxDuration keeps the arithmetic far from its end: ten years.
const maxDuration = 3650 * Day

// UnmarshalText reads a duration of at least 0 and at most ten years.
func (d *Duration) UnmarshalText(b []byte) error {
	s := strings.TrimSpace(string(b))
	end := strings.LastIndexAny(s, "0123456789.") + 1
	unit := strings.TrimSpace(s[end:])
	n, err := strconv.ParseFloat(s[:end], 64)
	if err != nil {
		return fmt.Errorf("%q is not a duration; write a number with a unit: 30 min, 12 h, 2 d", b)
	}
	for _, u := range durationUnits {
		if u.name != unit {
			continue
		}
		if !(n >= 0 && n <= float64(maxDuration/u.size)) {
			return fmt.Errorf("%q is not between 0 and ten years", b)
		}
		*d = Duration(n * float64(u.size))
		return nil
	}
	if unit == "" {
		return fmt.Errorf("%q has no unit; write 30 min, 12 h or 2 d", b)
	}
	return fmt.Errorf("%q: unit %q is not known; known are: min, h, d", b, unit)
}

// Std returns the duration for package time.
func (d Duration) Std() time.Duration { return time.Duration(d) }

// String writes the duration in the largest unit that leaves a whole number.
func (d Duration) String() string {
	for _, u := range durationUnits {
		if d%u.size == 0 && d != 0 {
			return fmt.Sprintf("%d %s", d/u.size, u.name)
		}
	}
	return strconv.FormatFloat(time.Duration(d).Minutes(), 'g', 6, 64) + " min"
}

// Clock is a local time of day.
type Clock struct{ Hour, Minute int }

// UnmarshalText reads HH:MM.
func (c *Clock) UnmarshalText(b []byte) error {
	t, err := time.Parse("15:04", string(b))
	if err != nil {
		return fmt.Errorf("%q is not a time of day of the form 06:00", b)
	}
	*c = Clock{t.Hour(), t.Minute()}
	return nil
}

// String returns HH:MM.
func (c Clock) String() string { return fmt.Sprintf("%02d:%02d", c.Hour, c.Minute) }
