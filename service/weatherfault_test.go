package service

import (
	"net/http"
	"net/http/httptest"
	"plotwarden/web/page"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/weather/faultserver"
	"plotwarden/weather/source"
	"plotwarden/web"
)

// oneBed leaves one planting, for rounds that are many.
func (b *bench) oneBed() {
	p := &b.svc.o.Garden().Sites[0].Plots[0]
	p.Plantings = p.Plantings[:1]
}

// page returns the weather page as the grower sees it.
func (b *bench) page(t *testing.T) string {
	t.Helper()
	h := web.New(web.Deps{
		Kit: page.New(page.Options{}), Garden: b.svc.o.Garden, Catalogue: b.svc.o.Catalogue, Data: b.store, Now: func() time.Time { return b.now },
	})
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/site/north/weather", nil))
	require.Equal(t, http.StatusOK, w.Code)
	return w.Body.String()
}

func (b *bench) openMeteo(t *testing.T) store.SourceStatus {
	t.Helper()
	list, err := b.store.Sources(t.Context(), "north")
	require.NoError(t, err)
	for _, s := range list {
		if s.Source == "open-meteo" {
			return s
		}
	}
	t.Fatal("no status")
	return store.SourceStatus{}
}

// hours returns the stored temperatures around the first round.
func (b *bench) hours(t *testing.T, around time.Time) []float64 {
	t.Helper()
	s, err := b.store.LoadWeather(t.Context(), "north", around.AddDate(0, 0, -3), around.AddDate(0, 0, 10))
	require.NoError(t, err)
	return s.Column(weather.Temp)
}

// Faults that look like weather are as dangerous as those that do not. Whatever
// comes, the page names the cause and the age, no hour that was good changes, and
// an hour after the service is well again the page says so.
func TestEachFaultOnThePage(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(b *bench)
		unset func(t *testing.T, b *bench)
		cause string
	}{
		{name: "an old answer with status 200", set: fault(faultserver.Stale), cause: source.Stale},
		{name: "hours moved by one", set: fault(faultserver.ShiftedHour), cause: source.Shifted},
		{name: "Fahrenheit", set: fault(faultserver.OtherUnits), cause: source.WrongUnit},
		{name: "Fahrenheit that says Celsius", set: fault(faultserver.SilentUnits), cause: source.WrongUnit},
		{name: "another zone", set: fault(faultserver.OtherZone), cause: source.WrongZone},
		{name: "20 MiB", set: fault(faultserver.Huge), cause: source.TooLarge},
		{name: "a redirect to itself", set: fault(faultserver.RedirectLoop), cause: source.RedirectLoop},
		{name: "half a body", set: fault(faultserver.HalfBody), cause: source.Truncated},
		{name: "half a document", set: fault(faultserver.HalfJSON), cause: source.Truncated},
		{name: "a body that trickles", set: fault(faultserver.SlowBody), cause: source.Timeout},
		{name: "no answer", set: fault(faultserver.Reset), cause: source.Unreachable},
		{name: "a web page", set: fault(faultserver.HTML), cause: source.HTMLBody},
		{name: "429 with Retry-After", set: fault(faultserver.TooMany), cause: source.HTTPCause(429)},
		{name: "429 without", set: fault(faultserver.TooManyPlain), cause: source.HTTPCause(429)},
		{name: "500", set: fault(faultserver.ServerError), cause: source.HTTPCause(500)},
		{name: "503", set: fault(faultserver.Overloaded), cause: source.HTTPCause(503)},
		{name: "400", set: fault(faultserver.BadRequest), cause: source.HTTPCause(400)},
		{name: "no humidity", set: fault(faultserver.NoHumidity), cause: source.MissingVariable},
		{name: "another place", set: fault(faultserver.AnotherPlace), cause: source.WrongPlace},
		{
			name: "nobody listens", set: func(b *bench) { _ = b.server.Stop() }, cause: source.Refused,
			unset: func(t *testing.T, b *bench) { require.NoError(t, b.server.Resume()) },
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t)
			b.oneBed()
			b.round(t)
			first := b.now
			before := b.hours(t, first)
			assert.Contains(t, b.page(t), "open-meteo: well")

			c.set(b)
			b.now = b.now.Add(3 * time.Hour)
			r := b.round(t)
			st := b.openMeteo(t)
			assert.Equal(t, c.cause, st.Cause, st.LastErr)
			assert.Equal(t, first.UTC(), st.LastGood)
			page := b.page(t)
			assert.Contains(t, page, "open-meteo: failing, 1 failure in a row")
			assert.Contains(t, page, "<code>"+c.cause+"</code>")
			assert.Contains(t, page, "3 hours ago", "how old the last good answer is")
			assert.Equal(t, before, b.hours(t, first), "nothing that was good has changed")
			for _, a := range r.Assessments {
				assert.NotEqual(t, plan.Blind, a.Readiness, "three hours are not too old")
			}
			fs, err := b.store.Forecasts(t.Context(), "north", first.Add(time.Minute), b.now.Add(time.Minute))
			require.NoError(t, err)
			assert.Empty(t, fs, "nothing was issued that could be held against the source")

			b.server.Set(faultserver.None)
			if c.unset != nil {
				c.unset(t, b)
			}
			b.now = b.now.Add(time.Hour)
			b.round(t)
			assert.Empty(t, b.openMeteo(t).LastErr)
			assert.Contains(t, b.page(t), "open-meteo: well")
		})
	}
}

