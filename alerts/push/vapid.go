package push

import (
	"bytes"
	"crypto/ecdh"
	"errors"
	"fmt"
	"io"
	"net/mail"
	"net/url"
	"strings"
)

// VAPID is how this installation identifies itself to push services (RFC 8292).
// A browser's subscription holds for one public key: with another key all of
// them must be made anew.
type VAPID struct {
	Public  string // base64url, what a page hands to the browser as applicationServerKey
	Private string // base64url, secret
	// Contact is where a push service's operator can complain: a bare mail address
	// or an https address.
	Contact string
}

// GenerateVAPID draws a pair of keys.
func GenerateVAPID(random io.Reader, contact string) (VAPID, error) {
	key, err := ecdh.P256().GenerateKey(random)
	if err != nil {
		return VAPID{}, fmt.Errorf("draw push keys: %w", err)
	}
	return NewVAPID(encode(key.Bytes()), contact)
}

// NewVAPID makes the identity from its private key, from which the public one
// follows.
func NewVAPID(private, contact string) (VAPID, error) {
	raw, err := decode(strings.TrimSpace(private))
	if err != nil {
		return VAPID{}, errors.New("the private push key is not base64url")
	}
	key, err := ecdh.P256().NewPrivateKey(raw)
	if err != nil {
		return VAPID{}, errors.New("the private push key is not a key of the curve P-256, 32 bytes in base64url")
	}
	// The library puts mailto: before what is no https address.
	contact = strings.TrimPrefix(strings.TrimSpace(contact), "mailto:")
	if err := checkContact(contact); err != nil {
		return VAPID{}, err
	}
	return VAPID{Public: encode(key.PublicKey().Bytes()), Private: encode(raw), Contact: contact}, nil
}

func checkContact(s string) error {
	if strings.HasPrefix(s, "https:") {
		if u, err := url.Parse(s); err == nil && u.Host != "" {
			return nil
		}
		return fmt.Errorf("push contact %q is not an address; write https://host/ or name@example.org", s)
	}
	a, err := mail.ParseAddress(s)
	if err != nil || a.Address != s {
		return fmt.Errorf("push contact %q: write a bare mail address, name@example.org, or an https address", s)
	}
	return nil
}

func (v VAPID) check() error {
	w, err := NewVAPID(v.Private, v.Contact)
	if err != nil {
		return err
	}
	public, err := decode(v.Public)
	want, _ := decode(w.Public)
	if err != nil || !bytes.Equal(public, want) {
		return errors.New("the public push key does not belong to the private one")
	}
	return nil
}

// String hides the private key from logs.
func (v VAPID) String() string { return "push keys of " + v.Contact }
