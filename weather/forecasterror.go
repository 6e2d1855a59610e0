package weather

import (
	"math"
	"time"
)

// Issue is one forecast as it was issued.
type Issue struct {
	At     time.Time
	Series *Series
}

// RainCount compares forecast with measured rain, hour by hour: yes or no.
type RainCount struct {
	Hits        int // forecast and fell
	Misses      int // fell and was not forecast
	FalseAlarms int // forecast and did not fall
	DryRight    int // neither
}

// Hours returns the number of hours compared.
func (r RainCount) Hours() int { return r.Hits + r.Misses + r.FalseAlarms + r.DryRight }

// Caught returns the share of the hours with rain that were forecast as such, 0
// to 1 (the probability of detection, WWRP/WGNE forecast verification); NaN when
// no rain fell.
func (r RainCount) Caught() float64 { return share(r.Hits, r.Hits+r.Misses) }

// False returns the share of the hours forecast with rain that stayed dry, 0 to
// 1 (the false alarm ratio, WWRP/WGNE forecast verification); NaN when none was
// forecast.
func (r RainCount) False() float64 { return share(r.FalseAlarms, r.Hits+r.FalseAlarms) }

func share(part, whole int) float64 {
	if whole == 0 {
		return math.NaN()
	}
	return float64(part) / float64(whole)
}

// ForecastError is how far the forecasts of one source lay off at one place. The
// lists are by lead in whole days, from when the forecast was issued to the hour:
// the first is for the 24 hours after the issue.
type ForecastError struct {
	Temp []Error // C
	RH   []Error // %
	Rain []RainCount
}

// Limits of ForecastErrors.
const (
	maxLeadDays = 16
	// rainFrom is the least rain of an hour, in mm, that counts as rain: what a
	// tipping bucket of the common size shows. common practice
	rainFrom = 0.2
)

// ForecastErrors compares forecasts as they were issued with what was then
// observed at the place: measured by a station, else told by a service's
// analysis. observed is the series of the place with the origins of its values;
// hours that were not observed count for nothing, nor do those before the issue.
// trusted says of an origin whether to compare with it; nil trusts every
// observed one. A source that is held against its own analysis looks better than
// it is: trust only stations where there is one.
func ForecastErrors(observed *Series, trusted func(Origin) bool, issues []Issue) ForecastError {
	var temp, rh [maxLeadDays]errorSum
	var rain [maxLeadDays]RainCount
	leads := 0
	for _, is := range issues {
		for i := max(0, is.Series.Index(is.At.Add(time.Hour-1))); i < is.Series.n; i++ {
			at := is.Series.Time(i)
			lead := int(at.Sub(is.At) / (24 * time.Hour))
			if lead >= maxLeadDays {
				break
			}
			j := observed.Index(at)
			known := func(v Var) bool {
				o, ok := observed.OriginAt(v, j)
				f, forecast := is.Series.OriginAt(v, i)
				return ok && forecast && !f.Kind.Observed() && o.Kind.Observed() && (trusted == nil || trusted(o))
			}
			any := false
			if known(Temp) {
				temp[lead].add(is.Series.Value(Temp, i) - observed.Value(Temp, j))
				any = true
			}
			if known(RH) {
				rh[lead].add(is.Series.Value(RH, i) - observed.Value(RH, j))
				any = true
			}
			if known(Rain) {
				rain[lead].add(is.Series.Value(Rain, i) >= rainFrom, observed.Value(Rain, j) >= rainFrom)
				any = true
			}
			if any {
				leads = max(leads, lead+1)
			}
		}
	}
	out := ForecastError{Temp: make([]Error, leads), RH: make([]Error, leads), Rain: make([]RainCount, leads)}
	for d := range leads {
		out.Temp[d], out.RH[d], out.Rain[d] = temp[d].error(), rh[d].error(), rain[d]
	}
	return out
}

func (r *RainCount) add(forecast, fell bool) {
	switch {
	case forecast && fell:
		r.Hits++
	case fell:
		r.Misses++
	case forecast:
		r.FalseAlarms++
	default:
		r.DryRight++
	}
}
