package outlook

import (
	"math"

	"plotwarden/civil"
)

// maxDay bounds the days after the base: the forecast and the Horizon.
const maxDay = Horizon + 60

// histogram counts runs by the day on which they have the event.
type histogram struct {
	base  civil.Date
	days  [maxDay + 1]int32 // by days after base
	total int               // with the runs that never have it
	last  int               // highest day with a run
}

func newHistogram(base civil.Date) *histogram { return &histogram{base: base} }

func (h *histogram) add(day, runs int) {
	day = min(max(0, day), maxDay)
	h.days[day] += int32(runs)
	h.total += runs
	h.last = max(h.last, day)
}

func (h *histogram) never(runs int) { h.total += runs }

// quantile returns the smallest date by which a share p of the runs has the
// event (the inverse of the empirical distribution), zero when fewer do.
func (h *histogram) quantile(p float64) civil.Date {
	if day, ok := h.dayOf(p); ok {
		return h.base.AddDays(day)
	}
	return 0
}

// dayOf returns the day within which the share of the runs passes p.
func (h *histogram) dayOf(p float64) (day int, ok bool) {
	if h.total == 0 {
		return 0, false
	}
	// The small term keeps 0.1*10 from being counted as the second of ten.
	need := max(1, int32(math.Ceil(p*float64(h.total)-1e-9)))
	sum := int32(0)
	for day := 0; day <= h.last; day++ {
		if sum += h.days[day]; sum >= need {
			return day, true
		}
	}
	return 0, false
}

// passedBy returns the share of the runs by noon of a day, half of its runs
// counted: the middle of the step (Parzen's mid-distribution function, see Ma,
// Genton & Parzen 2011, from memory).
func (h *histogram) passedBy(day int) float64 {
	sum := int32(0)
	for d := range day {
		sum += h.days[d]
	}
	return (float64(sum) + float64(h.days[day])/2) / float64(h.total)
}

// interval returns the days between which the event falls in the runs' middle
// four fifths. Runs cross a threshold at an hour of which only the day is kept;
// the ends are those hours, taken to the nearest change of day, so that whole
// days on average hold four fifths and no more. With every day that the ends
// touch, they would hold one day's share more: 88 % and not 80 % a week ahead.
//
// years is the number of past years in the runs, 0 when they are no sample. A
// year to come falls before the i-th of n years with the chance i/(n+1), so that
// levels move outward by 0.4/n; days up to sure, which rest on versions of the
// forecast and not on a sample, are not moved.
func (h *histogram) interval(years, sure int) (low, high civil.Date) {
	out := 0.0
	if years > 0 {
		out = 0.4 / float64(years)
	}
	end := func(p, moved float64) (day int, ok bool) {
		if day, ok = h.dayOf(moved); ok && day <= sure {
			p, moved = 0, p
			day, ok = h.dayOf(moved)
		}
		if ok && h.passedBy(day) < moved {
			day++ // the hour lies in the second half of the day
		}
		return day, ok
	}
	if day, ok := end(0.1, 0.1-out); ok {
		low = h.base.AddDays(day)
	}
	if day, ok := end(0.9, 0.9+out); ok {
		high = h.base.AddDays(day - 1)
	}
	// Where a single day has nearly all runs, both ends are its own.
	if middle := h.quantile(0.5); !middle.IsZero() {
		low = min(low, middle)
		if !high.IsZero() {
			high = max(high, middle)
		}
	}
	return low, high
}

// share returns the share of the runs that have the event by a date.
func (h *histogram) share(by civil.Date) float64 {
	if h.total == 0 {
		return 0
	}
	sum := int32(0)
	for day := 0; day <= min(h.last, by.Sub(h.base)); day++ {
		sum += h.days[day]
	}
	return float64(sum) / float64(h.total)
}

// inside returns the share of the runs that have the event from one date to
// another, both included; a zero end is open.
func (h *histogram) inside(from, to civil.Date) float64 {
	if from.IsZero() {
		return 0
	}
	share := 1.0
	if !to.IsZero() {
		share = h.share(to)
	}
	return share - h.share(from.AddDays(-1))
}
