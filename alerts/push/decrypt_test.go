package push

import (
	"crypto/aes"
	"crypto/cipher"
	"crypto/ecdh"
	"crypto/hkdf"
	"crypto/sha256"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// decrypt is the browser's side of RFC 8291 and RFC 8188 for one record, written
// from the RFCs with the standard library alone.
func decrypt(body []byte, private *ecdh.PrivateKey, auth []byte) ([]byte, error) {
	if len(body) < 21 || len(body) < 21+int(body[20]) {
		return nil, errors.New("no header")
	}
	salt, keyID, cipherText := body[:16], body[21:21+int(body[20])], body[21+int(body[20]):]
	sender, err := ecdh.P256().NewPublicKey(keyID)
	if err != nil {
		return nil, err
	}
	shared, err := private.ECDH(sender)
	if err != nil {
		return nil, err
	}
	info := "WebPush: info\x00" + string(private.PublicKey().Bytes()) + string(keyID)
	ikm, err := hkdf.Key(sha256.New, shared, auth, info, 32)
	if err != nil {
		return nil, err
	}
	cek, err := hkdf.Key(sha256.New, ikm, salt, "Content-Encoding: aes128gcm\x00", 16)
	if err != nil {
		return nil, err
	}
	nonce, err := hkdf.Key(sha256.New, ikm, salt, "Content-Encoding: nonce\x00", 12)
	if err != nil {
		return nil, err
	}
	block, err := aes.NewCipher(cek)
	if err != nil {
		return nil, err
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		return nil, err
	}
	plain, err := gcm.Open(nil, nonce, cipherText, nil)
	if err != nil {
		return nil, err
	}
	text := strings.TrimRight(string(plain), "\x00")
	if !strings.HasSuffix(text, "\x02") { // the last record (RFC 8188, section 2)
		return nil, errors.New("no mark of the last record")
	}
	return []byte(text[:len(text)-1]), nil
}

// The example of RFC 8291, section 5 and appendix A.
func TestDecryptTheRFCsExample(t *testing.T) {
	raw := func(s string) []byte {
		b, err := decode(s)
		require.NoError(t, err)
		return b
	}
	private, err := ecdh.P256().NewPrivateKey(raw("q1dXpw3UpT5VOmu_cf_v6ih07Aems3njxI-JWgLcM94"))
	require.NoError(t, err)
	assert.Equal(t, "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4", encode(private.PublicKey().Bytes()))
	got, err := decrypt(raw("DGv6ra1nlYgDCS1FRnbzlwAAEABBBP4z9KsN6nGRTbVYI_c7VJSPQTBtkgcy27ml"+
		"mlMoZIIgDll6e3vCYLocInmYWAmS6TlzAC8wEqKK6PBru3jl7A_yl95bQpu6cVPT"+
		"pK4Mqgkf1CXztLVBSt2Ks3oZwbuwXPXLWyouBWLVWGNWQexSgSxsj_Qulcy4a-fN"), private, raw("BTBZMqHH6r4Tts7J_aSIgg"))
	require.NoError(t, err)
	assert.Equal(t, "When I grow up, I want to be a watermelon", string(got))
}
