package openmeteo

import "plotwarden/weather"

// variable is one column of an answer and what it becomes.
type variable struct {
	name      string // as asked
	to        weather.Var
	unit      string // the only one accepted
	preceding bool   // a total or mean of the hour before its label
	needed    bool   // without it the answer is of no use
}

// hourlyForecast stays within ten variables: the service counts each ten as one
// call.
var hourlyForecast = []variable{
	{name: "temperature_2m", to: weather.Temp, unit: "°C", needed: true},
	{name: "relative_humidity_2m", to: weather.RH, unit: "%", needed: true},
	{name: "dew_point_2m", to: weather.DewPoint, unit: "°C"},
	{name: "precipitation", to: weather.Rain, unit: "mm", preceding: true, needed: true},
	{name: "precipitation_probability", to: weather.RainChance, unit: "%", preceding: true},
	{name: "wind_speed_10m", to: weather.Wind, unit: "m/s"},
	{name: "cloud_cover", to: weather.Cloud, unit: "%"},
	{name: "shortwave_radiation", to: weather.Solar, unit: "W/m²", preceding: true},
	{name: "soil_temperature_6cm", to: weather.Soil, unit: "°C"},
}

// hourlyArchive has no rain chance, and soil by layer: 0 to 7 cm is the layer
// that holds the forecast's depth of 6 cm.
var hourlyArchive = []variable{
	hourlyForecast[0], hourlyForecast[1], hourlyForecast[2], hourlyForecast[3],
	hourlyForecast[5], hourlyForecast[6], hourlyForecast[7],
	{name: "soil_temperature_0_to_7cm", to: weather.Soil, unit: "°C"},
}

// hourlyEnsemble leaves soil out: its layers differ by model, and one unknown
// name fails the whole request.
var hourlyEnsemble = []variable{
	hourlyForecast[0], hourlyForecast[1], hourlyForecast[2], hourlyForecast[3],
	hourlyForecast[5], hourlyForecast[6], hourlyForecast[7],
}

func names(vs []variable) []string {
	out := make([]string, len(vs))
	for i, v := range vs {
		out[i] = v.name
	}
	return out
}

// weight is what the service counts for one request: places x max(1, vars/10,
// vars/10 x days/14). Source: the service's rate limiter in its own code.
func weight(places, vars, days int) float64 {
	v := float64(vars) / 10
	return float64(places) * max(1, v, v*float64(days)/14)
}
