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

// placePrior is what is expected of a place's threshold before its own log is
// looked at: the logarithm in the middle, and the standard deviation, PlaceCV or,
// by what neighbours share, another.
type placePrior struct{ centre, sd float64 }

// How far the blend trusts a log against the published threshold is taken from
// the log itself (empirical Bayes): the further its mean lies from the published
// one, the likelier the published one does not hold here. A normal prior whose
// variance is half of that distance squared gives a log of n seasons with the
// spread s the weight d^2/(d^2 + 2 s^2/n). Of the half, n/(n+1) is taken: the
// distance of a short log is itself partly luck. On simulated logs that comes
// nearest to the better of the two parts over all truths looked at
// (TestBlendOverManyTruths). The bounds, in multiples of sd, keep one exact hit
// from making a dogma and one stray find from making the published one worthless.
const (
	distanceShare     = 0.5
	leastSD, greatest = 0.15, 5.0
)

// moved returns the prior with the standard deviation that a log of n finds asks
// for whose mean is m. A log without a find leaves it.
func (p placePrior) moved(m float64, n int) placePrior {
	if n == 0 {
		return p
	}
	d := math.Abs(m-p.centre) * math.Sqrt(distanceShare*float64(n)/float64(n+1))
	p.sd *= min(greatest, max(leastSD, d/p.sd))
	return p
}

// log is the logarithm of the density, up to a constant.
func (p placePrior) log(m float64) float64 {
	z := (m - p.centre) / p.sd
	return -z * z / 2
}

// flat is the prior of the ways that know nothing beforehand.
func flat(float64) float64 { return 0 }
