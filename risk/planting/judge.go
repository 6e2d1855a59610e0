package planting

import (
	"math"
	"slices"

	"plotwarden/civil"
	"plotwarden/weather"
)

// State is whether a figure is met.
type State string

// The states.
const (
	Met     State = "met"
	NotYet  State = "not yet"
	Unknown State = "unknown" // a day that could decide is missing
)

// Verdict is one figure held against the weather of one day.
type Verdict struct {
	Figure Figure
	State  State
	Value  float64 // the measure on the day itself, C; NaN when unknown
	// Running is on how many days up to and with the day the figure was reached
	// without a break.
	Running int
}

// Judge holds the figure against the day at and the days before it. days must
// be in order of date; one that is absent is unknown.
func (f Figure) Judge(days []weather.Day, at civil.Date) Verdict {
	v := Verdict{Figure: f, Value: f.on(days, at)}
	for d := at; f.on(days, d) >= f.C()-tiny; d-- {
		v.Running++
	}
	if v.Running >= f.Days {
		v.State = Met
		return v
	}
	v.State = Unknown
	for d := at; d > at-civil.Date(f.Days); d-- {
		if f.on(days, d) < f.C()-tiny {
			v.State = NotYet
		}
	}
	return v
}

// tiny keeps a figure that was converted from F from failing on its own value.
const tiny = 1e-9

func (f Figure) on(days []weather.Day, d civil.Date) float64 {
	i, ok := slices.BinarySearchFunc(days, d, func(a weather.Day, b civil.Date) int { return int(a.Date - b) })
	if !ok {
		return math.NaN()
	}
	return f.Measure.of(&days[i])
}

// First returns the first day from from on at which the figure is met, and
// whether there is one among days.
func (f Figure) First(days []weather.Day, from civil.Date) (civil.Date, bool) {
	if len(days) == 0 {
		return 0, false
	}
	last, running := days[len(days)-1].Date, 0
	for d := max(from, days[0].Date) - civil.Date(f.Days-1); d <= last; d++ {
		if f.on(days, d) >= f.C()-tiny {
			running++
		} else {
			running = 0
		}
		if running >= f.Days && d >= from {
			return d, true
		}
	}
	return 0, false
}

// Report is every figure for a crop on one day.
type Report struct {
	Crop     string
	Use      Use
	Date     civil.Date
	Verdicts []Verdict // the lowest figure of each measure first
	Met      int       // verdicts that are met
	NotYet   int
	Unknown  int
}

// Check judges every published figure for the crop, and the grower's own ones
// for it, on one day. It fails on an unknown crop.
func Check(crop string, use Use, days []weather.Day, at civil.Date, own ...Figure) (Report, error) {
	figures, err := Figures(crop, use)
	if err != nil {
		return Report{}, err
	}
	r := Report{Crop: crop, Use: use, Date: at}
	for _, f := range append(own, figures...) {
		v := f.Judge(days, at)
		switch v.State {
		case Met:
			r.Met++
		case NotYet:
			r.NotYet++
		default:
			r.Unknown++
		}
		r.Verdicts = append(r.Verdicts, v)
	}
	return r, nil
}

// Spread returns the lowest and the highest figure of a measure in degrees F and
// how many there are: how far the sources disagree. Both are NaN when there is
// none.
func (r Report) Spread(m Measure) (low, high float64, n int) {
	low, high = math.NaN(), math.NaN()
	for _, v := range r.Verdicts {
		if v.Figure.Measure != m {
			continue
		}
		if n == 0 {
			low, high = v.Figure.F, v.Figure.F
		}
		low, high = min(low, v.Figure.F), max(high, v.Figure.F)
		n++
	}
	return low, high, n
}
