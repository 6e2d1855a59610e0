package openmeteo

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

// The day of the fixtures, at twenty past ten.
var (
	day = time.Date(2026, 7, 14, 0, 0, 0, 0, time.UTC)
	now = day.Add(10*time.Hour + 20*time.Minute)
)

var lakeside = Place{ID: "lakeside", Lat: 41.5, Lon: -81.6, Elev: 205}
var hillside = Place{ID: "hillside", Lat: 44.47, Lon: -73.2, Elev: 100}

// serve answers every request with one body and keeps the queries.
func serve(t *testing.T, status int, body []byte, change func(*Config)) (*Client, *[]url.Values) {
	t.Helper()
	var asked []url.Values
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked = append(asked, r.URL.Query())
		w.Header().Set("Content-Type", "application/json; charset=utf-8")
		w.WriteHeader(status)
		_, _ = w.Write(body)
	}))
	t.Cleanup(srv.Close)
	c := Config{ForecastURL: srv.URL + "/v1/forecast", ArchiveURL: srv.URL + "/v1/archive", EnsembleURL: srv.URL + "/v1/ensemble"}
	c.Source = source.Options{UserAgent: "plotwarden/test (tests@example.org)", Timeout: 5 * time.Second, Now: func() time.Time { return now }}
	if change != nil {
		change(&c)
	}
	client, err := New(c)
	require.NoError(t, err)
	return client, &asked
}

func fixture(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	require.NoError(t, err)
	return b
}

// edit changes a fixture's place before it is served.
func edit(t *testing.T, name string, change func(m map[string]any)) []byte {
	t.Helper()
	var m map[string]any
	require.NoError(t, json.Unmarshal(fixture(t, name), &m))
	change(m)
	b, err := json.Marshal(m)
	require.NoError(t, err)
	return b
}

func TestForecastOfOnePlace(t *testing.T) {
	c, asked := serve(t, 200, fixture(t, "forecast_one.json"), nil)
	rs := c.Forecast(context.Background(), now, []Place{lakeside}, 0, 1)
	require.Len(t, rs, 1)
	r := rs[0]
	require.NoError(t, r.Err)
	s := r.Series
	assert.Equal(t, day, s.Start())
	assert.Equal(t, 24, s.Len())
	assert.Equal(t, "lakeside", r.Place.ID)
	assert.Equal(t, source.Place{ID: "lakeside", Lat: 41.51, Lon: -81.6, Elev: 208}, r.Cell)
	assert.Equal(t, "CC BY 4.0", r.Attribution.Licence)
	assert.Empty(t, r.Missing)

	// The state at a label is the state at that hour; a total at 06:00 fell
	// from 05:00 on. The total at the first label fell on the day before.
	assert.Equal(t, 21.0, s.Value(weather.Temp, 15))
	assert.Equal(t, 2.4, s.Value(weather.Rain, 5))
	assert.Equal(t, 0.0, s.Value(weather.Rain, 6))
	assert.Equal(t, 80.0, s.Value(weather.RainChance, 5))
	assert.Equal(t, 0.0, s.Value(weather.Rain, 0), "9.9 mm at the first label are yesterday's")
	assert.True(t, math.IsNaN(s.Value(weather.Rain, 23)), "the last hour's total has no label yet")
	assert.InDelta(t, 145.5, s.Value(weather.Solar, 10), 0.05)
	assert.Equal(t, 1.5, s.Value(weather.Wind, 0))
	assert.Equal(t, 22.0, s.Value(weather.Soil, 3))

	before, ok := s.OriginAt(weather.Temp, 9)
	require.True(t, ok)
	assert.Equal(t, weather.Origin{Source: "open-meteo", Kind: weather.Analysis, Fetched: now}, before)
	from, _ := s.OriginAt(weather.Temp, 10)
	assert.Equal(t, weather.Forecast, from.Kind, "the hour that holds now is ahead")

	q := (*asked)[0]
	assert.Equal(t, "41.5", q.Get("latitude"))
	assert.Equal(t, "205", q.Get("elevation"))
	assert.Equal(t, []string{"GMT", "unixtime", "celsius", "ms", "mm", "0", "1"},
		[]string{q.Get("timezone"), q.Get("timeformat"), q.Get("temperature_unit"), q.Get("wind_speed_unit"), q.Get("precipitation_unit"), q.Get("past_days"), q.Get("forecast_days")})
	assert.LessOrEqual(t, len(strings.Split(q.Get("hourly"), ",")), 10, "eleven variables count double")
	assert.False(t, q.Has("apikey"))
}

