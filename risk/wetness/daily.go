package wetness

import (
	"math"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/weather"
)

// DailyHours estimates the wet hours of a day, 0 to 24, from its lowest and
// highest relative humidity in %, its lowest temperature in C and its rain in mm:
//
//	h = exp(-8.093137318 + 0.11636662 rhMax - 0.03715678 rhMin + 0.000358713 rhMin^2)
//
// For rhMin below 52 it is h52 - (h - h52), h52 being h at rhMin = 52, because
// the parabola turns there. It is then held within 0 to 24, and 0 when tMin is
// below 0 C. Rain adds (1 - h/24) min(12, rain/5). Unknown input gives NaN, as
// do humidities outside 0 to 100 or rhMin above rhMax.
//
// Source: Hijmans, Forbes & Walker 2001, read in the source of the R
// meteorology library meteor (leafwet.R): confirmed second-hand.
func DailyHours(rhMin, rhMax, tMin, rain float64) float64 {
	if !(rhMin >= 0 && rhMin <= rhMax && rhMax <= 100) || !(rain >= 0) || tMin != tMin {
		return math.NaN()
	}
	h := dailyCurve(rhMin, rhMax)
	if rhMin < 52 {
		h52 := dailyCurve(52, rhMax)
		h = h52 - (h - h52)
	}
	h = max(0, min(24, h))
	if tMin < 0 {
		h = 0
	}
	return h + (1-h/24)*min(12, rain/5)
}

func dailyCurve(rhMin, rhMax float64) float64 {
	return math.Exp(-8.093137318 + 0.11636662*rhMax - 0.03715678*rhMin + 0.000358713*rhMin*rhMin)
}

// DayHours is the wet hours of one day.
type DayHours struct {
	Date  civil.Date
	Hours float64 // 0 to 24; NaN when unknown
}

// Days estimates the wet hours of each local day of s by DailyHours. A day is
// unknown when fewer than weather.MinHours of its hours have a temperature, a
// humidity and, unless a tunnel keeps rain off, rain. Irrigation is not in the
// equation.
func Days(s *weather.Series, loc *time.Location, cover garden.Cover) []DayHours {
	ws := s.Windows(loc, 0, false)
	out := make([]DayHours, len(ws))
	j := newJudge(Rule{}.Defaults(), s, cover)
	for k, w := range ws {
		out[k] = DayHours{w.Date, math.NaN()}
		var temps, humid, rains int
		tMin, rhMin, rhMax, rain := math.Inf(1), math.Inf(1), math.Inf(-1), 0.0
		for i := max(0, w.From); i < min(w.To, s.Len()); i++ {
			if t := s.Value(weather.Temp, i); t == t {
				temps, tMin = temps+1, min(tMin, t)
			}
			if h := j.humidity(i); h == h {
				humid, rhMin, rhMax = humid+1, min(rhMin, h), max(rhMax, h)
			}
			if r := s.Value(weather.Rain, i); r == r {
				rains, rain = rains+1, rain+r
			}
		}
		if cover == garden.Tunnel {
			rains, rain = weather.MinHours, 0
		}
		if temps >= weather.MinHours && humid >= weather.MinHours && rains >= weather.MinHours {
			out[k].Hours = DailyHours(rhMin, rhMax, tMin, rain)
		}
	}
	return out
}
