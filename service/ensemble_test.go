package service

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/weather/faultserver"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// withEnsemble has the bench's source ask for ensembles.
func (b *bench) withEnsemble(t *testing.T) {
	t.Helper()
	client, err := openmeteo.New(openmeteo.Config{
		ForecastURL: b.server.URL("/v1/forecast"), ArchiveURL: b.server.URL("/v1/archive"), EnsembleURL: b.server.URL("/v1/ensemble"),
		Source: source.Options{Name: "open-meteo", UserAgent: "plotwarden/test (a@b.example)", Timeout: 5 * time.Second, Now: func() time.Time { return b.now }, Failures: 1000},
	})
	require.NoError(t, err)
	b.svc.SetSources([]Source{&OpenMeteo{Client: client, PastDays: 7, AheadDays: 16, EnsembleSites: 1}})
}

func (b *bench) statusOf(t *testing.T, name string) (store.SourceStatus, bool) {
	t.Helper()
	list, err := b.store.Sources(t.Context(), "north")
	require.NoError(t, err)
	for _, s := range list {
		if s.Source == name {
			return s, true
		}
	}
	return store.SourceStatus{}, false
}

// width adds the days between the early and the late date of every outlook.
func width(t *testing.T, as []plan.Assessment) (days, n int) {
	t.Helper()
	for _, a := range as {
		if o := a.Outlook; o != nil && !o.P10.IsZero() && !o.P90.IsZero() && o.Reached.IsZero() && len(o.Periods) == 0 {
			days += o.P90.Sub(o.P10)
			n++
		}
	}
	require.NotZero(t, n, "an outlook with dates")
	return days, n
}

// Runs that agree give narrower dates than runs that part; fetched twice a day,
// kept while they are new enough, then left for the stated error.
func TestTheOutlookIsAsSureAsTheEnsemble(t *testing.T) {
	b := newBench(t)
	stated, n := width(t, b.round(t).Assessments)

	b.withEnsemble(t)
	b.server.SetSpread(0.05)
	narrow, m := width(t, b.round(t).Assessments)
	assert.Equal(t, n, m)
	assert.Less(t, narrow, stated)
	e, err := b.store.Ensemble(t.Context(), "north")
	require.NoError(t, err)
	assert.Len(t, e.Members, 5)
	assert.Equal(t, b.now, e.At)
	st, ok := b.statusOf(t, "open-meteo ensemble")
	require.True(t, ok)
	assert.Equal(t, b.now, st.LastGood)

	b.server.SetSpread(8)
	asked, _, _ := b.server.Counts()
	b.now = b.now.Add(6 * time.Hour)
	same, _ := width(t, b.round(t).Assessments)
	assert.InDelta(t, narrow, same, 1, "not asked again after six hours")
	again, _, _ := b.server.Counts()
	assert.Equal(t, 1, again-asked)

	b.now = b.now.Add(6 * time.Hour)
	wide, _ := width(t, b.round(t).Assessments)
	assert.Greater(t, wide, stated)
	last, _, _ := b.server.Counts()
	assert.Equal(t, 2, last-again)
}

// What fails is tried in the next round, says so, and leaves the forecast alone; the
// runs before it serve until they are 36 hours old.
func TestAnEnsembleThatFails(t *testing.T) {
	b := newBench(t)
	b.withEnsemble(t)
	b.server.SetSpread(8)
	b.round(t)
	got := b.now
	gone := httptest.NewServer(http.NotFoundHandler())
	defer gone.Close()
	b.svc.sources()[0].(*OpenMeteo).Client = ensembleTo(t, b, gone.URL)
	for _, hours := range []int{13, 14, 30} {
		b.now = got.Add(time.Duration(hours) * time.Hour)
		b.round(t)
		assert.Empty(t, b.openMeteo(t).LastErr)
	}
	st, ok := b.statusOf(t, "open-meteo ensemble")
	require.True(t, ok)
	assert.Equal(t, 3, st.Consecutive)
	assert.Equal(t, source.HTTPCause(404), st.Cause)
	assert.Equal(t, got, st.LastGood)
	assert.True(t, strings.Contains(b.page(t), "open-meteo ensemble: failing, 3 failures in a row"))
	assert.NotNil(t, b.svc.runs(t.Context(), b.svc.o.Log, "north", got.Add(36*time.Hour)))
	assert.Nil(t, b.svc.runs(t.Context(), b.svc.o.Log, "north", got.Add(36*time.Hour+time.Minute)), "too old")
}

func ensembleTo(t *testing.T, b *bench, url string) *openmeteo.Client {
	t.Helper()
	c, err := openmeteo.New(openmeteo.Config{
		ForecastURL: b.server.URL("/v1/forecast"), ArchiveURL: b.server.URL("/v1/archive"), EnsembleURL: url,
		Source: source.Options{Name: "open-meteo", UserAgent: "plotwarden/test (a@b.example)", Now: func() time.Time { return b.now }, Failures: 1000},
	})
	require.NoError(t, err)
	return c
}

// Stale runs with status 200 are refused like any stale answer.
func TestAStaleEnsembleIsRefused(t *testing.T) {
	b := newBench(t)
	b.withEnsemble(t)
	b.server.Set(faultserver.Stale)
	require.NoError(t, b.svc.Refresh(t.Context()))
	st, ok := b.statusOf(t, "open-meteo ensemble")
	require.True(t, ok)
	assert.Equal(t, source.Stale, st.Cause)
	_, err := b.store.Ensemble(t.Context(), "north")
	assert.ErrorIs(t, err, store.ErrNotFound)
}

func TestEnsemblesOfManySitesAreNotAskedFor(t *testing.T) {
	b := newBench(t)
	b.withEnsemble(t)
	b.svc.sources()[0].(*OpenMeteo).EnsembleSites = 0
	b.round(t)
	_, ok := b.statusOf(t, "open-meteo ensemble")
	assert.False(t, ok)
}

// Values that cannot be are taken out of runs as they are of a forecast.
func TestRunsAreChecked(t *testing.T) {
	b := newBench(t)
	take := ensembleTaker{s: b.svc, name: "x ensemble", now: b.now, log: b.svc.o.Log}
	bad := run(b.now.Truncate(time.Hour), 48, weather.Origin{Source: "x", Kind: weather.Forecast}, func(time.Time) float64 { return 15 })
	bad.Set(weather.Wind, 5, 468.6, 1) // 1048 mph
	clean := take.check([]*weather.Series{bad})
	assert.NotEqual(t, 468.6, clean[0].Value(weather.Wind, 5))
	assert.Equal(t, 468.6, bad.Value(weather.Wind, 5))
}
