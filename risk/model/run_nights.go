package model

import (
	"plotwarden/risk"
	"plotwarden/risk/disease"
	"plotwarden/risk/wetness"
	"plotwarden/weather"
)

// known returns the value of a column at an hour that may lie outside it, NaN
// when unknown.
func known(col []float64, i int) float64 {
	if i < 0 || i >= len(col) {
		return nan
	}
	return col[i]
}

// means is what is known of the temperatures of some hours.
type means struct {
	sum     float64
	n       int // hours with a known temperature
	unknown int // hours without
	ahead   int // of those, hours beyond the end of the series
}

func (k *nightly) means(a, z int) (s means) {
	for i := a; i < z; i++ {
		if t := known(k.temp, i); t == t {
			s.sum += t
			s.n++
			continue
		}
		s.unknown++
		if i >= k.n {
			s.ahead++
		}
	}
	return s
}

// above judges whether the mean is above a limit.
func (s means) above(limit float64) disease.Tri {
	if s.n+s.unknown == 0 {
		return disease.No
	}
	n := float64(s.n + s.unknown)
	low, high := (s.sum+float64(s.unknown)*disease.AirLow)/n, (s.sum+float64(s.unknown)*disease.AirHigh)/n
	return tri(low > limit, high > limit)
}

// nightly has the columns of rules that look at some hours of a day.
type nightly struct {
	n      int // hours of the series
	states []wetness.State
	temp   []float64
	rain   []float64
	clock  []uint8
	ws     []weather.Window
}

func newNightly(e *env, c *column, h *Hours, clock Clock) nightly {
	return nightly{
		n: e.sn.w.Len(), states: c.statesOf(e, h), temp: e.sn.w.Column(weather.Temp),
		rain: e.sn.w.Column(weather.Rain), clock: e.sn.clock(clock), ws: e.sn.window(Calendar),
	}
}

// at returns the hour of calendar day d at which the clock shows an hour.
func (k *nightly) at(d, clock int) int { return hourAt(k.clock, k.ws[d].From, clock) }

// longest returns the longest run of hours that surely count and of hours that
// may, and how many are unknown. Hours ahead of the series count as dry: they
// are not unknown, the day is not over.
func (k *nightly) longest(a, z int) (surely, maybe, unknown int) {
	sure, may := 0, 0
	for i := a; i < z; i++ {
		s := wetness.Unknown
		if i >= k.n {
			s = wetness.Dry
		} else if i >= 0 {
			s = k.states[i]
		}
		switch s {
		case wetness.Wet:
			sure, may = sure+1, may+1
		case wetness.Dry:
			sure, may = 0, 0
		default:
			sure, may = 0, may+1
			unknown++
		}
		surely, maybe = max(surely, sure), max(maybe, may)
	}
	return surely, maybe, unknown
}

// fewer says whether fewer hours count, or may, than are asked for. It looks only
// at hours within the series; a quick no saves looking for runs of them.
func (k *nightly) fewer(a, z, least int) bool {
	if a < 0 || z > k.n || a >= z {
		return false
	}
	wet, unknown := countStates(k.states[a:z])
	return wet+unknown < least
}

// Run computes the track.
func (r *WetMorning) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *WetMorning) key(e *env) any             { return bedKey{r, e.bed, ""} }
func (r *WetMorning) days() DayKind              { return Calendar }
func (r *WetMorning) hourly() bool               { return true }
func (r *WetMorning) infections() []string       { return []string{r.Event} }
func (r *WetMorning) most(*env) float64          { return 1 }
func (r *WetMorning) total(to *Runner, from int) { sum{}.total(to, from) }

func (r *WetMorning) fill(e *env, c *column, from int) {
	k := newNightly(e, c, &r.Hours, r.Clock)
	for d := from; d < len(c.v); d++ {
		a := k.at(d, r.At)
		if k.fewer(a, a+r.Least, r.Least) {
			c.v[d] = 0
			continue
		}
		surely, maybe, unknown := k.longest(a, a+r.Least)
		t := tri(surely == r.Least, maybe == r.Least)
		for _, limit := range r.TooWarm {
			if t == disease.No {
				break
			}
			s := k.means(a, a+limit.Hours)
			warm := s.above(limit.Above)
			if warm == disease.Maybe && s.ahead == s.unknown {
				warm = disease.Yes // not yet known to be cool enough; the day is not over
			}
			t = and(t, not(warm))
			unknown = max(unknown, s.unknown-s.ahead)
			a += limit.Hours
		}
		c.set(d, truth(t, unknown))
		c.yes(d, float64(r.Least))
	}
}

