package model

import (
	"slices"

	"plotwarden/civil"
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
	plain := s.last == 0 && !s.broken && len(r.resets) == 0
	for i := from; i < len(w.points); i++ {
		if plain {
			if i = w.plain(i); i == len(w.points) {
				return
			}
		}
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

// plain writes points from i on as long as their days are just numbers, and
// returns the index of the first that is not.
func (w *writer) plain(i int) int {
	c, first := w.r.col, w.r.first
	if i+first < 0 {
		return i
	}
	for w.odd < len(c.odd) && c.odd[w.odd].day < i+first {
		w.odd++
	}
	stop := len(w.points)
	if w.odd < len(c.odd) {
		stop = c.odd[w.odd].day - first
	}
	if i >= stop {
		return i
	}
	for i < stop {
		// No day before the first flagged one has a flag.
		end, flags := min(stop, c.byDay.quiet-first), uint8(0)
		if i >= end {
			flags, end = c.flags[i+first], i+1
			for end < stop && c.flags[end+first] == flags {
				end++
			}
		}
		w.alike(i, end, flags)
		i = end
	}
	return stop
}

// alike writes points from i up to end, whose days are just numbers and have the
// same flags.
func (w *writer) alike(i, end int, flags uint8) {
	first, hit := w.r.first, w.hitPoint()
	v, points, date := w.r.col.v[i+first:end+first], w.points[i:end], w.r.track.Start+civil.Date(i)
	points = points[:len(v)]
	forecast, provisional := flags&isForecast != 0, flags&isProvisional != 0
	total, low, high, unknown := w.prev.Total, w.prev.Low, w.prev.High, w.prev.UnknownHours
	hit -= i
	for k := 0; k < len(v); k++ {
		ahead := w.ahead
		for ; k < len(v); k++ { // no call in it, so that all stays in registers
			x := v[k]
			total, low, high = total+x, low+x, high+x
			// Field by field: a composite value is built aside and copied.
			p := &points[k]
			p.Date, p.Value = date+civil.Date(k), x
			p.Total, p.Low, p.High = total, low, high
			p.UnknownHours = unknown
			p.Provisional, p.Forecast = provisional, forecast
			if total >= ahead || k == hit {
				break
			}
		}
		if k == len(v) {
			break
		}
		if k == hit {
			w.infections(i+k, &points[k])
			hit = w.hitPoint() - i
		}
		if total >= ahead {
			w.cross(&points[k])
		}
	}
	w.prev, w.was = points[len(points)-1], total
}

// hitPoint returns the point of the next infection, or one that never comes.
func (w *writer) hitPoint() int {
	if w.hit == len(w.r.col.hits) {
		return -1
	}
	return int(w.r.col.hits[w.hit].day) - w.r.first
}

// recent sums the last days alone, none of them before a spray that resets.
func (s sum) recent(w *writer, i int, p *point) {
	p.Total, p.Low, p.High = 0, 0, 0
	for j := max(0, i-s.last+1); j <= i; j++ {
		v := w.day(j)
		p.Total, p.Low, p.High = p.Total+v.value, p.Low+v.low, p.High+v.high
		if s.reset && j < i && slices.Contains(w.r.resets, w.points[j].Date) {
			p.Total, p.Low, p.High = 0, 0, 0
		}
	}
}
