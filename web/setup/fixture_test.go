package setup

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/risk/catalog"
	"plotwarden/store/sqlite"
	"plotwarden/web/page"
)

var noon = time.Date(2026, 6, 4, 16, 0, 0, 0, time.UTC)

// shed is the pages of set-up on a real store; the service behind them is a record
// of what it was asked.
type shed struct {
	t      testing.TB
	ground *ground.Ground
	store  *sqlite.Store
	kit    *page.Kit
	h      http.Handler
	who    access.Who
	run    *runtime
}

// runtime records what the pages ask of the service.
type runtime struct {
	force   Force
	secrets map[string]string
	tests   []string
	refuse  error
}

func (r *runtime) Check(setting any) []garden.Fault {
	if m, ok := setting.(*ground.Mail); ok && m.Host == "" {
		return []garden.Fault{{Field: "host", Message: "write the name of the mail server"}}
	}
	return nil
}
func (r *runtime) Force() Force { return r.force }
func (r *runtime) KeepSecret(_ context.Context, name string, secret []byte) error {
	r.secrets[name] = string(secret)
	return nil
}
func (r *runtime) NewSecret() string { return "whsec_drawn" }
func (r *runtime) TestMail(_ context.Context, to, _, _, _ string) error {
	r.tests = append(r.tests, to)
	return r.refuse
}
func (r *runtime) TestWebhook(_ context.Context, person, _, _ string) error {
	r.tests = append(r.tests, "hook "+person)
	return r.refuse
}
func (r *runtime) Kinds() []string { return []string{"open-meteo", "nws", "met-norway"} }
func (r *runtime) Elevation(context.Context, float64, float64) (float64, error) {
	return 0, errors.New("nobody knows")
}

func fileGarden() *garden.Garden {
	return &garden.Garden{
		Sites:  []garden.Site{{ID: "written", Name: "Written", Latitude: 44.5, Longitude: -73.2, Zone: "America/New_York", Plots: []garden.Plot{{ID: "a", Plantings: []garden.Planting{{ID: "peas", Crop: "pea", PlantedOut: 739000}}}}}},
		People: []garden.Person{{ID: "ash", Name: "Ash"}},
	}
}

func newShed(t testing.TB, file *garden.Garden) *shed {
	t.Helper()
	s := &shed{t: t, who: access.Open(false), run: &runtime{secrets: map[string]string{}, force: Force{Weather: ground.Weather{Kinds: []string{"open-meteo"}}}}}
	s.who.Check, s.who.Via = "secret", access.BySession
	var err error
	s.store, err = sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "p.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.store.Close()) })
	cat, err := catalog.Load()
	require.NoError(t, err)
	now := func() time.Time { return noon }
	s.ground, err = ground.Open(t.Context(), ground.Options{File: file, Threats: cat.IDs(), Store: s.store, Now: now})
	require.NoError(t, err)
	s.kit = page.New(page.Options{Version: "test"})
	mux := page.NewMux(s.kit)
	Mount(mux, Deps{Kit: s.kit, Ground: s.ground, Catalogue: cat, Runtime: s.run, Logs: s.store, Now: now})
	s.h = page.Secure(s.kit.Rescue(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mux.ServeHTTP(w, r.WithContext(access.With(r.Context(), s.who)))
	})))
	return s
}

func (s *shed) get(path string) *httptest.ResponseRecorder {
	s.t.Helper()
	w := httptest.NewRecorder()
	s.h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w
}

// post sends a form as a browser would, with the secret of the page.
func (s *shed) post(path string, pairs ...string) *httptest.ResponseRecorder {
	s.t.Helper()
	v := url.Values{page.CheckField: {"secret"}}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(v.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	s.h.ServeHTTP(w, r)
	return w
}

// goes asserts that a form was taken and leads to a page.
func (s *shed) goes(w *httptest.ResponseRecorder, to string) {
	s.t.Helper()
	require.Equal(s.t, http.StatusSeeOther, w.Code, w.Body.String())
	assert.Equal(s.t, to, w.Header().Get("Location"))
}

// millLane adds a ground with two beds.
func (s *shed) millLane() *garden.Site {
	s.t.Helper()
	s.goes(s.post("/setup/ground", "name", "Mill Lane", "latitude", "44.476", "longitude", "-73.212", "elevation", "120 m", "zone", "America/New_York", "beds", "2"), "/setup/site/mill-lane?done=added")
	return s.ground.Now().Site("mill-lane")
}

func markOf(v any) string { return ground.Mark(v) }

func itoa(n int64) string { return strconv.FormatInt(n, 10) }
