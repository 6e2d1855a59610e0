package storetest

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
	"plotwarden/weather"
)

// series makes n hours of temperature that all have one origin.
func series(start time.Time, n int, temp func(i int) float64, kind weather.Kind, fetched time.Time) *weather.Series {
	s := weather.NewSeries(start, n)
	h, err := s.AddOrigin(weather.Origin{Source: "made " + kind.String(), Kind: kind, Issued: fetched.Add(-time.Hour), Fetched: fetched})
	if err != nil {
		panic(err)
	}
	for i := range n {
		s.Set(weather.Temp, i, temp(i), h)
	}
	return s
}

func constant(x float64) func(int) float64 { return func(int) float64 { return x } }

func testWeather(t *testing.T, s Store) {
	ctx := t.Context()
	start := t0.Add(-30 * 24 * time.Hour)
	require.NoError(t, s.SaveWeather(ctx, "north", series(start, 40*24, func(i int) float64 { return float64(i) / 10 }, weather.Forecast, t0)))
	require.NoError(t, s.SaveWeather(ctx, "south", series(start, 24, constant(-5), weather.Forecast, t0)))
	require.NoError(t, s.SaveWeather(ctx, "north", series(t0, 3, constant(30), weather.Station, t0.Add(time.Hour))))
	require.NoError(t, s.SaveWeather(ctx, "north", series(t0, 6, constant(10), weather.Forecast, t0.Add(2*time.Hour))))
	require.NoError(t, s.SaveWeather(ctx, "north", weather.NewSeries(t0, 0)))

	got, err := s.LoadWeather(ctx, "north", t0.Add(-time.Hour+time.Minute), t0.Add(7*time.Hour-time.Minute))
	require.NoError(t, err)
	assert.Equal(t, t0.Add(-time.Hour), got.Start())
	assert.Equal(t, []float64{71.9, 30, 30, 30, 10, 10, 10, 72.6}, got.Column(weather.Temp))
	o, ok := got.OriginAt(weather.Temp, 1)
	require.True(t, ok)
	assert.Equal(t, weather.Origin{Source: "made own station", Kind: weather.Station, Issued: t0, Fetched: t0.Add(time.Hour)}, o)

	other, err := s.LoadWeather(ctx, "south", start, t0)
	require.NoError(t, err)
	assert.Equal(t, 30*24, other.Len())
	assert.Equal(t, -5.0, other.Value(weather.Temp, 23))
	assert.True(t, math.IsNaN(other.Value(weather.Temp, 24)), "beyond what was saved is missing")

	none, err := s.LoadWeather(ctx, "nowhere", t0, t0.Add(5*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, 5, none.Len())
	assert.Nil(t, none.Column(weather.Temp))

	_, err = s.LoadWeather(ctx, "north", t0, t0.Add(-time.Hour))
	assert.ErrorContains(t, err, "backwards")
}

// testWeatherModel saves random pieces and compares with a plain map.
func testWeatherModel(t *testing.T, s Store) {
	site := 0
	rapid.Check(t, func(t *rapid.T) {
		site++
		name := "site " + time.Duration(site).String()
		want := map[int]float64{}
		for k := range rapid.IntRange(1, 4).Draw(t, "saves") {
			at, n := rapid.IntRange(-300, 300).Draw(t, "at"), rapid.IntRange(1, 300).Draw(t, "n")
			piece := series(t0.Add(time.Duration(at)*time.Hour), n, func(i int) float64 {
				if i%7 == k {
					return math.NaN()
				}
				return float64(at+i) + float64(k)/10
			}, weather.Analysis, t0.Add(time.Duration(k)*time.Minute))
			for i := range n {
				if x := piece.Value(weather.Temp, i); !math.IsNaN(x) {
					want[at+i] = x
				}
			}
			if err := s.SaveWeather(t.Context(), name, piece); err != nil {
				t.Fatal(err)
			}
		}
		from, n := rapid.IntRange(-400, 400).Draw(t, "from"), rapid.IntRange(0, 500).Draw(t, "hours")
		got, err := s.LoadWeather(t.Context(), name, t0.Add(time.Duration(from)*time.Hour), t0.Add(time.Duration(from+n)*time.Hour))
		if err != nil || got.Len() != n {
			t.Fatalf("%d hours, want %d; %v", got.Len(), n, err)
		}
		for i := range n {
			x, known := want[from+i]
			if y := got.Value(weather.Temp, i); known && x != y || !known && !math.IsNaN(y) {
				t.Fatalf("hour %d is %v, want %v (known %v)", from+i, y, x, known)
			}
		}
	})
}

func testForecasts(t *testing.T, s Store) {
	ctx := t.Context()
	first := series(t0, 48, constant(11), weather.Forecast, t0)
	require.NoError(t, s.SaveForecast(ctx, "north", "b", t0, first))
	require.NoError(t, s.SaveForecast(ctx, "north", "b", t0, series(t0, 48, constant(99), weather.Forecast, t0)))
	require.NoError(t, s.SaveForecast(ctx, "north", "a", t0, series(t0, 24, constant(12), weather.Forecast, t0)))
	require.NoError(t, s.SaveForecast(ctx, "north", "a", t0.Add(6*time.Hour), series(t0, 24, constant(13), weather.Forecast, t0)))
	require.NoError(t, s.SaveForecast(ctx, "south", "a", t0, first))
	got, err := s.Forecasts(ctx, "north", t0, t0.Add(6*time.Hour))
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.Equal(t, []string{"a", "b"}, []string{got[0].Source, got[1].Source})
	assert.Equal(t, 11.0, got[1].Series.Value(weather.Temp, 47), "the first under a key stays")
	assert.Equal(t, t0, got[1].Issued)
	all, err := s.Forecasts(ctx, "north", t0, t0.Add(7*time.Hour))
	require.NoError(t, err)
	assert.Len(t, all, 3)
}

func testDays(t *testing.T, s Store) {
	ctx := t.Context()
	day := func(y int, m time.Month, d int, min, max float64) weather.Day {
		return weather.Day{Date: civil.New(y, m, d), Min: min, Max: max, Rain: 0.3, Soil: math.NaN(), Hours: 24, Kind: weather.Nearby}
	}
	require.NoError(t, s.SaveDays(ctx, "north", []weather.Day{day(2025, 12, 31, -2, 3), day(2024, 2, 29, 0, 8), day(2026, 1, 1, -4, 1)}))
	changed := day(2026, 1, 1, -3, 1.5)
	changed.Rain = math.NaN()
	require.NoError(t, s.SaveDays(ctx, "north", []weather.Day{changed}))
	got, err := s.LoadDays(ctx, "north", civil.New(2025, 1, 1), civil.New(2026, 1, 1))
	require.NoError(t, err)
	require.Len(t, got, 2)
	assert.Equal(t, "2025-12-31", got[0].Date.String())
	assert.Equal(t, []float64{-3, 1.5, 0.3}, []float64{got[1].Min, got[1].Max, got[1].Rain})
	assert.True(t, math.IsNaN(got[1].Soil))
	all, err := s.LoadDays(ctx, "north", 0, 0)
	require.NoError(t, err)
	assert.Len(t, all, 3)
	none, err := s.LoadDays(ctx, "south", 0, 0)
	require.NoError(t, err)
	assert.Empty(t, none)
	assert.ErrorContains(t, s.SaveDays(ctx, "north", []weather.Day{{}}), "without a date")
}