// yes adds an infection to a day whose value is 1.
func (c *column) yes(d int, value float64) {
	if c.v[d] == 1 {
		c.hits = append(c.hits, hit{day: int32(d), value: value})
	}
}

// Run computes the track.
func (r *HumidNight) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *HumidNight) key(e *env) any             { return bedKey{r, e.bed, ""} }
func (r *HumidNight) days() DayKind              { return Calendar }
func (r *HumidNight) hourly() bool               { return true }
func (r *HumidNight) infections() []string       { return []string{r.Event} }
func (r *HumidNight) most(*env) float64          { return 1 }
func (r *HumidNight) total(to *Runner, from int) { sum{}.total(to, from) }

func (r *HumidNight) fill(e *env, c *column, from int) {
	k := newNightly(e, c, &r.Hours, r.Clock)
	for d := from; d < len(c.v); d++ {
		a, z := r.night(&k, d, r.At), k.at(d, r.To)
		least := r.Least
		if least == 0 {
			least = z - a
		}
		if k.fewer(a, z, least) {
			c.v[d] = 0
			continue
		}
		surely, maybe, unknown := k.longest(a, z)
		t := tri(surely >= least, maybe >= least)
		if t != disease.No {
			t = and(t, r.mild(&k, a, z, &unknown))
			t = and(t, r.cool(&k, d, &unknown))
			t = and(t, r.dry(&k, d, z, &unknown))
		}
		c.set(d, truth(t, unknown))
		c.yes(d, float64(least))
	}
}

// night returns the hour of a night that ends on day d at which the clock shows
// an hour: from 12 on it is the evening before.
func (r *HumidNight) night(k *nightly, d, clock int) int {
	switch {
	case clock < 12:
		return k.at(d, clock)
	case d > 0:
		return k.at(d-1, clock)
	}
	return k.ws[0].From + clock - 24 // before the series
}

// mild judges the mean temperature of the hours that count.
func (r *HumidNight) mild(k *nightly, a, z int, unknown *int) disease.Tri {
	if r.TempFrom == nil && r.TempTo == nil {
		return disease.Yes
	}
	var s means
	for i := max(0, a); i < min(z, k.n); i++ {
		if k.states[i] != wetness.Dry {
			one := k.means(i, i+1)
			s.sum, s.n, s.unknown = s.sum+one.sum, s.n+one.n, s.unknown+one.unknown
		}
	}
	*unknown = max(*unknown, s.unknown)
	t := disease.Yes
	if r.TempTo != nil {
		t = and(t, not(s.above(*r.TempTo)))
	}
	if r.TempFrom != nil {
		low := means{sum: -s.sum, n: s.n, unknown: s.unknown} // below: above, upside down
		t = and(t, not(low.above(-*r.TempFrom)))
	}
	return t
}

// cool judges the day before.
func (r *HumidNight) cool(k *nightly, d int, unknown *int) disease.Tri {
	if len(r.Hot) == 0 && r.DayMeanBelow == nil {
		return disease.Yes
	}
	if d == 0 {
		*unknown = max(*unknown, 24)
		return disease.Maybe
	}
	end := r.At
	if end < 12 {
		end = 20
	}
	t := disease.Yes
	a, z := k.at(d-1, 6), k.at(d-1, end)
	for _, limit := range r.Hot {
		hot, holes := 0, 0
		for i := a; i < z; i++ {
			switch x := known(k.temp, i); {
			case x != x:
				holes++
			case x > limit.Above:
				hot++
			}
		}
		*unknown = max(*unknown, holes)
		t = and(t, not(tri(hot > limit.Hours, hot+holes > limit.Hours)))
	}
	if r.DayMeanBelow != nil {
		s := k.means(k.ws[d-1].From, k.ws[d-1].To)
		*unknown = max(*unknown, s.unknown)
		low := means{sum: -s.sum, n: s.n, unknown: s.unknown}
		t = and(t, low.above(-*r.DayMeanBelow)) // strictly below
	}
	return t
}

// dry judges rain late in the night.
func (r *HumidNight) dry(k *nightly, d, z int, unknown *int) disease.Tri {
	if r.DryFrom == nil {
		return disease.Yes
	}
	t, holes := disease.Yes, 0
	for i := r.night(k, d, *r.DryFrom); i < min(z, k.n); i++ {
		switch x := known(k.rain, i); {
		case x > 0:
			return disease.No
		case x != x:
			holes++
			t = disease.Maybe
		}
	}
	*unknown = max(*unknown, holes)
	return t
}
