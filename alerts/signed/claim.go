// Package signed makes and takes links that work without a login: a person can
// say from a message that the work is done, put a thing off, mute it or stop the
// messages. A link names person, site, action, subject and expiry under a
// signature. Opening it shows a page with a button and changes nothing, so that
// a mail scanner that follows links cannot act; only the button's POST does.
package signed

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"plotwarden/civil"
)

// Action is what a link is for.
type Action string

// The actions. Calendar and Feed allow reading and are not for the handler here.
const (
	Done        Action = "done"        // the work was done
	NotNow      Action = "not-now"     // rest it until a date
	NotMine     Action = "not-mine"    // not the person's crop
	Mute        Action = "mute"        // tell nothing of it up to a date
	Unsubscribe Action = "unsubscribe" // no more messages of the site over the channel in Key
	Calendar    Action = "calendar"
	Feed        Action = "feed"
)

func (a Action) known() bool {
	switch a {
	case Done, NotNow, NotMine, Mute, Unsubscribe, Calendar, Feed:
		return true
	}
	return false
}

// How long links hold. Messages are read late, and a link to stop them must work
// for as long as anyone finds one.
const (
	AckLife  = 45 * 24 * time.Hour
	StopLife = 400 * 24 * time.Hour
)

// Claim is what a link says.
type Claim struct {
	Person string     `json:"p"`
	Site   string     `json:"s"`
	Action Action     `json:"a"`
	Key    string     `json:"k,omitempty"` // what it is about: planting and threat as the digest names them, or a channel
	Until  civil.Date `json:"u,omitzero"`  // NotNow, Mute: the last day, which the page may offer to change for Mute
	// Expires is when the link ends, to the second. Zero is never: only for
	// Calendar and Feed, which programs fetch for years.
	Expires time.Time `json:"-"`
	Stamp   int64     `json:"x"` // Expires as it is signed: Unix seconds; set by Sign
}

func (c *Claim) check() error {
	switch {
	case c.Person == "" || c.Site == "":
		return errors.New("the claim has no person or no site")
	case !c.Action.known():
		return fmt.Errorf("the action %q is not known", c.Action)
	case c.Key == "" && c.Action != Calendar && c.Action != Feed:
		return fmt.Errorf("a link for %s says nothing of what it is about", c.Action)
	case c.Stamp <= 0 && c.Action != Calendar && c.Action != Feed:
		return fmt.Errorf("a link for %s never ends", c.Action)
	}
	return nil
}

// ErrBroken says that a token is not one of ours, or not whole.
var ErrBroken = errors.New("the link is not whole or not from here")

// ExpiredError says that a link has ended.
type ExpiredError struct{ At time.Time }

// Error names the time.
func (e *ExpiredError) Error() string { return "the link ended at " + e.At.UTC().Format(time.RFC3339) }

// Keys sign and check. The first signs; the others, older ones, still check, so
// that a key can be replaced without breaking links that are out.
type Keys struct{ all [][]byte }

// minKey is the least length of a key, bytes: the length of the signature's hash
// (RFC 2104, section 3).
const minKey = sha256.Size

// NewKeys takes the keys, the newest first.
func NewKeys(newest []byte, older ...[]byte) (*Keys, error) {
	k := &Keys{}
	for i, key := range append([][]byte{newest}, older...) {
		if len(key) < minKey {
			return nil, fmt.Errorf("link key %d has %d bytes; it must have at least %d random ones", i+1, len(key), minKey)
		}
		k.all = append(k.all, append([]byte(nil), key...))
	}
	return k, nil
}

// label keeps these signatures apart from any other use of the same key.
const label = "plotwarden signed link 1\n"

// macSize is how much of the HMAC a token carries: 160 bits (RFC 2104, section
// 5, asks for at least half of the hash's).
const macSize = 20

// longest is the most characters of a token.
const longest = 1500

// Sign makes the token: base64url of the claim, a full stop, the signature in
// hexadecimal. It ends in a letter or digit, since programs that make links of
// plain text drop other characters at the end.
func (k *Keys) Sign(c Claim) (string, error) {
	if c.Stamp = 0; !c.Expires.IsZero() {
		c.Stamp = c.Expires.Unix()
	}
	if err := c.check(); err != nil {
		return "", fmt.Errorf("sign link: %w", err)
	}
	b, err := json.Marshal(c)
	if err != nil {
		return "", fmt.Errorf("sign link: %w", err)
	}
	token := base64.RawURLEncoding.EncodeToString(b) + "." + hex.EncodeToString(mac(k.all[0], b))
	if len(token) > longest {
		return "", fmt.Errorf("sign link: it would have %d characters; %d are the most", len(token), longest)
	}
	return token, nil
}

// Open checks a token and returns what it says. The error is ErrBroken or an
// *ExpiredError; with the latter the claim is returned too.
func (k *Keys) Open(token string, now time.Time) (Claim, error) {
	if len(token) > longest {
		return Claim{}, ErrBroken
	}
	payload, sum, _ := strings.Cut(token, ".")
	b, err := base64.RawURLEncoding.Strict().DecodeString(payload)
	if err != nil {
		return Claim{}, ErrBroken
	}
	got, err := hex.DecodeString(sum)
	if err != nil {
		return Claim{}, ErrBroken
	}
	good := false
	for _, key := range k.all { // every key, whichever fits: the time tells nothing
		good = hmac.Equal(got, mac(key, b)) || good
	}
	if !good {
		return Claim{}, ErrBroken
	}
	var c Claim
	if err := json.Unmarshal(b, &c); err != nil || c.check() != nil {
		return Claim{}, ErrBroken
	}
	if c.Stamp > 0 {
		c.Expires = time.Unix(c.Stamp, 0).UTC()
		if !now.Before(c.Expires) {
			return c, &ExpiredError{c.Expires}
		}
	}
	return c, nil
}

func mac(key, payload []byte) []byte {
	m := hmac.New(sha256.New, key)
	m.Write([]byte(label))
	m.Write(payload)
	return m.Sum(nil)[:macSize]
}
