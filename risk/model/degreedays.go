package model

import (
	"math"

	"plotwarden/risk/degreeday"
	"plotwarden/weather"
)

// DegreeDays sums the heat of each calendar day above a threshold. Its day is
// the site's calendar day; the temperatures are the day's extremes, or each
// hour's for the method hourly; a day with fewer than weather.MinHours known
// hours is unknown. Nothing is rounded before summing.
type DegreeDays struct {
	Common `yaml:",inline"`

	Method degreeday.Method `yaml:"method"`
	Cutoff degreeday.Cutoff `yaml:"cutoff"`
	Lower  float64          `yaml:"lower"`
	Upper  *float64         `yaml:"upper"`
	Scale  degreeday.Unit   `yaml:"unit"` // of thresholds, stages and the track
	Of     Medium           `yaml:"input"`
	Share  *Distribution    `yaml:"distribution"`

	rule degreeday.Rule // in Celsius
}

// Medium is what a rule takes the temperature of.
type Medium string

// The media. The empty one is Air. A rule of one never runs on the other.
const (
	Air  Medium = "air"
	Soil Medium = "soil"
)

// UnmarshalText reads one of the media.
func (m *Medium) UnmarshalText(b []byte) error { return choose(m, b, Air, Soil) }

// Kind returns "degree-days".
func (d *DegreeDays) Kind() string { return "degree-days" }

// Unit returns "degree-days F" or "degree-days C".
func (d *DegreeDays) Unit() string { return "degree-days " + string(d.Scale) }

// Needs returns air temperature or, for a soil rule, soil temperature alone.
func (d *DegreeDays) Needs() []weather.Var { return []weather.Var{d.variable()} }

func (d *DegreeDays) variable() weather.Var {
	if d.Of == Soil {
		return weather.Soil
	}
	return weather.Temp
}

func (d *DegreeDays) check(c *checker) {
	d.checkCommon(c)
	ok := c.need(&d.Method, "method", "how a day's temperatures become degree-days")
	ok = c.need(&d.Lower, "lower", "the lower threshold") && ok
	if !c.where.Has(&d.Scale) {
		c.bad(&d.Scale, "key \"unit\" is missing: F or C, of thresholds and totals")
		ok = false
	}
	if ok {
		c.number(&d.Lower, "lower", -40, 120)
		r, err := degreeday.New(d.Method, d.Cutoff, d.Lower, d.Upper, d.Scale)
		if err != nil {
			c.bad(&d.Method, "%v", err)
		}
		d.rule = r
	}
	if d.Share != nil {
		d.Share.check(c)
	}
}

// Distribution is the share of a population that has reached a point of its
// development at a running total: F(intercept + slope total), F being the
// normal distribution (probit) or the logistic one (logit).
type Distribution struct {
	Name      string  `yaml:"name"` // what has been reached: "ascospores mature"
	Link      Link    `yaml:"link"`
	Intercept float64 `yaml:"intercept"` // probit: on the scale where 0 is half
	Slope     float64 `yaml:"slope"`     // per unit of the track
}

// Link is the curve of a Distribution.
type Link string

// The curves.
const (
	Probit Link = "probit"
	Logit  Link = "logit"
)

// UnmarshalText reads one of the curves.
func (l *Link) UnmarshalText(b []byte) error { return choose(l, b, Probit, Logit) }

func (d *Distribution) check(c *checker) {
	if d.Name == "" {
		c.bad(d, "distribution.name: say what the share has reached")
	}
	c.need(&d.Link, "distribution.link", "probit or logit")
	c.need(&d.Intercept, "distribution.intercept", "the curve's value at a total of 0")
	if d.Slope <= 0 || d.Slope > 10 {
		c.bad(&d.Slope, "distribution.slope: %s is not above 0 and at most 10", num(d.Slope))
	}
}

// At returns the share, 0 to 1, at a running total.
func (d *Distribution) At(total float64) float64 {
	z := d.Intercept + d.Slope*total
	if d.Link == Logit {
		return 1 / (1 + math.Exp(-z))
	}
	return 0.5 * math.Erfc(-z/math.Sqrt2)
}
