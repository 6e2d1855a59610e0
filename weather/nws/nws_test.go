package nws

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

var (
	day   = time.Date(2026, 7, 14, 0, 0, 0, 0, time.UTC)
	now   = day.Add(10*time.Hour + 10*time.Minute)
	place = source.Place{ID: "lakeside", Lat: 41.5, Lon: -81.60004, Elev: 205}
)

func fixture(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile("testdata/" + name)
	require.NoError(t, err)
	return b
}

// fake serves bodies by path, and 404 for others.
type fake struct {
	mu     sync.Mutex
	bodies map[string][]byte
	status map[string]int
	asked  []string
}

func (f *fake) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.asked = append(f.asked, r.URL.Path)
	b, ok := f.bodies[r.URL.Path]
	if !strings.Contains(r.UserAgent(), "tests@example.org") || r.Header.Get("Accept") != "application/geo+json" {
		w.WriteHeader(http.StatusForbidden)
		return
	}
	if s := f.status[r.URL.Path]; s != 0 {
		w.Header().Set("Content-Type", "application/problem+json")
		w.WriteHeader(s)
	} else if !ok {
		w.WriteHeader(http.StatusNotFound)
	}
	_, _ = w.Write(b)
}

func at(t *testing.T) (*Client, *fake) {
	t.Helper()
	f := &fake{status: map[string]int{}, bodies: map[string][]byte{
		"/points/41.5,-81.6":             fixture(t, "points.json"),
		"/gridpoints/CLE/82,64":          fixture(t, "gridpoint.json"),
		"/gridpoints/CLE/82,64/stations": fixture(t, "stations.json"),
		"/stations/KQQA/observations":    fixture(t, "observations.json"),
		"/gridpoints/CLE/83,64":          fixture(t, "gridpoint.json"),
		"/stations/KQQB/observations":    []byte(`{"features":[]}`),
		"/points/0,0":                    []byte(`{"properties":{"gridId":null}}`),
	}}
	srv := httptest.NewServer(f)
	t.Cleanup(srv.Close)
	c, err := New(Config{BaseURL: srv.URL + "/", Source: source.Options{
		UserAgent: "plotwarden/test (tests@example.org)", Base: time.Millisecond, Now: func() time.Time { return now },
	}})
	require.NoError(t, err)
	return c, f
}

func TestForecastExpandsEachLayerByItself(t *testing.T) {
	c, f := at(t)
	r, err := c.Forecast(context.Background(), now, place)
	require.NoError(t, err)
	assert.Equal(t, Point{Office: "CLE", X: 82, Y: 64, Zone: "America/New_York"}, r.Point)
	assert.Equal(t, day.Add(8*time.Hour+41*time.Minute+17*time.Second), r.Issued)
	assert.Empty(t, r.Missing)
	s := r.Series
	assert.Equal(t, day.Add(6*time.Hour), s.Start())
	assert.Equal(t, 42, s.Len())
	hour := func(v weather.Var, h int) float64 { return s.Value(v, s.Index(day.Add(time.Duration(h)*time.Hour))) }

	// Values hold for each hour of their interval.
	assert.Equal(t, []float64{18.5, 18.5, 20, 25, 25, 24, 24}, []float64{hour(weather.Temp, 6), hour(weather.Temp, 7), hour(weather.Temp, 8), hour(weather.Temp, 9), hour(weather.Temp, 35), hour(weather.Temp, 36), hour(weather.Temp, 47)})
	assert.Equal(t, 16.0, hour(weather.DewPoint, 11))
	assert.Equal(t, 17.0, hour(weather.DewPoint, 12))
	assert.True(t, math.IsNaN(hour(weather.DewPoint, 36)))
	assert.Equal(t, 88.0, hour(weather.RH, 10))
	assert.Equal(t, 70.0, hour(weather.RH, 11))
	assert.InDelta(t, 5, hour(weather.Wind, 6), 1e-12, "18 km/h")
	assert.True(t, math.IsNaN(hour(weather.Wind, 12)), "null is unknown")
	assert.Equal(t, 60.0, hour(weather.RainChance, 11), "a chance holds for its period and does not add up")

	// Totals are spread: 6 mm from 03:00 to 09:00 leave 1 mm an hour, three of
	// them in the series; from 09:00 to 12:00 and after 18:00 nothing is said.
	assert.Equal(t, []float64{1, 1, 1}, []float64{hour(weather.Rain, 6), hour(weather.Rain, 7), hour(weather.Rain, 8)})
	assert.True(t, math.IsNaN(hour(weather.Rain, 9)))
	assert.Equal(t, 0.0, hour(weather.Rain, 17))
	assert.True(t, math.IsNaN(hour(weather.Rain, 18)), "no amount is unknown, not dry")

	o, _ := s.OriginAt(weather.Temp, 0)
	assert.Equal(t, weather.Origin{Source: "nws", Kind: weather.Forecast, Issued: r.Issued, Fetched: now}, o)
	_, err = c.Forecast(context.Background(), now, place)
	require.NoError(t, err)
	assert.Equal(t, []string{"/points/41.5,-81.6", "/gridpoints/CLE/82,64", "/gridpoints/CLE/82,64"}, f.asked, "the point is kept")
}

