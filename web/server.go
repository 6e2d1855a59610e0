package web

import (
	"embed"

	"log/slog"
	"net/http"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/web/page"
)

//go:embed templates
var templateFiles embed.FS

// server holds what the handlers share.
type server struct {
	Deps
	pages *page.Set
}

// New returns a handler of these pages alone, open to whoever reaches it. It
// panics when Kit, Catalogue, Data, Garden or Now is missing: that is a mistake of the
// program and not of its user.
func New(d Deps) http.Handler {
	mux := page.NewMux(d.Kit)
	Mount(mux, d)
	open := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mux.ServeHTTP(w, r.WithContext(access.With(r.Context(), access.Open(false))))
	})
	return page.Secure(d.Kit.Rescue(open))
}

// Mount adds the pages to a mux. Who makes a request is in its context.
func Mount(mux *page.Mux, d Deps) {
	if d.Kit == nil || d.Catalogue == nil || d.Data == nil || d.Garden == nil || d.Now == nil {
		panic("web: Deps needs Kit, Garden, Catalogue, Data and Now")
	}
	if d.Log == nil {
		d.Log = slog.Default()
	}
	s := &server{Deps: d, pages: d.Kit.Parse(templateFiles, "templates/", "site", "sites", "why", "weather", "rain", "work", "year", "plan", "season", "threats", "threat")}
	mux.HandleFunc("GET /{$}", s.home)
	mux.HandleFunc("GET /site/{site}", s.site)
	mux.HandleFunc("GET /site/{site}/weather", s.weather)
	mux.HandleFunc("GET /site/{site}/rain", s.rain)
	mux.HandleFunc("GET /site/{site}/planting/{planting}/threat/{threat}", s.why)
	mux.HandleFunc("GET /site/{site}/work", s.work)
	mux.HandleFunc("GET /site/{site}/work/year", s.year)
	mux.HandleFunc("GET /site/{site}/planting/{planting}", s.plan)
	mux.HandleFunc("GET /site/{site}/record.csv", s.record)
	mux.HandleFunc("GET /site/{site}/season", s.season)
	mux.HandleFunc("GET /site/{site}/season/{table}", s.seasonTable)
	mux.HandleFunc("GET /threats", s.threats)
	mux.HandleFunc("GET /threats/{threat}", s.threat)
	mux.HandleFunc("GET /healthz", s.healthz, page.Public)
	if d.Metrics != nil {
		mux.Handle("GET /metrics", d.Metrics, page.Public)
	}
	mux.HandleFunc("GET /", func(w http.ResponseWriter, r *http.Request) { s.Kit.NotFound(w, r, "There is no such page.") }, page.Public)
}

func (s *server) garden() *garden.Garden {
	if g := s.Garden(); g != nil {
		return g
	}
	return &garden.Garden{}
}

// healthz answers monitors. The fault itself goes to the log: this address is
// open to whoever can reach the pages.
func (s *server) healthz(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	if s.Health != nil {
		if err := s.Health(r.Context()); err != nil {
			s.Log.WarnContext(r.Context(), "health check failed", "error", err)
			w.WriteHeader(http.StatusServiceUnavailable)
			_, _ = w.Write([]byte("not well\n"))
			return
		}
	}
	_, _ = w.Write([]byte("well\n"))
}
