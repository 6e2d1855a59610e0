package model

import (
	"plotwarden/risk/degreeday"
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

// WetPeriodTable is a table of the wet hours that infection needs at a mean
// temperature: apple scab, black rot, celery late blight, cucurbit downy mildew.
// A table may have several classes (light, moderate, heavy); each is reached
// once a period.
type WetPeriodTable struct {
	Common `yaml:",inline"`
	Period `yaml:",inline"`

	Scale   degreeday.Unit `yaml:"temperature_unit"`
	Between Between        `yaml:"between"`
	RoundTo float64        `yaml:"round_to"` // the mean is first rounded half up to this; 0 is not
	Classes []WetClass     `yaml:"classes"`

	tables []need
}

// WetClass is one severity of infection and the hours that it needs.
type WetClass struct {
	Event string    `yaml:"event"`
	Needs []WetNeed `yaml:"needs"`
}

// WetNeed is the hours needed from one mean temperature to another, both
// included. Without To it is a point.
type WetNeed struct {
	From  float64  `yaml:"from"`
	To    *float64 `yaml:"to"`
	Hours float64  `yaml:"hours"`
}

// Between says what holds between two rows of a table of hours.
type Between string

// The choices. Beyond the first and last rows nothing infects.
const (
	Interpolate Between = "interpolate" // in a straight line
	Longer      Between = "longer"      // the longer of the two
	Shorter     Between = "shorter"     // the shorter of the two
)

// UnmarshalText reads one of the choices.
func (b *Between) UnmarshalText(t []byte) error {
	return choose(b, t, Interpolate, Longer, Shorter)
}

// Kind returns "wet-period-table".
func (r *WetPeriodTable) Kind() string { return "wet-period-table" }

// Unit returns "infection periods", or with several classes "infection classes".
func (r *WetPeriodTable) Unit() string {
	if len(r.Classes) > 1 {
		return "infection classes"
	}
	return "infection periods"
}

// Needs returns temperature and what wet hours and gaps are known by.
func (r *WetPeriodTable) Needs() []weather.Var { return r.Period.needs() }

func (r *WetPeriodTable) check(c *checker) {
	r.checkCommon(c)
	r.Period.check(c)
	c.need(&r.Scale, "temperature_unit", "C or F, of the rows")
	c.need(&r.Between, "between", "interpolate, longer or shorter: what holds between two rows")
	if c.where.Has(&r.RoundTo) {
		c.number(&r.RoundTo, "round_to", 0.01, 10)
	}
	if len(r.Classes) == 0 {
		c.bad(&r.Classes, "key \"classes\" is missing: at least one, with its rows")
	}
	if len(r.Classes) > 8 {
		c.bad(&r.Classes, "classes: at most 8")
		return
	}
	r.tables = nil
	for i := range r.Classes {
		k := &r.Classes[i]
		if k.Event == "" {
			c.bad(k, "classes[%d].event: say what the infection is called", i)
		}
		if len(k.Needs) == 0 {
			c.bad(k, "classes[%d].needs: at least one row", i)
		}
		var rows []disease.HoursRow
		for j := range k.Needs {
			n := &k.Needs[j]
			to := n.From
			if n.To != nil {
				to = *n.To
			}
			switch {
			case !c.where.Has(&n.From):
				c.bad(n, "classes[%d].needs[%d].from: say from which temperature", i, j)
			case to < n.From || n.From < -40 || to > 150:
				c.bad(n, "classes[%d].needs[%d]: %s to %s is not a range of temperatures", i, j, num(n.From), num(to))
			case j > 0 && n.From <= rows[j-1].To:
				c.bad(n, "classes[%d].needs[%d].from: %s is not above the row before it", i, j, num(n.From))
			case r.RoundTo >= 0.01 && !(onStep(n.From, r.RoundTo) && onStep(to, r.RoundTo)):
				c.bad(n, "classes[%d].needs[%d]: %s and %s must be multiples of round_to %s", i, j, num(n.From), num(to), num(r.RoundTo))
			case n.Hours < 0.5 || n.Hours > 200:
				c.bad(n, "classes[%d].needs[%d].hours: %s is not from 0.5 to 200", i, j, num(n.Hours))
			}
			rows = append(rows, disease.HoursRow{From: n.From, To: to, Hours: n.Hours})
		}
		if len(rows) > 250 {
			c.bad(k, "classes[%d].needs: at most 250 rows", i)
		}
		if len(c.faults) == 0 {
			r.tables = append(r.tables, disease.NewHoursNeeded(rows, disease.Between(r.Between), r.RoundTo, r.Scale == degreeday.Fahrenheit))
		}
	}
}

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
