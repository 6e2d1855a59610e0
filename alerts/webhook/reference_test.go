package webhook

import (
	"bytes"
	"encoding/json"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A receiver that uses the reference library (npm standardwebhooks 1.1.1)
// accepts what is sent, and refuses it once a byte is another.
func TestReferenceLibraryAccepts(t *testing.T) {
	missing := t.Skipf
	if os.Getenv("CI") == "true" {
		missing = t.Fatalf
	}
	modules := os.Getenv("PLOTWARDEN_NODE_MODULES")
	if modules == "" {
		missing("PLOTWARDEN_NODE_MODULES names no node_modules folder")
	}
	if _, err := os.Stat(filepath.Join(modules, "standardwebhooks")); err != nil {
		missing("npm package standardwebhooks is not installed in PLOTWARDEN_NODE_MODULES")
	}
	node, err := exec.LookPath("node")
	if err != nil {
		missing("node is not installed")
	}
	modules, err = filepath.Abs(modules)
	require.NoError(t, err)

	r := start(t, func(http.ResponseWriter, *http.Request) {})
	s := sender(t, r, r.URL, nil) // signed with the clock, which the library compares
	require.NoError(t, s.Send(t.Context(), due(t, "relay")))
	got := r.all()[0]
	in, err := json.Marshal(map[string]any{"secret": signer.Written(), "body": string(got.body), "headers": map[string]string{
		HeaderID: got.header.Get(HeaderID), HeaderTimestamp: got.header.Get(HeaderTimestamp), HeaderSignature: got.header.Get(HeaderSignature),
	}})
	require.NoError(t, err)
	cmd := exec.Command(node, "testdata/verify.js")
	cmd.Env = append(os.Environ(), "NODE_PATH="+modules)
	cmd.Stdin = bytes.NewReader(in)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	require.NoError(t, err, stderr.String())
	var answer struct {
		Subject string
		Refused []string
	}
	require.NoError(t, json.Unmarshal(out, &answer))
	assert.Equal(t, digest().Subject, answer.Subject)
	assert.Equal(t, []string{"body", "id", "secret"}, answer.Refused)
}
