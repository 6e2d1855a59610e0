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

// Source gives the weather of a site.
type Source interface {
	// Name is the source's name in the configuration, status and metrics.
	Name() string
	// Fetch returns past and coming hours. The error's Cause, where it has one,
	// names the failure for log, metric and dashboard.
	Fetch(ctx context.Context, site *garden.Site, now time.Time) (*weather.Series, error)
	// Attribution is the credit that the source's licence asks for.
	Attribution() source.Attribution
}

// Historian is a source that also has past years.
type Historian interface {
	// History returns the hours of the local dates from first to last, with
	// those that it does not have missing.
	History(ctx context.Context, site *garden.Site, first, last civil.Date, now time.Time) (*weather.Series, error)
}

// Store is what the daemon keeps things in.
type Store interface {
	SaveWeather(ctx context.Context, site string, s *weather.Series) error
	LoadWeather(ctx context.Context, site string, from, to time.Time) (*weather.Series, error)
	SaveForecast(ctx context.Context, site, source string, issued time.Time, s *weather.Series) error
	SaveRound(ctx context.Context, r store.Round) error
	SetSource(ctx context.Context, st store.SourceStatus) error
	Sources(ctx context.Context, site string) ([]store.SourceStatus, error)
	Scoutings(ctx context.Context, site string) ([]garden.Scouting, error)
	Treatments(ctx context.Context, site string) ([]garden.Treatment, error)
}
