package service

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// In spring Fahrenheit read as Celsius looks like a hot summer, which may be. That the
// same source told otherwise of the same hours before may not.
func TestAnAnswerThatIsNotCredible(t *testing.T) {
	b := newSmall(t, april, lakeside, &gridSource{})
	start := april.Truncate(time.Hour).Add(-5 * 24 * time.Hour)
	told := func(source string, n int, temp func(time.Time) float64) *weather.Series {
		return run(start, n, weather.Origin{Source: source, Kind: weather.Analysis, Fetched: april}, temp)
	}
	judge := func(got *weather.Series) error {
		clean, rejects := weather.Check(got, weather.DefaultLimits())
		return b.svc.credible(t.Context(), b.site, "grid", got, clean, rejects)
	}
	wrong := told("grid", 5*24, fahrenheit)
	assert.NoError(t, judge(wrong), "nothing is known yet that speaks against it")
	require.NoError(t, b.store.SaveWeather(t.Context(), "lakeside", told("other", 5*24, truth)))
	assert.NoError(t, judge(wrong), "another source may be the wrong one")
	require.NoError(t, b.store.SaveWeather(t.Context(), "lakeside", told("grid", 2*24-1, truth)))
	assert.NoError(t, judge(wrong), "too few hours")
	require.NoError(t, b.store.SaveWeather(t.Context(), "lakeside", told("grid", 2*24, truth)))
	err := judge(wrong)
	assert.Equal(t, source.WrongUnit, source.CauseOf(err))
	assert.ErrorContains(t, err, "temperatures of 48 hours past lie")
	assert.NoError(t, judge(told("grid", 5*24, func(at time.Time) float64 { return truth(at) + 6 })), "revised, even by much")

	hot := told("grid", 5*24, func(at time.Time) float64 { return 1.8*(truth(at)+12) + 32 })
	err = judge(hot)
	assert.Equal(t, source.WrongUnit, source.CauseOf(err))
	assert.ErrorContains(t, err, "120 of 120 temperatures cannot be: reads like Fahrenheit taken as Celsius")
	broken := told("grid", 5*24, func(time.Time) float64 { return 9999 })
	assert.Equal(t, source.BadValue, source.CauseOf(judge(broken)))
}
