package weather

import (
	"fmt"
	"time"
)

// Kind says how a value came to be, from the most to the least trusted.
type Kind uint8

// The kinds of value. The order is the order of preference for one hour.
const (
	Station      Kind = iota + 1 // measured by the grower's own station
	Nearby                       // measured by a station near by
	Analysis                     // a weather service's account of a past hour
	Forecast                     // a weather service's forecast of an hour that was ahead when issued
	Interpolated                 // filled here across a short gap
	Modelled                     // made here from daily extremes by a diurnal curve
)

var kindNames = map[Kind]string{Station: "own station", Nearby: "nearby station", Analysis: "analysis", Forecast: "forecast", Interpolated: "interpolated", Modelled: "modelled from daily values"}

// String returns the plain name of the kind.
func (k Kind) String() string {
	if s, ok := kindNames[k]; ok {
		return s
	}
	return fmt.Sprintf("Kind(%d)", uint8(k))
}

// Observed says whether values of this kind tell of an hour that has passed.
func (k Kind) Observed() bool { return k == Station || k == Nearby || k == Analysis }

// Origin is where values came from. Many values share one.
type Origin struct {
	Source    string    // name of the source, as in the configuration
	Kind      Kind      // how the value came to be
	Issued    time.Time // when the service made it; zero when it doesn't say
	Fetched   time.Time // when it reached us
	Corrected bool      // a bias correction was applied
}
