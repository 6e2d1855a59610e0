package plan

import (
	"fmt"
	"math"
	"time"

	"plotwarden/garden"
	"plotwarden/risk"
	"plotwarden/weather"
)

// hour holds the weather of the hour, as forecast or measured, against the
// limits. Where the series has none, what the grower saw counts.
func (c *checker) hour() {
	if c.q.Series == nil {
		c.heat(c.seen())
		return
	}
	i := c.q.Series.Index(c.q.Record.Start)
	temp := c.q.Series.Value(weather.Temp, i)
	if math.IsNaN(temp) {
		temp = c.seen()
	}
	c.heat(temp)
	j := newSprayJudge(&SprayQuery{
		Site: c.q.Site, Crop: c.q.Planting.Crop, Material: c.q.Material, Series: c.q.Series, Wet: c.q.Wet,
		Now: c.q.Record.Start, Bloom: garden.NoBloom, People: c.q.People, // bloom has a check of its own
	})
	h := j.hour(c.q.Record.Start.Truncate(time.Hour))
	for _, o := range append(h.Why, h.Warn...) {
		switch o.Code {
		case "hot", "cold", "missing":
		default:
			c.add(Warn, o.Code, "At that hour: "+o.Text+".", o.Source)
		}
	}
}

func (c *checker) seen() float64 {
	if t := c.q.Record.Seen.Temp; t != nil {
		return float64(*t)
	}
	return math.NaN()
}

// heat stops at the label's limits and at those published for oil and sulfur,
// and warns at the general ones.
func (c *checker) heat(temp float64) {
	if math.IsNaN(temp) {
		c.add(Ask, "temperature", "How warm is it there? The temperature of that hour is not known.", missingSource)
		return
	}
	u := limitsOf(c.q.Material, c.q.Planting.Crop, DefaultSprayLimits())
	kind := c.kind()
	firm := func(s risk.Source) Level {
		if s == labelSource || s == sulfurSource {
			return Stop
		}
		return Warn
	}
	switch {
	case temp > u.maxTemp.at && u.maxTemp.source == labelSource:
		c.add(Stop, "heat", fmt.Sprintf("%s C; your label allows %s C at most.", number(temp), number(u.maxTemp.at)), labelSource)
	case temp > u.kindMax.at && (kind == garden.KindOil || kind == garden.KindSulfur):
		c.add(Stop, "heat", fmt.Sprintf("%s C; above %s C %s burns leaves.", number(temp), number(u.kindMax.at), kind), u.kindMax.source)
	case temp > u.maxTemp.at:
		c.add(firm(u.maxTemp.source), "heat", fmt.Sprintf("%s C is hot for spraying: above %s C leaves are easily hurt.", number(temp), number(u.maxTemp.at)), u.maxTemp.source)
	case temp < u.minTemp.at:
		c.add(firm(u.minTemp.source), "cold", fmt.Sprintf("%s C; less than %s C.", number(temp), number(u.minTemp.at)), u.minTemp.source)
	}
	if kind == garden.KindOil || kind == garden.KindSoap {
		c.add(Ask, "wilted", "Are the plants fresh? Not on wilted or thirsty plants.", wiltSource)
	}
}

// Do not spray stressed, wilted plants: UC, confirmed.
var wiltSource = risk.Source{Text: "UC IPM: do not spray stressed or wilted plants", Standing: risk.Confirmed}
