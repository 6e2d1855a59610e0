package service

import (
	"bytes"
	"context"
	"log/slog"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/store/sqlite"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

// files answers requests by path; a status stands for a failing answer.
type files struct {
	mu     sync.Mutex
	bodies map[string][]byte
	status map[string]int
	asked  []string
}

func (f *files) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.asked = append(f.asked, r.URL.Path+" "+r.URL.Query().Get("start"))
	if code := f.status[r.URL.Path]; code != 0 {
		w.WriteHeader(code)
		return
	}
	b, ok := f.bodies[r.URL.Path]
	if !ok {
		w.WriteHeader(http.StatusNotFound)
		return
	}
	_, _ = w.Write(b)
}

func fileOf(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile("../weather/" + path)
	require.NoError(t, err)
	return b
}

// small is a service on a real store with one site and no plantings.
type small struct {
	svc   *Service
	store *sqlite.Store
	log   *bytes.Buffer
	now   time.Time
	site  *garden.Site
}

func newSmall(t *testing.T, now time.Time, site garden.Site, ss ...Source) *small {
	t.Helper()
	b := &small{now: now, log: &bytes.Buffer{}}
	var err error
	b.store, err = sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "p.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, b.store.Close()) })
	g := &garden.Garden{Sites: []garden.Site{site}}
	b.site = &g.Sites[0]
	b.svc = New(Options{
		Garden: func() *garden.Garden { return g }, Store: b.store, Sources: ss, Messenger: silent{}, Metrics: NewMetrics("test"),
		Log: slog.New(slog.NewJSONHandler(b.log, nil)), Now: func() time.Time { return b.now },
		Rules: plan.DefaultRules(), Hours: plan.DefaultHourLimits(), FetchEvery: time.Hour,
	})
	return b
}

func (b *small) status(t *testing.T, name string) store.SourceStatus {
	t.Helper()
	list, err := b.store.Sources(t.Context(), b.site.ID)
	require.NoError(t, err)
	for _, s := range list {
		if s.Source == name {
			return s
		}
	}
	t.Fatalf("no status of %s in %v", name, list)
	return store.SourceStatus{}
}

var lakeside = garden.Site{ID: "lakeside", Latitude: 41.5, Longitude: -81.60004, Elevation: 205, Zone: "America/New_York"}

func nwsSource(t *testing.T, url string, now *time.Time) *NWS {
	t.Helper()
	s, err := makeSource(&config.Source{Kind: config.NWS, Name: "nws", URL: url}, source.Options{
		Name: "nws", UserAgent: "plotwarden/test (tests@example.org)", Base: time.Millisecond, Now: func() time.Time { return *now },
	}, nil)
	require.NoError(t, err)
	return s.(*NWS)
}

// The forecast and the reports of the nearest station make one series; where the
// one fails the other is kept, and the status says which failed.
func TestNWSForecastAndReports(t *testing.T) {
	f := &files{status: map[string]int{}, bodies: map[string][]byte{
		"/points/41.5,-81.6":             fileOf(t, "nws/testdata/points.json"),
		"/gridpoints/CLE/82,64":          fileOf(t, "nws/testdata/gridpoint.json"),
		"/gridpoints/CLE/82,64/stations": fileOf(t, "nws/testdata/stations.json"),
		"/stations/KQQA/observations":    fileOf(t, "nws/testdata/observations.json"),
	}}
	srv := httptest.NewServer(f)
	defer srv.Close()
	now := time.Date(2026, 7, 14, 10, 10, 0, 0, time.UTC)
	src := nwsSource(t, srv.URL, &now)
	b := newSmall(t, now, lakeside, src)
	load := func() *weather.Series {
		require.NoError(t, b.svc.Refresh(t.Context()))
		s, err := b.store.LoadWeather(t.Context(), "lakeside", now.Add(-5*time.Hour), now.Add(48*time.Hour))
		require.NoError(t, err)
		return s
	}
	s := load()
	st := b.status(t, "nws")
	assert.Empty(t, st.LastErr)
	o, ok := s.OriginAt(weather.Temp, s.Index(now))
	require.True(t, ok)
	assert.Equal(t, weather.Origin{Source: "nws KQQA", Kind: weather.Nearby, Fetched: now}, o, "a report goes before the forecast of its hour")
	o, ok = s.OriginAt(weather.Temp, s.Index(now)+3)
	require.True(t, ok)
	assert.Equal(t, weather.Forecast, o.Kind)
	assert.Contains(t, f.asked, "/stations/KQQA/observations 2026-07-08T10:10:00Z", "at first a week back")
	fc, err := b.store.Forecasts(t.Context(), "lakeside", now.Add(-time.Hour), now.Add(time.Hour))
	require.NoError(t, err)
	require.Len(t, fc, 1)
	assert.Equal(t, now.Truncate(time.Hour), fc[0].Series.Start(), "what was issued has no hours past")

	now = now.Add(time.Hour)
	b.now = now
	f.status["/stations/KQQA/observations"] = 503
	s = load()
	st = b.status(t, "nws")
	assert.Contains(t, st.LastErr, "reports: nws: http-503")
	assert.Equal(t, "http-503", st.Cause)
	assert.Contains(t, f.asked, "/stations/KQQA/observations 2026-07-14T04:10:00Z", "then the hours that may still change")
	o, ok = s.OriginAt(weather.Temp, s.Index(now)+3)
	require.True(t, ok)
	assert.Equal(t, now, o.Fetched, "the forecast came and is kept")
}

