package service

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/risk/outlook"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/weather/source"
	"plotwarden/weather/station"
)

// truth is the air of an invented spring: a daily wave and a slower one.
func truth(t time.Time) float64 {
	h := float64(t.Unix()) / 3600
	return 6 + 5*math.Sin(h/24*2*math.Pi) + 3*math.Sin(h/131)
}

func run(start time.Time, n int, o weather.Origin, temp func(time.Time) float64) *weather.Series {
	s := weather.NewSeries(start, n)
	h, err := s.AddOrigin(o)
	if err != nil {
		panic(err)
	}
	for i := range n {
		s.Set(weather.Temp, i, temp(s.Time(i)), h)
		s.Set(weather.RH, i, 70, h)
	}
	return s
}

// season stores six weeks of a station and of daily forecasts from "grid".
func (b *small) season(t *testing.T, measured func(time.Time) float64, forecast func(issued, at time.Time) float64) {
	t.Helper()
	end := b.now.Truncate(time.Hour)
	for day := 60; day >= 1; day-- {
		at := b.now.Add(-time.Duration(day) * 24 * time.Hour)
		s := run(at.Truncate(time.Hour), 4*24, weather.Origin{Source: "grid", Kind: weather.Forecast, Fetched: at}, func(x time.Time) float64 { return forecast(at, x) })
		require.NoError(t, b.store.SaveForecast(t.Context(), b.site.ID, "grid", at, s))
		require.NoError(t, b.store.SaveWeather(t.Context(), b.site.ID, s))
	}
	if measured != nil {
		s := run(end.Add(-50*24*time.Hour), 50*24, weather.Origin{Source: "shed", Kind: weather.Station, Fetched: end}, measured)
		require.NoError(t, b.store.SaveWeather(t.Context(), b.site.ID, s))
	}
}

// gridSource is a source that has nothing to say; what it said is stored.
type gridSource struct{ Sites }

func (gridSource) Name() string                    { return "grid" }
func (gridSource) Attribution() source.Attribution { return source.Attribution{} }

var april = time.Date(2026, 4, 20, 10, 10, 0, 0, time.UTC)

func off(issued, at time.Time) float64 {
	if at.Sub(issued) < 24*time.Hour {
		return truth(at) + 1
	}
	return truth(at) + 2.5
}

// The error of a source by lead is measured against the station, shown to the
// outlook without its bias, and worked out once a day.
func TestForecastErrorOfASite(t *testing.T) {
	b := newSmall(t, april, lakeside, shed(t, nil), &gridSource{})
	b.season(t, truth, off)
	require.NoError(t, b.svc.Refresh(t.Context()))
	q, err := b.store.Quality(t.Context(), "lakeside")
	require.NoError(t, err)
	assert.Equal(t, weather.Station, q.Against)
	assert.Empty(t, q.Doubts)
	require.Len(t, q.Sources, 1)
	e := q.Sources[0].Error
	require.Len(t, e.Temp, 4)
	assert.InDelta(t, 1, e.Temp[0].MAE, 0.01)
	assert.InDelta(t, 2.5, e.Temp[1].MAE, 0.01)
	assert.InDelta(t, 0, e.RH[0].MAE, 1e-9)
	assert.InDelta(t, 41*24, e.Temp[0].N, 48)
	f := b.svc.forecastError(q)
	assert.True(t, f.Measured)
	assert.InDelta(t, 1, f.MAE[0], 0.01)
	assert.InDelta(t, 2.5, f.MAE[1], 0.01)
	assert.Zero(t, f.Bias[0], "the bias is taken off only where the owner wants it")

	b.now = b.now.Add(time.Hour)
	require.NoError(t, b.svc.Refresh(t.Context()))
	again, err := b.store.Quality(t.Context(), "lakeside")
	require.NoError(t, err)
	due := lookedAt(b.site, b.now).After(q.At)
	assert.Equal(t, due, again.At.After(q.At), "once a day")
	b.now = b.now.Add(24 * time.Hour)
	require.NoError(t, b.svc.Refresh(t.Context()))
	again, err = b.store.Quality(t.Context(), "lakeside")
	require.NoError(t, err)
	assert.Equal(t, b.now, again.At)
}

// A source held against its own analysis looks better than it is: what analyses are
// off by is added, here 1.1 C to an error of 1 and of 2.5.
func TestWithoutAStationTheErrorIsWidened(t *testing.T) {
	b := newSmall(t, april, lakeside, &gridSource{})
	b.season(t, nil, off)
	s := run(april.Truncate(time.Hour).Add(-40*24*time.Hour), 40*24, weather.Origin{Source: "grid", Kind: weather.Analysis, Fetched: april}, truth)
	require.NoError(t, b.store.SaveWeather(t.Context(), "lakeside", s))
	require.NoError(t, b.svc.Refresh(t.Context()))
	q, err := b.store.Quality(t.Context(), "lakeside")
	require.NoError(t, err)
	assert.Equal(t, weather.Analysis, q.Against)
	assert.InDelta(t, 1, q.Sources[0].Error.Temp[0].MAE, 0.01, "it is shown all the same")
	assert.Empty(t, q.Sources[0].Bias)
	assert.True(t, q.Sources[0].Own)
	f := b.svc.forecastError(q)
	assert.False(t, f.Measured)
	assert.InDelta(t, math.Hypot(1, 1.1), f.MAE[0], 0.01)
	assert.InDelta(t, math.Hypot(2.5, 1.1), f.MAE[1], 0.01)
	q.Against = 0
	assert.Equal(t, outlook.StatedError(), b.svc.forecastError(q))
}