func TestForecastOfTwoPlacesWithANullTail(t *testing.T) {
	c, asked := serve(t, 200, fixture(t, "forecast_two.json"), nil)
	rs := c.Forecast(context.Background(), now, []Place{lakeside, hillside}, 0, 1)
	require.Len(t, *asked, 1)
	assert.Equal(t, "41.5,44.47", (*asked)[0].Get("latitude"))
	assert.Equal(t, "205,100", (*asked)[0].Get("elevation"))
	require.NoError(t, rs[0].Err)
	require.NoError(t, rs[1].Err)
	s := rs[1].Series
	assert.Equal(t, 24, s.Len())
	assert.False(t, math.IsNaN(s.Value(weather.Temp, 19)))
	for i := 20; i < 24; i++ {
		assert.True(t, math.IsNaN(s.Value(weather.Temp, i)), "hour %d is unknown, not 0", i)
	}
	assert.True(t, math.IsNaN(s.Value(weather.Rain, 19)), "the total of 19:00 to 20:00 is labelled 20:00")
}

func TestOnePlaceOfARequestFailsAlone(t *testing.T) {
	var two []map[string]any
	require.NoError(t, json.Unmarshal(fixture(t, "forecast_two.json"), &two))
	delete(two[1]["hourly"].(map[string]any), "relative_humidity_2m")
	b, _ := json.Marshal(two)
	c, _ := serve(t, 200, b, nil)
	rs := c.Forecast(context.Background(), now, []Place{lakeside, hillside, {ID: "nowhere", Lat: 99}}, 0, 1)
	require.NoError(t, rs[0].Err)
	assert.EqualError(t, rs[1].Err, "open-meteo: missing-variable: relative_humidity_2m")
	assert.Nil(t, rs[1].Series)
	assert.Equal(t, source.BadRequest, source.CauseOf(rs[2].Err))
}

func TestPlacesOfOneCellShareARequestButNotOtherHeights(t *testing.T) {
	up := lakeside
	up.ID, up.Elev = "up", 900
	near := lakeside
	near.ID, near.Lat = "near", 41.53
	unknown := lakeside
	unknown.ID, unknown.Elev = "unknown", math.NaN()
	var places, fetched int
	c, asked := serve(t, 200, fixture(t, "forecast_one.json"), func(c *Config) {
		c.Cell, c.Batch = 0.1, 1
		c.Source.Hooks.Shared = func(_ string, p, f int) { places, fetched = p, f }
	})
	rs := c.Forecast(context.Background(), now, []Place{lakeside, up, near, unknown}, 0, 1)
	require.Len(t, *asked, 3)
	assert.False(t, (*asked)[2].Has("elevation"), "an unknown height is left to the service's map")
	assert.Equal(t, []int{4, 3}, []int{places, fetched})
	for i, id := range []string{"lakeside", "up", "near", "unknown"} {
		require.NoError(t, rs[i].Err)
		assert.Equal(t, id, rs[i].Place.ID)
	}
	assert.Same(t, rs[0].Series, rs[2].Series)
	assert.NotSame(t, rs[0].Series, rs[1].Series)
}

