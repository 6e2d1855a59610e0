package openmeteo

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/weather"
	"plotwarden/weather/faultserver"
	"plotwarden/weather/source"
)

// at returns a client of a fault server whose clock stands at now.
func at(t *testing.T, change func(*Config)) (*Client, *faultserver.Server) {
	t.Helper()
	srv, err := faultserver.Start(func() time.Time { return now })
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, srv.Stop()) })
	c := Config{ForecastURL: srv.URL("/v1/forecast"), ArchiveURL: srv.URL("/v1/archive"), EnsembleURL: srv.URL("/v1/ensemble")}
	c.Source = source.Options{
		UserAgent: "plotwarden/test (tests@example.org)", Timeout: 20 * time.Second, Retries: 1, Base: time.Millisecond,
		Now: func() time.Time { return now }, Rand: func() float64 { return 0.5 },
	}
	if change != nil {
		change(&c)
	}
	client, err := New(c)
	require.NoError(t, err)
	return client, srv
}

// keep is what a caller does with results: the last good hours stay until there
// are newer good ones.
func keep(had *weather.Series, r Result) *weather.Series {
	if r.Err != nil {
		return had
	}
	return r.Series
}

// For each way to misbehave: the cause that reaches the status page, how many
// requests it takes, and whether the last good hours are kept or replaced. And
// after it the client finds back by itself.
func TestEachFaultIsNamedAndTheLastGoodHoursStay(t *testing.T) {
	for _, tc := range []struct {
		fault    faultserver.Fault
		cause    string
		requests int // tries included
		wait     time.Duration
	}{
		{faultserver.Reset, source.Unreachable, 3, 0}, // net/http repeats a GET on a kept connection by itself
		{faultserver.SlowBody, source.Timeout, 2, 0},
		{faultserver.HalfBody, source.Truncated, 2, 0},
		{faultserver.HalfJSON, source.Truncated, 1, 0},
		{faultserver.HTML, source.HTMLBody, 2, 0},
		{faultserver.TooMany, "http-429", 1, faultserver.RetryAfter},
		{faultserver.TooManyPlain, "http-429", 1, time.Hour},
		{faultserver.ServerError, "http-500", 2, 0},
		{faultserver.Overloaded, "http-503", 2, 0},
		{faultserver.BadRequest, "http-400", 1, 0},
		{faultserver.Huge, source.TooLarge, 1, 0},
		{faultserver.RedirectLoop, source.RedirectLoop, 1 + source.MaxRedirects, 0},
		{faultserver.Stale, source.Stale, 1, 0},
		{faultserver.OtherUnits, source.WrongUnit, 1, 0},
		{faultserver.OtherZone, source.WrongZone, 1, 0},
		{faultserver.ShiftedHour, source.Shifted, 1, 0},
		{faultserver.NoHumidity, source.MissingVariable, 1, 0},
		{faultserver.AnotherPlace, source.WrongPlace, 1, 0},
	} {
		t.Run(fmt.Sprintf("%d %s", tc.fault, tc.cause), func(t *testing.T) {
			clock := now
			c, srv := at(t, func(c *Config) {
				c.Source.Now = func() time.Time { return clock }
				if tc.fault == faultserver.SlowBody {
					c.Source.Timeout = 2 * time.Second // the body never ends
				}
			})
			good := c.Forecast(context.Background(), now, []Place{lakeside}, 7, 7)[0]
			require.NoError(t, good.Err)

			srv.Set(tc.fault)
			before, _, _ := srv.Counts()
			r := c.Forecast(context.Background(), now, []Place{lakeside}, 7, 7)[0]
			after, _, _ := srv.Counts()
			require.Error(t, r.Err)
			assert.Equal(t, tc.cause, source.CauseOf(r.Err), r.Err)
			assert.Equal(t, tc.wait, source.RetryAfterOf(r.Err))
			assert.Equal(t, tc.requests, after-before)
			assert.Same(t, good.Series, keep(good.Series, r), "the last good hours stay")

			srv.Set(faultserver.None)
			clock = clock.Add(tc.wait)
			r = c.Forecast(context.Background(), now, []Place{lakeside}, 7, 7)[0]
			require.NoError(t, r.Err)
			assert.NotSame(t, good.Series, keep(good.Series, r))
		})
	}
}

func TestRefusedUntilTheServerIsBack(t *testing.T) {
	c, srv := at(t, nil)
	require.NoError(t, srv.Stop())
	r := c.Forecast(context.Background(), now, []Place{lakeside}, 1, 7)[0]
	assert.Equal(t, source.Refused, source.CauseOf(r.Err), r.Err)
	require.NoError(t, srv.Resume())
	require.NoError(t, c.Forecast(context.Background(), now, []Place{lakeside}, 1, 7)[0].Err)
}

func TestANullTailIsUnknownAndTheRestIsKept(t *testing.T) {
	c, srv := at(t, nil)
	srv.Set(faultserver.NullTail)
	r := c.Forecast(context.Background(), now, []Place{lakeside}, 1, 3)[0]
	require.NoError(t, r.Err)
	assert.Equal(t, 96, r.Series.Len())
	assert.False(t, math.IsNaN(r.Series.Value(weather.Temp, 71)))
	assert.True(t, math.IsNaN(r.Series.Value(weather.Temp, 72)))
}

