package web

import (
	"plotwarden/web/page"

	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"plotwarden/garden"
	"plotwarden/web/webtest"
)

// deps returns the invented garden's dependencies.
func deps(several bool) (Deps, *webtest.Data) {
	data := webtest.NewData()
	g := webtest.Garden(several)
	return Deps{
		Garden: func() *garden.Garden { return g }, Catalogue: webtest.Threats(), Data: data, Now: webtest.Now, Wet: webtest.Wet,
		Kit: page.New(page.Options{
			Demo:        &page.DemoNote{Title: "Demonstration", Lines: []string{"The garden and its dates are invented.", "The weather is invented for a test."}},
			Attribution: []string{"Weather: invented for a test."},
			Version:     "test",
		}),
	}, data
}

// get asks a handler for a page.
func get(t *testing.T, h http.Handler, path string, cookies ...*http.Cookie) *httptest.ResponseRecorder {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, path, nil)
	require.NoError(t, err)
	for _, c := range cookies {
		r.AddCookie(c)
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// allPages is an address of every kind of page of the invented garden with two
// sites.
var allPages = map[string]string{
	"sites":       "/",
	"site":        "/site/mill-lane",
	"site-28":     "/site/mill-lane?days=28",
	"site-us":     "/site/mill-lane?units=us",
	"site-empty":  "/site/school-yard",
	"why-insect":  "/site/mill-lane/planting/squash-3/threat/vine-borer",
	"why-disease": "/site/mill-lane/planting/tomato-1/threat/late-blight",
	"why-present": "/site/mill-lane/planting/cabbage-2/threat/cabbageworm",
	"why-blind":   "/site/mill-lane/planting/cucumber-4/threat/downy-mildew",
	"why-log":     "/site/mill-lane/planting/cabbage-2/threat/diamondback",
	"weather":     "/site/mill-lane/weather",
	"rain":        "/site/mill-lane/rain",
	"work":        "/site/mill-lane/work",
	"work-year":   "/site/mill-lane/work/year",
	"plan":        "/site/mill-lane/planting/tomato-1",
	"season":      "/site/mill-lane/season",
	"threats":     "/threats",
	"threat":      "/threats/early-blight",
	"not-found":   "/no/such/page",
}

// serve serves a request that was made by hand.
func serve(h http.Handler, r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}
