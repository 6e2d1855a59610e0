package push

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The reference library (npm http_ece 1.2.1) decrypts with the browser's keys
// what a push service received.
func TestReferenceLibraryDecrypts(t *testing.T) {
	missing := t.Skipf
	if os.Getenv("CI") == "true" {
		missing = t.Fatalf
	}
	modules := os.Getenv("PLOTWARDEN_NODE_MODULES")
	if modules == "" {
		missing("PLOTWARDEN_NODE_MODULES names no node_modules folder")
	}
	if _, err := os.Stat(filepath.Join(modules, "http_ece")); err != nil {
		missing("npm package http_ece is not installed in PLOTWARDEN_NODE_MODULES")
	}
	node, err := exec.LookPath("node")
	if err != nil {
		missing("node is not installed")
	}
	modules, err = filepath.Abs(modules)
	require.NoError(t, err)

	s := start(t, created)
	b := newBrowser(t)
	sub := b.subscription(s.URL)
	require.NoError(t, sender(t, s, shelve(sub), nil).Send(t.Context(), due(t, digest(), sub.ID())))
	in, err := json.Marshal(map[string]string{
		"private": encode(b.private.Bytes()), "auth": encode(b.auth), "body": base64.StdEncoding.EncodeToString(s.all()[0].body),
	})
	require.NoError(t, err)
	cmd := exec.Command(node, "testdata/decrypt.js")
	cmd.Env = append(os.Environ(), "NODE_PATH="+modules)
	cmd.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	var note Note
	require.NoError(t, json.Unmarshal(out, &note))
	assert.Equal(t, NoteOf(digest()), note)
}
