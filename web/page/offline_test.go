package page

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func open(t *testing.T, m *Mux, path string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	m.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil))
	require.Equal(t, http.StatusOK, w.Code, path)
	return w
}

// The worker names every file that pages use, asks for nothing elsewhere and is
// never kept by the browser, or a new program would not be seen.
func TestWorkerNamesWhatItKeeps(t *testing.T) {
	k := New(Options{})
	m := NewMux(k)
	w := open(t, m, "/sw.js")
	assert.Equal(t, "no-cache", w.Header().Get("Cache-Control"))
	body := w.Body.String()
	assert.NotContains(t, body, "export ", "a worker that is no module exports nothing")
	assert.NotRegexp(t, regexp.MustCompile(`https?://`), body)
	for _, path := range k.assets.names {
		assert.Contains(t, body, `"`+path+`"`)
		open(t, m, path)
	}
	if node, err := exec.LookPath("node"); err == nil {
		file := filepath.Join(t.TempDir(), "sw.js")
		require.NoError(t, os.WriteFile(file, []byte(body), 0o600))
		out, err := exec.CommandContext(t.Context(), node, "--check", file).CombinedOutput()
		assert.NoError(t, err, "%s", out)
	}
}

// Scripts import each other by the names under which they are served.
func TestScriptsImportWhatIsServed(t *testing.T) {
	k := New(Options{})
	m := NewMux(k)
	n := 0
	for name, path := range k.assets.names {
		if filepath.Ext(name) != ".js" {
			continue
		}
		body := open(t, m, path).Body.String()
		assert.NotContains(t, body, "from './", name)
		for _, hit := range regexp.MustCompile(`from '([^']+)'`).FindAllStringSubmatch(body, -1) {
			open(t, m, hit[1])
			n++
		}
	}
	assert.Greater(t, n, 2)
	assert.Panics(t, func() { k.assets.imports([]byte("import { x } from './nowhere.js'")) })
}

func TestManifestAndItsIcons(t *testing.T) {
	m := NewMux(New(Options{}))
	w := open(t, m, "/manifest.webmanifest")
	assert.Equal(t, "application/manifest+json", w.Header().Get("Content-Type"))
	var x struct {
		Start string `json:"start_url"`
		Icons []struct{ Src, Sizes, Type string }
	}
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &x))
	assert.Equal(t, "/", x.Start)
	require.Len(t, x.Icons, 4)
	for _, i := range x.Icons {
		assert.Equal(t, i.Type, open(t, m, i.Src).Header().Get("Content-Type"), i.Src)
	}
}
