package service

import (
	"context"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/catalog"
	"plotwarden/store"
)

// Options are the parts that a Service is wired from.
type Options struct {
	// Garden returns the ground as it is now. What it returns is never changed:
	// a change makes another.
	Garden    func() *garden.Garden
	Catalogue *catalog.Catalogue
	Store     Store
	Sources   []Source // in order of preference
	Messenger Messenger
	Metrics   *Metrics
	Log       *slog.Logger
	Now       func() time.Time
	Rand      func() float64 // from 0 up to 1, to spread rounds; nil is the runtime's

	Rules        plan.Rules
	Hours        plan.HourLimits
	HistoryYears int           // past years to fetch from a source that has them
	FetchEvery   time.Duration // between two rounds
	CorrectBias  []string      // sites whose forecasts are moved by their bias
	// KeepForecasts is how long every forecast is kept; of older ones one a day
	// stays. 0 keeps all.
	KeepForecasts time.Duration
	Tunings       *Tunings // the regions' changed numbers; nil: every site has the published ones
}

// Messenger turns a round into messages and sees to their delivery.
type Messenger interface {
	// Compose returns the messages due for a site at now, each with its key, so
	// that composing twice writes once. previous is the round before, or nil.
	Compose(ctx context.Context, site *garden.Site, now time.Time, r *store.Round) ([]store.Message, error)
	// Deliver sends what is due and returns when nothing is left to try now.
	Deliver(ctx context.Context, now time.Time) error
}

// Service is the daemon's state.
type Service struct {
	o     Options
	frost frosts
	mu    sync.Mutex
	pasts map[string]*pastTracks
	full  map[string]civil.Date // site: the day on which its history was last seen to be whole
	ages  map[string]time.Duration
	ready map[string]map[plan.Readiness]int
	quals map[string]store.Quality
	apart map[string][]store.Disagreement // by site; sites without any are not in it
	tuned tunedCatalogues
	// shared is what regions' growers share, by the region.
	shared map[string]regionLog

	src    atomic.Pointer[[]Source]
	routes atomic.Pointer[http.ServeMux] // of the stations; nil without one

	soonMu sync.Mutex
	soon   map[string]bool // sites of which a round is wanted soon
	wake   chan struct{}
}

// New wires a service.
func New(o Options) *Service {
	if o.Rand == nil {
		o.Rand = rand.Float64
	}
	s := &Service{
		o: o, soon: map[string]bool{}, wake: make(chan struct{}, 1), pasts: map[string]*pastTracks{}, full: map[string]civil.Date{},
		ages: map[string]time.Duration{}, ready: map[string]map[plan.Readiness]int{}, quals: map[string]store.Quality{},
		shared: map[string]regionLog{},
		tuned:  tunedCatalogues{tunings: o.Tunings, byID: map[string]regionCatalogue{}},
	}
	s.src.Store(&o.Sources)
	return s
}

func (s *Service) pastOf(site string) *pastTracks {
	s.mu.Lock()
	defer s.mu.Unlock()
	p, ok := s.pasts[site]
	if !ok {
		p = &pastTracks{}
		s.pasts[site] = p
	}
	return p
}
