// Package outlook goes from a track to the dates ahead. The days after the
// known weather are run forward in many ways: each version of the forecast to
// its end, then each past year of the place from the same day of the year on.
// The quantiles are those of the dates on which these runs reach the event.
//
// A mean temperature is never put through a rule: degree-days are convex, so
// that they are fewer in the mean year than in the mean of the years, and an
// outlook built on normals runs late (a consequence of Jensen's inequality;
// derived).
package outlook

import (
	"plotwarden/civil"
	"plotwarden/risk"
)

// Horizon is how many days past the known weather an outlook looks at the most.
// An event beyond it has no date.
const Horizon = 180

// Question asks when a track reaches an event.
type Question struct {
	Event string     // the stage in plain words
	Today civil.Date // the local day of issue
	// Threshold is the total that makes the event. It is not used when
	// Infection is set: then the event is the next infection of the track.
	Threshold float64
	Infection bool
	// Thresholds, when there are any, take the place of Threshold: equally likely
	// values of a threshold that is not known well, such as one learnt from a log.
	Thresholds []float64
}

// Outlook answers a question. What observed weather has reached is certain and
// has its date in Reached; forecast days count as far as their versions agree.
func (f *Fan) Outlook(q Question) risk.Outlook {
	o := risk.Outlook{Model: f.track.Model, Event: q.Event, Issued: q.Today, Members: f.Size(), Basis: f.basis}
	if f.forecastDays() > 0 {
		o.ForecastTo = f.base.AddDays(f.forecastDays())
	}
	if len(q.Thresholds) == 0 && !q.Infection {
		if at, ok := f.reached(q.Threshold); ok {
			f.certain(&o, at)
			return o
		}
	}
	h := f.count(q)
	o.P50 = h.quantile(0.5)
	o.P10, o.P90 = h.interval(f.sampled(), f.forecastDays())
	o.Inside = h.inside(o.P10, o.P90)
	if n := float64(f.sampled()); n > 0 && f.beyond(o.P90) {
		o.Inside *= n / (n + 1) // the share of a year to come; see interval
	}
	for i, days := range risk.Horizons {
		o.Chance[i] = h.share(q.Today.AddDays(days))
	}
	if q.Infection {
		o.Periods = f.Periods(q.Today)
	}
	// Few years make a rough outlook only where the years decide something.
	o.Rough = f.rough && f.beyond(o.P90)
	return o
}

// beyond says whether a date lies after the forecast; zero does.
func (f *Fan) beyond(d civil.Date) bool {
	return d.IsZero() || d > f.base.AddDays(f.forecastDays())
}

func (f *Fan) certain(o *risk.Outlook, at civil.Date) {
	if at < o.Issued {
		o.Reached = at
	}
	o.P10, o.P50, o.P90, o.Inside = at, at, at, 1
	for i, h := range risk.Horizons {
		if at <= o.Issued.AddDays(h) {
			o.Chance[i] = 1
		}
	}
}

// reached looks for a total in observed weather. What was reached before a spray
// put the sum back to zero answers no question about the next time.
func (f *Fan) reached(threshold float64) (civil.Date, bool) {
	points := f.track.Points[:f.observed]
	from := 0
	for i := len(f.track.Events) - 1; i >= 0; i-- {
		if e := &f.track.Events[i]; e.Kind == risk.Reset && e.Date <= f.base {
			from = max(0, e.Date.Sub(f.track.Start))
			break
		}
	}
	for i := from; i < len(points); i++ {
		if points[i].Total >= nudged(threshold) {
			return points[i].Date, true
		}
	}
	return 0, false
}

// nudged keeps a sum of 174.99999999999997 from missing 175.
func nudged(threshold float64) float64 { return threshold - 1e-9*max(1, threshold) }

// count counts, over every way the days may run, on which day it has the event.
func (f *Fan) count(q Question) *histogram {
	h := newHistogram(f.base)
	switch {
	case q.Infection:
		f.countInfections(h, q.Today)
	case len(q.Thresholds) > 0:
		for _, t := range q.Thresholds {
			f.countCrossings(h, nudged(t))
		}
	default:
		f.countCrossings(h, nudged(q.Threshold))
	}
	return h
}
