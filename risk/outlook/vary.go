package outlook

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"plotwarden/weather"
)

// Stated errors of humidity, per cent by days of lead, and chances that it rains
// in an hour of which the forecast says so, and of which it says not. From memory:
// rain of an hour is caught two times in three on the first day, and after ten
// days hardly oftener than it falls at all, in about one hour of fifteen.
var (
	statedRH   = []float64{7, 8, 8.5, 9, 10, 10.5, 11, 11.5, 12, 12.5, 13, 13, 13.5, 13.5, 14, 14}
	statedWet  = []float64{0.65, 0.6, 0.55, 0.5, 0.42, 0.36, 0.3, 0.26, 0.22, 0.2, 0.18, 0.16, 0.15, 0.14, 0.13, 0.12}
	statedRain = []float64{0.022, 0.025, 0.03, 0.033, 0.038, 0.042, 0.046, 0.05, 0.052, 0.053, 0.055, 0.056, 0.058, 0.06, 0.06, 0.06}
)

// leastRainHours is how many hours with rain, forecast or measured, must have been
// compared before measured hits take the stated ones' place.
const leastRainHours = 20

// MeasuredForecast is MeasuredError for temperature, humidity and rain.
func MeasuredForecast(f weather.ForecastError, least int) Error {
	e := MeasuredError(f.Temp, least)
	humidity, known := measured(statedRH, f.RH, least)
	if known {
		e.RH, e.MeasuredRH = humidity, true
	}
	for lead := range e.Wet {
		if lead >= len(f.Rain) {
			break
		}
		c := f.Rain[lead]
		if c.Hours() < max(1, least) || c.Hits+c.FalseAlarms < leastRainHours || c.Hits+c.Misses < leastRainHours {
			continue
		}
		e.Wet[lead] = float64(c.Hits) / float64(c.Hits+c.FalseAlarms)
		e.Dry[lead] = float64(c.Misses) / float64(c.Misses+c.DryRight)
		e.MeasuredRain = max(e.MeasuredRain, lead+1)
	}
	return e
}

// measured takes the measured mean absolute errors where there are enough, and
// raises or lowers the stated ones by as much as those on average.
func measured(stated []float64, byLead []weather.Error, least int) (out []float64, known bool) {
	ratio, n := 0.0, 0
	for i := range stated {
		if i < len(byLead) && byLead[i].N >= max(1, least) {
			ratio += byLead[i].MAE / stated[i]
			n++
		}
	}
	out = append([]float64(nil), stated...)
	if n == 0 {
		return out, false
	}
	for i := range out {
		if i < len(byLead) && byLead[i].N >= max(1, least) {
			out[i] = byLead[i].MAE
		} else {
			out[i] *= ratio / float64(n)
		}
	}
	return out, true
}

// sdRH is SD for humidity.
func (e *Error) sdRH(lead int) float64 { return at(e.RH, lead) * math.Sqrt(math.Pi/2) }

func at(list []float64, lead int) float64 { return list[min(lead, len(list)-1)] }

// rainBlock is for how many hours together a version keeps, loses or gains rain:
// showers and fronts come in spells, not hour by hour (from memory).
const rainBlock = 6

// typicalRain is the rain of an hour that a forecast did not have, where it has no
// other to go by, in mm; wetRH the least humidity of an hour with rain, per cent
// (both from memory).
const (
	typicalRain = 1.0
	wetRH       = 90.0
)

// Chance returns the chance that it rains in an hour, 0 to 1: by what was measured
// of forecasts here, else by the forecast's own chance, per cent, else by the
// stated hits. NaN is a chance that the forecast does not give.
func (e *Error) Chance(lead int, forecast bool, given float64) float64 {
	switch {
	case lead >= e.MeasuredRain && !math.IsNaN(given):
		return min(1, max(0, given/100))
	case forecast:
		return at(e.Wet, lead)
	}
	return at(e.Dry, lead)
}

// changes are what one version of a forecast does to humidity and rain.
type changes struct {
	RH   func(lead int) float64        // per cent to add, at 50 %
	Rain func(lead, block int) float64 // it rains where the chance is above it
}

