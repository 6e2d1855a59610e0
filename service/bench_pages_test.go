package service

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/alerts/letter"
	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/weather"
	desk "plotwarden/web/bench"
	"plotwarden/web/page"

	"context"
)

// deskOf is the volunteers' pages over the made-up valley.
func deskOf(t *testing.T, v *valley) (http.Handler, *access.Who) {
	t.Helper()
	who := access.Of(v.g, "wren", access.Owner)
	who.Name, who.Check, who.Via = "Wren", "secret", access.BySession
	kit := page.New(page.Options{Version: "test"})
	mux := page.NewMux(kit)
	desk.Mount(mux, desk.Deps{
		Kit: kit, Garden: v.Garden, Catalogue: v.Catalogue, Data: v.store, Tunings: benchTunings{v.Tunings}, Now: v.Now, StaleHour: 24,
		Letter: func(_ context.Context, region string) (letter.Letter, error) {
			return letter.Compose(letter.Input{Region: v.g.Regions[0], Today: civil.Of(v.now, time.UTC), Threats: v.Catalogue}), nil
		},
	})
	return page.Secure(kit.Rescue(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mux.ServeHTTP(w, r.WithContext(access.With(r.Context(), who)))
	}))), &who
}

func read(h http.Handler, path string) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	return w
}

func send(h http.Handler, path string, pairs ...string) *httptest.ResponseRecorder {
	v := url.Values{page.CheckField: {"secret"}}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(v.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func sendFile(h http.Handler, path string, body []byte, pairs ...string) *httptest.ResponseRecorder {
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	_ = m.WriteField(page.CheckField, "secret")
	for i := 0; i+1 < len(pairs); i += 2 {
		_ = m.WriteField(pairs[i], pairs[i+1])
	}
	f, _ := m.CreateFormFile("file", "tunings.yaml")
	_, _ = f.Write(body)
	_ = m.Close()
	r := httptest.NewRequest(http.MethodPost, path, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestANumberIsTriedSavedUndoneAndTravelsByThePages(t *testing.T) {
	v := newValley(t, 2)
	h, _ := deskOf(t, v)
	list := read(h, "/region/valley/tune?model="+wormModel).Body.String()
	assert.Contains(t, list, "published range: 150", "the numbers with their published values")
	form := []string{"model", wormModel, "number", "stage\n" + wormStage, "to", "230", "heldOut", "2025"}
	w := send(h, "/region/valley/tune", form...)
	require.Equal(t, http.StatusOK, w.Code, w.Body.String())
	body := w.Body.String()
	assert.Contains(t, body, "Before and after")
	assert.Contains(t, body, "fewer than 5 cannot tell", "what the data cannot support is said")
	assert.GreaterOrEqual(t, strings.Count(body, "<tr><th scope=\"row\">202"), 4)
	assert.Contains(t, body, "<svg", "drawn")
	assert.Contains(t, body, "stated chance, %", "how the stated chances came out")
	entries, err := v.List(t.Context(), "valley")
	require.NoError(t, err)
	assert.Empty(t, entries, "a trial keeps nothing")

	w = send(h, "/region/valley/tune", "model", wormModel, "number", "stage\n"+wormStage, "to", "many")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "is not a number")

	w = send(h, "/region/valley/tunings", append(form, "why", "Finds in the valley")...)
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
	body = read(h, "/region/valley").Body.String()
	assert.Contains(t, body, "230 in place of the published 150, tuned by Wren on 2026-04-20: Finds in the valley")
	file := read(h, "/region/valley/tunings.yaml")
	assert.Contains(t, file.Body.String(), "signature:")
	assert.Contains(t, file.Header().Get("Content-Disposition"), "attachment")

	id := regexp.MustCompile(`/region/valley/tunings/([^/"]+)/undo`).FindStringSubmatch(body)
	require.Len(t, id, 2)
	w = send(h, "/region/valley/tunings/"+id[1]+"/undo", "why", "")
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code, "a reason is wanted")
	w = send(h, "/region/valley/tunings/"+id[1]+"/undo", "why", "It was luck")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body.String())
	assert.Contains(t, read(h, "/region/valley").Body.String(), "taken back")

	w = sendFile(h, "/region/valley/tunings/import", bytes.Replace(file.Body.Bytes(), []byte("230"), []byte("330"), 1))
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, w.Body.String(), "changed after it was signed")
	w = sendFile(h, "/region/valley/tunings/import", []byte("format: 9\n"))
	assert.Equal(t, http.StatusUnprocessableEntity, w.Code)
}

func TestTheBenchShowsHowTheDataAreDoing(t *testing.T) {
	v := newValley(t, 2)
	ctx := t.Context()
	require.NoError(t, v.store.SaveRound(ctx, store.Round{Site: "mill", At: v.now.Add(-time.Hour), Assessments: []plan.Assessment{
		{Site: "mill", Planting: "kale", Threat: "imported-cabbageworm", Round: v.now, Readiness: plan.Blind, WeatherUntil: v.now.Add(-30 * time.Hour), Reason: plan.Reason{Code: "blind", Text: "x"}}}}))
	require.NoError(t, v.store.SetSource(ctx, store.SourceStatus{Site: "mill", Source: "open-meteo", LastTry: v.now, LastErr: "no", Cause: "http-429", Consecutive: 4}))
	require.NoError(t, v.store.SaveQuality(ctx, store.Quality{Site: "mill", At: v.now, Doubts: []store.Doubt{{Source: "shed", Open: true, Doubt: weather.Doubt{Reason: "it reads the same for two days"}}}}))
	require.NoError(t, v.store.AddScouting(ctx, garden.Scouting{ID: "new", Site: "mill", Threat: "imported-cabbageworm", Date: civil.New(2026, 4, 19), Finding: garden.Found}))
	h, who := deskOf(t, v)
	body := read(h, "/region/valley").Body.String()
	for _, want := range []string{"Too old to say anything", "1 of 1 blind", "open-meteo: fails, 4 in a row (http-429)", "shed: it reads the same for two days", "1 looks in 30 days, 1 of them finds", "Not judged yet"} {
		assert.Contains(t, body, want)
	}
	assert.Equal(t, http.StatusSeeOther, read(h, "/region").Code, "the only region")
	l := read(h, "/region/valley/letter").Body.String()
	assert.Contains(t, l, "week of")
	w := send(h, "/region/valley/letter", "text", "# Mine")
	assert.Equal(t, "# Mine", w.Body.String())
	assert.Contains(t, w.Header().Get("Content-Disposition"), "letter-valley.md")
	assert.Contains(t, w.Header().Get("Content-Type"), "text/markdown")

	// Who looks after another region sees nothing of this one.
	for role, want := range map[access.Role]int{access.Volunteer: http.StatusNotFound, access.Grower: http.StatusNotFound, access.Reader: http.StatusNotFound} {
		*who = access.Of(v.g, "ola", role)
		who.Check = "secret"
		for _, path := range []string{"/region/valley", "/region/valley/tune", "/region/valley/letter", "/region/valley/tunings.yaml"} {
			assert.Equal(t, want, read(h, path).Code, "%s %s", role, path)
		}
		assert.Equal(t, want, send(h, "/region/valley/tunings", "why", "x").Code)
	}
	v.g.Regions[0].Volunteers = []string{"ola"}
	*who = access.Of(v.g, "ola", access.Volunteer)
	who.Check = "secret"
	assert.Equal(t, http.StatusOK, read(h, "/region/valley").Code)
	who.ReadOnly = true
	assert.Equal(t, http.StatusForbidden, send(h, "/region/valley/tunings", "why", "x").Code)
}
