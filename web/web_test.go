package web

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/webtest"
)

func TestStatusAndHeaders(t *testing.T) {
	d, _ := deps(true)
	h := New(d)
	for name, page := range allPages {
		w := get(t, h, page)
		want := http.StatusOK
		if name == "not-found" {
			want = http.StatusNotFound
		}
		assert.Equal(t, want, w.Code, page)
		assert.Equal(t, "text/html; charset=utf-8", w.Header().Get("Content-Type"), page)
		assert.Contains(t, w.Header().Get("Content-Security-Policy"), "default-src 'self'", page)
		assert.Equal(t, "nosniff", w.Header().Get("X-Content-Type-Options"), page)
		assert.Equal(t, "private, no-cache", w.Header().Get("Cache-Control"), page)
		body := w.Body.String()
		assert.Contains(t, body, "The garden and its dates are invented.", "the demonstration says what it is: %s", page)
		assert.Contains(t, body, "Weather: invented for a test.", page)
	}
	for _, page := range []string{"/site/nowhere", "/site/nowhere/weather", "/site/mill-lane/planting/none/threat/late-blight",
		"/site/mill-lane/planting/tomato-1/threat/none", "/threats/none", "/assets/none.css", "/metrics"} {
		assert.Equal(t, http.StatusNotFound, get(t, h, page).Code, page)
	}
}

func TestOneSiteIsTheHome(t *testing.T) {
	d, _ := deps(false)
	assert.Contains(t, get(t, New(d), "/").Body.String(), "<h1>Mill Lane ground</h1>")
	several, _ := deps(true)
	body := get(t, New(several), "/").Body.String()
	assert.Contains(t, body, "School yard")
	assert.Contains(t, body, "1 present, 3 to act on, 3 approaching and 2 blind.")
	assert.Contains(t, body, "No round has run yet.")
	none, _ := deps(false)
	none.Garden = func() *garden.Garden { return nil }
	// Who may make the first ground is led to where it is made; others are told.
	assert.Equal(t, "/setup", get(t, New(none), "/").Header().Get("Location"))
	mux := page.NewMux(none.Kit)
	Mount(mux, none)
	w := httptest.NewRecorder()
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	mux.ServeHTTP(w, r.WithContext(access.With(r.Context(), access.Of(&garden.Garden{}, "ash", access.Reader))))
	assert.Contains(t, w.Body.String(), "No ground yet")
}

func TestSitePageSaysItInWords(t *testing.T) {
	d, _ := deps(false)
	body := get(t, New(d), "/site/mill-lane").Body.String()
	for _, want := range []string{
		"You logged imported cabbageworm (eggs) in this planting on 8 Jun.",
		"First spray: most likely 20 Jun, 8 in 10 chance between 16 and 24 Jun.",
		"Blind since 8 Jun 14:00",
		"Measured weather reaches to Mon 8 Jun 14:00 (43 hours ago).",
		"today 09:15 to 12:00 and 17:00 to 20:00",
		"none: wet leaves and rain within 6 hours",
		"Goes into the ground Sun 14 Jun.",
		"No threat to this crop is watched.",
		"Nothing can be said of these beds until the next round.",
	} {
		assert.Contains(t, body, want)
	}
	// Present before act before approaching before blind.
	at := -1
	for _, r := range []string{"card r-present", "card r-act", "card r-approaching", "card r-blind"} {
		i := strings.Index(body, r)
		require.Greater(t, i, at, r)
		at = i
	}
}

func TestWhyShowsNumbersSourcesAndCaution(t *testing.T) {
	d, _ := deps(false)
	h := New(d)
	body := get(t, h, "/site/mill-lane/planting/tomato-1/threat/late-blight").Body.String()
	assert.Contains(t, body, "the label is the law")
	assert.Contains(t, body, "9.4 °C")
	assert.Contains(t, body, "Source: from memory")
	assert.Contains(t, body, "late blight, invented 2026")
	assert.Contains(t, body, "nowhere: invented")
	assert.Contains(t, body, "Another invented account")
	assert.Contains(t, body, "A home mix: what trials found is shown, it is not advised.")
	assert.Contains(t, body, "Its trials were on other crops, not on this one.")
	assert.Contains(t, get(t, h, "/site/mill-lane/planting/cabbage-2/threat/cabbage-maggot").Body.String(), "What is on the leaves")
	quiet := get(t, h, "/site/mill-lane/planting/tomato-1/threat/early-blight").Body.String()
	assert.NotContains(t, quiet, "the label is the law", "no step names spraying")
	assert.Contains(t, quiet, "about 2 in 10")
	assert.Contains(t, quiet, "First spray at <strong>35 severity values</strong>: not yet.")
	blind := get(t, h, "/site/mill-lane/planting/cucumber-4/threat/downy-mildew").Body.String()
	assert.Contains(t, blind, "Nothing can be said")
	assert.NotContains(t, blind, "Chance that it comes within")
}

