package learn

import (
	"errors"
	"fmt"
	"math"

	"plotwarden/civil"
	"plotwarden/risk/degreeday"
	"plotwarden/weather"
)

// FitFrom is the number of seasons with a find below which a base and a start are
// never fitted: there are two numbers more to find than in a threshold alone.
const FitFrom = 5

// ErrFewSeasons is returned for a fit with fewer seasons than FitFrom.
var ErrFewSeasons = errors.New("too few seasons to fit a lower threshold or a start; the published ones stay")

// FitInput is what a base and a start are fitted on.
type FitInput struct {
	Seasons []Season
	Days    []weather.Day    // consecutive, of all the seasons
	Rule    degreeday.Rule   // as published; its method and cutoff stay
	Start   civil.MonthDay   // as published
	Lowers  []float64        // lower thresholds to try, C; empty: the published one and up to 4 C to both sides
	Starts  []civil.MonthDay // starts to try; empty: the published one and the firsts of January to April
}

// Fit is the base and start that predict a log best.
type Fit struct {
	Lower     float64 // C
	Start     civil.MonthDay
	Threshold float64 // mean total at the find, degree-days C
	Seasons   int     // seasons with a find and their weather
	// Error is the mean miss in days when each season is predicted by a base, start
	// and threshold fitted without it; Published the same with only the threshold
	// fitted. A fit is worth having only where Error is the smaller by more than
	// chance. InSample is the error of the best pair over the seasons that chose it:
	// it flatters.
	Error, Published, InSample float64
}

// FitRule looks for the base and start whose totals predict the log best, by the
// error in days and not by the spread of the totals: that spread shrinks as the
// base rises, whatever it predicts (Arnold 1959, from memory). It fails with
// ErrFewSeasons below FitFrom seasons.
func FitRule(in FitInput) (Fit, error) {
	lowers, starts := in.Lowers, in.Starts
	if len(lowers) == 0 {
		for d := -4.0; d <= 4; d++ {
			lowers = append(lowers, in.Rule.Lower+d)
		}
	}
	if len(starts) == 0 {
		starts = []civil.MonthDay{in.Start, {Month: 1, Day: 1}, {Month: 2, Day: 1}, {Month: 3, Day: 1}, {Month: 4, Day: 1}}
	}
	published, n, err := in.candidate(in.Rule.Lower, in.Start)
	if err != nil {
		return Fit{}, err
	}
	if n < FitFrom {
		return Fit{}, fmt.Errorf("%d seasons with a find and their weather: %w", n, ErrFewSeasons)
	}
	var all []candidate
	for _, l := range lowers {
		for _, s := range starts {
			c, m, err := in.candidate(l, s)
			if err == nil && m == n {
				all = append(all, c)
			}
		}
	}
	all = append(all, published)
	best := &all[pick(all, -1)]
	f := Fit{Lower: best.lower, Start: best.start, Threshold: best.mean(-1), Seasons: n, InSample: best.error(-1), Published: published.error(-1)}
	for i := range n {
		c := &all[pick(all, i)]
		f.Error += math.Abs(c.miss(i, c.mean(i))) / float64(n)
	}
	return f, nil
}

// candidate is a base and a start with the seasons' curves by them.
type candidate struct {
	lower  float64
	start  civil.MonthDay
	curves []Curve
	totals []float64 // at the middle of each find's bracket
	middle []float64 // days from the curve's start
}

func (in *FitInput) candidate(lower float64, start civil.MonthDay) (c candidate, n int, err error) {
	rule := in.Rule
	rule.Lower = lower
	c = candidate{lower: lower, start: start}
	dd := make([]float64, len(in.Days))
	if err := rule.Days(in.Days, dd); err != nil {
		return c, 0, fmt.Errorf("fit a lower threshold of %.3g C: %w", lower, err)
	}
	for i := range in.Seasons {
		s := &in.Seasons[i]
		first := start.In(s.Year)
		from := first.Sub(in.Days[0].Date)
		to := min(len(dd), from+365)
		if !s.Scored() || from < 0 || from >= len(dd) || s.First.Sub(in.Days[0].Date) >= to {
			continue
		}
		curve := Curve{Start: first, Totals: make([]float64, to-from)}
		degreeday.Running(dd[from:to], curve.Totals)
		m := s.Middle(first)
		if m < 0 {
			continue
		}
		c.curves, c.middle = append(c.curves, curve), append(c.middle, m)
		c.totals = append(c.totals, curve.At(first.AddDays(int(math.Round(m)))))
	}
	return c, len(c.curves), nil
}

// mean returns the mean total without season skip (-1: of all).
func (c *candidate) mean(skip int) float64 {
	sum, n := 0.0, 0
	for i, t := range c.totals {
		if i != skip {
			sum += t
			n++
		}
	}
	return sum / float64(n)
}

// miss returns by how many days a threshold misses a season.
func (c *candidate) miss(i int, threshold float64) float64 {
	d, _ := c.curves[i].Date(threshold)
	return float64(d.Sub(c.curves[i].Start)) - c.middle[i]
}

// error returns the mean miss of the seasons other than skip, each predicted
// from those other than itself and skip.
func (c *candidate) error(skip int) float64 {
	sum, total, n := 0.0, 0.0, 0
	for i, t := range c.totals {
		if i != skip {
			total += t
			n++
		}
	}
	for i, t := range c.totals {
		if i != skip {
			sum += math.Abs(c.miss(i, (total-t)/float64(n-1)))
		}
	}
	return sum / float64(n)
}

// pick returns the index of the candidate with the least error without a season.
func pick(all []candidate, skip int) int {
	best, least := len(all)-1, all[len(all)-1].error(skip) // the published one wins a tie
	for i := range all {
		if e := all[i].error(skip); e < least-1e-9 {
			best, least = i, e
		}
	}
	return best
}
