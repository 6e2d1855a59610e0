package replay

import (
	"fmt"
	"html"
	"math"
	"strings"
)

// The plots are whole SVG files of fixed size. Shape tells what colour tells: a
// band, a line, circles, a dashed line.
const (
	plotWidth, plotHeight = 640, 400
	left, right           = 64, 16
	top, bottom           = 44, 52
	ink, soft, blue, rust = "#1d2326", "#d8d4c8", "#0062bd", "#a43a00"
)

// plot draws into a frame with axes from low to high.
type plot struct {
	b                    strings.Builder
	x0, x1, y0, y1       float64
	xLabel, yLabel, name string
}

func (p *plot) open(desc string) {
	fmt.Fprintf(&p.b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" font-family="sans-serif" font-size="13" fill="%s"><title>%s</title><desc>%s</desc>`,
		plotWidth, plotHeight, plotWidth, plotHeight, ink, html.EscapeString(p.name), html.EscapeString(desc))
	fmt.Fprintf(&p.b, `<rect width="%d" height="%d" fill="#fff"/>`, plotWidth, plotHeight)
	p.text(plotWidth/2, 22, "middle", p.name)
	p.text((left+plotWidth-right)/2, plotHeight-10, "middle", p.xLabel)
	fmt.Fprintf(&p.b, `<text transform="translate(16 %d) rotate(-90)" text-anchor="middle">%s</text>`, (top+plotHeight-bottom)/2, html.EscapeString(p.yLabel))
	fmt.Fprintf(&p.b, `<rect x="%d" y="%d" width="%d" height="%d" fill="none" stroke="%s"/>`, left, top, plotWidth-left-right, plotHeight-top-bottom, soft)
}

func (p *plot) done() string {
	p.b.WriteString("</svg>\n")
	return p.b.String()
}

func (p *plot) x(v float64) float64 {
	return left + (v-p.x0)/(p.x1-p.x0)*(plotWidth-left-right)
}

func (p *plot) y(v float64) float64 {
	return plotHeight - bottom - (v-p.y0)/(p.y1-p.y0)*(plotHeight-top-bottom)
}

func (p *plot) text(x, y float64, anchor, s string) {
	fmt.Fprintf(&p.b, `<text x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, x, y, anchor, html.EscapeString(s))
}

func (p *plot) line(x1, y1, x2, y2 float64, colour, more string) {
	fmt.Fprintf(&p.b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="%s" stroke-width="2"%s/>`, p.x(x1), p.y(y1), p.x(x2), p.y(y2), colour, more)
}

func (p *plot) tickX(v float64, label string) {
	fmt.Fprintf(&p.b, `<line x1="%.1f" x2="%.1f" y1="%d" y2="%d" stroke="%s"/>`, p.x(v), p.x(v), plotHeight-bottom, plotHeight-bottom+5, ink)
	p.text(p.x(v), plotHeight-bottom+20, "middle", label)
}

func (p *plot) tickY(v float64, label string) {
	fmt.Fprintf(&p.b, `<line x1="%d" x2="%d" y1="%.1f" y2="%.1f" stroke="%s"/>`, left-5, left, p.y(v), p.y(v), ink)
	p.text(left-8, p.y(v)+4, "end", label)
}

const dashed = ` stroke-dasharray="6 4"`