func TestNWSAbroad(t *testing.T) {
	f := &files{bodies: map[string][]byte{"/points/41.5,-81.6": []byte(`{"properties":{"gridId":null}}`)}}
	srv := httptest.NewServer(f)
	defer srv.Close()
	now := time.Date(2026, 7, 14, 10, 10, 0, 0, time.UTC)
	b := newSmall(t, now, lakeside, nwsSource(t, srv.URL, &now))
	require.NoError(t, b.svc.Refresh(t.Context()))
	st := b.status(t, "nws")
	assert.Equal(t, source.NoData, st.Cause)
	assert.Contains(t, st.LastErr, "it covers the United States only")
}

func TestMETNorwayIsForecastOnly(t *testing.T) {
	srv := httptest.NewServer(&files{bodies: map[string][]byte{"/complete": fileOf(t, "metno/testdata/complete.json")}})
	defer srv.Close()
	now := time.Date(2026, 7, 14, 10, 5, 0, 0, time.UTC)
	src, err := makeSource(&config.Source{Kind: config.METNorway, Name: "met-norway", URL: srv.URL + "/complete", Sites: []string{"north"}}, source.Options{
		Name: "met-norway", UserAgent: "plotwarden/test (tests@example.org)", Now: func() time.Time { return now },
	}, nil)
	require.NoError(t, err)
	b := newSmall(t, now, garden.Site{ID: "north", Latitude: 59.91234567, Longitude: 10.75, Elevation: 92.4, Zone: "Europe/Oslo"}, src)
	require.NoError(t, b.svc.Refresh(t.Context()))
	assert.Empty(t, b.status(t, "met-norway").LastErr)
	s, err := b.store.LoadWeather(t.Context(), "north", now, now.Add(20*time.Hour))
	require.NoError(t, err)
	assert.Equal(t, 18.2, s.Value(weather.Temp, 0))
	assert.True(t, weather.LastObserved(s, now).IsZero(), "nothing in it was observed")
	assert.False(t, src.Serves(&garden.Site{ID: "south"}))
}

// Days of the archive become hours that say so; a source after it is asked only
// for what it did not have.
func TestArchiveGivesPastYears(t *testing.T) {
	f := &files{bodies: map[string][]byte{"/data": fileOf(t, "archive/testdata/invented_access.csv")}}
	srv := httptest.NewServer(f)
	defer srv.Close()
	src, err := makeSource(&config.Source{Kind: config.Archive, Name: "field", URL: srv.URL + "/data", Station: "USW00999002"}, source.Options{
		Name: "field", UserAgent: "plotwarden/test",
	}, nil)
	require.NoError(t, err)
	a := src.(*Archive)
	now := time.Date(2026, 7, 14, 10, 5, 0, 0, time.UTC)
	s, err := a.History(t.Context(), &lakeside, civil.New(2024, 7, 1), civil.New(2024, 7, 3), now)
	require.NoError(t, err)
	days := s.Days(lakeside.Location())
	require.NotEmpty(t, days)
	assert.InDelta(t, 17.8, days[0].Min, 1e-9)
	assert.InDelta(t, 30.1, days[0].Max, 1e-9)
	assert.Equal(t, weather.Modelled, days[0].Kind)
	assert.True(t, math.IsNaN(days[1].Max), "the value that failed the archive's check is not there")

	second := &yearbook{Sites: nil}
	b := newSmall(t, now, lakeside, a, second)
	b.svc.o.HistoryYears = 1
	require.NoError(t, b.svc.Refresh(t.Context()))
	assert.Empty(t, b.status(t, "field history").LastErr)
	assert.Equal(t, []string{"2026-01-01 to 2026-07-13", "2025-01-01 to 2025-12-31"}, second.asked)
	require.NoError(t, b.svc.Refresh(t.Context()))
	assert.Len(t, second.asked, 2, "the same day it is not asked again")
}

// yearbook is a source of whole years that notes what it is asked.
type yearbook struct {
	Sites
	asked []string
}

func (y *yearbook) Name() string                    { return "yearbook" }
func (y *yearbook) Attribution() source.Attribution { return source.Attribution{} }
func (y *yearbook) History(_ context.Context, site *garden.Site, first, last civil.Date, now time.Time) (*weather.Series, error) {
	y.asked = append(y.asked, first.String()+" to "+last.String())
	from := first.Start(site.Location()).Truncate(time.Hour)
	s := weather.NewSeries(from, int(last.AddDays(1).Start(site.Location()).Sub(from).Hours()))
	o, err := s.AddOrigin(weather.Origin{Source: "yearbook", Kind: weather.Analysis, Fetched: now})
	if err != nil {
		return nil, err
	}
	for i := range s.Len() {
		s.Set(weather.Temp, i, 10, o)
	}
	return s, nil
}

func TestDelayOfRounds(t *testing.T) {
	assert.Zero(t, delay(time.Hour, 0))
	assert.Equal(t, 150*time.Second, delay(time.Hour, 0.5))
	assert.Equal(t, 30*time.Second, delay(10*time.Minute, 0.5))
	assert.Less(t, delay(24*time.Hour, 0.999), 5*time.Minute)
}

// A round that is due waits; the first one of a run does not.
func TestRoundsAreSpread(t *testing.T) {
	drawn := make(chan struct{}, 10)
	svc := New(Options{
		Messenger: silent{}, Metrics: NewMetrics("test"), Log: slog.New(slog.DiscardHandler), Now: time.Now, FetchEvery: time.Second,
		Rand: func() float64 { drawn <- struct{}{}; return 0.01 },
	})
	ctx, stop := context.WithCancel(t.Context())
	rounds := make(chan int, 10)
	ended := make(chan error, 1)
	go func() {
		ended <- svc.Run(ctx, func(context.Context) error { rounds <- len(drawn); return nil })
	}()
	assert.Equal(t, 0, <-rounds, "the first goes at once")
	assert.Equal(t, 1, <-rounds, "the second waits")
	stop()
	require.NoError(t, <-ended)
}
