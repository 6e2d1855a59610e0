package station

import (
	"math"
	"time"

	"plotwarden/weather"
)

// Observation is one reading. Values are in the units of package weather, NaN
// where unknown.
type Observation struct {
	Time     time.Time     // when it was taken, UTC
	Interval time.Duration // before Time, to which Rain, Solar and Wetness belong; 0 when it has none of them
	Values   [weather.NumVars]float64
}

// NewObservation returns an observation without values.
func NewObservation(t time.Time) Observation {
	return Observation{Time: t.UTC(), Values: weather.NewRow(t).Values}
}

// Empty says whether nothing is known.
func (o Observation) Empty() bool {
	for _, x := range o.Values {
		if !math.IsNaN(x) {
			return false
		}
	}
	return true
}

// ofInterval says whether a column belongs to the time before the reading.
func ofInterval(v weather.Var) bool {
	return v == weather.Rain || v == weather.Solar || v == weather.Wetness
}

// MaxInterval is the longest interval of a reading.
const MaxInterval = 24 * time.Hour

// Ahead is by how much a station's clock may run fast.
const Ahead = 5 * time.Minute
