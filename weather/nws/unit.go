package nws

import (
	"fmt"
	"strings"

	"plotwarden/weather"
)

// convert returns x in our unit of v. Each value of the service names its unit,
// in an old spelling, "unit:degC", or a new one, "wmoUnit:degC".
func convert(v weather.Var, unit string, x float64) (float64, error) {
	_, u, ok := strings.Cut(unit, ":")
	if !ok {
		u = unit
	}
	switch v.Unit() + " " + u {
	case "C degC", "% percent", "m/s m_s-1", "mm mm":
		return x, nil
	case "C degF":
		return (x - 32) / 1.8, nil
	case "m/s km_h-1":
		return x / 3.6, nil
	case "mm m":
		return x * 1000, nil
	}
	return 0, fmt.Errorf("%s in the unit %q, which we do not know", v, unit)
}