// A real grid, with its own layers, expands to the values that it lists.
func TestARealGrid(t *testing.T) {
	const path = "../../../shared/api-shapes/nws/gridpoint_forecastGridData.json"
	b, err := os.ReadFile(path)
	if err != nil {
		t.Skip("the sample grid is not here: ../shared/api-shapes/nws")
	}
	c, _ := at(t)
	then := time.Date(2022, 2, 4, 4, 0, 0, 0, time.UTC)
	r, err := c.decodeGrid(b, then, then)
	require.NoError(t, err)
	var doc struct {
		Properties map[string]json.RawMessage
	}
	require.NoError(t, json.Unmarshal(b, &doc))
	var qpf gridValues
	require.NoError(t, json.Unmarshal(doc.Properties["quantitativePrecipitation"], &qpf))
	var listed, sum float64
	for _, v := range qpf.Values {
		listed += *v.Value
	}
	for _, x := range r.Series.Column(weather.Rain) {
		if !math.IsNaN(x) {
			sum += x
		}
	}
	assert.InDelta(t, listed, sum, 1e-9, "spreading keeps the total")
	assert.InDelta(t, 22.777777, r.Series.Value(weather.Temp, 0), 1e-5)
	assert.InDelta(t, 18.888888, r.Series.Value(weather.Temp, 13), 1e-5, "01:00 to 11:00 in one run")
	assert.InDelta(t, 20.372/3.6, r.Series.Value(weather.Wind, 1), 1e-9)

	for _, name := range []string{"stations_observations_latest.json", "stations_observations_multiple.json", "stations_observations_empty.json", "observations_KBHM_limit1_2024.json", "stations_observations_missing_value.json"} {
		b, err := os.ReadFile("../../../shared/api-shapes/nws/" + name)
		require.NoError(t, err)
		_, err = decodeObservations("nws", "KXXX", b, then)
		if err != nil {
			assert.Equal(t, source.NoData, source.CauseOf(err), "%s: %v", name, err)
		}
	}
}

func TestAMovedGridIsLookedUpAgain(t *testing.T) {
	c, f := at(t)
	_, err := c.Forecast(context.Background(), now, place)
	require.NoError(t, err)
	f.mu.Lock()
	delete(f.bodies, "/gridpoints/CLE/82,64")
	f.bodies["/points/41.5,-81.6"] = []byte(strings.Replace(string(fixture(t, "points.json")), "82", `"83"`, 1))
	f.asked = nil
	f.mu.Unlock()
	r, err := c.Forecast(context.Background(), now, place)
	require.NoError(t, err)
	assert.Equal(t, 83, r.Point.X)
	assert.Equal(t, []string{"/gridpoints/CLE/82,64", "/points/41.5,-81.6", "/gridpoints/CLE/83,64"}, f.asked)
}

