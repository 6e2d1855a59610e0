package model

import (
	"plotwarden/risk/degreeday"
	"plotwarden/weather"
)

// BlossomHeat calls infection of open blossoms when heat, wetting and warmth
// come together: fire blight (Steiner). The rule starts when blossoms open. Its
// day is the calendar day; heat is degree-hours of each hour; the window is the
// last days whose degree-days, counted back from the day itself, do not pass a
// total. The track's value and total are the degree-hours in that window.
type BlossomHeat struct {
	Common `yaml:",inline"`

	Scale       degreeday.Unit `yaml:"temperature_unit"`
	HeatAbove   float64        `yaml:"heat_above"`   // base of the degree-hours
	HeatLeast   float64        `yaml:"heat_total"`   // degree-hours needed
	WindowAbove float64        `yaml:"window_above"` // base of the degree-days (average)
	WindowTotal float64        `yaml:"window_total"` // degree-days that bound the window
	MeanLeast   float64        `yaml:"mean_at_least"`
	Wetting     Hours          `yaml:"wetting"` // the day needs one such hour
	Event       string         `yaml:"event"`
}

// Kind returns "blossom-heat".
func (r *BlossomHeat) Kind() string { return "blossom-heat" }

// Unit returns "degree-hours" with the unit of temperature.
func (r *BlossomHeat) Unit() string { return "degree-hours " + string(r.Scale) }

// Needs returns temperature and what wetting is known by.
func (r *BlossomHeat) Needs() []weather.Var { return withTemp(r.Wetting.needs()) }

func (r *BlossomHeat) check(c *checker) {
	r.checkCommon(c)
	c.need(&r.Scale, "temperature_unit", "C or F")
	for _, k := range []struct {
		ptr *float64
		key string
	}{{&r.HeatAbove, "heat_above"}, {&r.WindowAbove, "window_above"}, {&r.MeanLeast, "mean_at_least"}} {
		if c.need(k.ptr, k.key, "a temperature") {
			c.number(k.ptr, k.key, -40, 120)
		}
	}
	c.number(&r.HeatLeast, "heat_total", 1, 10000)
	c.number(&r.WindowTotal, "window_total", 1, 10000)
	r.Wetting.check(c, "wetting")
	c.event(&r.Event)
}