// changes makes those of a version: quantiles as those of temperature are, in
// orders of their own, so that warm versions are as often moist as dry, and the
// versions with rain in one spell are others than those of the next.
func (e *Error) version(version, n int) changes {
	return changes{
		RH: func(lead int) float64 {
			z := distuv.UnitNormal.Quantile((float64(version*stride(n, 0.618)%n) + 0.5) / float64(n))
			return z * e.sdRH(lead)
		},
		Rain: func(_, block int) float64 {
			k := (version*stride(n, 0.755) + block*stride(n, 0.382)) % n
			return (float64(k) + 0.5) / float64(n)
		},
	}
}

// stride returns a step near a share of n that visits all of n numbers.
func stride(n int, share float64) int {
	s := max(1, int(math.Round(share*float64(n))))
	for gcd(s, n) != 1 {
		s++
	}
	return s
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// apply changes humidity and rain of the hours from an index on, and sets the dew
// point by the temperature as it stands.
func (e *Error) apply(s *weather.Series, from int, c changes) {
	if len(e.RH) == 0 || len(e.Wet) == 0 {
		return
	}
	typical := meanRain(s, from)
	for h := from; h < s.Len(); h++ {
		lead := (h - from) / 24
		wet := math.NaN()
		if rain := s.Value(weather.Rain, h); !math.IsNaN(rain) {
			wet = 0
			if e.Chance(lead, rain >= rainFrom, s.Value(weather.RainChance, h)) > c.Rain(lead, (h-from)/rainBlock) {
				wet = rain
				if rain < rainFrom {
					wet = typical
				}
			}
			reset(s, weather.Rain, h, wet)
		}
		rh := s.Value(weather.RH, h)
		if math.IsNaN(rh) {
			continue
		}
		rh = Moister(rh, c.RH(lead))
		if wet > 0 {
			rh = max(rh, wetRH)
		}
		reset(s, weather.RH, h, rh)
		if t := s.Value(weather.Temp, h); !math.IsNaN(t) {
			reset(s, weather.DewPoint, h, weather.DewPointFromRH(t, rh))
		}
	}
}

// dayRain is the least rain of a day that counts as such, mm; a day of which the
// forecast says it rains does so oftener than any hour of it: its chances are
// those of hours, raised by dayTimes to at most 0.9 (both from memory).
const (
	dayRain  = 1.0
	dayTimes = 3.0
)

// applyDays is apply for daily records, which have no humidity.
func (e *Error) applyDays(days []weather.Day, from int, c changes) {
	if len(e.Wet) == 0 {
		return
	}
	sum, n := 0.0, 0.0
	for d := from; d < len(days); d++ {
		if days[d].Rain >= dayRain {
			sum, n = sum+days[d].Rain, n+1
		}
	}
	typical := 5 * typicalRain
	if n > 0 {
		typical = sum / n
	}
	for d := from; d < len(days); d++ {
		rain := days[d].Rain
		if math.IsNaN(rain) {
			continue
		}
		chance := at(e.Dry, d-from)
		if rain >= dayRain {
			chance = at(e.Wet, d-from)
		}
		days[d].Rain = 0
		if min(0.9, dayTimes*chance) > c.Rain(d-from, d-from) {
			days[d].Rain = rain
			if rain < dayRain {
				days[d].Rain = typical
			}
		}
	}
}

// rainFrom is the least rain of an hour that counts as rain, mm: as package
// weather counts forecasts' hits.
const rainFrom = 0.2

// Moister adds to a relative humidity what is that much at 50 %, less towards 0
// and 100, where it has no room (derived: as the standard deviation of a share).
func Moister(rh, by float64) float64 {
	p := min(0.95, max(0.05, rh/100))
	return min(100, max(1, rh+by*2*math.Sqrt(p*(1-p))))
}

// meanRain is the mean of the hours with rain from an index on.
func meanRain(s *weather.Series, from int) float64 {
	sum, n := 0.0, 0.0
	for h := max(0, from); h < s.Len(); h++ {
		if r := s.Value(weather.Rain, h); r >= rainFrom {
			sum, n = sum+r, n+1
		}
	}
	if n == 0 {
		return typicalRain
	}
	return sum / n
}

// reset changes a value that is there and keeps its origin.
func reset(s *weather.Series, v weather.Var, h int, x float64) {
	if o, ok := s.OriginAt(v, h); ok {
		// The origin is one of the series' own.
		handle, err := s.AddOrigin(o)
		if err != nil {
			panic("outlook: " + err.Error())
		}
		s.Set(v, h, x, handle)
	}
}
