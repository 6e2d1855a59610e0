package faultserver

import (
	"math"
	"time"

	"plotwarden/weather"
)

// quantity is how the made weather gives one variable.
type quantity struct {
	unit   string
	spread float64 // by which each run of the ensemble differs from the last
	at     func(t time.Time, lat, lon float64) float64
}

// world is an invented climate: smooth, the same at every call, with rain on
// some nights and with the sun where it stands.
var world = map[string]quantity{
	"temperature_2m":            {"°C", 0.5, temperature},
	"relative_humidity_2m":      {"%", -1, func(t time.Time, _, lon float64) float64 { return 70 - 20*solarWave(t, lon) }},
	"dew_point_2m":              {"°C", 0.3, dewPoint},
	"precipitation":             {"mm", 0.1, rain},
	"precipitation_probability": {"%", 0, func(t time.Time, lat, lon float64) float64 { return 10 + 70*math.Min(1, rain(t, lat, lon)) }},
	"wind_speed_10m":            {"m/s", 0, func(t time.Time, _, lon float64) float64 { return 3 + 2*solarWave(t, lon) }},
	"cloud_cover":               {"%", 0, func(t time.Time, _, _ float64) float64 { return float64(t.Unix() / 3600 % 101) }},
	"shortwave_radiation":       {"W/m²", 0, radiation},
	"soil_temperature_6cm":      {"°C", 0, soil},
	"soil_temperature_0_to_7cm": {"°C", 0, soil},
}

// solarWave runs from -1 to 1 in a day, highest at 15 hours of solar time.
func solarWave(t time.Time, lon float64) float64 {
	h := float64(t.Unix()%86400)/3600 + lon/15
	return math.Cos((h - 15) / 24 * 2 * math.Pi)
}

func temperature(t time.Time, lat, lon float64) float64 {
	season := math.Cos(float64(t.YearDay()-200) / 365 * 2 * math.Pi)
	if lat < 0 {
		season = -season
	}
	return 12 + 10*season + 6*solarWave(t, lon) - math.Abs(lat-40)/10
}

func dewPoint(t time.Time, lat, lon float64) float64 {
	return weather.DewPointFromRH(temperature(t, lat, lon), 70-20*solarWave(t, lon))
}

// rain is the total of the hour before t.
func rain(t time.Time, _, _ float64) float64 {
	if h := t.Unix() / 3600; h/24%4 == 0 && h%24 < 6 {
		return 0.4 * float64(h%3+1)
	}
	return 0
}

// radiation is the mean of the hour before t, by quarters: 800 W/m2 with the sun
// overhead.
func radiation(t time.Time, lat, lon float64) float64 {
	var sum float64
	for q := range 4 {
		at := t.Add(-time.Duration(15*q+8) * time.Minute)
		sum += math.Max(0, math.Sin(weather.SunElevation(at, lat, lon)*math.Pi/180))
	}
	return 200 * sum
}

func soil(t time.Time, lat, lon float64) float64 {
	return temperature(t.Truncate(24*time.Hour).Add(12*time.Hour), lat, 0)
}
