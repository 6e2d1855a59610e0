package postgres

import (
	"math"
	"time"

	"plotwarden/weather"
)

// oneHour has the temperature of one hour after t0.
func oneHour(n int) *weather.Series {
	h := weather.NewSeries(t0.Add(time.Duration(n)*time.Hour), 1)
	o, err := h.AddOrigin(weather.Origin{Source: "a", Kind: weather.Forecast, Fetched: t0})
	if err != nil {
		panic(err)
	}
	h.Set(weather.Temp, 0, float64(n), o)
	return h
}

func known(h *weather.Series) (out []float64) {
	for _, x := range h.Column(weather.Temp) {
		if !math.IsNaN(x) {
			out = append(out, x)
		}
	}
	return out
}
