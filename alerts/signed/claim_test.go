package signed

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/civil"
)

var now = time.Date(2026, 6, 4, 6, 0, 0, 0, time.UTC)

func keys(t require.TestingT, seeds ...string) *Keys {
	var all [][]byte
	for _, s := range seeds {
		all = append(all, []byte(strings.Repeat(s, minKey)))
	}
	k, err := NewKeys(all[0], all[1:]...)
	require.NoError(t, err)
	return k
}

func claim(a Action) Claim {
	return Claim{Person: "ada", Site: "north", Action: a, Key: "tom/late-blight", Expires: now.Add(AckLife)}
}

func TestSignAndOpen(t *testing.T) {
	k := keys(t, "a")
	c := claim(Mute)
	c.Until = civil.New(2026, 7, 1)
	token, err := k.Sign(c)
	require.NoError(t, err)
	got, err := k.Open(token, now)
	require.NoError(t, err)
	c.Stamp = c.Expires.Unix()
	assert.Equal(t, c, got)
	assert.Regexp(t, `^[A-Za-z0-9_-]+\.[0-9a-f]{40}$`, token, "ends so that no program cuts it")
	assert.Equal(t, token, url.PathEscape(token))
	assert.Less(t, len(token), 250)

	// The signature is HMAC-SHA256 over label and claim, cut to 160 bits.
	payload, sum, _ := strings.Cut(token, ".")
	raw, err := base64.RawURLEncoding.DecodeString(payload)
	require.NoError(t, err)
	m := hmac.New(sha256.New, []byte(strings.Repeat("a", 32)))
	m.Write([]byte("plotwarden signed link 1\n" + string(raw)))
	assert.Equal(t, hex.EncodeToString(m.Sum(nil))[:40], sum)
}

func TestLinksEnd(t *testing.T) {
	k := keys(t, "a")
	token, err := k.Sign(claim(Done))
	require.NoError(t, err)
	_, err = k.Open(token, now.Add(AckLife-time.Second))
	assert.NoError(t, err)
	var expired *ExpiredError
	got, err := k.Open(token, now.Add(AckLife))
	require.ErrorAs(t, err, &expired)
	assert.Equal(t, now.Add(AckLife), expired.At)
	assert.Equal(t, "ada", got.Person)

	for _, a := range []Action{Calendar, Feed} {
		token, err := k.Sign(Claim{Person: "ada", Site: "north", Action: a})
		require.NoError(t, err, "only reading may go on for ever")
		c, err := k.Open(token, now.AddDate(50, 0, 0))
		require.NoError(t, err)
		assert.True(t, c.Expires.IsZero())
	}
}

func TestKeysCanBeReplaced(t *testing.T) {
	old := keys(t, "a")
	token, err := old.Sign(claim(Done))
	require.NoError(t, err)
	both := keys(t, "b", "a")
	_, err = both.Open(token, now)
	assert.NoError(t, err, "what is out still works")
	newer, err := both.Sign(claim(Done))
	require.NoError(t, err)
	assert.NotEqual(t, token, newer)
	_, err = old.Open(newer, now)
	assert.ErrorIs(t, err, ErrBroken)
	_, err = keys(t, "b").Open(token, now)
	assert.ErrorIs(t, err, ErrBroken, "until the old key is taken away")
	_, err = NewKeys([]byte("short"))
	assert.ErrorContains(t, err, "link key 1 has 5 bytes; it must have at least 32")
	_, err = NewKeys(make([]byte, 32), nil)
	assert.ErrorContains(t, err, "link key 2 has 0 bytes")
}

func TestWhatIsNotSigned(t *testing.T) {
	k := keys(t, "a")
	for name, c := range map[string]Claim{
		"no person":     {Site: "north", Action: Done, Key: "x", Expires: now},
		"no site":       {Person: "ada", Action: Done, Key: "x", Expires: now},
		"no action":     {Person: "ada", Site: "north", Key: "x", Expires: now},
		"other action":  {Person: "ada", Site: "north", Action: "delete", Key: "x", Expires: now},
		"no subject":    {Person: "ada", Site: "north", Action: Done, Expires: now},
		"never ends":    {Person: "ada", Site: "north", Action: Unsubscribe, Key: "email"},
		"stamp by hand": {Person: "ada", Site: "north", Action: Unsubscribe, Key: "email", Stamp: 99},
		"too long":      {Person: "ada", Site: "north", Action: Done, Key: strings.Repeat("x", 2000), Expires: now},
	} {
		_, err := k.Sign(c)
		assert.ErrorContains(t, err, "sign link", name)
	}
}

