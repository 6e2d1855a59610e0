package service

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/weather/station"
)

// days runs a round a day, with a day of a station's hours before each, read as
// measured says, and forecasts that are right.
func (b *small) days(t *testing.T, st *Station, n int, measured func(time.Time) float64) {
	t.Helper()
	for range n {
		b.now = b.now.Add(24 * time.Hour)
		end := b.now.Truncate(time.Hour)
		f := run(end, 4*24, weather.Origin{Source: "grid", Kind: weather.Forecast, Fetched: b.now}, truth)
		require.NoError(t, b.store.SaveForecast(t.Context(), b.site.ID, "grid", b.now, f))
		require.NoError(t, b.store.SaveWeather(t.Context(), b.site.ID, f))
		s := run(end.Add(-24*time.Hour), 24, weather.Origin{Source: st.ID, Kind: weather.Station, Fetched: b.now}, measured)
		require.NoError(t, b.svc.keep(t.Context(), b.svc.o.Log, b.site, st.ID, s))
		require.NoError(t, b.svc.Refresh(t.Context()))
	}
}

func fahrenheit(at time.Time) float64 { return 1.8*truth(at) + 32 }

// A station read in Fahrenheit for a month is put right. After two weeks of right
// readings it is believed again; what came in these weeks is put back, what was wrong
// stays out, also when the days that showed it have long left the weeks looked at.
func TestAStationThatIsPutRight(t *testing.T) {
	st := shed(t, nil)
	b := newSmall(t, april, lakeside, st, &gridSource{})
	b.season(t, func(at time.Time) float64 {
		if at.Before(april.Add(-30 * 24 * time.Hour)) {
			return truth(at)
		}
		return fahrenheit(at)
	}, func(_, at time.Time) float64 { return truth(at) })
	require.NoError(t, b.svc.Refresh(t.Context()))
	open := func() (out []store.Doubt) {
		q, err := b.store.Quality(t.Context(), "lakeside")
		require.NoError(t, err)
		for _, d := range q.Doubts {
			if d.Sure && d.Open {
				out = append(out, d)
			}
		}
		return out
	}
	require.NotEmpty(t, open())
	fixed := b.now

	b.days(t, st, 10, truth)
	require.NotEmpty(t, open(), "ten right days are too few")
	aside, err := b.store.Rejects(t.Context(), "lakeside", fixed, b.now)
	require.NoError(t, err)
	require.NotEmpty(t, aside, "what came meanwhile is kept aside")

	b.days(t, st, 12, truth)
	assert.Empty(t, open())
	aside, err = b.store.Rejects(t.Context(), "lakeside", fixed.Add(8*24*time.Hour), b.now)
	require.NoError(t, err)
	assert.Empty(t, aside, "what was right is put back")
	assert.Contains(t, b.log.String(), "weather put back, its doubt withdrawn")
	// The first weeks' wrong hours are not believed, the last days are the station's.
	check := func() {
		q, err := b.store.Quality(t.Context(), "lakeside")
		require.NoError(t, err)
		v, err := b.svc.view(t.Context(), b.svc.o.Log, b.site, b.now, dayOf(b), q)
		require.NoError(t, err)
		for at := april.Truncate(time.Hour).Add(-25 * 24 * time.Hour); at.Before(b.now.Truncate(time.Hour)); at = at.Add(time.Hour) {
			i := v.hours.Index(at)
			require.InDelta(t, truth(at), v.hours.Value(weather.Temp, i), 0.01, "%s", at)
			if o, _ := v.hours.OriginAt(weather.Temp, i); at.After(b.now.Add(-10 * 24 * time.Hour)) {
				require.Equal(t, weather.Station, o.Kind, "%s", at)
			}
		}
		assert.LessOrEqual(t, len(q.Doubts), 4, "a doubt does not become many: %+v", q.Doubts)
	}
	check()
	b.days(t, st, 50, truth)
	check()
	assert.NoError(t, b.svc.doubt(t.Context(), b.site, "shed"))
}

// A doubt whose own days do not show it any longer, beside what is known now, is
// withdrawn, and all that was set aside for it comes back; what cannot be does not.
func TestADoubtThatWasWrongIsWithdrawn(t *testing.T) {
	st := shed(t, nil)
	b := newSmall(t, april, lakeside, st, &gridSource{})
	b.season(t, truth, func(_, at time.Time) float64 { return truth(at) })
	o := weather.Origin{Source: "shed", Kind: weather.Station}
	from := april.Truncate(time.Hour).Add(-20 * 24 * time.Hour)
	d := store.Doubt{Source: "shed", Open: true, Doubt: weather.Doubt{Fault: weather.FaultUnit, Vars: []weather.Var{weather.Temp}, From: from, To: april, Sure: true, Reason: "reads like Fahrenheit taken as Celsius, beside the reference"}}
	require.NoError(t, b.store.SaveQuality(t.Context(), store.Quality{Site: "lakeside", At: april.Add(-48 * time.Hour), Doubts: []store.Doubt{d}}))
	late := april.Truncate(time.Hour).Add(-3 * time.Hour)
	require.NoError(t, b.store.SaveRejects(t.Context(), "lakeside", []weather.Reject{
		{Time: late, Var: weather.Temp, Value: 9.5, Origin: o, Fault: weather.FaultUnit, Reason: d.Reason},
		{Time: late.Add(time.Hour), Var: weather.Temp, Value: 71, Origin: o, Fault: weather.FaultUnit, Reason: "71 C is above 60; reads like Fahrenheit"},
	}))
	require.NoError(t, b.svc.Refresh(t.Context()))
	q, err := b.store.Quality(t.Context(), "lakeside")
	require.NoError(t, err)
	assert.Empty(t, q.Doubts)
	aside, err := b.store.Rejects(t.Context(), "lakeside", from, april)
	require.NoError(t, err)
	require.Len(t, aside, 1)
	assert.Equal(t, 71.0, aside[0].Value)

	// It is believed again at once.
	obs, err := station.Decode([]byte(`{"time": "2026-04-20T10:00:00Z", "temperature_c": 11}`))
	require.NoError(t, err)
	require.NoError(t, b.svc.take(t.Context(), st, obs))
	x, got := b.at(t, april)
	assert.Equal(t, 11.0, x)
	assert.Equal(t, "shed", got.Source)
}
