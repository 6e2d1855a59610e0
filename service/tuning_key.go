package service

import (
	"bufio"
	"crypto/ed25519"
	"crypto/rand"
	"encoding/base64"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
)

// tuningKey reads the key that signs this installation's tunings, and makes it on
// first use, in a file that only its owner can read.
func tuningKey(path string) (ed25519.PrivateKey, error) {
	text, err := os.ReadFile(path) //nolint:gosec // the operator's own path
	if errors.Is(err, fs.ErrNotExist) {
		return newTuningKey(path)
	}
	if err != nil {
		return nil, fmt.Errorf("read the key that signs tunings: %w", err)
	}
	if info, err := os.Stat(path); err == nil && info.Mode().Perm()&0o077 != 0 {
		return nil, fmt.Errorf("the key that signs tunings, %s, can be read by others; chmod 600 it", path)
	}
	seed, err := base64.StdEncoding.DecodeString(strings.TrimSpace(string(text)))
	if err != nil || len(seed) != ed25519.SeedSize {
		return nil, fmt.Errorf("%s does not hold a key that signs tunings; move it away and a new one is made", path)
	}
	return ed25519.NewKeyFromSeed(seed), nil
}

func newTuningKey(path string) (ed25519.PrivateKey, error) {
	_, key, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make a key that signs tunings: %w", err)
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600) //nolint:gosec // the operator's own path
	if errors.Is(err, fs.ErrExist) {
		return tuningKey(path) // another process was faster
	}
	if err != nil {
		return nil, fmt.Errorf("keep the key that signs tunings: %w", err)
	}
	_, err = fmt.Fprintln(f, base64.StdEncoding.EncodeToString(key.Seed()))
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return nil, errors.Join(fmt.Errorf("keep the key that signs tunings: %w", err), os.Remove(path))
	}
	return key, nil
}

// KeyName writes a public key as people compare it: the text that stands in a
// file.
func KeyName(key ed25519.PublicKey) string { return base64.StdEncoding.EncodeToString(key) }

// trustedKeys reads the keys whose tunings are taken: a line each, the key and
// then whose it is.
func trustedKeys(path string) ([]ed25519.PublicKey, error) {
	f, err := os.Open(path) //nolint:gosec // the operator's own path
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the trusted keys: %w", err)
	}
	defer f.Close()
	var out []ed25519.PublicKey
	lines := bufio.NewScanner(f)
	for n := 1; lines.Scan(); n++ {
		word, _, _ := strings.Cut(strings.TrimSpace(lines.Text()), " ")
		if word == "" || strings.HasPrefix(word, "#") {
			continue
		}
		key, err := base64.StdEncoding.DecodeString(word)
		if err != nil || len(key) != ed25519.PublicKeySize {
			return nil, fmt.Errorf("%s:%d: %q is no key; a line holds the key and then whose it is", path, n, word)
		}
		out = append(out, key)
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("read the trusted keys: %w", err)
	}
	return out, nil
}

// trust adds a key to the file.
func trust(path string, key ed25519.PublicKey, whose string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600) //nolint:gosec // the operator's own path
	if err != nil {
		return fmt.Errorf("keep a trusted key: %w", err)
	}
	_, err = fmt.Fprintf(f, "%s %s\n", KeyName(key), strings.Join(strings.Fields(whose), " "))
	if err = errors.Join(err, f.Close()); err != nil {
		return fmt.Errorf("keep a trusted key: %w", err)
	}
	return nil
}
