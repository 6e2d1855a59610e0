package station

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"fmt"
)

// LeastToken is the shortest token that is accepted.
const LeastToken = 16

// Token is a secret between a station and us. Only its digest is kept.
type Token struct {
	digest [sha256.Size]byte
	set    bool
}

// NewToken returns a token, or what is wrong with the text of it.
func NewToken(text string) (Token, error) {
	if len(text) < LeastToken {
		return Token{}, fmt.Errorf("a station's token has %d characters; it must have at least %d", len(text), LeastToken)
	}
	return Token{digest: sha256.Sum256([]byte(text)), set: true}, nil
}

// TokenOf returns the token whose SHA-256 is known, in hex: who made it kept no
// more of it.
func TokenOf(digest string) (Token, error) {
	t := Token{set: true}
	if n, err := hex.Decode(t.digest[:], []byte(digest)); err != nil || n != len(t.digest) {
		return Token{}, fmt.Errorf("the digest of a station's token is not %d hex digits", 2*len(t.digest))
	}
	return t, nil
}

// Matches says whether given is the token, in a time that does not depend on
// what is given. The zero Token matches nothing.
func (t Token) Matches(given string) bool {
	d := sha256.Sum256([]byte(given))
	return subtle.ConstantTimeCompare(d[:], t.digest[:]) == 1 && t.set
}
