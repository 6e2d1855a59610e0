package model

import "plotwarden/weather"

// HumidNight calls sporulation on a night with enough humid hours in a row,
// within limits of temperature: onion downy mildew (Hildebrand & Sutton 1982,
// 1984; Gilles et al. 2004), basil downy mildew (Cohen & Ben-Naim 2016). The
// night is dated on the day it ends; the track counts such nights.
type HumidNight struct {
	Common `yaml:",inline"`

	Hours Hours `yaml:"hours"`
	Clock Clock `yaml:"clock"`
	At    int   `yaml:"from"` // clock hour; from 12 on it is that of the evening before
	To    int   `yaml:"to"`   // clock hour of the morning, not included
	// Least is how many hours in a row must be humid. 0 is the whole night
	// without a break.
	Least int `yaml:"at_least"`
	// TempFrom and TempTo bound the night's mean temperature over its counted
	// hours, C. nil is no limit.
	TempFrom *float64 `yaml:"temperature_from"`
	TempTo   *float64 `yaml:"temperature_to"`
	// Hot are limits on the hours of the day before, from 06 to From or, when From
	// is after midnight, to 20: any one exceeded prevents sporulation.
	Hot []HotLimit `yaml:"hot_day_before"`
	// DayMeanBelow bounds the mean temperature of the calendar day before, C.
	DayMeanBelow *float64 `yaml:"day_before_mean_below"`
	// DryFrom: rain at or after this clock hour of the night prevents
	// sporulation. nil is no limit.
	DryFrom *int   `yaml:"no_rain_from"`
	Event   string `yaml:"event"`
}

// HotLimit prevents sporulation when more than Hours hours are above Above.
type HotLimit struct {
	Above float64 `yaml:"above"` // C
	Hours int     `yaml:"more_hours_than"`
}

// Kind returns "humid-night".
func (r *HumidNight) Kind() string { return "humid-night" }

// Unit returns "sporulation nights".
func (r *HumidNight) Unit() string { return "sporulation nights" }

// Needs returns temperature, what humid hours are known by and, with no_rain_from, rain.
func (r *HumidNight) Needs() []weather.Var {
	out := withTemp(r.Hours.needs())
	if r.DryFrom != nil {
		out = addVar(out, weather.Rain)
	}
	return out
}

func (r *HumidNight) check(c *checker) {
	r.checkCommon(c)
	r.Hours.check(c, "hours")
	c.need(&r.Clock, "clock", "local or standard (without summer time)")
	if c.need(&r.At, "from", "the clock hour at which the night begins") && c.need(&r.To, "to", "the clock hour at which it ends") {
		c.clock(&r.At, "from")
		c.whole(&r.To, "to", 1, 12)
		if r.At < 12 && r.At >= r.To {
			c.bad(&r.At, "from: %d is not before to %d", r.At, r.To)
		}
	}
	c.whole(&r.Least, "at_least", 0, r.length())
	if r.TempFrom != nil && r.TempTo != nil && *r.TempFrom > *r.TempTo {
		c.bad(r.TempFrom, "temperature_from %s is above temperature_to %s", num(*r.TempFrom), num(*r.TempTo))
	}
	for i := range r.Hot {
		c.number(&r.Hot[i].Above, "hot_day_before.above", 0, 50)
		c.whole(&r.Hot[i].Hours, "hot_day_before.more_hours_than", 0, 23)
	}
	if r.DryFrom != nil {
		c.clock(r.DryFrom, "no_rain_from")
	}
	c.event(&r.Event)
}

// length returns the hours of the night.
func (r *HumidNight) length() int {
	n := r.To - r.At
	if r.At >= 12 {
		n += 24
	}
	return max(0, n)
}
