package service

import (
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/service/config"
	"plotwarden/web/entry"
	"plotwarden/web/page"
)

// What is logged in the browser decides at the next round; a correction takes it
// back; work that follows a treatment reaches the messages.
func TestTheLogDecides(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	now := time.Date(2026, 7, 6, 12, 0, 0, 0, time.UTC)
	cfg := config.Defaults()
	cfg.Store = filepath.Join(t.TempDir(), "p.db")
	cfg.Weather.Sources = nil
	cfg.Sites = []garden.Site{{ID: "north", Name: "North", Latitude: 42, Longitude: -72, Zone: "America/New_York", Plots: []garden.Plot{
		{ID: "b", Plantings: []garden.Planting{{ID: "tom", Crop: "tomato", PlantedOut: civil.New(2026, 5, 20)}}}}}}
	cfg.Materials = []garden.Material{{ID: "mix", Name: "the mix", Kind: garden.KindHomeMix, FollowUp: &garden.FollowUp{Text: "rinse it off", At: "07:00"}}}
	h, err := Open(t.Context(), HostOptions{Config: &cfg, Catalogue: cat, Log: slog.New(slog.DiscardHandler), Now: func() time.Time { return now }, Version: "test"})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, h.Close()) })
	kit := page.New(page.Options{})
	mux := page.NewMux(kit)
	entry.Mount(mux, h.logPages(kit))
	who := access.Open(false)
	who.Check = "the secret"
	post := func(path string, form url.Values) {
		t.Helper()
		form.Set(page.CheckField, who.Check)
		r := httptest.NewRequestWithContext(access.With(t.Context(), who), http.MethodPost, path, strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := httptest.NewRecorder()
		mux.ServeHTTP(w, r)
		require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	}
	stands := func() plan.Readiness {
		t.Helper()
		require.NoError(t, h.service.Refresh(t.Context()))
		r, err := h.store.LatestRound(t.Context(), "north")
		require.NoError(t, err)
		for _, a := range r.Assessments {
			if a.Threat == "late-blight" {
				return a.Readiness
			}
		}
		return 0
	}
	require.Equal(t, plan.Blind, stands(), "no weather at all")
	post("/site/north/log", url.Values{"id": {"11111111-a"}, "planting": {"tom"}, "threat": {"late-blight"}, "finding": {"found"}})
	require.Equal(t, plan.Present, stands())
	post("/site/north/log", url.Values{"id": {"22222222-a"}, "planting": {"tom"}, "threat": {"late-blight"}, "finding": {"unsure"}, "replaces": {"11111111-a"}, "why": {"it was soil"}})
	require.Equal(t, plan.Blind, stands(), "the corrected find no longer counts")

	post("/site/north/log/treatment", url.Values{"id": {"33333333-a"}, "planting": {"tom"}, "threats": {"late-blight"}, "with": {"mix"}, "day": {"2026-07-05"}, "clock": {"21:00"}, "told": {"yes"}, "despite": {"only this bed"}, "act": {"save"}})
	site := &h.garden().Sites[0]
	v, err := h.service.view(t.Context(), slog.New(slog.DiscardHandler), site, now, civil.Of(now, site.Location()), h.service.quality(t.Context(), slog.New(slog.DiscardHandler), site, now))
	require.NoError(t, err)
	require.Len(t, v.done, 1, "the models see what was done")
	records, err := h.store.Records(t.Context(), "north")
	require.NoError(t, err)
	due := v.reminders(records)
	require.Len(t, due, 1)
	assert.Equal(t, "After the mix: rinse it off.", due[0].Text)
	assert.Equal(t, "2026-07-06 07:00", due[0].At.In(site.Location()).Format("2006-01-02 15:04"))
	assert.Empty(t, browserPush{h}.PublicKey(), "no address to ask, no push")
}
