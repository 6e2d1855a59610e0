package email

import (
	"bytes"
	"crypto"
	"crypto/ed25519"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"

	"github.com/emersion/go-msgauth/dkim"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/alerts/smtptest"
)

func pemOf(t *testing.T, key any) []byte {
	t.Helper()
	der, err := x509.MarshalPKCS8PrivateKey(key)
	require.NoError(t, err)
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})
}

// record is the key record in the DNS (RFC 6376, section 3.6.1; RFC 8463, section 4).
func record(t *testing.T, key crypto.Signer) string {
	t.Helper()
	if k, ok := key.Public().(ed25519.PublicKey); ok {
		return "v=DKIM1; k=ed25519; p=" + base64.StdEncoding.EncodeToString(k)
	}
	der, err := x509.MarshalPKIXPublicKey(key.Public())
	require.NoError(t, err)
	return "v=DKIM1; k=rsa; p=" + base64.StdEncoding.EncodeToString(der)
}

func signedMail(t *testing.T, key crypto.Signer) string {
	t.Helper()
	server := smtptest.Start(t, smtptest.Plain)
	c := config(server, NoTLS)
	c.DKIM = &DKIM{Domain: "ground.example", Selector: "beds1", Key: key}
	d := delivery(t)
	m, err := Parse(d.Body)
	require.NoError(t, err)
	m.Unsubscribe, m.List, m.Calendar = "https://beds.example/act/x", "<north.digest.ground.example>", []byte("BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n")
	m.Picture, m.CID = []byte("a picture"), "line.abc@ground.example"
	d.Body = encodeMail(t, m)
	require.NoError(t, sender(t, c).Send(t.Context(), d))
	require.Len(t, server.Got(), 1)
	return string(server.Got()[0].Raw)
}

func keys(t *testing.T) map[string]crypto.Signer {
	t.Helper()
	r, err := rsa.GenerateKey(rand.Reader, 2048)
	require.NoError(t, err)
	_, e, err := ed25519.GenerateKey(rand.Reader)
	require.NoError(t, err)
	return map[string]crypto.Signer{"rsa": r, "ed25519": e}
}

// TestSignedMails are verified as they came over the wire, by the library's own
// verifier and by another implementation, python3-dkim of Debian.
func TestSignedMails(t *testing.T) {
	for name, key := range keys(t) {
		t.Run(name, func(t *testing.T) {
			parsed, err := ParseKey(pemOf(t, key))
			require.NoError(t, err)
			raw := signedMail(t, parsed)
			assert.Contains(t, strings.ReplaceAll(raw, "\r\n ", ""), "List-Unsubscribe-Post", "RFC 8058, section 3.1: signed too")
			lookup := func(domain string) ([]string, error) {
				assert.Equal(t, "beds1._domainkey.ground.example", domain)
				return []string{record(t, key)}, nil
			}
			for what, change := range map[string]func(string) string{
				"":               func(s string) string { return s },
				"the text":       func(s string) string { return strings.Replace(s, "Late blight", "Late bright", 1) },
				"another header": func(s string) string { return "Subject: Another\r\n" + s },
				"unsubscribing": func(s string) string {
					return strings.Replace(s, "https://beds.example/act/x", "https://beds.example/act/y", 1)
				},
			} {
				mail := change(raw)
				got, err := dkim.VerifyWithOptions(strings.NewReader(mail), &dkim.VerifyOptions{LookupTXT: lookup})
				require.NoError(t, err)
				require.Len(t, got, 1)
				assert.Equal(t, what == "", got[0].Err == nil, "%s: %v", what, got[0].Err)
				assert.Equal(t, what == "", verifiedByPython(t, mail, record(t, key)), "python3-dkim: %s", what)
			}
		})
	}
}

func verifiedByPython(t *testing.T, mail, record string) bool {
	t.Helper()
	if err := exec.Command("/usr/bin/python3", "-c", "import dkim").Run(); err != nil {
		if os.Getenv("CI") == "true" {
			require.NoError(t, err, "python3-dkim is not there")
		}
		t.Skip("python3-dkim is not there")
	}
	script := fmt.Sprintf("import sys, dkim\nprint(dkim.verify(sys.stdin.buffer.read(), dnsfunc=lambda name, timeout=5: %q.encode()))", record)
	cmd := exec.Command("/usr/bin/python3", "-c", script) //nolint:gosec // the test's own text
	cmd.Stdin = strings.NewReader(mail)
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	require.NoError(t, err, "%s", &errs)
	return strings.TrimSpace(string(out)) == "True"
}

func TestKeysThatSignNothing(t *testing.T) {
	short, err := x509.ParsePKCS1PrivateKey(shortKey(t))
	require.NoError(t, err)
	for want, text := range map[string][]byte{
		"no private key in PEM": []byte("hello"),
		"512 bits":              pem.EncodeToMemory(&pem.Block{Type: "RSA PRIVATE KEY", Bytes: x509.MarshalPKCS1PrivateKey(short)}),
		"read the private key":  pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: []byte("x")}),
	} {
		_, err := ParseKey(text)
		assert.ErrorContains(t, err, want)
	}
}

// shortKey is an RSA key of 512 bits, which the standard library no longer makes.
func shortKey(t *testing.T) []byte {
	t.Helper()
	t.Setenv("GODEBUG", "rsa1024min=0")
	k, err := rsa.GenerateKey(rand.Reader, 512)
	require.NoError(t, err)
	return x509.MarshalPKCS1PrivateKey(k)
}