func TestRefusalsAndOldForecastsAreNamed(t *testing.T) {
	for name, tc := range map[string]struct {
		change func(f *fake)
		want   string
	}{
		"expired grid": {func(f *fake) {
			f.status["/gridpoints/CLE/82,64"], f.bodies["/gridpoints/CLE/82,64"] = 503, fixture(t, "problem_503.json")
		}, "nws: http-503: Forecast Grid Expired: The requested forecast grid"},
		"stale copy": {change(t, `"2026-07-14T08:41:17+00:00"`, `"2026-07-10T16:00:00+00:00"`), "nws: stale: the forecast was issued 2026-07-10T16:00:00Z, 90 hours ago; more than 36"},
		"over":       {change(t, `"2026-07-14T06:00:00+00:00/P1DT18H"`, `"2026-07-13T06:00:00+00:00/PT18H"`), "nws: stale: the forecast ended at 2026-07-14T00:00:00Z"},
		"no layer":   {change(t, `"temperature"`, `"temp"`), "nws: missing-variable: temperature"},
		"kelvin":     {change(t, `"wmoUnit:degC"`, `"wmoUnit:K"`), `nws: wrong-unit: temperature: temperature in the unit "wmoUnit:K"`},
		"half hours": {change(t, `/PT2H"`, `/PT30M"`), `nws: bad-time: temperature, value 1: "PT30M" is not a duration of whole hours`},
		"overlap":    {change(t, `/PT2H"`, `/PT3H"`), "lies before the end of the one above"},
		"no time":    {change(t, `"updateTime"`, `"updated"`), "nws: bad-time: no updateTime in the answer"},
		"no span":    {change(t, `"validTimes"`, `"valid"`), "nws: bad-time: validTimes:"},
		"words":      {change(t, `18.5`, `"warm"`), "nws: bad-json: temperature:"},
	} {
		t.Run(name, func(t *testing.T) {
			c, f := at(t)
			tc.change(f)
			_, err := c.Forecast(context.Background(), now, place)
			require.Error(t, err)
			assert.Contains(t, err.Error(), tc.want)
		})
	}
	c, _ := at(t)
	_, err := c.Forecast(context.Background(), now, source.Place{})
	assert.ErrorContains(t, err, "covers the United States only")
	_, err = c.Forecast(context.Background(), now, source.Place{Lat: 100})
	assert.Equal(t, source.BadRequest, source.CauseOf(err))
}

func change(t *testing.T, old, new string) func(f *fake) {
	return func(f *fake) {
		b := string(fixture(t, "gridpoint.json"))
		require.Contains(t, b, old)
		f.bodies["/gridpoints/CLE/82,64"] = []byte(strings.Replace(b, old, new, 1))
	}
}

func TestWithoutAContactNothingIsAsked(t *testing.T) {
	_, err := New(Config{Source: source.Options{UserAgent: "plotwarden/1.0"}})
	assert.ErrorContains(t, err, "has no contact")
}

func TestStations(t *testing.T) {
	c, _ := at(t)
	ss, err := c.Stations(context.Background(), place)
	require.NoError(t, err)
	require.Len(t, ss, 2, "one without a position is left out")
	assert.Equal(t, "KQQA", ss[0].ID)
	assert.Equal(t, 230.0, ss[0].At.Elev)
	assert.True(t, math.IsNaN(ss[1].At.Elev))
	assert.InDelta(t, 12.2, ss[0].Km, 0.1) // 0.08 degrees north, 0.1 x cos 41.5 east
}

