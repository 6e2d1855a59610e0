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
	k := r.Period.walk(e, c)
	for d := from; d < len(c.v); d++ {
		v, inDoubt := dayValue{}, 0.0
		i := k.begin(c, d)
		doubt := k.p.Doubt
		for _, part := range k.parts[k.partsOf[d]:k.partsOf[d+1]] {
			ended := k.stretch(i, int(part.end), part.state)
			if i = int(part.end); !ended || k.p.Known == 0 {
				continue
			}
			s := r.score(k.p.Wet, k.p.Mean())
			v.value += s
			if k.p.Spoilt {
				inDoubt += s
			}
			if r.Least > 0 && s >= r.Least {
				c.hits = append(c.hits, hit{day: int32(d), value: s})
			}
		}
		v.low, v.high, v.unknown = max(0, v.value-inDoubt), v.value, uint8(k.unknown)
		if doubt || k.doubt || inDoubt > 0 {
			v.high = max(v.value, r.most(nil))
		}
		c.set(d, v)
		c.periods[d+1] = k.p
	}
}
