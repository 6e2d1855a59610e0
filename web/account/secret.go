package account

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
)

// secretBytes is the size of a secret: 256 bits, which nobody guesses, so that a
// fast hash of it is enough in the store.
const secretBytes = 32

func newSecret() string {
	b := make([]byte, secretBytes)
	_, _ = rand.Read(b) // never fails since Go 1.24
	return base64.RawURLEncoding.EncodeToString(b)
}

// hashOf is what the store keeps of a secret.
func hashOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// newID names a grant where it may be seen.
func newID() string { return rand.Text()[:16] }

// checkOf derives the secret of the forms from that of a session: it need not be
// kept, and a page that shows it does not give the session away.
func checkOf(session string) string {
	m := hmac.New(sha256.New, []byte(session))
	m.Write([]byte("check"))
	return base64.RawURLEncoding.EncodeToString(m.Sum(nil))
}

// setupCode is what the first owner types, 60 bits in three groups.
func setupCode() string {
	t := rand.Text()
	return t[:4] + "-" + t[4:8] + "-" + t[8:12]
}
