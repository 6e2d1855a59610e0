package webhook

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
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
	"plotwarden/alerts/delivery"
	"plotwarden/alerts/guard"
	"plotwarden/store"
)

// received is one request as the target saw it.
type received struct {
	header http.Header
	body   []byte
	method string
}

// relay is a target that does as the test tells it, over TLS.
type relay struct {
	*httptest.Server
	mu  sync.Mutex
	got []received
}

func start(t *testing.T, do http.HandlerFunc) *relay {
	r := &relay{}
	r.Server = httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, req *http.Request) {
		b, err := io.ReadAll(req.Body)
		r.mu.Lock()
		if err == nil {
			r.got = append(r.got, received{req.Header.Clone(), b, req.Method})
		}
		r.mu.Unlock()
		do(w, req)
	}))
	r.Config.ErrorLog = nil
	r.StartTLS()
	t.Cleanup(r.Close)
	return r
}

func (r *relay) all() []received {
	r.mu.Lock()
	defer r.mu.Unlock()
	return append([]received(nil), r.got...)
}

func (r *relay) trust() *tls.Config {
	pool := x509.NewCertPool()
	pool.AddCert(r.Certificate())
	return &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}
}

type targets map[string]Target

func (t targets) Target(_ context.Context, person, id string) (Target, error) {
	if id == "broken" {
		return Target{}, errors.New("disk full")
	}
	out, ok := t[person+"/"+id]
	if !ok {
		return Target{}, store.ErrNotFound
	}
	return out, nil
}

var signer = Secret(strings.Repeat("k", 32))

func sender(t *testing.T, r *relay, url string, change func(*Options)) *Sender {
	t.Helper()
	allow, err := guard.ParseAllow([]string{"127.0.0.1"})
	require.NoError(t, err)
	o := Options{
		Targets: targets{"ada/relay": {URL: url, Secrets: []Secret{signer}}, "ada/bare": {URL: url}},
		Guard:   guard.Options{Allow: allow, Timeout: 2 * time.Second, TLS: r.trust()},
	}
	if change != nil {
		change(&o)
	}
	s, err := New(o)
	require.NoError(t, err)
	t.Cleanup(s.Close)
	return s
}

func due(t *testing.T, target string) store.Delivery {
	t.Helper()
	m, err := Message(digest(), target)
	require.NoError(t, err)
	return store.Delivery{Message: m}
}

func failure(t *testing.T, err error) *alerts.SendError {
	t.Helper()
	var e *alerts.SendError
	require.ErrorAs(t, err, &e)
	return e
}