func TestUnitsAreKept(t *testing.T) {
	d, _ := deps(false)
	h := New(d)
	w := get(t, h, "/site/mill-lane?units=us&days=28")
	require.Len(t, w.Result().Cookies(), 1)
	c := w.Result().Cookies()[0]
	assert.Equal(t, "units", c.Name)
	assert.True(t, c.HttpOnly)
	body := get(t, h, "/site/mill-lane", c).Body.String()
	assert.Contains(t, body, "8 in 10 chance between Jun 16 and 24.")
	assert.Contains(t, body, "?units=metric")
	assert.Contains(t, w.Body.String(), "?days=28&amp;units=metric", "the length of the lead line is kept")
	assert.Contains(t, get(t, h, "/site/mill-lane/weather", c).Body.String(), "°F")
	odd := get(t, h, "/site/mill-lane?units=furlongs")
	assert.Empty(t, odd.Result().Cookies())
	assert.Contains(t, odd.Body.String(), "16 and 24 Jun")
}

// Fault of the store, a page's panic: a plain 500 that tells nothing of the
// inside, and one line in the log.
func TestFaults(t *testing.T) {
	d, data := deps(false)
	var log strings.Builder
	d.Log = slog.New(slog.NewJSONHandler(&log, nil))
	d.Kit = page.New(page.Options{Log: d.Log})
	h := New(d)
	data.Err = errors.New("disk on fire")
	for _, path := range []string{"/", "/site/mill-lane", "/site/mill-lane/weather", "/site/mill-lane/planting/tomato-1/threat/late-blight"} {
		log.Reset()
		w := get(t, h, path)
		assert.Equal(t, http.StatusInternalServerError, w.Code, path)
		assert.NotContains(t, w.Body.String(), "disk on fire")
		assert.Empty(t, wellFormed(w.Body.Bytes()))
		assert.Equal(t, 1, strings.Count(log.String(), "\n"), log.String())
		assert.Contains(t, log.String(), "disk on fire")
		assert.NotEmpty(t, w.Header().Get("Content-Security-Policy"))
	}
	data.Err = nil
	d.Now = func() time.Time { panic("no clock") }
	w := get(t, New(d), "/site/mill-lane")
	assert.Equal(t, http.StatusInternalServerError, w.Code)
	assert.NotContains(t, w.Body.String(), "no clock")
}

func TestNothingIsKnownReadsBlind(t *testing.T) {
	d, data := deps(false)
	data.Rounds = nil
	data.Weather = nil
	h := New(d)
	body := get(t, h, "/site/mill-lane").Body.String()
	assert.Contains(t, body, "No round has run for this ground yet.")
	assert.Contains(t, body, "Not judged yet.")
	assert.NotContains(t, body, `class="word">quiet</span></li>`)
	assert.NotContains(t, body, "Nothing to do today")
	assert.Contains(t, get(t, h, "/site/mill-lane/weather").Body.String(), "No weather has arrived for this ground yet.")
}

func TestAnOldRoundIsBlind(t *testing.T) {
	d, data := deps(false)
	r := data.Rounds["mill-lane"]
	r.At = webtest.Now().Add(-25 * time.Hour)
	data.Rounds["mill-lane"] = r
	h := New(d)
	body := get(t, h, "/site/mill-lane").Body.String()
	assert.Contains(t, body, "treat every bed as blind")
	assert.Contains(t, body, "Not judged since yesterday 08:07")
	assert.NotContains(t, body, "card r-act")
	assert.Contains(t, body, "card r-present", "what was found is still found")
	d.MaxAge = 48 * time.Hour
	assert.Contains(t, get(t, New(d), "/site/mill-lane").Body.String(), "card r-act")
}

