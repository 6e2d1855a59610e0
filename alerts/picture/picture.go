// Package picture draws the lead line of the pages as a PNG for mails: mail
// programs show no SVG. It draws the same lanes with the same shapes, colours and
// words, on light ground with its own edge, so that it reads in a dark mail too.
package picture

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"strconv"

	"plotwarden/alerts"
	"plotwarden/civil"
	"plotwarden/lang"
	"plotwarden/plan"
	"plotwarden/web/draw"
)

// MaxRows is how many lanes a picture has at the most: more are on the pages.
const MaxRows = 8

// The measures in pixels as a phone shows them, so that its words can be read
// there; the picture has twice as many each way, for screens of two pixels to one
// and for those that show it larger.
const (
	Width  = 360
	scale  = 2
	pad    = 10
	top    = 34 // the days
	row    = 52
	nameY  = 15
	barY   = 22
	barH   = 12
	workY  = 38
	lineTo = Width - pad
)

var (
	ground  = rgb("#ffffff")
	edge    = rgb("#d8d4c8")
	ink     = rgb("#1d2326")
	soft    = rgb("#4b5559")
	weekend = rgb("#f1efe8")
	work    = rgb("#1d2326")
)

// Draw draws lanes beneath each other. Lanes have their names as Title; those after
// MaxRows are left out. No lane gives no picture.
func Draw(a draw.Axis, lanes []draw.Lane, v lang.Voice) ([]byte, image.Point, error) {
	if len(lanes) == 0 || a.Days < 1 {
		return nil, image.Point{}, nil
	}
	lanes = lanes[:min(len(lanes), MaxRows)]
	size := image.Pt(Width, top+len(lanes)*row+pad)
	c := newCanvas(size)
	c.rect(0, 0, float64(size.X), float64(size.Y), edge)
	c.rect(1, 1, float64(size.X-1), float64(size.Y-1), ground)
	for d := a.From; d < a.End(); d++ {
		if w := d.Weekday(); w == 0 || w == 6 {
			c.rect(at(a, d), top-4, at(a, d+1), float64(size.Y-pad/2), weekend)
		}
	}
	c.rect(pad, top-4, pad+2, float64(size.Y-pad/2), soft)
	for i := range a.Days {
		label := ""
		switch {
		case i == 0:
			label = v.T("Today")
		case i >= 2 && i%2 == 0:
			label = dayOf(a.From.AddDays(i), v)
		}
		if label != "" {
			x := (at(a, a.From.AddDays(i)) + at(a, a.From.AddDays(i+1))) / 2
			if i == 0 {
				c.text(pad, 20, label, soft, 12, false, left)
			} else {
				c.text(x, 20, label, soft, 12, false, middle)
			}
		}
	}
	for i, l := range lanes {
		c.lane(a, l, float64(top+i*row), v)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, c.few(used(lanes))); err != nil {
		return nil, image.Point{}, fmt.Errorf("encode the picture: %w", err)
	}
	return b.Bytes(), size, nil
}

// used are the colours that must be in the picture as they are.
func used(lanes []draw.Lane) []color.RGBA {
	out := []color.RGBA{ground, edge, ink, soft, weekend}
	for _, l := range lanes {
		c := rgb(alerts.LookOf(l.Readiness).Light)
		out = append(out, c, pale(c, 0.55))
	}
	return out
}

// dayOf is a weekday's two letters and its number.
func dayOf(d civil.Date, v lang.Voice) string {
	_, _, n := d.YMD()
	name := []rune(v.DayName(d, d))
	return string(name[:2]) + " " + strconv.Itoa(n)
}

// at is where a day begins.
func at(a draw.Axis, d civil.Date) float64 {
	share := float64(d.Sub(a.From)) / float64(a.Days)
	return pad + (lineTo-pad)*max(0, min(1, share))
}

func (c *canvas) lane(a draw.Axis, l draw.Lane, y float64, v lang.Voice) {
	colour := rgb(alerts.LookOf(l.Readiness).Light)
	c.shape(l.Readiness, pad+2, y+nameY-11, colour)
	c.text(pad+20, y+nameY, v.Ready(l.Readiness)+": "+l.Title, ink, 13, true, left)
	c.rect(pad, y+barY+barH/2-0.5, lineTo, y+barY+barH/2+0.5, edge)
	switch {
	case l.Readiness == plan.Blind:
		for x := float64(pad); x < lineTo; x += 8 {
			c.line(x, y+barY+barH, min(x+barH, lineTo), y+barY, 1, colour)
		}
	case !l.Reached.IsZero():
		c.fill(colour, pad, y+barY+barH/2, pad+11, y+barY-3, pad+11, y+barY+barH+3)
		c.rect(pad+14, y+barY, pad+32, y+barY+barH, colour)
	case l.P10.IsZero():
	case l.P10 >= a.End():
		c.line(lineTo-14, y+barY, lineTo-6, y+barY+barH/2, 2, colour)
		c.line(lineTo-6, y+barY+barH/2, lineTo-14, y+barY+barH, 2, colour)
	default:
		c.spread(a, l, y, colour)
	}
	for _, d := range l.Infections {
		if a.Has(d) {
			x := (at(a, d) + at(a, d+1)) / 2
			m := y + barY + barH/2
			c.fill(colour, x, m-8, x+8, m, x, m+8, x-8, m)
		}
	}
	if !l.WorkBy.IsZero() && l.WorkBy >= a.From && l.WorkFrom < a.End() {
		x1, x2 := at(a, max(l.WorkFrom, a.From)), at(a, l.WorkBy+1)
		c.rect(x1, y+workY, x2, y+workY+3, work)
		if l.WorkBy < a.End() {
			c.rect(x2-3, y+workY-3, x2, y+workY+6, work)
		}
	}
}

// spread is the bar from the early to the late date with a mark at the middle one;
// an open end fades in steps.
func (c *canvas) spread(a draw.Axis, l draw.Lane, y float64, colour color.RGBA) {
	x1 := at(a, l.P10)
	if !l.P90.IsZero() && l.P90 < a.End() {
		c.rect(x1, y+barY, at(a, l.P90+1), y+barY+barH, pale(colour, 0.55))
	} else {
		solid := max(x1, lineTo-40)
		if solid > x1 {
			c.rect(x1, y+barY, solid, y+barY+barH, pale(colour, 0.55))
		}
		piece := (lineTo - solid) / 4
		for i := range 4 {
			x := solid + float64(i)*piece
			c.rect(x, y+barY, x+piece*(0.85-0.15*float64(i)), y+barY+barH, pale(colour, 0.45-0.1*float64(i)))
		}
	}
	if a.Has(l.P50) {
		x := (at(a, l.P50) + at(a, l.P50+1)) / 2
		c.rect(x-2.5, y+barY-4, x+2.5, y+barY+barH+4, colour)
	}
}
