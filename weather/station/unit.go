package station

import (
	"fmt"
	"slices"

	"plotwarden/strict"
	"plotwarden/weather"
)

// scale is how a unit becomes ours: (x + before) * by.
type scale struct{ before, by float64 }

// units by our unit. Exact by definition: the inch is 25.4 mm, the mile 1609.344
// m, the knot 1852 m an hour.
var units = map[string]map[string]scale{
	"C":    {"C": {0, 1}, "F": {-32, 1 / 1.8}, "K": {-273.15, 1}},
	"%":    {"%": {0, 1}, "1": {0, 100}},
	"mm":   {"mm": {0, 1}, "cm": {0, 10}, "in": {0, 25.4}},
	"m/s":  {"m/s": {0, 1}, "km/h": {0, 1 / 3.6}, "mph": {0, 0.44704}, "kn": {0, 1852.0 / 3600}},
	"W/m2": {"W/m2": {0, 1}, "kW/m2": {0, 1000}},
	"1":    {"1": {0, 1}, "%": {0, 0.01}},
}

// wetMinutes is the unit of a wetness sensor that counts minutes within its
// interval.
const wetMinutes = "min"

// unitNames returns the units in which a column may come.
func unitNames(v weather.Var) []string {
	var out []string
	for u := range units[v.Unit()] {
		out = append(out, u)
	}
	if v == weather.Wetness {
		out = append(out, wetMinutes)
	}
	slices.Sort(out)
	return out
}

// scaleOf returns how unit becomes that of v; ok is false for wetMinutes, which
// needs the interval.
func scaleOf(v weather.Var, unit string) (s scale, ok bool, err error) {
	if v == weather.Wetness && unit == wetMinutes {
		return scale{}, false, nil
	}
	s, ok = units[v.Unit()][unit]
	if !ok {
		return s, false, fmt.Errorf("%s: %s", v, strict.Unknown("unit", unit, unitNames(v)))
	}
	return s, true, nil
}

func (s scale) apply(x float64) float64 { return (x + s.before) * s.by }