func TestWrongAnswersAreNamed(t *testing.T) {
	hourly := func(m map[string]any) map[string]any { return m["hourly"].(map[string]any) }
	units := func(m map[string]any) map[string]any { return m["hourly_units"].(map[string]any) }
	for name, tc := range map[string]struct {
		change func(m map[string]any)
		want   string
	}{
		"fahrenheit":     {func(m map[string]any) { units(m)["temperature_2m"] = "°F" }, `wrong-unit: temperature_2m: asked for °C, got "°F"`},
		"unit left out":  {func(m map[string]any) { delete(units(m), "wind_speed_10m") }, `wrong-unit: wind_speed_10m: asked for m/s, got ""`},
		"local time":     {func(m map[string]any) { m["utc_offset_seconds"] = -14400 }, "wrong-zone: asked for GMT; the answer's offset is -14400 seconds"},
		"no offset":      {func(m map[string]any) { delete(m, "utc_offset_seconds") }, "wrong-zone: asked for GMT; the answer's offset is absent seconds"},
		"text times":     {func(m map[string]any) { units(m)["time"] = "iso8601" }, `wrong-unit: time: asked for unixtime, got "iso8601"`},
		"no rain":        {func(m map[string]any) { delete(hourly(m), "precipitation") }, "missing-variable: precipitation"},
		"all null":       {func(m map[string]any) { hourly(m)["temperature_2m"] = make([]any, 24) }, "missing-variable: temperature_2m"},
		"short column":   {func(m map[string]any) { hourly(m)["cloud_cover"] = []any{1, 2} }, "bad-json: cloud_cover has 2 values for 24 hours"},
		"words":          {func(m map[string]any) { hourly(m)["cloud_cover"].([]any)[3] = "many" }, "bad-value: cloud_cover: value 4"},
		"another place":  {func(m map[string]any) { m["longitude"] = 81.6 }, "wrong-place: asked for 41.500, -81.600; the answer is for 41.510, 81.600"},
		"no place":       {func(m map[string]any) { delete(m, "latitude") }, "bad-json: no latitude"},
		"no hours":       {func(m map[string]any) { hourly(m)["time"] = []any{} }, "no-data: no hours"},
		"order":          {func(m map[string]any) { hourly(m)["time"].([]any)[2] = hourly(m)["time"].([]any)[1] }, "bad-time: hour 2026-07-14T01Z comes after 2026-07-14T01Z"},
		"half an hour":   {func(m map[string]any) { hourly(m)["time"].([]any)[2] = float64(day.Unix() + 9000) }, "bad-time: time 3, 1783996200, is not a whole hour"},
		"null time":      {func(m map[string]any) { hourly(m)["time"].([]any)[2] = nil }, "bad-time: time 3"},
		"endless":        {func(m map[string]any) { hourly(m)["time"].([]any)[23] = 9e9 }, "bad-time: asked for"},
		"yesterday's":    {func(m map[string]any) { moveTimes(hourly(m), -24) }, "stale: asked for 2026-07-14T00Z to 2026-07-14T23Z, got 2026-07-13T00Z"},
		"later":          {func(m map[string]any) { moveTimes(hourly(m), 48) }, "bad-time: asked for"},
		"service's null": {func(m map[string]any) { m["hourly"] = nil }, "missing-variable: no hourly times"},
	} {
		t.Run(name, func(t *testing.T) {
			c, _ := serve(t, 200, edit(t, "forecast_one.json", tc.change), nil)
			r := c.Forecast(context.Background(), now, []Place{lakeside}, 0, 1)[0]
			require.Error(t, r.Err)
			assert.Contains(t, r.Err.Error(), "open-meteo: "+tc.want)
			assert.Nil(t, r.Series)
		})
	}
}

func moveTimes(hourly map[string]any, hours float64) {
	for i, x := range hourly["time"].([]any) {
		hourly["time"].([]any)[i] = x.(float64) + 3600*hours
	}
}

func TestWhatWeCanDoWithoutIsNamedNotFatal(t *testing.T) {
	c, _ := serve(t, 200, edit(t, "forecast_one.json", func(m map[string]any) {
		h := m["hourly"].(map[string]any)
		delete(h, "soil_temperature_6cm")
		h["cloud_cover"] = make([]any, 24)
		delete(m["hourly_units"].(map[string]any), "cloud_cover")
	}), nil)
	r := c.Forecast(context.Background(), now, []Place{lakeside}, 0, 1)[0]
	require.NoError(t, r.Err)
	assert.Equal(t, []string{"cloud_cover", "soil_temperature_6cm"}, r.Missing)
	assert.Nil(t, r.Series.Column(weather.Soil))
}

