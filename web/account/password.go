package account

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"
)

// How much work a password costs. Argon2id with 12 MiB, 3 passes and one lane is
// one of the settings of equal strength in the OWASP Password Storage Cheat Sheet
// (cheatsheetseries.owasp.org, 2025); of those it is kind to a board with little
// memory.
const (
	memoryKiB = 12 * 1024
	passes    = 3
	lanes     = 1
	saltBytes = 16
	keyBytes  = 32
)

// hashersAtOnce bounds how many passwords are worked on together: 24 MiB.
const hashersAtOnce = 2

// waitersAtMost is how many may wait for their turn; more are sent away.
const waitersAtMost = 16

// errBusy says that too many sign in at the same moment.
var errBusy = errors.New("too many sign-ins at once")

// hasher turns passwords into what is kept of them, a few at a time.
type hasher struct {
	turn, queue chan struct{}
	dummy       string // of a password that nobody has
}

func newHasher() *hasher {
	h := &hasher{turn: make(chan struct{}, hashersAtOnce), queue: make(chan struct{}, hashersAtOnce+waitersAtMost)}
	h.dummy = printed(make([]byte, saltBytes), make([]byte, keyBytes), memoryKiB, passes, lanes)
	return h
}

// enter waits for a turn; leave gives it back.
func (h *hasher) enter(ctx context.Context) (leave func(), err error) {
	select {
	case h.queue <- struct{}{}:
	default:
		return nil, errBusy
	}
	select {
	case h.turn <- struct{}{}:
		return func() { <-h.turn; <-h.queue }, nil
	case <-ctx.Done():
		<-h.queue
		return nil, ctx.Err()
	}
}

// hash returns a password in the PHC string format of Argon2.
func (h *hasher) hash(ctx context.Context, password string) (string, error) {
	leave, err := h.enter(ctx)
	if err != nil {
		return "", err
	}
	defer leave()
	salt := make([]byte, saltBytes)
	_, _ = rand.Read(salt) // never fails since Go 1.24
	return printed(salt, argon2.IDKey(plain(password), salt, passes, memoryKiB, lanes, keyBytes), memoryKiB, passes, lanes), nil
}

// matches says whether a password is the one that was hashed. It takes as long
// where there is none, so that who guesses does not learn which logins exist.
// old says that it was hashed with less work than now.
func (h *hasher) matches(ctx context.Context, hashed, password string) (ok, old bool, err error) {
	none := hashed == ""
	if none {
		hashed = h.dummy
	}
	p, err := parsePHC(hashed)
	if err != nil {
		return false, false, err
	}
	leave, err := h.enter(ctx)
	if err != nil {
		return false, false, err
	}
	defer leave()
	got := argon2.IDKey(plain(password), p.salt, p.passes, p.memory, p.lanes, uint32(len(p.key))) //nolint:gosec // at most 64 bytes
	return subtle.ConstantTimeCompare(got, p.key) == 1 && !none, p.memory < memoryKiB || p.memory == memoryKiB && p.passes < passes, nil
}

// plain is a password as it is hashed: the same letters typed on another keyboard
// come out the same (RFC 8265, section 4.2: NFC).
func plain(password string) []byte { return norm.NFC.Bytes([]byte(password)) }

type phc struct {
	memory, passes uint32
	lanes          uint8
	salt, key      []byte
}

func printed(salt, key []byte, memory, passes uint32, lanes uint8) string {
	b64 := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, lanes, b64(salt), b64(key))
}

// parsePHC reads the PHC string of an argon2id hash, of 8 KiB a lane to 1 GiB, 1
// to 32 passes and 1 to 16 lanes.
func parsePHC(s string) (p phc, err error) {
	part := strings.Split(s, "$")
	if len(part) != 6 || part[0] != "" || part[1] != "argon2id" || part[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return p, errors.New("stored password is no argon2id hash of this version")
	}
	var rest string
	if n, _ := fmt.Sscanf(part[3]+" .", "m=%d,t=%d,p=%d %s", &p.memory, &p.passes, &p.lanes, &rest); n != 4 || rest != "." {
		return p, errors.New("stored password has no readable parameters")
	}
	if p.memory < 8*uint32(p.lanes) || p.memory > 1<<20 || p.passes < 1 || p.passes > 32 || p.lanes < 1 || p.lanes > 16 {
		return p, errors.New("stored password has parameters out of range")
	}
	if p.salt, err = base64.RawStdEncoding.DecodeString(part[4]); err == nil {
		p.key, err = base64.RawStdEncoding.DecodeString(part[5])
	}
	if err != nil || len(p.salt) < 8 || len(p.salt) > 64 || len(p.key) < 16 || len(p.key) > 64 {
		return p, errors.New("stored password has no readable salt or hash")
	}
	return p, nil
}

// PasswordMin and PasswordMax bound a password, characters: 15 where it is the only
// thing asked for, and no composition rules (NIST SP 800-63B-4, 3.1.1.2).
const (
	PasswordMin = 15
	PasswordMax = 200
)

// differentMin keeps out "aaaaaaaaaaaaaaa", characters.
const differentMin = 5

// passwordFault says what is wrong with a new password, in English; empty when
// nothing is. words are what it must not be: the login, the name.
func passwordFault(password string, words ...string) string {
	seen := map[rune]bool{}
	for _, c := range password {
		seen[c] = true
	}
	switch n := utf8.RuneCountInString(password); {
	case !utf8.ValidString(password):
		return "It holds characters that cannot be read."
	case n < PasswordMin:
		return "It is too short: 15 characters or more. Four words in a row are easy to keep in mind."
	case n > PasswordMax:
		return "It is too long: 200 characters at most."
	case len(seen) < differentMin:
		return "It repeats the same few characters. Take more different ones."
	}
	rest := strings.ToLower(password)
	for _, w := range words {
		if len(w) > 2 {
			rest = strings.ReplaceAll(rest, strings.ToLower(w), "")
		}
	}
	if utf8.RuneCountInString(rest) < PasswordMin/2 {
		return "It is little more than your own name. Take other words."
	}
	return ""
}
