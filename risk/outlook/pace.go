package outlook

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"plotwarden/risk"
	"plotwarden/risk/degreeday"
)

// PaceDays is how many last days of a track the fallback takes its pace from.
const PaceDays = 14

// The fallback goes on at the track's pace. While the pace rises, as in spring,
// it goes on rising by paceRise, in degree-days F a day each day, for paceStops
// days. The pace that comes of it is taken times a factor whose logarithm is
// normal with the standard deviation paceSpread. Derived from the gains over the
// 7, 14, 28 and 42 days before 375 degree-days F (50/86) and before 1000 (50) at
// the 24 stations of the US Climate Reference Network of 2020 that the
// evaluation reads: rises of 0.13 to 0.33, deviations of 20 to 48 %. Values of
// another kind than degree-days do not rise and have otherSpread (from memory).
const (
	paceRise    = 0.23
	paceStops   = 42
	paceSpread  = 0.32
	otherSpread = 0.5
)

// pace makes the ways ahead for a place without any history, from the end of the
// forecast on. Its outlooks are rough.
func (f *Fan) pace() []year {
	t, n := f.track, len(f.track.Points)
	over := PaceDays
	if n > f.observed {
		over *= 2 // half of it rests on the forecast, whose error would go on
	}
	recent := gain(t, n-over, n)
	daily := recent / float64(min(over, n))
	rise, spread := 0.0, otherSpread
	if unit := t.Unit; unit == "degree-days F" || unit == "degree-days C" {
		spread = paceSpread
		rising := recent >= gain(t, n-2*over, n-over) || gain(t, n-2*over, n) >= gain(t, n-4*over, n-2*over)
		if rising && recent > 0 {
			rise = paceRise
			if unit == "degree-days C" {
				rise = degreeday.DiffFtoC(rise)
			}
		}
	}
	if daily <= 0 {
		return nil
	}
	days := f.forecastDays()
	steps := quantilesOf(distuv.UnitNormal.Quantile)
	out := lines(maxDay + 1)
	for i := range out {
		factor, total := math.Exp(steps[i]*spread), 0.0
		for k := 1; k < len(out[i].totals); k++ {
			// The pace is that of the middle of its days.
			later := min(max(0, k-days), paceStops) + over/2
			total += factor * (daily + rise*float64(later))
			out[i].totals[k] = total
		}
	}
	return out
}

// gain is the sum of the values of the points from i up to j.
func gain(t *risk.Track, i, j int) float64 {
	sum := 0.0
	for _, p := range t.Points[max(0, i):max(0, j)] {
		if !math.IsNaN(p.Value) {
			sum += p.Value
		}
	}
	return sum
}
