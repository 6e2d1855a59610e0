package storetest

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
	"plotwarden/weather"
)

func ref[T any](x T) *T { return &x }

func statuses(t *testing.T, s Store, site string) []store.SourceStatus {
	t.Helper()
	list, err := s.Sources(t.Context(), site)
	require.NoError(t, err)
	return list
}

// A batch is to leave what its parts would have left one by one.
func testFetched(t *testing.T, s Store) {
	ctx := t.Context()
	shared := series(t0.Add(-48*time.Hour), 24*20, func(i int) float64 { return float64(i) / 10 }, weather.Forecast, t0)
	ahead := shared.Slice(48, shared.Len())
	reject := weather.Reject{Time: t0, Var: weather.Wind, Value: 400, Origin: weather.Origin{Source: "a", Kind: weather.Forecast}, Fault: weather.FaultRange, Reason: "above 150"}
	require.NoError(t, s.SaveWeather(ctx, "two", series(t0, 5, constant(30), weather.Station, t0)))
	failed, err := s.SaveFetched(ctx, []store.Fetched{
		{Site: "one", Source: "a", At: t0, Hours: shared, Ahead: ahead, Rejects: []weather.Reject{reject}, Elevation: ref(312.5)},
		{Site: "two", Source: "a", At: t0, Hours: shared, Ahead: ahead},
		{Site: "three", Source: "a", At: t0, Cause: "http-429", Failure: "slow down"},
		{Site: "one", Source: "b", At: t0, Hours: weather.NewSeries(t0, 0), Cause: "no-data", Failure: "half"},
	})
	require.NoError(t, err)
	assert.Equal(t, make([]error, 4), failed)
	for _, site := range []string{"one", "two"} {
		got, err := s.LoadWeather(ctx, site, t0.Add(-48*time.Hour), t0.Add(18*24*time.Hour))
		require.NoError(t, err)
		require.NoError(t, s.SaveWeather(ctx, "by hand "+site, shared))
		want := shared.Column(weather.Temp)
		if site == "two" { // measured hours stay
			want = append([]float64(nil), want...)
			copy(want[48:], []float64{30, 30, 30, 30, 30})
		}
		assert.Equal(t, want, got.Column(weather.Temp), site)
		f, err := s.Forecasts(ctx, site, t0, t0.Add(time.Second))
		require.NoError(t, err)
		require.Len(t, f, 1)
		assert.Equal(t, ahead.Column(weather.Temp), f[0].Series.Column(weather.Temp))
	}
	aside, err := s.Rejects(ctx, "one", t0, t0.Add(time.Hour))
	require.NoError(t, err)
	assert.Equal(t, []weather.Reject{reject}, aside)
	assert.Equal(t, []store.SourceStatus{
		{Site: "one", Source: "a", LastTry: t0, LastGood: t0, Elevation: ref(312.5)},
		{Site: "one", Source: "b", LastTry: t0, LastErr: "half", Cause: "no-data", Consecutive: 1},
	}, statuses(t, s, "one"))

	// Failures count up and leave the last good fetch and the height; a good one
	// ends the count.
	later := t0.Add(time.Hour)
	for n := 1; n <= 3; n++ {
		at := later.Add(time.Duration(n) * time.Hour)
		_, err := s.SaveFetched(ctx, []store.Fetched{{Site: "one", Source: "a", At: at, Cause: "timeout", Failure: "too slow"}})
		require.NoError(t, err)
		assert.Equal(t, store.SourceStatus{Site: "one", Source: "a", LastTry: at, LastGood: t0, LastErr: "too slow", Cause: "timeout", Consecutive: n, Elevation: ref(312.5)}, statuses(t, s, "one")[0])
	}
	good := later.Add(5 * time.Hour)
	_, err = s.SaveFetched(ctx, []store.Fetched{{Site: "one", Source: "a", At: good, Hours: shared}})
	require.NoError(t, err)
	assert.Equal(t, store.SourceStatus{Site: "one", Source: "a", LastTry: good, LastGood: good, Elevation: ref(312.5)}, statuses(t, s, "one")[0])

	failed, err = s.SaveFetched(ctx, nil)
	require.NoError(t, err)
	assert.Empty(t, failed)
}

// One entry that cannot be kept takes nothing from the others of its batch, and
// leaves nothing of itself but, where it has a site, a status that says so.
func testFetchedApart(t *testing.T, s Store) {
	ctx := t.Context()
	h := series(t0, 24, constant(11), weather.Forecast, t0)
	failed, err := s.SaveFetched(ctx, []store.Fetched{
		{Site: "one", Source: "a", At: t0, Hours: h},
		{Site: "", Source: "a", At: t0, Hours: h},
		{Site: "two", Source: "a", At: t0, Hours: h, Ahead: crowded(t)},
		{Site: "three", Source: "a", At: t0, Hours: h},
	})
	require.NoError(t, err)
	require.Len(t, failed, 4)
	assert.NoError(t, failed[0])
	assert.ErrorContains(t, failed[1], "without a site")
	assert.NoError(t, failed[2], "a forecast of many origins is kept")
	assert.NoError(t, failed[3])
	for _, site := range []string{"one", "two", "three"} {
		got, err := s.LoadWeather(ctx, site, t0, t0.Add(24*time.Hour))
		require.NoError(t, err)
		assert.Equal(t, h.Column(weather.Temp), got.Column(weather.Temp))
	}
	assert.Empty(t, statuses(t, s, ""))
}

// crowded is a series with as many origins as one may have.
func crowded(t *testing.T) *weather.Series {
	s := weather.NewSeries(t0, weather.MaxOrigins)
	for i := range s.Len() {
		h, err := s.AddOrigin(weather.Origin{Source: "x", Kind: weather.Forecast, Fetched: t0.Add(time.Duration(i) * time.Hour)})
		require.NoError(t, err)
		s.Set(weather.Temp, i, 1, h)
	}
	return s
}

