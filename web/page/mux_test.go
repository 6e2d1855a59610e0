package page

import (
	"bytes"
	"embed"
	"html/template"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/access"
	"plotwarden/garden"
)

//go:embed testdata
var testFiles embed.FS

func testMux(t *testing.T) *Mux {
	t.Helper()
	k := New(Options{})
	pages := k.Parse(testFiles, "testdata/", "form")
	m := NewMux(k, "https://ours.example")
	m.HandleFunc("GET /form", func(w http.ResponseWriter, r *http.Request) {
		pages.Show(w, r, http.StatusOK, "form", Frame{Title: "Form", Body: struct {
			Rows  []int
			Field Field
		}{[]int{1, 2}, Field{Name: "bed", Label: "Bed", Fault: "Name the bed.", Hint: "As on its sign.", Value: `"><b>`}}})
	})
	took := func(w http.ResponseWriter, r *http.Request) { _, _ = io.WriteString(w, "took "+r.PostFormValue("bed")) }
	m.HandleFunc("POST /form", took)
	m.HandleFunc("POST /large", took, Limit(64))
	m.HandleFunc("PUT /api/thing", took, JSON)
	m.HandleFunc("POST /open", took, Public)
	return m
}

func person(role access.Role) access.Who {
	w := access.Of(&garden.Garden{}, "ash", role)
	w.Via, w.Check = access.BySession, "secret-of-ash"
	return w
}

func TestMuxAdmits(t *testing.T) {
	m := testMux(t)
	token := person(access.Grower)
	token.Via, token.Check = access.ByToken, ""
	form := func(check string) string { return url.Values{"bed": {"3"}, CheckField: {check}}.Encode() }
	for name, c := range map[string]struct {
		who          access.Who
		method, path string
		body, kind   string
		headers      map[string]string
		want         int
	}{
		"page, nobody":            {access.Who{}, "GET", "/form", "", "", nil, 303},
		"page, signed in":         {person(access.Reader), "GET", "/form", "", "", nil, 200},
		"form, nobody":            {access.Who{}, "POST", "/form", form("secret-of-ash"), formType, nil, 401},
		"form, with its secret":   {person(access.Grower), "POST", "/form", form("secret-of-ash"), formType, nil, 200},
		"form, secret in header":  {person(access.Grower), "POST", "/form", "bed=3", formType, map[string]string{CheckHeader: "secret-of-ash"}, 200},
		"form, another's secret":  {person(access.Grower), "POST", "/form", form("secret-of-elm"), formType, nil, 403},
		"form, no secret":         {person(access.Grower), "POST", "/form", "bed=3", formType, nil, 403},
		"form, secret in address": {person(access.Grower), "POST", "/form?check=secret-of-ash", "bed=3", formType, nil, 403},
		"form, no secret at all":  {access.Open(false), "POST", "/form", form(""), formType, nil, 403},
		"form, read only":         {access.Open(true), "POST", "/form", form(""), formType, nil, 403},
		"form, another site":      {person(access.Grower), "POST", "/form", form("secret-of-ash"), formType, map[string]string{"Sec-Fetch-Site": "cross-site"}, 403},
		"form, sister site":       {person(access.Grower), "POST", "/form", form("secret-of-ash"), formType, map[string]string{"Sec-Fetch-Site": "same-site"}, 403},
		"form, trusted origin":    {person(access.Grower), "POST", "/form", form("secret-of-ash"), formType, map[string]string{"Origin": "https://ours.example"}, 200},
		"form, foreign origin":    {person(access.Grower), "POST", "/form", form("secret-of-ash"), formType, map[string]string{"Origin": "https://theirs.example"}, 403},
		"form, too large":         {person(access.Grower), "POST", "/large", form("secret-of-ash") + strings.Repeat("x", 64), formType, nil, 413},
		"form, not a form":        {person(access.Grower), "POST", "/form", "%zz", formType, nil, 400},
		"open, another site":      {access.Who{}, "POST", "/open", "", formType, map[string]string{"Sec-Fetch-Site": "cross-site"}, 403},
		"open, nobody":            {access.Who{}, "POST", "/open", "", formType, nil, 200},
		"JSON, signed in":         {person(access.Grower), "PUT", "/api/thing", "{}", "application/json", nil, 200},
		"JSON sent as a form":     {person(access.Grower), "PUT", "/api/thing", "{}", "text/plain", nil, 415},
		"JSON, token":             {token, "PUT", "/api/thing", "{}", "application/json", nil, 200},
		"JSON, nobody":            {access.Who{}, "PUT", "/api/thing", "{}", "application/json", nil, 401},
	} {
		t.Run(name, func(t *testing.T) {
			r := httptest.NewRequestWithContext(access.With(t.Context(), c.who), c.method, c.path, strings.NewReader(c.body))
			r.Header.Set("Content-Type", c.kind)
			for k, v := range c.headers {
				r.Header.Set(k, v)
			}
			w := httptest.NewRecorder()
			m.ServeHTTP(w, r)
			assert.Equal(t, c.want, w.Code, w.Body.String())
			if c.want != http.StatusOK {
				assert.NotContains(t, w.Body.String(), "took")
			}
		})
	}
}

