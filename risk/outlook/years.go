package outlook

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// EnoughYears is from how many past years on they speak for themselves. Fewer
// are taken as a sample: see widened.
const EnoughYears = 15

// roughBelow is the number of past years below which an outlook is rough.
const roughBelow = 5

// addYears continues the runs through the past years, or, where there are none,
// by the pace of the track.
func (f *Fan) addYears(h *History) {
	if h != nil {
		f.sums = f.sums && h.sums
	}
	f.years, f.weather = h.from(f.base)
	n := len(f.years)
	f.rough = n < roughBelow
	switch {
	case !f.sums || n >= EnoughYears:
	case n == 0:
		f.years = pace(f.track, f.observed)
	default:
		f.years = widened(f.years)
	}
}

// ways is how many lines the sample of few years, or a pace, is spread into.
const ways = 21

// The spread of a place's years where it cannot be seen in its own few: the
// standard deviation of the gain over k days is priorCV/sqrt(k) of the mean
// gain, at most priorMost, and counts as much as priorYears years. Derived from
// daily temperatures that deviate by 4.5 C from their normal with a correlation
// of 0.7 from day to day (both from memory) about a mean 8 C above the lower
// threshold: 4.5/8 * sqrt(1.7/0.3) = 1.34.
const (
	priorCV    = 1.34
	priorMost  = 0.5
	priorYears = 2.0
)

// widened spreads the gains of few years as a sample asks for: for each day the
// quantiles of Student's t about the mean of the gains, with
// SD*sqrt(1+1/n), the SD drawn toward the one stated above. It is the years'
// gains that are averaged, each from the rule on a real year, not their
// temperatures. From the least to the greatest of three years lies but half of
// all years; so taken, four in five.
func widened(years []year) []year {
	length := len(years[0].totals)
	for _, y := range years {
		length = min(length, len(y.totals))
	}
	n := float64(len(years))
	out := lines(length)
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1 + priorYears}
	steps := quantilesOf(t.Quantile)
	gains := make([]float64, len(years))
	for k := 1; k < length; k++ {
		for i, y := range years {
			gains[i] = y.totals[k] - y.totals[0]
		}
		mean, square := stat.Mean(gains, nil), 0.0
		for _, g := range gains {
			square += (g - mean) * (g - mean)
		}
		prior := mean * min(priorMost, priorCV/math.Sqrt(float64(k)))
		sd := math.Sqrt((square + priorYears*prior*prior) / (n - 1 + priorYears))
		for i := range out {
			out[i].totals[k] = mean + steps[i]*sd*math.Sqrt(1+1/n)
		}
	}
	rise(out)
	return out
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
