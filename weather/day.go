package weather

import (
	"math"
	"time"

	"plotwarden/civil"
)

// Day is one day's extremes, means and sums. NaN is missing; a Day made outside
// this package should start from NewDay, so that what it leaves out is missing
// and not 0.
type Day struct {
	Date  civil.Date
	Min   float64 // lowest air temperature, C
	Max   float64 // highest air temperature, C
	Rain  float64 // mm; NaN when fewer than MinHours hours are known
	Soil  float64 // mean soil temperature, C
	Wind  float64 // mean wind speed, m/s
	Hours int     // hours with a known temperature; 24 for a record of daily extremes
	Kind  Kind    // least trusted kind among the day's temperatures; 0 when none is known
}

// NewDay returns the day with every value missing.
func NewDay(date civil.Date) Day {
	nan := math.NaN()
	return Day{Date: date, Min: nan, Max: nan, Rain: nan, Soil: nan, Wind: nan}
}

// MinHours is how many of a day's hours must be known for its extremes to
// count. Fewer, and the day is missing.
const MinHours = 20

// Window is a run of hours that makes one day of a model: From up to and not
// including To, as indices into a series, which may reach outside it.
type Window struct {
	Date     civil.Date
	From, To int
}

// Windows cuts a series into the local days of loc, each beginning at the local
// clock hour start: 0 for the calendar day, 12 for noon to noon. A window takes
// the date on which it begins, or, when endDated, that on which it ends. Days
// that the series covers in part are included. A day of a clock change has 23
// or 25 hours.
func (s *Series) Windows(loc *time.Location, start int, endDated bool) []Window {
	if s.n == 0 {
		return nil
	}
	first := civil.Of(s.Start(), loc).AddDays(-1)
	last := civil.Of(s.End(), loc)
	var out []Window
	from := s.Index(first.Slot(start, 0, loc).Add(59 * time.Minute))
	for d := first; d <= last; d++ {
		to := s.Index(d.AddDays(1).Slot(start, 0, loc).Add(59 * time.Minute))
		if to > 0 && from < s.n && to > from {
			w := Window{Date: d, From: from, To: to}
			if endDated {
				w.Date = d.AddDays(1)
			}
			out = append(out, w)
		}
		from = to
	}
	return out
}

// Days returns the extremes and sums of each local calendar day of loc.
func (s *Series) Days(loc *time.Location) []Day {
	ws := s.Windows(loc, 0, false)
	out := make([]Day, len(ws))
	for i, w := range ws {
		out[i] = s.day(w)
	}
	return out
}

func (s *Series) day(w Window) Day {
	d := NewDay(w.Date)
	low, high := math.Inf(1), math.Inf(-1)
	var rain, soil, wind sum
	for i := max(0, w.From); i < min(w.To, s.n); i++ {
		if t := s.Value(Temp, i); !math.IsNaN(t) {
			low, high = math.Min(low, t), math.Max(high, t)
			d.Hours++
			d.Kind = max(d.Kind, s.origins[s.prov[Temp][i]-1].Kind)
		}
		rain.add(s.Value(Rain, i))
		soil.add(s.Value(Soil, i))
		wind.add(s.Value(Wind, i))
	}
	if d.Hours >= MinHours {
		d.Min, d.Max = low, high
	}
	if rain.n >= MinHours {
		d.Rain = rain.total
	}
	d.Soil, d.Wind = soil.mean(MinHours), wind.mean(MinHours)
	return d
}

// sum adds known values and counts them.
type sum struct {
	total float64
	n     int
}

func (s *sum) add(x float64) {
	if !math.IsNaN(x) {
		s.total += x
		s.n++
	}
}

// mean is NaN with fewer than least values, or none.
func (s sum) mean(least int) float64 {
	if s.n < max(1, least) {
		return math.NaN()
	}
	return s.total / float64(s.n)
}
