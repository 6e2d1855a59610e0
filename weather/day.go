package weather

import (
	"math"
	"time"

	"plotwarden/civil"
)

// Day is one day's extremes and sums. NaN is missing.
type Day struct {
	Date  civil.Date
	Min   float64 // lowest air temperature, C
	Max   float64 // highest air temperature, C
	Rain  float64 // mm; NaN when fewer than MinHours hours are known
	Soil  float64 // mean soil temperature, C
	Hours int     // hours with a known temperature; 24 for a record of daily extremes
	Kind  Kind    // least trusted kind among the day's temperatures; 0 when none is known
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
	d := Day{Date: w.Date, Min: math.Inf(1), Max: math.Inf(-1), Rain: math.NaN(), Soil: math.NaN()}
	var rain, soil float64
	var rainHours, soilHours int
	for i := max(0, w.From); i < min(w.To, s.n); i++ {
		if t := s.Value(Temp, i); !math.IsNaN(t) {
			d.Min, d.Max = math.Min(d.Min, t), math.Max(d.Max, t)
			d.Hours++
			d.Kind = max(d.Kind, s.origins[s.prov[Temp][i]-1].Kind)
		}
		if r := s.Value(Rain, i); !math.IsNaN(r) {
			rain += r
			rainHours++
		}
		if g := s.Value(Soil, i); !math.IsNaN(g) {
			soil += g
			soilHours++
		}
	}
	if d.Hours < MinHours {
		d.Min, d.Max = math.NaN(), math.NaN()
	}
	if rainHours >= MinHours {
		d.Rain = rain
	}
	if soilHours >= MinHours {
		d.Soil = soil / float64(soilHours)
	}
	return d
}
