package metno

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
	"plotwarden/weather/source"
)

var (
	day   = time.Date(2026, 7, 14, 0, 0, 0, 0, time.UTC)
	now   = day.Add(10*time.Hour + 5*time.Minute)
	place = source.Place{ID: "north", Lat: 59.91234567, Lon: 10.75, Elev: 92.4}
)

func fixture(t testing.TB) string {
	t.Helper()
	b, err := os.ReadFile("testdata/complete.json")
	require.NoError(t, err)
	return string(b)
}

func client(t testing.TB, clock *time.Time, h http.HandlerFunc) *Client {
	t.Helper()
	srv := httptest.NewServer(h)
	t.Cleanup(srv.Close)
	c, err := New(Config{URL: srv.URL + "/complete", Source: source.Options{
		UserAgent: "plotwarden/test (tests@example.org)", Now: func() time.Time { return *clock },
	}})
	require.NoError(t, err)
	return c
}

func serve(t testing.TB, body string) *Client {
	clock := now
	return client(t, &clock, func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte(body)) })
}

func TestForecast(t *testing.T) {
	var asked string
	clock := now
	c := client(t, &clock, func(w http.ResponseWriter, r *http.Request) {
		asked = r.URL.RawQuery + " " + r.UserAgent()
		_, _ = w.Write([]byte(fixture(t)))
	})
	r, err := c.Forecast(context.Background(), now, place)
	require.NoError(t, err)
	assert.Equal(t, "altitude=92&lat=59.9123&lon=10.75 plotwarden/test (tests@example.org)", asked)
	s := r.Series
	assert.Equal(t, day.Add(10*time.Hour), s.Start())
	assert.Equal(t, 21, s.Len())
	assert.Equal(t, day.Add(9*time.Hour+38*time.Minute+11*time.Second), r.Issued)
	assert.False(t, r.Deprecated)

	assert.Equal(t, 18.2, s.Value(weather.Temp, 0))
	assert.Equal(t, 2.6, s.Value(weather.Wind, 2))
	assert.Equal(t, 14.7, s.Value(weather.DewPoint, 2))
	assert.True(t, math.IsNaN(s.Value(weather.DewPoint, 3)), "after the last time that has one")
	// 13:00 20.0 C to 18:00 22.5 C: a line of five hours.
	assert.InDelta(t, 20.5, s.Value(weather.Temp, 4), 1e-9)
	o, _ := s.OriginAt(weather.Temp, 4)
	assert.Equal(t, weather.Interpolated, o.Kind)
	o, _ = s.OriginAt(weather.Temp, 8)
	assert.Equal(t, weather.Origin{Source: "met-norway", Kind: weather.Forecast, Issued: r.Issued, Fetched: now}, o)

	// Rain: the next hour where it is told, then sixths of the next six hours.
	for i, want := range []float64{0, 0.4, 1.1, 0.5, 0.5, 0.5, 0.5, 0.5, 0, 0, 0, 0, 0, 0, 0.2, 0.2} {
		assert.InDelta(t, want, s.Value(weather.Rain, i), 1e-9, "hour %d", i)
	}
	assert.True(t, math.IsNaN(s.Value(weather.Rain, 20)), "the last time has no period")
	assert.Equal(t, 45.0, s.Value(weather.RainChance, 5), "a chance is not divided")
	assert.Nil(t, s.Column(weather.Solar))
}

