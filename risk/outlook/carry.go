package outlook

import "math"

// carried sets, for each run that is followed by years, how much of what its last
// day gained above the others goes on: warmth that the forecast's last day is
// unsure of is there on the next day too, and fades by ErrorCarry a day. Without
// it the days after a forecast would be surer than the forecast's end.
func (f *Fan) carried() {
	if !f.sums || len(f.years) == 0 {
		return
	}
	for from := 0; from < len(f.runs); {
		length, to := len(f.runs[from].totals), from
		for to < len(f.runs) && len(f.runs[to].totals) == length {
			to++
		}
		if group := f.runs[from:to]; length > 1 && len(group) > 1 {
			mean := 0.0
			for i := range group {
				mean += group[i].last() / float64(len(group))
			}
			for i := range group {
				group[i].carry = (group[i].last() - mean) * ErrorCarry / (1 - ErrorCarry)
			}
		}
		from = to
	}
}

// leastCarry is the most of a year's first week that cold takes away, as a share:
// there are no degree-days below 0 (from memory).
const leastCarry = 0.5

// last is the gain of a run's last day; the run has two days or more.
func (r *run) last() float64 {
	n := len(r.totals)
	return r.totals[n-1] - r.totals[n-2]
}

// faded is the share of a run's carry that has come so many days after its end.
var faded = func() (out [maxDay + 1]float64) {
	for k := range out {
		out[k] = 1 - math.Pow(ErrorCarry, float64(k))
	}
	return out
}()
