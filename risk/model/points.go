package model

import (
	"math"
	"slices"

	"plotwarden/civil"
	"plotwarden/risk"
)

// writer walks the points of a runner.
type writer struct {
	r       *Runner
	points  []point
	prev    point   // the one before
	was     float64 // its total; below every threshold before the first point
	odd     int     // next odd day of the column
	hit     int     // next infection of the column
	sprayed bool    // a spray was before the point
	ahead   float64 // lowest threshold above was, less the nudge
}

func (r *Runner) writer(from int) *writer {
	w := &r.w
	*w = writer{r: r, points: r.track.Points, was: -1}
	if from > 0 {
		w.prev = w.points[from-1]
		w.was = w.prev.Total
		for _, d := range r.resets {
			w.sprayed = w.sprayed || (d >= r.track.Start && d <= w.prev.Date)
		}
	}
	day := max(0, r.first+from)
	w.odd = r.col.oddFrom(day)
	for w.hit = len(r.col.hits); w.hit > 0 && int(r.col.hits[w.hit-1].day) >= day; {
		w.hit--
	}
	w.aim()
	return w
}

// day returns the value of point i. Of days before the season nothing is known.
func (w *writer) day(i int) dayValue {
	if i += w.r.first; i >= 0 {
		return w.r.col.at(i)
	}
	return dayValue{high: w.r.p.most(&w.r.env), unknown: 24}
}

// next starts point i.
func (w *writer) next(i int, v dayValue) *point {
	p := &w.points[i]
	*p = point{
		Date: w.r.track.Start + civil.Date(i), Value: v.value,
		UnknownHours: w.prev.UnknownHours + int(v.unknown),
		Forecast:     v.flags&isForecast != 0,
		Provisional:  v.flags&isProvisional != 0,
	}
	return p
}

// sprayedOn says whether the day of a point is that of a spray.
func (w *writer) sprayedOn(d civil.Date) bool {
	if len(w.r.resets) == 0 || !slices.Contains(w.r.resets, d) {
		return false
	}
	w.sprayed = true
	w.aim()
	return true
}

// reset puts the total back to 0 at the end of a spray's day: that day's weather
// went before the spray, and counting goes on with the next day.
func (w *writer) reset(p *point) {
	w.event(p, risk.Reset, "spray", p.Total)
	p.Total, p.Low, p.High = 0, 0, 0
}

// infections adds the events of point i from the column.
func (w *writer) infections(i int, p *point) {
	hits, day := w.r.col.hits, int32(w.r.first+i)
	for w.hit < len(hits) && hits[w.hit].day == day {
		h := hits[w.hit]
		w.event(p, risk.Infection, w.r.names[h.class], h.value)
		w.hit++
	}
}

// event adds an event of a point.
func (w *writer) event(p *point, kind risk.EventKind, name string, value float64) {
	e := risk.Event{Kind: kind, Name: name, Date: p.Date, Value: value, Forecast: p.Forecast}
	w.r.track.Events = append(w.r.track.Events, e)
}

// reached says whether a total is at a threshold. A sum of 174.99999999999997
// does not miss 175.
func reached(total, threshold float64) bool { return total >= nudged(threshold) }

func nudged(threshold float64) float64 { return threshold - 1e-9*max(1, threshold) }

// aim finds the lowest threshold that is still ahead, so that most days need
// but one comparison.
func (w *writer) aim() {
	w.ahead = math.Inf(1)
	for i := range w.r.stages {
		if s := &w.r.stages[i]; s.Holds(w.r.sus, w.sprayed) && !reached(w.was, s.Value) {
			w.ahead = min(w.ahead, nudged(s.Value))
		}
	}
}

// done ends a point: it adds an event for each threshold that the total rose to
// and moves on.
func (w *writer) done(p *point) {
	if p.UnknownHours == 0 && p.Low != p.High {
		p.UnknownHours = 1 // an hour before the start was needed and is unknown
	}
	w.prev = *p
	w.cross(p)
}

func (w *writer) cross(p *point) {
	if p.Total >= w.was && p.Total < w.ahead {
		w.was = p.Total
		return
	}
	for i := range w.r.stages {
		s := &w.r.stages[i]
		if s.Holds(w.r.sus, w.sprayed) && reached(p.Total, s.Value) && !reached(w.was, s.Value) {
			w.event(p, risk.Crossing, s.Name, s.Value)
		}
	}
	w.was = p.Total
	w.aim()
}