// Where another source tells of the hours too, a source is held against that one
// rather than against itself.
func TestASourceIsHeldAgainstAnothersAnalysis(t *testing.T) {
	b := newSmall(t, april, lakeside, &gridSource{})
	b.season(t, nil, off)
	s := run(april.Truncate(time.Hour).Add(-40*24*time.Hour), 40*24, weather.Origin{Source: "grid", Kind: weather.Analysis, Fetched: april}, truth)
	require.NoError(t, b.store.SaveWeather(t.Context(), "lakeside", s))
	other := run(april.Truncate(time.Hour).Add(-20*24*time.Hour), 20*24, weather.Origin{Source: "other", Kind: weather.Analysis, Fetched: april}, func(at time.Time) float64 { return truth(at) - 2 })
	require.NoError(t, b.store.SaveWeather(t.Context(), "lakeside", other))
	require.NoError(t, b.svc.Refresh(t.Context()))
	q, err := b.store.Quality(t.Context(), "lakeside")
	require.NoError(t, err)
	assert.False(t, q.Sources[0].Own)
	assert.InDelta(t, 3, q.Sources[0].Error.Temp[0].MAE, 0.01)
}

func TestBiasIsTakenOffOnlyWhereTheOwnerWantsIt(t *testing.T) {
	b := newSmall(t, april, lakeside, shed(t, nil), &gridSource{})
	b.season(t, truth, func(_, at time.Time) float64 { return truth(at) + 2 })
	require.NoError(t, b.svc.Refresh(t.Context()))
	q, err := b.store.Quality(t.Context(), "lakeside")
	require.NoError(t, err)
	require.Len(t, q.Sources[0].Bias, 2)
	assert.InDelta(t, 2, q.Sources[0].Bias[0].All.Bias, 0.01)
	ahead := april.Truncate(time.Hour).Add(30 * time.Hour)
	look := func() (float64, weather.Origin) {
		v, err := b.svc.view(t.Context(), b.svc.o.Log, b.site, april, dayOf(b), q)
		require.NoError(t, err)
		i := v.hours.Index(ahead)
		o, ok := v.hours.OriginAt(weather.Temp, i)
		require.True(t, ok)
		rh, dew := v.hours.Value(weather.RH, i), v.hours.Value(weather.DewPoint, i)
		assert.InDelta(t, rh, weather.RelHumidity(v.hours.Value(weather.Temp, i), dew), 0.5, "humidity and dew point agree")
		return v.hours.Value(weather.Temp, i), o
	}
	x, o := look()
	assert.InDelta(t, truth(ahead)+2, x, 0.01)
	assert.False(t, o.Corrected)
	b.svc.o.CorrectBias = []string{"lakeside"}
	x, o = look()
	assert.InDelta(t, truth(ahead), x, 0.01)
	assert.True(t, o.Corrected)
	stored, err := b.store.LoadWeather(t.Context(), "lakeside", ahead, ahead.Add(time.Hour))
	require.NoError(t, err)
	assert.InDelta(t, truth(ahead)+2, stored.Value(weather.Temp, 0), 0.01, "what came stays as it came")
}

