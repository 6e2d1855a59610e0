package model

import (
	"time"

	"plotwarden/civil"
	"plotwarden/weather"
)

// windows are the days of one kind, as weather.Series.Windows cuts them. Those
// of days that the series has reached do not change when it grows.
type windows struct {
	marks
	w    []weather.Window
	next civil.Date // the local date on which the next one begins
	at   time.Time  // the instant at which it begins
}

func (sn *Season) window(kind DayKind) []weather.Window {
	c := &sn.windows[kind.index()]
	if c.take(sn) == fresh {
		return c.w
	}
	hour, endDated := kind.begins()
	if c.next == 0 {
		if sn.w.Len() == 0 {
			return nil
		}
		c.next = civil.Of(sn.w.Start(), sn.zone).AddDays(-1)
		c.at = c.next.Slot(hour, 0, sn.zone)
		if c.w == nil {
			c.w = make([]weather.Window, 0, sn.w.Len()/24+3)
		}
	}
	n := sn.w.Len()
	// A day that ends before the first hour is not a window; a day that begins
	// before the last one is.
	from := hourUp(sn.w, c.at)
	steady := steadyUntil(c.at, hour, sn.zone)
	for from < n {
		// Days of 24 hours, up to the next clock change.
		days := min(int((steady.Sub(c.at)-1)/(24*time.Hour)), (n-from+23)/24)
		c.at = c.at.Add(time.Duration(max(0, days)) * 24 * time.Hour)
		for ; days > 0; days-- {
			if from > -24 {
				w := weather.Window{Date: c.next, From: from, To: from + 24}
				if endDated {
					w.Date++
				}
				c.w = append(c.w, w)
			}
			c.next, from = c.next+1, from+24
		}
		if from >= n {
			break
		}
		d := c.next.AddDays(1)
		next := c.at.Add(24 * time.Hour)
		if !next.Before(steady) {
			// A clock change lies between: only Slot knows the next begin.
			next = d.Slot(hour, 0, sn.zone)
			steady = steadyUntil(next, hour, sn.zone)
		}
		to := hourUp(sn.w, next)
		if to > 0 && to > from {
			w := weather.Window{Date: c.next, From: from, To: to}
			if endDated {
				w.Date = d
			}
			c.w = append(c.w, w)
		}
		c.next, c.at, from = d, next, to
	}
	return c.w
}

// steadyUntil returns until when days that begin 24 hours apart, the first at t,
// all begin at an hour of the clock: the next clock change, or t itself when a
// change took that hour out of t's day.
func steadyUntil(t time.Time, hour int, zone *time.Location) time.Time {
	local := t.In(zone)
	if local.Hour() != hour || local.Minute() != 0 {
		return t
	}
	if _, end := local.ZoneBounds(); !end.IsZero() {
		return end
	}
	return t.AddDate(1000, 0, 0)
}

// hourUp returns the first hour that begins at or after t, as an index.
func hourUp(w *weather.Series, t time.Time) int {
	return w.Index(t.Add(59*time.Minute + 59*time.Second))
}

// dayAt returns the index of the window that holds hour i, or the number of
// windows when it lies behind the last.
func dayAt(ws []weather.Window, i int) int {
	lo, hi := 0, len(ws)
	for lo < hi {
		if mid := (lo + hi) / 2; ws[mid].To <= i {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// firstDay turns the first changed hour into the first changed day.
func (sn *Season) firstDay(kind DayKind, hour int) int {
	if hour == 0 || hour == fresh || sn.w == nil {
		return hour
	}
	f := &sn.firsts[kind.index()]
	if f.gen != sn.gen || f.hour != hour {
		*f = dayOfHour{sn.gen, hour, dayAt(sn.window(kind), hour)}
	}
	return f.day
}

// dayOfHour is the day that was last looked up, which nearly all rules ask for.
type dayOfHour struct{ gen, hour, day int }

// count returns the number of days of a kind.
func (sn *Season) count(kind DayKind) int {
	if sn.w == nil {
		return len(sn.src)
	}
	return len(sn.window(kind))
}

// firstDate returns the date of the first day of a kind. There must be one.
func (sn *Season) firstDate(kind DayKind) civil.Date {
	if sn.w == nil {
		return sn.src[0].Date
	}
	return sn.window(kind)[0].Date
}

// inside returns the part of a window that lies in the series, and how many of
// its hours lie before the series: those are unknown for good.
func inside(w weather.Window, n int) (from, to, before int) {
	return max(0, w.From), min(w.To, n), max(0, -w.From)
}

// openDay returns the index of the day within which the series ends, or -1: that
// day is not over, and its hours still to come are not unknown.
func (sn *Season) openDay(kind DayKind) int {
	if sn.w == nil {
		return -1
	}
	ws := sn.window(kind)
	if len(ws) == 0 || ws[len(ws)-1].To <= sn.w.Len() {
		return -1
	}
	return len(ws) - 1
}
