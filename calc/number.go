package calc

import (
	"math"
	"strconv"
	"strings"
)

// column is a column of numbers with the range outside of which a value cannot
// be weather: a missing-value mark, a wrong unit or a slip of the finger.
type column struct {
	name      string
	low, high float64
}

// The ranges hold all records of the Earth's surface with room to spare.
var (
	tempC  = column{"temp_c", -95, 65}
	dewC   = column{"dewpoint_c", -110, 45}
	rhPct  = column{"rh_pct", 0, 100}
	rainMm = column{"rain_mm", 0, 2500}
	windMs = column{"wind_ms", 0, 120}
	soilC  = column{"soil_c", -60, 80}
	cloud  = column{"cloud_pct", 0, 100}
	solar  = column{"solar_wm2", 0, 1600}
	leaf   = column{"wetness", 0, 1}
)

// number reads column i of the row; empty is missing, NaN. ok is false when a
// fault was reported.
func (t *table) number(i int, c column) (v float64, ok bool) {
	s := t.field(i)
	if s == "" {
		return math.NaN(), true
	}
	v, ok = parse(s)
	switch {
	case !ok:
		t.fault(i, "%s: %q is not a number; leave what is missing empty", c.name, shown(s))
	case v < c.low || v > c.high:
		t.fault(i, "%s: %s is outside %g to %g; leave what is missing empty", c.name, s, c.low, c.high)
		ok = false
	}
	return v, ok
}

// parse takes decimal numbers only: strconv alone would take nan, inf, 0x1p4
// and 1_000 too.
func parse(s string) (float64, bool) {
	if strings.Trim(s, "0123456789.+-eE") != "" {
		return math.NaN(), false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// format writes a result with six decimals at most, which is finer than any
// input and hides the noise of the last bits. Missing is empty.
func format(v float64) string {
	if math.IsNaN(v) {
		return ""
	}
	r := math.Round(v*1e6) / 1e6
	if r == 0 {
		return "0" // not -0
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}
