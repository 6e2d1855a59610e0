package model

import (
	"plotwarden/risk/wetness"
)

// need says when a wet period has lasted long enough.
type need interface {
	Least() int
	Met(hours int, mean float64) bool
	At(mean float64) float64
	Limits() (low, high []float64)
}

// infect finds the infections of wet periods by class.
func (p *Period) infect(e *env, c *column, from int, needs []need) {
	k := p.walk(e, c)
	f := finder{walk: &k, needs: needs, least: leastOf(needs), all: uint8(1<<len(needs) - 1), c: c}
	if len(needs) == 1 {
		f.low, f.high = needs[0].Limits()
	}
	for d := from; d < len(c.v); d++ {
		f.v, f.inDoubt, f.day = 0, 0, int32(d)
		i := k.begin(c, d)
		for _, s := range k.parts[k.partsOf[d]:k.partsOf[d+1]] {
			f.stretch(i, int(s.end), s.state)
			i = int(s.end)
		}
		v := dayValue{value: f.v, low: f.v - f.inDoubt, high: f.v, unknown: uint8(k.unknown)}
		if k.doubt {
			v.high = max(v.value, p.mostInfections(f.least, k.mayBeWet(d), len(needs)))
		}
		c.set(d, v)
		c.periods[d+1] = k.p
	}
}

// mayBeWet returns how many hours of day d are wet or unknown.
func (k *walk) mayBeWet(d int) int {
	from, to, before := inside(k.ws[d], len(k.states))
	wet, unknown := countStates(k.states[from:to])
	return wet + unknown + before
}

func leastOf(needs []need) int {
	least := needs[0].Least()
	for _, n := range needs {
		least = min(least, n.Least())
	}
	return least
}

// finder finds infections in the stretches of equal hours of a walk.
type finder struct {
	*walk
	needs      []need
	least      int
	all        uint8
	low, high  []float64 // of a single need: see Limits
	c          *column
	day        int32
	v, inDoubt float64 // of the day
}

// stretch is walk.stretch with an eye to infections.
func (f *finder) stretch(i, j int, state wetness.State) {
	p := &f.p
	if state != wetness.Wet {
		f.walk.stretch(i, j, state)
		return
	}
	for ; i < j && (!p.Open || p.Waiting); i++ { // the first hour, and those that may not count
		f.wet(i)
		f.check()
	}
	switch {
	case i == j:
	case p.Reached == f.all: // how much longer it gets does not matter
		p.Dry, p.Sure = 0, 0
		f.doubt = f.doubt || p.Doubt
	default:
		f.run(i, j)
	}
}

// run adds wet hours to an open period.
func (f *finder) run(i, j int) {
	p := &f.p
	if f.temp == nil {
		for ; i < j; i++ {
			f.wet(i)
		}
		return // without temperatures nothing can be reached
	}
	p.Dry, p.Sure = 0, 0
	f.doubt = f.doubt || p.Doubt
	wet, known, sum := p.Wet, p.Known, p.Sum
	for ; i < j && p.Reached != f.all; i++ {
		t := f.temp[i]
		if t != t {
			p.Wet, p.Known, p.Sum = wet, known, sum
			f.wet(i)
			wet = p.Wet
			continue
		}
		wet++
		known++
		sum += t
		if wet >= f.least && f.near(wet, sum/float64(known)) {
			p.Wet, p.Known, p.Sum = wet, known, sum
			f.check()
		}
	}
	p.Wet, p.Known, p.Sum = wet, known, sum
}

// near says whether a period may have reached a class.
func (f *finder) near(wet int, mean float64) bool {
	if f.low == nil {
		return true
	}
	i := min(wet-f.least, len(f.low)-1)
	return mean >= f.low[i] && mean <= f.high[i]
}

// check looks which classes a period has reached.
func (f *finder) check() {
	p := &f.p
	if p.Wet < f.least || p.Reached == f.all || p.Known == 0 {
		return
	}
	mean := p.Mean()
	for class, n := range f.needs {
		bit := uint8(1) << class
		if p.Reached&bit != 0 || !n.Met(p.Wet, mean) {
			continue
		}
		p.Reached |= bit
		f.v++
		if p.Doubt {
			f.inDoubt++
		}
		f.c.hits = append(f.c.hits, hit{f.day, uint8(class), n.At(mean)})
	}
}

// mostInfections bounds the infections of a day with so many hours that may be
// wet: between two lie a gap and the wet hours of the second.
func (p *Period) mostInfections(least, hours, classes int) float64 {
	return float64(classes * min(1+24/(least+p.Gap), 1+hours/max(1, least)))
}