// A service that fails for a day is asked now and then, not all the time, and
// every round of a quarter of an hour gets an answer at once.
func TestADayOfServerErrors(t *testing.T) {
	states := map[string]int{}
	c, srv := at(t, func(c *Config) {
		c.Source.Failures, c.Source.Cooldown = 3, time.Hour
		c.Source.Hooks.Breaker = func(_, _, to string) { states[to]++ }
	})
	srv.Set(faultserver.ServerError)
	causes := map[string]int{}
	for range 96 {
		r := c.Forecast(context.Background(), now, []Place{lakeside}, 1, 7)[0]
		causes[source.CauseOf(r.Err)]++
	}
	assert.Equal(t, map[string]int{"http-500": 3, source.BreakerOpen: 93}, causes)
	requests, _, _ := srv.Counts()
	assert.Equal(t, 6, requests)
	assert.Equal(t, map[string]int{"open": 1}, states)
}

func TestDailyBudgetIsNeverExceeded(t *testing.T) {
	clock := now
	budget := source.NewBudget([]source.Window{{Per: 24 * time.Hour, Max: 20}}, nil)
	c, srv := at(t, func(c *Config) {
		c.Source.Budget = budget
		c.Source.Now = func() time.Time { return clock }
	})
	var refused int
	for range 96 { // a day of rounds, each of weight 1
		if r := c.Forecast(context.Background(), now, []Place{lakeside}, 1, 7)[0]; r.Err != nil {
			assert.Equal(t, source.BudgetSpent, source.CauseOf(r.Err))
			refused++
		}
		clock = clock.Add(15 * time.Minute)
	}
	requests, _, _ := srv.Counts()
	assert.Equal(t, 20, requests)
	assert.Equal(t, 76, refused)
}

// Two years over a leap day come in two requests and fit without a gap, rain in
// its hour also across the new year.
func TestArchiveJoinsYears(t *testing.T) {
	c, srv := at(t, nil)
	from, to := civil.New(2023, 12, 20), civil.New(2024, 3, 1)
	r, err := c.Archive(context.Background(), lakeside, from, to)
	require.NoError(t, err)
	requests, _, _ := srv.Counts()
	assert.Equal(t, 2, requests)
	s := r.Series
	require.Equal(t, 24*73, s.Len())
	assert.Equal(t, from.Start(time.UTC), s.Start())
	assert.Empty(t, r.Missing)
	rained := false
	for i := range s.Len() {
		for _, v := range []weather.Var{weather.Temp, weather.RH, weather.Rain, weather.Solar, weather.Soil} {
			require.False(t, math.IsNaN(s.Value(v, i)), "%s at %s", v, s.Time(i))
		}
		o, _ := s.OriginAt(weather.Rain, i)
		require.Equal(t, weather.Analysis, o.Kind)
		// The server's rain of the label after the hour, by its own rule.
		h := s.Time(i).Unix()/3600 + 1
		want := 0.0
		if h/24%4 == 0 && h%24 < 6 {
			want, rained = math.Round(4*float64(h%3+1))/10, true
		}
		require.InDelta(t, want, s.Value(weather.Rain, i), 1e-9)
	}
	assert.True(t, rained)
	assert.Nil(t, s.Column(weather.RainChance), "the archive has none")

	for _, days := range [][2]civil.Date{{0, to}, {to, from}, {civil.New(1900, 1, 1), to}} {
		_, err := c.Archive(context.Background(), lakeside, days[0], days[1])
		assert.Equal(t, source.BadRequest, source.CauseOf(err))
	}
	srv.Set(faultserver.NoHumidity)
	_, err = c.Archive(context.Background(), lakeside, from, to)
	assert.ErrorContains(t, err, "missing-variable: relative_humidity_2m")
}

func TestEnsembleFromAServer(t *testing.T) {
	c, srv := at(t, nil)
	m, err := c.Ensemble(context.Background(), now, lakeside)
	require.NoError(t, err)
	require.Len(t, m.Series, 5)
	assert.Equal(t, 16*24, m.Series[0].Len())
	assert.InDelta(t, 2, m.Series[4].Value(weather.Temp, 100)-m.Series[0].Value(weather.Temp, 100), 0.11)
	srv.Set(faultserver.Stale)
	_, err = c.Ensemble(context.Background(), now, lakeside)
	assert.Equal(t, source.Stale, source.CauseOf(err))
}

func TestManyPlacesGoInBatchesAndOneFailedBatchFailsOnlyItself(t *testing.T) {
	c, srv := at(t, func(c *Config) { c.Batch, c.Source.Retries = 10, 0 })
	var places []Place
	for i := range 25 {
		places = append(places, Place{ID: string(rune('a' + i)), Lat: 40 + float64(i)/4, Lon: -75, Elev: math.NaN()})
	}
	given, failed := 0, 0
	c.Each(context.Background(), now, places, 0, 1, func(i int, r Result) {
		assert.Equal(t, places[i].ID, r.Place.ID)
		if given++; given == 10 {
			srv.Set(faultserver.Overloaded)
		}
		if given == 20 {
			srv.Set(faultserver.None)
		}
		if r.Err != nil {
			assert.Equal(t, "http-503", source.CauseOf(r.Err))
			failed++
		}
	})
	assert.Equal(t, []int{25, 10}, []int{given, failed})
	requests, asked, _ := srv.Counts()
	assert.Equal(t, []int{3, 15}, []int{requests, asked})
}
