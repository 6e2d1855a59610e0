package api

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/web/page"
	"plotwarden/web/webtest"
)

// kept is the invented garden's data with a log that can be added to.
type kept struct{ *webtest.Data }

func (k kept) AddScouting(_ context.Context, s garden.Scouting) error {
	k.Seen = append(k.Seen, s)
	return nil
}

func serve(t *testing.T) (*page.Mux, kept, []byte) {
	t.Helper()
	g := webtest.Garden(true)
	g.People = []garden.Person{{ID: "ash", Sites: []string{"mill-lane"}}}
	k := kept{webtest.NewData()}
	kit := page.New(page.Options{})
	m := page.NewMux(kit)
	api := Mount(m, Deps{Kit: kit, Garden: func() *garden.Garden { return g }, Catalogue: webtest.Threats(), Data: k, Now: webtest.Now})
	doc, err := api.OpenAPI().MarshalJSON()
	require.NoError(t, err)
	return m, k, doc
}

func ask(t *testing.T, m http.Handler, role access.Role, method, path, body string, headers ...string) *httptest.ResponseRecorder {
	t.Helper()
	who := access.Of(&garden.Garden{People: []garden.Person{{ID: "ash", Sites: []string{"mill-lane"}}}}, "ash", role)
	who.Via = access.ByToken
	r := httptest.NewRequestWithContext(access.With(t.Context(), who), method, path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	m.ServeHTTP(w, r)
	return w
}

func TestRead(t *testing.T) {
	m, k, _ := serve(t)
	k.Seen = []garden.Scouting{{ID: "mine", Site: "mill-lane", By: "ash"}, {ID: "theirs", Site: "mill-lane", By: "elm"}, {ID: "shared", Site: "mill-lane", By: "elm", Share: true}}
	w := ask(t, m, access.Grower, "GET", Path+"/sites", "")
	assert.Contains(t, w.Body.String(), `"id":"mill-lane"`)
	assert.NotContains(t, w.Body.String(), "school-yard")
	assert.Equal(t, 304, ask(t, m, access.Grower, "GET", Path+"/sites", "", "If-None-Match", w.Header().Get("ETag")).Code)
	w = ask(t, m, access.Grower, "GET", Path+"/sites/school-yard", "")
	assert.Equal(t, 404, w.Code)
	assert.Equal(t, "application/problem+json", w.Header().Get("Content-Type"))
	w = ask(t, m, access.Grower, "GET", Path+"/sites/mill-lane/scoutings", "")
	assert.Contains(t, w.Body.String(), "mine")
	assert.Contains(t, w.Body.String(), "shared")
	assert.NotContains(t, w.Body.String(), "theirs")
	w = ask(t, m, access.Grower, "GET", Path+"/sites/mill-lane/assessments?limit=2", "")
	assert.Contains(t, w.Body.String(), `"readiness"`)
	assert.Regexp(t, `^</api/v1/sites/mill-lane/assessments\?limit=2&cursor=[^>]+>; rel="next"$`, w.Header().Get("Link"))
	assert.Equal(t, 422, ask(t, m, access.Grower, "GET", Path+"/sites?limit=0", "").Code)
	k.Err = assert.AnError
	w = ask(t, m, access.Grower, "GET", Path+"/sites/mill-lane/scoutings", "")
	assert.Equal(t, 500, w.Code)
	assert.NotContains(t, w.Body.String(), assert.AnError.Error())
}

func TestPagesMeet(t *testing.T) {
	all := []string{"a", "b", "c", "d", "e"}
	var got []string
	for cursor := ""; ; {
		p := cut(all, func(s string) string { return s }, Paged{Limit: 2, Cursor: cursor}, "/x")
		got = append(got, p.Body.Items...)
		if p.Link == "" {
			break
		}
		cursor = got[len(got)-1]
	}
	assert.Equal(t, all, got)
}

func TestLog(t *testing.T) {
	m, k, _ := serve(t)
	const good = `{"id":"x1","planting":"cabbage-2","threat":"cabbageworm","date":"2026-06-09","finding":"found","percent":5}`
	assert.Equal(t, 403, ask(t, m, access.Reader, "POST", Path+"/sites/mill-lane/scoutings", good).Code)
	assert.Equal(t, 404, ask(t, m, access.Grower, "POST", Path+"/sites/school-yard/scoutings", good).Code)
	w := ask(t, m, access.Grower, "POST", Path+"/sites/mill-lane/scoutings", good)
	assert.Equal(t, 201, w.Code, w.Body.String())
	for part, where := range map[string]string{`"cabbageworm"`: "body.threat", `"cabbage-2"`: "body.planting", `"2026-06-09"`: "body.date", `"found"`: "body.finding", `5}`: "body.percent"} {
		bad := strings.Replace(good, part, map[bool]string{true: `500}`, false: `"no-such"`}[part == "5}"], 1)
		w := ask(t, m, access.Grower, "POST", Path+"/sites/mill-lane/scoutings", bad)
		assert.Equal(t, 422, w.Code, bad)
		assert.Contains(t, w.Body.String(), where, bad)
	}
	_ = k
}

// The document is made from the handlers; PLOTWARDEN_GOLDEN=1 writes it anew.
func TestDocument(t *testing.T) {
	_, _, doc := serve(t)
	var b bytes.Buffer
	require.NoError(t, json.Indent(&b, doc, "", "  "))
	b.WriteByte('\n')
	const name = "testdata/openapi.json"
	if os.Getenv("PLOTWARDEN_GOLDEN") != "" {
		require.NoError(t, os.WriteFile(name, b.Bytes(), 0o644))
	}
	want, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, string(want), b.String())
	assert.Contains(t, b.String(), `"openapi": "3.1.0"`)
}
