package model

import (
	"plotwarden/risk/disease"
	"plotwarden/risk/wetness"
)

// infectAlone is infect for seasons in which wet hours have no temperature. A
// period that has reached all its classes asks no more of its hours, so that an
// unknown one no longer casts doubt: what rules make of such a season differs with
// what they ask, and each goes through the hours by itself.
func (p *Period) infectAlone(e *env, c *column, s *spells, from int, f *finder) {
	k := p.walk(e.sn, c.states)
	a := alone{walk: &k, finder: f}
	c.periods = grow(c.periods, len(k.ws)+1)
	if from == 0 || int(s.hole) >= from {
		// Up to here all is as shared, or the rule has not gone through it before.
		b := s.begins[from]
		if b.Wet > 0 {
			b.Reached = f.reachedBefore(s.firstRun(from))
		}
		c.periods[from] = b
	}
	for d := from; d < len(c.v); d++ {
		a.v, a.inDoubt = 0, 0
		i := k.begin(d)
		k.p = c.periods[d]
		for _, part := range k.parts[k.partsOf[d]:k.partsOf[d+1]] {
			a.stretch(i, int(part.end), part.state)
			i = int(part.end)
		}
		v := dayValue{value: a.v, low: a.v - a.inDoubt, high: a.v, unknown: uint8(k.unknown)}
		if k.doubt {
			v.high = max(v.value, p.mostInfections(f.least, k.mayBeWet(d), len(f.needs)))
		}
		c.set(d, v)
		c.periods[d+1] = k.p
	}
}

// alone finds infections in the stretches of equal hours of a walk.
type alone struct {
	*walk
	*finder
	v, inDoubt float64 // of the day
}

// stretch is walk.stretch with an eye to infections.
func (a *alone) stretch(i, j int, state wetness.State) {
	if state != wetness.Wet {
		a.walk.stretch(i, j, state)
		return
	}
	p := &a.p
	for ; i < j; i++ {
		if p.Open && !p.Waiting && p.Reached == a.all { // how much longer it gets does not matter
			p.Dry, p.Sure = 0, 0
			a.doubt = a.doubt || p.Doubt
			return
		}
		a.wet(i)
		if a.temp != nil && a.temp[i] == a.temp[i] {
			a.check(p)
		}
	}
}

// check looks which classes a period has reached.
func (a *alone) check(p *disease.Period) {
	if p.Wet < a.least || p.Known == 0 {
		return
	}
	mean := p.Mean()
	for class, n := range a.needs {
		bit := uint8(1) << class
		if p.Reached&bit != 0 || !n.Met(p.Wet, mean) {
			continue
		}
		p.Reached |= bit
		a.v++
		if p.Doubt {
			a.inDoubt++
		}
		a.c.hits = append(a.c.hits, hit{day: a.day, class: uint8(class), value: n.At(mean)})
	}
}
