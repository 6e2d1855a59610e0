package signed

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/lang"
	"plotwarden/store"
)

var update = flag.Bool("update", false, "write the golden files")

// desk notes what is done to it.
type desk struct {
	mu      sync.Mutex
	acts    []Claim
	undone  []Claim
	subject Subject
	err     error
	lookErr error
}

func (d *desk) Describe(context.Context, Claim) (Subject, error) { return d.subject, d.lookErr }

func (d *desk) Act(_ context.Context, c Claim, at time.Time) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.err == nil && at.Equal(now) {
		d.acts = append(d.acts, c)
	}
	return d.err
}

func (d *desk) Undo(_ context.Context, c Claim, at time.Time) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.err == nil && at.Equal(now) {
		d.undone = append(d.undone, c)
	}
	return d.err
}

type pages struct {
	*httptest.Server
	desk  *desk
	keys  *Keys
	fails []error
}

func open(t *testing.T) *pages {
	t.Helper()
	loc, err := time.LoadLocation("America/New_York")
	require.NoError(t, err)
	p := &pages{desk: &desk{subject: Subject{Person: "Ada", Site: "North ground", What: "Late blight, Bed 3: Tomato", Loc: loc, Page: "https://beds.example.org/site/north"}}, keys: keys(t, "a")}
	p.Server = httptest.NewServer(Handler(Options{Keys: p.keys, Store: p.desk, Now: func() time.Time { return now }, Failed: func(_ context.Context, err error) { p.fails = append(p.fails, err) }}))
	t.Cleanup(p.Close)
	return p
}

func (p *pages) link(t *testing.T, c Claim) string {
	t.Helper()
	l, err := Links{Keys: p.keys, Base: p.URL}.Link(c)
	require.NoError(t, err)
	return l
}

func do(t *testing.T, r *http.Request) (status int, body string, h http.Header) {
	t.Helper()
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	defer client.CloseIdleConnections()
	resp, err := client.Do(r)
	require.NoError(t, err)
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	return resp.StatusCode, string(b), resp.Header
}

func get(t *testing.T, method, url string) (int, string, http.Header) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, url, nil)
	require.NoError(t, err)
	return do(t, r)
}

func post(t *testing.T, at string, form url.Values) (int, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), "POST", at, strings.NewReader(form.Encode()))
	require.NoError(t, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	status, body, _ := do(t, r)
	return status, body
}

var press = url.Values{"do": {"act"}}

// A mail scanner follows links, asks for heads, and sends what it likes in the
// query. None of it changes anything.
func TestNothingButTheButtonActs(t *testing.T) {
	p := open(t)
	for _, a := range []Action{Done, NotNow, NotMine, Mute, Unsubscribe} {
		at := p.link(t, claim(a))
		for _, method := range []string{"GET", "HEAD"} {
			for _, query := range []string{"", "?do=act", "?List-Unsubscribe=One-Click"} {
				status, _, _ := get(t, method, at+query)
				assert.Equal(t, 200, status)
			}
		}
		for _, method := range []string{"PUT", "DELETE", "OPTIONS", "PATCH"} {
			status, _, _ := get(t, method, at+"?do=act")
			assert.Equal(t, 405, status)
		}
		for _, form := range []url.Values{nil, {"do": {""}}, {"do": {"look"}}, {"List-Unsubscribe": {"yes"}}} {
			status, body := post(t, at+"?do=act&List-Unsubscribe=One-Click", form)
			assert.Equal(t, 400, status)
			assert.Contains(t, body, "press the button")
		}
	}
	status, _ := post(t, p.link(t, claim(Done)), url.Values{"List-Unsubscribe": {"One-Click"}})
	assert.Equal(t, 400, status, "the field of RFC 8058 acts for unsubscribing only")
	assert.Empty(t, p.desk.acts)
	assert.Empty(t, p.desk.undone)
}

