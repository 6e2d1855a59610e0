package email

import (
	"bytes"
	"crypto"
	"crypto/ed25519"
	"crypto/rsa"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"

	"github.com/emersion/go-msgauth/dkim"
)

// DKIM is how mails are signed (RFC 6376); nil signs none. Most mail servers sign
// by themselves what they send: it is for those that do not.
type DKIM struct {
	Domain   string // d=, that of the sender's address or above it
	Selector string // s=, the name of the key below _domainkey
	Key      crypto.Signer
}

// minRSA is the shortest key that verifiers need to accept (RFC 8301, section 3.2).
const minRSA = 1024

// ParseKey reads a private key in PEM: RSA (PKCS #1 or #8) or Ed25519 (PKCS #8).
func ParseKey(pemText []byte) (crypto.Signer, error) {
	block, _ := pem.Decode(pemText)
	if block == nil {
		return nil, errors.New("it holds no private key in PEM; make one with: openssl genrsa 2048")
	}
	if k, err := x509.ParsePKCS1PrivateKey(block.Bytes); err == nil {
		return long(k)
	}
	k, err := x509.ParsePKCS8PrivateKey(block.Bytes)
	if err != nil {
		return nil, fmt.Errorf("read the private key: %w", err)
	}
	switch k := k.(type) {
	case *rsa.PrivateKey:
		return long(k)
	case ed25519.PrivateKey:
		return k, nil
	}
	return nil, errors.New("its key is neither RSA nor Ed25519")
}

func long(k *rsa.PrivateKey) (crypto.Signer, error) {
	if n := k.N.BitLen(); n < minRSA {
		return nil, fmt.Errorf("its RSA key has %d bits; receivers want %d or more", n, minRSA)
	}
	return k, nil
}

// signedHeaders are covered by the signature. RFC 8058, section 3.1 asks for
// those of unsubscribing. Each is named once more than it stands there, so that
// none can be added on the way (RFC 6376, section 8.15).
var signedHeaders = []string{
	"From", "From", "To", "To", "Subject", "Subject", "Date", "Date", "Message-ID", "Message-ID", "MIME-Version", "MIME-Version", "Content-Type", "Content-Type",
	"Auto-Submitted", "List-Id", "List-Id", "List-Unsubscribe", "List-Unsubscribe", "List-Unsubscribe-Post", "List-Unsubscribe-Post",
}

// sign puts the signature before the mail. The signature holds the time at which
// it was made; a mail that is sent again has another.
func (d *DKIM) sign(raw []byte) ([]byte, error) {
	var b bytes.Buffer
	err := dkim.Sign(&b, bytes.NewReader(raw), &dkim.SignOptions{
		Domain: d.Domain, Selector: d.Selector, Signer: d.Key, HeaderKeys: signedHeaders,
		HeaderCanonicalization: dkim.CanonicalizationRelaxed, BodyCanonicalization: dkim.CanonicalizationRelaxed,
	})
	if err != nil {
		return nil, fmt.Errorf("sign the mail: %w", err)
	}
	return b.Bytes(), nil
}
