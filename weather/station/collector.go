package station

import (
	"sync"
	"time"

	"plotwarden/weather"
)

// keepFor is how long readings are kept to make hours of: a reading that comes
// late still finds its hour.
const keepFor = 72 * time.Hour

// Collector makes hours of readings that come one by one. It is safe for
// concurrent use. After a restart it knows nothing: the hour in which that
// happened may stay without rain.
type Collector struct {
	mu     sync.Mutex
	source string
	obs    []Observation
}

// NewCollector returns a collector whose hours have the source's name.
func NewCollector(source string) *Collector { return &Collector{source: source} }

// Add takes readings and returns the hours, up to now, of all that it keeps. An
// hour that is not over may still change.
func (c *Collector) Add(now time.Time, obs ...Observation) *weather.Series {
	c.mu.Lock()
	defer c.mu.Unlock()
	all := append(c.obs, obs...)
	c.obs = all[:0]
	for _, o := range inOrder(all) {
		if now.Sub(o.Time) <= keepFor {
			c.obs = append(c.obs, o)
		}
	}
	return Hours(c.obs, weather.Origin{Source: c.source, Kind: weather.Station, Fetched: now.UTC()})
}
