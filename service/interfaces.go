// Package service is the daemon: it pulls weather, computes, decides, sends and
// serves, tick by tick in UTC. Each step's failure is logged, counted and shown,
// and never stops the others.
package service

import (
	"context"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/weather/source"
)

// Source is where weather comes from. What it can do it says by being a Fetcher,
// a BatchFetcher, a Historian or a Listener as well.
type Source interface {
	// Name is the source's name in the configuration, status and metrics.
	Name() string
	// Serves says whether the source is for a site.
	Serves(site *garden.Site) bool
	// Attribution is the credit that the source's licence asks for; the zero
	// value when it asks for none.
	Attribution() source.Attribution
}

// Fetcher is a source that is asked for one site at a time.
type Fetcher interface {
	// Fetch returns past and coming hours. The error's Cause, where it has one,
	// names the failure for log, metric and dashboard. A series beside an error
	// is the part that did come, and is kept.
	Fetch(ctx context.Context, site *garden.Site, now time.Time) (Answer, error)
}

// BatchFetcher is a source that is asked for many sites at once.
type BatchFetcher interface {
	// FetchAll calls give once for each site, with its index, one call at a time,
	// as the answers come. Sites can share a series, which must not be changed.
	FetchAll(ctx context.Context, sites []*garden.Site, now time.Time, give func(i int, a Answer, err error))
}

// Answer is what a source says of a site.
type Answer struct {
	Series    *weather.Series // nil when nothing came
	Elevation *float64        // of the grid cell, in metres; nil when not said
}

// Historian is a source that has past years.
type Historian interface {
	// History returns the hours of the local dates from first to last, with
	// those that it does not have missing.
	History(ctx context.Context, site *garden.Site, first, last civil.Date, now time.Time) (*weather.Series, error)
}

// Store is what the daemon keeps things in.
type Store interface {
	SaveWeather(ctx context.Context, site string, s *weather.Series) error
	LoadWeather(ctx context.Context, site string, from, to time.Time) (*weather.Series, error)
	SaveFetched(ctx context.Context, list []store.Fetched) ([]error, error)
	SaveRound(ctx context.Context, r store.Round) error
	SetSource(ctx context.Context, st store.SourceStatus) error
	Sources(ctx context.Context, site string) ([]store.SourceStatus, error)
	Scoutings(ctx context.Context, site string) ([]garden.Scouting, error)
	Treatments(ctx context.Context, site string) ([]garden.Treatment, error)
	Records(ctx context.Context, site string) ([]garden.Record, error)
	Forecasts(ctx context.Context, site string, from, to time.Time) ([]store.Forecast, error)
	ensembleStore
	qualityStore
}
