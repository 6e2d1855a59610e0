package push

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"io"
	"math/big"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"plotwarden/alerts/delivery"
	"plotwarden/store"
)

func created(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusCreated) }

func TestArrivesEncrypted(t *testing.T) {
	s := start(t, created)
	b := newBrowser(t)
	sub := b.subscription(s.URL + "/send/secret-path")
	out := sender(t, s, shelve(sub), nil)
	require.NoError(t, out.Send(t.Context(), due(t, digest(), sub.ID())))
	got := s.all()
	require.Len(t, got, 1)
	h := got[0].header
	assert.Equal(t, "POST", got[0].method)
	assert.Equal(t, "aes128gcm", h.Get("Content-Encoding"))
	assert.Equal(t, "71940", h.Get("TTL"), "20 hours from its slot, a minute gone")
	assert.Equal(t, "normal", h.Get("Urgency"))
	assert.LessOrEqual(t, len(got[0].body), 4096, "what every push service takes (RFC 8030, section 7.2)")
	assert.NotContains(t, string(got[0].body), "blight")

	plain, err := decrypt(got[0].body, b.private, b.auth)
	require.NoError(t, err)
	var note Note
	require.NoError(t, json.Unmarshal(plain, &note))
	assert.Equal(t, NoteOf(digest()), note)
	assert.Equal(t, note.Tag, h.Get("Topic"))
	other := newBrowser(t)
	_, err = decrypt(got[0].body, other.private, b.auth)
	assert.Error(t, err, "no other browser reads it")
}

// A later morning has the same topic, so that a phone that was off gets one note
// and not five; another site or person has another.
func TestALaterNoteTakesThePlaceOfAWaitingOne(t *testing.T) {
	a := NoteOf(digest()).Tag
	assert.Regexp(t, `^[A-Za-z0-9_-]{1,32}$`, a, "RFC 8030, section 5.4")
	d := digest()
	d.Slot = d.Slot.AddDate(0, 0, 1)
	assert.Equal(t, a, NoteOf(d).Tag)
	m1, err := Message(digest(), "x")
	require.NoError(t, err)
	m2, err := Message(d, "x")
	require.NoError(t, err)
	assert.NotEqual(t, m1.Key, m2.Key, "but they are two messages")
	d.SiteID = "other"
	assert.NotEqual(t, a, NoteOf(d).Tag)
	d = digest()
	d.PersonID = "bo"
	assert.NotEqual(t, a, NoteOf(d).Tag)
}

// The signature is checked with the standard library against RFC 8292 and RFC
// 7518 (section 3.4: r and s, 32 bytes each).
func TestIdentifiesItself(t *testing.T) {
	s := start(t, created)
	sub := newBrowser(t).subscription(s.URL + "/send/1")
	out := sender(t, s, shelve(sub), nil)
	require.NoError(t, out.Send(t.Context(), due(t, digest(), sub.ID())))
	value := s.all()[0].header.Get("Authorization")
	token, key, ok := strings.Cut(strings.TrimPrefix(value, "vapid t="), ", k=")
	require.True(t, ok, value)
	assert.Equal(t, out.PublicKey(), key)
	parts := strings.Split(token, ".")
	require.Len(t, parts, 3)
	public, err := decode(key)
	require.NoError(t, err)
	require.Len(t, public, 65)
	signature, err := decode(parts[2])
	require.NoError(t, err)
	require.Len(t, signature, 64)
	sum := sha256.Sum256([]byte(parts[0] + "." + parts[1]))
	pub, err := ecdsa.ParseUncompressedPublicKey(elliptic.P256(), public)
	require.NoError(t, err)
	assert.True(t, ecdsa.Verify(pub, sum[:], new(big.Int).SetBytes(signature[:32]), new(big.Int).SetBytes(signature[32:])))
	raw, err := decode(parts[1])
	require.NoError(t, err)
	var claims struct {
		Aud, Sub string
		Exp      int64
	}
	require.NoError(t, json.Unmarshal(raw, &claims))
	assert.Equal(t, s.URL, claims.Aud, "the origin alone, not the secret path")
	assert.Equal(t, "mailto:warden@beds.example.org", claims.Sub)
	left := time.Until(time.Unix(claims.Exp, 0))
	assert.Positive(t, left)
	assert.LessOrEqual(t, left, 24*time.Hour, "RFC 8292, section 2")
}

func TestWhatAServiceAnswers(t *testing.T) {
	status := 0
	s := start(t, func(w http.ResponseWriter, _ *http.Request) {
		if status == 429 {
			w.Header().Set("Retry-After", "300")
		}
		if status == 307 {
			w.Header().Set("Location", "/elsewhere")
		}
		w.WriteHeader(status)
		_, _ = io.WriteString(w, strings.Repeat("reason ", 1000))
	})
	for _, c := range []struct {
		status             int
		cause              string
		permanent, dropped bool
	}{
		{201, "", false, false}, {200, "", false, false}, {202, "", false, false},
		{404, "push-404", true, true}, {410, "push-410", true, true},
		{400, "push-400", true, false}, {401, "push-401", false, false}, {403, "push-403", false, false}, {413, "push-413", true, false},
		{429, "push-429", false, false}, {500, "push-500", false, false}, {503, "push-503", false, false}, {307, "push-redirect", false, false},
	} {
		sub := newBrowser(t).subscription(s.URL + "/send/secret-path")
		kept := shelve(sub)
		out := sender(t, s, kept, nil)
		status = c.status
		err := out.Send(t.Context(), due(t, digest(), sub.ID()))
		_, stays := kept.kept["ada/"+sub.ID()]
		assert.Equal(t, !c.dropped, stays, c.status)
		if c.cause == "" {
			assert.NoError(t, err)
			continue
		}
		e := failure(t, err)
		assert.Equal(t, c.cause, e.Cause)
		assert.Equal(t, c.permanent, e.Permanent, c.status)
		assert.NotContains(t, e.Error(), "secret-path")
		assert.Less(t, len(e.Error()), 900)
		after, ok := delivery.RetryAfter(err)
		assert.Equal(t, c.status == 429, ok)
		if ok {
			assert.Equal(t, 5*time.Minute, after)
		}
	}
	assert.Len(t, s.all(), 13, "no redirect was followed")
}

