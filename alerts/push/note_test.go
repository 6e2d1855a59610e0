package push

import (
	"crypto/rand"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"plotwarden/alerts"
	"plotwarden/alerts/guard"
	"plotwarden/plan"
)

func TestNoteOf(t *testing.T) {
	n := NoteOf(digest())
	assert.Equal(t, "Long Field: 1 to act on — Thu 4 Jun", n.Title)
	assert.Equal(t, "act: Late blight, Bed 3: Tomato and 1 more, by tomorrow. Take off the lowest leaves.", n.Line)
	assert.Equal(t, "https://beds.example.org/site/long-field/planting/tom/threat/late-blight", n.Link)

	d := digest()
	d.Open = []alerts.Notice{{Readiness: plan.Approaching, Threat: "Squash vine borer", When: "before Wed 17 Jun"}}
	assert.Equal(t, d.Link, NoteOf(d).Link, "of several things the page tells them all")
	d.New = nil
	assert.Equal(t, "approaching: Squash vine borer, before Wed 17 Jun.", NoteOf(d).Line)
	d.Open, d.Blind = nil, []alerts.Blind{{Since: "Blind since Tue 2 Jun 14:00 (2 days)."}}
	assert.Equal(t, "Blind since Tue 2 Jun 14:00 (2 days).", NoteOf(d).Line, "blind is not silence")
	d.Blind, d.Demo = nil, "made up"
	assert.Equal(t, "1 to act on.", NoteOf(d).Line)
	assert.True(t, strings.HasPrefix(NoteOf(d).Title, "Demonstration. "))
}

func TestUrgency(t *testing.T) {
	for want, d := range map[string]*alerts.Digest{"normal": digest(), "low": {Subject: "s", Open: digest().New, Told: &alerts.Told{}}} {
		m, err := Message(d, "x")
		require.NoError(t, err)
		b, err := parse(m.Body)
		require.NoError(t, err)
		assert.EqualValues(t, want, b.Urgency)
	}
}

// Whatever a digest says, its note fits into what every push service takes.
func TestAnyNoteFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringN(0, 3000, -1), rapid.Just(strings.Repeat("\x01", 500)), rapid.Just(strings.Repeat("🌱<&>", 300)))
		d := digest()
		d.Subject, d.Lead, d.Link = text.Draw(t, "subject"), text.Draw(t, "lead"), text.Draw(t, "link")
		d.New[0].Threat, d.New[0].Next, d.New[0].Link = text.Draw(t, "threat"), text.Draw(t, "next"), text.Draw(t, "link2")
		n := NoteOf(d)
		b, err := n.encode()
		if err != nil {
			t.Fatal(err)
		}
		if !json.Valid(b) || utf8.RuneCountInString(n.Title) > maxTitle || utf8.RuneCountInString(n.Line) > maxLine {
			t.Fatalf("%q", b)
		}
	})
}

