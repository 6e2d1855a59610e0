package model

import (
	"bytes"
	"math"

	"plotwarden/civil"
	"plotwarden/weather"
)

// dayFlags say of each day whether it rests on forecasts in any of some columns,
// by their origin or because the day lies ahead, and whether it is not over.
type dayFlags struct {
	marks
	vars  []weather.Var
	f     []uint8
	quiet int // so many days, the first, have no flag
}

type flagKey struct {
	kind DayKind
	vars uint32 // a bit for each column
}

func (sn *Season) flagsOf(kind DayKind, vars []weather.Var) *dayFlags {
	k := flagKey{kind: kind}
	for _, v := range vars {
		k.vars |= 1 << v
	}
	return part(sn, sn.flags, k, func() *dayFlags { return &dayFlags{vars: vars} })
}

func (c *dayFlags) get(sn *Season, kind DayKind) []uint8 {
	from := sn.firstDay(kind, c.take(sn))
	if from == fresh {
		return c.f
	}
	c.f = grow(c.f, sn.count(kind))
	if from >= len(c.f) {
		c.quiet = min(c.quiet, len(c.f))
		return c.f
	}
	clear(c.f[from:])
	defer c.listen(min(from, c.quiet))
	if sn.w == nil {
		c.ofDays(sn, from)
		return c.f
	}
	ws := sn.window(kind)
	for h, o := range sn.w.Origins() {
		if o.Kind != weather.Forecast {
			continue
		}
		for _, v := range c.vars {
			c.find(sn.w.Handles(v), byte(h+1), ws, from)
		}
	}
	if !sn.now.IsZero() {
		for i := max(from, dayAt(ws, sn.w.Index(sn.now))); i < len(ws); i++ {
			c.f[i] = isForecast
		}
	}
	if open := sn.openDay(kind); open >= 0 {
		c.f[open] |= isProvisional
	}
	return c.f
}

// listen finds the first day with a flag, which is not before day i.
func (c *dayFlags) listen(i int) {
	for i < len(c.f) && c.f[i] == 0 {
		i++
	}
	c.quiet = i
}

func (c *dayFlags) ofDays(sn *Season, from int) {
	today := civil.Date(math.MaxInt32)
	if !sn.now.IsZero() {
		today = civil.Of(sn.now, sn.zone)
	}
	for i := from; i < len(c.f); i++ {
		if sn.src[i].Kind == weather.Forecast || sn.src[i].Date >= today {
			c.f[i] = isForecast
		}
	}
}

// find flags the days in which a handle occurs. Forecasts sit together, so it
// looks for the next one and then goes on at the next day.
func (c *dayFlags) find(handles []uint8, h byte, ws []weather.Window, day int) {
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
		c.f[day] = isForecast
		at = ws[day].To
	}
}
