package account

import (
	"context"
	"crypto/tls"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/crypto/argon2"
	"pgregory.net/rapid"
)

// The hash is what the reference implementation's own program prints (Debian argon2
// 0~20171227): printf password | argon2 somesalt -id -t 2 -m 16 -p 1 -l 32 -e
func TestPHCOfTheReference(t *testing.T) {
	const known = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	p, err := parsePHC(known)
	require.NoError(t, err)
	assert.Equal(t, phc{memory: 65536, passes: 2, lanes: 1, salt: []byte("somesalt"), key: argon2.IDKey([]byte("password"), []byte("somesalt"), 2, 65536, 1, 32)}, p)
	assert.Equal(t, known, printed(p.salt, p.key, p.memory, p.passes, p.lanes))
	ok, old, err := newHasher().matches(t.Context(), known, "password")
	require.NoError(t, err)
	assert.True(t, ok)
	assert.False(t, old)
}

func TestHasher(t *testing.T) {
	h := newHasher()
	one, err := h.hash(t.Context(), "pässword of fifteen")
	require.NoError(t, err)
	two, err := h.hash(t.Context(), "pässword of fifteen")
	require.NoError(t, err)
	assert.NotEqual(t, one, two, "each has its salt")
	assert.True(t, strings.HasPrefix(one, "$argon2id$v=19$m=12288,t=3,p=1$"), one)
	for password, want := range map[string]bool{"pässword of fifteen": true, "pa\u0308ssword of fifteen": true, "password of fifteen": false, "": false} {
		ok, _, err := h.matches(t.Context(), one, password)
		require.NoError(t, err)
		assert.Equal(t, want, ok, password)
	}
	ok, _, err := h.matches(t.Context(), "", "")
	require.NoError(t, err)
	assert.False(t, ok, "no password matches none")
	weak := printed([]byte("somesalt"), make([]byte, 32), 8192, 1, 1)
	_, old, err := h.matches(t.Context(), weak, "x")
	require.NoError(t, err)
	assert.True(t, old)
}

// More than may wait are sent away, and who waits too long leaves no trace.
func TestHasherIsBounded(t *testing.T) {
	h := newHasher()
	var leave []func()
	for range hashersAtOnce {
		f, err := h.enter(t.Context())
		require.NoError(t, err)
		leave = append(leave, f)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	for range 100 {
		_, err := h.enter(gone)
		require.ErrorIs(t, err, context.Canceled)
	}
	for range waitersAtMost {
		h.queue <- struct{}{}
	}
	_, err := h.enter(t.Context())
	require.ErrorIs(t, err, errBusy)
	for _, f := range leave {
		f()
	}
}

func FuzzPHC(f *testing.F) {
	f.Add("$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc")
	f.Add("$argon2id$v=19$m=4294967295,t=99,p=255$$")
	f.Fuzz(func(t *testing.T, s string) {
		p, err := parsePHC(s)
		if err == nil && (p.memory > 1<<20 || p.passes > 32 || len(p.key) > 64 || len(p.key) < 16) {
			t.Fatalf("%q asks for too much: %+v", s, p)
		}
	})
}

func TestPasswordRules(t *testing.T) {
	for password, want := range map[string]string{
		words: "", "fourteen chars": "too short", strings.Repeat("ab", 20): "same few", strings.Repeat("abcdefgh", 26): "too long",
		"wrenfieldwrenfield": "your own name", "\xff\xfe and fifteen more": "cannot be read", "fünfzehn Zeichen": "",
	} {
		got := passwordFault(password, "wrenfield")
		if want == "" {
			assert.Empty(t, got, password)
		} else {
			assert.Contains(t, got, want, password)
		}
	}
}

// However somebody guesses, the tries that go through in a day are few.
func TestThrottleBoundsGuesses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		th, now := newThrottle(), time.Unix(0, 0)
		end, through := now.Add(24*time.Hour), 0
		step := time.Duration(rapid.IntRange(1, 600).Draw(t, "seconds")) * time.Second
		for ; now.Before(end); now = now.Add(step) {
			if th.take(now, limit{"login x", freeByLogin}) == 0 {
				through++
			}
		}
		if most := freeByLogin + 10 + int(24*time.Hour/longestWait); through > most {
			t.Fatalf("%d tries in a day, every %s; at most %d", through, step, most)
		}
	})
}

