package outlook

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"plotwarden/weather"
)

func TestAnalysedForecastIsWiderThanWhatWasMeasured(t *testing.T) {
	f := weather.ForecastError{
		Temp: []weather.Error{{N: 500, Bias: 2, MAE: 0.1}, {N: 500, MAE: 1.2}, {N: 3, MAE: 0}},
		RH:   []weather.Error{{N: 500, MAE: 1}},
		Rain: []weather.RainCount{{Hits: 400, DryRight: 4000}},
	}
	e := AnalysedForecast(f, 168)
	assert.InDelta(t, 1.1045, e.MAE[0], 1e-3, "never better than the account it was held against")
	assert.InDelta(t, 1.6279, e.MAE[1], 1e-3, "the root of 1.2 and 1.1 squared")
	assert.InDelta(t, 7.0711, e.RH[0], 1e-3)
	assert.Zero(t, e.Bias[0], "its bias is no station's")
	assert.False(t, e.Measured || e.MeasuredRH)
	assert.Zero(t, e.MeasuredRain)
	assert.Equal(t, StatedError().Wet, e.Wet)
	// Leads without enough hours are as stated, moved as those with are on average.
	ratio := (1.1045/1.2 + 1.6279/1.4) / 2
	assert.InDelta(t, 1.6*ratio, e.MAE[2], 1e-3)
	assert.Equal(t, StatedError(), AnalysedForecast(weather.ForecastError{}, 168))
}
