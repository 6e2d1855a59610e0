package weather

import (
	"math"

	"plotwarden/civil"
)

// rainHours returns the rain of n hours that add up to a day's total, mm.
//
// It falls in one block at about 1 mm an hour: in as many hours as the total has
// whole millimetres, at least one, at most the day. Source of the rate: Loustau
// et al. (2001) as used by the forest model MAESTRA, confirmed second-hand in public
// code, which draws the hours at random. Here the block begins at a place in the
// day that moves with the date by the golden ratio, so that the same day always
// gives the same hours while over a season rain favours no time of day (ours).
func rainHours(total float64, date civil.Date, n int) []float64 {
	out := make([]float64, n)
	if n == 0 || !(total > 0) {
		return out
	}
	block := max(1, min(n, int(math.Min(total, 24))))
	_, place := math.Modf(float64(date) * 0.6180339887498949)
	first := int(place * float64(n-block+1))
	for i := range block {
		out[first+i] = total / float64(block)
	}
	return out
}
