package page

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strings"
)

//go:embed assets
var assetFiles embed.FS

var assetTypes = map[string]string{".css": "text/css; charset=utf-8", ".svg": "image/svg+xml", ".js": "text/javascript; charset=utf-8", ".png": "image/png"}

// assets are the static files, each served under a name that holds the hash of
// its content, so that a browser may keep it for good.
type assets struct {
	served map[string]asset  // by served name
	names  map[string]string // plain name to served path
}

type asset struct {
	body        []byte
	contentType string
	etag        string
}

// loadAssets reads the embedded files. It panics on a fault: they were checked
// when the program was built.
func loadAssets() *assets {
	a := &assets{served: map[string]asset{}, names: map[string]string{}}
	entries, err := assetFiles.ReadDir("assets")
	if err != nil {
		panic(fmt.Sprintf("page: embedded assets: %v", err))
	}
	for _, e := range inOrder(entries) {
		body, err := assetFiles.ReadFile("assets/" + e.Name())
		if err != nil {
			panic(fmt.Sprintf("page: embedded asset %s: %v", e.Name(), err))
		}
		body = a.imports(body)
		sum := sha256.Sum256(body)
		hash := hex.EncodeToString(sum[:8])
		ext := path.Ext(e.Name())
		name := strings.TrimSuffix(e.Name(), ext) + "." + hash + ext
		a.served[name] = asset{body, assetTypes[ext], `"` + hash + `"`}
		a.names[e.Name()] = "/assets/" + name
	}
	return a
}

// inOrder puts scripts behind those that they import, by how many imports deep
// they are: queue.js, app.js, the rest.
func inOrder(entries []fs.DirEntry) []fs.DirEntry {
	first := []string{"queue.js", "app.js"}
	rank := func(e fs.DirEntry) int {
		if i := slices.Index(first, e.Name()); i >= 0 {
			return i
		}
		return len(first)
	}
	slices.SortStableFunc(entries, func(x, y fs.DirEntry) int { return rank(x) - rank(y) })
	return entries
}

// imports writes the served names into a script's imports. It panics on one that is
// not there: a test loads them.
func (a *assets) imports(body []byte) []byte {
	return importOf.ReplaceAllFunc(body, func(m []byte) []byte {
		name := string(importOf.FindSubmatch(m)[1])
		at, ok := a.names[name]
		if !ok {
			panic("page: a script imports " + name + ", which is not there or not yet named")
		}
		return []byte("from '" + at + "'")
	})
}

var importOf = regexp.MustCompile(`from '\./([a-z]+\.js)'`)

// path returns where a file is served.
func (a *assets) path(name string) (string, error) {
	p, ok := a.names[name]
	if !ok {
		return "", fmt.Errorf("there is no asset %q", name)
	}
	return p, nil
}

func (a *assets) serve(w http.ResponseWriter, r *http.Request) {
	f, ok := a.served[r.PathValue("file")]
	if !ok {
		http.NotFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Content-Type", f.contentType)
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	h.Set("ETag", f.etag)
	if r.Header.Get("If-None-Match") == f.etag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Length", fmt.Sprint(len(f.body)))
	if r.Method != http.MethodHead {
		_, _ = w.Write(f.body)
	}
}
