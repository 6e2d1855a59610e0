package webhook

import (
	"bytes"
	"crypto/rand"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func secret(t testing.TB, s string) Secret {
	t.Helper()
	out, err := ParseSecret(s)
	require.NoError(t, err)
	return out
}

// The example is that of the Standard Webhooks reference libraries ("sign
// function works", libraries/javascript/src/webhook.test.ts).
func TestSignatureOfTheStandardsExample(t *testing.T) {
	s := secret(t, "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
	at := time.Unix(1614265330, 0)
	got := Sign([]Secret{s}, "msg_p5jXN8AQM9LWM0D4loKWxJek", at, []byte(`{"test": 2432232314}`))
	assert.Equal(t, "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=", got)
	assert.Equal(t, "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", s.Written())
}

func signed(id string, at time.Time, signature string) http.Header {
	h := http.Header{}
	h.Set(HeaderID, id)
	h.Set(HeaderTimestamp, fmt.Sprint(at.Unix()))
	h.Set(HeaderSignature, signature)
	return h
}

func TestVerify(t *testing.T) {
	now := time.Date(2026, 6, 4, 4, 30, 0, 0, time.UTC)
	payload := []byte(`{"a":1}`)
	old, young := secret(t, "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"), secret(t, "AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8=")
	both := Sign([]Secret{young, old}, "msg_1", now, payload)
	good := signed("msg_1", now, both)
	for name, c := range map[string]struct {
		secrets []Secret
		header  http.Header
		payload string
		now     time.Time
		want    error
	}{
		"good":                      {[]Secret{young, old}, good, `{"a":1}`, now, nil},
		"receiver has the old only": {[]Secret{old}, good, `{"a":1}`, now, nil},
		"receiver has the new only": {[]Secret{young}, good, `{"a":1}`, now, nil},
		"late but within":           {[]Secret{old}, good, `{"a":1}`, now.Add(ReplayWindow), nil},
		"early but within":          {[]Secret{old}, good, `{"a":1}`, now.Add(-ReplayWindow), nil},
		"too late":                  {[]Secret{old}, good, `{"a":1}`, now.Add(ReplayWindow + time.Second), ErrReplay},
		"too early":                 {[]Secret{old}, good, `{"a":1}`, now.Add(-ReplayWindow - time.Second), ErrReplay},
		"another body":              {[]Secret{old}, good, `{"a":2}`, now, ErrSignature},
		"another id":                {[]Secret{old}, signed("msg_2", now, both), `{"a":1}`, now, ErrSignature},
		"another time":              {[]Secret{old}, signed("msg_1", now.Add(time.Second), both), `{"a":1}`, now, ErrSignature},
		"another secret":            {[]Secret{secret(t, "ZmZmZmZmZmZmZmZmZmZmZmZmZmZmZmZm")}, good, `{"a":1}`, now, ErrSignature},
		"no secret":                 {nil, good, `{"a":1}`, now, ErrSignature},
		"empty secret":              {[]Secret{{}}, signed("msg_1", now, Sign([]Secret{{}}, "msg_1", now, payload)), `{"a":1}`, now, ErrSignature},
		"no signature":              {[]Secret{old}, signed("msg_1", now, ""), `{"a":1}`, now, ErrSignature},
		"other version":             {[]Secret{old}, signed("msg_1", now, strings.ReplaceAll(both, "v1,", "v2,")), `{"a":1}`, now, ErrSignature},
		"no headers":                {[]Secret{old}, http.Header{}, `{"a":1}`, now, ErrSignature},
		"part of a signature":       {[]Secret{old}, signed("msg_1", now, both[:20]), `{"a":1}`, now, ErrSignature},
	} {
		err := Verify(c.secrets, c.header, []byte(c.payload), c.now)
		if c.want == nil {
			assert.NoError(t, err, name)
		} else {
			assert.ErrorIs(t, err, c.want, name)
		}
	}
}

func TestNoByteCanBeChanged(t *testing.T) {
	now := time.Date(2026, 6, 4, 4, 30, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		s := Secret(rapid.SliceOfN(rapid.Byte(), minSecret, maxSecret).Draw(t, "secret"))
		payload := rapid.SliceOfN(rapid.Byte(), 1, 200).Draw(t, "payload")
		h := signed("msg_1", now, Sign([]Secret{s}, "msg_1", now, payload))
		if err := Verify([]Secret{s}, h, payload, now); err != nil {
			t.Fatal(err)
		}
		bad := bytes.Clone(payload)
		bad[rapid.IntRange(0, len(bad)-1).Draw(t, "at")] ^= byte(rapid.IntRange(1, 255).Draw(t, "flip"))
		if Verify([]Secret{s}, h, bad, now) == nil {
			t.Fatal("a changed body passes")
		}
	})
}

func TestSecrets(t *testing.T) {
	s, err := NewSecret(rand.Reader)
	require.NoError(t, err)
	again, err := ParseSecret(s.Written() + "\n")
	require.NoError(t, err)
	assert.Equal(t, s, again)
	assert.NotContains(t, fmt.Sprintf("%v %s", s, s), s.Written()[6:])
	_, err = NewSecret(strings.NewReader("short"))
	assert.ErrorContains(t, err, "draw a secret")
	for in, want := range map[string]string{
		"":                               "has 0 bytes",
		"whsec_":                         "has 0 bytes",
		"whsec_MfKQ9r8GKYqrTwjUPD8ILP":   "not base64",
		"whsec_MfKQ9r8GKYqrTwjUPD8ILA==": "has 16 bytes; it must have from 24 to 64",
		"a pass phrase":                  "not base64",
		strings.Repeat("AAAA", 30):       "has 90 bytes",
	} {
		_, err := ParseSecret(in)
		if assert.ErrorContains(t, err, want, in) && len(in) > 10 {
			assert.NotContains(t, err.Error(), in)
		}
	}
}

func FuzzVerify(f *testing.F) {
	s := secret(f, "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
	now := time.Unix(1614265330, 0)
	f.Add("msg_1", "1614265330", "v1,AAAA v1,!!", []byte("{}"))
	f.Fuzz(func(t *testing.T, id, at, signature string, payload []byte) {
		h := http.Header{}
		h.Set(HeaderID, id)
		h.Set(HeaderTimestamp, at)
		h.Set(HeaderSignature, signature)
		if Verify([]Secret{s}, h, payload, now) == nil {
			t.Fatal("forged")
		}
	})
}

func FuzzParseSecret(f *testing.F) {
	f.Add("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
	f.Fuzz(func(t *testing.T, in string) {
		s, err := ParseSecret(in)
		if err != nil {
			return
		}
		again, err := ParseSecret(s.Written())
		if err != nil || !bytes.Equal(s, again) {
			t.Fatalf("%q does not come back", in)
		}
	})
}
