package webhook

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"
)

// The headers of the Standard Webhooks specification 1.0.0, an open standard
// with libraries for receivers in most languages.
const (
	HeaderID        = "webhook-id"
	HeaderTimestamp = "webhook-timestamp"
	HeaderSignature = "webhook-signature"
)

// secretPrefix marks a secret in its written form.
const secretPrefix = "whsec_"

// The bounds of a secret, bytes: 192 to 512 bits by the specification.
const (
	minSecret = 24
	maxSecret = 64
)

// ReplayWindow is how far a timestamp may lie from the receiver's clock: what
// the specification's libraries allow.
const ReplayWindow = 5 * time.Minute

// Secret signs. Its zero value is not valid.
type Secret []byte

// NewSecret draws a secret of 32 bytes.
func NewSecret(random io.Reader) (Secret, error) {
	s := make(Secret, 32)
	if _, err := io.ReadFull(random, s); err != nil {
		return nil, fmt.Errorf("draw a secret: %w", err)
	}
	return s, nil
}

// ParseSecret reads the written form: whsec_ and base64.
func ParseSecret(s string) (Secret, error) {
	b, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(strings.TrimSpace(s), secretPrefix))
	if err != nil {
		return nil, errors.New("the secret is not base64; write whsec_ and the base64 of 24 to 64 random bytes")
	}
	if len(b) < minSecret || len(b) > maxSecret {
		return nil, fmt.Errorf("the secret has %d bytes; it must have from %d to %d", len(b), minSecret, maxSecret)
	}
	return b, nil
}

// Written returns the form that is handed to a receiver.
func (s Secret) Written() string { return secretPrefix + base64.StdEncoding.EncodeToString(s) }

// String hides the secret from logs.
func (s Secret) String() string { return "(secret)" }

// sum signs id, time and body.
func (s Secret) sum(id string, at int64, payload []byte) []byte {
	m := hmac.New(sha256.New, s)
	fmt.Fprintf(m, "%s.%d.", id, at)
	m.Write(payload)
	return m.Sum(nil)
}

// Sign returns the value of the signature header: one signature for each
// secret, so that a receiver can change its secret without a gap.
func Sign(secrets []Secret, id string, at time.Time, payload []byte) string {
	all := make([]string, len(secrets))
	for i, s := range secrets {
		all[i] = "v1," + base64.StdEncoding.EncodeToString(s.sum(id, at.Unix(), payload))
	}
	return strings.Join(all, " ")
}

// ErrSignature says that a request does not come from who holds the secret.
var ErrSignature = errors.New("the signature does not fit")

// ErrReplay says that a request is too old, or from a clock far ahead.
var ErrReplay = errors.New("the timestamp lies outside the replay window")

// Verify checks a request that was received: its signature, in constant time,
// and that its timestamp lies within ReplayWindow of now. Within the window the
// receiver knows a repeat by its id.
func Verify(secrets []Secret, h http.Header, payload []byte, now time.Time) error {
	id := h.Get(HeaderID)
	at, err := strconv.ParseInt(h.Get(HeaderTimestamp), 10, 64)
	if id == "" || err != nil {
		return fmt.Errorf("no %s or no whole number of seconds in %s: %w", HeaderID, HeaderTimestamp, ErrSignature)
	}
	good := false
	for _, one := range strings.Fields(h.Get(HeaderSignature)) {
		version, value, _ := strings.Cut(one, ",")
		got, err := base64.StdEncoding.DecodeString(value)
		if version != "v1" || err != nil {
			continue
		}
		for _, s := range secrets {
			if len(s) >= minSecret && hmac.Equal(got, s.sum(id, at, payload)) {
				good = true
			}
		}
	}
	if !good {
		return ErrSignature
	}
	if away := now.Sub(time.Unix(at, 0)).Abs(); away > ReplayWindow {
		return fmt.Errorf("%s away: %w", away.Round(time.Second), ErrReplay)
	}
	return nil
}
