package model

import (
	"plotwarden/risk/degreeday"
	"plotwarden/risk/disease"
	"plotwarden/weather"
)

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
