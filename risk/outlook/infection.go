package outlook

import (
	"sort"

	"plotwarden/civil"
	"plotwarden/risk"
)

// next returns the first day after a number of days past the base, as such a
// number, on which the year has an infection; -1 when there is none within the
// horizon.
func (w *weatherYear) next(after int) int {
	hits := w.track.hits
	i := sort.Search(len(hits), func(i int) bool { return int(hits[i]) > w.at+after })
	if i < len(hits) && int(hits[i])-w.at <= after+Horizon {
		return int(hits[i]) - w.at
	}
	return -1
}

// countInfections counts the day of the next infection from today on. The days
// from today to the base, if any, are observed.
func (f *Fan) countInfections(h *histogram, today civil.Date) {
	for _, e := range f.track.Events {
		if e.Kind == risk.Infection && e.Date >= today && e.Date <= f.base {
			h.add(0, f.Size())
			return
		}
	}
	for r := range f.runs {
		if day := f.runs[r].next(today.Sub(f.base)); day > 0 {
			h.add(day, max(1, len(f.weather)))
			continue
		}
		if len(f.weather) == 0 {
			h.never(1)
		}
		after := max(len(f.runs[r].totals), today.Sub(f.base)-1)
		for y := range f.weather {
			if day := f.weather[y].next(after); day > 0 {
				h.add(day, 1)
			} else {
				h.never(1)
			}
		}
	}
}

// next returns the first day, from a number of days past the base on, with an
// infection; 0 when there is none.
func (r *run) next(from int) int {
	for i := max(0, from-1); i < len(r.hits); i++ {
		if r.hits[i] {
			return i + 1
		}
	}
	return 0
}

// leastShare is the share of the versions from which a forecast day belongs to
// an infection period that is worth naming.
const leastShare = 0.1

// weekDays is the length of the stretches beyond the forecast.
const weekDays = 7

// Periods returns the infection periods to come within four weeks, each with
// the share of the ways ahead that have an infection in it: within the forecast,
// days in a row of which each has one in at least a tenth of the versions;
// beyond it, weeks of past years.
func (f *Fan) Periods(today civil.Date) []risk.Period {
	var out []risk.Period
	first, days := max(1, today.Sub(f.base)), f.forecastDays()
	for d := first; d <= days; d++ {
		from := d
		for d <= days && f.shareOf(d, d) >= leastShare {
			d++
		}
		if d > from {
			out = append(out, risk.Period{From: f.base.AddDays(from), To: f.base.AddDays(d - 1), Chance: f.shareOf(from, d-1), Forecast: true})
		}
	}
	if len(f.weather) == 0 {
		return out
	}
	end := today.AddDays(risk.Horizons[3]).Sub(f.base)
	for from := max(first, days+1); from <= end; from += weekDays {
		to := min(end, from+weekDays-1)
		n := 0
		for y := range f.weather {
			if day := f.weather[y].next(from - 1); day > 0 && day <= to {
				n++
			}
		}
		if n > 0 {
			out = append(out, risk.Period{From: f.base.AddDays(from), To: f.base.AddDays(to), Chance: float64(n) / float64(len(f.weather))})
		}
	}
	return out
}

// shareOf returns the share of the versions of the forecast that have an
// infection on the days from and to or between them, counted from the base.
func (f *Fan) shareOf(from, to int) float64 {
	n := 0
	for i := range f.runs {
		if day := f.runs[i].next(from); day > 0 && day <= to {
			n++
		}
	}
	return float64(n) / float64(len(f.runs))
}
