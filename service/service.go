package service

import (
	"context"
	"log/slog"
	"math/rand/v2"
	"sync"
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
	mu    sync.Mutex
	pasts map[string]*pastTracks
	full  map[string]civil.Date // site: the day on which its history was last seen to be whole
	ages  map[string]time.Duration
	ready map[string]map[plan.Readiness]int
	quals map[string]store.Quality
}

// New wires a service.
func New(o Options) *Service {
	if o.Rand == nil {
		o.Rand = rand.Float64
	}
	return &Service{
		o: o, pasts: map[string]*pastTracks{}, full: map[string]civil.Date{},
		ages: map[string]time.Duration{}, ready: map[string]map[plan.Readiness]int{}, quals: map[string]store.Quality{},
	}
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
