package weather

import (
	"time"

	"plotwarden/civil"
)

// Daylight is one local solar day: the 24 hours around the sun's highest point.
type Daylight struct {
	Noon       time.Time // UTC, when the sun stands highest
	Rise       time.Time // UTC, zero when the sun does not rise before noon of this day
	Set        time.Time // UTC, zero when the sun does not set after noon of this day
	PolarDay   bool      // the sun stays up
	PolarNight bool      // the sun stays down
}

// Length returns how long the sun is up: 24 hours on a polar day, 0 in a polar
// night. On the first or last day of a polar day, which has a rise or a set
// only, the missing side counts as 12 hours.
func (d Daylight) Length() time.Duration {
	if d.PolarNight {
		return 0
	}
	up := 24 * time.Hour
	if !d.Rise.IsZero() {
		up -= 12*time.Hour - d.Noon.Sub(d.Rise)
	}
	if !d.Set.IsZero() {
		up -= 12*time.Hour - d.Set.Sub(d.Noon)
	}
	return up
}

// Sun returns sunrise, noon and sunset of the local solar day of a date at lat,
// lon (degrees north and east): the day whose noon lies nearest to 12:00 local
// mean time of the date. In zones far from their meridian an instant can fall on
// the neighbouring date of the local clock.
//
// Sunrise and sunset are when the upper edge of the sun touches a sea-level
// horizon under mean refraction of 34'. Between 1900 and 2100 they lie within
// 60 s of a full ephemeris wherever the sun crosses the horizon at a slope; real
// horizons and real air differ by more. On the days around the start and end of
// a polar day or night, when it slides along the horizon, expect a few minutes.
func Sun(date civil.Date, lat, lon float64) Daylight {
	y, m, d := date.YMD()
	noon := time.Date(y, m, d, 12, 0, 0, 0, time.UTC).Add(-hours(lon / 15))
	for range 3 {
		noon = noon.Add(-hours(sunAt(noon).hourAngle(lon) / 360.98564736629 * 24))
	}
	out := Daylight{Noon: noon.Round(time.Millisecond)}
	if sunHeight(noon, lat, lon) < 0 {
		out.PolarNight = true
		return out
	}
	before, after := noon.Add(-12*time.Hour), noon.Add(12*time.Hour)
	if sunHeight(before, lat, lon) < 0 {
		out.Rise = crossing(before, noon, lat, lon)
	}
	if sunHeight(after, lat, lon) < 0 {
		out.Set = crossing(after, noon, lat, lon)
	}
	out.PolarDay = out.Rise.IsZero() && out.Set.IsZero()
	return out
}

// sunHeight returns how far the upper edge of the sun stands above the horizon
// under mean refraction, in degrees.
func sunHeight(t time.Time, lat, lon float64) float64 {
	const refraction, semiDiameter = 34.0 / 60, 959.63 / 3600
	p := sunAt(t)
	return p.altitude(lat, lon) + refraction + semiDiameter/p.distance
}

// crossing returns when the sun crosses the horizon between an instant when it
// is down and one when it is up.
func crossing(down, up time.Time, lat, lon float64) time.Time {
	for up.Sub(down).Abs() > 10*time.Millisecond {
		mid := down.Add(up.Sub(down) / 2)
		if sunHeight(mid, lat, lon) < 0 {
			down = mid
		} else {
			up = mid
		}
	}
	return up.Round(time.Millisecond)
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