func TestArrivesSigned(t *testing.T) {
	r := start(t, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	now := time.Date(2026, 6, 4, 4, 31, 7, 0, time.UTC)
	s := sender(t, r, r.URL+"/hook?a=1", func(o *Options) {
		o.Now = func() time.Time { return now }
		o.UserAgent = "plotwarden (beds.example.org)"
	})
	require.NoError(t, s.Send(t.Context(), due(t, "relay")))
	now = now.Add(10 * time.Minute)
	require.NoError(t, s.Send(t.Context(), due(t, "relay")))
	got := r.all()
	require.Len(t, got, 2)
	assert.Equal(t, "POST", got[0].method)
	assert.Equal(t, "application/json", got[0].header.Get("Content-Type"))
	assert.Equal(t, "plotwarden (beds.example.org)", got[0].header.Get("User-Agent"))
	assert.JSONEq(t, pretty(t, PayloadOf(digest())), string(got[0].body))
	assert.Equal(t, got[0].header.Get(HeaderID), got[1].header.Get(HeaderID), "an attempt that is repeated is known by its id")
	assert.NoError(t, Verify([]Secret{signer}, got[0].header, got[0].body, now.Add(-10*time.Minute)))
	assert.NoError(t, Verify([]Secret{signer}, got[1].header, got[1].body, now), "and signed with its own time")
	assert.ErrorIs(t, Verify([]Secret{signer}, got[0].header, got[0].body, now), ErrReplay)
}

// What a target answers, and what becomes of the message.
func TestMisbehavingTargets(t *testing.T) {
	release := make(chan struct{})
	var followed atomic.Int32
	endless := func(w io.Writer) {
		for range 1 << 20 {
			if _, err := w.Write([]byte(strings.Repeat("y", 1024))); err != nil {
				return
			}
		}
	}
	r := start(t, func(w http.ResponseWriter, req *http.Request) {
		switch req.URL.Path {
		case "/ok-endless":
			endless(w)
		case "/error-endless":
			w.WriteHeader(500)
			endless(w)
		case "/moved":
			http.Redirect(w, req, "/followed", http.StatusPermanentRedirect)
		case "/followed":
			followed.Add(1)
		case "/busy":
			w.Header().Set("Retry-After", "120")
			w.WriteHeader(429)
		case "/bad":
			http.Error(w, "no such\nthing", 400)
		case "/auth":
			w.WriteHeader(401)
		case "/gone":
			w.WriteHeader(410)
		case "/hang":
			select {
			case <-release:
			case <-req.Context().Done():
				panic(http.ErrAbortHandler) // or a late answer would slip in
			}
		case "/hang-in-error":
			w.WriteHeader(503)
			w.(http.Flusher).Flush()
			select {
			case <-release:
			case <-req.Context().Done():
				panic(http.ErrAbortHandler) // or a late answer would slip in
			}
		case "/drop":
			panic(http.ErrAbortHandler)
		case "/headers":
			for i := range 3000 {
				w.Header().Add("X-Many", strings.Repeat("z", 30)+string(rune('a'+i%26)))
			}
			w.WriteHeader(200)
		}
	})
	defer close(release)
	for path, want := range map[string]struct {
		cause     string
		permanent bool
		says      string
	}{
		"/ok-endless":    {},
		"/error-endless": {"webhook-500", false, "yyy"},
		"/moved":         {"webhook-redirect", false, "not followed"},
		"/busy":          {"webhook-429", false, "asked to wait 2m0s"},
		"/bad":           {"webhook-400", true, "no such thing"},
		"/auth":          {"webhook-401", false, ""},
		"/gone":          {"webhook-410", true, ""},
		"/hang":          {"webhook-timeout", false, ""},
		"/hang-in-error": {"webhook-503", false, ""},
		"/drop":          {"webhook-broken", false, ""},
		"/headers":       {"webhook-broken", false, ""},
	} {
		t.Run(path[1:], func(t *testing.T) {
			s := sender(t, r, r.URL+path+"?token=hush", func(o *Options) { o.Guard.Timeout = 700 * time.Millisecond })
			err := s.Send(t.Context(), due(t, "relay"))
			if want.cause == "" {
				require.NoError(t, err)
				return
			}
			e := failure(t, err)
			assert.Equal(t, want.cause, e.Cause)
			assert.Equal(t, want.permanent, e.Permanent)
			assert.False(t, e.Down, "one target says nothing of the others")
			assert.Contains(t, e.Error(), want.says)
			assert.NotContains(t, e.Error(), "hush", "the address is a secret")
			assert.Less(t, len(e.Error()), 1000)
		})
	}
	assert.Zero(t, followed.Load())
	s := sender(t, r, r.URL+"/busy", nil)
	after, ok := delivery.RetryAfter(s.Send(t.Context(), due(t, "relay")))
	assert.True(t, ok)
	assert.Equal(t, 2*time.Minute, after)
}

// Only what the operator allows inside is reached there.
func TestInsideIsRefused(t *testing.T) {
	r := start(t, func(http.ResponseWriter, *http.Request) {})
	_, port, _ := strings.Cut(r.Listener.Addr().String(), ":")
	for url, cause := range map[string]string{
		r.URL:                           "webhook-address",
		"https://localhost:" + port:     "webhook-address", // found out when connecting
		"http://relay.example.org/":     "webhook-address", // in the clear
		"https://u:p@127.0.0.1:" + port: "webhook-address",
	} {
		s := sender(t, r, url, func(o *Options) { o.Guard.Allow = nil })
		e := failure(t, s.Send(t.Context(), due(t, "relay")))
		assert.Equal(t, cause, e.Cause, url)
		assert.True(t, e.Permanent)
	}
	assert.Empty(t, r.all())
}

func TestUntrustedAndStopped(t *testing.T) {
	r := start(t, func(http.ResponseWriter, *http.Request) {})
	s := sender(t, r, r.URL, func(o *Options) { o.Guard.TLS = nil })
	e := failure(t, s.Send(t.Context(), due(t, "relay")))
	assert.Equal(t, "webhook-tls", e.Cause)
	assert.False(t, e.Permanent)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	e = failure(t, sender(t, r, r.URL, nil).Send(ctx, due(t, "relay")))
	assert.Equal(t, "webhook-stopped", e.Cause)
	assert.Empty(t, r.all())
}

func TestWhatCannotBeSent(t *testing.T) {
	r := start(t, func(http.ResponseWriter, *http.Request) {})
	s := sender(t, r, r.URL, nil)
	for target, want := range map[string]struct {
		cause           string
		permanent, down bool
	}{
		"other": {"webhook-gone", true, false}, "bare": {"webhook-secret", true, false}, "broken": {"webhook-lookup", false, true},
	} {
		e := failure(t, s.Send(t.Context(), due(t, target)))
		assert.Equal(t, want.cause, e.Cause)
		assert.Equal(t, want.permanent, e.Permanent)
		assert.Equal(t, want.down, e.Down)
	}
	e := failure(t, s.Send(t.Context(), store.Delivery{Message: store.Message{Body: []byte("{")}}))
	assert.Equal(t, "webhook-unreadable", e.Cause)
	assert.True(t, e.Permanent)
	_, err := New(Options{})
	assert.ErrorContains(t, err, "no targets")
}

func TestNothingIsLeftRunning(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	r := start(t, func(http.ResponseWriter, *http.Request) {})
	s := sender(t, r, r.URL, nil)
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() { assert.NoError(t, s.Send(t.Context(), due(t, "relay"))) })
	}
	wait.Wait()
	assert.Len(t, r.all(), 8)
	s.Close()
	r.Close()
}