func TestADroppedSubscriptionThatStaysIsSaid(t *testing.T) {
	s := start(t, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(410) })
	sub := newBrowser(t).subscription(s.URL)
	kept := shelve(sub)
	kept.dropErr = errors.New("disk full")
	e := failure(t, sender(t, s, kept, nil).Send(t.Context(), due(t, digest(), sub.ID())))
	assert.True(t, e.Permanent)
	assert.ErrorContains(t, e, "could not be dropped: disk full")
}

func TestWhatCannotBeSent(t *testing.T) {
	s := start(t, created)
	good := newBrowser(t).subscription(s.URL)
	keyless := Subscription{Endpoint: s.URL + "/2", Keys: Keys{P256dh: "AAAA", Auth: good.Keys.Auth}}
	clear := newBrowser(t).subscription("http" + strings.TrimPrefix(s.URL, "https"))
	out := sender(t, s, shelve(good, keyless, clear), func(o *Options) { o.Guard.Allow = nil })
	allowed := sender(t, s, shelve(good, keyless, clear), nil)
	for _, c := range []struct {
		name            string
		out             *Sender
		id              string
		cause           string
		permanent, down bool
	}{
		{"inside", out, good.ID(), "push-address", true, false},
		{"in the clear", out, clear.ID(), "push-address", true, false},
		{"no key", allowed, keyless.ID(), "push-keys", true, false},
		{"unknown", allowed, "0000", "push-gone", true, false},
		{"store", allowed, "broken", "push-lookup", false, true},
	} {
		e := failure(t, c.out.Send(t.Context(), due(t, digest(), c.id)))
		assert.Equal(t, c.cause, e.Cause, c.name)
		assert.Equal(t, c.permanent, e.Permanent, c.name)
		assert.Equal(t, c.down, e.Down, c.name)
	}
	e := failure(t, out.Send(t.Context(), store.Delivery{Message: store.Message{Body: []byte("{}")}}))
	assert.Equal(t, "push-unreadable", e.Cause)
	assert.Empty(t, s.all())
}

// A name that leads inside is refused where the connection is made.
func TestANameThatLeadsInsideIsRefused(t *testing.T) {
	s := start(t, created)
	_, port, _ := strings.Cut(s.Listener.Addr().String(), ":")
	sub := newBrowser(t).subscription("https://localhost:" + port + "/")
	out := sender(t, s, shelve(sub), func(o *Options) { o.Guard.Allow = nil })
	e := failure(t, out.Send(t.Context(), due(t, digest(), sub.ID())))
	assert.Equal(t, "push-address", e.Cause)
	assert.True(t, e.Permanent)
	assert.Empty(t, s.all())
}

func TestHangsAndStops(t *testing.T) {
	release := make(chan struct{})
	s := start(t, func(_ http.ResponseWriter, r *http.Request) {
		select {
		case <-release:
		case <-r.Context().Done():
			panic(http.ErrAbortHandler) // or a late answer would slip in
		}
	})
	defer close(release)
	sub := newBrowser(t).subscription(s.URL + "/secret-path")
	out := sender(t, s, shelve(sub), func(o *Options) { o.Guard.Timeout = 200 * time.Millisecond })
	e := failure(t, out.Send(t.Context(), due(t, digest(), sub.ID())))
	assert.Equal(t, "push-timeout", e.Cause)
	assert.False(t, e.Permanent)
	assert.NotContains(t, e.Error(), "secret-path")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	assert.Equal(t, "push-stopped", failure(t, out.Send(ctx, due(t, digest(), sub.ID()))).Cause)
}

func TestTheLifeOfANote(t *testing.T) {
	for now, want := range map[time.Duration]int{
		-time.Hour: 72000, 0: 72000, 10 * time.Hour: 36000, 19*time.Hour + 55*time.Minute: 600, 40 * time.Hour: 600,
	} {
		s := &Sender{o: Options{Now: func() time.Time { return slot.Add(now) }}}
		assert.Equal(t, want, s.ttl(slot), now)
	}
}

func TestNothingIsLeftRunning(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	s := start(t, created)
	sub := newBrowser(t).subscription(s.URL)
	out := sender(t, s, shelve(sub), nil)
	var wait sync.WaitGroup
	for range 6 {
		wait.Go(func() { assert.NoError(t, out.Send(t.Context(), due(t, digest(), sub.ID()))) })
	}
	wait.Wait()
	assert.Len(t, s.all(), 6)
	out.Close()
	s.Close()
}
