package weather

import (
	"math"
	"time"

	"plotwarden/civil"
)

// The curve of a day from its extremes: a sine from the minimum near sunrise
// over the maximum past noon to sunset, then an exponential fall through the
// night to the next minimum.
//
// Source: W. J. Parton & J. A. Logan (1981), A model for diurnal variation in
// soil and air temperature, Agricultural Meteorology 23, 205-216; form and
// coefficients (air at 1.5 m, Colorado) confirmed second-hand in public code that
// cites its table 1. The paper's night curve stops short of the next minimum;
// here it is scaled to reach it, as after B. A. Kimball & L. A. Bellamy (1986),
// Energy in Agriculture 5, 185-197 (from memory).
const (
	lagMax     = 1.86  // hours from mid-sine to the maximum
	nightDecay = 2.20  // fall through one night
	lagMin     = -0.17 // hours from sunrise to the minimum
)

// Days shorter or longer than this many hours, near the poles, are taken as this
// long: the curve was made for places where the sun rises and sets. common practice
const (
	shortestDay = 4
	longestDay  = 20
)

// arc is the curve of one day. Times are seconds since the Unix epoch.
type arc struct {
	low, high float64 // C
	least     float64 // when the temperature is lowest
	sunset    float64
	length    float64 // daylight, s
}

func newArc(d Day, lat, lon float64) arc {
	sun := Sun(d.Date, lat, lon)
	half := sun.Length().Hours() / 2
	half = math.Max(shortestDay/2, math.Min(longestDay/2, half))
	noon := float64(sun.Noon.Unix())
	return arc{
		low: d.Min, high: d.Max,
		least:  noon - half*3600 + lagMin*3600,
		sunset: noon + half*3600,
		length: 2 * half * 3600,
	}
}

// byDay is the temperature at t between the minimum and sunset.
func (a arc) byDay(t float64) float64 {
	return a.low + (a.high-a.low)*math.Sin(math.Pi*(t-a.least)/(a.length+2*lagMax*3600))
}

// byNight is the temperature at t between sunset and the next day's minimum.
func (a arc) byNight(t float64, next arc) float64 {
	share := (t - a.sunset) / (next.least - a.sunset)
	end := math.Exp(-nightDecay)
	fall := (math.Exp(-nightDecay*share) - end) / (1 - end)
	return next.low + (a.byDay(a.sunset)-next.low)*fall
}

// curve is the temperature at t in the neighbourhood of one day.
func curve(before, day, after arc, t float64) float64 {
	switch {
	case t < day.least:
		return before.byNight(t, day)
	case t < day.sunset:
		return day.byDay(t)
	case t < after.least:
		return day.byNight(t, after)
	default:
		return after.byDay(t)
	}
}

// arcsAround returns the curves of the day before, the day and the day after. A
// neighbour that is not known has the day's own extremes.
func arcsAround(day Day, known map[civil.Date]Day, lat, lon float64) (before, self, after arc) {
	neighbour := func(n int) arc {
		d, ok := known[day.Date.AddDays(n)]
		if !ok || !d.hasExtremes() {
			d = day
			d.Date = day.Date.AddDays(n)
		}
		return newArc(d, lat, lon)
	}
	return neighbour(-1), newArc(day, lat, lon), neighbour(1)
}

func (d Day) hasExtremes() bool { return d.Min <= d.Max && !math.IsInf(d.Max-d.Min, 0) }

// temperatures returns a day's temperatures at n hours from start. They lie
// within the day's extremes and touch both: an hour grid misses the peak of the
// curve, and a change of weather between two days bends the evening past them.
func temperatures(day Day, known map[civil.Date]Day, lat, lon float64, start time.Time, n int) []float64 {
	before, self, after := arcsAround(day, known, lat, lon)
	out := make([]float64, n)
	least, most := 0, 0
	for i := range out {
		out[i] = curve(before, self, after, float64(start.Unix()+int64(i)*3600))
		if out[i] < out[least] {
			least = i
		}
		if out[i] > out[most] {
			most = i
		}
	}
	for i, x := range out {
		out[i] = math.Max(day.Min, math.Min(day.Max, x))
	}
	out[least], out[most] = day.Min, day.Max
	return out
}
