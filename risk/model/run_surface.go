package model

import (
	"plotwarden/risk"
)

// Run computes the track.
func (r *InfectionSurface) Run(in *Input) (*risk.Track, error) { return run(r, in) }

func (r *InfectionSurface) key(e *env) any             { return bedKey{r, e.bed, ""} }
func (r *InfectionSurface) days() DayKind              { return Calendar }
func (r *InfectionSurface) hourly() bool               { return true }
func (r *InfectionSurface) infections() []string       { return []string{r.Event} }
func (r *InfectionSurface) total(to *Runner, from int) { sum{}.total(to, from) }

// most bounds a day: periods that end in it, each at the highest score there is.
func (r *InfectionSurface) most(*env) float64 {
	return r.top * (1 + float64(24/(max(1, int(r.Tested.HoursFrom))+r.Gap)))
}

// score returns the score of a period.
func (r *InfectionSurface) score(hours int, mean float64) float64 {
	t := &r.Tested
	if !(float64(hours) >= t.HoursFrom && mean >= t.TempFrom && mean <= t.TempTo) {
		return 0
	}
	return r.at(mean, min(float64(hours), t.HoursTo))
}

func (r *InfectionSurface) at(t, w float64) float64 {
	if r.Beta != nil {
		return r.Beta.At(t, w)
	}
	return r.Logit.At(t, w)
}

func (r *InfectionSurface) fill(e *env, c *column, from int) {
	s := r.Period.spellsOf(e, c)
	clear(c.v[from:])
	for i := s.firstEnd(from); i < len(s.ends); i++ {
		end := &s.ends[i]
		score := r.score(int(end.wet), end.mean)
		c.v[end.day] += score
		if r.Least > 0 && score >= r.Least {
			c.hits = append(c.hits, hit{day: end.day, value: score})
		}
	}
	for i := s.firstOdd(from); i < len(s.odd); i++ {
		o := &s.odd[i]
		x, inDoubt := c.v[o.day], 0.0
		for k := s.firstEnd(int(o.day)); k < len(s.ends) && s.ends[k].day == o.day; k++ {
			if end := &s.ends[k]; end.spoilt {
				inDoubt += r.score(int(end.wet), end.mean)
			}
		}
		v := dayValue{value: x, low: max(0, x-inDoubt), high: x, unknown: o.unknown}
		if o.doubted || o.doubt || inDoubt > 0 {
			v.high = max(x, r.most(nil))
		}
		c.set(int(o.day), v)
	}
}
