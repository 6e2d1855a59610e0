package draw

import (
	"html/template"
	"strconv"
	"time"

	"plotwarden/civil"
	"plotwarden/web/say"
)

// Axis is the time axis of a lead line: Days local days from From on, the first
// at the left edge.
type Axis struct {
	From civil.Date
	Days int
	Loc  *time.Location
}

// End returns the first day after the axis.
func (a Axis) End() civil.Date { return a.From.AddDays(a.Days) }

// Has says whether a day lies on the axis.
func (a Axis) Has(d civil.Date) bool { return d >= a.From && d < a.End() }

// start returns where a day begins, in per cent of the width, kept on the axis.
func (a Axis) start(d civil.Date) float64 {
	return clamp(100*float64(d.Sub(a.From))/float64(a.Days), 0, 100)
}

// middle returns the middle of a day in per cent of the width.
func (a Axis) middle(d civil.Date) float64 {
	return 100 * (float64(d.Sub(a.From)) + 0.5) / float64(a.Days)
}

// ground shades the weekends, when most shared ground is worked, and marks
// today's edge.
func (a Axis) ground(c *canvas, height int) {
	for d := a.From; d < a.End(); {
		n := 1
		switch d.Weekday() {
		case time.Saturday:
			n = 2
		case time.Sunday: // only as the first day
		default:
			d = d.AddDays(1)
			continue
		}
		c.rect("weekend", a.start(d), a.start(d.AddDays(n)), 0, height, "")
		d = d.AddDays(n)
	}
	c.f(`<rect class="today" width="2" height="%d"/>`, height)
}

// AxisLabels draws the days' names and numbers. Labels that do not fit on a
// phone or a tablet carry a class that the style sheet hides there: k1 always
// shows, k2 from a tablet on, k3 on a wide screen.
func AxisLabels(a Axis, style say.Style) template.HTML {
	var c canvas
	c.f(`<svg class="axis" width="100%%" height="44" aria-hidden="true" focusable="false">`)
	a.ground(&c, 44)
	month := ""
	for i := range a.Days {
		d := a.From.AddDays(i)
		class := a.rank(i)
		if i == 0 {
			c.text("k1 d", 0.9, 17, "start", "Today")
			c.text("k1 d", 0.9, 38, "start", dayNumber(d))
			month = d.Format("Jan")
			continue
		}
		if class == "" {
			continue
		}
		label := dayNumber(d)
		// The first label of a month that every screen shows names it.
		if m := d.Format("Jan"); m != month && class == "k1" {
			label, month = style.Date(d, a.From), m
		}
		c.text(class, a.middle(d), 17, "middle", d.Format("Mon")[:2])
		c.text(class, a.middle(d), 38, "middle", label)
	}
	return c.done()
}

// rank returns the class of the label of day i; empty for one that never fits.
func (a Axis) rank(i int) string {
	narrow, medium := 2, 1
	if a.Days > 14 {
		narrow, medium = 7, 2
	}
	switch {
	case i == 1 && a.Days > 14:
		return "" // these first ones give "Today" its place
	case i == 1 || i == 2 && a.Days > 14:
		return "k3"
	case i == 2:
		return "k2"
	case i%narrow == 0:
		return "k1"
	case a.Days > 14 && (i%narrow == 1 || i%narrow == narrow-1):
		return "k3" // beside a label that may hold a month
	case i%medium == 0:
		return "k2"
	}
	return "k3"
}

func dayNumber(d civil.Date) string {
	_, _, n := d.YMD()
	return strconv.Itoa(n)
}