// A season in Fahrenheit read as Celsius, and one that is three hours late: the
// station is not believed from then on, its values are kept aside, forecasts of
// those days stand in, and its status names the cause and the fix.
func TestADoubtedStation(t *testing.T) {
	for name, c := range map[string]struct {
		measured func(time.Time) float64
		cause    string
		words    string
	}{
		"Fahrenheit": {func(t time.Time) float64 { return 1.8*truth(t) + 32 }, "wrong-unit", "reads like Fahrenheit taken as Celsius"},
		"late clock": {func(t time.Time) float64 { return truth(t.Add(-3 * time.Hour)) }, "shifted", "3 hours later"},
	} {
		t.Run(name, func(t *testing.T) {
			st := shed(t, nil)
			b := newSmall(t, april, lakeside, st, &gridSource{})
			b.season(t, c.measured, func(_, at time.Time) float64 { return truth(at) })
			require.NoError(t, b.svc.Refresh(t.Context()))
			q, err := b.store.Quality(t.Context(), "lakeside")
			require.NoError(t, err)
			require.NotEmpty(t, q.Doubts)
			open := q.Doubts[len(q.Doubts)-1]
			assert.True(t, open.Sure && open.Open, "%+v", open)
			assert.Contains(t, open.Reason, c.words)

			v, err := b.svc.view(t.Context(), b.svc.o.Log, b.site, april, dayOf(b), q)
			require.NoError(t, err)
			for back := 1; back < 30*24; back++ {
				at := april.Truncate(time.Hour).Add(-time.Duration(back) * time.Hour)
				o, ok := v.hours.OriginAt(weather.Temp, v.hours.Index(at))
				require.True(t, ok, "%s", at)
				require.Equal(t, weather.Forecast, o.Kind, "%s", at)
				require.InDelta(t, truth(at), v.hours.Value(weather.Temp, v.hours.Index(at)), 0.01)
			}

			// What it sends now is kept aside, and it is not told to send again.
			obs, err := station.Decode([]byte(`{"time": "2026-04-20T10:00:00Z", "temperature_c": 30}`))
			require.NoError(t, err)
			require.NoError(t, b.svc.take(t.Context(), st, obs))
			x, o := b.at(t, april)
			assert.InDelta(t, truth(april.Truncate(time.Hour)), x, 0.01)
			assert.Equal(t, "grid", o.Source)
			aside, err := b.store.CountRejects(t.Context(), "lakeside", april.Add(-time.Hour))
			require.NoError(t, err)
			require.Len(t, aside, 1)
			assert.Equal(t, store.SetAside{Source: "shed", Fault: open.Fault, N: 1, Last: april.Truncate(time.Hour), Reason: open.Reason}, aside[0])
			status := b.status(t, "shed")
			assert.Equal(t, c.cause, status.Cause)
			assert.Contains(t, status.LastErr, c.words)
			assert.Contains(t, status.LastErr, "kept aside until they have been right for two weeks")
			assert.True(t, strings.Contains(b.log.String(), "weather doubted"))
		})
	}
}

func dayOf(b *small) civil.Date { return civil.Of(b.now, b.site.Location()) }

// Values put back for the look show a wrong unit that the checks hide: all that
// came above the range was set aside.
func TestMeasuredByPutsBackWhatWasSetAside(t *testing.T) {
	o := weather.Origin{Source: "shed", Kind: weather.Station}
	s := run(april.Truncate(time.Hour), 3, o, truth)
	s.Set(weather.Temp, 1, math.NaN(), 0)
	aside := []weather.Reject{{Time: s.Time(1), Var: weather.Temp, Value: 71, Origin: o}, {Time: s.Time(2), Var: weather.Temp, Value: 9, Origin: weather.Origin{Source: "gate", Kind: weather.Station}}}
	got := measuredBy(s, aside, "shed")
	assert.Equal(t, 71.0, got.Value(weather.Temp, 1))
	assert.Equal(t, truth(s.Time(2)), got.Value(weather.Temp, 2))
	assert.Equal(t, []string{"gate", "shed"}, measuring(s, aside))
}

func TestSitesAreLookedAtAtHoursOfTheirOwn(t *testing.T) {
	hours := map[int]bool{}
	for _, id := range []string{"a", "b", "c", "d", "e", "f", "g", "h"} {
		at := lookedAt(&garden.Site{ID: id}, april)
		assert.False(t, at.After(april))
		assert.Less(t, april.Sub(at), 24*time.Hour)
		hours[at.Hour()] = true
	}
	assert.Greater(t, len(hours), 3)
}

// Every forecast is kept for a set time; of older ones the first of each day stays,
// which is what the error by lead is worked out from.
func TestOldForecastsAreThinned(t *testing.T) {
	b := newSmall(t, april, lakeside, shed(t, nil), &gridSource{})
	b.season(t, truth, off)
	b.svc.o.KeepForecasts = 50 * 24 * time.Hour
	for _, days := range []int{40, 55} {
		for h := range 5 {
			b.issue(t, "grid", april.Add(time.Duration(h-24*days)*time.Hour).Add(time.Minute), truth, 0)
		}
	}
	count := func(days int) int {
		day := april.Add(-time.Duration(days) * 24 * time.Hour).Truncate(24 * time.Hour)
		list, err := b.store.Forecasts(t.Context(), "lakeside", day, day.Add(24*time.Hour))
		require.NoError(t, err)
		return len(list)
	}
	require.Equal(t, 6, count(55))
	require.NoError(t, b.svc.Refresh(t.Context()))
	assert.Equal(t, 1, count(55))
	assert.Equal(t, 6, count(40))
	q, err := b.store.Quality(t.Context(), "lakeside")
	require.NoError(t, err)
	b.now = b.now.Add(24 * time.Hour)
	b.svc.o.KeepForecasts = 0
	require.NoError(t, b.svc.Refresh(t.Context()))
	assert.Equal(t, 6, count(40), "0 keeps all")
	again, err := b.store.Quality(t.Context(), "lakeside")
	require.NoError(t, err)
	assert.InDelta(t, q.Sources[0].Error.Temp[0].MAE, again.Sources[0].Error.Temp[0].MAE, 0.05)
}
