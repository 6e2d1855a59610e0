package draw

import (
	"html/template"
	"slices"

	"plotwarden/civil"
	"plotwarden/plan"
)

// Lane is one threat to one planting on the axis. Dates are local; a zero date
// is not known or beyond what was looked at.
type Lane struct {
	ID          string // unique in the page
	Title, Desc string
	Readiness   plan.Readiness
	P10         civil.Date
	P50         civil.Date
	P90         civil.Date
	Reached     civil.Date
	Infections  []civil.Date // days whose weather allows infection
	WorkFrom    civil.Date   // the days in which the first step is to be done
	WorkBy      civil.Date
}

// Vertical positions of a lane, in pixels.
const (
	laneHeight = 42
	barY       = 9
	barHeight  = 14
	barMiddle  = barY + barHeight/2
	workY      = 35
)

// fading is the part of the width over which a bar with an open end fades out.
const fading = 14.0

// DrawLane draws a lane.
func DrawLane(a Axis, l Lane) template.HTML {
	var c canvas
	c.open("strip r-"+l.Readiness.String(), l.ID, l.Title, l.Desc, laneHeight)
	a.ground(&c, laneHeight)
	if l.Readiness == plan.Blind {
		c.rect("unknown", 0, 100, barY-3, barHeight+6, ` fill="url(#hatch)"`)
	}
	l.spread(&c, a)
	for _, d := range l.Infections {
		if a.Has(d) {
			c.at(a.middle(d), `<path class="infection" d="M0 8 8 16 0 24-8 16Z"/>`)
		}
	}
	l.work(&c, a)
	return c.done()
}

func (l *Lane) spread(c *canvas, a Axis) {
	switch {
	case !l.Reached.IsZero():
		c.f(`<path class="reached" d="M3 %d 14 %dv18Z"/>`, barMiddle, barMiddle-9)
		c.fade(2.5, fading)
		return
	case l.P10.IsZero():
		return
	case l.P10 >= a.End():
		c.at(100, `<path class="beyond" d="M-16 9-8 16-16 23"/>`)
		return
	}
	x1 := a.start(l.P10)
	if !l.P90.IsZero() && l.P90 < a.End() {
		c.rect("spread", x1, a.start(l.P90.AddDays(1)), barY, barHeight, ` rx="3"`)
	} else {
		// The rest lies beyond the edge, or was never reached by the runs.
		solid := 100 - min(fading, (100-x1)/2)
		c.rect("spread", x1, solid, barY, barHeight, "")
		c.fade(solid, 100-solid)
	}
	if a.Has(l.P50) && !slices.Contains(l.Infections, l.P50) { // one mark a day
		c.at(a.middle(l.P50), `<rect class="median" x="-2.500" y="3" width="5" height="26"/>`)
	}
}

// fade draws the open end of a bar: four pieces with growing gaps, each fainter.
func (c *canvas) fade(x, width float64) {
	piece := width / 4
	for i := range 4 {
		left := x + float64(i)*piece + float64(i)*piece*0.12
		c.rect("spread", left, min(left+piece*(0.85-0.15*float64(i)), x+width), barY, barHeight, ` opacity="`+num(0.85-0.2*float64(i))+`"`)
	}
}

// work draws the days for the first step as a line that ends in a stop.
func (l *Lane) work(c *canvas, a Axis) {
	if l.WorkBy.IsZero() || l.WorkBy < a.From || l.WorkFrom >= a.End() {
		return
	}
	x2 := a.start(l.WorkBy.AddDays(1))
	c.rect("work", a.start(max(l.WorkFrom, a.From)), x2, workY, 3, "")
	if l.WorkBy < a.End() {
		c.at(x2, `<rect class="work" x="-3" y="30" width="3" height="11"/>`)
	}
}
