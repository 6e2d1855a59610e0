// Package api is the interface for programs: JSON with the same rights as the pages,
// described by an OpenAPI document that is made from the handlers.
package api

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

// Path is where the interface begins.
const Path = "/api/v1"

// Data is what is read and kept. All methods must be safe for many goroutines.
type Data interface {
	LatestRound(ctx context.Context, site string) (store.Round, error)
	Sources(ctx context.Context, site string) ([]store.SourceStatus, error)
	Scoutings(ctx context.Context, site string) ([]garden.Scouting, error)
	AddScouting(ctx context.Context, s garden.Scouting) error
}

// Deps is what the interface is made from.
type Deps struct {
	Kit       *page.Kit
	Garden    func() *garden.Garden
	Catalogue view.Catalogue
	Data      Data
	Now       func() time.Time
	Audit     page.Auditor      // nil keeps nothing
	Log       *slog.Logger      // nil is slog.Default
	Logged    func(site string) // told of a site whose log has changed; may be nil
}

type server struct{ Deps }

// Mount adds the interface to a mux and returns it, for its document.
func Mount(m *page.Mux, d Deps) huma.API {
	config := huma.DefaultConfig("plotwarden", "1")
	config.Info.Description = "What one's account may see and log. Send a token from your account as Authorization: Bearer."
	config.OpenAPIPath, config.DocsPath, config.SchemasPath, config.CreateHooks = "", "", "", nil
	config.Components.SecuritySchemes = map[string]*huma.SecurityScheme{"token": {Type: "http", Scheme: "bearer"}}
	config.Security = []map[string][]string{{"token": {}}}
	api := huma.NewAPI(config, humago.NewAdapter(tagged{m}, ""))
	if d.Log == nil {
		d.Log = slog.Default()
	}
	s := &server{d}
	s.register(api)
	m.HandleFunc("GET "+Path+"/openapi.json", func(w http.ResponseWriter, r *http.Request) {
		body, err := api.OpenAPI().MarshalJSON()
		if err != nil {
			d.Kit.Fail(w, r, err)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		_, _ = w.Write(body)
	}, page.Public)
	return api
}

// tagged registers handlers whose answers to GET carry an entity tag.
type tagged struct{ *page.Mux }

// HandleFunc registers a handler.
func (t tagged) HandleFunc(pattern string, h func(http.ResponseWriter, *http.Request)) {
	t.Mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		if r.Method != http.MethodGet {
			h(w, r)
			return
		}
		b := &buffer{header: w.Header(), status: http.StatusOK}
		h(b, r)
		if b.status == http.StatusOK {
			sum := sha256.Sum256(b.body.Bytes())
			tag := `"` + hex.EncodeToString(sum[:12]) + `"`
			w.Header().Set("ETag", tag)
			w.Header().Set("Cache-Control", "private, no-cache")
			if strings.Contains(r.Header.Get("If-None-Match"), tag) {
				w.Header().Del("Content-Type")
				w.WriteHeader(http.StatusNotModified)
				return
			}
		}
		w.WriteHeader(b.status)
		_, _ = w.Write(b.body.Bytes())
	}, page.JSON)
}

// buffer holds an answer back until its tag is known.
type buffer struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (b *buffer) Header() http.Header         { return b.header }
func (b *buffer) WriteHeader(status int)      { b.status = status }
func (b *buffer) Write(p []byte) (int, error) { return b.body.Write(p) }
