package model

import (
	"plotwarden/risk/disease"
	"plotwarden/weather"
)

// InfectionSurface scores each wet period, on the day that its end is known, by
// a response surface of its wet hours and their mean temperature: carrot
// Alternaria, tomato bacterial spot, strawberry Botrytis. Periods shorter than
// the tested range score 0; longer ones score as the longest tested.
type InfectionSurface struct {
	Common `yaml:",inline"`
	Period `yaml:",inline"`

	Counts string                `yaml:"unit"` // what the value is: "estimated severity, share"
	Beta   *disease.BetaSurface  `yaml:"beta"`
	Logit  *disease.LogitSurface `yaml:"logit"`
	Tested SurfaceRange          `yaml:"tested"`
	Event  string                `yaml:"event"`    // named with AtLeast
	Least  float64               `yaml:"event_at"` // a period that scores this much is an infection event; 0: none is

	top float64 // the highest score there is
}

// SurfaceRange is the range in which a surface was fitted.
type SurfaceRange struct {
	HoursFrom float64 `yaml:"hours_from"`
	HoursTo   float64 `yaml:"hours_to"`
	TempFrom  float64 `yaml:"temperature_from"` // C; outside the range a period scores 0
	TempTo    float64 `yaml:"temperature_to"`   // C
}

// Kind returns "infection-surface".
func (r *InfectionSurface) Kind() string { return "infection-surface" }

// Unit returns what the values are.
func (r *InfectionSurface) Unit() string { return r.Counts }

// Needs returns temperature and what wet hours and gaps are known by.
func (r *InfectionSurface) Needs() []weather.Var { return r.Period.needs() }

func (r *InfectionSurface) check(c *checker) {
	r.checkCommon(c)
	r.Period.check(c)
	if r.Counts == "" {
		c.bad(&r.Counts, "key \"unit\" is missing: say what the values are")
	}
	if (r.Beta == nil) == (r.Logit == nil) {
		c.bad(&r.Beta, "give either beta or logit: the form of the surface")
	}
	if r.Beta != nil {
		if err := r.Beta.Validate(); err != nil {
			c.bad(r.Beta, "beta: %v", err)
		}
	}
	t := &r.Tested
	if c.need(t, "tested", "the ranges of hours and temperature in which the surface was fitted") {
		if t.HoursFrom < 0 || t.HoursTo <= t.HoursFrom || t.HoursTo > 200 {
			c.bad(t, "tested: hours_from %s and hours_to %s must rise, from 0 to 200", num(t.HoursFrom), num(t.HoursTo))
		}
		if t.TempTo <= t.TempFrom || t.TempFrom < -20 || t.TempTo > 60 {
			c.bad(t, "tested: temperature_from %s and temperature_to %s must rise, from -20 to 60 C", num(t.TempFrom), num(t.TempTo))
		}
	}
	if c.where.Has(&r.Least) {
		c.number(&r.Least, "event_at", 1e-6, 1e6)
		c.event(&r.Event)
	}
	r.top = 1
	if r.Beta != nil {
		r.top = r.Beta.Most(t.TempFrom, t.TempTo, t.HoursTo)
	}
}
