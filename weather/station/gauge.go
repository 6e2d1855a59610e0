package station

import (
	"math"
	"time"

	"plotwarden/civil"
)

// Gauge turns a rain total that starts anew at local midnight into the rain
// between readings. Many consoles also send "rain of the last hour"; adding
// that up at every reading would count the rain many times.
type Gauge struct {
	Zone  *time.Location
	had   float64
	hadAt time.Time
	day   civil.Date // to which had belongs
}

const (
	// longestApart is the longest time whose rain is shared out evenly; after
	// more, when it fell is not known well enough.
	longestApart = 6 * time.Hour
	// lag is by how much the console's midnight may come after ours.
	lag = 15 * time.Minute
	// noise is by how much a total may fall and still count as unchanged, in
	// mm: it is sent rounded.
	noise = 0.01
)

// Since takes the total in mm at t and returns the rain and the time before t
// in which it fell. The rain is NaN, and the time 0, at the first reading, after
// too long a silence, at a reading out of order, and when the total falls within
// a day: the console was started anew, and what fell before is not known.
func (g *Gauge) Since(t time.Time, total float64) (mm float64, before time.Duration) {
	if math.IsNaN(total) || total < 0 || !t.After(g.hadAt) {
		return math.NaN(), 0
	}
	had, apart, first := g.had, t.Sub(g.hadAt), g.hadAt.IsZero()
	today := civil.Of(t, g.Zone)
	midnight := today.Start(g.Zone)
	same := g.day == today
	fell := total < had-noise
	switch {
	case first || same:
	case !fell && had > noise && t.Sub(midnight) <= lag:
		same = true // may still be yesterday's total
		today = g.day
	case !fell && g.hadAt.After(midnight):
		same = true // it was today's already
	}
	g.had, g.hadAt, g.day = total, t, today
	switch {
	case first || same && fell:
		return math.NaN(), 0
	case same:
		mm, before = math.Max(0, total-had), apart
	default: // what fell between the last reading and midnight is not known
		mm, before = total, min(apart, t.Sub(midnight))
	}
	if before <= 0 || before > longestApart {
		return math.NaN(), 0
	}
	return mm, before
}
