package model

import (
	"math"

	"plotwarden/risk/degreeday"
	"plotwarden/risk/disease"
	"plotwarden/weather"
)

// MildewIndex is the grape powdery mildew index (Gubler, Thomas et al. 1999): a
// level from 0 to a ceiling that warm days raise and short or hot ones lower.
// The track's total is the level. Its day is the calendar day; the hours that
// count are unbroken hours between two temperatures; an hour stands for its
// start, so that "15 minutes" is one hour's reading.
type MildewIndex struct {
	Common `yaml:",inline"`

	Scale     degreeday.Unit `yaml:"temperature_unit"`
	WarmFrom  float64        `yaml:"warm_from"`
	WarmTo    float64        `yaml:"warm_to"`
	WarmHours int            `yaml:"warm_hours"` // in a row
	HotFrom   float64        `yaml:"hot_from"`
	Rise      float64        `yaml:"rise"`
	Fall      float64        `yaml:"fall"`
	StartDays int            `yaml:"start_days"` // warm days in a row, each raising the level; else back to 0
	Ceiling   float64        `yaml:"ceiling"`

	unit float64 // of which rise, fall and ceiling are multiples
}

// Kind returns "mildew-index".
func (r *MildewIndex) Kind() string { return "mildew-index" }

// Unit returns "index".
func (r *MildewIndex) Unit() string { return "index" }

// Needs returns temperature.
func (r *MildewIndex) Needs() []weather.Var { return []weather.Var{weather.Temp} }

func (r *MildewIndex) check(c *checker) {
	r.checkCommon(c)
	c.need(&r.Scale, "temperature_unit", "C or F")
	if r.WarmFrom >= r.WarmTo || r.WarmTo >= r.HotFrom {
		c.bad(&r.WarmFrom, "warm_from %s, warm_to %s and hot_from %s must rise", num(r.WarmFrom), num(r.WarmTo), num(r.HotFrom))
	}
	c.whole(&r.WarmHours, "warm_hours", 1, 23)
	c.whole(&r.StartDays, "start_days", 1, 10)
	unit := 0
	for _, k := range []struct {
		ptr *float64
		key string
	}{{&r.Rise, "rise"}, {&r.Fall, "fall"}, {&r.Ceiling, "ceiling"}} {
		c.number(k.ptr, k.key, 1, 1000)
		if *k.ptr != math.Trunc(*k.ptr) {
			c.bad(k.ptr, "%s: %s is not a whole number", k.key, num(*k.ptr))
		}
		unit = gcd(unit, int(*k.ptr))
	}
	if unit > 0 && int(r.Ceiling)/unit > 63 {
		c.bad(&r.Ceiling, "rise, fall and ceiling have no common step of at least a 63rd of the ceiling")
	}
	r.unit = float64(max(1, unit))
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (r *MildewIndex) numbers() disease.MildewIndex {
	return disease.MildewIndex{Rise: r.Rise, Fall: r.Fall, StartDays: r.StartDays, Ceiling: r.Ceiling, Unit: r.unit}
}
