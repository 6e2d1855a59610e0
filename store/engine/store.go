package engine

import (
	"context"
	"time"

	"plotwarden/civil"
	"plotwarden/garden"
	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/weather"
)

// Store is all that an engine offers.
type Store interface {
	SaveWeather(ctx context.Context, site string, s *weather.Series) error
	LoadWeather(ctx context.Context, site string, from, to time.Time) (*weather.Series, error)
	SaveForecast(ctx context.Context, site, source string, issued time.Time, s *weather.Series) error
	Forecasts(ctx context.Context, site string, from, to time.Time) ([]store.Forecast, error)
	SaveFetched(ctx context.Context, list []store.Fetched) ([]error, error)
	ThinForecasts(ctx context.Context, site string, before time.Time) (int, error)
	SaveEnsembles(ctx context.Context, list []store.Ensemble) error
	Ensemble(ctx context.Context, site string) (store.Ensemble, error)
	SampleForecasts(ctx context.Context, site string, from, to time.Time, every time.Duration, use func(store.Forecast) error) error
	SaveRejects(ctx context.Context, site string, rejects []weather.Reject) error
	Rejects(ctx context.Context, site string, from, to time.Time) ([]weather.Reject, error)
	PutBack(ctx context.Context, site string, rejects []weather.Reject) error
	CountRejects(ctx context.Context, site string, from time.Time) ([]store.SetAside, error)
	SaveQuality(ctx context.Context, q store.Quality) error
	Quality(ctx context.Context, site string) (store.Quality, error)
	SaveDays(ctx context.Context, site string, days []weather.Day) error
	LoadDays(ctx context.Context, site string, from, to civil.Date) ([]weather.Day, error)

	SaveRound(ctx context.Context, r store.Round) error
	LatestRound(ctx context.Context, site string) (store.Round, error)
	AssessmentHistory(ctx context.Context, site, key string, from, to civil.Date) ([]plan.Assessment, error)

	ClaimSlot(ctx context.Context, job string, slot time.Time) error
	Due(ctx context.Context, now time.Time, limit int) ([]store.Delivery, error)
	Begin(ctx context.Context, key string, now time.Time) (attempt int, err error)
	Sent(ctx context.Context, key string, now time.Time) error
	Retry(ctx context.Context, key string, attempt int, next time.Time, cause error) error
	Fail(ctx context.Context, key string, attempt int, cause error) error
	Delivery(ctx context.Context, key string) (store.Delivery, error)
	Deliveries(ctx context.Context, site string, limit int) ([]store.Delivery, error)
	LastTold(ctx context.Context, site, person string) ([]byte, error)
	Newest(ctx context.Context, site, person, channel string, limit int) ([]store.Delivery, error)
	Failed(ctx context.Context, since time.Time, limit int) ([]store.Delivery, error)
	Addressed(ctx context.Context, site string, slot time.Time) (map[string]bool, error)
	OutboxStats(ctx context.Context) (store.OutboxStats, error)
	Prune(ctx context.Context, before time.Time) error

	AddScouting(ctx context.Context, x garden.Scouting) error
	Scoutings(ctx context.Context, site string) ([]garden.Scouting, error)
	AddTreatment(ctx context.Context, x garden.Treatment) error
	Treatments(ctx context.Context, site string) ([]garden.Treatment, error)
	PlainTreatments(ctx context.Context, site string) ([]garden.Treatment, error)
	LogSites(ctx context.Context) ([]string, error)
	SetSource(ctx context.Context, st store.SourceStatus) error
	Sources(ctx context.Context, site string) ([]store.SourceStatus, error)

	Choose(ctx context.Context, c store.Choice) error
	TakeBack(ctx context.Context, c store.Choice) error
	Choices(ctx context.Context, site string) ([]store.Choice, error)
	Subscribe(ctx context.Context, x store.Subscription) error
	Unsubscribe(ctx context.Context, person, id string) error
	Subscriptions(ctx context.Context, person string) ([]store.Subscription, error)
	Keep(ctx context.Context, name string, body []byte) error
	KeepFirst(ctx context.Context, name string, body []byte) ([]byte, error)
	Kept(ctx context.Context, name string) ([]byte, error)
	AddMessages(ctx context.Context, list []store.Message) error

	Made

	Check(ctx context.Context) error
	Close() error
}

// Made is what an engine keeps of that which people make in the browser.
type Made interface {
	PutThing(ctx context.Context, t store.Thing, expect int64) (store.Thing, error)
	Things(ctx context.Context, after int64) ([]store.Thing, error)
	ThingVersions(ctx context.Context, kind, id string) ([]store.Thing, error)
	AddRecord(ctx context.Context, r garden.Record) error
	Records(ctx context.Context, site string) ([]garden.Record, error)
	AddPhoto(ctx context.Context, p store.Photo) error
	Photo(ctx context.Context, id string) (store.Photo, error)
	Photos(ctx context.Context, site string) ([]store.Photo, error)
	AddTuning(ctx context.Context, t store.Tuning) error
	Tunings(ctx context.Context, region string) ([]store.Tuning, error)

	PutAccount(ctx context.Context, a store.Account) (store.Account, error)
	Account(ctx context.Context, person string) (store.Account, error)
	AccountByLogin(ctx context.Context, login string) (store.Account, error)
	Accounts(ctx context.Context) ([]store.Account, error)
	AddGrant(ctx context.Context, g store.Grant) error
	Grant(ctx context.Context, hash string) (store.Grant, error)
	Grants(ctx context.Context, kind, person, site string) ([]store.Grant, error)
	SeeGrant(ctx context.Context, hash string, at time.Time) error
	EndGrant(ctx context.Context, id string, at time.Time) error
	PruneGrants(ctx context.Context, before time.Time) error
	AddAudit(ctx context.Context, a store.Audit) error
	Audits(ctx context.Context, before int64, limit int) ([]store.Audit, error)
}
