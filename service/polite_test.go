package service

import (
	"context"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/service/config"
	"plotwarden/weather/faultserver"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// A conditional question that is answered with "not modified", and one that is not
// asked because the answer still holds, are counted apart from whole answers.
func TestConditionalRequestsAreCounted(t *testing.T) {
	now := time.Date(2026, 7, 14, 10, 5, 0, 0, time.UTC)
	body, asked := fileOf(t, "metno/testdata/complete.json"), 0
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked++
		w.Header().Set("Expires", now.Add(30*time.Minute).Format(http.TimeFormat))
		w.Header().Set("Last-Modified", "Tue, 14 Jul 2026 09:40:02 GMT")
		w.Header().Set("Content-Type", "application/json")
		if r.Header.Get("If-Modified-Since") == "Tue, 14 Jul 2026 09:40:02 GMT" {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		_, _ = w.Write(body)
	}))
	defer srv.Close()
	m := NewMetrics("test")
	src, err := makeSource(&config.Source{Kind: config.METNorway, Name: "met-norway", URL: srv.URL + "/complete"}, source.Options{
		Name: "met-norway", UserAgent: "plotwarden/test (tests@example.org)", Now: func() time.Time { return now }, Hooks: m.hooks(),
	}, nil)
	require.NoError(t, err)
	site := &garden.Site{ID: "north", Latitude: 59.91, Longitude: 10.75, Elevation: 92, Zone: "Europe/Oslo"}
	count := func() [3]float64 {
		a, err := src.(Fetcher).Fetch(t.Context(), site, now)
		require.NoError(t, err)
		require.NotNil(t, a.Series)
		of := func(outcome string) float64 {
			return testutil.ToFloat64(m.Requests.WithLabelValues("met-norway", outcome))
		}
		return [3]float64{of("ok"), testutil.ToFloat64(m.Kept.WithLabelValues("met-norway")), of("not-modified")}
	}
	assert.Equal(t, [3]float64{1, 0, 0}, count())
	now = now.Add(10 * time.Minute)
	assert.Equal(t, [3]float64{1, 1, 0}, count())
	now = now.Add(25 * time.Minute)
	assert.Equal(t, [3]float64{1, 1, 1}, count())
	assert.Equal(t, 2, asked)
	assert.Equal(t, float64(len(body)), testutil.ToFloat64(m.Bytes.WithLabelValues("met-norway")))
}

// Joined requests, shared cells and the budget left are counted.
func TestJoinedRequestsAndTheBudgetAreCounted(t *testing.T) {
	now := time.Date(2026, 6, 3, 10, 20, 0, 0, time.UTC)
	srv, err := faultserver.Start(func() time.Time { return now })
	require.NoError(t, err)
	defer func() { assert.NoError(t, srv.Stop()) }()
	m := NewMetrics("test")
	c, err := openmeteo.New(openmeteo.Config{ForecastURL: srv.URL("/v1/forecast"), Cell: openmeteo.DefaultCell, Source: source.Options{
		UserAgent: "plotwarden/test", Now: func() time.Time { return now }, Hooks: m.hooks(),
		Budget: source.NewBudget([]source.Window{{Per: 24 * time.Hour, Max: 100}}, nil),
	}})
	require.NoError(t, err)
	sites := make([]*garden.Site, 6)
	for i := range sites {
		sites[i] = &garden.Site{ID: "s", Latitude: 42.01 + 0.1*float64(i/3) + 0.001*float64(i), Longitude: -76.05, Elevation: 90}
	}
	got := 0
	(&OpenMeteo{Client: c, PastDays: 1, AheadDays: 6}).FetchAll(t.Context(), sites, now, func(_ int, a Answer, err error) {
		if assert.NoError(t, err) && assert.NotNil(t, a.Elevation) {
			got++
		}
	})
	assert.Equal(t, 6, got)
	assert.Equal(t, 1.0, testutil.ToFloat64(m.Requests.WithLabelValues("open-meteo", "ok")))
	assert.Equal(t, 6.0, testutil.ToFloat64(m.Places.WithLabelValues("open-meteo")))
	assert.Equal(t, 2.0, testutil.ToFloat64(m.Asked.WithLabelValues("open-meteo")))
	assert.Equal(t, 98.0, testutil.ToFloat64(m.BudgetLeft.WithLabelValues("open-meteo", "24h0m0s")))
}

// A round is put off by chance, up to a tenth of the time between two; the figure
// says by how much.
func TestTheDelayOfARoundIsShown(t *testing.T) {
	b := newSmall(t, april, lakeside)
	b.svc.o.FetchEvery = 20 * time.Millisecond
	b.svc.o.Rand = func() float64 { return 0.5 }
	ran := false
	b.svc.later(context.Background(), func() { ran = true })()
	assert.True(t, ran)
	assert.InDelta(t, 0.001, testutil.ToFloat64(b.svc.o.Metrics.RoundDelay), 1e-9)
	assert.Equal(t, 150*time.Second, delay(time.Hour, 0.5), "five minutes at most")
}
