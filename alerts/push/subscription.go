package push

import (
	"crypto/ecdh"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"plotwarden/alerts/guard"
)

// Subscription is one browser's leave to send to it, as its Push API gives it.
type Subscription struct {
	Endpoint string `json:"endpoint"` // secret: whoever knows it can send there
	Keys     Keys   `json:"keys"`
}

// Keys encrypt for one browser, base64url without padding.
type Keys struct {
	P256dh string `json:"p256dh"` // public key, 65 bytes uncompressed
	Auth   string `json:"auth"`   // 16 bytes (RFC 8291, section 3.2)
}

// ParseSubscription reads what a browser's PushSubscription.toJSON gives and
// checks it: it comes from whoever reached the page. Unknown members are
// ignored, as the Push API may add some.
func ParseSubscription(b []byte, allow *guard.Allow) (Subscription, error) {
	var s Subscription
	if err := json.Unmarshal(b, &s); err != nil {
		return Subscription{}, errors.New("the subscription is not JSON of the form {endpoint, keys: {p256dh, auth}}")
	}
	if err := guard.Check(s.Endpoint, allow); err != nil {
		return Subscription{}, fmt.Errorf("the subscription's endpoint: %w", err)
	}
	public, err := decode(s.Keys.P256dh)
	if err == nil {
		_, err = ecdh.P256().NewPublicKey(public)
	}
	if err != nil {
		return Subscription{}, errors.New("the subscription's key p256dh is not a public key on the curve P-256")
	}
	auth, err := decode(s.Keys.Auth)
	if err != nil || len(auth) != 16 {
		return Subscription{}, errors.New("the subscription's key auth is not 16 bytes in base64url")
	}
	s.Keys = Keys{P256dh: encode(public), Auth: encode(auth)}
	return s, nil
}

// ID names the subscription in keys and records without giving it away.
func (s Subscription) ID() string {
	sum := sha256.Sum256([]byte(s.Endpoint))
	return hex.EncodeToString(sum[:8])
}

// decode reads base64 in either alphabet, padded or not: browsers have given
// each of them.
func decode(s string) ([]byte, error) {
	s = strings.NewReplacer("+", "-", "/", "_").Replace(strings.TrimRight(s, "="))
	return base64.RawURLEncoding.Strict().DecodeString(s)
}

func encode(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }
