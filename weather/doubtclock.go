package weather

import (
	"fmt"
	"math"
	"time"
)

// The numbers by which a clock is doubted, common practice: checked on pairs of
// real airports, which show the lags of real places.
const (
	farthestLag = 14   // hours; no zone lies farther from UTC
	leastLag    = 0.6  // hours
	leastMatch  = 0.35 // correlation of the hourly changes at the lag
	leastGain   = 0.15 // by which it exceeds that without a lag
	leastPairs  = 240  // hours compared in a stretch
	mostChange  = 20   // C in an hour; a spike beyond it would outweigh weeks of weather
)

// everyVar is what a wrong clock touches.
var everyVar = []Var{Temp, RH, DewPoint, Rain, RainChance, Wind, Cloud, Solar, Soil, Wetness}

// clockAgainst finds stretches in which the changes of temperature from hour to
// hour follow those of the reference late or early. A lag of two hours and more
// is sure: no neighbouring places differ so. One of an hour is reported after
// two stretches and is not sure: a sea breeze does as much.
func clockAgainst(s, ref *Series) []Doubt {
	cuts := stretches(s.Len())
	keys := make([]int, len(cuts))
	a := changes(s, s.start, s.n)
	b := changes(ref, s.start-farthestLag, s.n+2*farthestLag)
	for k, c := range cuts {
		if lag, ok := bestLag(a, b, c[0], c[1]); ok {
			keys[k] = lag
		}
	}
	var out []Doubt
	runs(keys, func(first, last, lag int) {
		one := lag == 1 || lag == -1
		if one && first == last {
			return
		}
		d := Doubt{
			Fault: FaultClock, Vars: everyVar, Late: time.Duration(lag) * time.Hour, Sure: !one,
			From: s.Time(cuts[first][0]), To: s.Time(cuts[last][1]),
			Reason: "temperature changes " + lateness(float64(lag)) + " than in the reference; check the clock and the zone of the station",
		}
		if one {
			d.Reason += ". A place can also warm an hour before or after another"
		}
		out = append(out, d)
	})
	return out
}

func lateness(hours float64) string {
	word := "later"
	if hours < 0 {
		word, hours = "earlier", -hours
	}
	unit := "hours"
	if hours == 1 {
		unit = "hour"
	}
	return fmt.Sprintf("%s %s %s", num(hours), unit, word)
}

// changes returns the change of temperature into each of n hours from start; what no
// weather does is missing.
func changes(s *Series, start int64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		j := int(start-s.start) + i
		if out[i] = s.Value(Temp, j) - s.Value(Temp, j-1); math.Abs(out[i]) > mostChange {
			out[i] = missing
		}
	}
	return out
}

// bestLag returns by how many hours a follows b in the hours from to to; ok is
// false when there is no clear answer, and the lag 0 when there is none. Index i
// of a is index i+farthestLag of b.
func bestLag(a, b []float64, from, to int) (lag int, ok bool) {
	var r [2*farthestLag + 1]float64 // r[farthestLag+l]: a against b moved later by l
	best := farthestLag
	for k := range r {
		var n int
		r[k], n = correlation(a[from:to], b[from+2*farthestLag-k:to+2*farthestLag-k])
		if n < leastPairs {
			r[k] = missing
		}
		if r[k] > r[best] || math.IsNaN(r[best]) {
			best = k
		}
	}
	if best == 0 || best == len(r)-1 || !(r[best] >= leastMatch) {
		return 0, false
	}
	left, right := r[best-1], r[best+1]
	exact := float64(best-farthestLag) + (left-right)/2/(left-2*r[best]+right)
	lag = int(math.Round(exact))
	switch {
	case !(math.Abs(exact) >= leastLag):
		return 0, true
	case lag == 0:
		lag = int(math.Copysign(1, exact))
	}
	if (lag > 1 || lag < -1) && r[best]-r[farthestLag] < leastGain {
		return 0, false
	}
	return lag, true
}

// correlation of the pairs in which both are known, and their number.
func correlation(a, b []float64) (float64, int) {
	var n, sa, sb, saa, sbb, sab float64
	for i, x := range a {
		y := b[i]
		if math.IsNaN(x) || math.IsNaN(y) {
			continue
		}
		n++
		sa, sb = sa+x, sb+y
		saa, sbb, sab = saa+x*x, sbb+y*y, sab+x*y
	}
	return (sab - sa*sb/n) / math.Sqrt((saa-sa*sa/n)*(sbb-sb*sb/n)), int(n)
}