// A signed claim of another kind, as a later version might make, is refused.
func TestASignedClaimOfAnotherKindIsBroken(t *testing.T) {
	k := keys(t, "a")
	for _, raw := range []string{`{}`, `[]`, `{"p":"ada","s":"north","a":"delete","k":"x","x":99999999999}`, `{"p":"ada","s":"north","a":"done","k":"x"}`} {
		token := base64.RawURLEncoding.EncodeToString([]byte(raw)) + "." + hex.EncodeToString(mac(k.all[0], []byte(raw)))
		_, err := k.Open(token, now)
		assert.ErrorIs(t, err, ErrBroken, raw)
	}
}

// No character of a token can be changed, left out or added.
func TestNoCharacterCanBeChanged(t *testing.T) {
	k := keys(t, "a", "b")
	token, err := k.Sign(claim(Done))
	require.NoError(t, err)
	for i := range token {
		for _, s := range []string{token[:i] + token[i+1:], token[:i], token[:i] + "A" + token[i:]} {
			_, err := k.Open(s, now)
			assert.ErrorIs(t, err, ErrBroken, s)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		i := rapid.IntRange(0, len(token)-1).Draw(t, "at")
		b := []byte(token)
		b[i] = rapid.SampledFrom([]byte("ABCXYZabcxyz0189-_.")).Draw(t, "with")
		if got := string(b); !strings.EqualFold(got, token) {
			if _, err := k.Open(got, now); err == nil {
				t.Fatalf("%s passes", got)
			}
		}
	})
}

func TestAnyClaimComesBack(t *testing.T) {
	k := keys(t, "a")
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[a-z0-9äöü/ "<>&.\\-]{1,60}`)
		c := Claim{
			Person: name.Draw(t, "person"), Site: name.Draw(t, "site"), Key: name.Draw(t, "key"),
			Action:  rapid.SampledFrom([]Action{Done, NotNow, NotMine, Mute, Unsubscribe, Calendar, Feed}).Draw(t, "action"),
			Expires: now.Add(time.Duration(rapid.IntRange(1, 1e6).Draw(t, "life")) * time.Second),
		}
		if rapid.Bool().Draw(t, "dated") {
			c.Until = civil.New(2026, 1, 1).AddDays(rapid.IntRange(0, 1000).Draw(t, "until"))
		}
		token, err := k.Sign(c)
		if err != nil {
			t.Fatal(err)
		}
		got, err := k.Open(token, now)
		if err != nil {
			t.Fatal(err)
		}
		if c.Stamp = c.Expires.Unix(); got != c {
			t.Fatalf("%+v came back as %+v", c, got)
		}
	})
}

func TestLink(t *testing.T) {
	l := Links{Keys: keys(t, "a"), Base: "https://beds.example.org/"}
	got, err := l.Link(claim(Done))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(got, "https://beds.example.org/act/ey"), got)
	_, err = Links{Keys: l.Keys}.Link(claim(Done))
	assert.ErrorContains(t, err, "has no host")
	_, err = l.Link(Claim{})
	assert.ErrorContains(t, err, "sign link")

	u, p := OneClick("https://beds.example.org/act/x")
	assert.Equal(t, "<https://beds.example.org/act/x>", u)
	assert.Equal(t, "List-Unsubscribe=One-Click", p, "RFC 8058, section 3.1")
}

func FuzzOpen(f *testing.F) {
	k := keys(f, "a")
	token, err := k.Sign(claim(Done))
	require.NoError(f, err)
	f.Add(token)
	f.Add("e30." + strings.Repeat("0", 40))
	f.Fuzz(func(t *testing.T, s string) {
		if _, err := k.Open(s, now); err == nil && !strings.EqualFold(s, token) {
			t.Fatalf("%q passes", s)
		}
	})
}
