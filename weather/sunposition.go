package weather

import (
	"math"
	"time"
)

const (
	rad = math.Pi / 180
	deg = 180 / math.Pi
)

// sunPlace is the apparent place of the sun's centre.
type sunPlace struct {
	rightAscension float64 // degrees
	declination    float64 // degrees
	distance       float64 // astronomical units
	sidereal       float64 // apparent sidereal time at Greenwich, degrees
}

// sunAt returns the place of the sun, right to about 0.01 degrees between 1900
// and 2100.
//
// Source: J. Meeus, Astronomical Algorithms (1998), ch. 12, 22 and 25 (low
// accuracy), the equations behind NOAA's solar calculator.
func sunAt(t time.Time) sunPlace {
	// The difference of dynamical time from UTC is 64 s in 2000 and 69 s in 2020;
	// the sun moves 0.001 degrees in 90 s.
	const deltaT = 69.0
	days := float64(t.Unix()-946728000)/86400 + float64(t.Nanosecond())/86400e9 // from J2000.0
	c := (days + deltaT/86400) / 36525
	long := 280.46646 + c*(36000.76983+c*0.0003032)
	anomaly := (357.52911 + c*(35999.05029-c*0.0001537)) * rad
	ecc := 0.016708634 - c*(0.000042037+c*0.0000001267)
	centre := (1.914602-c*(0.004817+c*0.000014))*math.Sin(anomaly) +
		(0.019993-c*0.000101)*math.Sin(2*anomaly) + 0.000289*math.Sin(3*anomaly)
	node := (125.04 - 1934.136*c) * rad
	apparent := (long + centre - 0.00569 - 0.00478*math.Sin(node)) * rad
	obliquity := 23.43929111 - c*(0.013004167+c*(1.64e-7-c*5.04e-7)) + 0.00256*math.Cos(node)
	eps := obliquity * rad
	return sunPlace{
		rightAscension: math.Atan2(math.Cos(eps)*math.Sin(apparent), math.Cos(apparent)) * deg,
		declination:    math.Asin(math.Sin(eps)*math.Sin(apparent)) * deg,
		distance:       1.000001018 * (1 - ecc*ecc) / (1 + ecc*math.Cos(anomaly+centre*rad)),
		sidereal:       280.46061837 + 360.98564736629*days - 0.00478*math.Sin(node)*math.Cos(eps),
	}
}

// hourAngle returns how far the sun stands past the meridian of lon, in degrees
// from -180 to 180.
func (p sunPlace) hourAngle(lon float64) float64 {
	return math.Remainder(p.sidereal+lon-p.rightAscension, 360)
}

// altitude returns the height of the sun's centre above the true horizon seen
// from lat, lon, in degrees, without refraction.
func (p sunPlace) altitude(lat, lon float64) float64 {
	sin := math.Sin(lat*rad)*math.Sin(p.declination*rad) +
		math.Cos(lat*rad)*math.Cos(p.declination*rad)*math.Cos(p.hourAngle(lon)*rad)
	alt := math.Asin(math.Max(-1, math.Min(1, sin)))
	const parallax = 8.794 / 3600
	return alt*deg - parallax*math.Cos(alt)
}

// SunElevation returns the height of the sun's centre above the true horizon at
// an instant, in degrees from -90 to 90, without refraction, right to 0.02
// degrees between 1900 and 2100. lat and lon are degrees north and east.
func SunElevation(t time.Time, lat, lon float64) float64 { return sunAt(t).altitude(lat, lon) }