func TestThrottleKeepsTheHeldBack(t *testing.T) {
	th, now := newThrottle(), time.Unix(0, 0)
	for range freeByLogin {
		require.Zero(t, th.take(now, limit{"victim", freeByLogin}))
	}
	require.Positive(t, th.take(now, limit{"victim", freeByLogin}))
	for i := range 3 * keptTries / 2 {
		th.take(now, limit{"flood" + string(rune('a'+i%26)) + strings.Repeat("x", i%7) + time.Duration(i).String(), freeByLogin})
		if len(th.keys) > keptTries {
			t.Fatal("unbounded")
		}
		if i == keptTries+10 {
			break
		}
	}
	assert.Positive(t, th.take(now, limit{"victim", freeByLogin}), "a flood of other keys does not free it")
	assert.Equal(t, addressKey("2001:db8::1"), addressKey("2001:db8::ffff:1"), "one IPv6 host has a /64")
	assert.NotEqual(t, addressKey("192.0.2.1"), addressKey("192.0.2.2"))
}

func TestCallerTrustsOnlyItsProxies(t *testing.T) {
	a := &Accounts{Deps: Deps{Proxies: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}}}
	for name, c := range map[string]struct {
		remote, xff, proto, want string
		tls, secure              bool
	}{
		"direct":               {remote: "192.0.2.7:1", want: "192.0.2.7"},
		"direct over TLS":      {remote: "192.0.2.7:1", want: "192.0.2.7", tls: true, secure: true},
		"stranger who claims":  {remote: "192.0.2.7:1", xff: "127.0.0.1", proto: "https", want: "192.0.2.7"},
		"proxy":                {remote: "10.0.0.1:1", xff: "192.0.2.9", proto: "https", want: "192.0.2.9", secure: true},
		"two proxies, a claim": {remote: "10.0.0.1:1", xff: "127.0.0.1, 192.0.2.9, 10.0.0.2", want: "192.0.2.9"},
		"proxy, nonsense":      {remote: "10.0.0.1:1", xff: "x y", want: "10.0.0.1"},
	} {
		t.Run(name, func(t *testing.T) {
			r := httptest.NewRequest("GET", "/", nil)
			r.RemoteAddr = c.remote
			if c.xff != "" {
				r.Header.Set("X-Forwarded-For", c.xff)
			}
			if c.proto != "" {
				r.Header.Set("X-Forwarded-Proto", c.proto)
			}
			if c.tls {
				r.TLS = &tls.ConnectionState{}
			}
			got := a.caller(r)
			assert.Equal(t, c.want, got.address)
			assert.Equal(t, c.secure, got.secure)
		})
	}
}

func TestLocal(t *testing.T) {
	for name, c := range map[string]struct {
		remote, host, via string
		want              bool
	}{
		"by name":                    {"127.0.0.1:9", "localhost:8620", "", true},
		"by address":                 {"[::1]:9", "[::1]:8620", "", true},
		"from elsewhere":             {"192.0.2.1:9", "localhost", "", false},
		"through a proxy here":       {"127.0.0.1:9", "localhost", "192.0.2.1", false},
		"a name that was pointed":    {"127.0.0.1:9", "evil.example", "", false},
		"a name that looks like one": {"127.0.0.1:9", "localhost.evil.example", "", false},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr, r.Host = c.remote, c.host
		if c.via != "" {
			r.Header.Set("X-Forwarded-For", c.via)
		}
		assert.Equal(t, c.want, Local(r), name)
	}
}

func TestLocalPath(t *testing.T) {
	for to, want := range map[string]string{
		"/site/a?days=28": "/site/a?days=28", "": "/", "//evil.example": "/", "https://evil.example": "/", `/\evil.example`: "/", "/\tx": "/", "javascript:x": "/", "site": "/",
	} {
		assert.Equal(t, want, localPath(to), to)
	}
}

func TestSlug(t *testing.T) {
	for name, want := range map[string]string{"Wren Field": "wren-field", "  Élodie  d'Été ": "elodie-dete", "李": "person", "--": "person", strings.Repeat("a", 99): strings.Repeat("a", 32)} {
		assert.Equal(t, want, slug(name), name)
	}
}
