package learn

import "math"

// What is expected beforehand. Derived where nothing else is said: from the first
// catch of codling moth over 28 and 4 years and 50 growers' records, 96
// degree-days C with a coefficient of variation of 15 % (Jones et al. 2008, read).
const (
	// YearCV is how far the total at arrival goes from year to year at one place,
	// as a share of it.
	YearCV = 0.15
	// PlaceCV is how far a place's own threshold lies from the published one.
	PlaceCV = 0.20
	// YearDays is the standard deviation of the arrival from year to year, days:
	// first sustained catches of three moths at one orchard over 15 years, 5.9 to
	// 8.2 (read).
	YearDays = 8.0
)

// priorParts are the parts of what is expected of a place's threshold, each
// normal in the logarithm about the published one: that the published one holds
// here, that the place is one of those among which thresholds go by PlaceCV, or
// that it has little to do with it, as when the grower logs another event than
// the publication. With the middle part alone n seasons would have a weight of
// n/(n + (YearCV/PlaceCV)^2) = n/(n + 0.56). Weights and widths of the other two
// were chosen on simulated logs (TestBlendOnSimulatedLogs), so that one season
// doesn't pull an estimate away from a threshold that holds, nor a threshold that
// doesn't hold keep a log from speaking.
var priorParts = []struct{ weight, cv float64 }{{0.35, 0.03}, {0.50, PlaceCV}, {0.15, 0.60}}

// placePrior is what is expected of a place's threshold: the centre, a logarithm,
// and the standard deviation that stands in for PlaceCV.
type placePrior struct{ centre, sd float64 }

// log is the logarithm of the density, up to a constant.
func (p placePrior) log(m float64) float64 {
	sum := 0.0
	for _, part := range priorParts {
		s := p.sd * part.cv / PlaceCV
		z := (m - p.centre) / s
		sum += part.weight / s * math.Exp(-z*z/2)
	}
	return math.Log(max(1e-300, sum))
}

// flat is the prior of the ways that know nothing beforehand.
func flat(float64) float64 { return 0 }