func fault(f faultserver.Fault) func(b *bench) { return func(b *bench) { b.server.Set(f) } }

// 500 for a day: a round an hour, each tried and counted; one request a round
// while the service is down; what is known ages in sight, and turns blind when it
// is too old, not before.
func TestFailingForADay(t *testing.T) {
	b := newBench(t)
	b.oneBed()
	b.round(t)
	first := b.now
	before := b.hours(t, first)
	asked, _, _ := b.server.Counts()
	b.server.Set(faultserver.ServerError)
	for hour := 1; hour <= 24; hour++ {
		b.now = first.Add(time.Duration(hour) * time.Hour)
		r := b.round(t)
		st := b.openMeteo(t)
		assert.Equal(t, source.HTTPCause(500), st.Cause)
		assert.Equal(t, hour, st.Consecutive)
		for _, a := range r.Assessments {
			// The newest measured hour ended at 10:00, 20 minutes before.
			assert.Equal(t, hour == 24, a.Reason.Code == "weather-stale", "hour %d: %s", hour, a.Reason.Text)
		}
	}
	now, _, _ := b.server.Counts()
	assert.Equal(t, 24, now-asked-b.historyTries(t), "one request a round")
	assert.Contains(t, b.page(t), "open-meteo: failing, 24 failures in a row")
	assert.Equal(t, before, b.hours(t, first))

	b.now = first.Add(26 * time.Hour)
	for _, a := range b.round(t).Assessments {
		assert.Equal(t, plan.Blind, a.Readiness)
		assert.Equal(t, "weather-stale", a.Reason.Code)
	}
	b.server.Set(faultserver.None)
	b.now = first.Add(27 * time.Hour)
	for _, a := range b.round(t).Assessments {
		assert.NotEqual(t, "weather-stale", a.Reason.Code)
	}
	s, err := b.store.LoadWeather(t.Context(), "north", first, b.now)
	require.NoError(t, err)
	for i := range s.Len() - 1 { // the hour that runs is still forecast
		o, ok := s.OriginAt(weather.Temp, i)
		require.True(t, ok)
		assert.Equal(t, weather.Analysis, o.Kind, "%s: the hours missed are told afterwards", s.Time(i))
	}
}

// historyTries counts the failed requests of past weather, which is looked at
// once a local day.
func (b *bench) historyTries(t *testing.T) int {
	t.Helper()
	list, err := b.store.Sources(t.Context(), "north")
	require.NoError(t, err)
	for _, s := range list {
		if s.Source == "open-meteo history" {
			return s.Consecutive
		}
	}
	return 0
}
