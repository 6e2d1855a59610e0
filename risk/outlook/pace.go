package outlook

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"

	"plotwarden/risk"
	"plotwarden/risk/degreeday"
)

// PaceDays is how many last days of a track the fallback takes its pace from.
const PaceDays = 14

// paceFit is how the fallback goes on: from the track's pace, which rises by rise
// degree-days F a day each day for paceStops days, the less the nearer it is to
// ceiling, at which it stands. What really comes is a multiple of that gain. Its
// 10, 50 and 90 % go by the gain a day that the pace makes one expect: in spring,
// when a warm week is followed by frost, all is possible; in summer little.
type paceFit struct {
	rise, ceiling float64
	times         [len(paceGains)][3]float64
}

// paceGains are the gains a day, degree-days F, at which the multiples are given.
// They are straight between, and level beyond.
var paceGains = [...]float64{4.5, 7.5, 10.5, 13.5, 16.5, 20}

const paceStops = 42

// paceMeasured is derived from the gains above 50 F over 7, 14, 28 and 42 days at
// the 24 stations of the US Climate Reference Network of 2020, from every fifth
// day of March to July. TestPaceAtStationsLeftOut makes it, and shows what it
// does at a station that it was not made from.
var paceMeasured = paceFit{rise: 0.20, ceiling: 35, times: [...][3]float64{
	{0, 0.54, 1.61}, {0.33, 0.96, 2}, {0.43, 1.17, 1.82}, {0.52, 1.20, 1.56}, {0.89, 1.15, 1.39}, {0.80, 1, 1.18},
}}

// otherSpread is the standard deviation of the logarithm of that multiple for
// sums of another kind, which are not taken to rise (from memory).
const otherSpread = 0.5

// gain returns the gain over k days that follow later days after the middle of
// the days whose pace it is.
func (p *paceFit) gain(daily float64, later, k int) float64 {
	rise := p.rise * max(0, 1-daily/p.ceiling)
	rising := min(k, paceStops) // days of a pace that still rises
	sum := float64(rising*(rising+1)/2 + (k-rising)*paceStops)
	return float64(k)*(daily+rise*float64(later)) + rise*sum
}

// factor returns the multiple at a quantile of the standard normal distribution,
// where so much a day is expected.
func (p *paceFit) factor(daily, z float64) float64 {
	q, i := p.times[0], sort.SearchFloat64s(paceGains[:], daily)
	switch {
	case i == len(paceGains):
		q = p.times[i-1]
	case i > 0:
		w := (daily - paceGains[i-1]) / (paceGains[i] - paceGains[i-1])
		for k := range q {
			q[k] = p.times[i-1][k]*(1-w) + p.times[i][k]*w
		}
	}
	side := q[2] - q[1]
	if z < 0 {
		side = q[1] - q[0]
	}
	return max(leastFactor, q[1]+side*z/z90)
}

// leastFactor keeps a cold spell from standing still for ever.
const leastFactor = 0.02

// z90 is the 90 % quantile of the standard normal distribution.
var z90 = distuv.UnitNormal.Quantile(0.9)

// pace makes the ways ahead for a place without any history, from the end of the
// forecast on. Its outlooks are rough.
func (f *Fan) pace(fit *paceFit) []year {
	t, n := f.track, len(f.track.Points)
	over := PaceDays
	if n > f.observed {
		over *= 2 // half of it rests on the forecast, whose error would go on
	}
	daily := gained(t, n-over, n) / float64(min(over, n))
	if daily <= 0 {
		return nil
	}
	unit := 1.0 // degree-days F in one of the track's
	switch t.Unit {
	case "degree-days C":
		unit = degreeday.DiffCtoF(1)
	case "degree-days F":
	default:
		unit = 0
	}
	days := f.forecastDays()
	steps := quantilesOf(distuv.UnitNormal.Quantile)
	out := lines(maxDay + 1)
	for k := 1; k <= maxDay; k++ {
		// Within the forecast the pace stands in where one version is shorter.
		before, ahead := daily*float64(min(k, days)), k-days
		if ahead <= 0 {
			for i := range out {
				out[i].totals[k] = before
			}
			continue
		}
		expected := daily * float64(ahead)
		if unit > 0 {
			expected = fit.gain(daily*unit, over/2, ahead) / unit
		}
		for i := range out {
			factor := math.Exp(steps[i] * otherSpread)
			if unit > 0 {
				factor = fit.factor(expected*unit/float64(ahead), steps[i])
			}
			out[i].totals[k] = before + factor*expected
		}
	}
	rise(out)
	return out
}

// gained is the sum of the values of the points from i up to j.
func gained(t *risk.Track, i, j int) float64 {
	sum := 0.0
	for _, p := range t.Points[max(0, i):max(0, j)] {
		if !math.IsNaN(p.Value) {
			sum += p.Value
		}
	}
	return sum
}
