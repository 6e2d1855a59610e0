package delivery

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts"
	"plotwarden/alerts/guard"
)

var noon = time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)

// Meanings of the codes: RFC 9110, section 15; 425 RFC 8470; 429 RFC 6585.
func TestAnswer(t *testing.T) {
	for status, want := range map[int]struct {
		cause     string
		permanent bool
	}{
		301: {"x-redirect", false}, 302: {"x-redirect", false}, 308: {"x-redirect", false},
		400: {"x-400", true}, 401: {"x-401", false}, 403: {"x-403", false}, 404: {"x-404", false}, 405: {"x-405", true},
		407: {"x-407", false}, 408: {"x-408", false}, 410: {"x-410", true}, 413: {"x-413", true}, 415: {"x-415", true},
		422: {"x-422", true}, 425: {"x-425", false}, 429: {"x-429", false},
		500: {"x-500", false}, 501: {"x-501", true}, 502: {"x-502", false}, 503: {"x-503", false}, 504: {"x-504", false}, 505: {"x-505", true},
		999: {"x-999", false}, // as a 5xx (RFC 9110, section 15)
	} {
		err := Answer("x", status, http.Header{}, "no\r\nlevel=INFO \x1b[31m\xff way", noon)
		require.NotNil(t, err, status)
		assert.Equal(t, want.cause, err.Cause)
		assert.Equal(t, want.permanent, err.Permanent, status)
		assert.Contains(t, err.Error(), "no level=INFO [31m way")
	}
	for _, status := range []int{200, 201, 202, 204, 299} {
		assert.Nil(t, Answer("x", status, http.Header{}, "", noon))
	}
}

func TestRetryAfter(t *testing.T) {
	for value, want := range map[string]time.Duration{
		"0": 0, "90": 90 * time.Second, "99999999": 24 * time.Hour, "18446744073709551615": -1, "-5": -1, "soon": -1, "": -1,
		noon.Add(time.Hour).Format(http.TimeFormat):   time.Hour,
		noon.Add(-time.Hour).Format(http.TimeFormat):  0,
		noon.AddDate(1, 0, 0).Format(http.TimeFormat): 24 * time.Hour,
		noon.Add(2 * time.Hour).Format(time.RFC850):   2 * time.Hour,
		noon.Add(2 * time.Hour).Format(time.ANSIC):    2 * time.Hour,
	} {
		got, ok := RetryAfter(fmt.Errorf("deliver: %w", Answer("x", 429, http.Header{"Retry-After": {value}}, "", noon)))
		assert.Equal(t, want >= 0, ok, value)
		if ok {
			assert.Equal(t, want, got, value)
		}
	}
	_, ok := RetryAfter(Answer("x", 400, http.Header{"Retry-After": {"9"}}, "", noon))
	assert.False(t, ok, "a message that is given up waits for nothing")
}

// The failures come from real connections.
func TestFailed(t *testing.T) {
	hang := make(chan struct{})
	plain := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch r.URL.Path {
		case "/hang":
			<-hang
		case "/drop":
			conn, _, err := w.(http.Hijacker).Hijack()
			if err == nil {
				_ = conn.Close()
			}
		}
	}))
	defer plain.Close()
	defer close(hang)
	secure := httptest.NewTLSServer(http.NotFoundHandler())
	defer secure.Close()
	closed, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, closed.Close())

	own, err := guard.ParseAllow([]string{"127.0.0.1", "no-such-host.invalid"})
	require.NoError(t, err)
	for name, c := range map[string]struct {
		allow     *guard.Allow
		url       string
		timeout   time.Duration
		cause     string
		permanent bool
	}{
		"inside":    {nil, plain.URL, time.Second, "x-address", true},
		"closed":    {own, "http://" + closed.Addr().String(), time.Second, "x-refused", false},
		"no name":   {own, "http://no-such-host.invalid/", 5 * time.Second, "x-name", false},
		"untrusted": {own, secure.URL, 5 * time.Second, "x-tls", false},
		"no TLS":    {own, "https" + plain.URL[4:], 5 * time.Second, "x-tls", false},
		"hang":      {own, plain.URL + "/hang", 100 * time.Millisecond, "x-timeout", false},
		"drop":      {own, plain.URL + "/drop", 5 * time.Second, "x-broken", false},
	} {
		t.Run(name, func(t *testing.T) {
			client := guard.HTTPClient(guard.Options{Allow: c.allow, Timeout: c.timeout})
			defer client.CloseIdleConnections()
			resp, err := client.Post(c.url, "text/plain", nil)
			if err == nil {
				_ = resp.Body.Close()
			}
			require.Error(t, err)
			got := Failed(t.Context(), "x", err)
			assert.Equal(t, c.cause, got.Cause)
			assert.Equal(t, c.permanent, got.Permanent)
			assert.NotContains(t, got.Error(), c.url)
		})
	}

	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	got := Failed(ctx, "x", errors.New("anything"))
	assert.Equal(t, "x-stopped", got.Cause)
	var send *alerts.SendError
	assert.ErrorAs(t, fmt.Errorf("deliver: %w", got), &send)
}
