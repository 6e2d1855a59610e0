package outlook

import (
	"math"

	"plotwarden/weather"
)

// How far a weather service's own account of an hour lies off at a bed that no
// station stands in: mean absolute errors of its grid, its height and its ground,
// which a forecast shares (from memory).
const (
	analysisTemp = 1.1 // C
	analysisRH   = 7   // per cent
)

// AnalysedForecast is MeasuredForecast for a place without a station, where forecasts
// were held against a service's account of the hours once they had passed. What that
// account is off by itself is added, as independent of the rest: so a forecast is
// never taken to be better than the account, and the growth of its error with lead is
// the place's own. Rain is as stated: an account makes rain as its forecast does. The
// result does not count as measured.
func AnalysedForecast(f weather.ForecastError, least int) Error {
	e := MeasuredForecast(weather.ForecastError{Temp: beside(f.Temp, analysisTemp), RH: beside(f.RH, analysisRH)}, least)
	e.Measured, e.MeasuredRH = false, false
	return e
}

func beside(byLead []weather.Error, by float64) []weather.Error {
	out := make([]weather.Error, len(byLead))
	for i, e := range byLead {
		out[i] = weather.Error{N: e.N, MAE: math.Hypot(e.MAE, by)}
	}
	return out
}
