package station

import (
	"math"
	"slices"
	"time"

	"plotwarden/weather"
)

// leastCovered is how much of an hour must lie within intervals for its rain,
// radiation and wetness to count. common practice
const leastCovered = 45 * time.Minute

// farApart is how far a reading may lie from the middle one: further is a broken clock
// or a slip of the pen, and would make a series of mostly nothing.
const farApart = 50 * 8766 * time.Hour

// nearEnough is how far from the start of an hour a reading may lie to tell the
// state at that time.
const nearEnough = 30 * time.Minute

// Hours makes hours of observations in any order; all have origin o. The state
// of an hour is that of the reading nearest to its start, at most half an hour
// away. What belongs to intervals is shared out among the hours they lie in; an
// hour of which less than 45 minutes is covered has none. Where intervals
// overlap, the earlier reading counts for the time that both claim. Of two
// readings of one time the later in the list counts. Readings more than 50 years from
// the middle one are left out.
func Hours(obs []Observation, o weather.Origin) *weather.Series {
	obs = inOrder(obs)
	if len(obs) == 0 {
		return weather.NewSeries(time.Unix(0, 0), 0)
	}
	first := obs[0].Time.Add(-obs[0].Interval).Add(-nearEnough).Truncate(time.Hour)
	for _, x := range obs {
		if at := x.Time.Add(-x.Interval).Truncate(time.Hour); at.Before(first) {
			first = at
		}
	}
	n := int(obs[len(obs)-1].Time.Add(nearEnough).Sub(first)/time.Hour) + 1
	b := &binner{first: first, s: weather.NewSeries(first, n)}
	var err error
	if b.origin, err = b.s.AddOrigin(o); err != nil { // a new series has room
		panic(err)
	}
	for v := range weather.NumVars {
		if ofInterval(v) {
			b.intervals(v, obs)
		} else {
			b.states(v, obs)
		}
	}
	return trim(b.s)
}

// inOrder sorts by time and keeps the last of those of one time, value by value.
func inOrder(obs []Observation) []Observation {
	sorted := slices.Clone(obs)
	slices.SortStableFunc(sorted, func(a, b Observation) int { return a.Time.Compare(b.Time) })
	if len(sorted) == 0 {
		return nil
	}
	middle := sorted[len(sorted)/2].Time
	out := sorted[:0]
	for _, x := range sorted {
		if x.Empty() || tooFar(x.Time, middle) {
			continue
		}
		if n := len(out); n > 0 && out[n-1].Time.Equal(x.Time) {
			for v := range x.Values {
				if math.IsNaN(x.Values[v]) {
					x.Values[v] = out[n-1].Values[v]
				}
			}
			if x.Interval == 0 {
				x.Interval = out[n-1].Interval
			}
			out[n-1] = x
			continue
		}
		out = append(out, x)
	}
	return out
}

func tooFar(t, middle time.Time) bool { return t.Sub(middle).Abs() > farApart }

type binner struct {
	first  time.Time
	s      *weather.Series
	origin uint8
}

func (b *binner) states(v weather.Var, obs []Observation) {
	off := make([]time.Duration, b.s.Len())
	for i := range off {
		off[i] = nearEnough + 1
	}
	for _, x := range obs {
		if math.IsNaN(x.Values[v]) {
			continue
		}
		nearest := x.Time.Round(time.Hour)
		i := b.s.Index(nearest)
		if d := x.Time.Sub(nearest).Abs(); i >= 0 && i < len(off) && d < off[i] {
			b.s.Set(v, i, x.Values[v], b.origin)
			off[i] = d
		}
	}
}

// intervals shares rain out by amount, and takes radiation and wetness as means
// weighed by time.
func (b *binner) intervals(v weather.Var, obs []Observation) {
	sum := make([]float64, b.s.Len())
	covered := make([]time.Duration, b.s.Len())
	done := b.first
	for _, x := range obs {
		if math.IsNaN(x.Values[v]) || x.Interval <= 0 {
			continue
		}
		from := x.Time.Add(-x.Interval)
		if from.Before(done) {
			from = done
		}
		for i := b.s.Index(from); from.Before(x.Time); i++ {
			to := b.s.Time(i + 1)
			if to.After(x.Time) {
				to = x.Time
			}
			part := to.Sub(from)
			weight := part.Hours()
			if v == weather.Rain {
				weight = float64(part) / float64(x.Interval)
			}
			sum[i] += x.Values[v] * weight
			covered[i] += part
			from = to
		}
		done = x.Time
	}
	for i, c := range covered {
		switch {
		case c < leastCovered:
		case v == weather.Rain:
			b.s.Set(v, i, sum[i], b.origin)
		default:
			b.s.Set(v, i, sum[i]/c.Hours(), b.origin)
		}
	}
}

// trim cuts the hours without a value at both ends.
func trim(s *weather.Series) *weather.Series {
	known := func(i int) bool {
		for v := range weather.NumVars {
			if !math.IsNaN(s.Value(v, i)) {
				return true
			}
		}
		return false
	}
	from, to := 0, s.Len()
	for from < to && !known(from) {
		from++
	}
	for to > from && !known(to-1) {
		to--
	}
	return s.Slice(from, to)
}