const formType = "application/x-www-form-urlencoded"

func TestFormWithFile(t *testing.T) {
	var b bytes.Buffer
	mw := multipart.NewWriter(&b)
	require.NoError(t, mw.WriteField(CheckField, "secret-of-ash"))
	require.NoError(t, mw.WriteField("bed", "7"))
	require.NoError(t, mw.Close())
	r := httptest.NewRequestWithContext(access.With(t.Context(), person(access.Grower)), "POST", "/form", &b)
	r.Header.Set("Content-Type", mw.FormDataContentType())
	w := httptest.NewRecorder()
	testMux(t).ServeHTTP(w, r)
	assert.Equal(t, "took 7", w.Body.String())
}

// Every form of a page holds the reader's secret, and none holds the mark that
// stands for it; a reader without one gets an empty field.
func TestCheckIsFilled(t *testing.T) {
	for _, who := range []access.Who{person(access.Grower), access.Open(true)} {
		r := httptest.NewRequestWithContext(access.With(t.Context(), who), "GET", "/form", nil)
		w := httptest.NewRecorder()
		testMux(t).ServeHTTP(w, r)
		require.Equal(t, http.StatusOK, w.Code)
		assert.Equal(t, 2, strings.Count(w.Body.String(), `name="check" value="`+who.Check+`"`))
		assert.NotContains(t, w.Body.String(), checkMark)
		assert.Contains(t, w.Body.String(), `aria-describedby="h-bed e-bed" aria-invalid="true"`)
		assert.Contains(t, w.Body.String(), `href="#f-bed"`)
		assert.Contains(t, w.Body.String(), template.HTMLEscapeString(`"><b>`))
	}
}

func TestRoutes(t *testing.T) {
	var got []string
	for _, r := range testMux(t).Routes() {
		got = append(got, r.Method+" "+r.Path)
	}
	assert.Equal(t, []string{"PUT /api/thing", "GET /assets/{file}", "GET /form", "POST /form", "POST /large", "GET /manifest.webmanifest", "POST /open", "GET /sw.js"}, got)
}

func TestOriginsAreChecked(t *testing.T) {
	assert.Panics(t, func() { NewMux(New(Options{}), "no origin") })
}

func TestAskIn(t *testing.T) {
	m := testMux(t)
	r := httptest.NewRequestWithContext(t.Context(), "GET", "/form?days=28", nil)
	w := httptest.NewRecorder()
	m.ServeHTTP(w, r)
	assert.Equal(t, "/sign-in?to=%2Fform%3Fdays%3D28", w.Header().Get("Location"))
	assert.Equal(t, "no-store", w.Header().Get("Cache-Control"))
}
