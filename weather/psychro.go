package weather

import "math"

// The functions of moist air follow the ASHRAE Handbook - Fundamentals (2017),
// chapter 1, as the PsychroLib library applies it: saturation by Hyland &
// Wexler (1983), over ice up to the triple point and over water above it.
//
// Below freezing, humidity and dew point are therefore those over ice, while
// weather services report them over supercooled water (WMO-No. 8): at -5 C a dew
// point of -15 C is 41 % here and 45 % there. The difference vanishes towards
// saturation and above freezing, where the models of this program live.

const (
	kelvin      = 273.15
	triplePoint = 0.01 // C
	coldest     = -100 // C, the range of the saturation equations
	hottest     = 200  // C
)

// DewSlack is how far a dew point may stand above the air temperature, in C, and
// still be taken as saturation: the rounding of reports to whole degrees F and
// the accuracy of sensors. common practice
const DewSlack = 1.0

// SatVapourPressure returns the vapour pressure of saturated air, Pa, at tC
// degrees Celsius. The range is -100 to 200 C; outside it, and for NaN, the
// result is NaN.
//
// Source: ASHRAE (2017) ch. 1 eq. 5 and 6, split at the triple point.
func SatVapourPressure(tC float64) float64 {
	if !(tC >= coldest && tC <= hottest) {
		return math.NaN()
	}
	return math.Exp(lnSaturation(tC))
}

func lnSaturation(tC float64) float64 {
	t := tC + kelvin
	if tC <= triplePoint {
		return -5.6745359e3/t + 6.3925247 - 9.677843e-3*t + 6.2215701e-7*t*t + 2.0747825e-9*t*t*t - 9.484024e-13*t*t*t*t + 4.1635019*math.Log(t)
	}
	return -5.8002206e3/t + 1.3914993 - 4.8640239e-2*t + 4.1764768e-5*t*t - 1.4452093e-8*t*t*t + 6.5459673*math.Log(t)
}

func slopeLnSaturation(tC float64) float64 {
	t := tC + kelvin
	if tC <= triplePoint {
		return 5.6745359e3/(t*t) - 9.677843e-3 + 2*6.2215701e-7*t + 3*2.0747825e-9*t*t - 4*9.484024e-13*t*t*t + 4.1635019/t
	}
	return 5.8002206e3/(t*t) - 4.8640239e-2 + 2*4.1764768e-5*t - 3*1.4452093e-8*t*t + 6.5459673/t
}

// DewPointFromRH returns the dew point, C, of air at tC degrees Celsius and a relative
// humidity of rh per cent; at or below freezing it is the frost point. It is
// NaN when tC is outside -100 to 200 C, when rh is 0, below 0 or above 100, when
// the dew point would lie below -100 C, and for NaN.
//
// It inverts SatVapourPressure by Newton's method to 1e-6 C.
func DewPointFromRH(tC, rh float64) float64 {
	if !(tC >= coldest && tC <= hottest && rh > 0 && rh <= 100) {
		return math.NaN()
	}
	if rh == 100 {
		return tC
	}
	ln := lnSaturation(tC) + math.Log(rh/100)
	if ln < lnSaturation(coldest) {
		return math.NaN()
	}
	dew := tC
	for range 100 {
		next := dew - (lnSaturation(dew)-ln)/slopeLnSaturation(dew)
		next = math.Max(coldest, math.Min(hottest, next))
		done := math.Abs(next-dew) < 1e-6
		dew = next
		if done {
			break
		}
	}
	return math.Min(dew, tC)
}

// RelHumidity returns the relative humidity, %, of air at tC degrees Celsius
// with a dew point of dewC. A dew point up to DewSlack above the temperature
// gives 100; further above, outside -100 to 200 C, and for NaN, the result is
// NaN.
func RelHumidity(tC, dewC float64) float64 {
	if dewC > tC && dewC <= tC+DewSlack {
		dewC = tC
	}
	if !(dewC <= tC) {
		return math.NaN()
	}
	return 100 * SatVapourPressure(dewC) / SatVapourPressure(tC)
}

// VPD returns the vapour pressure deficit, Pa, of air at tC degrees Celsius and
// a relative humidity of rh per cent. It is NaN when tC is outside -100 to
// 200 C or rh outside 0 to 100, and for NaN.
//
// Source: Oke (1987) eq. 2.13a.
func VPD(tC, rh float64) float64 {
	if !(rh >= 0 && rh <= 100) {
		return math.NaN()
	}
	return SatVapourPressure(tC) * (1 - rh/100)
}

// Pressure returns the pressure of the standard atmosphere, Pa, at an elevation
// in metres. The formula holds from -5000 to 11000 m; outside, and for NaN, the
// result is NaN.
//
// Source: ASHRAE (2017) ch. 1 eq. 3.
func Pressure(elevationM float64) float64 {
	if !(elevationM >= -5000 && elevationM <= 11000) {
		return math.NaN()
	}
	return 101325 * math.Pow(1-2.25577e-5*elevationM, 5.2559)
}
