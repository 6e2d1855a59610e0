// Package entry is the log: what was seen and what was done, in big buttons that
// work without script, from a phone without a connection, and with corrections
// that leave their trail.
package entry

import (
	"context"
	"embed"
	"fmt"
	"log/slog"
	"net/http"
	"time"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/risk/wetness"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/page"
	"plotwarden/web/view"
)

//go:embed templates
var templateFiles embed.FS

// Data is where the log is kept. All methods must be safe for many goroutines.
type Data interface {
	LatestRound(ctx context.Context, site string) (store.Round, error)
	LoadWeather(ctx context.Context, site string, from, to time.Time) (*weather.Series, error)
	// AddScouting and AddRecord keep an entry; the same again is no error, another
	// under the same id is store.ErrConflict.
	AddScouting(ctx context.Context, s garden.Scouting) error
	AddRecord(ctx context.Context, r garden.Record) error
	Scoutings(ctx context.Context, site string) ([]garden.Scouting, error)
	Records(ctx context.Context, site string) ([]garden.Record, error)
	Treatments(ctx context.Context, site string) ([]garden.Treatment, error)
	AddPhoto(ctx context.Context, p store.Photo) error
	Photo(ctx context.Context, id string) (store.Photo, error)
}

// Deps is what the pages are made from.
type Deps struct {
	Kit       *page.Kit
	Garden    func() *garden.Garden
	Catalogue view.Catalogue
	Data      Data
	Now       func() time.Time
	// Wet says how wet the leaves were and will be; nil is not known.
	Wet view.Wet
	// Logged is told of a site whose log has changed, so that it is judged anew; nil
	// tells nobody.
	Logged func(site string)
	// Push sends to browsers; nil where there is no push.
	Push Pusher
	Log  *slog.Logger // nil is slog.Default
}

type server struct {
	Deps
	pages  *page.Set
	decode chan struct{} // one picture is decoded at a time: it takes memory
}

// The most that one entry may bring, bytes: three pictures with the rest of the
// form, or the same in the letters of JSON.
const (
	formLimit = 3*PhotoLimit + 1<<20
	syncLimit = formLimit/3*4 + 1<<20
)

// Mount adds the pages to a mux. Who makes a request is in its context. It panics
// where Kit, Garden, Catalogue, Data or Now is missing: that is a mistake of the
// program and not of its user.
func Mount(mux *page.Mux, d Deps) {
	if d.Kit == nil || d.Catalogue == nil || d.Data == nil || d.Garden == nil || d.Now == nil {
		panic("entry: Deps needs Kit, Garden, Catalogue, Data and Now")
	}
	if d.Log == nil {
		d.Log = slog.Default()
	}
	s := &server{Deps: d, decode: make(chan struct{}, 1)}
	s.pages = d.Kit.Parse(templateFiles, "templates/", "look", "treat", "review", "saved", "list", "record", "gate", "push", "waiting")
	mux.HandleFunc("GET /site/{site}/log", s.lookForm)
	mux.HandleFunc("POST /site/{site}/log", s.saveLook, page.Limit(formLimit))
	mux.HandleFunc("GET /site/{site}/log/treatment", s.treatForm)
	mux.HandleFunc("POST /site/{site}/log/treatment", s.saveTreatment, page.Limit(formLimit))
	mux.HandleFunc("GET /site/{site}/log/all", s.list)
	mux.HandleFunc("GET /site/{site}/log/entry/{entry}", s.saved)
	mux.HandleFunc("POST /site/{site}/log/entry/{entry}/undo", s.undo)
	mux.HandleFunc("GET /site/{site}/log/entry/{entry}/correct", s.correct)
	mux.HandleFunc("GET /site/{site}/log/photo/{photo}", s.photo)
	mux.HandleFunc("GET /site/{site}/log/choices", s.choicesJSON)
	mux.HandleFunc("POST /site/{site}/log/entries", s.sync, page.JSON, page.Limit(syncLimit))
	mux.HandleFunc("GET /site/{site}/gate", s.gate)
	mux.HandleFunc("GET /site/{site}/record", s.record)
	mux.HandleFunc("GET /waiting", s.waiting, page.Public)
	mux.HandleFunc("GET /you/push", s.pushPage)
	mux.HandleFunc("POST /you/push", s.pushOn, page.JSON)
	mux.HandleFunc("POST /you/push/{id}/end", s.pushEnd)
	mux.HandleFunc("POST /you/push/{id}/try", s.pushTry)
}

// find returns the site that the address names, or answers that there is none. A
// site that the reader may not see is not told from one that is not there.
func (s *server) find(w http.ResponseWriter, r *http.Request) (*garden.Site, bool) {
	id := r.PathValue("site")
	if g := s.Garden(); g != nil && access.From(r.Context()).See(id) {
		for i := range g.Sites {
			if g.Sites[i].ID == id {
				return &g.Sites[i], true
			}
		}
	}
	s.Kit.NotFound(w, r, "There is no ground of that name here.")
	return nil, false
}

// findToLog is find for whoever may log there.
func (s *server) findToLog(w http.ResponseWriter, r *http.Request) (*garden.Site, bool) {
	site, ok := s.find(w, r)
	if ok && !access.From(r.Context()).Log(site.ID) {
		s.Kit.Refuse(w, r, "With this access you may read the log, and add nothing to it.")
		return nil, false
	}
	return site, ok
}

// words returns what puts a fixed English text into the reader's language.
func (s *server) words(r *http.Request) func(text string, args ...any) string { return s.Kit.T(r) }

// weatherAround loads the hours that the checks of a treatment look at, with the
// wetness of each; nil when there are none.
func (s *server) weatherAround(ctx context.Context, site string, at time.Time) (*weather.Series, []wetness.State, error) {
	from := at.UTC().Truncate(time.Hour)
	series, err := s.Data.LoadWeather(ctx, site, from.Add(-48*time.Hour), from.Add(72*time.Hour))
	if err != nil {
		if notFound(err) {
			return nil, nil, nil
		}
		return nil, nil, fmt.Errorf("read the weather of %s: %w", site, err)
	}
	if series == nil || series.Len() == 0 {
		return nil, nil, nil
	}
	series = weather.Derive(series)
	var wet []wetness.State
	if s.Wet != nil {
		wet = s.Wet(series)
	}
	return series, wet, nil
}