// What the page's form holds is what acts: the test presses the button as a
// browser would.
func TestTheButtonActs(t *testing.T) {
	p := open(t)
	for _, c := range []struct {
		action Action
		until  civil.Date
		want   civil.Date
		says   string
	}{
		{Done, 0, 0, "Noted as done."},
		{NotNow, civil.New(2026, 6, 12), civil.New(2026, 6, 12), "Put off until 12 June 2026."},
		{NotNow, 0, civil.New(2026, 6, 18), "Put off until 18 June 2026."},
		{NotMine, 0, 0, "You get no more messages about it."},
		{Mute, civil.New(2026, 7, 1), civil.New(2026, 7, 1), "up to and including 1 July 2026"},
		{Unsubscribe, 0, 0, "no more morning messages of North ground"},
	} {
		claimed := claim(c.action)
		claimed.Until = c.until
		at := p.link(t, claimed)
		_, page, _ := get(t, "GET", at)
		form := fields(t, page)
		status, body := post(t, at, form)
		assert.Equal(t, 200, status)
		assert.Contains(t, body, c.says)
		require.NotEmpty(t, p.desk.acts)
		got := p.desk.acts[len(p.desk.acts)-1]
		assert.Equal(t, []any{"ada", "north", c.action, "tom/late-blight", c.want}, []any{got.Person, got.Site, got.Action, got.Key, got.Until})

		// The answer offers to take it back.
		back := fields(t, body)
		assert.Equal(t, url.Values{"do": {"undo"}}, back)
		status, body = post(t, at, back)
		assert.Equal(t, 200, status)
		assert.Contains(t, body, "Taken back")
		assert.Equal(t, c.action, p.desk.undone[len(p.desk.undone)-1].Action)
	}
	assert.Len(t, p.desk.acts, 6)
	assert.Len(t, p.desk.undone, 6)
}

var input = regexp.MustCompile(`<input [^>]*name="([^"]+)"[^>]*value="([^"]*)"`)

// fields reads the one form of a page.
func fields(t *testing.T, page string) url.Values {
	t.Helper()
	require.Equal(t, 1, strings.Count(page, `<form method="post"`), page)
	require.NotContains(t, page, "action=", "the form goes to the page's own address")
	out := url.Values{}
	for _, m := range input.FindAllStringSubmatch(page, -1) {
		out.Set(m[1], m[2])
	}
	return out
}

// RFC 8058: a mail provider posts the field, in either form of a body, without
// cookies or referrer, and must get no redirect.
func TestOneClickUnsubscribe(t *testing.T) {
	p := open(t)
	c := claim(Unsubscribe)
	c.Key = "email"
	at := p.link(t, c)
	status, _ := post(t, at, url.Values{"List-Unsubscribe": {"One-Click"}})
	assert.Equal(t, 200, status)

	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	require.NoError(t, w.WriteField("List-Unsubscribe", "One-Click"))
	require.NoError(t, w.Close())
	r, err := http.NewRequestWithContext(t.Context(), "POST", at, &b)
	require.NoError(t, err)
	r.Header.Set("Content-Type", w.FormDataContentType())
	status, _, h := do(t, r)
	assert.Equal(t, 200, status)
	assert.Empty(t, h.Get("Location"))
	assert.Empty(t, h.Get("Set-Cookie"))
	require.Len(t, p.desk.acts, 2)
	assert.Equal(t, "email", p.desk.acts[1].Key)
}

// The pages stand behind the protection of the standard library as well.
func TestWorksBehindCrossOriginProtection(t *testing.T) {
	p := open(t)
	guarded := http.NewCrossOriginProtection().Handler(Handler(Options{Keys: p.keys, Store: p.desk, Now: func() time.Time { return now }}))
	c := claim(Unsubscribe)
	token, err := p.keys.Sign(c)
	require.NoError(t, err)
	for name, header := range map[string]map[string]string{
		"provider": {}, "browser": {"Sec-Fetch-Site": "same-origin", "Origin": "http://example.com"}, "old browser": {"Origin": "http://example.com"},
	} {
		r := httptest.NewRequest("POST", Path+token, strings.NewReader("List-Unsubscribe=One-Click"))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		for k, v := range header {
			r.Header.Set(k, v)
		}
		w := httptest.NewRecorder()
		guarded.ServeHTTP(w, r)
		assert.Equal(t, 200, w.Code, name)
	}
	assert.Len(t, p.desk.acts, 3)
}

func TestMuteTakesADayAheadOnly(t *testing.T) {
	p := open(t)
	at := p.link(t, claim(Mute))
	for _, day := range []string{"", "soon", "2026-06-04", "2020-01-01", "2027-06-06", "9999-12-31"} {
		status, body := post(t, at, url.Values{"do": {"act"}, "until": {day}})
		assert.Equal(t, 422, status, day)
		assert.Contains(t, body, "Choose a day from 5 June 2026 to 5 June 2027.")
		assert.Contains(t, body, `role="alert"`)
	}
	assert.Empty(t, p.desk.acts)
	for _, day := range []string{"2026-06-05", "2027-06-05"} {
		status, _ := post(t, at, url.Values{"do": {"act"}, "until": {day}})
		assert.Equal(t, 200, status, day)
	}
	// A link whose day has passed offers another.
	c := claim(Mute)
	c.Until = civil.New(2026, 5, 1)
	_, body, _ := get(t, "GET", p.link(t, c))
	assert.Contains(t, body, `value="2026-06-18"`)
	assert.Contains(t, body, `min="2026-06-05" max="2027-06-05"`)
}

