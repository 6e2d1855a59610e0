package page

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
)

//go:embed offline
var offlineFiles embed.FS

// worker returns the script that keeps pages for later. It stands at the root, since
// it sees no page above its own path, and bears the hash of all that it keeps, so
// that a new program takes the place of what an old one kept.
func (a *assets) worker() []byte {
	queue, err := assetFiles.ReadFile("assets/queue.js")
	if err != nil {
		panic("page: " + err.Error()) // embedded
	}
	body, err := offlineFiles.ReadFile("offline/sw.js")
	if err != nil {
		panic("page: " + err.Error()) // embedded
	}
	var files []string
	for _, path := range a.names {
		files = append(files, path)
	}
	slices.Sort(files)
	list, err := json.Marshal(files)
	if err != nil {
		panic("page: " + err.Error()) // texts
	}
	// Inside a worker that is no module nothing is exported.
	shared := strings.ReplaceAll(string(queue), "export const ", "const ")
	sum := sha256.Sum256([]byte(strings.Join(files, "\n") + shared + string(body)))
	return []byte("const VERSION = '" + hex.EncodeToString(sum[:8]) + "', ICON = '" + a.names["icon-192.png"] + "', FILES = " + string(list) + ";\n" + shared + string(body))
}

// manifest lets the pages be put on a phone's home screen.
func (a *assets) manifest() []byte {
	type icon struct {
		Src     string `json:"src"`
		Sizes   string `json:"sizes"`
		Type    string `json:"type"`
		Purpose string `json:"purpose,omitempty"`
	}
	b, err := json.Marshal(map[string]any{
		"name": "plotwarden", "short_name": "plotwarden", "id": "/", "start_url": "/", "scope": "/", "display": "standalone",
		"background_color": "#fbfaf7", "theme_color": "#1d3b3a",
		"icons": []icon{
			{a.names["icon-192.png"], "192x192", "image/png", ""}, {a.names["icon-512.png"], "512x512", "image/png", ""},
			{a.names["icon-mask.png"], "512x512", "image/png", "maskable"}, {a.names["mark.svg"], "any", "image/svg+xml", ""},
		},
	})
	if err != nil {
		panic("page: " + err.Error()) // texts
	}
	return b
}

// mountOffline serves both to whoever comes: neither has anything of anybody.
func (k *Kit) mountOffline(mux *Mux) {
	serve := func(pattern, kind string, body []byte) {
		mux.HandleFunc(pattern, func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", kind)
			w.Header().Set("Cache-Control", "no-cache")
			_, _ = w.Write(body) // a browser that went away needs no answer
		}, Public)
	}
	serve("GET /sw.js", "text/javascript; charset=utf-8", k.assets.worker())
	serve("GET /manifest.webmanifest", "application/manifest+json", k.assets.manifest())
}
