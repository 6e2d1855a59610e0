// Package storetest holds what every engine of the store must do, as one suite
// that each engine's own tests run.
package storetest

import (
	"context"
	"testing"
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

// t0 is an hour in the middle of a chunk of any sensible size.
var t0 = time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)

// Run runs the suite. open returns an empty store and closes it when the test
// that asked for it ends.
func Run(t *testing.T, open func(t *testing.T) Store) {
	for name, test := range map[string]func(*testing.T, Store){
		"weather is merged and sites are apart": testWeather,
		"any saved weather comes back":          testWeatherModel,
		"forecasts are kept as issued":          testForecasts,
		"days are merged":                       testDays,
		"values set aside are kept":             testRejects,
		"quality of the weather":                testQuality,
		"a sample of forecasts":                 testSample,
		"a batch of fetches":                    testFetched,
		"one fetch of a batch is refused":       testFetchedApart,
		"old forecasts are thinned":             testThin,
		"ensembles":                             testEnsembles,
		"what was set aside is put back":        testPutBack,
		"rounds":                                testRounds,
		"a refused round leaves nothing":        testRoundIsWhole,
		"history keeps the last of a day":       testHistory,
		"slots are claimed once":                testSlots,
		"outbox":                                testOutbox,
		"outbox lease and clock jumps":          testLease,
		"one of many workers gets a message":    testManyWorkers,
		"prune keeps keys":                      testPrune,
		"what a person was told last":           testTold,
		"log":                                   testLog,
		"sources":                               testSources,
		"choices":                               testChoices,
		"subscriptions":                         testSubscriptions,
		"small things":                          testKept,
		"messages of no round":                  testAddMessages,
	} {
		t.Run(name, func(t *testing.T) { test(t, open(t)) })
	}
	for name, test := range made {
		t.Run(name, func(t *testing.T) { test(t, open(t)) })
	}
}
