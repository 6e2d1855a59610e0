package draw

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strings"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/web/say"
)

// Level is a threshold that a chart shows.
type Level struct {
	Name  string
	Value float64
}

// Chart is a track against its thresholds.
type Chart struct {
	ID          string
	Title, Desc string
	Points      []risk.Point // consecutive days
	Events      []risk.Event
	Levels      []Level // in rising order; empty draws each day's own value
	Today       civil.Date
	Style       say.Style
}

// Pixels of a chart.
const (
	chartHeight = 300
	plotTop     = 30
	plotBottom  = 258
	labelGap    = 21 // least distance of two lines of text
)

// farAbove is how many times the highest total the next level may be to be drawn
// once an earlier one was passed.
const farAbove = 2.5

// DrawChart draws a track: what was observed as a full line, what rests on the
// forecast as a broken one, days with unknown hours hatched, and the range that
// they leave open as a band. Without levels each day's own value is a column.
// It returns an empty string for a track without points.
func DrawChart(ch Chart) template.HTML {
	if len(ch.Points) == 0 {
		return ""
	}
	p := newPlot(&ch)
	var c canvas
	c.open("chart", ch.ID, ch.Title, ch.Desc, chartHeight)
	p.gaps(&c)
	if len(ch.Levels) > 0 {
		p.lines(&c)
		p.levels(&c)
	} else {
		p.columns(&c)
	}
	p.infections(&c)
	p.days(&c)
	return c.done()
}

// plot maps days and values to places.
type plot struct {
	*Chart
	first, last civil.Date
	top         float64 // value at plotTop
}

func newPlot(ch *Chart) plot {
	p := plot{Chart: ch, first: ch.Points[0].Date, last: ch.Points[len(ch.Points)-1].Date}
	if ch.Today > p.last {
		p.last = ch.Today
	}
	for _, q := range ch.Points {
		if len(ch.Levels) == 0 {
			p.top = max(p.top, finite(q.Value))
		} else {
			p.top = max(p.top, finite(q.Total), finite(q.High))
		}
	}
	// The next level ahead belongs in the picture. One far above a level that
	// was passed would only press the line flat, and stands in the table.
	for i, l := range ch.Levels {
		if l.Value > p.top {
			if i == 0 || l.Value <= farAbove*p.top {
				p.top = l.Value
			}
			break
		}
	}
	p.top *= 1.06
	if p.top <= 0 {
		p.top = 1
	}
	return p
}

func finite(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}

// x returns the place of a day's end in per cent: a total is that of the day's
// end.
func (p *plot) x(d civil.Date) float64 {
	return clamp(100*float64(d.Sub(p.first)+1)/float64(p.last.Sub(p.first)+1), 0, 100)
}

func (p *plot) y(v float64) float64 {
	return plotBottom - (plotBottom-plotTop)*clamp(finite(v)/p.top, 0, 1)
}

func (p *plot) gaps(c *canvas) {
	before := 0
	for _, q := range p.Points {
		if q.UnknownHours > before {
			c.rect("unknown", p.x(q.Date-1), p.x(q.Date), plotTop, plotBottom-plotTop, ` fill="url(#hatch)"`)
		}
		before = q.UnknownHours
	}
}

// lines draws the curves in a box of their own that stretches with the width.
func (p *plot) lines(c *canvas) {
	var seen, ahead, low, high []string
	banded := false
	for _, q := range p.Points {
		at := func(v float64) string { return num(p.x(q.Date)*10) + "," + num(p.y(v)) }
		if q.Forecast && len(seen) > 0 {
			if len(ahead) == 0 {
				ahead = append(ahead, seen[len(seen)-1])
			}
			ahead = append(ahead, at(q.Total))
		} else if q.Forecast {
			ahead = append(ahead, at(q.Total))
		} else {
			seen = append(seen, at(q.Total))
		}
		if finite(q.High) > q.Total || q.Low < q.Total {
			banded = true
		}
		low, high = append(low, at(q.Low)), append(high, at(max(q.Total, finite(q.High))))
	}
	c.f(`<svg y="0" width="100%%" height="%d" viewBox="0 0 1000 %d" preserveAspectRatio="none">`, chartHeight, chartHeight)
	if banded {
		for i, j := 0, len(low)-1; i < j; i, j = i+1, j-1 {
			low[i], low[j] = low[j], low[i]
		}
		c.f(`<polygon class="band" points="%s %s"/>`, strings.Join(high, " "), strings.Join(low, " "))
	}
	if len(seen) > 0 {
		c.f(`<polyline class="seen" points="%s"/>`, strings.Join(seen, " "))
	}
	if len(ahead) > 0 {
		c.f(`<polyline class="ahead" points="%s"/>`, strings.Join(ahead, " "))
	}
	c.f(`</svg>`)
}

