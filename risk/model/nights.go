package model

import "plotwarden/weather"

// Clock is which clock a rule reads.
type Clock string

// The clocks.
const (
	LocalClock    Clock = "local"    // what clocks show, with summer time
	StandardClock Clock = "standard" // the zone's time without summer time
)

// UnmarshalText reads one of the clocks.
func (k *Clock) UnmarshalText(b []byte) error { return choose(k, b, LocalClock, StandardClock) }

// WetMorning calls infection on a day whose leaves stay wet from a clock hour on
// for enough hours without a break, unless it is then too warm: lettuce downy
// mildew (Scherm et al. 1995; Wu et al. 2002). The day is the calendar day; the
// track counts such days.
type WetMorning struct {
	Common `yaml:",inline"`

	Hours Hours `yaml:"hours"`
	Clock Clock `yaml:"clock"`
	At    int   `yaml:"from"`     // clock hour
	Least int   `yaml:"at_least"` // hours wet without a break from then on
	// TooWarm are limits on means of stretches that follow each other from At on.
	TooWarm []WarmLimit `yaml:"too_warm"`
	Event   string      `yaml:"event"`
}

// WarmLimit is a mean temperature above which a stretch of hours is too warm.
type WarmLimit struct {
	Hours int     `yaml:"hours"`
	Above float64 `yaml:"above"` // C
}

// Kind returns "wet-morning".
func (r *WetMorning) Kind() string { return "wet-morning" }

// Unit returns "infection days".
func (r *WetMorning) Unit() string { return "infection days" }

// Needs returns temperature and what wet hours are known by.
func (r *WetMorning) Needs() []weather.Var { return withTemp(r.Hours.needs()) }

func (r *WetMorning) check(c *checker) {
	r.checkCommon(c)
	r.Hours.check(c, "hours")
	c.need(&r.Clock, "clock", "local or standard (without summer time)")
	if c.need(&r.At, "from", "the clock hour from which leaves must stay wet") {
		c.clock(&r.At, "from")
	}
	c.whole(&r.Least, "at_least", 1, 12)
	hours := 0
	for i := range r.TooWarm {
		c.whole(&r.TooWarm[i].Hours, "too_warm.hours", 1, 12)
		c.number(&r.TooWarm[i].Above, "too_warm.above", -10, 50)
		hours += max(0, r.TooWarm[i].Hours)
	}
	if r.At+max(r.Least, hours) > 24 {
		c.bad(&r.At, "from: %d o'clock and %d hours run past midnight", r.At, max(r.Least, hours))
	}
	c.event(&r.Event)
}

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
