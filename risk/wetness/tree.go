package wetness

import "math"

// The limits of the tree's branches.
const (
	treeDry   = 3.7  // dew-point depression, C, from which leaves are dry
	treeWindy = 2.5  // wind at 0.3 m, m/s, from which the second discriminant holds
	treeDamp  = 87.8 // humidity, %, from which windy hours can be wet
)

// treeState classifies one hour by the tree of Gleason et al. 1994 as corrected
// for wind height by Kim et al. 2002: t is air temperature in C, dpd its distance
// from the dew point in C, rh relative humidity in %, u wind at 0.3 m in m/s.
//
//	dpd >= 3.7            dry
//	u < 2.5               wet if 1.6064 sqrt(t) + 0.0036 t^2 + 0.1531 rh - 0.4599 u dpd - 0.0035 t rh > 14.4674
//	u >= 2.5, rh < 87.8   dry
//	u >= 2.5, rh >= 87.8  wet if 0.7921 sqrt(t) + 0.0046 rh^2 - 2.3889 u - 0.0390 t u + 1.0613 u dpd > 37.0
//
// One text on the web prints 0.0046 rh in the last line, with which its left
// side never nears 37 and no windy hour could be wet; the square is from memory
// and from that reasoning. The square root has no value below 0 C and no rule
// for it was found: such hours are dry, their water frozen, as in the daily
// equation, which gives 0 hours to a day with frost (derived).
func treeState(t, dpd, rh, u float64) State {
	if dpd >= treeDry || t < 0 {
		return Dry
	}
	if t != t || dpd != dpd || rh != rh || u != u {
		return Unknown
	}
	var wet bool
	switch {
	case u < treeWindy:
		wet = 1.6064*math.Sqrt(t)+0.0036*t*t+0.1531*rh-0.4599*u*dpd-0.0035*t*rh > 14.4674
	case rh >= treeDamp:
		wet = 0.7921*math.Sqrt(t)+0.0046*rh*rh-2.3889*u-0.0390*t*u+1.0613*u*dpd > 37.0
	}
	if wet {
		return Wet
	}
	return Dry
}
