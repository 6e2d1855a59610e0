// Package storetest holds what every engine of the store must do, as one suite
// that each engine's own tests run.
package storetest

import (
	"testing"
	"time"

	"plotwarden/store/engine"
)

// Store is all that an engine offers.
type Store = engine.Store

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
		"a clock put back":                      testClockPutBack,
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
