package station

import (
	"crypto/sha256"
	"crypto/subtle"
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

// Matches says whether given is the token, in a time that does not depend on
// what is given. The zero Token matches nothing.
func (t Token) Matches(given string) bool {
	d := sha256.Sum256([]byte(given))
	return subtle.ConstantTimeCompare(d[:], t.digest[:]) == 1 && t.set
}
