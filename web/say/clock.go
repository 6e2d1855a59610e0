package say

import (
	"fmt"
	"strings"
	"time"

	"plotwarden/civil"
)

// Clock writes the time of day of t in loc: "14:00", or "2 pm" and "2:30 pm".
func (s Style) Clock(t time.Time, loc *time.Location) string {
	l := t.In(loc)
	if !s.US {
		return l.Format("15:04")
	}
	if l.Minute() == 0 {
		return l.Format("3 pm")
	}
	return l.Format("3:04 pm")
}

// Hours writes a run of hours: "14:00 to 19:00", "2 to 7 pm". A run that ends
// with the day ends at midnight.
func (s Style) Hours(from, to time.Time, loc *time.Location) string {
	a, b := s.Clock(from, loc), s.Clock(to, loc)
	if s.US && a[len(a)-2:] == b[len(b)-2:] && civil.Of(from, loc) == civil.Of(to, loc) {
		a = strings.TrimSpace(a[:len(a)-2])
	}
	if l := to.In(loc); l.Hour() == 0 && l.Minute() == 0 {
		b = "midnight"
	}
	return a + " to " + b
}

// Moment writes an instant: "today 06:00", "Tue 3 Jun 14:00".
func (s Style) Moment(t, now time.Time, loc *time.Location) string {
	return s.Day(civil.Of(t, loc), civil.Of(now, loc)) + " " + s.Clock(t, loc)
}

// Ago writes how long before now an instant was: "20 minutes ago", "3 hours
// ago", "2 days ago". An instant ahead is "in 3 hours".
func Ago(t, now time.Time) string {
	d := now.Sub(t)
	if d < 0 {
		return "in " + Lasting(-d)
	}
	if d < time.Minute {
		return "just now"
	}
	return Lasting(d) + " ago"
}

// Lasting writes a duration in its largest fitting unit, rounded down.
func Lasting(d time.Duration) string {
	switch {
	case d < time.Hour:
		return Count(int(d/time.Minute), "minute")
	case d < 48*time.Hour:
		return Count(int(d/time.Hour), "hour")
	}
	return Count(int(d/(24*time.Hour)), "day")
}

// Count writes a number with its noun: "1 hour", "3 hours".
func Count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