func TestAssetsMayBeKept(t *testing.T) {
	d, _ := deps(false)
	h := New(d)
	body := get(t, h, "/").Body.String()
	i := strings.Index(body, "/assets/plotwarden.")
	require.Positive(t, i)
	path := body[i : i+strings.Index(body[i:], `"`)]
	w := get(t, h, path)
	assert.Equal(t, http.StatusOK, w.Code)
	assert.Equal(t, "text/css; charset=utf-8", w.Header().Get("Content-Type"))
	assert.Contains(t, w.Header().Get("Cache-Control"), "immutable")
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, path, nil)
	require.NoError(t, err)
	r.Header.Set("If-None-Match", w.Header().Get("ETag"))
	again := serve(h, r)
	assert.Equal(t, http.StatusNotModified, again.Code)
	assert.Empty(t, again.Body.String())
	assert.NotContains(t, w.Body.String(), "url(", "the style sheet asks for nothing")
	assert.NotContains(t, w.Body.String(), "@import")
}

func TestHealthAndMetrics(t *testing.T) {
	d, _ := deps(false)
	d.Metrics = http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte("up 1\n")) })
	h := New(d)
	assert.Equal(t, "up 1\n", get(t, h, "/metrics").Body.String())
	w := get(t, h, "/healthz")
	assert.Equal(t, http.StatusOK, w.Code)
	d.Health = func(context.Context) error { return errors.New("database locked by secret-name") }
	w = get(t, New(d), "/healthz")
	assert.Equal(t, http.StatusServiceUnavailable, w.Code)
	assert.NotContains(t, w.Body.String(), "secret-name")
}

func TestOnlyReading(t *testing.T) {
	d, _ := deps(false)
	h := New(d)
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "/site/mill-lane", strings.NewReader("x"))
	require.NoError(t, err)
	assert.Equal(t, http.StatusMethodNotAllowed, serve(h, r).Code)
	r, err = http.NewRequestWithContext(t.Context(), http.MethodHead, "/site/mill-lane", nil)
	require.NoError(t, err)
	w := serve(h, r)
	assert.Equal(t, http.StatusOK, w.Code)
	assert.Empty(t, w.Body.String())
}

// What growers and stores wrote is shown as text, never as markup.
func TestNamesAreEscaped(t *testing.T) {
	d, data := deps(false)
	const evil = `<script>alert(1)</script>"'&`
	g := webtest.Garden(false)
	g.Sites[0].Name = evil
	g.Sites[0].Plots[0].Name = evil
	g.Sites[0].Plots[0].Plantings[0].Cultivar = evil
	d.Garden = func() *garden.Garden { return g }
	r := data.Rounds["mill-lane"]
	for i := range r.Assessments {
		r.Assessments[i].Reason.Text = evil
		for j := range r.Assessments[i].Steps {
			r.Assessments[i].Steps[j].Text = evil
		}
	}
	data.Status = append(data.Status, store.SourceStatus{Source: evil, LastErr: evil, Consecutive: 1})
	h := New(d)
	for name, page := range allPages {
		w := get(t, h, page)
		assert.Empty(t, wellFormed(w.Body.Bytes()), name)
		// The only scripts are the program's own, by their address.
		assert.Equal(t, strings.Count(w.Body.String(), "<script"), strings.Count(w.Body.String(), `<script type="module" src="/assets/`), name)
	}
}

func FuzzAddress(f *testing.F) {
	for _, page := range allPages {
		f.Add(page, "units=us")
	}
	f.Add("/site/%2e%2e/weather", "days=-1&page=999999999999999999999&model=%00")
	d, _ := deps(true)
	h := New(d)
	f.Fuzz(func(t *testing.T, path, cookie string) {
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil)
		if err != nil {
			t.Fatal(err)
		}
		u, err := r.URL.Parse(path)
		if err != nil {
			return
		}
		r.URL = u
		r.Header.Set("Cookie", cookie)
		w := serve(h, r)
		if w.Code >= 500 {
			t.Fatalf("%q: %d", path, w.Code)
		}
		if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") && w.Code != http.StatusMovedPermanently && w.Code != http.StatusTemporaryRedirect && w.Code != http.StatusPermanentRedirect {
			if faults := wellFormed(w.Body.Bytes()); len(faults) > 0 {
				t.Fatalf("%q: %v", path, faults)
			}
		}
	})
}
