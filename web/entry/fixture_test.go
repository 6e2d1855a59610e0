package entry

import (
	"bytes"
	"context"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/risk/wetness"
	"plotwarden/store/sqlite"
	"plotwarden/weather"
	"plotwarden/web/page"
	"plotwarden/web/webtest"
)

// ground is the invented garden with a real store behind the pages.
type ground struct {
	t      testing.TB
	garden *garden.Garden
	store  *sqlite.Store
	mux    *page.Mux
	who    access.Who
	now    time.Time
	told   []string // sites whose log changed
}

const north = "mill-lane"

func newGround(t testing.TB) *ground { return newGroundWith(t, func(*Deps) {}) }

// newGroundWith makes a ground whose pages are wired otherwise.
func newGroundWith(t testing.TB, change func(*Deps)) *ground {
	t.Helper()
	st, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "log.db"))
	require.NoError(t, err)
	t.Cleanup(func() { _ = st.Close() })
	g := &ground{t: t, garden: webtest.Garden(true), store: st, now: webtest.Now()}
	g.garden.Scoutings, g.garden.Treatments = nil, nil
	g.garden.People = []garden.Person{{ID: "ash", Name: "Ash", Sites: []string{north}}, {ID: "elm", Name: "Elm", Sites: []string{north}}}
	g.garden.Sites[0].Plots[0].Grower = "ash"
	three, day := 3, 24
	g.garden.Materials = []garden.Material{
		{ID: "cu", Name: "copper from the shed", Ingredient: "copper octanoate", Kind: garden.KindCopper, Crops: []string{"tomato"}, IntervalDays: 7, SeasonMax: 3,
			PreHarvestDays: &three, ReEntryHours: &day, LabelDate: webtest.Today - 200, DryingHours: 6},
		{ID: "milk", Name: "milk mix", Ingredient: "milk", Kind: garden.KindHomeMix},
	}
	require.NoError(t, st.SaveWeather(context.Background(), north, webtest.Weather()))
	g.who = access.Of(g.garden, "ash", access.Grower)
	g.who.Check = "the secret"
	kit := page.New(page.Options{Version: "test"})
	g.mux = page.NewMux(kit)
	d := Deps{Kit: kit, Garden: func() *garden.Garden { return g.garden }, Catalogue: webtest.Threats(), Data: st, Now: func() time.Time { return g.now },
		Wet:    func(s *weather.Series) []wetness.State { return webtest.Wet(s) },
		Logged: func(site string) { g.told = append(g.told, site) }}
	change(&d)
	Mount(g.mux, d)
	return g
}

// as makes the next requests those of another.
func (g *ground) as(person string, role access.Role) {
	g.who = access.Of(g.garden, person, role)
	g.who.Check = "the secret"
}

func (g *ground) serve(r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	page.Secure(g.mux).ServeHTTP(w, r.WithContext(access.With(r.Context(), g.who)))
	return w
}

func (g *ground) get(path string) *httptest.ResponseRecorder {
	return g.serve(httptest.NewRequestWithContext(context.Background(), http.MethodGet, path, nil))
}

// send posts a form with its secret, and files when there are some.
func (g *ground) send(path string, v url.Values, photos ...[]byte) *httptest.ResponseRecorder {
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	_ = m.WriteField(page.CheckField, "the secret")
	for name, vs := range v {
		for _, x := range vs {
			_ = m.WriteField(name, x)
		}
	}
	for _, p := range photos {
		f, err := m.CreateFormFile("photo", "photo.jpg")
		require.NoError(g.t, err)
		_, _ = f.Write(p)
	}
	require.NoError(g.t, m.Close())
	r := httptest.NewRequestWithContext(context.Background(), http.MethodPost, path, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return g.serve(r)
}

func (g *ground) sendJSON(path, body string) *httptest.ResponseRecorder {
	r := httptest.NewRequestWithContext(context.Background(), http.MethodPost, path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	return g.serve(r)
}

func (g *ground) looks() []garden.Scouting {
	s, err := g.store.Scoutings(context.Background(), north)
	require.NoError(g.t, err)
	return s
}

func (g *ground) records() []garden.Record {
	s, err := g.store.Records(context.Background(), north)
	require.NoError(g.t, err)
	return s
}

// look is a filled-in form.
func look(id, finding string, more ...string) url.Values {
	v := url.Values{"id": {id}, "planting": {"tomato-1"}, "threat": {"late-blight"}, "finding": {finding}}
	for i := 0; i+1 < len(more); i += 2 {
		v.Set(more[i], more[i+1])
	}
	return v
}

// spray is a filled-in form of this morning's spray with the grower's copper.
func spray(id string, more ...string) url.Values {
	v := url.Values{"id": {id}, "planting": {"tomato-1"}, "threats": {"late-blight"}, "with": {"cu"}, "day": {webtest.Today.String()}, "clock": {"08:30"}, "bloom": {"none"}, "act": {"save"}}
	for i := 0; i+1 < len(more); i += 2 {
		v.Set(more[i], more[i+1])
	}
	return v
}

var spaces = regexp.MustCompile(`\s+`)

func squeezed(w *httptest.ResponseRecorder) string {
	return spaces.ReplaceAllString(w.Body.String(), " ")
}
