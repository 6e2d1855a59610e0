package weather

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEstimateBias(t *testing.T) {
	ny, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	station := series(ownStation, Temp, daily(96, 20, 5)...)
	// Issued at the start: 1 C too warm on the first day, 3 C too cold after.
	off := func(i int) float64 {
		if i < 24 {
			return 1
		}
		return -3
	}
	values := make([]float64, 96)
	for i := range values {
		values[i] = station.Value(Temp, i) + off(i)
	}
	first := series(forecastAt(0), Temp, values...)
	past := series(grid, Temp, station.Value(Temp, 0)+2, station.Value(Temp, 1)+2)
	other := series(Origin{Source: "elsewhere", Kind: Forecast}, Temp, 90, 90)
	corrected := forecastAt(0)
	corrected.Corrected = true
	b := EstimateBias(station, "grid", Temp, ny, first, past, other, series(corrected, Temp, 70))
	assert.Equal(t, Error{N: 96, Bias: -2, MAE: 2.5}, round(b.Forecast))
	assert.Equal(t, Error{N: 2, Bias: 2, MAE: 2}, round(b.Analysis))
	require.Len(t, b.ByLead, 4)
	assert.Equal(t, Error{N: 24, Bias: 1, MAE: 1}, round(b.ByLead[0]))
	assert.Equal(t, Error{N: 24, Bias: -3, MAE: 3}, round(b.ByLead[1]))
	// 20:00 on the clock is midnight UTC: 1, 2 (analysis), -3, -3, -3.
	assert.Equal(t, Error{N: 5, Bias: -1.2, MAE: 2.4}, round(b.ByHour[20]))
	assert.Equal(t, Error{N: 4, Bias: -2, MAE: 2.5}, round(b.ByHour[12]))

	empty := EstimateBias(series(grid, Temp, 1), "grid", Temp, ny, first)
	assert.Zero(t, empty.Forecast.N, "an analysis is no measurement")
	assert.True(t, math.IsNaN(empty.Forecast.Bias))
	assert.True(t, math.IsNaN(empty.ByHour[3].MAE))
}

func round(e Error) Error {
	e.Bias, e.MAE = math.Round(e.Bias*1e6)/1e6, math.Round(e.MAE*1e6)/1e6
	return e
}

func TestApplyTakesTheBiasOffOnce(t *testing.T) {
	station := series(ownStation, Temp, daily(240, 20, 5)...)
	warm := make([]float64, 240)
	for i := range warm {
		warm[i] = station.Value(Temp, i) + 1 + float64(i%24)/10
	}
	f := series(forecastAt(0), Temp, warm...)
	b := EstimateBias(station, "grid", Temp, time.UTC, f)
	out, err := b.Apply(f, 10)
	require.NoError(t, err)
	for i := range 240 {
		assert.InDelta(t, station.Value(Temp, i), out.Value(Temp, i), 1e-9)
	}
	o, _ := out.OriginAt(Temp, 5)
	assert.True(t, o.Corrected)
	assert.Equal(t, forecastAt(0).Issued, o.Issued)
	again, err := b.Apply(out, 10)
	require.NoError(t, err)
	assert.Equal(t, out.Column(Temp), again.Column(Temp), "not twice")

	whole, err := b.Apply(f, 11)
	require.NoError(t, err)
	assert.InDelta(t, warm[0]-b.Forecast.Bias, whole.Value(Temp, 0), 1e-9, "too few by the hour")
	none, err := b.Apply(f, 241)
	require.NoError(t, err)
	assert.Equal(t, f.Column(Temp), none.Column(Temp), "too few at all")
	measured, err := b.Apply(station, 1)
	require.NoError(t, err)
	assert.Equal(t, station.Column(Temp), measured.Column(Temp), "the station is left alone")

	_, err = Bias{Var: Rain}.Apply(f, 1)
	assert.EqualError(t, err, "correct rain: only temperature, dew point, humidity, wind and soil temperature have a bias to take off")
}

func TestApplyKeepsWithinBounds(t *testing.T) {
	dry := series(forecastAt(0), RH, 50, 99)
	b := EstimateBias(series(ownStation, RH, 95), "grid", RH, time.UTC, dry)
	out, err := b.Apply(dry, 1)
	require.NoError(t, err)
	assert.Equal(t, []float64{95, 100}, out.Column(RH))
	windy := series(forecastAt(0), Wind, 8, 1)
	out, err = EstimateBias(series(ownStation, Wind, 2), "grid", Wind, time.UTC, windy).Apply(windy, 1)
	require.NoError(t, err)
	assert.Equal(t, []float64{2, 0}, out.Column(Wind))
}
