package store

import (
	"time"

	"plotwarden/weather"
)

// Fetched is what one fetch of one source brought for one site, and how the fetch
// went. An engine keeps many in one transaction, but each for itself: where one
// cannot be kept, nothing of it is, its source's status says so with the cause
// NotKept, and the others are kept.
type Fetched struct {
	Site, Source string
	At           time.Time // of the fetch
	// Hours are merged into the site's weather; nil when nothing came. Entries may
	// share a series.
	Hours *weather.Series
	// Ahead is the forecast as it was issued at At; nil when there is none.
	Ahead   *weather.Series
	Rejects []weather.Reject // what the checks took out
	// Cause and Failure say why the fetch failed, or failed in part; both are
	// empty after a good one.
	Cause, Failure string
	// Elevation is that of the grid cell that answered, in metres; nil when the
	// source did not say.
	Elevation *float64
}

// NotKept is the cause of a source's status when what came could not be stored.
const NotKept = "not-stored"

// Ensemble is the newest runs of an ensemble forecast for one site. Sites of one
// grid cell share the runs and, in an engine, the place that they take.
type Ensemble struct {
	Site, Source string
	At           time.Time // of the fetch
	// Members are the runs; all begin and end together. They are not to be changed.
	Members []*weather.Series
}
