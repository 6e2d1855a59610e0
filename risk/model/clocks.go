package model

import (
	"time"
)

// clocks are the hours that a clock shows at each hour of the series, 0 to 23.
type clocks struct {
	marks
	h []uint8
}

func (sn *Season) clock(kind Clock) []uint8 {
	c := &sn.clocks[one(kind == StandardClock)]
	if c.take(sn) == fresh {
		return c.h
	}
	i := len(c.h) // what a clock showed does not change with the weather
	c.h = grow(c.h, sn.w.Len())
	for i < len(c.h) {
		t := sn.w.Time(i)
		local := t.In(sn.zone)
		_, off := local.Zone()
		_, end := local.ZoneBounds()
		if kind == StandardClock {
			off = standard(local.Year(), sn.zone)
			end = time.Date(local.Year()+1, 1, 1, 0, 0, 0, 0, sn.zone)
		}
		stop := len(c.h)
		if !end.IsZero() {
			stop = max(i+1, min(stop, hourUp(sn.w, end)))
		}
		sec := (t.Unix() + int64(off)) % 86400
		day := c.h[i:stop]
		h := uint8((sec + 86400) % 86400 / 3600)
		for k := range day[:min(24, len(day))] {
			day[k] = h
			if h++; h == 24 {
				h = 0
			}
		}
		for have := 24; have < len(day); have *= 2 { // and every day the same
			copy(day[have:], day[:have])
		}
		i = stop
	}
	return c.h
}

// standard returns the seconds east of UTC without summer time: the lesser of
// those in mid January and mid July. (Ireland's law calls its summer time
// standard; growers don't.)
func standard(year int, zone *time.Location) int {
	_, jan := time.Date(year, 1, 15, 12, 0, 0, 0, zone).Zone()
	_, jul := time.Date(year, 7, 15, 12, 0, 0, 0, zone).Zone()
	return min(jan, jul)
}

// hourAt returns the hour of a calendar day's window at which the clock shows or
// first passes at, as an index that may lie outside the series. Of an hour that the
// clock shows twice it is the first, to which no earlier change of the day can
// have moved the count.
func hourAt(clock []uint8, from, at int) int {
	i := from + at
	if i < 0 || i >= len(clock) {
		return i
	}
	diff := (int(clock[i]) - at + 36) % 24 // 12 when they agree
	i -= diff - 12
	if i < 0 || i >= len(clock) {
		return i
	}
	if int(clock[i]) != at { // the clock jumped over it
		return i + 1
	}
	return i
}
