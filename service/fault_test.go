package service

import (
	"bytes"
	"context"
	"encoding/json"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/prometheus/client_golang/prometheus/testutil"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/store"
	"plotwarden/store/sqlite"
	"plotwarden/weather"
	"plotwarden/weather/faultserver"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// bench is a service on a real store against a weather server that misbehaves
// when told to, with a clock of its own.
type bench struct {
	svc     *Service
	store   *sqlite.Store
	server  *faultserver.Server
	metrics *Metrics
	log     *bytes.Buffer
	now     time.Time
}

type silent struct{}

func (silent) Compose(context.Context, *garden.Site, time.Time, *store.Round) ([]store.Message, error) {
	return nil, nil
}
func (silent) Deliver(context.Context, time.Time) error { return nil }

func newBench(t *testing.T) *bench {
	t.Helper()
	b := &bench{now: time.Date(2026, 6, 3, 10, 20, 0, 0, time.UTC), log: &bytes.Buffer{}, metrics: NewMetrics("test")}
	clock := func() time.Time { return b.now }
	var err error
	b.server, err = faultserver.Start(clock)
	require.NoError(t, err)
	t.Cleanup(func() { _ = b.server.Stop() })
	b.store, err = sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "p.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, b.store.Close()) })
	cat, err := catalog.Load()
	require.NoError(t, err)
	client, err := openmeteo.New(openmeteo.Config{
		ForecastURL: b.server.URL("/v1/forecast"), ArchiveURL: b.server.URL("/v1/archive"),
		Source: source.Options{Name: "open-meteo", UserAgent: "plotwarden/test (a@b.example)", Timeout: 2 * time.Second, Now: clock, Failures: 1000},
	})
	require.NoError(t, err)
	ground := &garden.Garden{Sites: []garden.Site{{
		ID: "north", Latitude: 42, Longitude: -76, Zone: "America/New_York",
		Plots: []garden.Plot{{ID: "a", Plantings: []garden.Planting{
			{ID: "kale", Crop: "kale", PlantedOut: civil.New(2026, 5, 10)},
			{ID: "squash", Crop: "summer squash", PlantedOut: civil.New(2026, 5, 10)},
		}}},
	}}}
	b.svc = New(Options{
		Garden:    func() *garden.Garden { return ground },
		Catalogue: cat, Store: b.store, Sources: []Source{&OpenMeteo{Client: client, PastDays: 7, AheadDays: 16}},
		Messenger: silent{}, Metrics: b.metrics, Log: slog.New(slog.NewJSONHandler(b.log, nil)), Now: clock,
		Rules: plan.DefaultRules(), Hours: plan.DefaultHourLimits(), HistoryYears: 1, FetchEvery: time.Hour,
	})
	return b
}

func (b *bench) round(t *testing.T) store.Round {
	t.Helper()
	require.NoError(t, b.svc.Refresh(t.Context()))
	r, err := b.store.LatestRound(t.Context(), "north")
	require.NoError(t, err)
	require.NotEmpty(t, r.Assessments)
	return r
}

func (b *bench) temperatures(t *testing.T) int {
	t.Helper()
	s, err := b.store.LoadWeather(t.Context(), "north", b.now.AddDate(0, 0, -3), b.now.AddDate(0, 0, 3))
	require.NoError(t, err)
	n := 0
	for i := range s.Len() {
		if x := s.Value(weather.Temp, i); x == x {
			n++
		}
	}
	return n
}

// Each fault leaves the last good data in place, is named in the log, the metric
// and the source's status, and turns everything blind once the data is too old.
func TestASourceThatFails(t *testing.T) {
	for _, c := range []struct {
		fault faultserver.Fault
		cause string
	}{
		{faultserver.HTML, source.HTMLBody},
		{faultserver.HalfJSON, source.Truncated},
		{faultserver.NoHumidity, source.MissingVariable},
		{faultserver.TooMany, source.HTTPCause(429)},
		{faultserver.Overloaded, source.HTTPCause(503)},
	} {
		t.Run(c.cause, func(t *testing.T) {
			b := newBench(t)
			good := b.round(t)
			for _, a := range good.Assessments {
				assert.NotEqual(t, plan.Blind, a.Readiness, "%s: %s", a.Threat, a.Reason.Text)
			}
			kept := b.temperatures(t)

			b.server.Set(c.fault)
			b.now = b.now.Add(6 * time.Hour)
			later := b.round(t)
			assert.Equal(t, len(good.Assessments), len(later.Assessments))
			for _, a := range later.Assessments {
				assert.NotEqual(t, plan.Blind, a.Readiness, "six hours without news are not blind yet: %s", a.Reason.Text)
			}
			assert.GreaterOrEqual(t, b.temperatures(t), kept-6, "the last good data is kept")
			assert.Positive(t, testutil.ToFloat64(b.metrics.Fetches.WithLabelValues("open-meteo", c.cause)), "metric")
			assert.True(t, logged(t, b.log, "source failed", c.cause), "log: %s", b.log)

			b.now = b.now.Add(30 * time.Hour)
			old := b.round(t)
			for _, a := range old.Assessments {
				assert.Equal(t, plan.Blind, a.Readiness, "%s: %s", a.Threat, a.Reason.Text)
				assert.Equal(t, "weather-stale", a.Reason.Code)
			}
			st, err := b.store.Sources(t.Context(), "north")
			require.NoError(t, err)
			var found bool
			for _, s := range st {
				if s.Source == "open-meteo" {
					found = true
					assert.Equal(t, c.cause, s.Cause)
					assert.Equal(t, 2, s.Consecutive)
					assert.False(t, s.LastGood.IsZero())
				}
			}
			assert.True(t, found)

			b.server.Set(faultserver.None)
			b.now = b.now.Add(time.Hour)
			back := b.round(t)
			for _, a := range back.Assessments {
				assert.NotEqual(t, "weather-stale", a.Reason.Code)
			}
		})
	}
}

// A null tail is a late model run: what came is used, the rest stays missing.
func TestANullTailIsMissingAndNotZero(t *testing.T) {
	b := newBench(t)
	b.server.Set(faultserver.NullTail)
	b.round(t)
	s, err := b.store.LoadWeather(t.Context(), "north", b.now, b.now.AddDate(0, 0, 20))
	require.NoError(t, err)
	last := s.Value(weather.Rain, s.Len()-1)
	assert.True(t, last != last, "an hour that did not come is missing, not %g mm", last)
}

func logged(t *testing.T, log *bytes.Buffer, msg, cause string) bool {
	t.Helper()
	for _, line := range strings.Split(strings.TrimSpace(log.String()), "\n") {
		var l struct{ Msg, Cause, Round, Site string }
		require.NoError(t, json.Unmarshal([]byte(line), &l), line)
		if l.Msg == msg && l.Cause == cause && l.Round != "" && l.Site == "north" {
			return true
		}
	}
	return false
}
