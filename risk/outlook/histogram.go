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
	if h.total == 0 {
		return 0
	}
	// The small term keeps 0.1*10 from being counted as the second of ten.
	need := max(1, int32(math.Ceil(p*float64(h.total)-1e-9)))
	sum := int32(0)
	for day := 0; day <= h.last; day++ {
		if sum += h.days[day]; sum >= need {
			return h.base.AddDays(day)
		}
	}
	return 0
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
