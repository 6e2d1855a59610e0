package draw

import (
	"fmt"
	"html/template"
	"time"

	"plotwarden/plan"
)

// The hours of a day that are drawn, and the height of one in pixels. Work on
// the beds outside them is not suggested by the drawing.
const (
	firstHour  = 4
	lastHour   = 22
	hourHeight = 6
	stripTop   = 4
)

// Hours is the working hours on the axis of a lead line: each day is a column
// with the morning at its top.
type Hours struct {
	ID          string
	Title, Desc string
	Runs        []plan.Hours // in order of time
	Now         time.Time    // hours before it are left empty
}

// DrawHours draws working hours. Hours after the last run are unknown.
func DrawHours(a Axis, h Hours) template.HTML {
	height := stripTop*2 + (lastHour-firstHour)*hourHeight
	var c canvas
	c.open("strip hours", h.ID, h.Title, h.Desc, height)
	a.ground(&c, height)
	gap := 8.0 / float64(a.Days)
	for d := a.From; d < a.End(); d++ {
		x1, x2 := a.start(d)+gap, a.start(d.AddDays(1))-gap
		from, to := d.Slot(firstHour, 0, a.Loc), d.Slot(lastHour, 0, a.Loc)
		c.rect("day", x1, x2, stripTop, (lastHour-firstHour)*hourHeight, "")
		seen := from
		for _, r := range h.Runs {
			lo, hi := later(later(r.From, from), h.Now), earlier(r.To, to)
			if !lo.Before(hi) {
				continue
			}
			seen = hi
			switch {
			case r.Good:
				c.block("good", x1, x2, from, lo, hi, "")
			case r.Unknown:
				c.block("unknown", x1, x2, from, lo, hi, ` fill="url(#hatch)"`)
			}
		}
		if lo := later(seen, h.Now); len(h.Runs) == 0 || !h.Runs[len(h.Runs)-1].To.After(lo) {
			c.block("unknown", x1, x2, from, lo, to, ` fill="url(#hatch)"`)
		}
	}
	for _, hour := range []int{6, 12, 18} {
		y := stripTop + (hour-firstHour)*hourHeight
		c.f(`<line class="tick" x1="0" x2="100%%" y1="%d" y2="%d"/>`, y, y)
	}
	return c.done()
}

// block fills a column between two instants of its day; an hour in part fills
// its part.
func (c *canvas) block(class string, x1, x2 float64, dayFrom, from, to time.Time, more string) {
	y := func(t time.Time) float64 { return stripTop + t.Sub(dayFrom).Hours()*hourHeight }
	if !from.Before(to) || x2 <= x1 {
		return
	}
	c.f(`<rect class="%s" x="%s" width="%s" y="%s" height="%s"%s/>`, class, pct(x1), pct(x2-x1), num(y(from)), num(y(to)-y(from)), more)
}

// HourLabels draws the clock beside the columns of DrawHours.
func HourLabels(label func(hour int) string) template.HTML {
	var c canvas
	height := stripTop*2 + (lastHour-firstHour)*hourHeight
	c.f(`<svg class="clock" width="68" height="%d" aria-hidden="true" focusable="false">`, height)
	for _, hour := range []int{6, 12, 18} {
		c.f(`<text x="64" y="%d" text-anchor="end">%s</text>`, stripTop+(hour-firstHour)*hourHeight+5, template.HTMLEscapeString(label(hour)))
	}
	return c.done()
}

// Bar draws a share from 0 to 1 as a bar; its words stand beside it.
func Bar(share float64) template.HTML {
	return template.HTML(fmt.Sprintf( //nolint:gosec // numbers only
		`<svg class="bar" width="100%%" height="16" aria-hidden="true" focusable="false"><rect class="whole" width="100%%" height="16"/><rect class="part" width="%s" height="16"/></svg>`,
		pct(clamp(share*100, 0, 100))))
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}
