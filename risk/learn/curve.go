package learn

import (
	"math"
	"sort"

	"plotwarden/civil"
	"plotwarden/risk"
)

// Curve is a model's running total over one season.
type Curve struct {
	Start   civil.Date
	Totals  []float64 // to the end of each day from Start on; they rise
	Unknown []int32   // unknown hours so far; nil: none
}

// MaxUnknown is how many hours of weather up to a find may be unknown for the
// season's total to be used.
const MaxUnknown = 5 * 24

// CurveOf takes a track of one season.
func CurveOf(t *risk.Track) Curve { return part(t, 0, len(t.Points), 0) }

// CurvesOf cuts a run over many years into seasons that count from a day of the
// year on, for as long as a year: totals of a rule that is a running sum. Keys
// are the years in which the seasons begin. Seasons whose first day the run does
// not have are left out, and of a season that the run ends in stands the part.
func CurvesOf(t *risk.Track, start civil.MonthDay) map[int]Curve {
	out := map[int]Curve{}
	if len(t.Points) == 0 {
		return out
	}
	first := t.Points[0].Date
	last := first.AddDays(len(t.Points) - 1)
	for y := first.Year(); y <= last.Year(); y++ {
		from, to := start.In(y), start.In(y+1)
		if from < first || from > last {
			continue
		}
		before := 0.0
		if from > first {
			before = t.Points[from.Sub(first)-1].Total
		}
		out[y] = part(t, from.Sub(first), min(len(t.Points), to.Sub(first)), before)
	}
	return out
}

func part(t *risk.Track, from, to int, before float64) Curve {
	c := Curve{Totals: make([]float64, 0, to-from), Unknown: make([]int32, 0, to-from)}
	hours := 0
	if from > 0 {
		hours = t.Points[from-1].UnknownHours
	}
	top := 0.0
	for i := from; i < to; i++ {
		top = max(top, t.Points[i].Total-before)
		c.Totals = append(c.Totals, top)
		c.Unknown = append(c.Unknown, int32(t.Points[i].UnknownHours-hours))
	}
	if to > from {
		c.Start = t.Points[from].Date
	}
	return c
}

// At returns the total to the end of a day: 0 before the start, NaN beyond the
// end.
func (c *Curve) At(d civil.Date) float64 {
	i := d.Sub(c.Start)
	switch {
	case i < 0:
		return 0
	case i >= len(c.Totals):
		return math.NaN()
	}
	return c.Totals[i]
}

// Date returns the day on which the total is reached; ok is false when it is not
// within the curve, and the day is then the one after its end.
func (c *Curve) Date(total float64) (d civil.Date, ok bool) {
	i := sort.SearchFloat64s(c.Totals, total)
	return c.Start.AddDays(i), i < len(c.Totals)
}

// unknownTo returns the unknown hours up to a day.
func (c *Curve) unknownTo(d civil.Date) int32 {
	i := min(d.Sub(c.Start), len(c.Unknown)-1)
	if i < 0 {
		return 0
	}
	return c.Unknown[i]
}