// levels draws the thresholds and over them their names, those that would
// overlap moved apart upwards.
func (p *plot) levels(c *canvas) {
	for _, l := range p.Levels {
		if y := p.y(l.Value); l.Value <= p.top {
			c.f(`<line class="level" x1="0" x2="100%%" y1="%s" y2="%s"/>`, num(y), num(y))
		}
	}
	above := math.Inf(1)
	for _, l := range p.Levels {
		if l.Value > p.top {
			continue
		}
		y := p.y(l.Value)
		text := min(y-6, above-labelGap)
		above = text
		if text < 14 {
			continue // no room; the table has it
		}
		c.f(`<text class="level" x="4" y="%s">%s</text>`, num(text), html.EscapeString(say.Number(l.Value)+" "+l.Name))
	}
}

func (p *plot) columns(c *canvas) {
	for _, q := range p.Points {
		if v := finite(q.Value); v > 0 {
			class := "column"
			if q.Forecast {
				class = "column ahead"
			}
			y := p.y(v)
			x1, x2 := p.x(q.Date-1), p.x(q.Date)
			c.f(`<rect class="%s" x="%s" width="%s" y="%s" height="%s"/>`, class, pct(x1), pct((x2-x1)*0.8), num(y), num(plotBottom-y))
		}
	}
	most := p.top / 1.06
	c.f(`<line class="grid" x1="0" x2="100%%" y1="%s" y2="%s"/><text class="level" x="4" y="%s">%s</text>`,
		num(p.y(most)), num(p.y(most)), num(p.y(most)-6), html.EscapeString("most in a day: "+say.Number(most)))
}

func (p *plot) infections(c *canvas) {
	for _, e := range p.Events {
		if e.Kind == risk.Infection && e.Date >= p.first && e.Date <= p.last {
			c.at((p.x(e.Date-1)+p.x(e.Date))/2, fmt.Sprintf(`<path class="infection" d="M0 %d l7 7-7 7-7-7Z"/>`, plotBottom-7))
		}
	}
}

// days draws the axis of dates and today's line.
func (p *plot) days(c *canvas) {
	c.f(`<line class="base" x1="0" x2="100%%" y1="%d" y2="%d"/>`, plotBottom, plotBottom)
	span := p.last.Sub(p.first) + 1
	for d := p.first; d <= p.last; d++ {
		_, m, day := d.YMD()
		var class, label string
		switch {
		case span > 62 && day == 1:
			class, label = "k1", d.Format("Jan")
			if span > 140 && m%2 == 0 {
				class = "k2"
			}
		case span <= 62 && d.Sub(p.first)%7 == 0:
			class, label = "k1", p.Style.Date(d, p.Today)
			if span > 28 && d.Sub(p.first)%14 != 0 {
				class = "k2"
			}
		default:
			continue
		}
		x := p.x(d - 1)
		c.f(`<line class="tick" x1="%s" x2="%s" y1="%d" y2="%d"/>`, pct(x), pct(x), plotBottom, plotBottom+6)
		if x < 90 { // a label that would run over the edge is left out
			c.text(class, x, plotBottom+26, "start", label)
		}
	}
	if p.Today >= p.first && p.Today <= p.last {
		x := p.x(p.Today - 1)
		c.f(`<line class="now" x1="%s" x2="%s" y1="%d" y2="%d"/>`, pct(x), pct(x), plotTop-12, plotBottom)
		anchor := "start"
		if x > 75 {
			anchor = "end"
		}
		c.text("now", x, plotTop-14, anchor, "today")
	}
}
