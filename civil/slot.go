package civil

import "time"

// Slot returns the instant at which the local clock of loc first shows, or
// first passes, hour:minute on the date. On a day whose clocks jump over that
// time it is the first instant after the jump; on a day whose clocks show it
// twice it is the first of the two. Local midnight plus hours is wrong on those
// days, so every local time in the program goes through here.
func (d Date) Slot(hour, minute int, loc *time.Location) time.Time {
	y, m, day := d.YMD()
	want := time.Date(y, m, day, hour, minute, 0, 0, time.UTC)
	// wall returns how far the local wall clock at t stands past the wanted time.
	wall := func(t time.Time) time.Duration {
		l := t.In(loc)
		return time.Date(l.Year(), l.Month(), l.Day(), l.Hour(), l.Minute(), l.Second(), 0, time.UTC).Sub(want)
	}
	// Zones lie within 26 hours of UTC, so a window of 36 hours each way holds
	// every candidate. The wall clock is piecewise linear; walk its pieces.
	t := want.Add(-36 * time.Hour)
	for i := 0; i < 8; i++ {
		next := t.Add(-wall(t)) // where this piece would show the wanted time
		_, end := t.In(loc).ZoneBounds()
		if end.IsZero() || next.Before(end) {
			return next.UTC()
		}
		if wall(end) >= 0 { // the jump passes over the wanted time
			return end.UTC()
		}
		t = end
	}
	return t.UTC()
}

// Start returns the first instant of the local day: midnight, or the first
// instant after a clock change that removes midnight.
func (d Date) Start(loc *time.Location) time.Time { return d.Slot(0, 0, loc) }