// FanSVG draws what a replay said day by day: across the day of issue, up the
// dates that it named. The band runs from 10 to 90 %, the line is the median; a
// dashed line is the day on which it came, circles days with a warning. It is
// empty when no outlook had a date.
func FanSVG(r *Result) string {
	var days []Issue
	lowest, highest := math.Inf(1), math.Inf(-1)
	for _, i := range r.Issues {
		if i.Outlook.P10.IsZero() || i.Outlook.P50.IsZero() || i.Outlook.P90.IsZero() {
			continue
		}
		days = append(days, i)
		lowest, highest = min(lowest, float64(i.Outlook.P10)), max(highest, float64(i.Outlook.P90))
	}
	if len(days) == 0 {
		return ""
	}
	first, last := days[0].Day, days[len(days)-1].Day
	p := plot{name: r.Case.Name + ": " + r.Case.Event, xLabel: "day of issue", yLabel: "date named",
		x0: float64(first), x1: float64(last) + 1, y0: lowest - 2, y1: highest + 2}
	came := "it did not come"
	if len(r.Came) > 0 {
		came = "it came on " + r.Came[0].String()
		p.y0, p.y1 = min(p.y0, float64(r.Came[0])-2), max(p.y1, float64(r.Came[0])+2)
	}
	p.open(fmt.Sprintf("Dates named from %s to %s: a band from the 10 to the 90 %% date and the median; %s.", first, last, came))
	for k := range 4 {
		d := first.AddDays(last.Sub(first) * k / 3)
		p.tickX(float64(d), d.Format("2 Jan"))
		e := p.y0 + (p.y1-p.y0)*float64(k)/3
		p.tickY(e, first.AddDays(int(e)-int(first)).Format("2 Jan"))
	}
	var up, down, middle strings.Builder
	for k, i := range days {
		x := p.x(float64(i.Day))
		fmt.Fprintf(&up, "%.1f,%.1f ", x, p.y(float64(i.Outlook.P10)))
		j := days[len(days)-1-k]
		fmt.Fprintf(&down, "%.1f,%.1f ", p.x(float64(j.Day)), p.y(float64(j.Outlook.P90)))
		fmt.Fprintf(&middle, "%.1f,%.1f ", x, p.y(float64(i.Outlook.P50)))
	}
	fmt.Fprintf(&p.b, `<polygon points="%s%s" fill="%s" fill-opacity="0.2"/><polyline points="%s" fill="none" stroke="%s" stroke-width="2"/>`, up.String(), down.String(), blue, middle.String(), blue)
	if len(r.Came) > 0 {
		p.line(p.x0, float64(r.Came[0]), p.x1, float64(r.Came[0]), ink, dashed)
	}
	for _, i := range days {
		if i.Warned {
			fmt.Fprintf(&p.b, `<circle cx="%.1f" cy="%.1f" r="3" fill="#fff" stroke="%s" stroke-width="1.5"/>`, p.x(float64(i.Day)), p.y(float64(i.Outlook.P50)), rust)
		}
	}
	return p.done()
}

// ReliabilitySVG draws the share that came against the chance that was stated.
// On the dashed line the chances were right; the area of a circle goes with the
// number of outlooks behind it.
func ReliabilitySVG(name string, c Chances) string {
	p := plot{name: fmt.Sprintf("%s: within %d days", name, c.Days), xLabel: "stated chance, %", yLabel: "share that came, %", x0: 0, x1: 100, y0: 0, y1: 100}
	p.open(fmt.Sprintf("%d outlooks, Brier score %.3f; stating the base rate of %.0f %% each time gives %.3f.", c.N, c.Brier, 100*c.Base, c.Always))
	for v := 0.0; v <= 100; v += 25 {
		p.tickX(v, fmt.Sprintf("%.0f", v))
		p.tickY(v, fmt.Sprintf("%.0f", v))
	}
	p.line(0, 0, 100, 100, ink, dashed)
	most := 1
	for _, b := range c.Bins {
		most = max(most, b.N)
	}
	for _, b := range c.Bins {
		if b.N > 0 {
			fmt.Fprintf(&p.b, `<circle cx="%.1f" cy="%.1f" r="%.1f" fill="%s" fill-opacity="0.5" stroke="%s"><title>%d outlooks: stated %.0f %%, came %.0f %%</title></circle>`,
				p.x(100*b.Mean), p.y(100*b.Came), 3+15*math.Sqrt(float64(b.N)/float64(most)), blue, blue, b.N, 100*b.Mean, 100*b.Came)
		}
	}
	return p.done()
}

// SideBySideSVG draws the medians' errors of an old and a new rule at each lead,
// as bars next to each other, the old one hollow.
func SideBySideSVG(name string, old, new Score) string {
	highest := 1.0
	for i := range Leads {
		for _, e := range []float64{old.At[i].Error, new.At[i].Error} {
			if !math.IsNaN(e) {
				highest = max(highest, e)
			}
		}
	}
	p := plot{name: name, xLabel: "days before the event; hollow: before, filled: after the change", yLabel: "error of the median, days", x0: 0, x1: 3, y0: 0, y1: highest * 1.2}
	p.open("Mean absolute error of the median date before and after the change, by days ahead.")
	p.tickY(0, "0")
	p.tickY(highest, fmt.Sprintf("%.1f", highest))
	for i, lead := range Leads {
		p.tickX(float64(i)+0.5, fmt.Sprintf("%d", lead))
		for k, s := range []Score{old, new} {
			l := s.At[i]
			if math.IsNaN(l.Error) {
				continue
			}
			x, fill := p.x(float64(i)+0.2+0.32*float64(k)), "#fff"
			if k == 1 {
				fill = blue
			}
			fmt.Fprintf(&p.b, `<rect x="%.1f" y="%.1f" width="50" height="%.1f" fill="%s" stroke="%s" stroke-width="2"/>`, x, p.y(l.Error), p.y(0)-p.y(l.Error), fill, blue)
			p.text(x+25, p.y(l.Error)-6, "middle", fmt.Sprintf("%.1f", l.Error))
		}
	}
	return p.done()
}
