// Package outlook goes from a track to the dates ahead. Each member is one way
// in which the days after the known weather may run; the quantiles are those of
// the dates on which members reach the event. A mean temperature is never put
// through a rule: degree-days are convex, so that the mean year runs late
// (a consequence of Jensen's inequality; derived).
package outlook

import (
	"math"
	"slices"

	"plotwarden/civil"
	"plotwarden/risk"
)

// Horizon is how many days ahead an outlook looks at the most. An event beyond
// it has no date.
const Horizon = 180

// Question asks when a track reaches an event.
type Question struct {
	Event string     // the stage in plain words
	Today civil.Date // the local day of issue
	// Threshold is the total that makes the event. It is not used when
	// Infection is set: then the event is the next infection of the track.
	Threshold float64
	Infection bool
}

// Member is one possible run of the days after the track's end.
type Member struct {
	Name string // "2014", "member 7"
	// Shift is added to the track's total at its end: what this member's forecast
	// differs from the track's own.
	Shift float64
	// Values are the model's own daily values, the first for the day after the
	// track's last. NaN is unknown and counts as no progress.
	Values []float64
	// Infections says for the same days whether the member has an infection.
	Infections []bool
}

// Compute answers a question from a track (observed, then forecast) and the
// members that continue it. Without members the outlook knows only what the
// track itself reaches; see Pace for a fallback.
func Compute(q Question, t *risk.Track, members []Member) risk.Outlook {
	o := risk.Outlook{Model: t.Model, Event: q.Event, Issued: q.Today, Members: len(members)}
	if at, ok := reachedIn(q, t); ok {
		if at < q.Today {
			o.Reached = at
		}
		certain(&o, at)
		return o
	}
	dates := make([]civil.Date, 0, len(members))
	for i := range members {
		dates = append(dates, members[i].reach(q, t))
	}
	slices.Sort(dates)
	o.P10, o.P50, o.P90 = quantile(dates, 0.1), quantile(dates, 0.5), quantile(dates, 0.9)
	for i, h := range risk.Horizons {
		o.Chance[i] = share(dates, q.Today.AddDays(h))
	}
	o.Rough = len(members) < 5
	return o
}

// never sorts after every date.
const never = civil.Date(math.MaxInt32)

// reachedIn looks for the event in the track itself.
func reachedIn(q Question, t *risk.Track) (civil.Date, bool) {
	if q.Infection {
		for _, e := range t.Events {
			if e.Kind == risk.Infection && e.Date >= q.Today {
				return e.Date, true
			}
		}
		return 0, false
	}
	for i := sinceReset(t); i < len(t.Points); i++ {
		if t.Points[i].Total >= q.Threshold {
			return t.Points[i].Date, true
		}
	}
	return 0, false
}

// sinceReset returns the first point of the running sum: what was reached before
// a spray put the sum back to zero answers no question about the next time.
func sinceReset(t *risk.Track) int {
	for i := len(t.Events) - 1; i >= 0; i-- {
		if t.Events[i].Kind == risk.Reset {
			return max(0, t.Events[i].Date.Sub(t.Start))
		}
	}
	return 0
}

func certain(o *risk.Outlook, at civil.Date) {
	o.P10, o.P50, o.P90 = at, at, at
	for i, h := range risk.Horizons {
		if at <= o.Issued.AddDays(h) {
			o.Chance[i] = 1
		}
	}
}

func (m *Member) reach(q Question, t *risk.Track) civil.Date {
	if len(t.Points) == 0 {
		return never
	}
	last := t.Points[len(t.Points)-1]
	if q.Infection {
		for i, hit := range m.Infections {
			if hit && i < Horizon {
				return last.Date.AddDays(i + 1)
			}
		}
		return never
	}
	total := last.Total + m.Shift
	if total >= q.Threshold {
		return last.Date
	}
	for i, v := range m.Values {
		if i >= Horizon {
			break
		}
		if !math.IsNaN(v) {
			total += v
		}
		if total >= q.Threshold {
			return last.Date.AddDays(i + 1)
		}
	}
	return never
}

// quantile returns the smallest date by which a share p of the members has
// reached the event (the inverse of the empirical distribution), zero when
// fewer do.
func quantile(sorted []civil.Date, p float64) civil.Date {
	if len(sorted) == 0 {
		return 0
	}
	// The small term keeps 0.1*10 from being counted as the second of ten.
	i := max(0, int(math.Ceil(p*float64(len(sorted))-1e-9))-1)
	if sorted[i] == never {
		return 0
	}
	return sorted[i]
}

func share(sorted []civil.Date, by civil.Date) float64 {
	if len(sorted) == 0 {
		return 0
	}
	n, _ := slices.BinarySearch(sorted, by+1)
	return float64(n) / float64(len(sorted))
}
