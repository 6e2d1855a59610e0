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