func TestObservationsGoIntoHours(t *testing.T) {
	c, _ := at(t)
	s, err := c.Observations(context.Background(), "KQQA", now.Add(-6*time.Hour))
	require.NoError(t, err)
	hour := func(v weather.Var, h int) float64 { return s.Value(v, s.Index(day.Add(time.Duration(h)*time.Hour))) }
	assert.Equal(t, 22.8, hour(weather.Temp, 10), "the report of 09:53")
	assert.InDelta(t, 2, hour(weather.Wind, 10), 1e-12)
	assert.Equal(t, 21.5, hour(weather.Temp, 9), "08:53 came empty and then filled; 09:20 is farther")
	assert.Equal(t, 18.0, hour(weather.DewPoint, 9))
	assert.Equal(t, 78.0, hour(weather.RH, 9), "08:53 was rejected, so the report of 09:20")
	assert.Equal(t, 3.0, hour(weather.Wind, 9), "old spelling, metres per second")
	assert.True(t, math.IsNaN(hour(weather.Rain, 9)), "null is unknown")
	assert.InDelta(t, 2.5, hour(weather.Rain, 8), 1e-12, "0.0025 m between 07:53 and 08:53; the special's 0.4 mm is part of an hour")
	assert.True(t, math.IsNaN(hour(weather.Temp, 8)), "999 C is not checked by them and not possible")
	assert.True(t, math.IsNaN(hour(weather.DewPoint, 8)), "questioned")
	assert.Equal(t, 85.0, hour(weather.RH, 8), "no code at all, and possible")
	assert.InDelta(t, 18, hour(weather.Temp, 6), 1e-12, "64.4 F")
	for h := 0; h < 6; h++ {
		assert.Equal(t, 0.0, hour(weather.Rain, h), "six dry hours")
	}
	assert.True(t, math.IsNaN(hour(weather.Rain, 6)))
	assert.Equal(t, 11, s.Len(), "a report of 2020 is left out")
	o, _ := s.OriginAt(weather.Temp, s.Len()-1)
	assert.Equal(t, weather.Origin{Source: "nws KQQA", Kind: weather.Nearby, Fetched: now}, o)

	_, err = c.Observations(context.Background(), "KQQB", now)
	assert.ErrorContains(t, err, "no-data: no report of KQQB has a value")
	_, err = c.Observations(context.Background(), "KQQC", now)
	assert.Equal(t, "http-404", source.CauseOf(err))
	_, err = c.Observations(context.Background(), "../x", now)
	assert.Equal(t, source.BadRequest, source.CauseOf(err))
}

func TestParseHours(t *testing.T) {
	// The durations seen in the service's answers.
	for in, want := range map[string]int{"PT1H": 1, "PT23H": 23, "P1D": 24, "P2D": 48, "P1DT6H": 30, "P2DT3H": 51, "P7DT14H": 182} {
		got, err := parseHours(in)
		require.NoError(t, err, in)
		assert.Equal(t, want, got)
	}
	for _, bad := range []string{"", "P", "PT", "1H", "PT1M", "P1H", "PT-1H", "PT0H", "P99999D", "PT1HX", "P1W"} {
		_, err := parseHours(bad)
		assert.Error(t, err, bad)
	}
}

// Whatever comes, the decoders return hours or one named error.
func FuzzAnswers(f *testing.F) {
	for _, n := range []string{"gridpoint.json", "points.json", "stations.json", "observations.json", "problem_503.json"} {
		f.Add(fixture(f, n))
	}
	c, err := New(Config{Source: source.Options{UserAgent: "plotwarden/test (tests@example.org)"}})
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, b []byte) {
		check := func(s *weather.Series, err error) {
			switch {
			case err != nil && source.CauseOf(err) == "unknown":
				t.Fatalf("an error without a cause: %v", err)
			case err == nil && s.Len() == 0:
				t.Fatal("no hours and no error")
			}
		}
		r, err := c.decodeGrid(b, now, now)
		check(r.Series, err)
		check(decodeObservations("nws", "KQQA", b, now))
		if ss, err := decodeStations("nws", b, place); err == nil && len(ss) == 0 {
			t.Fatal("no stations and no error")
		}
		if p, err := decodePoint("nws", b); err == nil && p.Office == "" {
			t.Fatal("no office and no error")
		}
		explain(500, b)
	})
}
