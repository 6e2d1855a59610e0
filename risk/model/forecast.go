package model

import (
	"bytes"
	"math"

	"plotwarden/civil"
	"plotwarden/weather"
)

// forecastDays says of each day whether any of its hours of one column is
// forecast, by its origin or because it lies ahead.
type forecastDays struct {
	marks
	is []bool
}

type forecastKey struct {
	kind DayKind
	v    weather.Var
}

func (sn *Season) forecastDays(kind DayKind, v weather.Var) []bool {
	c := part(sn, sn.forecasts, forecastKey{kind, v}, func() *forecastDays { return &forecastDays{} })
	from := sn.firstDay(kind, c.take(sn))
	if from == fresh {
		return c.is
	}
	c.is = grow(c.is, sn.count(kind))
	clear(c.is[from:])
	if sn.w == nil {
		today := civil.Date(math.MaxInt32)
		if !sn.now.IsZero() {
			today = sn.dateOf(sn.now)
		}
		for i := from; i < len(c.is); i++ {
			c.is[i] = sn.src[i].Kind == weather.Forecast || sn.src[i].Date >= today
		}
		return c.is
	}
	ws := sn.window(kind)
	if from < len(ws) {
		handles := sn.w.Handles(v)
		for h, o := range sn.w.Origins() {
			if o.Kind == weather.Forecast {
				c.find(handles, byte(h+1), ws, from)
			}
		}
	}
	if !sn.now.IsZero() {
		for i := max(from, dayAt(ws, sn.w.Index(sn.now))); i < len(ws); i++ {
			c.is[i] = true
		}
	}
	return c.is
}

// find marks the days in which a handle occurs. Forecasts sit together, so it
// looks for the next one and then goes on at the next day.
func (c *forecastDays) find(handles []uint8, h byte, ws []weather.Window, day int) {
	at := max(0, ws[day].From)
	for at < len(handles) {
		hit := bytes.IndexByte(handles[at:], h)
		if hit < 0 {
			return
		}
		at += hit
		for ws[day].To <= at {
			day++
		}
		c.is[day] = true
		at = ws[day].To
	}
}
