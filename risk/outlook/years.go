package outlook

import (
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"plotwarden/risk/degreeday"
)

// EnoughYears is from how many past years on they speak for themselves. Fewer
// are taken as a sample: see widened.
const EnoughYears = 15

// roughBelow is the number of past years below which an outlook is rough.
const roughBelow = 5

// addYears continues the runs through the past years, or, where there are none,
// by the pace of the track.
func (f *Fan) addYears(h *History, fit *paceFit) {
	if h != nil {
		f.sums = f.sums && h.sums
	}
	f.years, f.weather = h.from(f.base)
	n := len(f.years)
	f.rough = n < roughBelow
	switch {
	case !f.sums || n >= EnoughYears:
	case n == 0:
		f.years = f.pace(fit)
	default:
		f.years = widened(f.track.Unit, f.years, f.weather)
	}
}

// ways is how many lines the sample of few years, or a pace, is spread into. With
// 5, 15 or 25 lines, as of versions of a forecast, the 10 and 90 % fall on a line.
const ways = 25

// The spread of a place's years where it cannot be seen in its own few: the gain
// of degree-days over k days deviates by priorGain*sqrt(k) C from that of a mean
// year, at most by priorMost of it, and that counts as much as priorWeight
// degrees of freedom. Derived from the 24 stations of the US Climate Reference
// Network of 2020: gains above 10 C over 7, 14 and 28 days from March to July,
// held against a smooth year fitted to each station, deviate by 4.8, 5.0 and 4.7
// times sqrt(k), and stations differ in it as estimates with 9 or more degrees of
// freedom would. Nothing was measured of sums of another kind: their gains are
// taken to deviate by otherCV/sqrt(k) of the mean, counting otherWeight (from
// memory).
const (
	priorGain   = 4.9
	priorMost   = 0.5
	priorWeight = 8.0
	otherCV     = 1.0
	otherWeight = 2.0
)

// expected returns the standard deviation of a gain over k days that is expected
// beforehand, and for how many degrees of freedom that counts.
func expected(unit string, mean float64, k int) (sd, weight float64) {
	root := math.Sqrt(float64(k))
	switch unit {
	case "degree-days C":
		return min(priorMost*mean, priorGain*root), priorWeight
	case "degree-days F":
		return min(priorMost*mean, degreeday.DiffCtoF(priorGain)*root), priorWeight
	}
	return mean * min(priorMost, otherCV/root), otherWeight
}

// windows are the days, before and after the base's day of the year, from which
// gains too are compared between the years: three years seen from seven days
// tell more of how years differ than from one.
var windows = []int{0, -21, -14, -7, 7, 14, 21}

// widened spreads the gains of few years as a sample asks for: for each day the
// quantiles of Student's t about the mean of the gains, with SD*sqrt(1+1/n). It
// is the years' gains that are averaged, each from the rule on a real year, not
// their temperatures. From the least to the greatest of three years lies but half
// of all years; so taken, four in five.
func widened(unit string, years []year, past []weatherYear) []year {
	length := len(years[0].totals)
	for _, y := range years {
		length = min(length, len(y.totals))
	}
	n := float64(len(years))
	out := lines(length)
	gains := make([]float64, len(years))
	for k := 1; k < length; k++ {
		mean, square, seen := 0.0, 0.0, 0.0
		for _, w := range windows {
			if !gainsOf(past, w, k, gains) {
				continue
			}
			m, v := stat.MeanVariance(gains, nil)
			if w == 0 {
				mean = m
			}
			if n > 1 {
				square += v
				seen++
			}
		}
		// Windows overlap: of six weeks no more can be had than six weeks hold.
		df := (n - 1) * min(seen, 1+42/float64(k))
		prior, weight := expected(unit, mean, k)
		variance := weight * prior * prior
		if seen > 0 {
			variance += df * square / seen
		}
		df += weight
		sd := math.Sqrt(variance / df * (1 + 1/n))
		steps := stepsOfStudent(df)
		for i := range out {
			out[i].totals[k] = mean + steps[i]*sd
		}
	}
	rise(out)
	return out
}

// gainsOf writes each year's gain over k days from a number of days after the
// base's day of the year, and says whether all years have them.
func gainsOf(past []weatherYear, after, k int, gains []float64) bool {
	for i, p := range past {
		at := p.at + after
		if at < 0 || at+k >= len(p.track.totals) {
			return false
		}
		gains[i] = p.track.totals[at+k] - p.track.totals[at]
	}
	return true
}

// studentSteps are the quantiles of Student's t for whole degrees of freedom.
var studentSteps = sync.OnceValue(func() (out [40][ways]float64) {
	for df := range out {
		out[df] = quantilesOf(distuv.StudentsT{Sigma: 1, Nu: float64(df + 1)}.Quantile)
	}
	return out
})

func stepsOfStudent(df float64) *[ways]float64 {
	all := studentSteps()
	return &all[min(len(all), max(1, int(df)))-1]
}

func lines(length int) []year {
	out := make([]year, ways)
	for i := range out {
		out[i].totals = make([]float64, length)
	}
	return out
}

// quantilesOf returns the middles of equally likely parts of a distribution.
func quantilesOf(quantile func(float64) float64) [ways]float64 {
	var out [ways]float64
	for i := range out {
		out[i] = quantile((float64(i) + 0.5) / ways)
	}
	return out
}

// rise keeps running sums from falling where a spread narrows.
func rise(years []year) {
	for _, y := range years {
		for k := 1; k < len(y.totals); k++ {
			y.totals[k] = max(y.totals[k], y.totals[k-1])
		}
	}
}

// words is the basis of the outlooks in plain words.
func (f *Fan) words() string {
	forecast := "no forecast"
	if n := f.forecastDays(); n > 0 {
		forecast = plural(n, "forecast day")
		if len(f.runs) > 1 {
			forecast += fmt.Sprintf(" in %d versions", len(f.runs))
		}
	}
	n := len(f.weather)
	switch {
	case n >= EnoughYears || n > 0 && !f.sums:
		return forecast + ", then " + plural(n, "past year") + " run forward"
	case n > 0:
		return forecast + ", then " + plural(n, "past year") + " run forward, spread wider because they are few"
	case !f.sums || len(f.years) == 0:
		return forecast + " alone: there are no past years for this site"
	}
	return forecast + ", then the pace of the last two weeks with a wide spread: there are no past years for this site"
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
