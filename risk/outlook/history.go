package outlook

import (
	"strconv"

	"plotwarden/civil"
	"plotwarden/risk"
)

// History is a rule run over the past weather of a place, ready to be run
// forward from any day of the year. It changes only with the past weather and
// may be kept and read by many goroutines.
type History struct {
	tracks []pastTrack
	sums   bool
}

type pastTrack struct {
	start   civil.Date
	totals  []float64 // running over the whole track, as the track has them
	unknown []int32   // unknown hours so far
	hits    []int32   // days, from start, with an infection
}

// NewHistory prepares past runs of a rule: each over one stretch of consecutive
// days, of one year or of many, from a start early enough to have the days that
// will be asked for. A spray must not have put their totals back.
func NewHistory(past ...*risk.Track) *History {
	h := &History{sums: true}
	for _, t := range past {
		if len(t.Points) == 0 {
			continue
		}
		p := pastTrack{start: t.Points[0].Date, totals: make([]float64, len(t.Points)), unknown: make([]int32, len(t.Points))}
		for i := range t.Points {
			p.totals[i] = t.Points[i].Total
			p.unknown[i] = int32(t.Points[i].UnknownHours)
		}
		for _, e := range t.Events {
			if i := e.Date.Sub(p.start); e.Kind == risk.Infection && i >= 0 && i < len(p.totals) && (len(p.hits) == 0 || p.hits[len(p.hits)-1] != int32(i)) {
				p.hits = append(p.hits, int32(i))
			}
		}
		h.sums = h.sums && isSum(t)
		h.tracks = append(h.tracks, p)
	}
	return h
}

// MinDays is how far a past year must go on after the day that it is run from,
// and MaxUnknown how many of its hours up to the Horizon may be unknown: more,
// and what it lacks would make it look late.
const (
	MinDays    = 28
	MaxUnknown = 5 * 24
)

// weatherYear is a past year with the infections of its days.
type weatherYear struct {
	track *pastTrack
	at    int // index of the base's day of the year
}

// from returns the years that go on from a day, the current season left out.
// 1 March takes the place of 29 February.
func (h *History) from(base civil.Date) (years []year, weather []weatherYear) {
	if h == nil {
		return nil, nil
	}
	_, month, day := base.YMD()
	for i := range h.tracks {
		t := &h.tracks[i]
		last := t.start.AddDays(len(t.totals) - 1)
		for y := t.start.Year(); y <= last.Year(); y++ {
			d := civil.New(y, month, day)
			if d > base.AddDays(-330) && d < base.AddDays(330) {
				continue // this season is not its own past
			}
			at := d.Sub(t.start)
			if at < 0 || at+MinDays >= len(t.totals) {
				continue
			}
			end := min(len(t.totals), at+maxDay+1)
			if t.unknown[end-1]-t.unknown[at] > MaxUnknown {
				continue
			}
			years = append(years, year{name: strconv.Itoa(y), totals: t.totals[at:end]})
			weather = append(weather, weatherYear{t, at})
		}
	}
	return years, weather
}
