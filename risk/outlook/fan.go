package outlook

import (
	"cmp"
	"math"
	"slices"

	"plotwarden/civil"
	"plotwarden/risk"
)

// Fan is all the ways in which the days after the observed weather may run, for
// one rule at one place: every version of the forecast, each followed by every
// past year. It answers any number of questions at a cost linear in the years.
type Fan struct {
	track    *risk.Track
	observed int        // points of the track that do not rest on forecast
	base     civil.Date // day of the last of them
	total    float64    // its total
	sums     bool       // totals are running sums, so that years can be added to them
	runs     []run      // at least one; those of one length together, the furthest on first
	years    []year
	weather  []weatherYear // of years, whose infections are known; nil for a fallback
	rough    bool
	basis    string
}

// run is one version of the forecast days.
type run struct {
	totals []float64 // after each day
	hits   []bool    // infection on each day; nil when there is none
	end    float64   // total after the last day
	carry  float64   // what its last day adds to the days after it, in all; see carried
}

// year is one way in which the days go on after the base.
type year struct {
	name   string
	totals []float64 // running, [0] at the end of the base's day of the year
}

// Size returns the number of ways.
func (f *Fan) Size() int { return len(f.runs) * max(1, len(f.years)) }

// NewFan makes the ways ahead of a track, which has at least one point, observed
// and then forecast. runs are the rule's tracks over each version of the
// forecast; without any, the track's own forecast days are the only version, and
// stand as certain as if they were measured. A nil history, or one that does not
// have the day of the year, makes the fallback; see Pace.
func NewFan(t *risk.Track, runs []*risk.Track, h *History) *Fan {
	return newFan(t, runs, h, &paceMeasured)
}

func newFan(t *risk.Track, runs []*risk.Track, h *History, fit *paceFit) *Fan {
	f := &Fan{track: t, sums: isSum(t)}
	f.observed = len(t.Points)
	for f.observed > 1 && t.Points[f.observed-1].Forecast {
		f.observed--
	}
	f.base, f.total = t.Points[f.observed-1].Date, t.Points[f.observed-1].Total
	for _, r := range runs {
		f.addRun(r)
	}
	if len(f.runs) == 0 {
		f.addRun(t)
	}
	slices.SortFunc(f.runs, func(a, b run) int {
		return cmp.Or(cmp.Compare(len(a.totals), len(b.totals)), cmp.Compare(b.end, a.end))
	})
	f.addYears(h, fit)
	f.carried()
	f.basis = f.words()
	return f
}

// addRun takes the days of a track after the base. Of a sum only its days' own
// values are taken, so that the track may have been run over a part of the
// season alone.
func (f *Fan) addRun(t *risk.Track) {
	first := f.base.Sub(t.Start) + 1
	r := run{end: f.total}
	if n := len(t.Points) - max(0, first); n > 0 {
		r.totals = make([]float64, 0, n)
	}
	for i := max(0, first); i < len(t.Points); i++ {
		p := &t.Points[i]
		if f.sums && !math.IsNaN(p.Value) {
			r.end += p.Value
		} else if !f.sums {
			r.end = p.Total
		}
		r.totals = append(r.totals, r.end)
	}
	if len(r.totals) > maxDay-Horizon {
		r.totals = r.totals[:maxDay-Horizon]
		r.end = r.totals[len(r.totals)-1]
	}
	for _, e := range t.Events {
		if i := e.Date.Sub(f.base) - 1; e.Kind == risk.Infection && i >= 0 && i < len(r.totals) {
			if r.hits == nil {
				r.hits = make([]bool, len(r.totals))
			}
			r.hits[i] = true
		}
	}
	f.runs = append(f.runs, r)
}

// forecastDays is the length of the longest run.
func (f *Fan) forecastDays() int { return len(f.runs[len(f.runs)-1].totals) }

// isSum says whether each total is the one before plus the day's value, save
// where a spray put it back to 0.
func isSum(t *risk.Track) bool {
	for i := 1; i < len(t.Points); i++ {
		p, before := &t.Points[i], t.Points[i-1].Total
		if p.Total == 0 && wasReset(t, p.Date) {
			continue
		}
		if math.Abs(before+p.Value-p.Total) > 1e-6*max(1, math.Abs(p.Total)) {
			return false
		}
	}
	return true
}

func wasReset(t *risk.Track, d civil.Date) bool {
	return slices.ContainsFunc(t.Events, func(e risk.Event) bool { return e.Kind == risk.Reset && e.Date == d })
}

// sampled returns how many past years stand for themselves; 0 where there are
// none or where few were spread, which has their number in it.
func (f *Fan) sampled() int {
	if n := len(f.weather); n >= EnoughYears {
		return n
	}
	return 0
}
