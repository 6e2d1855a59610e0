package station

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/weather"
)

const secret = "correct horse battery"

type shelf struct {
	mu   sync.Mutex
	got  []Observation
	fail bool
}

func (s *shelf) take(_ context.Context, station string, obs []Observation) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.fail {
		return errors.New("disk full")
	}
	if station != "beds" {
		return errors.New("another station")
	}
	s.got = append(s.got, obs...)
	return nil
}

func serve(t *testing.T) (string, *shelf) {
	t.Helper()
	tok, err := NewToken(secret)
	require.NoError(t, err)
	s := &shelf{}
	h := NewHandler(map[string]*Inbox{"beds": {Token: tok, Zone: time.UTC}}, s.take, func() time.Time { return noon })
	mux := http.NewServeMux()
	mux.HandleFunc("POST /stations/{station}", h.ServeJSON)
	mux.HandleFunc("/stations/{station}/console", h.ServeConsole)
	srv := httptest.NewServer(mux)
	t.Cleanup(srv.Close)
	return srv.URL, s
}

func post(t *testing.T, url, token, body string) (int, string) {
	t.Helper()
	req, err := http.NewRequest(http.MethodPost, url, strings.NewReader(body))
	require.NoError(t, err)
	req.Header.Set("Authorization", "Bearer "+token)
	resp, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer func() { _ = resp.Body.Close() }()
	b, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	return resp.StatusCode, string(b)
}

func TestServeJSON(t *testing.T) {
	at, s := serve(t)
	status, _ := post(t, at+"/stations/beds", secret, documented)
	assert.Equal(t, 204, status)
	require.Len(t, s.got, 1)
	assert.Equal(t, 21.4, s.got[0].Values[weather.Temp])

	for _, tc := range []struct {
		path, token, body string
		status            int
		want              string
	}{
		{"/stations/beds", "wrong", documented, 401, "wrong token"},
		{"/stations/beds", "", documented, 401, "wrong token"},
		{"/stations/other", secret, documented, 401, "no such station"},
		{"/stations/beds", secret, `{"time":"2026-06-21T10:30:00Z","temprature_c":3}`, 400, `did you mean \"temperature_c\"`},
		{"/stations/beds", secret, `{"time":"2026-06-21T14:00:00Z","temperature_c":3}`, 400, "check the station's clock and zone"},
		{"/stations/beds", secret, `{"time":"2026-05-01T14:00:00Z","temperature_c":3}`, 400, "import older readings from a file"},
		{"/stations/beds", secret, `{"x":"` + strings.Repeat("x", maxDocument) + `"}`, 413, "more than 1048576 bytes"},
	} {
		status, body := post(t, at+tc.path, tc.token, tc.body)
		assert.Equal(t, tc.status, status)
		assert.Contains(t, body, tc.want)
	}
	s.mu.Lock()
	s.fail = true
	s.mu.Unlock()
	status, body := post(t, at+"/stations/beds", secret, documented)
	assert.Equal(t, 503, status)
	assert.NotContains(t, body, "disk", "our troubles are not the station's business")
	assert.Len(t, s.got, 1)
}

func TestServeConsole(t *testing.T) {
	at, s := serve(t)
	get := func(query string) (int, string) {
		resp, err := http.Get(at + "/stations/beds/console?" + query)
		require.NoError(t, err)
		defer func() { _ = resp.Body.Close() }()
		b, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		return resp.StatusCode, string(b)
	}
	pass := "&PASSWORD=correct+horse+battery"
	status, body := get("dateutc=2026-06-21+11%3A50%3A00&tempf=68&dailyrainin=0.10" + pass)
	assert.Equal(t, 200, status)
	assert.Equal(t, "success\n", body)

	// A reading from a clock that runs ahead is refused and leaves the rain as it was.
	status, body = get("dateutc=2026-06-21+23%3A50%3A00&tempf=68&dailyrainin=3" + pass)
	assert.Equal(t, 400, status)
	assert.Contains(t, body, "clock")

	resp, err := http.PostForm(at+"/stations/beds/console", map[string][]string{"PASSKEY": {secret}, "dateutc": {"2026-06-21 11:55:00"}, "dailyrainin": {"0.12"}})
	require.NoError(t, err)
	assert.Equal(t, 200, resp.StatusCode)
	require.NoError(t, resp.Body.Close())
	require.Len(t, s.got, 2)
	assert.InDelta(t, 0.508, s.got[1].Values[weather.Rain], 1e-9)
	assert.Equal(t, 5*time.Minute, s.got[1].Interval)

	status, body = get("dateutc=now&tempf=68&PASSWORD=guess")
	assert.Equal(t, 401, status)
	assert.NotContains(t, body, "guess")
	status, _ = get("dateutc=now&tempf=warm" + pass)
	assert.Equal(t, 400, status)
}
