package model

import (
	"math"

	"plotwarden/civil"
	"plotwarden/risk"
)

// sum is how day values become a running total.
type sum struct {
	last   int  // only the last so many days; 0 is all
	reset  bool // back to 0 at the end of a spray's day
	broken bool // back to 0 on a day that surely has no value
}

// total writes points whose total is a running sum, and their events.
func (s sum) total(r *Runner, from int) {
	w := r.writer(from)
	for i := from; i < len(w.points); i++ {
		v := w.day(i)
		p := w.next(i, v)
		p.Total, p.Low, p.High = w.prev.Total+v.value, w.prev.Low+v.low, w.prev.High+v.high
		switch {
		case s.last > 0:
			s.recent(w, i, p)
		case s.broken && v.high == 0:
			p.Total, p.Low, p.High = 0, 0, 0
		case s.broken && v.low == 0:
			p.Low = 0
		}
		if w.sprayedOn(p.Date) && s.reset {
			w.reset(p)
		}
		w.infections(i, p)
		w.done(p)
	}
}

// recent sums the last days alone, none of them before a spray that resets.
func (s sum) recent(w *writer, i int, p *point) {
	p.Total, p.Low, p.High = 0, 0, 0
	for j := max(0, i-s.last+1); j <= i; j++ {
		v := w.day(j)
		p.Total, p.Low, p.High = p.Total+v.value, p.Low+v.low, p.High+v.high
		if s.reset && w.wasSprayed(w.points[j].Date) && j < i {
			p.Total, p.Low, p.High = 0, 0, 0
		}
	}
}

// writer walks the points of a runner.
type writer struct {
	r       *Runner
	points  []point
	prev    point   // the one before
	was     float64 // its total; below every threshold before the first point
	hit     int     // next infection of the column
	sprayed bool    // a spray was before the point
	ahead   float64 // lowest threshold above was
}

func (r *Runner) writer(from int) *writer {
	w := &writer{r: r, points: r.track.Points, was: -1}
	if from > 0 {
		w.prev = w.points[from-1]
		w.was = w.prev.Total
		for _, d := range r.resets {
			w.sprayed = w.sprayed || (d >= r.track.Start && d <= w.prev.Date)
		}
	}
	day := int32(max(0, r.first+from))
	for w.hit = len(r.col.hits); w.hit > 0 && r.col.hits[w.hit-1].day >= day; {
		w.hit--
	}
	w.aim()
	return w
}

// day returns the value of point i. Of days before the season nothing is known.
func (w *writer) day(i int) dayValue {
	if i += w.r.first; i >= 0 {
		return w.r.col.vals[i]
	}
	e := env{sn: w.r.sn, bed: w.r.bed, sus: w.r.sus}
	return dayValue{high: w.r.p.most(&e), unknown: 24}
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

func (w *writer) wasSprayed(d civil.Date) bool {
	for _, s := range w.r.resets {
		if s == d {
			return true
		}
	}
	return false
}

func (w *writer) sprayedOn(d civil.Date) bool {
	if len(w.r.resets) == 0 || !w.wasSprayed(d) {
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

// nudge keeps a sum of 174.99999999999997 from missing a threshold of 175.
const nudge = 1e-9

// reached says whether a total is at a threshold.
func reached(total, threshold float64) bool {
	return total >= threshold-nudge*max(1, threshold)
}

// aim finds the lowest threshold that is still ahead, so that most days need
// but one comparison.
func (w *writer) aim() {
	w.ahead = math.Inf(1)
	for i := range w.r.stages {
		if s := &w.r.stages[i]; s.Holds(w.r.sus, w.sprayed) && !reached(w.was, s.Value) {
			w.ahead = min(w.ahead, s.Value)
		}
	}
}

// done ends a point: it adds an event for each threshold that the total rose to
// and moves on.
func (w *writer) done(p *point) {
	w.prev = *p
	if p.Total >= w.was && !reached(p.Total, w.ahead) {
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

// event adds an event of a point.
func (w *writer) event(p *point, kind risk.EventKind, name string, value float64) {
	e := risk.Event{Kind: kind, Name: name, Date: p.Date, Value: value, Forecast: p.Forecast}
	w.r.track.Events = append(w.r.track.Events, e)
}