func TestExpiryIsHonouredAndTheQuestionConditional(t *testing.T) {
	clock := now
	var since []string
	c := client(t, &clock, func(w http.ResponseWriter, r *http.Request) {
		since = append(since, r.Header.Get("If-Modified-Since"))
		w.Header().Set("Expires", clock.Add(31*time.Minute).Format(http.TimeFormat))
		w.Header().Set("Last-Modified", "Tue, 14 Jul 2026 09:40:02 GMT")
		if len(since) > 1 {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		_, _ = w.Write([]byte(fixture(t)))
	})
	get := func() Result {
		r, err := c.Forecast(context.Background(), clock, place)
		require.NoError(t, err)
		return r
	}
	get()
	clock = clock.Add(30 * time.Minute)
	assert.NotNil(t, get().Series)
	require.Len(t, since, 1, "not asked before it expires")
	clock = clock.Add(2 * time.Minute)
	r := get()
	assert.Equal(t, []string{"", "Tue, 14 Jul 2026 09:40:02 GMT"}, since)
	assert.Equal(t, 18.2, r.Series.Value(weather.Temp, 0))
}

func TestRefusals(t *testing.T) {
	for status, want := range map[int]string{
		403: "http-403", 422: "http-422", 429: "http-429", 503: "http-503", 400: "http-400",
	} {
		clock := now
		asked := 0
		c := client(t, &clock, func(w http.ResponseWriter, _ *http.Request) {
			asked++
			w.Header().Set("Content-Type", "text/html")
			w.WriteHeader(status)
			_, _ = w.Write([]byte("<html>no</html>"))
		})
		_, err := c.Forecast(context.Background(), now, place)
		assert.Equal(t, want, source.CauseOf(err))
		if status == 429 {
			assert.Equal(t, 10*time.Minute, source.RetryAfterOf(err))
			_, err = c.Forecast(context.Background(), now, place)
			assert.Equal(t, source.Waiting, source.CauseOf(err), "throttled: stop at once")
			assert.Equal(t, 1, asked)
		}
	}
	clock := now
	c := client(t, &clock, func(w http.ResponseWriter, _ *http.Request) {
		w.WriteHeader(http.StatusNonAuthoritativeInfo)
		_, _ = w.Write([]byte(fixture(t)))
	})
	r, err := c.Forecast(context.Background(), now, place)
	require.NoError(t, err)
	assert.True(t, r.Deprecated)
	_, err = New(Config{Source: source.Options{UserAgent: "plotwarden"}})
	assert.ErrorContains(t, err, "contact")
	_, err = c.Forecast(context.Background(), now, source.Place{Lon: 999})
	assert.Equal(t, source.BadRequest, source.CauseOf(err))
}

func TestWrongAnswersAreNamed(t *testing.T) {
	for name, tc := range map[string]struct{ old, new, want string }{
		"old":         {"2026-07-14T09:38:11Z", "2026-07-12T09:38:11Z", "stale: the forecast was made 2026-07-12T09:38:11Z, 48 hours ago"},
		"no issue":    {`"updated_at"`, `"updated"`, "bad-time: no updated_at"},
		"fahrenheit":  {`"air_temperature": "celsius"`, `"air_temperature": "fahrenheit"`, `wrong-unit: air_temperature: want celsius, got "fahrenheit"`},
		"no unit":     {`"precipitation_amount": "mm",`, ``, `wrong-unit: precipitation_amount: want mm, got ""`},
		"order":       {"2026-07-14T11:00:00Z", "2026-07-14T10:00:00Z", "bad-time: time 2, 2026-07-14T10:00:00Z"},
		"off hour":    {"2026-07-14T11:00:00Z", "2026-07-14T11:30:00Z", "bad-time: time 2"},
		"endless":     {"2026-07-15T06:00:00Z", "2126-07-15T06:00:00Z", "bad-time: time 7"},
		"other place": {"10.75,", "-10.75,", "wrong-place: asked for 59.912, 10.750; the answer is for 59.900, -10.750"},
		"words":       {"18.2", `"mild"`, "bad-json:"},
		"bad time":    {"2026-07-14T11:00:00Z", "eleven", "bad-json:"},
	} {
		t.Run(name, func(t *testing.T) {
			body := fixture(t)
			require.Contains(t, body, tc.old)
			_, err := serve(t, strings.Replace(body, tc.old, tc.new, 1)).Forecast(context.Background(), now, place)
			require.Error(t, err)
			assert.Contains(t, err.Error(), "met-norway: "+tc.want)
		})
	}
	_, err := serve(t, strings.ReplaceAll(fixture(t), "relative_humidity", "humidity")).Forecast(context.Background(), now, place)
	assert.ErrorContains(t, err, "missing-variable: relative_humidity")
	_, err = serve(t, fixture(t)[:900]).Forecast(context.Background(), now, place)
	assert.Equal(t, source.Truncated, source.CauseOf(err))
	_, err = serve(t, fixture(t)).Forecast(context.Background(), day.AddDate(0, 0, 1).Add(7*time.Hour), place)
	assert.ErrorContains(t, err, "stale: the forecast ended at 2026-07-15T06:00:00Z")
}

// The documented samples, compact and complete, decode to what they say.
func TestDocumentedSamples(t *testing.T) {
	clock := now
	c := client(t, &clock, http.NotFound)
	for _, name := range []string{"compact_trimmed.json", "complete_trimmed.json"} {
		b, err := os.ReadFile("../../../shared/api-shapes/metno/" + name)
		if err != nil {
			t.Skip("the documented samples are not here: ../shared/api-shapes/metno")
		}
		then := time.Date(2024, 2, 24, 15, 0, 0, 0, time.UTC)
		var a answer
		require.NoError(t, json.Unmarshal(b, &a))
		r, err := c.decode(b, source.Place{Lat: 60, Lon: 10}, then, then)
		require.NoError(t, err, name)
		assert.Equal(t, 4.3, r.Series.Value(weather.Temp, 0))
		assert.Equal(t, 84.0, r.Series.Value(weather.RH, 0))
		assert.Equal(t, name == "compact_trimmed.json", len(r.Missing) > 0, "%v", r.Missing)
		assert.True(t, math.IsNaN(r.Series.Value(weather.Temp, 100)), "cut out of the sample: a gap too long for a line")
	}
}

// Whatever comes, the decoder returns hours or one named error.
func FuzzDecode(f *testing.F) {
	f.Add([]byte(fixture(f)))
	clock := now
	c := client(f, &clock, http.NotFound)
	f.Fuzz(func(t *testing.T, b []byte) {
		r, err := c.decode(b, place, now, now)
		switch {
		case err != nil && source.CauseOf(err) == "unknown":
			t.Fatalf("an error without a cause: %v", err)
		case err == nil && (r.Series.Len() == 0 || r.Series.Len() > maxHours+1):
			t.Fatalf("%d hours", r.Series.Len())
		}
	})
}
