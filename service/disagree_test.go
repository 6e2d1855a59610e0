package service

import (
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
	"plotwarden/weather"
)

// another is a second source of a test, which has nothing to say either.
type another struct {
	gridSource
	name string
}

func (a another) Name() string { return a.name }

func (b *small) issue(t *testing.T, source string, at time.Time, temp func(time.Time) float64, rain float64) {
	t.Helper()
	s := run(at.Truncate(time.Hour), 5*24, weather.Origin{Source: source, Kind: weather.Forecast, Fetched: at}, temp)
	for i := range s.Len() {
		s.Set(weather.Rain, i, rain, 1)
	}
	require.NoError(t, b.store.SaveForecast(t.Context(), b.site.ID, source, at, s))
}

// Two sources that forecast the same hours widely apart are named, counted and
// remembered since when; a third that agrees with one of them is not; it ends when
// they meet again.
func TestSourcesThatDisagreeWidely(t *testing.T) {
	b := newSmall(t, april, lakeside, &another{name: "near"}, &another{name: "far"}, &another{name: "old"})
	plus := func(x float64) func(time.Time) float64 { return func(at time.Time) float64 { return truth(at) + x } }
	apart := func() []store.Disagreement {
		require.NoError(t, b.svc.Refresh(t.Context()))
		q, err := b.store.Quality(t.Context(), "lakeside")
		require.NoError(t, err)
		return q.Disagreements
	}
	gauge := func(v weather.Var) float64 {
		return testutil.ToFloat64(b.svc.o.Metrics.Apart.WithLabelValues(v.String()))
	}
	b.issue(t, "near", april, plus(0), 0)
	b.issue(t, "far", april.Add(-2*time.Hour), plus(3.5), 0.3)
	b.issue(t, "old", april.Add(-13*time.Hour), plus(30), 9)
	assert.Empty(t, apart(), "3.5 C and 7 mm a day are not much, and what is old is not compared")
	assert.Zero(t, gauge(weather.Temp))

	b.now = b.now.Add(time.Hour)
	first := b.now
	b.issue(t, "far", b.now, plus(-6), 0.8)
	got := apart()
	require.Len(t, got, 2)
	assert.Equal(t, []string{"near", "far"}, []string{got[0].A, got[0].B}, "the preferred one first")
	assert.Equal(t, weather.Temp, got[0].Var)
	assert.InDelta(t, 6, got[0].Mean, 1e-9)
	assert.InDelta(t, 6, got[0].MeanA-got[0].MeanB, 1e-9)
	assert.Equal(t, 72, got[0].Hours)
	assert.Equal(t, first.Truncate(time.Hour).Add(time.Hour), got[0].From)
	assert.Equal(t, 72*time.Hour, got[0].To.Sub(got[0].From))
	assert.Equal(t, 4.0, got[0].Limit)
	assert.Equal(t, weather.Rain, got[1].Var)
	assert.InDelta(t, 19.2, got[1].Mean, 1e-9, "mm a day")
	assert.Equal(t, first, got[0].Since)
	assert.Equal(t, 1.0, gauge(weather.Temp))
	assert.Contains(t, b.log.String(), "forecasts disagree widely")

	b.now = b.now.Add(time.Hour)
	got = apart()
	require.Len(t, got, 2)
	assert.Equal(t, first, got[0].Since, "since then, without a break")

	b.now = b.now.Add(time.Hour)
	b.issue(t, "far", b.now, plus(0), 0)
	assert.Empty(t, apart())
	assert.Zero(t, gauge(weather.Temp))
}

func TestTooFewHoursInCommonAreNotCompared(t *testing.T) {
	o := weather.Origin{Source: "x", Kind: weather.Forecast}
	a := run(april.Truncate(time.Hour), 24, o, truth)
	_, ok := apart(a, a, weather.Temp, april) // the hour that runs is not ahead
	assert.False(t, ok)
	long := run(april.Truncate(time.Hour), 25, o, truth)
	d, ok := apart(long, long, weather.Temp, april)
	assert.True(t, ok)
	assert.Equal(t, 24, d.Hours)
	assert.Zero(t, d.Mean)
}
