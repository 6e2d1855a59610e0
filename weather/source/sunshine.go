package source

import (
	"math"
	"time"

	"plotwarden/weather"
)

// Bounds of CheckSunshine. They are ours; the tests try them on a year of
// measured radiation. Fewer days than leastSunDays leave too much to the
// clouds, and more than mostSunDays tell nothing new.
const (
	leastSunDays = 7
	mostSunDays  = 14
	mostOffset   = 0.6 // hours; a year of measured radiation stays within 0.3
)

// CheckSunshine compares the radiation of a series with the height of the sun
// at its place, and returns an error of cause Shifted when it fits the sun of
// another hour better. With less than leastSunDays of radiation, or no sun to
// speak of, nothing can be said, and nothing is.
func CheckSunshine(source string, s *weather.Series, lat, lon float64) error {
	if off, ok := sunOffset(s, lat, lon); ok && math.Abs(off) >= mostOffset {
		side := "late"
		if off < 0 {
			side = "early"
		}
		return Errorf(source, Shifted, "by the radiation of the first days all hours are about %.1f h %s", math.Abs(off), side)
	}
	return nil
}

// sunOffset returns by how many hours, -12 to 12, the radiation lags the sun:
// the peak of their correlation, between hours by a parabola. It is false where
// there is too little radiation to tell.
func sunOffset(s *weather.Series, lat, lon float64) (float64, bool) {
	const far = 13
	col := s.Column(weather.Solar)
	n := min(len(col), 24*mostSunDays)
	known := 0
	for _, x := range col[:n] {
		if !math.IsNaN(x) {
			known++
		}
	}
	if known < 24*leastSunDays {
		return 0, false
	}
	// The sun of each hour, with half a day more at both ends to compare with.
	sun := make([]float64, n+2*far)
	for i := range sun {
		for _, m := range []time.Duration{15, 45} {
			e := weather.SunElevation(s.Time(i-far).Add(m*time.Minute), lat, lon)
			sun[i] += math.Max(0, math.Sin(e*math.Pi/180)) / 2
		}
	}
	var r [2*far + 1]float64 // correlation by lag, from -far
	best := -1
	for k := range r {
		r[k] = correlation(col[:n], sun[2*far-k:])
		if math.IsNaN(r[k]) {
			return 0, false
		}
		if k > 0 && k < 2*far && (best < 0 || r[k] > r[best]) {
			best = k
		}
	}
	off := float64(best - far)
	if bend := r[best-1] - 2*r[best] + r[best+1]; bend < 0 {
		off += max(-0.5, min(0.5, (r[best-1]-r[best+1])/(2*bend)))
	}
	return off, true
}

// correlation is Pearson's, over the pairs of which x is known; NaN when one of
// the two is constant.
func correlation(x, y []float64) float64 {
	var n, sx, sy, sxx, syy, sxy float64
	for i, a := range x {
		if b := y[i]; !math.IsNaN(a) {
			n, sx, sy = n+1, sx+a, sy+b
			sxx, syy, sxy = sxx+a*a, syy+b*b, sxy+a*b
		}
	}
	vx, vy := sxx-sx*sx/n, syy-sy*sy/n
	if !(vx > 1e-6*n) || !(vy > 1e-6*n) {
		return math.NaN()
	}
	return (sxy - sx*sy/n) / math.Sqrt(vx*vy)
}
