package heartbeat

import (
	"context"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"plotwarden/alerts"
)

var now = time.Date(2026, 6, 4, 6, 0, 0, 0, time.UTC)

func beat(t *testing.T, url string, change func(*Options)) *Beat {
	t.Helper()
	o := Options{URL: url, Timeout: 2 * time.Second, Wait: time.Millisecond, Now: func() time.Time { return now }}
	if change != nil {
		change(&o)
	}
	b, err := New(o)
	require.NoError(t, err)
	t.Cleanup(b.Close)
	return b
}

func cause(t *testing.T, err error) string {
	t.Helper()
	var e *alerts.SendError
	require.ErrorAs(t, err, &e)
	return e.Cause
}

func TestGoodRoundsAreTold(t *testing.T) {
	var got []string
	s := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		got = append(got, r.Method+" "+r.URL.String()+" "+r.UserAgent())
	}))
	defer s.Close()
	b := beat(t, s.URL+"/ping/secret", nil)
	require.NoError(t, b.Good(t.Context()))
	require.NoError(t, b.Good(t.Context()))
	assert.Equal(t, []string{"GET /ping/secret plotwarden", "GET /ping/secret plotwarden"}, got)
	assert.Equal(t, Stats{Sent: 2, LastGood: now}, b.Stats())
}

func TestFailuresAreCountedAndTriedAgain(t *testing.T) {
	var asked atomic.Int32
	release := make(chan struct{})
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		n := asked.Add(1)
		switch {
		case strings.HasPrefix(r.URL.Path, "/third") && n < 3, r.URL.Path == "/down":
			w.WriteHeader(503)
		case r.URL.Path == "/wrong":
			w.WriteHeader(400)
		case r.URL.Path == "/unknown":
			w.WriteHeader(404)
		case r.URL.Path == "/drop":
			panic(http.ErrAbortHandler)
		case r.URL.Path == "/endless":
			for {
				if _, err := io.WriteString(w, strings.Repeat("z", 4096)); err != nil {
					return
				}
			}
		case r.URL.Path == "/hang":
			select {
			case <-release:
			case <-r.Context().Done():
				panic(http.ErrAbortHandler) // or a late answer would slip in
			}
		case r.URL.Path == "/moved":
			http.Redirect(w, r, "/here", http.StatusFound)
		case r.URL.Path == "/circle":
			http.Redirect(w, r, "/circle", http.StatusFound)
		}
	}))
	defer s.Close()
	defer close(release)
	for path, want := range map[string]struct {
		cause string
		asked int32
	}{
		"/third":   {"", 3},
		"/down":    {"heartbeat-503", 3},
		"/wrong":   {"heartbeat-400", 1}, // cannot get better by itself
		"/unknown": {"heartbeat-404", 3},
		"/drop":    {"heartbeat-broken", -1}, // the transport asks again by itself where it may
		"/endless": {"", 1},
		"/hang":    {"heartbeat-timeout", 3},
		"/moved":   {"", 2},
		"/circle":  {"heartbeat-broken", -1},
	} {
		asked.Store(0)
		b := beat(t, s.URL+path+"?token=hush", func(o *Options) { o.Timeout = 300 * time.Millisecond })
		err := b.Good(t.Context())
		if want.asked >= 0 {
			assert.Equal(t, want.asked, asked.Load(), path)
		}
		if want.cause == "" {
			assert.NoError(t, err, path)
			assert.Equal(t, Stats{Sent: 1, LastGood: now}, b.Stats(), path)
			continue
		}
		assert.Equal(t, want.cause, cause(t, err), path)
		assert.NotContains(t, err.Error(), "hush", "the address is a secret")
		assert.Equal(t, Stats{Failed: 1, InARow: 1, LastCause: want.cause}, b.Stats(), path)
	}
}

func TestARowOfFailuresEnds(t *testing.T) {
	var up atomic.Bool
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		if !up.Load() {
			w.WriteHeader(500)
		}
	}))
	defer s.Close()
	b := beat(t, s.URL, nil)
	for range 3 {
		assert.Error(t, b.Good(t.Context()))
	}
	assert.Equal(t, Stats{Failed: 3, InARow: 3, LastCause: "heartbeat-500"}, b.Stats())
	up.Store(true)
	require.NoError(t, b.Good(t.Context()))
	assert.Equal(t, Stats{Sent: 1, Failed: 3, LastGood: now}, b.Stats())
}

func TestNobodyThereAndStopped(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, l.Close())
	b := beat(t, "http://"+l.Addr().String()+"/hush", nil)
	err = b.Good(t.Context())
	assert.Equal(t, "heartbeat-refused", cause(t, err))
	assert.NotContains(t, err.Error(), "hush")

	// A long pause does not hold up the end of the service.
	ctx, cancel := context.WithCancel(t.Context())
	b = beat(t, "http://"+l.Addr().String(), func(o *Options) { o.Wait = time.Hour })
	done := make(chan error, 1)
	go func() { done <- b.Good(ctx) }()
	cancel()
	select {
	case err := <-done:
		assert.Error(t, err)
	case <-time.After(10 * time.Second):
		t.Fatal("it did not stop")
	}
}

func TestOptions(t *testing.T) {
	for _, at := range []string{"", "ping", "ftp://example.org/hush", "https:///hush", "https://exa mple/hush"} {
		_, err := New(Options{URL: at})
		if assert.ErrorContains(t, err, "write https://host/path", at) {
			assert.NotContains(t, err.Error(), "hush")
		}
	}
}

func TestNothingIsLeftRunning(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	s := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	b := beat(t, s.URL, nil)
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() { assert.NoError(t, b.Good(t.Context())) })
	}
	wait.Wait()
	assert.Equal(t, 8, b.Stats().Sent)
	b.Close()
	s.Close()
}
