package service

import (
	"encoding/json"
	"fmt"
	"log/slog"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/service/config"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/page"
)

// Of so many sites of the benchmark there is weather, too: the pages that show it
// are asked for these.
const weathered = 100

// crowd is a host with 10,000 sites that people made, each with a round, sources and
// looks, and a region of them all.
func crowd(b *testing.B, n int) *Host {
	b.Helper()
	now := time.Date(2026, 7, 14, 13, 5, 0, 0, time.UTC)
	cat, err := catalog.Load()
	require.NoError(b, err)
	cfg := config.Defaults()
	cfg.Store = filepath.Join(b.TempDir(), "p.db")
	h, err := Open(b.Context(), HostOptions{Config: &cfg, Catalogue: cat, Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return now }, Version: "test", Demo: &page.DemoNote{Title: "Test", Lines: []string{"a", "b"}}})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, h.Close()) })
	region := garden.Region{ID: "valley", Name: "Valley"}
	ctx := b.Context()
	for i := range n {
		s := garden.Site{ID: fmt.Sprintf("ground-%05d", i), Name: fmt.Sprintf("Ground %d", i), Latitude: 40 + float64(i%100)/20, Longitude: -75 + float64(i/100)/20, Elevation: 100, Zone: "America/New_York"}
		r := store.Round{Site: s.ID, At: now.Add(-10 * time.Minute), Day: civil.New(2026, 7, 14)}
		for j := range 6 {
			crop := []string{"tomato", "cabbage", "zucchini", "cucumber", "pea", "snap bean"}[j]
			s.Plots = append(s.Plots, garden.Plot{ID: fmt.Sprintf("bed-%d", j), Name: fmt.Sprintf("Bed %d", j), Plantings: []garden.Planting{{ID: fmt.Sprintf("p%d", j), Crop: crop, PlantedOut: civil.New(2026, 5, 20)}}})
			for k, threat := range []string{"late-blight", "early-blight", "squash-vine-borer"} {
				r.Assessments = append(r.Assessments, plan.Assessment{Site: s.ID, Planting: fmt.Sprintf("p%d", j), Threat: threat, Round: r.At, WeatherUntil: r.At, Readiness: plan.Readiness(int(plan.Present) + (i+j+k)%6),
					Reason: plan.Reason{Code: "outlook", Text: "The date lies within two weeks"}, Outlook: &risk.Outlook{P10: r.Day + 3, P50: r.Day + 9, P90: r.Day + 20}, Steps: []plan.Step{{Kind: plan.Prune, Text: "Take off the lowest leaves"}}})
			}
		}
		body, err := json.Marshal(s)
		require.NoError(b, err)
		_, err = h.store.PutThing(ctx, store.Thing{Kind: store.SiteThing, ID: s.ID, Body: body, At: now}, 0)
		require.NoError(b, err)
		require.NoError(b, h.store.SaveRound(ctx, r))
		require.NoError(b, h.store.SetSource(ctx, store.SourceStatus{Site: s.ID, Source: "open-meteo", LastTry: r.At, LastGood: r.At}))
		require.NoError(b, h.store.AddScouting(ctx, garden.Scouting{ID: s.ID, Site: s.ID, Planting: "p0", Plot: "bed-0", Threat: "late-blight", Date: r.Day - 3, Finding: garden.None}))
		if i < weathered {
			w := weather.NewSeries(now.AddDate(0, 0, -60).Truncate(24*time.Hour), 76*24)
			from, err := w.AddOrigin(weather.Origin{Source: "open-meteo", Kind: weather.Analysis})
			require.NoError(b, err)
			for x := range w.Len() {
				for v, f := range map[weather.Var]float64{weather.Temp: 20, weather.RH: 75, weather.Rain: 0.2, weather.Wind: 2} {
					w.Set(v, x, f*(1+0.3*math.Sin(float64(x)/4)), from)
				}
			}
			require.NoError(b, h.store.SaveWeather(ctx, s.ID, w))
		}
		region.Sites = append(region.Sites, s.ID)
	}
	body, err := json.Marshal(region)
	require.NoError(b, err)
	_, err = h.store.PutThing(ctx, store.Thing{Kind: store.RegionThing, ID: "valley", Body: body, At: now}, 0)
	require.NoError(b, err)
	require.NoError(b, h.ground.Refresh(ctx))
	return h
}

// BenchmarkPagesOf10000Sites prints the time on the server within which 99 of 100
// requests for each page were answered, and how many times it fits into 50 ms. The
// sites are asked for in no order, so that nothing but what the service keeps is
// warm.
func BenchmarkPagesOf10000Sites(b *testing.B) {
	h := crowd(b, 10_000)
	r := rand.New(rand.NewPCG(1, 2))
	for name, path := range map[string]func() string{
		"sites":   func() string { return fmt.Sprintf("/?page=%d", 1+r.IntN(200)) },
		"site":    func() string { return fmt.Sprintf("/site/ground-%05d", r.IntN(10_000)) },
		"weather": func() string { return fmt.Sprintf("/site/ground-%05d/weather", r.IntN(weathered)) },
		"work":    func() string { return fmt.Sprintf("/site/ground-%05d/work", r.IntN(weathered)) },
		"why": func() string {
			return fmt.Sprintf("/site/ground-%05d/planting/p0/threat/late-blight", r.IntN(weathered))
		},
		"season":       func() string { return fmt.Sprintf("/site/ground-%05d/season", r.IntN(weathered)) },
		"threats":      func() string { return "/threats" },
		"setup":        func() string { return "/setup" },
		"setup-site":   func() string { return fmt.Sprintf("/setup/site/ground-%05d", r.IntN(10_000)) },
		"setup-person": func() string { return "/setup/people" },
		"region":       func() string { return fmt.Sprintf("/region/valley?page=%d", 1+r.IntN(500)) },
		"log":          func() string { return fmt.Sprintf("/site/ground-%05d/log", r.IntN(10_000)) },
	} {
		b.Run(name, func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				at := path()
				w := httptest.NewRecorder()
				start := time.Now()
				h.handler.ServeHTTP(w, httptest.NewRequest(http.MethodGet, at, nil))
				took = append(took, time.Since(start))
				if w.Code != http.StatusOK {
					b.Fatalf("%s: %d", at, w.Code)
				}
			}
			slices.Sort(took)
			p99 := took[(len(took)*99-1)/100]
			b.ReportMetric(float64(p99)/float64(time.Millisecond), "p99-ms")
			b.ReportMetric(float64(50*time.Millisecond)/float64(p99), "p99-fits-in-50ms")
		})
	}
}
