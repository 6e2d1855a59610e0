package push

import (
	"context"
	"crypto/ecdh"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"plotwarden/alerts"
	"plotwarden/alerts/guard"
	"plotwarden/plan"
	"plotwarden/store"
)

var slot = time.Date(2026, 6, 4, 4, 30, 0, 0, time.UTC)

func digest() *alerts.Digest {
	return &alerts.Digest{
		SiteID: "long-field", Site: "Long Field", PersonID: "ada", Person: "Ada", Slot: slot, Day: "Thu 4 Jun",
		Subject: "Long Field: 1 to act on — Thu 4 Jun", Lead: "1 to act on.", Link: "https://beds.example.org/site/long-field",
		New: []alerts.Notice{{
			Readiness: plan.Act, Threat: "Late blight", Beds: []alerts.Bed{{Name: "Bed 3: Tomato"}, {Name: "Bed 7: Tomato"}}, When: "by tomorrow",
			Next: "Take off the lowest leaves.", Why: "Invented.", Link: "https://beds.example.org/site/long-field/planting/tom/threat/late-blight",
		}},
		Told: &alerts.Told{Entries: map[string]alerts.Entry{}},
	}
}

// browser holds the secrets that never leave a browser.
type browser struct {
	private *ecdh.PrivateKey
	auth    []byte
}

func newBrowser(t testing.TB) browser {
	t.Helper()
	key, err := ecdh.P256().GenerateKey(rand.Reader)
	require.NoError(t, err)
	auth := make([]byte, 16)
	_, err = rand.Read(auth)
	require.NoError(t, err)
	return browser{key, auth}
}

func (b browser) subscription(endpoint string) Subscription {
	return Subscription{Endpoint: endpoint, Keys: Keys{P256dh: encode(b.private.PublicKey().Bytes()), Auth: encode(b.auth)}}
}

type received struct {
	header http.Header
	body   []byte
	method string
}

// service is a push service that does as the test tells it.
type service struct {
	*httptest.Server
	mu  sync.Mutex
	got []received
}

func start(t *testing.T, do http.HandlerFunc) *service {
	t.Helper()
	s := &service{}
	s.Server = httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, err := io.ReadAll(r.Body)
		if err == nil {
			s.mu.Lock()
			s.got = append(s.got, received{r.Header.Clone(), b, r.Method})
			s.mu.Unlock()
		}
		do(w, r)
	}))
	t.Cleanup(s.Close)
	return s
}

func (s *service) all() []received {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]received(nil), s.got...)
}

// shelf keeps subscriptions in memory.
type shelf struct {
	mu      sync.Mutex
	kept    map[string]Subscription
	dropErr error
}

func (s *shelf) Subscription(_ context.Context, person, id string) (Subscription, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if id == "broken" {
		return Subscription{}, errors.New("disk full")
	}
	out, ok := s.kept[person+"/"+id]
	if !ok {
		return Subscription{}, store.ErrNotFound
	}
	return out, nil
}

func (s *shelf) Drop(_ context.Context, person, id string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.dropErr == nil {
		delete(s.kept, person+"/"+id)
	}
	return s.dropErr
}

func shelve(subs ...Subscription) *shelf {
	s := &shelf{kept: map[string]Subscription{}}
	for _, sub := range subs {
		s.kept["ada/"+sub.ID()] = sub
	}
	return s
}

func sender(t *testing.T, s *service, subs Subscriptions, change func(*Options)) *Sender {
	t.Helper()
	v, err := GenerateVAPID(rand.Reader, "warden@beds.example.org")
	require.NoError(t, err)
	allow, err := guard.ParseAllow([]string{"127.0.0.1"})
	require.NoError(t, err)
	pool := x509.NewCertPool()
	pool.AddCert(s.Certificate())
	o := Options{
		VAPID: v, Subscriptions: subs, Now: func() time.Time { return slot.Add(time.Minute) },
		Guard: guard.Options{Allow: allow, Timeout: 2 * time.Second, TLS: &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}},
	}
	if change != nil {
		change(&o)
	}
	out, err := New(o)
	require.NoError(t, err)
	t.Cleanup(out.Close)
	return out
}

func due(t *testing.T, d *alerts.Digest, id string) store.Delivery {
	t.Helper()
	m, err := Message(d, id)
	require.NoError(t, err)
	return store.Delivery{Message: m}
}

func failure(t *testing.T, err error) *alerts.SendError {
	t.Helper()
	var e *alerts.SendError
	require.ErrorAs(t, err, &e)
	return e
}
