package say

import (
	"math"
	"strconv"
	"strings"
)

// Missing is what stands where a value is not known.
const Missing = "?"

// Exact conversions: 1 inch is 25.4 mm and 1 mile 1609.344 m (international
// yard and pound agreement of 1959); F = C x 9/5 + 32 (NIST SP 811, B.8).
const (
	mmPerInch   = 25.4
	mphPerMS    = 3600 / 1609.344
	kmhPerMS    = 3.6
	fahrPerCels = 1.8
)

// Fahrenheit turns degrees Celsius into degrees Fahrenheit.
func Fahrenheit(c float64) float64 { return c*fahrPerCels + 32 }

// Temp writes an air temperature of c degrees Celsius without its unit.
func (s Style) Temp(c float64) string {
	if s.US {
		return fixed(Fahrenheit(c), 0)
	}
	return fixed(c, 1)
}

// Rain writes mm of rain without its unit.
func (s Style) Rain(mm float64) string {
	if s.US {
		return fixed(mm/mmPerInch, 2)
	}
	return fixed(mm, 1)
}

// Wind writes m/s without its unit.
func (s Style) Wind(ms float64) string {
	if s.US {
		return fixed(ms*mphPerMS, 0)
	}
	return fixed(ms*kmhPerMS, 0)
}

// TempUnit, RainUnit and WindUnit are the units of the writers above.
func (s Style) TempUnit() string { return s.pick("°C", "°F") }

// RainUnit is the unit in which Rain writes.
func (s Style) RainUnit() string { return s.pick("mm", "in") }

// WindUnit is the unit in which Wind writes.
func (s Style) WindUnit() string { return s.pick("km/h", "mph") }

func (s Style) pick(metric, us string) string {
	if s.US {
		return us
	}
	return metric
}

// Figure writes a figure with its unit. The units of weather (C, mm, m/s) are
// turned into those of the style; every other, as a model's degree-days, stays
// as it was published.
func (s Style) Figure(x float64, unit string) string {
	switch unit {
	case "C":
		return s.Temp(x) + " " + s.TempUnit()
	case "mm":
		return s.Rain(x) + " " + s.RainUnit()
	case "m/s":
		return s.Wind(x) + " " + s.WindUnit()
	case "%":
		return Number(x) + " %"
	case "", "1":
		return Number(x)
	}
	return Number(x) + " " + unit
}

// Number writes a figure to at most four digits that mean something, without
// trailing zeros.
func Number(x float64) string {
	if math.IsNaN(x) {
		return Missing
	}
	if math.Abs(x) >= 100 {
		return fixed(x, 0)
	}
	out := fixed(x, 2)
	if strings.Contains(out, ".") {
		out = strings.TrimRight(strings.TrimRight(out, "0"), ".")
	}
	return out
}

func fixed(x float64, digits int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return Missing
	}
	out := strconv.FormatFloat(x, 'f', digits, 64)
	if strings.Trim(out, "-0.") == "" { // no negative nought
		out = strings.TrimPrefix(out, "-")
	}
	return out
}