func TestParseSubscription(t *testing.T) {
	b := newBrowser(t)
	good := b.subscription("https://push.example.org/send/abc")
	read := func(endpoint, p256dh, auth string) (Subscription, error) {
		return ParseSubscription([]byte(fmt.Sprintf(`{"endpoint":%q,"expirationTime":null,"keys":{"p256dh":%q,"auth":%q}}`, endpoint, p256dh, auth)), nil)
	}
	got, err := read(good.Endpoint, good.Keys.P256dh, good.Keys.Auth)
	require.NoError(t, err)
	assert.Equal(t, good, got)
	assert.Equal(t, good.ID(), got.ID())
	assert.NotContains(t, good.ID(), "abc")

	// The other spellings of base64 that browsers have given.
	std := strings.NewReplacer("-", "+", "_", "/").Replace
	got, err = read(good.Endpoint, std(good.Keys.P256dh)+"=", std(good.Keys.Auth)+"==")
	require.NoError(t, err)
	assert.Equal(t, good, got)

	for name, c := range map[string]struct{ endpoint, p256dh, auth, want string }{
		"http":          {"http://push.example.org/", good.Keys.P256dh, good.Keys.Auth, "begins with http://"},
		"inside":        {"https://192.168.1.4/", good.Keys.P256dh, good.Keys.Auth, "not an address of the open internet"},
		"no endpoint":   {"", good.Keys.P256dh, good.Keys.Auth, "no https://"},
		"no key":        {good.Endpoint, "", good.Keys.Auth, "p256dh is not a public key"},
		"off curve":     {good.Endpoint, encode(append([]byte{4}, make([]byte, 64)...)), good.Keys.Auth, "p256dh is not a public key"},
		"short key":     {good.Endpoint, good.Keys.P256dh[:40], good.Keys.Auth, "p256dh is not a public key"},
		"auth too long": {good.Endpoint, good.Keys.P256dh, good.Keys.Auth + "AAAA", "not 16 bytes"},
		"auth":          {good.Endpoint, good.Keys.P256dh, "*", "not 16 bytes"},
	} {
		_, err := read(c.endpoint, c.p256dh, c.auth)
		assert.ErrorContains(t, err, c.want, name)
	}
	_, err = ParseSubscription([]byte(`[]`), nil)
	assert.ErrorContains(t, err, "not JSON of the form")
	allow, err := guard.ParseAllow([]string{"192.168.1.4"})
	require.NoError(t, err)
	_, err = ParseSubscription([]byte(fmt.Sprintf(`{"endpoint":"https://192.168.1.4/","keys":{"p256dh":%q,"auth":%q}}`, good.Keys.P256dh, good.Keys.Auth)), allow)
	assert.NoError(t, err)
}

func TestVAPID(t *testing.T) {
	v, err := GenerateVAPID(rand.Reader, "mailto:warden@beds.example.org")
	require.NoError(t, err)
	assert.Equal(t, "warden@beds.example.org", v.Contact, "the library adds mailto: itself")
	again, err := NewVAPID(v.Private+"\n", "https://beds.example.org/")
	require.NoError(t, err)
	assert.Equal(t, v.Public, again.Public)
	assert.NotContains(t, fmt.Sprintf("%v %s", v, v), v.Private)

	// The example keys of RFC 8291, appendix A: the public follows from the private.
	rfc, err := NewVAPID("yfWPiYE-n46HLnH0KqZOF1fJJU3MYrct3AELtAQ-oRw", "a@example.org")
	require.NoError(t, err)
	assert.Equal(t, "BP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27mlmlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A8", rfc.Public)

	for name, c := range map[string]struct{ private, contact, want string }{
		"no key":      {"", "a@example.org", "32 bytes"},
		"short":       {"AAAA", "a@example.org", "32 bytes"},
		"zero":        {strings.Repeat("A", 43), "a@example.org", "32 bytes"},
		"not base64":  {"?", "a@example.org", "not base64url"},
		"no contact":  {v.Private, "", "bare mail address"},
		"name":        {v.Private, "Ada <a@example.org>", "bare mail address"},
		"bad address": {v.Private, "https://", "is not an address"},
		"http":        {v.Private, "http://example.org", "bare mail address"},
	} {
		_, err := NewVAPID(c.private, c.contact)
		assert.ErrorContains(t, err, c.want, name)
	}
	other, err := GenerateVAPID(rand.Reader, "a@example.org")
	require.NoError(t, err)
	_, err = New(Options{Subscriptions: shelve(), VAPID: VAPID{Public: other.Public, Private: v.Private, Contact: "a@example.org"}})
	assert.ErrorContains(t, err, "does not belong")
	_, err = New(Options{VAPID: v})
	assert.ErrorContains(t, err, "no subscriptions")
}

func FuzzParseSubscription(f *testing.F) {
	f.Add([]byte(`{"endpoint":"https://push.example.org/","keys":{"p256dh":"BP4z","auth":"AAAA"}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := ParseSubscription(b, nil)
		if err == nil && guard.Check(s.Endpoint, nil) != nil {
			t.Fatalf("%q", b)
		}
	})
}

func FuzzParse(f *testing.F) {
	m, err := Message(digest(), "x")
	require.NoError(f, err)
	f.Add(m.Body)
	f.Fuzz(func(t *testing.T, b []byte) {
		if m, err := parse(b); err == nil && (m.Subscription == "" || m.Note.Tag == "") {
			t.Fatalf("%q", b)
		}
	})
}
