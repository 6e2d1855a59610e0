package model

import (
	"plotwarden/risk/disease"
	"plotwarden/weather"
)

// Period is how rules over wet periods put a period together. A period is wet
// hours with shorter dry gaps between; its temperature is the mean of its wet
// hours; it may run over any number of days.
type Period struct {
	Hours Hours `yaml:"hours"`
	// Gap is how many dry hours end a period: wet hours with fewer between them
	// are one period.
	Gap int `yaml:"gap"`
	// GapHumidity: a dry hour counts to the gap only when its relative humidity
	// is below this, %. 0 counts every dry hour.
	GapHumidity float64 `yaml:"gap_humidity_below"`
	// Night: a period that begins in these hours of the clock counts from their
	// end on, because spores fly by day. nil counts from the first wet hour.
	Night *Night `yaml:"night"`
}

// Night is a stretch of the clock, From being in the evening.
type Night struct {
	From int `yaml:"from"`
	To   int `yaml:"to"`
}

func (p *Period) check(c *checker) {
	p.Hours.check(c, "hours")
	c.whole(&p.Gap, "gap", 1, 72)
	if c.where.Has(&p.GapHumidity) {
		c.number(&p.GapHumidity, "gap_humidity_below", 1, 100)
	}
	if p.Night != nil {
		c.clock(&p.Night.From, "night.from")
		c.clock(&p.Night.To, "night.to")
		if p.Night.From <= p.Night.To {
			c.bad(p.Night, "night: from %d must be in the evening, after to %d", p.Night.From, p.Night.To)
		}
	}
}

func (p *Period) needs() []weather.Var {
	out := withTemp(p.Hours.needs())
	if p.GapHumidity > 0 {
		out = addVar(out, weather.RH)
	}
	return out
}

// InfectionModel is the generic infection model of Magarey, Sutton & Thayer
// 2005: a wet period infects when it has lasted the hours that its mean
// temperature needs. Where the response to temperature is 0 nothing infects,
// however long the period.
type InfectionModel struct {
	Common `yaml:",inline"`
	Period `yaml:",inline"`

	Min    float64 `yaml:"temperature_min"`  // C
	Best   float64 `yaml:"temperature_best"` // C
	Max    float64 `yaml:"temperature_max"`  // C
	WetMin float64 `yaml:"wet_min"`          // hours at the best temperature
	// WetMax caps the hours. 0: 3.8 + 3.0 wet_min, as the authors give for
	// pathogens where it is not known.
	WetMax float64 `yaml:"wet_max"`
	Event  string  `yaml:"event"`

	needed []need
}

// Kind returns "infection-model".
func (r *InfectionModel) Kind() string { return "infection-model" }

// Unit returns "infection periods".
func (r *InfectionModel) Unit() string { return "infection periods" }

// Needs returns temperature and what wet hours and gaps are known by.
func (r *InfectionModel) Needs() []weather.Var { return r.Period.needs() }

func (r *InfectionModel) check(c *checker) {
	r.checkCommon(c)
	r.Period.check(c)
	c.event(&r.Event)
	for _, k := range []struct {
		ptr *float64
		key string
	}{{&r.Min, "temperature_min"}, {&r.Best, "temperature_best"}, {&r.Max, "temperature_max"}} {
		c.need(k.ptr, k.key, "a temperature, C")
	}
	if !(r.Min < r.Best && r.Best < r.Max) || r.Min < -20 || r.Max > 60 {
		c.bad(&r.Min, "temperature_min %s, temperature_best %s and temperature_max %s must rise, from -20 to 60 C", num(r.Min), num(r.Best), num(r.Max))
	}
	c.number(&r.WetMin, "wet_min", 0.5, 96)
	if c.where.Has(&r.WetMax) && (r.WetMax < r.WetMin || r.WetMax > 200) {
		c.bad(&r.WetMax, "wet_max: %s is not from wet_min to 200 hours", num(r.WetMax))
	}
	if len(c.faults) == 0 {
		r.needed = []need{genericNeed{r.numbers().Need(), r.numbers()}}
	}
}

func (r *InfectionModel) numbers() disease.Generic {
	g := disease.Generic{Min: r.Min, Best: r.Best, Max: r.Max, WetMin: r.WetMin, WetMax: r.WetMax}
	if g.WetMax == 0 {
		g.WetMax = disease.UnknownWetMax(r.WetMin)
	}
	return g
}
