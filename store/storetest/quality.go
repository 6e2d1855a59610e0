package storetest

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
	"plotwarden/weather"
)

func testRejects(t *testing.T, s Store) {
	ctx := t.Context()
	o := weather.Origin{Source: "shed", Kind: weather.Station}
	one := weather.Reject{Time: t0, Var: weather.Wind, Value: 468.5, Origin: o, Fault: weather.FaultRange, Reason: "above 150"}
	two := weather.Reject{Time: t0.Add(time.Hour), Var: weather.Temp, Value: 70, Origin: o, Fault: weather.FaultUnit, Reason: "reads like Fahrenheit"}
	three := weather.Reject{Time: t0.Add(2 * time.Hour), Var: weather.Wind, Value: 300, Origin: o, Fault: weather.FaultRange, Reason: "above 150 again"}
	require.NoError(t, s.SaveRejects(ctx, "north", nil))
	require.NoError(t, s.SaveRejects(ctx, "north", []weather.Reject{three, one, two}))
	require.NoError(t, s.SaveRejects(ctx, "south", []weather.Reject{one}))
	again := one
	again.Value = 470
	require.NoError(t, s.SaveRejects(ctx, "north", []weather.Reject{again}))
	got, err := s.Rejects(ctx, "north", t0, t0.Add(2*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, []weather.Reject{again, two}, got, "in order of time, one an hour, the newest")
	counts, err := s.CountRejects(ctx, "north", t0)
	require.NoError(t, err)
	assert.Equal(t, []store.SetAside{
		{Source: "shed", Fault: weather.FaultRange, N: 2, Last: three.Time, Reason: "above 150 again"},
		{Source: "shed", Fault: weather.FaultUnit, N: 1, Last: two.Time, Reason: two.Reason},
	}, counts)
	counts, err = s.CountRejects(ctx, "north", t0.Add(3*time.Hour))
	require.NoError(t, err)
	assert.Empty(t, counts)
}

func testQuality(t *testing.T, s Store) {
	ctx := t.Context()
	_, err := s.Quality(ctx, "north")
	require.ErrorIs(t, err, store.ErrNotFound)
	q := store.Quality{
		Site: "north", At: t0, Since: t0.Add(-48 * time.Hour), Against: weather.Station,
		Sources: []store.SourceQuality{{
			Source: "open-meteo",
			Error: weather.ForecastError{
				Temp: []weather.Error{{N: 24, Bias: 0.5, MAE: 1.25}, {Bias: math.NaN(), MAE: math.NaN()}},
				Rain: []weather.RainCount{{Hits: 3, Misses: 1}, {}},
			},
			Bias: []store.Bias{{Var: weather.Temp, All: weather.Error{N: 24, Bias: 0.5, MAE: 1.25}}},
		}},
		Doubts: []store.Doubt{{Source: "shed", Open: true, Doubt: weather.Doubt{Fault: weather.FaultUnit, Vars: []weather.Var{weather.Temp}, From: t0, To: t0.Add(time.Hour), Sure: true, Reason: "reads like Fahrenheit"}}},
	}
	for range 2 {
		require.NoError(t, s.SaveQuality(ctx, q))
		got, err := s.Quality(ctx, "north")
		require.NoError(t, err)
		assert.Equal(t, q.Doubts, got.Doubts)
		assert.Equal(t, q.Since, got.Since)
		assert.Equal(t, q.Sources[0].Error.Temp[0], got.Sources[0].Error.Temp[0])
		assert.True(t, math.IsNaN(got.Sources[0].Error.Temp[1].MAE), "what was not compared is not 0")
		assert.Equal(t, q.Sources[0].Error.Rain, got.Sources[0].Error.Rain)
		assert.Equal(t, 24, got.Sources[0].Bias[0].All.N)
		q.Since = t0
	}
}

func testSample(t *testing.T, s Store) {
	ctx := t.Context()
	day := t0.Truncate(24 * time.Hour)
	for h := range 60 {
		for _, source := range []string{"a", "b"} {
			at := day.Add(time.Duration(h)*time.Hour + 10*time.Minute)
			require.NoError(t, s.SaveForecast(ctx, "north", source, at, series(at.Truncate(time.Hour), 3, constant(float64(h)), weather.Forecast, at)))
		}
	}
	var got []string
	collect := func(f store.Forecast) error {
		got = append(got, f.Source+f.Issued.Format(" 02T15:04"))
		assert.Equal(t, f.Issued.Sub(day).Truncate(time.Hour).Hours(), f.Series.Value(weather.Temp, 0), "the hours are those of the issue")
		return nil
	}
	require.NoError(t, s.SampleForecasts(ctx, "north", day, day.Add(72*time.Hour), 24*time.Hour, collect))
	assert.Equal(t, []string{"a 04T00:10", "a 05T00:10", "a 06T00:10", "b 04T00:10", "b 05T00:10", "b 06T00:10"}, got)
	stop := errors.New("enough")
	assert.ErrorIs(t, s.SampleForecasts(ctx, "north", day, day.Add(72*time.Hour), 24*time.Hour, func(store.Forecast) error { return stop }), stop)
}
