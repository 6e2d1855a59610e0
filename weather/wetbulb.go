package weather

import "math"

// minHumidityRatio is the least mass of vapour in a mass of dry air that the
// equations are used with, kg/kg, as in PsychroLib.
const minHumidityRatio = 1e-7

// WetBulb returns the thermodynamic wet-bulb temperature, C, of air at tC
// degrees Celsius, a relative humidity of rh per cent and a pressure in Pa; below
// 0 C it is that of an ice bulb. It is NaN when tC is outside -100 to 200 C, rh
// outside 0 (not included) to 100, when the pressure is not above the vapour
// pressure of saturated air at tC, and for NaN.
//
// Source: ASHRAE (2017) ch. 1 eq. 33 and 35, solved by bisection between the dew
// point and the air temperature to 1e-5 C. Around a wet bulb of 0 C the two
// equations leave a step, so that two solutions can exist; the bisection takes
// the one that PsychroLib takes.
func WetBulb(tC, rh, pressurePa float64) float64 {
	low := DewPointFromRH(tC, rh)
	vapour := SatVapourPressure(tC) * rh / 100
	if math.IsNaN(low) || !(pressurePa > SatVapourPressure(tC)) {
		return math.NaN()
	}
	ratio := humidityRatio(vapour, pressurePa)
	high := tC
	mid := (low + high) / 2
	for high-low > 1e-5 {
		if ratioFromWetBulb(tC, mid, pressurePa) > ratio {
			high = mid
		} else {
			low = mid
		}
		mid = (low + high) / 2
	}
	return mid
}

// DeltaT returns the wet-bulb depression, C: air temperature less wet bulb, the
// number by which spraying trade judges how fast droplets dry. Ranges are those
// of WetBulb.
func DeltaT(tC, rh, pressurePa float64) float64 { return tC - WetBulb(tC, rh, pressurePa) }

func humidityRatio(vapourPa, pressurePa float64) float64 {
	return math.Max(minHumidityRatio, 0.621945*vapourPa/(pressurePa-vapourPa))
}

func ratioFromWetBulb(tC, wetC, pressurePa float64) float64 {
	sat := humidityRatio(SatVapourPressure(wetC), pressurePa)
	var ratio float64
	if wetC >= 0 {
		ratio = ((2501-2.326*wetC)*sat - 1.006*(tC-wetC)) / (2501 + 1.86*tC - 4.186*wetC)
	} else {
		ratio = ((2830-0.24*wetC)*sat - 1.006*(tC-wetC)) / (2830 + 1.86*tC - 2.1*wetC)
	}
	return math.Max(minHumidityRatio, ratio)
}
