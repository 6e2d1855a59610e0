package weather

import (
	"slices"
	"time"
)

// FromLocalClock turns the readings of a local wall clock, in the order of their
// file, into instants. A reading is given as a time in UTC whose fields are the
// clock's. Of an hour that the clock shows twice, at the end of summer time, the
// first reading is taken for the first time round and a repeated one for the
// second; a file that gives the hour once is taken to mean the first. Files with
// the newest reading first are understood.
//
// A reading that the clock never showed, at the start of summer time, has no
// instant: its place holds the zero time and its index is in skipped.
func FromLocalClock(readings []time.Time, loc *time.Location) (instants []time.Time, skipped []int) {
	falls, rises := 0, 0
	for i := 1; i < len(readings); i++ {
		switch readings[i].Compare(readings[i-1]) {
		case -1:
			falls++
		case 1:
			rises++
		}
	}
	instants = make([]time.Time, len(readings))
	var before time.Time
	for k := range readings {
		i := k
		if falls > rises {
			i = len(readings) - 1 - k
		}
		c := onClock(readings[i], loc)
		if len(c) == 0 {
			skipped = append(skipped, i)
			continue
		}
		pick := c[0]
		if len(c) > 1 && !before.Before(c[0]) && before.Before(c[1]) {
			pick = c[1]
		}
		instants[i], before = pick, pick
	}
	slices.Sort(skipped)
	return instants, skipped
}

// onClock returns the instants at which the clock of loc shows a reading: none,
// one or two, in order.
func onClock(reading time.Time, loc *time.Location) []time.Time {
	var out []time.Time
	for _, d := range []time.Duration{-26 * time.Hour, 26 * time.Hour} {
		_, offset := reading.Add(d).In(loc).Zone()
		at := reading.Add(-time.Duration(offset) * time.Second).UTC()
		l := at.In(loc)
		shown := time.Date(l.Year(), l.Month(), l.Day(), l.Hour(), l.Minute(), l.Second(), l.Nanosecond(), time.UTC)
		if shown.Equal(reading) && !slices.ContainsFunc(out, at.Equal) {
			out = append(out, at)
		}
	}
	slices.SortFunc(out, time.Time.Compare)
	return out
}