func testThin(t *testing.T, s Store) {
	ctx := t.Context()
	day := t0.Truncate(24 * time.Hour)
	for h := range 72 {
		for _, source := range []string{"a", "b"} {
			at := day.Add(time.Duration(h)*time.Hour + 10*time.Minute)
			require.NoError(t, s.SaveForecast(ctx, "north", source, at, series(at.Truncate(time.Hour), 3, constant(float64(h)), weather.Forecast, at)))
			if h < 2 {
				require.NoError(t, s.SaveForecast(ctx, "south", source, at, series(at.Truncate(time.Hour), 3, constant(float64(h)), weather.Forecast, at)))
			}
		}
	}
	list := func(site string) (out []string) {
		got, err := s.Forecasts(ctx, site, day, day.Add(96*time.Hour))
		require.NoError(t, err)
		for _, f := range got {
			out = append(out, f.Source+f.Issued.Format(" 02T15"))
		}
		return out
	}
	n, err := s.ThinForecasts(ctx, "north", day.Add(30*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, 2*(23+5), n)
	got := list("north")
	assert.Equal(t, []string{"a 04T00", "b 04T00", "a 05T00", "b 05T00", "a 05T06"}, got[:5], "what is newer is whole")
	assert.Len(t, got, 4+2*42)
	n, err = s.ThinForecasts(ctx, "north", day.Add(30*time.Hour))
	require.NoError(t, err)
	assert.Zero(t, n)
	assert.Len(t, list("south"), 4, "another site's stay")
}

func testEnsembles(t *testing.T, s Store) {
	ctx := t.Context()
	_, err := s.Ensemble(ctx, "north")
	require.ErrorIs(t, err, store.ErrNotFound)
	runs := func(first float64) (out []*weather.Series) {
		for i := range 31 {
			one := series(t0, 24*16, func(h int) float64 { return first + float64(i) + float64(h%24)/10 }, weather.Forecast, t0)
			if i == 3 {
				one.Set(weather.Temp, 300, math.NaN(), 0)
			}
			out = append(out, one)
		}
		return out
	}
	shared := runs(5)
	require.NoError(t, s.SaveEnsembles(ctx, []store.Ensemble{
		{Site: "north", Source: "a", At: t0, Members: shared}, {Site: "south", Source: "a", At: t0, Members: shared},
		{Site: "south", Source: "b", At: t0.Add(-time.Hour), Members: runs(1)},
	}))
	require.NoError(t, s.SaveEnsembles(ctx, []store.Ensemble{{Site: "north", Source: "a", At: t0.Add(6 * time.Hour), Members: runs(9)}}))
	for site, first := range map[string]float64{"north": 9, "south": 5} {
		got, err := s.Ensemble(ctx, site)
		require.NoError(t, err)
		assert.Equal(t, "a", got.Source)
		assert.Equal(t, site, got.Site)
		require.Len(t, got.Members, 31)
		assert.Equal(t, first+2, got.Members[2].Value(weather.Temp, 0))
		assert.True(t, math.IsNaN(got.Members[3].Value(weather.Temp, 300)))
		o, ok := got.Members[3].OriginAt(weather.Temp, 299)
		assert.True(t, ok)
		assert.Equal(t, weather.Forecast, o.Kind)
	}
	got, err := s.Ensemble(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, t0.Add(6*time.Hour), got.At)
	assert.Error(t, s.SaveEnsembles(ctx, []store.Ensemble{{Site: "north", Source: "a", At: t0}}))
}

func testPutBack(t *testing.T, s Store) {
	ctx := t.Context()
	o := weather.Origin{Source: "shed", Kind: weather.Station}
	aside := func(h int, v weather.Var, x float64, f weather.Fault) weather.Reject {
		return weather.Reject{Time: t0.Add(time.Duration(h) * time.Hour), Var: v, Value: x, Origin: o, Fault: f, Reason: "r"}
	}
	unit := []weather.Reject{aside(0, weather.Temp, 20, weather.FaultUnit), aside(3, weather.RH, 60, weather.FaultUnit), aside(4, weather.Temp, 22, weather.FaultUnit)}
	odd := aside(5, weather.Temp, 99, weather.FaultRange)
	require.NoError(t, s.SaveRejects(ctx, "north", append([]weather.Reject{odd}, unit...)))
	require.NoError(t, s.SaveWeather(ctx, "north", series(t0, 6, constant(10), weather.Forecast, t0.Add(9*time.Hour))))
	require.NoError(t, s.SaveWeather(ctx, "north", series(t0.Add(4*time.Hour), 1, constant(25), weather.Station, t0.Add(9*time.Hour))))
	require.NoError(t, s.PutBack(ctx, "north", nil))
	// The range fault was not withdrawn, whatever the caller says it was.
	wrong := odd
	wrong.Fault = weather.FaultUnit
	require.NoError(t, s.PutBack(ctx, "north", append([]weather.Reject{wrong}, unit...)))
	got, err := s.LoadWeather(ctx, "north", t0, t0.Add(6*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, []float64{20, 10, 10, 10, 25, 10}, got.Column(weather.Temp), "what was measured yields no more than to newer of its kind")
	assert.Equal(t, 60.0, got.Value(weather.RH, 3))
	from, ok := got.OriginAt(weather.Temp, 0)
	assert.True(t, ok)
	assert.Equal(t, "shed", from.Source)
	left, err := s.Rejects(ctx, "north", t0, t0.Add(9*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, []weather.Reject{odd}, left)
}
