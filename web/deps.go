// Package web is the dashboard: server-rendered pages that work without script,
// make no request outside, and say plain words first, the numbers one step away
// and the source one more.
package web

import (
	"plotwarden/web/page"

	"context"
	"log/slog"
	"net/http"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/risk/planting"
	"plotwarden/store"
	"plotwarden/weather"
	"plotwarden/web/view"
)

// Data is what the pages read from the store. All methods must be safe for many
// goroutines.
type Data interface {
	// LatestRound returns a site's newest round, or an error that wraps
	// store.ErrNotFound when none has run.
	LatestRound(ctx context.Context, site string) (store.Round, error)
	// Sources returns how a site's weather sources are doing.
	Sources(ctx context.Context, site string) ([]store.SourceStatus, error)
	// Treatments returns what was done on a site, by time.
	Treatments(ctx context.Context, site string) ([]garden.Treatment, error)
	// Records returns the treatment log with all its fields, corrected entries too.
	Records(ctx context.Context, site string) ([]garden.Record, error)
	// Scoutings returns what was seen on a site, by date.
	Scoutings(ctx context.Context, site string) ([]garden.Scouting, error)
	// AssessmentHistory returns the last assessments of each day, both ends
	// included; an empty key is every planting and threat.
	AssessmentHistory(ctx context.Context, site, key string, from, to civil.Date) ([]plan.Assessment, error)
	// LoadWeather returns the hours from one instant up to another; nil or an
	// error that wraps store.ErrNotFound when there are none.
	LoadWeather(ctx context.Context, site string, from, to time.Time) (*weather.Series, error)
}

// Deps is what the pages are made from.
type Deps struct {
	Kit       *page.Kit
	Garden    func() *garden.Garden // the garden as it is now; nil is empty
	Catalogue view.Catalogue        // *catalog.Catalogue has it
	// SiteCatalogue returns the catalogue by which a site is judged where its region
	// has changed numbers, nil where it has not. nil: no region has.
	SiteCatalogue func(ctx context.Context, site string) view.Catalogue
	Data          Data
	Now           func() time.Time
	// Wet says how wet the leaves were and will be; nil shows measured leaf
	// wetness alone.
	Wet view.Wet
	// MaxAge is how old a round may be before everything it judged is shown as
	// blind; 0 is view.DefaultMaxAge.
	MaxAge time.Duration
	MoreWork
	Metrics http.Handler                    // served at /metrics; nil is not found
	Health  func(ctx context.Context) error // nil is always well
	Log     *slog.Logger                    // for faults behind a 500; nil is slog.Default
}

// MoreWork sharpens the pages of work; all of it may be left out.
type MoreWork struct {
	// Frosts says when past seasons of a site had their frosts.
	Frosts func(site string) (spring, autumn planting.Chances)
	Rules  plan.Rules // the zero value is plan.DefaultRules
}
