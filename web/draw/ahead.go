package draw

import (
	"html/template"
	"math"
	"strings"
	"time"

	"plotwarden/civil"
)

// Hour is one hour of weather ahead. A NaN is not known.
type Hour struct {
	At    time.Time
	Temp  float64 // C
	Rain  float64 // mm in the hour
	Wet   bool    // leaves
	Known bool    // whether Wet is
	Work  bool    // good for work outdoors
	Night bool
}

// Ahead is the weather of the days on an axis, hour by hour.
type Ahead struct {
	ID          string
	Title, Desc string
	Hours       []Hour // in order of time
	// Labels beside the bands: the highest and lowest temperature, the wettest hour.
	High, Low, Most string
}

// Vertical places of the bands, in pixels.
const (
	aheadTemp    = 8
	aheadTempTo  = 68
	aheadRainTop = 80
	aheadRainTo  = 128
	aheadWetY    = 136
	aheadWorkY   = 156
	aheadBand    = 14
	aheadHeight  = 174
)

// leastRain is the rain in an hour, mm, that fills the band when nothing more
// falls: else a drizzle would look like a storm.
const leastRain = 4

// hourOn returns where an instant lies on the axis, in per cent of its width. A
// day of a clock change is as wide as any other.
func (a Axis) hourOn(t time.Time) float64 {
	d := civil.Of(t, a.Loc)
	from := d.Start(a.Loc)
	share := t.Sub(from).Hours() / d.AddDays(1).Start(a.Loc).Sub(from).Hours()
	return clamp(100*(float64(d.Sub(a.From))+share)/float64(a.Days), 0, 100)
}

// DrawAhead draws temperature, rain, wet leaves and working hours under each
// other on one axis.
func DrawAhead(a Axis, h Ahead) template.HTML {
	var c canvas
	c.open("strip ahead", h.ID, h.Title, h.Desc, aheadHeight)
	a.ground(&c, aheadHeight)
	low, high, most := math.Inf(1), math.Inf(-1), float64(leastRain)
	for _, x := range h.Hours {
		if !math.IsNaN(x.Temp) {
			low, high = min(low, x.Temp), max(high, x.Temp)
		}
		if !math.IsNaN(x.Rain) {
			most = max(most, x.Rain)
		}
	}
	h.temperature(&c, a, low, max(high, low+5))
	for i, x := range h.Hours {
		x1, x2 := a.hourOn(x.At), a.hourEnd(h.Hours, i)
		switch {
		case math.IsNaN(x.Rain):
			c.rect("unknown", x1, x2, aheadRainTo-6, 6, ` fill="url(#hatch)"`)
		case x.Rain > 0:
			top := max(2, int(math.Round(x.Rain/most*(aheadRainTo-aheadRainTop))))
			c.rect("rain", x1, x2, aheadRainTo-top, top, "")
		}
	}
	h.runs(&c, a, aheadWetY, "leafwet", func(x Hour) bool { return x.Known && x.Wet })
	h.runs(&c, a, aheadWetY, "unknown", func(x Hour) bool { return !x.Known })
	h.runs(&c, a, aheadWorkY, "good", func(x Hour) bool { return x.Work })
	for _, y := range []int{aheadTempTo + 5, aheadRainTo + 1, aheadWetY + aheadBand + 2} {
		c.f(`<line class="tick" x1="0" x2="100%%" y1="%d" y2="%d"/>`, y, y)
	}
	return c.done()
}

// hourEnd is the right edge of an hour: the next one's left, so that no seam shows.
func (a Axis) hourEnd(hours []Hour, i int) float64 {
	if i+1 < len(hours) {
		return a.hourOn(hours[i+1].At)
	}
	return a.hourOn(hours[i].At.Add(time.Hour))
}

// temperature draws a line that breaks where nothing is known: lines between
// percentages, which a polyline cannot have.
func (h *Ahead) temperature(c *canvas, a Axis, low, high float64) {
	y := func(t float64) string {
		return num(aheadTempTo - (t-low)/(high-low)*(aheadTempTo-aheadTemp))
	}
	for i := 1; i < len(h.Hours); i++ {
		p, q := h.Hours[i-1], h.Hours[i]
		if math.IsNaN(p.Temp) || math.IsNaN(q.Temp) {
			continue
		}
		c.f(`<line class="temp" x1="%s" x2="%s" y1="%s" y2="%s"/>`, pct(a.hourOn(p.At)), pct(a.hourOn(q.At)), y(p.Temp), y(q.Temp))
	}
}

// runs fills the stretches of hours of which is says yes.
func (h *Ahead) runs(c *canvas, a Axis, top int, class string, is func(Hour) bool) {
	more := ""
	if class == "unknown" {
		more = ` fill="url(#hatch)"`
	}
	for i := 0; i < len(h.Hours); i++ {
		if !is(h.Hours[i]) {
			continue
		}
		j := i
		for j+1 < len(h.Hours) && is(h.Hours[j+1]) {
			j++
		}
		c.rect(class, a.hourOn(h.Hours[i].At), a.hourEnd(h.Hours, j), top, aheadBand, more)
		i = j
	}
}

// AheadLabels draws the names of the bands beside DrawAhead.
func AheadLabels(h Ahead, temp, rain, wet, work string) template.HTML {
	var c canvas
	c.f(`<svg class="clock bands" width="92" height="%d" aria-hidden="true" focusable="false">`, aheadHeight)
	for _, l := range []struct {
		y    int
		text string
	}{
		{aheadTemp + 12, h.High}, {(aheadTemp+aheadTempTo)/2 + 6, temp}, {aheadTempTo, h.Low},
		{aheadRainTop + 14, h.Most}, {aheadRainTo - 4, rain}, {aheadWetY + 12, wet}, {aheadWorkY + 12, work},
	} {
		c.f(`<text x="88" y="%d" text-anchor="end">%s</text>`, l.y, template.HTMLEscapeString(l.text))
	}
	return c.done()
}

// Chances draws stretches of days with a chance each, as bars whose height is the
// chance.
type Chances struct {
	ID          string
	Title, Desc string
	Parts       []ChancePart
	Unknown     bool
}

// ChancePart is the chance, 0 to 1, on the days from From to To, both included.
type ChancePart struct {
	From, To civil.Date
	Chance   float64
	Label    string
}

const chanceHeight = 40

// DrawChances draws the stretches.
func DrawChances(a Axis, h Chances) template.HTML {
	var c canvas
	c.open("strip odds", h.ID, h.Title, h.Desc, chanceHeight)
	a.ground(&c, chanceHeight)
	if h.Unknown {
		c.rect("unknown", 0, 100, 8, chanceHeight-16, ` fill="url(#hatch)"`)
	}
	for _, p := range h.Parts {
		if p.To < a.From || p.From >= a.End() {
			continue
		}
		x1, x2 := a.start(max(p.From, a.From)), a.start(min(p.To.AddDays(1), a.End()))
		tall := max(3, int(math.Round(clamp(p.Chance, 0, 1)*(chanceHeight-4))))
		c.rect("spread", x1, x2, chanceHeight-tall, tall, "")
		c.text("chance", (x1+x2)/2, 14, "middle", p.Label)
	}
	c.f(`<line class="tick" x1="0" x2="100%%" y1="%d" y2="%d"/>`, chanceHeight-1, chanceHeight-1)
	return c.done()
}

// Describe joins what a drawing shows for those who do not see it.
func Describe(parts ...string) string {
	var out []string
	for _, p := range parts {
		if p != "" {
			out = append(out, strings.TrimSuffix(p, ".")+".")
		}
	}
	return strings.Join(out, " ")
}