func TestRefusalsCarryTheServicesWordsAndWait(t *testing.T) {
	for body, tc := range map[string]struct {
		status int
		want   string
		wait   time.Duration
	}{
		`{"error":true,"reason":"Minutely API request limit exceeded. Please try again in one minute."}`:    {429, "http-429: Minutely API", time.Minute},
		`{"error":true,"reason":"Hourly API request limit exceeded. Please try again in the next hour."}`:   {429, "http-429: Hourly API", time.Hour},
		`{"error":true,"reason":"Daily API request limit exceeded. Please try again tomorrow."}`:            {429, "http-429: Daily API", 24 * time.Hour},
		`{"error":true,"reason":"Too many concurrent requests"}`:                                            {429, "http-429: Too many concurrent requests", 2 * time.Second},
		`{"error":true,"reason":"The service is overloaded"}`:                                               {503, "http-503: The service is overloaded", 0},
		`{"error":true,"reason":"Data corrupted at path ''. Cannot initialize from invalid String value."}`: {400, "http-400: Data corrupted", 0},
		`<html><h1>502 Bad Gateway</h1></html>`:                                                             {502, "http-502: the answer begins", 0},
		`<html><h1>Welcome</h1></html>`:                                                                     {200, "html-body: the answer begins", 0},
		`{"latitude":41.5,"hourly":{"time":[17839`:                                                          {200, "truncated: the answer of", 0},
	} {
		c, _ := serve(t, tc.status, []byte(body), nil)
		r := c.Forecast(context.Background(), now, []Place{lakeside}, 0, 1)[0]
		require.Error(t, r.Err)
		assert.Contains(t, r.Err.Error(), "open-meteo: "+tc.want)
		assert.Equal(t, tc.wait, source.RetryAfterOf(r.Err))
	}
}

func TestAskingForTooMuchIsRefusedHere(t *testing.T) {
	c, asked := serve(t, 200, nil, nil)
	for _, n := range [][2]int{{-1, 7}, {93, 7}, {0, 0}, {0, 17}} {
		r := c.Forecast(context.Background(), now, []Place{lakeside}, n[0], n[1])[0]
		assert.Equal(t, source.BadRequest, source.CauseOf(r.Err))
	}
	assert.Empty(t, *asked)
}

func TestConfigIsChecked(t *testing.T) {
	ok := source.Options{UserAgent: "plotwarden/test"}
	for name, c := range map[string]Config{
		"key at the free address": {Key: "k", ForecastURL: freeForecast, Source: ok},
		"not an address":          {ArchiveURL: "archive", Source: ok},
		"a query":                 {EnsembleURL: "http://localhost/x?y=1", Source: ok},
		"a huge cell":             {Cell: 3, Source: ok},
		"no User-Agent":           {},
	} {
		_, err := New(c)
		assert.Error(t, err, name)
	}
	c, err := New(Config{Key: "k", Source: ok})
	require.NoError(t, err)
	assert.Equal(t, paidForecast, c.c.ForecastURL)
	assert.Nil(t, c.forecast.Options().Budget, "a paid plan has its own limits")
	c, err = New(Config{ForecastURL: "http://localhost:8080/v1/forecast", Source: ok})
	require.NoError(t, err)
	assert.Nil(t, c.forecast.Options().Budget, "so has a server of one's own")
	assert.Zero(t, c.forecast.Options().Rate)
	assert.NotNil(t, c.archive.Options().Budget)
	assert.Same(t, c.archive.Options().Budget, c.ensemble.Options().Budget)
	assert.Equal(t, "k", (&Client{c: Config{Key: "k"}}).query(hourlyForecast, lakeside).Get("apikey"))
}

// Costs worked from the service's rule, places x max(1, vars/10, vars/10 x
// days/14): 7 days of up to ten variables at one place count 1.
func TestWeight(t *testing.T) {
	assert.Equal(t, 1.0, weight(1, 10, 7))
	assert.Equal(t, 1.0, weight(1, 9, 14))
	assert.InDelta(t, 50*0.9*23/14, weight(50, 9, 23), 1e-12)
	assert.InDelta(t, 52.2, weight(1, 1, 7305), 0.1) // 20 years of one variable: about 55 in the reference note
}