func TestFaults(t *testing.T) {
	p := open(t)
	good := p.link(t, claim(Done))
	ended := claim(Done)
	ended.Expires = now.Add(-time.Hour)
	for name, c := range map[string]struct {
		at     string
		status int
		says   string
	}{
		"cut":      {good[:len(good)-3], 404, "This link is not complete."},
		"forged":   {p.URL + Path + "e30.00", 404, "This link is not complete."},
		"ended":    {p.link(t, ended), 410, "This link was good until 4 June 2026."},
		"calendar": {p.link(t, Claim{Person: "ada", Site: "north", Action: Calendar}), 404, "not complete"},
	} {
		for _, method := range []string{"GET", "POST"} {
			status, body, _ := get(t, method, c.at)
			assert.Equal(t, c.status, status, name)
			assert.Contains(t, body, c.says)
			assert.NotContains(t, body, "<form")
		}
	}
	p.desk.lookErr = store.ErrNotFound
	status, body, _ := get(t, "GET", good)
	assert.Equal(t, 410, status)
	assert.Contains(t, body, "no longer in the garden")
	assert.Empty(t, p.fails)

	p.desk.lookErr, p.desk.err = nil, errors.New("disk full")
	for _, form := range []url.Values{press, {"do": {"undo"}}} {
		status, body := post(t, good, form)
		assert.Equal(t, 503, status)
		assert.Contains(t, body, "nothing has changed")
		assert.NotContains(t, body, "disk full")
	}
	assert.Len(t, p.fails, 2)

	p.desk.err = nil
	status, _ = post(t, good, url.Values{"do": {"act"}, "x": {strings.Repeat("y", 2*maxBody)}})
	assert.Equal(t, 400, status, "a body that is too large")
	assert.Empty(t, p.desk.acts)
}

func TestLanguage(t *testing.T) {
	p := open(t)
	p.desk.subject.Lang = lang.Spanish
	_, body, h := get(t, "GET", p.link(t, claim(Done)))
	assert.Contains(t, body, `<html lang="es">`)
	assert.Contains(t, body, "Sí, está hecho")
	assert.Equal(t, "es", h.Get("Content-Language"))
	r, err := http.NewRequestWithContext(t.Context(), "GET", p.URL+Path+"x", nil)
	require.NoError(t, err)
	r.Header.Set("Accept-Language", "es-MX,es;q=0.9")
	_, body, _ = do(t, r)
	assert.Contains(t, body, "Este enlace no está completo.", "of a fault the browser's language decides")
}

func TestHeadersAndEscapes(t *testing.T) {
	p := open(t)
	p.desk.subject.What, p.desk.subject.Person = `<script>alert(1)</script>`, `"><b>`
	for _, a := range []Action{Done, NotNow, NotMine, Mute, Unsubscribe} {
		_, body, h := get(t, "GET", p.link(t, claim(a)))
		assert.Equal(t, policy, h.Get("Content-Security-Policy"))
		assert.Equal(t, "no-store", h.Get("Cache-Control"))
		assert.Equal(t, "same-origin", h.Get("Referrer-Policy"))
		assert.Contains(t, h.Get("X-Robots-Tag"), "noindex")
		for _, no := range []string{"<script", "<b>", "style=", "<style", "javascript:", " onclick"} {
			assert.NotContains(t, body, no, "nothing that the policy would refuse")
		}
	}
	status, css, h := get(t, "GET", p.URL+Path+styleName)
	assert.Equal(t, 200, status)
	assert.Contains(t, h.Get("Content-Type"), "text/css")
	assert.NotContains(t, css, "url(")
}

func TestGoldenPages(t *testing.T) {
	p := open(t)
	c := claim(Mute)
	c.Until = civil.New(2026, 7, 1)
	_, ask, _ := get(t, "GET", p.link(t, c))
	_, done := post(t, p.link(t, claim(NotNow)), press)
	for name, got := range map[string]string{"mute.html": ask, "put-off.html": done} {
		path := filepath.Join("testdata", name)
		if *update {
			require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(want), got, "run with -update to accept")
	}
}

var colour = regexp.MustCompile(`--(ground|raised|ink|soft|rule|link|focus): (#[0-9a-f]{6});`)

// The pages look like the others: the same colours on light and dark ground.
func TestColoursAreThoseOfThePages(t *testing.T) {
	other, err := os.ReadFile("../../web/page/assets/plotwarden.css")
	require.NoError(t, err)
	assert.Equal(t, colour.FindAllString(string(other), -1), colour.FindAllString(string(styleCSS), -1))
	assert.Len(t, colour.FindAllString(string(styleCSS), -1), 14)
}
