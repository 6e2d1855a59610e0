package outlook

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
	"plotwarden/weather"
)

// runsOf makes n runs of twelve days from the midnight before now that fan out by
// step degrees a day and run, warmer than w by bias.
func runsOf(t *testing.T, w *weather.Series, now time.Time, n int, step, bias float64) (out []*weather.Series) {
	t.Helper()
	from := now.Truncate(24 * time.Hour)
	for m := range n {
		s := weather.NewSeries(from, 12*24)
		o, err := s.AddOrigin(weather.Origin{Source: "runs", Kind: weather.Forecast, Fetched: from})
		require.NoError(t, err)
		for i := range s.Len() {
			x := 20 + 5*math.Sin(float64(i%24-9)/12*math.Pi)
			if k := w.Index(s.Time(i)); k < w.Len() {
				x = w.Value(weather.Temp, k)
			}
			x += bias + float64(m-n/2)*step*float64(i)/24
			s.Set(weather.Temp, i, x, o)
			s.Set(weather.RH, i, 60+float64(m), o)
			s.Set(weather.Rain, i, float64(m%3), o)
		}
		out = append(out, s)
	}
	return out
}

func TestEnsembleVersionsVaryAllTheyCarry(t *testing.T) {
	w, now := spring(t, 120)
	now = now.Add(5 * time.Hour)
	soil, err := w.AddOrigin(w.Origins()[1])
	require.NoError(t, err)
	at := w.Index(now)
	w.Set(weather.Soil, at+10, 12, soil)
	runs := runsOf(t, w, now, 7, 0.1, 4)
	vs := EnsembleVersions(w, now, runs)
	require.Len(t, vs, 7)
	for m, v := range vs {
		assert.Equal(t, w.Start(), v.Start())
		assert.Equal(t, runs[m].End(), v.End())
		for _, x := range []weather.Var{weather.Temp, weather.RH} {
			assert.Equal(t, w.Column(x)[:at], v.Column(x)[:at], "what was measured stays")
		}
		assert.Equal(t, 12.0, v.Value(weather.Soil, at+10), "what runs do not carry stays as forecast")
		assert.Equal(t, float64(m%3), v.Value(weather.Rain, at+100))
		assert.Equal(t, 60+float64(m), v.Value(weather.RH, at+100))
		rh := weather.RelHumidity(v.Value(weather.Temp, at+100), v.Value(weather.DewPoint, at+100))
		assert.InDelta(t, 60+float64(m), rh, 1.5, "moved together, humidity stays about as it was")
		o, ok := v.OriginAt(weather.Temp, at)
		assert.True(t, ok)
		assert.Equal(t, "runs", o.Source)
	}
	// The middle run is the forecast, 4 degrees too warm; the others lie around it.
	assert.InDelta(t, w.Value(weather.Temp, at+100), vs[3].Value(weather.Temp, at+100), 1e-9)
	day := float64(at+100-w.Index(now.Truncate(24*time.Hour))) / 24
	assert.InDelta(t, 0.6*day, vs[6].Value(weather.Temp, at+100)-vs[0].Value(weather.Temp, at+100), 1e-9)
}

func TestEnsembleVersionsOfTooFewOrOldRuns(t *testing.T) {
	w, now := spring(t, 120)
	assert.Nil(t, EnsembleVersions(w, now, nil))
	assert.Nil(t, EnsembleVersions(w, now, runsOf(t, w, now, 4, 1, 0)))
	assert.Nil(t, EnsembleVersions(w, now, runsOf(t, w, now.Add(-15*24*time.Hour), 9, 1, 0)), "they end before now")
	runs := runsOf(t, w, now, 6, 0.1, 0)
	for i := 100; i < runs[2].Len(); i++ {
		runs[2].Set(weather.Temp, i, math.NaN(), 0)
	}
	vs := EnsembleVersions(w, now, runs)
	require.Len(t, vs, 6)
	assert.Equal(t, runs[2].Time(100), vs[2].End(), "a run that ends early")
	assert.Equal(t, runs[1].End(), vs[1].End())
}

// Runs that agree give a narrow outlook, runs that part a wide one.
func TestOutlookIsAsWideAsTheEnsemble(t *testing.T) {
	w, now := spring(t, 150)
	cat, err := catalog.Load()
	require.NoError(t, err)
	m, ok := cat.Model("imported-cabbageworm/delahaut-2015")
	require.True(t, ok)
	in := model.Input{Weather: w, Zone: time.UTC, Start: civil.New(2026, 1, 1), Now: now}
	tr, err := m.Spec.Run(&in)
	require.NoError(t, err)
	spread := func(vs []*weather.Series) float64 {
		runs, err := NewForecasts(vs, time.UTC, now).Runs(m.Spec, in)
		require.NoError(t, err)
		f := NewFan(tr, runs, nil)
		return f.runs[0].end - f.runs[len(f.runs)-1].end
	}
	stated := spread(Versions(w, now, StatedError(), 15))
	narrow := spread(EnsembleVersions(w, now, runsOf(t, w, now, 15, 0.01, 0)))
	wide := spread(EnsembleVersions(w, now, runsOf(t, w, now, 15, 0.4, 0)))
	assert.Less(t, narrow, stated/3)
	assert.Greater(t, wide, 10*narrow)
}
