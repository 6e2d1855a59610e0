package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// levels are the standard deviations of a value between places and years: a
// region about what is expected, a ground about its region, a plot about its
// ground; a year at one ground, and the rest of a season at one plot.
type levels struct{ region, ground, plot, year, season float64 }

// How PlaceCV and YearCV part among the levels is this program's guess (from
// memory; the sums of squares are those of the two): most of what sets a place
// apart is its region, and plots of one ground share most of a year's luck.
var (
	totalLevels = levels{region: 0.15, ground: 0.11, plot: 0.07, year: 0.125, season: 0.083}
	// Of a region's dates nothing is expected.
	dayLevels = levels{region: 60, ground: 6, plot: 3, year: 7, season: 4}
)

// maxNeighbours bounds the work; the newest seasons are kept.
const maxNeighbours = 200

// neighbours returns the seasons of others that may speak for the plot: not from
// another region, and not from the same ground in a year of which the plot's own
// log has a find, since both tell of the same year.
func (a *Arrival) neighbours(in *Input) []*Season {
	own := map[int]bool{}
	for i := range a.seasons {
		own[a.seasons[i].Year] = own[a.seasons[i].Year] || a.seasons[i].Found()
	}
	var out []*Season
	for i := range in.Neighbours {
		s := &in.Neighbours[i]
		other := in.Place.Region != "" && s.Place.Region != "" && s.Place.Region != in.Place.Region
		if other || s.Place == in.Place || s.Check() != nil || !s.Found() && !s.Censored() {
			continue
		}
		if s.Place.Ground == in.Place.Ground && own[s.Year] {
			continue
		}
		out = append(out, s)
	}
	return out[max(0, len(out)-maxNeighbours):]
}

// covariance of the values of two seasons, or of a season and a place's mean.
func (l levels) covariance(p, q Place) float64 {
	v := l.region * l.region
	if p.Ground == q.Ground {
		v += l.ground * l.ground
		if p.Plot == q.Plot {
			v += l.plot * l.plot
		}
	}
	return v
}

// pool returns what the seasons of others make one expect of a place's mean, from
// what was expected before: a partial pooling in which a plot of the same ground
// counts for more than one of the same region, and ten plots in one year for
// little more than one. Brackets and censored seasons count as what they are.
func pool(seasons []*Season, values []interval, at Place, expected float64, l levels) (mean, sd float64) {
	n := len(seasons)
	k, to := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	bounds := make([]interval, n)
	for i, s := range seasons {
		bounds[i] = interval{values[i].low - expected, values[i].high - expected}
		to.SetVec(i, l.covariance(s.Place, at))
		for j := i; j < n; j++ {
			v := l.covariance(s.Place, seasons[j].Place)
			if s.Place.Ground == seasons[j].Place.Ground && s.Year == seasons[j].Year {
				v += l.year * l.year
			}
			if i == j {
				v += l.season * l.season
			}
			k.SetSym(i, j, v)
		}
	}
	m, v := propagate(k, to, l.covariance(at, at), bounds)
	return expected + m, math.Sqrt(v)
}

// pooled is what the neighbours' totals make one expect of the place.
func (a *Arrival) pooled(in *Input) (placePrior, int) {
	p := placePrior{math.Log(in.Published), PlaceCV}
	seasons, values := valued(a.neighbours(in), in.neighbourScale())
	if len(seasons) == 0 {
		return p, 0
	}
	p.centre, p.sd = pool(seasons, values, in.Place, p.centre, totalLevels)
	return p, len(seasons)
}

func valued(seasons []*Season, sc scale) (kept []*Season, values []interval) {
	for _, s := range seasons {
		if v, ok := sc.value(s); ok {
			kept, values = append(kept, s), append(values, v)
		}
	}
	return kept, values
}
